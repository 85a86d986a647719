//! Does a general library find the same equilibria from the same records, and how much longer does it take?
//!
//! Reads problems from standard input, one a line, solves them, and prints a line each:
//!
//! ```text
//! ELEMENTS ; SPECIES AMOUNT, … ; from KELVIN ; tp|hp ; KELVIN ; PASCAL ; only gas|with CONDENSED …
//! STATUS ; KELVIN ; SECONDS ; SPECIES AMOUNT, …
//! ```
//! For `hp` the enthalpy is that of the amounts at the first temperature. Solvers are kept from problem to problem; every
//! problem is solved from nothing. `benches/equilibrium_beside.py` draws the problems, solves them with the other
//! library, compares, and writes `benches/EQUILIBRIUM_BESIDE.md`.
//!
//! Source: none; this is a comparison.

#![allow(clippy::print_stdout)]

#[path = "../tests/records/mod.rs"]
mod records;

use engine::equilibrium::{Hold, Phase, Problem, Solver};
use records::Record;
use std::collections::BTreeMap;
use std::fmt::Write as _;
use std::io::BufRead;
use std::time::Instant;

/// One line, taken apart; `None` where it is no problem.
struct Asked<'a> {
    elements: Vec<&'a str>,
    lots: Vec<(&'a str, f64)>,
    from: f64,
    by_heat: bool,
    kelvin: f64,
    pascal: f64,
    condensed: Vec<&'a str>,
}

fn asked(line: &str) -> Option<Asked<'_>> {
    let cells: Vec<&str> = line.split(';').map(str::trim).collect();
    let lot = |text: &'_ str| -> Option<(usize, f64)> {
        let at = text.rfind(' ')?;
        Some((at, text[at..].trim().parse().ok()?))
    };
    let mut lots = Vec::new();
    for text in cells.get(1)?.split(", ") {
        let (end, amount) = lot(text)?;
        lots.push((text[..end].trim(), amount));
    }
    Some(Asked {
        elements: cells.first()?.split(' ').collect(),
        lots,
        from: cells.get(2)?.parse().ok()?,
        by_heat: *cells.get(3)? == "hp",
        kelvin: cells.get(4)?.parse().ok()?,
        pascal: cells.get(5)?.parse().ok()?,
        condensed: cells.get(6)?.split(' ').filter(|word| !word.is_empty()).collect(),
    })
}

fn main() {
    let all = records::all();
    let mut kept: BTreeMap<String, (Vec<Record>, Solver)> = BTreeMap::new();
    for line in std::io::stdin().lock().lines().map_while(Result::ok) {
        let Some(asked) = asked(&line) else { continue };
        let key = format!("{:?} {:?}", asked.elements, asked.condensed);
        let (chosen, solver) = kept.entry(key).or_insert_with(|| {
            let allowed: Vec<Record> = all
                .iter()
                .filter(|r| r.phase == Phase::Gas || asked.condensed.contains(&r.name.as_str()))
                .cloned()
                .collect();
            let (chosen, system) = records::system(&allowed, &asked.elements);
            (chosen, Solver::new(system))
        });
        let amounts = records::amounts(chosen, &asked.elements, &asked.lots);
        let heat = |(name, amount): &(&str, f64)| {
            chosen.iter().find(|r| r.name == *name).map_or(f64::NAN, |r| amount * r.fit.enthalpy(asked.from))
        };
        let hold = if asked.by_heat {
            Hold::EnthalpyPressure(asked.lots.iter().map(heat).sum(), asked.pascal)
        } else {
            Hold::TemperaturePressure(asked.kelvin, asked.pascal)
        };
        let problem = Problem { elements: &amounts, hold };
        let begun = Instant::now();
        let answer = solver.solve(&problem);
        let seconds = begun.elapsed().as_secs_f64();
        let mut text = format!("{:?} ; {:.12e} ; {seconds:.3e} ;", answer.status, answer.temperature);
        for (r, n) in chosen.iter().zip(&answer.amounts) {
            let _ = write!(text, " {} {n:.15e},", r.name);
        }
        println!("{text}");
    }
}
