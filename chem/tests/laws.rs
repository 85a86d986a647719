//! Do the laws hold for any input: no panic, print and read are inverse, a balance balances?
#![allow(clippy::unwrap_used, missing_docs)]

use chem::reaction::component_sums;
use chem::{
    Balance, Dimension, Element, Equation, Formula, Quantity, Reaction, ReactionError, Species, SpeciesPattern, Unit,
};
use num_rational::Ratio;
use num_traits::Zero;
use proptest::prelude::*;

/// Texts of the letters that matter, so that many get far into the readers.
fn near_text() -> impl Strategy<Value = String> {
    let pieces = [
        "Cu",
        "S",
        "O4",
        "H2O",
        "·",
        ".",
        "*",
        "5",
        "0",
        "(",
        ")",
        "[",
        "]",
        "^",
        "+",
        "-",
        "2-",
        "e",
        " ",
        " + ",
        " -> ",
        "₂",
        "²",
        "⁻",
        "(s)",
        "(aq)",
        "n",
        ", n = 0 .. 1",
        "nH2O",
        "/",
        "1.5",
        "%",
        "g",
        "mL",
        "±",
        "..",
        ">=",
        ",",
        "1e3",
        "°C",
        "/mol",
        "_",
        "NH3",
        "\u{a0}",
        "=",
        "999999",
        "é",
    ];
    prop::collection::vec(prop::sample::select(pieces.to_vec()), 0..14).prop_map(|pieces| pieces.concat())
}

fn symbol() -> impl Strategy<Value = String> {
    (1_u8..=118).prop_map(|number| Element::from_atomic_number(number).unwrap().symbol().to_owned())
}

fn count() -> impl Strategy<Value = String> {
    prop_oneof![
        3 => Just(String::new()),
        3 => (1_u32..20).prop_map(|number| number.to_string()),
        1 => (1_u32..999).prop_map(|thousandths| format!("0.{thousandths:03}")),
        1 => (2_u32..9, 1_u32..99).prop_map(|(whole, places)| format!("_{whole}.{places:02}")),
    ]
}

/// Groups have whole counts, because products of nested decimals soon leave the range of exact counts.
fn group_count() -> impl Strategy<Value = String> {
    prop_oneof![Just(String::new()), (1_u32..20).prop_map(|number| number.to_string())]
}

fn group() -> impl Strategy<Value = String> {
    let atom = (symbol(), count()).prop_map(|(symbol, count)| format!("{symbol}{count}"));
    atom.prop_recursive(3, 12, 4, |inner| {
        let brackets = prop::sample::select(vec![("(", ")"), ("[", "]"), ("{", "}")]);
        (prop::collection::vec(inner, 1..4), brackets, group_count())
            .prop_map(|(members, (open, close), count)| format!("{open}{}{close}{count}", members.concat()))
    })
}

fn formula() -> impl Strategy<Value = String> {
    let charge = prop::sample::select(vec!["", "", "", "^2-", "^+", "⁻", "²⁺"]);
    let water = prop::sample::select(vec!["", "", "·H2O", "·5H2O", "*0.5H2O", "·8/3H2O", " . 10 H2O"]);
    (prop::collection::vec(group(), 1..5), water, charge)
        .prop_map(|(groups, water, charge)| format!("{}{water}{charge}", groups.concat()))
}

fn species() -> impl Strategy<Value = String> {
    let phase = prop::sample::select(vec!["", "(s)", "(l)", "(g)", " (aq)"]);
    (formula(), phase).prop_map(|(formula, phase)| format!("{formula}{phase}"))
}

