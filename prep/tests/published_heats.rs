//! Do heats, entropies, pressures and gas volumes come out as published, point by point?
//!
//! Each point is held to the tolerance published with it. A point that misses stands in [`KNOWN_MISSES`] with the reason
//! found: which tables are behind each side. The list is kept honest both ways: a point of it that comes to agree fails
//! the test as well as one that ceases to.
#![allow(clippy::unwrap_used, clippy::expect_used, clippy::indexing_slicing, missing_docs)]

use chem::Formula;
use prep::ask::{ReactionOptions, reaction_with};
use prep::outcome::ReactionHeat;

const CALCITE: &str = "the calcite of the record has ΔfH −1206.60 kJ/mol (Gurvich 1996, in NASA/TP-2002-211556), the handbook \
                       of the case −1207.6, the NBS tables −1206.92, the USGS −1207.4: the record is 0.3 to 1.0 kJ/mol above \
                       the others and they among themselves by 0.7; told as opinions";
const CALCITE_PRESSURE: &str = "1 kJ/mol in ΔfH of calcite is 12 to 17 % in pressure below 900 °C; the transpiration study of \
                                J. Chem. Eng. Data 55 (2010) 3779 lies above the record, the older tables below it";
const GURVICH: &str = "the record follows Gurvich 1996, the case Chase 1998 (NIST-JANAF); neither measured at 1000 K alone, so \
                       neither is known to be the worse";
const COPPER_SULFATE: &str = "anhydrous copper sulfate of the record is 2.3 kJ/mol in ΔfG above the NBS tables, on which the \
                              case rests (ΔfH −768.6 against −771.36, and −769.98 in Chase 1998, from memory); told as opinion";

/// Points that miss, with the reason.
const KNOWN_MISSES: [(&str, &str); 11] = [
    ("calcite ΔrH", CALCITE),
    ("calcite ΔrG", CALCITE),
    ("calcite p at 600 °C", CALCITE_PRESSURE),
    ("calcite p at 700 °C", CALCITE_PRESSURE),
    ("calcite p at 800 °C", CALCITE_PRESSURE),
    ("copper sulfate p 1/0", COPPER_SULFATE),
    ("Al2O3(s) H", GURVICH),
    ("CaO(s) H", GURVICH),
    ("CaO(s) S", GURVICH),
    ("CaCO3(s) H", GURVICH),
    ("Al2O3(s) S", GURVICH),
];

/// Points of one source: what misses although it should not, and what agrees although it is said to miss.
#[derive(Default)]
struct Points(Vec<String>);

impl Points {
    fn hold(&mut self, name: &str, found: f64, expected: f64, tolerance: f64) {
        let misses = (found - expected).abs() > tolerance || !found.is_finite();
        let known = KNOWN_MISSES.iter().find(|(own, _)| *own == name);
        match (misses, known) {
            (true, None) => self.0.push(format!("{name}: {found} instead of {expected} ± {tolerance}")),
            (false, Some(_)) => self.0.push(format!("{name} agrees ({found}) and is still listed as a miss")),
            _ => {}
        }
    }

    #[track_caller]
    fn end(self) {
        assert!(self.0.is_empty(), "{}", self.0.join("\n"));
    }
}

fn heat_at(text: &str, at: &str, gases: &[String]) -> ReactionHeat {
    let options = ReactionOptions { at: Some(at), gases, ..ReactionOptions::default() };
    reaction_with(text, &options).expect(text).heat.expect(text)
}

fn constant(text: &str, at: &str) -> f64 {
    10_f64.powf(heat_at(text, at, &[]).log10_k.unwrap().value)
}

fn one_atmosphere(text: &str, gas: &str) -> f64 {
    let gases = [format!("{gas} 1.01325 bar")];
    heat_at(text, "25 °C", &gases).balances[0].temperature.value - 273.15
}

#[test]
fn every_miss_has_a_reason_and_a_name_of_its_own() {
    for (place, (name, reason)) in KNOWN_MISSES.iter().enumerate() {
        assert!(reason.len() > 40 && KNOWN_MISSES[..place].iter().all(|(other, _)| other != name), "{name}");
    }
}

/// CRC Handbook of Chemistry and Physics, standard thermodynamic properties: 179.2 kJ/mol, 160.2 J/(mol K), 131.436 kJ/mol;
/// with constant ΔH and ΔS of the handbook 1 bar is reached at 1118.60 K.
#[test]
fn calcite_at_298_kelvin() {
    let mut points = Points::default();
    let now = heat_at("CaCO3(s) -> CaO(s) + CO2(g)", "298.15 K", &[]);
    points.hold("calcite ΔrH", now.enthalpy.unwrap().value, 179.2, 0.1);
    points.hold("calcite ΔrS", now.entropy.unwrap().value, 160.2, 0.1);
    points.hold("calcite ΔrG", now.gibbs_energy.unwrap().value, 131.436_37, 0.1);
    // The handbook's own values through the engine.
    let line = |t: f64| (1207.6 - 634.9 - 393.5) * 1e3 - t * (38.1 + 213.8 - 91.7);
    let found = engine::thermochemistry::reaction::sign_changes(line, 300.0, 2000.0);
    points.hold("calcite T of the line", found[0], 1_118.601_748, 0.5);
    points.hold("calcite ΔrG of the line", line(298.15) / 1e3, 131.436_37, 0.1);
    points.end();
}

