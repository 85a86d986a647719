//! What stands in the lines of a step: what was expected, what was found, what was seen?
//!
//! One line for each reading, each test and each lot that nobody weighed; in the margin, at the line they are about, what a
//! hand remarked and what the program found. Nothing is computed here.

use super::page::{address, when};
use super::preparation::sentence;
use super::record::PASSED;
use crate::notebook::is_photograph;
use maud::{Markup, html};
use prep::model::{Determination, Preparation, Reading, Step};
use prep::outcome::{Expectation, Finding, Interval, PlannedStep, Severity};
use report::figure::strip::strip_with;
use report::html::formula::rich;
use report::html::pointed;
use report::number;
use report::strip::{Mark, Scale, Strip};

/// Width of the strips of the ledger, px.
const WIDTH: f64 = 100.0;
/// Rows of an entry that have a class of their own; those behind follow in order.
const MOST_ROWS: usize = 60;

/// One line of an entry.
pub(super) struct Row<'a> {
    label: String,
    id: Option<&'a str>,
    expected: Option<&'a Interval>,
    found: Option<f64>,
    written: Option<Written<'a>>,
    unit: &'static str,
    note: Option<&'a str>,
    from: usize,
    to: usize,
}

/// A figure as it was written down.
struct Written<'a> {
    text: &'a str,
    at: Option<&'a str>,
    struck: bool,
    corrects: Option<(&'a str, Option<&'a str>)>,
}

/// The lines of a step.
pub(super) fn rows<'a>(
    text: &str,
    preparation: &'a Preparation,
    step: &'a Step,
    planned: Option<&'a PlannedStep>,
) -> Vec<Row<'a>> {
    let expects: &[Expectation] = planned.map(|p| p.expects.as_slice()).unwrap_or_default();
    let line = |at: usize| text.get(..at).map_or(0, |before| before.matches('\n').count() + 1);
    let expected = |id: &str| expects.iter().find(|e| e.reading == id);
    let readings = step.readings.iter().map(|reading| {
        let from = line(reading.id.span.start).saturating_sub(1);
        of_reading(preparation, reading, expected(&reading.id.value), from)
    });
    let tests = step.determinations.iter().map(|made| {
        let from = line(made.id.span.start).saturating_sub(1);
        of_test(step, made, expected(&made.id.value), from)
    });
    let mut rows: Vec<Row<'_>> = readings.chain(tests).collect();
    let starts: Vec<usize> = rows.iter().map(|row| row.from).collect();
    for row in &mut rows {
        row.to = starts.iter().copied().filter(|next| *next > row.from).min().unwrap_or(usize::MAX);
    }
    let weighed = |lot: &String| step.readings.iter().any(|r| r.of.as_ref().is_some_and(|of| of.value == *lot));
    let gives = planned.map(|p| p.gives.as_slice()).unwrap_or_default();
    rows.extend(gives.iter().filter(|(lot, _)| !weighed(lot)).map(|(lot, interval)| Row {
        label: lot.clone(),
        id: None,
        expected: Some(interval),
        found: None,
        written: None,
        unit: "g",
        note: None,
        from: 0,
        to: 0,
    }));
    rows
}

fn of_reading<'a>(
    preparation: &'a Preparation,
    reading: &'a Reading,
    expected: Option<&'a Expectation>,
    from: usize,
) -> Row<'a> {
    let mut others = preparation.steps.iter().flat_map(|step| &step.readings);
    let read = reading.weigh.is_some() || reading.volume.is_some();
    Row {
        label: expected.map_or_else(|| weighed(reading), |e| e.what.clone()),
        id: Some(&reading.id.value),
        expected: expected.and_then(|e| e.interval.as_ref()),
        found: expected.and_then(|e| e.found),
        written: read.then(|| Written {
            text: &reading.text,
            at: reading.at.as_deref(),
            struck: others.any(|other| other.corrects.as_ref().is_some_and(|c| c.value == reading.id.value)),
            corrects: reading.corrects.as_ref().map(|c| (c.value.as_str(), reading.reason.as_deref())),
        }),
        unit: if preparation.ware.iter().any(|ware| ware.name.value == reading.with.value) { "mL" } else { "g" },
        note: reading.note.as_deref(),
        from,
        to: usize::MAX,
    }
}

