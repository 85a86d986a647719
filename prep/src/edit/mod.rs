//! How is one thing in a preparation file changed, and everything else left as it is?
//!
//! Text in, text out. A change is made in the text itself, at the place where the parser found the field or table, so
//! that comments and the author's layout stay byte for byte; nothing is printed anew. What is written is spelled as in
//! a tidy file. A file with errors can be edited as long as it is valid TOML. Comments above a table belong to it and
//! go with it; a file whose tables are written in one line or in scattered pieces has to be laid out first
//! ([`crate::tidy`]).

mod pieces;
mod rename;
mod series;
mod splice;

pub use rename::{Named, rename};
pub use series::weigh_again;

use crate::fields::{self, Kind, Table};
use crate::layout::comments;
use crate::spelling::{key_text, quoted, spelled, spelled_key};
use pieces::Pieces;
use splice::Splice;
use std::fmt;
use std::ops::Range;
use toml_edit::Document;

/// A thing in the file.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Place<'a> {
    /// The file itself: title, target, elements.
    File,
    /// A supply by its name.
    Supply(&'a str),
    /// A balance by its name.
    Instrument(&'a str),
    /// A vessel by its name.
    Vessel(&'a str),
    /// A step by its name.
    Step(&'a str),
    /// A reading by its identifier, in whichever step it is.
    Reading(&'a str),
    /// A supposition by its name.
    Supposition(&'a str),
}

/// The kinds of tables that can be added.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Addition {
    /// A supply.
    Supply,
    /// A balance.
    Instrument,
    /// A vessel.
    Vessel,
    /// A step.
    Step,
    /// A supposition.
    Supposition,
}

impl Addition {
    fn table(self) -> &'static Table {
        match self {
            Self::Supply => &fields::SUPPLY,
            Self::Instrument => &fields::INSTRUMENT,
            Self::Vessel => &fields::VESSEL,
            Self::Step => &fields::STEP,
            Self::Supposition => &fields::SUPPOSE,
        }
    }
}

impl<'a> Place<'a> {
    fn table(self) -> &'static Table {
        match self {
            Self::File => &fields::FILE,
            Self::Supply(_) => &fields::SUPPLY,
            Self::Instrument(_) => &fields::INSTRUMENT,
            Self::Vessel(_) => &fields::VESSEL,
            Self::Step(_) => &fields::STEP,
            Self::Reading(_) => &fields::READING,
            Self::Supposition(_) => &fields::SUPPOSE,
        }
    }

    fn name(self) -> &'a str {
        match self {
            Self::File => "",
            Self::Supply(name)
            | Self::Instrument(name)
            | Self::Vessel(name)
            | Self::Step(name)
            | Self::Reading(name)
            | Self::Supposition(name) => name,
        }
    }
}

/// The value of a field.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Entry {
    /// One text: a name, a quantity, a formula, a date and time.
    Text(String),
    /// A list of texts.
    Texts(Vec<String>),
    /// Names with a text each: what is taken, what is given.
    Pairs(Vec<(String, String)>),
}

impl From<&str> for Entry {
    fn from(text: &str) -> Self {
        Self::Text(text.to_owned())
    }
}

/// Why a file was not edited.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum EditError {
    /// The file is not valid TOML.
    Syntax(String),
    /// There is no such thing in the file.
    NoSuchPlace(String),
    /// A table has no such field.
    NoSuchField {
        /// The table.
        table: &'static str,
        /// The field.
        key: String,
    },
    /// A field takes another sort of value.
    WrongShape(String),
    /// A thing of this name is there already.
    AlreadyThere(String),
    /// The thing is written in one line or in pieces, so that the text around it cannot be left as it is.
    Untidy(String),
}

impl fmt::Display for EditError {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::Syntax(message) => write!(f, "the file is not valid TOML: {message}"),
            Self::NoSuchPlace(name) => write!(f, "the file has no {name}"),
            Self::NoSuchField { table: "", key } => write!(f, "a preparation has no field `{key}`"),
            Self::NoSuchField { table, key } => write!(f, "a {table} has no field `{key}`"),
            Self::WrongShape(key) => write!(f, "`{key}` takes another sort of value"),
            Self::AlreadyThere(name) => write!(f, "`{name}` is there already"),
            Self::Untidy(name) => write!(f, "{name} is written in one line or in pieces; lay the file out first"),
        }
    }
}

