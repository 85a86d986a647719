//! Waste as JSON.

use prep::outcome::{WasteStream, WasteTreatment};
use serde_json::{Value, json};

/// `waste` of a plan; concentrations in mg/L of water.
#[must_use]
pub fn waste(streams: &[WasteStream]) -> Vec<Value> {
    streams.iter().map(stream).collect()
}

fn stream(stream: &WasteStream) -> Value {
    json!({
        "name": stream.name,
        "lots": stream.lots,
        "litres": stream.volume,
        "ph": stream.ph,
        "within_model": stream.within,
        "contents": contents(&stream.contents),
        "treatment": stream.treatment.as_ref().map(treatment),
        "label": stream.label,
        "never_combine": stream.never.iter().map(|(class, reason)| json!({ "with": class, "reason": reason }))
            .collect::<Vec<_>>(),
        "not_in_tables": stream.unknown,
        "status": "derived",
    })
}

fn contents(list: &[(String, f64, Option<f64>)]) -> Vec<Value> {
    list.iter()
        .map(|(ion, amount, limit)| json!({ "ion": ion, "milligrams_per_litre": amount, "own_limit": limit }))
        .collect()
}

fn treatment(treatment: &WasteTreatment) -> Value {
    json!({
        "reagent": treatment.reagent,
        "grams": treatment.grams,
        "grams_at_most": treatment.grams_at_most,
        "to_ph": treatment.to_ph,
        "settles": treatment.solids.iter().map(|(solid, grams)| json!({ "solid": solid, "grams": grams }))
            .collect::<Vec<_>>(),
        "carbon_dioxide_litres": treatment.gas,
        "heat_at_most_kilojoules": treatment.heat,
        "left": contents(&treatment.left),
    })
}
