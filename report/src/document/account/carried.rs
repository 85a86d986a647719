//! What the evidence carries: the claim, the budget of uncertainty, the next test.

use crate::document::{Align, Block, Cell, Table, listed, next};
use crate::number;
use prep::outcome::{Account, Budget, Claim, ClaimPart, Verdict};

/// Sources that the page names one by one.
const MOST_SOURCES: usize = 6;

/// The claim against the evidence; where it is too strong, what may be said instead.
pub(in crate::document) fn claim(account: &Account) -> Vec<Block> {
    let Some(claim) = &account.claim else { return Vec::new() };
    let mut blocks = vec![Block::Heading("The claim".to_owned()), Block::Claim(verdict(claim))];
    let mut table = Table::new(&[
        ("claimed", Align::Left),
        ("the account finds", Align::Left),
        ("holds with probability", Align::Point),
        ("", Align::Left),
    ]);
    for part in &claim.parts {
        let found = part
            .found
            .as_ref()
            .map_or_else(|| "not weighed".to_owned(), |f| format!("{} ({})", number::mean(f), number::interval(f)));
        let probability = if part.found.is_some() { number::chance(part.probability) } else { String::new() };
        table.push(vec![
            Cell::text(part.text.clone()),
            Cell::text(found),
            Cell::text(probability),
            Cell::text(part.verdict.word()),
        ]);
    }
    blocks.push(Block::Table(table));
    let why: Vec<String> =
        claim.parts.iter().filter_map(|part| Some(format!("“{}”: {}.", part.text, part.because.as_ref()?))).collect();
    if !why.is_empty() {
        blocks.push(Block::List(why));
    }
    blocks
}

fn verdict(claim: &Claim) -> String {
    let lead = match claim.verdict {
        Verdict::Supported => {
            return format!("The claim “{}”, of {}, is supported by the evidence.", claim.text, claim.lot);
        }
        Verdict::TooStrong => "is stronger than the evidence",
        Verdict::Refuted => "is refuted",
    };
    let instead: Vec<String> = claim.parts.iter().filter_map(supported).collect();
    let instead = if instead.is_empty() {
        "nothing of it may be said".to_owned()
    } else {
        format!("what may be said is {}", listed(&instead))
    };
    format!("The claim “{}”, of {}, {lead}; {instead}.", claim.text, claim.lot)
}

/// The strongest that may be said in place of a part.
fn supported(part: &ClaimPart) -> Option<String> {
    let found = part.found.as_ref()?;
    Some(format!("{} {}", number::mean(found), found.basis.as_deref().unwrap_or_default()))
}

/// What tests of portions found, beside the account.
pub(in crate::document) fn tests(account: &Account) -> Vec<Block> {
    if account.tests.is_empty() {
        return Vec::new();
    }
    let mut table = Table::new(&[
        ("test", Align::Left),
        ("", Align::Left),
        ("of", Align::Left),
        ("found", Align::Left),
        ("the account expects", Align::Left),
    ]);
    for test in &account.tests {
        table.push(vec![
            Cell::text(test.id.clone()),
            Cell::text(test.test.clone()),
            Cell::text(test.lot.clone()),
            Cell::text(test.found.clone()),
            Cell::text(test.account.as_ref().map_or_else(String::new, number::mean)),
        ]);
    }
    vec![Block::Heading("Tests of portions".to_owned()), Block::Table(table)]
}

