//! What can be present in each step, and how much of it at most?
//!
//! A bookkeeping of bounds, not of expectations: every substance that a supply may hold counts with its least and its largest
//! amount, listed reactions run as far as they least and as they most can, and what a filter parts is parted by phase, with a
//! trace on the wrong side. Water of crystallisation is set aside, so that a salt and its hydrates are one substance. Losses
//! are neglected: more is there than will be.
//!
//! Source: stoichiometry.

use crate::action::{Atmosphere, Dissolves, Heat, Parting};
use crate::model::{Action, Knowledge, Part, Preparation, Step, TakeAmount, WATER};
use chem::hazard::{Bound, Class, Groups, bound, classes_by, groups};
use chem::{Dimension, Formula, Phase, Quantity, Reaction, Species};
use std::collections::{BTreeMap, BTreeSet, HashMap};

/// Share of the dissolved that stays with the solids of a filter, and of the solids that pass.
const CARRIED: f64 = 0.02;
/// Amount below which a substance is a trace, mol.
pub(super) const TRACE: f64 = 1e-5;
/// Temperature of a fire whose temperature is not stated, K.
const FIRE: f64 = 873.15;
/// Temperature of an oven whose temperature is not stated, K.
const OVEN: f64 = 378.15;
/// Room temperature, K.
pub(super) const ROOM: f64 = 298.15;

/// A substance in a lot.
#[derive(Clone, Debug)]
pub(super) struct Present {
    /// As the file has it.
    pub species: Species,
    /// Its groups.
    pub groups: Groups,
    /// What it is out of bounds for.
    pub bound: Option<Bound>,
    /// Molar mass, kg/mol; 0 where it has none.
    pub molar_mass: f64,
    /// Its classes at its strength.
    pub classes: BTreeSet<Class>,
    /// Least amount, mol.
    pub low: f64,
    /// Largest amount, mol.
    pub high: f64,
    /// Whether it was charged as it is sold in the step at hand.
    pub charged: bool,
    /// Whether it is the main content of something sold, or made on purpose: no trace.
    pub strength: f64,
    /// Whether it is in a solution.
    pub dissolved: bool,
}

impl Present {
    pub(super) fn is_water(&self) -> bool {
        self.classes.contains(&Class::Water)
    }

    pub(super) fn is(&self, class: Class) -> bool {
        self.classes.contains(&class)
    }
}

/// A lot: its substances by composition.
#[derive(Clone, Debug, Default)]
pub(super) struct Lot {
    pub contents: BTreeMap<String, Present>,
    /// Temperature it was left with, K.
    pub temperature: f64,
    /// Mass of what was charged into it beside water, as sold, kg.
    pub charged: f64,
}

/// What goes on in a step.
#[derive(Clone, Debug, Default)]
pub(super) struct Bench {
    /// Everything that is there at some time: what is taken, and what reactions make.
    pub present: Lot,
    /// What was taken, before any reaction.
    pub before: Lot,
    /// What is left at the end.
    pub after: Lot,
    /// Gases of listed reactions, largest amount, mol.
    pub gases: Vec<(Species, f64)>,
    /// How often each listed reaction runs at most, mol.
    pub extents: Vec<f64>,
    /// Mass of everything taken, kg.
    pub mass: f64,
    /// Temperature, K.
    pub temperature: f64,
    /// Whether its lots came hot.
    pub came_hot: Option<f64>,
    /// Whether it is done in a liquid.
    pub wet: bool,
}

/// One spelling for a composition: the name under which a substance is kept.
pub(super) fn key(formula: &Formula) -> String {
    if formula.same_substance(&Formula::water()) {
        return "water".to_owned();
    }
    let dry = formula.without_hydrate_water();
    let parts: Vec<String> = dry.composition().iter().map(|(e, n)| format!("{}{n}", e.symbol())).collect();
    format!("{}^{}", parts.join(" "), formula.charge())
}

