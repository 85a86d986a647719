//! What are the best values where balances are not linear?
//!
//! ```text
//! minimise (y − x)ᵀ V⁻¹ (y − x)   subject to   f(x) = 0,   l ≤ x ≤ u
//! ```
//! Successive linearisation (Gauss–Newton with constraints): at each point the balances are replaced by their tangents,
//! A = f'(x), A x' = A x − f(x), and the linear problem is solved within the bounds. The step is halved until
//! ½ (y − x)ᵀ V⁻¹ (y − x) + ρ Σ |f| has fallen, ρ as large as the step needs to lead downhill. Where no step is left the
//! conditions of the nonlinear problem hold, not only those of the tangent. All is reckoned in standard deviations of the
//! readings, and each balance in the size of its terms.
//!
//! Stop: no value moves by more than a hundred-thousandth of its standard deviation (unmeasured: of its size), and no balance is
//! open by more than 1e-9 of its terms. [`Status::Almost`]: the steps ran out, or halving helped no more;
//! [`Status::Failed`]: a balance is not a number. Uncertainties and tests are those of the tangents at the end: good where
//! the balances bend little over the standard deviations. A local best answer is found, from the start given.
//!
//! Source: Britt and Luecke, Technometrics 15 (1973) 233; Knepper and Gorman, AIChE J. 26 (1980) 260 (successive
//! linearisation); Nocedal and Wright, Numerical Optimization, Springer 2006, 18.3 (merit function).

use super::LinearError;
use super::bounds::{At, nearest_within, reconcile_within};
use super::network::Network;
use crate::account::fit::Status;

/// Balances at a point.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Excess {
    /// What each balance has too much; 0 where it holds.
    pub excess: Vec<f64>,
    /// Its derivatives by each value, row by row.
    pub slopes: Vec<Vec<f64>>,
}

/// Balances with their derivatives.
pub trait Balances {
    /// The balances at these values.
    fn at(&self, values: &[f64]) -> Excess;
}

impl<F: Fn(&[f64]) -> Excess> Balances for F {
    fn at(&self, values: &[f64]) -> Excess {
        self(values)
    }
}

/// Settings of the search.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct CurvedSettings {
    /// Most steps.
    pub steps: usize,
    /// Largest last step, in standard deviations (unmeasured: of the size of the value).
    pub step: f64,
    /// Largest open balance, of the size of its terms.
    pub excess: f64,
    /// Most halvings of a step.
    pub halvings: usize,
}

impl Default for CurvedSettings {
    fn default() -> Self {
        Self { steps: 100, step: 1e-5, excess: 1e-9, halvings: 20 }
    }
}

/// Values that keep curved balances.
#[derive(Clone, Debug)]
pub struct Curved {
    /// Values, uncertainties and tests, by the tangents at the answer.
    pub network: Network,
    /// Bounds that hold.
    pub at: Vec<Option<At>>,
    /// Largest open balance, of the size of its terms.
    pub excess: f64,
    /// Steps made.
    pub steps: usize,
    /// How it ended.
    pub status: Status,
}

/// Reconciles readings with balances that are not linear.
///
/// | argument     | symbol | shape | range |
/// |--------------|--------|-------|-------|
/// | `measured`   | y      | n     | any, or `None` |
/// | `covariance` | V      | n × n | positive definite over the measured values |
/// | `balances`   | f      | m     | with derivatives |
/// | `start`      |        | n     | finite; the readings, and a guess for the others |
/// | `bounds`     | l, u   | n     | l ≤ u, may be infinite |
///
/// # Errors
/// [`LinearError`] as for the linear problem: shapes, variances, tangents that contradict one another or the bounds.
///
/// # Source
/// Britt and Luecke 1973.
pub fn reconcile_curved(
    measured: &[Option<f64>],
    covariance: &[Vec<f64>],
    balances: &impl Balances,
    start: &[f64],
    bounds: &[(f64, f64)],
    settings: &CurvedSettings,
) -> Result<Curved, LinearError> {
    let n = measured.len();
    let square = covariance.len() == n && covariance.iter().all(|row| row.len() == n);
    if !square || start.len() != n || bounds.len() != n || start.iter().any(|x| !x.is_finite()) {
        return Err(LinearError::Shape);
    }
    let scales: Vec<f64> = (0..n)
        .map(|i| match (measured[i], start[i].abs()) {
            (Some(_), _) => covariance[i][i].sqrt(),
            (None, size) if size > 0.0 => size,
            (None, _) => 1.0,
        })
        .collect();
    if scales.iter().any(|s| !(*s > 0.0 && s.is_finite())) {
        return Err(LinearError::Variance);
    }
    let search = Search {
        readings: measured.iter().zip(&scales).map(|(y, s)| y.map(|y| y / s)).collect(),
        covariance: (0..n).map(|i| (0..n).map(|k| covariance[i][k] / (scales[i] * scales[k])).collect()).collect(),
        bounds: bounds.iter().zip(&scales).map(|((low, high), s)| (low / s, high / s)).collect(),
        balances,
        scales,
        settings,
    };
    search.run(start)
}

