//! How much free acid does a recorded titration curve show?
//!
//! The solution is known but for the amount of one substance (acid, or base where it comes out below zero). Each recorded
//! point is computed in full, and the amount is the one at which computed and recorded pH agree best:
//!
//! ```text
//! χ² = Σ ((pH(n, v) + δ − r) / s)² + (δ / m)²,   s² = scatter² + (slope · u(v))²
//! ```
//! δ is the error that the meter has throughout, with standard uncertainty m. Where the curve is steep a volume that is a
//! little off moves pH a lot; s knows that. The standard uncertainty follows from the curvature, times the strain where
//! points disagree by more than s. Neglected: carbon dioxide taken up on the way, a response that is not linear in pH.
//!
//! Source: weighted least squares (JCGM 100:2008); G. Gran, Analyst 77 (1952) 661 for the idea of using all points.

use super::dose::{Mixture, Reagent};
use super::speciate::{Solver, Status};

/// One recorded point.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Recorded {
    /// Reagent added, mol.
    pub amount: f64,
    /// Standard uncertainty of that, mol.
    pub uncertainty: f64,
    /// pH read.
    pub ph: f64,
}

/// How the meter reads.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Meter {
    /// Standard uncertainty of an error that all readings share.
    pub offset: f64,
    /// Scatter from reading to reading.
    pub scatter: f64,
}

/// What the curve shows.
#[derive(Clone, Debug, PartialEq)]
pub struct Inferred {
    /// Amount of the unknown beyond what the mixture holds, mol.
    pub amount: f64,
    /// Its standard uncertainty by the readings, mol.
    pub standard_uncertainty: f64,
    /// Error that the readings seem to share.
    pub offset: f64,
    /// χ² over degrees of freedom.
    pub strain: f64,
    /// Computed pH at each point, without the shared error.
    pub computed: Vec<f64>,
}

/// Rungs of the ladder of amounts.
const RUNGS: i32 = 28;

/// The curve of a mixture with an amount of the unknown; `None` where a point cannot be solved.
fn computed(
    solver: &mut Solver,
    mixture: &Mixture,
    (unknown, amount): (&Reagent, f64),
    reagent: &Reagent,
    points: &[Recorded],
) -> Option<Vec<f64>> {
    let mut start = mixture.clone();
    for (master, count) in &unknown.parts {
        start.totals[*master] += count * amount;
        if *master != super::network::HYDROGEN && start.totals[*master] < 0.0 {
            return None;
        }
    }
    start.water += unknown.water * amount;
    let mut totals = Vec::with_capacity(start.totals.len());
    let mut list = Vec::with_capacity(points.len());
    for point in points {
        let report = start.solve_with(solver, reagent, point.amount, &mut totals);
        if !matches!(report.status, Status::Solved | Status::Almost) {
            return None;
        }
        list.push(solver.ph());
    }
    Some(list)
}

/// Weights of the points by the slope of a curve.
fn weights(points: &[Recorded], curve: &[f64], meter: Meter) -> Vec<f64> {
    let slope = |n: usize| {
        let (a, b) = (n.saturating_sub(1), (n + 1).min(points.len() - 1));
        let apart = points[b].amount - points[a].amount;
        if apart.abs() > 0.0 { (curve[b] - curve[a]) / apart } else { 0.0 }
    };
    (0..points.len()).map(|n| 1.0 / (meter.scatter.powi(2) + (slope(n) * points[n].uncertainty).powi(2))).collect()
}

/// χ² with the shared error at its best, and that error.
fn misfit(points: &[Recorded], curve: &[f64], weights: &[f64], meter: Meter) -> (f64, f64) {
    let prior = 1.0 / meter.offset.max(1e-9).powi(2);
    let pull: f64 = points.iter().zip(curve).zip(weights).map(|((p, c), w)| w * (p.ph - c)).sum();
    let offset = pull / (prior + weights.iter().sum::<f64>());
    let parts = points.iter().zip(curve).zip(weights).map(|((p, c), w)| w * (p.ph - c - offset).powi(2));
    (parts.sum::<f64>() + prior * offset * offset, offset)
}

/// Infers the amount of an unknown from recorded points.
///
/// | argument  | meaning |
/// |-----------|---------|
/// | `mixture` | what is known of the solution |
/// | `unknown` | what one mole of the unknown brings |
/// | `reagent` | what one mole of the titrant brings |
/// | `points`  | readings, at least three |
/// | `scale`   | an amount of the order that is looked for, mol |
///
/// `None` where there are fewer than three points or no amount can be solved.
#[must_use]
pub fn infer(
    solver: &mut Solver,
    mixture: &Mixture,
    unknown: &Reagent,
    reagent: &Reagent,
    points: &[Recorded],
    meter: Meter,
    scale: f64,
) -> Option<Inferred> {
    if points.len() < 3 || scale.is_nan() || scale <= 0.0 {
        return None;
    }
    let mut at = |amount: f64| {
        let curve = computed(solver, mixture, (unknown, amount), reagent, points)?;
        let weights = weights(points, &curve, meter);
        // The ladder must not be drawn to where the curve is steep and weighs little.
        let spread: f64 = weights.iter().map(|w| w.ln()).sum();
        let (misfit, offset) = misfit(points, &curve, &weights, meter);
        Some((misfit - spread, misfit, offset, curve))
    };
    let rung = |n: i32| scale * 10f64.powf(f64::from(n) / f64::from(RUNGS) * 4.0 - 3.0);
    let ladder = (0..=RUNGS).map(rung);
    let below = [0.0].into_iter().chain((0..=RUNGS / 2).map(|n| -rung(2 * n)));
    let mut rungs: Vec<(f64, f64)> = ladder.chain(below).filter_map(|n| Some((n, at(n)?.0))).collect();
    rungs.sort_by(|a, b| a.0.total_cmp(&b.0));
    let best = (0..rungs.len()).min_by(|a, b| rungs[*a].1.total_cmp(&rungs[*b].1))?;
    let (mut low, mut high) = (rungs[best.saturating_sub(1)].0, rungs[(best + 1).min(rungs.len() - 1)].0);
    let golden = 0.5 * (5f64.sqrt() - 1.0);
    for _ in 0..48 {
        let (c, d) = (high - golden * (high - low), low + golden * (high - low));
        let value = |found: Option<(f64, f64, f64, Vec<f64>)>| found.map_or(f64::INFINITY, |f| f.0);
        if value(at(c)) < value(at(d)) { high = d } else { low = c }
    }
    let amount = 0.5 * (low + high);
    let (_, chi, offset, curve) = at(amount)?;
    let nudge = (1e-3 * amount.abs()).max(1e-5 * scale);
    let (above, below) = (at(amount + nudge)?.3, at(amount - nudge)?.3);
    let slopes: Vec<f64> = above.iter().zip(&below).map(|(a, b)| (a - b) / (2.0 * nudge)).collect();
    let weights = weights(points, &curve, meter);
    // Information of the amount with the shared error taken out.
    let prior = 1.0 / meter.offset.max(1e-9).powi(2);
    let own: f64 = slopes.iter().zip(&weights).map(|(s, w)| w * s * s).sum();
    let cross: f64 = slopes.iter().zip(&weights).map(|(s, w)| w * s).sum();
    let information = own - cross * cross / (prior + weights.iter().sum::<f64>());
    let strain = chi / (points.len() - 1) as f64;
    let standard_uncertainty = (strain.max(1.0) / information.max(f64::MIN_POSITIVE)).sqrt();
    Some(Inferred { amount, standard_uncertainty, offset, strain, computed: curve })
}
