//! Runs side by side as JSON.

use super::{findings, interval, quantity};
use prep::outcome::Replicates;
use serde_json::{Value, json};

/// `replicates FILE FILE…`.
#[must_use]
pub fn replicates(replicates: &Replicates) -> Value {
    let quantities: Vec<Value> = replicates
        .quantities
        .iter()
        .map(|q| {
            json!({
                "name": q.name,
                "runs": q.runs.iter().map(interval).collect::<Vec<_>>(),
                "together": quantity(&q.mean),
                "between_runs_percent": q.between_runs,
                "shared_percent": q.shared,
                "chi_squared": q.chi_squared,
                "probability": q.probability,
                "agree": q.agree,
                "next_run": quantity(&q.next_run),
            })
        })
        .collect();
    let runs: Vec<Value> =
        replicates.runs.iter().map(|(file, title)| json!({ "file": file, "title": title })).collect();
    json!({
        "element": replicates.element,
        "runs": runs,
        "quantities": quantities,
        "shared": replicates.shared,
        "findings": findings(&replicates.findings),
    })
}
