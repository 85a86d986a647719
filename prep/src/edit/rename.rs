//! Where else does a name stand, when a thing gets a new one?
//!
//! Supplies, balances, vessels, steps and lots are called by their names in other tables. A renaming changes the name and
//! every place that calls it, each by a cut of its own; nothing else moves. A name that is taken is refused: two things
//! of one name could not be told apart again.

use super::pieces::Pieces;
use super::{EditError, Edited, kept_valid, parsed};
use crate::spelling::{key_text, quoted};
use std::ops::Range;
use toml_edit::{Item, Table, TableLike, Value};

/// What gets a new name.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Named {
    /// A supply: charged by steps and weighed out by readings.
    Supply,
    /// A balance or piece of ware: readings are taken with it.
    Instrument,
    /// A vessel: steps are done in it, readings weigh it.
    Vessel,
    /// A step: suppositions and accepted findings are about it.
    Step,
    /// A lot: later steps take it, readings and tests are of it, jars take it.
    Lot,
}

impl Named {
    fn table(self) -> Option<&'static str> {
        match self {
            Self::Supply => Some("supply"),
            Self::Instrument => Some("instrument"),
            Self::Vessel => Some("vessel"),
            Self::Step => Some("step"),
            Self::Lot => None,
        }
    }
}

/// Gives a thing another name, here and everywhere it is called.
///
/// # Errors
/// [`EditError`]; nothing is changed then.
///
/// ```
/// use prep::edit::{Named, rename};
/// let text = "[[supply]]\nname = \"blue\"   # as sold\n\n[[step]]\nname = \"a\"\ntake = { blue = \"1 g\" }\n";
/// let text = rename(text, Named::Supply, "blue", "bluestone")?;
/// assert!(text.contains("\"bluestone\"   # as sold") && text.contains("{ bluestone = \"1 g\" }"));
/// # Ok::<(), prep::edit::EditError>(())
/// ```
pub fn rename(text: &str, what: Named, from: &str, to: &str) -> Edited {
    let to = to.trim();
    if from == to || to.is_empty() {
        return Ok(text.to_owned());
    }
    let document = parsed(text)?;
    let root = document.as_table();
    let pieces = Pieces::new(text, root);
    let taken = match what.table() {
        Some(table) => pieces.has(table, to),
        None => gives(root, to),
    };
    // Steps take supplies and lots by the same field.
    let taken = taken || (what == Named::Supply && gives(root, to)) || (what == Named::Lot && pieces.has("supply", to));
    if taken {
        return Err(EditError::AlreadyThere(to.to_owned()));
    }
    let mut places = Places { from, found: Vec::new() };
    places.own(root, what);
    if places.found.is_empty() {
        return Err(EditError::NoSuchPlace(format!("{} `{from}`", what.table().unwrap_or("lot"))));
    }
    places.calls(root, what);
    let mut found = places.found;
    found.sort_by_key(|(span, _)| std::cmp::Reverse(span.start));
    found.dedup();
    let mut written = text.to_owned();
    for (span, key) in found {
        written.replace_range(span, &if key { key_text(to) } else { quoted(to) });
    }
    kept_valid(&written)
}

/// Whether a step gives a lot of this name.
fn gives(root: &Table, name: &str) -> bool {
    tables(root.get("step")).any(|step| {
        let given = step.get("gives").and_then(Item::as_table_like);
        given.is_some_and(|given| given.contains_key(name))
    })
}

/// The tables of an array of tables, however it is written.
fn tables(item: Option<&Item>) -> impl Iterator<Item = &dyn TableLike> {
    let listed = item.and_then(Item::as_array_of_tables).into_iter().flat_map(|array| array.iter());
    let inline = item.and_then(Item::as_array).into_iter().flat_map(|array| array.iter());
    listed
        .map(|table| table as &dyn TableLike)
        .chain(inline.filter_map(|v| Some(v.as_inline_table()? as &dyn TableLike)))
}

/// Places where the name stands: as a key, or as a text.
struct Places<'a> {
    from: &'a str,
    found: Vec<(Range<usize>, bool)>,
}

impl Places<'_> {
    /// Where the thing itself has its name.
    fn own(&mut self, root: &Table, what: Named) {
        match what.table() {
            Some(table) => tables(root.get(table)).for_each(|table| self.text(table, "name")),
            None => tables(root.get("step")).for_each(|step| self.key(step, "gives")),
        }
    }

    /// Where others call it.
    fn calls(&mut self, root: &Table, what: Named) {
        for step in tables(root.get("step")) {
            if matches!(what, Named::Supply | Named::Lot) {
                self.key(step, "take");
            }
            if what == Named::Vessel {
                self.text(step, "in");
            }
            let field = match what {
                Named::Supply => "charge",
                Named::Instrument => "with",
                Named::Vessel => "in",
                Named::Lot => "of",
                Named::Step => continue,
            };
            tables(step.get("reading")).for_each(|reading| self.text(reading, field));
            if what == Named::Lot {
                tables(step.get("test")).for_each(|test| self.text(test, field));
            }
        }
        match what {
            Named::Step => {
                let about = tables(root.get("suppose")).chain(tables(root.get("accept")));
                about.for_each(|table| self.text(table, "step"));
            }
            Named::Lot => tables(root.get("waste")).for_each(|jar| self.text(jar, "takes")),
            Named::Supply | Named::Instrument | Named::Vessel => {}
        }
    }

    /// A field that is the name, or a list with it.
    fn text(&mut self, table: &dyn TableLike, field: &str) {
        let Some(value) = table.get(field).and_then(Item::as_value) else { return };
        let all: Vec<&Value> = value.as_array().map_or_else(|| vec![value], |list| list.iter().collect());
        let spans = all.into_iter().filter(|value| value.as_str() == Some(self.from)).filter_map(Value::span);
        self.found.extend(spans.map(|span| (span, false)));
    }

    /// A field with names as keys.
    fn key(&mut self, table: &dyn TableLike, field: &str) {
        let inner = table.get(field).and_then(Item::as_table_like);
        let span = inner.and_then(|inner| inner.key(self.from)).and_then(toml_edit::Key::span);
        self.found.extend(span.map(|span| (span, true)));
    }
}
