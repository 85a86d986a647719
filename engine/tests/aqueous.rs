//! Solutions with constants given in the question, against worked examples and textbook figures.
//!
//! Constants are those printed with each case (CRC Handbook, Skoog, Harris, Stumm and Morgan, mostly from memory), so the
//! answers test the method alone; tolerances are those of the printed digits or of the choice of Davies' coefficient.

use engine::aqueous::dose::{Mixture, Reagent, best_excess, curve, dissolved, to_ph};
use engine::aqueous::network::{Activity, Dissolved, Network, Phase};
use engine::aqueous::speciate::{Solver, Status};
use engine::aqueous::water::MOLAR_MASS;
use proptest::prelude::*;

const WATER: f64 = 1.0 / MOLAR_MASS;

#[track_caller]
fn close(found: f64, expected: f64, tolerance: f64) {
    assert!((found - expected).abs() <= tolerance, "found {found}, expected {expected} ± {tolerance}");
}

#[track_caller]
fn near(found: f64, expected: f64, relative: f64) {
    assert!((found / expected - 1.0).abs() <= relative, "found {found}, expected {expected} within {relative}");
}

fn species(charge: i32, parts: &[(usize, f64)], water: f64, log_k: f64) -> Dissolved {
    Dissolved { charge, size: None, parts: parts.to_vec(), water, log_k }
}

fn phase(parts: &[(usize, f64)], log_k: f64) -> Phase {
    Phase { parts: parts.to_vec(), water: 0.0, log_k }
}

/// Masters by their charges behind the hydrogen ion, which is number 0; then hydroxide and further species.
fn solver(charges: &[i32], pk_water: f64, more: Vec<Dissolved>, solids: Vec<Phase>, activity: Activity) -> Solver {
    with_gases(charges, pk_water, more, solids, Vec::new(), activity)
}

fn with_gases(
    charges: &[i32],
    pk_water: f64,
    more: Vec<Dissolved>,
    solids: Vec<Phase>,
    gases: Vec<Phase>,
    activity: Activity,
) -> Solver {
    let mut list = vec![species(1, &[(0, 1.0)], 0.0, 0.0)];
    list.extend(charges.iter().enumerate().map(|(n, charge)| species(*charge, &[(n + 1, 1.0)], 0.0, 0.0)));
    // With activities taken as molalities water is not counted: textbook figures do not count it either.
    list.push(species(-1, &[(0, -1.0)], 0.0, -pk_water));
    list.extend(more);
    let network = Network::new(charges.len() + 1, list, solids, gases, activity, 298.15).expect("it fits together");
    Solver::new(network)
}

#[track_caller]
fn solve(solver: &mut Solver, totals: &[f64]) {
    let report = solver.solve(totals, WATER, false);
    assert_eq!(report.status, Status::Solved, "{report:?}");
    assert!(report.residual < 1e-10 && report.charge.abs() < 1e-10, "{report:?}");
}

