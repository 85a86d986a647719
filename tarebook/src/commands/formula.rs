//! `formula X`: what is this formula made of?

use super::wrong;
use crate::output::{self, Exit, Failure};

/// Prints molar mass and composition.
pub fn run(formula: &str, json: bool) -> Result<Exit, Failure> {
    let answer = match prep::ask::formula(formula) {
        Ok(answer) => answer,
        Err(findings) => return wrong(&findings, formula.as_bytes(), "formula", json),
    };
    if json {
        output::print_json(&report::json::formula(&answer))?;
    } else {
        output::print(&report::text::render(&report::document::formula_document(&answer), output::page()))?;
    }
    Ok(Exit::Done)
}
