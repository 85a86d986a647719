//! Does anything that comes in as a file bring the program down?
//!
//! Arbitrary bytes, words of the language in any order, and good files with a few lines lost, doubled or swapped. Reading
//! never panics and every finding has its place. What can still be read is planned and accounted for, and no figure of
//! either is less than a number.

use prep::outcome::{Account, Interval, Plan, StockLine};
use prep::{Preparation, Reading};
use proptest::collection::vec;
use proptest::prelude::*;
use proptest::sample::{Index, select};

const GOOD: [&str; 7] = [
    include_str!("../../examples/bluestone.toml"),
    include_str!("../../examples/bluestone-soda-ash-mistake.toml"),
    include_str!("suite/good-small.toml"),
    include_str!("../../examples/epsom-magnesia.toml"),
    include_str!("../../examples/zinc-lozenges.toml"),
    include_str!("suite/plan-short.toml"),
    include_str!("files/tablets.toml"),
];

/// One change of a file.
#[derive(Clone, Debug)]
enum Change {
    Delete(Index),
    Double(Index),
    Swap(Index, Index),
    /// The text in quotes of one line is put into another.
    Copy(Index, Index),
    Value(Index, &'static str),
    Character(Index, char),
    Cut(Index),
}

fn changes() -> impl Strategy<Value = Change> {
    let values = vec![
        "",
        "0 g",
        "-1 g",
        "1e300 g",
        "1e-300 g",
        "1e9 kg",
        "1e11 g",
        "0 .. 1 g",
        "<= 100 %",
        ">= 0 %",
        "100 %",
        "0 %",
        "0 ± 50 %",
        "50 ± 500 g",
        "all",
        "rest",
        "solids",
        "none",
        "water",
        "50 x 1 g",
        "-200 °C",
        "CuO(s)",
        "H2O(l)",
        "H2O(g)",
        "CuSO4(aq)",
        "Na2CO3·10H2O(s)",
        "Cu2CO3(OH)2·nH2O(s), n = 0 .. 900",
        "Cu",
        "O",
        "dry",
        "dissolve",
        "filter",
        "ignite",
        "divide",
        "precipitate",
        "evaporate",
        "crystallise",
        "combine",
        "r7",
        "portion",
        "hydrogen",
        "4.90 EUR",
        "0 EUR",
        "2 h",
        "1 .. 2 d",
        "600 mL",
        "20 tablets",
        "beaker",
        "2 H2(g) + O2(g) -> 2 H2O(l)",
    ];
    prop_oneof![
        any::<Index>().prop_map(Change::Delete),
        any::<Index>().prop_map(Change::Double),
        any::<(Index, Index)>().prop_map(|(a, b)| Change::Swap(a, b)),
        any::<(Index, Index)>().prop_map(|(a, b)| Change::Copy(a, b)),
        (any::<Index>(), select(values)).prop_map(|(line, value)| Change::Value(line, value)),
        (any::<Index>(), any::<char>()).prop_map(|(place, character)| Change::Character(place, character)),
        any::<Index>().prop_map(Change::Cut),
    ]
}

/// The last text in quotes of a line.
fn quoted(line: &str) -> Option<std::ops::Range<usize>> {
    let end = line.rfind('"')?;
    let start = line.get(..end)?.rfind('"')? + 1;
    Some(start..end)
}

fn apply(text: &str, change: &Change) -> String {
    let mut lines: Vec<String> = text.lines().map(str::to_owned).collect();
    if lines.is_empty() {
        return String::new();
    }
    let count = lines.len();
    match change {
        Change::Delete(line) => drop(lines.remove(line.index(count))),
        Change::Double(line) => lines.insert(line.index(count), lines[line.index(count)].clone()),
        Change::Swap(a, b) => lines.swap(a.index(count), b.index(count)),
        Change::Copy(a, b) => {
            let (from, into) = (lines[a.index(count)].clone(), &mut lines[b.index(count)]);
            if let (Some(source), Some(target)) = (quoted(&from), quoted(into)) {
                into.replace_range(target, &from[source]);
            }
        }
        Change::Value(line, value) => {
            // The first line with a text in quotes from here on.
            let start = line.index(count);
            if let Some((line, range)) = lines[start..].iter_mut().find_map(|l| quoted(l).map(|range| (l, range))) {
                line.replace_range(range, value);
            }
        }
        Change::Character(place, character) => {
            let line = &mut lines[place.index(count)];
            let at = line.char_indices().map(|(i, _)| i).nth(place.index(line.chars().count().max(1))).unwrap_or(0);
            line.insert(at, *character);
        }
        Change::Cut(line) => lines.truncate(line.index(count).max(count / 2)),
    }
    lines.join("\n")
}

fn changed_files() -> impl Strategy<Value = String> {
    (select(GOOD.to_vec()), vec(changes(), 1..4))
        .prop_map(|(text, changes)| changes.iter().fold(text.to_owned(), |text, change| apply(&text, change)))
}

/// Changes of values alone, which leave most files readable.
fn changed_values() -> impl Strategy<Value = String> {
    let change =
        changes().prop_filter("values", |c| matches!(c, Change::Value(..) | Change::Copy(..) | Change::Delete(_)));
    (select(GOOD.to_vec()), vec(change, 1..3))
        .prop_map(|(text, changes)| changes.iter().fold(text.to_owned(), |text, change| apply(&text, change)))
}

fn words() -> impl Strategy<Value = String> {
    let words = vec![
        "title",
        "target",
        "account_for",
        "supply",
        "instrument",
        "vessel",
        "step",
        "suppose",
        "reading",
        "name",
        "holds",
        "assay",
        "take",
        "gives",
        "action",
        "may_hold",
        "trace",
        "weigh",
        "of",
        "in",
        "with",
        "[[",
        "]]",
        "[",
        "]",
        "{",
        "}",
        "=",
        ",",
        ".",
        "\"",
        "\"\"\"",
        "'",
        "\n",
        "\n",
        " ",
        "#",
        "\"dry\"",
        "\"CuO(s)\"",
        "\"5 g\"",
        "\"all\"",
        "5",
        "-1e9",
        "true",
        "inf",
        "nan",
        "2026-05-02",
        "\\u0000",
        "·",
        "±",
    ];
    vec(select(words), 0..120).prop_map(|words| words.concat())
}

fn has_places(bytes: &[u8], reading: &Reading) -> Result<(), TestCaseError> {
    let lines = bytes.split(|b| *b == b'\n').count();
    for finding in &reading.findings {
        prop_assert!(finding.line >= 1 && finding.line <= lines && finding.column >= 1, "{:?}", finding);
        prop_assert!(!finding.hints.is_empty(), "no remedy: {:?}", finding);
    }
    prop_assert!(reading.preparation.is_some() || !reading.findings.is_empty(), "refused without a word");
    Ok(())
}

fn is_number(interval: &Interval, what: &str) -> Result<(), TestCaseError> {
    let figures = [interval.mean, interval.median, interval.low, interval.high, interval.standard_uncertainty];
    prop_assert!(figures.iter().all(|f| !f.is_nan()), "{} of {}: {:?}", interval.unit, what, interval);
    prop_assert!(interval.low <= interval.high && interval.standard_uncertainty >= 0.0, "{}: {:?}", what, interval);
    Ok(())
}

fn plan_is_sound(plan: &Plan) -> Result<(), TestCaseError> {
    for step in &plan.steps {
        for expected in step.expects.iter().filter_map(|e| e.interval.as_ref()) {
            is_number(expected, &step.name)?;
        }
        if let Some(filled) = &step.vessel {
            is_number(&filled.volume, &filled.vessel)?;
        }
        for (name, mass) in step.gives.iter().chain(&step.vents) {
            is_number(mass, name)?;
            prop_assert!(mass.low >= 0.0, "{name}: {mass:?}");
        }
    }
    if let Some(timeline) = &plan.timeline {
        is_number(&timeline.elapsed, "elapsed")?;
        for step in &timeline.steps {
            is_number(&step.end, &step.step)?;
            prop_assert!(step.start.low >= 0.0 && step.start.mean <= step.end.mean + 1e-9, "{step:?}");
        }
        prop_assert!(timeline.hands.mean <= timeline.elapsed.mean + 1e-9, "two pairs of hands: {timeline:?}");
    }
    if let Some(cost) = &plan.cost {
        is_number(&cost.total, "cost")?;
    }
    stock_is_sound(&plan.stock)
}

fn stock_is_sound(stock: &[StockLine]) -> Result<(), TestCaseError> {
    for line in stock {
        for interval in [&line.before, &line.used, &line.remains] {
            is_number(interval, &line.supply)?;
            prop_assert!(interval.low >= 0.0, "{}: {:?}", line.supply, interval);
        }
    }
    Ok(())
}

fn account_is_sound(account: &Account) -> Result<(), TestCaseError> {
    for lot in &account.lots {
        is_number(&lot.mass, &lot.name)?;
        for element in &lot.elements {
            is_number(&element.mass, &lot.name)?;
        }
    }
    for stream in &account.streams {
        for (element, mass) in &stream.elements {
            is_number(mass, &format!("{element} in {}", stream.name))?;
        }
    }
    for step in account.yields.iter().flat_map(|y| &y.steps) {
        is_number(&step.cumulative, &step.name)?;
    }
    for cause in account.findings.iter().flat_map(|f| &f.causes) {
        if let Some(needs) = &cause.needs {
            is_number(needs, &cause.cause)?;
        }
        prop_assert!(cause.predicts.iter().all(|(_, figure)| figure.value.is_finite()), "{cause:?}");
    }
    if let Some(cost) = &account.cost {
        is_number(&cost.charges.total, "cost")?;
        for interval in cost.per_gram.iter().chain(cost.lost.iter().map(|lost| &lost.not_in_product)) {
            is_number(interval, "cost")?;
        }
    }
    stock_is_sound(&account.stock)
}

fn evaluates(preparation: &Preparation) -> Result<(), TestCaseError> {
    plan_is_sound(&prep::plan(preparation))?;
    account_is_sound(&prep::live_account(preparation))?;
    let settings = prep::AccountSettings { particles: Some(32), ..prep::AccountSettings::default() };
    account_is_sound(&prep::account(preparation, &settings, &mut |_| {}))
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 400, failure_persistence: None, ..ProptestConfig::default() })]

    #[test]
    fn bytes_of_any_kind(bytes in vec(any::<u8>(), 0..600)) {
        has_places(&bytes, &prep::read(&bytes))?;
    }

    #[test]
    fn text_of_any_kind(text in "\\PC{0,200}") {
        has_places(text.as_bytes(), &prep::read(text.as_bytes()))?;
    }

    #[test]
    fn words_in_any_order(text in words()) {
        has_places(text.as_bytes(), &prep::read(text.as_bytes()))?;
    }

    #[test]
    fn files_with_other_lines(text in changed_files()) {
        has_places(text.as_bytes(), &prep::read(text.as_bytes()))?;
    }
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 60, failure_persistence: None, ..ProptestConfig::default() })]

    #[test]
    fn what_can_be_read_can_be_reckoned(text in prop_oneof![changed_files(), changed_values()]) {
        if let Some(preparation) = prep::read(text.as_bytes()).preparation {
            evaluates(&preparation)?;
        }
    }
}