/// Acids and salts with ideal activities, pKw 13.997: textbook set (Skoog; Harris), to 0.01.
#[test]
fn textbook_ph() {
    let acid = |pk: f64| species(0, &[(0, 1.0), (1, 1.0)], 0.0, pk);
    let mut acetic = solver(&[-1, 1], 13.997, vec![acid(4.756)], vec![], Activity::Ideal);
    solve(&mut acetic, &[0.1, 0.1, 0.0]);
    close(acetic.ph(), 2.8809, 0.01);
    solve(&mut acetic, &[0.0, 0.1, 0.1]);
    close(acetic.ph(), 8.8763, 0.01);
    let carbonic =
        vec![species(-1, &[(0, 1.0), (1, 1.0)], 0.0, 10.329), species(0, &[(0, 2.0), (1, 1.0)], 0.0, 16.681)];
    let mut carbonate = solver(&[-2, 1], 13.997, carbonic, vec![], Activity::Ideal);
    solve(&mut carbonate, &[0.1, 0.1, 0.1]);
    close(carbonate.ph(), 8.3400, 0.01);
    solve(&mut carbonate, &[0.0, 0.1, 0.2]);
    close(carbonate.ph(), 11.6527, 0.01);
    let ammonia = vec![species(0, &[(0, -1.0), (1, 1.0)], 0.0, -9.245)];
    let mut ammonium = solver(&[1, -1], 13.997, ammonia, vec![], Activity::Ideal);
    solve(&mut ammonium, &[0.0, 0.1, 0.1]);
    close(ammonium.ph(), 5.1225, 0.01);
    let mut chloride = solver(&[-1], 13.997, vec![], vec![], Activity::Ideal);
    solve(&mut chloride, &[1e-7, 1e-7]);
    close(chloride.ph(), 6.7901, 0.01);
    let phosphoric = vec![
        species(-2, &[(0, 1.0), (1, 1.0)], 0.0, 12.35),
        species(-1, &[(0, 2.0), (1, 1.0)], 0.0, 19.548),
        species(0, &[(0, 3.0), (1, 1.0)], 0.0, 21.696),
    ];
    let mut phosphate = solver(&[-3, 1], 13.997, phosphoric, vec![], Activity::Ideal);
    solve(&mut phosphate, &[0.2, 0.1, 0.1]);
    close(phosphate.ph(), 4.688, 0.01);
}

/// 25.00 mL of 0.1000 mol/L oxalic acid with 0.1000 mol/L sodium hydroxide, pKa 1.252 and 4.266: pH to 0.01. Taken per
/// litre of what is together in the flask.
#[test]
fn titration_of_oxalic_acid() {
    let acid = vec![species(-1, &[(0, 1.0), (1, 1.0)], 0.0, 4.266), species(0, &[(0, 2.0), (1, 1.0)], 0.0, 5.518)];
    let mut solver = solver(&[-2, 1], 13.997, acid, vec![], Activity::Ideal);
    for (volume, ph) in [(0.0, 1.2844), (12.5, 1.7548), (25.0, 2.9297), (37.5, 4.2696), (50.0, 8.3930), (60.0, 12.0671)]
    {
        let (acid, base) = (0.1 * 25.0 / (25.0 + volume), 0.1 * volume / (25.0 + volume));
        solve(&mut solver, &[2.0 * acid - base, acid, base]);
        close(solver.ph(), ph, 0.01);
    }
}

/// Gypsum with Davies' equation and an ion pair of log K 2.30, log Ksp −4.58: 16.07 mmol/kg in all, 10.82 free, 5.25 paired;
/// without either 5.13. Tolerances 0.3, 0.4, 0.2 (choice of the coefficient A).
#[test]
fn gypsum_with_a_pair() {
    let pair = vec![species(0, &[(1, 1.0), (2, 1.0)], 0.0, 2.30)];
    let solid = phase(&[(1, 1.0), (2, 1.0)], -4.58);
    let mut gypsum = solver(&[2, -2], 13.997, pair, vec![solid.clone()], Activity::Charge);
    solve(&mut gypsum, &[0.0, 0.1, 0.1]);
    close(1e3 * dissolved(&gypsum, 1), 16.069, 0.3);
    close(1e3 * gypsum.molalities()[1], 10.82, 0.4);
    close(1e3 * gypsum.molalities()[4], 5.248, 0.2);
    let mut ideal = solver(&[2, -2], 13.997, vec![], vec![solid], Activity::Ideal);
    solve(&mut ideal, &[0.0, 0.1, 0.1]);
    close(1e3 * dissolved(&ideal, 1), 5.1286, 0.02);
}

/// Barium sulfate (Ksp 1.08e-10) in 0.010 mol/L sodium sulfate and in 0.10 mol/L potassium nitrate, Davies 1962: 4 and 5 %.
#[test]
fn barium_sulfate_and_other_salts() {
    let solid = phase(&[(1, 1.0), (2, 1.0)], 1.08e-10f64.log10());
    // Barium, sulfate, sodium, nitrate.
    let mut salts = solver(&[2, -2, 1, -1], 13.997, vec![], vec![solid], Activity::Charge);
    solve(&mut salts, &[0.0, 1e-3, 0.011, 0.02, 0.0]);
    near(dissolved(&salts, 1), 3.9633e-8, 0.04);
    solve(&mut salts, &[0.0, 1e-3, 1e-3, 0.1, 0.1]);
    near(dissolved(&salts, 1), 2.7853e-5, 0.05);
}

