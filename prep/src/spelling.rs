//! How is the value of a field spelled, where several spellings mean the same?
//!
//! Quantities as `24.41 ± 0.06 g`, hydrates with `·`, reactions with `->`, words as the reference has them. A spelling
//! is changed only where what is read from it afterwards is equal to what was read before, down to the last digit
//! typed; anything else stays as it was typed.

use crate::fields::{Field, Kind};
use chem::reaction::Equation;
use chem::{Quantity, Species, SpeciesPattern};
use std::borrow::Cow;
use toml_edit::{Key, Value};

/// The one spelling of the text of a field.
pub(crate) fn spelled<'a>(kind: Kind, text: &'a str) -> Cow<'a, str> {
    let found = match kind {
        Kind::Text | Kind::Texts | Kind::Time | Kind::Price | Kind::Inline(_) | Kind::Tables(_) => None,
        Kind::Word(words) => words().into_iter().find(|word| word.eq_ignore_ascii_case(text.trim())).map(str::to_owned),
        Kind::Elements => Some(text.trim().to_owned()),
        Kind::Quantity(_)
        | Kind::Quantities(_)
        | Kind::QuantityOrWord(..)
        | Kind::Charge
        | Kind::Hardness
        | Kind::Parts
        | Kind::Foreign
        | Kind::Traces
        | Kind::Shares => Some(quantity(text)),
        Kind::Amounts | Kind::Amount => Some(amount(text)),
        Kind::Strength => Some(strength(text)),
        Kind::Portions => portions(text),
        Kind::Species | Kind::SpeciesList => species(text),
        Kind::Patterns => pattern(text),
        Kind::Reactions => reaction(text),
    };
    found.map_or(Cow::Borrowed(text), Cow::Owned)
}

/// The one spelling of a key within the table of a field.
pub(crate) fn spelled_key(kind: Kind, key: &str) -> Cow<'_, str> {
    match kind {
        Kind::Traces | Kind::Shares => species(key).map_or(Cow::Borrowed(key), Cow::Owned),
        Kind::Foreign => Cow::Borrowed(key.trim()),
        _ => Cow::Borrowed(key),
    }
}

/// The one spelling of the value of a field that may not be listed.
pub(crate) fn spelled_field<'a>(field: Option<&Field>, text: &'a str) -> Cow<'a, str> {
    field.map_or(Cow::Borrowed(text), |field| spelled(field.kind, text))
}

fn quantity(text: &str) -> String {
    respelled(text).unwrap_or_else(|| text.trim().to_owned())
}

/// The quantity as it prints, where it is read back as the same one.
fn respelled(text: &str) -> Option<String> {
    let read = Quantity::parse(text).ok()?;
    let printed = read.to_string();
    let again = Quantity::parse(&printed).ok()?;
    let same = again.value == read.value && again.unit == read.unit && again.last_place == read.last_place;
    same.then_some(printed)
}

/// A quantity or a count: `200 tablets`.
fn amount(text: &str) -> String {
    respelled(text).unwrap_or_else(|| {
        let trimmed = text.trim();
        let digits = trimmed.find(|c: char| !c.is_ascii_digit()).unwrap_or(trimmed.len());
        match trimmed.split_at_checked(digits) {
            Some((count, word)) if !count.is_empty() && word.trim().chars().all(|c| c.is_ascii_alphabetic()) => {
                format!("{count} {}", word.trim())
            }
            _ => trimmed.to_owned(),
        }
    })
}

fn strength(text: &str) -> String {
    let trimmed = text.trim();
    for mark in ["w/v", "w/w"] {
        if let Some(figure) = trimmed.strip_suffix(mark) {
            return format!("{} {mark}", quantity(figure));
        }
    }
    quantity(trimmed)
}

fn portions(text: &str) -> Option<String> {
    let (times, portion) = text.split_once(['x', '×'])?;
    let times: usize = times.trim().parse().ok()?;
    Some(format!("{times} x {}", quantity(portion)))
}

