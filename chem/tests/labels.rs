//! Are substances found by the names people use, and labels read as their publishers mean them?
//!
//! The labels are those of public product descriptions; the number beside each is what the published ratio and the
//! standard atomic weights give. Where a label is quoted from memory it says so. The rest are laws that hold for
//! every row of the table or for every text.

use std::collections::{BTreeMap, BTreeSet};

use chem::label::{self, ClaimBasis, Explanation, FindingKind, LabelReading};
use chem::substance::{Substance, TABLE, Use};
use chem::{Element, SourceKey, table};
use proptest::prelude::*;

fn formulas(name: &str) -> Vec<String> {
    Substance::find(name).iter().map(|substance| substance.formula.to_string()).collect()
}

fn reading_of<'a>(reading: &'a LabelReading, formula: &str) -> &'a Explanation {
    reading
        .readings
        .iter()
        .find(|explanation| explanation.substance.to_string() == formula)
        .unwrap_or_else(|| panic!("{}: no reading as {formula}", reading.text))
}

/// The part the label would print if its salt were this form.
fn predicted(label: &str, formula: &str) -> f64 {
    let form = reading_of(&label::read(label), formula).clone();
    form.predicted.map_or(f64::NAN, |amount| amount.value)
}

/// Mass fraction of an element in a form that no reading lists.
fn share(formula: &str, symbol: &str) -> f64 {
    chem::Formula::parse(formula).expect(formula).mass_fraction(Element::from_symbol(symbol).expect(symbol))
}

fn best(label: &str) -> Explanation {
    let reading = label::read(label);
    reading.readings.first().unwrap_or_else(|| panic!("{label}: {:?}", reading.findings)).clone()
}

#[track_caller]
fn close(value: f64, expected: f64, within: f64) {
    assert!((value - expected).abs() <= within, "{value} is not {expected} ± {within}");
}

fn has(reading: &LabelReading, wanted: impl Fn(&FindingKind) -> bool) -> bool {
    reading.findings.iter().any(|finding| wanted(&finding.kind))
}

// The table.

#[test]
fn every_row_is_read_and_weighs_something() {
    let rows = table::rows(TABLE);
    assert_eq!(rows.len(), Substance::all().len(), "a row was dropped");
    assert!(rows.len() >= 170, "{} rows", rows.len());
    for (row, substance) in rows.iter().zip(Substance::all()) {
        let place = format!("line {}: {}", row.line, substance.formula);
        assert!(row.is_complete(), "{place}");
        assert!(substance.formula.molar_mass().unwrap().value > 1.0, "{place}");
        assert!(!substance.name.is_empty() && !substance.uses.is_empty(), "{place}");
        assert_eq!(row.cell("uses").split('|').count(), substance.uses.len(), "{place}: an unknown use");
        for key in row.cell("source").split(';') {
            assert!(SourceKey::from_text(key.trim()).is_some(), "{place}: source {key}");
        }
        let limits = ["assay_as", "assay_low", "assay_high"].map(|column| row.cell(column).is_empty());
        assert!(limits.iter().all(|empty| *empty == limits[0]), "{place}: half an assay");
        assert_eq!(substance.assay.is_none(), limits[0], "{place}: an assay that is not read");
        if let Some(assay) = &substance.assay {
            assert!(0.0 < assay.low && assay.low < assay.high && assay.high < 110.0, "{place}");
            assert!(row.cell("source").contains("usp") || row.cell("source").contains("ph-eur"), "{place}");
        }
    }
}

#[test]
fn every_formula_stands_once() {
    let formulas: BTreeSet<String> = Substance::all().iter().map(|row| row.formula.to_string()).collect();
    assert_eq!(formulas.len(), Substance::all().len());
}

/// The last digit of a registry number is the sum of the others, each times its place from the right, modulo 10.
/// Source: CAS, "Check digit verification of CAS Registry Numbers".
#[test]
fn registry_numbers_have_their_check_digit() {
    let numbers: Vec<&str> = Substance::all().iter().filter_map(|row| row.cas).collect();
    assert_eq!(numbers.iter().collect::<BTreeSet<_>>().len(), numbers.len(), "a number stands twice");
    for number in numbers {
        let digits: Vec<u32> = number.chars().filter_map(|digit| digit.to_digit(10)).collect();
        let (check, others) = digits.split_last().unwrap();
        let sum: u32 = others.iter().rev().zip(1..).map(|(digit, place)| digit * place).sum();
        assert_eq!(sum % 10, *check, "{number}");
        assert_eq!(number.split('-').map(str::len).skip(1).collect::<Vec<_>>(), [2, 1], "{number}");
    }
}

