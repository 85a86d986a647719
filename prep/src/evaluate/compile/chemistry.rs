//! What do the tables of solutions say of a wet step, and how does it enter the ledger?
//!
//! The ledger up to the step is run at its medians, the step's reactions to their end; that is a bath for
//! [`crate::aqueous::step`]. What stays dissolved of a written solid becomes the prior of that reaction's conversion where
//! the file states none: the mean from the constants, the spread from constants, activity model, and from what is open in
//! the bath times its sensitivity. Wash water takes up what dissolves in it; a crop is what the table of solubilities
//! leaves. Neglected: that draws which charge more water also dissolve more (it is in the spread, not in the correlation);
//! common ions in wash water (errs to a loss that is too large).

use super::{BesideRecord, Builder, Step};
use crate::aqueous::step::{Bath, Expected, Sensitivity, Stays, alike, expected};
use crate::ask::crystallise::{HANDBOOK, curve};
use crate::losses;
use crate::model::{Action, Knowledge};
use chem::quantity::Quantity;
use chem::reaction::Reaction;
use chem::solubility::Salt;
use chem::{Dimension, Formula, Phase, Species};
use engine::crystallise::Liquor;
use engine::ledger::{Amounts, Lot, Operation, Prior, SpeciesIndex, Value, Workspace};
use std::sync::Arc;

/// Temperature of a bath and of wash water where the file states none, K.
const ROOM: f64 = 298.15;
/// Temperature at which crystals are taken to be collected where the file states none, and how closely it is met, K.
const COLD: (f64, f64) = (293.15, 2.0);
/// Least relative spread of a share that stays dissolved: constants of one table err together.
pub(super) const LEAST_SPREAD: f64 = 0.1;
/// Relative spread from which a share reaches down to nothing.
pub(super) const WIDE: f64 = 0.5;
/// Share that an estimate beyond the activity model may claim to stay dissolved.
const BELIEVED: f64 = 0.2;
/// Share dissolved in a step or one wash below which it is told and not drawn.
const WASHED: f64 = 1e-4;
/// Share of a salt below which a liquor counts as not saturated.
const CROP: f64 = 0.05;

/// Crystals as the table of solubilities expects them.
#[derive(Clone, Debug)]
pub(crate) struct CropRecord {
    pub crystals: Formula,
    /// Temperature, K.
    pub at: f64,
    /// Share of the dissolved salt that separates, with its standard uncertainty; none where nothing does.
    pub share: Option<(f64, f64)>,
    /// Change of that share per K.
    pub per_kelvin: f64,
    /// Water that the crystals take out of the liquor, kg.
    pub takes: f64,
    /// Water to be driven off before anything separates, kg.
    pub too_much_water: f64,
}

/// What is expected of a wet step.
#[derive(Clone, Debug)]
pub(crate) struct WetRecord {
    pub step: usize,
    pub bath: Option<Bath>,
    pub answer: Result<Arc<Expected>, String>,
    /// Standard uncertainty of the logarithm of each substance of the bath.
    pub open: Vec<f64>,
    /// Share of each solid that one wash dissolves, with the spread of its logarithm.
    pub washed: Vec<(Formula, f64, f64)>,
    pub crops: Vec<CropRecord>,
    /// What the bath holds dissolved, mol.
    pub dissolved: Vec<(SpeciesIndex, f64)>,
    /// Foreign solids in the books.
    pub booked: Vec<BesideRecord>,
}

impl WetRecord {
    /// Of a step of which nothing is known yet.
    fn of(step: usize) -> Self {
        Self {
            step,
            bath: None,
            answer: Err(String::new()),
            open: Vec::new(),
            washed: Vec::new(),
            crops: Vec::new(),
            dissolved: Vec::new(),
            booked: Vec::new(),
        }
    }

    /// Spread that the open amounts of the bath make, given how a figure follows each.
    pub fn spread_of_amounts(&self, expected: &Expected, follows: impl Fn(&Sensitivity) -> f64) -> f64 {
        let Some(bath) = &self.bath else { return 0.0 };
        let open = |formula: &Formula| {
            let of = bath.substances.iter().zip(&self.open).filter(|((f, _, _), _)| alike(f, formula));
            of.map(|(_, open)| *open).fold(0.0, f64::max)
        };
        let parts = expected.sensitivities.iter().map(|s| follows(s) * open(&s.substance));
        parts.fold(0.0, f64::hypot)
    }

    /// Whether a share that stays dissolved is taken as a prior: estimates beyond the model only where it is small.
    pub fn believed(&self, share: f64) -> bool {
        let within = self.answer.as_ref().is_ok_and(|expected| expected.within);
        share < BELIEVED || (within && share < 0.95)
    }

