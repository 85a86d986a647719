//! Which masters remain free when some solids are present?
//!
//! A solid in contact with the solution fixes one linear combination of the logarithms of the masters' activities. By
//! elimination one master of each such solid is expressed by the others; the balances are combined so that the amounts of
//! the solids drop out. What remains is a speciation of fewer masters, without any solid in it.
//!
//! Source: F. M. M. Morel, J. J. Morgan, Environ. Sci. Technol. 6 (1972) 58 (change of basis); Gauss–Jordan elimination.

use super::network::Phase;

/// Below this a pivot counts as zero; stoichiometric coefficients are of order one.
const ZERO: f64 = 1e-9;
/// A reduced basis; all buffers are kept from one use to the next.
#[derive(Clone, Debug, Default)]
pub(super) struct Reduced {
    masters: usize,
    /// Rows of the eliminated system, each `masters` long, then its combination of the original rows.
    rows: Vec<f64>,
    combination: Vec<f64>,
    pub(super) pivots: Vec<usize>,
    pub(super) free: Vec<usize>,
}

/// A phase that depends on those already there: the coefficients of that sum, one for each of them.
#[derive(Clone, Copy, Debug)]
pub(super) struct Dependent;

impl Reduced {
    /// Starts anew, with all masters free.
    pub(super) fn reset(&mut self, masters: usize) {
        self.masters = masters;
        self.rows.clear();
        self.combination.clear();
        self.pivots.clear();
        self.free.clear();
        self.free.extend(0..masters);
    }

    fn count(&self) -> usize {
        self.pivots.len()
    }

    /// Takes in one more phase; where it is a sum of those already in, `sum` holds its coefficients and nothing changes.
    pub(super) fn add(&mut self, phase: &Phase, sizes: &[f64], sum: &mut Vec<f64>) -> Result<(), Dependent> {
        let (m, old) = (self.masters, self.count());
        let most = m;
        let start = self.rows.len();
        self.rows.resize(start + m, 0.0);
        for (part, coefficient) in &phase.parts {
            self.rows[start + part] += coefficient;
        }
        // Rows of combinations are `most` wide, so that adding a phase moves nothing.
        let own = self.combination.len();
        self.combination.resize(own + most, 0.0);
        self.combination[own + old] = 1.0;
        for row in 0..old {
            let factor = self.rows[start + self.pivots[row]];
            if factor != 0.0 {
                for k in 0..m {
                    self.rows[start + k] -= factor * self.rows[row * m + k];
                }
                for k in 0..=old {
                    self.combination[own + k] -= factor * self.combination[row * most + k];
                }
            }
        }
        // The rarest master makes way: its balance would drown in those of the others.
        let amount = |k: usize| sizes[k] / self.rows[start + k].abs();
        let held = (0..m).filter(|k| self.rows[start + k].abs() > ZERO);
        let pivot = held.min_by(|a, b| amount(*a).total_cmp(&amount(*b)));
        let Some(pivot) = pivot else {
            sum.clear();
            sum.extend(self.combination[own..own + old].iter().map(|c| -c));
            self.rows.truncate(start);
            self.combination.truncate(own);
            return Err(Dependent);
        };
        let scale = 1.0 / self.rows[start + pivot];
        for k in 0..m {
            self.rows[start + k] *= scale;
        }
        for k in 0..=old {
            self.combination[own + k] *= scale;
        }
        for row in 0..old {
            let factor = self.rows[row * m + pivot];
            if factor != 0.0 {
                for k in 0..m {
                    self.rows[row * m + k] -= factor * self.rows[start + k];
                }
                for k in 0..=old {
                    self.combination[row * most + k] -= factor * self.combination[own + k];
                }
            }
        }
        self.pivots.push(pivot);
        self.free.retain(|k| *k != pivot);
        Ok(())
    }

    /// Logarithm of activity of an eliminated master that the phases alone give, for the right sides of their laws.
    pub(super) fn base(&self, row: usize, right: &[f64], most: usize) -> f64 {
        right.iter().enumerate().map(|(c, b)| self.combination[row * most + c] * b).sum()
    }

    /// How an eliminated master follows a free one.
    pub(super) fn follows(&self, row: usize, free: usize) -> f64 {
        -self.rows[row * self.masters + free]
    }

    /// Amounts of the phases from what the eliminated balances lack.
    pub(super) fn amounts(&self, lacking: &[f64], most: usize, amounts: &mut [f64]) {
        for (c, amount) in amounts.iter_mut().enumerate() {
            *amount = lacking.iter().enumerate().map(|(row, r)| r * self.combination[row * most + c]).sum();
        }
    }
}
