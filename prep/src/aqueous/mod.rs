//! What chemistry does a solution of these substances have, in terms that the engine solves?
//!
//! From the tables of `chem` the species, solids and gases that can be made of the substances at hand are picked, constants
//! are brought to the temperature, and everything is numbered for the engine. The one place where both meet, for single
//! questions and later for steps of a preparation.
//!
//! Which set of constants: the association set up to 0.1 mol/kg and wherever Pitzer's parameters do not cover the solution;
//! Pitzer's else.
//!
//! Source: the tables of `chem::aqueous`, row by row.

mod choice;
pub(crate) mod coupled;
pub(crate) mod sensitivity;
pub(crate) mod step;
pub(crate) mod waste;

pub(crate) use choice::{Chosen, Recipe, Refusal, choose, lacking, plain, sources};

use chem::aqueous::{
    DissolvedSpecies, Form, Interaction, Model, Precipitate, gases, interactions, other_states, solids, species,
};
use coupled::{State, written};
use engine::aqueous::constants;
use engine::aqueous::couples::Couples;
use engine::aqueous::network::{Activity, Dissolved, Network, NetworkError, Phase};
use engine::aqueous::pitzer::{Pair, Pitzer, parameter};

/// Which solids may form.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) enum Allowed {
    /// None: what is supersaturated stays so.
    None,
    /// Salts and what falls out within hours.
    Fresh,
    /// The same, and what these turn into.
    Aged,
}

impl Allowed {
    fn lets(self, form: Form) -> bool {
        match self {
            Self::None => false,
            Self::Fresh => matches!(form, Form::Fresh | Form::Salt),
            Self::Aged => form != Form::Slow,
        }
    }
}

/// A gas held over the solution.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(crate) struct Held {
    /// Formula as in the table.
    pub(crate) name: &'static str,
    /// Partial pressure, Pa.
    pub(crate) pressure: f64,
}

/// The chemistry of a solution, numbered.
#[derive(Clone, Debug)]
pub(crate) struct Chemistry {
    pub(crate) model: Model,
    pub(crate) temperature: f64,
    pub(crate) species: Vec<&'static DissolvedSpecies>,
    /// Solids that may form.
    pub(crate) solids: Vec<&'static Precipitate>,
    /// Solids that may not, for their saturation only.
    pub(crate) watched: Vec<&'static Precipitate>,
    /// Oxidation states that follow from others.
    pub(crate) states: Vec<State>,
    pub(crate) network: Network,
}

/// Pressure to which constants of gases refer, Pa.
const ATMOSPHERE: f64 = 101_325.0;

