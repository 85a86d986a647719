//! Does the program do what its commands promise? It is run as a user runs it: exit codes, streams, JSON keys, bad input.

use assert_cmd::Command;
use serde_json::Value;
use std::path::{Path, PathBuf};
use std::process::Output;
use tempfile::TempDir;

/// An invented preparation, small enough to be accounted for in a moment.
const SMALL: &str = r#"# Invented: bluestone in water, one weighing.
title = "Invented solution"
account_for = "Cu"

[[supply]]
name = "bluestone"
label = "copper sulfate pentahydrate, 98 % min"
holds = "CuSO4·5H2O(s)"
assay = "98 .. 100 %"

[[instrument]]
name = "pocket balance"
kind = "balance"
resolution = "0.01 g"

[[step]]
name = "dissolve"
action = "dissolve"
take = { bluestone = "10.00 g", water = "100 g" }
gives = { liquor = "all" }
  [[step.reading]]
  id = "r1"
  weigh = "109.80 g"
  of = "liquor"
  with = "pocket balance"
"#;

fn tarebook(arguments: &[&str], folder: &Path) -> Output {
    Command::new(env!("CARGO_BIN_EXE_tarebook"))
        .args(arguments)
        .current_dir(folder)
        .output()
        .expect("the program starts")
}

fn code(output: &Output) -> i32 {
    let errors = String::from_utf8_lossy(&output.stderr);
    assert!(!errors.contains("panicked"), "{errors}");
    output.status.code().expect("the program ends by itself")
}

fn stdout(output: &Output) -> String {
    String::from_utf8(output.stdout.clone()).expect("the program writes UTF-8")
}

fn stderr(output: &Output) -> String {
    String::from_utf8(output.stderr.clone()).expect("the program writes UTF-8")
}

fn json(output: &Output) -> Value {
    let text = stdout(output);
    serde_json::from_str(&text).unwrap_or_else(|error| panic!("no JSON ({error}): {text}{}", stderr(output)))
}

fn has(value: &Value, keys: &[&str]) {
    for key in keys {
        assert!(value.get(key).is_some(), "no key {key} in {value}");
    }
}

fn folder() -> TempDir {
    tempfile::tempdir().expect("a scratch folder")
}

/// A scratch folder with one file in it.
fn folder_with(name: &str, text: impl AsRef<[u8]>) -> (TempDir, PathBuf) {
    let folder = folder();
    let path = folder.path().join(name);
    std::fs::write(&path, text).expect("a scratch file");
    (folder, path)
}

#[test]
fn without_arguments_it_helps() {
    let output = tarebook(&[], folder().path());
    assert_eq!(code(&output), 0);
    for command in ["demo", "check", "plan", "account", "formula", "reaction"] {
        assert!(stdout(&output).contains(command), "help names {command}");
    }
    assert_eq!(code(&tarebook(&["--help"], folder().path())), 0);
    assert_eq!(code(&tarebook(&["--version"], folder().path())), 0);
}

#[test]
fn misuse_ends_with_two() {
    let output = tarebook(&["account", "--nonsense", "--json"], folder().path());
    assert_eq!(code(&output), 2);
    assert_eq!(json(&output)["findings"][0]["code"], "misuse");
    assert_eq!(code(&tarebook(&["nonsense"], folder().path())), 2);
    assert_eq!(code(&tarebook(&["plan"], folder().path())), 2);
}

#[test]
fn a_missing_file_ends_with_one() {
    for command in ["check", "plan", "account"] {
        let output = tarebook(&[command, "none.toml", "--json"], folder().path());
        assert_eq!(code(&output), 1);
        assert_eq!(json(&output)["findings"][0]["code"], "unreadable-file");
        assert!(stderr(&output).contains("none.toml"));
    }
}

