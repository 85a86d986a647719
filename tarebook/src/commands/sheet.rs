//! `sheet FILE [--output X.pdf]`: what does the bench need on paper for one run?

use super::printed::{self, Printing};
use super::{merged, open};
use crate::output::{Exit, Failure};
use clap::Args;
use prep::outcome::Plan;
use report::document::{Bench, bench_sheet};
use std::path::PathBuf;

/// Options of `sheet`.
#[derive(Args, Debug)]
pub struct Options {
    /// Preparation file
    file: PathBuf,
    #[command(flatten)]
    printing: Printing,
    /// Where the notebook is served, for the patterns that a phone reads
    #[arg(long, value_name = "ADDRESS", default_value = "http://127.0.0.1:8347")]
    address: String,
}

/// Writes the bench sheet.
pub fn run(options: &Options, json: bool) -> Result<Exit, Failure> {
    let opened = match open(&options.file, json)? {
        Ok(opened) => opened,
        Err(exit) => return Ok(exit),
    };
    let (frozen_at, _) = printed::frozen_beside(&options.file, &opened);
    let computed = prep::plan(&opened.preparation);
    let plan = Plan {
        frozen: opened.frozen.clone(),
        findings: merged([opened.findings, computed.findings.clone()]),
        ..computed
    };
    let record = prep::record(&opened.preparation);
    let bench = Bench {
        record: &record,
        plan: &plan,
        frozen_at: frozen_at.as_deref(),
        address: &format!(
            "{}/p/{}/bench",
            options.address.trim_end_matches('/'),
            encoded(&printed::stem(&options.file))
        ),
        date: options.printing.day(),
    };
    printed::written(&bench_sheet(&bench), &options.printing, &options.file, "sheet", &plan.findings, json)
}

/// A name as a part of an address: what is neither letter, digit nor one of `-._~` is written in hexadecimal (RFC 3986).
fn encoded(name: &str) -> String {
    let mut out = String::with_capacity(name.len());
    for byte in name.bytes() {
        match byte {
            b'a'..=b'z' | b'A'..=b'Z' | b'0'..=b'9' | b'-' | b'.' | b'_' | b'~' => out.push(char::from(byte)),
            other => out += &format!("%{other:02X}"),
        }
    }
    out
}

#[cfg(test)]
mod tests {
    #[test]
    fn names_become_parts_of_an_address() {
        assert_eq!(super::encoded("zinc lozenges/ä"), "zinc%20lozenges%2F%C3%A4");
    }
}
