//! What are heat capacity, enthalpy and entropy of one form of a substance at a temperature, from its polynomial?
//!
//! Nine coefficients for each temperature interval:
//!
//! ```text
//! Cp/R  = a₁ T⁻² + a₂ T⁻¹ + a₃ + a₄ T + a₅ T² + a₆ T³ + a₇ T⁴
//! H/RT  = −a₁ T⁻² + a₂ T⁻¹ ln T + a₃ + a₄ T/2 + a₅ T²/3 + a₆ T³/4 + a₇ T⁴/5 + b₁/T
//! S/R   = −a₁ T⁻²/2 − a₂ T⁻¹ + a₃ ln T + a₄ T + a₅ T²/2 + a₆ T³/3 + a₇ T⁴/4 + b₂
//! ```
//!
//! The enthalpy is that of formation at 298.15 K plus what heating adds, so that elements in their reference form have
//! H(298.15 K) = 0. Standard pressure 1 bar; no pressure enters, which neglects the volume of condensed phases and the
//! non-ideality of gases. Outside all intervals the nearest one is extended; whether that is allowed is the caller's
//! question ([`Fit::covers`]).
//!
//! Source: B. J. McBride, M. J. Zehe, S. Gordon, NASA Glenn Coefficients for Calculating Thermodynamic Properties of
//! Individual Species, NASA/TP-2002-211556 (2002).

/// Molar gas constant that the coefficients were fitted with, J/(mol·K) (CODATA 1986); with it the printed enthalpies
/// come back. The constant of 2018 is smaller by 6 parts in a million.
pub const GAS_CONSTANT: f64 = 8.314_510;

/// One temperature interval of a polynomial.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Interval {
    /// Lower end, K.
    pub low_k: f64,
    /// Upper end, K.
    pub high_k: f64,
    /// Coefficients of T⁻², T⁻¹, 1, T, T², T³, T⁴ in Cp/R, with T in K.
    pub a: [f64; 7],
    /// Constants of integration of H/RT (in K) and of S/R.
    pub b: [f64; 2],
}

impl Interval {
    /// H/(R·T), S/R and Cp/R at once, for many substances at one temperature.
    #[must_use]
    pub fn properties(&self, at: &At) -> [f64; 3] {
        let [a1, a2, a3, a4, a5, a6, a7] = self.a;
        let At { kelvin: t, inverse, logarithm } = *at;
        let (first, second) = (a1 * inverse * inverse, a2 * inverse);
        let (p4, p5, p6, p7) = {
            let (square, cube) = (t * t, t * t * t);
            (a4 * t, a5 * square, a6 * cube, a7 * square * square)
        };
        let heat = -first
            + second * logarithm
            + self.b[0] * inverse
            + a3
            + (p4 * (1.0 / 2.0) + p5 * (1.0 / 3.0) + p6 * (1.0 / 4.0) + p7 * (1.0 / 5.0));
        let entropy = -0.5 * first - second
            + a3 * logarithm
            + self.b[1]
            + (p4 + p5 * (1.0 / 2.0) + p6 * (1.0 / 3.0) + p7 * (1.0 / 4.0));
        [heat, entropy, first + second + a3 + p4 + p5 + p6 + p7]
    }

    /// Cp/R at T in K.
    #[must_use]
    pub fn heat_capacity_over_r(&self, temperature: f64) -> f64 {
        let [a1, a2, a3, a4, a5, a6, a7] = self.a;
        let t = temperature;
        (a1 / t + a2) / t + a3 + t * (a4 + t * (a5 + t * (a6 + t * a7)))
    }

    /// H/(R·T) at T in K.
    #[must_use]
    pub fn enthalpy_over_rt(&self, temperature: f64) -> f64 {
        let [a1, a2, a3, a4, a5, a6, a7] = self.a;
        let t = temperature;
        (-a1 / t + a2 * t.ln() + self.b[0]) / t + a3 + t * (a4 / 2.0 + t * (a5 / 3.0 + t * (a6 / 4.0 + t * a7 / 5.0)))
    }

