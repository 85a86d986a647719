//! `export FILE --to json|csv|crate|svg`: what do other programs read?
//!
//! JSON is one file with record, plan and account, each as the contract has it. CSV and SVG are a few files in a folder. The
//! archive is a folder after RO-Crate 1.1: the record, the frozen plan, tables, figures and the report, each with its
//! SHA-256, and the file that describes them.

use super::account::sampled;
use super::printed::{frozen_beside, stem};
use super::{Opened, merged, open};
use crate::frozen;
use crate::output::{self, Exit, Failure};
use clap::{Args, ValueEnum};
use prep::outcome::{Account, Plan, RunRecord};
use report::archive::{Entry, METADATA, metadata};
use report::document::{Written, full_report};
use report::figure::{Figure, budget_figure, drying_figure, flow_figure, levels_figure, yields_figure};
use serde_json::json;
use sha2::{Digest, Sha256};
use std::path::{Path, PathBuf};

/// Forms of export.
#[derive(Clone, Copy, Debug, PartialEq, Eq, ValueEnum)]
enum Form {
    /// Record, plan and account in one JSON file
    Json,
    /// Tables of readings and of lots
    Csv,
    /// An RO-Crate: all files with hashes and provenance
    Crate,
    /// The figures
    Svg,
}

/// Options of `export`.
#[derive(Args, Debug)]
pub struct Options {
    /// Preparation file
    file: PathBuf,
    /// Form
    #[arg(long = "to", value_enum, value_name = "FORM")]
    form: Form,
    /// File (json) or folder (csv, svg, crate) to write; named after the preparation if not given
    #[arg(short, long, value_name = "PATH")]
    output: Option<PathBuf>,
    /// Use the quick approximation instead of sampling
    #[arg(long)]
    live: bool,
    /// Day of the archive, YYYY-MM-DD; today if not given
    #[arg(long, value_name = "DAY")]
    date: Option<jiff::civil::Date>,
}

/// All that is exported.
struct Books {
    opened: Opened,
    record: RunRecord,
    plan: Plan,
    account: Account,
}

/// A file to be written.
struct File {
    path: String,
    description: String,
    mime: &'static str,
    bytes: Vec<u8>,
    written: bool,
}

/// Writes what other programs read.
pub fn run(options: &Options, json: bool) -> Result<Exit, Failure> {
    let opened = match open(&options.file, json)? {
        Ok(opened) => opened,
        Err(exit) => return Ok(exit),
    };
    let plan = Plan { frozen: opened.frozen.clone(), ..prep::plan(&opened.preparation) };
    let mut account = match options.live {
        true => prep::live_account(&opened.preparation),
        false => sampled(&opened.preparation),
    };
    account.findings = merged([opened.findings.clone(), account.findings]);
    let record = prep::record(&opened.preparation);
    let books = Books { opened, record, plan, account };
    let name = stem(&options.file);
    let date = options.date.unwrap_or_else(|| jiff::ZonedDateTime::now().date());
    let place = |ending: &str| options.output.clone().unwrap_or_else(|| PathBuf::from(format!("{name}{ending}")));
    let (place, files) = match options.form {
        Form::Json => {
            let place = place("-books.json");
            let text = output::json_text(&whole(&books));
            frozen::write_over(&place, &text).map_err(Failure::writing(&place))?;
            return told(&[place], json);
        }
        Form::Csv => (place("-tables"), tables(&books)),
        Form::Svg => (place("-figures"), drawings(&books.account)),
        Form::Crate => (place("-crate"), archive(&books, &options.file, date)?),
    };
    told(&put(&place, &files)?, json)
}

fn told(places: &[PathBuf], json: bool) -> Result<Exit, Failure> {
    let names: Vec<String> = places.iter().map(|place| place.display().to_string()).collect();
    if json {
        output::print_json(&json!({ "written": names, "findings": [] }))?;
    } else {
        output::print(&names.iter().map(|name| format!("Written to {name}.\n")).collect::<String>())?;
    }
    Ok(Exit::Done)
}

/// Record, plan and account, each as its own command prints it.
fn whole(books: &Books) -> serde_json::Value {
    json!({
        "record": report::json::record(&books.record),
        "plan": report::json::plan(&books.plan),
        "account": report::json::account(&books.account),
    })
}

