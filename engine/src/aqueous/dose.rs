//! How much of a reagent brings a solution to a pH, and where on that way do solids start and end?
//!
//! Each amount of reagent is a solution of its own, solved in full; pH rises steadily with a base, so the dose is found by
//! drawing a bracket together (regula falsi with the Illinois weight, else halving). Windows are read off a ladder of pH
//! values and then halved in. What is neglected is what the solver neglects: above all that a solid may take its time.
//!
//! Source: charge balance; M. Dowell, P. Jarratt, BIT 11 (1971) 168 (Illinois weight).

use super::network::HYDROGEN;
use super::speciate::{Report, Solver, Status};

/// A solution by its totals.
#[derive(Clone, Debug, PartialEq)]
pub struct Mixture {
    /// Totals of the masters, mol.
    pub totals: Vec<f64>,
    /// Water in all, mol.
    pub water: f64,
}

/// What one mole of a reagent brings.
#[derive(Clone, Debug, PartialEq)]
pub struct Reagent {
    /// Masters, each with its amount; hydrogen ion negative for a base.
    pub parts: Vec<(usize, f64)>,
    /// Water, mol.
    pub water: f64,
}

/// Why there is no dose.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum DoseError {
    /// The reagent moves pH the other way; it starts at the pH given here.
    OtherWay(f64),
    /// Even the largest amount leads only to this pH.
    NotReached(f64),
    /// The solution could not be solved.
    Unsolved(Status),
}

/// A dose found.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Dose {
    /// Amount of reagent, mol; negative where its ion was taken away.
    pub amount: f64,
    /// pH before.
    pub before: f64,
    /// Change of pH with amount at the end, 1/mol.
    pub slope: f64,
    /// Report of the last solution; the solver holds it.
    pub report: Report,
}

/// Steps of the search.
const STEPS: usize = 120;
/// pH is met within this.
const MET: f64 = 1e-9;
/// Rungs of the ladder for the best excess.
const RUNGS: usize = 60;
/// First amount tried, mol per mole of water.
const FIRST: f64 = 1e-9;

impl Mixture {
    /// Solves the mixture with an amount of reagent in it.
    pub fn solve_with(&self, solver: &mut Solver, reagent: &Reagent, amount: f64, totals: &mut Vec<f64>) -> Report {
        totals.clear();
        totals.extend_from_slice(&self.totals);
        for (master, coefficient) in &reagent.parts {
            if let Some(total) = totals.get_mut(*master) {
                *total += amount * coefficient;
                // Rounding may leave less than nothing of an ion taken away in full.
                if *master != HYDROGEN && *total < 0.0 && *total > -1e-12 * amount.abs() {
                    *total = 0.0;
                }
            }
        }
        solver.solve(totals, self.water + amount * reagent.water, true)
    }
}

/// Amount of reagent that brings a mixture to a pH, within bounds.
///
/// # Errors
/// [`DoseError`] where there is none, or where a solution on the way cannot be solved.
pub fn to_ph(
    solver: &mut Solver,
    mixture: &Mixture,
    reagent: &Reagent,
    target: f64,
    (least, most): (f64, f64),
) -> Result<Dose, DoseError> {
    let mut totals = Vec::with_capacity(mixture.totals.len());
    let mut last = None;
    let mut off = |solver: &mut Solver, amount: f64| {
        let report = mixture.solve_with(solver, reagent, amount, &mut totals);
        last = Some(report);
        match report.status {
            Status::Solved | Status::Almost => Ok(solver.ph() - target),
            other => Err(DoseError::Unsolved(other)),
        }
    };
    let start = off(solver, 0.0)?;
    let before = start + target;
    let (mut a, mut fa) = (0.0, start);
    let (mut b, mut fb) = (0.0, start);
    if start.abs() > MET {
        // A base moves pH up with its amount, an acid down.
        let brings: f64 = reagent.parts.iter().filter(|(m, _)| *m == HYDROGEN).map(|(_, c)| *c).sum();
        let direction = if (brings < 0.0) == (start < 0.0) { 1.0 } else { -1.0 };
        let limit = if direction > 0.0 { most } else { least };
        let mut size = FIRST * mixture.water;
        loop {
            let next = if (size > limit.abs()) || limit == 0.0 { limit } else { direction * size };
            (a, fa) = (b, fb);
            b = next;
            fb = off(solver, b)?;
            if fb == 0.0 || (fb > 0.0) != (start > 0.0) {
                break;
            }
            if b == limit {
                let reached = fb + target;
                return Err(if limit == 0.0 { DoseError::OtherWay(before) } else { DoseError::NotReached(reached) });
            }
            size *= 3.0;
        }
    }
    let (mut side, mut slope) = (0, f64::NAN);
    for step in 0..STEPS {
        if fb.abs() <= MET || a == b || (b - a).abs() <= 1e-15 * b.abs() {
            break;
        }
        let straight = b - fb * (b - a) / (fb - fa);
        let inside = (straight - a) * (straight - b) < 0.0;
        let c = if inside && step % 4 != 3 { straight } else { 0.5 * (a + b) };
        let fc = off(solver, c)?;
        if (fc > 0.0) == (fb > 0.0) {
            if side == -1 {
                fa *= 0.5;
            }
            side = -1;
        } else {
            (a, fa) = (b, fb);
            side = 1;
        }
        (b, fb) = (c, fc);
    }
    let here = off(solver, b)?;
    let nudge = (1e-6 * b.abs()).max(FIRST * mixture.water * 1e-2);
    if let Ok(beside) = off(solver, b - nudge) {
        slope = (here - beside) / nudge;
    }
    off(solver, b)?;
    let Some(report) = last else { return Err(DoseError::Unsolved(Status::NotConverged)) };
    Ok(Dose { amount: b, before, slope, report })
}

