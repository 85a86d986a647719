//! Does the program write preparation files well, and its own manual? It is run as a user runs it.

use assert_cmd::Command;
use serde_json::Value;
use std::path::Path;
use std::process::Output;
use tempfile::TempDir;

fn run(arguments: &[&str], folder: &Path, typed: &str) -> Output {
    Command::new(env!("CARGO_BIN_EXE_tarebook"))
        .args(arguments)
        .current_dir(folder)
        .write_stdin(typed)
        .output()
        .expect("the program starts")
}

fn code(output: &Output) -> i32 {
    assert!(!stderr(output).contains("panicked"), "{}", stderr(output));
    output.status.code().expect("the program ends by itself")
}

fn stdout(output: &Output) -> String {
    String::from_utf8_lossy(&output.stdout).into_owned()
}

fn stderr(output: &Output) -> String {
    String::from_utf8_lossy(&output.stderr).into_owned()
}

fn first_code(output: &Output) -> String {
    let told: Value = serde_json::from_str(&stdout(output)).unwrap_or_else(|e| panic!("{e}: {}", stdout(output)));
    told["findings"][0]["code"].as_str().unwrap_or_default().to_owned()
}

fn folder() -> TempDir {
    tempfile::tempdir().expect("a scratch folder")
}

fn text_of(folder: &TempDir, name: &str) -> String {
    std::fs::read_to_string(folder.path().join(name)).expect("the file is there")
}

/// The file has no errors, is tidy, and can be planned and accounted for.
fn is_good(folder: &TempDir, name: &str) {
    let before = text_of(folder, name);
    for arguments in [&["check", name, "--tidy"][..], &["plan", name], &["account", name, "--live"]] {
        let output = run(arguments, folder.path(), "");
        assert_eq!(code(&output), 0, "{arguments:?}: {}", stderr(&output));
    }
    assert_eq!(text_of(folder, name), before, "it was tidy");
}

#[test]
fn a_file_from_nothing() {
    let here = folder();
    let output = run(&["new"], here.path(), "");
    assert_eq!(code(&output), 0, "{}", stderr(&output));
    assert!(stdout(&output).starts_with("preparation.toml written."), "{}", stdout(&output));
    is_good(&here, "preparation.toml");
    let before = text_of(&here, "preparation.toml");
    let again = run(&["new", "--title", "B", "--json"], here.path(), "");
    assert_eq!((code(&again), first_code(&again).as_str()), (1, "file-in-use"));
    assert_eq!(text_of(&here, "preparation.toml"), before, "it was kept");
}

#[test]
fn a_file_from_options() {
    let here = folder();
    let arguments = [
        "new",
        "zinc.toml",
        "--title",
        "Zinc white",
        "--target",
        "ZnO(s)",
        "--amount",
        "20 g",
        "--element",
        "Zn",
        "--supply",
        "vitriol, ZnSO4.7H2O(s) or ZnSO4·H2O(s), >= 98,5 %",
        "--supply",
        "soda, Na2CO3(s)",
        "--balance",
        "0,1 g",
    ];
    let output = run(&arguments, here.path(), "");
    assert_eq!(code(&output), 0, "{}", stderr(&output));
    is_good(&here, "zinc.toml");
    let text = text_of(&here, "zinc.toml");
    for stated in [
        "title       = \"Zinc white\"",
        "target      = { substance = \"ZnO(s)\", amount = \"20 g\" }",
        "account_for = \"Zn\"",
        "holds = [\"ZnSO4·7H2O(s)\", \"ZnSO4·H2O(s)\"]",
        "assay = \">= 98.5 %\"",
        "name  = \"soda\"",
        "resolution = \"0.1 g\"",
        "take   = { vitriol = \"10.0 g\", water = \"100 g\" }",
    ] {
        assert!(text.contains(stated), "no {stated} in\n{text}");
    }
}

#[test]
fn wrong_options_write_nothing() {
    let here = folder();
    for (arguments, expected) in [
        (&["--supply", "salt, Xx(s)"][..], "bad-formula"),
        (&["--supply", "salt"], "bad-supply"),
        (&["--supply", "salt, NaCl(s)", "--element", "Cu"], "element-not-supplied"),
        (&["--balance", "fine"], "bad-quantity"),
        (&["--target", "CuO"], "missing-phase"),
        (&["--ask"], "answers-ended"),
    ] {
        let output = run(&[&["new", "a.toml", "--json"], arguments].concat(), here.path(), "");
        assert_eq!((code(&output), first_code(&output).as_str()), (1, expected), "{}", stderr(&output));
        assert!(!here.path().join("a.toml").exists(), "{arguments:?} wrote a file");
    }
    assert_eq!(code(&run(&["new", "a.toml", "--amount", "5 g"], here.path(), "")), 2, "an amount of what?");
    let nowhere = run(&["new", "none/a.toml", "--json"], here.path(), "");
    assert_eq!((code(&nowhere), first_code(&nowhere).as_str()), (2, "write-failed"));
}

