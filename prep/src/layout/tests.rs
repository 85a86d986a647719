//! Does tidying keep everything, and does it come to rest?

use super::*;
use crate::evaluate::laws::recipes::preparations;
use crate::read;
use proptest::collection::vec;
use proptest::prelude::*;
use proptest::sample::Index;

/// The preparation without places and texts as typed.
fn meaning(text: &str) -> String {
    let preparation = read(text.as_bytes()).preparation.unwrap_or_else(|| panic!("{text}"));
    // A part of the plan's list, spelled in one way, stands for the texts.
    let mut bare = preparation.clone();
    bare.text.clear();
    bare.steps.iter_mut().filter_map(|step| step.by_equilibrium.as_mut()).for_each(|span| *span = 0..0);
    let shown = format!("{bare:#?}");
    let skipped = ["span: ", "text: ", "written: ", "atmosphere_text: "];
    shown
        .lines()
        .filter(|line| !skipped.iter().any(|word| line.trim_start().starts_with(word)))
        .collect::<Vec<_>>()
        .join("\n")
}

fn tidied(text: &str) -> String {
    tidy(text.as_bytes()).unwrap_or_else(|why| panic!("{why:?}\n{text}"))
}

fn comes_to_rest(text: &str) -> String {
    let once = tidied(text);
    assert_eq!(tidied(&once), once, "a tidy file is left alone");
    assert_eq!(meaning(&once), meaning(text));
    let remarks = |text: &str| {
        let mut all: Vec<String> = comments(text).into_iter().map(|c| c.text).collect();
        all.sort();
        all
    };
    assert_eq!(remarks(&once), remarks(text));
    once
}

#[test]
fn every_way_of_writing_a_table_becomes_one() {
    let text = "\u{feff}# head\r\n\r\ntitle='A'# name\naccount_for = [ 'Cu', # yields\n]\n# of the target\ntarget.substance = \"CuO (s)\" # pure\n\
        supply = [ { name = 'blue', holds = 'CuSO4.5H2O(s)' }, # bag\n # own\n { name = 'soda', holds = [\n# first\n'Na2CO3(s)',#dry\n\"Na2CO3*H2O(s)\" # moist\n# end\n] } ] # supplies\n\
        vessel = []\n\n[[step]] # one\nname = 'a'\n\n# what\n\naction = 'Dissolve'\n[step.take] # taken\nblue = \"10,0+/-0,1g\" # now\n\
        # more\nwater = '50mL'\n[step.gives]\nliquor = 'all'\n# a reading\n[[step.reading]]\nid = 'r'# r\nwith = 'b'\nof = 'liquor'\n\n\n# a balance\n[[instrument]]\n\
        resolution = '0.01g'\nkind='balance'\nname= 'b'\n\n# the end\n";
    let once = comes_to_rest(text);
    let expected = r#"# head

title       = "A"   # name
account_for = [
    "Cu",   # yields
]
# of the target
# pure
target      = { substance = "CuO(s)" }
vessel      = []

[[supply]]   # bag
name  = "blue"
holds = "CuSO4·5H2O(s)"

# own
[[supply]]   # supplies
name  = "soda"
holds = [
    # first
    "Na2CO3(s)",   #dry
    "Na2CO3·H2O(s)",   # moist
    # end
]

# a balance
[[instrument]]
resolution = "0.01 g"
kind       = "balance"
name       = "b"

[[step]]   # one
name = "a"

# what

action = "dissolve"
# taken
# now
# more
take   = { blue = "10.0 ± 0.1 g", water = "50 mL" }
gives  = { liquor = "all" }
  # a reading
  [[step.reading]]
  id   = "r"   # r
  with = "b"
  of   = "liquor"

# the end
"#;
    assert_eq!(once, expected);
}

/// A remark or a change of the layout, somewhere.
#[derive(Clone, Debug)]
pub(crate) enum Mark {
    Above(Index),
    Beside(Index),
    Blank(Index),
    Spaces(Index),
    Quotes(Index),
}

pub(crate) fn marks() -> impl Strategy<Value = Vec<Mark>> {
    let mark = prop_oneof![
        3 => any::<Index>().prop_map(Mark::Above),
        3 => any::<Index>().prop_map(Mark::Beside),
        2 => any::<Index>().prop_map(Mark::Blank),
        1 => any::<Index>().prop_map(Mark::Spaces),
        1 => any::<Index>().prop_map(Mark::Quotes),
    ];
    vec(mark, 0..12)
}

/// The same file with remarks and another layout.
pub(crate) fn marked(text: &str, marks: &[Mark]) -> String {
    let mut lines: Vec<String> = text.lines().map(str::to_owned).collect();
    for (i, mark) in marks.iter().enumerate() {
        let count = lines.len().max(1);
        match mark {
            Mark::Above(at) => lines.insert(at.index(count), format!("   # remark {i} \"of\" 'mine'")),
            Mark::Beside(at) => lines[at.index(count)].push_str(&format!(" # beside {i}")),
            Mark::Blank(at) => lines.insert(at.index(count), "  ".to_owned()),
            Mark::Spaces(at) => {
                let line = &mut lines[at.index(count)];
                *line = format!("\t{}", line.replacen(" = ", "=   ", 1).replace(", ", " ,"));
            }
            Mark::Quotes(at) => {
                let line = &mut lines[at.index(count)];
                if !line.contains(['\'', '#']) {
                    *line = line.replace('"', "'");
                }
            }
        }
    }
    lines.join("\n")
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 200, failure_persistence: None, ..ProptestConfig::default() })]

    #[test]
    fn any_preparation_comes_to_rest((text, marks) in (preparations(), marks())) {
        let marked = marked(&text, &marks);
        prop_assert_eq!(comes_to_rest(&marked).is_empty(), false);
    }
}

/// Files of the folder that can be read.
fn good_files(folder: &str) -> Vec<(String, String)> {
    let folder = std::path::Path::new(env!("CARGO_MANIFEST_DIR")).join(folder);
    let mut files: Vec<(String, String)> = std::fs::read_dir(folder)
        .expect("a folder")
        .flatten()
        .filter(|entry| entry.path().extension().is_some_and(|ending| ending == "toml"))
        .map(|entry| (entry.path().display().to_string(), std::fs::read_to_string(entry.path()).expect("text")))
        .filter(|(_, text)| read(text.as_bytes()).preparation.is_some())
        .collect();
    files.sort();
    files
}

#[test]
fn all_files_that_can_be_read_come_to_rest() {
    let files: Vec<_> = ["tests/suite", "tests/files", "../examples"].into_iter().flat_map(good_files).collect();
    assert!(files.len() > 15, "{}", files.len());
    for (_, text) in files {
        comes_to_rest(&text);
        comes_to_rest(&text.replace('\n', "\r\n"));
    }
}

#[test]
fn examples_are_tidy() {
    for (name, text) in good_files("../examples") {
        assert_eq!(tidied(&text), text, "{name}: lay it out with `tarebook check --tidy`");
    }
}

#[test]
fn a_file_with_errors_is_left_alone() {
    let told = tidy(b"title = 'A'\nstep = 3\n");
    assert!(matches!(told, Err(Untidied::Wrong(findings)) if !findings.is_empty()));
    assert!(matches!(tidy(b"title = "), Err(Untidied::Wrong(_))));
}
