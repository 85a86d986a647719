//! What is in a solution, and what it takes to change it.

use super::{Figure, Finding, Interval};

/// A dissolved species.
#[derive(Clone, Debug, PartialEq)]
pub struct SolutionSpecies {
    /// Formula with charge.
    pub species: String,
    /// mol per kg of water.
    pub molality: f64,
    /// Activity coefficient.
    pub activity_coefficient: f64,
}

/// A solid that may be or is there.
#[derive(Clone, Debug, PartialEq)]
pub struct SolutionSolid {
    /// Formula.
    pub solid: String,
    /// Name of the form, empty where there is none.
    pub name: &'static str,
    /// "fresh", "aged", "slow" or "salt".
    pub form: &'static str,
    /// Whether it was allowed to form.
    pub allowed: bool,
    /// log₁₀ of ion product over constant.
    pub saturation_index: f64,
    /// Amount, mol.
    pub amount: f64,
    /// Mass, g.
    pub mass: f64,
}

/// A gas held over the solution.
#[derive(Clone, Debug, PartialEq)]
pub struct SolutionGas {
    /// Formula.
    pub gas: String,
    /// Partial pressure, bar.
    pub pressure: f64,
    /// Amount taken up, mol; negative where it is given off.
    pub taken_up: f64,
}

/// What is left of an element or ligand in solution.
#[derive(Clone, Debug, PartialEq)]
pub struct SolutionResidue {
    /// The ion it is reckoned as.
    pub master: String,
    /// In all, mol.
    pub total: f64,
    /// Dissolved, mol.
    pub dissolved: f64,
    /// Dissolved, mg per kg of water.
    pub mass_per_water: f64,
}

/// How activities were reckoned.
#[derive(Clone, Debug, PartialEq)]
pub struct SolutionModel {
    /// "association" or "pitzer".
    pub model: &'static str,
    /// In words.
    pub name: &'static str,
    /// Largest ionic strength at which it is to be used, mol/kg.
    pub limit: f64,
    /// Whether the solution is within that, and no parameter is lacking.
    pub within: bool,
    /// Why the other one was not taken.
    pub why_not: Option<String>,
    /// Pairs of ions without a parameter, with the smaller molality.
    pub lacking: Vec<(String, String, f64)>,
}

/// A dose of acid or base.
#[derive(Clone, Debug, PartialEq)]
pub struct SolutionDose {
    /// Reagent.
    pub reagent: String,
    /// pH before and wanted.
    pub from_ph: f64,
    /// pH wanted.
    pub to_ph: f64,
    /// Amount, mol.
    pub amount: f64,
    /// Mass of the pure reagent, g.
    pub mass: Interval,
    /// Volume or mass of it as sold, where its strength was given.
    pub as_sold: Option<Interval>,
    /// Volume of that mass, mL, where the density is tabled.
    pub as_sold_volume: Option<f64>,
    /// What the dose is used up by, mol, the largest first.
    pub takes: Vec<(String, f64)>,
    /// Standard uncertainty of the mass by its causes, g.
    pub causes: Vec<(&'static str, f64)>,
    /// What the free hydrogen ion alone would ask for, g.
    pub naive: f64,
    /// Points of the curve: g of reagent, pH.
    pub curve: Vec<(f64, f64)>,
    /// Standard uncertainty of pH at each of them, by constants and activity model; empty where none was asked for.
    pub curve_uncertainty: Vec<f64>,
    /// Standard uncertainty of a reading of the meter, pH.
    pub meter: f64,
}

/// Where a metal starts to fall out and where it is out, as bands over constants and age of the solid.
#[derive(Clone, Debug, PartialEq)]
pub struct SolutionWindow {
    /// The ion.
    pub master: String,
    /// Solids that come first.
    pub solids: Vec<String>,
    /// pH of the first solid, least and most.
    pub start: Option<(f64, f64)>,
    /// pH at which 99.9 % is out, least and most.
    pub done: Option<(f64, f64)>,
    /// Smallest dissolved share, with the pH there, by the most soluble constants.
    pub least: Option<(f64, f64)>,
    /// What of the other metals is out by then: ion, %, least and most.
    pub co_loss: Vec<(String, f64, f64)>,
    /// What is dissolved over pH, mg per kg of water: fresh solids by the most soluble constants, aged ones by the least.
    pub courses: [Vec<(f64, f64)>; 2],
}

/// The best excess of a precipitant that also binds what it precipitates.
#[derive(Clone, Debug, PartialEq)]
pub struct SolutionExcess {
    /// The precipitant.
    pub reagent: String,
    /// The ion to be taken out.
    pub master: String,
    /// Best amount, mol.
    pub amount: f64,
    /// The same in g.
    pub mass: f64,
    /// Dissolved then, mg per kg of water.
    pub left: f64,
    /// Ion of the precipitant that takes it out.
    pub ligand: String,
    /// Where the first solid comes, as a band over constants and age of the solid.
    pub start: Option<Onset>,
    /// Where 99.9 % is out.
    pub done: Option<Onset>,
    /// Whether more than the best amount takes some of it back, by more than a hundredth.
    pub takes_back: bool,
    /// Other amounts: times the best, mol, mg per kg of water left.
    pub others: Vec<(f64, f64, f64)>,
    /// Over the amount of the precipitant: mol, mg per kg of water left.
    pub course: Vec<(f64, f64)>,
}

/// Where something happens while a precipitant is added: least and most.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Onset {
    /// Precipitant in all, mol.
    pub amount: (f64, f64),
    /// Its ion free in solution, mol per kg of water.
    pub free: (f64, f64),
}

