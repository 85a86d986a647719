//! How strong is a titrant, and how much does a titre say of a sample?
//!
//! Both are products of powers of independent factors, so the relative variances add (JCGM 100:2008, 5.1.6):
//!
//! ```text
//! standardising:  c = m P / (M ν V) · f        m standard, P purity, M molar mass, ν titrant per standard
//! determining:    n = c V ν' · f · d           ν' analyte per titrant, d dilution (whole over aliquot)
//! V = mean of the readings − blank
//! u²(V) = max(s², r²)/n + w² + u²(blank)       s scatter found, r of one reading, w ware (shared by all)
//! ```
//! f is 1 with the relative uncertainty of the end point. The share of a factor is its part of the variance of the result.
//! Neglected: curvature (below a percent where every factor is known to 5 %), drift of a titrant between standardising and
//! use, temperature unlike 20 °C (0.02 % for each kelvin of water).
//!
//! Source: EURACHEM/CITAC Guide CG 4, Quantifying Uncertainty in Analytical Measurement, example A2.

use crate::account::gravimetric::Figure;

/// A drop from a burette, m³; common practice.
pub const DROP: f64 = 5e-8;

/// A factor of a product, to a power.
#[derive(Clone, Debug, PartialEq)]
pub struct Factor {
    /// What it is.
    pub name: &'static str,
    /// Its value.
    pub figure: Figure,
    /// Power, 1 or −1.
    pub power: i32,
}

/// A product of factors with the share of each in its variance.
#[derive(Clone, Debug, PartialEq)]
pub struct Product {
    /// Value with its standard uncertainty.
    pub figure: Figure,
    /// Share of each factor in the variance, in order; they add up to 1.
    pub shares: Vec<(&'static str, f64)>,
}

/// Multiplies factors; `None` where one is zero or not a number.
#[must_use]
pub fn product(factors: &[Factor]) -> Option<Product> {
    if factors.iter().any(|f| f.figure.value == 0.0 || !f.figure.value.is_finite()) {
        return None;
    }
    let value: f64 = factors.iter().map(|f| f.figure.value.powi(f.power)).product();
    let relative = |f: &Factor| (f64::from(f.power) * f.figure.standard_uncertainty / f.figure.value).powi(2);
    let variance: f64 = factors.iter().map(relative).sum();
    let shares = factors.iter().map(|f| (f.name, if variance > 0.0 { relative(f) / variance } else { 0.0 })).collect();
    let figure = Figure { value, standard_uncertainty: value.abs() * variance.sqrt() };
    Some(Product { figure, shares })
}

/// Titres of one sample, repeated.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Titre {
    /// Mean less the blank, m³.
    pub net: Figure,
    /// Standard deviation of a single titre, m³; `None` for fewer than two.
    pub scatter: Option<f64>,
    /// Whether the titres scatter more than three times what one reading does, and more than a drop.
    pub wide: bool,
}

/// Net titre of repeated readings.
///
/// | argument  | symbol | unit | range |
/// |-----------|--------|------|-------|
/// | `volumes` | Vᵢ     | m³   | > 0, at least one |
/// | `reading` | r      | m³   | ≥ 0, standard deviation of one reading |
/// | `ware`    | w      | m³   | ≥ 0, standard uncertainty of the burette |
/// | `blank`   |        | m³   | any |
#[must_use]
pub fn titre(volumes: &[f64], reading: f64, ware: f64, blank: Figure) -> Option<Titre> {
    let count = volumes.len() as f64;
    if volumes.is_empty() || volumes.iter().any(|v| !v.is_finite()) {
        return None;
    }
    let mean = volumes.iter().sum::<f64>() / count;
    let scatter =
        (volumes.len() > 1).then(|| (volumes.iter().map(|v| (v - mean).powi(2)).sum::<f64>() / (count - 1.0)).sqrt());
    let one = scatter.map_or(reading, |s| s.max(reading));
    let u = (one * one / count + ware * ware + blank.standard_uncertainty.powi(2)).sqrt();
    Some(Titre {
        net: Figure { value: mean - blank.value, standard_uncertainty: u },
        scatter,
        wide: scatter.is_some_and(|s| s > (3.0 * reading).max(DROP)),
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    fn factor(name: &'static str, value: f64, standard_uncertainty: f64, power: i32) -> Factor {
        Factor { name, figure: Figure { value, standard_uncertainty }, power }
    }

    /// Sodium hydroxide standardised with potassium hydrogen phthalate: 0.10214 ± 0.00010 mol/L. Source: EURACHEM/CITAC
    /// CG 4, 2nd edition, example A2, table A2.1; shares of the variance to a percent.
    #[test]
    fn sodium_hydroxide_by_phthalate() {
        let c = product(&[
            factor("end point", 1.0, 0.0005, 1),
            factor("standard", 0.3888, 0.000_13, 1),
            factor("purity", 1.0, 0.000_29, 1),
            factor("molar mass", 204.2212, 0.0038, -1),
            factor("titre", 18.64e-3, 0.013e-3, -1),
        ])
        .expect("no factor is zero");
        assert!((c.figure.value - 0.102_136).abs() < 5e-6);
        assert!((c.figure.standard_uncertainty - 0.000_098_6).abs() < 3e-6);
        let share = |name: &str| c.shares.iter().find(|(n, _)| *n == name).map_or(0.0, |(_, s)| 100.0 * s);
        assert!((share("titre") - 52.15).abs() < 1.0 && (share("end point") - 26.81).abs() < 1.0);
        assert!((c.shares.iter().map(|(_, s)| s).sum::<f64>() - 1.0).abs() < 1e-12);
    }

    /// Cadmium standard: 1002.7 mg/L with u 0.835 mg/L, printed as 0.9 after rounding on the way. Source: the same guide,
    /// example A1: flask ± 0.1 mL triangular, repeatability 0.02 mL, ± 4 °C at 2.1e-4 per K rectangular.
    #[test]
    fn a_cadmium_standard() {
        let parts = [0.1 / 6f64.sqrt(), 0.02, 100.0 * 4.0 * 2.1e-4 / 3f64.sqrt()];
        let u = parts.iter().map(|p| p * p).sum::<f64>().sqrt();
        assert!((u - 0.0665).abs() < 5e-4);
        let c = product(&[
            factor("mass", 100.28, 0.05, 1),
            factor("purity", 0.9999, 0.0001 / 3f64.sqrt(), 1),
            factor("volume", 0.1, u * 1e-3, -1),
        ])
        .expect("no factor is zero");
        assert!((c.figure.value - 1002.7).abs() < 0.05 && (c.figure.standard_uncertainty - 0.835).abs() < 0.02);
    }

    /// Three titres by hand: mean 18.43, s = 0.0265, blank 0.05.
    #[test]
    fn repeated_titres() {
        let blank = Figure { value: 0.05, standard_uncertainty: 0.01 };
        let told = titre(&[18.40, 18.44, 18.45], 0.01, 0.03, blank).expect("three");
        assert!((told.net.value - 18.38).abs() < 1e-12);
        let s = (0.0014f64 / 2.0).sqrt();
        assert!((told.scatter.expect("told") - s).abs() < 1e-12 && !told.wide);
        assert!((told.net.standard_uncertainty - (s * s / 3.0 + 0.0009 + 0.0001).sqrt()).abs() < 1e-12);
        assert!(titre(&[18.0, 18.9], 0.01, 0.0, blank).is_some_and(|t| t.wide));
        assert_eq!(titre(&[], 0.01, 0.0, blank), None);
    }
}
