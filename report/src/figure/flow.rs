//! Where is every gram of the element?
//!
//! One stream down the page, drawn to scale; what leaves it branches off to the right and is drawn again on an axis of
//! its own, because most exits are too thin to see. Intervals stand beside every branch. The uncertainty of the stream
//! itself is thinner than its outline and stands as a figure.

use super::axis::{Axis, glyph};
use super::{Drawing, Figure, NARROW, label};
use crate::document::{Align, Cell, Table, element_name};
use crate::number;
use prep::outcome::{Account, Interval};
use std::fmt::Write as _;

/// Width of the whole stream, px.
const BROAD: f64 = 72.0;

struct Branch<'a> {
    name: String,
    mass: &'a Interval,
}

/// Streams in the order in which they usually leave; what is not among them comes last.
const ORDER: [&str; 5] = ["residue", "liquor", "vented", "lost", "tests"];

/// The flow of an element; none where nothing of it was charged or nothing is accounted.
#[must_use]
pub fn flow_figure(account: &Account, element: &str) -> Option<Figure> {
    let of = |list: &'_ [(String, Interval)]| list.iter().position(|(symbol, _)| symbol == element);
    let feed = &account.feed.get(of(&account.feed)?)?.1;
    if !feed.mean.is_finite() || feed.mean <= 0.0 {
        return None;
    }
    let mut branches: Vec<Branch<'_>> = Vec::new();
    let mut product = None;
    for stream in &account.streams {
        let Some((_, mass)) = of(&stream.elements).and_then(|at| stream.elements.get(at)) else { continue };
        match stream.name {
            "product" => product = Some(mass),
            _ if !mass.mean.is_finite() || mass.high < 1e-4 * feed.mean => {}
            name => branches.push(Branch { name: named(name).to_owned(), mass }),
        }
    }
    let place = |name: &str| ORDER.iter().position(|known| named(known) == name).unwrap_or(ORDER.len());
    branches.sort_by_key(|branch| place(&branch.name));
    let product = product?;
    let mut table =
        Table::new(&[("stream", Align::Left), (&format!("g {element}"), Align::Point), ("share, %", Align::Point)]);
    let rows = [("taken".to_owned(), feed)].into_iter().chain(branches.iter().map(|b| (b.name.clone(), b.mass)));
    let rows: Vec<(String, &Interval)> = rows.chain([("product".to_owned(), product)]).collect();
    for (name, mass) in &rows {
        let share = number::fixed(100.0 * mass.mean / feed.mean, 1);
        table.push(vec![Cell::text(name.clone()), Cell::text(number::mean_bare(mass)), Cell::text(share)]);
    }
    let words: Vec<String> = rows.iter().map(|(name, mass)| format!("{name} {}", number::mean(mass))).collect();
    Some(Figure {
        title: format!("Where every gram of {} is", element_name(element)),
        description: words.join("; "),
        caption: match branches.is_empty() {
            true => format!("The stream to scale, {} across; nothing left it.", number::mean(feed)),
            false => format!(
                "Left, the stream to scale, {} across; its uncertainty is thinner than its outline. Right, what left it, on an axis of its own: line 90 %, thick 50 %, tick at the median.",
                number::mean(feed)
            ),
        },
        wide: drawn(feed, &branches, product, element, 720.0),
        narrow: drawn(feed, &branches, product, element, NARROW),
        table,
    })
}

fn named(stream: &str) -> &str {
    match stream {
        "liquor" => "liquor and washings",
        "residue" => "insoluble residue",
        "tests" => "used for tests",
        "vented" => "vented",
        "lost" => "films and spills",
        other => other,
    }
}

