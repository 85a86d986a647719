//! How is the charge at the end of a formula read?
//!
//! `^2-`, `^-2`, `^{2-}`, `²⁻`, `²-`, `(2-)`, `--`, `-2` and `-` are charges wherever they end a formula. Digits before a
//! plain sign are one where they cannot be a count: after a gap (`SO4 2-`), after a subscript (`SO₄2-`) and after a
//! complex ion in square brackets (`[Fe(CN)6]4-`).

use super::error::{FormulaError, FormulaErrorKind as Kind};
use super::letters::{sign_of, superscript_digit, superscript_sign};
use super::reader::Reader;

/// Largest charge number.
const CHARGE_LIMIT: i32 = 99;

/// Digits and signs of a charge as read.
struct Written {
    digits: String,
    signs: Vec<i32>,
}

impl Reader<'_> {
    /// The charge at the end; zero where none is written.
    pub(super) fn charge(&mut self) -> Result<i32, FormulaError> {
        let gap = self.position;
        if self.peek().is_some_and(char::is_whitespace) {
            self.skip_space();
            if !self.is_digits_and_signs() {
                self.position = gap;
                return Ok(0);
            }
        }
        let start = self.position;
        let written = match self.peek() {
            Some('^') => {
                self.bump();
                self.raised_charge()
            }
            Some('(') if self.bracketed_charge() => {
                self.bump();
                let written = self.plain_charge();
                self.bump();
                written
            }
            Some(letter) if letter.is_ascii_digit() && self.is_digits_and_signs() => self.plain_charge(),
            Some(letter) if sign_of(letter).is_some() => self.plain_charge(),
            Some(letter) if superscript_digit(letter).is_some() || superscript_sign(letter).is_some() => {
                let digits = self.take_while(|c| superscript_digit(c).is_some());
                let digits = digits.chars().filter_map(superscript_digit).collect();
                Written { digits, signs: self.signs(|c| superscript_sign(c).or_else(|| sign_of(c))) }
            }
            _ => return Ok(0),
        };
        self.charge_number(start, &written)
    }

    fn charge_number(&self, start: usize, written: &Written) -> Result<i32, FormulaError> {
        let Written { digits, signs } = written;
        let Some(sign) = signs.first().copied() else {
            return Err(self.error_since(start, Kind::IncompleteCharge));
        };
        if signs.iter().any(|other| *other != sign) || (signs.len() > 1 && !digits.is_empty()) {
            return Err(self.error_since(start, Kind::IncompleteCharge));
        }
        let number = if digits.is_empty() { i32::try_from(signs.len()).ok() } else { digits.parse().ok() };
        match number {
            Some(0) => Err(self.error_since(start, Kind::ZeroCount)),
            Some(number) if number <= CHARGE_LIMIT => Ok(sign * number),
            _ => Err(self.error_since(start, Kind::ChargeTooLarge { limit: CHARGE_LIMIT })),
        }
    }

    /// What follows a caret, with or without brackets around it.
    fn raised_charge(&mut self) -> Written {
        let close = match self.peek() {
            Some('{') => '}',
            Some('(') => ')',
            _ => return self.plain_charge(),
        };
        let before = *self;
        self.bump();
        let written = self.plain_charge();
        if self.peek() == Some(close) {
            self.bump();
            return written;
        }
        *self = before;
        Written { digits: String::new(), signs: Vec::new() }
    }

    /// `2-`, `-`, `--` or `-2`.
    fn plain_charge(&mut self) -> Written {
        let before = self.digits().to_owned();
        let signs = self.signs(sign_of);
        if !before.is_empty() || signs.len() != 1 {
            return Written { digits: before, signs };
        }
        Written { digits: self.digits().to_owned(), signs }
    }

    fn signs(&mut self, sign: impl Fn(char) -> Option<i32>) -> Vec<i32> {
        self.take_while(|letter| sign(letter).is_some()).chars().filter_map(sign).collect()
    }

    /// Whether `2-` comes next.
    fn is_digits_and_signs(&self) -> bool {
        let signs = self.rest().trim_start_matches(|letter: char| letter.is_ascii_digit());
        signs.len() < self.rest().len() && signs.starts_with(|letter| sign_of(letter).is_some())
    }

    /// Whether `(2-)` or `(+)` comes next.
    pub(super) fn bracketed_charge(&self) -> bool {
        let inner = self.rest().strip_prefix('(').and_then(|rest| rest.split_once(')')).map(|(inner, _)| inner);
        inner.is_some_and(|inner| {
            inner.contains(|letter| sign_of(letter).is_some())
                && inner.chars().all(|letter| letter.is_ascii_digit() || sign_of(letter).is_some())
        })
    }
}
