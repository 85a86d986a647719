//! Titres as JSON.

use super::{findings, quantity};
use prep::outcome::{Figure, TitrateAnswer};
use serde_json::{Map, Value, json};

/// `titrate VOLUME…`.
#[must_use]
pub fn titrate(answer: &TitrateAnswer) -> Value {
    let told = |figure: Option<&Figure>| figure.map_or(Value::Null, quantity);
    let shares: Map<String, Value> = answer.shares.iter().map(|(name, share)| (name.clone(), json!(share))).collect();
    json!({
        "titre": quantity(&answer.titre),
        "scatter_ml": answer.scatter,
        "strength": quantity(&answer.strength),
        "amount": told(answer.amount.as_ref()),
        "of": answer.mass.as_ref().map(|(name, _)| name),
        "mass": told(answer.mass.as_ref().map(|(_, mass)| mass)),
        "mass_fraction": told(answer.fraction.as_ref()),
        "shares": shares,
        "weigh_next_grams": answer.weigh_next,
        "findings": findings(&answer.findings),
    })
}
