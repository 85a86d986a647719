//! Do the tables of heat and entropy hold together, and do reactions come out as published?
//!
//! Rows: polynomials join, stay positive and give back their stated enthalpies; values at 298.15 K satisfy ΔG = ΔH − TΔS.
//! Worked examples stand with their source; the tolerances are those of the published digits or of the spread of the
//! sources.
#![allow(clippy::unwrap_used, clippy::expect_used, clippy::indexing_slicing, missing_docs)]

use chem::thermo::{Record, StandardValue};
use chem::{Formula, Phase, Species};
use engine::thermochemistry::standard::{STANDARD_TEMPERATURE, WaterIncrement};
use engine::thermochemistry::{Fit, Interval};
use prep::ask::{ReactionOptions, reaction_with, substance};
use prep::outcome::ReactionHeat;

const ATMOSPHERE: f64 = 1.013_25;

fn fit(record: &Record) -> Fit {
    let part = |c: &chem::thermo::Coefficients| Interval { low_k: c.low_k, high_k: c.high_k, a: c.a, b: c.b };
    Fit { intervals: record.intervals.iter().map(part).collect() }
}

fn record(species: &str, form: &str) -> Fit {
    let wanted = Species::parse(species).unwrap();
    fit(Record::all().iter().find(|r| r.species == wanted && (form.is_empty() || r.form == form)).expect(species))
}

fn heat_at(text: &str, at: &str, gases: &[String]) -> ReactionHeat {
    let options = ReactionOptions { at: Some(at), gases, ..ReactionOptions::default() };
    reaction_with(text, &options).expect(text).heat.expect(text)
}

fn heat(text: &str) -> ReactionHeat {
    heat_at(text, "25 °C", &[])
}

fn near(found: f64, expected: f64, tolerance: f64, what: &str) {
    assert!((found - expected).abs() <= tolerance, "{what}: {found} instead of {expected} ± {tolerance}");
}

// ---- rows ----

#[test]
fn both_tables_are_read_whole() {
    let rows = |text: &'static str| chem::table::rows(text);
    assert!(
        rows(chem::thermo::TABLE).iter().chain(&rows(chem::thermo::STANDARD_TABLE)).all(chem::table::Row::is_complete)
    );
    let intervals: usize = Record::all().iter().map(|record| record.intervals.len()).sum();
    assert_eq!(intervals, rows(chem::thermo::TABLE).len());
    assert_eq!(StandardValue::all().len(), rows(chem::thermo::STANDARD_TABLE).len());
    assert!(Record::all().len() > 700 && StandardValue::all().len() > 200);
    for row in StandardValue::all() {
        assert!(row.enthalpy.is_some() && !row.sources.is_empty(), "{}", row.species);
    }
    let corrupt = |r: &&Record| r.species.to_string() == "FeCl3(g)";
    assert!(Record::all().iter().find(corrupt).is_none(), "its coefficients are corrupt in the raw file");
}

#[test]
fn polynomials_join_within_a_form() {
    for record in Record::all() {
        for pair in record.intervals.windows(2) {
            let (cold, hot) = (pair[0], pair[1]);
            assert_eq!(cold.high_k, hot.low_k, "{} {}", record.species, record.form);
            let of = |c: chem::thermo::Coefficients| Interval { low_k: c.low_k, high_k: c.high_k, a: c.a, b: c.b };
            let (cold, hot, t) = (of(cold), of(hot), hot.low_k);
            // Sodium cyanide joins badly in the source, by 0.3 J/(mol K) at the least.
            let worst = if record.species.formula.text() == "NaCN" { 0.05 } else { 0.005 };
            near(hot.entropy_over_r(t), cold.entropy_over_r(t), worst, &format!("S/R of {} at {t}", record.species));
            near(
                hot.enthalpy_over_rt(t),
                cold.enthalpy_over_rt(t),
                0.005,
                &format!("H/RT of {} at {t}", record.species),
            );
        }
    }
}

