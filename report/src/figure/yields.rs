//! What would people quote, and what do the books say?
//!
//! Quoted yields are open diamonds without an interval, the accounted one carries its interval; one axis in per cent of
//! the element on the label, 100 % dashed.

use super::axis::{Axis, glyph};
use super::{Drawing, Figure, NARROW, fitted, label};
use crate::document::{Align, Cell, Table};
use crate::number;
use prep::outcome::{Account, Interval};

struct Row {
    name: String,
    told: String,
    interval: Option<Interval>,
    quoted: f64,
}

/// Quoted and accounted yields; none where no yield is accounted.
#[must_use]
pub fn yields_figure(account: &Account) -> Option<Figure> {
    let yields = account.yields.as_ref()?;
    // One yield without a spread is a number and no picture.
    if yields.quoted.is_empty() && number::is_exact(yields.overall.mean, yields.overall.standard_uncertainty) {
        return None;
    }
    let mut rows: Vec<Row> = yields
        .quoted
        .iter()
        .filter(|quoted| quoted.percent.value.is_finite())
        .take(6)
        .map(|quoted| Row {
            name: if quoted.method.contains("ignition") {
                format!("by ignition: {}", quoted.as_formula)
            } else {
                format!("quoted as {}", quoted.as_formula)
            },
            told: format!("{}\u{a0}%", number::fixed(quoted.percent.value, 1)),
            interval: None,
            quoted: quoted.percent.value,
        })
        .collect();
    rows.push(Row {
        name: "accounted".to_owned(),
        told: format!("{}\u{a0}%", number::percent_bare(&yields.overall)),
        quoted: yields.overall.mean,
        interval: Some(yields.overall.clone()),
    });
    let mut table = Table::new(&[("yield", Align::Left), ("%", Align::Point)]);
    for row in &rows {
        table.push(vec![Cell::text(row.name.clone()), Cell::text(row.told.clone())]);
    }
    let words: Vec<String> = rows.iter().map(|row| format!("{} {}", row.name, row.told)).collect();
    let unit = format!("% of the {} taken", crate::document::element_name(&yields.element));
    Some(Figure {
        title: "Quoted and accounted yields".to_owned(),
        description: words.join("; "),
        caption: format!(
            "{}Line 90 %, thick 50 %, tick at the median.",
            if rows.len() > 1 {
                "A diamond is worked out from an assumed formula and states no interval. "
            } else {
                ""
            }
        ),
        wide: drawn(&rows, 520.0, &unit),
        narrow: drawn(&rows, NARROW, &unit),
        table,
    })
}

fn drawn(rows: &[Row], width: f64, unit: &str) -> Drawing {
    let wide = width > 500.0;
    let (left, right, height) = if wide { (200.0, width - 116.0, 30.0) } else { (8.0, 318.0, 46.0) };
    let ends = rows.iter().flat_map(|row| match &row.interval {
        Some(interval) => [interval.low, interval.high],
        None => [row.quoted; 2],
    });
    let axis = Axis::over(ends.chain([100.0]), false, left, right, 5);
    #[expect(clippy::cast_precision_loss, reason = "a handful of rows")]
    let bottom = 6.0 + height * rows.len() as f64;
    let mut body = axis.grid(5, 6.0, bottom);
    let x = axis.x(100.0);
    body += &format!("<line class=\"ax dash\" x1=\"{x:.1}\" x2=\"{x:.1}\" y1=\"2\" y2=\"{bottom:.1}\"/>");
    let mut top = 6.0;
    for row in rows {
        let y = top + if wide { height / 2.0 } else { 32.0 };
        let weight = if row.interval.is_some() { " b" } else { "" };
        if wide {
            body += &label(&format!("e{weight}"), 15, left - 14.0, y + 5.0, &fitted(&row.name, left - 14.0, 15.0));
            body += &label(weight.trim(), 15, right + 14.0, y + 5.0, &row.told);
        } else {
            body += &label(weight.trim(), 14, 0.0, y - 13.0, &fitted(&row.name, 200.0, 14.0));
            body += &label(&format!("e{weight}"), 14, NARROW, y - 13.0, &row.told);
        }
        body += &match &row.interval {
            Some(interval) => glyph(&axis, y, interval),
            None => {
                format!("<path class=\"open\" d=\"M{:.1} {:.1} l5 5 l-5 5 l-5 -5 z\"/>", axis.x(row.quoted), y - 5.0)
            }
        };
        top += height;
    }
    body += &axis.drawn(5, bottom, unit);
    Drawing { width, height: bottom + 42.0, body }
}
