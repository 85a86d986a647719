//! What crystallises, and what washings leave.

use super::{Align, Block, Cell, Document, Table, findings, standing};
use crate::number;
use prep::outcome::{CrystalliseAnswer, WashAnswer};

fn grams(value: f64) -> String {
    number::unit(&number::fixed(value, if value.abs() < 10.0 { 2 } else { 1 }), "g")
}

fn degrees(value: f64) -> String {
    number::unit(&number::significant(value, 3), "°C")
}

/// A crystallisation as a page.
#[must_use]
pub fn crystallise_document(answer: &CrystalliseAnswer) -> Document {
    let mut blocks = vec![Block::Claim(claim(answer))];
    blocks.push(Block::Heading("Where salt and water go".to_owned()));
    blocks.push(Block::Table(balance(answer)));
    if answer.first.crystals.mean > 0.0 {
        let follows = if answer.first.water > 0.0 {
            "; crystals with water take it out of the liquor, and more follows"
        } else {
            "; these crystals take no water along"
        };
        let naive = grams(answer.naive);
        blocks.push(Block::Paragraph(format!(
            "The difference of solubilities alone is {naive} of {}{follows}.",
            answer.salt
        )));
    }
    blocks.extend(second(answer));
    blocks.extend(solvent(answer));
    blocks.extend(impurity(answer));
    blocks.extend(findings::section(&answer.findings));
    blocks.push(Block::Paragraph(format!(
        "± is one standard uncertainty; a range holds 9 times in 10. Solubilities {} and {} g of {} in 100 g of water, each good to 3 %. Supersaturated liquors give less, or later; other salts shift solubilities. Source: {}.",
        number::significant(answer.solubilities.0, 4),
        number::significant(answer.solubilities.1, 4),
        answer.salt,
        answer.sources.join("; ")
    )));
    blocks.extend(standing::standing());
    Document { title: format!("Crystals of {}", answer.first.solid), blocks }
}

fn claim(answer: &CrystalliseAnswer) -> String {
    let way = format!("from {} to {}", degrees(answer.from), degrees(answer.to));
    if answer.first.set_solid {
        return format!("All of it sets solid {way}.");
    }
    if answer.first.crystals.mean <= 0.0 {
        return format!("Nothing crystallises {way}.");
    }
    format!(
        "{} of {} {way}, {} % of the salt.",
        number::mean(&answer.first.crystals),
        answer.first.solid,
        number::fixed(answer.first.yield_percent, 0)
    )
}

fn balance(answer: &CrystalliseAnswer) -> Table {
    let mut table = Table::new(&[
        ("", Align::Left),
        (&format!("{}, g", answer.salt), Align::Point),
        ("water, g", Align::Point),
        ("together, g", Align::Point),
    ]);
    let mut row = |name: &str, salt: f64, water: f64| {
        table.push(vec![
            Cell::text(name),
            Cell::text(number::fixed(salt, 2)),
            Cell::text(number::fixed(water, 2)),
            Cell::text(number::fixed(salt + water, 2)),
        ]);
    };
    row("at the start", answer.start_salt, answer.start_water);
    if answer.evaporated > 0.0 {
        row("boiled off", 0.0, answer.evaporated);
    }
    let crop = &answer.first;
    row(&format!("crystals, {}", crop.solid), crop.salt, crop.water);
    row("liquor", crop.liquor_salt, crop.liquor_water);
    if let Some(second) = &answer.second {
        row("boiled off for the second crop", 0.0, crop.liquor_water - second.water - second.liquor_water);
        row(&format!("second crop, {}", second.solid), second.salt, second.water);
        row("last liquor", second.liquor_salt, second.liquor_water);
    }
    table
}

fn second(answer: &CrystalliseAnswer) -> Vec<Block> {
    let Some(second) = &answer.second else { return Vec::new() };
    vec![Block::Paragraph(format!(
        "Second crop: {} of {}. {}",
        number::mean(&second.crystals),
        second.solid,
        concentrated(answer.start_water / second.liquor_water)
    ))]
}

/// How much what stays dissolved has been concentrated.
fn concentrated(factor: f64) -> String {
    if !factor.is_finite() {
        return "No liquor is left to hold what does not crystallise.".to_owned();
    }
    format!("What does not crystallise is {} times as concentrated as at the start.", number::significant(factor, 2))
}

fn solvent(answer: &CrystalliseAnswer) -> Vec<Block> {
    let at = degrees(answer.from);
    let least = format!("Least water in all that it dissolves in at {at}: {}.", grams(answer.least_water));
    let until = if answer.until_crystals > 0.005 {
        format!("Boil off {} at {at} until the first crystals show.", grams(answer.until_crystals))
    } else {
        format!("At {at} it is saturated: any water boiled off brings crystals.")
    };
    let liquor = concentrated(answer.start_water / answer.first.liquor_water);
    vec![Block::Heading("Water".to_owned()), Block::List(vec![least, until, liquor])]
}

