//! Do gases, rooms and mixtures come to what published examples say?

use engine::hazard::*;

fn close(found: f64, expected: f64, tolerance: f64) {
    assert!((found - expected).abs() <= tolerance, "found {found}, expected {expected} ± {tolerance}");
}

/// Calculated from the formulas with the ideal gas at 25 °C and 1 atm.
#[test]
fn gas_from_reagents() {
    let litres = |amount: f64| 1e3 * gas_volume(amount, 298.15, ATMOSPHERE);
    close(litres(5.00 / 65.38), 1.871, 0.01);
    close(litres(10.0 / 100.086), 2.444, 0.01);
    close(litres(2.0 * 10.0 / 179.89), 2.720, 0.01);
    close(1e3 * gas_volume(4.0 * 10.0 / 179.89, 673.15, ATMOSPHERE), 12.28, 0.03);
}

/// 1.00 g CO and 1.00 g SO2 in 30 m³; limits 20 ppm and 0.5 ppm (Directive (EU) 2017/164, from memory); 6 changes of air in
/// an hour. 25.0 g FeC2O4·2H2O in 40 m³.
#[test]
fn gas_in_a_room() {
    let litres = |mass: f64, molar: f64| gas_volume(mass / molar, 298.15, ATMOSPHERE);
    let (co, so2) = (litres(1.0, 28.01), litres(1.0, 64.06));
    close(parts_per_million(co, 30.0), 29.115, 0.2);
    close(parts_per_million(so2, 30.0), 12.731, 0.1);
    close(thinning_air(co, 20.0), 43.67, 0.3);
    close(thinning_air(so2, 0.5), 763.85, 4.0);
    let changes = 6.0 / 3600.0;
    close(airing_time(29.115, 20.0, changes) / 60.0, 3.755, 0.1);
    close(airing_time(12.731, 0.5, changes) / 60.0, 32.37, 0.2);
    close(airing_time(1.0, 20.0, changes), 0.0, 0.0);
    let co = litres(25.0 / 179.89 * 28.01, 28.01);
    close(1e3 * co, 3.400, 0.02);
    close(parts_per_million(co, 40.0), 85.0, 0.5);
    close(thinning_air(co, 20.0), 170.0, 0.5);
    close(parts_per_million(co, 40.0) / 1200.0, 0.07083, 0.001);
}

/// UN GHS, worked examples of acute toxicity by additivity (ST/SG/AC.10/C.4/2008/23, annex 2; Rev. 9, 3.1.3.6).
#[test]
fn toxicity_of_mixtures() {
    use Toxicity::{Estimate, None as Nothing, Unknown};
    let first = mixture_toxicity(&[(16.0, Estimate(1600.0)), (4.0, Estimate(200.0)), (80.0, Estimate(3450.0))]);
    close(first.estimate.unwrap_or(0.0), 1880.1, 2.0);
    assert_eq!(acute_category(first.estimate.unwrap_or(0.0), &ORAL), Some(4));
    // 5 % above 5000, 5 % at 5400 and 86 % without signs at the limit dose count for nothing.
    let third = mixture_toxicity(&[(4.0, Estimate(1737.0)), (5.0, Nothing), (5.0, Nothing), (86.0, Nothing)]);
    close(third.estimate.unwrap_or(0.0), 43425.0, 5.0);
    assert_eq!(third.ignored, [1, 2, 3]);
    assert_eq!(acute_category(third.estimate.unwrap_or(0.0), &ORAL), None);
    let oral = [(26.0, Estimate(2737.0)), (23.0, Estimate(4500.0)), (11.0, Nothing), (40.0, Estimate(400.0))];
    let oral = mixture_toxicity(&oral);
    close(oral.estimate.unwrap_or(0.0), 872.5, 2.0);
    assert_eq!(acute_category(oral.estimate.unwrap_or(0.0), &ORAL), Some(4));
    let vapour = [(26.0, Estimate(11.0)), (23.0, Estimate(19.0)), (11.0, Unknown), (40.0, Estimate(4.0))];
    let vapour = mixture_toxicity(&vapour);
    close(vapour.estimate.unwrap_or(0.0), 6.557, 0.05);
    assert_eq!(acute_category(vapour.estimate.unwrap_or(0.0), &VAPOUR), Some(3));
    close(vapour.unknown, 11.0, 0.0);
    assert!(vapour.unknown >= UNKNOWN_TOLD && vapour.ignored.is_empty());
    assert_eq!(mixture_toxicity(&[(100.0, Nothing)]).estimate, None);
}

