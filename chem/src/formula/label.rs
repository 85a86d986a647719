//! How is an isotope named in a formula?
//!
//! `D` and `T`; a mass number and a symbol in brackets, `[18O]` or `(18O)`; a mass number first in a bracketed group,
//! `[13CH3]`; a raised mass number, `^18O` or `¹⁸O`; and a mass number of two or three digits first in the whole
//! formula, `13CO2`, where a coefficient has no place. Only isotopes of the table ([`crate::isotope`]) are read.

use super::error::{FormulaError, FormulaErrorKind as Kind};
use super::letters::superscript_digit;
use super::reader::Reader;
use crate::isotope::Isotope;

impl Reader<'_> {
    /// Whether a raised mass number comes next: `^18O` or `¹⁸O`, not the charge of `SO4^2-`.
    pub(super) fn raised_label(&self) -> bool {
        let raised = self.rest().starts_with('^') || self.rest().starts_with(|c| superscript_digit(c).is_some());
        raised && self.labels_next()
    }

    /// Whether a mass number and a capital letter come next.
    pub(super) fn labels_next(&self) -> bool {
        let mut ahead = *self;
        !ahead.mass_number().is_empty() && ahead.peek().is_some_and(|letter| letter.is_ascii_uppercase())
    }

    /// The digits of a mass number, raised or not.
    fn mass_number(&mut self) -> String {
        if self.peek() == Some('^') {
            self.bump();
            return self.digits().to_owned();
        }
        let raised = self.take_while(|letter| superscript_digit(letter).is_some());
        if raised.is_empty() {
            self.digits().to_owned()
        } else {
            raised.chars().filter_map(superscript_digit).collect()
        }
    }

    /// A mass number and the symbol behind it.
    pub(super) fn isotope(&mut self) -> Result<Isotope, FormulaError> {
        let start = self.position;
        let digits = self.mass_number();
        let (element, own) = self.element()?;
        let found = digits.parse().ok().and_then(|mass_number| Isotope::new(element, mass_number));
        match (found, own) {
            // `[2D]` says it twice, `[3D]` contradicts itself.
            (_, Some(own)) if found != Some(own) => {
                Err(self.error_since(start, Kind::Isotope(self.since(start).to_owned())))
            }
            (Some(isotope), _) => Ok(isotope),
            (None, _) => Err(self.error_since(start, Kind::UnknownIsotope { mass_number: digits, element })),
        }
    }

    /// `[18O]` or `(18O)`; nothing is taken where something else comes next.
    pub(super) fn bracketed_isotope(&mut self) -> Result<Option<Isotope>, FormulaError> {
        let mut ahead = *self;
        let close = if ahead.peek() == Some('[') { ']' } else { ')' };
        if ahead.peek() == Some('{') {
            return Ok(None);
        }
        ahead.bump();
        if !ahead.labels_next() {
            return Ok(None);
        }
        let isotope = ahead.isotope()?;
        if ahead.peek() != Some(close) {
            return Ok(None);
        }
        ahead.bump();
        *self = ahead;
        Ok(Some(isotope))
    }

    /// The isotope a number at the start of the formula names, with the length of number and symbol: `13CO2`, not
    /// `2H2O`, in which the number is more likely a coefficient.
    pub(super) fn leading_label(&self) -> Option<(Isotope, usize)> {
        let mut ahead = *self;
        if !self.peek().is_some_and(|letter| letter.is_ascii_digit()) || !self.labels_next() {
            return None;
        }
        let isotope = ahead.isotope().ok().filter(|isotope| isotope.mass_number() > 9)?;
        Some((isotope, ahead.position - self.position))
    }

    /// The error for a mass number without the symbol of an element behind it.
    pub(super) fn no_label(&self) -> FormulaError {
        let end = |letter: char| letter.is_whitespace() || matches!(letter, ')' | ']' | '}');
        let length = self.rest().find(end).unwrap_or(self.rest().len());
        let text = self.rest().get(..length).unwrap_or("").to_owned();
        FormulaError::new(self.position, length, Kind::Isotope(text))
    }
}
