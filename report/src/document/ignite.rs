//! What a heated lot becomes, as a page.

use super::{Align, Block, Cell, Document, Table, findings, listed, standing};
use crate::number;
use prep::outcome::{IgniteAnswer, Stage};

/// The answer as a page.
#[must_use]
pub fn ignite_document(answer: &IgniteAnswer) -> Document {
    let names: Vec<String> = answer.lot.iter().map(|(name, _)| name.clone()).collect();
    let mut blocks = vec![Block::Claim(claim(answer))];
    blocks.extend(at(answer));
    blocks.extend(chain(answer));
    blocks.extend(stages(answer));
    blocks.extend(levels(answer));
    blocks.extend(findings::section(&answer.findings));
    blocks.push(Block::Paragraph(format!(
        "Equilibrium says what may happen, not when: a solid may pass its temperature by hundreds of degrees unchanged, and a deep or covered bed lives in its own gas. Pure phases; no solid solutions, no crucible. Sources: {}.",
        answer.sources.join("; ")
    )));
    blocks.extend(standing::standing());
    let way = match answer.surroundings {
        "own gas" => "in its own gas".to_owned(),
        "carbon" => "over carbon".to_owned(),
        gas => format!("in {gas}"),
    };
    Document { title: format!("{} heated {way}", listed(&names)), blocks }
}

fn degrees(value: f64) -> String {
    number::unit(&number::fixed(value, 0), "°C")
}

fn percent(value: f64) -> String {
    number::unit(&number::fixed(value, 2), "%")
}

fn phases(stage: &Stage) -> String {
    let names: Vec<String> = stage.phases.iter().map(|(name, _)| name.clone()).collect();
    if names.is_empty() { "nothing solid or liquid".to_owned() } else { listed(&names) }
}

fn claim(answer: &IgniteAnswer) -> String {
    let Some(last) = answer.stages.last() else { return "No stable state is known.".to_owned() };
    format!(
        "At equilibrium it ends as {} from {} on: {} of its mass, {} g.",
        phases(last),
        degrees(last.from),
        percent(last.mass.0),
        number::significant(answer.mass * last.mass.0 / 100.0, 4)
    )
}

/// What the residue may hold at the temperature asked about, as a line of the file.
fn at(answer: &IgniteAnswer) -> Vec<Block> {
    let Some(celsius) = answer.at else { return Vec::new() };
    if answer.may_hold.is_empty() {
        return vec![Block::Paragraph(format!("At {} nothing solid or liquid stands.", degrees(celsius)))];
    }
    let quoted: Vec<String> = answer.may_hold.iter().map(|name| format!("\"{name}\"")).collect();
    vec![
        Block::Paragraph(format!(
            "At {} {} stands first in this line for the `ignite` step; what follows it may be left where time was short. Strike out what a test excludes.",
            degrees(celsius),
            answer.may_hold[0]
        )),
        Block::List(vec![format!("may_hold = [{}]", quoted.join(", "))]),
    ]
}

fn chain(answer: &IgniteAnswer) -> Vec<Block> {
    if answer.chain.is_empty() {
        return Vec::new();
    }
    let own = answer.surroundings == "own gas";
    let mut table = Table::new(&[
        ("loss", Align::Left),
        ("left, %", Align::Point),
        ("u, %", Align::Point),
        ("this loss, %", Align::Point),
        ("own gas at 1 atm above", Align::Left),
        (if own { "" } else { "may go here above" }, Align::Left),
    ]);
    for step in &answer.chain {
        table.push(vec![
            Cell::text(step.equation.clone()),
            Cell::text(number::fixed(step.mass, 2)),
            Cell::text(number::significant(step.mass_uncertainty, 1)),
            Cell::text(number::fixed(step.loss, 2)),
            Cell::text(step.own_gas.clone()),
            Cell::text(step.surroundings.clone()),
        ]);
    }
    vec![
        Block::Heading("Step by step".to_owned()),
        Block::Table(table),
        Block::Paragraph(
            "Water first, then the smallest loss. A step that may go at a lower temperature than the one before it shows no level of its own. u: standard uncertainty of the level of a pure lot, from the atomic weights; an assay or water of the lot moves every level by its share."
                .to_owned(),
        ),
    ]
}

fn stages(answer: &IgniteAnswer) -> Vec<Block> {
    let mut table = Table::new(&[
        ("°C", Align::Left),
        ("stable", Align::Left),
        ("left, %", Align::Point),
        ("gas given off by then, mol", Align::Left),
    ]);
    for stage in &answer.stages {
        let gases: Vec<String> =
            stage.gases.iter().take(4).map(|(name, n)| format!("{name} {}", number::significant(*n, 3))).collect();
        table.push(vec![
            Cell::text(format!("{} to {}", number::fixed(stage.from, 0), number::fixed(stage.to, 0))),
            Cell::text(phases(stage)),
            Cell::text(number::fixed(0.5 * (stage.mass.0 + stage.mass.1), 2)),
            Cell::text(gases.join(", ")),
        ]);
    }
    vec![Block::Heading("What is stable".to_owned()), Block::Table(table)]
}

fn levels(answer: &IgniteAnswer) -> Vec<Block> {
    if answer.levels.is_empty() {
        return Vec::new();
    }
    let mut table = Table::new(&[
        ("residue", Align::Left),
        ("left, %", Align::Point),
        ("u, %", Align::Point),
        ("stands here, °C", Align::Left),
    ]);
    for level in &answer.levels {
        table.push(vec![
            Cell::text(level.residue.clone()),
            Cell::text(number::fixed(level.mass, 2)),
            Cell::text(number::significant(level.mass_uncertainty, 1)),
            Cell::text(level.stands.map_or_else(
                || "nowhere".to_owned(),
                |(low, high)| format!("{} to {}", number::fixed(low, 0), number::fixed(high, 0)),
            )),
        ]);
    }
    vec![Block::Heading("Levels of mass to hold a weighing against".to_owned()), Block::Table(table)]
}
