//! Do the tables of heat and entropy hold together, and do reactions come out as published?
//!
//! Rows: polynomials join, stay positive and give back their stated enthalpies; values at 298.15 K satisfy ΔG = ΔH − TΔS.
//! Worked examples stand with their source; the tolerances are those of the published digits or of the spread of the
//! sources.
#![allow(clippy::unwrap_used, clippy::expect_used, clippy::indexing_slicing, missing_docs)]

use chem::thermo::{Record, StandardValue};
use chem::{Formula, Phase};
use engine::thermochemistry::standard::{STANDARD_TEMPERATURE, WaterIncrement};
use engine::thermochemistry::{Fit, Interval};
use prep::ask::{ReactionOptions, reaction_with, substance};
use prep::outcome::ReactionHeat;

const ATMOSPHERE: f64 = 1.013_25;

fn fit(record: &Record) -> Fit {
    let part = |c: &chem::thermo::Coefficients| Interval { low_k: c.low_k, high_k: c.high_k, a: c.a, b: c.b };
    Fit { intervals: record.intervals.iter().map(part).collect() }
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

/// An independent minimiser with the same records has carbon dioxide over calcite at 1 atm at 1160 K.
#[test]
fn calcite_and_lime() {
    let gases = [format!("CO2 {ATMOSPHERE} bar")];
    let balance = &heat_at("CaCO3(s) -> CaO(s) + CO2(g)", "25 °C", &gases).balances[0];
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

/// The same crossings by the tables here, carbon monoxide (and zinc vapour) at 1 atm: 1044, 1941 and 1225 K by independent sums
/// over other polynomials, within 20 K. Iron(II) oxide of the tables is FeO as written; wüstite, which lacks iron, is what the
/// line above is drawn for, and crosses 44 K lower. That difference is real, and which oxide it is stands in the answer.
#[test]
fn oxides_over_carbon_by_the_tables() {
    let crossing = |text: &str, gases: &[&str]| {
        let gases: Vec<String> = gases.iter().map(|gas| format!("{gas} {ATMOSPHERE} bar")).collect();
        let found = heat_at(text, "25 °C", &gases);
        (found.balances[0].temperature.clone(), found.species)
    };
    let (iron, species) = crossing("FeO(s) + C(s) -> Fe(s) + CO(g)", &["CO"]);
    near(iron.value, 1044.0, 20.0, "FeO");
    assert!(iron.value > 1000.3 + 20.0, "not the line of wüstite: {}", iron.value);
    let oxide = species.iter().find(|one| one.species == "FeO(s)").unwrap();
    assert!(oxide.form.starts_with("FeO"), "{oxide:?}");
    assert!(!oxide.enthalpy.as_ref().unwrap().sources.is_empty(), "its table is named: {oxide:?}");
    near(crossing("SiO2(s) + 2 C(s) -> Si(s) + 2 CO(g)", &["CO"]).0.value, 1941.0, 20.0, "SiO2");
    near(crossing("ZnO(s) + C(s) -> Zn(g) + CO(g)", &["Zn", "CO"]).0.value, 1225.0, 20.0, "ZnO");
}

/// Calcium hydroxide 791 K, magnesium hydroxide 537 K and magnesite 578 K by an independent minimiser with the same records.
#[test]
fn hydroxides_and_magnesite() {
    let over = |text: &str, gas: &str| {
        let gases = [format!("{gas} {ATMOSPHERE} bar")];
        heat_at(text, "25 °C", &gases).balances[0].clone()
    };
    let lime = over("Ca(OH)2(s) -> CaO(s) + H2O(g)", "H2O").temperature.value;
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
