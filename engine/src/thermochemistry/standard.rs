//! What polynomial follows from values at 298.15 K?
//!
//! With a heat capacity Cp = a + b·T + c/T² the enthalpy and entropy at 298.15 K fix the constants of integration, and
//! the result is a [`Fit`] like any other. A constant heat capacity (b = c = 0) neglects that solids take up more heat
//! the hotter they are: H comes out too low by some 5 % of Cp·ΔT at 600 K, and more above.
//!
//! Missing values may be estimated, each by a published rule: heat capacity from the elements
//! ([`kopp`]), hydrates from the salt with less water ([`WaterIncrement`]).
//!
//! Source: definitions; C. G. Maier, K. K. Kelley, J. Am. Chem. Soc. 54 (1932) 3243 for the form of the heat capacity;
//! the rules beside their functions.

use super::fit::{Fit, GAS_CONSTANT, Interval};

/// The temperature of the tables, K.
pub const STANDARD_TEMPERATURE: f64 = 298.15;

/// Cp = a + b·T + c/T², in J/(mol·K) with T in K.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct HeatLaw {
    /// Constant part, J/(mol·K).
    pub a: f64,
    /// Slope, J/(mol·K²).
    pub b: f64,
    /// Part with T⁻², J·K/mol.
    pub c: f64,
}

impl HeatLaw {
    /// The same heat capacity at every temperature, J/(mol·K).
    #[must_use]
    pub fn constant(heat_capacity: f64) -> HeatLaw {
        HeatLaw { a: heat_capacity, b: 0.0, c: 0.0 }
    }
}

/// The polynomial of a substance known at 298.15 K.
///
/// | argument   | symbol | unit      | range |
/// |------------|--------|-----------|-------|
/// | `enthalpy` | ΔfH    | J/mol     | any   |
/// | `entropy`  | S      | J/(mol·K) | any   |
/// | `heat`     | Cp     | J/(mol·K) | > 0 for a pure substance |
/// | `low_k`, `high_k` | | K         | 0 < low < high |
///
/// ```
/// use engine::thermochemistry::standard::{HeatLaw, of_standard};
/// // Zinc oxide: 48.99 + 5.10e-3 T − 9.12e5/T², heated to 1000 K takes up about 34 kJ/mol.
/// let zincite = of_standard(-350_460.0, 43.65, HeatLaw { a: 48.99, b: 5.10e-3, c: -9.12e5 }, 298.15, 2248.0);
/// assert!((zincite.enthalpy(298.15) + 350_460.0).abs() < 1e-6);
/// assert!((zincite.enthalpy(1000.0) - zincite.enthalpy(298.15) - 34_560.0).abs() < 20.0);
/// ```
#[must_use]
pub fn of_standard(enthalpy: f64, entropy: f64, heat: HeatLaw, low_k: f64, high_k: f64) -> Fit {
    let a = [heat.c / GAS_CONSTANT, 0.0, heat.a / GAS_CONSTANT, heat.b / GAS_CONSTANT, 0.0, 0.0, 0.0];
    let mut part = Interval { low_k, high_k, a, b: [0.0, 0.0] };
    let t = STANDARD_TEMPERATURE;
    part.b[0] = enthalpy / GAS_CONSTANT - t * part.enthalpy_over_rt(t);
    part.b[1] = entropy / GAS_CONSTANT - part.entropy_over_r(t);
    Fit { intervals: vec![part] }
}

/// Heat capacity of a solid from its elements, J/(mol·K), by the rule of Kopp and Neumann.
///
/// ```text
/// Cp = Σ νᵢ·cᵢ
/// ```
///
/// `atoms` lists atomic numbers with their counts. Within some 10 % for most salts near room temperature; too low
/// above. Hydrate water is better counted by [`WaterIncrement`].
///
/// # Source
/// H. Kopp, Phil. Trans. R. Soc. 155 (1865) 71; increments in J/(mol·K): H 9.6, B 11.3, C 7.5, O 16.7, F 20.9, Si 15.9,
/// P and S 22.6, all others 25.9 (recalled).
///
/// ```
/// use engine::thermochemistry::standard::kopp;
/// // Calcium carbonate, measured 82 to 83.5 J/(mol·K).
/// assert!((kopp(&[(20, 1.0), (6, 1.0), (8, 3.0)]) - 83.5).abs() < 0.1);
/// ```
#[must_use]
pub fn kopp(atoms: &[(u8, f64)]) -> f64 {
    let increment = |number: u8| match number {
        1 => 9.6,
        5 => 11.3,
        6 => 7.5,
        8 => 16.7,
        9 => 20.9,
        14 => 15.9,
        15 | 16 => 22.6,
        _ => 25.9,
    };
    atoms.iter().map(|(number, count)| count * increment(*number)).sum()
}

/// Entropy of an ionic solid from its molar volume, J/(mol·K), with its standard uncertainty.
///
/// ```text
/// S = k·V/N + c,   k = 1360 J/(mol·K·nm³), c = 15 J/(mol·K); of a hydrate k = 1579, c = 6
/// ```
///
/// | argument  | symbol | unit   | range |
/// |-----------|--------|--------|-------|
/// | `volume`  | V      | m³/mol | > 0   |
/// | `hydrate` |        |        |       |
///
/// The uncertainty is a tenth of the value, somewhat more than the mean deviation that is published.
///
/// # Source
/// H. D. B. Jenkins, L. Glasser, Inorg. Chem. 42 (2003) 8702 (coefficients recalled).
///
/// ```
/// // Gypsum, 74.7 cm³/mol: 194 J/(mol·K) measured.
/// let (entropy, uncertainty) = engine::thermochemistry::standard::volume_entropy(74.7e-6, true);
/// assert!((entropy - 194.0).abs() < uncertainty);
/// ```
#[must_use]
pub fn volume_entropy(volume: f64, hydrate: bool) -> (f64, f64) {
    const MOLECULES: f64 = 6.022_140_76e23;
    let (slope, intercept) = if hydrate { (1579.0, 6.0) } else { (1360.0, 15.0) };
    let value = slope * volume * 1e27 / MOLECULES + intercept;
    (value, 0.1 * value)
}

/// What one molecule of hydrate water adds to the values of a solid, with the standard uncertainty of that.
///
/// # Source
/// Thermodynamic difference rule, L. Glasser, H. D. B. Jenkins, Inorg. Chem. 46 (2007) 9768 (increments recalled); the
/// uncertainties are the scatter over the hydrates of the table of standard values; the first water is bound more firmly
/// than the rule says, by some 15 kJ/mol.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct WaterIncrement;

impl WaterIncrement {
    /// Enthalpy of formation for each molecule, J/mol.
    pub const ENTHALPY: f64 = -298_600.0;
    /// Its standard uncertainty, J/mol.
    pub const ENTHALPY_UNCERTAINTY: f64 = 7_000.0;
    /// Entropy for each molecule, J/(mol·K).
    pub const ENTROPY: f64 = 40.9;
    /// Its standard uncertainty, J/(mol·K).
    pub const ENTROPY_UNCERTAINTY: f64 = 4.0;
    /// Heat capacity for each molecule, J/(mol·K).
    pub const HEAT_CAPACITY: f64 = 42.8;
}
