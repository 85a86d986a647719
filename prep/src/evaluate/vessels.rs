//! Does a vessel weigh what it weighed before?
//!
//! A `tare` from an earlier day stands in for an empty weighing where the file has none. Where it has one, that one
//! counts: crucibles chip and take up what was ignited in them. A difference beyond three standard uncertainties is told.

use super::direct::{empty_reading, figure_of};
use super::draws::figure;
use super::findings::finding;
use crate::model::{Knowledge, Preparation};
use crate::outcome::{Finding, Severity};

/// Empty vessels that do not weigh what `tare` says.
pub(crate) fn changed(preparation: &Preparation) -> Vec<Finding> {
    let told = |vessel: &crate::model::Vessel| {
        let stated = vessel.tare.as_ref()?;
        let reading = empty_reading(preparation, &vessel.name.value, None)?;
        let read = figure_of(preparation, reading)?;
        let (tare, spread) = match stated.value {
            Knowledge::Normal { value, standard_uncertainty } => (value, standard_uncertainty),
            Knowledge::Between { low, high } => (0.5 * (low + high), (high - low) / 12f64.sqrt()),
            other => (other.central(), 0.0),
        };
        let off = read.value - tare;
        if off.abs() <= 3.0 * read.standard_uncertainty.hypot(spread) {
            return None;
        }
        let message = format!(
            "`{}` weighed {} g empty (reading `{}`), {} g {} than its `tare` says: the reading counts",
            vessel.name.value,
            figure(read.value * 1e3),
            reading.id.value,
            figure(off.abs() * 1e3),
            if off > 0.0 { "more" } else { "less" }
        );
        let hint = "is it the same vessel, clean and dry? correct `tare` for the next time";
        Some(finding("tare-differs", Severity::Note, Some(&stated.span), message, hint))
    };
    preparation.vessels.iter().filter_map(told).collect()
}
