//! When is the middle of a heated bed hot, and when is it done?
//!
//! Two grounds over one axis of time: the temperature of the middle, and what is left of the solid there and in all. Shaded
//! is what lies between the least and the greatest conductivity that a packed powder may have.

use super::labels::{Frame, Labels, Spot};
use super::plane::{BELOW, LEFT, Plane, TOP, area, between, line, mark, told};
use super::{Drawing, Figure, NARROW};
use crate::document::{Align, Cell, Table};
use crate::number;
use prep::outcome::{FurnaceAnswer, FurnaceMoment};

/// Rows of the table.
const ROWS: usize = 14;
/// Minutes beyond which the axis counts hours.
const LONG: f64 = 240.0;
/// Room between the two grounds, px.
const GAP: f64 = 46.0;

type Pick = fn(&FurnaceMoment) -> f64;

/// The middle over time; none where nothing was followed.
#[must_use]
pub fn bed_figure(answer: &FurnaceAnswer) -> Option<Figure> {
    if answer.moments.len() < 2 {
        return None;
    }
    let mut table = Table::new(&[
        ("min", Align::Point),
        ("middle, °C", Align::Point),
        ("left in the middle, %", Align::Point),
        ("left in all, %", Align::Point),
    ]);
    let stride = answer.moments.len().div_ceil(ROWS).max(1);
    for moment in answer.moments.iter().step_by(stride) {
        table.push(vec![
            Cell::text(number::fixed(moment.minutes, 1)),
            Cell::text(number::fixed(moment.middle, 0)),
            Cell::text(number::fixed(moment.middle_left, 0)),
            Cell::text(number::fixed(moment.left, 0)),
        ]);
    }
    let done = |minutes: Option<f64>| {
        minutes.map_or_else(|| "not in a week".to_owned(), |m| format!("{}\u{a0}min", number::significant(m, 2)))
    };
    Some(Figure {
        title: format!("{} in the furnace at {}\u{a0}°C: the middle over time", answer.solid, number::fixed(answer.furnace, 0)),
        description: format!(
            "the middle is done after {}, {} with the greatest and {} with the least conductivity",
            done(answer.done[1]),
            done(answer.done[2]),
            done(answer.done[0])
        ),
        caption: "Line: usual conductivity of a packed powder; shaded: from the least to the greatest. The middle waits at the temperature at which the solid gives off its gas.".to_owned(),
        wide: drawn(answer, 720.0),
        narrow: drawn(answer, NARROW),
        table,
    })
}

fn drawn(answer: &FurnaceAnswer, width: f64) -> Drawing {
    let ground = |top: f64, tall: f64| Frame { left: LEFT, top, right: width - 14.0, bottom: top + tall };
    let all = || answer.moments.iter().chain(answer.bounds.iter().flatten());
    let longest = all().map(|moment| moment.minutes).fold(0.0, f64::max);
    let (per, unit) = if longest > LONG { (60.0, "time, h") } else { (1.0, "time, min") };
    let time = move |moment: &FurnaceMoment| moment.minutes / per;
    let upper = Plane::over(
        all().map(time),
        all().map(|moment| moment.middle).chain([answer.furnace]),
        (true, true),
        ground(TOP, 150.0),
    );
    let lower = Plane::over(all().map(time), [0.0, 100.0], (true, true), ground(TOP + 150.0 + GAP + BELOW, 150.0));
    let mut body = upper.ruled((unit, "in the middle, °C")) + &lower.ruled((unit, "% of the solid left"));
    let mut labels = [Labels::on(upper.frame()), Labels::on(lower.frame())];
    body += &curves(answer, &upper, &mut labels[0], per, &[(|m| m.middle, "k0", "middle", "\u{a0}°C")]);
    let picks: [(Pick, &str, &str, &str); 2] =
        [(|m| m.middle_left, "k0", "in the middle", "\u{a0}%"), (|m| m.left, "k1", "in all", "\u{a0}%")];
    body += &curves(answer, &lower, &mut labels[1], per, &picks);
    let furnace = upper.trace(&[(upper.x.low, answer.furnace), (upper.x.high, answer.furnace)]);
    body += &line("ax dash", &furnace);
    labels[0].avoid(&furnace);
    labels[0].along("s2", 13, &spread(&furnace), &format!("furnace {}\u{a0}°C", number::fixed(answer.furnace, 0)));
    if let Some(front) = answer.front {
        let level = upper.trace(&[(upper.x.low, front), (upper.x.high, front)]);
        body += &line("ax dash", &level);
        labels[0].avoid(&level);
        labels[0].along("s2", 13, &spread(&level), &format!("gives off its gas, {}\u{a0}°C", number::fixed(front, 0)));
    }
    if let Some(minutes) = answer.done[1] {
        let (x, y) = lower.spot((minutes / per, 0.0));
        let words =
            format!("done, {}\u{a0}{}", number::significant(minutes / per, 2), unit.trim_start_matches("time, "));
        labels[1].keep_free((x, y), 5.0);
        labels[1].near("b", 14, (x, y), &words);
        body += &mark("open", (x, y), &words);
    }
    if let Some(asked) = &answer.asked {
        body += &moment(asked, &lower, &mut labels[1], per);
    }
    body += &labels.map(Labels::drawn).concat();
    Drawing { width, height: lower.frame().bottom + BELOW, body }
}

