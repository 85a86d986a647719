//! Posteriors that are thin and bent: does a sampler that starts from their best fit say what quadrature says?
//!
//! Of a charge m something evaporates, and what is left, m (1 − s), is weighed far more sharply than either is known. Plane
//! (m, s) holds a hyperbola with nearly all of the posterior. Integrals over it are worked on a grid of s, as for a sharp
//! reading the one over m is its density on the hyperbola: that is the outside check, without fit, map or sampler.

use engine::account::about::About;
use engine::account::fit::{Count, FitSettings, fit, fit_again};
use engine::account::reading::{Balance, Weighing};
use engine::account::sampler::{Draws, SamplerSettings, sample};
use engine::account::{CHUNK, Evidence, SlopeRoom};
use engine::ledger::{
    FOREIGN_KINDS, Ledger, Operation, Prior, State, Supply, Unknown, Value, normal_cdf, normal_density,
};

/// Mean and deviation of the charge, kg; what was left; step of the display.
const CHARGE: (f64, f64) = (0.100, 0.015);
const LEFT: f64 = 0.060;
const STEP: f64 = 1e-4;

fn ledger() -> Ledger {
    let (one, zero) = (Value::Constant(1.0), Value::Constant(0.0));
    let (mass, share) = (Value::Unknown(0), Value::Unknown(1));
    let (lot, vent) = (0, 1);
    Ledger {
        molar_mass: vec![0.1, 0.1],
        state: vec![State::Solid, State::Gas],
        supplies: vec![Supply { assay: one, parts: vec![(0, one)], rest: [zero; FOREIGN_KINDS], analysed: None }],
        lots: 2,
        finished: vec![3, 3],
        operations: vec![
            Operation::Charge { supply: 0, mass, into: lot },
            Operation::Transform { lot, from: 0, into: Box::new([(1, 1.0)]), share },
            Operation::Vent { lot, vent },
        ],
        unknowns: vec![
            Unknown::new(Prior::Normal { mean: CHARGE.0, deviation: CHARGE.1 }),
            Unknown::new(Prior::Uniform { low: 0.0, high: 1.0 }),
        ],
        ..Ledger::default()
    }
}

fn balance() -> Balance {
    let zero = Value::Constant(0.0);
    Balance { resolution: STEP, repeatability: STEP, capacity: 0.2, slope: zero, curvature: zero }
}

fn weighing() -> Weighing {
    let zero = Value::Constant(0.0);
    Weighing { lot: Some(0), vessel: None, charge: None, display: LEFT, balance: 0, zero }
}

/// Evidence, and mean and deviation of the share that evaporated, by quadrature.
fn by_quadrature() -> (f64, f64, f64) {
    let count = 200_000;
    let (mut sum, mut first, mut second) = (0.0, 0.0, 0.0);
    for i in 0..count {
        let s = (f64::from(i) + 0.5) / f64::from(count);
        let m = LEFT / (1.0 - s);
        let density = normal_density((m - CHARGE.0) / CHARGE.1) / CHARGE.1 / (1.0 - s) * STEP / f64::from(count);
        sum += density;
        first += density * s;
        second += density * s * s;
    }
    let mean = first / sum;
    (sum.ln(), mean, (second / sum - mean * mean).sqrt())
}

