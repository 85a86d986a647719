//! What do earlier runs say of the next one?
//!
//! A loss differs from run to run and from hand to hand. Each earlier run gave a posterior of its own, about a default that
//! all share. What the run itself said is that posterior without the default:
//!
//! ```text
//! 1/s² = 1/d² − 1/d₀²,    y = s² (m/d² − m₀/d₀²)          posterior m ± d, default m₀ ± d₀
//! y ~ N(θ, s²),   θ ~ N(μ, τ²),   μ ~ N(m₀, d_μ²),   τ ~ half-normal or half-Cauchy
//! ```
//! μ is taken out in closed form, τ summed over even steps of its prior probability. With no run the next one is as the
//! default has it: half of the default's variance is put between people (d_μ² = d₀²/2) and half between runs of one person
//! (half-normal τ with mean square d₀²/2); the halves are estimated. With many runs the default no longer matters.
//!
//! Neglected: that posteriors are not normal (use a scale on which the default is, such as its unit-normal coordinate), and
//! trends: hands that learn.
//!
//! Source: Rubin, J. Educ. Stat. 6 (1981) 377; Gelman, Bayesian Anal. 1 (2006) 515 (priors of τ).

use crate::ledger::normal_cdf;
use statrs::distribution::{ContinuousCDF, Normal};

/// Values of τ that are summed over.
const STEPS: usize = 400;
/// A posterior no sharper than this share of the default's width says nothing of its own: widths from some hundred
/// weighted draws are no better known than that.
const DULL: f64 = 0.9;
/// Sharpest that a run is believed, in widths of the default.
const SHARPEST: f64 = 1e-3;

/// A value with its standard deviation.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Belief {
    /// Mean.
    pub mean: f64,
    /// Standard deviation.
    pub deviation: f64,
}

/// Prior of the spread τ between runs.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum SpreadPrior {
    /// Half-normal with this root mean square.
    HalfNormal(f64),
    /// Half-Cauchy with this median.
    HalfCauchy(f64),
}

impl SpreadPrior {
    /// τ below which this share of the probability lies.
    fn quantile(self, p: f64) -> f64 {
        match self {
            Self::HalfNormal(scale) => scale * Normal::standard().inverse_cdf(0.5 + 0.5 * p),
            Self::HalfCauchy(scale) => scale * (std::f64::consts::FRAC_PI_2 * p).tan(),
        }
    }
}

/// What runs teach.
#[derive(Clone, Debug, PartialEq)]
pub struct Learned {
    /// Mean of all runs, μ.
    pub mean: Belief,
    /// Spread between runs, τ.
    pub spread: Belief,
    /// Each run's own value, drawn towards the others.
    pub runs: Vec<Belief>,
    /// The next run.
    pub next: Belief,
    /// 5 % point of the next run.
    pub low: f64,
    /// 95 % point of the next run.
    pub high: f64,
    /// Runs that said something of their own.
    pub telling: usize,
}

/// What a run said, its posterior freed of the default; `None` where it said nothing.
#[must_use]
pub fn own_word(posterior: Belief, default: Belief) -> Option<Belief> {
    let (d, d0) = (posterior.deviation, default.deviation);
    if !(d.is_finite() && posterior.mean.is_finite()) || d >= DULL * d0 || d < 0.0 {
        return None;
    }
    let d = d.max(SHARPEST * d0);
    let variance = 1.0 / (1.0 / (d * d) - 1.0 / (d0 * d0));
    let mean = variance * (posterior.mean / (d * d) - default.mean / (d0 * d0));
    Some(Belief { mean, deviation: variance.sqrt() })
}

/// What the posteriors of earlier runs say of the next, about a default.
///
/// | argument     | symbol | range |
/// |--------------|--------|-------|
/// | `posteriors` | m ± d  | any number of runs |
/// | `default`    | m₀ ± d₀ | d₀ > 0, on a scale on which it is normal |
///
/// ```
/// use engine::account::learn::{Belief, next_run};
/// let default = Belief { mean: 0.0, deviation: 1.0 };
/// // Three careful runs that lost less than usual.
/// let run = |mean| Belief { mean, deviation: 0.3 };
/// let learned = next_run(&[run(-1.0), run(-0.8), run(-1.1)], default);
/// assert!(learned.next.mean < -0.6 && learned.next.deviation < 1.0);
/// ```
#[must_use]
pub fn next_run(posteriors: &[Belief], default: Belief) -> Learned {
    let words: Vec<Belief> = posteriors.iter().filter_map(|p| own_word(*p, default)).collect();
    let half = (0.5f64).sqrt() * default.deviation;
    hierarchy(&words, Belief { mean: default.mean, deviation: half }, SpreadPrior::HalfNormal(half))
}

