//! What do commands share that write papers? Day, place, kind of file, and what is told afterwards.

use super::Opened;
use crate::frozen::{self, Beside};
use crate::output::{self, Exit, Failure};
use clap::{Args, ValueEnum};
use prep::outcome::Finding;
use report::document::Paper;
use serde_json::json;
use std::path::{Path, PathBuf};

/// Sizes of paper by name.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, ValueEnum)]
pub enum Size {
    /// 210 mm × 297 mm
    #[default]
    A4,
    /// 8.5 in × 11 in
    Letter,
}

impl From<Size> for paper::Size {
    fn from(size: Size) -> Self {
        match size {
            Size::A4 => Self::A4,
            Size::Letter => Self::Letter,
        }
    }
}

/// Options of every paper.
#[derive(Args, Debug)]
pub struct Printing {
    /// File to write, .pdf or .html; beside the preparation's name in this folder if not given
    #[arg(short, long, value_name = "PATH", value_parser = of_paper)]
    pub output: Option<PathBuf>,
    /// Write HTML in place of PDF
    #[arg(long)]
    pub html: bool,
    /// Size of the paper
    #[arg(long, value_enum, default_value_t)]
    pub paper: Size,
    /// Day of the paper, YYYY-MM-DD; today if not given
    #[arg(long, value_name = "DAY")]
    pub date: Option<jiff::civil::Date>,
}

impl Printing {
    /// Year, month and day of the paper.
    pub fn day(&self) -> (i32, u8, u8) {
        let date = self.date.unwrap_or_else(|| jiff::ZonedDateTime::now().date());
        (i32::from(date.year()), date.month().unsigned_abs(), date.day().unsigned_abs())
    }

    /// Whether HTML is wanted, by option or by the ending of the file.
    fn as_html(&self) -> bool {
        let ending = self.output.as_ref().and_then(|path| path.extension()).and_then(|ending| ending.to_str());
        self.html || matches!(ending, Some("html" | "htm"))
    }

    /// Where the paper goes.
    fn place(&self, file: &Path, kind: &str) -> PathBuf {
        let ending = if self.as_html() { "html" } else { "pdf" };
        self.output.clone().unwrap_or_else(|| PathBuf::from(format!("{}-{kind}.{ending}", stem(file))))
    }
}

/// A path that ends like a paper.
fn of_paper(text: &str) -> Result<PathBuf, String> {
    let path = PathBuf::from(text);
    match path.extension().and_then(|ending| ending.to_str()) {
        Some("pdf" | "html" | "htm") => Ok(path),
        _ => Err("a paper ends in .pdf or .html".to_owned()),
    }
}

/// Name of a preparation without its ending.
pub fn stem(file: &Path) -> String {
    file.file_stem().map_or_else(|| "preparation".to_owned(), |stem| stem.to_string_lossy().into_owned())
}

/// The frozen plan beside a file: when it was frozen, and its text.
pub(super) fn frozen_beside(file: &Path, opened: &Opened) -> (Option<String>, Option<String>) {
    if opened.frozen.is_none() {
        return (None, None);
    }
    match frozen::look(file) {
        Beside::Plan(record) => (Some(record.frozen_at), std::fs::read_to_string(prep::freeze::frozen_path(file)).ok()),
        Beside::Nothing | Beside::Unreadable(_) => (None, None),
    }
}

/// Writes a paper and tells where it is.
pub fn written(
    paper: &Paper,
    printing: &Printing,
    file: &Path,
    kind: &str,
    findings: &[Finding],
    json: bool,
) -> Result<Exit, Failure> {
    let place = printing.place(file, kind);
    let bytes = match printing.as_html() {
        true => report::html::alone::page(paper).into_bytes(),
        false => paper::pdf(paper, printing.paper.into()).map_err(Failure::setting)?,
    };
    frozen::write_bytes_over(&place, &bytes).map_err(Failure::writing(&place))?;
    if json {
        let mut told = json!({ "written": place.display().to_string(), "bytes": bytes.len() });
        told["findings"] = report::json::check(findings)["findings"].take();
        output::print_json(&told)?;
    } else {
        output::print(&format!("Written to {}.\n", place.display()))?;
    }
    Ok(Exit::Done)
}
