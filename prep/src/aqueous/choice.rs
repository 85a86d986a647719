//! Which set of constants suits this solution?
//!
//! The association set is tried first. Up to an ionic strength of 0.02 mol/kg it is kept. Above, Pitzer's equations are
//! taken if every pair of a cation and an anion that are both there in more than traces has a parameter, and if the set has
//! every complex and solid that the association set would form; else the association set stands, and from 0.5 mol/kg its
//! figures are estimates.
//!
//! Source: limits as in `engine::aqueous::activity`; Pitzer's parameters hold to about 6 mol/kg (Harvie and Weare 1980).

use super::coupled::{Coupled, written};
use super::{Allowed, Chemistry, Held};
use chem::Formula;
use chem::aqueous::{DissolveError, Dissolved, Model, RedoxRow, dissolve, interactions, redox, solids, species};
use engine::aqueous::dose::Mixture;
use engine::aqueous::speciate::{Solver, Status};
use std::collections::BTreeSet;

/// Ionic strength up to which the association set needs no second look, mol/kg.
const DILUTE: f64 = 0.02;
/// Molality from which a pair without a parameter counts, mol/kg.
const COUNTS: f64 = 0.05;

/// Molality from which a species counts as there, mol/kg.
const PRESENT: f64 = 1e-6;

/// Share of the rarer partner from which a complex counts.
const BOUND: f64 = 0.05;

/// Share of one of its parts that a solid must hold to count.
const FALLS_OUT: f64 = 0.01;

/// Substances with their amounts, in water.
#[derive(Clone, Debug)]
pub(crate) struct Recipe {
    /// What is dissolved, mol.
    pub(crate) substances: Vec<(Formula, f64)>,
    /// What may be added.
    pub(crate) reagents: Vec<Formula>,
    /// Free water, kg; that of hydrates comes on top.
    pub(crate) water: f64,
    /// Oxidation states that follow from one another; all are held apart where there is nothing.
    pub(crate) coupled: Option<Coupled>,
}

/// A chemistry with the mixture in its numbers.
#[derive(Clone, Debug)]
pub(crate) struct Chosen {
    pub(crate) chemistry: Chemistry,
    pub(crate) solver: Solver,
    pub(crate) mixture: Mixture,
    /// Why Pitzer's equations were not taken, where the solution is too strong for the other set.
    pub(crate) why_not: Option<String>,
}

/// A pair of ions without a parameter, with the smaller molality of the two.
pub(crate) type Lacking = (&'static str, &'static str, f64);

/// Why there is no chemistry.
#[derive(Clone, Debug, PartialEq)]
pub(crate) enum Refusal {
    /// A substance cannot be written in dissolved species.
    Substance(usize, String),
    /// The network could not be built.
    Network(String),
}

impl Recipe {
    /// Net charge of the substances, mol.
    pub(crate) fn charge(&self) -> f64 {
        self.substances.iter().map(|(formula, amount)| f64::from(formula.charge()) * amount).sum()
    }

    fn parts(&self, model: Model) -> Result<Vec<(Dissolved, f64)>, Refusal> {
        let reagents = self.reagents.iter().map(|formula| (formula, 0.0));
        let all = self.substances.iter().map(|(formula, amount)| (formula, *amount)).chain(reagents);
        all.enumerate()
            .map(|(index, (formula, amount))| match self.dissolve(formula, model) {
                Ok(parts) => Ok((parts, amount)),
                Err(error) => Err(Refusal::Substance(index, error.to_string())),
            })
            .collect()
    }

    fn dissolve(&self, formula: &Formula, model: Model) -> Result<Dissolved, DissolveError> {
        self.coupled.as_ref().map_or_else(|| dissolve(formula, model), |coupled| coupled.dissolve(formula, model))
    }

    fn masters(parts: &[(Dissolved, f64)], held: &[Held], model: Model) -> Vec<&'static str> {
        let mut names: Vec<&'static str> = Vec::new();
        let gases = chem::aqueous::gases(model).filter(|row| held.iter().any(|gas| gas.name == row.name));
        let of_gases = gases.flat_map(|row| row.terms.iter().map(|(name, _)| *name));
        for name in parts.iter().flat_map(|(d, _)| d.masters.iter().map(|(name, _)| *name)).chain(of_gases) {
            if !names.contains(&name) && name != "H^+" && name != "H2O" {
                names.push(name);
            }
        }
        names
    }

    /// In the numbers of one set.
    pub(crate) fn with(
        &self,
        model: Model,
        allowed: Allowed,
        held: &[Held],
        temperature: f64,
    ) -> Result<Chosen, Refusal> {
        let parts = self.parts(model)?;
        let mut masters = Self::masters(&parts, held, model);
        let states = self.coupled.as_ref().map_or(Vec::new(), |coupled| coupled.states(&mut masters, temperature));
        let mut chemistry = Chemistry::new(model, &masters, states, allowed, held, temperature)
            .map_err(|error| Refusal::Network(error.to_string()))?;
        let mut totals = vec![0.0; chemistry.network.masters()];
        let mut water = self.water / engine::aqueous::water::MOLAR_MASS;
        let mut electrons = 0.0;
        for (part, amount) in &parts {
            totals[0] += part.hydrogen * amount;
            water += part.water * amount;
            let own = written(&part.masters, &chemistry.states, false);
            electrons += own.electrons * amount;
            for (name, count) in &own.terms {
                match chemistry.master(name) {
                    Some(number) => totals[number] += count * amount,
                    None if *name == "H2O" => water += count * amount,
                    None => {}
                }
            }
        }
        if let Some(coupled) = &self.coupled {
            chemistry.network.hold(coupled.hold(electrons, temperature));
        }
        // What the substances lack in charge comes as hydrogen ion or hydroxide.
        let charge = self.charge();
        totals[0] -= charge;
        water += charge.max(0.0);
        let solver = Solver::new(chemistry.network.clone());
        Ok(Chosen { chemistry, solver, mixture: Mixture { totals, water }, why_not: None })
    }
}