fn of_test<'a>(step: &'a Step, made: &'a Determination, expected: Option<&'a Expectation>, from: usize) -> Row<'a> {
    let struck = |other: &Determination| other.corrects.as_ref().is_some_and(|c| c.value == made.id.value);
    Row {
        label: expected.map_or_else(|| format!("{} of {}", made.test.name, made.of.value), |e| e.what.clone()),
        id: Some(&made.id.value),
        expected: expected.and_then(|e| e.interval.as_ref()),
        found: expected.and_then(|e| e.found),
        written: made.found.is_some().then(|| Written {
            text: &made.text,
            at: made.at.as_deref(),
            struck: step.determinations.iter().any(struck),
            corrects: made.corrects.as_ref().map(|c| (c.value.as_str(), made.reason.as_deref())),
        }),
        unit: expected.and_then(|e| e.interval.as_ref()).map_or("", |interval| interval.unit),
        note: made.note.as_deref(),
        from,
        to: usize::MAX,
    }
}

/// What lies on the pan.
pub fn weighed(reading: &Reading) -> String {
    let vessel = reading.vessel.as_ref().map(|vessel| vessel.value.as_str());
    match (&reading.of, &reading.charge, vessel) {
        (Some(of), _, Some(vessel)) => format!("{vessel} with {}", of.value),
        (Some(of), _, None) => of.value.clone(),
        (_, Some(charge), Some(vessel)) => format!("{vessel} with {}", charge.value),
        (_, Some(charge), None) => charge.value.clone(),
        (None, None, Some(vessel)) => format!("{vessel}, empty"),
        (None, None, None) => "reading".to_owned(),
    }
}

/// The class of a row, if it has one.
pub(super) fn place(row: usize) -> String {
    if row <= MOST_ROWS { format!("r{row}") } else { String::new() }
}

/// A line: its name, what is expected, what was found.
pub(super) fn line(row: &Row<'_>, at: usize) -> Markup {
    let place = place(at);
    let net = row.expected.and_then(|e| e.basis.as_deref()).is_some_and(|basis| basis.starts_with("above"));
    html! {
        div class=(format!("lab {place}")) { (rich(&row.label)) @if let Some(id) = row.id { " " span.fine { (id) } } }
        div class=(format!("exp {place}")) {
            @if let Some(expected) = row.expected {
                (ranged(expected, net))
                (expected_strip(expected, row.found))
            }
        }
        (found(row, &place, net))
    }
}

/// A range with its ends below each other from line to line; `net` is what stands in a vessel, without it.
fn ranged(expected: &Interval, net: bool) -> Markup {
    let text = number::interval(expected);
    html! {
        span.nb.r2 {
            @match text.split_once("\u{a0}–\u{a0}") {
                Some((low, high)) => { (pointed(low)) span.to { "–" } (pointed(high)) }
                None => (pointed(&text)),
            }
            @if net { " " span.fine { "net" } }
        }
    }
}

fn expected_strip(expected: &Interval, found: Option<f64>) -> Markup {
    let scale = Scale::own(expected);
    let slip = found.is_some_and(|found| found < scale.low || found > scale.high);
    let marks = found.map(Mark::Found).into_iter().collect();
    strip_with(&Strip { interval: Some(expected.clone()), scale, marks }, WIDTH, false, slip)
}

fn found(row: &Row<'_>, place: &str, net: bool) -> Markup {
    let Some(written) = &row.written else {
        return html! { div class=(format!("found blank {place}")) { span.vhl { "found" } span { (row.unit) } } };
    };
    html! {
        div class=(format!("found {place}")) {
            span.vhl { "found" }
            @if written.struck { span { del { span.vh { "struck out: " } (pointed(written.text)) } } } @else { span { (pointed(written.text)) } }
            @if let Some(at) = written.at { time { (when(at).rsplit(", ").next().unwrap_or_default()) } }
            @if let Some(found) = row.found.filter(|_| net) { small { "net " (number::unit(&number::fixed(found, decimals(written.text)), "g")) } }
            @if let Some((id, reason)) = written.corrects {
                small { "corrects " (id) @if let Some(reason) = reason { ": " (reason) } }
            }
        }
    }
}

