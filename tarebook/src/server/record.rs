//! How does a figure come into the file?
//!
//! Every entry is an operation on what the file holds at that moment, with a key of the page, so that two pages never
//! lose one and none comes in twice. A reading that waits for its figure takes it; a figure for one that was filled
//! meanwhile becomes a reading of its own. An entered figure is never changed: a correction is a new reading with a
//! reason. A bare number is taken in the unit of the balance, grams.

use super::assets::picture;
use super::books::Extent;
use super::page::address;
use super::trouble::{Fields, Trouble};
use super::{Office, blocking, reading};
use axum::body::Bytes;
use axum::extract::rejection::BytesRejection;
use axum::extract::{Path, State};
use axum::http::StatusCode;
use axum::http::header::CONTENT_TYPE;
use axum::response::{IntoResponse, Redirect, Response};
use prep::edit::{self, NewReading, Place};
use prep::model::{Preparation, Reading};
use prep::outcome::{Interval, Severity, Standing};
use report::figure::strip::strip_with;
use report::number::{self, with_ties};
use report::strip::{Mark, Scale, Strip};
use serde_json::json;
use std::sync::Arc;

/// The present, to the second, as files have it.
fn now() -> String {
    jiff::ZonedDateTime::now().datetime().strftime("%Y-%m-%dT%H:%M:%S").to_string()
}

/// A figure with its unit; a bare number is in grams, or in the unit of the ware.
fn with_unit(figure: &str, unit: &str) -> String {
    let figure = figure.trim().replace(',', ".");
    let bare = figure.chars().all(|c| c.is_ascii_digit() || matches!(c, '.' | '-' | '\u{2212}' | ' '));
    if bare { format!("{figure} {unit}") } else { figure }
}

fn read(text: &str) -> Result<Preparation, String> {
    let reading = reading::read(text);
    let first = reading.findings.iter().find(|f| f.severity == Severity::Error).map(|f| f.message.clone());
    reading.preparation.clone().ok_or_else(|| format!("The file has errors: {}", first.unwrap_or_default()))
}

fn found<'a>(preparation: &'a Preparation, id: &str) -> Option<(&'a str, &'a Reading)> {
    preparation.steps.iter().find_map(|step| {
        step.readings.iter().find(|reading| reading.id.value == id).map(|reading| (step.name.value.as_str(), reading))
    })
}

/// By what a reading is expected that is no charge.
pub(super) const BY_READINGS: &str = "by the plan and the readings before";
/// What a figure that is not taken is told with.
const NOT_ENTERED: &str = "Not entered. ";

/// The text with the new figure checked: a file that could be read can still be read.
fn checked(text: &str) -> Result<(), String> {
    let reading = reading::read(text);
    match reading.findings.iter().find(|finding| finding.severity == Severity::Error) {
        Some(finding) => Err(format!("{NOT_ENTERED}{}", super::trouble::said(finding))),
        None => Ok(()),
    }
}

/// What may come with a figure.
#[derive(Clone, Copy, Debug, Default)]
struct Extra<'a> {
    /// A remark.
    note: Option<&'a str>,
    /// Time since the first weighing, where the same lot is weighed again.
    after: Option<&'a str>,
}

impl<'a> Extra<'a> {
    fn of(fields: &'a Fields) -> Self {
        Self { note: fields.get("note"), after: fields.get("after") }
    }
}

/// A remark behind those that stand there already.
fn joined(before: Option<&str>, note: &str) -> String {
    match before {
        Some(before) if before.split("; ").any(|part| part == note) => before.to_owned(),
        Some(before) if !before.trim().is_empty() => format!("{before}; {note}"),
        _ => note.to_owned(),
    }
}

