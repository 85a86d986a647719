//! Is only that changed which was asked for?

use super::*;
use crate::evaluate::laws::recipes::preparations;
use crate::layout::tests::{marked, marks};
use crate::read;
use proptest::prelude::*;
use proptest::sample::Index;

const SMALL: &str = include_str!("../../tests/suite/good-small.toml");
const BLUESTONE: &str = include_str!("../../../examples/bluestone.toml");

fn remarks(text: &str) -> Vec<String> {
    comments(text).into_iter().map(|comment| comment.text).collect()
}

/// The lines that are only in one of two texts.
fn differing(before: &str, after: &str) -> (Vec<String>, Vec<String>) {
    let only = |a: &str, b: &str| {
        let mut rest: Vec<&str> = b.lines().collect();
        let mut found = Vec::new();
        for line in a.lines() {
            match rest.iter().position(|other| *other == line) {
                Some(at) => drop(rest.remove(at)),
                None => found.push(line.to_owned()),
            }
        }
        found
    };
    (only(before, after), only(after, before))
}

fn good(text: &str) -> crate::Preparation {
    let reading = read(text.as_bytes());
    reading.preparation.unwrap_or_else(|| panic!("{:?}\n{text}", reading.findings))
}

#[test]
fn one_value_is_replaced() {
    let after = set(BLUESTONE, Place::Reading("r4"), "weigh", &"43,91 g".into()).expect("set");
    let changed = differing(BLUESTONE, &after);
    assert_eq!(changed, (vec!["  weigh = \"43.90 g\"".to_owned()], vec!["  weigh = \"43.91 g\"".to_owned()]));
    let after = set(BLUESTONE, Place::Supply("washing soda"), "holds", &"Na2CO3*H2O(s)".into()).expect("set");
    assert!(after.contains("holds = \"Na2CO3·H2O(s)\"   # effloresced: an unknown mix\n"));
    assert_eq!(after.len(), BLUESTONE.len() - "[\"Na2CO3·10H2O(s)\", ]".len());
}

#[test]
fn a_new_field_stands_where_it_usually_does() {
    let after = set(BLUESTONE, Place::Step("dry"), "film", &"<=0.1 g".into()).expect("set");
    assert!(after.contains("\"Cu2CO3(OH)2(s)\"]\nfilm        = \"<= 0.1 g\"\ngives       = {"), "{after}");
    let after = set(&after, Place::Reading("r5"), "note", &"draught".into()).expect("set");
    assert!(after.contains("  at    = 2026-05-02T13:05:00\n  note  = \"draught\"\n\n"), "{after}");
    let after = set(&after, Place::Vessel("crucible 3"), "mass", &"25.130 g".into()).expect("set");
    assert!(after.contains("name = \"crucible 3\"\nmass = \"25.130 g\"\n"), "{after}");
    let bare = "# only a remark\n[[step]]\nname = \"a\"";
    let after = set(bare, Place::File, "title", &"B".into()).expect("set");
    assert_eq!(after, format!("title = \"B\"\n{bare}"));
    assert_eq!(set(&after, Place::Step("a"), "note", &"n".into()).as_deref(), Ok(&*format!("{after}\nnote = \"n\"\n")));
    let crlf = "title = \"A\"\r\n[[step]]\r\nname = \"a\"\r\n";
    let after = set(crlf, Place::Step("a"), "note", &"n".into()).expect("set");
    assert_eq!(after, format!("{crlf}note = \"n\"\r\n"));
}

