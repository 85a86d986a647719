//! Which isotopes may a formula name, and what does an atom of each weigh?
//!
//! The table holds the isotopes that occur in nature and the radioactive ones used as tracers, with the masses of the
//! atomic mass evaluation AME2020 (Wang et al., Chinese Phys. C 45 (2021) 030003) and their standard uncertainties.
//! A mass is that of the neutral atom in its ground state; u is read as g/mol, which neglects 3.5·10⁻¹⁰ of it (the
//! molar mass constant since 2019). A labelled place counts as labelled in full: real labelled substances hold 95 to
//! 99.9 % of the isotope named, so their molar mass lies nearer to the natural one.

use std::fmt;
use std::sync::LazyLock;

use crate::element::Element;
use crate::source::SourceKey;
use crate::table::{self, Row};
use crate::uncertain::Uncertain;

/// The embedded table of isotopes.
pub const TABLE: &str = include_str!("../../data/isotopes.tsv");

static ENTRIES: LazyLock<Vec<Entry>> =
    LazyLock::new(|| table::rows(TABLE).iter().filter_map(Entry::from_row).collect());

#[derive(Clone, Copy, Debug)]
struct Entry {
    isotope: Isotope,
    mass: Uncertain,
    natural: bool,
    source: SourceKey,
}

impl Entry {
    fn from_row(row: &Row<'static>) -> Option<Entry> {
        let element = Element::from_symbol(row.cell("symbol"))?;
        let mass_number = row.cell("mass_number").parse().ok()?;
        Some(Entry {
            isotope: Isotope { element, mass_number },
            mass: Uncertain::new(row.number("mass")?, row.number("uncertainty")?),
            natural: row.cell("occurrence") == "natural",
            source: SourceKey::from_text(row.cell("source"))?,
        })
    }
}

/// An isotope of the table, ordered by atomic number and mass number.
///
/// ```
/// use chem::{Element, Isotope};
/// let heavy = Isotope::new(Element::OXYGEN, 18).ok_or("no such isotope")?;
/// assert_eq!(heavy.to_string(), "[18O]");
/// assert!((heavy.mass().value - 17.999_159_612).abs() < 1e-8);
/// assert_eq!(Isotope::new(Element::OXYGEN, 99), None);
/// # Ok::<(), &str>(())
/// ```
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct Isotope {
    element: Element,
    mass_number: u16,
}

impl Isotope {
    /// Deuterium, written D.
    pub const DEUTERIUM: Isotope = Isotope { element: Element::HYDROGEN, mass_number: 2 };
    /// Tritium, written T.
    pub const TRITIUM: Isotope = Isotope { element: Element::HYDROGEN, mass_number: 3 };

    /// The isotope of an element with this number of protons and neutrons; `None` unless the table has it.
    pub fn new(element: Element, mass_number: u16) -> Option<Isotope> {
        let isotope = Isotope { element, mass_number };
        isotope.entry().map(|_| isotope)
    }

    /// The isotopes of an element in the table, by mass number.
    pub fn of(element: Element) -> impl Iterator<Item = Isotope> {
        Isotope::all().filter(move |isotope| isotope.element == element)
    }

    /// All isotopes of the table, by atomic number and mass number.
    pub fn all() -> impl Iterator<Item = Isotope> {
        ENTRIES.iter().map(|entry| entry.isotope)
    }

    fn entry(self) -> Option<&'static Entry> {
        ENTRIES.iter().find(|entry| entry.isotope == self)
    }

    /// The element.
    pub const fn element(self) -> Element {
        self.element
    }

    /// Number of protons and neutrons.
    pub const fn mass_number(self) -> u16 {
        self.mass_number
    }

    /// Mass of the neutral atom with its standard uncertainty, g/mol.
    pub fn mass(self) -> Uncertain {
        self.entry().map_or(Uncertain::exact(f64::NAN), |entry| entry.mass)
    }

    /// Whether it occurs in nature in more than traces.
    pub fn is_natural(self) -> bool {
        self.entry().is_some_and(|entry| entry.natural)
    }

    /// Where the mass comes from.
    pub fn source(self) -> Option<SourceKey> {
        self.entry().map(|entry| entry.source)
    }

    /// The letter of its own that an isotope of hydrogen has: `D` or `T`.
    pub fn letter(self) -> Option<char> {
        match self {
            Isotope::DEUTERIUM => Some('D'),
            Isotope::TRITIUM => Some('T'),
            _ => None,
        }
    }
}

impl fmt::Display for Isotope {
    /// As a formula writes it: `D`, `T`, `[18O]`.
    fn fmt(&self, formatter: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self.letter() {
            Some(letter) => write!(formatter, "{letter}"),
            None => write!(formatter, "[{}{}]", self.mass_number, self.element),
        }
    }
}