/// Fills a waiting reading, or adds one like it if it was filled meanwhile.
fn fill(text: &str, id: &str, figure: &str, at: &str, fields: Extra<'_>) -> Result<String, String> {
    let note = fields.note;
    let preparation = read(text)?;
    let (step, reading) = found(&preparation, id).ok_or_else(|| format!("There is no reading {id}."))?;
    let said = |error: edit::EditError| error.to_string();
    let ware = preparation.ware.iter().any(|ware| ware.name.value == reading.with.value);
    let (key, unit) = if ware { ("volume", "mL") } else { ("weigh", "g") };
    let figure = with_unit(figure, unit);
    if reading.weigh.is_none() && reading.volume.is_none() {
        let place = Place::Reading(id);
        let mut text = edit::set(text, place, key, &figure.as_str().into()).map_err(said)?;
        text = edit::set(&text, place, "at", &at.into()).map_err(said)?;
        if let Some(note) = note {
            text = edit::set(&text, place, "note", &joined(reading.note.as_deref(), note).as_str().into())
                .map_err(said)?;
        }
        checked(&text)?;
        return Ok(text);
    }
    if let (Some(after), false) = (fields.after, ware) {
        // A reading that states the spacing of its series takes no times.
        let text = match edit::weigh_again(text, id, &figure, Some(after)) {
            Err(edit::EditError::WrongShape(_)) => edit::weigh_again(text, id, &figure, None),
            other => other,
        };
        let text = text.map_err(said)?;
        checked(&text)?;
        return Ok(text);
    }
    let own = |spanned: &Option<prep::model::Spanned<String>>| spanned.as_ref().map(|s| s.value.clone());
    let another = NewReading {
        weigh: Some(figure),
        of: own(&reading.of),
        charge: own(&reading.charge),
        vessel: own(&reading.vessel),
        with: reading.with.value.clone(),
        at: Some(at.to_owned()),
        note: note.map(str::to_owned),
        ..NewReading::default()
    };
    let (text, _) = edit::add_reading(text, step, &another).map_err(said)?;
    checked(&text)?;
    Ok(text)
}

/// A correction of a reading.
fn corrected(text: &str, id: &str, figure: &str, reason: &str, at: &str) -> Result<String, String> {
    let preparation = read(text)?;
    let (step, reading) = found(&preparation, id).ok_or_else(|| format!("There is no reading {id}."))?;
    let own = |spanned: &Option<prep::model::Spanned<String>>| spanned.as_ref().map(|s| s.value.clone());
    let correction = NewReading {
        weigh: Some(with_unit(figure, "g")),
        of: own(&reading.of),
        charge: own(&reading.charge),
        vessel: own(&reading.vessel),
        with: reading.with.value.clone(),
        at: Some(at.to_owned()),
        corrects: Some(id.to_owned()),
        reason: Some(reason.to_owned()),
        ..NewReading::default()
    };
    let (text, _) = edit::add_reading(text, step, &correction).map_err(|error| error.to_string())?;
    checked(&text)?;
    Ok(text)
}

/// A reading that nobody planned: what is on the pan is told by a word in front. Without a figure it is planned by this.
fn free(text: &str, step: &str, what: &str, fields: &Fields, at: Option<&str>) -> Result<String, String> {
    let preparation = read(text)?;
    let (kind, of) = what.split_once(' ').ok_or("What was weighed is not told.")?;
    let named = |wanted: &str| (kind == wanted).then(|| of.to_owned());
    let both = (kind == "both").then(|| of.split_once('\u{1f}')).flatten();
    let with = fields.get("with").unwrap_or_default().to_owned();
    let figure = fields.get("figure").unwrap_or_default();
    let ware = preparation.ware.iter().any(|ware| ware.name.value == with);
    let reading = NewReading {
        weigh: (!ware && at.is_some()).then(|| with_unit(figure, "g")),
        of: named("of").or(both.map(|(of, _)| of.to_owned())),
        charge: named("charge"),
        vessel: named("in").or(both.map(|(_, vessel)| vessel.to_owned())),
        with,
        at: at.map(str::to_owned),
        note: fields.get("note").map(str::to_owned),
        ..NewReading::default()
    };
    let (mut text, id) = edit::add_reading(text, step, &reading).map_err(|error| error.to_string())?;
    if ware && at.is_some() {
        let volume = with_unit(figure, "mL");
        text = edit::set(&text, Place::Reading(&id), "volume", &volume.as_str().into()).map_err(|e| e.to_string())?;
    }
    checked(&text)?;
    Ok(text)
}

