//! From the file to a ledger: every action is a default over five primitives.
//!
//! In the order mix → react → separate → lose → pick up. A wet step dissolves the solids it is charged with
//! (hydrate water becomes solvent) unless a listed reaction names the solid itself, and its gases leave. A
//! heated step loses its water, turns what was dissolved into solids of the same formula, and then takes on
//! the composition that the chosen alternative allows, by conversions balanced from the lot's own species.
//! A portion that is weighed before and after in one vessel is not transferred, but its loss is the file's to
//! state.
//!
//! What stays dissolved of a written solid, what wash water takes up, how much of a salt crystallises and which foreign solid
//! falls out beside comes from the tables of solutions where the file does not say ([`chemistry`], [`beside`]).
//!
//! Neglected: that what is charged to a wet step may be more than dissolves.

mod beside;
mod chemistry;
mod determinations;
mod heat;
mod lose;
mod readings;
mod supplies;
mod wet;

pub(crate) use beside::{BesideRecord, Open, Source};
pub(crate) use chemistry::{CropRecord, WetRecord};
pub(crate) use determinations::{measure, outcome, soluble, sums};

use super::direct::{empty_figure, standing};
use super::draws::prior_of;
use super::table::SpeciesTable;
use crate::action::{Dissolves, Parting};
use crate::losses::{self, Usual};
use crate::model::{Action, Knowledge, Part, Preparation, Span, Step, Supposition, TakeAmount};
use chem::{Formula, Phase, Species, SpeciesPattern};
use engine::account::Evidence;
use engine::account::determination::Determination;
use engine::account::reading::{Balance, Weighing};
use engine::ledger::{Ledger, Lot, Operation, Prior, SpeciesIndex, Unknown, Value};
use std::collections::{BTreeSet, HashMap};

/// Which patterns of `may_hold` the lot of a step holds, and which hydrate families are free.
#[derive(Clone, Debug, PartialEq, Eq)]
pub(crate) struct Composition {
    /// Pattern numbers with whether the hydration of the family is free.
    pub patterns: Vec<(usize, bool)>,
}

/// One composition for each step that has `may_hold`.
pub(crate) type Alternative = Vec<Option<Composition>>;

/// What kind of lot this is.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) enum LotKind {
    /// Given by a step: everything, solids, a portion.
    Solid,
    /// Liquor of a filter.
    Liquor,
    /// Left on purpose or by its kind: films and fractions.
    Lost,
    /// Gases and water that left.
    Vent,
    /// Drawn from the air.
    Drawn,
}

/// A lot of the ledger.
#[derive(Clone, Debug)]
pub(crate) struct LotRecord {
    /// Name.
    pub name: String,
    /// Step that gives it.
    pub step: usize,
    /// Kind.
    pub kind: LotKind,
    /// Whether the file names it.
    pub named: bool,
    /// Whether a later step takes it.
    pub taken: bool,
    /// Species it may contain.
    pub contents: BTreeSet<SpeciesIndex>,
    /// Largest mass it could have without its water, kg.
    pub bound: f64,
}

/// A charge of a supply.
#[derive(Clone, Debug)]
pub(crate) struct ChargeRecord {
    /// Step.
    pub step: usize,
    /// Supply in the ledger.
    pub supply: usize,
    /// Name of the supply.
    pub name: String,
    /// Mass.
    pub mass: Value,
    /// How often it is charged (washes).
    pub times: usize,
    /// Whether it is wash water.
    pub wash: bool,
}

/// A reaction whose limiting reagent is noted.
#[derive(Clone, Debug)]
pub(crate) struct NoteRecord {
    /// Step.
    pub step: usize,
    /// Equation as written; none where the step implies it.
    pub text: Option<String>,
    /// Consumed species in order.
    pub consumed: Vec<SpeciesIndex>,
}

/// What the patterns of one step can do.
#[derive(Clone, Debug, Default)]
pub(crate) struct StepOptions {
    /// For each source species: patterns it can become or is.
    pub reach: Vec<Vec<usize>>,
    /// The pattern that stands for loose water.
    pub moisture: Option<usize>,
    /// Patterns that nothing in the lot can become.
    pub unreachable: Vec<usize>,
}

