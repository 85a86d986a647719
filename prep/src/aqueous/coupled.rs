//! How are the oxidation states of an element written in one of them, when they are to follow from one another?
//!
//! One state leads; every other one is so much of it with hydrogen ion, water and electrons, its constant from the Gibbs
//! energies of `data/redox.tsv`. Complexes and solids of another state are rewritten with it. The energies are those of 25 °C
//! and so are the standard potentials at any temperature (errs by about 1 mV/K); only the slope of Nernst's equation follows
//! the temperature. An element of a ligand whose energy is not tabled keeps out of it.
//!
//! Source: `data/redox.tsv`, row by row; W. Nernst, Z. phys. Chem. 4 (1889) 129.

use chem::aqueous::{
    DissolveError, Dissolved, DissolvedSpecies, Model, RedoxKind, Terms, dissolve_beside, master_gibbs, other_states,
    redox,
};
use chem::formula::to_f64;
use chem::{Element, Formula};
use engine::aqueous::couples::Hold;
use engine::aqueous::potential::{FARADAY, volts_per_decade};

/// Elements whose states follow from one another.
#[derive(Clone, Debug, PartialEq)]
pub(crate) struct Coupled {
    /// The elements.
    pub(crate) elements: Vec<Element>,
    /// Potential against the standard hydrogen electrode, V; electrons balance where there is none.
    pub(crate) volts: Option<f64>,
}

/// A state written in the leading one.
#[derive(Clone, Debug, PartialEq)]
pub(crate) struct State {
    pub(crate) name: &'static str,
    pub(crate) solid: bool,
    pub(crate) element: Element,
    pub(crate) lead: &'static str,
    /// How much of the leading state.
    pub(crate) count: f64,
    /// Hydrogen ion, that of the hydrogen atoms counted in.
    hydrogen: f64,
    water: f64,
    /// Electrons given up.
    pub(crate) electrons: f64,
    /// Decadic logarithm of the constant of its formation with electrons at pe = 0.
    log_k: f64,
}

/// Terms in the leading states.
pub(crate) struct Written {
    pub(crate) terms: Terms,
    pub(crate) electrons: f64,
    pub(crate) log_k: f64,
}

fn count(formula: &Formula, symbol: &str) -> f64 {
    Element::from_symbol(symbol).map_or(0.0, |element| to_f64(formula.count(element)))
}

/// All states of an element but the leading one, at a temperature in K; empty where the tables have no other.
fn states(element: Element, lead: &'static str, temperature: f64) -> Vec<State> {
    let (Ok(leading), Some(gibbs), Some(of_water)) = (Formula::parse(lead), master_gibbs(lead), master_gibbs("H2O"))
    else {
        return Vec::new();
    };
    let per_decade = volts_per_decade(temperature) * FARADAY;
    let rows = redox().iter().filter(|row| row.formula.count(element) > 0.into() && row.name != lead);
    rows.filter(|row| row.kind != RedoxKind::Water)
        .map(|row| {
            let share = to_f64(row.formula.count(element)) / to_f64(leading.count(element));
            let water = count(&row.formula, "O") - share * count(&leading, "O");
            let hydrogen = count(&row.formula, "H") - share * count(&leading, "H") - 2.0 * water;
            let electrons = f64::from(row.formula.charge()) - share * f64::from(leading.charge()) - hydrogen;
            State {
                name: row.name,
                solid: row.kind == RedoxKind::Solid,
                element,
                lead,
                count: share,
                hydrogen: hydrogen + electrons,
                water,
                electrons,
                log_k: -(row.gibbs - share * gibbs - water * of_water) / per_decade,
            }
        })
        .collect()
}

/// Whether a master is a state of an element whose energy is known.
fn is_state(name: &str, element: Element) -> bool {
    let master = |row: &&chem::aqueous::RedoxRow| row.kind == RedoxKind::Master && row.name == name;
    redox().iter().filter(master).any(|row| row.formula.count(element) > 0.into())
}

/// Terms with every other state written in its leading one; `solid` for those of a solid that is itself a state.
pub(crate) fn written(terms: &Terms, states: &[State], solid: bool) -> Written {
    let mut found = Written { terms: Terms::new(), electrons: 0.0, log_k: 0.0 };
    let mut add = |name: &'static str, coefficient: f64| match found.terms.iter_mut().find(|(n, _)| *n == name) {
        Some((_, sum)) => *sum += coefficient,
        None => found.terms.push((name, coefficient)),
    };
    for (name, coefficient) in terms {
        match states.iter().find(|state| state.name == *name && state.solid == solid) {
            None => add(name, *coefficient),
            Some(state) => {
                add(state.lead, coefficient * state.count);
                add("H^+", coefficient * state.hydrogen);
                add("H2O", coefficient * state.water);
                found.electrons += coefficient * state.electrons;
                found.log_k += coefficient * state.log_k;
            }
        }
    }
    found.terms.retain(|(_, coefficient)| coefficient.abs() > 1e-12);
    found
}

impl Coupled {
    /// Writes a substance in masters and in the states of the elements that are none.
    pub(crate) fn dissolve(&self, formula: &Formula, model: Model) -> Result<Dissolved, DissolveError> {
        let of_these = |s: &&DissolvedSpecies| self.elements.iter().any(|e| s.formula.count(*e) > 0.into());
        let others: Vec<&'static DissolvedSpecies> = other_states().0.iter().filter(of_these).collect();
        dissolve_beside(formula, model, &others)
    }

    /// The states, written in those of the elements that stand first among these masters. What is no master of the tables
    /// makes room for one that is.
    pub(crate) fn states(&self, masters: &mut Vec<&'static str>, temperature: f64) -> Vec<State> {
        let mut list: Vec<State> = Vec::new();
        for element in &self.elements {
            let of_this = |s: &&DissolvedSpecies| s.formula.count(*element) > 0.into();
            let others: Vec<&str> = other_states().0.iter().filter(of_this).map(|s| s.name).collect();
            let count = masters.len();
            masters.retain(|name| !others.contains(name));
            if masters.len() < count && !masters.iter().any(|name| is_state(name, *element)) {
                masters.extend(redox().iter().map(|row| row.name).find(|name| is_state(name, *element)));
            }
            let lead = masters.iter().find(|name| is_state(name, *element));
            list.extend(lead.into_iter().flat_map(|lead| states(*element, lead, temperature)));
        }
        list
    }

    /// What is held, for so many electrons given up.
    pub(crate) fn hold(&self, electrons: f64, temperature: f64) -> Hold {
        self.volts.map_or(Hold::Electrons(electrons), |volts| Hold::Potential(volts / volts_per_decade(temperature)))
    }
}
