//! What is in each lot, given the unknowns?
//!
//! A lot is a row: amounts of species (mol) and masses of four kinds of foreign matter (kg). A supply is a
//! composition per kg that depends on unknowns. The forward run applies the operations in order; it is
//! written over [`Scalar`] and allocates nothing. Matter moves only through [`Operation`]s, so every element
//! balances by construction; what came from the surroundings is kept in lots marked as drawn.
//!
//! Neglected: concentration gradients within a lot (everything a step takes is well mixed), reactions that
//! the file does not list.

mod operation;
mod prior;

pub use operation::*;
pub use prior::{Prior, Unknown, normal_cdf, normal_density};

use crate::scalar::Scalar;

/// What one kilogram of a supply holds.
#[derive(Clone, Debug)]
pub struct Supply {
    /// Mass fraction of the named substances together.
    pub assay: Value,
    /// The named substances (species, kg/mol) with the stick that cuts each share from what is left.
    pub parts: Vec<(SpeciesIndex, Value)>,
    /// The sticks that divide the rest among the kinds of foreign matter.
    pub rest: [Value; FOREIGN_KINDS],
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
    /// Lots that hold what was drawn from the surroundings; they count negative in a balance.
    pub drawn: Vec<Lot>,
    /// Operations in order.
    pub operations: Vec<Operation>,
    /// Number of reactions that note their limiting reagent.
    pub notes: usize,
    /// Unknowns.
    pub unknowns: Vec<Unknown>,
}

