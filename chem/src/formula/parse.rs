//! How is the text of a formula read?
//!
//! A descent through parts (separated by hydrate dots), groups and atoms; numbers, charges and isotopes are read in
//! files of their own. Readings that would be a guess are refused with both spellings; the grammar is told at
//! [`super::Formula::parse`].

use num_rational::Ratio;
use num_traits::One;

use super::error::{FormulaError, FormulaErrorKind as Kind};
use super::letters::{is_dot, nearest_element, superscript_digit};
use super::reader::Reader;
use super::structure::{Member, Part, closing_of};
use crate::element::Element;
use crate::isotope::Isotope;

/// Longest formula in bytes.
pub(super) const LENGTH_LIMIT: usize = 2_000;
/// Deepest nesting of brackets.
const DEPTH_LIMIT: usize = 32;

/// An opening bracket and where it stands.
type Opened = (char, usize);

/// Parts and charge of a formula; no parts for the electron.
pub(super) fn parse(text: &str) -> Result<(Vec<Part>, i32), FormulaError> {
    if text.len() > LENGTH_LIMIT {
        return Err(FormulaError::new(0, text.len(), Kind::TooLong { limit: LENGTH_LIMIT }));
    }
    let mut reader = Reader { text, position: 0 };
    reader.skip_space();
    if reader.at_end() {
        return Err(FormulaError::new(0, text.len(), Kind::Empty));
    }
    if let Some(electron) = reader.electron()? {
        return Ok(electron);
    }
    let parts = reader.parts()?;
    let charge = reader.charge()?;
    reader.skip_space();
    if reader.at_end() { Ok((parts, charge)) } else { Err(reader.trailing(charge)) }
}

