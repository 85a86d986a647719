//! Which species does a ledger keep, and what is an element's share of each?

use chem::formula::to_f64;
use chem::{Element, Formula, Phase, Species};
use engine::ledger::{SpeciesIndex, State};

/// Species of a ledger, numbered as they are met.
#[derive(Clone, Debug, Default)]
pub(crate) struct SpeciesTable {
    entries: Vec<Entry>,
}

#[derive(Clone, Debug)]
struct Entry {
    species: Species,
    /// For bound water: the host it is bound to.
    host: Option<SpeciesIndex>,
}

impl SpeciesTable {
    /// Number of a species.
    pub fn intern(&mut self, species: &Species) -> SpeciesIndex {
        self.enter(species, None)
    }

    /// Number of a formula in a phase.
    pub fn formula(&mut self, formula: &Formula, phase: Phase) -> SpeciesIndex {
        self.enter(&Species::new(formula.clone(), Some(phase)), None)
    }

    /// Number of water in a phase.
    pub fn water(&mut self, phase: Phase) -> SpeciesIndex {
        self.formula(&Formula::water(), phase)
    }

    /// Number of the water bound to a host.
    pub fn bound_water(&mut self, host: SpeciesIndex) -> SpeciesIndex {
        self.enter(&Species::new(Formula::water(), Some(Phase::Solid)), Some(host))
    }

    fn enter(&mut self, species: &Species, host: Option<SpeciesIndex>) -> SpeciesIndex {
        if let Some(found) = self.entries.iter().position(|e| e.host == host && e.species == *species) {
            return found;
        }
        self.entries.push(Entry { species: species.clone(), host });
        self.entries.len() - 1
    }

    /// A species by number.
    pub fn species(&self, index: SpeciesIndex) -> &Species {
        &self.entries[index].species
    }

    /// The host of bound water.
    pub fn host(&self, index: SpeciesIndex) -> Option<SpeciesIndex> {
        self.entries[index].host
    }

    /// Number of species.
    pub fn len(&self) -> usize {
        self.entries.len()
    }

    /// State of a species at a filter and on heating.
    pub fn state(&self, index: SpeciesIndex) -> State {
        match self.species(index).phase {
            Some(Phase::Liquid) => State::Liquid,
            Some(Phase::Gas) => State::Gas,
            Some(Phase::Aqueous) => State::Dissolved,
            Some(Phase::Solid) | None => State::Solid,
        }
    }

    /// Molar mass, kg/mol. Formulas without one are refused when the file is read.
    pub fn molar_mass(&self, index: SpeciesIndex) -> f64 {
        self.species(index).formula.molar_mass().map_or(f64::NAN, |m| m.value * 1e-3)
    }

    /// Atoms of an element in each species.
    pub fn counts(&self, element: Element) -> Vec<f64> {
        self.entries
            .iter()
            .map(|e| {
                to_f64(e.species.formula.count(element))
            })
            .collect()
    }
}
