//! What number stands on the label, and how far can it be off?
//!
//! A printed number stands for the interval of half a unit of its last digit, trailing zeros included: `220` is 219.5
//! to 220.5. Labels often round harder than that, which makes this interval too narrow rather than too wide. A limit
//! (`98 % min`) runs from the printed bound itself, for percentages to 100.

use super::finding::FindingKind;

/// What is counted.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum Kind {
    /// Grams.
    Mass,
    /// Moles.
    Amount,
    /// Moles of charge.
    Equivalents,
    /// Litres.
    Volume,
}

/// To what it is related.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum Per {
    /// A tablet, a pack, or nothing said.
    Item,
    /// A litre.
    Litre,
    /// A gram of the product.
    Gram,
}

/// A unit as printed.
#[derive(Clone, Debug, PartialEq)]
pub(super) struct PrintedUnit {
    pub kind: Kind,
    pub per: Per,
    /// Base units (g, mol, L; per item, litre, gram) in one printed unit.
    pub factor: f64,
    pub text: String,
    /// A percentage, whose limits end at 100.
    pub percent: bool,
    /// A percentage that says neither by weight nor by volume.
    pub bare_percent: bool,
}

/// Whether a number is a limit.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum Limit {
    None,
    Least,
    Most,
}

/// A number with unit, in printed units.
#[derive(Clone, Debug, PartialEq)]
pub(super) struct Amount {
    pub low: f64,
    pub value: f64,
    pub high: f64,
    pub limit: Limit,
    pub unit: PrintedUnit,
    /// Element symbol written within the unit, as in `mg Ca/mL`.
    pub embedded: Option<String>,
    pub offset: usize,
    pub length: usize,
}

impl Amount {
    /// The amount with a limit taken into account.
    pub fn limited(mut self, limit: Limit) -> Amount {
        self.limit = limit;
        match limit {
            Limit::None => {}
            Limit::Least => {
                self.low = self.value;
                self.high = if self.unit.percent { self.value.max(100.0) } else { f64::INFINITY };
            }
            Limit::Most => (self.low, self.high) = (0.0, self.value),
        }
        self
    }

    /// Low, printed value and high in base units.
    pub fn base(&self) -> (f64, f64, f64) {
        let factor = self.unit.factor;
        (self.low * factor, self.value * factor, self.high * factor)
    }
}

/// What was found where a number begins.
pub(super) enum Reading {
    /// One amount.
    Amount(Box<Amount>),
    /// Three numbers with dashes: nitrogen, phosphate and potash of a fertiliser.
    Grades(Box<[Amount; 3]>),
    /// A number that says no unit.
    Plain,
}

struct Number {
    value: f64,
    half: f64,
    end: usize,
}

/// Reads the amount whose number begins at `start`; the end and a doubt about the number come along.
pub(super) fn amount_at(text: &str, start: usize) -> Option<(Reading, usize, Option<FindingKind>)> {
    let first = number_at(text, start)?;
    let doubt = thousands_doubt(text, start, first.end);
    if let Some((grades, end)) = grades_at(text, start, &first) {
        return Some((Reading::Grades(Box::new(grades)), end, doubt));
    }
    let early = unit_at(text, first.end);
    let after = early.as_ref().map_or(first.end, |(_, _, end)| *end);
    let second = second_at(text, after);
    let (low, value, high, number_end) = match &second {
        Some((number, true)) => (first.value - number.value, first.value, first.value + number.value, number.end),
        Some((number, false)) if number.value > first.value => {
            (first.value - first.half, (first.value + number.value) / 2.0, number.value + number.half, number.end)
        }
        _ => (first.value - first.half, first.value, first.value + first.half, after),
    };
    let late = if number_end == after { None } else { unit_at(text, number_end) };
    let Some((unit, embedded, end)) = late.or(early) else { return Some((Reading::Plain, first.end, doubt)) };
    let end = end.max(number_end);
    let amount = Amount {
        low: low.max(0.0),
        value,
        high,
        limit: Limit::None,
        unit,
        embedded,
        offset: start,
        length: end - start,
    };
    Some((Reading::Amount(Box::new(amount)), end, doubt))
}

