//! Are isotopes read in every spelling, weighed by their own mass and followed through an equation?
//!
//! Masses: AME2020, Wang et al., Chinese Phys. C 45 (2021) 030003; the other atoms: CIAAW 2021, Prohaska et al., Pure
//! Appl. Chem. 94 (2022) 573. Tolerances cover arithmetic and the rounding of the masses keyed here.
#![allow(clippy::unwrap_used, missing_docs)]

use chem::{Balance, Component, Element, Equation, Formula, Isotope, Reaction, Species, conversion, isotope, table};

fn formula(text: &str) -> Formula {
    Formula::parse(text).unwrap_or_else(|error| panic!("{text}: {error}"))
}

#[track_caller]
fn weighs(text: &str, expected: f64) {
    let found = formula(text).molar_mass().unwrap().value;
    assert!((found - expected).abs() < 2e-6, "{text}: {found}, expected {expected}");
}

/// 2H 2.014101778, 13C 13.003354835, 10B 10.012937, 18O 17.999159613 and O 15.999, H 1.0080. Handbook: D2O 20.0276
/// (from memory, older O).
#[test]
fn labelled_substances_weigh_what_their_isotopes_do() {
    weighs("D2O", 2.0 * 2.014_101_778 + 15.999);
    weighs("[13C]O2", 13.003_354_835 + 2.0 * 15.999);
    weighs("H3[10B]O3", 3.0 * 1.008 + 10.012_937 + 3.0 * 15.999);
    weighs("H2[18O]", 2.0 * 1.008 + 17.999_159_613);
    // Technetium has no standard atomic weight, its isotope 99 has a mass: 98.906250 (AME2020).
    weighs("K[99Tc]O4", 39.0983 + 98.906_25 + 4.0 * 15.999);
    assert!(formula("K[99Tc]TcO4").molar_mass().is_err());
}

#[test]
fn uncertainty_of_a_label_is_that_of_the_nuclide() {
    let heavy = formula("D2[18O]").molar_mass().unwrap();
    assert!(heavy.standard_uncertainty < 1e-8);
    let water = formula("H2O").molar_mass().unwrap();
    assert!(water.standard_uncertainty > 1e-4);
}

#[test]
fn every_spelling_is_one_formula() {
    for (spellings, printed) in [
        (&["D2O", "[2H]2O", "(2H)2O", "^2H2O", "²H₂O", "[2H2]O", "D₂O", "[D]2O", "[2D]2O"][..], "D2O"),
        (&["[13C]O2", "13CO2", "(13C)O2", "^13CO2", "¹³CO₂", "[13C]O₂"], "[13C]O2"),
        (&["H2[18O]", "H2(18O)", "H2^18O", "H₂¹⁸O"], "H2[18O]"),
        (&["H3(10B)O3", "H3[10B]O3"], "H3[10B]O3"),
        (&["[13CH3]OH", "[[13C]H3]OH", "[¹³CH₃]OH"], "[[13C]H3]OH"),
        (&["[18O]^2-", "¹⁸O²⁻", "^18O^2-"], "[18O]^2-"),
        (&["CuSO4·5D2O"], "CuSO4·5D2O"),
        (&["T2O"], "T2O"),
    ] {
        for spelling in spellings {
            let read = formula(spelling);
            assert_eq!(read.text(), printed, "{spelling}");
            assert_eq!(formula(&read.unicode()), read, "{}", read.unicode());
        }
    }
}

#[test]
fn labelled_atoms_count_for_their_element() {
    let ethanol = formula("[13C]H3CD2OH");
    assert_eq!(ethanol.count(Element::CARBON), 2.into());
    assert_eq!(ethanol.count(Element::HYDROGEN), 6.into());
    assert_eq!(ethanol.isotope_count(Isotope::DEUTERIUM), 2.into());
    assert_eq!(ethanol.isotopes().len(), 2);
    let sum: f64 = ethanol.composition().keys().map(|element| ethanol.mass_fraction(*element)).sum();
    assert!((sum - 1.0).abs() < 1e-12);
    // Heavy water of crystallisation is no H2O.
    assert_eq!(formula("CuSO4·5D2O").hydrate_water(), 0.into());
}

