//! Ideal solutions with given constants, solved and timed: one line of JSON for each, for `benches/aqueous_side_by_side.py`.
//!
//! The same systems go to a general-purpose Python library in one run of that script. Times are those of a solution from
//! scratch, the mean of many. Also: a diagram of twenty forms, and fields of it.
//!
//! Source: constants as in `engine/tests/aqueous.rs`.

#![allow(clippy::print_stdout)]

use engine::aqueous::dose::{Mixture, Reagent, curve};
use engine::aqueous::network::{Activity, Dissolved, Network};
use engine::aqueous::potential::{Plane, Window, fields};
use engine::aqueous::speciate::Solver;
use engine::aqueous::water::MOLAR_MASS;
use std::hint::black_box;
use std::time::Instant;

const WATER: f64 = 1.0 / MOLAR_MASS;
const ROUNDS: u32 = 2000;

fn species(charge: i32, parts: &[(usize, f64)], log_k: f64) -> Dissolved {
    Dissolved { charge, size: None, parts: parts.to_vec(), water: 0.0, log_k }
}

/// Masters by charge behind the hydrogen ion, then hydroxide and what is given.
fn solver(charges: &[i32], more: Vec<Dissolved>) -> Option<Solver> {
    let mut list = vec![species(1, &[(0, 1.0)], 0.0)];
    list.extend(charges.iter().enumerate().map(|(n, charge)| species(*charge, &[(n + 1, 1.0)], 0.0)));
    list.push(species(-1, &[(0, -1.0)], -13.997));
    list.extend(more);
    let network = Network::new(charges.len() + 1, list, Vec::new(), Vec::new(), Activity::Ideal, 298.15).ok()?;
    Some(Solver::new(network))
}

fn told(name: &str, solver: &mut Solver, totals: &[f64]) {
    let start = Instant::now();
    for _ in 0..ROUNDS {
        black_box(solver.solve(black_box(totals), WATER, false));
    }
    let each = start.elapsed().as_secs_f64() / f64::from(ROUNDS) * 1e6;
    let free: Vec<String> = solver.molalities().iter().map(|m| format!("{m:e}")).collect();
    println!(
        "{{\"system\": \"{name}\", \"ph\": {}, \"molalities\": [{}], \"microseconds\": {each:.2}}}",
        solver.ph(),
        free.join(", ")
    );
}

fn main() {
    if let Some(mut acetic) = solver(&[-1], vec![species(0, &[(0, 1.0), (1, 1.0)], 4.756)]) {
        told("acetic acid", &mut acetic, &[0.1, 0.1]);
    }
    let oxalate = || vec![species(-1, &[(0, 1.0), (1, 1.0)], 4.266), species(0, &[(0, 2.0), (1, 1.0)], 5.518)];
    if let Some(mut oxalic) = solver(&[-2], oxalate()) {
        told("oxalic acid, half neutralised", &mut oxalic, &[0.05, 0.05]);
        let mixture = Mixture { totals: vec![0.1, 0.05], water: WATER };
        let base = Reagent { parts: vec![(0, -1.0)], water: 1.0 };
        let amounts: Vec<f64> = (0..300).map(|n| 0.12 * f64::from(n) / 299.0).collect();
        let mut points = Vec::with_capacity(300);
        let start = Instant::now();
        curve(&mut oxalic, &mixture, &base, &amounts, &mut points);
        let whole = start.elapsed().as_secs_f64() * 1e6;
        let ph: Vec<String> = points.iter().step_by(23).map(|point| point.ph.to_string()).collect();
        println!(
            "{{\"system\": \"titration, 300 points\", \"ph\": [{}], \"microseconds\": {whole:.0}}}",
            ph.join(", ")
        );
    }
    let ammines = [4.04, 7.47, 10.27, 11.75].iter().enumerate();
    let mut list: Vec<Dissolved> =
        ammines.map(|(n, log_beta)| species(2, &[(1, 1.0), (2, n as f64 + 1.0)], *log_beta)).collect();
    list.push(species(1, &[(0, 1.0), (2, 1.0)], 9.245));
    if let Some(mut copper) = solver(&[2, 0], list) {
        told("copper in ammonia", &mut copper, &[0.0, 0.01, 0.5]);
    }
    let plane = |n: u32| {
        let x = f64::from(n);
        Plane { constant: (x * 7.3).sin() * 30.0, per_ph: (x * 3.1).sin() * 4.0, per_pe: -(x % 8.0) }
    };
    let planes: Vec<Plane> = (0..20).map(plane).collect();
    let window = Window { ph: (-1.0, 15.0), pe: (-24.0, 34.0) };
    let start = Instant::now();
    for _ in 0..ROUNDS {
        black_box(fields(black_box(&planes), window));
    }
    let each = start.elapsed().as_secs_f64() / f64::from(ROUNDS) * 1e6;
    println!(
        "{{\"system\": \"fields of 20 forms\", \"ph\": {}, \"microseconds\": {each:.2}}}",
        fields(&planes, window).len()
    );
}