/// J. Smyth, L. Adams, J. Am. Chem. Soc. 45 (1923) 1167: 1 atm at 898.6 °C; A. Hill, R. Winter, J. Phys. Chem. 60 (1956) 1361
/// (from memory); the pressures of the case come from older tables.
#[test]
fn calcite_over_temperature() {
    let mut points = Points::default();
    let text = "CaCO3(s) -> CaO(s) + CO2(g)";
    for (at, bar) in
        [("600 °C", 0.002_738_885_7), ("700 °C", 0.031_149_863), ("800 °C", 0.221_286_11), ("900 °C", 1.106_177_174)]
    {
        points.hold(&format!("calcite p at {at}"), constant(text, at), bar, 0.12 * bar);
    }
    points.hold("calcite T at 1 atm", one_atmosphere(text, "CO2"), 894.037_221_2, 15.0);
    points.end();
}

/// A. Halstead, W. Moore, J. Chem. Soc. 1957, 3873: 512 °C; 512 to 521 °C are quoted (from memory).
#[test]
fn slaked_lime() {
    let mut points = Points::default();
    points.hold("slaked lime T", one_atmosphere("Ca(OH)2(s) -> CaO(s) + H2O(g)", "H2O"), 521.743_702_9, 10.0);
    points.end();
}

/// D. D. Wagman et al., NBS tables, J. Phys. Chem. Ref. Data 11 (1982) Suppl. 2 (from memory): 7.80, 5.14 and 0.0104 mmHg;
/// textbooks have 7.8, 5.6 and 0.8. At 1 and 30 % relative humidity (p₀ = 3.169 kPa) mono- and trihydrate are stable.
#[test]
fn water_over_copper_sulfate() {
    let mut points = Points::default();
    let pressure = |text: &str, water: f64| constant(text, "25 °C").powf(1.0 / water) * 750.062;
    let upper = pressure("CuSO4·5H2O(s) -> CuSO4·3H2O(s) + 2 H2O(g)", 2.0);
    let middle = pressure("CuSO4·3H2O(s) -> CuSO4·H2O(s) + 2 H2O(g)", 2.0);
    let lower = pressure("CuSO4·H2O(s) -> CuSO4(s) + H2O(g)", 1.0);
    points.hold("copper sulfate p 5/3", upper, 7.795_270_599, 0.3);
    points.hold("copper sulfate p 3/1", middle, 5.139_785_816, 0.3);
    points.hold("copper sulfate p 1/0", lower, 0.010_365_962_53, 0.05 * 0.010_365_962_53);
    points.end();
    let saturated = 3169.0 * 750.062e-5;
    assert!((lower..middle).contains(&(0.01 * saturated)), "the monohydrate at 1 %");
    assert!((middle..upper).contains(&(0.30 * saturated)), "the trihydrate at 30 %");
}

/// NIST-JANAF tables, 4th edition: log Kf(1000 K) of CO 10.459 and of CO2 20.680 (from memory); half carbon monoxide near
/// 675 °C in textbooks. Mole fractions over graphite at 1 atm follow from K = x²·p/(1 − x).
#[test]
fn carbon_and_its_dioxide() {
    let mut points = Points::default();
    let text = "C(s) + CO2(g) -> 2 CO(g)";
    points.hold("carbon dioxide over carbon K", constant(text, "1000 K"), 1.762_778_542, 0.02 * 1.762_778_542);
    for (at, expected) in [
        ("500 °C", 0.061_735_95),
        ("600 °C", 0.255_021_322),
        ("700 °C", 0.615_821_701),
        ("800 °C", 0.887_831_13),
        ("900 °C", 0.973_284_833),
        ("1000 °C", 0.992_835_212),
    ] {
        let k = constant(text, at) / 1.013_25;
        let share = (-k + (k * k + 4.0 * k).sqrt()) / 2.0;
        points.hold(&format!("carbon dioxide over carbon x at {at}"), share, expected, 0.012);
    }
    points.end();
}

