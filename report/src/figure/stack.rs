//! Which phases stand at which temperature, and how much of each?
//!
//! Bands over one another, each as high as the mass of its phase, told apart by the slope of fine lines and by its name in
//! the band; a band too thin for its name has it outside, tied to the band. The upper edge is the mass of all of them.

use super::hatch::hatch;
use super::labels::{Frame, Labels, Spot};
use super::plane::{BELOW, LEFT, Plane, TOP, area, line, told};
use super::{Drawing, Figure, NARROW};
use crate::document::{Align, Cell, Table};
use crate::number;
use prep::outcome::{EquilibriumAnswer, IgniteAnswer};

/// Kelvin at 0 °C.
const ZERO: f64 = 273.15;
/// Share of all below which a phase has no band of its own anywhere.
const LEAST: f64 = 2e-3;
/// Rows of the table.
const ROWS: usize = 14;

/// Amounts over temperature.
struct Stack {
    title: String,
    unit: String,
    caption: String,
    names: Vec<String>,
    /// °C, and an amount for each name.
    points: Vec<(f64, Vec<f64>)>,
}

impl Stack {
    /// Of named amounts at temperatures; what is small everywhere is added up in one band.
    fn of(
        points: &[(f64, Vec<(String, f64)>)],
        (title, unit, caption, rest): (&str, &str, &str, &str),
    ) -> Option<Self> {
        let whole = points.iter().map(|(_, list)| list.iter().map(|p| p.1).sum::<f64>()).fold(0.0, f64::max);
        let mut names: Vec<String> = Vec::new();
        for (name, amount) in points.iter().flat_map(|(_, list)| list) {
            if *amount > LEAST * whole && !names.contains(name) {
                names.push(name.clone());
            }
        }
        let spread = |list: &[(String, f64)]| {
            let own = |name: &String| list.iter().filter(|(known, _)| known == name).map(|(_, amount)| amount).sum();
            let mut row: Vec<f64> = names.iter().map(own).collect();
            row.push(list.iter().filter(|(name, _)| !names.contains(name)).map(|(_, amount)| amount).sum());
            row
        };
        let points: Vec<(f64, Vec<f64>)> = points.iter().map(|(t, list)| (*t, spread(list))).collect();
        names.push(rest.to_owned());
        (points.len() > 1 && whole > 0.0).then(|| Self {
            title: title.to_owned(),
            unit: unit.to_owned(),
            caption: caption.to_owned(),
            names,
            points,
        })
    }

    fn figure(&self) -> Figure {
        let mut table = Table::new(&[("°C", Align::Point), ("stands", Align::Left), (&self.unit, Align::Point)]);
        let stride = self.points.len().div_ceil(ROWS).max(1);
        for (celsius, row) in self.points.iter().step_by(stride) {
            table.push(vec![
                Cell::text(number::fixed(*celsius, 0)),
                Cell::text(self.there(row).join(", ")),
                Cell::text(number::fixed(row.iter().sum(), 2)),
            ]);
        }
        Figure {
            title: self.title.clone(),
            description: self.stages().join("; "),
            caption: self.caption.clone(),
            wide: self.drawn(720.0),
            narrow: self.drawn(NARROW),
            table,
        }
    }

    fn there(&self, row: &[f64]) -> Vec<String> {
        let whole: f64 = row.iter().sum();
        let own = self.names.iter().zip(row).filter(|(_, amount)| **amount > LEAST * whole.max(1e-9));
        own.map(|(name, amount)| format!("{name} {}", number::significant(*amount, 3))).collect()
    }

    /// What stands from where on, in words.
    fn stages(&self) -> Vec<String> {
        let mut list: Vec<(f64, Vec<&str>)> = Vec::new();
        for (celsius, row) in &self.points {
            let there: Vec<&str> =
                self.names.iter().zip(row).filter(|(_, n)| **n > 0.0).map(|(name, _)| name.as_str()).collect();
            if list.last().is_none_or(|(_, last)| *last != there) {
                list.push((*celsius, there));
            }
        }
        let words = |(celsius, names): (f64, Vec<&str>)| {
            let names = if names.is_empty() { "nothing".to_owned() } else { names.join(" and ") };
            format!("from {}\u{a0}°C {names}", number::fixed(celsius, 0))
        };
        list.into_iter().take(12).map(words).collect()
    }

    /// Upper edges of the first `count` bands.
    fn edge(&self, plane: &Plane, count: usize) -> Vec<Spot> {
        let points: Vec<(f64, f64)> = self.points.iter().map(|(t, row)| (*t, row.iter().take(count).sum())).collect();
        plane.trace(&points)
    }

