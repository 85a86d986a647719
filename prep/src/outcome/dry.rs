//! What a series of weighings in the oven says.

use super::{Finding, Interval};

/// A series read.
#[derive(Clone, Debug, PartialEq)]
pub struct DryAnswer {
    /// The weighings: hours since the first, grams.
    pub weighings: Vec<(f64, f64)>,
    /// Standard deviation of one weighing, g.
    pub deviation: f64,
    /// What may be left to lose, as a fraction of the final mass.
    pub tolerance: f64,
    /// "done", "not yet", "out of line" or "too few".
    pub verdict: &'static str,
    /// Final mass, g.
    pub final_mass: Option<Interval>,
    /// Still to be lost, g.
    pub remaining: Option<Interval>,
    /// Next weighing after an interval like the last, g.
    pub next: Option<Interval>,
    /// Further intervals like the last until it is done.
    pub intervals: Option<Interval>,
    /// Probability that no more than the tolerance is left.
    pub within: Option<f64>,
    /// Weighings out of line: place in the series, expected (g), standard deviations above it.
    pub out_of_line: Vec<(usize, f64, f64)>,
    /// Masses of the hydrates of what was weighed in: name, g, standard uncertainties from the final mass.
    pub levels: Vec<(String, f64, Option<f64>)>,
    /// Findings.
    pub findings: Vec<Finding>,
}
