//! Readings: what stands on the pan, and the unknowns of balances and vessels.

use super::super::direct::{empty_reading, standing, tare};
use super::{Builder, ReadingPlace};
use crate::losses;
use crate::model::Knowledge;
use engine::account::reading::{Balance, Weighing};
use engine::ledger::{Prior, Value};
use std::collections::{BTreeSet, HashMap};

impl<'a> Builder<'a> {
    pub(super) fn readings(&mut self) {
        for instrument in &self.preparation.instruments {
            self.about = format!("slope and bow of {}", instrument.name.value);
            let slope = self.spread_about_zero(instrument.slope);
            let curvature = self.spread_about_zero(instrument.curvature);
            self.balances.push(Balance {
                resolution: instrument.resolution,
                repeatability: instrument.repeatability,
                capacity: instrument.capacity,
                slope,
                curvature,
            });
        }
        let mut zeros: HashMap<(&str, usize), Value> = HashMap::new();
        let corrected: BTreeSet<&str> = self
            .preparation
            .steps
            .iter()
            .flat_map(|s| s.readings.iter().filter_map(|r| r.corrects.as_ref().map(|c| c.value.as_str())))
            .collect();
        for (step, s) in self.preparation.steps.iter().enumerate() {
            for (reading, r) in s.readings.iter().enumerate() {
                let Some(balance) = self.preparation.instruments.iter().position(|x| x.name.value == r.with.value)
                else {
                    continue;
                };
                if corrected.contains(r.id.value.as_str()) {
                    continue;
                }
                let lot = r.of.as_ref().and_then(|of| self.by_name.get(of.value.as_str()).copied());
                let vessel = r.vessel.as_ref().map(|v| self.vessel(&v.value));
                let charge = r
                    .charge
                    .as_ref()
                    .and_then(|c| self.charges.iter().find(|x| x.step == step && x.name == c.value).map(|x| x.mass));
                let zero = match &r.zeroed {
                    Some(name) => {
                        let width = self.preparation.instruments[balance].resolution * 0.5;
                        match zeros.get(&(name.as_str(), balance)) {
                            Some(value) => *value,
                            None => {
                                self.about = format!("zero of {name}");
                                let value = self.spread_about_zero(width);
                                zeros.insert((name.as_str(), balance), value);
                                value
                            }
                        }
                    }
                    None => Value::Constant(0.0),
                };
                let display = r.weigh.as_ref().map_or(0.0, |w| w.value);
                self.weighings
                    .push((ReadingPlace { step, reading }, Weighing { lot, vessel, charge, display, balance, zero }));
            }
        }
    }

    pub(super) fn spread_about_zero(&mut self, deviation: f64) -> Value {
        if deviation > 0.0 { self.prior(Prior::Normal { mean: 0.0, deviation }) } else { Value::Constant(0.0) }
    }

    /// Mass of a vessel: about the figure at which it was read empty; its tare from earlier, which a forecast puts first;
    /// or somewhere below the least figure
    /// that it was read at with something in it. Only figures that stand count.
    pub(super) fn vessel(&mut self, name: &'a str) -> Value {
        if let Some(value) = self.vessels.get(name) {
            return *value;
        }
        let stated = tare(self.preparation, name);
        let left_out = self.left_out();
        let empty = empty_reading(self.preparation, name, left_out)
            .and_then(|r| r.weigh.as_ref().map(|w| w.value))
            .map(|m| Knowledge::Normal { value: m, standard_uncertainty: losses::VESSEL_WIDTH * m });
        let loaded = standing(self.preparation)
            .map(|(_, r)| r)
            .filter(|r| r.vessel.as_ref().is_some_and(|v| v.value == name) && Some(r.id.value.as_str()) != left_out)
            .filter_map(|r| r.weigh.as_ref().map(|w| w.value))
            .reduce(f64::min)
            .map(|high| Knowledge::Between { low: 0.0, high });
        let known = if self.variation.forecast { stated.or(empty) } else { empty.or(stated) };
        let knowledge = known.or(loaded).unwrap_or(Knowledge::Exact(0.0));
        self.about = format!("mass of {name}");
        let value = self.value(knowledge);
        self.vessels.insert(name, value);
        value
    }
}
