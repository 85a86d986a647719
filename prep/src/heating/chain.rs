//! What does a solid give up, step by step, and which residues can there be?
//!
//! From a solid each step leads to another of the tables that keeps everything but what flies off (water, oxides of carbon,
//! sulfur and nitrogen, oxygen): first what loses water alone, then what gives off the fewest gases, of these what loses
//! least. Oxygen leaves oxides only. The step may go where its Gibbs energy at the pressures of the gases is negative; one that
//! never may is passed over. The mass levels need no table of energies.
//!
//! Source: second law; the masses are those of the formulas.

use super::{ATMOSPHERE, Surroundings};
use crate::equilibria::{Pool, is_of, molar_mass};
use crate::thermochemistry::forms;
use chem::formula::to_f64;
use chem::{Element, Equation, Formula, Phase, Species, conversion};
use engine::thermochemistry::fit::GAS_CONSTANT;
use engine::thermochemistry::form::{nearest, stable};
use engine::thermochemistry::reaction::sign_changes;

/// Sets of gases that balance in one way, tried in this order.
const GIVEN_OFF: [[&str; 3]; 6] = [
    ["H2O(g)", "CO2(g)", "CO(g)"],
    ["H2O(g)", "CO2(g)", "O2(g)"],
    ["H2O(g)", "SO3(g)", "O2(g)"],
    ["H2O(g)", "NO2(g)", "O2(g)"],
    ["H2O(g)", "SO2(g)", "O2(g)"],
    ["H2O(g)", "HCl(g)", "O2(g)"],
];
/// Elements that can fly off.
const VOLATILE: [&str; 6] = ["H", "C", "N", "O", "S", "Cl"];
/// Temperatures between which a balance is looked for, K.
const LOOKED_AT: (f64, f64) = (280.0, 1900.0);
/// By how much of its range a value is carried beyond it.
const CARRIED: f64 = 0.25;
/// Most steps.
const MOST_STEPS: usize = 10;

/// From where on a step may go.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(crate) enum From {
    /// Above a temperature, K.
    Above(f64),
    /// At every temperature looked at: the solid only persists.
    Always,
    /// Nowhere that is looked at.
    Never,
    /// Values are missing.
    Unknown,
}

/// One step.
#[derive(Clone, Debug)]
pub(crate) struct Step {
    /// The solid before.
    pub from: Species,
    /// The solid after.
    pub to: Species,
    /// The coefficients: the first is −1.
    pub terms: Vec<(Species, f64)>,
    /// Mass after, share of the first solid's.
    pub mass: f64,
    /// Its standard uncertainty.
    pub mass_uncertainty: f64,
    /// From where the gas given off reaches 1 atm.
    pub own_gas: From,
    /// From where it may go in the surroundings; `None` where they do not hold its gases.
    pub surroundings: Option<From>,
}

fn parsed(gases: &[&str]) -> Vec<Species> {
    gases.iter().filter_map(|gas| Species::parse(gas).ok()).collect()
}

/// What stays: the elements that cannot fly off.
fn kept(species: &Species) -> Vec<(Element, f64)> {
    species.formula.elements().filter(|(element, _)| !VOLATILE.contains(&element.symbol())).collect()
}

/// The terms of a loss that only gives off gas.
fn loss(from: &Species, to: &Species) -> Option<Vec<(Species, f64)>> {
    GIVEN_OFF.iter().find_map(|gases| {
        let terms: Vec<(Species, f64)> =
            conversion(from, to, &parsed(gases))?.into_iter().map(|(species, n)| (species, to_f64(n))).collect();
        let has = |symbol: &str| to.formula.elements().any(|(element, _)| element.symbol() == symbol);
        let is_oxide = !["C", "N", "S", "Cl"].into_iter().any(has);
        let oxygen = terms.iter().any(|(species, _)| species.formula.text() == "O2");
        (terms.iter().all(|(species, n)| species == from || *n > 0.0) && (is_oxide || !oxygen)).then_some(terms)
    })
}

/// Solids of the tables that keep all that stays of one.
fn candidates(solid: &Species, pool: &Pool) -> Vec<Species> {
    let wanted = kept(solid);
    let mut list: Vec<Species> = Vec::new();
    for form in pool.forms.iter().filter(|form| form.species.phase == Some(Phase::Solid)) {
        let own = kept(&form.species);
        let same = own.len() == wanted.len() && wanted.iter().all(|(e, _)| own.iter().any(|(other, _)| other == e));
        if same && !list.contains(&form.species) {
            list.push(form.species.clone());
        }
    }
    list
}

