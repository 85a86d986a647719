//! One `[[step.test]]` of the file: a test of a portion, by its result.

use crate::bench_test::BenchTest;
use crate::model::{Determination, Found, Spanned};
use crate::syntax::{Fields, suggest};
use chem::{Dimension, Element, Formula, Value as Number};

pub(super) fn determination(fields: &Fields<'_>) -> Option<Determination> {
    let id = fields.needed_text("id", "\"t1\"");
    let test = kind(fields);
    let of = fields.needed_text("of", "\"precipitate\"");
    let counted_as = fields.text("as").and_then(|text| counted_as(fields, &text));
    let written = fields.text("found");
    let found = test.zip(written.as_ref()).and_then(|(test, text)| {
        let value = found(fields, test, text)?;
        Some(Spanned { value, span: text.span.clone() })
    });
    let at = fields.text("at").map(|t| t.value);
    let corrects = fields.text("corrects");
    let reason = fields.text("reason").map(|t| t.value);
    let note = fields.text("note").map(|t| t.value);
    fields.finish();
    let text = written.map_or_else(String::new, |t| t.value);
    Some(Determination { id: id?, test: test?, of: of?, counted_as, found, text, at, corrects, reason, note })
}

fn kind(fields: &Fields<'_>) -> Option<&'static BenchTest> {
    let text = fields.needed_text("kind", "\"titre\"")?;
    let found = BenchTest::named(&text.value);
    if found.is_none() {
        let names: Vec<&str> = BenchTest::all().iter().map(|test| test.name).collect();
        let message = format!("`kind` of {}: no test is called `{}`", fields.what(), text.value);
        fields.findings().error("unknown-word", &text.span, message, suggest(&text.value, &names));
    }
    found
}

/// An element, or a formula that states one: its only element beside oxygen and hydrogen.
fn counted_as(fields: &Fields<'_>, text: &Spanned<String>) -> Option<(Element, Option<Formula>)> {
    if let Some(element) = Element::from_symbol(text.value.trim()) {
        return Some((element, None));
    }
    let formula = match Formula::parse(text.value.trim()) {
        Ok(formula) => formula,
        Err(error) => {
            fields.findings().error("bad-formula", &text.span, format!("`as` of {}: {error}", fields.what()), "");
            return None;
        }
    };
    let mut others = formula.elements().filter(|(element, _)| !["O", "H"].contains(&element.symbol()));
    match (others.next(), others.next()) {
        (Some((element, _)), None) => Some((element, Some(formula.clone()))),
        _ => {
            let message = format!("`as` of {}: `{}` does not say which element is counted", fields.what(), text.value);
            let hint =
                "write an element (`Cu`) or a formula with one element beside oxygen and hydrogen (`CuO`, `SO4`)";
            fields.findings().error("out-of-range", &text.span, message, hint);
            None
        }
    }
}

fn found(fields: &Fields<'_>, test: &BenchTest, text: &Spanned<String>) -> Option<Found> {
    if test.noticed.is_some() {
        return match text.value.trim() {
            "yes" => Some(Found::Seen(true)),
            "no" => Some(Found::Seen(false)),
            other => {
                let message = format!("`found` of {}: a {} answers yes or no, not `{other}`", fields.what(), test.name);
                fields.findings().error("out-of-range", &text.span, message, "write `found = \"yes\"` or `\"no\"`");
                None
            }
        };
    }
    let dimension = match test.unit {
        "mmol/g" => Dimension::MOLALITY,
        "mL/g" => Dimension::VOLUME - Dimension::MASS,
        "g/cm3" => Dimension::DENSITY,
        _ => Dimension::DIMENSIONLESS,
    };
    let quantity = fields.parse_quantity("found", text, dimension)?;
    let Number::Point { value, standard_uncertainty } = quantity.si() else {
        let message = format!("`found` of {} is `{}`: one figure is wanted", fields.what(), text.value);
        fields.findings().error("out-of-range", &text.span, message, "write the figure, with ± if you know it");
        return None;
    };
    // A metal gains on ignition; nothing loses more than itself.
    let fraction = test.unit == "%";
    if value > 1.0 && fraction || value < 0.0 && !test.name.ends_with("ignition") || standard_uncertainty == Some(0.0) {
        let message = format!("`found` of {} is `{}`: that cannot be", fields.what(), text.value);
        let hint = "a share lies between 0 and 100 %, and an uncertainty is more than nothing; leave `found` out until the test is made";
        fields.findings().error("out-of-range", &text.span, message, hint);
        return None;
    }
    Some(Found::Figure { value, standard_uncertainty })
}