    /// What stays dissolved of a written solid: share and spread of its logarithm, all causes together.
    pub fn stays(&self, solid: &Formula) -> Option<(f64, f64)> {
        let expected = self.answer.as_ref().ok()?;
        let place = expected.stays.iter().position(|s| alike(&s.solid, solid))?;
        let Stays { share, causes, .. } = expected.stays[place];
        let amounts = self.spread_of_amounts(expected, |s| s.shares.get(place).copied().unwrap_or(0.0));
        Some((share, causes.total().hypot(amounts).max(LEAST_SPREAD)))
    }
}

/// The prior of a conversion of which a share stays dissolved; what is usually unfinished comes on top.
fn conversion(share: f64, spread: f64) -> Prior {
    let unfinished = 1.0 / (losses::CONVERSION_SHAPE + 1.0);
    let (whole, deviation) = (share + unfinished, (spread * share).hypot(unfinished));
    if deviation >= WIDE * whole {
        Prior::Beta { alpha: (1.0 / whole - 1.0).max(1e-3), beta: 1.0 }
    } else {
        Prior::TruncatedNormal { mean: 1.0 - whole, deviation, low: 0.0, high: 1.0 }
    }
}

/// The temperature written for a step, K, within what the tables of solutions reach.
fn temperature(step: &Step) -> Option<f64> {
    let quantity = Quantity::parse_as(step.temperature.as_deref()?, Dimension::TEMPERATURE).ok()?;
    let value = quantity.si().central();
    (273.15..=373.15).contains(&value).then_some(value)
}

/// Amounts in a lot at the medians, and how open each is (standard uncertainty of its logarithm).
struct Held {
    amounts: Vec<f64>,
    open: Vec<f64>,
}

impl<'a> Builder<'a> {
    /// What a reaction consumes and produces, per mole.
    pub(super) fn sides(&mut self, reaction: &Reaction) -> [Vec<(SpeciesIndex, f64)>; 2] {
        let (mut consumed, mut produced) = (Vec::new(), Vec::new());
        for (k, species) in reaction.species.iter().enumerate() {
            let coefficient = reaction.coefficient_f64(k);
            let index = self.table.intern(species);
            if coefficient < 0.0 {
                consumed.push((index, -coefficient));
            } else {
                produced.push((index, coefficient));
            }
        }
        [consumed, produced]
    }

    /// Runs the ledger as it stands, with further operations, and looks into a lot.
    fn look(&mut self, lot: Lot, further: Vec<Operation>, notes: &[usize]) -> Held {
        let mut ledger = self.ledger.clone();
        ledger.molar_mass = (0..self.table.len()).map(|s| self.table.molar_mass(s)).collect();
        ledger.state = (0..self.table.len()).map(|s| self.table.state(s)).collect();
        ledger.lots = self.lots.len();
        ledger.operations.extend(further);
        ledger.finished.resize(self.lots.len(), ledger.operations.len());
        ledger.drawn = vec![self.drawn];
        ledger.notes = self.notes.iter().map(|note| note.consumed.len()).chain(notes.iter().copied()).collect();
        let dimension = ledger.unknowns.len();
        let mut room = Workspace::<f64>::new(&ledger);
        ledger.run(&vec![0.0; dimension], &mut room);
        let amounts = room.now(lot).amounts.to_vec();
        let (mut sum, mut squares) = (vec![0.0; amounts.len()], vec![0.0; amounts.len()]);
        let (cube, width) = self.table.cube(dimension);
        for z in cube.chunks(width) {
            ledger.run(&z[..dimension], &mut room);
            for ((amount, sum), squares) in room.now(lot).amounts.iter().zip(&mut sum).zip(&mut squares) {
                *sum += amount;
                *squares += amount * amount;
            }
        }
        let count = (cube.len() / width) as f64;
        let spread = |(sum, squares): (&f64, &f64)| {
            let mean = sum / count;
            let variance = (squares / count - mean * mean).max(0.0);
            if mean > 0.0 { (variance.sqrt() / mean).min(1.0) } else { 0.0 }
        };
        let open = sum.iter().zip(&squares).map(spread).collect();
        Held { amounts, open }
    }

