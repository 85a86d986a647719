//! Do the numbers agree with what is published?
//!
//! Atomic weights: CIAAW "Standard atomic weights of the elements 2021", Prohaska et al., Pure Appl. Chem. 94 (2022)
//! 573. Tolerances of molar masses cover arithmetic only; a published value from an older table is named beside.
#![allow(clippy::unwrap_used, missing_docs)]

use chem::{
    Balance, Component, Dimension, Element, Equation, Formula, Quantity, Reaction, ReactionError, Species, Uncertain,
    conversion,
};

fn formula(text: &str) -> Formula {
    Formula::parse(text).unwrap_or_else(|error| panic!("{text}: {error}"))
}

fn element(symbol: &str) -> Element {
    Element::from_symbol(symbol).unwrap()
}

#[track_caller]
fn close(found: f64, expected: f64, tolerance: f64) {
    assert!((found - expected).abs() <= tolerance, "found {found}, expected {expected} ± {tolerance}");
}

fn molar_mass(text: &str) -> f64 {
    formula(text).molar_mass().unwrap().value
}

fn percent(text: &str, symbol: &str) -> f64 {
    100.0 * formula(text).mass_fraction(element(symbol))
}

/// Handbook value 249.685 g/mol (CRC Handbook, from memory) rests on the older S 32.065.
#[test]
fn copper_sulfate_pentahydrate() {
    for spelling in ["CuSO4·5H2O", "CuSO4*5H2O", "CuSO4.5H2O", "CuSO₄·5H₂O", "CuSO4 · 5 H2O"] {
        close(molar_mass(spelling), 249.677, 1e-9);
        close(percent(spelling, "Cu"), 25.451_283, 1e-5);
        let water = 500.0 * molar_mass("H2O") / molar_mass(spelling);
        close(water, 36.076_611, 1e-5);
    }
}

/// Handbook value 474.39 g/mol (CRC Handbook, from memory).
#[test]
fn potassium_alum() {
    close(molar_mass("KAl(SO4)2·12H2O"), 474.371_838_4, 1e-6);
    close(molar_mass("KAl(SO4)2.12H2O"), 474.371_838_4, 1e-6);
}

/// Handbook value 422.388 g/mol (CRC Handbook, from memory).
#[test]
fn potassium_hexacyanidoferrate_trihydrate() {
    let salt = formula("K4[Fe(CN)6]·3H2O");
    close(salt.molar_mass().unwrap().value, 422.3912, 1e-6);
    let counts: Vec<(String, f64)> = salt.elements().map(|(element, count)| (element.to_string(), count)).collect();
    let expected = [("H", 6.0), ("C", 6.0), ("N", 6.0), ("O", 3.0), ("K", 4.0), ("Fe", 1.0)];
    assert_eq!(counts, expected.map(|(symbol, count)| (symbol.to_owned(), count)));
}

/// Catalogue values 245.75 and 267.47 g/mol (from memory).
#[test]
fn ammine_complexes() {
    close(molar_mass("[Cu(NH3)4]SO4·H2O"), 245.741, 1e-6);
    close(molar_mass("[Co(NH3)6]Cl3"), 267.469_194, 1e-6);
}

/// Wüstite of the composition tabulated in NIST-JANAF (Chase 1998); 68.887 there rests on older weights.
#[test]
fn wustite() {
    close(molar_mass("Fe0.947O"), 68.884_215, 1e-6);
    close(percent("Fe0.947O", "Fe"), 76.774_07, 1e-4);
}

/// Atoms only; the electron mass (CODATA 2018: 5.48579909e-4 g/mol) is a correction on demand.
#[test]
fn ions() {
    close(molar_mass("MnO4^-"), 118.934_043, 1e-6);
    close(molar_mass("MnO4^-") + formula("MnO4^-").electron_mass_correction(), 118.934_591_6, 1e-6);
    let iron = formula("[Fe(H2O)6]^3+");
    assert_eq!(iron.charge(), 3);
    close(iron.molar_mass().unwrap().value + iron.electron_mass_correction(), 163.933_354_3, 1e-6);
    close(molar_mass("e-"), 0.0, 0.0);
}

