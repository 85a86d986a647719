//! How much of a foreign solid falls out beside the written ones?
//!
//! Foreign is a solid without a cation of a written one; of the others a bath cannot say whether they fall out beside or
//! in its place. The bath is solved with the written solids and the foreign ones of the first look, all else held back. Where
//! a written solid keeps less than nearly all of what it has alone, the foreign one takes its place, and nothing is said.
//! What is open of an amount: constants and activity model, and the age of the solid: it may ask for three times the
//! ion product before it forms, or be more soluble by as much while it is fresh. Neglected: adsorption and solid solutions
//! (errs to a foreign part that is too small); a solid that does not form within the hours of a step at all.
//!
//! Source: as for the bath; the allowance for age is estimated.

use super::super::sensitivity::{Causes, causes};
use super::{Bath, Expected, HELD_BACK, NUDGE, Solved, alike, good, number_of};
use crate::aqueous::{Allowed, Chosen, Recipe};
use chem::Formula;
use chem::aqueous::{Model, dissolve};
use engine::aqueous::dose::Mixture;
use engine::aqueous::speciate::Solver;

/// Share of its amount that a written solid has to keep beside a foreign one.
const KEPT: f64 = 0.95;
/// Decades of its constant by which a foreign solid may be fresh, or late; estimated.
const AGE: f64 = 0.5;

/// A solid that falls out beside the written ones, or in their place.
#[derive(Clone, Debug, PartialEq)]
pub(crate) struct Beside {
    /// The solid.
    pub(crate) solid: Formula,
    /// Amount with all that falls out within hours, mol.
    pub(crate) amount: f64,
    /// What is sure to be beside; none where it is no foreign solid.
    pub(crate) alone: Option<Alone>,
}

/// A foreign solid beside the written ones.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(crate) struct Alone {
    /// Amount that comes to what was there, mol.
    pub(crate) amount: f64,
    /// Standard uncertainty of the natural logarithm of the amount.
    pub(crate) causes: Causes,
    /// The same by the age of the solid.
    pub(crate) age: f64,
}

/// Names of the cations that a solid brings; none where the tables have no word for it.
fn cations(solid: &Formula) -> Option<Vec<&'static str>> {
    let parts = dissolve(solid, Model::Association).ok()?;
    let is_cation = |name: &&str| Formula::parse(name).is_ok_and(|formula| formula.charge() > 0);
    Some(parts.masters.iter().map(|(name, _)| *name).filter(is_cation).collect())
}

/// The written solid whose metal a solid takes, if it does.
pub(crate) fn form_of<'a>(solid: &Formula, written: &'a [Formula]) -> Option<&'a Formula> {
    let own = cations(solid)?;
    written.iter().find(|other| cations(other).is_some_and(|list| list.iter().any(|ion| own.contains(ion))))
}

/// Fills in what is known of foreign solids; needs the sensitivities of the bath.
pub(super) fn foreign(bath: &Bath, solved: &Solved, recipe: &Recipe, found: &mut Expected) {
    let unknown = |solid: &Formula| !found.left_out.contains(&solid.to_string());
    let blind = bath.written.iter().zip(&solved.numbers).any(|(solid, number)| number.is_none() && unknown(solid));
    if bath.written.is_empty() || blind {
        return;
    }
    let own: Vec<&str> = bath.written.iter().filter_map(cations).flatten().collect();
    let places: Vec<(usize, usize)> = found
        .beside
        .iter()
        .enumerate()
        .filter(|(_, one)| {
            cations(&one.solid).is_some_and(|list| !list.is_empty() && !list.iter().any(|c| own.contains(c)))
        })
        .filter_map(|(place, one)| Some((place, number_of(&solved.chosen, &one.solid)?)))
        .collect();
    let Some(mut chosen) = (!places.is_empty()).then(|| beside_written(solved, &places)).flatten() else { return };
    let mixture = chosen.mixture.clone();
    let mut logarithms = Vec::new();
    for (place, number) in &places {
        let before = bath.amount(&found.beside[*place].solid);
        let more = |solver: &Solver| solver.solid(*number) - before;
        let amount = more(&chosen.solver);
        if amount <= 0.0 {
            continue;
        }
        let mut figure = |solver: &mut Solver| {
            solved_for(solver, &mixture).then(|| (more(solver) / amount).max(f64::MIN_POSITIVE).ln().max(-1.0))
        };
        let causes = causes(&chosen, &mut figure).unwrap_or(Causes::OPEN);
        let mut late = chosen.solver.clone();
        late.network_mut().shift_solid(*number, AGE);
        let age = figure(&mut late).map_or(1.0, f64::abs);
        found.beside[*place].alone = Some(Alone { amount, causes, age });
        logarithms.push((*place, *number, before, amount));
    }
    let count = found.beside.len();
    for sensitivity in &mut found.sensitivities {
        sensitivity.beside = vec![0.0; count];
        let Some(moved) = nudged(&chosen, recipe, bath.temperature, &sensitivity.substance) else { continue };
        if !solved_for(&mut chosen.solver, &moved) {
            continue;
        }
        for (place, number, before, amount) in &logarithms {
            let ratio = (chosen.solver.solid(*number) - before) / amount;
            sensitivity.beside[*place] = ratio.max(f64::MIN_POSITIVE).ln().max(-1.0) / (1.0 + NUDGE).ln();
        }
    }
}

fn solved_for(solver: &mut Solver, mixture: &Mixture) -> bool {
    good(solver.solve(&mixture.totals, mixture.water, false).status)
}

/// The bath with written and foreign solids; none where a written one gives way.
fn beside_written(solved: &Solved, places: &[(usize, usize)]) -> Option<Chosen> {
    let written: Vec<usize> = solved.numbers.iter().flatten().copied().collect();
    let with = |kept: &dyn Fn(usize) -> bool| {
        let mut chosen = solved.chosen.clone();
        for number in 0..chosen.chemistry.solids.len() {
            if !written.contains(&number) && !kept(number) {
                chosen.solver.network_mut().shift_solid(number, HELD_BACK);
            }
        }
        let mixture = chosen.mixture.clone();
        solved_for(&mut chosen.solver, &mixture).then_some(chosen)
    };
    let alone = with(&|_| false)?;
    let both = with(&|number| places.iter().any(|(_, own)| *own == number))?;
    let keeps = |number: &usize| both.solver.solid(*number) >= KEPT * alone.solver.solid(*number);
    written.iter().all(keeps).then_some(both)
}

/// The mixture with some more of one substance.
fn nudged(chosen: &Chosen, recipe: &Recipe, temperature: f64, substance: &Formula) -> Option<Mixture> {
    let mut changed = recipe.clone();
    let (_, amount) = changed.substances.iter_mut().find(|(formula, _)| alike(formula, substance))?;
    *amount *= 1.0 + NUDGE;
    changed.with(chosen.chemistry.model, Allowed::None, &[], temperature).ok().map(|moved| moved.mixture)
}
