//! How is the interval strip of the page drawn?
//!
//! The glyph of the look in SVG: thin line 90 %, thick line 50 % (at least 3 px), tick through the median, pointer of a
//! reading from above, filled inside and hollow outside, lying at the edge when it is beyond the strip; a quoted figure
//! is an open diamond; a reference is dashed. Its label says the same in words.

use super::escaped;
use crate::html::{Markup, PreEscaped};
use crate::number;
use crate::strip::{Mark, Strip};
use std::fmt::Write as _;

const HEIGHT: f64 = 20.0;
const MIDDLE: f64 = 12.0;
/// Width on paper, px.
const PAPER: f64 = 84.0;

/// A strip of `width` px.
#[must_use]
pub fn strip_mark(strip: &Strip, width: f64) -> Markup {
    strip_with(strip, width, false, false)
}

/// A strip whose lines are broken while the account is still being sampled, or whose reading is suspected as a slip.
#[must_use]
pub fn strip_with(strip: &Strip, width: f64, rough: bool, slip: bool) -> Markup {
    let (out, words) = drawn(strip, width, slip);
    let rough = if rough { " rough" } else { "" };
    PreEscaped(format!(
        "<svg class=\"iv{rough}\" width=\"{width}\" height=\"{HEIGHT}\" viewBox=\"0 0 {width} {HEIGHT}\" role=\"img\" aria-label=\"{0}\"><title>{0}</title>{out}</svg>",
        escaped(&words)
    ))
}

/// The marks of a strip, and what they say in words.
fn drawn(strip: &Strip, width: f64, slip: bool) -> (String, String) {
    let place = |value: f64| {
        let share = (value - strip.scale.low) / (strip.scale.high - strip.scale.low);
        (if share.is_finite() { share * width } else { width / 2.0 }).clamp(1.5, width - 1.5)
    };
    let mut out = format!("<line class=\"base\" x1=\"0\" x2=\"{width}\" y1=\"{MIDDLE}\" y2=\"{MIDDLE}\"/>");
    let mut words = Vec::new();
    for mark in &strip.marks {
        if let Mark::Reference(value) = mark {
            let x = place(*value);
            let _ = write!(out, "<line class=\"ref\" x1=\"{x:.1}\" x2=\"{x:.1}\" y1=\"2\" y2=\"{HEIGHT}\"/>");
        }
    }
    if let Some(interval) = &strip.interval {
        let (a, b) = (place(interval.lower_quartile), place(interval.upper_quartile));
        let middle = f64::midpoint(a, b);
        let (a, b) = if b - a < 3.0 { (middle - 1.5, middle + 1.5) } else { (a, b) };
        let _ = write!(
            out,
            "<line class=\"wide\" x1=\"{:.1}\" x2=\"{:.1}\" y1=\"{MIDDLE}\" y2=\"{MIDDLE}\"/><line class=\"half\" x1=\"{a:.1}\" x2=\"{b:.1}\" y1=\"{MIDDLE}\" y2=\"{MIDDLE}\"/><line class=\"medx\" x1=\"{m:.1}\" x2=\"{m:.1}\" y1=\"7\" y2=\"17\"/>",
            place(interval.low),
            place(interval.high),
            m = place(interval.median)
        );
        words.push(format!(
            "9 times in 10 {}, median {}",
            number::interval(interval),
            number::significant(interval.median, 4)
        ));
    }
    for mark in &strip.marks {
        match *mark {
            Mark::Found(value) => {
                let inside = strip.interval.as_ref().is_some_and(|i| (i.low..=i.high).contains(&value));
                out += &pointer(strip, value, place(value), width, inside, slip);
                let verdict = if inside { "inside" } else { "outside" };
                words.push(format!("found {}, {verdict}", number::plain(value)));
            }
            Mark::Quoted(value) => {
                let x = place(value);
                let _ = write!(out, "<path class=\"quoted\" d=\"M{x:.1} 8 l4 4 l-4 4 l-4 -4 z\"/>");
                words.push(format!("quoted {}", number::significant(value, 4)));
            }
            Mark::Reference(_) => {}
        }
    }
    (out, words.join("; "))
}

/// A strip for paper: its drawing, and what it says in words.
#[must_use]
pub fn strip_on_paper(strip: &Strip) -> (String, String) {
    let (body, words) = drawn(strip, PAPER, false);
    let words = if words.is_empty() { "an empty strip".to_owned() } else { words };
    (super::print::alone(0.0, PAPER, HEIGHT, &body), words)
}

fn pointer(strip: &Strip, value: f64, x: f64, width: f64, inside: bool, slip: bool) -> String {
    let beyond = value < strip.scale.low || value > strip.scale.high;
    if !beyond {
        let class = if inside { "read" } else { "read out" };
        return format!(
            "<line class=\"hair\" x1=\"{x:.1}\" x2=\"{x:.1}\" y1=\"6\" y2=\"18\"/><path class=\"{class}\" d=\"M{x:.1} 7 l-4 -6.5 h8 z\"/>"
        );
    }
    let (x, turn) = if value < strip.scale.low { (7.5, -6) } else { (width - 7.5, 6) };
    let struck = if slip {
        format!("<path class=\"slip\" d=\"M{:.1} 10 l6 -10\"/>", if turn < 0 { x - 6.0 } else { x })
    } else {
        String::new()
    };
    format!("<path class=\"read out\" d=\"M{x} 1 l0 8 l{turn} -4 z\"/>{struck}")
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::strip::Scale;

    #[test]
    fn a_bare_strip_has_no_figures_that_are_not_finite() {
        let strip = Strip { interval: None, scale: Scale { low: 0.0, high: 0.0 }, marks: vec![Mark::Quoted(f64::NAN)] };
        let drawn = strip_mark(&strip, 100.0).into_string();
        assert!(!drawn.contains("NaN\" ") && !drawn.contains("MNaN"), "{drawn}");
    }
}
