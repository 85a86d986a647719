//! From the file to a ledger: every action is a default over five primitives.
//!
//! In the order mix → react → separate → lose → pick up. A wet step dissolves the solids it is charged with
//! (hydrate water becomes solvent) unless a listed reaction names the solid itself, and its gases leave. A
//! heated step loses its water, turns what was dissolved into solids of the same formula, and then takes on
//! the composition that the chosen alternative allows, by conversions balanced from the lot's own species.
//! A portion that is weighed before and after in one vessel is not transferred, but its loss is the file's to
//! state.
//!
//! Neglected: solubility (what is charged to a wet step dissolves), acid and base equilibria.

use super::table::SpeciesTable;
use crate::losses;
use crate::model::{
    Action, ForeignKind, Knowledge, Part, Preparation, Step, Supply, Supposition, TakeAmount, Trace, WATER,
};
use chem::formula::to_f64;
use chem::{Formula, Phase, Species, SpeciesPattern};
use engine::account::reading::{Balance, Weighing};
use engine::ledger::{
    FOREIGN_KINDS, INSOLUBLE_COMBUSTIBLE, INSOLUBLE_PERMANENT, Ledger, Lot, Operation, Prior, SOLUBLE_COMBUSTIBLE,
    SOLUBLE_PERMANENT, SpeciesIndex, Surroundings, Unknown, Value,
};
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
}

/// A reaction whose limiting reagent is noted.
#[derive(Clone, Debug)]
pub(crate) struct NoteRecord {
    /// Step.
    pub step: usize,
    /// Equation as written.
    pub text: String,
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
    /// All readings, made or not, as weighings (display 0 where not read).
    pub planned: Vec<(ReadingPlace, Weighing)>,
    pub lots: Vec<LotRecord>,
    pub charges: Vec<ChargeRecord>,
    pub notes: Vec<NoteRecord>,
    pub options: Vec<StepOptions>,
    /// For each ledger supply: its number in the file (`None` for built-in water).
    pub supplies: Vec<Option<usize>>,
}

impl Compiled {
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
}

