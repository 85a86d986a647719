//! Which species does a ledger keep, and what is an element's share of each?

use crate::model::Atmosphere;
use chem::formula::to_f64;
use chem::reaction::conversion;
use chem::{Element, Formula, Phase, Species};
use engine::account::hypercube::latin_hypercube;
use engine::ledger::{Prior, SpeciesIndex, State, Unknown};
use std::collections::HashMap;
use std::sync::Arc;

/// Draws that show how open the amounts of a bath are; coordinates by which there come to be more of them.
const CUBE_DRAWS: usize = 24;
const CUBE_STEP: usize = 64;

/// Gases that a heated solid may give off or take up.
pub(crate) fn exchanged(atmosphere: Atmosphere) -> [Species; 3] {
    atmosphere.gases().map(|gas| {
        let formula = Formula::parse(gas).unwrap_or_else(|_| Formula::water());
        Species::new(formula, Some(Phase::Gas))
    })
}

/// Species of a ledger, numbered as they are met, with the conversions between them.
///
/// One table serves all compilations of a preparation, so that rows of all its ledgers agree; what is costly to
/// find (balances, molar masses, curves of priors) is found once.
#[derive(Clone, Debug, Default)]
pub(crate) struct SpeciesTable {
    entries: Vec<Entry>,
    conversions: HashMap<(SpeciesIndex, SpeciesIndex, Atmosphere), Option<Conversion>>,
    priors: Vec<(Prior, Unknown)>,
    shares: HashMap<(usize, usize), Unknown>,
    /// Draws from the prior, and their number of coordinates.
    cube: (Arc<[f64]>, usize),
}

/// How one mole of a solid becomes another.
#[derive(Clone, Debug)]
pub(crate) struct Conversion {
    /// Moles of the other.
    pub gives: f64,
    /// Gases given off (positive) or taken up (negative), mol.
    pub gases: Vec<(SpeciesIndex, f64)>,
}

#[derive(Clone, Debug)]
struct Entry {
    species: Species,
    molar_mass: f64,
    /// Mass fraction of water in it: 1 for water itself.
    water: f64,
    /// For bound water: the host it is bound to.
    host: Option<SpeciesIndex>,
    /// Whether it is there only as what water takes up of a precipitate.
    sparing: bool,
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

    /// Number of what water takes up of a precipitate.
    pub fn taken_up(&mut self, formula: &Formula) -> SpeciesIndex {
        let known = self.entries.len();
        let index = self.formula(formula, Phase::Aqueous);
        if let Some(new) = self.entries.get_mut(index).filter(|_| index >= known) {
            new.sparing = true;
        }
        index
    }

    /// Whether a species is there only as what water takes up of a precipitate: it makes no soluble salt of it.
    pub fn is_sparing(&self, index: SpeciesIndex) -> bool {
        self.entries.get(index).is_some_and(|entry| entry.sparing)
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
        // Formulas without a molar mass are refused when the file is read.
        let molar_mass = species.formula.molar_mass().map_or(f64::NAN, |m| m.value * 1e-3);
        let water = water_fraction(&species.formula);
        self.entries.push(Entry { species: species.clone(), molar_mass, water, host, sparing: false });
        self.entries.len() - 1
    }

    /// The unknown of a prior; equal priors share their curve.
    pub fn unknown(&mut self, prior: Prior) -> Unknown {
        if let Some((_, unknown)) = self.priors.iter().find(|(known, _)| *known == prior) {
            return unknown.clone();
        }
        let unknown = Unknown::new(prior.clone());
        self.priors.push((prior, unknown.clone()));
        unknown
    }

    /// The unknown share `index` of a composition of `parts`.
    pub fn share(&mut self, parts: usize, index: usize) -> Unknown {
        self.shares.entry((parts, index)).or_insert_with(|| Unknown::share(parts, index)).clone()
    }

    /// A few draws from the prior, one after another, and their number of coordinates: at least so many.
    pub fn cube(&mut self, dimension: usize) -> (Arc<[f64]>, usize) {
        if self.cube.1 < dimension.max(1) {
            let wide = dimension.next_multiple_of(CUBE_STEP).max(CUBE_STEP);
            self.cube = (latin_hypercube(CUBE_DRAWS, wide, 7).into(), wide);
        }
        self.cube.clone()
    }

    /// How one mole of a species becomes another, exchanging gases with its surroundings;
    /// `None` where that cannot be balanced, or not in one way only.
    pub fn conversion(&mut self, from: SpeciesIndex, into: SpeciesIndex, atmosphere: Atmosphere) -> Option<Conversion> {
        if let Some(known) = self.conversions.get(&(from, into, atmosphere)) {
            return known.clone();
        }
        let (source, target) = (self.species(from).clone(), self.species(into).clone());
        let found = conversion(&source, &target, &exchanged(atmosphere)).map(|terms| {
            let (mut gives, mut gases) = (0.0, Vec::new());
            for (species, coefficient) in terms {
                if species == target {
                    gives = to_f64(coefficient);
                } else if species != source {
                    gases.push((self.intern(&species), to_f64(coefficient)));
                }
            }
            Conversion { gives, gases }
        });
        self.conversions.insert((from, into, atmosphere), found.clone());
        found
    }

    /// What has been found of the way from one species to another, if it was asked.
    pub fn known_conversion(
        &self,
        from: &Species,
        to: &Species,
        atmosphere: Atmosphere,
    ) -> Option<Option<&Conversion>> {
        let number = |species: &Species| self.entries.iter().position(|e| e.host.is_none() && e.species == *species);
        self.conversions.get(&(number(from)?, number(to)?, atmosphere)).map(Option::as_ref)
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

    /// Molar mass, kg/mol.
    pub fn molar_mass(&self, index: SpeciesIndex) -> f64 {
        self.entries[index].molar_mass
    }

    /// Whether a species is water, in whatever phase.
    pub fn is_water(&self, index: SpeciesIndex) -> bool {
        self.entries[index].water == 1.0
    }

    /// Mass fraction of water in a species: 1 for water itself, what a hydrate holds, 0 for others.
    pub fn water_fraction(&self, index: SpeciesIndex) -> f64 {
        self.entries[index].water
    }

    /// Atoms of an element in each species.
    pub fn counts(&self, element: Element) -> Vec<f64> {
        self.entries.iter().map(|e| to_f64(e.species.formula.count(element))).collect()
    }
}

/// Mass fraction of water in a formula: 1 for water itself, what is written as water of a hydrate, 0 for others.
fn water_fraction(formula: &Formula) -> f64 {
    if formula.same_substance(&Formula::water()) {
        return 1.0;
    }
    match (formula.without_hydrate_water().molar_mass(), formula.molar_mass()) {
        (Ok(dry), Ok(whole)) => 1.0 - dry.value / whole.value,
        _ => 0.0,
    }
}