/// EURACHEM/CITAC Guide CG4 (2nd edition, 2000), example A2: 204.2212 g/mol, u = 0.0038 g/mol.
#[test]
fn potassium_hydrogen_phthalate() {
    close(molar_mass("KHC8H4O4"), 204.2223, 1e-6);
    let half_widths = |element: Element| {
        let (value, half_width): (f64, f64) = match element.symbol() {
            "C" => (12.0107, 0.0008),
            "H" => (1.00794, 0.00007),
            "O" => (15.9994, 0.0003),
            "K" => (39.0983, 0.0001),
            _ => return None,
        };
        Some((value, half_width / 3_f64.sqrt()))
    };
    let older = formula("C8H5KO4").molar_mass_with(&half_widths).unwrap();
    close(older.value, 204.2212, 0.000_05);
    close(older.standard_uncertainty, 0.003_765, 0.000_005);
    assert_eq!(older.to_string(), "204.2212 ± 0.0038");
}

/// Stoichiometric values, as any gravimetric table prints them.
#[test]
fn mass_fractions_and_losses() {
    // 63.546/159.602; the printed 39.81 of older tables rests on S 32.065, see below.
    close(percent("CuSO4", "Cu"), 39.815, 0.0005);
    close(percent("Cu2CO3(OH)2", "Cu"), 57.48, 0.005);
    close(formula("CuO").mass_fraction(element("Cu")), 0.798_87, 0.000_01);
    let loss = |from: &str, oxides: &str, number: f64| 100.0 * (1.0 - number * molar_mass(oxides) / molar_mass(from));
    close(loss("Cu2CO3(OH)2", "CuO", 2.0), 28.05, 0.005);
    close(loss("Zn5(CO3)2(OH)6", "ZnO", 5.0), 25.88, 0.005);
    close(loss("Mg(OH)2", "MgO", 1.0), 30.89, 0.005);
}

/// Atomic weights of 2007 (Wieser & Berglund, Pure Appl. Chem. 81 (2009) 2131; S 32.065, O 15.9994): 39.81 % Cu in
/// CuSO4 and 249.685 g/mol for the pentahydrate, as handbooks print them.
#[test]
fn older_table_of_atomic_weights() {
    let older = |element: Element| match element.symbol() {
        "Cu" => Some((63.546, 0.003)),
        "S" => Some((32.065, 0.005)),
        "O" => Some((15.9994, 0.0003)),
        "H" => Some((1.00794, 0.00007)),
        _ => None,
    };
    let molar_mass = |text: &str| formula(text).molar_mass_with(&older).unwrap().value;
    close(100.0 * 63.546 / molar_mass("CuSO4"), 39.81, 0.005);
    close(molar_mass("CuSO4·5H2O"), 249.685, 0.0005);
}

/// Standard uncertainty of an interval element, rectangular: H [1.00784, 1.00811], u = 0.00027/√12 = 7.8e-5; of a
/// published half-width: Cu 63.546(3), u = 0.003/√3 (Possolo et al., Pure Appl. Chem. 90 (2018) 395).
#[test]
fn uncertainty_of_atomic_weights() {
    close(Element::HYDROGEN.atomic_weight().unwrap().standard_uncertainty, 7.794e-5, 1e-8);
    close(element("Cu").atomic_weight().unwrap().standard_uncertainty, 1.7321e-3, 1e-7);
}

/// Values announced by the commission in October 2024: Zr 91.222 ± 0.003, Gd 157.249 ± 0.002, Lu 174.96669 ± 0.00005.
#[test]
fn weights_revised_in_2024() {
    for (symbol, value, half_width) in [("Zr", 91.222, 0.003), ("Gd", 157.249, 0.002), ("Lu", 174.966_69, 0.000_05)] {
        let weight = element(symbol).atomic_weight().unwrap();
        close(weight.value, value, 0.0);
        close(weight.standard_uncertainty, half_width / 3_f64.sqrt(), 1e-12);
        assert_eq!(weight.source.as_str(), "ciaaw-2024");
    }
}

