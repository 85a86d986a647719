//! How are the embedded tables read?
//!
//! Every table is tab-separated text: lines that open with `#` are remarks, the first other line names the columns,
//! each further line is a row. Cells are trimmed; nothing is quoted, so a cell cannot hold a tab or a line break.

/// One row of a table, with the number of its line for messages.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Row<'a> {
    /// Line in the file, counted from 1.
    pub line: usize,
    columns: Vec<&'a str>,
    cells: Vec<&'a str>,
}

impl<'a> Row<'a> {
    /// The cell under a column; an empty text where the row is short or the column does not exist.
    pub fn cell(&self, column: &str) -> &'a str {
        let position = self.columns.iter().position(|name| *name == column);
        position.and_then(|index| self.cells.get(index)).copied().unwrap_or("")
    }

    /// The cell under a column as a number; `None` where it is empty or no finite number.
    pub fn number(&self, column: &str) -> Option<f64> {
        self.cell(column).parse().ok().filter(|number: &f64| number.is_finite())
    }

    /// Whether the row has exactly as many cells as the table has columns.
    pub fn is_complete(&self) -> bool {
        self.cells.len() == self.columns.len()
    }
}

/// The rows of a table, in the order of the file.
///
/// ```
/// let rows = chem::table::rows("# remark\nkey\tvalue\na\t1.5\n");
/// assert_eq!(rows[0].cell("key"), "a");
/// assert_eq!(rows[0].number("value"), Some(1.5));
/// assert_eq!(rows[0].line, 3);
/// ```
pub fn rows(text: &str) -> Vec<Row<'_>> {
    let mut lines = text.lines().enumerate().filter(|(_, line)| !line.starts_with('#') && !line.trim().is_empty());
    let columns: Vec<&str> = match lines.next() {
        Some((_, header)) => header.split('\t').map(str::trim).collect(),
        None => return Vec::new(),
    };
    lines
        .map(|(index, line)| Row {
            line: index + 1,
            columns: columns.clone(),
            cells: line.split('\t').map(str::trim).collect(),
        })
        .collect()
}
