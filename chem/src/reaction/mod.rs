//! Does an equation balance, in how many ways, and what turns into what?
//!
//! Elements and charge are conserved exactly: the coefficients are a null vector of the matrix of elements and charge,
//! found in whole numbers of unbounded size. No solution, one and several are three answers; none is picked silently.

mod balance;
mod closure;
mod equation;
mod exact;
mod freedom;

use std::collections::{BTreeMap, BTreeSet, HashMap};
use std::fmt;
use std::hash::{DefaultHasher, Hash, Hasher};
use std::sync::{LazyLock, Mutex, PoisonError};

use num_rational::{BigRational, Ratio};
use num_traits::{CheckedAdd, Signed, Zero};

pub use balance::{Balance, Component};
use balance::{components_of, matrix_of};
pub use closure::Closure;
pub use equation::{Equation, EquationError, EquationErrorKind, Term};
use exact::{big, small};
pub use freedom::Freedom;

use crate::formula::{Formula, fraction_text, to_f64};
use crate::species::Species;

/// One component that does not balance, with its total on each side.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Imbalance {
    /// Which element, or charge.
    pub component: Component,
    /// Total on the left.
    pub left: Ratio<i64>,
    /// Total on the right.
    pub right: Ratio<i64>,
}

impl fmt::Display for Imbalance {
    fn fmt(&self, formatter: &mut fmt::Formatter<'_>) -> fmt::Result {
        let text = |number: Ratio<i64>| fraction_text(number);
        let excess = self.left.checked_add(&-self.right).unwrap_or_else(Ratio::zero);
        let side = if excess.is_positive() { "left" } else { "right" };
        match self.component {
            Component::Charge => {
                write!(
                    formatter,
                    "charge {} on the left, {} on the right",
                    signed_text(self.left),
                    signed_text(self.right)
                )
            }
            atom => write!(
                formatter,
                "{} {atom} on the left, {} on the right: {} {atom} too many on the {side}",
                text(self.left),
                text(self.right),
                text(excess.abs())
            ),
        }
    }
}

fn signed_text(number: Ratio<i64>) -> String {
    if number.is_positive() { format!("+{}", fraction_text(number)) } else { fraction_text(number) }
}

/// Why an equation is no reaction.
#[derive(Clone, Debug, PartialEq)]
pub enum ReactionError {
    /// The written coefficients do not balance.
    Unbalanced {
        /// Every component that does not balance.
        imbalances: Vec<Imbalance>,
        /// The balanced equation, if there is exactly one.
        balanced: Option<String>,
    },
    /// No coefficients are written and none balance.
    Impossible {
        /// What cannot close.
        unclosed: Vec<Component>,
        /// Simple species with which it would balance, each with its side and the balanced equation.
        closures: Vec<String>,
    },
    /// No coefficients are written and a species belongs on the other side or takes no part.
    WrongSide {
        /// Species that belong on the other side.
        wrong: Vec<String>,
        /// Species that take no part.
        idle: Vec<String>,
    },
    /// No coefficients are written and more than one independent solution balances.
    Several {
        /// Independent balanced equations.
        basis: Vec<String>,
    },
    /// Numbers beyond the range of 64-bit integers.
    OutOfRange,
    /// Left and right side are the same.
    Nothing,
}

impl fmt::Display for ReactionError {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            ReactionError::Unbalanced { imbalances, balanced } => {
                let texts: Vec<String> = imbalances.iter().map(Imbalance::to_string).collect();
                write!(f, "{}", texts.join("; "))?;
                match balanced {
                    Some(equation) => write!(f, "; balanced: {equation}"),
                    None => Ok(()),
                }
            }
            ReactionError::Impossible { unclosed, .. } => {
                let names: Vec<String> = unclosed.iter().map(Component::to_string).collect();
                write!(f, "these species cannot balance: {} does not close; a species is missing", names.join(", "))
            }
            ReactionError::WrongSide { wrong, idle } if wrong.is_empty() => {
                write!(f, "{} takes no part in the only balanced equation", idle.join(", "))
            }
            ReactionError::WrongSide { wrong, .. } => {
                write!(f, "{} belongs on the other side of the only balanced equation", wrong.join(", "))
            }
            ReactionError::Several { basis } => {
                write!(
                    f,
                    "{} independent equations balance; write the coefficients, or one of: {}",
                    basis.len(),
                    basis.join("; ")
                )
            }
            ReactionError::OutOfRange => write!(f, "the coefficients are too large"),
            ReactionError::Nothing => write!(f, "both sides are the same; nothing reacts"),
        }
    }
}

impl std::error::Error for ReactionError {}

/// A balanced reaction; the type is the proof.
#[derive(Clone, Debug, PartialEq)]
pub struct Reaction {
    /// Each species once, left side first.
    pub species: Vec<Species>,
    /// Coefficient of each species, negative where it is consumed; never zero.
    pub coefficients: Vec<Ratio<i64>>,
    /// The equation in one spelling.
    pub text: String,
}

