//! What a claim about a lot looks at: masses, contents and recovery, draw by draw of the books.

use super::books::Books;
use super::claim::Look;
use chem::{Element, Formula};
use std::cell::RefCell;
use std::collections::HashMap;

impl Books<'_> {
    /// What a claim about a lot looks at, draw by draw.
    pub fn looks(&self, name: &str) -> Option<Looks<'_>> {
        let lot = self.compiled.lot(name)?;
        let column = self.reported.iter().position(|reported| *reported == lot)?;
        let carried = match self.elements.is_empty() {
            true => None,
            false if Some(lot) == self.roles.product => Some(self.streams[0].clone()),
            false => {
                let held = &self.held[column];
                let counts = held.at_places(|s| self.counts[0][s]);
                Some(held.rows().map(|row| row.iter().zip(&counts).map(|(n, c)| n * c).sum()).collect())
            }
        };
        Some(Looks { books: self, column, carried })
    }
}

/// The draws of a lot, as a claim looks at them.
pub(crate) struct Looks<'a> {
    books: &'a Books<'a>,
    column: usize,
    /// Amount of the first element that the lot carries, mol, per draw.
    carried: Option<Vec<f64>>,
}

impl Looks<'_> {
    /// What `of` makes of each draw.
    pub fn iter<T>(&self, of: impl Fn(&Look<'_>) -> T) -> Vec<T> {
        let books = self.books;
        let held = &books.held[self.column];
        let molar = held.at_places(|s| books.table.molar_mass(s));
        let counts: RefCell<HashMap<Element, Vec<f64>>> = RefCell::default();
        let same: RefCell<Vec<(Formula, Vec<usize>)>> = RefCell::default();
        let draws = held.rows().enumerate();
        draws
            .map(|(i, row)| {
                let (amounts, foreign) = row.split_at(molar.len());
                let mass = amounts.iter().zip(&molar).map(|(n, m)| n * m).sum::<f64>() + foreign.iter().sum::<f64>();
                let substance = |formula: &Formula| {
                    let mut known = same.borrow_mut();
                    if !known.iter().any(|(own, _)| own == formula) {
                        let alike = |s: &usize| books.table.species(held.species[*s]).formula.same_substance(formula);
                        known.push((formula.clone(), (0..molar.len()).filter(alike).collect()));
                    }
                    let species = known.iter().find(|(own, _)| own == formula);
                    species.map_or(0.0, |(_, species)| species.iter().map(|s| amounts[*s] * molar[*s]).sum())
                };
                let element = |element: Element| {
                    let mut known = counts.borrow_mut();
                    let counts = known.entry(element).or_insert_with(|| {
                        let all = books.table.counts(element);
                        held.at_places(|s| all[s])
                    });
                    let atomic = element.atomic_weight().map_or(f64::NAN, |w| w.value * 1e-3);
                    atomic * amounts.iter().zip(counts).map(|(n, c)| n * *c).sum::<f64>()
                };
                let fed = books.feed.first().and_then(|feed| feed.get(i)).copied().unwrap_or(0.0);
                let carried = self.carried.as_ref().and_then(|carried| carried.get(i)).copied().unwrap_or(0.0);
                let recovered = if fed > 0.0 { carried / fed } else { 0.0 };
                of(&Look { mass, substance: &substance, element: &element, recovered })
            })
            .collect()
    }
}
