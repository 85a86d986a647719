//! What is in each lot, given the unknowns?
//!
//! A lot is a row: masses of four kinds of foreign matter (kg) and amounts of species (mol). A supply is a
//! composition per kg that depends on unknowns. The forward run applies the operations in order; it is
//! written over [`Scalar`] and allocates nothing. Matter moves only through [`Operation`]s, so every element
//! balances by construction; what came from the surroundings is kept in lots marked as drawn.
//!
//! Neglected: concentration gradients within a lot (everything a step takes is well mixed), reactions that
//! the file does not list.

mod operation;
mod prior;
mod reach;
mod uses;

pub use operation::*;
pub use prior::{Prior, Unknown, normal_cdf, normal_density};

use crate::scalar::Scalar;
use reach::Reach;
use std::ops::Range;

/// What one kilogram of a supply holds.
#[derive(Clone, Debug)]
pub struct Supply {
    /// Mass fraction of the named substances together.
    pub assay: Value,
    /// The named substances (species, kg/mol) with the stick that cuts each share from what is left.
    pub parts: Vec<(SpeciesIndex, Value)>,
    /// The sticks that divide the rest among the kinds of foreign matter.
    pub rest: [Value; FOREIGN_KINDS],
    /// What is known of the goods by an account of their own; it then stands for all of the above but the species.
    pub analysed: Option<Analysed>,
}

/// The composition of one kilogram as an earlier account left it: a path from station to station.
#[derive(Clone, Debug)]
pub struct Analysed {
    /// Stations, one after the other: amounts of the species of the supply in their order (mol/kg), then masses of foreign
    /// matter (kg/kg); each makes a kilogram.
    pub stations: Vec<f64>,
    /// How far along, 0 to 1.
    pub along: Value,
}

/// A preparation ready to run.
#[derive(Clone, Debug, Default)]
pub struct Ledger {
    /// Molar masses, kg/mol.
    pub molar_mass: Vec<f64>,
    /// State of each species.
    pub state: Vec<State>,
    /// Supplies.
    pub supplies: Vec<Supply>,
    /// Number of lots.
    pub lots: usize,
    /// For each lot: the number of operations after which it is finished and may be weighed.
    pub finished: Vec<usize>,
    /// Lots that hold what was drawn from the surroundings; they count negative in a balance.
    pub drawn: Vec<Lot>,
    /// Operations in order.
    pub operations: Vec<Operation>,
    /// Reactions that note their limiting reagent: how many species each consumes.
    pub notes: Vec<usize>,
    /// Unknowns.
    pub unknowns: Vec<Unknown>,
}

/// What is in a lot.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Contents<'a, S> {
    /// Amounts of the species, mol.
    pub amounts: &'a [S],
    /// Masses of the kinds of foreign matter, kg.
    pub foreign: &'a [S],
}

impl<'a, S> Contents<'a, S> {
    /// All figures: amounts, then foreign masses.
    pub fn all(self) -> impl Iterator<Item = &'a S> {
        self.amounts.iter().chain(self.foreign)
    }

    fn of(row: &'a [S]) -> Self {
        let (foreign, amounts) = row.split_at(FOREIGN_KINDS.min(row.len()));
        Self { amounts, foreign }
    }
}

/// Room for one forward run. A row holds the foreign masses first: what follows them can be cut short.
#[derive(Clone, Debug)]
pub struct Workspace<S> {
    width: usize,
    unknowns: Vec<S>,
    supplies: Vec<S>,
    /// Mass of one unit of each slot: 1 for foreign matter, then molar masses.
    unit_mass: Vec<f64>,
    /// 1 for what runs with the liquor, 0 for what stays.
    fluid: Vec<f64>,
    /// Product of both.
    fluid_mass: Vec<f64>,
    gases: Vec<SpeciesIndex>,
    /// For each lot: nothing from this slot on is ever in it.
    reach: Vec<usize>,
    rows: Vec<S>,
    emptied: Vec<bool>,
    nothing: Vec<S>,
    /// For each noted reaction: which of its consumed species limited.
    pub limiting: Vec<usize>,
    /// For each noted reaction: extent that each consumed species would allow, mol.
    pub allowed: Vec<Vec<f64>>,
    /// Factor on every charge and portion; 1 for the preparation as written.
    pub scale: f64,
}

