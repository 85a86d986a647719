//! How far has the text of a formula been read, and what comes next?
//!
//! A cursor over the bytes of the text; it never leaves the text and never stands within a character.

use super::error::{FormulaError, FormulaErrorKind as Kind};

/// Text of a formula and how far it has been read.
#[derive(Clone, Copy)]
pub(super) struct Reader<'a> {
    pub text: &'a str,
    pub position: usize,
}

impl<'a> Reader<'a> {
    /// What has not been read.
    pub(super) fn rest(&self) -> &'a str {
        self.text.get(self.position..).unwrap_or("")
    }

    /// The next character.
    pub(super) fn peek(&self) -> Option<char> {
        self.rest().chars().next()
    }

    /// Whether all has been read.
    pub(super) fn at_end(&self) -> bool {
        self.rest().is_empty()
    }

    /// Takes one character.
    pub(super) fn bump(&mut self) {
        self.position += self.peek().map_or(0, char::len_utf8);
    }

    /// Takes spaces.
    pub(super) fn skip_space(&mut self) {
        self.position += self.rest().len() - self.rest().trim_start().len();
    }

    /// Text taken while `accept` holds.
    pub(super) fn take_while(&mut self, accept: impl Fn(char) -> bool) -> &'a str {
        let rest = self.rest();
        let length = rest.find(|letter| !accept(letter)).unwrap_or(rest.len());
        self.position += length;
        rest.get(..length).unwrap_or("")
    }

    /// An error about the text since `start`.
    pub(super) fn error_since(&self, start: usize, kind: Kind) -> FormulaError {
        FormulaError::new(start, self.position.saturating_sub(start), kind)
    }

    /// An error about the next character.
    pub(super) fn error_here(&self, kind: Kind) -> FormulaError {
        FormulaError::new(self.position, self.peek().map_or(0, char::len_utf8), kind)
    }

    /// The text since `start`.
    pub(super) fn since(&self, start: usize) -> &'a str {
        self.text.get(start..self.position).unwrap_or("")
    }

    /// Digits taken.
    pub(super) fn digits(&mut self) -> &'a str {
        self.take_while(|letter| letter.is_ascii_digit())
    }
}