#[test]
fn a_name_stands_for_two_substances_on_purpose_only() {
    let key = |name: &str| name.to_lowercase().replace([' ', '-', '\'', ','], "").trim_end_matches('s').to_owned();
    let mut owners: BTreeMap<String, BTreeSet<String>> = BTreeMap::new();
    let mut marked: BTreeMap<String, BTreeSet<String>> = BTreeMap::new();
    for row in Substance::all() {
        for name in row.names() {
            owners.entry(key(name)).or_default().insert(row.formula.to_string());
        }
        for name in &row.ambiguous {
            marked.entry(key(name)).or_default().insert(row.formula.to_string());
        }
    }
    for (name, formulas) in owners.iter().filter(|(_, formulas)| formulas.len() > 1) {
        assert_eq!(marked.get(name), Some(formulas), "“{name}” is not marked as ambiguous on every row");
    }
    for (name, formulas) in &marked {
        assert!(formulas.len() > 1, "“{name}” is marked as ambiguous but stands for {formulas:?} only");
    }
    assert!(marked.contains_key("washingsoda") && marked.contains_key("coppercarbonate"));
}

#[test]
fn every_row_is_found_by_each_of_its_names() {
    for row in Substance::all() {
        for name in row.names().chain([row.formula.text(), row.formula.written()]) {
            let found = formulas(name);
            assert!(found.contains(&row.formula.to_string()), "“{name}” finds {found:?}, not {}", row.formula);
        }
        if let Some(cas) = row.cas {
            assert_eq!(formulas(cas), [row.formula.to_string()]);
        }
    }
}

/// Common practice: the names of the trade.
#[test]
fn trade_names_are_found_in_any_spelling() {
    let found = |name: &str, formula: &str| {
        assert_eq!(formulas(name).first().map(String::as_str), Some(formula), "{name}");
    };
    found("Bluestone", "CuSO4·5H2O");
    found("EPSOM SALTS", "MgSO4·7H2O");
    found("Glauber's salt", "Na2SO4·10H2O");
    found("Glauber salts", "Na2SO4·10H2O");
    found("Mohr’s salt", "(NH4)2Fe(SO4)2·6H2O");
    found("soda-ash", "Na2CO3");
    found("quick lime", "CaO");
    found("slaked lime", "Ca(OH)2");
    found("saltpetre", "KNO3");
    found("cream of tartar", "KHC4H4O6");
    found("borax", "Na2B4O7·10H2O");
    found("milk of magnesia", "Mg(OH)2");
    found("chalk", "CaCO3");
    found("cupric sulphate pentahydrate", "CuSO4·5H2O");
    found("copper sulfate penta-hydrate", "CuSO4·5H2O");
    found("copper(II) sulfate 5H2O", "CuSO4·5H2O");
    found("aluminum potassium sulfate dodecahydrate", "KAl(SO4)2·12H2O");
    found("ferrous sulfate, dried", "FeSO4·H2O");
    found("exsiccated ferrous sulphate", "FeSO4·H2O");
    found("di-potassium phosphate", "K2HPO4");
    found("bicarbonate of soda", "NaHCO3");
    found("potassium bitartrate", "KHC4H4O6");
    found("anhydrous sodium sulphate", "Na2SO4");
    found("Cu2(CO3)(OH)2", "Cu2CO3(OH)2");
    assert_eq!(formulas("zinc sulfate monohydrate"), ["ZnSO4·H2O"]);
    assert_eq!(formulas("copper chloride").len(), 3, "both hydrates of copper(II) and copper(I)");
    assert_eq!(formulas("copper(I) chloride"), ["CuCl"]);
    assert_eq!(formulas("copper carbonate").len(), 3, "malachite, its hemihydrate, azurite");
    assert_eq!(formulas("alum").len(), 3);
    assert!(formulas("zinc sulfate trihydrate").is_empty());
    assert!(formulas("philosopher's stone").is_empty() && formulas("").is_empty() && formulas("hydrate").is_empty());
}

