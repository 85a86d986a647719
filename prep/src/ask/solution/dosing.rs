//! How much acid or base, how surely, and what uses it up?

use super::words::Sold;
use super::{Asked, MOST_REAGENT};
use crate::aqueous::coupled::written;
use crate::aqueous::sensitivity::{Causes, causes, causes_of_all};
use crate::aqueous::{Chosen, plain};
use crate::ask::reading::normal;
use crate::outcome::SolutionDose;
use chem::Formula;
use chem::aqueous::dissolve;
use engine::aqueous::dose::{DoseError, Mixture, Reagent, curve, to_ph};
use engine::aqueous::network::HYDROGEN;
use engine::aqueous::speciate::{Solver, Status};

/// Points of the curve that is told.
const POINTS: usize = 60;
/// How far the curve goes beyond the dose.
const BEYOND: f64 = 1.25;
/// Share of the dose below which a user of it is not named.
const SMALL: f64 = 0.005;
/// The reagent in the numbers of the chosen chemistry, with the water that comes with it as sold.
pub(super) fn reagent(chosen: &Chosen, formula: &Formula, sold: Sold) -> Option<Reagent> {
    let parts = dissolve(formula, chosen.chemistry.model).ok()?;
    let molar = formula.molar_mass().ok()?.value * 1e-3;
    let beside = match sold {
        Sold::Pure => 0.0,
        // About a kilogram of water in a litre.
        Sold::Concentration(c) => 1.0 / c,
        Sold::Fraction(w) => molar * (1.0 - w) / w,
    };
    let mut list = vec![(HYDROGEN, parts.hydrogen)];
    let mut water = parts.water + beside / engine::aqueous::water::MOLAR_MASS;
    for (name, count) in written(&parts.masters, &chosen.chemistry.states, false).terms {
        match name {
            "H2O" => water += count,
            "H^+" => list[0].1 += count,
            _ => list.push((chosen.chemistry.master(name)?, count)),
        }
    }
    Some(Reagent { parts: list, water })
}

/// The dose that brings the chosen mixture to a pH; afterwards the solver holds that solution.
pub(super) fn dose(
    chosen: &mut Chosen,
    asked: &Asked,
    (formula, sold): (&Formula, Sold),
    target: f64,
    quick: bool,
) -> Result<SolutionDose, DoseError> {
    let unsolved = DoseError::Unsolved(Status::BadTotals);
    let reagent = reagent(chosen, formula, sold).ok_or(unsolved)?;
    let molar = formula.molar_mass().map_err(|_| unsolved)?.value;
    let limits = (0.0, MOST_REAGENT * asked.recipe.water);
    let mixture = chosen.mixture.clone();
    let mut totals = Vec::new();
    mixture.solve_with(&mut chosen.solver, &reagent, 0.0, &mut totals);
    let before = holders(chosen);
    let naive = 10f64.powf(-chosen.solver.ph()) - 10f64.powf(-target);
    let found = to_ph(&mut chosen.solver, &mixture, &reagent, target, limits)?;
    let after = holders(chosen);
    let water = chosen.solver.water();
    let mut list = vec![("constants", 0.0), ("activity model", 0.0), ("pH reading", 0.0)];
    if !quick {
        let known = asked.ph.is_some();
        let mut amount = |solver: &mut Solver| amount_for(chosen, asked, solver, &mixture, &reagent, (0.0, target));
        if let Some(causes) = causes(chosen, &mut amount) {
            list[0].1 = causes.constants * molar;
            list[1].1 = causes.model * molar;
        }
        let end = asked.meter / found.slope.abs().max(1e-12);
        let mut solver = chosen.solver.clone();
        let moved = |solver: &mut Solver| amount_for(chosen, asked, solver, &mixture, &reagent, (asked.meter, target));
        let start = if known { moved(&mut solver).map_or(0.0, |a| (a - found.amount).abs()) } else { 0.0 };
        list[2].1 = end.hypot(start) * molar;
    }
    let uncertainty = list.iter().fold(0.0f64, |sum, (_, u)| sum.hypot(*u));
    let mass = normal(found.amount * molar, uncertainty, "g");
    let as_sold = match sold {
        Sold::Pure => None,
        Sold::Concentration(c) => Some(normal(found.amount / c * 1e3, uncertainty / molar / c * 1e3, "mL")),
        Sold::Fraction(w) => Some(normal(mass.mean / w, uncertainty / w, "g")),
    };
    let amounts: Vec<f64> = (0..=POINTS).map(|n| BEYOND * found.amount * n as f64 / POINTS as f64).collect();
    let points = points(chosen, &mixture, &reagent, &amounts, molar);
    mixture.solve_with(&mut chosen.solver, &reagent, found.amount, &mut totals);
    let all = points.len() == amounts.len();
    let scatter = if quick || !all { Vec::new() } else { scatter(chosen, asked, &mixture, &reagent, &amounts) };
    chosen.mixture.totals.copy_from_slice(&totals);
    chosen.mixture.water += found.amount * reagent.water;
    Ok(SolutionDose {
        reagent: formula.to_string(),
        from_ph: found.before,
        to_ph: target,
        amount: found.amount,
        as_sold_volume: as_sold_volume(formula, sold, mass.mean),
        mass,
        as_sold,
        takes: takes(&before, &after, found.amount),
        causes: list,
        naive: naive.abs() * water * molar,
        curve: points,
        curve_uncertainty: scatter,
        meter: asked.meter,
    })
}

