//! What does a label mean?
//!
//! A label speaks of a salt, of the element in it, or of an oxide nobody sells. Two printed amounts fix a ratio; the
//! forms of the table, and the hydrates with 0 to 12 water of a salt the label names, are tried against it. A printed
//! number stands for the interval of half a unit of its last digit, so a form is *plausible*, never proved: blends,
//! fillers and overages are not seen, and labels that round harder than their digits show look less fitting than they
//! are. Nothing here says whether a product is fit for any use, least of all for swallowing, or how much of it anyone
//! should take.
//!
//! Source: molar masses from [`crate::element`]; assay limits row by row from [`crate::substance`].
//!
//! ```
//! let reading = chem::label::read("zinc sulfate 220 mg = zinc 50 mg");
//! let best = &reading.readings[0];
//! assert_eq!(best.substance.to_string(), "ZnSO4·7H2O");
//! assert!(best.plausible);
//! ```

mod composition;
mod explain;
mod finding;
mod interpret;
mod printed;
mod statement;
mod subject;

use crate::element::Element;
use crate::formula::Formula;

pub use finding::{FindingKind, LabelFinding};

/// Longest label that is read, in bytes.
const LENGTH_LIMIT: usize = 500;

/// How the figure of a label is taken.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum ClaimBasis {
    /// As the mass of the salt.
    AsSalt,
    /// As the mass of the element.
    AsElement,
    /// As the mass of an oxide the element is reckoned as.
    AsOxide,
}

impl ClaimBasis {
    /// The basis in words.
    pub const fn words(self) -> &'static str {
        match self {
            ClaimBasis::AsSalt => "as salt",
            ClaimBasis::AsElement => "as element",
            ClaimBasis::AsOxide => "as oxide",
        }
    }
}

/// An amount with its bounds, in the unit of the label.
#[derive(Clone, Debug, PartialEq)]
pub struct Bounds {
    /// Lower bound.
    pub low: f64,
    /// Printed value, or what follows from it; the middle where a percentage has a lower limit only.
    pub value: f64,
    /// Upper bound; `None` where nothing bounds it.
    pub high: Option<f64>,
    /// Unit as printed, such as `mg/mL`.
    pub unit: String,
}

impl Bounds {
    fn of(amount: &printed::Amount) -> Bounds {
        let middle = amount.limit == printed::Limit::Least && amount.high.is_finite();
        Bounds {
            low: amount.low,
            value: if middle { (amount.low + amount.high) / 2.0 } else { amount.value },
            high: Some(amount.high).filter(|high| high.is_finite()),
            unit: amount.unit.text.clone(),
        }
    }

    fn exactly(value: f64, unit: &str) -> Bounds {
        Bounds { low: value, value, high: Some(value), unit: unit.to_owned() }
    }

    fn scaled(&self, factor: f64) -> Bounds {
        Bounds {
            low: self.low * factor,
            value: self.value * factor,
            high: self.high.map(|high| high * factor),
            unit: self.unit.clone(),
        }
    }
}

/// One way to read a label.
#[derive(Clone, Debug, PartialEq)]
pub struct Explanation {
    /// The form taken.
    pub substance: Formula,
    /// What it is called, systematic name first; empty for a form nobody has named.
    pub names: Vec<String>,
    /// How the label's figure is taken.
    pub basis: ClaimBasis,
    /// The element in question.
    pub element: Option<Element>,
    /// Whether the form is in the table of substances.
    pub listed: bool,
    /// Whether the label names this substance, in whatever hydrate.
    pub named: bool,
    /// Part over whole as the formula has it, in g, mol or mol of charge per g, mol or mol of charge.
    pub predicted_ratio: Option<f64>,
    /// What the part would be if the whole were this form, in the unit of the part.
    pub predicted: Option<Bounds>,
    /// Prediction against label, percent; positive where the form holds more than printed. Of several parts the worst.
    pub deviation_percent: Option<f64>,
    /// The deviation without its sign; `None` where the label gives no ratio to hold against.
    pub explains_within_percent: Option<f64>,
    /// Whether the prediction lies inside the rounding of the printed digits (or, on a medicinal article, inside the
    /// assay limits of the pharmacopoeia).
    pub plausible: bool,
    /// Whether the assay limits of the article reach into what the label allows; `None` without limits.
    pub within_assay_limits: Option<bool>,
    /// Purity in mass percent the goods would have if they were this form; above 100 the form holds too little.
    pub implied_purity_percent: Option<f64>,
    /// Mass of the form in what the label speaks of.
    pub substance_amount: Option<Bounds>,
    /// Amount of the form in moles, where the label speaks of a mass or an amount of it.
    pub amount_of_substance: Option<Bounds>,
    /// Mass of the element in what the label speaks of.
    pub element_amount: Option<Bounds>,
    /// Where this reading takes the figure on another basis than printed: the factor between the two.
    pub misreading_factor: Option<f64>,
}

impl Explanation {
    /// The later finding that would rule this reading out, as a sentence.
    pub fn refuted_by(&self) -> Option<String> {
        let (element, amount) = (self.element?, self.element_amount.as_ref()?);
        let high = amount.high?;
        let unit = &amount.unit;
        Some(format!("more than {high:.3} {unit} {} found would rule this reading out", element.name()))
    }
}

/// Mass of an element as a figure of the label states it.
#[derive(Clone, Debug, PartialEq)]
pub struct ElementContent {
    /// The element.
    pub element: Element,
    /// How the label states it.
    pub basis: ClaimBasis,
    /// Mass of the element itself.
    pub amount: Bounds,
}

/// What a label may mean.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct LabelReading {
    /// The label.
    pub text: String,
    /// Ways to read it, the best first; empty where the label names nothing.
    pub readings: Vec<Explanation>,
    /// What it states of elements, directly or reckoned as an oxide.
    pub contents: Vec<ElementContent>,
    /// What a reader should know.
    pub findings: Vec<LabelFinding>,
}

/// Reads a label; never fails, says in its findings what it could not read.
///
/// ```
/// use chem::label::{ClaimBasis, read};
/// let reading = read("zinc 23 mg (as gluconate)");
/// let salt = reading.readings[0].substance_amount.as_ref().map(|amount| amount.value);
/// assert!((salt.unwrap_or(0.0) - 160.3).abs() < 0.1);
/// assert_eq!(reading.readings[0].basis, ClaimBasis::AsElement);
/// ```
pub fn read(text: &str) -> LabelReading {
    let refused = |kind: FindingKind| LabelReading {
        text: text.chars().take(LENGTH_LIMIT).collect(),
        findings: vec![LabelFinding { offset: 0, length: text.len(), kind }],
        ..LabelReading::default()
    };
    if text.trim().is_empty() {
        return refused(FindingKind::Empty);
    }
    if text.len() > LENGTH_LIMIT {
        return refused(FindingKind::TooLong { limit: LENGTH_LIMIT });
    }
    interpret::interpret(text, statement::read(text))
}
