//! How much is that, how sure is it, and on what footing?
//!
//! Quantities are read as people write them: a value with unit, perhaps with a standard uncertainty (coverage factor
//! 1), a range, or a limit. A range says only "between", a limit only "at least"; what distribution stands for them is
//! the business of the caller. Nothing is rounded; the last digit typed is remembered.

mod error;
mod parse;
mod sourced;

use std::fmt;
use std::str::FromStr;

pub use error::{QuantityError, QuantityErrorKind};
pub use sourced::{Basis, Sourced, Status};

pub use crate::unit::{Dimension, Unit};

/// What is known of a number, in one unit.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Value {
    /// One value, perhaps with its standard uncertainty.
    Point {
        /// The value.
        value: f64,
        /// Standard uncertainty, ≥ 0, if given.
        standard_uncertainty: Option<f64>,
    },
    /// Between two bounds.
    Range {
        /// Lower bound.
        low: f64,
        /// Upper bound.
        high: f64,
    },
    /// Not less than this.
    AtLeast(f64),
    /// Not more than this.
    AtMost(f64),
}

impl Value {
    /// The value of a point, the middle of a range, the bound of a limit.
    pub fn central(self) -> f64 {
        match self {
            Value::Point { value, .. } => value,
            Value::Range { low, high } => low + (high - low) / 2.0,
            Value::AtLeast(bound) | Value::AtMost(bound) => bound,
        }
    }

    /// The standard uncertainty of a point, if given.
    pub fn standard_uncertainty(self) -> Option<f64> {
        match self {
            Value::Point { standard_uncertainty, .. } => standard_uncertainty,
            _ => None,
        }
    }

    /// Every number through `value`, every uncertainty times `factor`.
    fn map(self, value: impl Fn(f64) -> f64, factor: f64) -> Value {
        match self {
            Value::Point { value: point, standard_uncertainty } => Value::Point {
                value: value(point),
                standard_uncertainty: standard_uncertainty.map(|uncertainty| uncertainty * factor),
            },
            Value::Range { low, high } => Value::Range { low: value(low), high: value(high) },
            Value::AtLeast(bound) => Value::AtLeast(value(bound)),
            Value::AtMost(bound) => Value::AtMost(value(bound)),
        }
    }

    /// The least number it can be, as far as it is bounded below; a point is its own bound.
    pub fn lower_bound(self) -> Option<f64> {
        match self {
            Value::Point { value, .. } => Some(value),
            Value::Range { low, .. } => Some(low),
            Value::AtLeast(bound) => Some(bound),
            Value::AtMost(_) => None,
        }
    }

    /// The largest number it can be, as far as it is bounded above; a point is its own bound.
    pub fn upper_bound(self) -> Option<f64> {
        match self {
            Value::Point { value, .. } => Some(value),
            Value::Range { high, .. } => Some(high),
            Value::AtMost(bound) => Some(bound),
            Value::AtLeast(_) => None,
        }
    }
}

/// A quantity as typed: value, unit and the place of its last digit.
#[derive(Clone, Debug, PartialEq)]
pub struct Quantity {
    /// What is known, in `unit`.
    pub value: Value,
    /// The unit as typed.
    pub unit: Unit,
    /// Value of one unit in the last digit typed, in `unit`; of the lower bound for a range.
    pub last_place: f64,
    /// The text as typed, trimmed.
    pub text: String,
}

impl Quantity {
    /// Reads a quantity.
    ///
    /// * `50.00 g`, `1,5 L` (decimal comma), `1e-3 mol`, `−5 °C`, `0.5` (a pure number);
    /// * with standard uncertainty: `24.41 ± 0.06 g`, `24.41 +/- 0.06 g`, `24.41(6) g`, `24.41 g ± 0.5 %` (relative);
    /// * ranges `98 .. 100 %`, `98–100 %`; limits `>= 98 %`, `≥ 98 %`, `<= 0.5 %` (`>` and `<` mean the same).
    ///
    /// # Errors
    /// [`QuantityError`] with the place in `text` and what would be right: unknown units, thousands separators, numbers
    /// beyond the range of doubles, bounds in the wrong order, temperatures below absolute zero.
    ///
    /// ```
    /// use chem::{Quantity, Value};
    /// let copper = Quantity::parse("24.41(6) g")?;
    /// assert_eq!(copper.to_string(), "24.41 ± 0.06 g");
    /// assert_eq!(copper.last_place, 0.01);
    /// assert_eq!(Quantity::parse("98 .. 100 %")?.value, Value::Range { low: 98.0, high: 100.0 });
    /// # Ok::<(), chem::QuantityError>(())
    /// ```
    pub fn parse(text: &str) -> Result<Quantity, QuantityError> {
        parse::parse(text)
    }

