//! Which masters does a substance give when it dissolves?
//!
//! By composition and charge alone: for every element but hydrogen and oxygen, the masters that hold it are tried; water
//! and hydrogen ion close the rest. Oxidation states must add up, so FeCl3 gives iron(III) and FeCl2 iron(II), CuC2O4 an
//! oxalate and CuCO3 a carbonate, without a list of names. Where several ways close, the one with the fewest kinds of
//! parts is taken, then the one with the fewest parts; if two still tie, the answer is "ambiguous".
//!
//! Source: conservation of elements and charge.

use super::{DissolvedSpecies, Model, species};
use crate::element::Element;
use crate::formula::{Formula, to_f64};

/// A substance in masters, per formula unit.
#[derive(Clone, Debug, PartialEq)]
pub struct Dissolved {
    /// Masters other than the hydrogen ion, each with its amount.
    pub masters: Vec<(&'static str, f64)>,
    /// Hydrogen ion set free; negative where it is taken up.
    pub hydrogen: f64,
    /// Water set free; negative where it is taken up.
    pub water: f64,
}

/// Why a substance cannot be written in masters.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum DissolveError {
    /// No master of the set holds this element.
    NoMaster(Element),
    /// No combination has its composition and charge: an oxidation state or a ligand that the tables do not have.
    NoCombination,
    /// Several have.
    Ambiguous,
}

impl std::fmt::Display for DissolveError {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        match self {
            Self::NoMaster(element) => write!(f, "the tables have no dissolved species of {}", element.name()),
            Self::NoCombination => f.write_str("no dissolved species of the tables add up to it"),
            Self::Ambiguous => f.write_str("several sets of dissolved species add up to it"),
        }
    }
}

impl std::error::Error for DissolveError {}

/// Most combinations looked at.
const MOST: usize = 50_000;

struct Part {
    name: &'static str,
    counts: Vec<i64>,
    hydrogen: i64,
    oxygen: i64,
    charge: i64,
}

struct Search {
    parts: Vec<Part>,
    /// Hydrogen, oxygen and charge of the substance.
    hydrogen: i64,
    oxygen: i64,
    charge: i64,
    /// Whether nitrogen is in it.
    nitrogen: bool,
    found: Vec<(Vec<i64>, i64, i64)>,
    looked_at: usize,
}

/// Writes a substance in masters; hydrate water counts as water.
///
/// # Errors
/// [`DissolveError`] as its variants say.
///
/// ```
/// use chem::{Formula, aqueous::{Model, dissolve}};
/// let bluestone = dissolve(&Formula::parse("CuSO4·5H2O")?, Model::Association)?;
/// assert_eq!(bluestone.masters, [("Cu^2+", 1.0), ("SO4^2-", 1.0)]);
/// assert_eq!((bluestone.hydrogen, bluestone.water), (0.0, 5.0));
/// # Ok::<(), Box<dyn std::error::Error>>(())
/// ```
pub fn dissolve(formula: &Formula, model: Model) -> Result<Dissolved, DissolveError> {
    dissolve_beside(formula, model, &[])
}

