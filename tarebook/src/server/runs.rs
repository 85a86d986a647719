//! What do the preparations of this notebook say together?
//!
//! Two questions over several files: what the closed ones lose beside what is usual, and whether runs of one preparation
//! agree. Runs are compared by their quick accounts; the command samples them.

use super::books::Stand;
use super::kept::Shown;
use super::page::Sheet;
use super::trouble::{Fields, Trouble};
use super::{Office, blocking};
use crate::commands::Folder;
use axum::extract::{Query, State};
use maud::{Markup, html};
use prep::Preparation;
use prep::outcome::{Finding, HistoryAnswer};
use report::document::{history_document, replicates_document};
use report::html::formula::rich;
use std::sync::Arc;

/// Fewest runs that can be compared.
const FEWEST: usize = 2;
/// Most runs that are compared on a page.
const MOST: usize = 24;

/// A preparation of the notebook, or what is wrong with it.
fn read(office: &Office, name: &str) -> Result<Result<Preparation, Vec<Finding>>, Trouble> {
    let (page, path) = (office.notebook.read(name)?, office.notebook.path(name)?);
    let reading = prep::read_beside(page.text.as_bytes(), &Folder::of(&path));
    Ok(reading.preparation.ok_or(reading.findings))
}

/// What closed preparations lose.
pub async fn losses(State(office): State<Arc<Office>>) -> Result<Sheet, Trouble> {
    blocking(move || {
        let mut answer =
            HistoryAnswer { closed: Vec::new(), open: Vec::new(), losses: Vec::new(), findings: Vec::new() };
        let mut closed = Vec::new();
        for name in office.notebook.names()? {
            match read(&office, &name)? {
                Ok(preparation) if preparation.closed.is_some() => {
                    answer.closed.push(name);
                    closed.push(preparation);
                }
                Ok(_) => answer.open.push(name),
                // A draft teaches nothing; its own page says what is wrong with it.
                Err(_) => {}
            }
        }
        answer.losses = prep::history::learn(&closed);
        Ok(Sheet::new("What do my own preparations lose?", "/questions").with(html! {
            p.kick { a href="/questions" { "Questions" } }
            h1 { "What do my own preparations lose?" }
            p.sub { "Learned from the closed preparations of this notebook, beside what is usual." }
            section.answer { (report::html::body(&history_document(&answer))) }
        }))
    })
    .await
}

/// Runs beside each other.
pub async fn replicates(
    State(office): State<Arc<Office>>,
    Query(asked): Query<Vec<(String, String)>>,
) -> Result<Sheet, Trouble> {
    let fields = Fields(asked);
    blocking(move || {
        let chosen: Vec<&str> = fields.0.iter().filter(|(key, _)| key == "of").map(|(_, name)| name.as_str()).collect();
        let shown = office.books.shown(&office.notebook.stamps()?);
        super::list::work_behind(&office, &shown);
        // What cannot be read or is out of bounds is no run.
        let run = |shown: &Shown| shown.line().is_none_or(|l| !matches!(l.state, Stand::Draft | Stand::Refused));
        let runs: Vec<_> = shown.into_iter().filter(|(_, shown)| run(shown)).collect();
        let answer = match chosen.len() {
            0 => html! {},
            n if n < FEWEST => wrong(&["Choose two runs or more.".to_owned()]),
            n if n > MOST => wrong(&[format!("Choose {MOST} runs at most.")]),
            _ => compared(&office, &chosen)?,
        };
        Ok(Sheet::new("Do these runs agree?", "/questions").with(html! {
            p.kick { a href="/questions" { "Questions" } }
            h1 { "Do these runs agree?" }
            p.sub { "Runs of one preparation side by side, and what they give together." }
            form.runs {
                fieldset { legend { "runs" }
                    @for (name, shown) in &runs {
                        label.tick { input type="checkbox" name="of" value=(name) checked[chosen.contains(&name.as_str())]; " " span { @if let Some(line) = shown.line() { (line.title) " " } small { (name) } } }
                    }
                    @if runs.is_empty() { p.q2 { "This notebook has no preparation yet." } }
                }
                button { "Compare" }
            }
            (answer)
        }))
    })
    .await
}

fn compared(office: &Office, chosen: &[&str]) -> Result<Markup, Trouble> {
    let mut runs = Vec::new();
    for name in chosen {
        match read(office, name)? {
            Ok(preparation) => runs.push(((*name).to_owned(), preparation)),
            Err(findings) if super::trouble::refusals(&findings).next().is_some() => {
                return Err(Trouble::refused(&findings));
            }
            Err(_) => return Ok(wrong(&[format!("The file of “{name}” has errors; its page says which.")])),
        }
    }
    Ok(match prep::replicates(&runs, None, &mut |_| {}) {
        Ok(answer) => {
            html! { section.answer aria-live="polite" { (report::html::body(&replicates_document(&answer))) } }
        }
        Err(findings) => wrong(&findings.iter().map(|f| f.message.clone()).collect::<Vec<_>>()),
    })
}

fn wrong(said: &[String]) -> Markup {
    html! { div role="alert" { @for text in said { p.err { b { "Not compared." } " " (rich(&super::preparation::sentence(text))) } } } }
}