/// Foreign solids in the books, what was expected of them beside what the account has.
pub(in crate::document) fn foreign(account: &Account) -> Vec<Block> {
    if account.foreign.is_empty() {
        return Vec::new();
    }
    let mut table = Table::new(&[
        ("solid", Align::Left),
        ("in step", Align::Left),
        ("expected, g", Align::Point),
        ("the account has, g", Align::Point),
        ("range, g", Align::Left),
        ("by", Align::Left),
    ]);
    for one in &account.foreign {
        let by = match (&one.expected, one.told) {
            (Some(_), true) => "the readings",
            (Some(_), false) => "the tables of solutions",
            (None, true) => "the readings, from the share stated",
            (None, false) => "the share stated in the file",
        };
        table.push(vec![
            Cell::text(one.solid.clone()),
            Cell::text(one.step.clone()),
            Cell::text(one.expected.as_ref().map_or_else(String::new, number::figure_bare)),
            Cell::text(number::mean_bare(&one.found)),
            Cell::text(number::interval_bare(&one.found)),
            Cell::text(by),
        ]);
    }
    let expected: Vec<&str> =
        account.foreign.iter().filter_map(|one| Some(one.expected.as_ref()?.status.word())).collect();
    let mut blocks = vec![Block::Heading("Solids that fell out beside".to_owned()), Block::Table(table)];
    if let Some(word) = expected.first() {
        blocks.push(Block::Paragraph(format!(
            "What is expected is {word} from constants of the tables of solutions; the plan says what it depends on."
        )));
    }
    blocks
}

/// Where the uncertainty of the results comes from.
pub(in crate::document) fn budgets(account: &Account) -> Vec<Block> {
    // What is exact by construction, a yield without any loss, has no uncertainty to share out.
    let open = |budget: &&Budget| !number::is_exact(budget.value, budget.standard_uncertainty);
    let budgets: Vec<&Budget> = account.budgets.iter().filter(open).collect();
    if budgets.is_empty() {
        return Vec::new();
    }
    let mut blocks = vec![Block::Heading("Where the uncertainty comes from".to_owned())];
    blocks.extend(budgets.into_iter().flat_map(budget));
    blocks.push(Block::Paragraph(
        "Shares of the variance to first order about the best fits; readings of one balance share its slope and bow, which stand on their own."
            .to_owned(),
    ));
    blocks
}

fn budget(budget: &Budget) -> Vec<Block> {
    // One digit more than the uncertainty itself: the differences are what it is about.
    let decimals = number::decimals_for(budget.standard_uncertainty).unwrap_or(2) + 1;
    let of = number::with_uncertainty(budget.value, Some(budget.standard_uncertainty));
    let mut table = Table::new(&[
        ("source", Align::Left),
        ("share, %", Align::Point),
        (&format!("± with it twice as good, {}", budget.unit), Align::Point),
    ]);
    let (shown, rest) = budget.shares.split_at(budget.shares.len().min(MOST_SOURCES));
    for share in shown {
        table.push(vec![
            Cell::text(share.source.clone()),
            Cell::text(number::fixed(100.0 * share.share, 1)),
            Cell::text(number::fixed(share.if_twice_as_good, decimals)),
        ]);
    }
    if !rest.is_empty() {
        let others: f64 = rest.iter().map(|share| share.share).sum();
        table.push(vec![
            Cell::text(if rest.len() == 1 { "1 other".to_owned() } else { format!("{} others", rest.len()) }),
            Cell::text(number::fixed(100.0 * others, 1)),
            Cell::blank(),
        ]);
    }
    let halved = match budget.halved_by.as_slice() {
        [] => "No few sources would halve it.".to_owned(),
        [only] => format!("It would halve if {only} were known perfectly."),
        several => format!("It would halve if these were known perfectly: {}.", listed(several)),
    };
    vec![
        Block::Subheading(format!("{}: {}", budget.what, number::unit(&of, budget.unit))),
        Block::Table(table),
        Block::Paragraph(halved),
    ]
}

/// Which test next, where the account asked.
pub(in crate::document) fn next_test(account: &Account) -> Vec<Block> {
    let Some(answer) = &account.next else { return Vec::new() };
    if answer.possibilities.is_empty() {
        return Vec::new();
    }
    let mut blocks = vec![Block::Heading("Which test next".to_owned())];
    blocks.extend(next::brief(answer));
    blocks
}
