//! How uncertain is what is worked out from uncertain figures?
//!
//! Any model Y = f(X), of several results at once:
//!
//! ```text
//! first order     U_Y = C U_X Cᵀ,   C = ∂f/∂x                                        (GUM 5.1.2, 5.2.2)
//! second order    u² = Σᵢ cᵢ² uᵢ² + Σᵢⱼ (½ cᵢⱼ² + cᵢ cᵢⱼⱼ) uᵢ² uⱼ²     uncorrelated, normal    (GUM 5.1.2, note)
//! Monte Carlo     draws of X through f; mean, standard deviation, intervals of the draws   (JCGM 101, 7)
//! ```
//! Derivatives are central differences over a hundredth of the standard uncertainty (second order: over one half). Draws are
//! a seeded Latin hypercube of unit normals, mapped to each distribution; correlated figures are correlated there, which
//! is exact for normal ones. Neglected in the first two: everything that makes a result skewed; that is what the
//! third is for.
//!
//! Source: JCGM 100:2008 (GUM); JCGM 101:2008 (Supplement 1).

use crate::account::hypercube::latin_hypercube;
use crate::ledger::normal_cdf;
use faer::Mat;

/// Part of the standard uncertainty over which a slope is taken.
const SLOPE_PART: f64 = 1e-2;
/// Part of the standard uncertainty over which a curvature is taken.
const BEND_PART: f64 = 0.5;

/// What is known of a figure.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Distribution {
    /// Normal.
    Normal {
        /// Mean.
        mean: f64,
        /// Standard uncertainty.
        standard_uncertainty: f64,
    },
    /// Anywhere within, alike.
    Rectangular {
        /// Lower limit.
        low: f64,
        /// Upper limit.
        high: f64,
    },
    /// Within, the middle most likely: volumetric ware.
    Triangular {
        /// Lower limit.
        low: f64,
        /// Upper limit.
        high: f64,
    },
}

impl Distribution {
    /// Mean.
    #[must_use]
    pub fn mean(self) -> f64 {
        match self {
            Self::Normal { mean, .. } => mean,
            Self::Rectangular { low, high } | Self::Triangular { low, high } => 0.5 * (low + high),
        }
    }

    /// Standard deviation: half-width over √3 or √6 for the bounded ones (GUM 4.3.7, 4.3.9).
    #[must_use]
    pub fn standard_uncertainty(self) -> f64 {
        match self {
            Self::Normal { standard_uncertainty, .. } => standard_uncertainty,
            Self::Rectangular { low, high } => 0.5 * (high - low) / 3f64.sqrt(),
            Self::Triangular { low, high } => 0.5 * (high - low) / 6f64.sqrt(),
        }
    }

    /// The value at a unit-normal deviate.
    #[must_use]
    pub fn image(self, z: f64) -> f64 {
        match self {
            Self::Normal { mean, standard_uncertainty } => mean + standard_uncertainty * z,
            Self::Rectangular { low, high } => low + (high - low) * normal_cdf(z),
            Self::Triangular { low, high } => {
                let p = normal_cdf(z);
                let half = if p < 0.5 { (0.5 * p).sqrt() } else { 1.0 - (0.5 * (1.0 - p)).sqrt() };
                low + (high - low) * half
            }
        }
    }
}

/// Results with their covariance.
#[derive(Clone, Debug, PartialEq)]
pub struct Propagated {
    /// Results.
    pub values: Vec<f64>,
    /// Their covariance, row by row.
    pub covariance: Vec<f64>,
}

impl Propagated {
    /// Standard uncertainty of a result; NaN beyond the last.
    #[must_use]
    pub fn standard_uncertainty(&self, result: usize) -> f64 {
        let n = self.values.len();
        self.covariance.get(result * n + result).map_or(f64::NAN, |v| v.max(0.0).sqrt())
    }

    /// Correlation of two results; NaN beyond the last or where one is exact.
    #[must_use]
    pub fn correlation(&self, one: usize, other: usize) -> f64 {
        let both = self.covariance.get(one * self.values.len() + other).copied().unwrap_or(f64::NAN);
        both / (self.standard_uncertainty(one) * self.standard_uncertainty(other))
    }
}

