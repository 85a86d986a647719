//! What does the program have to say? The shapes that every page, table and JSON file prints.
//!
//! An outcome holds plain values: no type of the engine, nothing to compute. Masses are in grams, amounts in
//! moles, yields in percent: the units of the bench. Field names follow the JSON contract.

mod change;
mod crystals;
mod dry;
mod entry;
mod equilibrium;
mod evidence;
mod furnace;
mod heat_and_gas;
mod history;
mod ignite;
mod record;
mod replicates;
mod resources;
mod screening;
mod series;
mod thermochemistry;

mod solution;
mod step_solution;
mod substance;
mod titrate;
mod waste;

pub use change::{Change, ChangedLot, ChangedQuote};
pub use crystals::*;
pub use dry::DryAnswer;
pub use entry::{Entry, Slip, Standing};
pub use equilibrium::*;
pub use evidence::*;
pub use furnace::*;
pub use heat_and_gas::{
    AdditionAnswer, AdiabaticAnswer, BatchAnswer, GasAnswer, GasShare, HeatAnswer, SweepAnswer, Taken,
};
pub use history::HistoryAnswer;
pub use ignite::*;
pub use record::*;
pub use replicates::{Pooling, Replicates};
pub use resources::*;
pub use screening::{Accepted, CautionText, HoldPoint, Screening, StepScreening, SubstanceHazard};
pub use series::WeighedSeries;
pub use solution::*;
pub use step_solution::*;
pub use substance::{FormRange, SubstanceAnswer};
pub use thermochemistry::{
    BalanceTemperature, GibbsCrossing, GibbsLine, GibbsLines, ReactionHeat, SpeciesHeat, TemperatureRow,
};
pub use titrate::TitrateAnswer;
pub use waste::*;

use chem::quantity::Status;

/// A single figure with what a reader must know of it.
#[derive(Clone, Debug, PartialEq)]
pub struct Figure {
    /// Value.
    pub value: f64,
    /// Standard uncertainty, if known.
    pub standard_uncertainty: Option<f64>,
    /// Unit, as printed.
    pub unit: &'static str,
    /// On what the value is counted ("anhydrous", "element Cu", "as weighed").
    pub basis: Option<String>,
    /// How it is known.
    pub status: Status,
    /// Where it comes from.
    pub sources: Vec<String>,
}

/// A distribution told in a few numbers.
#[derive(Clone, Debug, PartialEq)]
pub struct Interval {
    /// 50 % point.
    pub median: f64,
    /// Mean.
    pub mean: f64,
    /// Standard uncertainty.
    pub standard_uncertainty: f64,
    /// Lower end.
    pub low: f64,
    /// Upper end.
    pub high: f64,
    /// Probability between the ends (0.9).
    pub level: f64,
    /// 25 % point.
    pub lower_quartile: f64,
    /// 75 % point.
    pub upper_quartile: f64,
    /// Unit, as printed.
    pub unit: &'static str,
    /// On what the value is counted.
    pub basis: Option<String>,
}

/// How grave a finding is.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Severity {
    /// The input cannot be used as it stands.
    Error,
    /// A number is wrong or impossible.
    Warning,
    /// Someone could be hurt.
    Caution,
    /// Worth knowing.
    Note,
}

impl Severity {
    /// The word of the JSON contract.
    #[must_use]
    pub fn word(self) -> &'static str {
        match self {
            Self::Error => "error",
            Self::Warning => "warning",
            Self::Caution => "caution",
            Self::Note => "note",
        }
    }
}

