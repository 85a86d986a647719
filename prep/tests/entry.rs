//! Is a slip noticed at entry and named, and does a correction say what it changed? Figures worked by hand on invented
//! preparations.

use prep::Preparation;
use prep::outcome::{Entry, Finding, Standing};

const BLUESTONE: &str = include_str!("../../examples/bluestone.toml");

fn read(text: &str) -> Preparation {
    let reading = prep::read(text.as_bytes());
    reading.preparation.unwrap_or_else(|| panic!("{:?}", reading.findings))
}

fn entry(text: &str, id: &str) -> Entry {
    prep::entry(&read(text), id).expect("a reading")
}

fn first_slip(entry: &Entry) -> (&str, &str) {
    entry.slips.first().map_or(("none", ""), |s| (s.slip.as_str(), s.figure.as_str()))
}

/// Crucible 25.130 g, with the portion 27.130 g, after ignition 26.522 g: the residue is 1.392 g. Malachite and azurite
/// with water up to a molecule leave between 1.28 and 1.44 g of copper(II) oxide of 2.000 g.
#[test]
fn figures_that_were_to_be_expected_pass() {
    for id in ["r4", "r6", "r7"] {
        let told = entry(BLUESTONE, id);
        assert_eq!((told.verdict, told.slips.len()), (Standing::Inside, 0), "{told:?}");
        let expected = told.expected.expect("an interval");
        assert!(told.found.is_some_and(|found| (expected.median - found).abs() < 3.0), "{expected:?}");
    }
    let residue = entry(BLUESTONE, "r7").expected.expect("an interval");
    assert!(residue.low > 25.130 + 1.25 && residue.high < 25.130 + 1.44, "{residue:?}");
    // Nothing is known of an empty crucible.
    let empty = entry(BLUESTONE, "r5");
    assert_eq!((empty.verdict, &empty.expected), (Standing::NothingToGoBy, &None));
    assert_eq!(prep::entry(&read(BLUESTONE), "r9"), None);
}

/// 26.252 g leaves a residue of 1.122 g, a loss of 43.9 %: nothing listed loses so much. With two digits swapped it is
/// 26.522 g.
#[test]
fn swapped_digits_are_questioned_and_named() {
    let text = BLUESTONE.replace("\"26.522 g\"", "\"26.252 g\"");
    let told = entry(&text, "r7");
    assert_eq!(told.verdict, Standing::Stop);
    assert!(told.off.is_some_and(|off| off < -6.0));
    assert_eq!(first_slip(&told), ("adjacent digits swapped", "26.522 g"));
    assert_eq!(told.displayed.as_deref(), Some("26.252 g"), "the figure stays as it was typed");
    // The figures before it are not touched by it.
    assert_eq!(entry(&text, "r6"), entry(BLUESTONE, "r6"));
}

#[test]
fn other_slips_are_named() {
    for (id, right, wrong, slip) in [
        ("r4", "43.90 g", "439.0 g", "decimal point moved"),
        ("r4", "43.90 g", "4.390 g", "decimal point moved"),
        ("r4", "43.90 g", "43.90 mg", "mg for g"),
        ("r6", "27.130 g", "2.000 g", "written without `crucible 3`"),
        ("r7", "26.522 g", "1.392 g", "written without `crucible 3`"),
        ("r7", "26.522 g", "56.522 g", "one digit wrong"),
    ] {
        let told = entry(&BLUESTONE.replacen(&format!("\"{right}\""), &format!("\"{wrong}\""), 1), id);
        assert_eq!(told.verdict, Standing::Stop, "{wrong}: {told:?}");
        let named: Vec<&str> = told.slips.iter().map(|s| s.slip.as_str()).collect();
        assert!(named.contains(&slip), "{wrong}: {:?}", told.slips);
    }
    // The precipitate with crucible 3 still on the pan, once its mass is known.
    let known = BLUESTONE.replace("name = \"crucible 3\"", "name = \"crucible 3\"\ntare = \"25.130 ± 0.002 g\"");
    let told = entry(&known.replace("\"43.90 g\"", "\"69.03 g\""), "r4");
    assert!(told.slips.iter().any(|s| s.slip == "with `crucible 3` on the pan" && s.figure == "43.90 g"), "{told:?}");
}

