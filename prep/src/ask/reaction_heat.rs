//! What heat does a reaction release, and which way does it run?
//!
//! Each species is taken in the form that is stable at the temperature, unless a form is named: a solid above its
//! melting point as the liquid, a species without a phase in the stable one. A dissolved salt is taken as its ions at
//! infinite dilution. Values are carried beyond their range by a quarter of its ends at most, and are marked; beyond
//! that they are refused. Pressures are those of ideal gases.
//!
//! Source: the tables and rules of [`crate::thermochemistry`].

use chem::quantity::Status;
use chem::{Equation, Phase, SourceKey, Species};
use engine::thermochemistry::reaction::{balance_uncertainty, heat_per_mass, molar_gas_volume, sign_changes, state};
use engine::thermochemistry::standard::STANDARD_TEMPERATURE;
use engine::thermochemistry::{Known, Participant, ReactionState, form};

use super::pointed;
use super::reaction_options::Wishes;
use crate::outcome::{BalanceTemperature, Figure, Finding, ReactionHeat, Severity, SpeciesHeat, TemperatureRow};
use crate::thermochemistry::{Form, forms, ions::ions_of};

/// How far beyond the ends of their range values are carried, as a share of the end.
const EXTENSION: f64 = 0.25;
/// Temperatures that are looked at, K.
pub(super) const TEMPERATURES: (f64, f64) = (50.0, 6000.0);
/// Pressure at which gas volumes are told, Pa.
const GAS_PRESSURE: f64 = 101_325.0;
/// Enthalpies of two tables that lie closer are not worth a word, J/mol.
const WORTH_A_WORD: f64 = 1_000.0;
/// Values below this are zero, in J/mol, J/(mol·K) or as a logarithm.
const NOTHING: f64 = 1e-4;
/// Most lines of a table over temperature.
const MOST_LINES: usize = 200;

/// A term of the reaction with all the forms it may take.
pub(super) struct Candidate {
    /// As written in the equation.
    pub(super) written: Species,
    pub(super) coefficient: f64,
    forms: Vec<Form>,
    /// Liquid forms of a solid, for above its melting point.
    molten: Vec<Form>,
}

/// A form at a temperature.
pub(super) struct Choice<'a> {
    pub(super) form: &'a Form,
    pub(super) extended: bool,
    molten: bool,
}

impl Candidate {
    /// The form at a temperature in K; `None` where none is known there.
    pub(super) fn at(&self, temperature: f64) -> Option<Choice<'_>> {
        let stable = |list: &'_ [Form]| form::stable(list.iter().map(|form| &form.fit), temperature);
        let chosen = |list: &[Form], place: Option<usize>| place.filter(|place| *place < list.len());
        if let Some(form) = chosen(&self.forms, stable(&self.forms)).and_then(|place| self.forms.get(place)) {
            return Some(Choice { form, extended: false, molten: false });
        }
        let top = self.forms.iter().filter_map(|form| form.fit.range()).map(|(_, high)| high).fold(0.0, f64::max);
        if temperature > top
            && let Some(form) = stable(&self.molten).and_then(|place| self.molten.get(place))
        {
            return Some(Choice { form, extended: false, molten: true });
        }
        let place = form::nearest(self.forms.iter().map(|form| &form.fit), temperature)?;
        let form = self.forms.get(place)?;
        let (low, high) = form.fit.range()?;
        let reach = low * (1.0 - EXTENSION)..=high * (1.0 + EXTENSION);
        reach.contains(&temperature).then_some(Choice { form, extended: true, molten: false })
    }
}