fn present(species: &Species, low: f64, high: f64, strength: f64) -> Present {
    let groups = groups(&species.formula);
    Present {
        species: species.clone(),
        classes: classes_by(&groups, &species.formula, species.phase, strength),
        groups,
        bound: bound(&species.formula),
        molar_mass: species.formula.molar_mass().map_or(0.0, |mass| mass.value * 1e-3),
        low,
        high,
        charged: false,
        strength,
        dissolved: species.phase == Some(Phase::Aqueous),
    }
}

impl Lot {
    fn add(&mut self, more: Present) {
        let key = key(&more.species.formula);
        match self.contents.get_mut(&key) {
            Some(own) => {
                own.low += more.low;
                own.high += more.high;
                own.charged |= more.charged;
                own.dissolved |= more.dissolved;
                own.strength = own.strength.max(more.strength);
                own.classes.extend(more.classes);
            }
            None => drop(self.contents.insert(key, more)),
        }
    }

    fn pour(&mut self, other: &Lot, share: impl Fn(&Present) -> (f64, f64)) {
        self.charged += other.charged;
        for own in other.contents.values() {
            let (low, high) = share(own);
            let poured = Present { low: own.low * low, high: own.high * high, charged: false, ..own.clone() };
            if poured.high > 0.0 {
                self.add(poured);
            }
        }
    }

    /// Holds a substance of which the amount is not known: a mole.
    pub(super) fn hold(&mut self, species: &Species) {
        self.add(present(species, 0.0, 1.0, 1.0));
    }

    /// Shelves what is sold at a strength.
    pub(super) fn shelve(&mut self, species: &Species, strength: f64) {
        self.add(present(species, 0.0, 1.0, strength));
    }

    /// Takes all of another lot.
    pub(super) fn take(&mut self, other: &Lot) {
        self.pour(other, |_| (1.0, 1.0));
    }

    /// Mass at most, kg.
    pub(super) fn mass(&self) -> f64 {
        self.contents.values().map(|p| p.high * p.molar_mass).sum()
    }

    /// Mass of water, kg.
    pub(super) fn water(&self) -> f64 {
        self.contents.get("water").map_or(0.0, |p| p.high * p.molar_mass)
    }

    /// Substances that are no traces.
    pub(super) fn real(&self) -> impl Iterator<Item = &Present> {
        self.contents.values().filter(|p| p.high > TRACE)
    }
}

/// Temperature of a step, K.
fn temperature(step: &Step) -> f64 {
    let parsed = step.temperature.as_deref().and_then(|text| Quantity::parse_as(text, Dimension::TEMPERATURE).ok());
    let stated = parsed.and_then(|q| q.si().upper_bound());
    stated.unwrap_or(match step.action.value.manner().heat {
        Heat::Fire => FIRE,
        Heat::Dry => OVEN,
        Heat::None if step.action.value == Action::Evaporate => 373.15,
        Heat::None => ROOM,
    })
}

/// Whether a solid goes into solution in water: by the common rules of solubility.
fn dissolves(own: &Present) -> bool {
    let found = &own.groups;
    if found.element.is_some() {
        return false;
    }
    let soluble_metal = ["Li", "Na", "K", "Rb", "Cs"].iter().any(|metal| found.metal(metal)) && found.metals.len() == 1;
    if found.metals.is_empty() || soluble_metal || found.has_any(&["nitrate", "acetate", "chlorate", "perchlorate"]) {
        return true;
    }
    if found.has_any(&["hydroxide", "oxide", "carbonate", "phosphate", "sulfide", "oxalate", "silicate", "stearate"]) {
        return false;
    }
    if found.has("sulfate") {
        return !["Ca", "Ba", "Sr", "Pb"].iter().any(|metal| found.metal(metal));
    }
    if found.has_any(&["chloride", "bromide", "iodide"]) {
        return !["Ag", "Pb"].iter().any(|metal| found.metal(metal));
    }
    true
}

/// The benches of all steps, in order, and the lots that are left.
pub(super) struct Flow {
    pub benches: Vec<Bench>,
    pub lots: HashMap<String, Lot>,
}

