//! Where does each metal fall out while a base is added, and what excess of a precipitant is best?
//!
//! Bands stand between two extremes: fresh solids with constants on the soluble side, and aged ones on the insoluble side.
//! Every constant of a solid is moved by as much as the tables are apart, at least by its standard uncertainty.
//!
//! Source: the tables of `chem::aqueous`.

use super::Asked;
use super::dosing::reagent;
use super::words::Sold;
use crate::aqueous::{Allowed, Chosen, plain};
use crate::outcome::{Onset, SolutionExcess, SolutionWindow};
use chem::Formula;
use chem::aqueous::Model;
use engine::aqueous::dose::{Reagent, Window, best_excess, dissolved, to_ph, windows as engine_windows};

/// Dissolved share that counts as out.
const OUT: f64 = 0.001;
/// Share whose loss shows the first solid.
const FIRST: f64 = 1e-6;
/// Halvings of a rung.
const HALVINGS: usize = 40;
/// pH where the ladder begins and ends, and its rungs.
const LADDER: (f64, f64, usize) = (1.0, 13.5, 50);
/// Largest amount of acid or base, mol per kg of water.
const MOST: f64 = 20.0;

/// Which way the solids are moved.
#[derive(Clone, Copy)]
enum Side {
    Soluble,
    Insoluble,
}

/// Windows of all metals of the solution.
pub(super) fn windows(asked: &Asked) -> Vec<SolutionWindow> {
    let sides = [(Allowed::Fresh, Side::Soluble), (Allowed::Aged, Side::Insoluble)];
    let sides = sides.map(|(allowed, side)| run(asked, allowed, side));
    let mut list: Vec<SolutionWindow> = Vec::new();
    for (side, (master, window, solid)) in
        sides.iter().enumerate().flat_map(|(side, found)| found.iter().flatten().map(move |one| (side, one)))
    {
        let name = master.clone();
        let place = match list.iter().position(|w| w.master == name) {
            Some(place) => place,
            None => {
                let none = SolutionWindow {
                    master: name,
                    solids: Vec::new(),
                    start: None,
                    done: None,
                    least: None,
                    co_loss: Vec::new(),
                    courses: Default::default(),
                };
                list.push(none);
                list.len() - 1
            }
        };
        let entry = &mut list[place];
        entry.start = widened(entry.start, window.start);
        entry.done = widened(entry.done, window.done);
        entry.courses[side].clone_from(&window.course);
        if entry.least.is_none() {
            entry.least = window.least;
        }
        if let Some(solid) = solid.as_ref().filter(|solid| !entry.solids.contains(solid)) {
            entry.solids.push(solid.clone());
        }
    }
    list.retain(|window| window.start.is_some());
    for found in sides.iter().flatten() {
        for (master, window, _) in found {
            let Some(done) = window.done else { continue };
            let Some(place) = list.iter().position(|w| w.master == *master) else { continue };
            for (other, beside, _) in found.iter().filter(|(other, _, _)| other != master) {
                along(&mut list[place].co_loss, other.clone(), 100.0 * out(&beside.course, done));
            }
        }
    }
    list
}

/// Widens the band of an ion by one extreme.
fn along(list: &mut Vec<(String, f64, f64)>, ion: String, percent: f64) {
    match list.iter_mut().find(|(name, _, _)| *name == ion) {
        Some((_, low, high)) => (*low, *high) = (low.min(percent), high.max(percent)),
        None => list.push((ion, percent, percent)),
    }
}

/// Share that is out at a pH, between the rungs of a course that begins with all of it dissolved.
fn out(course: &[(f64, f64)], ph: f64) -> f64 {
    let whole = course.first().map_or(f64::NAN, |(_, left)| *left);
    let between = course.windows(2).find(|pair| (pair[0].0..=pair[1].0).contains(&ph));
    let left = between.map_or(f64::NAN, |pair| {
        let part = (ph - pair[0].0) / (pair[1].0 - pair[0].0);
        pair[0].1 + part * (pair[1].1 - pair[0].1)
    });
    (1.0 - left / whole).clamp(0.0, 1.0)
}