/// The strength of a solution of one substance, counted in every way.
#[derive(Clone, Debug, PartialEq)]
pub struct SolutionStrength {
    /// Solute without hydrate water.
    pub solute: String,
    /// % w/w.
    pub mass_percent: f64,
    /// g/mL at 20 °C.
    pub density: f64,
    /// % w/v: g in 100 mL.
    pub per_volume: f64,
    /// mol/L.
    pub molarity: f64,
    /// mol per kg of water.
    pub molality: f64,
    /// How a weaker one is made of it.
    pub dilution: Option<SolutionDilution>,
}

/// How a weaker solution is made.
#[derive(Clone, Debug, PartialEq)]
pub struct SolutionDilution {
    /// Volume wanted, L.
    pub volume: f64,
    /// Molarity wanted, mol/L.
    pub molarity: f64,
    /// Of the stronger one, mL and g.
    pub take: (f64, f64),
    /// Water, g.
    pub water: f64,
    /// Heat given off, kJ, negative where it cools; none where no heat is tabled.
    pub heat: Option<f64>,
    /// Rise of temperature if it is poured at once, K.
    pub rise: Option<f64>,
    /// Whether heat and rise are bounds: those of the pure substance in much water.
    pub at_most: bool,
}

/// A recorded titration curve with the computed one laid on it.
#[derive(Clone, Debug, PartialEq)]
pub struct RecordedCurve {
    /// Acid whose amount was looked for.
    pub acid: String,
    /// Its amount in all, mol; below zero where base is there instead.
    pub amount: f64,
    /// Standard uncertainty by readings and meter, mol.
    pub standard_uncertainty: f64,
    /// The same as mass.
    pub mass: Interval,
    /// mol per kg of water.
    pub per_water: f64,
    /// Error that the readings seem to share, pH.
    pub offset: f64,
    /// χ² for each degree of freedom.
    pub strain: f64,
    /// Reagent.
    pub reagent: String,
    /// g of reagent, pH read, pH computed with the shared error.
    pub points: Vec<(f64, f64, f64)>,
    /// The computed curve with the shared error: g of reagent, pH.
    pub curve: Vec<(f64, f64)>,
}

/// A field of a potential-pH diagram.
#[derive(Clone, Debug, PartialEq)]
pub struct PotentialField {
    /// The form that is stable there.
    pub form: String,
    /// Whether it is a solid.
    pub solid: bool,
    /// Corners in order: pH, V.
    pub corners: Vec<(f64, f64)>,
}

