//! Losses learned from the user's own closed preparations. All preparations are invented.

use prep::World;
use std::collections::BTreeMap;

/// Fifty grams of table salt dried, by this loss; closed or not.
fn drying(head: &str, dried: &str) -> String {
    format!(
        r#"title = "Salt dried"
account_for = "Na"
{head}

[[supply]]
name = "salt"
holds = "NaCl(s)"
assay = "100 %"

[[instrument]]
name = "balance"
kind = "balance"
resolution = "0.001 g"

[[step]]
name = "dry"
action = "dry"
take = {{ salt = "50.000 g" }}
temperature = "105 °C"
may_hold = ["NaCl(s)"]
gives = {{ dried = "all" }}
  [[step.reading]]
  id = "c1"
  weigh = "50.000 g"
  charge = "salt"
  with = "balance"
  [[step.reading]]
  id = "r1"
  {dried}
  of = "dried"
  with = "balance"
"#
    )
}

/// A folder of files.
#[derive(Clone)]
struct Shelf(BTreeMap<String, String>);

impl World for Shelf {
    fn open(&self, file: &str) -> Result<(Vec<u8>, Box<dyn World>), String> {
        let text = self.0.get(file).ok_or_else(|| "it is not there".to_owned())?;
        Ok((text.clone().into_bytes(), Box::new(self.clone())))
    }

    fn list(&self, folder: &str) -> Result<Vec<String>, String> {
        let inside = |name: &&String| name.starts_with(&format!("{folder}/"));
        let names: Vec<String> = self.0.keys().filter(inside).cloned().collect();
        if names.is_empty() { Err("it is not there".to_owned()) } else { Ok(names) }
    }
}

fn shelf() -> Shelf {
    let mut files = BTreeMap::new();
    // 0.44 to 0.52 % lost each time, at the upper end of what is usual (0.1 to 0.5 %).
    for (i, dried) in ["49.76", "49.74", "49.78", "49.75", "49.77"].iter().enumerate() {
        let text = drying("closed = 2026-05-04", &format!("weigh = \"{dried}0 g\""));
        files.insert(format!("runs/run{i}.toml"), text);
    }
    files.insert("runs/open.toml".to_owned(), drying("", "weigh = \"49.990 g\""));
    Shelf(files)
}

/// Expected mass of the dried salt in the plan of a file with this head, g, with the findings of reading it.
fn expected(head: &str) -> (f64, f64, Vec<prep::outcome::Finding>) {
    let reading = prep::read_beside(drying(head, "").as_bytes(), &shelf());
    let preparation = reading.preparation.unwrap_or_else(|| panic!("{:#?}", reading.findings));
    let plan = prep::plan(&preparation);
    let step = plan.steps.iter().find(|step| step.name == "dry").expect("planned");
    let told = step.expects.iter().find(|e| e.reading == "r1").expect("expected");
    let interval = told.interval.as_ref().expect("a mass");
    (interval.mean, interval.standard_uncertainty, reading.findings)
}

/// A hand that always loses much is expected to lose much; without the line the default holds.
#[test]
fn the_plan_goes_by_the_own_history_where_asked() {
    let (usual, wide, none) = expected("");
    let (own, narrow, told) = expected("learn_from = \"runs\"");
    assert!(none.iter().all(|f| f.code != "losses-learned"));
    let note = told.iter().find(|f| f.code == "losses-learned").expect("said");
    assert!(
        note.message.contains("5 closed preparations") && note.message.contains("default 0.10 to 0.50 %"),
        "{}",
        note.message
    );
    assert!(own < usual - 0.5 * wide, "{own} {usual}");
    assert!((own - 49.76).abs() < 0.03 && narrow < wide, "{own} ± {narrow}");
    // Files one by one say the same as their folder.
    let list: Vec<String> = (0..5).map(|i| format!("\"runs/run{i}.toml\"")).collect();
    let (same, _, _) = expected(&format!("learn_from = [{}]", list.join(", ")));
    assert!((same - own).abs() < 1e-9);
}

/// Without runs of an action nothing is learned of it, and the defaults stand beside what was learned.
#[test]
fn what_is_learned_stands_beside_the_default() {
    let shelf = shelf();
    let closed: Vec<prep::Preparation> =
        shelf.0.values().map(|text| prep::read(text.as_bytes()).preparation.expect("sound")).collect();
    let learned = prep::history::learn(&closed);
    let share = learned.iter().find(|own| own.what == prep::losses::Usual::Fraction).expect("dried");
    assert_eq!((share.runs, share.telling), (5, 5), "the open one is not counted");
    assert!((share.default.0 - 0.001).abs() < 1e-6 && (share.default.1 - 0.005).abs() < 1e-6);
    assert!(share.medians.1 > share.medians.0 && share.learned.0 > share.default.0);
    assert!(learned.iter().all(|own| own.action == prep::model::Action::Dry));
}

/// A history that cannot be read is told of; a ring of histories ends.
#[test]
fn histories_that_cannot_be_read() {
    let reading = prep::read_beside(drying("learn_from = \"nowhere\"", "").as_bytes(), &shelf());
    assert!(reading.findings.iter().any(|f| f.code == "history-unreadable" && f.line == 3));
    let mut ring = shelf();
    for text in ring.0.values_mut() {
        *text = text.replace("closed = 2026-05-04", "closed = 2026-05-04\nlearn_from = \"runs\"");
    }
    let reading = prep::read_beside(drying("learn_from = \"runs\"", "").as_bytes(), &ring);
    assert!(reading.preparation.is_some());
}
