//! How many moles does a charge bring, and how much of the elements accounted for?
//!
//! By what is known of the supply beforehand: its label, its assay, or an account of its own. Hydrates of one salt count
//! together, under the salt alone where the supply may hold several. Plain water is left out: it is the bulk of every
//! bath, and its moles decide nothing.

use super::super::compile::{ChargeRecord, Compiled};
use super::super::interval;
use super::super::table::SpeciesTable;
use crate::model::Preparation;
use crate::outcome::Interval;
use chem::{Element, Formula};
use engine::ledger::{Contents, SpeciesIndex};

/// Mass of a mole of an element's atoms, kg.
#[derive(Clone)]
struct Sought {
    element: Element,
    molar_mass: f64,
    /// Atoms in each species.
    counts: Vec<f64>,
    column: Vec<f64>,
}

/// What one charge brings, draw by draw.
#[derive(Clone)]
pub(super) struct Brought {
    /// Name, species that count together, and mol in each draw.
    salts: Vec<(String, Vec<SpeciesIndex>, Vec<f64>)>,
    sought: Vec<Sought>,
}

impl Brought {
    pub fn new(preparation: &Preparation, table: &SpeciesTable, everything: &Compiled, charge: &ChargeRecord) -> Self {
        let parts = everything.ledger.supplies.get(charge.supply).map_or(&[][..], |supply| &supply.parts);
        let mut salts: Vec<(Formula, String, Vec<SpeciesIndex>)> = Vec::new();
        for (index, _) in parts {
            if table.is_water(*index) {
                continue;
            }
            let species = table.species(*index);
            let salt = species.formula.without_hydrate_water();
            match salts.iter_mut().find(|(known, ..)| known.same_substance(&salt)) {
                Some((_, name, together)) => {
                    *name = salt.to_string();
                    together.push(*index);
                }
                None => salts.push((salt, species.formula.to_string(), vec![*index])),
            }
        }
        let sought = preparation.account_for.iter().map(|element| Sought {
            element: *element,
            molar_mass: element.atomic_weight().map_or(f64::NAN, |weight| weight.value * 1e-3),
            counts: table.counts(*element),
            column: Vec::new(),
        });
        Self {
            salts: salts.into_iter().map(|(_, name, together)| (name, together, Vec::new())).collect(),
            sought: sought.collect(),
        }
    }

    /// One draw: mass of the charge, kg, and what a kilogram of the supply holds.
    pub fn add(&mut self, mass: f64, held: Contents<'_, f64>) {
        for (_, together, column) in &mut self.salts {
            column.push(mass * together.iter().filter_map(|s| held.amounts.get(*s)).sum::<f64>());
        }
        for sought in &mut self.sought {
            let atoms: f64 = held.amounts.iter().zip(&sought.counts).map(|(amount, count)| amount * count).sum();
            sought.column.push(mass * atoms * sought.molar_mass);
        }
    }

    /// All columns of draws.
    pub fn columns(&mut self) -> impl Iterator<Item = &mut Vec<f64>> {
        let sought = self.sought.iter_mut().map(|sought| &mut sought.column);
        self.salts.iter_mut().map(|(.., column)| column).chain(sought)
    }

    pub fn substances(&self, weights: &[f64]) -> Vec<(String, Interval)> {
        let told = |(name, _, column): &(String, Vec<SpeciesIndex>, Vec<f64>)| {
            (name.clone(), interval(column, weights, "mol", Some("by what is known of the supply")))
        };
        self.salts.iter().map(told).collect()
    }

    /// Elements that the charge does bring, g.
    pub fn elements(&self, weights: &[f64]) -> Vec<(String, Interval)> {
        let told = |sought: &Sought| {
            let grams: Vec<f64> = sought.column.iter().map(|kilograms| kilograms * 1e3).collect();
            let told = interval(&grams, weights, "g", Some("by what is known of the supply"));
            (told.high > 0.0).then(|| (sought.element.symbol().to_owned(), told))
        };
        self.sought.iter().filter_map(told).collect()
    }
}
