//! How much of the element does a form hold, in whatever way the label counts?
//!
//! Everything is counted per formula unit: grams, moles or moles of charge of the form, of the element or of the oxide
//! it is reckoned as. Charges are those of the common ions; an element with several (iron) is counted in moles of
//! charge only where the label would be understood the same by everyone.

use super::printed::Kind;
use crate::element::Element;
use crate::formula::{Formula, to_f64};
use crate::substance::{Substance, Use};

/// What a part of a label is of.
#[derive(Clone, Debug, PartialEq)]
pub(super) enum Of {
    /// The element, by mass, moles or charge.
    Element(Element),
    /// An oxide or another formula the element is reckoned as.
    Reckoned(Formula, Element),
    /// The ion of the form, whichever it is.
    Ion,
    /// Not said.
    Unsaid,
}

/// Charge numbers of common ions; earlier ones are what a label in milliequivalents means.
const CHARGES: [(&str, f64); 17] = [
    ("Li", 1.0),
    ("Na", 1.0),
    ("K", 1.0),
    ("Mg", 2.0),
    ("Ca", 2.0),
    ("Sr", 2.0),
    ("Ba", 2.0),
    ("Zn", 2.0),
    ("Mn", 2.0),
    ("Cu", 2.0),
    ("Al", 3.0),
    ("Ag", 1.0),
    ("N", 1.0),
    ("Cl", 1.0),
    ("Br", 1.0),
    ("I", 1.0),
    ("F", 1.0),
];

/// Charge number of an element's common ion, without sign; nitrogen stands for ammonium.
fn charge(element: Element) -> Option<f64> {
    CHARGES.iter().find(|(symbol, _)| *symbol == element.symbol()).map(|(_, charge)| *charge)
}

/// The element whose ion a label in moles of charge means.
pub(super) fn ion(formula: &Formula) -> Option<Element> {
    let inside = |symbol: &str| Element::from_symbol(symbol).filter(|element| to_f64(formula.count(*element)) > 0.0);
    CHARGES.iter().find_map(|(symbol, _)| inside(symbol))
}

/// The element a substance is bought for; `None` where it is only carbon, hydrogen and oxygen.
pub(super) fn principal(formula: &Formula) -> Option<Element> {
    let rank = |element: Element| match element.symbol() {
        "H" | "C" | "O" => None,
        "P" | "Si" => Some(1),
        "Na" | "K" => Some(2),
        "N" => Some(3),
        "S" => Some(4),
        "Cl" | "Br" => Some(5),
        _ => Some(0),
    };
    let ranked = formula.composition().keys().filter_map(|element| Some((rank(*element)?, *element)));
    ranked.min_by_key(|(rank, element)| (*rank, u8::MAX - element.atomic_number())).map(|(_, element)| element)
}

/// Amount of a form in its own terms, per formula unit.
pub(super) fn per_unit(formula: &Formula, kind: Kind) -> Option<f64> {
    match kind {
        Kind::Mass => formula.molar_mass().ok().map(|mass| mass.value),
        Kind::Amount => Some(1.0),
        Kind::Equivalents => counted(formula, ion(formula)?, kind),
        Kind::Volume => None,
    }
    .filter(|amount| *amount > 0.0)
}

/// Amount of an element in a form, per formula unit.
fn counted(formula: &Formula, element: Element, kind: Kind) -> Option<f64> {
    let count = to_f64(formula.count(element));
    let each = match kind {
        Kind::Mass => element.atomic_weight()?.value,
        Kind::Amount => 1.0,
        Kind::Equivalents => charge(element)?,
        Kind::Volume => return None,
    };
    Some(count * each).filter(|amount| *amount > 0.0)
}

/// Amount of a part in a form, per formula unit, with the element it was counted by.
pub(super) fn part_of(formula: &Formula, of: &Of, kind: Kind) -> Option<(f64, Element)> {
    match of {
        Of::Element(element) => Some((counted(formula, *element, kind)?, *element)),
        Of::Reckoned(reckoned, element) => {
            let units = to_f64(formula.count(*element)) / to_f64(reckoned.count(*element));
            let amount = units * per_unit(reckoned, kind)?;
            (amount.is_finite() && amount > 0.0).then_some((amount, *element))
        }
        Of::Ion => ion(formula).and_then(|element| Some((counted(formula, element, kind)?, element))),
        Of::Unsaid => principal(formula).and_then(|element| Some((counted(formula, element, kind)?, element))),
    }
}

/// Elements every candidate must hold for a part.
pub(super) fn needed(of: &Of) -> Option<Element> {
    match of {
        Of::Element(element) | Of::Reckoned(_, element) => Some(*element),
        Of::Ion | Of::Unsaid => None,
    }
}

/// The element of a binary oxide that labels reckon in.
pub(super) fn reckoned_element(formula: &Formula) -> Option<Element> {
    let known = Substance::all().iter().any(|row| row.uses.contains(&Use::Reckoning) && row.formula == *formula);
    let mut others = formula.composition().keys().filter(|element| **element != Element::OXYGEN);
    let element = others.next().copied()?;
    (known && others.next().is_none()).then_some(element)
}

/// The oxide in which labels reckon an element.
pub(super) fn reckoning_of(element: Element) -> Option<Formula> {
    let rows = Substance::all().iter().filter(|row| row.uses.contains(&Use::Reckoning));
    rows.map(|row| row.formula.clone()).find(|formula| reckoned_element(formula) == Some(element))
}

/// Grams of element in a gram of a formula.
pub(super) fn mass_fraction(formula: &Formula, element: Element) -> Option<f64> {
    Some(formula.mass_fraction(element)).filter(|fraction| fraction.is_finite() && *fraction > 0.0)
}