fn put(folder: &Path, files: &[File]) -> Result<Vec<PathBuf>, Failure> {
    let mut places = Vec::new();
    for file in files {
        let place = folder.join(&file.path);
        let within = place.parent().unwrap_or(folder);
        std::fs::create_dir_all(within).map_err(Failure::writing(within))?;
        frozen::write_bytes_over(&place, &file.bytes).map_err(Failure::writing(&place))?;
        places.push(place);
    }
    Ok(places)
}

fn computed(path: &str, description: &str, mime: &'static str, bytes: Vec<u8>) -> File {
    File { path: path.to_owned(), description: description.to_owned(), mime, bytes, written: false }
}

fn tables(books: &Books) -> Vec<File> {
    let readings = File {
        written: true,
        ..computed(
            "readings.csv",
            "readings as written, one a line",
            "text/csv",
            report::csv::readings(&books.record).into_bytes(),
        )
    };
    vec![
        readings,
        computed(
            "lots.csv",
            "every lot with its intervals",
            "text/csv",
            report::csv::lots(&books.account).into_bytes(),
        ),
    ]
}

fn drawings(account: &Account) -> Vec<File> {
    pictures(account)
        .into_iter()
        .map(|(name, figure)| {
            let svg = figure.svg().into_bytes();
            computed(&format!("{name}.svg"), &figure.title, "image/svg+xml", svg)
        })
        .collect()
}

/// Every figure of an account with its name.
pub(super) fn pictures(account: &Account) -> Vec<(String, Figure)> {
    let mut list: Vec<(String, Figure)> = Vec::new();
    list.extend(yields_figure(account).map(|figure| ("yields".to_owned(), figure)));
    for element in &account.elements {
        list.extend(flow_figure(account, element).map(|figure| (format!("flow-{element}"), figure)));
    }
    list.extend(
        account.levels.iter().enumerate().map(|(place, level)| (format!("losses-{}", place + 1), levels_figure(level))),
    );
    list.extend(
        account
            .budgets
            .iter()
            .enumerate()
            .map(|(place, budget)| (format!("budget-{}", place + 1), budget_figure(budget))),
    );
    for (place, series) in account.series.iter().enumerate() {
        list.extend(drying_figure(&series.answer).map(|figure| (format!("drying-{}", place + 1), figure)));
    }
    list
}

fn archive(books: &Books, file: &Path, date: jiff::civil::Date) -> Result<Vec<File>, Failure> {
    let name = stem(file);
    let (frozen_at, frozen) = frozen_beside(file, &books.opened);
    let mut files = vec![File {
        path: format!("{name}.toml"),
        description: "the record: the preparation file with all readings and corrections".to_owned(),
        mime: "application/toml",
        bytes: books.opened.bytes.clone(),
        written: true,
    }];
    files.extend(frozen.as_ref().map(|text| File {
        path: format!("{name}.plan.json"),
        description: "the plan as it was frozen".to_owned(),
        mime: "application/json",
        bytes: text.clone().into_bytes(),
        written: true,
    }));
    files.extend(tables(books));
    let text = output::json_text(&whole(books));
    files.push(computed("books.json", "record, plan and account", "application/json", text.into_bytes()));
    files.extend(
        drawings(&books.account).into_iter().map(|file| File { path: format!("figures/{}", file.path), ..file }),
    );
    let day = (i32::from(date.year()), date.month().unsigned_abs(), date.day().unsigned_abs());
    let paper = full_report(&Written {
        record: &books.record,
        plan: &books.plan,
        account: &books.account,
        frozen_at: frozen_at.as_deref(),
        text: &String::from_utf8_lossy(&books.opened.bytes),
        file: &format!("{name}.toml"),
        frozen: frozen.as_deref(),
        date: day,
    });
    let pdf = paper::pdf(&paper, paper::Size::A4).map_err(Failure::setting)?;
    files.push(computed("report.pdf", "the report", "application/pdf", pdf));
    let page = report::html::alone::page(&paper).into_bytes();
    files.push(computed("report.html", "the report as a page", "text/html", page));
    let entries: Vec<Entry> = files.iter().map(entry).collect();
    let described = metadata(&books.record, &entries, &date.to_string(), env!("CARGO_PKG_VERSION"));
    files.push(computed(METADATA, "", "application/ld+json", output::json_text(&described).into_bytes()));
    Ok(files)
}

fn entry(file: &File) -> Entry {
    let digest = Sha256::digest(&file.bytes);
    Entry {
        path: file.path.clone(),
        description: file.description.clone(),
        mime: file.mime,
        size: file.bytes.len(),
        sha256: digest.iter().map(|byte| format!("{byte:02x}")).collect(),
        written: file.written,
    }
}
