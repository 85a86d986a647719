//! In how many ways does an equation balance?
//!
//! The coefficients are a null vector of the matrix of elements and charge, found in whole numbers of unbounded size.
//! All isotopes of an element count for the element. An isotope named on *both* sides is conserved besides, as a
//! component of its own: a label is followed from where it enters to where it ends. An isotope named on one side only
//! is no component (`D2O + Na -> NaOH + H2` balances), because the other side does not say where the label went.

use std::collections::BTreeSet;
use std::fmt;

use num_bigint::BigInt;
use num_rational::Ratio;
use num_traits::{CheckedAdd, Signed, ToPrimitive, Zero};

use super::equation::{Equation, Term};
use super::exact::{self, Matrix, big};
use crate::element::Element;
use crate::formula::Formula;
use crate::isotope::Isotope;
use crate::species::Species;

/// What a reaction conserves.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Component {
    /// Atoms of an element.
    Element(Element),
    /// Atoms of an isotope that is named on both sides.
    Isotope(Isotope),
    /// Electric charge.
    Charge,
}

impl Component {
    pub(super) fn count_in(self, formula: &Formula) -> Ratio<i64> {
        match self {
            Component::Element(element) => formula.count(element),
            Component::Isotope(isotope) => formula.isotope_count(isotope),
            Component::Charge => Ratio::from_integer(i64::from(formula.charge())),
        }
    }
}

impl fmt::Display for Component {
    fn fmt(&self, formatter: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Component::Element(element) => element.fmt(formatter),
            Component::Isotope(isotope) => isotope.fmt(formatter),
            Component::Charge => formatter.write_str("charge"),
        }
    }
}

/// The answer to the question how an equation balances. Coefficients stand in the order of [`Equation::terms`],
/// negative for what the left side consumes.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Balance {
    /// No combination of these species balances.
    None {
        /// Elements on one side only; else those without which the rest could balance; else all.
        unclosed: Vec<Component>,
    },
    /// One solution, in smallest whole numbers.
    One(Vec<i64>),
    /// One solution, but with species on the other side than written, or not taking part.
    WrongSide {
        /// Smallest whole numbers; the sign says on which side each belongs.
        coefficients: Vec<i64>,
        /// Places of the species that belong on the other side.
        wrong: Vec<usize>,
        /// Places of the species that take no part.
        idle: Vec<usize>,
    },
    /// More than one independent solution.
    Several {
        /// Independent solutions in smallest whole numbers; as far as possible such as leave out most species and
        /// keep every species on its side.
        basis: Vec<Vec<i64>>,
    },
    /// Coefficients beyond the range of 64-bit integers.
    OutOfRange,
}

impl Balance {
    /// Number of independent solutions with the species on the sides written; a solution that needs a species on the
    /// other side counts, because the null space has it.
    pub fn solutions(&self) -> usize {
        match self {
            Balance::None { .. } => 0,
            Balance::One(_) | Balance::WrongSide { .. } | Balance::OutOfRange => 1,
            Balance::Several { basis } => basis.len(),
        }
    }

    /// The coefficients, if there is exactly one solution with every species on its side.
    pub fn coefficients(&self) -> Option<&[i64]> {
        match self {
            Balance::One(coefficients) => Some(coefficients),
            _ => None,
        }
    }
}

impl Equation {
    /// Balances the equation in smallest whole numbers, whatever coefficients are written.
    ///
    /// ```
    /// use chem::{Balance, Equation};
    /// let equation = Equation::parse("FeS2 + O2 -> Fe2O3 + SO2")?;
    /// assert_eq!(equation.balance(), Balance::One(vec![-4, -11, 2, 8]));
    /// # Ok::<(), chem::EquationError>(())
    /// ```
    pub fn balance(&self) -> Balance {
        let formulas = self.signed_formulas();
        let components = self.components();
        let columns = formulas.len();
        let matrix = matrix_of(&components, &formulas);
        let basis = exact::null_space(matrix.clone(), columns);
        match basis.as_slice() {
            [] => Balance::None { unclosed: self.unclosed(&components, &matrix) },
            [vector] => one_solution(vector, &formulas),
            _ => several_solutions(&matrix, basis, &formulas),
        }
    }

    /// Coefficients as written (one where none is), negative for the left side; a species on both sides once, with
    /// its net coefficient; in the order of the text.
    pub fn coefficients(&self) -> Vec<(String, Ratio<i64>)> {
        self.net().into_iter().map(|(species, coefficient)| (species.to_string(), coefficient)).collect()
    }

    /// The coefficients of a balance by species, in the order of the text; `None` unless it has one for each term.
    pub fn named(&self, coefficients: &[i64]) -> Option<Vec<(String, Ratio<i64>)>> {
        let terms: Vec<&Term> = self.terms().collect();
        (terms.len() == coefficients.len()).then(|| {
            let named = terms.iter().zip(coefficients);
            named.map(|(term, number)| (term.species.to_string(), Ratio::from_integer(*number))).collect()
        })
    }

    /// The equation with the coefficients of a balance; a negative one stands left, a positive one right, zero is
    /// left out. `None` unless there is one for each term.
    pub fn with_coefficients(&self, coefficients: &[i64]) -> Option<Equation> {
        let terms: Vec<&Term> = self.terms().collect();
        if terms.len() != coefficients.len() {
            return None;
        }
        let mut balanced = Equation { left: Vec::new(), right: Vec::new() };
        for (term, number) in terms.into_iter().zip(coefficients).filter(|(_, number)| **number != 0) {
            let side = if *number < 0 { &mut balanced.left } else { &mut balanced.right };
            let coefficient = Ratio::from_integer(number.checked_abs()?);
            side.push(Term { coefficient, written: number.abs() != 1, ..term.clone() });
        }
        Some(balanced)
    }

