//! What is a constant at another temperature?
//!
//! An analytic expression where the table has one, else van 't Hoff's equation with a constant enthalpy; without an enthalpy
//! the constant stays what it is. Taking the enthalpy as constant errs by some 0.1 in log K at 100 °C for complexes.
//!
//! Source: J. H. van 't Hoff, Études de dynamique chimique (1884); form of the expression as in the tables.

/// Temperature of the tables, K.
pub const REFERENCE: f64 = 298.15;
const GAS_CONSTANT: f64 = 8.314_462_618;

/// Decadic logarithm of a constant at a temperature.
///
/// | argument      | symbol | unit  | range |
/// |---------------|--------|-------|-------|
/// | `log_k`       | log K° | 1     | at 25 °C |
/// | `enthalpy`    | ΔrH    | J/mol | any; 0 where unknown |
/// | `analytic`    | A1..A6 |       | log K = A1 + A2 T + A3/T + A4 lg T + A5/T² + A6 T² |
/// | `temperature` | T      | K     | 273 to 373 |
///
/// ```
/// use engine::aqueous::constants::log_k;
/// // Ion product of water at 60 °C: 13.02 (CRC Handbook, from memory).
/// assert!((log_k(-13.997, 55_810.0, None, 333.15) + 13.02).abs() < 0.1);
/// ```
#[must_use]
pub fn log_k(log_k: f64, enthalpy: f64, analytic: Option<&[f64; 6]>, temperature: f64) -> f64 {
    match analytic {
        Some(a) => {
            let t = temperature;
            a[0] + a[1] * t + a[2] / t + a[3] * t.log10() + a[4] / (t * t) + a[5] * t * t
        }
        None => {
            let slope = enthalpy / (GAS_CONSTANT * std::f64::consts::LN_10);
            log_k + slope * (1.0 / REFERENCE - 1.0 / temperature)
        }
    }
}
