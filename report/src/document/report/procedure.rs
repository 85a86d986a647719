//! Materials, apparatus and procedure.

use super::Written;
use crate::document::references::References;
use crate::document::{Align, Block, Cell, Inline, Line, Table, identifier, link, listed, sentence, words};
use crate::number;
use chem::quantity::Status;
use prep::outcome::{RecordedStep, RunRecord, WeighOut};

/// Further actions on a liquid in a vessel.
const LIQUID: [&str; 3] = ["crystallise", "evaporate", "quench"];
/// Actions that bring a supply into solution.
const SOLVING: [&str; 6] = ["dissolve", "redissolve", "leach", "precipitate", "adjust pH", "cement"];

pub(super) fn materials(written: &Written<'_>, references: &mut References) -> Vec<Block> {
    let mut blocks = vec![Block::Heading("Materials and apparatus".to_owned()), Block::Table(supplies(written))];
    let mut table = Table::new(&[
        ("balance", Align::Left),
        ("step, g", Align::Point),
        ("repeats to, g", Align::Point),
        ("slope, %", Align::Point),
        ("source", Align::Left),
    ]);
    for balance in &written.record.balances {
        let mut source = references.cite_all(balance.sources.iter().copied());
        if source.is_empty() {
            source.push(words("as stated"));
        }
        table.push(vec![
            Cell::text(balance.name.clone()),
            Cell::text(number::plain(balance.resolution)),
            Cell::text(number::plain(balance.repeatability)),
            Cell::text(number::significant(100.0 * balance.slope, 2)),
            Cell::Line(source),
        ]);
    }
    if !table.rows.is_empty() {
        blocks.push(Block::Table(table));
    }
    let ware: Vec<String> = written
        .record
        .ware
        .iter()
        .map(|ware| {
            format!("{} ({}, {} at most off)", ware.name, ware.kind, number::unit(&number::plain(ware.error), "mL"))
        })
        .collect();
    if !ware.is_empty() {
        let mut line = vec![words(format!("Ware: {}", listed(&ware)))];
        line.extend(references.cite_all(written.record.ware.iter().map(|ware| ware.source)));
        line.push(words("."));
        blocks.push(Block::Line(line));
    }
    blocks
}

fn supplies(written: &Written<'_>) -> Table {
    let mut table = Table::new(&[
        ("supply", Align::Left),
        ("label", Align::Left),
        ("taken to hold", Align::Left),
        ("charged", Align::Left),
    ]);
    for supply in &written.record.supplies {
        let mut holds: Line = vec![words(supply.holds.join(" and "))];
        for (field, value) in &supply.stated {
            holds.push(words(format!("; {field} {}", number::tied(value))));
            holds.push(Inline::Status(Status::Label));
        }
        if let Some((file, lot)) = &supply.origin {
            holds.push(words(format!("; lot {lot} of {file}")));
        }
        let charges: Vec<String> =
            supply.charges.iter().map(|(step, amount)| format!("{} in {step}", number::tied(amount))).collect();
        table.push(vec![
            Cell::text(supply.name.clone()),
            Cell::text(if supply.label.is_empty() { "none" } else { &supply.label }),
            Cell::Line(holds),
            Cell::text(if charges.is_empty() { "none".to_owned() } else { charges.join("; ") }),
        ]);
    }
    table
}

