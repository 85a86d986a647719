//! Which oxidation state has each element of a formula, where the formula decides it?
//!
//! A formula holds counts, no bonds. The states follow from ions it spells out ([`ions`]), from the elements that take
//! one state with others (fluorine, alkali metals, alkaline earths …), from hydrogen, oxygen, halogens and chalcogens
//! by their usual rank, and from the sum of states, which is the charge. What is left to one element is its state;
//! several atoms of it may differ, and then it is a mean and said to be one. Where two elements share what is left, all
//! combinations of listed states ([`states`]) are tried; one is an answer, more or none is a refusal. Bonds between like
//! atoms (S–S in pyrite), ligands that take electrons, alloys, and bonds between atoms of nearly one electronegativity
//! (PH3, NCl3) are refused, not guessed. An answer is formal: what spectroscopy finds in a solid (CuS) may differ.
//!
//! Source: rules of Karen, McArdle, Takats, Toward a comprehensive definition of oxidation state, Pure Appl. Chem. 86
//! (2014) 1017. Hydrogen in compounds with nonmetals is +1 as usual, also where their order of electronegativity is
//! disputed (H3PO3), except in binary hydrides.

mod ions;
mod solve;
mod states;

use std::fmt;

use num_rational::Ratio;
use num_traits::{One, Zero};

use super::structure::Part;
use super::{Formula, to_f64};
use crate::element::Element;

/// The oxidation state of some atoms of an element in a formula.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct OxidationState {
    /// The element.
    pub element: Element,
    /// Atoms per formula unit.
    pub count: Ratio<i64>,
    /// The state, or the mean over the atoms.
    pub state: Ratio<i64>,
    /// Whether it is a mean over atoms that differ or may differ.
    pub is_mean: bool,
    /// The rule from which it follows.
    pub rule: OxidationRule,
}

/// A rule for oxidation states.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum OxidationRule {
    /// An element uncombined has 0.
    Uncombined,
    /// The charge of an ion of one element, divided by its atoms.
    ChargeOfIon,
    /// Fluorine in compounds has −1.
    Fluoride,
    /// Alkali metals in compounds have +1.
    Alkali,
    /// Alkaline earth metals in compounds have +2.
    AlkalineEarth,
    /// The element takes one state in ordinary compounds.
    OnlyState,
    /// Hydrogen with nonmetals has +1.
    Hydrogen,
    /// Hydrogen with metals and boron has −1.
    Hydride,
    /// Oxygen has −2.
    Oxide,
    /// Oxygen left with −1: a peroxide.
    Peroxide,
    /// Oxygen left with −1/2: a superoxide.
    Superoxide,
    /// Oxygen left with −1/3: an ozonide.
    Ozonide,
    /// Chlorine, bromine and iodine not bound to oxygen or a lighter halogen have −1.
    Halide,
    /// Sulfur, selenium and tellurium not bound to oxygen or a halogen have −2.
    Chalcogenide,
    /// The atoms of an ion or ligand that the formula spells out.
    Ion(&'static str),
    /// The states add up to the charge, and this element is the last.
    Sum,
    /// The only combination of usual states that adds up to the charge.
    OnlyCombination,
}

/// Why a formula has no answer.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum OxidationRefusal {
    /// The electron is no atom.
    Electron,
    /// Metals only.
    Alloy,
    /// An element without listed states, besides others.
    Unlisted(Element),
    /// Several elements share what is left, and more than one combination adds up.
    Several(Vec<Element>),
    /// Several elements share what is left, and no usual combination adds up.
    NoCombination(Vec<Element>),
    /// The rules leave an unusual state to an element.
    Unusual(Element, Ratio<i64>),
    /// Every element has its state by rule, and they do not add up to the charge.
    Sum {
        /// Sum of the states.
        sum: Ratio<i64>,
        /// Charge number.
        charge: i32,
    },
    /// Two elements of nearly one electronegativity.
    Disputed(Element, Element),
    /// A nitrosyl ligand.
    Nitrosyl,
    /// Counts out of range.
    OutOfRange,
}

