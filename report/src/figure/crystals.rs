//! Along which line does a liquor cool, and what washings leave?
//!
//! Solubility over temperature, each solid phase with its own dashes, shaded by what handbooks differ; the liquor's way on it
//! from the start to the end. Washings: what is left after each, by decades, with what the held liquor leaves open.

use super::labels::{Frame, Labels, Spot};
use super::plane::{BELOW, LEFT, Plane, TOP, area, between, line, mark, told};
use super::{Drawing, Figure, NARROW};
use crate::document::{Align, Cell, Table};
use crate::number;
use prep::outcome::{CrystalliseAnswer, WashAnswer};

/// Standard uncertainties from the middle to the end of the middle 90 % of a normal distribution.
const NINETY: f64 = 1.645;

/// The way of the liquor over the solubility; none where no curve is tabled.
#[must_use]
pub fn crystals_figure(answer: &CrystalliseAnswer) -> Option<Figure> {
    if answer.curve.iter().all(|(_, points)| points.len() < 2) || answer.path.len() < 2 {
        return None;
    }
    let unit = format!("{}, g in 100 g water", answer.salt);
    let mut table = Table::new(&[("", Align::Left), ("°C", Align::Point), (&unit, Align::Point)]);
    for (solid, points) in &answer.curve {
        for (celsius, grams) in points {
            table.push(vec![
                Cell::text(format!("{solid} dissolves")),
                Cell::text(number::fixed(*celsius, 0)),
                Cell::text(number::significant(*grams, 3)),
            ]);
        }
    }
    for (words, (celsius, grams)) in
        [("the liquor, start", answer.path[0]), ("the liquor, end", answer.path[answer.path.len() - 1])]
    {
        table.push(vec![
            Cell::text(words),
            Cell::text(number::fixed(celsius, 0)),
            Cell::text(number::significant(grams, 3)),
        ]);
    }
    Some(Figure {
        title: format!("Solubility of {} and the way of the liquor", answer.salt),
        description: format!(
            "from {} at {}\u{a0}°C to {} at {}\u{a0}°C, {} of {} come out",
            number::significant(answer.path[0].1, 3),
            number::fixed(answer.from, 0),
            number::significant(answer.path[answer.path.len() - 1].1, 3),
            number::fixed(answer.to, 0),
            number::mean(&answer.first.crystals),
            answer.first.solid
        ),
        caption: "Anhydrous salt in 100 g of all water there is. Thin: solubility of each solid, shaded 90 %. Thick: the liquor; where it meets the solubility crystals show.".to_owned(),
        wide: way(answer, &unit, 520.0),
        narrow: way(answer, &unit, NARROW),
        table,
    })
}

fn way(answer: &CrystalliseAnswer, unit: &str, width: f64) -> Drawing {
    let frame = Frame { left: LEFT, top: TOP, right: width - 20.0, bottom: TOP + 250.0 };
    let curve = || answer.curve.iter().flat_map(|(_, points)| points);
    let plane = Plane::over(
        curve().chain(&answer.path).map(|point| point.0),
        curve().chain(&answer.path).map(|point| point.1),
        (true, true),
        frame,
    );
    let mut body = plane.ruled(("temperature, °C", unit));
    let mut labels = Labels::on(frame);
    let spread = NINETY * answer.curve_uncertainty;
    let mut named: Vec<(Vec<Spot>, &str)> = Vec::new();
    for (at, (solid, points)) in answer.curve.iter().enumerate() {
        let moved = |factor: f64| plane.trace(&points.iter().map(|(t, s)| (*t, s * factor)).collect::<Vec<_>>());
        body += &area("shade", &between(&moved(1.0 - spread), &moved(1.0 + spread)));
        let trace = moved(1.0);
        labels.avoid(&trace);
        body += &line(&format!("curve thin k{at}"), &trace);
        for ((celsius, grams), spot) in points.iter().zip(&trace) {
            body += &told(
                *spot,
                &format!("{solid}: {} g at {}\u{a0}°C", number::significant(*grams, 3), number::fixed(*celsius, 0)),
            );
        }
        named.push((trace, solid));
    }
    let path = plane.trace(&answer.path);
    labels.avoid(&path);
    body += &line("way", &path);
    let (start, end) = (path[0], path[path.len() - 1]);
    for (spot, (celsius, grams), words) in
        [(start, answer.path[0], "start"), (end, answer.path[answer.path.len() - 1], "end")]
    {
        labels.keep_free(spot, 5.0);
        body += &mark(
            "dot",
            spot,
            &format!("{words}: {} g at {}\u{a0}°C", number::significant(grams, 3), number::fixed(celsius, 0)),
        );
    }
    labels.near("b", 14, end, &format!("end, {}", number::significant(answer.path[answer.path.len() - 1].1, 3)));
    labels.near("b", 14, start, &format!("start, {}", number::significant(answer.path[0].1, 3)));
    for (trace, solid) in &named {
        let mut order: Vec<Spot> = trace.clone();
        order.sort_by(|a, b| {
            let middle = |spot: &Spot| (spot.0 - 0.5 * (frame.left + frame.right)).abs();
            middle(a).total_cmp(&middle(b))
        });
        labels.along("", 13, &order, solid);
    }
    body += &labels.drawn();
    Drawing { width, height: frame.bottom + BELOW, body }
}