/// The same where further species count as masters: oxidation states that the tables of constants do not have.
///
/// # Errors
/// [`DissolveError`] as its variants say.
pub fn dissolve_beside(
    formula: &Formula,
    model: Model,
    others: &[&'static DissolvedSpecies],
) -> Result<Dissolved, DissolveError> {
    let hydrate = to_f64(formula.hydrate_water());
    let dry = formula.without_hydrate_water();
    let times = dry.composition().values().fold(1, |all, count| num_integer::lcm(all, *count.denom()));
    let count = |formula: &Formula, element: Element| (formula.count(element) * times).to_integer();
    let whole = |formula: &Formula, element: Element| formula.count(element).to_integer();
    let (hydrogen, oxygen) = (Element::from_symbol("H"), Element::from_symbol("O"));
    let (Some(hydrogen), Some(oxygen)) = (hydrogen, oxygen) else { return Err(DissolveError::NoCombination) };
    let elements: Vec<Element> = dry.elements().map(|(e, _)| e).filter(|e| *e != hydrogen && *e != oxygen).collect();
    let holds_only = |master: &DissolvedSpecies| {
        master.formula.elements().all(|(e, _)| e == hydrogen || e == oxygen || elements.contains(&e))
            && master.formula.elements().any(|(e, _)| elements.contains(&e))
    };
    let parts: Vec<Part> = species(model)
        .filter(|master| master.is_master())
        .chain(others.iter().copied())
        .filter(|master| holds_only(master))
        .map(|master| Part {
            name: master.name,
            counts: elements.iter().map(|e| whole(&master.formula, *e)).collect(),
            hydrogen: whole(&master.formula, hydrogen),
            oxygen: whole(&master.formula, oxygen),
            charge: i64::from(master.formula.charge()),
        })
        .collect();
    if let Some(index) = (0..elements.len()).find(|i| parts.iter().all(|part| part.counts[*i] == 0)) {
        return Err(DissolveError::NoMaster(elements[index]));
    }
    let left: Vec<i64> = elements.iter().map(|e| count(&dry, *e)).collect();
    let mut search = Search {
        hydrogen: count(&dry, hydrogen),
        oxygen: count(&dry, oxygen),
        charge: i64::from(dry.charge()) * times,
        nitrogen: elements.iter().any(|e| e.symbol() == "N"),
        found: Vec::new(),
        looked_at: 0,
        parts,
    };
    let mut taken = vec![0; search.parts.len()];
    search.fill(0, &left, &mut taken);
    let best = search.best()?;
    let per = |n: i64| n as f64 / times as f64;
    let masters = search.parts.iter().zip(&best.0).filter(|(_, n)| **n > 0).map(|(part, n)| (part.name, per(*n)));
    Ok(Dissolved { masters: masters.collect(), hydrogen: per(best.1), water: per(best.2) + hydrate })
}

impl Search {
    /// Tries all amounts of the part and of those behind it.
    fn fill(&mut self, part: usize, left: &[i64], taken: &mut [i64]) {
        self.looked_at += 1;
        if self.looked_at > MOST {
            return;
        }
        if part == self.parts.len() {
            if left.iter().all(|count| *count == 0) {
                self.close(taken);
            }
            return;
        }
        let counts = self.parts[part].counts.clone();
        let room = counts.iter().zip(left).filter(|(need, _)| **need > 0).map(|(need, have)| have / need).min();
        for amount in (0..=room.unwrap_or(0)).rev() {
            let rest: Vec<i64> = left.iter().zip(&counts).map(|(have, need)| have - amount * need).collect();
            taken[part] = amount;
            self.fill(part + 1, &rest, taken);
        }
        taken[part] = 0;
    }

    /// Keeps a combination if water and hydrogen ion close it.
    fn close(&mut self, taken: &[i64]) {
        let sum = |of: fn(&Part) -> i64| self.parts.iter().zip(taken).map(|(part, n)| of(part) * n).sum::<i64>();
        let water = self.oxygen - sum(|p| p.oxygen);
        let hydrogen = self.hydrogen - sum(|p| p.hydrogen) - 2 * water;
        // What would have to take up water to come apart does not do so by itself where an element is spread over several
        // states (an azide is no ammonium nitrate) or where nitrogen is bound otherwise (urea is no ammonium carbonate).
        if water < 0 && (self.nitrogen || self.is_spread(taken)) {
            return;
        }
        if sum(|p| p.charge) + hydrogen == self.charge {
            self.found.push((taken.to_vec(), hydrogen, water));
        }
    }

    /// Whether one element stands in several of the parts taken.
    fn is_spread(&self, taken: &[i64]) -> bool {
        let elements = self.parts.first().map_or(0, |part| part.counts.len());
        let holders = |i: usize| self.parts.iter().zip(taken).filter(|(part, n)| **n > 0 && part.counts[i] > 0).count();
        (0..elements).any(|i| holders(i) > 1)
    }

    fn best(&self) -> Result<(Vec<i64>, i64, i64), DissolveError> {
        let rank = |taken: &[i64]| (taken.iter().filter(|n| **n > 0).count(), taken.iter().sum::<i64>());
        let best = self.found.iter().map(|(taken, ..)| rank(taken)).min().ok_or(DissolveError::NoCombination)?;
        let mut ties = self.found.iter().filter(|(taken, ..)| rank(taken) == best);
        match (ties.next(), ties.next()) {
            (Some(only), None) => Ok(only.clone()),
            _ => Err(DissolveError::Ambiguous),
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn told(text: &str) -> String {
        match dissolve(&Formula::parse(text).expect("a formula"), Model::Association) {
            Ok(found) => {
                let masters: Vec<String> = found.masters.iter().map(|(name, n)| format!("{n} {name}")).collect();
                format!("{} | {} | {}", masters.join(" "), found.hydrogen, found.water)
            }
            Err(error) => error.to_string(),
        }
    }

    #[test]
    fn substances_come_apart_by_composition() {
        let table = [
            ("CuSO4·5H2O", "1 Cu^2+ 1 SO4^2- | 0 | 5"),
            ("FeCl3", "1 Fe^3+ 3 Cl^- | 0 | 0"),
            ("Fe3O4", "1 Fe^2+ 2 Fe^3+ | -8 | 4"),
            ("H2SO4", "1 SO4^2- | 2 | 0"),
            ("NaOH", "1 Na^+ | -1 | 1"),
            ("NH3", "1 NH4^+ | -1 | 0"),
            ("NH4NO3", "1 NH4^+ 1 NO3^- | 0 | 0"),
            ("NaN3", "no dissolved species of the tables add up to it"),
            ("CO(NH2)2", "no dissolved species of the tables add up to it"),
            ("KCN", "no dissolved species of the tables add up to it"),
            ("CO2", "1 CO3^2- | 2 | -1"),
            ("NaHCO3", "1 Na^+ 1 CO3^2- | 1 | 0"),
            ("CuC2O4", "1 Cu^2+ 1 C2O4^2- | 0 | 0"),
            ("Na3C6H5O7", "3 Na^+ 1 C6H5O7^3- | 0 | 0"),
            ("CH3COOH", "1 CH3COO^- | 1 | 0"),
            ("Na2SO3", "2 Na^+ 1 SO3^2- | 0 | 0"),
            ("Na2B4O7·10H2O", "2 Na^+ 4 H3BO3 | -2 | 5"),
            ("KH3(C2O4)2·2H2O", "1 K^+ 2 C2O4^2- | 3 | 2"),
            ("CaSO4·0.5H2O", "1 Ca^2+ 1 SO4^2- | 0 | 0.5"),
            ("H2O", " | 0 | 1"),
            ("OH^-", " | -1 | 1"),
            ("Fe", "no dissolved species of the tables add up to it"),
            ("XeF2", "the tables have no dissolved species of xenon"),
        ];
        for (text, expected) in table {
            assert_eq!(told(text), expected, "{text}");
        }
    }
}
