//! Equilibria, heated lots and furnaces as questions in text.
//!
//! Source: beside each check.

use prep::ask::{EquilibriumOptions, FurnaceOptions, IgniteOptions, equilibrium, furnace, ignite};
use prep::outcome::{EquilibriumAnswer, Finding, FurnaceAnswer, IgniteAnswer};

fn state(lots: &[&str], options: &EquilibriumOptions<'_>) -> EquilibriumAnswer {
    let lots: Vec<String> = lots.iter().map(|text| (*text).to_owned()).collect();
    equilibrium(&lots, options).expect("an answer")
}

fn refused(lots: &[&str], options: &EquilibriumOptions<'_>) -> Vec<Finding> {
    let lots: Vec<String> = lots.iter().map(|text| (*text).to_owned()).collect();
    equilibrium(&lots, options).expect_err("no answer")
}

fn heated(lot: &str, surroundings: &str, at: Option<&str>) -> IgniteAnswer {
    ignite(&[lot.to_owned()], &IgniteOptions { surroundings: Some(surroundings), at, ..IgniteOptions::default() })
        .expect("an answer")
}

fn amount(answer: &EquilibriumAnswer, species: &str) -> f64 {
    answer.species.iter().filter(|s| s.species == species).map(|s| s.amount).sum()
}

#[test]
fn calcite_is_lime_above_its_temperature_and_calcite_below() {
    let at = |at| state(&["CaCO3(s) 1 mol"], &EquilibriumOptions { at: Some(at), ..EquilibriumOptions::default() });
    let hot = at("900 °C");
    assert!((amount(&hot, "CaO(s)") - 1.0).abs() < 1e-9 && hot.status == "solved" && hot.residual < 1e-8);
    // Taken up on the way: 178 kJ to decompose and some 90 kJ to heat the products (JANAF, from memory).
    assert!(hot.heat.is_some_and(|heat| (heat - 267.0).abs() < 5.0), "{:?}", hot.heat);
    let cold = at("870 °C");
    assert!((amount(&cold, "CaCO3(s)") - 1.0).abs() < 1e-9 && cold.gas_amount == 0.0);
    // One phase of three elements leaves two potentials open: lime may be as near or as far as the carbon dioxide has it.
    assert!(cold.nearest.is_empty(), "{:?}", cold.nearest);
    let aired = EquilibriumOptions { at: Some("870 °C"), ..EquilibriumOptions::default() };
    let aired = state(&["CaCO3(s) 1 mol", "CO2(g) 1 mol"], &aired);
    assert!(aired.nearest.iter().any(|(form, log)| form.starts_with("CaO(s)") && *log > -0.2), "{:?}", aired.nearest);
}

#[test]
fn a_flame_and_a_plateau_are_found_without_heat_exchange() {
    // Methane in air: S. R. Turns, An Introduction to Combustion, table B.1 (from memory): 2226 K.
    let lots = ["CH4(g) 1 mol", "O2(g) 2 mol", "N2(g) 7.52 mol"];
    let flame = state(&lots, &EquilibriumOptions { adiabatic: true, ..EquilibriumOptions::default() });
    assert!((flame.temperature.value - 2226.0).abs() < 6.0, "{}", flame.temperature.value);
    assert!(flame.findings.iter().any(|finding| finding.code == "toxic-gas"), "carbon monoxide is told");
    // Iron oxide and aluminium, safety information: Fischer and Grubelich 1998, 3135 K; temperature stands at boiling iron.
    let mix = state(
        &["Fe2O3(s) 1 mol", "Al(s) 2 mol"],
        &EquilibriumOptions { adiabatic: true, ..EquilibriumOptions::default() },
    );
    assert!((mix.temperature.value - 3135.0).abs() < 20.0, "{}", mix.temperature.value);
    assert!(mix.findings.iter().any(|finding| finding.code == "metal-reduction"));
}

#[test]
fn closed_spaces_are_computed_unless_the_mixture_would_heat_itself() {
    // 0.221 bar over calcite at 800 °C (J. Smyth, L. Adams, J. Am. Chem. Soc. 45 (1923) 1167, and older tables of heat), with
    // the spread of the tables, 30 %.
    let closed = EquilibriumOptions { at: Some("800 °C"), volume: Some("100 mL"), ..EquilibriumOptions::default() };
    let calcite = state(&["CaCO3(s) 1 mol"], &closed);
    assert!((calcite.pressure.value / 0.221 - 1.0).abs() < 0.3, "{}", calcite.pressure.value);
    for lots in [&["H2(g) 2 mol", "O2(g) 1 mol"][..], &["Fe2O3(s) 1 mol", "Al(s) 2 mol"]] {
        let found = refused(lots, &closed);
        assert!(found.iter().any(|finding| finding.code == "out-of-bounds"), "{found:?}");
    }
}

