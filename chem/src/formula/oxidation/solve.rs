//! How are the oxidation states of one substance or ion found?
//!
//! Attempts, the usual first: all elements with a state by rule have it, and the rest is left to the others. Where that
//! does not add up, one rule after another gives way, in the order of the textbooks: the heaviest halogen (beside oxygen
//! or a lighter one), oxygen (peroxides), the chalcogen, hydrogen (hydrides). The first attempt that adds up counts; an
//! attempt with several answers ends the search.

use num_rational::Ratio;
use num_traits::{CheckedAdd, CheckedMul, One, Zero};

use super::super::structure::Member;
use super::ions::Pieces;
use super::states::{CHALCOGENS, HALIDES, forms_chains, is_alkali, is_alkaline_earth, is_nonmetal, states_of};
use super::{OxidationRefusal as Refusal, OxidationRule as Rule, OxidationState};
use crate::element::Element;

/// Largest numerator, denominator and count followed, so that no product leaves 64 bits.
const LIMIT: i64 = 1_000_000_000;
/// Most combinations of states tried.
const COMBINATION_LIMIT: usize = 4_000;

/// A rule that gives way.
#[derive(Clone, Copy, PartialEq, Eq)]
enum Yielding {
    Nothing,
    Halogen,
    Oxygen,
    Chalcogen,
    Hydrogen,
}

/// The atoms of a unit that no ion holds, and the charge left for them.
struct Unit {
    pieces: Pieces,
    charge: Ratio<i64>,
}

/// States of all atoms of a substance or ion.
pub(super) fn states_of_unit(members: &[Member], charge: i32) -> Result<Vec<OxidationState>, Refusal> {
    let pieces = Pieces::of(members, charge).ok_or(Refusal::OutOfRange)?;
    let left = pieces.charge_left(charge).ok_or(Refusal::OutOfRange)?;
    let fits = |number: &Ratio<i64>| *number.numer() < LIMIT && *number.numer() > -LIMIT && *number.denom() < LIMIT;
    if !fits(&left) || !pieces.rest.iter().all(|(_, count)| fits(count)) {
        return Err(Refusal::OutOfRange);
    }
    let mut states = Vec::new();
    for (ion, count) in &pieces.ions {
        for atoms in &ion.states {
            states.push(OxidationState {
                element: atoms.element,
                count: count.checked_mul(&Ratio::from_integer(atoms.count)).ok_or(Refusal::OutOfRange)?,
                state: atoms.state,
                is_mean: atoms.mean,
                rule: Rule::Ion(ion.name),
            });
        }
    }
    let unit = Unit { pieces, charge: left };
    let own = unit.solve(charge)?;
    Ok(own.into_iter().chain(states).collect())
}

impl Unit {
    fn solve(&self, charge: i32) -> Result<Vec<OxidationState>, Refusal> {
        if self.pieces.nitrosyl {
            return Err(Refusal::Nitrosyl);
        }
        match (self.pieces.rest.as_slice(), self.pieces.ions.is_empty()) {
            ([], _) if self.charge.is_zero() => return Ok(Vec::new()),
            ([], _) => {
                let whole = Ratio::from_integer(i64::from(charge));
                return Err(Refusal::Sum { sum: whole - self.charge, charge });
            }
            ([(element, count)], true) => return self.one_element(*element, *count),
            (rest, true) if rest.iter().all(|(element, _)| !is_nonmetal(*element)) => return Err(Refusal::Alloy),
            _ => {}
        }
        if let Some((one, other)) = self.disputed() {
            return Err(Refusal::Disputed(one, other));
        }
        let mut first = None;
        for yielding in
            [Yielding::Nothing, Yielding::Halogen, Yielding::Oxygen, Yielding::Chalcogen, Yielding::Hydrogen]
        {
            if yielding != Yielding::Nothing && !self.may_yield(yielding) {
                continue;
            }
            match self.attempt(yielding, charge) {
                Ok(states) => return Ok(states),
                Err(refusal @ Refusal::Several(_)) => return Err(first.unwrap_or(refusal)),
                Err(refusal) => first = first.or(Some(refusal)),
            }
        }
        Err(first.unwrap_or(Refusal::OutOfRange))
    }

    fn has(&self, symbol: &str) -> bool {
        self.pieces.rest.iter().any(|(element, _)| element.symbol() == symbol)
    }

    fn only(&self, symbols: &[&str]) -> bool {
        self.pieces.ions.is_empty() && self.pieces.rest.iter().all(|(element, _)| symbols.contains(&element.symbol()))
    }

