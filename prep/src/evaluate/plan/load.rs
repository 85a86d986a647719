//! Does the balance carry what will be put on it, vessel included?
//!
//! Only readings that are still to be made: a figure above the capacity is a finding of the file itself. Where the mass
//! of the vessel is not known, what is in it is already the least that the balance has to carry.

use super::super::compile::ReadingPlace;
use super::super::draws::figure;
use super::super::findings::finding;
use crate::model::Preparation;
use crate::outcome::{Finding, Interval, Severity};

/// What is to be said of a reading that is still to be made; `expected` is what its balance has to carry, g.
pub(super) fn overload(preparation: &Preparation, place: ReadingPlace, expected: &Interval) -> Option<Finding> {
    let reading = preparation.steps.get(place.step)?.readings.get(place.reading)?;
    let balance = preparation.instruments.iter().find(|x| x.name.value == reading.with.value)?;
    let capacity = balance.capacity * 1e3;
    if reading.weigh.is_some() || expected.high <= capacity {
        return None;
    }
    let (id, name) = (&reading.id.value, &balance.name.value);
    let load = format!("{} to {} g", figure(expected.low), figure(expected.high));
    let (code, severity, word) = if expected.low > capacity {
        ("balance-overloaded", Severity::Warning, "will put")
    } else {
        ("balance-may-be-overloaded", Severity::Note, "may put")
    };
    let message = format!("reading `{id}` {word} {load} on `{name}`, which carries {} g", figure(capacity));
    let hint = "use a larger balance or a lighter vessel, or weigh in portions";
    Some(finding(code, severity, Some(&reading.with.span), message, hint))
}
