//! Which figures at 298.15 K are tabled for a substance?
//!
//! Enthalpy and Gibbs energy of formation, entropy and heat capacity, each with what is known of its uncertainty. The
//! figures of one row belong together; those of another row may be another opinion on the same substance.
//!
//! Source: row by row; most are recalled, and `checked` says with which second table they agree.

use std::sync::LazyLock;

use super::{same_make_up, species_of};
use crate::formula::Formula;
use crate::source::SourceKey;
use crate::species::Species;
use crate::table::{self, Row};

/// The embedded table of values at 298.15 K.
pub const STANDARD_TABLE: &str = include_str!("../../../data/standard.tsv");

static VALUES: LazyLock<Vec<StandardValue>> =
    LazyLock::new(|| table::rows(STANDARD_TABLE).iter().filter_map(StandardValue::from_row).collect());

/// A figure and its standard uncertainty, where one is known.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct ValueUncertain {
    /// The figure.
    pub value: f64,
    /// Standard uncertainty.
    pub uncertainty: Option<f64>,
}

/// Values of one substance at 298.15 K from one table.
#[derive(Clone, Debug, PartialEq)]
pub struct StandardValue {
    /// Formula and phase.
    pub species: Species,
    /// Crystal form; empty for the stable one or where it is not said.
    pub form: &'static str,
    /// What the form is called; may be empty.
    pub name: &'static str,
    /// Enthalpy of formation, J/mol.
    pub enthalpy: Option<ValueUncertain>,
    /// Entropy, J/(mol·K).
    pub entropy: Option<ValueUncertain>,
    /// Heat capacity, J/(mol·K).
    pub heat_capacity: Option<f64>,
    /// Gibbs energy of formation as printed, J/mol.
    pub gibbs_energy: Option<f64>,
    /// Cp = a + b·T + c/T²: a in J/(mol·K), b in J/(mol·K²), c in J·K/mol.
    pub heat_law: Option<[f64; 3]>,
    /// Highest temperature the values are meant for, K, where the row says so.
    pub high_k: Option<f64>,
    /// Where the figures come from.
    pub sources: Vec<SourceKey>,
    /// The second table with which they agree; empty where they rest on memory.
    pub checked: &'static str,
    /// Remark of the row.
    pub comment: &'static str,
}

impl StandardValue {
    fn from_row(row: &Row<'static>) -> Option<StandardValue> {
        let with_uncertainty = |column: &str, scale: f64| {
            let uncertainty = row.number(&format!("u_{column}")).map(|u| u * scale);
            row.number(column).map(|value| ValueUncertain { value: value * scale, uncertainty })
        };
        let heat_law = row
            .number("heat_a")
            .zip(row.number("heat_b"))
            .zip(row.number("heat_c"))
            .map(|((a, b), c)| [a, b * 1e-3, c * 1e5]);
        Some(StandardValue {
            species: species_of(row)?,
            form: row.cell("form"),
            name: row.cell("name"),
            enthalpy: with_uncertainty("enthalpy", 1e3),
            entropy: with_uncertainty("entropy", 1.0),
            heat_capacity: row.number("heat_capacity"),
            gibbs_energy: row.number("gibbs").map(|value| value * 1e3),
            heat_law,
            high_k: row.number("high_k"),
            sources: row.cell("source").split(';').filter_map(|key| SourceKey::from_text(key.trim())).collect(),
            checked: row.cell("checked"),
            comment: row.cell("comment"),
        })
    }

    /// All rows, in the order of the table.
    pub fn all() -> &'static [StandardValue] {
        &VALUES
    }

    /// The rows of a formula in any phase: those of the same spelling, else those of the same make-up.
    ///
    /// ```
    /// use chem::{Formula, thermo::StandardValue};
    /// let magnesite = StandardValue::of(&Formula::parse("MgCO3")?);
    /// let figures: Vec<f64> = magnesite.iter().filter_map(|row| row.enthalpy).map(|known| known.value).collect();
    /// assert_eq!(figures.len(), 3);
    /// assert!(figures.iter().any(|value| (value + 1_111_690.0).abs() < 1.0));
    /// # Ok::<(), chem::FormulaError>(())
    /// ```
    pub fn of(formula: &Formula) -> Vec<&'static StandardValue> {
        let rows = |wanted: &dyn Fn(&Formula) -> bool| -> Vec<&'static StandardValue> {
            VALUES.iter().filter(|row| wanted(&row.species.formula)).collect()
        };
        let same = rows(&|known| known.text() == formula.text());
        if same.is_empty() { rows(&|known| same_make_up(known, formula)) } else { same }
    }

    /// Whether the figures rest on memory alone.
    pub fn from_memory(&self) -> bool {
        self.checked.is_empty() && self.sources.contains(&SourceKey::FROM_MEMORY)
    }
}
