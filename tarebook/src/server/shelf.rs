//! What stands on the shelf, and what may it hold?
//!
//! The supplies of all preparations, each with its label, what the label may mean, what is left, and bottle labels to
//! print. Nothing is stored here: the files say it all, and one supply is told once for each different label.

use super::line::{Bottle, bottles, last_entry};
use super::page::{Sheet, address};
use super::preparation::sentence;
use super::trouble::Trouble;
use super::{Office, blocking};
use crate::commands::Folder;
use axum::extract::State;
use maud::{Markup, html};
use report::html::formula::rich;
use std::collections::BTreeSet;
use std::sync::Arc;
use std::time::{Duration, Instant};

/// How long files are read for the shelf itself; the others are read behind it.
const PATIENCE: Duration = Duration::from_millis(150);

/// A supply, and the preparation whose file tells of it.
struct Standing {
    bottle: Bottle,
    preparation: String,
    /// Whether what is left is still being reckoned.
    to_come: bool,
}

/// The bottles of one preparation.
struct Told {
    preparation: String,
    last: Option<String>,
    bottles: Vec<Bottle>,
    /// Names of those of which what is left is still being reckoned.
    to_come: Vec<String>,
}

/// What stands on the shelf, and how much of it is not known yet.
struct Stock {
    standing: Vec<Standing>,
    /// Preparations of which what is left is being reckoned.
    reckoning: usize,
    /// Preparations that were not read yet.
    unread: usize,
}

/// What all preparations take from the shelf. What a file says stands there at once; what is left follows.
fn stock(office: &Arc<Office>) -> Result<Stock, Trouble> {
    let shown = office.books.shown(&office.notebook.stamps()?);
    super::list::work_behind(office, &shown);
    let begun = Instant::now();
    let mut all = Vec::new();
    let mut unread = 0;
    for (name, shown) in &shown {
        match shown.line() {
            Some(line) => all.push(Told {
                preparation: name.clone(),
                last: line.last.clone(),
                bottles: line.bottles.clone(),
                to_come: Vec::new(),
            }),
            None if begun.elapsed() < PATIENCE => all.extend(read(office, name)),
            None => unread += 1,
        }
    }
    let reckoning = all.iter().filter(|told| !told.to_come.is_empty()).count();
    Ok(Stock { standing: standing(all), reckoning, unread })
}

/// The bottles as the file alone tells of them; nothing where it cannot be read.
fn read(office: &Office, name: &str) -> Option<Told> {
    let (page, path) = (office.notebook.read(name).ok()?, office.notebook.path(name).ok()?);
    let reading = prep::read_beside(page.text.as_bytes(), &Folder::of(&path));
    if super::trouble::refusals(&reading.findings).next().is_some() {
        return None;
    }
    let preparation = reading.preparation?;
    let stated = preparation.supplies.iter().filter(|supply| supply.left.is_some());
    Some(Told {
        preparation: name.to_owned(),
        last: last_entry(&preparation),
        bottles: bottles(&preparation, |_| None),
        to_come: stated.map(|supply| supply.name.value.clone()).collect(),
    })
}

/// Each supply once for each different label; the preparation with the last entry knows best what is left.
fn standing(mut all: Vec<Told>) -> Vec<Standing> {
    all.sort_by(|a, b| b.last.cmp(&a.last));
    let mut seen = BTreeSet::new();
    let mut standing = Vec::new();
    for Told { preparation, bottles, to_come, .. } in all {
        for bottle in bottles {
            if seen.insert((bottle.name.clone(), bottle.label.clone())) {
                let to_come = to_come.contains(&bottle.name);
                standing.push(Standing { bottle, preparation: preparation.clone(), to_come });
            }
        }
    }
    standing.sort_by_key(|standing| standing.bottle.name.to_lowercase());
    standing
}

