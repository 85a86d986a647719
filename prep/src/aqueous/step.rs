//! What do the tables of solutions say of a wet step: its pH, what stays dissolved, what else falls out?
//!
//! A bath is what a step holds once its reactions have run to their end. It is solved twice. With the written solids alone:
//! what of them goes back into solution is the loss that the step cannot help. With all solids that fall out within hours:
//! pH, what is left of each ion, and what falls out beside, foreign solids among it ([`beside`]). Both are moved by every
//! constant that matters, by the activity model, and by five percent of each substance, which gives the sensitivities. Amounts are rounded to a thousandth of
//! their logarithm first and answers are kept, so that an edit elsewhere costs nothing and an answer depends on its bath
//! alone. Neglected: time (supersaturation, ageing), adsorption, gas that has not left; all but the first err to a
//! loss that is too small.
//!
//! Source: `chem::aqueous`, `engine::aqueous`.

mod beside;

pub(crate) use beside::{Alone, Beside, form_of};

pub(crate) use super::sensitivity::Causes;

use super::sensitivity::causes;
use super::{Allowed, Chosen, Recipe, choose, plain, sources};
use chem::Formula;
use chem::aqueous::{Model, dissolve};
use engine::aqueous::dose::{Mixture, Reagent, dissolved, to_ph};
use engine::aqueous::network::HYDROGEN;
use engine::aqueous::speciate::{Solver, Status};
use std::collections::HashMap;
use std::sync::{Arc, LazyLock, Mutex};

/// Relative change of a substance for its sensitivity.
const NUDGE: f64 = 0.05;
/// Share of the largest amount below which a substance is left out.
const TRACE: f64 = 1e-7;
/// Decades by which a solid that is not written is held back.
const HELD_BACK: f64 = 60.0;
/// Amount of a solid beside the written ones, relative to what the bath holds, from which it is named.
const NAMED: f64 = 1e-4;
/// Least share that stays dissolved.
const LEAST: f64 = 1e-9;
/// Answers kept.
const KEPT: usize = 512;
/// Standard uncertainty of a pH reading (common practice).
const PH_METER: f64 = 0.05;
/// Largest amount of a reagent, mol per kg of water.
const MOST_REAGENT: f64 = 30.0;

/// What a wet step holds when its reactions have run to their end.
#[derive(Clone, Debug, PartialEq)]
pub(crate) struct Bath {
    /// Substances without the water, mol, and whether each is a solid.
    pub(crate) substances: Vec<(Formula, f64, bool)>,
    /// Solids that the file says fall out.
    pub(crate) written: Vec<Formula>,
    /// Liquid water, kg.
    pub(crate) water: f64,
    /// Temperature, K.
    pub(crate) temperature: f64,
    /// Reagent and the pH it is to bring about.
    pub(crate) dose: Option<(Formula, f64)>,
}

/// A written solid of which some stays dissolved.
#[derive(Clone, Debug, PartialEq)]
pub(crate) struct Stays {
    /// The solid.
    pub(crate) solid: Formula,
    /// Share of it.
    pub(crate) share: f64,
    /// Standard uncertainty of the natural logarithm of the share.
    pub(crate) causes: Causes,
}

/// What brings a bath to a pH.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(crate) struct Dosed {
    /// Amount of the reagent beyond what the bath holds, mol.
    pub(crate) more: f64,
    /// Its standard uncertainty.
    pub(crate) causes: Causes,
    /// The same by the reading of pH.
    pub(crate) meter: f64,
}

/// How much a percent more of a substance changes, each per unit of its logarithm.
#[derive(Clone, Debug, PartialEq)]
pub(crate) struct Sensitivity {
    /// The substance.
    pub(crate) substance: Formula,
    /// pH.
    pub(crate) ph: f64,
    /// Natural logarithm of each share in `stays`.
    pub(crate) shares: Vec<f64>,
    /// Natural logarithm of each amount in `beside`; none where none is a foreign solid.
    pub(crate) beside: Vec<f64>,
    /// Amount of the reagent that brings about the wanted pH, mol.
    pub(crate) dose: f64,
}

