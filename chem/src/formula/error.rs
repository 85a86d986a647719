//! What is wrong with the text of a formula, a species or a hydrate family, and what would be right?

use std::fmt;

use crate::element::Element;
use crate::isotope::Isotope;

/// An error that points at the bytes of the text it is about.
#[derive(Clone, Debug, PartialEq)]
pub struct FormulaError {
    /// First byte of the offending text.
    pub offset: usize,
    /// Length of the offending text in bytes; zero where something is missing.
    pub length: usize,
    /// What is wrong.
    pub kind: FormulaErrorKind,
}

impl FormulaError {
    pub(crate) fn new(offset: usize, length: usize, kind: FormulaErrorKind) -> FormulaError {
        FormulaError { offset, length, kind }
    }

    /// The same error in a longer text in which the formula starts at `by`.
    pub fn shifted(self, by: usize) -> FormulaError {
        FormulaError { offset: self.offset.saturating_add(by), ..self }
    }
}

/// What is wrong, with the offending values.
#[derive(Clone, Debug, PartialEq)]
pub enum FormulaErrorKind {
    /// No text.
    Empty,
    /// More bytes than a formula may have.
    TooLong {
        /// Largest number of bytes.
        limit: usize,
    },
    /// Brackets nested deeper than the limit.
    TooDeep {
        /// Deepest nesting.
        limit: usize,
    },
    /// A symbol that no element has.
    UnknownElement {
        /// The symbol as written.
        symbol: String,
        /// The nearest symbol.
        suggestion: Option<Element>,
    },
    /// A closing bracket without its opening one.
    Unopened(char),
    /// An opening bracket that is never closed.
    Unclosed(char),
    /// A closing bracket of another shape than the opening one.
    Mismatched {
        /// The opening bracket.
        open: char,
        /// The closing bracket.
        close: char,
    },
    /// Brackets with nothing in them.
    EmptyBrackets,
    /// Nothing follows a hydrate dot.
    NothingAfterDot,
    /// Nothing stands before a hydrate dot.
    NothingBeforeDot,
    /// A count of zero.
    ZeroCount,
    /// A count that begins with zero.
    LeadingZero(String),
    /// A number with too many digits.
    NumberTooLarge(String),
    /// Nested counts whose product is too large or too finely divided to be kept exactly.
    CountsOutOfRange,
    /// A number that cannot be read, such as `8/` or `1/0`.
    BadNumber(String),
    /// A number and nothing else.
    LoneNumber(String),
    /// A number before a formula that has no hydrate dot.
    LeadingNumber(String),
    /// A mass number without the symbol of an element.
    Isotope(String),
    /// A mass number that the table has not for this element.
    UnknownIsotope {
        /// The mass number as written.
        mass_number: String,
        /// The element.
        element: Element,
    },
    /// A number before a formula with a hydrate dot that may be a mass number or count the first part.
    AmbiguousLabel(Isotope),
    /// A dot between digits that may be a decimal point or a hydrate dot.
    AmbiguousDot {
        /// Digits before the dot.
        before: String,
        /// Digits after the dot.
        after: String,
    },
    /// Digits before a plain sign: a count or a charge.
    AmbiguousCharge {
        /// The formula without digits and sign.
        formula: String,
        /// The digits.
        digits: String,
        /// The sign.
        sign: char,
    },
    /// `^` without a sign.
    IncompleteCharge,
    /// A charge beyond the limit.
    ChargeTooLarge {
        /// Largest charge number.
        limit: i32,
    },
    /// Text after the charge.
    TextAfterCharge(String),
    /// A space within the formula.
    Space,
    /// A character that no formula holds.
    Unexpected(char),
    /// A bracket at the end that is no phase.
    UnknownPhase(String),
    /// The formula holds an element without a standard atomic weight.
    NoAtomicWeight(Element),
    /// `n` water without a range, or a range without `n` water.
    FamilyWithoutRange,
    /// The range of `n` cannot be read.
    FamilyRange(String),
    /// The bounds of `n` are negative or not in order.
    FamilyOrder {
        /// Lower bound.
        low: f64,
        /// Upper bound.
        high: f64,
    },
}

impl fmt::Display for FormulaError {
    fn fmt(&self, formatter: &mut fmt::Formatter<'_>) -> fmt::Result {
        self.kind.fmt(formatter)
    }
}

impl std::error::Error for FormulaError {}