struct Tangent {
    readings: Vec<Option<f64>>,
    lack: Vec<f64>,
    bounds: Vec<(f64, f64)>,
}

struct Search<'a, B> {
    readings: Vec<Option<f64>>,
    covariance: Vec<Vec<f64>>,
    bounds: Vec<(f64, f64)>,
    balances: &'a B,
    scales: Vec<f64>,
    settings: &'a CurvedSettings,
}

impl<B: Balances> Search<'_, B> {
    /// Balances at scaled values, each divided by the size of its terms; `None` where one is not a number.
    fn balances(&self, x: &[f64]) -> Option<Excess> {
        let values: Vec<f64> = x.iter().zip(&self.scales).map(|(x, s)| x * s).collect();
        let mut found = self.balances.at(&values);
        for (excess, slopes) in found.excess.iter_mut().zip(&mut found.slopes) {
            slopes.iter_mut().zip(&self.scales).for_each(|(slope, s)| *slope *= s);
            let size = slopes.iter().map(|slope| slope.abs()).fold(0.0, f64::max);
            if size > 0.0 {
                *excess /= size;
                slopes.iter_mut().for_each(|slope| *slope /= size);
            }
        }
        let sound = found.excess.iter().chain(found.slopes.iter().flatten()).all(|v| v.is_finite());
        sound.then_some(found)
    }

    /// ½ (y − x)ᵀ V⁻¹ (y − x): twice its slope is found by differences of a quadratic, exactly.
    fn misfit(&self, inverse: &[Vec<f64>], x: &[f64]) -> f64 {
        let apart: Vec<f64> = self.readings.iter().zip(x).map(|(y, x)| y.map_or(0.0, |y| y - x)).collect();
        0.5 * apart.iter().zip(inverse).map(|(a, row)| a * inner(row, &apart)).sum::<f64>()
    }

    fn run(&self, start: &[f64]) -> Result<Curved, LinearError> {
        let inverse = self.inverse()?;
        let mut x: Vec<f64> = start.iter().zip(&self.scales).map(|(x, s)| x / s).collect();
        for (x, (low, high)) in x.iter_mut().zip(&self.bounds) {
            *x = x.max(*low).min(*high);
        }
        let Some(mut here) = self.balances(&x) else { return Err(LinearError::Shape) };
        let (mut status, mut steps, mut weight) = (Status::Almost, 0, 0.0f64);
        while steps < self.settings.steps {
            steps += 1;
            let step = self.step(&x, &here)?;
            let open = here.excess.iter().fold(0.0f64, |a, e| a.max(e.abs()));
            if step.iter().fold(0.0f64, |a, s| a.max(s.abs())) <= self.settings.step && open <= self.settings.excess {
                status = Status::Solved;
                break;
            }
            let full: Vec<f64> = x.iter().zip(&step).map(|(x, s)| x + s).collect();
            let violation: f64 = here.excess.iter().map(|e| e.abs()).sum();
            let (before, after) = (self.misfit(&inverse, &x), self.misfit(&inverse, &full));
            if violation > 0.0 {
                weight = weight.max(2.0 * (after - before) / violation).max(1e-3);
            }
            // How fast the merit falls at first: the misfit is a quadratic of known ends and curvature.
            let bend = self.misfit_of_step(&inverse, &step);
            let slope = after - before - bend - weight * violation;
            let merit = before + weight * violation;
            let mut part = 1.0;
            let mut taken = None;
            for _ in 0..self.settings.halvings {
                let trial: Vec<f64> = x.iter().zip(&step).map(|(x, s)| x + part * s).collect();
                if let Some(there) = self.balances(&trial) {
                    let open: f64 = there.excess.iter().map(|e| e.abs()).sum();
                    if self.misfit(&inverse, &trial) + weight * open <= merit + 1e-4 * part * slope.min(0.0) {
                        taken = Some((trial, there));
                        break;
                    }
                }
                part *= 0.5;
            }
            let Some(taken) = taken else { break };
            (x, here) = taken;
        }
        self.told(&x, &here, steps, status)
    }

    /// ½ sᵀ V⁻¹ s over the measured values.
    fn misfit_of_step(&self, inverse: &[Vec<f64>], step: &[f64]) -> f64 {
        let of_known: Vec<f64> = self.readings.iter().zip(step).map(|(y, s)| y.map_or(0.0, |_| *s)).collect();
        0.5 * of_known.iter().zip(inverse).map(|(a, row)| a * inner(row, &of_known)).sum::<f64>()
    }

    /// The linear problem of the tangents, in steps from `x`: readings, what the balances lack, bounds.
    fn tangent(&self, x: &[f64], here: &Excess) -> Tangent {
        Tangent {
            readings: self.readings.iter().zip(x).map(|(y, x)| y.map(|y| y - x)).collect(),
            lack: here.excess.iter().map(|e| -e).collect(),
            bounds: self.bounds.iter().zip(x).map(|((low, high), x)| (low - x, high - x)).collect(),
        }
    }

    fn step(&self, x: &[f64], here: &Excess) -> Result<Vec<f64>, LinearError> {
        let Tangent { readings, lack, bounds } = self.tangent(x, here);
        match nearest_within(&readings, &self.covariance, &here.slopes, &lack, &bounds) {
            // Far from the answer the tangents may leave no room within the bounds: go by them, as far as the bounds let.
            Err(LinearError::NoRoom) => {
                let wide = vec![(f64::NEG_INFINITY, f64::INFINITY); x.len()];
                let (step, _) = nearest_within(&readings, &self.covariance, &here.slopes, &lack, &wide)?;
                Ok(step.iter().zip(&bounds).map(|(s, (low, high))| s.max(*low).min(*high)).collect())
            }
            found => Ok(found?.0),
        }
    }

    /// What the tangents at the end say, in the units of the readings.
    fn told(&self, x: &[f64], here: &Excess, steps: usize, status: Status) -> Result<Curved, LinearError> {
        let Tangent { readings, lack, bounds } = self.tangent(x, here);
        let bounded = reconcile_within(&readings, &self.covariance, &here.slopes, &lack, &bounds)?;
        let mut network = bounded.network;
        for (i, s) in self.scales.iter().enumerate() {
            let (low, high) = self.bounds[i];
            network.values[i] = network.values[i].map(|_| x[i].max(low).min(high) * s);
            network.standard_uncertainties[i] = network.standard_uncertainties[i].map(|u| u * s);
        }
        let excess = here.excess.iter().fold(0.0f64, |a, e| a.max(e.abs()));
        let status = if excess.is_finite() { status } else { Status::Failed };
        Ok(Curved { network, at: bounded.at, excess, steps, status })
    }

    /// V⁻¹ over the measured values, zero elsewhere.
    fn inverse(&self) -> Result<Vec<Vec<f64>>, LinearError> {
        use faer::linalg::solvers::{Llt, Solve};
        let known: Vec<usize> = (0..self.readings.len()).filter(|i| self.readings[*i].is_some()).collect();
        let spread = faer::Mat::from_fn(known.len(), known.len(), |i, k| self.covariance[known[i]][known[k]]);
        let mut inverse = vec![vec![0.0; self.readings.len()]; self.readings.len()];
        if known.is_empty() {
            return Ok(inverse);
        }
        let factor = Llt::new(spread.as_ref(), faer::Side::Lower).map_err(|_| LinearError::Variance)?;
        let solved = factor.solve(faer::Mat::<f64>::identity(known.len(), known.len()));
        for (i, row) in known.iter().enumerate() {
            for (k, column) in known.iter().enumerate() {
                inverse[*row][*column] = solved[(i, k)];
            }
        }
        Ok(inverse)
    }
}

fn inner(a: &[f64], b: &[f64]) -> f64 {
    a.iter().zip(b).map(|(a, b)| a * b).sum()
}
