//! What is dissolved as what, and which solids are there?
//!
//! Unknowns are the logarithms of the activities of the free masters; each master's balance is solved in logarithmic form,
//!
//! ```text
//! ln (what holds it + negative total) = ln (total + what is short of it)
//! ```
//! which is nearly linear in them, so Newton's method comes in from far away. The ionic strength is one more unknown; water
//! activity, mass of water and the specific part of Pitzer's equations follow from round to round. pH is that of the
//! hydrogen balance, which for totals of neutral substances is the same as charge balance. Solids are found by an active
//! set: the most supersaturated one is let in, one whose amount turns negative is let go, one that is a sum of others is
//! exchanged. Neglected: kinetics (a solid that is allowed forms at once), pressure, heat. In the charge model the water
//! activity is that of an ideal solution.
//!
//! Source: F. M. M. Morel, J. J. Morgan, Environ. Sci. Technol. 6 (1972) 58; balances in logarithmic form after J.
//! Carrayrou, R. Mosé, P. Behra, AIChE J. 48 (2002) 894.

mod newton;

use super::activity::Slopes;
use super::network::{HYDROGEN, Network, Phase};
use super::reduced::Reduced;
use super::water;
use std::f64::consts::LN_10;

/// All tolerances of the solver.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Tolerances {
    /// Largest error of a balance, relative to what stands in it, that counts as solved.
    pub balance: f64,
    /// The same for "almost".
    pub almost: f64,
    /// Largest change of ln γ, ln a(w) and of the mass of water from round to round.
    pub activity: f64,
    /// Natural logarithm of supersaturation above which a solid forms.
    pub supersaturation: f64,
    /// Rounds of Newton's method from one starting point.
    pub iterations: usize,
    /// Changes of the set of solids.
    pub exchanges: usize,
}

impl Default for Tolerances {
    fn default() -> Self {
        Self { balance: 1e-12, almost: 1e-6, activity: 1e-11, supersaturation: 1e-9, iterations: 150, exchanges: 200 }
    }
}

/// How far a solution was found.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Status {
    /// All balances close and no allowed solid is supersaturated.
    Solved,
    /// Balances close to the wider tolerance only.
    Almost,
    /// The balances were not closed.
    NotConverged,
    /// The set of solids did not settle.
    SolidsUnsettled,
    /// A phase would form from a gas held at its pressure without end.
    Unbounded,
    /// Hydrates would take up nearly all of the water.
    NoWater,
    /// A total is negative or not finite, or there is no water.
    BadTotals,
    /// No oxidation state can give electrons, or none can take them: there is no potential.
    NoPotential,
}

/// What the solver has to say of its own work.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Report {
    /// How far it came.
    pub status: Status,
    /// Largest error of a master's balance, relative to all that stands in it.
    pub residual: f64,
    /// Net charge over the sum of all charges.
    pub charge: f64,
    /// Rounds of Newton's method in all.
    pub iterations: usize,
}

/// Smallest total that is reckoned with, mol: nothing, for a logarithm.
const NOTHING: f64 = 1e-25;
/// Least share of the water that may stay liquid.
const LEAST_WATER: f64 = 0.02;
/// Natural logarithm of supersaturation up to which a solid of coupled states stays that could turn into another with
/// electrons and water alone: the water that it takes would turn it back, without end.
const CLOSE: f64 = 1e-3;
/// Hydrogen ion activities tried as starting points, pH.
const STARTS: [f64; 6] = [7.0, 2.0, 11.0, 4.5, 0.0, 14.0];

/// Solves solutions of one network, one after the other, in buffers of its own.
#[derive(Clone, Debug)]
pub struct Solver {
    network: Network,
    /// Tolerances.
    pub tolerances: Tolerances,
    slopes: Slopes,
    // The state, which is the answer in the end.
    ln_activity: Vec<f64>,
    molality: Vec<f64>,
    ln_gamma: Vec<f64>,
    ln_water: f64,
    water: f64,
    strength: f64,
    active: Vec<usize>,
    amounts: Vec<f64>,
    /// Solids that are let be beside one of the same parts.
    close: Vec<usize>,
    // What is fixed for one call.
    totals: Vec<f64>,
    water_total: f64,
    // Buffers.
    sizes: Vec<f64>,
    reduced: Reduced,
    exponents: Vec<f64>,
    reduced_totals: Vec<f64>,
    right: Vec<f64>,
    base: Vec<f64>,
    free_logs: Vec<f64>,
    before: Vec<f64>,
    step: Vec<f64>,
    above: Vec<f64>,
    below: Vec<f64>,
    errors: Vec<f64>,
    slope: Vec<f64>,
    scaled: Vec<f64>,
    other_gamma: Vec<f64>,
    gamma_before: Vec<f64>,
    /// How often water stands in the law of each species, solids counted in.
    water_exponents: Vec<f64>,
    /// What ln a(w) lags behind, and how it follows the ionic strength.
    water_shift: f64,
    water_slope: f64,
    /// What ln γ lags behind the molalities.
    shift: Vec<f64>,
    matrix: Vec<f64>,
    follow: Vec<f64>,
    lacking: Vec<f64>,
    sum: Vec<f64>,
    iterations: usize,
}

