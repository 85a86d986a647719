//! In which oxidation state is an element of a solution, at a potential that is held or where electrons balance?
//!
//! Every state is written in one master of its element, hydrogen ion and hydrogen atoms H = H⁺ + e⁻: it gives n of them up,
//!
//! ```text
//! log K = log K° − n · log a(H),    pe = −log a(H) − pH
//! ```
//! so with log a(H) held the states are complexes like others and the network is solved as it is. One search in one unknown is
//! laid round it. Potential held: log a(H) so that pe comes out; what takes or brings the electrons takes or brings as many
//! hydrogen ions, as oxygen, hydrogen peroxide or hydrogen do, so charge and element balances stay closed. Nothing held: log a(H)
//! at which the states have given up as many electrons as they had; that number falls steadily with log a(H). Where it jumps
//! two solids hold the potential, and both sides of the jump are mixed; they differ by the little water that the change of one
//! solid into the other takes, so the laws of mass action are met to the square of that difference and the potential within
//! 0.1 mV. Neglected: that couples are slow, sulfate and nitrate above all; that water itself is oxidised or reduced. Where
//! sulfide turns to sulfur at a potential held, pH rises and helps it on: two answers are possible there, one is given.
//!
//! Source: W. Nernst, Z. phys. Chem. 4 (1889) 129; electron balance as in W. Stumm, J. J. Morgan, Aquatic Chemistry.

use super::network::Network;
use super::speciate::{Report, Solver, Status};

/// Searching steps.
const STEPS: usize = 200;
/// The potential is met within this, decades.
const MET: f64 = 1e-10;
/// The same for "almost".
const ALMOST: f64 = 1e-6;
/// The number of electrons is met within this share of those that can be moved.
const BALANCED: f64 = 1e-12;
/// Distance of two levels between which the number of electrons jumps.
const JUMP: f64 = 1e-12;
/// log a(H) to begin with: halfway between hydrogen and oxygen.
const START: f64 = -10.0;
/// Between which pH is looked for.
const PH: (f64, f64) = (-5.0, 20.0);
/// Between which log a(H) is looked for.
const LEVELS: (f64, f64) = (-60.0, 40.0);

/// What is held.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Hold {
    /// The potential, as pe.
    Potential(f64),
    /// Electrons given up by all states, mol, counted from the masters.
    Electrons(f64),
}

impl Default for Hold {
    fn default() -> Self {
        Self::Electrons(0.0)
    }
}

/// Oxidation states that follow from one another.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Couples {
    /// Number of a species and how many electrons are given up when it forms from its master.
    pub species: Vec<(usize, f64)>,
    /// Number of a solid and how many electrons are given up when it dissolves to its master.
    pub solids: Vec<(usize, f64)>,
    /// The same of a gas.
    pub gases: Vec<(usize, f64)>,
    /// What is held.
    pub hold: Hold,
    /// log₁₀ of the activity of hydrogen atoms that the constants now hold; 0 for a new network.
    pub level: f64,
}

impl Network {
    /// Lets states follow from one another; their constants are those for log a(H) = 0.
    pub fn couple(&mut self, couples: Couples) {
        self.couples = Some(couples);
    }

    /// Holds something else.
    pub fn hold(&mut self, hold: Hold) {
        if let Some(couples) = &mut self.couples {
            couples.hold = hold;
        }
    }

    /// Brings the constants to another log a(H).
    fn bring_to(&mut self, level: f64) {
        let Some(couples) = &mut self.couples else { return };
        let moved = level - couples.level;
        couples.level = level;
        for (number, electrons) in &couples.species {
            self.species[*number].log_k -= electrons * moved;
        }
        for (number, electrons) in &couples.solids {
            self.solids[*number].log_k -= electrons * moved;
        }
        for (number, electrons) in &couples.gases {
            self.gases[*number].log_k -= electrons * moved;
        }
    }
}

/// A search for where a falling function is zero: straight lines, halves where these do not come on.
struct Search {
    low: f64,
    high: f64,
    last: Option<(f64, f64)>,
}

impl Search {
    fn between((low, high): (f64, f64)) -> Self {
        Self { low, high, last: None }
    }