/// A point of a titration curve.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Point {
    /// Amount of reagent, mol.
    pub amount: f64,
    /// pH.
    pub ph: f64,
    /// Ionic strength, mol/kg.
    pub ionic_strength: f64,
    /// How far it was solved.
    pub status: Status,
}

/// pH along amounts of a reagent; `points` is overwritten.
pub fn curve(solver: &mut Solver, mixture: &Mixture, reagent: &Reagent, amounts: &[f64], points: &mut Vec<Point>) {
    let mut totals = Vec::with_capacity(mixture.totals.len());
    points.clear();
    for amount in amounts {
        let report = mixture.solve_with(solver, reagent, *amount, &mut totals);
        points.push(Point {
            amount: *amount,
            ph: solver.ph(),
            ionic_strength: solver.ionic_strength(),
            status: report.status,
        });
    }
}

/// Where a master starts to fall out and where it is out.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Window {
    /// pH of the first solid that holds it.
    pub start: Option<f64>,
    /// Number of that solid.
    pub first_solid: Option<usize>,
    /// pH at which no more than the wanted share is dissolved.
    pub done: Option<f64>,
    /// Smallest dissolved share met, and the pH there.
    pub least: Option<(f64, f64)>,
    /// Dissolved share along the ladder: pH, share.
    pub course: Vec<(f64, f64)>,
}

/// Amount of a master that is dissolved, mol.
#[must_use]
pub fn dissolved(solver: &Solver, master: usize) -> f64 {
    let species = solver.network().species().iter().zip(solver.molalities());
    let held = |(s, m): (&super::network::Dissolved, &f64)| {
        s.parts.iter().filter(|(part, _)| *part == master).map(|(_, c)| c * m).sum::<f64>()
    };
    solver.water() * species.map(held).sum::<f64>()
}

/// Amount of a precipitant, within bounds (mol), at which least of a master stays dissolved, and what stays (mol).
///
/// Too little leaves the metal, too much takes it back as a complex; on a logarithmic scale there is one valley, which a
/// ladder finds and the golden section narrows. `None` where no solution on the ladder can be solved.
pub fn best_excess(
    solver: &mut Solver,
    mixture: &Mixture,
    reagent: &Reagent,
    master: usize,
    (least, most): (f64, f64),
) -> Option<(f64, f64)> {
    let mut totals = Vec::with_capacity(mixture.totals.len());
    let mut left = |log: f64| {
        let report = mixture.solve_with(solver, reagent, log.exp(), &mut totals);
        matches!(report.status, Status::Solved | Status::Almost).then(|| dissolved(solver, master))
    };
    let (low, high) = (least.max(f64::MIN_POSITIVE).ln(), most.max(f64::MIN_POSITIVE).ln());
    let rung = (high - low) / RUNGS as f64;
    let ladder = (0..=RUNGS).map(|n| low + rung * n as f64);
    let best = ladder.filter_map(|log| Some((log, left(log)?))).min_by(|a, b| a.1.total_cmp(&b.1))?;
    let golden = 0.5 * (5f64.sqrt() - 1.0);
    let (mut a, mut b) = ((best.0 - rung).max(low), (best.0 + rung).min(high));
    let mut found = best;
    for _ in 0..40 {
        let (c, d) = (b - golden * (b - a), a + golden * (b - a));
        let (Some(at_c), Some(at_d)) = (left(c), left(d)) else { break };
        if at_c < at_d {
            b = d;
        } else {
            a = c;
        }
        let lower = if at_c < at_d { (c, at_c) } else { (d, at_d) };
        if lower.1 < found.1 {
            found = lower;
        }
    }
    left(found.0)?;
    Some((found.0.exp(), found.1))
}