#[test]
fn check_lists_findings() {
    let (folder, _) = folder_with("a.toml", SMALL);
    let output = tarebook(&["check", "a.toml", "--json"], folder.path());
    assert_eq!(code(&output), 0, "{}", stderr(&output));
    assert!(json(&output)["findings"].is_array());
    assert!(stdout(&tarebook(&["check", "a.toml"], folder.path())).starts_with("a.toml: "));
}

#[test]
fn plan_keeps_the_contract() {
    let (folder, _) = folder_with("a.toml", SMALL);
    let output = tarebook(&["plan", "a.toml", "--json"], folder.path());
    assert_eq!(code(&output), 0, "{}", stderr(&output));
    let plan = json(&output);
    has(&plan, &["limiting", "water", "feed", "frozen", "steps", "weigh_out", "findings"]);
    assert_eq!(plan["frozen"], Value::Null);
    has(&plan["steps"][0], &["name", "expects"]);
    has(&plan["steps"][0]["expects"][0]["interval"], &["median", "low", "high", "level", "unit"]);
    assert!(stdout(&tarebook(&["plan", "a.toml"], folder.path())).contains("absence from this list does not show"));
}

#[test]
fn account_keeps_the_contract_live_and_sampled() {
    let (folder, _) = folder_with("a.toml", SMALL);
    for arguments in [&["account", "a.toml", "--json", "--live"][..], &["account", "a.toml", "--json"]] {
        let output = tarebook(arguments, folder.path());
        assert_eq!(code(&output), 0, "{}", stderr(&output));
        let account = json(&output);
        has(&account, &["lots", "streams", "yields", "hypotheses", "findings", "budget", "next_tests"]);
        has(&account["streams"], &["product", "liquor", "residue", "tests", "vented", "lost"]);
        has(&account["lots"][0], &["id", "name", "mass", "elements", "species"]);
        let copper = &account["lots"][0]["elements"]["Cu"]["mass"];
        // 10.00 g of CuSO4·5H2O is 25.45 % copper (IUPAC 2021 atomic weights); label 98 .. 100 %; a film stays behind.
        let (low, high) = (copper["low"].as_f64().unwrap_or(0.0), copper["high"].as_f64().unwrap_or(9.0));
        assert!(low > 2.4 && high < 2.56 && low < high, "{low} .. {high}");
    }
    assert!(
        stdout(&tarebook(&["account", "a.toml", "--live"], folder.path()))
            .contains("absence from this list does not show")
    );
}

/// Two weighings of one solution 0.02 g apart agree; one alone has nothing to be compared with.
#[test]
fn replicates_keep_their_contract() {
    let (folder, _) = folder_with("a.toml", SMALL);
    std::fs::write(folder.path().join("b.toml"), SMALL.replace("109.80 g", "109.82 g")).expect("a second file");
    let output = tarebook(&["replicates", "a.toml", "b.toml", "--live", "--json"], folder.path());
    assert_eq!(code(&output), 0, "{}", stderr(&output));
    let compared = json(&output);
    has(&compared, &["element", "runs", "quantities", "shared", "findings"]);
    has(&compared["quantities"][0], &["name", "runs", "together", "between_runs_percent", "agree", "next_run"]);
    assert_eq!(compared["quantities"][0]["agree"], Value::Bool(true));
    let alone = tarebook(&["replicates", "a.toml", "--json"], folder.path());
    assert_eq!(code(&alone), 1);
    assert_eq!(json(&alone)["findings"][0]["code"], "no-replicates");
    assert!(stdout(&tarebook(&["replicates", "a.toml", "b.toml", "--live"], folder.path())).contains("agree"));
}

