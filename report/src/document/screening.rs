//! Hazards on the page: the gravest first, what is charged, where to stop.
//!
//! The frame is RAMP: recognise, assess, minimise, prepare (R. H. Hill, D. C. Finster, Laboratory Safety for Chemistry
//! Students; American Chemical Society).

use super::{Align, Block, Cell, Table, listed};
use crate::number;
use prep::outcome::{HoldPoint, Screening, SubstanceHazard};

/// Most codes in a cell; the others are counted.
const MOST_CODES: usize = 7;
/// What is made ready before any run.
pub(super) const PREPARE: &str = "a second person knows; water to rinse, dry sand, a way out; numbers of emergency and poison centre at hand. No kitchen ware, and an oven used here never cooks again.";

/// The section on hazards.
pub(super) fn section(screening: &Screening) -> Vec<Block> {
    let mut blocks = vec![Block::Heading("Hazards".to_owned())];
    if screening.gravest.is_empty() {
        blocks.push(Block::Paragraph("Recognise: no caution for the steps and amounts listed.".to_owned()));
    }
    if !screening.gravest.is_empty() {
        blocks.push(Block::Paragraph("Recognise, the gravest first:".to_owned()));
        blocks.push(Block::List(screening.gravest.clone()));
    }
    let whose = if screening.room_stated { "as stated" } else { "assumed: the file states no `room`" };
    let frame = [
        format!(
            "Assess: the worst that could happen is the first of these; gases are reckoned in a closed room of {} m³ ({whose}).",
            number::significant(screening.room, 3)
        ),
        format!("Minimise: {}", minimise(screening)),
        format!("Prepare: {PREPARE}"),
    ];
    blocks.extend(frame.into_iter().map(Block::Paragraph));
    blocks.extend(charged(screening));
    blocks.extend(screening.withheld.iter().map(|why| Block::Paragraph(format!("No weighing list: {why}."))));
    blocks.extend(screening.accepted.iter().map(|accepted| {
        let here = accepted.step.as_ref().map_or(String::new(), |step| format!(" in step {step}"));
        Block::Paragraph(format!("Accepted: {}{here}. Reason: {}", accepted.finding, accepted.reason))
    }));
    blocks
}

/// The controls, each once.
pub(super) fn minimise(screening: &Screening) -> String {
    let mut controls: Vec<&str> = Vec::new();
    for caution in screening.steps.iter().flat_map(|step| &step.cautions) {
        if !caution.control.is_empty() && !controls.contains(&caution.control.as_str()) {
            controls.push(&caution.control);
        }
    }
    if controls.is_empty() { "goggles, gloves, small amounts, open vessels.".to_owned() } else { controls.join(" ") }
}

/// What is charged, with its statements.
pub(super) fn charged(screening: &Screening) -> Option<Block> {
    let mut table =
        Table::new(&[("charged", Align::Left), ("signal", Align::Left), ("hazard statements", Align::Left)]);
    let mut told: Vec<&str> = Vec::new();
    for substance in screening.steps.iter().flat_map(|step| &step.substances) {
        if told.contains(&substance.substance.as_str()) {
            continue;
        }
        told.push(&substance.substance);
        table.push(vec![
            Cell::text(substance.substance.clone()),
            Cell::text(substance.signal.unwrap_or("none")),
            Cell::text(statements(substance)),
        ]);
    }
    (!table.rows.is_empty()).then_some(Block::Table(table))
}

fn statements(substance: &SubstanceHazard) -> String {
    let mut codes: Vec<String> = substance.statements.iter().map(|(code, _)| (*code).to_owned()).collect();
    if codes.len() > MOST_CODES {
        let more = codes.len() - MOST_CODES;
        codes.truncate(MOST_CODES);
        codes.push(format!("{more} more"));
    }
    let told = match (codes.is_empty(), substance.name.is_empty()) {
        (true, true) => None,
        (true, false) => Some("not classified".to_owned()),
        (false, _) => Some(listed(&codes)),
    };
    let parts: Vec<String> = told.into_iter().chain(substance.remarks.iter().cloned()).collect();
    parts.join("; ")
}

/// Where to stop in a step.
pub(super) fn holds(holds: &[HoldPoint]) -> Vec<Block> {
    let told = |hold: &HoldPoint| {
        Block::Paragraph(format!(
            "Hold: go on when {}. Read: {}. If not: {}.",
            hold.condition, hold.proof, hold.otherwise
        ))
    };
    holds.iter().map(told).collect()
}
