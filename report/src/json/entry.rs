//! Single readings as JSON: what was expected of one, the series it is, what its correction changed.

use super::{dry, interval, quantity};
use prep::outcome::{Change, ChangedLot, ChangedQuote, Entry, Slip, WeighedSeries};
use serde_json::{Value, json};

/// A reading beside what was expected of it; masses in g.
#[must_use]
pub fn entry(entry: &Entry) -> Value {
    json!({
        "reading": entry.reading,
        "expected": entry.expected.as_ref().map(interval),
        "found_grams": entry.found,
        "displayed": entry.displayed,
        "standard_deviations": entry.off,
        "verdict": entry.verdict.word(),
        "slips": entry.slips.iter().map(slip).collect::<Vec<_>>(),
    })
}

fn slip(slip: &Slip) -> Value {
    json!({ "slip": slip.slip, "figure": slip.figure, "grams": slip.grams, "standard_deviations": slip.off })
}

/// A lot that was weighed until its mass stayed: the answer of `dry` with where it stands.
pub(super) fn series(series: &WeighedSeries) -> Value {
    let mut told = json!({
        "reading": series.reading,
        "step": series.step,
        "lot": series.lot,
        "basis": series.basis,
    });
    if let (Some(told), Some(answer)) = (told.as_object_mut(), dry(&series.answer).as_object()) {
        // Its findings stand with all others, at their lines.
        told.extend(
            answer.iter().filter(|(key, _)| *key != "findings").map(|(key, value)| (key.clone(), value.clone())),
        );
    }
    told
}

/// What a correction changed.
pub(super) fn change(change: &Change) -> Value {
    json!({
        "reading": change.reading,
        "corrects": change.corrects,
        "from": change.from,
        "to": change.to,
        "reason": change.reason,
        "at": change.at,
        "lots": change.lots.iter().map(lot).collect::<Vec<_>>(),
        "overall": change.overall.as_ref().map(|(before, after)| {
            json!({ "before": interval(before), "after": interval(after) })
        }),
        "quoted": change.quoted.iter().map(quoted).collect::<Vec<_>>(),
    })
}

fn lot(lot: &ChangedLot) -> Value {
    json!({
        "lot": lot.lot,
        "element": lot.element,
        "before": interval(&lot.before),
        "after": interval(&lot.after),
    })
}

fn quoted(quoted: &ChangedQuote) -> Value {
    json!({
        "lot": quoted.lot,
        "as_formula": quoted.as_formula,
        "method": quoted.method,
        "before": quoted.before.as_ref().map(quantity),
        "after": quoted.after.as_ref().map(quantity),
    })
}
