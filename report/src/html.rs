//! How is a document set on a page of the notebook?
//!
//! The same [`Document`] that the terminal prints, as HTML with the classes of the look; no style stands in an
//! attribute, because the pages allow none. Text is escaped by construction. Formulas in running text are set with
//! drawn inferiors where the text parses as a formula and holds a digit; a word that merely looks like one is left.
//! Columns of numbers keep their decimal points in one line by the width of their widest whole part.

pub mod alone;
pub mod formula;
pub mod inline;

use crate::document::{Align, Block, Cell, Document, FindingText, Table, full_sentence, sentence};
use crate::figure::strip::strip_mark;
use formula::rich;
pub use maud::{Markup, PreEscaped, html};
use prep::outcome::Severity;

/// Letters of head and figure from which a cell is long.
const LONG: usize = 22;
/// Width of an interval strip in a table, px.
const STRIP: f64 = 160.0;

/// The blocks of a document without its title, in sections that begin at each heading.
#[must_use]
pub fn body(document: &Document) -> Markup {
    sections(&document.blocks, &[])
}

/// The same without the sections whose headings are named: those that the page draws itself.
#[must_use]
pub fn body_without(document: &Document, headings: &[&str]) -> Markup {
    sections(&document.blocks, headings)
}

fn sections(blocks: &[Block], without: &[&str]) -> Markup {
    let mut parts: Vec<Vec<&Block>> = vec![Vec::new()];
    for block in blocks {
        if matches!(block, Block::Heading(_)) {
            parts.push(Vec::new());
        }
        if let Some(part) = parts.last_mut() {
            part.push(block);
        }
    }
    let left_out =
        |part: &Vec<&Block>| matches!(part.first(), Some(Block::Heading(h)) if without.contains(&h.as_str()));
    html! {
        @for part in parts.iter().filter(|part| !part.is_empty() && !left_out(part)) {
            section.part { @for block in part { (one(block)) } }
        }
    }
}

/// One block.
#[must_use]
pub fn one(block: &Block) -> Markup {
    match block {
        Block::Heading(text) => html! { h2 { (rich(text)) } },
        Block::Subheading(text) => html! { h3.again { (rich(text)) } },
        Block::Claim(text) => html! { p.lead { (rich(text)) } },
        Block::Paragraph(text) => html! { p.say { (rich(text)) } },
        Block::List(points) => html! { ul.points { @for point in points { li { (rich(point)) } } } },
        Block::Caution(text) => caution(text),
        Block::Table(table) => set_table(table),
        Block::Finding(finding) => set_finding(finding),
        Block::Line(line) => html! { p.say { (inline::line(line)) } },
        Block::Lead(line) => html! { p.lead { (inline::line(line)) } },
        Block::Hold(text) => html! { div.hold { b { "Hold." } " " (rich(text)) } },
        Block::Figure(figure) => figure.html(),
        Block::Boxes(boxes) => set_boxes(boxes),
        Block::Address { text, address } => html! { p.fine { a href=(address) { (text) } } },
        Block::Anchored { id, heading } => html! { h2 id=(id) { (rich(heading)) } },
        Block::Verbatim(text) => html! { pre { (text) } },
        Block::NewPage => html! { div.newpage {} },
    }
}

fn set_boxes(boxes: &[(String, Vec<String>)]) -> Markup {
    html! {
        div.boxes { @for (title, points) in boxes {
            div.box { b { (title) } ul { @for point in points { li { (rich(point)) } } } }
        } }
    }
}

/// A caution: hatched edge, the word, the number first; on what it rests stands in a line of its own.
#[must_use]
pub fn caution(text: &str) -> Markup {
    let (word, rest) = signalled(text);
    let class = if word == "Danger." { "danger" } else { "caution" };
    let text = sentence(rest);
    let (what, more) = first_sentence(&text);
    let (more, basis) = more.split_once("Basis: ").map_or((more, None), |(more, basis)| (more.trim_end(), Some(basis)));
    html! {
        div class=(class) {
            b { (word) } " " (rich(what))
            @if !more.is_empty() { " " span.rest { (rich(more)) } }
            @if let Some(basis) = basis { " " span.basis { "Basis: " (rich(basis)) } }
        }
    }
}