/// The solid with most of a master in it.
fn solid_of(solver: &Solver, master: usize) -> Option<usize> {
    let holds = |number: usize| {
        let parts = &solver.network().solids()[number].parts;
        solver.solid(number) * parts.iter().filter(|(m, _)| *m == master).map(|(_, c)| *c).sum::<f64>()
    };
    (0..solver.network().solids().len())
        .map(|number| (number, holds(number)))
        .filter(|(_, amount)| *amount > 0.0)
        .max_by(|a, b| a.1.total_cmp(&b.1))
        .map(|(number, _)| number)
}

/// What is looked for at one rung.
#[derive(Clone, Copy)]
enum Sought {
    Solid,
    Out(f64),
}

/// The windows of some masters while a reagent takes the mixture along a ladder of pH values.
///
/// | argument | meaning |
/// |----------|---------|
/// | `ladder` | pH values in the order in which the reagent leads through them |
/// | `share`  | dissolved share that counts as out, 0.001 for 99.9 % |
/// | `most`   | largest amount of reagent, mol |
#[must_use]
pub fn windows(
    solver: &mut Solver,
    mixture: &Mixture,
    reagent: &Reagent,
    masters: &[usize],
    ladder: &[f64],
    share: f64,
    most: f64,
) -> Vec<Window> {
    let mut found = vec![Window::default(); masters.len()];
    let mut before: Option<f64> = None;
    for ph in ladder {
        let Ok(dose) = to_ph(solver, mixture, reagent, *ph, (0.0, most)) else { continue };
        for (window, master) in found.iter_mut().zip(masters) {
            let total = mixture.totals[*master];
            let left = dissolved(solver, *master) / total;
            window.course.push((*ph, left));
            if window.least.is_none_or(|(least, _)| left < least) {
                window.least = Some((left, *ph));
            }
            if window.start.is_none()
                && let Some(solid) = solid_of(solver, *master)
            {
                window.first_solid = Some(solid);
                window.start = Some(*ph);
            }
            if window.done.is_none() && left <= share {
                window.done = Some(*ph);
            }
        }
        refine(solver, mixture, reagent, masters, (before, dose.amount, *ph), share, &mut found);
        before = Some(dose.amount);
    }
    found
}

/// Halves the last rung for what was first met on it.
fn refine(
    solver: &mut Solver,
    mixture: &Mixture,
    reagent: &Reagent,
    masters: &[usize],
    (before, amount, ph): (Option<f64>, f64, f64),
    share: f64,
    found: &mut [Window],
) {
    let Some(before) = before else { return };
    for (window, master) in found.iter_mut().zip(masters) {
        if window.start == Some(ph) {
            let (at, solid) = halve(solver, mixture, reagent, (before, amount), *master, Sought::Solid);
            window.start = Some(at);
            window.first_solid = solid.or(window.first_solid);
        }
        if window.done == Some(ph) {
            window.done = Some(halve(solver, mixture, reagent, (before, amount), *master, Sought::Out(share)).0);
        }
    }
}

fn halve(
    solver: &mut Solver,
    mixture: &Mixture,
    reagent: &Reagent,
    (mut low, mut high): (f64, f64),
    master: usize,
    sought: Sought,
) -> (f64, Option<usize>) {
    let mut totals = Vec::with_capacity(mixture.totals.len());
    let (mut at, mut solid) = (f64::NAN, None);
    for _ in 0..30 {
        let middle = 0.5 * (low + high);
        mixture.solve_with(solver, reagent, middle, &mut totals);
        let met = match sought {
            Sought::Solid => solid_of(solver, master).is_some(),
            Sought::Out(share) => dissolved(solver, master) <= share * mixture.totals[master],
        };
        if met {
            high = middle;
            (at, solid) = (solver.ph(), solid_of(solver, master));
        } else {
            low = middle;
        }
    }
    if at.is_nan() {
        mixture.solve_with(solver, reagent, high, &mut totals);
        (at, solid) = (solver.ph(), solid_of(solver, master));
    }
    (at, solid)
}
