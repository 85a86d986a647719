//! Money, stock, time and vessels on the page.

use super::{Align, Block, Cell, Table, element_name, listed};
use crate::number::{self, NO_BREAK};
use prep::outcome::{AccountCost, Cost, FilledVessel, Interval, LostCost, StockLine, Timeline, Timing};

/// What the charges cost.
pub(super) fn cost(cost: Option<&Cost>) -> Vec<Block> {
    let Some(cost) = cost else { return Vec::new() };
    let mut blocks = vec![Block::Heading("Cost of the charges".to_owned())];
    if cost.supplies.is_empty() {
        blocks.push(Block::Paragraph("Nothing that is charged has a price.".to_owned()));
        return blocks;
    }
    let mut table = Table::new(&[
        ("supply", Align::Left),
        ("charged, g", Align::Point),
        ("bought as", Align::Left),
        ("price", Align::Left),
        (cost.currency, Align::Point),
    ]);
    for line in &cost.supplies {
        table.push(vec![
            Cell::text(line.supply.clone()),
            Cell::text(number::significant(line.charged.mean, 4)),
            Cell::text(line.pack.clone()),
            Cell::text(line.price.clone()),
            Cell::text(money_bare(&line.cost, cost.decimals)),
        ]);
    }
    let word = if cost.unpriced.is_empty() { "together" } else { "together, at least" };
    table.push(vec![
        Cell::text(word),
        Cell::blank(),
        Cell::blank(),
        Cell::blank(),
        Cell::text(money_bare(&cost.total, cost.decimals)),
    ]);
    table.total = true;
    blocks.push(Block::Table(table));
    if !cost.unpriced.is_empty() {
        let verb = if cost.unpriced.len() == 1 { "has" } else { "have" };
        blocks.push(Block::Paragraph(format!("At least: {} {verb} no price.", listed(&cost.unpriced))));
    }
    if cost.free_water {
        blocks.push(Block::Paragraph("Water that is not listed as a supply counts as free.".to_owned()));
    }
    blocks
}

/// What the preparation cost, and what for.
pub(super) fn account_cost(cost: Option<&AccountCost>) -> Vec<Block> {
    let Some(cost) = cost else { return Vec::new() };
    let mut blocks = self::cost(Some(&cost.charges));
    let at_least = if cost.charges.unpriced.is_empty() { "" } else { "at least " };
    if let (Some(per_gram), Some(product)) = (&cost.per_gram, &cost.product) {
        blocks.push(Block::Paragraph(format!(
            "A gram of {product} cost {at_least}{} ({}).",
            number::unit(&number::significant(per_gram.median, 3), per_gram.unit),
            number::interval(per_gram)
        )));
    }
    blocks.extend(cost.lost.iter().map(lost));
    blocks
}

fn lost(lost: &LostCost) -> Block {
    let element = element_name(&lost.element);
    let parts: Vec<String> = lost
        .streams
        .iter()
        .skip(1)
        .filter(|(_, cost)| cost.mean > 0.005 * lost.charged.mean)
        .map(|(name, cost)| format!("{name} {}", number::unit(&number::significant(cost.mean, 2), cost.unit)))
        .collect();
    let of = if parts.is_empty() { String::new() } else { format!(": {}", parts.join(", ")) };
    let at_least = if lost.unpriced.is_empty() {
        String::new()
    } else {
        format!(" At least: {} also brings {element} and has no price.", listed(&lost.unpriced))
    };
    Block::Paragraph(format!(
        "Not in the product: {} ({}){of}. That is the cost of {}, which brings the {element}, times the share of the {element} charged that is not in the product; other reagents are not counted in it.{at_least}",
        number::unit(&number::significant(lost.not_in_product.median, 3), lost.not_in_product.unit),
        number::interval(&lost.not_in_product),
        listed(&lost.supplies),
    ))
}

/// Money with as many digits as it is known to; where it is known to its smaller unit, to that or to two digits.
fn money_bare(money: &Interval, decimals: u8) -> String {
    let unit = 10f64.powi(-i32::from(decimals));
    match money.mean {
        _ if money.standard_uncertainty >= 0.5 * unit => number::mean_bare(money),
        mean if mean.abs() < 10.0 * unit => number::significant(mean, 2),
        mean => number::fixed(mean, i32::from(decimals)),
    }
}

/// What remains of the supplies.
pub(super) fn stock(lines: &[StockLine]) -> Vec<Block> {
    if lines.is_empty() {
        return Vec::new();
    }
    let mut table = Table::new(&[
        ("stock", Align::Left),
        ("before", Align::Left),
        ("used", Align::Point),
        ("remains", Align::Point),
        ("unit", Align::Left),
        ("runs out with", Align::Point),
    ]);
    for line in lines {
        table.push(vec![
            Cell::text(line.supply.clone()),
            Cell::text(line.stated.clone()),
            Cell::text(number::significant(line.used.mean, 4)),
            Cell::text(number::interval_bare(&line.remains)),
            Cell::text(line.remains.unit),
            Cell::text(number::chance(line.runs_out)),
        ]);
    }
    vec![Block::Heading("Stock".to_owned()), Block::Table(table)]
}