/// Calcium oxalate (Ksp 2.32e-9, pKa 1.252 and 4.266) at given pH, ideal: 1 %; with a pair of log K 3.19 at pH 7: 2 %.
#[test]
fn calcium_oxalate_in_acid() {
    let acid = || vec![species(-1, &[(0, 1.0), (1, 1.0)], 0.0, 4.266), species(0, &[(0, 2.0), (1, 1.0)], 0.0, 5.518)];
    let solid = phase(&[(2, 1.0), (1, 1.0)], 2.32e-9f64.log10());
    for (ph, solubility) in [(7.0, 4.8211e-5), (4.0, 8.1290e-5), (2.0, 7.1192e-4), (1.0, 3.4539e-3)] {
        let held = vec![phase(&[(0, 1.0)], -ph)];
        let mut one = with_gases(&[-2, 2], 13.997, acid(), vec![solid.clone()], held, Activity::Ideal);
        let report = one.solve(&[0.0, 0.01, 0.01], WATER, false);
        assert_eq!(report.status, Status::Solved);
        near(dissolved(&one, 2), solubility, 0.01);
    }
    let mut more = acid();
    more.push(species(0, &[(2, 1.0), (1, 1.0)], 0.0, 3.19));
    let mut paired = with_gases(&[-2, 2], 13.997, more, vec![solid], vec![phase(&[(0, 1.0)], -7.0)], Activity::Ideal);
    assert_eq!(paired.solve(&[0.0, 0.01, 0.01], WATER, false).status, Status::Solved);
    near(dissolved(&paired, 2), 5.1804e-5, 0.02);
}

/// Where hydroxides start and iron(III) is done (ideal, Kw 1e-14, no hydroxo complexes; CRC solubility products): pH to 0.02.
#[test]
fn hydroxides_one_after_another() {
    let start = |ksp: f64, total: f64, charge: i32| {
        let n = f64::from(charge);
        let solid = phase(&[(1, 1.0), (0, -n)], ksp.log10() + 14.0 * n);
        let mut one = solver(&[charge, -1, 1], 14.0, vec![], vec![solid], Activity::Ideal);
        // Metal, its anion, the base's ion: the largest dose without a solid.
        let (mut low, mut high) = (-0.3, 0.3);
        for _ in 0..60 {
            let middle: f64 = 0.5 * (low + high);
            let totals = [-middle, total, n * total + (-middle).max(0.0), middle.max(0.0)];
            solve(&mut one, &totals);
            if one.solid(0) > 0.0 { high = middle } else { low = middle }
        }
        one.ph()
    };
    close(start(3e-17, 0.1, 2), 6.2386, 0.02);
    close(start(1.9e-13, 0.1, 2), 8.1394, 0.02);
    close(start(4.87e-17, 0.1, 2), 6.3438, 0.02);
    // Iron(III) down to 1e-5 mol/L.
    close(start(2.79e-39, 1e-5, 3), 2.8152, 0.02);
}

/// Copper hydroxide (Ksp 2.2e-20) in ammonia held at 1.00 mol/L free, log β 4.04, 7.47, 10.27, 11.75, pH from
/// √(Kb [NH3]): 7.10e-4 mol/L dissolved, 2 %.
#[test]
fn copper_hydroxide_in_ammonia() {
    let ph = 14.0 + 4.242_640_687e-3f64.log10();
    // Copper, ammonia as a neutral master.
    let ammines = [4.04, 7.47, 10.27, 11.75].iter().enumerate();
    let ammines = ammines.map(|(n, beta)| species(2, &[(1, 1.0), (2, n as f64 + 1.0)], 0.0, *beta)).collect();
    let solid = phase(&[(1, 1.0), (0, -2.0)], 2.2e-20f64.log10() + 28.0);
    let held = vec![phase(&[(0, 1.0)], -ph), phase(&[(2, 1.0)], 0.0)];
    let mut one = with_gases(&[2, 0], 14.0, ammines, vec![solid], held, Activity::Ideal);
    assert_eq!(one.solve(&[0.0, 0.01, 1.0], WATER, false).status, Status::Solved);
    near(dissolved(&one, 1), 7.101e-4, 0.02);
}

