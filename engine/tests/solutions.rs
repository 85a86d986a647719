//! Strengths of solutions against tables of concentrated reagents and of concentrative properties.
//!
//! Atomic weights: CIAAW 2021 (Prohaska et al., Pure Appl. Chem. 94 (2022) 573). Densities and the catalogue's figures:
//! CRC Handbook of Chemistry and Physics and reagent catalogues, from memory. With density and mass fraction given, the
//! answers follow by definition; tolerances are those of the digits printed.

use engine::solution::{
    Solution, contraction, from_concentration, from_mass_concentration, from_molality, mixture, molality_sensitivity,
};
use proptest::prelude::*;

const HCL: f64 = 36.458;
const H2SO4: f64 = 98.072;
const NH3: f64 = 17.031;
const HNO3: f64 = 63.012;
const H3PO4: f64 = 97.994;
const NAOH: f64 = 39.997;
const NACL: f64 = 58.44;

#[track_caller]
fn close(found: f64, expected: f64, tolerance: f64) {
    assert!((found - expected).abs() <= tolerance, "found {found}, expected {expected} ± {tolerance}");
}

/// Of `percent` by mass, g/mL and g/mol.
fn solution(percent: f64, density: f64, molar_mass: f64) -> Solution {
    Solution { mass_fraction: percent / 100.0, density: density * 1e3, molar_mass: molar_mass * 1e-3 }
}

/// Commercial concentrated reagents: mol/L to 0.01, mol/kg to 0.05 %, mL of stock for 1 L of 0.1 mol/L to 0.01.
#[test]
fn concentrated_reagents() {
    let table = [
        (37.0, 1.184, HCL, 12.016, 16.109, 8.322),
        (96.0, 1.835, H2SO4, 17.962, 244.718, 5.567),
        (25.0, 0.91, NH3, 13.358, 19.572, 7.486),
        (65.0, 1.391, HNO3, 14.349, 29.473, 6.969),
        (85.0, 1.685, H3PO4, 14.616, 57.827, 6.842),
        (50.0, 1.525, NAOH, 19.064, 25.002, 5.245),
    ];
    for (percent, density, molar_mass, molarity, molality, stock) in table {
        let reagent = solution(percent, density, molar_mass);
        close(reagent.concentration() * 1e-3, molarity, 0.01);
        close(reagent.molality() / molality, 1.0, 5e-4);
        let volume = reagent.volume_for(100.0, 1e-3).expect("it is stronger");
        close(volume * 1e6, stock, 0.01);
    }
    assert_eq!(solution(1.0, 1.0, HCL).volume_for(1000.0, 1e-3), None);
}

/// CRC Handbook, "Concentrative properties of aqueous solutions" at 20 °C (densities, m and c from memory): to 0.003.
#[test]
fn concentrative_properties() {
    let table = [
        (10.0, 1.0707, NACL, 1.9013, 1.8321),
        (10.0, 1.0661, H2SO4, 1.1330, 1.0871),
        (20.0, 1.0980, HCL, 6.8572, 6.0234),
        (20.0, 1.2192, NAOH, 6.2505, 6.0965),
        (20.0, 0.9228, NH3, 14.6791, 10.8367),
    ];
    for (percent, density, molar_mass, molality, molarity) in table {
        let reagent = solution(percent, density, molar_mass);
        close(reagent.molality(), molality, 0.003);
        close(reagent.concentration() * 1e-3, molarity, 0.003);
    }
}

/// 1000 g of 30.0 % sulfuric acid from 98.0 % acid (1.836 g/mL) and water (0.9982): densities of CRC and Perry, from
/// memory. Masses to 0.1 g, volumes to 0.1 mL, contraction 41.2 mL to 0.3 mL.
#[test]
fn dilute_sulfuric_acid_contracts() {
    let (acid, water) = mixture(1.0, 0.300, 0.980, 0.0).expect("between the two");
    close(acid * 1e3, 306.12, 0.1);
    close(water * 1e3, 693.88, 0.1);
    let strong = solution(98.0, 1.836, H2SO4);
    close(strong.volume(acid) * 1e6, 166.73, 0.1);
    close(water / 998.2 * 1e6, 695.13, 0.1);
    close(solution(30.0, 1.2185, H2SO4).volume(1.0) * 1e6, 820.68, 0.1);
    close(contraction(&[(acid, 1836.0), (water, 998.2)], 1218.5) * 1e6, 41.18, 0.3);
    assert_eq!(mixture(1.0, 0.99, 0.98, 0.0), None);
    assert_eq!(mixture(1.0, 0.5, 0.5, 0.5), None);
}

proptest! {
    /// Every way of counting leads back to the mass fraction.
    #[test]
    fn ways_of_counting_agree(w in 1e-6..0.999_f64, density in 600.0..3000.0_f64, molar_mass in 0.01..0.5_f64) {
        let solution = Solution { mass_fraction: w, density, molar_mass };
        let back = [
            from_concentration(solution.concentration(), molar_mass, density),
            from_mass_concentration(solution.mass_concentration(), density),
            from_molality(solution.molality(), molar_mass),
        ];
        prop_assert!(back.iter().all(|again| (again / w - 1.0).abs() < 1e-9), "{back:?}");
        let (b, step) = (solution.molality(), 1e-5);
        let slope = (from_molality(b * (1.0 + step), molar_mass) / w - 1.0) / step;
        prop_assert!((slope - molality_sensitivity(b, molar_mass)).abs() < 1e-3);
    }

    /// A mixture holds the solute of its parts.
    #[test]
    fn mixtures_conserve_the_solute(strong in 0.1..1.0_f64, share in 0.0..1.0_f64, at in 0.0..1.0_f64, mass in 1e-3..10.0_f64) {
        let weak = strong * share * 0.999;
        let wanted = weak + at * (strong - weak);
        let Some((first, second)) = mixture(mass, wanted.min(strong), strong, weak) else {
            return Err(TestCaseError::fail("no mixture"));
        };
        prop_assert!(first >= 0.0 && second >= -1e-12 * mass);
        prop_assert!((first * strong + second * weak - mass * wanted.min(strong)).abs() < 1e-12 * mass);
    }
}
