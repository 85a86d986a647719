//! Reconciliation within bounds and with balances that are not linear, against published examples and outside solvers.

use engine::account::fit::Status;
use engine::account::gravimetric::Figure;
use engine::account::linear::LinearError;
use engine::account::linear::bilinear::{Reading, Streams, reconcile_streams};
use engine::account::linear::bounds::{At, reconcile_within};
use engine::account::linear::curved::{CurvedSettings, Excess, reconcile_curved};
use engine::account::linear::network::{Knowable, reconcile_network};
use proptest::prelude::*;

fn close(found: f64, expected: f64, tolerance: f64) {
    assert!((found - expected).abs() <= tolerance, "found {found}, expected {expected} ± {tolerance}");
}

fn diagonal(variances: &[f64]) -> Vec<Vec<f64>> {
    let n = variances.len();
    (0..n).map(|i| (0..n).map(|k| if i == k { variances[i] } else { 0.0 }).collect()).collect()
}

/// Five readings and three quantities that are not read, six balances with products, squares and a root. Source: C. C. D. Pai
/// and G. D. Fisher, AIChE J. 34 (1988) 873 (readings and answer read from a public collection of reconciliation problems);
/// printed to five figures.
#[test]
fn curved_balances_of_pai_and_fisher() {
    let measured = [Some(4.4), Some(5.5), Some(1.7), Some(1.6), Some(5.0), None, None, None];
    let start = [4.4, 5.5, 1.7, 1.6, 5.0, 8.0, 0.7, 1.8];
    let wide = [(f64::NEG_INFINITY, f64::INFINITY); 8];
    let covariance = diagonal(&[1.0; 8]);
    let found = reconcile_curved(&measured, &covariance, &pai_and_fisher, &start, &wide, &CurvedSettings::default())
        .expect("sound");
    assert_eq!(found.status, Status::Solved);
    assert_eq!(found.network.freedom, 3);
    let printed = [
        (4.5124, 5e-5),
        (5.5819, 5e-5),
        (1.9260, 5e-5),
        (1.4560, 5e-5),
        (4.8545, 5e-5),
        (11.070, 5e-4),
        (0.61467, 5e-6),
        (2.0504, 5e-5),
    ];
    for (value, (printed, half)) in found.network.values.iter().zip(printed) {
        close(value.expect("fixed"), printed, half);
    }
}

fn pai_and_fisher(values: &[f64]) -> Excess {
    let [a, b, c, d, e, u, v, w] = values else { return Excess::default() };
    let root = w.sqrt();
    Excess {
        excess: vec![
            0.5 * a * a - 0.7 * b + c * u + u * v * b * b + 2.0 * c * w * w - 255.8,
            a - 2.0 * b + 3.0 * a * c - 2.0 * b * u - b * v * w + 111.2,
            c * u - a + 3.0 * b + a * v - c * root - 33.57,
            d - a - c * c + v + 3.0 * w,
            e - 2.0 * c * v * w,
            2.0 * a + b * c * u + v - w - 126.6,
        ],
        slopes: vec![
            vec![*a, -0.7 + 2.0 * u * v * b, u + 2.0 * w * w, 0.0, 0.0, c + v * b * b, u * b * b, 4.0 * c * w],
            vec![1.0 + 3.0 * c, -2.0 - 2.0 * u - v * w, 3.0 * a, 0.0, 0.0, -2.0 * b, -b * w, -b * v],
            vec![-1.0 + v, 3.0, u - root, 0.0, 0.0, *c, *a, -0.5 * c / root],
            vec![-1.0, 0.0, -2.0 * c, 1.0, 0.0, 0.0, 1.0, 3.0],
            vec![0.0, 0.0, -2.0 * v * w, 0.0, 1.0, 0.0, -2.0 * c * w, -2.0 * c * v],
            vec![2.0, c * u, b * u, 0.0, 0.0, b * c, 1.0, -1.0],
        ],
    }
}

