//! How is an arranged file written?
//!
//! Keys of a paragraph are aligned, and so are the remarks beside its values unless these are long; an empty line stands before each table, but not before the first reading of a step.
//! Readings are indented by two. A list that would not fit its line, or whose elements carry remarks, has one element
//! on a line.

use super::arrange::{Arranged, Block, Element, Line, Remarks};
use super::comments::Comment;
use std::fmt::Write as _;

/// Widest line with a list.
const WIDTH: usize = 120;
/// Widest value beside which remarks are aligned.
const ALIGNED: usize = 48;
/// Between a value and what is remarked beside it.
const GAP: &str = "   ";

/// The text of a file.
pub(super) fn print(arranged: &Arranged) -> String {
    let mut text = String::new();
    block(&mut text, &arranged.file, 0, true);
    for (i, comment) in arranged.end.iter().enumerate() {
        let apart = i == 0 || comment.apart;
        alone(&mut text, comment, "", apart);
    }
    text
}

fn block(text: &mut String, block: &Block, depth: usize, first: bool) {
    let indent = "  ".repeat(depth.saturating_sub(1));
    if depth > 0 {
        // What stands apart from the table must not come to stand directly below a field.
        let gaps = block.apart || block.remarks.above.iter().skip(1).any(|comment| comment.apart);
        above(text, &block.remarks, &indent, depth == 1 || !first || gaps);
        if !block.remarks.above.is_empty() && block.apart {
            text.push('\n');
        }
        let _ = write!(text, "{indent}[[{}]]", block.header);
        beside(text, &block.remarks);
    }
    let mut rest = block.lines.as_slice();
    let mut begins = true;
    while !rest.is_empty() {
        let length = rest.iter().skip(1).position(is_apart).map_or(rest.len(), |place| place + 1);
        let (paragraph, more) = rest.split_at(length.min(rest.len()));
        let width = paragraph.iter().map(|line| line.key.chars().count()).max().unwrap_or(0);
        let remarked = paragraph.iter().filter(|line| !line.remarks.beside.is_empty() && !is_long(line));
        let column = remarked.map(|line| line.text.chars().count()).filter(|length| *length <= ALIGNED).max();
        for (i, line) in paragraph.iter().enumerate() {
            field(text, line, &indent, (width, column.unwrap_or(0)), i == 0 && !begins);
        }
        begins = false;
        rest = more;
    }
    for comment in &block.below {
        alone(text, comment, &indent, false);
    }
    for (i, inner) in block.inner.iter().enumerate() {
        self::block(text, inner, depth + 1, i == 0 && block.below.is_empty());
    }
}

/// Whether an empty line parts a field with its remarks from what is above.
fn is_apart(line: &Line) -> bool {
    line.remarks.above.first().map_or(line.apart, |comment| comment.apart)
}

/// Whether there are remarks within a list.
fn is_remarked(line: &Line) -> bool {
    !line.below.is_empty() || line.elements.iter().any(|element| !element.remarks.is_empty())
}

/// Whether a value stands on several lines.
fn is_long(line: &Line) -> bool {
    line.text.contains('\n') || is_remarked(line)
}

fn field(text: &mut String, line: &Line, indent: &str, (width, column): (usize, usize), apart: bool) {
    above(text, &line.remarks, indent, apart);
    if !line.remarks.above.is_empty() && line.apart {
        // A remark that stands apart from what follows is about more than the next field.
        text.push('\n');
    }
    let pad = width - line.key.chars().count();
    let head = format!("{indent}{}{} = ", line.key, " ".repeat(pad));
    let several = line.elements.len() > 1 && head.chars().count() + line.text.chars().count() > WIDTH;
    text.push_str(&head);
    if several || is_remarked(line) {
        text.push_str("[\n");
        let indent = format!("{indent}    ");
        for Element { text: value, remarks, .. } in &line.elements {
            above(text, remarks, &indent, false);
            let _ = write!(text, "{indent}{value},");
            beside(text, remarks);
        }
        for comment in &line.below {
            alone(text, comment, &indent, false);
        }
        let _ = write!(text, "{}]", indent.get(4..).unwrap_or_default());
    } else {
        text.push_str(&line.text);
        if !line.remarks.beside.is_empty() && !line.text.contains('\n') {
            text.push_str(&" ".repeat(column.saturating_sub(line.text.chars().count())));
        }
    }
    beside(text, &line.remarks);
}

impl Remarks {
    fn is_empty(&self) -> bool {
        self.above.is_empty() && self.beside.is_empty()
    }
}

/// Comments on lines of their own, with an empty line before the first if wanted.
fn above(text: &mut String, remarks: &Remarks, indent: &str, apart: bool) {
    for (i, comment) in remarks.above.iter().enumerate() {
        let apart = if i == 0 { apart } else { comment.apart };
        alone(text, comment, indent, apart);
    }
    if remarks.above.is_empty() && apart && !text.is_empty() {
        text.push('\n');
    }
}

fn alone(text: &mut String, comment: &Comment, indent: &str, apart: bool) {
    if apart && !text.is_empty() {
        text.push('\n');
    }
    let _ = writeln!(text, "{indent}{}", comment.text);
}

/// Ends a line, with what is remarked beside it.
fn beside(text: &mut String, remarks: &Remarks) {
    for comment in &remarks.beside {
        let _ = write!(text, "{GAP}{}", comment.text);
    }
    text.push('\n');
}
