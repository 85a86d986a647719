//! What does a supply hold, when its label is all that is known?
//!
//! The label is read as the question `label` reads it. Where the file leaves `holds` or the content out, they are taken
//! from there, and a note says what was taken. A label that may stand for several salts or hydrates makes an unknown mix
//! of them, but where it counts an element: then the driest form carries the element, and the water of the others is
//! foreign matter, so that the element keeps the figure of the label. Where the file states `holds` itself and the
//! label names something else, the disagreement is reported and the file is followed.
//!
//! Source: the tables and readings of [`chem::label`].

use crate::model::{Knowledge, Measure, Spanned};
use crate::outcome::Severity;
use crate::syntax::Fields;
use chem::label::{Bounds, ClaimBasis, Explanation, LabelReading};
use chem::substance::Substance;
use chem::{Dimension, Formula, Phase, Quantity, Species, Value as Number};

/// Most forms an unknown mix is made of.
const MOST_FORMS: usize = 4;

/// What a label says of a supply.
pub(super) struct FromLabel {
    /// Substances it may hold.
    pub holds: Vec<Spanned<Species>>,
    /// Their mass fraction together, where the label states a content.
    pub content: Option<Knowledge>,
    /// Whether it is a solution.
    pub solution: bool,
}

/// Takes `holds` from the label, and the content unless the file `states` it.
pub(super) fn taken(
    fields: &Fields<'_>,
    label: &Spanned<String>,
    measure: Measure,
    states: bool,
    strength: bool,
) -> Option<FromLabel> {
    let reading = chem::label::read(&label.value);
    let forms = forms(&reading);
    let (Some(first), true) = (forms.first(), forms.len() <= MOST_FORMS) else {
        let message = format!("{} has no `holds`, and its label `{}` names no substance", fields.what(), label.value);
        let found = if forms.is_empty() { message } else { message.replace("no substance", "too many") };
        let hint = "add what it holds, for instance `holds = \"CuSO4·5H2O(s)\"`";
        fields.findings().error("label-unread", &label.span, found, hint);
        return None;
    };
    let counted = first.basis != ClaimBasis::AsSalt && first.substance_amount.is_some();
    let kept = if counted { &forms[..1] } else { &forms[..] };
    let solution = strength || Substance::find(&first.substance.to_string()).iter().any(|s| s.sold_in_water());
    let phase = |formula: &Formula| match (solution, formula.same_substance(&Formula::water())) {
        (_, true) => Phase::Liquid,
        (true, _) => Phase::Aqueous,
        (false, _) => Phase::Solid,
    };
    let species = |form: &Formula| Species { formula: form.clone(), phase: Some(phase(form)) };
    let holds: Vec<Spanned<Species>> =
        kept.iter().map(|f| Spanned { value: species(&f.substance), span: label.span.clone() }).collect();
    let content = if states { None } else { content(fields, label, first, measure)? };
    let mut said: Vec<String> = holds.iter().map(|h| h.value.to_string()).collect();
    if let Some(content) = content {
        let (low, high) = content.bounds();
        said.push(if high - low < 5e-4 {
            format!("{:.1} %", 50.0 * (low + high))
        } else {
            format!("{:.1} to {:.1} %", 100.0 * low, 100.0 * high)
        });
    }
    let message = format!("{} is taken from its label: {}", fields.what(), said.join(", "));
    let hint = if forms.len() > 1 {
        "if you know which of them is in the bag, say so in `holds`"
    } else {
        "if you know better, say so in `holds` and `assay`"
    };
    if !first.substance.same_substance(&Formula::water()) {
        fields.findings().push("taken-from-label", Severity::Note, &label.span, message, hint);
    }
    Some(FromLabel { holds, content, solution })
}