impl<S: Scalar> Workspace<S> {
    /// Room for runs of this ledger.
    #[must_use]
    pub fn new(ledger: &Ledger) -> Self {
        let species = ledger.molar_mass.len();
        let width = species + FOREIGN_KINDS;
        let zero = S::constant(0.0);
        let unit_mass: Vec<f64> = [1.0; FOREIGN_KINDS].into_iter().chain(ledger.molar_mass.iter().copied()).collect();
        let fluid: Vec<f64> = (0..width).map(|slot| if ledger.runs_with_liquor(slot) { 1.0 } else { 0.0 }).collect();
        let reach = Reach::of(ledger);
        let gases = (0..species).filter(|s| ledger.state.get(*s) == Some(&State::Gas)).collect();
        Self {
            fluid_mass: unit_mass.iter().zip(&fluid).map(|(unit, share)| unit * share).collect(),
            unit_mass,
            fluid,
            gases,
            reach: (0..ledger.lots).map(|lot| FOREIGN_KINDS + reach.end(lot)).collect(),
            width,
            unknowns: vec![zero; ledger.unknowns.len()],
            supplies: vec![zero; ledger.supplies.len() * width],
            rows: vec![zero; ledger.lots * width],
            emptied: vec![false; ledger.lots],
            nothing: vec![zero; width],
            limiting: vec![0; ledger.notes.len()],
            allowed: ledger.notes.iter().map(|count| vec![f64::INFINITY; *count]).collect(),
            scale: 1.0,
        }
    }