/// The heat of a balanced reaction, with what is to be said about it. `coefficients` stand in the order of the terms.
pub(super) fn heat(
    equation: &Equation,
    coefficients: &[i64],
    wishes: &Wishes,
    findings: &mut Vec<Finding>,
) -> ReactionHeat {
    let terms: Vec<(Species, f64)> =
        equation.terms().zip(coefficients).map(|(term, n)| (term.species.clone(), *n as f64)).collect();
    let Some(candidates) = candidates(&terms, wishes, findings) else { return without_values(wishes) };
    let Some(choices) = choose(&candidates, wishes.temperature, findings) else {
        let balances = balances(&candidates, wishes, &[]);
        return ReactionHeat { balances, ..without_values(wishes) };
    };
    notes(&candidates, &choices, findings);
    let participants = participants(&candidates, &choices, wishes);
    let now = state(&participants, wishes.temperature);
    let sources = sources(&choices);
    let status = if choices.iter().any(|c| c.extended || !c.form.estimated.is_empty()) {
        Status::Estimated
    } else {
        Status::Derived
    };
    let figure = |known: Known, scale: f64, unit| figure(known, scale, unit, status, &sources);
    let decided = !wishes.pressures.is_empty();
    let driving = Known { value: now.driving_gibbs_energy, uncertainty: now.gibbs_energy.uncertainty };
    ReactionHeat {
        temperature: exact(wishes.temperature, "K"),
        enthalpy: figure(now.enthalpy, 1e-3, "kJ/mol"),
        entropy: figure(now.entropy, 1.0, "J/(mol K)"),
        gibbs_energy: figure(now.gibbs_energy, 1e-3, "kJ/mol"),
        heat_capacity: figure(now.heat_capacity, 1.0, "J/(mol K)"),
        log10_k: figure(now.log10_k, 1.0, "1"),
        heat_per_gram: heat_per_gram(&terms, &now).and_then(|known| figure(known, 1e-6, "kJ/g")),
        gas_volume: Some(gas_volume(&candidates, &choices, wishes.temperature)),
        gibbs_energy_at_pressures: decided.then(|| figure(driving, 1e-3, "kJ/mol")).flatten(),
        pressures: wishes.pressures.iter().map(|(gas, bar)| (gas.to_string(), *bar)).collect(),
        balances: balances(&candidates, wishes, &sources),
        species: candidates.iter().zip(&choices).map(|(c, choice)| told(c, choice, wishes.temperature)).collect(),
        table: wishes.table.map_or_else(Vec::new, |(low, high)| table(&candidates, wishes, low, high)),
    }
}

/// Every species with its forms; a dissolved salt as its ions. `None`, with a note, where one is unknown.
pub(super) fn candidates(
    terms: &[(Species, f64)],
    wishes: &Wishes,
    findings: &mut Vec<Finding>,
) -> Option<Vec<Candidate>> {
    let mut found: Vec<Candidate> = Vec::new();
    let (mut unknown, mut split_up): (Vec<String>, Vec<String>) = Default::default();
    for (species, coefficient) in terms.iter().filter(|(_, coefficient)| *coefficient != 0.0) {
        let list = forms_of(species, wishes);
        let split =
            if list.is_empty() && species.phase == Some(Phase::Aqueous) { ions_of(&species.formula) } else { None };
        if let Some(ions) = split {
            let names: Vec<String> = ions.iter().map(|(_, ion)| ion.to_string()).collect();
            split_up.push(format!("{species} as {}", names.join(" and ")));
            for (number, ion) in ions {
                let forms = forms_of(&ion, wishes);
                let coefficient = coefficient * number as f64;
                joined(&mut found, Candidate { written: ion, coefficient, forms, molten: Vec::new() });
            }
        } else if list.is_empty() {
            unknown.push(species.to_string());
        } else {
            let molten = match species.phase {
                Some(Phase::Solid) => forms(&species.formula, Some(Phase::Liquid)),
                _ => Vec::new(),
            };
            joined(&mut found, Candidate { written: species.clone(), coefficient: *coefficient, forms: list, molten });
        }
    }
    if !split_up.is_empty() {
        let message = format!("reckoned at infinite dilution: {}", split_up.join(", "));
        findings.push(remark("taken-as-ions", message, "a strong solution gives some kJ/mol more or less"));
        found.retain(|candidate| candidate.coefficient != 0.0);
    }
    if unknown.is_empty() {
        return Some(found);
    }
    let message = format!("no table here has values for {}", unknown.join(", "));
    let hint = "heat and equilibrium stay open; check the phase, or whether a hydrate is meant";
    findings.push(remark("no-thermochemical-values", message, hint));
    None
}

