//! Does the evidence carry what is said? Causes with probabilities, the next test, claims, budgets, tests of portions.
//!
//! Invented examples; where a number is checked it is worked out beside the check.

use prep::outcome::{Account, Hypothesis, Next, Verdict};
use prep::{AccountSettings, Fits, Preparation};

const BLUESTONE: &str = include_str!("../../examples/bluestone.toml");
const EPSOM: &str = include_str!("../../examples/epsom-magnesia.toml");

const THIRTY_STEPS: &str = include_str!("../benches/preparations/thirty-steps.toml");

#[track_caller]
fn read(text: &str) -> Preparation {
    let reading = prep::read(text.as_bytes());
    reading.preparation.unwrap_or_else(|| panic!("{:?}", reading.findings))
}

fn with_test(text: &str, test: &str) -> Preparation {
    read(&text.replace("  at    = 2026-05-02T11:20:00\n", &format!("  at    = 2026-05-02T11:20:00\n\n{test}\n")))
}

fn copper(account: &Account, lot: &str) -> (f64, f64) {
    let lot = account.lots.iter().find(|l| l.id == lot).expect("the lot");
    (lot.elements[0].mass.mean, lot.elements[0].mass.standard_uncertainty)
}

fn bits(next: &Next, test: &str) -> (f64, f64) {
    next.tests.iter().find(|t| t.test == test).map_or((0.0, 0.0), |t| (t.information_bits, t.hypothesis_bits))
}

/// Without its portion test the precipitate is known by label, losses and what the file lists. A titre of 55.6 ± 0.1 %
/// copper makes it 43.90 g · 0.556 = 24.41 g, ± 43.90 · 0.001 = 0.044 g; one of 54.6 % makes it 23.97 g.
#[test]
fn a_titre_is_evidence() {
    let start = BLUESTONE.find("[[step]]\nname     = \"divide\"").expect("the step");
    let short = &BLUESTONE[..start];
    for (found, copper_found) in [("55.6 ± 0.1 %", 24.41), ("54.6 ± 0.1 %", 23.97)] {
        let test = format!(
            "  [[step.test]]\n  id = \"t1\"\n  kind = \"titre\"\n  of = \"precipitate\"\n  found = \"{found}\""
        );
        let (mean, u) = copper(&prep::live_account(&with_test(short, &test)), "precipitate");
        assert!((mean - copper_found).abs() < 0.05 && u < 0.05, "{found}: {mean} ± {u}");
    }
}

/// No gas with acid: nothing with carbonate in it fits, and nothing else is listed.
#[test]
fn a_reading_outside_every_prediction_is_an_alarm() {
    let test =
        "  [[step.test]]\n  id = \"t1\"\n  kind = \"gas with acid\"\n  of = \"precipitate\"\n  found = \"2 ± 3 mL/g\"";
    let account = prep::live_account(&with_test(BLUESTONE, test));
    assert!(account.findings.iter().any(|f| f.code == "nothing-fits"), "{:?}", account.findings);
    let fizz = "  [[step.test]]\n  id = \"t1\"\n  kind = \"fizz\"\n  of = \"precipitate\"\n  found = \"yes\"";
    let account = prep::live_account(&with_test(BLUESTONE, fizz));
    assert!(!account.findings.iter().any(|f| f.code == "nothing-fits"));
}

/// Malachite frees 1 mol CO2 for 2 mol Cu, azurite 2 for 3: 110.6 and 142 mL/g. 109 ± 3 mL/g leaves no room for azurite.
#[test]
fn gas_tells_malachite_from_azurite() {
    let test = "  [[step.test]]\n  id = \"t1\"\n  kind = \"gas with acid\"\n  of = \"precipitate\"\n  found = \"107 ± 3 mL/g\"";
    let account = prep::live_account(&with_test(BLUESTONE, test));
    // A little of it beside malachite no test can rule out: that is told as a larger mixture.
    let with_azurite = |h: &&Hypothesis| h.text.contains("Cu3(CO3)2(OH)2(s)");
    let needed = account.hypotheses.iter().filter(with_azurite).find(|h| h.group.is_some());
    assert!(needed.is_none(), "{needed:?}");
    let pure: Vec<_> = account.hypotheses.iter().filter(with_azurite).filter(|h| !h.text.contains("Cu2CO3")).collect();
    assert!(!pure.is_empty() && pure.iter().all(|h| !h.fits && h.probability < 1e-3), "{pure:?}");
    assert!(account.hypotheses.iter().any(|h| h.fits && h.text.contains("nH2O")));
}