#[test]
fn the_choice_of_candidates_can_be_narrowed() {
    // Without graphite as a candidate carbon monoxide is all there is of carbon and oxygen, one to one, at 25 °C.
    let plain = EquilibriumOptions { at: Some("25 °C"), ..EquilibriumOptions::default() };
    let all = state(&["CO(g) 1 mol"], &plain);
    assert!((amount(&all, "C(s)") - 0.5).abs() < 1e-6);
    let only = ["CO(g)".to_owned(), "CO2(g)".to_owned()];
    let few = state(&["CO(g) 1 mol"], &EquilibriumOptions { only: &only, ..plain });
    assert!((amount(&few, "CO(g)") - 1.0).abs() < 1e-12 && few.candidates == 2);
    let without = ["C(s)".to_owned()];
    let other = state(&["CO(g) 1 mol"], &EquilibriumOptions { without: &without, ..plain });
    assert_eq!(amount(&other, "C(s)"), 0.0);
}

#[test]
fn slips_are_told_with_their_remedy() {
    let codes = |lots: &[&str], options: EquilibriumOptions<'_>| -> Vec<&'static str> {
        refused(lots, &options).iter().map(|finding| finding.code).collect()
    };
    let plain = EquilibriumOptions::default();
    assert_eq!(codes(&["CaCO3(s)"], plain), ["missing-field"]);
    let both = EquilibriumOptions { at: Some("900 °C"), adiabatic: true, ..plain };
    assert_eq!(codes(&["CaCO3(s)"], both), ["missing-field"]);
    let at = EquilibriumOptions { at: Some("900 °C"), ..plain };
    assert_eq!(codes(&["CaCO3(s) 5 L"], at), ["bad-quantity"]);
    assert_eq!(codes(&["Xx 1 mol"], at), ["bad-formula"]);
    for mix in [["KClO3(s) 1 mol", "Al(s) 1 mol"], ["KNO3(s) 1 mol", "C(s) 1 mol"], ["KMnO4(s) 1 mol", "Mg(s) 1 mol"]] {
        assert_eq!(codes(&mix, at).first(), Some(&"out-of-bounds"), "{mix:?}");
    }
    let pinned = EquilibriumOptions { pressure: Some("1 bar"), volume: Some("1 L"), ..at };
    assert_eq!(codes(&["CaCO3(s)"], pinned), ["conflicting-fields"]);
    let from = EquilibriumOptions { adiabatic: true, from: Some("6900 K"), ..plain };
    assert_eq!(codes(&["H2(g) 1 mol"], from), ["beyond-range"]);
    let only = ["CaO(s)".to_owned()];
    let narrow = state(&["CaCO3(s) 1 mol"], &EquilibriumOptions { only: &only, ..at });
    assert_eq!(narrow.status, "unreachable");
    assert!(narrow.findings.iter().any(|finding| finding.code == "not-solved"));
}

#[test]
fn losses_are_those_of_published_thermograms() {
    // Percent of the starting mass, ± 0.02: calcium oxalate monohydrate is the standard of thermogravimetry, 12.3, 19.2 and
    // 30.1 %; iron(II) oxalate dihydrate loses 20.0 % and leaves 44.4 % in air (both from memory).
    let calcium = heated("CaC2O4·H2O(s) 10 g", "air", Some("600 °C"));
    let losses: Vec<f64> = calcium.chain.iter().map(|step| step.loss).collect();
    for (found, expected) in losses.iter().zip([12.32966717, 19.17035678, 30.12025104]) {
        assert!((found - expected).abs() < 0.02, "{losses:?}");
    }
    assert_eq!(calcium.chain.len(), 3);
    assert_eq!(calcium.may_hold, ["CaO(s)", "CaCO3(s)"]);
    let iron = heated("FeC2O4·2H2O(s) 10 g", "air", None);
    assert!((iron.chain[0].loss - 20.02857254).abs() < 0.02, "{:?}", iron.chain[0]);
    for (residue, expected) in
        [("FeO(s)", 39.9370737), ("Fe3O4(s)", 42.90161374), ("Fe2O3(s)", 44.38388375), ("Fe(s)", 31.04345361)]
    {
        let found = iron.levels.iter().find(|level| level.residue == residue).map(|level| level.mass);
        assert!(found.is_some_and(|mass| (mass - expected).abs() < 0.02), "{residue} {found:?}");
    }
    assert_eq!(
        iron.stages.last().and_then(|stage| stage.phases.first()).map(|(name, _)| name.as_str()),
        Some("Fe3O4(s)")
    );
}

