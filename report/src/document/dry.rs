//! A series of weighings: is it dry, and where is it heading?

use super::{Align, Block, Cell, Document, Table, findings, standing};
use crate::number;
use prep::outcome::{DryAnswer, WeighedSeries};

/// The answer as a page.
#[must_use]
pub fn dry_document(answer: &DryAnswer) -> Document {
    let mut blocks = vec![Block::Claim(verdict(answer))];
    blocks.extend(outlook(answer));
    blocks.extend(weighings(answer));
    blocks.extend(levels(answer));
    blocks.extend(findings::section(&answer.findings));
    blocks.push(Block::Paragraph(
        "± is one standard uncertainty; a range holds 9 times in 10. Drying is taken to slow down evenly; thick layers are slower at the end. Weigh cold, from a desiccator."
            .to_owned(),
    ));
    blocks.extend(standing::standing());
    Document { title: "Is it dry?".to_owned(), blocks }
}

/// Series of weighings within an account: a section, or none.
pub(super) fn series_section(list: &[WeighedSeries]) -> Vec<Block> {
    if list.is_empty() {
        return Vec::new();
    }
    let mut blocks = vec![Block::Heading("Weighed until constant".to_owned())];
    for series in list {
        let answer = &series.answer;
        let lot = series.lot.as_deref().unwrap_or("what is on the pan");
        blocks
            .push(Block::Subheading(format!("{lot} in {}: reading {}, {}", series.step, series.reading, series.basis)));
        blocks.push(Block::Paragraph(verdict(answer)));
        blocks.push(Block::Table(weighings_table(answer)));
        blocks.extend(outlook_table(answer).map(Block::Table));
        if !answer.levels.is_empty() {
            blocks.push(Block::Table(levels_table(answer)));
            blocks.push(Block::Paragraph(
                "Each mass is what the element expected in the lot, by the plan and earlier readings, would weigh as that solid alone."
                    .to_owned(),
            ));
        }
    }
    blocks
}

fn verdict(answer: &DryAnswer) -> String {
    let tolerance = number::unit(&number::plain(100.0 * answer.tolerance), "%");
    match (answer.verdict, &answer.final_mass, &answer.intervals) {
        ("done", Some(end), _) => {
            format!("Done: no more than {tolerance} is left to lose. Final mass {}.", number::mean(end))
        }
        ("not yet", Some(end), Some(left)) => format!(
            "Not yet: it is heading for {}; {} more such intervals to within {tolerance}.",
            number::mean(end),
            number::interval_bare(left)
        ),
        ("out of line", ..) => {
            "The last weighing is out of line with the ones before it: weigh again before anything is concluded."
                .to_owned()
        }
        _ => "Too few weighings in line to say where it is heading.".to_owned(),
    }
}

fn outlook(answer: &DryAnswer) -> Vec<Block> {
    let table = outlook_table(answer).map(Block::Table);
    table.into_iter().flat_map(|table| [Block::Heading("Where it is heading".to_owned()), table]).collect()
}

fn outlook_table(answer: &DryAnswer) -> Option<Table> {
    let mut table = Table::new(&[("", Align::Left), ("g", Align::Point), ("9 in 10", Align::Point)]);
    let rows = [
        ("final mass", &answer.final_mass),
        ("still to be lost", &answer.remaining),
        ("next weighing, after an interval like the last", &answer.next),
    ];
    for (name, interval) in rows {
        if let Some(interval) = interval {
            table.push(vec![
                Cell::text(name),
                Cell::text(number::mean_bare(interval)),
                Cell::text(number::interval_bare(interval)),
            ]);
        }
    }
    (!table.rows.is_empty()).then_some(table)
}

fn weighings(answer: &DryAnswer) -> Vec<Block> {
    vec![Block::Heading("Weighings".to_owned()), Block::Table(weighings_table(answer))]
}

fn weighings_table(answer: &DryAnswer) -> Table {
    let mut table =
        Table::new(&[("h", Align::Point), ("g", Align::Point), ("change, g", Align::Point), ("", Align::Left)]);
    let decimals = shown_decimals(answer);
    let mut before: Option<f64> = None;
    for (i, (hours, grams)) in answer.weighings.iter().enumerate() {
        let change = before.map_or_else(String::new, |b| number::fixed(grams - b, decimals));
        let out = answer.out_of_line.iter().any(|(index, ..)| *index == i);
        table.push(vec![
            Cell::text(number::fixed(*hours, 2)),
            Cell::text(number::fixed(*grams, decimals)),
            Cell::text(change),
            Cell::text(if out { "out of line" } else { "" }),
        ]);
        before = Some(*grams);
    }
    table
}

/// Decimals of the balance, whose scatter is about a unit of its last digit.
fn shown_decimals(answer: &DryAnswer) -> i32 {
    number::decimals_for(answer.deviation).unwrap_or(3) - 1
}

fn levels(answer: &DryAnswer) -> Vec<Block> {
    if answer.levels.is_empty() {
        return Vec::new();
    }
    vec![
        Block::Heading("Hydrates of what was weighed in".to_owned()),
        Block::Table(levels_table(answer)),
        Block::Paragraph("If the first weighing was the pure hydrate, without loose water.".to_owned()),
    ]
}

fn levels_table(answer: &DryAnswer) -> Table {
    let mut table = Table::new(&[
        ("if it had become", Align::Left),
        ("g", Align::Point),
        ("final mass off by, standard uncertainties", Align::Point),
    ]);
    let decimals = shown_decimals(answer);
    for (name, grams, off) in &answer.levels {
        table.push(vec![
            Cell::text(name.clone()),
            Cell::text(number::fixed(*grams, decimals)),
            Cell::text(off.map_or_else(String::new, |off| number::fixed(off, 1))),
        ]);
    }
    table
}