/// Excess of magnesia: causes have probabilities that leave room for something else; all ways together are certain, so no
/// cause has more than the rest leaves.
#[test]
fn causes_have_probabilities() {
    let account = prep::live_account(&read(EPSOM));
    let found = account.findings.iter().find(|f| f.code == "impossible-mass").expect("impossible");
    let named: Vec<f64> = found.causes.iter().filter_map(|c| c.probability).collect();
    assert!(named.len() > 5 && named.iter().all(|p| (0.0..=1.0).contains(p)));
    assert!(named.iter().sum::<f64>() < 1.0 + 1e-9, "{named:?}");
    assert!(found.causes.iter().any(|c| c.cause.contains("together with")), "pairs are told as intervals");
}

/// A re-ignition that loses nothing rules water, hydroxide and carbonate out: what stays is salt, or a richer supply.
#[test]
fn a_reading_moves_the_weights() {
    let test = "  [[step.test]]\n  id = \"t1\"\n  kind = \"loss on ignition\"\n  of = \"magnesia\"\n  found = \"0.1 ± 0.2 %\"\n";
    let text = format!("{EPSOM}\n{test}");
    let probability = |text: &str, words: &str| {
        let account = prep::live_account(&read(text));
        let found = account.findings.iter().find(|f| f.code == "impossible-mass").expect("impossible").clone();
        let causes = found.causes.iter().filter(|c| c.cause.contains(words) && !c.cause.contains("together"));
        causes.filter_map(|c| c.probability).sum::<f64>()
    };
    assert!(probability(EPSOM, "hydroxide") > 0.03);
    assert!(probability(&text, "hydroxide") < 1e-3, "{}", probability(&text, "hydroxide"));
    assert!(probability(&text, "salt left unconverted") > 2.0 * probability(EPSOM, "salt left unconverted"));
}

/// With 2 % of sodium sulfate possible, the leach tells of the claim; without it there is nothing that it could find.
#[test]
fn an_occlusion_lifts_the_leach() {
    let start = BLUESTONE.find("[[suppose]]").expect("the supposition");
    let without = prep::next(&read(&BLUESTONE[..start]), None);
    let with = prep::next(&read(BLUESTONE), None);
    assert!(bits(&with, "leach").0 > 0.2 && bits(&without, "leach").0 < 0.01);
    assert!(without.stop && without.advice.contains("no further test would change the claim"), "{}", without.advice);
    assert!(!with.stop);
    assert!(with.tests.iter().all(|t| t.information_bits <= 1.0 && t.sample.value > 0.0));
}

/// A second look along the same axis adds nothing to speak of: leach after rinse, strong after common ignition.
#[test]
fn the_same_axis_is_not_counted_twice() {
    let next = prep::next(&read(BLUESTONE), None);
    let leach = next.tests.iter().find(|t| t.test == "leach").expect("a leach");
    assert_eq!(next.tests[0].test, "rinse conductivity");
    assert!(leach.hypothesis_bits > 0.4 && leach.added_bits < 0.05, "{leach:?}");
}

/// Water and hydroxide both lose all of the excess on ignition, and neither fizzes; loss on drying parts them. Magnesite
/// and hydromagnesite lose alike and both fizz: their gas parts them only where the excess is known better than a label of
/// 95 % lets it be.
#[test]
fn degenerate_causes_are_said_to_be_so() {
    let next = prep::next(&read(&EPSOM.replacen(">= 99 %", ">= 95 %", 1)), None);
    assert!(next.degenerate.iter().any(|(a, b)| a.contains("CO3") && b.contains("CO3")), "{:?}", next.degenerate);
    assert!(!next.degenerate.iter().any(|(a, b)| a.contains("MgSO4") || b.contains("MgSO4")), "{:?}", next.degenerate);
    let predictions = &next.tests.iter().find(|t| t.test == "loss on ignition").expect("ignition").predictions;
    assert!(predictions.len() > 3, "every possibility predicts");
}

