//! Does a plan stand when something is weighed, and only then?

use prep::edit::{NewReading, Place, add_reading, clear, set};
use prep::outcome::Plan;
use prep::{Preparation, plan_again};

const BLUESTONE: &str = include_str!("../../examples/bluestone.toml");

fn read(text: &str) -> Preparation {
    let reading = prep::read(text.as_bytes());
    reading.preparation.unwrap_or_else(|| panic!("{:?}\n{text}", reading.findings))
}

/// The example without the figure of its precipitate.
fn waiting() -> String {
    ["weigh", "at"]
        .iter()
        .fold(BLUESTONE.to_owned(), |text, key| clear(&text, Place::Reading("r4"), key).expect("cleared"))
}

fn weighed(text: &str, figure: &str) -> String {
    set(text, Place::Reading("r4"), "weigh", &figure.into()).expect("set")
}

/// What a plan says of a reading: lines of findings, and the range beside the figure.
fn told(plan: &Plan, id: &str) -> (Vec<(usize, String)>, Option<f64>, f64) {
    let findings = plan.findings.iter().map(|f| (f.line, f.message.clone())).collect();
    let expected = plan.steps.iter().flat_map(|s| &s.expects).find(|e| e.reading == id).expect("expected");
    (findings, expected.found, expected.interval.as_ref().map_or(f64::NAN, |i| i.median))
}

/// Entered figures change what was found and the lines of the findings, and a plan made anew says the same.
#[test]
fn a_plan_stands_when_something_is_weighed() {
    let (before, text) = (read(&waiting()), weighed(&waiting(), "43.90 g"));
    let now = read(&text);
    let plan = prep::plan(&before);
    let again = plan_again(&now, &before, &plan).expect("it stands");
    let (findings, found, median) = told(&again, "r4");
    let (anew, found_anew, median_anew) = told(&prep::plan(&now), "r4");
    assert_eq!((findings, found), (anew, found_anew));
    assert!((median - median_anew).abs() < 0.05 && found == Some(43.90), "{median} {median_anew} {found:?}");
    let longer = format!("# a remark\n# and another\n{text}");
    let moved = plan_again(&read(&longer), &before, &plan);
    assert!(moved.is_none_or(|moved| told(&moved, "r4").0 == told(&prep::plan(&read(&longer)), "r4").0));
}

/// The range of a second weighing of the same lot on the same balance is that of the first.
#[test]
fn a_further_reading_has_the_range_of_the_first() {
    let before = read(BLUESTONE);
    let plan = prep::plan(&before);
    let another = NewReading {
        weigh: Some("43.91 g".to_owned()),
        of: Some("precipitate".to_owned()),
        with: "pocket balance".to_owned(),
        ..NewReading::default()
    };
    let (text, id) = add_reading(BLUESTONE, "dry", &another).expect("added");
    let again = plan_again(&read(&text), &before, &plan).expect("it stands");
    assert_eq!(told(&again, &id).2, told(&plan, "r4").2);
    assert_eq!(told(&again, &id).1, Some(43.91));
    // What nobody planned has no range yet.
    let new = NewReading { of: Some("bulk oxide".to_owned()), ..another };
    let (text, _) = add_reading(BLUESTONE, "ignite", &new).expect("added");
    assert!(plan_again(&read(&text), &before, &plan).is_none());
}

#[test]
fn a_changed_plan_is_made_anew() {
    let before = read(BLUESTONE);
    let plan = prep::plan(&before);
    for (from, to) in [
        ("\"126 g\"", "\"130 g\""),
        ("4 x 100 g", "3 x 100 g"),
        ("\"350 ± 5 g\"", "\"150 ± 5 g\""),
        ("capacity      = \"50 g\"", "capacity      = \"26 g\""),
        ("assay = \">= 98 %\"", "assay = \">= 90 %\""),
    ] {
        let changed = BLUESTONE.replacen(from, to, 1);
        assert_ne!(changed, BLUESTONE, "{from}");
        assert!(plan_again(&read(&changed), &before, &plan).is_none(), "{from}");
    }
}
