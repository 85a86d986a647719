//! Identity and purity: which statement has which evidence?
//!
//! Grades: A, content by mass and an independent test of the same lot; B, masses only; C, by the plan only, nothing was
//! weighed; undecided, several statements fit; not tested. A fitted fraction of hydrate water is flagged: authors'
//! guidelines of journals take it for a sign of incomplete purification and not for a formula.

use super::Written;
use super::head::trail;
use super::results::{by, traced};
use crate::document::account::evidence;
use crate::document::{Align, Block, Cell, Inline, Line, Table, evidence_words, identifier, link, listed, words};
use crate::number;
use chem::quantity::Status;
use prep::outcome::{Account, Interval, LossLevel, LotAccount};

/// Nearness to a whole number of waters within which a fitted extent is not called fractional, however sharp it is.
const WHOLE: f64 = 0.01;
/// A test that tells less tells nothing, bit: half a unit of the last place shown.
const NOTHING: f64 = 0.005;
/// Tests named as not done.
const MOST_TESTS: usize = 4;

/// The section on identity and purity.
pub(super) fn identity(written: &Written<'_>) -> Vec<Block> {
    let mut blocks = vec![Block::Heading("Identity and purity: what the evidence carries".to_owned())];
    blocks.push(Block::Table(table(written)));
    blocks.push(by(&[("account", "D")]));
    blocks.push(Block::Paragraph(
        "A: masses and an independent test of the lot. B: masses only. C: expected by the plan, not weighed. No formula is called identified; a content is a number with its method. A bit is the answer to a question with even odds."
            .to_owned(),
    ));
    blocks.extend(fractional(written.account));
    blocks.extend(traced(evidence::alternatives(written.account), &[("account", "D")]));
    blocks
}

/// The statements with their grades.
pub(super) fn table(written: &Written<'_>) -> Table {
    let mut table = Table::new(&[("statement", Align::Left), ("grade", Align::Left), ("evidence", Align::Left)]);
    contents(written, &mut table);
    excluded(written, &mut table);
    open(written.account, &mut table);
    claimed(written.account, &mut table);
    untested(written.account, &mut table);
    table
}

fn contents(written: &Written<'_>, table: &mut Table) {
    let account = written.account;
    let product: Vec<&String> =
        account.streams.iter().filter(|stream| stream.name == "product").flat_map(|stream| &stream.lots).collect();
    let quoted: Vec<&String> = account.yields.iter().flat_map(|yields| &yields.quoted).map(|q| &q.lot).collect();
    for lot in account.lots.iter().filter(|lot| product.contains(&&lot.id) || quoted.contains(&&lot.id)) {
        for content in &lot.elements {
            let share = 100.0 * content.mass.mean / lot.mass.mean;
            let statement = vec![
                words(format!("{} holds {} {}", lot.name, number::mean(&content.mass), content.element)),
                Inline::Status(Status::Derived),
                words(format!(", {}", number::unit(&number::significant(share, 4), "%"))),
            ];
            let (grade, evidence) = grade(written, lot);
            table.push(vec![Cell::Line(statement), Cell::text(grade), Cell::Line(evidence)]);
        }
    }
}

/// The grade of the content of a lot, and its readings.
fn grade(written: &Written<'_>, lot: &LotAccount) -> (&'static str, Line) {
    let tested = written.account.tests.iter().any(|test| test.lot == lot.id);
    let named = |reading: &&prep::outcome::RecordedReading| {
        reading.figure.is_some() && reading.corrected_by.is_none() && reading.what == lot.id
    };
    let mut readings: Vec<&str> = written.record.readings.iter().filter(named).map(|r| r.id.as_str()).collect();
    let ignited = written.account.levels.iter().filter(|level| level.lot == lot.id).flat_map(|level| &level.readings);
    for reading in ignited {
        if !readings.contains(&reading.as_str()) {
            readings.push(reading);
        }
    }
    if readings.is_empty() {
        let whole = if written.record.weighed() { "C, follows from other lots" } else { "C, plan only" };
        return (whole, vec![words("not weighed itself")]);
    }
    let mut line = vec![words("readings ")];
    for (place, reading) in readings.iter().enumerate() {
        if place > 0 {
            line.push(words(", "));
        }
        line.push(link(identifier("reading", reading), (*reading).to_owned()));
    }
    (if tested { "A, masses and a test" } else { "B, masses only" }, line)
}