/// Portions follow the user's balance: √2 · 2 mg for 0.1 % is 2.8 g; with 10 mg readings 14 g, or a fifth of the lot.
#[test]
fn portions_follow_the_balance() {
    let sample = |text: &str| {
        let next = prep::next(&read(text), None);
        next.tests
            .iter()
            .find(|t| t.test == "leach" && t.lot == "copper oxide")
            .map(|t| t.sample.value)
            .expect("a leach")
    };
    assert!((sample(BLUESTONE) - 2.828).abs() < 0.01);
    let coarse = BLUESTONE.replace("repeatability = \"0.002 g\"", "repeatability = \"0.010 g\"");
    let portion = sample(&coarse);
    assert!((portion - 0.2 * 30.17).abs() < 0.1, "{portion}");
}

/// Claims of the copper example: the account has 24.31 ± 0.07 g in the precipitate, dry malachite is excluded.
#[test]
fn claims_are_held_against_the_evidence() {
    let preparation = read(BLUESTONE);
    let judge = |claim: &str| {
        let settings = AccountSettings { claim: Some(claim.to_owned()), ..AccountSettings::default() };
        prep::live_account_with(&preparation, &settings).claim.unwrap_or_else(|| panic!("{claim} is not judged"))
    };
    for (claim, verdict) in [
        ("precipitate: 24.3 ± 0.1 g Cu", Verdict::Supported),
        ("precipitate: at least 24 g Cu", Verdict::Supported),
        ("precipitate: 24.41 g Cu", Verdict::TooStrong),
        ("precipitate: 25.2 g Cu", Verdict::Refuted),
        ("precipitate: malachite", Verdict::Refuted),
        ("precipitate: 24.3 ± 0.1 g Cu, malachite", Verdict::Refuted),
        ("precipitate: copper hydroxide", Verdict::TooStrong),
        ("yield 100.1 %", Verdict::Refuted),
        ("yield 95 ± 1 %", Verdict::Supported),
        (">= 98 % pure", Verdict::Supported),
        ("30,2 ± 0,2 g CuO", Verdict::Supported),
    ] {
        assert_eq!(judge(claim).verdict, verdict, "{claim}: {:?}", judge(claim));
    }
    assert!(prep::check_claim(&preparation, "").is_err());
    assert!(prep::check_claim(&preparation, "cake of lead: 3 g").is_err());
    assert!(prep::check_claim(&preparation, "24 g unobtainium").is_err());
}

/// Shares add up to one; better weighings and assays make the result better, never worse.
#[test]
fn budgets_add_up() {
    let account = prep::live_account(&read(BLUESTONE));
    assert!(account.budgets.len() >= 3, "product, yield, and the lot whose portion was burnt");
    for budget in &account.budgets {
        let sum: f64 = budget.shares.iter().map(|s| s.share).sum();
        assert!((sum - 1.0).abs() < 1e-9, "{}: {sum}", budget.of);
        for share in &budget.shares {
            assert!(share.if_twice_as_good <= budget.standard_uncertainty * (1.0 + 1e-9), "{share:?}");
        }
    }
    let content = account.budgets.iter().find(|b| b.of == "precipitate: Cu").expect("the precipitate");
    let (_, u) = copper(&account, "precipitate");
    assert!((content.standard_uncertainty / u - 1.0).abs() < 0.15, "first order {content:?}, draws {u}");
}