/// Points along a level line, for words.
fn spread(level: &[Spot]) -> Vec<Spot> {
    let (Some(a), Some(b)) = (level.first(), level.last()) else { return Vec::new() };
    [0.75, 0.6, 0.85, 0.45, 0.3].iter().map(|share| (a.0 + share * (b.0 - a.0), a.1)).collect()
}

/// Curves with what lies between the bounds, each named along itself.
fn curves(
    answer: &FurnaceAnswer,
    plane: &Plane,
    labels: &mut Labels,
    per: f64,
    picks: &[(Pick, &str, &str, &str)],
) -> String {
    let mut out = String::new();
    let mut drawn = Vec::new();
    for (pick, dashes, name, unit) in picks {
        let trace = |list: &[FurnaceMoment]| {
            let mut points: Vec<(f64, f64)> = list.iter().map(|m| (m.minutes / per, pick(m))).collect();
            // What is done stays done; the middle then goes on to warm up, which is not followed.
            if let Some((_, last)) = points.last().copied().filter(|(_, last)| *last < 1.0) {
                points.push((plane.x.high, last));
            }
            plane.trace(&points)
        };
        out += &area("shade", &between(&trace(&answer.bounds[0]), &trace(&answer.bounds[1])));
        let points = trace(&answer.moments);
        labels.avoid(&points);
        drawn.push((line(&format!("curve {dashes}"), &points), points.clone(), *name));
        for (moment, spot) in answer.moments.iter().zip(&points) {
            let words = format!(
                "{}\u{a0}min, {name}: {}{unit}",
                number::fixed(moment.minutes, 1),
                number::fixed(pick(moment), 0)
            );
            drawn.push((told(*spot, &words), Vec::new(), ""));
        }
    }
    for (marks, points, name) in drawn {
        out += &marks;
        if picks.len() > 1 && points.len() > 4 {
            let middle = &points[points.len() / 3..points.len() - 1];
            labels.along("", 13, middle, name);
        }
    }
    out
}

/// The moment that was asked about.
fn moment(asked: &FurnaceMoment, plane: &Plane, labels: &mut Labels, per: f64) -> String {
    let upright = plane.trace(&[(asked.minutes / per, 0.0), (asked.minutes / per, 100.0)]);
    let spot = plane.spot((asked.minutes / per, asked.middle_left));
    let words = format!("{}\u{a0}% left", number::fixed(asked.middle_left, 0));
    labels.avoid(&upright);
    labels.keep_free(spot, 5.0);
    labels.near("b", 14, spot, &words);
    line("ax dash", &upright) + &mark("dot", spot, &words)
}
