//! Tables on paper: widths of columns, points in line, strips, blanks.
//!
//! A column of words shares what is left by the length of its longest cell; numbers and strips take what they need. Points
//! stand in line because digits are equally wide and missing ones are set unseen.

use crate::keep::{length, whole, whole_cell};
use crate::markup::{Writer, literal, rich};
use report::document::{Align, Cell, Table};
use report::figure::strip::strip_on_paper;
use std::fmt::Write as _;

/// Words longer than this share the width; shorter ones take what they need, characters.
const SHORT: usize = 16;
/// The same in a table with blanks, which want the room.
const SHORT_BESIDE_BLANKS: usize = 20;
/// Width of a blank without a unit.
const NARROW_BLANK: &str = "16mm";
/// A column that shares counts as at least this long, characters.
const SHARING: usize = 24;
/// A head longer than this asks for a sentence, characters.
const SENTENCE: usize = 36;
/// No column counts as longer than this, characters.
const LONGEST: usize = 70;

/// The table without columns that hold nothing; the first stays.
fn without_empty(table: &Table) -> Table {
    let empty = |cell: Option<&Cell>| matches!(cell, None | Some(Cell::Text(_))) && cell.is_none_or(|c| length(c) == 0);
    let kept: Vec<usize> =
        (0..table.columns.len()).filter(|at| *at == 0 || !table.rows.iter().all(|row| empty(row.get(*at)))).collect();
    let row = |row: &Vec<Cell>| kept.iter().filter_map(|at| row.get(*at).cloned()).collect();
    Table {
        columns: kept.iter().filter_map(|at| table.columns.get(*at).cloned()).collect(),
        rows: table.rows.iter().map(row).collect(),
        total: table.total,
    }
}

/// Writes a table; one that stays is on the page of what follows it.
pub fn ledger(writer: &mut Writer, table: &Table, stays: bool) {
    let table = &without_empty(table);
    let widths: Vec<String> = (0..table.columns.len()).map(|at| width(table, at)).collect();
    let mut widths = widths;
    let words_first = table.columns.first().is_some_and(|column| column.align == Align::Left);
    if words_first && !widths.iter().any(|width| width.ends_with("fr")) {
        fill_width(&mut widths);
    }
    let written = table.rows.iter().flatten().any(|cell| matches!(cell, Cell::Fill(_)));
    let aligns = vec![if written { "left + bottom" } else { "left + top" }; table.columns.len()];
    let _ = write_head(writer, table, &widths, &aligns, stays);
    let points: Vec<Vec<usize>> = (0..table.columns.len()).map(|at| unseen(table, at)).collect();
    for (row, cells) in table.rows.iter().enumerate() {
        writer.raw("(");
        for (at, cell) in cells.iter().enumerate() {
            let missing = points.get(at).and_then(|column| column.get(row)).copied().unwrap_or(0);
            let whole = whole_cell(table, at, cell);
            writer.raw(if whole { "" } else { "(long: " });
            self::cell(writer, cell, missing);
            writer.raw(if whole { "" } else { ")" });
            writer.raw(", ");
        }
        writer.raw("), ");
    }
    writer.raw("), (");
    for row in heads(table) {
        writer.raw(&format!("{row}, "));
    }
    writer.raw("))\n");
}

/// Rows that head the indented ones after them: they stand again where the page turns within their part.
fn heads(table: &Table) -> Vec<usize> {
    let indented = |row: Option<&Vec<Cell>>| matches!(row.and_then(|row| row.first()), Some(Cell::Text(text)) if text.starts_with(' '));
    (0..table.rows.len()).filter(|row| !indented(table.rows.get(*row)) && indented(table.rows.get(row + 1))).collect()
}

/// Lets the blanks of a table without long words share its width, or its first column if there are none.
fn fill_width(widths: &mut [String]) {
    let blanks: Vec<usize> = (0..widths.len()).filter(|at| widths[*at] == NARROW_BLANK).collect();
    if blanks.is_empty()
        && let Some(first) = widths.first_mut()
    {
        *first = "1fr".to_owned();
    }
    for at in blanks {
        widths[at] = "1fr".to_owned();
    }
}

fn write_head(writer: &mut Writer, table: &Table, widths: &[String], aligns: &[&str], stays: bool) -> std::fmt::Result {
    let mut head = String::new();
    write!(head, "#ledger(({},), ({},), (", widths.join(", "), aligns.join(", "))?;
    // A rule before each column of words but the first, as in an account book.
    for (at, column) in table.columns.iter().enumerate().skip(1) {
        if column.align == Align::Left {
            write!(head, "{at}, ")?;
        }
    }
    write!(head, "), (")?;
    for column in &table.columns {
        write!(head, "[{}], ", rich(&column.head))?;
    }
    write!(head, "), {}, {}, {}, {stays}, (", table.total, named(table), whole(table))?;
    writer.raw(&head);
    Ok(())
}

