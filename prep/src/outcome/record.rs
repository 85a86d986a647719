//! What stands in a preparation file, as a page or a table prints it: materials, apparatus, procedure, readings.
//!
//! Nothing here is computed: figures are texts as written, so that the record shows what the author wrote down.

/// A supply as the file describes it.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct RecordedSupply {
    /// Name.
    pub name: String,
    /// What the label says; empty where nothing is stated.
    pub label: String,
    /// Substances it may hold.
    pub holds: Vec<String>,
    /// Content as written, with the name of its field; empty where none is stated.
    pub stated: Vec<(String, String)>,
    /// File and lot of another preparation, where it is one.
    pub origin: Option<(String, String)>,
    /// What is charged of it: step and amount as written.
    pub charges: Vec<(String, String)>,
}

/// A balance.
#[derive(Clone, Debug, PartialEq)]
pub struct RecordedBalance {
    /// Name.
    pub name: String,
    /// Step of the display, g.
    pub resolution: f64,
    /// Standard deviation of displayed figures, g.
    pub repeatability: f64,
    /// Relative standard uncertainty of the slope.
    pub slope: f64,
    /// Largest load, g.
    pub capacity: f64,
    /// Keys of the sources of what the file does not state.
    pub sources: Vec<&'static str>,
}

/// A flask, pipette, burette or cylinder.
#[derive(Clone, Debug, PartialEq)]
pub struct RecordedWare {
    /// Name.
    pub name: String,
    /// Kind.
    pub kind: String,
    /// Volume, mL.
    pub capacity: f64,
    /// Largest permitted error, mL.
    pub error: f64,
    /// Key of its source.
    pub source: &'static str,
}

/// A reading of the file.
#[derive(Clone, Debug, PartialEq)]
pub struct RecordedReading {
    /// Identifier.
    pub id: String,
    /// Step.
    pub step: String,
    /// What was on the pan, in words.
    pub what: String,
    /// Vessel on the pan.
    pub vessel: Option<String>,
    /// Figure as written; the last one of a series; none while it is still to be read.
    pub figure: Option<String>,
    /// Standard uncertainty of the figure from the balance alone, g.
    pub uncertainty: Option<f64>,
    /// Figures of a series as written, each with hours since the first.
    pub series: Vec<(String, f64)>,
    /// Balance or ware; for a test its name.
    pub with: String,
    /// When.
    pub at: Option<String>,
    /// Reading that this one corrects.
    pub corrects: Option<String>,
    /// Reading that corrects this one.
    pub corrected_by: Option<String>,
    /// Why.
    pub reason: Option<String>,
    /// Whether it is a test of a portion and not a weighing.
    pub test: bool,
}

/// A step of the file.
#[derive(Clone, Debug, PartialEq)]
pub struct RecordedStep {
    /// Name.
    pub name: String,
    /// Action.
    pub action: String,
    /// Whether it is a test of a portion.
    pub test: bool,
    /// Equations as balanced by the author.
    pub equations: Vec<String>,
    /// Temperature as written.
    pub temperature: Option<String>,
    /// Duration as written.
    pub duration: Option<String>,
    /// Vessel.
    pub vessel: Option<String>,
    /// Formulas it is allowed to hold afterwards.
    pub may_hold: Vec<String>,
    /// Remark.
    pub note: Option<String>,
    /// Lots it gives.
    pub gives: Vec<String>,
    /// What it takes, each with its amount as written.
    pub takes: Vec<(String, String)>,
    /// Washing as written.
    pub wash: Option<String>,
    /// Atmosphere as written.
    pub atmosphere: Option<String>,
    /// How it is done, as written.
    pub by: Option<String>,
}

/// The record of a preparation.
#[derive(Clone, Debug, PartialEq)]
pub struct RunRecord {
    /// Title.
    pub title: String,
    /// Substance wanted, as written.
    pub target: Option<String>,
    /// Mass wanted, g.
    pub target_mass: Option<f64>,
    /// Claim as written.
    pub claim: Option<String>,
    /// Elements accounted for.
    pub elements: Vec<String>,
    /// Supplies.
    pub supplies: Vec<RecordedSupply>,
    /// Balances.
    pub balances: Vec<RecordedBalance>,
    /// Volumetric ware.
    pub ware: Vec<RecordedWare>,
    /// Vessels, each with its earlier tare as written.
    pub vessels: Vec<(String, Option<f64>)>,
    /// Steps.
    pub steps: Vec<RecordedStep>,
    /// Readings and tests in the order of the file.
    pub readings: Vec<RecordedReading>,
    /// Jars that take waste, each with the lots that go into it.
    pub waste: Vec<(String, Vec<String>)>,
    /// When it was closed.
    pub closed: Option<String>,
    /// Who did it.
    pub author: Option<String>,
    /// Which run it is, and what became of the others.
    pub run: Option<String>,
    /// What it is for, in the author's words.
    pub purpose: Option<String>,
    /// What the author would do otherwise another time.
    pub afterwards: Option<String>,
    /// Hash of the planned fields.
    pub plan_hash: String,
    /// Hash of the text of the file.
    pub text_hash: String,
    /// Keys of the tables that every figure rests on.
    pub sources: Vec<&'static str>,
}

impl RunRecord {
    /// Dates of the first and the last reading that has one, as written.
    #[must_use]
    pub fn span(&self) -> Option<(String, String)> {
        let mut times: Vec<&str> = self.readings.iter().filter_map(|reading| reading.at.as_deref()).collect();
        times.sort_unstable();
        Some(((*times.first()?).to_owned(), (*times.last()?).to_owned()))
    }

    /// Whether anything was read.
    #[must_use]
    pub fn weighed(&self) -> bool {
        self.readings.iter().any(|reading| reading.figure.is_some())
    }
}
