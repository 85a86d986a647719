//! Does every slip in a file get its finding, with its place and what would be right?
//!
//! Each file of `suite/` is a preparation with the findings it must get, no more and no fewer, in the comment at
//! its top, in the order in which they are told:
//!
//! ```text
//! # expect: unknown-unit line 12 column 18: did you mean `g`
//! # expect plan: reagent-limits line 7 column 10: 41 %
//! # expect account: nothing-fits no line: χ²
//! # expect nothing
//! # frozen as: frozen-plan.toml
//! # run beside: good-small.toml
//! ```
//! `expect` is about reading the file; if it can be read, `plan` and `account` are about its plan and its live account.
//! What follows the colon stands in the message or a hint. `frozen as` compares the file with the plan of another
//! (`frozen as damaged`: with a record that was altered); `run beside` takes it for a second run of another
//! (`expect replicates`).
//!
//! With `TAREBOOK_REWRITE_SUITE=1` the comments are written anew: a text that still holds stays, another is replaced by the
//! whole message. The change is to be read before it is kept. All files are invented.

use prep::outcome::Finding;
use std::collections::BTreeSet;
use std::path::{Path, PathBuf};

const REWRITE: &str = "TAREBOOK_REWRITE_SUITE";

/// A finding as the comment at the top of a file writes it.
#[derive(Clone, Debug, PartialEq, Eq)]
struct Expected {
    /// "", "plan", "account", "frozen" or "replicates".
    of: String,
    code: String,
    line: usize,
    column: usize,
    text: String,
}

impl Expected {
    fn of_finding(of: &str, finding: &Finding) -> Self {
        let hints = if finding.hints.is_empty() { String::new() } else { format!(" | {}", finding.hints.join(" | ")) };
        Self {
            of: of.to_owned(),
            code: finding.code.to_owned(),
            line: finding.line,
            column: finding.column,
            text: format!("{}{hints}", finding.message).replace('\n', " "),
        }
    }

    fn parse(line: &str) -> Option<Self> {
        let rest = line.strip_prefix("# expect")?;
        let (of, rest) = rest.split_once(':')?;
        let (head, text) = rest.split_once(':').unwrap_or((rest, ""));
        let words: Vec<&str> = head.split_whitespace().collect();
        let (code, line, column) = match words.as_slice() {
            [code, "no", "line"] => (code, 0, 0),
            [code, "line", line, "column", column] => (code, line.parse().ok()?, column.parse().ok()?),
            _ => panic!("not understood: {line}"),
        };
        let of = of.trim().to_owned();
        Some(Self { of, code: (*code).to_owned(), line, column, text: text.trim().to_owned() })
    }

    /// Whether a finding is the expected one; its text may say more.
    fn fits(&self, found: &Self) -> bool {
        (&self.of, &self.code, self.line, self.column) == (&found.of, &found.code, found.line, found.column)
            && found.text.contains(&self.text)
    }

    fn written(&self) -> String {
        let place = match self.line {
            0 => "no line".to_owned(),
            line => format!("line {line} column {}", self.column),
        };
        let of = if self.of.is_empty() { String::new() } else { format!(" {}", self.of) };
        let text = if self.text.is_empty() { String::new() } else { format!(": {}", self.text) };
        format!("# expect{of}: {} {place}{text}", self.code)
    }
}

fn folder() -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR")).join("tests/suite")
}

fn files() -> Vec<PathBuf> {
    let mut files: Vec<PathBuf> = std::fs::read_dir(folder())
        .expect("the suite is a folder")
        .flatten()
        .map(|entry| entry.path())
        .filter(|path| path.extension().is_some_and(|ending| ending == "toml"))
        .collect();
    files.sort();
    files
}

/// What lies beside the files of the suite.
struct Suite;

impl prep::World for Suite {
    fn open(&self, file: &str) -> Result<(Vec<u8>, Box<dyn prep::World>), String> {
        let bytes = std::fs::read(folder().join(file)).map_err(|_| "there is no such file".to_owned())?;
        Ok((bytes, Box::new(Suite)))
    }
}

fn text_of(path: &Path) -> String {
    std::fs::read_to_string(path).unwrap_or_else(|error| panic!("{}: {error}", path.display()))
}

fn is_expectation(line: &str) -> bool {
    line.starts_with("# expect")
}

