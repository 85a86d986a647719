//! `check FILE [--tidy] [--history]`: what is wrong with this file, is it tidy, and is the history of its folder whole?

use super::{Folder, any_error, merged, open, wrong};
use crate::notebook::{Chain, HISTORY, Notebook};
use crate::output::{self, Exit, Failure};
use crate::{frozen, render};
use prep::Untidied;
use prep::outcome::{Finding, Severity};
use std::path::Path;

/// Lists the findings of reading, of the frozen plan and of the plan, and the readings that are in question.
pub fn run(file: &Path, tidy: bool, history: bool, json: bool) -> Result<Exit, Failure> {
    if tidy && let Some(exit) = tidied(file, json)? {
        return Ok(exit);
    }
    let opened = match open(file, json)? {
        Ok(opened) => opened,
        Err(exit) => return Ok(exit),
    };
    let planned = prep::plan(&opened.preparation).findings;
    let chain = if history { vec![chain(file)] } else { Vec::new() };
    let findings = merged([opened.findings, planned, prep::readings_in_question(&opened.preparation), chain]);
    if json {
        output::print_json(&report::json::check(&findings))?;
    } else {
        output::tell(&render::findings(&findings, &opened.bytes, &file.display().to_string()));
        output::print(&format!("{}: {}\n", file.display(), summary(&findings)))?;
    }
    Ok(if any_error(&findings) { Exit::InputWrong } else { Exit::Done })
}

/// What the history of the folder says of itself.
fn chain(file: &Path) -> Finding {
    let folder = file.parent().filter(|parent| !parent.as_os_str().is_empty()).unwrap_or(Path::new("."));
    if !folder.join(HISTORY).exists() {
        let message = format!("{} has no history: it was never served as a notebook.", folder.display());
        return Finding { severity: Severity::Note, ..output::finding("no-history", message, &[]) };
    }
    match Notebook::open(folder).and_then(|notebook| notebook.chain()) {
        Ok(Chain::Whole(count)) => Finding {
            severity: Severity::Note,
            ..output::finding("history-whole", format!("The history is whole: {count} versions."), &[])
        },
        Ok(Chain::Broken { at, why }) => output::finding(
            "history-broken",
            format!("The history is broken at version {at}: {why}."),
            &["Compare with a backup; versions before this one are as they were saved."],
        ),
        Err(error) => output::finding(
            "history-unreadable",
            format!("The history cannot be read: {error}."),
            &["Restore it from a backup."],
        ),
    }
}

/// Writes the file in its tidy layout, unless it is tidy or has errors. An exit if the file cannot be laid out.
fn tidied(file: &Path, json: bool) -> Result<Option<Exit>, Failure> {
    // What cannot be opened is told by the check itself.
    let Ok(bytes) = std::fs::read(file) else { return Ok(None) };
    match prep::tidy_beside(&bytes, &Folder::of(file)) {
        Ok(text) if text.as_bytes() == bytes => Ok(None),
        Ok(text) => {
            // A link stays a link.
            let place = std::fs::canonicalize(file).map_err(Failure::writing(file))?;
            frozen::write_over(&place, &text).map(|()| None).map_err(Failure::writing(file))
        }
        Err(Untidied::Wrong(_)) => Ok(None),
        Err(Untidied::NotKept) => {
            let message = format!("{} was left as it is: laying it out would have changed it.", file.display());
            let hints = ["Write tables under headers of their own and remarks on lines of their own."];
            wrong(&[output::finding("layout-kept", message, &hints)], &[], &file.display().to_string(), json).map(Some)
        }
    }
}

/// "no findings", or how many of each kind.
fn summary(findings: &[Finding]) -> String {
    let kinds = [Severity::Error, Severity::Warning, Severity::Caution, Severity::Note];
    let counts: Vec<String> = kinds
        .into_iter()
        .filter_map(|kind| {
            let count = findings.iter().filter(|finding| finding.severity == kind).count();
            let plural = if count == 1 { "" } else { "s" };
            (count > 0).then(|| format!("{count} {}{plural}", kind.word()))
        })
        .collect();
    if counts.is_empty() { "no findings".to_owned() } else { counts.join(", ") }
}
