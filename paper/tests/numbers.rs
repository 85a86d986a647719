//! Does every number of the JSON stand on paper, and in the page, as it is to be printed there?
//!
//! The JSON of account and record is walked leaf by leaf. Each number is either looked for in the PDF and in the page, or
//! is named here as one that the JSON alone holds, with the reason. A number at a place that nobody thought of fails the
//! test, so that a field cannot be added to the contract and forgotten on paper.

#[allow(dead_code, reason = "the tests beside this one use the rest")]
mod books;
mod read;

use books::{Books, EXAMPLES, books, claimed};
use paper::Size;
use read::{bare, passages, set, stands_whole, words_of};
use report::document::{Block, Paper};
use report::number;
use serde_json::Value;

/// Numbers that are no matter of the report: the place in the JSON, and why.
const JSON_ONLY: [(&str, &str); 23] = [
    ("cost", "what it costs is a matter of `plan` and `account`, not of a report on what was made"),
    ("stock", "what is left on the shelf is a matter of the shelf"),
    ("timing", "how long it took is a matter of `account`; times of readings stand in their table"),
    ("budget", "the first of the budgets once more"),
    ("next_tests", "the tests of `next` once more"),
    ("next.possibilities", "`next` prints them; the report has the alternatives and causes with their probabilities"),
    ("next.tests[].predictions", "`next` prints what each test would read"),
    ("next.tests[].added_after_first_bits", "`next` prints the order of tests"),
    ("next.tests[].settles", "`next` prints it"),
    ("lots[].elements{}.amount", "the mass once more, in moles"),
    ("lots[].weighed", "the readings that it is made of stand in their table"),
    ("hypotheses[].log_evidence", "the probability tells it"),
    ("suppositions[].hypotheses", "those that cannot be told apart are named in words"),
    ("suppositions[].steps[].interval", "the yield so far tells what would change"),
    ("suppositions[].lots[].species", "the element tells what would change"),
    ("suppositions[].lots[].foreign", "the element tells what would change"),
    ("suppositions[].lots[].hydration", "the element tells what would change"),
    ("suppositions[].lots[].mass", "the element tells what would change"),
    ("suppositions[].lots[].elements{}.amount", "the mass once more, in moles"),
    ("suppositions[].lots[].weighed", "the reading stands in its table"),
    ("series[].within_tolerance", "the verdict says it in words"),
    ("series[].scatter_grams", "the scatter of the balance, which stands with the apparatus"),
    ("claim.probability", "each part of the claim has its own"),
];

/// Objects whose keys are names.
const BY_NAME: [&str; 8] = [
    "lots[].elements",
    "lots[].species",
    "lots[].hydration",
    "feed",
    "findings[].causes[].predicts",
    "suppositions[].lots[].elements",
    "vents",
    "gives",
];

/// A number to be found: where it stands in the JSON, and how it is printed.
type Wanted = Vec<(String, String)>;

fn number_of(value: &Value, key: &str) -> f64 {
    value[key].as_f64().unwrap_or_else(|| panic!("{key} in {value}"))
}

fn mean(interval: &Value) -> String {
    number::with_uncertainty(number_of(interval, "mean"), interval["standard_uncertainty"].as_f64())
}

fn ends(interval: &Value) -> String {
    number::ends(number_of(interval, "low"), number_of(interval, "high"))
}

fn quantity(quantity: &Value) -> String {
    number::with_uncertainty(number_of(quantity, "value"), quantity["standard_uncertainty"].as_f64())
}

/// A percentage: two decimals at most.
fn percent(interval: &Value) -> String {
    let (mean, uncertainty) = (number_of(interval, "mean"), number_of(interval, "standard_uncertainty"));
    match uncertainty {
        u if u >= 0.0995 => number::with_uncertainty(mean, Some(u)),
        u if u >= 0.005 => number::at_place(mean, Some(u), 2),
        _ => number::fixed(mean, 2),
    }
}

/// What stands above a node, from the root.
struct Above<'a>(Vec<&'a Value>);

impl Above<'_> {
    /// The object so many steps up; 1 holds the node itself.
    fn up(&self, steps: usize) -> &Value {
        self.0[self.0.len() - steps]
    }
}

