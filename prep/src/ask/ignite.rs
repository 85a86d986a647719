//! What does this solid become when it is heated?
//!
//! The stable phases from 25 to 1400 °C in the surroundings, the steps of loss on the way, the mass of each level, and what
//! the residue may hold at one temperature, in the words of the preparation file.
//!
//! Source: [`crate::heating`].

use super::equilibrium::lot;
use super::pointed;
use super::reading::{Quantities, remark, unplaced};
use crate::equilibria::molar_mass;
use crate::heating::{
    From, Oven, Path, Point, Step, Surroundings, chain, equation, may_hold, path, residues, without_values,
};
use crate::outcome::{Finding, HeatedPoint, IgniteAnswer, LossStep, MassLevel, Severity, Stage};
use chem::{Dimension, Quantity, Species, Value};

/// K at 0 °C.
const ZERO: f64 = 273.15;
/// Temperatures looked at if not given, °C.
const RANGE: (f64, f64) = (25.0, 1400.0);
/// Temperature to which tables at 25 °C and polynomials are asked at most, °C.
const HOTTEST: f64 = 2000.0;

/// How a lot is heated.
#[derive(Clone, Copy, Debug, Default)]
pub struct IgniteOptions<'a> {
    /// In what; air if not given.
    pub surroundings: Option<&'a str>,
    /// Lowest temperature; 25 °C if not given.
    pub from: Option<&'a str>,
    /// Highest temperature; 1400 °C if not given.
    pub to: Option<&'a str>,
    /// Temperature at which the residue is asked about.
    pub at: Option<&'a str>,
    /// What was left there, a mass or a share of the lot.
    pub found: Option<&'a str>,
}

/// What does a solid become when it is heated?
///
/// # Errors
/// Findings that point at what cannot be read, and refusals.
///
/// ```
/// use prep::ask::{IgniteOptions, ignite};
/// let answer = ignite(&["CaC2O4·H2O(s) 10 g".to_owned()], &IgniteOptions::default()).map_err(|f| format!("{f:?}"))?;
/// // Molar masses 146.11, 128.10, 100.09, 56.08 g/mol.
/// let levels = answer.chain.iter().map(|step| step.mass);
/// assert!(levels.zip([87.67, 68.50, 38.38]).all(|(found, known)| (found - known).abs() < 0.01));
/// # Ok::<(), String>(())
/// ```
pub fn ignite(lots: &[String], options: &IgniteOptions<'_>) -> Result<IgniteAnswer, Vec<Finding>> {
    answer(lots, options).map_err(|list| list.into_iter().map(unplaced).collect())
}

/// The question in numbers; temperatures in °C, masses in g.
struct Asked {
    parts: Vec<(Species, f64)>,
    mass: f64,
    surroundings: Surroundings,
    range: (f64, f64),
    at: Option<f64>,
    found: Option<(f64, Option<f64>)>,
}

fn read(lots: &[String], options: &IgniteOptions<'_>) -> Result<Asked, Vec<Finding>> {
    let mut reader = Quantities::default();
    let parts: Vec<(Species, f64)> = lots.iter().flat_map(|text| lot(&mut reader, text)).collect();
    if lots.is_empty() {
        reader.slip("missing-field", "", "nothing is heated".to_owned(), "name a solid, `CaC2O4·H2O(s) 10 g`");
    }
    let surroundings = options.surroundings.map_or(Some(Surroundings::Air), |word| {
        let found = Surroundings::from_word(word);
        if found.is_none() {
            let words: Vec<&str> = Surroundings::WORDS.iter().map(|(word, _)| *word).collect();
            reader.slip(
                "unknown-word",
                word,
                format!("`{word}` is not known here"),
                &format!("one of {}", words.join(", ")),
            );
        }
        found
    });
    let mut celsius = |what: &str, text: Option<&str>| {
        text.and_then(|text| reader.temperature(what, text)).map(|kelvin| kelvin - ZERO)
    };
    let from = celsius("the lowest temperature", options.from).unwrap_or(RANGE.0);
    let to = celsius("the highest temperature", options.to).unwrap_or(RANGE.1);
    let at = celsius("the temperature", options.at);
    if from >= to || to > HOTTEST || from < 0.0 {
        let hint = "give two temperatures from 0 °C to 2000 °C, the lower first";
        reader.slip(
            "out-of-range",
            options.to.or(options.from).unwrap_or(""),
            format!("from {from:.0} °C to {to:.0} °C"),
            hint,
        );
    }
    let mass: f64 = parts.iter().map(|(species, n)| n * molar_mass(&species.formula) * 1e3).sum();
    let found = options.found.and_then(|text| left(&mut reader, text, mass));
    if options.found.is_some() && at.is_none() && reader.errors.is_empty() {
        let hint = "give the temperature of the furnace, `--at \"600 °C\"`";
        reader.slip(
            "missing-field",
            options.found.unwrap_or(""),
            "at which temperature was that left?".to_owned(),
            hint,
        );
    }
    match surroundings.filter(|_| reader.errors.is_empty()) {
        Some(surroundings) => Ok(Asked { parts, mass, surroundings, range: (from, to), at, found }),
        None => Err(reader.errors),
    }
}