/// Follows a preparation through its steps.
pub(super) fn follow(preparation: &Preparation) -> Flow {
    let mut flow = Flow { benches: Vec::new(), lots: HashMap::new() };
    for step in &preparation.steps {
        let bench = bench(preparation, step, &mut flow.lots);
        give(step, &bench, &mut flow.lots);
        flow.benches.push(bench);
    }
    flow
}

fn bench(preparation: &Preparation, step: &Step, lots: &mut HashMap<String, Lot>) -> Bench {
    let mut bench = Bench { temperature: temperature(step), wet: step.action.value.is_wet(), ..Bench::default() };
    for take in &step.take {
        let name = take.source.value.as_str();
        if let Some(lot) = lots.get(name) {
            if lot.temperature > bench.temperature.max(373.15) {
                bench.came_hot = Some(lot.temperature);
            }
            bench.before.pour(lot, |_| (1.0, 1.0));
            lots.remove(name);
        } else if let TakeAmount::Mass(mass) = take.amount.value {
            charge(preparation, name, mass, &mut bench);
        }
    }
    if let Some(wash) = &step.wash {
        let (_, high) = wash.mass.bounds();
        bench.before.add(water(high * wash.times as f64));
    }
    bench.mass = bench.before.mass();
    if let Some(dissolving) = step.action.value.manner().wet {
        for own in bench.before.contents.values_mut() {
            let touched = dissolving == Dissolves::Everything || dissolving == Dissolves::Charges && own.charged;
            own.dissolved |= touched && dissolves(own);
        }
    }
    bench.present = bench.before.clone();
    if step.atmosphere == Atmosphere::CarbonDioxide
        && let Ok(gas) = Species::parse("CO2(g)")
    {
        bench.present.hold(&gas);
    }
    bench.after = bench.before.clone();
    for reaction in &step.reactions {
        react(&reaction.value, step.conversion, &mut bench);
    }
    bench.after.temperature = bench.temperature;
    if step.action.value.heats() {
        heat(step, &mut bench);
    }
    bench
}

fn water(mass: f64) -> Present {
    let species = Species::new(Formula::water(), Some(Phase::Liquid));
    let amount = mass / 0.018_015;
    present(&species, amount, amount, 1.0)
}

/// Charges a supply of a mass, kg.
fn charge(preparation: &Preparation, name: &str, mass: Knowledge, bench: &mut Bench) {
    let (least, most) = mass.bounds();
    let Some(supply) = preparation.supply(name).and_then(|i| preparation.supplies.get(i)) else {
        if name == WATER {
            bench.before.add(water(most));
        }
        return;
    };
    let (low, high) = supply.assay.bounds();
    let high = high.clamp(0.0, 1.0);
    let brought = supply.brought.iter().flat_map(|b| b.species().cloned()).collect::<Vec<_>>();
    let species: Vec<&Species> = supply.holds.iter().map(|h| &h.value).chain(&brought).collect();
    let alone = species.len() == 1;
    if species.iter().any(|s| !s.formula.same_substance(&Formula::water())) {
        bench.before.charged += most * high;
    }
    // Hydrates of one salt are one substance: the driest that it may be counts.
    let mut charged: BTreeMap<String, Present> = BTreeMap::new();
    for kind in &species {
        let molar = kind.formula.molar_mass().map_or(0.0, |m| m.value * 1e-3);
        if molar <= 0.0 {
            continue;
        }
        let (least, most) = (if alone { least * low / molar } else { 0.0 }, most * high / molar);
        let mut own = present(kind, least.max(0.0), most, high);
        own.charged = true;
        own.dissolved |= supply.solution;
        let key = key(&kind.formula);
        if charged.get(&key).is_none_or(|known| known.high < own.high) {
            charged.insert(key, own);
        }
    }
    charged.into_values().for_each(|own| bench.before.add(own));
    let aqueous = supply.solution || species.iter().any(|s| s.phase == Some(Phase::Aqueous));
    if aqueous && low < 1.0 {
        bench.before.add(water(most * (1.0 - low)));
    }
}