impl Variation<'_> {
    /// The preparation as written, with everything that `may_hold` allows at once.
    pub const PLAIN: Variation<'static> = Variation { alternative: None, supposition: None, width: 1.0, without: None };
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
    supplies: Vec<Option<usize>>,
    vessels: HashMap<&'a str, Value>,
    drawn: Lot,
    balances: Vec<Balance>,
    weighings: Vec<(ReadingPlace, Weighing)>,
    portions: HashMap<Lot, Value>,
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
            supplies: Vec::new(),
            vessels: HashMap::new(),
            drawn: 0,
            balances: Vec::new(),
            weighings: Vec::new(),
            portions: HashMap::new(),
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

    fn value(&mut self, knowledge: Knowledge) -> Value {
        let prior = match knowledge {
            Knowledge::Exact(value) => return Value::Constant(value),
            Knowledge::Normal { value, standard_uncertainty } if standard_uncertainty < 0.1 * value => {
                Prior::Normal { mean: value, deviation: standard_uncertainty }
            }
            Knowledge::Normal { value, standard_uncertainty } => {
                Prior::TruncatedNormal { mean: value, deviation: standard_uncertainty, low: 0.0, high: f64::INFINITY }
            }
            Knowledge::Between { low, high } => Prior::Uniform { low, high },
            Knowledge::Usually { low, high } => Prior::LogNormal { low, high },
        };
        self.prior(prior)
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

    fn supplies(&mut self) {
        for (i, supply) in self.preparation.supplies.iter().enumerate() {
            self.supply(supply);
            self.supplies.push(Some(i));
        }
        if self.preparation.supply(WATER).is_none() {
            let water = self.table.water(Phase::Liquid);
            let zero = Value::Constant(0.0);
            self.ledger.supplies.push(engine::ledger::Supply {
                assay: Value::Constant(1.0),
                parts: vec![(water, Value::Constant(1.0))],
                rest: [zero; FOREIGN_KINDS],
            });
            self.supplies.push(None);
        }
    }

    fn supply(&mut self, supply: &Supply) {
        let assay = self.fraction(supply.assay);
        let count = supply.holds.len();
        let mut parts = Vec::new();
        for (i, species) in supply.holds.iter().enumerate() {
            let stick = if i + 1 < count { self.share(count, i) } else { Value::Constant(1.0) };
            parts.push((self.table.intern(&species.value), stick));
        }
        let pure = assay == Value::Constant(1.0);
        let mut rest = [Value::Constant(1.0); FOREIGN_KINDS];
        if let Some(kind) = supply.rest {
            let chosen = match kind {
                ForeignKind::SolublePermanent => SOLUBLE_PERMANENT,
                ForeignKind::SolubleCombustible => SOLUBLE_COMBUSTIBLE,
                ForeignKind::InsolublePermanent => INSOLUBLE_PERMANENT,
                ForeignKind::InsolubleCombustible => INSOLUBLE_COMBUSTIBLE,
            };
            for (kind, stick) in rest.iter_mut().enumerate() {
                *stick = Value::Constant(if kind == chosen { 1.0 } else { 0.0 });
            }
        } else if !pure {
            for (kind, stick) in rest.iter_mut().enumerate().take(FOREIGN_KINDS - 1) {
                *stick = self.share(FOREIGN_KINDS, kind);
            }
        }
        self.ledger.supplies.push(engine::ledger::Supply { assay, parts, rest });
    }

    fn step(&mut self, i: usize) {
        let preparation = self.preparation;
        let step = &preparation.steps[i];
        let outputs = self.outputs(i, step);
        let (lot, liquor) = (outputs.main, outputs.liquor);
        let lost = self.new_lot(&format!("lost in {}", step.name.value), i, LotKind::Lost, false);
        let vent = self.new_lot(&format!("vented in {}", step.name.value), i, LotKind::Vent, false);
        self.mix(i, step, lot);
        for reaction in &step.reactions {
            self.react(i, lot, reaction, step.conversion);
        }
        if step.action.value.is_wet() {
            self.push(Operation::Vent { lot, vent });
            self.pour(lot, vent, |state| state == engine::ledger::State::Gas, true);
        }
        if let Some(liquor) = liquor {
            self.filter(i, step, lot, liquor);
        }
        if step.action.value.heats() {
            self.heat(i, step, lot, vent);
        } else {
            self.options.push(StepOptions::default());
        }
        self.lose(step, lot, lost);
        for (portion, mass) in outputs.portions {
            self.push(Operation::Portion { from: lot, into: portion, mass });
            self.lots[portion].contents = self.lots[lot].contents.clone();
            self.portions.insert(portion, mass);
        }
        let given: Vec<Lot> = (0..self.lots.len())
            .filter(|l| self.lots[*l].step == i && matches!(self.lots[*l].kind, LotKind::Solid | LotKind::Liquor))
            .collect();
        for lot in given {
            self.push(Operation::Give { lot });
        }
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
        match step.action.value {
            Action::Filter => {
                let solids = name_of(&|p| *p == Part::Solids);
                let solution = name_of(&|p| *p == Part::Solution);
                let main = named(self, solids, format!("residue of {}", step.name.value), LotKind::Solid);
                let liquor = named(self, solution, format!("liquor of {}", step.name.value), LotKind::Liquor);
                Outputs { main, liquor: Some(liquor), portions: Vec::new() }
            }
            Action::Divide => {
                let rest = name_of(&|p| *p == Part::Rest);
                let main = named(self, rest, format!("rest of {}", step.name.value), LotKind::Solid);
                let mut portions = Vec::new();
                for give in &step.gives {
                    if let Part::Mass(knowledge) = give.part.value {
                        let lot = named(self, Some(give.lot.value.as_str()), String::new(), LotKind::Solid);
                        let weighed = self.is_weighed(|r| r.of.as_ref().is_some_and(|of| of.value == give.lot.value));
                        let mass = self.value(planned_mass(knowledge, weighed));
                        self.lots[lot].bound = knowledge.central();
                        portions.push((lot, mass));
                    }
                }
                Outputs { main, liquor: None, portions }
            }
            _ => {
                let all = name_of(&|p| *p == Part::All);
                let main = named(self, all, format!("result of {}", step.name.value), LotKind::Solid);
                Outputs { main, liquor: None, portions: Vec::new() }
            }
        }
    }

    fn is_weighed(&self, fits: impl Fn(&crate::model::Reading) -> bool) -> bool {
        self.preparation.steps.iter().flat_map(|s| &s.readings).any(|r| r.weigh.is_some() && fits(r))
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
                if step.action.value.is_wet() {
                    self.dissolve_lot(step, lot);
                }
            } else if let TakeAmount::Mass(mass) = take.amount.value {
                let weighed = self.is_weighed(|r| {
                    r.charge.as_ref().is_some_and(|c| c.value == name) && step.readings.iter().any(|own| own.id == r.id)
                });
                let mass_value = self.value(planned_mass(mass, weighed));
                self.charge(i, step, name, mass_value, mass.central(), 1, lot);
            }
        }
    }

    #[allow(clippy::too_many_arguments)]
    fn charge(&mut self, i: usize, step: &Step, name: &str, mass: Value, planned: f64, times: usize, lot: Lot) {
        let supply = self.preparation.supply(name).unwrap_or(self.ledger.supplies.len() - 1);
        let parts: Vec<SpeciesIndex> = self.ledger.supplies[supply].parts.iter().map(|(s, _)| *s).collect();
        self.push(Operation::Charge { supply, mass, into: lot });
        let dry = parts.iter().any(|p| !is_water(self.table.species(*p)));
        if dry {
            self.lots[lot].bound += planned;
        }
        self.lots[lot].contents.extend(parts.iter().copied());
        if step.action.value.is_wet() {
            for part in parts {
                self.dissolve(step, lot, part);
            }
        }
        self.charges.push(ChargeRecord { step: i, supply, name: name.to_owned(), mass, times });
    }

    /// A charged solid dissolves unless a reaction names it as a solid.
    fn dissolve(&mut self, step: &Step, lot: Lot, solid: SpeciesIndex) {
        let species = self.table.species(solid).clone();
        let named = step.reactions.iter().any(|r| r.value.species.contains(&species));
        if named || species.phase != Some(Phase::Solid) {
            return;
        }
        if self.table.host(solid).is_some() {
            let water = self.table.water(Phase::Liquid);
            self.transform(lot, solid, vec![(water, 1.0)]);
            return;
        }
        let water_count = to_f64(species.formula.hydrate_water());
        let dissolved = self.table.formula(&species.formula.without_hydrate_water(), Phase::Aqueous);
        let mut into = vec![(dissolved, 1.0)];
        if water_count > 0.0 {
            into.push((self.table.water(Phase::Liquid), water_count));
        }
        self.transform(lot, solid, into);
    }

    /// What dissolves of a lot: everything in a dissolve step, only bound water elsewhere.
    fn dissolve_lot(&mut self, step: &Step, lot: Lot) {
        for species in self.lots[lot].contents.clone() {
            if step.action.value == Action::Dissolve {
                self.dissolve(step, lot, species);
            }
        }
    }

    fn transform(&mut self, lot: Lot, from: SpeciesIndex, into: Vec<(SpeciesIndex, f64)>) {
        self.lots[lot].contents.remove(&from);
        self.lots[lot].contents.extend(into.iter().map(|(s, _)| *s));
        self.push(Operation::Transform { lot, from, into: into.into() });
    }

    fn react(
        &mut self,
        i: usize,
        lot: Lot,
        reaction: &crate::model::Spanned<chem::reaction::Reaction>,
        stated: Option<Knowledge>,
    ) {
        let (mut consumed, mut produced) = (Vec::new(), Vec::new());
        for (k, species) in reaction.value.species.iter().enumerate() {
            let coefficient = reaction.value.coefficient_f64(k);
            let index = self.table.intern(species);
            if coefficient < 0.0 {
                consumed.push((index, -coefficient));
            } else {
                produced.push((index, coefficient));
            }
        }
        let conversion = match stated {
            Some(knowledge) => self.fraction(knowledge),
            None => self.prior(Prior::Beta { alpha: losses::CONVERSION_SHAPE, beta: 1.0 }),
        };
        self.lots[lot].contents.extend(produced.iter().map(|(s, _)| *s));
        self.notes.push(NoteRecord {
            step: i,
            text: reaction.value.text.clone(),
            consumed: consumed.iter().map(|(s, _)| *s).collect(),
        });
        let note = self.notes.len() - 1;
        self.push(Operation::React { lot, consumed: consumed.into(), produced: produced.into(), conversion, note });
    }

    /// Moves the possible contents of one state from a lot to another.
    fn pour(&mut self, from: Lot, into: Lot, which: impl Fn(engine::ledger::State) -> bool, all: bool) {
        let moved: Vec<SpeciesIndex> =
            self.lots[from].contents.iter().copied().filter(|s| which(self.table.state(*s))).collect();
        self.lots[into].contents.extend(moved.iter().copied());
        if all {
            for species in moved {
                self.lots[from].contents.remove(&species);
            }
        }
    }

    fn filter(&mut self, i: usize, step: &'a Step, cake: Lot, liquor: Lot) {
        let passes = match step.passes {
            Some(knowledge) => self.fraction(knowledge),
            None => self.prior(Prior::Beta { alpha: 1.0, beta: losses::PASSES_SHAPE }),
        };
        let (held, held_per_solid) = match step.held_liquor {
            Some(knowledge) => (self.value(knowledge), Value::Constant(0.0)),
            None => {
                let (low, high) = losses::HELD_BY_PAPER;
                let paper = self.value(Knowledge::Usually { low, high });
                let (low, high) = losses::HELD_BY_SOLIDS;
                (paper, self.value(Knowledge::Usually { low, high }))
            }
        };
        self.pour(cake, liquor, |_| true, false);
        self.push(Operation::Separate { cake, liquor, passes, held, held_per_solid });
        self.lots[liquor].bound = self.lots[cake].bound;
        if let Some(wash) = &step.wash {
            let mass = self.value(wash.mass);
            for n in 0..wash.times {
                if n == 0 {
                    self.charge(i, step, WATER, mass, wash.mass.central(), wash.times, cake);
                } else {
                    let supply = self.preparation.supply(WATER).unwrap_or(self.ledger.supplies.len() - 1);
                    self.push(Operation::Charge { supply, mass, into: cake });
                }
                let passes = Value::Constant(0.0);
                self.push(Operation::Separate { cake, liquor, passes, held, held_per_solid });
            }
            self.pour(cake, liquor, |state| state != engine::ledger::State::Solid, false);
        }
    }

    fn heat(&mut self, i: usize, step: &'a Step, lot: Lot, vent: Lot) {
        let vapour = self.table.water(Phase::Gas);
        let contents = self.lots[lot].contents.clone();
        let (mut evaporate, mut solidify) = (Vec::new(), Vec::new());
        for species in contents {
            let is_liquid_water =
                is_water(self.table.species(species)) && self.table.state(species) == engine::ledger::State::Liquid;
            if is_liquid_water || self.table.host(species).is_some() {
                evaporate.push((species, vapour));
            } else if self.table.state(species) == engine::ledger::State::Dissolved {
                let formula = self.table.species(species).formula.clone();
                solidify.push((species, self.table.formula(&formula, Phase::Solid)));
            }
        }
        let set = &mut self.lots[lot].contents;
        for (species, _) in evaporate.iter().chain(&solidify) {
            set.remove(species);
        }
        set.extend(solidify.iter().map(|(_, s)| *s));
        self.push(Operation::Vent { lot, vent });
        self.pour(lot, vent, |state| state == engine::ledger::State::Gas, true);
        self.push(Operation::Evaporate { lot, pairs: evaporate.into(), vent });
        self.push(Operation::Solidify { lot, pairs: solidify.into() });
        if step.action.value == Action::Ignite {
            self.push(Operation::Burn { lot, vent });
        }
        self.compose(i, step, lot, vent);
        let supposed: &'a [Trace] = match self.variation.supposition {
            Some(s) if s.step.value == step.name.value => &s.trace,
            _ => &[],
        };
        for trace in step.trace.iter().chain(supposed) {
            self.occlude(trace, lot);
        }
    }

    /// Turns a dried or ignited lot into what the alternative says.
    fn compose(&mut self, i: usize, step: &Step, lot: Lot, vent: Lot) {
        let sources: Vec<SpeciesIndex> = self.lots[lot].contents.iter().copied().collect();
        let patterns: Vec<(usize, &SpeciesPattern)> = step.may_hold.iter().map(|p| &p.value).enumerate().collect();
        let moisture = patterns.iter().find(|(_, p)| is_moisture(p)).map(|(k, _)| *k);
        let mut options = StepOptions { moisture, ..StepOptions::default() };
        let targets: Vec<(usize, SpeciesIndex)> = patterns
            .iter()
            .filter(|(k, _)| Some(*k) != moisture)
            .map(|(k, p)| (*k, self.table.intern(p.species())))
            .collect();
        let mut reaches: Vec<(SpeciesIndex, Vec<usize>)> = Vec::new();
        for source in sources {
            let reach: Vec<usize> = targets
                .iter()
                .filter(|(_, t)| *t == source || self.table.conversion(source, *t).is_some())
                .map(|(k, _)| *k)
                .collect();
            if !reach.is_empty() {
                reaches.push((source, reach));
            }
        }
        options.reach = reaches.iter().map(|(_, r)| r.clone()).collect();
        options.reach.sort();
        options.reach.dedup();
        options.unreachable = patterns
            .iter()
            .map(|(k, _)| *k)
            .filter(|k| Some(*k) != moisture && !options.reach.iter().any(|r| r.contains(k)))
            .collect();
        let chosen: Vec<(usize, bool)> =
            match self.variation.alternative.and_then(|a| a.get(i)).and_then(Option::as_ref) {
                Some(composition) => composition.patterns.clone(),
                None => patterns.iter().map(|(k, _)| (*k, true)).collect(),
            };
        let surroundings = Surroundings { vent, drawn: self.drawn };
        let mut done: Vec<Vec<usize>> = Vec::new();
        for (_, reach) in &reaches {
            let allowed: Vec<usize> = reach.iter().copied().filter(|k| chosen.iter().any(|(c, _)| c == k)).collect();
            if allowed.is_empty() || done.contains(&allowed) {
                continue;
            }
            done.push(allowed.clone());
            self.spread(step, lot, &reaches, &allowed, &chosen, surroundings);
        }
        for (k, free) in &chosen {
            if let Some((_, SpeciesPattern::Family { anhydrous, low, high, .. })) = patterns.get(*k) {
                self.hydrate(lot, anhydrous, *low, *high, *free, surroundings);
            }
        }
        if let Some(k) = moisture
            && chosen.iter().any(|(c, _)| *c == k)
        {
            let most = (losses::MOST_MOISTURE * self.variation.width).min(0.9);
            let fraction = self.prior(Prior::Uniform { low: 0.0, high: most });
            let (liquid, vapour) = (self.table.water(Phase::Liquid), self.table.water(Phase::Gas));
            self.lots[lot].contents.insert(liquid);
            self.push(Operation::Moisten { lot, liquid, vapour, fraction, surroundings });
        }
        self.options.push(options);
    }

    /// Converts all sources that can become the allowed patterns: first into one of them, then into shares.
    #[allow(clippy::too_many_arguments)]
    fn spread(
        &mut self,
        step: &Step,
        lot: Lot,
        reaches: &[(SpeciesIndex, Vec<usize>)],
        allowed: &[usize],
        chosen: &[(usize, bool)],
        surroundings: Surroundings,
    ) {
        let target = |k: usize| step.may_hold[k].value.species().clone();
        let present = |k: usize, table: &SpeciesTable, contents: &BTreeSet<SpeciesIndex>| {
            contents.iter().any(|s| *table.species(*s) == target(k))
        };
        let first =
            allowed.iter().copied().find(|k| present(*k, self.table, &self.lots[lot].contents)).unwrap_or(allowed[0]);
        let into = self.table.intern(&target(first));
        for (source, reach) in reaches {
            let same: Vec<usize> = reach.iter().copied().filter(|k| chosen.iter().any(|(c, _)| c == k)).collect();
            if same == allowed && *source != into {
                self.convert(lot, *source, into, Value::Constant(1.0), surroundings);
                self.lots[lot].contents.remove(source);
            }
        }
        self.lots[lot].contents.insert(into);
        let count = allowed.len();
        for (n, k) in allowed.iter().filter(|k| **k != first).enumerate() {
            let share = self.share(count, n);
            let other = self.table.intern(&target(*k));
            self.convert(lot, into, other, share, surroundings);
            self.lots[lot].contents.insert(other);
        }
    }

    fn convert(&mut self, lot: Lot, from: SpeciesIndex, into: SpeciesIndex, share: Value, surroundings: Surroundings) {
        let Some(conversion) = self.table.conversion(from, into) else { return };
        self.lots[surroundings.vent].contents.extend(conversion.gases.iter().map(|(gas, _)| *gas));
        let (gives, exchange) = (conversion.gives, conversion.gases.into());
        self.push(Operation::Convert { lot, from, into, gives, exchange, share, surroundings });
    }

    fn hydrate(&mut self, lot: Lot, anhydrous: &Species, low: f64, high: f64, free: bool, surroundings: Surroundings) {
        let host = self.table.intern(anhydrous);
        if !self.lots[lot].contents.contains(&host) || (!free && low == 0.0) {
            return;
        }
        let water = if free {
            let high = low + (high - low) * self.variation.width;
            self.prior(Prior::Uniform { low, high })
        } else {
            Value::Constant(low)
        };
        let bound = self.table.bound_water(host);
        let vapour = self.table.water(Phase::Gas);
        self.lots[lot].contents.insert(bound);
        self.push(Operation::Hydrate { lot, host, bound, vapour, water, surroundings });
    }

    fn occlude(&mut self, trace: &Trace, lot: Lot) {
        let solid = self.table.intern(&trace.species.value);
        let dissolved = self.table.formula(&trace.species.value.formula, Phase::Aqueous);
        let liquor = (0..self.lots.len()).rev().find(|l| {
            self.lots[*l].kind == LotKind::Liquor && !self.lots[*l].taken && self.lots[*l].contents.contains(&dissolved)
        });
        let bound = (trace.bound * self.variation.width).min(0.9);
        let fraction = self.prior(Prior::Uniform { low: 0.0, high: bound });
        self.lots[lot].contents.insert(solid);
        let drawn = self.drawn;
        self.push(Operation::Occlude { liquor, dissolved, lot, solid, fraction, drawn });
    }

    fn lose(&mut self, step: &Step, lot: Lot, lost: Lot) {
        let usual = losses::usual(step.action.value, step.by.as_ref().map(|by| by.value.trim()));
        let none = step.loss.fraction == Some(Knowledge::Exact(0.0));
        let fraction = step.loss.fraction.unwrap_or(usual.fraction);
        let film = step.loss.film.unwrap_or(if none { Knowledge::Exact(0.0) } else { usual.film });
        let (film, fraction) = (self.value(film), self.fraction(fraction));
        let zero = Value::Constant(0.0);
        if film != zero || fraction != zero {
            self.push(Operation::Lose { lot, lost, film, fraction });
            self.pour(lot, lost, |_| true, false);
        }
    }

    fn readings(&mut self) {
        for instrument in &self.preparation.instruments {
            let slope = self.spread_about_zero(instrument.slope);
            let curvature = self.spread_about_zero(instrument.curvature);
            self.balances.push(Balance {
                resolution: instrument.resolution,
                repeatability: instrument.repeatability,
                capacity: instrument.capacity,
                slope,
                curvature,
            });
        }
        let mut zeros: HashMap<(&str, usize), Value> = HashMap::new();
        let corrected: BTreeSet<&str> = self
            .preparation
            .steps
            .iter()
            .flat_map(|s| s.readings.iter().filter_map(|r| r.corrects.as_ref().map(|c| c.value.as_str())))
            .collect();
        for (step, s) in self.preparation.steps.iter().enumerate() {
            for (reading, r) in s.readings.iter().enumerate() {
                let Some(balance) = self.preparation.instruments.iter().position(|x| x.name.value == r.with.value)
                else {
                    continue;
                };
                if corrected.contains(r.id.value.as_str()) {
                    continue;
                }
                let lot = r.of.as_ref().and_then(|of| self.by_name.get(of.value.as_str()).copied());
                let vessel = r.vessel.as_ref().map(|v| self.vessel(&v.value));
                let charge = r
                    .charge
                    .as_ref()
                    .and_then(|c| self.charges.iter().find(|x| x.step == step && x.name == c.value).map(|x| x.mass));
                let zero = match &r.zeroed {
                    Some(name) => {
                        let width = self.preparation.instruments[balance].resolution * 0.5;
                        match zeros.get(&(name.as_str(), balance)) {
                            Some(value) => *value,
                            None => {
                                let value = self.spread_about_zero(width);
                                zeros.insert((name.as_str(), balance), value);
                                value
                            }
                        }
                    }
                    None => Value::Constant(0.0),
                };
                let display = r.weigh.as_ref().map_or(0.0, |w| w.value);
                self.weighings
                    .push((ReadingPlace { step, reading }, Weighing { lot, vessel, charge, display, balance, zero }));
            }
        }
    }

    fn spread_about_zero(&mut self, deviation: f64) -> Value {
        if deviation > 0.0 { self.prior(Prior::Normal { mean: 0.0, deviation }) } else { Value::Constant(0.0) }
    }

    /// Mass of a vessel: as stated, or about the least figure it was read at.
    fn vessel(&mut self, name: &'a str) -> Value {
        if let Some(value) = self.vessels.get(name) {
            return *value;
        }
        let stated = self.preparation.vessels.iter().find(|v| v.name.value == name).and_then(|v| v.mass);
        let figures = self
            .preparation
            .steps
            .iter()
            .flat_map(|s| &s.readings)
            .filter(|r| r.vessel.as_ref().is_some_and(|v| v.value == name))
            .filter_map(|r| r.weigh.as_ref().map(|w| w.value));
        let least = figures.fold(f64::INFINITY, f64::min);
        let knowledge = match stated {
            Some(knowledge) => knowledge,
            None if least.is_finite() => {
                Knowledge::Normal { value: least, standard_uncertainty: losses::VESSEL_WIDTH * least }
            }
            None => Knowledge::Exact(0.0),
        };
        let value = self.value(knowledge);
        self.vessels.insert(name, value);
        value
    }

    fn finish(mut self) -> Compiled {
        self.ledger.molar_mass = (0..self.table.len()).map(|s| self.table.molar_mass(s)).collect();
        self.ledger.state = (0..self.table.len()).map(|s| self.table.state(s)).collect();
        self.ledger.lots = self.lots.len();
        self.ledger.drawn = vec![self.drawn];
        self.ledger.notes = self.notes.len();
        let preparation = self.preparation;
        let without = self.variation.without;
        let read = |place: &ReadingPlace| {
            Some(*place) != without && preparation.steps[place.step].readings[place.reading].weigh.is_some()
        };
        let made: Vec<_> = self.weighings.iter().filter(|(place, _)| read(place)).cloned().collect();
        Compiled {
            ledger: self.ledger,
            balances: self.balances,
            weighings: made.iter().map(|(_, w)| w.clone()).collect(),
            places: made.iter().map(|(p, _)| *p).collect(),
            planned: self.weighings,
            lots: self.lots,
            charges: self.charges,
            notes: self.notes,
            options: self.options,
            supplies: self.supplies,
        }
    }
}

struct Outputs {
    main: Lot,
    liquor: Option<Lot>,
    portions: Vec<(Lot, Value)>,
}

/// A planned mass: where it is weighed, the plan only says about where it will lie.
fn planned_mass(knowledge: Knowledge, weighed: bool) -> Knowledge {
    match knowledge {
        Knowledge::Normal { value, standard_uncertainty } if weighed => {
            Knowledge::Normal { value, standard_uncertainty: standard_uncertainty.max(losses::PORTION_WIDTH * value) }
        }
        other => other,
    }
}

fn is_water(species: &Species) -> bool {
    species.formula.same_substance(&Formula::water())
}

fn is_moisture(pattern: &SpeciesPattern) -> bool {
    matches!(pattern, SpeciesPattern::One(s) if is_water(s) && s.phase == Some(Phase::Liquid))
}