/// Adds a term, to one of the same species if there is one.
fn joined(found: &mut Vec<Candidate>, candidate: Candidate) {
    match found.iter_mut().find(|known| known.written == candidate.written) {
        Some(known) => known.coefficient += candidate.coefficient,
        None => found.push(candidate),
    }
}

/// The forms of a species: the one named, else all that are judged by stability.
fn forms_of(species: &Species, wishes: &Wishes) -> Vec<Form> {
    let named = wishes.forms.iter().find(|(wanted, _)| {
        wanted.formula.same_substance(&species.formula) && (wanted.phase.is_none() || wanted.phase == species.phase)
    });
    let all = forms(&species.formula, species.phase);
    match named {
        Some((_, word)) => all.into_iter().filter(|form| form.is_named(word)).collect(),
        None => {
            let asked = |form: &Form| species.phase.is_some() || form.species.phase != Some(Phase::Aqueous);
            all.into_iter().filter(|form| !form.only_if_named && asked(form)).collect()
        }
    }
}

/// The form of every species; `None`, with findings, where one has none at the temperature.
fn choose<'a>(candidates: &'a [Candidate], temperature: f64, findings: &mut Vec<Finding>) -> Option<Vec<Choice<'a>>> {
    let choices: Vec<Option<Choice<'a>>> = candidates.iter().map(|candidate| candidate.at(temperature)).collect();
    for (candidate, _) in candidates.iter().zip(&choices).filter(|(_, choice)| choice.is_none()) {
        let ranges: Vec<(f64, f64)> =
            candidate.forms.iter().chain(&candidate.molten).filter_map(|form| form.fit.range()).collect();
        let low = ranges.iter().map(|(low, _)| *low).fold(f64::INFINITY, f64::min);
        let high = ranges.iter().map(|(_, high)| *high).fold(0.0, f64::max);
        let message = format!(
            "{}: values are known from {low:.0} K to {high:.0} K, too far from {temperature:.0} K to be carried there",
            candidate.written
        );
        let mut finding =
            remark("beyond-range", message, "ask at a temperature within, or write the phase it has there");
        finding.severity = Severity::Warning;
        findings.push(finding);
    }
    choices.into_iter().collect()
}

