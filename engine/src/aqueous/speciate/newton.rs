//! How are the balances closed in one reduced basis?
//!
//! Newton's method on the logarithms of the free activities. The errors are logarithms of what holds a master over what is
//! there of it. The ionic strength is carried along as one more unknown: its own error and its slope in every activity
//! coefficient enter the matrix as a rank-one term, so that the charge model converges quadratically; Pitzer's coefficients
//! are differentiated along the whole composition, which leaves few rounds more. Steps that make the errors worse are
//! shortened.
//!
//! Source: as in the module above.

use super::super::linear::solve_in_place;
use super::super::network::Activity;
use super::super::water;
use super::{LEAST_WATER, Solver};
use std::f64::consts::LN_10;

/// Largest step of a logarithm in one round.
const LONGEST_STEP: f64 = 5.0;
/// Sweeps of the approach, the error at which it ends, and the least slope it reckons with.
const SWEEPS: usize = 300;
const NEAR: f64 = 1.0;
const FLATTEST: f64 = 0.05;
/// Exponents are kept within this.
const LARGEST_EXPONENT: f64 = 300.0;
/// Largest tracked ionic strength, mol/kg.
const STRONGEST: f64 = 60.0;
/// Beyond this ionic strength Pitzer's equations are not evaluated, mol/kg: they are polynomials.
const PITZER_CEILING: f64 = 25.0;
/// Relative step along which they are differentiated.
const ALONG: f64 = 1e-5;
/// Largest change of ln a(w) in one round.
const DRIEST: f64 = 0.5;
/// Largest change of ln γ in one round.
const STEEPEST: f64 = 3.0;

impl Solver {
    /// Newton's method in the reduced basis.
    pub(super) fn converge(&mut self) -> bool {
        let mut error = self.approach();
        let mut best = f64::INFINITY;
        let mut since = 0;
        for _ in 0..self.tolerances.iterations {
            self.iterations += 1;
            let (drift, surplus) = self.follow_up(error);
            if error < self.tolerances.balance && drift < self.tolerances.activity {
                return true;
            }
            // Rounding may keep the error just above the tolerance: then a few more rounds show it.
            since = if error < 0.5 * best { 0 } else { since + 1 };
            best = best.min(error);
            if since > 12 && error < 10.0 * self.tolerances.balance && drift < 10.0 * self.tolerances.activity {
                return true;
            }
            let Some(change) = self.newton(surplus) else { return false };
            self.before.copy_from_slice(&self.free_logs);
            let (strength, ln_water) = (self.strength, self.ln_water);
            let wetter = (self.water_shift + self.water_slope * change).clamp(-DRIEST, DRIEST);
            self.gamma_before.copy_from_slice(&self.ln_gamma);
            let mut share = 1.0;
            for halving in 0..6 {
                for (log, (old, step)) in self.free_logs.iter_mut().zip(self.before.iter().zip(&self.step)) {
                    *log = old + share * step;
                }
                self.strength = (strength + share * change).clamp(1e-3 * strength, STRONGEST).max(1e-16);
                for i in 0..self.ln_gamma.len() {
                    let along = (self.slope[i] * change).clamp(-STEEPEST, STEEPEST);
                    let whole = (self.shift[i] + along).clamp(-STEEPEST, STEEPEST);
                    self.ln_gamma[i] = self.gamma_before[i] + share * whole;
                }
                self.ln_water = (ln_water + share * wetter).clamp(-3.0, 0.2);
                let now = self.evaluate();
                if now.is_finite() && (now < 1.2 * error || now < 1e-6 || halving == 5) {
                    error = now;
                    break;
                }
                share *= 0.4;
            }
            if !error.is_finite() {
                return false;
            }
        }
        false
    }

    /// Comes near by moving each logarithm along its own balance, all at once and the more carefully the nearer; the largest
    /// error reached. Far out Newton's steps would be of no use: masters that are bound to each other look alike there.
    fn approach(&mut self) -> f64 {
        let mut error = self.evaluate();
        let count = self.free_logs.len();
        for sweep in 0..SWEEPS {
            if error < NEAR {
                break;
            }
            self.step.fill(0.0);
            for (i, molality) in self.molality.iter().enumerate() {
                let amount = molality * self.water;
                for (k, exponent) in self.exponents[i * count..(i + 1) * count].iter().enumerate() {
                    let whole = if *exponent > 0.0 { self.above[k] } else { self.below[k] };
                    self.step[k] += exponent * exponent * amount / whole;
                }
            }
            for k in 0..count {
                let ratio = (-self.errors[k].abs()).exp();
                let change = (0.9 - 0.8 * ratio) * self.errors[k] / self.step[k].max(FLATTEST);
                self.free_logs[k] -= change.clamp(-LONGEST_STEP, LONGEST_STEP);
            }
            if sweep % 8 == 7 {
                self.relax_strength();
            }
            error = self.evaluate();
        }
        self.relax_strength();
        self.evaluate()
    }

