//! Does the JSON keep its contract? Every key of the contract is looked for in hand-made outcomes.

mod invented;

use chem::quantity::Status;
use prep::outcome::{Entry, FormulaAnswer, ReactionAnswer, Slip, Standing};
use serde_json::{Value, json};

fn has(value: &Value, keys: &[&str]) {
    let object = value.as_object().unwrap_or_else(|| panic!("not an object: {value}"));
    for key in keys {
        assert!(object.contains_key(*key), "no key {key} in {value}");
    }
}

#[test]
fn a_quantity_has_its_keys() {
    let quantity = report::json::quantity(&invented::figure(24.41, 0.045, "g"));
    has(&quantity, &["value", "standard_uncertainty", "unit", "basis", "status", "sources"]);
    assert_eq!(quantity["status"], Status::Derived.word());
}

#[test]
fn an_interval_has_its_keys_and_never_a_number_that_is_none() {
    let mut interval = invented::interval(1.0, 0.1, "g");
    interval.mean = f64::NAN;
    interval.high = f64::INFINITY;
    let json = report::json::interval(&interval);
    has(&json, &["median", "mean", "standard_uncertainty", "low", "high", "level", "unit", "basis"]);
    assert_eq!((&json["mean"], &json["high"]), (&Value::Null, &Value::Null));
    assert!(!json.to_string().contains("NaN"));
}

#[test]
fn a_finding_has_its_keys() {
    let json = report::json::check(&[invented::finding()]);
    let finding = &json["findings"][0];
    has(finding, &["code", "severity", "message", "line", "column", "hints", "causes"]);
    assert_eq!(finding["severity"], "warning");
    has(&finding["causes"][0], &["cause", "needs", "probability", "predicts"]);
    has(&finding["causes"][0]["predicts"]["loss_on_heating"], &["value", "unit", "basis", "status"]);
}

#[test]
fn an_account_has_its_keys() {
    let json = report::json::account(&invented::account());
    has(&json, &["lots", "streams", "yields", "hypotheses", "findings", "budget", "next_tests", "foreign_solids"]);
    has(&json["budget"], &["of", "shares", "halved_by"]);
    has(&json["budget"]["shares"][0], &["source", "share"]);
    has(&json["claim"], &["claim", "verdict", "parts"]);
    let test = &json["next_tests"][0];
    has(test, &["test", "information_bits", "hypothesis_bits", "settles", "sample", "time", "destroys"]);
    let mut bare = invented::account();
    (bare.budgets, bare.claim, bare.next) = (Vec::new(), None, None);
    let json = report::json::account(&bare);
    for key in ["budget", "claim", "next_tests"] {
        assert_eq!(json[key], Value::Null, "{key}");
    }
    let json = report::json::account(&invented::account());
    has(&json["streams"], &["product", "liquor", "residue", "tests", "vented", "lost"]);
    has(&json["streams"]["product"]["Cu"], &["median", "low", "high"]);
    let lot = &json["lots"][0];
    has(lot, &["id", "name", "mass", "elements", "species"]);
    has(&lot["elements"]["Cu"], &["amount", "mass"]);
    has(&lot["species"]["H2O(l)"], &["median"]);
    has(&json["yields"], &["quoted", "accounted"]);
    has(&json["yields"]["accounted"], &["overall", "steps"]);
    has(&json["yields"]["accounted"]["steps"][0], &["name", "interval", "cumulative"]);
    has(&json["hypotheses"][0], &["id", "text", "probability", "decided"]);
}

fn entry() -> Entry {
    Entry {
        reading: "r7".to_owned(),
        expected: Some(invented::interval(26.50, 0.02, "g")),
        found: Some(26.252),
        displayed: Some("26.252 g".to_owned()),
        off: Some(-12.4),
        verdict: Standing::Stop,
        slips: vec![Slip {
            slip: "adjacent digits swapped".to_owned(),
            figure: "26.522 g".to_owned(),
            grams: 26.522,
            off: 1.1,
        }],
    }
}

#[test]
fn single_readings_have_their_keys() {
    let json = report::json::account(&invented::account());
    let series = &json["series"][0];
    has(series, &["reading", "step", "lot", "basis", "weighings", "verdict", "final_mass", "remaining", "next"]);
    has(series, &["intervals", "levels", "out_of_line", "tolerance", "within_tolerance"]);
    assert_eq!(series.get("findings"), None, "they stand with all others");
    let change = &json["changes"][0];
    has(change, &["reading", "corrects", "from", "to", "reason", "at", "lots", "overall", "quoted"]);
    has(&change["lots"][0], &["lot", "element", "before", "after"]);
    has(&change["overall"]["after"], &["mean", "low", "high"]);
    assert_eq!(change["quoted"][0]["before"], Value::Null);
    let json = report::json::entry(&entry());
    has(&json, &["reading", "expected", "found_grams", "displayed", "standard_deviations", "verdict", "slips"]);
    assert_eq!(json["verdict"], "stop");
    has(&json["slips"][0], &["slip", "figure", "grams", "standard_deviations"]);
}

#[test]
fn a_next_test_has_its_keys() {
    let json = report::json::next(&invented::next());
    has(&json, &["claim", "tests", "stop", "possibilities", "advice"]);
    has(&json["tests"][0], &["test", "information_bits", "hypothesis_bits", "settles", "sample", "time", "destroys"]);
    has(&json["tests"][0]["predictions"]["clean"], &["value", "unit"]);
}

