//! Do `solution`, `crystallise` and `wash` keep their promises? Run as a user runs them: exit codes, JSON keys, bad input.

use assert_cmd::Command;
use serde_json::Value;
use std::process::Output;

fn tarebook(arguments: &[&str]) -> Output {
    let output = Command::new(env!("CARGO_BIN_EXE_tarebook")).args(arguments).output().expect("the program starts");
    let errors = String::from_utf8_lossy(&output.stderr);
    assert!(!errors.contains("panicked"), "{errors}");
    output
}

#[track_caller]
fn json(arguments: &[&str]) -> Value {
    let output = tarebook(&[arguments, &["--json"]].concat());
    assert_eq!(output.status.code(), Some(0), "{}", String::from_utf8_lossy(&output.stderr));
    serde_json::from_slice(&output.stdout).expect("the program writes JSON")
}

#[track_caller]
fn number(value: &Value) -> f64 {
    value.as_f64().unwrap_or_else(|| panic!("{value} is no number"))
}

/// The contract: key by key, with the dose of the sulfate example.
#[test]
fn a_solution_has_the_keys_of_the_contract() {
    let answer =
        json(&["solution", "H2SO4 0.50 mol/L", "--ph", "1.0", "--balance", "Na", "--add", "NaOH", "--to-ph", "3.5"]);
    assert!((number(&answer["ph"]) - 3.5).abs() < 1e-6);
    assert!(number(&answer["ionic_strength"]) > 1.0);
    assert_eq!(answer["activity_model"], "pitzer");
    for key in ["species", "molality", "activity_coefficient"] {
        assert!(!answer["species"][0][key].is_null(), "{key}");
    }
    for key in ["solid", "saturation_index", "amount"] {
        assert!(!answer["solids"][0][key].is_null(), "{key}");
    }
    for key in ["value", "standard_uncertainty", "unit", "basis", "status", "sources"] {
        assert!(!answer["dose"][key].is_null(), "{key}");
    }
    assert!((number(&answer["dose"]["value"]) - 17.0).abs() < 2.5 && answer["dose"]["unit"] == "g");
    let plain = json(&["solution", "CuSO4 0.4 mol/kg", "H2SO4 0.05 mol/kg"]);
    assert!(plain["dose"].is_null() && plain["status"] == "solved");
    assert!(number(&plain["residual"]) < 1e-10);
}

#[test]
fn options_reach_the_answer() {
    let open = json(&["solution", "CaCO3 0.01 mol", "--with-gas", "CO2 0.00042 bar"]);
    assert!((number(&open["ph"]) - 8.2).abs() < 0.05, "{}", open["ph"]);
    assert!(number(&open["gases"][0]["taken_up"]) > 0.0);
    let none = json(&["solution", "CuSO4 0.1 mol/kg", "Na2CO3 0.1 mol/kg", "--solids", "none"]);
    assert!(none["solids"].as_array().expect("a list").iter().all(|s| s["amount"] == 0.0 && s["allowed"] == false));
    let some = json(&["solution", "copper sulfate 0.1 mol/kg", "Na2CO3 0.1 mol/kg"]);
    assert!(some["solids"].as_array().expect("a list").iter().any(|s| number(&s["amount"]) > 0.0));
    let hot = json(&["solution", "H2O 1 mol", "--at", "60 °C"]);
    assert!((number(&hot["ph"]) - 6.51).abs() < 0.05, "{}", hot["ph"]);
}

#[test]
fn crystals_and_washings_have_figures() {
    let crystals = json(&["crystallise", "CuSO4·5H2O", "--from", "80 °C", "--to", "20 °C"]);
    assert!((number(&crystals["crystals"]["mean"]) - 60.8).abs() < 0.1);
    assert!((number(&crystals["difference_of_solubilities"]) - 34.3).abs() < 0.1);
    let washed =
        json(&["wash", "--held", "60 mL", "--liquor", "55.7 g/L", "--washes", "4 x 100 mL", "--product", "44 g"]);
    assert!((number(&washed["washes"][3]["milligrams"]) - 66.0).abs() < 0.5);
    assert!((number(&washed["in_one"]["milligrams"]) - 436.0).abs() < 0.5);
    assert!((number(&washed["washes"][3]["percent_of_product"]) - 0.15).abs() < 0.005);
    let found = json(&["wash", "--washes", "4 x 100 mL", "--reading", "12.0", "--reading", "4.5", "--reading", "1.69"]);
    assert!((number(&found["held_liquor"]["mean"]) - 60.0).abs() < 1.0);
}

#[test]
fn bad_input_is_told_and_ends_with_one() {
    let cases: [&[&str]; 8] = [
        &["solution", "NaCl"],
        &["solution", "XeF2 1 mol/kg"],
        &["solution", "NaCl 1 mol/kg", "--at", "400 °C"],
        &["solution", "NaCl 1 mol/kg", "--add", "NaOH", "--to-ph", "2"],
        &["solution", "NaCl 1e300 mol/kg"],
        &["crystallise", "NoSuchSalt", "--from", "80 °C", "--to", "20 °C"],
        &["crystallise", "CuSO4", "--from", "180 °C", "--to", "20 °C"],
        &["wash", "--held", "0 mL", "--washes", "4 x 100 mL"],
    ];
    for arguments in cases {
        let output = tarebook(arguments);
        assert_eq!(output.status.code(), Some(1), "{arguments:?}");
        let told = String::from_utf8_lossy(&output.stderr);
        assert!(told.contains("error["), "{arguments:?}: {told}");
    }
}

/// Oxidation states in balance: potential and shares are told, and a slip names the field and what would be right.
#[test]
fn couples_in_balance_have_their_keys() {
    let put = ["solution", "FeCl2 0.01 mol/kg", "FeCl3 0.01 mol/kg", "HCl 0.1 mol/kg", "--redox", "Fe, Cl"];
    let alone = tarebook(&[&put[..], &["--couples", "equilibrated"]].concat());
    assert_eq!(alone.status.code(), Some(1));
    let errors = String::from_utf8_lossy(&alone.stderr).into_owned();
    assert!(errors.contains("Cl ") && errors.contains("name an element"), "{errors}");
    let answer = json(&[&put[..4], &["--redox", "Fe", "--couples", "equilibrated"]].concat());
    let couples = &answer["couples"];
    let potential = number(&couples["potential"]);
    assert!((0.7..0.78).contains(&potential), "{potential}");
    assert!((0.004..0.05).contains(&number(&couples["potential_standard_uncertainty"])), "{couples}");
    assert_eq!(couples["potential_stated"], false);
    let whole: f64 = couples["states"].as_array().expect("states").iter().map(|state| number(&state["share"])).sum();
    assert!((whole - 1.0).abs() < 1e-9, "{whole}");
    assert_eq!(answer["potential_ph"][0]["element"], "Fe");
    let held = json(&[&put[..4], &["--redox", "Fe", "--couples", "held"]].concat());
    assert!(held["couples"].is_null());
}
