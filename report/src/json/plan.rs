//! The plan as JSON.

use super::{by_name, findings, interval, resources};
use prep::outcome::{Expectation, Feed, Limiting, Plan, PlannedStep, Water, WeighOut};
use serde_json::{Value, json};

/// `plan FILE` of the contract.
#[must_use]
pub fn plan(plan: &Plan) -> Value {
    json!({
        "title": plan.title,
        "limiting": plan.limiting.iter().map(limiting).collect::<Vec<_>>(),
        "water": water(&plan.water),
        "feed": plan.feed.as_ref().map(feed),
        "frozen": plan.frozen,
        "steps": plan.steps.iter().map(step).collect::<Vec<_>>(),
        "weigh_out": plan.weigh_out.iter().map(weigh_out).collect::<Vec<_>>(),
        "findings": findings(&plan.findings),
        "cost": plan.cost.as_ref().map(resources::cost),
        "stock": resources::stock(&plan.stock),
        "timeline": plan.timeline.as_ref().map(resources::timeline),
        "waste": super::waste::waste(&plan.waste),
        "screening": super::screening::screening(&plan.screening),
    })
}

fn limiting(limiting: &Limiting) -> Value {
    json!({
        "step": limiting.step,
        "reaction": limiting.reaction,
        "reagent": limiting.reagent,
        "probability": limiting.probability,
        "reach": interval(&limiting.reach),
    })
}

/// The total as an interval, with its two parts as further keys.
fn water(water: &Water) -> Value {
    let mut total = interval(&water.total);
    if let Some(object) = total.as_object_mut() {
        object.insert("charged".to_owned(), interval(&water.charged));
        object.insert("from_hydrates".to_owned(), interval(&water.from_hydrates));
    }
    total
}

fn feed(feed: &Feed) -> Value {
    json!({
        "for": feed.target,
        "supply": feed.supply,
        "amount": interval(&feed.amount),
        "chance": feed.chance,
        "for_chance": feed.for_chance,
    })
}

fn step(step: &PlannedStep) -> Value {
    json!({
        "name": step.name,
        "action": step.action,
        "instruction": step.instruction,
        "cautions": step.cautions,
        "expects": step.expects.iter().map(expectation).collect::<Vec<_>>(),
        "gives": by_name(&step.gives),
        "vents": by_name(&step.vents),
        "solution": step.solution.as_ref().map(super::step_solution::solution),
        "vessel": step.vessel.as_ref().map(resources::vessel),
    })
}

fn expectation(expectation: &Expectation) -> Value {
    json!({
        "reading": expectation.reading,
        "what": expectation.what,
        "interval": expectation.interval.as_ref().map(interval),
        "found": expectation.found,
        "displayed": expectation.displayed,
    })
}

fn weigh_out(line: &WeighOut) -> Value {
    json!({
        "supply": line.supply,
        "label": line.label,
        "step": line.step,
        "amount": interval(&line.amount),
        "brings": by_name(&line.brings),
        "elements": by_name(&line.elements),
    })
}