fn impurity(answer: &CrystalliseAnswer) -> Vec<Block> {
    let Some(impurity) = &answer.impurity else { return Vec::new() };
    vec![
        Block::Heading("What clings".to_owned()),
        Block::Paragraph(format!(
            "{} of the {} of {} comes with the liquor on the crystals; dried, they are {} % pure before any washing.",
            grams(impurity.in_crystals),
            grams(impurity.total),
            impurity.substance,
            number::fixed(impurity.purity_percent, 2)
        )),
    ]
}

/// Washings as a page.
#[must_use]
pub fn wash_document(answer: &WashAnswer) -> Document {
    let mut blocks = vec![Block::Claim(wash_claim(answer))];
    blocks.extend(washes(answer));
    blocks.extend(plans(answer));
    if let Some(lost) = answer.lost {
        blocks.push(Block::Paragraph(format!(
            "The washes take at most {} of product along, if each drains saturated.",
            number::unit(&number::significant(lost, 2), "mg")
        )));
    }
    blocks.extend(findings::section(&answer.findings));
    blocks.push(Block::Paragraph(format!(
        "Held liquor {} ({}); mixing efficiency {}. Each wash is taken to drain down to the same held liquor.",
        number::mean(&answer.held),
        answer.held_from,
        number::plain(answer.efficiency)
    )));
    blocks.extend(standing::standing());
    Document { title: format!("Washing out {}", answer.of), blocks }
}

fn wash_claim(answer: &WashAnswer) -> String {
    if let Some((share, mass, percent)) = answer.washes.last() {
        let count = answer.washes.len();
        let volume = number::unit(&number::significant(answer.volume.unwrap_or(0.0), 3), "mL");
        let left = match (mass, percent) {
            (Some(mass), Some(percent)) => format!(
                "{}, {} % of the product",
                number::unit(&number::significant(*mass, 2), "mg"),
                number::significant(*percent, 2)
            ),
            (Some(mass), None) => number::unit(&number::significant(*mass, 2), "mg"),
            _ => format!("{} % of what the liquor held", number::significant(100.0 * share, 2)),
        };
        let one = answer.in_one.map_or(String::new(), |(share, mass)| {
            let in_one = mass.map_or_else(
                || format!("{} %", number::significant(100.0 * share, 2)),
                |mass| number::unit(&number::significant(mass, 2), "mg"),
            );
            format!("; the same water in one wash leaves {in_one}")
        });
        return format!("{count} × {volume} leave {left}{one}.");
    }
    match &answer.best {
        Some(plan) => {
            format!("{} × {} reach the goal.", plan.count, number::unit(&number::significant(plan.volume, 2), "mL"))
        }
        None => format!("The cake holds {} of liquor.", number::mean(&answer.held)),
    }
}

fn washes(answer: &WashAnswer) -> Vec<Block> {
    if answer.washes.is_empty() {
        return Vec::new();
    }
    let mut table = Table::new(&[
        ("wash", Align::Point),
        ("left, %", Align::Point),
        ("left, mg", Align::Point),
        ("of the product, %", Align::Point),
    ]);
    let told = |value: Option<f64>| value.map_or_else(|| "not known".to_owned(), |v| number::significant(v, 3));
    for (place, (share, mass, percent)) in answer.washes.iter().enumerate() {
        table.push(vec![
            Cell::text((place + 1).to_string()),
            Cell::text(number::significant(100.0 * share, 3)),
            Cell::text(told(*mass)),
            Cell::text(told(*percent)),
        ]);
    }
    vec![Block::Heading("After each wash".to_owned()), Block::Table(table)]
}

fn plans(answer: &WashAnswer) -> Vec<Block> {
    let Some(target) = answer.target else { return Vec::new() };
    let mut table = Table::new(&[
        ("washes", Align::Point),
        ("mL each", Align::Point),
        ("mL in all", Align::Point),
        ("product lost, mg", Align::Point),
        ("", Align::Left),
    ]);
    for plan in &answer.plans {
        let chosen = answer.best.as_ref().is_some_and(|best| best.count == plan.count);
        table.push(vec![
            Cell::text(plan.count.to_string()),
            Cell::text(number::fixed(plan.volume, 0)),
            Cell::text(number::fixed(plan.total, 0)),
            Cell::text(plan.lost.map_or_else(|| "not known".to_owned(), |lost| number::significant(lost, 2))),
            Cell::text(if chosen { "one more saves less than a tenth of the water" } else { "" }),
        ]);
    }
    vec![
        Block::Heading(format!("To leave {} % of what the liquor held", number::significant(100.0 * target, 2))),
        Block::Table(table),
    ]
}
