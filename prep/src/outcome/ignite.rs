//! What a lot becomes when it is heated.

use super::Finding;

/// From one temperature to another, °C.
pub type Between = (f64, f64);

/// Stable states, steps and mass levels of a heated lot.
#[derive(Clone, Debug, PartialEq)]
pub struct IgniteAnswer {
    /// The lot, mol.
    pub lot: Vec<(String, f64)>,
    /// Its mass, g.
    pub mass: f64,
    /// What it is heated in.
    pub surroundings: &'static str,
    /// What stands from where to where.
    pub stages: Vec<Stage>,
    /// What is given up on the way, step by step.
    pub chain: Vec<LossStep>,
    /// Every oxide it can leave.
    pub levels: Vec<MassLevel>,
    /// Temperature asked about, °C.
    pub at: Option<f64>,
    /// What was left when it was weighed there, percent of the lot's mass, with its standard uncertainty if it is stated.
    pub found: Option<(f64, Option<f64>)>,
    /// What the residue may hold there: equilibrium first, then what may not be through yet.
    pub may_hold: Vec<String>,
    /// Points for drawing.
    pub points: Vec<HeatedPoint>,
    /// Tables.
    pub sources: Vec<String>,
    /// What must be said.
    pub findings: Vec<Finding>,
}

/// A range of temperatures with one set of stable phases.
#[derive(Clone, Debug, PartialEq)]
pub struct Stage {
    /// °C
    pub from: f64,
    /// °C
    pub to: f64,
    /// Phases, and percent of the lot's mass in the middle.
    pub phases: Vec<(String, f64)>,
    /// Mass of the residue at the beginning and the end, percent of the lot's.
    pub mass: (f64, f64),
    /// Gas given off up to the middle, mol for the lot; negative if taken up.
    pub gases: Vec<(String, f64)>,
}

/// The mass that a pure residue of a pure lot has.
#[derive(Clone, Debug, PartialEq)]
pub struct MassLevel {
    /// The residue.
    pub residue: String,
    /// Percent of the lot's mass.
    pub mass: f64,
    /// Its standard uncertainty, which is that of the atomic weights, percent of the lot's mass.
    pub mass_uncertainty: f64,
    /// °C between which it stands at equilibrium.
    pub stands: Option<Between>,
}

/// A loss of one solid.
#[derive(Clone, Debug, PartialEq)]
pub struct LossStep {
    /// The solid before.
    pub from: String,
    /// The solid after.
    pub to: String,
    /// The reaction.
    pub equation: String,
    /// Mass after, percent of the first solid's.
    pub mass: f64,
    /// Standard uncertainty of that, from the atomic weights.
    pub mass_uncertainty: f64,
    /// Loss in this step, percent of the first solid's mass.
    pub loss: f64,
    /// From where its own gas reaches 1 atm, in words.
    pub own_gas: String,
    /// The same, °C, where it is one temperature.
    pub own_gas_celsius: Option<f64>,
    /// From where it may go in the surroundings, in words; empty where they do not decide it.
    pub surroundings: String,
}

/// The stable state at one temperature.
#[derive(Clone, Debug, PartialEq)]
pub struct HeatedPoint {
    /// °C
    pub celsius: f64,
    /// Percent of the lot's mass.
    pub mass: f64,
    /// Phases, percent of the lot's mass.
    pub phases: Vec<(String, f64)>,
}
