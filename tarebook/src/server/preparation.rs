//! What is to do, what is expected, what was found?
//!
//! The procedure down the page. Each step is an entry of the ledger: cautions and hold point first, what to do, then one
//! line for each reading and each lot that nobody weighed (see [`ledger`](super::ledger)), and the findings at the line
//! they are about. Nothing is computed here.

use super::books::{Books, Extent, Stand};
use super::ledger::{line, margin, place, rows, to_do, weighed};
use super::page::{Sheet, address};
use super::trouble::Trouble;
use super::{Office, blocking, work};
use axum::extract::{Path, State};
use maud::{Markup, html};
use prep::model::{Preparation, Reading, Step};
use prep::outcome::{Finding, PlannedStep, Severity, StepScreening};
use report::figure::yields_figure;
use report::html::caution;
use report::html::formula::rich;
use report::number;
use std::sync::Arc;

/// A preparation.
pub async fn show(State(office): State<Arc<Office>>, Path(name): Path<String>) -> Result<Sheet, Trouble> {
    let books = work::books(&office, &name, Extent::Both).await?;
    work::finish(&office, &name, &books);
    let (place, of) = (office.clone(), name.clone());
    let versions = blocking(move || Ok(place.notebook.version_count(&of)?)).await?;
    let moved = office.moved(&name, &books);
    let title = books.title();
    let body = html! {
        (heading(&name, &title, &books, versions, moved.as_deref()))
        @match (&books.preparation, &books.plan) {
            (Some(preparation), Some(plan)) => {
                (loose(&books))
                (ledger(&name, &books, preparation, &plan.steps, &plan.screening.steps))
                (things(&name, preparation))
            }
            _ => (unread(&name, &books)),
        }
    };
    Ok(Sheet::new(title, "/").of(&name).at(&books.page.revision).quick(!books.whole).with(body))
}

fn heading(name: &str, title: &str, books: &Books, versions: usize, moved: Option<&str>) -> Markup {
    let link = format!("/p/{}", address(name));
    let state = books.state();
    let figure = books.account.as_deref().and_then(yields_figure);
    html! {
        div.title {
            div {
                p.kick { a href="/" { "Notebook" } ", " (name) }
                h1 { (title) }
                p.sub {
                    @if let Some(preparation) = &books.preparation {
                        @if let Some(target) = &preparation.target {
                            "Wanted: "
                            @if let Some(kg) = target.amount { (number::unit(&number::plain(kg * 1e3), "g")) " " }
                            (rich(&target.substance.to_string())) ". "
                        }
                        @if !preparation.account_for.is_empty() {
                            "The books are kept for " (preparation.account_for.iter().map(|e| e.symbol()).collect::<Vec<_>>().join(", ")) ". "
                        }
                    }
                    span class=(format!("state {}", state.word())) { (state.word()) }
                    @if let Some(hash) = &books.frozen { ". Plan frozen, " span.fine { (hash.chars().take(8).collect::<String>()) } }
                }
                (claim(&link, books))
                @if let Some(moved) = moved { p.moved role="status" { (moved) } }
                // A form within a paragraph would end it.
                div.tools {
                    a href=(format!("{link}/bench")) { "Bench" } " "
                    a href=(format!("{link}/account")) { "Account" } " "
                    a href=(format!("{link}/paper/sheet.pdf")) { "Bench sheet" } " "
                    a href=(format!("{link}/file")) { "The file" } " "
                    a href=(format!("{link}/edit?kind=file")) { "Title and target" } " "
                    a href=(format!("{link}/versions")) { (versions) @if versions == 1 { " saved version" } @else { " saved versions" } }
                    form method="post" action=(format!("{link}/undo")) { button.quiet { "Undo the last change" } }
                }
            }
            @if let Some(figure) = figure { (figure.html()) }
        }
        @if state == Stand::Closed {
            p.closed-line { span.state.closed { "closed" } ". What follows this line is a correction, with its reason." }
        }
    }
}

fn claim(link: &str, books: &Books) -> Markup {
    let Some(account) = &books.account else {
        return match &books.plan {
            Some(plan) if plan.feed.is_some() => html! {
                @if let Some(feed) = &plan.feed {
                    p.lead { "For " (rich(&feed.target)) " weigh out " b { (number::interval(&feed.amount)) } " of " (feed.supply) "; nothing was weighed yet." }
                }
            },
            Some(_) => html! { p.lead { "Nothing was weighed yet: what is printed is the plan." } },
            None => html! {},
        };
    };
    let rough = match books {
        Books { sampled: true, .. } => "",
        Books { whole: true, .. } => " A quick view; the account is sampled.",
        _ => " A first view, being worked out in full.",
    };
    html! {
        @if let Some(yields) = &account.yields {
            p.lead {
                "Accounted: " b { (number::percent_bare(&yields.overall)) "\u{a0}%" } " of the " (element_name(&yields.element)) " taken."
                (rough) " " a href=(format!("{link}/account")) { "The account" }
            }
        } @else { p.lead { a href=(format!("{link}/account")) { "The account" } (rough) } }
    }
}

