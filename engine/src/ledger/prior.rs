//! What is believed of an unknown before anything is weighed?
//!
//! Each unknown is the image of a standard normal coordinate `z`: θ = F⁻¹(Φ(z)), with F its prior
//! distribution. Every sampler and fit then works in coordinates of one scale, where the prior is the unit
//! normal. Normal and log-normal images are evaluated directly; the others through a cubic Hermite curve on
//! a grid of step 1/16 in z from −8 to 8 with exact slopes (error below 1e-6 of the distance between the images of
//! z = −1 and z = 1; tested), held level beyond: a probability of 1e-15 is as good as a bound.
//!
//! Source of the transformations: inverse-probability sampling, any statistics text.

use crate::scalar::Scalar;
use statrs::distribution::{Beta, ContinuousCDF, Normal};
use statrs::function::erf::erfc;
use std::f64::consts::{PI, SQRT_2};
use std::sync::Arc;

const REACH: f64 = 8.0;
const STEPS_PER_UNIT: f64 = 16.0;
const NODES: usize = 257;

/// Standard normal distribution function.
#[must_use]
pub fn normal_cdf(z: f64) -> f64 {
    0.5 * erfc(-z / SQRT_2)
}

/// Standard normal density.
#[must_use]
pub fn normal_density(z: f64) -> f64 {
    (-0.5 * z * z).exp() / (2.0 * PI).sqrt()
}

/// The prior distribution of an unknown.
#[derive(Clone, Debug, PartialEq)]
pub enum Prior {
    /// Anything between two bounds alike.
    Uniform {
        /// Lower bound.
        low: f64,
        /// Upper bound.
        high: f64,
    },
    /// A value with a standard uncertainty.
    Normal {
        /// Mean.
        mean: f64,
        /// Standard deviation, > 0.
        deviation: f64,
    },
    /// A normal distribution cut at two bounds.
    TruncatedNormal {
        /// Mean before cutting.
        mean: f64,
        /// Standard deviation before cutting, > 0.
        deviation: f64,
        /// Lower bound.
        low: f64,
        /// Upper bound (may be infinite).
        high: f64,
    },
    /// A positive quantity known by the range that holds 90 % of cases.
    LogNormal {
        /// 5 % point, > 0.
        low: f64,
        /// 95 % point, > `low`.
        high: f64,
    },
    /// A loss known by the range that holds 90 % of cases: like the log-normal within it, but reaching down to nothing
    /// (Weibull distribution). A log-normal would say that work without loss cannot be.
    Loss {
        /// 5 % point, > 0.
        low: f64,
        /// 95 % point, > `low`.
        high: f64,
    },
    /// A fraction.
    Beta {
        /// First shape parameter, > 0.
        alpha: f64,
        /// Second shape parameter, > 0.
        beta: f64,
    },
    /// A non-negative quantity of which only the mean is known.
    Exponential {
        /// Mean, > 0.
        mean: f64,
    },
}

/// Standard normal quantile of 95 %.
const Z95: f64 = 1.644_853_626_951_472_7;

impl Prior {
    /// Value of the unknown at the unit-normal coordinate `z`.
    fn quantile(&self, z: f64) -> f64 {
        // Lower and upper tail, whichever is smaller is accurate.
        let (lower, upper) = (normal_cdf(z), normal_cdf(-z));
        match *self {
            Self::Uniform { low, high } => {
                if z < 0.0 {
                    low + (high - low) * lower
                } else {
                    high - (high - low) * upper
                }
            }
            Self::Normal { mean, deviation } => mean + deviation * z,
            Self::TruncatedNormal { mean, deviation, low, high } => {
                truncated_quantile(mean, deviation, low, high, lower, upper)
            }
            Self::LogNormal { low, high } => log_normal(low, high, z),
            Self::Loss { low, high } => {
                let (shape, scale) = weibull(low, high);
                let hazard = if lower < 0.5 { -(-lower).ln_1p() } else { -upper.ln() };
                scale * hazard.powf(1.0 / shape)
            }
            Self::Beta { alpha, beta } => beta_quantile(alpha, beta, lower, upper),
            Self::Exponential { mean } => -mean * upper.ln(),
        }
    }

    /// Density of the prior at `x`, per unit of `x`.
    fn density(&self, x: f64) -> f64 {
        match *self {
            Self::Uniform { low, high } => 1.0 / (high - low),
            Self::Normal { mean, deviation } => normal_density((x - mean) / deviation) / deviation,
            Self::TruncatedNormal { mean, deviation, low, high } => {
                let (a, b) = ((low - mean) / deviation, (high - mean) / deviation);
                let weight = if a > 0.0 { normal_cdf(-a) - normal_cdf(-b) } else { normal_cdf(b) - normal_cdf(a) };
                normal_density((x - mean) / deviation) / (deviation * weight)
            }
            Self::LogNormal { low, high } => {
                let deviation = (high / low).ln() / (2.0 * Z95);
                let centre = 0.5 * (low * high).ln();
                normal_density((x.ln() - centre) / deviation) / (deviation * x)
            }
            Self::Loss { low, high } => {
                let (shape, scale) = weibull(low, high);
                let t = x / scale;
                shape / scale * t.powf(shape - 1.0) * (-t.powf(shape)).exp()
            }
            Self::Beta { alpha, beta } => {
                let log_norm = statrs::function::beta::ln_beta(alpha, beta);
                ((alpha - 1.0) * x.ln() + (beta - 1.0) * (1.0 - x).ln() - log_norm).exp()
            }
            Self::Exponential { mean } => (-x / mean).exp() / mean,
        }
    }
}

