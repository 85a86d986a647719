//! Do lines of Gibbs energy cross, and fields of potential meet, where handbooks say?

use prep::ask::{
    EquilibriumOptions, IgniteOptions, ReactionOptions, SolutionOptions, equilibrium, ignite, reaction_with, solution,
};
use prep::outcome::{GibbsLines, PotentialPh};

fn lines(of: &str, beside: &[&str], pairs: bool) -> GibbsLines {
    let beside: Vec<String> = beside.iter().map(|text| (*text).to_owned()).collect();
    let options = ReactionOptions { beside: &beside, pairs, ..ReactionOptions::default() };
    reaction_with(of, &options).expect("an answer").lines.expect("lines")
}

/// °C to K of the crossing at which the second comes to lie lower.
fn crossing(lines: &GibbsLines, cold: &str, hot: &str) -> f64 {
    let name = |at: usize| lines.lines[at].label.as_str();
    let found = lines.crossings.iter().find(|c| name(c.cold) == cold && name(c.hot) == hot);
    found.unwrap_or_else(|| panic!("{cold} and {hot} cross: {:?}", lines.crossings)).kelvin
}

/// Zinc oxide with carbon from about 1220 K on, zinc being a vapour there; carbon dioxide with carbon from about 978 K on,
/// 1 bar each (T. Rosenqvist, Principles of Extractive Metallurgy; both from memory, told to some 10 K).
#[test]
fn carbon_takes_the_oxygen_of_zinc_near_1220_kelvin() {
    let found = lines("2 Zn + O2 -> 2 ZnO", &["2 C + O2 -> 2 CO", "C + O2 -> CO2"], false);
    assert_eq!(found.per.as_deref(), Some("O2(g)"));
    let zinc = crossing(&found, "Zn → ZnO", "C → CO");
    assert!((zinc - 1220.0).abs() < 12.0, "{zinc}");
    let boudouard = crossing(&found, "C → CO2", "C → CO");
    assert!((boudouard - 978.0).abs() < 12.0, "{boudouard}");
    // Zinc melts at 692.7 K and boils at 1180 K: its line breaks there (CRC Handbook, from memory).
    let turns: Vec<f64> = found.lines[0].changes.iter().map(|(kelvin, _)| *kelvin).collect();
    for known in [692.7, 1180.0] {
        assert!(turns.iter().any(|t| (t - known).abs() < 3.0), "{turns:?}");
    }
}

/// ΔfG° at 25 °C in kJ/mol: Cu2O −146.0, ZnO −320.5, MgO −569.3, Al2O3 −1582.3, CO −137.2, H2O −237.1 (Standard
/// thermodynamic properties, CRC Handbook of Chemistry and Physics, from memory), for each mole of oxygen; each line begins
/// within twice the standard uncertainty that it states, and states no wide one. Of copper(I) oxide tables differ by 1.9.
#[test]
fn lines_begin_at_the_energies_of_formation() {
    let found = lines("2 Zn + O2 -> 2 ZnO", &[], true);
    let known = [
        ("Cu → Cu2O", -292.0),
        ("Zn → ZnO", -641.0),
        ("Mg → MgO", -1138.6),
        ("Al → Al2O3", -1582.3 / 1.5),
        ("C → CO", -274.4),
        ("H2 → H2O", -474.2),
    ];
    for (label, value) in known {
        let line = found.lines.iter().find(|line| line.label == label).unwrap_or_else(|| panic!("{label}"));
        let (kelvin, first, u) = line.points[0];
        assert!((kelvin - 298.15).abs() < 1e-9 && (first - value).abs() < 2.0 * u && u < 6.0, "{label}: {first} ± {u}");
    }
    // What was asked for stands once.
    assert_eq!(found.lines.iter().filter(|line| line.label == "Zn → ZnO").count(), 1);
    assert_eq!(found.lines.len(), 15);
}

#[test]
fn what_shares_no_gas_is_not_compared() {
    let beside = ["CaCO3(s) -> CaO(s) + CO2(g)".to_owned()];
    let options = ReactionOptions { beside: &beside, ..ReactionOptions::default() };
    let refused = reaction_with("2 Zn + O2 -> 2 ZnO", &options).expect_err("nothing shared");
    assert_eq!(refused[0].code, "no-shared-gas");
    let unbalanced = ["Zn + O2 -> CO".to_owned()];
    let options = ReactionOptions { beside: &unbalanced, ..ReactionOptions::default() };
    assert!(reaction_with("2 Zn + O2 -> 2 ZnO", &options).is_err());
    // One reaction alone needs nothing to share, and two gases are told as balanced.
    let alone = lines("2 NaHCO3(s) -> Na2CO3(s) + CO2(g) + H2O(g)", &[], false);
    assert_eq!((alone.per, alone.lines.len(), alone.crossings.len()), (None, 1, 0));
}

fn diagram(of: &str, substances: &[&str]) -> PotentialPh {
    let options = SolutionOptions { substances, redox: Some(of), quick: true, ..SolutionOptions::default() };
    solution(&options).expect("an answer").potential.remove(0)
}

