//! In which forms is a substance known, and how well?
//!
//! Joins the tables of [`chem::thermo`] to the polynomials of the engine. Where a substance has polynomials they give
//! the values and their temperature dependence, and values at 298.15 K from other tables are opinions; where it has
//! none, the value of the best table does, the others being opinions. Opinions that differ widen the uncertainty: the
//! truth is taken to lie anywhere between the value used and the farthest opinion. What is missing is estimated by
//! rules ([`estimate`]) and says so.
//!
//! Neglected: that values of one table are meant to be used together (mixing tables errs by the differences of their
//! auxiliary values, usually below 1 kJ/mol), and correlations between forms of one substance.
//!
//! Source: the tables; JCGM 100:2008, 4.3.7, for the rectangular width.

pub(crate) mod estimate;
pub(crate) mod ions;
pub(crate) mod release;

use chem::thermo::{Record, StandardValue, ValueUncertain};
use chem::{Formula, Phase, SourceKey, Species};
use engine::thermochemistry::standard::{HeatLaw, STANDARD_TEMPERATURE, of_standard};
use engine::thermochemistry::{Fit, Interval};

/// Standard uncertainty of an enthalpy of formation for which no table gives one and no second table stands, J/mol:
/// for 45 substances here the two large tables lie apart by 0.5 kJ/mol in the median, with a long tail.
const USUAL_ENTHALPY_UNCERTAINTY: f64 = 1_500.0;
/// The same for an entropy, J/(mol·K).
const USUAL_ENTROPY_UNCERTAINTY: f64 = 0.5;
/// Entropies of the elements' reference forms, J/(mol·K).
const ELEMENT_ENTROPY_UNCERTAINTY: f64 = 0.1;
/// Relative standard uncertainty of a heat capacity from a polynomial, and of one held constant.
const HEAT_UNCERTAINTY: (f64, f64) = (0.01, 0.10);
/// The same for gases, whose heat capacities are computed from spectra.
const GAS_HEAT_UNCERTAINTY: f64 = 0.002;
/// Temperatures a value at 298.15 K with a constant heat capacity serves for, K.
const CONSTANT_RANGE: (f64, f64) = (200.0, 600.0);
/// Temperatures a solute serves for: with and without a heat capacity, K.
const SOLUTE_RANGES: [(f64, f64); 2] = [(273.15, 373.15), (288.15, 308.15)];

/// Another table's values for the same form.
#[derive(Clone, Debug)]
pub(crate) struct Opinion {
    /// Enthalpy of formation at 298.15 K, J/mol.
    pub enthalpy: Option<f64>,
    /// Entropy at 298.15 K, J/(mol·K).
    pub entropy: Option<f64>,
    /// Gibbs energy of formation at 298.15 K as printed, J/mol.
    pub gibbs_energy: Option<f64>,
    /// The table.
    pub source: SourceKey,
}

/// A substance in one form, with what is known of it.
#[derive(Clone, Debug)]
pub(crate) struct Form {
    /// Formula and phase.
    pub species: Species,
    /// Crystal form; may be empty.
    pub form: &'static str,
    /// Name of the form; may be empty.
    pub name: &'static str,
    /// The polynomial; its entropy is NaN where none is known.
    pub fit: Fit,
    /// Standard uncertainty of the enthalpy of formation, J/mol.
    pub enthalpy_uncertainty: f64,
    /// Standard uncertainty of the entropy at 298.15 K, J/(mol·K).
    pub entropy_uncertainty: f64,
    /// Relative standard uncertainty of the heat capacity.
    pub heat_uncertainty: f64,
    /// Whether the values at 298.15 K rest on memory alone.
    pub from_memory: bool,
    /// What was estimated, in words.
    pub estimated: Vec<String>,
    /// Where the values come from.
    pub sources: Vec<String>,
    /// What other tables say.
    pub opinions: Vec<Opinion>,
    /// Whether it is taken only where it is named: tables from which its stability cannot be judged.
    pub only_if_named: bool,
}

