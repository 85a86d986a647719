//! Is the repository in order? Its rules are kept here instead of in anyone's memory.

use std::collections::BTreeSet;
use std::path::{Path, PathBuf};
use toml_edit::DocumentMut;

/// Which crates of the workspace a crate may use.
const LAYERS: [(&str, &[&str]); 6] = [
    ("chem", &[]),
    ("engine", &["chem"]),
    ("prep", &["chem", "engine"]),
    ("report", &["chem", "prep"]),
    ("paper", &["prep", "report"]),
    ("tarebook", &["chem", "prep", "report", "paper"]),
];

/// Functions that may be longer than the limit: file, name, reason.
const LONG_FUNCTIONS: &[(&str, &str, &str)] = &[];
/// Files that may be longer than the limit: file, reason. Documentation, tests and blank lines do not count.
const LONG_FILES: &[(&str, &str)] = &[];

const LONGEST_FUNCTION: usize = 80;
const LONGEST_FILE: usize = 500;

fn root() -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR")).parent().expect("the crate lies in the workspace").to_owned()
}

/// All files of the repository, without what was built or fetched.
fn files() -> Vec<PathBuf> {
    let mut found = Vec::new();
    let mut folders = vec![root()];
    while let Some(folder) = folders.pop() {
        for entry in std::fs::read_dir(&folder).expect("a folder of the repository").flatten() {
            let (path, name) = (entry.path(), entry.file_name());
            // In a second working tree, `.git` is a file.
            if name == "target" || name == ".git" {
                continue;
            }
            if path.is_dir() {
                folders.push(path);
            } else if name != "Cargo.lock" {
                found.push(path);
            }
        }
    }
    found.sort();
    found
}

fn with_ending(ending: &str) -> Vec<PathBuf> {
    files().into_iter().filter(|path| path.extension().is_some_and(|found| found == ending)).collect()
}

fn read(path: &Path) -> String {
    std::fs::read_to_string(path).unwrap_or_else(|error| panic!("{}: {error}", path.display()))
}

/// Path from the root, with forward slashes.
fn short(path: &Path) -> String {
    path.strip_prefix(root()).unwrap_or(path).to_string_lossy().replace('\\', "/")
}

fn manifest(folder: &str) -> DocumentMut {
    read(&root().join(folder).join("Cargo.toml")).parse().expect("a manifest is TOML")
}

fn none(problems: &[String], rule: &str) {
    assert!(problems.is_empty(), "{rule}:\n  {}", problems.join("\n  "));
}

#[test]
fn crates_use_only_the_crates_below_them() {
    let names: BTreeSet<&str> = LAYERS.iter().map(|(name, _)| *name).collect();
    let mut problems = Vec::new();
    for (name, allowed) in LAYERS {
        let manifest = manifest(name);
        for section in ["dependencies", "dev-dependencies", "build-dependencies"] {
            let Some(table) = manifest.get(section).and_then(|item| item.as_table_like()) else { continue };
            for (used, _) in table.iter().filter(|(used, _)| names.contains(used) && !allowed.contains(used)) {
                problems.push(format!("{name} lists {used} under {section}"));
            }
        }
    }
    none(&problems, "a crate uses what it may not");
}

#[test]
fn paper_and_program_never_name_the_engine() {
    let word = concat!("engine", "::");
    let problems: Vec<String> = with_ending("rs")
        .iter()
        .filter(|path| {
            short(path).starts_with("report/src")
                || short(path).starts_with("paper/src")
                || short(path).starts_with("tarebook/src")
        })
        .filter(|path| read(path).contains(word))
        .map(|path| short(path))
        .collect();
    none(&problems, "only prep may speak with the engine");
}

#[test]
fn every_source_file_opens_with_its_question() {
    let problems: Vec<String> =
        with_ending("rs").iter().filter(|path| !read(path).starts_with("//!")).map(|path| short(path)).collect();
    none(&problems, "a file does not open with //!");
}

#[test]
fn every_row_of_a_table_names_a_known_source() {
    let keys: BTreeSet<String> = rows(&root().join("data/sources.tsv"))
        .into_iter()
        .filter_map(|(_, row)| row.into_iter().find(|(head, _)| head == "key").map(|(_, key)| key))
        .collect();
    assert!(keys.contains("common-practice"), "the list of sources was read");
    let mut problems = Vec::new();
    let mut judged = 0;
    for path in with_ending("tsv").iter().filter(|path| short(path).starts_with("data/")) {
        for (line, row) in rows(path) {
            let place = format!("{}:{line}", short(path));
            let Some((_, source)) = row.iter().find(|(head, _)| head == "source") else {
                if short(path) != "data/sources.tsv" {
                    problems.push(format!("{place} has no source"));
                }
                continue;
            };
            judged += 1;
            let unknown = source.split(';').map(str::trim).find(|key| !keys.contains(*key));
            problems.extend(unknown.map(|key| format!("{place} names the unknown source “{key}”")));
        }
    }
    assert!(judged > 100, "the tables were read");
    none(&problems, "a row without a known source");
}

/// The rows of a table: line number and cells with the heads of their columns.
fn rows(path: &Path) -> Vec<(usize, Vec<(String, String)>)> {
    let text = read(path);
    let mut lines = text.lines().enumerate().filter(|(_, line)| !line.starts_with('#') && !line.trim().is_empty());
    let Some((_, head)) = lines.next() else { return Vec::new() };
    let heads: Vec<String> = head.split('\t').map(str::to_owned).collect();
    lines
        .map(|(index, line)| {
            let cells: Vec<String> = line.split('\t').map(str::to_owned).collect();
            assert!(cells.len() <= heads.len(), "{}:{} has too many cells", short(path), index + 1);
            (index + 1, heads.iter().cloned().zip(cells).collect())
        })
        .collect()
}

