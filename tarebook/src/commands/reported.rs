//! `report FILE [--output X.pdf|X.html] [--brief|--talk]`: what was made, and how is it known?

use super::account::{claimed, sampled_with};
use super::printed::{self, Printing};
use super::{merged, open};
use crate::output::{Exit, Failure};
use clap::Args;
use prep::AccountSettings;
use prep::outcome::Plan;
use report::document::{Written, brief_report, full_report, talk};
use std::path::PathBuf;

/// Options of `report`.
#[derive(Args, Debug)]
pub struct Options {
    /// Preparation file
    file: PathBuf,
    #[command(flatten)]
    printing: Printing,
    /// One page
    #[arg(long, conflicts_with = "talk")]
    brief: bool,
    /// The figures and sentences that one would say or show, each with its status
    #[arg(long)]
    talk: bool,
    /// Use the quick approximation instead of sampling
    #[arg(long)]
    live: bool,
    /// What you would say of the product, held against the evidence
    #[arg(long, value_name = "CLAIM")]
    claim: Option<String>,
}

/// Writes the report.
pub fn run(options: &Options, json: bool) -> Result<Exit, Failure> {
    let opened = match open(&options.file, json)? {
        Ok(opened) => opened,
        Err(exit) => return Ok(exit),
    };
    if let Some(exit) = claimed(&opened.preparation, options.claim.as_deref(), json)? {
        return Ok(exit);
    }
    let (frozen_at, frozen) = printed::frozen_beside(&options.file, &opened);
    let plan = Plan { frozen: opened.frozen.clone(), ..prep::plan(&opened.preparation) };
    let settings = AccountSettings { claim: options.claim.clone(), ..AccountSettings::default() };
    let mut account = match options.live {
        true => prep::live_account_with(&opened.preparation, &settings),
        false => sampled_with(&opened.preparation, &settings),
    };
    account.findings = merged([opened.findings, account.findings]);
    let record = prep::record(&opened.preparation);
    let name = options.file.file_name().map_or_else(String::new, |name| name.to_string_lossy().into_owned());
    let written = Written {
        record: &record,
        plan: &plan,
        account: &account,
        frozen_at: frozen_at.as_deref(),
        text: &String::from_utf8_lossy(&opened.bytes),
        file: &name,
        frozen: frozen.as_deref(),
        date: options.printing.day(),
    };
    let (paper, kind) = match (options.brief, options.talk) {
        (true, _) => (brief_report(&written), "brief"),
        (_, true) => (talk(&written), "talk"),
        _ => (full_report(&written), "report"),
    };
    printed::written(&paper, &options.printing, &options.file, kind, &account.findings, json)
}