#[test]
fn formula_answers_and_points_at_slips() {
    let here = folder();
    let output = tarebook(&["formula", "CuSO4.5H2O", "--json"], here.path());
    assert_eq!(code(&output), 0);
    let answer = json(&output);
    has(&answer, &["formula", "molar_mass", "charge", "elements"]);
    has(&answer["elements"]["Cu"], &["count", "mass_fraction"]);
    // Sum of the abridged IUPAC 2021 atomic weights: 63.546 + 32.06 + 9 × 15.999 + 10 × 1.0080.
    let molar_mass = answer["molar_mass"]["value"].as_f64().unwrap_or(0.0);
    assert!((molar_mass - 249.677).abs() < 1e-6, "{molar_mass}");
    for slip in ["CuSO4·", "Xx2", "H2O)", "", "("] {
        let output = tarebook(&["formula", slip, "--json"], here.path());
        assert_eq!(code(&output), 1, "{slip}");
        let finding = &json(&output)["findings"][0];
        has(finding, &["code", "severity", "message", "line", "column", "hints", "causes"]);
        assert!(stderr(&output).contains("formula:1:"), "{}", stderr(&output));
    }
}

#[test]
fn reaction_balances_or_says_why_not() {
    let here = folder();
    let output = tarebook(&["reaction", "Fe2O3(s) + Al(s) -> Fe(s) + Al2O3(s)", "--json"], here.path());
    assert_eq!(code(&output), 0);
    let answer = json(&output);
    has(&answer, &["equation", "solutions", "coefficients", "basis_reactions", "enthalpy", "log10_k", "gas_volume"]);
    assert_eq!(answer["coefficients"]["Al(s)"].as_f64(), Some(-2.0));
    assert_eq!(answer["coefficients"]["Al2O3(s)"].as_f64(), Some(1.0));
    let several = json(&tarebook(&["reaction", "C + O2 -> CO + CO2", "--json"], here.path()));
    assert_eq!((&several["solutions"], &several["coefficients"]), (&Value::from(2), &Value::Null));
    assert_eq!(code(&tarebook(&["reaction", "H2O", "--json"], here.path())), 1);
}

#[test]
fn equilibria_heated_lots_and_furnaces_answer() {
    let here = folder();
    let output =
        tarebook(&["equilibrium", "CaCO3(s) 1 mol", "--at", "900 °C", "--pressure", "1 atm", "--json"], here.path());
    assert_eq!(code(&output), 0);
    let answer = json(&output);
    has(&answer, &["temperature", "pressure", "species", "gas_amount", "status", "residual"]);
    assert_eq!((&answer["status"], &answer["species"][0]["species"]), (&Value::from("solved"), &Value::from("CaO(s)")));
    assert_eq!(code(&tarebook(&["equilibrium", "KNO3(s)", "C(s)", "--at", "900 °C", "--json"], here.path())), 3);
    assert_eq!(code(&tarebook(&["equilibrium", "CaCO3(s)", "--json"], here.path())), 1);
    let output = tarebook(&["ignite", "CaC2O4·H2O(s)", "--in", "air", "--at", "600 °C", "--json"], here.path());
    assert_eq!(code(&output), 0);
    has(&json(&output), &["stages", "chain", "levels", "may_hold", "points"]);
    let output = tarebook(&["furnace", "CaCO3(s)", "--at", "1000 °C", "--depth", "10 mm", "--json"], here.path());
    assert_eq!(code(&output), 0);
    has(&json(&output), &["done_minutes", "half_depth_minutes", "moments", "assumed"]);
}

/// A slip in the small preparation: what is replaced by what, and the words that the finding must hold: the field,
/// and the remedy.
const SLIPS: [(&str, &str, &str, &str); 11] = [
    ("label =", "colour =", "`colour`", "known here"),
    ("\"10.00 g\"", "\"10.00 gr\"", "`bluestone`", "did you mean `g`"),
    ("\"10.00 g\"", "\"-10.00 g\"", "`bluestone`", "sign"),
    ("\"10.00 g\"", "\"0 g\"", "`bluestone`", "mass"),
    ("\"10.00 g\"", "\"NaN g\"", "`bluestone`", "number"),
    ("98 .. 100 %", "98 .. 120 %", "`assay`", "between 0 and 100 %"),
    ("of = \"liquor\"", "of = \"brine\"", "`brine`", "name a lot"),
    ("CuSO4·5H2O(s)", "CuSO4·", "`holds`", "write the rest"),
    ("CuSO4·5H2O(s)", "Xx2", "`holds`", "did you mean"),
    ("CuSO4·5H2O(s)", "H2O)", "`holds`", "remove it"),
    ("[[instrument]]", "[[instrument]", "", "]"),
];

