//! What does the file itself say, and what is wrong at which line?
//!
//! The text of the file, editable, with its findings beside it, read again while one types. It is saved against the
//! revision it was made from; if the file has moved on, both are brought together or both are shown.

use super::page::{Sheet, address, when};
use super::preparation::sentence;
use super::trouble::{Fields, Trouble};
use super::{Office, blocking, reading};
use crate::commands::Folder;
use crate::notebook::Saved;
use axum::extract::{Path, State};
use axum::response::{Html, IntoResponse, Redirect, Response};
use maud::{Markup, html};
use prep::AccountSettings;
use prep::outcome::{Finding, Severity};
use report::html::formula::rich;
use std::sync::Arc;

/// The file.
pub async fn show(State(office): State<Arc<Office>>, Path(name): Path<String>) -> Result<Sheet, Trouble> {
    blocking(move || {
        let page = office.notebook.read(&name)?;
        let findings = read(&office, &name, &page.text);
        Ok(sheet(&name, &page.text, &page.revision, &findings, Came::FromFile))
    })
    .await
}

fn read(office: &Office, name: &str, text: &str) -> Vec<Finding> {
    let path = office.notebook.folder().join(format!("{name}.toml"));
    reading::read_beside(text, &Folder::of(&path)).findings.clone()
}

/// How a text came to be what it is.
#[derive(Clone, Copy)]
enum Came {
    /// As it stands in the file.
    FromFile,
    /// Saved, together with what was changed meanwhile.
    Together,
    /// Not saved: both versions stand in it.
    InConflict,
}

fn sheet(name: &str, text: &str, revision: &str, findings: &[Finding], came: Came) -> Sheet {
    let link = format!("/p/{}", address(name));
    Sheet::new(format!("{name}.toml"), "/").with(html! {
        p.kick { a href="/" { "Notebook" } ", " a href=(link) { (name) } }
        h1 { (name) ".toml" }
        p.sub { "The file is the record. Comments and layout stay as you write them." }
        @if matches!(came, Came::Together) {
            p.moved role="status" { "Saved. Somebody else had changed other lines meanwhile; both changes stand in the text below." }
        }
        @if matches!(came, Came::InConflict) {
            p.err role="alert" { b { "The file was changed while you wrote." } " Both versions of the lines in question stand in the text between marks; keep what is right, take the marks out, and save. Nothing is lost." }
        }
        form.raw method="post" action=(format!("{link}/file")) data-try=(format!("{link}/try")) {
            input type="hidden" name="base" value=(revision);
            div.raw-text {
                label for="text" { "text of the file" }
                textarea id="text" name="text" rows=(text.lines().count().clamp(12, 60)) spellcheck="false" autocapitalize="off" { "\n" (text) }
                p.acts-line { button { "Save" } a.btn.plain href=(link) { "Leave it" } }
            }
            div.raw-findings id="findings" role="status" aria-live="polite" { (findings_of(findings)) }
        }
    })
}

fn findings_of(findings: &[Finding]) -> Markup {
    html! {
        h2 { "Findings" }
        @if findings.is_empty() { p.q2 { "none" } }
        @for finding in findings {
            @let class = match finding.severity { Severity::Error | Severity::Warning => "wrong", Severity::Caution => "warn", Severity::Note => "plain" };
            div class=(format!("found-note {class}")) {
                p {
                    @if finding.line > 0 { button.quiet.at-line type="button" data-line=(finding.line) data-column=(finding.column) { "line " (finding.line) } " " }
                    (rich(&sentence(&finding.message)))
                }
                @for hint in &finding.hints { p.q2 { (rich(&sentence(hint))) } }
            }
        }
    }
}

/// Reads a text while it is typed; answers with what it would give and its findings.
pub async fn attempt(
    State(office): State<Arc<Office>>,
    Path(name): Path<String>,
    fields: Fields,
) -> Result<Html<String>, Trouble> {
    blocking(move || {
        let text = fields.raw("text").unwrap_or_default().replace("\r\n", "\n");
        Ok(Html(tried(&office, &name, &text)?.into_string()))
    })
    .await
}

/// What a text would give, and its findings.
pub(super) fn tried(office: &Office, name: &str, text: &str) -> Result<Markup, Trouble> {
    let path = office.notebook.path(name)?;
    let reading = reading::read_beside(text, &Folder::of(&path));
    let settings = AccountSettings { at_once: true, ..AccountSettings::default() };
    let weighed = reading.preparation.as_ref().filter(|preparation| super::books::weighed(preparation));
    let fits = office.fits(name);
    let told = weighed.map(|preparation| prep::live_account_after(preparation, &settings, &fits));
    let yields = told.as_ref().and_then(|account| account.yields.as_ref());
    Ok(html! {
        @if let Some(yields) = yields {
            p.lead { "Accounted: " b { (report::number::percent_bare(&yields.overall)) "\u{a0}%" } ", if it is saved like this." }
        }
        (findings_of(&reading.findings))
    })
}

/// Saves the text.
pub async fn save(
    State(office): State<Arc<Office>>,
    Path(name): Path<String>,
    fields: Fields,
) -> Result<Response, Trouble> {
    let (place, of) = (office.clone(), name.clone());
    let (saved, findings) = blocking(move || {
        let text = fields.raw("text").ok_or_else(|| Trouble::asked("The text is missing."))?.replace("\r\n", "\n");
        super::form::bounded(&text)?;
        let saved = place.notebook.save(&of, fields.get("base").unwrap_or_default(), &text, "file edited")?;
        let findings = match &saved {
            Saved::Conflict { both, .. } => read(&place, &of, both),
            other => read(&place, &of, &other.page().text),
        };
        Ok((saved, findings))
    })
    .await?;
    Ok(match &saved {
        Saved::Conflict { both, theirs } => {
            sheet(&name, both, &theirs.revision, &findings, Came::InConflict).into_response()
        }
        Saved::Merged(page) => {
            office.tell(&name);
            sheet(&name, &page.text, &page.revision, &findings, Came::Together).into_response()
        }
        Saved::Written(_) | Saved::Before(_) => {
            office.tell(&name);
            Redirect::to(&format!("/p/{}", address(&name))).into_response()
        }
    })
}

/// Every saved version, the newest first.
pub async fn versions(State(office): State<Arc<Office>>, Path(name): Path<String>) -> Result<Sheet, Trouble> {
    let (versions, chain, name) = blocking(move || {
        let versions = office.notebook.versions(&name)?;
        office.notebook.read(&name)?;
        Ok((versions, office.notebook.chain()?, name))
    })
    .await?;
    let whole = match chain {
        crate::notebook::Chain::Whole(count) => {
            format!("The chain of record is whole: {count} versions in this notebook.")
        }
        crate::notebook::Chain::Broken { at, why } => format!("The chain of record is broken at version {at}: {why}."),
    };
    Ok(Sheet::new(format!("Versions of {name}"), "/").with(html! {
        p.kick { a href="/" { "Notebook" } ", " a href=(format!("/p/{}", address(&name))) { (name) } }
        h1 { "Saved versions" }
        p.sub { (whole) }
        table.tbl.stack {
            thead { tr { th { "no." } th { "when" } th.col { "what was done" } th.col { "text" } } }
            tbody { @for version in versions.iter().rev() {
                tr {
                    th scope="row" data-l="no. " { (version.number) }
                    td.nb.full data-l="when " { (when(&version.at)) }
                    td.col.full { (version.what) }
                    td.col.full { details { summary { "show" } pre.old { (version.text) } } }
                }
            } }
        }
    }))
}
