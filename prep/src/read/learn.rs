//! `learn_from`: closed preparations whose losses take the place of the defaults.
//!
//! Each entry is a file or a folder beside this one. Only the file that is read learns: what its histories or the lots it
//! takes learned themselves is not followed, so that no ring can arise.

use crate::evaluate::history::learn;
use crate::losses::OwnLoss;
use crate::model::{Preparation, Span, Spanned};
use crate::outcome::Severity;
use crate::syntax::Findings;
use crate::world::World;

const REMEDY: &str = "name a folder or files beside this one, or take `learn_from` out: the defaults then hold";

/// The losses that closed preparations teach.
pub(super) fn own_losses(entries: &[Spanned<String>], world: &dyn World, findings: &Findings) -> Vec<OwnLoss> {
    let Some(first) = entries.first() else { return Vec::new() };
    let mut closed: Vec<Preparation> = Vec::new();
    for entry in entries {
        let is_file = entry.value.trim().ends_with(".toml");
        let files = if is_file { Ok(vec![entry.value.trim().to_owned()]) } else { world.list(entry.value.trim()) };
        match files {
            Ok(files) => {
                closed.extend(files.iter().filter_map(|file| open(file, is_file, &entry.span, world, findings)))
            }
            Err(why) => {
                let message = format!("`learn_from` names `{}`: {why}", entry.value);
                findings.push("history-unreadable", Severity::Warning, &entry.span, message, REMEDY);
            }
        }
    }
    let learned = learn(&closed);
    let telling: Vec<&OwnLoss> = learned.iter().filter(|own| own.telling > 0).collect();
    let message = if closed.is_empty() {
        "no closed preparation was found to learn from: the defaults hold".to_owned()
    } else if telling.is_empty() {
        format!("{} closed preparations say nothing of the usual losses: the defaults hold", closed.len())
    } else {
        let list: Vec<String> = telling.iter().map(|own| in_words(own)).collect();
        format!("from {} closed preparations: {}", closed.len(), list.join("; "))
    };
    let hint = "take `learn_from` out to go by the defaults; `tarebook history` shows all of them";
    findings.push("losses-learned", Severity::Note, &first.span, message, hint);
    learned.into_iter().filter(|own| own.telling > 0).collect()
}

/// A closed preparation; one that is open is passed over where a whole folder is read.
fn open(file: &str, named: bool, span: &Span, world: &dyn World, findings: &Findings) -> Option<Preparation> {
    let warn = |message: String| {
        findings.push(
            "history-unreadable",
            Severity::Warning,
            span,
            message,
            "put that file in order, or leave it out",
        );
    };
    let (bytes, beside) = match world.open(file) {
        Ok(opened) => opened,
        Err(why) => {
            warn(format!("`{file}` is not learned from: {why}"));
            return None;
        }
    };
    match super::read_at(&bytes, &*beside, &[file]).preparation {
        Some(preparation) if preparation.closed.is_some() => Some(preparation),
        Some(_) if !named => None,
        Some(_) => {
            warn(format!("`{file}` is not learned from: it is not closed"));
            None
        }
        None => {
            warn(format!("`{file}` is not learned from: it has errors"));
            None
        }
    }
}

/// `share lost (dry) 0.12 to 0.30 % (default 0.10 to 0.50 %; 4 runs)`.
fn in_words(own: &OwnLoss) -> String {
    let (unit, factor) = own.what.unit();
    let range = |(low, high): (f64, f64)| format!("{} to {} {unit}", two(low * factor), two(high * factor));
    let by = own.by.as_ref().map_or_else(String::new, |by| format!(", {by}"));
    format!(
        "{} ({}{by}) {} (default {}; {} {})",
        own.what.words(),
        own.action.word(),
        range(own.learned),
        range(own.default),
        own.runs,
        if own.runs == 1 { "run" } else { "runs" }
    )
}

/// Two significant digits.
fn two(value: f64) -> String {
    if value <= 0.0 || !value.is_finite() {
        return "0".to_owned();
    }
    let decimals = usize::try_from(1 - value.log10().floor() as i32).unwrap_or(0).min(6);
    format!("{value:.decimals$}")
}