/// The set that suits, solved once.
///
/// # Errors
/// [`Refusal`] where a substance is not in the tables.
pub(crate) fn choose(recipe: &Recipe, allowed: Allowed, held: &[Held], temperature: f64) -> Result<Chosen, Refusal> {
    let mut first = recipe.with(Model::Association, allowed, held, temperature)?;
    let report = first.solver.solve(&first.mixture.totals, first.mixture.water, false);
    let dissolved: f64 = first.solver.molalities().iter().sum();
    let strong = first.solver.ionic_strength().max(0.5 * dissolved) > DILUTE || report.status != Status::Solved;
    if !strong {
        return Ok(first);
    }
    if recipe.coupled.is_some() {
        first.why_not = Some("potentials go with the other set".to_owned());
        return Ok(first);
    }
    match covered(recipe, &first, allowed, held, temperature) {
        Ok(second) => Ok(second),
        Err(why) => {
            first.why_not = Some(why);
            Ok(first)
        }
    }
}

/// The same in Pitzer's set, or why not.
fn covered(
    recipe: &Recipe,
    first: &Chosen,
    allowed: Allowed,
    held: &[Held],
    temperature: f64,
) -> Result<Chosen, String> {
    let named = |index: usize, why: String| match recipe.substances.get(index) {
        Some((formula, _)) => format!("{formula}: {why}"),
        None => why,
    };
    let mut second = recipe.with(Model::Pitzer, allowed, held, temperature).map_err(|refusal| match refusal {
        Refusal::Substance(index, _) => named(index, "no interaction parameters".to_owned()),
        Refusal::Network(why) => why,
    })?;
    let water = second.mixture.water * engine::aqueous::water::MOLAR_MASS;
    let charge = |number: usize| second.chemistry.species[number].formula.charge();
    let total = |number: usize| second.mixture.totals[number] / water;
    for a in 1..second.mixture.totals.len() {
        for b in 1..second.mixture.totals.len() {
            let (x, y) = (second.chemistry.species[a].name, second.chemistry.species[b].name);
            if charge(a) > 0 && charge(b) < 0 && total(a).min(total(b)) > COUNTS && !has_pair(x, y) {
                return Err(format!("no interaction parameter for {} with {}", plain(x), plain(y)));
            }
        }
    }
    if let Some((a, b)) = complex_without_pair(first) {
        return Err(format!("that set does not have the complexes of {} with {}", plain(a), plain(b)));
    }
    for (number, solid) in first.chemistry.solids.iter().enumerate() {
        if matters(first, number, solid)
            && !solids(Model::Pitzer).any(|other| other.formula.same_substance(&solid.formula))
        {
            return Err(format!("that set does not have {}, which may fall out", solid.formula));
        }
    }
    let report = second.solver.solve(&second.mixture.totals, second.mixture.water, false);
    match report.status {
        Status::Solved | Status::Almost => Ok(second),
        _ => Err("Pitzer's equations have no solution here".to_owned()),
    }
}

/// Whether a solid holds so much of one of its parts that leaving it out would be seen.
fn matters(first: &Chosen, number: usize, solid: &chem::aqueous::Precipitate) -> bool {
    let amount = first.solver.solid(number);
    let share = |(name, count): &(&'static str, f64)| {
        let total = first.chemistry.master(name).filter(|n| *n > 0).map(|n| first.mixture.totals[n]);
        total.map_or(0.0, |total| if total > 0.0 { count * amount / total } else { 1.0 })
    };
    amount > 0.0 && solid.terms.iter().map(share).fold(0.0, f64::max) > FALLS_OUT
}

/// Two masters that are bound to each other in part, without Pitzer's set knowing of it.
fn complex_without_pair(first: &Chosen) -> Option<(&'static str, &'static str)> {
    let water = first.solver.water();
    let complexes =
        first.chemistry.species.iter().zip(first.solver.molalities()).skip(first.chemistry.network.masters());
    for (complex, molality) in complexes {
        let parts: Vec<_> = complex.terms.iter().filter(|(name, _)| *name != "H^+" && *name != "H2O").collect();
        let [(a, _), (b, _)] = parts[..] else { continue };
        let total = |name: &str| first.chemistry.master(name).map_or(0.0, |n| first.mixture.totals[n] / water);
        // A master without charge binds as another species of its own, whose pairs are not known here.
        let neutral = [a, b].iter().any(|name| !name.contains('^'));
        let bound = !neutral && *molality > BOUND * total(a).min(total(b)) && *molality > 0.0;
        if bound && !has_pair(a, b) && !has(Model::Pitzer, complex.name) {
            return Some((a, b));
        }
    }
    None
}

