//! Is a series of weighings within a step judged as one by itself is?
//!
//! The series is that of the geometric extrapolation worked by hand: 48.62, 46.10, 45.02, 44.55, 44.35 g at equal
//! intervals lead to 44.20 g (Aitken's δ² process, 1926). Molar masses: IUPAC 2021, abridged.

use prep::Preparation;
use prep::edit::{EditError, weigh_again};
use prep::outcome::{Finding, WeighedSeries};

const BLUESTONE: &str = include_str!("../../examples/bluestone.toml");
const SERIES: [f64; 5] = [48.62, 46.10, 45.02, 44.55, 44.35];

fn read(text: &str) -> Preparation {
    let reading = prep::read(text.as_bytes());
    reading.preparation.unwrap_or_else(|| panic!("{:?}\n{text}", reading.findings))
}

/// Bluestone with these weighings of the precipitate, an hour apart.
fn dried(grams: &[f64]) -> String {
    let list: Vec<String> = grams.iter().map(|g| format!("\"{g:.2} g\"")).collect();
    let weigh = format!("weigh = [{}]\n  every = \"1 h\"", list.join(", "));
    let text = BLUESTONE.replace("weigh = \"43.90 g\"", &weigh);
    // Only what is dried is looked at here; the portion would tell another story.
    text.split("[[step]]\nname     = \"divide\"").next().expect("a beginning").to_owned()
}

fn series(text: &str) -> WeighedSeries {
    let mut list = prep::live_account(&read(text)).series;
    assert_eq!(list.len(), 1);
    list.remove(0)
}

fn told<'a>(findings: &'a [Finding], code: &str) -> Option<&'a Finding> {
    findings.iter().find(|f| f.code == code)
}

#[test]
fn a_series_is_judged_and_its_last_figure_counts() {
    let text = dried(&SERIES);
    let account = prep::live_account(&read(&text));
    let found = series(&text);
    assert_eq!((found.reading.as_str(), found.step.as_str(), found.basis), ("r4", "dry", "as displayed"));
    let end = found.answer.final_mass.as_ref().expect("a final mass");
    assert!((end.mean - 44.20).abs() < 0.02 && found.answer.verdict == "not yet", "{:?}", found.answer);
    // 0.15 g of 44.20 g: 0.34 %; ln(0.15 / 0.0221) / ln(1 / 0.43) = 2.3 intervals.
    let left = found.answer.remaining.as_ref().expect("something is left");
    assert!((left.mean - 0.15).abs() < 0.02, "{left:?}");
    let intervals = found.answer.intervals.as_ref().expect("some are left");
    assert!((intervals.median - 2.3).abs() < 0.3, "{intervals:?}");
    let finding = told(&account.findings, "not-constant").expect("a finding");
    assert!(finding.message.contains("`r4`") && finding.message.contains("(0.3"), "{finding:?}");
    let line = text.lines().nth(finding.line - 1).expect("a line");
    assert_eq!(
        line.chars().skip(finding.column - 1).collect::<String>(),
        "\"44.35 g\"]",
        "it points at the last figure"
    );
    // The last figure is the mass of the lot.
    let lot = account.lots.iter().find(|l| l.id == "precipitate").expect("the lot");
    assert!(lot.weighed.as_ref().is_some_and(|w| (w.value - 44.35).abs() < 1e-9));
    assert!((lot.mass.mean - 44.35).abs() < 0.02);
    // The plan and the check tell the same.
    assert_eq!(told(&prep::plan(&read(&text)).findings, "not-constant"), Some(finding));
}

/// The same figures as a question of their own give the same answer: there is one machinery.
#[test]
fn the_step_and_the_question_agree() {
    let texts: Vec<String> = SERIES.iter().map(|g| format!("{g:.2} g")).collect();
    let texts: Vec<&str> = texts.iter().map(String::as_str).collect();
    let options = prep::ask::DryOptions { deviation: Some("0.015 g"), ..Default::default() };
    let asked = prep::ask::dry(&texts, &options).expect("a series");
    let found = series(&dried(&SERIES)).answer;
    assert_eq!((&found.final_mass, &found.next, found.within), (&asked.final_mass, &asked.next, asked.within));
}

