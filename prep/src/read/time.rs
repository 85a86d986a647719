//! How long a step takes, and how much of that needs hands.

use super::knowledge;
use crate::model::{Attended, Knowledge, Time};
use crate::syntax::Fields;
use chem::Dimension;

pub(super) fn time(fields: &Fields<'_>) -> Option<Time> {
    let stated = fields.item("duration").is_some();
    let text = fields.item("duration").and_then(toml_edit::Item::as_str).unwrap_or_default().trim().to_owned();
    let duration = seconds(fields, "duration");
    let word = fields.item("attended").and_then(toml_edit::Item::as_str).map(str::trim);
    let attended = match word {
        Some("all") => Some(Attended::All),
        Some("none") => Some(Attended::For(Knowledge::Exact(0.0))),
        Some(word) if word.starts_with(char::is_alphabetic) => {
            let span = fields.item("attended").map_or_else(|| fields.span.clone(), |item| fields.span_of(item));
            let message = format!("`attended` of {}: `{word}` is not understood", fields.what());
            let hint = "write `all`, `none` or how long hands are needed, `20 min`";
            fields.findings().error("unknown-word", &span, message, hint);
            None
        }
        Some(_) => seconds(fields, "attended").map(Attended::For),
        None => fields.quantity("attended", Dimension::TIME).map(|_| Attended::All),
    };
    let span = fields.item("attended").map(|item| fields.span_of(item));
    if let Some(span) = &span
        && !stated
    {
        let message = format!("{} says how long it is attended, but not how long it lasts", fields.what());
        let hint = "add `duration = \"2 h\"`; without it the step is left out of the time";
        fields.findings().error("attended-without-duration", span, message, hint);
    }
    let duration = duration?;
    let attended = attended.unwrap_or_default();
    if let (Attended::For(hands), Some(span)) = (attended, &span)
        && hands.central() > most(duration) * (1.0 + 1e-9)
    {
        let message = format!("{} is attended for longer than it lasts", fields.what());
        let hint = "`attended` is a part of `duration`; write `attended = \"all\"` for all of it";
        fields.findings().error("attended-too-long", span, message, hint);
    }
    Some(Time { duration, attended, text })
}

fn seconds(fields: &Fields<'_>, key: &'static str) -> Option<Knowledge> {
    let quantity = fields.quantity(key, Dimension::TIME)?;
    knowledge(fields, key, &quantity.value, &quantity.span, f64::INFINITY)
}

/// The longest that is stated.
fn most(known: Knowledge) -> f64 {
    match known {
        Knowledge::Between { high, .. } => high,
        other => other.central(),
    }
}
