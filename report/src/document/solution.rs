//! A solution: what is in it, what falls out, and the dose that changes it.

use super::{Align, Block, Cell, Document, Table, findings, standing};
use crate::number;
use prep::outcome::{Onset, SolutionAnswer, SolutionDose, SolutionExcess, SolutionSolid, SolutionWindow};

/// Share of the strongest species below which one is not listed.
const SHOWN: f64 = 1e-6;
/// Most species on a page.
const MOST_SPECIES: usize = 18;
/// Most solids that are not there on a page, and how undersaturated they may be.
const MOST_SOLIDS: usize = 6;
const NEAR: f64 = -3.0;
/// Rows of the curve.
const CURVE_ROWS: usize = 11;

/// The answer as a page.
#[must_use]
pub fn solution_document(answer: &SolutionAnswer) -> Document {
    let mut blocks = vec![Block::Claim(claim(answer))];
    blocks.extend(answer.dose.as_ref().map(dose_blocks).unwrap_or_default());
    blocks.extend(answer.strength.as_ref().map(super::solution_figures::strength).unwrap_or_default());
    blocks.extend(answer.recorded.as_ref().map(super::solution_figures::recorded).unwrap_or_default());
    blocks.extend(answer.couples.as_ref().map(super::solution_figures::couples).unwrap_or_default());
    blocks.extend(answer.potential.iter().flat_map(super::solution_figures::potential));
    blocks.extend(solids(answer));
    blocks.extend(species(answer));
    blocks.extend(residues(answer));
    blocks.extend(windows(answer));
    blocks.extend(excess(answer));
    blocks.extend(findings::section(&answer.findings));
    blocks.push(Block::Paragraph(footing(answer)));
    blocks.extend(standing::standing());
    Document { title: title(answer), blocks }
}

fn title(answer: &SolutionAnswer) -> String {
    let names: Vec<String> = answer.substances.iter().map(|(name, _)| name.clone()).collect();
    format!("Solution of {}", super::listed(&names))
}

fn claim(answer: &SolutionAnswer) -> String {
    let ph = match answer.ph.standard_uncertainty {
        Some(u) if u > 0.0 => format!("{} ± {}", number::fixed(answer.ph.value, 2), number::fixed(u.max(0.005), 2)),
        _ => number::fixed(answer.ph.value, 2),
    };
    if let Some(dose) = &answer.dose {
        let sold = dose
            .as_sold
            .as_ref()
            .map_or(String::new(), |sold| format!(", {}{} as sold", number::mean(sold), millilitres(dose)));
        return format!(
            "{} of {}{sold} from pH {} to pH {}.",
            number::mean(&dose.mass),
            dose.reagent,
            number::fixed(dose.from_ph, 2),
            number::fixed(dose.to_ph, 2)
        );
    }
    let there: Vec<String> = answer.solids.iter().filter(|s| s.amount > 0.0).map(solid_name).collect();
    let beside = if there.is_empty() { String::new() } else { format!(", with {} undissolved", super::listed(&there)) };
    format!("pH {ph} at {}{beside}.", number::unit(&number::fixed(answer.temperature, 0), "°C"))
}

/// The volume of what is sold, where the density is known.
fn millilitres(dose: &SolutionDose) -> String {
    dose.as_sold_volume
        .map_or(String::new(), |volume| format!(" ({})", number::unit(&number::significant(volume, 3), "mL")))
}

fn solid_name(solid: &SolutionSolid) -> String {
    if solid.name.is_empty() { solid.solid.clone() } else { format!("{} ({})", solid.solid, solid.name) }
}

fn dose_blocks(dose: &SolutionDose) -> Vec<Block> {
    let mut blocks = vec![Block::Heading("The dose".to_owned())];
    let mut table = Table::new(&[("", Align::Left), ("g", Align::Point), ("9 in 10", Align::Point)]);
    table.push(vec![
        Cell::text(format!("{}, pure", dose.reagent)),
        Cell::text(number::mean_bare(&dose.mass)),
        Cell::text(number::interval_bare(&dose.mass)),
    ]);
    blocks.push(Block::Table(table));
    if let Some(sold) = &dose.as_sold {
        blocks.push(Block::Paragraph(format!(
            "As sold: {}, 9 times in 10 {}.",
            number::mean(sold),
            number::interval(sold)
        )));
    }
    let mut users = Table::new(&[("used up by", Align::Left), ("mol", Align::Point), ("of the dose, %", Align::Point)]);
    for (name, amount) in &dose.takes {
        users.push(vec![
            Cell::text(name.clone()),
            Cell::text(number::significant(*amount, 3)),
            Cell::text(number::fixed(100.0 * amount / dose.amount, 0)),
        ]);
    }
    blocks.push(Block::Table(users));
    blocks.push(Block::Paragraph(format!(
        "The free hydrogen ion that the pH shows would account for {} only.",
        number::unit(&number::significant(dose.naive, 2), "g")
    )));
    let known: Vec<String> = dose
        .causes
        .iter()
        .filter(|(_, u)| *u > 0.0)
        .map(|(name, u)| format!("{name} {}", number::unit(&number::significant(*u, 2), "g")))
        .collect();
    if !known.is_empty() {
        blocks.push(Block::Paragraph(format!(
            "Standard uncertainty of the mass by cause: {}; the amounts given count as exact.",
            known.join(", ")
        )));
    }
    blocks.push(Block::Paragraph(
        "Add most of it, wait, read the pH, then go on in small portions: near the end pH jumps, and what falls out takes its time."
            .to_owned(),
    ));
    blocks.extend(curve(dose));
    blocks
}

