//! How is the text of a quantity read?
//!
//! Sign or limit, number, uncertainty or second bound, unit. A comma is a decimal comma unless it may be a thousands
//! separator (one to three digits, not just zero, then exactly three), which is refused.

use super::error::{QuantityError, QuantityErrorKind as Kind};
use super::{Quantity, Value};
use crate::unit::{Dimension, Unit};

/// Longest quantity in bytes.
const LENGTH_LIMIT: usize = 200;

/// A number as typed.
#[derive(Clone, Copy)]
struct Number {
    value: f64,
    last_place: f64,
    /// Standard uncertainty in brackets.
    concise: Option<f64>,
}

enum Second {
    None,
    Uncertainty(Number),
    Bound(Number),
}

pub(super) fn parse(text: &str) -> Result<Quantity, QuantityError> {
    if text.len() > LENGTH_LIMIT {
        return Err(QuantityError::new(0, text.len(), Kind::TooLong { limit: LENGTH_LIMIT }));
    }
    let mut reader = Reader { text, position: 0 };
    reader.skip_space();
    if reader.rest().is_empty() {
        return Err(QuantityError::new(0, text.len(), Kind::Empty));
    }
    let limit = reader.limit();
    let first = reader.number()?;
    let first_unit = reader.unit_before_second()?;
    let second = reader.second()?;
    let unit_start = reader.position + (reader.rest().len() - reader.rest().trim_start().len());
    let last_unit = Unit::parse(reader.rest()).map_err(|error| error.shifted(reader.position))?;
    let (value, unit) = combine(first, second, first_unit, last_unit).map_err(|(kind, whole)| {
        let start = if whole { 0 } else { unit_start };
        QuantityError::new(start, text.len().saturating_sub(start), kind)
    })?;
    let value = apply_limit(limit, value).map_err(|kind| QuantityError::new(0, text.len(), kind))?;
    check(Quantity { value, unit, last_place: first.last_place, text: text.trim().to_owned() })
}

/// Value and unit from the pieces; errors say whether they are about the whole text.
fn combine(first: Number, second: Second, first_unit: Option<Unit>, last: Unit) -> Result<(Value, Unit), (Kind, bool)> {
    let is_fraction = |unit: &Unit| unit.dimension == Dimension::DIMENSIONLESS;
    let (unit, scale) = match first_unit {
        None => (last, 1.0),
        Some(unit) if unit.text == last.text => (unit, 1.0),
        // `24.41 g ± 0.5 %`: relative to the value.
        Some(unit)
            if matches!(second, Second::Uncertainty(_))
                && !is_fraction(&unit)
                && is_fraction(&last)
                && !last.text.is_empty() =>
        {
            (unit, last.factor * first.value.abs())
        }
        Some(unit) => {
            return Err((Kind::UnitsDiffer { first: unit.text, second: last.text }, false));
        }
    };
    let value = match second {
        Second::None => Value::Point { value: first.value, standard_uncertainty: first.concise },
        Second::Uncertainty(_) if first.concise.is_some() => {
            return Err((Kind::BadUncertainty("both brackets and ±".to_owned()), true));
        }
        Second::Uncertainty(number) => {
            Value::Point { value: first.value, standard_uncertainty: Some(number.value * scale) }
        }
        Second::Bound(bound) => {
            if first.concise.is_some() || bound.concise.is_some() {
                return Err((Kind::UncertainBound, true));
            }
            let (low, high) = (first.value, bound.value);
            if low >= high {
                return Err((Kind::RangeOrder { low, high }, true));
            }
            Value::Range { low, high }
        }
    };
    Ok((value, unit))
}

#[derive(Clone, Copy, PartialEq)]
enum Limit {
    None,
    AtLeast,
    AtMost,
}

fn apply_limit(limit: Limit, value: Value) -> Result<Value, Kind> {
    match (limit, value) {
        (Limit::None, value) => Ok(value),
        (Limit::AtLeast, Value::Point { value, standard_uncertainty: None }) => Ok(Value::AtLeast(value)),
        (Limit::AtMost, Value::Point { value, standard_uncertainty: None }) => Ok(Value::AtMost(value)),
        _ => Err(Kind::UncertainBound),
    }
}

