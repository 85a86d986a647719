//! What is printed on every plan and every account, whatever they say?

use super::Block;

/// The standing lines of every plan and account.
pub const STANDING_LINES: [&str; 6] = prep::screen::STANDING;

/// The standing lines as the closing section.
pub(super) fn standing() -> [Block; 2] {
    [
        Block::Heading("Standing lines".to_owned()),
        Block::List(STANDING_LINES.iter().map(|line| (*line).to_owned()).collect()),
    ]
}
