//! What the tables of solutions say of a step, as JSON.

use super::{interval, quantity};
use prep::outcome::{ExpectedCrop, FellOut, MadeOf, StaysDissolved, StepDose, StepSolution};
use serde_json::{Value, json};

/// `solution` of a step; shares in %, masses in g.
#[must_use]
pub fn solution(solution: &StepSolution) -> Value {
    json!({
        "status": "derived",
        "temperature_celsius": solution.temperature,
        "ph": solution.ph.as_ref().map(quantity),
        "ph_change_for_a_tenth_more": named(&solution.ph_follows, "change"),
        "ph_uncertain_by": causes(&solution.ph_causes),
        "dose": solution.dose.as_ref().map(dose),
        "activity_model": solution.model,
        "within_model": solution.within,
        "stays_dissolved": solution.stays.iter().map(stays).collect::<Vec<_>>(),
        "left": solution.left.iter().map(|(ion, mg)| json!({
            "ion": ion, "milligrams_per_kilogram_of_water": mg,
        })).collect::<Vec<_>>(),
        "foreign_solids": solution.foreign.iter().map(|one| json!({
            "solid": one.solid, "amount": one.amount.as_ref().map(quantity), "reaction": one.equation,
            "grams_for_a_tenth_more": named(&one.follows, "change"), "uncertain_by": causes(&one.causes),
        })).collect::<Vec<_>>(),
        "falls_out_beside": solution.beside.iter().map(|one| json!({
            "substance": one.solid, "grams": one.grams, "form_of": one.form_of, "booked_by": one.by.word(),
        })).collect::<Vec<_>>(),
        "washed_away": solution.washed.iter().map(|(solid, share)| json!({
            "solid": solid, "share_per_wash": quantity(share),
        })).collect::<Vec<_>>(),
        "crystals": solution.crops.iter().map(crop).collect::<Vec<_>>(),
        "not_in_tables": solution.unknown,
        "sources": solution.sources,
    })
}

fn named(list: &[(String, f64)], key: &str) -> Vec<Value> {
    list.iter().map(|(name, value)| json!({ "substance": name, key: value })).collect()
}

/// Parts of a standard uncertainty, in the unit of the figure.
fn causes(causes: &MadeOf) -> Value {
    causes.iter().map(|(cause, part)| json!({ "cause": cause, "standard_uncertainty": part })).collect()
}

/// Foreign solids of an account.
#[must_use]
pub fn fell_out(list: &[FellOut]) -> Vec<Value> {
    let one = |one: &FellOut| {
        json!({
            "step": one.step,
            "solid": one.solid,
            "status": if one.expected.is_some() { "derived" } else { "stated" },
            "expected": one.expected.as_ref().map(quantity),
            "found": interval(&one.found),
            "told_by_readings": one.told,
            "reaction": one.equation,
        })
    };
    list.iter().map(one).collect()
}

fn dose(dose: &StepDose) -> Value {
    json!({
        "reagent": dose.reagent,
        "to_ph": dose.to_ph,
        "planned_grams": dose.planned,
        "needed": quantity(&dose.needed),
        "grams_for_a_tenth_more": named(&dose.follows, "change"),
        "uncertain_by": causes(&dose.causes),
    })
}

fn stays(stays: &StaysDissolved) -> Value {
    json!({
        "solid": stays.solid,
        "share": quantity(&stays.share),
        "taken_as_prior": stays.taken,
        "factor_for_a_tenth_more": stays.follows.iter().map(|(name, factor)| json!({
            "substance": name, "factor": factor,
        })).collect::<Vec<_>>(),
        "uncertain_by": causes(&stays.causes),
    })
}

fn crop(crop: &ExpectedCrop) -> Value {
    json!({
        "crystals": crop.crystals,
        "at_celsius": crop.at,
        "share": crop.share.as_ref().map(quantity),
        "share_per_degree": crop.per_degree,
        "water_taken_grams": crop.takes,
        "too_much_water_grams": crop.too_much_water,
    })
}
