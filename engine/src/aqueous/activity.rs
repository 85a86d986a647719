//! How active is an ion in a solution of other ions?
//!
//! Davies' equation,
//!
//! ```text
//! log₁₀ γ = −A z² (√I / (1 + √I) − 0.3 I)
//! ```
//! with A = 0.509 kg^½ mol^−½ in water at 25 °C. It knows the charge of an ion and nothing else of it; up to an ionic
//! strength of 0.5 mol/kg it is right within some percent, beyond it is not to be used.
//!
//! Source: C. W. Davies, Ion Association, Butterworths 1962 (factor 0.3); A for water at 25 °C as in most tables, from
//! memory.

use super::water;

/// Debye–Hückel coefficient of water at 25 °C, kg^½ mol^−½.
pub const DEBYE_HUECKEL: f64 = 0.509;

/// Ionic strength above which Davies' equation is not to be used, mol/kg.
pub const DAVIES_LIMIT: f64 = 0.5;

/// Activity coefficient of an ion, γ.
///
/// | argument         | symbol | unit   | range |
/// |------------------|--------|--------|-------|
/// | `charge`         | z      | 1      | any   |
/// | `ionic_strength` | I      | mol/kg | 0 to [`DAVIES_LIMIT`] |
///
/// ```
/// // A solution of 0.1 mol/kg of a 1:1 salt: γ is 0.78.
/// let gamma = engine::aqueous::activity::davies(1, 0.1);
/// assert!((gamma - 0.78).abs() < 0.005);
/// ```
#[must_use]
pub fn davies(charge: i32, ionic_strength: f64) -> f64 {
    let root = ionic_strength.max(0.0).sqrt();
    let square = f64::from(charge * charge);
    10f64.powf(-DEBYE_HUECKEL * square * (root / (1.0 + root) - 0.3 * ionic_strength))
}

/// Ionic strength above which the coefficients of [`Slopes::ln_gamma`] are held unless told otherwise, mol/kg: beyond it Davies' equation turns
/// upward without limit, real solutions do not.
pub const HELD_ABOVE: f64 = 1.0;

/// What water of a temperature brings to the equations of Debye and Hückel.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Slopes {
    /// A for natural logarithms, kg^½ mol^−½.
    pub slope: f64,
    /// B, kg^½ mol^−½ m^−1.
    pub size_factor: f64,
    /// Ionic strength above which coefficients are held, mol/kg.
    pub held_above: f64,
}

impl Slopes {
    /// At a temperature in K.
    #[must_use]
    pub fn at(temperature: f64) -> Self {
        Self {
            slope: 3.0 * water::slope(temperature),
            size_factor: water::size_factor(temperature),
            held_above: HELD_ABOVE,
        }
    }

    /// ln γ and its derivative to the ionic strength: extended Debye–Hückel where an ion-size parameter is given, Davies'
    /// equation else, 0.1 I for log₁₀ γ of what has no charge. Above `held_above` it stays what it is there.
    ///
    /// | argument         | symbol | unit   |
    /// |------------------|--------|--------|
    /// | `charge`         | z      | 1      |
    /// | `size`           | a, b   | m, kg/mol |
    /// | `ionic_strength` | I      | mol/kg |
    #[must_use]
    pub fn ln_gamma(&self, charge: i32, size: Option<(f64, f64)>, ionic_strength: f64) -> (f64, f64) {
        use std::f64::consts::LN_10;
        let held = ionic_strength >= self.held_above;
        let strength = ionic_strength.clamp(1e-18, self.held_above.max(1e-18));
        let root = strength.sqrt();
        let square = f64::from(charge * charge);
        let (value, change) = match (charge, size) {
            (0, _) => (0.1 * LN_10 * strength, 0.1 * LN_10),
            (_, Some((a, b))) => {
                let below = 1.0 + self.size_factor * a * root;
                let law = -self.slope * square * root / below;
                let bend = -self.slope * square / (2.0 * root * below * below);
                (law + b * LN_10 * strength, bend + b * LN_10)
            }
            (_, None) => {
                let below = 1.0 + root;
                let law = -self.slope * square * (root / below - 0.3 * strength);
                (law, -self.slope * square * (1.0 / (2.0 * root * below * below) - 0.3))
            }
        };
        (value, if held { 0.0 } else { change })
    }
}
