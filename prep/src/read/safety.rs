//! The room, the waste jars, and what the author accepts of the cautions.

use super::{knowledge, species};
use crate::model::{Accept, Spanned, WasteJar};
use crate::syntax::Fields;
use chem::quantity::Quantity;
use chem::{Dimension, Formula};

/// Volume of the room, m³.
pub(super) fn room(fields: &Fields<'_>) -> Option<f64> {
    let quantity = fields.quantity("room", Dimension::VOLUME)?;
    let known = knowledge(fields, "room", &quantity.value, &quantity.span, f64::INFINITY)?;
    // The smaller room is the worse one.
    let volume = known.bounds().0;
    if volume <= 0.0 {
        fields.findings().error("out-of-range", &quantity.span, "`room` is no room", "give its volume, `30 m3`");
        return None;
    }
    Some(volume)
}

pub(super) fn waste(fields: &Fields<'_>) -> Option<WasteJar> {
    let name = fields.needed_text("name", "\"copper jar\"");
    let texts = fields.texts("holds");
    let known = |t: &Spanned<String>| species(fields, "holds", t).map(|value| Spanned { value, span: t.span.clone() });
    let holds = texts.iter().filter_map(known).collect();
    let takes = fields.texts("takes");
    let limits = fields.texts("limit").iter().filter_map(|text| limit(fields, text)).collect();
    fields.finish();
    Some(WasteJar { name: name?, holds, takes, limits })
}

/// A limit, `Cu 1.5 mg/L`.
fn limit(fields: &Fields<'_>, text: &Spanned<String>) -> Option<(String, f64)> {
    let parts = text.value.trim().split_once(char::is_whitespace);
    let read = parts.and_then(|(name, amount)| {
        let formula = Formula::parse(name).ok()?;
        let value = Quantity::parse_as(amount, Dimension::DENSITY).ok()?.si().central();
        (value > 0.0 && value.is_finite()).then(|| (formula.to_string(), 1e3 * value))
    });
    if read.is_none() {
        let message = format!("`limit` of {}: `{}` is no limit", fields.what(), text.value);
        fields.findings().error("bad-quantity", &text.span, message, "write ion and concentration, `Cu 1.5 mg/L`");
    }
    read
}

pub(super) fn accept(fields: &Fields<'_>) -> Option<Accept> {
    let finding = fields.needed_text("finding", "\"gas-released\"");
    let step = fields.text("step");
    let reason = fields.needed_text("reason", "\"done outdoors, nobody near\"");
    fields.finish();
    Some(Accept { finding: finding?, step, reason: reason?.value })
}
