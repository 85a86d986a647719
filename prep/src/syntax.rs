//! Where in the text does each value stand, and what is wrong with it?
//!
//! [`Fields`] reads the keys of one table and remembers which were asked for; what is left over is an unknown
//! key. Nothing stops at the first slip: every reader returns what it understood and leaves findings in
//! [`Findings`]. TOML itself is parsed by `toml_edit`, which reports one syntax error at a time.

use crate::model::{Span, Spanned};
use crate::outcome::{Finding, Severity};
use chem::{Dimension, Quantity};
use std::cell::RefCell;
use toml_edit::{Item, TableLike, Value};

/// Findings of one file.
#[derive(Debug, Default)]
pub struct Findings {
    list: RefCell<Vec<Finding>>,
}

impl Findings {
    /// Adds an error.
    pub fn error(&self, code: &'static str, span: &Span, message: impl Into<String>, hint: impl Into<String>) {
        self.push(code, Severity::Error, span, message, hint);
    }

    /// Adds a finding of any severity.
    pub fn push(
        &self,
        code: &'static str,
        severity: Severity,
        span: &Span,
        message: impl Into<String>,
        hint: impl Into<String>,
    ) {
        let (message, hint) = remedy_apart(code, message.into(), hint.into());
        self.list.borrow_mut().push(Finding {
            code,
            severity,
            message,
            line: 0,
            column: 0,
            span: Some(span.clone()),
            hints: if hint.is_empty() { Vec::new() } else { vec![hint] },
            causes: Vec::new(),
        });
    }

    /// The findings in file order, with line and column.
    #[must_use]
    pub fn finish(self, text: &str) -> Vec<Finding> {
        let mut list = self.list.into_inner();
        let places = Places::new(text);
        for finding in &mut list {
            places.place(finding);
        }
        list.sort_by_key(|f| f.span.as_ref().map_or(0, |s| s.start));
        list
    }
}

/// Errors of formulas and quantities end in their remedy, after a semicolon: it becomes the hint where none is given.
#[must_use]
pub fn remedy_apart(code: &str, message: String, hint: String) -> (String, String) {
    if !hint.is_empty() {
        return (message, hint);
    }
    match message.split_once("; ") {
        Some((what, remedy)) => (what.to_owned(), remedy.to_owned()),
        None => {
            let example = match code {
                "bad-formula" | "no-atomic-weight" => "write it like `CuSO4·5H2O(s)`",
                "bad-equation" => "write it like `CuSO4(aq) + Zn(s) -> Cu(s) + ZnSO4(aq)`",
                "bad-quantity" | "unknown-unit" | "wrong-dimension" | "no-measure" => "write it like `50.00 g`",
                _ => "",
            };
            (message, example.to_owned())
        }
    }
}

/// Line starts of a text.
pub struct Places<'a> {
    text: &'a str,
    starts: Vec<usize>,
}

impl<'a> Places<'a> {
    /// Line starts of `text`.
    #[must_use]
    pub fn new(text: &'a str) -> Self {
        let starts = std::iter::once(0).chain(text.match_indices('\n').map(|(i, _)| i + 1)).collect();
        Self { text, starts }
    }

    /// Sets line and column of a finding from its span.
    pub fn place(&self, finding: &mut Finding) {
        let Some(span) = &finding.span else { return };
        let start = span.start.min(self.text.len());
        let line = self.starts.partition_point(|s| *s <= start).max(1);
        let begin = self.starts.get(line - 1).copied().unwrap_or(0);
        finding.line = line;
        finding.column = self.text.get(begin..start).map_or(1, |s| s.chars().count() + 1);
    }
}

/// The nearest of some words, if any is near.
#[must_use]
pub fn nearest<'a>(word: &str, words: impl IntoIterator<Item = &'a str>) -> Option<&'a str> {
    let limit = 1 + word.chars().count() / 4;
    words
        .into_iter()
        .map(|candidate| (distance(word, candidate), candidate))
        .filter(|(d, _)| *d <= limit)
        .min_by_key(|(d, _)| *d)
        .map(|(_, candidate)| candidate)
}

