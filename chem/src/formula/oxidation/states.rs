//! Which oxidation states does an element take in ordinary compounds?
//!
//! Lists as textbooks of inorganic chemistry print them (Greenwood & Earnshaw, Chemistry of the Elements, 2nd edition
//! 1997; from memory). They judge an assignment, they never make one: a state that is not listed is refused.

use crate::element::Element;

/// States of the elements that take more than one, or one that no group rule gives.
const STATES: &[(&str, &[i64])] = &[
    ("H", &[-1, 1]),
    ("B", &[3]),
    ("C", &[-4, -3, -2, -1, 0, 1, 2, 3, 4]),
    ("N", &[-3, -2, -1, 1, 2, 3, 4, 5]),
    ("O", &[-2, -1]),
    ("F", &[-1]),
    ("Al", &[3]),
    ("Si", &[-4, 4]),
    ("P", &[-3, 1, 3, 5]),
    ("S", &[-2, 2, 4, 6]),
    ("Cl", &[-1, 1, 3, 5, 7]),
    ("Sc", &[3]),
    ("Ti", &[2, 3, 4]),
    ("V", &[2, 3, 4, 5]),
    ("Cr", &[2, 3, 6]),
    ("Mn", &[2, 3, 4, 6, 7]),
    ("Fe", &[2, 3, 6]),
    ("Co", &[2, 3]),
    ("Ni", &[2, 3, 4]),
    ("Cu", &[1, 2, 3]),
    ("Zn", &[2]),
    ("Ga", &[3]),
    ("Ge", &[-4, 2, 4]),
    ("As", &[-3, 3, 5]),
    ("Se", &[-2, 4, 6]),
    ("Br", &[-1, 1, 3, 5, 7]),
    ("Kr", &[2]),
    ("Y", &[3]),
    ("Zr", &[4]),
    ("Nb", &[3, 4, 5]),
    ("Mo", &[2, 3, 4, 5, 6]),
    ("Tc", &[4, 7]),
    ("Ru", &[2, 3, 4, 6, 7, 8]),
    ("Rh", &[1, 3]),
    ("Pd", &[2, 4]),
    ("Ag", &[1]),
    ("Cd", &[2]),
    ("In", &[1, 3]),
    ("Sn", &[2, 4]),
    ("Sb", &[-3, 3, 5]),
    ("Te", &[-2, 4, 6]),
    ("I", &[-1, 1, 3, 5, 7]),
    ("Xe", &[2, 4, 6, 8]),
    ("La", &[3]),
    ("Ce", &[3, 4]),
    ("Pr", &[3, 4]),
    ("Nd", &[3]),
    ("Pm", &[3]),
    ("Sm", &[2, 3]),
    ("Eu", &[2, 3]),
    ("Gd", &[3]),
    ("Tb", &[3, 4]),
    ("Dy", &[3]),
    ("Ho", &[3]),
    ("Er", &[3]),
    ("Tm", &[3]),
    ("Yb", &[2, 3]),
    ("Lu", &[3]),
    ("Hf", &[4]),
    ("Ta", &[5]),
    ("W", &[2, 3, 4, 5, 6]),
    ("Re", &[3, 4, 6, 7]),
    ("Os", &[3, 4, 6, 8]),
    ("Ir", &[1, 3, 4]),
    ("Pt", &[2, 4]),
    ("Au", &[1, 3]),
    ("Hg", &[1, 2]),
    ("Tl", &[1, 3]),
    ("Pb", &[2, 4]),
    ("Bi", &[3, 5]),
    ("Th", &[4]),
    ("Pa", &[4, 5]),
    ("U", &[3, 4, 5, 6]),
    ("Np", &[3, 4, 5, 6, 7]),
    ("Pu", &[3, 4, 5, 6]),
    ("Am", &[3]),
];

/// Nonmetals and metalloids, which form anions and bonds among like atoms.
const NONMETALS: [&str; 23] = [
    "H", "He", "B", "C", "N", "O", "F", "Ne", "Si", "P", "S", "Cl", "Ar", "Ge", "As", "Se", "Br", "Kr", "Sb", "Te",
    "I", "Xe", "At",
];

/// Listed states in rising order; empty where none is listed.
pub(super) fn states_of(element: Element) -> &'static [i64] {
    if is_alkali(element) {
        return &[1];
    }
    if is_alkaline_earth(element) {
        return &[2];
    }
    STATES.iter().find(|(symbol, _)| *symbol == element.symbol()).map_or(&[], |(_, states)| states)
}

pub(super) fn is_alkali(element: Element) -> bool {
    matches!(element.symbol(), "Li" | "Na" | "K" | "Rb" | "Cs" | "Fr")
}

pub(super) fn is_alkaline_earth(element: Element) -> bool {
    matches!(element.symbol(), "Be" | "Mg" | "Ca" | "Sr" | "Ba" | "Ra")
}

pub(super) fn is_nonmetal(element: Element) -> bool {
    NONMETALS.contains(&element.symbol())
}

/// Whether bonds among its own atoms are so usual that a mean over several atoms says little about each.
pub(super) fn forms_chains(element: Element) -> bool {
    matches!(element.symbol(), "C" | "N" | "O" | "Si" | "P" | "S" | "Se" | "Te")
}

/// Heavier halogens, the heaviest first.
pub(super) const HALIDES: [&str; 3] = ["I", "Br", "Cl"];
/// Chalcogens that make anions.
pub(super) const CHALCOGENS: [&str; 3] = ["S", "Se", "Te"];

#[cfg(test)]
mod tests {
    use super::{NONMETALS, STATES};
    use crate::element::Element;

    #[test]
    fn symbols_exist_and_states_rise() {
        for (symbol, states) in STATES {
            assert!(Element::from_symbol(symbol).is_some(), "{symbol}");
            assert!(!states.is_empty() && states.windows(2).all(|pair| pair[0] < pair[1]), "{symbol}");
        }
        assert!(NONMETALS.iter().all(|symbol| Element::from_symbol(symbol).is_some()));
    }
}
