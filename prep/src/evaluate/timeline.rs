//! When can each step start, and when are hands needed?
//!
//! One pair of hands, list scheduling in the order of the file: each step starts as soon as the steps that give its lots
//! have ended and hands are free for its attended part, which stands at its beginning; a gap before the attended part of
//! an earlier step is used where it is long enough. What is not attended runs beside anything. Where durations are
//! ranges, each of a thousand draws is scheduled by itself.
//!
//! Neglected: that a vessel, oven or filter is taken, nights, breaks, and steps without a duration (counted as nothing
//! and named). All of these make it longer. The rule is simple and not the best schedule there is.

use super::direct::standing;
use super::draws::{draws, figure};
use super::findings::finding;
use super::interval;
use crate::model::{Attended, Knowledge, Preparation, Step};
use crate::outcome::{Finding, Interval, Severity, TimedStep, Timeline, Timing};

/// Draws where a duration is open.
const DRAWS: usize = 1000;
/// Seconds in a minute.
const MINUTE: f64 = 60.0;
/// Share of a planned time, and minutes, by which a run may be shorter without a word; estimated. Longer is no fault: it
/// may be a break.
const LEEWAY: (f64, f64) = (0.1, 5.0);

/// Columns of one value per draw, s; one column for each step.
struct Schedule {
    weights: Vec<f64>,
    start: Vec<Vec<f64>>,
    end: Vec<Vec<f64>>,
    hands: Vec<Vec<f64>>,
}

impl Schedule {
    fn told(&self, column: &[f64]) -> Interval {
        let minutes: Vec<f64> = column.iter().map(|s| s / MINUTE).collect();
        interval(&minutes, &self.weights, "min", None)
    }
}

/// Draw by draw.
fn added(a: &[f64], b: &[f64]) -> Vec<f64> {
    a.iter().zip(b).map(|(a, b)| a + b).collect()
}

/// Steps that give what a step takes.
fn waits_for(preparation: &Preparation, i: usize) -> Vec<usize> {
    let step = &preparation.steps[i];
    (0..i)
        .filter(|j| {
            let gives = &preparation.steps[*j].gives;
            step.take.iter().any(|t| gives.iter().any(|g| g.lot.value == t.source.value))
        })
        .collect()
}

/// The earliest time from `ready` at which hands are free for `length`; they are taken from then on.
fn hands_free(busy: &mut Vec<(f64, f64)>, ready: f64, length: f64) -> f64 {
    if length <= 0.0 {
        return ready;
    }
    let (mut at, mut place) = (ready, busy.len());
    for (index, (from, to)) in busy.iter().enumerate() {
        if at + length <= *from {
            place = index;
            break;
        }
        at = at.max(*to);
    }
    busy.insert(place, (at, at + length));
    at
}

fn schedule(preparation: &Preparation) -> Option<Schedule> {
    let steps = &preparation.steps;
    if steps.iter().all(|s| s.time.is_none()) {
        return None;
    }
    let open = |known: Knowledge| !matches!(known, Knowledge::Exact(_));
    let is_open = |step: &Step| {
        step.time
            .as_ref()
            .is_some_and(|t| open(t.duration) || matches!(t.attended, Attended::For(hands) if open(hands)))
    };
    let count = if steps.iter().any(is_open) { DRAWS } else { 1 };
    let (mut lasts, mut hands) = (Vec::new(), Vec::new());
    for (i, step) in steps.iter().enumerate() {
        let seed = 2 * i as u64 + 1;
        let duration = draws(step.time.as_ref().map_or(Knowledge::Exact(0.0), |t| t.duration), count, seed);
        let attended = match step.time.as_ref().map(|t| t.attended) {
            Some(Attended::For(known)) => {
                let own = draws(known, count, seed + 1);
                own.iter().zip(&duration).map(|(own, whole)| own.min(*whole)).collect()
            }
            _ => duration.clone(),
        };
        lasts.push(duration);
        hands.push(attended);
    }
    let before: Vec<Vec<usize>> = (0..steps.len()).map(|i| waits_for(preparation, i)).collect();
    let (mut start, mut end) = (vec![vec![0.0; count]; steps.len()], vec![vec![0.0; count]; steps.len()]);
    for draw in 0..count {
        let mut busy = Vec::new();
        for i in 0..steps.len() {
            let ready = before[i].iter().map(|j| end[*j][draw]).fold(0.0, f64::max);
            start[i][draw] = hands_free(&mut busy, ready, hands[i][draw]);
            end[i][draw] = start[i][draw] + lasts[i][draw];
        }
    }
    Some(Schedule { weights: vec![1.0 / count as f64; count], start, end, hands })
}

/// The timeline of a plan; none where no step has a duration.
pub(crate) fn timeline(preparation: &Preparation) -> Option<Timeline> {
    let schedule = schedule(preparation)?;
    let draws = schedule.weights.len();
    let over = |columns: &[Vec<f64>], fold: &dyn Fn(f64, f64) -> f64| -> Vec<f64> {
        (0..draws).map(|d| columns.iter().map(|column| column[d]).fold(0.0, fold)).collect()
    };
    let name = |i: usize| preparation.steps[i].name.value.clone();
    let steps = &preparation.steps;
    let timed = (0..steps.len()).filter(|i| steps[*i].time.is_some()).map(|i| TimedStep {
        step: name(i),
        start: schedule.told(&schedule.start[i]),
        end: schedule.told(&schedule.end[i]),
        hands: schedule.told(&schedule.hands[i]),
        hands_until: schedule.told(&added(&schedule.start[i], &schedule.hands[i])),
        after: waits_for(preparation, i).into_iter().map(name).collect(),
    });
    Some(Timeline {
        steps: timed.collect(),
        elapsed: schedule.told(&over(&schedule.end, &f64::max)),
        hands: schedule.told(&over(&schedule.hands, &|a, b| a + b)),
        untimed: (0..steps.len()).filter(|i| steps[*i].time.is_none()).map(name).collect(),
    })
}

