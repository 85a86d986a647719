//! Kernels on a preparation of 30 steps and on the linear core.
//!
//! The ledger is a chain of ten rounds of dissolve and precipitate → filter with two washes → dry and divide: 14
//! species, 72 unknowns, 24 operations a round. What the numbers say is the time, not the chemistry.

use engine::account::fit::{Count, FitSettings, fit};
use engine::account::importance::{Volume, draw};
use engine::account::linear::reconcile;
use engine::account::reading::{Balance, Weighing};
use engine::account::sampler::{SamplerSettings, sample};
use engine::account::{CHUNK, Evidence};
use engine::ledger::{FOREIGN_KINDS, Ledger, Operation, Prior, State, Supply, Surroundings, Unknown, Value, Workspace};
use engine::scalar::Dual;
use std::hint::black_box;

fn main() {
    divan::main();
}

const SALT: usize = 0;
const DISSOLVED: usize = 1;
const WATER: usize = 2;
const VAPOUR: usize = 3;
const OXIDE: usize = 4;
/// Lots of one round; the dried one is the fifth.
const LOTS: usize = 7;

fn unknown(ledger: &mut Ledger, prior: Prior) -> Value {
    ledger.unknowns.push(Unknown::new(prior));
    Value::Unknown(ledger.unknowns.len() - 1)
}

/// Thirty steps: ten rounds of three.
fn thirty_steps() -> Ledger {
    let mut ledger = Ledger {
        molar_mass: (0..14).map(|i| 0.02 + 0.01 * f64::from(i)).collect(),
        state: vec![State::Solid; 14],
        ..Ledger::default()
    };
    ledger.state[DISSOLVED] = State::Dissolved;
    ledger.state[WATER] = State::Liquid;
    ledger.state[VAPOUR] = State::Gas;
    let assay = unknown(&mut ledger, Prior::Uniform { low: 0.98, high: 1.0 });
    let (one, zero) = (Value::Constant(1.0), Value::Constant(0.0));
    ledger.supplies.push(Supply { assay, parts: vec![(SALT, one)], rest: [one; FOREIGN_KINDS], analysed: None });
    ledger.supplies.push(Supply { assay: one, parts: vec![(WATER, one)], rest: [zero; FOREIGN_KINDS], analysed: None });
    let mass = unknown(&mut ledger, Prior::Normal { mean: 0.1, deviation: 1e-5 });
    let (drawn, mut lot) = (0, 1);
    ledger.lots = 2;
    ledger.operations.push(Operation::Charge { supply: 0, mass, into: lot });
    for _ in 0..10 {
        lot = round(&mut ledger, lot, drawn);
    }
    ledger.drawn = vec![drawn];
    ledger.finished = vec![ledger.operations.len(); ledger.lots];
    ledger
}

/// Dissolve and precipitate, filter with two washes, dry, divide: returns the dried lot.
fn round(ledger: &mut Ledger, from: usize, drawn: usize) -> usize {
    let [solution, lost, cake, liquor, dry, vent, portion] = [0, 1, 2, 3, 4, 5, 6].map(|i| ledger.lots + i);
    ledger.lots += LOTS;
    let one = Value::Constant(1.0);
    let water = unknown(ledger, Prior::Normal { mean: 0.3, deviation: 1e-3 });
    let film = unknown(ledger, Prior::Exponential { mean: 5e-5 });
    let held = unknown(ledger, Prior::TruncatedNormal { mean: 0.06, deviation: 0.01, low: 0.0, high: f64::INFINITY });
    let passes = unknown(ledger, Prior::Beta { alpha: 1.0, beta: 400.0 });
    let loss = unknown(ledger, Prior::Loss { low: 0.005, high: 0.02 });
    let share = unknown(ledger, Prior::Uniform { low: 0.0, high: 1.0 });
    let conversion = unknown(ledger, Prior::Beta { alpha: 200.0, beta: 1.0 });
    let note = ledger.notes.len();
    ledger.notes.push(2);
    let zero = Value::Constant(0.0);
    let separate = |passes| Operation::Separate { cake, liquor, passes, held, held_per_solid: zero };
    let wash = |passes| [Operation::Charge { supply: 1, mass: water, into: cake }, separate(passes)];
    let [first, second] = [wash(zero), wash(zero)];
    ledger.operations.extend([
        Operation::Move { from, into: solution },
        Operation::Charge { supply: 1, mass: water, into: solution },
        Operation::Transform { lot: solution, from: SALT, into: Box::new([(DISSOLVED, 1.0), (WATER, 5.0)]), share },
        Operation::React {
            lot: solution,
            consumed: Box::new([(DISSOLVED, 1.0), (WATER, 1.0)]),
            produced: Box::new([(OXIDE, 1.0), (VAPOUR, 1.0)]),
            conversion,
            note,
        },
        Operation::Lose { lot: solution, lost, film, fraction: zero },
        Operation::Move { from: solution, into: cake },
        separate(passes),
    ]);
    ledger.operations.extend(first);
    ledger.operations.extend(second);
    ledger.operations.extend([
        Operation::Lose { lot: cake, lost, film, fraction: loss },
        Operation::Move { from: cake, into: dry },
        Operation::Vent { lot: dry, vent },
        Operation::Evaporate { lot: dry, pairs: Box::new([(WATER, VAPOUR)]), vent },
        Operation::Solidify { lot: dry, pairs: Box::new([(DISSOLVED, SALT)]) },
        Operation::Convert {
            lot: dry,
            from: OXIDE,
            into: SALT,
            gives: 1.0,
            exchange: Box::new([(VAPOUR, -1.0)]),
            share: one,
            surroundings: Surroundings { vent, drawn },
        },
        Operation::Lose { lot: dry, lost, film, fraction: loss },
        Operation::Portion { from: dry, into: portion, mass: Value::Constant(5e-4) },
    ]);
    dry
}

