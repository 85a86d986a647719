//! Do single questions and readings still print the pages that were read and kept? `UPDATE_GOLDEN=1` writes them anew.
//!
//! What the pages say is held to figures from outside in the tests of `prep` and `engine`.

mod kept;

use std::path::Path;

fn printed(arguments: &[&str]) -> String {
    let root = Path::new(env!("CARGO_MANIFEST_DIR")).join("..");
    let output = assert_cmd::Command::new(env!("CARGO_BIN_EXE_tarebook"))
        .args(arguments)
        .current_dir(root)
        .output()
        .expect("the program starts");
    assert!(output.status.success(), "{}", String::from_utf8_lossy(&output.stderr));
    String::from_utf8(output.stdout).expect("the program writes UTF-8")
}

fn is_kept(name: &str, arguments: &[&str]) {
    kept::is_kept(name, &printed(arguments));
}

/// The series of the geometric extrapolation, on its way; with a rise at the end; with the hydrates it passes.
#[test]
fn series_of_weighings() {
    let series = ["48.62 g", "46.10 g", "45.02 g", "44.55 g", "44.35 g"];
    is_kept("dry-not-yet", &[&["dry"], &series[..]].concat());
    is_kept("dry-rise", &[&["dry"], &series[..], &["44.60 g"]].concat());
    let epsom = [
        "0 h 24.647 g",
        "0.5 h 18.228 g",
        "1 h 15.621 g",
        "1.5 h 14.562 g",
        "2 h 14.132 g",
        "3 h 13.887 g",
        "4 h 13.846 g",
        "5 h 13.839 g",
    ];
    is_kept("dry-hydrate", &[&["dry", "--of", "MgSO4·7H2O", "--scatter", "0.002 g"], &epsom[..]].concat());
}

/// A titrant standardised against potassium hydrogen phthalate, and copper by thiosulfate: 25.00 mL of 0.1000 mol/L are
/// 2.500 mmol, 158.9 mg of copper.
#[test]
fn titrations() {
    let standard = [
        "titrate",
        "24.48 mL",
        "24.52 mL",
        "24.50 mL",
        "--standard",
        "KHC8H4O4",
        "--weighed",
        "0.5002 g",
        "--burette",
        "25 mL",
    ];
    is_kept("titrate-standard", &standard);
    let copper = [
        "titrate",
        "25.00 mL",
        "25.04 mL",
        "24.98 mL",
        "--titrant",
        "0.1000 ± 0.0002 mol/L",
        "--of",
        "Cu",
        "--ratio",
        "1:1",
        "--weighed",
        "0.2858 g",
        "--blank",
        "0.02 mL",
    ];
    is_kept("titrate-content", &copper);
}

/// Weighed until constant, with a slip that was corrected.
#[test]
fn a_series_and_a_correction_in_an_account() {
    is_kept("epsom-dried-account", &["account", "--live", "examples/epsom-dried.toml"]);
    is_kept("epsom-dried-check", &["check", "examples/epsom-dried.toml"]);
}

/// Quicklime slaked, a dry mix as safety information, carbon dioxide of chalk in a bottle, and a tube swept too briefly.
#[test]
fn heats_and_gases() {
    let lime = "CaO(s) + H2O(l) -> Ca(OH)2(s)";
    is_kept("heat-lime", &["heat", lime, "--take", "28 g CaO", "--into", "300 g", "--cooling", "50 W"]);
    let iron = "Fe2O3(s) + 2 Al(s) -> Al2O3(s) + 2 Fe(s)";
    is_kept("heat-dry", &["heat", iron, "--take", "16 g Fe2O3", "--take", "5.4 g Al"]);
    let chalk = "CaCO3(s) + 2 HCl(aq) -> CaCl2(aq) + CO2(g) + H2O(l)";
    let bottle =
        ["--take", "10 g CaCO3", "--over", "10 min", "--room", "30 m3", "--free", "150 mL", "--liquid", "100 mL"];
    is_kept("gas-chalk", &[&["gas", chalk][..], &bottle[..]].concat());
    is_kept("gas-tube", &["gas", "--tube", "0.3 L", "--flow", "0.1 L/min", "--swept", "6 min"]);
}
