//! If an equation balances in more than one way: between which reactions does it lie, and what would decide?
//!
//! All balances with every species on its side are mixtures, in amounts ≥ 0, of the extreme ones, which use as few
//! species as they can. With d independent balances, the relative amounts of d species fix the rest; the species named
//! are those that some extreme reaction does without, because their ratio tells the extremes apart best.

use std::fmt;

use num_bigint::BigInt;
use num_rational::BigRational;

use super::balance::{Balance, matrix_of, signed};
use super::equation::Equation;
use super::exact::{self, Matrix};

/// The room an equation leaves that balances in more than one way.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Freedom {
    /// Number of independent balances, ≥ 2.
    pub independent: usize,
    /// The extreme balances in smallest whole numbers, in the order of [`Equation::terms`], negative on the left. Empty
    /// where no balance keeps every species on its side, and where there are too many to list.
    pub extremes: Vec<Vec<i64>>,
    /// Places of the species whose relative amounts, once known, fix the balance: as many as `independent`.
    pub deciding: Vec<usize>,
    names: Vec<String>,
}

impl fmt::Display for Freedom {
    /// The fact that would decide: `the ratio of ClO2 to Cl2, measured, would decide`.
    fn fmt(&self, formatter: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self.names.as_slice() {
            [one, other] => write!(formatter, "the ratio of {one} to {other}, measured, would decide"),
            names => {
                write!(formatter, "the amounts of {} relative to each other, measured, would decide", names.join(", "))
            }
        }
    }
}

impl Equation {
    /// What an equation leaves open that balances in more than one way; `None` where it does not.
    ///
    /// ```
    /// use chem::Equation;
    /// let equation = Equation::parse("KClO3 + HCl -> KCl + ClO2 + Cl2 + H2O")?;
    /// let freedom = equation.freedom().ok_or(chem::ReactionError::Nothing)?;
    /// assert_eq!(freedom.independent, 2);
    /// assert_eq!(freedom.to_string(), "the ratio of ClO2 to Cl2, measured, would decide");
    /// # Ok::<(), Box<dyn std::error::Error>>(())
    /// ```
    pub fn freedom(&self) -> Option<Freedom> {
        let Balance::Several { basis } = self.balance() else {
            return None;
        };
        let formulas = self.signed_formulas();
        let rays = exact::extreme_rays(&matrix_of(&self.components(), &formulas), formulas.len());
        let extremes: Vec<Vec<i64>> = rays.iter().filter_map(|ray| signed(ray, &formulas)).collect();
        let deciding = self.deciding(&basis, &extremes);
        let names = deciding.iter().filter_map(|place| self.terms().nth(*place));
        let names = names.map(|term| term.species.to_string()).collect();
        Some(Freedom { independent: basis.len(), extremes, deciding, names })
    }

    /// Places of species on which the balances of the basis depend independently.
    fn deciding(&self, basis: &[Vec<i64>], extremes: &[Vec<i64>]) -> Vec<usize> {
        let absences = |place: usize| extremes.iter().filter(|numbers| numbers.get(place) == Some(&0)).count();
        let mut places: Vec<usize> = (0..self.left.len() + self.right.len()).collect();
        places.sort_by_key(|place| (std::cmp::Reverse(absences(*place)), *place < self.left.len(), *place));
        let mut chosen: Vec<usize> = Vec::new();
        for place in places {
            if chosen.len() == basis.len() {
                break;
            }
            chosen.push(place);
            let entry = |numbers: &Vec<i64>, place: usize| {
                BigRational::from_integer(BigInt::from(numbers.get(place).copied().unwrap_or(0)))
            };
            let rows: Matrix =
                chosen.iter().map(|place| basis.iter().map(|numbers| entry(numbers, *place)).collect()).collect();
            if exact::rank(rows, basis.len()) < chosen.len() {
                chosen.pop();
            }
        }
        chosen.sort_unstable();
        chosen
    }
}
