//! Results: where the element is, yields, losses on heating, each with the way to how it was made.

use super::Written;
use super::head::trail;
use crate::document::account::{books, by_ignition, carried, evidence};
use crate::document::references::References;
use crate::document::{Align, Block, Cell, Inline, Table, element_name, identifier, link, words};
use crate::figure::{flow_figure, levels_figure, yields_figure};
use crate::number;
use chem::quantity::Status;
use prep::outcome::LossLevel;

pub(super) fn results(written: &Written<'_>, references: &mut References) -> Vec<Block> {
    let account = written.account;
    let mut blocks = vec![Block::Heading("Results".to_owned())];
    if let Some(yields) = &account.yields {
        blocks.push(Block::Subheading(format!("Yields of {}", element_name(&yields.element))));
        blocks.push(Block::Table(quoted(written, references)));
        blocks.extend(yields_figure(account).map(|figure| Block::Figure(Box::new(figure))));
        blocks.extend(traced(books::steps(account), &[("yield", "C"), ("account", "D")]));
    }
    blocks.extend(traced(books::streams(account), &[("account", "D")]));
    for element in &account.elements {
        blocks.extend(flow_figure(account, element).map(|figure| Block::Figure(Box::new(figure))));
    }
    blocks.extend(under(evidence::losses(account)));
    blocks.extend(account.levels.iter().map(|level| found_by(level, references)));
    blocks.extend(account.levels.iter().map(|level| Block::Figure(Box::new(levels_figure(level)))));
    blocks.extend(traced(carried::tests(account), &[("account", "D")]));
    blocks.extend(traced(carried::foreign(account), &[("account", "D")]));
    blocks.extend(traced(evidence::variants(account), &[("account", "D")]));
    blocks.extend(traced(books::lots(account), &[("account", "D")]));
    blocks
}

/// First word of a line that tells how what stands above it was made.
const BY: &str = "By";

/// Whether a block belongs to what stands above it: the line that names its formula.
#[must_use]
pub fn closes(block: &Block) -> bool {
    matches!(block, Block::Line(line) if matches!(line.first(), Some(Inline::Text(first)) if first == BY))
}

/// A line that leads from what stands above it to the formulas it was made by.
pub(super) fn by(formulas: &[(&str, &str)]) -> Block {
    let mut line = vec![words(BY)];
    for (place, (id, letter)) in formulas.iter().enumerate() {
        line.push(words(if place == 0 { " " } else { " and " }));
        line.push(link(identifier("formula", id), format!("formula\u{a0}{letter}")));
    }
    line.push(Inline::Status(Status::Derived));
    line.push(words("."));
    Block::Line(line)
}

/// A section of the account as a part of the report, with the way to its formulas.
pub(super) fn traced(blocks: Vec<Block>, formulas: &[(&str, &str)]) -> Vec<Block> {
    let mut blocks = under(blocks);
    if !blocks.is_empty() {
        blocks.push(by(formulas));
    }
    blocks
}

/// Where a loss on heating comes from.
fn found_by(level: &LossLevel, references: &mut References) -> Block {
    let mut line = vec![words(format!("Loss of {} found: {}", level.lot, number::figure(&level.observed)))];
    line.push(Inline::Status(level.observed.status));
    line.extend(trail(&level.readings, "loss", "E"));
    line.push(words("; calculated from atomic weights"));
    line.extend(references.cite_all(["ciaaw-2021", "ciaaw-2024"]));
    line.push(words("."));
    Block::Line(line)
}

/// Sections of the account as parts of a section of the report.
pub(super) fn under(blocks: Vec<Block>) -> Vec<Block> {
    let lower = |block| match block {
        Block::Heading(text) => Block::Subheading(text),
        Block::Subheading(text) => Block::Line(vec![Inline::Strong(text)]),
        other => other,
    };
    blocks.into_iter().map(lower).collect()
}

/// Every yield with its basis, its status and the trail to its readings.
fn quoted(written: &Written<'_>, references: &mut References) -> Table {
    let mut table = Table::new(&[
        ("yield", Align::Left),
        ("g", Align::Point),
        ("%", Align::Point),
        ("basis, readings, formula", Align::Left),
    ]);
    let Some(yields) = &written.account.yields else { return table };
    for quoted in &yields.quoted {
        let ignited = by_ignition(quoted);
        let how = if ignited { "residue taken for pure" } else { "taken for" };
        let mut basis = vec![words(quoted.percent.basis.clone().unwrap_or_default())];
        basis.push(Inline::Status(quoted.percent.status));
        let readings: Vec<String> = match quoted.readings.is_empty() {
            false => quoted.readings.clone(),
            true => written
                .record
                .readings
                .iter()
                .filter(|r| r.what == quoted.lot && !r.test && r.corrected_by.is_none())
                .map(|r| r.id.clone())
                .collect(),
        };
        basis.extend(if ignited {
            trail(&readings, "content-by-ignition", "A")
        } else {
            trail(&readings, "quoted", "B")
        });
        basis.extend(references.cite_all(quoted.percent.sources.iter().map(String::as_str)));
        if let Some(doubt) = &quoted.doubt {
            basis.push(words(format!("; cannot be: {doubt}")));
        }
        table.push(vec![
            Cell::text(format!("{}, {how} {}", quoted.lot, quoted.as_formula)),
            Cell::text(number::figure_bare(&quoted.element_mass)),
            Cell::text(number::figure_bare(&quoted.percent)),
            Cell::Line(basis),
        ]);
    }
    let mut basis =
        vec![words(format!("element {}, of what was charged", yields.element)), Inline::Status(Status::Derived)];
    basis.extend(trail(&[], "account", "D"));
    table.push(vec![
        Cell::text("accounted, feed to product"),
        Cell::blank(),
        Cell::text(number::percent_bare(&yields.overall)),
        Cell::Line(basis),
    ]);
    table
}
