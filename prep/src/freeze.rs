//! Was the plan changed after it was frozen?
//!
//! Planned is everything but readings, notes, suppositions, and what a supply costs and how much of it there was. The
//! planned fields are listed as (path, value) in one order and spelling, comments and layout left out, and hashed
//! with BLAKE3. A frozen plan keeps the list, so that a later change is named and not just noticed.

use crate::fields::{FILE, Field, Kind, Table};
use crate::model::Preparation;
use crate::outcome::{Finding, Severity};
use crate::spelling::{spelled, spelled_field, spelled_key};
use std::fmt::Write as _;
use std::path::{Path, PathBuf};
use toml_edit::{Item, TableLike, Value};

/// Keys that are no part of the plan.
const RECORDED: [&str; 13] = [
    "reading",
    "test",
    "note",
    "suppose",
    "claim",
    "closed",
    "room",
    "waste",
    "accept",
    "author",
    "run",
    "purpose",
    "afterwards",
];
/// Keys of a supply that are none.
const BOUGHT: [&str; 4] = ["pack", "price", "left", "opened"];

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
    stated_fields(root, |table, key| !RECORDED.contains(&key) && (table != "supply" || !BOUGHT.contains(&key)))
}

/// What a forecast hangs on, besides which readings are planned: all fields but readings, the results of tests, and what
/// is said of the preparation as a whole.
pub(crate) fn foreseen(root: &dyn TableLike) -> String {
    hash_of(&stated_fields(root, |table, key| match table {
        "" => !matches!(key, "claim" | "closed" | "suppose"),
        "step" => key != "reading",
        "test" => !matches!(key, "found" | "at" | "reason" | "note"),
        _ => true,
    }))
}

/// All fields of a file in order, as far as `keep` wants the keys of each kind of table; one spelling for each meaning.
pub(crate) fn stated_fields(root: &dyn TableLike, keep: Keep) -> Vec<(String, String)> {
    let mut fields = Vec::new();
    walk_table(root, Some(&FILE), "", keep, &mut fields);
    fields
}

/// Whether a key of a kind of table is wanted.
type Keep = fn(&str, &str) -> bool;

fn walk_table(table: &dyn TableLike, of: Option<&Table>, path: &str, keep: Keep, fields: &mut Vec<(String, String)>) {
    let mut keys: Vec<(&str, &Item)> = table.iter().filter(|(key, _)| keep(of.map_or("", |of| of.key), key)).collect();
    if let Some(of) = of {
        // The order of the tables of a file means nothing, that of the tables of one kind does.
        keys.sort_by_key(|(key, _)| {
            let place = of.fields.iter().position(|field| field.key == *key);
            place.filter(|i| of.key.is_empty() || matches!(of.fields[*i].kind, Kind::Tables(_)))
        });
    }
    for (key, item) in keys {
        let field = of.and_then(|table| table.field(key));
        let inner = of.and_then(|table| table.inner(key));
        let path = if path.is_empty() { key.to_owned() } else { format!("{path}.{key}") };
        match (item, field) {
            (Item::ArrayOfTables(array), _) => walk_tables(array.iter().map(|t| t as _), inner, &path, keep, fields),
            (Item::Value(Value::Array(array)), Some(Field { kind: Kind::Tables(_), .. })) => {
                let tables = array.iter().filter_map(|value| value.as_inline_table().map(|t| t as _));
                walk_tables(tables, inner, &path, keep, fields);
            }
            (Item::Table(_) | Item::Value(Value::InlineTable(_)), Some(field)) if inner.is_none() => {
                let Some(table) = item.as_table_like() else { continue };
                for (name, item) in table.iter() {
                    let text =
                        item.as_str().map_or_else(|| item.to_string(), |text| spelled(field.kind, text).into_owned());
                    fields.push((format!("{path}.{}", spelled_key(field.kind, name)), text));
                }
            }
            (Item::Table(table), _) => walk_table(table, inner, &path, keep, fields),
            (Item::Value(value), _) => walk_value(value, field, inner, path, keep, fields),
            (Item::None, _) => {}
        }
    }
}

/// The tables of one kind, each under its name.
fn walk_tables<'a>(
    tables: impl Iterator<Item = &'a dyn TableLike>,
    of: Option<&Table>,
    path: &str,
    keep: Keep,
    fields: &mut Vec<(String, String)>,
) {
    for (i, table) in tables.enumerate() {
        let name = table.get("name").and_then(Item::as_str).map_or_else(|| (i + 1).to_string(), str::to_owned);
        walk_table(table, of, &format!("{path}[{name}]"), keep, fields);
    }
}

fn walk_value(
    value: &Value,
    field: Option<&Field>,
    of: Option<&Table>,
    path: String,
    keep: Keep,
    fields: &mut Vec<(String, String)>,
) {
    match value {
        Value::InlineTable(table) => walk_table(table, of, &path, keep, fields),
        Value::Array(array) => {
            for (i, value) in array.iter().enumerate() {
                walk_value(value, field, of, format!("{path}[{}]", i + 1), keep, fields);
            }
        }
        Value::String(text) => fields.push((path, spelled_field(field, text.value()).into_owned())),
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
