//! What is in the notebook, and how is a page of it begun?
//!
//! The list shows what was worked out before at once; what was not is worked out behind the page, which is told when it
//! is done. A preparation is begun from a few answers, from a shipped example, or as a copy without its readings.

use super::books::{Stand, title_of};
use super::kept::Shown;
use super::line::Line;
use super::page::{Sheet, address, when};
use super::trouble::{Fields, Trouble};
use super::{Office, blocking};
use crate::commands::EXAMPLES;
use crate::notebook::NotebookError;
use axum::extract::{Query, State};
use axum::response::{IntoResponse, Redirect, Response};
use maud::{Markup, html};
use prep::skeleton::{Draft, DraftSupply, SUPPLY_FORM};
use report::document::full_sentence;
use report::figure::strip::strip_with;
use report::html::formula::rich;
use report::number;
use report::strip::{Mark, Scale, Strip};
use serde::Deserialize;
use std::sync::Arc;

/// The common scale of the list, % of the element taken.
const SCALE: Scale = Scale { low: 60.0, high: 110.0 };
const WIDTH: f64 = 232.0;

/// What is looked for.
#[derive(Debug, Default, Deserialize)]
pub struct Wanted {
    /// Words.
    #[serde(default)]
    q: String,
    /// State.
    #[serde(default)]
    state: String,
}

struct Entry {
    name: String,
    title: String,
    shown: Shown,
}

impl Entry {
    fn line(&self) -> Option<&Line> {
        self.shown.line().map(AsRef::as_ref)
    }
}

/// The list.
pub async fn show(State(office): State<Arc<Office>>, Query(wanted): Query<Wanted>) -> Result<Sheet, Trouble> {
    let place = office.clone();
    blocking(move || {
        let stamps = place.notebook.stamps()?;
        let shown = place.books.shown(&stamps);
        work_behind(&place, &shown);
        let counted = Counted::of(&shown);
        let words: Vec<String> = wanted.q.to_lowercase().split_whitespace().map(str::to_owned).collect();
        let mut found = Vec::new();
        for (name, shown) in shown {
            let mut title = String::new();
            if !words.is_empty() || shown.line().is_none() {
                // A file that went away meanwhile is no preparation any more.
                let Ok(page) = place.notebook.read(&name) else { continue };
                let text = format!("{name}\n{}", page.text).to_lowercase();
                if !words.iter().all(|word| text.contains(word)) {
                    continue;
                }
                title = title_of(&page.text);
            }
            if wanted.state.is_empty() || shown.line().is_none_or(|line| line.state.word() == wanted.state) {
                found.push(Entry { name, title, shown });
            }
        }
        Ok(Sheet::new("Notebook", "/").of("*").with(body(&place, &wanted, &counted, &found)))
    })
    .await
}

/// Works out the lines that are not of the present files, and tells the pages; one round at a time.
pub(super) fn work_behind(office: &Arc<Office>, shown: &[(String, Shown)]) {
    let stale = shown.iter().filter(|(_, shown)| !matches!(shown, Shown::Now(_)));
    let names: Vec<String> = stale.map(|(name, _)| name.clone()).collect();
    if names.is_empty() {
        return;
    }
    let office = office.clone();
    tokio::spawn(async move {
        // The round that is under way ends with a word to the pages, which then ask for what is still missing.
        let Ok(_round) = office.behind.listing.try_acquire() else { return };
        for name in names {
            let (place, of) = (office.clone(), name.clone());
            // One that cannot be read has no line; the list says so by its empty row.
            let done = blocking(move || Ok(place.line_now(&of)?)).await;
            if done.is_ok() {
                office.tell(&name);
            }
        }
    });
}

/// What the whole notebook holds, whatever was searched for.
struct Counted {
    all: usize,
    /// Of which nothing is known yet.
    unread: usize,
    running: usize,
    open: usize,
}

impl Counted {
    fn of(shown: &[(String, Shown)]) -> Self {
        let lines = || shown.iter().filter_map(|(_, shown)| shown.line());
        Self {
            all: shown.len(),
            unread: shown.len() - lines().count(),
            running: lines().filter(|line| line.state == Stand::Running).count(),
            open: lines().map(|line| line.open).sum(),
        }
    }
}