    /// S/R at T in K.
    #[must_use]
    pub fn entropy_over_r(&self, temperature: f64) -> f64 {
        let [a1, a2, a3, a4, a5, a6, a7] = self.a;
        let t = temperature;
        (-a1 / (2.0 * t) - a2) / t + a3 * t.ln() + self.b[1] + t * (a4 + t * (a5 / 2.0 + t * (a6 / 3.0 + t * a7 / 4.0)))
    }
}

/// A temperature with what the polynomials need of it.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct At {
    kelvin: f64,
    inverse: f64,
    logarithm: f64,
}

impl At {
    /// At T in K.
    #[must_use]
    pub fn kelvin(temperature: f64) -> Self {
        Self { kelvin: temperature, inverse: 1.0 / temperature, logarithm: temperature.ln() }
    }
}

/// The polynomial of one form of a substance: its intervals, the coldest first.
///
/// Without an interval every method gives NaN.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Fit {
    /// Intervals in order of temperature, each beginning where the one before ends.
    pub intervals: Vec<Interval>,
}

impl Fit {
    /// The interval for a temperature in K: the one that holds it, else the nearest.
    #[must_use]
    pub fn interval(&self, temperature: f64) -> Option<&Interval> {
        self.intervals.iter().find(|interval| temperature <= interval.high_k).or_else(|| self.intervals.last())
    }

    /// Lowest and highest temperature, K.
    #[must_use]
    pub fn range(&self) -> Option<(f64, f64)> {
        Some((self.intervals.first()?.low_k, self.intervals.last()?.high_k))
    }

    /// Whether the polynomial is meant for a temperature in K.
    #[must_use]
    pub fn covers(&self, temperature: f64) -> bool {
        self.range().is_some_and(|(low, high)| (low..=high).contains(&temperature))
    }

    /// Molar heat capacity at constant pressure, J/(mol·K), at T in K.
    #[must_use]
    pub fn heat_capacity(&self, temperature: f64) -> f64 {
        self.interval(temperature).map_or(f64::NAN, |part| GAS_CONSTANT * part.heat_capacity_over_r(temperature))
    }

    /// Molar enthalpy against the elements at 298.15 K, J/mol, at T in K.
    ///
    /// ```
    /// use engine::thermochemistry::fit::{Fit, Interval};
    /// // A monatomic gas: Cp = 5/2 R throughout, H(298.15 K) = 0.
    /// let a = [0.0, 0.0, 2.5, 0.0, 0.0, 0.0, 0.0];
    /// let argon = Fit { intervals: vec![Interval { low_k: 200.0, high_k: 6000.0, a, b: [-745.375, 4.379_674_91] }] };
    /// assert!(argon.enthalpy(298.15).abs() < 1e-9);
    /// assert!((argon.entropy(298.15) - 154.846).abs() < 0.001);
    /// ```
    #[must_use]
    pub fn enthalpy(&self, temperature: f64) -> f64 {
        self.interval(temperature)
            .map_or(f64::NAN, |part| GAS_CONSTANT * temperature * part.enthalpy_over_rt(temperature))
    }

    /// Standard molar entropy, J/(mol·K), at T in K.
    #[must_use]
    pub fn entropy(&self, temperature: f64) -> f64 {
        self.interval(temperature).map_or(f64::NAN, |part| GAS_CONSTANT * part.entropy_over_r(temperature))
    }

    /// G/(R·T) = H/(R·T) − S/R at T in K.
    #[must_use]
    pub fn gibbs_over_rt(&self, temperature: f64) -> f64 {
        self.interval(temperature)
            .map_or(f64::NAN, |part| part.enthalpy_over_rt(temperature) - part.entropy_over_r(temperature))
    }

    /// Molar Gibbs energy G = H − T·S against the elements at 298.15 K, J/mol, at T in K.
    #[must_use]
    pub fn gibbs_energy(&self, temperature: f64) -> f64 {
        GAS_CONSTANT * temperature * self.gibbs_over_rt(temperature)
    }
}
