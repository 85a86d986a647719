//! Which test next: what is at stake, what may be so, and what each test would tell.

use super::{Align, Block, Cell, Document, Table, findings, sentence, standing};
use crate::number;
use prep::outcome::{Next, Possibility};

/// Columns of the table of predictions that a page has room for.
const MOST_COLUMNS: usize = 6;
/// Probability from which a claim counts as settled.
const CERTAIN: f64 = 0.95;

/// The answer as a page.
#[must_use]
pub fn next_document(next: &Next) -> Document {
    let mut blocks = section(next);
    blocks.extend(findings::section(&next.findings));
    blocks.push(Block::Paragraph(
        "Expected information of each test by the table of tests and the scatter of your finest balance; the causes and compositions are those of the account, as likely beforehand as it says; suppositions of the file are taken as likely as not. ± is one standard uncertainty of a reading.".to_owned(),
    ));
    blocks.extend(standing::standing());
    Document { title: format!("Which test next: {}", next.title), blocks }
}

/// What the account prints of it: the advice and the best tests.
pub(super) fn brief(next: &Next) -> Vec<Block> {
    let mut blocks = vec![Block::Paragraph(format!(
        "{}. {}: “{}”, of {}; it holds now with probability {}.",
        sentence(&next.advice),
        if next.stated { "The claim" } else { "Asked, for want of a stated claim" },
        next.claim,
        next.lot,
        number::chance(next.probability)
    ))];
    let telling: Vec<String> = next
        .tests
        .iter()
        .take(3)
        .map(|test| {
            format!(
                "{} of {}: {} bit on the claim, {} on what is so; {} and {}.",
                sentence(&test.test),
                test.lot,
                number::fixed(test.information_bits, 2),
                number::fixed(test.hypothesis_bits, 2),
                number::unit(&number::significant(test.sample.value, 2), "g"),
                number::unit(&number::significant(test.time.value, 2), "h"),
            )
        })
        .collect();
    if !telling.is_empty() {
        blocks.push(Block::List(telling));
    }
    blocks
}

fn section(next: &Next) -> Vec<Block> {
    let mut blocks = vec![Block::Claim(format!("{}.", sentence(&next.advice)))];
    if next.possibilities.is_empty() {
        return blocks;
    }
    let whose = if next.stated { "The claim" } else { "No claim is stated; asked instead, for want of one" };
    blocks.push(Block::Paragraph(format!(
        "{whose}: “{}”, of {}. It holds now with probability {}.",
        next.claim,
        next.lot,
        number::chance(next.probability)
    )));
    blocks.extend(possibilities(&next.possibilities));
    blocks.extend(tests(next));
    blocks.extend(predictions(next));
    let pairs: Vec<String> = next.degenerate.iter().map(|(a, b)| format!("{a} — {b}")).collect();
    if !pairs.is_empty() {
        blocks.push(Block::Paragraph("No test of the list tells these apart:".to_owned()));
        blocks.push(Block::List(pairs));
    }
    blocks
}

fn possibilities(list: &[Possibility]) -> Vec<Block> {
    let mut table = Table::new(&[
        ("", Align::Left),
        ("what may be so", Align::Left),
        ("probability", Align::Point),
        ("the claim then holds", Align::Point),
    ]);
    for (place, possibility) in list.iter().enumerate().filter(|(_, p)| p.probability > 0.005) {
        table.push(vec![
            Cell::text(letter(place)),
            Cell::text(possibility.text.clone()),
            Cell::text(number::chance(possibility.probability)),
            Cell::text(number::chance(possibility.claim_holds)),
        ]);
    }
    vec![Block::Heading("What may be so".to_owned()), Block::Table(table)]
}

/// Letter of a possibility: a, b, …, z, then numbers.
fn letter(place: usize) -> String {
    u8::try_from(place)
        .ok()
        .filter(|p| *p < 26)
        .map_or_else(|| (place + 1).to_string(), |p| char::from(b'a' + p).to_string())
}

fn tests(next: &Next) -> Vec<Block> {
    let list = &next.tests;
    if list.is_empty() {
        return Vec::new();
    }
    let settled = next.probability > CERTAIN || next.probability < 1.0 - CERTAIN;
    let mut told = Table::new(&[
        ("test", Align::Left),
        ("of", Align::Left),
        ("bits on the claim", Align::Point),
        ("on what is so", Align::Point),
        ("that after the first", Align::Point),
        ("settles the claim", Align::Point),
    ]);
    let mut takes = Table::new(&[
        ("test", Align::Left),
        ("portion, g", Align::Point),
        ("time, h", Align::Point),
        ("portion is", Align::Left),
        ("what goes wrong", Align::Left),
    ]);
    for test in list {
        told.push(vec![
            Cell::text(test.test.clone()),
            Cell::text(test.lot.clone()),
            Cell::text(number::fixed(test.information_bits, 2)),
            Cell::text(number::fixed(test.hypothesis_bits, 2)),
            Cell::text(number::fixed(test.added_bits, 2)),
            Cell::text(if settled { "settled already".to_owned() } else { number::chance(test.settles) }),
        ]);
        takes.push(vec![
            Cell::text(test.test.clone()),
            Cell::text(number::significant(test.sample.value, 2)),
            Cell::text(number::significant(test.time.value, 2)),
            Cell::text(if test.destroys { "used up" } else { "kept" }),
            Cell::text(test.traps.clone()),
        ]);
    }
    vec![
        Block::Heading("What each test would tell".to_owned()),
        Block::Table(told),
        Block::Heading("What each test takes".to_owned()),
        Block::Table(takes),
    ]
}

/// What each possibility predicts for each test: one row a test, one column a possibility.
fn predictions(next: &Next) -> Vec<Block> {
    let Some(first) = next.tests.first() else { return Vec::new() };
    let places: Vec<usize> = first.predictions.iter().map(|p| p.possibility).take(MOST_COLUMNS).collect();
    let letters: Vec<String> = places.iter().map(|place| letter(*place)).collect();
    let mut columns = vec![("test", Align::Left)];
    columns.extend(letters.iter().map(|letter| (letter.as_str(), Align::Point)));
    columns.push(("single reading ±", Align::Point));
    let mut table = Table::new(&columns);
    for test in &next.tests {
        let unit = test.predictions.first().map_or("", |p| p.reading.unit);
        let basis = test.predictions.first().and_then(|p| p.reading.basis.as_deref());
        let yes = if basis == Some("chance of a yes") { "yes, " } else { "" };
        let uncertainties = test.predictions.iter().filter_map(|p| p.reading.standard_uncertainty);
        let least = uncertainties.reduce(f64::min);
        let decimals = least.and_then(number::decimals_for).unwrap_or(0);
        let cells = places.iter().map(|place| {
            let reading = test.predictions.iter().find(|p| p.possibility == *place).map(|p| &p.reading);
            Cell::text(reading.map_or_else(String::new, |reading| number::fixed(reading.value, decimals)))
        });
        let name = Cell::text(format!("{}, {yes}{unit}", test.test));
        let scatter = Cell::text(least.map_or_else(String::new, |u| number::significant(u, 2)));
        table.push(std::iter::once(name).chain(cells).chain([scatter]).collect());
    }
    vec![Block::Heading("What each would read".to_owned()), Block::Table(table)]
}