    /// Reads a quantity that must have a dimension.
    ///
    /// # Errors
    /// As [`Quantity::parse`], and `WrongDimension` pointing at the whole text.
    ///
    /// ```
    /// use chem::{Dimension, Quantity};
    /// let error = Quantity::parse_as("100 mL", Dimension::MASS).err().ok_or("accepted")?;
    /// assert_eq!(error.to_string(), "`100 mL` is a volume; a mass is wanted, e.g. `100 g`");
    /// # Ok::<(), &str>(())
    /// ```
    pub fn parse_as(text: &str, dimension: Dimension) -> Result<Quantity, QuantityError> {
        let start = text.len() - text.trim_start().len();
        let quantity = Quantity::parse(text)?;
        quantity.expect(dimension).map_err(|error| error.shifted(start))?;
        Ok(quantity)
    }

    /// What its unit measures.
    pub fn dimension(&self) -> Dimension {
        self.unit.dimension
    }

    /// The value in coherent SI units (kg, m³, mol, K, Pa, J …; 1 for a fraction).
    pub fn si(&self) -> Value {
        self.value.map(|value| self.unit.to_si(value), self.unit.factor)
    }

    /// One unit in the last digit typed, in coherent SI units.
    pub fn si_last_place(&self) -> f64 {
        self.last_place * self.unit.factor
    }

    /// The quantity itself if it has the wanted dimension.
    ///
    /// # Errors
    /// `WrongDimension` naming both.
    pub fn expect(&self, dimension: Dimension) -> Result<&Quantity, QuantityError> {
        if self.dimension() == dimension {
            return Ok(self);
        }
        let text = self.text.clone();
        let kind = QuantityErrorKind::WrongDimension { text, expected: dimension, found: self.dimension() };
        Err(QuantityError::new(0, self.text.len(), kind))
    }

    /// Whether any number it allows for is below zero in the unit typed; an uncertainty does not make it so.
    pub fn is_negative(&self) -> bool {
        match self.value {
            Value::Point { value, .. } => value < 0.0,
            Value::Range { low, .. } => low < 0.0,
            Value::AtLeast(bound) | Value::AtMost(bound) => bound < 0.0,
        }
    }

    /// Whether it is one value, without range or limit.
    pub fn is_point(&self) -> bool {
        matches!(self.value, Value::Point { .. })
    }
}

impl FromStr for Quantity {
    type Err = QuantityError;
    fn from_str(text: &str) -> Result<Quantity, QuantityError> {
        Quantity::parse(text)
    }
}

/// A number with the digits of its last place where that loses nothing, else with all its digits.
fn number_text(number: f64, last_place: f64) -> String {
    let place = -last_place.log10().round();
    if (0.0..=15.0).contains(&place) {
        let fixed = format!("{number:.*}", place as usize);
        if fixed.parse() == Ok(number) && fixed.len() < 30 {
            return fixed;
        }
    }
    if (-300.0..0.0).contains(&place) && number != 0.0 {
        // `1.2e4` keeps a last place of 1000.
        let digits = (number.abs().log10().floor() + place).max(0.0) as usize;
        let scientific = format!("{number:.*e}", digits.min(17));
        if scientific.parse() == Ok(number) {
            return scientific;
        }
    }
    if number == 0.0 || (1e-5..1e15).contains(&number.abs()) { format!("{number}") } else { format!("{number:e}") }
}

impl fmt::Display for Quantity {
    /// One spelling, which reads back as the same value and unit: `24.41 ± 0.06 g`.
    fn fmt(&self, formatter: &mut fmt::Formatter<'_>) -> fmt::Result {
        let number = |number: f64| number_text(number, self.last_place);
        let value = match self.value {
            Value::Point { value, standard_uncertainty: None } => number(value),
            Value::Point { value, standard_uncertainty: Some(u) } => format!("{} ± {}", number(value), number(u)),
            Value::Range { low, high } => format!("{} .. {}", number(low), number(high)),
            Value::AtLeast(bound) => format!(">= {}", number(bound)),
            Value::AtMost(bound) => format!("<= {}", number(bound)),
        };
        let space = if self.unit.text.is_empty() { "" } else { " " };
        formatter.pad(&format!("{value}{space}{}", self.unit))
    }
}
