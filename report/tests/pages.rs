//! Do the printed pages read as they should? Hand-made outcomes against kept pages; run with `UPDATE_GOLDEN=1` to
//! write them anew, then read them.

mod invented;

use report::document::{
    Document, STANDING_LINES, account_document, formula_document, plan_document, reaction_document, replicates_document,
};
use report::text::{Page, render};
use std::path::Path;

fn matches_kept_page(document: &Document, name: &str) {
    let found = render(document, Page::plain(100));
    let path = Path::new(env!("CARGO_MANIFEST_DIR")).join("tests/golden").join(name);
    if std::env::var_os("UPDATE_GOLDEN").is_some() {
        std::fs::write(&path, &found).expect("the kept page is written");
    }
    let kept = std::fs::read_to_string(&path).expect("the kept page is read");
    assert_eq!(found, kept, "{name} differs; if the new page is right, run with UPDATE_GOLDEN=1");
}

#[test]
fn the_account_reads_as_kept() {
    matches_kept_page(&account_document(&invented::account()), "account.txt");
}

#[test]
fn runs_side_by_side_read_as_kept() {
    matches_kept_page(&replicates_document(&invented::replicates()), "replicates.txt");
}

#[test]
fn the_plan_reads_as_kept() {
    matches_kept_page(&plan_document(&invented::plan()), "plan.txt");
}

#[test]
fn an_open_reaction_reads_as_kept() {
    matches_kept_page(&reaction_document(&invented::open_reaction()), "reaction.txt");
}

#[test]
fn a_formula_reads_as_kept() {
    matches_kept_page(&formula_document(&invented::oxide()), "formula.txt");
}

#[test]
fn the_verdict_comes_first_and_claims_no_formula() {
    let text = render(&account_document(&invented::account()), Page::plain(120)).replace('\n', " ");
    let at = |words: &str| text.find(words).unwrap_or_else(|| panic!("“{words}” is missing"));
    assert!(at("holds 24.412 ± 0.045 g Cu by ignition of a portion") < at("The account, and what would follow if"));
    assert!(at("residue taken for pure CuO(s)") < at("Yields of copper, quoted and accounted"));
    assert!(at("pure Cu2CO3(OH)2(s) (18.7 standard uncertainties away)") < at("cannot tell these apart"));
    assert!(!text.contains("identified"));
}

#[test]
fn every_plan_and_account_ends_with_the_standing_lines() {
    for document in [plan_document(&invented::plan()), account_document(&invented::account())] {
        let text = render(&document, Page::plain(120)).replace("\n  ", " ");
        assert!(STANDING_LINES.iter().all(|line| text.contains(line)));
    }
}

#[test]
fn no_line_is_wider_than_the_page() {
    for width in [80, 100, 120] {
        for document in [plan_document(&invented::plan()), account_document(&invented::account())] {
            for line in render(&document, Page::plain(width)).lines() {
                assert!(line.chars().count() <= width, "{width}: {line}");
            }
        }
    }
}

#[test]
fn an_account_of_nothing_still_prints() {
    let mut account = invented::account();
    account.lots.clear();
    account.yields = None;
    account.hypotheses.clear();
    account.levels.clear();
    account.suppositions.clear();
    account.findings.clear();
    account.feed.clear();
    let text = render(&account_document(&account), Page::plain(80));
    assert!(text.contains("No yield") && text.contains("None."));
}