/// Small species that combine to equations of every kind.
fn bench_species() -> impl Strategy<Value = &'static str> {
    prop::sample::select(vec![
        "H2O",
        "O2",
        "H2",
        "CO2",
        "CO",
        "C",
        "CuO",
        "Cu2O",
        "Cu",
        "Cu2CO3(OH)2",
        "CuSO4·5H2O",
        "H^+",
        "OH^-",
        "e^-",
        "Cu^2+",
        "SO4^2-",
        "SO2",
        "SO3",
        "S",
        "H2SO4",
        "Fe2O3",
        "Fe3O4",
        "Fe0.947O",
        "Fe",
        "CH4",
    ])
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(400))]

    #[test]
    fn reading_never_panics(text in prop_oneof![near_text(), ".{0,40}"]) {
        let formula = Formula::parse(&text);
        if let Err(error) = &formula {
            prop_assert!(text.get(error.offset..error.offset + error.length).is_some(), "{error:?}");
            prop_assert!(!error.to_string().is_empty());
        }
        if let Ok(formula) = formula {
            let _ = (formula.molar_mass(), formula.unicode(), formula.hydrate_water(), formula.without_hydrate_water());
        }
        if let Err(error) = Quantity::parse(&text) {
            prop_assert!(text.get(error.offset..error.offset + error.length).is_some(), "{error:?}");
            prop_assert!(!error.to_string().is_empty());
        }
        if let Err(error) = Equation::parse(&text) {
            prop_assert!(text.get(error.offset..error.offset + error.length).is_some(), "{error:?}");
            prop_assert!(!error.to_string().is_empty());
        }
        if let Err(error) = SpeciesPattern::parse(&text) {
            prop_assert!(text.get(error.offset..error.offset + error.length).is_some(), "{error:?}");
            prop_assert!(!error.to_string().is_empty());
        }
        if let Err(error) = Unit::parse(&text) {
            prop_assert!(text.get(error.offset..error.offset + error.length).is_some(), "{error:?}");
        }
    }

    #[test]
    fn any_accepted_text_prints_and_reads_back(text in near_text()) {
        if let Ok(species) = Species::parse(&text) {
            prop_assert_eq!(Species::parse(&species.to_string()), Ok(species));
        }
        if let Ok(pattern) = SpeciesPattern::parse(&text) {
            prop_assert_eq!(SpeciesPattern::parse(&pattern.to_string()), Ok(pattern));
        }
        if let Ok(equation) = Equation::parse(&text) {
            let printed = equation.to_string();
            prop_assert_eq!(Equation::parse(&printed).map(|again| again.to_string()), Ok(printed));
        }
        if let Ok(quantity) = Quantity::parse(&text) {
            let again = Quantity::parse(&quantity.to_string()).map_err(|error| TestCaseError::fail(format!("{quantity}: {error}")))?;
            prop_assert_eq!((again.value, again.unit), (quantity.value, quantity.unit));
        }
    }

    #[test]
    fn species_print_and_read_back(text in species()) {
        let species = Species::parse(&text).map_err(|error| TestCaseError::fail(format!("{text}: {error}")))?;
        let again = Species::parse(&species.to_string());
        prop_assert_eq!(again.as_ref(), Ok(&species));
        let unicode = Species::parse(&species.unicode()).map_err(|error| TestCaseError::fail(format!("{}: {error}", species.unicode())))?;
        prop_assert_eq!(unicode, species);
    }

    /// X·nH2O is X and n H2O, atom by atom.
    #[test]
    fn hydrate_is_anhydrous_and_water(text in formula()) {
        let hydrate = Formula::parse(&text).map_err(|error| TestCaseError::fail(format!("{text}: {error}")))?;
        let (anhydrous, water) = (hydrate.without_hydrate_water(), hydrate.hydrate_water());
        for element in Element::all() {
            let sum = anhydrous.count(element) + Formula::water().count(element) * water;
            prop_assert_eq!(sum, hydrate.count(element));
        }
        prop_assert!(anhydrous.hydrate_water().is_zero());
        let again = anhydrous.with_hydrate_water(water);
        prop_assert_eq!(again.composition(), hydrate.composition());
        prop_assert_eq!(Formula::parse(anhydrous.text()), Ok(anhydrous));
    }

    #[test]
    fn mass_fractions_add_up(text in formula()) {
        let formula = Formula::parse(&text).map_err(|error| TestCaseError::fail(format!("{text}: {error}")))?;
        if formula.molar_mass().is_ok() {
            let sum: f64 = Element::all().map(|element| formula.mass_fraction(element)).sum();
            prop_assert!((sum - 1.0).abs() < 1e-12, "{}", sum);
        }
    }

    #[test]
    fn a_balance_balances(
        left in prop::collection::vec(bench_species(), 1..5),
        right in prop::collection::vec(bench_species(), 1..5),
    ) {
        let equation = Equation::parse(&format!("{} -> {}", left.join(" + "), right.join(" + "))).unwrap();
        let species: Vec<Species> = equation.terms().map(|term| term.species.clone()).collect();
        let sums_vanish = |numbers: &[i64]| {
            let numbers: Vec<Ratio<i64>> = numbers.iter().copied().map(Ratio::from_integer).collect();
            component_sums(&species, &numbers).values().all(Zero::is_zero)
        };
        match equation.balance() {
            Balance::One(numbers) => {
                prop_assert!(sums_vanish(&numbers));
                prop_assert!(numbers.iter().enumerate().all(|(place, number)| (*number < 0) == (place < left.len())));
                let balanced = equation.with_coefficients(&numbers).unwrap();
                let reaction = Reaction::new(&balanced);
                let nothing_reacts = left == right;
                prop_assert_eq!(reaction.is_ok(), !nothing_reacts);
                prop_assert!(!nothing_reacts || reaction == Err(ReactionError::Nothing));
            }
            Balance::WrongSide { coefficients, wrong, idle } => {
                prop_assert!(sums_vanish(&coefficients));
                prop_assert!(wrong.len() + idle.len() > 0);
            }
            Balance::Several { basis } => {
                prop_assert!(basis.len() > 1 && basis.iter().all(|numbers| sums_vanish(numbers)));
            }
            Balance::None { unclosed } => prop_assert!(!unclosed.is_empty()),
            Balance::OutOfRange => prop_assert!(false, "out of range"),
        }
    }

    #[test]
    fn quantities_round_trip(
        digits in -999_999_i64..999_999,
        places in 0_i32..7,
        uncertainty in prop::option::of(0_u32..10_000),
        unit in prop::sample::select(vec!["", "g", "mL", "mol/L", "%", "K", "g/100 mL", "kJ/mol", "J/(mol K)", "m^-3"]),
    ) {
        let value = digits as f64 / 10_f64.powi(places);
        let tail = uncertainty.map(|u| format!(" ± {}", f64::from(u) / 1000.0)).unwrap_or_default();
        let text = format!("{value:.*}{tail} {unit}", places as usize);
        let quantity = Quantity::parse(&text).map_err(|error| TestCaseError::fail(format!("{text}: {error}")))?;
        prop_assert_eq!(quantity.value.central(), value);
        let again = Quantity::parse(&quantity.to_string()).unwrap();
        prop_assert_eq!(again.value, quantity.value);
        prop_assert_eq!(again.unit, quantity.unit);
        prop_assert!((again.last_place / quantity.last_place - 1.0).abs() < 1e-12);
    }

    #[test]
    fn units_multiply(factor in 1_u32..1000) {
        let unit = Unit::parse(&format!("g/{factor} mL")).unwrap();
        prop_assert_eq!(unit.dimension, Dimension::MASS - Dimension::VOLUME);
        prop_assert!((unit.factor * f64::from(factor) - 1000.0).abs() < 1e-9);
    }
}