/// Gases that terms give off.
fn given_off(terms: &[(Species, f64)]) -> impl Iterator<Item = &(Species, f64)> {
    terms.iter().filter(|(species, _)| species.phase == Some(Phase::Gas))
}

/// Mass of the gas that terms give off, kg.
fn lost(terms: &[(Species, f64)]) -> f64 {
    given_off(terms).map(|(species, n)| n * molar_mass(&species.formula)).sum()
}

/// The losses that a solid can begin with, the likeliest first.
fn losses(here: &Species, all: &[Species]) -> Vec<(Species, Vec<(Species, f64)>)> {
    let dry = (here.formula.hydrate_water() > 0.into())
        .then(|| Species::new(here.formula.without_hydrate_water(), here.phase));
    let mut list: Vec<(Species, Vec<(Species, f64)>)> = all
        .iter()
        .chain(dry.iter().filter(|dry| !all.iter().any(|other| other.formula.same_substance(&dry.formula))))
        .filter_map(|to| Some((to.clone(), loss(here, to)?)))
        .filter(|(_, terms)| lost(terms) > 1e-6)
        .collect();
    let rank = |terms: &[(Species, f64)]| {
        let other = given_off(terms).any(|(species, _)| species.formula.text() != "H2O");
        (other, if other { given_off(terms).count() } else { 0 })
    };
    list.sort_by(|(_, a), (_, b)| rank(a).cmp(&rank(b)).then(lost(a).total_cmp(&lost(b))));
    list
}

/// The steps of a solid, from the first loss on.
pub(crate) fn chain(solid: &Species, pool: &Pool, surroundings: Surroundings) -> Vec<Step> {
    let mut steps: Vec<Step> = Vec::new();
    if kept(solid).is_empty() {
        return steps;
    }
    let whole = molar_mass(&solid.formula);
    let all = candidates(solid, pool);
    let pressures = surroundings.gases();
    let (mut here, mut units) = (solid.clone(), 1.0);
    while steps.len() < MOST_STEPS {
        let next = losses(&here, &all).into_iter().find_map(|(to, terms)| {
            let held = given_off(&terms).all(|(s, _)| pressures.iter().any(|(gas, _)| gas == s));
            let own_gas = from_where(&terms, &own_pressures(&terms));
            let around = held.then(|| from_where(&terms, &pressures));
            let never = own_gas == From::Never && around.is_none_or(|from| from == From::Never);
            (!never).then_some((to, terms, own_gas, around))
        });
        let Some((to, terms, own_gas, around)) = next else { break };
        units *= terms.iter().find(|(species, _)| *species == to).map_or(1.0, |(_, n)| *n);
        let mass = units * molar_mass(&to.formula) / whole;
        let mass_uncertainty = mass_uncertainty(&solid.formula, &to.formula, units);
        steps.push(Step { from: here, to: to.clone(), mass, mass_uncertainty, own_gas, surroundings: around, terms });
        here = to;
    }
    steps
}

/// Standard uncertainty of the mass of so many units of a residue, share of one unit of the whole.
///
/// ```text
/// w = ν M_r / M    ∂w/∂A_e = (ν n_e,r − w n_e) / M
/// ```
/// An element that stays counts in both masses, so that its uncertainty nearly cancels.
fn mass_uncertainty(whole: &Formula, residue: &Formula, units: f64) -> f64 {
    let molar = 1e3 * molar_mass(whole);
    let share = units * 1e3 * molar_mass(residue) / molar;
    let taken_up = residue.elements().filter(|(e, _)| whole.elements().all(|(other, _)| other != *e));
    let elements = whole.elements().chain(taken_up).map(|(element, _)| element);
    let variance: f64 = elements
        .map(|element| {
            let stays = units * to_f64(residue.count(element)) - share * to_f64(whole.count(element));
            let weight = element.atomic_weight().map_or(f64::NAN, |weight| weight.standard_uncertainty);
            (stays / molar * weight).powi(2)
        })
        .sum();
    variance.sqrt()
}

/// Of what in a step no value is known here.
pub(crate) fn without_values(step: &Step) -> Vec<String> {
    let known = |species: &Species| {
        forms(&species.formula, species.phase).iter().any(|form| is_of(form, species) && !form.only_if_named)
    };
    step.terms.iter().filter(|(species, _)| !known(species)).map(|(species, _)| species.to_string()).collect()
}

