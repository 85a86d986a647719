//! In which independent conditions are the elements conserved?
//!
//! Rows of the element matrix may depend on each other (calcite, lime and carbon dioxide conserve two things, not three),
//! and in rows by element a trace of one thing is a small difference of large amounts. Elimination in the order of the
//! amounts makes the most plentiful independent candidates *components*: each row then says how much of one component all
//! candidates are worth, so that a row about a trace holds traces only, and 1e-30 mol of hydrogen over pure water keeps its
//! figures. Elements that nobody brings, and components that nobody can make where there is none, leave with everything that
//! holds them.
//!
//! Source: the basis of components is that of W. R. Smith, R. W. Missen, Chemical Reaction Equilibrium Analysis, 1982 (from
//! memory).

use super::system::System;

/// Entries below this are rounding: counts are small numbers.
const NOTHING: f64 = 1e-10;
/// Least pivot.
const LEAST_PIVOT: f64 = 1e-6;
/// An amount below this share of what it is the difference of is rounding.
const ROUNDING: f64 = 1e-15;
/// Amounts in dependent rows must agree to this.
const AGREES: f64 = 1e-10;

/// The candidates do not make up the amounts.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) struct Unreachable;

/// Conditions of conservation by component.
#[derive(Clone, Debug, Default)]
pub(super) struct Frame {
    /// Number of independent conditions.
    pub rows: usize,
    /// Amount of each component, as share of all atoms.
    pub amounts: Vec<f64>,
    /// Which candidate each component is.
    pub components: Vec<usize>,
    columns: Vec<f64>,
    tableau: Vec<f64>,
    magnitude: Vec<f64>,
    used: Vec<bool>,
}

impl Frame {
    /// What one candidate is worth in components.
    pub(super) fn column(&self, candidate: usize) -> &[f64] {
        &self.columns[candidate * self.rows..(candidate + 1) * self.rows]
    }

    /// Builds the conditions; `open` holds the candidates that may take part, most plentiful first.
    pub(super) fn build(&mut self, system: &System, open: &[usize], share: &[f64]) -> Result<(), Unreachable> {
        let (rows, all) = (system.elements(), system.candidates().len());
        self.tableau.clear();
        self.tableau.resize(rows * all, 0.0);
        for &candidate in open {
            for (row, count) in system.counts(candidate).iter().enumerate() {
                self.tableau[row * all + candidate] = *count;
            }
        }
        self.amounts.clear();
        self.amounts.extend_from_slice(share);
        self.magnitude.clear();
        self.magnitude.extend(share.iter().map(|amount| amount.abs()));
        self.used.clear();
        self.used.resize(rows, false);
        self.components.clear();
        self.components.resize(rows, usize::MAX);
        for &candidate in open {
            self.pivot(candidate, open, rows, all);
        }
        self.gather(open, rows, all)
    }

    /// Makes a candidate a component if a row is left for it.
    fn pivot(&mut self, candidate: usize, open: &[usize], rows: usize, all: usize) {
        let best = (0..rows)
            .filter(|row| !self.used[*row])
            .max_by(|i, j| {
                let entry = |row: usize| self.tableau[row * all + candidate].abs();
                entry(*i).total_cmp(&entry(*j))
            })
            .filter(|row| self.tableau[row * all + candidate].abs() > LEAST_PIVOT);
        let Some(best) = best else { return };
        self.used[best] = true;
        self.components[best] = candidate;
        let pivot = self.tableau[best * all + candidate];
        for &other in open {
            self.tableau[best * all + other] /= pivot;
        }
        self.amounts[best] /= pivot;
        self.magnitude[best] /= pivot.abs();
        for row in (0..rows).filter(|row| *row != best) {
            let factor = self.tableau[row * all + candidate];
            if factor == 0.0 {
                continue;
            }
            for &other in open {
                let entry = &self.tableau[best * all + other];
                let changed = self.tableau[row * all + other] - factor * entry;
                self.tableau[row * all + other] = if changed.abs() < NOTHING { 0.0 } else { changed };
            }
            self.amounts[row] -= factor * self.amounts[best];
            self.magnitude[row] += factor.abs() * self.magnitude[best];
        }
    }

    /// Keeps the independent rows.
    fn gather(&mut self, open: &[usize], rows: usize, all: usize) -> Result<(), Unreachable> {
        for row in 0..rows {
            if self.amounts[row].abs() <= ROUNDING * self.magnitude[row] {
                self.amounts[row] = 0.0;
            }
            if !self.used[row] && self.amounts[row].abs() > AGREES * self.magnitude[row] {
                return Err(Unreachable);
            }
        }
        let kept = self.used.iter().filter(|used| **used).count();
        self.columns.clear();
        self.columns.resize(all * kept, 0.0);
        let mut next = 0;
        for row in 0..rows {
            if !self.used[row] {
                continue;
            }
            for &candidate in open {
                self.columns[candidate * kept + next] = self.tableau[row * all + candidate];
            }
            self.amounts[next] = self.amounts[row];
            self.components[next] = self.components[row];
            next += 1;
        }
        self.rows = kept;
        self.amounts.truncate(kept);
        self.components.truncate(kept);
        Ok(())
    }

    /// Takes out the candidates that hold a component of which there is none and which none can give up. Returns whether any
    /// left; the conditions must then be built again.
    ///
    /// # Errors
    /// [`Unreachable`] where less than none would be needed.
    pub(super) fn retire(&self, open: &mut Vec<usize>) -> Result<bool, Unreachable> {
        for row in 0..self.rows {
            let one_sign = open.iter().all(|candidate| self.column(*candidate)[row] >= 0.0);
            if self.amounts[row] <= 0.0 && one_sign {
                if self.amounts[row] < -AGREES {
                    return Err(Unreachable);
                }
                let before = open.len();
                open.retain(|candidate| self.column(*candidate)[row] == 0.0);
                return Ok(open.len() < before);
            }
        }
        Ok(false)
    }
}
