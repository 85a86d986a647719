//! Which species can ever be in a lot?
//!
//! A preparation names many species and most lots hold few. The question is answered once, from the operations alone:
//! whatever the unknowns are, nothing else is ever there. Species are numbered as the file brings them up, so what a lot
//! can hold ends early in its row; the forward run leaves out the rest.

use super::{Ledger, Lot, Operation, SpeciesIndex, State};

/// Species of a word of bits.
const BITS: usize = u64::BITS as usize;

/// For each lot, a bit for each species that can ever be in it.
pub(super) struct Reach {
    words: usize,
    bits: Vec<u64>,
}

impl Reach {
    /// What the operations of a ledger bring where.
    pub(super) fn of(ledger: &Ledger) -> Self {
        let words = ledger.molar_mass.len().div_ceil(BITS);
        let mut reach = Self { words, bits: vec![0; words * ledger.lots] };
        for operation in &ledger.operations {
            reach.follow(operation, ledger);
        }
        reach
    }

    /// Number of the first species from which on none is ever in a lot.
    pub(super) fn end(&self, lot: Lot) -> usize {
        let held = self.row(lot).iter().rposition(|word| *word != 0);
        held.map_or(0, |last| (last + 1) * BITS - self.row(lot)[last].leading_zeros() as usize)
    }

    /// Species that can be in a lot, in their order.
    pub(super) fn species(&self, lot: Lot) -> impl Iterator<Item = SpeciesIndex> {
        (0..self.end(lot)).filter(move |species| self.holds(lot, *species))
    }

    fn row(&self, lot: Lot) -> &[u64] {
        &self.bits[lot * self.words..(lot + 1) * self.words]
    }

    fn holds(&self, lot: Lot, species: SpeciesIndex) -> bool {
        self.row(lot)[species / BITS] >> (species % BITS) & 1 == 1
    }

    fn raise(&mut self, lot: Lot, species: SpeciesIndex) {
        self.bits[lot * self.words + species / BITS] |= 1 << (species % BITS);
    }

    fn pour(&mut self, from: Lot, into: Lot) {
        for word in 0..self.words {
            self.bits[into * self.words + word] |= self.bits[from * self.words + word];
        }
    }

    fn follow(&mut self, operation: &Operation, ledger: &Ledger) {
        match operation {
            Operation::Charge { supply, into, .. } => {
                for (species, _) in &ledger.supplies[*supply].parts {
                    self.raise(*into, *species);
                }
            }
            Operation::Move { from, into } | Operation::Portion { from, into, .. } => self.pour(*from, *into),
            Operation::Lose { lot: from, lost: into, .. } | Operation::Separate { cake: from, liquor: into, .. } => {
                self.pour(*from, *into);
            }
            Operation::Transform { lot, into: made, .. } | Operation::React { lot, produced: made, .. } => {
                for (species, _) in made {
                    self.raise(*lot, *species);
                }
            }
            Operation::Vent { lot, vent } => {
                for (species, state) in ledger.state.iter().enumerate() {
                    if *state == State::Gas && self.holds(*lot, species) {
                        self.raise(*vent, species);
                    }
                }
            }
            Operation::Boil { gas, vent, .. } => self.raise(*vent, *gas),
            Operation::Evaporate { pairs, vent, .. } => {
                for (_, gas) in pairs {
                    self.raise(*vent, *gas);
                }
            }
            Operation::Solidify { lot, pairs } => {
                for (_, solid) in pairs {
                    self.raise(*lot, *solid);
                }
            }
            Operation::Convert { lot, into, exchange, surroundings, .. } => {
                self.raise(*lot, *into);
                for (gas, _) in exchange {
                    self.raise(surroundings.vent, *gas);
                    self.raise(surroundings.drawn, *gas);
                }
            }
            Operation::Hydrate { lot, bound: kept, vapour, surroundings, .. }
            | Operation::Moisten { lot, liquid: kept, vapour, surroundings, .. } => {
                self.raise(*lot, *kept);
                self.raise(surroundings.drawn, *vapour);
            }
            Operation::Occlude { lot, solid, drawn, .. } => {
                self.raise(*lot, *solid);
                self.raise(*drawn, *solid);
            }
            Operation::Burn { .. } | Operation::PickUp { .. } => {}
        }
    }
}