impl Reader<'_> {
    /// `e-`, `e^-` or `e⁻`.
    fn electron(&mut self) -> Result<Option<(Vec<Part>, i32)>, FormulaError> {
        let start = self.position;
        if self.peek() != Some('e') {
            return Ok(None);
        }
        self.bump();
        let charge = self.charge()?;
        self.skip_space();
        if charge == -1 && self.at_end() {
            return Ok(Some((Vec::new(), -1)));
        }
        self.position = start;
        Ok(None)
    }

    fn parts(&mut self) -> Result<Vec<Part>, FormulaError> {
        let start = self.position;
        let label = self.leading_label();
        let mut parts = vec![self.part(true)?];
        while self.dot()? {
            parts.push(self.part(false)?);
        }
        let leading = parts.first().map_or(Ratio::one(), |part| part.multiplier);
        match label {
            Some((isotope, length)) if parts.len() > 1 => {
                Err(FormulaError::new(start, length, Kind::AmbiguousLabel(isotope)))
            }
            None if parts.len() == 1 && !leading.is_one() => {
                let text = self.text.get(start..).unwrap_or("");
                let number = text.find(char::is_alphabetic).and_then(|end| text.get(..end)).unwrap_or("");
                let number = number.trim_end_matches(['(', '[', '{']).trim_end();
                Err(FormulaError::new(start, number.len(), Kind::LeadingNumber(number.to_owned())))
            }
            _ => Ok(parts),
        }
    }

    /// Takes a hydrate dot with the spaces around it; spaces alone stay where they are.
    fn dot(&mut self) -> Result<bool, FormulaError> {
        let before = self.position;
        self.skip_space();
        let start = self.position;
        if !self.peek().is_some_and(|letter| letter == '.' || is_dot(letter)) {
            self.position = before;
            return Ok(false);
        }
        self.bump();
        self.skip_space();
        match self.peek() {
            Some(letter) if letter != '.' && !is_dot(letter) => Ok(true),
            _ => Err(self.error_since(start, Kind::NothingAfterDot)),
        }
    }

    fn part(&mut self, first: bool) -> Result<Part, FormulaError> {
        let start = self.position;
        let labelled = first && self.leading_label().is_some();
        let multiplier = if labelled { Ratio::one() } else { self.multiplier(first)? };
        if self.at_end() {
            let text = self.since(start).trim().to_owned();
            return Err(self.error_since(start, Kind::LoneNumber(text)));
        }
        let members = self.members(None, 0, labelled)?;
        if members.is_empty() {
            return Err(self.no_member(first));
        }
        Ok(Part { multiplier, members })
    }

    /// The error for text at which an element or bracket was expected.
    fn no_member(&self, first: bool) -> FormulaError {
        let letter = self.peek().unwrap_or(' ');
        if is_dot(letter) || letter == '.' {
            return self.error_here(if first { Kind::NothingBeforeDot } else { Kind::NothingAfterDot });
        }
        if letter == '^' || superscript_digit(letter).is_some() {
            return self.no_label();
        }
        self.unexpected()
    }

    /// The error for a character that starts neither an element nor a bracket.
    fn unexpected(&self) -> FormulaError {
        match self.peek() {
            None => self.error_here(Kind::Empty),
            Some(close @ (')' | ']' | '}')) => self.error_here(Kind::Unopened(close)),
            Some(letter) if letter.is_lowercase() => {
                let length = self.rest().find(|c: char| !c.is_ascii_lowercase()).unwrap_or(self.rest().len());
                let length = length.max(letter.len_utf8());
                let symbol = self.rest().get(..length).unwrap_or("").to_owned();
                let suggestion = nearest_element(&symbol);
                FormulaError::new(self.position, length, Kind::UnknownElement { symbol, suggestion })
            }
            Some(letter) => self.error_here(Kind::Unexpected(letter)),
        }
    }

    fn trailing(&self, charge: i32) -> FormulaError {
        let rest = self.rest();
        if charge != 0 {
            let text: String = rest.chars().take(20).collect();
            return FormulaError::new(self.position, rest.len(), Kind::TextAfterCharge(text));
        }
        let before = self.text.get(..self.position).unwrap_or("");
        let gap = before.trim_end().len();
        if gap < before.len() {
            return self.error_since(gap, Kind::Space);
        }
        self.unexpected()
    }

    /// Atoms and groups up to a closing bracket or something else; `open` is the bracket they stand in, `labelled`
    /// whether a mass number comes first.
    fn members(&mut self, open: Option<Opened>, depth: usize, mut labelled: bool) -> Result<Vec<Member>, FormulaError> {
        let mut members = Vec::new();
        loop {
            if std::mem::take(&mut labelled) || self.raised_label() {
                let isotope = self.isotope()?;
                let (element, isotope) = (isotope.element(), Some(isotope));
                members.push(Member::Atom { element, isotope, count: self.count(false)? });
                continue;
            }
            match self.peek() {
                Some('(') if open.is_none() && self.bracketed_charge() => return Ok(members),
                Some(bracket @ ('(' | '[' | '{')) => members.push(self.group(bracket, depth)?),
                Some(letter) if letter.is_ascii_uppercase() => members.push(self.atom()?),
                Some(close @ (')' | ']' | '}')) => return self.close(open, close, members),
                other => return self.stop(open, other, members),
            }
        }
    }

    fn close(&mut self, open: Option<Opened>, close: char, members: Vec<Member>) -> Result<Vec<Member>, FormulaError> {
        let Some((bracket, start)) = open else {
            return Err(self.error_here(Kind::Unopened(close)));
        };
        if closing_of(bracket) != close {
            return Err(self.error_here(Kind::Mismatched { open: bracket, close }));
        }
        self.bump();
        if members.is_empty() { Err(self.error_since(start, Kind::EmptyBrackets)) } else { Ok(members) }
    }

    fn stop(
        &self,
        open: Option<Opened>,
        found: Option<char>,
        members: Vec<Member>,
    ) -> Result<Vec<Member>, FormulaError> {
        let Some((bracket, start)) = open else {
            return Ok(members);
        };
        match found {
            None => Err(FormulaError::new(start, bracket.len_utf8(), Kind::Unclosed(bracket))),
            Some(letter) if letter.is_ascii_digit() || superscript_digit(letter).is_some() || letter == '^' => {
                Err(self.no_label())
            }
            Some(letter) if letter.is_whitespace() => Err(self.error_here(Kind::Space)),
            Some(_) => Err(self.unexpected()),
        }
    }

    /// A bracketed group with its count; an isotope alone in its brackets, `[18O]2` or `[18O2]`, is an atom.
    fn group(&mut self, bracket: char, depth: usize) -> Result<Member, FormulaError> {
        let start = self.position;
        let is_whole =
            depth == 0 && bracket == '[' && self.text.get(..start).is_some_and(|text| text.trim().is_empty());
        if let Some(isotope) = self.bracketed_isotope()? {
            return Ok(Member::Atom { element: isotope.element(), isotope: Some(isotope), count: self.count(false)? });
        }
        if depth >= DEPTH_LIMIT {
            return Err(self.error_here(Kind::TooDeep { limit: DEPTH_LIMIT }));
        }
        self.bump();
        let labelled = self.peek().is_some_and(|letter| letter.is_ascii_digit()) && self.labels_next();
        let members = self.members(Some((bracket, start)), depth + 1, labelled)?;
        let count = self.count(is_whole)?;
        match members.as_slice() {
            [Member::Atom { element, isotope: Some(isotope), count: own }] if own.is_one() || count.is_one() => {
                Ok(Member::Atom { element: *element, isotope: Some(*isotope), count: own * count })
            }
            _ => Ok(Member::Group { open: bracket, members, count }),
        }
    }

    fn atom(&mut self) -> Result<Member, FormulaError> {
        let (element, isotope) = self.element()?;
        Ok(Member::Atom { element, isotope, count: self.count(false)? })
    }

    /// An element by its symbol; D and T name isotopes of hydrogen.
    pub(super) fn element(&mut self) -> Result<(Element, Option<Isotope>), FormulaError> {
        let start = self.position;
        self.bump();
        self.take_while(|letter| letter.is_ascii_lowercase());
        let symbol = self.since(start);
        if let Some(element) = Element::from_symbol(symbol) {
            return Ok((element, None));
        }
        match symbol {
            "D" => Ok((Element::HYDROGEN, Some(Isotope::DEUTERIUM))),
            "T" => Ok((Element::HYDROGEN, Some(Isotope::TRITIUM))),
            _ => {
                let (symbol, suggestion) = (symbol.to_owned(), nearest_element(symbol));
                Err(self.error_since(start, Kind::UnknownElement { symbol, suggestion }))
            }
        }
    }
}
