//! Hard numbers with a page behind them: reconciliation, yields, charges.

use engine::account::Posterior;
use engine::account::gravimetric::{Figure, PortionWeighings, element_in_bulk, product, quotient};
use engine::account::linear::{LinearError, reconcile};
use engine::account::sampler::{SamplerSettings, sample};
use engine::stoichiometry::{charge, feed_for};

fn close(found: f64, expected: f64, tolerance: f64) {
    assert!((found - expected).abs() <= tolerance, "found {found}, expected {expected} ± {tolerance}");
}

fn figure(value: f64, standard_uncertainty: f64) -> Figure {
    Figure { value, standard_uncertainty }
}

const FLOWS: [f64; 6] = [101.91, 64.45, 34.65, 64.20, 36.44, 98.88];

fn exchanger() -> Vec<Vec<f64>> {
    vec![
        vec![1.0, -1.0, -1.0, 0.0, 0.0, 0.0],
        vec![0.0, 1.0, 0.0, -1.0, 0.0, 0.0],
        vec![0.0, 0.0, 1.0, 0.0, -1.0, 0.0],
        vec![0.0, 0.0, 0.0, 1.0, 1.0, -1.0],
    ]
}

/// Heat exchanger with bypass. Source: S. Narasimhan and C. Jordache, Data Reconciliation and Gross Error
/// Detection, Gulf 2000, table 1-1 (from memory); printed to 0.01, so ± 0.005. The standard deviation is
/// 1/√3 exactly: two unknown flows, each seen three times. χ² quantile: any table.
#[test]
fn heat_exchanger_with_bypass() {
    let result = reconcile(&FLOWS, &[1.0; 6], &exchanger(), &[0.0; 4]).expect("independent balances");
    for (found, printed) in result.values.iter().zip([100.22, 64.50, 35.72, 64.50, 35.72, 100.22]) {
        close(*found, printed, 0.005);
    }
    close(result.standard_uncertainties[0], 0.577_350, 1e-5);
    close(result.standard_uncertainties[1], 0.577_350, 1e-5);
    close(result.statistic, 6.4075, 0.005);
    close(result.critical(0.95), 9.487_729, 1e-3);
    assert_eq!(result.freedom, 4);
}

/// The same exchanger as a posterior over its two free flows, nearly flat priors.
struct Exchanger;

impl Exchanger {
    const CENTRE: f64 = 50.0;
    const WIDTH: f64 = 100.0;

    fn flows(z: &[f64]) -> [f64; 6] {
        let (a, b) = (Self::CENTRE + Self::WIDTH * z[0], Self::CENTRE + Self::WIDTH * z[1]);
        [a + b, a, b, a, b, a + b]
    }
}

impl Posterior for Exchanger {
    type Room = ();
    fn dimension(&self) -> usize {
        2
    }
    fn room(&self) {}
    fn log_likelihood(&self, z: &[f64], (): &mut ()) -> f64 {
        Self::flows(z).iter().zip(FLOWS).map(|(x, y)| -0.5 * (y - x).powi(2)).sum()
    }
}

/// The sampler on the same model agrees within four Monte-Carlo standard errors (4000 draws: σ/√4000 for a
/// mean, σ/√8000 for a deviation; moves leave some correlation, so an effective size of half is assumed).
/// Evidence: the Gaussian integral −γ/2 + ln(2π/√det) − ln(2π · 100²) to ± 0.3.
#[test]
fn sampler_agrees_with_the_closed_form() {
    let closed = reconcile(&FLOWS, &[1.0; 6], &exchanger(), &[0.0; 4]).expect("independent balances");
    let settings = SamplerSettings { particles: 4000, ..SamplerSettings::default() };
    let draws = sample(&Exchanger, &settings, |_| {});
    assert!(draws.finished);
    let flows: Vec<[f64; 6]> = draws.z.chunks(2).map(Exchanger::flows).collect();
    let n = 4000.0f64;
    for i in 0..6 {
        let mean = flows.iter().map(|f| f[i]).sum::<f64>() / n;
        let deviation = (flows.iter().map(|f| (f[i] - mean).powi(2)).sum::<f64>() / n).sqrt();
        let u = closed.standard_uncertainties[i];
        close(mean, closed.values[i], 4.0 * u / (n / 2.0).sqrt());
        close(deviation, u, 4.0 * u / n.sqrt());
    }
    // The normal matrix of (a, b) is [[4, 2], [2, 4]] − … : a is seen in 1, 2, 4, 6; b in 1, 3, 5, 6.
    let determinant: f64 = 4.0 * 4.0 - 2.0 * 2.0;
    let exact = -0.5 * closed.statistic
        - 0.5 * determinant.ln()
        - (100f64 * 100.0).ln()
        - 0.5 * ((0.6450f64 - 0.5).powi(2) + (0.3572f64 - 0.5).powi(2));
    close(draws.log_evidence, exact, 0.3);
}

