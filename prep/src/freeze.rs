//! Was the plan changed after it was frozen?
//!
//! Planned is everything but readings, notes, suppositions, and what a supply costs and how much of it there was. The planned fields are listed as (path, value)
//! in the order of the file, comments and layout left out, and hashed with BLAKE3. A frozen plan keeps the
//! list, so that a later change is named and not just noticed.

use crate::model::Preparation;
use crate::outcome::{Finding, Severity};
use std::fmt::Write as _;
use std::path::{Path, PathBuf};
use toml_edit::{Item, TableLike, Value};

/// Keys that are no part of the plan.
const RECORDED: [&str; 3] = ["reading", "note", "suppose"];
/// Keys of a supply that are none.
const BOUGHT: [&str; 3] = ["pack", "price", "left"];

/// What is written beside the file when a plan is frozen.
#[derive(Clone, Debug, PartialEq)]
pub struct Record {
    /// Hash of the planned fields.
    pub hash: String,
    /// When it was frozen.
    pub frozen_at: String,
    /// The planned fields (path, value).
    pub fields: Vec<(String, String)>,
    /// Readings that were already there when it was frozen.
    pub readings: usize,
}

/// What a frozen plan says of the present file.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Frozen {
    /// Hash of the frozen plan.
    pub hash: Option<String>,
    /// Changes since.
    pub findings: Vec<Finding>,
}

/// Where the frozen plan of a file is kept: `NAME.plan.json` beside it.
#[must_use]
pub fn frozen_path(file: &Path) -> PathBuf {
    file.with_extension("plan.json")
}

/// Planned fields of a file in order.
pub(crate) fn planned_fields(root: &dyn TableLike) -> Vec<(String, String)> {
    let mut fields = Vec::new();
    walk_table(root, "", &mut fields);
    fields
}

fn walk_table(table: &dyn TableLike, path: &str, fields: &mut Vec<(String, String)>) {
    let bought = |key: &str| path.starts_with("supply[") && BOUGHT.contains(&key);
    for (key, item) in table.iter().filter(|(key, _)| !RECORDED.contains(key) && !bought(key)) {
        let path = if path.is_empty() { key.to_owned() } else { format!("{path}.{key}") };
        match item {
            Item::ArrayOfTables(array) => {
                for (i, table) in array.iter().enumerate() {
                    let name =
                        table.get("name").and_then(Item::as_str).map_or_else(|| (i + 1).to_string(), str::to_owned);
                    walk_table(table, &format!("{path}[{name}]"), fields);
                }
            }
            Item::Table(table) => walk_table(table, &path, fields),
            Item::Value(value) => walk_value(value, path, fields),
            Item::None => {}
        }
    }
}

fn walk_value(value: &Value, path: String, fields: &mut Vec<(String, String)>) {
    match value {
        Value::InlineTable(table) => walk_table(table, &path, fields),
        Value::Array(array) => {
            for (i, value) in array.iter().enumerate() {
                walk_value(value, format!("{path}[{}]", i + 1), fields);
            }
        }
        Value::String(text) => fields.push((path, text.value().clone())),
        Value::Integer(n) => fields.push((path, n.value().to_string())),
        Value::Float(x) => fields.push((path, x.value().to_string())),
        Value::Boolean(b) => fields.push((path, b.value().to_string())),
        Value::Datetime(at) => fields.push((path, at.value().to_string())),
    }
}

/// Hash of the planned fields, hexadecimal.
#[must_use]
pub fn planned_hash(preparation: &Preparation) -> String {
    hash_of(&preparation.planned)
}

fn hash_of(fields: &[(String, String)]) -> String {
    let mut hasher = blake3::Hasher::new();
    for (path, value) in fields {
        // Lengths keep neighbouring texts apart.
        hasher.update(&(path.len() as u64).to_le_bytes());
        hasher.update(path.as_bytes());
        hasher.update(&(value.len() as u64).to_le_bytes());
        hasher.update(value.as_bytes());
    }
    hasher.finalize().to_hex().to_string()
}

/// What to write when the plan is frozen at the time `at`.
#[must_use]
pub fn record(preparation: &Preparation, at: &str) -> Record {
    let readings = preparation.steps.iter().flat_map(|s| &s.readings).filter(|r| r.weigh.is_some()).count();
    Record { hash: planned_hash(preparation), frozen_at: at.to_owned(), fields: preparation.planned.clone(), readings }
}

/// Compares the present file with its frozen plan.
#[must_use]
pub fn compare(preparation: &Preparation, frozen: &Record) -> Frozen {
    let mut findings = Vec::new();
    if hash_of(&frozen.fields) != frozen.hash {
        findings.push(finding(
            "plan-damaged",
            "the frozen plan does not match its own hash: it was altered after it was written".to_owned(),
            "restore it from a backup; do not freeze anew over a finished run",
        ));
    }
    if frozen.readings > 0 {
        findings.push(finding(
            "plan-frozen-late",
            format!(
                "the plan was frozen on {} with {} readings already taken: its expectations are no predictions for them",
                frozen.frozen_at, frozen.readings
            ),
            "freeze the plan before the first weighing; say in the report that it was not",
        ));
    }
    if planned_hash(preparation) != frozen.hash {
        let message =
            format!("the plan was changed after it was frozen on {}{}", frozen.frozen_at, changes(preparation, frozen));
        let hint = "record what was done as readings (`charge = \"…\"`) or notes; the plan stays as it was frozen";
        findings.push(finding("plan-changed", message, hint));
    }
    Frozen { hash: Some(frozen.hash.clone()), findings }
}

/// Names the first few fields that differ.
fn changes(preparation: &Preparation, frozen: &Record) -> String {
    let mut text = String::new();
    let mut count = 0;
    let value_of =
        |fields: &[(String, String)], path: &str| fields.iter().find(|(p, _)| p == path).map(|(_, v)| v.clone());
    let paths = frozen
        .fields
        .iter()
        .map(|(p, _)| p)
        .chain(preparation.planned.iter().map(|(p, _)| p).filter(|p| value_of(&frozen.fields, p).is_none()));
    for path in paths {
        let (was, is) = (value_of(&frozen.fields, path), value_of(&preparation.planned, path));
        if was != is {
            count += 1;
            if count <= 3 {
                let show = |v: Option<String>| v.map_or_else(|| "nothing".to_owned(), |v| format!("\"{v}\""));
                let _ = write!(text, "; `{path}` was {}, is {}", show(was), show(is));
            }
        }
    }
    if count > 3 {
        let _ = write!(text, "; and {} more", count - 3);
    }
    text
}

fn finding(code: &'static str, message: String, hint: &str) -> Finding {
    Finding {
        code,
        severity: Severity::Warning,
        message,
        line: 0,
        column: 0,
        span: None,
        hints: vec![hint.to_owned()],
        causes: Vec::new(),
    }
}
