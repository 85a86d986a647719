//! Which stretch of the text is which table?
//!
//! The text falls into pieces: the fields of the file, then one piece for each header, from behind what comes before
//! to the end of its last line and of the comments directly below it. So other comments between two tables belong to
//! the second, and comments behind all of them to none.

use super::{EditError, Place};
use std::ops::Range;
use toml_edit::{Item, Table, TableLike, Value};

/// A table that was found.
pub(super) struct Found<'a> {
    pub table: &'a dyn TableLike,
    /// Its header, or the whole of a table in one line.
    pub span: Range<usize>,
    /// Whether it is written within one line.
    pub inline: bool,
}

impl<'a> Found<'a> {
    /// A table that is a field of this one.
    pub fn inner(&self, key: &str) -> Option<Found<'a>> {
        let item = self.table.get(key)?;
        let span = item.span().unwrap_or(0..0);
        item.as_table_like().map(|table| Found { table, span, inline: self.inline || item.is_value() })
    }
}

/// Finds a table.
pub(super) fn find<'a>(root: &'a Table, place: Place<'_>) -> Result<Found<'a>, EditError> {
    let key = place.table().key;
    let name = place.name();
    let found = match place {
        Place::File => Some(Found { table: root, span: 0..0, inline: false }),
        Place::Reading(_) => tables(root.get("step"), false)
            .into_iter()
            .flat_map(|step| tables(step.table.get(key), step.inline))
            .find(|found| is_called(found.table, "id", name)),
        _ => tables(root.get(key), false).into_iter().find(|found| is_called(found.table, "name", name)),
    };
    found.ok_or_else(|| missing(key, name))
}

fn missing(key: &str, name: &str) -> EditError {
    EditError::NoSuchPlace(format!("{key} `{name}`"))
}

fn is_called(table: &dyn TableLike, key: &str, name: &str) -> bool {
    table.get(key).and_then(Item::as_str) == Some(name)
}

fn tables(item: Option<&Item>, inline: bool) -> Vec<Found<'_>> {
    match item {
        Some(Item::ArrayOfTables(array)) => array
            .iter()
            .map(|table| Found { table: table as &dyn TableLike, span: table.span().unwrap_or(0..0), inline })
            .collect(),
        Some(Item::Value(Value::Array(array))) => array
            .iter()
            .filter_map(|value| {
                let table = value.as_inline_table()? as &dyn TableLike;
                Some(Found { table, span: value.span().unwrap_or(0..0), inline: true })
            })
            .collect(),
        _ => Vec::new(),
    }
}

/// The identifiers of all readings.
pub(super) fn reading_ids(root: &Table) -> Vec<String> {
    let steps = tables(root.get("step"), false);
    let readings = steps.into_iter().flat_map(|step| tables(step.table.get("reading"), step.inline));
    readings.filter_map(|found| found.table.get("id").and_then(Item::as_str).map(str::to_owned)).collect()
}

/// One header with its fields.
#[derive(Debug)]
struct Piece {
    /// Key of the table, and its name.
    kind: String,
    name: String,
    /// For a part of a table (a reading, a table under its own header): number of the piece it belongs to.
    owner: Option<usize>,
    header: usize,
    span: Range<usize>,
}

/// All pieces of a text, in its order.
pub(super) struct Pieces {
    pieces: Vec<Piece>,
    /// Where the fields of the file end.
    file: usize,
}

impl Pieces {
    pub fn new(text: &str, root: &Table) -> Self {
        let mut pieces = Vec::new();
        for (key, item) in root.iter() {
            match item {
                Item::ArrayOfTables(array) => {
                    for table in array {
                        let owner = collect(&mut pieces, key, table, None, text);
                        within(&mut pieces, table, owner, text);
                    }
                }
                Item::Table(table) if !table.is_dotted() => {
                    collect(&mut pieces, key, table, None, text);
                }
                _ => {}
            }
        }
        let mut order: Vec<usize> = (0..pieces.len()).collect();
        order.sort_by_key(|i| pieces[*i].header);
        let file = match last_end(root) {
            0 => 0,
            end => table_end(text, end),
        };
        let mut begin = file;
        for i in order {
            pieces[i].span.start = begin.min(pieces[i].span.end);
            begin = pieces[i].span.end;
        }
        Self { pieces, file }
    }

    fn number(&self, kind: &str, name: &str) -> Option<usize> {
        self.pieces.iter().position(|piece| piece.kind == kind && piece.name == name)
    }

    /// Whether there is a table of this name.
    pub fn has(&self, kind: &str, name: &str) -> bool {
        self.number(kind, name).is_some()
    }

