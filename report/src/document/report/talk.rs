//! What would one say, or write under a picture, without saying too much?
//!
//! Figures are rounded to one digit of their uncertainty, percentages to whole ones where the uncertainty is half of one
//! or more; each sentence carries its status in a word. What the evidence does not carry is said as such.

use super::{Written, paper};
use crate::document::account::by_ignition;
use crate::document::paper::Paper;
use crate::document::{Block, element_name, evidence_words, listed};
use crate::figure::{Figure, flow_figure, levels_figure, yields_figure};
use crate::number;
use prep::outcome::Interval;

/// Mass below which nothing is there, g: rounding of the arithmetic.
const NOTHING: f64 = 1e-9;

/// The figures and sentences for a talk or a recording.
#[must_use]
pub fn talk(written: &Written<'_>) -> Paper {
    let account = written.account;
    let mut blocks = vec![Block::Heading("Before anything is shown".to_owned())];
    match written.plan.screening.gravest.as_slice() {
        [] => blocks.push(Block::Paragraph("No caution for the steps and amounts listed.".to_owned())),
        list => {
            blocks.extend(list.iter().map(|text| Block::Caution(format!("{} (derived).", text.trim_end_matches('.')))))
        }
    }
    blocks.push(Block::List(vec![
        "Show the display of the balance, empty vessel and full, and say on which basis the mass is: as weighed, dried at what, for how long.".to_owned(),
    ]));
    blocks.push(Block::Heading("To say".to_owned()));
    blocks.push(Block::List(sentences(written)));
    blocks.push(Block::Heading("Not to say".to_owned()));
    blocks.push(Block::List(unsaid(written)));
    blocks.push(Block::Heading("To show".to_owned()));
    let mut figures: Vec<Figure> = yields_figure(account).into_iter().collect();
    figures.extend(account.elements.iter().filter_map(|element| flow_figure(account, element)));
    figures.extend(account.levels.iter().map(levels_figure));
    blocks.extend(figures.into_iter().map(|mut figure| {
        figure.title += " (derived)";
        Block::Figure(Box::new(figure))
    }));
    let mut paper = paper(written, "For a talk", blocks);
    paper.attachments.clear();
    paper
}

fn said(interval: &Interval) -> String {
    match interval.unit {
        "%" => percent(interval.mean, interval.standard_uncertainty),
        unit => number::unit(&number::said(interval.mean, interval.standard_uncertainty), unit),
    }
}

/// A percentage for the ear: whole ones where the uncertainty is half of one or more.
fn percent(value: f64, uncertainty: f64) -> String {
    let told = match uncertainty >= 0.5 {
        true => number::at_place(value, Some(uncertainty.max(1.0)), 0),
        false => number::said(value, uncertainty),
    };
    number::unit(&told, "%")
}

fn sentences(written: &Written<'_>) -> Vec<String> {
    let account = written.account;
    let mut list: Vec<String> = Vec::new();
    for reading in written.record.readings.iter().filter(|r| !r.test && r.corrected_by.is_none()) {
        let whole = account.lots.iter().any(|lot| lot.id == reading.what) && reading.vessel.is_none();
        if let Some(figure) = reading.figure.as_ref().filter(|_| whole) {
            list.push(format!("{} of {}, as displayed (measured).", number::tied(figure), reading.what));
        }
    }
    if let Some(yields) = &account.yields {
        for quoted in yields.quoted.iter().filter(|quoted| by_ignition(quoted) && quoted.doubt.is_none()) {
            list.push(format!(
                "{} holds {} {} by ignition of a portion, if the residue is pure {}; that is {} of the label (derived).",
                crate::document::sentence(&quoted.lot),
                number::unit(&number::said(quoted.element_mass.value, quoted.element_mass.standard_uncertainty.unwrap_or(0.0)), "g"),
                yields.element,
                quoted.as_formula,
                percent(quoted.percent.value, quoted.percent.standard_uncertainty.unwrap_or(0.0)),
            ));
        }
        list.push(format!(
            "From feed to product, {} of the {} was kept (derived).",
            said(&yields.overall),
            element_name(&yields.element)
        ));
        for stream in account.streams.iter().filter(|stream| stream.name == "lost" || stream.name == "liquor") {
            if let Some((_, mass)) = stream.elements.iter().find(|(symbol, _)| *symbol == yields.element) {
                let place = if stream.name == "lost" { "in films, spills and dust" } else { "in the liquor" };
                let told = if mass.high <= NOTHING { "None".to_owned() } else { said(mass) };
                list.push(format!("{told} of it went {place} (derived)."));
            }
        }
    }
    for claim in account.claim.iter().flat_map(|claim| &claim.parts) {
        if let Some(found) = &claim.found {
            list.push(format!("Instead of “{}”: {} (derived).", claim.text, said(found)));
        }
    }
    if list.is_empty() {
        list.push("Nothing yet: no yield is accounted.".to_owned());
    }
    list
}

fn unsaid(written: &Written<'_>) -> Vec<String> {
    let account = written.account;
    let mut list: Vec<String> = Vec::new();
    for quoted in account.yields.iter().flat_map(|yields| &yields.quoted).filter(|quoted| !by_ignition(quoted)) {
        list.push(format!(
            "“{} yield” from the mass of {} taken for {}: it stands on that formula alone (assumed).",
            number::unit(&number::fixed(quoted.percent.value, 0), "%"),
            quoted.lot,
            quoted.as_formula
        ));
    }
    let excluded = evidence_words::excluded_levels(&account.levels);
    if !excluded.is_empty() {
        list.push(format!("That it is {}: excluded.", listed(&excluded)));
    }
    for group in evidence_words::groups(&account.hypotheses).iter().filter(|group| group.len() > 1) {
        list.push(format!("Which of these it is: {}. Say “consistent with”.", group.join("; ")));
    }
    if list.is_empty() {
        list.push("That it is identified or pure: no test of identity was made.".to_owned());
    }
    list
}