    /// What a lot holds as a bath.
    fn bath(&self, held: &Held, temperature: f64) -> (Bath, Vec<f64>) {
        let mut bath = Bath { substances: Vec::new(), written: Vec::new(), water: 0.0, temperature, dose: None };
        let mut open = Vec::new();
        for (index, amount) in held.amounts.iter().enumerate().filter(|(_, amount)| **amount > 0.0) {
            let species = self.table.species(index);
            match species.phase {
                _ if self.table.host(index).is_some() => {}
                Some(Phase::Gas) => {}
                Some(Phase::Liquid) if self.table.is_water(index) => {
                    bath.water += amount * self.table.molar_mass(index)
                }
                phase => {
                    let solid = !matches!(phase, Some(Phase::Aqueous | Phase::Liquid));
                    bath.substances.push((species.formula.clone(), *amount, solid));
                    open.push(held.open[index]);
                }
            }
        }
        (bath, open)
    }

    /// What a lot holds dissolved, the most first; without water, and what water took up of a precipitate.
    fn dissolved(&self, held: &Held) -> Vec<(SpeciesIndex, f64)> {
        let is_dissolved = |index: &SpeciesIndex| {
            let species = self.table.species(*index);
            let fluid = matches!(species.phase, Some(Phase::Aqueous | Phase::Liquid));
            fluid && !self.table.is_water(*index) && !self.table.is_sparing(*index) && self.table.host(*index).is_none()
        };
        let there =
            held.amounts.iter().copied().enumerate().filter(|(index, amount)| *amount > 0.0 && is_dissolved(index));
        let mut list: Vec<(SpeciesIndex, f64)> = there.collect();
        list.sort_by(|a, b| b.1.total_cmp(&a.1));
        list
    }

    /// What the tables say of the step that works in this lot, before its reactions are written into the ledger.
    pub(super) fn expect(&mut self, i: usize, step: &'a Step, lot: Lot, vent: Lot) {
        let wet = step.action.value.is_wet() && !matches!(step.action.value, Action::Crystallise | Action::Evaporate);
        if !wet || (step.reactions.is_empty() && step.action.value != Action::AdjustPh) {
            return;
        }
        let (mut further, mut notes, mut written) = (Vec::new(), Vec::new(), Vec::new());
        for reaction in &step.reactions {
            let [consumed, produced] = self.sides(&reaction.value);
            let solid = |(s, _): &&(SpeciesIndex, f64)| self.table.species(*s).phase == Some(Phase::Solid);
            written.extend(produced.iter().filter(solid).map(|(s, _)| self.table.species(*s).formula.clone()));
            notes.push(consumed.len());
            let note = self.notes.len() + notes.len() - 1;
            let (consumed, produced): (Amounts, Amounts) = (consumed.into(), produced.into());
            further.push(Operation::React { lot, consumed, produced, conversion: Value::Constant(1.0), note });
        }
        further.push(Operation::Vent { lot, vent });
        let held = self.look(lot, further, &notes);
        let (mut bath, open) = self.bath(&held, temperature(step).unwrap_or(ROOM));
        bath.written = written;
        bath.dose = step.ph.as_ref().and_then(|ph| Some((self.dosed(step)?, ph.value)));
        let answer = expected(&bath);
        let dissolved = self.dissolved(&held);
        self.wet.push(WetRecord { bath: Some(bath), answer, open, dissolved, ..WetRecord::of(i) });
    }

    /// The substance that brings the pH about: what the supply charged last holds.
    fn dosed(&self, step: &Step) -> Option<Formula> {
        let charged = step.take.iter().rev().filter_map(|take| self.preparation.supply(&take.source.value));
        let holds = charged.filter_map(|supply| self.preparation.supplies[supply].holds.first());
        holds
            .map(|species| species.value.formula.without_hydrate_water())
            .find(|f| !f.same_substance(&Formula::water()))
    }

    /// The conversion of a reaction of a wet step by what stays dissolved of its solids; none where the tables are silent.
    pub(super) fn dissolved_loss(&mut self, i: usize, produced: &[(SpeciesIndex, f64)]) -> Option<Value> {
        let solids = produced.iter().map(|(s, _)| self.table.species(*s));
        let solids: Vec<Species> = solids.filter(|species| species.phase == Some(Phase::Solid)).cloned().collect();
        self.fallen.extend(solids.iter().map(|species| species.formula.clone()));
        let record = self.wet.iter().find(|record| record.step == i)?;
        let shares: Vec<(f64, f64)> = solids.iter().filter_map(|species| record.stays(&species.formula)).collect();
        let (share, spread) = shares.into_iter().max_by(|a, b| a.0.total_cmp(&b.0))?;
        (share >= WASHED && record.believed(share)).then(|| self.prior(conversion(share, spread)))
    }

