//! How does a standard uncertainty pass through a calculation?
//!
//! First-order propagation for *independent* inputs (JCGM 100:2008, clause 5.1). Correlation is neglected: `x - x` of
//! one and the same measured x gets an uncertainty here although it is exactly zero. Where one input enters twice,
//! combine it first or use the sampler of the account. Curvature is neglected too, so a quotient with a denominator
//! known worse than about 10 % gets too small an uncertainty.

use std::fmt;
use std::ops::{Add, Div, Mul, Neg, Sub};

/// A value with its standard uncertainty (coverage factor 1), both in one unit.
///
/// ```
/// use chem::Uncertain;
/// let copper = Uncertain::new(24.409, 0.0451);
/// assert_eq!(copper.to_string(), "24.409 ± 0.045");
/// ```
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Uncertain {
    /// Best estimate.
    pub value: f64,
    /// Standard uncertainty, ≥ 0.
    pub standard_uncertainty: f64,
}

impl Uncertain {
    /// A value with a standard uncertainty; the sign of the uncertainty is dropped.
    pub const fn new(value: f64, standard_uncertainty: f64) -> Uncertain {
        Uncertain { value, standard_uncertainty: standard_uncertainty.abs() }
    }

    /// A value without uncertainty.
    pub const fn exact(value: f64) -> Uncertain {
        Uncertain { value, standard_uncertainty: 0.0 }
    }

    /// Both parts times an exact factor.
    pub fn scale(self, factor: f64) -> Uncertain {
        Uncertain::new(self.value * factor, self.standard_uncertainty * factor)
    }

    /// Relative standard uncertainty u/|x|; infinite where the value is zero and u is not.
    pub fn relative(self) -> f64 {
        if self.standard_uncertainty == 0.0 { 0.0 } else { self.standard_uncertainty / self.value.abs() }
    }
}

impl Add for Uncertain {
    type Output = Uncertain;
    fn add(self, other: Uncertain) -> Uncertain {
        let uncertainty = self.standard_uncertainty.hypot(other.standard_uncertainty);
        Uncertain::new(self.value + other.value, uncertainty)
    }
}

impl Sub for Uncertain {
    type Output = Uncertain;
    fn sub(self, other: Uncertain) -> Uncertain {
        self + -other
    }
}

impl Neg for Uncertain {
    type Output = Uncertain;
    fn neg(self) -> Uncertain {
        self.scale(-1.0)
    }
}

impl Mul for Uncertain {
    type Output = Uncertain;
    fn mul(self, other: Uncertain) -> Uncertain {
        let uncertainty = (other.value * self.standard_uncertainty).hypot(self.value * other.standard_uncertainty);
        Uncertain::new(self.value * other.value, uncertainty)
    }
}

impl Div for Uncertain {
    type Output = Uncertain;
    fn div(self, other: Uncertain) -> Uncertain {
        let quotient = self.value / other.value;
        let uncertainty =
            (self.standard_uncertainty / other.value).hypot(quotient * other.standard_uncertainty / other.value);
        Uncertain::new(quotient, uncertainty)
    }
}

/// Decimal place (power of ten) of the second significant digit of `uncertainty`, after rounding.
fn second_digit_place(uncertainty: f64) -> i32 {
    let place = uncertainty.log10().floor() as i32 - 1;
    // 0.0996 rounds to 0.100: three digits, so the place moves up by one.
    if (uncertainty / 10_f64.powi(place)).round() >= 100.0 { place + 1 } else { place }
}

/// `number` rounded to a decimal place and written without exponent.
fn rounded_to_place(number: f64, place: i32) -> String {
    if place < 0 {
        return format!("{number:.*}", place.unsigned_abs() as usize);
    }
    let step = 10_f64.powi(place);
    format!("{:.0}", (number / step).round() * step)
}

impl fmt::Display for Uncertain {
    /// Uncertainty to two significant digits, value to the same place; `(1.230 ± 0.012)e-12` when very small or large.
    fn fmt(&self, formatter: &mut fmt::Formatter<'_>) -> fmt::Result {
        let Uncertain { value, standard_uncertainty } = *self;
        if standard_uncertainty == 0.0 {
            return write!(formatter, "{value}");
        }
        if !value.is_finite() || !standard_uncertainty.is_normal() {
            return write!(formatter, "{value} ± {standard_uncertainty}");
        }
        let place = second_digit_place(standard_uncertainty);
        if (-9..=9).contains(&place) && value.abs() < 1e12 {
            let (value, uncertainty) = (rounded_to_place(value, place), rounded_to_place(standard_uncertainty, place));
            return write!(formatter, "{value} ± {uncertainty}");
        }
        let magnitude = value.abs().max(standard_uncertainty).log10().floor() as i32;
        let digits = (magnitude - place).clamp(0, 17) as usize;
        // Two halves keep the power of ten within the range of doubles.
        let shifted = |number: f64| number / 10_f64.powi(magnitude / 2) / 10_f64.powi(magnitude - magnitude / 2);
        write!(formatter, "({:.*} ± {:.*})e{magnitude}", digits, shifted(value), digits, shifted(standard_uncertainty))
    }
}
