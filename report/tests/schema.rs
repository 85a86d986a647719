//! Does the schema say what the reader says?
//!
//! Every file that the reader accepts is valid; slips in keys, kinds, words and figures are not. The schema is judged by
//! a validator of JSON Schema that knows nothing of this project. The shipped file is the one that is made here.

use jsonschema::Validator;
use serde_json::{Map, Value, json};
use std::path::{Path, PathBuf};
use toml_edit::{DocumentMut, Item};

fn root() -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR")).join("..")
}

fn validator() -> Validator {
    let schema = report::schema::preparation();
    jsonschema::draft202012::meta::validate(&schema).unwrap_or_else(|error| panic!("no schema: {error}"));
    jsonschema::draft202012::new(&schema).expect("a schema")
}

/// A TOML file as JSON; dates become text, as editors have it.
fn as_json(text: &str) -> Value {
    let document: DocumentMut = text.parse().unwrap_or_else(|error| panic!("{error}\n{text}"));
    item(document.as_item())
}

fn item(toml: &Item) -> Value {
    match toml {
        Item::None => Value::Null,
        Item::Value(value) => self::value(value),
        Item::Table(table) => Value::Object(table.iter().map(|(key, inner)| (key.to_owned(), item(inner))).collect()),
        Item::ArrayOfTables(tables) => tables.iter().map(|table| item(&Item::Table(table.clone()))).collect(),
    }
}

fn value(toml: &toml_edit::Value) -> Value {
    use toml_edit::Value as Toml;
    match toml {
        Toml::String(text) => json!(text.value()),
        Toml::Integer(number) => json!(number.value()),
        Toml::Float(number) => json!(number.value()),
        Toml::Boolean(truth) => json!(truth.value()),
        Toml::Datetime(at) => json!(at.value().to_string()),
        Toml::Array(array) => array.iter().map(value).collect(),
        Toml::InlineTable(table) => {
            let entries: Map<String, Value> = table.iter().map(|(key, inner)| (key.to_owned(), value(inner))).collect();
            Value::Object(entries)
        }
    }
}

fn toml_files(folder: &str) -> Vec<(String, String)> {
    let mut files: Vec<(String, String)> = std::fs::read_dir(root().join(folder))
        .expect("a folder")
        .flatten()
        .map(|entry| entry.path())
        .filter(|path| path.extension().is_some_and(|ending| ending == "toml"))
        .map(|path| (path.display().to_string(), std::fs::read_to_string(&path).expect("text")))
        .collect();
    files.sort();
    files
}

#[test]
fn files_that_can_be_read_are_valid() {
    let validator = validator();
    let files = ["examples", "prep/tests/suite", "prep/tests/files"].into_iter().flat_map(toml_files);
    let mut judged = 0;
    for (name, text) in files.filter(|(_, text)| prep::read(text.as_bytes()).preparation.is_some()) {
        let problems: Vec<String> =
            validator.iter_errors(&as_json(&text)).map(|error| format!("{}: {error}", error.instance_path())).collect();
        assert!(problems.is_empty(), "{name}\n  {}", problems.join("\n  "));
        judged += 1;
    }
    assert!(judged > 15, "{judged} files were judged");
}

#[test]
fn a_new_file_is_valid() {
    let text = prep::skeleton::Draft::default().text();
    assert!(validator().is_valid(&as_json(&text)), "{text}");
    // With every remark taken for a field, each kind of value is seen. What must not stand together is left out.
    let unremarked: String = text
        .lines()
        .skip(2)
        .map(|line| line.trim_start())
        .map(|line| line.strip_prefix("# ").filter(|rest| rest.contains(" = ")).unwrap_or(line))
        .filter(|line| !["strength", "content ", "from"].iter().any(|key| line.starts_with(key)))
        .map(|line| format!("{line}\n"))
        .collect();
    let validator = validator();
    let fields = as_json(&unremarked);
    let problems: Vec<String> = validator.iter_errors(&fields).map(|error| error.to_string()).collect();
    assert!(problems.is_empty(), "{problems:?}\n{unremarked}");
    assert!(fields["step"][0].as_object().is_some_and(|step| step.len() > 20));
}

