//! What is known of a substance?
//!
//! Everything the tables have, each figure with its source and status, and the figures of other tables beside those that
//! are used: nothing is averaged. The Gibbs energy of formation is computed from enthalpy and entropies; where another
//! table prints one, it stands beside. A property that is not listed is not known here, which says nothing about it.
//!
//! Source: row by row, as told with each figure.

use chem::quantity::Status;
use chem::solubility::Salt;
use chem::substance::Substance;
use chem::thermo::StandardValue;
use chem::{Formula, FormulaError, Phase, SourceKey, Species};
use engine::thermochemistry::standard::STANDARD_TEMPERATURE;

use super::reaction_heat::conflicts;
use super::{formula_figure, pointed};
use crate::outcome::{Figure, Finding, FormRange, SubstanceAnswer};
use crate::thermochemistry::{Form, element_entropy, forms};

/// Enthalpies that lie closer are one value, J/mol.
const SAME: f64 = 1.0;

/// What is known of this substance?
///
/// A formula, with or without its phase, or a name.
///
/// # Errors
/// Findings where it cannot be read, where a name stands for several substances, and for what is out of bounds.
///
/// ```
/// let answer = prep::ask::substance("calcite").or_else(|_| prep::ask::substance("CaCO3(s)"));
/// let answer = answer.map_err(|f| format!("{f:?}"))?;
/// let (_, enthalpies) = answer.properties.iter().find(|(name, _)| *name == "enthalpy_of_formation").ok_or("none")?;
/// assert!((enthalpies[0].value + 1206.6).abs() < 0.1);
/// # Ok::<(), String>(())
/// ```
pub fn substance(text: &str) -> Result<SubstanceAnswer, Vec<Finding>> {
    let species = named(text)?;
    crate::screen::substances(std::slice::from_ref(&species), text)?;
    let formula = &species.formula;
    let point = |e: FormulaError| vec![pointed("bad-formula", text, e.offset, e.length, e.to_string(), "")];
    let molar_mass = formula_figure(formula).map_err(point)?;
    let listed: Vec<&Substance> =
        Substance::find(formula.text()).into_iter().filter(|row| row.formula.same_substance(formula)).collect();
    let known = forms(formula, species.phase);
    let mut properties = vec![("molar_mass", vec![molar_mass])];
    properties.extend(thermochemical(&known));
    properties.extend(density(formula).map(|figure| ("density", vec![figure])));
    properties.extend(solubility(formula).map(|list| ("solubility", list)));
    properties.push(("exposure_limit", exposure(formula)));
    properties.retain(|(_, figures)| !figures.is_empty());
    let mut names: Vec<String> = Vec::new();
    let spoken = listed.iter().flat_map(|row| row.names()).chain(known.iter().map(|form| form.name));
    for name in spoken.filter(|name| !name.is_empty()) {
        if !names.iter().any(|other| other.eq_ignore_ascii_case(name)) {
            names.push(name.to_owned());
        }
    }
    let mut uses: Vec<&'static str> = Vec::new();
    for word in listed.iter().flat_map(|row| row.uses.iter().map(|u| u.word())) {
        if !uses.contains(&word) {
            uses.push(word);
        }
    }
    Ok(SubstanceAnswer {
        formula: species.to_string(),
        names,
        cas: listed.iter().find_map(|row| row.cas).map(str::to_owned),
        uses,
        properties,
        forms: known.iter().filter_map(range).collect(),
        remarks: remarks(&known),
        hazards: crate::screen::hazards_of(&species),
        findings: Vec::new(),
    })
}

/// The species that a formula or a name means.
fn named(text: &str) -> Result<Species, Vec<Finding>> {
    let mut formulas: Vec<&Formula> = Vec::new();
    for row in Substance::find(text).into_iter().filter(|row| !row.is_reckoning_only()) {
        if !formulas.iter().any(|known| known.same_substance(&row.formula)) {
            formulas.push(&row.formula);
        }
    }
    let read = Species::parse(text);
    match (formulas.as_slice(), read) {
        (_, Ok(species)) => Ok(species),
        ([only], Err(_)) => Ok(Species::new((*only).clone(), None)),
        ([], Err(error)) => mineral(text).or_else(|| listed_hazard(text)).ok_or_else(|| {
            let hint = "write a formula, such as `CaCO3(s)`, or a name from the list of substances";
            vec![pointed("bad-formula", text, error.offset, error.length, error.to_string(), hint)]
        }),
        (several, Err(_)) => {
            let list: Vec<String> = several.iter().map(|formula| formula.to_string()).collect();
            let message = format!("“{}” stands for {}", text.trim(), list.join(", "));
            Err(vec![pointed("several-substances", text, 0, text.len(), message, "ask for one of the formulas")])
        }
    }
}

/// How much of it may be in the air at work.
fn exposure(formula: &Formula) -> Vec<Figure> {
    let told = |limit: &&chem::hazard::Limit| Figure {
        value: limit.value,
        standard_uncertainty: None,
        unit: limit.unit,
        basis: Some(limit.kind.words().to_owned()),
        status: Status::Literature,
        sources: limit.sources.iter().map(|source| source.citation().to_owned()).collect(),
    };
    chem::hazard::limits(formula).iter().map(told).collect()
}

/// What the tables of hazards know by this name: what is not made here is told of all the same.
fn listed_hazard(text: &str) -> Option<Species> {
    chem::hazard::formula_named(text).map(|formula| Species::new(formula.clone(), None))
}