#[test]
fn every_slip_is_named_with_line_and_remedy() {
    for (right, wrong, field, remedy) in SLIPS {
        let text = SMALL.replacen(right, wrong, 1);
        assert_ne!(text, SMALL, "{right}");
        let line = text.lines().position(|line| line.contains(wrong)).map_or(0, |index| index + 1);
        let told = told_about(&text);
        let here: Vec<&Value> = told.iter().filter(|finding| finding["line"] == line).collect();
        assert!(!here.is_empty(), "{wrong}: no finding in line {line}: {told:?}");
        let words = |finding: &&&Value| {
            let all = format!("{} {}", finding["message"], finding["hints"]);
            all.contains(field) && all.contains(remedy)
        };
        assert!(here.iter().any(|finding| words(&finding)), "{wrong}: {field}, {remedy} not in {here:?}");
    }
}

/// The findings about a text that is no usable preparation.
fn told_about(text: &str) -> Vec<Value> {
    let (folder, _) = folder_with("a.toml", text);
    let mut findings = Vec::new();
    for command in ["check", "plan", "account"] {
        let output = tarebook(&[command, "a.toml", "--json"], folder.path());
        assert_eq!(code(&output), 1, "{command}: {}", stderr(&output));
        findings = json(&output)["findings"].as_array().cloned().unwrap_or_default();
        assert!(!findings.is_empty());
        assert!(stderr(&output).contains("a.toml"), "the file is named for people too");
    }
    findings
}

#[test]
fn a_lot_used_twice_is_named() {
    let more = "[[step]]\nname = \"a\"\naction = \"filter\"\ntake = { liquor = \"all\" }\ngives = { c = \"solids\", d = \"solution\" }\n\
                [[step]]\nname = \"b\"\naction = \"dry\"\ntake = { liquor = \"all\" }\ngives = { e = \"all\" }\n";
    let told = told_about(&format!("{SMALL}{more}"));
    assert!(told.iter().any(|finding| finding["code"] == "lot-used-twice"), "{told:?}");
}

#[test]
fn steps_in_a_ring_are_named() {
    let more = "[[step]]\nname = \"a\"\naction = \"combine\"\ntake = { y = \"all\" }\ngives = { x = \"all\" }\n\
                [[step]]\nname = \"b\"\naction = \"combine\"\ntake = { x = \"all\" }\ngives = { y = \"all\" }\n";
    let told = told_about(&format!("{SMALL}{more}"));
    assert!(told.iter().any(|finding| finding["code"] == "steps-in-a-ring"), "{told:?}");
}

#[test]
fn what_is_no_preparation_is_told_and_never_crashes() {
    let binary: Vec<u8> = (0..4096u32).map(|n| (n.wrapping_mul(2_654_435_761) >> 13) as u8).collect();
    let huge = vec![b'a'; 10 << 20];
    for bytes in [Vec::new(), binary, huge, b"\0".to_vec(), b"\xef\xbb\xbf".to_vec(), b"a = [[[[[[[".to_vec()] {
        let (folder, _) = folder_with("a.toml", &bytes);
        let output = tarebook(&["account", "a.toml", "--json"], folder.path());
        assert_eq!(code(&output), 1, "{}", stderr(&output));
        assert!(json(&output)["findings"].as_array().is_some_and(|findings| !findings.is_empty()));
    }
    let folder = folder();
    assert_eq!(code(&tarebook(&["plan", ".", "--json"], folder.path())), 1, "a folder is no file");
}

