//! A recorded curve, oxidation states and potential-pH diagrams on the page.

use super::{Align, Block, Cell, Table};
use crate::number;
use prep::outcome::{PotentialPh, RecordedCurve, SolutionCouples, SolutionStrength};

/// The free acid that a curve shows, and the points beside the computed ones.
pub(super) fn recorded(curve: &RecordedCurve) -> Vec<Block> {
    let grams = format!("g of {}", curve.reagent);
    let mut table = Table::new(&[
        (&grams, Align::Point),
        ("pH read", Align::Point),
        ("pH computed", Align::Point),
        ("difference", Align::Point),
    ]);
    for (amount, read, computed) in &curve.points {
        table.push(vec![
            Cell::text(number::significant(*amount, 4)),
            Cell::text(number::fixed(*read, 2)),
            Cell::text(number::fixed(*computed, 2)),
            Cell::text(number::fixed(read - computed, 2)),
        ]);
    }
    let fit = if curve.strain > 4.0 {
        "The points do not lie on any such curve: something else takes up base, or the reagent is not what it is taken for."
    } else {
        "The points lie on the computed curve."
    };
    vec![
        Block::Heading("The recorded curve".to_owned()),
        Block::Paragraph(format!(
            "It shows {} of {} in all ({} mol, {} mol/kg of water). The meter seems to read {} too high throughout. {fit}",
            number::mean(&curve.mass),
            curve.acid,
            number::with_uncertainty(curve.amount, Some(curve.standard_uncertainty)),
            number::significant(curve.per_water, 3),
            number::fixed(curve.offset, 3),
        )),
        Block::Table(table),
    ]
}

/// Share of an element below which a state is not listed.
const SHOWN: f64 = 1e-12;

/// The potential, and the share of each oxidation state.
pub(super) fn couples(couples: &SolutionCouples) -> Vec<Block> {
    let mut table = Table::new(&[
        ("element", Align::Left),
        ("state", Align::Left),
        ("share, %", Align::Point),
        ("mol of the element", Align::Point),
    ]);
    for state in couples.states.iter().filter(|state| state.share > SHOWN) {
        table.push(vec![
            Cell::text(state.element.clone()),
            Cell::text(state.state.clone()),
            Cell::text(number::significant(100.0 * state.share, 3)),
            Cell::text(number::significant(state.amount, 3)),
        ]);
    }
    let potential = number::fixed(couples.potential, 3);
    let spread = couples.standard_uncertainty.map(|u| format!(" ± {}", number::fixed(u.max(1e-3), 3)));
    let volts = number::unit(&format!("{potential}{}", spread.unwrap_or_default()), "V");
    vec![
        Block::Heading(format!("Oxidation states at {volts}")),
        Block::Table(table),
        Block::Paragraph(format!("Against the standard hydrogen electrode. {}", couples.model)),
    ]
}

/// What is stable at the solution's pH, from potential to potential.
pub(super) fn potential(diagram: &PotentialPh) -> Vec<Block> {
    let mut table = Table::new(&[("from, V", Align::Point), ("to, V", Align::Point), ("stable", Align::Left)]);
    for (place, (from, form)) in diagram.ladder.iter().enumerate() {
        let to = diagram.ladder.get(place + 1).map_or(String::new(), |(to, _)| number::fixed(*to, 2));
        let from = if place == 0 { String::new() } else { number::fixed(*from, 2) };
        table.push(vec![Cell::text(from), Cell::text(to), Cell::text(form.clone())]);
    }
    let at = |line: &[(f64, f64); 2]| {
        line[0].1 + (line[1].1 - line[0].1) * (diagram.ph - line[0].0) / (line[1].0 - line[0].0)
    };
    let point = match (&diagram.potential, &diagram.form) {
        (Some(volts), Some(form)) => {
            let why = diagram.from_couple.as_ref().map_or(String::new(), |names| format!(", set by {names}"));
            format!(" At its potential of {} V{why}: {form}.", number::fixed(*volts, 3))
        }
        _ => " Its potential is not known: give it, or both oxidation states.".to_owned(),
    };
    vec![
        Block::Heading(format!("{} over the potential, at pH {}", diagram.element, number::fixed(diagram.ph, 2))),
        Block::Table(table),
        Block::Paragraph(format!(
            "Against the standard hydrogen electrode at 25 °C, {} mol/kg in all; other ions as they are. Water gives hydrogen below {} V and oxygen above {} V, slowly.{point}",
            number::significant(diagram.total, 3),
            number::fixed(at(&diagram.hydrogen), 2),
            number::fixed(at(&diagram.oxygen), 2),
        )),
    ]
}

/// Strength in every way, and how a weaker solution is made.
pub(super) fn strength(strength: &SolutionStrength) -> Vec<Block> {
    let mut blocks = vec![
        Block::Heading("Strength".to_owned()),
        Block::Paragraph(format!(
            "{} at 20 °C: {} % w/w, {} % w/v, {} mol/L, {} mol/kg of water, {} g/mL.",
            strength.solute,
            number::significant(strength.mass_percent, 3),
            number::significant(strength.per_volume, 3),
            number::significant(strength.molarity, 3),
            number::significant(strength.molality, 3),
            number::fixed(strength.density, 3),
        )),
    ];
    if let Some(dilution) = &strength.dilution {
        let heat = dilution.heat.zip(dilution.rise).map_or(String::new(), |(heat, rise)| {
            let bound = if dilution.at_most { "at most" } else { "about" };
            format!(
                " Heat {bound} {} kJ, {} K if it is poured at once: the stronger one into the water, slowly, cooled.",
                number::significant(heat, 2),
                number::significant(rise, 2)
            )
        });
        blocks.push(Block::Paragraph(format!(
            "For {} of {} mol/L: {} mL ({} g) of it into {} g of water.{heat}",
            number::unit(&number::significant(dilution.volume, 3), "L"),
            number::significant(dilution.molarity, 3),
            number::significant(dilution.take.0, 3),
            number::significant(dilution.take.1, 4),
            number::significant(dilution.water, 4),
        )));
    }
    blocks
}
