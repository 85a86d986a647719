//! What did the author write? A preparation with every name and number understood.
//!
//! Masses are in kg, fractions from 0 to 1; each value that a finding may point at keeps its place in the
//! file. Nothing here is computed: that a lot exists or a reaction closes is for the check that follows.

mod series;

pub use crate::action::{Action, Atmosphere};
use crate::bench_test::BenchTest;
use chem::reaction::Reaction;
use chem::{Element, Formula, Species, SpeciesPattern};
pub use series::Series;
use std::ops::Range;
use std::sync::Arc;

/// Place in the file, bytes.
pub type Span = Range<usize>;

/// A value and where it stands.
#[derive(Clone, Debug, PartialEq)]
pub struct Spanned<T> {
    /// The value.
    pub value: T,
    /// Where it stands.
    pub span: Span,
}

/// What is known of a number: the shape of its prior.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Knowledge {
    /// Taken as exact.
    Exact(f64),
    /// A value with its standard uncertainty.
    Normal {
        /// Value.
        value: f64,
        /// Standard uncertainty.
        standard_uncertainty: f64,
    },
    /// Between two bounds, nothing preferred.
    Between {
        /// Lower bound.
        low: f64,
        /// Upper bound.
        high: f64,
    },
    /// A positive number whose middle 90 % lie between two values, and which may be nothing.
    Usually {
        /// 5 % point.
        low: f64,
        /// 95 % point.
        high: f64,
    },
    /// A non-negative number of which only the mean is known.
    About(f64),
}

impl Knowledge {
    /// Product with an independent positive factor. A range stays a range where the factor is five times surer;
    /// otherwise relative uncertainties add in squares, ranges as rectangles.
    #[must_use]
    pub fn times(self, factor: Self) -> Self {
        match (self, factor) {
            (Self::Exact(a), Self::Exact(b)) => return Self::Exact(a * b),
            (Self::Between { low, high }, _) if factor.relative() < 0.2 * self.relative() => {
                return Self::Between { low: low * factor.central(), high: high * factor.central() };
            }
            (_, Self::Between { .. }) if self.relative() < 0.2 * factor.relative() => return factor.times(self),
            _ => {}
        }
        let value = self.central() * factor.central();
        let relative = self.relative().hypot(factor.relative());
        Self::Normal { value, standard_uncertainty: value.abs() * relative }
    }

    /// Relative standard uncertainty.
    fn relative(self) -> f64 {
        let u = match self {
            Self::Exact(_) => 0.0,
            Self::Normal { standard_uncertainty, .. } => standard_uncertainty,
            Self::Between { low, high } => (high - low) / 12f64.sqrt(),
            // Two standard deviations of the logarithm span 3.29.
            Self::Usually { low, high } => (high / low).ln() / 3.29 * self.central(),
            Self::About(mean) => mean,
        };
        if self.central() == 0.0 { 0.0 } else { u / self.central().abs() }
    }

    /// Bounds: of a range, or two standard uncertainties about a value.
    #[must_use]
    pub fn bounds(self) -> (f64, f64) {
        match self {
            Self::Exact(value) => (value, value),
            Self::Normal { value, standard_uncertainty: u } => (value - 2.0 * u, value + 2.0 * u),
            Self::Between { low, high } | Self::Usually { low, high } => (low, high),
            Self::About(mean) => (0.0, 3.0 * mean),
        }
    }

    /// A representative value.
    #[must_use]
    pub fn central(self) -> f64 {
        match self {
            Self::Exact(value) | Self::Normal { value, .. } | Self::About(value) => value,
            Self::Between { low, high } => 0.5 * (low + high),
            Self::Usually { low, high } => (low * high).sqrt(),
        }
    }
}

/// What is to be made.
#[derive(Clone, Debug, PartialEq)]
pub struct Target {
    /// Substance with its phase.
    pub substance: Species,
    /// Mass wanted, kg.
    pub amount: Option<f64>,
    /// Where it is stated.
    pub span: Span,
}

/// The kinds of foreign matter.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum ForeignKind {
    /// Dissolves, survives ignition.
    SolublePermanent,
    /// Dissolves, burns.
    SolubleCombustible,
    /// Stays on the filter, survives ignition.
    InsolublePermanent,
    /// Stays on the filter, burns.
    InsolubleCombustible,
}

