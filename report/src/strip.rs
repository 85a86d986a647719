//! What does an interval look like in one line of text?
//!
//! The one interval glyph of the look: a thin line over the 90 %, a thick one over the middle 50 %, a tick at the
//! median, on a faint base line. A found reading points into it, filled inside and hollow outside; a quoted figure is
//! an open diamond, because it states no interval; 100 % is a dashed upright. Positions are rounded to whole cells, so
//! the drawing supports the figures beside it and never replaces them.

use prep::outcome::Interval;

/// The two ends of a strip, in the unit of what is drawn on it.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Scale {
    /// Left end.
    pub low: f64,
    /// Right end.
    pub high: f64,
}

impl Scale {
    /// Scale of a single strip: the interval fills the middle half.
    #[must_use]
    pub fn own(interval: &Interval) -> Self {
        let width = interval.high - interval.low;
        Self { low: interval.low - width / 2.0, high: interval.high + width / 2.0 }
    }

    /// Common scale of several strips and figures, with a margin of a twentieth at either end.
    ///
    /// `None` if there is nothing finite to show.
    #[must_use]
    pub fn common<'a>(intervals: impl IntoIterator<Item = &'a Interval>, figures: &[f64]) -> Option<Self> {
        let ends = intervals.into_iter().flat_map(|interval| [interval.low, interval.high]);
        let mut scale: Option<Self> = None;
        for value in ends.chain(figures.iter().copied()).filter(|value| value.is_finite()) {
            scale = Some(match scale {
                Some(scale) => Self { low: scale.low.min(value), high: scale.high.max(value) },
                None => Self { low: value, high: value },
            });
        }
        scale.map(|scale| {
            let margin = (scale.high - scale.low) / 20.0;
            Self { low: scale.low - margin, high: scale.high + margin }
        })
    }

    /// Cell of a value on a strip of `cells`; beyond an end, that end.
    fn cell(self, value: f64, cells: usize) -> usize {
        let last = cells.saturating_sub(1);
        let share = (value - self.low) / (self.high - self.low);
        if !share.is_finite() {
            return last / 2;
        }
        #[expect(clippy::cast_possible_truncation, clippy::cast_sign_loss, reason = "clamped to the strip")]
        #[expect(clippy::cast_precision_loss, reason = "a strip has a few dozen cells")]
        let cell = (share.clamp(0.0, 1.0) * last as f64).round() as usize;
        cell.min(last)
    }
}

/// Something marked on a strip.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Mark {
    /// A reading.
    Found(f64),
    /// A figure quoted without an interval.
    Quoted(f64),
    /// A line of reference, such as 100 %.
    Reference(f64),
}

/// A strip to draw.
#[derive(Clone, Debug, PartialEq)]
pub struct Strip {
    /// The interval, if there is one.
    pub interval: Option<Interval>,
    /// The ends of the base line.
    pub scale: Scale,
    /// Marks, drawn in order.
    pub marks: Vec<Mark>,
}

impl Strip {
    /// The strip as one line of `cells` characters.
    #[must_use]
    pub fn draw(&self, cells: usize) -> String {
        let mut line = vec!['·'; cells];
        for mark in &self.marks {
            if let Mark::Reference(value) = mark {
                self.put(&mut line, *value, '┊');
            }
        }
        if let Some(interval) = &self.interval {
            self.stretch(&mut line, interval.low, interval.high, '─');
            self.stretch(&mut line, interval.lower_quartile, interval.upper_quartile, '━');
            self.put(&mut line, interval.median, '┃');
        }
        for mark in &self.marks {
            match *mark {
                Mark::Found(value) => self.put(&mut line, value, if self.inside(value) { '▼' } else { '▽' }),
                Mark::Quoted(value) => self.put(&mut line, value, '◇'),
                Mark::Reference(_) => {}
            }
        }
        line.into_iter().collect()
    }

    fn inside(&self, value: f64) -> bool {
        self.interval.as_ref().is_some_and(|interval| (interval.low..=interval.high).contains(&value))
    }

    fn stretch(&self, line: &mut [char], low: f64, high: f64, glyph: char) {
        if !(low.is_finite() && high.is_finite()) {
            return;
        }
        let (first, last) = (self.scale.cell(low, line.len()), self.scale.cell(high, line.len()));
        if let Some(cells) = line.get_mut(first..=last) {
            cells.fill(glyph);
        }
    }

    fn put(&self, line: &mut [char], value: f64, glyph: char) {
        if !value.is_finite() {
            return;
        }
        let cell = self.scale.cell(value, line.len());
        if let Some(place) = line.get_mut(cell) {
            *place = glyph;
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn interval(low: f64, high: f64) -> Interval {
        let middle = f64::midpoint(low, high);
        let quarter = (high - low) / 4.0;
        Interval {
            median: middle,
            mean: middle,
            standard_uncertainty: (high - low) / 3.29,
            low,
            high,
            level: 0.9,
            lower_quartile: middle - quarter / 2.0,
            upper_quartile: middle + quarter / 2.0,
            unit: "g",
            basis: None,
        }
    }

    #[test]
    fn the_interval_fills_the_middle_half_of_its_own_scale() {
        let interval = interval(10.0, 20.0);
        let strip = Strip { scale: Scale::own(&interval), interval: Some(interval), marks: Vec::new() };
        let drawn: Vec<char> = strip.draw(21).chars().collect();
        assert_eq!(drawn.len(), 21);
        assert_eq!(drawn[10], '┃');
        assert_eq!((drawn[4], drawn[5], drawn[15], drawn[16]), ('·', '─', '─', '·'));
    }

    #[test]
    fn a_reading_outside_is_hollow_and_stays_on_the_strip() {
        let interval = interval(10.0, 20.0);
        let scale = Scale::own(&interval);
        let draw = |found| Strip { interval: Some(interval.clone()), scale, marks: vec![Mark::Found(found)] }.draw(21);
        assert!(draw(12.0).contains('▼'));
        assert!(draw(99.0).ends_with('▽'));
    }

    #[test]
    fn nothing_finite_draws_a_bare_line() {
        let strip = Strip {
            interval: Some(interval(f64::NAN, f64::NAN)),
            scale: Scale { low: 0.0, high: 0.0 },
            marks: vec![Mark::Quoted(f64::NAN)],
        };
        assert_eq!(strip.draw(5), "·····");
        assert_eq!(Scale::common([], &[f64::NAN]), None);
        assert_eq!(strip.draw(0), "");
    }
}
