//! Crystals and washings as JSON.

use super::{findings, interval};
use prep::outcome::{CropAnswer, CrystalliseAnswer, WashAnswer, WashPlan};
use serde_json::{Value, json};

/// `crystallise SUBSTANCE`; masses in g, temperatures in °C.
#[must_use]
pub fn crystallise(answer: &CrystalliseAnswer) -> Value {
    let phases: Vec<Value> =
        answer.phases.iter().map(|(solid, from, to)| json!({ "solid": solid, "from": from, "to": to })).collect();
    json!({
        "salt": answer.salt,
        "from_celsius": answer.from,
        "to_celsius": answer.to,
        "solubility": { "from": answer.solubilities.0, "to": answer.solubilities.1, "basis": "g anhydrous per 100 g water in all" },
        "start": { "salt": answer.start_salt, "water": answer.start_water },
        "evaporated": answer.evaporated,
        "difference_of_solubilities": answer.naive,
        "crystals": interval(&answer.first.crystals),
        "first": crop(&answer.first),
        "second": answer.second.as_ref().map(crop),
        "evaporation_to_first_crystals": answer.until_crystals,
        "least_water": answer.least_water,
        "phases": phases,
        "curve": answer.curve.iter().map(|(solid, points)| json!({ "solid": solid, "points": pairs(points) })).collect::<Vec<_>>(),
        "path": pairs(&answer.path),
        "impurity": answer.impurity.as_ref().map(|i| json!({
            "substance": i.substance,
            "total": i.total,
            "in_crystals": i.in_crystals,
            "purity_percent": i.purity_percent,
        })),
        "sources": answer.sources,
        "findings": findings(&answer.findings),
    })
}

/// °C with g of anhydrous salt in 100 g of water in all.
fn pairs(points: &[(f64, f64)]) -> Vec<Value> {
    points.iter().map(|(celsius, grams)| json!({ "celsius": celsius, "grams": grams })).collect()
}

fn crop(crop: &CropAnswer) -> Value {
    json!({
        "solid": crop.solid,
        "crystals": interval(&crop.crystals),
        "salt": crop.salt,
        "water": crop.water,
        "liquor": { "salt": crop.liquor_salt, "water": crop.liquor_water },
        "yield_percent": crop.yield_percent,
        "concentration_factor": crop.concentration_factor,
        "set_solid": crop.set_solid,
    })
}

/// `wash`; volumes in mL, masses in mg.
#[must_use]
pub fn wash(answer: &WashAnswer) -> Value {
    let left = |(share, mass, percent): &(f64, Option<f64>, Option<f64>)| json!({ "share": share, "milligrams": mass, "percent_of_product": percent });
    json!({
        "of": answer.of,
        "held_liquor": interval(&answer.held),
        "held_liquor_from": answer.held_from,
        "before_milligrams": answer.before,
        "efficiency": answer.efficiency,
        "wash_millilitres": answer.volume,
        "washes": answer.washes.iter().map(left).collect::<Vec<_>>(),
        "shares_with_held_low_and_high": answer.bounds.iter().map(|(low, high)| json!([low, high])).collect::<Vec<_>>(),
        "in_one": answer.in_one.map(|(share, mass)| json!({ "share": share, "milligrams": mass })),
        "product_lost_milligrams": answer.lost,
        "target_share": answer.target,
        "plans": answer.plans.iter().map(plan).collect::<Vec<_>>(),
        "best": answer.best.as_ref().map(plan),
        "findings": findings(&answer.findings),
    })
}

fn plan(plan: &WashPlan) -> Value {
    json!({
        "washes": plan.count,
        "millilitres_each": plan.volume,
        "millilitres": plan.total,
        "product_lost_milligrams": plan.lost,
    })
}
