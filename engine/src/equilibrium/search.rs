//! At which temperature is the equilibrium that has this energy?
//!
//! The energy of the equilibrium state never falls with temperature, but it jumps where a phase changes as a whole (melting,
//! boiling, decomposition in the gas that it makes). So temperature is held between two at which the state is known, and from
//! each state Newton's method is tried with temperature among the unknowns; in one phase field that is the answer within a few
//! steps. Where the jump lies between the two ends, the phases of both are taken together: then there are as many phases as fix
//! the temperature, and the same Newton step finds temperature and shares at once. If all that fails the bracket is halved
//! until nothing is left of it.
//!
//! Neglected: a wrong jump at the end of a fit that no other fit continues is told from a true one only by the Gibbs energies,
//! which then differ (`Status::DataEnd`).
//!
//! Source: none beyond the first and second law (energy rises with temperature at equilibrium).

use super::active::End;
use super::frame::Unreachable;
use super::interior::ENOUGH;
use super::work::Work;

/// Temperatures from where a state is carried over when it is not found at once, K, and the greatest step on the way.
const ELSEWHERE: [f64; 6] = [1500.0, 2500.0, 900.0, 4000.0, 500.0, 320.0];
const WALK: f64 = 0.1;
/// Factors of temperature to the neighbours that are tried first.
const NEARBY: [f64; 4] = [1.001, 0.98, 1.03, 0.94];
/// How often, and by what factor, a search steps aside from a temperature at which no state is found.
const NUDGES: usize = 4;
const NUDGE: f64 = 1.017;
/// Imbalance of an element above which the components are chosen anew.
const SHARP: f64 = 1e-12;
/// Most temperatures tried.
const MOST_TEMPERATURES: usize = 120;
/// Step of the search for a first bracket.
const STRIDE: f64 = 1.6;
/// Relative width at which a bracket is closed.
const CLOSED: f64 = 1e-12;
/// A phase more stable than what is there by this, in RT, was overlooked.
const OVERLOOKED: f64 = 1e-9;

/// What is kept of a state at one end.
#[derive(Clone, Debug, Default)]
pub(super) struct Side {
    temperature: f64,
    energy: f64,
    known: bool,
    present: Vec<usize>,
    amounts: Vec<f64>,
    /// Amount of every candidate.
    all: Vec<f64>,
    pi: Vec<f64>,
    components: Vec<usize>,
    has_gas: bool,
    total: f64,
}

impl Side {
    /// Amount of a candidate, as share.
    pub(super) fn amount(&self, candidate: usize) -> f64 {
        self.all[candidate]
    }
}

/// How a search ended.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) enum Found {
    /// A state with this energy; whether temperature stands still there.
    State {
        plateau: bool,
    },
    /// Two states at one temperature; the share of the warmer one.
    Between {
        share: f64,
    },
    OutOfRange,
    Unreachable,
    Unsolved,
}

impl Work {
    /// State at a temperature from nothing; where that fails, from the state at another temperature, from where the way is
    /// walked.
    ///
    /// # Errors
    /// [`Unreachable`] where what is known at this temperature cannot make up the amounts.
    pub(super) fn cold(&mut self, temperature: f64) -> Result<bool, Unreachable> {
        if self.without_start(temperature)? {
            return Ok(true);
        }
        let far = self.far_from_balance();
        for other in NEARBY.iter().map(|factor| factor * temperature).chain(ELSEWHERE) {
            if self.without_start(other) != Ok(true) {
                continue;
            }
            let strides = ((temperature / other).ln().abs() / WALK).ceil().max(1.0);
            let factor = ((temperature / other).ln() / strides).exp();
            let arrived = (1..=strides as usize).all(|stride| {
                let here = if stride == strides as usize { temperature } else { other * factor.powi(stride as i32) };
                self.step_to(here) == Ok(true)
            });
            if arrived {
                return Ok(true);
            }
        }
        if far { Err(Unreachable) } else { Ok(false) }
    }

    fn without_start(&mut self, temperature: f64) -> Result<bool, Unreachable> {
        self.warm_to(temperature);
        let mut enough = (1e-2 * self.least).clamp(1e-15, ENOUGH);
        for _ in 0..3 {
            self.open_up();
            let (system, gamma) = (&self.system, &self.gamma);
            let rank = |i: &usize| gamma[*i] / system.size(*i).max(1.0);
            self.open.sort_by(|i, j| rank(i).total_cmp(&rank(j)));
            self.conserve()?;
            self.interior(enough, None);
            self.choose_phases(false);
            for &c in &self.condensed {
                if !self.present.contains(&c) {
                    self.amount[c] *= 1e-6;
                }
            }
            self.reframe()?;
            if self.settle_sharply()? {
                return Ok(true);
            }
            enough *= 1e-2;
        }
        Ok(false)
    }

