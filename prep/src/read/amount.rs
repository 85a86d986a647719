//! How much of a supply: by mass, by volume or by count.
//!
//! A volume needs the density of the supply, a count the mass of a unit; water is known. Each amount keeps how it was
//! stated beside its mass, so that tablets are paid for and counted off as tablets. A figure without uncertainty is
//! good to half its last digit.

use super::knowledge;
use crate::model::{Amount, By, Knowledge, Measure, Spanned, WATER, WATER_DENSITY};
use crate::syntax::Fields;
use chem::{Dimension, Quantity};

/// Least charge, kg or m³: a nanogram.
const LEAST_CHARGE: f64 = 1e-12;

/// Words behind a count.
const UNITS: [&str; 6] = ["units", "unit", "tablets", "tablet", "pieces", "piece"];

/// What an amount is of: decides how it may be stated.
#[derive(Clone, Copy)]
pub(super) struct Of {
    /// How the supply may be measured.
    pub measure: Measure,
    /// Whether it is water, whose volume needs no density.
    pub water: bool,
    /// Whether nothing at all may be stated.
    pub may_be_nothing: bool,
}

impl Of {
    /// What a step charges of a supply.
    pub fn charge(key: &str, measure: Measure) -> Self {
        Self { measure, water: matches!(key, WATER | "wash" | "removes"), may_be_nothing: false }
    }
}

/// An amount in any of the three ways.
pub(super) fn amount(fields: &Fields<'_>, key: &str, text: &Spanned<String>, of: Of) -> Option<Amount> {
    let stated = |by, figure, mass| Some(Amount { by, figure, mass, text: text.value.trim().to_owned() });
    if let Some(count) = UNITS.iter().find_map(|word| text.value.trim().strip_suffix(word)) {
        let figure = count_of(fields, key, text, count, of)?;
        let Some(unit) = of.measure.unit else {
            let message = format!("`{key}` of {} is counted, but the supply has no `unit_mass`", fields.what());
            let hint = "weigh 10 to 20 units together and give the mean, `unit_mass = \"1.25 ± 0.01 g\"`";
            fields.findings().error("no-unit-mass", &text.span, message, hint);
            return None;
        };
        return stated(By::Count, figure, figure.times(unit));
    }
    let density = if of.water { Some(Knowledge::Exact(WATER_DENSITY)) } else { of.measure.density };
    if let (Some(density), Ok(quantity)) = (density, Quantity::parse_as(&text.value, Dimension::VOLUME)) {
        let volume = measured(fields, key, text, &quantity, of)?;
        return stated(By::Volume, volume, volume.times(density));
    }
    let quantity = fields.parse_quantity(key, text, Dimension::MASS)?;
    let mass = measured(fields, key, text, &quantity, of)?;
    stated(By::Mass, mass, mass)
}

/// A charged mass; water may be given by volume.
pub(super) fn charged_mass(fields: &Fields<'_>, key: &str, text: &Spanned<String>) -> Option<Knowledge> {
    amount(fields, key, text, Of::charge(key, Measure::default())).map(|amount| amount.mass)
}

fn count_of(fields: &Fields<'_>, key: &str, text: &Spanned<String>, count: &str, of: Of) -> Option<Knowledge> {
    let quantity = Quantity::parse_as(count, Dimension::DIMENSIONLESS).ok();
    let known = quantity.and_then(|quantity| knowledge(fields, key, &quantity, &text.span, f64::INFINITY));
    if let Some(known) = known.filter(|known| known.central() > 0.0 || of.may_be_nothing) {
        return Some(known);
    }
    let message = format!("`{key}` of {}: `{}` is no count", fields.what(), text.value);
    fields.findings().error("bad-quantity", &text.span, message, "write `200 units`");
    None
}

fn measured(fields: &Fields<'_>, key: &str, text: &Spanned<String>, quantity: &Quantity, of: Of) -> Option<Knowledge> {
    let known = knowledge(fields, key, quantity, &text.span, f64::INFINITY)?;
    if known.central() <= 0.0 && !of.may_be_nothing {
        let message = format!("`{key}` of {} is zero", fields.what());
        fields.findings().error("out-of-range", &text.span, message, "leave it out, or give the mass");
        return None;
    }
    if known.central() < LEAST_CHARGE && !of.may_be_nothing {
        let message = format!("`{key}` of {} is `{}`: no balance shows that", fields.what(), text.value);
        fields.findings().error("out-of-range", &text.span, message, "check the exponent and the unit");
        return None;
    }
    Some(rounded(quantity, known))
}

/// A figure without uncertainty is good to half its last digit.
pub(super) fn rounded(quantity: &Quantity, known: Knowledge) -> Knowledge {
    match known {
        Knowledge::Exact(value) => {
            Knowledge::Normal { value, standard_uncertainty: quantity.si_last_place() / 12f64.sqrt() }
        }
        other => other,
    }
}