#[test]
fn reckonings_are_no_goods() {
    let only: Vec<String> =
        Substance::all().iter().filter(|row| row.is_reckoning_only()).map(|row| row.formula.to_string()).collect();
    assert_eq!(only, ["P2O5", "K2O", "SO3", "Na2O", "B2O3"]);
    let magnesia = Substance::find("MgO")[0];
    assert!(magnesia.uses.contains(&Use::Reckoning) && !magnesia.is_reckoning_only());
}

// Labels that give a ratio.

/// US product description of zinc sulfate 220 mg capsules: 50 mg zinc.
#[test]
fn zinc_sulfate_capsules_hold_the_heptahydrate() {
    let label = "zinc sulfate 220 mg (equivalent to 50 mg zinc)";
    let first = best(label);
    assert_eq!(first.substance.to_string(), "ZnSO4·7H2O");
    assert!(first.plausible && first.named && first.listed);
    assert_eq!(first.basis, ClaimBasis::AsSalt);
    close(first.deviation_percent.unwrap(), 0.05, 0.01);
    close(predicted(label, "ZnSO4"), 89.1, 0.1);
    close(predicted(label, "ZnSO4·H2O"), 80.15, 0.1);
    close(predicted(label, "ZnSO4·6H2O"), 53.37, 0.1);
    close(predicted(label, "ZnSO4·7H2O"), 50.02, 0.1);
    let reading = label::read(label);
    assert_eq!(reading.readings.iter().filter(|reading| reading.plausible).count(), 1);
    assert_eq!(best("zinc sulfate 220 mg = zinc 50 mg"), first);
}

/// British National Formulary, dried ferrous sulfate 200 mg with 65 mg iron, from memory. The rounding alone
/// (0.3217 to 0.3283) leaves the monohydrate (0.3287) just outside; USP 28, monograph Dried Ferrous Sulfate, allows
/// 86.0 to 89.0 % FeSO4, which is 0.3162 to 0.3272.
#[test]
fn dried_ferrous_sulfate_is_judged_by_its_assay() {
    let label = "dried ferrous sulfate 200 mg (65 mg iron)";
    let first = best(label);
    assert_eq!(first.substance.to_string(), "FeSO4·H2O");
    close(first.deviation_percent.unwrap(), 1.12, 0.02);
    assert_eq!((first.plausible, first.within_assay_limits), (true, Some(true)));
    close(predicted(label, "FeSO4"), 73.53, 0.1);
    close(predicted(label, "FeSO4·H2O"), 65.73, 0.1);
    close(predicted(label, "FeSO4·7H2O"), 40.18, 0.1);
    close(200.0 * share("FeSO4·1.5H2O", "Fe"), 62.42, 0.1);
    // A label that does not speak of the article is held to its digits; the same form stays first.
    let plain = label::read("elemental iron 65 mg (ferrous sulfate 200 mg)");
    assert_eq!(plain.readings[0].substance.to_string(), "FeSO4·H2O");
    assert!(!plain.readings[0].plausible);
    close(plain.readings[0].implied_purity_percent.unwrap(), 98.9, 0.05);
    assert!(has(&plain, |kind| matches!(kind, FindingKind::NothingFits { nearest: Some(_) })));
    assert_eq!(best("Ferrous sulfate 325 mg (65 mg elemental iron)").substance.to_string(), "FeSO4·7H2O");
}

/// USP labelling of calcium carbonate tablets, from memory.
#[test]
fn calcium_carbonate_tablets() {
    let label = "calcium carbonate 1250 mg (500 mg calcium)";
    let first = best(label);
    assert_eq!(first.substance.to_string(), "CaCO3");
    assert!(first.plausible);
    close(predicted(label, "CaCO3"), 500.54, 0.1);
    close(predicted(label, "CaCO3·H2O"), 424.19, 0.1);
    close(predicted("calcium hydroxide 1250 mg (500 mg calcium)", "Ca(OH)2"), 676.15, 0.1);
    let comma = label::read("calcium carbonate 1,250 mg (500 mg calcium)");
    assert_eq!(comma.readings, label::read(label).readings);
    assert!(has(&comma, |kind| matches!(kind, FindingKind::CommaReadAsThousands(_))));
}

