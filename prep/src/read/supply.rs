//! One `[[supply]]` of the file: what the label says, as a mass fraction.
//!
//! A label gives the content of a solid (`assay`), the strength of a solution (`strength`, with `density` unless it is
//! a mass fraction), or the content of one unit (`content`, with `unit_mass`). All become the mass fraction of what
//! the supply `holds`; the rest is water for a solution, foreign matter otherwise. What the file leaves out is taken
//! from the text of the label. Where goods are known to scatter about their label, `of_label` says within what; the
//! label's figure then counts as it is printed, without its rounding. `took_up` is what came in on the shelf: water,
//! carbonate. Tap water gives its `hardness`, which is counted as dissolved calcium carbonate.
//!
//! Source: definitions of mass fraction, mass and amount concentration, molality (IUPAC Green Book); hardness as calcium
//! carbonate is common practice of water analysis.

use super::amount::{Of, amount, rounded};
use super::price::price;
use super::{foreign_kind, fraction, knowledge, label, mass, origin, shares, species};
use crate::model::{Amount, Knowledge, Measure, Spanned, Supply, WATER, WATER_DENSITY};
use crate::syntax::Fields;
use chem::{Dimension, Element, Formula, Quantity, Species};
use engine::solution::{from_concentration, from_mass_concentration, from_molality, molality_sensitivity};

pub(super) fn supply(fields: &Fields<'_>) -> Option<Supply> {
    let name = fields.needed_text("name", "\"bluestone\"");
    let label = fields.text("label").filter(|t| !t.value.trim().is_empty());
    let texts = fields.texts("holds");
    let mut holds: Vec<_> = texts
        .iter()
        .filter_map(|t| species(fields, "holds", t).map(|value| Spanned { value, span: t.span.clone() }))
        .collect();
    let hardness = hardness(fields, &mut holds);
    let rest = fields.text("rest").and_then(|text| foreign_kind(fields, &text));
    let measure = Measure { density: density(fields), unit: unit_mass(fields) };
    let origin = origin::origin(fields);
    let read = by_label(fields, label.as_ref(), measure, &mut holds);
    let first = holds.first().map(|h| &h.value);
    let scatter = of_label(fields);
    let assay = assay(fields).map(|known| scattered(known, scatter));
    let strength = fields.text("strength").and_then(|text| strength(fields, &text, first, measure.density));
    let strength = strength.map(|known| scattered(known, scatter));
    let by_unit = fields.item("content").is_some();
    let content = content(fields, first, measure.unit, scatter);
    let stated = [&assay, &strength, &content].iter().filter(|s| s.is_some()).count();
    if stated > 1 {
        let message = format!("{} states its content more than once", fields.what());
        let hint = "give one of `assay`, `strength` and `content`";
        fields.findings().error("content-stated-twice", &fields.span, message, hint);
    }
    let from_label = read.as_ref().and_then(|r| r.content).map(|known| match scatter {
        // With a stated scatter the label counts as printed, without its rounding.
        Some(_) => scattered(Knowledge::Exact(known.central()), scatter),
        None => known,
    });
    let solution = fields.item("strength").is_some() || hardness.is_some() || read.is_some_and(|r| r.solution);
    let mut took_up = took_up(fields);
    if solution && !took_up.is_empty() {
        let message = format!("{} is a solution and has a `took_up`", fields.what());
        fields.findings().error("took-up-solution", &fields.span, message, "give the strength that it has now");
        took_up.clear();
    }
    if scatter.is_some() && stated == 0 && from_label.is_none() {
        let message = format!("`of_label` of {} has nothing to be a share of", fields.what());
        let hint = "state what the label says: `content`, `assay` or `strength`";
        fields.findings().error("bad-content", &fields.span, message, hint);
    }
    let known = name.as_ref().map_or("", |name| name.value.as_str());
    let price = price(fields, known, measure);
    let left = left(fields, known, measure);
    let opened = fields.text("opened").map(|opened| opened.value);
    fields.finish();
    // A slip in a formula is reported once; the supply is known all the same.
    Some(Supply {
        name: name?,
        label: label.map_or_else(String::new, |t| t.value),
        holds,
        assay: assay.or(strength).or(content).or(from_label).or(hardness).unwrap_or(Knowledge::Exact(1.0)),
        assay_stated: stated > 0 || fields.item("from").is_some() || from_label.is_some() || hardness.is_some(),
        rest,
        solution,
        took_up,
        origin,
        brought: None,
        hard: hardness.is_some(),
        by_unit,
        of_label: scatter,
        measure,
        price,
        left,
        opened,
    })
}