#[test]
fn heat_capacities_are_positive_and_stated_enthalpies_come_back() {
    for record in Record::all() {
        let fit = fit(record);
        let (low, high) = fit.range().unwrap();
        for step in 0..=40 {
            let t = low + (high - low) * f64::from(step) / 40.0;
            assert!(fit.heat_capacity(t) > 0.0, "{} {} at {t}", record.species, record.form);
        }
        if fit.covers(STANDARD_TEMPERATURE) {
            near(fit.enthalpy(STANDARD_TEMPERATURE), record.enthalpy, 1.0, &record.species.to_string());
        }
    }
}

/// Where one form ends another begins, and there the Gibbs energies are equal.
#[test]
fn forms_meet_in_balance() {
    let mut met = 0;
    for (one, other) in Record::all().iter().zip(Record::all().iter().skip(1)) {
        let (a, b) = (fit(one), fit(other));
        let t = b.range().unwrap().0;
        let condensed = one.species.phase != Some(Phase::Gas) && other.species.phase != Some(Phase::Gas);
        if one.species.formula != other.species.formula || !condensed || a.range().unwrap().1 != t {
            continue;
        }
        met += 1;
        let gap = (b.gibbs_over_rt(t) - a.gibbs_over_rt(t)) * 8.314_51 * t;
        assert!(
            gap.abs() < 120.0,
            "{} {} to {} {} at {t} K: {gap} J/mol",
            one.species,
            one.form,
            other.species,
            other.form
        );
        assert!(b.entropy(t) > a.entropy(t) - 0.05, "{} {} at {t}", other.species, other.form);
    }
    assert!(met > 200, "{met} transitions were looked at");
}

/// Known slips of the sources themselves stay within 3 kJ/mol: the carbonates of sodium and potassium are printed with
/// Gibbs energies that do not follow from their entropies.
#[test]
fn printed_gibbs_energies_follow_from_enthalpy_and_entropy() {
    let mut judged = 0;
    for row in StandardValue::all() {
        let (Some(enthalpy), Some(entropy), Some(printed)) = (row.enthalpy, row.entropy, row.gibbs_energy) else {
            continue;
        };
        let elements: f64 = row.species.formula.elements().map(|(e, n)| n * element_entropy(e.symbol())).sum();
        let charge = f64::from(row.species.formula.charge()) * element_entropy("H");
        let computed = enthalpy.value - STANDARD_TEMPERATURE * (entropy.value - elements + charge);
        judged += 1;
        near(printed * 1e-3, computed * 1e-3, 3.0, &format!("ΔfG of {}", row.species));
    }
    assert!(judged > 120, "{judged} rows were judged");
}

/// Entropy of an element for each atom, CODATA Key Values 1989 and, for the others, the NBS tables 1982 (from memory).
fn element_entropy(symbol: &str) -> f64 {
    let list = "H 65.34 O 102.576 C 5.74 N 95.805 S 32.05 Cl 111.54 Br 76.105 I 58.07 F 101.4 P 41.09 Na 51.3 K 64.68 \
                Li 29.12 Mg 32.67 Ca 41.59 Sr 55.7 Ba 62.5 Al 28.3 Si 18.81 Ti 30.72 V 28.94 Cr 23.62 Mn 32.01 Fe 27.3 \
                Co 30.04 Ni 29.87 Cu 33.15 Zn 41.63 Ag 42.55 Pb 64.8 Bi 56.74 Sn 51.18 B 5.9";
    let words: Vec<&str> = list.split_whitespace().collect();
    let at = words.iter().position(|word| *word == symbol).unwrap_or_else(|| panic!("{symbol}"));
    words[at + 1].parse().unwrap()
}

