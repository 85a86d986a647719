//! What is in a formula: which elements, how many of each, which charge, how much water of crystallisation?
//!
//! Counts are exact fractions, so balancing is exact. The structure (brackets, hydrate parts) is kept for printing
//! and for recognising hydrates; nothing is derived from it beyond that. Isotopes are refused, not approximated. The
//! molar mass is that of the neutral atoms: the mass of electrons (5.5·10⁻⁴ g/mol per charge) is left out, as is usual
//! at the bench, and so an electron weighs nothing and masses balance in half-reactions.

mod error;
mod letters;
mod parse;
mod structure;

use std::cmp::Ordering;
use std::collections::BTreeMap;
use std::fmt;
use std::hash::{Hash, Hasher};
use std::str::FromStr;

use num_rational::Ratio;
use num_traits::{CheckedAdd, One, ToPrimitive, Zero};

pub use error::{FormulaError, FormulaErrorKind};
pub(crate) use structure::fraction_text;
use structure::{Member, Part};

use crate::element::Element;
use crate::uncertain::Uncertain;

/// Molar mass of the electron in g/mol (CODATA 2018), left out of every molar mass here.
pub const ELECTRON_MOLAR_MASS: f64 = 5.485_799_09e-4;

/// A chemical formula.
///
/// Two formulas are equal when they are written alike after normalisation: `CuSO4.5H2O`, `CuSO4*5H2O` and
/// `CuSO₄·5H₂O` are one, `Cu2CO3(OH)2` and `CuCO3·Cu(OH)2` are two formulas of one composition.
#[derive(Clone)]
pub struct Formula {
    parts: Vec<Part>,
    charge: i32,
    composition: BTreeMap<Element, Ratio<i64>>,
    canonical: String,
    written: String,
}

impl Formula {
    /// Reads a formula.
    ///
    /// * elements with counts: integers, decimals (`Fe0.947O`), subscript digits (`H₂O`);
    /// * brackets `( )`, `[ ]`, `{ }`, nested at most 32 deep;
    /// * hydrate dots `·`, `•`, `*` or a full stop, with a number before the part that follows: `5H2O`, `0.5H2O`,
    ///   `8/3H2O`; also before the first part, `2CaSO4·H2O`, where the whole is one formula unit;
    /// * a charge at the end: `^2-`, `^+`, `²⁻`, `++`, `-`; the electron is `e-`.
    ///
    /// A full stop between digits is a decimal point after 0 or 1, and where the formula, part or bracket ends with
    /// it (`YBa2Cu3O6.93`); before `H2O` or `NH3` it is a hydrate dot (`CuSO4.5H2O`); anything else is refused as
    /// ambiguous, and `_` says count (`Na_3.4Zr2`). Digits before a plain sign (`Fe3+`, `NO3-`) are refused as ambiguous
    /// too: `Fe^3+`, `NO3^-`.
    ///
    /// # Errors
    /// [`FormulaError`] with the place and what would be right.
    ///
    /// ```
    /// use chem::Formula;
    /// let alum = Formula::parse("KAl(SO4)2.12H2O")?;
    /// assert_eq!(alum.unicode(), "KAl(SO₄)₂·12H₂O");
    /// let error = Formula::parse("Xx2").err().ok_or("read nonsense")?;
    /// assert_eq!(error.to_string(), "`Xx` is no element; did you mean `Xe`?");
    /// assert_eq!((error.offset, error.length), (0, 2));
    /// # Ok::<(), Box<dyn std::error::Error>>(())
    /// ```
    pub fn parse(text: &str) -> Result<Formula, FormulaError> {
        let (parts, charge) = parse::parse(text)?;
        let out_of_range = || FormulaError::new(0, text.len(), FormulaErrorKind::CountsOutOfRange);
        Formula::build(parts, charge, text.trim().to_owned()).ok_or_else(out_of_range)
    }

    fn build(parts: Vec<Part>, charge: i32, written: String) -> Option<Formula> {
        let composition = structure::composition_of(&parts)?;
        let canonical = structure::canonical_text(&parts, charge);
        Some(Formula { parts, charge, composition, canonical, written })
    }