    /// An element alone: uncombined, or an ion of it.
    fn one_element(&self, element: Element, count: Ratio<i64>) -> Result<Vec<OxidationState>, Refusal> {
        let state = self.charge / count;
        let rule = if state.is_zero() { Rule::Uncombined } else { Rule::ChargeOfIon };
        let is_mean = !state.is_integer();
        Ok(vec![OxidationState { element, count, state, is_mean, rule }])
    }

    /// Two elements between which the order of electronegativity differs by scale: hydrides of Si, P and their
    /// neighbours, nitrogen with heavier halogens, carbon with iodine.
    fn disputed(&self) -> Option<(Element, Element)> {
        let pair = |one: &str, other: &str| Element::from_symbol(one).zip(Element::from_symbol(other));
        let hydride = ["Si", "Ge", "P", "As", "Sb", "Te"].into_iter().find(|symbol| self.only(&["H", symbol]));
        if let Some(symbol) = hydride {
            return pair("H", symbol);
        }
        let halide =
            HALIDES.into_iter().find(|symbol| self.has("N") && self.has(symbol) && self.only(&["N", "O", symbol]));
        match halide {
            Some(symbol) => pair("N", symbol),
            None if self.has("C") && self.has("I") => pair("C", "I"),
            None => None,
        }
    }

    fn may_yield(&self, yielding: Yielding) -> bool {
        match yielding {
            Yielding::Nothing => true,
            Yielding::Halogen => {
                let halogens = HALIDES.iter().filter(|symbol| self.has(symbol)).count();
                halogens > 0 && (self.has("O") || self.has("F") || halogens > 1)
            }
            // Oxygen beside hydrogen and the most electropositive metals, or beside fluorine.
            Yielding::Oxygen => self.pieces.rest.iter().all(|(element, _)| {
                is_alkali(*element)
                    || is_alkaline_earth(*element)
                    || matches!(element.symbol(), "H" | "O" | "F" | "Zn" | "Cd")
            }),
            Yielding::Chalcogen => CHALCOGENS.iter().any(|symbol| self.has(symbol)),
            Yielding::Hydrogen => self.has("H"),
        }
    }

    /// The state an element has by rule; `None` where it is left what remains.
    fn by_rule(&self, element: Element, yielding: Yielding) -> Option<(i64, Rule)> {
        let symbol = element.symbol();
        let heaviest = HALIDES.iter().find(|halogen| self.has(halogen)).copied();
        let bound_to_more = ["O", "F", "Cl", "Br", "I"].iter().any(|other| self.has(other));
        match symbol {
            "F" => Some((-1, Rule::Fluoride)),
            "H" => {
                let hydride = self.is_hydride() != (yielding == Yielding::Hydrogen);
                Some(if hydride { (-1, Rule::Hydride) } else { (1, Rule::Hydrogen) })
            }
            "O" => (yielding != Yielding::Oxygen).then_some((-2, Rule::Oxide)),
            "Cl" | "Br" | "I" => {
                let yields = yielding == Yielding::Halogen && heaviest == Some(symbol);
                (!yields).then_some((-1, Rule::Halide))
            }
            "S" | "Se" | "Te" => {
                (!bound_to_more && yielding != Yielding::Chalcogen).then_some((-2, Rule::Chalcogenide))
            }
            _ => match states_of(element) {
                [1] if is_alkali(element) => Some((1, Rule::Alkali)),
                [2] if is_alkaline_earth(element) => Some((2, Rule::AlkalineEarth)),
                [only] => Some((*only, Rule::OnlyState)),
                _ => None,
            },
        }
    }

    /// Whether hydrogen stands with metals and boron only.
    fn is_hydride(&self) -> bool {
        self.pieces.ions.iter().all(|(ion, _)| ion.charge() > Ratio::zero())
            && self
                .pieces
                .rest
                .iter()
                .all(|(element, _)| matches!(element.symbol(), "H" | "B") || !is_nonmetal(*element))
    }

