//! At which levels of mass does a heated solid rest, and where does what was found lie?
//!
//! Each level is a line across, named at its end with its formula and percent; the stepped line is the mass at equilibrium,
//! the broken one the way step by step, each step where the solid's own gas reaches 1 atm; a loss without such a temperature
//! (an oxalate that only persists, a salt without values) is a slope from the loss before to the one after. A weighing is a pointer of the
//! pen with its 90 %. Levels are exact by their formulas; the temperatures are those of the tables.

use super::labels::{Frame, Labels, Side};
use super::letters;
use super::plane::{BELOW, LEFT, Plane, TOP, line, told};
use super::{Drawing, Figure, NARROW, set_text};
use crate::document::{Align, Cell, Table};
use crate::number;
use prep::outcome::{IgniteAnswer, LossStep};

/// Standard uncertainties from the middle to the end of the middle 90 % of a normal distribution.
const NINETY: f64 = 1.645;
/// Levels closer than this are one, percent.
const ALIKE: f64 = 5e-3;

/// A level: formula, percent, where it stands or is passed, in words.
struct Level {
    name: String,
    mass: f64,
    uncertainty: f64,
    words: String,
}

fn levels(answer: &IgniteAnswer) -> Vec<Level> {
    let mut list: Vec<Level> = Vec::new();
    let mut add = |name: &str, mass: f64, uncertainty: f64, words: String| {
        if !list.iter().any(|known| known.name == name && (known.mass - mass).abs() < ALIKE) {
            list.push(Level { name: name.to_owned(), mass, uncertainty, words });
        }
    };
    if let [(only, _)] = &answer.lot[..] {
        add(only, 100.0, 0.0, "as taken".to_owned());
        for step in &answer.chain {
            add(&step.to, step.mass, step.mass_uncertainty, format!("{}: {}", step.equation, own_gas(step)));
        }
    }
    for level in &answer.levels {
        let words = level.stands.map_or_else(
            || "stable nowhere here".to_owned(),
            |(low, high)| format!("stable from {} to {}\u{a0}°C", number::fixed(low, 0), number::fixed(high, 0)),
        );
        add(&level.residue, level.mass, level.mass_uncertainty, words);
    }
    list.sort_by(|a, b| b.mass.total_cmp(&a.mass));
    list
}

/// Where the own gas of a step reaches 1 atm, or why no temperature is told.
fn own_gas(step: &LossStep) -> String {
    match step.own_gas_celsius {
        Some(celsius) => format!("own gas at 1 atm above {}\u{a0}°C", number::fixed(celsius, 0)),
        None => format!("own gas at 1 atm: {}", step.own_gas),
    }
}

/// Levels of mass over temperature; none where nothing is known of them.
#[must_use]
pub fn plateaus_figure(answer: &IgniteAnswer) -> Option<Figure> {
    let levels = levels(answer);
    if answer.points.len() < 2 || levels.is_empty() {
        return None;
    }
    let mut table = Table::new(&[
        ("level", Align::Left),
        ("left, %", Align::Point),
        ("uncertainty, %", Align::Point),
        ("", Align::Left),
    ]);
    for level in &levels {
        table.push(vec![
            Cell::text(level.name.clone()),
            Cell::text(number::fixed(level.mass, 2)),
            Cell::text(number::significant(level.uncertainty, 1)),
            Cell::text(level.words.clone()),
        ]);
    }
    let mut words: Vec<String> =
        levels.iter().map(|level| format!("{} {} %", level.name, number::fixed(level.mass, 2))).collect();
    if let Some(found) = found(answer) {
        table.push(vec![
            Cell::text("found".to_owned()),
            Cell::text(found.clone()),
            Cell::text(String::new()),
            Cell::text(at(answer)),
        ]);
        words.push(format!("found {found} % {}", at(answer)));
    }
    Some(Figure {
        title: "Levels of mass on heating".to_owned(),
        description: words.join("; "),
        caption: "Full: the mass at equilibrium. Broken: step by step, each where the solid's own gas reaches 1 atm; a slope is a loss that has no such temperature and comes somewhere on it. Levels are those of pure formulas, known better than the line is thick; a mixture may lie between them.".to_owned(),
        wide: drawn(answer, &levels, 720.0),
        narrow: drawn(answer, &levels, NARROW),
        table,
    })
}

fn found(answer: &IgniteAnswer) -> Option<String> {
    answer.found.map(|(value, u)| match u {
        Some(u) => number::with_uncertainty(value, Some(u)),
        None => number::fixed(value, 2),
    })
}

fn at(answer: &IgniteAnswer) -> String {
    answer.at.map_or(String::new(), |celsius| format!("at {}\u{a0}°C", number::fixed(celsius, 0)))
}

