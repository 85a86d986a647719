//! How much of what is sold does a reaction want?
//!
//! Charges of hydrates and impure reagents, and the feed that gives a wanted amount with a wanted
//! probability. Exact proportions; uncertain factors are combined to first order as normal distributions,
//! which errs on the safe side for a label range (its tails are shorter).

use statrs::distribution::{ContinuousCDF, Normal};

use crate::account::gravimetric::{Figure, product};

/// Mass of a reagent as sold that brings `amount`, kg.
///
/// | argument     | unit   | range |
/// |--------------|--------|-------|
/// | `amount`     | mol    | ≥ 0   |
/// | `excess`     | 1      | > −1; 0.1 for 10 % |
/// | `molar_mass` | kg/mol | > 0, of the form sold (hydrate included) |
/// | `assay`      | 1      | 0 to 1, mass fraction of that form |
#[must_use]
pub fn charge(amount: f64, excess: f64, molar_mass: f64, assay: f64) -> f64 {
    amount * (1.0 + excess) * molar_mass / assay
}

/// Feed that gives at least `target` with the wanted probability, when each kilogram of feed gives the
/// product of `factors` (theoretical yield per kg, assay, step yields).
///
/// Returns the feed for the mean and for the probability, in the unit of the target.
///
/// # Source
/// Quantile of a normal distribution; factors to first order (GUM 5.1).
#[must_use]
pub fn feed_for(target: f64, factors: &[Figure], probability: f64) -> (f64, f64) {
    let whole = product(factors);
    let z = Normal::standard().inverse_cdf(probability);
    (target / whole.value, target / (whole.value - z * whole.standard_uncertainty))
}
