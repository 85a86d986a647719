//! What should a reader know about the reading of a label?

use std::fmt;

use crate::element::Element;
use crate::formula::Formula;

/// A remark about a label, with the bytes it is about.
#[derive(Clone, Debug, PartialEq)]
pub struct LabelFinding {
    /// First byte of the text in question.
    pub offset: usize,
    /// Length in bytes; zero where the whole label is meant.
    pub length: usize,
    /// What it is.
    pub kind: FindingKind,
}

/// What was noticed, with the numbers.
#[derive(Clone, Debug, PartialEq)]
pub enum FindingKind {
    /// Nothing to read.
    Empty,
    /// Longer than a label is read.
    TooLong {
        /// Largest number of bytes.
        limit: usize,
    },
    /// A name that no table knows.
    UnknownName(String),
    /// A number without a unit that is read.
    NumberWithoutUnit(String),
    /// A comma that could be a decimal comma.
    CommaReadAsThousands(String),
    /// Neither substance nor element is named.
    NoSubstance,
    /// No number is given.
    NoAmount,
    /// An element without the substance that brings it.
    FormNotSaid {
        /// The element.
        element: Element,
    },
    /// A name that stands for several forms, with the range of the element in them.
    SeveralForms {
        /// The name as written.
        name: String,
        /// The forms.
        forms: Vec<Formula>,
    },
    /// More than one form lies inside the rounding.
    SeveralFit {
        /// How many.
        count: usize,
    },
    /// No form lies inside the rounding.
    NothingFits {
        /// The nearest and the purity in mass percent it would need.
        nearest: Option<(Formula, f64)>,
    },
    /// The form the label names is not the one that fits.
    NamedFormDoesNotFit {
        /// The form as named.
        named: Formula,
        /// A form that fits.
        fits: Formula,
    },
    /// A figure that is reckoned as an oxide.
    ReckonedAsOxide {
        /// The oxide.
        oxide: Formula,
        /// The element in it.
        element: Element,
        /// Grams of element per gram of oxide.
        factor: f64,
    },
    /// A figure of the element that is easily taken for the salt.
    ElementNotSalt {
        /// The element.
        element: Element,
        /// The salt.
        salt: Formula,
        /// Grams of salt per gram of element.
        factor: f64,
    },
    /// A percentage that says neither by weight nor by volume, taken as grams in 100 mL.
    TakenAsWeightPerVolume,
    /// A percentage of a liquid that says neither by weight nor by volume.
    PercentBasisNotSaid,
    /// Only a limit is printed.
    OnlyALimit,
    /// Two amounts that cannot be compared without more numbers.
    NotComparable,
    /// Part of what is printed exceeds the whole.
    MoreThanWhole,
}

impl fmt::Display for LabelFinding {
    fn fmt(&self, formatter: &mut fmt::Formatter<'_>) -> fmt::Result {
        self.kind.fmt(formatter)
    }
}

impl fmt::Display for FindingKind {
    fn fmt(&self, formatter: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            FindingKind::Empty => write!(formatter, "the label is empty"),
            FindingKind::TooLong { limit } => write!(formatter, "a label is read up to {limit} bytes"),
            FindingKind::UnknownName(name) => write!(formatter, "no substance or element is known as “{name}”"),
            FindingKind::NumberWithoutUnit(number) => write!(formatter, "{number} has no unit that is read"),
            FindingKind::CommaReadAsThousands(number) => {
                write!(formatter, "the comma in {number} is read as a mark between thousands")
            }
            FindingKind::NoSubstance => write!(formatter, "the label names neither a substance nor an element"),
            FindingKind::NoAmount => write!(formatter, "the label gives no amount"),
            FindingKind::FormNotSaid { element } => {
                write!(formatter, "the label does not say which substance brings the {}", element.name())
            }
            FindingKind::SeveralForms { name, forms } => {
                let forms: Vec<String> = forms.iter().map(Formula::unicode).collect();
                write!(formatter, "“{name}” may be any of {}; the label does not say which", forms.join(", "))
            }
            FindingKind::SeveralFit { count } => {
                write!(formatter, "{count} forms lie inside the rounding of the printed digits")
            }
            FindingKind::NothingFits { nearest: None } => {
                write!(formatter, "no single substance of the table fits; it may be a mixture")
            }
            FindingKind::NothingFits { nearest: Some((nearest, purity)) } if *purity > 100.0 => write!(
                formatter,
                "no form fits inside the rounding; the nearest, {}, holds {:.1} % of what is printed even if pure; \
                 a mixture is not ruled out",
                nearest.unicode(),
                1e4 / purity
            ),
            FindingKind::NothingFits { nearest: Some((nearest, purity)) } => write!(
                formatter,
                "no form fits inside the rounding; the nearest, {}, would have to be {purity:.1} % pure; \
                 a mixture is not ruled out",
                nearest.unicode()
            ),
            FindingKind::NamedFormDoesNotFit { named, fits } => {
                write!(
                    formatter,
                    "the numbers fit {} rather than {}, as which the label reads",
                    fits.unicode(),
                    named.unicode()
                )
            }
            FindingKind::ReckonedAsOxide { oxide, element, factor } => {
                let name = element.name();
                write!(formatter, "reckoned as {}: times {factor:.4} for the {name} itself", oxide.unicode())
            }
            FindingKind::ElementNotSalt { element, salt, factor } => write!(
                formatter,
                "the figure is {} itself; taking it for {} errs by a factor of {factor:.2}",
                element.name(),
                salt.unicode()
            ),
            FindingKind::TakenAsWeightPerVolume => write!(formatter, "the percentage is taken as grams in 100 mL"),
            FindingKind::PercentBasisNotSaid => {
                write!(formatter, "the percentage does not say whether by weight or by volume")
            }
            FindingKind::OnlyALimit => write!(formatter, "only a limit is printed; the content lies on one side of it"),
            FindingKind::NotComparable => {
                write!(formatter, "two amounts on the label cannot be compared without a volume or a mass")
            }
            FindingKind::MoreThanWhole => write!(formatter, "the parts on the label add up to more than the whole"),
        }
    }
}
