//! What is there when nothing more can happen, at a temperature, without heat exchange, or in a closed space?
//!
//! Candidates are chosen from the elements; amounts are read in mol, g or, for gases, as a volume at 25 °C and 1 atm. The
//! answer carries its residuals. Closed spaces are not computed for what would heat itself: a mixture whose temperature
//! without heat exchange passes 1500 K.
//!
//! Source: [`engine::equilibrium`] and the tables of [`crate::thermochemistry`].

mod sweep;

use super::pointed;
use super::reading::{Quantities, remark, unplaced};
use crate::equilibria::{Choice, Pool, molar_mass};
use crate::outcome::{EquilibriumAnswer, EquilibriumSpecies, Figure, Finding, Severity};
use crate::screen::OUT_OF_BOUNDS;
use chem::quantity::Status as Known;
use chem::{Dimension, Phase, Quantity, Species, Value};
use engine::equilibrium::{Equilibrium, Hold, Status};
use engine::thermochemistry::standard::STANDARD_TEMPERATURE;
use std::collections::BTreeSet;

/// 1 atm, Pa.
const ATMOSPHERE: f64 = 101_325.0;
/// Temperature without heat exchange from which a mixture is not computed in a closed space, K.
const HEATS_ITSELF: f64 = 1500.0;
/// Dry air, mole fractions (ISO 2533, with today's carbon dioxide).
pub(crate) const AIR: [(&str, f64); 4] =
    [("N2(g)", 0.780_8), ("O2(g)", 0.209_5), ("Ar(g)", 0.009_3), ("CO2(g)", 0.000_4)];
/// Share of all amounts below which a substance is not listed.
const LISTED: f64 = 1e-12;
/// Share of the gas from which a dangerous gas is told.
const TOLD: f64 = 1e-4;
/// Limit at work from which a gas is not told, ppm (carbon dioxide has 5000).
const HARMLESS: f64 = 1000.0;
/// Most phases that are told as nearly there.
const MOST_NEAR: usize = 5;

/// What is held.
#[derive(Clone, Copy, Debug, Default)]
pub struct EquilibriumOptions<'a> {
    /// Temperature.
    pub at: Option<&'a str>,
    /// Pressure; 1 atm if nothing is given.
    pub pressure: Option<&'a str>,
    /// Volume of the gas space, closed.
    pub volume: Option<&'a str>,
    /// Temperatures from cold to hot, `25 .. 1400 °C`, instead of one or beside it.
    pub sweep: Option<&'a str>,
    /// Whether no heat is exchanged.
    pub adiabatic: bool,
    /// Temperature before; 25 °C if not given.
    pub from: Option<&'a str>,
    /// Only these take part.
    pub only: &'a [String],
    /// None of these takes part.
    pub without: &'a [String],
}

/// The question read.
struct Asked {
    lots: Vec<(Species, f64)>,
    at: Option<f64>,
    sweep: Option<(f64, f64)>,
    from: f64,
    pressure: f64,
    volume: Option<f64>,
    choice: Choice,
    text: String,
}

/// What is there at equilibrium?
///
/// # Errors
/// Findings that point at what cannot be read, and refusals.
///
/// ```
/// use prep::ask::{EquilibriumOptions, equilibrium};
/// let options = EquilibriumOptions { at: Some("950 °C"), ..EquilibriumOptions::default() };
/// let answer = equilibrium(&["CaCO3(s) 1 mol".to_owned()], &options).map_err(|f| format!("{f:?}"))?;
/// assert_eq!(answer.species[0].species, "CaO(s)");
/// // Carbon dioxide, and a trace of it come apart.
/// assert!((answer.gas_amount - 1.0).abs() < 1e-4);
/// # Ok::<(), String>(())
/// ```
pub fn equilibrium(lots: &[String], options: &EquilibriumOptions<'_>) -> Result<EquilibriumAnswer, Vec<Finding>> {
    answer(lots, options).map_err(|list| list.into_iter().map(unplaced).collect())
}

