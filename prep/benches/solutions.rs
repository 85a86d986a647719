//! Are random solutions solved, are the answers right, and how fast?
//!
//! Solutions are drawn from a seed: some of the ions of the tables, each between 1e-12 and 6 mol/kg (evenly in its
//! logarithm), made neutral with sodium or chloride, acid or base added, solids allowed, aged or not allowed, 0 to 100 °C,
//! now and then under carbon dioxide. Drawn again are those whose balance of charge would need more than 6 mol/kg of one
//! ion, and those outside of pH −1 to 15. Each answer is checked from the outside: the balance of every master and of
//! charge, the law of mass action of every species, and that no allowed solid is supersaturated. What is neglected: that
//! constants may be wrong; this is about arithmetic.
//!
//! `cargo bench -p prep --bench solutions -- --count 100000 --write` writes `benches/AQUEOUS.md`; without arguments a few
//! thousand are run as a quick look. `--seed N` begins elsewhere, `--each` lists every failure.

mod draws;

use chem::aqueous::{DissolvedSpecies, Model, solids, species};
use draws::Draws;
use engine::aqueous::constants::log_k;
use engine::aqueous::dose::{Mixture, Reagent, curve};
use engine::aqueous::network::{Activity, Dissolved, Network, Phase};
use engine::aqueous::speciate::{Solver, Status};
use prep::ask::{SolutionOptions, solution};
use prep::outcome::SolutionAnswer;
use std::collections::BTreeMap;
use std::fmt::Write as _;
use std::io::Write as _;
use std::path::Path;
use std::time::Instant;

const CATIONS: [&str; 17] = [
    "K^+", "Li^+", "NH4^+", "Mg^2+", "Ca^2+", "Sr^2+", "Ba^2+", "Mn^2+", "Fe^2+", "Fe^3+", "Co^2+", "Ni^2+", "Cu^2+",
    "Zn^2+", "Ag^+", "Al^3+", "Pb^2+",
];
const ANIONS: [&str; 14] = [
    "Br^-",
    "I^-",
    "F^-",
    "NO3^-",
    "SO4^2-",
    "SO3^2-",
    "CO3^2-",
    "PO4^3-",
    "C2O4^2-",
    "CH3COO^-",
    "C6H5O7^3-",
    "C4H4O6^2-",
    "HCOO^-",
    "H3BO3",
];
/// Strongest solution of one ion, mol/kg.
const STRONGEST: f64 = 6.0;
/// Largest error of a balance, and of a law of mass action in decades.
const BALANCE: f64 = 1e-10;
const LAW: f64 = 1e-6;

fn molality(draws: &mut Draws) -> f64 {
    let (low, high) = (1e-12f64.ln(), STRONGEST.ln());
    (low + (high - low) * draws.next()).exp()
}

/// A solution as text.
#[derive(Debug)]
struct Drawn {
    substances: Vec<(String, f64)>,
    celsius: f64,
    solids: &'static str,
    gas: Option<String>,
}

fn charge(ion: &str) -> f64 {
    chem::Formula::parse(ion).map_or(0.0, |formula| f64::from(formula.charge()))
}

fn draw(draws: &mut Draws) -> Drawn {
    loop {
        let mut ions: BTreeMap<&str, f64> = BTreeMap::new();
        for _ in 0..=draws.below(4) {
            ions.insert(CATIONS[draws.below(CATIONS.len())], molality(draws));
        }
        for _ in 0..=draws.below(4) {
            ions.insert(ANIONS[draws.below(ANIONS.len())], molality(draws));
        }
        let net: f64 = ions.iter().map(|(ion, molality)| charge(ion) * molality).sum();
        ions.insert(if net > 0.0 { "Cl^-" } else { "Na^+" }, net.abs());
        let reagent = ["HCl", "NaOH", ""][draws.below(3)];
        if !reagent.is_empty() {
            ions.insert(reagent, molality(draws));
        }
        if ions.values().any(|molality| *molality > STRONGEST) {
            continue;
        }
        return Drawn {
            substances: ions.into_iter().filter(|(_, m)| *m > 0.0).map(|(ion, m)| (ion.to_owned(), m)).collect(),
            celsius: 100.0 * draws.next(),
            solids: ["allow", "aged", "none"][draws.below(3)],
            gas: (draws.next() < 0.1).then(|| format!("CO2 {:e} bar", 10f64.powf(-5.0 + 5.0 * draws.next()))),
        };
    }
}

