//! Where may a word stand on a figure, so that it covers no other word and as little else as can be?
//!
//! Words are put down one after the other, the weightiest first. Each has spots where it may stand; a spot is out where it
//! leaves the ground or meets a word that stands already, and the one that is crossed by fewest lines is taken, of equals
//! the first named. Words at the ends of lines are pushed apart in a column and tied to their line. A word without a spot is
//! left out: the numbers stand in the table of the figure as well. Neglected: no word moves for a later one.

use super::letters;
use super::set_text;
use std::fmt::Write as _;

/// How high letters stand over the line and reach below it, as shares of their size.
const RISE: f64 = 0.76;
const DROP: f64 = 0.22;
/// Least distance of two words, px.
const APART: f64 = 2.0;
/// Distance of a word from its mark, px.
const OFF: f64 = 7.0;

/// A point of the drawing, px.
pub(super) type Spot = (f64, f64);

/// An upright rectangle, px.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Frame {
    /// Left.
    pub left: f64,
    /// Top.
    pub top: f64,
    /// Right.
    pub right: f64,
    /// Bottom.
    pub bottom: f64,
}

impl Frame {
    /// The frame of a word: what stands inside its element, its size, where it begins, ends or has its middle.
    #[must_use]
    pub fn of(markup: &str, size: f64, (x, y): (f64, f64), side: Side) -> Self {
        let width = letters::width(markup, size);
        let left = match side {
            Side::Start => x,
            Side::Middle => x - width / 2.0,
            Side::End => x - width,
        };
        Self { left, top: y - RISE * size, right: left + width, bottom: y + DROP * size }
    }

    /// Whether two frames come closer than `apart`.
    #[must_use]
    pub fn meets(&self, other: &Self, apart: f64) -> bool {
        self.left < other.right + apart
            && other.left < self.right + apart
            && self.top < other.bottom + apart
            && other.top < self.bottom + apart
    }

    fn holds(&self, other: &Self) -> bool {
        self.left <= other.left && self.top <= other.top && self.right >= other.right && self.bottom >= other.bottom
    }

    /// Whether a line goes through: cut to the frame at each side in turn, something is left.
    fn is_crossed(&self, (a, b): &(Spot, Spot)) -> bool {
        let (dx, dy) = (b.0 - a.0, b.1 - a.1);
        let (mut first, mut last) = (0.0f64, 1.0f64);
        for (slope, room) in
            [(-dx, a.0 - self.left), (dx, self.right - a.0), (-dy, a.1 - self.top), (dy, self.bottom - a.1)]
        {
            if slope == 0.0 {
                if room < 0.0 {
                    return false;
                }
            } else if slope < 0.0 {
                first = first.max(room / slope);
            } else {
                last = last.min(room / slope);
            }
        }
        first < last
    }
}

/// Which part of a word stands at its spot.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Side {
    /// Its beginning.
    Start,
    /// Its middle.
    Middle,
    /// Its end.
    End,
}

impl Side {
    fn class(self) -> &'static str {
        match self {
            Self::Start => "",
            Self::Middle => " mid",
            Self::End => " e",
        }
    }
}

/// The words of a drawing.
#[derive(Clone, Debug)]
pub(super) struct Labels {
    ground: Frame,
    taken: Vec<Frame>,
    lines: Vec<(Spot, Spot)>,
    drawn: String,
}

impl Labels {
    /// Words that may stand anywhere on this ground.
    pub fn on(ground: Frame) -> Self {
        Self { ground, taken: Vec::new(), lines: Vec::new(), drawn: String::new() }
    }

    /// Remembers a line that words had better not cross.
    pub fn avoid(&mut self, line: &[Spot]) {
        self.lines.extend(line.windows(2).map(|pair| (pair[0], pair[1])));
    }

    /// Remembers a place where no word may stand.
    pub fn keep_free(&mut self, (x, y): Spot, radius: f64) {
        self.taken.push(Frame { left: x - radius, top: y - radius, right: x + radius, bottom: y + radius });
    }

    fn crossings(&self, frame: &Frame) -> usize {
        self.lines.iter().filter(|line| frame.is_crossed(line)).count()
    }

    /// A line from a mark to the frame of its word; none where the word stands on the mark.
    pub fn tied((x, y): Spot, frame: &Frame) -> String {
        let (u, v) = (x.clamp(frame.left, frame.right), y.clamp(frame.top, frame.bottom));
        if (u - x).hypot(v - y) < OFF {
            return String::new();
        }
        format!("<path class=\"tie\" d=\"M{x:.1} {y:.1}L{u:.1} {v:.1}\"/>")
    }

    fn is_free(&self, frame: &Frame) -> bool {
        self.ground.holds(frame) && !self.taken.iter().any(|other| frame.meets(other, APART))
    }

