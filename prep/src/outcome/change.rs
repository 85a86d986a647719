//! What a correction changed.

use super::{Figure, Interval};

/// The element in a lot before and after a correction.
#[derive(Clone, Debug, PartialEq)]
pub struct ChangedLot {
    /// Lot.
    pub lot: String,
    /// Symbol of the element.
    pub element: String,
    /// Its mass while the first figure stood, g.
    pub before: Interval,
    /// Its mass with the correction, g.
    pub after: Interval,
}

/// A yield as quoted, before and after a correction.
#[derive(Clone, Debug, PartialEq)]
pub struct ChangedQuote {
    /// Lot.
    pub lot: String,
    /// Formula it was taken for.
    pub as_formula: String,
    /// How the figure is made.
    pub method: String,
    /// Yield while the first figure stood, %; none where it could not be quoted.
    pub before: Option<Figure>,
    /// Yield with the correction, %.
    pub after: Option<Figure>,
}

/// A correction, and what followed from it in the live view.
#[derive(Clone, Debug, PartialEq)]
pub struct Change {
    /// Reading that corrects.
    pub reading: String,
    /// Reading that it corrects.
    pub corrects: String,
    /// First figure, as written.
    pub from: String,
    /// Figure that stands, as written.
    pub to: String,
    /// Why.
    pub reason: Option<String>,
    /// When.
    pub at: Option<String>,
    /// The product and the lot that the reading is about.
    pub lots: Vec<ChangedLot>,
    /// Yield from feed to product, %.
    pub overall: Option<(Interval, Interval)>,
    /// Yields as quoted that changed.
    pub quoted: Vec<ChangedQuote>,
}
