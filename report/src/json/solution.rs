//! A solution as JSON.

use super::{findings, interval};
use prep::outcome::{Onset, SolutionAnswer, SolutionDose, SolutionExcess, SolutionModel, SolutionWindow};
use serde_json::{Value, json};

/// `solution SUBSTANCE…`; molalities in mol/kg of water, amounts in mol, masses in g.
#[must_use]
pub fn solution(answer: &SolutionAnswer) -> Value {
    let species: Vec<Value> = answer
        .species
        .iter()
        .map(|s| {
            json!({
                "species": s.species,
                "molality": s.molality,
                "activity_coefficient": s.activity_coefficient,
            })
        })
        .collect();
    let solids: Vec<Value> = answer
        .solids
        .iter()
        .map(|s| {
            json!({
                "solid": s.solid,
                "name": s.name,
                "form": s.form,
                "allowed": s.allowed,
                "saturation_index": s.saturation_index,
                "amount": s.amount,
                "grams": s.mass,
            })
        })
        .collect();
    let gases: Vec<Value> = answer
        .gases
        .iter()
        .map(|g| json!({ "gas": g.gas, "pressure_bar": g.pressure, "taken_up": g.taken_up }))
        .collect();
    let residues: Vec<Value> = answer
        .residues
        .iter()
        .map(|r| {
            json!({
                "ion": r.master,
                "total": r.total,
                "dissolved": r.dissolved,
                "milligrams_per_kilogram_of_water": r.mass_per_water,
            })
        })
        .collect();
    json!({
        "ph": answer.ph.value,
        "ph_quantity": super::quantity(&answer.ph),
        "ionic_strength": answer.ionic_strength,
        "activity_model": answer.model.model,
        "model": model(&answer.model),
        "temperature_celsius": answer.temperature,
        "water_kilograms": answer.water,
        "water_activity": answer.water_activity,
        "species": species,
        "solids": solids,
        "gases": gases,
        "dissolved": residues,
        "balance": answer.balance.as_ref().map(|(ion, amount)| json!({ "ion": ion, "amount": amount })),
        "dose": answer.dose.as_ref().map(|dose| dose_quantity(answer, dose)),
        "dosing": answer.dose.as_ref().map(dosing),
        "windows": answer.windows.iter().map(window).collect::<Vec<_>>(),
        "excess": answer.excess.as_ref().map(excess),
        "strength": answer.strength.as_ref().map(super::solution_figures::strength),
        "recorded": answer.recorded.as_ref().map(super::solution_figures::recorded),
        "potential_ph": answer.potential.iter().map(super::solution_figures::potential).collect::<Vec<_>>(),
        "couples": answer.couples.as_ref().map(super::solution_figures::couples),
        "status": answer.status,
        "residual": answer.residual,
        "charge_residual": answer.charge,
        "sources": answer.sources,
        "findings": findings(&answer.findings),
    })
}

fn model(model: &SolutionModel) -> Value {
    json!({
        "name": model.name,
        "limit": model.limit,
        "within": model.within,
        "other_not_taken_because": model.why_not,
        "lacking": model.lacking.iter().map(|(a, b, m)| json!({ "first": a, "second": b, "molality": m })).collect::<Vec<_>>(),
    })
}

fn dose_quantity(answer: &SolutionAnswer, dose: &SolutionDose) -> Value {
    json!({
        "value": dose.mass.mean,
        "standard_uncertainty": dose.mass.standard_uncertainty,
        "unit": dose.mass.unit,
        "basis": format!("pure {}", dose.reagent),
        "status": if answer.model.within { "derived" } else { "estimated" },
        "sources": answer.sources,
    })
}

fn dosing(dose: &SolutionDose) -> Value {
    json!({
        "reagent": dose.reagent,
        "from_ph": dose.from_ph,
        "to_ph": dose.to_ph,
        "amount": dose.amount,
        "mass": interval(&dose.mass),
        "as_sold": dose.as_sold.as_ref().map(interval),
        "as_sold_millilitres": dose.as_sold_volume,
        "used_up_by": dose.takes.iter().map(|(name, n)| json!({ "species": name, "amount": n })).collect::<Vec<_>>(),
        "causes": dose.causes.iter().map(|(name, u)| json!({ "cause": name, "standard_uncertainty_grams": u })).collect::<Vec<_>>(),
        "free_hydrogen_ion_alone_grams": dose.naive,
        "curve": dose.curve.iter().enumerate().map(|(at, (g, ph))| json!({
            "grams": g, "ph": ph, "standard_uncertainty": dose.curve_uncertainty.get(at),
        })).collect::<Vec<_>>(),
        "meter_uncertainty": dose.meter,
    })
}

fn window(window: &SolutionWindow) -> Value {
    let band = |band: Option<(f64, f64)>| band.map(|(low, high)| json!({ "low": low, "high": high }));
    json!({
        "ion": window.master,
        "solids": window.solids,
        "starts": band(window.start),
        "out": band(window.done),
        "co_loss": window.co_loss.iter().map(|(ion, low, high)| json!({
            "ion": ion, "low_percent": low, "high_percent": high,
        })).collect::<Vec<_>>(),
        "dissolved_fresh": super::solution_figures::over_ph(&window.courses[0]),
        "dissolved_aged": super::solution_figures::over_ph(&window.courses[1]),
        "least_dissolved": window.least.map(|(share, ph)| json!({ "share": share, "ph": ph })),
    })
}

fn onset(onset: &Onset) -> Value {
    let band = |(low, high): (f64, f64)| json!({ "low": low, "high": high });
    json!({ "amount": band(onset.amount), "free_molality": band(onset.free) })
}

fn excess(excess: &SolutionExcess) -> Value {
    json!({
        "reagent": excess.reagent,
        "ion": excess.master,
        "amount": excess.amount,
        "grams": excess.mass,
        "left_milligrams_per_kilogram_of_water": excess.left,
        "ligand": excess.ligand,
        "starts": excess.start.as_ref().map(onset),
        "out": excess.done.as_ref().map(onset),
        "more_takes_back": excess.takes_back,
        "course": excess.course.iter().map(|(amount, left)| json!({ "amount": amount, "left": left })).collect::<Vec<_>>(),
        "others": excess.others.iter().map(|(times, amount, left)| json!({ "times": times, "amount": amount, "left": left })).collect::<Vec<_>>(),
    })
}