    /// The electron, `e^-`.
    pub fn electron() -> Formula {
        let canonical = structure::canonical_text(&[], -1);
        Formula { parts: Vec::new(), charge: -1, composition: BTreeMap::new(), written: canonical.clone(), canonical }
    }

    /// Water, `H2O`.
    pub fn water() -> Formula {
        let composition =
            BTreeMap::from([(Element::HYDROGEN, Ratio::from_integer(2)), (Element::OXYGEN, Ratio::one())]);
        let parts = vec![Part::water(Ratio::one())];
        let canonical = structure::canonical_text(&parts, 0);
        Formula { parts, charge: 0, composition, written: canonical.clone(), canonical }
    }

    /// The text in one spelling: `CuSO4·5H2O`, `SO4^2-`.
    pub fn text(&self) -> &str {
        &self.canonical
    }

    /// The text as it was written, without surrounding spaces.
    pub fn written(&self) -> &str {
        &self.written
    }

    /// The text with subscripts and superscripts: `CuSO₄·5H₂O`, `SO₄²⁻`.
    pub fn unicode(&self) -> String {
        structure::unicode_text(&self.canonical)
    }

    /// Charge number, such as −2 for `SO4^2-`.
    pub fn charge(&self) -> i32 {
        self.charge
    }

    /// Whether this is the electron.
    pub fn is_electron(&self) -> bool {
        self.composition.is_empty()
    }

    /// Atoms of each element per formula unit, exactly.
    pub fn composition(&self) -> &BTreeMap<Element, Ratio<i64>> {
        &self.composition
    }

    /// Atoms of each element per formula unit, by atomic number.
    pub fn elements(&self) -> impl Iterator<Item = (Element, f64)> {
        self.composition.iter().map(|(element, count)| (*element, to_f64(*count)))
    }

    /// Atoms of one element per formula unit; zero where it is absent.
    pub fn count(&self, element: Element) -> Ratio<i64> {
        self.composition.get(&element).copied().unwrap_or_else(Ratio::zero)
    }

    /// Whether two formulas name the same substance: alike but for the spelling of dots, digits and spaces.
    pub fn same_substance(&self, other: &Formula) -> bool {
        self.canonical == other.canonical
    }

    /// Molecules of water of crystallisation per formula unit, as written after a dot: 5 for `CuSO4·5H2O`.
    ///
    /// The formula unit stays what was written, so `2CaSO4·H2O` has 1 and [`Formula::without_hydrate_water`]
    /// gives `(CaSO4)2`.
    pub fn hydrate_water(&self) -> Ratio<i64> {
        let water = self.parts.iter().skip(1).filter(|part| part.is_water());
        water.fold(Ratio::zero(), |sum: Ratio<i64>, part| sum.checked_add(&part.multiplier).unwrap_or(sum))
    }

    /// The formula without its water of crystallisation: `CuSO4` for `CuSO4·5H2O`.
    pub fn without_hydrate_water(&self) -> Formula {
        let mut parts: Vec<Part> = self
            .parts
            .iter()
            .enumerate()
            .filter(|(index, part)| *index == 0 || !part.is_water())
            .map(|(_, part)| part.clone())
            .collect();
        if let [only] = parts.as_mut_slice()
            && !only.multiplier.is_one()
        {
            let members = std::mem::take(&mut only.members);
            only.members = vec![Member::Group { open: '(', members, count: only.multiplier }];
            only.multiplier = Ratio::one();
        }
        self.rebuilt(parts)
    }

    /// The hydrate of this formula with `water` molecules of water per formula unit, in place of what it holds now.
    ///
    /// Zero or less gives the anhydrous formula.
    ///
    /// ```
    /// use chem::Formula;
    /// use num_rational::Ratio;
    /// let gypsum = Formula::parse("CaSO4·2H2O")?;
    /// assert_eq!(gypsum.with_hydrate_water(Ratio::new(1, 2)).text(), "CaSO4·0.5H2O");
    /// # Ok::<(), chem::FormulaError>(())
    /// ```
    pub fn with_hydrate_water(&self, water: Ratio<i64>) -> Formula {
        let mut anhydrous = self.without_hydrate_water();
        if water > Ratio::zero() && !anhydrous.parts.is_empty() {
            anhydrous.parts.push(Part::water(water));
        }
        anhydrous.rebuilt(anhydrous.parts.clone())
    }

