//! How does pH follow what is added, and do the recorded points lie on it?
//!
//! The computed curve with its 90 % shaded, the wanted pH as a line across with the interval of the dose on it, the points
//! that were read as dots of the pen.

use super::axis::glyph;
use super::labels::{Frame, Labels, Spot};
use super::plane::{BELOW, Plane, TOP, area, between, line, mark, told};
use super::{Drawing, Figure, NARROW};
use crate::document::{Align, Cell, Table};
use crate::number;
use prep::outcome::{RecordedCurve, SolutionAnswer, SolutionDose};

/// Standard uncertainties from the middle to the end of the middle 90 % of a normal distribution.
const NINETY: f64 = 1.645;
/// Rows of the table for the computed curve.
const ROWS: usize = 10;

/// What is drawn.
struct Titration<'a> {
    reagent: &'a str,
    curve: &'a [(f64, f64)],
    scatter: &'a [f64],
    dose: Option<&'a SolutionDose>,
    recorded: Option<&'a RecordedCurve>,
}

/// The curve of a dose, or of a recorded titration; none where neither was asked for.
#[must_use]
pub fn titration_figure(answer: &SolutionAnswer) -> Option<Figure> {
    let (dose, recorded) = (answer.dose.as_ref(), answer.recorded.as_ref());
    let drawn = match (dose, recorded) {
        (Some(dose), _) => {
            let scatter: &[f64] =
                if dose.curve_uncertainty.len() == dose.curve.len() { &dose.curve_uncertainty } else { &[] };
            Titration { reagent: &dose.reagent, curve: &dose.curve, scatter, dose: Some(dose), recorded }
        }
        (None, Some(record)) => {
            Titration { reagent: &record.reagent, curve: &record.curve, scatter: &[], dose: None, recorded }
        }
        (None, None) => return None,
    };
    (drawn.curve.len() > 2).then(|| drawn.figure())
}