    /// Where to look after a value was seen; `guess` is for the first time.
    fn next(&mut self, at: f64, value: f64, guess: f64) -> f64 {
        if value > 0.0 {
            self.low = self.low.max(at);
        } else {
            self.high = self.high.min(at);
        }
        let middle = 0.5 * (self.low + self.high);
        let next = match self.last {
            None => guess,
            Some((_, before)) if value.abs() > 0.5 * before.abs() => middle,
            Some((from, before)) => at - value * (at - from) / (value - before),
        };
        self.last = Some((at, value));
        if next > self.low && next < self.high { next } else { middle }
    }

    /// Where to look after nothing could be seen, far out, where constants are beyond the solver: nearer to where it could.
    fn nearer(&self, at: f64) -> Option<f64> {
        self.last.map(|(seen, _)| 0.5 * (at + seen)).filter(|next| (next - at).abs() > JUMP)
    }

    fn is_narrow(&self) -> bool {
        self.high - self.low < JUMP
    }
}

/// Whether an answer can be gone on from.
fn is_answer(report: &Report) -> bool {
    matches!(report.status, Status::Solved | Status::Almost)
}

impl Solver {
    /// pe of the couples, where there are any.
    #[must_use]
    pub fn pe(&self) -> Option<f64> {
        self.network().couples.as_ref().map(|couples| -couples.level - self.ph())
    }

    /// Solves with couples in balance.
    pub(super) fn solve_coupled(&mut self, hold: Hold, totals: &[f64], water: f64, warm: bool) -> Report {
        match hold {
            Hold::Potential(pe) => self.at_potential(pe, totals, water, warm),
            Hold::Electrons(electrons) => self.with_electrons(electrons, totals, water, warm),
        }
    }

    fn at_potential(&mut self, pe: f64, totals: &[f64], water: f64, warm: bool) -> Report {
        let mut search = Search::between(PH);
        let mut ph = if warm && self.ph().is_finite() { self.ph().clamp(PH.0, PH.1) } else { 7.0 };
        for step in 0..STEPS {
            self.network_mut().bring_to(-pe - ph);
            let report = self.solve_held(totals, water, warm || step > 0);
            if !is_answer(&report) {
                let Some(next) = search.nearer(ph) else { return report };
                ph = next;
                continue;
            }
            let off = self.ph() - ph;
            if off.abs() <= MET {
                return report;
            }
            ph = search.next(ph, off, ph + off);
            if search.is_narrow() {
                let status = if off.abs() < ALMOST { Status::Almost } else { Status::NotConverged };
                return Report { status, ..report };
            }
        }
        self.checked(Status::NotConverged)
    }

    /// Electrons given up by all states, mol, and how many were moved either way.
    fn electrons(&self) -> (f64, f64) {
        let Some(couples) = &self.network().couples else { return (0.0, 0.0) };
        let dissolved = couples.species.iter().map(|(number, n)| n * self.molalities()[*number] * self.water());
        let solid = couples.solids.iter().map(|(number, n)| -n * self.solid(*number));
        let gone = couples.gases.iter().map(|(number, n)| n * self.taken_up(*number));
        dissolved.chain(solid).chain(gone).fold((0.0, 0.0), |(net, gross), n| (net + n, gross + n.abs()))
    }

    fn with_electrons(&mut self, electrons: f64, totals: &[f64], water: f64, warm: bool) -> Report {
        let mut search = Search::between(LEVELS);
        let last = self.network().couples.as_ref().map_or(START, |couples| couples.level);
        let mut level = if warm { last } else { START };
        let (mut above, mut below) = (None, None);
        for step in 0..STEPS {
            self.network_mut().bring_to(level);
            let report = self.solve_held(totals, water, warm || step > 0);
            if !is_answer(&report) {
                let Some(next) = search.nearer(level) else { return report };
                level = next;
                continue;
            }
            let (found, gross) = self.electrons();
            let off = found - electrons;
            if off.abs() <= BALANCED * gross.max(electrons.abs()) {
                return report;
            }
            let side = if off > 0.0 { &mut above } else { &mut below };
            *side = Some((self.clone(), off));
            level = search.next(level, off, 0.5 * (search.low + search.high));
            if search.is_narrow() {
                break;
            }
        }
        match (above, below) {
            (Some((more, over)), Some((less, under))) if search.is_narrow() => {
                *self = less;
                self.mix(&more, -under / (over - under));
                self.checked(Status::Solved)
            }
            (None, _) | (_, None) if search.is_narrow() => self.checked(Status::NoPotential),
            _ => self.checked(Status::NotConverged),
        }
    }
}
