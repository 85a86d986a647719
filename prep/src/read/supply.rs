//! One `[[supply]]` of the file: what the label says, as a mass fraction.
//!
//! A label gives the content of a solid (`assay`), the strength of a solution (`strength`, with `density` unless it is
//! a mass fraction), or the content of one unit (`content`, with `unit_mass`). All become the mass fraction of what
//! the supply `holds`; the rest is water for a solution, foreign matter otherwise.
//!
//! Source: definitions of mass fraction, mass and amount concentration, molality (IUPAC Green Book).

use super::amount::{Of, amount, rounded};
use super::price::price;
use super::{foreign_kind, fraction, knowledge, mass, species};
use crate::model::{Amount, Knowledge, Measure, Spanned, Supply, WATER};
use crate::syntax::Fields;
use chem::{Dimension, Element, Quantity, Species};

pub(super) fn supply(fields: &Fields<'_>) -> Option<Supply> {
    let name = fields.needed_text("name", "\"bluestone\"");
    let label = fields.text("label").map_or_else(String::new, |t| t.value);
    let texts = fields.texts("holds");
    if texts.is_empty() && fields.item("holds").is_none() {
        fields.missing("holds", "\"CuSO4·5H2O(s)\"");
    }
    let holds: Vec<_> = texts
        .iter()
        .filter_map(|t| species(fields, "holds", t).map(|value| Spanned { value, span: t.span.clone() }))
        .collect();
    let rest = fields.text("rest").and_then(|text| foreign_kind(fields, &text));
    let measure = Measure { density: density(fields), unit: unit_mass(fields) };
    let first = holds.first().map(|h| &h.value);
    let assay = fields.item("assay").and_then(|_| fraction(fields, "assay"));
    let strength = fields.text("strength").and_then(|text| strength(fields, &text, first, measure.density));
    let content = content(fields, first, measure.unit);
    let stated = [&assay, &strength, &content].iter().filter(|s| s.is_some()).count();
    if stated > 1 {
        let message = format!("{} states its content more than once", fields.what());
        let hint = "give one of `assay`, `strength` and `content`";
        fields.findings().error("content-stated-twice", &fields.span, message, hint);
    }
    let solution = fields.item("strength").is_some();
    let known = name.as_ref().map_or("", |name| name.value.as_str());
    let price = price(fields, known, measure);
    let left = left(fields, known, measure);
    fields.finish();
    // A slip in a formula is reported once; the supply is known all the same.
    Some(Supply {
        name: name?,
        label,
        holds,
        assay: assay.or(strength).or(content).unwrap_or(Knowledge::Exact(1.0)),
        assay_stated: stated > 0,
        rest,
        solution,
        measure,
        price,
        left,
    })
}

/// Mean mass of one unit, kg.
fn unit_mass(fields: &Fields<'_>) -> Option<Knowledge> {
    let unit = mass(fields, "unit_mass")?;
    if unit.central() <= 0.0 {
        let span = fields.item("unit_mass").map_or_else(|| fields.span.clone(), |item| fields.span_of(item));
        let message = format!("`unit_mass` of {} is zero", fields.what());
        let hint = "weigh 10 to 20 units together and give the mean, `unit_mass = \"1.25 ± 0.01 g\"`";
        fields.findings().error("out-of-range", &span, message, hint);
        return None;
    }
    Some(unit)
}

/// What was in the bottle before this preparation; it may have been empty.
fn left(fields: &Fields<'_>, supply: &str, measure: Measure) -> Option<Spanned<Amount>> {
    let text = fields.text("left")?;
    let of = Of { measure, water: supply == WATER, may_be_nothing: true };
    amount(fields, "left", &text, of).map(|value| Spanned { value, span: text.span })
}

fn density(fields: &Fields<'_>) -> Option<Knowledge> {
    let quantity = fields.quantity("density", Dimension::DENSITY)?;
    let known = knowledge(fields, "density", &quantity.value, &quantity.span, f64::INFINITY)?;
    (known.central() > 0.0).then(|| rounded(&quantity.value, known))
}