#[track_caller]
fn balances(equation: &str, left: &[i64], right: &[i64]) {
    let expected: Vec<i64> = left.iter().map(|number| -number).chain(right.iter().copied()).collect();
    let balance = Equation::parse(equation).unwrap_or_else(|error| panic!("{equation}: {error}")).balance();
    assert_eq!(balance.solutions(), 1);
    assert_eq!(balance, Balance::One(expected));
}

/// R. Stout, "Redox Challenges", J. Chem. Educ. 72 (1995) 1125 (coefficients from memory).
#[test]
fn balance_of_ferrocyanide_with_permanganate() {
    let equation = "K4[Fe(CN)6] + KMnO4 + H2SO4 -> KHSO4 + Fe2(SO4)3 + MnSO4 + HNO3 + CO2 + H2O";
    balances(equation, &[10, 122, 299], &[162, 5, 122, 60, 60, 188]);
}

/// R. Stout, J. Chem. Educ. 72 (1995) 1125: the largest coefficients in print (coefficients from memory), proved by
/// counting every element besides.
#[test]
fn balance_with_a_coefficient_of_1399() {
    let equation = "[Cr(N2H4CO)6]4[Cr(CN)6]3 + KMnO4 + H2SO4 -> K2Cr2O7 + MnSO4 + CO2 + KNO3 + K2SO4 + H2O";
    balances(equation, &[10, 1176, 1399], &[35, 1176, 420, 660, 223, 1879]);
    let written = "10 [Cr(N2H4CO)6]4[Cr(CN)6]3 + 1176 KMnO4 + 1399 H2SO4 -> \
                   35 K2Cr2O7 + 1176 MnSO4 + 420 CO2 + 660 KNO3 + 223 K2SO4 + 1879 H2O";
    assert!(Reaction::new(&Equation::parse(written).unwrap()).is_ok());
}

/// Classics of general chemistry; coefficients from memory.
#[test]
fn balances_of_textbooks() {
    balances("CrI3 + KOH + Cl2 -> K2CrO4 + KIO4 + KCl + H2O", &[2, 64, 27], &[2, 6, 54, 32]);
    // Standard half-reaction, e.g. Skoog & West.
    balances("MnO4^- + H^+ + e^- -> Mn^2+ + H2O", &[1, 8, 5], &[1, 4]);
    // Permanganate and oxalate: Vogel, Skoog.
    balances("MnO4^- + H2C2O4 + H^+ -> Mn^2+ + CO2 + H2O", &[2, 5, 6], &[2, 10, 8]);
    // Redox in basic solution.
    balances("Cr(OH)4^- + H2O2 + OH^- -> CrO4^2- + H2O", &[2, 3, 2], &[2, 8]);
    // Disproportionation: Greenwood & Earnshaw.
    balances("P4 + OH^- + H2O -> H2PO2^- + PH3", &[1, 3, 3], &[3, 1]);
    // Stoichiometry of thermogravimetry; the water of crystallisation is carried.
    balances("FeC2O4·2H2O + O2 -> Fe2O3 + CO2 + H2O", &[4, 3], &[2, 8, 8]);
    // Dilute nitric acid.
    balances("Cu + NO3^- + H^+ -> Cu^2+ + NO + H2O", &[3, 2, 8], &[3, 2, 4]);
    // Roasting of pyrite.
    balances("FeS2 + O2 -> Fe2O3 + SO2", &[4, 11], &[2, 8]);
    // Arsenic(III) sulfide in nitric acid, Marsh test, aluminium in alkali, bromate and bromide, thiosulfate and iodine.
    balances("As2S3 + HNO3 + H2O -> H3AsO4 + H2SO4 + NO", &[3, 28, 4], &[6, 9, 28]);
    balances("Zn + H3AsO3 + H^+ -> AsH3 + Zn^2+ + H2O", &[3, 1, 6], &[1, 3, 3]);
    balances("Al + OH^- + H2O -> [Al(OH)4]^- + H2", &[2, 2, 6], &[2, 3]);
    balances("BrO3^- + Br^- + H^+ -> Br2 + H2O", &[1, 5, 6], &[3, 3]);
    balances("S2O3^2- + I2 -> S4O6^2- + I^-", &[2, 1], &[1, 2]);
    // Dichromate and iron(II): Skoog, West.
    balances("Cr2O7 2- + Fe 2+ + H+ -> Cr 3+ + Fe 3+ + H2O", &[1, 6, 14], &[2, 6, 7]);
    // Wüstite, exact in its broken count: 4·0.947 Fe, 0.841 O2 for 4 formula units.
    balances("Fe0.947O + O2 -> Fe2O3", &[4000, 841], &[1894]);
    // Phosphorus furnace with fluorapatite; derived by hand.
    balances("Ca5(PO4)3F + SiO2 + C -> CaSiO3 + P4 + CO + CaF2", &[4, 18, 30], &[18, 3, 30, 2]);
}

