//! What the evidence carries, as JSON: budgets, claims, next tests.

use super::{findings, interval, quantity};
use prep::outcome::{Budget, Claim, Next, TestOutlook, TestTold};
use serde_json::{Map, Value, json};

/// `next FILE` of the contract.
#[must_use]
pub fn next(next: &Next) -> Value {
    json!({
        "claim": next.claim,
        "claim_stated": next.stated,
        "lot": next.lot,
        "probability": next.probability,
        "possibilities": next.possibilities.iter().map(|p| json!({
            "text": p.text, "probability": p.probability, "claim_holds": p.claim_holds,
        })).collect::<Vec<_>>(),
        "tests": tests(next),
        "not_told_apart": next.degenerate,
        "stop": next.stop,
        "advice": next.advice,
        "findings": findings(&next.findings),
    })
}

/// The tests of `next`.
pub(super) fn tests(next: &Next) -> Vec<Value> {
    next.tests.iter().map(|t| test(t, next)).collect()
}

fn test(test: &TestOutlook, next: &Next) -> Value {
    let predictions: Map<String, Value> = test
        .predictions
        .iter()
        .filter_map(|p| Some((next.possibilities.get(p.possibility)?.text.clone(), quantity(&p.reading))))
        .collect();
    json!({
        "test": test.test,
        "lot": test.lot,
        "information_bits": test.information_bits,
        "hypothesis_bits": test.hypothesis_bits,
        "added_after_first_bits": test.added_bits,
        "settles": test.settles,
        "sample": quantity(&test.sample),
        "time": quantity(&test.time),
        "destroys": test.destroys,
        "predictions": predictions,
        "traps": test.traps,
    })
}

/// A test beside the account.
pub(super) fn test_told(test: &TestTold) -> Value {
    json!({
        "id": test.id,
        "test": test.test,
        "lot": test.lot,
        "found": test.found,
        "expected": test.account.as_ref().map(interval),
    })
}

/// A budget of uncertainty.
pub(super) fn budget(budget: &Budget) -> Value {
    json!({
        "of": budget.of,
        "what": budget.what,
        "value": budget.value,
        "standard_uncertainty": budget.standard_uncertainty,
        "unit": budget.unit,
        "shares": budget.shares.iter().map(|s| json!({
            "source": s.source, "share": s.share, "standard_uncertainty_if_twice_as_good": s.if_twice_as_good,
        })).collect::<Vec<_>>(),
        "halved_by": budget.halved_by,
    })
}

/// A claim held against the evidence.
pub(super) fn claim(claim: &Claim) -> Value {
    json!({
        "claim": claim.text,
        "lot": claim.lot,
        "verdict": claim.verdict.word(),
        "probability": claim.probability,
        "parts": claim.parts.iter().map(|part| json!({
            "text": part.text,
            "verdict": part.verdict.word(),
            "probability": part.probability,
            "found": part.found.as_ref().map(interval),
            "because": part.because,
        })).collect::<Vec<_>>(),
    })
}
