//! What is in a formula: which elements, how many of each, which charge, how much water of crystallisation?
//!
//! Counts are exact fractions, so balancing is exact. The structure (brackets, hydrate parts) is kept for printing
//! and for recognising hydrates and ions. An atom that names its isotope counts for its element in the composition and
//! brings the mass of the isotope; all others have the standard atomic weight. The molar mass is that of the neutral
//! atoms: the mass of electrons (5.5·10⁻⁴ g/mol per charge) is left out, as is usual at the bench, and so an electron
//! weighs nothing and masses balance in half-reactions.

mod charge;
mod error;
mod label;
mod letters;
mod number;
mod oxidation;
mod parse;
mod print;
mod reader;
mod structure;

use std::cmp::Ordering;
use std::collections::BTreeMap;
use std::fmt;
use std::hash::{Hash, Hasher};
use std::str::FromStr;

use num_rational::Ratio;
use num_traits::{CheckedAdd, CheckedSub, One, ToPrimitive, Zero};

pub use error::{FormulaError, FormulaErrorKind};
pub use oxidation::{OxidationRefusal, OxidationRule, OxidationState};
use print::Style;
pub(crate) use print::fraction_text;
use structure::{Member, Part, Sums};

use crate::element::Element;
use crate::isotope::Isotope;
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
    isotopes: BTreeMap<Isotope, Ratio<i64>>,
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
    /// * isotopes: `D`, `T`, `[18O]`, `(18O)`, `[13CH3]` (the first atom in the brackets), `^18O`, `¹⁸O`, and `13CO2` where
    ///   the mass number has two or three digits and no hydrate dot follows;
    /// * a charge at the end: `^2-`, `^-2`, `^{2-}`, `²⁻`, `(2-)`, `-2`, `++`, `-`, and `2-` after a gap, a subscript or
    ///   a complex ion in square brackets (`[Fe(CN)6]4-`); the electron is `e-`.
    ///
    /// A full stop between digits is a decimal point after 0 or 1, and where the formula, part or bracket ends with
    /// it (`YBa2Cu3O6.93`); before `H2O` or `NH3` it is a hydrate dot (`CuSO4.5H2O`); anything else is refused as
    /// ambiguous, and `_` says count (`Na_3.4Zr2`). Digits before a plain sign (`Fe3+`, `NO3-`) are refused as ambiguous
    /// elsewhere: `Fe^3+`, `NO3^-`.
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
        let Sums { elements: composition, isotopes } = Sums::of(&parts)?;
        let canonical = print::text(&parts, charge, Style::Plain);
        Some(Formula { parts, charge, composition, isotopes, canonical, written })
    }

    /// The electron, `e^-`.
    pub fn electron() -> Formula {
        Formula::of_atoms(Vec::new(), BTreeMap::new(), -1)
    }

    /// Water, `H2O`.
    pub fn water() -> Formula {
        let composition =
            BTreeMap::from([(Element::HYDROGEN, Ratio::from_integer(2)), (Element::OXYGEN, Ratio::one())]);
        Formula::of_atoms(vec![Part::water(Ratio::one())], composition, 0)
    }

    fn of_atoms(parts: Vec<Part>, composition: BTreeMap<Element, Ratio<i64>>, charge: i32) -> Formula {
        let canonical = print::text(&parts, charge, Style::Plain);
        let isotopes = BTreeMap::new();
        Formula { parts, charge, composition, isotopes, written: canonical.clone(), canonical }
    }

    /// The text in one spelling: `CuSO4·5H2O`, `SO4^2-`.
    pub fn text(&self) -> &str {
        &self.canonical
    }

    /// The text as it was written, without surrounding spaces.
    pub fn written(&self) -> &str {
        &self.written
    }

    /// The text with subscripts and superscripts, which reads back: `CuSO₄·5H₂O`, `SO₄²⁻`, `H₂¹⁸O`.
    pub fn unicode(&self) -> String {
        print::text(&self.parts, self.charge, Style::Unicode)
    }

    /// The text for a page: `SO<sub>4</sub><sup>2−</sup>`. It holds no other markup and nothing to escape.
    pub fn html(&self) -> String {
        print::text(&self.parts, self.charge, Style::Html)
    }

    /// The text for TeX in mathematics, without any package: `\mathrm{CuSO_4 \cdot 5H_2O}`.
    ///
    /// ```
    /// use chem::Formula;
    /// let gypsum = Formula::parse("CaSO4.2H2O")?;
    /// assert_eq!(gypsum.tex(), r"\mathrm{CaSO_4 \cdot 2H_2O}");
    /// assert_eq!(Formula::parse("[18O]^2-")?.html(), "<sup>18</sup>O<sup>2−</sup>");
    /// # Ok::<(), chem::FormulaError>(())
    /// ```
    pub fn tex(&self) -> String {
        print::text(&self.parts, self.charge, Style::Tex)
    }

    /// Charge number, such as −2 for `SO4^2-`.
    pub fn charge(&self) -> i32 {
        self.charge
    }

    /// Whether this is the electron.
    pub fn is_electron(&self) -> bool {
        self.composition.is_empty()
    }

    /// Atoms of each element per formula unit, exactly; atoms of a named isotope are among those of its element.
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

    /// Atoms of each isotope named, per formula unit.
    pub fn isotopes(&self) -> &BTreeMap<Isotope, Ratio<i64>> {
        &self.isotopes
    }

    /// Atoms of one isotope named, per formula unit; zero where none is.
    pub fn isotope_count(&self, isotope: Isotope) -> Ratio<i64> {
        self.isotopes.get(&isotope).copied().unwrap_or_else(Ratio::zero)
    }

    /// Atoms of an element per formula unit whose isotope is not named.
    fn natural_count(&self, element: Element) -> Ratio<i64> {
        let named = self.isotopes.iter().filter(|(isotope, _)| isotope.element() == element);
        named.fold(self.count(element), |rest, (_, count)| rest.checked_sub(count).unwrap_or(rest))
    }

    /// Whether two formulas name the same substance: alike but for the spelling of dots, digits and spaces.
    pub fn same_substance(&self, other: &Formula) -> bool {
        self.canonical == other.canonical
    }

    /// Molecules of water of crystallisation per formula unit, as written after a dot: 5 for `CuSO4·5H2O`.
    ///
    /// The formula unit stays what was written, so `2CaSO4·H2O` has 1 and [`Formula::without_hydrate_water`]
    /// gives `(CaSO4)2`. Water of another isotope, `D2O`, is not counted.
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
        let written = print::text(&parts, self.charge, Style::Plain);
        Formula::build(parts, self.charge, written).unwrap_or_else(|| self.clone())
    }

    /// Molar mass M in g/mol with its standard uncertainty, from the standard atomic weights of [`crate::element`].
    ///
    /// ```text
    /// M = Σ n_E · A_E + Σ n_I · m_I        u²(M) = Σ (n_E · u(A_E))² + Σ (n_I · u(m_I))²
    /// ```
    /// E runs over elements, without the atoms whose isotope I is named. Atomic weights and isotope masses are taken as
    /// independent. Electrons weigh nothing here.
    ///
    /// # Errors
    /// `NoAtomicWeight` where an element has no standard atomic weight.
    ///
    /// # Source
    /// Propagation: JCGM 100:2008, clause 5.1. Masses of isotopes: AME2020.
    ///
    /// ```
    /// use chem::Formula;
    /// let heavy_water = Formula::parse("D2O")?.molar_mass()?;
    /// assert!((heavy_water.value - 20.0272).abs() < 5e-5);
    /// # Ok::<(), chem::FormulaError>(())
    /// ```
    pub fn molar_mass(&self) -> Result<Uncertain, FormulaError> {
        self.molar_mass_with(&|element| {
            element.atomic_weight().map(|weight| (weight.value, weight.standard_uncertainty))
        })
    }

    /// Molar mass from another table of atomic weights: `table` gives value and standard uncertainty in g/mol. Isotopes
    /// named keep their mass.
    ///
    /// # Errors
    /// `NoAtomicWeight` where the table has no value for an element.
    pub fn molar_mass_with(&self, table: &dyn Fn(Element) -> Option<(f64, f64)>) -> Result<Uncertain, FormulaError> {
        let mut molar_mass = Uncertain::exact(0.0);
        for element in self.composition.keys().copied() {
            let count = self.natural_count(element);
            if !count.is_zero() {
                let (value, uncertainty) = table(element).ok_or_else(|| self.no_atomic_weight(element))?;
                molar_mass = molar_mass + Uncertain::new(value, uncertainty).scale(to_f64(count));
            }
        }
        let named = self.isotopes.iter().map(|(isotope, count)| isotope.mass().scale(to_f64(*count)));
        Ok(named.fold(molar_mass, |sum, mass| sum + mass))
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

    /// Mass fraction of an element, all its isotopes together, 0 to 1; NaN where the molar mass is not known, 0 for the
    /// electron.
    pub fn mass_fraction(&self, element: Element) -> f64 {
        let natural = to_f64(self.natural_count(element));
        let weight = if natural == 0.0 { Some(0.0) } else { element.atomic_weight().map(|weight| weight.value) };
        let named = self.isotopes.iter().filter(|(isotope, _)| isotope.element() == element);
        let named: f64 = named.map(|(isotope, count)| isotope.mass().value * to_f64(*count)).sum();
        match (self.molar_mass(), weight) {
            _ if natural == 0.0 && named == 0.0 => 0.0,
            (Ok(molar_mass), Some(weight)) => (natural * weight + named) / molar_mass.value,
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
