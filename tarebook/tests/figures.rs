//! Does each command that draws write its figure, and say so where there is none?

use std::path::Path;

fn tarebook(folder: &Path, arguments: &[&str]) -> std::process::Output {
    let mut command = assert_cmd::Command::new(env!("CARGO_BIN_EXE_tarebook"));
    command.args(arguments).current_dir(folder).output().expect("the program starts")
}

#[test]
fn each_command_draws_what_was_asked() {
    let folder = tempfile::tempdir().expect("a folder");
    let cases: [(&[&str], &str); 11] = [
        (&["reaction", "CaCO3(s) -> CaO(s) + CO2(g)"], "Gibbs energy of CaCO3(s) -&gt; CaO(s) + CO2(g)"),
        (&["reaction", "2 Zn + O2 -> 2 ZnO", "--pairs"], "15 reactions"),
        (&["ignite", "CaC2O4·H2O(s) 10 g"], "What is stable on heating in air"),
        (&["ignite", "CaC2O4·H2O(s) 10 g", "--at", "700 °C", "--found", "6.84 g", "--show", "levels"], "found 68.40 %"),
        (&["equilibrium", "CaCO3(s) 1 mol", "--sweep", "600 .. 1000 °C"], "What is there over temperature"),
        (&["furnace", "CaCO3(s)", "--at", "1000 °C", "--depth", "20 mm"], "the middle over time"),
        (&["solution", "CuSO4 0.1 mol/kg", "--add", "NaOH", "--to-ph", "5.5"], "pH while NaOH is added"),
        (&["solution", "CuSO4 0.1 mol/kg", "--windows", "--show", "dissolved"], "What stays dissolved over pH"),
        (&["solution", "CuSO4 0.1 mol/kg", "--redox", "Cu", "--show", "potential"], "Cu over pH and potential"),
        (&["crystallise", "CuSO4·5H2O", "--from", "80 °C", "--to", "20 °C"], "Solubility of CuSO4"),
        (&["wash", "--held", "60 mL", "--washes", "4 x 100 mL"], "What washing leaves"),
    ];
    for (number, (arguments, told)) in cases.into_iter().enumerate() {
        let file = format!("{number}.svg");
        let output = tarebook(folder.path(), &[arguments, &["--figure", &file]].concat());
        assert_eq!(output.status.code(), Some(0), "{arguments:?}: {}", String::from_utf8_lossy(&output.stderr));
        let svg = std::fs::read_to_string(folder.path().join(file)).expect("the figure");
        assert!(svg.starts_with("<svg xmlns=") && svg.trim_end().ends_with("</svg>"), "{arguments:?}");
        assert!(svg.contains(told), "{arguments:?}: {told}");
    }
}

#[test]
fn what_has_no_figure_says_so() {
    let folder = tempfile::tempdir().expect("a folder");
    let cases: [&[&str]; 3] = [
        &["solution", "NaCl 0.1 mol/kg", "--figure", "none.svg"],
        &["equilibrium", "CaCO3(s) 1 mol", "--at", "900 °C", "--figure", "none.svg"],
        &["ignite", "CaCO3(s) 1 mol", "--show", "potential", "--figure", "none.svg"],
    ];
    for arguments in cases {
        let output = tarebook(folder.path(), arguments);
        assert_eq!(output.status.code(), Some(1), "{arguments:?}");
        assert!(String::from_utf8_lossy(&output.stderr).contains("no-figure"), "{arguments:?}");
        assert!(!folder.path().join("none.svg").exists());
    }
}
