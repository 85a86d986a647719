//! Are random solutions solved whose oxidation states follow from a potential or from one another, and are the answers right?
//!
//! Solutions are drawn from a seed: one or two of six elements, each in one or two states between 1e-8 and 1 mol/kg (evenly in
//! its logarithm), acid or base, made neutral with sodium or nitrate, 25 °C; half of them at a stated potential between −1
//! and 1.6 V. Checked from the outside: the element is all there, charges add up, and every dissolved state gives its element
//! the same chemical potential, reckoned from the Gibbs energies of the table: within 1e-6 decades at a stated potential,
//! within 2e-3 where states are in balance with one another, as the solver states. Where nothing sets a potential the answer
//! must say so. Neglected: that the energies may be wrong; this is about arithmetic.
//!
//! `cargo bench -p prep --bench couples -- --count 20000 --write` writes `benches/COUPLES.md`; without arguments a few hundred
//! are run as a quick look. `--seed N` begins elsewhere, `--each` lists every failure.

mod draws;

use chem::aqueous::{RedoxKind, master_gibbs, redox};
use chem::formula::to_f64;
use chem::{Element, Formula};
use draws::Draws;
use prep::ask::{SolutionOptions, solution};
use prep::outcome::SolutionAnswer;
use std::collections::BTreeMap;
use std::fmt::Write as _;
use std::io::Write as _;
use std::path::Path;
use std::time::Instant;

/// Elements with states that they are put in as.
const ELEMENTS: [(&str, &[&str]); 6] = [
    ("Fe", &["Fe^2+", "Fe^3+"]),
    ("Cu", &["Cu^2+", "Cu^+"]),
    ("Mn", &["Mn^2+", "MnO4^-"]),
    ("I", &["I^-", "IO3^-"]),
    ("Co", &["Co^2+", "Co^3+"]),
    ("Ag", &["Ag^+"]),
];
/// Largest error of a balance.
const BALANCE: f64 = 1e-10;
/// Largest difference between chemical potentials, decades: at a stated potential, and in balance.
const LAW: (f64, f64) = (1e-6, 2e-3);
/// ln 10 · R · 298.15 K, J/mol; charge of a mole of electrons, C/mol.
const DECADE: f64 = std::f64::consts::LN_10 * 8.314_462_618 * 298.15;
const FARADAY: f64 = 96_485.332_12;

fn molality(draws: &mut Draws) -> f64 {
    10f64.powf(-8.0 * draws.next())
}

