//! Does a plan still hold after something was weighed?
//!
//! The forecast sees no reading. Where nothing that it hangs on has changed, its ranges stand: only what was found is
//! filled in, findings move to the lines where their words now stand, and what is said of readings that are still to be
//! made is left out for those that were made. A further reading of what was planned already has the range of the planned
//! one. Anything else asks for a new plan.

use super::super::direct::{empty_figure, tare};
use super::super::{placed, series};
use crate::model::{Determination, Found, Preparation, Reading, Step};
use crate::outcome::{Expectation, Finding, Interval, Plan, PlannedStep};
use std::ops::Range;

/// Findings about readings that are still to be made.
const TO_BE_READ: [&str; 2] = ["balance-overloaded", "balance-may-be-overloaded"];

/// The plan of a text that differs from the text of `plan` by readings alone; `None` where it has to be made anew.
#[must_use]
pub fn plan_again(preparation: &Preparation, before: &Preparation, plan: &Plan) -> Option<Plan> {
    let same = preparation.foreseen == before.foreseen
        && preparation.own_losses == before.own_losses
        && preparation.supplies.len() == before.supplies.len()
        && preparation.supplies.iter().zip(&before.supplies).all(|(now, then)| now.brought == then.brought);
    if !same || preparation.steps.len() != plan.steps.len() || before.steps.len() != plan.steps.len() {
        return None;
    }
    let steps = preparation.steps.iter().zip(&before.steps).zip(&plan.steps);
    let steps = steps.map(|((step, then), told)| step_again(preparation, step, then, told));
    Some(Plan {
        steps: steps.collect::<Option<Vec<_>>>()?,
        findings: findings_again(preparation, before, &plan.findings)?,
        ..plan.clone()
    })
}

fn step_again(preparation: &Preparation, step: &Step, before: &Step, told: &PlannedStep) -> Option<PlannedStep> {
    // A reading that went away may have been what the screen went by.
    if !before.readings.iter().all(|then| step.readings.iter().any(|now| pan(now) == pan(then))) {
        return None;
    }
    let mut expects = Vec::new();
    for reading in planned(preparation, step) {
        let alike = |e: &&Expectation| {
            let then = before.readings.iter().find(|then| then.id.value == e.reading);
            then.is_some_and(|then| pan(then) == pan(reading))
        };
        let own = told.expects.iter().find(|e| e.reading == reading.id.value).filter(alike);
        let known = own.or_else(|| told.expects.iter().find(alike))?;
        expects.push(self::told(preparation, reading, known.interval.clone()));
    }
    for made in &step.determinations {
        let known = told.expects.iter().find(|e| e.reading == made.id.value);
        expects.extend(known.map(|known| test_told(made, known.interval.clone())));
    }
    Some(PlannedStep { expects, ..told.clone() })
}

/// Readings by a balance that no other corrects.
fn planned<'a>(preparation: &'a Preparation, step: &'a Step) -> impl Iterator<Item = &'a Reading> {
    let corrected = |id: &str| {
        let mut all = preparation.steps.iter().flat_map(|step| &step.readings);
        all.any(|other| other.corrects.as_ref().is_some_and(|corrects| corrects.value == id))
    };
    let balance = |name: &str| preparation.instruments.iter().any(|balance| balance.name.value == name);
    step.readings.iter().filter(move |r| balance(&r.with.value) && !corrected(&r.id.value))
}

/// What lies on which pan.
fn pan(reading: &Reading) -> [Option<&str>; 5] {
    [
        reading.of.as_ref().map(|of| of.value.as_str()),
        reading.charge.as_ref().map(|charge| charge.value.as_str()),
        reading.vessel.as_ref().map(|vessel| vessel.value.as_str()),
        Some(reading.with.value.as_str()),
        reading.zeroed.as_deref(),
    ]
}

/// Findings at the places where their words now stand; `None` where one is about words that changed.
fn findings_again(preparation: &Preparation, before: &Preparation, list: &[Finding]) -> Option<Vec<Finding>> {
    let moved = Moved::between(&before.text, &preparation.text);
    let weighed = |finding: &Finding| {
        let mut read = preparation.steps.iter().flat_map(|s| &s.readings).filter(|r| r.weigh.is_some());
        TO_BE_READ.contains(&finding.code) && read.any(|r| finding.message.contains(&format!("`{}`", r.id.value)))
    };
    let of_series = series::findings(before, &series::series(before));
    let kept = list.iter().filter(|f| !weighed(f) && !of_series.iter().any(|s| s.message == f.message));
    let mut found = Vec::new();
    for finding in kept {
        let span = match &finding.span {
            Some(span) => Some(moved.place(span)?),
            None => None,
        };
        found.push(Finding { span, ..finding.clone() });
    }
    found.extend(series::findings(preparation, &series::series(preparation)));
    Some(placed(preparation, found))
}

/// Where the words of one text stand in another that was made from it by one change.
struct Moved {
    front: usize,
    behind: usize,
    lengths: (usize, usize),
}

impl Moved {
    fn between(before: &str, now: &str) -> Self {
        let (a, b) = (before.as_bytes(), now.as_bytes());
        let front = a.iter().zip(b).take_while(|(a, b)| a == b).count();
        let rest = a.len().min(b.len()) - front;
        let behind = a.iter().rev().zip(b.iter().rev()).take(rest).take_while(|(a, b)| a == b).count();
        Self { front, behind, lengths: (a.len(), b.len()) }
    }

    fn place(&self, span: &Range<usize>) -> Option<Range<usize>> {
        let (before, now) = self.lengths;
        if span.end <= self.front {
            return Some(span.clone());
        }
        let there = |at: usize| at + now - before;
        (span.start >= before - self.behind).then(|| there(span.start)..there(span.end))
    }
}

/// A reading beside its range.
pub(super) fn told(preparation: &Preparation, reading: &Reading, interval: Option<Interval>) -> Expectation {
    let vessel = reading.vessel.as_ref().map(|vessel| vessel.value.as_str());
    let known = vessel.is_none_or(|name| tare(preparation, name).is_some());
    let what = match (&reading.of, &reading.charge, vessel) {
        (Some(of), _, Some(vessel)) => format!("{} in {vessel}", of.value),
        (Some(of), _, None) => of.value.clone(),
        (None, Some(charge), _) => format!("charge of {}", charge.value),
        (None, None, vessel) => format!("empty {}", vessel.unwrap_or_default()),
    };
    let empty = || vessel.and_then(|vessel| empty_figure(preparation, vessel, None));
    let holds_something = reading.of.is_some() || reading.charge.is_some();
    let tare = if known || !holds_something { Some(0.0) } else { empty() };
    let found = reading.weigh.as_ref().zip(tare).map(|(weigh, tare)| (weigh.value - tare) * 1e3);
    let displayed = reading.weigh.as_ref().map(|_| reading.text.clone());
    Expectation { reading: reading.id.value.clone(), what, interval, found, displayed }
}

/// A test beside its range.
pub(super) fn test_told(made: &Determination, interval: Option<Interval>) -> Expectation {
    let found = match made.found.as_ref().map(|found| found.value) {
        Some(Found::Figure { value, .. }) => Some(value * made.test.per_si),
        _ => None,
    };
    Expectation {
        reading: made.id.value.clone(),
        what: format!("{} of {}", made.test.name, made.of.value),
        interval,
        found,
        displayed: made.found.as_ref().map(|_| made.text.clone()),
    }
}