impl Form {
    /// `SiO2(s), β-quartz`.
    pub fn label(&self) -> String {
        match [self.name, self.form].into_iter().find(|text| !text.is_empty()) {
            Some(_) if self.form.is_empty() || self.name == self.form => format!("{}, {}", self.species, self.name),
            Some(_) if self.name.is_empty() => format!("{}, {}", self.species, self.form),
            Some(_) => format!("{}, {} ({})", self.species, self.form, self.name),
            None => self.species.to_string(),
        }
    }

    /// Whether a user's word names this form.
    pub fn is_named(&self, word: &str) -> bool {
        let plain = |text: &str| text.to_lowercase().replace("alpha", "α").replace("beta", "β").replace("gamma", "γ");
        let wanted = plain(word.trim());
        !wanted.is_empty() && [self.form, self.name].iter().any(|known| plain(known) == wanted)
    }
}

/// The forms of a formula, in one phase or in all.
pub(crate) fn forms(formula: &Formula, phase: Option<Phase>) -> Vec<Form> {
    let phases: Vec<Phase> = phase.map_or_else(|| Phase::ALL.to_vec(), |phase| vec![phase]);
    let mut found: Vec<Form> = phases.into_iter().flat_map(|phase| forms_in(formula, phase)).collect();
    if found.is_empty() && matches!(phase, None | Some(Phase::Solid)) {
        found.extend(estimate::hydrate(formula));
    }
    found
}

fn forms_in(formula: &Formula, phase: Phase) -> Vec<Form> {
    let records: Vec<&Record> =
        Record::of(formula).into_iter().filter(|record| record.species.phase == Some(phase)).collect();
    let values: Vec<&StandardValue> =
        StandardValue::of(formula).into_iter().filter(|value| value.species.phase == Some(phase)).collect();
    let mut found: Vec<Form> = records.iter().map(|record| of_record(record, &records, &values)).collect();
    let is_record = |value: &StandardValue| {
        value.form.is_empty() || records.iter().any(|record| [record.form, record.name].contains(&value.form))
    };
    let loose: Vec<&StandardValue> =
        values.iter().filter(|value| records.is_empty() || !is_record(value)).copied().collect();
    let mut names: Vec<&str> = Vec::new();
    for value in &loose {
        if !names.contains(&value.form) {
            names.push(value.form);
        }
    }
    for name in names {
        let rows: Vec<&StandardValue> = loose.iter().filter(|value| value.form == name).copied().collect();
        found.extend(of_values(&rows).map(|form| Form { only_if_named: !records.is_empty(), ..form }));
    }
    found
}

/// The form of a record, with the opinions of other tables on it.
fn of_record(record: &Record, forms: &[&Record], values: &[&StandardValue]) -> Form {
    let at_standard = |record: &&&Record| {
        let (low, high) = record.range();
        (low..=high).contains(&STANDARD_TEMPERATURE)
    };
    // Of two forms that meet at room temperature the first is the stable one there.
    let standing = forms.iter().find(at_standard).copied().unwrap_or(record);
    let fit = fit_of(record);
    let standard_entropy = fit_of(standing).entropy(STANDARD_TEMPERATURE);
    let own = |value: &&&StandardValue| {
        let named = [record.form, record.name].contains(&value.form);
        let stable = value.form.is_empty() || [standing.form, standing.name].contains(&value.form);
        if value.form.is_empty() { stable } else { named || stable }
    };
    let rows: Vec<&StandardValue> = values.iter().filter(own).copied().collect();
    let is_element = record.species.formula.elements().count() == 1 && record.enthalpy == 0.0;
    let usual = if is_element {
        (0.0, ELEMENT_ENTROPY_UNCERTAINTY)
    } else {
        (USUAL_ENTHALPY_UNCERTAINTY, USUAL_ENTROPY_UNCERTAINTY)
    };
    let source = match record.primary {
        "" => record.source.citation().to_owned(),
        primary => format!("{} (record: {primary})", record.source.citation()),
    };
    Form {
        species: record.species.clone(),
        form: record.form,
        name: record.name,
        enthalpy_uncertainty: widened(record.enthalpy, rows.iter().filter_map(|row| row.enthalpy), usual.0),
        entropy_uncertainty: widened(standard_entropy, rows.iter().filter_map(|row| row.entropy), usual.1),
        heat_uncertainty: match record.species.phase {
            Some(Phase::Gas) => GAS_HEAT_UNCERTAINTY,
            _ => HEAT_UNCERTAINTY.0,
        },
        from_memory: false,
        estimated: Vec::new(),
        sources: vec![source],
        opinions: rows.iter().filter_map(|row| opinion(row)).collect(),
        only_if_named: false,
        fit,
    }
}

