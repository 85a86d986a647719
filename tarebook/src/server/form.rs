//! How is a step, a supply, a balance or a vessel changed without writing TOML?
//!
//! One form for every table of the file, made from the reference of its fields; what is typed is written into the same
//! file by cuts, so that comments and layout stay. A field left as it was shown is not touched; one that somebody else
//! changed meanwhile is asked about. Names with amounts stand one a
//! line, `name = amount`; lists one entry a line. A new name follows to every place that calls the thing, and so does
//! that of a lot where a step gives as many lots as before, in the same order.

use super::page::{Sheet, address};
use super::trouble::{Fields, Trouble};
use super::{Office, blocking, reading};
use axum::extract::{Path, Query, State};
use axum::response::{Html, IntoResponse, Redirect, Response};
use maud::{Markup, html};
use prep::edit::{self, Addition, Entry, Named, Place};
use prep::fields::{self, Field, Kind, Table};
use prep::outcome::Severity;
use report::document::full_sentence;
use report::html::formula::rich;
use std::sync::Arc;
use toml_edit::{DocumentMut, Item, TableLike, Value};

/// A kind of thing, as addresses name it.
#[derive(Clone, Copy, PartialEq, Eq)]
enum Thing {
    File,
    Supply,
    Instrument,
    Vessel,
    Step,
}

impl Thing {
    fn from_word(word: &str) -> Result<Self, Trouble> {
        match word {
            "file" => Ok(Self::File),
            "supply" => Ok(Self::Supply),
            "instrument" => Ok(Self::Instrument),
            "vessel" => Ok(Self::Vessel),
            "step" => Ok(Self::Step),
            _ => Err(Trouble::asked("There is no such part of a preparation.")),
        }
    }

    fn key(self) -> &'static str {
        match self {
            Self::File => "file",
            _ => self.table().key,
        }
    }

    fn table(self) -> &'static Table {
        match self {
            Self::File => &fields::FILE,
            Self::Supply => &fields::SUPPLY,
            Self::Instrument => &fields::INSTRUMENT,
            Self::Vessel => &fields::VESSEL,
            Self::Step => &fields::STEP,
        }
    }

    fn place(self, name: &str) -> Place<'_> {
        match self {
            Self::File => Place::File,
            Self::Supply => Place::Supply(name),
            Self::Instrument => Place::Instrument(name),
            Self::Vessel => Place::Vessel(name),
            Self::Step => Place::Step(name),
        }
    }

    fn addition(self) -> Option<Addition> {
        match self {
            Self::File => None,
            Self::Supply => Some(Addition::Supply),
            Self::Instrument => Some(Addition::Instrument),
            Self::Vessel => Some(Addition::Vessel),
            Self::Step => Some(Addition::Step),
        }
    }

    /// What it is to others that call it by its name.
    fn named(self) -> Option<Named> {
        match self {
            Self::File => None,
            Self::Supply => Some(Named::Supply),
            Self::Instrument => Some(Named::Instrument),
            Self::Vessel => Some(Named::Vessel),
            Self::Step => Some(Named::Step),
        }
    }

    fn word(self) -> &'static str {
        match self {
            Self::File => "preparation",
            Self::Supply => "supply",
            Self::Instrument => "balance or ware",
            Self::Vessel => "vessel",
            Self::Step => "step",
        }
    }
}

/// The form.
pub async fn show(
    State(office): State<Arc<Office>>,
    Path(name): Path<String>,
    Query(wanted): Query<Vec<(String, String)>>,
) -> Result<Sheet, Trouble> {
    let wanted = Fields(wanted);
    blocking(move || {
        let thing = Thing::from_word(wanted.need("kind")?)?;
        let text = office.notebook.read(&name)?.text;
        let new = wanted.get("new").is_some();
        let values = if new { Vec::new() } else { values(&text, thing, wanted.get("of").unwrap_or_default())? };
        Ok(page(&Form { name: &name, text: &text, thing, wanted: &wanted, present: &values }, &values, &[]))
    })
    .await
}

/// Fields that a form shows: those that are not tables of their own.
fn shown(table: &'static Table) -> impl Iterator<Item = (String, &'static Field)> {
    table.fields.iter().flat_map(|field| match field.kind {
        Kind::Tables(_) => Vec::new(),
        Kind::Inline(inner) => inner.fields.iter().map(|f| (format!("{}.{}", field.key, f.key), f)).collect(),
        _ => vec![(field.key.to_owned(), field)],
    })
}

