//! Which whole-number combinations of columns vanish?
//!
//! Exact elimination over fractions of unbounded integers, so neither rounding nor overflow can invent or lose a
//! solution. The extreme non-negative solutions are found by the double-description method (Motzkin et al., 1953).

use num_bigint::BigInt;
use num_integer::Integer;
use num_rational::{BigRational, Ratio};
use num_traits::{One, Signed, ToPrimitive, Zero};

/// More candidate rays than this in one step are not followed.
const RAY_LIMIT: usize = 1_000;

/// Rows of a matrix; every row has as many entries as there are columns.
pub(super) type Matrix = Vec<Vec<BigRational>>;

/// An exact fraction of 64-bit integers as one of unbounded integers.
pub(super) fn big(fraction: Ratio<i64>) -> BigRational {
    BigRational::new(BigInt::from(*fraction.numer()), BigInt::from(*fraction.denom()))
}

/// The fraction in 64-bit integers; `None` where it does not fit.
pub(super) fn small(fraction: &BigRational) -> Option<Ratio<i64>> {
    Some(Ratio::new(fraction.numer().to_i64()?, fraction.denom().to_i64()?))
}

/// Brings the matrix to reduced row echelon form; returns the pivot column of each non-zero row.
fn reduce(matrix: &mut Matrix, columns: usize) -> Vec<usize> {
    let mut pivots = Vec::new();
    for column in 0..columns {
        let row = pivots.len();
        let Some(found) = (row..matrix.len()).find(|index| !matrix[*index][column].is_zero()) else {
            continue;
        };
        matrix.swap(row, found);
        let pivot = matrix[row][column].clone();
        for entry in &mut matrix[row] {
            *entry /= &pivot;
        }
        let pivot_row = matrix[row].clone();
        for (index, other) in matrix.iter_mut().enumerate() {
            let factor = other[column].clone();
            if index == row || factor.is_zero() {
                continue;
            }
            for (entry, above) in other.iter_mut().zip(&pivot_row) {
                *entry -= &factor * above;
            }
        }
        pivots.push(column);
    }
    pivots
}

/// Number of independent rows.
pub(super) fn rank(mut matrix: Matrix, columns: usize) -> usize {
    reduce(&mut matrix, columns).len()
}

/// A basis of the null space in smallest whole numbers.
pub(super) fn null_space(mut matrix: Matrix, columns: usize) -> Vec<Vec<BigInt>> {
    let pivots = reduce(&mut matrix, columns);
    let free = (0..columns).filter(|column| !pivots.contains(column));
    free.map(|column| {
        let mut vector = vec![BigRational::zero(); columns];
        vector[column] = BigRational::one();
        for (row, pivot) in pivots.iter().enumerate() {
            vector[*pivot] = -matrix[row][column].clone();
        }
        smallest_whole(&vector)
    })
    .collect()
}

/// The vector times the one positive factor that makes it whole and free of common divisors.
fn smallest_whole(vector: &[BigRational]) -> Vec<BigInt> {
    let denominator = vector.iter().fold(BigInt::one(), |lcm, entry| lcm.lcm(entry.denom()));
    let whole = vector.iter().map(|entry| (entry * &denominator).to_integer()).collect();
    primitive(whole)
}

fn primitive(mut vector: Vec<BigInt>) -> Vec<BigInt> {
    let divisor = vector.iter().fold(BigInt::zero(), |gcd, entry| gcd.gcd(entry));
    if divisor > BigInt::one() {
        for entry in &mut vector {
            *entry /= &divisor;
        }
    }
    vector
}

/// The one solution x of `matrix · x = 0` with x₀ = 1; `None` where there is none or more than one.
pub(super) fn unique_with_first_one(matrix: Matrix, columns: usize) -> Option<Vec<BigRational>> {
    let basis = null_space(matrix, columns);
    let [vector] = basis.as_slice() else {
        return None;
    };
    let first = vector.first().filter(|first| !first.is_zero())?;
    Some(vector.iter().map(|entry| BigRational::new(entry.clone(), first.clone())).collect())
}

/// The extreme non-negative solutions of `matrix · x = 0`; empty where there are none or too many to follow.
pub(super) fn extreme_rays(matrix: &Matrix, columns: usize) -> Vec<Vec<BigInt>> {
    let unit = |index: usize| (0..columns).map(|column| BigInt::from(u8::from(column == index))).collect();
    let mut rays: Vec<Vec<BigInt>> = (0..columns).map(unit).collect();
    for row in matrix {
        let whole_row = smallest_whole(row);
        let product = |ray: &[BigInt]| ray.iter().zip(&whole_row).map(|(a, b)| a * b).sum::<BigInt>();
        let (flat, tilted): (Vec<_>, Vec<_>) =
            rays.into_iter().map(|ray| (product(&ray), ray)).partition(|(value, _)| value.is_zero());
        let above = tilted.iter().filter(|(value, _)| value.is_positive()).count();
        if flat.len() + above * (tilted.len() - above) > RAY_LIMIT {
            return Vec::new();
        }
        let mut next: Vec<Vec<BigInt>> = flat.into_iter().map(|(_, ray)| ray).collect();
        for (up, above) in tilted.iter().filter(|(value, _)| value.is_positive()) {
            for (down, below) in tilted.iter().filter(|(value, _)| value.is_negative()) {
                let combined = above.iter().zip(below).map(|(a, b)| a * -down + b * up).collect();
                next.push(primitive(combined));
            }
        }
        rays = keep_minimal(next);
    }
    rays.sort_by_key(|ray| ray.iter().map(|entry| u8::from(!entry.is_zero())).collect::<Vec<u8>>());
    rays.reverse();
    rays
}

/// Drops every ray whose species include all species of another ray.
fn keep_minimal(mut rays: Vec<Vec<BigInt>>) -> Vec<Vec<BigInt>> {
    rays.sort();
    rays.dedup();
    let supports: Vec<Vec<bool>> = rays.iter().map(|ray| ray.iter().map(|entry| !entry.is_zero()).collect()).collect();
    let contains = |outer: &[bool], inner: &[bool]| outer.iter().zip(inner).all(|(outer, inner)| *outer || !*inner);
    let is_minimal = |index: usize| {
        let own = &supports[index];
        !supports.iter().enumerate().any(|(other, support)| other != index && support != own && contains(own, support))
    };
    let keep: Vec<bool> = (0..rays.len()).map(is_minimal).collect();
    rays.into_iter().zip(keep).filter(|(_, keep)| *keep).map(|(ray, _)| ray).collect()
}

/// The first vectors that are linearly independent, at most `wanted`.
pub(super) fn independent(vectors: Vec<Vec<BigInt>>, wanted: usize) -> Vec<Vec<BigInt>> {
    let mut chosen: Vec<Vec<BigInt>> = Vec::new();
    for vector in vectors {
        if chosen.len() == wanted {
            break;
        }
        let columns = vector.len();
        chosen.push(vector);
        let mut matrix: Matrix =
            chosen.iter().map(|row| row.iter().cloned().map(BigRational::from_integer).collect()).collect();
        if reduce(&mut matrix, columns).len() < chosen.len() {
            chosen.pop();
        }
    }
    chosen
}
