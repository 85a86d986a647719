//! Which unit is meant, what does it measure, and what is it in SI?
//!
//! Units are read at run time from what people type at the bench; a unit is a vector of exponents (its dimension), a
//! factor to the coherent SI unit, and for °C and °F an offset. Within products and quotients °C is a difference, so
//! it counts as K. Currencies are dimensions of their own, because nothing here converts one into another.

mod dimension;
mod symbols;

use std::fmt;

pub use dimension::Dimension;
use dimension::EXPONENT_LIMIT;
use symbols::{known_symbol, unknown};

use crate::quantity::{QuantityError, QuantityErrorKind as Kind};

/// Longest unit in bytes.
const LENGTH_LIMIT: usize = 60;

/// A unit as typed, with its meaning: SI value = value × factor + offset.
///
/// ```
/// use chem::{Dimension, Unit};
/// let unit = Unit::parse("g/100 mL")?;
/// assert_eq!(unit.dimension, Dimension::DENSITY);
/// assert!((unit.factor - 10.0).abs() < 1e-12);
/// let error = Unit::parse("gr").err().ok_or("read nonsense")?;
/// assert_eq!(error.to_string(), "unknown unit `gr`; did you mean `g`?");
/// # Ok::<(), Box<dyn std::error::Error>>(())
/// ```
#[derive(Clone, Debug, PartialEq)]
pub struct Unit {
    /// The text as typed, trimmed; empty for a pure number.
    pub text: String,
    /// What it measures.
    pub dimension: Dimension,
    /// Factor to the coherent SI unit.
    pub factor: f64,
    /// What is added after the factor; zero but for °C and °F.
    pub offset: f64,
}

impl Unit {
    /// The unit of a pure number.
    pub fn one() -> Unit {
        Unit { text: String::new(), dimension: Dimension::DIMENSIONLESS, factor: 1.0, offset: 0.0 }
    }

    /// Reads a unit: a symbol (`g`, `mL`, `°C`), or a product or quotient of symbols with exponents and numbers
    /// (`kJ/mol`, `g/100 mL`, `J/(mol K)`, `cm3`, `m^-3`). After `/` a product needs brackets.
    ///
    /// # Errors
    /// [`QuantityError`] with the place in `text`, for unknown units with the nearest known one.
    pub fn parse(text: &str) -> Result<Unit, QuantityError> {
        let trimmed = text.trim();
        let start = text.len() - text.trim_start().len();
        if trimmed.len() > LENGTH_LIMIT {
            let shown: String = trimmed.chars().take(20).collect();
            return Err(QuantityError::new(start, trimmed.len(), Kind::UnitTooLong(shown)));
        }
        if trimmed.is_empty() {
            return Ok(Unit::one());
        }
        if let Some(symbol) = known_symbol(trimmed) {
            return Ok(Unit { text: trimmed.to_owned(), ..symbol.unit() });
        }
        let mut reader = Reader { text: trimmed, position: 0 };
        let (dimension, factor) = reader.quotient(0).map_err(|error| error.shifted(start))?;
        if !factor.is_normal() {
            return Err(QuantityError::new(start, trimmed.len(), Kind::OutOfRange(trimmed.to_owned())));
        }
        Ok(Unit { text: trimmed.to_owned(), dimension, factor, offset: 0.0 })
    }

    /// A value in this unit as an SI value.
    pub fn to_si(&self, value: f64) -> f64 {
        value * self.factor + self.offset
    }

    /// An SI value in this unit.
    pub fn from_si(&self, value: f64) -> f64 {
        (value - self.offset) / self.factor
    }
}

impl fmt::Display for Unit {
    fn fmt(&self, formatter: &mut fmt::Formatter<'_>) -> fmt::Result {
        formatter.pad(&self.text)
    }
}

struct Reader<'a> {
    text: &'a str,
    position: usize,
}