impl Sensitivity {
    /// Change of the dose for a tenth more of the substance, mol: a dose follows amounts in a straight line.
    pub(crate) fn dose_for_a_tenth(&self) -> f64 {
        self.dose * (1.0 + NUDGE).ln() / NUDGE * 0.1
    }
}

/// What is to be expected of a bath.
#[derive(Clone, Debug, PartialEq)]
pub(crate) struct Expected {
    /// pH and its standard uncertainty.
    pub(crate) ph: (f64, Causes),
    /// Set of constants.
    pub(crate) model: Model,
    /// Whether the activity model holds there.
    pub(crate) within: bool,
    /// Written solids.
    pub(crate) stays: Vec<Stays>,
    /// Written solids that the tables do not have, or do not see falling out.
    pub(crate) unknown: Vec<Formula>,
    /// Each ion, with what is dissolved of it, mol and mg per kg of water.
    pub(crate) left: Vec<(String, f64, f64)>,
    /// What falls out beside, or in its place.
    pub(crate) beside: Vec<Beside>,
    /// What else of the same substances changes it.
    pub(crate) sensitivities: Vec<Sensitivity>,
    /// What brings the bath to the wanted pH.
    pub(crate) dose: Option<Dosed>,
    /// Solids of which the tables know nothing, left out.
    pub(crate) left_out: Vec<String>,
    /// Where the constants come from.
    pub(crate) sources: Vec<String>,
}

type Answer = Result<Arc<Expected>, String>;

static ANSWERS: LazyLock<Mutex<HashMap<String, Answer>>> = LazyLock::new(Mutex::default);

/// What is to be expected; the error says in words why nothing is.
pub(crate) fn expected(bath: &Bath) -> Answer {
    let bath = bath.rounded();
    let key = format!("{bath:?}");
    if let Some(known) = ANSWERS.lock().ok().and_then(|kept| kept.get(&key).cloned()) {
        return known;
    }
    let found = solve(&bath).map(Arc::new);
    if let Ok(mut kept) = ANSWERS.lock() {
        if kept.len() >= KEPT {
            kept.clear();
        }
        kept.insert(key, found.clone());
    }
    found
}

/// Whether two formulas are the same in sum: `Cu2CO3(OH)2` and `Cu2(OH)2CO3`.
pub(crate) fn alike(one: &Formula, other: &Formula) -> bool {
    one.composition() == other.composition() && one.charge() == other.charge()
}

fn round(value: f64) -> f64 {
    if value > 0.0 { ((value.ln() * 1e3).round() * 1e-3).exp() } else { 0.0 }
}

impl Bath {
    pub(super) fn rounded(&self) -> Self {
        let most = self.substances.iter().map(|(_, amount, _)| *amount).fold(0.0, f64::max);
        let kept = self.substances.iter().filter(|(_, amount, _)| *amount > TRACE * most);
        Self {
            substances: kept.map(|(formula, amount, solid)| (formula.clone(), round(*amount), *solid)).collect(),
            water: round(self.water),
            temperature: (self.temperature * 10.0).round() / 10.0,
            ..self.clone()
        }
    }

    fn amount(&self, formula: &Formula) -> f64 {
        self.substances.iter().filter(|(f, _, solid)| *solid && alike(f, formula)).map(|(_, n, _)| n).sum()
    }
}

/// The bath in the numbers of a set.
struct Solved {
    chosen: Chosen,
    /// Written solids by their number in the set; none where it has none.
    numbers: Vec<Option<usize>>,
}

fn number_of(chosen: &Chosen, solid: &Formula) -> Option<usize> {
    chosen.chemistry.solids.iter().position(|row| alike(&row.formula, solid))
}

fn good(status: Status) -> bool {
    matches!(status, Status::Solved | Status::Almost)
}

