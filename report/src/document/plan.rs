//! The plan as a page: the procedure down the page, cautions first, expected readings beside what was found.

use super::{Align, Block, Cell, Document, Table, findings, resources, screening, standing};
use crate::number;
use crate::strip::{Mark, Scale, Strip};
use prep::outcome::{Expectation, Feed, HoldPoint, Interval, Plan, PlannedStep};

/// The plan of a preparation.
#[must_use]
pub fn plan_document(plan: &Plan) -> Document {
    let mut blocks = vec![Block::Claim(frozen(plan))];
    blocks.extend(screening::section(&plan.screening));
    blocks.extend(feed(plan.feed.as_ref()));
    blocks.extend(weighing_list(plan));
    blocks.extend(resources::stock(&plan.stock));
    blocks.extend(resources::cost(plan.cost.as_ref()));
    blocks.extend(limiting(plan));
    blocks.extend(water(plan));
    blocks.extend(resources::timeline(plan.timeline.as_ref()));
    blocks.push(Block::Heading("Procedure".to_owned()));
    if plan.steps.is_empty() {
        blocks.push(Block::Paragraph("None: the file has no steps.".to_owned()));
    }
    for (index, step) in plan.steps.iter().enumerate() {
        let holds = plan.screening.steps.get(index).map_or(&[][..], |screened| &screened.holds);
        blocks.extend(self::step(index + 1, step, holds));
    }
    blocks.extend(super::waste::section(&plan.waste));
    blocks.extend(findings::section(&plan.findings));
    blocks.extend(standing::standing());
    Document { title: format!("Plan: {}", plan.title), blocks }
}

fn frozen(plan: &Plan) -> String {
    match &plan.frozen {
        Some(hash) => format!("Frozen plan {}. Intervals hold 9 times in 10.", short(hash)),
        None => "Not frozen: freeze it before the first weighing. Intervals hold 9 times in 10.".to_owned(),
    }
}

/// The first characters of a hash, enough to tell plans apart by eye.
fn short(hash: &str) -> String {
    hash.chars().take(12).collect()
}

fn feed(feed: Option<&Feed>) -> Vec<Block> {
    let Some(feed) = feed else { return Vec::new() };
    vec![
        Block::Heading("Feed".to_owned()),
        Block::Paragraph(format!(
            "For {}: {} {} reaches it with a chance of {}. Even odds need {}.",
            feed.target,
            number::unit(&number::significant(feed.for_chance, 4), feed.amount.unit),
            feed.supply,
            number::chance(feed.chance),
            number::unit(&number::significant(feed.amount.median, 4), feed.amount.unit),
        )),
    ]
}

fn weighing_list(plan: &Plan) -> Vec<Block> {
    let mut blocks = vec![Block::Heading("Weigh out, as sold".to_owned())];
    if plan.weigh_out.is_empty() {
        blocks.push(Block::Paragraph("None.".to_owned()));
        return blocks;
    }
    let mut table = Table::new(&[
        ("supply", Align::Left),
        ("weigh, g", Align::Point),
        ("9 in 10", Align::Point),
        ("for step", Align::Left),
        ("label", Align::Left),
    ]);
    for line in &plan.weigh_out {
        let label = if line.label.is_empty() { "none" } else { &line.label };
        table.push(vec![
            Cell::text(line.supply.clone()),
            Cell::text(charge(&line.amount)),
            Cell::text(number::interval_bare(&line.amount)),
            Cell::text(line.step.clone()),
            Cell::text(label),
        ]);
    }
    blocks.push(Block::Table(table));
    blocks
}

/// A charge with the digits it was planned with: a written charge is known to half its last digit, so its 90 % is
/// nine tenths of that digit wide.
pub(super) fn charge(amount: &Interval) -> String {
    let place = ((amount.high - amount.low) / amount.level).log10();
    if !place.is_finite() {
        return number::significant(amount.median, 5);
    }
    #[expect(clippy::cast_possible_truncation, reason = "a power of ten of a finite double is far inside i32")]
    let decimals = -place.round() as i32;
    number::fixed(amount.median, decimals)
}

fn limiting(plan: &Plan) -> Vec<Block> {
    let mut blocks = vec![Block::Heading("What limits".to_owned())];
    if plan.limiting.is_empty() {
        blocks.push(Block::Paragraph("None: no step lists a reaction.".to_owned()));
        return blocks;
    }
    let mut table = Table::new(&[
        ("step", Align::Left),
        ("reagent", Align::Left),
        ("limits with", Align::Point),
        ("reaches, % of the need", Align::Point),
    ]);
    let mut last: Option<(&str, &str)> = None;
    for line in &plan.limiting {
        let here = (line.step.as_str(), line.reaction.as_str());
        let step = if last == Some(here) { Cell::blank() } else { Cell::text(line.step.clone()) };
        last = Some(here);
        table.push(vec![
            step,
            Cell::text(line.reagent.clone()),
            Cell::text(number::chance(line.probability)),
            Cell::text(number::interval_bare(&line.reach)),
        ]);
    }
    blocks.push(Block::Table(table));
    blocks
}

fn water(plan: &Plan) -> Vec<Block> {
    let mut table = Table::new(&[("water", Align::Left), ("g", Align::Point)]);
    let lines: [(&str, &Interval); 3] = [
        ("charged as such", &plan.water.charged),
        ("carried in by hydrates", &plan.water.from_hydrates),
        ("together", &plan.water.total),
    ];
    for (name, amount) in lines {
        table.push(vec![Cell::text(name), Cell::text(number::interval_bare(amount))]);
    }
    table.total = true;
    vec![Block::Heading("Water".to_owned()), Block::Table(table)]
}

