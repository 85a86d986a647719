//! Where does a number come from?
//!
//! Every row of every table names a key; the key stands for one citation in `data/sources.tsv`. A key is a static
//! text, so it is copied with each number at no cost and survives every lookup.

use std::fmt;
use std::sync::LazyLock;

use crate::table;

/// The embedded table of citations.
pub const TABLE: &str = include_str!("../../data/sources.tsv");

static SOURCES: LazyLock<Vec<Source>> = LazyLock::new(|| table::rows(TABLE).iter().map(Source::from_row).collect());

/// One entry of the table of citations.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Source {
    /// The short key that rows of tables name.
    pub key: SourceKey,
    /// The publication, report or practice.
    pub citation: &'static str,
    /// Terms under which the numbers may be passed on.
    pub terms: &'static str,
}

impl Source {
    fn from_row(row: &table::Row<'static>) -> Source {
        Source { key: SourceKey(row.cell("key")), citation: row.cell("citation"), terms: row.cell("terms") }
    }

    /// All sources, in the order of the table.
    pub fn all() -> &'static [Source] {
        &SOURCES
    }
}

/// The short key of a source, such as `ciaaw-2021`.
///
/// ```
/// use chem::SourceKey;
/// let key = SourceKey::from_text("ciaaw-2021").ok_or("unknown source")?;
/// assert!(key.citation().contains("Prohaska"));
/// assert_eq!(SourceKey::from_text("hearsay"), None);
/// # Ok::<(), &str>(())
/// ```
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct SourceKey(&'static str);

impl SourceKey {
    /// Standard atomic weights 2021.
    pub const CIAAW_2021: SourceKey = SourceKey("ciaaw-2021");
    /// Standard atomic weights revised in 2024.
    pub const CIAAW_2024: SourceKey = SourceKey("ciaaw-2024");
    /// Common laboratory practice.
    pub const COMMON_PRACTICE: SourceKey = SourceKey("common-practice");
    /// Estimated by a published rule.
    pub const ESTIMATED: SourceKey = SourceKey("estimated");
    /// Keyed from memory, unverified.
    pub const FROM_MEMORY: SourceKey = SourceKey("from-memory");
    /// Thermodynamic difference rules for hydrates.
    pub const DIFFERENCE_RULES: SourceKey = SourceKey("difference-rules");
    /// The label of the supply.
    pub const LABEL: SourceKey = SourceKey("label");
    /// The preparation file.
    pub const FILE: SourceKey = SourceKey("file");

    /// A key by its text; `None` unless the table of citations lists it.
    pub fn from_text(text: &str) -> Option<SourceKey> {
        SOURCES.iter().map(|source| source.key).find(|key| key.0 == text)
    }

    /// A key written in the program itself; the tests of the tables check that it is listed.
    pub const fn new(text: &'static str) -> SourceKey {
        SourceKey(text)
    }

    /// The text of the key.
    pub const fn as_str(self) -> &'static str {
        self.0
    }

    /// The entry of the table of citations.
    pub fn source(self) -> Option<&'static Source> {
        SOURCES.iter().find(|source| source.key == self)
    }

    /// The citation; the key itself where the table does not list it.
    pub fn citation(self) -> &'static str {
        self.source().map_or(self.0, |source| source.citation)
    }
}

impl fmt::Display for SourceKey {
    fn fmt(&self, formatter: &mut fmt::Formatter<'_>) -> fmt::Result {
        formatter.write_str(self.0)
    }
}
