//! Do the pages of equilibria, heated lots and furnaces read as kept, and have their JSON the keys of the contract? Run with
//! `UPDATE_GOLDEN=1` to write the pages anew, then read them.

use prep::ask::{EquilibriumOptions, FurnaceOptions, GasOptions, IgniteOptions, equilibrium, furnace, gas, ignite};
use report::document::{Document, equilibrium_document, furnace_document, gas_question_document, ignite_document};
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

fn lots(list: &[&str]) -> Vec<String> {
    list.iter().map(|text| (*text).to_owned()).collect()
}

#[test]
fn an_equilibrium_reads_as_kept() {
    let options = EquilibriumOptions { at: Some("900 °C"), ..EquilibriumOptions::default() };
    let answer = equilibrium(&lots(&["ZnO(s) 81.4 g", "C(s) 24 g"]), &options).expect("an answer");
    matches_kept_page(&equilibrium_document(&answer), "equilibrium.txt");
    let json = report::json::equilibrium(&answer);
    for key in ["temperature", "pressure", "species", "gas_amount", "status", "residual"] {
        assert!(json.get(key).is_some(), "{key}");
    }
    assert_eq!(json["temperature"]["unit"], "K");
    assert_eq!(json["pressure"]["unit"], "bar");
    assert!(json["species"][0].get("amount").is_some_and(serde_json::Value::is_number));
}

#[test]
fn a_heated_lot_reads_as_kept() {
    let options = IgniteOptions { at: Some("600 °C"), ..IgniteOptions::default() };
    let answer = ignite(&lots(&["CaC2O4·H2O(s) 10 g"]), &options).expect("an answer");
    matches_kept_page(&ignite_document(&answer), "ignite.txt");
    let json = report::json::ignite(&answer);
    for key in ["stages", "chain", "levels", "may_hold", "points"] {
        assert!(json[key].as_array().is_some_and(|list| !list.is_empty()), "{key}");
    }
}

#[test]
fn a_furnace_reads_as_kept() {
    let options =
        FurnaceOptions {
            at: Some("1000 °C"), depth: Some("20 mm"), time: Some("20 min"), ..FurnaceOptions::default()
        };
    let answer = furnace("CaCO3(s)", &options).expect("an answer");
    let page = furnace_document(&answer);
    matches_kept_page(&page, "furnace.txt");
    assert!(render(&page, Page::plain(400)).contains("The middle is not done after 20"));
    assert!(report::json::furnace(&answer)["done_minutes"][1].is_number());
}

#[test]
fn a_room_says_whether_it_is_aired() {
    let still = GasOptions { take: &["1.00 g CO(g)"], room: Some("30 m3"), ..GasOptions::default() };
    let aired = GasOptions { air_changes: Some("6"), ..still };
    let page = |options| render(&gas_question_document(&gas(None, options).expect("an answer")), Page::plain(400));
    let (still, aired) = (page(&still), page(&aired));
    assert!(still.contains("as stated, not aired.") && !still.contains("airing, min"), "{still}");
    assert!(aired.contains("aired 6") && !aired.contains("not aired") && aired.contains("airing, min"), "{aired}");
}
