//! The bench sheet: what one run needs on paper, in ink, in the order in which it is needed.
//!
//! The order is that of practice: what is made and when to stop, hazards, materials, checks of the instruments, the steps
//! with what to expect and blanks beside it, weighings, forks, labels, remarks, waste, a closing check, the rule of
//! correction. Expected figures are those of the plan; a blank is never filled in by the program, even where the file
//! already holds the reading, because a sheet is for one run to come. Hazards follow the frame RAMP: recognise, assess,
//! minimise, prepare (R. H. Hill, D. C. Finster, Laboratory Safety for Chemistry Students; American Chemical Society).

mod closing;
mod steps;

use super::paper::Paper;
use super::references::References;
use super::{Align, Block, Cell, Document, Table, findings, listed, screening, sentence, words};
use crate::number;
use prep::outcome::{Finding, Interval, Plan, RunRecord, Severity};

/// Findings about series that were weighed already: no matter of a run to come.
const OF_SERIES: [&str; 3] = ["not-one-curve", "plateau-at-hydrate", "weighing-out-of-line"];

/// What a bench sheet is made of.
#[derive(Clone, Copy, Debug)]
pub struct Bench<'a> {
    /// What stands in the file.
    pub record: &'a RunRecord,
    /// Its plan.
    pub plan: &'a Plan,
    /// When the plan was frozen, if it is.
    pub frozen_at: Option<&'a str>,
    /// Address of the preparation's bench page.
    pub address: &'a str,
    /// Year, month, day of the sheet.
    pub date: (i32, u8, u8),
}

/// The bench sheet of a preparation.
#[must_use]
pub fn bench_sheet(bench: &Bench<'_>) -> Paper {
    let mut references = References::default();
    let mut blocks = beginning(bench);
    blocks.extend(frame(bench));
    blocks.extend(warnings(bench));
    blocks.extend(materials(bench));
    blocks.extend(checks(bench, &mut references));
    blocks.extend(steps::steps(bench));
    blocks.extend(closing::closing(bench));
    let mut known: Vec<&str> = bench.record.sources.clone();
    known.extend(
        bench.plan.screening.steps.iter().flat_map(|step| &step.substances).flat_map(|substance| &substance.sources),
    );
    let _ = references.cite_all(known);
    blocks.push(Block::Heading("Sources".to_owned()));
    blocks.extend(references.list());
    Paper {
        kicker: kicker(bench),
        subtitle: subtitle(bench.record),
        document: Document { title: bench.plan.title.clone(), blocks },
        foot: foot(bench),
        date: bench.date,
        small: false,
        attachments: Vec::new(),
    }
}

/// Kind of paper, run where the file names one, and version: day and plan.
fn kicker(bench: &Bench<'_>) -> String {
    let (year, month, day) = bench.date;
    let made = when(&format!("{year:04}-{month:02}-{day:02}"));
    let run = bench.record.run.as_ref().map_or_else(|| "one run".to_owned(), |run| format!("run {run}"));
    format!("Bench sheet of {run}. Version {made}, plan {}.", short(&bench.record.plan_hash))
}

fn subtitle(record: &RunRecord) -> String {
    match (&record.target, record.target_mass) {
        (Some(target), Some(mass)) => {
            format!("Wanted: {} {target}", number::unit(&number::plain(mass), "g"))
        }
        (Some(target), None) => format!("Wanted: {target}"),
        _ => String::new(),
    }
}

/// The foot of every page: which plan this is, and what it does not replace.
pub(super) fn foot(bench: &Bench<'_>) -> String {
    format!(
        "Plan {}, {}. Does not replace the supplier's safety data sheet, local rules or licensed practice.",
        short(&bench.record.plan_hash),
        frozen(bench)
    )
}

fn frozen(bench: &Bench<'_>) -> String {
    standing_of_plan(bench.record, bench.plan, bench.frozen_at)
}

/// Whether the plan of the file is the one that was frozen: "frozen 2 May 2026, 09:00".
pub(in crate::document) fn standing_of_plan(record: &RunRecord, plan: &Plan, frozen_at: Option<&str>) -> String {
    match (frozen_at, &plan.frozen) {
        (Some(at), Some(hash)) if *hash == record.plan_hash => format!("frozen {}", when(at)),
        (Some(at), Some(hash)) => format!("changed since {} was frozen {}", short(hash), when(at)),
        _ => "not frozen".to_owned(),
    }
}

/// The first characters of a hash in groups of four, enough to tell plans apart by eye.
pub(in crate::document) fn short(hash: &str) -> String {
    let characters: Vec<char> = hash.chars().take(12).collect();
    characters.chunks(4).map(|four| four.iter().collect::<String>()).collect::<Vec<_>>().join("\u{202f}")
}

