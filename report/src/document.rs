//! What does a page hold, before anybody has chosen paper or screen?
//!
//! A document is a small tree of headings, paragraphs, ruled tables and findings with every figure already rounded.
//! It knows nothing of widths, colours or fonts: [`crate::text`] sets it for a terminal. Words follow the look:
//! verdict first, then the number, then the cause; "consistent with", never "identified"; "none", not a blank.

mod account;
mod crystals;
mod dry;
mod equilibrium;
mod evidence_words;
mod fields;
mod findings;
mod furnace;
mod heat;
mod history;
mod hot;
mod ignite;
mod inline;
mod next;
mod paper;
mod plan;
mod question;
mod references;
mod replicates;
mod report;
mod resources;
mod screening;
mod sheet;
mod solution;
mod solution_figures;
mod standing;
mod step_solution;
mod substance;
mod titrate;
mod waste;

pub use account::account_document;
pub use crystals::{crystallise_document, wash_document};
pub use dry::dry_document;
pub use equilibrium::equilibrium_document;
pub use fields::fields_document;
pub use findings::cause_words;
pub use furnace::furnace_document;
pub use history::history_document;
pub use hot::{gas_question_document, heat_question_document};
pub use ignite::ignite_document;
pub use inline::{Inline, LETTERS, Line, identifier, letter, link, plain, strong, target, words};
pub use next::next_document;
pub use paper::{Attachment, Paper};
pub use plan::plan_document;
pub use question::{formula_document, label_document, reaction_document};
pub use replicates::replicates_document;
pub use report::{Written, brief_report, closes, full_report, talk};
pub use sheet::{Bench, bench_sheet};
pub use solution::solution_document;
pub use standing::STANDING_LINES;
pub use substance::substance_document;
pub use titrate::titrate_document;

use crate::strip::Strip;
pub use prep::outcome::Severity;

/// A page.
#[derive(Clone, Debug, PartialEq)]
pub struct Document {
    /// Title.
    pub title: String,
    /// What follows it, in reading order.
    pub blocks: Vec<Block>,
}

/// A part of a page.
#[derive(Clone, Debug, PartialEq)]
pub enum Block {
    /// Heading of a section.
    Heading(String),
    /// Heading inside a section: a step.
    Subheading(String),
    /// The sentence a reader takes away.
    Claim(String),
    /// Running text.
    Paragraph(String),
    /// Points of equal rank.
    List(Vec<String>),
    /// A caution; stands before what it warns of.
    Caution(String),
    /// A ruled table.
    Table(Table),
    /// Something to tell the user.
    Finding(FindingText),
    /// Running text whose figures lead to where they come from.
    Line(Line),
    /// The sentence a reader takes away, with such figures.
    Lead(Line),
    /// A condition to go on; everything stops before it.
    Hold(String),
    /// A picture with its words.
    Figure(Box<crate::figure::Figure>),
    /// Boxes of equal rank side by side, each with its title and points.
    Boxes(Vec<(String, Vec<String>)>),
    /// An address, to be opened with a phone from paper.
    Address {
        /// What it opens, in words.
        text: String,
        /// The address.
        address: String,
    },
    /// Heading of a section that links lead to.
    Anchored {
        /// Identifier.
        id: String,
        /// Heading.
        heading: String,
    },
    /// Text kept letter by letter.
    Verbatim(String),
    /// What follows begins on a page of its own where there are pages.
    NewPage,
}

/// A finding in words.
#[derive(Clone, Debug, PartialEq)]
pub struct FindingText {
    /// How grave.
    pub severity: Severity,
    /// Stable code.
    pub code: &'static str,
    /// Line and column in the file, if it is about a line.
    pub place: Option<(usize, usize)>,
    /// The sentence.
    pub message: String,
    /// What would be right.
    pub hints: Vec<String>,
    /// What would explain it, each with the amount needed.
    pub causes: Vec<String>,
}

/// How the cells of a column stand.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Align {
    /// Words.
    Left,
    /// Numbers, decimal points in line.
    Point,
    /// Interval strips.
    Strip,
}

/// A column of a table.
#[derive(Clone, Debug, PartialEq)]
pub struct Column {
    /// Head, with the unit if the column has one.
    pub head: String,
    /// How its cells stand.
    pub align: Align,
}

/// A cell of a table.
#[derive(Clone, Debug, PartialEq)]
pub enum Cell {
    /// Words or a number.
    Text(String),
    /// An interval drawn.
    Strip(Strip),
    /// Words with figures that lead to where they come from.
    Line(Line),
    /// A blank to fill in by hand, with its unit behind it.
    Fill(String),
}

/// A ruled table.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Table {
    /// Columns.
    pub columns: Vec<Column>,
    /// Rows; each has as many cells as there are columns.
    pub rows: Vec<Vec<Cell>>,
    /// Whether the last row is a sum, set off by a rule.
    pub total: bool,
}

impl Table {
    /// A table without rows.
    #[must_use]
    pub fn new(columns: &[(&str, Align)]) -> Self {
        let columns = columns.iter().map(|(head, align)| Column { head: (*head).to_owned(), align: *align }).collect();
        Self { columns, rows: Vec::new(), total: false }
    }

    /// Adds a row; missing cells are blank, surplus ones are dropped.
    pub fn push(&mut self, mut cells: Vec<Cell>) {
        cells.resize(self.columns.len(), Cell::blank());
        self.rows.push(cells);
    }
}

impl Cell {
    /// A cell with words or a number.
    #[must_use]
    pub fn text(text: impl Into<String>) -> Self {
        Self::Text(text.into())
    }

    /// A cell with nothing in it.
    #[must_use]
    pub const fn blank() -> Self {
        Self::Text(String::new())
    }
}

/// Words in a row: "a", "a and b", "a, b and c".
pub(crate) fn listed(words: &[String]) -> String {
    match words {
        [] => "none".to_owned(),
        [only] => only.clone(),
        [first @ .., last] => format!("{} and {last}", first.join(", ")),
    }
}

/// Name of an element for a sentence ("copper"); the symbol if it is not one.
pub(crate) fn element_name(symbol: &str) -> String {
    chem::Element::from_symbol(symbol).map_or_else(|| symbol.to_owned(), |element| element.name().to_owned())
}

/// A text as a sentence of its own: a capital and a full stop.
#[must_use]
pub fn full_sentence(text: &str) -> String {
    let text = sentence(text.trim());
    if text.ends_with(['.', '?', '!']) { text } else { text + "." }
}

/// The text with its first letter in upper case.
#[must_use]
pub fn sentence(text: &str) -> String {
    let mut characters = text.chars();
    characters.next().map_or_else(String::new, |first| first.to_uppercase().chain(characters).collect())
}