/// Rain and calcite water under 4.20e-4 atm of carbon dioxide (log KH −1.468, pK 6.352 and 10.329, log Ksp −8.48; Stumm and
/// Morgan, Aquatic Chemistry): pH to 0.01 and 0.03, calcium to 4 %.
#[test]
fn rain_and_calcite_water() {
    let acid = || vec![species(-1, &[(0, 1.0), (1, 1.0)], 0.0, 10.329), species(0, &[(0, 2.0), (1, 1.0)], 0.0, 16.681)];
    let gas = || vec![phase(&[(0, 2.0), (1, 1.0)], 4.20e-4f64.log10() - 1.468 - 16.681)];
    let mut rain = with_gases(&[-2], 13.997, acid(), vec![], gas(), Activity::Ideal);
    solve(&mut rain, &[0.0, 0.0]);
    close(rain.ph(), 5.5980, 0.01);
    assert!(rain.taken_up(0) > 1e-5);
    let calcite = phase(&[(2, 1.0), (1, 1.0)], -8.48);
    let mut hard = with_gases(&[-2, 2], 13.997, acid(), vec![calcite], gas(), Activity::Charge);
    solve(&mut hard, &[0.0, 0.01, 0.01]);
    close(hard.ph(), 8.1978, 0.03);
    near(dissolved(&hard, 2), 5.3367e-4, 0.04);
}

/// Zinc oxalate in an excess of oxalate (Ksp 1.38e-9, log β 4.9 and 7.6, ideal): 8.3 mg/L at 1.6e-4 mol/L free oxalate,
/// 43 at 0.01, 366 at 0.1 (worked by hand from s = Ksp (1/x + β1 + β2 x)).
#[test]
fn too_much_oxalate_takes_zinc_back() {
    let complexes = || vec![species(0, &[(1, 1.0), (2, 1.0)], 0.0, 4.9), species(-2, &[(1, 1.0), (2, 2.0)], 0.0, 7.6)];
    let solid = phase(&[(1, 1.0), (2, 1.0)], 1.38e-9f64.log10());
    let milligrams = 65.38e3;
    for (free, left) in [(1.6e-4, 8.3), (0.01, 43.0), (0.1, 366.0)] {
        let held = vec![phase(&[(2, 1.0)], f64::log10(free))];
        let mut one = with_gases(&[2, -2], 14.0, complexes(), vec![solid.clone()], held, Activity::Ideal);
        assert_eq!(one.solve(&[0.0, 0.1, 0.1], WATER, false).status, Status::Solved);
        near(milligrams * dissolved(&one, 1), left, 0.02);
    }
    let mut closed = solver(&[2, -2, 1, -2], 14.0, complexes(), vec![solid], Activity::Ideal);
    let mixture = Mixture { totals: vec![0.0, 0.1, 0.0, 0.0, 0.1], water: WATER };
    let sodium_oxalate = Reagent { parts: vec![(2, 1.0), (3, 2.0)], water: 0.0 };
    let (amount, left) =
        best_excess(&mut closed, &mixture, &sodium_oxalate, 1, (1e-3, 1.0)).expect("there is a minimum");
    near(milligrams * left, 8.3, 0.02);
    close(closed.molalities()[2], 1.6e-4, 0.1e-4);
    assert!(amount > 0.1 && amount < 0.101);
}

