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