fn answer(lots: &[String], options: &IgniteOptions<'_>) -> Result<IgniteAnswer, Vec<Finding>> {
    let text = lots.join(", ");
    let Asked { parts, mass, surroundings, range: (from, to), at, found } = read(lots, options)?;
    let all: Vec<Species> = parts.iter().map(|(species, _)| species.clone()).collect();
    let mut met = all.clone();
    met.extend(Species::parse("CO2(g)").ok().filter(|_| surroundings.word() == "carbon dioxide"));
    let mut findings = crate::screen::products(&met, &[], true, &text)?;
    crate::screen::together(&parts, &text)?;
    let nothing = || {
        let hint = "check the formula; no table here has anything of these elements";
        vec![pointed("no-thermochemical-values", &text, 0, text.len(), format!("nothing is known of {text}"), hint)]
    };
    let mut oven = Oven::new(&parts, surroundings).ok_or_else(nothing)?;
    let path = path(&parts, surroundings, (from + ZERO, to + ZERO)).ok_or_else(nothing)?;
    let whole: f64 = parts.iter().map(|(_, amount)| amount).sum();
    let there = path.points.iter().flat_map(|point| {
        let solids = point.phases.iter().map(|(place, share)| (*place, share * whole));
        solids.chain(point.gases.iter().copied())
    });
    crate::screen::given(&parts, there.filter_map(|(place, n)| Some((path.species.get(place)?, n))), &text)?;
    let steps: Vec<Vec<Step>> = all.iter().map(|solid| chain(solid, &oven.pool, surroundings)).collect();
    let stages = stages(&path);
    remarks(&path, &parts, &oven, &mut findings);
    let may_hold = at.map_or_else(Vec::new, |celsius| {
        let point = oven.at(celsius + ZERO);
        may_hold(&point, &oven.species, &steps, celsius + ZERO).iter().map(ToString::to_string).collect()
    });
    let levels = match &all[..] {
        [solid] => residues(solid, &oven.pool)
            .into_iter()
            .map(|(residue, share, uncertainty)| {
                let residue = residue.to_string();
                let stands = standing(&stages, &residue);
                MassLevel { residue, mass: 100.0 * share, mass_uncertainty: 100.0 * uncertainty, stands }
            })
            .collect(),
        _ => Vec::new(),
    };
    Ok(IgniteAnswer {
        lot: parts.iter().map(|(species, amount)| (species.to_string(), *amount)).collect(),
        mass,
        found,
        surroundings: surroundings.word(),
        chain: steps.iter().flat_map(|list| told(list)).collect(),
        levels,
        at,
        may_hold,
        points: path.points.iter().filter(|p| p.solved).map(|point| drawn(point, &path.species)).collect(),
        stages,
        sources: path.sources,
        findings,
    })
}

/// What was left, percent of the lot's mass (g), with its standard uncertainty where it is stated.
fn left(reader: &mut Quantities, text: &str, mass: f64) -> Option<(f64, Option<f64>)> {
    let read = Quantity::parse(text).ok().and_then(|quantity| {
        let scale = match quantity.dimension() {
            Dimension::MASS => 1e5 / mass,
            Dimension::DIMENSIONLESS => 100.0,
            _ => return None,
        };
        match quantity.si() {
            Value::Point { value, standard_uncertainty } if value > 0.0 => {
                Some((scale * value, standard_uncertainty.map(|u| scale * u)))
            }
            _ => None,
        }
    });
    if read.is_none() {
        let hint = "give a mass or a share, `6.85 g` or `68.5 %`";
        reader.slip("bad-quantity", text, format!("what was left is `{text}`"), hint);
    }
    read
}

