//! Can the curvature at the best fit be trusted?
//!
//! Draws from a normal distribution about the best fit, 5 % wider in variance, are weighted by posterior over
//! proposal. (In dozens of coordinates of which few are informed, a heavier-tailed proposal mostly proposes
//! what no one believes.) Readings are far sharper than priors, so the posterior is a thin, curved sheet: each
//! straight step is bent, along the slopes of the best fit, until the expected figures follow their linear course.
//! The volume that bending gains or loses is neglected; it varies by some percent where losses double. The largest weights are smoothed by a generalised Pareto tail, whose shape k̂ says whether
//! the view holds: above 0.7 it does not, and the sampler must speak.
//!
//! Source: Vehtari, Simpson, Gelman, Yao, Gabry, J. Mach. Learn. Res. 25 (2024) 72 (Pareto smoothing);
//! Zhang and Stephens, Technometrics 51 (2009) 316 (fit of the tail).

use super::fit::Fit;
use super::{Evidence, Posterior};
use crate::ledger::Workspace;
use faer::Mat;
use faer::linalg::solvers::{Llt, Solve};
use rand::SeedableRng;
use rand_distr::{Distribution, StandardNormal};
use rand_xoshiro::Xoshiro256PlusPlus;

/// Corrections of each step.
const BENDS: usize = 2;
/// Factor on the covariance of the proposal.
const WIDER: f64 = 1.05;
/// Above this tail shape the weighted draws are not to be trusted.
pub const TAIL_LIMIT: f64 = 0.7;

/// Weighted draws about a best fit.
#[derive(Clone, Debug)]
pub struct WeightedDraws {
    /// Coordinates, one draw after another.
    pub z: Vec<f64>,
    /// Normalised weights.
    pub weights: Vec<f64>,
    /// Natural logarithm of the evidence.
    pub log_evidence: f64,
    /// Shape of the tail of the weights.
    pub tail: f64,
}

/// Draws `count` weighted points; `None` if the curvature is not positive.
#[must_use]
pub fn draw(evidence: &Evidence<'_>, fit: &Fit, count: usize, seed: u64) -> Option<WeightedDraws> {
    let d = evidence.dimension();
    let factor = Llt::new(fit.normal.as_ref(), faer::Side::Lower).ok()?;
    let lower = factor.L().to_owned();
    let log_root: f64 = (0..d).map(|i| lower[(i, i)].ln()).sum();
    let mut bend = Bend::new(evidence, fit)?;
    let mut random = Xoshiro256PlusPlus::seed_from_u64(seed);
    let mut room = evidence.room();
    let mut z = vec![0.0; count * d];
    let mut log_weights = Vec::with_capacity(count);
    for point in z.chunks_mut(d.max(1)).take(count) {
        let mut square = 0.0;
        for slot in point.iter_mut() {
            let normal: f64 = StandardNormal.sample(&mut random);
            square += normal * normal;
            *slot = normal * WIDER.sqrt();
        }
        back_substitute(&lower, point);
        let likelihood = bend.apply(evidence, fit, point, &mut room);
        let prior: f64 = point.iter().map(|z| -0.5 * z * z).sum();
        let proposal = log_root - 0.5 * (d as f64) * WIDER.ln() - 0.5 * square;
        log_weights.push(likelihood + prior - proposal);
    }
    let tail = smooth_tail(&mut log_weights);
    let (weights, log_sum) = normalise(&log_weights);
    let log_evidence = log_sum - (count as f64).ln();
    Some(WeightedDraws { z, weights, log_evidence, tail })
}

/// Bends a straight step from the best fit until the expected figures follow their linear course.
struct Bend {
    /// Cholesky factor of J Jᵀ + σ², row by row.
    factor: Llt<f64>,
    aim: Vec<f64>,
}

impl Bend {
    fn new(evidence: &Evidence<'_>, fit: &Fit) -> Option<Self> {
        let (d, m) = (evidence.dimension(), fit.expected.len());
        let row = |r: usize| &fit.slopes[r * d..(r + 1) * d];
        let spread = Mat::from_fn(m, m, |i, j| {
            let dot: f64 = row(i).iter().zip(row(j)).map(|(a, b)| a * b).sum();
            dot + if i == j { evidence.figure(i).1.powi(2) } else { 0.0 }
        });
        let factor = Llt::new(spread.as_ref(), faer::Side::Lower).ok()?;
        Some(Self { factor, aim: vec![0.0; m] })
    }

    /// Turns a step from the best fit into a point; returns the logarithm of the likelihood there.
    fn apply(&mut self, evidence: &Evidence<'_>, fit: &Fit, point: &mut [f64], room: &mut Workspace<f64>) -> f64 {
        let (d, m) = (point.len(), self.aim.len());
        for (r, aim) in self.aim.iter_mut().enumerate() {
            let rise: f64 = fit.slopes[r * d..(r + 1) * d].iter().zip(point.iter()).map(|(a, b)| a * b).sum();
            *aim = fit.expected[r] + rise;
        }
        for (slot, centre) in point.iter_mut().zip(&fit.z) {
            *slot += centre;
        }
        for _ in 0..BENDS {
            evidence.run(point, room);
            let stray = Mat::from_fn(m, 1, |r, _| evidence.expected(r, room) - self.aim[r]);
            let pull = self.factor.solve(&stray);
            for (i, slot) in point.iter_mut().enumerate() {
                *slot -= (0..m).map(|r| fit.slopes[r * d + i] * pull[(r, 0)]).sum::<f64>();
            }
        }
        evidence.log_likelihood(point, room)
    }
}

