//! Which tables does a spreadsheet read?
//!
//! Comma-separated values after RFC 4180: a head line, one record a line, quotes where they are needed. Figures are not
//! rounded and have a point; readings stay as written, with their number beside it, so that nothing is lost.

use prep::outcome::{Account, RunRecord};

/// A field, quoted where it must be. A field that a spreadsheet would take for a formula is kept a text by a space.
fn field(text: &str) -> String {
    let text = if text.starts_with(['=', '@', '+']) { format!(" {text}") } else { text.to_owned() };
    if text.contains([',', '"', '\n', '\r']) { format!("\"{}\"", text.replace('"', "\"\"")) } else { text }
}

fn line(fields: &[String]) -> String {
    fields.iter().map(|text| field(text)).collect::<Vec<_>>().join(",") + "\r\n"
}

fn heads(names: &[&str]) -> String {
    names.join(",") + "\r\n"
}

/// The number a figure begins with.
fn leading(text: &str) -> String {
    let end = text.find(|c: char| !(c.is_ascii_digit() || matches!(c, '.' | '-'))).unwrap_or(text.len());
    text.get(..end).unwrap_or_default().to_owned()
}

/// The readings of a record, a series one line for each weighing.
#[must_use]
pub fn readings(record: &RunRecord) -> String {
    let mut out = heads(&[
        "id",
        "step",
        "kind",
        "what",
        "vessel",
        "with",
        "as_written",
        "number",
        "standard_uncertainty_g",
        "hours",
        "at",
        "corrects",
        "corrected_by",
        "reason",
    ]);
    for reading in &record.readings {
        let mut figures: Vec<(String, String)> =
            reading.series.iter().map(|(text, hours)| (text.clone(), hours.to_string())).collect();
        if figures.is_empty() {
            figures.push((reading.figure.clone().unwrap_or_default(), String::new()));
        }
        for (figure, hours) in figures {
            out += &line(&[
                reading.id.clone(),
                reading.step.clone(),
                if reading.test { "test" } else { "weighing" }.to_owned(),
                reading.what.clone(),
                reading.vessel.clone().unwrap_or_default(),
                reading.with.clone(),
                figure.clone(),
                leading(&figure),
                reading.uncertainty.map(|u| u.to_string()).unwrap_or_default(),
                hours,
                reading.at.clone().unwrap_or_default(),
                reading.corrects.clone().unwrap_or_default(),
                reading.corrected_by.clone().unwrap_or_default(),
                reading.reason.clone().unwrap_or_default(),
            ]);
        }
    }
    out
}

/// The lots of an account: mass, elements and species, each with its interval.
#[must_use]
pub fn lots(account: &Account) -> String {
    let mut out = heads(&[
        "lot",
        "step",
        "of",
        "kind",
        "unit",
        "mean",
        "standard_uncertainty",
        "median",
        "low",
        "high",
        "level",
        "basis",
    ]);
    for lot in &account.lots {
        let mut push = |of: &str, kind: &str, interval: &prep::outcome::Interval| {
            out += &line(&[
                lot.id.clone(),
                lot.step.clone(),
                of.to_owned(),
                kind.to_owned(),
                interval.unit.to_owned(),
                interval.mean.to_string(),
                interval.standard_uncertainty.to_string(),
                interval.median.to_string(),
                interval.low.to_string(),
                interval.high.to_string(),
                interval.level.to_string(),
                interval.basis.clone().unwrap_or_default(),
            ]);
        };
        push("", "mass", &lot.mass);
        for content in &lot.elements {
            push(&content.element, "element", &content.mass);
            push(&content.element, "element", &content.amount);
        }
        for (species, mass) in &lot.species {
            push(species, "species", mass);
        }
        push("foreign matter", "foreign", &lot.foreign);
    }
    out
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn what_must_be_quoted_is_quoted() {
        assert_eq!(field("a, \"b\""), "\"a, \"\"b\"\"\"");
        assert_eq!(field("=1+1"), " =1+1");
        assert_eq!(leading("43.90 g"), "43.90");
        assert_eq!(leading("magnetic"), "");
    }
}