fn element_name(symbol: &str) -> String {
    chem::Element::from_symbol(symbol).map_or_else(|| symbol.to_owned(), |element| element.name().to_owned())
}

/// A file that cannot be read: what is wrong, and the way to the lines.
fn unread(name: &str, books: &Books) -> Markup {
    html! {
        section.part {
            h2 { "Before it can be planned" }
            @for finding in &books.findings { (note_of(finding)) }
        }
        p.acts-line { a.btn href=(format!("/p/{}/file", address(name))) { "Open the file at these lines" } }
        (written_parts(name, &books.page.text))
    }
}

/// What is written already, as far as the text can be parsed: each part with the way to its form.
fn written_parts(name: &str, text: &str) -> Markup {
    let Ok(document) = text.parse::<toml_edit::DocumentMut>() else { return html! {} };
    let names = |kind: &str| -> Vec<String> {
        let all = document.get(kind).and_then(toml_edit::Item::as_array_of_tables);
        let named = |table: &toml_edit::Table| table.get("name")?.as_str().map(str::to_owned);
        all.into_iter().flatten().filter_map(named).collect()
    };
    let steps = names("step");
    let link = format!("/p/{}/edit", address(name));
    let parts = [
        ("supply", "Supplies", "supply"),
        ("instrument", "Balances and ware", "balance or ware"),
        ("vessel", "Vessels", "vessel"),
    ];
    html! {
        section.part {
            h2 { "Steps" }
            ol.plain-list { @for (at, step) in steps.iter().enumerate() { li {
                (at + 1) ". " a href=(format!("{link}?kind=step&of={}", address(step))) { (step) } (tools(name, &steps, at))
            } } }
            p.tools { a href=(format!("{link}?kind=step&new=1")) { "Add a step" } }
        }
        section.part.three-lists { @for (kind, title, word) in parts { div {
            h2 { (title) }
            ul.plain-list { @for part in names(kind) { li { a href=(format!("{link}?kind={kind}&of={}", address(&part))) { (part) } } } }
            p.tools { a href=(format!("{link}?kind={kind}&new=1")) { "Add a " (word) } }
        } } }
    }
}

/// Findings that are about no step.
fn loose(books: &Books) -> Markup {
    let steps: Vec<usize> = step_lines(books);
    let first = steps.first().copied().unwrap_or(usize::MAX);
    let found: Vec<&Finding> =
        books.findings.iter().filter(|f| f.line < first && f.severity != Severity::Note).collect();
    html! {
        @if !found.is_empty() { section.loose aria-label="Findings" { @for finding in found { (note_of(finding)) } } }
    }
}

/// Lines at which the steps begin.
fn step_lines(books: &Books) -> Vec<usize> {
    let line = |at: usize| books.page.text.get(..at).map_or(1, |before| before.matches('\n').count() + 1);
    books.preparation.iter().flat_map(|p| &p.steps).map(|step| line(step.span.start)).collect()
}

fn note_of(finding: &Finding) -> Markup {
    let (class, word) = match finding.severity {
        Severity::Error => ("wrong", "Wrong. "),
        Severity::Warning => ("wrong", ""),
        Severity::Caution => ("warn", "Caution. "),
        Severity::Note => ("plain", ""),
    };
    html! {
        div class=(format!("found-note {class}")) {
            p { @if !word.is_empty() { b { (word) } } (rich(&sentence(&finding.message))) "." @if finding.line > 0 { " " span.fine.nb { "line " (finding.line) } } }
            @for hint in &finding.hints { p.q2 { (rich(&sentence(hint))) } }
            @if !finding.causes.is_empty() {
                ul.points { @for cause in finding.causes.iter().take(4) { li { (rich(&report::document::cause_words(cause))) } } }
            }
        }
    }
}

