//! Is it told what a derived figure of a wet step depends on, and what became of a foreign solid? An invented magnesia.

use prep::Preparation;
use report::document::{account_document, plan_document};
use report::text::{Page, render};
use serde_json::Value;

const MAGNESIA: &str = r#"
title = "Invented"
account_for = "Mg"
[[supply]]
name = "Epsom salt"
holds = "MgSO4·7H2O(s)"
assay = "100 %"
[[supply]]
name = "lime"
holds = "Ca(OH)2(s)"
assay = "100 %"
[[supply]]
name = "acid"
holds = "H2SO4(l)"
assay = "100 %"
[[supply]]
name = "lye"
holds = "NaOH(s)"
assay = "100 %"
[[instrument]]
name = "pan"
kind = "balance"
resolution = "0.01 g"
[[step]]
name = "precipitate"
action = "precipitate"
take = { "Epsom salt" = "24.65 g", lime = "7.41 g", water = "1000 g" }
reaction = ["MgSO4(aq) + Ca(OH)2(aq) -> Mg(OH)2(s) + CaSO4(aq)"]
gives = { slurry = "all" }
[[step]]
name = "filter"
action = "filter"
take = { slurry = "all" }
held_liquor = "none"
passes = "none"
loss = "none"
gives = { cake = "solids", liquor = "solution" }
[[step.reading]]
id = "r1"
weigh = "16.00 g"
of = "cake"
with = "pan"
[[step]]
name = "neutralise the rest"
action = "adjust pH"
ph = "3.5"
take = { acid = "49.0 g", water = "1000 g", lye = "10.0 g" }
gives = { waste = "all" }
"#;

fn magnesia() -> Preparation {
    let found = prep::read(MAGNESIA.as_bytes());
    found.preparation.unwrap_or_else(|| panic!("{:?}", found.findings))
}

fn holds(text: &str, words: &[&str]) {
    let text = text.split_whitespace().collect::<Vec<_>>().join(" ").replace(['\u{a0}', '\u{202f}'], " ");
    for word in words {
        assert!(text.contains(word), "“{word}” is missing in {text}");
    }
}

fn keys(value: &Value, keys: &[&str]) {
    for key in keys {
        assert!(value.get(key).is_some_and(|value| !value.is_null()), "no {key} in {value}");
    }
}

#[test]
fn a_plan_says_what_its_derived_figures_depend_on() {
    let plan = prep::plan(&magnesia());
    let text = render(&plan_document(&plan), Page::plain(100));
    holds(&text, &["Expected in solution at 25 °C (derived)", "a tenth more of CaSO4 +1.7 g", "± by age of the solid"]);
    holds(&text, &["a tenth more of H2SO4 +4 g; ± by", "pH meter"]);
    let json = report::json::plan(&plan);
    let solution = &json["steps"][0]["solution"];
    assert_eq!(solution["status"], "derived");
    keys(&solution["foreign_solids"][0], &["amount", "grams_for_a_tenth_more", "uncertain_by"]);
    keys(&solution["foreign_solids"][0]["uncertain_by"][0], &["cause", "standard_uncertainty"]);
    keys(&solution["stays_dissolved"][0], &["uncertain_by"]);
    keys(&json["steps"][2]["solution"]["dose"], &["grams_for_a_tenth_more", "uncertain_by"]);
}

#[test]
fn an_account_says_what_fell_out_beside() {
    let account = prep::live_account(&magnesia());
    let text = render(&account_document(&account), Page::plain(120));
    holds(&text, &["Solids that fell out beside", "CaSO4·2H2O", "the readings", "note fell-out-beside", "derived"]);
    let solid = &report::json::account(&account)["foreign_solids"][0];
    keys(solid, &["step", "solid", "status", "expected", "found", "told_by_readings", "reaction"]);
    keys(&solid["expected"], &["value", "standard_uncertainty", "status", "sources"]);
}