/// Means of quantities observed together, and the covariance of these means.
///
/// One row for each observation. `None` with fewer than two rows, or rows of different lengths.
///
/// # Source
/// GUM 4.2.3 and 5.2.3.
#[must_use]
pub fn observed_together(rows: &[Vec<f64>]) -> Option<Propagated> {
    let (n, width) = (rows.len(), rows.first()?.len());
    if n < 2 || width == 0 || rows.iter().any(|row| row.len() != width) {
        return None;
    }
    let count = n as f64;
    let values: Vec<f64> = (0..width).map(|i| rows.iter().map(|row| row[i]).sum::<f64>() / count).collect();
    let mut covariance = Vec::with_capacity(width * width);
    for i in 0..width {
        for k in 0..width {
            let sum: f64 = rows.iter().map(|row| (row[i] - values[i]) * (row[k] - values[k])).sum();
            covariance.push(sum / (count * (count - 1.0)));
        }
    }
    Some(Propagated { values, covariance })
}

/// First-order propagation through a model of several results.
///
/// | argument     | symbol | shape | range |
/// |--------------|--------|-------|-------|
/// | `model`      | f      | n → m | smooth near the figures |
/// | `figures`    | x      | n     | finite |
/// | `covariance` | U_X    | n × n, row by row | symmetric, no variance negative |
///
/// `None` where the shapes do not fit or a variance is negative.
///
/// # Source
/// GUM 5.1.2 and 5.2.2; several results: GUM H.2.
///
/// ```
/// use engine::propagation::first_order;
/// // Two weighings of one balance: the difference does not know its zero.
/// let shared = first_order(&|x: &[f64]| vec![x[0] - x[1]], &[25.0, 20.0], &[4e-4, 3e-4, 3e-4, 4e-4]).ok_or("sound")?;
/// assert!((shared.standard_uncertainty(0) - 2e-4f64.sqrt()).abs() < 1e-9);
/// # Ok::<(), &str>(())
/// ```
#[must_use]
pub fn first_order(model: &impl Fn(&[f64]) -> Vec<f64>, figures: &[f64], covariance: &[f64]) -> Option<Propagated> {
    let n = figures.len();
    if n == 0
        || covariance.len() != n * n
        || (0..n).any(|i| covariance[i * n + i].is_nan() || covariance[i * n + i] < 0.0)
    {
        return None;
    }
    let values = model(figures);
    let m = values.len();
    let mut slopes = Mat::<f64>::zeros(m, n);
    for i in 0..n {
        let step = SLOPE_PART * covariance[i * n + i].sqrt();
        if step == 0.0 {
            continue;
        }
        let moved = |by: f64| {
            let mut point = figures.to_vec();
            point[i] += by;
            model(&point)
        };
        let (up, down) = (moved(step), moved(-step));
        if up.len() != m || down.len() != m {
            return None;
        }
        for r in 0..m {
            slopes[(r, i)] = (up[r] - down[r]) / (2.0 * step);
        }
    }
    let spread = Mat::from_fn(n, n, |i, k| covariance[i * n + k]);
    let found = &slopes * &spread * slopes.transpose();
    Some(Propagated { values, covariance: (0..m * m).map(|k| found[(k / m, k % m)]).collect() })
}

/// Standard uncertainty of one result with the terms of second order; for uncorrelated figures.
///
/// # Source
/// GUM 5.1.2, note.
#[must_use]
pub fn second_order(model: &impl Fn(&[f64]) -> f64, figures: &[f64], standard_uncertainties: &[f64]) -> Option<f64> {
    let n = figures.len();
    if n == 0 || standard_uncertainties.len() != n {
        return None;
    }
    let u = standard_uncertainties;
    // Moved by so many steps in two figures.
    let at = |one: (usize, f64), other: (usize, f64)| {
        let mut point = figures.to_vec();
        point[one.0] += one.1 * BEND_PART * u[one.0];
        point[other.0] += other.1 * BEND_PART * u[other.0];
        model(&point)
    };
    let here = model(figures);
    // Everything in units of the standard uncertainties.
    let slope = |i: usize| (at((i, 1.0), (i, 0.0)) - at((i, -1.0), (i, 0.0))) / (2.0 * BEND_PART);
    let mut variance = 0.0;
    for (i, own) in u.iter().enumerate() {
        let first = slope(i);
        // The slope over a finite step holds some of the third derivative: take that out.
        let third = if *own == 0.0 {
            0.0
        } else {
            let far = at((i, 1.0), (i, 1.0)) - at((i, -1.0), (i, -1.0));
            let near = at((i, 1.0), (i, 0.0)) - at((i, -1.0), (i, 0.0));
            (far - 2.0 * near) / (2.0 * BEND_PART.powi(3))
        };
        let first = first - third * BEND_PART * BEND_PART / 6.0;
        variance += first * first;
        for j in 0..n {
            let (mixed, higher) = if i == j {
                let bend = at((i, 1.0), (i, 0.0)) - 2.0 * here + at((i, -1.0), (i, 0.0));
                (bend / BEND_PART.powi(2), third)
            } else {
                let [pp, pm, mp, mm] =
                    [(1.0, 1.0), (1.0, -1.0), (-1.0, 1.0), (-1.0, -1.0)].map(|(a, b)| at((i, a), (j, b)));
                let bend = (pp - pm - mp + mm) / (4.0 * BEND_PART.powi(2));
                let (up, down) = (at((i, 1.0), (i, 0.0)), at((i, -1.0), (i, 0.0)));
                (bend, (pp - 2.0 * up + pm - mp + 2.0 * down - mm) / (2.0 * BEND_PART.powi(3)))
            };
            variance += 0.5 * mixed * mixed + first * higher;
        }
    }
    Some(variance.max(0.0).sqrt())
}