fn curve(dose: &SolutionDose) -> Vec<Block> {
    if dose.curve.len() < 3 {
        return Vec::new();
    }
    let mut table = Table::new(&[("g added", Align::Point), ("pH", Align::Point)]);
    let last = dose.curve.len() - 1;
    for row in 0..CURVE_ROWS {
        let (grams, ph) = dose.curve[row * last / (CURVE_ROWS - 1)];
        table.push(vec![Cell::text(number::significant(grams, 3)), Cell::text(number::fixed(ph, 2))]);
    }
    vec![Block::Heading("On the way".to_owned()), Block::Table(table)]
}

fn solids(answer: &SolutionAnswer) -> Vec<Block> {
    let there = answer.solids.iter().filter(|s| s.amount > 0.0);
    let near = answer.solids.iter().filter(|s| s.amount <= 0.0 && s.saturation_index > NEAR).take(MOST_SOLIDS);
    let mut table = Table::new(&[
        ("solid", Align::Left),
        ("g", Align::Point),
        ("mol", Align::Point),
        ("saturation, decades", Align::Point),
        ("", Align::Left),
    ]);
    for solid in there.chain(near) {
        let present = solid.amount > 0.0;
        let state = match (present, solid.saturation_index > 0.0) {
            (true, _) => "there",
            (false, true) if solid.form == "slow" => "supersaturated; does not form at the bench",
            (false, true) => "supersaturated; not allowed here",
            (false, false) => "dissolves",
        };
        let blank = || Cell::text("none");
        table.push(vec![
            Cell::text(solid_name(solid)),
            if present { Cell::text(number::significant(solid.mass, 4)) } else { blank() },
            if present { Cell::text(number::significant(solid.amount, 4)) } else { blank() },
            Cell::text(number::fixed(if present { 0.0 } else { solid.saturation_index }, 1)),
            Cell::text(format!("{}, {state}", solid.form)),
        ]);
    }
    if table.rows.is_empty() {
        return Vec::new();
    }
    vec![Block::Heading("Solids".to_owned()), Block::Table(table)]
}

fn species(answer: &SolutionAnswer) -> Vec<Block> {
    let most = answer.species.first().map_or(0.0, |s| s.molality);
    let mut table = Table::new(&[
        ("dissolved as", Align::Left),
        ("mol/kg water", Align::Point),
        ("activity coefficient", Align::Point),
    ]);
    let always = |name: &str| name == "H^+" || name == "H+";
    for (place, one) in answer.species.iter().enumerate() {
        if (one.molality > SHOWN * most && place < MOST_SPECIES) || always(&one.species) {
            table.push(vec![
                Cell::text(one.species.clone()),
                Cell::text(number::significant(one.molality, 3)),
                Cell::text(number::significant(one.activity_coefficient, 3)),
            ]);
        }
    }
    vec![Block::Heading("What is dissolved".to_owned()), Block::Table(table)]
}

fn residues(answer: &SolutionAnswer) -> Vec<Block> {
    if answer.solids.iter().all(|s| s.amount <= 0.0) {
        return Vec::new();
    }
    let mut table = Table::new(&[
        ("ion", Align::Left),
        ("in all, mol", Align::Point),
        ("dissolved, %", Align::Point),
        ("dissolved, mg/kg water", Align::Point),
    ]);
    for one in answer.residues.iter().filter(|r| r.total > 0.0) {
        table.push(vec![
            Cell::text(one.master.clone()),
            Cell::text(number::significant(one.total, 4)),
            Cell::text(number::significant(100.0 * one.dissolved / one.total, 3)),
            Cell::text(number::significant(one.mass_per_water, 3)),
        ]);
    }
    vec![Block::Heading("What stays in solution".to_owned()), Block::Table(table)]
}

