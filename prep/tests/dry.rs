//! Series of weighings against gravimetric practice, and slips in them.

use prep::ask::{DryOptions, dry};
use prep::outcome::DryAnswer;

fn read(weighings: &[&str], options: &DryOptions<'_>) -> DryAnswer {
    dry(weighings, options).unwrap_or_else(|findings| panic!("{findings:?}"))
}

fn codes(answer: &DryAnswer) -> Vec<&'static str> {
    answer.findings.iter().map(|f| f.code).collect()
}

/// "Constant mass": successive weighings that differ by no more than 0.50 mg in each gram (pharmacopoeial practice, from
/// memory).
#[test]
fn successive_weighings_within_half_a_milligram_in_a_gram_are_done() {
    let answer = read(&["24.4130 g", "24.4021 g", "24.4012 g", "24.4011 g"], &DryOptions::default());
    assert_eq!((answer.verdict, answer.tolerance), ("done", 5e-4));
    assert!(answer.within.is_some_and(|p| p > 0.95) && answer.findings.is_empty());
}

/// Epsom salt at 80 to 100 °C stops near the monohydrate: of 24.648 g heptahydrate (246.47 g/mol) 13.84 g are left (138.38 g/mol;
/// CIAAW atomic weights), and 12.04 g would be the dry salt.
#[test]
fn a_plateau_at_a_hydrate_is_named() {
    let series = ["24.65 g", "17.33 g", "15.00 g", "14.22 g", "13.96 g", "13.88 g", "13.85 g", "13.84 g"];
    let answer = read(&series, &DryOptions { of: Some("MgSO4.7H2O"), ..DryOptions::default() });
    assert!(codes(&answer).contains(&"plateau-at-hydrate"), "{answer:?}");
    let named = answer.findings.iter().find(|f| f.code == "plateau-at-hydrate").map(|f| f.message.clone());
    assert!(named.as_ref().is_some_and(|m| m.contains("MgSO4·H2O (13.8")), "{named:?}");
    assert_eq!(answer.levels.len(), 7);
    let (dry_salt, grams, _) = &answer.levels[6];
    assert!(dry_salt == "MgSO4" && (grams - 12.04).abs() < 0.01);
}

#[test]
fn what_is_out_of_line_is_asked_about() {
    let up = read(&["48.62 g", "46.10 g", "45.02 g", "44.55 g", "44.35 g", "44.60 g"], &DryOptions::default());
    assert_eq!((up.verdict, codes(&up)), ("out of line", vec!["weighing-out-of-line"]));
    let on = read(&["48.62 g", "46.10 g", "45.02 g", "44.55 g", "44.35 g", "44.26 g"], &DryOptions::default());
    assert_eq!((on.verdict, codes(&on)), ("not yet", vec![]));
}

/// A kitchen balance cannot show 0.05 % of 20 g.
#[test]
fn a_coarse_balance_is_named() {
    let answer = read(&["21.3 g", "20.5 g", "20.2 g", "20.1 g"], &DryOptions::default());
    assert!(codes(&answer).contains(&"balance-too-coarse"));
    let finer = read(
        &["21.3 g", "20.5 g", "20.2 g", "20.1 g"],
        &DryOptions { tolerance: Some("0.2 g"), ..DryOptions::default() },
    );
    assert!(!codes(&finer).contains(&"balance-too-coarse"));
}

/// A thick layer, drying as exp(−√t): it looks still, but does not follow the curve, so it is not called done.
#[test]
fn a_thick_layer_is_not_called_done() {
    let weighings: Vec<String> = (0..14)
        .map(|i| {
            let hours = 0.25 * f64::from(i);
            format!("{hours} h {:.4} g", 20.0 + 0.4 * (-hours.powf(0.6)).exp())
        })
        .collect();
    let series: Vec<&str> = weighings.iter().map(String::as_str).collect();
    let answer = read(&series, &DryOptions { deviation: Some("4 mg"), ..DryOptions::default() });
    assert_eq!((answer.verdict, codes(&answer)), ("not yet", vec!["not-one-curve"]));
}

#[test]
fn two_weighings_lead_nowhere() {
    let answer = read(&["5.00 g", "4.00 g"], &DryOptions::default());
    assert!(answer.verdict == "too few" && codes(&answer).contains(&"too-few-weighings"), "{answer:?}");
}

#[test]
fn times_in_any_unit_lead_to_the_same() {
    let hours = read(&["0 h 24 g", "0.5 h 22.83 g", "1.5 h 21.41 g", "2 h 21.00 g"], &DryOptions::default());
    let minutes = read(&["0 min: 24 g", "30 min 22.83 g", "90 min, 21.41 g", "2 h 21,00 g"], &DryOptions::default());
    let end = |a: &DryAnswer| a.final_mass.as_ref().map(|m| m.mean).unwrap_or(0.0);
    assert!((end(&hours) - 20.0).abs() < 1.0 && (end(&hours) - end(&minutes)).abs() < 1e-9, "{hours:?}");
}

#[test]
fn slips_are_named_with_their_place() {
    let told = |weighings: &[&str], options: DryOptions<'_>| {
        let findings = dry(weighings, &options).expect_err("a slip");
        findings.iter().map(|f| (f.code, f.line)).collect::<Vec<_>>()
    };
    let none = DryOptions::default();
    assert_eq!(told(&["5 g"; 201], none), [("too-many-weighings", 1)]);
    assert_eq!(
        told(&["48.62 g", "46.10", "soon", "-3 g"], none),
        [("bad-weighing", 2), ("bad-weighing", 3), ("bad-weighing", 4)]
    );
    assert_eq!(told(&["1 h 5 g", "0.5 h 4 g"], none), [("times-out-of-order", 2)]);
    assert_eq!(told(&["5 g", "4 g"], DryOptions { of: Some("CuSO4·"), ..none }), [("bad-formula", 1)]);
    assert_eq!(told(&["5 g", "4 g"], DryOptions { deviation: Some("0 g"), ..none }), [("bad-quantity", 1)]);
    assert_eq!(told(&["5 g", "4 g"], DryOptions { tolerance: Some("150 %"), ..none }), [("out-of-range", 1)]);
    assert_eq!(told(&["5 g", "4 g"], DryOptions { tolerance: Some("1 mL"), ..none }), [("bad-quantity", 1)]);
}