impl ForeignKind {
    /// All kinds with their words.
    pub const ALL: [(Self, &'static str); 4] = [
        (Self::SolublePermanent, "soluble"),
        (Self::SolubleCombustible, "soluble combustible"),
        (Self::InsolublePermanent, "insoluble"),
        (Self::InsolubleCombustible, "combustible"),
    ];

    /// The kind of this word.
    #[must_use]
    pub fn from_word(word: &str) -> Option<Self> {
        Self::ALL.iter().find(|(_, known)| *known == word.trim()).map(|(kind, _)| *kind)
    }
}

/// A bottle, bag or box on the shelf.
#[derive(Clone, Debug, PartialEq)]
pub struct Supply {
    /// Name.
    pub name: Spanned<String>,
    /// What the label says.
    pub label: String,
    /// Substances it may hold; several are an unknown mix.
    pub holds: Vec<Spanned<Species>>,
    /// Mass fraction of those substances together.
    pub assay: Knowledge,
    /// Whether the assay was stated.
    pub assay_stated: bool,
    /// What the rest is; unknown if not stated.
    pub rest: Option<ForeignKind>,
    /// Whether it is a solution: the rest is water.
    pub solution: bool,
    /// What it took up on the shelf, each as a fraction of what is left beside the ones before.
    pub took_up: Vec<(Spanned<Species>, Knowledge)>,
    /// The lot of another preparation that it is.
    pub origin: Option<Origin>,
    /// What that lot brings along.
    pub brought: Option<Arc<crate::evaluate::Brought>>,
    /// Whether it is water whose hardness is stated; it then holds that as dissolved calcium carbonate.
    pub hard: bool,
    /// Whether the label counts its content by the unit.
    pub by_unit: bool,
    /// What is found in such goods as a share of what the label states; `assay` includes it.
    pub of_label: Option<Knowledge>,
    /// How it may be measured other than by mass.
    pub measure: Measure,
    /// What it costs.
    pub price: Option<Price>,
    /// What was in the bottle before this preparation.
    pub left: Option<Spanned<Amount>>,
    /// When it was opened, as written.
    pub opened: Option<String>,
}

/// How an amount was stated.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum By {
    /// By mass, kg.
    Mass,
    /// By volume, m³.
    Volume,
    /// By counting units.
    Count,
}

/// An amount of a supply as stated, with its mass.
#[derive(Clone, Debug, PartialEq)]
pub struct Amount {
    /// How it was stated.
    pub by: By,
    /// The figure in the unit of `by`.
    pub figure: Knowledge,
    /// Its mass, kg.
    pub mass: Knowledge,
    /// As written.
    pub text: String,
}

/// A currency of the table.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Currency {
    /// Alphabetic code, or a sign that stands for several.
    pub code: &'static str,
    /// Decimals of its smaller unit.
    pub decimals: u8,
}

/// What is bought: a pack and its price.
#[derive(Clone, Debug, PartialEq)]
pub struct Price {
    /// What the price is for.
    pub pack: Amount,
    /// Price of a pack, in the currency.
    pub amount: f64,
    /// Its currency.
    pub currency: Currency,
    /// As written.
    pub text: Spanned<String>,
}

/// How long a step keeps hands busy, from its beginning.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub enum Attended {
    /// As long as it lasts.
    #[default]
    All,
    /// This long, s.
    For(Knowledge),
}

/// How long a step takes.
#[derive(Clone, Debug, PartialEq)]
pub struct Time {
    /// Duration, s.
    pub duration: Knowledge,
    /// How much of it needs hands.
    pub attended: Attended,
    /// Duration as written.
    pub text: String,
}

/// A lot of another preparation.
#[derive(Clone, Debug, PartialEq)]
pub struct Origin {
    /// File of that preparation, as seen from this one.
    pub file: Spanned<String>,
    /// Lot.
    pub lot: Spanned<String>,
}