/// How a node is printed; none where its parts are looked at one by one.
fn printed(path: &str, node: &Value, above: &Above<'_>) -> Option<Vec<String>> {
    let one = |text: String| Some(vec![text]);
    let if_any = |there: bool, text: &dyn Fn() -> String| Some(if there { vec![text()] } else { Vec::new() });
    match path {
        "lots[].mass"
        | "foreign_solids[].found"
        | "changes[].lots[].before"
        | "changes[].lots[].after"
        | "series[].final_mass"
        | "series[].remaining"
        | "series[].next" => Some(vec![mean(node), ends(node)]),
        "lots[].elements{}.mass" | "feed{}" | "tests[].expected" => one(mean(node)),
        "suppositions[].lots[].elements{}.mass" => if_any(judged(above, above.up(3)), &|| mean(node)),
        "lots[].species{}" | "lots[].foreign" => {
            let lot = above.up(if path.ends_with('}') { 2 } else { 1 });
            let high = number_of(node, "high");
            if_any(high > 0.0 && high >= 1e-3 * number_of(&lot["mass"], "mean"), &|| ends(node))
        }
        "lots[].hydration{}" => if_any(number_of(node, "high") > 0.0, &|| format!("n={}", ends(node))),
        "yields.quoted[].element_mass"
        | "yields.quoted[].percent"
        | "loss_levels[].observed"
        | "foreign_solids[].expected"
        | "changes[].quoted[].before"
        | "changes[].quoted[].after" => one(quantity(node)),
        "yields.accounted.overall" | "yields.accounted.steps[].interval" => one(percent(node)),
        "yields.accounted.steps[].cumulative" | "changes[].overall.before" | "changes[].overall.after" => {
            let (low, high) = (number_of(node, "low"), number_of(node, "high"));
            let told = if high - low >= 0.01 { Vec::new() } else { vec![number::fixed(low, 2)] };
            Some([vec![percent(node)], told].concat())
        }
        "suppositions[].steps[].cumulative" => {
            let step = &above.up(1)["name"];
            let lots = above.up(3)["lots"].as_array().expect("lots");
            let told = lots.iter().any(|lot| lot["step"] == *step && judged(above, lot));
            if_any(told, &|| percent(node))
        }
        "loss_levels[].levels[].loss_percent" => one(number::fixed(node.as_f64()?, 2)),
        "loss_levels[].levels[].standard_uncertainties" => one(number::fixed(node.as_f64()?.abs(), 1)),
        "claim.parts[].found" => Some(vec![mean(node), ends(node)]),
        "next.probability" | "claim.parts[].probability" => one(number::chance(node.as_f64()?)),
        "method.runs" => one(number::fixed(node.as_f64()?, 0)),
        "method.tail" => one(number::significant(node.as_f64()?, 2)),
        "streams{}{}" => one(stream(node, above)),
        _ if path.starts_with("series[]") => of_series(path, node, above),
        _ if path.starts_with("budgets[]") => of_budget(path, node, above),
        _ if path.starts_with("hypotheses[]") => of_hypothesis(path, node, above),
        _ if path.starts_with("findings[]") => of_finding(path, node, above),
        _ if path.starts_with("next.tests[]") => of_test(path, node, above),
        _ => None,
    }
}

/// The streams of an element add up, so all are printed to the place of the least certain.
fn stream(node: &Value, above: &Above<'_>) -> String {
    let account = above.up(3);
    let streams = account["streams"].as_object().expect("streams");
    let element = above.up(1).as_object().and_then(|all| all.iter().find(|(_, mass)| *mass == node)).expect("it").0;
    let all = streams.values().map(|stream| &stream[element]).chain([&account["feed"][element]]);
    let largest =
        all.filter(|mass| mass.is_object()).map(|mass| number_of(mass, "standard_uncertainty")).fold(0.0, f64::max);
    let decimals = number::decimals_for(largest).map_or(3, |decimals| decimals.max(0));
    number::at_place(number_of(node, "mean"), node["standard_uncertainty"].as_f64(), decimals)
}

/// Whether a lot is one that suppositions are compared by: quoted, or the product.
fn judged(above: &Above<'_>, lot: &Value) -> bool {
    let account = above.0[0];
    let is = |id: &Value| *id == lot["id"];
    account["yields"]["quoted"].as_array().into_iter().flatten().any(|quoted| is(&quoted["lot"]))
        || account["stream_lots"]["product"].as_array().into_iter().flatten().any(is)
}

