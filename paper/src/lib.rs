//! How does a document come onto paper?
//!
//! A [`Paper`] goes in, the bytes of a PDF come out. The same tree that the terminal and the page
//! of HTML print is written as markup of a typesetter (`markup`), which sets and tags it (`world`). Letters are
//! embedded, nothing is asked of the outside, and the same paper gives the same bytes: the only date is that of the paper.
//! Neglected: hyphenation, which words of chemistry do not survive.
//!
//! The typesetter is by far the heaviest thing that the program is made of, so it stands in this crate alone: whoever
//! works on numbers, words and figures does not build it.

mod cells;
mod keep;
mod markup;
mod qr;
mod world;

use report::document::{Block, Paper};
use std::fmt;

/// Sizes of paper.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub enum Size {
    /// 210 mm × 297 mm.
    #[default]
    A4,
    /// 8.5 in × 11 in.
    Letter,
}

impl Size {
    /// The size of this name.
    #[must_use]
    pub fn from_word(word: &str) -> Option<Self> {
        match word.trim().to_lowercase().as_str() {
            "a4" => Some(Self::A4),
            "letter" => Some(Self::Letter),
            _ => None,
        }
    }
}

/// Why no paper came out.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct NotSet {
    /// What the typesetter says.
    pub reasons: Vec<String>,
}

impl fmt::Display for NotSet {
    fn fmt(&self, formatter: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(formatter, "the paper could not be set: {}", self.reasons.join("; "))
    }
}

impl std::error::Error for NotSet {}

/// The end of a page that could not hold all.
const CUT: &str = "Here the page is full; what follows stands in the full report.";

/// The paper as a tagged PDF (PDF/UA-1), the same bytes for the same paper.
///
/// # Errors
/// [`NotSet`] with the reasons of the typesetter.
///
/// ```
/// use report::document::{Block, Document, Paper};
/// let document = Document { title: "A test".to_owned(), blocks: vec![Block::Paragraph("CuSO4·5H2O".to_owned())] };
/// let paper = Paper {
///     kicker: "Report".to_owned(), subtitle: String::new(), document, foot: String::new(),
///     date: (2026, 5, 3), small: false, attachments: Vec::new(),
/// };
/// let pdf = paper::pdf(&paper, paper::Size::A4)?;
/// assert!(pdf.starts_with(b"%PDF-"));
/// # Ok::<(), paper::NotSet>(())
/// ```
pub fn pdf(paper: &Paper, size: Size) -> Result<Vec<u8>, NotSet> {
    let set = |paper: &Paper| world::typeset(markup::write(paper, size), paper);
    let (whole, pages) = set(paper)?;
    if !paper.small || pages <= 1 {
        return Ok(whole);
    }
    // What is to be one page ends where the page ends, and says so.
    let mut found = whole;
    let (mut fits, mut too_many) = (0, paper.document.blocks.len());
    while too_many - fits > 1 {
        let kept = usize::midpoint(fits, too_many);
        let mut short = paper.clone();
        short.document.blocks.truncate(kept);
        short.document.blocks.push(Block::Paragraph(CUT.to_owned()));
        match set(&short)? {
            (bytes, 1) => (fits, found) = (kept, bytes),
            _ => too_many = kept,
        }
    }
    Ok(found)
}
