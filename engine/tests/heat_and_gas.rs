//! Heat of additions, vapour pressure, purging and closed vessels against published figures.
#![allow(clippy::unwrap_used, clippy::expect_used, clippy::indexing_slicing, clippy::float_cmp, missing_docs)]

use engine::gas::{
    CARBON_DIOXIDE_IN_WATER, closed_pressure, cycle_gas, cycles, left_after, left_after_cycles, volumes_swept,
};
use engine::heat::{Batch, Product, addition, adiabatic, cooled_rate, water_vapour};
use engine::thermochemistry::standard::{HeatLaw, of_standard};

#[track_caller]
fn near(found: f64, expected: f64, tolerance: f64, what: &str) {
    assert!((found - expected).abs() <= tolerance, "{what}: {found} instead of {expected} ± {tolerance}");
}

/// IAPWS-95 (W. Wagner, A. Pruss, J. Phys. Chem. Ref. Data 31 (2002) 387), within 0.1 %.
#[test]
fn vapour_pressure_of_water() {
    for (celsius, kilopascal) in [
        (5.0, 0.872_574_861_1),
        (20.0, 2.339_214_767),
        (25.0, 3.169_746_855),
        (40.0, 7.384_427_487),
        (60.0, 19.945_801_92),
        (80.0, 47.414_719_93),
        (100.0, 101.417_977_9),
    ] {
        near(water_vapour(celsius + 273.15) / 1e3, kilopascal, 1e-3 * kilopascal, &format!("{celsius} °C"));
    }
    assert!(water_vapour(200.0).is_nan() && water_vapour(700.0).is_nan());
}

/// D. Crowl, J. Louvar, Chemical Process Safety, examples 7-1 and 7-2 (from memory): 1000 gal of air to 1 ppm oxygen, 4
/// cycles and 1.33 lb-mol by vacuum, 7 cycles and 13.04 lb-mol by pressure.
#[test]
fn vacuum_and_pressure_purging() {
    let psia = 6_894.757;
    let mercury = 133.322_4;
    let gallon = 3.785_411_784e-3;
    let pound_mole = 453.592_37;
    let (volume, t) = (1000.0 * gallon, 535.0 / 1.8);
    let vacuum = cycles(0.21, 1e-6, 20.0 * mercury, 14.7 * psia).unwrap();
    near(vacuum, 3.368_954_651, 0.02, "vacuum");
    assert_eq!(vacuum.ceil(), 4.0);
    near(cycle_gas(4.0, 20.0 * mercury, 14.7 * psia, volume, t) / pound_mole, 1.333_249_171, 0.02, "nitrogen, vacuum");
    let pressure = cycles(0.21, 1e-6, 14.7, 94.7).unwrap();
    near(pressure, 6.578_497_583, 0.03, "pressure");
    assert_eq!(pressure.ceil(), 7.0);
    near(cycle_gas(7.0, 14.7 * psia, 94.7 * psia, volume, t) / pound_mole, 13.040_789_83, 0.15, "nitrogen, pressure");
}

/// C. Branan, Rules of Thumb for Chemical Engineers: 3.1 volumes (from a chart; exact 3.04); 2 cycles to 5 atm leave 0.84 % in
/// 8 volumes of gas; 4.4, so 5, cycles to half an atmosphere; 3 cycles to 6 mmHg for 5 ppm, 2.976 volumes.
#[test]
fn sweeping_and_cycles() {
    near(volumes_swept(21.0, 1.0, 0.0).unwrap(), 3.044_522_438, 0.01, "volumes");
    near(left_after(21.0, 0.0, 3.044_522_438), 1.0, 1e-6, "and back");
    assert_eq!(cycles(21.0, 1.0, 1.0, 5.0).unwrap().ceil(), 2.0);
    near(left_after_cycles(21.0, 1.0, 5.0, 2.0), 0.84, 0.005, "oxygen left");
    near(cycles(21.0, 1.0, 0.5, 1.0).unwrap(), 4.392_317_423, 0.01, "half an atmosphere");
    let deep = cycles(21.0, 5e-4, 6.0, 760.0).unwrap();
    near(deep, 2.198_759_733, 0.01, "6 mmHg");
    assert_eq!(deep.ceil(), 3.0);
    assert_eq!(cycles(21.0, 1.0, 0.5, 1.0).unwrap().ceil(), 5.0);
    // Gas in volumes of the vessel at 1 atm.
    let volumes = |count: f64, low: f64, high: f64| {
        cycle_gas(count, low, high, 1.0, 298.15) / cycle_gas(1.0, 0.0, 1.0, 1.0, 298.15)
    };
    near(volumes(2.0, 1.0, 5.0), 8.0, 1e-9, "gas to 5 atm");
    near(volumes(5.0, 0.5, 1.0), 2.5, 1e-9, "gas to half an atmosphere");
    near(volumes(3.0, 6.0 / 760.0, 1.0), 2.976_315_789, 0.001, "gas to 6 mmHg");
    assert!(volumes_swept(21.0, 1.0, 2.0).is_none() && cycles(1.0, 2.0, 1.0, 5.0).is_none());
}

