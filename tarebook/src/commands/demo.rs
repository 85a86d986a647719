//! `demo [--to DIR] [--no-serve]`: the main job on the shipped examples.
//!
//! The examples are copied into a folder, planned and accounted for; pages and JSON are written beside them, and of the
//! first the bench sheet, the report and its figures. A file
//! of the user's own is never overwritten: an example that was edited stops the demonstration.

use super::account::sampled;
use super::export::pictures;
use super::{merged, wrong};
use crate::output::{self, Exit, Failure, finding};
use crate::{frozen, render};
use prep::outcome::{Account, Finding, Plan, RunRecord};
use report::document::{Bench, Document, Paper, Written, account_document, bench_sheet, full_report, plan_document};
use report::text::{Page, render as set};
use serde_json::{Value, json};
use std::path::{Path, PathBuf};

/// An example that ships with the program.
pub(crate) struct Example {
    /// File without its ending.
    pub(crate) name: &'static str,
    /// The file.
    pub(crate) text: &'static str,
    /// Whether it was weighed, so that there is an account.
    weighed: bool,
}

/// The shipped examples: the first is planned and accounted for, the others show their findings.
pub(crate) const EXAMPLES: [Example; 5] = [
    Example { name: "bluestone", text: include_str!("../../../examples/bluestone.toml"), weighed: true },
    Example {
        name: "bluestone-soda-ash-mistake",
        text: include_str!("../../../examples/bluestone-soda-ash-mistake.toml"),
        weighed: false,
    },
    Example { name: "epsom-magnesia", text: include_str!("../../../examples/epsom-magnesia.toml"), weighed: true },
    Example { name: "zinc-lozenges", text: include_str!("../../../examples/zinc-lozenges.toml"), weighed: true },
    Example {
        name: "zinc-lozenges-assayed",
        text: include_str!("../../../examples/zinc-lozenges-assayed.toml"),
        weighed: true,
    },
];

/// Most folders that are tried for a free name.
const MOST_FOLDERS: usize = 1000;

/// Writes and prints the demonstration.
pub fn run(to: Option<&Path>, no_serve: bool, json: bool) -> Result<Exit, Failure> {
    let folder = to.map_or_else(free_folder, Path::to_owned);
    std::fs::create_dir_all(&folder).map_err(Failure::writing(&folder))?;
    for example in &EXAMPLES {
        if let Some(finding) = copy(&folder, example)? {
            return wrong(&[finding], &[], &folder.display().to_string(), json);
        }
    }
    let mut shown = json!({ "folder": folder.display().to_string() });
    let [main, others @ ..] = &EXAMPLES;
    let reading = prep::read(main.text.as_bytes());
    let Some(preparation) = reading.preparation else {
        return wrong(&reading.findings, main.text.as_bytes(), main.name, json);
    };
    let plan = prep::plan(&preparation);
    let plan = Plan { findings: merged([reading.findings.clone(), plan.findings.clone()]), ..plan };
    let page = plan_document(&plan);
    shown["plan"] = write(&folder, &format!("{}-plan", main.name), &page, report::json::plan(&plan))?;
    show(&page, json)?;
    let mut account = sampled(&preparation);
    account.findings = merged([reading.findings, account.findings]);
    let page = account_document(&account);
    shown["account"] = write(&folder, &format!("{}-account", main.name), &page, report::json::account(&account))?;
    show(&page, json)?;
    shown["papers"] = papers(&folder, main, &prep::record(&preparation), &plan, &account)?;
    for example in others {
        let findings = findings_of(&folder, example)?;
        shown["findings"][example.name] = report::json::check(&findings)["findings"].take();
        if !json {
            output::print(&heading(example))?;
            output::print(&render::findings(&findings, example.text.as_bytes(), &format!("{}.toml", example.name)))?;
        }
    }
    if json {
        output::print_json(&shown)?
    } else {
        output::print(&farewell(&folder))?
    }
    if no_serve { Ok(Exit::Done) } else { super::serve::folder(&folder, 0, json) }
}

