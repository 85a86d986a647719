//! How is a formula built from parts, groups and atoms, and what do they add up to?
//!
//! A formula is a row of parts separated by hydrate dots; a part is a multiplier and a row of atoms and bracketed
//! groups with counts. All counts are exact fractions. An atom may name its isotope; it counts for its element and,
//! apart, for the isotope.

use std::collections::BTreeMap;

use num_rational::Ratio;
use num_traits::{CheckedAdd, CheckedMul, One};

use crate::element::Element;
use crate::isotope::Isotope;

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
    Atom { element: Element, isotope: Option<Isotope>, count: Ratio<i64> },
    Group { open: char, members: Vec<Member>, count: Ratio<i64> },
}

impl Part {
    /// The part ` n H2O`.
    pub(super) fn water(multiplier: Ratio<i64>) -> Part {
        let hydrogen = Member::natural(Element::HYDROGEN, Ratio::from_integer(2));
        let oxygen = Member::natural(Element::OXYGEN, Ratio::one());
        Part { multiplier, members: vec![hydrogen, oxygen] }
    }

    /// Whether the part is H2O (or OH2), of natural isotopes, and nothing else.
    pub(super) fn is_water(&self) -> bool {
        let count_of = |wanted: Element, number: i64| {
            self.members.iter().any(|member| {
                matches!(member, Member::Atom { element, isotope: None, count }
                    if *element == wanted && *count == Ratio::from_integer(number))
            })
        };
        self.members.len() == 2 && count_of(Element::HYDROGEN, 2) && count_of(Element::OXYGEN, 1)
    }
}

impl Member {
    /// An atom of natural isotopes.
    pub(super) fn natural(element: Element, count: Ratio<i64>) -> Member {
        Member::Atom { element, isotope: None, count }
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

/// Atoms of each element and, of these, atoms of each isotope named.
#[derive(Clone, Debug, Default)]
pub(super) struct Sums {
    pub elements: BTreeMap<Element, Ratio<i64>>,
    pub isotopes: BTreeMap<Isotope, Ratio<i64>>,
}

impl Sums {
    /// Sum of all atoms; `None` where a count leaves the range.
    pub(super) fn of(parts: &[Part]) -> Option<Sums> {
        let mut sums = Sums::default();
        for part in parts {
            sums.add_members(&part.members, part.multiplier)?;
        }
        Some(sums)
    }

    fn add_members(&mut self, members: &[Member], factor: Ratio<i64>) -> Option<()> {
        for member in members {
            match member {
                Member::Atom { element, isotope, count } => {
                    let added = factor.checked_mul(count)?;
                    add(&mut self.elements, *element, added)?;
                    if let Some(isotope) = isotope {
                        add(&mut self.isotopes, *isotope, added)?;
                    }
                }
                Member::Group { members, count, .. } => {
                    self.add_members(members, bounded(factor.checked_mul(count)?)?)?;
                }
            }
        }
        Some(())
    }
}

fn add<Key: Ord>(sums: &mut BTreeMap<Key, Ratio<i64>>, key: Key, added: Ratio<i64>) -> Option<()> {
    let sum = match sums.get(&key) {
        Some(present) => present.checked_add(&added)?,
        None => added,
    };
    sums.insert(key, bounded(sum)?);
    Some(())
}

fn bounded(count: Ratio<i64>) -> Option<Ratio<i64>> {
    (*count.numer() <= COUNT_LIMIT && *count.denom() <= COUNT_LIMIT).then_some(count)
}