/// Strength of a solution as a mass fraction.
fn strength(
    fields: &Fields<'_>,
    text: &Spanned<String>,
    solute: Option<&Species>,
    density: Option<Knowledge>,
) -> Option<Knowledge> {
    let refuse = |message: String, hint: &str| {
        fields.findings().error("bad-strength", &text.span, message, hint);
        None
    };
    let (figure, per_volume) = match text.value.trim().strip_suffix("w/v") {
        Some(figure) => (figure, true),
        None => (text.value.trim().strip_suffix("w/w").unwrap_or(&text.value), false),
    };
    let quantity = match Quantity::parse(figure) {
        Ok(quantity) => quantity,
        Err(error) => return refuse(format!("`strength` of {}: {error}", fields.what()), ""),
    };
    let known = rounded(&quantity, knowledge(fields, "strength", &quantity, &text.span, f64::INFINITY)?);
    let molar_mass = solute.and_then(|s| s.formula.molar_mass().ok()).map(|m| m.value * 1e-3)?;
    let needs_density = || {
        let message = format!("`strength` of {} is counted by volume, but its `density` is not given", fields.what());
        refuse(message, "add `density = \"1.05 g/mL\"`, or give the strength by mass")
    };
    let inverse = |density: Knowledge| Knowledge::Exact(1.0 / density.central()).times(relative_of(density));
    let w = match quantity.dimension() {
        // 10 % w/v is 10 g in 100 mL.
        Dimension::DIMENSIONLESS if per_volume => match density {
            Some(density) => known.times(Knowledge::Exact(1000.0)).times(inverse(density)),
            None => return needs_density(),
        },
        Dimension::DIMENSIONLESS => known,
        Dimension::DENSITY => match density {
            Some(density) => known.times(inverse(density)),
            None => return needs_density(),
        },
        Dimension::CONCENTRATION => match density {
            Some(density) => known.times(Knowledge::Exact(molar_mass)).times(inverse(density)),
            None => return needs_density(),
        },
        Dimension::MOLALITY => {
            let b = known.central();
            known.times(Knowledge::Exact(molar_mass / (1.0 + b * molar_mass)))
        }
        _ => {
            let message = format!("`strength` of {} is `{}`", fields.what(), text.value);
            return refuse(message, "write `36 % w/w`, `10 % w/v`, `100 g/L`, `2.0 mol/L` or `0.5 mol/kg`");
        }
    };
    if !(0.0..=1.0).contains(&w.central()) {
        let message = format!("`strength` of {} makes {:.0} % by mass", fields.what(), 100.0 * w.central());
        return refuse(message, "a solution holds less than 100 % of its solute; check unit and density");
    }
    Some(w)
}

/// One with the relative uncertainty of a density.
fn relative_of(density: Knowledge) -> Knowledge {
    Knowledge::Exact(1.0 / density.central()).times(density)
}

/// Content of one unit as a mass fraction of what the supply holds.
fn content(fields: &Fields<'_>, held: Option<&Species>, unit: Option<Knowledge>) -> Option<Knowledge> {
    let of = fields.text("content_of");
    let quantity = fields.quantity("content", Dimension::MASS)?;
    let known = rounded(&quantity.value, knowledge(fields, "content", &quantity.value, &quantity.span, f64::INFINITY)?);
    let Some(unit) = unit.filter(|u| u.central() > 0.0) else {
        let message =
            format!("`content` of {} is counted by the unit, but its `unit_mass` is not given", fields.what());
        let hint = "weigh 10 to 20 units together and give the mean, `unit_mass = \"1.25 ± 0.01 g\"`";
        fields.findings().error("bad-content", &quantity.span, message, hint);
        return None;
    };
    let held = held?;
    // The label may count an element ("zinc 23 mg") or the salt itself.
    let share = match of {
        None => 1.0,
        Some(text) => match Element::from_symbol(text.value.trim()) {
            Some(element) if held.formula.mass_fraction(element) > 0.0 => held.formula.mass_fraction(element),
            _ => {
                let message = format!("`content_of` of {}: `{}` is no element of {held}", fields.what(), text.value);
                fields.findings().error(
                    "bad-content",
                    &text.span,
                    message,
                    "write the symbol of an element it holds, or leave it out",
                );
                return None;
            }
        },
    };
    let inverse = Knowledge::Exact(1.0 / unit.central()).times(relative_of(unit));
    let w = known.times(Knowledge::Exact(1.0 / share)).times(inverse);
    if w.central() > 1.0 {
        let message = format!("{} would hold {:.0} % of its mass as {held}", fields.what(), 100.0 * w.central());
        let hint = "is the content counted as the element? then add `content_of = \"Zn\"`; else check `unit_mass`";
        fields.findings().error("bad-content", &quantity.span, message, hint);
        return None;
    }
    Some(w)
}