/// Where only readings speak, the shares are those of a worked budget: 43.90 g times a residue fraction r of 1.392/2.000,
/// with readings of 2 mg: u(r) parts as 1 : r² : (1 − r)² over residue, portion and empty crucible.
#[test]
fn shares_of_a_difference_weighing() {
    let flat = BLUESTONE
        .replace("may_hold    = [\"CuO(s)\", \"Na2SO4(s)\"]", "may_hold    = [\"CuO(s)\"]")
        .replace("held_liquor = \"63 ± 10 g\"", "held_liquor = \"20 .. 20.1 g\"");
    let account = prep::live_account(&read(&flat));
    let content = account.budgets.iter().find(|b| b.of == "precipitate: Cu").expect("the precipitate");
    let share = |id: &str| {
        content
            .shares
            .iter()
            .find(|s| s.source.contains(id))
            .map(|s| s.share)
            .unwrap_or_else(|| panic!("{id}: {content:?}"))
    };
    let r: f64 = 1.392 / 2.0;
    assert!((share("r6") / share("r7") - r * r).abs() < 0.05, "{}", share("r6") / share("r7"));
    assert!((share("r5") / share("r7") - (1.0 - r).powi(2)).abs() < 0.05, "{}", share("r5") / share("r7"));
}

/// Thirty steps and 39 readings, drawn from the model itself: moist azurite, malachite and moist malachite fit them. A fit that
/// goes astray in the narrow valley of so many sharp readings says that nothing does.
#[test]
fn the_best_fit_of_a_long_file_is_found() {
    let account = prep::live_account(&read(THIRTY_STEPS));
    assert!(account.findings.iter().all(|f| f.code != "nothing-fits"), "{:?}", account.findings);
    let listed =
        account.hypotheses.iter().filter(|h| h.id.strip_prefix('h').is_some_and(|n| n.parse::<usize>().is_ok()));
    let best = listed.map(|h| h.chi_squared).fold(f64::INFINITY, f64::min);
    assert!(best > 0.0 && best < 20.0, "{best}");
}

/// A text that changes figure by figure gets the account that it gets from nothing: a last digit, a slip and its mending, a
/// reading that goes and comes back, a form less and again.
#[test]
fn the_account_of_a_changed_text_is_that_from_nothing() {
    for at_once in [false, true] {
        changed_texts(&AccountSettings { at_once, ..AccountSettings::default() });
    }
}

fn changed_texts(settings: &AccountSettings) {
    let weighed = "\"43.90 g\"";
    assert!(BLUESTONE.contains(weighed), "the figure is there");
    let carbonate = "\"Cu3(CO3)2(OH)2(s)\", ";
    assert!(BLUESTONE.contains(carbonate), "the form is there");
    let texts = [
        BLUESTONE.to_owned(),
        BLUESTONE.replace(weighed, "\"43.91 g\""),
        BLUESTONE.replace(weighed, "\"34.90 g\""),
        BLUESTONE.to_owned(),
        BLUESTONE.replace(carbonate, ""),
        BLUESTONE.replace("\"26.522 g\"", "\"25.622 g\""),
        BLUESTONE.to_owned(),
        EPSOM.to_owned(),
        BLUESTONE.to_owned(),
    ];
    let mut fits = Fits::default();
    for (number, text) in texts.iter().enumerate() {
        let preparation = read(text);
        fits = fits.passed_on();
        let after = prep::live_account_after(&preparation, settings, &fits);
        let anew = prep::live_account_with(&preparation, settings);
        let told = |account: &Account| -> Vec<(String, bool)> {
            account.hypotheses.iter().map(|h| (h.text.split(" (").next().unwrap_or("").to_owned(), h.fits)).collect()
        };
        let (mut left, mut right) = (told(&after), told(&anew));
        left.sort();
        right.sort();
        assert_eq!(left, right, "text {number}");
        for (a, b) in after.lots.iter().zip(&anew.lots).filter(|(a, _)| !a.elements.is_empty()) {
            let (a, b) = (&a.elements[0].mass, &b.elements[0].mass);
            let off = (a.mean - b.mean).abs() / b.standard_uncertainty.max(1e-9);
            assert!(off < 0.05, "text {number}: {a:?} after, {b:?} anew");
        }
    }
}