/// D. Kolb, J. Chem. Educ. 56 (1979) 181, discusses this equation (from memory): two independent reactions.
#[test]
fn two_reactions_in_one_equation() {
    let equation = Equation::parse("KClO3 + HCl -> KCl + ClO2 + Cl2 + H2O").unwrap();
    let Balance::Several { basis } = equation.balance() else { panic!("not several") };
    assert_eq!(basis.len(), 2);
    assert!(basis.contains(&vec![-1, -6, 1, 0, 3, 3]), "{basis:?}");
    assert!(basis.contains(&vec![-5, -6, 5, 6, 0, 3]), "{basis:?}");
    // The textbook's mixture is one member of the family.
    let written = Equation::parse("2 KClO3 + 4 HCl -> 2 KCl + 2 ClO2 + Cl2 + 2 H2O").unwrap();
    assert!(Reaction::new(&written).is_ok());
}

/// Every balance is a mixture of the extreme ones; with two of them one ratio decides.
#[test]
fn what_would_decide_between_several_balances() {
    let equation = Equation::parse("KClO3 + HCl -> KCl + ClO2 + Cl2 + H2O").unwrap();
    let freedom = equation.freedom().unwrap();
    assert_eq!(freedom.independent, 2);
    assert_eq!(freedom.extremes, [vec![-5, -6, 5, 6, 0, 3], vec![-1, -6, 1, 0, 3, 3]]);
    assert_eq!(freedom.deciding, [3, 4]);
    assert_eq!(freedom.to_string(), "the ratio of ClO2 to Cl2, measured, would decide");
    // Carbon burning to both oxides, with steam: three independent reactions.
    let three = Equation::parse("C + O2 + H2O -> CO + CO2 + H2").unwrap().freedom().unwrap();
    assert_eq!((three.independent, three.deciding.len()), (3, 3));
    assert!(three.extremes.contains(&vec![-2, -1, 0, 2, 0, 0]), "{:?}", three.extremes);
    assert!(three.to_string().contains("relative to each other"), "{three}");
    assert!(Equation::parse("C + O2 -> CO2").unwrap().freedom().is_none());
}

