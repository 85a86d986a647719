//! Which substances may take part in an equilibrium, and what is it then?
//!
//! All forms of the tables that are made of the elements that are there, gases and condensed phases, without ions and
//! solutes: nobody has to list them. A form without an entropy cannot be judged and is left out; one that tables name beside
//! a better known form takes part only where it is named. Hydrates that no table holds, and that are estimated from their
//! neighbours ([`crate::thermochemistry`]), take part where they are what is asked about.
//!
//! Neglected: solutions of every kind, see [`engine::equilibrium`]; and that values of different tables meet here, which
//! moves temperatures of decomposition by some kelvins.
//!
//! Source: the tables of [`chem::thermo`].

use crate::thermochemistry::{Form, forms};
use chem::thermo::{Record, StandardValue};
use chem::{Element, Formula, Phase, Species};
use engine::equilibrium::{Candidate, Equilibrium, Hold, Phase as Kind, Problem, Solver, System};
use engine::thermochemistry::form::stable;

/// Temperatures between which an energy is looked for, K.
pub(crate) const LIMITS: (f64, f64) = (220.0, 6000.0);

/// The candidates over a set of elements, with their solver.
pub(crate) struct Pool {
    /// Elements, in the order of the amounts.
    pub elements: Vec<Element>,
    /// Candidates, in the order of the answers' amounts.
    pub forms: Vec<Form>,
    /// Solids and gases for which an entropy is missing.
    pub unjudged: Vec<String>,
    solver: Solver,
    beside: Solver,
}

/// Who may take part.
#[derive(Clone, Debug, Default)]
pub(crate) struct Choice {
    /// Only these; all where empty.
    pub only: Vec<Species>,
    /// None of these.
    pub without: Vec<Species>,
    /// No solid or liquid with nitrogen.
    pub no_solid_nitrogen: bool,
}

impl Choice {
    fn allows(&self, form: &Form) -> bool {
        let named = |list: &[Species]| list.iter().any(|wanted| is_of(form, wanted));
        let nitrogen = || form.species.formula.elements().any(|(element, _)| element.symbol() == "N");
        let fixed = self.no_solid_nitrogen && form.species.phase != Some(Phase::Gas) && nitrogen();
        if fixed || named(&self.without) {
            return false;
        }
        if self.only.is_empty() { !form.only_if_named } else { named(&self.only) }
    }
}

/// Whether a form is of a species; without a phase, any phase.
pub(crate) fn is_of(form: &Form, wanted: &Species) -> bool {
    (wanted.phase.is_none() || wanted.phase == form.species.phase)
        && form.species.formula.composition() == wanted.formula.composition()
        && form.species.formula.hydrate_water() == wanted.formula.hydrate_water()
}

impl Pool {
    /// All candidates over the elements of these species. `None` where there are none.
    pub fn over<'a>(species: impl IntoIterator<Item = &'a Species> + Clone, choice: &Choice) -> Option<Self> {
        let mut elements: Vec<Element> = Vec::new();
        for (element, _) in species.clone().into_iter().flat_map(|s| s.formula.elements()) {
            if !elements.contains(&element) {
                elements.push(element);
            }
        }
        let mut all: Vec<Form> = Vec::new();
        let mut unjudged = Vec::new();
        let asked: Vec<&Formula> = species.into_iter().map(|s| &s.formula).collect();
        for formula in formulas(&elements).into_iter().chain(asked) {
            for form in forms(formula, None) {
                let known = all.iter().any(|other| other.species == form.species && other.form == form.form);
                if known || form.species.phase == Some(Phase::Aqueous) || !choice.allows(&form) {
                    continue;
                }
                if form.fit.gibbs_over_rt(298.15).is_finite() {
                    all.push(form);
                } else {
                    unjudged.push(form.label());
                }
            }
        }
        let candidates = all.iter().map(|form| candidate(form, &elements)).collect();
        let mut solver = Solver::new(System::new(elements.len(), candidates).ok()?);
        solver.limits = LIMITS;
        let beside = solver.clone();
        Some(Self { elements, forms: all, unjudged, solver, beside })
    }

    /// Amounts of the elements in amounts of species.
    pub fn amounts(&self, lots: &[(Species, f64)]) -> Vec<f64> {
        let mut sum = vec![0.0; self.elements.len()];
        for (species, amount) in lots {
            for (element, count) in species.formula.elements() {
                if let Some(place) = self.elements.iter().position(|known| *known == element) {
                    sum[place] += amount * count;
                }
            }
        }
        sum
    }

    /// Solves from nothing.
    pub fn solve(&mut self, elements: &[f64], hold: Hold) -> Equilibrium {
        self.solver.solve(&Problem { elements, hold })
    }

    /// Solves the next point of a sweep; `beside` follows a second sweep over the same candidates.
    pub fn follow(&mut self, elements: &[f64], hold: Hold, beside: bool, answer: &mut Equilibrium) {
        let solver = if beside { &mut self.beside } else { &mut self.solver };
        solver.follow_into(&Problem { elements, hold }, answer);
    }

    /// Enthalpy of an amount of a species at a temperature, J, in its stable form there; `None` where none is known.
    pub fn enthalpy(&self, species: &Species, amount: f64, temperature: f64) -> Option<f64> {
        let own: Vec<&Form> = self.forms.iter().filter(|form| is_of(form, species)).collect();
        let place = stable(own.iter().map(|form| &form.fit), temperature)?;
        Some(amount * own.get(place)?.fit.enthalpy(temperature))
    }

    /// Whether a species is a gas where its stable form is asked for.
    pub fn is_gas(&self, species: &Species, temperature: f64) -> bool {
        let own: Vec<&Form> = self.forms.iter().filter(|form| is_of(form, species)).collect();
        let place = stable(own.iter().map(|form| &form.fit), temperature);
        place.and_then(|place| own.get(place)).is_some_and(|form| form.species.phase == Some(Phase::Gas))
    }
}

/// Uncharged formulas of the tables over a set of elements, each once.
fn formulas(elements: &[Element]) -> Vec<&'static Formula> {
    let records = Record::all().iter().map(|record| &record.species);
    let values = StandardValue::all().iter().map(|value| &value.species);
    let mut list: Vec<&'static Formula> = Vec::new();
    for species in records.chain(values) {
        let formula = &species.formula;
        let inside = || formula.elements().all(|(element, _)| elements.contains(&element));
        let wanted = species.phase != Some(Phase::Aqueous) && formula.charge() == 0 && !formula.is_electron();
        if wanted && inside() && !list.iter().any(|other| other.same_substance(formula)) {
            list.push(formula);
        }
    }
    list
}

fn candidate(form: &Form, elements: &[Element]) -> Candidate {
    let formula = &form.species.formula;
    Candidate {
        phase: if form.species.phase == Some(Phase::Gas) { Kind::Gas } else { Kind::Condensed },
        atoms: elements.iter().map(|element| chem::formula::to_f64(formula.count(*element))).collect(),
        fit: form.fit.clone(),
    }
}

/// Molar mass, kg/mol.
pub(crate) fn molar_mass(formula: &Formula) -> f64 {
    formula.molar_mass().map_or(f64::NAN, |mass| mass.value * 1e-3)
}
