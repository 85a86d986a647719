//! The answers to single questions as a page.

use super::{Align, Block, Cell, Document, Table, findings, heat, sentence};
use crate::number;
use prep::outcome::{FormulaAnswer, LabelAnswer, OxidationAnswer, ReactionAnswer};

/// What a formula is made of.
#[must_use]
pub fn formula_document(answer: &FormulaAnswer) -> Document {
    let mut blocks = vec![Block::Claim(format!("Molar mass {}.", number::figure(&answer.molar_mass)))];
    if answer.charge != 0 {
        blocks.push(Block::Paragraph(format!("Charge {}.", signed(answer.charge))));
    }
    if let Some(water) = answer.water_fraction {
        blocks.push(Block::Paragraph(format!(
            "Hydrate water {}.",
            number::unit(&number::significant(100.0 * water, 5), "%")
        )));
    }
    let mut table = Table::new(&[("element", Align::Left), ("count", Align::Point), ("mass, %", Align::Point)]);
    for (symbol, count, mass_fraction) in &answer.elements {
        table.push(vec![
            Cell::text(format!("{symbol}, {}", super::element_name(symbol))),
            Cell::text(number::plain(*count)),
            Cell::text(number::fixed(100.0 * mass_fraction, 3)),
        ]);
    }
    blocks.push(Block::Table(table));
    blocks.extend(oxidation_blocks(answer));
    if !answer.molar_mass.sources.is_empty() {
        blocks.push(Block::Paragraph(format!("Sources: {}.", answer.molar_mass.sources.join(", "))));
    }
    Document { title: answer.formula.clone(), blocks }
}

/// Oxidation states, or why the formula does not tell them.
fn oxidation_blocks(answer: &FormulaAnswer) -> Vec<Block> {
    if let Some(reason) = &answer.no_oxidation_states {
        return vec![Block::Paragraph(format!("Oxidation states do not follow from the formula: {reason}."))];
    }
    if answer.oxidation_states.is_empty() {
        return Vec::new();
    }
    let mut table =
        Table::new(&[("oxidation state", Align::Left), ("atoms", Align::Point), ("follows from", Align::Left)]);
    for state in &answer.oxidation_states {
        table.push(vec![
            Cell::text(oxidation_words(state)),
            Cell::text(number::plain(state.count)),
            Cell::text(state.rule.clone()),
        ]);
    }
    vec![Block::Table(table)]
}

fn oxidation_words(state: &OxidationAnswer) -> String {
    let split = state.split.map(|(lower, upper, share)| {
        let share = number::unit(&number::fixed(100.0 * share, 2), "%");
        format!("; if only {lower:+} and {upper:+} occur, {share} is {upper:+}")
    });
    format!("{}{}", state.text, split.unwrap_or_default())
}

fn signed(charge: i32) -> String {
    let sign = if charge < 0 { '\u{2212}' } else { '+' };
    format!("{sign}{}", charge.unsigned_abs())
}

/// A reaction with its coefficients, or why it has none.
#[must_use]
pub fn reaction_document(answer: &ReactionAnswer) -> Document {
    let verdict = match (answer.solutions, &answer.coefficients) {
        (0, _) => "No set of coefficients balances this reaction.".to_owned(),
        (1, Some(_))
            if answer.findings.iter().any(|f| f.code == "unbalanced")
                && answer.coefficients.as_ref().is_some_and(|c| c.iter().any(|(_, n)| *n == 0.0)) =>
        {
            "It balances only without one of the species written.".to_owned()
        }
        (1, Some(_)) => "Balanced: one solution, and one only.".to_owned(),
        (1, None) => "One solution, but not with the species on the sides written.".to_owned(),
        (count, _) => format!(
            "{count} independent solutions: any sum of them balances too, so none is chosen. Write the reactions one by one."
        ),
    };
    let mut blocks = vec![Block::Claim(verdict)];
    if let Some(coefficients) = &answer.coefficients {
        blocks.push(Block::Table(coefficient_table(coefficients)));
    }
    for (index, pairs) in answer.basis_reactions.iter().enumerate() {
        blocks.push(Block::Subheading(format!("Solution {}", index + 1)));
        blocks.push(Block::Table(coefficient_table(pairs)));
    }
    if !answer.closures.is_empty() {
        blocks.push(Block::Subheading("Would balance with".to_owned()));
        blocks.push(Block::List(answer.closures.iter().map(closure_words).collect()));
        blocks.push(Block::Paragraph("This is arithmetic: it does not say what happens in the flask.".to_owned()));
    }
    if let Some(freedom) = &answer.freedom {
        if !freedom.extreme_equations.is_empty() {
            blocks.push(Block::Subheading(
                "Every balance is a mixture of these, each with the fewest species".to_owned(),
            ));
            blocks.push(Block::List(freedom.extreme_equations.clone()));
        }
        blocks.push(Block::Paragraph(format!("{}.", sentence(&freedom.would_decide))));
    }
    blocks.extend(answer.heat.iter().flat_map(heat::section));
    if !answer.findings.is_empty() {
        blocks.extend(findings::section(&answer.findings));
    }
    Document { title: answer.equation.clone(), blocks }
}

