//! All readings as written, beside what was expected of them, and the series of drying and ignition.

use super::Written;
use super::results::by;
use crate::document::references::References;
use crate::document::sheet::when;
use crate::document::{Align, Block, Cell, Inline, Table, dry, identifier, link, target, words};
use crate::figure::drying_figure;
use crate::number;
use crate::strip::{Mark, Scale, Strip};
use chem::quantity::Status;
use prep::outcome::{Expectation, RecordedReading};

/// The readings, the series of weighings, the tests.
pub(super) fn readings(written: &Written<'_>, references: &mut References) -> Vec<Block> {
    let mut blocks = vec![Block::Heading("Readings".to_owned())];
    if written.record.readings.is_empty() {
        blocks.push(Block::Paragraph("None.".to_owned()));
        return blocks;
    }
    let mut table = Table::new(&[
        ("no.", Align::Left),
        ("what, with", Align::Left),
        ("found", Align::Left),
        ("±, g", Align::Point),
        ("expected, 9 in 10", Align::Left),
        ("", Align::Strip),
        ("when", Align::Left),
    ]);
    for reading in &written.record.readings {
        table.push(row(written, reading));
    }
    blocks.push(Block::Table(table));
    let mut line = vec![words(
        "Figures as displayed. ± is one standard uncertainty of the balance alone: repeatability, with rounding, and slope; what readings of one balance share is in the account. Expected: by the plan, which sees no reading",
    )];
    line.extend(references.cite_all([
        "JCGM 100:2008, Evaluation of measurement data: Guide to the expression of uncertainty in measurement, 7.2.6",
    ]));
    line.extend([words(" ("), link(identifier("formula", "expected"), "formula\u{a0}G"), words(").")]);
    blocks.push(Block::Line(line));
    for (place, series) in written.account.series.iter().enumerate() {
        // One heading for all, each with its figure.
        let told = dry::series_section(std::slice::from_ref(series)).into_iter().skip(usize::from(place > 0));
        blocks.extend(told.map(lowered));
        blocks.push(by(&[("series", "I")]));
        blocks.extend(drying_figure(&series.answer).map(|figure| Block::Figure(Box::new(figure))));
    }
    blocks
}

fn lowered(block: Block) -> Block {
    match block {
        Block::Heading(text) | Block::Subheading(text) => Block::Subheading(text),
        other => other,
    }
}

fn row(written: &Written<'_>, reading: &RecordedReading) -> Vec<Cell> {
    let expected = written.plan.steps.iter().flat_map(|step| &step.expects).find(|e| e.reading == reading.id);
    let interval = expected.and_then(|expected| expected.interval.as_ref());
    let vessel = reading.vessel.as_ref().filter(|vessel| !reading.what.starts_with(vessel.as_str()));
    let with = vessel.map_or_else(String::new, |vessel| format!(" in {vessel}"));
    let told = interval.map_or_else(String::new, |interval| {
        let basis = interval.basis.as_deref().filter(|basis| basis.starts_with("above"));
        basis.map_or_else(|| number::interval(interval), |basis| format!("{}, {basis}", number::interval(interval)))
    });
    vec![
        Cell::Line(vec![target(identifier("reading", &reading.id), reading.id.clone())]),
        Cell::text(format!("{}{with}; {}", reading.what, reading.with)),
        Cell::Line(found(reading)),
        Cell::text(reading.uncertainty.map_or_else(String::new, |u| number::significant(u, 2))),
        Cell::text(told),
        expected.map_or_else(Cell::blank, strip),
        Cell::text(reading.at.as_deref().map_or_else(String::new, when)),
    ]
}

fn found(reading: &RecordedReading) -> Vec<Inline> {
    let Some(figure) = &reading.figure else { return vec![words("not read")] };
    let figure = number::tied(figure);
    if let Some(by) = &reading.corrected_by {
        return vec![Inline::Struck(figure), words(" see "), link(identifier("reading", by), by.clone())];
    }
    let mut line = vec![words(figure), Inline::Status(Status::Measured)];
    if let Some(first) = &reading.corrects {
        line.push(words(" for "));
        line.push(link(identifier("reading", first), first.clone()));
    }
    if !reading.series.is_empty() {
        line.push(words(format!(", last of {}", reading.series.len())));
    }
    line
}

fn strip(expected: &Expectation) -> Cell {
    let Some(interval) = &expected.interval else { return Cell::blank() };
    let marks = expected.found.map(Mark::Found).into_iter().collect();
    Cell::Strip(Strip { interval: Some(interval.clone()), scale: Scale::own(interval), marks })
}