/// A time of the file as people write it: "2 May 2026, 16:40"; as it stands where it is no such time.
pub(in crate::document) fn when(at: &str) -> String {
    const MONTHS: [&str; 12] = [
        "January",
        "February",
        "March",
        "April",
        "May",
        "June",
        "July",
        "August",
        "September",
        "October",
        "November",
        "December",
    ];
    let (date, time) = at.split_once(['T', ' ']).unwrap_or((at, ""));
    let parts: Vec<&str> = date.split('-').collect();
    let [year, month, day] = parts.as_slice() else { return at.to_owned() };
    let name = month.parse::<usize>().ok().and_then(|month| MONTHS.get(month.checked_sub(1)?));
    let (Some(name), Ok(day)) = (name, day.parse::<u8>()) else { return at.to_owned() };
    let nb = number::NO_BREAK;
    let clock: String = time.chars().take(5).collect();
    if clock.is_empty() { format!("{day}{nb}{name}{nb}{year}") } else { format!("{day}{nb}{name}{nb}{year}, {clock}") }
}

/// A blank with its name before it.
fn blanks(names: &[&str]) -> Block {
    let mut table = Table::new(&names.iter().map(|name| (*name, Align::Left)).collect::<Vec<_>>());
    table.push(names.iter().map(|_| Cell::Fill(String::new())).collect());
    Block::Table(table)
}

fn beginning(bench: &Bench<'_>) -> Vec<Block> {
    let product = bench.record.steps.last().and_then(|step| step.gives.last());
    let end = product.map_or_else(String::new, |lot| format!("The run ends with the last weighing of {lot}. "));
    vec![
        blanks(&["run", "date", "place", "who", "second person who knows"]),
        Block::Lead(vec![words(format!(
            "{end}Stop before that wherever a hold is not met, or a reading stays outside its range after a second look. Ranges hold 9 times in 10."
        ))]),
    ]
}

/// The four boxes: recognise, assess, minimise, prepare.
fn frame(bench: &Bench<'_>) -> Vec<Block> {
    let screening = &bench.plan.screening;
    let recognise = match screening.gravest.is_empty() {
        true => vec!["No caution for the steps and amounts listed.".to_owned()],
        false => screening.gravest.clone(),
    };
    let room = if screening.room_stated { "as stated" } else { "assumed" };
    let mut waste: Vec<String> = Vec::new();
    for caution in screening.steps.iter().flat_map(|step| &step.cautions) {
        if !caution.waste.is_empty() && !waste.contains(&caution.waste) {
            waste.push(caution.waste.clone());
        }
    }
    let mut prepare =
        vec![sentence(screening::PREPARE), "Emergency: ______________  Poison centre: ______________".to_owned()];
    prepare.extend(waste.into_iter().map(|jar| format!("Waste: {jar}")));
    let boxes = vec![
        ("Recognise".to_owned(), recognise),
        (
            "Assess".to_owned(),
            vec![
                format!(
                    "The worst that could happen is the first under “recognise”. Gases are reckoned in a closed room of {} ({room}).",
                    number::unit(&number::significant(screening.room, 3), "m³")
                ),
                "Likely here? ______________________________".to_owned(),
            ],
        ),
        ("Minimise".to_owned(), vec![sentence(&screening::minimise(screening))]),
        ("Prepare".to_owned(), prepare),
    ];
    let mut blocks = vec![Block::Heading("Hazards first".to_owned()), Block::Boxes(boxes)];
    blocks.extend(screening::charged(screening));
    blocks.push(Block::Paragraph(
        "Frame RAMP: recognise, assess, minimise, prepare; R. H. Hill, D. C. Finster, American Chemical Society. A statement is for the substance as such, or for a mixture of the strength that is named with it."
            .to_owned(),
    ));
    blocks
}

/// What the plan finds wrong, before anything is weighed; cautions stand with their steps.
fn warnings(bench: &Bench<'_>) -> Vec<Block> {
    let grave = |finding: &&Finding| matches!(finding.severity, Severity::Error | Severity::Warning);
    let ahead = |finding: &&Finding| !OF_SERIES.contains(&finding.code);
    let told: Vec<Finding> = bench.plan.findings.iter().filter(grave).filter(ahead).cloned().collect();
    match told.is_empty() {
        true => Vec::new(),
        false => {
            let heading = Block::Heading("Wrong in the plan: mend it before you begin".to_owned());
            std::iter::once(heading).chain(findings::section(&told).into_iter().skip(1)).collect()
        }
    }
}