/// What the label adds: all that a file without `holds` leaves to it, else no more than a word where it disagrees.
fn by_label(
    fields: &Fields<'_>,
    label: Option<&Spanned<String>>,
    measure: Measure,
    holds: &mut Vec<Spanned<Species>>,
) -> Option<label::FromLabel> {
    let elsewhere = ["from", "hardness"].iter().any(|key| fields.item(key).is_some());
    let unsaid = !elsewhere && fields.item("holds").is_none();
    match label {
        Some(label) if unsaid => {
            let states = ["assay", "strength", "content"].iter().any(|key| fields.item(key).is_some());
            let mut read = label::taken(fields, label, measure, states, fields.item("strength").is_some())?;
            *holds = std::mem::take(&mut read.holds);
            Some(read)
        }
        Some(label) if !elsewhere => {
            label::compare(fields, label, holds);
            None
        }
        None if unsaid => {
            fields.missing("holds", "\"CuSO4·5H2O(s)\"");
            None
        }
        _ => None,
    }
}

/// The content of a solid; a bound that leaves nothing certain says too little.
fn assay(fields: &Fields<'_>) -> Option<Knowledge> {
    fields.item("assay")?;
    let known = fraction(fields, "assay")?;
    if known.central() <= 0.0 || matches!(known, Knowledge::Between { low, .. } if low <= 0.0) {
        let text = fields.text("assay")?;
        let message = format!("`assay` of {} is `{}`: it may hold none of it at all", fields.what(), text.value);
        let hint = "give a range or a lower bound, `90 .. 98 %` or `>= 95 %`";
        fields.findings().error("out-of-range", &text.span, message, hint);
    }
    Some(known)
}

/// What the supply took up since it was filled: fractions of the bottle as it is now.
fn took_up(fields: &Fields<'_>) -> Vec<(Spanned<Species>, Knowledge)> {
    let mut list = shares(fields, "took_up");
    if list.iter().map(|(_, known)| known.bounds().1).sum::<f64>() >= 1.0 {
        let message = format!("`took_up` of {} may make up the whole of it", fields.what());
        fields.findings().error("out-of-range", &fields.span, message, "the fractions together stay below 100 %");
        list.clear();
    }
    list
}

/// Hardness as a mass fraction of calcium carbonate; the water then holds that.
fn hardness(fields: &Fields<'_>, holds: &mut Vec<Spanned<Species>>) -> Option<Knowledge> {
    let text = fields.text("hardness")?;
    let water = Formula::water();
    if holds.iter().any(|h| !h.value.formula.same_substance(&water)) {
        let message = format!("`hardness` of {}: only water has one", fields.what());
        fields.findings().error("bad-hardness", &text.span, message, "leave `hardness` out, or let it hold `H2O(l)`");
        return None;
    }
    let carbonate = Species::parse("CaCO3(aq)").ok()?;
    let molar_mass = carbonate.formula.molar_mass().ok()?.value * 1e-3;
    let refused = |message: String| {
        let hint = "write `16 °dH`, `2.8 mmol/L` or `280 mg/L`, as calcium carbonate";
        fields.findings().error("bad-hardness", &text.span, message, hint);
    };
    let quantity = match Quantity::parse(&text.value) {
        Ok(quantity) => quantity,
        Err(error) => {
            refused(format!("`hardness` of {}: {error}", fields.what()));
            return None;
        }
    };
    let per_volume = match quantity.dimension() {
        Dimension::CONCENTRATION => molar_mass,
        Dimension::DENSITY => 1.0,
        _ => {
            refused(format!("`hardness` of {} is `{}`", fields.what(), text.value));
            return None;
        }
    };
    let known = rounded(&quantity, knowledge(fields, "hardness", &quantity, &text.span, f64::INFINITY)?);
    let fraction = known.times(Knowledge::Exact(per_volume / WATER_DENSITY));
    if fraction.central() > 0.05 {
        refused(format!("`hardness` of {} is `{}`: no water is that hard", fields.what(), text.value));
        return None;
    }
    *holds = vec![Spanned { value: carbonate, span: text.span }];
    Some(fraction)
}