/// Runs a reaction as far as it least and as it most can.
fn react(reaction: &Reaction, conversion: Option<Knowledge>, bench: &mut Bench) {
    let terms: Vec<(String, &Species, f64)> = reaction
        .species
        .iter()
        .enumerate()
        .map(|(i, species)| (key(&species.formula), species, reaction.coefficient_f64(i)))
        .collect();
    let reach = |of: &dyn Fn(&Present) -> f64| {
        let consumed = terms.iter().filter(|(key, _, n)| *n < 0.0 && key != "water");
        let least = consumed
            .map(|(key, _, n)| bench.after.contents.get(key).map_or(0.0, |p| of(p) / -n))
            .fold(f64::INFINITY, f64::min);
        if least.is_finite() { least } else { 0.0 }
    };
    let (share_low, share_high) = conversion.map_or((1.0, 1.0), Knowledge::bounds);
    let (low, high) = (reach(&|p| p.low) * share_low.max(0.0), reach(&|p| p.high) * share_high);
    bench.extents.push(high);
    for (key, species, n) in &terms {
        if *n < 0.0 {
            if let Some(own) = bench.after.contents.get_mut(key) {
                let (least, most) = (own.low + n * high, own.high + n * low);
                (own.low, own.high) = (least.max(0.0), most.max(0.0));
            }
        } else if species.phase == Some(Phase::Gas) {
            bench.gases.push(((*species).clone(), n * high));
        } else {
            let made = present(species, n * low, n * high, 1.0);
            bench.after.add(made.clone());
            bench.present.add(made);
        }
    }
}

/// What is left after drying or ignition: what the file says it may hold, each at the most that its rarest element allows.
fn heat(step: &Step, bench: &mut Bench) {
    bench.after.contents.remove("water");
    for own in bench.after.contents.values_mut() {
        own.dissolved = false;
    }
    if step.may_hold.is_empty() {
        return;
    }
    let before = std::mem::take(&mut bench.after.contents);
    let total = |symbol: &str| -> f64 {
        before.values().map(|p| p.high * chem::hazard::bounds::atoms(&p.species.formula, symbol)).sum()
    };
    for pattern in &step.may_hold {
        let species = pattern.value.species();
        let most = species
            .formula
            .elements()
            .filter(|(e, n)| *n > 0.0 && !["H", "O"].contains(&e.symbol()))
            .map(|(e, n)| total(e.symbol()) / n)
            .fold(f64::INFINITY, f64::min);
        if most.is_finite() {
            let made = present(species, 0.0, most, 1.0);
            bench.after.add(made.clone());
            bench.present.add(made);
        }
    }
    // Elements that no listed product holds stay as they are, unless they leave as gases.
    bench.after.temperature = bench.temperature;
}

fn give(step: &Step, bench: &Bench, lots: &mut HashMap<String, Lot>) {
    let after = &bench.after;
    let parting = step.action.value.manner().parting;
    let whole = after.mass();
    for give in &step.gives {
        let mut lot = Lot { temperature: after.temperature, ..Lot::default() };
        match (&give.part.value, parting) {
            (Part::Solids, Parting::SolidsAndSolution) => {
                lot.pour(after, |p| if is_solid(p) { (1.0, 1.0) } else { (0.0, CARRIED) });
            }
            (Part::Solution, Parting::SolidsAndSolution) => {
                lot.pour(after, |p| if is_solid(p) { (0.0, CARRIED) } else { (1.0, 1.0) });
            }
            (Part::Mass(mass), _) if whole > 0.0 => {
                let share = (mass.bounds().1 / whole).min(1.0);
                lot.pour(after, |_| (0.0, share));
            }
            _ => lot.pour(after, |_| (1.0, 1.0)),
        }
        lots.insert(give.lot.value.clone(), lot);
    }
}

pub(super) fn is_solid(own: &Present) -> bool {
    !own.dissolved && own.species.phase == Some(Phase::Solid)
}