fn drawn(answer: &IgniteAnswer, levels: &[Level], width: f64) -> Drawing {
    let named = |level: &Level| format!("{} {}\u{a0}%", level.name, number::fixed(level.mass, 2));
    let wide = width > 500.0;
    let longest = levels.iter().map(|level| letters::width(&set_text(&named(level)), 13.0)).fold(0.0, f64::max);
    // On a phone the names stand on their lines, not beside them.
    let right = if wide { (width - longest - 28.0).max(width * 0.5) } else { width - 8.0 };
    #[expect(clippy::cast_precision_loss, reason = "a handful of levels")]
    let tall = (if wide { 280.0f64 } else { 290.0 }).max(16.0 * levels.len() as f64 + 30.0);
    let frame = Frame { left: LEFT, top: TOP, right, bottom: TOP + tall };
    let observed = answer.found.iter().flat_map(|(value, u)| {
        let u = u.unwrap_or(0.0);
        [value - NINETY * u, value + NINETY * u]
    });
    let masses = answer.points.iter().map(|p| p.mass).chain(levels.iter().map(|l| l.mass)).chain(observed);
    let plane = Plane::over(answer.points.iter().map(|p| p.celsius), masses, (false, false), frame);
    let ends = (answer.points.first().map_or(0.0, |p| p.celsius), answer.points.last().map_or(1.0, |p| p.celsius));
    let plane = plane.between(ends);
    let mut body = plane.ruled(("temperature, °C", "% of the mass taken"));
    let mut labels = Labels::on(Frame { right: width, ..frame });
    for level in levels {
        let across = plane.trace(&[(ends.0, level.mass), (ends.1, level.mass)]);
        body += &line("level", &across);
        labels.avoid(&across);
    }
    body += &steps(answer, &plane);
    let path: Vec<(f64, f64)> = answer.points.iter().map(|p| (p.celsius, p.mass)).collect();
    let trace = plane.trace(&path);
    body += &line("curve", &trace);
    labels.avoid(&trace);
    for ((celsius, mass), spot) in path.iter().zip(&trace).step_by(3) {
        body += &told(*spot, &format!("{}\u{a0}°C: {}\u{a0}%", number::fixed(*celsius, 0), number::fixed(*mass, 2)));
    }
    body += &pointer(answer, &plane, &mut labels);
    if wide {
        let column: Vec<(f64, String, &str)> =
            levels.iter().map(|level| (plane.spot((ends.1, level.mass)).1, named(level), "")).collect();
        labels.column(13, (right, right + 24.0), &column);
    } else {
        for level in levels {
            let y = plane.spot((ends.1, level.mass)).1;
            let places =
                [(right - 2.0, Side::End), (f64::midpoint(LEFT, right), Side::Middle), (LEFT + 4.0, Side::Start)];
            let spots: Vec<_> =
                places.iter().flat_map(|(x, side)| [((*x, y - 4.0), *side), ((*x, y + 13.0), *side)]).collect();
            labels.place("", 13, &named(level), &spots);
        }
    }
    body += &labels.drawn();
    Drawing { width, height: frame.bottom + BELOW, body }
}

/// The way step by step. A step that may go below the temperature of the one before goes with it.
fn steps(answer: &IgniteAnswer, plane: &Plane) -> String {
    let mut mass = 100.0;
    let mut points = vec![(plane.x.low, mass)];
    let mut out = String::new();
    let mut somewhere: Vec<(f64, String)> = Vec::new();
    for step in &answer.chain {
        let middle = 0.5 * (mass + step.mass);
        let words = format!("{}: {}", step.equation, own_gas(step));
        if let Some(celsius) = step.own_gas_celsius {
            let celsius = celsius.max(points[points.len() - 1].0);
            if celsius > plane.x.high {
                break;
            }
            points.push((celsius, mass));
            out += &on_slope(plane, &points, &somewhere);
            somewhere.clear();
            points.push((celsius, step.mass));
            out += &told(plane.spot((celsius, middle)), &words);
        } else {
            somewhere.push((middle, words));
        }
        mass = step.mass;
    }
    if answer.chain.is_empty() {
        return out;
    }
    points.push((plane.x.high, mass));
    out += &on_slope(plane, &points, &somewhere);
    line("curve ahead thin", &plane.trace(&points)) + &out
}

/// Words at their masses on the last piece of a line.
fn on_slope(plane: &Plane, points: &[(f64, f64)], words: &[(f64, String)]) -> String {
    let [.., (from, high), (to, low)] = points[..] else { return String::new() };
    words
        .iter()
        .map(|(mass, text)| told(plane.spot((from + (to - from) * (high - mass) / (high - low), *mass)), text))
        .collect()
}

/// What was found, with its 90 %.
fn pointer(answer: &IgniteAnswer, plane: &Plane, labels: &mut Labels) -> String {
    let (Some((value, u)), Some(celsius), Some(words)) = (answer.found, answer.at, found(answer)) else {
        return String::new();
    };
    let (x, y) = plane.spot((celsius, value));
    let words = format!("found {words}\u{a0}%");
    labels.keep_free((x, y), 6.0);
    labels.near("pn b", 14, (x, y), &words);
    let u = u.unwrap_or(0.0);
    let ends = plane.trace(&[(celsius, value - NINETY * u), (celsius, value + NINETY * u)]);
    line("penline", &ends)
        + &format!("<circle class=\"penfill\" cx=\"{x:.1}\" cy=\"{y:.1}\" r=\"5\"><title>{words}</title></circle>")
}
