//! Waste on the page: what is in a litre, what takes it out, the label.

use super::Align;
use super::{Block, Cell, Table};
use crate::number;
use prep::outcome::{WasteStream, WasteTreatment};

/// The section on waste; none where nothing goes to waste.
pub(super) fn section(streams: &[WasteStream]) -> Vec<Block> {
    if streams.is_empty() {
        return Vec::new();
    }
    let mut blocks = vec![Block::Heading("Waste".to_owned())];
    for stream in streams {
        blocks.extend(told(stream));
    }
    blocks.push(Block::Paragraph(
        "Figures are derived for the planned amounts; what the goods hold besides is not known. Which limit holds is the \
         matter of the town: check it, and test what you let go."
            .to_owned(),
    ));
    blocks
}

fn told(stream: &WasteStream) -> Vec<Block> {
    let ph = stream.ph.map_or(String::new(), |ph| format!(", pH {ph:.1}"));
    let volume = number::unit(&number::significant(stream.volume, 2), "L");
    let mut blocks = vec![Block::Subheading(format!("{} ({volume}{ph})", super::sentence(&stream.name)))];
    if let Some(why) = &stream.unknown {
        blocks.push(Block::Paragraph(format!("No figures: {why}.")));
    }
    if !stream.contents.is_empty() {
        let mut table = Table::new(&[
            ("dissolved", Align::Left),
            ("mg/L", Align::Point),
            ("own limit, mg/L", Align::Point),
            ("", Align::Left),
        ]);
        for (ion, amount, limit) in &stream.contents {
            table.push(vec![
                Cell::text(ion.clone()),
                Cell::text(number::significant(*amount, 2)),
                Cell::text(limit.map_or(String::new(), |limit| number::significant(limit, 2))),
                Cell::text(over(*amount, *limit)),
            ]);
        }
        blocks.push(Block::Table(table));
    }
    blocks.extend(stream.treatment.as_ref().map(|treatment| Block::Paragraph(treated(treatment))));
    blocks.push(Block::Paragraph(format!("Label: {}", stream.label)));
    if !stream.never.is_empty() {
        let list: Vec<String> = stream.never.iter().map(|(class, reason)| format!("{class}: {reason}")).collect();
        blocks.push(Block::Paragraph("Never combine with:".to_owned()));
        blocks.push(Block::List(list));
    }
    blocks
}

fn over(amount: f64, limit: Option<f64>) -> String {
    match limit {
        Some(limit) if amount > limit => format!("{} × over", number::significant(amount / limit, 2)),
        Some(_) => "under".to_owned(),
        None => String::new(),
    }
}

fn treated(treatment: &WasteTreatment) -> String {
    let grams = |mass: f64| number::unit(&number::significant(mass, 2), "g");
    let more = if treatment.grams_at_most > 1.05 * treatment.grams {
        format!(", up to {} as carbon dioxide leaves", grams(treatment.grams_at_most))
    } else {
        String::new()
    };
    let mut parts = vec![format!(
        "To pH {} with {} of {}{more}",
        number::significant(treatment.to_ph, 2),
        grams(treatment.grams),
        treatment.reagent
    )];
    if !treatment.solids.is_empty() {
        let solids: Vec<String> = treatment
            .solids
            .iter()
            .map(|(solid, grams)| format!("{solid} {}", number::unit(&number::significant(*grams, 2), "g")))
            .collect();
        parts.push(format!("settles: {}; keep the sludge as waste of its metal", solids.join(", ")));
    }
    if treatment.gas > 0.01 {
        parts.push(format!(
            "carbon dioxide up to {}: open vessel, slowly",
            number::unit(&number::significant(treatment.gas, 2), "L")
        ));
    }
    parts.push(format!("heat at most {}", number::unit(&number::significant(treatment.heat, 2), "kJ")));
    let left: Vec<String> = treatment
        .left
        .iter()
        .map(|(ion, amount, limit)| {
            let verdict = over(*amount, *limit);
            let verdict = if verdict.is_empty() { verdict } else { format!(" ({verdict})") };
            format!("{ion} {}{verdict}", number::unit(&number::significant(*amount, 2), "mg/L"))
        })
        .collect();
    if !left.is_empty() {
        parts.push(format!("then left: {}", left.join(", ")));
    }
    format!("{}.", parts.join("; "))
}