fn ledger(
    name: &str,
    books: &Books,
    preparation: &Preparation,
    planned: &[PlannedStep],
    screened: &[StepScreening],
) -> Markup {
    let lines = step_lines(books);
    let unread = |step: &Step| step.readings.iter().any(|r| r.weigh.is_none() && r.volume.is_none());
    let hand = preparation.steps.iter().position(unread);
    html! {
        h2.vh { "Procedure" }
        div.ledger {
            div.ledger-head aria-hidden="true" { span { "step" } span { "what to do" } span { "expected, 9 times in 10" } span { "found" } span { "remarks and findings" } }
            @for (at, step) in preparation.steps.iter().enumerate() {
                @let span = (lines.get(at).copied().unwrap_or(0), lines.get(at + 1).copied().unwrap_or(usize::MAX));
                @let holds = screened.iter().find(|s| s.step == step.name.value);
                (entry(name, books, preparation, at, planned.get(at), holds, span, hand == Some(at)))
            }
        }
        @if preparation.steps.is_empty() { div.empty { p { "No step is written yet." } } }
        p.tools { a href=(format!("/p/{}/edit?kind=step&new=1", address(name))) { "Add a step" } }
        p.cap { "Printed figures are computed; " span.pen { "figures in pen" } " were read. Strip: thin line 90\u{a0}%, thick line 50\u{a0}%, tick at the median, pointer at the reading; a hollow pointer lies outside. Each strip has its own scale." }
    }
}

#[expect(clippy::too_many_arguments, reason = "all that is known of one entry")]
fn entry(
    name: &str,
    books: &Books,
    preparation: &Preparation,
    at: usize,
    planned: Option<&PlannedStep>,
    screened: Option<&StepScreening>,
    (first, end): (usize, usize),
    in_hand: bool,
) -> Markup {
    let Some(step) = preparation.steps.get(at) else { return html! {} };
    let names: Vec<String> = preparation.steps.iter().map(|step| step.name.value.clone()).collect();
    let rows = rows(&books.page.text, preparation, step, planned);
    // What already stands as a caution in the step is not said again in its margin.
    let told = |finding: &Finding| {
        let cautions = planned.map(|p| p.cautions.as_slice()).unwrap_or_default();
        cautions.iter().any(|text| text.contains(finding.message.trim_end_matches('.')))
    };
    let here = |finding: &&Finding| (first..end).contains(&finding.line) && !told(finding);
    let findings: Vec<&Finding> = books.findings.iter().filter(here).collect();
    let begun = step.readings.iter().any(|r| r.weigh.is_some() || r.volume.is_some());
    let class = if in_hand {
        "entry now"
    } else if begun {
        "entry"
    } else {
        "entry ahead"
    };
    html! {
        section class=(class) aria-label=(format!("Step {}, {}", at + 1, step.name.value)) {
            div.no.r1 { (at + 1) }
            div.do.t.r1 {
                @for text in planned.map(|p| p.cautions.as_slice()).unwrap_or_default() { (caution(text)) }
                @for hold in screened.map(|s| s.holds.as_slice()).unwrap_or_default() {
                    div.hold { b { "Hold." } span { (rich(&sentence(&hold.condition))) ". " (rich(&sentence(&hold.proof))) "." } }
                }
                h3 { (sentence(&step.name.value)) }
                span.when { (step.action.value.word()) @if step.test { ", test" } @if let Some(time) = &step.time { ", " (time.text) } }
                (tools(name, &names, at))
                p { (rich(&to_do(step, planned.map_or("", |p| p.instruction.as_str())))) }
            }
            @for (k, row) in rows.iter().enumerate() { (line(row, k + 2)) }
            (writing(name, preparation, step, rows.len() + 2, in_hand))
            (margin(step, &rows, &findings))
        }
    }
}

pub(super) fn sentence(text: &str) -> String {
    let mut characters = text.chars();
    characters.next().map_or_else(String::new, |first| first.to_uppercase().chain(characters).collect())
}

/// What can be done with the step at this place.
fn tools(name: &str, steps: &[String], at: usize) -> Markup {
    let link = format!("/p/{}", address(name));
    let Some(step) = steps.get(at) else { return html! {} };
    let of = address(step);
    let before = at.checked_sub(1).and_then(|k| steps.get(k));
    let after = steps.get(at + 2);
    let has_next = at + 1 < steps.len();
    html! {
        details.tools-of {
            summary aria-label=(format!("Change step {}", at + 1)) { "change" }
            div.tools {
                a href=(format!("{link}/edit?kind=step&of={of}")) { "Edit" } " "
                a href=(format!("{link}/edit?kind=step&new=1&before={of}")) { "Add a step before" }
                @if let Some(before) = before { (shift(&link, step, Some(before), "Move up")) }
                @if has_next { (shift(&link, step, after.map(String::as_str), "Move down")) }
                form method="post" action=(format!("{link}/remove")) {
                    input type="hidden" name="thing" value="step"; input type="hidden" name="of" value=(step);
                    button.quiet { "Remove" }
                }
            }
        }
    }
}

fn shift(link: &str, step: &str, before: Option<&str>, word: &str) -> Markup {
    html! {
        form method="post" action=(format!("{link}/move")) {
            input type="hidden" name="of" value=(step);
            input type="hidden" name="before" value=[before];
            button.quiet { (word) }
        }
    }
}

