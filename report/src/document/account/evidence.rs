//! What the verdict stands on: variants side by side, losses on heating, alternatives.

use crate::document::{Align, Block, Cell, Table, evidence_words};
use crate::number;
use prep::outcome::{Account, Hypothesis, LossLevel, LotAccount, StepYield};

/// The account beside what would follow if the file allowed something else.
pub(in crate::document) fn variants(account: &Account) -> Vec<Block> {
    if account.suppositions.is_empty() {
        return Vec::new();
    }
    let mut blocks = vec![Block::Heading("The account, and what would follow if".to_owned())];
    for element in &account.elements {
        let mut table = Table::new(&[
            ("supposed", Align::Left),
            ("lot", Align::Left),
            (&format!("{element}, g"), Align::Point),
            ("9 in 10", Align::Point),
            ("yield so far, %", Align::Point),
        ]);
        let steps = account.yields.as_ref().map_or(&[][..], |yields| &yields.steps);
        let compared: Vec<&LotAccount> = account.lots.iter().filter(|lot| is_compared(account, lot)).collect();
        variant_rows(&mut table, "as the file has it", &compared, steps, element);
        for supposition in &account.suppositions {
            let lots: Vec<&LotAccount> = supposition.lots.iter().filter(|lot| is_compared(account, lot)).collect();
            variant_rows(&mut table, &supposition.text, &lots, &supposition.steps, element);
        }
        blocks.push(Block::Table(table));
    }
    for supposition in &account.suppositions {
        let groups = evidence_words::groups(&supposition.hypotheses);
        for group in groups.iter().filter(|group| group.len() > 1) {
            blocks.push(Block::Paragraph(format!(
                "With “{}” the readings cannot tell these apart: {}.",
                supposition.text,
                group.join("; ")
            )));
        }
    }
    blocks
}

/// Lots worth comparing: those whose yield is quoted, and the product.
fn is_compared(account: &Account, lot: &LotAccount) -> bool {
    let quoted = account.yields.iter().flat_map(|yields| &yields.quoted).any(|quoted| quoted.lot == lot.id);
    let product = account.streams.iter().filter(|stream| stream.name == "product");
    quoted || product.flat_map(|stream| &stream.lots).any(|id| *id == lot.id)
}

fn variant_rows(table: &mut Table, text: &str, lots: &[&LotAccount], steps: &[StepYield], element: &str) {
    let mut lead = Some(text);
    for lot in lots {
        let Some(content) = lot.elements.iter().find(|content| content.element == element) else { continue };
        let so_far = steps
            .iter()
            .find(|step| step.name == lot.step)
            .map_or_else(String::new, |step| number::percent_bare(&step.cumulative));
        table.push(vec![
            Cell::text(lead.take().unwrap_or_default()),
            Cell::text(lot.name.clone()),
            Cell::text(number::mean_bare(&content.mass)),
            Cell::text(number::interval_bare(&content.mass)),
            Cell::text(so_far),
        ]);
    }
}

/// Each loss on heating beside the losses of pure substances.
pub(in crate::document) fn losses(account: &Account) -> Vec<Block> {
    account.levels.iter().flat_map(loss).collect()
}

fn loss(level: &LossLevel) -> Vec<Block> {
    let mut table = Table::new(&[
        ("taken as pure", Align::Left),
        ("loss, %", Align::Point),
        ("off by, standard uncertainties", Align::Point),
        ("", Align::Left),
    ]);
    for (substance, calculated, away) in &level.levels {
        table.push(vec![
            Cell::text(substance.clone()),
            Cell::text(number::fixed(*calculated, 2)),
            Cell::text(evidence_words::distance(*away)),
            Cell::text(evidence_words::level_word(*away)),
        ]);
    }
    vec![
        Block::Heading(format!("Loss of {} on heating", level.lot)),
        Block::Paragraph(format!(
            "Found: {}. Calculated for pure substances, if the residue is pure {}:",
            number::figure(&level.observed),
            level.residue
        )),
        Block::Table(table),
    ]
}

/// Probability below which larger mixtures are told in one line.
const SMALL: f64 = 0.01;

/// The alternatives with their probability, the likeliest first.
pub(in crate::document) fn alternatives(account: &Account) -> Vec<Block> {
    if account.hypotheses.is_empty() {
        return Vec::new();
    }
    let mut ranked: Vec<&Hypothesis> = account.hypotheses.iter().collect();
    ranked.sort_by(|one, other| other.probability.total_cmp(&one.probability));
    let mut table = Table::new(&[
        ("consistent with, or not", Align::Left),
        ("probability", Align::Point),
        ("χ²", Align::Point),
        ("group", Align::Point),
        ("", Align::Left),
    ]);
    let slips = ranked.iter().any(|h| h.id.starts_with("slip-") || h.id == "losses");
    let (together, ranked): (Vec<&Hypothesis>, Vec<&Hypothesis>) =
        ranked.into_iter().partition(|h| h.larger && h.probability < SMALL);
    for hypothesis in ranked {
        table.push(vec![
            Cell::text(hypothesis.text.clone()),
            Cell::text(number::chance(hypothesis.probability)),
            Cell::text(number::fixed(hypothesis.chi_squared, 1)),
            Cell::text(hypothesis.group.map_or_else(|| "none".to_owned(), |group| (group + 1).to_string())),
            Cell::text(evidence_words::hypothesis_word(hypothesis)),
        ]);
    }
    if !together.is_empty() {
        table.push(vec![
            Cell::text(match together.len() {
                1 => "a larger mixture of these".to_owned(),
                count => format!("{count} larger mixtures of these, together"),
            }),
            Cell::text(number::chance(together.iter().map(|h| h.probability).sum())),
            Cell::text("none"),
            Cell::text("none"),
            Cell::text("consistent, undecided"),
        ]);
    }
    let mut note = "Before any reading all compositions that the file allows are alike probable. Alternatives of one group fit about equally well: the readings cannot tell them apart, and their probabilities follow what was taken for granted beforehand. Larger mixtures (no group) hold one of them and more.".to_owned();
    if slips {
        note += " That a reading is a slip, or that far more was lost than usual, is counted across all compositions: those lines cut the same whole another way.";
    }
    vec![Block::Heading("Alternatives, the likeliest first".to_owned()), Block::Paragraph(note), Block::Table(table)]
}