fn widened(band: Option<(f64, f64)>, value: Option<f64>) -> Option<(f64, f64)> {
    match (band, value) {
        (Some((low, high)), Some(value)) => Some((low.min(value), high.max(value))),
        (None, Some(value)) => Some((value, value)),
        (band, None) => band,
    }
}

type Found = (String, Window, Option<String>);

/// Moves all solids to one extreme.
fn moved(chosen: &mut Chosen, side: Side) {
    for (number, solid) in chosen.chemistry.solids.clone().iter().enumerate() {
        let apart = solid.constant.others.iter().map(|(_, other)| other - solid.constant.log_k);
        let uncertainty = solid.constant.standard_uncertainty();
        let shift = match side {
            Side::Soluble => apart.fold(uncertainty, f64::max),
            Side::Insoluble => apart.fold(-uncertainty, f64::min),
        };
        chosen.solver.network_mut().shift_solid(number, shift);
    }
}

/// One extreme: acidified first, then base along the ladder.
fn run(asked: &Asked, allowed: Allowed, side: Side) -> Option<Vec<Found>> {
    let mut recipe = asked.recipe.clone();
    let acid = Formula::parse("HCl").ok()?;
    let base = Formula::parse("NaOH").ok()?;
    recipe.reagents.extend([acid.clone(), base.clone()]);
    let mut chosen = recipe.with(Model::Association, allowed, &asked.held, asked.temperature).ok()?;
    moved(&mut chosen, side);
    let acid = reagent(&chosen, &acid, Sold::Pure)?;
    let base = reagent(&chosen, &base, Sold::Pure)?;
    let most = MOST * recipe.water;
    if let Ok(dose) = to_ph(&mut chosen.solver, &chosen.mixture, &acid, LADDER.0, (0.0, most)) {
        for (part, coefficient) in &acid.parts {
            chosen.mixture.totals[*part] += coefficient * dose.amount;
        }
    }
    let metals: Vec<usize> = metals(&chosen);
    let (low, high, rungs) = LADDER;
    let ladder: Vec<f64> = (0..=rungs).map(|n| low + (high - low) * n as f64 / rungs as f64).collect();
    let mixture = chosen.mixture.clone();
    let found = engine_windows(&mut chosen.solver, &mixture, &base, &metals, &ladder, OUT, most);
    let water = mixture.water * engine::aqueous::water::MOLAR_MASS;
    let told = |(mut window, metal): (Window, &usize)| {
        let molar = chosen.chemistry.species[*metal].formula.molar_mass().map_or(f64::NAN, |mass| mass.value);
        let whole = 1e3 * mixture.totals[*metal] * molar / water;
        window.course.iter_mut().for_each(|(_, share)| *share *= whole);
        let solid = window.first_solid.map(|number| {
            let solid = chosen.chemistry.solids[number];
            if solid.label.is_empty() {
                solid.formula.to_string()
            } else {
                format!("{} ({})", solid.formula, solid.label)
            }
        });
        (chosen.chemistry.called(chosen.chemistry.species[*metal].name), window, solid)
    };
    Some(found.into_iter().zip(&metals).map(told).collect())
}

/// Cations that are there.
fn metals(chosen: &Chosen) -> Vec<usize> {
    (1..chosen.chemistry.network.masters())
        .filter(|n| chosen.chemistry.species[*n].formula.charge() > 0 && chosen.mixture.totals[*n] > 0.0)
        .collect()
}

/// Where a precipitant brings an ion down, by one extreme: amount, and what of the ligand is free.
struct Fall<'a> {
    chosen: Chosen,
    reagent: &'a Reagent,
    master: usize,
    ligand: usize,
    /// Amounts of the precipitant, mol.
    ladder: &'a [f64],
}

impl Fall<'_> {
    /// The least amount at which no more than a share is dissolved.
    fn at(&mut self, share: f64) -> Option<(f64, f64)> {
        let mixture = self.chosen.mixture.clone();
        let total = mixture.totals[self.master];
        let mut totals = Vec::new();
        let mut left = |amount: f64| {
            mixture.solve_with(&mut self.chosen.solver, self.reagent, amount, &mut totals);
            let free = self.chosen.solver.molalities()[self.ligand];
            (dissolved(&self.chosen.solver, self.master) / total, free)
        };
        if left(0.0).0 <= share {
            return None;
        }
        let mut before = 0.0;
        let met = self.ladder.iter().copied().find(|amount| {
            let met = left(*amount).0 <= share;
            before = if met { before } else { *amount };
            met
        })?;
        let (mut low, mut high) = (before, met);
        for _ in 0..HALVINGS {
            let middle = 0.5 * (low + high);
            if left(middle).0 <= share { high = middle } else { low = middle }
        }
        Some((high, left(high).1))
    }
}

