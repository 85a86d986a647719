//! What may take part, under which conditions, and what is answered?
//!
//! A [`System`] is a list of candidates: for each its phase, how many of each conserved thing (element, charge) it holds,
//! and its fit of Gibbs energy. A [`Problem`] gives the amounts of the elements and two conditions. An [`Equilibrium`] is
//! the answer with its status and what is left over in every condition.
//!
//! Source: the quantities are those of any text of chemical thermodynamics; standard pressure 1 bar.

use crate::thermochemistry::fit::Fit;

/// Standard pressure, Pa.
pub const STANDARD_PRESSURE: f64 = 1e5;

/// Where a candidate is.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Phase {
    /// Part of the one gas mixture.
    Gas,
    /// A pure condensed phase of its own.
    Condensed,
}

/// Something that may be present at equilibrium.
#[derive(Clone, Debug, PartialEq)]
pub struct Candidate {
    /// Gas or condensed.
    pub phase: Phase,
    /// How many of each conserved thing one formula unit holds; negative only for charge.
    pub atoms: Vec<f64>,
    /// Gibbs energy, enthalpy, heat capacity.
    pub fit: Fit,
}

/// Why a list of candidates is no system.
#[derive(Clone, Debug, PartialEq)]
pub enum Flaw {
    /// A candidate has another number of counts than there are elements: its place in the list.
    Counts(usize),
    /// A candidate holds nothing, or a number that is none: its place.
    Empty(usize),
    /// A candidate has no fit: its place.
    NoFit(usize),
    /// There are no candidates or no elements.
    Nothing,
}

impl std::fmt::Display for Flaw {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        match self {
            Self::Counts(place) => write!(f, "candidate {place} does not count every element"),
            Self::Empty(place) => write!(f, "candidate {place} holds no element"),
            Self::NoFit(place) => write!(f, "candidate {place} has no fit"),
            Self::Nothing => write!(f, "there is nothing to choose from"),
        }
    }
}

impl std::error::Error for Flaw {}

/// All candidates over the same elements.
#[derive(Clone, Debug, PartialEq)]
pub struct System {
    elements: usize,
    candidates: Vec<Candidate>,
    /// Counts of candidate after candidate.
    counts: Vec<f64>,
    /// Sum of the counts of elements (without charge) of each candidate.
    sizes: Vec<f64>,
    /// Whether a row has both signs.
    charge: Vec<bool>,
    /// Whether a candidate is a gas.
    gas: Vec<bool>,
    /// Least and greatest temperature of each fit, K.
    ranges: Vec<(f64, f64)>,
}

impl System {
    /// A system of candidates over so many elements.
    ///
    /// # Errors
    /// [`Flaw`] names the candidate that does not fit in.
    pub fn new(elements: usize, candidates: Vec<Candidate>) -> Result<Self, Flaw> {
        if elements == 0 || candidates.is_empty() {
            return Err(Flaw::Nothing);
        }
        for (place, candidate) in candidates.iter().enumerate() {
            if candidate.atoms.len() != elements {
                return Err(Flaw::Counts(place));
            }
            if candidate.fit.intervals.is_empty() {
                return Err(Flaw::NoFit(place));
            }
            if candidate.atoms.iter().any(|count| !count.is_finite()) || candidate.atoms.iter().all(|c| *c == 0.0) {
                return Err(Flaw::Empty(place));
            }
        }
        let counts: Vec<f64> = candidates.iter().flat_map(|candidate| candidate.atoms.iter().copied()).collect();
        let charge: Vec<bool> =
            (0..elements).map(|e| counts.iter().skip(e).step_by(elements).any(|c| *c < 0.0)).collect();
        let sizes = candidates
            .iter()
            .map(|c| c.atoms.iter().zip(&charge).filter(|(_, signed)| !**signed).map(|(count, _)| *count).sum())
            .collect();
        let range = |candidate: &Candidate| {
            let intervals = &candidate.fit.intervals;
            let low = intervals.iter().fold(f64::INFINITY, |least, i| least.min(i.low_k));
            (low, intervals.iter().fold(0.0f64, |most, i| most.max(i.high_k)))
        };
        let ranges = candidates.iter().map(range).collect();
        let gas = candidates.iter().map(|candidate| candidate.phase == Phase::Gas).collect();
        Ok(Self { elements, candidates, counts, sizes, charge, gas, ranges })
    }