fn answer(lots: &[String], options: &EquilibriumOptions<'_>) -> Result<EquilibriumAnswer, Vec<Finding>> {
    let asked = read(lots, options)?;
    let all: Vec<Species> = asked.lots.iter().map(|(species, _)| species.clone()).collect();
    let mut findings = crate::screen::products(&all, &[], true, &asked.text)?;
    crate::screen::together(&asked.lots, &asked.text)?;
    let Some(mut pool) = Pool::over(&all, &asked.choice) else {
        let hint = "no table here has a substance of these elements, or the choice leaves none";
        return Err(vec![pointed(
            "no-thermochemical-values",
            &asked.text,
            0,
            0,
            "nothing can take part".to_owned(),
            hint,
        )]);
    };
    unknown(&asked, &pool, &mut findings);
    let amounts = pool.amounts(&asked.lots);
    let before = enthalpy(&asked, &pool, asked.from);
    if asked.volume.is_some() {
        closed(&asked, &mut pool, &amounts, before)?;
    }
    let (hold, held) = hold(&asked, &pool, before)?;
    let state = pool.solve(&amounts, hold);
    let there = pool.forms.iter().zip(&state.amounts).map(|(form, amount)| (&form.species, *amount));
    crate::screen::given(&asked.lots, there, &asked.text)?;
    verdict(&state, &pool, &mut findings);
    let sweep = asked.sweep.map_or_else(Vec::new, |ends| sweep::sweep(&mut pool, &amounts, asked.pressure, ends));
    Ok(EquilibriumAnswer { sweep, ..told(&asked, &pool, &state, held, before, findings) })
}

fn read(lots: &[String], options: &EquilibriumOptions<'_>) -> Result<Asked, Vec<Finding>> {
    let mut reader = Quantities::default();
    let parts: Vec<(Species, f64)> = lots.iter().flat_map(|text| lot(&mut reader, text)).collect();
    if lots.is_empty() {
        reader.slip("missing-field", "", "nothing is brought together".to_owned(), "name substances, `CaCO3(s) 1 mol`");
    }
    let kelvin =
        |reader: &mut Quantities, what: &str, text: Option<&str>| text.and_then(|text| reader.temperature(what, text));
    let sweep = options.sweep.and_then(|text| sweep::ends(&mut reader, text));
    let at = kelvin(&mut reader, "the temperature", options.at).or(sweep.map(|(_, high)| high));
    let from = kelvin(&mut reader, "the starting temperature", options.from).unwrap_or(STANDARD_TEMPERATURE);
    let given = options.pressure.map(|text| reader.one("the pressure", text, Dimension::PRESSURE, false));
    let volume = options.volume.and_then(|text| reader.one("the volume", text, Dimension::VOLUME, false));
    let list = |reader: &mut Quantities, texts: &[String]| -> Vec<Species> {
        texts.iter().flat_map(|t| t.split(',')).filter_map(|text| species(reader, text)).collect()
    };
    let (only, without) = (list(&mut reader, options.only), list(&mut reader, options.without));
    let choice = Choice { only, without, ..Choice::default() };
    if options.volume.is_some() && options.pressure.is_some() {
        let text = options.pressure.unwrap_or("");
        reader.slip("conflicting-fields", text, "both pressure and volume are given".to_owned(), "give one of them");
    }
    if options.sweep.is_some() && (options.adiabatic || options.volume.is_some()) {
        let text = options.sweep.unwrap_or("");
        let message = "a sweep of temperatures is made at one pressure".to_owned();
        reader.slip("conflicting-fields", text, message, "leave out --adiabatic and --volume");
    } else if (options.at.is_some() || options.sweep.is_some()) == options.adiabatic {
        let (message, hint) = match options.at {
            Some(_) => ("a temperature is given, and no exchange of heat", "give one of them"),
            None => ("neither a temperature nor `--adiabatic` is given", "give `--at \"900 °C\"`, or `--adiabatic`"),
        };
        reader.slip("missing-field", options.at.unwrap_or(""), message.to_owned(), hint);
    }
    if !reader.errors.is_empty() {
        return Err(reader.errors);
    }
    let pressure = given.flatten().unwrap_or(ATMOSPHERE);
    Ok(Asked { lots: parts, at, sweep, from, pressure, volume, choice, text: lots.join(", ") })
}

fn species(reader: &mut Quantities, text: &str) -> Option<Species> {
    match Species::parse(text.trim()) {
        Ok(species) => Some(species),
        Err(_) => reader.substance(text).map(|formula| Species::new(formula, None)),
    }
}

