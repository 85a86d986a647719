//! The record of a file in JSON.

use prep::outcome::{RecordedReading, RecordedStep, RecordedSupply, RunRecord};
use serde_json::{Value, json};

/// The record of a preparation.
#[must_use]
pub fn record(record: &RunRecord) -> Value {
    json!({
        "title": record.title,
        "target": record.target,
        "target_mass": record.target_mass,
        "claim": record.claim,
        "account_for": record.elements,
        "supplies": record.supplies.iter().map(supply).collect::<Vec<_>>(),
        "balances": record.balances.iter().map(|balance| json!({
            "name": balance.name,
            "resolution": balance.resolution,
            "repeatability": balance.repeatability,
            "slope": balance.slope,
            "capacity": balance.capacity,
            "unit": "g",
            "sources": balance.sources,
        })).collect::<Vec<_>>(),
        "ware": record.ware.iter().map(|ware| json!({
            "name": ware.name,
            "kind": ware.kind,
            "capacity": ware.capacity,
            "largest_error": ware.error,
            "unit": "mL",
            "source": ware.source,
        })).collect::<Vec<_>>(),
        "vessels": record.vessels.iter().map(|(name, tare)| json!({ "name": name, "tare": tare, "unit": "g" })).collect::<Vec<_>>(),
        "steps": record.steps.iter().map(step).collect::<Vec<_>>(),
        "readings": record.readings.iter().map(reading).collect::<Vec<_>>(),
        "waste": record.waste.iter().map(|(jar, lots)| json!({ "jar": jar, "takes": lots })).collect::<Vec<_>>(),
        "closed": record.closed,
        "author": record.author,
        "run": record.run,
        "purpose": record.purpose,
        "afterwards": record.afterwards,
        "plan_hash": record.plan_hash,
        "text_hash": record.text_hash,
        "sources": record.sources,
    })
}

fn supply(supply: &RecordedSupply) -> Value {
    json!({
        "name": supply.name,
        "label": supply.label,
        "holds": supply.holds,
        "stated": supply.stated.iter().map(|(field, value)| json!({ "field": field, "value": value })).collect::<Vec<_>>(),
        "origin": supply.origin.as_ref().map(|(file, lot)| json!({ "file": file, "lot": lot })),
        "charges": supply.charges.iter().map(|(step, amount)| json!({ "step": step, "amount": amount })).collect::<Vec<_>>(),
    })
}

fn step(step: &RecordedStep) -> Value {
    json!({
        "name": step.name,
        "action": step.action,
        "test": step.test,
        "takes": step.takes.iter().map(|(source, amount)| json!({ "source": source, "amount": amount })).collect::<Vec<_>>(),
        "equations": step.equations,
        "temperature": step.temperature,
        "atmosphere": step.atmosphere,
        "duration": step.duration,
        "vessel": step.vessel,
        "wash": step.wash,
        "by": step.by,
        "may_hold": step.may_hold,
        "gives": step.gives,
        "note": step.note,
    })
}

fn reading(reading: &RecordedReading) -> Value {
    json!({
        "id": reading.id,
        "step": reading.step,
        "what": reading.what,
        "vessel": reading.vessel,
        "with": reading.with,
        "figure": reading.figure,
        "standard_uncertainty": reading.uncertainty,
        "series": reading.series.iter().map(|(figure, hours)| json!({ "figure": figure, "hours": hours })).collect::<Vec<_>>(),
        "at": reading.at,
        "corrects": reading.corrects,
        "corrected_by": reading.corrected_by,
        "reason": reading.reason,
        "test": reading.test,
    })
}