/// One thing that would explain a finding.
#[derive(Clone, Debug, PartialEq)]
pub struct Cause {
    /// The cause in words.
    pub cause: String,
    /// How much of it is needed.
    pub needs: Option<Interval>,
    /// Its probability among the causes named, if computed.
    pub probability: Option<f64>,
    /// What it predicts for a test, by the name of the test.
    pub predicts: Vec<(&'static str, Figure)>,
}

/// Something to tell the user about the file or the chemistry.
#[derive(Clone, Debug, PartialEq)]
pub struct Finding {
    /// Stable code, for instance `unknown-unit`.
    pub code: &'static str,
    /// How grave.
    pub severity: Severity,
    /// One sentence with the numbers.
    pub message: String,
    /// Line of the file, from 1; 0 if the finding is about no line.
    pub line: usize,
    /// Column (characters), from 1; 0 if the finding is about no line.
    pub column: usize,
    /// Byte range in the file, for pointing at it.
    pub span: Option<std::ops::Range<usize>>,
    /// What would be right.
    pub hints: Vec<String>,
    /// Causes that would explain it.
    pub causes: Vec<Cause>,
}

/// Which reagent limits a step, and how surely.
#[derive(Clone, Debug, PartialEq)]
pub struct Limiting {
    /// Step.
    pub step: String,
    /// Reaction as written.
    pub reaction: String,
    /// Reagent (species) that limits.
    pub reagent: String,
    /// Probability.
    pub probability: f64,
    /// How far the reagents reach: available amount of this reagent as a percentage of what the others need.
    pub reach: Interval,
}

/// What a reading is expected to show.
#[derive(Clone, Debug, PartialEq)]
pub struct Expectation {
    /// Identifier of the reading.
    pub reading: String,
    /// What is weighed, in words ("precipitate", "residue in crucible 3").
    pub what: String,
    /// Expected figure, g; `None` for an empty vessel of unknown mass.
    pub interval: Option<Interval>,
    /// What was found, g, on the basis of the interval (above the empty vessel where that is its basis).
    pub found: Option<f64>,
    /// The figure as it was written down.
    pub displayed: Option<String>,
}

/// One step of the plan.
#[derive(Clone, Debug, PartialEq)]
pub struct PlannedStep {
    /// Name.
    pub name: String,
    /// Action ("filter").
    pub action: String,
    /// What to do, in a sentence.
    pub instruction: String,
    /// Cautions written in the file or computed, first thing to read.
    pub cautions: Vec<String>,
    /// Expected readings.
    pub expects: Vec<Expectation>,
    /// Lots the step gives, with their expected mass.
    pub gives: Vec<(String, Interval)>,
    /// Gases that leave, g each.
    pub vents: Vec<(String, Interval)>,
    /// Vessel it is done in, and how full that is.
    pub vessel: Option<FilledVessel>,
    /// What the tables of solutions say of it, where it is wet.
    pub solution: Option<StepSolution>,
}

/// One line of the weighing list.
#[derive(Clone, Debug, PartialEq)]
pub struct WeighOut {
    /// Supply, as sold.
    pub supply: String,
    /// Label.
    pub label: String,
    /// Step that charges it.
    pub step: String,
    /// Amount, g.
    pub amount: Interval,
    /// Substances that it brings, mol each: hydrates of one salt together, under the salt where there are several.
    pub brings: Vec<(String, Interval)>,
    /// Accounted elements that it brings, g each.
    pub elements: Vec<(String, Interval)>,
}

/// The feed for a wanted product.
#[derive(Clone, Debug, PartialEq)]
pub struct Feed {
    /// What is wanted ("25 g CuO(s)").
    pub target: String,
    /// Supply that is scaled ("bluestone").
    pub supply: String,
    /// Feed for the wanted chance, g: `mean` for even odds; `high` for `chance`.
    pub amount: Interval,
    /// Chance of reaching the target with `amount.high`.
    pub chance: f64,
    /// Feed that gives the target with that chance, g.
    pub for_chance: f64,
}

/// Water of a preparation, g.
#[derive(Clone, Debug, PartialEq)]
pub struct Water {
    /// Charged as such.
    pub charged: Interval,
    /// Set free or carried in by hydrates of the supplies.
    pub from_hydrates: Interval,
    /// Both together.
    pub total: Interval,
}

/// A plan.
#[derive(Clone, Debug, PartialEq)]
pub struct Plan {
    /// Title of the preparation.
    pub title: String,
    /// Limiting reagents, most probable first within each step.
    pub limiting: Vec<Limiting>,
    /// Water balance.
    pub water: Water,
    /// Feed for the target, if one is stated.
    pub feed: Option<Feed>,
    /// Hash of the frozen plan, if there is one.
    pub frozen: Option<String>,
    /// Steps in order.
    pub steps: Vec<PlannedStep>,
    /// Weighing list.
    pub weigh_out: Vec<WeighOut>,
    /// What the charges cost; none where nothing has a price.
    pub cost: Option<Cost>,
    /// What remains of supplies whose stock is stated.
    pub stock: Vec<StockLine>,
    /// When each step can start; none where no step has a duration.
    pub timeline: Option<Timeline>,
    /// What the screen for hazards says.
    pub screening: Screening,
    /// What goes to waste.
    pub waste: Vec<WasteStream>,
    /// Findings.
    pub findings: Vec<Finding>,
}

/// An element in a lot.
#[derive(Clone, Debug, PartialEq)]
pub struct ElementContent {
    /// Symbol.
    pub element: String,
    /// Amount, mol.
    pub amount: Interval,
    /// Mass, g.
    pub mass: Interval,
}

/// What a lot holds.
#[derive(Clone, Debug, PartialEq)]
pub struct LotAccount {
    /// Identifier (the name of the lot in the file).
    pub id: String,
    /// Name for people.
    pub name: String,
    /// Step that gives it.
    pub step: String,
    /// Mass, g.
    pub mass: Interval,
    /// Elements in it.
    pub elements: Vec<ElementContent>,
    /// Species in it, g; hydrate families by their written pattern.
    pub species: Vec<(String, Interval)>,
    /// Foreign matter, g.
    pub foreign: Interval,
    /// Extent n of each hydrate family, where one is present.
    pub hydration: Vec<(String, Interval)>,
    /// Mass of the lot as weighed, g, with the figure's uncertainty.
    pub weighed: Option<Figure>,
}

/// Where the element went: product, liquor, residue, tests, vented, lost.
#[derive(Clone, Debug, PartialEq)]
pub struct Stream {
    /// Name of the stream.
    pub name: &'static str,
    /// Mass of the element, g, by symbol.
    pub elements: Vec<(String, Interval)>,
    /// Lots in it.
    pub lots: Vec<String>,
}

/// A yield as people quote it.
#[derive(Clone, Debug, PartialEq)]
pub struct QuotedYield {
    /// Lot that was weighed.
    pub lot: String,
    /// Formula it was taken for, or how the content was found.
    pub as_formula: String,
    /// How the figure is made ("mass taken for the formula", "ignition of a portion").
    pub method: String,
    /// Mass of the element by this reckoning, g.
    pub element_mass: Figure,
    /// Yield against the label, %.
    pub percent: Figure,
    /// Why the figure cannot be true, if it cannot.
    pub doubt: Option<String>,
    /// Readings it stands on, where they are a test of a portion.
    pub readings: Vec<String>,
}

/// A yield as accounted.
#[derive(Clone, Debug, PartialEq)]
pub struct StepYield {
    /// Step.
    pub name: String,
    /// Yield of this step, %.
    pub interval: Interval,
    /// From the feed up to and with this step, %.
    pub cumulative: Interval,
}

/// Yields.
#[derive(Clone, Debug, PartialEq)]
pub struct Yields {
    /// Element they are counted in.
    pub element: String,
    /// As quoted.
    pub quoted: Vec<QuotedYield>,
    /// Overall, feed to product, %.
    pub overall: Interval,
    /// Per step on the way to the product.
    pub steps: Vec<StepYield>,
}

/// An alternative account.
#[derive(Clone, Debug, PartialEq)]
pub struct Hypothesis {
    /// Identifier.
    pub id: String,
    /// In words ("precipitate: Cu2CO3(OH)2(s) with H2O(l)").
    pub text: String,
    /// Posterior probability.
    pub probability: f64,
    /// Whether the evidence settles it: excluded or established whatever the width of the priors.
    pub decided: bool,
    /// Whether its best fit is close enough to the best of all.
    pub fits: bool,
    /// Whether it is a larger mixture that holds another one that fits.
    pub larger: bool,
    /// Strain of the best fit, χ².
    pub chi_squared: f64,
    /// Number of the group of alternatives that the readings cannot tell apart; `None` if it does not fit
    /// or is a larger mixture.
    pub group: Option<usize>,
    /// Natural logarithm of the evidence, if it was sampled.
    pub log_evidence: Option<f64>,
}

/// A calculated loss on heating beside the one observed.
#[derive(Clone, Debug, PartialEq)]
pub struct LossLevel {
    /// Lot whose portion was heated.
    pub lot: String,
    /// Residue that is assumed.
    pub residue: String,
    /// Loss observed, %.
    pub observed: Figure,
    /// Pure substances with their calculated loss, % , and their distance in standard uncertainties.
    pub levels: Vec<(String, f64, f64)>,
    /// Readings it stands on.
    pub readings: Vec<String>,
}

/// What would follow if the file allowed something else.
#[derive(Clone, Debug, PartialEq)]
pub struct Supposition {
    /// In words, from the file.
    pub text: String,
    /// The lots that the readings bear on.
    pub lots: Vec<LotAccount>,
    /// Cumulative yields up to each step, %.
    pub steps: Vec<StepYield>,
    /// Alternatives in this variant.
    pub hypotheses: Vec<Hypothesis>,
}

/// How an account was computed.
#[derive(Clone, Debug, PartialEq)]
pub struct Method {
    /// "sampled", "live view" or "refining".
    pub kind: &'static str,
    /// Forward runs made.
    pub runs: usize,
    /// Largest tail shape of the importance weights of the live view.
    pub tail: Option<f64>,
}

/// An account.
#[derive(Clone, Debug, PartialEq)]
pub struct Account {
    /// Title of the preparation.
    pub title: String,
    /// Elements accounted for.
    pub elements: Vec<String>,
    /// Lots in the order of the procedure.
    pub lots: Vec<LotAccount>,
    /// Streams, always the same six.
    pub streams: Vec<Stream>,
    /// Mass of the element charged, g.
    pub feed: Vec<(String, Interval)>,
    /// Yields.
    pub yields: Option<Yields>,
    /// Alternatives.
    pub hypotheses: Vec<Hypothesis>,
    /// Losses on heating.
    pub levels: Vec<LossLevel>,
    /// Variants asked for in the file.
    pub suppositions: Vec<Supposition>,
    /// What it cost; none where nothing has a price.
    pub cost: Option<AccountCost>,
    /// What remains of supplies whose stock is stated.
    pub stock: Vec<StockLine>,
    /// Times between readings beside the plan.
    pub timing: Vec<Timing>,
    /// Where the uncertainty of the results comes from, the main result first.
    pub budgets: Vec<Budget>,
    /// Tests of portions beside what the account makes of them.
    pub tests: Vec<TestTold>,
    /// Solids that fell out beside the written ones.
    pub foreign: Vec<FellOut>,
    /// What the author claims, held against the evidence.
    pub claim: Option<Claim>,
    /// Which test next; only in the printed account.
    pub next: Option<Next>,
    /// Lots that were weighed until their mass stayed.
    pub series: Vec<WeighedSeries>,
    /// What corrections changed, in file order.
    pub changes: Vec<Change>,
    /// Findings.
    pub findings: Vec<Finding>,
    /// How it was computed.
    pub method: Method,
}

/// A formula, taken apart.
#[derive(Clone, Debug, PartialEq)]
pub struct FormulaAnswer {
    /// The formula as understood.
    pub formula: String,
    /// Molar mass, g/mol.
    pub molar_mass: Figure,
    /// Charge number.
    pub charge: i32,
    /// Symbol, count, mass fraction.
    pub elements: Vec<(String, f64, f64)>,
    /// Mass fraction of hydrate water, if the formula has any.
    pub water_fraction: Option<f64>,
    /// Oxidation states, where they follow from the formula.
    pub oxidation_states: Vec<OxidationAnswer>,
    /// Why they do not, where they do not.
    pub no_oxidation_states: Option<String>,
}

/// The oxidation state of an element in a formula.
#[derive(Clone, Debug, PartialEq)]
pub struct OxidationAnswer {
    /// Symbol.
    pub element: String,
    /// Atoms of it in this state.
    pub count: f64,
    /// The state, or the mean over these atoms.
    pub state: f64,
    /// In words ("Fe +8/3 (mean)").
    pub text: String,
    /// Whether it is a mean over atoms that differ or may differ.
    pub is_mean: bool,
    /// Where a mean lies between two whole states: the lower, the upper, and the share of atoms in the upper.
    pub split: Option<(i64, i64, f64)>,
    /// The rule it follows from.
    pub rule: String,
}

/// A reaction, balanced.
#[derive(Clone, Debug, PartialEq)]
pub struct ReactionAnswer {
    /// The equation with its coefficients, or as understood if it has none.
    pub equation: String,
    /// Number of independent solutions.
    pub solutions: usize,
    /// Coefficients by species, negative on the left; `None` unless there is exactly one solution.
    pub coefficients: Option<Vec<(String, f64)>>,
    /// The independent solutions, where there are several.
    pub basis_reactions: Vec<Vec<(String, f64)>>,
    /// Where none balances: simple species with which it would.
    pub closures: Vec<ClosureAnswer>,
    /// Where several balance: what is left open.
    pub freedom: Option<FreedomAnswer>,
    /// Heat, entropy, Gibbs energy and equilibrium constant, where the reaction balances and its species are known.
    pub heat: Option<ReactionHeat>,
    /// Its Gibbs energy over temperature, with that of the reactions it is held against.
    pub lines: Option<GibbsLines>,
    /// Findings (what cannot close, a species on the wrong side).
    pub findings: Vec<Finding>,
}

/// Simple species that would close an equation.
#[derive(Clone, Debug, PartialEq)]
pub struct ClosureAnswer {
    /// Added on the left.
    pub left: Vec<String>,
    /// Added on the right.
    pub right: Vec<String>,
    /// The balanced equation.
    pub equation: String,
}

/// What an equation leaves open that balances in several ways.
#[derive(Clone, Debug, PartialEq)]
pub struct FreedomAnswer {
    /// Reactions with the fewest species, every one on its side: the others are mixtures of them.
    pub extreme_reactions: Vec<Vec<(String, f64)>>,
    /// The same as equations.
    pub extreme_equations: Vec<String>,
    /// Species whose amounts relative to each other, once measured, fix the rest.
    pub deciding: Vec<String>,
    /// That fact in words.
    pub would_decide: String,
}

/// One way to read a label.
#[derive(Clone, Debug, PartialEq)]
pub struct LabelExplanation {
    /// Formula of the form taken.
    pub substance: String,
    /// What it is called.
    pub names: Vec<String>,
    /// How the label's figure is taken ("as salt", "as element", "as oxide").
    pub basis: &'static str,
    /// Distance between prediction and label, %; `None` where the label gives no ratio.
    pub explains_within_percent: Option<f64>,
    /// Whether that lies inside the rounding of the printed digits.
    pub plausible: bool,
    /// Purity the goods would have if they were this form, %.
    pub implied_purity_percent: Option<f64>,
    /// Factor by which the figure differs if it is read on this basis and not as printed.
    pub misreading_factor: Option<f64>,
    /// What a later finding would have to be to rule it out.
    pub refuted_by: Option<String>,
}

/// What a label states of an element, within its printed digits.
#[derive(Clone, Debug, PartialEq)]
pub struct LabelContent {
    /// Symbol.
    pub element: String,
    /// How it is stated.
    pub basis: &'static str,
    /// Lower end.
    pub low: f64,
    /// Value.
    pub value: f64,
    /// Upper end, if there is one.
    pub high: Option<f64>,
    /// Unit as printed.
    pub unit: String,
}

/// What a label may mean.
#[derive(Clone, Debug, PartialEq)]
pub struct LabelAnswer {
    /// The label.
    pub text: String,
    /// Readings, best first.
    pub readings: Vec<LabelExplanation>,
    /// What it states of elements.
    pub contents: Vec<LabelContent>,
    /// Findings.
    pub findings: Vec<Finding>,
}
