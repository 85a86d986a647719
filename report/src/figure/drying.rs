//! Where is the mass of a drying solid heading?
//!
//! Weighings as pointers of the pen over time, the final mass as an interval beside the last of them: a band across for
//! its 90 % and a broken line for its median. The curve between is not drawn: only weighings and the extrapolation are
//! known.

use super::axis::Axis;
use super::{Drawing, Figure, NARROW, label};
use crate::document::{Align, Cell, Table};
use crate::number;
use prep::outcome::DryAnswer;
use std::fmt::Write as _;

/// The weighings of a series and its end; none with fewer than two.
#[must_use]
pub fn drying_figure(answer: &DryAnswer) -> Option<Figure> {
    if answer.weighings.len() < 2 {
        return None;
    }
    let mut table = Table::new(&[("time, h", Align::Point), ("mass, g", Align::Point)]);
    for (time, mass) in &answer.weighings {
        table.push(vec![Cell::text(number::plain(*time)), Cell::text(number::plain(*mass))]);
    }
    let end = answer
        .final_mass
        .as_ref()
        .map_or_else(|| "its end is not known yet".to_owned(), |i| format!("heading for {}", number::mean(i)));
    Some(Figure {
        title: "Weighings of the drying solid".to_owned(),
        description: format!("{} weighings; {end}", answer.weighings.len()),
        caption: "Dots were weighed. The broken line is where the mass is heading, shaded: 90 %.".to_owned(),
        wide: drawn(answer, 520.0),
        narrow: drawn(answer, NARROW),
        table,
    })
}

fn drawn(answer: &DryAnswer, width: f64) -> Drawing {
    let (left, right, top, bottom) = (56.0, width - if width > 500.0 { 96.0 } else { 12.0 }, 22.0, 222.0);
    let times = Axis::over(answer.weighings.iter().map(|(time, _)| *time), true, left, right, 5);
    let ends = answer.final_mass.iter().flat_map(|i| [i.low, i.high]);
    let masses = Axis::over(answer.weighings.iter().map(|(_, mass)| *mass).chain(ends), false, 0.0, bottom - top, 5);
    let height = |mass: f64| bottom - masses.x(mass);
    let mut body = String::new();
    let (ticks, decimals) = masses.ticks(5);
    for tick in ticks {
        let y = height(tick);
        let _ = write!(body, "<line class=\"grid\" x1=\"{left}\" x2=\"{right}\" y1=\"{y:.1}\" y2=\"{y:.1}\"/>");
        body += &label("s2 e", 13, left - 8.0, y + 4.5, &number::fixed(tick, decimals));
    }
    body += &label("s2", 13, 0.0, 10.0, "mass, g");
    if let Some(end) = &answer.final_mass {
        let (a, b, m) = (height(end.high), height(end.low), height(end.median));
        let _ = write!(
            body,
            "<rect class=\"band\" x=\"{left}\" y=\"{a:.1}\" width=\"{:.1}\" height=\"{:.1}\"/><line class=\"curve ahead\" x1=\"{left}\" x2=\"{right}\" y1=\"{m:.1}\" y2=\"{m:.1}\"/>",
            right - left,
            (b - a).max(1.0)
        );
        let text = format!("{}\u{a0}g", number::mean_bare(end));
        body += &if width > 500.0 {
            label("", 13, right + 6.0, m + 4.5, &text)
        } else {
            // Weighings come down to the line from above: its words stand below it where there is room.
            let below = m + 17.0;
            label("e", 13, right, if below < bottom - 4.0 { below } else { m - 8.0 }, &text)
        };
    }
    for (time, mass) in &answer.weighings {
        let (x, y) = (times.x(*time), height(*mass));
        let _ = write!(
            body,
            "<circle class=\"penfill\" cx=\"{x:.1}\" cy=\"{y:.1}\" r=\"4\"><title>{} h: {} g</title></circle>",
            number::plain(*time),
            number::plain(*mass)
        );
    }
    body += &times.drawn(5, bottom, "time, h");
    Drawing { width, height: bottom + 42.0, body }
}
