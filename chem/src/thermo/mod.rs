//! Which heat capacities, enthalpies and entropies are tabled for a substance?
//!
//! Two tables. [`Record`]s are polynomials over temperature, one record for each form (crystal, liquid, gas) of a
//! substance; [`StandardValue`]s are figures at 298.15 K. A substance may stand in both, and in the second more than
//! once, with figures that disagree: all are kept, and whoever uses them says so. `FeO` is the compound of just that
//! composition; wustite, which iron oxidises to, is `Fe0.947O`.
//!
//! Source: row by row.

mod standard;

use std::collections::BTreeMap;
use std::sync::LazyLock;

use crate::formula::Formula;
use crate::source::SourceKey;
use crate::species::{Phase, Species};
use crate::table::{self, Row};

pub use standard::{STANDARD_TABLE, StandardValue, ValueUncertain};

/// The embedded table of polynomials.
pub const TABLE: &str = include_str!("../../../data/thermo.tsv");

static RECORDS: LazyLock<Vec<Record>> = LazyLock::new(|| gathered(&table::rows(TABLE)));
static BY_FORMULA: LazyLock<BTreeMap<&'static str, Vec<usize>>> = LazyLock::new(|| {
    let mut index: BTreeMap<&str, Vec<usize>> = BTreeMap::new();
    for (place, record) in RECORDS.iter().enumerate() {
        index.entry(record.species.formula.text()).or_default().push(place);
    }
    index
});

/// Coefficients over one temperature interval: `Cp/R = a₁T⁻² + a₂T⁻¹ + a₃ + a₄T + a₅T² + a₆T³ + a₇T⁴`.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Coefficients {
    /// Lower end, K.
    pub low_k: f64,
    /// Upper end, K.
    pub high_k: f64,
    /// Of Cp/R.
    pub a: [f64; 7],
    /// Constants of integration of H/RT and S/R.
    pub b: [f64; 2],
}

/// One form of a substance with its polynomials.
#[derive(Clone, Debug, PartialEq)]
pub struct Record {
    /// Formula and phase.
    pub species: Species,
    /// Crystal form, such as `α-quartz`; empty where the table knows one only, and for liquids and gases.
    pub form: &'static str,
    /// What the form is called as a mineral or modification; may be empty.
    pub name: &'static str,
    /// Intervals, the coldest first.
    pub intervals: Vec<Coefficients>,
    /// Stated enthalpy of formation at 298.15 K of the form that is stable there, J/mol.
    pub enthalpy: f64,
    /// The table.
    pub source: SourceKey,
    /// Where the table has the record from.
    pub primary: &'static str,
}

impl Record {
    /// All records, in the order of the table.
    ///
    /// ```
    /// use chem::thermo::Record;
    /// let quartz = Record::all().iter().filter(|record| record.species.to_string() == "SiO2(s)");
    /// assert_eq!(quartz.map(|record| record.form).collect::<Vec<_>>(), ["α-quartz", "β-quartz", "β-cristobalite"]);
    /// ```
    pub fn all() -> &'static [Record] {
        &RECORDS
    }

    /// The records of a formula in any phase: those of the same spelling, else those of the same make-up.
    ///
    /// ```
    /// use chem::{Formula, thermo::Record};
    /// let formula = Formula::parse("CO2")?;
    /// assert_eq!(Record::of(&formula).len(), 1);
    /// # Ok::<(), chem::FormulaError>(())
    /// ```
    pub fn of(formula: &Formula) -> Vec<&'static Record> {
        if let Some(places) = BY_FORMULA.get(formula.text()) {
            return places.iter().filter_map(|place| RECORDS.get(*place)).collect();
        }
        RECORDS.iter().filter(|record| same_make_up(&record.species.formula, formula)).collect()
    }

    /// Lowest and highest temperature, K.
    pub fn range(&self) -> (f64, f64) {
        let low = self.intervals.first().map_or(f64::NAN, |part| part.low_k);
        (low, self.intervals.last().map_or(f64::NAN, |part| part.high_k))
    }
}

/// Same atoms, charge and hydrate water, however they are written.
fn same_make_up(one: &Formula, other: &Formula) -> bool {
    one.charge() == other.charge()
        && one.isotopes().is_empty()
        && other.isotopes().is_empty()
        && one.composition() == other.composition()
        && one.hydrate_water() == other.hydrate_water()
}

/// The rows of one form, which follow each other, made one record.
fn gathered(rows: &[Row<'static>]) -> Vec<Record> {
    let mut records: Vec<Record> = Vec::new();
    for row in rows {
        let Some((species, coefficients)) = species_of(row).zip(coefficients_of(row)) else { continue };
        let form = row.cell("form");
        match records.last_mut().filter(|last| last.species == species && last.form == form) {
            Some(last) => last.intervals.push(coefficients),
            None => {
                let Some(source) = SourceKey::from_text(row.cell("source")) else { continue };
                records.push(Record {
                    species,
                    form,
                    name: row.cell("name"),
                    intervals: vec![coefficients],
                    enthalpy: row.number("enthalpy").unwrap_or(f64::NAN),
                    source,
                    primary: row.cell("primary"),
                });
            }
        }
    }
    records
}

/// Formula and phase of a row.
fn species_of(row: &Row<'static>) -> Option<Species> {
    let formula = Formula::parse(row.cell("formula")).ok()?;
    Some(Species::new(formula, Some(Phase::from_symbol(row.cell("phase"))?)))
}

fn coefficients_of(row: &Row<'static>) -> Option<Coefficients> {
    let [mut a, mut b] = [[0.0; 7], [0.0; 7]];
    for (column, value) in ["a1", "a2", "a3", "a4", "a5", "a6", "a7"].iter().zip(&mut a) {
        *value = row.number(column)?;
    }
    for (column, value) in ["b1", "b2"].iter().zip(&mut b) {
        *value = row.number(column)?;
    }
    let [b1, b2, ..] = b;
    Some(Coefficients { low_k: row.number("low_k")?, high_k: row.number("high_k")?, a, b: [b1, b2] })
}
