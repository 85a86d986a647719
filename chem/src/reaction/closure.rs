//! Which simple species would close an equation that does not balance, and on which side?
//!
//! Water, hydrogen ion, hydroxide, the electron, oxygen and carbon dioxide are what equations are usually left without.
//! The smallest sets of them are found with which exactly one balanced equation exists, every species as written on its
//! side. A proposal is arithmetic, not chemistry: it says what would balance, not what happens in the flask.

use std::fmt;

use num_rational::Ratio;

use super::balance::{Balance, matrix_of, one_solution};
use super::equation::{Equation, Term};
use super::exact;
use crate::formula::Formula;
use crate::species::{Phase, Species};

/// Most species added to one equation.
const ADDED_LIMIT: usize = 3;

/// The species tried, the likelier first.
const CANDIDATES: [&str; 6] = ["H2O", "H^+", "OH^-", "e^-", "O2", "CO2"];

/// Species that close an equation, with the equation they give.
#[derive(Clone, Debug, PartialEq)]
pub struct Closure {
    /// Species added on the left.
    pub left: Vec<Species>,
    /// Species added on the right.
    pub right: Vec<Species>,
    /// The balanced equation.
    pub balanced: Equation,
}

impl fmt::Display for Closure {
    /// `H2O on the right: 2 FeS2 + …`.
    fn fmt(&self, formatter: &mut fmt::Formatter<'_>) -> fmt::Result {
        let side = |species: &[Species], name: &str| {
            let texts: Vec<String> = species.iter().map(Species::to_string).collect();
            (!texts.is_empty()).then(|| format!("{} on the {name}", texts.join(" and ")))
        };
        let sides: Vec<String> = [side(&self.left, "left"), side(&self.right, "right")].into_iter().flatten().collect();
        write!(formatter, "{}: {}", sides.join(", "), self.balanced)
    }
}

impl Equation {
    /// The smallest sets of simple species (H2O, H⁺, OH⁻, e⁻, O2, CO2; at most three) with which an equation that does
    /// not balance has exactly one balance; empty where it balances as it stands, and where no such set closes it.
    /// Sets without ions come first where the equation has none. H⁺ and OH⁻, or e⁻ and O2, are never
    /// added together.
    ///
    /// ```
    /// use chem::Equation;
    /// let equation = Equation::parse("FeS2 + HNO3 -> Fe2(SO4)3 + NO + H2SO4")?;
    /// let closures: Vec<String> = equation.closures().iter().map(ToString::to_string).collect();
    /// assert_eq!(closures[0], "H2O on the right: 2 FeS2 + 10 HNO3 -> Fe2(SO4)3 + 10 NO + H2SO4 + 4 H2O");
    /// assert_eq!(closures[1], "O2 on the left: 2 FeS2 + 2 HNO3 + 6 O2 -> Fe2(SO4)3 + 2 NO + H2SO4");
    /// # Ok::<(), chem::EquationError>(())
    /// ```
    pub fn closures(&self) -> Vec<Closure> {
        if !matches!(self.balance(), Balance::None { .. }) {
            return Vec::new();
        }
        let present: Vec<&Formula> = self.terms().map(|term| &term.species.formula).collect();
        let absent: Vec<Species> = CANDIDATES
            .iter()
            .filter_map(|text| Formula::parse(text).ok())
            .filter(|candidate| !present.contains(&candidate))
            .map(|candidate| self.with_usual_phase(candidate))
            .collect();
        let neutral = present.iter().all(|formula| formula.charge() == 0);
        for size in 1..=ADDED_LIMIT {
            let mut closures: Vec<Closure> =
                subsets(&absent, size).iter().filter_map(|added| self.closed_by(added)).collect();
            if !closures.is_empty() {
                let has_ions = |closure: &Closure| {
                    closure.left.iter().chain(&closure.right).any(|species| species.formula.charge() != 0)
                };
                closures.sort_by_key(|closure| neutral && has_ions(closure));
                return closures;
            }
        }
        Vec::new()
    }

    /// The closure by these species, if there is exactly one and it needs every species.
    fn closed_by(&self, added: &[Species]) -> Option<Closure> {
        let adds = |text: &str| added.iter().any(|species| species.formula.text() == text);
        if adds("H^+") && adds("OH^-") || adds("e^-") && adds("O2") {
            return None;
        }
        let extra: Vec<Term> = added.iter().map(|species| unwritten(species.clone())).collect();
        let mut extended = self.clone();
        extended.right.extend(extra);
        let formulas = extended.signed_formulas();
        let basis = exact::null_space(matrix_of(&extended.components(), &formulas), formulas.len());
        let [vector] = basis.as_slice() else {
            return None;
        };
        let own = self.left.len() + self.right.len();
        let (coefficients, wrong) = match one_solution(vector, &formulas) {
            Balance::One(coefficients) => (coefficients, Vec::new()),
            Balance::WrongSide { coefficients, wrong, idle } if idle.is_empty() => (coefficients, wrong),
            _ => return None,
        };
        // The sign of a lone solution follows the majority; the terms written decide it here.
        let own_wrong = wrong.iter().filter(|place| **place < own).count();
        let coefficients: Vec<i64> = match own_wrong {
            0 => coefficients,
            _ if own_wrong == own => coefficients.into_iter().map(|number| -number).collect(),
            _ => return None,
        };
        let on_side = |positive: bool| {
            let numbers = coefficients.iter().skip(own);
            added.iter().zip(numbers).filter(|(_, number)| (**number > 0) == positive).map(|(s, _)| s.clone()).collect()
        };
        let balanced = extended.with_coefficients(&coefficients)?;
        Some(Closure { left: on_side(false), right: on_side(true), balanced })
    }

    /// The species with its usual phase where every term has one.
    fn with_usual_phase(&self, formula: Formula) -> Species {
        let has_phases = self.terms().all(|term| term.species.phase.is_some() || term.species.formula.is_electron());
        let wet = self.terms().any(|term| matches!(term.species.phase, Some(Phase::Aqueous | Phase::Liquid)));
        let phase = match (formula.charge(), formula.text()) {
            _ if !has_phases || formula.is_electron() => None,
            (0, "H2O") if wet => Some(Phase::Liquid),
            (0, _) => Some(Phase::Gas),
            _ => Some(Phase::Aqueous),
        };
        Species::new(formula, phase)
    }
}

fn unwritten(species: Species) -> Term {
    Term { coefficient: Ratio::from_integer(1), written: false, species, offset: 0, length: 0 }
}

/// All ways to choose `size` of the species, in order.
fn subsets(species: &[Species], size: usize) -> Vec<Vec<Species>> {
    match (size, species.split_first()) {
        (0, _) => vec![Vec::new()],
        (_, None) => Vec::new(),
        (_, Some((first, rest))) => {
            let with_first = subsets(rest, size - 1).into_iter().map(|mut chosen| {
                chosen.insert(0, first.clone());
                chosen
            });
            with_first.chain(subsets(rest, size)).collect()
        }
    }
}
