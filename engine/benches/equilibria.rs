//! How long does an equilibrium take?
//!
//! Sixty candidates and more of carbon, hydrogen, nitrogen, oxygen and calcium; a lot heated in air; an adiabatic flame. One solver
//! each, its workspace used again, as a program does.
//!
//! Source: none; these are times.

#[path = "../tests/records/mod.rs"]
mod records;

use divan::Bencher;
use engine::equilibrium::{Equilibrium, Hold, Problem, Solver, Status, System};
use std::hint::black_box;

fn main() {
    divan::main();
}

const ELEMENTS: [&str; 5] = ["Ca", "C", "H", "N", "O"];
/// Calcium oxalate hydrate in air, mol of elements.
const AMOUNTS: [f64; 5] = [1.0, 2.0, 2.0, 40.0, 15.6];

/// The first sixty candidates, condensed ones first.
fn sixty() -> System {
    let all = records::all();
    let (mut chosen, _) = records::system(&all, &ELEMENTS);
    chosen.sort_by_key(|r| r.phase == engine::equilibrium::Phase::Gas);
    let wanted = ["CO2(g)", "CO(g)", "H2O(g)", "N2(g)", "O2(g)", "H2(g)", "NO(g)", "OH(g)"];
    chosen.sort_by_key(|r| !wanted.contains(&r.name.as_str()));
    chosen.truncate(60);
    records::system(&chosen, &ELEMENTS).1
}

#[divan::bench]
fn temperature_and_pressure_of_60_candidates(bencher: Bencher) {
    let mut solver = Solver::new(sixty());
    let problem = Problem { elements: &AMOUNTS, hold: Hold::TemperaturePressure(1100.0, 1e5) };
    assert_eq!(solver.solve(&problem).status, Status::Solved);
    bencher.bench_local(|| black_box(solver.solve(black_box(&problem))));
}

#[divan::bench]
fn enthalpy_and_pressure_of_60_candidates(bencher: Bencher) {
    let mut solver = Solver::new(sixty());
    let there = solver.solve(&Problem { elements: &AMOUNTS, hold: Hold::TemperaturePressure(1400.0, 1e5) });
    let problem = Problem { elements: &AMOUNTS, hold: Hold::EnthalpyPressure(there.energy, 1e5) };
    assert_eq!(solver.solve(&problem).status, Status::Solved);
    bencher.bench_local(|| black_box(solver.solve(black_box(&problem))));
}

#[divan::bench]
fn energy_and_volume_of_60_candidates(bencher: Bencher) {
    let mut solver = Solver::new(sixty());
    let there = solver.solve(&Problem { elements: &AMOUNTS, hold: Hold::TemperatureVolume(1400.0, 1.0) });
    let problem = Problem { elements: &AMOUNTS, hold: Hold::EnergyVolume(there.energy, 1.0) };
    assert_eq!(solver.solve(&problem).status, Status::Solved);
    bencher.bench_local(|| black_box(solver.solve(black_box(&problem))));
}

#[divan::bench]
fn sweep_of_500_temperatures_of_60_candidates(bencher: Bencher) {
    let mut solver = Solver::new(sixty());
    let mut answer = Equilibrium::default();
    bencher.bench_local(|| {
        for step in 0..500 {
            let hold = Hold::TemperaturePressure(300.0 + 2.75 * f64::from(step), 1e5);
            solver.follow_into(&Problem { elements: &AMOUNTS, hold }, &mut answer);
            assert_eq!(answer.status, Status::Solved);
        }
        black_box(answer.gas)
    });
}
