//! All that is known of a substance, as a page.

use super::{Align, Block, Cell, Document, Table, findings};
use crate::number;
use prep::outcome::{Figure, SubstanceAnswer};

/// The page of a substance.
#[must_use]
pub fn substance_document(answer: &SubstanceAnswer) -> Document {
    let mut blocks = Vec::new();
    if let Some(hazards) = answer.hazards.as_ref().filter(|hazards| !hazards.statements.is_empty()) {
        let phrases: Vec<String> = hazards.statements.iter().map(|(code, phrase)| format!("{code} {phrase}")).collect();
        let said = phrases.join("; ");
        let signal = hazards.signal.map(|signal| format!("{signal}: ")).unwrap_or_default();
        let signs = hazards.signs();
        let signs = if signs.is_empty() { String::new() } else { format!(" Pictograms: {}.", signs.join(", ")) };
        blocks.push(Block::Caution(format!("{signal}{said}.{signs}")));
    }
    if !answer.names.is_empty() {
        blocks.push(Block::Claim(format!("{}.", super::sentence(&answer.names.join(", ")))));
    }
    let met = if answer.uses.is_empty() { None } else { Some(format!("met in: {}", answer.uses.join(", "))) };
    let cas = answer.cas.as_ref().map(|cas| format!("CAS number {cas}"));
    let line: Vec<String> = [cas, met].into_iter().flatten().collect();
    if !line.is_empty() {
        blocks.push(Block::Paragraph(format!("{}.", line.join("; "))));
    }
    let mut sources: Vec<&str> = Vec::new();
    blocks.push(Block::Heading("Properties".to_owned()));
    blocks.push(Block::Table(properties(answer, &mut sources)));
    blocks.extend(forms(answer));
    if !answer.remarks.is_empty() {
        blocks.push(Block::Heading("To be known of these figures".to_owned()));
        blocks.push(Block::List(answer.remarks.clone()));
    }
    if !sources.is_empty() {
        blocks.push(Block::Heading("Sources".to_owned()));
        let numbered = sources.iter().enumerate().map(|(index, source)| format!("[{}] {source}", index + 1));
        blocks.push(Block::List(numbered.collect()));
    }
    blocks.push(Block::Paragraph(hazard_line(answer)));
    if !answer.findings.is_empty() {
        blocks.extend(findings::section(&answer.findings));
    }
    Document { title: answer.formula.clone(), blocks }
}

fn hazard_line(answer: &SubstanceAnswer) -> String {
    match &answer.hazards {
        Some(hazards) => {
            let comment = if hazards.comment.is_empty() { String::new() } else { format!(" ({})", hazards.comment) };
            let said = if hazards.statements.is_empty() { "Not classified as hazardous" } else { "Hazard statements" };
            format!(
                "{said}{comment}: {}. The supplier's safety data sheet comes first.",
                hazards.sources.join("; ")
            )
        }
        None => "No hazard statements are listed here, which does not show that there is no hazard: the supplier's safety data sheet comes first."
            .to_owned(),
    }
}

fn properties<'a>(answer: &'a SubstanceAnswer, sources: &mut Vec<&'a str>) -> Table {
    let mut table = Table::new(&[
        ("property", Align::Left),
        ("value", Align::Point),
        ("unit", Align::Left),
        ("of", Align::Left),
        ("status", Align::Left),
        ("source", Align::Left),
    ]);
    for (name, figures) in &answer.properties {
        for (index, figure) in figures.iter().enumerate() {
            let head = if index == 0 { name.replace('_', " ").replace("gibbs", "Gibbs") } else { String::new() };
            table.push(vec![
                Cell::text(head),
                Cell::text(number::figure_bare(figure)),
                // A unit stays on one line.
                Cell::text(figure.unit.replace(' ', "\u{a0}")),
                Cell::text(figure.basis.clone().unwrap_or_default()),
                Cell::text(figure.status.word()),
                Cell::text(marks(figure, sources)),
            ]);
        }
    }
    table
}

/// Numbers of the sources of a figure in the list below the table.
fn marks<'a>(figure: &'a Figure, sources: &mut Vec<&'a str>) -> String {
    let mut numbers = Vec::new();
    for source in &figure.sources {
        let place = sources.iter().position(|known| known == source).unwrap_or_else(|| {
            sources.push(source);
            sources.len() - 1
        });
        numbers.push((place + 1).to_string());
    }
    if numbers.is_empty() { String::new() } else { format!("[{}]", numbers.join(", ")) }
}

fn forms(answer: &SubstanceAnswer) -> Vec<Block> {
    if answer.forms.is_empty() {
        return Vec::new();
    }
    let mut table = Table::new(&[
        ("form", Align::Left),
        ("values from, K", Align::Point),
        ("to, K", Align::Point),
        ("heat capacity", Align::Left),
    ]);
    for form in &answer.forms {
        table.push(vec![
            Cell::text(form.form.clone()),
            Cell::text(number::plain(form.low_k)),
            Cell::text(number::plain(form.high_k)),
            Cell::text(if form.over_temperature { "over temperature" } else { "held constant" }),
        ]);
    }
    vec![Block::Heading("Forms".to_owned()), Block::Table(table)]
}
