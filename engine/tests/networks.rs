//! Networks of streams against published examples of data reconciliation.

use engine::account::linear::network::{Knowable, Network, reconcile_network};
use engine::account::linear::{LinearError, reconcile};

/// Splitter 1 = 2 + 3, exchanger 2 = 4, valve 3 = 5, mixer 4 + 5 = 6.
fn exchanger() -> Vec<Vec<f64>> {
    vec![
        vec![1.0, -1.0, -1.0, 0.0, 0.0, 0.0],
        vec![0.0, 1.0, 0.0, -1.0, 0.0, 0.0],
        vec![0.0, 0.0, 1.0, 0.0, -1.0, 0.0],
        vec![0.0, 0.0, 0.0, 1.0, 1.0, -1.0],
    ]
}

const FLOWS: [f64; 6] = [101.91, 64.45, 34.65, 64.20, 36.44, 98.88];

fn diagonal(variances: &[f64]) -> Vec<Vec<f64>> {
    let n = variances.len();
    (0..n).map(|i| (0..n).map(|k| if i == k { variances[i] } else { 0.0 }).collect()).collect()
}

fn measured_at(streams: &[usize]) -> Network {
    let measured: Vec<Option<f64>> = (0..6).map(|i| streams.contains(&(i + 1)).then_some(FLOWS[i])).collect();
    reconcile_network(&measured, &diagonal(&[1.0; 6]), &exchanger(), &[0.0; 4]).expect("sound")
}

fn close(found: f64, expected: f64, tolerance: f64) {
    assert!((found - expected).abs() <= tolerance, "found {found}, expected {expected} ± {tolerance}");
}

/// Which streams can be known. Source: S. Narasimhan and C. Jordache, Data Reconciliation and Gross Error Detection, Gulf
/// 2000, chapter 3 (style of its examples; from memory).
#[test]
fn streams_are_classified() {
    use Knowable::{NotRedundant as N, Observable as O, Redundant as R, Unobservable as U};
    for (streams, classes) in [
        (&[1, 2][..], [N, N, O, O, O, O]),
        (&[1, 6], [R, U, U, U, U, R]),
        (&[1, 2, 5, 6], [R, R, O, O, R, R]),
        (&[2, 4], [U, R, U, R, U, U]),
    ] {
        assert_eq!(measured_at(streams).classes, classes, "{streams:?}");
    }
}

/// With everything measured the network is the closed form, and its tests are those of the same book.
#[test]
fn all_measured_is_the_closed_form() {
    let (network, closed) =
        (measured_at(&[1, 2, 3, 4, 5, 6]), reconcile(&FLOWS, &[1.0; 6], &exchanger(), &[0.0; 4]).expect("sound"));
    close(network.statistic, closed.statistic, 1e-9);
    assert_eq!(network.freedom, closed.freedom);
    for i in 0..6 {
        close(network.values[i].expect("known"), closed.values[i], 1e-9);
        close(network.standard_uncertainties[i].expect("known"), closed.standard_uncertainties[i], 1e-9);
        close(network.measurement_tests[i].expect("adjusted"), closed.measurement_tests[i], 1e-9);
    }
    assert!(network.passes(0.95));
    // Splitter: 101.91 − 64.45 − 34.65 over √3.
    close(network.nodal_tests[0].expect("whole"), 2.81 / 3f64.sqrt(), 1e-9);
}

/// Reactor with four flows and three balances. Source: D. L. Ripps, Chem. Eng. Prog. Symp. Ser. 61 (55) (1965) 8 (figures from
/// memory; the printed γ of 8.535 is one percent off what they give). Without x₂ or x₃ the alarm is gone.
#[test]
fn a_suspect_reading_is_found_by_leaving_it_out() {
    let balances = vec![vec![0.1, 0.6, -0.2, -0.7], vec![0.8, 0.1, -0.2, -0.1], vec![0.1, 0.3, -0.6, -0.2]];
    let measured = [0.1858, 4.7935, 1.2295, 3.8800].map(Some);
    let variances = diagonal(&[0.000_289, 0.0025, 0.000_576, 0.04]);
    let network = reconcile_network(&measured, &variances, &balances, &[0.0; 3]).expect("sound");
    for (found, expected) in network.values.iter().zip([0.167_567, 4.859_449, 1.172_970, 3.854_046]) {
        close(found.expect("known"), expected, 5e-6);
    }
    close(network.statistic, 8.4547, 1e-3);
    let readings: Vec<f64> = measured.iter().flatten().copied().collect();
    let closed = reconcile(&readings, &[0.000_289, 0.0025, 0.000_576, 0.04], &balances, &[0.0; 3]).expect("sound");
    close(closed.critical(0.90), 6.251_389, 1e-3);
    assert!(!network.passes(0.90) && network.freedom == 3);
    for (found, expected) in network.without.iter().zip([7.295_291, 0.963_639, 1.570_160, 8.437_377]) {
        close(found.expect("redundant"), expected, 1e-4);
    }
}