    /// Number of conserved things.
    #[must_use]
    pub fn elements(&self) -> usize {
        self.elements
    }

    /// The candidates in their order.
    #[must_use]
    pub fn candidates(&self) -> &[Candidate] {
        &self.candidates
    }

    /// Counts of one candidate.
    #[must_use]
    pub fn counts(&self, candidate: usize) -> &[f64] {
        &self.counts[candidate * self.elements..(candidate + 1) * self.elements]
    }

    pub(super) fn size(&self, candidate: usize) -> f64 {
        self.sizes[candidate]
    }

    pub(super) fn is_charge(&self, element: usize) -> bool {
        self.charge[element]
    }

    pub(super) fn is_gas(&self, candidate: usize) -> bool {
        self.gas[candidate]
    }

    /// Whether the fit of a candidate may be used at a temperature, K: within its range, below it by 30 K where it begins
    /// under 400 K (tables begin at 25 °C, benches at 15), else to within half a percent, so that the point where two
    /// forms of a substance are equally stable is found where their fits say and not lost between two ranges.
    #[must_use]
    pub fn is_known_at(&self, candidate: usize, temperature: f64) -> bool {
        let (low, high) = self.ranges[candidate];
        let below = if low < 400.0 { 30.0 } else { 0.005 * low };
        temperature >= low - below && temperature <= high * 1.005
    }
}

/// What is held, beside temperature or energy.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Hold {
    /// Temperature (K) and pressure (Pa).
    TemperaturePressure(f64, f64),
    /// Enthalpy (J, on the scale of the fits) and pressure (Pa): adiabatic in an open vessel.
    EnthalpyPressure(f64, f64),
    /// Temperature (K) and volume of the gas space (m³).
    TemperatureVolume(f64, f64),
    /// Internal energy (J) and volume of the gas space (m³): adiabatic in a closed vessel.
    EnergyVolume(f64, f64),
}

/// A question.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Problem<'a> {
    /// Amount of each element, mol; 0 where it is absent.
    pub elements: &'a [f64],
    /// The two conditions.
    pub hold: Hold,
}

/// How far an answer may be trusted.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub enum Status {
    /// Every condition met within [`super::Tolerances`], and no left-out phase would form.
    Solved,
    /// Close: conditions met a thousand times less well than for [`Status::Solved`].
    Almost,
    /// The energy asked for lies where a fit ends or steps, so that no temperature has it; the nearest is given.
    DataEnd,
    /// No temperature between the limits has this energy.
    OutOfRange,
    /// The candidates cannot make up these amounts of elements.
    Unreachable,
    /// A figure of the question is no number, or negative where it cannot be.
    BadQuestion,
    /// The iteration came to no end that can be believed.
    #[default]
    Unsolved,
}

/// What is left over in each condition; all are numbers without unit.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct Residuals {
    /// Greatest difference of an element from what was given, as share of what is there.
    pub elements: f64,
    /// Greatest difference of potentials within what is present, and of the sum of mole fractions from 1, in RT.
    pub potentials: f64,
    /// How much more stable than what is present the best left-out phase would be, in RT per formula unit; 0 if none is.
    pub stability: f64,
    /// Difference in energy as share of the greater of its size and nRT.
    pub energy: f64,
}

/// The answer.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Equilibrium {
    /// How far it may be trusted.
    pub status: Status,
    /// What is left over.
    pub residuals: Residuals,
    /// Temperature, K.
    pub temperature: f64,
    /// Pressure, Pa.
    pub pressure: f64,
    /// Volume of the gas, m³.
    pub volume: f64,
    /// Amount of each candidate, mol.
    pub amounts: Vec<f64>,
    /// Activity of each candidate (partial pressure over 1 bar for a gas) that its elements would give it; 1 for a condensed
    /// phase that is present, below 1 for one that is not; 0 where nothing can be said.
    pub activities: Vec<f64>,
    /// Amount of gas, mol.
    pub gas: f64,
    /// Enthalpy (at pressure) or internal energy (at volume), J.
    pub energy: f64,
    /// Whether temperature stands still there: two forms or a full set of phases share the energy between them.
    pub plateau: bool,
    /// Newton steps of all kinds.
    pub steps: usize,
}