/// Times between the last readings of steps beside the plan, where all steps between have a duration.
pub(crate) fn timing(preparation: &Preparation) -> (Vec<Timing>, Vec<Finding>) {
    let Some(schedule) = schedule(preparation) else { return (Vec::new(), Vec::new()) };
    let steps = &preparation.steps;
    let read: Vec<(usize, f64)> = (0..steps.len()).filter_map(|i| Some((i, last_read(preparation, i)?))).collect();
    let (mut list, mut findings) = (Vec::new(), Vec::new());
    for ((i, from), (j, to)) in read.iter().zip(read.iter().skip(1)) {
        if steps[i + 1..=*j].iter().any(|s| s.time.is_none()) {
            continue;
        }
        let between: Vec<f64> = schedule.end[*j].iter().zip(&schedule.end[*i]).map(|(b, a)| b - a).collect();
        let planned = schedule.told(&between);
        let found = (to - from) / MINUTE;
        let (from, to) = (steps[*i].name.value.clone(), steps[*j].name.value.clone());
        if found < planned.low - LEEWAY.1.max(LEEWAY.0 * planned.mean.abs()) {
            let message = format!(
                "between the last readings of `{from}` and `{to}` only {} went by, of {} planned",
                hours(found),
                hours(planned.median)
            );
            let hint = "a step cut short may not have run to its end; if it did, shorten its `duration` the next time";
            findings.push(finding("time-off-plan", Severity::Note, Some(&steps[*j].name.span), message, hint));
        }
        list.push(Timing { from, to, found, planned });
    }
    (list, findings)
}

/// Minutes in words.
fn hours(minutes: f64) -> String {
    let (sign, minutes) = (if minutes < 0.0 { "−" } else { "" }, minutes.abs());
    if minutes < 60.0 {
        return format!("{sign}{} min", figure(minutes));
    }
    let minutes = minutes.round();
    let whole = (minutes / 60.0).floor();
    match minutes - 60.0 * whole {
        0.0 => format!("{sign}{whole} h"),
        rest => format!("{sign}{whole} h {rest} min"),
    }
}

/// The time of the last standing reading of a step, s since a fixed day.
fn last_read(preparation: &Preparation, i: usize) -> Option<f64> {
    standing(preparation)
        .filter(|(step, reading)| std::ptr::eq(*step, &preparation.steps[i]) && reading.weigh.is_some())
        .filter_map(|(_, reading)| reading.at.as_deref().and_then(seconds))
        .reduce(f64::max)
}

/// A date with a time as seconds since 1970; offsets are heeded, a change to summer time is not.
fn seconds(text: &str) -> Option<f64> {
    let at: toml_edit::Datetime = text.trim().parse().ok()?;
    let (date, time) = (at.date?, at.time?);
    let offset = match at.offset {
        Some(toml_edit::Offset::Custom { minutes }) => f64::from(minutes),
        _ => 0.0,
    };
    // Days of the civil calendar, with the year beginning in March (Fliegel and Van Flandern, Comm. ACM 11 (1968) 657).
    let (year, month) = (i64::from(date.year), i64::from(date.month));
    let (year, month) = if month > 2 { (year, month - 3) } else { (year - 1, month + 9) };
    let days = 365 * year + year.div_euclid(4) - year.div_euclid(100)
        + year.div_euclid(400)
        + (153 * month + 2) / 5
        + i64::from(date.day)
        - 719_469;
    let of_day = 3600.0 * f64::from(time.hour) + 60.0 * f64::from(time.minute) + f64::from(time.second.unwrap_or(0));
    Some(days as f64 * 86_400.0 + of_day - 60.0 * offset)
}

#[cfg(test)]
mod tests {
    use super::*;

    /// POSIX.1-2017, A.4.16: "Seconds Since the Epoch" of 1970-01-01 are 0; 2001-09-09T01:46:40Z is 10⁹ (from memory).
    #[test]
    fn days_are_counted() {
        assert_eq!(seconds("1970-01-01T00:00:00Z"), Some(0.0));
        assert_eq!(seconds("2001-09-09T01:46:40Z"), Some(1e9));
        assert_eq!(seconds("2001-09-09T03:46:40+02:00"), Some(1e9));
        assert_eq!(
            seconds("2024-03-01T00:00:00").zip(seconds("2024-02-28T00:00:00")).map(|(a, b)| a - b),
            Some(172_800.0)
        );
        assert_eq!(seconds("2024-03-01"), None);
    }

    #[test]
    fn hands_do_one_thing_at_a_time() {
        let mut busy = Vec::new();
        assert_eq!(hands_free(&mut busy, 0.0, 10.0), 0.0);
        assert_eq!(hands_free(&mut busy, 30.0, 10.0), 30.0);
        assert_eq!(hands_free(&mut busy, 0.0, 20.0), 10.0, "a gap that is long enough");
        assert_eq!(hands_free(&mut busy, 5.0, 1.0), 40.0, "no gap left");
        assert_eq!(hands_free(&mut busy, 5.0, 0.0), 5.0, "nothing to do");
    }
}
