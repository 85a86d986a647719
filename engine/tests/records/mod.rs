//! The tables of heat capacity polynomials as candidates of an equilibrium, for tests and benches.
//!
//! One candidate for each row of formula, phase and form. Elements are numbered in the order asked for. What the tables hold
//! is their own business; ions are left out.
//!
//! Source: `data/thermo.tsv`.
#![allow(dead_code)]

use chem::Formula;
use engine::equilibrium::{Candidate, Phase, System};
use engine::thermochemistry::fit::{Fit, Interval};
use std::collections::BTreeMap;

/// One form of a substance.
#[derive(Clone, Debug)]
pub struct Record {
    /// Formula, phase and form, `Fe(s,γ)`.
    pub name: String,
    pub atoms: BTreeMap<String, f64>,
    pub phase: Phase,
    pub fit: Fit,
    /// kg/mol
    pub molar_mass: f64,
}

/// All records.
pub fn all() -> Vec<Record> {
    let path = concat!(env!("CARGO_MANIFEST_DIR"), "/../data/thermo.tsv");
    let text = std::fs::read_to_string(path).expect("the table is there");
    let mut records: Vec<Record> = Vec::new();
    for line in text.lines().filter(|line| !line.starts_with('#')).skip(1) {
        let cells: Vec<&str> = line.split('\t').collect();
        let name = if cells[2].is_empty() {
            format!("{}({})", cells[0], cells[1])
        } else {
            format!("{}({},{})", cells[0], cells[1], cells[2])
        };
        let number = |index: usize| cells[index].parse::<f64>().expect("a number");
        let part = Interval {
            low_k: number(4),
            high_k: number(5),
            a: std::array::from_fn(|i| number(6 + i)),
            b: [number(13), number(14)],
        };
        if let Some(last) = records.last_mut().filter(|record| record.name == name) {
            last.fit.intervals.push(part);
            continue;
        }
        let formula = Formula::parse(cells[0]).expect("a formula");
        if formula.charge() != 0 {
            continue;
        }
        records.push(Record {
            name,
            atoms: formula.elements().map(|(e, count)| (e.symbol().to_owned(), count)).collect(),
            phase: if cells[1] == "g" { Phase::Gas } else { Phase::Condensed },
            fit: Fit { intervals: vec![part] },
            molar_mass: formula.molar_mass().map_or(f64::NAN, |mass| mass.value * 1e-3),
        });
    }
    records
}

/// Those that are made of these elements alone, and as a system.
pub fn system(records: &[Record], elements: &[&str]) -> (Vec<Record>, System) {
    let chosen: Vec<Record> =
        records.iter().filter(|r| r.atoms.keys().all(|e| elements.contains(&e.as_str()))).cloned().collect();
    let candidates = chosen
        .iter()
        .map(|record| Candidate {
            phase: record.phase,
            atoms: elements.iter().map(|e| record.atoms.get(*e).copied().unwrap_or(0.0)).collect(),
            fit: record.fit.clone(),
        })
        .collect();
    let system = System::new(elements.len(), candidates).expect("a system");
    (chosen, system)
}

/// Amounts of elements in so many moles of each record.
pub fn amounts(records: &[Record], elements: &[&str], lots: &[(&str, f64)]) -> Vec<f64> {
    let mut sum = vec![0.0; elements.len()];
    for (name, amount) in lots {
        let record = records.iter().find(|r| r.name == *name).unwrap_or_else(|| panic!("{name} is in the table"));
        for (element, total) in elements.iter().zip(&mut sum) {
            *total += amount * record.atoms.get(*element).copied().unwrap_or(0.0);
        }
    }
    sum
}