/// The level of lime from calcium oxalate hydrate is known to the atomic weights: 38.380 % with u = 0.0010 %, worked by hand
/// from the standard atomic weights of IUPAC (2021): Ca 40.078 ± 0.004 and the intervals of H, C and O as rectangles.
#[test]
fn a_level_is_as_certain_as_the_atomic_weights() {
    let oxalate = heated("CaC2O4·H2O(s)", "air", None);
    let lime = oxalate.levels.iter().find(|level| level.residue == "CaO(s)").expect("a level");
    assert!((lime.mass_uncertainty - 1.03e-3).abs() < 2e-5, "{lime:?}");
    let last = oxalate.chain.last().expect("a step");
    assert!((last.mass_uncertainty - lime.mass_uncertainty).abs() < 1e-9, "{last:?}");
    // Without values of the solid there is no temperature, and the solid is named.
    let bismuth = heated("Bi2O2CO3(s)", "air", None);
    assert!(bismuth.chain[0].own_gas.contains("no values of Bi2O2CO3(s)"), "{:?}", bismuth.chain);
    assert!(bismuth.chain[0].own_gas_celsius.is_none());
    // Where they end too early there is none either, and the way goes on.
    let manganese = heated("MnC2O4(s)", "air", None);
    assert!(manganese.chain[0].own_gas.contains("values end before it"), "{:?}", manganese.chain);
    assert!(manganese.chain[0].own_gas_celsius.is_none() && manganese.chain.len() > 1);
}

#[test]
fn stable_phases_change_where_tables_say() {
    // Calcite gives way at 1 atm of its own gas between 883 and 900 °C by different tables; copper(II) oxide in air at
    // 1026 °C (common practice: 1020 to 1030), manganese sesquioxide at some 877 °C (850 to 950 in print).
    let begins = |lot: &str, surroundings: &str, phase: &str| {
        let answer = heated(lot, surroundings, None);
        let stage = answer.stages.iter().find(|stage| stage.phases.iter().any(|(name, _)| name == phase));
        stage.map(|stage| stage.from).unwrap_or_else(|| panic!("{lot} {surroundings} {phase}: {:?}", answer.stages))
    };
    let lime = begins("CaCO3(s)", "own gas", "CaO(s)");
    assert!((883.0..=900.0).contains(&lime), "{lime}");
    let carbon_dioxide = begins("CaCO3(s)", "carbon dioxide", "CaO(s)");
    assert!((carbon_dioxide - lime).abs() < 2.0, "{carbon_dioxide}");
    assert!(begins("CaCO3(s)", "nitrogen", "CaO(s)") < 650.0);
    let cuprous = begins("CuO(s)", "air", "Cu2O(s)");
    assert!((1015.0..=1035.0).contains(&cuprous), "{cuprous}");
    let manganese = begins("MnCO3(s)", "air", "Mn3O4(s)");
    assert!((850.0..=950.0).contains(&manganese), "{manganese}");
    // Zinc oxide over carbon: zinc leaves as vapour above 907 °C at 1 atm together with carbon monoxide (lines of D. R. Gaskell cross at
    // 947 °C for each gas at 1 atm, so with both sharing it the temperature is lower by some 60 °C).
    let zinc = heated("ZnO(s)", "carbon", None);
    let last = zinc.stages.last().expect("a stage");
    assert!(last.phases.is_empty() && (850.0..930.0).contains(&last.from), "{last:?}");
    // Nothing is lost on the way: phases and gases hold the lot's mass at every point.
    assert!(zinc.points.iter().all(|point| point.mass <= 100.0 + 1e-6));
}

#[test]
fn hydrates_lose_water_first_and_malachite_goes_in_one_step() {
    let copper = heated("CuSO4·5H2O(s)", "air", Some("105 °C"));
    let steps: Vec<&str> = copper.chain.iter().map(|step| step.to.as_str()).collect();
    assert_eq!(steps[..3], ["CuSO4·3H2O(s)", "CuSO4·H2O(s)", "CuSO4(s)"]);
    assert!(copper.may_hold.contains(&"CuSO4·H2O(s)".to_owned()), "{:?}", copper.may_hold);
    // Malachite loses 28.05 %.
    let malachite = heated("Cu2CO3(OH)2(s)", "air", None);
    assert!((malachite.chain[0].loss - 28.05).abs() < 0.01);
    // Over copper oxide nothing of nitrogen stands.
    assert!(malachite.points.iter().all(|point| point.phases.iter().all(|(name, _)| !name.contains("NO3"))));
}