/// How a supply may be measured other than by mass.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct Measure {
    /// Density, kg/m³.
    pub density: Option<Knowledge>,
    /// Mean mass of one unit (tablet, lozenge), kg.
    pub unit: Option<Knowledge>,
}

/// A balance.
#[derive(Clone, Debug, PartialEq)]
pub struct Instrument {
    /// Name.
    pub name: Spanned<String>,
    /// Step of the display, kg.
    pub resolution: f64,
    /// Standard deviation of displayed figures, kg.
    pub repeatability: f64,
    /// Standard uncertainty of the slope, relative.
    pub slope: f64,
    /// Standard uncertainty of the curvature, kg at half load.
    pub curvature: f64,
    /// Largest load, kg.
    pub capacity: f64,
    /// Where the values come from that the file does not state.
    pub sources: Vec<&'static str>,
}

/// A flask, pipette, burette or cylinder.
#[derive(Clone, Debug, PartialEq)]
pub struct Ware {
    /// Name.
    pub name: Spanned<String>,
    /// Kind of ware.
    pub kind: String,
    /// Volume at its mark or its highest division, m³.
    pub capacity: f64,
    /// Largest permitted error, m³.
    pub error: f64,
    /// Source key of that error.
    pub source: &'static str,
}

/// A volume read off ware.
#[derive(Clone, Debug, PartialEq)]
pub struct VolumeRead {
    /// The figure, m³.
    pub figure: f64,
    /// Half its last digit as a rectangle, m³.
    pub rounding: f64,
    /// The mass it stands for, kg; `None` until the ware and the density are known.
    pub mass: Option<Knowledge>,
    /// As written.
    pub text: String,
    /// Where it stands.
    pub span: Span,
}

/// A crucible, dish or bottle that is weighed with its contents.
#[derive(Clone, Debug, PartialEq)]
pub struct Vessel {
    /// Name.
    pub name: Spanned<String>,
    /// Mass when empty, kg, if known from earlier.
    pub tare: Option<Spanned<Knowledge>>,
    /// Volume up to the brim or its highest mark, m³.
    pub capacity: Option<f64>,
}

/// How much is taken.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum TakeAmount {
    /// Everything.
    All,
    /// A mass, kg.
    Mass(Knowledge),
}

/// One thing a step takes.
#[derive(Clone, Debug, PartialEq)]
pub struct Take {
    /// Lot or supply.
    pub source: Spanned<String>,
    /// How much.
    pub amount: Spanned<TakeAmount>,
    /// The same with the figure as stated, for stock and money.
    pub stated: Option<Amount>,
    /// As written, for the procedure.
    pub text: String,
}

/// Which part of a step's result a lot is.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Part {
    /// Everything.
    All,
    /// What stays on the filter.
    Solids,
    /// What runs through.
    Solution,
    /// What a portion left.
    Rest,
    /// A portion of this mass, kg.
    Mass(Knowledge),
}

/// One lot that a step gives.
#[derive(Clone, Debug, PartialEq)]
pub struct Give {
    /// Name of the lot.
    pub lot: Spanned<String>,
    /// Which part.
    pub part: Spanned<Part>,
    /// As written, for the procedure.
    pub text: String,
}

/// Washing: a number of equal portions.
#[derive(Clone, Debug, PartialEq)]
pub struct Wash {
    /// Number of portions.
    pub times: usize,
    /// Mass of each, kg.
    pub mass: Knowledge,
    /// As written.
    pub text: String,
    /// Where it stands.
    pub span: Span,
}

/// A trace that a lot may hold beside what is listed.
#[derive(Clone, Debug, PartialEq)]
pub struct Trace {
    /// Solid.
    pub species: Spanned<Species>,
    /// Largest mass fraction.
    pub bound: f64,
}

/// What is lost in a step.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Loss {
    /// Film, kg.
    pub film: Option<Knowledge>,
    /// Fraction.
    pub fraction: Option<Knowledge>,
}

