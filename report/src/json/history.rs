//! Own history as JSON.

use super::findings;
use prep::outcome::HistoryAnswer;
use serde_json::{Value, json};

/// `history DIR…`.
#[must_use]
pub fn history(answer: &HistoryAnswer) -> Value {
    let losses: Vec<Value> = answer
        .losses
        .iter()
        .map(|own| {
            let (unit, factor) = own.what.unit();
            let range = |(low, high): (f64, f64), median: f64| {
                json!({
                    "median": factor * median, "low": factor * low, "high": factor * high, "level": 0.9, "unit": unit,
                })
            };
            json!({
                "action": own.action.word(),
                "by": own.by,
                "loss": own.what.words(),
                "default": range(own.default, own.medians.0),
                "learned": range(own.learned, own.medians.1),
                "runs": own.runs,
                "telling_runs": own.telling,
            })
        })
        .collect();
    json!({
        "closed": answer.closed,
        "open": answer.open,
        "losses": losses,
        "findings": findings(&answer.findings),
    })
}
