//! What does a solution in progress hold?
//!
//! One struct with room for everything, so that no step of any iteration asks for memory. Amounts are shares of all atoms of
//! the question, potentials are in RT.
//!
//! Source: none; this is bookkeeping.

use super::dense::Dense;
use super::frame::{Frame, Unreachable};
use super::system::{STANDARD_PRESSURE, System};
use crate::thermochemistry::fit::{At, GAS_CONSTANT};

/// Below this share of the whole an element is absent.
const ABSENT: f64 = 1e-60;

/// Everything that changes during a solution.
#[derive(Clone, Debug)]
pub(super) struct Work {
    pub system: System,
    /// Temperature, K.
    pub temperature: f64,
    /// Whether pressure is held (else volume).
    pub at_pressure: bool,
    /// Logarithm of what stands before the exponential of a gas: p over 1 bar, or the amount that fills the volume at 1 bar.
    pressure_term: f64,
    volume_term: f64,
    /// Amounts of elements as shares of all atoms.
    pub share: Vec<f64>,
    /// Smallest share of an element that is there.
    pub least: f64,
    /// All atoms, mol.
    pub scale: f64,
    /// G/RT with the pressure, H/RT (at volume U/RT of gases) and Cp/R (at volume Cv/R of gases).
    pub gamma: Vec<f64>,
    pub heat: Vec<f64>,
    pub capacity: Vec<f64>,
    /// Candidates that may take part, most plentiful first; and those of them that are gases or condensed.
    pub open: Vec<usize>,
    pub gas: Vec<usize>,
    pub condensed: Vec<usize>,
    pub frame: Frame,
    pub older: Frame,
    pub older_components: Vec<usize>,
    pub pi: Vec<f64>,
    pub amount: Vec<f64>,
    pub slack: Vec<f64>,
    pub slack_step: Vec<f64>,
    /// Candidates on the interior path.
    pub walkers: Vec<super::interior::Walker>,
    pub logarithm: f64,
    /// What each candidate holds, in the order of `open`, on the interior path.
    pub columns: Vec<f64>,
    pub matrix: Dense,
    pub right: Vec<f64>,
    /// Shares of phases that make up another.
    pub parts: Vec<f64>,
    /// Condensed phases that are present, and how much of each.
    pub present: Vec<usize>,
    pub present_amount: Vec<f64>,
    /// Whether there is gas, and how much.
    pub has_gas: bool,
    pub total: f64,
    /// Mole fractions (at pressure) or amounts (at volume) of gases.
    pub fraction: Vec<f64>,
    pub steps: usize,
}

impl Work {
    pub(super) fn new(system: System) -> Self {
        let all = system.candidates().len();
        let zeros = || vec![0.0; all];
        Self {
            temperature: 0.0,
            at_pressure: true,
            pressure_term: 0.0,
            volume_term: 0.0,
            share: Vec::with_capacity(system.elements()),
            least: 1.0,
            scale: 1.0,
            gamma: zeros(),
            heat: zeros(),
            capacity: zeros(),
            open: Vec::with_capacity(all),
            gas: Vec::with_capacity(all),
            condensed: Vec::with_capacity(all),
            frame: Frame::default(),
            older: Frame::default(),
            older_components: Vec::new(),
            pi: Vec::new(),
            amount: zeros(),
            slack: zeros(),
            slack_step: zeros(),
            walkers: Vec::with_capacity(all),
            logarithm: 0.0,
            columns: Vec::new(),
            matrix: Dense::default(),
            right: Vec::new(),
            parts: Vec::new(),
            present: Vec::new(),
            present_amount: Vec::new(),
            has_gas: false,
            total: 0.0,
            fraction: zeros(),
            steps: 0,
            system,
        }
    }

    /// Takes over the amounts of elements, mol. Returns whether they are amounts.
    pub(super) fn take(&mut self, elements: &[f64]) -> bool {
        let system = &self.system;
        if elements.len() != system.elements() || elements.iter().any(|amount| !amount.is_finite()) {
            return false;
        }
        let negative = |(e, amount): (usize, &f64)| *amount < 0.0 && !system.is_charge(e);
        if elements.iter().enumerate().any(negative) {
            return false;
        }
        self.scale = elements.iter().map(|amount| amount.abs()).sum();
        if self.scale <= 0.0 || !self.scale.is_finite() {
            return false;
        }
        self.share.clear();
        self.share.extend(elements.iter().map(|amount| amount / self.scale));
        self.least = self.share.iter().filter(|share| share.abs() > ABSENT).fold(1.0, |least, s| least.min(s.abs()));
        true
    }