/// Wrong answers are told and asked for again; what a label allows in one way only is proposed.
#[test]
fn a_file_by_question_and_answer() {
    let here = folder();
    let answers = [
        "Zinc white",
        "vitriol",
        "zinc sulfate 220 mg = zinc 50 mg",
        "Xx",
        "",
        "120 %",
        ">= 98 %",
        "soda",
        "",
        "Na2CO3·10H2O(s) or Na2CO3.H2O(s)",
        "",
        "",
        "ZnO",
        "ZnO(s)",
        "twenty",
        "20 g",
        "Cu",
        "",
        "0.1",
        "",
    ];
    let output = run(&["new", "--ask"], here.path(), &(answers.join("\n") + "\n"));
    assert_eq!(code(&output), 0, "{}", stderr(&output));
    is_good(&here, "preparation.toml");
    let text = text_of(&here, "preparation.toml");
    for stated in [
        "title       = \"Zinc white\"",
        "target      = { substance = \"ZnO(s)\", amount = \"20 g\" }",
        "account_for = \"Zn\"",
        "label = \"zinc sulfate 220 mg = zinc 50 mg\"",
        "holds = \"ZnSO4·7H2O(s)\"",
        "assay = \">= 98 %\"",
        "holds = [\"Na2CO3·10H2O(s)\", \"Na2CO3·H2O(s)\"]",
        "resolution = \"0.01 g\"",
    ] {
        assert!(text.contains(stated), "no {stated} in\n{text}");
    }
    let told = stderr(&output);
    for word in ["did you mean", "100 %", "phase", "Which element is to be accounted for? [Zn]", "no supply holds it"] {
        assert!(told.contains(word), "no {word} in\n{told}");
    }
    // The file name may come with options, and only the rest is asked for.
    let output = run(&["new", "b.toml", "--ask", "--title", "B", "--supply", "salt, NaCl(s)"], here.path(), "\n\n\n");
    assert_eq!(code(&output), 0, "{}", stderr(&output));
    assert!(text_of(&here, "b.toml").contains("account_for = \"Na\"") && !stderr(&output).contains("called"));
}

const UNTIDY: &str = "title='A' # mine\r\naccount_for = ['Cu']\n[[step]]\nname='a'\naction='Dissolve'\n\
    take={blue='10,0+/-0,2g',water='50mL'}\ngives={liquor='all'}\n# on the shelf\n[[supply]]\nname='blue'\nholds='CuSO4*5H2O (s)' # bag\n";

#[test]
fn a_file_is_laid_out_in_place() {
    let here = folder();
    let path = here.path().join("a.toml");
    std::fs::write(&path, UNTIDY).expect("a scratch file");
    #[cfg(unix)]
    {
        use std::os::unix::fs::PermissionsExt as _;
        std::fs::set_permissions(&path, std::fs::Permissions::from_mode(0o600)).expect("mode");
        std::os::unix::fs::symlink(&path, here.path().join("link.toml")).expect("a link");
    }
    let name = if cfg!(unix) { "link.toml" } else { "a.toml" };
    let hash = || {
        let plan: Value =
            serde_json::from_str(&stdout(&run(&["plan", "a.toml", "--json", "--freeze"], here.path(), "")))
                .expect("JSON");
        plan["frozen"].clone()
    };
    let frozen = hash();
    let output = run(&["check", name, "--tidy", "--json"], here.path(), "");
    assert_eq!(code(&output), 0, "{}", stderr(&output));
    let expected = "title       = \"A\"   # mine\naccount_for = [\"Cu\"]\n\n# on the shelf\n[[supply]]\nname  = \"blue\"\nholds = \"CuSO4·5H2O(s)\"   # bag\n\n\
        [[step]]\nname   = \"a\"\naction = \"dissolve\"\ntake   = { blue = \"10.0 ± 0.2 g\", water = \"50 mL\" }\ngives  = { liquor = \"all\" }\n";
    assert_eq!(text_of(&here, "a.toml"), expected);
    assert_eq!(hash(), frozen, "the layout is no part of the plan");
    #[cfg(unix)]
    {
        use std::os::unix::fs::PermissionsExt as _;
        assert_eq!(std::fs::metadata(&path).expect("there").permissions().mode() & 0o777, 0o600);
        assert!(std::fs::symlink_metadata(here.path().join(name)).expect("there").is_symlink());
    }
    let before = std::fs::metadata(&path).and_then(|m| m.modified()).expect("a time");
    assert_eq!(code(&run(&["check", "a.toml", "--tidy"], here.path(), "")), 0);
    assert_eq!(std::fs::metadata(&path).and_then(|m| m.modified()).expect("a time"), before, "nothing was written");
    let leftovers: Vec<_> =
        std::fs::read_dir(here.path()).expect("the folder").flatten().map(|e| e.file_name()).collect();
    assert!(leftovers.len() <= 3, "{leftovers:?}");
}

