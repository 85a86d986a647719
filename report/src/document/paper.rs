//! What goes onto paper beside the document itself: the line above the title, the foot of each page, what is attached.
//!
//! One [`Paper`] serves the PDF and the page of its own in HTML, so the two cannot differ in words or figures.

use super::Document;

/// A file that goes along with the paper.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Attachment {
    /// Name of the file.
    pub name: String,
    /// Media type.
    pub mime: &'static str,
    /// What it is, in words.
    pub description: String,
    /// Its bytes.
    pub bytes: Vec<u8>,
}

/// A document with all that paper needs.
#[derive(Clone, Debug, PartialEq)]
pub struct Paper {
    /// Line above the title: what kind of paper this is.
    pub kicker: String,
    /// Line under the title.
    pub subtitle: String,
    /// The document.
    pub document: Document,
    /// Foot of every page.
    pub foot: String,
    /// Year, month, day.
    pub date: (i32, u8, u8),
    /// Whether it is set small, to stand on one page.
    pub small: bool,
    /// What goes along.
    pub attachments: Vec<Attachment>,
}
