//! Do the questions of heat and gas come out as published, and are they refused where they must be?
#![allow(clippy::unwrap_used, clippy::expect_used, clippy::indexing_slicing, missing_docs)]

use prep::ask::{GasOptions, HeatOptions, gas, heat};

#[track_caller]
fn near(found: f64, expected: f64, tolerance: f64, what: &str) {
    assert!((found - expected).abs() <= tolerance, "{what}: {found} instead of {expected} ± {tolerance}");
}

fn codes(findings: &[prep::outcome::Finding]) -> Vec<&'static str> {
    findings.iter().map(|finding| finding.code).collect()
}

/// Exposure: 1.00 g carbon monoxide and 1.00 g sulfur dioxide in a room of 30 m³ that is then aired six times an hour; limits
/// of EU Directive 2017/164 (from memory).
#[test]
fn gas_in_a_room() {
    for (text, ppm, of_ppm, milligrams, air, of_air, minutes, of_minutes) in [
        ("1.00 g CO(g)", 29.115_082, 0.2, 33.333_333, 43.672_624, 0.3, 3.755_240_6, 0.1),
        ("1.00 g SO2(g)", 12.730_860_4, 0.1, 33.333_333, 763.851_6, 4.0, 32.371_762, 0.2),
    ] {
        let asked = GasOptions { take: &[text], room: Some("30 m3"), air_changes: Some("6"), ..GasOptions::default() };
        let answer = gas(None, &asked).expect(text);
        let only = &answer.gases[0];
        near(only.ppm, ppm, of_ppm, text);
        near(only.mass_concentration, milligrams, 0.05, text);
        near(only.thinning_air.unwrap(), air, of_air, text);
        near(only.airing.unwrap(), minutes, of_minutes, text);
        assert!(codes(&answer.findings).contains(&"toxic-gas"));
    }
}

/// Carbon monoxide of 25.0 g iron(II) oxalate dihydrate in 40 m³: 3.40 L, 85 ppm, 170 m³ of air to 20 ppm (ideal gas), 7.1 %
/// of what is immediately dangerous (NIOSH, 1200 ppm, from memory).
#[test]
fn carbon_monoxide_of_an_oxalate() {
    let asked = GasOptions { take: &["25.0 g FeC2O4·2H2O"], room: Some("40 m3"), ..GasOptions::default() };
    let answer = gas(Some("FeC2O4·2H2O(s) -> FeO(s) + CO(g) + CO2(g) + 2 H2O(l)"), &asked).unwrap();
    let monoxide = answer.gases.iter().find(|gas| gas.formula == "CO").unwrap();
    near(monoxide.litres, 3.399_993_8, 0.02, "L");
    near(monoxide.ppm, 84.999_846, 0.5, "ppm");
    near(monoxide.thinning_air.unwrap(), 169.999_69, 0.5, "air");
    let danger = monoxide.limits.last().unwrap();
    near(monoxide.ppm / danger.0, 0.070_833_2, 0.001, "share of the danger");
}

/// 5.00 g sodium hydrogen carbonate and acid in a closed bottle: 9.84 bar over 150 mL, 6.30 where 100 mL of liquid take up
/// their part. The figure is told as the reason never to close it.
#[test]
fn a_closed_bottle() {
    let text = "NaHCO3(s) + HCl(aq) -> NaCl(aq) + H2O(l) + CO2(g)";
    let asked = GasOptions { take: &["5.00 g NaHCO3"], free: Some("150 mL"), ..GasOptions::default() };
    let dry = gas(Some(text), &asked).unwrap();
    near(dry.closed.unwrap().1, 9.836_455, 0.05, "bar");
    assert!(codes(&dry.findings).contains(&"closed-vessel"));
    let wet = gas(Some(text), &GasOptions { liquid: Some("100 mL"), ..asked }).unwrap();
    near(wet.closed.unwrap().1, 6.304_433, 0.06, "bar with liquid");
}