    /// Writes a word at a spot whatever stands there; later words keep off.
    pub fn write(&mut self, class: &str, size: u32, (x, y): Spot, side: Side, text: &str) {
        let markup = set_text(text);
        self.taken.push(Frame::of(&markup, f64::from(size), (x, y), side));
        let class = format!("{class}{}", side.class());
        let _ = write!(
            self.drawn,
            "<text class=\"{}\" font-size=\"{size}\" x=\"{x:.1}\" y=\"{y:.1}\">{markup}</text>",
            class.trim()
        );
    }

    /// Writes a word at the best of some spots; its frame, none where no spot is free.
    pub fn place(&mut self, class: &str, size: u32, text: &str, spots: &[(Spot, Side)]) -> Option<Frame> {
        let markup = set_text(text);
        let free = spots.iter().filter_map(|(spot, side)| {
            let frame = Frame::of(&markup, f64::from(size), *spot, *side);
            self.is_free(&frame).then(|| (self.crossings(&frame), frame, *spot, *side))
        });
        let (_, frame, spot, side) = free.min_by_key(|(crossed, ..)| *crossed)?;
        self.write(class, size, spot, side, text);
        Some(frame)
    }

    /// Writes a word beside a point: right, left, above, below and at the corners, near and farther off.
    pub fn near(&mut self, class: &str, size: u32, (x, y): Spot, text: &str) -> Option<Frame> {
        let (rise, drop) = (RISE * f64::from(size), DROP * f64::from(size));
        let middle = y + (rise - drop) / 2.0;
        let around = |off: f64| {
            [
                ((x + off, middle), Side::Start),
                ((x - off, middle), Side::End),
                ((x, y - off - drop), Side::Middle),
                ((x, y + off + rise), Side::Middle),
                ((x + off * 0.7, y - off * 0.7 - drop), Side::Start),
                ((x - off * 0.7, y - off * 0.7 - drop), Side::End),
                ((x + off * 0.7, y + off * 0.7 + rise), Side::Start),
                ((x - off * 0.7, y + off * 0.7 + rise), Side::End),
            ]
        };
        let spots: Vec<(Spot, Side)> = [1.0, 1.7, 2.6, 3.6].iter().flat_map(|times| around(times * OFF)).collect();
        self.place(class, size, text, &spots)
    }

    /// Writes a word along a line, over or under one of its points.
    pub fn along(&mut self, class: &str, size: u32, line: &[Spot], text: &str) -> Option<Frame> {
        let rise = RISE * f64::from(size);
        let over = |(x, y): &Spot| {
            let above = ((*x, y - OFF), Side::Middle);
            [
                above,
                ((*x, y + rise + OFF), Side::Middle),
                ((x - OFF, y - OFF), Side::End),
                ((x + OFF, y - OFF), Side::Start),
            ]
        };
        let spots: Vec<(Spot, Side)> = line.iter().flat_map(over).collect();
        self.place(class, size, text, &spots)
    }

    /// Writes the name of an area that is too small for it: across its edges where it is not much wider, else beside it
    /// with a line to it, which is returned.
    pub fn about(&mut self, class: &str, size: u32, outline: &[Spot], text: &str) -> String {
        const AWAY: [Spot; 8] = [
            (0.0, -26.0),
            (0.0, 26.0),
            (30.0, -22.0),
            (-30.0, -22.0),
            (30.0, 22.0),
            (-30.0, 22.0),
            (0.0, -60.0),
            (0.0, 60.0),
        ];
        let ends = |pick: fn(&Spot) -> f64| {
            outline.iter().map(pick).fold((f64::INFINITY, f64::NEG_INFINITY), |(a, b), v| (a.min(v), b.max(v)))
        };
        let ((left, right), (top, bottom)) = (ends(|p| p.0), ends(|p| p.1));
        let middle = (0.5 * (left + right), 0.5 * (top + bottom));
        let lift = (RISE - DROP) * f64::from(size) / 2.0;
        let wide =
            letters::width(&set_text(text), f64::from(size)) < 1.4 * (right - left) && bottom - top > f64::from(size);
        if wide {
            let across = [0.5, 0.35, 0.65, 0.2, 0.8]
                .map(|share| ((middle.0, top + share * (bottom - top) + lift), Side::Middle));
            if self.place(class, size, text, &across).is_some() {
                return String::new();
            }
        }
        let beside = AWAY.iter().find_map(|(dx, dy)| self.near(class, size, (middle.0 + dx, middle.1 + dy), text));
        beside.map_or_else(String::new, |frame| Self::tied(middle, &frame))
    }

