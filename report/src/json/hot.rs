//! How hot it gets and what gas comes off, as JSON.

use super::{findings, quantity};
use prep::outcome::{GasAnswer, GasShare, HeatAnswer, Taken};
use serde_json::{Value, json};

fn taken(list: &[Taken]) -> Vec<Value> {
    list.iter().map(|t| json!({ "species": t.species, "amount": t.amount, "mass": t.mass })).collect()
}

/// `heat`; masses in g, amounts in mol, temperatures in °C.
#[must_use]
pub fn heat(answer: &HeatAnswer) -> Value {
    json!({
        "equation": answer.equation,
        "taken": taken(&answer.taken),
        "limiting": answer.limiting,
        "extent": answer.extent,
        "heat": quantity(&answer.heat),
        "heat_per_gram": answer.heat_per_gram.as_ref().map(quantity),
        "batch": answer.batch.as_ref().map(|b| json!({
            "mass": b.mass,
            "heat_capacity": b.heat_capacity,
            "from": b.from,
            "rise": b.rise,
            "reached": b.reached,
            "boiling_point": b.boiling_point,
            "boiled_off": b.boiled_off,
            "heat_left": b.left,
        })),
        "addition": answer.addition.as_ref().map(|a| json!({
            "species": a.species, "cooling_watt": a.cooling, "gram_per_minute": a.rate, "minutes": a.minutes,
        })),
        "adiabatic": answer.adiabatic.as_ref().map(|a| json!({
            "temperature": a.temperature,
            "held": a.held,
            "products": a.products.iter().map(|(form, share, amount)| json!({ "form": form, "share": share, "amount": amount })).collect::<Vec<_>>(),
            "gas_millimole_per_gram": a.gas_per_gram,
        })),
        "hazards": answer.hazards.iter().map(super::screening::substance).collect::<Vec<_>>(),
        "findings": findings(&answer.findings),
    })
}

/// `gas`; volumes in L, temperatures in °C.
#[must_use]
pub fn gas(answer: &GasAnswer) -> Value {
    json!({
        "equation": answer.equation,
        "taken": taken(&answer.taken),
        "limiting": answer.limiting,
        "temperature": answer.temperature,
        "gases": answer.gases.iter().map(share).collect::<Vec<_>>(),
        "litres": answer.litres,
        "litres_per_minute": answer.rate,
        "room": { "value": answer.room, "unit": "m3", "stated": answer.room_stated },
        "air_changes_per_hour": answer.air_changes,
        "closed": answer.closed.map(|(free, bar)| json!({ "free_millilitre": free, "bar_above_air": bar })),
        "sweep": answer.sweep.as_ref().map(|s| json!({
            "volume": s.volume,
            "swept": s.swept,
            "oxygen_left_percent": s.oxygen_left,
            "needed": s.needed,
            "target_percent": s.target,
            "minutes": s.minutes,
        })),
        "hazards": answer.hazards.iter().map(super::screening::substance).collect::<Vec<_>>(),
        "findings": findings(&answer.findings),
    })
}

fn share(gas: &GasShare) -> Value {
    json!({
        "formula": gas.formula,
        "amount": gas.amount,
        "litres": gas.litres,
        "ppm": gas.ppm,
        "milligram_per_cubic_metre": gas.mass_concentration,
        "limits": gas.limits.iter().map(|(value, words)| json!({ "ppm": value, "what": words })).collect::<Vec<_>>(),
        "thinning_air": gas.thinning_air,
        "airing_minutes": gas.airing,
    })
}