/// The reaction of a step, balanced.
pub(crate) fn equation(step: &Step) -> String {
    let made: Vec<String> = step.terms.iter().filter(|(s, _)| *s != step.from).map(|(s, _)| s.to_string()).collect();
    let text = format!("{} -> {}", step.from, made.join(" + "));
    let balanced = Equation::parse(&text).ok().and_then(|equation| {
        let balance = equation.balance();
        equation.with_coefficients(balance.coefficients()?).map(|balanced| balanced.to_string())
    });
    balanced.unwrap_or(text)
}

/// Mole fractions of the gas that a step gives off.
fn own_pressures(terms: &[(Species, f64)]) -> Vec<(Species, f64)> {
    let gases: Vec<&(Species, f64)> = given_off(terms).collect();
    let all: f64 = gases.iter().map(|(_, n)| n).sum();
    gases.into_iter().map(|(species, n)| (species.clone(), n / all)).collect()
}

/// From where a step may go, gases at mole fractions of 1 atm.
fn from_where(terms: &[(Species, f64)], pressures: &[(Species, f64)]) -> From {
    let known: Vec<(f64, Vec<crate::thermochemistry::Form>, f64)> = terms
        .iter()
        .map(|(species, n)| {
            let list: Vec<_> = forms(&species.formula, species.phase)
                .into_iter()
                .filter(|f| is_of(f, species) && !f.only_if_named)
                .collect();
            let share = pressures.iter().find(|(gas, _)| gas == species).map_or(1.0, |(_, share)| *share);
            let is_gas = species.phase == Some(Phase::Gas);
            (*n, list, if is_gas { (share * ATMOSPHERE * 1e-5).ln() } else { 0.0 })
        })
        .collect();
    if known.iter().any(|(_, list, _)| list.is_empty()) {
        return From::Unknown;
    }
    let gibbs =
        |t: f64| -> f64 { known.iter().map(|(n, list, log)| n * (gibbs_of(list, t) + GAS_CONSTANT * t * log)).sum() };
    let found = sign_changes(gibbs, LOOKED_AT.0, LOOKED_AT.1);
    let mut temperatures = (0..).map(|i| LOOKED_AT.0 + 10.0 * f64::from(i)).take_while(|t| *t < LOOKED_AT.1);
    let first = temperatures.find_map(|t| Some(gibbs(t)).filter(|g| g.is_finite()));
    match (found.first(), first) {
        (_, None) => From::Unknown,
        (_, Some(g)) if g < 0.0 => From::Always,
        (Some(t), _) => From::Above(*t),
        (None, _) => From::Never,
    }
}

/// Gibbs energy of the stable form, J/mol; NaN where none is known.
fn gibbs_of(list: &[crate::thermochemistry::Form], kelvin: f64) -> f64 {
    let fits = || list.iter().map(|form| &form.fit);
    let place = stable(fits(), kelvin).or_else(|| {
        let near = nearest(fits(), kelvin)?;
        let (low, high) = list.get(near)?.fit.range()?;
        (low * (1.0 - CARRIED)..=high * (1.0 + CARRIED)).contains(&kelvin).then_some(near)
    });
    place
        .and_then(|place| list.get(place))
        .map_or(f64::NAN, |form| GAS_CONSTANT * kelvin * form.fit.gibbs_over_rt(kelvin))
}

/// Every oxide and the bare element that a lot can leave, with its mass as a share of the lot's and the standard uncertainty of
/// that: one element that stays.
pub(crate) fn residues(solid: &Species, pool: &Pool) -> Vec<(Species, f64, f64)> {
    let stays = kept(solid);
    let [(element, count)] = stays[..] else { return Vec::new() };
    let whole = molar_mass(&solid.formula);
    let mut list: Vec<(Species, f64, f64)> = candidates(solid, pool)
        .into_iter()
        .filter(|s| s.formula.elements().all(|(e, _)| e == element || e.symbol() == "O"))
        .map(|s| {
            let own = to_f64(s.formula.count(element));
            let share = count / own * molar_mass(&s.formula) / whole;
            let uncertainty = mass_uncertainty(&solid.formula, &s.formula, count / own);
            (s, share, uncertainty)
        })
        .collect();
    list.sort_by(|a, b| b.1.total_cmp(&a.1));
    list
}
