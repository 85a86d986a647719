//! Money, stock, time and vessels against sums done by hand.

use prep::outcome::{Account, Plan, StockLine};

const TABLETS: &str = include_str!("files/tablets.toml");
const BLUESTONE: &str = include_str!("../../examples/bluestone.toml");

fn read(text: &str) -> prep::Preparation {
    let reading = prep::read(text.as_bytes());
    reading.preparation.unwrap_or_else(|| panic!("{:#?}", reading.findings))
}

fn close(found: f64, expected: f64, tolerance: f64) {
    assert!((found - expected).abs() <= tolerance, "found {found}, expected {expected} ± {tolerance}");
}

fn changed(text: &str, from: &str, into: &str) -> String {
    assert!(text.contains(from), "{from} is not there");
    text.replace(from, into)
}

fn cost_of(plan: &Plan, supply: &str) -> f64 {
    let cost = plan.cost.as_ref().expect("a cost");
    cost.supplies.iter().find(|line| line.supply == supply).map(|line| line.cost.mean).expect("a supply")
}

fn stock<'a>(lines: &'a [StockLine], supply: &str) -> &'a StockLine {
    lines.iter().find(|line| line.supply == supply).expect("a stock")
}

/// 200 of 60 tablets at 7.20 EUR are 24.00 EUR, whatever a tablet weighs; 120 mL of a litre at 3.60 EUR are 0.432 EUR.
#[test]
fn tablets_and_volumes_are_paid_for_as_they_are_sold() {
    let plan = prep::plan(&read(TABLETS));
    close(cost_of(&plan, "lozenges"), 24.0, 1e-9);
    close(cost_of(&plan, "soda solution"), 0.432, 1e-9);
    let cost = plan.cost.expect("a cost");
    assert_eq!((cost.currency, cost.total.unit, cost.unpriced.len()), ("EUR", "EUR", 0));
    close(cost.total.mean, 24.432, 1e-9);
    close(cost.total.standard_uncertainty, 0.0, 1e-9);
}

/// The same tablets bought by the kilogram: 200 × 1.250 g = 250 g, good to 0.4 %.
#[test]
fn a_pack_stated_otherwise_than_the_charge_is_converted() {
    let text = changed(TABLETS, "pack = \"60 tablets\"", "pack = \"1 kg\"");
    let plan = prep::plan(&read(&text));
    close(cost_of(&plan, "lozenges"), 0.250 * 7.20, 1e-3);
    let line = plan.cost.expect("a cost").supplies[0].clone();
    close(line.cost.standard_uncertainty, 0.004 * 1.80, 4e-4);
    let text = changed(TABLETS, "pack = \"1 L\"", "pack = \"1 kg\"");
    close(cost_of(&prep::plan(&read(&text)), "soda solution"), 0.120 * 1.103 * 3.60, 1e-3);
}

/// 250 ± 10 tablets less 200 are 50 ± 10, 9 times in 10 from 33.6 to 66.4 (normal quantile 1.645); 350 mL less 120 are 230.
#[test]
fn stock_is_drawn_down() {
    let plan = prep::plan(&read(TABLETS));
    let lozenges = stock(&plan.stock, "lozenges");
    assert_eq!(lozenges.remains.unit, "units");
    close(lozenges.remains.mean, 50.0, 0.1);
    close(lozenges.remains.low, 33.55, 0.5);
    close(lozenges.remains.high, 66.45, 0.5);
    let soda = stock(&plan.stock, "soda solution");
    assert_eq!(soda.remains.unit, "mL");
    close(soda.remains.mean, 230.0, 0.1);
    assert!(plan.findings.iter().all(|f| !f.code.starts_with("stock")), "{:#?}", plan.findings);
}

