//! Title, abstract, claim, purpose.

use super::Written;
use crate::document::account::{by_ignition, carried, verdict};
use crate::document::sheet::when;
use crate::document::{
    Block, FindingText, Inline, Line, element_name, findings, full_sentence, identifier, link, listed, words,
};
use crate::number;
use chem::quantity::Status;
use prep::outcome::{Figure, Finding, LotAccount, Severity, Verdict};

/// First or repeated, open or closed.
pub(super) fn standing(written: &Written<'_>) -> String {
    let run = written.record.run.as_ref().map(|run| format!("Run {}.", run.trim_end_matches('.')));
    let run = run.unwrap_or_else(|| "One run; the file names no other.".to_owned());
    format!("{run} {}", books(written))
}

fn books(written: &Written<'_>) -> String {
    match (&written.record.closed, written.record.weighed()) {
        (Some(at), _) => format!("Books closed {}.", when(at)),
        (None, true) => "Books open.".to_owned(),
        (None, false) => "Nothing was weighed yet: all figures are expectations.".to_owned(),
    }
}

pub(super) fn subtitle(written: &Written<'_>) -> String {
    let record = written.record;
    let mut parts: Vec<String> = record.author.iter().map(|author| author.trim_end_matches('.').to_owned()).collect();
    if let Some((first, last)) = record.span() {
        let day = |at: &str| when(at.split_once('T').map_or(at, |(day, _)| day));
        let (first, last) = (day(&first), day(&last));
        parts.push(if first == last { first } else { format!("{first} to {last}") });
    }
    if let Some(target) = &record.target {
        let amount = record.target_mass.map(|mass| number::unit(&number::plain(mass), "g") + " ").unwrap_or_default();
        parts.push(format!("Wanted: {amount}{target}"));
    }
    let balances: Vec<String> = record.balances.iter().map(|balance| balance.name.clone()).collect();
    if !balances.is_empty() {
        parts.push(format!("Weighed with {}", listed(&balances)));
    }
    if parts.is_empty() { String::new() } else { parts.join(". ") + "." }
}

/// What a reader takes away: what was weighed, what it holds, what was yielded, what is not established.
/// `causes`: where those of a doubted reading are told.
pub(super) fn summary(written: &Written<'_>, causes: &str) -> Vec<Block> {
    let mut blocks: Vec<Block> = weaker(written).into_iter().collect();
    blocks.extend(obtained(written).map(Block::Lead));
    let mut statements = verdict::verdict(written.account);
    let last = statements.pop();
    let quoted = written.account.yields.iter().flat_map(|yields| &yields.quoted).filter(|quoted| by_ignition(quoted));
    let mut readings: Vec<Vec<String>> = quoted.map(|quoted| quoted.readings.clone()).collect();
    readings.reverse();
    for statement in statements {
        let Block::Claim(text) = statement else { continue };
        let mut line = vec![words(text.trim_end_matches('.')), Inline::Status(Status::Derived)];
        if let Some(readings) = readings.pop() {
            line.extend(trail(&readings, "content-by-ignition", "A"));
        } else {
            line.extend(trail(&[], "account", "D"));
        }
        line.push(words("."));
        blocks.push(Block::Lead(line));
    }
    blocks.extend(last.map(|block| composition(written, block)));
    blocks.extend(
        written.account.findings.iter().filter(|finding| !finding.causes.is_empty()).map(|f| doubted(f, causes)),
    );
    if !written.record.weighed() {
        let grave = |finding: &&Finding| matches!(finding.severity, Severity::Error | Severity::Warning);
        blocks.extend(written.plan.findings.iter().filter(grave).map(findings::told));
    }
    blocks
}

/// What is excluded and what stays open, with the way to how that was found.
fn composition(written: &Written<'_>, block: Block) -> Block {
    let Block::Paragraph(text) = block else { return block };
    let mut line = vec![words(text.trim_end_matches('.')), Inline::Status(Status::Derived), words(" (")];
    if !written.account.levels.is_empty() {
        line.extend([link(identifier("formula", "loss"), "formula\u{a0}E"), words(", ")]);
    }
    line.extend([link(identifier("formula", "account"), "formula\u{a0}D"), words(").")]);
    Block::Line(line)
}

/// A finding that has causes, told at the head; its causes stand further down.
fn doubted(finding: &Finding, causes: &str) -> Block {
    Block::Finding(FindingText {
        severity: finding.severity,
        code: finding.code,
        place: None,
        message: format!("{} Causes: {causes}.", full_sentence(&finding.message)),
        hints: Vec::new(),
        causes: Vec::new(),
    })
}

/// Where a figure comes from: its readings and its formula, in brackets.
pub(super) fn trail(readings: &[String], formula: &str, letter: &str) -> Line {
    let mut line = vec![words(" (")];
    for reading in readings {
        line.push(link(identifier("reading", reading), reading.clone()));
        line.push(words(", "));
    }
    line.push(link(identifier("formula", formula), format!("formula\u{a0}{letter}")));
    line.push(words(")"));
    line
}

