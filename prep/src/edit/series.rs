//! How is a lot that was weighed weighed again, in the same reading?
//!
//! The figure goes to the end of the list under `weigh`; those before it stay as they are.

use super::{EditError, Edited, Entry, Place, parsed, pieces, set};
use toml_edit::{Item, TableLike};

/// Adds a further weighing to a reading. `after` is its time since the first one; it is left out where the reading states
/// `every`.
///
/// # Errors
/// [`EditError`]; nothing is changed then. [`EditError::WrongShape`] where the time is missing, or one too many.
///
/// ```
/// use prep::edit::weigh_again;
/// let text = "[[step]]\nname = \"dry\"\n[[step.reading]]\nid = \"r1\"\nweigh = \"48.62 g\"\nevery = \"1 h\"\n";
/// let text = weigh_again(text, "r1", "46.10 g", None)?;
/// assert!(text.contains("weigh = [\"48.62 g\", \"46.10 g\"]\nevery"));
/// # Ok::<(), prep::edit::EditError>(())
/// ```
pub fn weigh_again(text: &str, reading: &str, figure: &str, after: Option<&str>) -> Edited {
    let document = parsed(text)?;
    let place = Place::Reading(reading);
    let found = pieces::find(document.as_table(), place)?;
    let mut figures = listed(found.table, "weigh")?;
    let mut times = listed(found.table, "after")?;
    let spaced = found.table.contains_key("every");
    match after {
        Some(after) if !spaced => {
            if times.is_empty() && figures.len() == 1 {
                times.push("0 h".to_owned());
            }
            times.push(after.to_owned());
        }
        None if spaced || figures.is_empty() => {}
        _ => return Err(EditError::WrongShape("after".to_owned())),
    }
    figures.push(figure.to_owned());
    let weigh = match figures.as_slice() {
        [only] => Entry::Text(only.clone()),
        _ => Entry::Texts(figures),
    };
    let written = set(text, place, "weigh", &weigh)?;
    if after.is_none() { Ok(written) } else { set(&written, place, "after", &Entry::Texts(times)) }
}

/// The texts of a field: one, or a list of them.
fn listed(table: &dyn TableLike, key: &str) -> Result<Vec<String>, EditError> {
    let wrong = || EditError::WrongShape(key.to_owned());
    match table.get(key) {
        Some(Item::None) | None => Ok(Vec::new()),
        Some(item) => match (item.as_str(), item.as_array()) {
            (Some(text), _) => Ok(vec![text.to_owned()]),
            (_, Some(array)) => {
                let texts = array.iter().map(|value| value.as_str().map(str::to_owned));
                texts.collect::<Option<Vec<String>>>().ok_or_else(wrong)
            }
            _ => Err(wrong()),
        },
    }
}