/// What is found in such goods, as a share of the label.
fn of_label(fields: &Fields<'_>) -> Option<Knowledge> {
    let quantity = fields.quantity("of_label", Dimension::DIMENSIONLESS)?;
    let known = knowledge(fields, "of_label", &quantity.value, &quantity.span, f64::INFINITY)?;
    if known.central() > 0.0 && known.central() < MOST_OF_LABEL {
        return Some(known);
    }
    let message = format!("`of_label` of {} is `{}`", fields.what(), quantity.value.text);
    let hint = "give what is found as a share of the label, `of_label = \"98 .. 108 %\"`";
    fields.findings().error("out-of-range", &quantity.span, message, hint);
    None
}

/// Share of a label above which it is no label any more.
const MOST_OF_LABEL: f64 = 10.0;

/// A mass fraction as printed, with the scatter of such goods; no more than all of it.
fn scattered(printed: Knowledge, scatter: Option<Knowledge>) -> Knowledge {
    let Some(scatter) = scatter else { return printed };
    match printed.times(scatter) {
        Knowledge::Between { low, high } if high > 1.0 => Knowledge::Between { low: low.min(1.0), high: 1.0 },
        Knowledge::Exact(value) => Knowledge::Exact(value.min(1.0)),
        other => other,
    }
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
    // The mass fraction for the figures as they stand, with the uncertainties of both.
    let by_volume = |w: &dyn Fn(f64) -> f64, density: Knowledge| {
        let unit = known.central();
        let scale = if unit > 0.0 { w(density.central()) / unit } else { 0.0 };
        known.times(Knowledge::Exact(scale)).times(relative_of(density))
    };
    let figure = known.central();
    let w = match quantity.dimension() {
        Dimension::DIMENSIONLESS if !per_volume => known,
        Dimension::MOLALITY => molal(known, molar_mass),
        Dimension::DIMENSIONLESS | Dimension::DENSITY | Dimension::CONCENTRATION => {
            let Some(density) = density else { return needs_density() };
            match quantity.dimension() {
                // 10 % w/v is 10 g in 100 mL.
                Dimension::DIMENSIONLESS => by_volume(&|d| from_mass_concentration(figure * 1000.0, d), density),
                Dimension::DENSITY => by_volume(&|d| from_mass_concentration(figure, d), density),
                _ => by_volume(&|d| from_concentration(figure, molar_mass, d), density),
            }
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

/// Mass fraction of a molality with its uncertainty; a strong solution takes on less of it.
fn molal(known: Knowledge, molar_mass: f64) -> Knowledge {
    let w = |b: f64| from_molality(b, molar_mass);
    match known {
        Knowledge::Normal { value, standard_uncertainty } if value > 0.0 => {
            let relative = standard_uncertainty / value * molality_sensitivity(value, molar_mass);
            Knowledge::Normal { value: w(value), standard_uncertainty: w(value) * relative }
        }
        Knowledge::Between { low, high } => Knowledge::Between { low: w(low), high: w(high) },
        other => Knowledge::Exact(w(other.central())),
    }
}

/// One with the relative uncertainty of a density.
fn relative_of(density: Knowledge) -> Knowledge {
    Knowledge::Exact(1.0 / density.central()).times(density)
}

/// Content of one unit as a mass fraction of what the supply holds.
fn content(
    fields: &Fields<'_>,
    held: Option<&Species>,
    unit: Option<Knowledge>,
    scatter: Option<Knowledge>,
) -> Option<Knowledge> {
    let of = fields.text("content_of");
    let quantity = fields.quantity("content", Dimension::MASS)?;
    let known = knowledge(fields, "content", &quantity.value, &quantity.span, f64::INFINITY)?;
    let known = match scatter {
        Some(scatter) => Knowledge::Exact(known.central()).times(scatter),
        None => rounded(&quantity.value, known),
    };
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
