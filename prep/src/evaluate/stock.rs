//! Is there enough in the bottle, and what remains?
//!
//! What was `left` before the preparation is drawn down over all charges of the file; charges that were weighed count as
//! weighed. What remains is an interval, nothing at the least. A supply runs out where the chance of that is above 95 %;
//! above 5 % it may. Neglected: what is spilt from the bottle and what is charged and not in the file; both take more.

use super::draws::{at_least, draws_beside, figure};
use super::findings::finding;
use super::interval;
use super::spent::{Charge, Spent};
use crate::model::{Amount, By, Supply};
use crate::outcome::{Finding, Interval, Severity, StockLine};

/// Chance above which a supply may run out; its complement: above which it does.
const CHANCE: f64 = 0.05;

/// What remains of every supply whose stock is stated.
pub(crate) fn stock(spent: &Spent<'_>) -> (Vec<StockLine>, Vec<Finding>) {
    let (mut lines, mut findings) = (Vec::new(), Vec::new());
    for (i, supply) in spent.preparation.supplies.iter().enumerate() {
        let Some(left) = &supply.left else { continue };
        let (factor, unit) = shown_in(left.value.by);
        let before = draws_beside(left.value.figure, spent.weights, i as u64 + 1);
        let used = spent.used(i, left.value.by);
        let told = |column: &[f64], basis: &str| -> Interval {
            let shown: Vec<f64> = column.iter().map(|x| x * factor).collect();
            interval(&shown, spent.weights, unit, Some(basis))
        };
        let short: Vec<f64> = used.iter().zip(&before).map(|(used, before)| used - before).collect();
        let remains: Vec<f64> = short.iter().map(|short| (-short).max(0.0)).collect();
        let runs_out = short.iter().zip(spent.weights).filter(|(short, _)| **short > 0.0).map(|(_, w)| w).sum();
        let line = StockLine {
            supply: supply.name.value.clone(),
            stated: left.value.text.clone(),
            before: told(&before, "before this preparation"),
            used: told(&used, "used by all steps"),
            remains: told(&remains, "after all steps"),
            runs_out,
        };
        findings.extend(warning(spent, i, &left.value, &line, &told(&short, "short")));
        lines.push(line);
    }
    (lines, findings)
}

/// Factor and unit in which an amount is shown.
fn shown_in(by: By) -> (f64, &'static str) {
    match by {
        By::Mass => (1e3, "g"),
        By::Volume => (1e6, "mL"),
        By::Count => (1.0, "units"),
    }
}

fn warning(spent: &Spent<'_>, i: usize, left: &Amount, line: &StockLine, short: &Interval) -> Option<Finding> {
    if line.runs_out <= CHANCE {
        return None;
    }
    let supply = &spent.preparation.supplies[i];
    let at = runs_out_at(spent, i, supply, left)?;
    let (name, unit, has) = (&line.supply, line.used.unit, &left.text);
    let needs = format!("{} {unit}", figure(line.used.mean));
    let step = &at.step.name.value;
    if line.runs_out >= 1.0 - CHANCE {
        let short = format!("{} {unit}", figure(short.mean));
        let (message, hint) = if spent.weighed {
            (
                format!(
                    "more `{name}` was charged than there was: {needs} of {has}, {short} too much by step `{step}`"
                ),
                "correct `left`, or the charge if it is a slip",
            )
        } else {
            (
                format!("`{name}` runs out in step `{step}`: needs {needs}, has {has}, short by {short}"),
                "get more before the first step, or scale all charges down together",
            )
        };
        return Some(finding("stock-runs-out", Severity::Warning, Some(at.span), message, hint));
    }
    let message = format!(
        "`{name}` may run out in step `{step}`: needs {needs}, has {has}, short by up to {} {unit} ({:.0} %)",
        at_least(short.high),
        100.0 * line.runs_out
    );
    let hint = "weigh the bottle and state `left` more closely, or have more at hand";
    Some(finding("stock-may-run-out", Severity::Warning, Some(at.span), message, hint))
}

/// The charge at which the supply is used up, on average; the last one if on average it lasts.
fn runs_out_at<'a>(spent: &'a Spent<'a>, i: usize, supply: &Supply, left: &Amount) -> Option<&'a Charge<'a>> {
    let mut used = 0.0;
    let mut last = None;
    for charge in spent.charges.iter().filter(|charge| charge.supply == Some(i)) {
        let column = spent.counted(charge, supply, left.by);
        used += column.iter().zip(spent.weights).map(|(amount, weight)| amount * weight).sum::<f64>();
        last = Some(charge);
        if used > left.figure.central() {
            break;
        }
    }
    last
}
