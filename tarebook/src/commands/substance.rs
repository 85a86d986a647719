//! `substance X`: what is known of it?

use super::wrong;
use crate::output::{self, Exit, Failure};

/// Prints all that the tables have.
pub fn run(substance: &str, json: bool) -> Result<Exit, Failure> {
    let answer = match prep::ask::substance(substance) {
        Ok(answer) => answer,
        Err(findings) => return wrong(&findings, substance.as_bytes(), "substance", json),
    };
    if json {
        output::print_json(&report::json::substance(&answer))?;
    } else {
        output::print(&report::text::render(&report::document::substance_document(&answer), output::page()))?;
    }
    Ok(Exit::Done)
}
