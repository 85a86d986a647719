//! Can the curvature at the best fit be trusted?
//!
//! Draws about the best fit, [bent](super::about) as the posterior is, are weighted by posterior over proposal. The largest
//! weights are smoothed by a generalised Pareto tail, whose shape k̂ says whether the view holds: above 0.7 it does not, and
//! the sampler must speak.
//!
//! Source: Vehtari, Simpson, Gelman, Yao, Gabry, J. Mach. Learn. Res. 25 (2024) 72 (Pareto smoothing);
//! Zhang and Stephens, Technometrics 51 (2009) 316 (fit of the tail).

use super::about::About;
use super::fit::Fit;
use super::{Evidence, Posterior};
use rand::SeedableRng;
use rand_distr::{Distribution, StandardNormal};
use rand_xoshiro::Xoshiro256PlusPlus;

/// Factor on the scatter of readings in the proposal, so that its tails are not the shorter ones.
const LOOSER: f64 = 1.025;
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

/// Whether the volume that bending gains or loses is counted: it takes a differentiated run for each draw.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Volume {
    /// It is.
    Counted,
    /// It is taken for even; it varies by some percent where losses double.
    Neglected,
}

/// Draws `count` weighted points; `None` if the curvature is not positive.
#[must_use]
pub fn draw(evidence: &Evidence<'_>, fit: &Fit, count: usize, seed: u64, volume: Volume) -> Option<WeightedDraws> {
    let d = evidence.dimension();
    let about = About::new(evidence, fit, LOOSER)?;
    let mut random = Xoshiro256PlusPlus::seed_from_u64(seed);
    let mut room = about.room();
    let mut slopes = (volume == Volume::Counted).then(|| about.volume_room());
    let mut z = vec![0.0; count * d];
    let mut log_weights = Vec::with_capacity(count);
    for point in z.chunks_mut(d.max(1)).take(count) {
        point.iter_mut().for_each(|slot| *slot = StandardNormal.sample(&mut random));
        let likelihood = about.log_likelihood(point, &mut room);
        let gained = slopes.as_mut().map_or(0.0, |slopes| about.volume(&room, slopes));
        point.copy_from_slice(room.place());
        log_weights.push(likelihood + gained);
    }
    let tail = smooth_tail(&mut log_weights);
    let (weights, log_sum) = normalise(&log_weights);
    let log_evidence = log_sum - (count as f64).ln();
    Some(WeightedDraws { z, weights, log_evidence, tail })
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
