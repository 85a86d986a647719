//! What is wrong with the text of a quantity, and what would be right?

use std::fmt;

use crate::unit::Dimension;

/// An error that points at the bytes of the text it is about.
#[derive(Clone, Debug, PartialEq)]
pub struct QuantityError {
    /// First byte of the offending text.
    pub offset: usize,
    /// Length of the offending text in bytes; zero where something is missing.
    pub length: usize,
    /// What is wrong.
    pub kind: QuantityErrorKind,
}

impl QuantityError {
    pub(crate) fn new(offset: usize, length: usize, kind: QuantityErrorKind) -> QuantityError {
        QuantityError { offset, length, kind }
    }

    /// The same error in a longer text in which the quantity starts at `by`.
    pub fn shifted(self, by: usize) -> QuantityError {
        QuantityError { offset: self.offset.saturating_add(by), ..self }
    }
}

/// What is wrong, with the offending values.
#[derive(Clone, Debug, PartialEq)]
pub enum QuantityErrorKind {
    /// No text.
    Empty,
    /// More bytes than a quantity may have.
    TooLong {
        /// Largest number of bytes.
        limit: usize,
    },
    /// A number was expected.
    NoNumber(String),
    /// A number that cannot be read.
    BadNumber(String),
    /// A number too large or too small for a double.
    OutOfRange(String),
    /// A separator between thousands, or one that may be.
    Thousands(String),
    /// `±` without a number or with a negative one.
    BadUncertainty(String),
    /// An uncertainty in another unit than the value.
    UnitsDiffer {
        /// Unit of the value.
        first: String,
        /// The other unit.
        second: String,
    },
    /// A range whose bounds are not in order.
    RangeOrder {
        /// First bound.
        low: f64,
        /// Second bound.
        high: f64,
    },
    /// A range with uncertain bounds, or a limit with one.
    UncertainBound,
    /// A hyphen between two numbers.
    RangeHyphen,
    /// A unit that is not known.
    UnknownUnit {
        /// The unit as written.
        unit: String,
        /// The nearest known unit.
        suggestion: Option<String>,
    },
    /// Drops, spoons and the like.
    NoMeasure(String),
    /// Equivalents, which count charges and not a substance.
    Equivalents(String),
    /// A unit of more bytes than one may have.
    UnitTooLong(String),
    /// A factor of a unit is missing.
    MissingUnit(String),
    /// `a/b c`.
    AmbiguousQuotient(String),
    /// A bracket in a unit that is never closed.
    UnclosedUnit,
    /// An exponent that is no whole number from −9 to 9.
    BadExponent,
    /// A temperature below absolute zero.
    BelowAbsoluteZero(String),
    /// A quantity of another dimension than wanted.
    WrongDimension {
        /// The quantity as written.
        text: String,
        /// What is wanted.
        expected: Dimension,
        /// What was found.
        found: Dimension,
    },
}

impl fmt::Display for QuantityError {
    fn fmt(&self, formatter: &mut fmt::Formatter<'_>) -> fmt::Result {
        self.kind.fmt(formatter)
    }
}

impl std::error::Error for QuantityError {}

impl fmt::Display for QuantityErrorKind {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::Empty => write!(f, "expected a quantity, found nothing; write e.g. `50.00 g`"),
            Self::TooLong { limit } => {
                write!(f, "a quantity has at most {limit} bytes; write the number and its unit alone")
            }
            Self::NoNumber(text) if text.is_empty() => write!(f, "a number is missing; write e.g. `50.00 g`"),
            Self::NoNumber(text) => write!(f, "expected a number, found `{text}`; write e.g. `50.00 g`"),
            Self::BadNumber(text) => {
                write!(f, "`{text}` is no number; write e.g. `50.00` or `1e-3`")
            }
            Self::OutOfRange(text) => write!(f, "`{text}` is out of range; check the exponent and the unit"),
            Self::Thousands(text) => {
                // What stands after the last mark is decimals if both marks occur.
                let both = text.contains(',') && text.contains('.');
                let whole =
                    if both { text.rsplit_once(['.', ',']).map_or(text.as_str(), |(whole, _)| whole) } else { text };
                let plain: String = whole.chars().filter(char::is_ascii_digit).collect();
                write!(f, "`{text}` may hold a thousands separator; write `{plain}`, or a decimal point `.`")
            }
            Self::BadUncertainty(text) => {
                write!(f, "`{text}` is no uncertainty; write e.g. `24.41 ± 0.06 g`")
            }
            Self::UnitsDiffer { first, second } => {
                write!(f, "`{first}` and `{second}` differ; write one unit, at the end")
            }
            Self::RangeOrder { low, high } => {
                write!(f, "{low} .. {high} is no range; the smaller bound comes first and the bounds differ")
            }
            Self::UncertainBound => write!(f, "a range or limit has no `±`; write plain bounds"),
            Self::RangeHyphen => write!(f, "a hyphen between numbers; write a range as `98 .. 100 %`"),
            other => other.fmt_unit(f),
        }
    }
}

impl QuantityErrorKind {
    /// Messages about units.
    fn fmt_unit(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::UnknownUnit { unit, suggestion: Some(suggestion) } => {
                write!(f, "unknown unit `{unit}`; did you mean `{suggestion}`?")
            }
            Self::UnknownUnit { unit, suggestion: None } => {
                write!(f, "unknown unit `{unit}`; write e.g. `g`, `mL`, `mol/L`, `°C`")
            }
            Self::Equivalents(word) => {
                write!(f, "`{word}` counts charges: divide by the charge of the ion and give mmol")
            }
            Self::NoMeasure(word) => write!(f, "a {} is no measure; weigh it, or give mL", word.trim_end_matches('s')),
            Self::UnitTooLong(unit) => write!(f, "`{unit}…` is too long for a unit; write e.g. `g`, `mL`, `mol/L`"),
            Self::MissingUnit(found) if found.is_empty() => {
                write!(f, "a unit is missing at the end; write e.g. `50.00 g`")
            }
            Self::MissingUnit(found) => write!(f, "expected a unit, found `{found}`; write e.g. `50.00 g`"),
            Self::AmbiguousQuotient(unit) => {
                write!(f, "`{unit}` can be read two ways; put brackets, e.g. `J/(mol K)`")
            }
            Self::UnclosedUnit => write!(f, "opening bracket `(` in the unit is never closed; write `)`"),
            Self::BadExponent => write!(f, "the exponent of a unit is a whole number from -9 to 9, e.g. `cm3`, `m^-3`"),
            Self::BelowAbsoluteZero(text) => write!(f, "`{text}` is below absolute zero; check the sign and the unit"),
            Self::WrongDimension { text, expected, found } => {
                write!(f, "`{text}` is {}; {} is wanted", found.name(), expected.name())?;
                match expected.example() {
                    Some(example) => write!(f, ", e.g. `{example}`"),
                    None => Ok(()),
                }
            }
            _ => Ok(()),
        }
    }
}
