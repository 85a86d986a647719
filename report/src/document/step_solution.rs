//! What the tables of solutions expect of a step, as lines of the plan.

use super::Block;
use crate::number;
use prep::outcome::{ExpectedCrop, ForeignSolid, StaysDissolved, StepDose, StepSolution};

/// Least of an ion that is named, mg per kg of water.
const NAMED: f64 = 0.01;

/// One paragraph, marked derived.
pub(super) fn section(solution: &StepSolution) -> Vec<Block> {
    let mut parts = Vec::new();
    if let Some(ph) = &solution.ph {
        let follows = list(&solution.ph_follows, |change| format!("{change:+.2}"));
        let tenth = if follows.is_empty() { String::new() } else { format!(" (a tenth more of {follows})") };
        parts.push(format!("pH {}{tenth}", number::figure(ph)));
    }
    parts.extend(solution.dose.as_ref().map(dose));
    parts.extend(solution.stays.iter().map(stays));
    let left: Vec<String> = solution
        .left
        .iter()
        .filter(|(_, milligrams)| *milligrams >= NAMED)
        .map(|(ion, milligrams)| format!("{ion} {} mg/kg", number::significant(*milligrams, 2)))
        .collect();
    if !solution.stays.is_empty() && !left.is_empty() {
        parts.push(format!("dissolved, of water: {}", left.join(", ")));
    }
    parts.extend(solution.foreign.iter().map(foreign));
    if !solution.beside.is_empty() {
        let beside = list(&solution.beside, |grams| number::unit(&number::significant(grams, 2), "g"));
        parts.push(format!("may fall out beside, or in its place: {beside}"));
    }
    for (solid, share) in &solution.washed {
        if share.value >= 0.01 {
            parts.push(format!(
                "each wash takes up to {} of {solid}",
                number::unit(&number::significant(share.value, 2), "%")
            ));
        }
    }
    parts.extend(solution.crops.iter().map(crop));
    if !solution.unknown.is_empty() {
        parts.push(format!("the tables are silent on: {}", solution.unknown.join("; ")));
    }
    if parts.is_empty() {
        return Vec::new();
    }
    let status = if solution.within { "derived" } else { "estimated, beyond the activity model" };
    vec![Block::Paragraph(format!(
        "Expected in solution at {:.0} °C ({status}): {}.",
        solution.temperature,
        parts.join("; ")
    ))]
}

fn list(pairs: &[(String, f64)], word: impl Fn(f64) -> String) -> String {
    pairs.iter().map(|(name, value)| format!("{name} {}", word(*value))).collect::<Vec<_>>().join(", ")
}

fn dose(dose: &StepDose) -> String {
    format!(
        "pH {} takes {} of {} in all; planned {}",
        number::significant(dose.to_ph, 3),
        number::figure(&dose.needed),
        dose.reagent,
        number::unit(&number::significant(dose.planned, 3), "g"),
    )
}

fn stays(stays: &StaysDissolved) -> String {
    let share = &stays.share;
    let amount = if share.value < 1e-3 {
        "less than 0.001 %".to_owned()
    } else {
        let spread = share.standard_uncertainty.unwrap_or(0.0) / share.value;
        format!(
            "{} (uncertain by {:.0} %)",
            number::unit(&number::significant(share.value, 2), "%"),
            100.0 * spread.min(9.99)
        )
    };
    let follows =
        if share.value < 1e-2 { String::new() } else { list(&stays.follows, |factor| format!("× {factor:.2}")) };
    let tenth = if follows.is_empty() { String::new() } else { format!(" (a tenth more of {follows})") };
    // What the books take is this and what is usually unfinished.
    let taken = if stays.taken { "" } else { "; the books keep the usual figure" };
    format!("{amount} of {} stays dissolved{tenth}{taken}", stays.solid)
}

fn foreign(solid: &ForeignSolid) -> String {
    match &solid.amount {
        Some(amount) => format!("{} of {} falls out beside and is in the books", number::figure(amount), solid.solid),
        None => format!("{} falls out beside as the file states", solid.solid),
    }
}

fn crop(crop: &ExpectedCrop) -> String {
    match &crop.share {
        Some(share) => format!(
            "{} of the salt separates as {} at {:.0} °C ({:+.1} % for each degree more); the crystals take {} of water along",
            number::figure(share),
            crop.crystals,
            crop.at,
            crop.per_degree,
            number::unit(&number::significant(crop.takes, 2), "g"),
        ),
        None => format!(
            "not saturated with {} at {:.0} °C: nothing separates before {} of water is driven off; the books keep the usual crop",
            crop.crystals,
            crop.at,
            number::unit(&number::significant(crop.too_much_water, 2), "g"),
        ),
    }
}
