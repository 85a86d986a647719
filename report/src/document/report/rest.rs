//! Hazards, uncertainty, what is not accounted for, waste, deviations and corrections, attachments.

use super::Written;
use super::results::{by, traced, under};
use crate::document::account::{carried, changes};
use crate::document::references::References;
use crate::document::sheet::{short, when};
use crate::document::{
    Align, Block, Cell, Inline, Table, cause_words, element_name, findings, full_sentence, identifier, link, listed,
    screening, sentence, words,
};
use crate::figure::budget_figure;
use crate::number;
use chem::quantity::Status;
use prep::outcome::{Finding, Severity};

/// Share of what was charged below which nothing is missing: the arithmetic's own rounding.
const NOTHING: f64 = 1e-9;

pub(super) fn hazards(written: &Written<'_>, references: &mut References) -> Vec<Block> {
    let screening = &written.plan.screening;
    let mut blocks = vec![Block::Heading("Hazards".to_owned())];
    let mut told: Vec<&str> = Vec::new();
    for step in &written.plan.steps {
        for caution in &step.cautions {
            if !told.contains(&caution.as_str()) {
                told.push(caution);
                blocks.push(Block::Caution(caution.clone()));
            }
        }
    }
    if told.is_empty() {
        blocks.push(Block::Paragraph("No caution for the steps and amounts listed.".to_owned()));
    }
    let holds = screening.steps.iter().flat_map(|step| step.holds.iter().map(move |hold| (step, hold)));
    blocks.extend(holds.map(|(step, hold)| {
        Block::Hold(format!(
            "Step “{}”: go on when {}. Read: {}. If not: {}.",
            step.step, hold.condition, hold.proof, hold.otherwise
        ))
    }));
    blocks.extend(screening::charged(screening));
    let sources = screening.steps.iter().flat_map(|step| &step.substances).flat_map(|substance| &substance.sources);
    let mut line = vec![Inline::Strong("To minimise. ".to_owned()), words(sentence(&screening::minimise(screening)))];
    line.extend(references.cite_all(sources.copied()));
    blocks.push(Block::Line(line));
    if !told.is_empty() {
        blocks.push(by(&[("hazard", "K")]));
    }
    blocks
}

pub(super) fn uncertainty(written: &Written<'_>) -> Vec<Block> {
    let mut blocks = carried::budgets(written.account);
    if blocks.is_empty() {
        return blocks;
    }
    blocks.push(Block::Paragraph(
        "The figures at the heads are best fits; those of the results are means of the sampled account.".to_owned(),
    ));
    blocks.push(by(&[("budget", "H")]));
    if let Some(budget) = written.account.budgets.first() {
        blocks.push(Block::Figure(Box::new(budget_figure(budget))));
    }
    blocks
}

/// Where the books do not close, by how much, and what would explain it.
pub(super) fn unaccounted(written: &Written<'_>, references: &mut References) -> Vec<Block> {
    let account = written.account;
    let mut blocks = vec![Block::Heading("Not in hand, and why that may be".to_owned())];
    for element in &account.elements {
        let lost = account.streams.iter().find(|stream| stream.name == "lost");
        let mass = lost.and_then(|stream| stream.elements.iter().find(|(symbol, _)| symbol == element));
        let feed = account.feed.iter().find(|(symbol, _)| symbol == element);
        if let (Some((_, mass)), Some((_, feed))) = (mass, feed) {
            if mass.high <= NOTHING * feed.mean {
                let name = element_name(element);
                blocks.push(Block::Paragraph(format!("All {name} charged is in a lot or in a test.")));
                continue;
            }
            blocks.push(Block::Line(vec![
                words(format!(
                    "Of {} {} charged, {} is neither in a lot nor in a test",
                    number::mean(feed),
                    element_name(element),
                    number::mean(mass)
                )),
                Inline::Status(Status::Derived),
                words(format!(
                    ", {} of it: films, spills and dust, by what such steps usually lose and by what was weighed (",
                    number::unit(&number::significant(100.0 * mass.mean / feed.mean, 2), "%")
                )),
                link("formula-account", "formula\u{a0}D"),
                words(")."),
            ]));
        }
    }
    let mut explained = false;
    for finding in account.findings.iter().filter(|finding| !finding.causes.is_empty()) {
        explained = true;
        blocks.push(Block::Paragraph(full_sentence(&finding.message)));
        blocks.push(Block::List(finding.causes.iter().map(cause_words).collect()));
        let mut line = vec![words("Each cause is worked out alone, by exact proportions of molar masses")];
        line.extend(references.cite_all(["ciaaw-2021", "ciaaw-2024"]));
        line.push(words("; probabilities weigh them against each other ("));
        line.push(link("formula-account", "formula\u{a0}D"));
        line.push(words(")."));
        blocks.push(Block::Line(line));
    }
    if !explained {
        blocks.push(Block::Paragraph("No reading calls for another cause.".to_owned()));
    }
    let next = under(carried::next_test(account));
    if !next.is_empty() {
        blocks.extend(next);
        blocks.push(by(&[("information", "J")]));
    }
    blocks
}

