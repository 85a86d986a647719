//! What do balances say of streams that are measured in part?
//!
//! Streams are measured, with uncertainties that may be correlated, or not at all. With A = [Aₘ Aᵤ] for the measured and the
//! unmeasured ones, the rows of P span the left null space of Aᵤ, so that G = P Aₘ holds the balances among measured
//! streams alone:
//!
//! ```text
//! G x = P b;   x̂ = y − V Gᵀ (G V Gᵀ)⁺ (G y − P b);   x̂ᵤ = Aᵤ⁺ (b − Aₘ x̂)
//! ```
//! A measured stream is *redundant* where its column of G is not zero: balances check and improve it. An unmeasured one is
//! *observable* where the right null space of Aᵤ does not touch it: balances and readings fix it.
//!
//! Tests of a gross error: γ of all balances together; each balance by itself (nodal); each adjustment over its own
//! standard deviation (measurement); γ with each reading left out.
//!
//! Source: Crowe, García Campos and Hrymak, AIChE J. 29 (1983) 881 (projection); Narasimhan and Jordache, Data
//! Reconciliation and Gross Error Detection, Gulf 2000 (classes and tests; from memory).

use super::LinearError;
use faer::Mat;
use statrs::distribution::{ChiSquared, ContinuousCDF};

/// Singular values and entries below this share of the largest are zero.
const ZERO: f64 = 1e-9;

/// What can be known of a stream.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Knowable {
    /// Measured, and checked by balances.
    Redundant,
    /// Measured; nothing checks it.
    NotRedundant,
    /// Not measured; balances fix it.
    Observable,
    /// Not measured, and not to be known.
    Unobservable,
}

/// A reconciled network; all lists have one entry for each stream.
#[derive(Clone, Debug)]
pub struct Network {
    /// What can be known of each stream.
    pub classes: Vec<Knowable>,
    /// Best values; `None` for what is not to be known.
    pub values: Vec<Option<f64>>,
    /// Their standard uncertainties.
    pub standard_uncertainties: Vec<Option<f64>>,
    /// Adjustment over its own standard deviation; `None` where nothing adjusts.
    pub measurement_tests: Vec<Option<f64>>,
    /// γ with this reading left out; `None` where that changes no balance.
    pub without: Vec<Option<f64>>,
    /// Each balance by itself: excess over its standard deviation; `None` where it holds an unmeasured stream.
    pub nodal_tests: Vec<Option<f64>>,
    /// Global test statistic γ.
    pub statistic: f64,
    /// Degrees of freedom of γ: balances among measured streams.
    pub freedom: usize,
}

impl Network {
    /// Whether the global test passes at the given probability; it does where there is nothing to test.
    #[must_use]
    pub fn passes(&self, probability: f64) -> bool {
        let critical = ChiSquared::new(self.freedom as f64).map(|chi| chi.inverse_cdf(probability));
        critical.is_ok_and(|critical| self.statistic <= critical) || self.freedom == 0
    }
}