/// Whether the first column names its rows: words in every one, and something beside them.
fn named(table: &Table) -> bool {
    let words = |row: &Vec<Cell>| matches!(row.first(), Some(Cell::Text(_) | Cell::Line(_)));
    table.columns.len() > 1
        && table.columns.first().is_some_and(|column| column.align == Align::Left)
        && table.rows.iter().all(words)
}

fn cell(writer: &mut Writer, cell: &Cell, missing: usize) {
    match cell {
        Cell::Text(text) => {
            let depth = text.chars().take_while(|character| *character == ' ').count();
            writer.raw("[");
            if depth > 0 {
                writer.raw("#h(1em)");
            }
            if missing > 0 {
                writer.raw(&format!("#hide({})", literal(&"0".repeat(missing))));
            }
            writer.raw(&rich(text.trim_start_matches(' ')));
            writer.raw("]");
        }
        Cell::Line(line) => {
            writer.raw("[");
            writer.line(line);
            writer.raw("]");
        }
        Cell::Strip(strip) => {
            let (svg, words) = strip_on_paper(strip);
            let path = writer.file(svg.into_bytes());
            writer.raw(&format!("strip(\"{path}\", {})", literal(&words)));
        }
        Cell::Fill(unit) => writer.raw(&format!("blank[{}]", rich(unit))),
    }
}

/// Width of a column.
fn width(table: &Table, at: usize) -> String {
    let column = table.columns.get(at);
    match column.map_or(Align::Left, |column| column.align) {
        Align::Point | Align::Strip => return "auto".to_owned(),
        Align::Left => {}
    }
    let cells: Vec<&Cell> = table.rows.iter().filter_map(|row| row.get(at)).collect();
    let head = column.map_or(0, |column| column.head.chars().count());
    if cells.iter().any(|cell| matches!(cell, Cell::Fill(_))) {
        let longest = cells.iter().map(|cell| if let Cell::Fill(unit) = cell { unit.chars().count() } else { 0 }).max();
        return match (paired(table), longest.unwrap_or(0)) {
            // Long words over a blank ask for much to be written.
            (true, _) if head > SENTENCE => format!("{}fr", 4 * SHARING),
            (true, _) => format!("{}fr", head.max(SHARING)),
            (false, 0) => NARROW_BLANK.to_owned(),
            (false, unit) if unit > 4 => "36mm".to_owned(),
            (false, _) => "24mm".to_owned(),
        };
    }
    let longest = cells.iter().map(|cell| length(cell)).max().unwrap_or(0).max(head);
    let written = table.rows.iter().flatten().any(|cell| matches!(cell, Cell::Fill(_)));
    if longest > if written { SHORT_BESIDE_BLANKS } else { SHORT } {
        format!("{}fr", longest.clamp(SHARING, LONGEST))
    } else {
        "auto".to_owned()
    }
}

/// Whether all is blanks, or each blank has its words before it: then they share the width.
fn paired(table: &Table) -> bool {
    let fill = |cell: &Cell| matches!(cell, Cell::Fill(_));
    let after_words = |row: &Vec<Cell>| row.iter().enumerate().all(|(at, cell)| fill(cell) == (at % 2 == 1));
    table.rows.iter().flatten().all(fill) || table.rows.iter().all(after_words)
}

/// Digits that are missing before the point in each row of a column of numbers.
fn unseen(table: &Table, at: usize) -> Vec<usize> {
    if table.columns.get(at).is_none_or(|column| column.align != Align::Point) {
        return vec![0; table.rows.len()];
    }
    let digits = |cell: Option<&Cell>| match cell {
        Some(Cell::Text(text)) => {
            text.chars().take_while(|c| c.is_ascii_digit() || *c == '\u{202f}').filter(char::is_ascii_digit).count()
        }
        _ => 0,
    };
    let counts: Vec<usize> = table.rows.iter().map(|row| digits(row.get(at))).collect();
    let most = counts.iter().copied().max().unwrap_or(0);
    counts.into_iter().map(|count| if count == 0 { 0 } else { most - count }).collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn what_heads_indented_rows_is_a_head_and_empty_columns_go() {
        let mut table = Table::new(&[("lot", Align::Left), ("g", Align::Point), ("%", Align::Point)]);
        for lot in ["cake", "  CuO(s)", "  foreign matter", "liquor"] {
            table.push(vec![Cell::text(lot), Cell::blank(), Cell::text("1")]);
        }
        assert_eq!(heads(&table), [0]);
        assert_eq!(without_empty(&table).columns.len(), 2);
    }

    #[test]
    fn points_stand_in_line_by_unseen_digits() {
        let mut table = Table::new(&[("g", Align::Point)]);
        for figure in ["1.5", "123.25", "none"] {
            table.push(vec![Cell::text(figure)]);
        }
        assert_eq!(unseen(&table, 0), [2, 0, 0]);
    }
}
