//! Heated steps: what a dried or ignited lot turns into.
//!
//! Water and gases leave, what was dissolved becomes its own solid, combustible matter burns on ignition. Then
//! every solid that can become one of the chosen patterns does, by its balanced conversion; shares between
//! patterns, free hydration, loose water and traces are unknowns of the composition.

use super::super::table::SpeciesTable;
use super::{Builder, LotKind, StepOptions, is_moisture};
use crate::action::Heat;
use crate::losses;
use crate::model::{Atmosphere, Step, Trace};
use chem::{Phase, Species, SpeciesPattern};
use engine::ledger::{Lot, Operation, Prior, SpeciesIndex, State, Surroundings, Value};
use std::collections::BTreeSet;

impl<'a> Builder<'a> {
    pub(super) fn heat(&mut self, i: usize, step: &'a Step, lot: Lot, vent: Lot) {
        let vapour = self.table.water(Phase::Gas);
        let contents = self.lots[lot].contents.clone();
        let (mut evaporate, mut solidify) = (Vec::new(), Vec::new());
        for species in contents {
            let is_liquid_water = self.table.is_water(species) && self.table.state(species) == State::Liquid;
            if is_liquid_water || self.table.host(species).is_some() {
                evaporate.push((species, vapour));
            } else if step.action.value.manner().heat == Heat::Fire && self.leaves(species) {
                let formula = self.table.species(species).formula.clone();
                evaporate.push((species, self.table.formula(&formula, Phase::Gas)));
            } else if self.table.state(species) == State::Dissolved {
                let formula = self.table.species(species).formula.clone();
                solidify.push((species, self.table.formula(&formula, Phase::Solid)));
            }
        }
        let set = &mut self.lots[lot].contents;
        for (species, _) in evaporate.iter().chain(&solidify) {
            set.remove(species);
        }
        set.extend(solidify.iter().map(|(_, s)| *s));
        self.push(Operation::Vent { lot, vent });
        self.pour(lot, vent, |state| state == State::Gas, true);
        self.push(Operation::Evaporate { lot, pairs: evaporate.into(), vent });
        self.push(Operation::Solidify { lot, pairs: solidify.into() });
        if step.action.value.manner().heat == Heat::Fire {
            self.push(Operation::Burn { lot, vent });
        }
        self.compose(i, step, lot, vent);
        if step.action.value.manner().heat == Heat::Fire {
            let surroundings = Surroundings { vent, drawn: self.drawn };
            self.ignite_foreign(lot, surroundings, step.atmosphere);
        }
        let supposed: &'a [Trace] = match self.variation.supposition {
            Some(s) if s.step.value == step.name.value => &s.trace,
            _ => &[],
        };
        for trace in step.trace.iter().chain(supposed) {
            self.occlude(trace, lot);
        }
    }

    /// Whether a species leaves on ignition as it is or burnt: nothing in it makes a residue. (Hydrogen chloride, ammonium
    /// chloride, oxalic acid; it is written as the gas of its own formula, whatever it burns to.)
    fn leaves(&self, species: SpeciesIndex) -> bool {
        const VOLATILE: [&str; 8] = ["H", "C", "N", "O", "F", "Cl", "Br", "I"];
        let formula = &self.table.species(species).formula;
        let carbon = formula.elements().all(|(element, _)| element.symbol() == "C");
        !carbon && formula.elements().all(|(element, _)| VOLATILE.contains(&element.symbol()))
    }

    /// Turns a dried or ignited lot into what the alternative says.
    pub(super) fn compose(&mut self, i: usize, step: &Step, lot: Lot, vent: Lot) {
        let sources: Vec<SpeciesIndex> = self.lots[lot].contents.iter().copied().collect();
        let patterns: Vec<(usize, &SpeciesPattern)> = step.may_hold.iter().map(|p| &p.value).enumerate().collect();
        let moisture = patterns.iter().find(|(_, p)| is_moisture(p)).map(|(k, _)| *k);
        let mut options = StepOptions { moisture, ..StepOptions::default() };
        let targets: Vec<(usize, SpeciesIndex)> = patterns
            .iter()
            .filter(|(k, _)| Some(*k) != moisture)
            .map(|(k, p)| (*k, self.table.intern(p.species())))
            .collect();
        let mut reaches: Vec<(SpeciesIndex, Vec<usize>)> = Vec::new();
        for source in sources {
            let reach: Vec<usize> = targets
                .iter()
                .filter(|(_, t)| *t == source || self.table.conversion(source, *t, step.atmosphere).is_some())
                .map(|(k, _)| *k)
                .collect();
            if !reach.is_empty() {
                reaches.push((source, reach));
            }
        }
        options.reach = reaches.iter().map(|(_, r)| r.clone()).collect();
        options.reach.sort();
        options.reach.dedup();
        options.unreachable = patterns
            .iter()
            .map(|(k, _)| *k)
            .filter(|k| Some(*k) != moisture && !options.reach.iter().any(|r| r.contains(k)))
            .collect();
        let chosen: Vec<(usize, bool)> =
            match self.variation.alternative.and_then(|a| a.get(i)).and_then(Option::as_ref) {
                Some(composition) => composition.patterns.clone(),
                None => patterns.iter().map(|(k, _)| (*k, true)).collect(),
            };
        let surroundings = Surroundings { vent, drawn: self.drawn };
        let mut done: Vec<Vec<usize>> = Vec::new();
        for (_, reach) in &reaches {
            let allowed: Vec<usize> = reach.iter().copied().filter(|k| chosen.iter().any(|(c, _)| c == k)).collect();
            if allowed.is_empty() || done.contains(&allowed) {
                continue;
            }
            done.push(allowed.clone());
            self.spread(step, lot, &reaches, &allowed, &chosen, surroundings);
        }
        for (k, free) in &chosen {
            if let Some((_, SpeciesPattern::Family { anhydrous, low, high, .. })) = patterns.get(*k) {
                self.hydrate(lot, anhydrous, *low, *high, *free, surroundings);
            }
        }
        if let Some(k) = moisture
            && chosen.iter().any(|(c, _)| *c == k)
        {
            let most = (losses::MOST_MOISTURE * self.variation.width).min(0.9);
            let fraction = self.prior(Prior::Uniform { low: 0.0, high: most });
            let (liquid, vapour) = (self.table.water(Phase::Liquid), self.table.water(Phase::Gas));
            self.lots[lot].contents.insert(liquid);
            self.push(Operation::Moisten { lot, liquid, vapour, fraction, surroundings });
        }
        self.options.push(options);
    }

    /// Converts all sources that can become the allowed patterns: first into one of them, then into shares.
    #[allow(clippy::too_many_arguments)]
    pub(super) fn spread(
        &mut self,
        step: &Step,
        lot: Lot,
        reaches: &[(SpeciesIndex, Vec<usize>)],
        allowed: &[usize],
        chosen: &[(usize, bool)],
        surroundings: Surroundings,
    ) {
        let target = |k: usize| step.may_hold[k].value.species().clone();
        let present = |k: usize, table: &SpeciesTable, contents: &BTreeSet<SpeciesIndex>| {
            contents.iter().any(|s| *table.species(*s) == target(k))
        };
        let first =
            allowed.iter().copied().find(|k| present(*k, self.table, &self.lots[lot].contents)).unwrap_or(allowed[0]);
        let into = self.table.intern(&target(first));
        for (source, reach) in reaches {
            let same: Vec<usize> = reach.iter().copied().filter(|k| chosen.iter().any(|(c, _)| c == k)).collect();
            if same == allowed && *source != into {
                self.convert(lot, *source, into, Value::Constant(1.0), surroundings, step.atmosphere);
                self.lots[lot].contents.remove(source);
            }
        }
        self.lots[lot].contents.insert(into);
        let count = allowed.len();
        for (n, k) in allowed.iter().filter(|k| **k != first).enumerate() {
            let share = self.share(count, n);
            let other = self.table.intern(&target(*k));
            self.convert(lot, into, other, share, surroundings, step.atmosphere);
            self.lots[lot].contents.insert(other);
        }
    }

    pub(super) fn convert(
        &mut self,
        lot: Lot,
        from: SpeciesIndex,
        into: SpeciesIndex,
        share: Value,
        surroundings: Surroundings,
        atmosphere: Atmosphere,
    ) {
        let Some(conversion) = self.table.conversion(from, into, atmosphere) else { return };
        self.lots[surroundings.vent].contents.extend(conversion.gases.iter().map(|(gas, _)| *gas));
        let (gives, exchange) = (conversion.gives, conversion.gases.into());
        self.push(Operation::Convert { lot, from, into, gives, exchange, share, surroundings });
    }

    pub(super) fn hydrate(
        &mut self,
        lot: Lot,
        anhydrous: &Species,
        low: f64,
        high: f64,
        free: bool,
        surroundings: Surroundings,
    ) {
        let host = self.table.intern(anhydrous);
        if !self.lots[lot].contents.contains(&host) || (!free && low == 0.0) {
            return;
        }
        let water = if free {
            let high = low + (high - low) * self.variation.width;
            self.prior(Prior::Uniform { low, high })
        } else {
            Value::Constant(low)
        };
        let bound = self.table.bound_water(host);
        let vapour = self.table.water(Phase::Gas);
        self.lots[lot].contents.insert(bound);
        self.push(Operation::Hydrate { lot, host, bound, vapour, water, surroundings });
    }

    pub(super) fn occlude(&mut self, trace: &Trace, lot: Lot) {
        let solid = self.table.intern(&trace.species.value);
        let dissolved = self.table.formula(&trace.species.value.formula, Phase::Aqueous);
        let liquor = (0..self.lots.len()).rev().find(|l| {
            self.lots[*l].kind == LotKind::Liquor && !self.lots[*l].taken && self.lots[*l].contents.contains(&dissolved)
        });
        let bound = (trace.bound * self.variation.width).min(0.9);
        let fraction = self.prior(Prior::Uniform { low: 0.0, high: bound });
        self.lots[lot].contents.insert(solid);
        let drawn = self.drawn;
        self.push(Operation::Occlude { liquor, dissolved, lot, solid, fraction, drawn });
    }
}