fn drawn(feed: &Interval, branches: &[Branch<'_>], product: &Interval, element: &str, width: f64) -> Drawing {
    let wide = width > 500.0;
    let (row, top, left) = if wide { (50.0, 34.0, 120.0) } else { (62.0, 30.0, 0.0) };
    let (axis_left, axis_right) = if wide { (452.0, 700.0) } else { (168.0, 318.0) };
    let exit = left + BROAD + if wide { 26.0 } else { 12.0 };
    let ticks = if wide { 4 } else { 2 };
    let axis = Axis::over(branches.iter().map(|b| b.mass.high), true, axis_left, axis_right, ticks);
    #[expect(clippy::cast_precision_loss, reason = "a handful of branches")]
    let last = top + row * (branches.len() as f64 + 1.0);
    let mut body = label("s2", 13, left, 14.0, &format!("g {element} in the stream"));
    if !branches.is_empty() {
        body += &label("s2 e", 13, axis_right, 14.0, &format!("g {element} that left"));
        body += &axis.grid(ticks, top + row - 14.0, last - 8.0);
    }
    body += &end(left, top, row, wide, "taken", &number::mean(feed));
    let mut breadth = BROAD;
    let _ = write!(body, "<rect class=\"el\" x=\"{left}\" y=\"{top}\" width=\"{breadth:.2}\" height=\"{row}\"/>");
    let mut y = top + row;
    for branch in branches {
        let leaves = (branch.mass.mean / feed.mean * BROAD).clamp(0.0, breadth);
        let drawn = leaves.max(1.25);
        let middle = y + row / 2.0;
        let right = left + breadth;
        let after = breadth - leaves;
        let _ = write!(
            body,
            "<path class=\"el\" d=\"M{left} {y:.1} H{right:.2} V{:.2} H{:.2} V{:.1} H{left} z\"/><rect class=\"elfill\" x=\"{:.2}\" y=\"{:.2}\" width=\"{:.2}\" height=\"{drawn:.2}\"/><path class=\"elfill\" d=\"M{:.1} {:.1} l8 5 l-8 5 z\"/>",
            middle + leaves / 2.0,
            left + after,
            y + row,
            right - drawn.min(breadth),
            middle - drawn / 2.0,
            exit - 8.0 - right + drawn.min(breadth),
            exit - 8.0,
            middle - 5.0
        );
        let told = number::mean(branch.mass);
        if wide {
            body += &label("", 15, exit + 8.0, middle - 2.0, &branch.name);
            body += &label("s2", 14, exit + 8.0, middle + 15.0, &told);
            body += &glyph(&axis, middle, branch.mass);
        } else {
            body += &label("", 14, exit + 6.0, middle - 9.0, &branch.name);
            body += &label("s2", 13, exit + 6.0, middle + 21.0, &told);
            body += &glyph(&axis, middle + 3.0, branch.mass);
        }
        breadth = after;
        y += row;
    }
    let _ = write!(
        body,
        "<path class=\"el\" d=\"M{left} {y:.1} h{breadth:.2} v{row} l{:.2} 10 l{:.2} -10 z\"/><line class=\"eledge\" x1=\"{left}\" x2=\"{left}\" y1=\"{top}\" y2=\"{:.1}\"/>",
        -breadth / 2.0,
        -breadth / 2.0,
        y + row
    );
    body += &end(left, y, row, wide, "product", &number::mean(product));
    if !branches.is_empty() {
        body += &axis.drawn(ticks, last - 8.0, &format!("g {element}"));
    }
    Drawing { width, height: y + row + 16.0, body }
}

/// An end of the stream: its name and its mass.
fn end(left: f64, y: f64, row: f64, wide: bool, name: &str, mass: &str) -> String {
    if wide {
        label("e", 15, left - 14.0, y + row / 2.0 + 5.0, name)
            + &label("b", 17, left + BROAD + 12.0, y + row / 2.0 + 6.0, mass)
    } else {
        label("s2", 14, left + BROAD + 12.0, y + row / 2.0 - 5.0, name)
            + &label("b", 15, left + BROAD + 12.0, y + row / 2.0 + 14.0, mass)
    }
}
