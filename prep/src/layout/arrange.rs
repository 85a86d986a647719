//! Which lines does the tidy file have, and to which of them does each comment belong?
//!
//! The file becomes blocks (itself, and each table in double brackets) of lines (one for each field). A comment beside
//! something belongs to it; a comment on a line of its own to what follows, unless it stands directly below the last
//! field of a table and apart from the next one.
//! Tables that are written under headers of their own or with dots become one line, and what was remarked within
//! them stands above it.

use super::comments::{Comment, comments, follows_an_empty_line};
use crate::fields::{FILE, Field, Kind, Table};
use crate::spelling::{key_text, quoted, spelled_field, spelled_key};
use std::ops::Range;
use toml_edit::{Array, Item, TableLike, Value};

/// Comments of one thing.
#[derive(Debug, Default)]
pub(super) struct Remarks {
    /// On lines of their own before it.
    pub above: Vec<Comment>,
    /// Behind it on its line.
    pub beside: Vec<Comment>,
}

/// One element of a list that is written on several lines.
#[derive(Debug)]
pub(super) struct Element {
    pub text: String,
    pub remarks: Remarks,
    span: Range<usize>,
}

/// One field.
#[derive(Debug)]
pub(super) struct Line {
    pub key: String,
    pub text: String,
    pub remarks: Remarks,
    /// Whether an empty line parts it from what is above.
    pub apart: bool,
    /// The elements, where the value is a list.
    pub elements: Vec<Element>,
    /// Comments behind the last element.
    pub below: Vec<Comment>,
    list: Option<Range<usize>>,
}

/// The file, or a table in double brackets.
#[derive(Debug)]
pub(super) struct Block {
    /// Path in double brackets; empty for the file.
    pub header: String,
    pub remarks: Remarks,
    /// Whether an empty line parts it from the remarks above it.
    pub apart: bool,
    pub lines: Vec<Line>,
    /// Comments directly below its fields.
    pub below: Vec<Comment>,
    pub inner: Vec<Block>,
}

/// All that is to be written.
#[derive(Debug)]
pub(super) struct Arranged {
    pub file: Block,
    /// Comments behind everything.
    pub end: Vec<Comment>,
}

/// Something in the text that a comment may belong to.
struct Anchor {
    span: Range<usize>,
    /// Blocks on the way, then perhaps a line.
    target: Vec<usize>,
    line: Option<usize>,
    /// Whether it is only a part of its line, so that comments go above the line.
    part: bool,
}

/// Where a table stands.
struct Place {
    /// Blocks on the way to it.
    target: Vec<usize>,
    /// Whether it is written within one line.
    inline: bool,
}

struct Arranger<'a> {
    text: &'a str,
    anchors: Vec<Anchor>,
}

/// Arranges a file.
pub(super) fn arrange(root: &dyn TableLike, text: &str) -> Arranged {
    let mut arranger = Arranger { text, anchors: Vec::new() };
    let file = arranger.block(root, Some(&FILE), String::new(), &Place { target: Vec::new(), inline: false });
    let mut arranged = Arranged { file, end: Vec::new() };
    let mut anchors = arranger.anchors;
    anchors.sort_by_key(|anchor| (anchor.span.start, anchor.span.end));
    for comment in comments(text) {
        place(&mut arranged, &anchors, text, comment);
    }
    arranged
}

