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

use super::work::Work;

/// Most steps.
const MOST_STEPS: usize = 120;
/// Share of the way to the nearest bound that a step may go.
const TO_THE_BOUND: f64 = 0.99;
/// Mean product of amount and slack at which the path ends.
pub(super) const ENOUGH: f64 = 1e-8;
/// Imbalance at which the path may end, as share of all atoms.
const BALANCED: f64 = 1e-10;
/// A step shorter than this asks for the middle first.
const SHORT: f64 = 0.2;
/// Share of the mean product that is aimed at then.
const CENTRE: f64 = 0.8;
/// How many times its amount a plentiful gas may grow, and what is plentiful.
const GROWTH: f64 = 4.0;
const PLENTIFUL: f64 = 1e-3;
/// After so many steps the components are chosen anew.
const REFRAME: usize = 6;

/// The second-order correction, kept in proportion to what is aimed at.
fn bounded(product: f64, target: f64) -> f64 {
    product.clamp(-9.0 * target, 0.9 * target)
}

impl Work {
    /// Follows the path to its end. Returns whether it was reached.
    pub(super) fn interior(&mut self, enough: f64) -> bool {
        self.start_inside();
        let mut last = 1.0f64;
        for turn in 1..=MOST_STEPS {
            self.steps += 1;
            if turn % REFRAME == 0 && !self.turn_frame() {
                return false;
            }
            let mean = self.mean_product();
            if mean < enough && self.imbalance() < BALANCED.min(enough * 10.0) {
                return true;
            }
            if !mean.is_finite() || !self.interior_matrix() {
                return false;
            }
            self.direction(0.0, false);
            let reach = self.reach();
            let aimed = self.mean_after(reach);
            let towards = if last < SHORT { CENTRE } else { (aimed / mean).powi(3).clamp(1e-6, CENTRE) };
            self.direction(mean * towards, true);
            let step = (TO_THE_BOUND * self.reach()).min(1.0);
            last = step;
            for index in 0..self.open.len() {
                let i = self.open[index];
                self.amount[i] += step * self.amount_step[i];
                self.slack[i] += step * self.slack_step[i];
            }
            for row in 0..self.frame.rows {
                self.pi[row] += step * self.right[row];
            }
        }
        self.mean_product() < 1e3 * enough && self.imbalance() < 1e-7
    }

    /// Takes the most plentiful as components, so that the matrix keeps its figures.
    fn turn_frame(&mut self) -> bool {
        self.reframe().is_ok()
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
        self.open.iter().map(|&i| self.amount[i] * self.slack[i]).sum::<f64>() / self.open.len() as f64
    }

    fn mean_after(&self, step: f64) -> f64 {
        let product =
            |&i: &usize| (self.amount[i] + step * self.amount_step[i]) * (self.slack[i] + step * self.slack_step[i]);
        self.open.iter().map(product).sum::<f64>().max(0.0) / self.open.len() as f64
    }

    fn imbalance(&self) -> f64 {
        let mut greatest = 0.0f64;
        for row in 0..self.frame.rows {
            let there: f64 = self.open.iter().map(|&i| self.amount[i] * self.frame.column(i)[row]).sum();
            greatest = greatest.max((self.frame.amounts[row] - there).abs());
        }
        greatest
    }

    /// How heavily a candidate answers to a change of potential.
    fn weight(&self, i: usize) -> f64 {
        if self.system.is_gas(i) { self.amount[i] / (1.0 + self.slack[i]) } else { self.amount[i] / self.slack[i] }
    }

    fn interior_matrix(&mut self) -> bool {
        let rows = self.frame.rows;
        let mixed = self.at_pressure && !self.gas.is_empty();
        self.matrix.clear(rows + usize::from(mixed));
        let (mut total, mut weights) = (0.0, 0.0);
        for index in 0..self.open.len() {
            let i = self.open[index];
            let weight = self.weight(i);
            self.weight[i] = weight;
            let column = self.frame.column(i);
            for row in 0..rows {
                if column[row] != 0.0 {
                    let part = weight * column[row];
                    for other in row..rows {
                        self.matrix.add(row, other, part * column[other]);
                    }
                }
            }
            if mixed && self.system.is_gas(i) {
                total += self.amount[i];
                weights += weight;
                for row in 0..rows {
                    self.matrix.add_both(row, rows, weight * column[row]);
                }
            }
        }
        self.matrix.mirror(rows);
        for row in 0..rows {
            self.matrix.add(row, row, 1e-30);
        }
        if mixed {
            self.matrix.add(rows, rows, weights - total - 1e-14 * total);
        }
        self.logarithm = if mixed { total.ln() } else { 0.0 };
        self.matrix.factor().is_ok()
    }

    /// Newton direction towards products of `target`; the second time, from the same point, with the products of the first
    /// steps.
    fn direction(&mut self, target: f64, corrected: bool) {
        let rows = self.frame.rows;
        self.right.clear();
        self.right.extend_from_slice(&self.frame.amounts);
        self.right.resize(self.matrix.size(), 0.0);
        for index in 0..self.open.len() {
            let i = self.open[index];
            let gas = self.system.is_gas(i);
            let column = self.frame.column(i);
            if !corrected {
                let mut reduced = self.gamma[i];
                for row in 0..rows {
                    reduced -= column[row] * self.pi[row];
                }
                if gas {
                    reduced += self.amount[i].ln() - self.logarithm;
                }
                self.reduced[i] = reduced;
            }
            let product = if corrected { bounded(self.amount_step[i] * self.slack_step[i], target) } else { 0.0 };
            self.product[i] = product;
            let pull = (target - product) / self.amount[i] - self.reduced[i];
            self.pull[i] = pull;
            let weight = self.weight[i];
            for row in 0..rows {
                self.right[row] -= (self.amount[i] + weight * pull) * column[row];
            }
            if gas && self.matrix.size() > rows {
                self.right[rows] -= weight * pull;
            }
        }
        self.matrix.solve(&mut self.right);
        let mixing = if self.matrix.size() > rows { self.right[rows] } else { 0.0 };
        for index in 0..self.open.len() {
            let i = self.open[index];
            let column = self.frame.column(i);
            let mut rise = self.pull[i];
            for row in 0..rows {
                rise += column[row] * self.right[row];
            }
            if self.system.is_gas(i) {
                rise += mixing;
            }
            let product = self.product[i];
            let change = self.weight[i] * rise;
            let (amount, slack) = (self.amount[i], self.slack[i]);
            self.slack_step[i] = (target - product - amount * slack - slack * change) / amount;
            self.amount_step[i] = change;
        }
    }

    /// Greatest step that keeps every amount and slack above zero.
    fn reach(&self) -> f64 {
        let mut reach = 1.0 / TO_THE_BOUND;
        for &i in &self.open {
            if self.amount_step[i] < 0.0 {
                reach = f64::min(reach, -self.amount[i] / self.amount_step[i]);
            }
            if self.system.is_gas(i) {
                // The logarithm of a plentiful gas bends: it may not grow by more in one step.
                let growth = self.amount_step[i] / self.amount[i];
                if growth > GROWTH && self.amount[i] > PLENTIFUL {
                    reach = f64::min(reach, GROWTH / growth);
                }
            }
            if self.slack_step[i] < 0.0 {
                reach = f64::min(reach, -self.slack[i] / self.slack_step[i]);
            }
        }
        reach
    }
}