impl OxidationState {
    /// If only the two whole states beside a mean occur: the lower, the upper, and the fraction of atoms in the upper.
    ///
    /// ```
    /// use chem::Formula;
    /// use num_rational::Ratio;
    /// let states = Formula::parse("Fe3O4")?.oxidation_states()?;
    /// let iron = states.first().ok_or("no iron")?;
    /// assert_eq!((iron.to_string().as_str(), iron.is_mean), ("Fe +8/3 (mean)", true));
    /// assert_eq!(iron.split(), Some((2, 3, Ratio::new(2, 3))));
    /// # Ok::<(), Box<dyn std::error::Error>>(())
    /// ```
    pub fn split(&self) -> Option<(i64, i64, Ratio<i64>)> {
        if self.state.is_integer() {
            return None;
        }
        let lower = self.state.floor();
        Some((lower.to_integer(), lower.to_integer() + 1, self.state - lower))
    }
}

impl fmt::Display for OxidationState {
    /// `Fe +8/3 (mean)`.
    fn fmt(&self, formatter: &mut fmt::Formatter<'_>) -> fmt::Result {
        let mean = if self.is_mean { " (mean)" } else { "" };
        write!(formatter, "{} {}{mean}", self.element, signed_text(self.state))
    }
}

/// `+8/3`, `−1`, and `+2.1119` where the fraction is long.
fn signed_text(state: Ratio<i64>) -> String {
    let sign = match *state.numer() {
        0 => "",
        numerator if numerator < 0 => "−",
        _ => "+",
    };
    let size = if state < Ratio::zero() { -state } else { state };
    if *size.denom() <= 12 { format!("{sign}{size}") } else { format!("{sign}{:.4}", to_f64(size)) }
}

impl fmt::Display for OxidationRule {
    fn fmt(&self, formatter: &mut fmt::Formatter<'_>) -> fmt::Result {
        formatter.write_str(match self {
            OxidationRule::Uncombined => "an element uncombined has 0",
            OxidationRule::ChargeOfIon => "the charge of the ion over its atoms",
            OxidationRule::Fluoride => "fluorine in compounds has −1",
            OxidationRule::Alkali => "alkali metals in compounds have +1",
            OxidationRule::AlkalineEarth => "alkaline earth metals in compounds have +2",
            OxidationRule::OnlyState => "its only usual state in compounds",
            OxidationRule::Hydrogen => "hydrogen with nonmetals has +1",
            OxidationRule::Hydride => "hydrogen with metals and boron has −1",
            OxidationRule::Oxide => "oxygen has −2",
            OxidationRule::Peroxide => "oxygen left with −1: a peroxide",
            OxidationRule::Superoxide => "oxygen left with −1/2: a superoxide",
            OxidationRule::Ozonide => "oxygen left with −1/3: an ozonide",
            OxidationRule::Halide => "halogens not bound to oxygen or a lighter halogen have −1",
            OxidationRule::Chalcogenide => "sulfur and its kin not bound to oxygen or a halogen have −2",
            OxidationRule::Ion(name) => return write!(formatter, "the atoms of {name}"),
            OxidationRule::Sum => "the states add up to the charge",
            OxidationRule::OnlyCombination => "the only combination of usual states that adds up",
        })
    }
}