struct Weighed {
    ledger: Ledger,
    balances: Vec<Balance>,
    weighings: Vec<Weighing>,
}

/// The same with three weighings of what the medians predict, one percent low.
fn weighed() -> Weighed {
    let ledger = thirty_steps();
    let mut room = Workspace::<f64>::new(&ledger);
    ledger.run(&vec![0.0; ledger.unknowns.len()], &mut room);
    let balance = Balance {
        resolution: 1e-5,
        repeatability: 1.5e-5,
        capacity: 0.2,
        slope: Value::Constant(0.0),
        curvature: Value::Constant(0.0),
    };
    let weighings = [0, 4, 9]
        .map(|round| {
            let lot = 2 + LOTS * round + 4;
            let display = ledger.mass(room.given(lot)) * 0.99;
            Weighing { lot: Some(lot), vessel: None, charge: None, display, balance: 0, zero: Value::Constant(0.0) }
        })
        .to_vec();
    Weighed { ledger, balances: vec![balance], weighings }
}

#[divan::bench]
fn forward_run_of_30_steps(bencher: divan::Bencher) {
    let ledger = thirty_steps();
    let z = vec![0.1; ledger.unknowns.len()];
    let mut room = Workspace::<f64>::new(&ledger);
    bencher.bench_local(|| ledger.run(black_box(&z), &mut room));
}

#[divan::bench]
fn forward_run_with_24_derivatives(bencher: divan::Bencher) {
    let ledger = thirty_steps();
    let z: Vec<Dual<CHUNK>> = (0..ledger.unknowns.len()).map(|i| Dual::variable(0.1, i)).collect();
    let mut room = Workspace::<Dual<CHUNK>>::new(&ledger);
    bencher.bench_local(|| ledger.run(black_box(&z), &mut room));
}

#[divan::bench]
fn best_fit(bencher: divan::Bencher) {
    let w = weighed();
    let evidence = Evidence::new(&w.ledger, &w.balances, &w.weighings);
    bencher.bench_local(|| fit(&evidence, Count::Posterior, &FitSettings::default()));
}

#[divan::bench]
fn thousand_draws_about_the_fit(bencher: divan::Bencher) {
    let w = weighed();
    let evidence = Evidence::new(&w.ledger, &w.balances, &w.weighings);
    let best = fit(&evidence, Count::Posterior, &FitSettings::default());
    bencher.bench_local(|| draw(&evidence, &best, 1000, 1, Volume::Neglected));
}

#[divan::bench(sample_count = 5, sample_size = 1)]
fn sampler_with_500_particles(bencher: divan::Bencher) {
    let w = weighed();
    let evidence = Evidence::new(&w.ledger, &w.balances, &w.weighings);
    let settings = SamplerSettings { particles: 500, ..SamplerSettings::default() };
    bencher.bench_local(|| sample(&evidence, &settings, |_| {}));
}

#[divan::bench]
fn six_streams_reconciled(bencher: divan::Bencher) {
    let balances = vec![
        vec![1.0, -1.0, -1.0, 0.0, 0.0, 0.0],
        vec![0.0, 1.0, 0.0, -1.0, 0.0, 0.0],
        vec![0.0, 0.0, 1.0, 0.0, -1.0, 0.0],
        vec![0.0, 0.0, 0.0, 1.0, 1.0, -1.0],
    ];
    let flows = [101.91, 64.45, 34.65, 64.20, 36.44, 98.88];
    bencher.bench_local(|| reconcile(black_box(&flows), &[1.0; 6], &balances, &[0.0; 4]));
}
