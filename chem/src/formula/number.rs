//! How are the numbers of a formula read: counts, and multipliers of hydrate parts?
//!
//! Every number is kept as an exact fraction. A full stop between digits is a decimal point or a hydrate dot by what
//! surrounds it; digits before a plain sign are a count or a charge. Where neither is certain both spellings are named.

use num_rational::Ratio;
use num_traits::{One, Zero};

use super::error::{FormulaError, FormulaErrorKind as Kind};
use super::letters::{Dot, dot_reading, sign_of, subscript_digit};
use super::reader::Reader;

/// Most digits before, and most after the point.
const DIGIT_LIMIT: usize = 6;

impl Reader<'_> {
    /// The number before a part: `5`, `0.5` or, after a dot, `8/3`.
    pub(super) fn multiplier(&mut self, first: bool) -> Result<Ratio<i64>, FormulaError> {
        let start = self.position;
        let whole = self.digits();
        if whole.is_empty() {
            return Ok(Ratio::one());
        }
        let bad = |reader: &Self| {
            let text = reader.since(start).to_owned();
            reader.error_since(start, Kind::BadNumber(text))
        };
        let number = match self.peek() {
            Some('.') => {
                self.bump();
                let places = self.digits();
                if places.is_empty() {
                    return Err(bad(self));
                }
                self.decimal(start, whole, places)?
            }
            Some('/') => {
                self.bump();
                let below = self.digits();
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
        let text = self.since(start);
        let too_large = || self.error_since(start, Kind::NumberTooLarge(text.chars().take(20).collect()));
        let places = places.trim_end_matches('0');
        let whole = whole.trim_start_matches('0');
        if whole.len() > DIGIT_LIMIT || places.len() > DIGIT_LIMIT {
            return Err(too_large());
        }
        let digits: i64 = format!("0{whole}{places}").parse().map_err(|_| too_large())?;
        Ok(Ratio::new(digits, 10_i64.pow(places.len() as u32)))
    }

    /// The count after an atom or group; one where none is written. Digits and a sign after a complex ion in square
    /// brackets that is the whole formula are its charge: `[Fe(CN)6]4-`.
    pub(super) fn count(&mut self, after_whole_complex: bool) -> Result<Ratio<i64>, FormulaError> {
        let start = self.position;
        if self.peek() == Some('_') {
            self.bump();
            return self.explicit_count(start);
        }
        if self.peek().is_some_and(|letter| subscript_digit(letter).is_some()) {
            return self.subscript_count();
        }
        let whole = self.digits();
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
                    places = self.digits();
                }
                Dot::Ambiguous => {
                    self.bump();
                    let after = self.digits();
                    let kind = Kind::AmbiguousDot { before: whole.to_owned(), after: after.to_owned() };
                    return Err(self.error_since(start, kind));
                }
            }
        }
        if let Some(sign) = self.peek().filter(|letter| sign_of(*letter).is_some() && !self.ends_in_charge_of_its_own())
        {
            if after_whole_complex && places.is_empty() {
                self.position = start;
                return Ok(Ratio::one());
            }
            let digits = self.since(start).to_owned();
            let formula = self.text.get(..start).unwrap_or("").trim_start().to_owned();
            let kind = Kind::AmbiguousCharge { formula, digits, sign };
            return Err(FormulaError::new(start, self.position - start + sign.len_utf8(), kind));
        }
        self.nonzero(start, whole, places)
    }

    /// Whether a sign with its own digits, or a doubled sign, is all that is left, as in `SO4-2` and `SO4--`: then the
    /// digits before the sign are a count.
    fn ends_in_charge_of_its_own(&self) -> bool {
        let rest = self.rest().trim_end();
        let digits = rest.trim_start_matches(|letter: char| sign_of(letter).is_some());
        let signs = rest.len() - digits.len();
        let doubled = rest.chars().filter(|letter| sign_of(*letter).is_some()).count() > 1;
        signs > 0 && digits.chars().all(|letter| letter.is_ascii_digit()) && digits.is_empty() == doubled
    }

    /// The count after `_`, in which a full stop is always a decimal point.
    fn explicit_count(&mut self, start: usize) -> Result<Ratio<i64>, FormulaError> {
        let whole = self.digits();
        let mut places = "";
        if self.peek() == Some('.') {
            self.bump();
            places = self.digits();
        }
        if whole.is_empty() {
            let text = self.since(start).to_owned();
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
        // `MnC03`: a nought for the letter O.
        if whole.len() > 1 && whole.starts_with('0') {
            return Err(self.error_since(start, Kind::LeadingZero(whole.to_owned())));
        }
        if count.is_zero() { Err(self.error_since(start, Kind::ZeroCount)) } else { Ok(count) }
    }
}