/// What was done, one paragraph for each step.
pub(super) fn steps(written: &Written<'_>) -> Vec<Block> {
    let heading = if written.record.weighed() { "Procedure" } else { "Procedure, as planned" };
    let mut blocks = vec![Block::Heading(heading.to_owned())];
    for (index, step) in written.record.steps.iter().enumerate() {
        let mut line = vec![words(format!("{}. ", index + 1)), Inline::Strong(format!("{}. ", sentence(&step.name)))];
        line.extend(told(written, step));
        line.extend(strength(written, step));
        line.extend(filled(written, step, index));
        line.extend(readings_of(written.record, &step.name));
        if let Some(gas) = written.plan.steps.get(index).filter(|planned| !planned.vents.is_empty()) {
            let parts: Vec<String> =
                gas.vents.iter().map(|(name, amount)| format!("{} of {name}", number::interval(amount))).collect();
            line.push(words(format!(" Expected to leave: {}", listed(&parts))));
            line.push(Inline::Status(Status::Derived));
            line.push(words(" ("));
            line.push(link(identifier("formula", "expected"), "formula\u{a0}G"));
            line.push(words(")."));
        }
        if let Some(note) = &step.note {
            line.push(words(format!(" {note}")));
        }
        blocks.push(Block::Line(line));
    }
    blocks
}

/// A step in the past, impersonal; charges with their moles.
fn told(written: &Written<'_>, step: &RecordedStep) -> Line {
    let mut line: Line = Vec::new();
    let last = step.takes.len().saturating_sub(1);
    for (place, (source, amount)) in step.takes.iter().enumerate() {
        let before = match place {
            0 => "",
            _ if place == last => " and ",
            _ => ", ",
        };
        let taken = match amount.as_str() {
            "all" => format!("all of the {source}"),
            _ => format!("{} of {source}", number::tied(amount)),
        };
        line.push(words(before.to_owned() + &if place == 0 { sentence(&taken) } else { taken }));
        line.extend(moles(written, &step.name, source));
    }
    let several = step.takes.len() > 1 || step.takes.iter().any(|(_, amount)| amount.ends_with(" units"));
    let verb = if several { "were" } else { "was" };
    line.push(words(format!(" {verb} {}", participle(&step.action)) + &conditions(step)));
    line
}

/// Moles of what a charge brings, in brackets.
fn moles(written: &Written<'_>, step: &str, supply: &str) -> Line {
    let charge = written.plan.weigh_out.iter().find(|line| line.step == step && line.supply == supply);
    let brings = charge.map_or(&[][..], |charge| &charge.brings);
    let told: Vec<String> = brings
        .iter()
        .filter(|(_, amount)| amount.high > 0.0)
        .map(|(substance, amount)| format!("{} {substance}", number::mean(amount)))
        .collect();
    match told.is_empty() {
        true => Vec::new(),
        false => vec![
            words(format!(" ({}", told.join(" and "))),
            Inline::Status(Status::Derived),
            words(", "),
            link(identifier("formula", "charged"), "formula\u{a0}F"),
            words(")"),
        ],
    }
}

/// How strong a solution made of supplies is: moles in a kilogram of solute and water as weighed in.
fn strength(written: &Written<'_>, step: &RecordedStep) -> Line {
    let taken =
        |line: &&WeighOut| line.step == step.name && step.takes.iter().any(|(source, _)| *source == line.supply);
    let charges: Vec<&WeighOut> = written.plan.weigh_out.iter().filter(taken).collect();
    let solvent = |line: &&WeighOut| {
        let supply = written.record.supplies.iter().find(|supply| supply.name == line.supply);
        supply.is_some_and(|supply| !supply.holds.is_empty() && supply.holds.iter().all(|holds| holds == "H2O(l)"))
    };
    let kilograms = 1e-3 * charges.iter().map(|line| line.amount.mean).sum::<f64>();
    let variance: f64 = charges.iter().map(|line| (1e-3 * line.amount.standard_uncertainty).powi(2)).sum();
    if !SOLVING.contains(&step.action.as_str()) || !charges.iter().any(solvent) || kilograms <= 0.0 {
        return Vec::new();
    }
    let brought = charges.iter().flat_map(|line| &line.brings).filter(|(_, amount)| amount.mean > 0.0);
    let told: Vec<String> = brought
        .map(|(substance, amount)| {
            let strength = amount.mean / kilograms;
            let relative = (amount.standard_uncertainty / amount.mean).hypot(variance.sqrt() / kilograms);
            let told = number::with_uncertainty(strength, Some(strength * relative));
            format!("{} {substance}", number::unit(&told, "mol/kg"))
        })
        .collect();
    match told.is_empty() {
        true => Vec::new(),
        false => vec![
            words(format!(" With its water: {}", listed(&told))),
            Inline::Status(Status::Derived),
            words(" ("),
            link(identifier("formula", "charged"), "formula\u{a0}F"),
            words(")."),
        ],
    }
}

