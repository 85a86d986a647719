//! How is a page set for a terminal or a plain text file?
//!
//! Rules, not boxes: a double rule under the title, hairlines under headings and column heads, nothing around. Text
//! folds at spaces between 80 and 120 columns; a number never parts from its unit or its ±, because those spaces do
//! not break. Tables that do not fit lose their strips first, then fold their words. Everything survives without
//! colour: weight is added for a terminal, form carries the meaning.

use crate::document::{Align, Block, Cell, Document, FindingText, Table, plain};
use crate::number::{self, NO_BREAK, THIN};
use comfy_table::{CellAlignment, ContentArrangement, LineStyle, TableStyle};
use prep::outcome::Severity;

/// Narrowest and widest page, in characters.
const WIDTHS: std::ops::RangeInclusive<usize> = 80..=120;
/// Characters of an interval strip, as wide as there is room for.
const STRIPS: [usize; 4] = [25, 21, 17, 13];

/// How a page is set.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Page {
    width: usize,
    weight: bool,
}

impl Page {
    /// A plain page of a width that is brought between 80 and 120 characters.
    #[must_use]
    pub fn plain(width: usize) -> Self {
        Self { width: width.clamp(*WIDTHS.start(), *WIDTHS.end()), weight: false }
    }

    /// The same page with bold headings, as ANSI sequences.
    #[must_use]
    pub fn with_weight(self) -> Self {
        Self { weight: true, ..self }
    }

    fn strong(self, text: &str) -> String {
        if self.weight { format!("\u{1b}[1m{text}\u{1b}[0m") } else { text.to_owned() }
    }
}

/// Sets a document as text; every line ends with a line feed, none has a space at its end.
#[must_use]
pub fn render(document: &Document, page: Page) -> String {
    let mut lines = Vec::new();
    for line in fold(&document.title, page.width, "", "") {
        lines.push(page.strong(&line));
    }
    lines.push("═".repeat(page.width));
    let mut tight = false;
    for block in &document.blocks {
        if !tight || matches!(block, Block::Heading(_) | Block::Subheading(_)) {
            lines.push(String::new());
        }
        tight = matches!(block, Block::Heading(_) | Block::Subheading(_) | Block::Caution(_));
        lines.extend(self::block(block, page));
    }
    let mut text = String::new();
    for line in lines {
        text.push_str(line.replace([NO_BREAK, THIN], " ").trim_end());
        text.push('\n');
    }
    text
}

fn block(block: &Block, page: Page) -> Vec<String> {
    match block {
        Block::Heading(text) => {
            let rule = "─".repeat(text.chars().count().min(page.width));
            vec![page.strong(text), rule]
        }
        Block::Subheading(text) => vec![page.strong(text)],
        Block::Claim(text) | Block::Paragraph(text) => fold(text, page.width, "", ""),
        Block::List(points) => points.iter().flat_map(|point| fold(point, page.width, "– ", "  ")).collect(),
        Block::Caution(text) => fold(&caution(text), page.width, "▒ ", "▒ "),
        Block::Table(table) => self::table(table, page.width),
        Block::Finding(finding) => self::finding(finding, page),
        Block::Line(line) | Block::Lead(line) => fold(&plain(line), page.width, "", ""),
        Block::Hold(text) => fold(text, page.width, "║ Hold. ", "║ "),
        Block::Figure(figure) => fold(&format!("[{}: {}]", figure.title, figure.description), page.width, "", ""),
        Block::Boxes(boxes) => boxes.iter().flat_map(|(title, points)| boxed(title, points, page)).collect(),
        Block::Address { text, address } => vec![format!("{text}: {address}")],
        Block::Anchored { heading, .. } => self::block(&Block::Heading(heading.clone()), page),
        Block::Verbatim(text) => text.lines().map(|line| format!("    {line}")).collect(),
        Block::NewPage => Vec::new(),
    }
}

fn boxed(title: &str, points: &[String], page: Page) -> Vec<String> {
    let mut lines = vec![page.strong(title)];
    lines.extend(points.iter().flat_map(|point| fold(point, page.width, "  – ", "    ")));
    lines
}

fn finding(finding: &FindingText, page: Page) -> Vec<String> {
    let sign = match finding.severity {
        Severity::Error => "✗",
        Severity::Warning => "◆",
        Severity::Caution => "▒",
        Severity::Note => "◇",
    };
    let place = finding.place.map(|(line, column)| format!(", line {line}, column {column}")).unwrap_or_default();
    let mut lines = vec![page.strong(&format!("{sign} {} {}{place}", finding.severity.word(), finding.code))];
    lines.extend(fold(&finding.message, page.width, "  ", "  "));
    for cause in &finding.causes {
        lines.extend(fold(cause, page.width, "  would explain it: ", "    "));
    }
    for hint in &finding.hints {
        lines.extend(fold(hint, page.width, "  remedy: ", "    "));
    }
    lines
}

/// Folds text at ordinary spaces; a word longer than the line stays whole.
fn fold(text: &str, width: usize, first: &str, rest: &str) -> Vec<String> {
    let mut lines = Vec::new();
    let mut line = first.to_owned();
    let mut empty = true;
    for word in text.split([' ', '\n', '\t']).filter(|word| !word.is_empty()) {
        let needed = line.chars().count() + usize::from(!empty) + word.chars().count();
        if !empty && needed > width {
            lines.push(std::mem::replace(&mut line, rest.to_owned()));
            empty = true;
        }
        if !empty {
            line.push(' ');
        }
        line.push_str(word);
        empty = false;
    }
    lines.push(line);
    lines
}