/// `CaCO3(s) 1 mol`, `air 2 L`; a mole where no amount stands.
pub(super) fn lot(reader: &mut Quantities, text: &str) -> Vec<(Species, f64)> {
    let text = text.trim();
    let splits = text.match_indices(' ').map(|(at, _)| at);
    let found = splits
        .filter_map(|at| Some((text.get(..at)?, Quantity::parse(text.get(at..)?.trim()).ok()?)))
        .find(|(_, quantity)| [Dimension::AMOUNT, Dimension::MASS, Dimension::VOLUME].contains(&quantity.dimension()));
    let (name, quantity) = found.map_or((text, None), |(name, quantity)| (name, Some(quantity)));
    let parts: Vec<(Species, f64)> = if name.eq_ignore_ascii_case("air") {
        AIR.iter().filter_map(|(gas, share)| Some((Species::parse(gas).ok()?, *share))).collect()
    } else {
        species(reader, name).map(|species| (species, 1.0)).into_iter().collect()
    };
    let mass: f64 = parts.iter().map(|(species, share)| share * molar_mass(&species.formula)).sum();
    let amount = match &quantity {
        None => Some(1.0),
        Some(quantity) => amount(reader, text, quantity, mass, &parts),
    };
    amount.map_or_else(Vec::new, |amount| parts.into_iter().map(|(species, share)| (species, share * amount)).collect())
}

/// mol
fn amount(
    reader: &mut Quantities,
    text: &str,
    quantity: &Quantity,
    molar_mass: f64,
    parts: &[(Species, f64)],
) -> Option<f64> {
    let Value::Point { value, .. } = quantity.si() else {
        reader.slip("bad-quantity", text, format!("`{text}` gives no single amount"), "give one value above zero");
        return None;
    };
    let gas = parts.iter().all(|(species, _)| species.phase == Some(Phase::Gas));
    let amount = match quantity.dimension() {
        Dimension::AMOUNT => value,
        Dimension::MASS => value / molar_mass,
        _ if gas => value * ATMOSPHERE / (engine::equilibrium::GAS_CONSTANT * STANDARD_TEMPERATURE),
        _ => {
            let hint = "a volume is taken of gases only, at 25 °C and 1 atm; give a mass, or write `(g)`";
            reader.slip("bad-quantity", text, format!("`{text}`: the volume of what?"), hint);
            return None;
        }
    };
    if amount > 0.0 && amount.is_finite() {
        return Some(amount);
    }
    reader.slip("bad-quantity", text, format!("`{text}` gives no amount above zero"), "give one value above zero");
    None
}

/// What was brought and is in no table.
fn unknown(asked: &Asked, pool: &Pool, findings: &mut Vec<Finding>) {
    for (species, _) in &asked.lots {
        if !pool.forms.iter().any(|form| crate::equilibria::is_of(form, species)) {
            let message = format!("{species} itself has no values here: it counts by its elements alone");
            findings.push(remark("no-thermochemical-values", Severity::Note, message, ""));
        }
    }
    if !pool.unjudged.is_empty() {
        let message = format!("left out, because no entropy is known: {}", pool.unjudged.join(", "));
        findings.push(remark("no-entropy", Severity::Note, message, ""));
    }
}

fn enthalpy(asked: &Asked, pool: &Pool, temperature: f64) -> Option<f64> {
    asked.lots.iter().map(|(species, amount)| pool.enthalpy(species, *amount, temperature)).sum()
}

/// Withholds what would heat itself in a closed space.
fn closed(asked: &Asked, pool: &mut Pool, amounts: &[f64], before: Option<f64>) -> Result<(), Vec<Finding>> {
    let state = before.map(|heat| pool.solve(amounts, Hold::EnthalpyPressure(heat, ATMOSPHERE)));
    let hot = match state {
        Some(state) => match state.status {
            Status::Solved | Status::Almost => state.temperature > HEATS_ITSELF,
            // Above the tables is hotter than the bound.
            _ => true,
        },
        None => true,
    };
    if !hot || asked.from > HEATS_ITSELF {
        return Ok(());
    }
    let message = match before {
        Some(_) => "this mixture would heat itself above 1500 K: its state in a closed space is not computed",
        None => "whether this mixture would heat itself is not known: its state in a closed space is not computed",
    };
    let hint = "never close a vessel on it; ask at constant pressure, which is answered as safety information";
    Err(vec![pointed(OUT_OF_BOUNDS, &asked.text, 0, asked.text.len(), message.to_owned(), hint)])
}