/// What must be said of the forms taken.
fn notes(candidates: &[Candidate], choices: &[Choice<'_>], findings: &mut Vec<Finding>) {
    for (candidate, choice) in candidates.iter().zip(choices) {
        let label = choice.form.label();
        if choice.molten {
            let message =
                format!("{} is molten at this temperature: the values are those of the liquid", candidate.written);
            findings.push(remark("molten", message, ""));
        }
        if choice.extended {
            let (low, high) = choice.form.fit.range().unwrap_or((f64::NAN, f64::NAN));
            let message = format!("{label}: values for {low:.0} K to {high:.0} K are carried beyond that range");
            let mut finding = remark("extrapolated", message, "the result is marked as estimated");
            finding.severity = Severity::Warning;
            findings.push(finding);
        }
        if !choice.form.estimated.is_empty() {
            findings.push(remark("estimated-values", format!("{label}: {}", choice.form.estimated.join(" and ")), ""));
        }
        if !choice.form.fit.entropy(STANDARD_TEMPERATURE).is_finite() {
            let message = format!("{label}: no entropy is known, so Gibbs energy and equilibrium constant stay open");
            findings.push(remark("no-entropy", message, ""));
        }
        let conflicts = conflicts(choice.form);
        if !conflicts.is_empty() {
            let message = format!("{label}: tables disagree: {}", conflicts.join(", "));
            findings.push(remark("tables-disagree", message, "the uncertainty is widened by it"));
        }
    }
    let taken: Vec<String> = candidates
        .iter()
        .zip(choices)
        .filter(|(candidate, _)| candidate.written.phase.is_none())
        .map(|(candidate, choice)| format!("{} as {}", candidate.written, choice.form.label()))
        .collect();
    if !taken.is_empty() {
        let message = format!("taken, as no phase is written: {}", taken.join(", "));
        findings.push(remark("phase-taken", message, ""));
    }
    let memory: Vec<String> =
        choices.iter().filter(|choice| choice.form.from_memory).map(|choice| choice.form.species.to_string()).collect();
    if !memory.is_empty() {
        let message = format!("values keyed from memory and not compared with a second table: {}", memory.join(", "));
        findings.push(remark("from-memory", message, ""));
    }
}

/// A note about no line.
pub(super) fn remark(code: &'static str, message: String, hint: &str) -> Finding {
    let mut finding = Finding { line: 0, column: 0, span: None, ..pointed(code, "", 0, 0, message, hint) };
    finding.severity = Severity::Note;
    finding
}

/// What other tables say, where that is worth a word.
pub(super) fn conflicts(form: &Form) -> Vec<String> {
    let own = standing_enthalpy(form);
    let entropy = form.fit.entropy(STANDARD_TEMPERATURE);
    let covers = form.fit.covers(STANDARD_TEMPERATURE);
    let mut words = Vec::new();
    for opinion in &form.opinions {
        if let Some(other) = opinion.enthalpy.filter(|other| covers && (other - own).abs() >= WORTH_A_WORD) {
            let (own, other) = (signed(own * 1e-3), signed(other * 1e-3));
            words.push(format!("ΔfH {own} kJ/mol here, {other} kJ/mol in {}", opinion.source));
        }
        if let Some(other) = opinion.entropy.filter(|other| covers && (other - entropy).abs() >= 2.0) {
            words.push(format!("S {entropy:.1} J/(mol K) here, {other:.1} J/(mol K) in {}", opinion.source));
        }
    }
    words
}

/// One decimal, with a true minus.
fn signed(value: f64) -> String {
    format!("{value:.1}").replace('-', "\u{2212}")
}

/// Enthalpy at 298.15 K of a form, J/mol.
fn standing_enthalpy(form: &Form) -> f64 {
    form.fit.enthalpy(STANDARD_TEMPERATURE)
}

fn participants<'a>(candidates: &[Candidate], choices: &[Choice<'a>], wishes: &Wishes) -> Vec<Participant<'a>> {
    let one = |(candidate, choice): (&Candidate, &Choice<'a>)| Participant {
        coefficient: candidate.coefficient,
        fit: &choice.form.fit,
        enthalpy_uncertainty: choice.form.enthalpy_uncertainty,
        entropy_uncertainty: choice.form.entropy_uncertainty,
        heat_uncertainty: choice.form.heat_uncertainty,
        log_activity: wishes.log_pressure(&choice.form.species),
    };
    candidates.iter().zip(choices).map(one).collect()
}