    fn far_from_balance(&self) -> bool {
        (0..self.frame.rows).any(|row| {
            let there: f64 = self.open.iter().map(|&i| self.amount[i] * self.frame.column(i)[row]).sum();
            (self.frame.amounts[row] - there).abs() > 1e-5
        })
    }

    /// Phases with more amount than slack at the end of the interior path, the surest first, and no more than the phase rule
    /// allows.
    pub(super) fn choose_phases(&mut self, warms: bool) {
        self.total = self.gas.iter().map(|&i| self.amount[i]).sum();
        self.has_gas = !self.gas.is_empty();
        if self.at_pressure && self.has_gas {
            let missing = -self.gas_pressure();
            self.has_gas = self.total > 1e-3 * missing.max(0.0);
        }
        self.present.clear();
        self.present_amount.clear();
        for &c in &self.condensed {
            self.slack_step[c] = self.amount[c] / (self.slack[c] * self.most(c));
        }
        let sure = &self.slack_step;
        self.condensed.sort_by(|i, j| sure[*j].total_cmp(&sure[*i]));
        let room = self.frame.rows - usize::from(self.at_pressure && self.has_gas).min(self.frame.rows);
        let (room, mut spare) = (room + usize::from(warms), warms);
        for index in 0..self.condensed.len() {
            let c = self.condensed[index];
            if self.present.len() == room || self.slack_step[c] <= 1e-3 {
                continue;
            }
            let is_new = self.is_independent(c);
            if is_new || spare {
                spare &= is_new;
                self.present.push(c);
                self.present_amount.push(self.amount[c]);
            }
        }
    }

    /// Whether a phase is not made of those already chosen.
    fn is_independent(&mut self, c: usize) -> bool {
        self.right.clear();
        self.right.extend_from_slice(self.frame.column(c));
        self.crowded_out().is_none()
    }

    /// Conditions in the order of the amounts that there are; potentials are carried over.
    pub(super) fn reframe(&mut self) -> Result<(), Unreachable> {
        let amount = &self.amount;
        self.open.sort_by(|i, j| amount[*j].total_cmp(&amount[*i]));
        std::mem::swap(&mut self.frame, &mut self.older);
        self.conserve()?;
        self.slack_step.clear();
        self.slack_step.resize(self.system.candidates().len(), 0.0);
        for (row, &component) in self.frame.components.iter().enumerate() {
            self.slack_step[row] = super::active::dot(self.older.column(component), &self.pi);
        }
        self.pi.clear();
        self.pi.extend_from_slice(&self.slack_step[..self.frame.rows]);
        Ok(())
    }

    /// State at a temperature from the present state; from nothing where that does not help.
    ///
    /// # Errors
    /// [`Unreachable`] as in [`Work::cold`].
    pub(super) fn warm(&mut self, temperature: f64) -> Result<bool, Unreachable> {
        if self.step_to(temperature) == Ok(true) { Ok(true) } else { self.cold(temperature) }
    }

    /// State at a temperature from the present state alone.
    fn step_to(&mut self, temperature: f64) -> Result<bool, Unreachable> {
        self.warm_to(temperature);
        self.open_up();
        if self.frame.components.iter().any(|c| !self.open.contains(c)) || self.pi.len() != self.frame.rows {
            return Ok(false);
        }
        self.older_components.clone_from(&self.frame.components);
        self.parts.clone_from(&self.pi);
        let components = &self.older_components;
        self.open.sort_by_key(|i| !components.contains(i));
        self.conserve()?;
        if !self.carry_potentials() {
            return Ok(false);
        }
        let mut place = 0;
        while place < self.present.len() {
            if self.open.contains(&self.present[place]) {
                place += 1;
            } else {
                self.present.remove(place);
                self.present_amount.remove(place);
            }
        }
        self.settle_sharply()
    }

    /// Puts the potentials (in `parts`) in the order of the rebuilt components. Returns whether they are the same.
    fn carry_potentials(&mut self) -> bool {
        self.pi.clear();
        for component in &self.frame.components {
            let Some(place) = self.older_components.iter().position(|c| c == component) else { return false };
            self.pi.push(self.parts[place]);
        }
        true
    }

    /// Amounts of all candidates in the present state, as shares.
    pub(super) fn fill_amounts(&mut self) {
        self.amount.fill(0.0);
        let total = if self.at_pressure { self.total } else { 1.0 };
        if self.has_gas {
            for &i in &self.gas {
                self.amount[i] = total * self.fraction[i];
            }
        }
        for (&c, amount) in self.present.iter().zip(&self.present_amount) {
            self.amount[c] = amount.max(0.0);
        }
    }

