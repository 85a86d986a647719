//! Does every slip get an error that points at it and says what would be right?
#![allow(clippy::unwrap_used, missing_docs)]

use std::time::{Duration, Instant};

use chem::{Dimension, Equation, Formula, Quantity, Species, SpeciesPattern};

#[track_caller]
fn formula_error(text: &str, pointed: &str, message: &str) {
    let error = Formula::parse(text).expect_err(text);
    assert_eq!(text.get(error.offset..error.offset + error.length), Some(pointed), "{error:?}");
    assert!(error.to_string().contains(message), "{error}");
}

#[test]
fn formulas() {
    formula_error("", "", "expected a formula, found nothing");
    formula_error("   ", "   ", "found nothing");
    formula_error("Xx2", "Xx", "`Xx` is no element; did you mean `Xe`?");
    formula_error("CuSO4 + ", " ", "space");
    formula_error("cuSO4", "cu", "did you mean `Cu`?");
    formula_error("CuS O4", " ", "a space within the formula");
    formula_error("CuSO4·", "·", "nothing follows the hydrate dot");
    formula_error("CuSO4··5H2O", "·", "nothing follows the hydrate dot");
    formula_error("·5H2O", "·", "nothing stands before");
    formula_error("H2O)", ")", "closing `)` without opening");
    formula_error("(H2O", "(", "opening bracket `(` is never closed");
    formula_error("Fe(OH]3", "]", "`(` is closed by `]`");
    formula_error("Fe()3", "()", "nothing stands between");
    formula_error("Fe0", "0", "count of zero");
    formula_error("CuSO4·0H2O", "0", "count of zero");
    formula_error("123", "123", "a number alone");
    formula_error("CuSO4·5", "5", "a number alone");
    formula_error("2H2O", "2", "coefficient belongs in an equation");
    formula_error("[99O]2", "99O", "the table has no oxygen-99; it has 15, 16, 17, 18");
    formula_error("[300Og]", "300Og", "leave the number out");
    formula_error("[18]", "18", "`18` is no isotope; write mass number and symbol");
    formula_error("H2^18", "^18", "a charge needs a sign");
    formula_error("[3D]2O", "3D", "`3D` is no isotope");
    formula_error("10B2O3·H2O", "10B", "`10B` can be the isotope or 10 of the first part; write `[10B]`");
    formula_error("K4[Fe(CN)6]4-", "4-", "can be a count or a charge");
    formula_error("SO4(2-)K", "K", "follows the charge");
    formula_error("SO4^{2-", "^", "a charge needs a sign");
    formula_error("SO4(2-+)", "(2-+)", "a charge needs a sign");
    formula_error("Fe1234567", "1234567", "out of range");
    formula_error("((Fe999999)999999)999999", "((Fe999999)999999)999999", "out of range");
    formula_error("C1e999", "e", "electron");
    formula_error("CaSO4·8/0H2O", "8/0", "no count");
    formula_error("Cl4.2CaCO3", "4.2", "write `4·2` for the dot, `_4.2` for the count");
    formula_error("Fe3+", "3+", "write `Fe^3+` or `Fe3^+`");
    formula_error("NO3-", "3-", "write `NO^3-` or `NO3^-`");
    formula_error("SO4^2", "^2", "a charge needs a sign");
    formula_error("SO4^2-x", "x", "follows the charge");
    formula_error("Na^100+", "^100+", "a charge beyond 99");
    formula_error("Na+-", "+-", "a charge needs a sign");
    formula_error("Cu$", "$", "unexpected `$`");
}