/// Shape and scale of the Weibull distribution with these 5 % and 95 % points.
fn weibull(low: f64, high: f64) -> (f64, f64) {
    let (few, most) = (-(0.95f64.ln()), 20f64.ln());
    let shape = (most / few).ln() / (high / low).ln();
    (shape, high / most.powf(1.0 / shape))
}

fn log_normal(low: f64, high: f64, z: f64) -> f64 {
    let deviation = (high / low).ln() / (2.0 * Z95);
    (0.5 * (low * high).ln() + deviation * z).exp()
}

fn truncated_quantile(mean: f64, deviation: f64, low: f64, high: f64, lower: f64, upper: f64) -> f64 {
    let standard = Normal::standard();
    let (a, b) = ((low - mean) / deviation, (high - mean) / deviation);
    // Work in the tail where the bounds lie, so that the small probabilities keep their digits.
    let x = if a > 0.0 {
        let tail = normal_cdf(-a) * upper + normal_cdf(-b) * lower;
        -standard.inverse_cdf(tail)
    } else {
        let tail = normal_cdf(a) * upper + normal_cdf(b) * lower;
        standard.inverse_cdf(tail)
    };
    (mean + deviation * x).clamp(low, high)
}

fn beta_quantile(alpha: f64, beta: f64, lower: f64, upper: f64) -> f64 {
    // The two one-sided families have closed forms that keep every digit near their bound.
    if (beta - 1.0).abs() < 1e-12 {
        let log_lower = if lower < 0.5 { lower.ln() } else { (-upper).ln_1p() };
        (log_lower / alpha).exp()
    } else if (alpha - 1.0).abs() < 1e-12 {
        let log_upper = if upper < 0.5 { upper.ln() } else { (-lower).ln_1p() };
        -(log_upper / beta).exp_m1()
    } else {
        match Beta::new(alpha, beta) {
            Ok(distribution) => distribution.inverse_cdf(lower),
            Err(_) => f64::NAN,
        }
    }
}

/// A prior made ready for the forward run.
#[derive(Clone, Debug)]
pub struct Unknown {
    prior: Prior,
    image: Image,
    flat: bool,
    free: bool,
}

#[derive(Clone, Debug)]
enum Image {
    Linear { mean: f64, deviation: f64 },
    LogLinear { centre: f64, deviation: f64 },
    Curve(Arc<[(f64, f64)]>),
}

impl Unknown {
    /// An unknown with the given prior.
    #[must_use]
    pub fn new(prior: Prior) -> Self {
        let image = match prior {
            Prior::Normal { mean, deviation } => Image::Linear { mean, deviation },
            Prior::LogNormal { low, high } => {
                Image::LogLinear { centre: 0.5 * (low * high).ln(), deviation: (high / low).ln() / (2.0 * Z95) }
            }
            _ => Image::Curve(curve(&prior)),
        };
        let flat = matches!(prior, Prior::Uniform { .. });
        Self { prior, image, flat, free: flat }
    }

    /// An unknown share of a composition: one stick of a flat Dirichlet distribution over `parts` parts, of
    /// which `index` are already cut.
    #[must_use]
    pub fn share(parts: usize, index: usize) -> Self {
        let rest = parts.saturating_sub(index + 1).max(1) as f64;
        Self { flat: true, free: true, ..Self::new(Prior::Beta { alpha: 1.0, beta: rest }) }
    }

    /// The same unknown, of which only a usual value is known: a fit may leave it without strain.
    #[must_use]
    pub fn without_strain(self) -> Self {
        Self { free: true, ..self }
    }

    /// Whether a fit may sit anywhere without strain: flat unknowns, and those of which only a usual value is known.
    #[must_use]
    pub fn is_free(&self) -> bool {
        self.free
    }

    /// Whether nothing inside the bounds is preferred.
    #[must_use]
    pub fn is_flat(&self) -> bool {
        self.flat
    }

    /// The prior it was made from.
    #[must_use]
    pub fn prior(&self) -> &Prior {
        &self.prior
    }

    /// The value of the unknown at the unit-normal coordinate `z`.
    #[inline]
    pub fn image<S: Scalar>(&self, z: S) -> S {
        match &self.image {
            Image::Linear { mean, deviation } => z.image(mean + deviation * z.value(), *deviation),
            Image::LogLinear { centre, deviation } => {
                let value = (centre + deviation * z.value()).exp();
                z.image(value, deviation * value)
            }
            Image::Curve(nodes) => {
                let (value, slope) = follow(nodes, z.value());
                z.image(value, slope)
            }
        }
    }
}

