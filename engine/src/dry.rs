//! Is it dry, and where is it heading?
//!
//! A solid that loses mass in an oven is weighed again and again. After the start, what is still to be lost falls by the
//! same fraction in equal times:
//!
//! ```text
//! m(t) = m∞ + (m₀ − m∞) · exp(−k t)
//! ```
//! k is gone through on a grid, evenly in its logarithm (from a five-hundredth of the inverse of the whole time to six times
//! the inverse of the shortest interval, drawn in to where the weighings allow it); for each, m∞ and m₀ follow from linear least squares in closed form. What is left is
//! summed over k with the likelihood, m∞ kept between nothing and m₀. No iteration, so nothing to converge, and a series
//! that is no more than a straight line says honestly that it may end anywhere. Intervals need not be equal.
//!
//! A weighing far from what the ones before it predict (four standard deviations) ends the series: below, a further step has
//! begun or something was spilt; above, water or carbon dioxide was taken up, or a slip. From there it is begun anew.
//! Neglected: that drying is slower than exponential in thick layers (then more is left than is said), buoyancy of a warm
//! crucible (reads low).
//!
//! Source: first-order decay; constant mass by successive weighings is common practice of gravimetry.

use crate::account::summary::{Spread, spread};
use statrs::distribution::{ContinuousCDF, Normal};

/// Values of k tried.
const RATES: usize = 160;
/// Most times the grid is drawn in.
const MOST_DRAWN_IN: usize = 12;
/// Logarithm of weight below the best at which a k no longer matters.
const NEGLIGIBLE: f64 = 12.0;
/// Points of m∞ for each k.
const LEVELS: usize = 24;
/// Standard deviations from its prediction at which a weighing ends the series.
const SURPRISE: f64 = 4.0;
/// Probability of being within the tolerance that is called done.
const SURE: f64 = 0.95;
/// Fewest weighings from which a final mass is worked out.
pub const FEWEST: usize = 3;

/// A weighing.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Weighed {
    /// Time since the start, s.
    pub time: f64,
    /// Mass, kg.
    pub mass: f64,
}

/// A weighing that the ones before it did not lead to expect.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Surprise {
    /// Its place in the series.
    pub index: usize,
    /// Expected mass, kg.
    pub expected: f64,
    /// How many standard deviations it lies above that; negative below.
    pub deviations: f64,
}

/// Where a series of weighings leads.
#[derive(Clone, Debug, PartialEq)]
pub struct Outlook {
    /// Where the series that counts begins.
    pub start: usize,
    /// Final mass, kg.
    pub final_mass: Spread,
    /// Still to be lost, kg.
    pub remaining: Spread,
    /// Next weighing after an interval like the last, kg; the scatter of a weighing included.
    pub next: Spread,
    /// Further intervals like the last until no more than the tolerance is left; 0 where that is so.
    pub intervals: Spread,
    /// Probability that no more than the tolerance is left.
    pub within: f64,
    /// Squared differences from the best curve over those of a weighing.
    pub chi_squared: f64,
    /// Whether that is no more than scatter makes ordinary: else drying does not follow one such curve, and what is left
    /// may be more than is said here.
    pub one_curve: bool,
}

/// What a series of weighings says.
#[derive(Clone, Debug, PartialEq)]
pub struct Drying {
    /// Weighings out of line.
    pub surprises: Vec<Surprise>,
    /// Where it leads; `None` with fewer than three weighings since the last surprise.
    pub outlook: Option<Outlook>,
    /// Whether it is done: the weighings follow one curve, and no more than the tolerance is left, at 95 %.
    pub done: bool,
}