impl Solver {
    /// A solver with its buffers; after this nothing is allocated.
    #[must_use]
    pub fn new(network: Network) -> Self {
        let (m, n) = (network.masters, network.species.len());
        let phases = network.solids.len() + network.gases.len();
        Self {
            slopes: Slopes::at(network.temperature),
            tolerances: Tolerances::default(),
            ln_activity: vec![0.0; m],
            molality: vec![0.0; n],
            ln_gamma: vec![0.0; n],
            ln_water: 0.0,
            water: 1.0,
            strength: 0.0,
            active: Vec::with_capacity(m),
            amounts: Vec::with_capacity(m + 1),
            close: Vec::new(),
            totals: vec![0.0; m],
            water_total: 0.0,
            sizes: vec![0.0; m],
            reduced: Reduced::default(),
            exponents: Vec::with_capacity(n * m),
            reduced_totals: Vec::with_capacity(m),
            right: Vec::with_capacity(phases),
            base: Vec::with_capacity(m),
            free_logs: Vec::with_capacity(m),
            before: Vec::with_capacity(m),
            step: Vec::with_capacity(m),
            above: Vec::with_capacity(m),
            below: Vec::with_capacity(m),
            errors: Vec::with_capacity(m),
            slope: vec![0.0; n],
            scaled: vec![0.0; n],
            other_gamma: vec![0.0; n],
            gamma_before: vec![0.0; n],
            shift: vec![0.0; n],
            water_exponents: vec![0.0; n],
            water_shift: 0.0,
            water_slope: 0.0,
            matrix: Vec::with_capacity(m * m),
            follow: Vec::with_capacity(m),
            lacking: Vec::with_capacity(m),
            sum: Vec::with_capacity(m),
            iterations: 0,
            network,
        }
    }

    /// The chemistry it works with.
    #[must_use]
    pub fn network(&self) -> &Network {
        &self.network
    }

    /// The chemistry, for moving a constant.
    pub fn network_mut(&mut self) -> &mut Network {
        &mut self.network
    }

    /// Holds the coefficients of the charge model above another ionic strength, mol/kg: to see how much hangs on that.
    pub fn hold_activities_above(&mut self, ionic_strength: f64) {
        self.slopes.held_above = ionic_strength;
    }

    /// Molalities of all species, mol/kg.
    #[must_use]
    pub fn molalities(&self) -> &[f64] {
        &self.molality
    }

    /// Natural logarithms of the activity coefficients.
    #[must_use]
    pub fn ln_gamma(&self) -> &[f64] {
        &self.ln_gamma
    }

    /// −log₁₀ of the activity of the hydrogen ion.
    #[must_use]
    pub fn ph(&self) -> f64 {
        -self.ln_activity[HYDROGEN] / LN_10
    }

    /// Ionic strength, mol/kg.
    #[must_use]
    pub fn ionic_strength(&self) -> f64 {
        self.strength
    }

    /// Activity of water.
    #[must_use]
    pub fn water_activity(&self) -> f64 {
        self.ln_water.exp()
    }

    /// Mass of liquid water, kg.
    #[must_use]
    pub fn water(&self) -> f64 {
        self.water
    }

    /// Amount of a solid, mol.
    #[must_use]
    pub fn solid(&self, number: usize) -> f64 {
        let place = self.active.iter().position(|s| *s == number);
        place.map_or(0.0, |place| self.amounts.get(self.network.gases.len() + place).copied().unwrap_or(0.0))
    }

