//! Which reaction takes the gas from which, and from what temperature on?
//!
//! Gibbs energy of each reaction over temperature, for one mole of the gas that all share: of two lines the lower takes the
//! gas. Each line has its own dashes and its name at its end; crossings are rings. Of a single reaction the shaded width is
//! 90 %, and the line of nothing tells where it turns.

use super::labels::{Frame, Labels};
use super::letters;
use super::plane::{BELOW, LEFT, Plane, TOP, area, between, line, mark, told};
use super::{Drawing, Figure, NARROW, set_text};
use crate::document::{Align, Cell, Table};
use crate::number;
use prep::outcome::{GibbsCrossing, GibbsLine, GibbsLines};

/// Kelvin at 0 °C.
const ZERO: f64 = 273.15;
/// Standard uncertainties from the middle to the end of the middle 90 % of a normal distribution.
const NINETY: f64 = 1.645;
/// Kinds of dashes.
const DASHES: usize = 6;
/// Most lines of which the widths are shaded, and most crossings that are named.
const SHADED: usize = 3;
const NAMED: usize = 8;
/// More lines than these are drawn thinner.
const FEW: usize = 4;
/// Temperatures of the table, shares of the range.
const ROWS: usize = 4;

/// The lines of a reaction and of those beside it.
#[must_use]
pub fn gibbs_figure(lines: &GibbsLines) -> Figure {
    let unit = unit(lines);
    let mut table = Table::new(&[("reaction", Align::Left), ("°C", Align::Point), (&unit, Align::Point)]);
    for one in &lines.lines {
        for at in 0..=ROWS {
            let (kelvin, value, u) = one.points[at * (one.points.len() - 1) / ROWS];
            table.push(vec![
                Cell::text(if at == 0 { one.equation.clone() } else { one.label.clone() }),
                Cell::text(number::fixed(kelvin - ZERO, 0)),
                Cell::text(number::with_uncertainty(value, Some(u))),
            ]);
        }
    }
    for crossing in &lines.crossings {
        table.push(vec![
            Cell::text(told_crossing(lines, crossing)),
            Cell::text(celsius(crossing)),
            Cell::text(number::fixed(crossing.value, 0)),
        ]);
    }
    let words: Vec<String> =
        lines.crossings.iter().map(|c| format!("{} at {}\u{a0}°C", told_crossing(lines, c), celsius(c))).collect();
    let description = match (&words[..], zero(lines)) {
        ([], Some(kelvin)) => format!("it turns at {}\u{a0}°C", number::fixed(kelvin - ZERO, 0)),
        ([], None) => format!("from {}", span(&lines.lines[0])),
        _ => words.join("; "),
    };
    Figure {
        title: format!("Gibbs energy of {} over temperature", title(lines)),
        description,
        caption: caption(lines),
        wide: drawn(lines, 720.0, &unit),
        narrow: drawn(lines, NARROW, &unit),
        table,
    }
}

fn unit(lines: &GibbsLines) -> String {
    lines.per.as_ref().map_or_else(
        || "ΔG, kJ for the reaction as balanced".to_owned(),
        |gas| format!("ΔG, kJ per mol {}", gas.trim_end_matches("(g)")),
    )
}

fn title(lines: &GibbsLines) -> String {
    match &lines.lines[..] {
        [one] => one.equation.clone(),
        all => format!("{} reactions", all.len()),
    }
}

fn caption(lines: &GibbsLines) -> String {
    if lines.lines.len() > 1 {
        "What lies lower takes the gas from what lies higher, beyond a ring the other way round; whether it does so in hours, no line tells. Breaks: a melt or a vapour.".to_owned()
    } else {
        "Below the line of nothing it may run as written, above it the other way; how fast, no line tells. Shaded: 90 %.".to_owned()
    }
}

fn celsius(crossing: &GibbsCrossing) -> String {
    number::with_uncertainty(crossing.kelvin - ZERO, Some(crossing.standard_uncertainty))
}

fn told_crossing(lines: &GibbsLines, crossing: &GibbsCrossing) -> String {
    let name = |at: usize| lines.lines.get(at).map_or("", |one| one.label.as_str());
    format!("{} under {} above", name(crossing.hot), name(crossing.cold))
}

fn span(one: &GibbsLine) -> String {
    let value = |point: Option<&(f64, f64, f64)>| point.map_or(f64::NAN, |point| point.1);
    format!("{} to {} kJ", number::fixed(value(one.points.first()), 0), number::fixed(value(one.points.last()), 0))
}

/// Where the only line passes nothing.
fn zero(lines: &GibbsLines) -> Option<f64> {
    let [one] = &lines.lines[..] else { return None };
    let pair = one.points.windows(2).find(|pair| (pair[0].1 > 0.0) != (pair[1].1 > 0.0))?;
    Some(pair[0].0 + (pair[1].0 - pair[0].0) * pair[0].1 / (pair[0].1 - pair[1].1))
}

