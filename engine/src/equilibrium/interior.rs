//! From no start at all: which phases are there, and about how much of what?
//!
//! An interior-point method on the whole problem. Every candidate, gas or condensed, has an amount n > 0 and a slack s > 0
//! with n·s = μ, and μ falls to nothing:
//!
//! ```text
//! gas        γᵢ + ln nᵢ − ln N − aᵢ·π = sᵢ      (without ln N at given volume)
//! condensed  γ_c          − a_c·π = s_c
//! elements   Σ a n = b
//! ```
//! γ is G°/RT with the logarithm of pressure, π the potentials of the components. The entropy of mixing is compatible with
//! the logarithmic barrier, so that the path is followed in a number of steps that hardly depends on the problem (10 to 30),
//! from any start; phases that coexist only in the limit, exact stoichiometry and left-over freedom end in the middle of what
//! is possible instead of in a corner. Predictor and corrector share one factorisation of a matrix as large as the number of
//! components plus one. The result is good to some 1e-6 of the whole; `active` makes it exact.
//!
//! Source: S. Mehrotra, SIAM J. Optim. 2 (1992) 575 for predictor and corrector; Y. Nesterov, A. Nemirovskii, Interior-Point
//! Polynomial Algorithms in Convex Programming, 1994, for the entropy (both from memory).

use super::active::dot;
use super::work::Work;
use crate::thermochemistry::fit::GAS_CONSTANT;

/// Most steps.
const MOST_STEPS: usize = 120;
/// Share of the way to the nearest bound that a step may go.
const TO_THE_BOUND: f64 = 0.99;
/// Mean product of amount and slack at which the path ends.
pub(super) const ENOUGH: f64 = 1e-6;
/// Imbalance at which the path may end, as share of all atoms.
const BALANCED: f64 = 1e-10;
/// A step shorter than this asks for the middle first.
const SHORT: f64 = 0.2;
/// Share of the mean product that is aimed at then.
const CENTRE: f64 = 0.8;
/// How many times its amount a plentiful gas may grow, and what is plentiful.
const GROWTH: f64 = 4.0;
const PLENTIFUL: f64 = 1e-3;
/// Greatest change of the logarithm of temperature in one step, and the one that may be left.
const WARM: f64 = 0.4;
const STEADY: f64 = 1e-2;
/// After so many steps the components are chosen anew.
const REFRAME: usize = 6;

/// The second-order correction, kept in proportion to what is aimed at.
fn bounded(product: f64, target: f64) -> f64 {
    product.clamp(-9.0 * target, 0.9 * target)
}

/// A candidate on the path.
#[derive(Clone, Debug)]
pub(super) struct Walker {
    /// Its place among the candidates.
    place: usize,
    gas: bool,
    gamma: f64,
    heat: f64,
    capacity: f64,
    amount: f64,
    /// 1 over the amount.
    inverse: f64,
    slack: f64,
    /// How heavily it answers to a change of potential, and how far it is from balance.
    weight: f64,
    reduced: f64,
    pull: f64,
    product: f64,
    amount_step: f64,
    slack_step: f64,
}

impl Work {
    /// Follows the path to its end, with an energy (J) temperature too. Returns whether it was reached.
    pub(super) fn interior(&mut self, enough: f64, energy: Option<f64>) -> bool {
        self.start_inside();
        let warms = energy.is_some();
        self.set_out(warms);
        let mut end = false;
        let (mut last, mut warming) = (1.0f64, 0.0f64);
        for turn in 1..=MOST_STEPS {
            self.steps += 1;
            let mean = self.mean_product();
            if mean < enough && self.imbalance() < BALANCED.min(enough * 10.0) && warming < STEADY {
                end = true;
                break;
            }
            if turn % REFRAME == 0 {
                self.arrive();
                // The most plentiful as components, so that the matrix keeps its figures.
                if self.reframe().is_err() {
                    return false;
                }
                self.set_out(warms);
            }
            if !mean.is_finite() || !self.interior_matrix(warms) {
                break;
            }
            self.direction(0.0, false, energy);
            let aimed = self.mean_after(self.reach());
            let towards = if last < SHORT { CENTRE } else { (aimed / mean).powi(3).clamp(1e-6, CENTRE) };
            self.direction(mean * towards, true, energy);
            let mut step = (TO_THE_BOUND * self.reach()).min(1.0);
            if warms {
                let warmer = self.right[self.matrix.size() - 1];
                step = step.min(WARM / warmer.abs());
                warming = (step * warmer).abs();
            }
            last = step;
            self.walk(step, warms);
        }
        let there = end || self.mean_product() < 1e3 * enough && self.imbalance() < 1e-7;
        self.arrive();
        there
    }

