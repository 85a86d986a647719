//! The report on one page: verdict, hazards, the weighings that it rests on, the books, the grades, corrections.

use super::{Written, grades, head, rest};
use crate::document::account::books;
use crate::document::{Align, Block, Cell, Inline, Table, identifier, target};
use crate::figure::yields_figure;
use crate::number;
use crate::strip::{Mark, Scale, Strip};
use chem::quantity::Status;

/// Readings on the page.
const MOST_READINGS: usize = 7;
/// What the letters behind figures mean, and where the rest is.
const MARKS: &str =
    "Raised letters: m measured, d derived from other figures. Formulas and sources: in the full report.";
/// Statements on the page.
const MOST_STATEMENTS: usize = 5;

pub(super) fn brief(written: &Written<'_>) -> Vec<Block> {
    let mut blocks = head::summary(written, "in the full report");
    let gravest: Vec<String> = written.plan.screening.gravest.iter().take(1).cloned().collect();
    blocks.extend(gravest.into_iter().map(Block::Caution));
    blocks.push(Block::Heading("Weighings that it rests on".to_owned()));
    let weighings = weighings(written);
    blocks.push(match weighings.rows.is_empty() {
        true => Block::Paragraph("None: nothing was weighed.".to_owned()),
        false => Block::Table(weighings),
    });
    blocks.extend(books::streams(written.account).into_iter().filter_map(shortened));
    if let Some(figure) = yields_figure(written.account) {
        blocks.push(Block::Heading("Yields".to_owned()));
        blocks.push(Block::Figure(Box::new(figure)));
    }
    let mut graded = grades::table(written);
    graded.rows.truncate(MOST_STATEMENTS);
    blocks.push(Block::Heading("What the evidence carries".to_owned()));
    blocks.push(Block::Table(graded));
    let corrections = rest::corrections(written);
    if !corrections.is_empty() {
        blocks.push(Block::Heading("Corrections".to_owned()));
        blocks.extend(corrections);
    }
    blocks.push(Block::Paragraph(MARKS.to_owned()));
    blocks
}

/// Headings and tables alone, without the streams that hold nothing.
fn shortened(block: Block) -> Option<Block> {
    match block {
        Block::Table(mut table) => {
            let nothing = |mass: &str| mass.chars().all(|c| matches!(c, '0' | '.'));
            table.rows.retain(|row| !matches!(row.get(1), Some(Cell::Text(mass)) if nothing(mass)));
            Some(Block::Table(table))
        }
        Block::Heading(_) => Some(block),
        _ => None,
    }
}

/// Turns links whose target is not on the page into words.
pub(super) fn unlink(blocks: &mut [Block]) {
    let mut ids: Vec<String> = Vec::new();
    each_line(blocks, &mut |line| {
        ids.extend(line.iter().filter_map(|part| match part {
            Inline::Target { id, .. } => Some(id.clone()),
            _ => None,
        }));
    });
    ids.extend(blocks.iter().filter_map(|block| match block {
        Block::Anchored { id, .. } => Some(id.clone()),
        _ => None,
    }));
    each_line(blocks, &mut |line| {
        for part in line {
            if let Inline::Link { to, text } = part
                && !ids.contains(to)
            {
                *part = Inline::Text(std::mem::take(text));
            }
        }
    });
}

/// Shows every line of the blocks.
fn each_line(blocks: &mut [Block], visit: &mut dyn FnMut(&mut Vec<Inline>)) {
    for block in blocks {
        match block {
            Block::Line(line) | Block::Lead(line) => visit(line),
            Block::Table(table) => table.rows.iter_mut().flatten().for_each(|cell| {
                if let Cell::Line(line) = cell {
                    visit(line);
                }
            }),
            _ => {}
        }
    }
}

fn weighings(written: &Written<'_>) -> Table {
    let mut table = Table::new(&[
        ("step", Align::Left),
        ("reading", Align::Left),
        ("expected, 9 in 10", Align::Left),
        ("", Align::Strip),
        ("found", Align::Left),
    ]);
    let stands = written.record.readings.iter().filter(|r| r.figure.is_some() && r.corrected_by.is_none());
    let stands: Vec<_> = stands.collect();
    for reading in stands.iter().skip(stands.len().saturating_sub(MOST_READINGS)) {
        let expected = written.plan.steps.iter().flat_map(|step| &step.expects).find(|e| e.reading == reading.id);
        let interval = expected.and_then(|expected| expected.interval.as_ref());
        let strip = interval.map_or_else(Cell::blank, |interval| {
            let marks = expected.and_then(|expected| expected.found).map(Mark::Found).into_iter().collect();
            Cell::Strip(Strip { interval: Some(interval.clone()), scale: Scale::own(interval), marks })
        });
        let vessel = reading.vessel.as_ref().filter(|vessel| !reading.what.starts_with(vessel.as_str()));
        let with = vessel.map_or_else(String::new, |vessel| format!(" in {vessel}"));
        table.push(vec![
            Cell::text(reading.step.clone()),
            Cell::Line(vec![target(
                identifier("reading", &reading.id),
                format!("{}: {}{with}", reading.id, reading.what),
            )]),
            Cell::text(interval.map_or_else(String::new, number::interval)),
            strip,
            Cell::Line(vec![
                Inline::Text(number::tied(reading.figure.as_deref().unwrap_or_default())),
                Inline::Status(Status::Measured),
            ]),
        ]);
    }
    table
}