impl Titration<'_> {
    fn figure(&self) -> Figure {
        let grams = format!("{}, g", self.reagent);
        let mut table = Table::new(&[(&grams, Align::Point), ("pH", Align::Point), ("", Align::Left)]);
        for at in 0..=ROWS {
            let place = at * (self.curve.len() - 1) / ROWS;
            let (amount, ph) = self.curve[place];
            let ph = match self.scatter.get(place) {
                Some(u) => number::with_uncertainty(ph, Some(u.max(0.005))),
                None => number::fixed(ph, 2),
            };
            table.push(vec![Cell::text(number::significant(amount, 3)), Cell::text(ph), Cell::text("computed")]);
        }
        let mut words = Vec::new();
        if let Some(dose) = self.dose {
            table.push(vec![
                Cell::text(number::mean_bare(&dose.mass)),
                Cell::text(number::fixed(dose.to_ph, 2)),
                Cell::text("wanted"),
            ]);
            words.push(format!(
                "{} brings it from pH {} to pH {}",
                number::mean(&dose.mass),
                number::fixed(dose.from_ph, 2),
                number::fixed(dose.to_ph, 2)
            ));
        }
        for (amount, read, _) in self.recorded.iter().flat_map(|record| &record.points) {
            table.push(vec![
                Cell::text(number::significant(*amount, 4)),
                Cell::text(number::fixed(*read, 2)),
                Cell::text("read"),
            ]);
        }
        if let Some(record) = self.recorded {
            words.push(format!(
                "{} readings show {} of {}",
                record.points.len(),
                number::mean(&record.mass),
                record.acid
            ));
        }
        let shaded = if self.scatter.is_empty() { "" } else { " Shaded: 90 % by constants and activity model." };
        let read = if self.recorded.is_some() { " Dots were read." } else { "" };
        Figure {
            title: format!("pH while {} is added", self.reagent),
            description: words.join("; "),
            caption: format!("Line: computed.{shaded}{read} Near a jump the curve is steeper than any meter follows."),
            wide: self.drawn(720.0),
            narrow: self.drawn(NARROW),
            table,
        }
    }

    fn drawn(&self, width: f64) -> Drawing {
        let tall = if width > 500.0 { 280.0 } else { 230.0 };
        let frame = Frame { left: 36.0, top: TOP, right: width - 14.0, bottom: TOP + tall };
        let ends = self.dose.iter().map(|dose| dose.to_ph);
        let read = self.recorded.iter().flat_map(|record| &record.points);
        let plane = Plane::over(
            self.curve.iter().map(|point| point.0).chain(read.clone().map(|point| point.0)),
            self.band(1.0).chain(self.band(-1.0)).map(|p| p.1).chain(ends).chain(read.map(|point| point.1)),
            (true, false),
            frame,
        );
        let mut body = plane.ruled((&format!("{} added, g", self.reagent), "pH"));
        let mut labels = Labels::on(frame);
        if !self.scatter.is_empty() {
            let edge = |side: f64| plane.trace(&self.band(side).collect::<Vec<_>>());
            body += &area("shade", &between(&edge(-1.0), &edge(1.0)));
        }
        let trace = plane.trace(self.curve);
        labels.avoid(&trace);
        body += &line("curve", &trace);
        for (at, ((amount, ph), spot)) in self.curve.iter().zip(&trace).enumerate() {
            let ph = number::with_uncertainty(*ph, Some(self.scatter.get(at).map_or(0.01, |u| u.max(0.005))));
            body += &told(*spot, &format!("{}\u{a0}g: pH {ph}", number::significant(*amount, 3)));
        }
        body += &self.target(&plane, &mut labels);
        body += &self.points(&plane, &mut labels);
        body += &labels.drawn();
        Drawing { width, height: frame.bottom + BELOW, body }
    }

    /// One edge of the band.
    fn band(&self, side: f64) -> impl Iterator<Item = (f64, f64)> + '_ {
        let scatter = |at: usize| self.scatter.get(at).copied().unwrap_or(0.0);
        self.curve.iter().enumerate().map(move |(at, (amount, ph))| (*amount, ph + side * NINETY * scatter(at)))
    }

    fn target(&self, plane: &Plane, labels: &mut Labels) -> String {
        let Some(dose) = self.dose else { return String::new() };
        let level = plane.trace(&[(plane.x.low, dose.to_ph), (plane.x.high, dose.to_ph)]);
        let (x, y) = plane.spot((dose.mass.mean, dose.to_ph));
        labels.avoid(&level);
        let ends = [plane.x.x(dose.mass.low), plane.x.x(dose.mass.high)];
        labels.keep_free((0.5 * (ends[0] + ends[1]), y), 8.0);
        labels.near("b", 14, (x, y), &number::mean(&dose.mass));
        let left: Vec<Spot> = [30.0, 60.0, 110.0, 180.0].iter().map(|off| (plane.x.left + off, y)).collect();
        labels.along("s2", 13, &left, &format!("pH {}", number::fixed(dose.to_ph, 2)));
        line("ax dash", &level) + &glyph(&plane.x, y, &dose.mass)
    }

    fn points(&self, plane: &Plane, labels: &mut Labels) -> String {
        let mut out = String::new();
        let Some(record) = self.recorded else { return out };
        for (amount, read, computed) in &record.points {
            let spot = plane.spot((*amount, *read));
            labels.keep_free(spot, 5.0);
            let words = format!(
                "{}\u{a0}g: pH {} read, {} computed",
                number::significant(*amount, 4),
                number::fixed(*read, 2),
                number::fixed(*computed, 2)
            );
            out += &mark("penfill", spot, &words);
        }
        if let Some((amount, read, _)) = record.points.get(record.points.len() / 3) {
            labels.near("pn", 13, plane.spot((*amount, *read)), "read");
        }
        out
    }
}
