//! Which foreign solids stand in the books, and which can the file not mean?
//!
//! What the tables expect beside a written solid is a note with its amount; what the file states and nothing in the step
//! makes is a warning.

use super::super::compile::{BesideRecord, Compiled, Source};
use super::super::fell_out::significant;
use super::super::findings::finding;
use crate::model::{Preparation, Step};
use crate::outcome::{Finding, Severity};
use chem::Formula;

/// What the tables put into the books, in the order of the steps.
pub(super) fn expected(preparation: &Preparation, everything: &Compiled) -> Vec<Finding> {
    booked(preparation, everything).filter_map(|(step, one)| Some(told(step, one, one.amount?))).collect()
}

/// What the file states and nothing makes.
pub(in crate::evaluate) fn not_made(preparation: &Preparation, everything: &Compiled) -> Vec<Finding> {
    let nowhere = |(_, one): &(&Step, &BesideRecord)| one.source == Source::Nowhere;
    booked(preparation, everything).filter(nowhere).map(|(step, one)| unmade(step, &one.solid)).collect()
}

fn booked<'a>(
    preparation: &'a Preparation,
    everything: &'a Compiled,
) -> impl Iterator<Item = (&'a Step, &'a BesideRecord)> {
    let step = |number: usize| preparation.steps.get(number);
    let of = everything.wet.iter().filter_map(move |record| Some((step(record.step)?, &record.booked)));
    of.flat_map(|(step, booked)| booked.iter().map(move |one| (step, one)))
}

fn told(step: &Step, one: &BesideRecord, (amount, spread): (f64, f64)) -> Finding {
    let (name, solid) = (&step.name.value, &one.solid);
    let molar = solid.molar_mass().map_or(f64::NAN, |molar| molar.value);
    let message = format!(
        "in step `{name}` {} g of {solid} is expected to fall out beside, uncertain by {:.0} %; the books hold it \
         (derived): {}",
        significant(amount * molar, 2),
        100.0 * spread / amount,
        one.equation
    );
    let hint = format!(
        "`beside = {{ \"{solid}(s)\" = \"0 %\" }}` leaves it out, another share sets it; a `reaction` of your own \
         takes its place"
    );
    finding("falls-out-beside", Severity::Note, Some(&step.name.span), message, &hint)
}

fn unmade(step: &Step, solid: &Formula) -> Finding {
    let place = step.beside.iter().find(|(stated, _)| stated.value.formula == *solid);
    let span = place.map_or(&step.name.span, |(stated, _)| &stated.span);
    let message = format!("`beside` of step `{}`: nothing dissolved there makes {solid}", step.name.value);
    let hint = "check the formula: its ions have to be dissolved when the reactions have run";
    finding("beside-not-made", Severity::Warning, Some(span), message, hint)
}