    /// Contents of a lot when its step was finished; less what a later step drew from it while it stood.
    #[must_use]
    pub fn given(&self, lot: Lot) -> Contents<'_, S> {
        Contents::of(self.rows.get(lot * self.width..(lot + 1) * self.width).unwrap_or(&self.nothing))
    }

    /// What is in a lot now, at the end of the run or of the operation observed.
    #[must_use]
    pub fn now(&self, lot: Lot) -> Contents<'_, S> {
        let emptied = self.emptied.get(lot).copied().unwrap_or(true);
        if emptied { Contents::of(&self.nothing) } else { self.given(lot) }
    }

    /// What a kilogram of a supply holds in this run, mol/kg and kg/kg.
    #[must_use]
    pub fn supplied(&self, supply: usize) -> Contents<'_, S> {
        Contents::of(self.supplies.get(supply * self.width..(supply + 1) * self.width).unwrap_or(&self.nothing))
    }

    /// Values of the unknowns in this run.
    #[must_use]
    pub fn unknowns(&self) -> &[S] {
        &self.unknowns
    }

    #[inline]
    fn value(&self, value: Value) -> S {
        match value {
            Value::Constant(x) => S::constant(x),
            Value::Unknown(i) => self.unknowns[i],
        }
    }

    #[inline]
    fn amount(&mut self, lot: Lot, species: SpeciesIndex) -> &mut S {
        &mut self.rows[lot * self.width + FOREIGN_KINDS + species]
    }

    #[inline]
    fn foreign(&mut self, lot: Lot, kind: usize) -> &mut S {
        &mut self.rows[lot * self.width + kind]
    }

    /// What the first lot may hold, and as much of the row of the second.
    #[inline]
    fn two_rows(&mut self, from: Lot, into: Lot) -> (&mut [S], &mut [S]) {
        let (reach, width) = (self.reach[from], self.width);
        let (source, target) = two_rows(&mut self.rows, width, from, into);
        (&mut source[..reach], &mut target[..reach])
    }

    #[inline]
    fn transfer(&mut self, from: Lot, into: Lot, fraction: S) {
        let (source, target) = self.two_rows(from, into);
        for (s, t) in source.iter_mut().zip(target) {
            let part = *s * fraction;
            *t += part;
            *s -= part;
        }
    }

    #[inline]
    fn transfer_all(&mut self, from: Lot, into: Lot) {
        self.pour(from, into);
        self.emptied[from] = false;
        self.rows[from * self.width..(from + 1) * self.width].fill(S::constant(0.0));
    }

    /// Pours a lot into another; its own row stays to be read.
    #[inline]
    fn pour(&mut self, from: Lot, into: Lot) {
        self.emptied[from] = true;
        let (source, target) = self.two_rows(from, into);
        for (s, t) in source.iter().zip(target) {
            *t += *s;
        }
    }

    /// Carries all of a species of a lot into a species of a lot.
    #[inline]
    fn carry(&mut self, from: (Lot, SpeciesIndex), into: (Lot, SpeciesIndex)) {
        let amount = std::mem::replace(self.amount(from.0, from.1), S::constant(0.0));
        *self.amount(into.0, into.1) += amount;
    }

    /// Mass of a lot now, kg.
    #[inline]
    fn mass(&self, lot: Lot) -> S {
        weighted(self.row(lot), &self.unit_mass)
    }

    /// What a lot may hold.
    #[inline]
    fn row(&self, lot: Lot) -> &[S] {
        let start = lot * self.width;
        &self.rows[start..start + self.reach[lot]]
    }

    /// Solids stay but for what passes; liquor runs but for what is held.
    fn separate(&mut self, cake: Lot, liquor: Lot, values: [S; 3]) {
        let [passes, held, held_per_solid] = values;
        // A fraction known by a range alone has a tail beyond 1.
        let passes = passes.smaller(S::constant(1.0));
        let row = self.row(cake);
        let (whole, fluid) = (weighted(row, &self.unit_mass), weighted(row, &self.fluid_mass));
        let runs = if fluid.value() > 0.0 {
            // The difference of two sums may miss zero by rounding.
            let solids = (whole - fluid).at_least_zero();
            let held = held.at_least_zero() * self.scale.min(1.0) + held_per_solid * solids;
            // Division and `held` need not wait for each other.
            (S::constant(1.0) - held * (S::constant(1.0) / fluid)).at_least_zero()
        } else {
            S::constant(0.0)
        };
        let reach = self.reach[cake];
        let (source, target) = two_rows(&mut self.rows, self.width, cake, liquor);
        for ((s, t), share) in source[..reach].iter_mut().zip(&mut target[..reach]).zip(&self.fluid) {
            let part = *s * if *share > 0.0 { runs } else { passes };
            *s -= part;
            *t += part;
        }
    }

    /// Takes `need` moles from the surroundings: first what has just left, then the air.
    #[inline]
    fn draw(&mut self, surroundings: Surroundings, species: SpeciesIndex, need: S) {
        let at_hand = *self.amount(surroundings.vent, species);
        let back = need.smaller(at_hand);
        *self.amount(surroundings.vent, species) -= back;
        *self.amount(surroundings.drawn, species) += need - back;
    }
}

/// Two rows at once; no operation names the same lot twice.
#[inline]
fn two_rows<S>(rows: &mut [S], width: usize, a: Lot, b: Lot) -> (&mut [S], &mut [S]) {
    if a < b {
        let (left, right) = rows.split_at_mut(b * width);
        (&mut left[a * width..(a + 1) * width], &mut right[..width])
    } else {
        let (left, right) = rows.split_at_mut(a * width);
        (&mut right[..width], &mut left[b * width..(b + 1) * width])
    }
}

/// Weighted sum of a row, in four strands: one after the other, each addition would wait for the last.
#[inline]
fn weighted<S: Scalar>(row: &[S], weights: &[f64]) -> S {
    let weights = &weights[..row.len()];
    let mut strands = [S::constant(0.0); 4];
    let (mut rows, mut factors) = (row.chunks_exact(4), weights.chunks_exact(4));
    for (row, weights) in rows.by_ref().zip(factors.by_ref()) {
        for ((strand, amount), weight) in strands.iter_mut().zip(row).zip(weights) {
            *strand += *amount * *weight;
        }
    }
    for ((strand, amount), weight) in strands.iter_mut().zip(rows.remainder()).zip(factors.remainder()) {
        *strand += *amount * *weight;
    }
    let [a, b, c, d] = strands;
    (a + b) + (c + d)
}

