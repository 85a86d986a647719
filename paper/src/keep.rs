//! What stays together where a page ends?
//!
//! A heading stays with what it heads; a short line stays with the table, figure or list that it introduces; a line that
//! tells how a table was made stays with that table; a table of few lines, a caution and a paragraph of the record are
//! not broken. What would fill a good part of a page may break, or it would run off the paper. Heights are lines guessed
//! from counts of letters: a guess that is wrong leaves a gap or breaks a table, and loses no word.

use crate::world::shows;
use report::document::{Align, Block, Cell, Inline, Table, closes, plain};

/// Letters in a line of running text.
const LINE: usize = 90;
/// Letters of the longest text that introduces something.
const INTRODUCING: usize = 540;
/// Rows and lines up to which a table is not broken.
const SMALL: (usize, usize) = (12, 20);
/// Lines up to which a cell, a caution or a hold is not broken.
const UNBROKEN: usize = 16;
/// Lines that find room beside a pattern, under its heading.
const BESIDE: usize = 4;
/// Lines of a paragraph of the record that is not broken, and those that begin a longer one.
const RECORD: (usize, usize) = (14, 4);
/// Letters of "[U+0424]".
const AS_NUMBER: usize = 8;
/// A column counts as at least and at most this wide, letters.
const COLUMN: (usize, usize) = (6, 70);

/// Whether a text is short enough never to be broken.
pub fn unbroken(text: &str) -> bool {
    lines(text) <= UNBROKEN
}

fn lines(text: &str) -> usize {
    letters(text).div_ceil(LINE)
}

/// Letters that a text takes; what cannot be shown is told by its number.
fn letters(text: &str) -> usize {
    text.chars().map(|character| if shows(character) { 1 } else { AS_NUMBER }).sum()
}

/// The words of a block of running text.
fn running(block: &Block) -> Option<String> {
    match block {
        Block::Paragraph(text) | Block::Claim(text) | Block::Hold(text) | Block::Caution(text) => Some(text.clone()),
        Block::Line(line) | Block::Lead(line) => Some(plain(line)),
        _ => None,
    }
}

/// How many blocks find room beside the pattern of a step, until it is as high as they are: words, and a line of blanks.
pub fn beside(blocks: &[Block]) -> usize {
    let mut height = 0;
    for (count, block) in blocks.iter().enumerate() {
        match (block, running(block)) {
            (_, Some(text)) if height < BESIDE => height += lines(&text),
            (Block::Table(table), _) if height < BESIDE && blanks(table) => return count + 1,
            _ => return count,
        }
    }
    blocks.len()
}

/// Whether a table is blanks alone, which find room in less than the whole width.
fn blanks(table: &Table) -> bool {
    table.rows.iter().flatten().all(|cell| matches!(cell, Cell::Fill(_)))
}

/// Whether a block stays on the page of the one behind it.
pub fn stays(blocks: &[Block], at: usize) -> bool {
    let (Some(block), Some(next)) = (blocks.get(at), blocks.get(at + 1)) else { return false };
    match block {
        Block::Line(line) if matches!(line.as_slice(), [Inline::Strong(_)]) => true,
        Block::Table(table) => whole(table) && (closes(next) || remark(next) && !stays(blocks, at + 1)),
        Block::Paragraph(_) | Block::Claim(_) | Block::Line(_) | Block::Hold(_) | Block::Caution(_) => {
            let short = running(block).is_some_and(|text| text.chars().count() <= INTRODUCING);
            short && introduced(next) && !closes(block)
        }
        _ => false,
    }
}

fn introduced(block: &Block) -> bool {
    matches!(block, Block::Table(_) | Block::Figure(_) | Block::List(_) | Block::Boxes(_))
}

fn remark(block: &Block) -> bool {
    let said = matches!(block, Block::Paragraph(_) | Block::Line(_));
    said && running(block).is_some_and(|text| text.chars().count() <= INTRODUCING)
}

/// Whether a table is small enough never to be broken.
pub fn whole(table: &Table) -> bool {
    let height: usize = table
        .rows
        .iter()
        .map(|row| row.iter().enumerate().map(|(x, c)| cell_lines(table, x, c)).max().unwrap_or(1))
        .sum();
    // Empty lines may go on overleaf, under their heads.
    let lines_to_write_on = blanks(table) && table.rows.len() > 3;
    table.rows.len() <= SMALL.0 && height <= SMALL.1 && !lines_to_write_on
}

/// Whether a cell is short enough never to be broken.
pub fn whole_cell(table: &Table, column: usize, cell: &Cell) -> bool {
    cell_lines(table, column, cell) <= UNBROKEN
}

