//! How is a small square system solved, again and again, without a new allocation?
//!
//! Gaussian elimination with partial pivoting after a symmetric scaling of rows and columns by powers of two (three
//! rounds towards a greatest entry of 1). The systems have 2 to 20 unknowns and are indefinite; amounts in them span
//! 300 orders of magnitude, so the scaling is what keeps the figures. A general library is slower here than the whole
//! elimination, because it allocates and blocks for sizes a hundred times larger.
//!
//! Source: G. H. Golub, C. F. Van Loan, Matrix Computations, chapter 3; scaling by D. Ruiz, report RAL-TR-2001-034 (from
//! memory).

/// A square system with room for the largest size that can come up.
#[derive(Clone, Debug, Default)]
pub(super) struct Dense {
    size: usize,
    entries: Vec<f64>,
    factors: Vec<f64>,
    scale: Vec<f64>,
    pivots: Vec<usize>,
    kept: Vec<f64>,
}

/// The system has no unique solution within rounding.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) struct Singular;

/// Rounds of scaling.
const ROUNDS: usize = 3;
/// A pivot below this share of 1 (after scaling) is rounding.
const NO_PIVOT: f64 = 1e-14;

/// The power of two next to 1/√x, but for a factor of √2, from the exponent of a number above zero alone.
fn half_power(x: f64) -> f64 {
    let exponent = ((x.to_bits() >> 52) & 0x7ff) as i64 - 1023;
    let half = (-exponent).div_euclid(2).clamp(-500, 500);
    f64::from_bits(((half + 1023) as u64) << 52)
}

impl Dense {
    /// Empties the system and sets its size.
    pub(super) fn clear(&mut self, size: usize) {
        self.size = size;
        self.entries.clear();
        self.entries.resize(size * size, 0.0);
    }

    pub(super) fn size(&self) -> usize {
        self.size
    }

    pub(super) fn add(&mut self, row: usize, column: usize, value: f64) {
        self.entries[row * self.size + column] += value;
    }

    /// Adds to both halves of a symmetric matrix.
    pub(super) fn add_both(&mut self, row: usize, column: usize, value: f64) {
        self.add(row, column, value);
        if row != column {
            self.add(column, row, value);
        }
    }

    /// Adds a column times itself, with a weight, to the upper half.
    pub(super) fn add_square(&mut self, weight: f64, column: &[f64]) {
        for (row, (line, count)) in self.entries.chunks_exact_mut(self.size).zip(column).enumerate() {
            if *count != 0.0 {
                let part = weight * count;
                for (entry, other) in line[row..].iter_mut().zip(&column[row..]) {
                    *entry += part * other;
                }
            }
        }
    }

    /// Copies the upper half, which was filled, into the lower.
    pub(super) fn mirror(&mut self, below: usize) {
        for row in 0..below {
            for column in 0..row {
                self.entries[row * self.size + column] = self.entries[column * self.size + row];
            }
        }
    }

    fn rescale(&mut self) {
        let size = self.size;
        self.scale.clear();
        self.scale.resize(size, 1.0);
        for _ in 0..ROUNDS {
            for row in 0..size {
                let greatest = self.factors[row * size..(row + 1) * size].iter().fold(0.0f64, |m, v| m.max(v.abs()));
                if greatest > 0.0 && greatest.is_finite() {
                    // A power of two changes no digit.
                    let factor = half_power(greatest);
                    if factor == 1.0 {
                        continue;
                    }
                    self.scale[row] *= factor;
                    for other in 0..size {
                        self.factors[row * size + other] *= factor;
                        self.factors[other * size + row] *= factor;
                    }
                }
            }
        }
    }