impl Chemistry {
    /// Of these masters (hydrogen ion is added), with solids and gases, at a temperature in K; states that follow from others
    /// are no masters of their own.
    pub(crate) fn new(
        model: Model,
        masters: &[&'static str],
        states: Vec<State>,
        allowed: Allowed,
        held: &[Held],
        temperature: f64,
    ) -> Result<Self, NetworkError> {
        let follows = |name: &str| states.iter().any(|state| state.name == name && !state.solid);
        let known = |name: &str| name == "H2O" || name == "H^+" || masters.contains(&name) || follows(name);
        let others = other_states();
        let mut list: Vec<&DissolvedSpecies> =
            species(model).filter(|s| s.terms.iter().all(|(name, _)| known(name))).collect();
        list.extend(others.0.iter().filter(|s| follows(s.name)));
        let leads = |s: &DissolvedSpecies| s.is_master() && !follows(s.name);
        list.sort_by_key(|s| (!leads(s), s.name != "H^+"));
        let count = list.iter().filter(|s| leads(s)).count();
        let number = |name: &str| list.iter().take(count).position(|s| s.name == name);
        let mut couples = Couples::default();
        let mut dissolved = Vec::with_capacity(list.len());
        for (place, s) in list.iter().enumerate() {
            let own = written(&s.terms, &states, false);
            let (parts, water) = numbered(&own.terms, &number);
            let log_k = at(&s.constant, temperature) + own.log_k;
            dissolved.push(Dissolved { charge: s.formula.charge(), size: s.size, parts, water, log_k });
            couples.species.extend((own.electrons != 0.0).then_some((place, own.electrons)));
        }
        let phase = |s: &Precipitate, is_state: bool| {
            let own = written(&s.terms, &states, is_state);
            let (parts, water) = numbered(&own.terms, &number);
            (Phase { parts, water, log_k: at(&s.constant, temperature) - own.log_k }, -own.electrons)
        };
        let possible = |s: &&Precipitate| s.terms.iter().all(|(name, _)| known(name));
        let (mut may, watched): (Vec<_>, Vec<_>) =
            solids(model).filter(possible).partition(|s| s.form.is_some_and(|form| allowed.lets(form)));
        let tabled = may.len();
        let is_solid = |s: &&Precipitate| states.iter().any(|state| state.solid && state.name == s.name);
        may.extend(others.1.iter().filter(is_solid).filter(|s| s.form.is_some_and(|form| allowed.lets(form))));
        let mut phases = Vec::with_capacity(may.len());
        for (place, s) in may.iter().enumerate() {
            let (phase, electrons) = phase(s, place >= tabled);
            phases.push(phase);
            couples.solids.extend((electrons != 0.0).then_some((place, electrons)));
        }
        let mut over = Vec::with_capacity(held.len());
        for gas in held {
            let Some(row) = gases(model).find(|row| row.name == gas.name) else { continue };
            let (mut phase, electrons) = phase(row, false);
            phase.log_k += (gas.pressure / ATMOSPHERE).log10();
            couples.gases.extend((electrons != 0.0).then_some((over.len(), electrons)));
            over.push(phase);
        }
        let activity = match model {
            Model::Association => Activity::Charge,
            Model::Pitzer => Activity::Pitzer(pitzer(&list, temperature)),
        };
        let mut network = Network::new(count, dissolved, phases, over, activity, temperature)?;
        if !states.is_empty() {
            network.couple(couples);
        }
        Ok(Self { model, temperature, species: list, solids: may, watched, states, network })
    }

    /// Number of a dissolved species.
    pub(crate) fn place(&self, name: &str) -> Option<usize> {
        self.species.iter().position(|s| s.name == name)
    }

    /// What a master is called: an ion, or the element where other states of it follow.
    pub(crate) fn called(&self, name: &str) -> String {
        let leads = self.states.iter().find(|state| state.lead == name);
        leads.map_or_else(|| plain(name), |state| state.element.symbol().to_owned())
    }

    /// Number of the master that a species is counted in.
    pub(crate) fn counted_in(&self, name: &str) -> Option<usize> {
        let follows = self.states.iter().find(|state| state.name == name && !state.solid);
        self.master(follows.map_or(name, |state| state.lead))
    }

    /// Number of a master.
    pub(crate) fn master(&self, name: &str) -> Option<usize> {
        self.species.iter().take(self.network.masters()).position(|s| s.name == name)
    }

    /// log K of a solid or gas at the temperature of the solution.
    pub(crate) fn constant(&self, phase: &Precipitate) -> f64 {
        at(&phase.constant, self.temperature)
    }
}

fn at(constant: &chem::aqueous::Constant, temperature: f64) -> f64 {
    let enthalpy = constant.enthalpy.unwrap_or(0.0);
    constants::log_k(constant.log_k, enthalpy, constant.analytic.as_ref(), temperature)
}

fn numbered(terms: &[(&'static str, f64)], number: &dyn Fn(&str) -> Option<usize>) -> (Vec<(usize, f64)>, f64) {
    let parts = terms.iter().filter_map(|(name, c)| Some((number(name)?, *c))).collect();
    let water = terms.iter().filter(|(name, _)| *name == "H2O").map(|(_, c)| c).sum();
    (parts, water)
}

/// Interactions among these species.
fn pitzer(list: &[&DissolvedSpecies], temperature: f64) -> Pitzer {
    let mut found = Pitzer::new(list.iter().map(|s| s.formula.charge()).collect(), temperature);
    let place = |name: &str| list.iter().position(|s| s.name == name);
    let charge = |index: usize| list[index].formula.charge();
    for row in interactions() {
        let value = parameter(&row.coefficients, temperature);
        let Interaction { kind, species: [first, second, third], .. } = row;
        let (Some(a), Some(b)) = (place(first), place(second)) else { continue };
        match *kind {
            "beta0" | "beta1" | "beta2" | "c_phi" => {
                let (cation, anion) = if charge(a) > 0 { (a, b) } else { (b, a) };
                let pair = match found.pairs.iter_mut().position(|p| (p.cation, p.anion) == (cation, anion)) {
                    Some(index) => &mut found.pairs[index],
                    None => {
                        found.pairs.push(Pair { cation, anion, ..Pair::default() });
                        let last = found.pairs.len() - 1;
                        &mut found.pairs[last]
                    }
                };
                match *kind {
                    "beta0" => pair.beta0 = value,
                    "beta1" => pair.beta1 = value,
                    "beta2" => pair.beta2 = value,
                    _ => pair.c_phi = value,
                }
            }
            "theta" => found.set_mixing(a, b, value),
            "lambda" => {
                let (neutral, other) = if charge(a) == 0 { (a, b) } else { (b, a) };
                found.neutral.push((neutral, other, value));
            }
            "psi" | "zeta" => {
                let Some(c) = place(third) else { continue };
                let mut three = [a, b, c];
                if *kind == "psi" {
                    // The ion whose sign stands alone goes last.
                    let positive = three.iter().filter(|i| charge(**i) > 0).count();
                    three.sort_by_key(|i| (charge(*i) > 0) == (positive == 1));
                    found.triples.push((three[0], three[1], three[2], value));
                } else {
                    three.sort_by_key(|i| match charge(*i) {
                        0 => 0,
                        c if c > 0 => 1,
                        _ => 2,
                    });
                    found.neutral_triples.push((three[0], three[1], three[2], value));
                }
            }
            _ => {}
        }
    }
    found.mixing.sort_by_key(|(a, b, _)| {
        let (x, y) = (charge(*a).abs(), charge(*b).abs());
        (x.min(y), x.max(y), *a, *b)
    });
    found
}