/// A weighing with the reading it comes from.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub(crate) struct ReadingPlace {
    /// Step.
    pub step: usize,
    /// Reading within the step.
    pub reading: usize,
}

/// A ledger with the names that belong to its numbers.
#[derive(Clone, Debug)]
pub(crate) struct Compiled {
    pub ledger: Ledger,
    pub balances: Vec<Balance>,
    /// Weighings that were made and stand.
    pub weighings: Vec<Weighing>,
    /// Their places in the file.
    pub places: Vec<ReadingPlace>,
    /// Tests of portions that were made and stand.
    pub determinations: Vec<Determination>,
    /// Their places in the file: step, and number within it.
    pub determined: Vec<(usize, usize)>,
    /// All tests that stand, made or not.
    pub planned_tests: Vec<((usize, usize), Determination)>,
    /// Where each unknown comes from, in words.
    pub origins: Vec<String>,
    /// All readings, made or not, as weighings (display 0 where not read).
    pub planned: Vec<(ReadingPlace, Weighing)>,
    pub lots: Vec<LotRecord>,
    pub charges: Vec<ChargeRecord>,
    pub notes: Vec<NoteRecord>,
    pub options: Vec<StepOptions>,
    /// Reagents of a reaction that its step does not hold: step, place of the reaction, species.
    pub absent: Vec<(usize, Span, SpeciesIndex)>,
    /// For each ledger supply: its number in the file (`None` for built-in water).
    pub supplies: Vec<Option<usize>>,
    /// Unknowns that stand for a usual loss, where the file says nothing: step, what, place.
    pub usual: Vec<(usize, Usual, usize)>,
    /// What the tables of solutions say of wet steps.
    pub wet: Vec<WetRecord>,
}

impl Compiled {
    /// The ledger with all readings that were taken.
    pub fn evidence(&self) -> Evidence<'_> {
        Evidence::new(&self.ledger, &self.balances, &self.weighings).and(&self.determinations)
    }

    /// Number of a named lot.
    pub fn lot(&self, name: &str) -> Option<Lot> {
        self.lots.iter().position(|l| l.named && l.name == name)
    }
}

/// Settings of a compilation.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Variation<'a> {
    /// The composition of each heated step; `None` for all that `may_hold` allows at once.
    pub alternative: Option<&'a Alternative>,
    /// A supposition of the file.
    pub supposition: Option<&'a Supposition>,
    /// Factor on the ranges of composition priors.
    pub width: f64,
    /// A reading that is taken for a slip and left out.
    pub without: Option<ReadingPlace>,
    /// Whether nothing that was weighed may enter, not even as a place to look.
    pub forecast: bool,
    /// Whether far more may be lost than usual, where the file states no loss.
    pub unusual_losses: bool,
}

impl Variation<'_> {
    /// The preparation as written, with everything that `may_hold` allows at once.
    pub const PLAIN: Variation<'static> = Variation {
        alternative: None,
        supposition: None,
        width: 1.0,
        without: None,
        forecast: false,
        unusual_losses: false,
    };

    /// The same as it stands before anything is weighed.
    pub const FORECAST: Variation<'static> = Variation { forecast: true, ..Self::PLAIN };
}

/// Builds the ledger of a preparation.
pub(crate) fn compile(preparation: &Preparation, table: &mut SpeciesTable, variation: Variation<'_>) -> Compiled {
    let mut builder = Builder::new(preparation, table, variation);
    builder.supplies();
    for i in 0..preparation.steps.len() {
        builder.step(i);
    }
    builder.readings();
    builder.finish()
}