fn ask(drawn: &Drawn) -> Result<SolutionAnswer, String> {
    let texts: Vec<String> = drawn.substances.iter().map(|(ion, m)| format!("{ion} {m:e} mol/kg")).collect();
    let substances: Vec<&str> = texts.iter().map(String::as_str).collect();
    let at = format!("{:.3} °C", drawn.celsius);
    let gases: Vec<&str> = drawn.gas.iter().map(String::as_str).collect();
    let options = SolutionOptions {
        substances: &substances,
        at: Some(&at),
        gases: &gases,
        solids: Some(drawn.solids),
        quick: true,
        ..SolutionOptions::default()
    };
    solution(&options).map_err(|findings| findings.iter().map(|f| f.message.clone()).collect::<Vec<_>>().join("; "))
}

/// What is wrong with an answer, if anything.
fn check(drawn: &Drawn, answer: &SolutionAnswer) -> Result<(), String> {
    if answer.status != "solved" {
        return Err(format!("status {}", answer.status));
    }
    let model = if answer.model.model == "pitzer" { Model::Pitzer } else { Model::Association };
    let printed = |name: &str| chem::Formula::parse(name).map(|f| f.to_string()).unwrap_or_default();
    let table: BTreeMap<String, &DissolvedSpecies> = species(model).map(|s| (printed(s.name), s)).collect();
    let activity: BTreeMap<&str, f64> = answer
        .species
        .iter()
        .map(|s| (s.species.as_str(), s.molality.log10() + s.activity_coefficient.log10()))
        .collect();
    let mut held: BTreeMap<&str, (f64, f64)> = BTreeMap::new();
    let (mut net, mut gross) = (0.0, 0.0);
    let celsius: f64 = format!("{:.3}", drawn.celsius).parse().map_err(|_| "temperature".to_owned())?;
    for one in &answer.species {
        let row = table.get(&one.species).ok_or_else(|| format!("{} is in no table", one.species))?;
        let ion = f64::from(row.formula.charge()) * one.molality;
        (net, gross) = (net + ion, gross + ion.abs());
        let mut law = 0.0;
        for (part, coefficient) in &row.terms {
            let amount = coefficient * one.molality * answer.water;
            let entry = held.entry(part).or_default();
            *entry = (entry.0 + amount, entry.1 + amount.abs());
            law += coefficient
                * if *part == "H2O" { answer.water_activity.log10() } else { activity[printed(part).as_str()] };
        }
        let enthalpy = row.constant.enthalpy.unwrap_or(0.0);
        let constant = log_k(row.constant.log_k, enthalpy, row.constant.analytic.as_ref(), celsius + 273.15);
        // Below 1e-300 a molality is no longer a number that can be told.
        let off = (law + constant - activity[one.species.as_str()]).abs();
        if one.molality > 1e-120 && (off.is_nan() || off >= LAW) {
            return Err(format!(
                "law of {}: off by {:.1e}",
                one.species,
                law + constant - activity[one.species.as_str()]
            ));
        }
    }
    if net.abs() > BALANCE * gross {
        return Err(format!("charge: {:.1e}", net / gross));
    }
    for solid in answer.solids.iter().filter(|s| s.allowed) {
        if solid.amount < 0.0 || solid.saturation_index > LAW || (solid.amount > 0.0 && solid.saturation_index < -LAW) {
            return Err(format!(
                "{} {}: index {:.1e}, {:.1e} mol",
                solid.solid, solid.name, solid.saturation_index, solid.amount
            ));
        }
    }
    masters(drawn, answer, model, held)
}

