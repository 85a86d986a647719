//! Do `sheet`, `report` and `export` write what they say, and the same for the same day?

use assert_cmd::Command;
use serde_json::Value;
use sha2::{Digest, Sha256};
use std::path::{Path, PathBuf};

fn example(name: &str) -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR")).join("../examples").join(format!("{name}.toml"))
}

fn run(folder: &Path, arguments: &[&str]) -> std::process::Output {
    Command::cargo_bin("tarebook").expect("binary").current_dir(folder).args(arguments).output().expect("runs")
}

fn well(folder: &Path, arguments: &[&str]) -> String {
    let output = run(folder, arguments);
    assert!(output.status.success(), "{arguments:?}: {}", String::from_utf8_lossy(&output.stderr));
    String::from_utf8(output.stdout).expect("text")
}

#[test]
fn a_sheet_and_a_report_are_written_the_same_each_time() {
    let folder = tempfile::tempdir().expect("a folder");
    let at = folder.path();
    let file = example("bluestone").display().to_string();
    let told = well(at, &["sheet", &file, "--date", "2026-05-03"]);
    assert!(told.contains("bluestone-sheet.pdf"), "{told}");
    let first = std::fs::read(at.join("bluestone-sheet.pdf")).expect("the sheet");
    assert!(first.starts_with(b"%PDF-"));
    well(at, &["sheet", &file, "--date", "2026-05-03", "-o", "again.pdf"]);
    assert_eq!(first, std::fs::read(at.join("again.pdf")).expect("the sheet again"));
    well(at, &["sheet", &file, "--date", "2026-05-03", "--paper", "letter", "-o", "letter.pdf"]);
    assert_ne!(first, std::fs::read(at.join("letter.pdf")).expect("on Letter"));
    let told = well(at, &["report", &file, "--live", "--date", "2026-05-03", "-o", "r.html", "--json"]);
    let told: Value = serde_json::from_str(&told).expect("JSON");
    assert_eq!(told["written"], "r.html");
    let page = std::fs::read_to_string(at.join("r.html")).expect("the page");
    assert!(page.starts_with("<!doctype html>") && page.contains("Composition not established"));
}

#[test]
fn what_is_wrong_or_refused_gets_no_paper() {
    let folder = tempfile::tempdir().expect("a folder");
    let at = folder.path();
    std::fs::write(at.join("bad.toml"), "title = 3\n").expect("a file");
    for command in ["sheet", "report"] {
        let output = run(at, &[command, "bad.toml", "--json"]);
        assert_eq!(output.status.code(), Some(1));
        let told: Value = serde_json::from_slice(&output.stdout).expect("JSON");
        assert!(told["findings"].as_array().is_some_and(|list| !list.is_empty()));
    }
    assert!(!at.join("bad-sheet.pdf").exists() && !at.join("bad-report.pdf").exists());
    let file = example("bluestone").display().to_string();
    assert_eq!(run(at, &["report", &file, "--brief", "--talk"]).status.code(), Some(2));
    assert_eq!(run(at, &["report", &file, "-o", "report.txt"]).status.code(), Some(2));
    assert!(!at.join("report.txt").exists(), "no PDF under another name");
    assert_eq!(run(at, &["report", &file, "--claim", "as good as new"]).status.code(), Some(1));
}

#[test]
fn tables_hold_every_reading_and_every_lot() {
    let folder = tempfile::tempdir().expect("a folder");
    let at = folder.path();
    let file = example("epsom-dried").display().to_string();
    well(at, &["export", &file, "--to", "csv", "--live", "-o", "tables"]);
    let readings = std::fs::read_to_string(at.join("tables/readings.csv")).expect("readings");
    // A head, two single readings, series of 9, 3 and 3.
    assert_eq!(readings.lines().count(), 1 + 2 + 9 + 3 + 3, "{readings}");
    assert!(readings.contains("69.612 g,69.612,"), "{readings}");
    assert!(readings.lines().any(|line| line.starts_with("r4,") && line.contains(",r5,")), "corrected by r5");
    let columns = readings.lines().next().map(|head| head.split(',').count());
    assert_eq!(columns, Some(14));
    let lots = std::fs::read_to_string(at.join("tables/lots.csv")).expect("lots");
    assert!(lots.lines().filter(|line| line.starts_with("magnesium sulfate,")).count() >= 4, "{lots}");
}

/// The description after RO-Crate 1.1: root data set, every file named once and there, hashes right.
#[test]
fn the_archive_says_what_it_holds() {
    let folder = tempfile::tempdir().expect("a folder");
    let at = folder.path();
    let file = example("bluestone").display().to_string();
    well(at, &["export", &file, "--to", "crate", "--live", "--date", "2026-05-03", "-o", "box"]);
    let text = std::fs::read_to_string(at.join("box/ro-crate-metadata.json")).expect("a description");
    let described: Value = serde_json::from_str(&text).expect("JSON");
    let graph = described["@graph"].as_array().expect("a graph");
    let of = |id: &str| graph.iter().find(|entity| entity["@id"] == id).unwrap_or_else(|| panic!("no {id}"));
    assert_eq!(of("ro-crate-metadata.json")["about"]["@id"], "./");
    assert_eq!(of("ro-crate-metadata.json")["conformsTo"]["@id"], "https://w3id.org/ro/crate/1.1");
    let parts = of("./")["hasPart"].as_array().expect("parts");
    assert!(parts.len() >= 7, "{parts:?}");
    for part in parts {
        let path = part["@id"].as_str().expect("a path");
        let bytes = std::fs::read(at.join("box").join(path)).expect("the file is there");
        let entity = of(path);
        assert_eq!(entity["@type"], "File");
        assert_eq!(entity["contentSize"], bytes.len().to_string());
        let digest: String = Sha256::digest(&bytes).iter().map(|byte| format!("{byte:02x}")).collect();
        assert_eq!(entity["sha256"], digest, "{path}");
    }
    let account = of("#account");
    let object = &account["object"];
    assert!(
        object["@id"] == "bluestone.toml"
            || object.as_array().is_some_and(|list| list.iter().any(|o| o["@id"] == "bluestone.toml"))
    );
    assert!(account["result"].as_array().is_some_and(|list| list.iter().any(|o| o["@id"] == "report.pdf")));
}

#[test]
fn the_books_in_json_are_those_of_the_commands() {
    let folder = tempfile::tempdir().expect("a folder");
    let at = folder.path();
    let file = example("zinc-lozenges").display().to_string();
    well(at, &["export", &file, "--to", "json", "--live", "-o", "books.json"]);
    let books: Value =
        serde_json::from_str(&std::fs::read_to_string(at.join("books.json")).expect("books")).expect("JSON");
    let account: Value = serde_json::from_str(&well(at, &["account", &file, "--live", "--json"])).expect("JSON");
    assert_eq!(books["account"]["lots"], account["lots"]);
    assert_eq!(books["record"]["readings"].as_array().map(Vec::len), Some(2));
    well(at, &["export", &file, "--to", "svg", "--live", "-o", "pictures"]);
    let picture = std::fs::read_to_string(at.join("pictures/yields.svg")).expect("a picture");
    assert!(picture.starts_with("<svg xmlns="));
}