/// Standard half-reactions in acid and in base, and textbook equations with one species left out.
#[test]
fn simple_species_that_close_an_equation() {
    let closures = |text: &str| -> Vec<String> {
        Equation::parse(text).unwrap().closures().iter().map(ToString::to_string).collect()
    };
    let half = closures("MnO4^- -> Mn^2+");
    assert!(
        half.contains(&"H^+ and e^- on the left, H2O on the right: MnO4^- + 8 H^+ + 5 e^- -> Mn^2+ + 4 H2O".to_owned()),
        "{half:?}"
    );
    assert!(
        half.contains(
            &"H2O and e^- on the left, OH^- on the right: MnO4^- + 4 H2O + 5 e^- -> Mn^2+ + 8 OH^-".to_owned()
        ),
        "{half:?}"
    );
    assert_eq!(closures("Cu -> Cu^2+"), ["e^- on the right: Cu -> Cu^2+ + 2 e^-"]);
    assert_eq!(closures("CH4 + O2 -> CO2"), ["H2O on the right: CH4 + 2 O2 -> CO2 + 2 H2O"]);
    assert_eq!(
        closures("CuSO4(aq) + Na2CO3(aq) -> Cu2CO3(OH)2(s) + Na2SO4(aq)"),
        ["H2O(l) on the left, CO2(g) on the right: \
          2 CuSO4(aq) + 2 Na2CO3(aq) + H2O(l) -> Cu2CO3(OH)2(s) + 2 Na2SO4(aq) + CO2(g)"]
    );
    // No simple species brings sulfur or chlorine; what balances needs nothing.
    assert!(closures("CuSO4 + Na2CO3 -> CuCO3 + NaCl").is_empty());
    assert!(closures("C + O2 -> CO2").is_empty());
    let error = Reaction::new(&Equation::parse("CH4 + O2 -> CO2").unwrap()).unwrap_err();
    let ReactionError::Impossible { closures, .. } = error else { panic!("{error}") };
    assert_eq!(closures, ["H2O on the right: CH4 + 2 O2 -> CO2 + 2 H2O"]);
}

/// I. B. Risteski uses this impossible equation (from memory); with water it balances.
#[test]
fn impossible_equation() {
    let equation = Equation::parse("FeS2 + HNO3 -> Fe2(SO4)3 + NO + H2SO4").unwrap();
    assert!(matches!(equation.balance(), Balance::None { .. }));
    balances("FeS2 + HNO3 -> Fe2(SO4)3 + NO + H2SO4 + H2O", &[2, 10], &[1, 10, 1, 4]);
}

#[test]
fn missing_element_is_named() {
    let equation = Equation::parse("CuSO4 + Na2CO3 -> CuCO3 + NaCl").unwrap();
    let Balance::None { unclosed } = equation.balance() else { panic!("balanced") };
    let names: Vec<String> = unclosed.iter().map(Component::to_string).collect();
    assert_eq!(names, ["S", "Cl"]);
}

#[test]
fn species_on_the_wrong_side_is_named() {
    let equation = Equation::parse("CaCO3 + CO2 -> CaO").unwrap();
    let Balance::WrongSide { wrong, coefficients, .. } = equation.balance() else { panic!("{:?}", equation.balance()) };
    assert_eq!((wrong, coefficients), (vec![1], vec![-1, 1, 1]));
    let error = Reaction::new(&equation).unwrap_err().to_string();
    assert_eq!(error, "CO2 belongs on the other side of the only balanced equation");
}

#[test]
fn written_coefficients_are_checked() {
    let text = "2 CuSO4(aq) + 2 Na2CO3(aq) + H2O(l) -> Cu2CO3(OH)2(s) + 2 Na2SO4(aq) + CO2(g)";
    let reaction = Reaction::new(&Equation::parse(text).unwrap()).unwrap();
    assert_eq!(reaction.text, text);
    assert_eq!(reaction.coefficient_f64(0), -2.0);
    let wrong = Equation::parse("2 CuSO4 + 2 Na2CO3 -> CuCO3 + 2 Na2SO4").unwrap();
    let error = Reaction::new(&wrong).unwrap_err().to_string();
    assert!(error.contains("2 Cu on the left, 1 on the right: 1 Cu too many on the left"), "{error}");
    assert!(error.contains("balanced: CuSO4 + Na2CO3 -> CuCO3 + Na2SO4"), "{error}");
    let filled = Reaction::new(&Equation::parse("Fe2O3(s) + Al(s) -> Fe(s) + Al2O3(s)").unwrap()).unwrap();
    assert_eq!(filled.text, "Fe2O3(s) + 2 Al(s) -> 2 Fe(s) + Al2O3(s)");
}

