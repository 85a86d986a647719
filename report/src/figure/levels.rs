//! Which pure solids would lose what was found?
//!
//! Calculated losses on heating as dots on one axis, the observed loss as an upright line with its 90 % shaded. The
//! distance stands in words; possible is not probable.

use super::axis::Axis;
use super::{Drawing, Figure, NARROW, fitted, label};
use crate::document::{Align, Cell, Table};
use crate::number;
use prep::outcome::LossLevel;

/// Standard uncertainties from the middle to the end of the middle 90 % of a normal distribution.
const NINETY: f64 = 1.645;

/// The levels of one loss.
#[must_use]
pub fn levels_figure(loss: &LossLevel) -> Figure {
    let unit = format!("% lost on heating to {}", loss.residue);
    let observed = number::with_uncertainty(loss.observed.value, loss.observed.standard_uncertainty);
    let mut table = Table::new(&[("solid", Align::Left), ("loss, %", Align::Point), ("away", Align::Left)]);
    for (name, level, away) in &loss.levels {
        table.push(vec![Cell::text(name.clone()), Cell::text(number::fixed(*level, 2)), Cell::text(distance(*away))]);
    }
    let words: Vec<String> = loss
        .levels
        .iter()
        .map(|(name, level, away)| format!("{name} {} %, {}", number::fixed(*level, 2), distance(*away)))
        .collect();
    Figure {
        title: format!("Calculated losses to {} and the loss found, {observed}\u{a0}%", loss.residue),
        description: words.join("; "),
        caption: "A dot is one pure formula. The shaded bar is the finding with its 90 %. The loss does not choose among mixtures that would give it.".to_owned(),
        wide: drawn(loss, &observed, 720.0, &unit),
        narrow: drawn(loss, &observed, NARROW, &unit),
        table,
    }
}

/// Width of a level in figures, px.
const FIGURE: f64 = 36.0;

fn distance(away: f64) -> String {
    if away.abs() < 2.0 { "fits".to_owned() } else { format!("{}\u{a0}σ away", number::significant(away.abs(), 2)) }
}

fn drawn(loss: &LossLevel, observed: &str, width: f64, unit: &str) -> Drawing {
    let wide = width > 500.0;
    let (left, right, height, top) = if wide { (230.0, 590.0, 38.0, 44.0) } else { (8.0, 318.0, 54.0, 44.0) };
    let (value, u) = (loss.observed.value, loss.observed.standard_uncertainty.unwrap_or(0.0));
    let ends = [value - NINETY * u, value + NINETY * u];
    let axis = Axis::over(
        loss.levels.iter().map(|(_, level, _)| *level).chain(ends),
        false,
        left,
        right,
        if wide { 8 } else { 6 },
    );
    #[expect(clippy::cast_precision_loss, reason = "a handful of rows")]
    let bottom = top + height * loss.levels.len() as f64;
    let [a, x, b] = [ends[0], value, ends[1]].map(|v| axis.x(v));
    let mut body = format!(
        "<rect class=\"band\" x=\"{a:.1}\" width=\"{:.1}\" y=\"{:.1}\" height=\"{:.1}\"/><line class=\"penline\" x1=\"{x:.1}\" x2=\"{x:.1}\" y1=\"{:.1}\" y2=\"{bottom:.1}\"/><path class=\"penfill\" d=\"M{x:.1} {:.1} l-5 -8 h10 z\"/>",
        (b - a).max(1.0),
        top - 8.0,
        bottom - top + 8.0,
        top - 10.0,
        top - 8.0
    );
    body += &label("pn mid b", 14, x.clamp(left + 80.0, right - 60.0), top - 24.0, &format!("found {observed}\u{a0}%"));
    let mut row = top;
    for (name, level, away) in &loss.levels {
        let y = row + if wide { height / 2.0 } else { 36.0 };
        if row > top {
            body += &format!("<line class=\"grid\" x1=\"0\" x2=\"{width}\" y1=\"{row:.1}\" y2=\"{row:.1}\"/>");
        }
        let told = distance(*away);
        if wide {
            body += &label("", 15, 0.0, y + 5.0, &fitted(name, left - 16.0, 15.0));
            body += &label("e", 14, width - 2.0, y + 5.0, &told);
        } else {
            body += &label("", 14, 0.0, y - 18.0, &fitted(name, 220.0, 14.0));
            body += &label("e s2", 13, width, y - 18.0, &told);
        }
        let at = axis.x(*level);
        body += &format!("<circle class=\"dot\" cx=\"{at:.1}\" cy=\"{y:.1}\" r=\"4\"/>");
        let side = side(at, x, if wide { right + 40.0 } else { width });
        body += &label(side.0, 13, side.1, y + 4.5, &number::fixed(*level, 2));
        row += height;
    }
    body += &axis.drawn(if wide { 8 } else { 6 }, bottom, unit);
    Drawing { width, height: bottom + 42.0, body }
}

/// Where the figure of a dot stands: away from the found line, unless it would leave the drawing there.
fn side(at: f64, found: f64, end: f64) -> (&'static str, f64) {
    let (behind, before) = (("s2", at + 9.0), ("s2 e", at - 9.0));
    let (fits_behind, fits_before) = (at + 9.0 + FIGURE <= end, at - 9.0 - FIGURE >= 0.0);
    match at >= found {
        true if fits_behind => behind,
        true => before,
        false if fits_before => before,
        false => behind,
    }
}