/// The increments of the difference rule against the hydrates of the table: mean and scatter for each water.
#[test]
fn the_difference_rule_fits_the_hydrates_of_the_table() {
    let dry = |f: &Formula| f.without_hydrate_water();
    let water = |f: &Formula| chem::formula::to_f64(f.hydrate_water());
    let (mut enthalpies, mut entropies) = (Vec::new(), Vec::new());
    for hydrate in StandardValue::all().iter().filter(|row| water(&row.species.formula) > 0.0) {
        let parent = StandardValue::all().iter().find(|row| {
            row.species.phase == Some(Phase::Solid)
                && water(&row.species.formula) == 0.0
                && row.sources == hydrate.sources
                && row.species.formula.same_substance(&dry(&hydrate.species.formula))
        });
        let Some(parent) = parent else { continue };
        let n = water(&hydrate.species.formula);
        if let (Some(a), Some(b)) = (hydrate.enthalpy, parent.enthalpy) {
            enthalpies.push((a.value - b.value) / n);
        }
        if let (Some(a), Some(b)) = (hydrate.entropy, parent.entropy) {
            entropies.push((a.value - b.value) / n);
        }
    }
    let mean = |list: &[f64]| list.iter().sum::<f64>() / list.len() as f64;
    let scatter =
        |list: &[f64]| (list.iter().map(|x| (x - mean(list)).powi(2)).sum::<f64>() / list.len() as f64).sqrt();
    assert!(enthalpies.len() > 25 && entropies.len() > 15, "{} and {}", enthalpies.len(), entropies.len());
    near(mean(&enthalpies), WaterIncrement::ENTHALPY, 6_000.0, "mean enthalpy for each water");
    near(mean(&entropies), WaterIncrement::ENTROPY, 3.0, "mean entropy for each water");
    assert!(scatter(&enthalpies) < 1.1 * WaterIncrement::ENTHALPY_UNCERTAINTY, "{}", scatter(&enthalpies));
    assert!(scatter(&entropies) < 1.1 * WaterIncrement::ENTROPY_UNCERTAINTY, "{}", scatter(&entropies));
}

// ---- worked examples ----

/// NIST-JANAF Thermochemical Tables, 4th edition (Chase 1998), rows at 1000 K (from memory for most): enthalpy above
/// 298.15 K in kJ/mol, entropy in J/(mol K).
#[test]
fn heat_content_and_entropy_at_1000_kelvin() {
    let rows = [
        ("CO2(g)", "", 33.397, 269.286, 0.05, 0.06),
        ("CO(g)", "", 21.690, 234.545, 0.05, 0.06),
        ("H2O(g)", "", 26.003, 232.735, 0.05, 0.06),
        ("O2(g)", "", 22.707, 243.586, 0.05, 0.06),
        ("N2(g)", "", 21.465, 228.175, 0.05, 0.06),
        ("H2(g)", "", 20.687, 166.236, 0.05, 0.06),
        ("C(s)", "", 11.794, 24.451, 0.05, 0.06),
        ("Fe2O3(s)", "", 100.314, 252.886, 0.3, 0.3),
        ("Fe(s)", "α", 24.204, 66.603, 0.4, 0.5),
    ];
    for (species, form, content, entropy, of_content, of_entropy) in rows {
        let fit = record(species, form);
        let found = (fit.enthalpy(1000.0) - fit.enthalpy(STANDARD_TEMPERATURE)) * 1e-3;
        near(found, content, of_content, species);
        near(fit.entropy(1000.0), entropy, of_entropy, species);
    }
}

/// The records of corundum, lime and calcite follow Gurvich 1996: at 1000 K 0.09 kJ/mol above, 0.59 below and 0.86 above
/// other tables (77.965 and 35.23 in Chase 1998, 76.32 kJ/mol in older ones). The uncertainty of 1 % that heat capacities of solids get here covers both twice over.
#[test]
fn three_solids_follow_another_paper() {
    for (species, content) in [("Al2O3(s)", 77.965), ("CaO(s)", 35.228), ("CaCO3(s)", 76.316)] {
        let fit = record(species, "");
        let found = (fit.enthalpy(1000.0) - fit.enthalpy(STANDARD_TEMPERATURE)) * 1e-3;
        near(found, content, 2.0 * 0.01 * content, species);
    }
}