    /// Amount of a gas taken up from outside, mol; negative where it is given off.
    #[must_use]
    pub fn taken_up(&self, gas: usize) -> f64 {
        self.amounts.get(gas).map_or(0.0, |amount| -amount)
    }

    /// Saturation index of a solid, log₁₀ of ion product over constant.
    #[must_use]
    pub fn saturation_index(&self, number: usize) -> f64 {
        self.network.solids.get(number).map_or(f64::NAN, |solid| self.affinity(solid) / LN_10)
    }

    fn affinity(&self, phase: &Phase) -> f64 {
        let product: f64 = phase.parts.iter().map(|(m, c)| c * self.ln_activity[*m]).sum();
        product + phase.water * self.ln_water - phase.log_k * LN_10
    }

    /// Solves for totals of the masters (mol; the first is hydrogen ion in excess of hydroxide) and of water (mol).
    ///
    /// With `warm` the last answer is the starting point.
    pub fn solve(&mut self, totals: &[f64], water_total: f64, warm: bool) -> Report {
        match self.network.couples.as_ref().map(|couples| couples.hold) {
            None => self.solve_held(totals, water_total, warm),
            Some(hold) => self.solve_coupled(hold, totals, water_total, warm),
        }
    }

    /// Solves with the constants as they stand.
    pub(super) fn solve_held(&mut self, totals: &[f64], water_total: f64, warm: bool) -> Report {
        let failed = |status| Report { status, residual: f64::INFINITY, charge: f64::INFINITY, iterations: 0 };
        let bad = |total: &f64| !total.is_finite();
        let negative = totals.iter().enumerate().any(|(m, total)| m != HYDROGEN && *total < 0.0);
        if totals.len() != self.network.masters
            || totals.iter().any(bad)
            || negative
            || water_total.is_nan()
            || water_total <= 0.0
        {
            return failed(Status::BadTotals);
        }
        for (m, total) in totals.iter().enumerate() {
            self.totals[m] = if m == HYDROGEN { *total } else { total.max(NOTHING) };
        }
        self.water_total = water_total;
        self.iterations = 0;
        if warm {
            let report = self.settle();
            if report.status == Status::Solved {
                return report;
            }
        }
        let mut best = failed(Status::NotConverged);
        for start in STARTS {
            self.begin(start);
            let report = self.settle();
            let better = report.residual < best.residual;
            if report.status == Status::Solved {
                return report;
            }
            if better || best.iterations == 0 {
                best = report;
            }
        }
        best
    }

    /// A starting point without solids.
    fn begin(&mut self, ph: f64) {
        self.active.clear();
        self.water = self.water_total * water::MOLAR_MASS;
        self.ln_water = 0.0;
        for m in 0..self.network.masters {
            self.ln_activity[m] = (self.totals[m] / self.water).max(NOTHING).ln();
        }
        self.ln_activity[HYDROGEN] = -ph * LN_10;
        let charges = self.network.species.iter().take(self.network.masters);
        let twice: f64 = charges.zip(&self.totals).map(|(s, t)| f64::from(s.charge * s.charge) * t.abs()).sum();
        self.strength = (0.5 * twice / self.water).clamp(1e-9, 2.0);
        self.ln_gamma.fill(0.0);
        self.slope.fill(0.0);
        self.shift.fill(0.0);
        (self.water_shift, self.water_slope) = (0.0, 0.0);
        self.molality.fill(0.0);
    }

    /// Changes the set of solids until it is the right one.
    fn settle(&mut self) -> Report {
        for round in 0..self.tolerances.exchanges {
            if !self.reduce() {
                return self.report(Status::Unbounded);
            }
            if !self.converge() {
                return self.report(Status::NotConverged);
            }
            if self.water < LEAST_WATER * self.water_total * water::MOLAR_MASS * 1.01 {
                return self.report(Status::NoWater);
            }
            let bland = round > self.tolerances.exchanges / 3;
            if self.release(bland) {
                continue;
            }
            match self.admit(bland) {
                Some(true) => {}
                Some(false) => return self.report(Status::Solved),
                None => return self.report(Status::Unbounded),
            }
        }
        self.report(Status::SolidsUnsettled)
    }

