//! Lots of one preparation as supplies of another, against the account of the first.

use prep::outcome::{Account, LotAccount, Severity};
use std::collections::BTreeMap;

const BLUESTONE: &str = include_str!("../../examples/bluestone.toml");

/// Files by name, each seeing all the others.
#[derive(Clone)]
struct Shelf(BTreeMap<&'static str, String>);

impl prep::World for Shelf {
    fn open(&self, file: &str) -> Result<(Vec<u8>, Box<dyn prep::World>), String> {
        let text = self.0.get(file).ok_or("there is no such file")?;
        Ok((text.clone().into_bytes(), Box::new(self.clone())))
    }
}

fn shelf(bluestone: &str) -> Shelf {
    Shelf(BTreeMap::from([("bluestone.toml", bluestone.to_owned())]))
}

/// Ten grams of a lot, ignited with nothing lost: what the other account knows of it is known here.
fn taking(lot: &str) -> String {
    format!(
        r#"
        title = "Ten grams of it"
        account_for = "Cu"
        [[supply]]
        name = "lot"
        from = {{ file = "bluestone.toml", lot = "{lot}" }}
        [[step]]
        name = "put aside"
        action = "store"
        take = {{ lot = "10.0000 ± 0.0001 g" }}
        loss = "none"
        gives = {{ kept = "all" }}
        "#
    )
}

fn lot<'a>(account: &'a Account, name: &str) -> &'a LotAccount {
    account.lots.iter().find(|l| l.name == name).expect("the lot is told")
}

fn first(text: &str) -> Account {
    prep::live_account(&prep::read(text.as_bytes()).preparation.expect("reads"))
}

fn second(text: &str, lot: &str) -> Account {
    let reading = prep::read_beside(taking(lot).as_bytes(), &shelf(text));
    prep::live_account(&reading.preparation.unwrap_or_else(|| panic!("{:#?}", reading.findings)))
}

/// Copper oxide of the example: the same copper per gram, as well known as in its own account.
#[test]
fn an_element_is_as_well_known_as_where_it_comes_from() {
    let (before, after) = (first(BLUESTONE), second(BLUESTONE, "copper oxide"));
    let (oxide, kept) = (lot(&before, "copper oxide"), lot(&after, "kept"));
    let share = oxide.elements[0].mass.mean / oxide.mass.mean;
    let found = &kept.elements[0].mass;
    // A few hundred draws leave a tenth of a standard uncertainty in a mean.
    assert!(
        (found.mean - 10.0 * share).abs() < 0.3 * found.standard_uncertainty,
        "{} and {}",
        found.mean,
        10.0 * share
    );
    assert!(after.findings.iter().any(|f| f.code == "lot-brought"), "{:?}", after.findings);
}

/// The dried precipitate before its bulk is ignited: which basic carbonate it is stays open, its copper does not.
#[test]
fn what_is_open_stays_open_and_what_is_known_stays_known() {
    let end = BLUESTONE.find("[[step]]\nname        = \"ignite\"\n").expect("the bulk is ignited last");
    let kept_back = BLUESTONE[..end].to_owned();
    let (before, after) = (first(&kept_back), second(&kept_back, "bulk"));
    let (bulk, kept) = (lot(&before, "bulk"), lot(&after, "kept"));
    let [mass, copper] = [&bulk.mass, &bulk.elements[0].mass];
    let found = &kept.elements[0].mass;
    assert!((found.mean / 10.0 - copper.mean / mass.mean).abs() < 3e-4, "{found:?} {copper:?} {mass:?}");
    // Of 5.6 g copper some hundredths are open; the azurite in it may be anything up to nine tenths.
    assert!(found.standard_uncertainty < 0.03, "{found:?}");
    let azurite = kept.species.iter().find(|(name, _)| name == "Cu3(CO3)2(OH)2(s)").expect("azurite may be there");
    assert!(azurite.1.standard_uncertainty > 1.0, "{:?}", azurite.1);
    let whole: f64 = kept.species.iter().map(|(_, mass)| mass.mean).sum();
    assert!((whole - 10.0).abs() < 0.1, "{whole}");
}

/// Without a shelf to look on, the reference is refused with its place.
#[test]
fn nothing_is_read_where_nothing_may_be_read() {
    let findings = prep::read(taking("copper oxide").as_bytes()).findings;
    let [finding] = findings.as_slice() else { panic!("{findings:?}") };
    assert_eq!((finding.code, finding.severity, finding.line), ("origin-unreadable", Severity::Error, 6));
}
