//! What are heat, entropy, Gibbs energy and equilibrium constant of a reaction at a temperature, and where is it in
//! balance?
//!
//! Sums over the participants, with coefficients negative for what is used up. Gases are ideal, all else is pure and at
//! 1 bar; a gas at another pressure adds ν·R·T·ln(p/1 bar) to the Gibbs energy. The uncertainties of different
//! participants are taken as independent, though tables share their auxiliary values: that errs upward where a value
//! stands on both sides.
//!
//! Source: IUPAC Green Book (3rd edition, 2007), section 2.11; JCGM 100:2008, clause 5.1, for the uncertainties.

use super::fit::{Fit, GAS_CONSTANT};
use super::standard::STANDARD_TEMPERATURE;

/// One species of a reaction, in the form it takes at the temperature asked for.
#[derive(Clone, Debug)]
pub struct Participant<'a> {
    /// Coefficient, negative for what is used up.
    pub coefficient: f64,
    /// Its polynomial.
    pub fit: &'a Fit,
    /// Standard uncertainty of the enthalpy of formation, J/mol.
    pub enthalpy_uncertainty: f64,
    /// Standard uncertainty of the entropy at 298.15 K, J/(mol·K).
    pub entropy_uncertainty: f64,
    /// Relative standard uncertainty of the heat capacity; it grows into H and S away from 298.15 K.
    pub heat_uncertainty: f64,
    /// ln(p/1 bar) of a gas, ln a of a solute; 0 in the standard state.
    pub log_activity: f64,
}

/// A value with its standard uncertainty.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct Known {
    /// Value.
    pub value: f64,
    /// Standard uncertainty.
    pub uncertainty: f64,
}

/// A reaction at a temperature, for one mole of reaction as written.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct ReactionState {
    /// Temperature, K.
    pub temperature: f64,
    /// ΔrH, J/mol.
    pub enthalpy: Known,
    /// ΔrS at standard pressure, J/(mol·K).
    pub entropy: Known,
    /// ΔrG at standard pressure, J/mol.
    pub gibbs_energy: Known,
    /// ΔrCp, J/(mol·K).
    pub heat_capacity: Known,
    /// log₁₀ K.
    pub log10_k: Known,
    /// ΔrG at the pressures given, J/mol.
    pub driving_gibbs_energy: f64,
}

/// Enthalpy, entropy, Gibbs energy and equilibrium constant of a reaction at T in K.
///
/// ```text
/// ΔrX = Σ ν·X,   ΔrG = ΔrH − T·ΔrS,   log₁₀ K = −ΔrG/(R·T·ln 10)
/// ```
///
/// The uncertainty of G counts that of H, of S(298.15 K)·T and of Cp·(T − T₀ − T·ln(T/T₀)) with T₀ = 298.15 K.
#[must_use]
pub fn state(participants: &[Participant<'_>], temperature: f64) -> ReactionState {
    let t = temperature;
    let warmed = t - STANDARD_TEMPERATURE;
    let logarithm = (t / STANDARD_TEMPERATURE).ln();
    let sum = |of: fn(&Fit, f64) -> f64| participants.iter().map(|p| p.coefficient * of(p.fit, t)).sum::<f64>();
    let spread = |of: &dyn Fn(&Participant<'_>) -> f64| {
        participants.iter().map(|p| (p.coefficient * of(p)).powi(2)).sum::<f64>().sqrt()
    };
    let heat = |p: &Participant<'_>| p.heat_uncertainty * p.fit.heat_capacity(t);
    let enthalpy =
        Known { value: sum(Fit::enthalpy), uncertainty: spread(&|p| p.enthalpy_uncertainty.hypot(heat(p) * warmed)) };
    let entropy =
        Known { value: sum(Fit::entropy), uncertainty: spread(&|p| p.entropy_uncertainty.hypot(heat(p) * logarithm)) };
    let gibbs_energy = Known {
        value: sum(Fit::gibbs_energy),
        uncertainty: spread(&|p| {
            p.enthalpy_uncertainty.hypot(t * p.entropy_uncertainty).hypot(heat(p) * (warmed - t * logarithm))
        }),
    };
    let decade = GAS_CONSTANT * t * std::f64::consts::LN_10;
    ReactionState {
        temperature,
        enthalpy,
        entropy,
        gibbs_energy,
        heat_capacity: Known { value: sum(Fit::heat_capacity), uncertainty: spread(&heat) },
        log10_k: Known { value: -gibbs_energy.value / decade, uncertainty: gibbs_energy.uncertainty / decade },
        driving_gibbs_energy: gibbs_energy.value + activity_term(participants, t),
    }
}

/// R·T·Σ ν·ln a, J/mol.
#[must_use]
pub fn activity_term(participants: &[Participant<'_>], temperature: f64) -> f64 {
    participants.iter().map(|p| p.coefficient * p.log_activity).sum::<f64>() * GAS_CONSTANT * temperature
}

/// Temperatures between `low` and `high` (K) at which a function of temperature changes sign, the coldest first.
///
/// The range is walked in steps of 10 K, and each change of sign is halved until it is known to 1 µK. Two changes
/// within one step are missed; a Gibbs energy of reaction, smooth between transitions, does not do that. Where the
/// function is not finite no change is seen.
///
/// ```
/// use engine::thermochemistry::reaction::sign_changes;
/// let found = sign_changes(|t| 179_000.0 - 160.0 * t, 298.15, 2000.0);
/// assert!((found[0] - 1118.75).abs() < 1e-4);
/// ```
#[must_use]
pub fn sign_changes(function: impl Fn(f64) -> f64, low: f64, high: f64) -> Vec<f64> {
    const STEP: f64 = 10.0;
    const PRECISION: f64 = 1e-6;
    const MOST_STEPS: f64 = 2000.0;
    let mut found = Vec::new();
    if !(low < high && (high - low) / STEP < MOST_STEPS) {
        return found;
    }
    let (mut left, mut value) = (low, function(low));
    while left < high {
        let right = (left + STEP).min(high);
        let next = function(right);
        if value * next < 0.0 {
            let (mut a, mut b) = (left, right);
            while b - a > PRECISION {
                let middle = 0.5 * (a + b);
                if function(middle) * value > 0.0 { a = middle } else { b = middle }
            }
            found.push(0.5 * (a + b));
        } else if next == 0.0 {
            found.push(right);
        }
        (left, value) = (right, next);
    }
    found
}

/// Standard uncertainty of a temperature of balance, K: u(ΔrG)/|ΔrS|.
#[must_use]
pub fn balance_uncertainty(state: &ReactionState) -> f64 {
    state.gibbs_energy.uncertainty / state.entropy.value.abs()
}

/// Heat released for each kilogram of what is used up, −ΔrH/Σ m, J/kg.
///
/// | argument   | symbol | unit  | range |
/// |------------|--------|-------|-------|
/// | `enthalpy` | ΔrH    | J/mol | any; negative is exothermic |
/// | `mass`     | Σ m    | kg/mol of reaction | > 0 |
#[must_use]
pub fn heat_per_mass(enthalpy: f64, mass: f64) -> f64 {
    -enthalpy / mass
}

/// Volume of an ideal gas, m³ for each mole of it.
///
/// ```
/// let litres = 1000.0 * engine::thermochemistry::reaction::molar_gas_volume(298.15, 101_325.0);
/// assert!((litres - 24.465).abs() < 0.001);
/// ```
#[must_use]
pub fn molar_gas_volume(temperature: f64, pressure: f64) -> f64 {
    const GAS_CONSTANT_2018: f64 = 8.314_462_618;
    GAS_CONSTANT_2018 * temperature / pressure
}