/// When each step can start.
pub(super) fn timeline(timeline: Option<&Timeline>) -> Vec<Block> {
    let Some(timeline) = timeline else { return Vec::new() };
    let mut table = Table::new(&[
        ("step", Align::Left),
        ("starts", Align::Left),
        ("hands until", Align::Left),
        ("ends", Align::Left),
        ("after", Align::Left),
    ]);
    for step in &timeline.steps {
        let until = if step.hands.high > 0.0 { clock(&step.hands_until) } else { "none".to_owned() };
        let after = if step.after.is_empty() { "none".to_owned() } else { listed(&step.after) };
        table.push(vec![
            Cell::text(step.step.clone()),
            Cell::text(clock(&step.start)),
            Cell::text(until),
            Cell::text(clock(&step.end)),
            Cell::text(after),
        ]);
    }
    let at_least = if timeline.untimed.is_empty() { "" } else { "at least " };
    let mut text = format!(
        "Hours and minutes from the start, at the earliest, with one pair of hands. In all {at_least}{}, {} of it with hands on.",
        clock(&timeline.elapsed),
        clock(&timeline.hands)
    );
    if !timeline.untimed.is_empty() {
        text += &format!(" Without a duration, counted as nothing: {}.", listed(&timeline.untimed));
    }
    vec![Block::Heading("Time".to_owned()), Block::Table(table), Block::Paragraph(text)]
}

/// Times between readings beside the plan.
pub(super) fn timing(list: &[Timing]) -> Vec<Block> {
    if list.is_empty() {
        return Vec::new();
    }
    let mut table = Table::new(&[
        ("from the last reading of", Align::Left),
        ("to that of", Align::Left),
        ("planned", Align::Left),
        ("went by", Align::Left),
    ]);
    for timing in list {
        table.push(vec![
            Cell::text(timing.from.clone()),
            Cell::text(timing.to.clone()),
            Cell::text(clock(&timing.planned)),
            Cell::text(offset(timing.found)),
        ]);
    }
    vec![Block::Heading("Time between readings".to_owned()), Block::Table(table)]
}

/// How full the vessel of a step is.
pub(super) fn vessel(filled: &FilledVessel) -> Block {
    let volume = number::interval(&filled.volume);
    let Some(capacity) = filled.capacity else {
        return Block::Paragraph(format!("In {}: {volume}.", filled.vessel));
    };
    let source = if filled.source == "estimated" { "an estimate" } else { "common practice" };
    Block::Paragraph(format!(
        "In {}: {volume} of {}; at most {} full, {} ({source}).",
        filled.vessel,
        number::unit(&number::significant(capacity, 4), "mL"),
        number::unit(&number::fixed(100.0 * filled.fraction, 0), "%"),
        filled.situation,
    ))
}

/// A time as hours and minutes, or its ends where they differ by a minute or more.
fn clock(time: &Interval) -> String {
    let (low, high) = (offset(time.low), offset(time.high));
    if low == high { low } else { format!("{low}{NO_BREAK}–{NO_BREAK}{high}") }
}

/// Minutes as hours and minutes: "2:05".
fn offset(minutes: f64) -> String {
    if !minutes.is_finite() {
        return "not known".to_owned();
    }
    let whole = minutes.abs().round();
    let hours = (whole / 60.0).floor();
    let sign = if minutes < 0.0 && whole > 0.0 { "\u{2212}" } else { "" };
    format!("{sign}{hours:.0}:{:02.0}", whole - 60.0 * hours)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn money_keeps_its_smaller_unit() {
        let money = |mean: f64, decimals: u8| {
            let exact = Interval {
                median: mean,
                mean,
                standard_uncertainty: 0.0,
                low: mean,
                high: mean,
                level: 0.9,
                lower_quartile: mean,
                upper_quartile: mean,
                unit: "EUR",
                basis: None,
            };
            money_bare(&exact, decimals)
        };
        let told = [money(24.0, 2), money(0.352_8, 2), money(0.004_9, 2), money(1200.4, 0), money(0.352, 0)];
        assert_eq!(told, ["24.00", "0.35", "0.0049", "1200", "0.35"]);
    }

    #[test]
    fn minutes_become_hours() {
        let told: Vec<String> = [0.0, 5.4, 59.7, 125.0, 1600.0, -61.0].map(offset).to_vec();
        assert_eq!(told, ["0:00", "0:05", "1:00", "2:05", "26:40", "\u{2212}1:01"]);
    }
}