/// Number of letters to change, insert, remove or swap.
fn distance(a: &str, b: &str) -> usize {
    let (a, b): (Vec<char>, Vec<char>) = (a.chars().take(64).collect(), b.chars().take(64).collect());
    let mut before: Vec<usize> = Vec::new();
    let mut last: Vec<usize> = (0..=b.len()).collect();
    for i in 1..=a.len() {
        let mut row = vec![i];
        for j in 1..=b.len() {
            let cost = usize::from(a[i - 1] != b[j - 1]);
            let mut least = (last[j] + 1).min(row[j - 1] + 1).min(last[j - 1] + cost);
            if i > 1 && j > 1 && a[i - 1] == b[j - 2] && a[i - 2] == b[j - 1] {
                least = least.min(before[j - 2] + 1);
            }
            row.push(least);
        }
        before = std::mem::replace(&mut last, row);
    }
    last[b.len()]
}

/// "did you mean `x`?" or the whole list.
#[must_use]
pub fn suggest(word: &str, words: &[&str]) -> String {
    match nearest(word, words.iter().copied()) {
        Some(near) => format!("did you mean `{near}`?"),
        None => format!("known here: {}", words.iter().map(|w| format!("`{w}`")).collect::<Vec<_>>().join(", ")),
    }
}

/// A table being read.
pub struct Fields<'a> {
    table: &'a dyn TableLike,
    /// Where the table stands.
    pub span: Span,
    what: String,
    findings: &'a Findings,
    asked: RefCell<Vec<&'static str>>,
}

impl<'a> Fields<'a> {
    /// Starts reading a table; `what` names it in findings ("step 3").
    pub fn new(table: &'a dyn TableLike, span: Span, what: impl Into<String>, findings: &'a Findings) -> Self {
        Self { table, span, what: what.into(), findings, asked: RefCell::new(Vec::new()) }
    }

