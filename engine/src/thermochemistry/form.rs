//! Which form of a substance is stable at a temperature?
//!
//! Of all forms whose polynomial covers the temperature, that of the lowest Gibbs energy at 1 bar. Forms that a table
//! lists because they persist, and not because they are stable, lose by this rule, as they should.
//!
//! Source: second law.

use super::fit::Fit;

/// Place of the stable form among those that cover the temperature in K; `None` where none does.
///
/// ```
/// use engine::thermochemistry::form::stable;
/// use engine::thermochemistry::standard::{HeatLaw, of_standard};
/// let ice = of_standard(-292_740.0, 44.9, HeatLaw::constant(38.0), 250.0, 400.0);
/// let water = of_standard(-285_830.0, 69.95, HeatLaw::constant(75.3), 250.0, 400.0);
/// assert_eq!(stable([&ice, &water], 263.0), Some(0));
/// assert_eq!(stable([&ice, &water], 298.0), Some(1));
/// ```
#[must_use]
pub fn stable<'a>(forms: impl IntoIterator<Item = &'a Fit>, temperature: f64) -> Option<usize> {
    forms
        .into_iter()
        .enumerate()
        .filter(|(_, fit)| fit.covers(temperature))
        .map(|(place, fit)| (place, fit.gibbs_over_rt(temperature)))
        .min_by(|(_, a), (_, b)| a.total_cmp(b))
        .map(|(place, _)| place)
}

/// Place of the form whose range ends nearest to the temperature in K; `None` where there is none.
#[must_use]
pub fn nearest<'a>(forms: impl IntoIterator<Item = &'a Fit>, temperature: f64) -> Option<usize> {
    forms
        .into_iter()
        .enumerate()
        .filter_map(|(place, fit)| {
            let (low, high) = fit.range()?;
            Some((place, (low - temperature).max(temperature - high).max(0.0)))
        })
        .min_by(|(_, a), (_, b)| a.total_cmp(b))
        .map(|(place, _)| place)
}
