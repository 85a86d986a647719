//! How hot does it get, how much boils off, and how fast may it be added?
//!
//! First law at constant pressure. A batch warms from where it stands to its boiling point, then boils off solvent at that
//! temperature; what is left over when all solvent is gone is not followed. Heat of the vessel and losses to the room are
//! left out, so that rises are too high. A mix that keeps all its heat ([`adiabatic`]) gives its listed products and nothing
//! else: decomposition of products at high temperature takes up heat, so that temperatures above some 2500 K come out too
//! high where a product is not held at a melting or boiling point.
//!
//! Source: first law; D. A. Crowl, J. F. Louvar, Chemical Process Safety, for the balance of addition and cooling.

use crate::thermochemistry::Fit;

/// A batch in liquid.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Batch {
    /// Mass, kg.
    pub mass: f64,
    /// Heat capacity, J/(kg·K).
    pub heat_capacity: f64,
    /// Temperature at the beginning, K.
    pub temperature: f64,
    /// Boiling point, K.
    pub boiling_point: f64,
    /// Solvent that can boil off, kg.
    pub solvent: f64,
    /// Heat of evaporation of the solvent, J/kg.
    pub evaporation: f64,
}

/// What an addition does to a batch.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Warmed {
    /// Rise of temperature if nothing boiled, K.
    pub rise: f64,
    /// Temperature reached, K.
    pub temperature: f64,
    /// Solvent boiled off, kg.
    pub boiled_off: f64,
    /// Heat that is left when all solvent is gone, J.
    pub left: f64,
}

/// Temperature and boil-off after an addition, all at once.
///
/// ```text
/// q − m_add·c_add·(T₀ − T_add) = m·c·(T − T₀) + m_v·Δh_v
/// ```
/// | argument      | symbol  | unit     | range |
/// |---------------|---------|----------|-------|
/// | `batch`       |         |          | mass and heat capacity > 0 |
/// | `heat`        | q       | J        | any; positive is released |
/// | `added`       | m_add   | kg       | ≥ 0   |
/// | `added_heat_capacity` | c_add | J/(kg·K) | ≥ 0 |
/// | `added_temperature`   | T_add | K    | > 0   |
///
/// `None` where there is nothing to warm.
///
/// ```
/// use engine::heat::{Batch, addition};
/// // 28 g quicklime (65 kJ/mol) slaked in 300 g water.
/// let water = Batch { mass: 0.3, heat_capacity: 4184.0, temperature: 298.15, boiling_point: 373.15, solvent: 0.3, evaporation: 2.257e6 };
/// let warmed = addition(&water, 28.0 / 56.077 * 65e3, 0.028, 840.0, 298.15).unwrap();
/// assert!((warmed.rise - 25.4).abs() < 0.3 && warmed.boiled_off == 0.0);
/// ```
#[must_use]
pub fn addition(
    batch: &Batch,
    heat: f64,
    added: f64,
    added_heat_capacity: f64,
    added_temperature: f64,
) -> Option<Warmed> {
    let capacity = batch.mass * batch.heat_capacity + added * added_heat_capacity;
    let usable = capacity > 0.0 && capacity.is_finite() && heat.is_finite() && batch.evaporation > 0.0;
    if !usable {
        return None;
    }
    let sensible = added * added_heat_capacity * (added_temperature - batch.temperature);
    let rise = (heat + sensible) / capacity;
    let reached = batch.temperature + rise;
    if reached <= batch.boiling_point {
        return Some(Warmed { rise, temperature: reached, boiled_off: 0.0, left: 0.0 });
    }
    let surplus = capacity * (reached - batch.boiling_point.max(batch.temperature));
    let boiled_off = (surplus / batch.evaporation).min(batch.solvent.max(0.0));
    let temperature = batch.boiling_point.max(batch.temperature);
    Some(Warmed { rise, temperature, boiled_off, left: (surplus - boiled_off * batch.evaporation).max(0.0) })
}

/// Rate of addition that cooling keeps up with, in the unit of amount per second of `heat`.
///
/// ```text
/// r = P / q
/// ```
/// | argument  | symbol | unit  | range |
/// |-----------|--------|-------|-------|
/// | `cooling` | P      | W     | ≥ 0   |
/// | `heat`    | q      | J for each unit added | any |
///
/// `None` where the addition takes up heat: cooling sets no limit then. What is added is taken to react at once; what
/// gathers unreacted is heat to come.
///
/// ```
/// // 100 W of cooling and 55.8 kJ/mol: 1.79 mmol a second.
/// assert!((engine::heat::cooled_rate(100.0, 55.8e3).unwrap() - 1.792e-3).abs() < 1e-6);
/// ```
#[must_use]
pub fn cooled_rate(cooling: f64, heat: f64) -> Option<f64> {
    (heat > 0.0).then(|| cooling.max(0.0) / heat)
}

/// Heat that leaves a vessel through its wall, W.
///
/// ```text
/// P = U · A · (T − T_bath)
/// ```
/// | argument      | symbol | unit      | range |
/// |---------------|--------|-----------|-------|
/// | `coefficient` | U      | W/(m²·K)  | ≥ 0; water bath and stirred glass about 200 |
/// | `area`        | A      | m²        | ≥ 0   |
/// | `difference`  | T − T_bath | K     | any   |
#[must_use]
pub fn wall_cooling(coefficient: f64, area: f64, difference: f64) -> f64 {
    coefficient * area * difference
}

