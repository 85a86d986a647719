//! Where on the paper is a value, and which figures stand on the axis?
//!
//! A linear scale with ticks at 1, 2 or 5 times a power of ten. The interval glyph of the look is drawn here too.

use super::label;
use crate::number;
use prep::outcome::Interval;
use std::fmt::Write as _;

/// A linear axis from left to right.
#[derive(Clone, Copy, Debug)]
pub(super) struct Axis {
    pub low: f64,
    pub high: f64,
    pub left: f64,
    pub right: f64,
}

impl Axis {
    /// An axis that shows all finite values, its ends at ticks; from zero if `zero`.
    pub fn over(values: impl IntoIterator<Item = f64>, zero: bool, left: f64, right: f64, ticks: u32) -> Self {
        let (mut low, mut high) = (f64::INFINITY, f64::NEG_INFINITY);
        for value in values.into_iter().filter(|value| value.is_finite()) {
            (low, high) = (low.min(value), high.max(value));
        }
        if !low.is_finite() {
            (low, high) = (0.0, 1.0);
        }
        if zero {
            low = low.min(0.0);
        }
        if high - low < 1e-9 * high.abs().max(1e-9) {
            (low, high) = (low - 0.5 * low.abs().max(1.0), high + 0.5 * high.abs().max(1.0));
        }
        let step = step(high - low, ticks);
        Self { low: (low / step).floor() * step, high: (high / step).ceil() * step, left, right }
    }

    /// An axis of whole decades over logarithms, its ends at ticks.
    pub fn decades(logs: impl IntoIterator<Item = f64>, left: f64, right: f64, ticks: u32) -> Self {
        let (mut low, mut high) = (f64::INFINITY, f64::NEG_INFINITY);
        for log in logs.into_iter().filter(|log| log.is_finite()) {
            (low, high) = (low.min(log), high.max(log));
        }
        if !low.is_finite() {
            (low, high) = (0.0, 1.0);
        }
        let (low, high) = (low.floor(), high.ceil().max(low.floor() + 1.0));
        let step = step(high - low, ticks).max(1.0);
        Self { low: (low / step).floor() * step, high: (high / step).ceil() * step, left, right }
    }

    /// Place of a value; beyond an end, that end.
    pub fn x(&self, value: f64) -> f64 {
        let share = (value - self.low) / (self.high - self.low);
        let share = if share.is_finite() { share.clamp(0.0, 1.0) } else { 0.5 };
        self.left + share * (self.right - self.left)
    }

    /// Values with a figure beneath, and the decimals they need.
    pub fn ticks(&self, ticks: u32) -> (Vec<f64>, i32) {
        let step = step(self.high - self.low, ticks);
        let first = (self.low / step).ceil();
        let values = (0..40).map(|k| (first + f64::from(k)) * step);
        #[expect(clippy::cast_possible_truncation, reason = "a handful of decimals")]
        let decimals = (-step.log10().floor()).max(0.0) as i32;
        (values.take_while(|value| *value <= self.high + 1e-9 * step).collect(), decimals)
    }

    /// Upright lines of the ground.
    pub fn grid(&self, ticks: u32, top: f64, bottom: f64) -> String {
        self.ticks(ticks).0.into_iter().fold(String::new(), |mut out, value| {
            let x = self.x(value);
            let _ =
                write!(out, "<line class=\"grid\" x1=\"{x:.1}\" x2=\"{x:.1}\" y1=\"{top:.1}\" y2=\"{bottom:.1}\"/>");
            out
        })
    }

    /// The axis with its figures, and quantity and unit at its end.
    pub fn drawn(&self, ticks: u32, y: f64, unit: &str) -> String {
        let (values, decimals) = self.ticks(ticks);
        let mut out = format!(
            "<line class=\"ax\" x1=\"{:.1}\" x2=\"{:.1}\" y1=\"{y:.1}\" y2=\"{y:.1}\"/>",
            self.left, self.right
        );
        for value in values {
            let x = self.x(value);
            let _ = write!(out, "<line class=\"ax\" x1=\"{x:.1}\" x2=\"{x:.1}\" y1=\"{y:.1}\" y2=\"{:.1}\"/>", y + 5.0);
            out += &label("s2 mid", 13, x, y + 18.0, &number::fixed(value, decimals));
        }
        out + &label("s2 e", 13, self.right, y + 36.0, unit)
    }
}

/// Distance of ticks: 1, 2 or 5 times a power of ten, at most `ticks` of them.
fn step(span: f64, ticks: u32) -> f64 {
    let raw = span / f64::from(ticks.max(1));
    let power = 10f64.powf(raw.log10().floor());
    let lead = raw / power;
    let factor = [1.0, 2.0, 5.0].into_iter().find(|f| lead <= *f + 1e-9).unwrap_or(10.0);
    factor * power
}

/// The interval glyph: thin line 90 %, thick 50 %, tick through the median.
pub(super) fn glyph(axis: &Axis, y: f64, interval: &Interval) -> String {
    let [low, a, median, b, high] =
        [interval.low, interval.lower_quartile, interval.median, interval.upper_quartile, interval.high]
            .map(|v| axis.x(v));
    let middle = f64::midpoint(a, b);
    let (a, b) = if b - a < 3.0 { (middle - 1.5, middle + 1.5) } else { (a, b) };
    format!(
        "<g class=\"iv\"><title>{}</title><line class=\"wide\" x1=\"{low:.1}\" x2=\"{high:.1}\" y1=\"{y:.1}\" y2=\"{y:.1}\"/><line class=\"half\" x1=\"{a:.1}\" x2=\"{b:.1}\" y1=\"{y:.1}\" y2=\"{y:.1}\"/><line class=\"medx\" x1=\"{median:.1}\" x2=\"{median:.1}\" y1=\"{:.1}\" y2=\"{:.1}\"/></g>",
        super::escaped(&format!("{}, 9 times in 10 {}", number::mean(interval), number::interval(interval))),
        y - 7.0,
        y + 7.0
    )
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn ticks_are_round_and_cover_the_values() {
        let axis = Axis::over([88.6, 103.2], false, 0.0, 100.0, 5);
        let (ticks, decimals) = axis.ticks(5);
        assert_eq!((ticks, decimals), (vec![85.0, 90.0, 95.0, 100.0, 105.0], 0));
        assert!((axis.x(85.0) - 0.0).abs() < 1e-9 && (axis.x(500.0) - 100.0).abs() < 1e-9);
    }

    #[test]
    fn nothing_finite_still_makes_an_axis() {
        let axis = Axis::over([f64::NAN, f64::INFINITY], false, 0.0, 100.0, 5);
        assert!(axis.x(f64::NAN).is_finite() && axis.ticks(5).0.len() > 1);
        let axis = Axis::over([3.0, 3.0], false, 0.0, 100.0, 5);
        assert!(axis.high > axis.low);
    }
}
