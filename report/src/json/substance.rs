//! All that is known of a substance, and the heat of a reaction, as JSON.

use super::{finding, hazards, quantity};
use prep::outcome::{BalanceTemperature, Figure, ReactionHeat, SpeciesHeat, SubstanceAnswer, TemperatureRow};
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

/// The fields of a reaction that are about heat and equilibrium, by key; null where they are not known.
pub(super) fn heat(heat: Option<&ReactionHeat>) -> Vec<(&'static str, Value)> {
    let told = |of: fn(&ReactionHeat) -> &Option<Figure>| heat.and_then(|heat| of(heat).as_ref()).map(quantity);
    let list = |of: fn(&ReactionHeat) -> Vec<Value>| heat.map(of);
    vec![
        ("temperature", json!(heat.map(|heat| quantity(&heat.temperature)))),
        ("enthalpy", json!(told(|heat| &heat.enthalpy))),
        ("entropy", json!(told(|heat| &heat.entropy))),
        ("gibbs_energy", json!(told(|heat| &heat.gibbs_energy))),
        ("heat_capacity", json!(told(|heat| &heat.heat_capacity))),
        ("log10_k", json!(told(|heat| &heat.log10_k))),
        ("heat_per_gram", json!(told(|heat| &heat.heat_per_gram))),
        ("gas_volume", json!(told(|heat| &heat.gas_volume))),
        ("gibbs_energy_at_pressures", json!(told(|heat| &heat.gibbs_energy_at_pressures))),
        ("balance_temperatures", json!(list(|heat| heat.balances.iter().map(balance).collect()))),
        ("species", json!(list(|heat| heat.species.iter().map(species).collect()))),
        ("table", json!(list(|heat| heat.table.iter().map(row).collect()))),
        ("notes", json!(list(|heat| heat.notes.iter().map(finding).collect()))),
    ]
}

fn balance(balance: &BalanceTemperature) -> Value {
    let others: Vec<Value> = balance
        .with_other_tables
        .iter()
        .map(|(table, kelvin)| json!({ "table": table, "temperature": kelvin }))
        .collect();
    json!({
        "temperature": quantity(&balance.temperature),
        "runs_above": balance.runs_above,
        "with_other_tables": others,
    })
}

fn species(one: &SpeciesHeat) -> Value {
    json!({
        "species": one.species,
        "coefficient": one.coefficient,
        "form": one.form,
        "enthalpy": one.enthalpy.as_ref().map(quantity),
        "entropy": one.entropy.as_ref().map(quantity),
        "range": [one.range.0, one.range.1],
        "extended": one.extended,
        "estimated": one.estimated,
        "conflicts": one.conflicts,
    })
}

fn row(row: &TemperatureRow) -> Value {
    json!({
        "temperature": row.temperature,
        "enthalpy": quantity(&row.enthalpy),
        "entropy": row.entropy.as_ref().map(quantity),
        "gibbs_energy": row.gibbs_energy.as_ref().map(quantity),
        "log10_k": row.log10_k.as_ref().map(quantity),
        "changes": row.changes,
    })
}