#[test]
fn what_was_predicted_is_not_done_and_a_rise_is_an_alarm() {
    let went_on = series(&dried(&[&SERIES[..], &[44.26]].concat())).answer;
    assert_eq!((went_on.verdict, went_on.out_of_line.len()), ("not yet", 0));
    let text = dried(&[&SERIES[..], &[44.60]].concat());
    assert_eq!(series(&text).answer.verdict, "out of line");
    let account = prep::live_account(&read(&text));
    let alarm = told(&account.findings, "weighing-out-of-line").expect("an alarm");
    assert!(alarm.message.contains("44.600 g where 44.26"), "{}", alarm.message);
    assert!(alarm.hints.concat().contains("taken up water") && alarm.hints.concat().contains("slip"), "{alarm:?}");
    let line = text.lines().nth(alarm.line - 1).expect("a line");
    assert!(line.chars().skip(alarm.column - 1).collect::<String>().starts_with("\"44.60 g\""), "{line}");
    assert_eq!(told(&account.findings, "not-constant"), None, "one voice");
    // Wet once more in the middle: the alarm points at that weighing.
    let text = dried(&[48.62, 46.10, 45.02, 44.55, 46.90, 45.40, 44.80]);
    let account = prep::live_account(&read(&text));
    let alarm = told(&account.findings, "weighing-out-of-line").expect("an alarm");
    let line = text.lines().nth(alarm.line - 1).expect("a line");
    assert!(line.chars().skip(alarm.column - 1).collect::<String>().starts_with("\"46.90 g\""), "{alarm:?}");
}

/// Unequal intervals: an exact decay to 44.20 g with a half-life of 50 min, rounded to the display.
#[test]
fn unequal_intervals_lead_to_the_same_end() {
    let hours = [0.0, 0.5, 1.5, 2.5, 4.5];
    let grams: Vec<f64> = hours.iter().map(|h| 44.20 + 4.4 * 0.5f64.powf(h * 60.0 / 50.0)).collect();
    let after: Vec<String> = hours.iter().map(|h| format!("\"{h} h\"")).collect();
    let text = dried(&grams).replace("every = \"1 h\"", &format!("after = [{}]", after.join(", ")));
    let end = series(&text).answer.final_mass.expect("a final mass");
    assert!((end.mean - 44.20).abs() < 3.0 * end.standard_uncertainty && end.standard_uncertainty < 0.05, "{end:?}");
}

/// A lot of 24.647 g Epsom salt (246.47 g/mol) comes to rest at 13.838 g, the monohydrate (138.38 g/mol); dry it would
/// weigh 12.037 g (120.37 g/mol).
fn epsom(grams: &[f64]) -> String {
    let list: Vec<String> = grams.iter().map(|g| format!("\"{:.3} g\"", 25.130 + g)).collect();
    format!(
        "title = \"Invented\"\naccount_for = \"Mg\"\n\
         [[supply]]\nname = \"epsom\"\nlabel = \"epsom salt\"\nholds = \"MgSO4·7H2O(s)\"\nassay = \"100 %\"\n\
         [[instrument]]\nname = \"b\"\nkind = \"balance\"\nresolution = \"0.001 g\"\nrepeatability = \"0.002 g\"\n\
         [[vessel]]\nname = \"dish\"\n\
         [[step]]\nname = \"dry\"\naction = \"dry\"\ntake = {{ epsom = \"24.647 g\" }}\nloss = \"none\"\n\
         may_hold = [\"MgSO4·nH2O(s), n = 0 .. 7\"]\ngives = {{ dried = \"all\" }}\n\
         [[step.reading]]\nid = \"r0\"\nweigh = \"25.130 g\"\nin = \"dish\"\nwith = \"b\"\n\
         [[step.reading]]\nid = \"r1\"\nweigh = \"24.647 g\"\ncharge = \"epsom\"\nwith = \"b\"\n\
         [[step.reading]]\nid = \"r2\"\nweigh = [{}]\nevery = \"30 min\"\nof = \"dried\"\nin = \"dish\"\nwith = \"b\"\n",
        list.join(", ")
    )
}