fn windows(answer: &SolutionAnswer) -> Vec<Block> {
    if answer.windows.is_empty() {
        return Vec::new();
    }
    let band = |band: Option<(f64, f64)>| match band {
        Some((low, high)) if high - low < 0.05 => number::fixed(low, 1),
        Some((low, high)) => format!("{} to {}", number::fixed(low, 1), number::fixed(high, 1)),
        None => "not reached".to_owned(),
    };
    let mut table = Table::new(&[
        ("ion", Align::Left),
        ("starts at pH", Align::Left),
        ("99.9 % out at pH", Align::Left),
        ("first solid", Align::Left),
        ("out with it by then", Align::Left),
    ]);
    for window in &answer.windows {
        table.push(vec![
            Cell::text(window.master.clone()),
            Cell::text(band(window.start)),
            Cell::text(band(window.done)),
            Cell::text(window.solids.join(" or ")),
            Cell::text(co_loss(window)),
        ]);
    }
    vec![
        Block::Heading("Where metals fall out".to_owned()),
        Block::Table(table),
        Block::Paragraph(
            "Bands reach from aged solids by the least soluble constants to fresh ones by the most soluble. Hydroxide is added to the acidified solution; what is out with it by then is a solid of its own; what a precipitate takes along on its surface or in its crystals no constant tells."
                .to_owned(),
        ),
    ]
}

/// Other metals that are out in part where one is out to 99.9 %.
fn co_loss(window: &SolutionWindow) -> String {
    let percent = |value: f64| if value < 0.05 { "0".to_owned() } else { number::significant(value, 2) };
    let told = window.co_loss.iter().filter(|(_, _, high)| *high >= 0.05).map(|(ion, low, high)| {
        let (low, high) = (percent(*low), percent(*high));
        let band = if low == high { low } else { format!("{low} to {high}") };
        format!("{ion} {}", number::unit(&band, "%"))
    });
    let list: Vec<String> = told.collect();
    if list.is_empty() { "nothing".to_owned() } else { list.join(", ") }
}

/// Where a precipitant begins to take an ion out, and where it is out.
fn onset(excess: &SolutionExcess, onset: Option<&Onset>, what: &str) -> Option<String> {
    let onset = onset?;
    let band = |(low, high): (f64, f64), unit: &str| {
        let (low, high) = (number::significant(low, 2), number::significant(high, 2));
        number::unit(&if low == high { low } else { format!("{low} to {high}") }, unit)
    };
    Some(format!(
        "{what} at {} of {} in all, {} of it free as {}.",
        band(onset.amount, "mol"),
        excess.reagent,
        band(onset.free, "mol/kg"),
        excess.ligand
    ))
}

fn excess(answer: &SolutionAnswer) -> Vec<Block> {
    let Some(excess) = &answer.excess else { return Vec::new() };
    let mut table = Table::new(&[
        ("times the best amount", Align::Point),
        ("mol", Align::Point),
        (&format!("{} left, mg/kg water", excess.master), Align::Point),
    ]);
    let mut rows = excess.others.clone();
    rows.push((1.0, excess.amount, excess.left));
    rows.sort_by(|a, b| a.0.total_cmp(&b.0));
    for (times, amount, left) in rows {
        table.push(vec![
            Cell::text(number::fixed(times, 1)),
            Cell::text(number::significant(amount, 3)),
            Cell::text(number::significant(left, 3)),
        ]);
    }
    let mut blocks = vec![
        Block::Heading("The best excess".to_owned()),
        Block::Paragraph(format!(
            "{} of {} ({} mol) leaves least: {} mg of {} in a kilogram of water. {} Reckoned with ion pairs and complexes.",
            number::unit(&number::significant(excess.mass, 3), "g"),
            excess.reagent,
            number::significant(excess.amount, 3),
            number::significant(excess.left, 2),
            excess.master,
            if excess.takes_back {
                "More is worse: it binds what it should take out."
            } else {
                "More neither helps nor harms much: little of what it should take out is bound."
            },
        )),
        Block::Table(table),
    ];
    let lines = [
        onset(excess, excess.start.as_ref(), "The first solid comes"),
        onset(excess, excess.done.as_ref(), "99.9 % is out"),
    ];
    let mut lines: Vec<String> = lines.into_iter().flatten().collect();
    if excess.done.is_none() {
        lines.push(format!("99.9 % of {} does not come out.", excess.master));
    }
    blocks.push(Block::List(lines));
    blocks
}

fn footing(answer: &SolutionAnswer) -> String {
    let balance = answer.balance.as_ref().map_or(String::new(), |(ion, amount)| {
        let word = if *amount < 0.0 { "less" } else { "more" };
        format!(
            " To meet the pH given, {} mol {word} of {ion} was reckoned with.",
            number::significant(amount.abs(), 3)
        )
    });
    format!(
        "{} at ionic strength {}; to be used up to {} mol/kg. {} in all, water activity {}. {} Solved with a largest relative error of {} in a balance.{balance} Constants: {}.",
        super::sentence(answer.model.name),
        number::unit(&number::significant(answer.ionic_strength, 3), "mol/kg"),
        number::plain(answer.model.limit),
        number::unit(&number::significant(answer.water, 4), "kg of water"),
        number::fixed(answer.water_activity, 3),
        if answer.couples.is_some() { "Other redox couples are held apart." } else { "Redox couples are held apart." },
        number::significant(answer.residual, 1),
        answer.sources.join("; ")
    )
}