impl Ledger {
    /// The species that can ever be in each lot, in their order: whatever the unknowns are, no other has an amount there.
    #[must_use]
    pub fn holdable(&self) -> Vec<Vec<SpeciesIndex>> {
        let reach = Reach::of(self);
        (0..self.lots).map(|lot| reach.species(lot).collect()).collect()
    }

    /// Mass of what is in a lot, kg.
    #[must_use]
    pub fn mass<S: Scalar>(&self, contents: Contents<'_, S>) -> S {
        let mut mass = S::constant(0.0);
        for (amount, molar_mass) in contents.amounts.iter().zip(&self.molar_mass) {
            mass += *amount * *molar_mass;
        }
        for foreign in contents.foreign {
            mass += *foreign;
        }
        mass
    }

    /// Runs the preparation at the unit-normal coordinates `z` of its unknowns.
    pub fn run<S: Scalar>(&self, z: &[S], room: &mut Workspace<S>) {
        self.run_part(z, room, self.operations.len());
    }

    /// Runs the first `count` operations.
    pub fn run_part<S: Scalar>(&self, z: &[S], room: &mut Workspace<S>, count: usize) {
        self.start(z, room);
        self.go_on(0..count, room);
    }

    /// Goes on with a run.
    pub(crate) fn go_on<S: Scalar>(&self, operations: Range<usize>, room: &mut Workspace<S>) {
        for operation in self.operations.get(operations).unwrap_or(&[]) {
            self.apply(operation, room);
        }
    }

    /// Begins a run where another stands, at the same coordinates: what it has done so far must not depend on the
    /// directions of these.
    pub(crate) fn start_from<S: Scalar>(&self, z: &[S], plain: &Workspace<f64>, room: &mut Workspace<S>) {
        self.start_values(z, room);
        let rows = room.rows.chunks_exact_mut(room.width).zip(plain.rows.chunks_exact(plain.width));
        for ((row, plain), reach) in rows.zip(&room.reach) {
            row[..*reach].iter_mut().zip(plain).for_each(|(slot, amount)| *slot = S::constant(*amount));
        }
        room.emptied.copy_from_slice(&plain.emptied);
        room.limiting.copy_from_slice(&plain.limiting);
        room.allowed.iter_mut().zip(&plain.allowed).for_each(|(slots, allowed)| slots.copy_from_slice(allowed));
    }

    /// Like [`Ledger::run`], and shows the room to `observe` after each operation.
    pub fn run_observed<S: Scalar>(
        &self,
        z: &[S],
        room: &mut Workspace<S>,
        mut observe: impl FnMut(usize, &Workspace<S>),
    ) {
        self.start(z, room);
        for (i, operation) in self.operations.iter().enumerate() {
            self.apply(operation, room);
            observe(i, room);
        }
    }

    /// Begins a run: values of the unknowns, supplies, empty lots.
    pub(crate) fn start<S: Scalar>(&self, z: &[S], room: &mut Workspace<S>) {
        self.start_values(z, room);
        room.rows.fill(S::constant(0.0));
        room.emptied.fill(false);
    }

    fn start_values<S: Scalar>(&self, z: &[S], room: &mut Workspace<S>) {
        for ((slot, unknown), z) in room.unknowns.iter_mut().zip(&self.unknowns).zip(z) {
            *slot = unknown.image(*z);
        }
        self.compose_supplies(room);
    }

    /// Amounts per kg of each supply.
    fn compose_supplies<S: Scalar>(&self, room: &mut Workspace<S>) {
        room.supplies.fill(S::constant(0.0));
        for (i, supply) in self.supplies.iter().enumerate() {
            let base = i * room.width;
            if let Some(analysed) = &supply.analysed {
                self.compose_analysed(supply, analysed, base, room);
                continue;
            }
            let assay = room.value(supply.assay);
            let mut left = assay;
            for (species, stick) in &supply.parts {
                let part = left * room.value(*stick);
                left -= part;
                room.supplies[base + FOREIGN_KINDS + species] += part * (1.0 / self.molar_mass[*species]);
            }
            let mut left = S::constant(1.0) - assay;
            for (kind, stick) in supply.rest.iter().enumerate() {
                let part = left * room.value(*stick);
                left -= part;
                room.supplies[base + kind] += part;
            }
        }
    }

