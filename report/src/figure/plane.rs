//! Where on the paper lies a point of two quantities, and how is its ground ruled?
//!
//! Two axes, each with quantity and unit at its end: the level one below on the right, the upright one above on the left.
//! The upright one may go by decades. Marks are read by pointing at them: every point of a curve carries its numbers.

use super::axis::Axis;
use super::labels::{Frame, Spot};
use super::{escaped, label};
use crate::number;
use std::fmt::Write as _;

/// Room for the figures of the upright axis, and above the ground for its name, px.
pub(super) const LEFT: f64 = 52.0;
pub(super) const TOP: f64 = 26.0;
/// Room below the ground for the level axis, px.
pub(super) const BELOW: f64 = 42.0;

/// A ruled ground.
#[derive(Clone, Copy, Debug)]
pub(super) struct Plane {
    /// From left to right.
    pub x: Axis,
    /// From bottom to top.
    pub y: Axis,
    /// Whether the upright axis goes by decades; it then holds logarithms.
    decades: bool,
    ticks: (u32, u32),
}

impl Plane {
    /// Ground over these values within a frame, its ends at ticks.
    pub fn over(
        x: impl IntoIterator<Item = f64>,
        y: impl IntoIterator<Item = f64>,
        zero: (bool, bool),
        frame: Frame,
    ) -> Self {
        let ticks = Self::spacing(frame);
        Self {
            x: Axis::over(x, zero.0, frame.left, frame.right, ticks.0),
            y: Axis::over(y, zero.1, frame.bottom, frame.top, ticks.1),
            decades: false,
            ticks,
        }
    }

    /// The same with decades upright; values that are not above zero are left out.
    pub fn by_decades(
        x: impl IntoIterator<Item = f64>,
        y: impl IntoIterator<Item = f64>,
        zero: bool,
        frame: Frame,
    ) -> Self {
        let ticks = Self::spacing(frame);
        let logs = y.into_iter().filter(|value| *value > 0.0).map(f64::log10);
        Self {
            x: Axis::over(x, zero, frame.left, frame.right, ticks.0),
            y: Axis::decades(logs, frame.bottom, frame.top, ticks.1),
            decades: true,
            ticks,
        }
    }

    /// Level axis with its ends where they are given.
    pub fn between(mut self, (low, high): (f64, f64)) -> Self {
        (self.x.low, self.x.high) = (low, high);
        while self.x.ticks(self.ticks.0).0.len() < 3 && self.ticks.0 < 8 {
            self.ticks.0 += 1;
        }
        self
    }

    fn spacing(frame: Frame) -> (u32, u32) {
        let most = |room: f64, each: f64| {
            #[expect(clippy::cast_possible_truncation, clippy::cast_sign_loss, reason = "a handful of ticks")]
            let count = (room / each).max(2.0) as u32;
            count.min(8)
        };
        (most(frame.right - frame.left, 62.0), most(frame.bottom - frame.top, 40.0))
    }

    /// The ground.
    pub fn frame(&self) -> Frame {
        Frame { left: self.x.left, right: self.x.right, top: self.y.right, bottom: self.y.left }
    }

    /// Place of a point; beyond an end, that end.
    pub fn spot(&self, (x, y): (f64, f64)) -> Spot {
        let y = if self.decades { y.max(f64::MIN_POSITIVE).log10() } else { y };
        (self.x.x(x), self.y.x(y))
    }

    /// Places of points.
    pub fn trace(&self, points: &[(f64, f64)]) -> Vec<Spot> {
        points.iter().map(|point| self.spot(*point)).collect()
    }

