//! What are the best values of streams that must balance and stay within what is possible?
//!
//! A flow is not below zero and a fraction not above one. Where reconciled values break such a bound, the least squares
//! problem is solved within the bounds:
//!
//! ```text
//! minimise (y − x)ᵀ V⁻¹ (y − x)   subject to   A x = b,   l ≤ x ≤ u
//! ```
//! The balances are taken out by x = x₀ + Z t (Z spans the null space of A, x₀ is the answer without bounds), and bounds are
//! added one at a time by a dual active-set method: finite, and exact on the set it ends with. The bounds that hold at the
//! end are then balances like the others (x = l or x = u) for [`reconcile_network`], which gives values and uncertainties.
//!
//! A value at its bound is said to be known exactly, and its neighbours profit from that: with bounds holding, the
//! uncertainties are those of the set found, and somewhat too small. Directions that neither readings nor balances fix are
//! held by a millionth of the weight of a reading.
//!
//! Own code and not a general solver: the problems have some fifty streams, an interior-point answer would have to be
//! solved again on its active set for the uncertainties, and the solver at hand brings thirty crates to build.
//!
//! Source: Goldfarb and Idnani, Math. Program. 27 (1983) 1 (the dual method); Narasimhan and Jordache, Data Reconciliation
//! and Gross Error Detection, Gulf 2000 (bounds in reconciliation; from memory).

use super::LinearError;
use super::network::{Decomposed, Network, Problem, reconcile_network};
use faer::Mat;
use faer::linalg::solvers::{Llt, Solve};

/// Part of its scale by which a value may be beyond a bound.
const BEYOND: f64 = 1e-9;
/// Weight of directions that nothing fixes, in units of that of a reading.
const HELD: f64 = 1e-6;
/// Rounds for each bound before the search is given up.
const ROUNDS: usize = 20;

/// The bound at which a value stands.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum At {
    /// The lower bound.
    Least,
    /// The upper bound.
    Most,
}

/// A network reconciled within bounds.
#[derive(Clone, Debug)]
pub struct Bounded {
    /// Values and tests with the bounds that hold taken as balances; degrees of freedom count them too.
    pub network: Network,
    /// Bounds that hold, one entry for each stream.
    pub at: Vec<Option<At>>,
    /// How much the bounds that hold cost: γ with them less γ without any.
    pub strain: f64,
}

/// Reconciles a network within bounds; bounds may be infinite.
///
/// | argument     | symbol | shape | range |
/// |--------------|--------|-------|-------|
/// | `measured`   | y      | n     | any, or `None` |
/// | `covariance` | V      | n × n | as for [`reconcile_network`] |
/// | `balances`   | A      | m × n | any rank |
/// | `totals`     | b      | m     | any   |
/// | `bounds`     | l, u   | n     | l ≤ u, may be infinite |
///
/// # Errors
/// As [`reconcile_network`], and [`LinearError::NoRoom`] where no values within the bounds keep the balances.
///
/// # Source
/// Goldfarb and Idnani 1983.
///
/// ```
/// use engine::account::linear::bounds::{At, reconcile_within};
/// // 1 = 2 + 3; the readings alone would make stream 3 negative.
/// let bounded = reconcile_within(
///     &[Some(9.7), Some(10.3), None],
///     &[vec![0.04, 0.0, 0.0], vec![0.0, 0.04, 0.0], vec![0.0; 3]],
///     &[vec![1.0, -1.0, -1.0]],
///     &[0.0],
///     &[(0.0, f64::INFINITY); 3],
/// ).map_err(|e| format!("{e:?}"))?;
/// assert_eq!(bounded.at, [None, None, Some(At::Least)]);
/// assert!((bounded.network.values[0].unwrap_or(0.0) - 10.0).abs() < 1e-12);
/// # Ok::<(), String>(())
/// ```
pub fn reconcile_within(
    measured: &[Option<f64>],
    covariance: &[Vec<f64>],
    balances: &[Vec<f64>],
    totals: &[f64],
    bounds: &[(f64, f64)],
) -> Result<Bounded, LinearError> {
    let n = measured.len();
    if bounds.len() != n || bounds.iter().any(|(low, high)| low.is_nan() || high.is_nan() || low > high) {
        return Err(LinearError::Shape);
    }
    let free = reconcile_network(measured, covariance, balances, totals)?;
    let (_, at) = nearest_within(measured, covariance, balances, totals, bounds)?;
    let held: Vec<(usize, f64)> = at
        .iter()
        .enumerate()
        .filter_map(|(i, at)| at.map(|at| (i, if at == At::Least { bounds[i].0 } else { bounds[i].1 })))
        .collect();
    if held.is_empty() {
        return Ok(Bounded { network: free, at, strain: 0.0 });
    }
    let (mut rows, mut sums) = (balances.to_vec(), totals.to_vec());
    for (i, bound) in held {
        rows.push((0..n).map(|j| f64::from(u8::from(i == j))).collect());
        sums.push(bound);
    }
    let network = reconcile_network(measured, covariance, &rows, &sums)?;
    let strain = network.statistic - free.statistic;
    Ok(Bounded { network, at, strain })
}