#[test]
fn a_plan_is_frozen_once_and_its_changes_are_found() {
    let (folder, path) = folder_with("a.toml", SMALL);
    let first = tarebook(&["plan", "a.toml", "--freeze", "--json"], folder.path());
    assert_eq!(code(&first), 0, "{}", stderr(&first));
    let hash = json(&first)["frozen"].clone();
    assert!(hash.is_string());
    let kept = folder.path().join("a.plan.json");
    let written = std::fs::read_to_string(&kept).unwrap();
    let record: Value = serde_json::from_str(&written).unwrap();
    has(&record, &["hash", "frozen_at", "fields", "plan"]);
    assert_eq!(record["hash"], hash);

    let again = tarebook(&["plan", "a.toml", "--freeze"], folder.path());
    assert_eq!(code(&again), 0);
    assert!(stderr(&again).contains("Already frozen"));

    // A reading is a record and no change of the plan; a charge is the plan.
    std::fs::write(&path, SMALL.replace("109.80 g", "109.81 g")).unwrap();
    assert_eq!(json(&tarebook(&["plan", "a.toml", "--json"], folder.path()))["frozen"], hash);
    assert!(!changed(&json(&tarebook(&["check", "a.toml", "--json"], folder.path()))));
    std::fs::write(&path, SMALL.replace("10.00 g", "11.00 g")).unwrap();
    for arguments in
        [&["check", "a.toml", "--json"][..], &["plan", "a.toml", "--json"], &["account", "a.toml", "--live", "--json"]]
    {
        assert!(changed(&json(&tarebook(arguments, folder.path()))), "{arguments:?}");
    }
    let refused = tarebook(&["plan", "a.toml", "--freeze", "--json"], folder.path());
    assert_eq!(code(&refused), 1);
    assert_eq!(json(&refused)["findings"][0]["code"], "plan-already-frozen");
    assert_eq!(std::fs::read_to_string(&kept).unwrap(), written, "the frozen plan stays as it was");

    std::fs::write(&kept, "{").unwrap();
    assert_eq!(code(&tarebook(&["plan", "a.toml", "--freeze"], folder.path())), 1);
    assert_eq!(std::fs::read_to_string(&kept).unwrap(), "{", "not even a damaged one is overwritten");
}

fn changed(outcome: &Value) -> bool {
    let findings = outcome["findings"].as_array().cloned().unwrap_or_default();
    findings.iter().any(|finding| finding["code"] == "plan-changed")
}

#[cfg(unix)]
#[test]
fn written_files_can_be_read_by_others() {
    use std::os::unix::fs::PermissionsExt as _;
    let (folder, _) = folder_with("a.toml", SMALL);
    assert_eq!(code(&tarebook(&["plan", "a.toml", "--freeze"], folder.path())), 0);
    let mode = std::fs::metadata(folder.path().join("a.plan.json")).unwrap().permissions().mode();
    assert_eq!(mode & 0o444, 0o444, "{mode:o}");
}

#[cfg(unix)]
#[test]
fn a_closed_pipe_is_no_crash() {
    let (folder, _) = folder_with("a.toml", SMALL);
    let mut child = std::process::Command::new(env!("CARGO_BIN_EXE_tarebook"))
        .args(["plan", "a.toml"])
        .current_dir(folder.path())
        .stdout(std::process::Stdio::piped())
        .stderr(std::process::Stdio::piped())
        .spawn()
        .unwrap();
    drop(child.stdout.take());
    let output = child.wait_with_output().unwrap();
    assert!(output.stderr.is_empty(), "{}", String::from_utf8_lossy(&output.stderr));
    assert_eq!(output.status.code(), Some(0));
}

