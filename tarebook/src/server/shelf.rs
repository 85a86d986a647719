//! What stands on the shelf, and what may it hold?
//!
//! The supplies of all preparations, each with its label, what the label may mean, what is left, and bottle labels to
//! print. Nothing is stored here: the files say it all, and one supply is told once for each different label.

use super::page::{Sheet, address};
use super::trouble::Trouble;
use super::{Office, blocking};
use axum::extract::State;
use maud::{Markup, html};
use prep::model::Supply;
use prep::outcome::StockLine;
use report::html::formula::rich;
use report::number;
use std::sync::Arc;

/// Most preparations that are looked through.
const MOST: usize = 200;

struct Bottle {
    supply: Supply,
    preparation: String,
    left: Option<StockLine>,
}

fn bottles(office: &Office) -> Result<Vec<Bottle>, Trouble> {
    let mut all: Vec<Bottle> = Vec::new();
    for name in office.notebook.names()?.into_iter().take(MOST) {
        let books = office.books_now(&name)?;
        let Some(preparation) = &books.preparation else { continue };
        let stock = books.account.as_ref().map(|a| &a.stock).or(books.plan.as_ref().map(|p| &p.stock));
        for supply in &preparation.supplies {
            let known =
                |bottle: &Bottle| bottle.supply.name.value == supply.name.value && bottle.supply.label == supply.label;
            if all.iter().any(known) || supply.name.value == prep::model::WATER {
                continue;
            }
            let left = stock.and_then(|lines| lines.iter().find(|line| line.supply == supply.name.value)).cloned();
            all.push(Bottle { supply: supply.clone(), preparation: name.clone(), left });
        }
    }
    all.sort_by(|a, b| a.supply.name.value.cmp(&b.supply.name.value));
    Ok(all)
}

fn holds(supply: &Supply) -> String {
    let names: Vec<String> = supply.holds.iter().map(|species| species.value.to_string()).collect();
    let (low, high) = supply.assay.bounds();
    let range = if supply.assay_stated {
        format!(", {} %", number::ends(100.0 * low, (100.0 * high).min(100.0)))
    } else {
        String::new()
    };
    format!("{}{range}", names.join(" or "))
}

fn hazards(supply: &Supply) -> Vec<String> {
    let mut told: Vec<String> = Vec::new();
    for species in &supply.holds {
        for (_, phrase) in prep::screen::hazards_of(&species.value).map(|h| h.statements).unwrap_or_default() {
            if !told.iter().any(|known| known == phrase) {
                told.push(phrase.to_owned());
            }
        }
    }
    told
}

/// The shelf.
pub async fn show(State(office): State<Arc<Office>>) -> Result<Sheet, Trouble> {
    let bottles = blocking(move || bottles(&office)).await?;
    Ok(Sheet::new("Shelf", "/shelf").with(html! {
        h1 { "Shelf" }
        p.sub { "What stands in bottle, bag and box: what its label says, and what it may therefore hold." }
        @if bottles.is_empty() {
            div.empty { p { "Nothing stands here yet." } p { "A supply is written down in the preparation that uses it." } div.go { a.btn href="/new" { "New preparation" } a.btn.plain href="/questions/label" { "Read a label" } } }
        } @else {
            p.tools { a href="/shelf/labels" { "Bottle labels to print" } }
            table.tbl.stack {
                thead { tr { th { "supply" } th.col { "label, as printed" } th.col { "may hold" } th.col { "left" } th.col { "hazards" } } }
                tbody { @for bottle in &bottles { (row(bottle)) } }
            }
            p.cap { "Left is reckoned: what was there, less every charge, in the preparation named. Hazards are those of the pure substances; that none is named does not make it safe." }
        }
    }))
}

fn row(bottle: &Bottle) -> Markup {
    let supply = &bottle.supply;
    let link = format!("/p/{}/edit?kind=supply&of={}", address(&bottle.preparation), address(&supply.name.value));
    let hazards = hazards(supply);
    html! { tr {
        th scope="row" { a href=(link) { (supply.name.value) } br; small { "in " (bottle.preparation) } }
        td.col.full data-l="label: " { @if supply.label.is_empty() { span.q2 { "none" } } @else { (rich(&supply.label)) } }
        td.col.full data-l="may hold: " { (rich(&holds(supply))) }
        td.col.nb data-l="left " { @match &bottle.left { Some(line) => (number::mean(&line.remains)), None => span.q2 { "not stated" } } }
        td.col.full data-l="hazards: " { @if hazards.is_empty() { span.q2 { "none listed" } } @else { (hazards.join("; ")) } }
    } }
}

/// Labels to print.
pub async fn labels(State(office): State<Arc<Office>>) -> Result<Sheet, Trouble> {
    let bottles = blocking(move || bottles(&office)).await?;
    let today = jiff::ZonedDateTime::now().strftime("%-d %B %Y").to_string();
    Ok(Sheet::new("Bottle labels", "/shelf").with(html! {
        p.kick { a href="/shelf" { "Shelf" } }
        h1 { "Bottle labels" }
        p.sub.no-print { "Print this page; cut along the rules." }
        div.labels { @for bottle in &bottles {
            @let hazards = hazards(&bottle.supply);
            div.bottle-label {
                h2 { (bottle.supply.name.value) }
                p { (rich(&holds(&bottle.supply))) }
                @if !bottle.supply.label.is_empty() { p.q2 { "Label: " (rich(&bottle.supply.label)) } }
                @if !hazards.is_empty() { p.hazard { (hazards.join(". ")) "." } }
                p.fine { "Labelled " (today) ". Not for food." }
            }
        } }
    }))
}
