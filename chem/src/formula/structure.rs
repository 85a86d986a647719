//! How is a formula built from parts, groups and atoms, and how is it written?
//!
//! A formula is a row of parts separated by hydrate dots; a part is a multiplier and a row of atoms and bracketed
//! groups with counts. All counts are exact fractions.

use std::collections::BTreeMap;
use std::fmt::Write as _;

use num_rational::Ratio;
use num_traits::{CheckedAdd, CheckedMul, One};

use crate::element::Element;

/// Largest numerator and denominator of a count in a composition.
pub(super) const COUNT_LIMIT: i64 = 1_000_000_000_000;

/// A row of atoms and groups with the number before it.
#[derive(Clone, Debug, PartialEq)]
pub(super) struct Part {
    pub multiplier: Ratio<i64>,
    pub members: Vec<Member>,
}

/// An atom or a bracketed group, with its count.
#[derive(Clone, Debug, PartialEq)]
pub(super) enum Member {
    Atom { element: Element, count: Ratio<i64> },
    Group { open: char, members: Vec<Member>, count: Ratio<i64> },
}

impl Part {
    /// The part ` n H2O`.
    pub(super) fn water(multiplier: Ratio<i64>) -> Part {
        let hydrogen = Member::Atom { element: Element::HYDROGEN, count: Ratio::from_integer(2) };
        let oxygen = Member::Atom { element: Element::OXYGEN, count: Ratio::one() };
        Part { multiplier, members: vec![hydrogen, oxygen] }
    }

    /// Whether the part is H2O (or OH2) and nothing else.
    pub(super) fn is_water(&self) -> bool {
        let count_of = |wanted: Element, number: i64| {
            self.members.iter().any(|member| {
                matches!(member, Member::Atom { element, count }
                    if *element == wanted && *count == Ratio::from_integer(number))
            })
        };
        self.members.len() == 2 && count_of(Element::HYDROGEN, 2) && count_of(Element::OXYGEN, 1)
    }
}

/// The closing bracket that belongs to an opening one.
pub(super) fn closing_of(open: char) -> char {
    match open {
        '[' => ']',
        '{' => '}',
        _ => ')',
    }
}

/// Sum of all atoms; `None` where a count leaves the range.
pub(super) fn composition_of(parts: &[Part]) -> Option<BTreeMap<Element, Ratio<i64>>> {
    let mut composition = BTreeMap::new();
    for part in parts {
        add_members(&part.members, part.multiplier, &mut composition)?;
    }
    Some(composition)
}

fn add_members(members: &[Member], factor: Ratio<i64>, composition: &mut BTreeMap<Element, Ratio<i64>>) -> Option<()> {
    for member in members {
        match member {
            Member::Atom { element, count } => {
                let added = factor.checked_mul(count)?;
                let sum = match composition.get(element) {
                    Some(present) => present.checked_add(&added)?,
                    None => added,
                };
                composition.insert(*element, bounded(sum)?);
            }
            Member::Group { members, count, .. } => {
                add_members(members, bounded(factor.checked_mul(count)?)?, composition)?;
            }
        }
    }
    Some(())
}

fn bounded(count: Ratio<i64>) -> Option<Ratio<i64>> {
    (*count.numer() <= COUNT_LIMIT && *count.denom() <= COUNT_LIMIT).then_some(count)
}

/// A positive fraction as a decimal number where that is exact with at most six places, else as `8/3`.
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

/// The plain text in one spelling: `·` before hydrate parts, `^2-` for a charge.
pub(super) fn canonical_text(parts: &[Part], charge: i32) -> String {
    let mut text = String::new();
    for (index, part) in parts.iter().enumerate() {
        if index > 0 {
            text.push('·');
        }
        if !part.multiplier.is_one() {
            text.push_str(&fraction_text(part.multiplier));
        }
        write_members(&part.members, &mut text);
    }
    if parts.is_empty() {
        text.push('e');
    }
    if charge != 0 {
        text.push('^');
        push_charge(charge, &mut text);
    }
    text
}

fn push_charge(charge: i32, text: &mut String) {
    if charge.abs() != 1 {
        // Writing to a String cannot fail.
        let _ = write!(text, "{}", charge.abs());
    }
    text.push(if charge < 0 { '-' } else { '+' });
}

fn write_members(members: &[Member], text: &mut String) {
    for (index, member) in members.iter().enumerate() {
        let count = match member {
            Member::Atom { element, count } => {
                text.push_str(element.symbol());
                *count
            }
            Member::Group { open, members, count } => {
                text.push(*open);
                write_members(members, text);
                text.push(closing_of(*open));
                *count
            }
        };
        if count.is_one() {
            continue;
        }
        // A decimal count of 2 or more before further text could be taken for a hydrate dot.
        if !count.is_integer() && count >= Ratio::from_integer(2) && index + 1 < members.len() {
            text.push('_');
        }
        text.push_str(&fraction_text(count));
    }
}

/// The text with subscript counts and superscript charge, for people.
pub(super) fn unicode_text(canonical: &str) -> String {
    let (formula, charge) = canonical.split_once('^').unwrap_or((canonical, ""));
    let mut text = String::new();
    let mut in_multiplier = true;
    for letter in formula.chars() {
        match letter {
            '_' => continue,
            '0'..='9' if !in_multiplier => text.push(shifted_digit(letter, '₀')),
            '.' | '/' | '0'..='9' => text.push(letter),
            _ => {
                text.push(letter);
                in_multiplier = letter == '·';
            }
        }
    }
    text.extend(charge.chars().map(superscript));
    text
}

fn shifted_digit(digit: char, zero: char) -> char {
    let value = digit.to_digit(10).unwrap_or(0);
    char::from_u32(u32::from(zero) + value).unwrap_or(digit)
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
