//! How was a lot weighed again and again, until its mass stayed?

use super::{Span, Spanned};

/// Weighings of one lot in one step, one after another; the last one is the figure of the reading.
#[derive(Clone, Debug, PartialEq)]
pub struct Series {
    /// Displayed figures, kg, in order of time.
    pub figures: Vec<Spanned<f64>>,
    /// The same as written.
    pub texts: Vec<String>,
    /// Time of each since the first, s, rising.
    pub times: Vec<f64>,
    /// What may be left to lose, as a fraction of the final mass, if stated.
    pub constant_within: Option<f64>,
    /// Where the list stands.
    pub span: Span,
}