/// `tarebook-demo` here, with the first free number if it exists.
fn free_folder() -> PathBuf {
    let numbered = |number: usize| PathBuf::from(format!("tarebook-demo-{number}"));
    let first = PathBuf::from("tarebook-demo");
    std::iter::once(first)
        .chain((2..MOST_FOLDERS).map(numbered))
        .find(|folder| !folder.exists())
        .unwrap_or_else(|| numbered(MOST_FOLDERS))
}

/// Copies an example unless the same file is there; a different one is told and kept.
fn copy(folder: &Path, example: &Example) -> Result<Option<Finding>, Failure> {
    let path = folder.join(format!("{}.toml", example.name));
    match std::fs::read(&path) {
        Ok(bytes) if bytes == example.text.as_bytes() => Ok(None),
        Ok(_) => Ok(Some(finding(
            "folder-in-use",
            format!("{} exists and differs from the example; it was kept.", path.display()),
            &["Choose another folder with --to."],
        ))),
        Err(_) => frozen::write_new(&path, example.text).map(|()| None).map_err(Failure::writing(&path)),
    }
}

/// Writes a page and its JSON side by side; gives the JSON back.
fn write(folder: &Path, name: &str, document: &Document, value: Value) -> Result<Value, Failure> {
    for (ending, text) in [("txt", set(document, Page::plain(100))), ("json", output::json_text(&value))] {
        let path = folder.join(format!("{name}.{ending}"));
        frozen::write_over(&path, &text).map_err(Failure::writing(&path))?;
    }
    Ok(value)
}

/// Sheet, report and figures of the first example; gives their names.
fn papers(
    folder: &Path,
    example: &Example,
    record: &RunRecord,
    plan: &Plan,
    account: &Account,
) -> Result<Value, Failure> {
    let today = jiff::ZonedDateTime::now().date();
    let date = (i32::from(today.year()), today.month().unsigned_abs(), today.day().unsigned_abs());
    let address = format!("http://127.0.0.1:8347/p/{}/bench", example.name);
    let sheet = bench_sheet(&Bench { record, plan, frozen_at: None, address: &address, date });
    let file = format!("{}.toml", example.name);
    let written =
        Written { record, plan, account, frozen_at: None, text: example.text, file: &file, frozen: None, date };
    let full = full_report(&written);
    let set = |paper: &Paper| paper::pdf(paper, paper::Size::A4).map_err(Failure::setting);
    let mut files = vec![
        (format!("{}-sheet.pdf", example.name), set(&sheet)?),
        (format!("{}-report.pdf", example.name), set(&full)?),
        (format!("{}-report.html", example.name), report::html::alone::page(&full).into_bytes()),
    ];
    let figures = pictures(account).into_iter();
    files.extend(figures.map(|(name, figure)| (format!("{}-{name}.svg", example.name), figure.svg().into_bytes())));
    for (name, bytes) in &files {
        let path = folder.join(name);
        frozen::write_bytes_over(&path, bytes).map_err(Failure::writing(&path))?;
    }
    Ok(files.iter().map(|(name, _)| name.as_str()).collect())
}

fn show(document: &Document, json: bool) -> Result<(), Failure> {
    if json { Ok(()) } else { output::print(&(set(document, output::page()) + "\n\n")) }
}

/// The findings of the account where the example was weighed, which is written too; of its plan elsewhere.
fn findings_of(folder: &Path, example: &Example) -> Result<Vec<Finding>, Failure> {
    let reading = prep::read(example.text.as_bytes());
    let Some(preparation) = reading.preparation else { return Ok(reading.findings) };
    if !example.weighed {
        return Ok(merged([reading.findings, prep::plan(&preparation).findings]));
    }
    let mut account = sampled(&preparation);
    account.findings = merged([reading.findings, account.findings]);
    write(folder, &format!("{}-account", example.name), &account_document(&account), report::json::account(&account))?;
    Ok(account.findings)
}

fn heading(example: &Example) -> String {
    format!("What the {} of {}.toml finds\n\n", if example.weighed { "account" } else { "plan" }, example.name)
}

fn farewell(folder: &Path) -> String {
    format!(
        "Written to {}: the examples, plan, bench sheet, report and figures of the first, and the account of each that was weighed.\n",
        folder.display()
    )
}