/// All findings of a file: reading, frozen plan, plan and live account.
fn findings(text: &str) -> Vec<(&'static str, Finding)> {
    let reading = prep::read_beside(text.as_bytes(), &Suite);
    let mut all: Vec<(&str, Finding)> = reading.findings.into_iter().map(|f| ("", f)).collect();
    let Some(preparation) = reading.preparation else { return all };
    let directive = text.lines().find_map(|line| line.strip_prefix("# frozen as"));
    if let Some((how, name)) = directive.and_then(|rest| rest.split_once(':')) {
        let frozen = prep::read(text_of(&folder().join(name.trim())).as_bytes()).preparation.expect("a good file");
        let mut record = prep::freeze::record(&frozen, "2026-05-01T08:00:00");
        if how.trim() == "damaged" {
            record.fields.pop();
        }
        all.extend(prep::freeze::compare(&preparation, &record).findings.into_iter().map(|f| ("frozen", f)));
    }
    if let Some(name) = text.lines().find_map(|line| line.strip_prefix("# run beside:")) {
        let name = name.trim().to_owned();
        let other = prep::read(text_of(&folder().join(&name)).as_bytes()).preparation.expect("a good file");
        let runs = [(name, other), ("this".to_owned(), preparation.clone())];
        let compared = prep::replicates(&runs, None, &mut |_| {});
        let list = compared.map_or_else(|findings| findings, |replicates| replicates.findings);
        all.extend(list.into_iter().map(|f| ("replicates", f)));
    }
    for (of, list) in
        [("plan", prep::plan(&preparation).findings), ("account", prep::live_account(&preparation).findings)]
    {
        all.extend(list.into_iter().map(|f| (of, f)));
    }
    all
}

/// The file with its expectations written anew.
fn rewritten(text: &str, expected: &[Expected]) -> String {
    let body: Vec<&str> = text.lines().filter(|line| !is_expectation(line)).collect();
    let count = findings(text).len();
    let blank = format!("{}{}\n", "# expect nothing\n".repeat(count.max(1)), body.join("\n"));
    let mut head: Vec<String> = findings(&blank)
        .iter()
        .map(|(of, finding)| {
            let mut found = Expected::of_finding(of, finding);
            let before =
                expected.iter().find(|e| e.of == found.of && e.code == found.code && found.text.contains(&e.text));
            if let Some(before) = before {
                found.text = before.text.clone();
            }
            found.written()
        })
        .collect();
    if head.is_empty() {
        head.push("# expect nothing".to_owned());
    }
    format!("{}\n{}\n", head.join("\n"), body.join("\n"))
}

#[test]
fn every_file_gets_its_findings() {
    let rewrite = std::env::var(REWRITE).is_ok_and(|value| value == "1");
    let mut problems = Vec::new();
    for path in files() {
        let text = text_of(&path);
        let expected: Vec<Expected> = text.lines().filter_map(Expected::parse).collect();
        if rewrite {
            std::fs::write(&path, rewritten(&text, &expected)).expect("the suite can be written");
            continue;
        }
        let found: Vec<Expected> = findings(&text).iter().map(|(of, f)| Expected::of_finding(of, f)).collect();
        let stated = text.lines().any(is_expectation);
        let agree = expected.len() == found.len() && expected.iter().zip(&found).all(|(e, f)| e.fits(f));
        if !stated || !agree {
            let list = |list: &[Expected]| list.iter().map(|e| format!("\n    {}", e.written())).collect::<String>();
            problems.push(format!("{}\n  expected{}\n  found{}", path.display(), list(&expected), list(&found)));
        }
    }
    assert!(problems.is_empty(), "set {REWRITE}=1 to write the comments anew\n{}", problems.join("\n"));
}

/// Every finding says what would be right; every finding about a line has its place, within the file.
#[test]
fn every_finding_has_a_place_and_a_remedy() {
    for path in files() {
        let text = text_of(&path);
        for (of, finding) in findings(&text) {
            let told = format!("{}: {finding:?}", path.display());
            let about_the_file = of.is_empty();
            assert!(finding.line > 0 || !about_the_file, "no line: {told}");
            assert_eq!(finding.line > 0, finding.column > 0, "half a place: {told}");
            if finding.line > 0 {
                let line = text.lines().nth(finding.line - 1).unwrap_or_else(|| panic!("beyond the file: {told}"));
                assert!(finding.column <= line.chars().count() + 1, "beyond the line: {told}");
                // What the whole file lacks is told at its top.
                let whole = finding.message.starts_with("the preparation has no");
                assert!(whole || !line.starts_with("# expect"), "points at the comment: {told}");
            }
            let remedies = ["; ", ", e.g. ", ": weigh it", "comes first"];
            let in_message = remedies.iter().any(|word| finding.message.contains(word));
            assert!(!finding.hints.is_empty() || in_message, "no remedy: {told}");
            assert!(finding.hints.iter().all(|hint| !hint.trim().is_empty()), "an empty hint: {told}");
        }
    }
}