/// A number in digits, with decimal point, decimal comma or commas between thousands.
fn number_at(text: &str, start: usize) -> Option<Number> {
    let rest = text.get(start..)?;
    let length =
        rest.find(|letter: char| !letter.is_ascii_digit() && !matches!(letter, '.' | ',')).unwrap_or(rest.len());
    let run = rest.get(..length)?;
    // Two dots are a range.
    let run = run.split("..").next().unwrap_or(run).trim_end_matches(['.', ',']);
    if run.len() > 18 || !run.starts_with(|letter: char| letter.is_ascii_digit() || letter == '.') {
        return None;
    }
    let plain = match (run.contains('.'), run.matches(',').count()) {
        (_, 0) => run.to_owned(),
        (false, 1) if !is_thousands(run) => run.replace(',', "."),
        _ if is_thousands(run) => run.replace(',', ""),
        _ => return None,
    };
    let value: f64 = plain.parse().ok()?;
    let decimals = plain.split_once('.').map_or(0, |(_, decimals)| decimals.len());
    let half = 0.5 * 10_f64.powi(-(decimals.min(18) as i32));
    Some(Number { value, half, end: start + run.len() })
}

/// Groups of three digits after the first, not just zero.
fn is_thousands(run: &str) -> bool {
    let mut groups = run.split('.').next().unwrap_or("").split(',');
    let first = groups.next().unwrap_or("");
    (1..=3).contains(&first.len()) && !first.starts_with('0') && groups.all(|group| group.len() == 3)
}

fn thousands_doubt(text: &str, start: usize, end: usize) -> Option<FindingKind> {
    let run = text.get(start..end)?;
    (run.contains(',') && is_thousands(run)).then(|| FindingKind::CommaReadAsThousands(run.to_owned()))
}

/// Place of the next letter that is no space.
fn skip_spaces(text: &str, at: usize) -> usize {
    let rest = text.get(at..).unwrap_or("");
    at + (rest.len() - rest.trim_start().len())
}

/// The second number of a range, or after ± (then true).
fn second_at(text: &str, at: usize) -> Option<(Number, bool)> {
    let at = skip_spaces(text, at);
    let rest = text.get(at..)?;
    let separator = ["±", "+/-", "...", "..", "…", "–", "-", "to "].iter().find(|mark| rest.starts_with(**mark))?;
    let number = number_at(text, skip_spaces(text, at + separator.len()))?;
    Some((number, matches!(*separator, "±" | "+/-")))
}

/// `12-8-16`, nothing but digits and dashes.
fn grades_at(text: &str, start: usize, first: &Number) -> Option<([Amount; 3], usize)> {
    let mut numbers = vec![(first.value, first.half)];
    let mut end = first.end;
    while numbers.len() < 3 && text.get(end..)?.starts_with(['-', '–']) {
        let dash = text.get(end..)?.chars().next()?.len_utf8();
        let number = number_at(text, end + dash)?;
        end = number.end;
        numbers.push((number.value, number.half));
    }
    let [nitrogen, phosphate, potash] = <[(f64, f64); 3]>::try_from(numbers).ok()?;
    let amount = |(value, half): (f64, f64)| Amount {
        low: (value - half).max(0.0),
        value,
        high: value + half,
        limit: Limit::None,
        unit: PrintedUnit::percent(),
        embedded: None,
        offset: start,
        length: end - start,
    };
    Some(([amount(nitrogen), amount(phosphate), amount(potash)], end))
}

impl PrintedUnit {
    fn percent() -> PrintedUnit {
        let text = "%".to_owned();
        PrintedUnit { kind: Kind::Mass, per: Per::Gram, factor: 0.01, text, percent: true, bare_percent: false }
    }
}