fn step(index: usize, step: &PlannedStep, holds: &[HoldPoint]) -> Vec<Block> {
    let mut blocks = vec![Block::Subheading(format!("{index}  {} ({})", super::sentence(&step.name), step.action))];
    blocks.extend(step.cautions.iter().map(|caution| Block::Caution(caution.clone())));
    if !step.instruction.is_empty() {
        blocks.push(Block::Paragraph(step.instruction.clone()));
    }
    blocks.extend(screening::holds(holds));
    blocks.extend(step.vessel.iter().map(resources::vessel));
    blocks.extend(step.solution.iter().flat_map(super::step_solution::section));
    let (masses, others): (Vec<&Expectation>, Vec<&Expectation>) = step.expects.iter().partition(|e| is_mass(e));
    if !masses.is_empty() {
        blocks.push(Block::Table(readings(&masses)));
    }
    if !others.is_empty() {
        blocks.push(Block::Table(tests(&others)));
    }
    blocks.extend(amounts("Gives", &step.gives));
    blocks.extend(amounts("Lets off", &step.vents));
    blocks
}

fn amounts(word: &str, pairs: &[(String, Interval)]) -> Option<Block> {
    let parts: Vec<String> =
        pairs.iter().map(|(name, amount)| format!("{name} {}", number::interval(amount))).collect();
    (!parts.is_empty()).then(|| Block::Paragraph(format!("{word}: {}.", parts.join(", "))))
}

/// Whether a reading is one of a balance. Tests say in their name what they are of.
fn is_mass(expectation: &Expectation) -> bool {
    match &expectation.interval {
        Some(interval) => interval.unit == "g",
        None => !expectation.what.contains(" of ") || expectation.what.starts_with("charge of "),
    }
}

/// Tests of portions, each with its unit.
fn tests(expects: &[&Expectation]) -> Table {
    let mut table = Table::new(&[
        ("test", Align::Left),
        ("what", Align::Left),
        ("expected", Align::Left),
        ("found", Align::Left),
        ("", Align::Left),
    ]);
    for expectation in expects {
        let expected = expectation.interval.as_ref().map_or_else(|| "yes or no".to_owned(), number::interval);
        table.push(vec![
            Cell::text(expectation.reading.clone()),
            Cell::text(expectation.what.clone()),
            Cell::text(expected),
            Cell::text(expectation.displayed.clone().unwrap_or_default()),
            Cell::text(if expectation.interval.is_some() { verdict(expectation) } else { String::new() }),
        ]);
    }
    table
}

fn readings(expects: &[&Expectation]) -> Table {
    let mut table = Table::new(&[
        ("reading", Align::Left),
        ("what", Align::Left),
        ("expected, g", Align::Point),
        ("found, g", Align::Point),
        ("", Align::Strip),
        ("", Align::Left),
    ]);
    for expectation in expects {
        let found = expectation.displayed.as_deref().map_or("", |text| text.trim_end_matches(" g")).to_owned();
        let expected = expectation.interval.as_ref().map_or_else(|| "any".to_owned(), number::interval_bare);
        table.push(vec![
            Cell::text(expectation.reading.clone()),
            Cell::text(expectation.what.clone()),
            Cell::text(expected),
            Cell::text(found_cell(expectation, found)),
            expectation.interval.as_ref().map_or_else(Cell::blank, |interval| strip(interval, expectation.found)),
            Cell::text(verdict(expectation)),
        ]);
    }
    table
}

/// The figure as written, and what it is above the empty vessel where that is expected.
fn found_cell(expectation: &Expectation, written: String) -> String {
    let above = expectation.interval.as_ref().and_then(|i| i.basis.as_deref()).is_some_and(|b| b.starts_with("above"));
    match (expectation.found, above) {
        (Some(net), true) => {
            let decimals = written.split('.').nth(1).map_or(0, str::len);
            number::fixed(net, i32::try_from(decimals).unwrap_or(3))
        }
        _ => written,
    }
}

fn strip(interval: &Interval, found: Option<f64>) -> Cell {
    let marks = found.map(Mark::Found).into_iter().collect();
    Cell::Strip(Strip { interval: Some(interval.clone()), scale: Scale::own(interval), marks })
}

/// "inside", or by how much it is outside.
fn verdict(expectation: &Expectation) -> String {
    let (Some(interval), Some(found)) = (&expectation.interval, expectation.found) else { return String::new() };
    let (distance, word) = if found < interval.low {
        (interval.low - found, "under")
    } else if found > interval.high {
        (found - interval.high, "over")
    } else {
        return "inside".to_owned();
    };
    format!("outside, {} {word}", number::unit(&number::significant(distance, 2), interval.unit))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_charge_keeps_the_digits_it_was_written_with() {
        let written = |value: f64, half_digit: f64| Interval {
            median: value,
            mean: value,
            standard_uncertainty: half_digit / 3f64.sqrt(),
            low: value - 0.9 * half_digit,
            high: value + 0.9 * half_digit,
            level: 0.9,
            lower_quartile: value,
            upper_quartile: value,
            unit: "g",
            basis: None,
        };
        assert_eq!(charge(&written(10.0, 0.005)), "10.00");
        assert_eq!(charge(&written(100.0, 0.05)), "100.0");
        assert_eq!(charge(&written(126.0, 0.5)), "126");
        assert_eq!(charge(&written(0.25, 0.0)), "0.25");
    }
}
