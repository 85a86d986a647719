//! What solves a small dense system of linear equations, without taking memory?
//!
//! Gaussian elimination with partial pivoting, in place. Rows are scaled by their largest entry first.
//!
//! Source: any text on numerical analysis.

/// Solves `matrix · x = right` for a row-major square matrix; the solution replaces `right`. `false` where it is singular.
pub(super) fn solve_in_place(matrix: &mut [f64], right: &mut [f64], size: usize) -> bool {
    for row in 0..size {
        let line = &mut matrix[row * size..(row + 1) * size];
        let largest = line.iter().fold(0.0f64, |most, value| most.max(value.abs()));
        if !(largest > 0.0 && largest.is_finite()) {
            return false;
        }
        line.iter_mut().for_each(|value| *value /= largest);
        right[row] /= largest;
    }
    for column in 0..size {
        let size_at = |row: usize| matrix[row * size + column].abs();
        let Some(pivot) = (column..size).max_by(|a, b| size_at(*a).total_cmp(&size_at(*b))) else { return false };
        if size_at(pivot) < 1e-200 {
            return false;
        }
        if pivot != column {
            for k in 0..size {
                matrix.swap(pivot * size + k, column * size + k);
            }
            right.swap(pivot, column);
        }
        for row in column + 1..size {
            let factor = matrix[row * size + column] / matrix[column * size + column];
            if factor != 0.0 {
                for k in column..size {
                    matrix[row * size + k] -= factor * matrix[column * size + k];
                }
                right[row] -= factor * right[column];
            }
        }
    }
    for row in (0..size).rev() {
        let known: f64 = (row + 1..size).map(|k| matrix[row * size + k] * right[k]).sum();
        right[row] = (right[row] - known) / matrix[row * size + row];
    }
    right.iter().take(size).all(|value| value.is_finite())
}