/// US product labelling of magnesium oxide 400 mg tablets, from memory.
#[test]
fn magnesium_oxide_tablets() {
    let label = "magnesium oxide 400 mg (241.3 mg magnesium)";
    let first = best(label);
    assert_eq!(first.substance.to_string(), "MgO");
    assert!(first.plausible);
    close(first.deviation_percent.unwrap(), -0.03, 0.01);
    close(predicted(label, "MgO"), 241.22, 0.1);
    close(predicted(label, "Mg(OH)2"), 166.7, 0.1);
    close(predicted(label, "MgCO3"), 115.31, 0.1);
    close(400.0 * share("MgSO4·7H2O", "Mg"), 39.45, 0.1);
}

/// Cupric Chloride Injection USP, product description: 1.07 mg cupric chloride, dihydrate, 0.4 mg copper per mL.
#[test]
fn cupric_chloride_injection() {
    let label = "1.07 mg/mL cupric chloride supplies 0.4 mg/mL Cu";
    let first = best(label);
    assert_eq!(first.substance.to_string(), "CuCl2·2H2O");
    assert!(first.plausible);
    close(predicted(label, "CuCl2"), 0.505_736, 0.003 * 0.506);
    close(predicted(label, "CuCl2·2H2O"), 0.398_849, 0.003 * 0.399);
    assert!(!reading_of(&label::read(label), "CuCl2").plausible);
}

/// Zinc Chloride Injection USP, from memory. One printed digit fits many forms, and the reading says so.
#[test]
fn zinc_chloride_injection() {
    let label = "Zinc chloride 2.09 mg/mL supplies 1 mg/mL Zn";
    assert_eq!(best(label).substance.to_string(), "ZnCl2");
    close(predicted(label, "ZnCl2"), 1.002_672, 0.003);
    close(predicted(label, "ZnCl2·4H2O"), 0.655_871, 0.002);
    close(2.09 * share("ZnCl2·1.5H2O", "Zn"), 0.836_755, 0.0025);
    assert!(has(&label::read(label), |kind| matches!(kind, FindingKind::SeveralFit { count } if *count > 3)));
}

/// Manganese Chloride Injection USP, product description: 0.36 mg manganese chloride, tetrahydrate, 0.1 mg manganese
/// per mL. The label names nothing; the tetrahydrate is still the closest form of the table.
#[test]
fn a_ratio_without_names() {
    let reading = label::read("0.36 mg/mL supplies 0.1 mg/mL");
    assert_eq!(reading.readings[0].substance.to_string(), "MnCl2·4H2O");
    assert_eq!(reading.readings[0].element.unwrap().symbol(), "Mn");
    assert!(reading.readings[0].explains_within_percent.unwrap() < 0.1);
    assert!(has(&reading, |kind| *kind == FindingKind::NoSubstance));
}

/// Potassium chloride tablets of 10 and 8 mEq, sodium bicarbonate 8.4 % = 1 mmol/mL, lithium carbonate 300 mg =
/// 8.12 mmol or 8 mEq: USP and British National Formulary labelling, from memory.
#[test]
fn milliequivalents_and_millimoles() {
    let moles = |label: &str| best(label).amount_of_substance.unwrap();
    close(moles("potassium chloride 750 mg").value, 10.060_59, 0.02);
    close(moles("potassium chloride 600 mg").value, 8.048_47, 0.02);
    let bicarbonate = moles("8.4 % (m/V) NaHCO3");
    close(bicarbonate.value, 0.999_93, 0.002);
    assert_eq!(bicarbonate.unit, "mmol/mL");
    let lithium = "Lithium carbonate 300 mg (8.12 mmol Li)";
    close(predicted(lithium, "Li2CO3"), 8.1204, 0.02);
    assert!(best(lithium).plausible && best("Lithium carbonate tablets 300 mg (8 mEq)").plausible);
    let potassium = best("Potassium chloride 750 mg (10 mEq)");
    assert!(potassium.plausible && potassium.substance.to_string() == "KCl");
    // 23.4 % sodium chloride is 4 mEq/mL: USP labelling, from memory.
    let brine = label::read("sodium chloride 4 mEq/mL (23.4 %)");
    assert!(brine.readings[0].plausible && brine.readings[0].substance.to_string() == "NaCl");
    assert!(has(&brine, |kind| *kind == FindingKind::TakenAsWeightPerVolume));
}