/// What was added and where, with the equation it makes.
fn closure_words(closure: &prep::outcome::ClosureAnswer) -> String {
    let side = |species: &[String], name: &str| {
        (!species.is_empty()).then(|| format!("{} on the {name}", super::listed(species)))
    };
    let sides: Vec<String> =
        [side(&closure.left, "left"), side(&closure.right, "right")].into_iter().flatten().collect();
    format!("{}: {}", sides.join(", "), closure.equation)
}

fn coefficient_table(pairs: &[(String, f64)]) -> Table {
    let mut table = Table::new(&[("species", Align::Left), ("used", Align::Point), ("formed", Align::Point)]);
    for (species, coefficient) in pairs.iter().filter(|(_, coefficient)| *coefficient != 0.0) {
        let amount = Cell::text(number::plain(coefficient.abs()));
        let cells = if *coefficient < 0.0 { vec![amount, Cell::blank()] } else { vec![Cell::blank(), amount] };
        table.push(std::iter::once(Cell::text(species.clone())).chain(cells).collect());
    }
    table
}

/// Most readings of a label that are printed.
const READINGS: usize = 12;

/// What a label may mean, as a page.
#[must_use]
pub fn label_document(answer: &LabelAnswer) -> Document {
    let fits = answer.readings.iter().filter(|r| r.plausible).count();
    let verdict = match (fits, answer.readings.first()) {
        (0, None) => "The label names nothing that could be weighed against it.".to_owned(),
        (0, Some(nearest)) => format!("Nothing fits within the printed digits; nearest is {}.", nearest.substance),
        (1, Some(best)) => format!("Consistent with {}, and with nothing else that was tried.", best.substance),
        (count, Some(best)) => format!("Consistent with {count} forms; first of them {}.", best.substance),
        (_, None) => String::new(),
    };
    let mut blocks = vec![Block::Claim(verdict)];
    let mut table = Table::new(&[
        ("read as", Align::Left),
        ("figure taken", Align::Left),
        ("off, %", Align::Point),
        ("would be, % pure", Align::Point),
        ("", Align::Left),
        ("name", Align::Left),
    ]);
    for reading in answer.readings.iter().take(READINGS) {
        let percent = |value: Option<f64>| Cell::text(value.map_or_else(String::new, |v| number::significant(v, 3)));
        table.push(vec![
            Cell::text(reading.substance.clone()),
            Cell::text(reading.basis),
            percent(reading.explains_within_percent),
            percent(reading.implied_purity_percent),
            Cell::text(if reading.plausible { "fits" } else { "does not fit" }),
            Cell::text(reading.names.first().cloned().unwrap_or_default()),
        ]);
    }
    if !answer.readings.is_empty() {
        blocks.push(Block::Table(table));
    }
    for c in &answer.contents {
        let high = c.high.map_or_else(|| "no upper end".to_owned(), |h| number::significant(h, 4));
        blocks.push(Block::Paragraph(format!(
            "States {} ({}): {} {}, {} to {high} by its digits.",
            c.element,
            c.basis,
            number::significant(c.value, 4),
            c.unit,
            number::significant(c.low, 4)
        )));
    }
    if !answer.findings.is_empty() {
        blocks.extend(findings::section(&answer.findings));
    }
    Document { title: format!("Label: {}", answer.text), blocks }
}