impl Reaction {
    /// A reaction from an equation: written coefficients are checked, never replaced; if none are written, the
    /// equation balances as it stands or by its one solution.
    ///
    /// # Errors
    /// [`ReactionError`] naming each element with its excess, what cannot close, or the independent solutions.
    ///
    /// ```
    /// use chem::{Equation, Reaction};
    /// let equation = Equation::parse("2 CuSO4 + Na2CO3 -> CuCO3 + Na2SO4")?;
    /// let error = Reaction::new(&equation).err().ok_or("accepted")?;
    /// assert!(error.to_string().contains("2 Cu on the left, 1 on the right: 1 Cu too many on the left"));
    /// # Ok::<(), Box<dyn std::error::Error>>(())
    /// ```
    pub fn new(equation: &Equation) -> Result<Reaction, ReactionError> {
        let imbalances = imbalances(equation)?;
        if imbalances.is_empty() {
            return Reaction::checked(equation);
        }
        let balance = equation.balance();
        let balanced = balance.coefficients().and_then(|coefficients| equation.with_coefficients(coefficients));
        if equation.coefficients_written() {
            let balanced = balanced.map(|equation| equation.to_string());
            return Err(ReactionError::Unbalanced { imbalances, balanced });
        }
        match (balance, balanced) {
            (_, Some(balanced)) => Reaction::checked(&balanced),
            (Balance::None { unclosed }, _) => {
                let closures = equation.closures().iter().map(Closure::to_string).collect();
                Err(ReactionError::Impossible { unclosed, closures })
            }
            (Balance::WrongSide { wrong, idle, .. }, _) => {
                let terms: Vec<&Term> = equation.terms().collect();
                let names = |places: &[usize]| {
                    places.iter().filter_map(|place| terms.get(*place)).map(|term| term.species.to_string()).collect()
                };
                Err(ReactionError::WrongSide { wrong: names(&wrong), idle: names(&idle) })
            }
            (Balance::Several { basis }, _) => {
                let texts = basis.iter().filter_map(|numbers| equation.with_coefficients(numbers));
                Err(ReactionError::Several { basis: texts.map(|equation| equation.to_string()).collect() })
            }
            _ => Err(ReactionError::OutOfRange),
        }
    }

    fn checked(equation: &Equation) -> Result<Reaction, ReactionError> {
        let net = equation.net().into_iter().filter(|(_, coefficient)| !coefficient.is_zero());
        let (species, coefficients): (Vec<_>, Vec<_>) = net.unzip();
        if species.is_empty() {
            return Err(ReactionError::Nothing);
        }
        let text = side_texts(&species, &coefficients);
        Ok(Reaction { species, coefficients, text })
    }

    /// Coefficient of the species at a place as a double; zero beyond the last.
    pub fn coefficient_f64(&self, index: usize) -> f64 {
        self.coefficients.get(index).copied().map_or(0.0, to_f64)
    }

    /// Coefficient of a species; zero where it takes no part.
    pub fn coefficient_of(&self, species: &Species) -> Ratio<i64> {
        let place = self.species.iter().position(|own| own == species);
        place.and_then(|index| self.coefficients.get(index)).copied().unwrap_or_else(Ratio::zero)
    }
}

impl fmt::Display for Reaction {
    fn fmt(&self, formatter: &mut fmt::Formatter<'_>) -> fmt::Result {
        formatter.pad(&self.text)
    }
}

fn side_texts(species: &[Species], coefficients: &[Ratio<i64>]) -> String {
    let side = |negative: bool| {
        let terms = species.iter().zip(coefficients).filter(move |(_, number)| number.is_negative() == negative);
        equation::side_text(terms.map(|(species, number)| (number.abs(), false, species)))
    };
    format!("{} -> {}", side(true), side(false))
}

/// Totals of each component that differ between the sides with the coefficients as written.
fn imbalances(equation: &Equation) -> Result<Vec<Imbalance>, ReactionError> {
    let total = |terms: &[Term], component: Component| {
        let sum: BigRational =
            terms.iter().map(|term| big(component.count_in(&term.species.formula)) * big(term.coefficient)).sum();
        small(&sum).ok_or(ReactionError::OutOfRange)
    };
    let mut imbalances = Vec::new();
    for component in equation.components() {
        let (left, right) = (total(&equation.left, component)?, total(&equation.right, component)?);
        if left != right {
            imbalances.push(Imbalance { component, left, right });
        }
    }
    Ok(imbalances)
}