struct Builder<'a> {
    preparation: &'a Preparation,
    table: &'a mut SpeciesTable,
    variation: Variation<'a>,
    ledger: Ledger,
    lots: Vec<LotRecord>,
    by_name: HashMap<&'a str, Lot>,
    charges: Vec<ChargeRecord>,
    notes: Vec<NoteRecord>,
    options: Vec<StepOptions>,
    absent: Vec<(usize, Span, SpeciesIndex)>,
    supplies: Vec<Option<usize>>,
    vessels: HashMap<&'a str, Value>,
    drawn: Lot,
    balances: Vec<Balance>,
    weighings: Vec<(ReadingPlace, Weighing)>,
    /// Fraction of a soluble solid that dissolves in the step at hand.
    extracted: Value,
    /// What the unknowns made next belong to, in words.
    about: String,
    /// Where each unknown comes from.
    origins: Vec<String>,
    usual: Vec<(usize, Usual, usize)>,
    wet: Vec<WetRecord>,
    /// Solids that fell out or crystallised so far.
    fallen: Vec<Formula>,
    /// Those of them that no reaction of the file names.
    foreign: Vec<SpeciesIndex>,
}

impl<'a> Builder<'a> {
    fn new(preparation: &'a Preparation, table: &'a mut SpeciesTable, variation: Variation<'a>) -> Self {
        let mut builder = Self {
            preparation,
            table,
            variation,
            ledger: Ledger::default(),
            lots: Vec::new(),
            by_name: HashMap::new(),
            charges: Vec::new(),
            notes: Vec::new(),
            options: Vec::new(),
            absent: Vec::new(),
            supplies: Vec::new(),
            vessels: HashMap::new(),
            drawn: 0,
            balances: Vec::new(),
            weighings: Vec::new(),
            extracted: Value::Constant(1.0),
            about: String::new(),
            origins: Vec::new(),
            usual: Vec::new(),
            wet: Vec::new(),
            fallen: Vec::new(),
            foreign: Vec::new(),
        };
        builder.drawn = builder.new_lot("drawn from the air", 0, LotKind::Drawn, false);
        builder
    }

    fn new_lot(&mut self, name: &str, step: usize, kind: LotKind, named: bool) -> Lot {
        self.lots.push(LotRecord {
            name: name.to_owned(),
            step,
            kind,
            named,
            taken: false,
            contents: BTreeSet::new(),
            bound: 0.0,
        });
        self.lots.len() - 1
    }

    fn unknown(&mut self, unknown: Unknown) -> Value {
        self.ledger.unknowns.push(unknown);
        self.origins.push(self.about.clone());
        Value::Unknown(self.ledger.unknowns.len() - 1)
    }

    fn prior(&mut self, prior: Prior) -> Value {
        let unknown = self.table.unknown(prior);
        self.unknown(unknown)
    }

    fn share(&mut self, parts: usize, index: usize) -> Value {
        let unknown = self.table.share(parts, index);
        self.unknown(unknown)
    }

    /// Makes a value; one of which only a usual range is known is left without strain.
    fn strained(&mut self, usual: bool, make: impl Fn(&mut Self) -> Value) -> Value {
        let value = make(self);
        if usual
            && let Value::Unknown(i) = value
            && let Some(unknown) = self.ledger.unknowns.get_mut(i)
        {
            *unknown = unknown.clone().without_strain();
        }
        value
    }

    fn value(&mut self, knowledge: Knowledge) -> Value {
        match prior_of(knowledge) {
            Ok(prior) => self.prior(prior),
            Err(value) => Value::Constant(value),
        }
    }

    /// A usual loss: as learned from earlier preparations, else the default; its place is noted.
    fn usual(&mut self, step: &Step, what: Usual, default: impl FnOnce(&mut Self) -> Value) -> Value {
        let by = losses::way(step.action.value, step.by.as_ref().map(|by| by.value.as_str()));
        // Where something went wrong, earlier runs are no guide.
        let learned = self.preparation.own_losses.iter().filter(|_| !self.variation.unusual_losses);
        let own = learned
            .into_iter()
            .find(|own| own.action == step.action.value && own.by.as_deref() == by && own.what == what)
            .map(crate::losses::OwnLoss::knowledge);
        let value = match own {
            Some(own) => self.value(own),
            None => default(self),
        };
        let place = self.preparation.steps.iter().position(|s| std::ptr::eq(s, step));
        if let (Value::Unknown(i), Some(place)) = (value, place) {
            self.usual.push((place, what, i));
        }
        value
    }