#[test]
fn charges_and_dots() {
    let text = |text: &str| Formula::parse(text).unwrap_or_else(|error| panic!("{text}: {error}")).to_string();
    assert_eq!(text("Na+"), "Na^+");
    assert_eq!(text("Cl−"), "Cl^-");
    assert_eq!(text("Ca++"), "Ca^2+");
    assert_eq!(text("Fe^+3"), "Fe^3+");
    assert_eq!(text("NO₃-"), "NO3^-");
    assert_eq!(text("SO₄²⁻"), "SO4^2-");
    assert_eq!(text("e-"), "e^-");
    for written in ["SO4^2-", "SO4^-2", "SO4^{2-}", "SO4(2-)", "SO4 2-", "SO4-2", "SO4--", "SO₄2-", "SO₄²⁻", "SO4²-"]
    {
        assert_eq!(text(written), "SO4^2-", "{written}");
    }
    assert_eq!(text("[Fe(CN)6]4-"), "[Fe(CN)6]^4-");
    assert_eq!(text("[Cu(NH3)4]2+"), "[Cu(NH3)4]^2+");
    assert_eq!(text("Fe 3+"), "Fe^3+");
    assert_eq!(Species::parse("Fe 3+(aq)").unwrap().to_string(), "Fe^3+(aq)");
    assert_eq!(Equation::parse("Fe 3+ + e- -> Fe 2+").unwrap().to_string(), "Fe^3+ + e^- -> Fe^2+");
    assert_eq!(text("YBa2Cu3O6.93"), "YBa2Cu3O6.93");
    assert_eq!(text("CoCl2.6NH3"), "CoCl2·6NH3");
    assert_eq!(text("Na_3.4Zr2P3O12"), "Na_3.4Zr2P3O12");
    assert_eq!(Formula::parse("SO4^2-").unwrap().unicode(), "SO₄²⁻");
    assert_eq!(Formula::parse("CaSO4.0.5H2O").unwrap().unicode(), "CaSO₄·0.5H₂O");
    assert_eq!(Species::parse("Na+ (aq)").unwrap().to_string(), "Na^+(aq)");
}

#[test]
fn no_molar_mass_without_an_atomic_weight() {
    let error = Formula::parse("KTcO4").unwrap().molar_mass().unwrap_err();
    assert_eq!((error.offset, error.length), (1, 2));
    assert_eq!(
        error.to_string(),
        "technetium (Tc) has no standard atomic weight, so no molar mass can be given; name a substance of other elements"
    );
    assert!(Formula::parse("KTcO4").unwrap().mass_fraction(chem::Element::OXYGEN).is_nan());
}

#[test]
fn species_and_families() {
    let error = Species::parse("H2O(aqu)").unwrap_err();
    assert_eq!((error.offset, error.length), (3, 5));
    assert_eq!(error.to_string(), "`(aqu)` is no phase; write (s), (l), (g) or (aq)");
    let family = |text: &str| SpeciesPattern::parse(text);
    let text = "Cu2CO3(OH)2·nH2O(s), n = 0 .. 1";
    let SpeciesPattern::Family { anhydrous, low, high, .. } = family(text).unwrap() else { panic!("no family") };
    assert_eq!((anhydrous.to_string().as_str(), low, high), ("Cu2CO3(OH)2(s)", 0.0, 1.0));
    assert!(matches!(family("MnSO4·MnH2O(s)"), Ok(SpeciesPattern::One(_))));
    for (text, pointed) in [
        ("CuSO4·nH2O(s)", "nH2O"),
        ("CuSO4(s), n = 0 .. 1", ", n = 0 .. 1"),
        ("CuSO4·nH2O(s), n = 5 .. 1", " n = 5 .. 1"),
        ("CuSO4·nH2O(s), n = 1", " n = 1"),
        ("CuXO4·nH2O(s), n = 0 .. 1", "X"),
    ] {
        let error = family(text).expect_err(text);
        assert_eq!(text.get(error.offset..error.offset + error.length), Some(pointed), "{error}");
    }
}

#[track_caller]
fn equation_error(text: &str, pointed: &str, message: &str) {
    let error = Equation::parse(text).expect_err(text);
    assert_eq!(text.get(error.offset..error.offset + error.length), Some(pointed), "{error:?}");
    assert!(error.to_string().contains(message), "{error}");
}