/// The lines of a source file up to its tests.
fn without_tests(text: &str) -> Vec<&str> {
    text.lines().take_while(|line| *line != "#[cfg(test)]").collect()
}

fn programs() -> Vec<PathBuf> {
    with_ending("rs").into_iter().filter(|path| short(path).contains("/src/")).collect()
}

/// Name of the function that begins on this line.
fn function_name(line: &str) -> Option<&str> {
    let code = line.trim_start();
    let begins = ["fn ", "pub ", "pub(", "const fn ", "unsafe ", "async "].iter().any(|word| code.starts_with(word));
    let (_, rest) = code.split_once("fn ").filter(|_| begins)?;
    rest.split(['(', '<']).next().map(str::trim)
}

#[test]
fn functions_are_short() {
    let mut problems = Vec::new();
    let mut excused = BTreeSet::new();
    for path in programs() {
        let text = read(&path);
        let lines = without_tests(&text);
        for (begin, line) in lines.iter().enumerate() {
            let Some(name) = function_name(line) else { continue };
            let end = format!("{}}}", &line[..line.len() - line.trim_start().len()]);
            let length = lines[begin..].iter().position(|line| *line == end).map_or(1, |last| last + 1);
            if length <= LONGEST_FUNCTION || line.ends_with('}') || line.ends_with(';') {
                continue;
            }
            match LONG_FUNCTIONS.iter().find(|(file, function, _)| *file == short(&path) && *function == name) {
                Some(entry) => drop(excused.insert(entry)),
                None => problems.push(format!("{}:{} {name} has {length} lines", short(&path), begin + 1)),
            }
        }
    }
    problems.extend(
        LONG_FUNCTIONS
            .iter()
            .filter(|entry| !excused.contains(entry))
            .map(|entry| format!("no longer long: {entry:?}")),
    );
    none(&problems, "a function is over 80 lines; split it, or list it with its reason");
}

#[test]
fn files_are_short() {
    let mut problems = Vec::new();
    for path in programs() {
        let text = read(&path);
        let lines = without_tests(&text);
        let length =
            lines.iter().filter(|line| !line.trim().is_empty() && !line.trim_start().starts_with("//")).count();
        let excused = LONG_FILES.iter().any(|(file, _)| *file == short(&path));
        if (length > LONGEST_FILE) != excused {
            problems.push(format!("{} has {length} lines", short(&path)));
        }
    }
    none(&problems, "a file is over 500 lines, or excused and short");
}

#[test]
fn nothing_is_left_for_later_and_nothing_points_outside() {
    let words = [
        concat!("/", "work/"),
        concat!("/", "home/"),
        concat!("/", "root/"),
        concat!("/", "Users/"),
        concat!("TO", "DO"),
        concat!("FIX", "ME"),
        concat!("X", "XX"),
        concat!("todo", "!("),
        concat!("unimplemented", "!("),
        concat!("crates", ".io"),
        concat!("pypi", ".org"),
        concat!("npmjs", ".com"),
        concat!("npmjs", ".org"),
    ];
    let mut problems = Vec::new();
    for path in files() {
        let Ok(text) = std::fs::read_to_string(&path) else { continue };
        for (index, line) in text.lines().enumerate() {
            let found = words.iter().find(|word| line.contains(**word));
            problems.extend(found.map(|word| format!("{}:{} has {word}", short(&path), index + 1)));
        }
    }
    none(&problems, "a word that does not belong here");
}

#[test]
fn file_names_say_what_is_inside() {
    let empty = ["utils", "util", "helper", "helpers", "manager", "misc", "common", "process", "info"];
    let problems: Vec<String> = files()
        .iter()
        .filter(|path| path.file_stem().and_then(|stem| stem.to_str()).is_some_and(|stem| empty.contains(&stem)))
        .map(|path| short(path))
        .collect();
    none(&problems, "a file name that says nothing");
}

#[test]
fn every_dependency_carries_its_reason() {
    let mut problems = Vec::new();
    for folder in std::iter::once("").chain(LAYERS.iter().map(|(name, _)| *name)) {
        let path = root().join(folder).join("Cargo.toml");
        let text = read(&path);
        let mut inside = false;
        for (index, line) in text.lines().enumerate() {
            if line.starts_with('[') {
                inside = line.contains("dependencies");
            } else if inside && line.contains('=') && !line.contains("path =") && !line.contains(".workspace = true") {
                let reason = line.split_once('#').map_or("", |(_, reason)| reason.trim());
                if reason.len() < 8 && !line.starts_with('#') {
                    problems.push(format!("{}:{} {line}", short(&path), index + 1));
                }
            }
        }
    }
    none(&problems, "a dependency without a reason in a comment");
}

#[test]
fn examples_parse_and_say_that_they_are_invented() {
    let examples: Vec<PathBuf> = files().into_iter().filter(|path| short(path).starts_with("examples/")).collect();
    assert!(!examples.is_empty(), "there are examples");
    for path in examples {
        let text = read(&path);
        match path.extension().and_then(|ending| ending.to_str()) {
            Some("toml") => {
                text.parse::<DocumentMut>().unwrap_or_else(|error| panic!("{}: {error}", short(&path)));
                assert!(text.to_lowercase().contains("invented"), "{} does not say it is invented", short(&path));
                let reading = prep::read(text.as_bytes());
                assert!(reading.preparation.is_some(), "{}: {:?}", short(&path), reading.findings);
            }
            Some("json") => {
                serde_json::from_str::<serde_json::Value>(&text)
                    .unwrap_or_else(|error| panic!("{}: {error}", short(&path)));
            }
            _ => {}
        }
    }
}
