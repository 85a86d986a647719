//! The answers to single questions as JSON.

use super::substance::heat;
use super::{findings, numbers_by_name, quantity};
use prep::outcome::{FormulaAnswer, LabelAnswer, OxidationAnswer, ReactionAnswer};
use serde_json::{Map, Value, json};

/// `formula X` of the contract.
#[must_use]
pub fn formula(answer: &FormulaAnswer) -> Value {
    let elements: Map<String, Value> = answer
        .elements
        .iter()
        .map(|(symbol, count, mass_fraction)| {
            (symbol.clone(), json!({ "count": count, "mass_fraction": mass_fraction }))
        })
        .collect();
    json!({
        "formula": answer.formula,
        "molar_mass": quantity(&answer.molar_mass),
        "charge": answer.charge,
        "elements": elements,
        "water_fraction": answer.water_fraction,
        "oxidation_states": answer.oxidation_states.iter().map(oxidation).collect::<Vec<_>>(),
        "no_oxidation_states": answer.no_oxidation_states,
    })
}

fn oxidation(state: &OxidationAnswer) -> Value {
    json!({
        "element": state.element,
        "count": state.count,
        "state": state.state,
        "mean": state.is_mean,
        "split": state.split.map(|(lower, upper, share)| json!({ "lower": lower, "upper": upper, "upper_share": share })),
        "rule": state.rule,
        "text": state.text,
    })
}

/// `reaction "…"` of the contract. Where heat and equilibrium are not known, their keys are null.
#[must_use]
pub fn reaction(answer: &ReactionAnswer) -> Value {
    let basis: Vec<Value> = answer.basis_reactions.iter().map(|pairs| numbers_by_name(pairs)).collect();
    let freedom = answer.freedom.as_ref();
    let extremes: Vec<Value> =
        freedom.iter().flat_map(|f| &f.extreme_reactions).map(|pairs| numbers_by_name(pairs)).collect();
    let missing: Vec<Value> =
        answer.closures.iter().map(|c| json!({ "left": c.left, "right": c.right, "equation": c.equation })).collect();
    let mut told = json!({
        "equation": answer.equation,
        "solutions": answer.solutions,
        "coefficients": answer.coefficients.as_deref().map(numbers_by_name),
        "basis_reactions": basis,
        "missing": missing,
        "extreme_reactions": extremes,
        "extreme_equations": freedom.map_or(&[][..], |f| &f.extreme_equations),
        "deciding": freedom.map_or(&[][..], |f| &f.deciding),
        "would_decide": freedom.map(|f| &f.would_decide),
    });
    if let Some(fields) = told.as_object_mut() {
        fields.extend(heat(answer.heat.as_ref()).into_iter().map(|(key, value)| (key.to_owned(), value)));
        fields.insert("findings".to_owned(), findings(&answer.findings).into());
    }
    told
}

/// What a label may mean; readings best first.
#[must_use]
pub fn label(answer: &LabelAnswer) -> Value {
    let readings: Vec<Value> = answer
        .readings
        .iter()
        .map(|r| {
            json!({
                "substance": r.substance,
                "explains_within_percent": r.explains_within_percent,
                "plausible": r.plausible,
                "names": r.names,
                "basis": r.basis,
                "implied_purity_percent": r.implied_purity_percent,
                "misreading_factor": r.misreading_factor,
                "refuted_by": r.refuted_by,
            })
        })
        .collect();
    let contents: Vec<Value> = answer
        .contents
        .iter()
        .map(|c| {
            json!({
                "element": c.element, "basis": c.basis, "low": c.low, "value": c.value, "high": c.high, "unit": c.unit,
            })
        })
        .collect();
    json!({
        "label": answer.text,
        "readings": readings,
        "contents": contents,
        "findings": findings(&answer.findings),
    })
}
