//! From a preparation to its plan and its account: one ledger, two readings.
//!
//! [`plan`] runs the ledger on what is known beforehand, [`account`] on what was weighed. The live view and
//! the printed account differ only in how draws are made: weighted about the best fit, or by the sampler.

mod account;
mod alternatives;
mod books;
mod budget;
mod causes;
mod changes;
mod claim;
mod compile;
mod cost;
mod direct;
mod drawn;
mod draws;
mod entry;
mod explain;
mod fell_out;
mod findings;
mod fits;
mod held;
pub mod history;
mod hypotheses;
#[cfg(test)]
pub(crate) mod laws;
mod looks;
mod next;
mod origin;
mod plan;
mod predict;
mod replicates;
mod roles;
mod series;
mod simulate;
mod spent;
mod stock;
mod table;
mod timeline;
mod vessels;

pub use account::{AccountSettings, account, live_account, live_account_after, live_account_with};
pub use claim::check_claim;
pub use entry::{entry, readings_in_question};
pub use explain::{Mishap, mishaps};
pub use fits::Fits;
pub use next::{next, next_after};
pub use origin::Brought;
pub(crate) use origin::brought;
pub use plan::{plan, plan_again};
pub use replicates::replicates;
pub use simulate::{Truth, simulate};

use crate::model::Preparation;
use crate::outcome::{Finding, Interval};
use crate::syntax::Places;
use engine::account::summary::{LEVEL, spread};
use engine::ledger::{Value, Workspace};

/// Sets line and column of findings that point into the file.
fn placed(preparation: &Preparation, mut findings: Vec<Finding>) -> Vec<Finding> {
    let places = Places::new(&preparation.text);
    findings.iter_mut().for_each(|finding| places.place(finding));
    findings
}

/// A value of a ledger in the run at hand.
fn resolve(value: Value, room: &Workspace<f64>) -> f64 {
    match value {
        Value::Constant(x) => x,
        Value::Unknown(i) => room.unknowns().get(i).copied().unwrap_or(f64::NAN),
    }
}

/// Interval of weighted draws.
fn interval(values: &[f64], weights: &[f64], unit: &'static str, basis: Option<&str>) -> Interval {
    let s = spread(values, weights);
    Interval {
        median: s.median,
        mean: s.mean,
        standard_uncertainty: s.standard_uncertainty,
        low: s.low,
        high: s.high,
        level: LEVEL,
        lower_quartile: s.lower_quartile,
        upper_quartile: s.upper_quartile,
        unit,
        basis: basis.map(str::to_owned),
    }
}