fn of_series(path: &str, node: &Value, above: &Above<'_>) -> Option<Vec<String>> {
    let series = above.0.get(2)?;
    let decimals = number::decimals_for(number_of(series, "scatter_grams")).unwrap_or(3) - 1;
    let one = |text: String| Some(vec![text]);
    match path {
        "series[].weighings[].hours" => one(number::fixed(node.as_f64()?, 2)),
        "series[].weighings[].grams" | "series[].levels[].grams" => one(number::fixed(node.as_f64()?, decimals)),
        "series[].levels[].standard_uncertainties" => one(number::fixed(node.as_f64()?, 1)),
        "series[].tolerance" => one(format!("{}%", number::plain(100.0 * node.as_f64()?))),
        // Once it is done, nothing is left to wait for.
        "series[].intervals" => Some(if series["verdict"] == "not yet" { vec![ends(node)] } else { Vec::new() }),
        // The row says "out of line"; by how much is a matter of `dry`.
        _ if path.starts_with("series[].out_of_line") => Some(Vec::new()),
        _ => None,
    }
}

/// The first six sources by name, the rest as one share; what is exact has no budget.
fn of_budget(path: &str, node: &Value, above: &Above<'_>) -> Option<Vec<String>> {
    let budget = if above.0.len() > 2 { above.0[2] } else { node };
    let (value, uncertainty) = (number_of(budget, "value"), number_of(budget, "standard_uncertainty"));
    if number::is_exact(value, uncertainty) {
        return Some(Vec::new());
    }
    let shares = budget["shares"].as_array().expect("shares");
    let place = |share: &Value| shares.iter().position(|other| other == share).expect("its place");
    let decimals = number::decimals_for(uncertainty).unwrap_or(2) + 1;
    match path {
        "budgets[].value" | "budgets[].standard_uncertainty" => {
            Some(vec![number::with_uncertainty(value, Some(uncertainty))])
        }
        "budgets[].shares[].share" if place(above.up(1)) < 6 => Some(vec![number::fixed(100.0 * node.as_f64()?, 1)]),
        "budgets[].shares[].share" => {
            let rest: f64 = shares.iter().skip(6).map(|share| number_of(share, "share")).sum();
            Some(vec![number::fixed(100.0 * rest, 1)])
        }
        "budgets[].shares[].standard_uncertainty_if_twice_as_good" => {
            Some(if place(above.up(1)) < 6 { vec![number::fixed(node.as_f64()?, decimals)] } else { Vec::new() })
        }
        _ => None,
    }
}

/// Larger mixtures below 1 % stand in one line, together.
fn of_hypothesis(path: &str, node: &Value, above: &Above<'_>) -> Option<Vec<String>> {
    let small = |one: &&Value| one["larger"] == true && number_of(one, "probability") < 0.01;
    let together = small(&above.0.get(2)?);
    let all = above.0[1].as_array().expect("alternatives");
    match path {
        "hypotheses[].probability" if together => {
            let sum: f64 = all.iter().filter(small).map(|one| number_of(one, "probability")).sum();
            Some(vec![number::chance(sum)])
        }
        "hypotheses[].probability" => Some(vec![number::chance(node.as_f64()?)]),
        "hypotheses[].chi_squared" if !together => Some(vec![number::fixed(node.as_f64()?, 1)]),
        "hypotheses[].group" if !together => Some(vec![(node.as_u64()? + 1).to_string()]),
        "hypotheses[].chi_squared" | "hypotheses[].group" => Some(Vec::new()),
        _ => None,
    }
}

fn of_finding(path: &str, node: &Value, above: &Above<'_>) -> Option<Vec<String>> {
    let finding = above.0.get(2)?;
    // Cautions stand with the hazards; what has causes is told where they are.
    let placed = finding["severity"] != "caution"
        && finding["causes"].as_array().is_none_or(Vec::is_empty)
        && finding["line"] != 0;
    match path {
        "findings[].line" if placed => Some(vec![format!("line{node}")]),
        "findings[].column" if placed => Some(vec![format!("column{node}")]),
        // The span is the place once more, in bytes.
        "findings[].line" | "findings[].column" | "findings[].span[]" => Some(Vec::new()),
        "findings[].causes[].needs" => Some(vec![ends(node)]),
        "findings[].causes[].probability" => Some(vec![number::chance(node.as_f64()?)]),
        "findings[].causes[].predicts{}" => match number_of(node, "value") {
            0.0 => Some(vec!["no".to_owned()]),
            value => Some(vec![number::significant(value, 3)]),
        },
        _ => None,
    }
}

/// The three tests that tell most.
fn of_test(path: &str, node: &Value, above: &Above<'_>) -> Option<Vec<String>> {
    let place = above.0[2].as_array()?.iter().position(|test| Some(&test) == above.0.get(3))?;
    let told = match path {
        "next.tests[].information_bits" | "next.tests[].hypothesis_bits" => number::fixed(node.as_f64()?, 2),
        "next.tests[].sample" | "next.tests[].time" => number::significant(number_of(node, "value"), 2),
        _ => return None,
    };
    Some(if place < 3 { vec![told] } else { Vec::new() })
}

