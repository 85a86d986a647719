//! `reaction "…"`: what are its coefficients?

use super::{any_error, wrong};
use crate::output::{self, Exit, Failure};

/// Prints the balanced reaction, or why there is none.
pub fn run(reaction: &str, json: bool) -> Result<Exit, Failure> {
    let answer = match prep::ask::reaction(reaction) {
        Ok(answer) => answer,
        Err(findings) => return wrong(&findings, reaction.as_bytes(), "reaction", json),
    };
    if json {
        output::print_json(&report::json::reaction(&answer))?;
    } else {
        output::print(&report::text::render(&report::document::reaction_document(&answer), output::page()))?;
    }
    Ok(if any_error(&answer.findings) { Exit::InputWrong } else { Exit::Done })
}