fn body(office: &Office, wanted: &Wanted, counted: &Counted, found: &[Entry]) -> Markup {
    let &Counted { all, unread, running, open } = counted;
    html! {
        h1 { "Preparations" }
        @if all == 0 {
            div.empty {
                p { "Nothing is written here yet." }
                p { "A preparation begins with what you want, how much of it, and what the label on the bottle says." }
                div.go { a.btn href="/new" { "New preparation" } a.btn.plain href="/new#examples" { "Open a worked example" } }
            }
        } @else {
            p.sub {
                @if unread == all { (all) " in this notebook, still being read." }
                @else {
                    (all) " in this notebook; " (running) " running. " (findings(open))
                    @if unread > 0 { " Still being read: " (unread) "." }
                }
            }
            form.find role="search" {
                span.fl { label for="q" { "Find by title, substance, supply or date" } input id="q" name="q" type="search" value=(wanted.q); }
                span.fl { label for="state" { "state" } select id="state" name="state" {
                    option value="" { "any" }
                    @for state in ["draft", "planned", "running", "closed"] { option value=(state) selected[wanted.state == state] { (state) } }
                } }
                button.plain { "Find" }
                a.btn.far href="/new" { "New preparation" }
            }
            @if found.is_empty() {
                p.cap { "Found nothing for “" (wanted.q) "”. Searched the whole text of " (all) " preparations. " a href="/" { "Show all" } }
            } @else { (table(found)) }
        }
        @if found.iter().any(|entry| entry.line().is_some_and(|line| line.overall.is_some())) {
            p.cap { "Thin line 90\u{a0}%, thick line 50\u{a0}%, tick at the median; a diamond is a yield as usually quoted, which claims no interval. The dashed line marks all of the element that was taken." }
        }
        p.fine { "The folder is " (office.notebook.folder().display()) ". " a href="/backup" { "One-file backup" } ": every version, photographs and frozen plans. " span.nb { "tarebook serve NEWFOLDER --restore FILE" } " brings it back." }
    }
}

fn findings(open: usize) -> String {
    match open {
        0 => "No finding is open.".to_owned(),
        1 => "One finding is open.".to_owned(),
        many => format!("{many} findings are open."),
    }
}

fn table(found: &[Entry]) -> Markup {
    html! {
        table.tbl.list.stack.fold {
            thead { tr {
                th { "preparation" } th { "state" } th.col.nb { "accounted for, %" }
                th { (scale()) span.vh { "drawn, 60 to 110 %" } }
                th.col.second { "open findings" } th.r.second { "last entry" }
            } }
            tbody { @for entry in found { (row(entry)) } }
        }
    }
}

fn scale() -> Markup {
    let at = |value: f64| (value - SCALE.low) / (SCALE.high - SCALE.low) * WIDTH;
    html! {
        svg.iv.scale width=(WIDTH) height="22" viewBox="0 0 232 22" aria-hidden="true" {
            text x="0" y="11" { "60" }
            text x=(at(80.0)) y="11" text-anchor="middle" { "80" }
            text x=(at(100.0)) y="11" text-anchor="middle" { "100" }
            path d=(format!("M.5 16v6M{0} 16v6M{1} 16v6M231.5 16v6", at(80.0), at(100.0))) {}
        }
    }
}

fn row(entry: &Entry) -> Markup {
    let link = format!("/p/{}", address(&entry.name));
    html! {
        @match entry.line() {
            Some(line) => tr {
                th.t scope="row" { a href=(link) { (line.title) } br; small { (rich(&line.target)) @if !line.target.is_empty() { ", " } (entry.name) } }
                td data-l="state: " { span class=(format!("state {}", line.state.word())) { (line.state.word()) } }
                td.col.nb.pct data-l="accounted for " { @match &line.overall { Some(overall) => { (number::percent_bare(&overall.interval())) span.narrow-only { "\u{a0}%" } } None => span.q2 { "–" } } }
                td.full { (strip(line)) }
                td.col.full.second data-l="findings: " {
                    @match &line.gravest { Some(gravest) => { b { (line.open) } " " (rich(&short(gravest))) } None => "none" }
                }
                td.r.full.second data-l="last entry: " { @match &line.last { Some(at) => (when(at)), None => "none" } }
            },
            None => tr {
                th.t scope="row" { a href=(link) { (entry.title) } br; small { (entry.name) } }
                td { span.q2 { "being read" } } td.col {} td {} td.col.second {} td.second {}
            },
        }
    }
}

/// The first sentence, not too long for a line of the list.
fn short(text: &str) -> String {
    if text.chars().count() <= 90 {
        return text.to_owned();
    }
    let cut: String = text.chars().take(86).collect();
    format!("{}…", cut.rsplit_once(' ').map_or(cut.as_str(), |(kept, _)| kept))
}

