//! What does a phrase on a label name?
//!
//! The longest run of words that a table knows wins: `dried ferrous sulfate` before `iron`. Words that no table knows
//! are passed over if the phrase has a name besides.

use crate::element::Element;
use crate::formula::Formula;
use crate::substance::Substance;

/// Most words of a phrase that are looked at.
const MOST_WORDS: usize = 12;

/// Symbols that are English words; they name an element on a label only within a formula or a unit.
const SYMBOLS_LIKE_WORDS: [&str; 7] = ["As", "At", "Be", "He", "I", "In", "No"];

/// Words that say nothing about what is inside.
const FILLERS: [&str; 67] = [
    "a",
    "about",
    "an",
    "approx",
    "approximately",
    "assay",
    "available",
    "bp",
    "ca",
    "caplet",
    "caplets",
    "capsule",
    "capsules",
    "circa",
    "content",
    "count",
    "crystals",
    "dose",
    "each",
    "elemental",
    "ep",
    "eur",
    "every",
    "fertiliser",
    "fertilizer",
    "food",
    "grade",
    "granules",
    "in",
    "injection",
    "is",
    "jp",
    "label",
    "liquid",
    "lozenge",
    "lozenges",
    "mass",
    "mineral",
    "minerals",
    "more",
    "nf",
    "not",
    "npk",
    "of",
    "only",
    "or",
    "per",
    "ph",
    "pharmacopoeia",
    "powder",
    "product",
    "pure",
    "purity",
    "serving",
    "solution",
    "spray",
    "strength",
    "supplement",
    "syrup",
    "tablet",
    "tablets",
    "technical",
    "the",
    "to",
    "total",
    "usp",
    "which",
];

/// Words that set a medicinal article apart, to which the limits of a pharmacopoeia apply.
const PHARMACOPOEIAL: [&str; 17] = [
    "bp",
    "capsule",
    "capsules",
    "dried",
    "ep",
    "eur",
    "exsiccated",
    "injection",
    "jp",
    "lozenge",
    "lozenges",
    "nf",
    "pharmacopoeia",
    "pharmacopoeial",
    "tablet",
    "tablets",
    "usp",
];

/// One form a name may stand for.
#[derive(Clone, Debug, PartialEq)]
pub(super) struct Form {
    pub formula: Formula,
    pub row: Option<&'static Substance>,
}

/// A substance as named, with all forms the name may stand for.
#[derive(Clone, Debug, PartialEq)]
pub(super) struct Named {
    pub text: String,
    pub forms: Vec<Form>,
    /// Written as a formula, such as `P2O5`.
    pub as_formula: bool,
}

/// What a phrase names.
#[derive(Clone, Debug, PartialEq)]
pub(super) enum Subject {
    Element(Element),
    Substance(Named),
}

/// A word with its place.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) struct Word<'a> {
    pub text: &'a str,
    pub offset: usize,
}

impl Word<'_> {
    fn plain(&self) -> String {
        self.text.trim_matches(|letter: char| !letter.is_alphanumeric()).to_lowercase()
    }

    pub(super) fn is_filler(&self) -> bool {
        let plain = self.plain();
        plain.is_empty() || FILLERS.contains(&plain.as_str()) || plain.chars().all(|letter| letter.is_ascii_digit())
    }

    pub(super) fn is_pharmacopoeial(&self) -> bool {
        PHARMACOPOEIAL.contains(&self.plain().as_str())
    }
}

/// The longest name in a phrase; `element` completes a name that is only an anion, such as `gluconate`.
pub(super) fn resolve(words: &[Word<'_>], element: Option<Element>) -> Option<Subject> {
    let kept: Vec<&str> = words.iter().filter(|word| !is_noise(word)).map(|word| word.text).take(MOST_WORDS).collect();
    let windows =
        || (1..=kept.len()).rev().flat_map(|length| kept.windows(length).map(move |window| (length, window.join(" "))));
    let own = windows().find_map(|(length, text)| named(&text, length));
    if matches!(own, Some(Subject::Substance(_))) {
        return own;
    }
    let completed = element.and_then(|element| {
        let name = element.name();
        windows()
            .find_map(|(_, text)| by_name(&format!("{name} {text}")))
            .filter(|found| !is_the_element(found, element))
    });
    completed.or(own)
}

fn is_the_element(subject: &Subject, element: Element) -> bool {
    matches!(subject, Subject::Substance(named) if named.forms.iter().all(|form| {
        form.formula.composition().keys().all(|inside| *inside == element)
    }))
}

/// Words that may stand within a name without belonging to it.
fn is_noise(word: &Word<'_>) -> bool {
    matches!(word.plain().as_str(), "usp" | "bp" | "ep" | "nf" | "jp" | "elemental" | "pure" | "the" | "purity")
}

fn named(text: &str, length: usize) -> Option<Subject> {
    if length == 1
        && let Some(element) = element_of(text)
    {
        return Some(Subject::Element(element));
    }
    by_name(text).or_else(|| if length == 1 { by_formula(text) } else { None })
}

fn by_name(text: &str) -> Option<Subject> {
    let rows = Substance::find(text);
    if rows.is_empty() {
        return None;
    }
    let forms = rows.iter().map(|row| Form { formula: row.formula.clone(), row: Some(row) }).collect();
    let as_formula = Formula::parse(text).is_ok() && !rows.iter().any(|row| row.names().any(|name| name == text));
    Some(Subject::Substance(Named { text: text.to_owned(), forms, as_formula }))
}

/// A formula that no row has; it must look like one.
fn by_formula(text: &str) -> Option<Subject> {
    let trimmed = text.trim_end_matches(['.', ':']);
    let formula = Formula::parse(trimmed).ok().filter(|formula| formula.charge() == 0)?;
    let looks_like_one = trimmed.chars().any(|letter| letter.is_ascii_digit()) && formula.composition().len() > 1;
    if !looks_like_one || formula.molar_mass().is_err() {
        return None;
    }
    let forms = vec![Form { formula, row: None }];
    Some(Subject::Substance(Named { text: trimmed.to_owned(), forms, as_formula: true }))
}

/// An element by its name, its symbol or the symbol of its ion.
pub(super) fn element_of(text: &str) -> Option<Element> {
    let bare = text.trim_matches(|letter: char| !letter.is_alphabetic());
    let symbol = bare.trim_end_matches(['⁺', '⁻']);
    let by_symbol = Element::from_symbol(symbol).filter(|_| {
        let rest = text.trim_start_matches(symbol).trim_end_matches([':', '.']);
        !SYMBOLS_LIKE_WORDS.contains(&symbol)
            && (rest.is_empty() || (rest.ends_with(['+', '-', '−', '⁺', '⁻']) && rest.chars().count() <= 3))
    });
    let lower = bare.to_lowercase();
    let name = match lower.as_str() {
        "aluminum" => "aluminium",
        "sulphur" => "sulfur",
        "cesium" => "caesium",
        "fluoride" => "fluorine",
        "chloride" => "chlorine",
        "iodide" => "iodine",
        other => other,
    };
    by_symbol.or_else(|| Element::all().find(|element| element.name() == name))
}