impl std::error::Error for EditError {}

type Edited = Result<String, EditError>;

/// Sets a field, or adds it at its usual place in the table.
///
/// # Errors
/// [`EditError`]; nothing is changed then.
///
/// ```
/// use prep::edit::{Place, set};
/// let text = "title = \"A\"\n\n[[supply]]   # the blue one\nname  = \"bluestone\"\nholds = \"CuSO4·5H2O(s)\"\n";
/// let text = set(text, Place::Supply("bluestone"), "assay", &">=98%".into())?;
/// assert!(text.ends_with("# the blue one\nname  = \"bluestone\"\nholds = \"CuSO4·5H2O(s)\"\nassay = \">= 98 %\"\n"));
/// # Ok::<(), prep::edit::EditError>(())
/// ```
pub fn set(text: &str, place: Place<'_>, key: &str, entry: &Entry) -> Edited {
    let document = parsed(text)?;
    let written = value_of(place.table(), key, entry)?;
    let found = pieces::find(document.as_table(), place)?;
    let splice = splice::set(text, &found, place.table(), key, &written)?;
    finished(text, splice)
}

/// Takes a field out. A comment beside it stays, on a line of its own. A field that is not there is no error.
///
/// # Errors
/// [`EditError`]; nothing is changed then.
pub fn clear(text: &str, place: Place<'_>, key: &str) -> Edited {
    let document = parsed(text)?;
    field_of(place.table(), key)?;
    let found = pieces::find(document.as_table(), place)?;
    let splice = splice::clear(text, &found, key)?;
    finished(text, splice)
}

/// Sets one entry of a field that holds names, such as what a step takes of one supply.
///
/// # Errors
/// [`EditError`]; nothing is changed then.
///
/// ```
/// use prep::edit::{Place, set_within};
/// let text = "[[step]]\nname = \"dissolve\"\ntake = { salt = \"5 g\" }   # dry\n";
/// let text = set_within(text, Place::Step("dissolve"), "take", "water", "50 mL")?;
/// assert!(text.contains("take = { salt = \"5 g\", water = \"50 mL\" }   # dry"));
/// # Ok::<(), prep::edit::EditError>(())
/// ```
pub fn set_within(text: &str, place: Place<'_>, key: &str, name: &str, value: &str) -> Edited {
    let document = parsed(text)?;
    let kind = field_of(place.table(), key)?;
    let (name, written) = match kind {
        Kind::Inline(table) => (name.into(), value_of(table, name, &value.into())?),
        Kind::Amounts | Kind::Parts | Kind::Foreign | Kind::Traces | Kind::Shares => {
            (spelled_key(kind, name), quoted(&spelled(kind, value)))
        }
        _ => return Err(EditError::WrongShape(key.to_owned())),
    };
    let found = pieces::find(document.as_table(), place)?;
    let splice = match found.inner(key) {
        Some(inner) => splice::set(text, &inner, &UNORDERED, &name, &written)?,
        None => {
            let whole = format!("{{ {} = {written} }}", key_text(&name));
            splice::set(text, &found, place.table(), key, &whole)?
        }
    };
    finished(text, splice)
}

/// Entries of a field that holds names have no usual place.
static UNORDERED: Table = Table { key: "entry", about: "", fields: &[] };

/// A reading to be added to a step.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct NewReading {
    /// Identifier; a free one is taken if not given.
    pub id: Option<String>,
    /// Figure as displayed.
    pub weigh: Option<String>,
    /// Lot on the pan.
    pub of: Option<String>,
    /// Supply that is weighed out.
    pub charge: Option<String>,
    /// Vessel on the pan.
    pub vessel: Option<String>,
    /// Balance.
    pub with: String,
    /// When.
    pub at: Option<String>,
    /// Name of the zero that it shares.
    pub zeroed: Option<String>,
    /// Reading that it corrects.
    pub corrects: Option<String>,
    /// Why.
    pub reason: Option<String>,
    /// Remark.
    pub note: Option<String>,
}