fn strip(line: &Line) -> Markup {
    let Some(overall) = &line.overall else { return html! {} };
    let mut marks = vec![Mark::Reference(100.0)];
    marks.extend(line.quoted.iter().map(|quoted| Mark::Quoted(*quoted)));
    strip_with(&Strip { interval: Some(overall.interval()), scale: SCALE, marks }, WIDTH, false, false)
}

/// The form of a new preparation.
pub async fn blank(State(office): State<Arc<Office>>) -> Result<Sheet, Trouble> {
    let names = blocking(move || Ok(office.notebook.names()?)).await?;
    Ok(beginning(&Fields(Vec::new()), &names, &[], None))
}

const ANSWERS: [(&str, &str, &str); 6] = [
    ("title", "what it is called", "Copper oxide from bluestone"),
    ("target", "what is wanted, with its phase", "CuO(s)"),
    ("amount", "how much of it", "25 g"),
    ("element", "element of the books, if not the target's own", "Cu"),
    ("balance", "the last digit of the balance", "0.01 g"),
    ("name", "name of the file, if not from the title", "bluestone"),
];

/// The form, with what is wrong: faults of the whole, and what is wrong with the name, told at its field.
fn beginning(fields: &Fields, names: &[String], faults: &[String], misnamed: Option<&str>) -> Sheet {
    let copied = fields.get("copy");
    let value = |key: &str| fields.raw(key).filter(|_| copied.is_none()).unwrap_or_default().to_owned();
    let begun_as = misnamed.filter(|_| copied.is_none());
    let copied_as = misnamed.filter(|_| copied.is_some());
    Sheet::new("New preparation", "/").with(html! {
        h1 { "New preparation" }
        p.sub { "A few answers; everything can be changed afterwards." }
        @if !faults.is_empty() {
            div.faults role="alert" { @for fault in faults { p.err { b { "Not begun." } " " (rich(fault)) } } }
        }
        form.sheet-form method="post" action="/new" {
            @for (key, label, example) in ANSWERS {
                @let why = begun_as.filter(|_| key == "name");
                div.field {
                    label for=(key) { (label) }
                    input id=(key) name=(key) value=(value(key)) placeholder=(example) autocomplete="off" required[key == "title"] autofocus[why.is_some()] aria-invalid=[why.map(|_| "true")] aria-describedby=[why.map(|_| "name-wrong")];
                    @if let Some(why) = why { (wrong_name("name-wrong", "Not begun.", why)) }
                }
            }
            div.field.broad {
                label for="supplies" { "what stands on the shelf, one a line: " (SUPPLY_FORM.to_lowercase()) }
                textarea id="supplies" name="supplies" rows="4" placeholder="bluestone, CuSO4·5H2O(s), >= 98 %" { (value("supplies")) }
            }
            div.field.broad { button { "Begin" } }
        }
        section.part id="examples" {
            h2 { "Or from a worked example" }
            p.say.q2 { "Invented preparations: nothing in them was weighed." }
            div.choices { @for example in &EXAMPLES {
                form method="post" action="/new" {
                    input type="hidden" name="example" value=(example.name);
                    button.plain { (title_of(example.text)) }
                }
            } }
        }
        @if !names.is_empty() {
            section.part {
                h2 { "Or as a copy" }
                p.say.q2 { "The same supplies and steps; the readings are left out." }
                form.find method="post" action="/new" {
                    span.fl { label for="copy" { "of" } select id="copy" name="copy" { @for name in names { option selected[copied == Some(name.as_str())] { (name) } } } }
                    span.fl { label for="copy-name" { "name of the new file" } input id="copy-name" name="name" value=[copied.and(fields.raw("name"))] required autofocus[copied_as.is_some()] aria-invalid=[copied_as.map(|_| "true")] aria-describedby=[copied_as.map(|_| "copy-wrong")]; }
                    button.plain { "Copy" }
                }
                @if let Some(why) = copied_as { (wrong_name("copy-wrong", "Not copied.", why)) }
            }
        }
    })
}

fn wrong_name(id: &str, outcome: &str, why: &str) -> Markup {
    html! { p.err id=(id) role="alert" { b { (outcome) } " " (rich(why)) " Choose another name." } }
}

