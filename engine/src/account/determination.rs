//! What does a test of a portion say of a lot?
//!
//! ```text
//! x = Σ counted · n / Σ per · n        n: the row of the lot (masses of foreign matter, amounts of species)
//! ```
//! A figure is normal about x: a loss on heating, a content by titration, a gas volume per gram, a density. A yes or no
//! (it fizzes, a magnet lifts it) is the normal probability that x lies above what can be noticed, with a blurred
//! threshold. The portion is taken to be like the lot; what it used up is not subtracted here: a portion that matters
//! for the books is divided off in a step of its own.
//!
//! For the fit a yes or no stands as the root of twice its surprise, −2 ln Φ: its square is what it adds to Q.
//!
//! Source: GUM (JCGM 100:2008) for normal figures; probit threshold: common practice.

use crate::ledger::{Contents, Lot, Workspace, normal_cdf, normal_density};
use crate::scalar::Scalar;
use std::f64::consts::PI;

/// What was found.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Outcome {
    /// A figure with its standard uncertainty, in the unit of the quotient.
    Figure {
        /// Value.
        value: f64,
        /// Standard uncertainty, > 0.
        deviation: f64,
    },
    /// A yes or a no.
    Seen {
        /// Whether it was seen.
        yes: bool,
        /// Value of the quotient that is noticed half the time.
        threshold: f64,
        /// Blur of that threshold, > 0.
        blur: f64,
    },
}

/// One test of a lot.
#[derive(Clone, Debug, PartialEq)]
pub struct Determination {
    /// Lot.
    pub lot: Lot,
    /// What is counted: for each kind of foreign matter per kg, then for each species per mol.
    pub counted: Vec<f64>,
    /// What it is counted on, likewise.
    pub per: Vec<f64>,
    /// What was found.
    pub outcome: Outcome,
}

impl Determination {
    /// The quotient for the contents of a lot; 0 for an empty one.
    #[must_use]
    pub fn quotient<S: Scalar>(&self, contents: Contents<'_, S>) -> S {
        quotient(contents, &self.counted, &self.per)
    }

    /// The figure that stands against [`Self::expected`], and its standard deviation.
    #[must_use]
    pub fn figure(&self) -> (f64, f64) {
        match self.outcome {
            Outcome::Figure { value, deviation } => (value, deviation),
            Outcome::Seen { .. } => (0.0, 1.0),
        }
    }

    /// What would be found without scatter; for a yes or no the root of twice its surprise.
    #[inline]
    pub fn expected<S: Scalar>(&self, room: &Workspace<S>) -> S {
        let x = self.quotient(room.given(self.lot));
        match self.outcome {
            Outcome::Figure { .. } => x,
            Outcome::Seen { yes, threshold, blur } => {
                let sign = if yes { 1.0 } else { -1.0 };
                let t = sign * (x.value() - threshold) / blur;
                let (root, slope) = surprise(t);
                x.image(root, sign * slope / blur)
            }
        }
    }

    /// Natural logarithm of the likelihood; a figure counts in units of its standard deviation.
    #[must_use]
    pub fn log_likelihood(&self, expected: f64) -> f64 {
        let (figure, deviation) = self.figure();
        let square = ((figure - expected) / deviation).powi(2);
        match self.outcome {
            Outcome::Figure { .. } => -0.5 * square - 0.5 * (2.0 * PI).ln(),
            Outcome::Seen { .. } => -0.5 * square,
        }
    }
}

/// The quotient of two weighted sums over the contents of a lot; 0 where there is nothing to count it on.
#[must_use]
pub fn quotient<S: Scalar>(contents: Contents<'_, S>, counted: &[f64], per: &[f64]) -> S {
    let sum = |weights: &[f64]| {
        let (foreign, species) = weights.split_at(contents.foreign.len().min(weights.len()));
        let mut total = S::constant(0.0);
        for (amount, weight) in contents.foreign.iter().zip(foreign).chain(contents.amounts.iter().zip(species)) {
            total += *amount * *weight;
        }
        total
    };
    let whole = sum(per);
    if whole.value() > 0.0 { sum(counted) / whole } else { S::constant(0.0) }
}

/// √(−2 ln Φ(t)) and its derivative by t.
fn surprise(t: f64) -> (f64, f64) {
    let below = normal_cdf(t);
    if below <= 0.0 || t < -30.0 {
        // Φ(t) ≈ φ(t)/|t|: the root grows as |t|.
        return (-t, -1.0);
    }
    let root = (-2.0 * below.ln()).max(0.0).sqrt();
    if root < 1e-9 { (0.0, 0.0) } else { (root, -normal_density(t) / (below * root)) }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Derivative against differences, over the whole range.
    #[test]
    fn surprise_has_its_slope() {
        for t in [-25.0, -8.0, -2.0, -0.3, 0.0, 0.7, 2.5] {
            let h = 1e-5;
            let numeric = (surprise(t + h).0 - surprise(t - h).0) / (2.0 * h);
            assert!((surprise(t).1 - numeric).abs() < 1e-5, "{t}: {} {numeric}", surprise(t).1);
        }
        assert!((surprise(0.0).0.powi(2) - 2.0 * 2f64.ln()).abs() < 1e-12, "an even chance costs a bit");
    }

    /// 2 g of a solid with 0.5 g foreign matter that is not counted: 25 % less than pure.
    #[test]
    fn content_of_a_mixture() {
        let (amounts, foreign) = ([0.02, 0.0], [0.0005, 0.0, 0.0, 0.0]);
        let contents = Contents { amounts: &amounts[..], foreign: &foreign[..] };
        let per = [1.0, 1.0, 1.0, 1.0, 0.075, 0.1];
        let counted = [0.0, 0.0, 0.0, 0.0, 0.05, 0.0];
        assert!((quotient(contents, &counted, &per) - 0.001 / 0.002).abs() < 1e-15);
        let empty = Contents { amounts: &[0.0, 0.0][..], foreign: &[0.0; 4][..] };
        assert_eq!(quotient(empty, &counted, &per), 0.0);
    }
}