impl Arranger<'_> {
    fn block(&mut self, table: &dyn TableLike, of: Option<&Table>, header: String, place: &Place) -> Block {
        let mut lines = Vec::new();
        let mut inner = Vec::new();
        for (key, item) in kinds_in_order(table, of) {
            let field = of.and_then(|of| of.field(key));
            let tables = tables_of(item, field);
            if tables.is_empty() {
                let line = self.line(table, key, item, field, (place, lines.len()));
                lines.push(line);
                continue;
            }
            let path = if header.is_empty() { key_text(key) } else { format!("{header}.{}", key_text(key)) };
            for (table, span) in tables {
                let target: Vec<usize> = place.target.iter().copied().chain([inner.len()]).collect();
                let span = span.unwrap_or(0..0);
                let inline = place.inline || item.is_value();
                self.anchors.push(Anchor { span: span.clone(), target: target.clone(), line: None, part: false });
                let mut block =
                    self.block(table, of.and_then(|of| of.inner(key)), path.clone(), &Place { target, inline });
                block.apart = !inline && follows_an_empty_line(self.text, span.start);
                inner.push(block);
            }
        }
        Block { header, remarks: Remarks::default(), apart: false, lines, below: Vec::new(), inner }
    }

    fn line(
        &mut self,
        table: &dyn TableLike,
        key: &str,
        item: &Item,
        field: Option<&Field>,
        (place, line): (&Place, usize),
    ) -> Line {
        let key_span = table.key(key).and_then(toml_edit::Key::span);
        let value_span = item.span();
        let span = match (key_span.clone(), value_span.clone()) {
            (Some(key), Some(value)) => key.start.min(value.start)..key.end.max(value.end),
            (Some(span), None) | (None, Some(span)) => span,
            (None, None) => 0..0,
        };
        let parts = self.parts(item, span.clone());
        for (i, span) in parts.into_iter().enumerate() {
            let part = i > 0 || place.inline || item.is_table();
            self.anchors.push(Anchor { span, target: place.target.clone(), line: Some(line), part });
        }
        let (text, elements) = match item {
            Item::Value(value) => (self.value(value, field), self.elements(value.as_array(), field)),
            _ => (item.as_table_like().map_or_else(String::new, |table| self.inline(table, field)), Vec::new()),
        };
        let list = item.as_array().and(value_span);
        Line {
            key: key_text(key),
            text,
            remarks: Remarks::default(),
            apart: !place.inline && !item.is_table() && follows_an_empty_line(self.text, span.start),
            elements,
            below: Vec::new(),
            list,
        }
    }

    /// The places where a field is written: one, or the keys of a table under its own header or with dots.
    fn parts(&self, item: &Item, whole: Range<usize>) -> Vec<Range<usize>> {
        let Item::Table(table) = item else { return vec![whole] };
        let mut parts = Vec::new();
        // The key within the header is no place of its own.
        parts.extend(if table.is_dotted() || table.is_implicit() { None } else { table.span() });
        for (key, item) in table.iter() {
            let start = table.key(key).and_then(toml_edit::Key::span).map(|span| span.start);
            let end = item.span().map(|span| span.end);
            if let (Some(start), Some(end)) = (start, end) {
                parts.push(start..end.max(start));
            }
        }
        if parts.is_empty() { vec![whole] } else { parts }
    }

    fn elements(&self, array: Option<&Array>, field: Option<&Field>) -> Vec<Element> {
        let values = array.into_iter().flat_map(Array::iter);
        values
            .map(|value| Element {
                text: self.value(value, field),
                remarks: Remarks::default(),
                span: value.span().unwrap_or(0..0),
            })
            .collect()
    }

    fn value(&self, value: &Value, field: Option<&Field>) -> String {
        match value {
            Value::InlineTable(table) => self.inline(table, field),
            Value::Array(array) => {
                let elements: Vec<String> = array.iter().map(|value| self.value(value, field)).collect();
                format!("[{}]", elements.join(", "))
            }
            Value::String(text) => {
                let spelled = spelled_field(field, text.value());
                let typed = self.typed(value);
                let plain = !spelled.contains(['"', '\\', '\'']) && !spelled.chars().any(char::is_control);
                // A text in other quotes, or on several lines, is the author's.
                if spelled != text.value().as_str() || plain { quoted(&spelled) } else { typed }
            }
            _ => self.typed(value),
        }
    }

    /// A value as it was typed.
    fn typed(&self, value: &Value) -> String {
        let typed = value.span().and_then(|span| self.text.get(span));
        typed.map_or_else(|| value.clone().decorated("", "").to_string(), str::to_owned)
    }

    fn inline(&self, table: &dyn TableLike, field: Option<&Field>) -> String {
        let mut entries: Vec<String> = Vec::new();
        let kind = field.map(|field| field.kind);
        for (key, item) in table.iter() {
            let within = match kind {
                Some(Kind::Inline(of)) => of.field(key),
                _ => field,
            };
            let key = kind.map_or(key.into(), |kind| spelled_key(kind, key));
            let text = match item {
                Item::Value(value) => self.value(value, within),
                other => other.as_table_like().map_or_else(String::new, |table| self.inline(table, within)),
            };
            entries.push(format!("{} = {text}", key_text(&key)));
        }
        if entries.is_empty() { "{}".to_owned() } else { format!("{{ {} }}", entries.join(", ")) }
    }
}

/// The fields of a table: those of the file in the order of its reference as far as they are tables, others as they are.
fn kinds_in_order<'a>(table: &'a dyn TableLike, of: Option<&Table>) -> Vec<(&'a str, &'a Item)> {
    let mut items: Vec<(&str, &Item)> = table.iter().collect();
    let place = |key: &str| of.and_then(|of| of.fields.iter().position(|field| field.key == key));
    items.sort_by_key(|(key, _)| {
        place(key).filter(|_| of.and_then(|of| of.field(key)).is_some_and(|f| matches!(f.kind, Kind::Tables(_))))
    });
    items
}