    /// A fraction: normal values are cut at 0 and 1.
    fn fraction(&mut self, knowledge: Knowledge) -> Value {
        match knowledge {
            Knowledge::Normal { value, standard_uncertainty } => {
                self.prior(Prior::TruncatedNormal { mean: value, deviation: standard_uncertainty, low: 0.0, high: 1.0 })
            }
            other => self.value(other),
        }
    }

    fn push(&mut self, operation: Operation) {
        self.ledger.operations.push(operation);
    }

    fn step(&mut self, i: usize) {
        let preparation = self.preparation;
        let step = &preparation.steps[i];
        self.about = format!("portion in {}", step.name.value);
        let outputs = self.outputs(i, step);
        let (lot, liquor) = (outputs.main, outputs.liquor);
        let lost = self.new_lot(&format!("lost in {}", step.name.value), i, LotKind::Lost, false);
        let vent = self.new_lot(&format!("vented in {}", step.name.value), i, LotKind::Vent, false);
        self.about = format!("share extracted in {}", step.name.value);
        self.extracted = if step.action.value == Action::Leach {
            let (low, high) = losses::EXTRACTED;
            self.fraction(step.conversion.unwrap_or(Knowledge::Between { low, high }))
        } else {
            Value::Constant(1.0)
        };
        self.mix(i, step, lot);
        self.expect(i, step, lot, vent);
        self.about = format!("conversion in {}", step.name.value);
        for reaction in &step.reactions {
            self.react(i, lot, reaction, step.conversion);
        }
        self.about = format!("what falls out beside in {}", step.name.value);
        self.falls_out_beside(i, step, lot);
        self.about = format!("conversion in {}", step.name.value);
        for crystals in &step.crystals {
            self.crystallise(i, lot, &crystals.value, step.conversion);
        }
        self.about = format!("water removed in {}", step.name.value);
        if let Some(removes) = step.removes {
            self.boil(lot, vent, removes);
        }
        if step.action.value.is_wet() || !step.reactions.is_empty() {
            self.push(Operation::Vent { lot, vent });
            self.pour(lot, vent, |state| state == engine::ledger::State::Gas, true);
        }
        self.about = format!("liquor held and solids passed in {}", step.name.value);
        if let Some(liquor) = liquor {
            self.filter(i, step, lot, liquor);
        }
        self.about = format!("composition after {}", step.name.value);
        if step.action.value.heats() {
            self.heat(i, step, lot, vent);
        } else {
            self.options.push(StepOptions::default());
        }
        self.about = format!("loss in {}", step.name.value);
        self.lose(step, lot, lost);
        self.about = format!("picked up in {}", step.name.value);
        self.pick_up(step, lot);
        for (portion, mass) in outputs.portions {
            self.push(Operation::Portion { from: lot, into: portion, mass });
            self.lots[portion].contents = self.lots[lot].contents.clone();
        }
        self.ledger.finished.resize(self.lots.len(), self.ledger.operations.len());
    }