    /// Factors the matrix; several right-hand sides can follow.
    ///
    /// # Errors
    /// [`Singular`] where a pivot is lost in rounding.
    pub(super) fn factor(&mut self) -> Result<(), Singular> {
        let size = self.size;
        self.factors.clear();
        self.factors.extend_from_slice(&self.entries);
        self.rescale();
        self.pivots.clear();
        for step in 0..size {
            let best = (step..size)
                .max_by(|i, j| self.factors[i * size + step].abs().total_cmp(&self.factors[j * size + step].abs()))
                .unwrap_or(step);
            let pivot = self.factors[best * size + step];
            if pivot.abs() <= NO_PIVOT || !pivot.is_finite() {
                return Err(Singular);
            }
            self.pivots.push(best);
            if best != step {
                for column in 0..size {
                    self.factors.swap(step * size + column, best * size + column);
                }
            }
            for row in step + 1..size {
                let ratio = self.factors[row * size + step] / pivot;
                self.factors[row * size + step] = ratio;
                if ratio != 0.0 {
                    for column in step + 1..size {
                        self.factors[row * size + column] -= ratio * self.factors[step * size + column];
                    }
                }
            }
        }
        Ok(())
    }

    /// Solves for a right-hand side in place.
    pub(super) fn solve(&mut self, right: &mut [f64]) {
        let size = self.size;
        self.kept.clear();
        self.kept.extend(right.iter().take(size).zip(&self.scale).map(|(value, scale)| value * scale));
        let kept = &mut self.kept;
        for (step, best) in self.pivots.iter().enumerate() {
            kept.swap(step, *best);
        }
        for step in 0..size {
            let value = kept[step];
            if value != 0.0 {
                for row in step + 1..size {
                    kept[row] -= self.factors[row * size + step] * value;
                }
            }
        }
        for step in (0..size).rev() {
            let mut value = kept[step];
            for column in step + 1..size {
                value -= self.factors[step * size + column] * kept[column];
            }
            kept[step] = value / self.factors[step * size + step];
        }
        for (index, value) in right.iter_mut().take(size).enumerate() {
            *value = kept[index] * self.scale[index];
        }
    }
}

#[cfg(test)]
mod tests {
    use super::{Dense, Singular};

    #[test]
    fn a_system_of_three_with_amounts_far_apart_is_solved() {
        let matrix = [[4e-200, 1e-100, 1.0], [1e-100, 3.0, 0.0], [1.0, 0.0, 0.0]];
        let wanted = [2e100, -1.0, 0.5];
        let mut dense = Dense::default();
        dense.clear(3);
        let mut right = [0.0; 3];
        for (row, line) in matrix.iter().enumerate() {
            for (column, value) in line.iter().enumerate() {
                dense.add(row, column, *value);
                right[row] += value * wanted[column];
            }
        }
        assert_eq!(dense.factor(), Ok(()));
        dense.solve(&mut right);
        for (found, wanted) in right.iter().zip(wanted) {
            assert!((found / wanted - 1.0).abs() < 1e-12, "{found} {wanted}");
        }
    }

    #[test]
    fn rows_may_change_places_more_than_once() {
        // Every pivot lies below the diagonal.
        let matrix = [[1.0, 2.0, 3.0, 9.0], [2.0, 1.0, 8.0, 1.0], [4.0, 8.0, 1.0, 2.0], [3.0, 9.0, 2.0, 1.0]];
        let wanted = [1.0, -2.0, 3.0, -4.0];
        let mut dense = Dense::default();
        dense.clear(4);
        let mut right = [0.0; 4];
        for (row, line) in matrix.iter().enumerate() {
            for (column, value) in line.iter().enumerate() {
                dense.add(row, column, *value);
                right[row] += value * wanted[column];
            }
        }
        assert_eq!(dense.factor(), Ok(()));
        dense.solve(&mut right);
        for (found, wanted) in right.iter().zip(wanted) {
            assert!((found - wanted).abs() < 1e-13, "{found} {wanted}");
        }
    }

    #[test]
    fn two_equal_rows_are_singular() {
        let mut dense = Dense::default();
        dense.clear(2);
        for (row, column) in [(0, 0), (0, 1), (1, 0), (1, 1)] {
            dense.add(row, column, 2.0);
        }
        assert_eq!(dense.factor(), Err(Singular));
    }
}
