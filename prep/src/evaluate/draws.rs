//! A number that is known so and so: its prior, and draws from it.

use crate::model::Knowledge;
use engine::account::hypercube::latin_hypercube;
use engine::ledger::{Prior, Unknown};

/// Quantiles in a table of a number.
const QUANTILES: usize = 4096;

/// The prior of a non-negative number; a number itself where nothing is open.
pub(crate) fn prior_of(knowledge: Knowledge) -> Result<Prior, f64> {
    Ok(match knowledge {
        Knowledge::Exact(value) => return Err(value),
        Knowledge::Normal { value, standard_uncertainty } if standard_uncertainty <= 0.0 => return Err(value),
        Knowledge::Normal { value, standard_uncertainty } if standard_uncertainty < 0.1 * value => {
            Prior::Normal { mean: value, deviation: standard_uncertainty }
        }
        Knowledge::Normal { value, standard_uncertainty } => {
            Prior::TruncatedNormal { mean: value, deviation: standard_uncertainty, low: 0.0, high: f64::INFINITY }
        }
        Knowledge::Between { low, high } => Prior::Uniform { low, high },
        Knowledge::Usually { low, high } => Prior::Loss { low, high },
        Knowledge::About(mean) => Prior::Exponential { mean },
    })
}

/// Stratified draws of a non-negative number.
pub(crate) fn draws(knowledge: Knowledge, count: usize, seed: u64) -> Vec<f64> {
    match prior_of(knowledge) {
        Err(value) => vec![value; count],
        Ok(prior) => {
            let unknown = Unknown::new(prior);
            latin_hypercube(count, 1, seed).into_iter().map(|z| unknown.image(z)).collect()
        }
    }
}

/// Draws of a non-negative number beside others that have weights, independent of them. Quantiles go by cumulated
/// weight in a shuffled order, so that the weighted draws have the distribution of the number however few they are.
pub(crate) fn draws_beside(knowledge: Knowledge, weights: &[f64], seed: u64) -> Vec<f64> {
    let mut quantiles = draws(knowledge, QUANTILES, seed);
    quantiles.sort_by(f64::total_cmp);
    let shuffled = latin_hypercube(weights.len(), 1, seed);
    let mut order: Vec<usize> = (0..weights.len()).collect();
    order.sort_by(|a, b| shuffled[*a].total_cmp(&shuffled[*b]));
    let whole: f64 = weights.iter().sum();
    let mut values = vec![knowledge.central(); weights.len()];
    let mut below = 0.0;
    for i in order {
        let middle = (below + 0.5 * weights[i]) / whole;
        below += weights[i];
        let place = (middle * QUANTILES as f64).clamp(0.0, QUANTILES as f64 - 1.0);
        #[expect(clippy::cast_possible_truncation, clippy::cast_sign_loss, reason = "clamped to the table")]
        let place = place as usize;
        values[i] = quantiles.get(place).copied().unwrap_or(values[i]);
    }
    values
}

/// What is needed at least, for a message: rounded up to two significant digits.
pub(crate) fn at_least(value: f64) -> String {
    if !value.is_finite() || value <= 0.0 {
        return figure(value);
    }
    let place = 10f64.powf(value.log10().floor() - 1.0);
    // A hair below the next step is that step.
    figure((value / place - 1e-9).ceil() * place)
}

/// A figure of a message: four significant digits, no idle zeros.
pub(crate) fn figure(value: f64) -> String {
    let text = format!("{value:.3e}");
    let power: i32 = text.split_once('e').and_then(|(_, power)| power.parse().ok()).unwrap_or(0);
    let decimals = usize::try_from(3 - power).unwrap_or(0).min(9);
    let text = format!("{value:.decimals$}");
    if text.contains('.') { text.trim_end_matches('0').trim_end_matches('.').to_owned() } else { text }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn figures_are_short() {
        let told: Vec<String> = [0.0, 12.0, 2.34567, 1234.56, 0.012_345_6].map(figure).to_vec();
        assert_eq!(told, ["0", "12", "2.346", "1235", "0.01235"]);
    }

    #[test]
    fn needs_are_rounded_up() {
        assert_eq!([131.8, 140.0, 459.5, 0.0121].map(at_least).to_vec(), ["140", "140", "460", "0.013"]);
    }

    /// The middle 90 % of a normal distribution is 1.645 deviations to both sides, whatever the weights.
    #[test]
    fn weights_do_not_bend_a_number() {
        let weights: Vec<f64> = (0..300).map(|i| if i % 3 == 0 { 0.009 } else { 0.0005 }).collect();
        let values = draws_beside(Knowledge::Normal { value: 10.0, standard_uncertainty: 0.5 }, &weights, 7);
        let spread = engine::account::summary::spread(&values, &weights);
        assert!(
            (spread.mean - 10.0).abs() < 0.01 && (spread.low - 9.178).abs() < 0.03,
            "{} {}",
            spread.mean,
            spread.low
        );
    }

    #[test]
    fn a_range_is_filled_evenly() {
        let draws = draws(Knowledge::Between { low: 2.0, high: 4.0 }, 1000, 3);
        let mean = draws.iter().sum::<f64>() / 1000.0;
        assert!((mean - 3.0).abs() < 2e-3 && draws.iter().all(|d| (2.0..=4.0).contains(d)));
    }
}
