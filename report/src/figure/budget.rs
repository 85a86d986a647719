//! What makes the uncertainty of a result?
//!
//! Shares of the variance as bars from one line, the largest first, each labelled with its share.

use super::letters;
use super::{Drawing, Figure, NARROW, fitted, label, set_text};
use crate::document::{Align, Cell, Table};
use crate::number;
use prep::outcome::Budget;

/// Most bars that are drawn; the rest is told in one.
const MOST: usize = 7;

/// The budget of a result.
#[must_use]
pub fn budget_figure(budget: &Budget) -> Figure {
    let mut rows: Vec<(String, f64)> =
        budget.shares.iter().filter(|s| s.share.is_finite()).map(|s| (s.source.clone(), s.share)).collect();
    if rows.len() > MOST {
        let rest: f64 = rows.drain(MOST..).map(|(_, share)| share).sum();
        rows.push(("all others together".to_owned(), rest));
    }
    let mut table = Table::new(&[("from", Align::Left), ("share of the variance, %", Align::Point)]);
    for (name, share) in &rows {
        table.push(vec![Cell::text(name.clone()), Cell::text(percent(*share))]);
    }
    let words: Vec<String> = rows.iter().map(|(name, share)| format!("{name} {} %", percent(*share))).collect();
    let value = number::with_uncertainty(budget.value, Some(budget.standard_uncertainty));
    Figure {
        title: format!("What makes the uncertainty of {}: {value} {}", budget.what, budget.unit),
        description: words.join("; "),
        caption:
            "Share of the variance that each makes, by the slopes at the best fits; what is drawn differs a little."
                .to_owned(),
        wide: drawn(&rows, 520.0),
        narrow: drawn(&rows, NARROW),
        table,
    }
}

fn percent(share: f64) -> String {
    number::fixed(100.0 * share, i32::from(share < 0.01))
}

/// A name on one line, or on two of about one length where one is too long.
fn folded(name: &str, room: f64) -> Vec<String> {
    let wide = |text: &str| letters::width(&set_text(text), 15.0);
    if wide(name) <= room {
        return vec![name.to_owned()];
    }
    let cuts = name.match_indices(' ').map(|(at, _)| (&name[..at], &name[at + 1..]));
    let uneven = |(first, second): &(&str, &str)| (wide(first) - wide(second)).abs();
    match cuts.min_by(|a, b| uneven(a).total_cmp(&uneven(b))) {
        Some((first, second)) => vec![first.to_owned(), second.to_owned()],
        None => vec![name.to_owned()],
    }
}

fn drawn(rows: &[(String, f64)], width: f64) -> Drawing {
    let wide = width > 500.0;
    let (left, right, height) = if wide { (238.0, width - 50.0, 30.0) } else { (0.0, 270.0, 44.0) };
    let largest = rows.iter().map(|(_, share)| *share).fold(1e-6, f64::max);
    let mut body = String::new();
    let mut top = 4.0;
    for (name, share) in rows {
        let lines = if wide { folded(name, left - 14.0) } else { vec![name.clone()] };
        let height = if lines.len() > 1 { height + 6.0 } else { height };
        let y = top + if wide { height / 2.0 } else { 32.0 };
        let length = (share / largest).clamp(0.0, 1.0) * (right - left);
        body += &format!("<rect class=\"bar\" x=\"{left}\" y=\"{:.1}\" width=\"{length:.1}\" height=\"12\"/>", y - 6.0);
        body += &label("", 14, left + length + 8.0, y + 5.0, &format!("{}\u{a0}%", percent(*share)));
        body += &match (wide, lines.as_slice()) {
            (true, [first, second]) => {
                label("e", 15, left - 12.0, y - 3.0, &fitted(first, left - 14.0, 15.0))
                    + &label("e", 15, left - 12.0, y + 13.0, &fitted(second, left - 14.0, 15.0))
            }
            (true, _) => label("e", 15, left - 12.0, y + 5.0, &fitted(name, left - 14.0, 15.0)),
            (false, _) => label("", 14, 0.0, y - 12.0, &fitted(name, NARROW, 14.0)),
        };
        top += height;
    }
    body += &format!("<line class=\"ax\" x1=\"{left}\" x2=\"{left}\" y1=\"4\" y2=\"{top:.1}\"/>");
    Drawing { width, height: top + 6.0, body }
}