/// Stoichiometric iron(II) oxide at 1000 K: 38.755 kJ/mol above 298.15 K and 126.45 J/(mol K) in the tables of Chase
/// 1998. The heat law used here is another one (Barin and Knacke 1973, from memory), so that the entropy, which carries
/// the uncertainty of that at 298.15 K, agrees to 0.3.
#[test]
fn the_compound_of_iron_and_oxygen_is_not_wustite() {
    let cold = heat("FeO(s) -> Fe(s) + O2(g)").species[0].clone();
    let hot = heat_at("FeO(s) -> Fe(s) + O2(g)", "1000 K", &[]).species[0].clone();
    near(hot.enthalpy.unwrap().value - cold.enthalpy.unwrap().value, 38.755, 0.06, "heat content");
    near(hot.entropy.unwrap().value, 126.45, 0.3, "entropy");
    let wustite = heat("Fe0.947O(s) -> Fe(s) + O2(g)").species[0].clone();
    near(wustite.enthalpy.unwrap().value, -266.27, 0.1, "NASA/TP-2002-211556, record of Fe0.947O");
}

/// Calcite, lime and carbon dioxide. 298.15 K: CRC Handbook of Chemistry and Physics, 179.2 kJ/mol, 160.2 J/(mol K),
/// 131.4 kJ/mol; its enthalpies lie 0.1 kJ/mol from those used here, which the tolerance allows with their digits.
/// Pressures: older tables give 0.00274, 0.0311, 0.221 and 1.106 bar at 600 to 900 °C, in the line of J. Smyth, L. Adams,
/// J. Am. Chem. Soc. 45 (1923) 1167 (from memory); the transpiration study J. Chem. Eng. Data 55 (2010) 3779 gives
/// log10(p/Pa) = −9074/T + 12.91. They lie apart by a third, which 2 kJ/mol would do; the records give pressures between.
/// 1 atm is reached between 883 and 900 °C in different tables.
#[test]
fn calcite_and_lime() {
    let text = "CaCO3(s) -> CaO(s) + CO2(g)";
    let now = heat(text);
    near(now.enthalpy.unwrap().value, 179.2, 1.2, "ΔrH");
    near(now.entropy.unwrap().value, 160.2, 1.0, "ΔrS");
    near(now.gibbs_energy.unwrap().value, 131.436, 1.2, "ΔrG");
    for (at, pressure) in [("600 °C", 0.002_738_9), ("700 °C", 0.031_15), ("800 °C", 0.221_3), ("900 °C", 1.106_2)]
    {
        let now = heat_at(text, at, &[]);
        let found = 10_f64.powf(now.log10_k.unwrap().value);
        let transpiration = 10_f64.powf(12.91 - 9074.0 / now.temperature.value) / 1e5;
        assert!((pressure..transpiration).contains(&found), "{at}: {found} bar");
    }
    let gases = [format!("CO2 {ATMOSPHERE} bar")];
    let balance = &heat_at(text, "25 °C", &gases).balances[0];
    near(balance.temperature.value, 894.0 + 273.15, 15.0, "CO2 at 1 atm");
    // An independent minimiser with the same records: 1160 K.
    near(balance.temperature.value, 1160.0, 1.0, "CO2 at 1 atm, independent minimiser");
    assert!(balance.runs_above);
}

/// Lines with constant ΔH and ΔS cross where they must: 2C + O2 = 2CO with the coefficients of D. R. Gaskell,
/// Introduction to the Thermodynamics of Materials, table A-1 (coefficients from memory, so an exercise in arithmetic).
#[test]
fn lines_of_oxides_cross_that_of_carbon() {
    use engine::thermochemistry::reaction::sign_changes;
    let carbon = |t: f64| -111_700.0 - 87.65 * t;
    let metals =
        [(-263_700.0, 64.3, 1000.329, 0.0), (-384_700.0, 72.8, 1701.465, 0.0), (-460_200.0, 198.0, 1220.025, 0.0)];
    for (enthalpy, slope, expected, _) in metals {
        let found = sign_changes(|t| carbon(t) - (enthalpy + slope * t), 300.0, 3000.0);
        near(found[0], expected, 0.01, "crossing");
    }
    let silica = sign_changes(|t| 2.0 * carbon(t) - (-902_000.0 + 174.0 * t), 300.0, 3000.0);
    near(silica[0], 1942.7, 0.8, "silica, whose carbon line is rounded in the source");
}