#[test]
fn what_cannot_be_heated_is_said() {
    let slip = |lot: &str, surroundings: Option<&str>, to: Option<&str>| -> Vec<&'static str> {
        let options = IgniteOptions { surroundings, to, ..IgniteOptions::default() };
        ignite(&[lot.to_owned()], &options).expect_err("no answer").iter().map(|finding| finding.code).collect()
    };
    assert_eq!(slip("CaCO3(s)", Some("steam"), None), ["unknown-word"]);
    assert_eq!(slip("CaCO3(s)", None, Some("3000 °C")), ["out-of-range"]);
    for lot in ["NH4NO3(s)", "KClO3(s)", "NaN3(s)"] {
        assert_eq!(slip(lot, None, None).first(), Some(&"out-of-bounds"), "{lot}");
    }
}

fn bed(solid: &str, options: &FurnaceOptions<'_>) -> FurnaceAnswer {
    furnace(solid, options).expect("an answer")
}

#[test]
fn the_middle_of_a_deep_bed_is_late() {
    let options =
        FurnaceOptions {
            at: Some("1000 °C"), depth: Some("20 mm"), time: Some("20 min"), ..FurnaceOptions::default()
        };
    let lime = bed("CaCO3(s)", &options);
    let asked = lime.asked.expect("a moment");
    assert!(asked.middle_left > 50.0 && asked.middle < 890.0, "{asked:?}");
    // 1.65 kJ/g at the front; calcite: 178 kJ/mol over 100.09 g/mol at 25 °C, a little less there (JANAF, from memory).
    assert!((lime.heat - 1.66).abs() < 0.06, "{}", lime.heat);
    let (whole, half) = (lime.done[1].expect("done"), lime.half_depth[1].expect("done"));
    assert!(whole / half > 2.0 && whole / half < 4.1, "{whole} {half}");
    // A quasi-steady front (Stefan): time is at least ρ q d²/(2 k ΔT), and heating the solids adds less than as much again.
    let front = lime.front.expect("a front");
    let least = 1000.0 * lime.heat * 1e6 * 0.02f64.powi(2) / (2.0 * 0.2 * (1000.0 - front)) / 60.0;
    assert!(whole > least && whole < 2.0 * least, "{whole} {least}");
    assert!(lime.done[2] < lime.done[1] && lime.done[1] < lime.done[0]);
    // A crucible heated from around is done sooner than a layer as deep as its radius.
    let round = FurnaceOptions { depth: None, diameter: Some("40 mm"), ..options };
    assert!(bed("CaCO3(s)", &round).done[1] < lime.done[1]);
    let slow = FurnaceOptions {
        frequency: Some("1e5"),
        energy: Some("180 kJ/mol"),
        law: Some("contracting volume"),
        ..options
    };
    assert!(bed("CaCO3(s)", &slow).moments.last().is_some_and(|m| m.middle > front));
}

#[test]
fn a_furnace_needs_a_loss_and_a_size() {
    let slip = |solid: &str, options: &FurnaceOptions<'_>| -> Vec<&'static str> {
        furnace(solid, options).expect_err("no answer").iter().map(|finding| finding.code).collect()
    };
    let plain = FurnaceOptions { at: Some("900 °C"), depth: Some("10 mm"), ..FurnaceOptions::default() };
    assert_eq!(slip("CaCO3(s)", &FurnaceOptions { at: None, ..plain }), ["missing-field"]);
    assert_eq!(slip("CaCO3(s)", &FurnaceOptions { depth: None, ..plain }), ["missing-field"]);
    assert_eq!(slip("Al2O3(s)", &plain), ["no-loss"]);
    assert_eq!(
        slip(
            "CaCO3(s)",
            &FurnaceOptions { law: Some("zero"), frequency: Some("1"), energy: Some("1 kJ/mol"), ..plain }
        ),
        ["unknown-word"]
    );
    let hydrate = bed("CaC2O4·H2O(s)", &FurnaceOptions { at: Some("1000 °C"), ..plain });
    assert!(hydrate.findings.iter().any(|finding| finding.code == "earlier-losses"));
}