/// The form for another reading of a step; open in the step in hand.
fn writing(name: &str, preparation: &Preparation, step: &Step, row: usize, open: bool) -> Markup {
    let waiting: Vec<&Reading> = step.readings.iter().filter(|r| r.weigh.is_none() && r.volume.is_none()).collect();
    let id = |part: &str| format!("{part}-{}", address(&step.name.value));
    let [what, figure, with, note, live] = ["what", "figure", "with", "note", "live"].map(id);
    let balances = || preparation.instruments.iter();
    html! {
        details class=(format!("write-in {}", place(row))) open[open] {
            summary { "Enter or plan a reading" }
            @if preparation.instruments.is_empty() {
                p.q2 { "No balance is listed yet. " a href=(format!("/p/{}/edit?kind=instrument&new=1", address(name))) { "Add a balance" } }
            } @else {
                form.write method="post" action=(format!("/p/{}/reading", address(name))) data-entry="" data-judge=(format!("/p/{}/judge", address(name))) {
                    input type="hidden" name="step" value=(step.name.value);
                    span { label for=(what) { "what" } select id=(what) name="what" {
                        @for reading in &waiting { option value=(format!("waiting {}", reading.id.value)) { (weighed(reading)) } }
                        @for give in &step.gives { option value=(format!("of {}", give.lot.value)) { (give.lot.value) } }
                        @for take in &step.take { @if preparation.supply(&take.source.value).is_some() || take.source.value == prep::model::WATER { option value=(format!("charge {}", take.source.value)) { (take.source.value) ", weighed out" } } }
                        @for vessel in &preparation.vessels { option value=(format!("in {}", vessel.name.value)) { (vessel.name.value) ", empty" } }
                        @for vessel in &preparation.vessels { @for give in &step.gives { option value=(format!("both {}\u{1f}{}", give.lot.value, vessel.name.value)) { (vessel.name.value) " with " (give.lot.value) } } }
                        @for reading in step.readings.iter().filter(|r| r.weigh.is_some()) { option value=(format!("correct {}", reading.id.value)) { "correction of " (reading.id.value) ", " (reading.text) } }
                    } }
                    span { label for=(figure) { "figure" } input id=(figure) name="figure" inputmode="decimal" autocomplete="off" required size="9" aria-describedby=(live); }
                    span { label for=(with) { "with" } select id=(with) name="with" { @for balance in balances() { option { (balance.name.value) } } @for ware in &preparation.ware { option { (ware.name.value) } } } }
                    span.grow { label for=(note) { "remark, or the reason of a correction" } input id=(note) name="note"; }
                    button { "Enter reading" }
                    button.plain name="later" value="1" formnovalidate { "Weigh it later" }
                    span.live id=(live) role="status" aria-live="polite" {}
                }
            }
        }
    }
}

/// Supplies, balances and vessels, each with a way to change it.
fn things(name: &str, preparation: &Preparation) -> Markup {
    let link = format!("/p/{}/edit", address(name));
    let edit = |kind: &str, of: &str| format!("{link}?kind={kind}&of={}", address(of));
    html! {
        section.part.three-lists {
            div {
                h2 { "Supplies" }
                ul.plain-list { @for supply in &preparation.supplies { li {
                    a href=(edit("supply", &supply.name.value)) { (supply.name.value) } " " span.q2 { (rich(&supply.holds.iter().map(|s| s.value.to_string()).collect::<Vec<_>>().join(" or "))) }
                } } }
                p.tools { a href=(format!("{link}?kind=supply&new=1")) { "Add a supply" } }
            }
            div {
                h2 { "Balances and ware" }
                ul.plain-list {
                    @for balance in &preparation.instruments { li { a href=(edit("instrument", &balance.name.value)) { (balance.name.value) } " " span.q2 { "reads to " (number::unit(&number::plain(balance.resolution * 1e3), "g")) } } }
                    @for ware in &preparation.ware { li { a href=(edit("instrument", &ware.name.value)) { (ware.name.value) } " " span.q2 { (ware.kind) } } }
                }
                p.tools { a href=(format!("{link}?kind=instrument&new=1")) { "Add a balance or ware" } }
            }
            div {
                h2 { "Vessels" }
                ul.plain-list { @for vessel in &preparation.vessels { li { a href=(edit("vessel", &vessel.name.value)) { (vessel.name.value) } } } }
                p.tools { a href=(format!("{link}?kind=vessel&new=1")) { "Add a vessel" } }
            }
        }
        @if preparation.closed.is_none() {
            form.close-books method="post" action=(format!("/p/{}/close", address(name))) { button.plain { "Close the books" } span.q2 { "Afterwards there are only corrections, and other preparations may learn from this one." } }
        }
    }
}