    /// Writes a word inside an outline, as near its middle as nothing else lies; `false` where it does not fit.
    pub fn inside(&mut self, class: &str, size: u32, outline: &[Spot], text: &str) -> bool {
        const STEPS: i32 = 24;
        let markup = set_text(text);
        let ends = |pick: fn(&Spot) -> f64| {
            outline.iter().map(pick).fold((f64::INFINITY, f64::NEG_INFINITY), |(a, b), v| (a.min(v), b.max(v)))
        };
        let ((left, right), (top, bottom)) = (ends(|p| p.0), ends(|p| p.1));
        let edges: Vec<(Spot, Spot)> =
            outline.iter().zip(outline.iter().cycle().skip(1)).map(|(a, b)| (*a, *b)).collect();
        let lift = (RISE - DROP) * f64::from(size) / 2.0;
        let mut best: Option<(f64, Spot)> = None;
        for row in 0..=STEPS {
            for column in 0..=STEPS {
                let share = |step: i32| f64::from(step) / f64::from(STEPS);
                let (x, y) = (left + share(column) * (right - left), top + share(row) * (bottom - top));
                let frame = Frame::of(&markup, f64::from(size), (x, y + lift), Side::Middle);
                let loose = Frame {
                    left: frame.left - 3.0,
                    right: frame.right + 3.0,
                    top: frame.top - 1.0,
                    bottom: frame.bottom + 1.0,
                };
                if !is_within(&edges, (x, y))
                    || edges.iter().any(|edge| loose.is_crossed(edge))
                    || !self.is_free(&frame)
                {
                    continue;
                }
                #[expect(clippy::cast_precision_loss, reason = "a handful of lines")]
                let crossed = self.crossings(&frame) as f64;
                let off =
                    ((x - 0.5 * (left + right)) / (right - left)).hypot((y - 0.5 * (top + bottom)) / (bottom - top));
                let score = crossed - room(&edges, &frame) / 100.0 + off / 2.0;
                if best.is_none_or(|(least, _)| score < least) {
                    best = Some((score, (x, y + lift)));
                }
            }
        }
        let Some((_, spot)) = best else { return false };
        self.write(class, size, spot, Side::Middle, text);
        true
    }

    /// Writes words down a column, each as near the height it belongs to as the others allow, with a tie from the mark at
    /// `from` to the word at `to`; the words of the first heights come first.
    pub fn column(&mut self, size: u32, (from, to): (f64, f64), words: &[(f64, String, &str)]) {
        let line = f64::from(size) + APART;
        let lift = (RISE - DROP) * f64::from(size) / 2.0;
        let mut order: Vec<usize> = (0..words.len()).collect();
        order.sort_by(|a, b| words[*a].0.total_cmp(&words[*b].0));
        let wanted: Vec<f64> = order.iter().map(|at| words[*at].0).collect();
        let heights = pushed_apart(&wanted, line, self.ground.top + line / 2.0, self.ground.bottom - line / 2.0);
        for (at, height) in order.iter().zip(heights) {
            let (mark, text, class) = &words[*at];
            let (from, to) = (from + 2.0, to - 3.0);
            let _ = write!(self.drawn, "<path class=\"tie\" d=\"M{from:.1} {mark:.1}L{to:.1} {height:.1}\"/>");
            self.write(class, size, (to, height + lift), Side::Start, text);
        }
    }

    /// The words as drawn.
    pub fn drawn(self) -> String {
        self.drawn
    }
}

/// Whether a point lies inside an outline, by the parity of edges to its right.
fn is_within(edges: &[(Spot, Spot)], (x, y): Spot) -> bool {
    let right = |(a, b): &&(Spot, Spot)| (a.1 > y) != (b.1 > y) && x < a.0 + (y - a.1) * (b.0 - a.0) / (b.1 - a.1);
    edges.iter().filter(right).count() % 2 == 1
}

/// Distance of a frame's middle from the nearest edge.
fn room(edges: &[(Spot, Spot)], frame: &Frame) -> f64 {
    let (x, y) = (0.5 * (frame.left + frame.right), 0.5 * (frame.top + frame.bottom));
    let distance = |(a, b): &(Spot, Spot)| {
        let (dx, dy) = (b.0 - a.0, b.1 - a.1);
        let length = dx * dx + dy * dy;
        let share = if length > 0.0 { (((x - a.0) * dx + (y - a.1) * dy) / length).clamp(0.0, 1.0) } else { 0.0 };
        (a.0 + share * dx - x).hypot(a.1 + share * dy - y)
    };
    edges.iter().map(distance).fold(f64::INFINITY, f64::min)
}

