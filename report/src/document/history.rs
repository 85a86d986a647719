//! Own history: losses as learned from closed preparations, beside the defaults.

use super::{Align, Block, Cell, Document, Table, findings, standing};
use crate::number;
use prep::losses::OwnLoss;
use prep::outcome::HistoryAnswer;

/// The answer as a page.
#[must_use]
pub fn history_document(answer: &HistoryAnswer) -> Document {
    let telling = answer.losses.iter().filter(|own| own.telling > 0).count();
    let mut blocks = vec![Block::Claim(verdict(answer, telling))];
    if !answer.losses.is_empty() {
        let mut table = Table::new(&[
            ("action", Align::Left),
            ("what", Align::Left),
            ("unit", Align::Left),
            ("default", Align::Left),
            ("yours", Align::Left),
            ("times", Align::Point),
            ("telling", Align::Point),
        ]);
        for own in &answer.losses {
            table.push(row(own));
        }
        blocks.push(Block::Heading("Losses, the default beside yours".to_owned()));
        blocks.push(Block::Table(table));
        blocks.push(Block::Paragraph(
            "Ranges hold the next run in 9 of 10 cases. With few runs yours stays close to the default; `telling` counts the runs whose readings say something of that loss. Steps with a range of their own in the file are not counted."
                .to_owned(),
        ));
    }
    if telling > 0 {
        blocks.push(Block::Paragraph(
            "To plan and account by them, write `learn_from = \"FOLDER\"` at the top of a preparation; without it the defaults hold."
                .to_owned(),
        ));
    }
    if !answer.open.is_empty() {
        blocks.push(Block::Paragraph(format!(
            "Passed over, because not closed (a line `closed = 2026-05-04` closes one): {}.",
            answer.open.join(", ")
        )));
    }
    blocks.extend(findings::section(&answer.findings));
    blocks.extend(standing::standing());
    Document { title: "What do your own runs lose?".to_owned(), blocks }
}

fn verdict(answer: &HistoryAnswer, telling: usize) -> String {
    let count = answer.closed.len();
    let many = |n: usize, one: &str| format!("{n} {one}{}", if n == 1 { "" } else { "s" });
    match (count, telling) {
        (0, _) => "No closed preparation was found: the defaults hold.".to_owned(),
        (_, 0) => format!("The readings of {} say nothing of the usual losses.", many(count, "closed preparation")),
        (_, 1) => format!("The readings of {} say something of one usual loss.", many(count, "closed preparation")),
        _ => format!("The readings of {} say something of {telling} usual losses.", many(count, "closed preparation")),
    }
}

fn row(own: &OwnLoss) -> Vec<Cell> {
    let (unit, factor) = own.what.unit();
    let range = |(low, high): (f64, f64)| {
        format!("{} to {}", number::significant(factor * low, 2), number::significant(factor * high, 2))
    };
    let by = own.by.as_ref().map_or_else(String::new, |by| format!(", {by}"));
    let learned = if own.telling > 0 { range(own.learned) } else { "as the default".to_owned() };
    vec![
        Cell::text(format!("{}{by}", own.action.word())),
        Cell::text(own.what.words().to_owned()),
        Cell::text(unit.to_owned()),
        Cell::text(range(own.default)),
        Cell::text(learned),
        Cell::text(own.runs.to_string()),
        Cell::text(own.telling.to_string()),
    ]
}
