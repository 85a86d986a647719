//! What does a lot hold, draw by draw?
//!
//! Columns of a lot are kept for the species that it can hold by any of the compositions; of all species of a preparation
//! that are few, and thousands of draws of dozens of lots are kept at a time.

use super::books::Cloud;
use engine::ledger::{Contents, FOREIGN_KINDS, Lot, SpeciesIndex};
use std::collections::BTreeSet;
use std::ops::Range;

/// What a lot holds in each draw: amounts of the species that it can hold, mol, then masses of foreign matter, kg.
#[derive(Clone)]
pub(crate) struct Held {
    /// The species, in their order.
    pub species: Vec<SpeciesIndex>,
    values: Vec<f64>,
}

impl Held {
    /// Empty columns for lots, of the species that they can hold by any of the compositions.
    pub fn empty(clouds: &[Cloud<'_>], lots: &[Lot]) -> Vec<Self> {
        let holdable: Vec<Vec<Vec<SpeciesIndex>>> =
            clouds.iter().map(|cloud| cloud.compiled.ledger.holdable()).collect();
        let one = |lot: &Lot| {
            let species: BTreeSet<SpeciesIndex> =
                holdable.iter().filter_map(|lots| lots.get(*lot)).flatten().copied().collect();
            Self { species: species.into_iter().collect(), values: Vec::new() }
        };
        lots.iter().map(one).collect()
    }

    /// One row for each draw.
    pub fn rows(&self) -> impl ExactSizeIterator<Item = &[f64]> + Clone {
        self.values.chunks(self.species.len() + FOREIGN_KINDS)
    }

    /// The draws in this range.
    pub fn of(&self, draws: &Range<usize>) -> impl Iterator<Item = &[f64]> + Clone {
        self.rows().skip(draws.start).take(draws.len())
    }

    /// Place of a species in a row.
    pub fn place(&self, species: SpeciesIndex) -> Option<usize> {
        self.species.binary_search(&species).ok()
    }

    /// Figures of all species at the places of those that can be held.
    pub fn at_places(&self, of_species: impl Fn(SpeciesIndex) -> f64) -> Vec<f64> {
        self.species.iter().map(|species| of_species(*species)).collect()
    }

    /// Rows of all species of a table of so many.
    pub fn widened(&self, species: usize) -> Vec<f64> {
        let width = species + FOREIGN_KINDS;
        let mut all = vec![0.0; self.rows().len() * width];
        for (wide, row) in all.chunks_mut(width).zip(self.rows()) {
            let (amounts, foreign) = row.split_at(self.species.len());
            self.species.iter().zip(amounts).for_each(|(s, amount)| wide[*s] = *amount);
            wide[species..].copy_from_slice(foreign);
        }
        all
    }

    /// Adds a draw.
    pub fn add(&mut self, contents: Contents<'_, f64>) {
        // A composition that was compiled before a species was met has no place for it.
        self.values.extend(self.species.iter().map(|s| contents.amounts.get(*s).copied().unwrap_or(0.0)));
        self.values.extend(contents.foreign);
    }

    /// Takes over further draws of the same lot.
    pub fn append(&mut self, further: Self) {
        self.values.extend(further.values);
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// A row of a ledger that knew two species, and one of a ledger that knew four.
    #[test]
    fn a_species_that_a_ledger_did_not_know_is_not_there() {
        let mut held = Held { species: vec![0, 1, 3], values: Vec::new() };
        let foreign = [0.5; FOREIGN_KINDS];
        held.add(Contents { amounts: &[1.0, 2.0], foreign: &foreign });
        held.add(Contents { amounts: &[1.0, 2.0, 0.0, 4.0], foreign: &foreign });
        let amounts: Vec<&[f64]> = held.rows().map(|row| &row[..3]).collect();
        assert_eq!(amounts, [[1.0, 2.0, 0.0], [1.0, 2.0, 4.0]]);
        let wide = held.widened(5);
        assert_eq!(wide[..5], [1.0, 2.0, 0.0, 0.0, 0.0]);
        assert_eq!(wide[5 + FOREIGN_KINDS..][..5], [1.0, 2.0, 0.0, 4.0, 0.0]);
        assert_eq!(held.of(&(1..2)).count(), 1);
    }
}