/// A reading from the form of a step.
pub async fn reading(
    State(office): State<Arc<Office>>,
    Path(name): Path<String>,
    fields: Fields,
) -> Result<Response, Trouble> {
    let back = format!("/p/{}", address(&name));
    let place = office.clone();
    let of = name.clone();
    blocking(move || {
        let (step, what) = (fields.need("step")?, fields.raw("what").unwrap_or_default());
        if fields.get("later").is_some() {
            let told = format!("weighing planned in {step}");
            let plan = |text: &str| match what.split_once(' ') {
                Some(("waiting" | "correct", _)) => Err("This reading is planned already.".to_owned()),
                _ => free(text, step, what, &fields, None),
            };
            return Ok(place.notebook.change(&of, &told, fields.get("key"), plan)?);
        }
        let figure = fields.need("figure")?;
        let at = now();
        let note = fields.get("note");
        let told = format!("reading in {step}");
        let change = |text: &str| match what.split_once(' ') {
            Some(("waiting", id)) => fill(text, id, figure, &at, Extra::of(&fields)),
            Some(("correct", id)) => match note {
                Some(reason) => corrected(text, id, figure, reason, &at),
                None => Err("A correction needs its reason.".to_owned()),
            },
            _ => free(text, step, what, &fields, Some(&at)),
        };
        Ok(place.notebook.change(&of, &told, fields.get("key"), change)?)
    })
    .await?;
    office.tell(&name);
    Ok(Redirect::to(&back).into_response())
}

/// A figure of the bench page: answered in JSON, so that the page can queue and send again.
pub async fn enter(
    State(office): State<Arc<Office>>,
    Path(name): Path<String>,
    fields: Fields,
) -> Result<Response, Trouble> {
    let place = office.clone();
    let of = name.clone();
    let saved = blocking(move || {
        let (id, figure, key) = (fields.need("reading")?, fields.need("figure")?, fields.need("key")?);
        let at =
            fields.get("at").filter(|at| at.parse::<jiff::civil::DateTime>().is_ok()).map_or_else(now, str::to_owned);
        let told = format!("reading {id}");
        let extra = Extra::of(&fields);
        Ok(place.notebook.change(&of, &told, Some(key), |text| fill(text, id, figure, &at, extra))?)
    })
    .await;
    match saved {
        Ok(saved) => {
            office.tell(&name);
            Ok(answer(StatusCode::OK, &json!({ "entered": true, "revision": saved.page().revision })))
        }
        Err(trouble) => Err(trouble),
    }
}

/// A correction from the bench page.
pub async fn correct(
    State(office): State<Arc<Office>>,
    Path(name): Path<String>,
    fields: Fields,
) -> Result<Response, Trouble> {
    let back = format!("/p/{}", address(&name));
    let (place, of) = (office.clone(), name.clone());
    blocking(move || {
        let (id, figure, reason) = (fields.need("reading")?, fields.need("figure")?, fields.need("reason")?);
        let at = now();
        let told = format!("reading {id} corrected");
        Ok(place.notebook.change(&of, &told, fields.get("key"), |text| corrected(text, id, figure, reason, &at))?)
    })
    .await?;
    office.tell(&name);
    Ok(Redirect::to(&back).into_response())
}

fn answer(status: StatusCode, value: &serde_json::Value) -> Response {
    (status, [(CONTENT_TYPE, "application/json")], value.to_string()).into_response()
}

/// How a figure stands to what is expected of its reading, before it is entered.
pub async fn judge(
    State(office): State<Arc<Office>>,
    Path(name): Path<String>,
    fields: Fields,
) -> Result<Response, Trouble> {
    let told = blocking(move || {
        let (id, figure) = (fields.need("reading")?, fields.need("figure")?);
        let text = office.notebook.read(&name)?.text;
        let tried = match fill(&text, id, figure, &now(), Extra::default()) {
            Ok(tried) => tried,
            Err(why) => {
                return Ok(
                    json!({ "verdict": "unread", "title": "Not understood.", "text": with_ties(why.trim_start_matches(NOT_ENTERED)), "strip": "" }),
                );
            }
        };
        let preparation = read(&tried).map_err(Trouble::asked)?;
        let waiting =
            read(&text).ok().and_then(|p| found(&p, id).map(|(_, r)| r.weigh.is_none() && r.volume.is_none()));
        let judged = if waiting == Some(true) { Some(id.to_owned()) } else { newest(&preparation) };
        let planned = judged.as_deref().and_then(|id| weighed_out(&office, &name, &preparation, id));
        let entry = judged.and_then(|id| prep::entry(&preparation, &id));
        Ok(entry.map_or_else(|| json!({ "verdict": "none" }), |entry| verdict(&entry, planned.as_ref())))
    })
    .await?;
    Ok(answer(StatusCode::OK, &told))
}

