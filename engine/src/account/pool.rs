//! Do several runs agree, and what do they give together?
//!
//! Each run gives x with a standard uncertainty of its own, u, and all share one, s (the same bottle, the same balance). The
//! differences are judged by the own parts alone:
//!
//! ```text
//! χ² = Σ wᵢ (xᵢ − x̄)²,  wᵢ = 1/uᵢ²,  x̄ = Σ wᵢ xᵢ / Σ wᵢ
//! τ² = max(0, (χ² − (n − 1)) / (Σ wᵢ − Σ wᵢ² / Σ wᵢ))
//! ```
//! τ is the scatter between runs that their own uncertainties do not explain. The mean is weighted by 1/(uᵢ² + τ²); s is
//! added to its uncertainty in squares and does not shrink with n. Neglected: that τ itself is poorly known from few runs.
//!
//! Source: weighted mean, any text; τ² by DerSimonian and Laird, Controlled Clinical Trials 7 (1986) 177.

use statrs::distribution::{ChiSquared, ContinuousCDF};

/// Runs taken together.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Pooled {
    /// Weighted mean.
    pub mean: f64,
    /// Its standard uncertainty, the shared part included.
    pub standard_uncertainty: f64,
    /// Standard deviation between runs, τ.
    pub between_runs: f64,
    /// Weighted squares of the differences, χ².
    pub chi_squared: f64,
    /// Probability of a larger χ² if the runs agree.
    pub probability: f64,
}

/// Pools runs; `None` for fewer than two, or where an uncertainty is not positive.
///
/// | argument | symbol | unit | range |
/// |----------|--------|------|-------|
/// | `values` | xᵢ     | any  | finite |
/// | `own`    | uᵢ     | same | > 0, as many |
/// | `shared` | s      | same | ≥ 0 |
///
/// ```
/// let pooled = engine::account::pool::pool(&[11.0, 12.0, 10.0], &[1.0, 1.0, 3.0], 0.0).ok_or("two or more")?;
/// assert!((pooled.mean - 11.42).abs() < 0.005 && (pooled.standard_uncertainty - 0.69).abs() < 0.005);
/// # Ok::<(), &str>(())
/// ```
#[must_use]
pub fn pool(values: &[f64], own: &[f64], shared: f64) -> Option<Pooled> {
    let usable = values.len() == own.len() && values.len() > 1;
    if !usable || own.iter().any(|u| !u.is_finite() || *u <= 0.0) || values.iter().any(|x| !x.is_finite()) {
        return None;
    }
    let weighted = |spread: f64| {
        let weights: Vec<f64> = own.iter().map(|u| 1.0 / (u * u + spread * spread)).collect();
        let sum: f64 = weights.iter().sum();
        let mean = values.iter().zip(&weights).map(|(x, w)| x * w).sum::<f64>() / sum;
        (weights, sum, mean)
    };
    let (weights, sum, mean) = weighted(0.0);
    let chi_squared: f64 = values.iter().zip(&weights).map(|(x, w)| w * (x - mean).powi(2)).sum();
    let freedom = (values.len() - 1) as f64;
    let squares: f64 = weights.iter().map(|w| w * w).sum();
    let between_runs = ((chi_squared - freedom) / (sum - squares / sum)).max(0.0).sqrt();
    let (_, sum, mean) = weighted(between_runs);
    let probability = ChiSquared::new(freedom).ok()?.sf(chi_squared);
    Some(Pooled {
        mean,
        standard_uncertainty: (1.0 / sum + shared * shared).sqrt(),
        between_runs,
        chi_squared,
        probability,
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Three resistances, 11 ± 1, 12 ± 1 and 10 ± 3 ohm: 11.42 ± 0.69 (Taylor, An Introduction to Error Analysis,
    /// chapter 7, from memory).
    #[test]
    fn a_weighted_mean_of_a_textbook() {
        let pooled = pool(&[11.0, 12.0, 10.0], &[1.0, 1.0, 3.0], 0.0).expect("three");
        assert!((pooled.mean - 11.42).abs() < 0.005 && (pooled.standard_uncertainty - 0.69).abs() < 0.005);
        assert!(pooled.between_runs == 0.0 && pooled.probability > 0.5);
    }

    /// With equal uncertainties much smaller than the scatter, τ² is the variance of the values less u², and the mean has
    /// the usual standard error: 1, 2, 3, 4 have the variance 5/3.
    #[test]
    fn scatter_beyond_the_uncertainties_is_found() {
        let pooled = pool(&[1.0, 2.0, 3.0, 4.0], &[0.1; 4], 0.0).expect("four");
        assert!((pooled.between_runs.powi(2) - (5.0 / 3.0 - 0.01)).abs() < 1e-12);
        assert!((pooled.standard_uncertainty - (5.0f64 / 3.0 / 4.0).sqrt()).abs() < 1e-12);
        assert!(pooled.probability < 1e-6);
    }

    /// What all runs share does not average out.
    #[test]
    fn the_shared_part_stays() {
        let pooled = pool(&[96.0, 96.2], &[0.2, 0.2], 0.5).expect("two");
        assert!((pooled.standard_uncertainty - (0.02f64 + 0.25).sqrt()).abs() < 1e-12);
        // χ² of two runs is ½ (Δ/u)² = 0.5; a standard normal is beyond √0.5 in 48.0 % of cases (tables).
        assert!((pooled.chi_squared - 0.5).abs() < 1e-9 && (pooled.probability - 0.4795).abs() < 5e-4);
    }

    #[test]
    fn one_run_is_no_pool() {
        assert_eq!(pool(&[1.0], &[0.1], 0.0), None);
        assert_eq!(pool(&[1.0, 2.0], &[0.0, 0.1], 0.0), None);
        assert_eq!(pool(&[1.0, f64::NAN], &[0.1, 0.1], 0.0), None);
    }
}