/// The codes of findings in the sources of this crate, tests left out.
fn codes() -> BTreeSet<String> {
    let mut codes = BTreeSet::new();
    let mut folders = vec![Path::new(env!("CARGO_MANIFEST_DIR")).join("src")];
    while let Some(folder) = folders.pop() {
        for path in std::fs::read_dir(&folder).expect("a folder of sources").flatten().map(|entry| entry.path()) {
            if path.is_dir() {
                folders.push(path);
            } else if path.extension().is_some_and(|ending| ending == "rs") {
                let text = text_of(&path);
                let program: Vec<&str> = text
                    .lines()
                    .take_while(|line| *line != "#[cfg(test)]")
                    .filter(|line| !line.trim_start().starts_with("//"))
                    .collect();
                codes.extend(literals(&program.join("\n")).filter(|word| is_code(word)).map(str::to_owned));
            }
        }
    }
    codes
}

/// Texts in quotes without an escape.
fn literals(program: &str) -> impl Iterator<Item = &str> {
    program.split('"').skip(1)
}

fn is_code(word: &str) -> bool {
    let parts: Vec<&str> = word.split('-').collect();
    let plain = |part: &&str| !part.is_empty() && part.chars().all(|c| c.is_ascii_lowercase());
    // Keys of sources look like codes.
    word == "unbalanced" || (parts.len() > 1 && parts.iter().all(plain) && chem::SourceKey::from_text(word).is_none())
}

/// Findings about files that no editor would open: made in the tests below, not stored.
const MADE_IN_TESTS: [&str; 3] = ["empty-file", "file-too-large", "not-text"];

#[test]
fn every_code_has_a_case() {
    let codes = codes();
    assert!(codes.len() > 50, "the codes were found: {codes:?}");
    let covered: BTreeSet<String> = files()
        .iter()
        .flat_map(|path| text_of(path).lines().filter_map(Expected::parse).map(|e| e.code).collect::<Vec<_>>())
        .chain(MADE_IN_TESTS.map(str::to_owned))
        .chain(literals(include_str!("titrate.rs")).filter(|word| is_code(word)).map(str::to_owned))
        .chain(literals(include_str!("heats.rs")).filter(|word| is_code(word)).map(str::to_owned))
        .chain(
            literals(include_str!("equilibria.rs"))
                .filter(|word| is_code(word) && codes.contains(*word))
                .map(str::to_owned),
        )
        .chain(literals(include_str!("heat_and_gas.rs")).filter(|word| is_code(word)).map(str::to_owned))
        .chain(literals(include_str!("solutions.rs")).filter(|word| is_code(word)).map(str::to_owned))
        .chain(
            literals(include_str!("screen.rs"))
                .filter(|word| is_code(word) && codes.contains(*word))
                .map(str::to_owned),
        )
        .chain(
            literals(include_str!("thermochemistry.rs"))
                .filter(|word| is_code(word) && codes.contains(*word))
                .map(str::to_owned),
        )
        .chain(
            literals(include_str!("lines_and_fields.rs"))
                .filter(|word| is_code(word) && codes.contains(*word))
                .map(str::to_owned),
        )
        .chain(literals(include_str!("dry.rs")).filter(|word| is_code(word)).map(str::to_owned))
        .collect();
    let missing: Vec<&String> = codes.difference(&covered).collect();
    assert!(missing.is_empty(), "no case for {missing:?}");
    let unknown: Vec<&String> = covered.difference(&codes).collect();
    assert!(unknown.is_empty(), "a case for a code that is not in the sources: {unknown:?}");
}

/// One slip must not hide another.
#[test]
fn many_slips_are_told_at_once() {
    let path = folder().join("many-slips.toml");
    let reading = prep::read(text_of(&path).as_bytes());
    let codes: BTreeSet<&str> = reading.findings.iter().map(|f| f.code).collect();
    assert!(reading.preparation.is_none());
    assert!(codes.len() >= 8, "{codes:?}");
    let lines: Vec<usize> = reading.findings.iter().map(|f| f.line).collect();
    assert!(lines.is_sorted(), "in the order of the file: {lines:?}");
}

