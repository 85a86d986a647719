//! How much of a metal stays dissolved, over pH or over a precipitant?
//!
//! By decades, because what matters spans many. Over pH each metal is a band between fresh solids by the most soluble
//! constants and aged ones by the least; over the precipitant it is a line with its lowest point marked.

use super::hatch::hatch;
use super::labels::{Frame, Labels};
use super::plane::{BELOW, LEFT, Plane, TOP, area, between, line, mark, told};
use super::{Drawing, Figure, NARROW};
use crate::document::{Align, Cell, Table};
use crate::number;
use prep::outcome::{SolutionAnswer, SolutionExcess, SolutionWindow};

/// Decades below the largest amount that are shown.
const DECADES: f64 = 7.0;
/// Most metals on one ground.
const MOST: usize = 5;
/// pH of the table's rows.
const ROWS: [f64; 12] = [2.0, 3.0, 4.0, 5.0, 6.0, 7.0, 8.0, 9.0, 10.0, 11.0, 12.0, 13.0];
const UNIT: &str = "dissolved, mg per kg of water";

/// Dissolved metals over pH; none where none were looked for.
#[must_use]
pub fn dissolved_figure(answer: &SolutionAnswer) -> Option<Figure> {
    let drawn: Vec<&SolutionWindow> = answer
        .windows
        .iter()
        .filter(|window| window.courses.iter().any(|course| course.len() > 2))
        .take(MOST)
        .collect();
    if drawn.is_empty() {
        return None;
    }
    let mut table = Table::new(&[
        ("metal", Align::Left),
        ("pH", Align::Point),
        ("mg/kg, aged", Align::Left),
        ("mg/kg, fresh", Align::Left),
    ]);
    for window in &drawn {
        for ph in ROWS {
            let at = |side: usize| {
                let value = near(&window.courses[side], ph);
                Cell::text(value.map_or_else(|| "none".to_owned(), |left| number::significant(left, 2)))
            };
            table.push(vec![Cell::text(window.master.clone()), Cell::text(number::fixed(ph, 0)), at(1), at(0)]);
        }
    }
    let words: Vec<String> = drawn
        .iter()
        .filter_map(|window| {
            let (ph, left) = window.courses[0].iter().min_by(|a, b| a.1.total_cmp(&b.1))?;
            Some(format!(
                "{} least at pH {}: {} mg/kg",
                window.master,
                number::fixed(*ph, 1),
                number::significant(*left, 2)
            ))
        })
        .collect();
    Some(Figure {
        title: "What stays dissolved over pH".to_owned(),
        description: words.join("; "),
        caption: "Full line: fresh solids by the most soluble constants; broken: aged ones by the least. What falls out together takes more along than this.".to_owned(),
        wide: over_ph(&drawn, answer.ph.value, 720.0),
        narrow: over_ph(&drawn, answer.ph.value, NARROW),
        table,
    })
}

/// The value of a course at a pH, between its points by decades.
fn near(course: &[(f64, f64)], ph: f64) -> Option<f64> {
    let pair = course.windows(2).find(|pair| (pair[0].0..=pair[1].0).contains(&ph))?;
    let share = (ph - pair[0].0) / (pair[1].0 - pair[0].0).max(1e-9);
    let log = |value: f64| value.max(f64::MIN_POSITIVE).ln();
    Some((log(pair[0].1) + share * (log(pair[1].1) - log(pair[0].1))).exp())
}