/// What is still to come, in a sentence.
fn to_come(stock: &Stock) -> Option<String> {
    let count = |n: usize| if n == 1 { "one preparation".to_owned() } else { format!("{n} preparations") };
    match (stock.reckoning, stock.unread) {
        (0, 0) => None,
        (of, 0) => Some(format!("What is left is being reckoned for {}; it is filled in here.", count(of))),
        (0, more) => Some(format!("{} still to be read; their supplies follow here.", sentence(&count(more)))),
        (of, more) => Some(format!(
            "What is left is being reckoned for {}, and {} still to be read; it is filled in here.",
            count(of),
            count(more)
        )),
    }
}

/// The shelf.
pub async fn show(State(office): State<Arc<Office>>) -> Result<Sheet, Trouble> {
    let stock = blocking(move || stock(&office)).await?;
    let to_come = to_come(&stock);
    let bottles = &stock.standing;
    Ok(Sheet::new("Shelf", "/shelf").of("*").with(html! {
        h1 { "Shelf" }
        p.sub { "What stands in bottle, bag and box: what its label says, and what it may therefore hold." }
        @if let Some(text) = &to_come { p.fine role="status" { (text) } }
        @if bottles.is_empty() {
            @if to_come.is_none() { div.empty { p { "Nothing stands here yet." } p { "A supply is written down in the preparation that uses it." } div.go { a.btn href="/new" { "New preparation" } a.btn.plain href="/questions/label" { "Read a label" } } } }
        } @else {
            p.tools { a href="/shelf/labels" { "Bottle labels to print" } " " a href="/questions/label" { "Read a label" } }
            table.tbl.stack.fold.on-shelf {
                thead { tr { th { "supply" } th.col { "label, as printed" } th.col { "may hold" } th.col { "left" } th.col { "opened on" } th.col.second { "hazards" } } }
                tbody { @for standing in bottles { (row(standing)) } }
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
        td.col.nb data-l="left " { @match &bottle.left { Some(left) => (left), None if standing.to_come => span.q2 { "being reckoned" }, None => span.q2 { "not stated" } } }
        td.col.nb data-l="opened " { @match &bottle.opened { Some(day) => (day_of(day)), None => a.q2 href=(link) { "not stated" } } }
        td.col.full.second data-l="hazards: " { @if bottle.hazards.is_empty() { span.q2 { "none listed" } } @else { (rich(&bottle.hazards.join("; "))) } }
    } }
}

/// A day as people write it, with its year.
fn day_of(text: &str) -> String {
    let day = text.get(..10).unwrap_or(text);
    day.parse::<jiff::civil::Date>().map_or_else(|_| text.to_owned(), |day| day.strftime("%-d %B %Y").to_string())
}

/// Labels to print.
pub async fn labels(State(office): State<Arc<Office>>) -> Result<Sheet, Trouble> {
    let bottles = blocking(move || stock(&office)).await?.standing;
    let today = jiff::ZonedDateTime::now().strftime("%-d %B %Y").to_string();
    Ok(Sheet::new("Bottle labels", "/shelf").with(html! {
        p.kick { a href="/shelf" { "Shelf" } }
        h1 { "Bottle labels" }
        p.sub.no-print { "Print this page; cut along the rules." }
        @if bottles.is_empty() { div.empty { p { "Nothing stands on the shelf yet." } div.go { a.btn href="/new" { "New preparation" } a.btn.plain href="/shelf" { "Shelf" } } } }
        @else { div.labels { @for Standing { bottle, .. } in &bottles {
            div.bottle-label {
                h2 { (bottle.name) }
                p { (rich(&bottle.holds)) }
                @if !bottle.label.is_empty() { p.q2 { "Label: " (rich(&bottle.label)) } }
                @if !bottle.hazards.is_empty() { p.hazard { (rich(&bottle.hazards.iter().map(|text| sentence(text)).collect::<Vec<_>>().join(". "))) "." } }
                p.fine { @if let Some(day) = &bottle.opened { "Opened " (day_of(day)) ". " } "Labelled " (today) ". Not for food." }
            }
        } } }
    }))
}