/// A product with the forms it may take: solid, liquid, gas.
#[derive(Clone, Debug)]
pub struct Product<'a> {
    /// Amount, mol.
    pub amount: f64,
    /// Its forms at standard pressure.
    pub forms: Vec<&'a Fit>,
}

/// Where a mix ends that keeps its heat.
#[derive(Clone, Debug, PartialEq)]
pub struct Adiabatic {
    /// Temperature, K.
    pub temperature: f64,
    /// For each product its forms, by place, with their shares.
    pub shares: Vec<Vec<(usize, f64)>>,
    /// Whether the temperature is held at a melting or boiling point.
    pub held: bool,
}

/// The form of lowest Gibbs energy at T in K, with its enthalpy in J/mol. Forms beyond their range do not compete, except
/// the last that is left.
fn stable(product: &Product<'_>, temperature: f64) -> Option<(usize, f64)> {
    let among = |covered: bool| {
        product
            .forms
            .iter()
            .enumerate()
            .filter(|(_, fit)| !covered || fit.covers(temperature))
            .map(|(place, fit)| (place, fit.gibbs_over_rt(temperature)))
            .filter(|(_, gibbs)| gibbs.is_finite())
            .min_by(|(_, a), (_, b)| a.total_cmp(b))
            .map(|(place, _)| place)
    };
    let place = among(true).or_else(|| among(false))?;
    Some((place, product.forms.get(place)?.enthalpy(temperature)))
}

fn total(products: &[Product<'_>], temperature: f64) -> Option<f64> {
    products.iter().map(|p| Some(p.amount * stable(p, temperature)?.1)).sum()
}

/// Temperature and forms of products that hold a given enthalpy, each form pure and at standard pressure.
///
/// ```text
/// Σ nᵢ·Hᵢ(T) = H
/// ```
/// | argument   | symbol | unit | range |
/// |------------|--------|------|-------|
/// | `products` | nᵢ     | mol  | > 0   |
/// | `enthalpy` | H      | J, of the reagents at the temperature they start from | any |
///
/// The enthalpy of products rises with temperature and jumps where one melts or boils; a value within a jump is met there,
/// with a share of the form that comes. `None` where it lies outside 200 to 6000 K.
///
/// # Source
/// First law at constant pressure.
#[must_use]
pub fn adiabatic(products: &[Product<'_>], enthalpy: f64) -> Option<Adiabatic> {
    const RANGE: (f64, f64) = (200.0, 6000.0);
    const PRECISION: f64 = 1e-7;
    let (mut low, mut high) = RANGE;
    let (bottom, top) = (total(products, low)?, total(products, high)?);
    if !(bottom..=top).contains(&enthalpy) {
        return None;
    }
    while high - low > PRECISION {
        let middle = 0.5 * (low + high);
        if total(products, middle)? < enthalpy { low = middle } else { high = middle }
    }
    let (below, above) = (total(products, low)?, total(products, high)?);
    // What warming by the width of the bracket cannot explain is a change of form.
    let held = above - below > 1e-3 * (top - bottom).abs().max(1.0) * 1e-2;
    let share = if held { ((enthalpy - below) / (above - below)).clamp(0.0, 1.0) } else { 0.0 };
    let mut shares = Vec::with_capacity(products.len());
    for product in products {
        let ((old, _), (new, _)) = (stable(product, low)?, stable(product, high)?);
        shares.push(if old == new || share <= 0.0 { vec![(old, 1.0)] } else { vec![(old, 1.0 - share), (new, share)] });
    }
    Some(Adiabatic { temperature: 0.5 * (low + high), shares, held })
}

/// Saturated vapour pressure of water, Pa, at T in K.
///
/// ```text
/// ln(p/p_c) = (T_c/T)·(a₁ϑ + a₂ϑ^1.5 + a₃ϑ³ + a₄ϑ^3.5 + a₅ϑ⁴ + a₆ϑ^7.5),  ϑ = 1 − T/T_c
/// ```
/// From the triple point, 273.16 K, to the critical one, 647.096 K; NaN outside.
///
/// # Source
/// W. Wagner, A. Pruss, J. Phys. Chem. Ref. Data 31 (2002) 387, equation 2.5 (coefficients from memory; the checks are not).
///
/// ```
/// assert!((engine::heat::water_vapour(298.15) - 3169.7).abs() < 1.0);
/// ```
#[must_use]
pub fn water_vapour(temperature: f64) -> f64 {
    const CRITICAL: (f64, f64) = (647.096, 22.064e6);
    if !(273.16..=CRITICAL.0).contains(&temperature) {
        return f64::NAN;
    }
    let x = 1.0 - temperature / CRITICAL.0;
    let sum = -7.859_517_83 * x + 1.844_082_59 * x.powf(1.5) - 11.786_649_7 * x.powi(3) + 22.680_741_1 * x.powf(3.5)
        - 15.961_871_9 * x.powi(4)
        + 1.801_225_02 * x.powf(7.5);
    CRITICAL.1 * (CRITICAL.0 / temperature * sum).exp()
}