/// 3 malachite + CO2 -> 2 azurite + H2O, from the formulas.
#[test]
fn conversions_between_solids() {
    let species = |text: &str| Species::parse(text).unwrap();
    let exchange = [species("H2O(g)"), species("CO2(g)"), species("O2(g)")];
    let run = |from: &str, to: &str| conversion(&species(from), &species(to), &exchange);
    let text = |from: &str, to: &str| {
        let parts = run(from, to).unwrap_or_default();
        parts.iter().map(|(species, number)| format!("{number} {species}")).collect::<Vec<_>>().join(", ")
    };
    let malachite = "Cu2CO3(OH)2(s)";
    assert_eq!(
        text(malachite, "Cu3(CO3)2(OH)2(s)"),
        "-1 Cu2CO3(OH)2(s), 2/3 Cu3(CO3)2(OH)2(s), 1/3 H2O(g), -1/3 CO2(g)"
    );
    assert_eq!(text("CuSO4·5H2O(s)", "CuSO4·H2O(s)"), "-1 CuSO4·5H2O(s), 1 CuSO4·H2O(s), 4 H2O(g)");
    assert_eq!(text("FeC2O4·2H2O(s)", "Fe2O3(s)"), "-1 FeC2O4·2H2O(s), 1/2 Fe2O3(s), 2 H2O(g), 2 CO2(g), -3/4 O2(g)");
    assert_eq!(run(malachite, "ZnO(s)"), None);
    assert_eq!(run(malachite, malachite), None);
    let twice = [species("H2O(g)"), species("H2O(l)"), species("CO2(g)")];
    assert_eq!(conversion(&species(malachite), &species("CuO(s)"), &twice), None);
}

#[test]
fn hydrate_water() {
    let bluestone = formula("CuSO4.5H2O");
    assert_eq!(bluestone.hydrate_water(), 5.into());
    assert_eq!(bluestone.without_hydrate_water(), formula("CuSO4"));
    assert!(bluestone.same_substance(&formula("CuSO4*5H2O")));
    assert_eq!(formula("2CaSO4·H2O").without_hydrate_water().text(), "(CaSO4)2");
    assert_eq!(formula("ZnCO3·2Zn(OH)2·H2O").without_hydrate_water().text(), "ZnCO3·2Zn(OH)2");
    assert_eq!(formula("CaSO4.0.5H2O").text(), "CaSO4·0.5H2O");
    assert_eq!(formula("CaSO4·1/2H2O").text(), "CaSO4·0.5H2O");
    assert_eq!(formula("3CdSO4·8H2O").hydrate_water(), 8.into());
    close(molar_mass("CdSO4·8/3H2O"), molar_mass("3CdSO4·8H2O") / 3.0, 1e-9);
}

#[test]
fn spellings_for_page_and_tex() {
    assert_eq!(formula("CuSO4.5H2O").tex(), r"\mathrm{CuSO_4 \cdot 5H_2O}");
    assert_eq!(formula("C12H22O11").tex(), r"\mathrm{C_{12}H_{22}O_{11}}");
    assert_eq!(formula("{[Fe(CN)6]}^4-").tex(), r"\mathrm{\{[Fe(CN)_6]\}^{4-}}");
    assert_eq!(formula("MnO4^-").tex(), r"\mathrm{MnO_4^-}");
    assert_eq!(formula("Fe0.947O").html(), "Fe<sub>0.947</sub>O");
    assert_eq!(formula("[Fe(CN)6]4-").html(), "[Fe(CN)<sub>6</sub>]<sup>4−</sup>");
    assert_eq!(formula("e-").html(), "e<sup>−</sup>");
    let equation = Equation::parse("2 H2(g) + O2(g) -> 2 H2O(l)").unwrap();
    assert_eq!(equation.unicode(), "2 H₂(g) + O₂(g) → 2 H₂O(l)");
    assert_eq!(equation.html(), "2 H<sub>2</sub>(g) + O<sub>2</sub>(g) → 2 H<sub>2</sub>O(l)");
    assert!(equation.tex().starts_with(r"2\,\mathrm{H_2}\mathrm{(g)} + \mathrm{O_2}"), "{}", equation.tex());
    assert_eq!(Equation::parse(&equation.unicode()).unwrap().to_string(), equation.to_string());
}

