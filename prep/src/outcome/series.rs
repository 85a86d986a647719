//! A lot that was weighed until its mass stayed.

use super::DryAnswer;

/// A series of weighings within a step.
#[derive(Clone, Debug, PartialEq)]
pub struct WeighedSeries {
    /// Reading that it is.
    pub reading: String,
    /// Step.
    pub step: String,
    /// Lot on the pan, if any.
    pub lot: Option<String>,
    /// What the masses count: "without the vessel", "with the vessel" or "as displayed".
    pub basis: &'static str,
    /// What it says.
    pub answer: DryAnswer,
}
