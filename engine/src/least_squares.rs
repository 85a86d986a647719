//! Which values of the parameters of a curve fit readings best?
//!
//! ```text
//! minimise S(b) = Σ ((yᵢ − f(b, xᵢ)) / uᵢ)²       cov b = s² (JᵀJ)⁻¹
//! ```
//! Damped Gauss–Newton (Levenberg–Marquardt) with each parameter damped in proportion to its own curvature, so that units
//! do not matter; undamped steps wherever they lead down. s² is S over its degrees of freedom where the scatter is learned
//! from the fit, and 1 where the uncertainties are given.
//!
//! Stop: what the tangent still promises is below 1e-7 of the scatter (Bates and Watts) or, where no step lowers S any
//! more, a trillionth of S; or the step is below 1e-12 of the parameters. [`Status::Almost`]: steps or damping ran out
//! first; [`Status::Failed`]: the curve is not a number at the start, or the readings do not fix the parameters. A local
//! answer is found, from the start given. Damping is 1e-3 at first.
//!
//! [`crate::account::fit`] solves its steps with the same [`damped_step`] but descends by itself: its coordinates have a
//! prior, a box and kinks, and its slopes cost far more than its values, which makes other rules the cheaper ones.
//!
//! Source: Levenberg (1944), Marquardt, J. SIAM 11 (1963) 431; Bates and Watts, Technometrics 23 (1981) 179 (stopping).

use crate::account::fit::Status;
use faer::Mat;
use faer::linalg::solvers::{Llt, Solve};

/// Damping above which no step is left.
const MOST_DAMPING: f64 = 1e12;

/// A curve: values at the points, and their derivatives by each parameter, row by row.
pub trait Curve {
    /// Fills `values` (one for each point) and `slopes` (points × parameters).
    fn at(&self, parameters: &[f64], values: &mut [f64], slopes: &mut [f64]);
}

impl<F: Fn(&[f64], &mut [f64], &mut [f64])> Curve for F {
    fn at(&self, parameters: &[f64], values: &mut [f64], slopes: &mut [f64]) {
        self(parameters, values, slopes);
    }
}

/// How readings scatter.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Scatter<'a> {
    /// Alike, by as much as the fit shows.
    Learned,
    /// By these standard uncertainties, > 0.
    Given(&'a [f64]),
}

/// A fitted curve.
#[derive(Clone, Debug, PartialEq)]
pub struct Fitted {
    /// Parameters.
    pub parameters: Vec<f64>,
    /// Their standard uncertainties; NaN where there are no more readings than parameters and the scatter is learned.
    pub standard_uncertainties: Vec<f64>,
    /// Their covariance, row by row.
    pub covariance: Vec<f64>,
    /// Sum of squares S at the best fit.
    pub sum_of_squares: f64,
    /// Readings less parameters.
    pub freedom: usize,
    /// Steps made.
    pub steps: usize,
    /// How it ended.
    pub status: Status,
}

/// Fits a curve to readings.
///
/// | argument   | symbol | shape | range |
/// |------------|--------|-------|-------|
/// | `readings` | y      | n     | finite, no fewer than parameters |
/// | `scatter`  | u      | n     | > 0 |
/// | `start`    | b      | p     | finite |
/// | `steps`    |        |       | most steps |
///
/// `None` where the shapes do not fit, a reading is not a number or an uncertainty is not positive.
///
/// # Source
/// Marquardt 1963.
///
/// ```
/// use engine::least_squares::{Scatter, fit_curve};
/// // y = a·exp(−k t), exactly.
/// let times = [0.0, 1.0, 2.0, 3.0];
/// let readings = times.map(|t: f64| 5.0 * (-0.4 * t).exp());
/// let curve = |b: &[f64], values: &mut [f64], slopes: &mut [f64]| {
///     for (i, t) in times.iter().enumerate() {
///         let fall = (-b[1] * t).exp();
///         values[i] = b[0] * fall;
///         slopes[2 * i] = fall;
///         slopes[2 * i + 1] = -t * b[0] * fall;
///     }
/// };
/// let fitted = fit_curve(&curve, &readings, Scatter::Learned, &[3.0, 1.0], 100).ok_or("sound")?;
/// assert!((fitted.parameters[1] - 0.4).abs() < 1e-9);
/// # Ok::<(), &str>(())
/// ```
#[must_use]
pub fn fit_curve(
    curve: &impl Curve,
    readings: &[f64],
    scatter: Scatter<'_>,
    start: &[f64],
    steps: usize,
) -> Option<Fitted> {
    let (n, p) = (readings.len(), start.len());
    let weights: Vec<f64> = match scatter {
        Scatter::Learned => vec![1.0; n],
        Scatter::Given(u) => u.iter().map(|u| 1.0 / u).collect(),
    };
    let sound = |list: &[f64]| list.iter().all(|v| v.is_finite());
    if p == 0 || n < p || weights.len() != n || !sound(readings) || !sound(start) {
        return None;
    }
    if weights.iter().any(|w| !(*w > 0.0 && w.is_finite())) {
        return None;
    }
    let descent = Descent { curve, readings, weights };
    let (point, steps, status) = descent.run(start, steps);
    let freedom = n - p;
    let variance = match scatter {
        Scatter::Learned if freedom == 0 => f64::NAN,
        Scatter::Learned => point.sum / freedom as f64,
        Scatter::Given(_) => 1.0,
    };
    let inverse = inverse(&point.normal);
    let status = if inverse.is_none() { Status::Failed } else { status };
    let inverse = inverse.unwrap_or_else(|| Mat::from_fn(p, p, |_, _| f64::NAN));
    Some(Fitted {
        standard_uncertainties: (0..p).map(|i| (variance * inverse[(i, i)]).sqrt()).collect(),
        covariance: (0..p * p).map(|k| variance * inverse[(k / p, k % p)]).collect(),
        parameters: point.parameters,
        sum_of_squares: point.sum,
        freedom,
        steps,
        status,
    })
}