#[test]
fn dependent_balances_are_refused() {
    let twice = vec![vec![1.0, -1.0], vec![2.0, -2.0]];
    assert_eq!(reconcile(&[1.0, 2.0], &[1.0, 1.0], &twice, &[0.0, 0.0]).err(), Some(LinearError::DependentBalances));
    assert_eq!(reconcile(&[1.0], &[0.0], &[vec![1.0]], &[0.0]).err(), Some(LinearError::Variance));
}

/// Copper of one invented run: feed 25.20 ± 0.15 g; product 24.41 ± 0.06, liquor 0.42 ± 0.10, residue
/// 0.12 ± 0.04, allowance 0.15 ± 0.10. The figures follow from the inputs (weighted least squares by hand):
/// residual +0.10 ± 0.22, feed 25.153 ± 0.109, liquor 0.441 ± 0.089, product 24.418 ± 0.058.
#[test]
fn copper_streams_reconcile() {
    let measured = [25.20, 24.41, 0.42, 0.12, 0.15];
    let variances = [0.15f64, 0.06, 0.10, 0.04, 0.10].map(|u| u * u);
    let balance = vec![vec![1.0, -1.0, -1.0, -1.0, -1.0]];
    let result = reconcile(&measured, &variances, &balance, &[0.0]).expect("one balance");
    close(result.values[0], 25.153, 0.0005);
    close(result.standard_uncertainties[0], 0.109, 0.0005);
    close(result.values[2], 0.441, 0.0005);
    close(result.standard_uncertainties[2], 0.089, 0.0005);
    close(result.values[1], 24.418, 0.0005);
    close(result.standard_uncertainties[1], 0.058, 0.0005);
    close(variances.iter().sum::<f64>().sqrt(), 0.22, 0.005);
}

/// 43.90 g of dried precipitate; crucible 25.130, with portion 27.130, with residue 26.522 g, each ± 2 mg.
/// Follows from the inputs: loss 30.40 ± 0.13 %, 24.41 ± 0.045 g Cu, 96.9 ± 0.6 % of 100 g of a label of
/// 98 to 100 % pentahydrate; dry malachite (28.05 %) is 18.7 standard deviations off.
#[test]
fn copper_by_ignition() {
    let weighings = PortionWeighings {
        empty: figure(25.130, 0.002),
        with_portion: figure(27.130, 0.002),
        with_residue: figure(26.522, 0.002),
    };
    let r = weighings.residue_fraction().expect("a portion");
    close(1.0 - r.value, 0.3040, 1e-6);
    close(r.standard_uncertainty, 0.0013, 0.00005);
    let (cu, cuo, malachite) = (63.546, 79.545, 221.114);
    close((1.0 - 2.0 * cuo / malachite - (1.0 - r.value)).abs() / r.standard_uncertainty, 18.7, 0.05);
    let copper = element_in_bulk(figure(43.90, 0.015), 0.0002, r, cu / cuo);
    close(copper.value, 24.41, 0.005);
    close(copper.standard_uncertainty, 0.045, 0.0005);
    let label = figure(99.0 * 0.254_513, 100.0 * 0.254_513 * 0.02 / 12f64.sqrt());
    let yielded = quotient(copper, label);
    close(yielded.value, 0.969, 0.0005);
    close(yielded.standard_uncertainty, 0.006, 0.0005);
}

/// Step yields 0.985 ± 0.005, 0.955 ± 0.02, 0.985 ± 0.005, 0.975 ± 0.01 make 0.903 ± 0.022 (GUM 5.1.6).
#[test]
fn yields_multiply() {
    let overall = product(&[figure(0.985, 0.005), figure(0.955, 0.02), figure(0.985, 0.005), figure(0.975, 0.01)]);
    close(overall.value, 0.903, 0.0005);
    close(overall.standard_uncertainty, 0.022, 0.0005);
}

/// For 0.4005 mol Cu and 10 % excess: 46.7 g soda ash or 126.1 g washing soda, which brings 79 g water.
#[test]
fn soda_by_two_names() {
    close(charge(0.4005, 0.10, 105.988e-3, 1.0), 46.7e-3, 0.05e-3);
    let crystals = charge(0.4005, 0.10, 286.141e-3, 1.0);
    close(crystals, 126.1e-3, 0.05e-3);
    close(crystals / 286.141e-3 * 10.0 * 18.015e-3, 79e-3, 0.5e-3);
}

/// 25.0 g CuO: 78.5 g pure pentahydrate; 87.8 g for the mean, 90.7 g for 90 % chance, with an assay uniform
/// from 98 to 100 % and a yield of 0.903 ± 0.022.
#[test]
fn feed_for_a_wanted_oxide() {
    let theoretical = figure(79.545 / 249.677, 0.0);
    close(25.0 / theoretical.value, 78.5, 0.05);
    let factors = [theoretical, figure(0.99, 0.02 / 12f64.sqrt()), figure(0.903, 0.022)];
    let (mean, likely) = feed_for(25.0, &factors, 0.9);
    close(mean, 87.8, 0.05);
    close(likely, 90.7, 0.05);
}
