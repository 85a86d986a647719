//! Several runs of one preparation: agreement, disagreement, and what all share.

use prep::Preparation;
use prep::outcome::Replicates;

const BLUESTONE: &str = include_str!("../../examples/bluestone.toml");

/// The example with another mass of dried precipitate and of residue.
fn run(precipitate: &str, residue: &str) -> Preparation {
    let text = BLUESTONE.replace("\"43.90 g\"", precipitate).replace("\"26.522 g\"", residue);
    prep::read(text.as_bytes()).preparation.expect("reads")
}

fn compared(runs: &[(&str, Preparation)]) -> Replicates {
    let runs: Vec<(String, Preparation)> = runs.iter().map(|(name, run)| ((*name).to_owned(), run.clone())).collect();
    prep::replicates(&runs, None, &mut |_| {}).expect("comparable")
}

/// One record read twice: no difference, and of the uncertainty only the own part shrinks, by √2.
#[test]
fn the_same_run_twice_agrees_with_itself() {
    let first = run("\"43.90 g\"", "\"26.522 g\"");
    let both = compared(&[("a", first.clone()), ("b", first)]);
    let overall = &both.quantities[0];
    let u = overall.runs[0].standard_uncertainty;
    // Nothing but the rounding of a weighted mean.
    assert!(overall.agree && overall.chi_squared < 1e-20 && overall.between_runs < 1e-12, "{overall:?}");
    let expected = (0.5 * (u * u - overall.shared.powi(2)) + overall.shared.powi(2)).sqrt();
    let found = overall.mean.standard_uncertainty.expect("told");
    assert!((found - expected).abs() < 1e-9, "{found} and {expected}");
    // The label's 98 to 100 % is a rectangle of 0.58 % for both: most of what is shared.
    assert!((0.4..0.62).contains(&overall.shared), "{}", overall.shared);
    assert_eq!(both.shared, ["bluestone", "pocket balance", "milligram balance"]);
}

/// Nearly three grams of copper carbonate left on the filter of the third run: found, and found in the filter step.
#[test]
fn a_run_that_lost_more_is_found_where_it_lost_it() {
    let runs = [
        ("a", run("\"43.90 g\"", "\"26.522 g\"")),
        ("b", run("\"43.86 g\"", "\"26.522 g\"")),
        ("c", run("\"41.10 g\"", "\"26.522 g\"")),
    ];
    let all = compared(&runs);
    let overall = &all.quantities[0];
    assert!(!overall.agree && overall.probability < 1e-6 && overall.between_runs > 2.0, "{overall:?}");
    let steps = &all.quantities[1..];
    let differing: Vec<&str> = steps.iter().filter(|s| !s.agree).map(|s| s.name.as_str()).collect();
    assert_eq!(differing, ["step filter"]);
    let two = compared(&runs[..2]);
    assert!(two.quantities.iter().all(|q| q.agree), "{:?}", two.quantities);
}