/// Spellings of what is counted.
const COUNTED: [(&str, Kind, f64); 29] = [
    ("milligrams", Kind::Mass, 1e-3),
    ("milligram", Kind::Mass, 1e-3),
    ("micrograms", Kind::Mass, 1e-6),
    ("microgram", Kind::Mass, 1e-6),
    ("grams", Kind::Mass, 1.0),
    ("gram", Kind::Mass, 1.0),
    ("mcg", Kind::Mass, 1e-6),
    ("µg", Kind::Mass, 1e-6),
    ("μg", Kind::Mass, 1e-6),
    ("ug", Kind::Mass, 1e-6),
    ("mg", Kind::Mass, 1e-3),
    ("MG", Kind::Mass, 1e-3),
    ("kg", Kind::Mass, 1e3),
    ("g", Kind::Mass, 1.0),
    ("mmol", Kind::Amount, 1e-3),
    ("µmol", Kind::Amount, 1e-6),
    ("μmol", Kind::Amount, 1e-6),
    ("mol", Kind::Amount, 1.0),
    ("mEq", Kind::Equivalents, 1e-3),
    ("meq", Kind::Equivalents, 1e-3),
    ("MEQ", Kind::Equivalents, 1e-3),
    ("mval", Kind::Equivalents, 1e-3),
    ("Eq", Kind::Equivalents, 1.0),
    ("mL", Kind::Volume, 1e-3),
    ("ml", Kind::Volume, 1e-3),
    ("ML", Kind::Volume, 1e-3),
    ("litre", Kind::Volume, 1.0),
    ("L", Kind::Volume, 1.0),
    ("l", Kind::Volume, 1.0),
];

/// What an amount is related to after a stroke: litres or grams in one of it.
const RELATED: [(&str, Per, f64); 10] = [
    ("mL", Per::Litre, 1e-3),
    ("ml", Per::Litre, 1e-3),
    ("ML", Per::Litre, 1e-3),
    ("dL", Per::Litre, 0.1),
    ("dl", Per::Litre, 0.1),
    ("L", Per::Litre, 1.0),
    ("l", Per::Litre, 1.0),
    ("mg", Per::Gram, 1e-3),
    ("kg", Per::Gram, 1e3),
    ("g", Per::Gram, 1.0),
];

const PERCENT: [&str; 4] = ["%", "percent", "per cent", "pct"];
/// How a percentage is meant: mass by mass or mass by volume.
const BY: [(&str, Per); 10] = [
    ("w/w", Per::Gram),
    ("m/m", Per::Gram),
    ("w/v", Per::Litre),
    ("m/v", Per::Litre),
    ("wt/wt", Per::Gram),
    ("wt/vol", Per::Litre),
    ("by weight", Per::Gram),
    ("by mass", Per::Gram),
    ("by wt", Per::Gram),
    ("wt", Per::Gram),
];

/// Length of the first of these words that stands at the start of `rest`, no letter behind it.
fn leading<'a, T>(rest: &str, words: &'a [T], spelling: impl Fn(&T) -> &str, any_case: bool) -> Option<(&'a T, usize)> {
    words.iter().find_map(|entry| {
        let word = spelling(entry);
        let written = rest.get(..word.len())?;
        let same = if any_case { written.eq_ignore_ascii_case(word) } else { written == word };
        let next = rest.get(word.len()..)?.chars().next();
        let ends = word == "%" || !next.is_some_and(char::is_alphanumeric);
        (same && ends).then_some((entry, word.len()))
    })
}