/// Limits of UN GHS Rev. 9, tables 3.2.3, 3.3.3 and 4.1.4, at their edges.
#[test]
fn skin_eyes_and_water_life() {
    use Corrosion::{Eye1, Eye2, Skin1, Skin2};
    let of = |list: &[(f64, Corrosion)]| mixture_corrosion(list, 0.0);
    assert_eq!(of(&[(5.0, Skin1)]), MixtureCorrosion { skin: Some(1), eye: Some(1) });
    assert_eq!(of(&[(4.9, Skin1)]), MixtureCorrosion { skin: Some(2), eye: Some(1) });
    assert_eq!(of(&[(2.9, Skin1)]), MixtureCorrosion { skin: Some(2), eye: Some(2) });
    assert_eq!(of(&[(10.0, Skin2)]).skin, Some(2));
    assert_eq!(of(&[(9.9, Skin2)]).skin, None);
    assert_eq!(of(&[(3.0, Eye1)]).eye, Some(1));
    assert_eq!(of(&[(0.5, Eye1), (5.0, Eye2)]).eye, Some(2));
    assert_eq!(of(&[(0.4, Eye1)]).eye, None);
    assert_eq!(mixture_corrosion(&[], 1.0).skin, Some(1));
    // 1 % lye, whose own limit is 2 %, with 2.5 % of another corrosive: a half and a half.
    let lye = Corrosion::Own([2.0, 0.5, f64::INFINITY, 0.5]);
    assert_eq!(of(&[(1.0, lye), (2.5, Skin1)]).skin, Some(1));
    assert_eq!(of(&[(1.0, lye)]), MixtureCorrosion { skin: Some(2), eye: Some(2) });
    assert!(mixture_acute_aquatic(&[(10.0, 1.0), (15.0, 1.0)]) && !mixture_acute_aquatic(&[(24.0, 1.0)]));
    assert_eq!(mixture_aquatic(&[(25.0, 1, 1.0)]), Some(1));
    assert_eq!(mixture_aquatic(&[(2.5, 1, 10.0)]), Some(1));
    assert_eq!(mixture_aquatic(&[(2.5, 1, 1.0)]), Some(2));
    assert_eq!(mixture_aquatic(&[(0.25, 1, 1.0)]), Some(3));
    assert_eq!(mixture_aquatic(&[(0.2, 1, 1.0)]), None);
}

/// Oxygen balances of textbooks, percent.
#[test]
fn oxygen_balances() {
    for (oxygen, burning, mass, balance) in [
        (3.0, 2.0, 80.04, 20.0),     // ammonium nitrate
        (4.0, 0.0, 138.55, 46.2),    // potassium perchlorate
        (11.0, 35.0, 342.3, -112.2), // sucrose
    ] {
        close(oxygen_balance(oxygen, burning, mass), balance, 0.2);
    }
}

#[test]
fn a_weighing_list_needs_all_four_conditions() {
    let good = MetalReduction { is_target: true, simple_oxide: true, gas: Some(1.9), release: Some(149e3) };
    assert_eq!(withheld(&good), []);
    for (case, reason) in [
        (MetalReduction { is_target: false, ..good }, Withheld::NotTheTarget),
        (MetalReduction { simple_oxide: false, ..good }, Withheld::NotASimpleOxide),
        (MetalReduction { gas: None, ..good }, Withheld::GasUnknown),
        (MetalReduction { gas: Some(2.1), ..good }, Withheld::TooMuchGas),
        (MetalReduction { gas: Some(f64::NAN), ..good }, Withheld::TooMuchGas),
        (MetalReduction { release: None, ..good }, Withheld::ReleaseUnknown),
        (MetalReduction { release: Some(151e3), ..good }, Withheld::TooMuchRelease),
    ] {
        assert_eq!(withheld(&case), [reason]);
    }
}

#[test]
fn a_mix_is_judged_by_what_is_known() {
    let mix = Mix { oxygen: 1.0, fuel: 1.0, mass: 0.1, ..Mix::default() };
    assert!(is_energetic(&mix), "nothing known: by composition");
    assert!(!is_energetic(&Mix { fuel: 0.0, ..mix }) && !is_energetic(&Mix { oxygen: 0.01, ..mix }));
    assert!(!is_energetic(&Mix { heat: Some(100e3), ..mix }) && is_energetic(&Mix { heat: Some(900e3), ..mix }));
    assert!(!is_energetic(&Mix { heat: Some(900e3), flame: Some(900.0), ..mix }));
}

/// 92 g of 98 % sulfuric acid give some 70 kJ to 592 g of mixture: about 30 K (heat from memory).
#[test]
fn warm_batches() {
    close(temperature_rise(70e3, 0.592, 3900.0).unwrap_or(0.0), 30.0, 1.0);
    assert_eq!(temperature_rise(1.0, 0.0, 1.0), None);
    close(steam(0.1, 1000.0, 1173.15) * 1e3, 35.4, 0.5);
    close(steam(0.1, 1000.0, 300.0), 0.0, 0.0);
}