#[test]
fn the_demonstration_writes_its_folder_and_keeps_edits() {
    let here = folder();
    let output = tarebook(&["demo", "--no-serve"], here.path());
    assert_eq!(code(&output), 0, "{}", stderr(&output));
    assert!(stdout(&output).contains("tarebook-demo"));
    let folder = here.path().join("tarebook-demo");
    for name in [
        "bluestone.toml",
        "bluestone-plan.txt",
        "bluestone-plan.json",
        "bluestone-account.txt",
        "epsom-magnesia-account.txt",
    ] {
        assert!(folder.join(name).is_file(), "{name}");
    }
    let account = std::fs::read_to_string(folder.join("bluestone-account.json")).unwrap();
    has(&serde_json::from_str::<Value>(&account).unwrap(), &["lots", "streams", "yields"]);

    std::fs::write(folder.join("bluestone.toml"), SMALL).unwrap();
    let refused = tarebook(&["demo", "--to", "tarebook-demo", "--json"], here.path());
    assert_eq!(code(&refused), 1);
    assert_eq!(json(&refused)["findings"][0]["code"], "folder-in-use");
    assert_eq!(std::fs::read_to_string(folder.join("bluestone.toml")).unwrap(), SMALL);
}

/// A line with its numbers taken out, and the numbers with a mark where they follow a ±.
fn taken_apart(line: &str) -> (String, Vec<(f64, bool)>) {
    let (mut words, mut numbers) = (Vec::new(), Vec::new());
    for word in line.split_whitespace() {
        let bare = word.trim_matches(['(', ')', ',', ':', ';']);
        match bare.parse::<f64>() {
            Ok(number) => {
                numbers.push((number, words.last().is_some_and(|last| *last == "±")));
                words.push("#");
            }
            Err(_) => words.push(word),
        }
    }
    (words.join(" "), numbers)
}

/// Every line that the README quotes is printed by the commands it quotes them from. Figures of the sampler may
/// differ in their last digit from machine to machine: an uncertainty by a tenth, a value by half a percent.
#[test]
fn the_readme_prints_what_the_program_prints() {
    let root = std::path::Path::new(env!("CARGO_MANIFEST_DIR")).join("..");
    let readme = std::fs::read_to_string(root.join("README.md")).expect("README");
    let printed: String = [["account", "bluestone"], ["plan", "bluestone-soda-ash-mistake"]]
        .iter()
        .map(|[command, example]| {
            let output = assert_cmd::Command::cargo_bin("tarebook")
                .expect("binary")
                .arg(command)
                .arg(root.join("examples").join(format!("{example}.toml")))
                .output()
                .expect("runs");
            String::from_utf8(output.stdout).expect("text")
        })
        .collect();
    let printed: Vec<(String, Vec<(f64, bool)>)> = printed.lines().map(taken_apart).collect();
    let quoted: Vec<&str> = readme
        .split("```text\n")
        .skip(1)
        .filter_map(|rest| rest.split("```").next())
        .flat_map(str::lines)
        .filter(|line| !line.trim().is_empty())
        .collect();
    assert!(quoted.len() > 10, "the README quotes only {} lines", quoted.len());
    let near = |a: &(f64, bool), b: &(f64, bool)| (a.0 - b.0).abs() <= a.0.abs() * if a.1 { 0.1 } else { 0.005 };
    for line in quoted {
        let (words, numbers) = taken_apart(line);
        let found = printed
            .iter()
            .any(|(shown, figures)| shown.starts_with(&words) && numbers.iter().zip(figures).all(|(a, b)| near(a, b)));
        assert!(found, "the README quotes a line that is not printed: {line}");
    }
}

/// 220 mg of zinc sulfate holding 50 mg zinc is the heptahydrate: 65.38/287.56 of 220 mg is 50.02 mg. Label as printed on
/// the capsules of that name (public case).
#[test]
fn a_label_is_explained() {
    let output = assert_cmd::Command::cargo_bin("tarebook")
        .expect("binary")
        .args(["label", "zinc sulfate 220 mg = zinc 50 mg", "--json"])
        .output()
        .expect("runs");
    assert!(output.status.success());
    let answer: serde_json::Value = serde_json::from_slice(&output.stdout).expect("JSON");
    let first = &answer["readings"][0];
    assert_eq!(first["substance"], "ZnSO4·7H2O");
    assert_eq!(first["plausible"], true);
    assert!(first["explains_within_percent"].as_f64().is_some_and(|off| off < 0.1), "{first}");
    let fitting = answer["readings"].as_array().expect("readings").iter().filter(|r| r["plausible"] == true).count();
    assert_eq!(fitting, 1);
}

