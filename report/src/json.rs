//! What does another program read?
//!
//! The JSON contract: fields may be added, none is ever renamed. Keys whose work is not built yet are present and
//! null, so that a reader can tell "not yet" from "none". Keys stand in the order written here. A number that is not
//! finite becomes null; JSON has no other honest way to say it.

mod account;
mod crystals;
mod dry;
mod entry;
mod equilibrium;
mod evidence;
mod history;
mod hot;
mod plan;
mod question;
mod record;
mod replicates;
mod resources;
mod screening;
mod solution;
mod solution_figures;
mod step_solution;
mod substance;
mod titrate;
mod waste;

pub use account::account;
pub use crystals::{crystallise, wash};
pub use dry::dry;
pub use entry::entry;
pub use equilibrium::{equilibrium, furnace, ignite};
pub use evidence::next;
pub use history::history;
pub use hot::{gas, heat};
pub use plan::plan;
pub use question::{formula, label, reaction};
pub use record::record;
pub use replicates::replicates;
pub use screening::hazards;
pub use solution::solution;
pub use substance::substance;
pub use titrate::titrate;

use prep::outcome::{Cause, Figure, Finding, Interval};
use serde_json::{Map, Value, json};

/// A single figure: `quantity` of the contract.
#[must_use]
pub fn quantity(figure: &Figure) -> Value {
    json!({
        "value": figure.value,
        "standard_uncertainty": figure.standard_uncertainty,
        "unit": figure.unit,
        "basis": figure.basis,
        "status": figure.status.word(),
        "sources": figure.sources,
    })
}

/// A distribution: `interval` of the contract.
#[must_use]
pub fn interval(interval: &Interval) -> Value {
    json!({
        "median": interval.median,
        "mean": interval.mean,
        "standard_uncertainty": interval.standard_uncertainty,
        "low": interval.low,
        "high": interval.high,
        "level": interval.level,
        "lower_quartile": interval.lower_quartile,
        "upper_quartile": interval.upper_quartile,
        "unit": interval.unit,
        "basis": interval.basis,
    })
}

/// A finding of the contract.
#[must_use]
pub fn finding(finding: &Finding) -> Value {
    json!({
        "code": finding.code,
        "severity": finding.severity.word(),
        "message": finding.message,
        "line": finding.line,
        "column": finding.column,
        "span": finding.span.as_ref().map(|span| json!([span.start, span.end])),
        "hints": finding.hints,
        "causes": finding.causes.iter().map(cause).collect::<Vec<_>>(),
    })
}

/// The answer of `check`, and of any command that fails: `{"findings": [...]}`.
#[must_use]
pub fn check(findings: &[Finding]) -> Value {
    json!({ "findings": self::findings(findings) })
}

fn findings(findings: &[Finding]) -> Vec<Value> {
    findings.iter().map(finding).collect()
}

fn cause(cause: &Cause) -> Value {
    let predicts: Map<String, Value> =
        cause.predicts.iter().map(|(test, figure)| ((*test).to_owned(), quantity(figure))).collect();
    json!({
        "cause": cause.cause,
        "needs": cause.needs.as_ref().map(interval),
        "probability": cause.probability,
        "predicts": predicts,
    })
}

/// An object of intervals by name, in the order given.
fn by_name(pairs: &[(String, Interval)]) -> Value {
    Value::Object(pairs.iter().map(|(name, value)| (name.clone(), interval(value))).collect())
}

/// An object of numbers by name, in the order given.
fn numbers_by_name(pairs: &[(String, f64)]) -> Value {
    Value::Object(pairs.iter().map(|(name, value)| (name.clone(), json!(value))).collect::<Map<_, _>>())
}