/// Reads a series of weighings.
///
/// | argument    | unit | range |
/// |-------------|------|-------|
/// | `weighings` | s, kg | times rising, masses > 0 |
/// | `deviation` | kg   | > 0, of one weighing |
/// | `tolerance` | 1    | > 0, of the final mass |
///
/// ```
/// use engine::dry::{Weighed, dry};
/// let series: Vec<Weighed> = [48.62, 46.10, 45.02, 44.55, 44.35]
///     .iter()
///     .enumerate()
///     .map(|(hour, grams)| Weighed { time: 3600.0 * hour as f64, mass: grams * 1e-3 })
///     .collect();
/// let drying = dry(&series, 1e-5, 5e-4);
/// let outlook = drying.outlook.ok_or("five weighings are enough")?;
/// assert!((outlook.final_mass.mean - 44.20e-3).abs() < 0.02e-3 && !drying.done);
/// # Ok::<(), &str>(())
/// ```
#[must_use]
pub fn dry(weighings: &[Weighed], deviation: f64, tolerance: f64) -> Drying {
    let (mut start, mut surprises) = (0, Vec::new());
    for index in 1..weighings.len() {
        let before = &weighings[start..index];
        let (expected, scatter) = match outlook(before, start, deviation, tolerance, Some(weighings[index].time)) {
            Some(outlook) => (outlook.next.mean, outlook.next.standard_uncertainty),
            // Too few to lead anywhere: only a rise is out of line.
            None if weighings[index].mass > weighings[index - 1].mass => {
                (weighings[index - 1].mass, 2f64.sqrt() * deviation)
            }
            None => continue,
        };
        let deviations = (weighings[index].mass - expected) / scatter;
        if deviations.abs() > SURPRISE {
            surprises.push(Surprise { index, expected, deviations });
            start = index;
        }
    }
    let outlook = outlook(&weighings[start..], start, deviation, tolerance, None);
    let rising = surprises.last().is_some_and(|s| s.deviations > 0.0 && s.index + 1 == weighings.len());
    let done = !rising && outlook.as_ref().is_some_and(|o| o.within >= SURE && o.one_curve);
    Drying { surprises, outlook, done }
}

/// What the straight part of the problem gives for one k.
struct AtRate {
    rate: f64,
    log_weight: f64,
    chi_squared: f64,
    /// m∞ with its standard deviation, and m₀.
    end: f64,
    deviation: f64,
    start: f64,
}

fn outlook(series: &[Weighed], start: usize, deviation: f64, tolerance: f64, next: Option<f64>) -> Option<Outlook> {
    let (first, last) = (series.first()?, series.last()?);
    if series.len() < FEWEST {
        return None;
    }
    let interval = last.time - series[series.len() - 2].time;
    let shortest = series.windows(2).map(|pair| pair[1].time - pair[0].time).fold(f64::INFINITY, f64::min);
    let whole = last.time - first.time;
    if shortest.is_nan() || shortest <= 0.0 {
        return None;
    }
    let fits = over_rates(series, deviation, (0.002 / whole).ln(), (6.0 / shortest).ln());
    let top = fits.iter().map(|f| f.log_weight).fold(f64::NEG_INFINITY, f64::max);
    let chi_squared = fits.iter().map(|f| f.chi_squared).fold(f64::INFINITY, f64::min);
    let normal = Normal::standard();
    let ahead = next.map_or(whole + interval, |time| time - first.time);
    let (mut ends, mut left, mut nexts, mut intervals, mut weights) = (vec![], vec![], vec![], vec![], vec![]);
    let mut within = 0.0;
    for fit in &fits {
        let weight = (fit.log_weight - top).exp() / LEVELS as f64;
        if weight < 1e-9 {
            continue;
        }
        let (low, high) = (normal.cdf(-fit.end / fit.deviation), normal.cdf((fit.start - fit.end) / fit.deviation));
        for i in 0..LEVELS {
            let p = low + (high - low) * (i as f64 + 0.5) / LEVELS as f64;
            let end = (fit.end + fit.deviation * normal.inverse_cdf(p)).clamp(0.0, fit.start);
            let remaining = (fit.start - end) * (-fit.rate * whole).exp();
            let wanted = tolerance * end;
            within += if remaining <= wanted { weight } else { 0.0 };
            ends.push(end);
            left.push(remaining);
            nexts.push(end + (fit.start - end) * (-fit.rate * ahead).exp());
            intervals.push((remaining / wanted.max(f64::MIN_POSITIVE)).ln().max(0.0) / (fit.rate * interval));
            weights.push(weight);
        }
    }
    let sum: f64 = weights.iter().sum();
    if sum.is_nan() || sum <= 0.0 {
        return None;
    }
    weights.iter_mut().for_each(|w| *w /= sum);
    let told = |values: &[f64]| spread(values, &weights);
    // Three unknowns; three standard deviations of χ² and as much again for few weighings.
    let freedom = series.len().saturating_sub(FEWEST) as f64;
    let ordinary = freedom + 3.0 * (2.0 * freedom).sqrt() + 9.0;
    let mut next = told(&nexts);
    next.standard_uncertainty = next.standard_uncertainty.hypot(deviation);
    Some(Outlook {
        start,
        final_mass: told(&ends),
        remaining: told(&left),
        next,
        intervals: told(&intervals),
        within: within / sum,
        chi_squared,
        one_curve: chi_squared <= ordinary,
    })
}