fn excluded(written: &Written<'_>, table: &mut Table) {
    for level in &written.account.levels {
        let excluded = level.levels.iter().filter(|(_, _, away)| evidence_words::level_word(*away) == "excluded");
        let (names, distances): (Vec<String>, Vec<String>) = excluded
            .map(|(substance, calculated, away)| {
                let told = format!("{substance} ({})", number::unit(&number::fixed(*calculated, 2), "%"));
                (told, evidence_words::distance(*away))
            })
            .unzip();
        if names.is_empty() {
            continue;
        }
        table.push(vec![
            Cell::text(format!("{} is not pure {}", level.lot, names.join(", nor "))),
            Cell::text("B, masses only"),
            Cell::Line(away(level, &distances)),
        ]);
    }
}

/// How far calculated losses are away from the one found, and where that was read.
fn away(level: &LossLevel, distances: &[String]) -> Line {
    let mut line = vec![words(format!("loss on heating {}", number::figure(&level.observed)))];
    line.push(Inline::Status(level.observed.status));
    line.extend(trail(&level.readings, "loss", "E"));
    line.push(words(format!(", calculated in brackets; away by {} standard uncertainties", listed(distances))));
    line
}

fn open(account: &Account, table: &mut Table) {
    for group in evidence_words::groups(&account.hypotheses) {
        match group.as_slice() {
            [] => {}
            [only] => table.push(vec![
                Cell::text(format!("consistent with {only}")),
                Cell::text("B, masses only"),
                Cell::text("fits the readings; not identified"),
            ]),
            several => table.push(vec![
                Cell::text(several.join("; or ")),
                Cell::text("undecided"),
                Cell::text("the readings cannot tell these apart"),
            ]),
        }
    }
}

fn claimed(account: &Account, table: &mut Table) {
    for part in account.claim.iter().flat_map(|claim| &claim.parts) {
        let found = part.found.as_ref().map_or_else(|| "not weighed".to_owned(), number::mean);
        table.push(vec![
            Cell::text(format!("claimed: {}", part.text)),
            Cell::text(part.verdict.word()),
            Cell::text(format!("found {found}; holds with probability {}", number::chance(part.probability))),
        ]);
    }
}

fn untested(account: &Account, table: &mut Table) {
    let Some(next) = &account.next else { return };
    for test in next.tests.iter().take(MOST_TESTS) {
        table.push(vec![
            Cell::text(format!("{} of {}", test.test, test.lot)),
            Cell::text("not tested"),
            Cell::text(told(test.information_bits, &next.claim)),
        ]);
    }
}

/// What a test would tell of a claim.
fn told(bits: f64, claim: &str) -> String {
    if bits < NOTHING {
        return format!("would tell nothing new of “{claim}”");
    }
    format!("would tell {} of “{claim}”", number::unit(&number::fixed(bits, 2), "bit"))
}

/// A warning where a fitted count of waters is no whole number.
fn fractional(account: &Account) -> Option<Block> {
    let is_fractional = |extent: &Interval| {
        let whole = extent.median.round();
        (extent.median - whole).abs() > WHOLE && !(extent.low..=extent.high).contains(&whole)
    };
    let fitted = account.lots.iter().find_map(|lot| {
        let (family, extent) = lot.hydration.iter().find(|(_, extent)| is_fractional(extent))?;
        Some((lot.name.clone(), family.clone(), number::interval_bare(extent)))
    });
    let (lot, family, extent) = fitted?;
    Some(Block::Paragraph(format!(
        "{lot}: n = {extent} in {family} is a fit and no formula. A fraction of water that improves the fit usually reflects incomplete drying or purification."
    )))
}