/// Decimals of a figure as written.
fn decimals(text: &str) -> i32 {
    let digits = text.split_once('.').map_or(0, |(_, rest)| rest.chars().take_while(char::is_ascii_digit).count());
    i32::try_from(digits).unwrap_or(0)
}

/// The margin: at each row what a hand remarked there, then what was found.
pub(super) fn margin(step: &Step, rows: &[Row<'_>], findings: &[&Finding]) -> Markup {
    let row_of = |finding: &Finding| {
        let at = rows.iter().position(|row| row.from > 0 && (row.from..row.to).contains(&finding.line));
        at.map_or(1, |k| k + 2)
    };
    let passed = passed(step.note.as_deref().unwrap_or_default());
    let note = |row: usize| match row.checked_sub(2) {
        None => Some(passed.as_str()).filter(|passed| !passed.is_empty()),
        Some(k) => rows.get(k).and_then(|row| row.note),
    };
    let shown: Vec<(usize, Option<&str>, Vec<&Finding>)> = (1..rows.len() + 2)
        .map(|row| (row, note(row), findings.iter().copied().filter(|f| row_of(f) == row).collect::<Vec<_>>()))
        .filter(|(_, note, found)| note.is_some() || !found.is_empty())
        .collect();
    html! {
        @for (k, (row, note, found)) in shown.iter().enumerate() {
            @let to = shown.get(k + 1).filter(|next| next.0 <= MOST_ROWS).map(|next| format!(" t{}", next.0)).unwrap_or_default();
            @let gravest = found.iter().map(|f| f.severity).min();
            @let sign = match gravest { Some(Severity::Error | Severity::Warning) => " wrong", Some(Severity::Caution) => " warn", _ => "" };
            aside class=(format!("note {}{to}{sign}", place(*row))) {
                @if let Some(note) = note { p.pen { (remark(note)) } }
                @for finding in found { (note_in_margin(finding)) }
            }
        }
    }
}

/// The hold points that were passed, out of the note of a step.
fn passed(note: &str) -> String {
    note.split("; ").filter(|part| part.starts_with(PASSED)).collect::<Vec<_>>().join("; ")
}

/// What is to do, without the hold points that were passed: they stand in the margin.
pub(super) fn to_do(step: &Step, instruction: &str) -> String {
    let note = step.note.as_deref().unwrap_or_default();
    let rest = note.split("; ").filter(|part| !part.starts_with(PASSED)).collect::<Vec<_>>().join("; ");
    match (note.contains(PASSED), instruction.split_once(note)) {
        (true, Some((before, after))) if rest.is_empty() => {
            format!("{}{}", before.trim_end(), after.trim_start_matches('.'))
        }
        (true, Some((before, after))) => format!("{before}{rest}{after}"),
        _ => instruction.to_owned(),
    }
}

/// What a hand remarked, with its photographs as links.
fn remark(note: &str) -> Markup {
    html! {
        @for (k, part) in note.split("; ").enumerate() {
            @if k > 0 { "; " }
            @if let Some(file) = part.strip_prefix("photo ").filter(|file| is_photograph(file)) {
                a href=(format!("/photos/{}", address(file))) { "photograph" }
            } @else if let Some((at, seen)) = part.strip_prefix(PASSED).and_then(|rest| rest.trim().split_once(": ")) {
                "Hold passed " (when(at)) ": " (seen)
            } @else { (part) }
        }
    }
}

fn note_in_margin(finding: &Finding) -> Markup {
    html! {
        @let message = rich(&sentence(&finding.message));
        p { @match finding.severity { Severity::Note => (message), Severity::Caution => { b { "Caution. " } (message) } _ => { b { (message) } } } "." }
        @for hint in finding.hints.iter().take(2) { p.q2 { (rich(&sentence(hint))) "." } }
        @if !finding.causes.is_empty() {
            ul.points { @for cause in finding.causes.iter().take(3) { li { (rich(&report::document::cause_words(cause))) } } }
        }
    }
}