    /// The ruled ground with both axes and their names.
    pub fn ruled(&self, (level, upright): (&str, &str)) -> String {
        let Frame { left, right, top, bottom } = self.frame();
        let (values, decimals) = self.y.ticks(self.ticks.1);
        let mut out = String::new();
        for value in values {
            let y = self.y.x(value);
            let _ =
                write!(out, "<line class=\"grid\" x1=\"{left:.1}\" x2=\"{right:.1}\" y1=\"{y:.1}\" y2=\"{y:.1}\"/>");
            out += &if self.decades {
                power(left - 8.0, y + 4.5, value)
            } else {
                label("s2 e", 13, left - 8.0, y + 4.5, &number::fixed(value, decimals))
            };
        }
        out += &self.x.grid(self.ticks.0, top, bottom);
        out += &label("s2", 13, 0.0, top - 14.0, upright);
        out + &self.x.drawn(self.ticks.0, bottom, level)
    }
}

/// A power of ten as the figure of an axis: plain from a thousandth to ten thousand.
fn power(x: f64, y: f64, exponent: f64) -> String {
    #[expect(clippy::cast_possible_truncation, reason = "a whole exponent")]
    let whole = exponent.round() as i32;
    if (-3..=4).contains(&whole) {
        return label("s2 e", 13, x, y, &number::fixed(10f64.powi(whole), (-whole).max(0)));
    }
    let raised = whole.to_string().replace('-', "\u{2212}");
    format!(
        "<text class=\"s2 e\" font-size=\"13\" x=\"{x:.1}\" y=\"{y:.1}\">10<tspan class=\"high\">{raised}</tspan></text>"
    )
}

fn path(points: &[Spot]) -> String {
    points.iter().enumerate().fold(String::new(), |mut out, (at, (x, y))| {
        let _ = write!(out, "{}{x:.1} {y:.1}", if at == 0 { "M" } else { "L" });
        out
    })
}

/// A line through points.
pub(super) fn line(class: &str, points: &[Spot]) -> String {
    if points.len() < 2 { String::new() } else { format!("<path class=\"{class}\" d=\"{}\"/>", path(points)) }
}

/// An area.
pub(super) fn area(class: &str, outline: &[Spot]) -> String {
    if outline.len() < 3 { String::new() } else { format!("<path class=\"{class}\" d=\"{}Z\"/>", path(outline)) }
}

/// The area between two lines that run the same way.
pub(super) fn between(one: &[Spot], other: &[Spot]) -> Vec<Spot> {
    one.iter().chain(other.iter().rev()).copied().collect()
}

/// A place that says its numbers when it is pointed at.
pub(super) fn told((x, y): Spot, words: &str) -> String {
    format!("<circle class=\"hit\" cx=\"{x:.1}\" cy=\"{y:.1}\" r=\"6\"><title>{}</title></circle>", escaped(words))
}

/// A mark that says its numbers.
pub(super) fn mark(class: &str, (x, y): Spot, words: &str) -> String {
    format!("<circle class=\"{class}\" cx=\"{x:.1}\" cy=\"{y:.1}\" r=\"4\"><title>{}</title></circle>", escaped(words))
}

#[cfg(test)]
mod tests {
    use super::*;

    const FRAME: Frame = Frame { left: 52.0, top: 26.0, right: 400.0, bottom: 226.0 };

    #[test]
    fn values_lie_on_the_ground_and_ticks_cover_them() {
        let plane = Plane::over([3.0, 47.0], [-120.0, 40.0], (true, false), FRAME);
        assert!(plane.x.low <= 0.0 && plane.x.high >= 47.0 && plane.y.low <= -120.0 && plane.y.high >= 40.0);
        let (left, bottom) = plane.spot((plane.x.low, plane.y.low));
        assert!((left - 52.0).abs() < 1e-9 && (bottom - 226.0).abs() < 1e-9);
        let logs = Plane::by_decades([1.0, 14.0], [3e-6, 800.0], false, FRAME);
        assert!(logs.y.low <= -6.0 && logs.y.high >= 3.0);
        assert!(logs.y.ticks(logs.ticks.1).0.iter().all(|tick| (tick - tick.round()).abs() < 1e-9));
    }
}