/// Letters of a cell.
pub fn length(cell: &Cell) -> usize {
    match cell {
        Cell::Text(text) => letters(text),
        Cell::Line(line) => letters(&plain(line)),
        Cell::Strip(_) | Cell::Fill(_) => 0,
    }
}

fn cell_lines(table: &Table, column: usize, cell: &Cell) -> usize {
    if let Cell::Fill(_) = cell {
        return 2;
    }
    let wide = |at: usize| match table.columns.get(at).map(|column| column.align) {
        Some(Align::Left) => {
            let longest = table.rows.iter().filter_map(|row| row.get(at)).map(length).max().unwrap_or(0);
            longest.clamp(COLUMN.0, COLUMN.1)
        }
        _ => 2 * COLUMN.0,
    };
    let all: usize = (0..table.columns.len()).map(wide).sum();
    (length(cell) * all).div_ceil(LINE * wide(column)).max(1)
}

/// A part of the record.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Part {
    /// A paragraph that is not broken.
    Whole,
    /// The first lines of a long one, which stay together and with what follows.
    Head,
    /// What follows them, which may break.
    Rest,
}

/// The record in parts, between which it may break.
pub fn record(text: &str) -> Vec<(Part, String)> {
    let mut parts = Vec::new();
    let mut paragraph: Vec<&str> = Vec::new();
    for line in text.lines().chain(std::iter::once("")) {
        if !line.trim().is_empty() {
            paragraph.push(line);
            continue;
        }
        let height: usize = paragraph.iter().map(|line| lines(line)).sum();
        let head = if height <= RECORD.0 { paragraph.len() } else { paragraph.len().min(RECORD.1) };
        let (head, rest) = paragraph.split_at(head);
        parts.extend([
            (if rest.is_empty() { Part::Whole } else { Part::Head }, head.join("\n")),
            (Part::Rest, rest.join("\n")),
        ]);
        paragraph.clear();
    }
    parts.retain(|(_, text)| !text.is_empty());
    for (part, text) in &mut parts {
        if text.lines().map(lines).sum::<usize>() > 2 * RECORD.0 {
            *part = Part::Rest;
        }
    }
    parts
}

#[cfg(test)]
mod tests {
    use super::*;

    fn table(rows: usize, words: &str) -> Block {
        let mut table = Table::new(&[("lot", Align::Left), ("g", Align::Point)]);
        (0..rows).for_each(|_| table.push(vec![Cell::text(words), Cell::text("1.5")]));
        Block::Table(table)
    }

    fn said(text: &str) -> Block {
        Block::Paragraph(text.to_owned())
    }

    #[test]
    fn a_line_stays_with_what_it_introduces_and_a_small_table_with_its_remark() {
        let blocks = [said("Not yet."), table(3, "cake"), said("As displayed."), Block::Heading("Waste".to_owned())];
        assert_eq!((0..4).map(|at| stays(&blocks, at)).collect::<Vec<_>>(), [true, true, false, false]);
        let long = [table(40, "cake"), said("As displayed.")];
        assert!(!stays(&long, 0));
        let next = [table(3, "cake"), said("The other:"), table(3, "cake")];
        assert_eq!((0..2).map(|at| stays(&next, at)).collect::<Vec<_>>(), [false, true]);
    }

    #[test]
    fn what_would_not_fit_on_a_page_may_break() {
        let Block::Table(few) = table(3, &"word ".repeat(900)) else { panic!("a table") };
        assert!(!whole(&few) && !whole_cell(&few, 0, &few.rows[0][0]));
        assert!(unbroken("Hot crucible.") && !unbroken(&"word ".repeat(900)));
    }

    #[test]
    fn a_record_breaks_between_its_paragraphs_and_keeps_every_line() {
        let text = format!("title = \"x\"\n\n[[step]]\n{}\n\n\nlast = 1\n", "a = 1\n".repeat(20));
        let parts = record(&text);
        let kinds: Vec<Part> = parts.iter().map(|(part, _)| *part).collect();
        assert_eq!(kinds, [Part::Whole, Part::Head, Part::Rest, Part::Whole]);
        let kept: usize = parts.iter().map(|(_, text)| text.lines().count()).sum();
        assert_eq!(kept, text.lines().filter(|line| !line.is_empty()).count());
    }

    #[test]
    fn as_much_stands_beside_a_pattern_as_it_is_high() {
        let blocks = [said("short"), said(&"word ".repeat(60)), said("below"), table(1, "r1")];
        assert_eq!(beside(&blocks), 2);
        assert_eq!(beside(&blocks[3..]), 0);
        let mut done = Table::new(&[("done as written", Align::Left)]);
        done.push(vec![Cell::Fill(String::new())]);
        assert_eq!(beside(&[said("short"), Block::Table(done), said("below")]), 2);
    }
}
