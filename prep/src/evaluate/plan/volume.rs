//! How full is the vessel of a step?
//!
//! The contents are what the step takes, all together, before anything reacts: charges by volume as stated, by their
//! density where the supply has one, and the rest by bands of volume per gram (`data/volumes.tsv`), one draw of each band
//! for all that it applies to. Steps that filter are about the vessel that takes the liquor and the washings. A vessel
//! may be filled to a part of its capacity that depends on what goes on in it (`data/filling.tsv`).
//!
//! Neglected: that volumes do not add up exactly, that precipitates swell, how fast gas comes off, wash portions at a
//! decantation.

use super::super::compile::{ChargeRecord, Compiled, LotKind};
use super::super::draws::{at_least, figure};
use super::super::findings::finding;
use super::super::interval;
use super::super::table::SpeciesTable;
use super::resolve;
use crate::action::{Heat, Parting};
use crate::model::{Action, By, Knowledge, Preparation, Span, Step};
use crate::outcome::{FilledVessel, Finding, Interval, Severity};
use chem::{Dimension, Phase, Quantity};
use engine::account::hypercube::latin_hypercube;
use engine::ledger::{Contents, Lot, State, Workspace, normal_cdf};
use std::sync::LazyLock;

const BANDS: &str = include_str!("../../../../data/volumes.tsv");
const RULES: &str = include_str!("../../../../data/filling.tsv");

/// Kinds of matter that take up room, by their words in the table.
const MATTER: [&str; 5] = ["water", "liquid", "dissolved", "solid", "powder"];
const WATER: usize = 0;
const LIQUID: usize = 1;
const DISSOLVED: usize = 2;
const SOLID: usize = 3;
const POWDER: usize = 4;

/// Temperature from which a wet step is said to boil, K.
const BOILS: f64 = 368.15;
/// Mass of gas below which a step is said to give none, kg.
const LEAST_GAS: f64 = 1e-5;

/// Volume of a kilogram of each matter, m³: low and high.
static VOLUMES: LazyLock<[(f64, f64); MATTER.len()]> = LazyLock::new(|| {
    let rows = chem::table::rows(BANDS);
    MATTER.map(|word| {
        let row = rows.iter().find(|row| row.cell("matter") == word);
        let number = |column| row.and_then(|row| row.number(column)).unwrap_or(f64::NAN) * 1e-3;
        (number("low_ml_per_g"), number("high_ml_per_g"))
    })
});

/// Situation in a vessel: word of the table, how a page says it.
const SITUATIONS: [(&str, &str); 5] = [
    ("quiet", "room to stir"),
    ("slurry", "a slurry is stirred"),
    ("boils", "it boils"),
    ("gas", "gas comes off"),
    ("dry gas", "a powder gives off gas"),
];

/// The rule of a situation: words, fraction, source.
fn rule(situation: &str) -> (&'static str, f64, &'static str) {
    let words = SITUATIONS.iter().find(|(word, _)| *word == situation).map_or("", |(_, words)| words);
    let rows = chem::table::rows(RULES);
    let row = rows.iter().find(|row| row.cell("situation") == situation);
    let fraction = row.and_then(|row| row.number("fraction")).unwrap_or(1.0);
    let source = row.and_then(|row| chem::SourceKey::from_text(row.cell("source")));
    (words, fraction, source.unwrap_or(chem::SourceKey::ESTIMATED).as_str())
}

/// What is in a vessel in one draw: volume known as such, m³, and masses of each matter, kg.
#[derive(Clone, Copy, Default)]
struct Held {
    volume: f64,
    masses: [f64; MATTER.len()],
}

/// Contents of the vessels of all steps that name one.
#[derive(Clone)]
pub(super) struct Vessels<'a> {
    preparation: &'a Preparation,
    steps: Vec<(usize, Vec<Held>)>,
}

impl<'a> Vessels<'a> {
    pub fn new(preparation: &'a Preparation) -> Self {
        let named = |i: &usize| {
            let vessel = preparation.steps[*i].vessel.as_ref();
            vessel.is_some_and(|v| preparation.vessels.iter().any(|known| known.name.value == v.value))
        };
        let steps = (0..preparation.steps.len()).filter(named).map(|i| (i, Vec::new())).collect();
        Self { preparation, steps }
    }