/// The polynomial of a record.
pub(crate) fn fit_of(record: &Record) -> Fit {
    let part = |c: &chem::thermo::Coefficients| Interval { low_k: c.low_k, high_k: c.high_k, a: c.a, b: c.b };
    Fit { intervals: record.intervals.iter().map(part).collect() }
}

/// Standard uncertainty of a value beside the opinions on it: the smallest that a table states, or the usual one,
/// together with the width to the farthest opinion.
fn widened(value: f64, opinions: impl Iterator<Item = ValueUncertain>, usual: f64) -> f64 {
    let (mut stated, mut farthest) = (f64::INFINITY, 0.0_f64);
    for opinion in opinions {
        stated = stated.min(opinion.uncertainty.unwrap_or(usual));
        farthest = farthest.max((opinion.value - value).abs());
    }
    let stated = if stated.is_finite() { stated } else { usual };
    stated.hypot(farthest / 3.0_f64.sqrt())
}

fn opinion(row: &StandardValue) -> Option<Opinion> {
    Some(Opinion {
        enthalpy: row.enthalpy.map(|known| known.value),
        entropy: row.entropy.map(|known| known.value),
        gibbs_energy: row.gibbs_energy,
        source: *row.sources.first()?,
    })
}

/// The lower, the more a table is trusted where several give a value.
fn rank(row: &StandardValue) -> u8 {
    match row.sources.first().map(|key| key.as_str()) {
        Some("codata-1989") => 0,
        Some("usgs-2131" | "majzlan-2003" | "robie-hemingway-1973") => 1,
        Some("nbs-1982") => 2,
        Some("estimated") => 4,
        _ => 3,
    }
}

/// The form that rows of values at 298.15 K describe; `None` where none gives an enthalpy.
fn of_values(rows: &[&StandardValue]) -> Option<Form> {
    let mut ranked: Vec<&StandardValue> = rows.to_vec();
    ranked.sort_by_key(|row| rank(row));
    let leading = *ranked.iter().find(|row| row.enthalpy.is_some())?;
    let enthalpy = leading.enthalpy?;
    let mut estimated = Vec::new();
    if leading.sources.contains(&SourceKey::ESTIMATED) {
        estimated.push(format!("enthalpy of formation: {}", leading.comment));
    }
    let formula = &leading.species.formula;
    let solid = leading.species.phase == Some(Phase::Solid);
    let entropy = ranked.iter().find_map(|row| row.entropy);
    let entropy = entropy.or_else(|| {
        let (known, words) = solid.then(|| estimate::entropy(formula)).flatten()?;
        estimated.push(words);
        Some(known)
    });
    let (heat, heat_uncertainty, range) = heat_of(&ranked, leading, solid, &mut estimated);
    let entropy_value = entropy.map_or(f64::NAN, |known| known.value);
    let usual = USUAL_ENTROPY_UNCERTAINTY;
    Some(Form {
        species: leading.species.clone(),
        form: leading.form,
        name: rows.iter().map(|row| row.name).find(|name| !name.is_empty()).unwrap_or(""),
        fit: of_standard(enthalpy.value, entropy_value, heat, range.0, range.1),
        enthalpy_uncertainty: stated_or(
            enthalpy,
            rows.iter().filter_map(|row| row.enthalpy),
            USUAL_ENTHALPY_UNCERTAINTY,
        ),
        entropy_uncertainty: entropy
            .map_or(f64::NAN, |known| stated_or(known, rows.iter().filter_map(|row| row.entropy), usual)),
        heat_uncertainty,
        from_memory: leading.from_memory(),
        estimated,
        sources: leading.sources.iter().map(|key| key.citation().to_owned()).collect(),
        opinions: ranked.iter().filter(|row| !std::ptr::eq(**row, leading)).filter_map(|row| opinion(row)).collect(),
        only_if_named: false,
    })
}

