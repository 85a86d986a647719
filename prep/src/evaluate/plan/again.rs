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

#[cfg(test)]
mod tests {
    use super::*;
    use crate::edit::{NewReading, Place, add_reading, clear, set};

    const BLUESTONE: &str = include_str!("../../../../examples/bluestone.toml");

    fn read(text: &str) -> Preparation {
        let reading = crate::read(text.as_bytes());
        reading.preparation.unwrap_or_else(|| panic!("{:?}\n{text}", reading.findings))
    }

    /// The example without the figure of its precipitate.
    fn waiting() -> String {
        ["weigh", "at"].iter().fold(BLUESTONE.to_owned(), |text, key| {
            clear(&text, Place::Reading("r4"), key).expect("cleared")
        })
    }

    fn weighed(text: &str, figure: &str) -> String {
        set(text, Place::Reading("r4"), "weigh", &figure.into()).expect("set")
    }

    /// What a plan says of a reading: lines of findings, and the range beside the figure.
    fn told(plan: &Plan, id: &str) -> (Vec<(usize, String)>, Option<f64>, f64) {
        let findings = plan.findings.iter().map(|f| (f.line, f.message.clone())).collect();
        let expected = plan.steps.iter().flat_map(|s| &s.expects).find(|e| e.reading == id).expect("expected");
        (findings, expected.found, expected.interval.as_ref().map_or(f64::NAN, |i| i.median))
    }

    /// Entered figures change what was found and the lines of the findings, and a plan made anew says the same.
    #[test]
    fn a_plan_stands_when_something_is_weighed() {
        let (before, text) = (read(&waiting()), weighed(&waiting(), "43.90 g"));
        let now = read(&text);
        let plan = crate::plan(&before);
        let again = plan_again(&now, &before, &plan).expect("it stands");
        let (findings, found, median) = told(&again, "r4");
        let (anew, found_anew, median_anew) = told(&crate::plan(&now), "r4");
        assert_eq!((findings, found), (anew, found_anew));
        assert!((median - median_anew).abs() < 0.05 && found == Some(43.90), "{median} {median_anew} {found:?}");
        let longer = format!("# a remark\n# and another\n{text}");
        let moved = plan_again(&read(&longer), &before, &plan);
        assert!(moved.is_none_or(|moved| told(&moved, "r4").0 == told(&crate::plan(&read(&longer)), "r4").0));
    }

    /// The range of a second weighing of the same lot on the same balance is that of the first.
    #[test]
    fn a_further_reading_has_the_range_of_the_first() {
        let before = read(BLUESTONE);
        let plan = crate::plan(&before);
        let another = NewReading {
            weigh: Some("43.91 g".to_owned()),
            of: Some("precipitate".to_owned()),
            with: "pocket balance".to_owned(),
            ..NewReading::default()
        };
        let (text, id) = add_reading(BLUESTONE, "dry", &another).expect("added");
        let again = plan_again(&read(&text), &before, &plan).expect("it stands");
        assert_eq!(told(&again, &id).2, told(&plan, "r4").2);
        assert_eq!(told(&again, &id).1, Some(43.91));
        // What nobody planned has no range yet.
        let new = NewReading { of: Some("bulk oxide".to_owned()), ..another };
        let (text, _) = add_reading(BLUESTONE, "ignite", &new).expect("added");
        assert!(plan_again(&read(&text), &before, &plan).is_none());
    }

    #[test]
    fn a_changed_plan_is_made_anew() {
        let before = read(BLUESTONE);
        let plan = crate::plan(&before);
        for (from, to) in [
            ("\"126 g\"", "\"130 g\""),
            ("4 x 100 g", "3 x 100 g"),
            ("\"350 ± 5 g\"", "\"150 ± 5 g\""),
            ("capacity      = \"50 g\"", "capacity      = \"26 g\""),
            ("assay = \">= 98 %\"", "assay = \">= 90 %\""),
        ] {
            let changed = BLUESTONE.replacen(from, to, 1);
            assert_ne!(changed, BLUESTONE, "{from}");
            assert!(plan_again(&read(&changed), &before, &plan).is_none(), "{from}");
        }
    }
}
