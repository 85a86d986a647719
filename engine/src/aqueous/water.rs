//! What does water itself bring: its density, permittivity and the limiting slope of ions in it?
//!
//! Pure water at 1 atm from 0 to 100 °C. The slope of Debye and Hückel follows from both:
//!
//! ```text
//! A_φ = (1/3) · √(2 π N_A ρ) · (e² / (4 π ε₀ ε k T))^(3/2)
//! ```
//! Neglected: pressure (its effect on log K is below 0.01 at 100 bar).
//!
//! Source: density: G. S. Kell, J. Chem. Eng. Data 20 (1975) 97; permittivity: C. G. Malmberg, A. A. Maryott, J. Res. Natl.
//! Bur. Stand. 56 (1956) 1; constants: CODATA 2018.

/// Molar mass of water, kg/mol.
pub const MOLAR_MASS: f64 = 18.015e-3;
/// Zero of the Celsius scale, K.
const ZERO: f64 = 273.15;
const AVOGADRO: f64 = 6.022_140_76e23;
const CHARGE: f64 = 1.602_176_634e-19;
const BOLTZMANN: f64 = 1.380_649e-23;
const VACUUM: f64 = 8.854_187_812_8e-12;

/// Density of water, kg/m³, at a temperature in K.
///
/// ```
/// assert!((engine::aqueous::water::density(298.15) - 997.05).abs() < 0.01);
/// ```
#[must_use]
pub fn density(temperature: f64) -> f64 {
    let t = temperature - ZERO;
    let above = 999.839_52
        + t * (16.945_176 + t * (-7.987_040_1e-3 + t * (-46.170_461e-6 + t * (105.563_02e-9 - 280.542_53e-12 * t))));
    above / (1.0 + 16.879_85e-3 * t)
}

/// Relative permittivity of water, at a temperature in K.
#[must_use]
pub fn permittivity(temperature: f64) -> f64 {
    let t = temperature - ZERO;
    87.740 + t * (-0.400_08 + t * (9.398e-4 - 1.410e-6 * t))
}

/// Limiting slope for osmotic coefficients, A_φ, kg^½ mol^−½; for log₁₀ γ it is A = 3 A_φ / ln 10.
///
/// ```
/// // 0.392 at 25 °C in the tables of Pitzer and his school.
/// assert!((engine::aqueous::water::slope(298.15) - 0.3915).abs() < 1e-3);
/// ```
#[must_use]
pub fn slope(temperature: f64) -> f64 {
    use std::f64::consts::PI;
    let length = CHARGE * CHARGE / (4.0 * PI * VACUUM * permittivity(temperature) * BOLTZMANN * temperature);
    (2.0 * PI * AVOGADRO * density(temperature)).sqrt() * length.powf(1.5) / 3.0
}

/// How much ion-size counts, B of the extended Debye–Hückel equation, kg^½ mol^−½ m^−1.
#[must_use]
pub fn size_factor(temperature: f64) -> f64 {
    let per = 2.0 * CHARGE * CHARGE * AVOGADRO * density(temperature);
    (per / (VACUUM * permittivity(temperature) * BOLTZMANN * temperature)).sqrt()
}