/// NIST-JANAF tables, 4th edition (Chase 1998), and NIST WebBook, rows at 1000 K (from memory for most): enthalpy above
/// 298.15 K in kJ/mol, entropy in J/(mol K).
#[test]
fn a_thousand_kelvin() {
    let mut points = Points::default();
    for (reaction, species, content, entropy, of_content, of_entropy) in [
        ("2 CO(g) + O2(g) -> 2 CO2(g)", "CO2(g)", 33.397_065, 269.286_22, 0.05, 0.06),
        ("2 CO(g) + O2(g) -> 2 CO2(g)", "CO(g)", 21.689_963, 234.544_61, 0.05, 0.06),
        ("2 CO(g) + O2(g) -> 2 CO2(g)", "O2(g)", 22.706_811, 243.586_39, 0.05, 0.06),
        ("2 H2(g) + O2(g) -> 2 H2O(g)", "H2O(g)", 26.002_517, 232.735_01, 0.05, 0.06),
        ("2 H2(g) + O2(g) -> 2 H2O(g)", "H2(g)", 20.686_534, 166.235_72, 0.05, 0.06),
        ("N2(g) + O2(g) -> 2 NO(g)", "N2(g)", 21.464_584, 228.175_46, 0.05, 0.06),
        ("C(s) + O2(g) -> CO2(g)", "C(s)", 11.793_68, 24.451_417, 0.05, 0.06),
        ("2 Al2O3(s) -> 4 Al(s) + 3 O2(g)", "Al2O3(s)", 77.961_971, 180.210_18, 0.05, 0.06),
        ("Fe2O3(s) + 3 C(s) -> 2 Fe(s) + 3 CO(g)", "Fe2O3(s)", 100.313_62, 252.886_13, 0.3, 0.3),
        ("FeO(s) + C(s) -> Fe(s) + CO(g)", "FeO(s)", 38.754_737, 126.445_3, 0.05, 0.1),
        ("CaCO3(s) -> CaO(s) + CO2(g)", "CaO(s)", 35.228_187, 97.702_775, 0.3, 0.4),
        ("CaCO3(s) -> CaO(s) + CO2(g)", "CaCO3(s)", 76.316_218, 220.492_46, 0.8, 1.0),
        ("FeO(s) + C(s) -> Fe(s) + CO(g)", "Fe(s)", 24.203_884, 66.603_382, 0.4, 0.5),
    ] {
        let of = |at: &str| {
            let heat = heat_at(reaction, at, &[]);
            let found = heat.species.into_iter().find(|s| s.species == species).expect(species);
            (found.enthalpy.unwrap().value, found.entropy.unwrap().value)
        };
        let (cold, hot) = (of("298.15 K"), of("1000 K"));
        points.hold(&format!("{species} H"), hot.0 - cold.0, content, of_content);
        points.hold(&format!("{species} S"), hot.1, entropy, of_entropy);
    }
    points.end();
}

/// S. Fischer, M. Grubelich, Sandia report SAND98-1176C (1998), table 1 (heats from memory), cal for each gram.
#[test]
fn heats_of_oxides_with_aluminium() {
    let mut points = Points::default();
    for (text, calories, percent) in [
        ("Fe2O3(s) + Al(s) -> Fe(s) + Al2O3(s)", 951.311_465, 1.5),
        ("Fe3O4(s) + Al(s) -> Fe(s) + Al2O3(s)", 877.593_223, 1.5),
        ("CuO(s) + Al(s) -> Cu(s) + Al2O3(s)", 986.338_45, 2.0),
        ("Cu2O(s) + Al(s) -> Cu(s) + Al2O3(s)", 575.496_416, 2.0),
        ("MnO2(s) + Al(s) -> Mn(s) + Al2O3(s)", 1_161.147_46, 1.5),
        ("Cr2O3(s) + Al(s) -> Cr(s) + Al2O3(s)", 627.361_362, 2.0),
        ("SiO2(s) + Al(s) -> Si(s) + Al2O3(s)", 513.632_944, 2.0),
    ] {
        let found = heat_at(text, "25 °C", &[]).heat_per_gram.unwrap().value * 1000.0 / 4.184;
        points.hold(text, found, calories, percent / 100.0 * calories);
    }
    points.end();
}

/// Gas from weighed reagents at 25 °C and 101.325 kPa: ideal gas, exact from the question.
#[test]
fn gas_from_weighed_reagents() {
    let mut points = Points::default();
    let litres = |text: &str, at: &str, mass: f64, reagent: &str| {
        let formula = Formula::parse(reagent).unwrap();
        mass / formula.molar_mass().unwrap().value * heat_at(text, at, &[]).gas_volume.unwrap().value
    };
    let metal = litres("Zn(s) + 2 HCl(aq) -> ZnCl2(aq) + H2(g)", "25 °C", 5.0, "Zn");
    points.hold("zinc in acid", metal, 1.871_015_884, 0.01);
    let chalk = "CaCO3(s) + 2 HCl(aq) -> CaCl2(aq) + CO2(g) + H2O(l)";
    points.hold("chalk in acid", litres(chalk, "25 °C", 10.0, "CaCO3"), 2.444_438_153, 0.01);
    let oxalate = "FeC2O4·2H2O(s) -> FeO(s) + CO(g) + CO2(g) + 2 H2O(g)";
    points.hold("oxalate, all gas", litres(oxalate, "400 °C", 10.0, "FeC2O4·2H2O"), 12.282_171_29, 0.03);
    let dry = "FeC2O4·2H2O(s) -> FeO(s) + CO(g) + CO2(g) + 2 H2O(l)";
    points.hold("oxalate, dry gas", litres(dry, "25 °C", 10.0, "FeC2O4·2H2O"), 2.719_995_075, 0.01);
    points.end();
}
