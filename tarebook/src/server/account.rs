//! What was made, how much, and where is the rest?
//!
//! The figures first, then the document of the account as every other form prints it, so that what the account learns
//! to say stands here without further work. The quick view is shown at once and the sampled account replaces it.

use super::Office;
use super::books;
use super::page::{Sheet, address};
use super::trouble::Trouble;
use axum::extract::{Path, State};
use axum::http::header::CONTENT_TYPE;
use axum::response::{IntoResponse, Response};
use maud::{Markup, html};
use prep::outcome::Account;
use report::document::{Block, account_document};
use report::figure::account_figures;
use report::html::{body, one};
use std::sync::Arc;

/// The account.
pub async fn show(State(office): State<Arc<Office>>, Path(name): Path<String>) -> Result<Sheet, Trouble> {
    let books = books::books(&office, &name).await?;
    let link = format!("/p/{}", address(&name));
    let Some(account) = &books.account else {
        let title = office.line(&name).map_or_else(|| name.clone(), |line| line.title);
        return Ok(Sheet::new("The account", "/").of(&name).with(html! {
            p.kick { a href="/" { "Notebook" } ", " a href=(link) { (title) } }
            h1 { "The account" }
            div.empty {
                p { "Nothing was weighed yet, so there is nothing to account for." }
                div.go { a.btn href=(format!("{link}/bench")) { "To the bench" } a.btn.plain href=(link) { "The plan" } }
            }
        }));
    };
    if !books.sampled {
        books::sample(&office, &name, &books);
    }
    let mut document = account_document(account);
    let lead = document.blocks.iter().take_while(|block| !matches!(block, Block::Heading(_))).count();
    let rest = document.blocks.split_off(lead);
    let shown = html! {
        p.kick { a href="/" { "Notebook" } ", " a href=(link) { (account.title) } }
        h1 { (document.title.split(':').next().unwrap_or(&document.title)) }
        @for block in &document.blocks { (one(block)) }
        @if !books.sampled {
            p.fine role="status" { "Quick view. The account is being sampled; this page changes when it is done." }
        }
        (figures(account))
        (body(&report::document::Document { title: String::new(), blocks: rest }))
    };
    Ok(Sheet::new(document.title.clone(), "/").of(&name).with(shown))
}

fn figures(account: &Account) -> Markup {
    let all = account_figures(account);
    let (broad, small): (Vec<_>, Vec<_>) =
        all.iter().partition(|(which, _)| which.starts_with("flow") || which.starts_with("losses"));
    html! {
        div.two.lean.figures {
            div { @for (_, figure) in broad { section.part { h2 { (report::html::formula::rich(&figure.title)) } (figure.html()) } } }
            div { @for (_, figure) in small { section.part { h2 { (report::html::formula::rich(&figure.title)) } (figure.html()) } } }
        }
    }
}

/// One figure as a file.
pub async fn figure(
    State(office): State<Arc<Office>>,
    Path((name, which)): Path<(String, String)>,
) -> Result<Response, Trouble> {
    let books = books::books(&office, &name).await?;
    let which = which.strip_suffix(".svg").unwrap_or(&which);
    let found = books.account.iter().flat_map(account_figures).find(|(known, _)| known == which);
    let (_, figure) = found.ok_or_else(|| Trouble::missing("The account has no such figure."))?;
    Ok(([(CONTENT_TYPE, "image/svg+xml")], figure.svg()).into_response())
}
