//! How hot it gets and what gas comes off, as pages.

use super::{Align, Block, Cell, Document, Table, findings, standing};
use crate::number;
use prep::outcome::{AdiabaticAnswer, BatchAnswer, GasAnswer, HeatAnswer, SubstanceHazard, SweepAnswer, Taken};

fn with_unit(value: f64, digits: usize, unit: &str) -> String {
    number::unit(&number::significant(value, digits), unit)
}

fn taken(list: &[Taken]) -> String {
    let one = |t: &Taken| format!("{} {}", with_unit(t.mass, 4, "g"), t.species);
    list.iter().map(one).collect::<Vec<_>>().join(", ")
}

fn row(table: &mut Table, name: &str, value: f64, digits: usize, unit: &str) {
    table.push(vec![Cell::text(name), Cell::text(number::significant(value, digits)), Cell::text(unit)]);
}

fn figures() -> Table {
    Table::new(&[("", Align::Left), ("value", Align::Point), ("unit", Align::Left)])
}

/// The heat of weighed reagents as a page.
#[must_use]
pub fn heat_question_document(answer: &HeatAnswer) -> Document {
    let verb = if answer.heat.value >= 0.0 { "releases" } else { "takes up" };
    let heat = number::with_uncertainty(answer.heat.value.abs(), answer.heat.standard_uncertainty);
    let mut blocks = vec![
        Block::Claim(format!("{} {verb} {}.", taken(&answer.taken), number::unit(&heat, "kJ"))),
        Block::Paragraph(format!(
            "{}, run {} times by mole until {} runs out.",
            answer.equation,
            number::significant(answer.extent, 3),
            answer.limiting
        )),
    ];
    if let Some(each) = &answer.heat_per_gram {
        blocks.push(Block::Paragraph(format!("For each gram of what reacts: {}.", number::figure(each))));
    }
    blocks.extend(answer.batch.as_ref().map(batch).into_iter().flatten());
    if let Some(added) = &answer.addition {
        blocks.push(Block::Heading("How fast it may be added".to_owned()));
        blocks.push(Block::Paragraph(format!(
            "{} of cooling keeps up with {} of {}: all of it takes {} or more. What gathers unreacted is heat to come: stop if it does not warm as it should.",
            with_unit(added.cooling, 3, "W"),
            with_unit(added.rate, 2, "g/min"),
            added.species,
            with_unit(added.minutes, 2, "min")
        )));
    }
    blocks.extend(answer.adiabatic.as_ref().map(adiabatic).into_iter().flatten());
    blocks.extend(hazards(&answer.hazards));
    blocks.extend(findings::section(&answer.findings));
    blocks.push(Block::Paragraph(
        "Heat of reaction at 25 °C, all of it at once and none of it lost to vessel or room: hotter than it will be. What is added holds 1 kJ/(kg K), common practice."
            .to_owned(),
    ));
    blocks.extend(standing::standing());
    Document { title: "Heat of an addition".to_owned(), blocks }
}

/// The statements of what takes part.
fn hazards(list: &[SubstanceHazard]) -> Vec<Block> {
    if list.is_empty() {
        return Vec::new();
    }
    let one = |hazard: &SubstanceHazard| {
        let said: Vec<String> = hazard.statements.iter().map(|(code, phrase)| format!("{code} {phrase}")).collect();
        let signal = hazard.signal.map_or(String::new(), |signal| format!("{signal}: "));
        format!("{}: {signal}{}.", hazard.substance, said.join("; "))
    };
    vec![Block::Heading("Hazards of what takes part".to_owned()), Block::List(list.iter().map(one).collect())]
}

fn batch(batch: &BatchAnswer) -> Vec<Block> {
    let mut table = figures();
    row(&mut table, "liquid", batch.mass, 4, "g");
    row(&mut table, "its heat capacity", batch.heat_capacity, 3, "kJ/(kg K)");
    row(&mut table, "from", batch.from, 3, "°C");
    row(&mut table, "rise, if nothing boiled", batch.rise, 3, "K");
    row(&mut table, "reached", batch.reached, 3, "°C");
    if batch.boiled_off > 0.0 {
        row(&mut table, "boiled off", batch.boiled_off, 3, "g");
    }
    if batch.left > 0.0 {
        row(&mut table, "heat left when all is boiled off", batch.left, 3, "kJ");
    }
    vec![Block::Heading("In the liquid".to_owned()), Block::Table(table)]
}

fn adiabatic(found: &AdiabaticAnswer) -> Vec<Block> {
    let held = if found.held { ", held there by what melts or boils" } else { "" };
    let mut table = Table::new(&[("what is there", Align::Left), ("share of it", Align::Point), ("mol", Align::Point)]);
    for (form, share, amount) in &found.products {
        table.push(vec![
            Cell::text(form.clone()),
            Cell::text(format!("{} %", number::significant(100.0 * share, 3))),
            Cell::text(number::significant(*amount, 3)),
        ]);
    }
    vec![
        Block::Heading("If nothing cools it".to_owned()),
        Block::Paragraph(format!(
            "{}{held}; {} of gas. Products as written and nothing else: what comes apart at that heat makes it cooler, and gives more gas.",
            number::unit(&number::fixed(found.temperature, 0), "°C"),
            with_unit(found.gas_per_gram, 2, "mmol/g")
        )),
        Block::Table(table),
    ]
}

