//! Money, stock, time and vessels as JSON. Money has the code of its currency for a unit; times are minutes.

use super::interval;
use prep::outcome::{AccountCost, Cost, FilledVessel, LostCost, StockLine, TimedStep, Timeline, Timing};
use serde_json::{Map, Value, json};

pub(super) fn cost(cost: &Cost) -> Value {
    let supplies: Vec<Value> = cost
        .supplies
        .iter()
        .map(|line| {
            json!({
                "supply": line.supply,
                "charged": interval(&line.charged),
                "pack": line.pack,
                "price": line.price,
                "cost": interval(&line.cost),
            })
        })
        .collect();
    json!({
        "currency": cost.currency,
        "supplies": supplies,
        "total": interval(&cost.total),
        "at_least": !cost.unpriced.is_empty(),
        "without_price": cost.unpriced,
        "water_counts_as_free": cost.free_water,
    })
}

/// The cost of the charges with further keys.
pub(super) fn account_cost(cost: &AccountCost) -> Value {
    let mut value = self::cost(&cost.charges);
    if let Some(object) = value.as_object_mut() {
        object.insert("product".to_owned(), json!(cost.product));
        object.insert("per_gram".to_owned(), json!(cost.per_gram.as_ref().map(interval)));
        object.insert("not_in_product".to_owned(), json!(cost.lost.as_ref().map(lost)));
    }
    value
}

fn lost(lost: &LostCost) -> Value {
    let streams: Map<String, Value> =
        lost.streams.iter().map(|(name, cost)| ((*name).to_owned(), interval(cost))).collect();
    json!({
        "element": lost.element,
        "supplies": lost.supplies,
        "at_least": !lost.unpriced.is_empty(),
        "without_price": lost.unpriced,
        "charged": interval(&lost.charged),
        "cost": interval(&lost.not_in_product),
        "streams": streams,
    })
}

pub(super) fn stock(lines: &[StockLine]) -> Vec<Value> {
    let line = |line: &StockLine| {
        json!({
            "supply": line.supply,
            "stated": line.stated,
            "before": interval(&line.before),
            "used": interval(&line.used),
            "remains": interval(&line.remains),
            "runs_out": line.runs_out,
        })
    };
    lines.iter().map(line).collect()
}

pub(super) fn timeline(timeline: &Timeline) -> Value {
    let step = |step: &TimedStep| {
        json!({
            "step": step.step,
            "start": interval(&step.start),
            "end": interval(&step.end),
            "hands": interval(&step.hands),
            "hands_until": interval(&step.hands_until),
            "after": step.after,
        })
    };
    json!({
        "steps": timeline.steps.iter().map(step).collect::<Vec<_>>(),
        "elapsed": interval(&timeline.elapsed),
        "hands": interval(&timeline.hands),
        "without_duration": timeline.untimed,
    })
}

pub(super) fn timing(list: &[Timing]) -> Vec<Value> {
    let one = |timing: &Timing| {
        json!({
            "from": timing.from,
            "to": timing.to,
            "found": timing.found,
            "unit": "min",
            "planned": interval(&timing.planned),
        })
    };
    list.iter().map(one).collect()
}

pub(super) fn vessel(filled: &FilledVessel) -> Value {
    json!({
        "name": filled.vessel,
        "volume": interval(&filled.volume),
        "capacity": filled.capacity,
        "unit": "mL",
        "may_be_filled": filled.fraction,
        "because": filled.situation,
        "source": filled.source,
    })
}
