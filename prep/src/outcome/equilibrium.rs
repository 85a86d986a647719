//! What is there at equilibrium.

use super::{Figure, Finding};

/// A state of equilibrium.
#[derive(Clone, Debug, PartialEq)]
pub struct EquilibriumAnswer {
    /// States over temperature, from cold to hot, where a sweep was asked for.
    pub sweep: Vec<EquilibriumPoint>,
    /// What was brought together, mol.
    pub brought: Vec<(String, f64)>,
    /// Its mass, g.
    pub mass: f64,
    /// What was held, in words.
    pub held: String,
    /// Temperature, K.
    pub temperature: Figure,
    /// Pressure, bar.
    pub pressure: Figure,
    /// What is there, the most plentiful first, solids before gases.
    pub species: Vec<EquilibriumSpecies>,
    /// Solids and liquids that are nearest to appearing, with how near: the logarithm (base 10) of the activity.
    pub nearest: Vec<(String, f64)>,
    /// Amount of gas, mol.
    pub gas_amount: f64,
    /// Its volume, L.
    pub gas_volume: f64,
    /// Heat taken up (released if negative) on the way from the starting temperature, kJ; `None` where nothing was changed in
    /// temperature or a starting enthalpy is not known.
    pub heat: Option<f64>,
    /// Starting temperature, K.
    pub from: f64,
    /// Whether temperature stands still while heat goes in or out.
    pub plateau: bool,
    /// `solved`, or what else.
    pub status: &'static str,
    /// Greatest of what is left over in any condition.
    pub residual: f64,
    /// The same by condition: elements, potentials, stability, energy.
    pub residuals: [f64; 4],
    /// How many candidates there were.
    pub candidates: usize,
    /// Tables.
    pub sources: Vec<String>,
    /// What must be said.
    pub findings: Vec<Finding>,
}

/// One substance in a state of equilibrium.
#[derive(Clone, Debug, PartialEq)]
pub struct EquilibriumSpecies {
    /// Formula and phase.
    pub species: String,
    /// The same with its crystal form.
    pub label: String,
    /// `gas`, `liquid` or `solid`.
    pub phase: &'static str,
    /// mol
    pub amount: f64,
    /// g
    pub mass: f64,
    /// Partial pressure, bar; of a gas.
    pub partial_pressure: Option<f64>,
    /// Whether its values are estimated.
    pub estimated: bool,
}

/// What is there at one temperature of a sweep.
#[derive(Clone, Debug, PartialEq)]
pub struct EquilibriumPoint {
    /// K
    pub kelvin: f64,
    /// Solids and liquids, g.
    pub condensed: Vec<(String, f64)>,
    /// Gases, g; those below a thousandth of all mass are left out.
    pub gases: Vec<(String, f64)>,
}