/// What stands in the file, as the form shows it.
fn values(text: &str, thing: Thing, of: &str) -> Result<Vec<(String, String)>, Trouble> {
    let document: DocumentMut =
        text.parse().map_err(|_| Trouble::asked("The file is not valid TOML; open it and look at its findings."))?;
    let table: &dyn TableLike = if thing == Thing::File {
        document.as_table()
    } else {
        let all = document.get(thing.table().key).and_then(Item::as_array_of_tables);
        let named = |table: &&toml_edit::Table| table.get("name").and_then(Item::as_str) == Some(of);
        let found = all.and_then(|all| all.iter().find(named));
        found.ok_or_else(|| Trouble::missing(format!("This preparation has no {} “{of}”.", thing.word())))?
    };
    Ok(shown(thing.table())
        .map(|(key, _)| {
            let item = match key.split_once('.') {
                Some((outer, inner)) => table.get(outer).and_then(Item::as_table_like).and_then(|t| t.get(inner)),
                None => table.get(&key),
            };
            (key, item.map(spelled).unwrap_or_default())
        })
        .collect())
}

/// A value as typed into a form.
fn spelled(item: &Item) -> String {
    let one = |value: &Value| value.as_str().map_or_else(|| value.to_string().trim().to_owned(), str::to_owned);
    if let Some(list) = item.as_array() {
        return list.iter().map(one).collect::<Vec<_>>().join("\n");
    }
    if let Some(table) = item.as_table_like() {
        let entry = |(key, item): (&str, &Item)| format!("{key} = {}", item.as_value().map(one).unwrap_or_default());
        return table.iter().map(entry).collect::<Vec<_>>().join("\n");
    }
    item.as_value().map(one).unwrap_or_default()
}

/// What in front of the name of a field says what the form showed there.
const WAS: &str = "was.";

/// What a form is about.
struct Form<'a> {
    name: &'a str,
    text: &'a str,
    thing: Thing,
    wanted: &'a Fields,
    /// What stands in the file.
    present: &'a [(String, String)],
}

/// The form with these values in its fields.
fn page(form: &Form<'_>, values: &[(String, String)], faults: &[String]) -> Sheet {
    let &Form { name, text, thing, wanted, present } = form;
    let link = format!("/p/{}", address(name));
    let new = wanted.get("new").is_some();
    let of = wanted.get("of").unwrap_or_default();
    let title = match (new, thing) {
        (true, _) => format!("New {}", thing.word()),
        (false, Thing::File) => "Title and target".to_owned(),
        (false, _) => format!("The {} “{of}”", thing.word()),
    };
    let value = |key: &str| values.iter().find(|(k, _)| k == key).map(|(_, v)| v.as_str()).unwrap_or_default();
    let (used, rest): (Vec<_>, Vec<_>) = shown(thing.table()).partition(|(key, field)| {
        // A part of a part is needed only where that part is used.
        (field.needed && !key.contains('.')) || !value(key).is_empty() || usual(thing, key)
    });
    Sheet::new(title.clone(), "/").with(html! {
        p.kick { a href="/" { "Notebook" } ", " a href=(link) { (name) } }
        h1 { (title) }
        p.sub { (thing.table().about) }
        @if !faults.is_empty() {
            div.faults role="alert" { @for fault in faults { p.err { b { "Not entered." } " " (rich(fault)) } } }
        }
        datalist id="names" { @for known in names(text) { option value=(known) {} } }
        form.sheet-form method="post" action=(format!("{link}/edit")) data-try=(format!("{link}/edit/try")) {
            // Not `kind`: that is a field of a balance.
            input type="hidden" name="thing" value=(thing.key());
            input type="hidden" name="of" value=(of);
            @if new { input type="hidden" name="new" value="1"; }
            @if let Some(before) = wanted.get("before") { input type="hidden" name="before" value=(before); }
            @if !new { @for (key, old) in present { input type="hidden" name=(format!("{WAS}{key}")) value=(old); } }
            @for (key, field) in &used { (input(key, field, value(key), faults)) }
            @if !rest.is_empty() {
                details.field.broad { summary { "more fields" }
                    div.sheet-form { @for (key, field) in &rest { (input(key, field, value(key), faults)) } }
                }
            }
            div.broad id="findings" role="status" aria-live="polite" {}
            div.field.broad.acts-line {
                button { "Write it down" } a.btn.plain href=(link) { "Leave it" }
            }
        }
        @if !new && thing != Thing::File && thing != Thing::Step {
            form method="post" action=(format!("{link}/remove")) {
                input type="hidden" name="thing" value=(thing.key());
                input type="hidden" name="of" value=(of);
                button.quiet { "Remove this " (thing.word()) }
            }
        }
    })
}