#[test]
fn resources_have_their_keys() {
    let plan = report::json::plan(&invented::plan());
    has(&plan, &["cost", "stock", "timeline"]);
    has(&plan["cost"], &["currency", "supplies", "total", "at_least", "without_price"]);
    has(&plan["cost"]["supplies"][0], &["supply", "charged", "pack", "price", "cost"]);
    assert_eq!((&plan["cost"]["total"]["unit"], &plan["cost"]["at_least"]), (&json!("EUR"), &json!(true)));
    has(&plan["stock"][0], &["supply", "stated", "before", "used", "remains", "runs_out"]);
    has(&plan["timeline"], &["steps", "elapsed", "hands", "without_duration"]);
    has(&plan["timeline"]["steps"][0], &["step", "start", "end", "hands", "hands_until", "after"]);
    has(&plan["steps"][0]["vessel"], &["name", "volume", "capacity", "may_be_filled", "because", "source"]);
    let account = report::json::account(&invented::account());
    has(&account["cost"], &["total", "product", "per_gram", "not_in_product"]);
    has(&account["cost"]["not_in_product"], &["element", "supplies", "charged", "cost", "streams", "at_least"]);
    has(&account["timing"][0], &["from", "to", "found", "unit", "planned"]);
    let (mut plan, mut account) = (invented::plan(), invented::account());
    (plan.cost, plan.timeline, account.cost) = (None, None, None);
    assert_eq!(report::json::plan(&plan)["timeline"], Value::Null);
    assert_eq!(report::json::account(&account)["cost"], Value::Null);
}

#[test]
fn an_account_without_yields_says_null() {
    let mut account = invented::account();
    account.yields = None;
    assert_eq!(report::json::account(&account)["yields"], Value::Null);
}

#[test]
fn a_plan_has_its_keys() {
    let json = report::json::plan(&invented::plan());
    has(&json, &["limiting", "water", "feed", "frozen", "steps", "weigh_out", "findings"]);
    has(&json["limiting"][0], &["step", "reagent", "probability"]);
    has(&json["water"], &["median", "low", "high", "charged", "from_hydrates"]);
    has(&json["feed"], &["for", "amount", "chance"]);
    has(&json["steps"][0], &["name", "expects"]);
    has(&json["steps"][0]["expects"][0], &["reading", "interval"]);
    assert_eq!(json["steps"][0]["expects"][1]["interval"], Value::Null);
    has(&json["weigh_out"][0], &["supply", "amount"]);
    let mut plan = invented::plan();
    plan.feed = None;
    assert_eq!(report::json::plan(&plan)["feed"], Value::Null);
}

#[test]
fn a_formula_has_its_keys() {
    let answer = FormulaAnswer {
        formula: "CuO".to_owned(),
        molar_mass: invented::figure(79.545, 0.003, "g/mol"),
        charge: 0,
        elements: vec![("Cu".to_owned(), 1.0, 0.7989), ("O".to_owned(), 1.0, 0.2011)],
        water_fraction: None,
        oxidation_states: vec![invented::oxidation("Cu", 2.0)],
        no_oxidation_states: None,
    };
    let json = report::json::formula(&answer);
    has(&json, &["formula", "molar_mass", "charge", "elements", "oxidation_states", "no_oxidation_states"]);
    let mixed = report::json::formula(&invented::oxide());
    has(&mixed["oxidation_states"][0]["split"], &["lower", "upper", "upper_share"]);
    has(&json["oxidation_states"][0], &["element", "count", "state", "mean", "split", "rule", "text"]);
    has(&json["elements"]["Cu"], &["count", "mass_fraction"]);
    let order: Vec<&String> = json["elements"].as_object().into_iter().flatten().map(|(symbol, _)| symbol).collect();
    assert_eq!(order, ["Cu", "O"], "keys keep the order of the outcome");
}

#[test]
fn a_reaction_has_its_keys() {
    let pairs = vec![("A".to_owned(), -1.0), ("B".to_owned(), 2.0)];
    let mut answer = ReactionAnswer {
        equation: "A -> 2 B".to_owned(),
        solutions: 1,
        coefficients: Some(pairs.clone()),
        basis_reactions: Vec::new(),
        closures: Vec::new(),
        freedom: None,
        heat: None,
        lines: None,
        findings: Vec::new(),
    };
    let json = report::json::reaction(&answer);
    has(&json, &["equation", "solutions", "coefficients", "basis_reactions", "missing", "extreme_reactions"]);
    has(&json, &["extreme_equations", "deciding", "would_decide"]);
    for key in ["enthalpy", "entropy", "gibbs_energy", "log10_k", "heat_per_gram", "gas_volume"] {
        assert_eq!(json.get(key), Some(&Value::Null), "{key} is present and null");
    }
    assert_eq!(json["coefficients"]["A"], json!(-1.0));
    answer.solutions = 2;
    answer.coefficients = None;
    answer.basis_reactions = vec![pairs.clone(), pairs];
    let json = report::json::reaction(&answer);
    assert_eq!(json["coefficients"], Value::Null);
    assert_eq!(json["basis_reactions"][1]["B"], json!(2.0));
    answer = invented::open_reaction();
    let json = report::json::reaction(&answer);
    has(&json["missing"][0], &["left", "right", "equation"]);
    assert_eq!(json["extreme_reactions"][0]["B"], json!(2.0));
    assert_eq!(json["deciding"], json!(["B", "C"]));
}

#[test]
fn runs_side_by_side_have_their_keys() {
    let json = report::json::replicates(&invented::replicates());
    has(&json, &["element", "runs", "quantities", "shared", "findings"]);
    has(&json["runs"][0], &["file", "title"]);
    has(
        &json["quantities"][1],
        &["name", "runs", "together", "between_runs_percent", "shared_percent", "chi_squared", "probability", "agree"],
    );
    assert_eq!(json["quantities"][1]["agree"], Value::Bool(false));
}
