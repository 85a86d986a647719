//! What are the best values of measured streams that must balance?
//!
//! Weighted least squares for a model that is linear and Gaussian with flat priors on the true values:
//!
//! ```text
//! minimise (y − x)ᵀ V⁻¹ (y − x)   subject to   A x = b
//! x̂ = y − V Aᵀ (A V Aᵀ)⁻¹ (A y − b)
//! cov x̂ = V − V Aᵀ (A V Aᵀ)⁻¹ A V
//! γ = (A y − b)ᵀ (A V Aᵀ)⁻¹ (A y − b)  ~  χ² with as many degrees of freedom as balances
//! ```
//! It is the closed form that the sampler must agree with on the same model. [`network`] takes streams that are measured in
//! part, [`bounds`] keeps values within what is possible, [`curved`] takes balances that are not linear, and [`bilinear`]
//! writes those of flows times fractions.
//!
//! Source: Kuehn and Davidson, Chem. Eng. Prog. 57 (6) (1961) 44; Narasimhan and Jordache, Data
//! Reconciliation and Gross Error Detection, Gulf 2000 (from memory).

pub mod bilinear;
pub mod bounds;
pub mod curved;
pub mod network;

use faer::Mat;
use faer::linalg::solvers::{Llt, Solve};
use statrs::distribution::{ChiSquared, ContinuousCDF};

/// Why no reconciliation was made.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum LinearError {
    /// The shapes of the arguments do not agree.
    Shape,
    /// A variance is not positive.
    Variance,
    /// The balances are not independent: one follows from the others.
    DependentBalances,
    /// No values within the bounds keep the balances.
    NoRoom,
}

/// Reconciled values.
#[derive(Clone, Debug)]
pub struct Reconciliation {
    /// Best values.
    pub values: Vec<f64>,
    /// Their standard uncertainties.
    pub standard_uncertainties: Vec<f64>,
    /// Global test statistic γ.
    pub statistic: f64,
    /// Degrees of freedom of γ.
    pub freedom: usize,
    /// Measurement tests: adjustment over its own standard deviation.
    pub measurement_tests: Vec<f64>,
}

impl Reconciliation {
    /// Critical value of the global test at the given probability.
    #[must_use]
    pub fn critical(&self, probability: f64) -> f64 {
        ChiSquared::new(self.freedom as f64).map_or(f64::NAN, |chi| chi.inverse_cdf(probability))
    }
}

/// Reconciles measured values with linear balances.
///
/// | argument    | symbol | shape | range |
/// |-------------|--------|-------|-------|
/// | `measured`  | y      | n     | any   |
/// | `variances` | V      | n     | > 0 (uncorrelated readings) |
/// | `balances`  | A      | m × n | rows independent |
/// | `totals`    | b      | m     | any   |
///
/// # Errors
/// [`LinearError`] when shapes disagree, a variance is not positive, or balances depend on each other.
pub fn reconcile(
    measured: &[f64],
    variances: &[f64],
    balances: &[Vec<f64>],
    totals: &[f64],
) -> Result<Reconciliation, LinearError> {
    let (n, m) = (measured.len(), balances.len());
    if variances.len() != n || totals.len() != m || m == 0 || balances.iter().any(|row| row.len() != n) {
        return Err(LinearError::Shape);
    }
    if !variances.iter().all(|v| *v > 0.0 && v.is_finite()) {
        return Err(LinearError::Variance);
    }
    let a = Mat::from_fn(m, n, |i, j| balances[i][j]);
    let va = Mat::from_fn(n, m, |i, j| variances[i] * a[(j, i)]);
    let spread = &a * &va;
    let factor = Llt::new(spread.as_ref(), faer::Side::Lower).map_err(|_| LinearError::DependentBalances)?;
    // A pivot that cancelled almost wholly means that the balance adds nothing of its own.
    let pivots = factor.L();
    if (0..m).any(|i| pivots[(i, i)].powi(2) < 1e-12 * spread[(i, i)]) {
        return Err(LinearError::DependentBalances);
    }
    let y = Mat::from_fn(n, 1, |i, _| measured[i]);
    let excess = &a * &y - Mat::from_fn(m, 1, |i, _| totals[i]);
    let solved = factor.solve(&excess);
    let adjustment = &va * &solved;
    let reduction = &va * factor.solve(va.transpose());
    let statistic = (0..m).map(|i| excess[(i, 0)] * solved[(i, 0)]).sum();
    if !f64::is_finite(statistic) {
        return Err(LinearError::DependentBalances);
    }
    Ok(Reconciliation {
        values: (0..n).map(|i| measured[i] - adjustment[(i, 0)]).collect(),
        standard_uncertainties: (0..n).map(|i| (variances[i] - reduction[(i, i)]).max(0.0).sqrt()).collect(),
        statistic,
        freedom: m,
        measurement_tests: (0..n).map(|i| adjustment[(i, 0)] / reduction[(i, i)].sqrt()).collect(),
    })
}