    fn compose_analysed<S: Scalar>(&self, supply: &Supply, analysed: &Analysed, base: usize, room: &mut Workspace<S>) {
        let width = supply.parts.len() + FOREIGN_KINDS;
        let last = (analysed.stations.len() / width).saturating_sub(1);
        // Stations stand in the middle of their parts of the path.
        let place = room.value(analysed.along) * (last + 1) as f64 - S::constant(0.5);
        let below = place.value().clamp(0.0, last as f64).floor() as usize;
        let (below, above) = (below, (below + 1).min(last));
        let beyond = place.value() < 0.0 || above == below;
        let share = if beyond { S::constant(0.0) } else { place - S::constant(below as f64) };
        let slots = supply.parts.iter().map(|(species, _)| FOREIGN_KINDS + species).chain(0..FOREIGN_KINDS);
        for (k, slot) in slots.enumerate() {
            let (from, to) = (analysed.stations[below * width + k], analysed.stations[above * width + k]);
            room.supplies[base + slot] = S::constant(from) + share * (to - from);
        }
    }

    fn apply<S: Scalar>(&self, operation: &Operation, room: &mut Workspace<S>) {
        match operation {
            Operation::Charge { supply, mass, into } => {
                let mass = room.value(*mass) * room.scale;
                let (w, reach) = (room.width, room.reach[*into]);
                let held = &room.supplies[supply * w..][..reach];
                for (slot, content) in room.rows[into * w..][..reach].iter_mut().zip(held) {
                    *slot += *content * mass;
                }
            }
            Operation::Move { from, into } => room.pour(*from, *into),
            Operation::Portion { from, into, mass } => self.portion(*from, *into, *mass, room),
            Operation::Transform { lot, from, into, share } => {
                let extent = *room.amount(*lot, *from) * room.value(*share);
                *room.amount(*lot, *from) -= extent;
                for (species, coefficient) in into {
                    *room.amount(*lot, *species) += extent * *coefficient;
                }
            }
            Operation::React { lot, consumed, produced, conversion, note } => {
                react(*lot, consumed, produced, *conversion, *note, room);
            }
            Operation::Vent { lot, vent } => {
                for k in 0..room.gases.len() {
                    let gas = room.gases[k];
                    room.carry((*lot, gas), (*vent, gas));
                }
            }
            Operation::Separate { cake, liquor, passes, held, held_per_solid } => {
                let values = [*passes, *held, *held_per_solid].map(|v| room.value(v));
                room.separate(*cake, *liquor, values);
            }
            Operation::Boil { lot, liquid, gas, mass, vent } => {
                let wanted = room.value(*mass) * room.scale * (1.0 / self.molar_mass[*liquid]);
                let amount = wanted.smaller(*room.amount(*lot, *liquid));
                *room.amount(*lot, *liquid) -= amount;
                *room.amount(*vent, *gas) += amount;
            }
            Operation::Evaporate { lot, pairs, vent } => {
                for (condensed, gas) in pairs {
                    room.carry((*lot, *condensed), (*vent, *gas));
                }
            }
            Operation::Solidify { lot, pairs } => {
                for (dissolved, solid) in pairs {
                    room.carry((*lot, *dissolved), (*lot, *solid));
                }
            }
            Operation::Convert { .. }
            | Operation::Hydrate { .. }
            | Operation::Moisten { .. }
            | Operation::Occlude { .. } => self.compose_solid(operation, room),
            Operation::Burn { lot, vent } => {
                for kind in [SOLUBLE_COMBUSTIBLE, INSOLUBLE_COMBUSTIBLE] {
                    let burnt = std::mem::replace(room.foreign(*lot, kind), S::constant(0.0));
                    *room.foreign(*vent, kind) += burnt;
                }
            }
            Operation::Lose { lot, lost, film, fraction } => {
                let mass = room.mass(*lot);
                if mass.value() > 0.0 {
                    let film = room.value(*film) * room.scale.min(1.0);
                    let share = (film / mass + room.value(*fraction)).smaller(S::constant(1.0));
                    room.transfer(*lot, *lost, share);
                }
            }
            Operation::PickUp { lot, kind, mass, drawn } => {
                let mass = room.value(*mass);
                *room.foreign(*lot, *kind) += mass;
                *room.foreign(*drawn, *kind) += mass;
            }
        }
    }