/// Draws of one result.
#[derive(Clone, Debug, PartialEq)]
pub struct Draws {
    /// In rising order.
    sorted: Vec<f64>,
}

impl Draws {
    /// Mean.
    #[must_use]
    pub fn mean(&self) -> f64 {
        self.sorted.iter().sum::<f64>() / self.sorted.len() as f64
    }

    /// Standard uncertainty.
    #[must_use]
    pub fn standard_uncertainty(&self) -> f64 {
        let mean = self.mean();
        let sum: f64 = self.sorted.iter().map(|y| (y - mean).powi(2)).sum();
        (sum / (self.sorted.len() as f64 - 1.0)).sqrt()
    }

    /// Interval with as much beyond either end (JCGM 101, 7.7.2).
    #[must_use]
    pub fn symmetric(&self, probability: f64) -> (f64, f64) {
        let q = self.within(probability);
        let r = (self.sorted.len() - q) / 2;
        (self.sorted[r], self.sorted[(r + q).min(self.sorted.len() - 1)])
    }

    /// Shortest interval of that probability (JCGM 101, 5.3.4 and 7.7.4).
    #[must_use]
    pub fn shortest(&self, probability: f64) -> (f64, f64) {
        let q = self.within(probability);
        let ends = self.sorted.iter().zip(&self.sorted[q..]);
        ends.min_by(|a, b| (a.1 - a.0).total_cmp(&(b.1 - b.0)))
            .map_or((f64::NAN, f64::NAN), |(low, high)| (*low, *high))
    }

    /// Draws within an interval of that probability.
    fn within(&self, probability: f64) -> usize {
        let count = self.sorted.len();
        ((probability.clamp(0.0, 1.0) * count as f64 + 0.5) as usize).min(count - 1)
    }
}

/// Monte Carlo propagation: draws of each result.
///
/// | argument        | shape | range |
/// |-----------------|-------|-------|
/// | `model`         | n → m | any |
/// | `distributions` | n     | limits in order, uncertainties ≥ 0 |
/// | `correlation`   | n × n, row by row, or none | positive definite, ones on the diagonal |
/// | `count`         |       | ≥ 2; 10⁵ and more for the ends of intervals |
///
/// `None` where the shapes do not fit, the correlations cannot be, or a draw of a result is not a number.
///
/// # Source
/// JCGM 101:2008, 5.9 and 7.
#[must_use]
pub fn monte_carlo(
    model: &impl Fn(&[f64]) -> Vec<f64>,
    distributions: &[Distribution],
    correlation: Option<&[f64]>,
    count: usize,
    seed: u64,
) -> Option<Vec<Draws>> {
    let n = distributions.len();
    if n == 0 || count < 2 || correlation.is_some_and(|c| c.len() != n * n) {
        return None;
    }
    let root = match correlation {
        Some(c) => {
            let matrix = Mat::from_fn(n, n, |i, k| c[i * n + k]);
            let factor = faer::linalg::solvers::Llt::new(matrix.as_ref(), faer::Side::Lower).ok()?;
            Some(factor.L().to_owned())
        }
        None => None,
    };
    let mut results: Vec<Vec<f64>> = Vec::new();
    let mut point = vec![0.0; n];
    for z in latin_hypercube(count, n, seed).chunks(n) {
        for (i, slot) in point.iter_mut().enumerate() {
            let deviate = root.as_ref().map_or(z[i], |root| (0..=i).map(|k| root[(i, k)] * z[k]).sum());
            *slot = distributions[i].image(deviate);
        }
        let found = model(&point);
        results.resize_with(found.len(), || Vec::with_capacity(count));
        results.iter_mut().zip(found).for_each(|(list, y)| list.push(y));
    }
    let sound = results.iter().all(|list| list.len() == count && list.iter().all(|y| y.is_finite()));
    sound.then(|| {
        let sort = |mut list: Vec<f64>| {
            list.sort_unstable_by(f64::total_cmp);
            Draws { sorted: list }
        };
        results.into_iter().map(sort).collect()
    })
}