#[test]
fn entries_within_a_line() {
    let after = set_within(BLUESTONE, Place::Step("dissolve"), "take", "water", "450g").expect("set");
    assert!(after.contains("= { bluestone = \"100.0 g\", water = \"450 g\" }\n"));
    let after = set_within(&after, Place::Step("ignite"), "trace", "Na2SO4 (s)", "<=2%").expect("set");
    assert!(after.contains("trace       = { \"Na2SO4(s)\" = \"<= 2 %\" }"), "{after}");
    let after = set_within(&after, Place::File, "target", "amount", "30 g").expect("set");
    assert!(after.contains("{ substance = \"CuO(s)\", amount = \"30 g\" }"));
    good(&after);
    let under_a_header = "[[step]]\nname = \"a\"\n[step.take]\nwater = \"5 g\" # five\n";
    let after = set_within(under_a_header, Place::Step("a"), "take", "salt", "1 g").expect("set");
    assert_eq!(after, format!("{under_a_header}salt  = \"1 g\"\n"));
    let inline = "step = [{ name = \"a\", take = {} }]";
    let after = set_within(inline, Place::Step("a"), "take", "salt", "1 g").expect("set");
    assert_eq!(after, "step = [{ name = \"a\", take = { salt = \"1 g\" } }]");
    assert_eq!(set(&after, Place::Step("a"), "by", &"suction".into()).expect("set").matches("by = ").count(), 1);
    assert_eq!(clear(&after, Place::Step("a"), "name").as_deref(), Ok("step = [{ take = { salt = \"1 g\" } }]"));
}

#[test]
fn a_field_is_taken_out_and_its_remark_stays() {
    let after = clear(BLUESTONE, Place::Step("ignite a portion"), "loss").expect("cleared");
    let (gone, new) = differing(BLUESTONE, &after);
    assert!(gone.len() == 1 && gone[0].starts_with("loss "), "{gone:?}");
    assert_eq!(new, ["# covered crucible, weighed before and after, never emptied"]);
    assert_eq!(clear(&after, Place::Step("ignite a portion"), "loss").as_deref(), Ok(after.as_str()));
}

#[test]
fn readings_are_added_behind_the_others() {
    let reading = NewReading {
        weigh: Some("10.61 g".to_owned()),
        of: Some("precipitate".to_owned()),
        with: "pocket balance".to_owned(),
        at: Some("2026-05-02T11:40:00".to_owned()),
        corrects: Some("r1".to_owned()),
        reason: Some("read \"at once\"".to_owned()),
        ..NewReading::default()
    };
    let (after, id) = add_reading(SMALL, "dry", &reading).expect("added");
    assert_eq!(id, "r2");
    assert!(after.starts_with(SMALL));
    let step = &good(&after).steps[3];
    let added = &step.readings[1];
    assert_eq!((added.id.value.as_str(), added.text.as_str()), ("r2", "10.61 g"));
    assert_eq!(added.corrects.as_ref().map(|c| c.value.as_str()), Some("r1"));
    assert_eq!((added.reason.as_deref(), added.at.as_deref()), (Some("read \"at once\""), Some("2026-05-02T11:40:00")));
    let taken = NewReading { id: Some("c1".to_owned()), ..reading.clone() };
    assert_eq!(add_reading(SMALL, "dry", &taken), Err(EditError::AlreadyThere("c1".to_owned())));
    // The first of a step, in the middle of the file.
    let first = NewReading { of: Some("cake".to_owned()), with: "pocket balance".to_owned(), ..NewReading::default() };
    let (after, _) = add_reading(BLUESTONE, "filter", &first).expect("added");
    let expected = "liquor = \"solution\" }\n  [[step.reading]]\n  id   = \"r8\"\n  of   = \"cake\"\n  with = \"pocket balance\"\n\n[[step]]\nname        = \"dry\"";
    assert!(after.contains(expected), "{after}");
    good(&after);
}