/// What to weigh out, with blanks.
fn materials(bench: &Bench<'_>) -> Vec<Block> {
    let mut blocks = vec![Block::Heading("Materials, as sold".to_owned())];
    if !bench.plan.screening.withheld.is_empty() {
        blocks.extend(
            bench.plan.screening.withheld.iter().map(|why| Block::Paragraph(format!("No weighing list: {why}."))),
        );
        return blocks;
    }
    let mut table = Table::new(&[
        ("supply", Align::Left),
        ("label and content", Align::Left),
        ("lot no.", Align::Left),
        ("for step", Align::Left),
        ("weigh, g", Align::Point),
        ("tare", Align::Left),
        ("weighed", Align::Left),
    ]);
    for line in &bench.plan.weigh_out {
        let supply = bench.record.supplies.iter().find(|supply| supply.name == line.supply);
        let stated: Vec<String> = supply
            .map(|supply| {
                supply.stated.iter().map(|(field, value)| format!("{field} {}", number::tied(value))).collect()
            })
            .unwrap_or_default();
        let label = if line.label.is_empty() { "no label" } else { &line.label };
        let mut content = vec![label.to_owned()];
        content.extend((!stated.is_empty()).then(|| stated.join(", ")));
        content
            .extend(line.elements.iter().map(|(element, mass)| format!("brings {} {element}", number::interval(mass))));
        table.push(vec![
            Cell::text(line.supply.clone()),
            Cell::text(content.join("; ")),
            Cell::Fill(String::new()),
            Cell::text(line.step.clone()),
            Cell::text(tolerance(&line.amount)),
            Cell::Fill("g".to_owned()),
            Cell::Fill("g".to_owned()),
        ]);
    }
    match table.rows.is_empty() {
        true => blocks.push(Block::Paragraph("None.".to_owned())),
        false => blocks.push(Block::Table(table)),
    }
    blocks
}

/// A charge with the tolerance that the plan counts on.
fn tolerance(amount: &Interval) -> String {
    let half = 0.5 * (amount.high - amount.low);
    match half > 0.0 && half.is_finite() {
        true => {
            // Both to the same place.
            let half = number::significant(half, 1);
            let places = half.split_once('.').map_or(0, |(_, after)| after.len());
            let mass = number::fixed(amount.median, i32::try_from(places).unwrap_or(0));
            format!("{mass}{nb}±{nb}{half}", nb = number::NO_BREAK)
        }
        false => super::plan::charge(amount),
    }
}

/// What is to be checked before anything is weighed.
fn checks(bench: &Bench<'_>, references: &mut References) -> Vec<Block> {
    let mut table = Table::new(&[
        ("instrument", Align::Left),
        ("what the plan counts on", Align::Left),
        ("check against", Align::Left),
        ("shown", Align::Left),
    ]);
    for balance in &bench.record.balances {
        let mut counted = vec![words(format!(
            "step {}, repeats to {}, slope to {}, up to {}",
            number::unit(&number::plain(balance.resolution), "g"),
            number::unit(&number::plain(balance.repeatability), "g"),
            number::unit(&number::significant(100.0 * balance.slope, 2), "%"),
            number::unit(&number::plain(balance.capacity), "g"),
        ))];
        counted.extend(references.cite_all(balance.sources.iter().copied()));
        table.push(vec![
            Cell::text(balance.name.clone()),
            Cell::Line(counted),
            Cell::Fill("g check mass".to_owned()),
            Cell::Fill("g".to_owned()),
        ]);
    }
    for ware in &bench.record.ware {
        let mut counted =
            vec![words(format!("{} at most {} off", ware.kind, number::unit(&number::plain(ware.error), "mL")))];
        counted.extend(references.cite_all([ware.source]));
        table.push(vec![
            Cell::text(ware.name.clone()),
            Cell::Line(counted),
            Cell::text("clean, runs off evenly"),
            Cell::Fill(String::new()),
        ]);
    }
    if bench.record.steps.iter().any(|step| step.temperature.is_some()) {
        table.push(vec![
            Cell::text("thermometer"),
            Cell::text("0 °C and the boiling point of the place"),
            Cell::text("ice, boiling water"),
            Cell::Fill("°C, °C".to_owned()),
        ]);
    }
    if bench.record.steps.iter().any(|step| step.action == "adjust pH") {
        table.push(vec![
            Cell::text("pH paper or meter"),
            Cell::text("two buffers about the wanted pH"),
            Cell::Fill("buffers".to_owned()),
            Cell::Fill(String::new()),
        ]);
    }
    let vessels: Vec<String> = bench.record.vessels.iter().map(|(name, _)| name.clone()).collect();
    let mut blocks = vec![Block::Heading("Equipment and checks".to_owned())];
    if !table.rows.is_empty() {
        blocks.push(Block::Table(table));
    }
    blocks.push(Block::Paragraph(format!("Vessels: {}.", listed(&vessels))));
    blocks
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn times_are_told_as_people_write_them() {
        assert_eq!(when("2026-05-02T16:40:00"), "2\u{a0}May\u{a0}2026, 16:40");
        assert_eq!(when("2026-05-02"), "2\u{a0}May\u{a0}2026");
        assert_eq!(when("yesterday"), "yesterday");
        assert_eq!(short("a1f39c075be241d8"), "a1f3\u{202f}9c07\u{202f}5be2");
    }
}
