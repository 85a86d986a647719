//! What the tables of solutions expect of a step, as lines of the plan.

use super::Block;
use crate::number;
use prep::outcome::{Booking, ExpectedCrop, ForeignSolid, MadeOf, StaysDissolved, StepDose, StepSolution, Unbooked};

/// Least of an ion that is named, mg per kg of water.
const NAMED: f64 = 0.01;
/// Part of the largest cause below which a cause is not named.
const SMALL: f64 = 0.25;

/// One paragraph, marked derived.
pub(super) fn section(solution: &StepSolution) -> Vec<Block> {
    let mut parts = Vec::new();
    if let Some(ph) = &solution.ph {
        let follows = list(&solution.ph_follows, |change| signed(change, &number::fixed(change.abs(), 2)));
        parts.push(format!("pH {}{}", number::figure(ph), depends(&follows, &solution.ph_causes, "")));
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
    parts.extend(solution.beside.iter().map(unbooked));
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

/// Changes of a mass for a tenth more of each substance.
fn grams(follows: &[(String, f64)]) -> String {
    list(follows, |change| signed(change, &number::unit(&number::significant(change.abs(), 2), "g")))
}

/// A change with its sign.
fn signed(change: f64, size: &str) -> String {
    format!("{}{size}", if change < 0.0 { '−' } else { '+' })
}

/// The parts of an uncertainty that are not small beside the largest.
fn main_causes(causes: &MadeOf, word: impl Fn(f64) -> String) -> String {
    let largest = causes.iter().map(|(_, part)| *part).fold(0.0, f64::max);
    let parts = causes.iter().filter(|(_, part)| *part >= SMALL * largest);
    parts.map(|(cause, part)| format!("{cause} {}", word(*part))).collect::<Vec<_>>().join(", ")
}

/// What a figure follows and what its uncertainty is made of, in brackets.
fn depends(follows: &str, causes: &MadeOf, unit: &str) -> String {
    let of = main_causes(causes, |part| number::unit(&number::significant(part, 2), unit));
    let follows = if follows.is_empty() { String::new() } else { format!("a tenth more of {follows}") };
    let of = if of.is_empty() { of } else { format!("± by {of}") };
    let parts: Vec<String> = [follows, of].into_iter().filter(|part| !part.is_empty()).collect();
    if parts.is_empty() { String::new() } else { format!(" ({})", parts.join("; ")) }
}

fn dose(dose: &StepDose) -> String {
    format!(
        "pH {} takes {} of {} in all{}; planned {}",
        number::significant(dose.to_ph, 3),
        number::figure(&dose.needed),
        dose.reagent,
        depends(&grams(&dose.follows), &dose.causes, "g"),
        number::unit(&number::significant(dose.planned, 3), "g"),
    )
}

fn stays(stays: &StaysDissolved) -> String {
    let share = &stays.share;
    let amount = if share.value < 1e-3 {
        "less than 0.001 %".to_owned()
    } else {
        let percent = |part: f64| format!("{:.0} %", 100.0 * (part / share.value).min(9.99));
        let causes = main_causes(&stays.causes, percent);
        format!(
            "{} (uncertain by {}{})",
            number::unit(&number::significant(share.value, 2), "%"),
            percent(share.standard_uncertainty.unwrap_or(0.0)),
            if causes.is_empty() { causes } else { format!(": {causes}") },
        )
    };
    let follows =
        if share.value < 1e-2 { String::new() } else { list(&stays.follows, |factor| format!("× {factor:.2}")) };
    let tenth = if follows.is_empty() { String::new() } else { format!(" (a tenth more of {follows})") };
    // What the books take is this and what is usually unfinished.
    let taken = if stays.taken { "" } else { "; the books keep the usual figure" };
    format!("{amount} of {} stays dissolved{tenth}{taken}", stays.solid)
}

/// What the books leave out, and what lets them hold it.
fn unbooked(one: &Unbooked) -> String {
    let grams = number::unit(&number::significant(one.grams, 2), "g");
    let solid = &one.solid;
    let by = match one.by {
        Booking::Beside => format!("`beside = {{ \"{solid}(s)\" = \"0 .. 100 %\" }}` lets them"),
        Booking::MayHold => "`may_hold` where it is dried lets them".to_owned(),
        Booking::Named => "named under `may_hold` where it is dried, it is the account's question".to_owned(),
    };
    match &one.form_of {
        Some(form) => format!(
            "up to {grams} of {solid} may fall out beside {form} or in its place; the books hold the metal as {form} and \
             dissolved, not as this ({by})"
        ),
        None => format!("up to {grams} of {solid} may fall out beside or in its place, not in the books ({by})"),
    }
}

fn foreign(solid: &ForeignSolid) -> String {
    match &solid.amount {
        Some(amount) => format!(
            "{} of {} falls out beside and is in the books{}",
            number::figure(amount),
            solid.solid,
            depends(&grams(&solid.follows), &solid.causes, "g"),
        ),
        None => format!("{} falls out beside as the file states", solid.solid),
    }
}

fn crop(crop: &ExpectedCrop) -> String {
    match &crop.share {
        Some(share) => format!(
            "{} of the salt separates as {} at {:.0} °C ({} % for each degree more); the crystals take {} of water along",
            number::figure(share),
            crop.crystals,
            crop.at,
            signed(crop.per_degree, &number::fixed(crop.per_degree.abs(), 1)),
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