/// What the plan has for a charge that is weighed out.
fn weighed_out(office: &Office, name: &str, preparation: &Preparation, id: &str) -> Option<Interval> {
    found(preparation, id).filter(|(_, reading)| reading.charge.is_some())?;
    let books = office.books_at(name, Extent::Plan).ok()?;
    let expected = books.plan.iter().flat_map(|plan| &plan.steps).flat_map(|step| &step.expects);
    expected.into_iter().find(|e| e.reading == id)?.interval.clone()
}

/// The reading entered last.
fn newest(preparation: &Preparation) -> Option<String> {
    preparation.steps.iter().flat_map(|s| &s.readings).max_by_key(|r| r.at.clone()).map(|r| r.id.value.clone())
}

fn verdict(entry: &prep::outcome::Entry, planned: Option<&Interval>) -> serde_json::Value {
    let off = entry.expected.as_ref().zip(entry.found).map(|(expected, found)| {
        let beyond = if found > expected.high { found - expected.high } else { found - expected.low };
        let side = if beyond > 0.0 { "over" } else { "under" };
        format!("{} {side} the range.", report::number::unit(&number::significant(beyond.abs(), 2), "g"))
    });
    let slips: Vec<String> =
        entry.slips.iter().take(2).map(|slip| format!("{}: {} would fit.", slip.slip, slip.figure)).collect();
    // What people weigh out may be anything near the plan, and counts as it is; that it is not the plan is said.
    let elsewhere = planned.zip(entry.found).filter(|(planned, found)| *found < planned.low || *found > planned.high);
    let mut word = entry.verdict.word();
    let (title, text) = match entry.verdict {
        Standing::Inside if let Some((planned, _)) = elsewhere => {
            word = Standing::Ask.word();
            let range = number::interval(planned);
            (
                "Not as planned.",
                format!("The plan has {range}. Bring it there, or enter what lies on the pan: that counts."),
            )
        }
        Standing::Inside => ("Inside. Go on.", String::new()),
        Standing::Ask => ("Outside. Read again?", off.unwrap_or_default()),
        Standing::Stop => ("Stop. Read again.", off.unwrap_or_default()),
        Standing::ToBeRead | Standing::NothingToGoBy => ("Nothing to compare it with.", String::new()),
    };
    // What is weighed out is told beside its plan, all else beside what the readings before it let expect.
    let told = planned.or(entry.expected.as_ref());
    let by = if planned.is_some() { "by the plan" } else { BY_READINGS };
    let strip = told.map(|expected| {
        let marks = entry.found.map(Mark::Found).into_iter().collect();
        let slip = entry.verdict == Standing::Stop;
        strip_with(&Strip { interval: Some(expected.clone()), scale: Scale::own(expected), marks }, 340.0, false, slip)
            .into_string()
    });
    let text = [vec![text], slips].concat().join(" ").trim().to_owned();
    json!({
        "verdict": word,
        "expected": told.map(|told| format!("expected {}, {by}", number::interval(told))),
        "title": title,
        "text": text,
        "strip": strip,
    })
}

