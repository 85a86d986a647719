//! Between which pH values does each metal fall out?
//!
//! One row for each metal: the upper box holds the pH of the first solid, the lower one that at which 99.9 % is out, both as
//! wide as constants and the age of the solid leave them open. What is never out has no lower box and says so.

use super::axis::Axis;
use super::hatch::hatch;
use super::labels::Spot;
use super::plane::area;
use super::{Drawing, Figure, NARROW, fitted, label};
use crate::document::{Align, Cell, Table};
use crate::number;
use prep::outcome::{SolutionAnswer, SolutionWindow};

/// pH shown.
const SHOWN: (f64, f64) = (0.0, 14.0);
/// Height of a box, px.
const BOX: f64 = 11.0;

/// The windows; none where no metal falls out or none were looked for.
#[must_use]
pub fn windows_figure(answer: &SolutionAnswer) -> Option<Figure> {
    let mut rows: Vec<&SolutionWindow> = answer.windows.iter().collect();
    if rows.is_empty() {
        return None;
    }
    rows.sort_by(|a, b| middle(a.start).total_cmp(&middle(b.start)));
    let mut table = Table::new(&[
        ("metal", Align::Left),
        ("starts at pH", Align::Left),
        ("99.9 % out at pH", Align::Left),
        ("as", Align::Left),
    ]);
    for row in &rows {
        table.push(vec![
            Cell::text(row.master.clone()),
            Cell::text(band(row.start)),
            Cell::text(band(row.done)),
            Cell::text(row.solids.join(" or ")),
        ]);
    }
    let words: Vec<String> = rows
        .iter()
        .map(|row| format!("{} starts at pH {}, 99.9 % out at pH {}", row.master, band(row.start), band(row.done)))
        .collect();
    Some(Figure {
        title: "Where each metal falls out".to_owned(),
        description: words.join("; "),
        caption: "Hatched box: pH of the first solid. Full box: 99.9 % out. Each from aged solids by the least soluble constants to fresh ones by the most soluble; solids that fall out together take each other along.".to_owned(),
        wide: drawn(&rows, answer.ph.value, 720.0),
        narrow: drawn(&rows, answer.ph.value, NARROW),
        table,
    })
}

fn middle(band: Option<(f64, f64)>) -> f64 {
    band.map_or(f64::INFINITY, |(low, high)| f64::midpoint(low, high))
}

fn band(band: Option<(f64, f64)>) -> String {
    match band {
        Some((low, high)) if high - low < 0.05 => number::fixed(low, 1),
        Some((low, high)) => format!("{}\u{a0}–\u{a0}{}", number::fixed(low, 1), number::fixed(high, 1)),
        None => "not reached".to_owned(),
    }
}

fn drawn(rows: &[&SolutionWindow], ph: f64, width: f64) -> Drawing {
    let wide = width > 500.0;
    let (left, right, height, top) = if wide { (96.0, width - 200.0, 40.0, 26.0) } else { (8.0, 318.0, 62.0, 26.0) };
    let axis = Axis { low: SHOWN.0, high: SHOWN.1, left, right };
    #[expect(clippy::cast_precision_loss, reason = "a handful of rows")]
    let bottom = top + height * rows.len() as f64;
    let mut body = axis.grid(7, top, bottom);
    let own = axis.x(ph);
    body += &format!(
        "<line class=\"ax dash\" x1=\"{own:.1}\" x2=\"{own:.1}\" y1=\"{:.1}\" y2=\"{bottom:.1}\"/>",
        top - 6.0
    );
    let side = if own < left + 60.0 { ("s2", (own - 4.0).max(0.0)) } else { ("s2 mid", own) };
    body += &label(side.0, 13, side.1, top - 11.0, &format!("now pH {}", number::fixed(ph, 2)));
    let mut row = top;
    for window in rows {
        let y = row + if wide { height / 2.0 } else { 38.0 };
        let told = format!("{}, out {}", band(window.start), band(window.done));
        if wide {
            body += &label("e", 15, left - 14.0, y + 5.0, &fitted(&window.master, left - 14.0, 15.0));
            body += &label("", 14, right + 14.0, y + 5.0, &told);
        } else {
            body += &label("", 14, 0.0, y - 19.0, &fitted(&window.master, 110.0, 14.0));
            body += &label("e s2", 13, width, y - 19.0, &told);
        }
        let words = format!("{}: starts at pH {}", window.master, told.replace(", out", ", 99.9 % out at pH"));
        body += &format!("<g><title>{}</title>", super::escaped(&words));
        if let Some(start) = window.start {
            let outline = boxed(&axis, start, y - BOX - 1.0);
            body += &area("boxed", &outline);
            body += &hatch(&outline, 1);
        }
        match (window.start, window.done) {
            (_, Some(done)) => body += &area("filled", &boxed(&axis, done, y + 1.0)),
            (Some((low, _)), None) => {
                let (from, to) = (axis.x(low), axis.x(SHOWN.1));
                body +=
                    &format!("<path class=\"curve ahead thin\" d=\"M{from:.1} {:.1}H{to:.1}\"/>", y + 1.0 + BOX / 2.0);
            }
            (None, None) => {}
        }
        body += "</g>";
        row += height;
    }
    body += &axis.drawn(7, bottom, "pH");
    Drawing { width, height: bottom + 42.0, body }
}

fn boxed(axis: &Axis, (low, high): (f64, f64), top: f64) -> Vec<Spot> {
    let (a, b) = (axis.x(low), axis.x(high));
    let (a, b) = if b - a < 4.0 { (0.5 * (a + b) - 2.0, 0.5 * (a + b) + 2.0) } else { (a, b) };
    vec![(a, top), (b, top), (b, top + BOX), (a, top + BOX)]
}