/// The first sentence of a text, and what follows it.
fn first_sentence(text: &str) -> (&str, &str) {
    let mut ends = text.match_indices(". ").map(|(at, _)| at + 1);
    let capital = |at: &usize| text.get(*at..).is_some_and(|rest| rest.trim_start().starts_with(char::is_uppercase));
    match ends.find(capital) {
        Some(at) => (text.get(..at).unwrap_or(text), text.get(at..).unwrap_or_default().trim_start()),
        None => (text, ""),
    }
}

/// The signal word of a caution and the rest of it; what the author wrote has none.
#[must_use]
pub fn signalled(text: &str) -> (&'static str, &str) {
    for (signal, word) in [("Danger: ", "Danger."), ("Warning: ", "Warning.")] {
        if let Some(rest) = text.strip_prefix(signal) {
            return (word, rest);
        }
    }
    ("Caution.", text)
}

/// A finding: its sign by form, the sentence, what would be right, what would explain it.
#[must_use]
pub fn set_finding(finding: &FindingText) -> Markup {
    let (class, word) = match finding.severity {
        Severity::Error | Severity::Warning => ("wrong", "Wrong."),
        Severity::Caution => ("warn", "Caution."),
        Severity::Note => ("plain", "Note."),
    };
    html! {
        div class=(format!("found-note {class}")) {
            p {
                b { (word) } " " (rich(&full_sentence(&finding.message)))
                @if let Some((line, column)) = finding.place {
                    " " span.fine { "(line " (line) ", column " (column) ")" }
                }
            }
            @for hint in &finding.hints { p.q2 { (rich(&full_sentence(hint))) } }
            @if !finding.causes.is_empty() {
                ul.points { @for cause in &finding.causes { li { (rich(cause)) } } }
            }
        }
    }
}

fn set_table(table: &Table) -> Markup {
    let widths: Vec<(usize, usize)> = (0..table.columns.len()).map(|at| widths(table, at)).collect();
    html! {
        table.tbl.stack {
            thead { tr {
                @for (at, column) in table.columns.iter().enumerate() {
                    th scope="col" class=[(at > 0 && column.align == Align::Left).then_some("col")] {
                        (rich(&column.head))
                        @if column.head.is_empty() { span.vh { "drawn" } }
                    }
                }
            } }
            tbody {
                @for (row, cells) in table.rows.iter().enumerate() {
                    tr class=[(table.total && row + 1 == table.rows.len()).then_some("sum")] {
                        @for (at, cell) in cells.iter().enumerate() {
                            (set_cell(table, at, cell, widths.get(at).copied().unwrap_or_default()))
                        }
                    }
                }
            }
        }
    }
}

fn set_cell(table: &Table, at: usize, cell: &Cell, (whole, decimals): (usize, usize)) -> Markup {
    let column = table.columns.get(at);
    let align = column.map_or(Align::Left, |column| column.align);
    let head = column.map(|column| format!("{} ", column.head)).unwrap_or_default();
    match cell {
        Cell::Strip(strip) => html! { td.full { (strip_mark(strip, STRIP)) } },
        // The rule beside a column goes on where nothing stands in it.
        Cell::Text(text) if text.is_empty() => html! { td.blank.col[at > 0 && align == Align::Left] {} },
        Cell::Line(line) if at == 0 => html! { th scope="row" { (inline::line(line)) } },
        Cell::Line(line) => html! { td.col.full data-l=(head) { (inline::line(line)) } },
        Cell::Fill(unit) => html! { td.col.nb data-l=(head) { span.fill {} " " (rich(unit)) } },
        // A number alone does not say what it is where its column has no head any more.
        Cell::Text(text) if at == 0 => html! {
            th scope="row" data-l=[split(text).is_some().then_some(&head)] { (rich(text)) }
        },
        Cell::Text(text) if align == Align::Point => html! {
            @let full = if long(text, &head) { " full" } else { "" };
            td class=(format!("nb i{} d{}{full}", whole.min(9), decimals.min(9))) data-l=(head) { (pointed(text)) }
        },
        Cell::Text(text) => html! {
            td class=(if long(text, &head) { "col full" } else { "col" }) data-l=(head) { (rich(text)) }
        },
    }
}