/// A. Halstead, W. Moore, J. Chem. Soc. 1957, 3873: water over calcium hydroxide at 1 atm at 512 °C; 512 to 521 °C are
/// quoted (from memory). Magnesium hydroxide 537 K and magnesite 578 K by an independent minimiser with the same records.
#[test]
fn hydroxides_and_magnesite() {
    let over = |text: &str, gas: &str| {
        let gases = [format!("{gas} {ATMOSPHERE} bar")];
        heat_at(text, "25 °C", &gases).balances[0].clone()
    };
    let lime = over("Ca(OH)2(s) -> CaO(s) + H2O(g)", "H2O").temperature.value;
    near(lime, 521.7 + 273.15, 10.0, "Ca(OH)2");
    near(lime, 791.0, 1.0, "Ca(OH)2, independent minimiser");
    near(over("Mg(OH)2(s) -> MgO(s) + H2O(g)", "H2O").temperature.value, 537.0, 1.0, "Mg(OH)2");
    let magnesite = over("MgCO3(s) -> MgO(s) + CO2(g)", "CO2");
    near(magnesite.temperature.value, 578.0, 1.0, "MgCO3");
    // Tables disagree by 17 kJ/mol, worth about 90 K; the spread is told and lies within two uncertainties.
    let others: Vec<f64> = magnesite.with_other_tables.iter().map(|(_, t)| t - magnesite.temperature.value).collect();
    assert!(others.iter().any(|shift| (70.0..120.0).contains(shift)), "{others:?}");
    let u = magnesite.temperature.standard_uncertainty.unwrap();
    assert!(others.iter().all(|shift| shift.abs() < 2.0 * u), "{others:?}, u = {u}");
}

/// Water over pairs of hydrates of copper sulfate at 25 °C, from the Gibbs energies of the NBS tables (Wagman et al. 1982,
/// from memory): 7.80 and 5.14 mmHg, and 0.0104 mmHg over the last pair, where textbooks have 0.8. The Gibbs energies
/// here follow from enthalpy and entropy, which round to 0.05 kJ/mol.
#[test]
fn water_over_copper_sulfate() {
    let mercury = 750.062;
    let pressure = |text: &str, water: f64| {
        let log = heat(text).log10_k.unwrap().value;
        10_f64.powf(log / water) * mercury
    };
    near(pressure("CuSO4·5H2O(s) -> CuSO4·3H2O(s) + 2 H2O(g)", 2.0), 7.80, 0.4, "5/3");
    near(pressure("CuSO4·3H2O(s) -> CuSO4·H2O(s) + 2 H2O(g)", 2.0), 5.14, 0.4, "3/1");
    let last = heat("CuSO4·H2O(s) -> CuSO4(s) + H2O(g)").log10_k.unwrap();
    // The anhydrous salt is 2.8 kJ/mol lower in the record than in the NBS tables; that is told and within uncertainty.
    near(10_f64.powf(last.value) * mercury / 0.0104, 1.0, 3.0, "1/0");
    assert!(last.standard_uncertainty.unwrap() > 0.2);
}

/// Carbon and carbon dioxide at 1000 K: log Kf of CO 10.459 and of CO2 20.680 in Chase 1998 (from memory), K = 1.73 bar.
#[test]
fn carbon_and_its_dioxide() {
    let found = 10_f64.powf(heat_at("C(s) + CO2(g) -> 2 CO(g)", "1000 K", &[]).log10_k.unwrap().value);
    near(found / 1.7628, 1.0, 0.02, "K");
}

