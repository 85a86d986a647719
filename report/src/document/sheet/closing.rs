//! The end of a bench sheet: tares, forks, labels, remarks, waste, the closing check, the rule of correction.

use super::Bench;
use super::steps::{read_of, to_read};
use crate::document::{Align, Block, Cell, STANDING_LINES, Table};
use crate::number;
use prep::outcome::Expectation;

/// Lines left for remarks.
const REMARKS: usize = 5;

pub(super) fn closing(bench: &Bench<'_>) -> Vec<Block> {
    let mut blocks = tares(bench);
    blocks.extend(forks(bench));
    blocks.extend(labels(bench));
    blocks.push(Block::Heading("Deviations and remarks".to_owned()));
    blocks.push(Block::Table(remarks()));
    blocks.extend(waste(bench));
    blocks.extend(check(bench));
    blocks.push(Block::Heading("Corrections".to_owned()));
    blocks.push(Block::Paragraph(
        "A wrong figure gets one line through it and stays readable; the right one beside it, with date, initials and reason. Nothing is rubbed out, covered or written over. A blank that stays empty is struck. Figures are written as displayed, at once, with all digits; keep a photograph of the display where you can."
            .to_owned(),
    ));
    blocks.push(Block::Heading("Standing lines".to_owned()));
    blocks.push(Block::List(STANDING_LINES.iter().map(|line| (*line).to_owned()).collect()));
    blocks
}

/// Lines to write on, each with its time and initials.
fn remarks() -> Table {
    let mut table = Table::new(&[
        ("time", Align::Left),
        ("what was done or seen otherwise, and why", Align::Left),
        ("by", Align::Left),
    ]);
    (0..REMARKS).for_each(|_| table.push(table.columns.iter().map(|_| Cell::Fill(String::new())).collect()));
    table
}

/// Vessels to be weighed empty, three times.
fn tares(bench: &Bench<'_>) -> Vec<Block> {
    let weighed = |name: &str| bench.record.readings.iter().any(|r| r.vessel.as_deref() == Some(name));
    let mut table = Table::new(&[
        ("vessel", Align::Left),
        ("earlier", Align::Left),
        ("empty, 1", Align::Left),
        ("2", Align::Left),
        ("3", Align::Left),
        ("time", Align::Left),
    ]);
    for (name, tare) in bench.record.vessels.iter().filter(|(name, tare)| tare.is_some() || weighed(name)) {
        let before = tare.map_or_else(|| "none".to_owned(), |tare| number::unit(&number::plain(tare), "g"));
        let gram = || Cell::Fill("g".to_owned());
        table.push(vec![
            Cell::text(name.clone()),
            Cell::text(before),
            gram(),
            gram(),
            gram(),
            Cell::Fill(String::new()),
        ]);
    }
    match table.rows.is_empty() {
        true => Vec::new(),
        false => vec![Block::Heading("Tares".to_owned()), Block::Table(table)],
    }
}

/// What each reading decides, with its numbers.
fn forks(bench: &Bench<'_>) -> Vec<Block> {
    let mut points = Vec::new();
    for step in &bench.plan.steps {
        for (name, expectation) in to_read(bench.record, step) {
            points.extend(fork(name, &step.name, expectation));
        }
    }
    match points.is_empty() {
        true => Vec::new(),
        false => vec![Block::Heading("Decisions".to_owned()), Block::List(points)],
    }
}

fn fork(name: &str, step: &str, expectation: &Expectation) -> Option<String> {
    let interval = expectation.interval.as_ref()?;
    let ends = number::interval(interval);
    let (low, high) = ends.split_once('–').map(|(low, high)| (low.trim_matches(blank), high.trim_matches(blank)))?;
    let unit = interval.unit;
    let low = number::unit(low, unit);
    Some(format!(
        "{name} ({}; step {step}): below {low} or above {high}, weigh again and look at tare, balance and vessel; if it stays, stop and enter it before the next step. Inside, go on.",
        read_of(expectation)
    ))
}

fn blank(c: char) -> bool {
    c.is_whitespace() || c == number::NO_BREAK
}

/// Labels for portions, residues and the product.
fn labels(bench: &Bench<'_>) -> Vec<Block> {
    let tests = bench.record.steps.iter().filter(|step| step.test || step.action == "divide" || step.action == "sieve");
    let mut lots: Vec<&String> = tests.flat_map(|step| &step.gives).collect();
    lots.extend(bench.record.steps.last().and_then(|step| step.gives.last()));
    lots.dedup();
    let mut table = Table::new(&[
        ("label: lot", Align::Left),
        ("run", Align::Left),
        ("date", Align::Left),
        ("mass", Align::Left),
        ("kept where, until", Align::Left),
    ]);
    let fill = |unit: &str| Cell::Fill(unit.to_owned());
    for lot in lots {
        table.push(vec![Cell::text(lot.clone()), fill(""), fill(""), fill("g"), fill("")]);
    }
    table.push(vec![Cell::text("sample kept back"), fill(""), fill(""), fill("g"), fill("")]);
    vec![Block::Heading("Portions and samples".to_owned()), Block::Table(table)]
}

fn waste(bench: &Bench<'_>) -> Vec<Block> {
    let mut table = Table::new(&[
        ("waste", Align::Left),
        ("into", Align::Left),
        ("amount", Align::Left),
        ("date", Align::Left),
        ("by", Align::Left),
    ]);
    let fill = |unit: &str| Cell::Fill(unit.to_owned());
    for (jar, lots) in &bench.record.waste {
        for lot in lots {
            table.push(vec![Cell::text(lot.clone()), Cell::text(jar.clone()), fill("g"), fill(""), fill("")]);
        }
    }
    let named: Vec<&String> = bench.record.waste.iter().flat_map(|(_, lots)| lots).collect();
    let parted = bench.record.steps.iter().filter(|step| matches!(step.action.as_str(), "filter" | "decant"));
    let taken: Vec<&String> = bench.record.steps.iter().flat_map(|step| &step.takes).map(|(lot, _)| lot).collect();
    for lot in parted.flat_map(|step| &step.gives).filter(|lot| !named.contains(lot) && !taken.contains(lot)) {
        table.push(vec![Cell::text(lot.clone()), fill("jar"), fill("g"), fill(""), fill("")]);
    }
    table.push(vec![fill(""), fill("jar"), fill("g"), fill(""), fill("")]);
    vec![Block::Heading("Waste".to_owned()), Block::Table(table)]
}

fn check(bench: &Bench<'_>) -> Vec<Block> {
    let element = bench.record.elements.first().map_or("element", String::as_str);
    let mut table = Table::new(&[
        ("closing check", Align::Left),
        ("", Align::Left),
        ("against it", Align::Left),
        ("", Align::Left),
    ]);
    let rows = [
        ["mass taken in all", "g", "mass in hand: product, residues, liquors, portions", "g"].map(str::to_owned),
        [
            format!("{element} taken, by the account"),
            "g".to_owned(),
            format!("{element} found, by the account"),
            "g".to_owned(),
        ],
        ["every blank filled or struck", "yes", "balance reads zero; oven and gas off", "yes"].map(str::to_owned),
        ["signed, date", "", "read by a second person, date", ""].map(str::to_owned),
    ];
    for [taken, unit, found, against] in rows {
        table.push(vec![Cell::text(taken), Cell::Fill(unit), Cell::text(found), Cell::Fill(against)]);
    }
    vec![Block::Heading("Before the books are closed".to_owned()), Block::Table(table)]
}