#[test]
fn a_label_on_both_sides_is_conserved() {
    let balance = |text: &str| Equation::parse(text).unwrap().balance();
    assert_eq!(balance("H2O + D2O -> HDO"), Balance::One(vec![-1, -1, 2]));
    assert_eq!(balance("D2O + NaH -> NaOD + HD"), Balance::One(vec![-1, -1, 1, 1]));
    // Without the label two oxygens could come from anywhere; with it each is accounted for.
    assert_eq!(balance("[18O]2 + O2 -> [18O]O"), Balance::One(vec![-1, -1, 2]));
    assert_eq!(balance("[13C]O + CO2 -> [13C]O2 + CO"), Balance::One(vec![-1, -1, 1, 1]));
    // Nothing brings the H of HD: as elements it would balance in two ways, with the label HD takes no part.
    let Balance::WrongSide { coefficients, idle, .. } = balance("D2 + O2 -> D2O + HD") else { panic!("balanced") };
    assert_eq!((coefficients, idle), (vec![-2, -1, 2, 0], vec![3]));
    let written = Equation::parse("2 D2O + NaH -> NaOD + HD").unwrap();
    let error = Reaction::new(&written).unwrap_err().to_string();
    assert!(error.contains("4 D on the left, 2 on the right: 2 D too many on the left"), "{error}");
}

#[test]
fn a_label_on_one_side_is_its_element() {
    let equation = Equation::parse("D2O + Na -> NaOH + H2").unwrap();
    assert_eq!(equation.balance(), Balance::One(vec![-2, -2, 2, 1]));
    assert!(Reaction::new(&equation).is_ok());
    // A number before a term of an equation is its coefficient.
    assert_eq!(Equation::parse("13CO2 -> C + O2").unwrap().to_string(), "13 CO2 -> C + O2");
}

#[test]
fn conversions_follow_labels() {
    let species = |text: &str| Species::parse(text).unwrap();
    let exchange = [species("H2O(g)"), species("D2O(g)")];
    let steps = conversion(&species("CuSO4·5D2O(s)"), &species("CuSO4(s)"), &exchange).unwrap();
    let texts: Vec<String> = steps.iter().map(|(species, number)| format!("{number} {species}")).collect();
    assert_eq!(texts, ["-1 CuSO4·5D2O(s)", "1 CuSO4(s)", "5 D2O(g)"]);
}

#[test]
fn labels_print_for_page_and_tex() {
    assert_eq!(formula("H2[18O]").html(), "H<sub>2</sub><sup>18</sup>O");
    assert_eq!(formula("H2[18O]").tex(), r"\mathrm{H_2{}^{18}O}");
    assert_eq!(formula("D2O").unicode(), "D₂O");
    assert_eq!(Component::Isotope(Isotope::DEUTERIUM).to_string(), "D");
}

/// Spot values from the tables of AME2020 (from memory): 1H 1.00782503, 12C exactly 12, 14C 14.00324199, 235U 235.0439281.
#[test]
fn masses_of_the_table() {
    let mass = |symbol: &str, number: u16| {
        let isotope = Isotope::new(Element::from_symbol(symbol).unwrap(), number).unwrap();
        isotope.mass().value
    };
    for (symbol, number, expected) in
        [("H", 1, 1.007_825_03), ("C", 12, 12.0), ("C", 14, 14.003_241_99), ("U", 235, 235.043_928_1)]
    {
        assert!((mass(symbol, number) - expected).abs() < 1e-8, "{symbol}-{number}");
    }
}

#[test]
fn every_row_of_the_table_reaches_the_program() {
    let rows = table::rows(isotope::TABLE);
    assert_eq!(Isotope::all().count(), rows.len());
    let mut previous = None;
    for (row, isotope) in rows.iter().zip(Isotope::all()) {
        assert!(row.is_complete(), "line {}", row.line);
        assert_eq!(
            row.number("atomic_number"),
            Some(f64::from(isotope.element().atomic_number())),
            "line {}",
            row.line
        );
        let mass = isotope.mass();
        // The mass defect is below 0.11 g/mol for every nuclide.
        assert!((mass.value - f64::from(isotope.mass_number())).abs() < 0.3, "line {}", row.line);
        assert!((0.0..1e-4).contains(&mass.standard_uncertainty), "line {}", row.line);
        assert!(isotope.source().is_some(), "line {}", row.line);
        assert!(previous < Some(isotope), "line {}: out of order", row.line);
        previous = Some(isotope);
    }
}

/// An atomic weight is a mean over the natural isotopes, so it lies between the lightest and the heaviest (Prohaska et
/// al. 2022 against AME2020: two tables, one nature).
#[test]
fn atomic_weights_lie_between_the_natural_isotopes() {
    for element in Element::all() {
        let Some(weight) = element.atomic_weight() else {
            continue;
        };
        let masses: Vec<f64> =
            Isotope::of(element).filter(|isotope| isotope.is_natural()).map(|isotope| isotope.mass().value).collect();
        let (Some(first), Some(last)) = (masses.first(), masses.last()) else { panic!("{element} has no isotope") };
        let slack = 4.0 * weight.standard_uncertainty;
        assert!(first - slack <= weight.value && weight.value <= last + slack, "{element}");
        if masses.len() == 1 {
            assert!((weight.value - first).abs() < slack, "{element}: {} {first}", weight.value);
        }
    }
}