#[test]
fn tables_are_added_moved_and_removed() {
    let soda = [("name", "chalk".into()), ("holds", Entry::Texts(vec!["CaCO3 (s)".to_owned()]))];
    let after = add(SMALL, Addition::Supply, &soda, Some("soda ash")).expect("added");
    let names: Vec<String> = good(&after).supplies.iter().map(|s| s.name.value.clone()).collect();
    assert_eq!(names, ["bluestone", "chalk", "soda ash"]);
    assert!(after.contains("\n\n[[supply]]\nname  = \"chalk\"\nholds = [\"CaCO3(s)\"]\n\n[[supply]]\n"), "{after}");
    assert_eq!(add(&after, Addition::Supply, &soda, None), Err(EditError::AlreadyThere("chalk".to_owned())));
    let moved = move_before(&after, Place::Supply("chalk"), None).expect("moved");
    let names: Vec<String> = good(&moved).supplies.iter().map(|s| s.name.value.clone()).collect();
    assert_eq!(names, ["bluestone", "soda ash", "chalk"]);
    let removed = remove(&moved, Place::Supply("chalk")).expect("removed");
    assert_eq!(removed, SMALL);
    assert_eq!(move_before(&removed, Place::Supply("soda ash"), Some("soda ash")).as_deref(), Ok(SMALL));
    let step = [
        ("name", "keep".into()),
        ("action", "store".into()),
        ("take", Entry::Pairs(vec![("precipitate".to_owned(), "all".to_owned())])),
        ("gives", Entry::Pairs(vec![("stock".to_owned(), "all".to_owned())])),
    ];
    let after = add(SMALL, Addition::Step, &step, None).expect("added");
    assert!(after.starts_with(SMALL) && good(&after).steps.len() == 5);
    let vessel = [("name", "dish".into())];
    let after = add("title = \"A\"", Addition::Vessel, &vessel, None).expect("added");
    assert_eq!(after, "title = \"A\"\n\n[[vessel]]\nname = \"dish\"\n");
}

#[test]
fn a_remark_above_a_step_goes_with_it() {
    let text = "title = \"A\"\n\n# first\n[[step]]\nname = \"a\" # one\n\n# second\n\n# of it\n[[step]]\nname = \"b\"\n  [[step.reading]]\n  id = \"r1\"\n# below\n\n# end";
    let moved = move_before(text, Place::Step("b"), Some("a")).expect("moved");
    let expected = "title = \"A\"\n\n# second\n\n# of it\n[[step]]\nname = \"b\"\n  [[step.reading]]\n  id = \"r1\"\n# below\n\n# first\n[[step]]\nname = \"a\" # one\n\n# end";
    assert_eq!(moved, expected);
    assert_eq!(move_before(&moved, Place::Step("b"), None).as_deref(), Ok(text));
    let removed = remove(text, Place::Step("b")).expect("removed");
    assert_eq!(removed, "title = \"A\"\n\n# first\n[[step]]\nname = \"a\" # one\n\n# end");
    assert_eq!(
        remove(text, Place::Reading("r1")).expect("removed"),
        text.replace("  [[step.reading]]\n  id = \"r1\"\n# below\n", "")
    );
}

#[test]
fn what_cannot_be_edited_is_refused() {
    let text = Entry::from("x");
    let no_field = EditError::NoSuchField { table: "supply", key: "colour".to_owned() };
    assert_eq!(set(SMALL, Place::Supply("bluestone"), "colour", &text), Err(no_field));
    assert!(matches!(set(SMALL, Place::Supply("salt"), "label", &text), Err(EditError::NoSuchPlace(_))));
    assert!(matches!(set("title = ", Place::File, "title", &text), Err(EditError::Syntax(_))));
    assert!(matches!(set(SMALL, Place::Step("dry"), "take", &text), Err(EditError::WrongShape(_))));
    assert!(matches!(set(SMALL, Place::File, "step", &text), Err(EditError::WrongShape(_))));
    assert!(matches!(move_before(SMALL, Place::Reading("r1"), None), Err(EditError::WrongShape(_))));
    // A step whose readings are parted from it, and a list with remarks within.
    let scattered = "[[step]]\nname = \"a\"\n[[vessel]]\nname = \"v\"\n[[step.reading]]\nid = \"r1\"\n";
    assert!(matches!(remove(scattered, Place::Step("a")), Err(EditError::Untidy(_))));
    let remarked = "[[supply]]\nname = \"a\"\nholds = [\n# why\n\"CuO(s)\"]\n";
    assert!(matches!(set(remarked, Place::Supply("a"), "holds", &text), Err(EditError::Untidy(_))));
    for error in [EditError::Untidy("step `a`".to_owned()), EditError::NoSuchField { table: "", key: "x".to_owned() }] {
        assert!(error.to_string().contains('`'));
    }
}

