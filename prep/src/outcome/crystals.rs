//! What crystallises, and what washings leave.

use super::{Finding, Interval};

/// One crop of crystals; masses in g.
#[derive(Clone, Debug, PartialEq)]
pub struct CropAnswer {
    /// What crystallises.
    pub solid: String,
    /// Crystals with their water.
    pub crystals: Interval,
    /// Anhydrous salt in them.
    pub salt: f64,
    /// Water in them.
    pub water: f64,
    /// Salt left in the liquor.
    pub liquor_salt: f64,
    /// Water left in the liquor.
    pub liquor_water: f64,
    /// Share of the salt of this crop's liquor that came out, %.
    pub yield_percent: f64,
    /// How much more concentrated what does not crystallise has become.
    pub concentration_factor: f64,
    /// Whether all of it turns solid.
    pub set_solid: bool,
}

/// What an impurity does; masses in g.
#[derive(Clone, Debug, PartialEq)]
pub struct ImpurityAnswer {
    /// Its name.
    pub substance: String,
    /// In the liquor at the start.
    pub total: f64,
    /// With the liquor that clings to the crystals.
    pub in_crystals: f64,
    /// Share of the dried crystals that is not impurity, %.
    pub purity_percent: f64,
}

/// A crystallisation read and balanced; masses in g, temperatures in °C.
#[derive(Clone, Debug, PartialEq)]
pub struct CrystalliseAnswer {
    /// The anhydrous salt.
    pub salt: String,
    /// From which temperature.
    pub from: f64,
    /// To which.
    pub to: f64,
    /// g of anhydrous salt in 100 g of water at both.
    pub solubilities: (f64, f64),
    /// Anhydrous salt at the start.
    pub start_salt: f64,
    /// Water at the start, that of crystals included.
    pub start_water: f64,
    /// Water boiled off before cooling.
    pub evaporated: f64,
    /// What the difference of solubilities alone would say.
    pub naive: f64,
    /// The crop.
    pub first: CropAnswer,
    /// A second one.
    pub second: Option<CropAnswer>,
    /// Water to be boiled off at the start temperature until crystals show; below zero where some must be added.
    pub until_crystals: f64,
    /// Water in all that the salt just dissolves in at the start temperature.
    pub least_water: f64,
    /// Solid phases in the range: name, from, to.
    pub phases: Vec<(String, f64, f64)>,
    /// Solubilities as tabled, phase by phase: °C, g of anhydrous salt in 100 g of water in all.
    pub curve: Vec<(String, Vec<(f64, f64)>)>,
    /// Relative standard uncertainty of a solubility.
    pub curve_uncertainty: f64,
    /// The way of the liquor: °C, g of anhydrous salt in 100 g of water in all.
    pub path: Vec<(f64, f64)>,
    /// The impurity.
    pub impurity: Option<ImpurityAnswer>,
    /// Where solubilities come from.
    pub sources: Vec<String>,
    /// Findings.
    pub findings: Vec<Finding>,
}

/// A plan of washing; volumes in mL, masses in mg.
#[derive(Clone, Debug, PartialEq)]
pub struct WashPlan {
    /// How many washes.
    pub count: u32,
    /// Volume of each.
    pub volume: f64,
    /// In all.
    pub total: f64,
    /// Product taken along, mg.
    pub lost: Option<f64>,
}

/// Washings read and reckoned; volumes in mL, masses in mg.
#[derive(Clone, Debug, PartialEq)]
pub struct WashAnswer {
    /// What is washed out.
    pub of: String,
    /// Held liquor, mL.
    pub held: Interval,
    /// How it is known: "stated", "weighed", "readings".
    pub held_from: &'static str,
    /// mg in the held liquor before washing, where the liquor is known.
    pub before: Option<f64>,
    /// Efficiency of mixing.
    pub efficiency: f64,
    /// Volume of each wash.
    pub volume: Option<f64>,
    /// After each wash: share left, mg left, % of the product.
    pub washes: Vec<(f64, Option<f64>, Option<f64>)>,
    /// Share left after each wash with the least and the greatest held liquor, 9 times in 10 between.
    pub bounds: Vec<(f64, f64)>,
    /// The same water in one wash: share left, mg.
    pub in_one: Option<(f64, Option<f64>)>,
    /// Product taken along by all washes, mg.
    pub lost: Option<f64>,
    /// Share that is to be left.
    pub target: Option<f64>,
    /// Plans that reach it.
    pub plans: Vec<WashPlan>,
    /// The plan to take.
    pub best: Option<WashPlan>,
    /// Findings.
    pub findings: Vec<Finding>,
}