fn species(text: &str) -> Option<String> {
    let read = Species::parse(text).ok()?;
    let printed = read.to_string();
    (Species::parse(&printed).ok()? == read).then_some(printed)
}

fn pattern(text: &str) -> Option<String> {
    let read = SpeciesPattern::parse(text).ok()?;
    let printed = read.to_string();
    (SpeciesPattern::parse(&printed).ok()? == read).then_some(printed)
}

fn reaction(text: &str) -> Option<String> {
    let terms = |equation: &Equation| -> Vec<_> {
        let left = equation.left.iter().map(|term| (true, term));
        let all = left.chain(equation.right.iter().map(|term| (false, term)));
        all.map(|(left, term)| (left, term.coefficient, term.written, term.species.clone())).collect()
    };
    let read = Equation::parse(text).ok()?;
    let printed = read.to_string();
    (terms(&Equation::parse(&printed).ok()?) == terms(&read)).then_some(printed)
}

/// A text as a value of the file, in quotes.
pub(crate) fn quoted(text: &str) -> String {
    Value::from(text).decorated("", "").to_string()
}

/// A key as it stands in the file, in quotes where it needs them.
pub(crate) fn key_text(key: &str) -> String {
    Key::new(key).display_repr().into_owned()
}

#[cfg(test)]
mod tests {
    use super::*;
    use chem::Dimension;

    #[test]
    fn one_spelling_for_each_meaning() {
        let mass = Kind::Quantity(Dimension::MASS);
        for (kind, typed, wanted) in [
            (mass, " 24,41(6) g", "24.41 ± 0.06 g"),
            (mass, "10,0 +/- 0,2 g", "10.0 ± 0.2 g"),
            (mass, "98–100 g", "98 .. 100 g"),
            (mass, "≥ 98.0 %", ">= 98.0 %"),
            (mass, "5.00e-20 g", "5.00e-20 g"),
            (mass, "no figure", "no figure"),
            (Kind::QuantityOrWord(Dimension::MASS, &["none"]), " none ", "none"),
            (Kind::Amounts, "200tablets", "200 tablets"),
            (Kind::Amounts, "50mL", "50 mL"),
            (Kind::Amounts, " all", "all"),
            (Kind::Amount, "60tablets", "60 tablets"),
            (Kind::Price, "4,90 €", "4,90 €"),
            (Kind::Strength, "36% w/w", "36 % w/w"),
            (Kind::Strength, "2,0 mol/L", "2.0 mol/L"),
            (Kind::Portions, "4×100g", "4 x 100 g"),
            (Kind::Species, "CuSO4.5H2O (s)", "CuSO4·5H2O(s)"),
            (Kind::Patterns, "CuSO4*nH2O(s), n = 0..5", "CuSO4·nH2O(s), n = 0 .. 5"),
            (Kind::Reactions, "CuO (s)+H2(g) → Cu(s)+H2O(g)", "CuO(s) + H2(g) -> Cu(s) + H2O(g)"),
            (Kind::Word(crate::fields::foreign_kinds), " Soluble Combustible", "soluble combustible"),
            (Kind::Text, " a label ", " a label "),
        ] {
            assert_eq!(spelled(kind, typed), wanted, "{typed}");
            assert_eq!(spelled(kind, wanted), wanted, "once more");
        }
        assert_eq!(spelled_key(Kind::Traces, "Na2SO4 (s)"), "Na2SO4(s)");
    }

    #[test]
    fn texts_and_keys_are_quoted() {
        for text in ["", "a", "a \"b\"", "back\\slash", "two\nlines", "·°±", "tab\t", "'"] {
            let file = format!("{} = {}", key_text(text), quoted(text));
            let read: toml_edit::DocumentMut = file.parse().unwrap_or_else(|error| panic!("{file}: {error}"));
            assert_eq!(read.get(text).and_then(toml_edit::Item::as_str), Some(text), "{file}");
        }
        assert_eq!(
            (key_text("bluestone"), key_text("bulk oxide")),
            ("bluestone".to_owned(), "\"bulk oxide\"".to_owned())
        );
    }
}