fn over_ph(windows: &[&SolutionWindow], ph: f64, width: f64) -> Drawing {
    let tall = if width > 500.0 { 300.0 } else { 260.0 };
    let frame = Frame { left: LEFT, top: TOP, right: width - 14.0, bottom: TOP + tall };
    let all = || windows.iter().flat_map(|window| window.courses.iter().flatten());
    let most = all().map(|point| point.1).fold(0.0, f64::max);
    let floor = most * 10f64.powf(-DECADES);
    let plane = Plane::by_decades(all().map(|point| point.0), all().map(|point| point.1.max(floor)), false, frame)
        .between((0.0, 14.0));
    let mut body = plane.ruled(("pH", UNIT));
    let mut labels = Labels::on(frame);
    let own = plane.trace(&[(ph, most), (ph, floor)]);
    if (0.0..=14.0).contains(&ph) {
        body += &line("ax dash", &[(own[0].0, frame.top), (own[1].0, frame.bottom)]);
        labels.avoid(&own);
    }
    let traces: Vec<[Vec<(f64, f64)>; 2]> =
        windows.iter().map(|window| [0, 1].map(|side| plane.trace(&window.courses[side]))).collect();
    for (at, [fresh, aged]) in traces.iter().enumerate() {
        let outline = between(fresh, aged);
        body += &area("shade", &outline);
        body += &hatch(&outline, at + 1);
        labels.avoid(fresh);
        labels.avoid(aged);
    }
    for (window, [fresh, aged]) in windows.iter().zip(&traces) {
        body += &line("curve", fresh);
        body += &line("curve ahead", aged);
        for (course, trace) in window.courses.iter().zip([fresh, aged]) {
            for ((ph, left), spot) in course.iter().zip(trace) {
                let words = format!(
                    "{} at pH {}: {} mg/kg",
                    window.master,
                    number::fixed(*ph, 1),
                    number::significant(*left, 2)
                );
                body += &told(*spot, &words);
            }
        }
        // On the way down, where lines of different metals are farthest apart.
        let top = window.courses[0].iter().map(|point| point.1).fold(0.0, f64::max);
        let falls = window.courses[0].iter().zip(fresh).filter(|((_, left), _)| (floor..top / 3.0).contains(left));
        let down: Vec<(f64, f64)> = falls.map(|(_, spot)| *spot).collect();
        if labels.along("b", 14, &down, &window.master).is_none() {
            labels.along("b", 14, fresh, &window.master);
        }
    }
    if (0.0..=14.0).contains(&ph) {
        let upright: Vec<(f64, f64)> = [40.0, 80.0, 140.0].iter().map(|off| (own[1].0, frame.bottom - off)).collect();
        let spots: Vec<_> = upright.iter().map(|(x, y)| ((x + 6.0, *y), super::labels::Side::Start)).collect();
        labels.place("s2", 13, &format!("now pH {}", number::fixed(ph, 2)), &spots);
    }
    body += &labels.drawn();
    Drawing { width, height: frame.bottom + BELOW, body }
}

/// What a precipitant leaves over its amount; none where it was not asked for.
#[must_use]
pub fn excess_figure(excess: &SolutionExcess) -> Option<Figure> {
    if excess.course.len() < 3 {
        return None;
    }
    let amount = format!("{}, mol", excess.reagent);
    let mut table = Table::new(&[(&amount, Align::Point), ("left, mg/kg water", Align::Point)]);
    for (moles, left) in excess.course.iter().step_by(5) {
        table.push(vec![Cell::text(number::significant(*moles, 3)), Cell::text(number::significant(*left, 3))]);
    }
    table
        .push(vec![Cell::text(number::significant(excess.amount, 3)), Cell::text(number::significant(excess.left, 3))]);
    Some(Figure {
        title: format!("What {} leaves of {}", excess.reagent, excess.master),
        description: format!(
            "least at {} mol: {} mg of {} in a kilogram of water",
            number::significant(excess.amount, 3),
            number::significant(excess.left, 2),
            excess.master
        ),
        caption:
            "Left of the ring there is too little of it, right of it the excess takes the metal back into solution."
                .to_owned(),
        wide: over_excess(excess, 520.0),
        narrow: over_excess(excess, NARROW),
        table,
    })
}

fn over_excess(excess: &SolutionExcess, width: f64) -> Drawing {
    let frame = Frame { left: LEFT, top: TOP, right: width - 20.0, bottom: TOP + 230.0 };
    // Beyond some times the best amount nothing new is seen.
    let most = 8.0 * excess.amount;
    let shown: Vec<(f64, f64)> = excess.course.iter().copied().filter(|point| point.0 <= most).collect();
    let plane = Plane::by_decades(
        shown.iter().map(|point| point.0),
        shown.iter().map(|point| point.1).chain([excess.left]),
        true,
        frame,
    );
    let mut body = plane.ruled((&format!("{} added, mol", excess.reagent), &format!("{} {UNIT}", excess.master)));
    let mut labels = Labels::on(frame);
    let trace = plane.trace(&shown);
    labels.avoid(&trace);
    body += &line("curve", &trace);
    for ((moles, left), spot) in shown.iter().zip(&trace) {
        body +=
            &told(*spot, &format!("{} mol: {} mg/kg", number::significant(*moles, 3), number::significant(*left, 3)));
    }
    let spot = plane.spot((excess.amount, excess.left));
    let words =
        format!("{}\u{a0}mol, {}\u{a0}mg", number::significant(excess.amount, 3), number::significant(excess.left, 2));
    labels.keep_free(spot, 4.0);
    labels.near("b", 14, spot, &words);
    body += &mark("open", spot, &words);
    body += &labels.drawn();
    Drawing { width, height: frame.bottom + BELOW, body }
}