    /// Adds one draw.
    pub fn add(&mut self, model: &Compiled, table: &SpeciesTable, room: &Workspace<f64>) {
        for (i, column) in &mut self.steps {
            let step = &self.preparation.steps[*i];
            let dry = !step.action.value.is_wet() && !step.action.value.parts_liquor();
            let look =
                Look { preparation: self.preparation, model, table, room, solid: if dry { POWDER } else { SOLID } };
            let receives = step.action.value == Action::Filter;
            let liquor = model.lots.iter().position(|l| l.step == *i && l.kind == LotKind::Liquor);
            let held = match liquor.filter(|_| receives) {
                Some(liquor) => look.lot(liquor, Held::default()),
                None => look.taken(*i, step),
            };
            column.push(held);
        }
    }

    /// Adds the draws of the same vessels in another.
    pub fn append(&mut self, other: Self) {
        self.steps.iter_mut().zip(other.steps).for_each(|((_, column), (_, more))| column.extend(more));
    }

    /// The vessel of a step, with what limits its filling.
    pub fn told(
        &self,
        i: usize,
        everything: &Compiled,
        table: &SpeciesTable,
        gas: Gas,
        weights: &[f64],
    ) -> Option<FilledVessel> {
        let (_, column) = self.steps.iter().find(|(step, _)| *step == i)?;
        let step = &self.preparation.steps[i];
        let name = &step.vessel.as_ref()?.value;
        let vessel = self.preparation.vessels.iter().find(|v| v.name.value == *name)?;
        let bands = latin_hypercube(column.len(), MATTER.len(), 11);
        let volumes: Vec<f64> = column
            .iter()
            .zip(bands.chunks(MATTER.len()))
            .map(|(held, point)| {
                let parts = held.masses.iter().zip(VOLUMES.iter()).zip(point);
                let sum: f64 = parts.map(|((mass, (low, high)), z)| mass * (low + (high - low) * normal_cdf(*z))).sum();
                1e6 * (held.volume + sum)
            })
            .collect();
        let situation = situation(step, everything, table, i, gas);
        let (situation, fraction, source) = rule(situation);
        Some(FilledVessel {
            vessel: name.clone(),
            volume: interval(&volumes, weights, "mL", Some("all that the step takes, together")),
            capacity: vessel.capacity.map(|c| c * 1e6),
            situation,
            fraction,
            source,
        })
    }
}

/// Gases that leave a step, kg, at the median.
#[derive(Clone, Copy, Default)]
pub(super) struct Gas {
    /// Steam.
    pub steam: f64,
    /// All others.
    pub other: f64,
}

/// One draw of one model.
struct Look<'a> {
    preparation: &'a Preparation,
    model: &'a Compiled,
    table: &'a SpeciesTable,
    room: &'a Workspace<f64>,
    /// What solids count as.
    solid: usize,
}

impl Look<'_> {
    fn taken(&self, i: usize, step: &Step) -> Held {
        let mut held = Held::default();
        for take in &step.take {
            if let Some(lot) = self.model.lot(&take.source.value) {
                held = self.lot(lot, held);
            } else if let Some(charge) =
                self.model.charges.iter().find(|c| c.step == i && !c.wash && c.name == take.source.value)
            {
                let volume = take.stated.as_ref().filter(|s| s.by == By::Volume).map(|s| s.figure.central());
                held = self.charge(charge, volume, held);
            }
        }
        held
    }

    fn matter(&self, species: usize) -> Option<usize> {
        match self.table.state(species) {
            State::Liquid if self.table.is_water(species) => Some(WATER),
            State::Liquid => Some(LIQUID),
            State::Dissolved => Some(DISSOLVED),
            State::Solid => Some(self.solid),
            State::Gas => None,
        }
    }

    fn lot(&self, lot: Lot, mut held: Held) -> Held {
        let Contents { amounts, foreign } = self.room.given(lot);
        for (species, amount) in amounts.iter().enumerate() {
            if let Some(matter) = self.matter(species) {
                held.masses[matter] += amount * self.table.molar_mass(species);
            }
        }
        held.masses[self.solid] += foreign.iter().sum::<f64>();
        held
    }

    fn charge(&self, charge: &ChargeRecord, volume: Option<f64>, mut held: Held) -> Held {
        let mass = resolve(charge.mass, self.room);
        let supply = self.model.supplies.get(charge.supply).copied().flatten();
        let density = supply.and_then(|i| self.preparation.supplies[i].measure.density).map(Knowledge::central);
        if let Some(volume) = volume.or(density.map(|density| mass / density)) {
            held.volume += volume;
            return held;
        }
        let Some(kilogram) = self.model.ledger.supplies.get(charge.supply) else { return held };
        let assay = resolve(kilogram.assay, self.room);
        let mut left = assay;
        for (species, stick) in &kilogram.parts {
            let part = left * resolve(*stick, self.room);
            left -= part;
            if let Some(matter) = self.matter(*species) {
                held.masses[matter] += mass * part;
            }
        }
        held.masses[self.solid] += mass * (1.0 - assay).max(0.0);
        held
    }
}