/// Solves Lᵀ x = b in place: turns unit normals into draws with covariance (L Lᵀ)⁻¹.
fn back_substitute(lower: &Mat<f64>, x: &mut [f64]) {
    for i in (0..x.len()).rev() {
        let mut sum = x[i];
        for (j, later) in x.iter().enumerate().skip(i + 1) {
            sum -= lower[(j, i)] * later;
        }
        x[i] = sum / lower[(i, i)];
    }
}

/// Weights that add up to one, and the logarithm of their sum before.
pub(super) fn normalise(log_weights: &[f64]) -> (Vec<f64>, f64) {
    let top = log_weights.iter().copied().fold(f64::NEG_INFINITY, f64::max);
    if !top.is_finite() {
        return (vec![0.0; log_weights.len()], f64::NEG_INFINITY);
    }
    let raw: Vec<f64> = log_weights.iter().map(|w| (w - top).exp()).collect();
    let sum: f64 = raw.iter().sum();
    (raw.iter().map(|w| w / sum).collect(), top + sum.ln())
}

/// Replaces the largest weights by the quantiles of a fitted generalised Pareto tail; returns its shape.
fn smooth_tail(log_weights: &mut [f64]) -> f64 {
    let n = log_weights.len();
    let tail = (0.2 * n as f64).min(3.0 * (n as f64).sqrt()) as usize;
    if tail < 5 {
        return f64::INFINITY;
    }
    let mut order: Vec<usize> = (0..n).collect();
    order.sort_by(|a, b| log_weights[*a].total_cmp(&log_weights[*b]));
    let top = log_weights[order[n - 1]];
    if !top.is_finite() {
        return f64::INFINITY;
    }
    let cut = (log_weights[order[n - tail - 1]] - top).exp();
    let excess: Vec<f64> = order[n - tail..].iter().map(|i| (log_weights[*i] - top).exp() - cut).collect();
    let Some((shape, scale)) = fit_pareto(&excess) else { return f64::INFINITY };
    for (rank, index) in order[n - tail..].iter().enumerate() {
        let p = (rank as f64 + 0.5) / tail as f64;
        let quantile = if shape.abs() < 1e-8 {
            -scale * (-p).ln_1p()
        } else {
            scale / shape * ((-shape * (-p).ln_1p()).exp() - 1.0)
        };
        log_weights[*index] = (cut + quantile).min(1.0).ln() + top;
    }
    shape
}

/// Shape and scale of a generalised Pareto distribution for excesses in rising order.
fn fit_pareto(excess: &[f64]) -> Option<(f64, f64)> {
    let n = excess.len();
    let (first, last) = (*excess.get(n / 4)?, *excess.last()?);
    if !(last > 0.0 && first > 0.0) {
        return None;
    }
    let size = n as f64;
    let grid = 30 + size.sqrt() as usize;
    let shape_at = |theta: f64| excess.iter().map(|x| (-theta * x).ln_1p()).sum::<f64>() / size;
    let thetas: Vec<f64> = (1..=grid)
        .map(|j| {
            let q = (grid as f64 / (j as f64 - 0.5)).sqrt();
            1.0 / last + (1.0 - q) / (3.0 * first)
        })
        .collect();
    let profile: Vec<f64> = thetas
        .iter()
        .map(|t| {
            let k = shape_at(*t);
            size * ((-t / k).ln() - k - 1.0)
        })
        .collect();
    let (weights, _) = normalise(&profile);
    let theta: f64 = thetas.iter().zip(&weights).map(|(t, w)| t * w).sum();
    let shape = shape_at(theta);
    let scale = -shape / theta;
    // A weak prior keeps short tails from wild shapes.
    let shape = (shape * size + 0.5 * 10.0) / (size + 10.0);
    (shape.is_finite() && scale.is_finite()).then_some((shape, scale))
}

#[cfg(test)]
mod tests {
    use super::*;

    /// The shape of a known Pareto tail is found again (k = 0.5, seeded draws).
    #[test]
    fn pareto_shape_is_recovered() {
        let n = 4000;
        let mut excess: Vec<f64> =
            (0..n).map(|i| ((f64::from(i) + 0.5) / f64::from(n)).powf(-0.5) - 1.0).map(|x| x / 0.5).collect();
        excess.sort_by(f64::total_cmp);
        let (shape, scale) = fit_pareto(&excess).expect("a tail");
        assert!((shape - 0.5).abs() < 0.05, "{shape}");
        assert!((scale - 1.0).abs() < 0.1, "{scale}");
    }
}
