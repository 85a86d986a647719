//! `check FILE`: what is wrong with this file?

use super::{any_error, merged, open};
use crate::output::{self, Exit, Failure};
use crate::render;
use prep::outcome::{Finding, Severity};
use std::path::Path;

/// Lists the findings of reading, of the frozen plan and of the plan.
pub fn run(file: &Path, json: bool) -> Result<Exit, Failure> {
    let opened = match open(file, json)? {
        Ok(opened) => opened,
        Err(exit) => return Ok(exit),
    };
    let findings = merged([opened.findings, prep::plan(&opened.preparation).findings]);
    if json {
        output::print_json(&report::json::check(&findings))?;
    } else {
        output::tell(&render::findings(&findings, &opened.bytes, &file.display().to_string()));
        output::print(&format!("{}: {}\n", file.display(), summary(&findings)))?;
    }
    Ok(if any_error(&findings) { Exit::InputWrong } else { Exit::Done })
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
