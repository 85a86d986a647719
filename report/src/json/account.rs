//! The account as JSON.

use super::{by_name, entry, evidence, findings, interval, quantity, resources};
use prep::outcome::{Account, Hypothesis, LossLevel, LotAccount, QuotedYield, StepYield, Stream, Supposition, Yields};
use serde_json::{Map, Value, json};

/// `account FILE` of the contract.
#[must_use]
pub fn account(account: &Account) -> Value {
    json!({
        "title": account.title,
        "account_for": account.elements,
        "lots": account.lots.iter().map(lot).collect::<Vec<_>>(),
        "streams": streams(&account.streams),
        "stream_lots": stream_lots(&account.streams),
        "feed": by_name(&account.feed),
        "yields": account.yields.as_ref().map(yields),
        "hypotheses": account.hypotheses.iter().map(hypothesis).collect::<Vec<_>>(),
        "loss_levels": account.levels.iter().map(loss_level).collect::<Vec<_>>(),
        "suppositions": account.suppositions.iter().map(supposition).collect::<Vec<_>>(),
        "findings": findings(&account.findings),
        "cost": account.cost.as_ref().map(resources::account_cost),
        "stock": resources::stock(&account.stock),
        "timing": resources::timing(&account.timing),
        "budget": account.budgets.first().map(evidence::budget),
        "budgets": account.budgets.iter().map(evidence::budget).collect::<Vec<_>>(),
        "tests": account.tests.iter().map(evidence::test_told).collect::<Vec<_>>(),
        "foreign_solids": super::step_solution::fell_out(&account.foreign),
        "claim": account.claim.as_ref().map(evidence::claim),
        "next_tests": account.next.as_ref().map(evidence::tests),
        "next": account.next.as_ref().map(super::next),
        "series": account.series.iter().map(entry::series).collect::<Vec<_>>(),
        "changes": account.changes.iter().map(entry::change).collect::<Vec<_>>(),
        "method": { "kind": account.method.kind, "runs": account.method.runs, "tail": account.method.tail },
    })
}

fn lot(lot: &LotAccount) -> Value {
    let elements: Map<String, Value> = lot
        .elements
        .iter()
        .map(|content| {
            let value = json!({ "amount": interval(&content.amount), "mass": interval(&content.mass) });
            (content.element.clone(), value)
        })
        .collect();
    json!({
        "id": lot.id,
        "name": lot.name,
        "step": lot.step,
        "mass": interval(&lot.mass),
        "elements": elements,
        "species": by_name(&lot.species),
        "foreign": interval(&lot.foreign),
        "hydration": by_name(&lot.hydration),
        "weighed": lot.weighed.as_ref().map(quantity),
    })
}

fn streams(streams: &[Stream]) -> Value {
    Value::Object(streams.iter().map(|stream| (stream.name.to_owned(), by_name(&stream.elements))).collect())
}

fn stream_lots(streams: &[Stream]) -> Value {
    Value::Object(streams.iter().map(|stream| (stream.name.to_owned(), json!(stream.lots))).collect())
}

fn yields(yields: &Yields) -> Value {
    json!({
        "element": yields.element,
        "quoted": yields.quoted.iter().map(quoted).collect::<Vec<_>>(),
        "accounted": {
            "overall": interval(&yields.overall),
            "steps": yields.steps.iter().map(step).collect::<Vec<_>>(),
        },
    })
}

fn quoted(quoted: &QuotedYield) -> Value {
    json!({
        "lot": quoted.lot,
        "as_formula": quoted.as_formula,
        "method": quoted.method,
        "element_mass": quantity(&quoted.element_mass),
        "percent": quantity(&quoted.percent),
        "doubt": quoted.doubt,
    })
}

fn step(step: &StepYield) -> Value {
    json!({ "name": step.name, "interval": interval(&step.interval), "cumulative": interval(&step.cumulative) })
}

fn hypothesis(hypothesis: &Hypothesis) -> Value {
    json!({
        "id": hypothesis.id,
        "text": hypothesis.text,
        // What fits less well without being excluded was not weighed against the others.
        "probability": hypothesis.probability,
        "decided": hypothesis.decided,
        "fits": hypothesis.fits,
        "larger": hypothesis.larger,
        "chi_squared": hypothesis.chi_squared,
        "group": hypothesis.group,
        "log_evidence": hypothesis.log_evidence,
    })
}

fn loss_level(level: &LossLevel) -> Value {
    let levels: Vec<Value> = level
        .levels
        .iter()
        .map(|(substance, loss, distance)| {
            json!({ "substance": substance, "loss_percent": loss, "standard_uncertainties": distance })
        })
        .collect();
    json!({ "lot": level.lot, "residue": level.residue, "observed": quantity(&level.observed), "levels": levels })
}

fn supposition(supposition: &Supposition) -> Value {
    json!({
        "text": supposition.text,
        "lots": supposition.lots.iter().map(lot).collect::<Vec<_>>(),
        "steps": supposition.steps.iter().map(step).collect::<Vec<_>>(),
        "hypotheses": supposition.hypotheses.iter().map(hypothesis).collect::<Vec<_>>(),
    })
}
