//! Do the reagents reach for the element, whatever form they are in?
//!
//! For each pure form that a supply may hold, the reagent's reach is the share of the element it could serve, at
//! the median of everything else and over the label range of the supply that brings the element.

use super::super::compile::Compiled;
use super::super::findings::finding;
use super::super::table::SpeciesTable;
use crate::model::{Preparation, Step};
use crate::outcome::{Finding, Severity};
use chem::{Element, Species};
use engine::ledger::{Ledger, SpeciesIndex, Value, Workspace};

/// Reach below which a reagent is said to limit, %.
const ENOUGH: f64 = 99.0;
/// Coordinate that stands for the end of a label range.
const END: f64 = 7.5;

/// Reach of a reagent in one form: at the rich end of the label of what it serves, at the median, at the lean end; %.
struct Reach {
    form: String,
    least: f64,
    middle: f64,
    most: f64,
}

/// What is to be said of the reagents.
pub(super) fn reagent_findings(preparation: &Preparation, table: &SpeciesTable, everything: &Compiled) -> Vec<Finding> {
    let Some(element) = preparation.account_for.first().copied() else { return Vec::new() };
    let mut list = Vec::new();
    for (note, record) in everything.notes.iter().enumerate().filter(|(_, record)| record.text.is_some()) {
        let holds = |s: &SpeciesIndex| *table.species(*s).formula.count(element).numer() != 0;
        let Some(main) = record.consumed.iter().position(holds) else { continue };
        let step = &preparation.steps[record.step];
        for (k, species) in record.consumed.iter().enumerate() {
            let kind = table.species(*species);
            if k != main && !table.is_water(*species) {
                let mut reaches =
                    reaches(preparation, everything, table, Question { note, reagent: k, main, element }, step);
                reaches.retain(|r| r.least.is_finite() && r.middle.is_finite() && r.most.is_finite());
                if !reaches.is_empty() {
                    list.push(told(preparation, step, kind, element, &reaches));
                }
            }
        }
    }
    list
}

#[derive(Clone, Copy)]
struct Question {
    note: usize,
    reagent: usize,
    main: usize,
    element: Element,
}

fn told(preparation: &Preparation, step: &Step, kind: &Species, element: Element, reaches: &[Reach]) -> Finding {
    let least = reaches.iter().map(|r| r.middle).fold(f64::INFINITY, f64::min);
    let source = step.take.iter().find(|t| brings(preparation, &t.source.value, kind));
    let span = source.map_or(&step.name.span, |t| &t.amount.span);
    let (name, symbol) = (&step.name.value, element.symbol());
    if least < ENOUGH {
        let forms: Vec<String> = reaches.iter().map(|r| format!("{:.0} % if it is {}", r.middle, r.form)).collect();
        let message =
            format!("{kind} limits in step `{name}`: it reaches for only part of the {symbol}: {}", forms.join(", "));
        let hint = "reckon the charge from the form that is in the bag; a hydrate weighs more than the anhydrous salt";
        return finding("reagent-limits", Severity::Warning, Some(span), message, hint);
    }
    let forms: Vec<String> = reaches
        .iter()
        .map(|r| {
            // Rounded first: a hair below is no excess, not less than none.
            let (low, high) = (whole(r.least - 100.0), whole(r.most - 100.0));
            let range = if low == high { low } else { format!("{low}–{high}") };
            format!("{range} % excess if it is {}", r.form)
        })
        .collect();
    let message = format!("{kind} suffices in step `{name}`: {}", forms.join(", "));
    let hint = "enough whatever form it is in; what is in excess goes into the liquor and, held, into the cake";
    finding("reagent-excess", Severity::Note, Some(span), message, hint)
}

/// A number to the unit, without a sign on nothing.
fn whole(value: f64) -> String {
    format!("{:.0}", value.round() + 0.0)
}

/// Whether a supply brings a dissolved species.
fn brings(preparation: &Preparation, supply: &str, species: &Species) -> bool {
    let dry = species.formula.without_hydrate_water();
    preparation.supply(supply).is_some_and(|i| {
        preparation.supplies[i].holds.iter().any(|h| h.value.formula.without_hydrate_water().same_substance(&dry))
    })
}

/// The reach of a reagent for each form its supply may hold.
fn reaches(
    preparation: &Preparation,
    everything: &Compiled,
    table: &SpeciesTable,
    question: Question,
    step: &Step,
) -> Vec<Reach> {
    let kind = table.species(everything.notes[question.note].consumed[question.reagent]);
    let supply = step
        .take
        .iter()
        .map(|t| t.source.value.as_str())
        .find(|name| brings(preparation, name, kind))
        .and_then(|name| preparation.supply(name));
    let Some(supply) = supply else {
        return vec![reach(everything, table, question, everything.ledger.clone(), "as charged".to_owned())];
    };
    if preparation.supplies.get(supply).is_some_and(|s| s.solution) {
        // Its strength is its one form.
        let name = format!("{} as labelled", preparation.supplies[supply].name.value);
        return vec![reach(everything, table, question, everything.ledger.clone(), name)];
    }
    (0..everything.ledger.supplies[supply].parts.len())
        .map(|form| {
            let mut ledger = everything.ledger.clone();
            for (i, (_, stick)) in ledger.supplies[supply].parts.iter_mut().enumerate() {
                *stick = Value::Constant(if i == form { 1.0 } else { 0.0 });
            }
            let species = everything.ledger.supplies[supply].parts[form].0;
            reach(everything, table, question, ledger, table.species(species).to_string())
        })
        .collect()
}

fn reach(everything: &Compiled, table: &SpeciesTable, question: Question, ledger: Ledger, form: String) -> Reach {
    let counts = table.counts(question.element);
    let mut room = Workspace::<f64>::new(&ledger);
    let mut at = |end: f64| {
        let mut ledger = ledger.clone();
        for supply in &mut ledger.supplies {
            if let Value::Unknown(i) = supply.assay
                && supply.parts.iter().any(|(s, _)| counts[*s] > 0.0)
            {
                supply.assay = Value::Constant(everything.ledger.unknowns[i].image(end));
            }
        }
        ledger.run(&vec![0.0; ledger.unknowns.len()], &mut room);
        100.0 * room.allowed[question.note][question.reagent] / room.allowed[question.note][question.main]
    };
    Reach { form, least: at(END), middle: at(0.0), most: at(-END) }
}
