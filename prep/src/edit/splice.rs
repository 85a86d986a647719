//! Which bytes change when a field is set or taken out?

use super::EditError;
use super::pieces::{Found, line_end};
use crate::fields::Table;
use crate::spelling::key_text;
use std::ops::Range;
use toml_edit::{Item, TableLike, Value};

/// A stretch of the text and what stands there afterwards.
pub(super) struct Splice {
    pub span: Range<usize>,
    pub text: String,
}

impl Splice {
    /// Inserts whole lines at the beginning of a line, or behind the last line.
    pub fn insert(text: &str, at: usize, lines: &str) -> Self {
        let unended = at > 0 && !text.get(..at).is_some_and(|before| before.ends_with('\n'));
        let lines = if unended { format!("\n{lines}") } else { lines.to_owned() };
        let more = if at < text.len() && !lines.ends_with('\n') { "\n" } else { "" };
        Self { span: at..at, text: format!("{lines}{more}") }
    }

    /// The text with the change; line ends are those of the text.
    pub fn applied(&self, text: &str) -> String {
        let (before, after) = (text.get(..self.span.start), text.get(self.span.end..));
        let plain = self.text.replace("\r\n", "\n");
        let written = if text.contains("\r\n") { plain.replace('\n', "\r\n") } else { plain };
        format!("{}{written}{}", before.unwrap_or_default(), after.unwrap_or_default())
    }
}

/// Sets the value of a field.
pub(super) fn set(text: &str, found: &Found<'_>, of: &Table, key: &str, value: &str) -> Result<Splice, EditError> {
    match found.table.get(key) {
        Some(item @ Item::Value(_)) => match item.span() {
            Some(span) if !has_comment(text, &span) => Ok(Splice { span, text: value.to_owned() }),
            _ => Err(EditError::Untidy(format!("`{key}`"))),
        },
        Some(Item::None) | None if found.inline => inserted_inline(found, key, value),
        Some(Item::None) | None => Ok(inserted(text, found, of, key, value)),
        Some(_) => Err(EditError::Untidy(format!("`{key}`"))),
    }
}

/// Whether a value has remarks within it.
fn has_comment(text: &str, span: &Range<usize>) -> bool {
    crate::layout::comments(text).iter().any(|comment| span.contains(&comment.start))
}

/// Key and value of a field with their places.
fn places(table: &dyn TableLike) -> Vec<(&str, Range<usize>)> {
    let mut places: Vec<(&str, Range<usize>)> = table
        .iter()
        .filter(|(_, item)| item.is_value())
        .filter_map(|(key, item)| Some((key, table.key(key)?.span()?.start..item.span()?.end)))
        .collect();
    places.sort_by_key(|(_, span)| span.start);
    places
}

fn inserted_inline(found: &Found<'_>, key: &str, value: &str) -> Result<Splice, EditError> {
    let entry = format!("{} = {value}", key_text(key));
    let count = found.table.iter().count();
    match places(found.table).last() {
        // Entries with dots have no place of their own.
        Some((_, span)) if places(found.table).len() == count => {
            Ok(Splice { span: span.end..span.end, text: format!(", {entry}") })
        }
        None if count == 0 && found.span.len() >= 2 => {
            let at = found.span.start + 1;
            Ok(Splice { span: at..found.span.end - 1, text: format!(" {entry} ") })
        }
        _ => Err(EditError::Untidy(format!("`{key}`"))),
    }
}

/// A new line behind the field that usually stands before it.
fn inserted(text: &str, found: &Found<'_>, of: &Table, key: &str, value: &str) -> Splice {
    let order = |key: &str| of.fields.iter().position(|field| field.key == key);
    let lines = places(found.table);
    let fit = |other: &str| order(other) < order(key) || order(key).is_none();
    let before = lines.iter().rev().find(|(other, _)| fit(other));
    let model = before.or(lines.first());
    let (indent, width) = model.map_or((String::new(), 0), |(_, span)| manner_of(text, span.start));
    let at = match (before, lines.first()) {
        (Some((_, span)), _) => line_end(text, span.end),
        (None, Some((_, span))) if found.span.is_empty() => line_start(text, span.start),
        (None, _) if found.span.is_empty() => text.len() - text.trim_start_matches('\u{feff}').len(),
        (None, _) => line_end(text, found.span.end),
    };
    Splice::insert(text, at, &format!("{indent}{:width$} = {value}\n", key_text(key)))
}

/// Indent and width of the key of the line in which a key begins.
fn manner_of(text: &str, key: usize) -> (String, usize) {
    let start = line_start(text, key);
    let indent = text.get(start..key).unwrap_or_default();
    let line = text.get(key..line_end(text, key)).unwrap_or_default();
    let width = line.find('=').map_or(0, |equals| line.get(..equals).unwrap_or_default().chars().count());
    let plain = indent.chars().all(char::is_whitespace);
    (if plain { indent.to_owned() } else { String::new() }, width.saturating_sub(1))
}

fn line_start(text: &str, place: usize) -> usize {
    let start = text.get(..place).and_then(|before| before.rfind('\n')).map_or(0, |at| at + 1);
    if start == 0 && text.starts_with('\u{feff}') { '\u{feff}'.len_utf8() } else { start }
}

/// Takes a field out.
pub(super) fn clear(text: &str, found: &Found<'_>, key: &str) -> Result<Splice, EditError> {
    let untidy = || EditError::Untidy(format!("`{key}`"));
    match found.table.get(key) {
        None | Some(Item::None) => return Ok(Splice { span: 0..0, text: String::new() }),
        Some(Item::Value(Value::Array(_))) | Some(Item::Value(_)) => {}
        Some(_) => return Err(untidy()),
    }
    let lines = places(found.table);
    let number = lines.iter().position(|(other, _)| *other == key).ok_or_else(untidy)?;
    let (_, span) = &lines[number];
    if has_comment(text, span) {
        return Err(untidy());
    }
    if found.inline {
        let span = match (lines.get(number + 1), number.checked_sub(1).and_then(|before| lines.get(before))) {
            (Some((_, next)), _) => span.start..next.start,
            (None, Some((_, before))) => before.end..span.end,
            (None, None) => span.clone(),
        };
        return Ok(Splice { span, text: String::new() });
    }
    let (start, end) = (line_start(text, span.start), line_end(text, span.end));
    let beside = text.get(span.end..end).unwrap_or_default().trim();
    let indent = text.get(start..span.start).unwrap_or_default();
    let left = if beside.is_empty() { String::new() } else { format!("{indent}{beside}\n") };
    Ok(Splice { span: start..end, text: left })
}