    fn drawn(&self, width: f64) -> Drawing {
        let tall = if width > 500.0 { 300.0 } else { 260.0 };
        let frame = Frame { left: LEFT, top: TOP, right: width - 14.0, bottom: TOP + tall };
        let plane = Plane::over(
            self.points.iter().map(|point| point.0),
            self.points.iter().map(|(_, row)| row.iter().sum()),
            (false, true),
            frame,
        );
        let (first, last) = (self.points.first().map_or(0.0, |p| p.0), self.points.last().map_or(1.0, |p| p.0));
        let plane = plane.between((first, last));
        let mut body = plane.ruled(("temperature, °C", &self.unit));
        let mut labels = Labels::on(frame);
        let edges: Vec<Vec<Spot>> = (0..=self.names.len()).map(|count| self.edge(&plane, count)).collect();
        let mut kind = 0;
        let mut named: Vec<(f64, Vec<Spot>, &str)> = Vec::new();
        for (at, name) in self.names.iter().enumerate() {
            if self.points.iter().all(|(_, row)| row[at] <= 0.0) {
                continue;
            }
            for run in self.runs(at) {
                let (low, high) = (&edges[at][run.clone()], &edges[at + 1][run]);
                let outline = super::plane::between(low, high);
                body += &area("layer", &outline);
                body += &hatch(&outline, kind);
                body += &line("edge", high);
                named.push((size(&outline), outline, name));
            }
            kind += 1;
        }
        if let Some(top) = edges.last() {
            body += &line("curve", top);
            for ((celsius, row), spot) in self.points.iter().zip(top).step_by(2) {
                body +=
                    &told(*spot, &format!("{}\u{a0}°C: {}", number::fixed(*celsius, 0), self.there(row).join(", ")));
            }
        }
        // Wide bands are named first; each band needs its name once.
        named.sort_by(|a, b| b.0.total_cmp(&a.0));
        let mut done: Vec<&str> = Vec::new();
        for (_, outline, name) in &named {
            if !done.contains(name) && labels.inside("plain", 14, outline, name) {
                done.push(name);
            }
        }
        for (_, outline, name) in &named {
            if !done.contains(name) {
                done.push(name);
                body += &labels.about("plain", 13, outline, name);
            }
        }
        body += &labels.drawn();
        Drawing { width, height: frame.bottom + BELOW, body }
    }

    /// Stretches of points over which a band has height, one more at either end.
    fn runs(&self, at: usize) -> Vec<std::ops::Range<usize>> {
        let mut list: Vec<std::ops::Range<usize>> = Vec::new();
        for (place, (_, row)) in self.points.iter().enumerate() {
            if row[at] <= 0.0 {
                continue;
            }
            match list.last_mut() {
                Some(run) if run.end >= place => run.end = place + 1,
                _ => list.push(place.saturating_sub(1)..place + 1),
            }
        }
        list.iter().map(|run| run.start..(run.end + 1).min(self.points.len())).collect()
    }
}

/// Area, px².
fn size(outline: &[Spot]) -> f64 {
    let pairs = outline.iter().zip(outline.iter().cycle().skip(1));
    0.5 * pairs.map(|((a, b), (x, y))| a * y - x * b).sum::<f64>().abs()
}

/// Phases of a heated lot, percent of its mass.
#[must_use]
pub fn heated_phases_figure(answer: &IgniteAnswer) -> Option<Figure> {
    let points: Vec<(f64, Vec<(String, f64)>)> = answer.points.iter().map(|p| (p.celsius, p.phases.clone())).collect();
    let title = format!("What is stable on heating in {}", answer.surroundings);
    let caption = "Height: mass of each phase at equilibrium, in percent of the lot. What may happen, not when: a solid may pass its edge by hundreds of degrees unchanged.";
    Some(Stack::of(&points, (&title, "% of the mass taken", caption, "other"))?.figure())
}

/// Phases and gases of a sweep, g.
#[must_use]
pub fn sweep_figure(answer: &EquilibriumAnswer) -> Option<Figure> {
    let own = |point: &prep::outcome::EquilibriumPoint| {
        let mut all = point.condensed.clone();
        all.extend(point.gases.iter().cloned());
        (point.kelvin - ZERO, all)
    };
    let points: Vec<(f64, Vec<(String, f64)>)> = answer.sweep.iter().map(own).collect();
    let pressure = number::unit(&number::significant(answer.pressure.value, 3), "bar");
    let title = format!("What is there over temperature, at {pressure}");
    let caption = "Height: mass of each phase and gas when nothing more can happen. What may happen, not when.";
    Some(Stack::of(&points, (&title, "mass, g", caption, "the rest"))?.figure())
}
