//! What does a lot turn into when it is heated?
//!
//! Two answers, because neither alone is what happens in a furnace. [`path`]: the state of least Gibbs energy at every
//! temperature, in the surroundings, which may exchange gas without limit: what stands in the end. `chain`: what each solid
//! gives up step by step, water first, then the smallest loss, each step with the temperature from which its own gas reaches
//! 1 atm and from which it may go in the surroundings: what is met on the way. Equilibrium says what may happen, not when;
//! oxalates are never stable and still keep for years.
//!
//! Surroundings with a flow of gas hold a thousand moles of it for each mole of the lot, so that what is given off does not
//! change them; their own reactions (nitric oxide at 1400 °C) are taken off by the same state without the lot.
//!
//! Nitrogen of the air makes no nitrate: at equilibrium it would below some 60 °C, and nobody has seen it.
//!
//! Neglected: solid solutions, melts and non-stoichiometry (a mixed oxide stands longer than is said here), the crucible, and
//! everything that takes time.
//!
//! Source: [`engine::equilibrium`]; the rule "water first, then the smallest loss" is common practice in thermogravimetry.

mod chain;
mod offer;
mod residue;

pub(crate) use chain::{From, Step, chain, equation, residues, without_values};
pub(crate) use offer::{WORD, fill, stands};
pub(crate) use residue::may_hold;

use crate::equilibria::{Choice, Pool, molar_mass};
use chem::{Phase, Species};
use engine::equilibrium::{Equilibrium, Hold, Status};

/// 1 atm, Pa.
pub(crate) const ATMOSPHERE: f64 = 101_325.0;
/// Moles of flowing gas for a mole of the lot.
const FLOW: f64 = 1000.0;
/// Moles of carbon for each mole of atoms of the lot, over carbon.
const CARBON: f64 = 10.0;
/// Temperatures between points of a path, K.
const STRIDE: f64 = 10.0;
/// To how many K the change from one set of phases to another is followed.
const SHARP: f64 = 0.5;
/// Share of the lot's mass from which a phase counts.
const COUNTS: f64 = 1e-4;
/// Amount of gas for a mole of the lot from which it is told.
const TOLD: f64 = 5e-3;

/// In what a lot is heated.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) enum Surroundings {
    /// Moist air.
    Air,
    /// Covered, in what it gives off, at 1 atm.
    OwnGas,
    /// A flowing gas.
    Flow(&'static str),
    /// Covered, with carbon in excess.
    Carbon,
}

impl Surroundings {
    /// The words.
    pub const WORDS: [(&'static str, Self); 8] = [
        ("air", Self::Air),
        ("own gas", Self::OwnGas),
        ("carbon dioxide", Self::Flow("CO2(g)")),
        ("nitrogen", Self::Flow("N2(g)")),
        ("argon", Self::Flow("Ar(g)")),
        ("hydrogen", Self::Flow("H2(g)")),
        ("carbon monoxide", Self::Flow("CO(g)")),
        ("carbon", Self::Carbon),
    ];

    /// The surroundings of a word.
    pub fn from_word(word: &str) -> Option<Self> {
        let plain = word.trim().to_lowercase();
        let plain = plain.strip_prefix("over ").unwrap_or(&plain);
        let formulas = [
            ("co2", "carbon dioxide"),
            ("n2", "nitrogen"),
            ("ar", "argon"),
            ("h2", "hydrogen"),
            ("co", "carbon monoxide"),
        ];
        let plain = formulas.iter().find(|(formula, _)| *formula == plain).map_or(plain, |(_, word)| word);
        Self::WORDS.iter().find(|(known, _)| *known == plain).map(|(_, found)| *found)
    }

    /// The word.
    pub fn word(self) -> &'static str {
        Self::WORDS.iter().find(|(_, known)| *known == self).map_or("air", |(word, _)| word)
    }

    /// Gases with their mole fractions; none where the lot makes its own.
    pub fn gases(self) -> Vec<(Species, f64)> {
        let list: Vec<(&str, f64)> = match self {
            Self::Air => {
                vec![("N2(g)", 0.773), ("O2(g)", 0.2074), ("Ar(g)", 0.0092), ("CO2(g)", 0.0004), ("H2O(g)", 0.01)]
            }
            Self::Flow(gas) => vec![(gas, 1.0)],
            Self::OwnGas | Self::Carbon => Vec::new(),
        };
        list.into_iter().filter_map(|(gas, share)| Some((Species::parse(gas).ok()?, share))).collect()
    }
}

