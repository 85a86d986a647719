//! `next FILE [--claim "…"]`: which test next, and is it worth making?

use super::account::claimed;
use super::{merged, open};
use crate::output::{self, Exit, Failure};
use std::path::Path;

/// Prints what each test would tell.
pub fn run(file: &Path, claim: Option<&str>, json: bool) -> Result<Exit, Failure> {
    let opened = match open(file, json)? {
        Ok(opened) => opened,
        Err(exit) => return Ok(exit),
    };
    if let Some(exit) = claimed(&opened.preparation, claim, json)? {
        return Ok(exit);
    }
    let mut next = prep::next(&opened.preparation, claim);
    next.findings = merged([opened.findings, next.findings]);
    if json {
        output::print_json(&report::json::next(&next))?;
    } else {
        output::print(&report::text::render(&report::document::next_document(&next), output::page()))?;
    }
    Ok(Exit::Done)
}