/// Between which temperatures a residue stands.
fn standing(stages: &[Stage], name: &str) -> Option<(f64, f64)> {
    let own = || stages.iter().filter(|stage| stage.phases.iter().any(|(phase, _)| phase == name));
    Some((own().next()?.from, own().next_back()?.to))
}

fn drawn(point: &Point, species: &[Species]) -> HeatedPoint {
    HeatedPoint {
        celsius: point.kelvin - ZERO,
        mass: 100.0 * point.mass,
        phases: point.phases.iter().map(|(place, share)| (species[*place].to_string(), 100.0 * share)).collect(),
    }
}

/// The stages between the changes.
fn stages(path: &Path) -> Vec<Stage> {
    let points = &path.points;
    let Some(last) = points.len().checked_sub(1) else { return Vec::new() };
    let begins = std::iter::once((points[0].kelvin, 0)).chain(path.changes.iter().map(|(t, _, after)| (*t, *after)));
    let ends = path.changes.iter().map(|(t, before, _)| (*t, *before)).chain([(points[last].kelvin, last)]);
    begins
        .zip(ends)
        .filter(|((_, first), (_, end))| first <= end)
        .map(|((from, first), (to, end))| {
            let middle = &points[first + (end - first) / 2];
            let named = |list: &[(usize, f64)], factor: f64| -> Vec<(String, f64)> {
                list.iter().map(|(place, n)| (path.species[*place].to_string(), factor * n)).collect()
            };
            Stage {
                from: from - ZERO,
                to: to - ZERO,
                phases: named(&middle.phases, 100.0),
                mass: (100.0 * points[first].mass, 100.0 * points[end].mass),
                gases: named(&middle.gases, 1.0),
            }
        })
        .collect()
}

fn told(steps: &[Step]) -> Vec<LossStep> {
    let mut before = 1.0;
    steps
        .iter()
        .map(|step| {
            let loss = before - step.mass;
            before = step.mass;
            LossStep {
                from: step.from.to_string(),
                to: step.to.to_string(),
                equation: equation(step),
                mass: 100.0 * step.mass,
                loss: 100.0 * loss,
                mass_uncertainty: 100.0 * step.mass_uncertainty,
                own_gas: from_words(step.own_gas, step),
                own_gas_celsius: match step.own_gas {
                    From::Above(kelvin) => Some(kelvin - ZERO),
                    _ => None,
                },
                surroundings: step.surroundings.map_or_else(String::new, |from| from_words(from, step)),
            }
        })
        .collect()
}

fn from_words(from: From, step: &Step) -> String {
    match from {
        From::Above(kelvin) => format!("{:.0} °C", kelvin - ZERO),
        From::Always => "any temperature: it only persists".to_owned(),
        From::Never => "not up to 1600 °C".to_owned(),
        From::Unknown => match &without_values(step)[..] {
            [] => "not known: values end before it".to_owned(),
            list => format!("not known: no values of {}", list.join(", ")),
        },
    }
}

fn remarks(path: &Path, lot: &[(Species, f64)], oven: &Oven, findings: &mut Vec<Finding>) {
    let unsolved = path.points.iter().filter(|point| !point.solved).count();
    if unsolved > 0 {
        let message =
            format!("{unsolved} of {} temperatures could not be solved; they are left out", path.points.len());
        findings.push(remark("not-solved", Severity::Warning, message, ""));
    }
    for (species, _) in lot {
        if !oven.pool.forms.iter().any(|form| crate::equilibria::is_of(form, species)) {
            let message =
                format!("{species} itself has no values here: it counts by its elements, as if it were unstable");
            findings.push(remark("no-thermochemical-values", Severity::Note, message, ""));
        }
    }
    if !path.estimated.is_empty() {
        let message = format!("estimated values: {}", path.estimated.join(", "));
        findings.push(remark(
            "estimated-values",
            Severity::Note,
            message,
            "temperatures that hang on them may be tens of degrees off",
        ));
    }
}