#[test]
fn a_file_with_errors_is_not_laid_out() {
    let here = folder();
    let path = here.path().join("a.toml");
    for text in [UNTIDY.replace("Dissolve", "Disolve"), "title = [".to_owned(), String::new()] {
        std::fs::write(&path, &text).expect("a scratch file");
        assert_eq!(code(&run(&["check", "a.toml", "--tidy"], here.path(), "")), 1);
        assert_eq!(text_of(&here, "a.toml"), text);
    }
    assert_eq!(code(&run(&["check", "none.toml", "--tidy"], here.path(), "")), 1);
    assert!(!here.path().join("none.toml").exists());
}

#[test]
fn all_fields_are_told() {
    let here = folder();
    let page = stdout(&run(&["fields"], here.path(), ""));
    for field in prep::fields::TABLES.iter().flat_map(|table| table.fields) {
        assert!(page.contains(field.key), "no {} in\n{page}", field.key);
    }
    let schema: Value = serde_json::from_str(&stdout(&run(&["fields", "--json"], here.path(), ""))).expect("JSON");
    assert_eq!(schema["$schema"], "https://json-schema.org/draft/2020-12/schema");
    let shipped = Path::new(env!("CARGO_MANIFEST_DIR")).join("../data/preparation.schema.json");
    let shipped: Value = serde_json::from_str(&std::fs::read_to_string(shipped).expect("shipped")).expect("JSON");
    assert_eq!(schema, shipped);
}

/// The commands as the help lists them.
fn commands(folder: &Path) -> Vec<String> {
    let help = stdout(&run(&["--help"], folder, ""));
    let list = help.split("Commands:").nth(1).and_then(|rest| rest.split("Options:").next()).expect("a list");
    let indented = list.lines().filter(|line| line.starts_with("  ") && !line.starts_with("   "));
    indented
        .filter_map(|line| line.split_whitespace().next())
        .filter(|word| *word != "help")
        .map(str::to_owned)
        .collect()
}

#[test]
fn manual_and_completions_name_every_command() {
    let here = folder();
    let output = run(&["manual", "--to", "m", "--json"], here.path(), "");
    assert_eq!(code(&output), 0, "{}", stderr(&output));
    let told: Value = serde_json::from_str(&stdout(&output)).expect("JSON");
    let files: Vec<&str> = told["files"].as_array().expect("a list").iter().filter_map(Value::as_str).collect();
    for file in &files {
        assert!(!text_of(&here, &format!("m/{file}")).is_empty(), "{file}");
    }
    let commands = commands(here.path());
    assert!(commands.len() >= 10 && commands.iter().any(|c| c == "new"), "{commands:?}");
    let page = text_of(&here, "m/man/tarebook.1");
    for command in &commands {
        assert!(page.contains(&format!("tarebook\\-{command}(1)")), "{command} in\n{page}");
        assert!(files.contains(&format!("man/tarebook-{command}.1").as_str()), "{command} has a page");
        let completions = files.iter().filter(|file| file.starts_with("completions/"));
        for file in completions {
            assert!(text_of(&here, &format!("m/{file}")).contains(command.as_str()), "{command} in {file}");
        }
    }
    assert!(text_of(&here, "m/man/tarebook-check.1").contains("tidy"));
    for shell in ["tarebook.bash", "_tarebook", "tarebook.fish", "_tarebook.ps1", "tarebook.elv"] {
        assert!(files.contains(&format!("completions/{shell}").as_str()), "{files:?}");
    }
    assert_eq!(code(&run(&["manual", "--to", "m"], here.path(), "")), 0, "written anew");
    assert_eq!(code(&run(&["manual"], here.path(), "")), 2, "where to?");
}
