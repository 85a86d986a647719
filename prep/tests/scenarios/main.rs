//! Is everything dangerous flagged for the right reason, and nothing harmless?
//!
//! Small preparations, shelves and jars, and single questions: half of them dangerous, half harmless, all invented. The third
//! in `blind` was written before the rules, without sight of them; `known` was written beside them.

mod blind;
mod known;
mod notation;

use notation::{Expect, Outcome};

/// Every scenario with what came of it.
fn all() -> Vec<(String, Expect, Outcome)> {
    let files = blind::FILES.iter().chain(known::FILES).map(|case| (case.name.to_owned(), case.expect, case.run()));
    let questions = blind::QUESTIONS.iter().chain(known::QUESTIONS);
    files.chain(questions.map(|(ask, expect)| (format!("{ask:?}"), *expect, ask.run()))).collect()
}

#[test]
fn dangers_are_flagged_for_their_reason_and_harmless_work_is_left_in_peace() {
    let all = all();
    let harmless = all.iter().filter(|(_, expect, _)| *expect == Expect::Harmless).count();
    let wrong: Vec<(bool, String)> = all
        .iter()
        .filter_map(|(name, expect, outcome)| {
            Some((*expect == Expect::Harmless, format!("{name}: {}", outcome.complaint(*expect)?)))
        })
        .collect();
    let missed: Vec<&String> = wrong.iter().filter(|(harmless, _)| !harmless).map(|(_, told)| told).collect();
    let alarms: Vec<&String> = wrong.iter().filter(|(harmless, _)| *harmless).map(|(_, told)| told).collect();
    assert!(missed.is_empty(), "missed: {missed:#?}\nfalse alarms: {alarms:#?}");
    assert!(20 * alarms.len() < harmless, "false alarms: {alarms:#?}");
    let blind = blind::FILES.len() + blind::QUESTIONS.len();
    assert!(all.len() >= 150 && 3 * blind >= all.len(), "{} scenarios, {blind} of them blind", all.len());
    assert!(5 * harmless >= 2 * all.len() && 5 * harmless <= 3 * all.len(), "{harmless} of {} are harmless", all.len());
}

/// Any target is refused whatever the order and the water of its formula.
#[test]
fn targets_are_refused_in_any_spelling() {
    for (target, word) in known::TARGETS {
        let case = notation::Case {
            name: "a target",
            supplies: &["salt: NaCl(s)"],
            steps: &["dissolve: salt 5 g, water 50 g -> brine"],
            waste: &[],
            target,
            expect: Expect::Refused(word),
        };
        assert_eq!(case.run().complaint(case.expect), None, "{target}");
    }
}