/// The plausible ways to read a label, on the basis of the best; the driest form first among equals.
fn forms(reading: &LabelReading) -> Vec<&Explanation> {
    let plausible: Vec<&Explanation> = reading.readings.iter().filter(|r| r.plausible && r.listed).collect();
    let basis = plausible.first().map(|r| r.basis);
    plausible.into_iter().filter(|r| Some(r.basis) == basis).collect()
}

/// The content as a mass fraction; `Some(None)` where the label states none.
fn content(
    fields: &Fields<'_>,
    label: &Spanned<String>,
    form: &Explanation,
    measure: Measure,
) -> Option<Option<Knowledge>> {
    let Some(amount) = form.substance_amount.as_ref() else { return Some(None) };
    let refuse = |what: &str, hint: &str| {
        let message = format!("{} counts its content by {what} on the label, and the file does not", fields.what());
        fields.findings().error("label-unread", &label.span, message, hint);
        None
    };
    let dimension = Quantity::parse(&format!("1 {}", amount.unit)).ok().map(|q| q.dimension());
    let known = match dimension {
        Some(Dimension::DIMENSIONLESS) => within(amount, Knowledge::Exact(1.0)),
        Some(Dimension::MASS) => match measure.unit {
            Some(unit) => within(amount, unit),
            None => return refuse("the unit", "weigh 10 to 20 units together and give the mean as `unit_mass`"),
        },
        Some(Dimension::DENSITY) => match measure.density {
            Some(density) => within(amount, density),
            None => return refuse("volume", "add its `density`, for instance `density = \"1.05 g/mL\"`"),
        },
        _ => return refuse("an amount", "state `assay`, `strength` or `content`"),
    };
    let Some(known) = known.filter(|k| k.bounds().0 <= 1.0) else {
        let message = format!("by its label {} would hold more than 100 % {}", fields.what(), form.substance);
        let hint = "check `unit_mass` or `density`, and which form the label speaks of";
        fields.findings().error("label-unread", &label.span, message, hint);
        return None;
    };
    Some(Some(known))
}

/// A figure of the label over the mass that carries it: its rounding is a range.
fn within(amount: &Bounds, whole: Knowledge) -> Option<Knowledge> {
    let si = |figure: f64| {
        let quantity = Quantity::parse(&format!("{figure} {}", amount.unit)).ok()?;
        match quantity.si() {
            Number::Point { value, .. } => Some(value),
            _ => None,
        }
    };
    let low = si(amount.low)?;
    // An open upper end is the pure substance.
    let high = amount.high.and_then(si).unwrap_or(whole.central());
    let inverse = Knowledge::Exact(1.0 / whole.central()).times(Knowledge::Exact(1.0 / whole.central()).times(whole));
    let known = if high > low { Knowledge::Between { low, high } } else { Knowledge::Exact(low) }.times(inverse);
    Some(match known {
        Knowledge::Between { low, high } if high > 1.0 && low < 1.0 => Knowledge::Between { low, high: 1.0 },
        other => other,
    })
}

/// Reports a label that names something else than the file says the supply holds.
pub(super) fn compare(fields: &Fields<'_>, label: &Spanned<String>, holds: &[Spanned<Species>]) {
    let reading = chem::label::read(&label.value);
    let named: Vec<&Formula> =
        reading.readings.iter().filter(|r| r.named && r.listed && r.plausible).map(|r| &r.substance).collect();
    if named.is_empty()
        || holds.is_empty()
        || holds.iter().any(|h| named.iter().any(|n| n.same_substance(&h.value.formula)))
    {
        return;
    }
    let names: Vec<String> = named.iter().take(MOST_FORMS).map(ToString::to_string).collect();
    let held: Vec<String> = holds.iter().map(|h| h.value.to_string()).collect();
    let message = format!(
        "the label of {} reads as {}; the file says it holds {}",
        fields.what(),
        names.join(" or "),
        held.join(", ")
    );
    let hint = "the file is followed; correct whichever is wrong";
    fields.findings().push("label-disagrees", Severity::Warning, &label.span, message, hint);
}