fn situation(step: &Step, everything: &Compiled, table: &SpeciesTable, i: usize, gas: Gas) -> &'static str {
    let manner = step.action.value.manner();
    if manner.parting == Parting::SolidsAndSolution {
        return "quiet";
    }
    if manner.heat == Heat::Fire && gas.steam + gas.other > LEAST_GAS {
        return "dry gas";
    }
    if manner.heat != Heat::None {
        return "quiet";
    }
    if gas.other > LEAST_GAS {
        return "gas";
    }
    let kelvin = step.temperature.as_deref().and_then(|text| Quantity::parse_as(text, Dimension::TEMPERATURE).ok());
    let hot = kelvin.and_then(|q| q.si().upper_bound()).is_some_and(|kelvin| kelvin >= BOILS);
    if step.action.value == Action::Evaporate || (hot && step.action.value.is_wet()) {
        return "boils";
    }
    let main = everything.lots.iter().find(|l| l.step == i && l.kind == LotKind::Solid);
    let solid = |lot: &super::super::compile::LotRecord| {
        lot.contents.iter().any(|s| table.species(*s).phase == Some(Phase::Solid))
    };
    if step.action.value.is_wet() && main.is_some_and(solid) { "slurry" } else { "quiet" }
}

/// What is to be said of a vessel.
pub(super) fn warning(step: &Step, filled: &FilledVessel) -> Option<Finding> {
    let capacity = filled.capacity?;
    let span: Option<&Span> = step.vessel.as_ref().map(|v| &v.span);
    let Interval { low, high, .. } = filled.volume;
    let (room, allowed) = (filled.fraction * capacity, format!("{:.0} %", 100.0 * filled.fraction));
    let (name, vessel, volume) = (&step.name.value, &filled.vessel, format!("{} to {} mL", figure(low), figure(high)));
    let needed = at_least(high / filled.fraction);
    let hint = format!("take a vessel of {needed} mL or more, or work in portions");
    let source = if filled.source == "estimated" { "an estimate" } else { "common practice" };
    let because = format!("{}: at most {allowed} full ({source})", filled.situation);
    let (code, severity, message) = if low > capacity {
        let message = format!("step `{name}` overflows `{vessel}`: {volume} into {} mL", figure(capacity));
        ("vessel-overflows", Severity::Warning, message)
    } else if low > room {
        let message =
            format!("`{vessel}` is too full in step `{name}`: {volume} in {} mL; {because}", figure(capacity));
        ("vessel-too-full", Severity::Warning, message)
    } else if high > room {
        let message =
            format!("`{vessel}` may be too full in step `{name}`: {volume} in {} mL; {because}", figure(capacity));
        ("vessel-may-be-too-full", Severity::Note, message)
    } else {
        return None;
    };
    Some(finding(code, severity, span, message, &hint))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn tables_are_read() {
        assert!(VOLUMES.iter().all(|(low, high)| low < high && *high < 0.01), "{VOLUMES:?}");
        for (situation, words) in SITUATIONS {
            let (told, fraction, source) = rule(situation);
            assert!(told == words && fraction > 0.0 && fraction < 1.0 && !source.is_empty());
        }
        assert_eq!(chem::table::rows(RULES).len(), SITUATIONS.len());
        assert_eq!(chem::table::rows(BANDS).len(), MATTER.len());
    }

    /// Densities of solutions at 20 °C, CRC Handbook (from memory): 10 % NaCl 1.0707, 26 % NaCl 1.1972, 10 % Na2CO3 1.1029,
    /// 40 % sucrose 1.1765, 18 % CuSO4 1.2 g/mL; of solids: CuSO4·5H2O 2.28, Na2CO3·10H2O 1.46, CuO 6.3 g/mL.
    #[test]
    fn the_bands_hold_known_densities() {
        let volume = |matter: usize, end: usize| if end == 0 { VOLUMES[matter].0 } else { VOLUMES[matter].1 } * 1e3;
        for (share, density) in [(0.10, 1.0707), (0.26, 1.1972), (0.10, 1.1029), (0.40, 1.1765), (0.18, 1.2)] {
            let of = |end: usize| (1.0 - share) * volume(WATER, end) + share * volume(DISSOLVED, end);
            assert!(of(0) < 1.0 / density * 1.02 && 1.0 / density < of(1), "{share}: {density}");
        }
        for density in [2.28, 1.5, 4.0] {
            assert!(volume(SOLID, 0) < 1.0 / density && 1.0 / density < volume(SOLID, 1), "{density}");
        }
    }
}