/// Where a claim is too strong, what may be said in its place comes first.
fn weaker(written: &Written<'_>) -> Option<Block> {
    let claim = written.account.claim.as_ref()?;
    if claim.verdict == Verdict::Supported {
        return None;
    }
    let found: Vec<String> = claim
        .parts
        .iter()
        .filter_map(|part| part.found.as_ref().map(|found| (found, part.verdict)))
        .map(|(found, _)| format!("{} {}", number::mean(found), found.basis.as_deref().unwrap_or_default()))
        .collect();
    let said = if found.is_empty() { "nothing of what was claimed".to_owned() } else { listed(&found) };
    Some(Block::Lead(vec![
        words(format!("Of {}, what may be said is: {said}", claim.lot)),
        Inline::Status(Status::Derived),
        words(". More was claimed; see “"),
        link("claim", "The claim"),
        words("”."),
    ]))
}

/// The claim against the evidence, where one was made.
pub(super) fn claim(written: &Written<'_>) -> Vec<Block> {
    let mut blocks = carried::claim(written.account);
    if let Some(first) = blocks.first_mut() {
        *first = Block::Anchored { id: "claim".to_owned(), heading: "The claim".to_owned() };
    }
    for block in &mut blocks {
        if let Block::Claim(text) = block {
            *block = Block::Paragraph(std::mem::take(text));
        }
    }
    blocks
}

/// What was weighed of the lots in hand.
fn obtained(written: &Written<'_>) -> Option<Line> {
    let weighed: Vec<(&LotAccount, &Figure)> = judged(written);
    let mut line = Vec::new();
    for (place, (lot, figure)) in weighed.iter().enumerate() {
        if place > 0 {
            line.push(words("; "));
        }
        let of = written.record.readings.iter().rfind(|r| !r.test && r.what == lot.id && r.corrected_by.is_none());
        let basis = figure.basis.as_deref().unwrap_or("as weighed");
        let told = of
            .filter(|reading| reading.vessel.is_none())
            .and_then(|reading| reading.figure.clone())
            .map_or_else(|| number::figure(figure), |text| number::tied(&text));
        line.push(words(format!("{told} of {}, {basis}{}", lot.name, treated(written, &lot.step))));
        line.push(Inline::Status(Status::Measured));
        if let Some(reading) = of {
            line.push(words(" ("));
            line.push(link(identifier("reading", &reading.id), reading.id.clone()));
            line.push(words(")"));
        }
    }
    if line.is_empty() {
        line = reckoned(written)?;
    }
    line.push(words("."));
    Some(line)
}

/// How a lot was dried or heated: its mass means nothing without.
fn treated(written: &Written<'_>, step: &str) -> String {
    let made = written.record.steps.iter().find(|made| made.name == step);
    let stated = made.map_or_else(Vec::new, |step| {
        [&step.temperature, &step.duration].into_iter().flatten().map(|text| number::tied(text)).collect::<Vec<_>>()
    });
    stated.iter().fold(String::new(), |told, text| told + ", " + text)
}

/// The product by the account, where it was never on the pan without a vessel.
fn reckoned(written: &Written<'_>) -> Option<Line> {
    let product = written.account.streams.iter().find(|stream| stream.name == "product")?;
    let id = product.lots.last()?;
    let lot = written.account.lots.iter().find(|lot| &lot.id == id)?;
    let how = if written.record.weighed() { "by the account" } else { "by the plan; nothing was weighed" };
    Some(vec![words(format!("{} of {}, {how}", number::mean(&lot.mass), lot.name)), Inline::Status(Status::Derived)])
}

/// Weighed lots that are no portion for a test; the last three at most.
fn judged<'a>(written: &Written<'a>) -> Vec<(&'a LotAccount, &'a Figure)> {
    let portions: Vec<&String> = written
        .record
        .steps
        .iter()
        .filter(|step| step.test)
        .flat_map(|step| step.gives.iter().chain(step.takes.iter().map(|(lot, _)| lot)))
        .collect();
    let all: Vec<(&LotAccount, &Figure)> = written
        .account
        .lots
        .iter()
        .filter(|lot| !portions.contains(&&lot.id))
        .filter_map(|lot| Some((lot, lot.weighed.as_ref()?)))
        .collect();
    let from = all.len().saturating_sub(3);
    all.into_iter().skip(from).collect()
}

/// What was wanted, and the equations.
pub(super) fn purpose(written: &Written<'_>) -> Vec<Block> {
    let record = written.record;
    let names: Vec<String> = record.elements.iter().map(|symbol| element_name(symbol)).collect();
    let mut text = match &record.target {
        Some(target) => format!("To make {target}, and to account for {}.", listed(&names)),
        None => format!("To account for {}.", listed(&names)),
    };
    let equations: Vec<String> = record.steps.iter().flat_map(|step| &step.equations).map(|e| arrow(e)).collect();
    if equations.is_empty() {
        text += " No reaction is listed; what the lots may become is stated in the procedure.";
    }
    let mut blocks = vec![Block::Heading("Purpose".to_owned()), Block::Paragraph(text)];
    blocks.extend(record.purpose.as_ref().map(|purpose| Block::Paragraph(full_sentence(purpose))));
    if !equations.is_empty() {
        blocks.push(Block::List(equations));
    }
    blocks
}

fn arrow(equation: &str) -> String {
    equation.replace("->", "→").replace("<=>", "⇌")
}