/// Gas of the worked examples: 5.00 g zinc in acid 1.871 L; 0.2 mol carbonate 0.49 L/min over 10 min; oxalate at 400 °C.
#[test]
fn litres_and_rates() {
    let zinc = GasOptions { take: &["5.00 g Zn"], ..GasOptions::default() };
    let hydrogen = gas(Some("Zn(s) + 2 HCl(aq) -> ZnCl2(aq) + H2(g)"), &zinc).unwrap();
    near(hydrogen.litres, 1.871_016, 0.01, "hydrogen");
    assert!(codes(&hydrogen.findings).contains(&"flammable-gas"));
    let soda = GasOptions { take: &["0.2 mol Na2CO3"], over: Some("10 min"), ..GasOptions::default() };
    let carbonate = gas(Some("Na2CO3(aq) + 2 HCl(aq) -> 2 NaCl(aq) + CO2(g) + H2O(l)"), &soda).unwrap();
    near(carbonate.rate.unwrap(), 0.4893, 0.002, "L/min");
    let oxalate = GasOptions { take: &["10.0 g FeC2O4·2H2O"], at: Some("400 °C"), ..GasOptions::default() };
    let hot = gas(Some("FeC2O4·2H2O(s) -> FeO(s) + CO(g) + CO2(g) + 2 H2O(g)"), &oxalate).unwrap();
    near(hot.litres, 12.282_171, 0.03, "hot");
}

/// 21 % to 1 % oxygen: 3.04 volumes (C. Branan, Rules of Thumb for Chemical Engineers, 3.1 from a chart), and five at the
/// least before a tube is heated.
#[test]
fn air_out_of_a_tube() {
    let tube =
        GasOptions { tube: Some("0.3 L"), flow: Some("0.1 L/min"), swept: Some("6 min"), ..GasOptions::default() };
    let short = gas(None, &tube).unwrap();
    let sweep = short.sweep.clone().unwrap();
    near(sweep.swept.unwrap(), 2.0, 1e-9, "volumes");
    near(sweep.oxygen_left.unwrap(), 20.95 * (-2.0_f64).exp(), 1e-9, "oxygen");
    near(sweep.needed, (0.2095_f64 / 0.001).ln(), 1e-9, "needed for 0.1 %");
    assert!(codes(&short.findings).contains(&"air-left"));
    let long = gas(None, &GasOptions { swept: Some("20 min"), ..tube }).unwrap();
    assert!(!codes(&long.findings).contains(&"air-left"));
    let loose = gas(None, &GasOptions { oxygen: Some("1 %"), ..tube }).unwrap();
    near(loose.sweep.unwrap().needed, 5.0, 1e-9, "five at the least");
}

/// Examples worked by hand: 0.50 mol acid neutralised in 500 g of water +13 K; 28 g lime slaked in 300 g +25 K.
#[test]
fn rises_of_temperature() {
    let neutral = HeatOptions { take: &["0.50 mol HCl(aq)"], into: Some("500 g"), ..HeatOptions::default() };
    let answer = heat("HCl(aq) + NaOH(aq) -> NaCl(aq) + H2O(l)", &neutral).unwrap();
    near(answer.batch.as_ref().unwrap().rise, 13.2, 0.5, "neutralised");
    assert!(answer.adiabatic.is_none());
    let lime =
        HeatOptions { take: &["28 g CaO"], into: Some("300 g"), cooling: Some("50 W"), ..HeatOptions::default() };
    let slaked = heat("CaO(s) + H2O(l) -> Ca(OH)2(s)", &lime).unwrap();
    near(slaked.batch.as_ref().unwrap().rise, 25.0, 1.0, "slaked");
    assert!(codes(&slaked.findings).contains(&"heat-released"));
    let addition = slaked.addition.unwrap();
    near(addition.rate * addition.minutes, 28.0, 1e-6, "all of it");
    near(addition.minutes, slaked.heat.value * 1e3 / 50.0 / 60.0, 1e-6, "time");
    let boiling = HeatOptions { take: &["280 g CaO"], into: Some("300 g"), ..HeatOptions::default() };
    let boils = heat("CaO(s) + H2O(l) -> Ca(OH)2(s)", &boiling).unwrap().batch.unwrap();
    near(boils.reached, 100.0, 1e-9, "boils");
    assert!(boils.boiled_off > 50.0 && boils.boiled_off < 150.0, "{}", boils.boiled_off);
}

