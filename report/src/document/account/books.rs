//! The books: yields side by side, what each lot holds, where the element went, step by step.

use super::by_ignition;
use crate::document::{Align, Block, Cell, Table, element_name, listed};
use crate::number;
use crate::strip::{Mark, Scale, Strip};
use prep::outcome::{Account, Interval, LotAccount, StepYield, Stream, Yields};

/// Share of a lot below which a part is named without a figure.
const TRACE: f64 = 0.001;

/// Quoted yields, each from one assumption, above the accounted one.
pub(in crate::document) fn yields(account: &Account) -> Vec<Block> {
    let Some(yields) = &account.yields else { return Vec::new() };
    let heading = Block::Heading(format!("Yields of {}, quoted and accounted", element_name(&yields.element)));
    let Some(scale) = yield_scale(yields) else { return vec![heading] };
    let mut table = Table::new(&[
        ("yield", Align::Left),
        (&format!("{}, g", yields.element), Align::Point),
        ("%", Align::Point),
        (&format!("{} … {} %", number::fixed(scale.low, 0), number::fixed(scale.high, 0)), Align::Strip),
    ]);
    for quoted in &yields.quoted {
        let how = if by_ignition(quoted) { "residue as" } else { "taken for" };
        table.push(vec![
            Cell::text(format!("{}, {how} {}", quoted.lot, quoted.as_formula)),
            Cell::text(number::figure_bare(&quoted.element_mass)),
            Cell::text(number::figure_bare(&quoted.percent)),
            Cell::Strip(Strip {
                interval: None,
                scale,
                marks: vec![Mark::Reference(100.0), Mark::Quoted(quoted.percent.value)],
            }),
        ]);
    }
    for step in yields.steps.iter().filter(|step| judged(account, yields, step)) {
        table.push(accounted(format!("accounted, up to {}", step.name), &step.cumulative, scale));
    }
    table.push(accounted("accounted, feed to product".to_owned(), &yields.overall, scale));
    vec![
        heading,
        Block::Table(table),
        Block::Paragraph(
            "Quoted yields (◇) are worked out against the label alone and hold only if their formula does; accounted ones carry a range (line 9 in 10, thick 5 in 10)."
                .to_owned(),
        ),
    ]
}

/// Whether a step ends in a lot whose yield was quoted.
fn judged(account: &Account, yields: &Yields, step: &StepYield) -> bool {
    account.lots.iter().any(|lot| lot.step == step.name && yields.quoted.iter().any(|quoted| quoted.lot == lot.id))
}

fn accounted(name: String, interval: &Interval, scale: Scale) -> Vec<Cell> {
    vec![
        Cell::text(name),
        Cell::blank(),
        Cell::text(number::percent_bare(interval)),
        Cell::Strip(Strip { interval: Some(interval.clone()), scale, marks: vec![Mark::Reference(100.0)] }),
    ]
}

fn yield_scale(yields: &Yields) -> Option<Scale> {
    let quoted: Vec<f64> = yields.quoted.iter().map(|quoted| quoted.percent.value).chain([100.0]).collect();
    let steps = yields.steps.iter().map(|step| &step.cumulative);
    Scale::common(steps.chain([&yields.overall]), &quoted)
}

/// What each lot may hold.
pub(in crate::document) fn lots(account: &Account) -> Vec<Block> {
    let heading = Block::Heading("What each lot may hold".to_owned());
    if account.lots.is_empty() {
        return vec![heading, Block::Paragraph("None.".to_owned())];
    }
    let heads: Vec<String> = account.elements.iter().map(|element| format!("{element}, g")).collect();
    let mut columns = vec![("lot", Align::Left), ("mass, g", Align::Point), ("9 in 10", Align::Point)];
    columns.extend(heads.iter().map(|head| (head.as_str(), Align::Point)));
    let mut table = Table::new(&columns);
    for lot in &account.lots {
        lot_rows(&mut table, lot, &account.elements);
    }
    let note = format!("trace: under {}{}% of the lot.", number::plain(100.0 * TRACE), number::NO_BREAK);
    vec![heading, Block::Table(table), Block::Paragraph(note)]
}

