//! How is a chemical equation read?
//!
//! Terms joined by `+` on two sides of an arrow, each with an optional coefficient. A `+` with a space before it
//! joins; a `+` attached to what stands before it is a charge when a space, an end, a phase or another `+` follows.

use std::fmt;
use std::str::FromStr;

use num_rational::Ratio;
use num_traits::{One, Zero};

use crate::formula::{FormulaErrorKind, fraction_text};
use crate::species::{Phase, Species};

/// Longest equation in bytes.
const LENGTH_LIMIT: usize = 4_000;
/// Most terms of an equation.
const TERM_LIMIT: usize = 60;
/// Most digits of a whole number in a coefficient.
const DIGIT_LIMIT: usize = 12;
/// Most decimals of a coefficient.
const DECIMAL_LIMIT: usize = 6;

/// The arrows; the longer ones first.
const ARROWS: [&str; 12] = ["<=>", "<->", "-->", "==>", "->", "=>", "→", "⟶", "⇌", "↔", "⇄", "="];

/// A species with its coefficient, as written.
#[derive(Clone, Debug, PartialEq)]
pub struct Term {
    /// Coefficient, > 0; one where none is written.
    pub coefficient: Ratio<i64>,
    /// Whether a coefficient is written.
    pub written: bool,
    /// The species.
    pub species: Species,
    /// First byte of the term in the text of the equation.
    pub offset: usize,
    /// Length of the term in bytes.
    pub length: usize,
}

/// A chemical equation as written, balanced or not.
#[derive(Clone, Debug, PartialEq)]
pub struct Equation {
    /// Terms before the arrow.
    pub left: Vec<Term>,
    /// Terms after the arrow.
    pub right: Vec<Term>,
}

/// An error that points at the bytes of the text it is about.
#[derive(Clone, Debug, PartialEq)]
pub struct EquationError {
    /// First byte of the offending text.
    pub offset: usize,
    /// Length of the offending text in bytes; zero where something is missing.
    pub length: usize,
    /// What is wrong.
    pub kind: EquationErrorKind,
}

/// What is wrong, with the offending values.
#[derive(Clone, Debug, PartialEq)]
pub enum EquationErrorKind {
    /// No text.
    Empty,
    /// More bytes than an equation may have.
    TooLong {
        /// Largest number of bytes.
        limit: usize,
    },
    /// More terms than an equation may have.
    TooManyTerms {
        /// Largest number of terms.
        limit: usize,
    },
    /// No arrow.
    NoArrow,
    /// A second arrow.
    SecondArrow(String),
    /// Nothing on one side of the arrow.
    EmptySide,
    /// Nothing between two plus signs, or beside one.
    EmptyTerm,
    /// A coefficient without a species.
    LoneCoefficient(String),
    /// A coefficient that is zero or cannot be read.
    BadCoefficient(String),
    /// A species that cannot be read.
    Species(FormulaErrorKind),
}

impl EquationError {
    fn new(offset: usize, length: usize, kind: EquationErrorKind) -> EquationError {
        EquationError { offset, length, kind }
    }

    /// The same error in a longer text in which the equation starts at `by`.
    pub fn shifted(self, by: usize) -> EquationError {
        EquationError { offset: self.offset.saturating_add(by), ..self }
    }
}

impl fmt::Display for EquationError {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match &self.kind {
            EquationErrorKind::Empty => {
                write!(f, "expected an equation, found nothing; write e.g. `CuO + H2 -> Cu + H2O`")
            }
            EquationErrorKind::TooLong { limit } => {
                write!(f, "an equation has at most {limit} bytes; write one reaction")
            }
            EquationErrorKind::TooManyTerms { limit } => {
                write!(f, "an equation has at most {limit} terms; write one reaction")
            }
            EquationErrorKind::NoArrow => write!(f, "an equation needs an arrow between its sides; write `->`"),
            EquationErrorKind::SecondArrow(arrow) => {
                write!(f, "a second arrow `{arrow}`; write one equation for each step")
            }
            EquationErrorKind::EmptySide => {
                write!(f, "one side of the arrow is empty; write what is consumed before it and what is made behind it")
            }
            EquationErrorKind::EmptyTerm => write!(f, "a species is missing beside `+`; write it or remove the `+`"),
            EquationErrorKind::LoneCoefficient(text) => {
                write!(f, "no species follows the coefficient `{text}`; write it or remove the number")
            }
            EquationErrorKind::BadCoefficient(text) => {
                write!(f, "`{text}` is no coefficient; write e.g. `2`, `0.5` or `3/2`")
            }
            EquationErrorKind::Species(kind) => kind.fmt(f),
        }
    }
}

impl std::error::Error for EquationError {}

