//! How is the text of a formula read?
//!
//! A descent through parts (separated by hydrate dots), groups and atoms. Readings that would be a guess are refused
//! with both spellings; the grammar is told at [`super::Formula::parse`].

use num_rational::Ratio;
use num_traits::{One, Zero};

use super::error::{FormulaError, FormulaErrorKind as Kind};
use super::letters::{
    Dot, dot_reading, is_dot, nearest_element, sign_of, subscript_digit, superscript_digit, superscript_sign,
};
use super::structure::{Member, Part, closing_of};
use crate::element::Element;

/// Longest formula in bytes.
pub(super) const LENGTH_LIMIT: usize = 2_000;
const DEPTH_LIMIT: usize = 32;
const DIGIT_LIMIT: usize = 6;
const CHARGE_LIMIT: i32 = 99;

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

    fn at_end(&self) -> bool {
        self.rest().is_empty()
    }

    fn bump(&mut self) {
        self.position += self.peek().map_or(0, char::len_utf8);
    }

    fn skip_space(&mut self) {
        self.position += self.rest().len() - self.rest().trim_start().len();
    }

    /// Text taken while `accept` holds.
    fn take_while(&mut self, accept: impl Fn(char) -> bool) -> &'a str {
        let rest = self.rest();
        let length = rest.find(|letter| !accept(letter)).unwrap_or(rest.len());
        self.position += length;
        rest.get(..length).unwrap_or("")
    }

    fn error_since(&self, start: usize, kind: Kind) -> FormulaError {
        FormulaError::new(start, self.position.saturating_sub(start), kind)
    }

    fn error_here(&self, kind: Kind) -> FormulaError {
        FormulaError::new(self.position, self.peek().map_or(0, char::len_utf8), kind)
    }

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
        let mut parts = vec![self.part(true)?];
        while self.dot()? {
            parts.push(self.part(false)?);
        }
        let leading = parts.first().map_or(Ratio::one(), |part| part.multiplier);
        if parts.len() == 1 && !leading.is_one() {
            let number: String =
                self.text.get(start..).unwrap_or("").chars().take_while(|c| !c.is_alphabetic()).collect();
            let number = number.trim_end_matches(['(', '[', '{']).trim_end();
            return Err(FormulaError::new(start, number.len(), Kind::LeadingNumber(number.to_owned())));
        }
        Ok(parts)
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
        let multiplier = self.multiplier(first)?;
        if self.at_end() {
            let text = self.text.get(start..).unwrap_or("").trim().to_owned();
            return Err(self.error_since(start, Kind::LoneNumber(text)));
        }
        let members = self.members(None, 0)?;
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
            let length = self.rest().find(|c: char| c.is_whitespace()).unwrap_or(self.rest().len());
            let text = self.rest().get(..length).unwrap_or("");
            if text.contains(char::is_alphabetic) {
                return FormulaError::new(self.position, length, Kind::Isotope(text.to_owned()));
            }
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

    /// The number before a part: `5`, `0.5` or, after a dot, `8/3`.
    fn multiplier(&mut self, first: bool) -> Result<Ratio<i64>, FormulaError> {
        let start = self.position;
        let whole = self.take_while(|letter| letter.is_ascii_digit());
        if whole.is_empty() {
            return Ok(Ratio::one());
        }
        let bad = |reader: &Self| {
            let text = reader.text.get(start..reader.position).unwrap_or("").to_owned();
            reader.error_since(start, Kind::BadNumber(text))
        };
        let number = match self.peek() {
            Some('.') => {
                self.bump();
                let places = self.take_while(|letter| letter.is_ascii_digit());
                if places.is_empty() {
                    return Err(bad(self));
                }
                self.decimal(start, whole, places)?
            }
            Some('/') => {
                self.bump();
                let below = self.take_while(|letter| letter.is_ascii_digit());
                if below.is_empty() || first {
                    return Err(bad(self));
                }
                let denominator = self.decimal(start, below, "")?;
                if denominator.is_zero() {
                    return Err(bad(self));
                }
                self.decimal(start, whole, "")? / denominator
            }
            _ => self.decimal(start, whole, "")?,
        };
        if number.is_zero() {
            return Err(self.error_since(start, Kind::ZeroCount));
        }
        self.skip_space();
        Ok(number)
    }

    /// An exact number from its digits; `start` is where it begins in the text.
    fn decimal(&self, start: usize, whole: &str, places: &str) -> Result<Ratio<i64>, FormulaError> {
        let text = self.text.get(start..self.position).unwrap_or("");
        let too_large = || self.error_since(start, Kind::NumberTooLarge(text.chars().take(20).collect()));
        let places = places.trim_end_matches('0');
        let whole = whole.trim_start_matches('0');
        if whole.len() > DIGIT_LIMIT || places.len() > DIGIT_LIMIT {
            return Err(too_large());
        }
        let digits: i64 = format!("0{whole}{places}").parse().map_err(|_| too_large())?;
        Ok(Ratio::new(digits, 10_i64.pow(places.len() as u32)))
    }

    /// Atoms and groups up to a closing bracket or something else; `open` is the bracket they stand in.
    fn members(&mut self, open: Option<(char, usize)>, depth: usize) -> Result<Vec<Member>, FormulaError> {
        let mut members = Vec::new();
        loop {
            match self.peek() {
                Some(bracket @ ('(' | '[' | '{')) => members.push(self.group(bracket, depth)?),
                Some(letter) if letter.is_ascii_uppercase() => {
                    let element = self.element()?;
                    members.push(Member::Atom { element, count: self.count()? });
                }
                Some(close @ (')' | ']' | '}')) => return self.close(open, close, members),
                other => return self.stop(open, other, members),
            }
        }
    }

    fn close(
        &mut self,
        open: Option<(char, usize)>,
        close: char,
        members: Vec<Member>,
    ) -> Result<Vec<Member>, FormulaError> {
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
        open: Option<(char, usize)>,
        found: Option<char>,
        members: Vec<Member>,
    ) -> Result<Vec<Member>, FormulaError> {
        let Some((bracket, start)) = open else {
            return Ok(members);
        };
        match found {
            None => Err(FormulaError::new(start, bracket.len_utf8(), Kind::Unclosed(bracket))),
            Some(letter) if letter.is_ascii_digit() || superscript_digit(letter).is_some() || letter == '^' => {
                let length = self.rest().find([')', ']', '}']).unwrap_or(self.rest().len());
                let text = self.rest().get(..length).unwrap_or("").to_owned();
                Err(FormulaError::new(self.position, length, Kind::Isotope(text)))
            }
            Some(letter) if letter.is_whitespace() => Err(self.error_here(Kind::Space)),
            Some(_) => Err(self.unexpected()),
        }
    }

    fn group(&mut self, bracket: char, depth: usize) -> Result<Member, FormulaError> {
        if depth >= DEPTH_LIMIT {
            return Err(self.error_here(Kind::TooDeep { limit: DEPTH_LIMIT }));
        }
        let start = self.position;
        self.bump();
        let members = self.members(Some((bracket, start)), depth + 1)?;
        Ok(Member::Group { open: bracket, members, count: self.count()? })
    }

    fn element(&mut self) -> Result<Element, FormulaError> {
        let start = self.position;
        self.bump();
        self.take_while(|letter| letter.is_ascii_lowercase());
        let symbol = self.text.get(start..self.position).unwrap_or("");
        if let Some(element) = Element::from_symbol(symbol) {
            return Ok(element);
        }
        let symbol = symbol.to_owned();
        if symbol == "D" || symbol == "T" {
            return Err(self.error_since(start, Kind::Isotope(symbol)));
        }
        let suggestion = nearest_element(&symbol);
        Err(self.error_since(start, Kind::UnknownElement { symbol, suggestion }))
    }

    /// The count after an atom or group; one where none is written.
    fn count(&mut self) -> Result<Ratio<i64>, FormulaError> {
        let start = self.position;
        if self.peek() == Some('_') {
            self.bump();
            return self.explicit_count(start);
        }
        if self.peek().is_some_and(|letter| subscript_digit(letter).is_some()) {
            return self.subscript_count();
        }
        let whole = self.take_while(|letter| letter.is_ascii_digit());
        if whole.is_empty() {
            return Ok(Ratio::one());
        }
        let mut places = "";
        if let Some(after) =
            self.rest().strip_prefix('.').filter(|after| after.starts_with(|c: char| c.is_ascii_digit()))
        {
            match dot_reading(whole, after) {
                Dot::Hydrate => {}
                Dot::Decimal => {
                    self.bump();
                    places = self.take_while(|letter| letter.is_ascii_digit());
                }
                Dot::Ambiguous => {
                    self.bump();
                    let after = self.take_while(|letter| letter.is_ascii_digit());
                    let kind = Kind::AmbiguousDot { before: whole.to_owned(), after: after.to_owned() };
                    return Err(self.error_since(start, kind));
                }
            }
        }
        if let Some(sign) = self.peek().filter(|letter| sign_of(*letter).is_some()) {
            let digits = self.text.get(start..self.position).unwrap_or("").to_owned();
            let formula = self.text.get(..start).unwrap_or("").trim_start().to_owned();
            let kind = Kind::AmbiguousCharge { formula, digits, sign };
            return Err(FormulaError::new(start, self.position - start + sign.len_utf8(), kind));
        }
        self.nonzero(start, whole, places)
    }

    /// The count after `_`, in which a full stop is always a decimal point.
    fn explicit_count(&mut self, start: usize) -> Result<Ratio<i64>, FormulaError> {
        let whole = self.take_while(|letter| letter.is_ascii_digit());
        let mut places = "";
        if self.peek() == Some('.') {
            self.bump();
            places = self.take_while(|letter| letter.is_ascii_digit());
        }
        if whole.is_empty() {
            let text = self.text.get(start..self.position).unwrap_or("").to_owned();
            return Err(self.error_since(start, Kind::BadNumber(text)));
        }
        self.nonzero(start, whole, places)
    }

    fn subscript_count(&mut self) -> Result<Ratio<i64>, FormulaError> {
        let start = self.position;
        let digits = |text: &str| text.chars().filter_map(subscript_digit).collect::<String>();
        let whole = digits(self.take_while(|letter| subscript_digit(letter).is_some()));
        let mut places = String::new();
        let decimal = |after: &&str| after.starts_with(|c: char| subscript_digit(c).is_some());
        if self.rest().strip_prefix('.').filter(decimal).is_some() {
            self.bump();
            places = digits(self.take_while(|letter| subscript_digit(letter).is_some()));
        }
        self.nonzero(start, &whole, &places)
    }

    fn nonzero(&self, start: usize, whole: &str, places: &str) -> Result<Ratio<i64>, FormulaError> {
        let count = self.decimal(start, whole, places)?;
        if count.is_zero() { Err(self.error_since(start, Kind::ZeroCount)) } else { Ok(count) }
    }

    /// The charge at the end; zero where none is written.
    fn charge(&mut self) -> Result<i32, FormulaError> {
        let start = self.position;
        let (digits, signs) = match self.peek() {
            Some('^') => {
                self.bump();
                self.caret_charge()
            }
            Some(letter) if sign_of(letter).is_some() => (String::new(), self.signs(sign_of)),
            Some(letter) if superscript_digit(letter).is_some() || superscript_sign(letter).is_some() => {
                let digits = self.take_while(|c| superscript_digit(c).is_some());
                (digits.chars().filter_map(superscript_digit).collect(), self.signs(superscript_sign))
            }
            _ => return Ok(0),
        };
        let Some(sign) = signs.first().copied() else {
            return Err(self.error_since(start, Kind::IncompleteCharge));
        };
        if signs.iter().any(|other| *other != sign) || (signs.len() > 1 && !digits.is_empty()) {
            return Err(self.error_since(start, Kind::IncompleteCharge));
        }
        let number = if digits.is_empty() { Some(signs.len() as i32) } else { digits.parse().ok() };
        match number {
            Some(0) => Err(self.error_since(start, Kind::ZeroCount)),
            Some(number) if number <= CHARGE_LIMIT => Ok(sign * number),
            _ => Err(self.error_since(start, Kind::ChargeTooLarge { limit: CHARGE_LIMIT })),
        }
    }

    /// `2-`, `-`, `--` or `-2` after a caret.
    fn caret_charge(&mut self) -> (String, Vec<i32>) {
        let before = self.take_while(|letter| letter.is_ascii_digit()).to_owned();
        let signs = self.signs(sign_of);
        if !before.is_empty() || signs.len() != 1 {
            return (before, signs);
        }
        (self.take_while(|letter| letter.is_ascii_digit()).to_owned(), signs)
    }

    fn signs(&mut self, sign: impl Fn(char) -> Option<i32>) -> Vec<i32> {
        self.take_while(|letter| sign(letter).is_some()).chars().filter_map(sign).collect()
    }
}