/// One temperature.
#[derive(Clone, Debug, Default)]
pub(crate) struct Point {
    /// K
    pub kelvin: f64,
    /// Condensed phases: place among the species of the path, share of the lot's mass.
    pub phases: Vec<(usize, f64)>,
    /// Mass of all condensed phases, share of the lot's.
    pub mass: f64,
    /// Gases given off: place among the species, mol for the lot; negative if taken up.
    pub gases: Vec<(usize, f64)>,
    /// Whether the state was solved.
    pub solved: bool,
}

/// Stable states from cold to hot.
pub(crate) struct Path {
    /// Names that the points number.
    pub species: Vec<Species>,
    /// Points from cold to hot.
    pub points: Vec<Point>,
    /// Temperatures at which the phases change, K, with the places of the points before and after.
    pub changes: Vec<(f64, usize, usize)>,
    /// Sources of what is there.
    pub sources: Vec<String>,
    /// What stands with estimated values.
    pub estimated: Vec<String>,
}

/// States of a lot in surroundings, again and again.
pub(crate) struct Oven {
    /// The candidates.
    pub pool: Pool,
    /// The species of the candidates, each once.
    pub species: Vec<Species>,
    place: Vec<usize>,
    with_lot: Vec<f64>,
    alone: Option<Vec<f64>>,
    mass: f64,
    amount: f64,
    carbon: bool,
    state: Equilibrium,
    blank: Equilibrium,
}

impl Oven {
    /// A lot (mol) in its surroundings; `None` where no table holds anything of it.
    pub fn new(lot: &[(Species, f64)], surroundings: Surroundings) -> Option<Self> {
        let amount: f64 = lot.iter().map(|(_, n)| n).sum();
        let mut all: Vec<(Species, f64)> = lot.to_vec();
        let gases: Vec<(Species, f64)> =
            surroundings.gases().into_iter().map(|(gas, share)| (gas, share * FLOW * amount)).collect();
        all.extend(gases.iter().cloned());
        let graphite = Species::parse("C(s)").ok()?;
        let carbon = surroundings == Surroundings::Carbon;
        let mut choice = Choice::default();
        if carbon {
            let atoms: f64 =
                lot.iter().map(|(s, n)| n * s.formula.elements().map(|(_, count)| count).sum::<f64>()).sum();
            all.push((graphite, CARBON * atoms));
        } else if surroundings == Surroundings::Flow("CO(g)") {
            // Soot from the flowing gas is not what the lot becomes.
            choice.without.push(graphite);
        } else if surroundings == Surroundings::Air && !lot.iter().any(|(species, _)| holds_nitrogen(species)) {
            choice.no_solid_nitrogen = true;
        }
        let pool = Pool::over(all.iter().map(|(species, _)| species).collect::<Vec<_>>(), &choice)?;
        let mut species: Vec<Species> = Vec::new();
        let mut place = Vec::new();
        for form in &pool.forms {
            let known = species.iter().position(|other| *other == form.species);
            place.push(known.unwrap_or(species.len()));
            if known.is_none() {
                species.push(form.species.clone());
            }
        }
        Some(Self {
            with_lot: pool.amounts(&all),
            alone: (!gases.is_empty()).then(|| pool.amounts(&gases)),
            mass: lot.iter().map(|(s, n)| n * molar_mass(&s.formula)).sum(),
            amount,
            carbon,
            pool,
            species,
            place,
            state: Equilibrium::default(),
            blank: Equilibrium::default(),
        })
    }

