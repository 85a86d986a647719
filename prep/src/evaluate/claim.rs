//! Does the evidence carry what the author would say?
//!
//! A claim is one or more parts: a mass of a substance or an element ("24.4 g CuO"), a yield ("yield 97 %", a bare
//! percentage), a purity ("98 % pure"), an identity ("malachite"); of the product, or of a lot named before a colon.
//! Each part names a range: "24.4 g" is good to half its last digit, "24.3 ± 0.1 g" to two standard uncertainties, bounds
//! are bounds; an identity is a purity of at least 98 %. Against the draws of the account it is
//!
//! - *supported* where at least nine draws in ten lie in the range,
//! - *refuted* where all but one in a hundred lie on one side of it,
//! - *too strong* else; what stands instead is the account's own figure.
//!
//! A substance that the file does not allow in the lot cannot be judged by draws: it is refuted where a loss on heating
//! excludes it, else too strong.
//!
//! Source: the thresholds are the project's; the half last digit is common practice.

use super::books::Books;
use super::interval;
use crate::model::Preparation;
use crate::outcome::{Claim, ClaimPart, Interval, LossLevel, Verdict};
use chem::formula::to_f64;
use chem::substance::Substance;
use chem::{Dimension, Element, Formula, Quantity, Value as Number};

/// Share of draws in the range that supports a part.
const SUPPORTED: f64 = 0.9;
/// Share of draws on one side of the range that refutes a part.
const REFUTED: f64 = 0.99;
/// Purity from which a lot is called a substance.
const IDENTITY: f64 = 0.98;
/// Distance of a loss on heating that excludes a substance, standard uncertainties.
const EXCLUDED: f64 = 3.0;

/// What is wrong with a claim, if it cannot be held against an account of this preparation.
///
/// # Errors
/// One sentence that says what would be right.
pub fn check_claim(preparation: &Preparation, text: &str) -> Result<(), String> {
    parse(preparation, text).map(|_| ())
}

/// What a part is about.
#[derive(Clone, Debug, PartialEq)]
pub(super) enum Subject {
    /// Mass of a substance, kg.
    Substance(Formula),
    /// Mass of an element, kg.
    Element(Element),
    /// Mass of the lot, kg.
    Mass,
    /// Yield from the feed, a fraction.
    Yield,
    /// Mass fraction of a substance.
    Purity(Formula),
    /// Mass fraction of an element.
    Content(Element),
}

/// A part as understood.
#[derive(Clone, Debug, PartialEq)]
pub(super) struct Part {
    pub text: String,
    pub subject: Subject,
    /// SI.
    pub low: f64,
    pub high: f64,
}

/// A claim as understood.
#[derive(Clone, Debug, PartialEq)]
pub(super) struct Parsed {
    pub text: String,
    /// Lot named.
    pub lot: Option<String>,
    pub parts: Vec<Part>,
}

/// Understands a claim; what is wrong with it, if it cannot.
pub(super) fn parse(preparation: &Preparation, text: &str) -> Result<Parsed, String> {
    let lots = || preparation.steps.iter().flat_map(|s| &s.gives).map(|g| g.lot.value.as_str());
    let (lot, rest) = match text.split_once(':') {
        Some((lot, rest)) => match lots().find(|known| *known == lot.trim()) {
            Some(lot) => (Some(lot.to_owned()), rest),
            None => {
                let names: Vec<&str> = lots().collect();
                return Err(format!("no lot is called `{}`; there are {}", lot.trim(), names.join(", ")));
            }
        },
        None => (None, text),
    };
    let target = preparation.target.as_ref().map(|t| t.substance.formula.clone());
    let mut parts: Vec<Part> = Vec::new();
    for piece in pieces(rest) {
        // A purity without a substance is that of the last one named, else of the target.
        let named = parts.iter().rev().find_map(|part| match &part.subject {
            Subject::Substance(formula) | Subject::Purity(formula) => Some(formula.clone()),
            _ => None,
        });
        parts.push(part(piece, named.or_else(|| target.clone()).as_ref())?);
    }
    if parts.is_empty() {
        return Err("it is empty; write for instance `24.4 g CuO, 97 %`".to_owned());
    }
    Ok(Parsed { text: text.trim().to_owned(), lot, parts })
}

/// Pieces between commas, semicolons and "and"; a comma between digits is a decimal one.
fn pieces(text: &str) -> Vec<&str> {
    let mut list = Vec::new();
    let mut start = 0;
    let bytes = text.as_bytes();
    let digit = |i: usize| bytes.get(i).is_some_and(u8::is_ascii_digit);
    for (i, byte) in bytes.iter().enumerate() {
        let decimal = *byte == b',' && i > 0 && digit(i - 1) && digit(i + 1);
        if matches!(byte, b',' | b';') && !decimal {
            list.push(&text[start..i]);
            start = i + 1;
        }
    }
    list.push(&text[start..]);
    list.into_iter().flat_map(|piece| piece.split(" and ")).map(str::trim).filter(|piece| !piece.is_empty()).collect()
}