/// What every law asks of every solution: a metal with an anion that binds and precipitates it, an acid, a base.
fn any_solver(log_beta: f64, log_ksp: f64, pka: f64, activity: Activity) -> Solver {
    let more = vec![
        species(1, &[(1, 1.0), (0, -1.0)], 1.0, -8.0),
        species(-1, &[(2, 1.0), (0, 1.0)], 0.0, pka),
        species(0, &[(2, 1.0), (0, 2.0)], 0.0, pka + 2.0),
        species(0, &[(1, 1.0), (2, 1.0)], 0.0, log_beta),
        species(-2, &[(1, 1.0), (2, 2.0)], 0.0, 1.6 * log_beta),
    ];
    let solids = vec![phase(&[(1, 1.0), (2, 1.0)], log_ksp), phase(&[(1, 1.0), (0, -2.0)], 12.0)];
    solver(&[2, -2, 1, -1], 14.0, more, solids, activity)
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(200))]

    /// Balances close, nothing allowed is supersaturated, no solid is less than nothing.
    #[test]
    fn solutions_close(
        metal in -9.0..0.5_f64, ligand in -9.0..0.5_f64, base in -9.0..0.5_f64, acid in -9.0..0.5_f64,
        beta in 1.0..8.0_f64, ksp in -20.0..-2.0_f64, pka in 2.0..12.0_f64, charge in proptest::bool::ANY,
    ) {
        let activity = if charge { Activity::Charge } else { Activity::Ideal };
        let mut one = any_solver(beta, ksp, pka, activity);
        let [m, l, b, a] = [metal, ligand, base, acid].map(|log| 10f64.powf(log));
        // Metal as chloride, ligand as sodium salt, base and acid.
        let totals = [a - b, m, l, 2.0 * l + b, 2.0 * m + a];
        let report = one.solve(&totals, WATER, false);
        prop_assert_eq!(report.status, Status::Solved, "{:?}", report);
        prop_assert!(report.residual < 1e-10 && report.charge.abs() < 1e-10, "{:?}", report);
        for solid in 0..2 {
            prop_assert!(one.solid(solid) >= 0.0 && one.saturation_index(solid) < 1e-6);
            prop_assert!(one.solid(solid) == 0.0 || one.saturation_index(solid).abs() < 1e-6);
        }
    }

    /// pH rises with base all along a titration, and a dose found leads where it should.
    #[test]
    fn titrations_rise(metal in -5.0..-0.5_f64, ligand in -5.0..-0.5_f64, beta in 1.0..6.0_f64, ksp in -14.0..-3.0_f64,
        pka in 2.0..11.0_f64, target in 2.5..12.0_f64) {
        let mut one = any_solver(beta, ksp, pka, Activity::Charge);
        let (m, l) = (10f64.powf(metal), 10f64.powf(ligand));
        let acid = 0.02;
        let mixture = Mixture { totals: vec![2.0 * l + acid, m, l, 0.0, 2.0 * m + acid], water: WATER };
        let base = Reagent { parts: vec![(3, 1.0), (0, -1.0)], water: 1.0 };
        let amounts: Vec<f64> = (0..40).map(|n| f64::from(n) / 39.0 * (2.0 * acid + 2.0 * l + 2.0 * m)).collect();
        let mut points = Vec::new();
        curve(&mut one, &mixture, &base, &amounts, &mut points);
        prop_assert!(points.iter().all(|p| p.status == Status::Solved), "{:?}", points);
        // Two solids with the solution leave pH where it is: then it may stand still.
        prop_assert!(points.windows(2).all(|p| p[1].ph > p[0].ph - 1e-9), "{:?}", points);
        if let Ok(dose) = to_ph(&mut one, &mixture, &base, target, (0.0, 5.0)) {
            prop_assert!((one.ph() - target).abs() < 1e-6 || dose.slope.abs() > 1e8);
        }
    }

    /// Diluted enough, activities make no difference.
    #[test]
    fn dilution_leads_to_the_ideal(salt in -12.0..-6.0_f64, pka in 3.0..10.0_f64) {
        let s = 10f64.powf(salt);
        let at = |activity| {
            let mut one = any_solver(2.0, -2.0, pka, activity);
            one.solve(&[0.0, s, s, 2.0 * s, 2.0 * s], WATER, false);
            one.ph()
        };
        prop_assert!((at(Activity::Charge) - at(Activity::Ideal)).abs() < 10.0 * s.sqrt());
    }
}
