//! What earlier runs teach, against a published hierarchy and simulated truth.

use engine::account::learn::{Belief, SpreadPrior, hierarchy, next_run, own_word};
use rand::SeedableRng;
use rand_distr::{Distribution, Normal};
use rand_xoshiro::Xoshiro256PlusPlus;

fn close(found: f64, expected: f64, tolerance: f64) {
    assert!((found - expected).abs() <= tolerance, "found {found}, expected {expected} ± {tolerance}");
}

const DEFAULT: Belief = Belief { mean: 0.0, deviation: 1.0 };

/// Eight parallel experiments on coaching. Readings: D. B. Rubin, J. Educ. Stat. 6 (1981) 377; means of the posterior with
/// μ ~ N(0, 5²) and half-Cauchy τ of scale 5: reference draws of the open collection posteriordb, whose Monte Carlo error is
/// 0.03 for μ and τ and 0.05 for the schools; two of these are allowed.
#[test]
fn eight_schools() {
    let words: Vec<Belief> =
        [(28.0, 15.0), (8.0, 10.0), (-3.0, 16.0), (7.0, 11.0), (-1.0, 9.0), (1.0, 11.0), (18.0, 10.0), (12.0, 18.0)]
            .map(|(mean, deviation)| Belief { mean, deviation })
            .to_vec();
    let found = hierarchy(&words, Belief { mean: 0.0, deviation: 5.0 }, SpreadPrior::HalfCauchy(5.0));
    close(found.mean.mean, 4.4105, 0.066);
    close(found.spread.mean, 3.6021, 0.064);
    for (run, mean) in found.runs.iter().zip([6.1505, 4.9396, 3.9059, 4.7960, 3.6144, 4.0511, 6.3172, 4.8840]) {
        close(run.mean, mean, 0.11);
    }
}

/// Without a run, or with runs that said nothing, the next one is as the default has it.
#[test]
fn without_runs_the_default_stands() {
    for runs in [&[][..], &[DEFAULT], &[Belief { mean: 0.0, deviation: f64::NAN }]] {
        let learned = next_run(runs, DEFAULT);
        assert_eq!(learned.telling, 0);
        close(learned.next.mean, 0.0, 1e-12);
        close(learned.next.deviation, 1.0, 2e-3);
    }
}

/// A posterior is its default times what the run said.
#[test]
fn the_default_is_taken_out() {
    let word = Belief { mean: -1.5, deviation: 0.8 };
    let precision = 1.0 + word.deviation.powi(-2);
    let posterior = Belief { mean: word.mean * word.deviation.powi(-2) / precision, deviation: precision.powf(-0.5) };
    let found = own_word(posterior, DEFAULT).expect("sharper than the default");
    close(found.mean, word.mean, 1e-12);
    close(found.deviation, word.deviation, 1e-12);
}

/// Many sharp runs: the default is forgotten, mean and spread are theirs.
#[test]
fn many_runs_speak_for_themselves() {
    let mut random = Xoshiro256PlusPlus::seed_from_u64(11);
    let truth = Normal::new(1.5, 0.3).expect("sound");
    let runs: Vec<Belief> = (0..60).map(|_| Belief { mean: truth.sample(&mut random), deviation: 0.05 }).collect();
    let learned = next_run(&runs, DEFAULT);
    close(learned.next.mean, 1.5, 3.0 * 0.3 / 60f64.sqrt());
    close(learned.next.deviation, 0.3, 0.1);
}

/// Truth drawn from the model itself: the next run falls into the 90 % range as often as it should, within three binomial
/// standard errors, and close to its middle more often than by the default.
#[test]
fn ranges_of_the_next_run_are_calibrated() {
    let mut random = Xoshiro256PlusPlus::seed_from_u64(20_260_504);
    let unit = Normal::new(0.0, 1.0).expect("sound");
    let half = 0.5f64.sqrt();
    let (trials, mut within, mut nearer) = (1500, 0, 0.0);
    for _ in 0..trials {
        let (mean, spread) = (half * unit.sample(&mut random), half * unit.sample(&mut random).abs());
        let noise = 0.4;
        let runs: Vec<Belief> = (0..6)
            .map(|_| {
                let read = mean + spread * unit.sample(&mut random) + noise * unit.sample(&mut random);
                let precision = 1.0 + 1.0 / (noise * noise);
                Belief { mean: read / (noise * noise) / precision, deviation: precision.powf(-0.5) }
            })
            .collect();
        let learned = next_run(&runs, DEFAULT);
        let next = mean + spread * unit.sample(&mut random);
        within += usize::from((learned.low..learned.high).contains(&next));
        nearer += (learned.next.mean - next).powi(2) - next * next;
    }
    let share = within as f64 / f64::from(trials);
    close(share, 0.9, 3.0 * (0.9 * 0.1 / f64::from(trials)).sqrt());
    assert!(nearer < 0.0);
}