impl NewReading {
    fn fields(&self, id: &str) -> Vec<(&'static str, Entry)> {
        let all = [
            ("id", Some(id)),
            ("weigh", self.weigh.as_deref()),
            ("of", self.of.as_deref()),
            ("charge", self.charge.as_deref()),
            ("in", self.vessel.as_deref()),
            ("with", Some(self.with.as_str())),
            ("at", self.at.as_deref()),
            ("zeroed", self.zeroed.as_deref()),
            ("corrects", self.corrects.as_deref()),
            ("reason", self.reason.as_deref()),
            ("note", self.note.as_deref()),
        ];
        all.into_iter().filter_map(|(key, text)| text.map(|text| (key, text.into()))).collect()
    }
}

/// Adds a reading behind the others of a step; gives the text and the identifier. A correction names the reading that
/// it corrects, the reason and the time; the corrected reading stays as it is.
///
/// # Errors
/// [`EditError`]; nothing is changed then.
pub fn add_reading(text: &str, step: &str, reading: &NewReading) -> Result<(String, String), EditError> {
    let document = parsed(text)?;
    let known = pieces::reading_ids(document.as_table());
    let id = match &reading.id {
        Some(id) if known.contains(id) => return Err(EditError::AlreadyThere(id.clone())),
        Some(id) => id.clone(),
        None => free_id(&known),
    };
    let pieces = Pieces::new(text, document.as_table());
    let (at, first) = pieces.end_of_readings(step)?;
    // A remark directly above would be taken for one of the reading.
    let remarked =
        text.get(..at).and_then(|before| before.lines().next_back()).is_some_and(|l| l.trim().starts_with('#'));
    let gap = if first && !remarked { "" } else { "\n" };
    let written = table_text("step.reading", &fields::READING, &reading.fields(&id), "  ")?;
    let text = finished(text, Splice::insert(text, at, &format!("{gap}{written}")))?;
    Ok((text, id))
}

/// `r` with the number behind the largest one.
fn free_id(known: &[String]) -> String {
    let largest = known.iter().filter_map(|id| id.strip_prefix('r')?.parse::<u32>().ok()).max();
    format!("r{}", largest.map_or(1, |number| number.saturating_add(1)))
}

/// Adds a table with its fields in front of another of its kind, or behind all of them.
///
/// # Errors
/// [`EditError`]; nothing is changed then.
pub fn add(text: &str, what: Addition, entries: &[(&str, Entry)], before: Option<&str>) -> Edited {
    let document = parsed(text)?;
    let table = what.table();
    let name = entries.iter().find_map(|(key, entry)| match entry {
        Entry::Text(text) if *key == "name" => Some(text.as_str()),
        _ => None,
    });
    let Some(name) = name else { return Err(EditError::WrongShape("name".to_owned())) };
    let pieces = Pieces::new(text, document.as_table());
    if pieces.has(table.key, name) {
        return Err(EditError::AlreadyThere(name.to_owned()));
    }
    let at = pieces.place_for(table.key, before)?;
    let written = table_text(table.key, table, entries, "")?;
    let gap = if at == 0 { "" } else { "\n" };
    finished(text, Splice::insert(text, at, &format!("{gap}{written}")))
}

/// Takes a table out, with the comments above it and all that belongs to it.
///
/// # Errors
/// [`EditError`]; nothing is changed then.
pub fn remove(text: &str, place: Place<'_>) -> Edited {
    let document = parsed(text)?;
    let span = Pieces::new(text, document.as_table()).span(place)?;
    let written = joined(text, &[0..span.start, span.end..text.len()]);
    kept_valid(&written)
}

/// Moves a supply, step or other table, with the comments above it, in front of another of its kind, or behind all.
///
/// # Errors
/// [`EditError`]; nothing is changed then.
pub fn move_before(text: &str, place: Place<'_>, before: Option<&str>) -> Edited {
    if matches!(place, Place::File | Place::Reading(_)) {
        return Err(EditError::WrongShape(place.table().key.to_owned()));
    }
    let document = parsed(text)?;
    let pieces = Pieces::new(text, document.as_table());
    let span = pieces.span(place)?;
    if before == Some(place.name()) {
        return Ok(text.to_owned());
    }
    let to = pieces.place_for(place.table().key, before)?;
    let stretches = if to <= span.start {
        [0..to, span.clone(), to..span.start, span.end..text.len()]
    } else {
        [0..span.start, span.end..to, span, to..text.len()]
    };
    let written = joined(text, &stretches);
    kept(text, &written)
}