    /// The state at a temperature, K.
    pub fn at(&mut self, kelvin: f64) -> Point {
        let hold = Hold::TemperaturePressure(kelvin, ATMOSPHERE);
        if let Some(alone) = &self.alone {
            self.pool.follow(alone, hold, true, &mut self.blank);
        }
        self.pool.follow(&self.with_lot, hold, false, &mut self.state);
        let mut point = Point { kelvin, solved: self.state.status == Status::Solved, ..Point::default() };
        let mut sums = vec![0.0; self.species.len()];
        for (candidate, amount) in self.state.amounts.iter().enumerate() {
            let before =
                if self.alone.is_some() { self.blank.amounts.get(candidate).copied().unwrap_or(0.0) } else { 0.0 };
            sums[self.place[candidate]] += amount - before;
        }
        for (place, (species, amount)) in self.species.iter().zip(&sums).enumerate() {
            let is_bed = self.carbon && species.formula.text() == "C" && species.phase != Some(Phase::Gas);
            if species.phase == Some(Phase::Gas) {
                if amount.abs() > TOLD * self.amount {
                    point.gases.push((place, *amount));
                }
            } else if !is_bed && *amount > 0.0 {
                let share = amount * molar_mass(&species.formula) / self.mass;
                point.mass += share;
                if share > COUNTS {
                    point.phases.push((place, share));
                }
            }
        }
        point.phases.sort_by(|a, b| b.1.total_cmp(&a.1));
        point.gases.sort_by(|a, b| b.1.abs().total_cmp(&a.1.abs()));
        point
    }
}

fn holds_nitrogen(species: &Species) -> bool {
    species.formula.elements().any(|(element, _)| element.symbol() == "N")
}

/// Whether two points hold the same phases.
fn alike(one: &Point, other: &Point) -> bool {
    one.phases.len() == other.phases.len()
        && one.phases.iter().all(|(place, _)| other.phases.iter().any(|(known, _)| known == place))
}

/// Stable states of a lot between two temperatures, K.
pub(crate) fn path(lot: &[(Species, f64)], surroundings: Surroundings, (low, high): (f64, f64)) -> Option<Path> {
    let mut oven = Oven::new(lot, surroundings)?;
    let mut points: Vec<Point> = Vec::new();
    let mut changes = Vec::new();
    let steps = ((high - low) / STRIDE).ceil().clamp(1.0, 400.0);
    for step in 0..=steps as usize {
        let kelvin = (low + step as f64 * (high - low) / steps).min(high);
        let next = oven.at(kelvin);
        if let Some(last) = points.last().filter(|last| last.solved && next.solved && !alike(last, &next)) {
            let between = followed(&mut oven, last.clone(), next.clone(), points.len(), &mut changes);
            points.extend(between);
        }
        points.push(next);
    }
    let there: Vec<bool> = (0..oven.species.len())
        .map(|place| points.iter().any(|p| p.phases.iter().chain(&p.gases).any(|(known, _)| *known == place)))
        .collect();
    let (mut sources, mut estimated) = (Vec::new(), Vec::new());
    for (form, place) in oven.pool.forms.iter().zip(&oven.place).filter(|(_, place)| there[**place]) {
        for source in &form.sources {
            let table = source.split(" (record: ").next().unwrap_or(source).to_owned();
            if !sources.contains(&table) {
                sources.push(table);
            }
        }
        let name = oven.species[*place].to_string();
        if !form.estimated.is_empty() && !estimated.contains(&name) {
            estimated.push(name);
        }
    }
    Some(Path { species: oven.species, points, changes, sources, estimated })
}

/// The changes of phases between two points, each followed to its temperature; the points found stand between.
fn followed(
    oven: &mut Oven,
    first: Point,
    last: Point,
    place: usize,
    changes: &mut Vec<(f64, usize, usize)>,
) -> Vec<Point> {
    let mut found: Vec<Point> = Vec::new();
    let mut cool = first;
    // More than three sets of phases in ten kelvins are told as one change.
    for _ in 0..3 {
        let (mut below, mut above) = (cool.clone(), last.clone());
        while above.kelvin - below.kelvin > SHARP {
            let middle = oven.at(0.5 * (below.kelvin + above.kelvin));
            if alike(&middle, &cool) { below = middle } else { above = middle }
        }
        let before = place + found.len();
        changes.push((0.5 * (below.kelvin + above.kelvin), before, before + 1));
        let is_last = alike(&above, &last);
        cool = above.clone();
        found.extend([below, above]);
        if is_last {
            break;
        }
    }
    found
}