    /// Takes the ionic strength from the molalities, within bounds, for a start.
    fn relax_strength(&mut self) {
        let squares = self.network.species.iter().map(|s| f64::from(s.charge * s.charge));
        let strength = 0.5 * squares.zip(&self.molality).map(|(z, m)| z * m).sum::<f64>();
        self.strength = strength.clamp(1e-12, 5.0);
    }

    /// Molalities and errors of the balances at the present logarithms; the largest error.
    fn evaluate(&mut self) -> f64 {
        let (m, count) = (self.network.masters, self.free_logs.len());
        self.right.clear();
        let gases = self.network.gases.iter();
        let phases = gases.chain(self.active.iter().map(|number| &self.network.solids[*number]));
        self.right.extend(phases.map(|phase| phase.log_k * LN_10 - phase.water * self.ln_water));
        for (column, k) in self.reduced.free.iter().enumerate() {
            self.ln_activity[*k] = self.free_logs[column];
        }
        for (row, pivot) in self.reduced.pivots.iter().enumerate() {
            let follow = &self.follow[row * count..(row + 1) * count];
            let through: f64 = follow.iter().zip(&self.free_logs).map(|(f, log)| f * log).sum();
            self.ln_activity[*pivot] = self.reduced.base(row, &self.right, m) + through;
        }
        self.charge_activities();
        for k in 0..count {
            self.above[k] = (-self.reduced_totals[k]).max(0.0);
            self.below[k] = self.reduced_totals[k].max(0.0);
        }
        for (i, species) in self.network.species.iter().enumerate() {
            let product: f64 = species.parts.iter().map(|(part, c)| c * self.ln_activity[*part]).sum();
            let log = species.log_k * LN_10 + product + species.water * self.ln_water - self.ln_gamma[i];
            let molality = log.clamp(-LARGEST_EXPONENT, LARGEST_EXPONENT).exp();
            self.molality[i] = molality;
            let amount = molality * self.water;
            for (k, exponent) in self.exponents[i * count..(i + 1) * count].iter().enumerate() {
                if *exponent > 0.0 {
                    self.above[k] += exponent * amount;
                } else if *exponent < 0.0 {
                    self.below[k] -= exponent * amount;
                }
            }
        }
        let mut largest: f64 = 0.0;
        for k in 0..count {
            self.above[k] = self.above[k].max(1e-290);
            self.below[k] = self.below[k].max(1e-290);
            self.errors[k] = (self.above[k] / self.below[k]).ln();
            largest = largest.max(self.errors[k].abs());
        }
        largest
    }

    /// ln γ and its slope where they follow from the ionic strength.
    fn charge_activities(&mut self) {
        if self.network.activity != Activity::Charge {
            return;
        }
        for (i, species) in self.network.species.iter().enumerate() {
            (self.ln_gamma[i], self.slope[i]) = self.slopes.ln_gamma(species.charge, species.size, self.strength);
        }
    }

    /// What follows from the molalities: ionic strength, water, Pitzer's coefficients. Gives the largest change and the
    /// ionic strength in excess of the one reckoned with.
    fn follow_up(&mut self, error: f64) -> (f64, f64) {
        let squares = self.network.species.iter().map(|s| f64::from(s.charge * s.charge));
        let strength = 0.5 * squares.zip(&self.molality).map(|(z, m)| z * m).sum::<f64>();
        let sum: f64 = self.molality.iter().sum();
        let mut drift: f64 = 0.0;
        let mut surplus = strength - self.strength;
        let ln_water = match &self.network.activity {
            Activity::Ideal => {
                self.strength = strength.clamp(1e-16, STRONGEST);
                surplus = 0.0;
                0.0
            }
            Activity::Charge => {
                self.water_slope = -water::MOLAR_MASS * sum / strength.max(1e-16);
                -water::MOLAR_MASS * sum
            }
            Activity::Pitzer(pitzer) => {
                let scale = (PITZER_CEILING / strength.max(1e-16)).min(1.0);
                let along = scale * (1.0 + ALONG);
                self.scaled.iter_mut().zip(&self.molality).for_each(|(s, m)| *s = along * m);
                let beyond = pitzer.activities(&self.scaled, &mut self.slope);
                self.scaled.iter_mut().zip(&self.molality).for_each(|(s, m)| *s = scale * m);
                let ln_water = pitzer.activities(&self.scaled, &mut self.other_gamma);
                let step = ALONG * strength.max(1e-16);
                self.water_slope = if scale < 1.0 { 0.0 } else { (beyond - ln_water) / step };
                surplus = 0.0;
                for (i, species) in self.network.species.iter().enumerate() {
                    self.shift[i] = self.other_gamma[i] - self.ln_gamma[i];
                    drift = drift.max(self.shift[i].abs());
                    self.slope[i] = if scale < 1.0 { 0.0 } else { (self.slope[i] - self.other_gamma[i]) / step };
                    surplus -= 0.5 * f64::from(species.charge * species.charge) * self.molality[i] * self.shift[i];
                }
                self.strength = strength.clamp(1e-16, STRONGEST);
                ln_water
            }
        };
        let ln_water = ln_water.clamp(-3.0, 0.2);
        if self.network.activity == Activity::Charge {
            drift = (surplus / strength.max(1e-12)).abs().min(1.0);
        }
        self.water_shift = ln_water - self.ln_water;
        drift = drift.max(self.water_shift.abs());
        if error < 0.3 {
            // The mass of water enters every balance: it has to stand firmer than an activity.
            drift = drift.max(10.0 * self.close_water());
        } else {
            drift = 1.0;
        }
        (drift, surplus)
    }

