//! Titres: what they say, and which source of uncertainty weighs most.

use super::{Align, Block, Cell, Document, Table, findings, standing};
use crate::number;
use prep::outcome::TitrateAnswer;

/// The answer as a page.
#[must_use]
pub fn titrate_document(answer: &TitrateAnswer) -> Document {
    let mut blocks = vec![Block::Claim(verdict(answer))];
    let scatter = answer.scatter.map_or_else(String::new, |s| {
        format!(" Single titres scatter by {}.", number::unit(&number::significant(s, 2), "mL"))
    });
    let mut facts = format!(
        "Mean titre less the blank {}; titrant {}.{scatter}",
        number::figure(&answer.titre),
        number::figure(&answer.strength)
    );
    if let Some(next) = answer.weigh_next {
        facts += &format!(
            " Weigh in {} next time, for four fifths of the burette.",
            number::unit(&number::significant(next, 3), "g")
        );
    }
    blocks.push(Block::Paragraph(facts));
    blocks.extend(shares(answer));
    blocks.extend(findings::section(&answer.findings));
    blocks.push(Block::Paragraph(
        "± is one standard uncertainty. The end point seen by eye is taken to 0.1 % (common practice); a burette to its largest permitted error, as a rectangle."
            .to_owned(),
    ));
    blocks.extend(standing::standing());
    Document { title: "What do these titres say?".to_owned(), blocks }
}

fn verdict(answer: &TitrateAnswer) -> String {
    match (&answer.fraction, &answer.mass, &answer.amount) {
        (Some(fraction), Some((name, mass)), _) => {
            format!("The sample holds {} {name}: {} of it.", number::figure(mass), number::figure(fraction))
        }
        (_, Some((name, mass)), _) => format!("Found: {} {name}.", number::figure(mass)),
        (_, None, Some(amount)) => format!("Found: {} of what reacts with the titrant.", number::figure(amount)),
        _ => format!("The titrant is {}.", number::figure(&answer.strength)),
    }
}

/// Share of each source in the variance, the largest first.
fn shares(answer: &TitrateAnswer) -> Vec<Block> {
    if answer.shares.is_empty() {
        return Vec::new();
    }
    let mut table = Table::new(&[("source of uncertainty", Align::Left), ("share of the variance, %", Align::Point)]);
    for (name, share) in &answer.shares {
        table.push(vec![Cell::text(name.clone()), Cell::text(number::fixed(100.0 * share, 1))]);
    }
    vec![Block::Heading("Where the uncertainty comes from".to_owned()), Block::Table(table)]
}
