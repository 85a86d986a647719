//! Runs of one preparation side by side: do they agree, and what do they give together?

use super::{Align, Block, Cell, Document, Table, element_name, findings, listed, standing};
use crate::number;
use crate::strip::{Mark, Scale, Strip};
use prep::outcome::{Pooling, Replicates};

/// The comparison as a page.
#[must_use]
pub fn replicates_document(replicates: &Replicates) -> Document {
    let mut blocks = Vec::new();
    if let Some(overall) = replicates.quantities.first() {
        blocks.push(Block::Claim(verdict(replicates, overall)));
        blocks.extend(runs(replicates, overall));
        blocks.extend(quantities(replicates));
    } else {
        blocks.push(Block::Claim("The runs have no yield in common that could be compared.".to_owned()));
    }
    blocks.extend(findings::section(&replicates.findings));
    let words = "The cautions of each run, with its amounts, stand with its plan: `tarebook plan FILE`.";
    blocks.push(Block::Paragraph(words.to_owned()));
    blocks.extend(standing::standing());
    Document { title: format!("Runs side by side, counted in {}", element_name(&replicates.element)), blocks }
}

fn verdict(replicates: &Replicates, overall: &Pooling) -> String {
    let element = &replicates.element;
    let together = percent(&number::figure_bare(&overall.mean));
    let count = overall.runs.len();
    let chance = number::chance(overall.probability);
    if overall.agree {
        return format!(
            "The {count} runs agree within their uncertainties: by chance alone such runs differ as much in {chance} of cases. Together they give a yield of {together}, counted in {element}."
        );
    }
    let scatter = percent(&number::significant(overall.between_runs, 2));
    let most = replicates.quantities[1..]
        .iter()
        .filter(|step| !step.agree)
        .min_by(|a, b| a.probability.total_cmp(&b.probability))
        .map_or_else(String::new, |step| format!(", most in {}", step.name));
    format!(
        "The {count} runs differ by more than their uncertainties explain{most}: by chance alone such runs differ as much in {chance} of cases. They scatter by {scatter} (standard deviation). Together they give a yield of {together}, counted in {element}."
    )
}

fn percent(number: &str) -> String {
    number::unit(number, "%")
}

fn runs(replicates: &Replicates, overall: &Pooling) -> Vec<Block> {
    let Some(scale) = Scale::common(overall.runs.iter(), &[overall.mean.value]) else { return Vec::new() };
    let span = format!("{} … {} %", number::fixed(scale.low, 0), number::fixed(scale.high, 0));
    let mut table = Table::new(&[
        ("run", Align::Left),
        ("yield, %", Align::Point),
        (span.as_str(), Align::Strip),
        ("of", Align::Left),
    ]);
    for ((file, title), interval) in replicates.runs.iter().zip(&overall.runs) {
        table.push(vec![
            Cell::text(file.clone()),
            Cell::text(number::percent_bare(interval)),
            Cell::Strip(Strip {
                interval: Some(interval.clone()),
                scale,
                marks: vec![Mark::Reference(overall.mean.value)],
            }),
            Cell::text(title.clone()),
        ]);
    }
    table.push(vec![Cell::text("together"), Cell::text(number::figure_bare(&overall.mean))]);
    table.total = true;
    let shared = if replicates.shared.is_empty() {
        "The runs have no bottle of uncertain content and no balance in common.".to_owned()
    } else {
        format!(
            "All runs use {}: of the uncertainty of each yield {} is the same in all and does not average out.",
            listed(&replicates.shared),
            percent(&number::significant(overall.shared, 2))
        )
    };
    let next = format!("Another such run would give {}.", percent(&number::figure_bare(&overall.next_run)));
    vec![
        Block::Heading("Yield from feed to product".to_owned()),
        Block::Table(table),
        Block::Paragraph(format!("{shared} {next}")),
    ]
}

fn quantities(replicates: &Replicates) -> Vec<Block> {
    let steps = &replicates.quantities[1..];
    if steps.is_empty() {
        return Vec::new();
    }
    let mut table = Table::new(&[
        ("step", Align::Left),
        ("together, %", Align::Point),
        ("between runs, %", Align::Point),
        ("χ²", Align::Point),
        ("chance", Align::Point),
        ("runs", Align::Left),
    ]);
    for step in steps {
        table.push(vec![
            Cell::text(step.name.trim_start_matches("step ").to_owned()),
            Cell::text(number::figure_bare(&step.mean)),
            Cell::text(number::significant(step.between_runs, 2)),
            Cell::text(number::significant(step.chi_squared, 2)),
            Cell::text(number::chance(step.probability)),
            Cell::text(if step.agree { "agree" } else { "differ" }),
        ]);
    }
    vec![
        Block::Heading("Step by step".to_owned()),
        Block::Table(table),
        Block::Paragraph(
            "Chance: how often runs that agree would differ by as much or more. Between runs: scatter that the runs' own uncertainties do not explain, as a standard deviation."
                .to_owned(),
        ),
    ]
}