/// Values of all streams and the bounds that hold: the answer of the method, before uncertainties.
pub(super) fn nearest_within(
    measured: &[Option<f64>],
    covariance: &[Vec<f64>],
    balances: &[Vec<f64>],
    totals: &[f64],
    bounds: &[(f64, f64)],
) -> Result<(Vec<f64>, Vec<Option<At>>), LinearError> {
    let n = measured.len();
    let problem = Problem::new(measured, covariance, balances, totals)?;
    let values = problem.solve()?.all(&problem);
    let mut walk = Walk::new(&problem, balances, values, bounds)?;
    for _ in 0..ROUNDS * n.max(1) {
        let Some(worst) = walk.most_violated() else { return Ok(walk.finish()) };
        walk.add(worst)?;
    }
    Err(LinearError::NoRoom)
}

/// A bound as a half-space: `slope · t ≥ level`.
struct Half {
    stream: usize,
    at: At,
    slope: Mat<f64>,
    level: f64,
}

/// The dual method on the way: feasible in the end, optimal for its active set all along.
struct Walk {
    start: Vec<f64>,
    scales: Vec<f64>,
    null: Mat<f64>,
    halves: Vec<Half>,
    curvature: Llt<f64>,
    t: Mat<f64>,
    active: Vec<usize>,
    multipliers: Vec<f64>,
}

impl Walk {
    fn new(
        problem: &Problem,
        balances: &[Vec<f64>],
        start: Vec<f64>,
        bounds: &[(f64, f64)],
    ) -> Result<Self, LinearError> {
        let n = start.len();
        let mut scales: Vec<f64> = start.iter().map(|x| x.abs()).collect();
        let largest = scales.iter().copied().fold(0.0, f64::max);
        for (scale, (low, high)) in scales.iter_mut().zip(bounds) {
            let bound = [low, high].iter().filter(|b| b.is_finite()).fold(0.0, |a: f64, b| a.max(b.abs()));
            *scale = scale.max(bound);
            if *scale <= 1e-12 * largest {
                *scale = if largest > 0.0 { largest } else { 1.0 };
            }
        }
        for (k, stream) in problem.known.iter().enumerate() {
            scales[*stream] = problem.covariance[(k, k)].sqrt();
        }
        let scaled = Mat::from_fn(balances.len(), n, |i, j| balances[i][j] * scales[j]);
        let sizes: Vec<f64> = (0..balances.len()).map(|i| scaled.row(i).norm_l2()).collect();
        let scaled = Mat::from_fn(balances.len(), n, |i, j| scaled[(i, j)] / sizes[i].max(f64::MIN_POSITIVE));
        let null = Decomposed::of(&scaled)?.right_null;
        let known = Mat::from_fn(problem.known.len(), null.ncols(), |k, j| null[(problem.known[k], j)]);
        let spread = Mat::from_fn(problem.known.len(), problem.known.len(), |i, k| {
            problem.covariance[(i, k)] / (scales[problem.known[i]] * scales[problem.known[k]])
        });
        let mut curvature = Mat::<f64>::zeros(null.ncols(), null.ncols());
        if !problem.known.is_empty() {
            let factor = Llt::new(spread.as_ref(), faer::Side::Lower).map_err(|_| LinearError::Variance)?;
            curvature = known.transpose() * factor.solve(&known);
        }
        for i in 0..null.ncols() {
            curvature[(i, i)] += HELD;
        }
        let curvature = Llt::new(curvature.as_ref(), faer::Side::Lower).map_err(|_| LinearError::Variance)?;
        let halves = halves(&start, &scales, &null, bounds);
        let t = Mat::zeros(null.ncols(), 1);
        Ok(Self { start, scales, null, halves, curvature, t, active: Vec::new(), multipliers: Vec::new() })
    }

