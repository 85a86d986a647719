//! All that is known of a substance, as JSON.

use super::{hazards, quantity};
use prep::outcome::SubstanceAnswer;
use serde_json::{Map, Value, json};

/// `substance X` of the contract.
#[must_use]
pub fn substance(answer: &SubstanceAnswer) -> Value {
    let properties: Map<String, Value> = answer
        .properties
        .iter()
        .map(|(name, figures)| ((*name).to_owned(), figures.iter().map(quantity).collect()))
        .collect();
    let forms: Vec<Value> = answer
        .forms
        .iter()
        .map(|f| json!({ "form": f.form, "low": f.low_k, "high": f.high_k, "over_temperature": f.over_temperature }))
        .collect();
    json!({
        "formula": answer.formula,
        "names": answer.names,
        "cas": answer.cas,
        "uses": answer.uses,
        "properties": properties,
        "forms": forms,
        "remarks": answer.remarks,
        "hazards": answer.hazards.as_ref().map_or_else(Vec::new, hazards),
        "signal_word": answer.hazards.as_ref().and_then(|h| h.signal),
        "findings": super::findings(&answer.findings),
    })
}
