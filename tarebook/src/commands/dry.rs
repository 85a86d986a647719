//! `dry WEIGHING…`: is it dry, and where is it heading?

use super::wrong;
use crate::output::{self, Exit, Failure};
use prep::ask::DryOptions;

/// Prints what the series says.
pub fn run(
    weighings: &[String],
    scatter: Option<&str>,
    tolerance: Option<&str>,
    of: Option<&str>,
    json: bool,
) -> Result<Exit, Failure> {
    let series: Vec<&str> = weighings.iter().map(String::as_str).collect();
    let answer = match prep::ask::dry(&series, &DryOptions { deviation: scatter, tolerance, of }) {
        Ok(answer) => answer,
        Err(findings) => return wrong(&findings, series.join("\n").as_bytes(), "dry", json),
    };
    if json {
        output::print_json(&report::json::dry(&answer))?;
    } else {
        output::print(&report::text::render(&report::document::dry_document(&answer), output::page()))?;
    }
    Ok(Exit::Done)
}