/// The gas of weighed reagents as a page.
#[must_use]
pub fn gas_question_document(answer: &GasAnswer) -> Document {
    let mut blocks = Vec::new();
    if answer.gases.is_empty() {
        blocks.extend(answer.sweep.as_ref().map(|sweep| Block::Claim(sweep_claim(sweep))));
    } else {
        blocks.extend(gases(answer));
        if let Some(sweep) = &answer.sweep {
            blocks.push(Block::Heading("Is the air out of the tube".to_owned()));
            blocks.push(Block::Paragraph(sweep_claim(sweep)));
        }
    }
    blocks.extend(hazards(&answer.hazards));
    blocks.extend(findings::section(&answer.findings));
    blocks.push(Block::Paragraph(
        "Ideal gases, mixed evenly; nothing dissolved or lost on the way. Close to the source there is more. Limits are those of healthy adults at work, not of a home."
            .to_owned(),
    ));
    blocks.extend(standing::standing());
    Document { title: "Gas that comes off".to_owned(), blocks }
}

fn gases(answer: &GasAnswer) -> Vec<Block> {
    let rate = answer.rate.map_or(String::new(), |rate| format!(", {}", with_unit(rate, 3, "L/min")));
    let from = if answer.taken.is_empty() { String::new() } else { format!("{} gives ", taken(&answer.taken)) };
    let mut blocks = vec![Block::Claim(format!(
        "{from}{} of gas at {} and 101.325 kPa{rate}.",
        with_unit(answer.litres, 4, "L"),
        with_unit(answer.temperature, 3, "°C")
    ))];
    if let (Some(equation), Some(limiting)) = (&answer.equation, &answer.limiting) {
        blocks.push(Block::Paragraph(format!("{equation}, until {limiting} runs out.")));
    }
    let airing = answer.gases.iter().any(|gas| gas.airing.is_some());
    let mut heads = vec![
        ("gas", Align::Left),
        ("mol", Align::Point),
        ("L", Align::Point),
        ("ppm in the room", Align::Point),
        ("mg/m³", Align::Point),
        ("lowest limit, ppm", Align::Point),
        ("air to thin it, m³", Align::Point),
    ];
    if airing {
        heads.push(("airing, min", Align::Point));
    }
    let mut table = Table::new(&heads);
    for gas in &answer.gases {
        let optional = |value: Option<f64>| value.map_or("–".to_owned(), |value| number::significant(value, 3));
        table.push(vec![
            Cell::text(gas.formula.clone()),
            Cell::text(number::significant(gas.amount, 3)),
            Cell::text(number::significant(gas.litres, 4)),
            Cell::text(number::significant(gas.ppm, 3)),
            Cell::text(number::significant(gas.mass_concentration, 3)),
            Cell::text(
                gas.limits
                    .first()
                    .map_or("–".to_owned(), |(value, words)| format!("{} ({words})", number::significant(*value, 3))),
            ),
            Cell::text(optional(gas.thinning_air)),
            Cell::text(optional(gas.airing)),
        ]);
    }
    blocks.push(Block::Table(table));
    let stated = if answer.room_stated { "as stated" } else { "assumed; state it with --room" };
    let aired = answer.air_changes.map_or("not aired".to_owned(), |changes| {
        format!(
            "aired {} times an hour once the gas is out: the concentrations are those before it",
            number::significant(changes, 3)
        )
    });
    blocks.push(Block::Paragraph(format!("Room of {}, {stated}, {aired}.", with_unit(answer.room, 3, "m³"))));
    if let Some((free, bar)) = answer.closed {
        blocks.push(Block::Caution(format!(
            "Never close it: over {} of free space it would come to {} above the air.",
            with_unit(free, 3, "mL"),
            with_unit(bar, 3, "bar")
        )));
    }
    blocks
}

fn sweep_claim(sweep: &SweepAnswer) -> String {
    let needed = format!(
        "A vessel of {} needs {} volumes of inert gas for {} of oxygen or less{}.",
        with_unit(sweep.volume, 3, "L"),
        number::significant(sweep.needed, 3),
        with_unit(sweep.target, 2, "%"),
        sweep.minutes.map_or(String::new(), |minutes| format!(", {} at this flow", with_unit(minutes, 3, "min")))
    );
    match (sweep.swept, sweep.oxygen_left) {
        (Some(swept), Some(left)) => format!(
            "{needed} So far {} volumes went through and leave {}: {}.",
            number::significant(swept, 2),
            with_unit(left, 2, "% oxygen"),
            if swept >= sweep.needed { "the air is out" } else { "the air is not out, do not heat" }
        ),
        _ => needed,
    }
}