/// One figure read off a balance, or off volumetric ware.
#[derive(Clone, Debug, PartialEq)]
pub struct Reading {
    /// Identifier.
    pub id: Spanned<String>,
    /// Displayed figure, kg; `None` while it is still to be read.
    pub weigh: Option<Spanned<f64>>,
    /// Volume of a charge, read off ware instead of a balance.
    pub volume: Option<VolumeRead>,
    /// As written.
    pub text: String,
    /// The weighings before it, where the lot was weighed until its mass stayed.
    pub series: Option<Series>,
    /// Lot on the pan.
    pub of: Option<Spanned<String>>,
    /// Supply whose charge this is.
    pub charge: Option<Spanned<String>>,
    /// Vessel on the pan.
    pub vessel: Option<Spanned<String>>,
    /// Balance.
    pub with: Spanned<String>,
    /// When.
    pub at: Option<String>,
    /// Name of the taring whose zero it shares.
    pub zeroed: Option<String>,
    /// Reading that this one corrects.
    pub corrects: Option<Spanned<String>>,
    /// Why.
    pub reason: Option<String>,
    /// What was seen beside the figure.
    pub note: Option<String>,
}

/// What a test found.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Found {
    /// A figure in SI units, with its standard uncertainty where one is stated.
    Figure {
        /// Value.
        value: f64,
        /// Standard uncertainty.
        standard_uncertainty: Option<f64>,
    },
    /// A yes or a no.
    Seen(bool),
}

/// A test of a portion of a lot, by its result.
#[derive(Clone, Debug, PartialEq)]
pub struct Determination {
    /// Identifier.
    pub id: Spanned<String>,
    /// Which test.
    pub test: &'static BenchTest,
    /// Lot.
    pub of: Spanned<String>,
    /// Element that is counted, and the formula in which it is stated if not as itself.
    pub counted_as: Option<(Element, Option<Formula>)>,
    /// What was found; `None` while it is still to be made.
    pub found: Option<Spanned<Found>>,
    /// As written.
    pub text: String,
    /// When.
    pub at: Option<String>,
    /// Test that this one corrects.
    pub corrects: Option<Spanned<String>>,
    /// Why.
    pub reason: Option<String>,
    /// What was seen beside the result.
    pub note: Option<String>,
}

/// One step.
#[derive(Clone, Debug, PartialEq)]
pub struct Step {
    /// Name.
    pub name: Spanned<String>,
    /// Action.
    pub action: Spanned<Action>,
    /// Whether the action was understood; if not, the step only keeps its names known, so that one slip is
    /// reported once.
    pub understood: bool,
    /// Whether the step is a test of a portion.
    pub test: bool,
    /// What it takes.
    pub take: Vec<Take>,
    /// Reactions in order.
    pub reactions: Vec<Spanned<Reaction>>,
    /// Conversion of the limiting reagent.
    pub conversion: Option<Knowledge>,
    /// Foreign solids that fall out beside, each with its share of what could.
    pub beside: Vec<(Spanned<Species>, Knowledge)>,
    /// What it gives.
    pub gives: Vec<Give>,
    /// Liquor held by the cake, kg.
    pub held_liquor: Option<Knowledge>,
    /// Fraction of the solids that passes the filter.
    pub passes: Option<Knowledge>,
    /// Washes.
    pub wash: Option<Wash>,
    /// How it is done, where losses depend on it ("suction").
    pub by: Option<Spanned<String>>,
    /// Losses stated.
    pub loss: Loss,
    /// Foreign matter that comes in.
    pub pick_up: Vec<(ForeignKind, Knowledge)>,
    /// Vessel it is done in.
    pub vessel: Option<Spanned<String>>,
    /// How long it takes.
    pub time: Option<Time>,
    /// Temperature as written.
    pub temperature: Option<String>,
    /// What the lot is heated in.
    pub atmosphere: Atmosphere,
    /// The atmosphere as written.
    pub atmosphere_text: Option<String>,
    /// Crystals that separate.
    pub crystals: Vec<Spanned<Species>>,
    /// pH that it is to be brought to.
    pub ph: Option<Spanned<f64>>,
    /// Water driven off, kg.
    pub removes: Option<Knowledge>,
    /// Species the lot may hold afterwards.
    pub may_hold: Vec<Spanned<SpeciesPattern>>,
    /// Where the file asks for what equilibrium says it may hold.
    pub by_equilibrium: Option<Span>,
    /// Formulas under which people would quote the yield.
    pub quote_as: Vec<Spanned<Species>>,
    /// Traces.
    pub trace: Vec<Trace>,
    /// Cautions written by the author.
    pub cautions: Vec<String>,
    /// Remarks.
    pub note: Option<String>,
    /// Readings.
    pub readings: Vec<Reading>,
    /// Tests.
    pub determinations: Vec<Determination>,
    /// Where the step begins.
    pub span: Span,
}