    /// Takes a step.
    fn walk(&mut self, step: f64, warms: bool) {
        for walker in &mut self.walkers {
            walker.amount += step * walker.amount_step;
            walker.slack += step * walker.slack_step;
        }
        for (potential, change) in self.pi.iter_mut().zip(&self.right) {
            *potential += step * change;
        }
        if warms {
            self.warm_to(self.temperature * (step * self.right[self.matrix.size() - 1]).exp());
            let size = self.matrix.size();
            for (walker, column) in self.walkers.iter_mut().zip(self.columns.chunks_exact_mut(size)) {
                walker.gamma = self.gamma[walker.place];
                walker.heat = self.heat[walker.place];
                walker.capacity = self.capacity[walker.place];
                column[size - 1] = walker.heat;
            }
        }
    }

    /// Candidates in the order of the frame, each with a column of what it holds of each component, of the gas, and of heat.
    fn set_out(&mut self, warms: bool) {
        let mixed = self.at_pressure && !self.gas.is_empty();
        self.walkers.clear();
        self.columns.clear();
        for &place in &self.open {
            let gas = self.system.is_gas(place);
            let (gamma, heat, capacity) = (self.gamma[place], self.heat[place], self.capacity[place]);
            let (amount, slack) = (self.amount[place], self.slack[place]);
            let [inverse, weight, reduced, pull, product, amount_step, slack_step] = [0.0; 7];
            self.walkers.push(Walker {
                place,
                gas,
                gamma,
                heat,
                capacity,
                amount,
                inverse,
                slack,
                weight,
                reduced,
                pull,
                product,
                amount_step,
                slack_step,
            });
            self.columns.extend_from_slice(self.frame.column(place));
            if mixed {
                self.columns.push(if gas { 1.0 } else { 0.0 });
            }
            if warms {
                self.columns.push(heat);
            }
        }
    }

    /// Hands amounts and slacks back.
    fn arrive(&mut self) {
        for walker in &self.walkers {
            self.amount[walker.place] = walker.amount;
            self.slack[walker.place] = walker.slack;
        }
    }

    /// Potentials so low that nothing is more stable than it may be, and amounts in the middle of what the slacks allow.
    fn start_inside(&mut self) {
        let spread = -(self.open.len() as f64).ln();
        let mut level = f64::INFINITY;
        for &i in &self.open {
            let size = self.system.size(i);
            if size > 0.0 {
                let here = self.gamma[i] + if self.system.is_gas(i) { spread } else { 0.0 };
                level = level.min((here - 1.0) / size);
            }
        }
        self.pi.clear();
        for row in 0..self.frame.rows {
            self.pi.push(level * self.system.size(self.frame.components[row]));
        }
        let mut atoms = 0.0;
        for index in 0..self.open.len() {
            let i = self.open[index];
            let here = self.gamma[i] + if self.system.is_gas(i) { spread } else { 0.0 };
            self.slack[i] = (here - level * self.system.size(i)).max(1.0);
            atoms += self.system.size(i).abs() / self.slack[i];
        }
        for &i in &self.open {
            self.amount[i] = 1.0 / (atoms * self.slack[i]);
        }
    }

    fn mean_product(&self) -> f64 {
        self.walkers.iter().map(|w| w.amount * w.slack).sum::<f64>() / self.walkers.len() as f64
    }

