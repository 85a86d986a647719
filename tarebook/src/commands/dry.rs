//! `dry WEIGHING…`: is it dry, and where is it heading?

use super::wrong;
use crate::output::{self, Exit, Failure};
use prep::ask::DryOptions;
use std::path::Path;

/// Prints what the series says.
pub fn run(weighings: &[String], options: &DryOptions<'_>, figure: Option<&Path>, json: bool) -> Result<Exit, Failure> {
    let series: Vec<&str> = weighings.iter().map(String::as_str).collect();
    let answer = match prep::ask::dry(&series, options) {
        Ok(answer) => answer,
        Err(findings) => return wrong(&findings, series.join("\n").as_bytes(), "dry", json),
    };
    if let Some(to) = figure {
        let drawn: Vec<_> =
            report::figure::drying_figure(&answer).map(|figure| ("drying".to_owned(), figure)).into_iter().collect();
        if let Some(exit) = super::figure::write(to, None, &drawn, json)? {
            return Ok(exit);
        }
    }
    if json {
        output::print_json(&report::json::dry(&answer))?;
    } else {
        output::print(&report::text::render(&report::document::dry_document(&answer), output::page()))?;
    }
    Ok(Exit::Done)
}
