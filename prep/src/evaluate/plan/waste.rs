//! What goes to waste, how much of what is in a litre, what takes it out, and what the jar's label says?
//!
//! Each jar of the file with the lots it takes, and each liquor that goes nowhere, at the medians of the plan. Limits are
//! the user's own. Hazard statements by the rules for mixtures, incompatible pairs as in the screen. Neglected: rinsings.
//!
//! Source: `crate::aqueous::waste`, `chem::hazard`.

use super::super::compile::{Compiled, LotKind};
use super::super::table::SpeciesTable;
use crate::aqueous::step::Bath;
use crate::aqueous::waste::{Treated, treat};
use crate::model::Preparation;
use crate::outcome::{WasteStream, WasteTreatment};
use crate::screen::{Classed, Ingredient, class};
use chem::hazard::{Place, classes, pairs};
use chem::{Formula, Phase};
use engine::ledger::Workspace;
use std::collections::BTreeSet;

/// Temperature of a waste jar, K.
const ROOM: f64 = 298.15;
/// Least of an ion that is named, mg/L.
const NAMED: f64 = 0.05;
/// Share of the mass from which a substance counts for the label.
const COUNTS: f64 = 1e-4;

/// The waste of a preparation.
pub(super) fn waste(preparation: &Preparation, table: &SpeciesTable, compiled: &Compiled) -> Vec<WasteStream> {
    let mut room = Workspace::<f64>::new(&compiled.ledger);
    compiled.ledger.run(&vec![0.0; compiled.ledger.unknowns.len()], &mut room);
    let all: Vec<(String, f64)> = preparation.waste.iter().flat_map(|jar| jar.limits.iter().cloned()).collect();
    let mut streams = Vec::new();
    let mut taken: BTreeSet<usize> = BTreeSet::new();
    for jar in &preparation.waste {
        let lots: Vec<usize> = jar.takes.iter().filter_map(|name| compiled.lot(&name.value)).collect();
        taken.extend(&lots);
        if !lots.is_empty() {
            streams.push(stream(&jar.name.value, &lots, &jar.limits, table, compiled, &room));
        }
    }
    for (lot, record) in compiled.lots.iter().enumerate() {
        if record.kind == LotKind::Liquor && !record.taken && !taken.contains(&lot) {
            streams.push(stream(&record.name, &[lot], &all, table, compiled, &room));
        }
    }
    streams
}

fn stream(
    name: &str,
    lots: &[usize],
    limits: &[(String, f64)],
    table: &SpeciesTable,
    compiled: &Compiled,
    room: &Workspace<f64>,
) -> WasteStream {
    let mut bath = Bath { substances: Vec::new(), written: Vec::new(), water: 0.0, temperature: ROOM, dose: None };
    let mut mass = 0.0;
    for lot in lots {
        for (index, amount) in room.given(*lot).amounts.iter().enumerate().filter(|(_, amount)| **amount > 0.0) {
            let species = table.species(index);
            mass += amount * table.molar_mass(index);
            if table.is_water(index) {
                bath.water += amount * table.molar_mass(index);
            } else if species.phase != Some(Phase::Gas) {
                let solid = !matches!(species.phase, Some(Phase::Aqueous | Phase::Liquid));
                match bath.substances.iter_mut().find(|(f, _, s)| *s == solid && f.same_substance(&species.formula)) {
                    Some((_, sum, _)) => *sum += amount,
                    None => bath.substances.push((species.formula.clone(), *amount, solid)),
                }
            }
        }
    }
    let treated = treat(&bath, limits);
    let (told, never) = (hazards(&bath, mass), never(&bath, mass));
    let contents = treated.as_ref().map_or(Vec::new(), |treated| with_limits(&treated.contents, limits));
    let label = label(name, treated.as_deref().ok(), &contents, &told, &never);
    WasteStream {
        name: name.to_owned(),
        lots: lots.iter().map(|lot| compiled.lots[*lot].name.clone()).collect(),
        volume: bath.water / 0.997,
        ph: treated.as_ref().ok().map(|treated| treated.ph),
        within: treated.as_ref().is_ok_and(|treated| treated.within),
        contents,
        treatment: treated.as_ref().ok().and_then(|treated| treatment(treated, limits)),
        label,
        never,
        unknown: treated.err(),
    }
}

