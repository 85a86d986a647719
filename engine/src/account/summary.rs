//! How is a cloud of weighted draws told in a few numbers?

/// What is said of one quantity.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Spread {
    /// 50 % point.
    pub median: f64,
    /// Mean.
    pub mean: f64,
    /// Standard deviation.
    pub standard_uncertainty: f64,
    /// 5 % point.
    pub low: f64,
    /// 95 % point.
    pub high: f64,
    /// 25 % point.
    pub lower_quartile: f64,
    /// 75 % point.
    pub upper_quartile: f64,
}

/// Probability between `low` and `high` of a [`Spread`].
pub const LEVEL: f64 = 0.9;

/// Summary of draws with weights that add up to one.
///
/// | argument  | unit | range |
/// |-----------|------|-------|
/// | `values`  | any  | finite |
/// | `weights` | 1    | ≥ 0, sum 1, as many as values |
#[must_use]
pub fn spread(values: &[f64], weights: &[f64]) -> Spread {
    let mean: f64 = values.iter().zip(weights).map(|(v, w)| v * w).sum();
    let variance: f64 = values.iter().zip(weights).map(|(v, w)| w * (v - mean).powi(2)).sum();
    // Values with their weights: sorting numbers of draws would look each one up again and again.
    let mut sorted: Vec<(f64, f64)> = values.iter().copied().zip(weights.iter().copied()).collect();
    sorted.sort_unstable_by(|a, b| a.0.total_cmp(&b.0));
    let quantile = |p: f64| weighted_quantile(&sorted, p);
    Spread {
        median: quantile(0.5),
        mean,
        standard_uncertainty: variance.max(0.0).sqrt(),
        low: quantile(0.05),
        high: quantile(0.95),
        lower_quartile: quantile(0.25),
        upper_quartile: quantile(0.75),
    }
}

/// Quantile by the mid-point rule: each draw stands in the middle of its weight.
fn weighted_quantile(sorted: &[(f64, f64)], p: f64) -> f64 {
    let (mut below, mut last) = (0.0, None::<(f64, f64)>);
    for (value, weight) in sorted {
        let centre = below + 0.5 * weight;
        if centre >= p {
            return match last {
                Some((c, v)) if centre > c => v + (value - v) * (p - c) / (centre - c),
                _ => *value,
            };
        }
        last = Some((centre, *value));
        below += weight;
    }
    last.map_or(f64::NAN, |(_, v)| v)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn quantiles_of_an_even_row() {
        let values: Vec<f64> = (0..1000).map(f64::from).collect();
        let weights = vec![1e-3; 1000];
        let s = spread(&values, &weights);
        assert!((s.median - 499.5).abs() < 1e-9);
        assert!((s.low - 49.5).abs() < 1e-9 && (s.high - 949.5).abs() < 1e-9);
        assert!((s.standard_uncertainty - (1e6f64 - 1.0).sqrt() / 12f64.sqrt()).abs() < 1e-6);
    }

    #[test]
    fn a_single_draw_is_its_own_summary() {
        let s = spread(&[3.0], &[1.0]);
        assert_eq!((s.low, s.median, s.high, s.standard_uncertainty), (3.0, 3.0, 3.0, 0.0));
    }
}