impl Equation {
    /// Reads an equation such as `2 CuSO4(aq) + H2O(l) -> …`.
    ///
    /// Arrows: `->`, `→`, `=`, `⇌`, `<=>` and kin. A number before a species is its coefficient: whole, decimal or
    /// a fraction, with or without a space, so `2CaSO4·H2O` is two of CaSO4·H2O here (put a space and the number
    /// again, `1 2CaSO4·H2O`, for the formula that starts with 2). Species may stand on both sides.
    ///
    /// # Errors
    /// [`EquationError`] with the place in `text`.
    ///
    /// ```
    /// use chem::Equation;
    /// let equation = Equation::parse("MnO4^- + 8H+ + 5 e- -> Mn^2+ + 4 H2O")?;
    /// assert_eq!(equation.to_string(), "MnO4^- + 8 H^+ + 5 e^- -> Mn^2+ + 4 H2O");
    /// assert!(equation.coefficients_written());
    /// # Ok::<(), chem::EquationError>(())
    /// ```
    pub fn parse(text: &str) -> Result<Equation, EquationError> {
        if text.len() > LENGTH_LIMIT {
            return Err(EquationError::new(0, text.len(), EquationErrorKind::TooLong { limit: LENGTH_LIMIT }));
        }
        if text.trim().is_empty() {
            return Err(EquationError::new(0, text.len(), EquationErrorKind::Empty));
        }
        let Some((start, arrow)) = find_arrow(text, 0) else {
            return Err(EquationError::new(0, text.len(), EquationErrorKind::NoArrow));
        };
        let after = start + arrow.len();
        if let Some((second, arrow)) = find_arrow(text, after) {
            let kind = EquationErrorKind::SecondArrow(arrow.to_owned());
            return Err(EquationError::new(second, arrow.len(), kind));
        }
        let side = |from: usize, to: usize| {
            let part = text.get(from..to).unwrap_or("");
            if part.trim().is_empty() {
                return Err(EquationError::new(start, arrow.len(), EquationErrorKind::EmptySide));
            }
            terms(part, from)
        };
        let equation = Equation { left: side(0, start)?, right: side(after, text.len())? };
        if equation.left.len() + equation.right.len() > TERM_LIMIT {
            return Err(EquationError::new(0, text.len(), EquationErrorKind::TooManyTerms { limit: TERM_LIMIT }));
        }
        Ok(equation)
    }

    /// Whether any coefficient is written; if none is, the balance may fill them in.
    pub fn coefficients_written(&self) -> bool {
        self.terms().any(|term| term.written)
    }

    /// All terms, left side first.
    pub fn terms(&self) -> impl Iterator<Item = &Term> {
        self.left.iter().chain(&self.right)
    }

    /// All terms with the sign of their side: −1 left, +1 right.
    pub(super) fn signed_terms(&self) -> impl Iterator<Item = (i64, &Term)> {
        self.left.iter().map(|term| (-1, term)).chain(self.right.iter().map(|term| (1, term)))
    }
}

/// The first arrow at or after a byte.
fn find_arrow(text: &str, from: usize) -> Option<(usize, &'static str)> {
    let tail = text.get(from..)?;
    let found = tail.char_indices().find_map(|(index, _)| {
        let rest = tail.get(index..)?;
        let arrow = ARROWS.iter().find(|arrow| rest.starts_with(**arrow))?;
        // `Cl-->` is a charge and an arrow unless a space stands before it.
        let attached =
            tail.get(..index).is_some_and(|before| !before.is_empty() && !before.ends_with(char::is_whitespace));
        Some(if *arrow == "-->" && attached { (index + 1, "->") } else { (index, *arrow) })
    });
    found.map(|(index, arrow)| (from + index, arrow))
}

/// Terms of one side, which starts at byte `start` of the equation.
fn terms(side: &str, start: usize) -> Result<Vec<Term>, EquationError> {
    let mut terms = Vec::new();
    let mut from = 0;
    for joint in joints(side).into_iter().chain([side.len()]) {
        let piece = side.get(from..joint).unwrap_or("");
        if piece.trim().is_empty() {
            let at = if joint == side.len() { from.saturating_sub(1) } else { joint };
            return Err(EquationError::new(start + at, 1, EquationErrorKind::EmptyTerm));
        }
        terms.push(term(piece, start + from)?);
        from = joint + 1;
    }
    Ok(terms)
}

/// Places of the plus signs that join terms.
fn joints(side: &str) -> Vec<usize> {
    let mut joints = Vec::new();
    for (index, _) in side.match_indices('+') {
        let before = side.get(..index).unwrap_or("");
        let after = side.get(index + 1..).unwrap_or("");
        if !is_charge(before, after) {
            joints.push(index);
        }
    }
    joints
}

/// Whether a plus sign between these texts is a charge.
fn is_charge(before: &str, after: &str) -> bool {
    let last = before.chars().next_back();
    if last.is_none_or(char::is_whitespace) {
        return false;
    }
    let bare = before.trim_end_matches(|letter: char| letter.is_ascii_digit());
    if bare.ends_with('^') {
        return true;
    }
    let ends_term = |text: &str| match text.chars().next() {
        None => true,
        Some('(') => text
            .split_once(')')
            .is_some_and(|(inner, _)| Phase::from_symbol(inner.trim_start_matches('(').trim()).is_some()),
        Some(letter) => letter.is_whitespace() || letter == '+',
    };
    // The second plus of `H^++` or `H++` joins when a term follows it at once.
    ends_term(after)
}