#[test]
fn a_hyperbola_is_sampled_as_quadrature_has_it() {
    let (ledger, balances, weighings) = (ledger(), [balance()], [weighing()]);
    let evidence = Evidence::new(&ledger, &balances, &weighings);
    let best = fit(&evidence, Count::Posterior, &FitSettings::default());
    let (log_evidence, mean, deviation) = by_quadrature();
    for looser in [1.0, 2.0, 4.0] {
        let about = About::new(&evidence, &best, looser).expect("curved");
        let settings = SamplerSettings { particles: 4000, last_rounds: 2, ..SamplerSettings::default() };
        let mut draws = sample(&about, &settings, |_| {});
        let volumes: Vec<f64> = about.turned(&mut draws).iter().map(|v| v.exp()).collect();
        let volume: f64 = volumes.iter().sum();
        let found = draws.log_evidence + (volume / volumes.len() as f64).ln();
        let mean_of = |power: i32| -> f64 {
            let shares = draws.z.chunks_exact(2).map(|z| normal_cdf(z[1]).powi(power));
            shares.zip(&volumes).map(|(s, v)| s * v).sum::<f64>() / volume
        };
        let spread = (mean_of(2) - mean_of(1).powi(2)).sqrt();
        assert!(draws.finished, "looser {looser}");
        assert!((found - log_evidence).abs() < 0.05, "looser {looser}: evidence {found} against {log_evidence}");
        assert!((mean_of(1) - mean).abs() < 0.08 * deviation, "looser {looser}: mean {} against {mean}", mean_of(1));
        assert!((spread / deviation - 1.0).abs() < 0.06, "looser {looser}: {spread} against {deviation}");
    }
}

/// The change of volume is that of finite differences of the map itself; its constant part, that of the straight step, falls
/// out between two points.
#[test]
fn the_volume_is_that_of_the_map() {
    let (ledger, balances, weighings) = (ledger(), [balance()], [weighing()]);
    let evidence = Evidence::new(&ledger, &balances, &weighings);
    let best = fit(&evidence, Count::Posterior, &FitSettings::default());
    let about = About::new(&evidence, &best, 1.0).expect("curved");
    let turned = |points: &[[f64; 2]]| {
        let z = points.concat();
        let mut draws =
            Draws { dimension: 2, z, log_evidence: 0.0, stages: 0, acceptance: 1.0, runs: 0, finished: true };
        let volumes = about.turned(&mut draws);
        (draws.z, volumes)
    };
    let volume_of = |[a, b]: [f64; 2]| {
        let h = 1e-4;
        let (z, volumes) = turned(&[[a + h, b], [a - h, b], [a, b + h], [a, b - h], [a, b]]);
        let slope = |plus: usize, minus: usize, i: usize| (z[2 * plus + i] - z[2 * minus + i]) / (2.0 * h);
        let determinant = slope(0, 1, 0) * slope(2, 3, 1) - slope(0, 1, 1) * slope(2, 3, 0);
        (volumes[4], determinant.abs().ln())
    };
    let (at_fit, whole_at_fit) = volume_of([0.0, 0.0]);
    assert!(at_fit.abs() < 1e-9, "{at_fit}");
    for point in [[0.7, -0.3], [-1.1, 0.4], [0.2, 1.5], [-0.5, -1.9]] {
        let (volume, whole) = volume_of(point);
        assert!((volume - (whole - whole_at_fit)).abs() < 1e-3, "{point:?}: {volume} against {}", whole - whole_at_fit);
        assert!(volume.abs() > 1e-3, "{point:?} is not bent: {volume}");
    }
}

/// Slopes along directions are the products of the slopes with them, also where they take several runs.
#[test]
fn slopes_along_directions_are_products() {
    let (ledger, balances, weighings) = (ledger(), [balance()], [weighing()]);
    let evidence = Evidence::new(&ledger, &balances, &weighings);
    let (z, mut room) = ([0.3, -0.8], SlopeRoom::new(&ledger));
    let (mut expected, mut slopes) = ([0.0], [0.0; 2]);
    evidence.expected_with_slopes(&z, &mut room, &mut expected, &mut slopes);
    let turn = |k: usize| 0.37 * k as f64;
    let count = 2 * CHUNK + 3;
    let directions: Vec<f64> = (0..count).flat_map(|k| [turn(k).cos(), turn(k).sin()]).collect();
    let mut along = vec![0.0; count];
    evidence.slopes_along(&z, &directions, &mut room, &mut along);
    for (k, found) in along.iter().enumerate() {
        let product = slopes[0] * turn(k).cos() + slopes[1] * turn(k).sin();
        assert!((found - product).abs() < 1e-15, "direction {k}: {found} against {product}");
    }
}