/// Of three crucibles the wrong one: 24.871 g in place of 25.130 g.
#[test]
fn another_vessel_is_named() {
    let other = "[[vessel]]\nname = \"crucible 4\"\ntare = \"24.871 ± 0.001 g\"\n\n[[vessel]]\nname     = \"beaker\"";
    let text = BLUESTONE.replace("[[vessel]]\nname     = \"beaker\"", other).replace("\"27.130 g\"", "\"26.771 g\"");
    // The portion is expected within 10 % of 2 g, so only a figure that is far off is questioned.
    assert_eq!(entry(&text, "r6").verdict, Standing::Inside);
    let text = text.replace("\"26.771 g\"", "\"27.130 g\"").replace("\"26.522 g\"", "\"26.263 g\"");
    let told = entry(&text, "r7");
    let named = told.slips.iter().find(|s| s.slip == "`crucible 4` on the pan in place of `crucible 3`");
    assert_eq!(named.map(|s| s.figure.as_str()), Some("26.522 g"), "{told:?}");
}

/// What is still to be read has its interval; what is weighed out is only aimed at.
#[test]
fn readings_to_come_and_charges() {
    let open = BLUESTONE.replace("  weigh = \"26.522 g\"\n", "");
    let told = entry(&open, "r7");
    assert_eq!((told.verdict, told.found), (Standing::ToBeRead, None));
    assert_eq!(told.expected, entry(BLUESTONE, "r7").expected);
    let charge = |grams: &str| {
        let reading = format!(
            "gives    = {{ \"blue liquor\" = \"all\" }}\n[[step.reading]]\nid = \"c1\"\nweigh = \"{grams}\"\ncharge = \"bluestone\"\nwith = \"pocket balance\"\n"
        );
        entry(&BLUESTONE.replacen("gives    = { \"blue liquor\" = \"all\" }\n", &reading, 1), "c1")
    };
    assert_eq!(charge("98.30 g").verdict, Standing::Inside);
    assert_eq!(
        (charge("10.00 g").verdict, first_slip(&charge("10.00 g"))),
        (Standing::Stop, ("decimal point moved", "100.0 g"))
    );
    assert_eq!(charge("300.00 g").verdict, Standing::Stop, "more than the balance carries");
}

fn codes(findings: &[Finding]) -> Vec<&str> {
    findings.iter().map(|f| f.code).filter(|c| matches!(*c, "slip-suspected" | "reading-off-prediction")).collect()
}

/// One slip, one finding, with the name of the slip.
#[test]
fn the_account_speaks_with_one_voice() {
    let text = BLUESTONE.replace("\"26.522 g\"", "\"26.252 g\"");
    let findings = prep::live_account(&read(&text)).findings;
    assert_eq!(codes(&findings), ["slip-suspected"]);
    let slip = findings.iter().find(|f| f.code == "slip-suspected").expect("a finding");
    assert!(
        slip.message.contains("`r7`") && slip.hints.concat().contains("26.522 g (adjacent digits swapped)"),
        "{slip:?}"
    );
    assert_eq!(prep::readings_in_question(&read(&text)), std::slice::from_ref(slip));
    assert!(prep::readings_in_question(&read(BLUESTONE)).is_empty());
}

/// Two slips at once: no single one explains the readings, so each reading is held against those before it.
#[test]
fn two_slips_are_both_told() {
    let text = BLUESTONE.replace("\"43.90 g\"", "\"143.90 g\"").replace("\"26.522 g\"", "\"28.522 g\"");
    let findings = prep::live_account(&read(&text)).findings;
    assert_eq!(codes(&findings), ["reading-off-prediction"; 2], "{findings:#?}");
    let told: Vec<&Finding> = findings.iter().filter(|f| f.code == "reading-off-prediction").collect();
    assert!(told[0].message.contains("`r4` (143.90 g)") && told[1].message.contains("`r7` (28.522 g)"), "{told:?}");
    assert!(told[1].hints.concat().contains("26.522 g (one digit wrong)"), "{:?}", told[1].hints);
}