    fn keep(&mut self, side: &mut Side) {
        self.fill_amounts();
        side.temperature = self.temperature;
        side.energy = self.energy();
        side.known = true;
        side.present.clone_from(&self.present);
        side.amounts.clone_from(&self.present_amount);
        side.all.clone_from(&self.amount);
        side.pi.clone_from(&self.pi);
        side.components.clone_from(&self.frame.components);
        side.has_gas = self.has_gas;
        side.total = self.total;
    }

    fn recall(&mut self, side: &Side) {
        self.present.clone_from(&side.present);
        self.present_amount.clone_from(&side.amounts);
        self.older_components.clone_from(&side.components);
        self.parts.clone_from(&side.pi);
        if !self.carry_potentials() {
            self.pi.clone_from(&side.pi);
        }
        self.has_gas = side.has_gas;
        self.total = side.total;
        self.warm_to(side.temperature);
    }

    /// Looks for the state with an energy (J).
    pub(super) fn search(&mut self, energy: f64, start: f64, limits: (f64, f64), sides: &mut [Side; 3]) -> Found {
        let start = start.clamp(limits.0, limits.1);
        if self.pi.is_empty() {
            let near = match self.at_once(energy, start, limits) {
                Ok(found) => return found,
                Err(near) => near.clamp(limits.0, limits.1),
            };
            self.pi.clear();
            let found = self.bracket(energy, near, limits, sides);
            if near == start || matches!(found, Found::State { .. } | Found::Between { .. }) {
                return found;
            }
            self.pi.clear();
        }
        self.bracket(energy, start, limits, sides)
    }

    /// Looks for it between two temperatures that come nearer to each other.
    fn bracket(&mut self, energy: f64, start: f64, limits: (f64, f64), sides: &mut [Side; 3]) -> Found {
        let [cool, hot, here] = sides;
        cool.known = false;
        hot.known = false;
        let mut next = start;
        let mut is_first = self.pi.is_empty();
        let mut failures = 0;
        for _ in 0..MOST_TEMPERATURES {
            let solved = if is_first { self.cold(next) } else { self.warm(next) };
            is_first = false;
            if solved != Ok(true) {
                if failures == NUDGES {
                    return if solved.is_err() { Found::Unreachable } else { Found::Unsolved };
                }
                failures += 1;
                next *= NUDGE;
                is_first = true;
                continue;
            }
            self.keep(here);
            let side = if here.energy > energy { &mut *hot } else { &mut *cool };
            std::mem::swap(side, here);
            let frame_is_of = side.temperature;
            if let Some(found) = self.with_heat(energy, (cool, hot), limits) {
                return found;
            }
            let suggested = self.temperature;
            let side = if cool.known && cool.temperature == frame_is_of { &*cool } else { &*hot };
            self.recall(side);
            if cool.known && hot.known {
                if let Some(found) = self.together(energy, (cool, hot)) {
                    return found;
                }
                let (low, high) = (cool.temperature, hot.temperature);
                if high / low - 1.0 < CLOSED {
                    let side = if cool.temperature == frame_is_of { &*cool } else { &*hot };
                    self.recall(side);
                    let jump = hot.energy - cool.energy;
                    return Found::Between { share: ((energy - cool.energy) / jump).clamp(0.0, 1.0) };
                }
                let inner = low + 0.02 * (high - low)..high - 0.02 * (high - low);
                next = if inner.contains(&suggested) { suggested } else { (low * high).sqrt() };
                let side = if cool.temperature == frame_is_of { &*cool } else { &*hot };
                self.recall(side);
            } else {
                let bound = if cool.known { limits.1 } else { limits.0 };
                let at = if cool.known { cool.temperature } else { hot.temperature };
                if at == bound {
                    return Found::OutOfRange;
                }
                let stride = if cool.known { STRIDE } else { 1.0 / STRIDE };
                next = (at * stride).clamp(limits.0, limits.1);
            }
        }
        Found::Unsolved
    }

    /// Whether what is present on one side is unknown on the other: a fit ends between them.
    pub(super) fn data_end(&self, cool: &Side, hot: &Side) -> bool {
        let ends = |from: &Side, to: &Side| {
            (0..from.all.len()).any(|i| from.all[i] > 0.0 && !self.system.is_known_at(i, to.temperature))
        };
        ends(cool, hot) || ends(hot, cool)
    }

    /// Newton's method with temperature unknown, from the present state.
    fn with_heat(&mut self, energy: f64, sides: (&Side, &Side), limits: (f64, f64)) -> Option<Found> {
        let end = self.newton(Some(energy));
        let low = if sides.0.known { sides.0.temperature } else { limits.0 };
        let high = if sides.1.known { sides.1.temperature } else { limits.1 };
        (end == End::Found && self.is_whole(low, high)).then(|| self.finish(energy))
    }