/// The fits on a grid of k that is drawn in until it resolves what the weighings say.
fn over_rates(series: &[Weighed], deviation: f64, slowest: f64, fastest: f64) -> Vec<AtRate> {
    let (mut low, mut high) = (slowest, fastest);
    let mut fits = Vec::new();
    for _ in 0..MOST_DRAWN_IN {
        let step = (high - low) / (RATES - 1) as f64;
        fits = (0..RATES).filter_map(|i| at_rate(series, deviation, (low + step * i as f64).exp())).collect();
        let top = fits.iter().map(|f: &AtRate| f.log_weight).fold(f64::NEG_INFINITY, f64::max);
        let mut likely = fits.iter().filter(|f| f.log_weight > top - NEGLIGIBLE).map(|f| f.rate.ln());
        let count = likely.clone().count();
        let (Some(first), Some(last)) = (
            likely.next(),
            likely.next_back().or_else(|| fits.iter().find(|f| f.log_weight >= top).map(|f| f.rate.ln())),
        ) else {
            break;
        };
        if count >= RATES / 4 {
            break;
        }
        (low, high) = ((first - step).max(slowest), (last + step).min(fastest));
    }
    fits
}

/// Least squares for m∞ and m₀ at one k.
fn at_rate(series: &[Weighed], deviation: f64, rate: f64) -> Option<AtRate> {
    let origin = series.first()?.time;
    // m = m∞ (1 − x) + m₀ x with x = exp(−k t).
    let (mut a, mut b, mut c, mut u, mut v) = (0.0, 0.0, 0.0, 0.0, 0.0);
    for point in series {
        let x = (-rate * (point.time - origin)).exp();
        a += (1.0 - x) * (1.0 - x);
        b += (1.0 - x) * x;
        c += x * x;
        u += (1.0 - x) * point.mass;
        v += x * point.mass;
    }
    let determinant = a * c - b * b;
    if determinant.is_nan() || determinant <= 1e-14 * a * c {
        return None;
    }
    let (end, start) = ((c * u - b * v) / determinant, (a * v - b * u) / determinant);
    let residual = |p: &Weighed| {
        let x = (-rate * (p.time - origin)).exp();
        ((p.mass - end * (1.0 - x) - start * x) / deviation).powi(2)
    };
    let chi_squared: f64 = series.iter().map(residual).sum();
    let spread_of_end = deviation * (c / determinant).sqrt();
    let normal = Normal::standard();
    let inside = normal.cdf((start - end) / spread_of_end) - normal.cdf(-end / spread_of_end);
    (inside > 0.0).then(|| AtRate {
        rate,
        log_weight: -0.5 * chi_squared - 0.5 * determinant.ln() + inside.ln(),
        chi_squared,
        end,
        deviation: spread_of_end,
        start,
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    fn hourly(grams: &[f64]) -> Vec<Weighed> {
        grams
            .iter()
            .enumerate()
            .map(|(hour, grams)| Weighed { time: 3600.0 * hour as f64, mass: grams * 1e-3 })
            .collect()
    }

    const SERIES: [f64; 5] = [48.62, 46.10, 45.02, 44.55, 44.35];

    /// Equal intervals: the geometric extrapolation m₃ − (m₃ − m₂)²/((m₃ − m₂) − (m₂ − m₁)) (Aitken's δ² process, 1926) of
    /// the last three weighings gives 44.20 g, with 2 to 3 intervals left to 0.05 %.
    #[test]
    fn equal_intervals_agree_with_the_geometric_extrapolation() {
        let drying = dry(&hourly(&SERIES), 1e-5, 5e-4);
        let outlook = drying.outlook.expect("enough");
        let [_, _, m1, m2, m3] = SERIES;
        let aitken = m3 - (m3 - m2) * (m3 - m2) / ((m3 - m2) - (m2 - m1));
        assert!((1e3 * outlook.final_mass.mean - aitken).abs() < 0.01, "{outlook:?}");
        assert!(outlook.final_mass.standard_uncertainty < 0.03e-3);
        assert!((1.9..2.9).contains(&outlook.intervals.median), "{:?}", outlook.intervals);
        assert!(!drying.done && drying.surprises.is_empty());
    }

    /// What the extrapolation predicts comes: not yet done. A rise instead is out of line.
    #[test]
    fn the_next_weighing_is_judged() {
        let went_on = dry(&hourly(&[&SERIES[..], &[44.26]].concat()), 1e-5, 5e-4);
        assert!(!went_on.done && went_on.surprises.is_empty(), "{went_on:?}");
        let rose = dry(&hourly(&[&SERIES[..], &[44.60]].concat()), 1e-5, 5e-4);
        let [surprise] = rose.surprises.as_slice() else { panic!("{rose:?}") };
        assert!(surprise.index == 5 && surprise.deviations > SURPRISE && !rose.done);
        assert!((surprise.expected - 44.264e-3).abs() < 0.02e-3);
    }

    /// Unequal intervals of an exact decay (half-life one hour) with the same end.
    #[test]
    fn unequal_intervals_lead_to_the_same_end() {
        let at = |hours: f64| Weighed { time: 3600.0 * hours, mass: 1e-3 * (20.0 + 4.0 * 0.5f64.powf(hours)) };
        let series: Vec<Weighed> = [0.0, 0.5, 1.5, 2.0, 4.0, 5.0].map(at).to_vec();
        let drying = dry(&series, 1e-6, 5e-4);
        let outlook = drying.outlook.expect("enough");
        assert!((outlook.final_mass.mean - 0.020).abs() < 3e-6, "{outlook:?}");
        // 4 g · 2^−5 = 0.125 g are left; 0.05 % is 0.010 g: log2(12.5) = 3.64 hours more.
        assert!((outlook.remaining.mean - 0.125e-3).abs() < 3e-6);
        assert!((outlook.intervals.median - 3.64).abs() < 0.15);
    }

    #[test]
    fn constant_mass_is_done_and_a_line_is_not() {
        let done = dry(&hourly(&[24.413, 24.402, 24.401, 24.401]), 1e-6, 5e-4);
        assert!(done.done, "{done:?}");
        let line = dry(&hourly(&[30.0, 29.9, 29.8, 29.7]), 1e-5, 5e-4);
        let outlook = line.outlook.expect("enough");
        assert!(!line.done && outlook.final_mass.standard_uncertainty > 2e-3, "{outlook:?}");
    }

    /// A further step: mass falls where it was nearly constant.
    #[test]
    fn a_further_step_begins_a_series_of_its_own() {
        let drying = dry(&hourly(&[50.0, 46.0, 44.4, 43.76, 43.50, 43.40, 41.0, 40.0]), 1e-5, 5e-4);
        let [surprise] = drying.surprises.as_slice() else { panic!("{drying:?}") };
        assert!(surprise.index == 6 && surprise.deviations < -SURPRISE);
        assert!(!drying.done && drying.outlook.is_none(), "two weighings of the new step lead nowhere yet");
    }

    #[test]
    fn nonsense_is_no_outlook() {
        for series in [vec![], hourly(&[1.0]), hourly(&[1.0, 0.9]), vec![Weighed { time: 0.0, mass: 1e-3 }; 4]] {
            let drying = dry(&series, 1e-6, 5e-4);
            assert!(drying.outlook.is_none() && !drying.done);
        }
    }
}