fn hold(asked: &Asked, pool: &Pool, before: Option<f64>) -> Result<(Hold, String), Vec<Finding>> {
    let kelvin = |t: f64| format!("{:.2} °C", t - 273.15);
    if let Some(at) = asked.at {
        return Ok(match asked.volume {
            Some(volume) => (
                Hold::TemperatureVolume(at, volume),
                format!("{} in a closed gas space of {:.4} L", kelvin(at), volume * 1e3),
            ),
            None => (
                Hold::TemperaturePressure(at, asked.pressure),
                format!("{} and {:.5} bar", kelvin(at), asked.pressure * 1e-5),
            ),
        });
    }
    let Some(before) = before else {
        let message = format!("the enthalpy of what is brought together is not known at {}", kelvin(asked.from));
        let hint = "write the phase of each substance as it is there, `Al(s) 2 mol`; or give --from";
        return Err(vec![pointed("beyond-range", &asked.text, 0, asked.text.len(), message, hint)]);
    };
    Ok(match asked.volume {
        Some(volume) => {
            let gas: f64 =
                asked.lots.iter().filter(|(s, _)| pool.is_gas(s, asked.from)).map(|(_, amount)| amount).sum();
            let inner = before - gas * engine::thermochemistry::fit::GAS_CONSTANT * asked.from;
            let words =
                format!("no exchange of heat, from {}, closed gas space of {:.4} L", kelvin(asked.from), volume * 1e3);
            (Hold::EnergyVolume(inner, volume), words)
        }
        None => (
            Hold::EnthalpyPressure(before, asked.pressure),
            format!("no exchange of heat, from {}, at {:.5} bar", kelvin(asked.from), asked.pressure * 1e-5),
        ),
    })
}

/// Status and dangerous gases in words.
fn verdict(state: &Equilibrium, pool: &Pool, findings: &mut Vec<Finding>) {
    let words = match state.status {
        Status::Solved => None,
        Status::Almost => Some("solved less sharply than usual: the last digits are open"),
        Status::DataEnd => Some("this energy lies where the values of a phase end; the nearest state is given"),
        Status::OutOfRange => Some("no temperature from 220 K to 6000 K has this energy"),
        Status::Unreachable => Some("what takes part cannot make up these amounts; widen the choice"),
        Status::BadQuestion | Status::Unsolved => Some("no state was found that can be believed"),
    };
    if let Some(words) = words {
        findings.push(remark("not-solved", Severity::Warning, words.to_owned(), ""));
    }
    for (form, amount) in pool.forms.iter().zip(&state.amounts) {
        let there = form.species.phase == Some(Phase::Gas) && *amount > TOLD * state.gas;
        let Some(limit) = strictest(&form.species.formula).filter(|_| there) else { continue };
        let share = 1e6 * amount / state.gas;
        let message = format!("the gas holds {share:.0} ppm of {}; its limit at work is {limit} ppm", form.species);
        findings.push(remark("toxic-gas", Severity::Caution, message, "outdoors or in a hood that draws"));
    }
}

/// The lowest limit at work, ppm.
fn strictest(formula: &chem::Formula) -> Option<f64> {
    let parts = chem::hazard::limits(formula).into_iter().filter(|limit| limit.unit == "ppm").map(|limit| limit.value);
    parts.min_by(f64::total_cmp).filter(|limit| *limit < HARMLESS)
}

fn figure(value: f64, unit: &'static str, sources: &[String], estimated: bool) -> Figure {
    Figure {
        value,
        standard_uncertainty: None,
        unit,
        basis: None,
        status: if estimated { Known::Estimated } else { Known::Derived },
        sources: sources.to_vec(),
    }
}