/// 5.00 g sodium hydrogen carbonate and acid in a closed 250 mL bottle with 150 mL of free space: 9.84 bar, 6.30 bar where
/// the gas dissolves (Henry's constant 0.0339 mol/(L bar), Sander 2015, from memory).
#[test]
fn a_closed_bottle() {
    let amount = 5.0 / 84.006;
    let dry = closed_pressure(amount, 298.15, 150e-6, 0.0, 0.0).unwrap() / 1e5;
    near(dry, 9.836_455_483, 0.05, "no solubility");
    let wet = closed_pressure(amount, 298.15, 150e-6, 100e-6, CARBON_DIOXIDE_IN_WATER).unwrap() / 1e5;
    near(wet, 6.304_432_937, 0.06, "with Henry");
}

/// Worked by hand from the first law.
#[test]
fn additions() {
    let water = Batch {
        mass: 0.5,
        heat_capacity: 4184.0,
        temperature: 293.15,
        boiling_point: 373.15,
        solvent: 0.5,
        evaporation: 2.257e6,
    };
    // 0.50 mol acid neutralised in 500 g: +13 K.
    let warmed = addition(&water, 0.5 * 55.8e3, 0.0, 0.0, 293.15).unwrap();
    near(warmed.rise, 13.3, 0.1, "neutralised");
    // 400 kJ: 167 kJ to the boil, the rest boils off 103 g.
    let boiled = addition(&water, 400e3, 0.0, 0.0, 293.15).unwrap();
    near(boiled.temperature, 373.15, 1e-9, "boils");
    near(boiled.boiled_off, (400e3 - 0.5 * 4184.0 * 80.0) / 2.257e6, 1e-9, "boiled off");
    // 0.1 kg at 10 K more brings a sixth of that.
    let mixed = addition(&water, 0.0, 0.1, 4184.0, 303.15).unwrap();
    near(mixed.rise, 10.0 / 6.0, 1e-9, "mixed");
    // More heat than all water takes: the rest is told.
    let dry = addition(&water, 2e6, 0.0, 0.0, 293.15).unwrap();
    near(dry.boiled_off, 0.5, 1e-12, "all water");
    near(dry.left, 2e6 - 0.5 * 4184.0 * 80.0 - 0.5 * 2.257e6, 1e-6, "heat left");
    assert!(addition(&Batch { mass: 0.0, ..water }, 1.0, 0.0, 0.0, 293.15).is_none());
    assert!(cooled_rate(100.0, -5.0).is_none());
}

/// A product that melts at 1000 K with 30 kJ/mol and boils at 2000 K: plateaus are met with the right share, the law of
/// energy holds, more enthalpy is never colder.
#[test]
fn plateaus_of_what_keeps_its_heat() {
    let solid = of_standard(0.0, 30.0, HeatLaw::constant(30.0), 200.0, 6000.0);
    let liquid = of_standard(30_000.0, 60.0, HeatLaw::constant(30.0), 200.0, 6000.0);
    let gas = of_standard(230_000.0, 160.0, HeatLaw::constant(30.0), 200.0, 6000.0);
    let product = [Product { amount: 2.0, forms: vec![&solid, &liquid, &gas] }];
    let at = |kilojoules: f64| adiabatic(&product, kilojoules * 1e3).unwrap();
    let melting = 2.0 * 30.0 * (1000.0 - 298.15) / 1e3;
    let half = at(melting + 30.0);
    near(half.temperature, 1000.0, 1e-3, "melting point");
    assert!(half.held && half.shares[0].len() == 2);
    near(half.shares[0][1].1, 0.5, 1e-4, "half molten");
    let boiling = 2.0 * 30.0 * (2000.0 - 298.15) / 1e3 + 60.0;
    let quarter = at(boiling + 100.0);
    near(quarter.temperature, 2000.0, 1e-3, "boiling point");
    near(quarter.shares[0][1].1, 0.25, 1e-4, "a quarter vapour");
    near(at(0.0).temperature, 298.15, 1e-3, "nothing");
    let mut before = 0.0;
    for step in 0..200 {
        let now = at(f64::from(step) * 3.0).temperature;
        assert!(now >= before - 1e-6);
        before = now;
    }
    assert!(adiabatic(&product, 1e12).is_none());
}