/// The conversion of 1 mol of `from` into `to` that exchanges only the given species with the surroundings.
///
/// Coefficients are negative where a species is consumed: −1 for `from`, positive for `to`, either sign or absent for
/// the exchanged. `None` where it cannot be balanced, where more than one way balances (H2O(l) and H2O(g) both
/// given, say), or where `to` would have to be consumed.
///
/// ```
/// use chem::{Species, conversion};
/// let parse = Species::parse;
/// let exchange = [parse("H2O(g)")?, parse("CO2(g)")?, parse("O2(g)")?];
/// let steps = conversion(&parse("Cu2CO3(OH)2(s)")?, &parse("CuO(s)")?, &exchange);
/// let text = steps.map(|steps| steps.iter().map(|(species, n)| format!("{n} {species}")).collect::<Vec<_>>());
/// assert_eq!(text.unwrap_or_default(), ["-1 Cu2CO3(OH)2(s)", "2 CuO(s)", "1 H2O(g)", "1 CO2(g)"]);
/// # Ok::<(), chem::FormulaError>(())
/// ```
pub fn conversion(from: &Species, to: &Species, exchange: &[Species]) -> Option<Vec<(Species, Ratio<i64>)>> {
    if from == to {
        return None;
    }
    let mut exchanged: Vec<&Species> = Vec::new();
    for species in exchange.iter().filter(|species| *species != from && *species != to) {
        if !exchanged.contains(&species) {
            exchanged.push(species);
        }
    }
    let species: Vec<&Species> = [from, to].into_iter().chain(exchanged).collect();
    let numbers = remembered(&species)?;
    let taking_part = species.into_iter().zip(numbers).filter(|(_, number)| !number.is_zero());
    let coefficients: Vec<(Species, Ratio<i64>)> = taking_part.map(|(species, n)| (species.clone(), n)).collect();
    let produced = coefficients.iter().any(|(species, number)| species == to && number.is_positive());
    produced.then_some(coefficients)
}

/// Coefficients of a conversion, in the order of its species.
type Numbers = Option<Vec<Ratio<i64>>>;
/// Conversions by a hash of their species.
type Conversions = HashMap<u64, (Vec<Species>, Numbers)>;

/// Conversions that are remembered; forgotten together when there are too many.
static REMEMBERED: LazyLock<Mutex<Conversions>> = LazyLock::new(Mutex::default);
const MOST_REMEMBERED: usize = 4096;

/// The coefficients of a conversion, worked out when it is first asked for: an account asks for the same ones many times.
fn remembered(species: &[&Species]) -> Numbers {
    let mut hasher = DefaultHasher::new();
    species.hash(&mut hasher);
    let key = hasher.finish();
    let same = |known: &[Species]| known.len() == species.len() && known.iter().zip(species).all(|(a, b)| a == *b);
    let kept = || REMEMBERED.lock().unwrap_or_else(PoisonError::into_inner);
    if let Some((_, numbers)) = kept().get(&key).filter(|(known, _)| same(known)) {
        return numbers.clone();
    }
    let found = worked_out(species);
    let mut kept = kept();
    if kept.len() >= MOST_REMEMBERED {
        kept.clear();
    }
    kept.insert(key, (species.iter().copied().cloned().collect(), found.clone()));
    found
}

/// The coefficients of a conversion: one of the first is consumed.
fn worked_out(species: &[&Species]) -> Numbers {
    let formulas: Vec<(i64, &Formula)> = species.iter().map(|species| (1, &species.formula)).collect();
    let components = conversion_components(species);
    let solution = exact::unique_with_first_one(matrix_of(&components, &formulas), species.len())?;
    solution.iter().map(|number| Some(-small(number)?)).collect()
}

/// What a conversion conserves: elements, charge, and every isotope that at least two of the species name, because
/// exchanged species have no side beforehand.
fn conversion_components(species: &[&Species]) -> Vec<Component> {
    let mut components = BTreeSet::new();
    for (place, one) in species.iter().enumerate() {
        let others: Vec<&Formula> = species.iter().skip(place + 1).map(|other| &other.formula).collect();
        components.extend(components_of(&[&one.formula], &others));
    }
    components.into_iter().collect()
}

/// Sum of coefficients by component, to check a balance from outside: all zero when it balances. The sign of a
/// coefficient is the side of its species.
pub fn component_sums(species: &[Species], coefficients: &[Ratio<i64>]) -> BTreeMap<Component, Ratio<i64>> {
    let side = |negative: bool| -> Vec<&Formula> {
        let signed = species.iter().zip(coefficients);
        let taking_part = signed.filter(|(_, number)| !number.is_zero() && number.is_negative() == negative);
        taking_part.map(|(species, _)| &species.formula).collect()
    };
    let mut sums = BTreeMap::new();
    for component in components_of(&side(true), &side(false)) {
        let total: BigRational = species
            .iter()
            .zip(coefficients)
            .map(|(species, number)| big(component.count_in(&species.formula)) * big(*number))
            .sum();
        sums.insert(component, small(&total).unwrap_or_else(|| Ratio::from_integer(i64::MAX)));
    }
    sums
}
