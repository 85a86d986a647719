//! How much heat does a substance give off when it meets water?
//!
//! Rounded heats of dissolving, diluting and slaking in much water, for cautions; a balance of heat takes better ones.
//!
//! Source: row by row in `data/mixing_heat.tsv`.

use std::sync::LazyLock;

use crate::formula::Formula;
use crate::table;

/// The embedded table.
pub const TABLE: &str = include_str!("../../../data/mixing_heat.tsv");

static HEATS: LazyLock<Vec<(Formula, f64)>> = LazyLock::new(|| {
    let read = |row: &table::Row<'static>| Some((Formula::parse(row.cell("formula")).ok()?, row.number("heat")? * 1e3));
    table::rows(TABLE).iter().filter_map(read).collect()
});

/// Heat of meeting water, J/mol, positive where it is released; only for the form that is listed, not for its hydrates.
///
/// ```
/// use chem::{Formula, hazard};
/// assert_eq!(hazard::mixing_heat(&Formula::parse("NaOH")?), Some(44_500.0));
/// assert_eq!(hazard::mixing_heat(&Formula::parse("CuSO4·5H2O")?), None);
/// # Ok::<(), chem::FormulaError>(())
/// ```
pub fn mixing_heat(formula: &Formula) -> Option<f64> {
    HEATS.iter().find(|(own, _)| own.same_substance(formula)).map(|(_, heat)| *heat)
}
