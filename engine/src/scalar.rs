//! Which numbers can flow through the forward run?
//!
//! The ledger is written once, over [`Scalar`], and run with plain `f64` for sampling and with [`Dual`]
//! for exact first derivatives (forward mode, `N` directions at a time). `min` and `max` pick the branch by
//! value: at the kink of a limiting reagent the derivative is that of the branch taken.

use std::ops::{Add, AddAssign, Div, Mul, Neg, Sub, SubAssign};

/// A real number that the forward run can carry.
pub trait Scalar:
    Copy
    + Add<Output = Self>
    + Sub<Output = Self>
    + Mul<Output = Self>
    + Div<Output = Self>
    + Neg<Output = Self>
    + Mul<f64, Output = Self>
    + AddAssign
    + SubAssign
    + Send
    + Sync
{
    /// A number that does not depend on any unknown.
    fn constant(value: f64) -> Self;
    /// The value without its derivatives.
    fn value(self) -> f64;
    /// The image under a function of one variable whose value and slope at this point are known.
    fn image(self, value: f64, slope: f64) -> Self;

    /// The smaller of two numbers, by value.
    #[inline]
    fn smaller(self, other: Self) -> Self {
        if other.value() < self.value() { other } else { self }
    }

    /// The number, or zero where it is negative.
    #[inline]
    fn at_least_zero(self) -> Self {
        if self.value() < 0.0 { Self::constant(0.0) } else { self }
    }
}

impl Scalar for f64 {
    #[inline]
    fn constant(value: f64) -> Self {
        value
    }
    #[inline]
    fn value(self) -> f64 {
        self
    }
    #[inline]
    fn image(self, value: f64, _slope: f64) -> Self {
        value
    }
}

/// A number with its derivatives in `N` directions.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Dual<const N: usize> {
    /// The value.
    pub value: f64,
    /// The derivatives, one for each direction.
    pub gradient: [f64; N],
}

impl<const N: usize> Dual<N> {
    /// The independent variable of direction `direction`.
    #[must_use]
    pub fn variable(value: f64, direction: usize) -> Self {
        let mut gradient = [0.0; N];
        if let Some(slot) = gradient.get_mut(direction) {
            *slot = 1.0;
        }
        Self { value, gradient }
    }

    #[inline]
    fn combine(self, other: Self, value: f64, by_self: f64, by_other: f64) -> Self {
        let mut gradient = [0.0; N];
        for (slot, (a, b)) in gradient.iter_mut().zip(self.gradient.iter().zip(&other.gradient)) {
            *slot = by_self * a + by_other * b;
        }
        Self { value, gradient }
    }
}

impl<const N: usize> Scalar for Dual<N> {
    #[inline]
    fn constant(value: f64) -> Self {
        Self { value, gradient: [0.0; N] }
    }
    #[inline]
    fn value(self) -> f64 {
        self.value
    }
    #[inline]
    fn image(self, value: f64, slope: f64) -> Self {
        let mut gradient = self.gradient;
        for slot in &mut gradient {
            *slot *= slope;
        }
        Self { value, gradient }
    }
}

impl<const N: usize> Add for Dual<N> {
    type Output = Self;
    #[inline]
    fn add(self, other: Self) -> Self {
        self.combine(other, self.value + other.value, 1.0, 1.0)
    }
}

impl<const N: usize> Sub for Dual<N> {
    type Output = Self;
    #[inline]
    fn sub(self, other: Self) -> Self {
        self.combine(other, self.value - other.value, 1.0, -1.0)
    }
}

impl<const N: usize> Mul for Dual<N> {
    type Output = Self;
    #[inline]
    fn mul(self, other: Self) -> Self {
        self.combine(other, self.value * other.value, other.value, self.value)
    }
}

impl<const N: usize> Div for Dual<N> {
    type Output = Self;
    #[inline]
    fn div(self, other: Self) -> Self {
        let quotient = self.value / other.value;
        self.combine(other, quotient, 1.0 / other.value, -quotient / other.value)
    }
}

impl<const N: usize> Neg for Dual<N> {
    type Output = Self;
    #[inline]
    fn neg(self) -> Self {
        self.image(-self.value, -1.0)
    }
}

impl<const N: usize> Mul<f64> for Dual<N> {
    type Output = Self;
    #[inline]
    fn mul(self, factor: f64) -> Self {
        self.image(self.value * factor, factor)
    }
}

impl<const N: usize> AddAssign for Dual<N> {
    #[inline]
    fn add_assign(&mut self, other: Self) {
        *self = *self + other;
    }
}

impl<const N: usize> SubAssign for Dual<N> {
    #[inline]
    fn sub_assign(&mut self, other: Self) {
        *self = *self - other;
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn derivatives_of_a_quotient() {
        let x = Dual::<2>::variable(3.0, 0);
        let y = Dual::<2>::variable(2.0, 1);
        let q = x * x / y;
        assert!((q.value - 4.5).abs() < 1e-15);
        assert!((q.gradient[0] - 3.0).abs() < 1e-15);
        assert!((q.gradient[1] + 2.25).abs() < 1e-15);
    }

    #[test]
    fn the_smaller_branch_keeps_its_derivative() {
        let x = Dual::<2>::variable(3.0, 0);
        let y = Dual::<2>::variable(2.0, 1);
        assert_eq!(x.smaller(y).gradient, [0.0, 1.0]);
    }
}
