//! What may be said of a substance that no table lists fully?
//!
//! A hydrate from the nearest relative with more or less water, by the thermodynamic difference rule; an entropy from the
//! volume of the formula unit where the density is listed; a heat capacity from the elements, with a fixed part for each
//! molecule of hydrate water. Only what the rules carry is estimated:
//! a salt without any listed relative stays unknown.
//!
//! Source: the rules as cited in [`engine::thermochemistry::standard`].

use chem::formula::to_f64;
use chem::thermo::{Record, StandardValue, ValueUncertain};
use chem::{Formula, Phase, SourceKey, Species};
use engine::thermochemistry::standard::{
    HeatLaw, STANDARD_TEMPERATURE, WaterIncrement, kopp, of_standard, volume_entropy,
};

use super::{CONSTANT_RANGE, Form, HEAT_UNCERTAINTY, fit_of};

/// Words for a heat capacity by the rule.
pub(super) const HEAT_WORDS: &str = "heat capacity: from the elements, by the rule of Kopp and Neumann";

/// Heat capacity of a solid at 298.15 K, J/(mol·K).
pub(super) fn heat_capacity(formula: &Formula) -> f64 {
    let water = to_f64(formula.hydrate_water());
    let atoms: Vec<(u8, f64)> =
        formula.without_hydrate_water().elements().map(|(element, count)| (element.atomic_number(), count)).collect();
    kopp(&atoms) + water * WaterIncrement::HEAT_CAPACITY
}

/// A relative: the same salt with other water.
struct Relative {
    formula: Formula,
    enthalpy: Option<ValueUncertain>,
    entropy: Option<ValueUncertain>,
    source: SourceKey,
}

/// All listed solids that differ from a formula in water of crystallisation only, the nearest first.
fn relatives(formula: &Formula) -> Vec<(f64, Relative)> {
    let dry = formula.without_hydrate_water();
    let water = to_f64(formula.hydrate_water());
    let related = |species: &Species| {
        species.phase == Some(Phase::Solid)
            && species.formula.hydrate_water() != formula.hydrate_water()
            && species.formula.without_hydrate_water().same_substance(&dry)
    };
    let listed = StandardValue::all().iter().filter(|row| related(&row.species)).filter_map(|row| {
        Some(Relative {
            formula: row.species.formula.clone(),
            enthalpy: row.enthalpy,
            entropy: row.entropy,
            source: *row.sources.first()?,
        })
    });
    let recorded = Record::all().iter().filter(|record| related(&record.species)).filter_map(|record| {
        let fit = fit_of(record);
        let known = |value| Some(ValueUncertain { value, uncertainty: None });
        fit.covers(STANDARD_TEMPERATURE).then(|| Relative {
            formula: record.species.formula.clone(),
            enthalpy: known(record.enthalpy),
            entropy: known(fit.entropy(STANDARD_TEMPERATURE)),
            source: record.source,
        })
    });
    let mut found: Vec<(f64, Relative)> =
        listed.chain(recorded).map(|relative| (water - to_f64(relative.formula.hydrate_water()), relative)).collect();
    found.sort_by(|(a, _), (b, _)| a.abs().total_cmp(&b.abs()));
    found
}

/// The value for so many molecules of water more.
fn shifted(known: ValueUncertain, more: f64, increment: f64, uncertainty: f64) -> ValueUncertain {
    let own = known.uncertainty.unwrap_or(0.0);
    ValueUncertain { value: known.value + more * increment, uncertainty: Some(own.hypot(more * uncertainty)) }
}

fn words(what: &str, relative: &Relative) -> String {
    format!("{what}: from {} ({}), by the difference rule for hydrates", relative.formula, relative.source)
}

/// Entropy of a solid from a relative, else from its density, with the words for it.
pub(super) fn entropy(formula: &Formula) -> Option<(ValueUncertain, String)> {
    let Some((more, relative)) = relatives(formula).into_iter().find(|(_, relative)| relative.entropy.is_some()) else {
        return from_density(formula);
    };
    let known = relative.entropy?;
    let value = shifted(known, more, WaterIncrement::ENTROPY, WaterIncrement::ENTROPY_UNCERTAINTY);
    Some((value, words("entropy", &relative)))
}

/// Entropy of a solid from the volume of its formula unit.
fn from_density(formula: &Formula) -> Option<(ValueUncertain, String)> {
    let density = crate::bench_test::density(formula)?;
    let volume = formula.molar_mass().ok()?.value * 1e-3 / density;
    let (value, uncertainty) = volume_entropy(volume, to_f64(formula.hydrate_water()) > 0.0);
    let words = format!("entropy: from the density {:.2} g/cm³, by the rule of volumes", density * 1e-3);
    Some((ValueUncertain { value, uncertainty: Some(uncertainty) }, words))
}

/// A solid that no table lists, from its nearest relative.
pub(super) fn hydrate(formula: &Formula) -> Option<Form> {
    let (more, relative) = relatives(formula).into_iter().find(|(_, relative)| relative.enthalpy.is_some())?;
    let enthalpy = shifted(relative.enthalpy?, more, WaterIncrement::ENTHALPY, WaterIncrement::ENTHALPY_UNCERTAINTY);
    let entropy = entropy(formula);
    let mut estimated = vec![words("enthalpy of formation", &relative)];
    estimated.extend(entropy.iter().map(|(_, words)| words.clone()));
    estimated.push(HEAT_WORDS.to_owned());
    let entropy = entropy.map(|(known, _)| known);
    let (low, high) = CONSTANT_RANGE;
    let heat = HeatLaw::constant(heat_capacity(formula));
    Some(Form {
        species: Species::new(formula.clone(), Some(Phase::Solid)),
        form: "",
        name: "",
        fit: of_standard(enthalpy.value, entropy.map_or(f64::NAN, |known| known.value), heat, low, high),
        enthalpy_uncertainty: enthalpy.uncertainty.unwrap_or(f64::NAN),
        entropy_uncertainty: entropy.and_then(|known| known.uncertainty).unwrap_or(f64::NAN),
        heat_uncertainty: HEAT_UNCERTAINTY.1,
        from_memory: false,
        estimated,
        sources: vec![relative.source.citation().to_owned(), SourceKey::DIFFERENCE_RULES.citation().to_owned()],
        opinions: Vec::new(),
        only_if_named: false,
    })
}