fn solve(bath: &Bath) -> Result<Expected, String> {
    if bath.water <= 0.0 || bath.substances.is_empty() {
        return Err("it holds no solution".to_owned());
    }
    let (mut left_out, mut substances) = (Vec::new(), Vec::new());
    for (formula, amount, solid) in &bath.substances {
        match dissolve(formula, Model::Association) {
            Ok(_) => substances.push((formula.clone(), *amount)),
            Err(_) if *solid => left_out.push(formula.to_string()),
            Err(why) => return Err(format!("{formula}: {why}")),
        }
    }
    let reagents = bath.dose.iter().map(|(formula, _)| formula.clone()).collect();
    let recipe = Recipe { substances, reagents, water: bath.water, coupled: None };
    let of = |allowed| {
        let mut chosen = choose(&recipe, allowed, &[], bath.temperature).ok()?;
        let report = chosen.solver.solve(&chosen.mixture.totals.clone(), chosen.mixture.water, false);
        let numbers = bath.written.iter().map(|solid| number_of(&chosen, solid)).collect();
        good(report.status).then_some(Solved { chosen, numbers })
    };
    let unsolved = || "its solution could not be solved".to_owned();
    let fresh = of(Allowed::Fresh).ok_or_else(unsolved)?;
    let aged = fresh.numbers.iter().any(Option::is_none).then(|| of(Allowed::Aged)).flatten();
    let written = aged.filter(|aged| aged.numbers.iter().flatten().count() > fresh.numbers.iter().flatten().count());
    let mut found = told(bath, &fresh, left_out);
    let written = written.as_ref().unwrap_or(&fresh);
    stays(bath, written, &recipe, &mut found);
    beside::foreign(bath, written, &recipe, &mut found);
    Ok(found)
}

/// pH, what is left, what falls out beside, the dose.
fn told(bath: &Bath, solved: &Solved, left_out: Vec<String>) -> Expected {
    let chosen = &solved.chosen;
    let (solver, mixture) = (&chosen.solver, &chosen.mixture);
    let mut ph =
        |solver: &mut Solver| good(solver.solve(&mixture.totals, mixture.water, true).status).then(|| solver.ph());
    let spread = causes(chosen, &mut ph).unwrap_or_default();
    let limit = if chosen.chemistry.model == Model::Pitzer { 6.0 } else { engine::aqueous::activity::DAVIES_LIMIT };
    let masters = 1..chosen.chemistry.network.masters();
    let left = masters.map(|number| {
        let master = chosen.chemistry.species[number];
        let amount = dissolved(solver, number);
        let molar = master.formula.molar_mass().map_or(f64::NAN, |m| m.value);
        (plain(master.name), amount, 1e3 * amount * molar / solver.water())
    });
    let whole = bath.substances.iter().map(|(_, amount, _)| *amount).fold(0.0, f64::max);
    let there = chosen.chemistry.solids.iter().enumerate().map(|(n, row)| (&row.formula, solver.solid(n)));
    let is_written = |formula: &Formula| bath.written.iter().any(|solid| alike(solid, formula));
    let beside = there.filter(|(formula, amount)| *amount > NAMED * whole && !is_written(formula));
    Expected {
        ph: (solver.ph(), spread),
        model: chosen.chemistry.model,
        within: solver.ionic_strength() <= limit,
        stays: Vec::new(),
        unknown: Vec::new(),
        left: left.collect(),
        beside: beside.map(|(solid, amount)| Beside { solid: solid.clone(), amount, alone: None }).collect(),
        sensitivities: Vec::new(),
        dose: bath.dose.as_ref().and_then(|dosed| dose(chosen, dosed)),
        left_out,
        sources: sources(chosen),
    }
}

/// How much more of a reagent brings a mixture to a pH; below zero where there is too much of it.
fn more(chosen: &Chosen, solver: &mut Solver, mixture: &Mixture, (formula, ph): (&Formula, f64)) -> Option<f64> {
    let parts = dissolve(formula, chosen.chemistry.model).ok()?;
    let mut list = vec![(HYDROGEN, parts.hydrogen)];
    for (name, count) in &parts.masters {
        list.push((chosen.chemistry.master(name)?, *count));
    }
    let reagent = Reagent { parts: list, water: parts.water };
    // No more can be taken away than is there.
    let there = reagent.parts.iter().filter(|(n, c)| *n != HYDROGEN && *c > 0.0).map(|(n, c)| mixture.totals[*n] / c);
    let least = -there.fold(f64::INFINITY, f64::min);
    let most = MOST_REAGENT * mixture.water * engine::aqueous::water::MOLAR_MASS;
    to_ph(solver, mixture, &reagent, ph, (least.min(0.0), most)).ok().map(|dose| dose.amount)
}