fn told(
    asked: &Asked,
    pool: &Pool,
    state: &Equilibrium,
    held: String,
    before: Option<f64>,
    findings: Vec<Finding>,
) -> EquilibriumAnswer {
    let all: f64 = state.amounts.iter().sum();
    let species = species_told(pool, state, all);
    let there: Vec<&crate::thermochemistry::Form> =
        pool.forms.iter().zip(&state.amounts).filter(|(_, n)| **n > 1e-6 * all).map(|(form, _)| form).collect();
    let mut sources: Vec<String> = Vec::new();
    for source in there.iter().flat_map(|form| &form.sources) {
        let table = source.split(" (record: ").next().unwrap_or(source).to_owned();
        if !sources.contains(&table) {
            sources.push(table);
        }
    }
    let estimated = there.iter().any(|form| !form.estimated.is_empty());
    let r = state.residuals;
    let residuals = [r.elements, r.potentials, r.stability, r.energy];
    let mass: f64 = asked.lots.iter().map(|(species, n)| n * molar_mass(&species.formula) * 1e3).sum();
    let heat = before.filter(|_| asked.at.is_some() && asked.volume.is_none()).map(|h| (state.energy - h) * 1e-3);
    EquilibriumAnswer {
        sweep: Vec::new(),
        brought: asked.lots.iter().map(|(species, amount)| (species.to_string(), *amount)).collect(),
        mass,
        held,
        temperature: figure(state.temperature, "K", &sources, estimated),
        pressure: figure(state.pressure * 1e-5, "bar", &sources, estimated),
        species,
        nearest: nearest(pool, state),
        gas_amount: state.gas,
        gas_volume: state.volume * 1e3,
        heat,
        from: asked.from,
        plateau: state.plateau,
        status: match state.status {
            Status::Solved => "solved",
            Status::Almost => "almost",
            Status::DataEnd => "end of data",
            Status::OutOfRange => "out of range",
            Status::Unreachable => "unreachable",
            Status::BadQuestion | Status::Unsolved => "unsolved",
        },
        residual: residuals.iter().fold(0.0, |most: f64, r| most.max(*r)),
        residuals,
        candidates: pool.forms.len(),
        sources,
        findings,
    }
}

fn species_told(pool: &Pool, state: &Equilibrium, all: f64) -> Vec<EquilibriumSpecies> {
    let mut list: Vec<EquilibriumSpecies> = pool
        .forms
        .iter()
        .zip(&state.amounts)
        .filter(|(_, amount)| **amount > LISTED * all)
        .map(|(form, amount)| EquilibriumSpecies {
            species: form.species.to_string(),
            label: form.label(),
            phase: match form.species.phase {
                Some(Phase::Gas) => "gas",
                Some(Phase::Liquid) => "liquid",
                _ => "solid",
            },
            amount: *amount,
            mass: amount * molar_mass(&form.species.formula) * 1e3,
            partial_pressure: (form.species.phase == Some(Phase::Gas))
                .then(|| amount / state.gas * state.pressure * 1e-5),
            estimated: !form.estimated.is_empty(),
        })
        .collect();
    list.sort_by(|a, b| (a.phase == "gas").cmp(&(b.phase == "gas")).then(b.amount.total_cmp(&a.amount)));
    list
}

/// Condensed phases that are not there, the nearest first; none where there is no gas and fewer phases than elements:
/// potentials may then lie anywhere in a range, and so may these activities.
fn nearest(pool: &Pool, state: &Equilibrium) -> Vec<(String, f64)> {
    let there = || pool.forms.iter().zip(&state.amounts).filter(|(_, amount)| **amount > 0.0).map(|(form, _)| form);
    let elements: BTreeSet<&str> =
        there().flat_map(|form| form.species.formula.elements()).map(|(element, _)| element.symbol()).collect();
    if state.gas <= 0.0 && there().count() < elements.len() {
        return Vec::new();
    }
    let mut list: Vec<(String, f64)> = pool
        .forms
        .iter()
        .zip(state.activities.iter().zip(&state.amounts))
        .filter(|(form, (activity, amount))| {
            form.species.phase != Some(Phase::Gas) && **amount <= 0.0 && **activity > 0.0
        })
        .map(|(form, (activity, _))| (form.label(), activity.log10()))
        .collect();
    list.sort_by(|a, b| b.1.total_cmp(&a.1));
    list.truncate(MOST_NEAR);
    list
}