#[test]
fn equations() {
    equation_error("", "", "expected an equation");
    equation_error("CuO + H2", "CuO + H2", "needs an arrow");
    equation_error("A -> B -> C", "->", "a second arrow");
    equation_error("CuO + H2 ->", "->", "one side of the arrow is empty");
    equation_error("CuO + + H2 -> Cu", "+", "missing beside");
    equation_error("CuO + -> Cu", "+", "missing beside");
    equation_error("CuO + 2 -> Cu", "2", "no species follows");
    equation_error("CuO + 0 H2 -> Cu", "0", "no coefficient");
    equation_error("CuO + 1/0 H2 -> Cu", "1/0", "no coefficient");
    equation_error("CuO + H2 -> Cu + Hx2O", "Hx", "`Hx` is no element");
}

#[test]
fn plus_signs() {
    let text = |text: &str| Equation::parse(text).unwrap_or_else(|error| panic!("{text}: {error}")).to_string();
    assert_eq!(text("Na+ + Cl- -> NaCl"), "Na^+ + Cl^- -> NaCl");
    assert_eq!(text("Na+(aq)+Cl-(aq)→NaCl(s)"), "Na^+(aq) + Cl^-(aq) -> NaCl(s)");
    assert_eq!(text("CuO+H2=Cu+H2O"), "CuO + H2 -> Cu + H2O");
    assert_eq!(text("MnO4^-+8H^++5e^- <=> Mn^2++4H2O"), "MnO4^- + 8 H^+ + 5 e^- -> Mn^2+ + 4 H2O");
    assert_eq!(text("Cu+(NH4)2S -> CuS"), "Cu + (NH4)2S -> CuS");
    assert_eq!(text("3/2 O2 + 0.5 N2 ⇌ NO3"), "1.5 O2 + 0.5 N2 -> NO3");
    assert_eq!(text("1 2CaSO4·H2O -> CaSO4 + H2O"), "1 2CaSO4·H2O -> CaSO4 + H2O");
}

#[track_caller]
fn quantity_error(text: &str, pointed: &str, message: &str) {
    let error = Quantity::parse(text).expect_err(text);
    assert_eq!(text.get(error.offset..error.offset + error.length), Some(pointed), "{error:?}");
    assert!(error.to_string().contains(message), "{error}");
}

#[test]
fn quantities() {
    quantity_error("", "", "found nothing");
    quantity_error("50.00 gr", "gr", "unknown unit `gr`; did you mean `g`?");
    quantity_error("5 Kg", "Kg", "did you mean `kg`?");
    quantity_error("5 mll", "mll", "did you mean");
    quantity_error("25 C", "C", "did you mean `°C`?");
    quantity_error("5 drops", "drops", "a drop is no measure; weigh it, or give mL");
    quantity_error("2 spoons", "spoons", "weigh it");
    quantity_error("1 tsp", "tsp", "weigh it");
    quantity_error("10 mEq", "mEq", "divide by the charge of the ion and give mmol");
    quantity_error("4 mEq/mL", "mEq", "give mmol");
    quantity_error("1,000 g", "1,000", "may hold a thousands separator; write `1000`");
    quantity_error("1.000,5 g", "1.000,5", "thousands");
    quantity_error("1 000 g", "1 000", "thousands");
    quantity_error("1e999 g", "1e999", "out of range");
    quantity_error("1e-999 g", "1e-999", "out of range");
    quantity_error("NaN g", "NaN g", "expected a number");
    quantity_error("inf g", "inf g", "expected a number");
    quantity_error("5 ± -1 g", "± -1", "no uncertainty");
    quantity_error("5(x) g", "(", "no uncertainty");
    quantity_error("98-100 %", "-100 %", "98 .. 100 %");
    quantity_error("100 .. 98 %", "100 .. 98 %", "the smaller bound comes first");
    quantity_error(">= 98 .. 99 %", ">= 98 .. 99 %", "a range or limit has no");
    quantity_error("-300 °C", "-300 °C", "below absolute zero");
    quantity_error("5 g ± 1 mL", "mL", "`g` and `mL` differ");
    quantity_error("5 J/mol K", "K", "brackets");
    quantity_error("5 J/(mol K", "(", "never closed");
    quantity_error("5 cm^", "^", "exponent");
    quantity_error("5 g/", "", "a unit is missing");
    let error = Quantity::parse_as(" 100 mL", Dimension::MASS).unwrap_err();
    assert_eq!((error.offset, error.length), (1, 6));
    assert_eq!(error.to_string(), "`100 mL` is a volume; a mass is wanted, e.g. `100 g`");
}