impl<'a> Reader<'a> {
    fn rest(&self) -> &'a str {
        self.text.get(self.position..).unwrap_or("")
    }

    fn peek(&self) -> Option<char> {
        self.rest().chars().next()
    }

    fn bump(&mut self) {
        self.position += self.peek().map_or(0, char::len_utf8);
    }

    fn skip_space(&mut self) {
        self.position += self.rest().len() - self.rest().trim_start().len();
    }

    fn error_since(&self, start: usize, kind: Kind) -> QuantityError {
        QuantityError::new(start, self.position.saturating_sub(start), kind)
    }

    /// Factors joined by `·`, `*`, a space or `/`.
    fn quotient(&mut self, depth: usize) -> Result<(Dimension, f64), QuantityError> {
        let (mut dimension, mut factor) = self.factor(depth)?;
        let mut divided = false;
        loop {
            self.skip_space();
            match self.peek() {
                None => return Ok((dimension, factor)),
                Some(')') if depth > 0 => return Ok((dimension, factor)),
                Some('/') => {
                    self.bump();
                    self.skip_space();
                    let number = self.number()?;
                    let (other, times) = self.factor(depth)?;
                    dimension = dimension - other;
                    factor /= times * number;
                    divided = true;
                }
                Some(_) if divided => {
                    let whole = self.text.to_owned();
                    return Err(QuantityError::new(self.position, self.rest().len(), Kind::AmbiguousQuotient(whole)));
                }
                Some(letter) => {
                    if matches!(letter, '·' | '*' | '⋅') {
                        self.bump();
                        self.skip_space();
                    }
                    let (other, times) = self.factor(depth)?;
                    dimension = dimension + other;
                    factor *= times;
                }
            }
        }
    }

    /// A plain number in a denominator, as in `g/100 mL`; one where none stands.
    fn number(&mut self) -> Result<f64, QuantityError> {
        let start = self.position;
        let rest = self.rest();
        let length = rest.find(|letter: char| !letter.is_ascii_digit()).unwrap_or(rest.len());
        if length == 0 {
            return Ok(1.0);
        }
        self.position += length;
        let digits = rest.get(..length).unwrap_or("");
        let number: f64 = digits.parse().unwrap_or(0.0);
        if number < 1.0 || length > 6 {
            return Err(self.error_since(start, Kind::BadNumber(digits.chars().take(20).collect())));
        }
        self.skip_space();
        Ok(number)
    }

    /// A symbol or bracket with its exponent.
    fn factor(&mut self, depth: usize) -> Result<(Dimension, f64), QuantityError> {
        let start = self.position;
        let (dimension, factor) = if self.peek() == Some('(') && depth < 4 {
            self.bump();
            self.skip_space();
            let inner = self.quotient(depth + 1)?;
            if self.peek() != Some(')') {
                return Err(QuantityError::new(start, 1, Kind::UnclosedUnit));
            }
            self.bump();
            inner
        } else {
            self.symbol()?
        };
        let power = self.power()?;
        let raised = dimension.power(power);
        let raised = raised.ok_or_else(|| self.error_since(start, Kind::OutOfRange(self.text.to_owned())))?;
        Ok((raised, factor.powi(i32::from(power))))
    }

    fn symbol(&mut self) -> Result<(Dimension, f64), QuantityError> {
        let start = self.position;
        let rest = self.rest();
        let is_end = |letter: char| {
            letter.is_ascii_digit()
                || letter.is_whitespace()
                || matches!(letter, '/' | '·' | '⋅' | '*' | '^' | '(' | ')' | '-' | '−' | '²' | '³' | '⁻' | '¹')
        };
        let length = rest.find(is_end).unwrap_or(rest.len());
        let word = rest.get(..length).unwrap_or("");
        self.position += length;
        if word.is_empty() {
            let found = rest.chars().next().map(String::from).unwrap_or_default();
            return Err(QuantityError::new(start, found.len(), Kind::MissingUnit(found)));
        }
        match known_symbol(word) {
            Some(symbol) => Ok((symbol.dimension, symbol.factor)),
            None => Err(self.error_since(start, unknown(word))),
        }
    }

    /// The exponent behind a symbol: `3`, `^3`, `^-1`, `-1`, `³`, `⁻¹`; one where none stands.
    fn power(&mut self) -> Result<i8, QuantityError> {
        let start = self.position;
        if self.peek() == Some('^') {
            self.bump();
        }
        let explicit = self.position > start;
        let negative = matches!(self.peek(), Some('-' | '−' | '⁻'));
        if negative {
            self.bump();
        }
        let digit = self.peek().and_then(|letter| match letter {
            '¹' => Some(1),
            '²' => Some(2),
            '³' => Some(3),
            digit => digit.to_digit(10).and_then(|value| i8::try_from(value).ok()),
        });
        match digit {
            Some(value) if (1..=EXPONENT_LIMIT).contains(&value) => {
                self.bump();
                Ok(if negative { -value } else { value })
            }
            None if !explicit && !negative => Ok(1),
            _ => {
                self.bump();
                Err(self.error_since(start, Kind::BadExponent))
            }
        }
    }
}
