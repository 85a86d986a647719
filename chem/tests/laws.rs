//! Do the laws hold for any input: no panic, print and read are inverse, a balance balances?
#![allow(clippy::unwrap_used, missing_docs)]

use chem::reaction::component_sums;
use chem::{
    Balance, Component, Dimension, Element, Equation, Formula, Quantity, Reaction, ReactionError, Species,
    SpeciesPattern, Unit,
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
        "D",
        "[18O]",
        "13C",
        "^18O",
        "¹⁸O",
        "(2-)",
        " 2-",
        "Cl",
        "Fe",
        "{",
        "}",
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
    let label = prop::sample::select(vec!["D", "T", "[18O]", "[13C]", "(2H)", "¹⁵N", "^34S"]).prop_map(str::to_owned);
    let atom = (prop_oneof![9 => symbol(), 1 => label], count()).prop_map(|(symbol, count)| format!("{symbol}{count}"));
    atom.prop_recursive(3, 12, 4, |inner| {
        let brackets = prop::sample::select(vec![("(", ")"), ("[", "]"), ("{", "}")]);
        (prop::collection::vec(inner, 1..4), brackets, group_count())
            .prop_map(|(members, (open, close), count)| format!("{open}{}{close}{count}", members.concat()))
    })
}

fn formula() -> impl Strategy<Value = String> {
    let charge = prop::sample::select(vec!["", "", "", "^2-", "^+", "⁻", "²⁺", "(2-)", " 3+"]);
    let water = prop::sample::select(vec!["", "", "·H2O", "·5H2O", "*0.5H2O", "·8/3H2O", " . 10 H2O"]);
    (prop::collection::vec(group(), 1..5), water, charge)
        .prop_map(|(groups, water, charge)| format!("{}{water}{charge}", groups.concat()))
}

fn species() -> impl Strategy<Value = String> {
    let phase = prop::sample::select(vec!["", "(s)", "(l)", "(g)", " (aq)"]);
    (formula(), phase).prop_map(|(formula, phase)| format!("{formula}{phase}"))
}