fn lot_rows(table: &mut Table, lot: &LotAccount, elements: &[String]) {
    let mut cells = vec![
        Cell::text(lot.name.clone()),
        Cell::text(number::mean_bare(&lot.mass)),
        Cell::text(number::interval_bare(&lot.mass)),
    ];
    cells.extend(elements.iter().map(|element| {
        let content = lot.elements.iter().find(|content| &content.element == element);
        Cell::text(content.map_or_else(|| "0".to_owned(), |content| number::mean_bare(&content.mass)))
    }));
    table.push(cells);
    let foreign = ("foreign matter".to_owned(), lot.foreign.clone());
    let parts = lot.species.iter().chain([&foreign]).filter(|(_, mass)| mass.high > 0.0);
    for (species, mass) in parts {
        let trace = mass.high < TRACE * lot.mass.mean;
        let amount = if trace { "trace".to_owned() } else { number::interval_bare(mass) };
        table.push(vec![Cell::text(format!("  {species}")), Cell::blank(), Cell::text(amount)]);
    }
    for (family, extent) in lot.hydration.iter().filter(|(_, extent)| extent.high > 0.0) {
        let text = format!("  n in {family}");
        table.push(vec![Cell::text(text), Cell::blank(), Cell::text(format!("n = {}", number::interval_bare(extent)))]);
    }
}

/// Where the element is, adding up to the feed.
pub(in crate::document) fn streams(account: &Account) -> Vec<Block> {
    account.elements.iter().flat_map(|element| stream_table(account, element)).collect()
}

fn stream_table(account: &Account, element: &str) -> Vec<Block> {
    let feed = account.feed.iter().find(|(symbol, _)| symbol == element).map(|(_, feed)| feed);
    let masses: Vec<(&Stream, &Interval)> =
        account.streams.iter().filter_map(|stream| Some((stream, in_stream(stream, element)?))).collect();
    let decimals = shared_decimals(masses.iter().map(|(_, mass)| *mass).chain(feed));
    let mut table = Table::new(&[
        ("stream", Align::Left),
        (&format!("{element}, g"), Align::Point),
        ("share, %", Align::Point),
        ("lots", Align::Left),
    ]);
    let share = |mass: &Interval| {
        feed.filter(|feed| feed.mean > 0.0)
            .map_or_else(String::new, |feed| number::fixed(100.0 * mass.mean / feed.mean, 1))
    };
    let cell = |mass: &Interval| number::at_place(mass.mean, Some(mass.standard_uncertainty), decimals);
    for (stream, mass) in masses {
        table.push(vec![
            Cell::text(stream_name(stream.name)),
            Cell::text(cell(mass)),
            Cell::text(share(mass)),
            Cell::text(if stream.lots.is_empty() { "none".to_owned() } else { listed(&stream.lots) }),
        ]);
    }
    if let Some(feed) = feed {
        table.push(vec![Cell::text("charged"), Cell::text(cell(feed)), Cell::text(share(feed))]);
        table.total = true;
    }
    vec![Block::Heading(format!("Where every gram of {} is", element_name(element))), Block::Table(table)]
}

fn in_stream<'a>(stream: &'a Stream, element: &str) -> Option<&'a Interval> {
    stream.elements.iter().find(|(symbol, _)| symbol == element).map(|(_, mass)| mass)
}

fn stream_name(name: &str) -> &str {
    match name {
        "tests" => "tests (portions used up)",
        "lost" => "lost (films, spills, dust)",
        "vented" => "vented",
        other => other,
    }
}

/// Decimals for a column whose lines add up: what the least certain line needs for two digits.
fn shared_decimals<'a>(masses: impl Iterator<Item = &'a Interval>) -> i32 {
    let largest = masses.map(|mass| mass.standard_uncertainty).fold(0.0, f64::max);
    number::decimals_for(largest).map_or(3, |decimals| decimals.max(0))
}

/// The yield of each operation on the way to the product.
pub(in crate::document) fn steps(account: &Account) -> Vec<Block> {
    let Some(yields) = account.yields.as_ref().filter(|yields| !yields.steps.is_empty()) else { return Vec::new() };
    let scale = Scale::common(yields.steps.iter().map(|step| &step.cumulative), &[100.0]);
    let mut table = Table::new(&[
        ("step", Align::Left),
        ("yield, %", Align::Point),
        ("from the feed, %", Align::Point),
        ("9 in 10", Align::Point),
        ("from the feed", Align::Strip),
    ]);
    for step in &yields.steps {
        let strip = scale.map_or_else(Cell::blank, |scale| {
            Cell::Strip(Strip { interval: Some(step.cumulative.clone()), scale, marks: vec![Mark::Reference(100.0)] })
        });
        table.push(vec![
            Cell::text(step.name.clone()),
            Cell::text(number::percent_bare(&step.interval)),
            Cell::text(number::percent_bare(&step.cumulative)),
            Cell::text(number::percent_ends(&step.cumulative)),
            strip,
        ]);
    }
    vec![Block::Heading("Yield of each step".to_owned()), Block::Table(table)]
}