/// Charges that were weighed count as weighed: 98.00 g instead of the planned 100.0 g of 1 kg at 7.90 EUR, beside 126 g of
/// 2 kg at 5.60 EUR (0.3528 EUR); 350 ± 5 g less 98 g are 252 g.
#[test]
fn the_account_goes_by_what_was_weighed() {
    let reading = "[[step.reading]]\nid = \"c1\"\nweigh = \"98.00 g\"\ncharge = \"bluestone\"\nwith = \"pocket balance\"\n\n[[step]]\nname     = \"clear\"";
    let text = changed(BLUESTONE, "[[step]]\nname     = \"clear\"", reading);
    let preparation = read(&text);
    close(cost_of(&prep::plan(&preparation), "bluestone"), 0.790, 1e-3);
    let account = prep::live_account(&preparation);
    let cost = account.cost.as_ref().expect("a cost");
    close(cost.charges.total.mean, 0.0980 * 7.90 + 0.3528, 1e-3);
    assert_eq!(cost.charges.unpriced, ["water"]);
    close(stock(&account.stock, "bluestone").remains.mean, 252.0, 0.1);
    lost_money_adds_up(&account);
}

/// Money follows the element: what is in the product and what is not are the whole; the share is one less the yield.
fn lost_money_adds_up(account: &Account) {
    let cost = account.cost.as_ref().expect("a cost");
    let lost = cost.lost.as_ref().expect("copper is brought by bluestone");
    let overall = account.yields.as_ref().expect("a yield").overall.mean / 100.0;
    close(lost.not_in_product.mean, lost.charged.mean * (1.0 - overall), 1e-4 * lost.charged.mean);
    let streams: f64 = lost.streams.iter().map(|(_, money)| money.mean).sum();
    close(streams, lost.charged.mean, 1e-6);
    let product = cost.product.as_deref().expect("a product");
    let mass = &account.lots.iter().find(|lot| lot.id == product).expect("the product").mass;
    let per_gram = cost.per_gram.as_ref().expect("a cost of a gram");
    close(per_gram.mean, cost.charges.total.mean / mass.mean, 1e-3 * per_gram.mean);
    // The cost is known to a few parts in ten thousand: the interval is that of the product's mass.
    let relative = |i: &prep::outcome::Interval| i.standard_uncertainty / i.mean;
    close(relative(per_gram), relative(mass), 0.1 * relative(mass));
}

/// Hands by hand. `a` 0:00–0:30; `b` takes what `a` gives, 0:30–2:30 with hands until 0:40; `c` needs nothing but hands,
/// which are free from 0:40 to 1:25; `d` takes both, 2:30–2:50. Hands on: 30 + 10 + 45 + 20 min.
fn four_steps(b: &str) -> Plan {
    prep::plan(&read(&format!(
        r#"
        title = "Time"
        [[supply]]
        name = "salt"
        holds = "NaCl(s)"
        [[step]]
        name = "a"
        action = "dissolve"
        duration = "30 min"
        take = {{ salt = "10 g", water = "100 mL" }}
        gives = {{ one = "all" }}
        [[step]]
        name = "b"
        action = "store"
        duration = "{b}"
        attended = "10 min"
        take = {{ one = "all" }}
        gives = {{ two = "all" }}
        [[step]]
        name = "c"
        action = "dissolve"
        duration = "0.75 h"
        attended = "all"
        take = {{ salt = "10 g", water = "100 mL" }}
        gives = {{ three = "all" }}
        [[step]]
        name = "d"
        action = "combine"
        duration = "20 min"
        take = {{ two = "all", three = "all" }}
        gives = {{ four = "all" }}
        [[step]]
        name = "e"
        action = "store"
        take = {{ four = "all" }}
        gives = {{ five = "all" }}
        "#
    )))
}