/// A solution as text.
#[derive(Debug)]
struct Drawn {
    elements: Vec<&'static str>,
    substances: Vec<(&'static str, f64)>,
    volts: Option<f64>,
}

fn draw(draws: &mut Draws) -> Drawn {
    let mut elements = Vec::new();
    let mut put: BTreeMap<&'static str, f64> = BTreeMap::new();
    for _ in 0..=draws.below(2) {
        let (element, states) = ELEMENTS[draws.below(ELEMENTS.len())];
        if elements.contains(&element) {
            continue;
        }
        elements.push(element);
        put.insert(states[draws.below(states.len())], molality(draws));
        put.insert(states[draws.below(states.len())], molality(draws));
    }
    let reagent = ["HNO3", "NaOH", ""][draws.below(3)];
    if !reagent.is_empty() {
        put.insert(reagent, molality(draws));
    }
    let charge = |ion: &str| Formula::parse(ion).map_or(0.0, |formula| f64::from(formula.charge()));
    let net: f64 = put.iter().map(|(ion, molality)| charge(ion) * molality).sum();
    put.insert(if net > 0.0 { "NO3^-" } else { "Na^+" }, net.abs());
    let volts = (draws.next() < 0.5).then(|| -1.0 + 2.6 * draws.next());
    Drawn { elements, substances: put.into_iter().filter(|(_, m)| *m > 0.0).collect(), volts }
}

fn ask(drawn: &Drawn) -> Result<SolutionAnswer, String> {
    let texts: Vec<String> = drawn.substances.iter().map(|(ion, m)| format!("{ion} {m:e} mol/kg")).collect();
    let substances: Vec<&str> = texts.iter().map(String::as_str).collect();
    let elements = drawn.elements.join(", ");
    let potential = drawn.volts.map(|volts| format!("{volts:.4} V"));
    let options = SolutionOptions {
        substances: &substances,
        redox: Some(&elements),
        couples: Some("equilibrated"),
        potential: potential.as_deref(),
        quick: true,
        ..SolutionOptions::default()
    };
    solution(&options).map_err(|findings| findings.iter().map(|f| f.message.clone()).collect::<Vec<_>>().join("; "))
}

fn count(formula: &Formula, symbol: &str) -> f64 {
    Element::from_symbol(symbol).map_or(0.0, |element| to_f64(formula.count(element)))
}

/// What is wrong with an answer, if anything.
fn check(drawn: &Drawn, answer: &SolutionAnswer) -> Result<(), String> {
    if answer.status != "solved" {
        return Err(format!("status {}", answer.status));
    }
    if !(answer.residual < BALANCE && answer.charge.abs() < BALANCE) {
        return Err(format!("balance: {:.1e}, charge {:.1e}", answer.residual, answer.charge));
    }
    let couples = answer.couples.as_ref().ok_or("no states are told")?;
    for symbol in &drawn.elements {
        let put = |(ion, molality): &(&str, f64)| Formula::parse(ion).map_or(0.0, |f| count(&f, symbol) * molality);
        let total: f64 = drawn.substances.iter().map(put).sum();
        let held: f64 = couples.states.iter().filter(|s| s.element == **symbol).map(|s| s.amount).sum();
        if (held / total - 1.0).abs() > BALANCE {
            return Err(format!("element: {symbol} {held:e} of {total:e}"));
        }
        let potentials = chemical_potentials(symbol, answer, couples.potential);
        let (low, high) = potentials.iter().fold((f64::MAX, f64::MIN), |(a, b), x| (a.min(*x), b.max(*x)));
        let most = if drawn.volts.is_some() { LAW.0 } else { LAW.1 };
        if potentials.len() > 1 && high - low > most {
            return Err(format!("law: {symbol} {:.1e} decades", high - low));
        }
    }
    Ok(())
}

/// The chemical potential of an element in each of its dissolved states that the table knows, decades.
fn chemical_potentials(symbol: &str, answer: &SolutionAnswer, volts: f64) -> Vec<f64> {
    let of_water = master_gibbs("H2O").unwrap_or(f64::NAN) + DECADE * answer.water_activity.log10();
    let of_hydrogen = -DECADE * answer.ph.value;
    let dissolved = redox().iter().filter(|row| matches!(row.kind, RedoxKind::Master | RedoxKind::Species));
    let states = dissolved.filter(|row| count(&row.formula, symbol) > 0.0);
    states
        .filter_map(|row| {
            let name = row.formula.to_string();
            let told = answer.species.iter().find(|s| s.species == name && s.molality > 1e-120)?;
            let own = row.gibbs + DECADE * (told.molality * told.activity_coefficient).log10();
            let oxygen = count(&row.formula, "O");
            let hydrogen = count(&row.formula, "H") - 2.0 * oxygen;
            let electrons = hydrogen - f64::from(row.formula.charge());
            let rest = oxygen * of_water + hydrogen * of_hydrogen - electrons * FARADAY * volts;
            Some((own - rest) / count(&row.formula, symbol) / DECADE)
        })
        .collect()
}

/// What may be said where nothing sets a potential.
fn without_potential(drawn: &Drawn, why: &str) -> bool {
    drawn.volts.is_none() && why.contains("potential")
}

fn main() {
    let arguments: Vec<String> = std::env::args().collect();
    let after = |name: &str| {
        let place = arguments.iter().position(|a| a == name)?;
        arguments.get(place + 1)?.parse::<u64>().ok()
    };
    let (count, seed) = (after("--count").unwrap_or(400), after("--seed").unwrap_or(1));
    let begin = Instant::now();
    let (mut held, mut balanced, mut two_solids, mut none) = (0, 0, 0, 0);
    let mut failures: Vec<(u64, String)> = Vec::new();
    for number in seed..seed + count {
        let drawn = draw(&mut Draws(number));
        let answer = std::panic::catch_unwind(|| ask(&drawn)).unwrap_or_else(|_| Err("PANIC".to_owned()));
        match answer.and_then(|answer| check(&drawn, &answer).map(|()| answer)) {
            Ok(_) if drawn.volts.is_some() => held += 1,
            Ok(answer) => {
                balanced += 1;
                let solids = answer.couples.iter().flat_map(|c| &c.states).filter(|s| s.state.ends_with("(s)"));
                two_solids += u64::from(solids.count() > 1);
            }
            Err(why) if without_potential(&drawn, &why) => none += 1,
            Err(why) => failures.push((number, why)),
        }
    }
    let mut text = String::from(
        "# Are random solutions solved whose oxidation states are in balance?\n\nWritten by `cargo bench -p prep --bench couples -- --count 20000 --write`; what is drawn and what is checked stands at the\nhead of that file.\n\n| | |\n|---|---|\n",
    );
    let _ = writeln!(text, "| seeds | {seed} and up |");
    let _ = writeln!(text, "| solutions | {count} |");
    let _ = writeln!(text, "| at a stated potential, solved and verified | {held} |");
    let _ = writeln!(text, "| in balance with one another, solved and verified | {balanced} |");
    let _ = writeln!(text, "| of these with two solid states and more | {two_solids} |");
    let _ = writeln!(text, "| nothing sets a potential, and the answer says so | {none} |");
    let _ = writeln!(text, "| failed | {} |", failures.len());
    let mean = 1e3 * begin.elapsed().as_secs_f64() / count as f64;
    let _ = writeln!(text, "| mean time from text to answer, checks included | {mean:.2} ms |");
    let mut kinds: BTreeMap<&str, usize> = BTreeMap::new();
    for (_, why) in &failures {
        *kinds.entry(why.split(':').next().unwrap_or("")).or_default() += 1;
    }
    if !kinds.is_empty() {
        let _ = writeln!(text, "\nNot solved or not verified, by what is said of it:\n");
        for (kind, count) in kinds {
            let _ = writeln!(text, "- {count} × {kind}");
        }
    }
    let mut out = std::io::stdout();
    let _ = out.write_all(text.as_bytes());
    if arguments.iter().any(|a| a == "--each") {
        for (number, why) in &failures {
            let _ = writeln!(out, "{number} {why} {:?}", draw(&mut Draws(*number)));
        }
    }
    if arguments.iter().any(|a| a == "--write") {
        let path = Path::new(env!("CARGO_MANIFEST_DIR")).join("../benches/COUPLES.md");
        if let Err(error) = std::fs::write(&path, text) {
            let _ = writeln!(out, "{}: {error}", path.display());
        }
    }
}
