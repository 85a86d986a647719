//! Which species can ever be in a lot?
//!
//! A preparation names many species and most lots hold few. Species are numbered as the file brings them up, so what a
//! lot can hold ends early in its row; the forward run leaves out the rest. The question is answered once, from the
//! operations alone: whatever the unknowns are, nothing beyond is ever there.

use super::{Ledger, Lot, Operation, SpeciesIndex, State};

/// For each lot, the number of the first species from which on none is ever in it.
pub(super) fn of(ledger: &Ledger) -> Vec<usize> {
    let mut reach = Reach(vec![0; ledger.lots]);
    for operation in &ledger.operations {
        reach.follow(operation, ledger);
    }
    reach.0
}

struct Reach(Vec<usize>);

impl Reach {
    fn raise(&mut self, lot: Lot, species: SpeciesIndex) {
        self.0[lot] = self.0[lot].max(species + 1);
    }

    fn pour(&mut self, from: Lot, into: Lot) {
        self.0[into] = self.0[into].max(self.0[from]);
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
                for (species, state) in ledger.state.iter().enumerate().take(self.0[*lot]) {
                    if *state == State::Gas {
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
