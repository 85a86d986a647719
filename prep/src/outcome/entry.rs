//! What is expected of a reading, and which slip would have made the figure that was written down.

use super::Interval;

/// How a figure stands to what was expected of it.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Standing {
    /// It lies where it was expected.
    Inside,
    /// It lies outside: look again.
    Ask,
    /// It cannot be: nothing that the file allows comes near it.
    Stop,
    /// There is no figure yet.
    ToBeRead,
    /// Nothing is known to expect anything by.
    NothingToGoBy,
}

impl Standing {
    /// The word of the JSON contract.
    #[must_use]
    pub fn word(self) -> &'static str {
        match self {
            Self::Inside => "inside",
            Self::Ask => "ask",
            Self::Stop => "stop",
            Self::ToBeRead => "to be read",
            Self::NothingToGoBy => "nothing to go by",
        }
    }
}

/// A slip that would turn an expected figure into the one written down.
#[derive(Clone, Debug, PartialEq)]
pub struct Slip {
    /// Which slip ("adjacent digits swapped", "with `crucible 3` on the pan").
    pub slip: String,
    /// The figure it would have been, in the digits and the unit of the one written down.
    pub figure: String,
    /// The same, g.
    pub grams: f64,
    /// How far that lies off the middle of what is expected, standard deviations.
    pub off: f64,
}

/// A reading beside what was expected of it.
#[derive(Clone, Debug, PartialEq)]
pub struct Entry {
    /// Identifier of the reading.
    pub reading: String,
    /// Expected figure, g, from the plan and the readings that stand before it in the file.
    pub expected: Option<Interval>,
    /// What was found, g.
    pub found: Option<f64>,
    /// The figure as it was written down.
    pub displayed: Option<String>,
    /// How far it lies off the middle of what is expected, standard deviations; negative below.
    pub off: Option<f64>,
    /// How it stands.
    pub verdict: Standing,
    /// Slips that would have made it of an expected figure, the likeliest first.
    pub slips: Vec<Slip>,
}
