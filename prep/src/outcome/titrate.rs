//! What titres say.

use super::{Figure, Finding};

/// A titration worked out.
#[derive(Clone, Debug, PartialEq)]
pub struct TitrateAnswer {
    /// Mean titre less the blank, mL.
    pub titre: Figure,
    /// Standard deviation of single titres, mL.
    pub scatter: Option<f64>,
    /// Amount concentration of the titrant, mol/L.
    pub strength: Figure,
    /// Amount of what was titrated in the sample, mmol; none when the titrant was standardised.
    pub amount: Option<Figure>,
    /// What was titrated, and its mass in the sample, mg.
    pub mass: Option<(String, Figure)>,
    /// Its mass fraction in the sample, %.
    pub fraction: Option<Figure>,
    /// Share of each source in the variance of the last of these, largest first.
    pub shares: Vec<(String, f64)>,
    /// Mass to weigh in next for a titre that the burette reads well, g.
    pub weigh_next: Option<f64>,
    /// Findings.
    pub findings: Vec<Finding>,
}
