//! What the user's own closed preparations say of usual losses.

use super::Finding;
use crate::losses::OwnLoss;

/// Losses learned, beside the defaults.
#[derive(Clone, Debug, PartialEq)]
pub struct HistoryAnswer {
    /// Closed preparations that were learned from, by name.
    pub closed: Vec<String>,
    /// Preparations that are not closed and were passed over.
    pub open: Vec<String>,
    /// What was learned.
    pub losses: Vec<OwnLoss>,
    /// Findings: files that could not be read.
    pub findings: Vec<Finding>,
}