/// Sets a table, without its strips if they do not fit.
fn table(table: &Table, width: usize) -> Vec<String> {
    let has_strips = table.columns.iter().any(|column| column.align == Align::Strip);
    let unfolded = table.rows.len() + 2 + usize::from(table.total);
    STRIPS
        .into_iter()
        .filter(|_| has_strips)
        .map(|strip| set(table, width, Some(strip)))
        .find(|lines| lines.len() == unfolded && lines.iter().all(|line| line.chars().count() <= width))
        .unwrap_or_else(|| set(table, width, None))
}

fn set(table: &Table, width: usize, strip: Option<usize>) -> Vec<String> {
    let kept: Vec<usize> = (0..table.columns.len())
        .filter(|&index| strip.is_some() || table.columns[index].align != Align::Strip)
        .collect();
    let columns: Vec<Vec<String>> = kept.iter().map(|&index| cells(table, index, strip.unwrap_or(0))).collect();
    let mut grid = comfy_table::Table::new();
    grid.load_style(TableStyle::new().header_separator(LineStyle::none().fill('─').junction('─')));
    grid.set_content_arrangement(ContentArrangement::Dynamic);
    grid.set_width(u16::try_from(width).unwrap_or(u16::MAX));
    grid.set_header(kept.iter().map(|&index| {
        let column = &table.columns[index];
        let alignment = if column.align == Align::Point { CellAlignment::Right } else { CellAlignment::Left };
        comfy_table::Cell::new(&column.head).set_alignment(alignment)
    }));
    for row in 0..table.rows.len() {
        let texts = columns.iter().map(|column| column.get(row).map_or("", String::as_str));
        grid.add_row(texts.map(comfy_table::Cell::new));
    }
    for (place, &index) in kept.iter().enumerate() {
        if let Some(column) = grid.column_mut(place) {
            column.set_padding((u16::from(place > 0), 1));
            if table.columns[index].align == Align::Point {
                column.set_cell_alignment(CellAlignment::Right);
            }
        }
    }
    let mut lines: Vec<String> = grid.lines().collect();
    if table.total && lines.len() > 1 {
        let rule = lines.iter().map(|line| line.trim_end().chars().count()).max().unwrap_or(0);
        lines.insert(lines.len() - 1, "─".repeat(rule));
    }
    lines
}

/// The cells of a column as text, numbers with their points in line.
fn cells(table: &Table, index: usize, strip_width: usize) -> Vec<String> {
    let texts: Vec<String> = table
        .rows
        .iter()
        .map(|row| match row.get(index) {
            Some(Cell::Text(text)) => text.clone(),
            Some(Cell::Strip(strip)) => strip.draw(strip_width),
            Some(Cell::Line(line)) => plain(line),
            Some(Cell::Fill(unit)) => format!("______ {unit}"),
            None => String::new(),
        })
        .map(indent)
        .collect();
    if table.columns[index].align == Align::Point { number::align_points(&texts) } else { texts }
}

/// Keeps the spaces that set a part under its lot.
fn indent(text: String) -> String {
    let depth = text.chars().take_while(|character| *character == ' ').count();
    if depth == 0 { text } else { NO_BREAK.to_string().repeat(depth) + text.trim_start() }
}

/// A caution with its signal word; what the author wrote has none.
fn caution(text: &str) -> String {
    let signalled = ["Danger: ", "Warning: "].iter().any(|word| text.starts_with(word));
    if signalled { text.to_owned() } else { format!("Caution. {text}") }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn text_folds_at_spaces_but_never_between_number_and_unit() {
        let text = format!("one two 24.41{NO_BREAK}±{NO_BREAK}0.045{NO_BREAK}g three");
        let lines = fold(&text, 20, "", "  ");
        assert_eq!(lines, ["one two", &format!("  24.41{NO_BREAK}±{NO_BREAK}0.045{NO_BREAK}g"), "  three"]);
    }

    #[test]
    fn a_wide_table_loses_its_strips_and_then_folds() {
        let mut table = Table::new(&[("what", Align::Left), ("", Align::Strip)]);
        let interval = prep::outcome::Interval {
            median: 1.0,
            mean: 1.0,
            standard_uncertainty: 0.1,
            low: 0.8,
            high: 1.2,
            level: 0.9,
            lower_quartile: 0.9,
            upper_quartile: 1.1,
            unit: "g",
            basis: None,
        };
        let scale = crate::strip::Scale::own(&interval);
        let strip = Cell::Strip(crate::strip::Strip { interval: Some(interval), scale, marks: Vec::new() });
        table.push(vec![Cell::text("word ".repeat(40)), strip]);
        let lines = super::table(&table, 80);
        assert!(lines.iter().all(|line| line.chars().count() <= 80));
        assert!(lines.iter().all(|line| !line.contains('┃')));
        assert!(lines.len() > 3, "the words fold");
    }

    #[test]
    fn widths_are_brought_into_bounds() {
        assert_eq!(Page::plain(3).width, 80);
        assert_eq!(Page::plain(1000).width, 120);
    }
}
