//! Where does the uncertainty of a result come from, and what would halve it?
//!
//! About the best fit the unknowns are estimated linearly from everything that is known: each reading with its standard
//! deviation σ and each prior, which is one more reading of its coordinate with standard deviation 1.
//!
//! ```text
//! N = Σ J Jᵀ / σ²,   a = N⁻¹ g,   u² = gᵀ N⁻¹ g = Σ (J · a / σ)²
//! ```
//! g is the gradient of the result, J the slopes of one reading. The sum is exact, so each term is the share of one
//! source. What readings of one balance share (slope, curvature, a zero) are coordinates of their own and keep their own
//! share: they are not split over the readings. If a source were known `factor` times better, its term of N grows by
//! factor², and u follows from the new N.
//!
//! Neglected: all beyond first order (a bound that is felt, a kink, several compositions: those are the caller's).
//! Source: GUM (JCGM 100:2008), 5.1 and 5.2; the estimator is weighted least squares.

use super::Evidence;
use super::fit::Fit;
use faer::Mat;
use faer::linalg::solvers::{Llt, Solve};

/// Where a piece of knowledge comes from.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Source {
    /// The prior of an unknown.
    Unknown(usize),
    /// A reading.
    Reading(usize),
}

/// The budget of one result.
#[derive(Clone, Debug)]
pub struct Budget {
    /// Variance of the result, in its unit squared.
    pub variance: f64,
    /// Shares of the variance, all sources, adding up to one.
    pub shares: Vec<(Source, f64)>,
}

/// The budget of a result with gradient `gradient` at a best fit; `None` where the fit has no curvature or the result
/// hangs on nothing.
#[must_use]
pub fn budget(evidence: &Evidence<'_>, fit: &Fit, gradient: &[f64]) -> Option<Budget> {
    let pull = solved(&fit.normal, gradient)?;
    let variance: f64 = gradient.iter().zip(&pull).map(|(g, a)| g * a).sum();
    if !(variance.is_finite() && variance > 0.0) {
        return None;
    }
    let unknowns = pull.iter().enumerate().map(|(i, a)| (Source::Unknown(i), a * a / variance));
    let readings = (0..evidence.count()).map(|r| {
        let through: f64 = slopes(fit, r).iter().zip(&pull).map(|(j, a)| j * a).sum();
        (Source::Reading(r), (through / evidence.figure(r).1).powi(2) / variance)
    });
    Some(Budget { variance, shares: unknowns.chain(readings).collect() })
}

/// Variance of the result if `sources` were known `factor` times better.
#[must_use]
pub fn variance_with(
    evidence: &Evidence<'_>,
    fit: &Fit,
    gradient: &[f64],
    sources: &[Source],
    factor: f64,
) -> Option<f64> {
    let mut normal = fit.normal.clone();
    let more = factor * factor - 1.0;
    for source in sources {
        match *source {
            Source::Unknown(i) => normal[(i, i)] += more,
            Source::Reading(r) => {
                let (row, sigma) = (slopes(fit, r), evidence.figure(r).1);
                for (i, a) in row.iter().enumerate().filter(|(_, a)| **a != 0.0) {
                    for (j, b) in row.iter().enumerate() {
                        normal[(i, j)] += more * a * b / (sigma * sigma);
                    }
                }
            }
        }
    }
    let pull = solved(&normal, gradient)?;
    Some(gradient.iter().zip(&pull).map(|(g, a)| g * a).sum())
}

fn slopes(fit: &Fit, reading: usize) -> &[f64] {
    let d = fit.z.len();
    fit.slopes.get(reading * d..(reading + 1) * d).unwrap_or(&[])
}

fn solved(normal: &Mat<f64>, gradient: &[f64]) -> Option<Vec<f64>> {
    if normal.nrows() != gradient.len() || gradient.is_empty() {
        return None;
    }
    let factor = Llt::new(normal.as_ref(), faer::Side::Lower).ok()?;
    let right = Mat::from_fn(gradient.len(), 1, |i, _| gradient[i]);
    let pull = factor.solve(&right);
    Some((0..gradient.len()).map(|i| pull[(i, 0)]).collect())
}
