//! `account FILE [--live]`: what was made, how much, how pure, and where is the rest?

use super::{merged, open, wrong};
use crate::output::{self, Exit, Failure};
use indicatif::{ProgressBar, ProgressDrawTarget, ProgressStyle};
use prep::outcome::Account;
use prep::{AccountSettings, Preparation};
use std::io::IsTerminal;
use std::path::Path;
use std::time::{Duration, Instant};

/// Work shorter than this needs no progress line.
const PATIENCE: Duration = Duration::from_millis(500);
/// Steps of the progress line.
const STEPS: u64 = 1000;

/// Prints the account: sampled, or the quick view of it.
pub fn run(
    file: &Path,
    live: bool,
    claim: Option<String>,
    figure: Option<(&Path, Option<&str>)>,
    json: bool,
) -> Result<Exit, Failure> {
    let opened = match open(file, json)? {
        Ok(opened) => opened,
        Err(exit) => return Ok(exit),
    };
    if let Some(exit) = claimed(&opened.preparation, claim.as_deref(), json)? {
        return Ok(exit);
    }
    let settings = AccountSettings { claim, ..AccountSettings::default() };
    let mut account = match live {
        true => prep::live_account_with(&opened.preparation, &settings),
        false => sampled_with(&opened.preparation, &settings),
    };
    account.findings = merged([opened.findings, account.findings]);
    if let Some((to, show)) = figure
        && let Some(exit) = super::figure::write(to, show, &report::figure::account_figures(&account), json)?
    {
        return Ok(exit);
    }
    if json {
        output::print_json(&report::json::account(&account))?;
    } else {
        output::print(&report::text::render(&report::document::account_document(&account), output::page()))?;
    }
    Ok(Exit::Done)
}

/// Tells what is wrong with a claim, if anything is, and the exit that follows.
pub fn claimed(preparation: &Preparation, claim: Option<&str>, json: bool) -> Result<Option<Exit>, Failure> {
    let Some(Err(message)) = claim.map(|text| prep::check_claim(preparation, text)) else { return Ok(None) };
    let hint = "Write parts between commas: `24.4 g CuO`, `yield 97 %`, `98 % pure`, a substance; a lot stands before a colon.";
    let finding = output::finding("claim-not-understood", format!("The claim is not understood: {message}."), &[hint]);
    wrong(&[finding], &[], "--claim", json).map(Some)
}

/// The sampled account, with a progress line on a terminal if it takes a while.
pub fn sampled(preparation: &Preparation) -> Account {
    sampled_with(preparation, &AccountSettings::default())
}

pub fn sampled_with(preparation: &Preparation, settings: &AccountSettings) -> Account {
    // Until the sampler is done, the line carries the live view.
    let terminal = std::io::stderr().is_terminal();
    let so_far = if terminal { headline(&prep::live_account(preparation)) } else { String::new() };
    with_progress(&so_far, |progress| prep::account(preparation, settings, progress))
}

/// Runs work that tells its progress, with a line on a terminal if it takes a while.
pub fn with_progress<T>(so_far: &str, work: impl FnOnce(&mut dyn FnMut(f64)) -> T) -> T {
    let begun = Instant::now();
    let terminal = std::io::stderr().is_terminal();
    let mut line: Option<ProgressBar> = None;
    let done = work(&mut |share| {
        if terminal && begun.elapsed() > PATIENCE {
            line.get_or_insert_with(|| progress_line(so_far)).set_position(position(share));
        }
    });
    if let Some(line) = line {
        line.finish_and_clear();
    }
    done
}

/// The yield of the live view, with the word that says how far it holds.
fn headline(account: &Account) -> String {
    account.yields.as_ref().map_or_else(String::new, |yields| {
        format!("{}: yield {} %", account.method.kind, report::number::mean_bare(&yields.overall))
    })
}

fn progress_line(so_far: &str) -> ProgressBar {
    let style = ProgressStyle::with_template("sampling the account {bar:30} {percent} %   {msg}");
    let style = style.unwrap_or_else(|_| ProgressStyle::default_bar()).progress_chars("━╸·");
    ProgressBar::with_draw_target(Some(STEPS), ProgressDrawTarget::stderr())
        .with_style(style)
        .with_message(so_far.to_owned())
}

/// Place on the progress line of a share between 0 and 1.
fn position(share: f64) -> u64 {
    #[expect(clippy::cast_possible_truncation, clippy::cast_sign_loss, reason = "clamped to 0 ..= 1000")]
    #[expect(clippy::cast_precision_loss, reason = "a thousand steps")]
    let position = (share.clamp(0.0, 1.0) * STEPS as f64) as u64;
    position
}
