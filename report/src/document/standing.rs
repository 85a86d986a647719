//! What is printed on every plan and every account, whatever they say?

use super::Block;

/// The standing lines of every plan and account.
pub const STANDING_LINES: [&str; 4] = [
    "Computed for the amounts given; other amounts heat, foam and vent differently.",
    "What else the retail product contains is not known: the label speaks for its main content only.",
    "The supplier's safety data sheet, local codes and licensed practice come first.",
    "This version does not yet screen hazards; absence of a caution does not show safety.",
];

/// The standing lines as the closing section.
pub(super) fn standing() -> [Block; 2] {
    [
        Block::Heading("Standing lines".to_owned()),
        Block::List(STANDING_LINES.iter().map(|line| (*line).to_owned()).collect()),
    ]
}