/// Calcium Chloride Injection USP 10 %, 27.2 mg calcium (1.36 mEq) per mL, from memory.
#[test]
fn calcium_chloride_injection() {
    let label = "Calcium chloride 10 % m/V 10 mL \"27.2 mg Ca/mL (1.36 mEq/mL)\"";
    let first = best(label);
    assert_eq!(first.substance.to_string(), "CaCl2·2H2O");
    assert!(first.plausible);
    close(predicted(label, "CaCl2·2H2O"), 27.262, 0.05);
    close(predicted(label, "CaCl2"), 36.113, 0.05);
    close(predicted(label, "CaCl2·6H2O"), 18.295, 0.05);
}

/// Common practice: calcium gluconate 10 %, 10 mL, with 2.2 mmol calcium; the pack joins percentage and millimoles.
#[test]
fn a_pack_joins_strength_and_content() {
    let first = best("calcium gluconate 10 % 10 mL (2.2 mmol Ca)");
    assert_eq!(first.substance.to_string(), "Ca(C6H11O7)2·H2O");
    // 1.000 g over 448.39 g/mol.
    close(first.predicted.unwrap().value, 2.230, 0.001);
}

#[test]
fn a_label_that_names_the_wrong_hydrate_is_told() {
    let reading = label::read("zinc sulfate monohydrate 220 mg = 50 mg zinc");
    assert_eq!(reading.readings[0].substance.to_string(), "ZnSO4·7H2O");
    let named = reading.findings.iter().find_map(|finding| match &finding.kind {
        FindingKind::NamedFormDoesNotFit { named, .. } => Some(named.to_string()),
        _ => None,
    });
    assert_eq!(named.as_deref(), Some("ZnSO4·H2O"));
    close(reading_of(&reading, "ZnSO4·H2O").implied_purity_percent.unwrap(), 62.4, 0.05);
}

// Labels of an element, an oxide or a purity.

/// Molar masses: Zn 65.38, zinc gluconate 455.68; 23 mg · 455.68/65.38 = 160.3 mg.
#[test]
fn an_element_as_gluconate_and_its_misreading() {
    for text in [
        "zinc 23 mg (as gluconate)",
        "Zinc (as zinc gluconate) 23 mg",
        "Zinc 23 mg gluconate",
        "23 mg Zn from zinc gluconate",
    ] {
        let reading = label::read(text);
        let first = &reading.readings[0];
        assert_eq!(
            (first.substance.to_string(), first.basis),
            ("Zn(C6H11O7)2".to_owned(), ClaimBasis::AsElement),
            "{text}"
        );
        assert!(first.plausible && first.misreading_factor.is_none());
        close(first.substance_amount.as_ref().unwrap().value, 160.3, 0.05);
        close(first.element_amount.as_ref().unwrap().value, 23.0, 1e-9);
        let mistaken = reading.readings.iter().find(|reading| reading.basis == ClaimBasis::AsSalt).unwrap();
        assert!(!mistaken.plausible);
        close(mistaken.misreading_factor.unwrap(), 6.97, 0.005);
        close(mistaken.element_amount.as_ref().unwrap().value, 3.30, 0.005);
        assert!(mistaken.refuted_by().unwrap().contains("zinc"));
        assert!(has(
            &reading,
            |kind| matches!(kind, FindingKind::ElementNotSalt { factor, .. } if (factor - 6.97).abs() < 0.005)
        ));
    }
}

#[test]
fn two_elements_each_with_its_form() {
    let reading = label::read("zinc 15 mg (as picolinate), copper 2 mg (as gluconate)");
    let stated: Vec<String> = reading
        .readings
        .iter()
        .filter(|reading| reading.plausible)
        .map(|reading| format!("{} {}", reading.element.unwrap(), reading.substance))
        .collect();
    assert_eq!(stated, ["Zn Zn(C6H4NO2)2", "Cu Cu(C6H11O7)2"]);
}

