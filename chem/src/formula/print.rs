//! How is a formula written: as plain text that reads back, with raised and lowered digits, for a page, for TeX?
//!
//! One walk over the parts serves all four spellings. The plain text is the one spelling by which formulas are
//! compared: `·` before hydrate parts, `[18O]` for an isotope (`D` and `T` for those of hydrogen), `^2-` for a charge.

use std::fmt::Write as _;

use num_rational::Ratio;
use num_traits::One;

use super::structure::{Member, Part, closing_of};

/// A spelling.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum Style {
    /// `H2[18O]`, `SO4^2-`.
    Plain,
    /// `H₂¹⁸O`, `SO₄²⁻`.
    Unicode,
    /// `H<sub>2</sub><sup>18</sup>O`, `SO<sub>4</sub><sup>2−</sup>`.
    Html,
    /// `\mathrm{H_2{}^{18}O}`, `\mathrm{SO_4^{2-}}`.
    Tex,
}

/// A formula in a spelling; no parts stand for the electron.
pub(super) fn text(parts: &[Part], charge: i32, style: Style) -> String {
    let mut writer = Writer { style, text: String::new() };
    for (index, part) in parts.iter().enumerate() {
        if index > 0 {
            writer.text.push_str(if style == Style::Tex { r" \cdot " } else { "·" });
        }
        if !part.multiplier.is_one() {
            writer.text.push_str(&fraction_text(part.multiplier));
        }
        writer.members(&part.members);
    }
    if parts.is_empty() {
        writer.text.push('e');
    }
    writer.charge(charge);
    if style == Style::Tex { format!(r"\mathrm{{{}}}", writer.text) } else { writer.text }
}

struct Writer {
    style: Style,
    text: String,
}

impl Writer {
    fn members(&mut self, members: &[Member]) {
        for (index, member) in members.iter().enumerate() {
            let count = match member {
                Member::Atom { element, isotope, count } => {
                    match isotope {
                        None => self.text.push_str(element.symbol()),
                        Some(isotope) => match isotope.letter() {
                            Some(letter) => self.text.push(letter),
                            None => self.label(isotope.mass_number(), element.symbol()),
                        },
                    }
                    *count
                }
                Member::Group { open, members, count } => {
                    self.bracket(*open);
                    self.members(members);
                    self.bracket(closing_of(*open));
                    *count
                }
            };
            self.count(count, index + 1 < members.len());
        }
    }

    fn label(&mut self, mass_number: u16, symbol: &str) {
        let number = mass_number.to_string();
        match self.style {
            Style::Plain => self.push(&["[", &number, symbol, "]"]),
            Style::Unicode => {
                self.text.extend(number.chars().map(superscript));
                self.text.push_str(symbol);
            }
            Style::Html => self.push(&["<sup>", &number, "</sup>", symbol]),
            Style::Tex => self.push(&["{}^{", &number, "}", symbol]),
        }
    }

    fn bracket(&mut self, bracket: char) {
        if self.style == Style::Tex && matches!(bracket, '{' | '}') {
            self.text.push('\\');
        }
        self.text.push(bracket);
    }

    fn count(&mut self, count: Ratio<i64>, more_follows: bool) {
        if count.is_one() {
            return;
        }
        let number = fraction_text(count);
        match self.style {
            Style::Plain => {
                // A decimal count of 2 or more before further text could be taken for a hydrate dot.
                let unclear = !count.is_integer() && count >= Ratio::from_integer(2) && more_follows;
                self.push(&[if unclear { "_" } else { "" }, &number]);
            }
            Style::Unicode => self.text.extend(number.chars().map(|letter| shifted_digit(letter, '₀'))),
            Style::Html => self.push(&["<sub>", &number, "</sub>"]),
            Style::Tex if number.len() == 1 => self.push(&["_", &number]),
            Style::Tex => self.push(&["_{", &number, "}"]),
        }
    }

    fn charge(&mut self, charge: i32) {
        if charge == 0 {
            return;
        }
        let mut number = String::new();
        if charge.abs() != 1 {
            // Writing to a String cannot fail.
            let _ = write!(number, "{}", charge.abs());
        }
        let sign = if charge < 0 { "-" } else { "+" };
        match self.style {
            Style::Plain => self.push(&["^", &number, sign]),
            Style::Unicode => self.text.extend(number.chars().chain(sign.chars()).map(superscript)),
            Style::Html => self.push(&["<sup>", &number, if charge < 0 { "−" } else { "+" }, "</sup>"]),
            Style::Tex if number.is_empty() => self.push(&["^", sign]),
            Style::Tex => self.push(&["^{", &number, sign, "}"]),
        }
    }

    fn push(&mut self, pieces: &[&str]) {
        self.text.extend(pieces.iter().copied());
    }
}

/// A fraction as a decimal number where that is exact with at most six places, else as `8/3`.
pub(crate) fn fraction_text(fraction: Ratio<i64>) -> String {
    const MILLION: i64 = 1_000_000;
    if fraction.is_integer() {
        return fraction.numer().to_string();
    }
    if MILLION % fraction.denom() != 0 {
        return fraction.to_string();
    }
    let fractional = (fraction.fract() * Ratio::from_integer(MILLION)).to_integer().abs();
    let sign = if *fraction.numer() < 0 { "-" } else { "" };
    let decimal = format!("{sign}{}.{fractional:06}", fraction.to_integer().abs());
    decimal.trim_end_matches('0').to_owned()
}

/// A digit in the row of digits that starts with `zero`; any other character as it is.
fn shifted_digit(letter: char, zero: char) -> char {
    let shifted = letter.to_digit(10).and_then(|value| char::from_u32(u32::from(zero) + value));
    shifted.unwrap_or(letter)
}

fn superscript(letter: char) -> char {
    match letter {
        '1' => '¹',
        '2' => '²',
        '3' => '³',
        '0'..='9' => shifted_digit(letter, '⁰'),
        '+' => '⁺',
        _ => '⁻',
    }
}
