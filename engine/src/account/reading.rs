//! How likely is a displayed figure, given the mass on the pan?
//!
//! ```text
//! display = m (1 + slope) + 4 c x (1 − x) + zero + repeatability,   x = m / capacity
//! ```
//! Slope, curvature c and zero are unknowns shared by readings of one balance (zero: of one taring). The
//! repeatability is the standard deviation of displayed figures, so rounding is part of it; what is left
//! after rounding acts before the display rounds.
//!
//! A slip of the pen puts the figure anywhere in the capacity. It is not mixed into the likelihood, where it would
//! hide the way to the honest answer from a sampler: that a certain reading slipped is a hypothesis of its own,
//! with prior probability [`SLIP`], under which the figure says nothing ([`Balance::log_slip`]).
//!
//! Neglected: buoyancy (0.01 % and less between a cake and its oxide), drift within one taring.

use crate::ledger::{Ledger, Lot, Value, Workspace, normal_cdf};
use crate::scalar::Scalar;
use std::f64::consts::PI;

/// Prior probability that a reading is a slip of the pen; estimated.
pub const SLIP: f64 = 1e-3;

/// A balance as the likelihood sees it.
#[derive(Clone, Debug, PartialEq)]
pub struct Balance {
    /// Step of the display, kg.
    pub resolution: f64,
    /// Standard deviation of displayed figures, kg.
    pub repeatability: f64,
    /// Largest load, kg.
    pub capacity: f64,
    /// Relative slope.
    pub slope: Value,
    /// Curvature c, kg: deviation at half load.
    pub curvature: Value,
}

impl Balance {
    /// Standard deviation of one displayed figure, kg.
    #[must_use]
    pub fn deviation(&self) -> f64 {
        self.repeatability.max(self.resolution / 12f64.sqrt())
    }

    /// What repeatability is left before the display rounds, kg.
    #[must_use]
    pub fn before_rounding(&self) -> f64 {
        let left = self.repeatability.powi(2) - self.resolution.powi(2) / 12.0;
        left.max((0.05 * self.resolution).powi(2)).sqrt()
    }

    /// Natural logarithm of the probability of any one figure if it is a slip, its prior probability included.
    #[must_use]
    pub fn log_slip(&self) -> f64 {
        (SLIP / (1.0 - SLIP) * self.resolution / self.capacity).ln()
    }

    /// Natural logarithm of the probability of the figure `display` when `expected` would be shown without
    /// repeatability and rounding.
    #[must_use]
    pub fn log_likelihood(&self, display: f64, expected: f64) -> f64 {
        let sigma = self.before_rounding();
        let half = 0.5 * self.resolution;
        log_between((display - half - expected) / sigma, (display + half - expected) / sigma)
    }
}

/// Natural logarithm of the unit normal's probability between two points, also far out, where the probability itself
/// is too small for a double.
fn log_between(low: f64, high: f64) -> f64 {
    if low <= 0.0 && high >= 0.0 {
        return (normal_cdf(high) - normal_cdf(low)).ln();
    }
    // The tail that holds both, seen from the nearer point.
    let (near, width) = (if low > 0.0 { low } else { -high }, high - low);
    if near < 30.0 {
        let tail = normal_cdf(-near);
        return tail.ln() + (-normal_cdf(-near - width) / tail).ln_1p();
    }
    let step = -(-near * width).exp_m1();
    -0.5 * near * near - (near * (2.0 * PI).sqrt()).ln() + step.ln()
}

/// One weighing.
#[derive(Clone, Debug, PartialEq)]
pub struct Weighing {
    /// Lot on the pan, if any.
    pub lot: Option<Lot>,
    /// Vessel on the pan, if any: its mass, kg.
    pub vessel: Option<Value>,
    /// Charge on the pan, if any: its mass, kg.
    pub charge: Option<Value>,
    /// Displayed figure, kg.
    pub display: f64,
    /// Number of the balance.
    pub balance: usize,
    /// Zero error shared within one taring, kg.
    pub zero: Value,
}

fn resolve<S: Scalar>(value: Value, room: &Workspace<S>) -> S {
    match value {
        Value::Constant(x) => S::constant(x),
        Value::Unknown(i) => room.unknowns().get(i).copied().unwrap_or(S::constant(f64::NAN)),
    }
}

impl Weighing {
    /// What the balance would show without repeatability and rounding, kg, after a forward run.
    #[inline]
    pub fn expected<S: Scalar>(&self, ledger: &Ledger, balance: &Balance, room: &Workspace<S>) -> S {
        let mut mass = match self.lot {
            Some(lot) => ledger.mass(room.given(lot)),
            None => S::constant(0.0),
        };
        for value in [self.vessel, self.charge].into_iter().flatten() {
            mass += resolve(value, room);
        }
        let x = mass * (1.0 / balance.capacity);
        let bow = resolve(balance.curvature, room) * x * (S::constant(1.0) - x) * 4.0;
        mass * (S::constant(1.0) + resolve(balance.slope, room)) + bow + resolve(self.zero, room)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn pocket() -> Balance {
        Balance {
            resolution: 1e-5,
            repeatability: 1.5e-5,
            capacity: 0.2,
            slope: Value::Constant(0.0),
            curvature: Value::Constant(0.0),
        }
    }

    /// Probabilities of all figures of a display add up to one.
    #[test]
    fn figures_are_exhaustive() {
        for repeatability in [1e-6, 1.5e-5, 1e-4] {
            let balance = Balance { repeatability, ..pocket() };
            let total: f64 = (0..20_000).map(|i| balance.log_likelihood(f64::from(i) * 1e-5, 0.043_903_7).exp()).sum();
            assert!((total - 1.0).abs() < 2e-3, "{repeatability}: {total}");
        }
    }

    /// Against the continued fraction of the Mills ratio: ln(Q(x) − Q(x + w)).
    #[test]
    fn far_tails() {
        for x in [0.5, 3.0, 6.0, 12.0, 29.0, 31.0, 40.0] {
            for w in [0.05, 0.5, 2.0] {
                let found = log_between(x, x + w);
                let exact = log_tail(x) + (-(log_tail(x + w) - log_tail(x)).exp()).ln_1p();
                assert!((found - exact).abs() < 1e-3 * exact.abs().max(1.0), "{x} {w}: {found} {exact}");
                assert!((log_between(-x - w, -x) - found).abs() < 1e-9 * found.abs());
            }
        }
        let steps: Vec<f64> = (0..500).map(|i| log_between(f64::from(i) * 0.1, f64::from(i) * 0.1 + 0.5)).collect();
        assert!(steps.windows(2).all(|pair| pair[1] < pair[0]), "further out is less probable");
    }

    /// Logarithm of Q(x) by the continued fraction of the Mills ratio (Abramowitz and Stegun 26.2.14).
    fn log_tail(x: f64) -> f64 {
        let fraction = (1..=400).rev().fold(0.0, |f, k| f64::from(k) / (x + f));
        -0.5 * x * x - 0.5 * (2.0 * PI).ln() - (x + fraction).ln()
    }

    /// Swapped digits are more probably a slip, a deviation of one standard deviation is not.
    #[test]
    fn slips() {
        let balance = pocket();
        assert!(balance.log_likelihood(0.043_90, 0.043_915) > balance.log_slip() + 10.0);
        assert!(balance.log_likelihood(0.049_30, 0.043_90) < balance.log_slip() - 100.0);
    }
}