/// Slips that an editor can see: what is replaced in the first example by what.
const SLIPS: [(&str, &str); 22] = [
    ("title =", "titel ="),
    ("title = \"Copper from garden bluestone\"", "title = 7"),
    ("title = \"Copper from garden bluestone\"", "title = \" \""),
    ("account_for = \"Cu\"", "account_for = \"copper\""),
    ("substance = \"CuO(s)\"", "substance = \"CuO\""),
    ("amount = \"25 g\"", "amount = 25"),
    ("holds = \"CuSO4·5H2O(s)\"", "holds = \"CuSO4·5H2O\""),
    ("holds = \"CuSO4·5H2O(s)\"", "held = \"CuSO4·5H2O(s)\""),
    ("assay = \">= 98 %\"", "assay = \"about 98 %\""),
    ("assay = \">= 98 %\"", "assay = \">= 98 %\"\nstrength = \"98 % w/w\""),
    ("kind = \"balance\"", "kind = \"scale\""),
    ("resolution = \"0.01 g\"", "resolution = 0.01"),
    ("action = \"dissolve\"", "action = \"disolve\""),
    ("bluestone = \"100.0 g\"", "bluestone = 100.0"),
    ("bluestone = \"100.0 g\"", "bluestone = \"some\""),
    ("gives = { \"blue liquor\" = \"all\" }", "gives = { \"blue liquor\" = \"most\" }"),
    ("gives = { \"blue liquor\" = \"all\" }", ""),
    ("wash = \"2 x 20 g\"", "wash = \"twice\""),
    ("atmosphere = \"air\"", "atmosphere = \"oxygen\""),
    ("reaction = [\"2 CuSO4", "reaction = [7, \"2 CuSO4"),
    ("with = \"pocket balance\"", "using = \"pocket balance\""),
    ("trace = { \"Na2SO4(s)\" = \"<= 2 %\" }", "trace = { \"Na2SO4(s)\" = \"2 %\" }"),
];

#[test]
fn slips_are_not_valid_and_the_reader_agrees() {
    let validator = validator();
    let text = std::fs::read_to_string(root().join("examples/bluestone.toml")).expect("the example");
    // How far keys are aligned is no matter here.
    let text: String = text.lines().map(|line| line.split_whitespace().collect::<Vec<_>>().join(" ") + "\n").collect();
    for (right, wrong) in SLIPS {
        let broken = text.replacen(right, wrong, 1);
        assert_ne!(broken, text, "{right}");
        assert!(!validator.is_valid(&as_json(&broken)), "valid with {wrong}");
        assert!(prep::read(broken.as_bytes()).preparation.is_none(), "the reader accepts {wrong}");
    }
}

/// Files of the suite that the reader refuses for what a schema can know.
#[test]
fn refused_files_of_the_suite_are_not_valid() {
    let validator = validator();
    let seen = ["unknown-key", "missing-field", "wrong-kind", "unknown-action", "content-stated-twice"];
    let mut judged = 0;
    for (name, text) in toml_files("prep/tests/suite") {
        let findings = prep::read(text.as_bytes()).findings;
        let here = |code: &str, message: &str| seen.contains(&code) && !message.contains("`reaction`");
        if findings.iter().any(|finding| here(finding.code, &finding.message)) {
            assert!(!validator.is_valid(&as_json(&text)), "{name}");
            judged += 1;
        }
    }
    assert!(judged >= 4, "{judged} files were judged");
}

#[test]
fn the_shipped_schema_is_this_one() {
    let path = root().join("data/preparation.schema.json");
    let made = format!("{:#}\n", report::schema::preparation());
    if std::env::var_os("UPDATE_GOLDEN").is_some() {
        std::fs::write(&path, &made).expect("the schema can be written");
    }
    let kept = std::fs::read_to_string(&path).expect("the schema is shipped");
    assert_eq!(kept, made, "run the tests of report with UPDATE_GOLDEN=1, then read what changed");
}