/// Begins a preparation.
pub async fn begin(State(office): State<Arc<Office>>, fields: Fields) -> Result<Response, Trouble> {
    let place = office.clone();
    let outcome = blocking(move || {
        let (name, text, what) = match (fields.get("example"), fields.get("copy")) {
            (Some(example), _) => {
                let found = EXAMPLES.iter().find(|known| known.name == example);
                let found = found.ok_or_else(|| Trouble::asked("There is no such example."))?;
                (free(&place, found.name)?, found.text.to_owned(), "begun from an example")
            }
            (None, Some(copied)) => {
                let text = without_readings(&place.notebook.read(copied)?.text).map_err(Trouble::asked)?;
                (fields.need("name")?.to_owned(), text, "begun as a copy")
            }
            (None, None) => match drafted(&fields) {
                Ok(text) => {
                    let wanted = fields
                        .get("name")
                        .map_or_else(|| file_name(fields.get("title").unwrap_or("preparation")), str::to_owned);
                    let name = if fields.get("name").is_some() { wanted } else { free(&place, &wanted)? };
                    (name, text, "begun")
                }
                Err(faults) if super::trouble::refusals(&faults.findings).next().is_some() => {
                    return Err(Trouble::refused(&faults.findings));
                }
                Err(faults) => return Ok(Err(beginning(&fields, &place.notebook.names()?, &faults.said, None))),
            },
        };
        super::form::bounded(&text)?;
        match place.notebook.create(&name, &text, what) {
            Ok(_) => Ok(Ok(name)),
            // A name can be chosen anew; what was typed stays.
            Err(error @ (NotebookError::BadName(_) | NotebookError::Taken(_))) => {
                let why = full_sentence(&error.to_string());
                Ok(Err(beginning(&fields, &place.notebook.names()?, &[], Some(&why))))
            }
            Err(error) => Err(error.into()),
        }
    })
    .await?;
    Ok(match outcome {
        Ok(name) => {
            office.tell(&name);
            Redirect::to(&format!("/p/{}", address(&name))).into_response()
        }
        Err(sheet) => sheet.into_response(),
    })
}

/// What is wrong with the answers.
struct Faults {
    said: Vec<String>,
    findings: Vec<prep::outcome::Finding>,
}

/// The text of a draft, or what is wrong with the answers.
fn drafted(fields: &Fields) -> Result<String, Faults> {
    let mut supplies = Vec::new();
    let mut faults = Vec::new();
    for line in fields.raw("supplies").unwrap_or_default().lines().map(str::trim).filter(|line| !line.is_empty()) {
        match DraftSupply::parse(line) {
            Some(supply) => supplies.push(supply),
            None => {
                faults.push(format!("“{line}” is not understood as a supply; write: {}.", SUPPLY_FORM.to_lowercase()))
            }
        }
    }
    let own = |key: &str| fields.get(key).map(str::to_owned);
    let draft = Draft {
        title: own("title"),
        target: own("target"),
        amount: own("amount"),
        element: own("element"),
        supplies,
        balance: own("balance"),
    };
    let findings = draft.faults();
    faults.extend(findings.iter().map(super::trouble::said));
    if faults.is_empty() { Ok(draft.text()) } else { Err(Faults { said: faults, findings }) }
}

/// A file name from a title.
fn file_name(title: &str) -> String {
    let mut name = String::new();
    for c in title.to_lowercase().chars().take(60) {
        match c {
            _ if c.is_alphanumeric() => name.push(c),
            _ if !name.ends_with('-') && !name.is_empty() => name.push('-'),
            _ => {}
        }
    }
    let name = name.trim_matches('-');
    if name.is_empty() { "preparation".to_owned() } else { name.to_owned() }
}

/// The name, with a number if it is taken.
fn free(office: &Office, name: &str) -> Result<String, Trouble> {
    let taken = office.notebook.names()?;
    let numbered = (2..1000).map(|number| format!("{name}-{number}"));
    let found = std::iter::once(name.to_owned()).chain(numbered).find(|name| !taken.contains(name));
    found.ok_or_else(|| Trouble::asked("All names like this are taken."))
}

/// A text without its readings and the date it was closed.
fn without_readings(text: &str) -> Result<String, String> {
    let mut text = text.to_owned();
    let preparation =
        prep::read(text.as_bytes()).preparation.ok_or("A file with errors cannot be copied; its findings say why.")?;
    for reading in preparation.steps.iter().flat_map(|step| &step.readings) {
        text = prep::edit::clear(&text, prep::edit::Place::Reading(&reading.id.value), "weigh")
            .map_err(|e| e.to_string())?;
        text =
            prep::edit::clear(&text, prep::edit::Place::Reading(&reading.id.value), "at").map_err(|e| e.to_string())?;
    }
    prep::edit::clear(&text, prep::edit::Place::File, "closed").map_err(|e| e.to_string())
}
