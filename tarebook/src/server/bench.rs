//! What is to be read next, at the hood, with one gloved finger?
//!
//! One reading at a time: cautions first, what to put on the pan, one big field, the expected interval, the verdict
//! while the figure is typed. The page keeps entries until they are acknowledged and sends them again, each with its key.

use super::books::{Extent, Stand};
use super::kept::Shown;
use super::ledger::{to_do, weighed};
use super::page::{Sheet, address};
use super::preparation::sentence;
use super::record::{BY_READINGS, PASSED};
use super::trouble::{Fields, Trouble};
use super::work;
use super::{Office, blocking};
use axum::extract::{Path, Query, State};
use maud::{Markup, html};
use prep::model::{Preparation, Reading, Step};
use prep::outcome::{HoldPoint, Interval, StepScreening};
use report::figure::strip::strip_mark;
use report::html::caution;
use report::html::formula::rich;
use report::number;
use report::strip::{Scale, Strip};
use std::sync::Arc;

/// Which preparation?
pub async fn choose(State(office): State<Arc<Office>>) -> Result<Sheet, Trouble> {
    let lines = blocking(move || {
        let shown = office.books.shown(&office.notebook.stamps()?);
        super::list::work_behind(&office, &shown);
        let open =
            |shown: &Shown| shown.line().is_none_or(|line| matches!(line.state, Stand::Running | Stand::Planned));
        Ok(shown.into_iter().filter(|(_, shown)| open(shown)).collect::<Vec<_>>())
    })
    .await?;
    Ok(Sheet::new("Bench", "/bench").of("*").with(html! {
        h1 { "Bench" }
        p.sub { "Which preparation is on the bench? One step at a time, for a phone." }
        ul.plain-list.tall { @for (name, shown) in &lines {
            @let line = shown.line();
            li { a href=(format!("/p/{}/bench", address(name))) { (line.map_or(name.as_str(), |l| l.title.as_str())) }
                @if let Some(line) = line { br; span class=(format!("state {}", line.state.word())) { (line.state.word()) } } }
        } }
        @if lines.is_empty() { div.empty { p { "No preparation is planned or running." } div.go { a.btn href="/new" { "New preparation" } a.btn.plain href="/" { "Notebook" } } } }
    }))
}

/// A place at the bench: a reading, or a step without one.
struct Stop<'a> {
    at: usize,
    step: &'a Step,
    reading: Option<&'a Reading>,
}

fn stops(preparation: &Preparation) -> Vec<Stop<'_>> {
    let mut all = Vec::new();
    for (at, step) in preparation.steps.iter().enumerate() {
        let mut readings = step.readings.iter().filter(|reading| reading.corrects.is_none()).peekable();
        if readings.peek().is_none() {
            all.push(Stop { at, step, reading: None });
        }
        all.extend(readings.map(|reading| Stop { at, step, reading: Some(reading) }));
    }
    all
}

fn waits(stop: &Stop<'_>) -> bool {
    stop.reading.is_some_and(|r| r.weigh.is_none() && r.volume.is_none())
}

fn was_read(stop: &Stop<'_>) -> bool {
    stop.reading.is_some_and(|r| r.weigh.is_some() || r.volume.is_some())
}

/// Where the work stands: at the first place behind the last reading.
fn present(stops: &[Stop<'_>]) -> usize {
    let passed = stops
        .iter()
        .rposition(|stop| was_read(stop) || stop.step.note.as_deref().is_some_and(|note| note.contains(PASSED)));
    let behind = passed.map_or(0, |at| at + 1);
    stops.iter().position(waits).map_or(behind, |waiting| if waiting < behind { waiting } else { behind })
}

fn holds_of<'a>(screened: &'a [StepScreening], step: &Step) -> &'a [HoldPoint] {
    let found = screened.iter().find(|s| s.step == step.name.value);
    found.map(|s| s.holds.as_slice()).unwrap_or_default()
}