/// A point of the descent.
struct Point {
    parameters: Vec<f64>,
    sum: f64,
    normal: Mat<f64>,
    /// Half the slope of S, downhill.
    downhill: Mat<f64>,
}

struct Descent<'a, C> {
    curve: &'a C,
    readings: &'a [f64],
    weights: Vec<f64>,
}

impl<C: Curve> Descent<'_, C> {
    fn at(&self, parameters: Vec<f64>) -> Point {
        let (n, p) = (self.readings.len(), parameters.len());
        let (mut values, mut slopes) = (vec![0.0; n], vec![0.0; n * p]);
        self.curve.at(&parameters, &mut values, &mut slopes);
        let mut normal = Mat::<f64>::zeros(p, p);
        let mut downhill = Mat::<f64>::zeros(p, 1);
        let mut sum = 0.0;
        for (i, weight) in self.weights.iter().enumerate() {
            let apart = weight * (self.readings[i] - values[i]);
            sum += apart * apart;
            let row: Vec<f64> = slopes[i * p..(i + 1) * p].iter().map(|slope| weight * slope).collect();
            for (j, a) in row.iter().enumerate() {
                downhill[(j, 0)] += a * apart;
                for (k, b) in row.iter().enumerate() {
                    normal[(j, k)] += a * b;
                }
            }
        }
        Point { parameters, sum, normal, downhill }
    }

    fn run(&self, start: &[f64], most: usize) -> (Point, usize, Status) {
        let mut here = self.at(start.to_vec());
        if !here.sum.is_finite() {
            return (here, 0, Status::Failed);
        }
        let freedom = (self.readings.len() - start.len()).max(1) as f64;
        let mut damping = 1e-3;
        for steps in 1..=most {
            let diagonal: Vec<f64> = (0..start.len()).map(|i| here.normal[(i, i)].max(f64::MIN_POSITIVE)).collect();
            if let Some(step) = damped_step(&here.normal, &here.downhill, |_| 0.0) {
                let promised: f64 = step.iter().enumerate().map(|(i, s)| s * here.downhill[(i, 0)]).sum();
                let small = step.iter().zip(&here.parameters).all(|(s, b)| s.abs() <= 1e-12 * b.abs());
                // Where S is a sum of figures, it cannot show a fall below a trillionth of itself.
                let stuck = damping > 1.0 && promised.abs() <= 1e-12 * here.sum;
                if promised.max(0.0).sqrt() <= 1e-7 * (here.sum / freedom).sqrt() || small || stuck {
                    return (here, steps, Status::Solved);
                }
            }
            let step = damped_step(&here.normal, &here.downhill, |i| damping * diagonal[i]);
            let there = step.map(|step| self.at(here.parameters.iter().zip(&step).map(|(b, s)| b + s).collect()));
            match there {
                Some(there) if there.sum <= here.sum => {
                    here = there;
                    damping = (damping * 0.1).max(1e-14);
                }
                _ => damping *= 8.0,
            }
            if damping > MOST_DAMPING {
                return (here, steps, Status::Almost);
            }
        }
        (here, most, Status::Almost)
    }
}

/// Solves (M + diag d) s = g; `None` where the matrix is not positive definite.
pub fn damped_step(matrix: &Mat<f64>, gradient: &Mat<f64>, damping: impl Fn(usize) -> f64) -> Option<Vec<f64>> {
    let mut damped = matrix.clone();
    for i in 0..damped.nrows() {
        damped[(i, i)] += damping(i);
    }
    let factor = Llt::new(damped.as_ref(), faer::Side::Lower).ok()?;
    let step = factor.solve(gradient);
    let step: Vec<f64> = (0..step.nrows()).map(|i| step[(i, 0)]).collect();
    step.iter().all(|s| s.is_finite()).then_some(step)
}

/// The inverse of a normal matrix, by way of one with ones on its diagonal.
fn inverse(normal: &Mat<f64>) -> Option<Mat<f64>> {
    let p = normal.nrows();
    let root: Vec<f64> = (0..p).map(|i| normal[(i, i)].sqrt()).collect();
    if root.iter().any(|r| !(*r > 0.0 && r.is_finite())) {
        return None;
    }
    let scaled = Mat::from_fn(p, p, |i, k| normal[(i, k)] / (root[i] * root[k]));
    let factor = Llt::new(scaled.as_ref(), faer::Side::Lower).ok()?;
    let solved = factor.solve(Mat::<f64>::identity(p, p));
    Some(Mat::from_fn(p, p, |i, k| solved[(i, k)] / (root[i] * root[k])))
}