/// Stretches of a text in another order. An empty line keeps a comment at the end of one from what begins the next.
fn joined(text: &str, stretches: &[Range<usize>]) -> String {
    let feed = if text.contains("\r\n") { "\r\n" } else { "\n" };
    let mut whole = String::with_capacity(text.len());
    for stretch in stretches.iter().filter(|stretch| !stretch.is_empty()) {
        let next = text.get(stretch.clone()).unwrap_or_default();
        if !whole.is_empty() && !whole.ends_with('\n') {
            whole.push_str(feed);
        }
        let remarked = whole.lines().next_back().is_some_and(|line| line.trim_start().starts_with('#'));
        if remarked && next.lines().next().is_some_and(|line| !line.trim().is_empty()) {
            whole.push_str(feed);
        }
        whole.push_str(next);
    }
    whole
}

fn parsed(text: &str) -> Result<Document<&str>, EditError> {
    Document::parse(text).map_err(|error| EditError::Syntax(error.message().trim().to_owned()))
}

/// A text that is still valid TOML.
fn kept_valid(written: &str) -> Edited {
    parsed(written).map(|_| written.to_owned())
}

fn field_of(table: &'static Table, key: &str) -> Result<Kind, EditError> {
    let missing = || EditError::NoSuchField { table: table.key, key: key.to_owned() };
    table.field(key).map(|field| field.kind).ok_or_else(missing)
}

/// The value of a field as it stands in the file.
pub(crate) fn value_of(table: &'static Table, key: &str, entry: &Entry) -> Result<String, EditError> {
    let kind = field_of(table, key)?;
    let wrong = || EditError::WrongShape(key.to_owned());
    match (kind, entry) {
        (Kind::Tables(_), _) => Err(wrong()),
        (Kind::Time, Entry::Text(text)) if text.trim().parse::<toml_edit::Datetime>().is_ok() => {
            Ok(text.trim().to_owned())
        }
        (
            Kind::Amounts | Kind::Parts | Kind::Foreign | Kind::Traces | Kind::Shares | Kind::Inline(_),
            Entry::Pairs(pairs),
        ) => {
            let mut entries = Vec::new();
            for (name, text) in pairs {
                let value = match kind {
                    Kind::Inline(inner) => value_of(inner, name, &text.as_str().into())?,
                    _ => quoted(&spelled(kind, text)),
                };
                entries.push(format!("{} = {value}", key_text(&spelled_key(kind, name))));
            }
            Ok(if entries.is_empty() { "{}".to_owned() } else { format!("{{ {} }}", entries.join(", ")) })
        }
        (Kind::Amounts | Kind::Parts | Kind::Foreign | Kind::Traces | Kind::Shares | Kind::Inline(_), _) => {
            Err(wrong())
        }
        (
            Kind::Texts | Kind::Elements | Kind::SpeciesList | Kind::Patterns | Kind::Reactions | Kind::Quantities(_),
            Entry::Texts(texts),
        ) => {
            let texts: Vec<String> = texts.iter().map(|text| quoted(&spelled(kind, text))).collect();
            Ok(format!("[{}]", texts.join(", ")))
        }
        (_, Entry::Text(text)) => Ok(quoted(&spelled(kind, text))),
        _ => Err(wrong()),
    }
}

/// A table in double brackets, as a tidy file has it.
fn table_text(
    header: &str,
    table: &'static Table,
    entries: &[(&str, Entry)],
    indent: &str,
) -> Result<String, EditError> {
    let width = entries.iter().map(|(key, _)| key.len()).max().unwrap_or(0);
    let mut text = format!("{indent}[[{header}]]\n");
    for (key, entry) in entries {
        text += &format!("{indent}{key:width$} = {}\n", value_of(table, key, entry)?);
    }
    Ok(text)
}

fn finished(text: &str, splice: Splice) -> Edited {
    kept(text, &splice.applied(text))
}

/// The written text, if it is TOML and no comment is gone.
fn kept(before: &str, after: &str) -> Edited {
    parsed(after)?;
    let remarks = |text: &str| {
        let mut texts: Vec<String> = comments(text).into_iter().map(|comment| comment.text).collect();
        texts.sort_unstable();
        texts
    };
    if remarks(before) == remarks(after) {
        Ok(after.to_owned())
    } else {
        Err(EditError::Untidy("this part".to_owned()))
    }
}

#[cfg(test)]
mod tests;