/// What is left after each wash; none with fewer than two.
#[must_use]
pub fn washings_figure(answer: &WashAnswer) -> Option<Figure> {
    if answer.washes.is_empty() {
        return None;
    }
    let (factor, unit) = answer.before.map_or((100.0, "% left"), |before| (before, "mg left"));
    let mut table = Table::new(&[("washes", Align::Point), (unit, Align::Point), ("9 in 10", Align::Left)]);
    table.push(vec![Cell::text("0"), Cell::text(number::significant(factor, 3)), Cell::text("")]);
    for (at, (share, ..)) in answer.washes.iter().enumerate() {
        let bounds = answer.bounds.get(at).map_or_else(String::new, |(low, high)| {
            format!("{} to {}", number::significant(low * factor, 2), number::significant(high * factor, 2))
        });
        table.push(vec![
            Cell::text((at + 1).to_string()),
            Cell::text(number::significant(share * factor, 3)),
            Cell::text(bounds),
        ]);
    }
    let last = answer.washes[answer.washes.len() - 1].0 * factor;
    let once = answer.in_one.map_or_else(String::new, |(share, _)| {
        format!("; the same water at once leaves {} {unit}", number::significant(share * factor, 3))
    });
    Some(Figure {
        title: format!("What washing leaves of {}", answer.of),
        description: format!("{} {unit} after {} washes{once}", number::significant(last, 3), answer.washes.len()),
        caption: "Dots: after each wash, shaded by what the held liquor leaves open, 90 %. Ring: the same water in one wash. What is shut up in crystals does not follow this.".to_owned(),
        wide: left(answer, (factor, unit), 520.0),
        narrow: left(answer, (factor, unit), NARROW),
        table,
    })
}

fn left(answer: &WashAnswer, (factor, unit): (f64, &str), width: f64) -> Drawing {
    let frame = Frame { left: LEFT, top: TOP, right: width - 20.0, bottom: TOP + 230.0 };
    #[expect(clippy::cast_precision_loss, reason = "a handful of washes")]
    let counted = |at: usize| at as f64 + 1.0;
    let points: Vec<(f64, f64)> = std::iter::once((0.0, factor))
        .chain(answer.washes.iter().enumerate().map(|(at, (share, ..))| (counted(at), share * factor)))
        .collect();
    let edge = |pick: fn(&(f64, f64)) -> f64| -> Vec<(f64, f64)> {
        let own = answer.bounds.iter().enumerate().map(|(at, bounds)| (counted(at), pick(bounds) * factor));
        std::iter::once((0.0, factor)).chain(own).collect()
    };
    let (low, high) = (edge(|b| b.0), edge(|b| b.1));
    let target = answer.target.map(|share| share * factor);
    let once = answer.in_one.map(|(share, _)| share * factor);
    let values = points.iter().chain(&low).chain(&high).map(|point| point.1).chain(target).chain(once);
    let plane = Plane::by_decades(points.iter().map(|point| point.0), values, true, frame);
    let mut body = plane.ruled(("washes", &format!("{}, {unit}", answer.of)));
    let mut labels = Labels::on(frame);
    body += &area("shade", &between(&plane.trace(&low), &plane.trace(&high)));
    let trace = plane.trace(&points);
    labels.avoid(&trace);
    body += &line("curve thin", &trace);
    if let Some(target) = target {
        let level = plane.trace(&[(plane.x.low, target), (plane.x.high, target)]);
        labels.avoid(&level);
        body += &line("ax dash", &level);
        let spots: Vec<Spot> =
            [0.2, 0.35, 0.5, 0.8].iter().map(|s| (frame.left + s * (frame.right - frame.left), level[0].1)).collect();
        labels.along("s2", 13, &spots, &format!("may be left, {}", number::significant(target, 2)));
    }
    for ((count, value), spot) in points.iter().zip(&trace) {
        labels.keep_free(*spot, 5.0);
        body += &mark("dot", *spot, &format!("{count:.0} washes: {} {unit}", number::significant(*value, 3)));
    }
    for ((_, value), spot) in points.iter().zip(&trace).rev() {
        labels.near("", 13, *spot, &number::significant(*value, 3));
    }
    if let Some(once) = once {
        // All of it at once uses as much water as the last of the small ones.
        let spot = plane.spot((counted(answer.washes.len() - 1), once));
        let words = format!("in one wash, {}", number::significant(once, 3));
        labels.keep_free(spot, 5.0);
        labels.near("", 13, spot, &words);
        body += &mark("open", spot, &words);
    }
    body += &labels.drawn();
    Drawing { width, height: frame.bottom + BELOW, body }
}