    /// Lets go of the solid whose amount is most negative, or of the first such one.
    fn release(&mut self, first: bool) -> bool {
        let gases = self.network.gases.len();
        let scale = 1e-13 * self.totals.iter().map(|t| t.abs()).fold(0.0, f64::max);
        let mut negative = self.amounts[gases..].iter().enumerate().filter(|(_, amount)| **amount < -scale);
        let worst = if first { negative.next() } else { negative.min_by(|a, b| a.1.total_cmp(b.1)) };
        match worst.map(|(place, _)| place) {
            Some(place) => {
                self.active.remove(place);
                true
            }
            None => false,
        }
    }

    /// Lets in the most supersaturated solid; `None` where that has no end.
    fn admit(&mut self, first: bool) -> Option<bool> {
        self.close.clear();
        let number = loop {
            let Some((number, above)) = self.most_supersaturated(first) else { return Some(false) };
            if self.reduced.add(&self.network.solids[number], &self.sizes, &mut self.sum).is_ok() {
                self.active.push(number);
                return Some(true);
            }
            if self.network.couples.is_none() || above > CLOSE {
                break number;
            }
            self.close.push(number);
        };
        // It is a sum of phases already there: the one that would be used up first makes room.
        let gases = self.network.gases.len();
        let ratio = |place: &usize| self.amounts[gases + place].max(0.0) / self.sum[gases + place];
        let leaves = (0..self.active.len())
            .filter(|place| self.sum[gases + place] > 1e-9)
            .min_by(|a, b| ratio(a).total_cmp(&ratio(b)))?;
        self.active[leaves] = number;
        Some(true)
    }

    /// The solid that is to come in next, with the natural logarithm of its supersaturation for each of its parts.
    fn most_supersaturated(&self, first: bool) -> Option<(usize, f64)> {
        let mut worst: Option<(usize, f64)> = None;
        for (number, solid) in self.network.solids.iter().enumerate() {
            if self.active.contains(&number) || self.close.contains(&number) {
                continue;
            }
            let parts: f64 = solid.parts.iter().map(|(_, c)| c.abs()).sum();
            let above = self.affinity(solid) / parts.max(1.0);
            if above > self.tolerances.supersaturation && worst.is_none_or(|(_, most)| above > most && !first) {
                worst = Some((number, above));
            }
        }
        worst
    }

    /// How much stands in the balance of each master: its total, for the hydrogen ion all that holds or lacks it.
    fn size_up(&mut self) {
        const LEAST: f64 = 1e-7;
        self.sizes.copy_from_slice(&self.totals);
        let species = self.network.species.iter().zip(&self.molality);
        let held = |(s, m): (&super::network::Dissolved, &f64)| {
            s.parts.iter().filter(|(part, _)| *part == HYDROGEN).map(|(_, c)| (c * m).abs()).sum::<f64>()
        };
        self.sizes[HYDROGEN] = self.totals[HYDROGEN].abs() + self.water * species.map(held).sum::<f64>().max(LEAST);
    }

    /// Builds the reduced basis of gases and solids present; a solid that depends on the others is let go.
    fn reduce(&mut self) -> bool {
        self.size_up();
        self.reduced.reset(self.network.masters);
        for gas in &self.network.gases {
            if self.reduced.add(gas, &self.sizes, &mut self.sum).is_err() {
                return false;
            }
        }
        let mut place = 0;
        while let Some(number) = self.active.get(place).copied() {
            match self.reduced.add(&self.network.solids[number], &self.sizes, &mut self.sum) {
                Ok(()) => place += 1,
                Err(_) => drop(self.active.remove(place)),
            }
        }
        self.tabulate();
        true
    }