/// The tables of a field that is written in double brackets, each with its place; none for another field.
fn tables_of<'a>(item: &'a Item, field: Option<&Field>) -> Vec<(&'a dyn TableLike, Option<Range<usize>>)> {
    match item {
        Item::ArrayOfTables(array) => array.iter().map(|table| (table as &dyn TableLike, table.span())).collect(),
        Item::Value(Value::Array(array)) if field.is_some_and(|field| matches!(field.kind, Kind::Tables(_))) => array
            .iter()
            .filter_map(|value| value.as_inline_table().map(|table| (table as &dyn TableLike, value.span())))
            .collect(),
        _ => Vec::new(),
    }
}

/// Puts a comment where it belongs.
fn place(arranged: &mut Arranged, anchors: &[Anchor], text: &str, comment: Comment) {
    let at = comment.start;
    let next = anchors.partition_point(|anchor| anchor.span.start <= at);
    let around = anchors.iter().take(next).rev().find(|anchor| anchor.span.end > at);
    if let Some(anchor) = around {
        return within(arranged, anchor, text, comment);
    }
    let before = anchors.get(..next).unwrap_or_default().iter().max_by_key(|anchor| anchor.span.end);
    let same_line = |anchor: &&Anchor| text.get(anchor.span.end..at).is_some_and(|gap| !gap.contains('\n'));
    if let Some(anchor) = before.filter(same_line).filter(|_| !comment.alone) {
        return match remarks(arranged, anchor) {
            Some(remarks) if anchor.part || !remarks.beside.is_empty() => remarks.above.push(comment),
            Some(remarks) => remarks.beside.push(comment),
            None => arranged.end.push(comment),
        };
    }
    let follower = anchors.get(next);
    let ends_a_table = follower.is_none_or(|anchor| anchor.line.is_none());
    let end = follower.map_or(text.len(), |anchor| anchor.span.start);
    if let Some(anchor) = before.filter(|anchor| ends_a_table && is_directly_below(text, anchor.span.end, at, end))
        && let Some(block) = block(arranged, &anchor.target)
    {
        return block.below.push(comment);
    }
    match follower.and_then(|anchor| remarks(arranged, anchor)) {
        Some(remarks) => remarks.above.push(comment),
        None => arranged.end.push(comment),
    }
}

/// Whether only comments stand between a field and this comment, and an empty line or nothing behind them.
fn is_directly_below(text: &str, field: usize, comment: usize, next: usize) -> bool {
    let bare = |range: Range<usize>| text.get(range).unwrap_or_default().replace([' ', '\t', '\r'], "");
    let behind = bare(comment..next);
    !bare(field..comment).contains("\n\n") && (next == text.len() || behind.contains("\n\n"))
}

/// Puts a comment that stands within a field.
fn within(arranged: &mut Arranged, anchor: &Anchor, text: &str, comment: Comment) {
    let at = comment.start;
    let Some(line) = line(arranged, anchor).filter(|line| line.list.as_ref().is_some_and(|list| list.contains(&at)))
    else {
        match remarks(arranged, anchor) {
            Some(remarks) => remarks.above.push(comment),
            None => arranged.end.push(comment),
        }
        return;
    };
    let same_line = |element: &&mut Element| {
        element.span.end <= at && text.get(element.span.end..at).is_some_and(|gap| !gap.contains('\n'))
    };
    if let Some(element) = line.elements.iter_mut().rev().find(same_line) {
        element.remarks.beside.push(comment);
    } else if let Some(element) = line.elements.iter_mut().find(|element| element.span.end > at) {
        element.remarks.above.push(comment);
    } else {
        line.below.push(comment);
    }
}

fn block<'a>(arranged: &'a mut Arranged, target: &[usize]) -> Option<&'a mut Block> {
    target.iter().try_fold(&mut arranged.file, |block, index| block.inner.get_mut(*index))
}

fn line<'a>(arranged: &'a mut Arranged, anchor: &Anchor) -> Option<&'a mut Line> {
    block(arranged, &anchor.target)?.lines.get_mut(anchor.line?)
}

/// The remarks of what an anchor stands for.
fn remarks<'a>(arranged: &'a mut Arranged, anchor: &Anchor) -> Option<&'a mut Remarks> {
    let block = block(arranged, &anchor.target)?;
    match anchor.line {
        Some(line) => block.lines.get_mut(line).map(|line| &mut line.remarks),
        None => Some(&mut block.remarks),
    }
}