/// A substance whose crystal form goes by this name.
fn mineral(text: &str) -> Option<Species> {
    let wanted = text.trim();
    let recorded = chem::thermo::Record::all().iter().map(|record| (record.name, &record.species));
    let listed = StandardValue::all().iter().map(|row| (row.name, &row.species));
    let is_wanted = |name: &str| !name.is_empty() && name.eq_ignore_ascii_case(wanted);
    recorded.chain(listed).find(|(name, _)| is_wanted(name)).map(|(_, species)| species.clone())
}

/// A figure of a form; `what` is the word by which the form tells that it was estimated.
fn figure(what: &str, value: f64, uncertainty: Option<f64>, unit: &'static str, basis: String, of: &Form) -> Figure {
    let estimated = of.estimated.iter().any(|words| words.starts_with(what));
    let status = if estimated { Status::Estimated } else { Status::Literature };
    let standard_uncertainty = uncertainty.filter(|u| u.is_finite());
    Figure { value, standard_uncertainty, unit, basis: Some(basis), status, sources: of.sources.clone() }
}

/// Values at 298.15 K of every form that has them there, and those of other tables behind them.
fn thermochemical(known: &[Form]) -> Vec<(&'static str, Vec<Figure>)> {
    let t = STANDARD_TEMPERATURE;
    let mut lists: [Vec<Figure>; 4] = Default::default();
    let mut told: Vec<(Option<Phase>, f64)> = Vec::new();
    for form in known.iter().filter(|form| form.fit.covers(t)) {
        let (enthalpy, entropy) = (form.fit.enthalpy(t), form.fit.entropy(t));
        // Ranges that meet at room temperature give the same values twice.
        if told.iter().any(|(phase, other)| *phase == form.species.phase && (other - enthalpy).abs() < SAME) {
            continue;
        }
        told.push((form.species.phase, enthalpy));
        let basis = format!("{} at 298.15 K", form.label());
        let [enthalpies, entropies, gibbs, heats] = &mut lists;
        let tell = |what, value: f64, u: f64, unit| figure(what, value, Some(u), unit, basis.clone(), form);
        enthalpies.push(tell("enthalpy", enthalpy * 1e-3, form.enthalpy_uncertainty * 1e-3, "kJ/mol"));
        let heat = form.fit.heat_capacity(t);
        heats.push(tell("heat capacity", heat, form.heat_uncertainty * heat, "J/(mol K)"));
        if entropy.is_finite() {
            entropies.push(tell("entropy", entropy, form.entropy_uncertainty, "J/(mol K)"));
            if let Some(elements) = element_entropy(&form.species.formula) {
                let value = enthalpy - t * (entropy - elements);
                let u = form.enthalpy_uncertainty.hypot(t * form.entropy_uncertainty);
                gibbs.push(Figure { status: Status::Derived, ..tell("Gibbs", value * 1e-3, u * 1e-3, "kJ/mol") });
            }
        }
        for opinion in &form.opinions {
            let other = |value: f64, unit| Figure {
                value,
                standard_uncertainty: None,
                unit,
                basis: Some(format!("{basis}, another table")),
                status: Status::Literature,
                sources: vec![opinion.source.citation().to_owned()],
            };
            enthalpies.extend(opinion.enthalpy.map(|value| other(value * 1e-3, "kJ/mol")));
            entropies.extend(opinion.entropy.map(|value| other(value, "J/(mol K)")));
            gibbs.extend(opinion.gibbs_energy.map(|value| other(value * 1e-3, "kJ/mol")));
        }
    }
    ["enthalpy_of_formation", "entropy", "gibbs_energy_of_formation", "heat_capacity"].into_iter().zip(lists).collect()
}

/// Density of the pure substance, if it is listed.
fn density(formula: &Formula) -> Option<Figure> {
    let value = crate::bench_test::density(formula)? * 1e-3;
    Some(Figure {
        value,
        standard_uncertainty: None,
        unit: "g/cm³",
        basis: Some("pure substance at room temperature".to_owned()),
        status: Status::Literature,
        sources: vec![SourceKey::FROM_MEMORY.citation().to_owned()],
    })
}

/// Solubility in water at the temperatures of the table, g of anhydrous salt in 100 g of water.
fn solubility(formula: &Formula) -> Option<Vec<Figure>> {
    let salt = Salt::of(formula)?;
    let phase_points = salt.phases.iter().flat_map(|phase| phase.points.iter().map(move |point| (phase, point)));
    let told = phase_points.map(|(phase, (celsius, grams))| Figure {
        value: *grams,
        standard_uncertainty: None,
        unit: "g in 100 g of water",
        basis: Some(format!("{} at {celsius} °C over {}", salt.anhydrous, phase.solid)),
        status: Status::Literature,
        sources: vec![phase.source.citation().to_owned()],
    });
    Some(told.collect())
}

fn range(form: &Form) -> Option<FormRange> {
    let (low_k, high_k) = form.fit.range()?;
    let over_temperature = form.fit.intervals.iter().any(|part| part.a.iter().filter(|a| **a != 0.0).count() > 1);
    Some(FormRange { form: form.label(), low_k, high_k, over_temperature })
}

fn remarks(known: &[Form]) -> Vec<String> {
    let mut list: Vec<String> = Vec::new();
    for form in known {
        let mut lines: Vec<String> = form.estimated.iter().map(|words| format!("estimated: {words}")).collect();
        lines.extend(conflicts(form).into_iter().map(|words| format!("tables disagree: {words}")));
        if form.from_memory {
            lines.push("keyed from memory and not compared with a second table".to_owned());
        }
        list.extend(lines.into_iter().map(|line| format!("{}: {line}", form.label())));
    }
    list
}
