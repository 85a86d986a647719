//! The answers to single questions as JSON.

use super::{findings, numbers_by_name, quantity};
use prep::outcome::{
    BalanceTemperature, Figure, FormulaAnswer, GibbsLine, GibbsLines, LabelAnswer, OxidationAnswer, ReactionAnswer,
    ReactionHeat, SpeciesHeat, TemperatureRow,
};
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

/// `reaction "…"` of the contract; heat is null where the reaction does not balance or a species has no values.
#[must_use]
pub fn reaction(answer: &ReactionAnswer) -> Value {
    let basis: Vec<Value> = answer.basis_reactions.iter().map(|pairs| numbers_by_name(pairs)).collect();
    let freedom = answer.freedom.as_ref();
    let extremes: Vec<Value> =
        freedom.iter().flat_map(|f| &f.extreme_reactions).map(|pairs| numbers_by_name(pairs)).collect();
    let missing: Vec<Value> =
        answer.closures.iter().map(|c| json!({ "left": c.left, "right": c.right, "equation": c.equation })).collect();
    let heat = answer.heat.as_ref();
    let of = |pick: &dyn Fn(&ReactionHeat) -> Option<&Figure>| heat.and_then(pick).map(quantity);
    json!({
        "equation": answer.equation,
        "solutions": answer.solutions,
        "coefficients": answer.coefficients.as_deref().map(numbers_by_name),
        "basis_reactions": basis,
        "missing": missing,
        "extreme_reactions": extremes,
        "extreme_equations": freedom.map_or(&[][..], |f| &f.extreme_equations),
        "deciding": freedom.map_or(&[][..], |f| &f.deciding),
        "would_decide": freedom.map(|f| &f.would_decide),
        "enthalpy": of(&|h| h.enthalpy.as_ref()),
        "entropy": of(&|h| h.entropy.as_ref()),
        "gibbs_energy": of(&|h| h.gibbs_energy.as_ref()),
        "log10_k": of(&|h| h.log10_k.as_ref()),
        "heat_per_gram": of(&|h| h.heat_per_gram.as_ref()),
        "gas_volume": of(&|h| h.gas_volume.as_ref()),
        "heat_capacity": of(&|h| h.heat_capacity.as_ref()),
        "gibbs_energy_at_pressures": of(&|h| h.gibbs_energy_at_pressures.as_ref()),
        "temperature": of(&|h| Some(&h.temperature)),
        "balances_at": heat.map(|h| h.balances.iter().map(balance).collect::<Vec<_>>()),
        "species": heat.map(|h| h.species.iter().map(species_heat).collect::<Vec<_>>()),
        "table": heat.map(|h| h.table.iter().map(row).collect::<Vec<_>>()),
        "lines": answer.lines.as_ref().map(lines),
        "findings": findings(&answer.findings),
    })
}

/// Gibbs energies over temperature, kJ.
fn lines(lines: &GibbsLines) -> Value {
    let line = |one: &GibbsLine| {
        json!({
            "label": one.label,
            "equation": one.equation,
            "points": one.points.iter().map(|(kelvin, value, u)| json!({
                "kelvin": kelvin, "value": value, "standard_uncertainty": u,
            })).collect::<Vec<_>>(),
            "changes": one.changes.iter().map(|(kelvin, form)| json!({ "kelvin": kelvin, "form": form })).collect::<Vec<_>>(),
        })
    };
    json!({
        "per": lines.per,
        "lines": lines.lines.iter().map(line).collect::<Vec<_>>(),
        "crossings": lines.crossings.iter().map(|c| json!({
            "kelvin": c.kelvin,
            "standard_uncertainty": c.standard_uncertainty,
            "value": c.value,
            "lower_below": lines.lines.get(c.cold).map(|one| &one.label),
            "lower_above": lines.lines.get(c.hot).map(|one| &one.label),
        })).collect::<Vec<_>>(),
    })
}

fn balance(balance: &BalanceTemperature) -> Value {
    json!({
        "temperature": quantity(&balance.temperature),
        "runs_above": balance.runs_above,
        "with_other_tables": balance.with_other_tables.iter().map(|(table, kelvin)| json!({ "table": table, "kelvin": kelvin })).collect::<Vec<_>>(),
    })
}

fn species_heat(species: &SpeciesHeat) -> Value {
    json!({
        "species": species.species,
        "coefficient": species.coefficient,
        "form": species.form,
        "enthalpy": species.enthalpy.as_ref().map(quantity),
        "entropy": species.entropy.as_ref().map(quantity),
        "range_kelvin": [species.range.0, species.range.1],
        "extended": species.extended,
        "estimated": species.estimated,
        "conflicts": species.conflicts,
    })
}

fn row(row: &TemperatureRow) -> Value {
    json!({
        "kelvin": row.temperature,
        "enthalpy": quantity(&row.enthalpy),
        "entropy": row.entropy.as_ref().map(quantity),
        "gibbs_energy": row.gibbs_energy.as_ref().map(quantity),
        "log10_k": row.log10_k.as_ref().map(quantity),
        "changes": row.changes,
    })
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
