//! Are random equilibria solved, and how fast?
//!
//! Twenty sets of elements, all candidates that the tables have for them. Amounts are drawn evenly from 0 to 1, or are 1, 2 or 3
//! (so that exact stoichiometry comes up), or, one in eight, a trace down to 1e-9 of the rest; temperature evenly in its
//! logarithm from 300 to 4000 K, pressure from 1e-6 to 1000 bar, or volume from 1 cm³ to 1 m³. A quarter of the problems each
//! holds temperature and pressure, temperature and volume, enthalpy and pressure, energy and volume; an energy is that of the
//! equilibrium at a drawn temperature, in every other case raised by up to 30 kJ per mole of atoms, so that plateaus are met.
//! An answer counts as solved when its residuals, worked out from the amounts alone, and the stability of every left-out phase
//! are within the solver's documented tolerances. The same counts follow for traces down to 1e-12, which are harder.
//!
//! `cargo bench -p engine --bench random_equilibria -- --count 100000 --write` writes `benches/EQUILIBRIUM.md`; without
//! arguments a few hundred are run as a quick look.
//!
//! Source: none; this is a test by force.

#![allow(clippy::print_stdout)]

#[path = "../tests/records/mod.rs"]
mod records;

use engine::equilibrium::{Equilibrium, Hold, Problem, Solver, Status};
use rand::{RngExt, SeedableRng};
use rand_xoshiro::Xoshiro256PlusPlus;
use std::collections::BTreeMap;
use std::fmt::Write as _;
use std::path::Path;
use std::time::Instant;

const SEED: u64 = 20_260_601;
const SETS: [&str; 20] = [
    "H O",
    "C H O",
    "C H N O",
    "Fe O",
    "Fe C O",
    "Ca C O",
    "Ca C H O",
    "Cu S O",
    "Cu S O H",
    "Zn C O",
    "Al Fe O",
    "Al Cu O",
    "Na C O H",
    "Na Cl H O",
    "Mg C O H",
    "Fe S O",
    "Mn C O",
    "Pb S O N",
    "K Cl Na S O",
    "Ti Cl H O",
];
const KINDS: [&str; 4] = ["temperature, pressure", "temperature, volume", "enthalpy, pressure", "energy, volume"];

/// What came of the problems of one kind.
#[derive(Default)]
struct Tally {
    drawn: usize,
    plateaus: usize,
    by_status: BTreeMap<String, usize>,
    residuals: [f64; 4],
    slowest: f64,
    seconds: f64,
}

fn amount(rng: &mut Xoshiro256PlusPlus, decades: f64) -> f64 {
    match rng.random_range(0..8) {
        0 => 10f64.powf(-decades * rng.random::<f64>()),
        1 => 1.0,
        2 => 2.0,
        3 => 3.0,
        _ => rng.random::<f64>(),
    }
}

fn evenly_in_logarithm(rng: &mut Xoshiro256PlusPlus, low: f64, high: f64) -> f64 {
    low * (high / low).powf(rng.random::<f64>())
}

impl Tally {
    fn count(&mut self, answer: &Equilibrium, seconds: f64) {
        self.drawn += 1;
        self.seconds += seconds;
        self.slowest = self.slowest.max(seconds);
        *self.by_status.entry(format!("{:?}", answer.status)).or_default() += 1;
        if answer.status == Status::Solved {
            self.plateaus += usize::from(answer.plateau);
            let r = answer.residuals;
            for (kept, new) in self.residuals.iter_mut().zip([r.elements, r.potentials, r.stability, r.energy]) {
                *kept = kept.max(new);
            }
        }
    }

    fn of(&self, status: Status) -> usize {
        self.by_status.get(&format!("{status:?}")).copied().unwrap_or(0)
    }
}

