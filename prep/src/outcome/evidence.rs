//! What the evidence carries: budgets of uncertainty, claims, and what a next test would tell.

use super::{Figure, Finding, Interval};

/// One source of the uncertainty of a result.
#[derive(Clone, Debug, PartialEq)]
pub struct BudgetShare {
    /// Where it comes from ("reading r7", "content of bluestone", "which composition holds").
    pub source: String,
    /// Its share of the variance, 0 to 1.
    pub share: f64,
    /// Standard uncertainty of the result if this source were known twice as well.
    pub if_twice_as_good: f64,
}

/// Where the uncertainty of a result comes from.
#[derive(Clone, Debug, PartialEq)]
pub struct Budget {
    /// Identifier of the result ("copper oxide: Cu").
    pub of: String,
    /// In words.
    pub what: String,
    /// Value at the best fit.
    pub value: f64,
    /// Standard uncertainty to first order.
    pub standard_uncertainty: f64,
    /// Unit.
    pub unit: &'static str,
    /// Sources, the largest first, adding up to 1.
    pub shares: Vec<BudgetShare>,
    /// The fewest sources that halve the uncertainty if they were known perfectly; empty where none do.
    pub halved_by: Vec<String>,
}

/// A test of a portion beside what the account makes of it.
#[derive(Clone, Debug, PartialEq)]
pub struct TestTold {
    /// Identifier.
    pub id: String,
    /// Test.
    pub test: String,
    /// Lot.
    pub lot: String,
    /// Result as written.
    pub found: String,
    /// What the account expects, the test among its evidence; none for a yes or no.
    pub account: Option<Interval>,
}

/// How a claim stands.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum Verdict {
    /// The evidence carries it.
    Supported,
    /// The evidence leaves it open.
    TooStrong,
    /// The evidence speaks against it.
    Refuted,
}

impl Verdict {
    /// The word of the page and of the JSON contract.
    #[must_use]
    pub fn word(self) -> &'static str {
        match self {
            Self::Supported => "supported",
            Self::TooStrong => "too strong",
            Self::Refuted => "refuted",
        }
    }
}

/// One part of a claim.
#[derive(Clone, Debug, PartialEq)]
pub struct ClaimPart {
    /// As written.
    pub text: String,
    /// How it stands.
    pub verdict: Verdict,
    /// Probability that it holds.
    pub probability: f64,
    /// What the account finds instead: the strongest that may be said; none where the file does not allow the substance.
    pub found: Option<Interval>,
    /// Why it does not hold.
    pub because: Option<String>,
}

/// A claim held against the evidence.
#[derive(Clone, Debug, PartialEq)]
pub struct Claim {
    /// As written.
    pub text: String,
    /// Lot it is about.
    pub lot: String,
    /// The worst of its parts.
    pub verdict: Verdict,
    /// Probability that all of it holds.
    pub probability: f64,
    /// Its parts.
    pub parts: Vec<ClaimPart>,
}

/// Something that may be so.
#[derive(Clone, Debug, PartialEq)]
pub struct Possibility {
    /// In words.
    pub text: String,
    /// Its probability now.
    pub probability: f64,
    /// Probability that the claim holds if it is so.
    pub claim_holds: f64,
}

/// What a possibility predicts for a test.
#[derive(Clone, Debug, PartialEq)]
pub struct Predicted {
    /// Number of the possibility.
    pub possibility: usize,
    /// Reading that it predicts, with its scatter; for a yes or no the chance of a yes, %.
    pub reading: Figure,
}

/// A test that could be made next.
#[derive(Clone, Debug, PartialEq)]
pub struct TestOutlook {
    /// Test.
    pub test: String,
    /// Lot it is made of.
    pub lot: String,
    /// Expected information on the claim, bits; at most one.
    pub information_bits: f64,
    /// Expected information on what is so, bits.
    pub hypothesis_bits: f64,
    /// What it adds on what is so once the first test of the list is made, bits.
    pub added_bits: f64,
    /// Chance that the claim is settled afterwards, at 95 %.
    pub settles: f64,
    /// Portion, g.
    pub sample: Figure,
    /// Time, h.
    pub time: Figure,
    /// Whether the portion is used up.
    pub destroys: bool,
    /// Predictions.
    pub predictions: Vec<Predicted>,
    /// What goes wrong with it.
    pub traps: String,
}

/// Which test next.
#[derive(Clone, Debug, PartialEq)]
pub struct Next {
    /// Title of the preparation.
    pub title: String,
    /// The claim at stake.
    pub claim: String,
    /// Whether the file or the command states it; else it was taken for want of one.
    pub stated: bool,
    /// Lot it is about.
    pub lot: String,
    /// Probability that it holds now.
    pub probability: f64,
    /// What may be so, the likeliest first.
    pub possibilities: Vec<Possibility>,
    /// Tests, the most telling first.
    pub tests: Vec<TestOutlook>,
    /// Possibilities that no test of the list tells apart.
    pub degenerate: Vec<(String, String)>,
    /// Whether no further test would change the claim.
    pub stop: bool,
    /// Why, or what to do, in a sentence.
    pub advice: String,
    /// Findings.
    pub findings: Vec<Finding>,
}