/// A field of a table of a preparation, and a text for it.
fn edits() -> impl Strategy<Value = (Index, &'static str, &'static str)> {
    prop_oneof![
        (
            any::<Index>(),
            Just("note"),
            prop::sample::select(vec!["", "a", "with \"quotes\"", "# no remark", "two\nlines"])
        ),
        (any::<Index>(), Just("caution"), prop::sample::select(vec!["hot", "\\", "'"])),
        (any::<Index>(), Just("loss"), prop::sample::select(vec!["none", "<= 1 %", "0.5 .. 1.0 %"])),
        (any::<Index>(), Just("film"), prop::sample::select(vec!["none", "0.10 ± 0.05 g"])),
    ]
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 120, failure_persistence: None, ..ProptestConfig::default() })]

    /// Set a field of a step: it reads as that, every comment is there, and the bytes around are the same.
    #[test]
    fn a_field_that_is_set_is_read((text, marks, (at, key, value)) in (preparations(), marks(), edits())) {
        let text = marked(&text, &marks);
        let steps = good(&text).steps;
        let step = steps[at.index(steps.len())].name.value.clone();
        let after = set(&text, Place::Step(&step), key, &value.into()).map_err(|e| TestCaseError::fail(format!("{e}\n{text}")))?;
        let document: toml_edit::DocumentMut = after.parse().expect("TOML");
        let table = document["step"].as_array_of_tables().expect("steps").iter().find(|t| t["name"].as_str() == Some(&step));
        prop_assert_eq!(table.and_then(|t| t.get(key)).and_then(|i| i.as_str()), Some(value));
        prop_assert_eq!(remarks(&after), remarks(&text));
        let common = text.bytes().zip(after.bytes()).take_while(|(a, b)| a == b).count();
        let tail = text.bytes().rev().zip(after.bytes().rev()).take_while(|(a, b)| a == b).count();
        prop_assert!(common + tail + 200 >= text.len(), "more than one place has changed");
        let other = |p: &crate::Preparation| p.steps.iter().map(|s| (s.name.value.clone(), s.take.len(), s.readings.len())).collect::<Vec<_>>();
        prop_assert_eq!(other(&good(&after)), other(&good(&text)));
    }

    /// Move a step away and back, add a reading and remove it: the text is the same.
    #[test]
    fn moves_and_additions_can_be_taken_back((text, marks, at) in (preparations(), marks(), any::<Index>())) {
        let text = format!("{}\n", marked(&crate::tidy(text.as_bytes()).expect("good"), &marks).trim_end());
        let names: Vec<String> = good(&text).steps.into_iter().map(|s| s.name.value).collect();
        let at = at.index(names.len());
        let moved = move_before(&text, Place::Step(&names[at]), None).expect("moved");
        prop_assert!((text.len()..text.len() + 4).contains(&moved.len()), "only empty lines may come in");
        let back = move_before(&moved, Place::Step(&names[at]), names.get(at + 1).map(String::as_str)).expect("moved");
        let tidy = |text: &str| crate::tidy(text.as_bytes()).expect("good");
        prop_assert_eq!(tidy(&back), tidy(&text), "remarks stay with their tables");
        let reading = NewReading { charge: Some("water".to_owned()), with: "b".to_owned(), ..NewReading::default() };
        let (more, id) = add_reading(&text, &names[at], &reading).expect("added");
        prop_assert_eq!(remarks(&more), remarks(&text));
        prop_assert_eq!(remove(&more, Place::Reading(&id)).expect("removed"), text);
    }
}