/// One term, which starts at byte `start` of the equation.
fn term(piece: &str, start: usize) -> Result<Term, EquationError> {
    let lead = piece.len() - piece.trim_start().len();
    let text = piece.trim();
    let offset = start + lead;
    let length =
        text.find(|letter: char| !letter.is_ascii_digit() && !matches!(letter, '.' | '/')).unwrap_or(text.len());
    let digits = text.get(..length).unwrap_or("");
    let rest = text.get(length..).unwrap_or("");
    if !digits.is_empty() && rest.trim().is_empty() {
        return Err(EquationError::new(offset, length, EquationErrorKind::LoneCoefficient(digits.to_owned())));
    }
    let coefficient = if digits.is_empty() {
        Ratio::one()
    } else {
        let bad =
            || EquationError::new(offset, length, EquationErrorKind::BadCoefficient(digits.chars().take(20).collect()));
        coefficient(digits).ok_or_else(bad)?
    };
    let species = Species::parse(rest).map_err(|error| {
        EquationError::new(offset + length + error.offset, error.length, EquationErrorKind::Species(error.kind))
    })?;
    Ok(Term { coefficient, written: !digits.is_empty(), species, offset, length: text.len() })
}

/// A positive coefficient: `2`, `0.5` or `3/2`.
fn coefficient(text: &str) -> Option<Ratio<i64>> {
    let whole = |digits: &str| -> Option<i64> {
        let is_number =
            !digits.is_empty() && digits.len() <= DIGIT_LIMIT && digits.bytes().all(|byte| byte.is_ascii_digit());
        if is_number { digits.parse().ok() } else { None }
    };
    let number = if let Some((above, below)) = text.split_once('/') {
        let below = whole(below).filter(|below| *below > 0)?;
        Ratio::new(whole(above)?, below)
    } else if let Some((before, places)) = text.split_once('.') {
        let places = Some(places).filter(|places| places.len() <= DECIMAL_LIMIT)?;
        let fraction = Ratio::new(whole(places)?, 10_i64.pow(places.len() as u32));
        Ratio::from_integer(whole(before)?) + fraction
    } else {
        Ratio::from_integer(whole(text)?)
    };
    Some(number).filter(|number| !number.is_zero())
}

impl FromStr for Equation {
    type Err = EquationError;
    fn from_str(text: &str) -> Result<Equation, EquationError> {
        Equation::parse(text)
    }
}

/// Coefficient and species, joined by ` + `.
pub(super) fn side_text<'a>(terms: impl Iterator<Item = (Ratio<i64>, bool, &'a Species)>) -> String {
    side_spelled(terms, " ", Species::to_string)
}

/// Coefficients and species in the spelling of `spelled`, with `gap` between the two.
fn side_spelled<'a>(
    terms: impl Iterator<Item = (Ratio<i64>, bool, &'a Species)>,
    gap: &str,
    spelled: impl Fn(&Species) -> String,
) -> String {
    let texts: Vec<String> = terms
        .map(|(coefficient, written, species)| {
            let text = spelled(species);
            // A formula that starts with a number needs its coefficient before it.
            let must_write = written || species.formula.text().starts_with(|letter: char| letter.is_ascii_digit());
            if coefficient.is_one() && !must_write {
                text
            } else {
                format!("{}{gap}{text}", fraction_text(coefficient))
            }
        })
        .collect();
    texts.join(" + ")
}

impl Equation {
    /// The equation with raised and lowered digits: `2 H₂ + O₂ → 2 H₂O`.
    pub fn unicode(&self) -> String {
        self.spelled("→", " ", Species::unicode)
    }

    /// The equation for a page, with `sub` and `sup` only.
    pub fn html(&self) -> String {
        self.spelled("→", " ", Species::html)
    }

    /// The equation for TeX in mathematics: `2\,\mathrm{H_2} + \mathrm{O_2} \rightarrow 2\,\mathrm{H_2O}`.
    pub fn tex(&self) -> String {
        self.spelled(r"\rightarrow", r"\,", Species::tex)
    }

    fn spelled(&self, arrow: &str, gap: &str, spelled: fn(&Species) -> String) -> String {
        let side = |terms: &[Term]| {
            side_spelled(terms.iter().map(|term| (term.coefficient, term.written, &term.species)), gap, spelled)
        };
        format!("{} {arrow} {}", side(&self.left), side(&self.right))
    }
}

impl fmt::Display for Equation {
    fn fmt(&self, formatter: &mut fmt::Formatter<'_>) -> fmt::Result {
        let side = |terms: &[Term]| side_text(terms.iter().map(|term| (term.coefficient, term.written, &term.species)));
        formatter.pad(&format!("{} -> {}", side(&self.left), side(&self.right)))
    }
}