/// Steam and condensate flows of a power plant with half-widths (1.96 standard deviations), correlations and three
/// balances. Source: VDI 2048 part 1 (2000), annex A (figures read from open source code that works the example), the
/// variant with ± 2.500 kg/s on both feed waters.
#[test]
fn power_plant_flows() {
    let flows = [46.241, 45.668, 44.575, 44.319, 0.525, 69.978, 10.364, 3.744, 4.391, 18.498, 2.092];
    let half_widths = [2.5, 2.5, 0.535, 0.532, 0.105, 0.854, 0.168, 0.058, 0.058, 0.205, 0.272];
    let variances: Vec<f64> = half_widths.iter().map(|h: &f64| (h / 1.96).powi(2)).collect();
    let balances = vec![
        vec![1.0, 1.0, -1.0, -1.0, 0.4, 0.0, 0.0, 0.0, 0.0, 0.0, 0.0],
        vec![1.0, 1.0, 0.0, 0.0, -0.6, -1.0, -1.0, -1.0, -1.0, 0.0, 0.0],
        vec![0.0, 0.0, 0.0, 0.0, 0.0, 0.0, 1.0, 1.0, 1.0, -1.0, 0.0],
    ];
    // Feed waters are correlated with 0.2, steam flows with 0.4.
    let mut covariance = diagonal(&variances);
    for (i, k, correlation) in [(0, 1, 0.2), (2, 3, 0.4)] {
        let shared = correlation * (variances[i] * variances[k]).sqrt();
        (covariance[i][k], covariance[k][i]) = (shared, shared);
    }
    let network = reconcile_network(&flows.map(Some), &covariance, &balances, &[0.0; 3]).expect("sound");
    let expected = [
        (44.695_957, 1.610_622),
        (44.122_957, 1.610_622),
        (44.642_627, 0.425_366),
        (44.386_086, 0.423_572),
        (0.524_499, 0.104_627),
        (70.004_962, 0.615_136),
        (10.364_203, 0.133_112),
        (3.744_024, 0.056_699),
        (4.391_024, 0.056_699),
        (18.499_251, 0.137_265),
        (2.092, 0.272),
    ];
    for (i, (value, half_width)) in expected.into_iter().enumerate() {
        close(network.values[i].expect("known"), value, 5e-4);
        close(1.96 * network.standard_uncertainties[i].expect("known"), half_width, 5e-4);
    }
    close(network.statistic, 2.537, 0.01);
    assert!(network.passes(0.95) && network.freedom == 3);
    assert_eq!(network.classes[10], Knowable::NotRedundant, "the last stream is in no balance");
}

/// Two readings of one balance that share its error: their difference is better known than either, and reconciling them
/// moves both alike. By hand: V = [[1, 0.9], [0.9, 1]], x₁ − x₂ = 0, y = (10, 10.2): the mean 10.1, variance 0.95.
#[test]
fn correlated_readings_move_together() {
    let covariance = vec![vec![1.0, 0.9], vec![0.9, 1.0]];
    let network = reconcile_network(&[Some(10.0), Some(10.2)], &covariance, &[vec![1.0, -1.0]], &[0.0]).expect("sound");
    close(network.values[0].expect("known"), 10.1, 1e-12);
    close(network.standard_uncertainties[0].expect("known"), 0.95f64.sqrt(), 1e-12);
    close(network.statistic, 0.04 / 0.2, 1e-12);
}

#[test]
fn what_cannot_be_is_refused() {
    let balance = [vec![1.0, -1.0]];
    let variances = diagonal(&[1.0, 1.0]);
    let refused = |measured: &[Option<f64>], covariance: &[Vec<f64>], balances: &[Vec<f64>], totals: &[f64]| {
        reconcile_network(measured, covariance, balances, totals).expect_err("refused")
    };
    let two = [Some(1.0), Some(2.0)];
    assert_eq!(refused(&two, &variances, &balance, &[0.0, 0.0]), LinearError::Shape);
    assert_eq!(refused(&two, &diagonal(&[1.0, 0.0]), &balance, &[0.0]), LinearError::Variance);
    assert_eq!(refused(&two, &[vec![1.0, 2.0], vec![2.0, 1.0]], &balance, &[0.0]), LinearError::Variance);
    let contradicting = [vec![1.0, -1.0], vec![1.0, -1.0]];
    assert_eq!(refused(&two, &variances, &contradicting, &[0.0, 5.0]), LinearError::DependentBalances);
    // The same balance twice is no contradiction.
    let twice = reconcile_network(&two, &variances, &contradicting, &[0.0, 0.0]).expect("consistent");
    assert_eq!(twice.freedom, 1);
}
