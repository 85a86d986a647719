//! When a heated bed is done, as a page.

use super::{Align, Block, Cell, Document, Table, findings, standing};
use crate::number;
use prep::outcome::{FurnaceAnswer, FurnaceMoment};

/// Rows of the table over time.
const MOST_ROWS: usize = 12;

/// The answer as a page.
#[must_use]
pub fn furnace_document(answer: &FurnaceAnswer) -> Document {
    let mut blocks = vec![Block::Claim(claim(answer))];
    blocks.push(Block::Table(depths(answer)));
    blocks.push(Block::Heading("The middle over time".to_owned()));
    blocks.push(Block::Table(over_time(answer)));
    blocks.extend(findings::section(&answer.findings));
    blocks.push(Block::Paragraph(format!(
        "{}, furnace at {}. {} takes up {} for each gram; it goes {}. Taken: {}. The gas that leaves carries heat away and its pressure in the pores raises the temperature of the front: take the times as short by some tenth. Grains that react slowly take longer still; constant mass decides.",
        super::sentence(&answer.bed),
        degrees(answer.furnace),
        answer.equation,
        number::unit(&number::significant(answer.heat, 3), "kJ"),
        answer.law,
        answer.assumed.join("; ")
    )));
    blocks.extend(standing::standing());
    Document { title: format!("{} in the furnace", answer.solid), blocks }
}

fn degrees(value: f64) -> String {
    number::unit(&number::fixed(value, 0), "°C")
}

/// A time in minutes, or in hours where it is long.
fn time(minutes: f64) -> String {
    if minutes < 120.0 {
        number::unit(&number::significant(minutes, 2), "min")
    } else {
        number::unit(&number::significant(minutes / 60.0, 2), "h")
    }
}

fn maybe(minutes: Option<f64>) -> String {
    minutes.map_or_else(|| "not in a week".to_owned(), time)
}

fn is_sure(answer: &FurnaceAnswer) -> bool {
    answer.conductivity[0] == answer.conductivity[2]
}

/// "The middle is not done after 20 min; 45 min, or half the depth."
fn claim(answer: &FurnaceAnswer) -> String {
    let span = |times: &[Option<f64>; 3]| {
        let usual = maybe(times[1]);
        if is_sure(answer) { usual } else { format!("{usual} ({} to {})", maybe(times[2]), maybe(times[0])) }
    };
    match &answer.asked {
        Some(moment) if moment.middle_left >= 1.0 => format!(
            "The middle is not done after {}: {} % of it and {} % of the whole are left, at {} in the middle. Give it {}, or half the depth, which takes {}.",
            time(moment.minutes),
            number::fixed(moment.middle_left, 0),
            number::fixed(moment.left, 0),
            degrees(moment.middle),
            span(&answer.done),
            span(&answer.half_depth)
        ),
        Some(moment) => format!("The middle is done after {}: it takes {}.", time(moment.minutes), span(&answer.done)),
        None => format!(
            "The middle is done after {}; half the depth takes {}.",
            span(&answer.done),
            span(&answer.half_depth)
        ),
    }
}

fn depths(answer: &FurnaceAnswer) -> Table {
    let mut table = Table::new(&[
        ("conductivity, W/(m K)", Align::Point),
        ("middle done", Align::Left),
        ("half the depth", Align::Left),
    ]);
    let rows = if is_sure(answer) { 1 } else { 3 };
    for row in 0..rows {
        table.push(vec![
            Cell::text(number::significant(answer.conductivity[row], 2)),
            Cell::text(maybe(answer.done[row])),
            Cell::text(maybe(answer.half_depth[row])),
        ]);
    }
    table
}

fn over_time(answer: &FurnaceAnswer) -> Table {
    let mut table = Table::new(&[
        ("min", Align::Point),
        ("middle, °C", Align::Point),
        ("left in the middle, %", Align::Point),
        ("left in all, %", Align::Point),
    ]);
    let stride = answer.moments.len().div_ceil(MOST_ROWS).max(1);
    let mut shown: Vec<&FurnaceMoment> = answer.moments.iter().step_by(stride).collect();
    if let Some(last) = answer.moments.last().filter(|last| shown.last().is_none_or(|end| end.minutes < last.minutes)) {
        shown.push(last);
    }
    for moment in shown {
        table.push(vec![
            Cell::text(number::fixed(moment.minutes, 1)),
            Cell::text(number::fixed(moment.middle, 0)),
            Cell::text(number::fixed(moment.middle_left, 0)),
            Cell::text(number::fixed(moment.left, 0)),
        ]);
    }
    table
}
