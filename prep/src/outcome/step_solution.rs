//! What the tables of solutions say of a wet step.

use super::{Figure, Interval};

/// What a step's solution is expected to do; every figure is derived, none was measured.
#[derive(Clone, Debug, PartialEq)]
pub struct StepSolution {
    /// °C.
    pub temperature: f64,
    /// Expected pH.
    pub ph: Option<Figure>,
    /// How pH follows each substance: name, change for a tenth more of it.
    pub ph_follows: Vec<(String, f64)>,
    /// What the uncertainty of pH is made of.
    pub ph_causes: MadeOf,
    /// What brings it to the wanted pH.
    pub dose: Option<StepDose>,
    /// Activity model, in words.
    pub model: &'static str,
    /// Whether the model holds there; figures are estimates otherwise.
    pub within: bool,
    /// What stays dissolved of each written solid.
    pub stays: Vec<StaysDissolved>,
    /// Each ion with what is dissolved of it, mg per kg of water.
    pub left: Vec<(String, f64)>,
    /// What may fall out beside the written solids or in their place and is not in the books.
    pub beside: Vec<Unbooked>,
    /// Foreign solids beside the written ones that are in the books.
    pub foreign: Vec<ForeignSolid>,
    /// What one wash dissolves of the cake at most: solid, %.
    pub washed: Vec<(String, Figure)>,
    /// Crystals that separate.
    pub crops: Vec<ExpectedCrop>,
    /// Substances, or a reason, for which the tables have nothing.
    pub unknown: Vec<String>,
    /// Citations of the constants.
    pub sources: Vec<String>,
}

/// Standard uncertainty of a derived figure by its causes, in the unit of the figure; together they add in quadrature.
pub type MadeOf = Vec<(&'static str, f64)>;

/// A solid that may fall out beside the written ones or in their place and is not in the books.
#[derive(Clone, Debug, PartialEq)]
pub struct Unbooked {
    /// The solid.
    pub solid: String,
    /// Most of it, with all that falls out within hours, g.
    pub grams: f64,
    /// Written solid whose metal it takes, if it does.
    pub form_of: Option<String>,
    /// What lets the books hold it.
    pub by: Booking,
}

/// What lets the books hold a solid that they leave out.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Booking {
    /// A share under `beside` of the step.
    Beside,
    /// Its name under `may_hold` where the written solid is dried.
    MayHold,
    /// It is named there: the account decides.
    Named,
}

impl Booking {
    /// The word in JSON.
    #[must_use]
    pub const fn word(self) -> &'static str {
        match self {
            Self::Beside => "beside",
            Self::MayHold => "may_hold",
            Self::Named => "named",
        }
    }
}

/// A foreign solid beside the written ones.
#[derive(Clone, Debug, PartialEq)]
pub struct ForeignSolid {
    /// The solid.
    pub solid: String,
    /// What is expected of it, derived; none where the file states its share.
    pub amount: Option<Figure>,
    /// How it follows each substance: name, change for a tenth more of it, g.
    pub follows: Vec<(String, f64)>,
    /// What its uncertainty is made of.
    pub causes: MadeOf,
    /// How it is made of what is dissolved.
    pub equation: String,
}

/// A foreign solid in the books of an account.
#[derive(Clone, Debug, PartialEq)]
pub struct FellOut {
    /// Step in which it falls out.
    pub step: String,
    /// The solid.
    pub solid: String,
    /// What the tables of solutions expect, derived; none where the file states its share.
    pub expected: Option<Figure>,
    /// What the account has of it, all evidence considered, g.
    pub found: Interval,
    /// Whether the readings tell more of it than was known beforehand.
    pub told: bool,
    /// How it is made of what is dissolved.
    pub equation: String,
}

/// What brings a step to the pH its author wants.
#[derive(Clone, Debug, PartialEq)]
pub struct StepDose {
    /// Reagent.
    pub reagent: String,
    /// pH wanted.
    pub to_ph: f64,
    /// What is planned of it, g of the pure substance.
    pub planned: f64,
    /// What it takes, g of the pure substance.
    pub needed: Figure,
    /// How that follows each substance: name, change for a tenth more of it, g.
    pub follows: Vec<(String, f64)>,
    /// What its uncertainty is made of.
    pub causes: MadeOf,
}

/// What stays dissolved of a solid that falls out.
#[derive(Clone, Debug, PartialEq)]
pub struct StaysDissolved {
    /// The solid.
    pub solid: String,
    /// Share of it, %.
    pub share: Figure,
    /// Whether the ledger takes it as the prior of the conversion.
    pub taken: bool,
    /// How it follows each substance: name, factor for a tenth more of it.
    pub follows: Vec<(String, f64)>,
    /// What its uncertainty is made of.
    pub causes: MadeOf,
}

/// A crop by the table of solubilities.
#[derive(Clone, Debug, PartialEq)]
pub struct ExpectedCrop {
    /// The crystals.
    pub crystals: String,
    /// Temperature at which they are collected, °C.
    pub at: f64,
    /// Share of the salt that separates, %; none where the liquor is not saturated.
    pub share: Option<Figure>,
    /// Change of that share for a degree more, %.
    pub per_degree: f64,
    /// Water that the crystals take along, g.
    pub takes: f64,
    /// Water to be driven off before anything separates, g.
    pub too_much_water: f64,
}