/// The unit at `at`, the element written in it, and its end.
fn unit_at(text: &str, at: usize) -> Option<(PrintedUnit, Option<String>, usize)> {
    let start = skip_spaces(text, at);
    let rest = text.get(start..)?;
    if let Some((_, length)) = leading(rest, &PERCENT, |word| word, true) {
        let (unit, end) = percent_at(text, start + length);
        return Some((unit, None, end));
    }
    if let Some((_, length)) = leading(rest, &["ppm"], |word| word, true) {
        let unit = PrintedUnit { factor: 1e-6, text: "ppm".to_owned(), percent: false, ..PrintedUnit::percent() };
        return Some((unit, None, start + length));
    }
    if let Some((_, length)) = leading(rest, &["M"], |word| word, false) {
        let text = "mol/L".to_owned();
        let unit =
            PrintedUnit { kind: Kind::Amount, per: Per::Litre, factor: 1.0, text, percent: false, bare_percent: false };
        return Some((unit, None, start + length));
    }
    let ((_, kind, factor), length) = leading(rest, &COUNTED, |(word, _, _)| word, false)?;
    let counted = rest.get(..length).unwrap_or("");
    let mut unit = PrintedUnit {
        kind: *kind,
        per: Per::Item,
        factor: *factor,
        text: counted.to_owned(),
        percent: false,
        bare_percent: false,
    };
    let mut end = start + length;
    let (embedded, stroke) = embedded_at(text, end);
    if let Some((per, scale, shown, after)) = related_at(text, stroke) {
        unit.per = per;
        unit.factor = if scale > 0.0 { unit.factor / scale } else { unit.factor };
        unit.text.push_str(&shown);
        end = after;
        return Some((unit, embedded, end));
    }
    Some((unit, None, end))
}

/// A percentage and how it is meant, with or without brackets.
fn percent_at(text: &str, at: usize) -> (PrintedUnit, usize) {
    let start = skip_spaces(text, at);
    let rest = text.get(start..).unwrap_or("");
    let (inner, opened) = match rest.strip_prefix('(') {
        Some(inner) => (inner, true),
        None => (rest, false),
    };
    let Some(((word, per), length)) = leading(inner, &BY, |(word, _)| word, true) else {
        return (PrintedUnit { bare_percent: true, ..PrintedUnit::percent() }, at);
    };
    let mut end = start + usize::from(opened) + length;
    if opened && text.get(end..).is_some_and(|rest| rest.starts_with(')')) {
        end += 1;
    }
    // One gram in 100 mL is 10 g/L.
    let factor = if *per == Per::Litre { 10.0 } else { 0.01 };
    let percent = *per == Per::Gram;
    (PrintedUnit { per: *per, factor, text: format!("% {word}"), percent, ..PrintedUnit::percent() }, end)
}

/// An element symbol between unit and stroke, as in `mg Ca/mL`, and where the stroke may stand.
fn embedded_at(text: &str, at: usize) -> (Option<String>, usize) {
    let start = skip_spaces(text, at);
    let rest = text.get(start..).unwrap_or("");
    let length = rest.find(|letter: char| !letter.is_ascii_alphabetic()).unwrap_or(rest.len());
    let symbol = rest.get(..length).unwrap_or("");
    let after = rest.get(length..).unwrap_or("");
    let marks = after.len() - after.trim_start_matches(['+', '²', '⁺', '2', '3']).len();
    let stroke = start + length + marks;
    let known = crate::element::Element::from_symbol(symbol).is_some();
    if known && text.get(stroke..).is_some_and(|rest| rest.starts_with('/')) {
        return (Some(symbol.to_owned()), stroke);
    }
    (None, at)
}

/// What stands after `/` or `per`: relation, how many base units, its text, its end.
fn related_at(text: &str, at: usize) -> Option<(Per, f64, String, usize)> {
    let start = skip_spaces(text, at);
    let rest = text.get(start..)?;
    let mark = ["/", "per ", "in "].iter().find(|mark| rest.starts_with(**mark))?;
    let place = skip_spaces(text, start + mark.len());
    let number = number_at(text, place);
    let (count, unit_place) = number.map_or((1.0, place), |number| (number.value, skip_spaces(text, number.end)));
    let unit = text.get(unit_place..)?;
    if let Some(((word, per, scale), length)) = leading(unit, &RELATED, |(word, _, _)| word, false) {
        let written = text.get(place..unit_place).unwrap_or("").trim();
        let space = if written.is_empty() { "" } else { " " };
        return Some((*per, scale * count, format!("/{written}{space}{word}"), unit_place + length));
    }
    // A tablet, a capsule, a lozenge: one item.
    let letters = unit.find(|letter: char| !letter.is_alphabetic()).unwrap_or(unit.len());
    (*mark == "/" && letters > 2).then(|| (Per::Item, 1.0, String::new(), unit_place + letters))
}