/// Reconciles a network.
///
/// | argument     | symbol | shape | range |
/// |--------------|--------|-------|-------|
/// | `measured`   | y      | n     | any, or `None` |
/// | `covariance` | V      | n × n | symmetric, positive definite over the measured streams; the rest is not looked at |
/// | `balances`   | A      | m × n | any rank |
/// | `totals`     | b      | m     | any   |
///
/// # Errors
/// [`LinearError::Shape`] when shapes disagree, [`LinearError::Variance`] when a variance of a measured stream is not
/// positive or the correlations are impossible, [`LinearError::DependentBalances`] when balances contradict one another.
///
/// ```
/// use engine::account::linear::network::{Knowable, reconcile_network};
/// // 1 = 2 + 3 with 3 not measured.
/// let network = reconcile_network(
///     &[Some(10.0), Some(6.0), None],
///     &[vec![0.04, 0.0, 0.0], vec![0.0, 0.04, 0.0], vec![0.0; 3]],
///     &[vec![1.0, -1.0, -1.0]],
///     &[0.0],
/// ).map_err(|e| format!("{e:?}"))?;
/// assert_eq!(network.classes[2], Knowable::Observable);
/// assert!((network.values[2].unwrap_or(0.0) - 4.0).abs() < 1e-12);
/// # Ok::<(), String>(())
/// ```
pub fn reconcile_network(
    measured: &[Option<f64>],
    covariance: &[Vec<f64>],
    balances: &[Vec<f64>],
    totals: &[f64],
) -> Result<Network, LinearError> {
    let n = measured.len();
    let square = covariance.len() == n && covariance.iter().all(|row| row.len() == n);
    if !square || totals.len() != balances.len() || balances.is_empty() || balances.iter().any(|row| row.len() != n) {
        return Err(LinearError::Shape);
    }
    let problem = Problem::new(measured, covariance, balances, totals)?;
    let solved = problem.solve()?;
    let mut network = Network {
        classes: vec![Knowable::Unobservable; n],
        values: vec![None; n],
        standard_uncertainties: vec![None; n],
        measurement_tests: vec![None; n],
        without: vec![None; n],
        nodal_tests: problem.nodal_tests(),
        statistic: solved.statistic,
        freedom: solved.freedom,
    };
    for (k, stream) in problem.known.iter().enumerate() {
        network.values[*stream] = Some(solved.values[(k, 0)]);
        network.standard_uncertainties[*stream] = Some(solved.covariance[(k, k)].max(0.0).sqrt());
        let redundant = solved.is_redundant(k);
        network.classes[*stream] = if redundant { Knowable::Redundant } else { Knowable::NotRedundant };
        if redundant {
            let change = problem.readings[(k, 0)] - solved.values[(k, 0)];
            let deviation = (problem.covariance[(k, k)] - solved.covariance[(k, k)]).max(0.0).sqrt();
            network.measurement_tests[*stream] = (deviation > 0.0).then(|| change / deviation);
            let mut fewer = measured.to_vec();
            fewer[*stream] = None;
            let rest = Problem::new(&fewer, covariance, balances, totals)?.solve()?;
            network.without[*stream] = Some(rest.statistic);
        }
    }
    for (k, stream) in problem.unknown.iter().enumerate() {
        if let Some((value, deviation)) = solved.unmeasured(&problem, k) {
            network.classes[*stream] = Knowable::Observable;
            network.values[*stream] = Some(value);
            network.standard_uncertainties[*stream] = Some(deviation);
        }
    }
    Ok(network)
}

/// Readings and balances, measured streams apart from the others.
pub(super) struct Problem {
    pub(super) known: Vec<usize>,
    pub(super) unknown: Vec<usize>,
    pub(super) readings: Mat<f64>,
    pub(super) covariance: Mat<f64>,
    of_known: Mat<f64>,
    of_unknown: Mat<f64>,
    totals: Mat<f64>,
}

impl Problem {
    pub(super) fn new(
        measured: &[Option<f64>],
        covariance: &[Vec<f64>],
        balances: &[Vec<f64>],
        totals: &[f64],
    ) -> Result<Self, LinearError> {
        let (known, unknown): (Vec<usize>, Vec<usize>) = (0..measured.len()).partition(|i| measured[*i].is_some());
        let columns = |list: &[usize]| Mat::from_fn(balances.len(), list.len(), |i, k| balances[i][list[k]]);
        let spread = Mat::from_fn(known.len(), known.len(), |i, k| covariance[known[i]][known[k]]);
        let definite = known.is_empty() || spread.llt(faer::Side::Lower).is_ok();
        let symmetric = (0..known.len())
            .all(|i| (0..i).all(|k| (spread[(i, k)] - spread[(k, i)]).abs() <= ZERO * spread[(i, i)].abs()));
        if !definite || !symmetric {
            return Err(LinearError::Variance);
        }
        Ok(Self {
            readings: Mat::from_fn(known.len(), 1, |i, _| measured[known[i]].unwrap_or(f64::NAN)),
            covariance: spread,
            of_known: columns(&known),
            of_unknown: columns(&unknown),
            totals: Mat::from_fn(totals.len(), 1, |i, _| totals[i]),
            known,
            unknown,
        })
    }

    pub(super) fn solve(&self) -> Result<Solved, LinearError> {
        let unknown = Decomposed::of(&self.of_unknown)?;
        let projection = unknown.left_null.transpose();
        let reduced = projection * &self.of_known;
        let excess = &reduced * &self.readings - projection * &self.totals;
        let spread = &reduced * &self.covariance * reduced.transpose();
        let inverse = Decomposed::of(&spread)?;
        let solved = &inverse.pseudo_inverse * &excess;
        // What the balances among measured streams cannot take up contradicts itself.
        let left = &spread * &solved - &excess;
        let size = excess.norm_max().max(self.readings.norm_max()).max(self.totals.norm_max());
        if left.norm_max() > 1e-7 * size {
            return Err(LinearError::DependentBalances);
        }
        let gain = &self.covariance * reduced.transpose();
        Ok(Solved {
            values: &self.readings - &gain * &solved,
            covariance: &self.covariance - &gain * &inverse.pseudo_inverse * gain.transpose(),
            statistic: (excess.transpose() * &solved)[(0, 0)],
            freedom: inverse.rank,
            reduced,
            unknown,
        })
    }

