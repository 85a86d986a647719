//! Is what was found an equilibrium?
//!
//! Judged from amounts and potentials alone, not from how they came about: are the elements conserved, are the potentials of what is
//! present those of its elements, would anything that is left out be more stable, is the energy the one asked for.
//!
//! Source: the conditions of Karush, Kuhn and Tucker for a minimum under linear conditions.

use super::search::Side;
use super::system::{Equilibrium, Residuals};
use super::work::Work;
use crate::thermochemistry::fit::GAS_CONSTANT as FITTED;

/// A phase with less than this share of what its elements allow is not asked whether its potential agrees.
const PRESENT: f64 = 1e-11;

impl Work {
    /// Energy of the amounts, J.
    pub(super) fn energy_of_amounts(&self) -> f64 {
        let sum: f64 = self.amount.iter().zip(&self.heat).filter(|(n, _)| **n != 0.0).map(|(n, h)| n * h).sum();
        sum * self.scale * FITTED * self.temperature
    }

    /// A share of two states at one temperature.
    pub(super) fn fill_between(&mut self, cool: &Side, hot: &Side, share: f64) {
        for i in 0..self.amount.len() {
            self.amount[i] = (1.0 - share) * cool.amount(i) + share * hot.amount(i);
        }
    }

    /// What stands between worth minus γ and the logarithm of an activity of a gas.
    pub(super) fn logarithm_of_unit_activity(&self) -> f64 {
        if self.at_pressure { self.pressure_term() } else { self.volume_term() + self.temperature.ln() }
    }

    /// Pressure and volume.
    pub(super) fn write_room(&self, answer: &mut Equilibrium) {
        let filled = answer.gas * super::GAS_CONSTANT * self.temperature;
        if self.at_pressure {
            answer.pressure = super::STANDARD_PRESSURE * self.pressure_term().exp();
            answer.volume = filled / answer.pressure;
        } else {
            answer.volume = super::GAS_CONSTANT * self.scale / (super::STANDARD_PRESSURE * self.volume_term().exp());
            answer.pressure = filled / answer.volume;
        }
    }

    /// Greatest difference of an element from what was given, as share of what is there.
    pub(super) fn element_residual(&self) -> f64 {
        let mut greatest = 0.0f64;
        for e in 0..self.share.len() {
            let (mut there, mut size) = (0.0, self.share[e].abs());
            for (i, amount) in self.amount.iter().enumerate() {
                let part = amount * self.system.counts(i)[e];
                there += part;
                size += part.abs();
            }
            if size > 0.0 {
                greatest = greatest.max(2.0 * (self.share[e] - there).abs() / size);
            }
        }
        greatest
    }

    /// What is left over in each condition.
    pub(super) fn judge(&self, wanted: Option<f64>, energy: f64) -> Residuals {
        let mut residuals = Residuals { elements: self.element_residual(), ..Residuals::default() };
        let total: f64 = self.gas.iter().map(|&i| self.amount[i]).sum();
        let mut wrong = 0.0f64;
        for &c in &self.condensed {
            let gain = self.worth(c) - self.gamma[c];
            if self.amount[c] > PRESENT * self.most(c) {
                wrong = wrong.max(gain.abs());
            }
        }
        residuals.stability = self.overlooked();
        if self.at_pressure {
            let pressure = if self.gas.is_empty() { f64::NEG_INFINITY } else { self.gas_pressure() };
            if total > 0.0 {
                wrong = wrong.max(pressure.abs());
            } else {
                residuals.stability = residuals.stability.max(pressure);
            }
        }
        for &i in &self.gas {
            let there = if self.at_pressure { self.amount[i] / total } else { self.amount[i] };
            if total > 0.0 && there > 1e-100 {
                wrong = wrong.max((there.ln() - (self.worth(i) - self.gamma[i])).abs());
            }
        }
        residuals.potentials = wrong;
        if let Some(wanted) = wanted {
            let amounts: f64 = self.amount.iter().sum::<f64>() * self.scale;
            let unit = amounts * FITTED * self.temperature;
            residuals.energy = (wanted - energy).abs() / wanted.abs().max(unit);
        }
        residuals
    }
}
