//! How do Gibbs energies of reactions lie to each other over temperature?
//!
//! Each reaction is reckoned for one mole of the gas that all of them share, oxygen if it is there, at the pressures given (1
//! bar else), every species in the form that is stable; a line ends where the values of a species end. Below another line a
//! reaction of it can drive the other one backwards: what lies lower takes the gas. Crossings are found on the lines
//! themselves; their uncertainty is that of both Gibbs energies over the difference of the slopes, which counts what the two
//! share twice and is rather too wide.
//!
//! Source: H. J. T. Ellingham, J. Soc. Chem. Ind. 63 (1944) 125; F. D. Richardson, J. H. E. Jeffes, J. Iron Steel Inst. 160
//! (1948) 261.

use chem::reaction::Balance;
use chem::{Equation, Phase, Species};

use super::pointed;
use super::reaction_heat::{Candidate, candidates, state_at};
use super::reaction_options::{ReactionOptions, Wishes};
use crate::outcome::{Finding, GibbsCrossing, GibbsLine, GibbsLines};

/// Temperatures of the lines where none are asked for, K.
const RANGE: (f64, f64) = (298.15, 1873.15);
/// Points of a line.
const POINTS: usize = 64;
/// To how many K an end or a change of form is followed.
const SHARP: f64 = 0.05;
/// Gases of which lines may count a mole where no phase is written, the first that all share.
const GASES: [&str; 8] = ["O2", "S2", "Cl2", "CO2", "H2O", "SO2", "SO3", "N2"];
/// Metals with their oxides, carbon and hydrogen; no phases, so that melts and vapours are taken where they stand.
const PAIRS: [&str; 15] = [
    "4 Cu + O2 -> 2 Cu2O",
    "2 Pb + O2 -> 2 PbO",
    "2 Ni + O2 -> 2 NiO",
    "2 Co + O2 -> 2 CoO",
    "Sn + O2 -> SnO2",
    "1.894 Fe + O2 -> 2 Fe0.947O",
    "2 Zn + O2 -> 2 ZnO",
    "4 Cr + 3 O2 -> 2 Cr2O3",
    "2 Mn + O2 -> 2 MnO",
    "Si + O2 -> SiO2",
    "4 Al + 3 O2 -> 2 Al2O3",
    "2 Mg + O2 -> 2 MgO",
    "C + O2 -> CO2",
    "2 C + O2 -> 2 CO",
    "2 H2 + O2 -> 2 H2O",
];

/// A balanced reaction with its species.
struct Balanced {
    equation: String,
    terms: Vec<(Species, f64)>,
}

fn named(equation: &Equation, coefficients: &[i64]) -> Balanced {
    let written = equation.with_coefficients(coefficients);
    Balanced {
        equation: written.map_or_else(|| equation.to_string(), |balanced| balanced.to_string()),
        terms: equation.terms().zip(coefficients).map(|(term, n)| (term.species.clone(), *n as f64)).collect(),
    }
}

/// A reaction to be held against another one; it must balance.
fn read(text: &str) -> Result<Balanced, Vec<Finding>> {
    let equation = Equation::parse(text)
        .map_err(|error| vec![pointed("bad-equation", text, error.offset, error.length, error.to_string(), "")])?;
    let side = |terms: &[chem::Term]| terms.iter().map(|term| term.species.clone()).collect::<Vec<_>>();
    crate::screen::products(&side(&equation.left), &side(&equation.right), false, text)?;
    match equation.balance() {
        Balance::One(coefficients) => Ok(named(&equation, &coefficients)),
        _ => {
            let message = format!("`{text}` has no single set of coefficients");
            let mut finding = pointed("bad-equation", text, 0, text.len(), message, "ask for it alone to see why");
            finding.severity = crate::outcome::Severity::Error;
            Err(vec![finding])
        }
    }
}