/// Balance of each master, with solids and gases.
fn masters(
    drawn: &Drawn,
    answer: &SolutionAnswer,
    model: Model,
    mut held: BTreeMap<&str, (f64, f64)>,
) -> Result<(), String> {
    let mut count = |terms: &[(&'static str, f64)], amount: f64| {
        for (part, coefficient) in terms {
            let entry = held.entry(part).or_default();
            *entry = (entry.0 + coefficient * amount, entry.1 + (coefficient * amount).abs());
        }
    };
    for solid in answer.solids.iter().filter(|s| s.amount > 0.0) {
        let row = solids(model).find(|row| row.formula.to_string() == solid.solid && row.label == solid.name);
        count(&row.ok_or("a solid is in no table")?.terms, solid.amount);
    }
    for gas in &answer.gases {
        let row = chem::aqueous::gases(model).find(|row| row.name == gas.gas).ok_or("a gas is in no table")?;
        count(&row.terms, -gas.taken_up);
    }
    for (substance, amount) in &drawn.substances {
        let formula = chem::Formula::parse(substance).map_err(|e| e.to_string())?;
        let parts = chem::aqueous::dissolve(&formula, model).map_err(|e| e.to_string())?;
        count(&parts.masters, -amount);
        count(&[("H^+", 1.0)], -amount * parts.hydrogen);
        count(&[("H^+", 1.0)], amount * f64::from(formula.charge()));
    }
    for (master, (net, gross)) in held.iter().filter(|(master, _)| **master != "H2O") {
        if net.abs() > BALANCE * gross {
            return Err(format!("balance of {master}: {:.1e}", net / gross));
        }
    }
    Ok(())
}

#[derive(Default)]
struct Tally {
    solved: usize,
    pitzer: usize,
    solids: usize,
    redrawn: usize,
    failures: Vec<(u64, String)>,
    slowest: f64,
}

fn run(seed: u64, count: usize) -> Tally {
    let mut tally = Tally::default();
    let mut number = seed;
    while tally.solved + tally.failures.len() < count {
        let drawn = draw(&mut Draws(number));
        let begin = Instant::now();
        let answer = std::panic::catch_unwind(|| ask(&drawn)).unwrap_or_else(|_| Err("PANIC".to_owned()));
        tally.slowest = tally.slowest.max(begin.elapsed().as_secs_f64());
        let verdict = match &answer {
            Ok(answer) if !(-1.0..=15.0).contains(&answer.ph.value) => None,
            Ok(answer) => Some(check(&drawn, answer)),
            Err(why) => Some(Err(why.clone())),
        };
        match (verdict, &answer) {
            (Some(Ok(())), Ok(answer)) => {
                tally.solved += 1;
                tally.pitzer += usize::from(answer.model.model == "pitzer");
                tally.solids += usize::from(answer.solids.iter().any(|s| s.amount > 0.0));
            }
            (Some(Err(why)), _) => tally.failures.push((number, why)),
            _ => tally.redrawn += 1,
        }
        number += 1;
    }
    tally
}

/// A solution of many species, for timing: its network, its mixture and a base.
fn timed_solution() -> Result<(Solver, Mixture, Reagent), String> {
    let masters = ["H^+", "Na^+", "Cl^-", "SO4^2-", "CO3^2-", "Cu^2+", "Zn^2+", "Fe^3+", "NH4^+", "Fe^2+"];
    let number = |name: &str| masters.iter().position(|master| *master == name);
    let known = |name: &str| name == "H2O" || number(name).is_some();
    let parts = |terms: &[(&'static str, f64)]| {
        let parts = terms.iter().filter_map(|(name, c)| Some((number(name)?, *c))).collect::<Vec<_>>();
        (parts, terms.iter().filter(|(name, _)| *name == "H2O").map(|(_, c)| c).sum::<f64>())
    };
    let mut list: Vec<_> =
        species(Model::Association).filter(|s| s.terms.iter().all(|(name, _)| known(name))).collect();
    list.sort_by_key(|s| if s.is_master() { number(s.name) } else { Some(usize::MAX) });
    let dissolved = list.iter().map(|s| {
        let (parts, water) = parts(&s.terms);
        Dissolved { charge: s.formula.charge(), size: s.size, parts, water, log_k: s.constant.log_k }
    });
    let fresh = solids(Model::Association)
        .filter(|s| s.form == Some(chem::aqueous::Form::Fresh) && s.terms.iter().all(|(name, _)| known(name)));
    let phases = fresh.map(|s| {
        let (parts, water) = parts(&s.terms);
        Phase { parts, water, log_k: s.constant.log_k }
    });
    let network =
        Network::new(masters.len(), dissolved.collect(), phases.collect(), Vec::new(), Activity::Charge, 298.15)
            .map_err(|e| e.to_string())?;
    // Copper, zinc and iron as sulfates and chloride, a trace of it ferrous, ammonium sulfate, soda, some acid.
    let totals = vec![0.05, 0.02, 0.08, 0.14, 0.01, 0.05, 0.05, 0.01, 0.04, 1e-6];
    let base = Reagent { parts: vec![(1, 1.0), (0, -1.0)], water: 1.0 };
    Ok((Solver::new(network), Mixture { totals, water: 55.51 }, base))
}

/// Seconds for one, from many.
fn seconds(count: usize, mut work: impl FnMut()) -> f64 {
    work();
    let begin = Instant::now();
    for _ in 0..count {
        work();
    }
    begin.elapsed().as_secs_f64() / count as f64
}

fn timings() -> Result<String, String> {
    let (mut solver, mixture, base) = timed_solution()?;
    let count = solver.network().species().len();
    let without = {
        let network = Network::new(
            solver.network().masters(),
            solver.network().species().to_vec(),
            Vec::new(),
            Vec::new(),
            Activity::Charge,
            298.15,
        );
        let mut solver = Solver::new(network.map_err(|e| e.to_string())?);
        assert_eq!(solver.solve(&mixture.totals, mixture.water, false).status, Status::Solved);
        seconds(2000, || {
            std::hint::black_box(solver.solve(&mixture.totals, mixture.water, false));
        })
    };
    assert_eq!(solver.solve(&mixture.totals, mixture.water, false).status, Status::Solved);
    let cold = seconds(2000, || {
        std::hint::black_box(solver.solve(&mixture.totals, mixture.water, false));
    });
    let amounts: Vec<f64> = (0..300).map(|n| 0.4 * f64::from(n) / 299.0).collect();
    let mut points = Vec::with_capacity(300);
    let titration = seconds(20, || curve(&mut solver, &mixture, &base, &amounts, &mut points));
    let solved = points.iter().filter(|p| p.status == Status::Solved).count();
    let mut text = String::from("| what | time |\n|---|---|\n");
    let _ = writeln!(text, "| speciation of {count} species from nothing, no solids | {:.3} ms |", 1e3 * without);
    let _ =
        writeln!(text, "| the same with {} solids allowed | {:.3} ms |", solver.network().solids().len(), 1e3 * cold);
    let _ = writeln!(
        text,
        "| titration of it, 300 points ({solved} solved), solids on the way | {:.1} ms |",
        1e3 * titration
    );
    let begin = Instant::now();
    let solved = grid(&mut solver, &mixture, &base);
    let _ = writeln!(
        text,
        "| a ground of 100 pH by 100 potentials, each point in full with solids ({solved} solved) | {:.2} s |",
        begin.elapsed().as_secs_f64()
    );
    Ok(text)
}

/// Base along one side, along the other the share of iron that a potential from 0.4 to 1.1 V oxidises (E° 0.771 V, 59.2 mV a
/// decade); how many of the points are solved.
fn grid(solver: &mut Solver, mixture: &Mixture, base: &Reagent) -> usize {
    const SIDE: u32 = 100;
    let amounts: Vec<f64> = (0..SIDE).map(|n| 0.4 * f64::from(n) / f64::from(SIDE - 1)).collect();
    let mut points = Vec::with_capacity(amounts.len());
    let iron = mixture.totals[7] + mixture.totals[9];
    let mut solved = 0;
    for step in 0..SIDE {
        let volts = 0.4 + 0.7 * f64::from(step) / f64::from(SIDE - 1);
        let share = 1.0 / (1.0 + 10f64.powf((0.771 - volts) / 0.0592));
        let mut own = mixture.clone();
        (own.totals[7], own.totals[9]) = (share * iron, (1.0 - share) * iron);
        // Charge is kept: an ion oxidised takes up a hydrogen ion.
        own.totals[0] += mixture.totals[7] - share * iron;
        curve(solver, &own, base, &amounts, &mut points);
        solved += points.iter().filter(|p| p.status == Status::Solved).count();
    }
    solved
}

fn main() {
    let arguments: Vec<String> = std::env::args().collect();
    let after = |name: &str| {
        let place = arguments.iter().position(|a| a == name)?;
        arguments.get(place + 1)?.parse::<u64>().ok()
    };
    let (count, seed) = (after("--count").unwrap_or(3000), after("--seed").unwrap_or(1));
    let begin = Instant::now();
    let tally = run(seed, usize::try_from(count).unwrap_or(usize::MAX));
    let elapsed = begin.elapsed().as_secs_f64();
    let mut text = String::from(
        "# Are random solutions solved, and how fast?\n\nWritten by `cargo bench -p prep --bench solutions -- --count 100000 --write`; what is drawn and what is checked stands at\nthe head of that file. Times are those of one core of the machine at hand, busy with other work beside.\n\n## Robustness\n\n",
    );
    let done = tally.solved + tally.failures.len();
    let _ = writeln!(text, "| | |\n|---|---|");
    let _ = writeln!(text, "| seeds | {seed} and up |");
    let _ = writeln!(text, "| solutions | {done} |");
    let _ = writeln!(
        text,
        "| solved and verified | {} ({:.3} %) |",
        tally.solved,
        100.0 * tally.solved as f64 / done as f64
    );
    let _ = writeln!(text, "| with Pitzer's equations | {} |", tally.pitzer);
    let _ = writeln!(text, "| with solids in them | {} |", tally.solids);
    let _ = writeln!(text, "| drawn again, pH outside of −1 to 15 | {} |", tally.redrawn);
    let panics = tally.failures.iter().filter(|(_, why)| why == "PANIC").count();
    let _ = writeln!(text, "| panics | {panics} |");
    let _ =
        writeln!(text, "| mean time from text to answer, checks included | {:.2} ms |", 1e3 * elapsed / done as f64);
    let _ = writeln!(text, "| slowest answer | {:.1} ms |", 1e3 * tally.slowest);
    let mut kinds: BTreeMap<String, usize> = BTreeMap::new();
    for (_, why) in &tally.failures {
        *kinds
            .entry(why.split([':', '(']).next().unwrap_or("").split(" of ").next().unwrap_or("").to_owned())
            .or_default() += 1;
    }
    if !kinds.is_empty() {
        let _ = writeln!(text, "\nNot solved or not verified, by what is said of it:\n");
        for (kind, count) in kinds {
            let _ = writeln!(text, "- {count} × {kind}");
        }
    }
    let _ = writeln!(text, "\n## Speed\n");
    text += &timings().unwrap_or_else(|why| format!("not measured: {why}\n"));
    let mut out = std::io::stdout();
    let _ = out.write_all(text.as_bytes());
    if arguments.iter().any(|a| a == "--each") {
        for (number, why) in &tally.failures {
            let _ = writeln!(out, "{number} {why} {:?}", draw(&mut Draws(*number)));
        }
    }
    if arguments.iter().any(|a| a == "--write") {
        let path = Path::new(env!("CARGO_MANIFEST_DIR")).join("../benches/AQUEOUS.md");
        if let Err(error) = std::fs::write(&path, text) {
            let _ = writeln!(out, "{}: {error}", path.display());
        }
    }
}
