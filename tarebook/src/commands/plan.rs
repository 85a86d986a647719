//! `plan FILE [--freeze]`: what to weigh out, and what should every reading show?

use super::{merged, open, wrong};
use crate::frozen::{self, Freezing};
use crate::output::{self, Exit, Failure};
use prep::outcome::Plan;
use std::path::Path;

/// Prints the plan, after freezing it if asked.
pub fn run(file: &Path, freeze: bool, json: bool) -> Result<Exit, Failure> {
    let opened = match open(file, json)? {
        Ok(opened) => opened,
        Err(exit) => return Ok(exit),
    };
    let computed = prep::plan(&opened.preparation);
    let mut plan =
        Plan { frozen: opened.frozen, findings: merged([opened.findings, computed.findings.clone()]), ..computed };
    if freeze {
        match frozen::freeze(file, &opened.preparation, &plan)? {
            Freezing::Written(path) => output::tell(&format!("Plan frozen: {}\n", path.display())),
            Freezing::Unchanged(path) => output::tell(&format!("Already frozen, unchanged: {}\n", path.display())),
            Freezing::Refused(finding) => return wrong(&[finding], &[], &file.display().to_string(), json),
        }
        plan.frozen = Some(prep::freeze::planned_hash(&opened.preparation));
    }
    if json {
        output::print_json(&report::json::plan(&plan))?;
    } else {
        output::print(&report::text::render(&report::document::plan_document(&plan), output::page()))?;
    }
    Ok(Exit::Done)
}
