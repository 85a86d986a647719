//! The answers to single questions as JSON.

use super::{findings, numbers_by_name, quantity};
use prep::outcome::{FormulaAnswer, ReactionAnswer};
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
    })
}

/// `reaction "…"` of the contract. Heat and equilibrium are not built yet: their keys are null.
#[must_use]
pub fn reaction(answer: &ReactionAnswer) -> Value {
    let basis: Vec<Value> = answer.basis_reactions.iter().map(|pairs| numbers_by_name(pairs)).collect();
    json!({
        "equation": answer.equation,
        "solutions": answer.solutions,
        "coefficients": answer.coefficients.as_deref().map(numbers_by_name),
        "basis_reactions": basis,
        "enthalpy": null,
        "entropy": null,
        "gibbs_energy": null,
        "log10_k": null,
        "heat_per_gram": null,
        "gas_volume": null,
        "findings": findings(&answer.findings),
    })
}
