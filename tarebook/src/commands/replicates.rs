//! `replicates FILE FILE…`: do these runs agree, and what do they give together?

use super::account::with_progress;
use super::{open, wrong};
use crate::output::{self, Exit, Failure};
use prep::AccountSettings;
use std::path::PathBuf;

/// Prints the runs side by side.
pub fn run(files: &[PathBuf], live: bool, json: bool) -> Result<Exit, Failure> {
    let mut runs = Vec::new();
    for file in files {
        match open(file, json)? {
            Ok(opened) => runs.push((file.display().to_string(), opened.preparation)),
            Err(exit) => return Ok(exit),
        }
    }
    let settings = AccountSettings { without_suppositions: true, ..AccountSettings::default() };
    let compared = with_progress("", |progress| prep::replicates(&runs, (!live).then_some(&settings), progress));
    let replicates = match compared {
        Ok(replicates) => replicates,
        Err(findings) => return wrong(&findings, &[], "replicates", json),
    };
    if json {
        output::print_json(&report::json::replicates(&replicates))?;
    } else {
        output::print(&report::text::render(&report::document::replicates_document(&replicates), output::page()))?;
    }
    Ok(Exit::Done)
}