/// Whether a cell with its head takes the whole line on a phone.
fn long(text: &str, head: &str) -> bool {
    text.chars().count() + head.chars().count() > LONG
}

/// Widest whole part and widest decimals of the first numbers of a column, in characters.
fn widths(table: &Table, at: usize) -> (usize, usize) {
    let mut widest = (1, 0);
    for row in &table.rows {
        let Some(Cell::Text(text)) = row.get(at) else { continue };
        if let Some((whole, decimals, _)) = split(text) {
            widest = (widest.0.max(whole.chars().count()), widest.1.max(decimals.chars().count()));
        }
    }
    widest
}

/// A number at the beginning of a text: whole part with its sign, decimals with their point, and what follows.
fn split(text: &str) -> Option<(&str, &str, &str)> {
    let first = text.strip_prefix('\u{2212}').unwrap_or(text);
    let sign = text.len() - first.len();
    let whole = first.find(|c: char| !(c.is_ascii_digit() || c == crate::number::THIN)).unwrap_or(first.len());
    if whole == 0 {
        return None;
    }
    let (head, rest) = text.split_at(sign + whole);
    let decimals = match rest.strip_prefix('.') {
        Some(digits) => 1 + digits.find(|c: char| !c.is_ascii_digit()).unwrap_or(digits.len()),
        None => 0,
    };
    let (decimals, rest) = rest.split_at(decimals);
    Some((head, decimals, rest))
}

/// A figure with its whole part in a box of its own, so that points stand in one line.
#[must_use]
pub fn pointed(text: &str) -> Markup {
    match split(text) {
        Some((whole, decimals, rest)) => html! {
            span.n { span.i { (whole) } span.d { (decimals) } } (rich(rest))
        },
        None => rich(text),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn text_is_escaped_and_formulas_are_set() {
        let set = one(&Block::Paragraph("<b>CuSO4·5H2O(s)</b> & Cu2CO3(OH)2".to_owned())).into_string();
        assert!(!set.contains("<b>"), "{set}");
        assert!(set.contains("&amp;"));
        assert!(set.contains("Cu<sub>2</sub>CO<sub>3</sub>(OH)<sub>2</sub>"), "{set}");
    }

    #[test]
    fn points_stand_in_one_line() {
        assert_eq!(split("\u{2212}12.50\u{a0}g"), Some(("\u{2212}12", ".50", "\u{a0}g")));
        assert_eq!(split("none"), None);
        let mut table = Table::new(&[("lot", Align::Left), ("g", Align::Point)]);
        table.push(vec![Cell::text("a"), Cell::text("1.5")]);
        table.push(vec![Cell::text("b"), Cell::text("123.25")]);
        let set = one(&Block::Table(table)).into_string();
        assert_eq!(set.matches("nb i3 d3").count(), 2, "{set}");
    }

    #[test]
    fn a_caution_tells_all_and_on_what_it_rests() {
        let set = caution("Warning: step “filter” draws. Goggles. Basis: common practice.").into_string();
        for part in [">Warning.</b> Step “filter” draws.", "rest\">Goggles.<", "basis\">Basis: common practice.<"] {
            assert!(set.contains(part), "{part}: {set}");
        }
        let set = caution("Hot crucible: tongs.").into_string();
        assert!(set.contains("Hot crucible: tongs.") && !set.contains("basis"), "{set}");
    }

    #[test]
    fn the_rule_beside_a_column_goes_on_where_nothing_stands() {
        let mut table = Table::new(&[("lot", Align::Left), ("g", Align::Point), ("told", Align::Left)]);
        table.push(vec![Cell::text("a"), Cell::text(""), Cell::text("")]);
        let set = one(&Block::Table(table)).into_string();
        let blanks = (set.matches("class=\"blank col\"").count(), set.matches("class=\"blank\"").count());
        assert_eq!(blanks, (1, 1), "{set}");
    }

    #[test]
    fn no_style_stands_in_an_attribute() {
        let table = Table::new(&[("lot", Align::Left)]);
        assert!(!one(&Block::Table(table)).into_string().contains("style="));
    }
}
