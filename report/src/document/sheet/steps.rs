//! The steps of a bench sheet: cautions first, what to do, what to expect, blanks, when not to go on.

use super::Bench;
use crate::document::{Align, Block, Cell, Table, resources, sentence};
use crate::number;
use crate::strip::{Scale, Strip};
use prep::outcome::{Expectation, Interval, PlannedStep, RunRecord};

/// Lines for a reading that is made until the mass stays; more go under the remarks.
const WEIGHINGS: usize = 3;

pub(super) fn steps(bench: &Bench<'_>) -> Vec<Block> {
    let mut blocks = vec![Block::Heading("Steps".to_owned())];
    if bench.plan.steps.is_empty() {
        blocks.push(Block::Paragraph("None: the file has no steps.".to_owned()));
    }
    let mut stop = 0;
    for (index, step) in bench.plan.steps.iter().enumerate() {
        blocks.extend(one(bench, index, step, stop));
        stop += stops(bench.record, &step.name);
    }
    blocks
}

/// Places at the bench that a step has: one for each reading that corrects none, and one where there is none.
fn stops(record: &RunRecord, step: &str) -> usize {
    let readings = record.readings.iter().filter(|reading| !reading.test && reading.corrects.is_none());
    readings.filter(|reading| reading.step == step).count().max(1)
}

fn one(bench: &Bench<'_>, index: usize, step: &PlannedStep, stop: usize) -> Vec<Block> {
    let mut blocks = vec![Block::Subheading(format!("{}  {}", index + 1, sentence(&step.name)))];
    blocks.push(Block::Address {
        text: format!("step {} at the bench", index + 1),
        address: format!("{}?at={stop}", bench.address),
    });
    blocks.extend(step.cautions.iter().map(|caution| Block::Caution(caution.clone())));
    if !step.instruction.is_empty() {
        blocks.push(Block::Paragraph(step.instruction.clone()));
    }
    blocks.extend(step.vessel.iter().map(resources::vessel));
    blocks.extend(gives(step));
    let holds = bench.plan.screening.steps.get(index).map_or(&[][..], |screened| &screened.holds);
    blocks.extend(holds.iter().map(|hold| {
        Block::Hold(format!("Go on when {}. Read: {}. If not: {}.", hold.condition, hold.proof, hold.otherwise))
    }));
    blocks.push(Block::Table(blanks(bench.record, step)));
    blocks
}

fn gives(step: &PlannedStep) -> Option<Block> {
    let told = |word: &str, pairs: &[(String, Interval)]| {
        let parts: Vec<String> =
            pairs.iter().map(|(name, amount)| format!("{name} {}", number::interval(amount))).collect();
        (!parts.is_empty()).then(|| format!("{word}: {}.", parts.join(", ")))
    };
    let parts: Vec<String> =
        [told("Gives", &step.gives), told("Lets off", &step.vents)].into_iter().flatten().collect();
    (!parts.is_empty()).then(|| Block::Paragraph(parts.join(" ")))
}

/// One line for each reading that is to be made, or one that says it was done.
fn blanks(record: &RunRecord, step: &PlannedStep) -> Table {
    let mut table = Table::new(&[
        ("reading", Align::Left),
        ("expected", Align::Left),
        ("", Align::Strip),
        ("read", Align::Left),
        ("time", Align::Left),
        ("by", Align::Left),
        ("if outside", Align::Left),
    ]);
    for (name, expectation) in to_read(record, step) {
        let series = record.readings.iter().any(|r| r.id == expectation.reading && !r.series.is_empty());
        table.push(row(name, expectation, series));
        if series {
            table.rows.extend((2..=WEIGHINGS).map(|count| again(name, count, unit(expectation))));
        }
    }
    if table.rows.is_empty() {
        table = Table::new(&[
            ("done as written, or how else", Align::Left),
            ("colour, gas, temperature seen", Align::Left),
            ("time", Align::Left),
            ("by", Align::Left),
        ]);
        table.push(vec![
            Cell::Fill(String::new()),
            Cell::Fill(String::new()),
            Cell::Fill(String::new()),
            Cell::Fill(String::new()),
        ]);
    }
    table
}

/// The readings to make in a step, each under the name it had before any correction, and once.
pub(super) fn to_read<'a>(record: &'a RunRecord, step: &'a PlannedStep) -> Vec<(&'a str, &'a Expectation)> {
    let mut list: Vec<(&str, &Expectation)> = Vec::new();
    for expectation in &step.expects {
        let name = first_name(record, &expectation.reading);
        if !list.iter().any(|(known, _)| *known == name) {
            list.push((name, expectation));
        }
    }
    list
}

/// Name of the reading that a chain of corrections began with.
fn first_name<'a>(record: &'a RunRecord, id: &'a str) -> &'a str {
    let mut name = id;
    // A chain is no longer than there are readings.
    for _ in &record.readings {
        let corrected = record.readings.iter().find(|r| r.id == name).and_then(|r| r.corrects.as_deref());
        match corrected {
            Some(first) => name = first,
            None => break,
        }
    }
    name
}

/// Unit of a reading.
fn unit(expectation: &Expectation) -> &'static str {
    expectation.interval.as_ref().map_or("g", |interval| interval.unit)
}

/// What is read, and above what, where the range is not that of the whole pan.
pub(super) fn read_of(expectation: &Expectation) -> String {
    match expectation.interval.as_ref().and_then(|interval| interval.basis.as_deref()) {
        Some(basis) if basis.starts_with("above") => format!("{}, {basis}", expectation.what),
        _ => expectation.what.clone(),
    }
}

/// A further line of a reading that is made until the mass stays.
fn again(name: &str, count: usize, unit: &str) -> Vec<Cell> {
    let fill = |unit: &str| Cell::Fill(unit.to_owned());
    let word = format!("{name}, weighing {count}");
    vec![Cell::text(word), Cell::blank(), Cell::blank(), fill(unit), fill(""), fill(""), Cell::blank()]
}

fn row(name: &str, expectation: &Expectation, series: bool) -> Vec<Cell> {
    let expected = expectation.interval.as_ref().map_or_else(|| "any".to_owned(), number::interval);
    let strip = expectation.interval.as_ref().map_or_else(Cell::blank, |interval| {
        Cell::Strip(Strip { interval: Some(interval.clone()), scale: Scale::own(interval), marks: Vec::new() })
    });
    let what = read_of(expectation);
    let rule = match (&expectation.interval, series) {
        (_, true) => "weigh until two in a row agree".to_owned(),
        (Some(_), false) => "weigh again; if it stays, find the cause first".to_owned(),
        (None, false) => "no range: note it twice".to_owned(),
    };
    vec![
        Cell::text(format!("{name}: {what}")),
        Cell::text(expected),
        strip,
        Cell::Fill(unit(expectation).to_owned()),
        Cell::Fill(String::new()),
        Cell::Fill(String::new()),
        Cell::text(rule),
    ]
}