fn part(piece: &str, named: Option<&Formula>) -> Result<Part, String> {
    let text = piece.to_owned();
    let plain = piece.replace("at least ", ">= ").replace("at most ", "<= ");
    let mut words: Vec<&str> =
        plain.split_whitespace().filter(|word| !["yield", "of", "is", "pure", "purity"].contains(word)).collect();
    let says = |word: &str| plain.split_whitespace().any(|own| own == word);
    // The longest beginning that is a quantity.
    let known = |quantity: &Quantity| [Dimension::MASS, Dimension::DIMENSIONLESS].contains(&quantity.dimension());
    let beginning = |n: usize| Quantity::parse(&words[..n].join(" ")).ok().filter(known);
    let quantity = (1..=words.len()).rev().find_map(|n| Some((n, beginning(n)?)));
    let Some((taken, quantity)) = quantity else {
        let formula = substance(&words.join(" "))?;
        return Ok(Part { text, subject: Subject::Purity(formula), low: IDENTITY, high: f64::INFINITY });
    };
    let rest = words.split_off(taken).join(" ");
    let element = Element::from_symbol(&rest);
    let (low, high) = range(&quantity);
    let subject = if quantity.dimension() == Dimension::MASS {
        match element {
            _ if rest.is_empty() => Subject::Mass,
            Some(element) => Subject::Element(element),
            None => Subject::Substance(substance(&rest)?),
        }
    } else {
        match element {
            Some(element) => Subject::Content(element),
            None if says("pure") || says("purity") || !rest.is_empty() && !says("yield") => {
                let named = if rest.is_empty() { named.cloned() } else { Some(substance(&rest)?) };
                Subject::Purity(named.ok_or("it says pure, and not of what")?)
            }
            None => Subject::Yield,
        }
    };
    Ok(Part { text, subject, low, high })
}

fn range(quantity: &Quantity) -> (f64, f64) {
    match quantity.si() {
        Number::Point { value, standard_uncertainty: Some(u) } => (value - 2.0 * u, value + 2.0 * u),
        Number::Point { value, standard_uncertainty: None } => {
            let half = 0.5 * quantity.si_last_place();
            (value - half, value + half)
        }
        Number::Range { low, high } => (low, high),
        Number::AtLeast(low) => (low, f64::INFINITY),
        Number::AtMost(high) => (f64::NEG_INFINITY, high),
    }
}

/// A substance by formula or by a name that stands for one only.
fn substance(text: &str) -> Result<Formula, String> {
    let bare = text.trim().trim_end_matches("(s)");
    if let [only] = Substance::find(bare).as_slice() {
        return Ok(only.formula.clone());
    }
    Formula::parse(bare).map_err(|_| format!("`{text}` is no substance that the tables know and no formula"))
}

/// What a claim looks at, for one draw or one composition.
pub(super) struct Look<'a> {
    /// Mass of the lot, kg.
    pub mass: f64,
    /// Mass of a substance in it, kg.
    pub substance: &'a dyn Fn(&Formula) -> f64,
    /// Mass of an element in it, kg.
    pub element: &'a dyn Fn(Element) -> f64,
    /// Yield from the feed.
    pub recovered: f64,
}

impl Part {
    /// The quantity of the part.
    pub fn value(&self, look: &Look<'_>) -> f64 {
        let of_mass = |x: f64| if look.mass > 0.0 { x / look.mass } else { 0.0 };
        match &self.subject {
            Subject::Substance(formula) => (look.substance)(formula),
            Subject::Element(element) => (look.element)(*element),
            Subject::Mass => look.mass,
            Subject::Yield => look.recovered,
            Subject::Purity(formula) => of_mass((look.substance)(formula)),
            Subject::Content(element) => of_mass((look.element)(*element)),
        }
    }

    fn holds(&self, value: f64) -> bool {
        self.low <= value && value <= self.high
    }

    /// Factor from SI to the unit in which it is told, and that unit.
    fn unit(&self) -> (f64, &'static str) {
        match self.subject {
            Subject::Substance(_) | Subject::Element(_) | Subject::Mass => (1e3, "g"),
            Subject::Yield | Subject::Purity(_) | Subject::Content(_) => (100.0, "%"),
        }
    }

    fn basis(&self) -> String {
        match &self.subject {
            Subject::Substance(formula) => formula.to_string(),
            Subject::Element(element) => format!("element {}", element.symbol()),
            Subject::Mass => "as it stands".to_owned(),
            Subject::Yield => "from the feed".to_owned(),
            Subject::Purity(formula) => format!("purity as {formula}"),
            Subject::Content(element) => format!("content of {}", element.symbol()),
        }
    }