    /// Findings of the file.
    #[must_use]
    pub fn findings(&self) -> &'a Findings {
        self.findings
    }

    /// Name of the table in findings.
    #[must_use]
    pub fn what(&self) -> &str {
        &self.what
    }

    /// The item of a key.
    pub fn item(&self, key: &'static str) -> Option<&'a Item> {
        self.asked.borrow_mut().push(key);
        self.table.get(key).filter(|item| !item.is_none())
    }

    /// Where a key's value stands.
    #[must_use]
    pub fn span_of(&self, item: &Item) -> Span {
        item.span().unwrap_or_else(|| self.span.clone())
    }

    /// Text of a key.
    pub fn text(&self, key: &'static str) -> Option<Spanned<String>> {
        let item = self.item(key)?;
        let span = self.span_of(item);
        match item.as_value() {
            Some(Value::String(text)) => Some(Spanned { value: text.value().clone(), span }),
            Some(Value::Datetime(at)) => Some(Spanned { value: at.value().to_string(), span }),
            other => {
                self.wrong_kind(key, &span, other, "text in quotes");
                None
            }
        }
    }

    /// Text of a key that must be there and not be empty.
    pub fn needed_text(&self, key: &'static str, example: &str) -> Option<Spanned<String>> {
        if self.table.get(key).is_none() {
            self.asked.borrow_mut().push(key);
            self.missing(key, example);
            return None;
        }
        let text = self.text(key)?;
        if text.value.trim().is_empty() {
            let hint = format!("for instance `{key} = {example}`");
            self.findings.error("empty-text", &text.span, format!("`{key}` of {} is empty", self.what), hint);
            return None;
        }
        Some(text)
    }

    /// Reports a key that is not there.
    pub fn missing(&self, key: &str, example: &str) {
        let message = format!("{} has no `{key}`", self.what);
        self.findings.error("missing-field", &self.span, message, format!("add it, for instance `{key} = {example}`"));
    }

    /// Reports a value of the wrong kind.
    pub fn wrong_kind(&self, key: &str, span: &Span, found: Option<&Value>, wanted: &str) {
        let message = format!("`{key}` of {} is {}; {wanted} is wanted", self.what, kind_name(found));
        self.findings.error("wrong-kind", span, message, "");
    }

    /// Reports a number where text with a unit is wanted.
    fn bare_number(&self, key: &str, span: &Span, number: &Value, example: &str) {
        let message = format!("`{key}` of {} is {} without quotes and unit", self.what, kind_name(Some(number)));
        let hint = format!("quantities are text, for instance `{key} = \"{example}\"`");
        self.findings.error("wrong-kind", span, message, hint);
    }

    /// One text or a list of texts.
    pub fn texts(&self, key: &'static str) -> Vec<Spanned<String>> {
        let Some(item) = self.item(key) else { return Vec::new() };
        let span = self.span_of(item);
        match item.as_value() {
            Some(Value::String(text)) => vec![Spanned { value: text.value().clone(), span }],
            Some(Value::Array(array)) => array
                .iter()
                .filter_map(|value| {
                    let span = value.span().unwrap_or_else(|| span.clone());
                    match value.as_str() {
                        Some(text) => Some(Spanned { value: text.to_owned(), span }),
                        None => {
                            self.wrong_kind(key, &span, Some(value), "text in quotes");
                            None
                        }
                    }
                })
                .collect(),
            other => {
                self.wrong_kind(key, &span, other, "text or a list of texts");
                Vec::new()
            }
        }
    }

    /// Pairs of a table of texts, in file order.
    pub fn pairs(&self, key: &'static str) -> Vec<(Spanned<String>, Spanned<String>)> {
        let Some(item) = self.item(key) else { return Vec::new() };
        let span = self.span_of(item);
        let Some(table) = item.as_table_like() else {
            self.wrong_kind(key, &span, item.as_value(), "a table `{ name = \"amount\" }`");
            return Vec::new();
        };
        let mut pairs = Vec::new();
        for (name, item) in table.iter() {
            let value_span = item.span().unwrap_or_else(|| span.clone());
            let key_span = table.key(name).and_then(toml_edit::Key::span).unwrap_or_else(|| value_span.clone());
            match item.as_str() {
                Some(text) => pairs.push((
                    Spanned { value: name.to_owned(), span: key_span },
                    Spanned { value: text.to_owned(), span: value_span },
                )),
                None => match item.as_value() {
                    Some(number @ (Value::Integer(_) | Value::Float(_))) => {
                        self.bare_number(name, &value_span, number, "50.00 g");
                    }
                    other => self.wrong_kind(name, &value_span, other, "text in quotes"),
                },
            }
        }
        pairs
    }

    /// A quantity of the wanted dimension.
    pub fn quantity(&self, key: &'static str, dimension: Dimension) -> Option<Spanned<Quantity>> {
        let item = self.item(key)?;
        if let Some(number @ (Value::Integer(_) | Value::Float(_))) = item.as_value() {
            self.bare_number(key, &self.span_of(item), number, dimension.example().unwrap_or("50.00 g"));
            return None;
        }
        let text = self.text(key)?;
        self.parse_quantity(key, &text, dimension).map(|value| Spanned { value, span: text.span })
    }

    /// Parses the text of a quantity, pointing at the slip inside it.
    pub fn parse_quantity(&self, key: &str, text: &Spanned<String>, dimension: Dimension) -> Option<Quantity> {
        match Quantity::parse_as(&text.value, dimension) {
            Ok(quantity) => Some(quantity),
            Err(error) => {
                let span = inside(&text.span, error.offset, error.length);
                let code = match error.kind {
                    chem::QuantityErrorKind::UnknownUnit { .. } => "unknown-unit",
                    chem::QuantityErrorKind::WrongDimension { .. } => "wrong-dimension",
                    chem::QuantityErrorKind::NoMeasure(_) => "no-measure",
                    _ => "bad-quantity",
                };
                self.findings.error(code, &span, format!("`{key}` of {}: {error}", self.what), "");
                None
            }
        }
    }

    /// Reports every key that nobody asked for.
    pub fn finish(&self) {
        let mut asked = self.asked.borrow().clone();
        asked.sort_unstable();
        asked.dedup();
        for (key, item) in self.table.iter() {
            if asked.contains(&key) {
                continue;
            }
            let span = self
                .table
                .key(key)
                .and_then(toml_edit::Key::span)
                .or_else(|| item.span())
                .unwrap_or_else(|| self.span.clone());
            let message = format!("{} has an unknown key `{key}`", self.what);
            self.findings.error("unknown-key", &span, message, suggest(key, &asked));
        }
    }
}

/// What a value of the file is, with its article.
fn kind_name(value: Option<&Value>) -> &'static str {
    match value {
        Some(Value::String(_)) => "text",
        Some(Value::Integer(_) | Value::Float(_)) => "a number",
        Some(Value::Boolean(_)) => "true or false",
        Some(Value::Datetime(_)) => "a date",
        Some(Value::Array(_)) => "a list",
        Some(Value::InlineTable(_)) | None => "a table",
    }
}

/// Place of a part of a quoted text; the whole text where escapes or multi-line quotes make it uncertain.
#[must_use]
pub fn inside(span: &Span, offset: usize, length: usize) -> Span {
    let start = span.start + 1 + offset;
    let end = start + length.max(1);
    if end < span.end { start..end } else { span.clone() }
}
