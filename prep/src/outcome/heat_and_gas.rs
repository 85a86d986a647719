//! How hot it gets, and what gas comes off.

use super::{Figure, Finding, SubstanceHazard};

/// A reagent that was taken.
#[derive(Clone, Debug, PartialEq)]
pub struct Taken {
    /// As in the equation.
    pub species: String,
    /// Amount, mol.
    pub amount: f64,
    /// Mass, g.
    pub mass: f64,
}

/// The heat of a reaction of weighed reagents.
#[derive(Clone, Debug, PartialEq)]
pub struct HeatAnswer {
    /// The balanced equation.
    pub equation: String,
    /// What was taken, as asked.
    pub taken: Vec<Taken>,
    /// What runs out first.
    pub limiting: String,
    /// How often the reaction runs, mol.
    pub extent: f64,
    /// Heat released, kJ; negative where it is taken up.
    pub heat: Figure,
    /// Heat for each gram of what reacts, kJ/g.
    pub heat_per_gram: Option<Figure>,
    /// What it does to a batch in liquid.
    pub batch: Option<BatchAnswer>,
    /// How fast it may be added.
    pub addition: Option<AdditionAnswer>,
    /// Where it ends if nothing cools it, without liquid.
    pub adiabatic: Option<AdiabaticAnswer>,
    /// Hazards of what is taken and made, where statements are listed.
    pub hazards: Vec<SubstanceHazard>,
    /// Findings.
    pub findings: Vec<Finding>,
}

/// A batch that takes up heat.
#[derive(Clone, Debug, PartialEq)]
pub struct BatchAnswer {
    /// Mass of the liquid, g.
    pub mass: f64,
    /// Its heat capacity, kJ/(kg K).
    pub heat_capacity: f64,
    /// Temperature at the beginning, °C.
    pub from: f64,
    /// Rise if nothing boiled, K.
    pub rise: f64,
    /// Temperature reached, °C.
    pub reached: f64,
    /// Boiling point, °C.
    pub boiling_point: f64,
    /// Liquid boiled off, g.
    pub boiled_off: f64,
    /// Heat left when all is boiled off, kJ.
    pub left: f64,
}

/// An addition that cooling keeps up with.
#[derive(Clone, Debug, PartialEq)]
pub struct AdditionAnswer {
    /// What is added.
    pub species: String,
    /// Cooling, W.
    pub cooling: f64,
    /// Largest rate, g/min.
    pub rate: f64,
    /// Shortest time for all, min.
    pub minutes: f64,
}

/// A mix that keeps its heat.
#[derive(Clone, Debug, PartialEq)]
pub struct AdiabaticAnswer {
    /// Temperature, °C.
    pub temperature: f64,
    /// Whether it is held at a melting or boiling point.
    pub held: bool,
    /// What is there, with the share of each form of a product and its amount in mol.
    pub products: Vec<(String, f64, f64)>,
    /// Gas for each gram of the mix, mmol/g.
    pub gas_per_gram: f64,
}

/// The gas of a reaction of weighed reagents.
#[derive(Clone, Debug, PartialEq)]
pub struct GasAnswer {
    /// The balanced equation; none where the gas itself was named.
    pub equation: Option<String>,
    /// What was taken, as asked.
    pub taken: Vec<Taken>,
    /// What runs out first.
    pub limiting: Option<String>,
    /// Temperature, °C.
    pub temperature: f64,
    /// The gases.
    pub gases: Vec<GasShare>,
    /// All of them, L.
    pub litres: f64,
    /// Rate, L/min, where a time is given.
    pub rate: Option<f64>,
    /// Room, m³.
    pub room: f64,
    /// Whether it was stated.
    pub room_stated: bool,
    /// Air changes in an hour, where they are given.
    pub air_changes: Option<f64>,
    /// Free space, mL, and rise of pressure if closed, bar.
    pub closed: Option<(f64, f64)>,
    /// Purge of a vessel.
    pub sweep: Option<SweepAnswer>,
    /// Hazards of what is taken and made, where statements are listed.
    pub hazards: Vec<SubstanceHazard>,
    /// Findings.
    pub findings: Vec<Finding>,
}

/// One gas.
#[derive(Clone, Debug, PartialEq)]
pub struct GasShare {
    /// Formula.
    pub formula: String,
    /// Amount, mol.
    pub amount: f64,
    /// Volume at the temperature asked for, L.
    pub litres: f64,
    /// Concentration in the room at 25 °C, ppm.
    pub ppm: f64,
    /// The same, mg/m³.
    pub mass_concentration: f64,
    /// Limits in ppm with their words, the lowest first.
    pub limits: Vec<(f64, &'static str)>,
    /// Air that thins it to the lowest limit, m³.
    pub thinning_air: Option<f64>,
    /// Time to air the room down to the lowest limit, min, where air changes are given.
    pub airing: Option<f64>,
}

/// A vessel swept with inert gas.
#[derive(Clone, Debug, PartialEq)]
pub struct SweepAnswer {
    /// Volume of the vessel, L.
    pub volume: f64,
    /// Volumes swept so far.
    pub swept: Option<f64>,
    /// Oxygen left after those, %.
    pub oxygen_left: Option<f64>,
    /// Volumes needed.
    pub needed: f64,
    /// Oxygen aimed at, %.
    pub target: f64,
    /// Time needed, min, where the flow is given.
    pub minutes: Option<f64>,
}