/// S. Fischer, M. Grubelich, Sandia report SAND98-1176C (1998), table 1 (heats from memory), cal for each gram.
#[test]
fn heats_of_oxides_with_aluminium() {
    let rows = [
        ("Fe2O3(s) + Al(s) -> Fe(s) + Al2O3(s)", 951.3, 1.5),
        ("Fe3O4(s) + Al(s) -> Fe(s) + Al2O3(s)", 877.6, 1.5),
        ("CuO(s) + Al(s) -> Cu(s) + Al2O3(s)", 986.3, 2.0),
        ("Cu2O(s) + Al(s) -> Cu(s) + Al2O3(s)", 575.5, 2.0),
        ("MnO2(s) + Al(s) -> Mn(s) + Al2O3(s)", 1161.1, 1.5),
        ("Cr2O3(s) + Al(s) -> Cr(s) + Al2O3(s)", 627.4, 2.0),
        ("SiO2(s) + Al(s) -> Si(s) + Al2O3(s)", 513.6, 2.0),
    ];
    for (text, calories, percent) in rows {
        let found = heat(text).heat_per_gram.unwrap().value * 1000.0 / 4.184;
        near(100.0 * found / calories, 100.0, percent, text);
    }
}

/// Gas from weighed reagents at 25 °C and 101.325 kPa: ideal gas, exact from the question.
#[test]
fn gas_from_weighed_reagents() {
    let litres = |text: &str, at: &str, mass: f64, reagent: &str| {
        let formula = Formula::parse(reagent).unwrap();
        mass / formula.molar_mass().unwrap().value * heat_at(text, at, &[]).gas_volume.unwrap().value
    };
    near(litres("Zn(s) + 2 HCl(aq) -> ZnCl2(aq) + H2(g)", "25 °C", 5.0, "Zn"), 1.871, 0.01, "H2");
    let acid = "CaCO3(s) + 2 HCl(aq) -> CaCl2(aq) + CO2(g) + H2O(l)";
    near(litres(acid, "25 °C", 10.0, "CaCO3"), 2.444, 0.01, "CO2");
    let oxalate = "FeC2O4·2H2O(s) -> FeO(s) + CO(g) + CO2(g) + 2 H2O(g)";
    near(litres(oxalate, "400 °C", 10.0, "FeC2O4·2H2O"), 12.282, 0.03, "all gas at 400 °C");
    let dry = "FeC2O4·2H2O(s) -> FeO(s) + CO(g) + CO2(g) + 2 H2O(l)";
    near(litres(dry, "25 °C", 10.0, "FeC2O4·2H2O"), 2.720, 0.01, "dry gas at 25 °C");
}

/// Heat of neutralisation of strong acids and bases, −55.8 kJ/mol at infinite dilution and 25 °C (CODATA Key Values:
/// −285.83 + 230.015), and the ion product of water, pK 13.995 (Marshall and Franck 1981, from memory).
#[test]
fn neutralisation() {
    let found = heat("HCl(aq) + NaOH(aq) -> NaCl(aq) + H2O(l)");
    near(found.enthalpy.unwrap().value, -55.815, 0.01, "ΔrH");
    near(found.log10_k.unwrap().value, 13.995, 0.02, "pKw");
}

// ---- laws ----

/// K of a reaction and of its reverse multiply to one, and a sum of reactions has the sum of their heats.
#[test]
fn reverse_and_sum() {
    let value = |text: &str, of: fn(&ReactionHeat) -> f64| of(&heat_at(text, "700 °C", &[]));
    let log = |h: &ReactionHeat| h.log10_k.clone().unwrap().value;
    let enthalpy = |h: &ReactionHeat| h.enthalpy.clone().unwrap().value;
    let pairs = [
        ("CaCO3(s) -> CaO(s) + CO2(g)", "CaO(s) + CO2(g) -> CaCO3(s)"),
        ("C(s) + CO2(g) -> 2 CO(g)", "2 CO(g) -> C(s) + CO2(g)"),
        ("Fe2O3(s) + 3 H2(g) -> 2 Fe(s) + 3 H2O(g)", "2 Fe(s) + 3 H2O(g) -> Fe2O3(s) + 3 H2(g)"),
    ];
    for (forth, back) in pairs {
        near(value(forth, log) + value(back, log), 0.0, 1e-9, forth);
    }
    let burnt = value("C(s) + O2(g) -> CO2(g)", enthalpy);
    let half = value("2 C(s) + O2(g) -> 2 CO(g)", enthalpy);
    let rest = value("2 CO(g) + O2(g) -> 2 CO2(g)", enthalpy);
    near(half + rest, 2.0 * burnt, 1e-9, "carbon burnt in two steps");
    let now = heat_at("CaCO3(s) -> CaO(s) + CO2(g)", "700 °C", &[]);
    let g = now.enthalpy.unwrap().value - 973.15e-3 * now.entropy.unwrap().value;
    near(now.gibbs_energy.unwrap().value, g, 1e-9, "ΔG = ΔH − TΔS");
}