/// A copper and zinc flotation circuit: feed split in two banks, four products, two cleaners. Flows of seven streams of
/// eleven are read, and assays of six components in part; each to 1 % of itself, at least 0.01 % of the stream. Readings:
/// R. R. Rao and S. Narasimhan, Ind. Eng. Chem. Res. 35 (1996) 1362 (read from a public collection of reconciliation
/// problems). The reconciled figures are those of a general solver (sequential quadratic programming of SciPy) on the same
/// problem, good to the figures given.
#[test]
fn flotation_circuit_with_assays() {
    const FLOWS: [f64; 11] = [3707.0, -1.0, -1.0, 2910.0, 737.0, 26.0, 7.6, 105.0, -1.0, 57.0, -1.0];
    // One row for each component, percent; −1 is not read, 0 cannot be there.
    const ASSAYS: [[f64; 11]; 6] = [
        [1.64, -1.0, -1.0, 0.0052, 7.42, 0.68, 4.19, 0.11, -1.0, 90.0, 0.006],
        [17.66, -1.0, -1.0, 0.003, 90.6, 53.67, 43.65, 0.08, -1.0, 0.12, 98.75],
        [0.38, -1.0, -1.0, 0.19, 0.001, 30.05, 7.91, 0.12, -1.0, -1.0, -1.0],
        [3.44, -1.0, -1.0, 3.68, 1.17, 11.05, 9.05, 99.54, 0.25, -1.0, 0.88],
        [61.47, -1.0, -1.0, -1.0, 0.79, 4.4, 30.3, -1.0, -1.0, -1.0, 0.7],
        [15.39, 0.0, -1.0, 18.01, 0.0, 0.0, 0.0, 0.0, -1.0, 0.0, 0.0],
    ];
    let reading = |value: f64, least: f64| match value {
        v if v < 0.0 => Reading::Unmeasured,
        v if v > 0.0 => Reading::Measured(Figure { value: v, standard_uncertainty: (0.01 * v).max(least) }),
        v => Reading::Known(v),
    };
    let flows: Vec<Reading> = FLOWS.iter().map(|f| reading(*f, 0.0)).collect();
    let contents: Vec<Vec<Reading>> =
        (0..11).map(|s| ASSAYS.iter().map(|row| reading(row[s] / 100.0, 1e-4)).collect()).collect();
    let part = |ins: &[usize], outs: &[usize]| -> Vec<f64> {
        (1..=11).map(|s| f64::from(u8::from(ins.contains(&s))) - f64::from(u8::from(outs.contains(&s)))).collect()
    };
    let nodes = [part(&[1], &[2, 3]), part(&[2, 3], &[4, 5, 6, 7]), part(&[5], &[10, 11]), part(&[4], &[8, 9])];
    let found = reconcile_streams(&Streams { nodes: &nodes, flows: &flows, contents: &contents, complete: false })
        .expect("sound");
    assert_eq!(found.status, Status::Solved);
    close(found.network.statistic, 136.515_834, 2e-6);
    for (stream, flow) in [(0, 3666.6052), (3, 2910.1552), (4, 722.8581), (5, 25.9906), (8, 2805.7184), (10, 663.9249)]
    {
        close(found.flows[stream].expect("fixed").value, flow, 1e-4);
    }
    // Which bank took how much cannot be known: neither flow nor assay of it was read.
    assert!(found.flows[1].is_none() && found.flows[2].is_none());
    for (stream, component, percent) in [
        (0, 0, 1.53750),
        (0, 1, 18.11315),
        (3, 2, 0.18981),
        (7, 3, 99.00501),
        (8, 1, 0.0),
        (8, 5, 19.34350),
        (9, 0, 92.95248),
    ] {
        close(100.0 * found.contents[stream][component].expect("fixed").value, percent, 1e-5);
    }
    assert!(!found.network.passes(0.95), "the circuit as read does not balance to 1 %");
}

/// One separator, one component, flows read too. Worked by hand with Lagrange multipliers: y = (100, 40, 60) ± 1 closes, so
/// the assays alone are moved; with u(w) alike, wᵢ moves by −λ aᵢ Fᵢ.
#[test]
fn assays_share_what_is_open_by_their_flows() {
    let flow = |value| Reading::Measured(Figure { value, standard_uncertainty: 1e-6 });
    let assay = |value| vec![Reading::Measured(Figure { value, standard_uncertainty: 1e-3 })];
    let found = reconcile_streams(&Streams {
        nodes: &[vec![1.0, -1.0, -1.0]],
        flows: &[flow(100.0), flow(40.0), flow(60.0)],
        contents: &[assay(0.20), assay(0.38), assay(0.09)],
        complete: false,
    })
    .expect("sound");
    // Open: 20 − 15.2 − 5.4 = −0.6; λ = −0.6/(100² + 40² + 60²).
    let lambda = -0.6 / 15_200.0;
    for (stream, (read, by)) in [(0.20, 100.0), (0.38, -40.0), (0.09, -60.0)].into_iter().enumerate() {
        close(found.contents[stream][0].expect("read").value, read - lambda * by, 1e-9);
    }
    close(found.network.statistic, 0.36 / (15_200.0 * 1e-6), 1e-4);
}