impl fmt::Display for OxidationRefusal {
    fn fmt(&self, formatter: &mut fmt::Formatter<'_>) -> fmt::Result {
        let names = |elements: &[Element]| elements.iter().map(|e| e.symbol()).collect::<Vec<_>>().join(" and ");
        match self {
            OxidationRefusal::Electron => write!(formatter, "the electron is no atom"),
            OxidationRefusal::Alloy => write!(formatter, "metals only: an alloy has no oxidation states"),
            OxidationRefusal::Unlisted(element) => write!(formatter, "no usual states of {element} are listed"),
            OxidationRefusal::Several(elements) => {
                write!(formatter, "more than one combination of states of {} adds up", names(elements))
            }
            OxidationRefusal::NoCombination(elements) => {
                write!(formatter, "no usual states of {} add up; bonds between like atoms, perhaps", names(elements))
            }
            OxidationRefusal::Unusual(element, state) => write!(
                formatter,
                "{element} would be left with {}, which it hardly takes; bonds between like atoms, perhaps",
                signed_text(*state)
            ),
            OxidationRefusal::Sum { sum, charge } => {
                let charge = signed_text(Ratio::from_integer(i64::from(*charge)));
                write!(formatter, "the usual states add up to {}, the charge is {charge}", signed_text(*sum))
            }
            OxidationRefusal::Disputed(one, other) => {
                write!(formatter, "{one} and {other} draw electrons almost alike; two conventions differ")
            }
            OxidationRefusal::Nitrosyl => write!(formatter, "a formula does not tell the charge of a nitrosyl ligand"),
            OxidationRefusal::OutOfRange => write!(formatter, "the counts are out of range"),
        }
    }
}

impl std::error::Error for OxidationRefusal {}

impl Formula {
    /// Oxidation state of every element, with the rule from which each follows; in each part between hydrate
    /// dots first the atoms besides ions, then those of ions, in the order of the formula.
    ///
    /// Atoms of one element in different ions are listed apart: `NH4NO3` has N −3 and N +5. Each part between hydrate
    /// dots is taken as a substance of its own, the charge as that of the first.
    ///
    /// # Errors
    /// [`OxidationRefusal`] where the formula does not decide it.
    ///
    /// # Source
    /// Karen, McArdle, Takats, Pure Appl. Chem. 86 (2014) 1017; see the module head.
    ///
    /// ```
    /// use chem::Formula;
    /// let states = |text: &str| -> Result<String, Box<dyn std::error::Error>> {
    ///     let states = Formula::parse(text)?.oxidation_states()?;
    ///     Ok(states.iter().map(ToString::to_string).collect::<Vec<_>>().join(", "))
    /// };
    /// assert_eq!(states("NH4NO3")?, "N −3, H +1, N +5, O −2");
    /// assert_eq!(states("H2O2")?, "H +1, O −1");
    /// assert!(states("CuFeS2").is_err());
    /// # Ok::<(), Box<dyn std::error::Error>>(())
    /// ```
    pub fn oxidation_states(&self) -> Result<Vec<OxidationState>, OxidationRefusal> {
        if self.is_electron() {
            return Err(OxidationRefusal::Electron);
        }
        let mut all: Vec<OxidationState> = Vec::new();
        for (index, part) in self.parts.iter().enumerate() {
            let charge = if index == 0 { self.charge } else { 0 };
            for state in states_of_part(part, charge)? {
                let alike = |own: &&mut OxidationState| {
                    (own.element, own.state, own.is_mean) == (state.element, state.state, state.is_mean)
                };
                match all.iter_mut().find(alike) {
                    Some(own) => own.count = checked(own.count, state.count, Ratio::one())?,
                    None => all.push(state),
                }
            }
        }
        Ok(all)
    }
}

/// States within one part, counted per formula unit.
fn states_of_part(part: &Part, charge: i32) -> Result<Vec<OxidationState>, OxidationRefusal> {
    // The charge stands behind the whole, so it is that of all first parts together.
    let members =
        [super::structure::Member::Group { open: '(', members: part.members.clone(), count: part.multiplier }];
    let whole = charge != 0 && !part.multiplier.is_one();
    let (members, factor) = if whole { (&members[..], Ratio::one()) } else { (&part.members[..], part.multiplier) };
    let mut states = solve::states_of_unit(members, charge)?;
    for state in &mut states {
        state.count = checked(Ratio::zero(), state.count, factor)?;
    }
    Ok(states)
}

/// `sum + count · factor`.
fn checked(sum: Ratio<i64>, count: Ratio<i64>, factor: Ratio<i64>) -> Result<Ratio<i64>, OxidationRefusal> {
    use num_traits::{CheckedAdd, CheckedMul};
    let product = count.checked_mul(&factor).ok_or(OxidationRefusal::OutOfRange)?;
    sum.checked_add(&product).ok_or(OxidationRefusal::OutOfRange)
}
