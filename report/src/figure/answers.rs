//! Which figures has the answer to a question?
//!
//! Each with the name by which a command asks for it. What was not asked for has no figure. Nothing is computed here.

use super::{
    Figure, bed_figure, crystals_figure, dissolved_figure, excess_figure, gibbs_figure, heated_phases_figure,
    plateaus_figure, potential_figure, sweep_figure, titration_figure, washings_figure, windows_figure,
};
use prep::outcome::{
    CrystalliseAnswer, EquilibriumAnswer, FurnaceAnswer, IgniteAnswer, ReactionAnswer, SolutionAnswer, WashAnswer,
};

/// Figures with their names.
pub type Named = Vec<(String, Figure)>;

fn named(list: impl IntoIterator<Item = (&'static str, Option<Figure>)>) -> Named {
    list.into_iter().filter_map(|(name, figure)| Some((name.to_owned(), figure?))).collect()
}

/// `gibbs`: Gibbs energy over temperature.
#[must_use]
pub fn reaction_figures(answer: &ReactionAnswer) -> Named {
    named([("gibbs", answer.lines.as_ref().map(gibbs_figure))])
}

/// `phases`: what stands where; `levels`: the mass it rests at.
#[must_use]
pub fn ignite_figures(answer: &IgniteAnswer) -> Named {
    named([("phases", heated_phases_figure(answer)), ("levels", plateaus_figure(answer))])
}

/// `phases`: what is there over temperature.
#[must_use]
pub fn equilibrium_figures(answer: &EquilibriumAnswer) -> Named {
    named([("phases", sweep_figure(answer))])
}

/// `bed`: the middle over time.
#[must_use]
pub fn furnace_figures(answer: &FurnaceAnswer) -> Named {
    named([("bed", bed_figure(answer))])
}

/// `titration`, `windows`, `dissolved`, `excess`, `potential`.
#[must_use]
pub fn solution_figures(answer: &SolutionAnswer) -> Named {
    named([
        ("titration", titration_figure(answer)),
        ("windows", windows_figure(answer)),
        ("dissolved", dissolved_figure(answer)),
        ("excess", answer.excess.as_ref().and_then(excess_figure)),
        ("potential", potential_figure(&answer.potential)),
    ])
}

/// `solubility`: the way of the liquor.
#[must_use]
pub fn crystallise_figures(answer: &CrystalliseAnswer) -> Named {
    named([("solubility", crystals_figure(answer))])
}

/// `washings`: what each leaves.
#[must_use]
pub fn wash_figures(answer: &WashAnswer) -> Named {
    named([("washings", washings_figure(answer))])
}