/// SI Brochure (2019) and NIST SP 811 (2008).
#[test]
fn units_in_si() {
    let si = |text: &str| Quantity::parse(text).unwrap_or_else(|error| panic!("{text}: {error}")).si().central();
    close(si("105 °C"), 378.15, 1e-9);
    close(si("−5 °C"), 268.15, 1e-9);
    close(si("212 °F"), 373.15, 1e-9);
    close(si("68 °F"), 293.15, 1e-9);
    close(si("298.15 K"), 298.15, 0.0);
    close(si("12 ppm"), 12e-6, 1e-18);
    close(si("1,5 l"), 0.0015, 1e-15);
    close(si("760 mmHg"), 101_325.0, 1.0);
    close(si("760 Torr"), 101_325.0, 1e-9);
    close(si("1 kcal"), 4184.0, 0.0);
    close(si("1,5 L"), 0.0015, 1e-15);
    close(si("20.7 g/100g"), 0.207, 1e-12);
    close(si("20.7 g/100 mL"), 207.0, 1e-9);
    close(si("75.3 J/(mol K)"), 75.3, 1e-9);
    close(si("0.1 M"), 100.0, 1e-9);
    close(si("249.7 g/mol"), 0.2497, 1e-12);
    close(si("5 cm3"), 5e-6, 1e-18);
    close(si("10 mol·m^-3"), 10.0, 0.0);
    close(si("10 °C/min"), 1.0 / 6.0, 1e-12);
    assert_eq!(Quantity::parse("10 K/min").unwrap().dimension(), Dimension::HEATING_RATE);
}

/// JCGM 100:2008, clause 5.1: a quotient adds relative variances.
#[test]
fn propagation() {
    let quotient = Uncertain::new(24.41, 0.06) / Uncertain::new(25.2, 0.1);
    close(quotient.relative(), (0.06_f64 / 24.41).hypot(0.1 / 25.2), 1e-12);
    assert_eq!(Uncertain::new(24.4089, 0.0451).to_string(), "24.409 ± 0.045");
    assert_eq!(Uncertain::new(12_345.6, 123.0).to_string(), "12350 ± 120");
    assert_eq!(Uncertain::new(1.0, 0.0996).to_string(), "1.00 ± 0.10");
    assert_eq!(Uncertain::new(1.2344e-12, 1.2e-14).to_string(), "(1.234 ± 0.012)e-12");
}

/// What was balanced once is remembered with all that it may exchange: copper takes up oxygen only where there is some.
#[test]
fn a_conversion_asked_again_is_the_one_that_was_asked() {
    let parse = |text: &str| Species::parse(text).expect("a species");
    let (copper, oxide) = (parse("Cu(s)"), parse("CuO(s)"));
    let (oxygen, water) = (parse("O2(g)"), parse("H2O(g)"));
    for _ in 0..2 {
        assert_eq!(conversion(&copper, &oxide, std::slice::from_ref(&water)), None);
        let terms = conversion(&copper, &oxide, &[water.clone(), oxygen.clone()]).expect("it takes up oxygen");
        let told: Vec<String> = terms.iter().map(|(species, n)| format!("{n} {species}")).collect();
        assert_eq!(told, ["-1 Cu(s)", "1 CuO(s)", "-1/2 O2(g)"]);
    }
}
