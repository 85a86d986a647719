//! A state of equilibrium as a page.

use super::{Align, Block, Cell, Document, Table, findings, listed, standing};
use crate::number;
use prep::outcome::EquilibriumAnswer;

/// Most gases on a page; the rest are in the JSON.
const MOST_GASES: usize = 14;
/// Share of the gas below which one is not listed.
const LISTED: f64 = 1e-9;
/// Kelvin at 0 °C.
const ZERO_CELSIUS: f64 = 273.15;

/// The answer as a page.
#[must_use]
pub fn equilibrium_document(answer: &EquilibriumAnswer) -> Document {
    let names: Vec<String> = answer.brought.iter().map(|(name, _)| name.clone()).collect();
    let mut blocks = vec![Block::Claim(claim(answer))];
    let cautions = |block: &Block| matches!(block, Block::Finding(f) if f.severity == prep::outcome::Severity::Caution);
    let (first, mut rest): (Vec<Block>, Vec<Block>) =
        findings::section(&answer.findings).into_iter().partition(cautions);
    if rest.len() < 2 && !first.is_empty() {
        rest.clear();
    }
    blocks.extend(first);
    blocks.extend(condensed(answer));
    blocks.extend(gases(answer));
    blocks.extend(nearest(answer));
    blocks.extend(rest);
    blocks.push(Block::Paragraph(footing(answer)));
    blocks.extend(standing::standing());
    Document { title: format!("Equilibrium of {}", listed(&names)), blocks }
}

fn celsius(kelvin: f64) -> String {
    number::unit(&number::fixed(kelvin - ZERO_CELSIUS, 1), "°C")
}

fn claim(answer: &EquilibriumAnswer) -> String {
    if !["solved", "almost", "end of data"].contains(&answer.status) {
        return format!("No state is given for {}: {}.", answer.held, answer.status);
    }
    let solids: Vec<String> = answer
        .species
        .iter()
        .filter(|s| s.phase != "gas" && s.mass > 1e-6 * answer.mass)
        .map(|s| format!("{} of {}", number::unit(&number::significant(s.mass, 4), "g"), s.label))
        .collect();
    let solids = if solids.is_empty() { "no solid or liquid".to_owned() } else { listed(&solids) };
    let gas = if answer.gas_amount > 0.0 {
        format!(
            "{} of gas ({} there)",
            number::unit(&number::significant(answer.gas_amount, 4), "mol"),
            number::unit(&number::significant(answer.gas_volume, 3), "L")
        )
    } else {
        "no gas".to_owned()
    };
    let pressure = number::unit(&number::significant(answer.pressure.value, 4), "bar");
    let still = if answer.plateau { ", where temperature stands still while heat goes in" } else { "" };
    let heat = answer.heat.map_or_else(String::new, |heat| {
        let way = if heat < 0.0 { "gives off" } else { "takes up" };
        let size = number::unit(&number::significant(heat.abs(), 4), "kJ");
        format!(" The way there from {} {way} {size}.", celsius(answer.from))
    });
    format!("At {} and {pressure}{still}: {solids}, with {gas}.{heat}", celsius(answer.temperature.value))
}

fn condensed(answer: &EquilibriumAnswer) -> Vec<Block> {
    let mut table = Table::new(&[
        ("solid or liquid", Align::Left),
        ("mol", Align::Point),
        ("g", Align::Point),
        ("of what was brought, %", Align::Point),
    ]);
    for species in answer.species.iter().filter(|s| s.phase != "gas") {
        table.push(vec![
            Cell::text(mark(&species.label, species.estimated)),
            Cell::text(number::significant(species.amount, 5)),
            Cell::text(number::significant(species.mass, 5)),
            Cell::text(number::fixed(100.0 * species.mass / answer.mass, 2)),
        ]);
    }
    if table.rows.is_empty() { Vec::new() } else { vec![Block::Table(table)] }
}

fn mark(label: &str, estimated: bool) -> String {
    if estimated { format!("{label} (estimated)") } else { label.to_owned() }
}

fn gases(answer: &EquilibriumAnswer) -> Vec<Block> {
    let mut table = Table::new(&[("gas", Align::Left), ("mol", Align::Point), ("partial pressure, bar", Align::Point)]);
    let there = answer.species.iter().filter(|s| s.phase == "gas" && s.amount > LISTED * answer.gas_amount);
    for species in there.take(MOST_GASES) {
        table.push(vec![
            Cell::text(mark(&species.label, species.estimated)),
            Cell::text(number::significant(species.amount, 4)),
            Cell::text(species.partial_pressure.map_or_else(String::new, |p| number::significant(p, 4))),
        ]);
    }
    if table.rows.is_empty() { Vec::new() } else { vec![Block::Table(table)] }
}

fn nearest(answer: &EquilibriumAnswer) -> Vec<Block> {
    let near: Vec<String> = answer
        .nearest
        .iter()
        .filter(|(_, log)| *log > -3.0)
        .map(|(label, log)| format!("{label} (activity {})", number::significant(10f64.powf(*log), 2)))
        .collect();
    if near.is_empty() {
        return Vec::new();
    }
    vec![Block::Paragraph(format!("Nearest to appearing, at activity 1: {}.", near.join(", ")))]
}

fn footing(answer: &EquilibriumAnswer) -> String {
    format!(
        "Held: {}. {} candidates of the elements took part. Largest residual {}. Ideal gas and pure phases: solutions, melts of several substances and non-stoichiometry are not in it, and equilibrium says what may happen, not when. Sources: {}.",
        answer.held,
        answer.candidates,
        number::significant(answer.residual, 1),
        answer.sources.join("; ")
    )
}