    /// What one wash dissolves of the cake, of solids that fell out or crystallised: with their share.
    pub(super) fn washed(&mut self, i: usize, step: &Step, cake: Lot, portion: f64) -> Vec<(SpeciesIndex, Value)> {
        if step.action.value.is_wet() || self.fallen.is_empty() {
            return Vec::new();
        }
        let held = self.look(cake, Vec::new(), &[]);
        let (mut bath, _) = self.bath(&held, ROOM);
        // What the cake holds is saturated already.
        bath.water = portion;
        bath.substances.retain(|(formula, _, solid)| *solid && self.fallen.iter().any(|own| alike(own, formula)));
        bath.written = bath.substances.iter().map(|(formula, _, _)| formula.clone()).collect();
        bath.written.truncate(4);
        if bath.substances.is_empty() {
            return Vec::new();
        }
        let Ok(expected) = expected(&bath) else { return Vec::new() };
        let mut list = Vec::new();
        for stays in &expected.stays {
            let solid = Species::new(stays.solid.clone(), Some(Phase::Solid));
            if stays.share >= WASHED && (stays.share < BELIEVED || expected.within) {
                let share = self.prior(taken_up(stays.share));
                list.push((self.table.intern(&solid), share));
            }
        }
        let washed = expected.stays.iter().map(|s| (s.solid.clone(), s.share, s.causes.total())).collect();
        self.wet.push(WetRecord { washed, ..WetRecord::of(i) });
        list
    }

    /// Dissolves a share of a solid of the cake in wash water.
    pub(super) fn take_up(&mut self, cake: Lot, solid: SpeciesIndex, share: Value) {
        let formula = self.table.species(solid).formula.clone();
        let water_count = chem::formula::to_f64(formula.hydrate_water());
        let mut into = vec![(self.table.taken_up(&formula.without_hydrate_water()), 1.0)];
        if water_count > 0.0 {
            into.push((self.table.water(Phase::Liquid), water_count));
        }
        self.transform(cake, solid, into, share);
    }

    /// The share of a salt that separates as crystals, by its solubility; none where the table is silent or the liquor is
    /// not saturated.
    pub(super) fn crop(&mut self, i: usize, lot: Lot, crystals: &Species) -> Option<Value> {
        self.fallen.push(crystals.formula.clone());
        let step = &self.preparation.steps[i];
        let salt = Salt::of(&crystals.formula)?;
        let curve = curve(salt)?;
        let held = self.look(lot, Vec::new(), &[]);
        let dissolved = self.table.formula(&crystals.formula.without_hydrate_water(), Phase::Aqueous);
        let liquid = self.table.water(Phase::Liquid);
        let of = |index: SpeciesIndex| held.amounts.get(index).copied().unwrap_or(0.0) * self.table.molar_mass(index);
        let open = |index: SpeciesIndex| held.open.get(index).copied().unwrap_or(0.0);
        let removed = step.removes.map_or(0.0, Knowledge::central);
        let liquor = Liquor { salt: of(dissolved), water: (of(liquid) - removed).max(0.0) };
        let (at, off) = temperature(step).map_or(COLD, |at| (at, COLD.1));
        let share = |liquor: Liquor, at: f64| Some(curve.crop(liquor, at)?.salt / liquor.salt);
        let (value, crop) = (share(liquor, at)?, curve.crop(liquor, at)?);
        let more = |factor: f64| Liquor { water: liquor.water * factor, ..liquor };
        let by_water = (share(more(1.01), at)? - value) / 0.01;
        let warmer = share(liquor, at + 1.0).or_else(|| Some(2.0 * value - share(liquor, at - 1.0)?))?;
        // A higher solubility takes as much salt as more water does.
        let amounts = open(liquid).hypot(open(dissolved)).hypot(HANDBOOK);
        let spread = (by_water * amounts).hypot((warmer - value) * off).max(0.01);
        let saturated = value > CROP && value.is_finite();
        let record = CropRecord {
            crystals: crystals.formula.clone(),
            at,
            share: saturated.then_some((value, spread)),
            per_kelvin: warmer - value,
            takes: crop.water,
            too_much_water: curve.evaporation_to_saturation(liquor, at).unwrap_or(0.0).max(0.0),
        };
        self.wet.push(WetRecord { crops: vec![record], ..WetRecord::of(i) });
        let prior = Prior::TruncatedNormal { mean: value, deviation: spread, low: 0.0, high: 1.0 };
        saturated.then(|| self.prior(prior))
    }
}

/// The prior of a share that wash water takes up: at most what saturates it, as a mean half of that is the least to say.
fn taken_up(share: f64) -> Prior {
    Prior::Uniform { low: 0.0, high: share.min(losses::MOST_WASHED) }
}