/// The first place whose step has a hold point that nobody wrote down and behind which nothing was read; the bench does
/// not go past it.
fn barrier(stops: &[Stop<'_>], screened: &[StepScreening]) -> usize {
    let held = |(at, stop): (usize, &Stop<'_>)| {
        let last = stops.get(at + 1).is_none_or(|next| next.at != stop.at);
        let passed = stop.step.note.as_deref().is_some_and(|note| note.contains(PASSED));
        let read_behind = stops.get(at + 1..).unwrap_or_default().iter().any(was_read);
        last && !passed && !read_behind && !holds_of(screened, stop.step).is_empty()
    };
    stops.iter().enumerate().position(held).unwrap_or(usize::MAX)
}

/// The hold points of a step, with the line in which it is written what was seen.
fn hold_points(link: &str, step: &Step, holds: &[HoldPoint], open: bool) -> Markup {
    html! {
        @for hold in holds {
            div.hold { b { "Hold." } span { (rich(&sentence(&hold.condition))) ". " (rich(&sentence(&hold.proof))) ". " @if !hold.otherwise.is_empty() { "Otherwise: " (rich(&hold.otherwise)) "." } } }
        }
        @if open && !holds.is_empty() {
            form.hold-entry method="post" action=(format!("{link}/hold")) data-entry="" {
                input type="hidden" name="step" value=(step.name.value);
                label for="seen" { "what was seen" }
                input.wide id="seen" name="seen" required autocomplete="off" placeholder="no bubbles for a minute";
                button.plain.wide { "The condition holds: write it down" }
            }
        }
    }
}

/// The bench page of a preparation.
pub async fn show(
    State(office): State<Arc<Office>>,
    Path(name): Path<String>,
    Query(wanted): Query<Vec<(String, String)>>,
) -> Result<Sheet, Trouble> {
    let books = work::books(&office, &name, Extent::Plan).await?;
    work::finish(&office, &name, &books);
    let link = format!("/p/{}", address(&name));
    let Some(preparation) = &books.preparation else {
        return Ok(Sheet::new("Bench", "/bench").of(&name).with(html! {
            h1 { "Not ready for the bench" }
            p.lead { "The file cannot be planned yet." }
            div.acts-line { a.btn href=(link) { "What is wrong" } a.btn.plain href="/bench" { "Another preparation" } }
        }));
    };
    let stops = stops(preparation);
    let screened = books.plan.as_ref().map(|plan| plan.screening.steps.as_slice()).unwrap_or_default();
    let asked = Fields(wanted).get("at").and_then(|at| at.parse::<usize>().ok());
    let barrier = barrier(&stops, screened);
    let at = asked.unwrap_or_else(|| present(&stops)).min(barrier).min(stops.len().saturating_sub(1));
    let Some(stop) = stops.get(at) else {
        return Ok(Sheet::new("Bench", "/bench").of(&name).with(html! {
            h1 { "No step yet" } p.lead { "The bench goes along the steps of the file." } div.acts-line { a.btn href=(format!("{link}/edit?kind=step&new=1")) { "Write the first step" } a.btn.plain href=(link) { "The preparation" } }
        }));
    };
    let planned = books.plan.as_ref().and_then(|plan| plan.steps.get(stop.at));
    let holds = holds_of(screened, stop.step);
    let by_plan = stop.reading.and_then(|r| planned?.expects.iter().find(|e| e.reading == r.id.value));
    let expected = match stop.reading.filter(|r| r.charge.is_none() && r.weigh.is_none() && r.volume.is_none()) {
        // The verdict goes by the readings before as well; a charge goes by its plan.
        Some(reading) => {
            let (of, id) = (books.clone(), reading.id.value.clone());
            blocking(move || Ok(of.preparation.as_ref().and_then(|preparation| prep::entry(preparation, &id)))).await?
        }
        None => None,
    };
    let by_readings = expected.and_then(|entry| entry.expected).map(|told| (told, BY_READINGS.to_owned()));
    let expected = by_readings.or_else(|| {
        let told = by_plan?.interval.clone()?;
        let basis = told.basis.clone().unwrap_or_default();
        Some((told, basis))
    });
    let done = !stops.iter().any(waits);
    let last_of_step = stops.get(at + 1).is_none_or(|next| next.at != stop.at);
    let body = html! {
        div.top { a href=(link) { (preparation.title()) } span.q2.nb { (at + 1) " of " (stops.len()) } }
        div.queue id="queue" role="status" hidden {}
        @for text in planned.map(|p| p.cautions.as_slice()).unwrap_or_default() { (caution(text)) }
        h1 { @match stop.reading { Some(reading) => { "Weigh " (weighed(reading)) } None => (sentence(&stop.step.name.value)) } }
        p.q2 { (rich(&to_do(stop.step, planned.map_or("", |p| p.instruction.as_str())))) }
        (timer(stop.step))
        @if let Some(reading) = stop.reading { (field(&link, preparation, reading, expected.as_ref(), done)) }
        @if last_of_step { (hold_points(&link, stop.step, holds, at == barrier)) }
        nav.acts aria-label="Steps" {
            @if at > 0 { a.btn.plain href=(format!("{link}/bench?at={}", at - 1)) { "Step back" } }
            @if at >= barrier { span.q2 { "The next step opens when the hold point is written down." } } @else if at + 1 < stops.len() { a.btn.plain href=(format!("{link}/bench?at={}", at + 1)) { "Next step" } }
            @else { a.btn.plain href=(format!("{link}/account")) { "The account" } }
        }
    };
    let sheet = Sheet::new(format!("Bench, {}", preparation.title()), "/bench").of(&name).at(&books.page.revision);
    Ok(sheet.bare().with(body))
}

fn timer(step: &Step) -> Markup {
    let Some(time) = &step.time else { return html! {} };
    let seconds = time.duration.bounds().0.max(0.0).round();
    html! {
        div.timer data-seconds=(seconds) data-of=(step.name.value) {
            span { (step.name.value) br; small { (time.text) " wanted" } }
            b role="timer" { "0:00" }
            button.plain.wide type="button" { "Start the clock" }
        }
    }
}

fn field(
    link: &str,
    preparation: &Preparation,
    reading: &Reading,
    expected: Option<&(Interval, String)>,
    done: bool,
) -> Markup {
    let read = reading.weigh.is_some() || reading.volume.is_some();
    let ware = preparation.ware.iter().any(|ware| ware.name.value == reading.with.value);
    let unit = if ware { "mL" } else { "g" };
    html! {
        @if read {
            p.already { (reading.with.value) " showed " span.pen { (reading.text) } ". " @if done { "Every planned reading is entered." } @else { "It was entered; another figure is another weighing." } }

        }
        form.entry-form method="post" action=(format!("{link}/reading")) data-enter=(format!("{link}/enter")) data-judge=(format!("{link}/judge")) data-photo=(format!("{link}/photo?reading={}", address(&reading.id.value))) data-most=(super::LARGEST_BODY) data-after=(format!("{link}/bench")) data-unit=(unit) {
            input type="hidden" name="step" value="bench";
            input type="hidden" name="what" value=(format!("waiting {}", reading.id.value));
            input type="hidden" name="reading" value=(reading.id.value);
            label for="figure" { (reading.with.value) @if ware { " reads" } @else { " shows" } }
            div.big { input id="figure" name="figure" inputmode="decimal" autocomplete="off" required aria-describedby="verdict"; span.unit { (unit) } }
            @if read && !ware {
                span.series { label for="after" { "weighed again until the mass stays: time since the first" } input id="after" name="after" placeholder="2 h" autocomplete="off"; }
            }
            div.expect id="expect" { @if let Some((expected, by)) = expected {
                (strip_mark(&Strip { interval: Some(expected.clone()), scale: Scale::own(expected), marks: Vec::new() }, 340.0))
                p.fine { "expected " (number::interval(expected)) @if !by.is_empty() { ", " (by) } }
            } }
            div.verdict id="verdict" role="status" aria-live="polite" { b.w { "What does it show?" } span { "Type the figure as displayed." } }
            div.acts {
                button.wide { "Enter" }
                label.btn.plain for="note" { "Remark" } label.btn.plain for="photo" { "Photo" }
                input.wide id="note" name="note" placeholder="colour, smell, spatter" aria-label="remark";
                input.vh id="photo" type="file" accept="image/*" capture="environment" aria-label="photograph of this reading";
            }
        }
    }
}
