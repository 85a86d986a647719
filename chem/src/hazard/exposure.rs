//! How much of a gas or dust may be in the air that somebody breathes?
//!
//! Limits of workplaces: a mean over a shift, 15 minutes, a ceiling, and what is immediately dangerous. They are made for
//! healthy adults at work. Several authorities are listed; the lowest counts.
//!
//! Source: row by row in `data/exposure.tsv`.

use std::sync::LazyLock;

use crate::formula::Formula;
use crate::source::SourceKey;
use crate::table;

/// The embedded table of limits.
pub const TABLE: &str = include_str!("../../../data/exposure.tsv");

/// What a limit is for.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum LimitKind {
    /// Mean over a shift.
    Mean,
    /// Mean over 15 minutes.
    Short,
    /// At no time.
    Ceiling,
    /// Immediately dangerous to life or health.
    Danger,
}

impl LimitKind {
    /// The limit in words.
    pub const fn words(self) -> &'static str {
        match self {
            LimitKind::Mean => "the limit for a shift",
            LimitKind::Short => "the limit for 15 min",
            LimitKind::Ceiling => "the ceiling",
            LimitKind::Danger => "what is immediately dangerous",
        }
    }

    fn from_word(word: &str) -> Option<LimitKind> {
        match word {
            "mean" => Some(LimitKind::Mean),
            "short" => Some(LimitKind::Short),
            "ceiling" => Some(LimitKind::Ceiling),
            "danger" => Some(LimitKind::Danger),
            _ => None,
        }
    }
}

/// One limit.
#[derive(Clone, Debug, PartialEq)]
pub struct Limit {
    /// Substance.
    pub formula: Formula,
    /// Its name.
    pub name: &'static str,
    /// What it is for.
    pub kind: LimitKind,
    /// Value, > 0.
    pub value: f64,
    /// `ppm` or `mg/m3`.
    pub unit: &'static str,
    /// Sources.
    pub sources: Vec<SourceKey>,
}

static LIMITS: LazyLock<Vec<Limit>> = LazyLock::new(|| {
    let read = |row: &table::Row<'static>| {
        Some(Limit {
            formula: Formula::parse(row.cell("formula")).ok()?,
            name: row.cell("name"),
            kind: LimitKind::from_word(row.cell("kind"))?,
            value: row.number("value")?,
            unit: row.cell("unit"),
            sources: row.cell("source").split(';').filter_map(|key| SourceKey::from_text(key.trim())).collect(),
        })
    };
    table::rows(TABLE).iter().filter_map(read).collect()
});

/// All limits.
pub fn all() -> &'static [Limit] {
    &LIMITS
}

/// The limits of a substance; none where nothing is listed, which does not mean that it is harmless.
///
/// ```
/// use chem::{Formula, hazard};
/// let limits = hazard::limits(&Formula::parse("CO")?);
/// assert!(limits.iter().any(|limit| limit.value == 35.0 && limit.unit == "ppm"));
/// # Ok::<(), chem::FormulaError>(())
/// ```
pub fn limits(formula: &Formula) -> Vec<&'static Limit> {
    LIMITS.iter().filter(|limit| limit.formula.composition() == formula.composition()).collect()
}
