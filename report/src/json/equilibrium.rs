//! Equilibria, heated lots and furnaces as JSON.

use super::{findings, quantity};
use prep::outcome::{EquilibriumAnswer, FurnaceAnswer, FurnaceMoment, IgniteAnswer};
use serde_json::{Map, Value, json};

fn amounts(list: &[(String, f64)]) -> Map<String, Value> {
    list.iter().map(|(name, amount)| (name.clone(), json!(amount))).collect()
}

/// `equilibrium …` of the contract; amounts in mol, masses in g.
#[must_use]
pub fn equilibrium(answer: &EquilibriumAnswer) -> Value {
    let species: Vec<Value> = answer
        .species
        .iter()
        .map(|s| {
            json!({
                "species": s.species,
                "form": s.label,
                "phase": s.phase,
                "amount": s.amount,
                "mass": s.mass,
                "partial_pressure": s.partial_pressure,
                "estimated": s.estimated,
            })
        })
        .collect();
    let nearest: Vec<Value> =
        answer.nearest.iter().map(|(form, log)| json!({ "form": form, "log10_activity": log })).collect();
    let [elements, potentials, stability, energy] = answer.residuals;
    json!({
        "brought": amounts(&answer.brought),
        "held": answer.held,
        "temperature": quantity(&answer.temperature),
        "pressure": quantity(&answer.pressure),
        "species": species,
        "nearest": nearest,
        "gas_amount": answer.gas_amount,
        "gas_volume_litres": answer.gas_volume,
        "heat_kilojoules": answer.heat,
        "plateau": answer.plateau,
        "status": answer.status,
        "residual": answer.residual,
        "residuals": { "elements": elements, "potentials": potentials, "stability": stability, "energy": energy },
        "sweep": answer.sweep.iter().map(|p| json!({
            "kelvin": p.kelvin, "condensed_grams": amounts(&p.condensed), "gas_grams": amounts(&p.gases),
        })).collect::<Vec<_>>(),
        "candidates": answer.candidates,
        "sources": answer.sources,
        "findings": findings(&answer.findings),
    })
}

/// `ignite …`; temperatures in °C, masses in percent of the lot, gases in mol.
#[must_use]
pub fn ignite(answer: &IgniteAnswer) -> Value {
    let stages: Vec<Value> = answer
        .stages
        .iter()
        .map(|s| {
            json!({
                "from_celsius": s.from,
                "to_celsius": s.to,
                "phases": amounts(&s.phases),
                "mass_percent": [s.mass.0, s.mass.1],
                "gases": amounts(&s.gases),
            })
        })
        .collect();
    let chain: Vec<Value> = answer
        .chain
        .iter()
        .map(|s| {
            json!({
                "from": s.from,
                "to": s.to,
                "equation": s.equation,
                "mass_percent": s.mass,
                "standard_uncertainty": s.mass_uncertainty,
                "loss_percent": s.loss,
                "own_gas": s.own_gas,
                "own_gas_celsius": s.own_gas_celsius,
                "surroundings": s.surroundings,
            })
        })
        .collect();
    let levels: Vec<Value> = answer
        .levels
        .iter()
        .map(|level| {
            json!({
                "residue": level.residue,
                "mass_percent": level.mass,
                "standard_uncertainty": level.mass_uncertainty,
                "stands_celsius": level.stands.map(|(a, b)| [a, b]),
            })
        })
        .collect();
    let points: Vec<Value> = answer
        .points
        .iter()
        .map(|p| json!({ "celsius": p.celsius, "mass_percent": p.mass, "phases": amounts(&p.phases) }))
        .collect();
    json!({
        "lot": amounts(&answer.lot),
        "mass": answer.mass,
        "surroundings": answer.surroundings,
        "stages": stages,
        "chain": chain,
        "levels": levels,
        "at_celsius": answer.at,
        "found_percent": answer.found.map(|(value, u)| json!({ "value": value, "standard_uncertainty": u })),
        "may_hold": answer.may_hold,
        "points": points,
        "sources": answer.sources,
        "findings": findings(&answer.findings),
    })
}

/// `furnace …`; times in min, temperatures in °C.
#[must_use]
pub fn furnace(answer: &FurnaceAnswer) -> Value {
    let moment = |m: &FurnaceMoment| {
        json!({
            "minutes": m.minutes,
            "middle_celsius": m.middle,
            "middle_left_percent": m.middle_left,
            "left_percent": m.left,
        })
    };
    json!({
        "solid": answer.solid,
        "equation": answer.equation,
        "furnace_celsius": answer.furnace,
        "bed": answer.bed,
        "depth_millimetres": answer.depth,
        "law": answer.law,
        "heat_kilojoules_per_gram": answer.heat,
        "front_celsius": answer.front,
        "conductivity": answer.conductivity,
        "done_minutes": answer.done,
        "half_depth_minutes": answer.half_depth,
        "asked": answer.asked.as_ref().map(moment),
        "moments": answer.moments.iter().map(moment).collect::<Vec<_>>(),
        "moments_least_conductivity": answer.bounds[0].iter().map(moment).collect::<Vec<_>>(),
        "moments_greatest_conductivity": answer.bounds[1].iter().map(moment).collect::<Vec<_>>(),
        "assumed": answer.assumed,
        "findings": findings(&answer.findings),
    })
}