fn run(count: usize, decades: f64, unsolved: &mut Vec<String>) -> [Tally; 4] {
    let all = records::all();
    let sets: Vec<Vec<&str>> = SETS.iter().map(|set| set.split(' ').collect()).collect();
    let mut solvers: Vec<Solver> = sets.iter().map(|set| Solver::new(records::system(&all, set).1)).collect();
    let mut rng = Xoshiro256PlusPlus::seed_from_u64(SEED);
    let mut tallies: [Tally; 4] = Default::default();
    for number in 0..count {
        let (place, kind) = (number % sets.len(), number / sets.len() % 4);
        let solver = &mut solvers[place];
        let amounts: Vec<f64> = sets[place].iter().map(|_| amount(&mut rng, decades)).collect();
        let temperature = evenly_in_logarithm(&mut rng, 300.0, 4000.0);
        let pressure = evenly_in_logarithm(&mut rng, 0.1, 1e8);
        let volume = evenly_in_logarithm(&mut rng, 1e-6, 1.0);
        let raised = if rng.random::<bool>() { 30e3 * rng.random::<f64>() } else { 0.0 };
        let at_volume = kind % 2 == 1;
        let hold = if at_volume {
            Hold::TemperatureVolume(temperature, volume)
        } else {
            Hold::TemperaturePressure(temperature, pressure)
        };
        let begun = Instant::now();
        let mut answer = solver.solve(&Problem { elements: &amounts, hold });
        let mut seconds = begun.elapsed().as_secs_f64();
        if kind >= 2 {
            if answer.status != Status::Solved {
                continue;
            }
            let energy = answer.energy + raised * amounts.iter().sum::<f64>();
            let hold =
                if at_volume { Hold::EnergyVolume(energy, volume) } else { Hold::EnthalpyPressure(energy, pressure) };
            let begun = Instant::now();
            answer = solver.solve(&Problem { elements: &amounts, hold });
            seconds = begun.elapsed().as_secs_f64();
        }
        tallies[kind].count(&answer, seconds);
        let told = matches!(answer.status, Status::Solved | Status::OutOfRange | Status::DataEnd);
        if !told && unsolved.len() < 12 {
            unsolved.push(format!("{} {amounts:?}, {hold:?}: {:?} {:?}", SETS[place], answer.status, answer.residuals));
        }
    }
    tallies
}

fn table(tallies: &[Tally; 4]) -> String {
    let mut text = String::from(
        "| held | problems | solved and verified | almost | end of data | beyond 220 to 6000 K | not solved | on a plateau | mean time | slowest |\n\
         |---|---|---|---|---|---|---|---|---|---|\n",
    );
    for (kind, tally) in KINDS.iter().zip(tallies) {
        let solved = tally.of(Status::Solved);
        let lost = tally.of(Status::Unsolved) + tally.of(Status::Unreachable) + tally.of(Status::BadQuestion);
        let inside = tally.drawn - tally.of(Status::OutOfRange) - tally.of(Status::DataEnd);
        let _ = writeln!(
            text,
            "| {kind} | {} | {solved} ({:.3} % of those inside the data) | {} | {} | {} | {lost} | {} | {:.0} µs | {:.1} ms |",
            tally.drawn,
            100.0 * solved as f64 / inside.max(1) as f64,
            tally.of(Status::Almost),
            tally.of(Status::DataEnd),
            tally.of(Status::OutOfRange),
            tally.plateaus,
            1e6 * tally.seconds / tally.drawn.max(1) as f64,
            1e3 * tally.slowest,
        );
    }
    text
}

fn worst(tallies: &[Tally; 4]) -> String {
    let greatest = |place: usize| tallies.iter().map(|tally| tally.residuals[place]).fold(0.0, f64::max);
    format!(
        "Greatest residuals among the solved: elements {:.1e}, potentials {:.1e} RT, stability {:.1e} RT, energy {:.1e}.",
        greatest(0),
        greatest(1),
        greatest(2),
        greatest(3)
    )
}

fn main() {
    let arguments: Vec<String> = std::env::args().collect();
    let after = |name: &str| arguments.iter().position(|a| a == name).and_then(|place| arguments.get(place + 1));
    let count = after("--count").and_then(|text| text.parse().ok()).unwrap_or(400);
    let mut unsolved = Vec::new();
    let usual = run(count, 9.0, &mut unsolved);
    let mut harder_unsolved = Vec::new();
    let harder = run(count / 5, 12.0, &mut harder_unsolved);
    let mut page = String::from(
        "# Are random equilibria solved, and how fast?\n\n\
         Written by `cargo bench -p engine --bench random_equilibria -- --count 100000 --write`; what is drawn and what is checked\n\
         stands at the head of that file. Times are those of one core of the machine at hand, busy with other work beside.\n\n",
    );
    let _ = writeln!(page, "Seed {SEED}, {} sets of elements, {count} problems, none panicked.\n", SETS.len());
    page.push_str(&table(&usual));
    let _ = writeln!(page, "\n{}\n", worst(&usual));
    page.push_str(
        "\"End of data\": the energy lies in a jump where the polynomial of a phase ends that would still be stable (liquid water\n\
         at 600 K under pressure); no temperature has it, and the answer says so. \"Almost\": a residual up to a thousand times the\n\
         tolerance, which for elements is 1e-10.\n",
    );
    let _ = writeln!(page, "\n## With traces down to 1e-12 of the rest ({} problems)\n", count / 5);
    page.push_str(&table(&harder));
    let _ = writeln!(page, "\n{}", worst(&harder));
    println!("{page}");
    for line in unsolved.iter().chain(&harder_unsolved) {
        println!("{line}");
    }
    if arguments.iter().any(|argument| argument == "--write") {
        let path = Path::new(env!("CARGO_MANIFEST_DIR")).join("../benches/EQUILIBRIUM.md");
        if let Err(error) = std::fs::write(&path, page) {
            eprintln!("{}: {error}", path.display());
        }
    }
}
