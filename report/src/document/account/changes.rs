//! What corrections changed: before and after, side by side.

use crate::document::sheet::when;
use crate::document::{Align, Block, Cell, Table};
use crate::number;
use prep::outcome::{Account, Change, ChangedQuote};

pub(in crate::document) fn changes(account: &Account) -> Vec<Block> {
    if account.changes.is_empty() {
        return Vec::new();
    }
    let mut blocks = vec![Block::Heading("What corrections changed".to_owned())];
    for change in &account.changes {
        blocks.push(Block::Paragraph(told(change)));
        blocks.push(Block::Table(table(change)));
    }
    blocks.push(Block::Paragraph(
        "Both sides are live views with all other corrections standing; the first figures stay in the record."
            .to_owned(),
    ));
    blocks
}

fn told(change: &Change) -> String {
    let why: Vec<String> = change.reason.iter().cloned().chain(change.at.as_deref().map(when)).collect();
    let why = if why.is_empty() { String::new() } else { format!(" ({})", why.join(", ")) };
    format!("{} in place of {}: {} after {}{why}.", change.reading, change.corrects, change.to, change.from)
}

fn table(change: &Change) -> Table {
    let mut table = Table::new(&[
        ("", Align::Left),
        ("before", Align::Point),
        ("9 in 10", Align::Point),
        ("after", Align::Point),
        ("9 in 10", Align::Point),
    ]);
    for lot in &change.lots {
        table.push(vec![
            Cell::text(format!("{} in {}, g", lot.element, lot.lot)),
            Cell::text(number::mean_bare(&lot.before)),
            Cell::text(number::interval_bare(&lot.before)),
            Cell::text(number::mean_bare(&lot.after)),
            Cell::text(number::interval_bare(&lot.after)),
        ]);
    }
    if let Some((before, after)) = &change.overall {
        table.push(vec![
            Cell::text("yield from feed to product, %"),
            Cell::text(number::percent_bare(before)),
            Cell::text(number::percent_ends(before)),
            Cell::text(number::percent_bare(after)),
            Cell::text(number::percent_ends(after)),
        ]);
    }
    for quoted in &change.quoted {
        let figure = |figure: &Option<prep::outcome::Figure>| {
            Cell::text(figure.as_ref().map_or_else(|| "not quoted".to_owned(), number::figure_bare))
        };
        let (before, after) = (figure(&quoted.before), figure(&quoted.after));
        table.push(vec![Cell::text(name(quoted)), before, Cell::blank(), after, Cell::blank()]);
    }
    table
}

fn name(quoted: &ChangedQuote) -> String {
    let how = if quoted.method.contains("ignition") { "residue as" } else { "taken for" };
    format!("quoted: {}, {how} {}, %", quoted.lot, quoted.as_formula)
}