/// Room for one forward run.
#[derive(Clone, Debug)]
pub struct Workspace<S> {
    width: usize,
    species: usize,
    unknowns: Vec<S>,
    supplies: Vec<S>,
    now: Vec<S>,
    given: Vec<S>,
    /// For each noted reaction: which of its consumed species limited.
    pub limiting: Vec<usize>,
    /// For each noted reaction: extent that each of the first four consumed species would allow, mol.
    pub allowed: Vec<[f64; 4]>,
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
        Self {
            width,
            species,
            unknowns: vec![zero; ledger.unknowns.len()],
            supplies: vec![zero; ledger.supplies.len() * width],
            now: vec![zero; ledger.lots * width],
            given: vec![zero; ledger.lots * width],
            limiting: vec![0; ledger.notes],
            allowed: vec![[f64::INFINITY; 4]; ledger.notes],
            scale: 1.0,
        }
    }

    /// Contents of a lot when its step was finished: species (mol), then foreign matter (kg).
    #[must_use]
    pub fn given(&self, lot: Lot) -> &[S] {
        self.given.get(lot * self.width..(lot + 1) * self.width).unwrap_or(&[])
    }

    /// What is in a lot now, at the end of the run or of the operation observed.
    #[must_use]
    pub fn now(&self, lot: Lot) -> &[S] {
        self.now.get(lot * self.width..(lot + 1) * self.width).unwrap_or(&[])
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
    fn row(&mut self, lot: Lot) -> &mut [S] {
        &mut self.now[lot * self.width..(lot + 1) * self.width]
    }

    #[inline]
    fn amount(&mut self, lot: Lot, species: SpeciesIndex) -> &mut S {
        &mut self.now[lot * self.width + species]
    }

    /// Two rows at once; the operations never name the same lot twice.
    #[inline]
    fn pair(&mut self, a: Lot, b: Lot) -> (&mut [S], &mut [S]) {
        let w = self.width;
        if a < b {
            let (left, right) = self.now.split_at_mut(b * w);
            (&mut left[a * w..(a + 1) * w], &mut right[..w])
        } else {
            let (left, right) = self.now.split_at_mut(a * w);
            (&mut right[..w], &mut left[b * w..(b + 1) * w])
        }
    }

    #[inline]
    fn transfer(&mut self, from: Lot, into: Lot, fraction: S) {
        let (source, target) = self.pair(from, into);
        for (s, t) in source.iter_mut().zip(target.iter_mut()) {
            let part = *s * fraction;
            *t += part;
            *s -= part;
        }
    }

    #[inline]
    fn transfer_all(&mut self, from: Lot, into: Lot) {
        let zero = S::constant(0.0);
        let (source, target) = self.pair(from, into);
        for (s, t) in source.iter_mut().zip(target.iter_mut()) {
            *t += *s;
            *s = zero;
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

impl Ledger {
    /// Mass of a row, kg.
    #[must_use]
    pub fn mass<S: Scalar>(&self, row: &[S]) -> S {
        let species = self.molar_mass.len();
        let mut mass = S::constant(0.0);
        for (amount, molar_mass) in row.iter().zip(&self.molar_mass) {
            mass += *amount * *molar_mass;
        }
        for foreign in row.iter().skip(species) {
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
        for operation in self.operations.iter().take(count) {
            self.apply(operation, room);
        }
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

    fn start<S: Scalar>(&self, z: &[S], room: &mut Workspace<S>) {
        for ((slot, unknown), z) in room.unknowns.iter_mut().zip(&self.unknowns).zip(z) {
            *slot = unknown.image(*z);
        }
        self.compose_supplies(room);
        room.now.fill(S::constant(0.0));
    }

    /// Amounts per kg of each supply.
    fn compose_supplies<S: Scalar>(&self, room: &mut Workspace<S>) {
        room.supplies.fill(S::constant(0.0));
        for (i, supply) in self.supplies.iter().enumerate() {
            let base = i * room.width;
            let assay = room.value(supply.assay);
            let mut left = assay;
            for (species, stick) in &supply.parts {
                let part = left * room.value(*stick);
                left -= part;
                room.supplies[base + species] += part * (1.0 / self.molar_mass[*species]);
            }
            let mut left = S::constant(1.0) - assay;
            for (kind, stick) in supply.rest.iter().enumerate() {
                let part = left * room.value(*stick);
                left -= part;
                room.supplies[base + room.species + kind] += part;
            }
        }
    }

    fn apply<S: Scalar>(&self, operation: &Operation, room: &mut Workspace<S>) {
        match operation {
            Operation::Charge { supply, mass, into } => {
                let mass = room.value(*mass) * room.scale;
                let (w, base) = (room.width, supply * room.width);
                for j in 0..w {
                    let part = room.supplies[base + j] * mass;
                    room.now[into * w + j] += part;
                }
            }
            Operation::Move { from, into } => room.transfer_all(*from, *into),
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
                for (j, state) in self.state.iter().enumerate() {
                    if *state == State::Gas {
                        let amount = *room.amount(*lot, j);
                        *room.amount(*lot, j) = S::constant(0.0);
                        *room.amount(*vent, j) += amount;
                    }
                }
            }
            Operation::Separate { cake, liquor, passes, held, held_per_solid } => {
                self.separate(*cake, *liquor, [*passes, *held, *held_per_solid], room);
            }
            Operation::Boil { lot, liquid, gas, mass, vent } => {
                let wanted = room.value(*mass) * room.scale * (1.0 / self.molar_mass[*liquid]);
                let amount = wanted.smaller(*room.amount(*lot, *liquid));
                *room.amount(*lot, *liquid) -= amount;
                *room.amount(*vent, *gas) += amount;
            }
            Operation::Evaporate { lot, pairs, vent } => {
                for (condensed, gas) in pairs {
                    let amount = *room.amount(*lot, *condensed);
                    *room.amount(*lot, *condensed) = S::constant(0.0);
                    *room.amount(*vent, *gas) += amount;
                }
            }
            Operation::Solidify { lot, pairs } => {
                for (dissolved, solid) in pairs {
                    let amount = *room.amount(*lot, *dissolved);
                    *room.amount(*lot, *dissolved) = S::constant(0.0);
                    *room.amount(*lot, *solid) += amount;
                }
            }
            Operation::Convert { .. }
            | Operation::Hydrate { .. }
            | Operation::Moisten { .. }
            | Operation::Occlude { .. } => self.compose_solid(operation, room),
            Operation::Burn { lot, vent } => {
                for kind in [SOLUBLE_COMBUSTIBLE, INSOLUBLE_COMBUSTIBLE] {
                    let slot = room.species + kind;
                    let amount = *room.amount(*lot, slot);
                    *room.amount(*lot, slot) = S::constant(0.0);
                    *room.amount(*vent, slot) += amount;
                }
            }
            Operation::Lose { lot, lost, film, fraction } => {
                let mass = self.mass(room.row(*lot));
                if mass.value() > 0.0 {
                    let film = room.value(*film) * room.scale.min(1.0);
                    let share = (film / mass + room.value(*fraction)).smaller(S::constant(1.0));
                    room.transfer(*lot, *lost, share);
                }
            }
            Operation::PickUp { lot, kind, mass, drawn } => {
                let mass = room.value(*mass);
                let slot = room.species + kind;
                *room.amount(*lot, slot) += mass;
                *room.amount(*drawn, slot) += mass;
            }
            Operation::Give { lot } => {
                let (w, lot) = (room.width, *lot);
                room.given[lot * w..(lot + 1) * w].copy_from_slice(&room.now[lot * w..(lot + 1) * w]);
            }
        }
    }

    fn portion<S: Scalar>(&self, from: Lot, into: Lot, mass: Value, room: &mut Workspace<S>) {
        let whole = self.mass(room.row(from));
        let wanted = room.value(mass) * room.scale;
        if whole.value() <= wanted.value() {
            room.transfer_all(from, into);
        } else {
            room.transfer(from, into, wanted / whole);
        }
    }

    /// Solids stay but for what passes; liquor runs but for what is held.
    fn separate<S: Scalar>(&self, cake: Lot, liquor: Lot, values: [Value; 3], room: &mut Workspace<S>) {
        let [passes, held, held_per_solid] = values.map(|v| room.value(v));
        let (zero, species) = (S::constant(0.0), room.species);
        let (mut solids, mut fluid) = (zero, zero);
        for (j, amount) in room.row(cake).iter().enumerate() {
            let mass = self.molar_mass.get(j).map_or(*amount, |m| *amount * *m);
            if self.runs_with_liquor(j, species) { fluid += mass } else { solids += mass }
        }
        let runs = if fluid.value() > 0.0 {
            let held = held.at_least_zero() * room.scale.min(1.0) + held_per_solid * solids;
            (fluid - held.smaller(fluid)) / fluid
        } else {
            zero
        };
        let (source, target) = room.pair(cake, liquor);
        for (j, (s, t)) in source.iter_mut().zip(target.iter_mut()).enumerate() {
            let part = *s * if self.runs_with_liquor(j, species) { runs } else { passes };
            *s -= part;
            *t += part;
        }
    }

    #[inline]
    fn runs_with_liquor(&self, slot: usize, species: usize) -> bool {
        match self.state.get(slot) {
            Some(state) => matches!(state, State::Liquid | State::Dissolved),
            None => slot - species <= SOLUBLE_COMBUSTIBLE,
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
                let dry = self.mass(room.row(*lot));
                let fraction = room.value(*fraction);
                let water = dry * fraction / (S::constant(1.0) - fraction);
                let need = water * (1.0 / self.molar_mass[*liquid]);
                room.draw(*surroundings, *vapour, need);
                *room.amount(*lot, *liquid) += need;
            }
            Operation::Occlude { liquor, dissolved, lot, solid, fraction, drawn } => {
                let rest = self.mass(room.row(*lot));
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