/// The Gibbs energy of a reaction over temperature, and of those it is held against; `None` where it has no values.
pub(super) fn lines(
    (equation, coefficients): (&Equation, &[i64]),
    options: &ReactionOptions<'_>,
    wishes: &Wishes,
) -> Result<Option<GibbsLines>, Vec<Finding>> {
    let mut all = vec![named(equation, coefficients)];
    for text in options.beside {
        all.push(read(text)?);
    }
    if options.pairs {
        for text in PAIRS {
            let pair = read(text)?;
            // What was asked for is not drawn twice.
            if !all.iter().any(|known| alike(known, &pair)) {
                all.push(pair);
            }
        }
    }
    let shared = shared(&all);
    if all.len() > 1 && shared.is_none() {
        let text = options.beside.first().map_or("", String::as_str);
        let message = "these reactions share no gas of which each could count a mole".to_owned();
        let hint = "hold oxidations against oxidations, sulfides against sulfides";
        return Err(vec![pointed("no-shared-gas", text, 0, text.len(), message, hint)]);
    }
    let range = wishes.table.unwrap_or(RANGE);
    let found: Vec<GibbsLine> = all.iter().filter_map(|one| line(one, shared.as_ref(), wishes, range)).collect();
    if found.is_empty() {
        return Ok(None);
    }
    let crossings = crossings(&found);
    Ok(Some(GibbsLines { per: shared.map(|gas| format!("{}(g)", gas.formula)), lines: found, crossings }))
}

fn alike(one: &Balanced, other: &Balanced) -> bool {
    one.terms.len() == other.terms.len()
        && one.terms.iter().all(|(species, n)| {
            other
                .terms
                .iter()
                .any(|(known, m)| known.formula.same_substance(&species.formula) && (*n < 0.0) == (*m < 0.0))
        })
}

/// The gas that all reactions share.
fn shared(all: &[Balanced]) -> Option<Species> {
    let first = all.first()?;
    let is_gas = |species: &Species| {
        let known = GASES.iter().any(|gas| species.formula.text() == *gas);
        species.phase == Some(Phase::Gas) || (species.phase.is_none() && known)
    };
    let everywhere = |species: &Species| {
        all.iter().all(|one| {
            one.terms
                .iter()
                .any(|(known, n)| *n != 0.0 && is_gas(known) && known.formula.same_substance(&species.formula))
        })
    };
    let mut candidates: Vec<&Species> =
        first.terms.iter().map(|(species, _)| species).filter(|species| everywhere(species)).collect();
    // One reaction with two gases and no oxygen is told as it is balanced.
    if all.len() == 1 && candidates.len() > 1 && !candidates.iter().any(|gas| gas.formula.text() == "O2") {
        return None;
    }
    let rank = |species: &Species| GASES.iter().position(|gas| species.formula.text() == *gas).unwrap_or(GASES.len());
    candidates.sort_by_key(|species| rank(species));
    candidates.first().map(|species| (*species).clone())
}

/// `Zn → ZnO`: what turns into what beside the shared gas.
fn label(one: &Balanced, shared: Option<&Species>) -> String {
    let Some(gas) = shared else { return one.equation.clone() };
    let side = |sign: f64| {
        let own = one.terms.iter().filter(|(s, n)| n * sign > 0.0 && !s.formula.same_substance(&gas.formula));
        own.map(|(species, _)| species.formula.to_string()).collect::<Vec<_>>().join(" + ")
    };
    format!("{} \u{2192} {}", side(-1.0), side(1.0))
}