/// Values and slopes of the quantile on the grid.
fn curve(prior: &Prior) -> Arc<[(f64, f64)]> {
    (0..NODES)
        .map(|i| {
            let z = i as f64 / STEPS_PER_UNIT - REACH;
            let value = prior.quantile(z);
            let slope = normal_density(z) / prior.density(value);
            (value, if slope.is_finite() { slope } else { 0.0 })
        })
        .collect()
}

/// Cubic Hermite interpolation: value and slope.
#[inline]
fn follow(nodes: &[(f64, f64)], z: f64) -> (f64, f64) {
    let position = (z.clamp(-REACH, REACH) + REACH) * STEPS_PER_UNIT;
    let index = (position as usize).min(NODES - 2);
    let t = position - index as f64;
    let (Some(&(y0, d0)), Some(&(y1, d1))) = (nodes.get(index), nodes.get(index + 1)) else {
        return (f64::NAN, 0.0);
    };
    let h = 1.0 / STEPS_PER_UNIT;
    let (s0, s1, rise) = (d0 * h, d1 * h, y1 - y0);
    let value = y0 + t * (s0 + t * ((3.0 * rise - 2.0 * s0 - s1) + t * (s0 + s1 - 2.0 * rise)));
    let slope = (s0 + t * (2.0 * (3.0 * rise - 2.0 * s0 - s1) + t * 3.0 * (s0 + s1 - 2.0 * rise))) / h;
    (value, slope)
}

#[cfg(test)]
mod tests {
    use super::*;

    fn priors() -> Vec<Prior> {
        vec![
            Prior::Uniform { low: 0.98, high: 1.0 },
            Prior::Normal { mean: 3.0, deviation: 0.5 },
            Prior::TruncatedNormal { mean: 0.063, deviation: 0.01, low: 0.0, high: f64::INFINITY },
            Prior::TruncatedNormal { mean: 1.0, deviation: 2.0, low: 0.5, high: 1.5 },
            Prior::LogNormal { low: 0.005, high: 0.02 },
            Prior::Loss { low: 0.005, high: 0.02 },
            Prior::Beta { alpha: 200.0, beta: 1.0 },
            Prior::Beta { alpha: 1.0, beta: 3.0 },
            Prior::Beta { alpha: 2.0, beta: 5.0 },
            Prior::Exponential { mean: 0.02 },
        ]
    }

    /// The curve against the quantile it stands for, off its nodes.
    #[test]
    fn images_follow_the_quantiles() {
        for prior in priors() {
            let unknown = Unknown::new(prior.clone());
            let scale = prior.quantile(1.0) - prior.quantile(-1.0);
            for i in -59..59 {
                let z = f64::from(i) * 0.1 + 0.017;
                let exact = prior.quantile(z);
                let error = (unknown.image(z) - exact).abs();
                assert!(error <= 1e-6 * scale, "{prior:?} at {z}: {exact}, off by {error:e}");
            }
        }
    }

    /// Known quantiles: the 5 % and 95 % points that define the log-normal; ln 2 times the mean is the
    /// median of an exponential; the median of Beta(200, 1) is 0.5^(1/200).
    #[test]
    fn quantiles_by_hand() {
        let loss = Unknown::new(Prior::LogNormal { low: 0.005, high: 0.02 });
        assert!((loss.image(Z95) - 0.02).abs() < 1e-12);
        assert!((loss.image(-Z95) - 0.005).abs() < 1e-12);
        let fraction = Unknown::new(Prior::Loss { low: 0.005, high: 0.02 });
        assert!((fraction.image(Z95) - 0.02).abs() < 1e-8 && (fraction.image(-Z95) - 0.005).abs() < 1e-8);
        assert!(fraction.image(-4.0) < 5e-4, "near nothing is not out of the question");
        let foreign = Unknown::new(Prior::Exponential { mean: 2.0 });
        assert!((foreign.image(0.0) - 2.0 * 2f64.ln()).abs() < 1e-9);
        let conversion = Unknown::new(Prior::Beta { alpha: 200.0, beta: 1.0 });
        assert!((conversion.image(0.0) - 0.5f64.powf(1.0 / 200.0)).abs() < 1e-12);
    }

    #[test]
    fn images_rise_and_stay_in_bounds() {
        for prior in priors() {
            let unknown = Unknown::new(prior.clone());
            let mut last = f64::NEG_INFINITY;
            for i in -1000..1000 {
                let value = unknown.image(f64::from(i) * 0.01);
                assert!(value >= last - 1e-12, "{prior:?} falls");
                last = value;
            }
        }
        let label = Unknown::new(Prior::Uniform { low: 0.98, high: 1.0 });
        assert!(label.image(30.0) <= 1.0 && label.image(-30.0) >= 0.98);
    }
}
