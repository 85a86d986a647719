//! `history DIR-OR-FILE…`: what do the user's own closed preparations lose?

use super::{Folder, unreadable, wrong};
use crate::output::{self, Exit, Failure};
use prep::World;
use prep::outcome::{Finding, HistoryAnswer, Severity};
use std::path::{Path, PathBuf};

/// Prints the losses that closed preparations teach, beside the defaults.
pub fn run(places: &[PathBuf], json: bool) -> Result<Exit, Failure> {
    let mut answer = HistoryAnswer { closed: Vec::new(), open: Vec::new(), losses: Vec::new(), findings: Vec::new() };
    let mut closed = Vec::new();
    for place in places {
        for file in files(place) {
            let bytes = match std::fs::read(&file) {
                Ok(bytes) => bytes,
                Err(error) => return wrong(&[unreadable(&file, &error)], &[], &file.display().to_string(), json),
            };
            let reading = prep::read_beside(&bytes, &Folder::of(&file));
            let name = file.display().to_string();
            match reading.preparation {
                Some(preparation) if preparation.closed.is_some() => {
                    answer.closed.push(name);
                    closed.push(preparation);
                }
                Some(_) => answer.open.push(name),
                None => answer.findings.push(damaged(&name, &reading.findings)),
            }
        }
    }
    answer.losses = prep::history::learn(&closed);
    if json {
        output::print_json(&report::json::history(&answer))?;
    } else {
        output::print(&report::text::render(&report::document::history_document(&answer), output::page()))?;
    }
    Ok(Exit::Done)
}

/// The preparation files of a folder, or the file itself.
fn files(place: &Path) -> Vec<PathBuf> {
    if !place.is_dir() {
        return vec![place.to_owned()];
    }
    Folder(place.to_owned()).list("").unwrap_or_default().into_iter().map(|name| place.join(name)).collect()
}

fn damaged(name: &str, findings: &[Finding]) -> Finding {
    let first = findings.iter().find(|f| f.severity == Severity::Error);
    let line = first.map_or_else(String::new, |f| format!(", the first in line {}: {}", f.line, f.message));
    Finding {
        severity: Severity::Warning,
        ..output::finding(
            "history-unreadable",
            format!("{name} is not learned from: it has errors{line}"),
            &["Put that file in order, or leave it out."],
        )
    }
}