/// Cu 63.546 in CuSO4·5H2O 249.68: 25.45 %.
#[test]
fn copper_twenty_five_percent_is_bluestone() {
    let first = best("copper 25 %");
    assert_eq!((first.substance.to_string(), first.plausible), ("CuSO4·5H2O".to_owned(), true));
    assert_eq!(first.basis, ClaimBasis::AsElement);
    let anhydrous = best("copper sulfate, Cu 39.8 %");
    assert_eq!((anhydrous.substance.to_string(), anhydrous.plausible), ("CuSO4".to_owned(), true));
    assert_eq!(best("bluestone 25 % Cu").substance.to_string(), "CuSO4·5H2O");
    // 25.4 to 25.5 % admits the pentahydrate, 25.6 % does not.
    assert!(best("copper 25.4-25.5 %").plausible);
    let none = label::read("copper sulfate, 25.6 % Cu");
    assert!(!none.readings[0].plausible);
    assert!(has(&none, |kind| matches!(kind, FindingKind::NothingFits { .. })));
}

/// Factors of fertiliser labels: P 0.4364 of P2O5, K 0.8301 of K2O, Mg 0.6030 of MgO (Regulation (EU) 2019/1009,
/// annex III, gives 0.436, 0.830 and 0.603; from memory).
#[test]
fn fertiliser_figures_are_reckoned_as_oxides() {
    let factor = |label: &str| {
        let reading = label::read(label);
        let found = reading.findings.iter().find_map(|finding| match &finding.kind {
            FindingKind::ReckonedAsOxide { factor, .. } => Some(*factor),
            _ => None,
        });
        found.unwrap_or_else(|| panic!("{label}: {:?}", reading.findings))
    };
    close(factor("P2O5 18 %"), 0.436, 0.0005);
    close(factor("60 % K2O"), 0.830, 0.0005);
    close(factor("MgO 16 %"), 0.603, 0.0005);
    let phosphate = label::read("P2O5 18 %");
    assert_eq!(phosphate.contents[0].element.symbol(), "P");
    assert_eq!(phosphate.contents[0].basis, ClaimBasis::AsOxide);
    close(phosphate.contents[0].amount.value, 7.855, 0.001);
    assert!(phosphate.readings.iter().all(|reading| !reading.plausible));
    let mistaken = phosphate.readings.last().unwrap();
    assert_eq!(mistaken.basis, ClaimBasis::AsElement);
    close(mistaken.misreading_factor.unwrap(), 0.436, 0.0005);
    // Epsom salt holds 16.35 % MgO.
    let epsom = best("MgO 16 %");
    assert_eq!(
        (epsom.substance.to_string(), epsom.basis, epsom.plausible),
        ("MgSO4·7H2O".to_owned(), ClaimBasis::AsOxide, true)
    );
    // Muriate of potash at 60 % K2O is 95 % potassium chloride: common practice.
    let muriate = best("K2O 60 %");
    assert_eq!(muriate.substance.to_string(), "KCl");
    close(muriate.implied_purity_percent.unwrap(), 95.0, 0.1);
    // A figure said to be of the element may have been reckoned as its oxide.
    let magnesium = label::read("magnesium 16 %");
    let turned = magnesium.readings.iter().find(|reading| reading.substance.to_string() == "MgSO4·7H2O").unwrap();
    assert_eq!((turned.basis, turned.plausible), (ClaimBasis::AsOxide, true));
    close(turned.misreading_factor.unwrap(), 0.603, 0.0005);
}

#[test]
fn grades_of_a_compound_fertiliser() {
    let reading = label::read("NPK 12-8-16");
    let stated: Vec<(&str, f64)> =
        reading.contents.iter().map(|content| (content.element.symbol(), content.amount.value)).collect();
    assert_eq!(stated[0], ("N", 12.0));
    close(stated[1].1, 3.491, 0.001);
    close(stated[2].1, 13.282, 0.001);
    assert!(has(&reading, |kind| matches!(kind, FindingKind::NothingFits { .. })));
    assert_eq!(best("0-52-34").substance.to_string(), "KH2PO4");
}