fn only_finding(bytes: &[u8], code: &str) -> Finding {
    let reading = prep::read(bytes);
    assert!(reading.preparation.is_none());
    let [finding] = reading.findings.as_slice() else { panic!("{:?}", reading.findings) };
    assert_eq!((finding.code, finding.line, finding.column), (code, 1, 1));
    assert!(!finding.hints.is_empty());
    finding.clone()
}

#[test]
fn empty_files() {
    for bytes in [&b""[..], b" \n\t\r\n", "\u{feff}".as_bytes()] {
        only_finding(bytes, "empty-file");
    }
}

#[test]
fn binary_files() {
    only_finding(b"title = \"a\0b\"", "not-text");
    let finding = only_finding(b"title = \"caf\xe9\"\n", "not-text");
    assert!(finding.message.contains("line 1, byte 13"), "{}", finding.message);
    // The first bytes of a compressed archive.
    only_finding(b"\x1f\x8b\x08\x00\x00\x00\x00\x00\x00\x03\xed\xbd", "not-text");
    let every_byte: Vec<u8> = (0..=255).collect();
    only_finding(&every_byte, "not-text");
}

#[test]
fn files_that_are_too_large() {
    for (bytes, size) in [(5_000_000, "5.0 MB"), (prep::LARGEST_FILE + 1, "4.1 MB"), (10 << 20, "10.5 MB")] {
        let finding = only_finding(&vec![b'#'; bytes], "file-too-large");
        assert!(finding.message.contains(size) && finding.message.contains("at most 4.0 MB"), "{}", finding.message);
    }
    only_finding(&vec![0xff; 10 << 20], "file-too-large");
    // A long comment is read in good time.
    let mut text = "#".repeat(prep::LARGEST_FILE - 12);
    text.push_str("\ntitle = 1");
    assert!(text.len() <= prep::LARGEST_FILE);
    let codes: Vec<&str> = prep::read(text.as_bytes()).findings.iter().map(|f| f.code).collect();
    assert!(codes.contains(&"wrong-kind"), "{codes:?}");
}

/// A mark at the beginning that some editors write, and their line ends, change nothing.
#[test]
fn marks_of_editors_are_accepted() {
    let text = text_of(&folder().join("good-small.toml"));
    let plain = prep::read(text.as_bytes()).preparation.expect("a good file");
    for other in [format!("\u{feff}{text}"), text.replace('\n', "\r\n")] {
        let reading = prep::read(other.as_bytes());
        assert!(reading.findings.is_empty(), "{:?}", reading.findings);
        let read = reading.preparation.expect("a good file");
        assert_eq!(prep::freeze::planned_hash(&read), prep::freeze::planned_hash(&plain));
    }
    // The place of a slip is the same.
    let bad = text_of(&folder().join("many-slips.toml"));
    let places = |text: &str| -> Vec<(usize, usize)> {
        prep::read(text.as_bytes()).findings.iter().map(|f| (f.line, f.column)).collect()
    };
    assert_eq!(places(&bad), places(&bad.replace('\n', "\r\n")));
    assert_eq!(places(&bad), places(&format!("\u{feff}{bad}")));
}

/// Notations that mean the same give the same model.
#[test]
fn notations_are_understood() {
    let take = |amount: &str| {
        let text = text_of(&folder().join("frozen-plan.toml")).replace("10.0 g", amount);
        let reading = prep::read(text.as_bytes());
        assert!(reading.findings.is_empty(), "{amount}: {:?}", reading.findings);
        reading.preparation.expect("a good file").steps[0].take[0].amount.value
    };
    for (one, other) in [
        ("10,0 +/- 0,2 g", "10.0 ± 0.2 g"),
        ("10.0(2) g", "10.0 ± 0.2 g"),
        ("10,0 g", "10.0 g"),
        ("9,8..10,2 g", "9.8 .. 10.2 g"),
        ("  10.0g ", "10.0 g"),
    ] {
        assert_eq!(take(one), take(other), "{one}");
    }
    assert_ne!(take("10.0 g"), take("10.1 g"));
    let hydrate = |formula: &str| {
        let text = text_of(&folder().join("frozen-plan.toml")).replace("CuSO4·5H2O(s)", formula);
        prep::read(text.as_bytes()).preparation.expect("a good file").supplies[0].holds[0].value.clone()
    };
    for formula in ["CuSO4.5H2O(s)", "CuSO4*5H2O(s)", "CuSO4·5H2O (s)", "CuSO₄·5H₂O(s)"] {
        assert_eq!(hydrate(formula), hydrate("CuSO4·5H2O(s)"), "{formula}");
    }
}