/// A potential-pH diagram.
#[derive(Clone, Debug, PartialEq)]
pub struct PotentialPh {
    /// Element.
    pub element: String,
    /// Its dissolved total, mol per kg of water.
    pub total: f64,
    /// Other ions, mol per kg of water.
    pub beside: Vec<(String, f64)>,
    /// Fields.
    pub fields: Vec<PotentialField>,
    /// Line below which water gives hydrogen of one bar: pH, V.
    pub hydrogen: [(f64, f64); 2],
    /// Line above which it gives oxygen.
    pub oxygen: [(f64, f64); 2],
    /// pH of the solution.
    pub ph: f64,
    /// Its potential against the standard hydrogen electrode, V, where it is given or two oxidation states set it.
    pub potential: Option<f64>,
    /// The two that set it.
    pub from_couple: Option<String>,
    /// What is stable at that point.
    pub form: Option<String>,
    /// At that pH: from which potential on, V, what is stable.
    pub ladder: Vec<(f64, String)>,
}

/// An oxidation state of an element.
#[derive(Clone, Debug, PartialEq)]
pub struct SolutionState {
    /// Element.
    pub element: String,
    /// The ion or solid that stands for the state, with its complexes and salts.
    pub state: String,
    /// Share of the element in it.
    pub share: f64,
    /// In it, mol of the element.
    pub amount: f64,
}

/// Oxidation states in balance with one another.
#[derive(Clone, Debug, PartialEq)]
pub struct SolutionCouples {
    /// Potential against the standard hydrogen electrode, V.
    pub potential: f64,
    /// Its standard uncertainty where it was found, V.
    pub standard_uncertainty: Option<f64>,
    /// Whether it was stated; else it is that at which electrons balance.
    pub stated: bool,
    /// States, those of an element together, the largest share first.
    pub states: Vec<SolutionState>,
    /// How it was reckoned, and what that leaves out.
    pub model: &'static str,
}

/// A solution read and solved.
#[derive(Clone, Debug, PartialEq)]
pub struct SolutionAnswer {
    /// What was put in, mol.
    pub substances: Vec<(String, f64)>,
    /// °C.
    pub temperature: f64,
    /// Liquid water in the end, kg.
    pub water: f64,
    /// pH, as an activity.
    pub ph: Figure,
    /// mol/kg.
    pub ionic_strength: f64,
    /// Activity of water.
    pub water_activity: f64,
    /// How activities were reckoned.
    pub model: SolutionModel,
    /// "solved", "almost" or why not.
    pub status: &'static str,
    /// Largest relative error of a balance.
    pub residual: f64,
    /// Net charge over all charges.
    pub charge: f64,
    /// Species, the most abundant first.
    pub species: Vec<SolutionSpecies>,
    /// Solids, those present first, then by saturation.
    pub solids: Vec<SolutionSolid>,
    /// Gases.
    pub gases: Vec<SolutionGas>,
    /// What is left of each ion.
    pub residues: Vec<SolutionResidue>,
    /// Ion that was added or taken away to meet a given pH: name, mol.
    pub balance: Option<(String, f64)>,
    /// The dose.
    pub dose: Option<SolutionDose>,
    /// Windows.
    pub windows: Vec<SolutionWindow>,
    /// Best excess.
    pub excess: Option<SolutionExcess>,
    /// Strength, where one substance of tabled density is dissolved.
    pub strength: Option<SolutionStrength>,
    /// A recorded curve.
    pub recorded: Option<RecordedCurve>,
    /// Potential-pH diagrams, one for each element asked for.
    pub potential: Vec<PotentialPh>,
    /// Oxidation states that follow from one another; where there are none, all are held apart.
    pub couples: Option<SolutionCouples>,
    /// Where constants come from.
    pub sources: Vec<String>,
    /// Findings.
    pub findings: Vec<Finding>,
}
