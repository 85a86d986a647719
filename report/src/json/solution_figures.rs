//! A recorded curve, oxidation states and potential-pH diagrams as JSON.

use super::interval;
use prep::outcome::{PotentialPh, RecordedCurve, SolutionCouples, SolutionStrength};
use serde_json::{Value, json};

/// Free acid of a recorded curve.
#[must_use]
pub fn recorded(curve: &RecordedCurve) -> Value {
    json!({
        "acid": curve.acid,
        "amount": curve.amount,
        "standard_uncertainty": curve.standard_uncertainty,
        "mass": interval(&curve.mass),
        "molality": curve.per_water,
        "shared_error_of_ph": curve.offset,
        "strain": curve.strain,
        "points": curve.points.iter().map(|(grams, read, computed)| json!({
            "grams": grams, "ph_read": read, "ph_computed": computed,
        })).collect::<Vec<_>>(),
        "curve": curve.curve.iter().map(|(grams, ph)| json!({ "grams": grams, "ph": ph })).collect::<Vec<_>>(),
    })
}

/// What is dissolved over pH, mg per kg of water.
pub(super) fn over_ph(course: &[(f64, f64)]) -> Vec<Value> {
    course.iter().map(|(ph, left)| json!({ "ph": ph, "milligrams_per_kilogram_of_water": left })).collect()
}

/// Fields in pH and V against the standard hydrogen electrode.
#[must_use]
pub fn potential(diagram: &PotentialPh) -> Value {
    let line = |line: &[(f64, f64); 2]| line.iter().map(|(ph, volts)| json!([ph, volts])).collect::<Vec<_>>();
    json!({
        "element": diagram.element,
        "total": diagram.total,
        "beside": diagram.beside.iter().map(|(ion, total)| json!({ "ion": ion, "total": total })).collect::<Vec<_>>(),
        "fields": diagram.fields.iter().map(|field| json!({
            "form": field.form,
            "solid": field.solid,
            "corners": field.corners.iter().map(|(ph, volts)| json!([ph, volts])).collect::<Vec<_>>(),
        })).collect::<Vec<_>>(),
        "hydrogen_line": line(&diagram.hydrogen),
        "oxygen_line": line(&diagram.oxygen),
        "ph": diagram.ph,
        "potential": diagram.potential,
        "potential_set_by": diagram.from_couple,
        "stable_there": diagram.form,
        "at_this_ph": diagram.ladder.iter().map(|(volts, form)| json!({ "from_volts": volts, "form": form }))
            .collect::<Vec<_>>(),
    })
}

/// Oxidation states in balance with one another.
#[must_use]
pub fn couples(couples: &SolutionCouples) -> Value {
    json!({
        "potential": couples.potential,
        "potential_standard_uncertainty": couples.standard_uncertainty,
        "potential_stated": couples.stated,
        "states": couples.states.iter().map(|state| json!({
            "element": state.element, "state": state.state, "share": state.share, "amount": state.amount,
        })).collect::<Vec<_>>(),
        "model": couples.model,
    })
}

/// Strength in every way.
#[must_use]
pub fn strength(strength: &SolutionStrength) -> Value {
    json!({
        "solute": strength.solute,
        "mass_percent": strength.mass_percent,
        "density_grams_per_millilitre": strength.density,
        "grams_per_100_millilitres": strength.per_volume,
        "molarity": strength.molarity,
        "molality": strength.molality,
        "dilution": strength.dilution.as_ref().map(|dilution| json!({
            "litres": dilution.volume,
            "molarity": dilution.molarity,
            "take_millilitres": dilution.take.0,
            "take_grams": dilution.take.1,
            "water_grams": dilution.water,
            "heat_kilojoules": dilution.heat,
            "rise_kelvin": dilution.rise,
            "heat_is_a_bound": dilution.at_most,
        })),
    })
}