#[test]
fn what_is_beyond_range_is_marked_or_refused() {
    let codes = |text: &str, at: &str| -> Vec<&'static str> {
        let options = ReactionOptions { at: Some(at), ..ReactionOptions::default() };
        let answer = reaction_with(text, &options).unwrap();
        answer.findings.iter().map(|finding| finding.code).collect()
    };
    let text = "ZnCO3(s) -> ZnO(s) + CO2(g)";
    assert!(codes(text, "650 K").contains(&"extrapolated"));
    assert!(codes(text, "1500 K").contains(&"beyond-range"));
    assert!(heat_at(text, "1500 K", &[]).enthalpy.is_none());
    assert!(codes("Al(s) + N2(g) -> AlN(s)", "1000 °C").contains(&"molten"));
    let dissolved = codes("CuSO4(aq) + 2 NaOH(aq) -> Cu(OH)2(s) + Na2SO4(aq)", "25 °C");
    assert!(["taken-as-ions", "tables-disagree", "from-memory"].iter().all(|code| dissolved.contains(code)));
    let hydrate = codes("ZnSO4·2H2O(s) -> ZnSO4(s) + 2 H2O(g)", "25 °C");
    assert!(hydrate.contains(&"estimated-values"), "{hydrate:?}");
    assert!(codes("BaC2O4(s) -> BaO(s) + CO(g) + CO2(g)", "25 °C").contains(&"no-entropy"));
    assert!(codes("Xe(g) + F2(g) -> XeF2(s)", "25 °C").contains(&"no-thermochemical-values"));
}

#[test]
fn a_form_can_be_named() {
    let named = |form: &str| {
        let forms = [form.to_owned()];
        let options = ReactionOptions { forms: &forms, ..ReactionOptions::default() };
        reaction_with("CaCO3(s) -> CaO(s) + CO2(g)", &options)
    };
    let label = |form: &str| named(form).unwrap().heat.unwrap().species[0].form.clone();
    assert_eq!(label("CaCO3(s) = aragonite"), "CaCO3(s), aragonite");
    assert_eq!(label("CaCO3 = calcite"), "CaCO3(s), calcite");
    assert_eq!(named("CaCO3(s) = vaterite").unwrap_err()[0].code, "unknown-form");
}

#[test]
fn a_substance_tells_all_tables_and_its_estimates() {
    let magnesite = substance("MgCO3(s)").unwrap();
    let of = |answer: &prep::outcome::SubstanceAnswer, name: &str| {
        answer.properties.iter().find(|(known, _)| *known == name).map(|(_, list)| list.clone()).unwrap_or_default()
    };
    let values: Vec<f64> = of(&magnesite, "enthalpy_of_formation").iter().map(|figure| figure.value).collect();
    assert!(
        [-1096.0, -1113.3, -1111.69].iter().all(|known| values.iter().any(|v| (v - known).abs() < 0.01)),
        "{values:?}"
    );
    assert!(magnesite.remarks.iter().any(|remark| remark.contains("disagree")));
    // Not listed: half the way between two hydrates, by the difference rule.
    let estimate = substance("ZnSO4·2H2O(s)").unwrap();
    assert_eq!(of(&estimate, "enthalpy_of_formation")[0].status, chem::Status::Estimated);
    assert!(substance("zinc sulfate").is_err_and(|findings| findings[0].code == "several-substances"));
    assert_eq!(substance("goethite").unwrap().formula, "FeO(OH)");
    assert_eq!(substance("wollastonite").unwrap().formula, "CaSiO3(s)");
    assert!(substance("HN3").is_err() && substance("nonsense").is_err());
}
