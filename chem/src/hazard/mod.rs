//! What can a substance do to a person or a room, and what must it not meet?
//!
//! Facts only: [`statements`] of the UN Globally Harmonized System row by row, [`limits`] of the air at a workplace, the
//! [`groups()`] that a formula is built of, the [`Class`]es that follow from them, [`pairs()`] that do not belong together, and
//! what is out of [`mod@bounds`]. A formula is judged by composition: isomers are not told apart, and a formula written in an
//! unusual order is judged like any other. Statements speak of the substance as such; dilute solutions are milder.
//! Absence from any of these tables does not show that something is safe.
//!
//! Source: row by row in `data/hazards.tsv`, `phrases.tsv`, `exposure.tsv`, `incompatible.tsv`, `refused.tsv`; most rows
//! are recalled, as they say.

pub mod bounds;
pub mod class;
pub mod exposure;
pub mod groups;
pub mod mixing;
pub mod pairs;
mod units;

pub use bounds::{Bound, Group, Reach, bound, formula_named, named};
pub use class::{Class, classes, classes_by};
pub use exposure::{Limit, LimitKind, limits};
pub use groups::{Groups, groups};
pub use mixing::mixing_heat;
pub use pairs::{Pair, Place, When, pairs};

use std::collections::BTreeMap;
use std::sync::LazyLock;

use crate::formula::Formula;
use crate::source::SourceKey;
use crate::table;

/// The embedded table of statements.
pub const TABLE: &str = include_str!("../../../data/hazards.tsv");
/// The embedded table of phrases.
pub const PHRASES: &str = include_str!("../../../data/phrases.tsv");

/// The signal word of a label.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Signal {
    /// "Warning".
    Warning,
    /// "Danger".
    Danger,
}

impl Signal {
    /// The word on a label.
    pub const fn word(self) -> &'static str {
        match self {
            Signal::Warning => "Warning",
            Signal::Danger => "Danger",
        }
    }
}

/// One hazard statement.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Statement {
    /// Code, such as `H314`.
    pub code: &'static str,
    /// Phrase.
    pub phrase: &'static str,
    /// Signal word, if the statement has one.
    pub signal: Option<Signal>,
    /// Pictogram, such as `GHS05`; empty if there is none.
    pub pictogram: &'static str,
}

/// What is known of the hazards of one substance.
#[derive(Clone, Debug, PartialEq)]
pub struct Hazards {
    /// Formula of the row.
    pub formula: Formula,
    /// Name.
    pub name: &'static str,
    /// Statements; none where the substance is not classified.
    pub statements: Vec<Statement>,
    /// Percent of a solution from which a statement holds, where the list sets it.
    pub limits: Vec<(Statement, f64)>,
    /// Index number of Annex VI; empty if the substance is not listed there.
    pub index: &'static str,
    /// Sources.
    pub sources: Vec<SourceKey>,
    /// For which form the statements hold.
    pub comment: &'static str,
}

impl Hazards {
    /// The gravest signal word.
    pub fn signal(&self) -> Option<Signal> {
        self.statements.iter().filter_map(|statement| statement.signal).max()
    }

    /// The pictograms, each once.
    pub fn pictograms(&self) -> Vec<&'static str> {
        pictograms(&self.statements)
    }
}

/// The pictograms of statements, each once: the skull speaks for the exclamation mark, and corrosion for that of skin and eyes.
///
/// # Source
/// UN GHS Rev. 9, 1.4.10.5.3.1 (from memory).
pub fn pictograms(statements: &[Statement]) -> Vec<&'static str> {
    let of = |sign: &str| statements.iter().any(|s| s.pictogram == sign);
    let (skull, corrosion) = (of("GHS06"), of("GHS05"));
    let skin = |s: &Statement| ["H315", "H319"].contains(&s.code);
    let shown = |s: &&Statement| s.pictogram != "GHS07" || !(skull || corrosion && skin(s));
    let mut list: Vec<&str> = statements.iter().filter(shown).map(|s| s.pictogram).filter(|p| !p.is_empty()).collect();
    list.sort_unstable();
    list.dedup();
    list
}

/// What a pictogram shows.
pub fn pictogram_word(sign: &str) -> &'static str {
    match sign {
        "GHS01" => "exploding bomb",
        "GHS02" => "flame",
        "GHS03" => "flame over circle",
        "GHS04" => "gas cylinder",
        "GHS05" => "corrosion",
        "GHS06" => "skull and crossbones",
        "GHS07" => "exclamation mark",
        "GHS08" => "health hazard",
        "GHS09" => "environment",
        _ => "",
    }
}

static PHRASE: LazyLock<BTreeMap<&'static str, Statement>> = LazyLock::new(|| {
    let read = |row: &table::Row<'static>| {
        let code = row.cell("code");
        let signal = match row.cell("signal") {
            "danger" => Some(Signal::Danger),
            "warning" => Some(Signal::Warning),
            _ => None,
        };
        (code, Statement { code, phrase: row.cell("phrase"), signal, pictogram: row.cell("pictogram") })
    };
    table::rows(PHRASES).iter().map(read).collect()
});

static HAZARDS: LazyLock<Vec<Hazards>> = LazyLock::new(|| {
    let read = |row: &table::Row<'static>| {
        Some(Hazards {
            formula: Formula::parse(row.cell("formula")).ok()?,
            name: row.cell("name"),
            statements: row.cell("codes").split_whitespace().filter_map(statement).collect(),
            limits: row.cell("limits").split_whitespace().filter_map(limit).collect(),
            index: row.cell("index"),
            sources: row.cell("source").split(';').filter_map(|key| SourceKey::from_text(key.trim())).collect(),
            comment: row.cell("comment"),
        })
    };
    table::rows(TABLE).iter().filter_map(read).collect()
});

/// A statement with its percentage, `H314:25`.
fn limit(text: &str) -> Option<(Statement, f64)> {
    let (code, percent) = text.split_once(':')?;
    Some((statement(code)?, percent.parse().ok()?))
}

/// The statement of a code.
pub fn statement_of(code: &str) -> Option<Statement> {
    statement(code)
}

/// The statement of a code of the table, `H272~` in its milder category.
fn statement(text: &str) -> Option<Statement> {
    let code = text.trim_end_matches('~');
    let found = *PHRASE.get(code)?;
    let milder = text.ends_with('~');
    Some(Statement { signal: if milder { Some(Signal::Warning) } else { found.signal }, ..found })
}

/// All rows.
pub fn all() -> &'static [Hazards] {
    &HAZARDS
}

/// The hazards of a substance; a row speaks for every hydrate of its formula. `None` where nothing is listed.
///
/// ```
/// use chem::{Formula, hazard};
/// let bluestone = hazard::statements(&Formula::parse("CuSO4·5H2O")?).ok_or("not listed")?;
/// assert_eq!(bluestone.signal(), Some(hazard::Signal::Danger));
/// assert!(bluestone.statements.iter().any(|s| s.code == "H410"));
/// # Ok::<(), Box<dyn std::error::Error>>(())
/// ```
pub fn statements(formula: &Formula) -> Option<&'static Hazards> {
    let dry = |formula: &Formula| {
        if formula.same_substance(&Formula::water()) { formula.clone() } else { formula.without_hydrate_water() }
    };
    let bare = dry(formula);
    let same = |other: &Formula| other.composition() == bare.composition() && other.charge() == bare.charge();
    HAZARDS.iter().find(|row| row.formula == *formula).or_else(|| HAZARDS.iter().find(|row| same(&dry(&row.formula))))
}