/// Formulas of atoms and ions as they meet on the bench, with any counts, so that many have oxidation states.
fn bench_formula() -> impl Strategy<Value = String> {
    let cations =
        prop::sample::select(vec!["", "Na", "Ca", "Cu", "Fe", "Al", "NH4", "H", "K", "Mn", "Cr", "Hg", "Si", "B"]);
    let anions = prop::sample::select(vec![
        "O", "O2", "(SO4)", "(NO3)", "Cl", "F", "S", "H", "CN", "(OH)", "N", "C", "S2O3", "ClO3", "(CO)", "MnO4", "P",
        "Br",
    ]);
    let number = || prop::sample::select(vec!["", "", "2", "3", "4", "0.5"]);
    let tail = prop::sample::select(vec!["", "", "·H2O", "·5H2O", "·NH3", "^2-", "^+", "^-"]);
    (cations, number(), anions, number(), tail).prop_map(|(cation, some, anion, more, tail)| {
        let some = if cation.is_empty() || cation == "NH4" { "" } else { some };
        format!("{cation}{some}{anion}{}{tail}", if anion.ends_with(|c: char| c.is_ascii_digit()) { "" } else { more })
    })
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
        "D2O",
        "HDO",
        "H2[18O]",
        "[13C]O2",
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
            let _ = (formula.html(), formula.tex());
            if let Ok(states) = formula.oxidation_states() {
                prop_assert!(states.iter().all(|state| !state.to_string().is_empty() && !state.rule.to_string().is_empty()));
            }
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

    /// The states of all atoms add up to the charge, and every atom has one.
    #[test]
    fn oxidation_states_add_up_to_the_charge(text in bench_formula()) {
        let formula = Formula::parse(&text).map_err(|error| TestCaseError::fail(format!("{text}: {error}")))?;
        let Ok(states) = formula.oxidation_states() else {
            return Ok(());
        };
        let sum: Ratio<i64> = states.iter().map(|state| state.count * state.state).sum();
        prop_assert_eq!(sum, Ratio::from_integer(i64::from(formula.charge())), "{}: {:?}", text, states);
        for (element, count) in formula.composition() {
            let found: Ratio<i64> = states.iter().filter(|state| state.element == *element).map(|state| state.count).sum();
            prop_assert_eq!(found, *count, "{}: {}", text, element);
        }
    }

    /// Markup is well formed: every tag and brace is closed, and without it the text is the formula.
    #[test]
    fn page_and_tex_are_well_formed(text in formula()) {
        let formula = Formula::parse(&text).map_err(|error| TestCaseError::fail(format!("{text}: {error}")))?;
        let html = formula.html();
        for tag in ["sub", "sup"] {
            prop_assert_eq!(html.matches(&format!("<{tag}>")).count(), html.matches(&format!("</{tag}>")).count());
        }
        let letters = |text: &str| text.chars().filter(char::is_ascii_alphabetic).collect::<String>();
        let bare = ["<sub>", "</sub>", "<sup>", "</sup>"].iter().fold(html.clone(), |text, tag| text.replace(tag, ""));
        prop_assert_eq!(letters(&bare), letters(formula.text()));
        let tex = formula.tex().replace(r"\{", "").replace(r"\}", "");
        let depths = tex.chars().scan(0_i32, |depth, letter| {
            *depth += match letter { '{' => 1, '}' => -1, _ => 0 };
            Some(*depth)
        });
        let depths: Vec<i32> = depths.collect();
        prop_assert!(depths.iter().all(|depth| *depth >= 0) && depths.last() == Some(&0), "{}", tex);
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
        // A label is followed between the sides as written, so not where a species changes its side.
        let vanish = |numbers: &[i64], labels: bool| {
            let numbers: Vec<Ratio<i64>> = numbers.iter().copied().map(Ratio::from_integer).collect();
            let sums = component_sums(&species, &numbers);
            sums.iter().all(|(component, sum)| sum.is_zero() || !labels && matches!(component, Component::Isotope(_)))
        };
        let sums_vanish = |numbers: &[i64]| vanish(numbers, false);
        match equation.balance() {
            Balance::One(numbers) => {
                prop_assert!(vanish(&numbers, true));
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
                let freedom = equation.freedom().unwrap();
                prop_assert_eq!((freedom.independent, freedom.deciding.len()), (basis.len(), basis.len()));
                prop_assert!(freedom.extremes.iter().all(|numbers| sums_vanish(numbers)));
            }
            Balance::None { unclosed } => {
                prop_assert!(!unclosed.is_empty());
                for closure in equation.closures() {
                    prop_assert!(Reaction::new(&closure.balanced).is_ok(), "{}", closure);
                    let terms = equation.terms().count() + closure.left.len() + closure.right.len();
                    prop_assert_eq!(closure.balanced.terms().count(), terms, "{}", closure);
                }
            }
            Balance::OutOfRange => prop_assert!(false, "out of range"),
        }
    }

    /// The balance does not hang on the order in which species are written, nor on coefficients already there.
    #[test]
    fn a_balance_does_not_hang_on_order_or_scale(
        left in prop::collection::vec(bench_species(), 1..5),
        right in prop::collection::vec(bench_species(), 1..5),
        turn in 0_usize..5,
        scale in 1_i64..50,
    ) {
        let sides = |left: &[&str], right: &[&str]| {
            Equation::parse(&format!("{} -> {}", left.join(" + "), right.join(" + "))).unwrap()
        };
        let turned = |side: &[&'static str]| {
            let mut side = side.to_vec();
            let places = turn % side.len();
            side.rotate_left(places);
            side.reverse();
            side
        };
        let named = |equation: &Equation| {
            let balance = equation.balance();
            let terms = balance.coefficients().and_then(|numbers| equation.named(numbers));
            let terms = terms.map(|terms| terms.into_iter().collect::<std::collections::BTreeMap<_, _>>());
            (balance.solutions(), terms)
        };
        let (equation, other) = (sides(&left, &right), sides(&turned(&left), &turned(&right)));
        prop_assert_eq!(named(&equation), named(&other));
        if let Balance::One(numbers) = equation.balance() {
            let times = numbers.iter().map(|number| number * scale).collect::<Vec<_>>();
            let scaled = equation.with_coefficients(&times).unwrap();
            prop_assert_eq!(scaled.balance(), Balance::One(numbers));
            prop_assert!(left == right || Reaction::new(&scaled).is_ok());
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

    /// Every form of a quantity, in every spelling: what is printed reads as the same, and prints as the same.
    #[test]
    fn every_form_of_a_quantity_round_trips(
        (digits, more, places) in (0_u32..9_999_999, 1_u32..9_999_999, 0_i32..6),
        (form, exponent) in (0_usize..12, prop::option::of(-6_i32..6)),
        (comma, space) in (any::<bool>(), prop::sample::select(vec!["", " ", "\u{a0}"])),
        unit in prop::sample::select(vec!["", "g", "kg", "mL", "%", "mol/kg", "g/100 mL", "m^-3"]),
    ) {
        let written = |digits: u32| {
            let exponent = exponent.map(|power| format!("e{power}")).unwrap_or_default();
            let plain = format!("{:.*}{exponent}", places as usize, f64::from(digits) / 10_f64.powi(places));
            // Three digits behind a comma may be thousands.
            if comma && places != 3 { plain.replace('.', ",") } else { plain }
        };
        let (low, high) = (written(digits), written(digits.saturating_add(more)));
        let text = match form {
            0 => format!("{low}{space}{unit}"),
            1 => format!("-{low}{space}{unit}"),
            2 => format!("{low} ± {high}{space}{unit}"),
            3 => format!("{low}+/-{high}{space}{unit}"),
            4 => format!("{}({}){space}{unit}", low.split('e').next().unwrap_or_default(), more.min(999)),
            5 => format!("{low}..{high}{space}{unit}"),
            6 => format!("{low}–{high}{space}{unit}"),
            7 => format!(">= {low}{space}{unit}"),
            8 => format!("≥{low}{space}{unit}"),
            9 => format!("<{low}{space}{unit}"),
            10 => format!("≤ {low}{space}{unit}"),
            _ => format!("  {low} {unit} "),
        };
        let quantity = Quantity::parse(&text).map_err(|error| TestCaseError::fail(format!("{text}: {error}")))?;
        let printed = quantity.to_string();
        let again = Quantity::parse(&printed).map_err(|error| TestCaseError::fail(format!("{printed}: {error}")))?;
        prop_assert_eq!((again.value, &again.unit), (quantity.value, &quantity.unit), "{} as {}", text, printed);
        prop_assert_eq!(again.to_string(), printed);
    }

    /// Formulas and families of hydrates print in one spelling.
    #[test]
    fn formulas_print_in_one_spelling(text in formula(), low in 0_u32..9, more in 1_u32..9, phase in prop::sample::select(vec!["(s)", "(aq)", " (l)"])) {
        let read = Formula::parse(&text).map_err(|error| TestCaseError::fail(format!("{text}: {error}")))?;
        let printed = read.to_string();
        prop_assert_eq!(Formula::parse(&printed).map(|again| again.to_string()), Ok(printed.clone()));
        prop_assert_eq!(Formula::parse(&printed), Ok(read.clone()));
        if read.charge() == 0 && read.hydrate_water().is_zero() {
            let family = format!("{printed}*nH2O{phase}, n = 0.{low}..{more}");
            let pattern = SpeciesPattern::parse(&family).map_err(|error| TestCaseError::fail(format!("{family}: {error}")))?;
            let shown = pattern.to_string();
            let again = SpeciesPattern::parse(&shown);
            prop_assert_eq!(again.map(|again| again.to_string()), Ok(shown));
            prop_assert_eq!(SpeciesPattern::parse(&pattern.to_string()), Ok(pattern));
        }
    }

    #[test]
    fn units_multiply(factor in 1_u32..1000) {
        let unit = Unit::parse(&format!("g/{factor} mL")).unwrap();
        prop_assert_eq!(unit.dimension, Dimension::MASS - Dimension::VOLUME);
        prop_assert!((unit.factor * f64::from(factor) - 1000.0).abs() < 1e-9);
    }
}
