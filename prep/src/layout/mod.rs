//! How does a preparation file look when it is tidy?
//!
//! One layout: the fields of the file first, then supplies, instruments, vessels, steps with their readings, and
//! suppositions, each kind in the order of the author; an empty line before each table; keys of a paragraph aligned;
//! one spelling for each quantity and formula. Comments, the order of the fields in a table and their paragraphs are
//! the author's. What is written is read once more: unless fields and comments are the same as before, nothing is
//! given back.

mod arrange;
mod comments;
mod print;

use crate::outcome::Finding;
use crate::world::{Nowhere, World};
use crate::{freeze, read_beside};
use toml_edit::Document;

pub(crate) use comments::comments;

/// Why a file was not laid out.
#[derive(Clone, Debug)]
pub enum Untidied {
    /// It has errors.
    Wrong(Vec<Finding>),
    /// It would not have kept a field or a comment.
    NotKept,
}

/// The file in its tidy layout. A tidy file comes back as it is.
///
/// # Errors
/// [`Untidied`] with the findings of a file that has errors.
///
/// ```
/// let text = "title='A'\n[[step]]\nname=\"dry\"  # overnight\naction=\"dry\"\ntake={cake=\"all\"}\ngives={solid=\"all\"}\n\
///             [[step]]\nname=\"filter\"\naction=\"filter\"\ntake={water=\"10,0 g\"}\ngives={a=\"solids\"}\n";
/// assert!(prep::tidy(text.as_bytes()).is_err(), "there is no cake");
/// let tidy = prep::tidy(text.replace("cake=\"all\"", "water=\"10,0 +/- 0,2 g\"").as_bytes());
/// let tidy = tidy.map_err(|why| format!("{why:?}"))?;
/// assert!(tidy.starts_with("title = \"A\"\n\n[[step]]\nname   = \"dry\"   # overnight\naction = \"dry\"\n"));
/// assert!(tidy.contains("take   = { water = \"10.0 ± 0.2 g\" }"));
/// # Ok::<(), String>(())
/// ```
pub fn tidy(bytes: &[u8]) -> Result<String, Untidied> {
    tidy_beside(bytes, &Nowhere)
}

/// The tidy layout of a file that may take lots of other files.
///
/// # Errors
/// As [`tidy`].
pub fn tidy_beside(bytes: &[u8], world: &dyn World) -> Result<String, Untidied> {
    let reading = read_beside(bytes, world);
    let Some(preparation) = reading.preparation else { return Err(Untidied::Wrong(reading.findings)) };
    let written = laid_out(&preparation.text).ok_or(Untidied::NotKept)?;
    if is_kept(&preparation.text, &written) { Ok(written) } else { Err(Untidied::NotKept) }
}

/// The layout of a text that is valid TOML.
fn laid_out(text: &str) -> Option<String> {
    let document = Document::parse(text).ok()?;
    Some(print::print(&arrange::arrange(document.as_table(), text)))
}

/// Whether fields and comments are the same.
fn is_kept(before: &str, after: &str) -> bool {
    let fields = |text: &str| {
        let document = Document::parse(text.to_owned()).ok()?;
        Some(freeze::stated_fields(document.as_table(), |_, _| true))
    };
    let remarks = |text: &str| {
        let mut texts: Vec<String> = comments(text).into_iter().map(|comment| comment.text).collect();
        texts.sort_unstable();
        texts
    };
    fields(before).is_some() && fields(before) == fields(after) && remarks(before) == remarks(after)
}

#[cfg(test)]
pub(crate) mod tests;
