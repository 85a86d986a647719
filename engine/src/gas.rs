//! Is the air out of a vessel, and what would a closed one reach?
//!
//! Gases are ideal. A purged vessel is mixed evenly at every moment: a long tube, through which the gas goes like a piston,
//! is clean sooner; dead corners later. Closed vessels keep their temperature, and the liquid its volume; a gas that dissolves
//! does so by Henry's law at once, which a shaken bottle comes near to. Forward only: the figure says why a vessel is never
//! closed, not what a vessel would stand.
//!
//! Source: ideal gas; D. A. Crowl, J. F. Louvar, Chemical Process Safety, chapter 7, for purging.

use crate::hazard::GAS_CONSTANT;

/// Volumes of purge gas that bring a mixed vessel from one concentration to another.
///
/// ```text
/// N = ln((c₀ − c_p)/(c − c_p))
/// ```
/// | argument | symbol | unit | range |
/// |----------|--------|------|-------|
/// | `from`   | c₀     | any  | > `purge` |
/// | `to`     | c      | same | between `purge` and `from` |
/// | `purge`  | c_p    | same | ≥ 0; concentration in the purge gas |
///
/// `None` where the goal cannot be reached; 0 where it is reached already.
///
/// ```
/// // Air to 1 % oxygen: 3.04 volumes.
/// assert!((engine::gas::volumes_swept(21.0, 1.0, 0.0).unwrap() - 3.0445).abs() < 1e-4);
/// ```
#[must_use]
pub fn volumes_swept(from: f64, to: f64, purge: f64) -> Option<f64> {
    if from <= to {
        return Some(0.0);
    }
    (to > purge && purge >= 0.0).then(|| ((from - purge) / (to - purge)).ln())
}

/// Concentration in a mixed vessel after so many volumes of purge gas, in the unit of `from`.
///
/// ```
/// // Five volumes leave 0.14 % of 21 % oxygen.
/// assert!((engine::gas::left_after(21.0, 0.0, 5.0) - 0.1415).abs() < 1e-4);
/// ```
#[must_use]
pub fn left_after(from: f64, purge: f64, volumes: f64) -> f64 {
    purge + (from - purge) * (-volumes.max(0.0)).exp()
}

/// Cycles between two pressures that bring a vessel to a concentration, as a real number; the next whole one is needed.
///
/// ```text
/// j = ln(c/c₀) / ln(p_low/p_high)
/// ```
/// | argument | symbol | unit | range |
/// |----------|--------|------|-------|
/// | `from`, `to` | c₀, c | same | from > to > 0 |
/// | `low`, `high` | p_low, p_high | same | 0 < low < high |
///
/// Serves evacuation and refill as well as pressurising and venting. `None` outside the ranges.
#[must_use]
pub fn cycles(from: f64, to: f64, low: f64, high: f64) -> Option<f64> {
    (to > 0.0 && from > to && low > 0.0 && high > low).then(|| (to / from).ln() / (low / high).ln())
}

/// Concentration left after whole cycles, in the unit of `from`.
#[must_use]
pub fn left_after_cycles(from: f64, low: f64, high: f64, cycles: f64) -> f64 {
    from * (low / high).powf(cycles)
}

/// Gas that cycles use, mol.
///
/// ```text
/// n = j · (p_high − p_low) · V / (R·T)
/// ```
#[must_use]
pub fn cycle_gas(cycles: f64, low: f64, high: f64, volume: f64, temperature: f64) -> f64 {
    cycles * (high - low) * volume / (GAS_CONSTANT * temperature)
}

/// Rise of pressure in a closed vessel, Pa.
///
/// ```text
/// Δp = n·R·T / (V_gas + k·V_liquid·R·T)
/// ```
/// | argument      | symbol   | unit         | range |
/// |---------------|----------|--------------|-------|
/// | `amount`      | n        | mol          | ≥ 0   |
/// | `temperature` | T        | K            | > 0   |
/// | `free`        | V_gas    | m³           | > 0   |
/// | `liquid`      | V_liquid | m³           | ≥ 0   |
/// | `solubility`  | k        | mol/(m³·Pa)  | ≥ 0; 0 for a gas that does not dissolve |
///
/// # Source
/// Ideal gas and Henry's law.
#[must_use]
pub fn closed_pressure(amount: f64, temperature: f64, free: f64, liquid: f64, solubility: f64) -> Option<f64> {
    let rt = GAS_CONSTANT * temperature;
    let room = free + solubility * liquid * rt;
    (room > 0.0 && temperature > 0.0).then(|| amount * rt / room)
}

/// Henry's constant of carbon dioxide in water at 25 °C, mol/(m³·Pa): 0.0339 mol/(L·bar).
///
/// R. Sander, Atmos. Chem. Phys. 15 (2015) 4399 (from memory).
pub const CARBON_DIOXIDE_IN_WATER: f64 = 0.0339 * 1e3 / 1e5;

/// Volume of a straight tube, m³, of inner diameter and length in m.
#[must_use]
pub fn tube_volume(diameter: f64, length: f64) -> f64 {
    std::f64::consts::FRAC_PI_4 * diameter * diameter * length
}
