//! What stands on the shelf, and what may it hold?
//!
//! The supplies of all preparations, each with its label, what the label may mean, what is left, and bottle labels to
//! print. Nothing is stored here: the files say it all, and one supply is told once for each different label.

use super::line::{Bottle, Line};
use super::page::{Sheet, address};
use super::trouble::Trouble;
use super::{Office, blocking};
use axum::extract::State;
use maud::{Markup, html};
use report::html::formula::rich;
use std::collections::BTreeSet;
use std::sync::Arc;

/// A supply, and the preparation whose file tells of it.
struct Standing {
    bottle: Bottle,
    preparation: String,
}

/// What all preparations that were worked out take from the shelf; whether some are still being worked out.
fn bottles(office: &Arc<Office>) -> Result<(Vec<Standing>, bool), Trouble> {
    let shown = office.books.shown(&office.notebook.stamps()?);
    let waits = shown.iter().any(|(_, shown)| shown.line().is_none());
    super::list::work_behind(office, &shown);
    let mut seen = BTreeSet::new();
    let mut all = Vec::new();
    // The preparation with the last entry knows best what is left.
    let mut lines: Vec<(&String, &Arc<Line>)> = shown.iter().filter_map(|(n, s)| Some((n, s.line()?))).collect();
    lines.sort_by(|(_, a), (_, b)| b.last.cmp(&a.last));
    for (name, line) in lines {
        for bottle in &line.bottles {
            if seen.insert((bottle.name.clone(), bottle.label.clone())) {
                all.push(Standing { bottle: bottle.clone(), preparation: name.clone() });
            }
        }
    }
    all.sort_by(|a, b| a.bottle.name.cmp(&b.bottle.name));
    Ok((all, waits))
}

/// The shelf.
pub async fn show(State(office): State<Arc<Office>>) -> Result<Sheet, Trouble> {
    let (bottles, waits) = blocking(move || bottles(&office)).await?;
    Ok(Sheet::new("Shelf", "/shelf").of("*").with(html! {
        h1 { "Shelf" }
        p.sub { "What stands in bottle, bag and box: what its label says, and what it may therefore hold." }
        @if waits { p.fine role="status" { "Some preparations are still being read." } }
        @if bottles.is_empty() {
            @if !waits { div.empty { p { "Nothing stands here yet." } p { "A supply is written down in the preparation that uses it." } div.go { a.btn href="/new" { "New preparation" } a.btn.plain href="/questions/label" { "Read a label" } } } }
        } @else {
            p.tools { a href="/shelf/labels" { "Bottle labels to print" } " " a href="/questions/label" { "Read a label" } }
            table.tbl.stack {
                thead { tr { th { "supply" } th.col { "label, as printed" } th.col { "may hold" } th.col { "left" } th.col { "opened on" } th.col { "hazards" } } }
                tbody { @for standing in &bottles { (row(standing)) } }
            }
            p.cap { "Left is reckoned: what was there, less every charge, in the preparation named. Hazards are those of the substance, or of a mixture of the strength that the label states, by the rules of the UN system; that none is named does not make it safe." }
        }
    }))
}

/// The address at which a supply is changed.
fn written_in(standing: &Standing) -> String {
    let (preparation, name) = (address(&standing.preparation), address(&standing.bottle.name));
    format!("/p/{preparation}/edit?kind=supply&of={name}")
}

fn row(standing: &Standing) -> Markup {
    let bottle = &standing.bottle;
    let link = written_in(standing);
    html! { tr {
        th scope="row" { a href=(link) { (bottle.name) } br; small { "in " (standing.preparation) } }
        td.col.full data-l="label: " {
            @if bottle.label.is_empty() { span.q2 { "none" } }
            @else { a href=(format!("/questions/label?label={}", address(&bottle.label))) { (rich(&bottle.label)) } }
        }
        td.col.full data-l="may hold: " { (rich(&bottle.holds)) }
        td.col.nb data-l="left " { @match &bottle.left { Some(left) => (left), None => span.q2 { "not stated" } } }
        td.col.nb data-l="opened " { @match &bottle.opened { Some(day) => (day_of(day)), None => a.q2 href=(link) { "not stated" } } }
        td.col.full data-l="hazards: " { @if bottle.hazards.is_empty() { span.q2 { "none listed" } } @else { (bottle.hazards.join("; ")) } }
    } }
}

/// A day as people write it, with its year.
fn day_of(text: &str) -> String {
    let day = text.get(..10).unwrap_or(text);
    day.parse::<jiff::civil::Date>().map_or_else(|_| text.to_owned(), |day| day.strftime("%-d %B %Y").to_string())
}

/// Labels to print.
pub async fn labels(State(office): State<Arc<Office>>) -> Result<Sheet, Trouble> {
    let (bottles, _) = blocking(move || bottles(&office)).await?;
    let today = jiff::ZonedDateTime::now().strftime("%-d %B %Y").to_string();
    Ok(Sheet::new("Bottle labels", "/shelf").with(html! {
        p.kick { a href="/shelf" { "Shelf" } }
        h1 { "Bottle labels" }
        p.sub.no-print { "Print this page; cut along the rules." }
        @if bottles.is_empty() { div.empty { p { "Nothing stands on the shelf yet." } } }
        div.labels { @for Standing { bottle, .. } in &bottles {
            div.bottle-label {
                h2 { (bottle.name) }
                p { (rich(&bottle.holds)) }
                @if !bottle.label.is_empty() { p.q2 { "Label: " (rich(&bottle.label)) } }
                @if !bottle.hazards.is_empty() { p.hazard { (bottle.hazards.join(". ")) "." } }
                p.fine { @if let Some(day) = &bottle.opened { "Opened " (day_of(day)) ". " } "Labelled " (today) ". Not for food." }
            }
        } }
    }))
}
