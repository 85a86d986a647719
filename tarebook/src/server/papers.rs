//! What of a preparation goes on paper: the bench sheet, the report?
//!
//! The same papers as by command, made when they are asked for and sent as files, because a paper brings its own styles
//! and a page of the notebook may not. A report waits for the sampled account.

use super::books::{Books, Extent};
use super::page::address;
use super::trouble::Trouble;
use super::work;
use super::{Office, blocking};
use crate::frozen::{self, Beside};
use axum::extract::{Path, State};
use axum::http::HeaderMap;
use axum::http::header::{CONTENT_DISPOSITION, CONTENT_TYPE, HOST};
use axum::response::{IntoResponse, Response};
use prep::Preparation;
use prep::outcome::Plan;
use report::document::{Bench, Paper, Written, bench_sheet, brief_report, full_report, talk};
use std::sync::Arc;

/// A paper as a file: `sheet.pdf`, `report.html` …
pub async fn show(
    State(office): State<Arc<Office>>,
    Path((name, which)): Path<(String, String)>,
    headers: HeaderMap,
) -> Result<Response, Trouble> {
    let nothing = || Trouble::missing("There is no such paper: sheet, report, brief or talk, as .pdf or .html.");
    let (kind, ending) = which.split_once('.').ok_or_else(nothing)?;
    let html = match ending {
        "html" => true,
        "pdf" => false,
        _ => return Err(nothing()),
    };
    let (kind, ending) = (kind.to_owned(), ending.to_owned());
    let books = match kind.as_str() {
        "sheet" => work::books(&office, &name, Extent::Whole).await?,
        "report" | "brief" | "talk" => work::sampled_now(&office, &name, true).await?,
        _ => return Err(nothing()),
    };
    let host = headers.get(HOST).and_then(|host| host.to_str().ok()).unwrap_or_default().to_owned();
    blocking(move || {
        let paper = written(&office, &name, &kind, &books, &host)?;
        let bytes = if html {
            report::html::alone::page(&paper).into_bytes()
        } else {
            paper::pdf(&paper, paper::Size::A4)
                .map_err(|why| Trouble::failed(format!("The paper could not be set: {why}.")))?
        };
        let content = if html { "text/html; charset=utf-8" } else { "application/pdf" };
        let plain: String = name.chars().map(|c| if c.is_ascii_alphanumeric() { c } else { '-' }).collect();
        let named = format!(
            "attachment; filename=\"{plain}-{kind}.{ending}\"; filename*=UTF-8''{}-{kind}.{ending}",
            address(&name)
        );
        Ok(([(CONTENT_TYPE, content.to_owned()), (CONTENT_DISPOSITION, named)], bytes).into_response())
    })
    .await
}

fn today() -> (i32, u8, u8) {
    let date = jiff::ZonedDateTime::now().date();
    (i32::from(date.year()), date.month().unsigned_abs(), date.day().unsigned_abs())
}

fn written(office: &Office, name: &str, kind: &str, books: &Books, host: &str) -> Result<Paper, Trouble> {
    let unread = || Trouble::asked("The file has errors, so there is nothing to print yet.");
    let preparation: &Preparation = books.preparation.as_ref().ok_or_else(unread)?;
    let plan = books.plan.as_ref().ok_or_else(unread)?;
    let plan = Plan { frozen: books.frozen.clone(), findings: books.findings.clone(), ..Plan::clone(plan) };
    let path = office.notebook.path(name)?;
    let (frozen_at, frozen) = match frozen::look(&path) {
        Beside::Plan(record) => {
            (Some(record.frozen_at), std::fs::read_to_string(prep::freeze::frozen_path(&path)).ok())
        }
        Beside::Nothing | Beside::Unreadable(_) => (None, None),
    };
    let record = prep::record(preparation);
    let date = today();
    if kind == "sheet" {
        let address = format!("http://{host}/p/{}/bench", address(name));
        let bench = Bench { record: &record, plan: &plan, frozen_at: frozen_at.as_deref(), address: &address, date };
        return Ok(bench_sheet(&bench));
    }
    let none =
        || Trouble::asked("Nothing was weighed yet, so there is nothing to report. The bench sheet can be printed.");
    let mut account = books.account.as_deref().cloned().ok_or_else(none)?;
    account.findings = books.findings.clone();
    let written = Written {
        record: &record,
        plan: &plan,
        account: &account,
        frozen_at: frozen_at.as_deref(),
        text: &books.page.text,
        file: &format!("{name}.toml"),
        frozen: frozen.as_deref(),
        date,
    };
    Ok(match kind {
        "brief" => brief_report(&written),
        "talk" => talk(&written),
        _ => full_report(&written),
    })
}