/// A variant to be shown beside the account.
#[derive(Clone, Debug, PartialEq)]
pub struct Supposition {
    /// In words.
    pub name: Spanned<String>,
    /// Step that it changes.
    pub step: Spanned<String>,
    /// Traces that the step's lot may hold.
    pub trace: Vec<Trace>,
}

/// A jar that takes waste.
#[derive(Clone, Debug, PartialEq)]
pub struct WasteJar {
    /// Name.
    pub name: Spanned<String>,
    /// What it holds already.
    pub holds: Vec<Spanned<Species>>,
    /// Lots that go into it.
    pub takes: Vec<Spanned<String>>,
    /// The user's own local limits: ion without charge, mg/L.
    pub limits: Vec<(String, f64)>,
}

/// A finding of the screen that is accepted with a reason.
#[derive(Clone, Debug, PartialEq)]
pub struct Accept {
    /// Code of the finding.
    pub finding: Spanned<String>,
    /// Step; everywhere without.
    pub step: Option<Spanned<String>>,
    /// Why.
    pub reason: String,
}

/// What only the author can say, for the report.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct AuthorWords {
    /// Who did it.
    pub author: Option<String>,
    /// Which run it is, and what became of the others.
    pub run: Option<String>,
    /// What it is for, and who did it before.
    pub purpose: Option<String>,
    /// What would be done otherwise another time.
    pub afterwards: Option<String>,
}

/// A preparation.
#[derive(Clone, Debug, PartialEq)]
pub struct Preparation {
    /// Title.
    pub title: String,
    /// Target.
    pub target: Option<Target>,
    /// What the author would say of the product, in words of the claim grammar.
    pub claim: Option<Spanned<String>>,
    /// Elements accounted for; the first carries the yields.
    pub account_for: Vec<Element>,
    /// Supplies.
    pub supplies: Vec<Supply>,
    /// Balances.
    pub instruments: Vec<Instrument>,
    /// Volumetric ware.
    pub ware: Vec<Ware>,
    /// Vessels.
    pub vessels: Vec<Vessel>,
    /// Steps.
    pub steps: Vec<Step>,
    /// Variants.
    pub suppositions: Vec<Supposition>,
    /// Volume of the room that it is done in, m³.
    pub room: Option<f64>,
    /// Jars that take waste.
    pub waste: Vec<WasteJar>,
    /// Findings of the screen that are accepted.
    pub accepted: Vec<Accept>,
    /// When it was closed: nothing more is weighed.
    pub closed: Option<String>,
    /// What only the author can say.
    pub words: AuthorWords,
    /// Losses learned from earlier preparations, in place of the defaults.
    pub own_losses: Vec<crate::losses::OwnLoss>,
    /// Planned fields in file order (path, value), for freezing.
    pub planned: Vec<(String, String)>,
    /// Hash of all that a forecast hangs on, but for the readings.
    pub foreseen: String,
    /// The text it was read from.
    pub text: String,
}

impl Preparation {
    /// Title.
    #[must_use]
    pub fn title(&self) -> &str {
        &self.title
    }

    /// The supply of this name.
    #[must_use]
    pub fn supply(&self, name: &str) -> Option<usize> {
        self.supplies.iter().position(|supply| supply.name.value == name)
    }
}

/// Name of the supply that need not be listed.
pub const WATER: &str = "water";

/// Water as it is measured by volume: what its density is at room temperature, 18 to 25 °C.
pub const WARE_WATER: Knowledge = Knowledge::Between { low: 997.0, high: 998.6 };

/// Density of water at 20 °C, kg/m³ (CIPM formula, Tanaka et al., Metrologia 38 (2001) 301).
pub const WATER_DENSITY: f64 = 998.2;