/// Walks the JSON; what is neither printed nor excused comes into `missed`.
fn walk<'a>(path: &str, node: &'a Value, above: &mut Above<'a>, wanted: &mut Wanted, missed: &mut Vec<String>) {
    if JSON_ONLY.iter().any(|(only, _)| path == *only || path.starts_with(&format!("{only}."))) || node.is_null() {
        return;
    }
    if let Some(told) = (!above.0.is_empty()).then(|| printed(path, node, above)).flatten() {
        wanted.extend(told.into_iter().map(|figure| (path.to_owned(), bare(&figure))));
        return;
    }
    above.0.push(node);
    match node {
        Value::Number(_) => missed.push(path.to_owned()),
        Value::Array(list) => list.iter().for_each(|part| walk(&format!("{path}[]"), part, above, wanted, missed)),
        Value::Object(map) => {
            let named = BY_NAME.contains(&path) || path == "streams" || path == "streams{}";
            for (key, part) in map {
                let below = match (named, path.is_empty()) {
                    (true, _) => format!("{path}{{}}"),
                    (false, true) => key.clone(),
                    (false, false) => format!("{path}.{key}"),
                };
                walk(&below, part, above, wanted, missed);
            }
        }
        _ => {}
    }
    above.0.pop();
}

/// Figures of the account, as the report prints them.
fn of_account(account: &Value) -> Wanted {
    let (mut wanted, mut missed) = (Vec::new(), Vec::new());
    walk("", account, &mut Above(Vec::new()), &mut wanted, &mut missed);
    missed.sort();
    missed.dedup();
    assert!(missed.is_empty(), "neither printed nor excused: {missed:?}");
    wanted
}

/// Figures of the record: readings with their uncertainty, series as written, instruments, corrections.
fn of_record(record: &Value) -> Wanted {
    let mut wanted = Vec::new();
    let list = |value: &Value| value.as_array().cloned().unwrap_or_default();
    for reading in list(&record["readings"]) {
        wanted.extend(reading["figure"].as_str().map(|figure| ("reading".to_owned(), number::tied(figure))));
        wanted.extend(
            reading["standard_uncertainty"].as_f64().map(|u| ("± of a reading".to_owned(), number::significant(u, 2))),
        );
        let series = list(&reading["series"]);
        wanted
            .extend(series.iter().filter_map(|one| Some(("weighing".to_owned(), one["figure"].as_str()?.to_owned()))));
    }
    for balance in list(&record["balances"]) {
        wanted.push(("step of a balance".to_owned(), number::plain(number_of(&balance, "resolution"))));
        wanted.push(("repeatability".to_owned(), number::plain(number_of(&balance, "repeatability"))));
        wanted.push(("slope".to_owned(), number::significant(100.0 * number_of(&balance, "slope"), 2)));
    }
    for ware in list(&record["ware"]) {
        wanted.push(("ware".to_owned(), number::plain(number_of(&ware, "largest_error"))));
    }
    for supply in list(&record["supplies"]) {
        let stated = list(&supply["stated"]).into_iter().map(|one| one["value"].clone());
        let charged = list(&supply["charges"]).into_iter().map(|one| one["amount"].clone());
        wanted
            .extend(stated.chain(charged).filter_map(|text| Some(("supply".to_owned(), number::tied(text.as_str()?)))));
    }
    wanted.into_iter().map(|(place, figure)| (place, bare(&figure))).collect()
}

/// The report without the record itself, which would hold any figure that was typed.
fn without_record(books: &Books) -> Paper {
    let mut paper = books.report();
    let whole = paper.clone();
    paper.document.blocks.retain(|block| !matches!(block, Block::Verbatim(_)));
    assert!(paper.document.blocks.len() < whole.document.blocks.len(), "the record is attached");
    paper
}

/// Figures that a paper or its page lacks.
fn lost(books: &Books, paper: &Paper) -> Wanted {
    let mut wanted = of_account(&report::json::account(&books.account));
    assert!(wanted.len() > 40, "{} has {} figures", books.name, wanted.len());
    // Series are attached as they were typed; in the body they are masses without the vessel.
    wanted.extend(of_record(&report::json::record(&books.record)).into_iter().filter(|(place, _)| place != "weighing"));
    let words = words_of(&set(paper, Size::A4));
    let page = passages(report::html::alone::page(paper));
    let stands = |figure: &str| words.contains(figure) && page.iter().any(|passage| stands_whole(passage, figure));
    wanted.into_iter().filter(|(_, figure)| !stands(figure)).collect()
}