#[test]
fn quantities_as_people_write_them() {
    for (text, printed, last_place) in [
        ("50.00 g", "50.00 g", 0.01),
        ("24.41 ± 0.06 g", "24.41 ± 0.06 g", 0.01),
        ("24.41 +/- 0.06 g", "24.41 ± 0.06 g", 0.01),
        ("24.41(6) g", "24.41 ± 0.06 g", 0.01),
        ("24.41 g ± 0.06 g", "24.41 ± 0.06 g", 0.01),
        ("200 g ± 0.5 %", "200 ± 1 g", 1.0),
        ("98 .. 100 %", "98 .. 100 %", 1.0),
        ("98..100%", "98 .. 100 %", 1.0),
        ("98,5–100 %", "98.5 .. 100.0 %", 0.1),
        (">= 98 %", ">= 98 %", 1.0),
        ("≥98%", ">= 98 %", 1.0),
        ("<= 0.5 %", "<= 0.5 %", 0.1),
        ("1,5 L", "1.5 L", 0.1),
        ("1,5 l", "1.5 l", 0.1),
        ("24,41 +/- 0,06 g", "24.41 ± 0.06 g", 0.01),
        ("24,41(6) g", "24.41 ± 0.06 g", 0.01),
        ("68 °F", "68 °F", 1.0),
        ("298.15 K", "298.15 K", 0.01),
        ("745 mmHg", "745 mmHg", 1.0),
        ("12 ppm", "12 ppm", 1.0),
        ("0,125 g", "0.125 g", 0.001),
        ("1e-3 mol", "0.001 mol", 0.001),
        ("1.2e4 g", "1.2e4 g", 1000.0),
        ("−5 °C", "-5 °C", 1.0),
        ("0 ± 0.02 %", "0 ± 0.02 %", 1.0),
        ("0.5", "0.5", 0.1),
    ] {
        let quantity = Quantity::parse(text).unwrap_or_else(|error| panic!("{text}: {error}"));
        assert_eq!(quantity.to_string(), printed);
        assert!((quantity.last_place - last_place).abs() < 1e-12 * last_place, "{text}: {}", quantity.last_place);
    }
}

#[test]
fn huge_texts_are_refused_at_once() {
    let started = Instant::now();
    for piece in ["(", "Cu", "H2O·", "5 g ", "A + ", "1", "·n", "[(", "-> "] {
        let text = piece.repeat(10_000_000 / piece.len());
        assert!(Formula::parse(&text).is_err());
        assert!(Species::parse(&text).is_err());
        assert!(SpeciesPattern::parse(&text).is_err());
        assert!(Equation::parse(&text).is_err());
        assert!(Quantity::parse(&text).is_err());
    }
    assert!(Formula::parse(&"(".repeat(1500)).is_err());
    assert!(Formula::parse(&format!("{}H{}", "(".repeat(40), ")".repeat(40))).is_err());
    assert!(Formula::parse(&format!("{}H{}", "(".repeat(30), ")".repeat(30))).is_ok());
    assert!(Formula::parse(&format!("{}H{}", "(".repeat(30), ")999999".repeat(30))).is_err());
    // Sixty species, many independent solutions.
    let side = |from: u8| {
        let hydrides = (0..30).map(|index| {
            let element = chem::Element::from_atomic_number(3 + (from + index) % 20).unwrap();
            format!("{element}{}H{}O{}", 1 + index % 3, 1 + index % 7, 1 + index % 5)
        });
        hydrides.collect::<Vec<_>>().join(" + ")
    };
    let wide = Equation::parse(&format!("{} -> {}", side(0), side(7))).unwrap();
    assert!(wide.balance().solutions() > 1);
    assert!(started.elapsed() < Duration::from_secs(5));
}
