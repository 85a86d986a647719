//! What is there when nothing more can happen: an ideal gas and pure condensed phases at equilibrium.
//!
//! The state of least Gibbs energy is found for given amounts of elements at temperature and pressure, of least Helmholtz
//! energy at temperature and volume, and of greatest entropy at enthalpy and pressure or at energy and volume. Nobody gives a
//! start value.
//!
//! **How.** Both minima are convex, so there is one answer, and it is found in two stages that are good at different things.
//!
//! 1. `interior`: an interior-point method follows a path from an arbitrary start to the neighbourhood of the answer. It decides
//!    which phases there are, without trying them one by one, and does not mind that phases coexist, that amounts are
//!    exactly stoichiometric, or that there is no gas. Chosen over the classical iteration on amounts because that one depends
//!    on its start, and over a simplex start because that ends in corners, from where traces are far.
//! 2. `active`: Newton's method on the element potentials with the phases fixed and corrected. It makes the answer exact, traces
//!    of 1e-200 included, in a basis of plentiful components (`frame`) in which a trace is no difference of large numbers.
//!
//! With energy given, `search` brackets the temperature and lets the second stage find it together with the amounts, so that
//! melting, boiling and decomposing at constant temperature are states like any other.
//! A sweep starts each point from the one before ([`Solver::follow`]), which skips the first stage.
//!
//! **Neglected.** Solutions (alloys, mixed oxides, melts: what forms them is more stable than is said here), non-ideal gases
//! (above some 10 bar, or near condensation, pressures come out too high), the volume of condensed phases (pressure in a nearly full vessel
//! comes out too low), and that reactions take time: this says what may happen, not when.
//!
//! **Source.** W. R. Smith, R. W. Missen, Chemical Reaction Equilibrium Analysis, 1982; S. Gordon, B. J. McBride, NASA RP-1311
//! (1994) (both from memory).

// Matrices are filled and solved by index: an iterator would hide which entry is meant.
#![allow(clippy::needless_range_loop)]

mod active;
mod at_once;
mod dense;
mod frame;
mod interior;
mod judge;
mod search;
mod system;
mod work;

pub use system::{Candidate, Equilibrium, Flaw, Hold, Phase, Problem, Residuals, STANDARD_PRESSURE, Status, System};

use search::{Found, Side};
use work::Work;

/// Up to which left-over difference an answer counts as solved. The same a thousand times is [`Status::Almost`].
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Tolerances {
    /// Of [`Residuals::elements`].
    pub elements: f64,
    /// Of [`Residuals::potentials`].
    pub potentials: f64,
    /// Of [`Residuals::stability`].
    pub stability: f64,
    /// Of [`Residuals::energy`].
    pub energy: f64,
}

impl Default for Tolerances {
    fn default() -> Self {
        Self { elements: 1e-10, potentials: 1e-8, stability: 1e-8, energy: 1e-9 }
    }
}

/// Molar gas constant, J/(mol·K); exact by the definition of the SI.
pub const GAS_CONSTANT: f64 = 8.314_462_618_153_24;
/// How much worse than solved is still almost.
const ALMOST: f64 = 1e3;

/// Finds equilibria of one system; keeps its workspace and its last state.
#[derive(Clone, Debug)]
pub struct Solver {
    work: Work,
    sides: [Side; 3],
    /// Up to which difference an answer counts as solved.
    pub tolerances: Tolerances,
    /// Temperatures between which an energy is looked for, K.
    pub limits: (f64, f64),
    last: Option<f64>,
}

impl Solver {
    /// A solver for a system.
    #[must_use]
    pub fn new(system: System) -> Self {
        Self {
            work: Work::new(system),
            sides: Default::default(),
            tolerances: Tolerances::default(),
            limits: (220.0, 6000.0),
            last: None,
        }
    }

    /// The system.
    #[must_use]
    pub fn system(&self) -> &System {
        &self.work.system
    }

    /// Solves a problem from nothing.
    ///
    /// ```
    /// use engine::equilibrium::{Candidate, Hold, Phase, Problem, Solver, Status, System};
    /// use engine::thermochemistry::fit::{Fit, Interval};
    /// // An invented substance A that melts at 1000 K with 10 kJ/mol.
    /// let form = |heat: f64, entropy: f64| Candidate {
    ///     phase: Phase::Condensed,
    ///     atoms: vec![1.0],
    ///     fit: Fit { intervals: vec![Interval { low_k: 200.0, high_k: 6000.0, a: [0.0, 0.0, 3.0, 0.0, 0.0, 0.0, 0.0], b: [heat, entropy] }] },
    /// };
    /// let molten_from = 1000.0;
    /// let system = System::new(1, vec![form(0.0, 0.0), form(1200.0, 1200.0 / molten_from)])?;
    /// let hold = Hold::TemperaturePressure(1100.0, 1e5);
    /// let answer = Solver::new(system).solve(&Problem { elements: &[2.0], hold });
    /// assert_eq!(answer.status, Status::Solved);
    /// assert!((answer.amounts[1] - 2.0).abs() < 1e-12);
    /// # Ok::<(), engine::equilibrium::Flaw>(())
    /// ```
    pub fn solve(&mut self, problem: &Problem<'_>) -> Equilibrium {
        let mut answer = Equilibrium::default();
        self.last = None;
        self.follow_into(problem, &mut answer);
        answer
    }