fn both_forms_hold_the_numbers(books: &Books) {
    let lost = lost(books, &without_record(books));
    assert!(lost.is_empty(), "{}: not on paper or not on the page: {lost:?}", books.name);
    let whole = words_of(&set(&books.report(), Size::Letter));
    for (_, figure) in of_record(&report::json::record(&books.record)).iter().filter(|(place, _)| place == "weighing") {
        assert!(whole.contains(figure), "{}: {figure} is not attached", books.name);
    }
}

#[test]
fn every_number_of_the_account_and_the_record_stands_in_the_report() {
    for name in EXAMPLES {
        both_forms_hold_the_numbers(&books(name));
    }
}

#[test]
fn the_numbers_of_a_claim_stand_in_the_report() {
    both_forms_hold_the_numbers(&claimed("bluestone", Some("precipitate: Cu2CO3(OH)2")));
    both_forms_hold_the_numbers(&claimed("zinc-lozenges", Some("5.9 g ZnO, yield 97 %")));
}

/// Without its tables a paper lacks most of its numbers: the search is not satisfied by anything that looks alike.
#[test]
fn a_paper_without_a_table_lacks_its_numbers() {
    let heads_of = [("epsom-dried", ["change, g", "share, %"]), ("bluestone", ["yield, %", "χ²"])];
    for (name, wanted) in heads_of {
        let books = books(name);
        let whole = without_record(&books);
        for head in wanted {
            let mut paper = whole.clone();
            let has = |block: &Block| matches!(block, Block::Table(table) if table.columns.iter().any(|column| column.head == head));
            paper.document.blocks.retain(|block| !has(block));
            assert!(!lost(&books, &paper).is_empty(), "{name}: nobody misses the tables with {head}");
        }
    }
}

#[test]
fn a_number_that_nobody_thought_of_is_missed() {
    let mut account = report::json::account(&books("zinc-lozenges").account);
    account["lots"][0]["unheard_of"] = Value::from(4.5);
    let (mut wanted, mut missed) = (Vec::new(), Vec::new());
    walk("", &account, &mut Above(Vec::new()), &mut wanted, &mut missed);
    assert_eq!(missed, ["lots[].unheard_of"]);
    assert!(stands_whole("holds24.41±0.05gCu", "24.41±0.05") && !stands_whole("124.41", "24.41"));
    assert!(!stands_whole("24.415", "24.41") && !stands_whole("3.24", "24") && stands_whole("to24.", "24"));
}

/// The sheet: what is expected, what each step gives and lets off, what is weighed out and what that brings.
#[test]
fn the_sheet_holds_what_the_plan_expects() {
    for name in EXAMPLES {
        let books = books(name);
        let words = words_of(&set(&books.sheet(), Size::Letter));
        let page = passages(report::html::alone::page(&books.sheet()));
        let plan = report::json::plan(&books.plan);
        let list = |value: &Value| value.as_array().cloned().unwrap_or_default();
        let named = |value: &Value| value.as_object().map(|map| map.values().cloned().collect()).unwrap_or_default();
        let mut wanted: Vec<(&str, String)> = Vec::new();
        for step in list(&plan["steps"]) {
            let expected =
                list(&step["expects"]).into_iter().map(|one| one["interval"].clone()).filter(Value::is_object);
            wanted.extend(expected.map(|interval| ("expected", ends(&interval))));
            let flows: Vec<Value> = [named(&step["gives"]), named(&step["vents"])].concat();
            wanted.extend(flows.iter().map(|interval| ("given or let off", ends(interval))));
        }
        for line in list(&plan["weigh_out"]) {
            let elements: Vec<Value> = named(&line["elements"]);
            wanted.extend(elements.iter().map(|interval| ("brought", ends(interval))));
            let half = 0.5 * (number_of(&line["amount"], "high") - number_of(&line["amount"], "low"));
            wanted.push(("tolerance", format!("±{}", number::significant(half, 1))));
        }
        assert!(wanted.len() > 6, "{name} expects {}", wanted.len());
        for (place, figure) in wanted.iter().map(|(place, figure)| (place, bare(figure))) {
            assert!(words.contains(&figure), "{name}: {figure} ({place}) is not on the sheet");
            assert!(
                page.iter().any(|passage| stands_whole(passage, &figure)),
                "{name}: {figure} ({place}) is not on the page"
            );
        }
    }
}
