//! Which classes of substances do not belong together?
//!
//! A list of pairs, each with what comes of it, when, and where it matters: in one step, in a waste jar, on one shelf.
//! Absence from the list does not show that a mixture is safe.
//!
//! Source: published lists of incompatible chemicals, row by row in `data/incompatible.tsv`.

use std::sync::LazyLock;

use super::class::Class;
use crate::formula::Formula;
use crate::source::SourceKey;
use crate::table;

/// The embedded table of pairs.
pub const TABLE: &str = include_str!("../../../data/incompatible.tsv");

/// When a pair matters.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum When {
    /// Always.
    Always,
    /// Unless both are in a solution.
    Dry,
    /// When hot, or dried.
    Hot,
    /// With less water than ten times the first.
    Damp,
    /// When the first is a solid.
    Solid,
    /// When the acid is concentrated.
    Concentrated,
}

/// Where a pair matters.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Place {
    /// In one step.
    Step,
    /// In a waste jar.
    Waste,
    /// On one shelf.
    Shelf,
}

impl Place {
    const fn word(self) -> &'static str {
        match self {
            Place::Step => "step",
            Place::Waste => "waste",
            Place::Shelf => "shelf",
        }
    }
}

/// Two classes that do not belong together.
#[derive(Clone, Debug, PartialEq)]
pub struct Pair {
    /// One class.
    pub one: Class,
    /// The other.
    pub other: Class,
    /// `toxic gas`, `gas`, `hydrogen`, `heat`, `fire` or `explosion`.
    pub danger: &'static str,
    /// Gas that leaves, where it is one.
    pub gas: Option<Formula>,
    /// When.
    pub when: When,
    /// Where: words of [`Place`].
    places: &'static str,
    /// What comes of it, a clause.
    pub reason: &'static str,
    /// Sources.
    pub sources: Vec<SourceKey>,
}

impl Pair {
    /// Whether the pair matters there.
    pub fn matters(&self, place: Place) -> bool {
        self.places.split_whitespace().any(|word| word == place.word())
    }
}

static PAIRS: LazyLock<Vec<Pair>> = LazyLock::new(|| table::rows(TABLE).iter().filter_map(read).collect());

fn read(row: &table::Row<'static>) -> Option<Pair> {
    let when = match row.cell("when") {
        "" => When::Always,
        "dry" => When::Dry,
        "hot" => When::Hot,
        "damp" => When::Damp,
        "solid" => When::Solid,
        "concentrated" => When::Concentrated,
        _ => return None,
    };
    Some(Pair {
        one: Class::from_word(row.cell("one"))?,
        other: Class::from_word(row.cell("other"))?,
        danger: row.cell("danger"),
        gas: Formula::parse(row.cell("gas")).ok(),
        when,
        places: row.cell("where"),
        reason: row.cell("reason"),
        sources: row.cell("source").split(';').filter_map(|key| SourceKey::from_text(key.trim())).collect(),
    })
}

/// All pairs, in the order of the table.
///
/// ```
/// use chem::hazard::{Class, pairs};
/// assert!(pairs().iter().any(|pair| pair.one == Class::Hypochlorite && pair.other == Class::Acid));
/// ```
pub fn pairs() -> &'static [Pair] {
    &PAIRS
}