impl fmt::Display for FormulaErrorKind {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::Empty => write!(f, "expected a formula, found nothing; write e.g. `CuSO4·5H2O`"),
            Self::TooLong { limit } => write!(f, "a formula has at most {limit} bytes; write one substance"),
            Self::TooDeep { limit } => write!(f, "brackets are nested more than {limit} deep; multiply them out"),
            Self::UnknownElement { symbol, suggestion } => write_unknown(f, symbol, *suggestion),
            Self::Unopened(close) => write!(f, "closing `{close}` without opening; remove it or open it before"),
            Self::Unclosed(open) => write!(f, "opening bracket `{open}` is never closed; close it or remove it"),
            Self::Mismatched { open, close } => write!(f, "`{open}` is closed by `{close}`; use one shape of bracket"),
            Self::EmptyBrackets => write!(f, "nothing stands between the brackets; write the group or remove them"),
            Self::NothingAfterDot => write!(f, "nothing follows the hydrate dot; write the rest, e.g. `·5H2O`"),
            Self::NothingBeforeDot => {
                write!(f, "nothing stands before the hydrate dot; write the salt, e.g. `CuSO4·5H2O`")
            }
            Self::LeadingZero(digits) => {
                let letter = digits.trim_start_matches('0');
                write!(f, "a count does not begin with zero; is it the letter O, `O{letter}`?")
            }
            Self::ZeroCount => write!(f, "a count of zero; leave the element or group out"),
            Self::NumberTooLarge(text) => {
                write!(f, "`{text}` is out of range: at most 6 digits before and after the point")
            }
            Self::CountsOutOfRange => {
                write!(f, "the counts multiply to a number out of range; multiply them out and shorten it")
            }
            Self::BadNumber(text) => {
                write!(f, "`{text}` is no count; write e.g. `5`, `0.5` or `8/3`")
            }
            Self::LoneNumber(text) => {
                write!(f, "`{text}` is a number alone; a formula needs elements")
            }
            Self::UnknownPhase(text) => {
                write!(f, "`({text})` is no phase; write (s), (l), (g) or (aq)")
            }
            Self::NoAtomicWeight(element) => {
                write!(
                    f,
                    "{} ({element}) has no standard atomic weight, so no molar mass can be given; name a substance of other elements",
                    element.name()
                )
            }
            Self::Space => write!(f, "a space within the formula; close the gap"),
            Self::Unexpected(found) => {
                write!(f, "unexpected `{}` in a formula; write e.g. `CuSO4·5H2O`", found.escape_debug())
            }
            other => other.fmt_reading(f),
        }
    }
}

impl FormulaErrorKind {
    /// Messages about readings that would be a guess, charges and families.
    fn fmt_reading(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::LeadingNumber(text) => write!(
                f,
                "`{text}` before the formula: a coefficient belongs in an equation; an isotope is written e.g. `[18O]`"
            ),
            Self::Isotope(text) => {
                write!(f, "`{text}` is no isotope; write mass number and symbol, e.g. `[18O]`, or a charge, e.g. `^2-`")
            }
            Self::UnknownIsotope { mass_number, element } => write_unknown_isotope(f, mass_number, *element),
            Self::AmbiguousLabel(isotope) => {
                let (number, element) = (isotope.mass_number(), isotope.element());
                write!(
                    f,
                    "`{number}{element}` can be the isotope or {number} of the first part; write `[{number}{element}]` or bracket the part: `({element}…){number}`"
                )
            }
            Self::AmbiguousDot { before, after } => write!(
                f,
                "`{before}.{after}` can be a count or a hydrate dot; write `{before}·{after}` for the dot, `_{before}.{after}` for the count"
            ),
            Self::AmbiguousCharge { formula, digits, sign } => {
                let charge = if digits == "1" { String::new() } else { digits.clone() };
                write!(
                    f,
                    "`{digits}{sign}` can be a count or a charge; write `{formula}^{charge}{sign}` or `{formula}{digits}^{sign}`"
                )
            }
            Self::IncompleteCharge => write!(f, "a charge needs a sign; write e.g. `^2-` or `^+`"),
            Self::ChargeTooLarge { limit } => {
                write!(f, "a charge beyond {limit} is no charge of an ion; check the count")
            }
            Self::TextAfterCharge(text) => {
                write!(
                    f,
                    "`{text}` follows the charge; the charge ends the formula (in an equation, put spaces around ` + `)"
                )
            }
            Self::FamilyWithoutRange => {
                write!(f, "a hydrate family needs both `nH2O` and its range; write e.g. `CuSO4·nH2O(s), n = 0 .. 5`")
            }
            Self::FamilyRange(text) => {
                write!(f, "`{text}` is no range of n; write e.g. `n = 0 .. 1`")
            }
            Self::FamilyOrder { low, high } => {
                write!(f, "n = {low} .. {high} is no range; n is at least 0 and the smaller bound comes first")
            }
            _ => Ok(()),
        }
    }
}

fn write_unknown(f: &mut fmt::Formatter<'_>, symbol: &str, suggestion: Option<Element>) -> fmt::Result {
    if symbol == "e" {
        return write!(f, "`e` is no element; the electron is written `e-`");
    }
    write!(f, "`{symbol}` is no element")?;
    match suggestion {
        Some(element) => write!(f, "; did you mean `{element}`?"),
        None => write!(f, "; symbols start with a capital letter, e.g. `Cu`"),
    }
}

fn write_unknown_isotope(f: &mut fmt::Formatter<'_>, mass_number: &str, element: Element) -> fmt::Result {
    let known: Vec<String> = Isotope::of(element).map(|isotope| isotope.mass_number().to_string()).collect();
    write!(f, "the table has no {}-{mass_number}", element.name())?;
    if known.is_empty() { write!(f, "; leave the number out") } else { write!(f, "; it has {}", known.join(", ")) }
}