/// Attaches a photograph to a reading: its hash goes into the remark.
pub async fn photo(
    State(office): State<Arc<Office>>,
    Path(name): Path<String>,
    axum::extract::Query(wanted): axum::extract::Query<Vec<(String, String)>>,
    body: Result<Bytes, BytesRejection>,
) -> Result<Response, Trouble> {
    let body = body.map_err(|why| match why.status() {
        StatusCode::PAYLOAD_TOO_LARGE => Trouble::too_large(),
        _ => Trouble::asked("The photograph did not come in whole."),
    })?;
    let (_, ending) = picture(&body).ok_or_else(|| Trouble::asked("This is no photograph (JPEG, PNG or WebP)."))?;
    let wanted = Fields(wanted);
    let (id, key) = (wanted.need("reading")?.to_owned(), wanted.get("key").map(str::to_owned));
    let (place, of) = (office.clone(), name.clone());
    let file = blocking(move || {
        let file = format!("{}.{ending}", blake3::hash(&body).to_hex());
        let folder = place.notebook.folder().join(crate::notebook::PHOTOS);
        let failed = |error: std::io::Error| Trouble::failed(format!("The photograph could not be kept: {error}."));
        std::fs::create_dir_all(&folder).map_err(failed)?;
        let mut scratch = tempfile::NamedTempFile::new_in(&folder).map_err(failed)?;
        std::io::Write::write_all(&mut scratch, &body).and_then(|()| scratch.as_file().sync_all()).map_err(failed)?;
        scratch.persist(folder.join(&file)).map_err(|error| failed(error.error))?;
        place.notebook.change(&of, &format!("reading {id} photographed"), key.as_deref(), |text| {
            let preparation = read(text)?;
            let (_, reading) = found(&preparation, &id).ok_or_else(|| format!("There is no reading {id}."))?;
            let note = joined(reading.note.as_deref(), &format!("photo {file}"));
            edit::set(text, Place::Reading(&id), "note", &note.as_str().into()).map_err(|e| e.to_string())
        })?;
        Ok(file)
    })
    .await?;
    office.tell(&name);
    Ok(answer(StatusCode::OK, &json!({ "photo": file })))
}

/// Takes the last change back.
pub async fn undo(State(office): State<Arc<Office>>, Path(name): Path<String>) -> Result<Response, Trouble> {
    let (place, of) = (office.clone(), name.clone());
    blocking(move || Ok(place.notebook.undo(&of)?)).await?;
    office.tell(&name);
    Ok(Redirect::to(&format!("/p/{}", address(&name))).into_response())
}

/// Words that a passed hold point leaves in the note of its step.
pub(super) const PASSED: &str = "hold passed";

/// Passes the hold points of a step: what was seen goes into its note, with the time.
pub async fn hold(
    State(office): State<Arc<Office>>,
    Path(name): Path<String>,
    fields: Fields,
) -> Result<Response, Trouble> {
    let (place, of) = (office.clone(), name.clone());
    blocking(move || {
        let (step, seen) = (fields.need("step")?, fields.need("seen")?);
        let told = format!("reading of the hold point of {step}");
        let note = |text: &str| {
            let preparation = read(text)?;
            let found = preparation.steps.iter().find(|s| s.name.value == step);
            let before = found.ok_or_else(|| format!("There is no step “{step}”."))?.note.as_deref();
            let before = before.map(|note| format!("{note}; ")).unwrap_or_default();
            let seen: String = seen.split_whitespace().collect::<Vec<_>>().join(" ");
            let note = format!("{before}{PASSED} {}: {seen}", now());
            edit::set(text, Place::Step(step), "note", &note.as_str().into()).map_err(|e| e.to_string())
        };
        Ok(place.notebook.change(&of, &told, fields.get("key"), note)?)
    })
    .await?;
    office.tell(&name);
    Ok(Redirect::to(&format!("/p/{}/bench", address(&name))).into_response())
}

/// Closes the books.
pub async fn close(State(office): State<Arc<Office>>, Path(name): Path<String>) -> Result<Response, Trouble> {
    let (place, of) = (office.clone(), name.clone());
    blocking(move || {
        let today = jiff::ZonedDateTime::now().date().to_string();
        let close =
            |text: &str| edit::set(text, Place::File, "closed", &today.as_str().into()).map_err(|e| e.to_string());
        Ok(place.notebook.change(&of, "closed", None, close)?)
    })
    .await?;
    office.tell(&name);
    Ok(Redirect::to(&format!("/p/{}", address(&name))).into_response())
}