/// Bluestone with the residue corrected from 26.252 g to 26.522 g.
fn corrected() -> String {
    let reading = "\n  [[step.reading]]\n  id = \"r8\"\n  weigh = \"26.522 g\"\n  of = \"residue\"\n  in = \"crucible 3\"\n  with = \"milligram balance\"\n  at = 2026-05-02T16:50:00\n  corrects = \"r7\"\n  reason = \"digits swapped\"\n\n[[step]]\nname        = \"ignite\"\n";
    BLUESTONE.replace("\"26.522 g\"", "\"26.252 g\"").replacen("\n[[step]]\nname        = \"ignite\"\n", reading, 1)
}

/// Before: 1.122 g of 2.000 g as copper(II) oxide, of 43.9 g, is 19.68 g copper (0.7989 of the oxide), 78.1 % of 25.19 g.
/// After: 1.392 g gives 24.41 g, 96.9 %.
#[test]
fn a_correction_says_what_it_changed() {
    let account = prep::live_account(&read(&corrected()));
    let [change] = account.changes.as_slice() else { panic!("{:?}", account.changes) };
    assert_eq!((change.reading.as_str(), change.corrects.as_str()), ("r8", "r7"));
    assert_eq!((change.from.as_str(), change.to.as_str()), ("26.252 g", "26.522 g"));
    assert_eq!(change.reason.as_deref(), Some("digits swapped"));
    let quoted = change.quoted.iter().find(|q| q.lot == "precipitate").expect("the yield by ignition");
    let percent = |f: &Option<prep::outcome::Figure>| f.as_ref().map(|f| f.value).expect("quoted");
    assert!((percent(&quoted.before) - 78.1).abs() < 0.1 && (percent(&quoted.after) - 96.9).abs() < 0.1, "{quoted:?}");
    let lots: Vec<&str> = change.lots.iter().map(|l| l.lot.as_str()).collect();
    assert_eq!(lots, ["copper oxide", "residue"]);
    assert!(change.lots.iter().all(|l| l.element == "Cu"));
    // What stands is what the file without the slip gives.
    let plain = prep::live_account(&read(BLUESTONE));
    let product =
        |a: &prep::outcome::Account| a.lots.iter().find(|l| l.id == "copper oxide").map(|l| l.elements[0].mass.clone());
    assert_eq!(Some(&change.lots[0].after), product(&plain).as_ref());
    assert_eq!(product(&account), product(&plain));
    let (before, after) = change.overall.as_ref().expect("yields");
    assert!(before.mean > 0.0 && (after.mean - plain.yields.expect("yields").overall.mean).abs() < 1e-12);
    assert!(plain.changes.is_empty());
}

/// A correction of a correction: each step is told from what stood before it.
#[test]
fn corrections_of_corrections_are_told_one_by_one() {
    let more = "\n  [[step.reading]]\n  id = \"r9\"\n  weigh = \"26.525 g\"\n  of = \"residue\"\n  in = \"crucible 3\"\n  with = \"milligram balance\"\n  at = 2026-05-02T17:00:00\n  corrects = \"r8\"\n  reason = \"weighed again\"\n\n[[step]]\nname        = \"ignite\"\n";
    let text = corrected().replacen("\n[[step]]\nname        = \"ignite\"\n", more, 1);
    let changes = prep::live_account(&read(&text)).changes;
    let told: Vec<(&str, &str)> = changes.iter().map(|c| (c.from.as_str(), c.to.as_str())).collect();
    assert_eq!(told, [("26.252 g", "26.522 g"), ("26.522 g", "26.525 g")]);
    assert_eq!(changes[0].lots[0].after, changes[1].lots[0].before);
}
