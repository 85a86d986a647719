//! What was made, how much, and where is the rest?
//!
//! The figures first, then the document of the account as every other form prints it, so that what the account learns
//! to say stands here without further work. The quick view is shown at once and the sampled account replaces it.

use super::Office;
use super::blocking;
use super::books::{Books, Extent};
use super::page::{Sheet, address};
use super::preparation::sentence;
use super::trouble::{Fields, Trouble};
use super::work;
use axum::extract::{Path, Query, State};
use axum::http::header::CONTENT_TYPE;
use axum::response::{IntoResponse, Response};
use maud::{Markup, html};
use prep::AccountSettings;
use prep::outcome::Account;
use report::document::{Block, Document, account_document};
use report::figure::account_figures;
use report::html::formula::rich;
use report::html::{body, one};
use std::sync::Arc;

/// Lines of tables from which a section is opened when it is wanted.
const LONG: usize = 24;

/// The account.
pub async fn show(
    State(office): State<Arc<Office>>,
    Path(name): Path<String>,
    Query(asked): Query<Vec<(String, String)>>,
) -> Result<Sheet, Trouble> {
    let books = work::books(&office, &name, Extent::Account).await?;
    let link = format!("/p/{}", address(&name));
    let Some(account) = &books.account else {
        let title = books.title();
        return Ok(Sheet::new("The account", "/").of(&name).with(html! {
            p.kick { a href="/" { "Notebook" } ", " a href=(link) { (title) } }
            h1 { "The account" }
            div.empty {
                @if books.preparation.is_some() {
                    p { "Nothing was weighed yet, so there is nothing to account for." }
                    div.go { a.btn href=(format!("{link}/bench")) { "To the bench" } a.btn.plain href=(link) { "The plan" } }
                } @else {
                    p { "The file cannot be planned yet, so there is nothing to account for." }
                    div.go { a.btn href=(link) { "What is wrong" } a.btn.plain href=(format!("{link}/file")) { "The file" } }
                }
            }
        }));
    };
    let claim = Fields(asked).get("claim").map(str::to_owned);
    if let Some(claim) = claim {
        let place = books.clone();
        let (judged, said) = blocking(move || Ok((held(&place, &claim), claim))).await?;
        let sheet = Sheet::new("The claim", "/");
        return Ok(match judged {
            Ok(account) => sheet.with(page(&link, &account, false, Some((&said, None)))),
            Err(why) => sheet.with(page(&link, account, books.sampled, Some((&said, Some(&why))))),
        });
    }
    if !books.sampled {
        work::sample(&office, &name, &books);
    }
    let sheet = Sheet::new(account_document(account).title, "/").of(&name).at(&books.page.revision).quick(!books.whole);
    Ok(sheet.with(page(&link, account, books.sampled, None)))
}

/// The quick account with a claim held against it, or why it is none.
fn held(books: &Books, claim: &str) -> Result<Account, String> {
    let preparation = books.preparation.as_ref().ok_or("The file has errors.")?;
    prep::check_claim(preparation, claim)?;
    let settings = AccountSettings { claim: Some(claim.to_owned()), ..AccountSettings::default() };
    Ok(prep::live_account_with(preparation, &settings))
}

/// The page, with a claim and what is wrong with it.
fn page(link: &str, account: &Account, sampled: bool, claim: Option<(&str, Option<&str>)>) -> Markup {
    let mut document = account_document(account);
    let lead = document.blocks.iter().take_while(|block| !matches!(block, Block::Heading(_))).count();
    let rest = document.blocks.split_off(lead);
    html! {
        p.kick { a href="/" { "Notebook" } ", " a href=(link) { (account.title) } }
        h1 { (document.title.split(':').next().unwrap_or(&document.title)) }
        @for block in &document.blocks { (one(block)) }
        @if claim.is_some() {
            p.fine { "Quick view, with the claim held against it. " a href=(format!("{link}/account")) { "Without it" } }
        } @else if !sampled {
            p.fine role="status" { "Quick view. The account is being sampled; this page changes when it is done." }
        }
        (claiming(link, claim))
        (figures(account))
        @for (heading, blocks) in sections(rest) { (section(&heading, blocks)) }
        p.tools {
            "On paper: "
            @for (which, word) in [("report", "report"), ("brief", "one page"), ("talk", "what one would say")] {
                a href=(format!("{link}/paper/{which}.pdf")) { (word) ", PDF" } " "
            }
            a href=(format!("{link}/paper/report.html")) { "report, HTML" }
        }
    }
}

/// Asks what one would say of the product.
fn claiming(link: &str, claim: Option<(&str, Option<&str>)>) -> Markup {
    let (said, wrong) = claim.unwrap_or_default();
    html! {
        form.find action=(format!("{link}/account")) {
            span.fl.grow {
                label for="claim" { "May I say that?" }
                input id="claim" name="claim" value=(said) required placeholder="24.4 g CuO, yield 97 %" autocomplete="off"
                    aria-invalid=[wrong.map(|_| "true")] aria-describedby=[wrong.map(|_| "wrong")];
            }
            button.plain { "Hold it against the evidence" }
        }
        @if let Some(why) = wrong {
            p.err id="wrong" role="alert" { b { "Not understood." } " " (sentence(why)) ". Write parts between commas: a mass and a formula, “yield 97 %”, “98 % pure”, a substance." }
        }
    }
}

/// Blocks by the heading above them.
fn sections(blocks: Vec<Block>) -> Vec<(String, Vec<Block>)> {
    let mut all: Vec<(String, Vec<Block>)> = Vec::new();
    for block in blocks {
        match (block, all.last_mut()) {
            (Block::Heading(heading), _) => all.push((heading, Vec::new())),
            (block, Some((_, list))) => list.push(block),
            (block, None) => all.push((String::new(), vec![block])),
        }
    }
    all
}

/// A section; a long one is opened when it is wanted.
fn section(heading: &str, blocks: Vec<Block>) -> Markup {
    let rows: usize =
        blocks.iter().map(|block| if let Block::Table(table) = block { table.rows.len() } else { 0 }).sum();
    if rows > LONG {
        return html! {
            details.part {
                summary { h2 { (rich(heading)) } span { (rows) " lines" } }
                @for block in &blocks { (one(block)) }
            }
        };
    }
    let mut all = blocks;
    if !heading.is_empty() {
        all.insert(0, Block::Heading(heading.to_owned()));
    }
    body(&Document { title: String::new(), blocks: all })
}

fn figures(account: &Account) -> Markup {
    let all = account_figures(account);
    let (broad, small): (Vec<_>, Vec<_>) = all
        .iter()
        .partition(|(which, _)| ["flow", "losses", "holding", "drying"].iter().any(|kind| which.starts_with(kind)));
    html! {
        div.two.lean.figures {
            div { @for (_, figure) in broad { section.part { h2 { (rich(&figure.title)) } (figure.html()) } } }
            div { @for (_, figure) in small { section.part { h2 { (rich(&figure.title)) } (figure.html()) } } }
        }
    }
}

/// One figure as a file.
pub async fn figure(
    State(office): State<Arc<Office>>,
    Path((name, which)): Path<(String, String)>,
) -> Result<Response, Trouble> {
    let books = work::books(&office, &name, Extent::Whole).await?;
    let which = which.strip_suffix(".svg").unwrap_or(&which);
    let found = books.account.iter().flat_map(|account| account_figures(account)).find(|(known, _)| known == which);
    let (_, figure) = found.ok_or_else(|| Trouble::missing("The account has no such figure."))?;
    Ok(([(CONTENT_TYPE, "image/svg+xml")], figure.svg()).into_response())
}