/// Fields that most people need, shown even where they are empty.
fn usual(thing: Thing, key: &str) -> bool {
    match thing {
        Thing::File => matches!(key, "target.substance" | "target.amount" | "account_for" | "claim"),
        Thing::Supply => matches!(key, "label" | "holds" | "assay" | "left"),
        Thing::Instrument => matches!(key, "resolution" | "repeatability" | "capacity"),
        Thing::Vessel => matches!(key, "tare" | "capacity"),
        Thing::Step => matches!(
            key,
            "caution" | "reaction" | "wash" | "temperature" | "duration" | "may_hold" | "quote_as" | "note"
        ),
    }
}

/// Names that steps may take: supplies and lots, and the vessels.
fn names(text: &str) -> Vec<String> {
    let reading = reading::read(text);
    let Some(preparation) = &reading.preparation else { return Vec::new() };
    let supplies = preparation.supplies.iter().map(|s| s.name.value.clone());
    let lots = preparation.steps.iter().flat_map(|s| &s.gives).map(|g| g.lot.value.clone());
    supplies.chain(lots).chain(preparation.vessels.iter().map(|v| v.name.value.clone())).collect()
}

fn input(key: &str, field: &Field, value: &str, faults: &[String]) -> Markup {
    let example = field.example.trim_matches(['[', ']', '{', '}', ' ']).replace('"', "");
    let several = lines(field.kind);
    let about = format!("{key}-about");
    let called = format!("`{}`", key.rsplit('.').next().unwrap_or(key));
    let wrong = faults.iter().any(|fault| fault.contains(&called)).then_some("true");
    html! {
        div class=(if several { "field broad" } else { "field" }) {
            label for=(key) { (key.rsplit('.').next().unwrap_or(key).replace('_', " ")) }
            @if let Kind::Word(words) = field.kind {
                select id=(key) name=(key) aria-describedby=(about) aria-invalid=[wrong] {
                    @if !field.needed { option value="" { "not stated" } }
                    @for word in words() { option value=(word) selected[word == value] { (word) } }
                }
            } @else if several {
                textarea id=(key) name=(key) aria-describedby=(about) aria-invalid=[wrong] rows=(value.lines().count().max(2)) placeholder=(if matches!(field.kind, Kind::Texts) { example.clone() } else { example.replace(", ", "\n") }) { (value) }
            } @else {
                input id=(key) name=(key) value=(value) aria-describedby=(about) aria-invalid=[wrong] placeholder=(example) autocomplete="off" list=[matches!(field.kind, Kind::Text).then_some("names").filter(|_| key == "in")];
            }
            small id=(about) { (rich(field.about)) @if several { (how(field.kind)) } }
        }
    }
}

fn lines(kind: Kind) -> bool {
    matches!(kind, Kind::Texts | Kind::SpeciesList | Kind::Patterns | Kind::Reactions) || pairs(kind)
}

fn pairs(kind: Kind) -> bool {
    matches!(kind, Kind::Amounts | Kind::Parts | Kind::Foreign | Kind::Traces | Kind::Shares)
}

fn how(kind: Kind) -> &'static str {
    if pairs(kind) { "; one a line: name = amount" } else { "; one a line" }
}

/// What was typed as the value of a field.
fn entry(kind: Kind, typed: &str) -> Result<Entry, String> {
    let lines: Vec<&str> = typed.lines().map(str::trim).filter(|line| !line.is_empty()).collect();
    if pairs(kind) {
        let pair = |line: &&str| {
            let (name, amount) =
                line.split_once('=').ok_or_else(|| format!("“{line}” has no “=” between name and amount."))?;
            Ok((name.trim().trim_matches('"').to_owned(), amount.trim().trim_matches('"').to_owned()))
        };
        return lines.iter().map(pair).collect::<Result<Vec<_>, String>>().map(Entry::Pairs);
    }
    if matches!(kind, Kind::Texts | Kind::SpeciesList | Kind::Patterns | Kind::Reactions) && lines.len() > 1 {
        return Ok(Entry::Texts(lines.into_iter().map(str::to_owned).collect()));
    }
    if matches!(kind, Kind::Elements) && typed.contains([',', '\n']) {
        return Ok(Entry::Texts(
            typed.split([',', '\n']).map(|e| e.trim().to_owned()).filter(|e| !e.is_empty()).collect(),
        ));
    }
    Ok(Entry::Text(lines.join(" ")))
}