fn with_limits(list: &[(String, f64)], limits: &[(String, f64)]) -> Vec<(String, f64, Option<f64>)> {
    let limit = |name: &str| limits.iter().find(|(own, _)| own == name).map(|(_, limit)| *limit);
    let named = list.iter().filter(|(name, amount)| *amount >= NAMED || limit(name).is_some());
    named.map(|(name, amount)| (name.clone(), *amount, limit(name))).collect()
}

fn treatment(treated: &Treated, limits: &[(String, f64)]) -> Option<WasteTreatment> {
    let found = treated.treatment.as_ref()?;
    let molar = |formula: &Formula| formula.molar_mass().map_or(f64::NAN, |molar| molar.value);
    Some(WasteTreatment {
        reagent: found.reagent.to_string(),
        grams: found.amount * molar(&found.reagent),
        grams_at_most: (found.amount + found.more) * molar(&found.reagent),
        to_ph: found.to_ph,
        solids: found.solids.iter().map(|(formula, amount)| (formula.to_string(), amount * molar(formula))).collect(),
        gas: found.gas,
        heat: found.heat * 1e-3,
        left: with_limits(&found.left, limits),
    })
}

fn share(formula: &Formula, amount: f64, mass: f64) -> f64 {
    1e-3 * amount * formula.molar_mass().map_or(0.0, |molar| molar.value) / mass.max(f64::MIN_POSITIVE)
}

/// What is in it, classed as one mixture.
fn hazards(bath: &Bath, mass: f64) -> Classed {
    let percent = |formula: &Formula, amount: f64| 100.0 * share(formula, amount, mass);
    let held = bath.substances.iter().map(|(formula, amount, _)| (formula, percent(formula, *amount)));
    let mut list: Vec<Ingredient> = held
        .filter(|(_, percent)| *percent >= 100.0 * COUNTS)
        .map(|(formula, percent)| Ingredient::of(formula, percent))
        .collect();
    list.push(Ingredient::of(&Formula::water(), 100.0 * bath.water / mass.max(f64::MIN_POSITIVE)));
    class(&list, true)
}

/// What must not come to it.
fn never(bath: &Bath, mass: f64) -> Vec<(String, &'static str)> {
    let counting = bath.substances.iter().filter(|(formula, amount, _)| share(formula, *amount, mass) > COUNTS);
    let own: BTreeSet<_> = counting
        .flat_map(|(formula, amount, solid)| {
            let phase = if *solid { Phase::Solid } else { Phase::Aqueous };
            classes(formula, Some(phase), share(formula, *amount, mass))
        })
        .collect();
    let mut list: Vec<(String, &'static str)> = Vec::new();
    for pair in pairs().iter().filter(|pair| pair.matters(Place::Waste)) {
        let other = match (own.contains(&pair.one), own.contains(&pair.other)) {
            (true, false) => pair.other,
            (false, true) => pair.one,
            _ => continue,
        };
        if !list.iter().any(|(word, _)| word == other.word()) {
            list.push((other.word().to_owned(), pair.reason));
        }
    }
    list
}

/// The label: what it is, what is in it, hazards, what never, and a line for date and name.
fn label(
    name: &str,
    treated: Option<&Treated>,
    contents: &[(String, f64, Option<f64>)],
    hazards: &Classed,
    never: &[(String, &'static str)],
) -> String {
    let mut parts = vec![format!("WASTE: {name} (in water)")];
    if let Some(treated) = treated {
        parts.push(format!("pH {:.1}", treated.ph));
    }
    let amount = |mg: f64| if mg >= 1e3 { format!("{:.1} g/L", mg * 1e-3) } else { format!("{mg:.1} mg/L") };
    let list: Vec<String> = contents.iter().map(|(ion, mg, _)| format!("{ion} {}", amount(*mg))).collect();
    if !list.is_empty() {
        parts.push(format!("contains {}", list.join(", ")));
    }
    parts.extend(hazards.statements.iter().map(|s| format!("{} {}", s.code, s.phrase.trim_end_matches('.'))));
    parts.extend(hazards.remarks.iter().map(|remark| crate::screen::capital(remark)));
    if !never.is_empty() {
        let words: Vec<&str> = never.iter().map(|(word, _)| word.as_str()).collect();
        parts.push(format!("never add: {}", words.join(", ")));
    }
    parts.push("date ________, name ________".to_owned());
    format!("{}.", parts.join(". "))
}
