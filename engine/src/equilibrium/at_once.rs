//! Can temperature be found on the way to the phases?
//!
//! The interior path is followed with temperature among the unknowns, and the second stage takes over where it ends, with
//! temperature unknown too. What may take part is what is known at the first temperature, so this can miss a form that
//! is known elsewhere only; then it says no and how far it came, and `search` brackets.
//!
//! Source: as `interior`.

use super::active::End;
use super::search::Found;
use super::work::Work;

/// Mean product of amount and slack at which the path ends: sooner than at a known temperature, because Newton's method takes
/// over from farther with temperature free, and what it does not reach is searched for.
const ENOUGH: f64 = 1e-4;
/// Imbalance of an element up to which a state is one.
const CONSERVED: f64 = 1e-10;
/// Between these temperatures, K, a start is as good as any.
const USUAL: (f64, f64) = (300.0, 5000.0);

impl Work {
    /// The state with an energy (J), from nothing.
    ///
    /// # Errors
    /// A temperature to begin a search at, where no state came of it.
    pub(super) fn at_once(&mut self, energy: f64, start: f64, limits: (f64, f64)) -> Result<Found, f64> {
        self.warm_to(start);
        if !self.outline(energy) {
            return Err(start);
        }
        let near = self.temperature;
        if self.newton(Some(energy)) == End::Found && self.is_whole(limits.0, limits.1) {
            let found = self.finish(energy);
            self.fill_amounts();
            // A trace that only a missing phase could hold is missing, too.
            if self.element_residual() < CONSERVED {
                return Ok(found);
            }
        }
        Err(if (USUAL.0..USUAL.1).contains(&near) { near } else { start })
    }

    /// Phases and about how much of each at about which temperature. Returns whether the path came to its end.
    fn outline(&mut self, energy: f64) -> bool {
        self.open_up();
        let (system, gamma) = (&self.system, &self.gamma);
        let rank = |i: &usize| gamma[*i] / system.size(*i).max(1.0);
        self.open.sort_by(|i, j| rank(i).total_cmp(&rank(j)));
        let enough = (1e-2 * self.least).clamp(1e-15, ENOUGH);
        if self.conserve().is_err() || !self.interior(enough, Some(energy)) {
            return false;
        }
        self.choose_phases(true);
        for &c in &self.condensed {
            if !self.present.contains(&c) {
                self.amount[c] *= 1e-6;
            }
        }
        self.reframe().is_ok()
    }
}