    /// Sets the pressure (Pa).
    pub(super) fn at_pressure(&mut self, pressure: f64) {
        self.at_pressure = true;
        self.pressure_term = (pressure / STANDARD_PRESSURE).ln();
    }

    /// Sets the volume (m³); [`Work::take`] comes first.
    pub(super) fn at_volume(&mut self, volume: f64) {
        self.at_pressure = false;
        self.volume_term = (super::GAS_CONSTANT * self.scale / (STANDARD_PRESSURE * volume)).ln();
    }

    pub(super) fn pressure_term(&self) -> f64 {
        self.pressure_term
    }

    pub(super) fn volume_term(&self) -> f64 {
        self.volume_term
    }

    /// Properties of the candidates at a temperature.
    pub(super) fn warm_to(&mut self, temperature: f64) {
        self.temperature = temperature;
        let (at, logarithm) = (At::kelvin(temperature), temperature.ln());
        for i in 0..self.gamma.len() {
            if let Some(part) = self.system.candidates()[i].fit.interval(temperature) {
                let [heat, entropy, capacity] = part.properties(&at);
                self.gamma[i] = heat - entropy;
                self.heat[i] = heat;
                self.capacity[i] = capacity;
            }
            if self.system.is_gas(i) {
                if self.at_pressure {
                    self.gamma[i] += self.pressure_term;
                } else {
                    self.gamma[i] += self.volume_term + logarithm;
                    self.heat[i] -= 1.0;
                    self.capacity[i] -= 1.0;
                }
            }
        }
    }

    /// Which candidates may take part: known at this temperature and made of elements that are there.
    pub(super) fn open_up(&mut self) {
        self.open.clear();
        for i in 0..self.system.candidates().len() {
            let known = self.system.is_known_at(i, self.temperature) && self.gamma[i].is_finite();
            if known && self.is_made_of_what_is_there(i) {
                self.open.push(i);
            }
        }
        self.sort_kinds();
    }

    pub(super) fn is_made_of_what_is_there(&self, candidate: usize) -> bool {
        let counts = self.system.counts(candidate);
        (0..counts.len()).all(|e| counts[e] == 0.0 || self.system.is_charge(e) || self.share[e] > ABSENT)
    }

    fn sort_kinds(&mut self) {
        let system = &self.system;
        self.gas.clear();
        self.gas.extend(self.open.iter().filter(|i| system.is_gas(**i)));
        self.condensed.clear();
        self.condensed.extend(self.open.iter().filter(|i| !system.is_gas(**i)));
    }

    /// Conditions of conservation in the order of `open`.
    ///
    /// # Errors
    /// [`Unreachable`] where what takes part cannot make up the amounts.
    pub(super) fn conserve(&mut self) -> Result<(), Unreachable> {
        loop {
            self.frame.build(&self.system, &self.open, &self.share)?;
            let reached = (0..self.share.len())
                .all(|e| self.share[e].abs() <= ABSENT || self.open.iter().any(|i| self.system.counts(*i)[e] != 0.0));
            if !reached || self.frame.rows == 0 {
                return Err(Unreachable);
            }
            if !self.frame.retire(&mut self.open)? {
                break;
            }
        }
        self.sort_kinds();
        Ok(())
    }

    /// a·π of a candidate.
    pub(super) fn worth(&self, i: usize) -> f64 {
        self.frame.column(i).iter().zip(&self.pi).map(|(count, potential)| count * potential).sum()
    }

    /// Energy of everything, J.
    pub(super) fn energy(&self) -> f64 {
        let mut sum = 0.0;
        let total = if self.at_pressure { self.total } else { 1.0 };
        if self.has_gas {
            sum += self.gas.iter().map(|&i| total * self.fraction[i] * self.heat[i]).sum::<f64>();
        }
        sum += self.present.iter().zip(&self.present_amount).map(|(&c, n)| n * self.heat[c]).sum::<f64>();
        sum * self.scale * GAS_CONSTANT * self.temperature
    }
}