    /// The phases of both sides together.
    fn together(&mut self, energy: f64, (cool, hot): (&Side, &Side)) -> Option<Found> {
        let same = cool.present.len() == hot.present.len() && cool.present.iter().all(|c| hot.present.contains(c));
        if same && cool.has_gas == hot.has_gas {
            return None;
        }
        let share = (energy - cool.energy) / (hot.energy - cool.energy);
        self.present.clear();
        self.present_amount.clear();
        for &c in cool.present.iter().chain(&hot.present) {
            if !self.present.contains(&c) && self.frame.column(c).iter().any(|count| *count != 0.0) {
                self.present.push(c);
                self.present_amount.push((1.0 - share) * cool.all[c] + share * hot.all[c]);
            }
        }
        self.has_gas = cool.has_gas || hot.has_gas;
        self.total = match (cool.has_gas, hot.has_gas) {
            (true, true) => (1.0 - share) * cool.total + share * hot.total,
            (true, false) => (1.0 - share) * cool.total,
            (false, true) => share * hot.total,
            (false, false) => 0.0,
        };
        self.total = self.total.max(1e-3 * self.least);
        let end = self.newton(Some(energy));
        (end == End::Found && self.is_whole(cool.temperature, hot.temperature)).then(|| self.finish(energy))
    }

    /// The last figures, in the order of the amounts that were found.
    pub(super) fn finish(&mut self, energy: f64) -> Found {
        self.fill_amounts();
        if self.element_residual() > SHARP {
            let mut found = Side::default();
            self.keep(&mut found);
            let improved = self.reframe().is_ok() && self.newton(Some(energy)) == End::Found;
            if !improved {
                std::mem::swap(&mut self.frame, &mut self.older);
                self.recall(&found);
                self.fractions();
            }
        }
        Found::State { plateau: self.stands_still() }
    }

    /// Settles, and once more in the order of the amounts if figures of a trace are missing.
    fn settle_sharply(&mut self) -> Result<bool, Unreachable> {
        if !self.settle() {
            return Ok(false);
        }
        self.fill_amounts();
        if self.element_residual() > SHARP {
            self.reframe()?;
            return Ok(self.settle());
        }
        Ok(true)
    }

    /// Whether the state found is one: within the bracket, nothing less than nothing, nothing overlooked.
    pub(super) fn is_whole(&mut self, low: f64, high: f64) -> bool {
        let within = self.temperature >= low * (1.0 - 1e-9) && self.temperature <= high * (1.0 + 1e-9);
        if !within || self.less_than_nothing().is_some() {
            return false;
        }
        if self.present.iter().any(|c| !self.system.is_known_at(*c, self.temperature)) {
            return false;
        }
        if !self.open_further() {
            return false;
        }
        let gas_wanted = self.at_pressure && !self.has_gas && self.gas_pressure() > OVERLOOKED;
        if gas_wanted || self.overlooked() > OVERLOOKED {
            return false;
        }
        self.present_amount.iter_mut().for_each(|amount| *amount = amount.max(0.0));
        true
    }

    /// Lets in what is known at the present temperature and was not where the phases were chosen. Returns whether the
    /// components are still the same.
    fn open_further(&mut self) -> bool {
        let (system, here) = (&self.system, self.temperature);
        let is_new =
            |i: &usize| !self.open.contains(i) && system.is_known_at(*i, here) && self.is_made_of_what_is_there(*i);
        if !(0..system.candidates().len()).any(|i| is_new(&i)) {
            return true;
        }
        self.open_up();
        for &c in &self.present {
            if !self.open.contains(&c) {
                return false;
            }
        }
        self.older_components.clone_from(&self.frame.components);
        self.parts.clone_from(&self.pi);
        let components = &self.older_components;
        self.open.sort_by_key(|i| !components.contains(i));
        self.conserve().is_ok() && self.carry_potentials()
    }

    /// By how much a condensed phase that is not there would be more stable, in RT, among all known at this temperature.
    pub(super) fn overlooked(&self) -> f64 {
        let mut greatest = 0.0f64;
        for &c in self.condensed.iter().filter(|c| self.system.is_known_at(**c, self.temperature)) {
            greatest = greatest.max(self.worth(c) - self.gamma[c]);
        }
        greatest
    }

    /// Whether the phases that are there fix the temperature.
    fn stands_still(&mut self) -> bool {
        let (rows, mixed) = (self.frame.rows, self.has_gas && self.at_pressure);
        if self.present.len() + usize::from(mixed) > rows {
            return true;
        }
        self.right.clear();
        if mixed {
            self.right.resize(rows, 0.0);
            for &i in &self.gas {
                for (row, count) in self.frame.column(i).iter().enumerate() {
                    self.right[row] += self.fraction[i] * count;
                }
            }
            if self.is_made_of(self.present.len()) {
                return true;
            }
        }
        (1..self.present.len()).any(|place| {
            self.right.clear();
            self.right.extend_from_slice(self.frame.column(self.present[place]));
            self.is_made_of(place)
        })
    }
}
