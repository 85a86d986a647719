//! What the screen for hazards says of a preparation, beside its findings.

/// A place to stop and prove something before going on.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct HoldPoint {
    /// Condition to go on.
    pub condition: String,
    /// What is read to prove it.
    pub proof: String,
    /// What to do if it does not hold.
    pub otherwise: String,
}

/// The hazard statements of one substance in a step.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct SubstanceHazard {
    /// Formula as the file has it.
    pub substance: String,
    /// Name.
    pub name: String,
    /// Signal word, if there is one.
    pub signal: Option<&'static str>,
    /// Codes with their phrases.
    pub statements: Vec<(&'static str, &'static str)>,
    /// Pictograms.
    pub pictograms: Vec<&'static str>,
    /// For which form they hold.
    pub comment: &'static str,
    /// Of a mixture: what is ignored, and the share of unknown toxicity.
    pub remarks: Vec<String>,
    /// Where they come from.
    pub sources: Vec<&'static str>,
}

impl SubstanceHazard {
    /// The pictograms with what they show: "GHS05 corrosion".
    #[must_use]
    pub fn signs(&self) -> Vec<String> {
        self.pictograms.iter().map(|sign| format!("{sign} {}", chem::hazard::pictogram_word(sign))).collect()
    }
}

/// A caution, its parts in the order in which they are read.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct CautionText {
    /// Code of the finding that it belongs to.
    pub code: &'static str,
    /// `Danger` or `Warning`.
    pub signal: &'static str,
    /// What happens here, with the number.
    pub what: String,
    /// Codes and phrases of the UN system for what does the harm; empty where no statement speaks of it.
    pub statements: String,
    /// What can go wrong, and its first sign.
    pub first_sign: String,
    /// Condition to go on.
    pub go_on: String,
    /// Air, rate, vessel, amount.
    pub control: String,
    /// What to wear.
    pub wear: String,
    /// What to do if it happens.
    pub emergency: String,
    /// Where the waste goes.
    pub waste: String,
    /// On what it rests, and what is left out.
    pub basis: String,
}

impl CautionText {
    /// The caution as one paragraph.
    #[must_use]
    pub fn paragraph(&self) -> String {
        let parts = [
            &self.what,
            &self.statements,
            &self.first_sign,
            &self.go_on,
            &self.control,
            &self.wear,
            &self.emergency,
            &self.waste,
            &self.basis,
        ];
        let told: Vec<&str> = parts.into_iter().map(String::as_str).filter(|part| !part.is_empty()).collect();
        format!("{}: {}", self.signal, told.join(" "))
    }
}

/// What the screen says of one step.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct StepScreening {
    /// Step.
    pub step: String,
    /// Cautions.
    pub cautions: Vec<CautionText>,
    /// Hold points.
    pub holds: Vec<HoldPoint>,
    /// Substances that are charged here.
    pub substances: Vec<SubstanceHazard>,
}

/// A finding of the screen that the file accepts, with its reason.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Accepted {
    /// Code of the finding.
    pub finding: String,
    /// Step it is accepted in; everywhere without.
    pub step: Option<String>,
    /// Why.
    pub reason: String,
}

/// What the screen says of a preparation.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Screening {
    /// Room that gases spread in, m³.
    pub room: f64,
    /// Whether the file states it.
    pub room_stated: bool,
    /// Each step.
    pub steps: Vec<StepScreening>,
    /// The gravest cautions with their numbers, three at most.
    pub gravest: Vec<String>,
    /// Why there is no weighing list, where there is none.
    pub withheld: Vec<String>,
    /// What the file accepts.
    pub accepted: Vec<Accepted>,
}