/// A name of the tables as it is printed.
pub(crate) fn plain(name: &str) -> String {
    Formula::parse(name).map_or_else(|_| name.to_owned(), |formula| formula.to_string())
}

fn has_pair(a: &str, b: &str) -> bool {
    interactions().iter().any(|row| {
        row.kind == "beta0"
            && (row.species[0] == a && row.species[1] == b || row.species[0] == b && row.species[1] == a)
    })
}

/// Pairs of ions of a solved solution that have no parameter and count, the strongest first.
pub(crate) fn lacking(chosen: &Chosen) -> Vec<Lacking> {
    if chosen.chemistry.model != Model::Pitzer {
        return Vec::new();
    }
    let list: Vec<_> = chosen.chemistry.species.iter().zip(chosen.solver.molalities()).collect();
    let mut found: Vec<Lacking> = Vec::new();
    for (a, x) in list.iter().filter(|(s, _)| s.formula.charge() > 0) {
        for (b, y) in list.iter().filter(|(s, _)| s.formula.charge() < 0) {
            let least = x.min(**y);
            if least > COUNTS && !has_pair(a.name, b.name) {
                found.push((a.name, b.name, least));
            }
        }
    }
    found.sort_by(|a, b| b.2.total_cmp(&a.2));
    found
}

/// Citations of the constants that take part.
pub(crate) fn sources(chosen: &Chosen) -> Vec<String> {
    let list = chosen.chemistry.species.iter().zip(chosen.solver.molalities());
    let present: BTreeSet<&str> = list.clone().filter(|(_, m)| **m > PRESENT).map(|(s, _)| s.name).collect();
    let used = list.filter(|(s, m)| !s.is_master() && **m > 1e-12).map(|(s, _)| s.constant.source);
    let solids = chosen.chemistry.solids.iter().enumerate().filter(|(n, _)| chosen.solver.solid(*n) > 0.0);
    let mut found: Vec<String> = Vec::new();
    let takes_part = |name: &&str| name.is_empty() || present.contains(name);
    let pitzer = chosen.chemistry.model == Model::Pitzer;
    let rows = interactions().iter().filter(|row| pitzer && row.species.iter().all(&takes_part));
    let parameters = rows.map(|row| row.source);
    let states = &chosen.chemistry.states;
    let joined = |row: &&RedoxRow| states.iter().any(|state| state.name == row.name || state.lead == row.name);
    let energies = redox().iter().filter(joined).flat_map(|row| row.sources.iter().copied());
    for source in used.chain(solids.map(|(_, s)| s.constant.source)).chain(parameters).chain(energies) {
        let citation = source.citation().to_owned();
        if !found.contains(&citation) {
            found.push(citation);
        }
    }
    found
}

/// Whether a set has a species.
pub(crate) fn has(model: Model, name: &str) -> bool {
    species(model).any(|s| s.name == name)
}

#[cfg(test)]
mod tests {
    use super::*;

    fn recipe(list: &[(&str, f64)]) -> Recipe {
        let substances = list.iter().map(|(f, n)| (Formula::parse(f).expect("a formula"), *n)).collect();
        Recipe { substances, reagents: Vec::new(), water: 1.0, coupled: None }
    }

    #[test]
    fn the_set_suits_the_solution() {
        let of = |list: &[(&str, f64)]| {
            let chosen = choose(&recipe(list), Allowed::Fresh, &[], 298.15).expect("in the tables");
            (chosen.chemistry.model, chosen.why_not)
        };
        let taken: [&[(&str, f64)]; 4] = [
            &[("NaCl", 1.0)],
            &[("CuSO4", 0.4), ("H2SO4", 0.05)],
            &[("NaHCO3", 0.025), ("Na2CO3", 0.025)],
            &[("CaSO4·2H2O", 1.0)],
        ];
        for list in taken {
            assert_eq!(of(list), (Model::Pitzer, None), "{list:?}");
        }
        let not: [(&[(&str, f64)], &str); 4] = [
            (&[("CuSO4", 0.4), ("FeCl3", 0.01)], "FeCl3"),
            (&[("CuSO4", 0.4), ("Na2CO3", 0.4)], "no interaction parameter"),
            (&[("CuSO4", 0.1), ("NH3", 1.0)], "complexes"),
            (&[("ZnSO4", 0.1), ("Na2C2O4", 0.1)], "Na2C2O4"),
        ];
        for (list, why) in not {
            let (model, told) = of(list);
            assert_eq!(model, Model::Association);
            assert!(told.as_ref().is_some_and(|told| told.contains(why)), "{list:?} {told:?}");
        }
        assert_eq!(of(&[("NaCl", 0.01)]), (Model::Association, None));
    }
}
