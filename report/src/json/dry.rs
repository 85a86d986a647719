//! A series of weighings as JSON.

use super::{findings, interval};
use prep::outcome::DryAnswer;
use serde_json::{Value, json};

/// `dry WEIGHING…`; masses in g, times in h.
#[must_use]
pub fn dry(answer: &DryAnswer) -> Value {
    let told = |wanted: &Option<prep::outcome::Interval>| wanted.as_ref().map_or(Value::Null, interval);
    let weighings: Vec<Value> =
        answer.weighings.iter().map(|(hours, grams)| json!({ "hours": hours, "grams": grams })).collect();
    let out: Vec<Value> = answer
        .out_of_line
        .iter()
        .map(|(index, expected, deviations)| {
            json!({ "weighing": index + 1, "expected_grams": expected, "standard_deviations": deviations })
        })
        .collect();
    let levels: Vec<Value> = answer
        .levels
        .iter()
        .map(|(name, grams, off)| json!({ "substance": name, "grams": grams, "standard_uncertainties": off }))
        .collect();
    json!({
        "weighings": weighings,
        "scatter_grams": answer.deviation,
        "tolerance": answer.tolerance,
        "verdict": answer.verdict,
        "final_mass": told(&answer.final_mass),
        "remaining": told(&answer.remaining),
        "next": told(&answer.next),
        "intervals": told(&answer.intervals),
        "within_tolerance": answer.within,
        "out_of_line": out,
        "levels": levels,
        "findings": findings(&answer.findings),
    })
}