/// The text with what the form says.
fn written(text: &str, thing: Thing, fields: &Fields) -> Result<String, String> {
    let said = |error: edit::EditError| error.to_string();
    let of = fields.get("of").unwrap_or_default();
    if fields.get("new").is_some() {
        let what = thing.addition().ok_or("This cannot be added.")?;
        let mut entries = Vec::new();
        for field in thing.table().fields {
            if let (Some(typed), false) =
                (fields.get(field.key), matches!(field.kind, Kind::Inline(_) | Kind::Tables(_)))
            {
                entries.push((field.key, entry(field.kind, typed)?));
            }
        }
        return edit::add(text, what, &entries, fields.get("before")).map_err(said);
    }
    let before = values(text, thing, of).map_err(|_| format!("There is no {} “{of}” any more.", thing.word()))?;
    let mut text = text.to_owned();
    let all: Vec<(String, &'static Field)> = shown(thing.table()).collect();
    // Names last: the other fields are looked up by them.
    let (named, others): (Vec<_>, Vec<_>) = all.into_iter().partition(|(key, _)| key == "name");
    for (key, field) in others.into_iter().chain(named) {
        let Some(typed) = fields.raw(&key).map(|typed| typed.replace("\r\n", "\n").trim().to_owned()) else { continue };
        let now = before.iter().find(|(k, _)| *k == key).map_or("", |(_, old)| old.trim());
        let shown = fields.raw(&format!("{WAS}{key}")).map(|was| was.replace("\r\n", "\n").trim().to_owned());
        if now == typed || shown.as_ref() == Some(&typed) {
            continue;
        }
        if shown.is_some_and(|shown| shown != now) {
            let now = if now.is_empty() { "nothing".to_owned() } else { format!("“{now}”") };
            return Err(format!(
                "`{key}` was changed meanwhile: {now} stands there now. Write it down again to have yours."
            ));
        }
        let place = thing.place(of);
        if let (true, Some(what)) = (key == "name", thing.named()) {
            if typed.is_empty() {
                return Err(format!("A {} needs a name.", thing.word()));
            }
            text = edit::rename(&text, what, of, &typed).map_err(said)?;
            continue;
        }
        if key == "gives" {
            let old = before.iter().find(|(k, _)| *k == key).map_or("", |(_, old)| old.as_str());
            for (from, to) in renamed(&entry(field.kind, old)?, &entry(field.kind, &typed)?) {
                text = edit::rename(&text, Named::Lot, &from, &to).map_err(said)?;
            }
        }
        text = match key.split_once('.') {
            Some((outer, inner)) if !typed.is_empty() => edit::set_within(&text, place, outer, inner, &typed),
            Some((outer, _)) => edit::clear(&text, place, outer),
            None if typed.is_empty() => edit::clear(&text, place, &key),
            None => edit::set(&text, place, &key, &entry(field.kind, &typed)?),
        }
        .map_err(said)?;
    }
    Ok(text)
}

/// Lots that have another name now: those at the same place in a list of as many, whose old name is gone.
fn renamed(before: &Entry, after: &Entry) -> Vec<(String, String)> {
    let (Entry::Pairs(before), Entry::Pairs(after)) = (before, after) else { return Vec::new() };
    if before.len() != after.len() {
        return Vec::new();
    }
    let still = |name: &str, list: &[(String, String)]| list.iter().any(|(other, _)| other == name);
    let pairs = before.iter().zip(after).map(|((from, _), (to, _))| (from.clone(), to.clone()));
    pairs.filter(|(from, to)| from != to && !still(from, after) && !still(to, before)).collect()
}

/// New errors of a changed text: those that the text before did not have.
fn new_errors(before: &str, after: &str) -> Vec<String> {
    let errors = |text: &str| {
        let reading = reading::read(text);
        let found = reading.findings.iter().filter(|f| f.severity == Severity::Error);
        found.map(super::trouble::said).collect::<Vec<_>>()
    };
    let known = errors(before);
    errors(after).into_iter().filter(|error| !known.contains(error)).collect()
}

/// Refuses a text that is out of bounds.
pub(super) fn bounded(text: &str) -> Result<(), Trouble> {
    let reading = reading::read(text);
    match super::trouble::refusals(&reading.findings).next() {
        Some(_) => Err(Trouble::refused(&reading.findings)),
        None => Ok(()),
    }
}

/// What the form would give, while it is filled in.
pub async fn attempt(
    State(office): State<Arc<Office>>,
    Path(name): Path<String>,
    fields: Fields,
) -> Result<Html<String>, Trouble> {
    let told = blocking(move || {
        let thing = Thing::from_word(fields.need("thing")?)?;
        match written(&office.notebook.read(&name)?.text, thing, &fields) {
            Ok(text) => {
                bounded(&text)?;
                super::file::tried(&office, &name, &text)
            }
            Err(why) => Ok(html! { p.err { (rich(&full_sentence(&why))) } }),
        }
    })
    .await?;
    Ok(Html(told.into_string()))
}

/// Writes what the form says.
pub async fn save(
    State(office): State<Arc<Office>>,
    Path(name): Path<String>,
    fields: Fields,
) -> Result<Response, Trouble> {
    let (place, of) = (office.clone(), name.clone());
    let faulty = blocking(move || {
        let thing = Thing::from_word(fields.need("thing")?)?;
        let text = place.notebook.read(&of)?.text;
        let after = written(&text, thing, &fields);
        if let Ok(after) = &after {
            bounded(after)?;
        }
        let faults = match after {
            // Another file that is named may be missing while the parts of a preparation are still put together.
            Ok(after) if fields.get("anyway").is_none() => {
                new_errors(&text, &after).into_iter().filter(|e| !e.contains("file")).collect()
            }
            Ok(_) => Vec::new(),
            Err(why) => vec![why],
        };
        if faults.is_empty() {
            let told = format!("{} {}", thing.word(), if fields.get("new").is_some() { "added" } else { "edited" });
            place.notebook.change(&of, &told, None, |text| written(text, thing, &fields))?;
            return Ok(None);
        }
        let typed: Vec<(String, String)> = fields.0.clone();
        let new = fields.get("new").is_some();
        let present = if new { Vec::new() } else { values(&text, thing, fields.get("of").unwrap_or_default())? };
        let form = Form { name: &of, text: &text, thing, wanted: &fields, present: &present };
        Ok(Some(page(&form, &typed, &faults)))
    })
    .await?;
    Ok(match faulty {
        Some(sheet) => sheet.into_response(),
        None => {
            office.tell(&name);
            Redirect::to(&format!("/p/{}", address(&name))).into_response()
        }
    })
}

/// Moves a step in front of another, or behind all.
pub async fn shift(
    State(office): State<Arc<Office>>,
    Path(name): Path<String>,
    fields: Fields,
) -> Result<Redirect, Trouble> {
    changed(&office, &name, "step moved", move |text| {
        let of = fields.get("of").ok_or("No step is named.")?;
        edit::move_before(text, Place::Step(of), fields.get("before")).map_err(|error| error.to_string())
    })
    .await
}

/// Takes a thing out.
pub async fn remove(
    State(office): State<Arc<Office>>,
    Path(name): Path<String>,
    fields: Fields,
) -> Result<Redirect, Trouble> {
    let thing = Thing::from_word(fields.need("thing")?)?;
    if thing == Thing::File {
        return Err(Trouble::asked("A preparation is removed by taking its file out of the folder."));
    }
    let told = format!("{} removed", thing.word());
    changed(&office, &name, &told, move |text| {
        let of = fields.get("of").ok_or("Nothing is named.")?;
        if thing == Thing::Step {
            let reading = reading::read(text);
            let read = reading
                .preparation
                .iter()
                .flat_map(|p| &p.steps)
                .filter(|s| s.name.value == of)
                .flat_map(|s| &s.readings);
            if read.into_iter().any(|reading| reading.weigh.is_some() || reading.volume.is_some()) {
                return Err("This step holds readings; records stay.".to_owned());
            }
        }
        edit::remove(text, thing.place(of)).map_err(|error| error.to_string())
    })
    .await
}

async fn changed(
    office: &Arc<Office>,
    name: &str,
    what: &str,
    operation: impl FnOnce(&str) -> Result<String, String> + Send + 'static,
) -> Result<Redirect, Trouble> {
    let (place, of, what) = (office.clone(), name.to_owned(), what.to_owned());
    blocking(move || Ok(place.notebook.change(&of, &what, None, operation)?)).await?;
    office.tell(name);
    Ok(Redirect::to(&format!("/p/{}", address(name))))
}
