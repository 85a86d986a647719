//! What may stand inside a line: words, figures that point at where they come from, marks of status.
//!
//! Links and targets live in one document. A terminal shows their words alone; pages and paper make them work. The
//! status of a figure is a raised letter, explained where the letters are first used, so that it survives a grey printer
//! and a photocopy.

use chem::quantity::Status;

/// A part of a line.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Inline {
    /// Words; formulas in them are set.
    Text(String),
    /// Words that carry weight.
    Strong(String),
    /// A figure that no longer stands, struck with one line and readable.
    Struck(String),
    /// Words that lead to a target of the same document.
    Link {
        /// Identifier of the target.
        to: String,
        /// Words.
        text: String,
    },
    /// A place that links lead to.
    Target {
        /// Identifier.
        id: String,
        /// Words.
        text: String,
    },
    /// The status of the figure before it.
    Status(Status),
}

/// A line: its parts in order.
pub type Line = Vec<Inline>;

/// Words.
#[must_use]
pub fn words(text: impl Into<String>) -> Inline {
    Inline::Text(text.into())
}

/// Words with weight.
#[must_use]
pub fn strong(text: impl Into<String>) -> Inline {
    Inline::Strong(text.into())
}

/// Words that lead to a target.
#[must_use]
pub fn link(to: impl Into<String>, text: impl Into<String>) -> Inline {
    Inline::Link { to: to.into(), text: text.into() }
}

/// A place that links lead to.
#[must_use]
pub fn target(id: impl Into<String>, text: impl Into<String>) -> Inline {
    Inline::Target { id: id.into(), text: text.into() }
}

/// The letter of a status.
#[must_use]
pub const fn letter(status: Status) -> &'static str {
    match status {
        Status::Measured => "m",
        Status::Label => "l",
        Status::Literature => "t",
        Status::Derived => "d",
        Status::Estimated => "e",
        Status::Assumed => "a",
    }
}

/// The letters explained, for the foot of a page.
pub const LETTERS: &str = "Raised letters: m measured, l from the label, t from tables and literature, d derived from other figures, e estimated by a rule, a assumed.";

/// The words of a line, for where nothing but words can stand.
#[must_use]
pub fn plain(line: &[Inline]) -> String {
    let mut out = String::new();
    for part in line {
        match part {
            Inline::Text(text) | Inline::Strong(text) | Inline::Link { text, .. } | Inline::Target { text, .. } => {
                out += text
            }
            Inline::Struck(text) => {
                out += "[struck: ";
                out += text;
                out += "]";
            }
            Inline::Status(status) => {
                out += " [";
                out += letter(*status);
                out += "]";
            }
        }
    }
    out
}

/// An identifier for a target: letters, digits and hyphens only.
///
/// ```
/// assert_eq!(report::document::identifier("reading", "r 4/b"), "reading-r-4-b");
/// ```
#[must_use]
pub fn identifier(kind: &str, name: &str) -> String {
    let mut id = format!("{kind}-");
    for character in name.chars() {
        if character.is_ascii_alphanumeric() {
            id.push(character);
        } else if character.is_alphanumeric() {
            id += &format!("u{:x}", character as u32);
        } else {
            id.push('-');
        }
    }
    id
}