pub(super) fn waste(written: &Written<'_>) -> Vec<Block> {
    let account = written.account;
    let mut table =
        Table::new(&[("waste", Align::Left), ("mass, g", Align::Point), ("holds", Align::Left), ("jar", Align::Left)]);
    let wasted = account.streams.iter().filter(|stream| matches!(stream.name, "liquor" | "residue"));
    for id in wasted.flat_map(|stream| &stream.lots) {
        let Some(lot) = account.lots.iter().find(|lot| &lot.id == id) else { continue };
        let holds: Vec<String> = lot
            .elements
            .iter()
            .map(|content| {
                let share = 1e6 * content.mass.mean / lot.mass.mean;
                format!("{} {}, {} mg/kg", number::mean(&content.mass), content.element, number::significant(share, 2))
            })
            .collect();
        let jar = written.record.waste.iter().find(|(_, lots)| lots.contains(id)).map_or("not stated", |(jar, _)| jar);
        table.push(vec![
            Cell::text(lot.name.clone()),
            Cell::text(number::mean_bare(&lot.mass)),
            Cell::text(holds.join("; ")),
            Cell::text(jar),
        ]);
    }
    let mut blocks = vec![Block::Heading("Waste".to_owned())];
    match table.rows.is_empty() {
        true => blocks.push(Block::Paragraph("None: no liquor and no residue is left over.".to_owned())),
        false => blocks.extend([Block::Table(table), by(&[("account", "D")])]),
    }
    let mut ways: Vec<String> = Vec::new();
    for caution in written.plan.screening.steps.iter().flat_map(|step| &step.cautions) {
        if !caution.waste.is_empty() && !ways.contains(&caution.waste) {
            ways.push(caution.waste.clone());
        }
    }
    if !ways.is_empty() {
        blocks.push(Block::List(ways));
    }
    blocks.push(Block::Paragraph("Compare contents with the local limit before anything leaves the bench.".to_owned()));
    blocks
}

/// What was accepted, corrected or done otherwise than planned.
pub(super) fn deviations(written: &Written<'_>) -> Vec<Block> {
    let mut blocks = vec![Block::Heading("Deviations and corrections".to_owned())];
    let before = blocks.len();
    blocks.extend(corrections(written));
    for accepted in &written.plan.screening.accepted {
        let here = accepted.step.as_ref().map_or(String::new(), |step| format!(" in {step}"));
        blocks.push(Block::Paragraph(format!("Accepted: {}{here}. Reason: {}", accepted.finding, accepted.reason)));
    }
    blocks.extend(traced(changes::changes(written.account), &[("account", "D"), ("quoted", "B")]));
    if blocks.len() == before {
        blocks.push(Block::Paragraph("No correction was entered.".to_owned()));
    }
    if let Some(afterwards) = &written.record.afterwards {
        blocks.push(Block::Line(vec![Inline::Strong("Another time: ".to_owned()), words(full_sentence(afterwards))]));
    }
    // Cautions stand with the hazards, what has causes where they are told.
    let here = |finding: &&Finding| finding.severity != Severity::Caution && finding.causes.is_empty();
    let mut told: Vec<Finding> = written.account.findings.iter().filter(here).cloned().collect();
    if !written.record.weighed() {
        let planned = written.plan.findings.iter().filter(here);
        told.extend(planned.filter(|finding| !told.contains(finding)).cloned().collect::<Vec<_>>());
    }
    blocks.extend(under(findings::section(&told)));
    blocks
}

/// Each correction with both figures, dated.
pub(super) fn corrections(written: &Written<'_>) -> Vec<Block> {
    let readings = &written.record.readings;
    let told = |reading: &prep::outcome::RecordedReading| {
        let first = readings.iter().find(|other| Some(&other.id) == reading.corrects.as_ref())?;
        let at = reading.at.as_deref().map_or_else(|| "undated".to_owned(), when);
        let reason = reading.reason.as_deref().unwrap_or("no reason given");
        Some(Block::Line(vec![
            words(format!("{at}: {} ", first.what)),
            Inline::Struck(number::tied(first.figure.as_deref().unwrap_or("nothing"))),
            words(format!(" {}", number::tied(reading.figure.as_deref().unwrap_or("nothing")))),
            words(format!("; {} (", reason.trim_end_matches('.'))),
            link(identifier("reading", &first.id), first.id.clone()),
            words(", "),
            link(identifier("reading", &reading.id), reading.id.clone()),
            words(")."),
        ]))
    };
    readings.iter().filter(|reading| reading.corrects.is_some()).filter_map(told).collect()
}

/// The record itself, letter by letter, and the plan as frozen.
pub(super) fn attached(written: &Written<'_>) -> Vec<Block> {
    let mut names: Vec<String> =
        super::attachments(written).iter().map(|file| format!("{} ({})", file.name, file.description)).collect();
    names.sort();
    let mut blocks = vec![
        Block::Heading("Attached".to_owned()),
        Block::Paragraph(format!("Files that go along: {}.", listed(&names))),
        Block::Paragraph(format!(
            "Hash of the record (BLAKE3): {}; of its planned fields: {}.",
            short(&written.record.text_hash),
            short(&written.record.plan_hash)
        )),
        Block::Subheading(format!("The record, {}", written.file)),
        Block::Verbatim(written.text.to_owned()),
    ];
    let told = match (&written.plan.frozen, written.frozen_at) {
        (Some(hash), Some(at)) if *hash == written.record.plan_hash => format!(
            "The plan {} was frozen {}; its intervals are those of the table of readings.",
            short(hash),
            when(at)
        ),
        (Some(hash), Some(at)) => format!(
            "The plan {} was frozen {} and is attached; the file was changed since, and the intervals of the table of readings are those of its plan {}. What was changed stands with the findings.",
            short(hash),
            when(at),
            short(&written.record.plan_hash)
        ),
        _ => "The plan was not frozen before the first weighing.".to_owned(),
    };
    blocks.push(Block::Paragraph(told));
    blocks
}