/// Refuses what is finite as typed but not in SI units, and temperatures below absolute zero.
fn check(quantity: Quantity) -> Result<Quantity, QuantityError> {
    let whole = |kind: fn(String) -> Kind| QuantityError::new(0, quantity.text.len(), kind(quantity.text.clone()));
    let si = quantity.si();
    let bounds = [si.lower_bound(), si.upper_bound(), si.standard_uncertainty()];
    if bounds.iter().flatten().any(|number| !number.is_finite()) {
        return Err(whole(Kind::OutOfRange));
    }
    let lowest = si.lower_bound().or(si.upper_bound());
    if quantity.unit.offset != 0.0 && lowest.is_some_and(|kelvin| kelvin < -1e-9) {
        return Err(whole(Kind::BelowAbsoluteZero));
    }
    Ok(quantity)
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

    fn take_prefix(&mut self, prefixes: &[&str]) -> bool {
        let found = prefixes.iter().find(|prefix| self.rest().starts_with(**prefix));
        self.position += found.map_or(0, |prefix| prefix.len());
        found.is_some()
    }

    fn error_since(&self, start: usize, kind: fn(String) -> Kind) -> QuantityError {
        let text = self.text.get(start..self.position).unwrap_or("").to_owned();
        QuantityError::new(start, self.position.saturating_sub(start), kind(text))
    }

    fn limit(&mut self) -> Limit {
        let limit = if self.take_prefix(&[">=", "=>", "≥", "⩾", ">"]) {
            Limit::AtLeast
        } else if self.take_prefix(&["<=", "=<", "≤", "⩽", "<"]) {
            Limit::AtMost
        } else {
            Limit::None
        };
        self.skip_space();
        limit
    }

    fn digits(&mut self) -> &'a str {
        let rest = self.rest();
        let length = rest.find(|letter: char| !letter.is_ascii_digit()).unwrap_or(rest.len());
        self.position += length;
        rest.get(..length).unwrap_or("")
    }

    /// The separator at the reader, if a digit follows it.
    fn separator(&self, accepted: &[char]) -> Option<char> {
        let mut letters = self.rest().chars();
        letters.next().filter(|letter| accepted.contains(letter) && letters.next().is_some_and(|c| c.is_ascii_digit()))
    }

    /// Whole and decimal digits of a number; refuses thousands separators.
    fn mantissa(&mut self, start: usize) -> Result<(&'a str, &'a str), QuantityError> {
        let whole = self.digits();
        if self.separator(&['\'', '’', '_', ' ', '\u{a0}', '\u{202f}']).is_some() {
            return Err(self.thousands(start));
        }
        let mut places = "";
        let mut comma = false;
        if !self.rest().starts_with("..") && self.peek().is_some_and(|letter| letter == '.' || letter == ',') {
            comma = self.peek() == Some(',');
            self.bump();
            places = self.digits();
        }
        if whole.is_empty() && places.is_empty() {
            self.position = start;
            let found: String = self.rest().chars().take(12).collect();
            return Err(QuantityError::new(start, found.len(), Kind::NoNumber(found)));
        }
        let may_be_thousands = comma && places.len() == 3 && (1..=3).contains(&whole.len()) && whole != "0";
        if may_be_thousands || self.separator(&[',', '.', '\'', '’', '_', ' ', '\u{a0}', '\u{202f}']).is_some() {
            return Err(self.thousands(start));
        }
        Ok((whole, places))
    }

    fn thousands(&mut self, start: usize) -> QuantityError {
        let rest = self.rest();
        let is_part =
            |c: char| c.is_ascii_digit() || matches!(c, ',' | '.' | '\'' | '’' | '_' | ' ' | '\u{a0}' | '\u{202f}');
        let length = rest.find(|letter| !is_part(letter)).unwrap_or(rest.len());
        self.position += rest.get(..length).unwrap_or("").trim_end().len();
        self.error_since(start, Kind::Thousands)
    }

    fn number(&mut self) -> Result<Number, QuantityError> {
        let start = self.position;
        let negative = self.take_prefix(&["-", "−"]);
        if !negative {
            self.take_prefix(&["+"]);
        }
        let (whole, places) = self.mantissa(start)?;
        let exponent = self.exponent(start)?;
        let digits = format!("{whole}.{places}0e{exponent}");
        let sign = if negative { -1.0 } else { 1.0 };
        let value = sign * digits.parse::<f64>().map_err(|_| self.error_since(start, Kind::BadNumber))?;
        let is_zero = whole.chars().chain(places.chars()).all(|digit| digit == '0');
        let power = exponent.saturating_sub(places.len() as i32);
        let last_place: f64 = format!("1e{power}").parse().unwrap_or(0.0);
        if !value.is_finite() || (value == 0.0 && !is_zero) || !last_place.is_normal() {
            return Err(self.error_since(start, Kind::OutOfRange));
        }
        let concise = self.concise(last_place)?;
        Ok(Number { value, last_place, concise })
    }

    /// Power of ten behind `e`; zero where none stands.
    fn exponent(&mut self, start: usize) -> Result<i32, QuantityError> {
        let mut letters = self.rest().chars();
        let is_exponent =
            matches!(letters.next(), Some('e' | 'E')) && matches!(letters.next(), Some('0'..='9' | '+' | '-' | '−'));
        if !is_exponent {
            return Ok(0);
        }
        self.bump();
        let negative = self.take_prefix(&["-", "−"]);
        if !negative {
            self.take_prefix(&["+"]);
        }
        let digits = self.digits();
        if digits.is_empty() {
            return Err(self.error_since(start, Kind::BadNumber));
        }
        let size: i32 =
            digits.parse().ok().filter(|size| *size <= 999).ok_or_else(|| self.error_since(start, Kind::OutOfRange))?;
        Ok(if negative { -size } else { size })
    }

    /// Uncertainty in brackets, in units of the last digit.
    fn concise(&mut self, last_place: f64) -> Result<Option<f64>, QuantityError> {
        let start = self.position;
        if !self.take_prefix(&["("]) {
            return Ok(None);
        }
        let digits = self.digits();
        if digits.is_empty() || digits.len() > 9 || !self.take_prefix(&[")"]) {
            return Err(self.error_since(start, Kind::BadUncertainty));
        }
        // Through the text, so that (6) after two decimals is exactly 0.06.
        let place = last_place.log10().round() as i32;
        let uncertainty: f64 =
            format!("{digits}e{place}").parse().map_err(|_| self.error_since(start, Kind::BadUncertainty))?;
        Ok(Some(uncertainty).filter(|u| u.is_finite()))
    }

    /// A unit that stands before `±` or `..`; none where no such mark follows.
    fn unit_before_second(&mut self) -> Result<Option<Unit>, QuantityError> {
        let rest = self.rest();
        let mark = ["±", "+/-", "+-", "..", "…"].iter().filter_map(|mark| rest.find(mark)).min();
        let Some(before) = mark.and_then(|at| rest.get(..at)).filter(|before| !before.trim().is_empty()) else {
            return Ok(None);
        };
        let unit = Unit::parse(before).map_err(|error| error.shifted(self.position))?;
        self.position += before.len();
        Ok(Some(unit))
    }

    /// What follows `±` or `..`.
    fn second(&mut self) -> Result<Second, QuantityError> {
        let before = self.position;
        self.skip_space();
        let start = self.position;
        if self.take_prefix(&["±", "+/-", "+-"]) {
            self.skip_space();
            let number = self.number()?;
            if number.value < 0.0 || number.concise.is_some() {
                return Err(self.error_since(start, Kind::BadUncertainty));
            }
            return Ok(Second::Uncertainty(number));
        }
        if self.take_prefix(&["...", "..", "…", "–"]) {
            self.skip_space();
            return Ok(Second::Bound(self.number()?));
        }
        if self.rest().trim_start_matches('-').trim_start().starts_with(|c: char| c.is_ascii_digit()) {
            let length = self.rest().len();
            let kind = if self.rest().starts_with('-') {
                Kind::RangeHyphen
            } else {
                Kind::BadNumber(self.text.trim().to_owned())
            };
            return Err(QuantityError::new(start, length, kind));
        }
        self.position = before;
        Ok(Second::None)
    }
}