#[test]
fn a_plateau_is_compared_with_the_hydrates_that_the_lot_may_hold() {
    let text = epsom(&[18.2, 15.2, 14.259, 13.969, 13.879, 13.851, 13.842, 13.839, 13.838]);
    let found = series(&text);
    assert_eq!((found.basis, found.answer.verdict), ("without the vessel", "done"), "{:?}", found.answer);
    let level = |name: &str| found.answer.levels.iter().find(|(n, ..)| n == name).expect("a level");
    assert!((level("MgSO4").1 - 12.037).abs() < 0.01 && level("MgSO4").2.is_some_and(|o| o > 50.0));
    assert!((level("MgSO4·H2O").1 - 13.838).abs() < 0.01 && level("MgSO4·H2O").2.is_some_and(|o| o.abs() < 2.0));
    assert_eq!(found.answer.levels.len(), 8);
    let findings = prep::live_account(&read(&text)).findings;
    let plateau = told(&findings, "plateau-at-hydrate").expect("a finding");
    assert!(plateau.message.contains("MgSO4·H2O (13.8") && plateau.message.contains("consistent with"), "{plateau:?}");
    assert!(plateau.line > 0);
    let dry = series(&epsom(&[18.2, 14.1, 12.653, 12.220, 12.090, 12.052, 12.041, 12.038, 12.037]));
    assert_eq!(dry.answer.verdict, "done");
    assert!(dry.answer.findings.iter().all(|f| f.code != "plateau-at-hydrate"));
}

#[test]
fn a_further_weighing_is_added_to_the_list() {
    let text =
        "[[step]]\nname = \"dry\"\n  [[step.reading]]\n  id = \"r1\"   # cake\n  weigh = \"48.62g\"\n  with = \"b\"\n";
    let timed = weigh_again(text, "r1", "46.10 g", Some("0.5 h")).expect("added");
    assert!(
        timed.contains("weigh = [\"48.62 g\", \"46.10 g\"]") && timed.contains("after = [\"0 h\", \"0.5 h\"]"),
        "{timed}"
    );
    let more = weigh_again(&timed, "r1", "45.02 g", Some("1.5 h")).expect("added");
    assert!(more.contains("\"45.02 g\"]") && more.contains("after = [\"0 h\", \"0.5 h\", \"1.5 h\"]"), "{more}");
    assert!(more.contains("# cake"));
    assert_eq!(weigh_again(text, "r1", "46.10 g", None), Err(EditError::WrongShape("after".to_owned())));
    let spaced = text.replace("with", "every = \"1 h\"\n  with");
    assert!(
        weigh_again(&spaced, "r1", "46.10 g", None).is_ok_and(|t| t.contains("[\"48.62 g\", \"46.10 g\"]\n  every"))
    );
    assert_eq!(weigh_again(&spaced, "r1", "46.10 g", Some("1 h")), Err(EditError::WrongShape("after".to_owned())));
    let first = text.replace("  weigh = \"48.62g\"\n", "");
    assert!(weigh_again(&first, "r1", "48.62 g", None).is_ok_and(|t| t.contains("weigh = \"48.62 g\"")));
    assert!(weigh_again(text, "r9", "46.10 g", None).is_err());
}

/// What a tidy file keeps: the list, its times, its model.
#[test]
fn a_series_is_laid_out_and_kept() {
    let text = dried(&SERIES)
        .replace("\"46.10 g\"", "\"46,10g\"")
        .replace("every = \"1 h\"", "constant_within = \"0.1%\"\n  every = \"60min\"");
    let tidy = prep::tidy(text.as_bytes()).expect("laid out");
    assert!(
        tidy.contains("\"48.62 g\", \"46.10 g\"") && tidy.contains("\"60 min\"") && tidy.contains("\"0.1 %\""),
        "{tidy}"
    );
    let same = |text: &str| {
        read(text).steps[4].readings[0].series.clone().map(|s| (s.times, s.texts.len(), s.constant_within))
    };
    assert_eq!(same(&tidy), same(&text));
    assert_eq!(same(&tidy), Some((vec![0.0, 3600.0, 7200.0, 10800.0, 14400.0], 5, Some(0.001))));
}