#[test]
fn heat_of_a_reaction_and_what_is_known_of_a_substance() {
    let here = folder();
    let lime = "CaCO3(s) -> CaO(s) + CO2(g)";
    let output = tarebook(&["reaction", lime, "--at", "900 °C", "--gas", "CO2 0.0004 bar", "--json"], here.path());
    assert_eq!(code(&output), 0);
    let answer = json(&output);
    for key in ["enthalpy", "entropy", "gibbs_energy", "log10_k", "heat_per_gram", "gas_volume"] {
        has(&answer[key], &["value", "standard_uncertainty", "unit", "status", "sources"]);
    }
    assert!(answer["gibbs_energy_at_pressures"]["value"].as_f64().is_some_and(|value| value < -50.0));
    assert_eq!(answer["balances_at"][0]["runs_above"], true);
    let table = json(&tarebook(&["reaction", lime, "--from", "500 °C", "--to", "1000 °C", "--json"], here.path()));
    assert!(table["table"].as_array().is_some_and(|rows| rows.len() == 21));
    assert_eq!(code(&tarebook(&["reaction", lime, "--at", "hot", "--json"], here.path())), 1);
    assert_eq!(code(&tarebook(&["reaction", lime, "--from", "500 °C"], here.path())), 2);
    let known = json(&tarebook(&["substance", "CaCO3(s)", "--json"], here.path()));
    has(&known, &["formula", "names", "properties", "hazards", "forms", "remarks"]);
    has(&known["properties"]["enthalpy_of_formation"][0], &["value", "standard_uncertainty", "unit", "sources"]);
    let page = String::from_utf8(tarebook(&["substance", "quartz"], here.path()).stdout).expect("text");
    assert!(page.contains("α-quartz") && page.contains("[2]") && page.contains("safety data sheet"));
    assert_eq!(code(&tarebook(&["substance", "zinc sulfate"], here.path())), 1);
}

#[test]
fn heat_and_gas_of_given_amounts() {
    let here = folder();
    let lime = "CaO(s) + H2O(l) -> Ca(OH)2(s)";
    let found = json(&tarebook(&["heat", lime, "--take", "28 g CaO", "--into", "300 g", "--json"], here.path()));
    let rise = found["batch"]["rise"].as_f64().expect("a rise");
    assert!((rise - 25.0).abs() < 1.0, "{rise}");
    assert_eq!(found["findings"][0]["severity"].as_str().map(|s| !s.is_empty()), Some(true));
    let chalk = "CaCO3(s) + 2 HCl(aq) -> CaCl2(aq) + CO2(g) + H2O(l)";
    let gas = json(&tarebook(&["gas", chalk, "--take", "10 g CaCO3", "--free", "150 mL", "--json"], here.path()));
    assert!((gas["litres"].as_f64().expect("litres") - 2.444).abs() < 0.01);
    assert!(gas["closed"]["bar_above_air"].as_f64().expect("bar") > 10.0);
    let refused =
        tarebook(&["gas", "NaCN(s) + HCl(aq) -> NaCl(aq) + HCN(g)", "--take", "1 g NaCN", "--json"], here.path());
    assert_eq!(code(&refused), 3);
    assert_eq!(json(&refused)["findings"][0]["code"], "out-of-bounds");
    assert_eq!(code(&tarebook(&["heat", lime, "--take", "28 g MgO"], here.path())), 1);
    assert_eq!(code(&tarebook(&["heat", lime], here.path())), 2);
}