    fn excess(&self, half: &Half) -> f64 {
        half.level - dot(&half.slope, &self.t)
    }

    fn most_violated(&self) -> Option<usize> {
        (0..self.halves.len())
            .filter(|i| !self.active.contains(i))
            .map(|i| {
                let half = &self.halves[i];
                (i, self.excess(half) / (1.0 + half.level.abs()))
            })
            .filter(|(_, excess)| *excess > BEYOND)
            .max_by(|a, b| a.1.total_cmp(&b.1))
            .map(|(i, _)| i)
    }

    /// Steps until the bound holds, dropping others that would pull the wrong way.
    fn add(&mut self, new: usize) -> Result<(), LinearError> {
        let mut multiplier = 0.0;
        // Each round drops a bound or ends.
        for _ in 0..=self.halves.len() {
            let (direction, pull) = self.directions(new);
            let slope = dot(&self.halves[new].slope, &direction);
            let full = if slope > 1e-12 { self.excess(&self.halves[new]) / slope } else { f64::INFINITY };
            let blocking = (0..self.active.len())
                .filter(|i| pull[*i] > 1e-14)
                .map(|i| (i, self.multipliers[i] / pull[i]))
                .min_by(|a, b| a.1.total_cmp(&b.1));
            let step = blocking.map_or(full, |(_, most)| most.min(full));
            if step.is_infinite() {
                return Err(LinearError::NoRoom);
            }
            if full.is_finite() {
                self.t += &direction * faer::Scale(step);
            }
            self.multipliers.iter_mut().zip(&pull).for_each(|(u, r)| *u -= step * r);
            multiplier += step;
            if step == full {
                self.active.push(new);
                self.multipliers.push(multiplier);
                return Ok(());
            }
            if let Some((drop, _)) = blocking {
                self.active.remove(drop);
                self.multipliers.remove(drop);
            }
        }
        Err(LinearError::NoRoom)
    }

    /// Where t goes as the new bound is pressed, and how the multipliers of the others fall.
    fn directions(&self, new: usize) -> (Mat<f64>, Vec<f64>) {
        let free = self.curvature.solve(&self.halves[new].slope);
        let q = self.active.len();
        if q == 0 {
            return (free, Vec::new());
        }
        let pressed = Mat::from_fn(self.t.nrows(), q, |i, k| self.halves[self.active[k]].slope[(i, 0)]);
        let through = self.curvature.solve(&pressed);
        let coupling = pressed.transpose() * &through;
        let onto = pressed.transpose() * &free;
        let pull = coupling.partial_piv_lu().solve(&onto);
        let direction = free - through * &pull;
        (direction, (0..q).map(|k| pull[(k, 0)]).collect())
    }

    fn finish(self) -> (Vec<f64>, Vec<Option<At>>) {
        let moved = &self.null * &self.t;
        let values = (0..self.start.len()).map(|i| self.start[i] + self.scales[i] * moved[(i, 0)]).collect();
        let mut at = vec![None; self.start.len()];
        for i in &self.active {
            at[self.halves[*i].stream] = Some(self.halves[*i].at);
        }
        (values, at)
    }
}

/// The finite bounds in the coordinates t, each in units of the stream's scale.
fn halves(start: &[f64], scales: &[f64], null: &Mat<f64>, bounds: &[(f64, f64)]) -> Vec<Half> {
    let mut halves = Vec::new();
    for (stream, (low, high)) in bounds.iter().enumerate() {
        let row = |sign: f64| Mat::from_fn(null.ncols(), 1, |j, _| sign * null[(stream, j)]);
        if low.is_finite() {
            let level = (low - start[stream]) / scales[stream];
            halves.push(Half { stream, at: At::Least, slope: row(1.0), level });
        }
        if high.is_finite() {
            let level = (start[stream] - high) / scales[stream];
            halves.push(Half { stream, at: At::Most, slope: row(-1.0), level });
        }
    }
    halves
}

fn dot(a: &Mat<f64>, b: &Mat<f64>) -> f64 {
    (0..a.nrows()).map(|i| a[(i, 0)] * b[(i, 0)]).sum()
}