    /// Solves a problem that lies near the last one of this solver: the next point of a sweep. Falls back to
    /// [`Solver::solve`] where that does not help; the answer is the same.
    pub fn follow(&mut self, problem: &Problem<'_>) -> Equilibrium {
        let mut answer = Equilibrium::default();
        self.follow_into(problem, &mut answer);
        answer
    }

    /// [`Solver::follow`] into an answer that is used again.
    pub fn follow_into(&mut self, problem: &Problem<'_>, answer: &mut Equilibrium) {
        answer.status = Status::BadQuestion;
        answer.residuals = Residuals::default();
        answer.plateau = false;
        self.work.steps = 0;
        let (first, second) = match problem.hold {
            Hold::TemperaturePressure(t, p) | Hold::TemperatureVolume(t, p) => (t, p),
            Hold::EnthalpyPressure(h, p) | Hold::EnergyVolume(h, p) => (h, p),
        };
        let by_temperature = matches!(problem.hold, Hold::TemperaturePressure(..) | Hold::TemperatureVolume(..));
        let sound = first.is_finite() && second.is_finite() && second > 0.0 && (!by_temperature || first > 0.0);
        if !sound || !self.work.take(problem.elements) {
            self.last = None;
            return;
        }
        match problem.hold {
            Hold::TemperaturePressure(_, p) | Hold::EnthalpyPressure(_, p) => self.work.at_pressure(p),
            Hold::TemperatureVolume(_, v) | Hold::EnergyVolume(_, v) => self.work.at_volume(v),
        }
        if self.last.is_none() {
            self.work.pi.clear();
        }
        if by_temperature {
            self.at_temperature(first, answer)
        } else {
            self.at_energy(first, answer)
        }
        self.last = matches!(answer.status, Status::Solved | Status::Almost).then_some(answer.temperature);
    }

    fn at_temperature(&mut self, temperature: f64, answer: &mut Equilibrium) {
        let state = if self.work.pi.is_empty() { self.work.cold(temperature) } else { self.work.warm(temperature) };
        match state {
            Err(_) => answer.status = Status::Unreachable,
            Ok(_) => {
                self.work.fill_amounts();
                self.write(answer, None);
            }
        }
    }

    fn at_energy(&mut self, energy: f64, answer: &mut Equilibrium) {
        let start = self.last.unwrap_or(1200.0);
        let found = self.work.search(energy, start, self.limits, &mut self.sides);
        match found {
            Found::Unreachable => answer.status = Status::Unreachable,
            Found::OutOfRange => answer.status = Status::OutOfRange,
            Found::Unsolved => answer.status = Status::Unsolved,
            Found::State { plateau } => {
                self.work.fill_amounts();
                self.write(answer, Some(energy));
                answer.plateau = plateau;
            }
            Found::Between { share } => {
                self.work.fill_between(&self.sides[0], &self.sides[1], share);
                self.write(answer, Some(energy));
                answer.plateau = true;
                if answer.status == Status::Unsolved && self.work.data_end(&self.sides[0], &self.sides[1]) {
                    answer.status = Status::DataEnd;
                }
                self.work.pi.clear();
            }
        }
    }

    /// Writes the present state and judges it from the amounts alone.
    fn write(&self, answer: &mut Equilibrium, energy: Option<f64>) {
        let work = &self.work;
        let system = &work.system;
        answer.steps = work.steps;
        answer.temperature = work.temperature;
        answer.amounts.clear();
        answer.amounts.extend(work.amount.iter().map(|share| share * work.scale));
        answer.activities.clear();
        let pressure_term = work.logarithm_of_unit_activity();
        answer.activities.extend((0..system.candidates().len()).map(|i| {
            if !work.open.contains(&i) {
                return 0.0;
            }
            let shift = if system.is_gas(i) { pressure_term } else { 0.0 };
            (work.worth(i) - work.gamma[i] + shift).exp()
        }));
        answer.gas = work.gas.iter().map(|&i| answer.amounts[i]).sum();
        answer.energy = work.energy_of_amounts();
        work.write_room(answer);
        answer.residuals = work.judge(energy, answer.energy);
        let (r, t) = (answer.residuals, self.tolerances);
        let within = |factor: f64| {
            r.elements <= t.elements * factor
                && r.potentials <= t.potentials * factor
                && r.stability <= t.stability * factor
                && r.energy <= t.energy * factor
        };
        answer.status = match () {
            () if within(1.0) => Status::Solved,
            () if within(ALMOST) => Status::Almost,
            () => Status::Unsolved,
        };
    }
}