/// S. Fischer, M. Grubelich, SAND98-1176C (1998), table 1 (from memory), as safety information: 3135 and 2843 K, held at the
/// boiling point of the metal. Gas, computed independently from other polynomials: 0.81, 0.16, 5.31 and 1.03 mmol/g; printed
/// 1.40, 0.55, 5.40 and 1.22. It is a small difference of large heats, so that 4 % in the enthalpy of molten alumina make up
/// for the gap: ± 0.8, 0.6, 0.5 and 0.5.
#[test]
fn mixes_that_keep_their_heat() {
    for (reaction, take, kelvin, of_kelvin, gas, of_gas) in [
        ("3 Fe3O4(s) + 8 Al(s) -> 4 Al2O3(s) + 9 Fe(s)", ["3 mol Fe3O4", "8 mol Al"], 3138.98, 20.0, 0.156_236, 0.6),
        ("3 Cu2O(s) + 2 Al(s) -> Al2O3(s) + 6 Cu(s)", ["3 mol Cu2O", "2 mol Al"], 2844.07, 25.0, 1.025_039, 0.5),
    ] {
        let answer = heat(reaction, &HeatOptions { take: &take, ..HeatOptions::default() }).unwrap();
        let hot = answer.adiabatic.as_ref().unwrap();
        near(hot.temperature + 273.15, kelvin, of_kelvin, reaction);
        near(hot.gas_per_gram, gas, of_gas, reaction);
        assert!(codes(&answer.findings).contains(&"metal-reduction"), "{reaction}");
    }
    let iron = HeatOptions { take: &["1 mol Fe2O3", "2 mol Al"], ..HeatOptions::default() };
    let answer = heat("Fe2O3(s) + 2 Al(s) -> Al2O3(s) + 2 Fe(s)", &iron).unwrap();
    let hot = answer.adiabatic.as_ref().unwrap();
    near(hot.temperature + 273.15, 3138.98, 20.0, "K");
    near(hot.gas_per_gram, 0.811_168, 0.8, "mmol/g");
    assert!(hot.held && codes(&answer.findings).contains(&"metal-reduction"));
    let copper = HeatOptions { take: &["3 mol CuO", "2 mol Al"], ..HeatOptions::default() };
    let hot = heat("3 CuO(s) + 2 Al(s) -> Al2O3(s) + 3 Cu(s)", &copper).unwrap().adiabatic.unwrap();
    near(hot.temperature + 273.15, 2844.07, 25.0, "K");
    near(hot.gas_per_gram, 5.311_786, 0.5, "mmol/g");
}

#[test]
fn what_is_asked_wrongly_is_pointed_at() {
    let of = |take: &'static [&'static str]| HeatOptions { take, ..HeatOptions::default() };
    let reaction = "CaO(s) + H2O(l) -> Ca(OH)2(s)";
    let error = |options: &HeatOptions<'_>| codes(&heat(reaction, options).unwrap_err());
    assert_eq!(error(&of(&[])), ["missing-field"]);
    assert_eq!(error(&of(&["28 g MgO"])), ["unknown-species"]);
    assert_eq!(error(&of(&["much CaO"])), ["bad-quantity"]);
    assert_eq!(error(&of(&["CaO"])), ["bad-quantity"]);
    assert_eq!(error(&of(&["28 g Qq"])), ["bad-formula"]);
    assert!(heat("CaO(s) -> MgO(s)", &of(&["1 g CaO"])).is_err());
    let none = gas(Some(reaction), &GasOptions { take: &["28 g CaO"], ..GasOptions::default() });
    assert_eq!(codes(&none.unwrap_err()), ["missing-field"]);
}

/// What is out of bounds is refused before any amount is told.
#[test]
fn refusals() {
    let chlorate: &[&str] = &["1 g KClO3"];
    for (reaction, take) in [
        ("2 KClO3(s) -> 2 KCl(s) + 3 O2(g)", chlorate),
        ("4 KNO3(s) + 5 C(s) -> 2 K2O(s) + 2 N2(g) + 5 CO2(g)", &["1 g KNO3"]),
        ("NaCN(s) + HCl(aq) -> NaCl(aq) + HCN(g)", &["1 g NaCN"]),
        ("MnO2(s) + 4 HCl(aq) -> MnCl2(aq) + Cl2(g) + 2 H2O(l)", &["1 g MnO2"]),
        ("Zn3P2(s) + 6 HCl(aq) -> 3 ZnCl2(aq) + 2 PH3(g)", &["1 g Zn3P2"]),
        ("2 NaN3(s) -> 2 Na(s) + 3 N2(g)", &["1 g NaN3"]),
        ("NH4NO3(s) -> N2O(g) + 2 H2O(g)", &["1 g NH4NO3"]),
    ] {
        let asked = HeatOptions { take, ..HeatOptions::default() };
        let refused = heat(reaction, &asked).expect_err(reaction);
        assert!(refused.iter().any(|f| f.code == prep::screen::OUT_OF_BOUNDS), "{reaction}: {refused:?}");
        let asked = GasOptions { take, free: Some("10 mL"), ..GasOptions::default() };
        let refused = gas(Some(reaction), &asked).expect_err(reaction);
        assert!(refused.iter().any(|f| f.code == prep::screen::OUT_OF_BOUNDS), "{reaction}: {refused:?}");
    }
    let chlorine = GasOptions { take: &["1 g Cl2(g)"], ..GasOptions::default() };
    assert!(gas(None, &chlorine).is_err());
}