/// The same over both extremes.
fn onset(found: [Option<(f64, f64)>; 2]) -> Option<Onset> {
    let [Some(one), Some(other)] = found else { return None };
    let band = |a: f64, b: f64| (a.min(b), a.max(b));
    Some(Onset { amount: band(one.0, other.0), free: band(one.1, other.1) })
}

/// The best excess of a precipitant.
pub(super) fn excess(asked: &Asked, formula: &Formula, of: &'static str) -> Option<SolutionExcess> {
    const LEAST: f64 = 1e-4;
    const MOST_TIMES: f64 = 30.0;
    const SHOWN_FROM: f64 = 0.5;
    const RUNGS: usize = 60;
    const TIMES: [f64; 5] = [0.9, 1.1, 1.5, 2.0, 5.0];
    let mut recipe = asked.recipe.clone();
    recipe.reagents.push(formula.clone());
    let mut chosen = recipe.with(Model::Association, asked.allowed, &asked.held, asked.temperature).ok()?;
    let reagent = reagent(&chosen, formula, Sold::Pure)?;
    let master = chosen.chemistry.counted_in(of)?;
    let total = chosen.mixture.totals[master];
    let mixture = chosen.mixture.clone();
    let (amount, left) =
        best_excess(&mut chosen.solver, &mixture, &reagent, master, (LEAST * total, MOST_TIMES * total))?;
    if left >= 0.99 * total {
        return None;
    }
    let ion = chosen.chemistry.species[master].formula.molar_mass().ok()?.value;
    let mut totals = Vec::new();
    let mut milligrams = |amount: f64| {
        mixture.solve_with(&mut chosen.solver, &reagent, amount, &mut totals);
        1e3 * dissolved(&chosen.solver, master) * ion / chosen.solver.water()
    };
    let rung = (MOST_TIMES / SHOWN_FROM).ln() / RUNGS as f64;
    let ladder = (0..=RUNGS).map(|n| total * SHOWN_FROM * (rung * n as f64).exp());
    let course = ladder.map(|amount| (amount, milligrams(amount))).filter(|(_, left)| left.is_finite()).collect();
    let others = TIMES.iter().map(|times| (*times, times * amount, milligrams(times * amount))).collect();
    let left = milligrams(amount);
    let takes_back = milligrams(MOST_TIMES * total) > 1.01 * left;
    let is_ligand = |n: &usize| chosen.chemistry.species[*n].formula.charge() < 0;
    let ligand = reagent.parts.iter().filter(|(_, count)| *count > 0.0).map(|(n, _)| *n).find(is_ligand)?;
    let rung = (MOST_TIMES / LEAST).ln() / RUNGS as f64;
    let ladder: Vec<f64> = (0..=RUNGS).map(|n| total * LEAST * (rung * n as f64).exp()).collect();
    let sides = [(Allowed::Fresh, Side::Soluble), (Allowed::Aged, Side::Insoluble)].map(|(allowed, side)| {
        let mut chosen = recipe.with(Model::Association, allowed, &asked.held, asked.temperature).ok()?;
        moved(&mut chosen, side);
        let mut fall = Fall { chosen, reagent: &reagent, master, ligand, ladder: &ladder };
        Some([fall.at(1.0 - FIRST), fall.at(OUT)])
    });
    let met = |place: usize| onset([0, 1].map(|side: usize| sides[side].and_then(|found| found[place])));
    Some(SolutionExcess {
        ligand: plain(chosen.chemistry.species[ligand].name),
        start: met(0),
        done: met(1),
        takes_back,
        reagent: formula.to_string(),
        master: chosen.chemistry.called(chosen.chemistry.species[master].name),
        amount,
        mass: amount * formula.molar_mass().ok()?.value,
        left,
        others,
        course,
    })
}
