//! What several runs of one preparation say together.

use super::{Figure, Finding, Interval};

/// Runs side by side, and pooled.
#[derive(Clone, Debug, PartialEq)]
pub struct Replicates {
    /// Element the yields are counted in.
    pub element: String,
    /// The runs: name of the file, title.
    pub runs: Vec<(String, String)>,
    /// Yields compared: the overall one first, then those of steps that all runs have.
    pub quantities: Vec<Pooling>,
    /// What the runs have in common, so that their uncertainties do not average out.
    pub shared: Vec<String>,
    /// Findings.
    pub findings: Vec<Finding>,
}

/// One quantity in all runs.
#[derive(Clone, Debug, PartialEq)]
pub struct Pooling {
    /// What it is.
    pub name: String,
    /// Its interval in each run, %.
    pub runs: Vec<Interval>,
    /// Weighted mean with the uncertainty that the shared part leaves.
    pub mean: Figure,
    /// Standard deviation between runs beyond what their own uncertainties explain, %.
    pub between_runs: f64,
    /// Standard uncertainty that all runs share, %.
    pub shared: f64,
    /// Weighted squares of the differences.
    pub chi_squared: f64,
    /// Probability of differences as large as these if the runs agree.
    pub probability: f64,
    /// Whether the runs agree within their own uncertainties.
    pub agree: bool,
    /// Mean and standard uncertainty of what another such run would give, %.
    pub next_run: Figure,
}