fn sources(choices: &[Choice<'_>]) -> Vec<String> {
    let mut list: Vec<String> = Vec::new();
    for source in choices.iter().flat_map(|choice| &choice.form.sources) {
        // The record's own source is told species by species.
        let table = source.split(" (record: ").next().unwrap_or(source).to_owned();
        if !list.contains(&table) {
            list.push(table);
        }
    }
    list
}

/// A figure, unless its value is not finite.
fn figure(known: Known, scale: f64, unit: &'static str, status: Status, sources: &[String]) -> Option<Figure> {
    // The elements' zero, off by the rounding of the coefficients.
    let value = if known.value.abs() < NOTHING { 0.0 } else { known.value * scale };
    known.value.is_finite().then(|| Figure {
        value,
        standard_uncertainty: Some(known.uncertainty * scale).filter(|u| u.is_finite()),
        unit,
        basis: None,
        status,
        sources: sources.to_vec(),
    })
}

fn exact(value: f64, unit: &'static str) -> Figure {
    Figure { value, standard_uncertainty: None, unit, basis: None, status: Status::Derived, sources: Vec::new() }
}

/// J/kg of reactants.
fn heat_per_gram(terms: &[(Species, f64)], state: &ReactionState) -> Option<Known> {
    let mut mass = 0.0;
    for (species, coefficient) in terms.iter().filter(|(_, coefficient)| *coefficient < 0.0) {
        mass -= coefficient * species.formula.molar_mass().ok()?.value * 1e-3;
    }
    (mass > 0.0).then(|| Known {
        value: heat_per_mass(state.enthalpy.value, mass),
        uncertainty: heat_per_mass(state.enthalpy.uncertainty, mass).abs(),
    })
}

/// Litres of gas formed, per mole of reaction.
fn gas_volume(candidates: &[Candidate], choices: &[Choice<'_>], temperature: f64) -> Figure {
    let formed = candidates
        .iter()
        .zip(choices)
        .filter(|(candidate, choice)| candidate.coefficient > 0.0 && choice.form.species.phase == Some(Phase::Gas));
    let moles: f64 = formed.map(|(candidate, _)| candidate.coefficient).sum();
    Figure {
        basis: Some(format!("ideal, at {:.2} °C and 101.325 kPa", temperature - 273.15)),
        sources: vec![SourceKey::new("codata-2018").citation().to_owned()],
        ..exact(1e3 * moles * molar_gas_volume(temperature, GAS_PRESSURE), "L/mol")
    }
}

fn told(candidate: &Candidate, choice: &Choice<'_>, temperature: f64) -> SpeciesHeat {
    let form = choice.form;
    let one = [Participant {
        coefficient: 1.0,
        fit: &form.fit,
        enthalpy_uncertainty: form.enthalpy_uncertainty,
        entropy_uncertainty: form.entropy_uncertainty,
        heat_uncertainty: form.heat_uncertainty,
        log_activity: 0.0,
    }];
    let alone = state(&one, temperature);
    let status = if form.estimated.is_empty() && !choice.extended { Status::Literature } else { Status::Estimated };
    SpeciesHeat {
        species: candidate.written.to_string(),
        coefficient: candidate.coefficient,
        form: form.label(),
        enthalpy: figure(alone.enthalpy, 1e-3, "kJ/mol", status, &form.sources),
        entropy: figure(alone.entropy, 1.0, "J/(mol K)", status, &form.sources),
        range: form.fit.range().unwrap_or((f64::NAN, f64::NAN)),
        extended: choice.extended,
        estimated: form.estimated.clone(),
        conflicts: conflicts(form),
    }
}

/// The reaction at a temperature, where every species has a form there.
pub(super) fn state_at(candidates: &[Candidate], wishes: &Wishes, temperature: f64) -> Option<ReactionState> {
    let choices: Option<Vec<Choice<'_>>> = candidates.iter().map(|candidate| candidate.at(temperature)).collect();
    Some(state(&participants(candidates, &choices?, wishes), temperature))
}

/// Where the Gibbs energy changes its sign.
fn balances(candidates: &[Candidate], wishes: &Wishes, sources: &[String]) -> Vec<BalanceTemperature> {
    let (low, high) = TEMPERATURES;
    let gibbs = |shift: f64| {
        move |t: f64| state_at(candidates, wishes, t).map_or(f64::NAN, |now| now.driving_gibbs_energy + shift)
    };
    let found = sign_changes(gibbs(0.0), low, high);
    let shifts: Vec<(String, f64)> = candidates.iter().flat_map(shifts).collect();
    found
        .into_iter()
        .filter_map(|temperature| {
            let now = state_at(candidates, wishes, temperature)?;
            let known = Known { value: temperature, uncertainty: balance_uncertainty(&now) };
            let nearest = |shift: f64| {
                let others = sign_changes(gibbs(shift), low, high);
                others.into_iter().min_by(|a, b| (a - temperature).abs().total_cmp(&(b - temperature).abs()))
            };
            Some(BalanceTemperature {
                temperature: figure(known, 1.0, "K", Status::Derived, sources)?,
                runs_above: state_at(candidates, wishes, temperature + 0.01)?.driving_gibbs_energy < 0.0,
                with_other_tables: shifts.iter().filter_map(|(words, s)| Some((words.clone(), nearest(*s)?))).collect(),
            })
        })
        .collect()
}

/// What another table's enthalpy adds to the Gibbs energy of reaction, J/mol.
fn shifts(candidate: &Candidate) -> Vec<(String, f64)> {
    let Some(standing) = candidate.forms.iter().find(|form| form.fit.covers(STANDARD_TEMPERATURE)) else {
        return Vec::new();
    };
    let own = standing_enthalpy(standing);
    let other = standing.opinions.iter().filter_map(|opinion| Some((opinion, opinion.enthalpy?)));
    other
        .filter(|(_, value)| (value - own).abs() >= WORTH_A_WORD)
        .map(|(opinion, value)| {
            let words = format!("{} {} kJ/mol, {}", candidate.written, signed(value * 1e-3), opinion.source);
            (words, candidate.coefficient * (value - own))
        })
        .collect()
}

/// The reaction at even steps of temperature.
fn table(candidates: &[Candidate], wishes: &Wishes, low: f64, high: f64) -> Vec<TemperatureRow> {
    let width = high - low;
    let step = [1.0, 2.0, 5.0, 10.0, 20.0, 25.0, 50.0, 100.0, 200.0, 250.0, 500.0]
        .into_iter()
        .find(|step| width / step <= 25.0)
        .unwrap_or(500.0);
    let mut before: Vec<String> = Vec::new();
    let mut rows = Vec::new();
    for line in 0..MOST_LINES {
        let temperature = low + line as f64 * step;
        if temperature > high * (1.0 + 1e-12) {
            break;
        }
        let choices: Option<Vec<Choice<'_>>> = candidates.iter().map(|candidate| candidate.at(temperature)).collect();
        let Some(choices) = choices else { continue };
        let now = state(&participants(candidates, &choices, wishes), temperature);
        let labels: Vec<String> = choices.iter().map(|choice| choice.form.label()).collect();
        let status = if choices.iter().any(|c| c.extended) { Status::Estimated } else { Status::Derived };
        let Some(enthalpy) = figure(now.enthalpy, 1e-3, "kJ/mol", status, &[]) else { continue };
        rows.push(TemperatureRow {
            temperature,
            enthalpy,
            entropy: figure(now.entropy, 1.0, "J/(mol K)", status, &[]),
            gibbs_energy: figure(now.gibbs_energy, 1e-3, "kJ/mol", status, &[]),
            log10_k: figure(now.log10_k, 1.0, "1", status, &[]),
            changes: labels.iter().filter(|label| !before.is_empty() && !before.contains(label)).cloned().collect(),
        });
        before = labels;
    }
    rows
}

/// The answer where a species has no value at the temperature.
fn without_values(wishes: &Wishes) -> ReactionHeat {
    ReactionHeat {
        temperature: exact(wishes.temperature, "K"),
        enthalpy: None,
        entropy: None,
        gibbs_energy: None,
        heat_capacity: None,
        log10_k: None,
        heat_per_gram: None,
        gas_volume: None,
        gibbs_energy_at_pressures: None,
        pressures: Vec::new(),
        balances: Vec::new(),
        species: Vec::new(),
        table: Vec::new(),
    }
}