    /// Amounts of the phases and the mass of water left; the relative change of that mass.
    fn close_water(&mut self) -> f64 {
        let m = self.network.masters;
        for (row, pivot) in self.reduced.pivots.iter().enumerate() {
            let mut held = 0.0;
            for (species, molality) in self.network.species.iter().zip(&self.molality) {
                for (part, coefficient) in &species.parts {
                    if part == pivot {
                        held += coefficient * molality;
                    }
                }
            }
            self.lacking[row] = self.totals[*pivot] - held * self.water;
        }
        self.reduced.amounts(&self.lacking, m, &mut self.amounts);
        let dissolved: f64 = self.network.species.iter().zip(&self.molality).map(|(s, m)| s.water * m).sum();
        let phases = self.network.gases.iter().chain(self.active.iter().map(|number| &self.network.solids[*number]));
        let bound: f64 = phases.zip(&self.amounts).map(|(phase, amount)| phase.water * amount).sum();
        let whole = self.water_total * water::MOLAR_MASS;
        let left = whole - water::MOLAR_MASS * (dissolved * self.water + bound);
        let left = left.clamp(LEAST_WATER * whole, 3.0 * whole);
        let change = (left / self.water - 1.0).abs();
        self.water = left;
        change
    }

    /// The step of the logarithms into `step`, and that of the ionic strength; `None` where the matrix is singular.
    fn newton(&mut self, surplus: f64) -> Option<f64> {
        let count = self.free_logs.len();
        self.matrix.fill(0.0);
        // How the ionic strength follows the logarithms; kept in `before` until the step is taken.
        let v = &mut self.before;
        v.fill(0.0);
        let (mut damp, mut half_squares) = (1.0, 0.0);
        for (i, species) in self.network.species.iter().enumerate() {
            let weight = 0.5 * f64::from(species.charge * species.charge) * self.molality[i];
            if weight != 0.0 {
                damp += weight * (self.slope[i] - self.water_exponents[i] * self.water_slope);
                half_squares += weight * self.water_exponents[i];
                let row = &self.exponents[i * count..(i + 1) * count];
                v.iter_mut().zip(row).for_each(|(value, exponent)| *value += weight * exponent);
            }
        }
        let damp = damp.max(0.3);
        let surplus = surplus + half_squares * self.water_shift;
        for k in 0..count {
            self.step[k] = -self.errors[k];
        }
        for i in 0..self.network.species.len() {
            let row = &self.exponents[i * count..(i + 1) * count];
            let amount = self.molality[i] * self.water;
            let slope = (self.slope[i] - self.water_exponents[i] * self.water_slope) / damp;
            let shift = self.shift[i] - self.water_exponents[i] * self.water_shift;
            if amount < 1e-280 {
                continue;
            }
            for k in 0..count {
                if row[k] == 0.0 {
                    continue;
                }
                let weight = amount * row[k] / if row[k] > 0.0 { self.above[k] } else { self.below[k] };
                self.step[k] += weight * (slope * surplus + shift);
                let line = &mut self.matrix[k * count..(k + 1) * count];
                for (l, value) in line.iter_mut().enumerate() {
                    *value += weight * (row[l] - slope * v[l]);
                }
            }
        }
        if !solve_in_place(&mut self.matrix, &mut self.step, count) {
            return None;
        }
        let change = (surplus + v.iter().zip(&self.step).map(|(v, s)| v * s).sum::<f64>()) / damp;
        let longest = self.step.iter().fold(0.0f64, |most, step| most.max(step.abs()));
        if !longest.is_finite() {
            return None;
        }
        if longest > LONGEST_STEP {
            let scale = LONGEST_STEP / longest;
            self.step.iter_mut().for_each(|step| *step *= scale);
        }
        Some(change)
    }
}