/// Heights in rising order, moved as little as may be so that neighbours stand `apart`; crowds are moved together.
fn pushed_apart(wanted: &[f64], apart: f64, top: f64, bottom: f64) -> Vec<f64> {
    // Crowds: their number and the sum of what each member wants of the first one's height.
    let mut crowds: Vec<(usize, f64)> = Vec::new();
    #[expect(clippy::cast_precision_loss, reason = "a handful of words")]
    let start = |(count, sum): (usize, f64)| {
        let first = sum / count as f64;
        first.min(bottom - apart * (count as f64 - 1.0)).max(top)
    };
    for height in wanted {
        crowds.push((1, *height));
        while let [.., above, below] = crowds[..] {
            #[expect(clippy::cast_precision_loss, reason = "a handful of words")]
            let reach = apart * above.0 as f64;
            if start(above) + reach <= start(below) {
                break;
            }
            crowds.pop();
            #[expect(clippy::cast_precision_loss, reason = "a handful of words")]
            let joined = above.1 + below.1 - reach * below.0 as f64;
            if let Some(last) = crowds.last_mut() {
                *last = (above.0 + below.0, joined);
            }
        }
    }
    #[expect(clippy::cast_precision_loss, reason = "a handful of words")]
    let spread = |crowd: (usize, f64)| (0..crowd.0).map(move |at| start(crowd) + apart * at as f64);
    crowds.into_iter().flat_map(spread).collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    const GROUND: Frame = Frame { left: 0.0, top: 0.0, right: 300.0, bottom: 200.0 };

    fn disjoint(labels: &Labels) -> bool {
        let all = &labels.taken;
        all.iter().enumerate().all(|(at, one)| all.iter().skip(at + 1).all(|other| !one.meets(other, 0.0)))
    }

    /// However many words crowd about few points, none stands on another.
    #[test]
    fn no_word_stands_on_another() {
        let mut labels = Labels::on(GROUND);
        let mut state = 5u64;
        let mut random = |most: f64| {
            state = state.wrapping_mul(6_364_136_223_846_793_005).wrapping_add(1_442_695_040_888_963_407);
            #[expect(clippy::cast_precision_loss, reason = "a random share")]
            let share = (state >> 11) as f64 / (1u64 << 53) as f64;
            share * most
        };
        labels.avoid(&[(0.0, 0.0), (300.0, 200.0)]);
        let mut written = 0;
        for number in 0..200 {
            let at = (random(300.0), random(200.0));
            written += usize::from(labels.near("", 13, at, &format!("word {number}")).is_some());
        }
        assert!((15..200).contains(&written), "{written}");
        assert_eq!(labels.taken.len(), written);
        assert!(disjoint(&labels));
        assert!(labels.taken.iter().all(|frame| GROUND.holds(frame)));
    }

    #[test]
    fn ends_of_lines_are_pushed_apart_and_keep_their_order() {
        let heights = pushed_apart(&[10.0, 11.0, 12.0, 90.0, 198.0, 199.0], 15.0, 7.5, 192.5);
        assert!(heights.windows(2).all(|pair| pair[1] - pair[0] >= 15.0 - 1e-9), "{heights:?}");
        assert!((heights[3] - 90.0).abs() < 1e-9 && heights[0] >= 7.5 && heights[5] <= 192.5 + 1e-9, "{heights:?}");
        let mut labels = Labels::on(GROUND);
        let words: Vec<(f64, String, &str)> = (0..9).map(|n| (100.0, format!("line {n}"), "")).collect();
        labels.column(13, (200.0, 220.0), &words);
        assert!(disjoint(&labels));
    }

    #[test]
    fn a_word_keeps_off_lines_where_it_can() {
        let mut labels = Labels::on(GROUND);
        labels.avoid(&[(50.0, 100.0), (250.0, 100.0)]);
        assert!(labels.near("", 13, (150.0, 100.0), "here").is_some());
        assert_eq!(labels.crossings(&labels.taken[0]), 0);
    }

    #[test]
    fn a_word_stands_inside_its_outline_or_nowhere() {
        let mut labels = Labels::on(GROUND);
        let wedge = [(10.0, 10.0), (200.0, 10.0), (10.0, 120.0)];
        assert!(labels.inside("", 13, &wedge, "Fe2O3(s)"));
        let frame = labels.taken[0];
        let edges = [(wedge[0], wedge[1]), (wedge[1], wedge[2]), (wedge[2], wedge[0])];
        for corner in
            [(frame.left, frame.top), (frame.right, frame.top), (frame.left, frame.bottom), (frame.right, frame.bottom)]
        {
            assert!(is_within(&edges, corner), "{frame:?}");
        }
        assert!(!labels.inside("", 13, &[(0.0, 150.0), (8.0, 150.0), (8.0, 160.0), (0.0, 160.0)], "Fe2O3(s)"));
    }
}