/// The stated uncertainty of the leading value, widened by the others.
fn stated_or(leading: ValueUncertain, all: impl Iterator<Item = ValueUncertain>, usual: f64) -> f64 {
    let own = leading.uncertainty.unwrap_or(usual);
    let farthest = all.map(|other| (other.value - leading.value).abs()).fold(0.0, f64::max);
    own.hypot(farthest / 3.0_f64.sqrt())
}

/// Heat capacity, its relative uncertainty and the temperatures it serves for.
fn heat_of(
    ranked: &[&StandardValue],
    leading: &StandardValue,
    solid: bool,
    estimated: &mut Vec<String>,
) -> (HeatLaw, f64, (f64, f64)) {
    let high = ranked.iter().find_map(|row| row.high_k);
    let measured = ranked.iter().find_map(|row| row.heat_capacity);
    if leading.species.phase == Some(Phase::Aqueous) {
        let range = SOLUTE_RANGES[usize::from(measured.is_none())];
        return (HeatLaw::constant(measured.unwrap_or(0.0)), HEAT_UNCERTAINTY.1, range);
    }
    if let Some([a, b, c]) = ranked.iter().find_map(|row| row.heat_law) {
        return (HeatLaw { a, b, c }, 2.0 * HEAT_UNCERTAINTY.0, (STANDARD_TEMPERATURE - 50.0, high.unwrap_or(1000.0)));
    }
    let range = (CONSTANT_RANGE.0, high.unwrap_or(CONSTANT_RANGE.1));
    match measured {
        Some(value) => (HeatLaw::constant(value), HEAT_UNCERTAINTY.1, range),
        None => {
            let value = estimate::heat_capacity(&leading.species.formula);
            estimated.push(estimate::HEAT_WORDS.to_owned());
            let uncertainty = if solid { HEAT_UNCERTAINTY.1 } else { 3.0 * HEAT_UNCERTAINTY.1 };
            (HeatLaw::constant(value), uncertainty, range)
        }
    }
}

/// Entropy at 298.15 K of the elements that make a formula unit, in their reference forms, J/(mol·K). An ion counts its
/// charge as hydrogen, by the convention for H⁺(aq). `None` where an element is not listed.
pub(crate) fn element_entropy(formula: &Formula) -> Option<f64> {
    let mut sum = 0.0;
    for (element, count) in formula.elements() {
        let (text, atoms) = match element.symbol() {
            "Br" => ("Br2(l)".to_owned(), 2.0),
            "I" => ("I2(s)".to_owned(), 2.0),
            "Hg" => ("Hg(l)".to_owned(), 1.0),
            "He" | "Ne" | "Ar" => (format!("{}(g)", element.symbol()), 1.0),
            "H" | "N" | "O" | "F" | "Cl" => (format!("{}2(g)", element.symbol()), 2.0),
            other => (format!("{other}(s)"), 1.0),
        };
        sum += count * reference_entropy(&text)? / atoms;
    }
    if formula.charge() != 0 {
        sum -= f64::from(formula.charge()) * reference_entropy("H2(g)")? / 2.0;
    }
    Some(sum)
}

/// Entropy at 298.15 K of an element's reference form, J/(mol·K).
fn reference_entropy(text: &str) -> Option<f64> {
    let species = Species::parse(text).ok()?;
    let known = forms_in(&species.formula, species.phase?);
    let standing = known.iter().find(|form| form.fit.covers(STANDARD_TEMPERATURE))?;
    Some(standing.fit.entropy(STANDARD_TEMPERATURE)).filter(|entropy| entropy.is_finite())
}