    fn mean_after(&self, step: f64) -> f64 {
        let product = |w: &Walker| (w.amount + step * w.amount_step) * (w.slack + step * w.slack_step);
        self.walkers.iter().map(product).sum::<f64>().max(0.0) / self.walkers.len() as f64
    }

    fn imbalance(&self) -> f64 {
        let mut greatest = 0.0f64;
        for row in 0..self.frame.rows {
            let there: f64 = self.walkers.iter().map(|w| w.amount * self.frame.column(w.place)[row]).sum();
            greatest = greatest.max((self.frame.amounts[row] - there).abs());
        }
        greatest
    }

    fn interior_matrix(&mut self, warms: bool) -> bool {
        let rows = self.frame.rows;
        let mixed = self.at_pressure && !self.gas.is_empty();
        let size = rows + usize::from(mixed) + usize::from(warms);
        self.matrix.clear(size);
        let (mut total, mut curvature) = (0.0, 0.0);
        for (walker, column) in self.walkers.iter_mut().zip(self.columns.chunks_exact(size)) {
            let (share, bends) = if walker.gas { (walker.amount, 1.0) } else { (0.0, 0.0) };
            walker.weight = walker.amount / (walker.slack + bends);
            walker.inverse = 1.0 / walker.amount;
            total += share;
            curvature += walker.amount * walker.capacity;
            self.matrix.add_square(walker.weight, column);
        }
        self.matrix.mirror(size);
        for row in 0..rows {
            self.matrix.add(row, row, 1e-30);
        }
        if mixed {
            self.matrix.add(rows, rows, -total - 1e-14 * total);
        }
        if warms {
            self.matrix.add(size - 1, size - 1, curvature);
        }
        self.logarithm = if mixed { total.ln() } else { 0.0 };
        self.matrix.factor().is_ok()
    }

    /// Newton direction towards products of `target`; the second time, from the same point, with the products of the first
    /// steps.
    fn direction(&mut self, target: f64, corrected: bool, energy: Option<f64>) {
        let (rows, size) = (self.frame.rows, self.matrix.size());
        self.right.clear();
        self.right.extend_from_slice(&self.frame.amounts);
        self.right.resize(size, 0.0);
        if let Some(energy) = energy {
            self.right[size - 1] = energy / (self.scale * GAS_CONSTANT * self.temperature);
        }
        let mut total = 0.0;
        for (w, column) in self.walkers.iter_mut().zip(self.columns.chunks_exact(size)) {
            if corrected {
                w.product = bounded(w.amount_step * w.slack_step, target);
            } else {
                w.product = 0.0;
                w.reduced = w.gamma - dot(&column[..rows], &self.pi);
                if w.gas {
                    w.reduced += w.amount.ln() - self.logarithm;
                }
            }
            total += if w.gas { w.amount } else { 0.0 };
            w.pull = (target - w.product) * w.inverse - w.reduced;
            let part = w.amount + w.weight * w.pull;
            for (right, count) in self.right.iter_mut().zip(column) {
                *right -= part * count;
            }
        }
        if size > rows + usize::from(energy.is_some()) {
            // The gas is as much as its parts are.
            self.right[rows] += total;
        }
        self.matrix.solve(&mut self.right);
        for (w, column) in self.walkers.iter_mut().zip(self.columns.chunks_exact(size)) {
            w.amount_step = w.weight * (w.pull + dot(column, &self.right));
            w.slack_step = (target - w.product - w.slack * w.amount_step) * w.inverse - w.slack;
        }
    }

    /// Greatest step that keeps every amount and slack above zero.
    fn reach(&self) -> f64 {
        let mut hindrance = TO_THE_BOUND;
        for w in &self.walkers {
            let growth = w.amount_step * w.inverse;
            hindrance = hindrance.max(-growth).max(-w.slack_step / w.slack);
            // The logarithm of a plentiful gas bends: it may not grow by more in one step.
            if growth > GROWTH && w.amount > PLENTIFUL && w.gas {
                hindrance = hindrance.max(growth / GROWTH);
            }
        }
        1.0 / hindrance
    }
}
