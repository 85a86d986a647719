//! The sentences a reader takes away.

use super::by_ignition;
use crate::document::{Block, element_name, evidence_words, listed, sentence};
use crate::number;

/// Beginning of the identifier of a hypothesis that a reading is a slip.
const SLIP: &str = "slip-";
/// Words for the only composition that the file allows.
const AS_LISTED: &str = "as listed in the file";
use prep::outcome::{Account, LotAccount, QuotedYield, StepYield};

/// Verdict: content and yield by ignition, the same from the account, what is excluded and what is left open.
pub(in crate::document) fn verdict(account: &Account) -> Vec<Block> {
    let mut blocks = Vec::new();
    if let Some(yields) = &account.yields {
        let ignitions = yields.quoted.iter().filter(|quoted| by_ignition(quoted));
        blocks.extend(ignitions.map(|quoted| Block::Claim(ignition(account, quoted, &yields.element))));
    }
    blocks.extend(accounted(account));
    blocks.push(Block::Paragraph(composition(account)));
    blocks
}

/// Element content and yield by ignition, conditional on a pure residue, against the label alone.
fn ignition(account: &Account, quoted: &QuotedYield, element: &str) -> String {
    let name = account.lots.iter().find(|lot| lot.id == quoted.lot).map_or(&quoted.lot, |lot| &lot.name);
    if let Some(doubt) = quoted.doubt.clone().or_else(|| discarded(account, &quoted.readings)) {
        return format!(
            "The ignition of a portion of {name} would make it {} {element}, {}: that cannot be, for {doubt}.",
            number::figure(&quoted.element_mass),
            number::figure(&quoted.percent),
        );
    }
    let condition = match quoted.method.ends_with("pure") {
        true => format!("{} {}", quoted.method, quoted.as_formula),
        false => format!("{}, residue taken for pure {}", quoted.method, quoted.as_formula),
    };
    format!(
        "{} holds {} {element} by {condition}: {} of the {} on the label.",
        sentence(name),
        number::figure(&quoted.element_mass),
        number::figure(&quoted.percent),
        element_name(element),
    )
}

/// Why a test is not believed: the account takes one of its readings for a slip.
fn discarded(account: &Account, readings: &[String]) -> Option<String> {
    let slip = taken_for_a_slip(account)?;
    readings.contains(&slip).then(|| format!("the account takes reading {slip} for a slip"))
}

/// The reading that the account stands without, if any.
fn taken_for_a_slip(account: &Account) -> Option<String> {
    let slip = account.hypotheses.iter().find(|h| h.probability > 0.5 && h.id.starts_with(SLIP))?;
    Some(slip.id[SLIP.len()..].to_owned())
}

/// What the account says of the same lots, and of the whole preparation.
fn accounted(account: &Account) -> Vec<Block> {
    let Some(yields) = &account.yields else {
        return vec![Block::Claim("No yield: nothing that was charged holds the element.".to_owned())];
    };
    let mut blocks: Vec<Block> = judged_lots(account)
        .filter_map(|lot| accounted_lot(lot, &yields.element, &yields.steps))
        .map(Block::Claim)
        .collect();
    let (overall, range) = (number::mean(&yields.overall), number::interval(&yields.overall));
    let range = if range == overall { String::new() } else { format!(" ({range})") };
    blocks.push(Block::Claim(format!("Yield from feed to product, counted in {}: {overall}{range}.", yields.element)));
    blocks
}

/// The lots that a quoted yield speaks of.
fn judged_lots(account: &Account) -> impl Iterator<Item = &LotAccount> {
    account.lots.iter().filter(|lot| {
        let quoted = account.yields.iter().flat_map(|yields| &yields.quoted);
        quoted.into_iter().any(|quoted| quoted.lot == lot.id)
    })
}

fn accounted_lot(lot: &LotAccount, element: &str, steps: &[StepYield]) -> Option<String> {
    let mass = &lot.elements.iter().find(|content| content.element == element)?.mass;
    let so_far = steps
        .iter()
        .find(|step| step.name == lot.step)
        .map(|step| format!("; yield up to this step {}", number::mean(&step.cumulative)))
        .unwrap_or_default();
    Some(format!(
        "By the account, {} holds {} {element} ({}){so_far}.",
        lot.name,
        number::mean(mass),
        number::interval(mass)
    ))
}

/// What is excluded, and what the readings leave open: never more than "consistent with".
fn composition(account: &Account) -> String {
    let slip = taken_for_a_slip(account);
    let believed = |level: &&prep::outcome::LossLevel| slip.as_ref().is_none_or(|slip| !level.readings.contains(slip));
    let levels: Vec<prep::outcome::LossLevel> = account.levels.iter().filter(believed).cloned().collect();
    let excluded = evidence_words::excluded_levels(&levels);
    let groups = evidence_words::groups(&account.hypotheses);
    let mut sentences = Vec::new();
    if !excluded.is_empty() {
        sentences.push(format!("Excluded as the whole of it: {}.", listed(&excluded)));
    }
    if let Some(slip) = &slip {
        sentences.push(format!("What follows leaves reading {slip} out, which is taken for a slip."));
    }
    let ill = account.findings.iter().any(|f| f.code == "nothing-fits");
    let impossible = account.findings.iter().any(|f| f.code == "impossible-mass");
    for (rank, group) in groups.iter().enumerate() {
        sentences.push(match (rank, group.as_slice()) {
            (0, _) if ill => "Nothing that the file lists fits the readings well: see the findings.".to_owned(),
            (_, _) if ill => continue,
            (0, [only]) if only == AS_LISTED && impossible => {
                "What the file lists can be fitted only with foreign matter in it: see the findings.".to_owned()
            }
            (0, [only]) if only == AS_LISTED => "The readings are consistent with what the file lists.".to_owned(),
            (0, [only]) => format!("The readings are consistent with {only}."),
            (0, several) => format!("The readings cannot tell these apart: {}.", several.join("; ")),
            (_, [only]) => format!("Also consistent, fitting less well: {only}."),
            (_, several) => {
                format!("Also consistent, fitting less well, not to be told apart: {}.", several.join("; "))
            }
        });
    }
    match (groups.len(), groups.first().map_or(0, Vec::len)) {
        (0, _) if account.hypotheses.is_empty() => {
            sentences.push("No alternative composition was asked for (may_hold).".to_owned());
        }
        (0, _) => sentences.push("None of the compositions allowed fits the readings.".to_owned()),
        (1, 1) => {}
        _ => sentences.insert(0, "Composition not established; the element content is.".to_owned()),
    }
    sentences.join(" ")
}