/// The dose, with what constants, activity model and the reading of pH leave open.
fn dose(chosen: &Chosen, (formula, ph): &(Formula, f64)) -> Option<Dosed> {
    let to = |solver: &mut Solver, ph: f64| more(chosen, solver, &chosen.mixture, (formula, ph));
    let more = to(&mut chosen.solver.clone(), *ph)?;
    let meter = to(&mut chosen.solver.clone(), ph + PH_METER).map_or(0.0, |other| (other - more).abs());
    let causes = causes(chosen, &mut |solver: &mut Solver| to(solver, *ph)).unwrap_or_default();
    Some(Dosed { more, causes, meter })
}

/// Shares of the written solids that stay dissolved, with their sensitivities.
fn stays(bath: &Bath, solved: &Solved, recipe: &Recipe, found: &mut Expected) {
    let mut chosen = solved.chosen.clone();
    for number in 0..chosen.chemistry.solids.len() {
        if !solved.numbers.contains(&Some(number)) {
            chosen.solver.network_mut().shift_solid(number, HELD_BACK);
        }
    }
    let solve =
        |solver: &mut Solver, mixture: &Mixture| good(solver.solve(&mixture.totals, mixture.water, false).status);
    let held = chosen.mixture.clone();
    if !bath.written.is_empty() && !solve(&mut chosen.solver, &held) {
        found.unknown.clone_from(&bath.written);
        return;
    }
    let share = |solver: &Solver, number: usize, whole: f64| (1.0 - solver.solid(number) / whole).clamp(LEAST, 1.0);
    let mut places = Vec::new();
    for (solid, number) in bath.written.iter().zip(&solved.numbers) {
        let whole = bath.amount(solid);
        match number.filter(|n| whole > 0.0 && chosen.solver.solid(*n) > 0.0) {
            Some(number) => places.push((solid, number, whole)),
            None => found.unknown.push(solid.clone()),
        }
    }
    for (solid, number, whole) in &places {
        let mut figure = |solver: &mut Solver| solve(solver, &held).then(|| share(solver, *number, *whole).ln());
        let causes = causes(&chosen, &mut figure).unwrap_or(Causes::OPEN);
        found.stays.push(Stays { solid: (*solid).clone(), share: share(&chosen.solver, *number, *whole), causes });
    }
    let (model, temperature) = (chosen.chemistry.model, bath.temperature);
    for (place, (formula, _)) in recipe.substances.iter().enumerate() {
        let mut changed = recipe.clone();
        changed.substances[place].1 *= 1.0 + NUDGE;
        let Ok(moved) = changed.with(model, Allowed::None, &[], temperature) else { continue };
        let (mut solver, mut full) = (chosen.solver.clone(), solved.chosen.solver.clone());
        let per = (1.0 + NUDGE).ln();
        if !solve(&mut solver, &moved.mixture) || !solve(&mut full, &moved.mixture) {
            continue;
        }
        let of = |(_, number, whole): &(&Formula, usize, f64), was: &Stays| {
            let whole = if alike(&was.solid, formula) { whole * (1.0 + NUDGE) } else { *whole };
            (share(&solver, *number, whole) / was.share).ln() / per
        };
        let shares = places.iter().zip(&found.stays).map(|(place, was)| of(place, was)).collect();
        let ph = (full.ph() - solved.chosen.solver.ph()) / per;
        let dosed = bath.dose.as_ref().zip(found.dose).and_then(|((reagent, ph), was)| {
            let other = more(&solved.chosen, &mut full, &moved.mixture, (reagent, *ph))?;
            // What is charged of the reagent itself is no part of the need.
            (!alike(reagent, formula)).then_some((other - was.more) / per)
        });
        let (substance, dose) = (formula.clone(), dosed.unwrap_or(0.0));
        found.sensitivities.push(Sensitivity { substance, ph, shares, beside: Vec::new(), dose });
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn bath(list: &[(&str, f64, bool)], written: &[&str]) -> Bath {
        let formula = |text: &str| Formula::parse(text).expect("a formula");
        Bath {
            substances: list.iter().map(|(f, n, solid)| (formula(f), *n, *solid)).collect(),
            written: written.iter().map(|f| formula(f)).collect(),
            water: 1.0,
            temperature: 298.15,
            dose: None,
        }
    }

    /// Barium sulfate in water: 2.4 mg/L (solubility product 1.1e-10, Skoog and West, appendix, from memory).
    #[test]
    fn what_stays_is_the_solubility() {
        let found = expected(&bath(&[("BaSO4", 0.01, true)], &["BaSO4"])).expect("in the tables");
        let stays = &found.stays[0];
        let milligrams = stays.share * 0.01 * 233.39e3;
        assert!((2.2..2.7).contains(&milligrams), "{milligrams}");
        assert!((0.02..0.5).contains(&stays.causes.total()), "{stays:?}");
        assert!((found.ph.0 - 7.0).abs() < 0.1, "{found:?}");
        // More of a common ion leaves less; the pure salt's share goes with 1/amount.
        let own = found.sensitivities[0].shares[0];
        assert!((own + 1.0).abs() < 0.05, "{own}");
        let common = expected(&bath(&[("BaSO4", 0.01, true), ("Na2SO4", 0.1, false)], &["BaSO4"])).expect("known");
        assert!(common.stays[0].share < 0.1 * stays.share);
    }

    #[test]
    fn a_bath_says_what_else_falls_out_and_what_is_not_known() {
        let list = [("Fe(OH)3", 0.01, true), ("CuSO4", 0.1, false), ("NaOH", 0.02, false), ("SiC", 0.1, true)];
        let found = expected(&bath(&list, &["Fe(OH)3"])).expect("in the tables");
        assert!(found.beside.iter().any(|one| one.solid.to_string().contains("Cu")), "{:?}", found.beside);
        assert_eq!(found.left_out, ["SiC"]);
        assert!(expected(&bath(&[("XeF2", 0.1, false)], &[])).is_err());
    }

    /// Of 0.15 mol of calcium sulfate beside magnesium hydroxide all but 15.2 mmol/kg falls out (Marshall and Slusher 1966, from
    /// memory); a solid of the written solid's own metal is no foreign one, nor is one that takes its place.
    #[test]
    fn foreign_solids_are_told_from_forms() {
        let list = [("Mg(OH)2", 0.05, true), ("CaSO4", 0.15, false)];
        let found = expected(&bath(&list, &["Mg(OH)2"])).expect("in the tables");
        let gypsum = found.beside.iter().find(|one| one.solid.to_string() == "CaSO4·2H2O").expect("gypsum");
        let alone = gypsum.alone.expect("foreign");
        assert!((alone.amount - 0.1349).abs() < 5e-4, "{alone:?}");
        // Half a decade of the constant: three times the ion pairs and twice the ions, some 35 to 40 mmol/kg.
        assert!((0.12..0.25).contains(&alone.age) && alone.causes.constants > 0.0, "{alone:?}");
        let salt = found.sensitivities.iter().find(|s| s.substance.to_string() == "CaSO4").expect("the salt");
        assert!((salt.beside[0] - 150.0 / 134.9).abs() < 0.05, "{salt:?}");
        let forms = [("Cu2CO3(OH)2", 0.05, true), ("CuSO4", 0.1, false), ("Na2SO4", 0.1, false)];
        let found = expected(&bath(&forms, &["Cu2CO3(OH)2"])).expect("in the tables");
        assert!(found.beside.iter().all(|one| one.alone.is_none()), "{:?}", found.beside);
    }

    /// To pH 7 what a strong acid brought takes as much strong base, mole for mole.
    #[test]
    fn the_dose_is_what_the_acid_asks_for() {
        let asked = Bath {
            dose: Some((Formula::parse("NaOH").expect("a formula"), 7.0)),
            ..bath(&[("HCl", 0.01, false)], &[])
        };
        let dose = expected(&asked).expect("in the tables").dose.expect("a dose");
        assert!((dose.more - 0.01).abs() < 1e-4, "{dose:?}");
        // A strong acid and a strong base: at pH 7 water alone buffers, so the meter leaves hardly anything open.
        assert!(dose.meter < 1e-7, "{dose:?}");
    }
}