#[test]
fn one_pair_of_hands() {
    let timeline = four_steps("2 h").timeline.expect("a timeline");
    let told: Vec<(f64, f64, f64)> =
        timeline.steps.iter().map(|s| (s.start.mean, s.hands_until.mean, s.end.mean)).collect();
    let expected = [(0.0, 30.0, 30.0), (30.0, 40.0, 150.0), (40.0, 85.0, 85.0), (150.0, 170.0, 170.0)];
    for (found, expected) in told.iter().zip(expected) {
        close(found.0, expected.0, 1e-9);
        close(found.1, expected.1, 1e-9);
        close(found.2, expected.2, 1e-9);
    }
    close(timeline.elapsed.mean, 170.0, 1e-9);
    close(timeline.hands.mean, 105.0, 1e-9);
    assert_eq!(timeline.untimed, ["e"]);
    assert_eq!(timeline.steps[3].after, ["b", "c"]);
}

/// A range from 100 to 140 min has its middle 90 % from 102 to 138: the end is at 152 to 188 min.
#[test]
fn open_durations_give_intervals() {
    let timeline = four_steps("100 .. 140 min").timeline.expect("a timeline");
    close(timeline.elapsed.low, 152.0, 0.2);
    close(timeline.elapsed.high, 188.0, 0.2);
    close(timeline.hands.mean, 105.0, 1e-9);
}

/// A tare of what the balance would have shown says what an empty weighing says.
#[test]
fn a_tare_stands_in_for_an_empty_weighing() {
    let empty = "  [[step.reading]]\n  id    = \"r5\"\n  weigh = \"25.130 g\"\n  in    = \"crucible 3\"\n  with  = \"milligram balance\"\n  at    = 2026-05-02T13:05:00\n";
    let without = changed(BLUESTONE, empty, "");
    let with_tare =
        changed(&without, "name = \"crucible 3\"\n", "name = \"crucible 3\"\ntare = \"25.130 ± 0.002 g\"\n");
    let (first, second) = (prep::live_account(&read(BLUESTONE)), prep::live_account(&read(&with_tare)));
    let by_ignition = |account: &Account| {
        let yields = account.yields.clone().expect("yields");
        yields.quoted.into_iter().find(|q| q.method.contains("ignition")).expect("by ignition").element_mass
    };
    let (a, b) = (by_ignition(&first), by_ignition(&second));
    close(a.value, b.value, 1e-9);
    close(a.standard_uncertainty.expect("known"), b.standard_uncertainty.expect("known"), 1e-9);
    let copper = |account: &Account| {
        let lot = account.lots.iter().find(|lot| lot.id == "precipitate").expect("a lot");
        lot.elements[0].mass.clone()
    };
    // Slope and curvature of the balance act on a weighing and not on a tare: a part of the uncertainty.
    close(copper(&first).mean, copper(&second).mean, 0.5 * copper(&first).standard_uncertainty);
    // Without either there is nothing to subtract.
    let neither = prep::live_account(&read(&without));
    assert!(neither.yields.expect("yields").quoted.iter().all(|q| !q.method.contains("ignition")));
}

/// 200 lozenges of 1.25 g, 120 mL and 800 mL: 920 mL and the room of 250 g, from nothing dissolved to 0.67 mL/g.
#[test]
fn a_vessel_is_filled_by_what_is_taken() {
    let plan = prep::plan(&read(TABLETS));
    let filled = plan.steps[0].vessel.as_ref().expect("a vessel");
    assert_eq!((filled.vessel.as_str(), filled.capacity), ("bucket", Some(2000.0)));
    assert!(
        filled.volume.low > 920.0 + 0.2 * 250.0 - 1.0 && filled.volume.high < 920.0 + 0.67 * 250.0 + 1.0,
        "{filled:?}"
    );
}

/// A price that changes is no change of plan; a duration is.
#[test]
fn prices_are_no_part_of_a_frozen_plan() {
    let hash = |text: &str| prep::freeze::planned_hash(&read(text));
    let other = [("7.20 EUR", "7.90 EUR"), ("60 tablets", "30 tablets"), ("350 mL", "300 mL")];
    assert!(other.iter().all(|(from, into)| hash(&changed(TABLETS, from, into)) == hash(TABLETS)));
    assert_ne!(hash(&changed(TABLETS, "\"3 h\"", "\"4 h\"")), hash(TABLETS));
}