/// A figure is corrected: led by the slopes from before, a fit ends where one ends that knows nothing; by wrong ones too.
#[test]
fn a_fit_made_again_ends_where_the_first_would() {
    let (ledger, balances) = (ledger(), [balance()]);
    let (before, after) = ([weighing()], [Weighing { display: LEFT + 30.0 * STEP, ..weighing() }]);
    let settings = FitSettings { fall: 1e-12, ..FitSettings::default() };
    let known = fit(&Evidence::new(&ledger, &balances, &before), Count::Posterior, &settings);
    let evidence = Evidence::new(&ledger, &balances, &after);
    let anew = fit(&evidence, Count::Posterior, &settings);
    let moved = (anew.z[0] - known.z[0]).hypot(anew.z[1] - known.z[1]);
    assert!(moved > 0.05, "the correction is felt: {moved}");
    let backwards: Vec<f64> = known.slopes.iter().map(|slope| -slope).collect();
    let of_other_readings = known.slopes.repeat(2);
    for slopes in [&known.slopes, &backwards, &of_other_readings] {
        let again = fit_again(&evidence, Count::Posterior, &settings, (&known.z, slopes));
        let off = (again.z[0] - anew.z[0]).hypot(again.z[1] - anew.z[1]);
        assert!(off < 1e-4 * moved, "{off} of {moved}");
        assert!((again.chi_squared - anew.chi_squared).abs() < 1e-9, "{} {}", again.chi_squared, anew.chi_squared);
    }
}

#[test]
fn one_mode_has_no_rivals() {
    let (ledger, balances, weighings) = (ledger(), [balance()], [weighing()]);
    let evidence = Evidence::new(&ledger, &balances, &weighings);
    assert!(!fit(&evidence, Count::Posterior, &FitSettings::default()).rivals);
}

/// A, of unknown mass, with 1 mol B: A + B -> R + G, and G leaves. With 100, 100, 50 and 150 g/mol, less than 1 mol A leaves
/// 100 − 50 a grams, more leaves 100 a − 50. 75 g are 0.5 mol of A or 1.25 mol: two modes, and the fit says so.
#[test]
fn a_mass_that_two_charges_explain_has_rivals() {
    let (one, zero) = (Value::Constant(1.0), Value::Constant(0.0));
    let supply =
        |species| Supply { assay: one, parts: vec![(species, one)], rest: [zero; FOREIGN_KINDS], analysed: None };
    let (lot, vent) = (0, 1);
    let ledger = Ledger {
        molar_mass: vec![0.1, 0.1, 0.05, 0.15],
        state: vec![State::Solid, State::Solid, State::Solid, State::Gas],
        supplies: vec![supply(0), supply(1)],
        lots: 2,
        finished: vec![4, 4],
        operations: vec![
            Operation::Charge { supply: 0, mass: Value::Unknown(0), into: lot },
            Operation::Charge { supply: 1, mass: Value::Constant(0.1), into: lot },
            Operation::React {
                lot,
                consumed: Box::new([(0, 1.0), (1, 1.0)]),
                produced: Box::new([(2, 1.0), (3, 1.0)]),
                conversion: one,
                note: 0,
            },
            Operation::Vent { lot, vent },
        ],
        notes: vec![2],
        unknowns: vec![Unknown::new(Prior::Uniform { low: 0.0, high: 0.24 })],
        ..Ledger::default()
    };
    let (balances, weighings) = ([balance()], [Weighing { display: 0.075, ..weighing() }]);
    let evidence = Evidence::new(&ledger, &balances, &weighings);
    let best = fit(&evidence, Count::Posterior, &FitSettings::default());
    let charged = 0.24 * normal_cdf(best.z[0]);
    assert!((charged - 0.125).abs() < 1e-4, "the mode nearer to the median is the better one: {charged}");
    assert!(best.rivals, "half a mole explains it as well");
}
