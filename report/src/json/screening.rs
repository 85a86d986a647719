//! What the screen for hazards says, as JSON.

use prep::outcome::{CautionText, HoldPoint, Screening, SubstanceHazard};
use serde_json::{Value, json};

/// The screen of a plan.
pub(super) fn screening(screening: &Screening) -> Value {
    let steps: Vec<Value> = screening
        .steps
        .iter()
        .map(|step| {
            json!({
                "name": step.step,
                "cautions": step.cautions.iter().map(caution).collect::<Vec<_>>(),
                "holds": step.holds.iter().map(hold).collect::<Vec<_>>(),
                "substances": step.substances.iter().map(substance).collect::<Vec<_>>(),
            })
        })
        .collect();
    let accepted = |a: &prep::outcome::Accepted| json!({ "finding": a.finding, "step": a.step, "reason": a.reason });
    json!({
        "room": { "value": screening.room, "unit": "m3", "stated": screening.room_stated },
        "gravest": screening.gravest,
        "withheld": screening.withheld,
        "accepted": screening.accepted.iter().map(accepted).collect::<Vec<_>>(),
        "steps": steps,
        "standing": prep::screen::STANDING,
    })
}

fn caution(text: &CautionText) -> Value {
    json!({
        "code": text.code,
        "signal": text.signal,
        "what": text.what,
        "statements": text.statements,
        "first_sign": text.first_sign,
        "go_on": text.go_on,
        "control": text.control,
        "wear": text.wear,
        "emergency": text.emergency,
        "waste": text.waste,
        "basis": text.basis,
    })
}

fn hold(hold: &HoldPoint) -> Value {
    json!({ "condition": hold.condition, "proof": hold.proof, "otherwise": hold.otherwise })
}

/// The hazards of a substance: code, phrase, source.
pub(super) fn substance(hazard: &SubstanceHazard) -> Value {
    json!({
        "substance": hazard.substance,
        "name": hazard.name,
        "signal": hazard.signal,
        "hazards": hazards(hazard),
        "pictograms": hazard.pictograms,
        "comment": hazard.comment,
        "remarks": hazard.remarks,
    })
}

/// `hazards` of the contract of `substance`.
#[must_use]
pub fn hazards(hazard: &SubstanceHazard) -> Vec<Value> {
    let source = hazard.sources.join("; ");
    hazard.statements.iter().map(|(code, phrase)| json!({ "code": code, "phrase": phrase, "source": source })).collect()
}
