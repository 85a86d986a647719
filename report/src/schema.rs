//! What may an editor complain of while a preparation file is typed?
//!
//! A JSON Schema (draft 2020-12) of the file, made from the field lists that the readers are held to
//! ([`prep::fields`]). It knows keys, kinds of values, words and the rough form of quantities and formulas. It is no
//! judge: that names exist, reactions balance and units fit is for `tarebook check`. Words and formulas are wanted in
//! the spelling of a tidy file.

use prep::fields::{self, Field, Kind, PART_WORDS, TABLES, Table};
use serde_json::{Map, Value, json};

/// A number as quantities begin with it, perhaps with sign or limit.
const NUMBER: &str = r"\s*(>=|=>|≥|⩾|>|<=|=<|≤|⩽|<)?\s*[-+−]?\s*[.,]?[0-9]";
/// A formula with its phase at the end.
const SPECIES: &str = r"^\s*\S.*\((s|l|g|aq)\)\s*$";

/// The schema of a preparation file.
#[must_use]
pub fn preparation() -> Value {
    let [file, rest @ ..] = TABLES;
    let mut schema = table(file);
    let tables: Map<String, Value> = rest.iter().map(|inner| (inner.key.to_owned(), table(inner))).collect();
    if let Some(root) = schema.as_object_mut() {
        root.insert("$defs".to_owned(), Value::Object(tables));
    }
    let mut whole = Map::new();
    whole.insert("$schema".to_owned(), json!("https://json-schema.org/draft/2020-12/schema"));
    whole.insert("title".to_owned(), json!("Preparation file of Tarebook"));
    whole.extend(schema.as_object().cloned().unwrap_or_default());
    Value::Object(whole)
}

fn table(table: &Table) -> Value {
    let properties: Map<String, Value> =
        table.fields.iter().map(|field| (field.key.to_owned(), described(field))).collect();
    let always = table.fields.iter().filter(|field| field.needed && field.instead.is_empty());
    let needed: Vec<&str> = always.map(|field| field.key).collect();
    let mut schema = json!({
        "description": table.about,
        "type": "object",
        "properties": properties,
        "required": needed,
        "additionalProperties": false,
    });
    let choices: Vec<Value> = table.fields.iter().filter(|field| !field.instead.is_empty()).map(one_of).collect();
    if let Some(whole) = schema.as_object_mut().filter(|_| !choices.is_empty()) {
        whole.insert("allOf".to_owned(), json!(choices));
    }
    if table.key == fields::SUPPLY.key
        && let Some(supply) = schema.as_object_mut()
    {
        // The content of a supply is stated once.
        let own = ["holds", "assay", "strength", "content", "hardness", "took_up"];
        let pairs = [["assay", "strength"], ["assay", "content"], ["strength", "content"]];
        let pairs = pairs.into_iter().chain(own.map(|key| ["from", key]));
        let twice: Vec<Value> = pairs.map(|pair| json!({ "required": pair })).collect();
        supply.insert("not".to_owned(), json!({ "anyOf": twice }));
    }
    schema
}

/// That a field is there, or one that may stand in its place.
fn one_of(field: &Field) -> Value {
    let keys = std::iter::once(field.key).chain(field.instead.iter().copied());
    let choices: Vec<Value> = keys.map(|key| json!({ "required": [key] })).collect();
    json!({ "anyOf": choices })
}

/// A field with what it says, and an example where that is one text.
fn described(field: &Field) -> Value {
    let mut schema = Map::new();
    schema.insert("description".to_owned(), json!(field.about));
    let text = field.example.strip_prefix('"').and_then(|rest| rest.strip_suffix('"'));
    schema.extend(text.map(|text| ("examples".to_owned(), json!([text]))));
    schema.extend(value(field).as_object().cloned().unwrap_or_default());
    Value::Object(schema)
}

fn value(field: &Field) -> Value {
    match field.kind {
        Kind::Text if field.needed => json!({ "type": "string", "pattern": r"\S" }),
        Kind::Text | Kind::Time => json!({ "type": "string" }),
        Kind::Texts => one_or_more(&json!({ "type": "string" })),
        Kind::Word(words) => json!({ "enum": words() }),
        Kind::Elements => one_or_more(&text(r"^\s*[A-Z][a-z]?\s*$")),
        Kind::Quantity(_) | Kind::Strength | Kind::Charge | Kind::Amount | Kind::Hardness => {
            text(&format!("^{NUMBER}"))
        }
        Kind::Quantities(_) => one_or_more(&text(&format!("^{NUMBER}"))),
        Kind::QuantityOrWord(_, words) => text(&format!(r"^({NUMBER}|\s*({})\s*$)", words.join("|"))),
        // The currency may stand before the figure.
        Kind::Price => text("[0-9]"),
        Kind::Portions => text(r"^\s*[0-9]+\s*[x×]\s*[0-9.,]"),
        Kind::Species => text(SPECIES),
        Kind::SpeciesList => one_or_more(&text(SPECIES)),
        Kind::Patterns => one_or_more(&text(r"^\s*(equilibrium|\S.*\((s|l|g|aq)\)\s*(,.*)?)$")),
        Kind::Reactions => one_or_more(&text("=|->|→|⟶|⇌|↔|⇄")),
        Kind::Amounts => names(&text(&format!(r"^({NUMBER}|\s*all\s*$)"))),
        Kind::Parts => names(&text(&format!(r"^({NUMBER}|\s*({})\s*$)", PART_WORDS.join("|")))),
        Kind::Foreign => json!({
            "type": "object",
            "propertyNames": { "enum": fields::foreign_kinds() },
            "additionalProperties": text(&format!("^{NUMBER}")),
        }),
        Kind::Traces => json!({
            "type": "object",
            "propertyNames": { "pattern": SPECIES },
            "additionalProperties": text(r"^\s*(<=|=<|≤|⩽|<)"),
        }),
        Kind::Shares => json!({
            "type": "object",
            "propertyNames": { "pattern": SPECIES },
            "additionalProperties": text(&format!("^{NUMBER}")),
        }),
        Kind::Inline(table) => json!({ "$ref": format!("#/$defs/{}", table.key) }),
        Kind::Tables(table) => {
            json!({ "type": "array", "items": { "$ref": format!("#/$defs/{}", table.key) } })
        }
    }
}

fn text(pattern: &str) -> Value {
    json!({ "type": "string", "pattern": pattern })
}

fn one_or_more(one: &Value) -> Value {
    json!({ "anyOf": [one, { "type": "array", "items": one }] })
}

/// A table of names with a text each, and at least one of them.
fn names(value: &Value) -> Value {
    json!({ "type": "object", "minProperties": 1, "additionalProperties": value })
}