    /// Each balance that holds measured streams only.
    fn nodal_tests(&self) -> Vec<Option<f64>> {
        let excess = &self.of_known * &self.readings - &self.totals;
        let spread = &self.of_known * &self.covariance * self.of_known.transpose();
        (0..self.totals.nrows())
            .map(|i| {
                let whole = (0..self.unknown.len()).all(|k| self.of_unknown[(i, k)] == 0.0);
                (whole && spread[(i, i)] > 0.0).then(|| excess[(i, 0)] / spread[(i, i)].sqrt())
            })
            .collect()
    }
}

pub(super) struct Solved {
    values: Mat<f64>,
    covariance: Mat<f64>,
    statistic: f64,
    freedom: usize,
    reduced: Mat<f64>,
    unknown: Decomposed,
}

impl Solved {
    /// Best values of all streams in order; where nothing fixes one, the smallest in size that the balances allow.
    pub(super) fn all(&self, problem: &Problem) -> Vec<f64> {
        let unknown = &self.unknown.pseudo_inverse * (&problem.totals - &problem.of_known * &self.values);
        let mut all = vec![0.0; problem.known.len() + problem.unknown.len()];
        for (k, stream) in problem.known.iter().enumerate() {
            all[*stream] = self.values[(k, 0)];
        }
        for (k, stream) in problem.unknown.iter().enumerate() {
            all[*stream] = unknown[(k, 0)];
        }
        all
    }

    fn is_redundant(&self, k: usize) -> bool {
        let largest = self.reduced.norm_max();
        (0..self.reduced.nrows()).any(|i| self.reduced[(i, k)].abs() > ZERO * largest)
    }

    /// Value and standard uncertainty of an unmeasured stream, if it can be known.
    fn unmeasured(&self, problem: &Problem, k: usize) -> Option<(f64, f64)> {
        let null = &self.unknown.right_null;
        if (0..null.ncols()).any(|j| null[(k, j)].abs() > ZERO) {
            return None;
        }
        let value = (&self.unknown.pseudo_inverse * (&problem.totals - &problem.of_known * &self.values))[(k, 0)];
        let by_known = &self.unknown.pseudo_inverse * &problem.of_known;
        let variance = (&by_known * &self.covariance * by_known.transpose())[(k, k)];
        Some((value, variance.max(0.0).sqrt()))
    }
}

/// A matrix with its rank, null spaces and pseudo-inverse, by singular values.
pub(super) struct Decomposed {
    rank: usize,
    left_null: Mat<f64>,
    pub(super) right_null: Mat<f64>,
    pseudo_inverse: Mat<f64>,
}

impl Decomposed {
    pub(super) fn of(matrix: &Mat<f64>) -> Result<Self, LinearError> {
        let (rows, columns) = (matrix.nrows(), matrix.ncols());
        if rows == 0 || columns == 0 {
            return Ok(Self {
                rank: 0,
                left_null: Mat::identity(rows, rows),
                right_null: Mat::identity(columns, columns),
                pseudo_inverse: Mat::zeros(columns, rows),
            });
        }
        let svd = matrix.svd().map_err(|_| LinearError::DependentBalances)?;
        let (u, s, v) = (svd.U(), svd.S(), svd.V());
        let largest = s[0];
        let rank = (0..rows.min(columns)).filter(|i| s[*i] > ZERO * largest).count();
        let mut pseudo_inverse = Mat::<f64>::zeros(columns, rows);
        for i in 0..columns {
            for j in 0..rows {
                pseudo_inverse[(i, j)] = (0..rank).map(|k| v[(i, k)] * u[(j, k)] / s[k]).sum();
            }
        }
        Ok(Self {
            rank,
            left_null: Mat::from_fn(rows, rows - rank, |i, k| u[(i, rank + k)]),
            right_null: Mat::from_fn(columns, columns - rank, |i, k| v[(i, rank + k)]),
            pseudo_inverse,
        })
    }
}