/// One line; `None` where a species has no values in the range.
fn line(one: &Balanced, shared: Option<&Species>, wishes: &Wishes, (low, high): (f64, f64)) -> Option<GibbsLine> {
    let list = candidates(&one.terms, wishes, &mut Vec::new())?;
    let of_gas = |gas: &Species| one.terms.iter().find(|(s, _)| s.formula.same_substance(&gas.formula));
    let count = shared.and_then(of_gas).map_or(1.0, |(_, n)| n.abs());
    let at = |kelvin: f64| {
        let inside = list.iter().all(|c| c.at(kelvin).is_some_and(|choice| !choice.extended));
        let state = state_at(&list, wishes, kelvin).filter(|_| inside)?;
        let (value, uncertainty) = (state.driving_gibbs_energy, state.gibbs_energy.uncertainty);
        value.is_finite().then_some((kelvin, 1e-3 * value / count, 1e-3 * uncertainty / count))
    };
    let forms = |kelvin: f64| list.iter().map(|c| c.at(kelvin).map(|choice| choice.form.label())).collect::<Vec<_>>();
    let grid = |step: usize| low + (high - low) * step as f64 / (POINTS - 1) as f64;
    let mut points: Vec<(f64, f64, f64)> = Vec::new();
    let mut changes = Vec::new();
    for step in 0..POINTS {
        let kelvin = grid(step);
        if step > 0 && forms(grid(step - 1)) != forms(kelvin) {
            let (turn, taken) = turn(&forms, &list, (grid(step - 1), kelvin));
            points.extend([at(turn - SHARP), at(turn + SHARP)].into_iter().flatten());
            changes.extend(taken.into_iter().map(|form| (turn, form)));
        }
        points.extend(at(kelvin));
    }
    // A single point is no line.
    (points.len() > 2).then(|| GibbsLine { label: label(one, shared), equation: one.equation.clone(), points, changes })
}

/// Where the forms change between two temperatures, and which are taken then.
fn turn(
    forms: &dyn Fn(f64) -> Vec<Option<String>>,
    list: &[Candidate],
    (mut low, mut high): (f64, f64),
) -> (f64, Vec<String>) {
    let before = forms(low);
    while high - low > SHARP {
        let middle = 0.5 * (low + high);
        if forms(middle) == before { low = middle } else { high = middle }
    }
    let after = forms(high);
    let taken = list.iter().zip(before.iter().zip(&after)).filter(|(_, (was, is))| was != is);
    (0.5 * (low + high), taken.filter_map(|(_, (_, is))| is.clone()).collect())
}

/// Value and standard uncertainty of a line at a temperature, between its points.
fn on(line: &GibbsLine, kelvin: f64) -> Option<(f64, f64)> {
    let pair = line.points.windows(2).find(|pair| (pair[0].0..=pair[1].0).contains(&kelvin))?;
    let share = (kelvin - pair[0].0) / (pair[1].0 - pair[0].0).max(1e-9);
    Some((pair[0].1 + share * (pair[1].1 - pair[0].1), pair[0].2 + share * (pair[1].2 - pair[0].2)))
}

/// All crossings, from cold to hot.
fn crossings(lines: &[GibbsLine]) -> Vec<GibbsCrossing> {
    let mut found = Vec::new();
    for (first, one) in lines.iter().enumerate() {
        for (second, other) in lines.iter().enumerate().skip(first + 1) {
            found.extend(between(one, other).into_iter().map(|(kelvin, standard_uncertainty, value, falls)| {
                let (cold, hot) = if falls { (second, first) } else { (first, second) };
                GibbsCrossing { kelvin, standard_uncertainty, value, cold, hot }
            }));
        }
    }
    found.sort_by(|a, b| a.kelvin.total_cmp(&b.kelvin));
    found
}

/// Crossings of two lines: K, its uncertainty, kJ, whether the first is lower beyond it.
fn between(one: &GibbsLine, other: &GibbsLine) -> Vec<(f64, f64, f64, bool)> {
    let mut grid: Vec<f64> = one.points.iter().chain(&other.points).map(|point| point.0).collect();
    grid.sort_by(f64::total_cmp);
    grid.dedup_by(|a, b| (*a - *b).abs() < 1e-9);
    let apart: Vec<(f64, f64, f64)> = grid
        .iter()
        .filter_map(|t| {
            let ((a, u), (b, v)) = (on(one, *t)?, on(other, *t)?);
            Some((*t, a - b, u.hypot(v)))
        })
        .collect();
    let mut found = Vec::new();
    for pair in apart.windows(2) {
        let ((t, a, u), (s, b, _)) = (pair[0], pair[1]);
        if a == b || (a > 0.0) == (b > 0.0) {
            continue;
        }
        let kelvin = t + (s - t) * a / (a - b);
        let slope = (b - a) / (s - t);
        let value = on(one, kelvin).map_or(f64::NAN, |(value, _)| value);
        found.push((kelvin, (u / slope).abs(), value, b < 0.0));
    }
    found
}
