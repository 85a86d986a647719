//! The account as a page: verdict first, then the figures it stands on, then how they were made.

pub(super) mod books;
pub(super) mod carried;
pub(super) mod changes;
pub(super) mod evidence;
pub(super) mod verdict;

use super::{Block, Document, dry, findings, resources, standing};
use crate::number;
use prep::outcome::{Account, Method, QuotedYield};

/// The account of a preparation.
#[must_use]
pub fn account_document(account: &Account) -> Document {
    let names: Vec<String> = account.elements.iter().map(|symbol| super::element_name(symbol)).collect();
    let mut blocks = verdict::verdict(account);
    blocks.extend(carried::claim(account));
    blocks.extend(evidence::variants(account));
    blocks.extend(evidence::losses(account));
    blocks.extend(carried::tests(account));
    blocks.extend(carried::foreign(account));
    blocks.extend(evidence::alternatives(account));
    blocks.extend(books::yields(account));
    blocks.extend(books::lots(account));
    blocks.extend(books::streams(account));
    blocks.extend(books::steps(account));
    blocks.extend(carried::budgets(account));
    blocks.extend(carried::next_test(account));
    blocks.extend(resources::account_cost(account.cost.as_ref()));
    blocks.extend(resources::stock(&account.stock));
    blocks.extend(resources::timing(&account.timing));
    blocks.extend(dry::series_section(&account.series));
    blocks.extend(changes::changes(account));
    blocks.extend(findings::section(&account.findings));
    blocks.extend(method(&account.method));
    blocks.extend(standing::standing());
    Document { title: format!("The account of {}: {}", super::listed(&names), account.title), blocks }
}

/// Whether a quoted yield rests on the ignition of a portion instead of an assumed formula of the whole.
pub(super) fn by_ignition(quoted: &QuotedYield) -> bool {
    quoted.method.contains("ignition")
}

pub(super) fn method(method: &Method) -> Vec<Block> {
    #[expect(clippy::cast_precision_loss, reason = "a count of runs for a sentence")]
    let runs = number::fixed(method.runs as f64, 0);
    let mut text = match method.kind {
        "sampled" => format!("Sampled account: {runs} forward runs of the same model that made the plan."),
        "live view" => format!(
            "Live view: a normal approximation, corrected by {runs} forward runs; the printed account is sampled."
        ),
        "refining" => format!(
            "Refining: the quick approximation is not good enough here ({runs} forward runs); the sampled account decides."
        ),
        other => format!("{}: {runs} forward runs.", super::sentence(other)),
    };
    if let Some(tail) = method.tail {
        text += &format!(" Tail shape of its weights {} (above 0.7 it is not trusted).", number::significant(tail, 2));
    }
    text += " ± is one standard uncertainty; a range holds 9 times in 10. The figures are conditional on what the file lists: species, labels, balances; of the compositions that it allows all are counted, by their evidence.";
    vec![Block::Heading("How this was computed".to_owned()), Block::Paragraph(text)]
}
