//! What did the balance show: one figure, or a series of them until the mass stayed?
//!
//! A series is a list of figures under `weigh`, with `every = "30 min"` where they are equally far apart, or else
//! `after`, a list of the times at which they were read. The last figure is the fact; the others say whether it stays.

use crate::ask::dry::MOST_WEIGHINGS;
use crate::model::{Series, Span, Spanned};
use crate::syntax::Fields;
use chem::{Dimension, Quantity, Value as Number};
use toml_edit::{Item, Value};

/// The figure of a reading.
pub(super) struct Weighed {
    /// The last figure, kg.
    pub figure: Option<Spanned<f64>>,
    /// The same as written.
    pub text: String,
    /// All of them.
    pub series: Option<Series>,
}

pub(super) fn weighed(fields: &Fields<'_>) -> Weighed {
    let every = every(fields);
    let after = fields.item("after").map(|item| (fields.span_of(item), after(fields)));
    let constant_within = constant_within(fields);
    let item = fields.item("weigh");
    let listed = item.is_some_and(|item| matches!(item.as_value(), Some(Value::Array(_))));
    let texts: Vec<Spanned<Quantity>> = if listed {
        let texts = fields.texts("weigh");
        texts
            .into_iter()
            .filter_map(|t| Some(Spanned { value: fields.parse_quantity("weigh", &t, Dimension::MASS)?, span: t.span }))
            .collect()
    } else {
        fields.quantity("weigh", Dimension::MASS).into_iter().collect()
    };
    let figures: Vec<Option<Spanned<f64>>> = texts
        .iter()
        .map(|q| figure(fields, &q.value, &q.span).map(|value| Spanned { value, span: q.span.clone() }))
        .collect();
    let last = Weighed {
        figure: figures.last().cloned().flatten(),
        text: texts.last().map_or_else(String::new, |q| q.value.text.clone()),
        series: None,
    };
    let span = item.map_or_else(|| fields.span.clone(), |item| fields.span_of(item));
    let written = texts.len();
    let figures: Vec<Spanned<f64>> = figures.into_iter().flatten().collect();
    // What could not be read has its finding already.
    if item.is_none() || figures.len() < written || (listed && written < elements(item)) {
        return last;
    }
    if listed && written == 0 {
        let message = format!("`weigh` of {} is an empty list", fields.what());
        let hint = "leave `weigh` out until the first figure is read";
        fields.findings().error("empty-text", &span, message, hint);
        return last;
    }
    if written == 0 {
        return last;
    }
    let Some(times) = times(fields, &span, written, every, after) else { return last };
    let texts = texts.into_iter().map(|q| q.value.text).collect();
    Weighed { series: Some(Series { figures, texts, times, constant_within, span }), ..last }
}

fn elements(item: Option<&Item>) -> usize {
    item.and_then(Item::as_array).map_or(0, toml_edit::Array::len)
}

/// A displayed figure, kg.
fn figure(fields: &Fields<'_>, quantity: &Quantity, span: &Span) -> Option<f64> {
    let refuse = |message: String, hint: &str| {
        fields.findings().error("out-of-range", span, message, hint);
        None
    };
    let Number::Point { value, standard_uncertainty: None } = quantity.si() else {
        let message = format!("`weigh` of {} is `{}`", fields.what(), quantity.text);
        return refuse(message, "write the figure as displayed; its uncertainty comes from the balance");
    };
    if super::is_beyond_a_bench(quantity) {
        let message = format!("`weigh` of {} is `{}`: no bench holds that", fields.what(), quantity.text);
        return refuse(message, super::BEYOND);
    }
    if value > 0.0 {
        return Some(value);
    }
    let word = if value < 0.0 { "negative" } else { "zero" };
    let message = format!("`weigh` of {} is {word}: `{}`", fields.what(), quantity.text);
    refuse(message, "a mass on the pan is positive; leave `weigh` out until it is read")
}

/// Time of each figure since the first, s; none where the reading is no series.
fn times(
    fields: &Fields<'_>,
    span: &Span,
    count: usize,
    every: Option<f64>,
    after: Option<(Span, Option<Vec<f64>>)>,
) -> Option<Vec<f64>> {
    let refuse = |code, span: &Span, message: String, hint: &str| {
        fields.findings().error(code, span, message, hint);
        None
    };
    let what = fields.what();
    if count > MOST_WEIGHINGS {
        let message = format!("{what} lists {count} weighings; at most {MOST_WEIGHINGS} are read");
        let hint = "give the last ones: where it is heading does not hang on the first";
        return refuse("too-many-weighings", span, message, hint);
    }
    match (every, after) {
        (Some(_), Some((span, _))) => {
            let message = format!("{what} states both `every` and `after`");
            refuse("series-times", &span, message, "leave out `every`: `after` gives the time of each weighing")
        }
        (Some(every), None) => Some((0..count).map(|i| every * i as f64).collect()),
        (None, Some((_, None))) => None,
        (None, Some((span, Some(times)))) => {
            if times.len() != count {
                let message = format!("{what} has {count} weighings and {} times under `after`", times.len());
                return refuse("series-times", &span, message, "give each weighing its time since the start");
            }
            if times.windows(2).any(|pair| pair[1] <= pair[0]) {
                let message = format!("the times under `after` of {what} do not rise");
                return refuse("times-out-of-order", &span, message, "give the weighings in the order of their times");
            }
            let first = times.first().copied().unwrap_or(0.0);
            Some(times.iter().map(|time| time - first).collect())
        }
        (None, None) if count > 1 => {
            let message = format!("{what} lists {count} weighings without their times");
            let hint = "add `every = \"30 min\"`, or `after = [\"0 h\", \"1 h\", …]` where intervals are unequal";
            refuse("series-times", span, message, hint)
        }
        (None, None) => None,
    }
}

/// A single time, s.
fn seconds(fields: &Fields<'_>, key: &str, quantity: &Quantity, span: &Span, least: f64) -> Option<f64> {
    match quantity.si() {
        Number::Point { value, .. } if value >= least && value <= super::LARGEST_VALUE => Some(value),
        _ => {
            let message = format!("`{key}` of {} is `{}`", fields.what(), quantity.text);
            fields.findings().error("out-of-range", span, message, "write one time, `30 min`");
            None
        }
    }
}

fn every(fields: &Fields<'_>) -> Option<f64> {
    let quantity = fields.quantity("every", Dimension::TIME)?;
    seconds(fields, "every", &quantity.value, &quantity.span, 1.0)
}

/// The times listed, s; none if one of them could not be read.
fn after(fields: &Fields<'_>) -> Option<Vec<f64>> {
    let texts = fields.texts("after");
    let whole = texts.len() == fields.item("after").map_or(0, |item| elements(Some(item)).max(1));
    let times: Vec<Option<f64>> = texts
        .iter()
        .map(|text| {
            let quantity = fields.parse_quantity("after", text, Dimension::TIME)?;
            seconds(fields, "after", &quantity, &text.span, 0.0)
        })
        .collect();
    times.into_iter().collect::<Option<Vec<f64>>>().filter(|_| whole)
}

fn constant_within(fields: &Fields<'_>) -> Option<f64> {
    let quantity = fields.quantity("constant_within", Dimension::DIMENSIONLESS)?;
    match quantity.value.si() {
        Number::Point { value, .. } if value > 0.0 && value < 1.0 => Some(value),
        _ => {
            let message = format!("`constant_within` of {} is `{}`", fields.what(), quantity.value.text);
            fields.findings().error("out-of-range", &quantity.span, message, "write it like `0.05 %`");
            None
        }
    }
}