#[test]
fn a_purity_is_of_the_named_substance() {
    let reading = label::read("copper sulfate pentahydrate, 98 % min");
    assert_eq!(reading.readings.len(), 1);
    let only = &reading.readings[0];
    assert_eq!((only.substance.to_string(), only.basis), ("CuSO4·5H2O".to_owned(), ClaimBasis::AsSalt));
    let salt = only.substance_amount.as_ref().unwrap();
    assert_eq!((salt.low, salt.value, salt.high), (98.0, 99.0, Some(100.0)));
    let copper = only.element_amount.as_ref().unwrap();
    close(copper.low, 24.94, 0.005);
    close(copper.high.unwrap(), 25.45, 0.005);
    assert!(has(&reading, |kind| *kind == FindingKind::OnlyALimit));
    let same = [
        "copper sulfate pentahydrate ≥ 98 %",
        "not less than 98 % copper sulfate pentahydrate",
        "min. 98 % CuSO4·5H2O",
        "98 % minimum, bluestone",
    ];
    for text in same {
        let bounds = best(text).substance_amount.unwrap();
        assert_eq!((bounds.low, bounds.high), (98.0, Some(100.0)), "{text}");
    }
    let limited = best("copper sulfate pentahydrate max 98 %").substance_amount.unwrap();
    assert_eq!((limited.low, limited.high), (0.0, Some(98.0)));
    // A name without water may be any form; all are given.
    let open = label::read("zinc sulfate 98 %");
    assert!(open.readings.len() == 4 && has(&open, |kind| matches!(kind, FindingKind::SeveralForms { .. })));
}

#[test]
fn what_names_nothing_says_so() {
    for text in ["99 % min", "10 % w/v", "4 mEq/mL", "unobtainium 25 %"] {
        let reading = label::read(text);
        assert!(reading.readings.is_empty(), "{text}: {:?}", reading.readings);
        assert!(has(&reading, |kind| *kind == FindingKind::NoSubstance), "{text}");
    }
    assert!(has(
        &label::read("unobtainium 25 %"),
        |kind| matches!(kind, FindingKind::UnknownName(name) if name == "unobtainium")
    ));
    assert!(has(&label::read(""), |kind| *kind == FindingKind::Empty));
    assert!(has(&label::read(&"zinc ".repeat(200)), |kind| matches!(kind, FindingKind::TooLong { .. })));
    assert!(has(&label::read("zinc gluconate"), |kind| *kind == FindingKind::NoAmount));
    assert!(has(&label::read("zinc 23 mg"), |kind| matches!(kind, FindingKind::FormNotSaid { .. })));
    assert!(has(&label::read("zinc 60 %, copper 50 %"), |kind| *kind == FindingKind::MoreThanWhole));
    assert!(has(&label::read("zinc gluconate 10 mg = zinc 23 mg"), |kind| *kind == FindingKind::MoreThanWhole));
    assert!(has(&label::read("hydrochloric acid solution 30 %"), |kind| *kind == FindingKind::PercentBasisNotSaid));
}

// Laws.

/// A label made from a row, its digits exact to a part in a million, is read back as that row.
#[test]
fn every_row_explains_its_own_label() {
    let mut read_back = 0;
    for row in Substance::all().iter().filter(|row| !row.is_reckoning_only() && row.formula.composition().len() > 1) {
        let Some(element) = label::read(row.formula.text()).readings.first().and_then(|reading| reading.element) else {
            continue;
        };
        let grams = 1000.0 * row.formula.mass_fraction(element);
        for name in [row.name, row.formula.text()] {
            let text = format!("{name} 1000.000 mg = {grams:.3} mg {}", element.name());
            let first = best(&text);
            assert_eq!(first.substance, row.formula, "{text}");
            assert!(first.plausible && first.named, "{text}");
        }
        read_back += 1;
    }
    assert!(read_back > 240, "{read_back} labels");
}

/// What holds of every reading.
fn sound(reading: &LabelReading) {
    let text = &reading.text;
    for finding in &reading.findings {
        assert!(
            text.len() < finding.offset + finding.length
                || text.get(finding.offset..finding.offset + finding.length).is_some()
        );
        assert!(!finding.to_string().is_empty());
    }
    for explanation in &reading.readings {
        for amount in
            [&explanation.substance_amount, &explanation.element_amount, &explanation.predicted].into_iter().flatten()
        {
            assert!(amount.low >= 0.0 && amount.low <= amount.value * (1.0 + 1e-9), "{text}: {amount:?}");
            assert!(amount.high.is_none_or(|high| amount.value <= high * (1.0 + 1e-9)), "{text}: {amount:?}");
        }
        if let (Some(salt), Some(element)) = (&explanation.substance_amount, &explanation.element_amount) {
            assert!(element.value <= salt.value * (1.0 + 1e-9), "{text}: more element than salt");
        }
        assert_eq!(explanation.deviation_percent.map(f64::abs), explanation.explains_within_percent);
        if let Some(element) = explanation.element {
            assert!(explanation.substance.composition().contains_key(&element), "{text}");
        }
        explanation.refuted_by();
    }
}