/// mL of a solution sold by its mass fraction that holds a mass of the pure reagent, g.
fn as_sold_volume(formula: &Formula, sold: Sold, grams: f64) -> Option<f64> {
    let Sold::Fraction(fraction) = sold else { return None };
    Some(grams / fraction / chem::SolutionDensity::of(formula)?.at(fraction)? * 1e3)
}

/// The dose with a solver whose constants were moved; where the pH before is known, the mixture is brought to it anew.
fn amount_for(
    chosen: &Chosen,
    asked: &Asked,
    solver: &mut Solver,
    mixture: &Mixture,
    reagent: &Reagent,
    (shift, target): (f64, f64),
) -> Option<f64> {
    let start = started(chosen, asked, solver, mixture, shift)?;
    let most = MOST_REAGENT * asked.recipe.water;
    to_ph(solver, &start, reagent, target, (0.0, most)).ok().map(|dose| dose.amount)
}

/// The mixture as it is for a solver whose constants were moved: brought anew to the pH that is known, with its shift.
fn started(chosen: &Chosen, asked: &Asked, solver: &mut Solver, mixture: &Mixture, shift: f64) -> Option<Mixture> {
    let most = MOST_REAGENT * asked.recipe.water;
    let mut start = mixture.clone();
    if let Some(ph) = asked.ph {
        let ion = asked.balance.unwrap_or(if ph > 7.0 { "Na^+" } else { "Cl^-" });
        let counter = super::counter(chosen, ion)?;
        let number = counter.parts[0].0;
        let least = -start.totals[number];
        let mut found = to_ph(solver, &start, &counter, ph + shift, (least, most));
        if found.is_err() && asked.balance.is_none() {
            found = to_ph(solver, &start, &counter, ph + shift, (least, most));
        }
        let amount = found.ok()?.amount;
        for (part, coefficient) in &counter.parts {
            start.totals[*part] += coefficient * amount;
        }
        start.totals[number] = start.totals[number].max(0.0);
        start.water += counter.water * amount;
    }
    Some(start)
}

/// How much hydrogen ion each species and solid holds, mol; hydroxide holds less than none.
fn holders(chosen: &Chosen) -> Vec<(String, f64)> {
    let hydrogen = |parts: &[(usize, f64)]| parts.iter().filter(|(m, _)| *m == HYDROGEN).map(|(_, c)| *c).sum::<f64>();
    let solver = &chosen.solver;
    let network = &chosen.chemistry.network;
    let dissolved = network.species().iter().zip(&chosen.chemistry.species).zip(solver.molalities());
    let mut list: Vec<(String, f64)> = dissolved
        .map(|((numbers, named), molality)| (plain(named.name), hydrogen(&numbers.parts) * molality * solver.water()))
        .collect();
    for (number, solid) in chosen.chemistry.solids.iter().enumerate() {
        let held = hydrogen(&network.solids()[number].parts) * solver.solid(number);
        list.push((format!("{}(s)", solid.formula), held));
    }
    list
}

/// What the dose is used up by, the largest first.
fn takes(before: &[(String, f64)], after: &[(String, f64)], amount: f64) -> Vec<(String, f64)> {
    let changes = before.iter().zip(after).map(|((name, was), (_, is))| (name.clone(), was - is));
    let mut list: Vec<(String, f64)> = changes.filter(|(_, change)| change.abs() > SMALL * amount.abs()).collect();
    list.sort_by(|a, b| b.1.abs().total_cmp(&a.1.abs()));
    list
}

fn points(chosen: &mut Chosen, mixture: &Mixture, reagent: &Reagent, amounts: &[f64], molar: f64) -> Vec<(f64, f64)> {
    let mut found = Vec::with_capacity(amounts.len());
    curve(&mut chosen.solver, mixture, reagent, amounts, &mut found);
    let solved = found.iter().filter(|point| matches!(point.status, Status::Solved | Status::Almost));
    solved.map(|point| (point.amount * molar, point.ph)).collect()
}

/// Standard uncertainty of pH along the curve; constants of what is there at the end of it are moved, each curve beginning
/// where the known one begins if its pH is known. Empty where a moved curve cannot be solved.
fn scatter(chosen: &Chosen, asked: &Asked, mixture: &Mixture, reagent: &Reagent, amounts: &[f64]) -> Vec<f64> {
    let mut values = |solver: &mut Solver| {
        let start = started(chosen, asked, solver, mixture, 0.0)?;
        let mut found = Vec::with_capacity(amounts.len());
        curve(solver, &start, reagent, amounts, &mut found);
        let solved = found.iter().all(|point| matches!(point.status, Status::Solved | Status::Almost));
        solved.then(|| found.iter().map(|point| point.ph).collect())
    };
    causes_of_all(chosen, &mut values).map_or_else(Vec::new, |all| all.into_iter().map(Causes::total).collect())
}