    /// A formula of other parts; itself where a count would leave the range.
    fn rebuilt(&self, parts: Vec<Part>) -> Formula {
        let written = structure::canonical_text(&parts, self.charge);
        Formula::build(parts, self.charge, written).unwrap_or_else(|| self.clone())
    }

    /// Molar mass M in g/mol with its standard uncertainty, from the standard atomic weights of [`crate::element`].
    ///
    /// ```text
    /// M = Σ n_E · A_E        u²(M) = Σ (n_E · u(A_E))²
    /// ```
    /// Atomic weights of different elements are taken as independent. Electrons weigh nothing here.
    ///
    /// # Errors
    /// `NoAtomicWeight` where an element has no standard atomic weight.
    ///
    /// # Source
    /// Propagation: JCGM 100:2008, clause 5.1.
    pub fn molar_mass(&self) -> Result<Uncertain, FormulaError> {
        self.molar_mass_with(&|element| {
            element.atomic_weight().map(|weight| (weight.value, weight.standard_uncertainty))
        })
    }

    /// Molar mass from another table of atomic weights: `table` gives value and standard uncertainty in g/mol.
    ///
    /// # Errors
    /// `NoAtomicWeight` where the table has no value for an element.
    pub fn molar_mass_with(&self, table: &dyn Fn(Element) -> Option<(f64, f64)>) -> Result<Uncertain, FormulaError> {
        let mut molar_mass = Uncertain::exact(0.0);
        for (element, count) in self.elements() {
            let (value, uncertainty) = table(element).ok_or_else(|| self.no_atomic_weight(element))?;
            molar_mass = molar_mass + Uncertain::new(value, uncertainty).scale(count);
        }
        Ok(molar_mass)
    }

    /// Mass of the missing (positive) or extra (negative charge) electrons that [`Formula::molar_mass`] leaves out:
    /// what to add to it, in g/mol.
    pub fn electron_mass_correction(&self) -> f64 {
        -f64::from(self.charge) * ELECTRON_MOLAR_MASS
    }

    fn no_atomic_weight(&self, element: Element) -> FormulaError {
        let symbol = element.symbol();
        let offset = self.written.find(symbol).unwrap_or(0);
        FormulaError::new(offset, symbol.len(), FormulaErrorKind::NoAtomicWeight(element))
    }

    /// Mass fraction of an element, 0 to 1; NaN where the molar mass is not known, 0 for the electron.
    pub fn mass_fraction(&self, element: Element) -> f64 {
        let count = to_f64(self.count(element));
        if count == 0.0 {
            return 0.0;
        }
        match (self.molar_mass(), element.atomic_weight()) {
            (Ok(molar_mass), Some(weight)) => count * weight.value / molar_mass.value,
            _ => f64::NAN,
        }
    }
}

/// An exact fraction as a double.
pub fn to_f64(fraction: Ratio<i64>) -> f64 {
    fraction.to_f64().unwrap_or(f64::NAN)
}

impl FromStr for Formula {
    type Err = FormulaError;
    fn from_str(text: &str) -> Result<Formula, FormulaError> {
        Formula::parse(text)
    }
}

impl fmt::Display for Formula {
    fn fmt(&self, formatter: &mut fmt::Formatter<'_>) -> fmt::Result {
        formatter.pad(&self.canonical)
    }
}

impl fmt::Debug for Formula {
    fn fmt(&self, formatter: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(formatter, "Formula({})", self.canonical)
    }
}

impl PartialEq for Formula {
    fn eq(&self, other: &Formula) -> bool {
        self.canonical == other.canonical
    }
}

impl Eq for Formula {}

impl PartialOrd for Formula {
    fn partial_cmp(&self, other: &Formula) -> Option<Ordering> {
        Some(self.cmp(other))
    }
}

impl Ord for Formula {
    fn cmp(&self, other: &Formula) -> Ordering {
        self.canonical.cmp(&other.canonical)
    }
}

impl Hash for Formula {
    fn hash<H: Hasher>(&self, state: &mut H) {
        self.canonical.hash(state);
    }
}
