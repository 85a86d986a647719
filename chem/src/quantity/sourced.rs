//! On what footing does a number stand: basis, status and source?

use std::fmt;

use crate::element::Element;
use crate::source::SourceKey;

/// What a mass or a fraction refers to.
#[derive(Clone, Debug, PartialEq)]
pub enum Basis {
    /// The matter as it was weighed.
    AsWeighed,
    /// The matter dried at a temperature in K.
    DriedAt(f64),
    /// The matter without its water.
    Anhydrous,
    /// One element in it.
    Element(Element),
    /// Another basis, in words.
    Other(String),
}

impl fmt::Display for Basis {
    fn fmt(&self, formatter: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Basis::AsWeighed => formatter.write_str("as weighed"),
            Basis::DriedAt(kelvin) => write!(formatter, "dried at {:.0} °C", kelvin - 273.15),
            Basis::Anhydrous => formatter.write_str("anhydrous"),
            Basis::Element(element) => write!(formatter, "as {element}"),
            Basis::Other(text) => formatter.write_str(text),
        }
    }
}

/// How a number came to be known.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Status {
    /// Read on an instrument.
    Measured,
    /// Printed on a label.
    Label,
    /// Taken from a publication.
    Literature,
    /// Computed from other numbers.
    Derived,
    /// Estimated by a rule.
    Estimated,
    /// Assumed for want of anything better.
    Assumed,
}

impl Status {
    /// All statuses, the firmest first.
    pub const ALL: [Status; 6] =
        [Status::Measured, Status::Label, Status::Literature, Status::Derived, Status::Estimated, Status::Assumed];

    /// The status as a word in lower case.
    pub const fn word(self) -> &'static str {
        match self {
            Status::Measured => "measured",
            Status::Label => "label",
            Status::Literature => "literature",
            Status::Derived => "derived",
            Status::Estimated => "estimated",
            Status::Assumed => "assumed",
        }
    }

    /// The status with this word.
    pub fn from_word(word: &str) -> Option<Status> {
        Status::ALL.into_iter().find(|status| status.word() == word)
    }
}

impl fmt::Display for Status {
    fn fmt(&self, formatter: &mut fmt::Formatter<'_>) -> fmt::Result {
        formatter.pad(self.word())
    }
}

/// A value with everything that must travel with it.
#[derive(Clone, Debug, PartialEq)]
pub struct Sourced<T> {
    /// The value.
    pub value: T,
    /// Its standard uncertainty, in the unit of the value, if known.
    pub standard_uncertainty: Option<f64>,
    /// What it refers to, where that could be mistaken.
    pub basis: Option<Basis>,
    /// How it came to be known.
    pub status: Status,
    /// Where it comes from; several keys where it was derived from several sources.
    pub source: Vec<SourceKey>,
}

impl<T> Sourced<T> {
    /// A value from one source, without uncertainty and basis.
    pub fn new(value: T, status: Status, source: SourceKey) -> Sourced<T> {
        Sourced { value, standard_uncertainty: None, basis: None, status, source: vec![source] }
    }

    /// The same with a standard uncertainty.
    #[must_use]
    pub fn with_uncertainty(self, standard_uncertainty: f64) -> Sourced<T> {
        Sourced { standard_uncertainty: Some(standard_uncertainty), ..self }
    }

    /// The same with a basis.
    #[must_use]
    pub fn with_basis(self, basis: Basis) -> Sourced<T> {
        Sourced { basis: Some(basis), ..self }
    }

    /// Another value on the same footing; the uncertainty is dropped, because it belongs to the old value.
    pub fn map<U>(self, change: impl FnOnce(T) -> U) -> Sourced<U> {
        let Sourced { value, basis, status, source, .. } = self;
        Sourced { value: change(value), standard_uncertainty: None, basis, status, source }
    }
}