    /// The formulas of all terms with the sign of their side.
    pub(super) fn signed_formulas(&self) -> Vec<(i64, &Formula)> {
        self.signed_terms().map(|(sign, term)| (sign, &term.species.formula)).collect()
    }

    /// What the equation must conserve.
    pub(super) fn components(&self) -> Vec<Component> {
        let formulas = self.signed_formulas();
        let side = |wanted: i64| -> Vec<&Formula> {
            formulas.iter().filter(|(sign, _)| *sign == wanted).map(|(_, formula)| *formula).collect()
        };
        components_of(&side(-1), &side(1))
    }

    pub(super) fn net(&self) -> Vec<(Species, Ratio<i64>)> {
        let mut net: Vec<(Species, Ratio<i64>)> = Vec::new();
        for (sign, term) in self.signed_terms() {
            let added = term.coefficient * Ratio::from_integer(sign);
            match net.iter_mut().find(|(species, _)| *species == term.species) {
                Some((_, sum)) => *sum = sum.checked_add(&added).unwrap_or(*sum),
                None => net.push((term.species.clone(), added)),
            }
        }
        net
    }

    /// Which components keep an equation without solution from balancing.
    fn unclosed(&self, components: &[Component], matrix: &Matrix) -> Vec<Component> {
        let on = |terms: &[Term], component: Component| {
            terms.iter().any(|term| !component.count_in(&term.species.formula).is_zero())
        };
        let elements = || components.iter().copied().filter(|component| matches!(component, Component::Element(_)));
        let one_sided: Vec<Component> =
            elements().filter(|component| on(&self.left, *component) != on(&self.right, *component)).collect();
        if !one_sided.is_empty() {
            return one_sided;
        }
        let columns = self.left.len() + self.right.len();
        let frees = |index: usize| {
            let rest = matrix.iter().enumerate().filter(|(row, _)| *row != index).map(|(_, row)| row.clone());
            !exact::null_space(rest.collect(), columns).is_empty()
        };
        let blocking: Vec<Component> =
            components.iter().enumerate().filter(|(index, _)| frees(*index)).map(|(_, component)| *component).collect();
        if blocking.is_empty() { components.to_vec() } else { blocking }
    }
}

/// Every element that occurs, every isotope named on both sides, and charge if any species has one.
pub(super) fn components_of(left: &[&Formula], right: &[&Formula]) -> Vec<Component> {
    let mut components = BTreeSet::new();
    for formula in left.iter().chain(right) {
        components.extend(formula.composition().keys().copied().map(Component::Element));
        if formula.charge() != 0 {
            components.insert(Component::Charge);
        }
    }
    let named =
        |side: &[&Formula]| -> BTreeSet<Isotope> { side.iter().flat_map(|f| f.isotopes().keys().copied()).collect() };
    components.extend(named(left).intersection(&named(right)).copied().map(Component::Isotope));
    components.into_iter().collect()
}

/// One row for each component, one column for each species, with the sign of its side.
pub(super) fn matrix_of(components: &[Component], formulas: &[(i64, &Formula)]) -> Matrix {
    let entry =
        |component: &Component, sign: i64, formula: &Formula| big(component.count_in(formula)) * BigInt::from(sign);
    let row = |component: &Component| formulas.iter().map(|(sign, formula)| entry(component, *sign, formula)).collect();
    components.iter().map(row).collect()
}

/// Whole numbers with the sign of their side; `None` beyond 64 bits.
pub(super) fn signed(vector: &[BigInt], formulas: &[(i64, &Formula)]) -> Option<Vec<i64>> {
    vector.iter().zip(formulas).map(|(number, (sign, _))| number.to_i64()?.checked_mul(*sign)).collect()
}

pub(super) fn one_solution(vector: &[BigInt], formulas: &[(i64, &Formula)]) -> Balance {
    // The sign of a null vector is free: choose the one that agrees with more sides.
    let negative = vector.iter().filter(|number| number.is_negative()).count();
    let positive = vector.iter().filter(|number| number.is_positive()).count();
    let vector: Vec<BigInt> =
        vector.iter().map(|number| if negative > positive { -number } else { number.clone() }).collect();
    let Some(coefficients) = signed(&vector, formulas) else {
        return Balance::OutOfRange;
    };
    let places = |wanted: fn(&BigInt) -> bool| -> Vec<usize> {
        vector.iter().enumerate().filter(|(_, number)| wanted(number)).map(|(place, _)| place).collect()
    };
    let (wrong, idle) = (places(BigInt::is_negative), places(BigInt::is_zero));
    if wrong.is_empty() && idle.is_empty() {
        Balance::One(coefficients)
    } else {
        Balance::WrongSide { coefficients, wrong, idle }
    }
}

fn several_solutions(matrix: &Matrix, basis: Vec<Vec<BigInt>>, formulas: &[(i64, &Formula)]) -> Balance {
    let dimension = basis.len();
    let rays = exact::extreme_rays(matrix, formulas.len());
    let chosen = exact::independent(rays.into_iter().chain(basis).collect(), dimension);
    match chosen.iter().map(|vector| signed(vector, formulas)).collect() {
        Some(basis) => Balance::Several { basis },
        None => Balance::OutOfRange,
    }
}