    /// Exponents and totals in the reduced basis.
    fn tabulate(&mut self) {
        let free = &self.reduced.free;
        self.follow.clear();
        for row in 0..self.reduced.pivots.len() {
            self.follow.extend(free.iter().map(|k| self.reduced.follows(row, *k)));
        }
        let count = free.len();
        self.reduced_totals.clear();
        for (column, k) in free.iter().enumerate() {
            let through: f64 = self
                .reduced
                .pivots
                .iter()
                .enumerate()
                .map(|(r, p)| self.follow[r * count + column] * self.totals[*p])
                .sum();
            self.reduced_totals.push(self.totals[*k] + through);
        }
        let m = self.network.masters;
        self.right.clear();
        let gases = self.network.gases.iter();
        let phases = gases.chain(self.active.iter().map(|number| &self.network.solids[*number]));
        self.right.extend(phases.map(|phase| -phase.water));
        self.exponents.clear();
        self.exponents.resize(self.network.species.len() * count, 0.0);
        for (i, species) in self.network.species.iter().enumerate() {
            let row = &mut self.exponents[i * count..(i + 1) * count];
            self.water_exponents[i] = species.water;
            for (master, coefficient) in &species.parts {
                if let Some(column) = free.iter().position(|k| k == master) {
                    row[column] += coefficient;
                } else if let Some(pivot) = self.reduced.pivots.iter().position(|k| k == master) {
                    let follow = &self.follow[pivot * count..(pivot + 1) * count];
                    self.water_exponents[i] += coefficient * self.reduced.base(pivot, &self.right, m);
                    row.iter_mut().zip(follow).for_each(|(value, f)| *value += coefficient * f);
                }
            }
        }
        for buffer in [&mut self.above, &mut self.below, &mut self.errors, &mut self.step, &mut self.before] {
            buffer.clear();
            buffer.resize(count, 0.0);
        }
        self.matrix.clear();
        self.matrix.resize(count * count, 0.0);
        self.free_logs.clear();
        self.free_logs.extend(free.iter().map(|k| self.ln_activity[*k]));
        self.amounts.clear();
        self.amounts.resize(self.reduced.pivots.len(), 0.0);
        self.lacking.clear();
        self.lacking.resize(self.reduced.pivots.len(), 0.0);
        self.base.clear();
        self.base.resize(self.reduced.pivots.len(), 0.0);
    }

    /// Mixes in a share of another answer to the same totals, so that all balances stay closed.
    pub(super) fn mix(&mut self, other: &Self, share: f64) {
        let between = |a: f64, b: f64| a + share * (b - a);
        let water = between(self.water, other.water);
        for (own, beside) in self.molality.iter_mut().zip(&other.molality) {
            *own = between(*own * self.water, beside * other.water) / water;
        }
        self.water = water;
        let logs = self.ln_activity.iter_mut().chain(&mut self.ln_gamma);
        for (own, beside) in logs.zip(other.ln_activity.iter().chain(&other.ln_gamma)) {
            *own = between(*own, *beside);
        }
        self.ln_water = between(self.ln_water, other.ln_water);
        self.strength = between(self.strength, other.strength);
        let gases = self.network.gases.len();
        for (place, amount) in self.amounts.iter_mut().enumerate() {
            *amount = between(*amount, if place < gases { other.amounts[place] } else { 0.0 });
        }
        for (place, number) in other.active.iter().enumerate() {
            let amount = share * other.amounts[gases + place];
            match self.active.iter().position(|known| known == number) {
                Some(known) => self.amounts[gases + known] += amount,
                None => {
                    self.active.push(*number);
                    self.amounts.push(amount);
                }
            }
        }
    }

    /// The answer as it stands, checked against the totals.
    pub(super) fn checked(&self, status: Status) -> Report {
        self.report(status)
    }

    /// Checks the answer against the totals as given.
    fn report(&self, status: Status) -> Report {
        let mut residual: f64 = 0.0;
        for (master, total) in self.totals.iter().enumerate() {
            let (mut held, mut gross) = (-total, total.abs());
            let mut count = |coefficient: f64, amount: f64| {
                held += coefficient * amount;
                gross += (coefficient * amount).abs();
            };
            for (species, molality) in self.network.species.iter().zip(&self.molality) {
                let parts = species.parts.iter().filter(|(part, _)| *part == master);
                parts.for_each(|(_, coefficient)| count(*coefficient, molality * self.water));
            }
            let phases =
                self.network.gases.iter().chain(self.active.iter().map(|number| &self.network.solids[*number]));
            for (phase, amount) in phases.zip(&self.amounts) {
                let parts = phase.parts.iter().filter(|(part, _)| *part == master);
                parts.for_each(|(_, coefficient)| count(*coefficient, *amount));
            }
            residual = residual.max(held.abs() / gross.max(NOTHING));
        }
        let charges = self.network.species.iter().zip(&self.molality).map(|(s, m)| f64::from(s.charge) * m);
        let (net, gross) = charges.fold((0.0, NOTHING), |(net, gross), c| (net + c, gross + c.abs()));
        let status = match status {
            Status::Solved if residual > self.tolerances.almost => Status::NotConverged,
            Status::Solved if residual > 100.0 * self.tolerances.balance => Status::Almost,
            other => other,
        };
        Report { status, residual, charge: net / gross, iterations: self.iterations }
    }
}