/// A flow that the readings would make negative is held at zero, and the readings share what that costs; a bound that
/// does not bind changes nothing.
#[test]
fn a_negative_flow_is_held_at_zero() {
    let balances = [vec![1.0, -1.0, -1.0]];
    let measured = [Some(9.7), Some(10.3), None];
    let covariance = diagonal(&[0.04, 0.04, 0.0]);
    let bounds = [(0.0, f64::INFINITY); 3];
    let held = reconcile_within(&measured, &covariance, &balances, &[0.0], &bounds).expect("sound");
    assert_eq!(held.at, [None, None, Some(At::Least)]);
    close(held.network.values[2].expect("held"), 0.0, 1e-12);
    close(held.network.values[0].expect("read"), 10.0, 1e-12);
    close(held.strain, 0.6 * 0.6 / 0.08, 1e-9);
    let wide = reconcile_within(&measured, &covariance, &balances, &[0.0], &[(-5.0, 50.0); 3]).expect("sound");
    assert_eq!(wide.at, [None; 3]);
    close(wide.network.values[2].expect("fixed"), -0.6, 1e-12);
    assert_eq!(wide.network.classes[2], Knowable::Observable);
}

#[test]
fn bounds_that_leave_no_room_are_said() {
    let balances = [vec![1.0, -1.0, -1.0]];
    let measured = [Some(10.0), Some(6.0), Some(4.0)];
    let covariance = diagonal(&[1.0; 3]);
    let bounds = [(12.0, 20.0), (0.0, 5.0), (0.0, 5.0)];
    let refused = reconcile_within(&measured, &covariance, &balances, &[0.0], &bounds).err();
    assert_eq!(refused, Some(LinearError::NoRoom));
    let crossed = reconcile_within(&measured, &covariance, &balances, &[0.0], &[(1.0, 0.0); 3]).err();
    assert_eq!(crossed, Some(LinearError::Shape));
}

proptest! {
    /// What makes an answer the best within bounds (Karush, Kuhn and Tucker): it keeps balances and bounds, and no
    /// direction that they allow makes the misfit smaller.
    #[test]
    fn no_allowed_direction_is_better(
        readings in prop::collection::vec(-3.0..10.0f64, 6),
        deviations in prop::collection::vec(0.1..2.0f64, 6),
        coefficients in prop::collection::vec(-1.0..1.0f64, 12),
        directions in prop::collection::vec(-1.0..1.0f64, 6),
    ) {
        let measured: Vec<Option<f64>> = readings.iter().map(|y| Some(*y)).collect();
        let variances: Vec<f64> = deviations.iter().map(|u| u * u).collect();
        let balances: Vec<Vec<f64>> = coefficients.chunks(6).map(<[f64]>::to_vec).collect();
        let bounds = [(0.0, 4.0); 6];
        let Ok(found) = reconcile_within(&measured, &diagonal(&variances), &balances, &[0.0, 0.0], &bounds) else {
            return Ok(());
        };
        let values: Vec<f64> = found.network.values.iter().map(|v| v.expect("read")).collect();
        for row in &balances {
            prop_assert!(row.iter().zip(&values).map(|(a, x)| a * x).sum::<f64>().abs() < 1e-7);
        }
        prop_assert!(values.iter().all(|x| (-1e-7..4.0 + 1e-7).contains(x)));
        // A feasible neighbour: the same problem with other readings.
        let other: Vec<Option<f64>> = readings.iter().zip(&directions).map(|(y, d)| Some(y + 3.0 * d)).collect();
        let Ok(there) = reconcile_within(&other, &diagonal(&variances), &balances, &[0.0, 0.0], &bounds) else {
            return Ok(());
        };
        let slopes: Vec<f64> = (0..6).map(|i| (readings[i] - values[i]) / variances[i]).collect();
        let downhill: f64 = (0..6).map(|i| (there.network.values[i].expect("read") - values[i]) * slopes[i]).sum();
        // Both points keep bounds and balances to 1e-7, as was seen; no direction is allowed more exactly than that.
        let steepest: f64 = slopes.iter().map(|slope| slope.abs()).sum();
        prop_assert!(downhill < 1e-7 * steepest.max(1.0), "{downhill}");
        let free = reconcile_network(&measured, &diagonal(&variances), &balances, &[0.0, 0.0]).expect("sound");
        prop_assert!(found.network.statistic >= free.statistic - 1e-9);
    }
}