    fn formula(&self) -> Option<&Formula> {
        match &self.subject {
            Subject::Substance(formula) | Subject::Purity(formula) => Some(formula),
            _ => None,
        }
    }
}

impl Parsed {
    /// Whether all parts hold.
    pub fn holds(&self, look: &Look<'_>) -> bool {
        self.parts.iter().all(|part| part.holds(part.value(look)))
    }

    /// The lot that the claim is about: the one it names, else the product.
    pub fn about(&self, books: &Books<'_>) -> Option<String> {
        self.lot.clone().or_else(|| books.product().map(|(name, _)| name))
    }
}

/// What would be asked where nobody claims anything: that the product is the target, at least 98 %.
pub(super) fn default_claim(preparation: &Preparation) -> Option<Parsed> {
    let target = &preparation.target.as_ref()?.substance.formula;
    let text = format!("at least 98 % pure {target}");
    let part = Part { text: text.clone(), subject: Subject::Purity(target.clone()), low: 0.98, high: f64::INFINITY };
    Some(Parsed { text, lot: None, parts: vec![part] })
}

/// Holds a claim against the draws of the account.
pub(super) fn judged(parsed: &Parsed, books: &Books<'_>, levels: &[LossLevel]) -> Option<Claim> {
    let lot = parsed.about(books)?;
    let values = values(parsed, books, &lot)?;
    let parts: Vec<ClaimPart> =
        parsed.parts.iter().zip(&values).map(|(part, values)| judged_part(part, values, books, &lot, levels)).collect();
    let all: f64 = (0..books.weights.len())
        .filter(|i| parsed.parts.iter().zip(&values).all(|(part, values)| part.holds(values[*i])))
        .map(|i| books.weights[i])
        .sum();
    let verdict = parts.iter().map(|part| part.verdict).max().unwrap_or(Verdict::TooStrong);
    Some(Claim { text: parsed.text.clone(), lot, verdict, probability: all, parts })
}

/// The quantity of each part in each draw.
pub(super) fn values(parsed: &Parsed, books: &Books<'_>, lot: &str) -> Option<Vec<Vec<f64>>> {
    let looks = books.looks(lot)?;
    Some(parsed.parts.iter().map(|part| looks.iter(|look| part.value(look))).collect())
}

/// Whether a claim holds, in each draw.
pub(super) fn truths(parsed: &Parsed, books: &Books<'_>, lot: &str) -> Option<Vec<bool>> {
    Some(books.looks(lot)?.iter(|look| parsed.holds(look)))
}

fn judged_part(part: &Part, values: &[f64], books: &Books<'_>, lot: &str, levels: &[LossLevel]) -> ClaimPart {
    let share = |holds: &dyn Fn(f64) -> bool| -> f64 {
        values.iter().zip(&books.weights).filter(|(v, _)| holds(**v)).map(|(_, w)| w).sum()
    };
    let inside = share(&|v| part.holds(v));
    let (above, below) = (share(&|v| v > part.high), share(&|v| v < part.low));
    let (factor, unit) = part.unit();
    let told: Vec<f64> = values.iter().map(|v| v * factor).collect();
    let found: Interval = interval(&told, &books.weights, unit, Some(&part.basis()));
    let unlisted = part.formula().filter(|formula| !books.may_hold(lot, formula));
    let excluded = unlisted.and_then(|formula| {
        let all = levels.iter().filter(|level| level.lot == lot).flat_map(|level| &level.levels);
        let same =
            |name: &str| Formula::parse(name.trim_end_matches("(s)")).is_ok_and(|known| known.same_substance(formula));
        all.filter(|(name, _, _)| same(name)).map(|(_, _, distance)| *distance).find(|distance| *distance > EXCLUDED)
    });
    let (verdict, because) = match (unlisted, excluded) {
        (Some(formula), Some(distance)) => (
            Verdict::Refuted,
            Some(format!("the loss on heating lies {distance:.1} standard uncertainties from that of {formula}")),
        ),
        (Some(formula), None) => (
            Verdict::TooStrong,
            Some(format!("the file does not allow {formula} in {lot}, so nothing was weighed for it")),
        ),
        _ if inside >= SUPPORTED => (Verdict::Supported, None),
        _ if above > REFUTED || below > REFUTED => {
            let side = if above > REFUTED { "above" } else { "below" };
            (Verdict::Refuted, Some(format!("the account puts it {side} that in all but one case in a hundred")))
        }
        _ => (Verdict::TooStrong, Some("the account leaves it open".to_owned())),
    };
    ClaimPart {
        text: part.text.clone(),
        verdict,
        probability: inside,
        found: unlisted.is_none().then_some(found),
        because,
    }
}

/// Atoms of an element in a formula, for a look at a composition.
pub(super) fn element_mass(formula: &Formula, element: Element, mass: f64) -> f64 {
    if to_f64(formula.count(element)) > 0.0 { mass * formula.mass_fraction(element) } else { 0.0 }
}