fn drawn(lines: &GibbsLines, width: f64, unit: &str) -> Drawing {
    let wide = width > 500.0;
    let alone = lines.lines.len() == 1;
    let longest = lines.lines.iter().map(|one| letters::width(&set_text(&one.label), 13.0)).fold(0.0, f64::max);
    let right = if alone { width - 14.0 } else { width - (longest + 34.0).min(width * 0.46) };
    #[expect(clippy::cast_precision_loss, reason = "a handful of lines")]
    let room = ((if wide { 26.0 } else { 22.0 }) * lines.lines.len() as f64).max(if wide { 300.0 } else { 240.0 });
    let frame = Frame { left: LEFT, top: TOP, right, bottom: TOP + room };
    let all = || lines.lines.iter().flat_map(|one| &one.points);
    let plane = Plane::over(
        all().map(|point| point.0 - ZERO),
        all().flat_map(|(_, value, u)| [value - NINETY * u, value + NINETY * u]).chain([0.0]),
        (false, false),
        frame,
    );
    let span = |pick: fn(f64, f64) -> f64, from: f64| all().map(|point| point.0 - ZERO).fold(from, pick);
    let ends = (span(f64::min, f64::INFINITY), span(f64::max, f64::NEG_INFINITY));
    let plane = plane.between(ends);
    let mut body = plane.ruled(("temperature, °C", unit));
    let mut labels = Labels::on(Frame { right: width, ..frame });
    let nothing = plane.trace(&[(ends.0, 0.0), (ends.1, 0.0)]);
    labels.avoid(&nothing);
    let mut names = Vec::new();
    let mut curves = String::new();
    for (at, one) in lines.lines.iter().enumerate() {
        let trace = |shift: f64| -> Vec<(f64, f64)> {
            plane.trace(&one.points.iter().map(|(t, v, u)| (t - ZERO, v + shift * u)).collect::<Vec<_>>())
        };
        if lines.lines.len() <= SHADED {
            body += &area("shade", &between(&trace(-NINETY), &trace(NINETY)));
        }
        let points = trace(0.0);
        labels.avoid(&points);
        let weight = if at == 0 {
            " first"
        } else if lines.lines.len() > FEW {
            " thin"
        } else {
            ""
        };
        curves += &line(&format!("curve k{}{weight}", at % DASHES), &points);
        for ((kelvin, value, u), spot) in one.points.iter().zip(&points).step_by(4) {
            let words = format!(
                "{}: {} kJ at {}\u{a0}°C",
                one.label,
                number::with_uncertainty(*value, Some(*u)),
                number::fixed(kelvin - ZERO, 0)
            );
            curves += &told(*spot, &words);
        }
        if let Some(end) = points.last() {
            names.push((*end, one.label.clone(), if at == 0 { "b" } else { "" }));
        }
    }
    body += &line("ax", &nothing);
    body += &curves;
    if !alone {
        let column: Vec<(f64, String, &str)> =
            names.into_iter().map(|((_, y), name, class)| (y, name, class)).collect();
        labels.column(13, (right, right + 30.0), &column);
    }
    body += &crossings(lines, &plane, &mut labels);
    body += &labels.drawn();
    Drawing { width, height: frame.bottom + BELOW, body }
}

/// Rings where lines cross, and where the only one passes nothing.
fn crossings(lines: &GibbsLines, plane: &Plane, labels: &mut Labels) -> String {
    let mut out = String::new();
    if let Some(kelvin) = zero(lines) {
        let spot = plane.spot((kelvin - ZERO, 0.0));
        let words = format!("{}\u{a0}°C", number::fixed(kelvin - ZERO, 0));
        labels.keep_free(spot, 4.0);
        labels.near("b", 14, spot, &words);
        out += &mark("open", spot, &words);
    }
    let own = |c: &&GibbsCrossing| c.cold == 0 || c.hot == 0;
    let few = lines.crossings.len() <= NAMED;
    let spots = lines.crossings.iter().map(|c| (c, plane.spot((c.kelvin - ZERO, c.value))));
    let spots: Vec<_> = spots.collect();
    for (_, spot) in &spots {
        labels.keep_free(*spot, 4.0);
    }
    for (crossing, spot) in &spots {
        out += &mark("open", *spot, &format!("{}: {}\u{a0}°C", told_crossing(lines, crossing), celsius(crossing)));
        if few || own(crossing) {
            let words = format!("{}\u{a0}°C", number::fixed(crossing.kelvin - ZERO, 0));
            labels.near(if own(crossing) { "b" } else { "s2" }, 13, *spot, &words);
        }
    }
    out
}