    /// A table with all that belongs to it, if that is one stretch.
    fn whole(&self, number: usize) -> Result<Range<usize>, EditError> {
        let mut parts: Vec<&Range<usize>> = self
            .pieces
            .iter()
            .enumerate()
            .filter(|(i, piece)| *i == number || piece.owner == Some(number))
            .map(|(_, piece)| &piece.span)
            .collect();
        parts.sort_by_key(|span| span.start);
        let whole = parts.first().map_or(0, |span| span.start)..parts.last().map_or(0, |span| span.end);
        let covered: usize = parts.iter().map(|span| span.len()).sum();
        let piece = &self.pieces[number];
        if covered == whole.len() {
            Ok(whole)
        } else {
            Err(EditError::Untidy(format!("{} `{}`", piece.kind, piece.name)))
        }
    }

    /// The stretch of a table in double brackets.
    pub fn span(&self, place: Place<'_>) -> Result<Range<usize>, EditError> {
        let (kind, name) = (place.table().key, place.name());
        match self.number(kind, name) {
            Some(number) => self.whole(number),
            None => Err(missing(kind, name)),
        }
    }

    /// Where a table goes: in front of another of its kind, or behind all of them.
    pub fn place_for(&self, kind: &str, before: Option<&str>) -> Result<usize, EditError> {
        if let Some(name) = before {
            let number = self.number(kind, name).ok_or_else(|| missing(kind, name))?;
            return self.whole(number).map(|span| span.start);
        }
        let order = |kind: &str| crate::fields::FILE.fields.iter().position(|field| field.key == kind);
        let mut end = self.file;
        for (i, piece) in self.pieces.iter().enumerate().filter(|(_, piece)| piece.owner.is_none()) {
            if order(&piece.kind) <= order(kind) {
                end = end.max(self.whole(i)?.end);
            }
        }
        Ok(end)
    }

    /// Where the next reading of a step goes, and whether it is the first.
    pub fn end_of_readings(&self, step: &str) -> Result<(usize, bool), EditError> {
        let number = self.number("step", step).ok_or_else(|| missing("step", step))?;
        let readings = || self.pieces.iter().filter(|piece| piece.owner == Some(number) && piece.kind == "reading");
        match readings().map(|piece| piece.span.end).max() {
            Some(end) => Ok((end, false)),
            None => self.whole(number).map(|span| (span.end, true)),
        }
    }
}

/// Adds the piece of a table; gives its number.
fn collect(pieces: &mut Vec<Piece>, kind: &str, table: &Table, owner: Option<usize>, text: &str) -> usize {
    let header = table.span().unwrap_or(0..0);
    let name = table.get("name").or_else(|| table.get("id")).and_then(Item::as_str).unwrap_or_default();
    let end = table_end(text, header.end.max(last_end(table)));
    pieces.push(Piece {
        kind: kind.to_owned(),
        name: name.to_owned(),
        owner,
        header: header.start,
        span: header.start..end,
    });
    pieces.len() - 1
}

/// Adds the pieces of the tables within a table.
fn within(pieces: &mut Vec<Piece>, table: &Table, owner: usize, text: &str) {
    for (key, item) in table.iter() {
        match item {
            Item::ArrayOfTables(array) => {
                for table in array {
                    collect(pieces, key, table, Some(owner), text);
                }
            }
            Item::Table(table) if !table.is_dotted() => {
                collect(pieces, key, table, Some(owner), text);
            }
            _ => {}
        }
    }
}

/// The end of the last value of a table, without tables under headers of their own; zero if there is none.
fn last_end(table: &dyn TableLike) -> usize {
    let ends = table.iter().map(|(_, item)| match item {
        Item::Value(_) => item.span().map_or(0, |span| span.end),
        Item::Table(table) if table.is_dotted() => last_end(table),
        _ => 0,
    });
    ends.max().unwrap_or(0)
}

/// The place behind the line in which a table ends, and behind the comments directly below it if they stand apart from
/// what follows.
fn table_end(text: &str, place: usize) -> usize {
    let end = line_end(text, place);
    let rest = text.get(end..).unwrap_or_default();
    let is_comment = |line: &&str| line.trim_start().starts_with('#');
    let below: usize = rest.split_inclusive('\n').take_while(is_comment).map(str::len).sum();
    let next = rest.get(below..).and_then(|rest| rest.lines().next());
    if next.is_none_or(|line| line.trim().is_empty()) { end + below } else { end }
}

/// The place behind the line feed of the line in which a place lies.
pub(super) fn line_end(text: &str, place: usize) -> usize {
    text.get(place..).and_then(|rest| rest.find('\n')).map_or(text.len(), |length| place + length + 1)
}
