//! All that the tables know of one substance.

use super::{Figure, Finding, SubstanceHazard};

/// A substance with its properties, each with the source of its figure.
#[derive(Clone, Debug, PartialEq)]
pub struct SubstanceAnswer {
    /// Formula, with the phase if one was asked for.
    pub formula: String,
    /// Names it goes by, the systematic one first.
    pub names: Vec<String>,
    /// Registry number of the Chemical Abstracts Service.
    pub cas: Option<String>,
    /// Where it is met: retail, pharmacopoeia …
    pub uses: Vec<&'static str>,
    /// Properties by name; several figures where there are several forms or tables, those that are used first.
    pub properties: Vec<(&'static str, Vec<Figure>)>,
    /// The forms with the temperatures for which values are known.
    pub forms: Vec<FormRange>,
    /// What is estimated, what rests on memory, where tables disagree.
    pub remarks: Vec<String>,
    /// Hazard statements; `None` where none are listed, which does not show that there is no hazard.
    pub hazards: Option<SubstanceHazard>,
    /// Findings.
    pub findings: Vec<Finding>,
}

/// A form and the temperatures for which it has values.
#[derive(Clone, Debug, PartialEq)]
pub struct FormRange {
    /// Species and form.
    pub form: String,
    /// Lowest temperature, K.
    pub low_k: f64,
    /// Highest temperature, K.
    pub high_k: f64,
    /// Whether heat capacity follows a polynomial over that range, or is held constant.
    pub over_temperature: bool,
}