fn fragment() -> impl Strategy<Value = String> {
    let words = prop::sample::select(vec![
        "zinc",
        "sulfate",
        "as",
        "gluconate",
        "Cu",
        "P2O5",
        "(",
        ")",
        "=",
        "mg",
        "%",
        "w/v",
        "mEq/mL",
        "mg Ca/mL",
        "per 5 mL",
        "min",
        "not less than",
        "≥",
        "220",
        "50",
        "0.36",
        "1,250",
        "1,25",
        "98..101",
        "12-8-16",
        "±",
        "supplies",
        "dried",
        "iron(II)",
        "(NH4)2SO4",
        "CaCl2·2H2O",
        "MgO",
        "magnesium",
        "alum",
        "copper carbonate",
        "/tablet",
        "0",
        "µg",
        "mmol",
        "10 mL",
        ",",
        "·",
        "5H2O",
        "from",
        "and",
        "potash",
        "99999999999999999999",
        ".",
        "solution",
        "kg/L",
        "in 0 mL",
    ]);
    let number = (0.0..2000.0_f64, 0..5_usize).prop_map(|(value, digits)| format!("{value:.digits$}"));
    prop_oneof![3 => words.prop_map(str::to_owned), 1 => number, 1 => any::<char>().prop_map(String::from)]
}

proptest! {
    #[test]
    fn any_text_is_read(text in any::<String>()) {
        sound(&label::read(&text));
        let _ = Substance::find(&text);
    }

    #[test]
    fn any_label_is_read(parts in prop::collection::vec(fragment(), 1..14), spaced in any::<bool>()) {
        let text = parts.join(if spaced { " " } else { "" });
        sound(&label::read(&text));
    }

    /// The interval of half a unit: a form is plausible exactly where the printed digits allow its ratio.
    #[test]
    fn plausible_is_inside_the_rounding(salt in 50..900_u32, zinc in 1..400_u32) {
        let reading = label::read(&format!("zinc sulfate {salt} mg = {zinc} mg zinc"));
        let element = Element::from_symbol("Zn").unwrap();
        let (salt, zinc) = (f64::from(salt), f64::from(zinc));
        let (low, high) = ((zinc - 0.5) / (salt + 0.5), (zinc + 0.5) / (salt - 0.5));
        for explanation in &reading.readings {
            let ratio = explanation.substance.mass_fraction(element);
            prop_assert_eq!(explanation.plausible, low <= ratio && ratio <= high, "{}", explanation.substance);
        }
    }

    /// A label means the same in grams and milligrams, in percent and in mg/g, to the same last digit.
    #[test]
    fn a_label_does_not_hang_on_its_units(salt in 50..900_u32, zinc in 1..400_u32) {
        let told = |text: String| -> Vec<(String, bool, Option<f64>)> {
            let round = |off: f64| (off * 1e6).round() / 1e6;
            let readings = label::read(&text).readings;
            readings.into_iter().map(|r| (r.substance.to_string(), r.plausible, r.deviation_percent.map(round))).collect()
        };
        let milligrams = told(format!("zinc sulfate {salt} mg = {zinc} mg zinc"));
        let grams = |mg: u32| format!("{}.{:03} g", mg / 1000, mg % 1000);
        prop_assert_eq!(&milligrams, &told(format!("zinc sulfate {} = {} zinc", grams(salt), grams(zinc))));
        prop_assert_eq!(&milligrams, &told(format!("zinc sulfate {} = {zinc} mg zinc", grams(salt))));
        let percent = told(format!("zinc sulfate, zinc {}.{} %", zinc / 10, zinc % 10));
        prop_assert_eq!(percent, told(format!("zinc sulfate, zinc {zinc} mg/g")));
    }
}
