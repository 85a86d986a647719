//! How are the single quantities of a question read?

use super::pointed;
use crate::outcome::{Finding, Interval, Severity};
use chem::{Dimension, Formula, Quantity, Species, Value};

/// Standard normal deviates between which 90 % and 50 % lie.
const NINETY: f64 = 1.644_854;
const FIFTY: f64 = 0.674_490;

/// Reads quantities and gathers what is wrong with them.
#[derive(Default)]
pub(super) struct Quantities {
    pub(super) errors: Vec<Finding>,
}

impl Quantities {
    pub(super) fn slip(&mut self, code: &'static str, text: &str, message: String, hint: &str) {
        self.errors.push(pointed(code, text, 0, text.len(), message, hint));
    }

    /// One value of a dimension, above zero unless `zero` is allowed.
    pub(super) fn one(&mut self, what: &str, text: &str, dimension: Dimension, zero: bool) -> Option<f64> {
        match Quantity::parse_as(text, dimension).map(|quantity| quantity.si()) {
            Ok(Value::Point { value, .. }) if value > 0.0 || (zero && value >= 0.0) => Some(value),
            Ok(_) => {
                let hint = if zero { "give one value, zero or more" } else { "give one value above zero" };
                self.slip("bad-quantity", text, format!("{what} is `{text}`"), hint);
                None
            }
            Err(e) => {
                self.errors.push(pointed("bad-quantity", text, e.offset, e.length, format!("{what}: {e}"), ""));
                None
            }
        }
    }

    /// A temperature, in K.
    pub(super) fn temperature(&mut self, what: &str, text: &str) -> Option<f64> {
        self.one(what, text, Dimension::TEMPERATURE, false)
    }

    /// A share, 0 to 1.
    pub(super) fn share(&mut self, what: &str, text: &str) -> Option<f64> {
        let value = self.one(what, text, Dimension::DIMENSIONLESS, true)?;
        if value <= 1.0 {
            return Some(value);
        }
        self.slip("out-of-range", text, format!("{what} is `{text}`"), "give a share from 0 to 100 %");
        None
    }

    /// A formula, or the one substance of a name.
    pub(super) fn substance(&mut self, text: &str) -> Option<Formula> {
        match Species::parse(text.trim()) {
            Ok(species) => Some(species.formula),
            Err(error) => {
                let known = chem::substance::Substance::find(text.trim());
                if let [only] = known[..] {
                    return Some(only.formula.clone());
                }
                if !known.is_empty() {
                    let names: Vec<String> = known.iter().map(|substance| substance.formula.to_string()).collect();
                    let hint = format!("name one of {}", names.join(", "));
                    self.slip("ambiguous-substance", text, format!("`{text}` stands for several substances"), &hint);
                    return None;
                }
                if let Some(formula) = chem::hazard::formula_named(text) {
                    return Some(formula.clone());
                }
                self.errors.push(pointed("bad-formula", text, error.offset, error.length, error.to_string(), ""));
                None
            }
        }
    }
}

/// A figure with a standard uncertainty as an interval, normal, never below zero.
pub(super) fn normal(value: f64, uncertainty: f64, unit: &'static str) -> Interval {
    Interval {
        median: value,
        mean: value,
        standard_uncertainty: uncertainty,
        low: (value - NINETY * uncertainty).max(0.0),
        high: value + NINETY * uncertainty,
        level: 0.9,
        lower_quartile: (value - FIFTY * uncertainty).max(0.0),
        upper_quartile: value + FIFTY * uncertainty,
        unit,
        basis: None,
    }
}

/// A finding about no place.
pub(super) fn remark(code: &'static str, severity: Severity, message: String, hint: &str) -> Finding {
    Finding { severity, line: 0, column: 0, span: None, ..pointed(code, "", 0, 0, message, hint) }
}

/// A finding without its place.
pub(super) fn unplaced(finding: Finding) -> Finding {
    Finding { line: 0, column: 0, span: None, ..finding }
}
