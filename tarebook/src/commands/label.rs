//! `label "…"`: what does this label mean?

use super::{any_refusal, wrong};
use crate::output::{self, Exit, Failure};

/// Prints the readings of a label, best first.
pub fn run(label: &str, json: bool) -> Result<Exit, Failure> {
    let answer = prep::ask::label(label);
    if any_refusal(&answer.findings) {
        return wrong(&answer.findings, label.as_bytes(), "label", json);
    }
    if json {
        output::print_json(&report::json::label(&answer))?;
    } else {
        output::print(&report::text::render(&report::document::label_document(&answer), output::page()))?;
    }
    Ok(Exit::Done)
}