    fn attempt(&self, yielding: Yielding, charge: i32) -> Result<Vec<OxidationState>, Refusal> {
        let mut states = Vec::new();
        let mut open: Vec<(Element, Ratio<i64>)> = Vec::new();
        let mut left = self.charge;
        for (element, count) in &self.pieces.rest {
            let (element, count) = (*element, *count);
            match self.by_rule(element, yielding) {
                Some((state, rule)) => {
                    let state = Ratio::from_integer(state);
                    let taken = count.checked_mul(&-state).ok_or(Refusal::OutOfRange)?;
                    left = left.checked_add(&taken).ok_or(Refusal::OutOfRange)?;
                    states.push(OxidationState { element, count, state, is_mean: false, rule });
                }
                None => open.push((element, count)),
            }
        }
        match open.as_slice() {
            [] if left.is_zero() => {}
            [] => return Err(Refusal::Sum { sum: Ratio::from_integer(i64::from(charge)) - left, charge }),
            [(element, count)] => states.push(self.last(*element, *count, left)?),
            _ => states.extend(combination(&open, left)?),
        }
        states.sort_by_key(|state| self.pieces.rest.iter().position(|(element, _)| *element == state.element));
        Ok(states)
    }

    /// The element that is left what remains.
    fn last(&self, element: Element, count: Ratio<i64>, left: Ratio<i64>) -> Result<OxidationState, Refusal> {
        let state = left / count;
        if element == Element::OXYGEN {
            return oxygen(count, state, self.has("F"));
        }
        let listed = states_of(element);
        let (Some(least), Some(most)) = (listed.first(), listed.last()) else {
            return Err(Refusal::Unlisted(element));
        };
        let (least, most) = (Ratio::from_integer(*least), Ratio::from_integer(*most));
        let is_listed = state.is_integer() && listed.contains(&state.to_integer());
        let carbonyl = state.is_zero() && self.pieces.has("carbonyl");
        // Atoms may differ where there are several, or where the solid has a broken count of atoms.
        let several = !count.is_one() || self.pieces.rest.iter().any(|(_, count)| !count.is_integer());
        let within = least <= state && state <= most;
        let single = is_nonmetal(element) && state.is_integer();
        if !(is_listed || carbonyl || within && (several || single)) {
            return Err(Refusal::Unusual(element, state));
        }
        let extreme = state == least || state == most;
        let is_mean = !state.is_integer() || several && !extreme && !carbonyl && (!is_listed || forms_chains(element));
        Ok(OxidationState { element, count, state, is_mean, rule: Rule::Sum })
    }
}

/// Oxygen that is left what remains.
fn oxygen(count: Ratio<i64>, state: Ratio<i64>, beside_fluorine: bool) -> Result<OxidationState, Refusal> {
    let rule = match (*state.numer(), *state.denom()) {
        (-1, 1) => Rule::Peroxide,
        (-1, 2) => Rule::Superoxide,
        (-1, 3) => Rule::Ozonide,
        (1..=2, 1) if beside_fluorine => Rule::Sum,
        _ => return Err(Refusal::Unusual(Element::OXYGEN, state)),
    };
    Ok(OxidationState { element: Element::OXYGEN, count, state, is_mean: !state.is_integer(), rule })
}

/// The one combination of listed states that adds up.
fn combination(open: &[(Element, Ratio<i64>)], left: Ratio<i64>) -> Result<Vec<OxidationState>, Refusal> {
    let elements = || open.iter().map(|(element, _)| *element).collect::<Vec<_>>();
    if let Some(element) = elements().into_iter().find(|element| states_of(*element).is_empty()) {
        return Err(Refusal::Unlisted(element));
    }
    // Carbon and a second open element: carbon takes nearly any state, so nothing can be told.
    let tried: usize = open.iter().map(|(element, _)| states_of(*element).len()).product();
    if open.len() > 5 || tried > COMBINATION_LIMIT || elements().contains(&Element::CARBON) {
        return Err(Refusal::Several(elements()));
    }
    let mut found: Vec<Vec<i64>> = Vec::new();
    for number in 0..tried {
        let mut rest = number;
        let mut sum = Ratio::zero();
        let mut chosen = Vec::new();
        for (element, count) in open {
            let listed = states_of(*element);
            let state = listed.get(rest % listed.len()).copied().unwrap_or(0);
            rest /= listed.len();
            let added = count.checked_mul(&Ratio::from_integer(state)).ok_or(Refusal::OutOfRange)?;
            sum = Ratio::checked_add(&sum, &added).ok_or(Refusal::OutOfRange)?;
            chosen.push(state);
        }
        if sum == left {
            found.push(chosen);
        }
    }
    match found.as_slice() {
        [] => Err(Refusal::NoCombination(elements())),
        [chosen] => Ok(open
            .iter()
            .zip(chosen)
            .map(|((element, count), state)| OxidationState {
                element: *element,
                count: *count,
                state: Ratio::from_integer(*state),
                is_mean: false,
                rule: Rule::OnlyCombination,
            })
            .collect()),
        _ => Err(Refusal::Several(elements())),
    }
}