/// How large the vessel of a liquid is and how much is in it.
fn filled(written: &Written<'_>, step: &RecordedStep, index: usize) -> Line {
    if !SOLVING.contains(&step.action.as_str()) && !LIQUID.contains(&step.action.as_str()) {
        return Vec::new();
    }
    let Some(filled) = written.plan.steps.get(index).and_then(|planned| planned.vessel.as_ref()) else {
        return Vec::new();
    };
    let of = filled
        .capacity
        .map_or_else(String::new, |capacity| format!(" of {}", number::unit(&number::significant(capacity, 4), "mL")));
    vec![
        words(format!(" The {} then holds {}{of}", filled.vessel, number::interval(&filled.volume))),
        Inline::Status(Status::Estimated),
        words(" ("),
        link(identifier("formula", "filled"), "formula\u{a0}L"),
        words(")."),
    ]
}

/// How a step was done, and what it gave.
fn conditions(step: &RecordedStep) -> String {
    let mut text = String::new();
    if let Some(by) = &step.by {
        text += &format!(" by {by}");
    }
    if let Some(temperature) = &step.temperature {
        text += &format!(" at {}", number::tied(temperature));
    }
    if let Some(atmosphere) = &step.atmosphere {
        text += &format!(" in {atmosphere}");
    }
    if let Some(vessel) = &step.vessel {
        text += &format!(" in the {vessel}");
    }
    if let Some(duration) = &step.duration {
        text += &format!(", {}", number::tied(duration));
    }
    if let Some(wash) = &step.wash {
        text += &format!("; washed with {}", number::tied(wash));
    }
    text += &format!(", giving {}.", listed(&step.gives));
    text
}

fn participle(action: &str) -> String {
    match action {
        "dissolve" => "dissolved",
        "redissolve" => "dissolved again",
        "leach" => "leached",
        "precipitate" => "brought together to precipitate",
        "adjust pH" => "brought together to adjust the pH",
        "cement" => "brought together for cementation",
        "crystallise" => "left to crystallise",
        "evaporate" => "evaporated",
        "quench" => "quenched",
        "filter" => "filtered",
        "decant" => "decanted",
        "dry" => "dried",
        "roast" => "roasted",
        "ignite" => "ignited",
        "divide" => "divided",
        "sieve" => "sieved",
        "combine" => "combined",
        "grind" => "ground",
        "transfer" => "transferred",
        "store" => "stored",
        other => return format!("taken to step “{other}”"),
    }
    .to_owned()
}

/// The readings made in a step, each leading to its line in the table.
fn readings_of(record: &RunRecord, step: &str) -> Line {
    let mut line = Vec::new();
    let made = record.readings.iter().filter(|reading| reading.step == step && reading.figure.is_some());
    for reading in made.filter(|reading| reading.corrected_by.is_none()) {
        line.push(words(if line.is_empty() { " Read: " } else { "; " }));
        let vessel = reading.vessel.as_ref().filter(|vessel| !reading.what.starts_with(vessel.as_str()));
        let with = vessel.map_or_else(String::new, |vessel| format!(" in {vessel}"));
        let figure = number::tied(reading.figure.as_deref().unwrap_or_default());
        line.push(words(format!("{}{with} {figure}", reading.what)));
        line.push(Inline::Status(Status::Measured));
        line.push(words(" ("));
        line.push(link(identifier("reading", &reading.id), reading.id.clone()));
        line.push(words(")"));
    }
    if !line.is_empty() {
        line.push(words("."));
    }
    line
}
