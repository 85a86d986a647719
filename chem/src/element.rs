//! Which elements are there, and what is the standard atomic weight of each?
//!
//! The table is "Standard atomic weights of the elements 2021" (Prohaska et al., Pure Appl. Chem. 94 (2022) 573) with
//! the revisions of 2024 for Zr, Gd and Lu. An element with an interval carries the published single (abridged)
//! value. The standard uncertainty is read as Possolo et al. (Pure Appl. Chem. 90 (2018) 395) propose: an interval
//! `[a, b]` is rectangular, u = (b − a)/√12; any other published uncertainty U is a rectangular half-width, u = U/√3.
//! A material of known origin is usually known better than that, so u errs on the large side; but a single value may
//! lie off the middle of its interval (O 15.999 by 0.0004), which u leaves out. The mass of bound or
//! missing electrons is neglected throughout (5.5·10⁻⁴ g/mol per charge).

use std::fmt;
use std::sync::LazyLock;

use crate::source::SourceKey;
use crate::table::{self, Row};

/// The embedded table of elements.
pub const TABLE: &str = include_str!("../../data/elements.tsv");

/// Number of named elements.
pub const COUNT: u8 = 118;

static ENTRIES: LazyLock<Vec<Option<Entry>>> = LazyLock::new(|| {
    let mut entries = vec![None; usize::from(COUNT) + 1];
    for entry in table::rows(TABLE).iter().filter_map(Entry::from_row) {
        if let Some(place) = entries.get_mut(usize::from(entry.atomic_number)) {
            *place = Some(entry);
        }
    }
    entries
});

/// Standard atomic weight of an element, in g/mol.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct AtomicWeight {
    /// Published value, abridged where an interval is the standard.
    pub value: f64,
    /// Standard uncertainty u of the value, rectangular (see the module head).
    pub standard_uncertainty: f64,
    /// The published interval, lower and upper bound.
    pub interval: Option<(f64, f64)>,
    /// Where the value comes from.
    pub source: SourceKey,
}

#[derive(Clone, Copy, Debug)]
struct Entry {
    atomic_number: u8,
    symbol: &'static str,
    name: &'static str,
    atomic_weight: Option<AtomicWeight>,
}

impl Entry {
    fn from_row(row: &Row<'static>) -> Option<Entry> {
        let atomic_number = row.cell("atomic_number").parse().ok()?;
        let symbol = row.cell("symbol");
        if symbol.is_empty() || row.cell("name").is_empty() || !row.is_complete() {
            return None;
        }
        Some(Entry { atomic_number, symbol, name: row.cell("name"), atomic_weight: atomic_weight_of(row) })
    }
}

fn atomic_weight_of(row: &Row<'static>) -> Option<AtomicWeight> {
    let interval = row.number("interval_low").zip(row.number("interval_high"));
    let standard_uncertainty = match interval {
        Some((low, high)) => (high - low) / 12_f64.sqrt(),
        None => row.number("uncertainty")? / 3_f64.sqrt(),
    };
    Some(AtomicWeight {
        value: row.number("atomic_weight")?,
        standard_uncertainty,
        interval,
        source: SourceKey::from_text(row.cell("source"))?,
    })
}

/// A chemical element, ordered by atomic number.
///
/// ```
/// use chem::Element;
/// let copper = Element::from_symbol("Cu").ok_or("no such element")?;
/// assert_eq!((copper.name(), copper.atomic_number()), ("copper", 29));
/// assert!(copper > Element::OXYGEN);
/// # Ok::<(), &str>(())
/// ```
#[derive(Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct Element(u8);

impl Element {
    /// Hydrogen.
    pub const HYDROGEN: Element = Element(1);
    /// Carbon.
    pub const CARBON: Element = Element(6);
    /// Nitrogen.
    pub const NITROGEN: Element = Element(7);
    /// Oxygen.
    pub const OXYGEN: Element = Element(8);
    /// Sulfur.
    pub const SULFUR: Element = Element(16);

    /// The element with this symbol, written exactly (`Cu`, not `CU`).
    pub fn from_symbol(symbol: &str) -> Option<Element> {
        ENTRIES.iter().flatten().find(|entry| entry.symbol == symbol).map(|entry| Element(entry.atomic_number))
    }

    /// The element with this number of protons, 1 to 118.
    pub fn from_atomic_number(atomic_number: u8) -> Option<Element> {
        (1..=COUNT).contains(&atomic_number).then_some(Element(atomic_number))
    }

    /// All elements, by atomic number.
    pub fn all() -> impl Iterator<Item = Element> {
        (1..=COUNT).map(Element)
    }

    fn entry(self) -> Option<&'static Entry> {
        ENTRIES.get(usize::from(self.0)).and_then(Option::as_ref)
    }

    /// Symbol, such as `Cu`.
    pub fn symbol(self) -> &'static str {
        self.entry().map_or("?", |entry| entry.symbol)
    }

    /// English IUPAC name in lower case, such as `copper`.
    pub fn name(self) -> &'static str {
        self.entry().map_or("?", |entry| entry.name)
    }

    /// Number of protons, 1 to 118.
    pub const fn atomic_number(self) -> u8 {
        self.0
    }

    /// Standard atomic weight, g/mol; `None` for elements that have none (Tc, Pm, Po … Ac, Np and beyond).
    pub fn atomic_weight(self) -> Option<AtomicWeight> {
        self.entry().and_then(|entry| entry.atomic_weight)
    }
}

impl fmt::Debug for Element {
    fn fmt(&self, formatter: &mut fmt::Formatter<'_>) -> fmt::Result {
        formatter.write_str(self.symbol())
    }
}

impl fmt::Display for Element {
    fn fmt(&self, formatter: &mut fmt::Formatter<'_>) -> fmt::Result {
        formatter.write_str(self.symbol())
    }
}