    /// Makes the lots that a step gives. The main lot is the one the step works in.
    fn outputs(&mut self, i: usize, step: &'a Step) -> Outputs {
        let name_of = |part: &dyn Fn(&Part) -> bool| {
            step.gives.iter().find(|g| part(&g.part.value)).map(|g| g.lot.value.as_str())
        };
        let named = |builder: &mut Self, name: Option<&'a str>, otherwise: String, kind| match name {
            Some(name) => {
                let lot = builder.new_lot(name, i, kind, true);
                builder.by_name.insert(name, lot);
                lot
            }
            None => builder.new_lot(&otherwise, i, kind, false),
        };
        match step.action.value.manner().parting {
            Parting::SolidsAndSolution => {
                let solids = name_of(&|p| *p == Part::Solids);
                let solution = name_of(&|p| *p == Part::Solution);
                let main = named(self, solids, format!("residue of {}", step.name.value), LotKind::Solid);
                let liquor = named(self, solution, format!("liquor of {}", step.name.value), LotKind::Liquor);
                Outputs { main, liquor: Some(liquor), portions: Vec::new() }
            }
            Parting::Portions => {
                let rest = name_of(&|p| *p == Part::Rest);
                let main = named(self, rest, format!("rest of {}", step.name.value), LotKind::Solid);
                let mut portions = Vec::new();
                for give in &step.gives {
                    if let Part::Mass(knowledge) = give.part.value {
                        let lot = named(self, Some(give.lot.value.as_str()), String::new(), LotKind::Solid);
                        let recorded = self.recorded(|r| r.of.as_ref().is_some_and(|of| of.value == give.lot.value));
                        let aim = match (self.variation.forecast, knowledge) {
                            (true, Knowledge::Normal { value, standard_uncertainty }) => Knowledge::Normal {
                                value,
                                standard_uncertainty: standard_uncertainty.max(losses::PORTION_AIM * value),
                            },
                            _ => recorded.instead_of(knowledge, self.variation.forecast),
                        };
                        let mass = self.value(aim);
                        self.lots[lot].bound = knowledge.central();
                        portions.push((lot, mass));
                    }
                }
                Outputs { main, liquor: None, portions }
            }
            Parting::Whole => {
                let all = name_of(&|p| *p == Part::All);
                let main = named(self, all, format!("result of {}", step.name.value), LotKind::Solid);
                Outputs { main, liquor: None, portions: Vec::new() }
            }
        }
    }

    /// The reading that is taken for a slip and left out.
    fn left_out(&self) -> Option<&'a str> {
        let preparation = self.preparation;
        self.variation.without.map(|p| preparation.steps[p.step].readings[p.reading].id.value.as_str())
    }

    /// The mass that a reading of its own records, kg: its figure, less the empty vessel where it was made in one.
    fn recorded(&self, fits: impl Fn(&crate::model::Reading) -> bool) -> Recorded {
        let left_out = self.left_out();
        let mut readings = standing(self.preparation).map(|(_, r)| r);
        let Some(reading) = readings.find(|r| r.weigh.is_some() && fits(r) && Some(r.id.value.as_str()) != left_out)
        else {
            return Recorded::Nowhere;
        };
        let figure = reading.weigh.as_ref().map_or(f64::NAN, |w| w.value);
        let tare = match &reading.vessel {
            Some(vessel) => empty_figure(self.preparation, &vessel.value, left_out),
            None => Some(0.0),
        };
        tare.map_or(Recorded::Somewhere, |tare| Recorded::At(figure - tare))
    }

    fn mix(&mut self, i: usize, step: &'a Step, lot: Lot) {
        for take in &step.take {
            let name = take.source.value.as_str();
            if let Some(source) = self.by_name.get(name).copied().filter(|s| *s != lot) {
                self.push(Operation::Move { from: source, into: lot });
                self.lots[source].taken = true;
                let contents = self.lots[source].contents.clone();
                self.lots[lot].contents.extend(contents);
                self.lots[lot].bound += self.lots[source].bound;
                if step.action.value.manner().wet == Some(Dissolves::Everything) {
                    self.dissolve_lot(step, lot);
                }
            } else if let TakeAmount::Mass(mass) = take.amount.value {
                self.about = format!("charge of {name}");
                let recorded = self.recorded(|r| {
                    r.charge.as_ref().is_some_and(|c| c.value == name) && step.readings.iter().any(|own| own.id == r.id)
                });
                let volume = standing(self.preparation)
                    .filter(|(s, r)| s.name == step.name && r.charge.as_ref().is_some_and(|c| c.value == name))
                    .find_map(|(_, r)| r.volume.as_ref()?.mass)
                    .filter(|_| !self.variation.forecast);
                let known = volume.unwrap_or_else(|| recorded.instead_of(mass, self.variation.forecast));
                let mass_value = self.value(known);
                let record = ChargeRecord {
                    step: i,
                    supply: self.supply_index(name),
                    name: name.to_owned(),
                    mass: mass_value,
                    times: 1,
                    wash: false,
                };
                self.charge(step, record, mass.central(), lot);
            }
        }
    }

    /// Number of a supply in the ledger; water that is not listed comes last.
    fn supply_index(&self, name: &str) -> usize {
        self.preparation.supply(name).unwrap_or(self.ledger.supplies.len() - 1)
    }

    /// Charges a supply of the planned mass, kg, into a lot.
    fn charge(&mut self, step: &Step, record: ChargeRecord, planned: f64, lot: Lot) {
        let (supply, mass) = (record.supply, record.mass);
        let parts: Vec<SpeciesIndex> = self.ledger.supplies[supply].parts.iter().map(|(s, _)| *s).collect();
        self.push(Operation::Charge { supply, mass, into: lot });
        let dry = parts.iter().any(|p| !self.table.is_water(*p));
        if dry {
            self.lots[lot].bound += planned;
        }
        self.lots[lot].contents.extend(parts.iter().copied());
        if matches!(step.action.value.manner().wet, Some(Dissolves::Charges | Dissolves::Everything)) {
            for part in parts {
                self.dissolve(step, lot, part);
            }
        }
        self.charges.push(record);
    }

    fn finish(mut self) -> Compiled {
        self.ledger.molar_mass = (0..self.table.len()).map(|s| self.table.molar_mass(s)).collect();
        self.ledger.state = (0..self.table.len()).map(|s| self.table.state(s)).collect();
        self.ledger.lots = self.lots.len();
        self.ledger.finished.resize(self.lots.len(), self.ledger.operations.len());
        self.ledger.drawn = vec![self.drawn];
        self.ledger.notes = self.notes.iter().map(|note| note.consumed.len()).collect();
        let preparation = self.preparation;
        let without = self.variation.without;
        let read = |place: &ReadingPlace| {
            Some(*place) != without && preparation.steps[place.step].readings[place.reading].weigh.is_some()
        };
        let made: Vec<_> = self.weighings.iter().filter(|(place, _)| read(place)).cloned().collect();
        let planned_tests = self.determinations();
        let preparation = self.preparation;
        let found = |place: &(usize, usize)| preparation.steps[place.0].determinations[place.1].found.is_some();
        let evident = planned_tests.iter().filter(|(place, _)| !self.variation.forecast && found(place)).cloned();
        let (determined, determinations) = evident.unzip();
        Compiled {
            determinations,
            determined,
            planned_tests,
            origins: self.origins,
            ledger: self.ledger,
            balances: self.balances,
            weighings: made.iter().map(|(_, w)| w.clone()).collect(),
            places: made.iter().map(|(p, _)| *p).collect(),
            planned: self.weighings,
            lots: self.lots,
            charges: self.charges,
            notes: self.notes,
            options: self.options,
            absent: self.absent,
            supplies: self.supplies,
            usual: self.usual,
            wet: self.wet,
        }
    }
}

struct Outputs {
    main: Lot,
    liquor: Option<Lot>,
    portions: Vec<(Lot, Value)>,
}

/// What the readings say of a planned mass.
#[derive(Clone, Copy, Debug)]
enum Recorded {
    /// Nothing.
    Nowhere,
    /// It was weighed, but in a vessel whose own mass was not.
    Somewhere,
    /// It was weighed at this mass, kg.
    At(f64),
}

impl Recorded {
    /// The prior of a mass: in a forecast the plan; where it was weighed, a wide one about the figure, so that the
    /// reading speaks and not the plan.
    fn instead_of(self, planned: Knowledge, forecast: bool) -> Knowledge {
        let wide = |value: f64| Knowledge::Normal { value, standard_uncertainty: losses::RECORDED_WIDTH * value };
        match self {
            Self::At(mass) if !forecast && mass > 0.0 => wide(mass),
            Self::Somewhere if !forecast => wide(planned.central()),
            _ => planned,
        }
    }
}

fn is_water(species: &Species) -> bool {
    species.formula.same_substance(&Formula::water())
}

fn is_moisture(pattern: &SpeciesPattern) -> bool {
    matches!(pattern, SpeciesPattern::One(s) if is_water(s) && s.phase == Some(Phase::Liquid))
}
