//! The reference of the preparation file as a page.

use super::{Align, Block, Cell, Document, Table};
use prep::fields::{Field, TABLES};

/// All tables and fields of a preparation file.
#[must_use]
pub fn fields_document() -> Document {
    let lead = "Quantities are text with a unit: `50.00 g`, `24.41 ± 0.06 g`, `98 .. 100 %`, `>= 98 %`. Formulas carry \
                their phase: (s), (l), (g), (aq). A field with * has to be there; where one of several has to be, that is said.";
    let mut blocks = vec![Block::Paragraph(lead.to_owned())];
    for table in TABLES {
        let header = match table.key {
            "" => "the file".to_owned(),
            "target" => "target = { … }".to_owned(),
            "from" => "from = { … } of a supply".to_owned(),
            "reading" => "[[step.reading]]".to_owned(),
            key => format!("[[{key}]]"),
        };
        blocks.push(Block::Heading(header));
        blocks.push(Block::Paragraph(table.about.to_owned()));
        let mut rows = Table::new(&[("field", Align::Left), ("what it says", Align::Left), ("example", Align::Left)]);
        for field in table.fields {
            let mark = if field.needed { " *" } else { "" };
            let example = if field.example.is_empty() { "see below" } else { field.example };
            rows.push(vec![Cell::text(format!("{}{mark}", field.key)), Cell::text(about(field)), Cell::text(example)]);
        }
        blocks.push(Block::Table(rows));
    }
    Document { title: "Fields of a preparation file".to_owned(), blocks }
}

/// What a field says, and what may stand in its place.
fn about(field: &Field) -> String {
    if field.instead.is_empty() {
        return field.about.to_owned();
    }
    format!(
        "{}; this or {}",
        field.about,
        field.instead.iter().map(|key| format!("`{key}`")).collect::<Vec<_>>().join(", ")
    )
}
