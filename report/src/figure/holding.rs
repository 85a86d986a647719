//! What may this lot hold?
//!
//! One strip for each substance, in grams on one axis from nothing; where the readings cannot tell forms apart each of
//! them reaches from nothing to what it could be at most. Substances below a thousandth of the lot are left to the table.
//! The strips are ranges of one amount each, not of a composition: they do not add up.

use super::axis::{Axis, glyph};
use super::{Drawing, Figure, NARROW, fitted, label};
use crate::document::{Align, Cell, Table};
use crate::number;
use prep::outcome::{Interval, LotAccount};

/// Most substances that are drawn.
const MOST: usize = 8;
/// Share of the lot below which a substance is not drawn.
const LEAST: f64 = 1e-3;

/// What a lot may hold; none where nothing in it is of account.
#[must_use]
pub fn holding_figure(lot: &LotAccount) -> Option<Figure> {
    let foreign = ("foreign matter".to_owned(), lot.foreign.clone());
    let mut rows: Vec<(String, Interval)> =
        lot.species.iter().cloned().chain([foreign]).filter(|(_, held)| held.high > LEAST * lot.mass.mean).collect();
    rows.sort_by(|a, b| b.1.high.total_cmp(&a.1.high));
    rows.truncate(MOST);
    if rows.is_empty() {
        return None;
    }
    let mut table = Table::new(&[("may hold", Align::Left), ("g, 9 in 10", Align::Point)]);
    for (name, held) in &rows {
        table.push(vec![Cell::text(name.clone()), Cell::text(number::ends(held.low, held.high))]);
    }
    let words: Vec<String> = rows.iter().map(|(name, held)| format!("{name} {}", number::interval(held))).collect();
    Some(Figure {
        title: format!("What {} may hold", lot.name),
        description: words.join("; "),
        caption: "Grams of each in the lot: line 90 %, thick 50 %, tick at the median. Possible is not probable; the strips do not add up.".to_owned(),
        wide: drawn(&rows, 520.0),
        narrow: drawn(&rows, NARROW),
        table,
    })
}

fn drawn(rows: &[(String, Interval)], width: f64) -> Drawing {
    let wide = width > 500.0;
    let (left, right, height) = if wide { (200.0, width - 116.0, 30.0) } else { (8.0, 318.0, 46.0) };
    let ends = rows.iter().flat_map(|(_, held)| [held.low, held.high]);
    let axis = Axis::over(ends, true, left, right, 4);
    #[expect(clippy::cast_precision_loss, reason = "a handful of rows")]
    let bottom = 6.0 + height * rows.len() as f64;
    let mut body = axis.grid(4, 6.0, bottom);
    let mut top = 6.0;
    for (name, held) in rows {
        let y = top + if wide { height / 2.0 } else { 32.0 };
        let told = number::interval(held);
        if wide {
            body += &label("e", 15, left - 14.0, y + 5.0, &fitted(name, left - 14.0, 15.0));
            body += &label("", 14, right + 14.0, y + 5.0, &told);
        } else {
            body += &label("", 14, 0.0, y - 13.0, &fitted(name, 210.0, 14.0));
            body += &label("e", 14, NARROW, y - 13.0, &told);
        }
        body += &glyph(&axis, y, held);
        top += height;
    }
    body += &axis.drawn(4, bottom, "g in the lot");
    Drawing { width, height: bottom + 42.0, body }
}