/// The normal hierarchy: readings of several runs, a prior of their mean and one of their spread.
///
/// # Source
/// Gelman et al., Bayesian Data Analysis, Chapman and Hall 2013, 5.4 (with a proper prior of the mean).
#[must_use]
pub fn hierarchy(words: &[Belief], mean: Belief, spread: SpreadPrior) -> Learned {
    let points: Vec<Point> =
        (0..STEPS).map(|step| Point::at(words, mean, spread.quantile((step as f64 + 0.5) / STEPS as f64))).collect();
    let best = points.iter().map(|p| p.log_weight).fold(f64::NEG_INFINITY, f64::max);
    let weights: Vec<f64> = points.iter().map(|p| (p.log_weight - best).exp()).collect();
    let sum: f64 = weights.iter().sum();
    let mixed = |belief: &dyn Fn(&Point) -> Belief| {
        let average =
            |value: &dyn Fn(&Point) -> f64| points.iter().zip(&weights).map(|(p, w)| w * value(p)).sum::<f64>() / sum;
        let mean = average(&|p| belief(p).mean);
        let square = average(&|p| (belief(p).mean - mean).powi(2) + belief(p).deviation.powi(2));
        Belief { mean, deviation: square.sqrt() }
    };
    let next = |p: &Point| Belief { mean: p.mean.mean, deviation: p.mean.deviation.hypot(p.spread) };
    let whole = mixed(&next);
    let below = |x: f64| {
        let part = |p: &Point| normal_cdf((x - next(p).mean) / next(p).deviation);
        points.iter().zip(&weights).map(|(p, w)| w * part(p)).sum::<f64>() / sum
    };
    let quantile = |probability: f64| {
        let (mut low, mut high) = (whole.mean - 12.0 * whole.deviation, whole.mean + 12.0 * whole.deviation);
        for _ in 0..60 {
            let middle = 0.5 * (low + high);
            if below(middle) < probability { low = middle } else { high = middle }
        }
        0.5 * (low + high)
    };
    Learned {
        mean: mixed(&|p| p.mean),
        spread: mixed(&|p| Belief { mean: p.spread, deviation: 0.0 }),
        runs: words.iter().map(|word| mixed(&|p| p.of_run(*word))).collect(),
        next: whole,
        low: quantile(0.05),
        high: quantile(0.95),
        telling: words.len(),
    }
}

/// The hierarchy at one value of τ.
struct Point {
    spread: f64,
    mean: Belief,
    /// Logarithm of the probability of the readings.
    log_weight: f64,
}

impl Point {
    fn at(words: &[Belief], prior: Belief, spread: f64) -> Self {
        let (mut precision, mut weighted) = (prior.deviation.powi(-2), prior.mean * prior.deviation.powi(-2));
        let mut log_weight = -0.5 * prior.mean.powi(2) * prior.deviation.powi(-2) - prior.deviation.ln();
        for word in words {
            let own = 1.0 / (word.deviation.powi(2) + spread * spread);
            precision += own;
            weighted += own * word.mean;
            log_weight += 0.5 * own.ln() - 0.5 * own * word.mean.powi(2);
        }
        let mean = weighted / precision;
        log_weight += 0.5 * mean * weighted - 0.5 * precision.ln();
        Self { spread, mean: Belief { mean, deviation: precision.powf(-0.5) }, log_weight }
    }

    /// A run's own value, given τ, with μ taken out.
    fn of_run(&self, word: Belief) -> Belief {
        let (own, others) = (word.deviation.powi(2), self.spread.powi(2));
        let share = others / (own + others);
        let mean = share * word.mean + (1.0 - share) * self.mean.mean;
        let variance = share * own + ((1.0 - share) * self.mean.deviation).powi(2);
        Belief { mean, deviation: variance.sqrt() }
    }
}