/// The potential above which another form stands at the solution's own pH.
fn edge(diagram: &PotentialPh, above: &str) -> f64 {
    let found = diagram.ladder.iter().find(|(_, form)| form == above);
    found.unwrap_or_else(|| panic!("{above}: {:?}", diagram.ladder)).0
}

/// E° of Cu²⁺/Cu 0.3419, Zn²⁺/Zn −0.7618, Fe²⁺/Fe −0.447, Fe³⁺/Fe²⁺ 0.771 V (Electrochemical Series, CRC Handbook of
/// Chemistry and Physics, from memory), at a millionth of a mole per kilogram in acid: three times 59.16 mV lower over a metal
/// of two electrons, unmoved between two ions. The ladder has steps of 5 mV; iron's energy of formation is disputed by 20 mV.
#[test]
fn metals_and_ions_meet_at_the_potentials_of_the_series() {
    let three_decades = 3.0 * 0.059_16;
    let copper = diagram("Cu", &["Cu(NO3)2 1e-6 mol/kg", "HNO3 0.01 mol/kg"]);
    assert!((edge(&copper, "Cu^2+") - (0.3419 - three_decades)).abs() < 0.01, "{:?}", copper.ladder);
    let zinc = diagram("Zn", &["Zn(NO3)2 1e-6 mol/kg", "HNO3 0.01 mol/kg"]);
    assert!((edge(&zinc, "Zn^2+") - (-0.7618 - three_decades)).abs() < 0.01, "{:?}", zinc.ladder);
    let iron = diagram("Fe", &["Fe(NO3)2 1e-6 mol/kg", "HNO3 0.02 mol/kg"]);
    assert!((edge(&iron, "Fe^2+") - (-0.447 - three_decades)).abs() < 0.04, "{:?}", iron.ladder);
    assert!((edge(&iron, "Fe^3+") - 0.771).abs() < 0.01, "{:?}", iron.ladder);
    // Water gives oxygen above 1.229 V at pH 0 and hydrogen below nothing.
    let at_zero = |line: &[(f64, f64); 2]| line[0].1 - (line[1].1 - line[0].1) / (line[1].0 - line[0].0) * line[0].0;
    assert!((at_zero(&copper.oxygen) - 1.229).abs() < 2e-3 && at_zero(&copper.hydrogen).abs() < 1e-9);
}

/// Mass is neither made nor lost over a sweep, and a phase ends where it ends.
#[test]
fn a_sweep_keeps_the_mass_and_follows_the_changes() {
    let lots = ["CaCO3(s) 1 mol".to_owned()];
    let options = EquilibriumOptions { sweep: Some("600 .. 1000 °C"), ..EquilibriumOptions::default() };
    let answer = equilibrium(&lots, &options).expect("an answer");
    assert!(answer.sweep.len() > 100 && (answer.temperature.value - 1273.15).abs() < 1e-6);
    for point in &answer.sweep {
        let sum: f64 = point.condensed.iter().chain(&point.gases).map(|(_, grams)| grams).sum();
        assert!((sum / answer.mass - 1.0).abs() < 2e-3, "{sum} of {}", answer.mass);
    }
    let last = answer.sweep.iter().rfind(|p| p.condensed.iter().any(|(name, _)| name == "CaCO3(s)")).expect("calcite");
    // 1 atm of carbon dioxide stands over calcite at 1160 to 1175 K by the tables (CRC Handbook: 898 °C, from memory).
    assert!((last.kelvin - 1165.0).abs() < 12.0, "{}", last.kelvin);
    let both = EquilibriumOptions { adiabatic: true, ..options };
    assert_eq!(equilibrium(&lots, &both).expect_err("both")[0].code, "conflicting-fields");
    let turned = EquilibriumOptions { sweep: Some("900 °C"), ..EquilibriumOptions::default() };
    assert_eq!(equilibrium(&lots, &turned).expect_err("one temperature")[0].code, "bad-quantity");
}

#[test]
fn what_was_left_is_read_as_mass_or_share() {
    let lots = ["CaCO3(s) 10 g".to_owned()];
    let read = |found| {
        let options = IgniteOptions { at: Some("950 °C"), found: Some(found), ..IgniteOptions::default() };
        ignite(&lots, &options)
    };
    let (mass, share) = (read("5.61 g").expect("a mass"), read("56.1 ± 0.2 %").expect("a share"));
    assert!(mass.found.is_some_and(|(value, u)| (value - 56.1).abs() < 1e-9 && u.is_none()));
    assert!(
        share.found.is_some_and(|(value, u)| (value - 56.1).abs() < 1e-9 && u.is_some_and(|u| (u - 0.2).abs() < 1e-9))
    );
    assert!(read("56.1 °C").is_err() && read("white").is_err());
    let nowhere = IgniteOptions { found: Some("56 %"), ..IgniteOptions::default() };
    assert_eq!(ignite(&lots, &nowhere).expect_err("no temperature")[0].code, "missing-field");
}