    fn portion<S: Scalar>(&self, from: Lot, into: Lot, mass: Value, room: &mut Workspace<S>) {
        let whole = room.mass(from);
        let wanted = room.value(mass) * room.scale;
        if whole.value() <= wanted.value() {
            room.transfer_all(from, into);
        } else {
            room.transfer(from, into, wanted / whole);
        }
    }

    /// Whether a slot runs with the liquor: liquids, what is dissolved, soluble foreign matter.
    fn runs_with_liquor(&self, slot: usize) -> bool {
        match slot.checked_sub(FOREIGN_KINDS).and_then(|species| self.state.get(species)) {
            Some(state) => matches!(state, State::Liquid | State::Dissolved),
            None => slot <= SOLUBLE_COMBUSTIBLE,
        }
    }

    /// What a dried or ignited lot turns into.
    fn compose_solid<S: Scalar>(&self, operation: &Operation, room: &mut Workspace<S>) {
        match operation {
            Operation::Convert { lot, from, into, gives, exchange, share, surroundings } => {
                let extent = *room.amount(*lot, *from) * room.value(*share);
                *room.amount(*lot, *from) -= extent;
                *room.amount(*lot, *into) += extent * *gives;
                for (gas, coefficient) in exchange {
                    if *coefficient > 0.0 {
                        *room.amount(surroundings.vent, *gas) += extent * *coefficient;
                    } else {
                        room.draw(*surroundings, *gas, extent * -*coefficient);
                    }
                }
            }
            Operation::Hydrate { lot, host, bound, vapour, water, surroundings } => {
                let need = *room.amount(*lot, *host) * room.value(*water);
                room.draw(*surroundings, *vapour, need);
                *room.amount(*lot, *bound) += need;
            }
            Operation::Moisten { lot, liquid, vapour, fraction, surroundings } => {
                let dry = room.mass(*lot);
                let fraction = room.value(*fraction);
                let water = dry * fraction / (S::constant(1.0) - fraction);
                let need = water * (1.0 / self.molar_mass[*liquid]);
                room.draw(*surroundings, *vapour, need);
                *room.amount(*lot, *liquid) += need;
            }
            Operation::Occlude { liquor, dissolved, lot, solid, fraction, drawn } => {
                let rest = room.mass(*lot);
                let fraction = room.value(*fraction);
                let mass = rest * fraction / (S::constant(1.0) - fraction);
                let need = mass * (1.0 / self.molar_mass[*solid]);
                let back = match liquor {
                    Some(liquor) => {
                        let at_hand = *room.amount(*liquor, *dissolved);
                        let back = need.smaller(at_hand);
                        *room.amount(*liquor, *dissolved) -= back;
                        back
                    }
                    None => S::constant(0.0),
                };
                *room.amount(*drawn, *solid) += need - back;
                *room.amount(*lot, *solid) += need;
            }
            _ => {}
        }
    }
}

fn react<S: Scalar>(
    lot: Lot,
    consumed: &[(SpeciesIndex, f64)],
    produced: &[(SpeciesIndex, f64)],
    conversion: Value,
    note: usize,
    room: &mut Workspace<S>,
) {
    let mut extent = S::constant(f64::INFINITY);
    for (k, (species, coefficient)) in consumed.iter().enumerate() {
        let allowed = *room.amount(lot, *species) * (1.0 / coefficient);
        if let Some(slot) = room.allowed[note].get_mut(k) {
            *slot = allowed.value();
        }
        if allowed.value() < extent.value() {
            extent = allowed;
            room.limiting[note] = k;
        }
    }
    if consumed.is_empty() {
        return;
    }
    let extent = extent * room.value(conversion);
    for (species, coefficient) in consumed {
        let slot = room.amount(lot, *species);
        // The limiting reagent may miss zero by rounding; an amount is never negative.
        *slot = (*slot - extent * *coefficient).at_least_zero();
    }
    for (species, coefficient) in produced {
        *room.amount(lot, *species) += extent * *coefficient;
    }
}
