//! What do the readings so far let expect of something not yet read?
//!
//! The ledger that allows everything is fitted to the readings of a preparation, and draws about the best fit are run
//! through it: the machinery of the live view, with the composition left open. Whatever follows from a run (a figure, a
//! mass) is then told as a weighted interval. Where the weights do not hold, the draws count alike, which is the wider.
//!
//! Neglected: that compositions of fewer solids are the likelier; the interval covers them all.

use super::alternatives::everything;
use super::compile::{Compiled, ReadingPlace, Variation};
use super::interval;
use super::table::SpeciesTable;
use crate::model::{Knowledge, Part, Preparation, TakeAmount};
use crate::outcome::Interval;
use engine::account::fit::{Count, FitSettings, fit};
use engine::account::hypercube::latin_hypercube;
use engine::account::importance::{TAIL_LIMIT, Volume, draw};
use engine::ledger::Workspace;

/// Draws about the best fit.
const DRAWS: usize = 200;
/// Relative standard uncertainty of what is weighed out to a plan: an aim, and no knowledge.
const AIM: f64 = 0.1;
/// Normal deviate of a one-sided 95 %.
const NINETY: f64 = 1.645;

/// Draws of all unknowns, given some readings.
pub(super) struct Prediction {
    compiled: Compiled,
    z: Vec<f64>,
    weights: Vec<f64>,
}

impl Prediction {
    /// From all readings of a preparation that have a figure.
    pub fn new(preparation: &Preparation, table: &mut SpeciesTable) -> Self {
        let compiled = everything(preparation, table, Variation::PLAIN);
        let even = vec![1.0 / DRAWS as f64; DRAWS];
        let drawn = if compiled.weighings.is_empty() {
            None
        } else {
            let evidence = compiled.evidence();
            let best = fit(&evidence, Count::Posterior, &FitSettings::default());
            draw(&evidence, &best, DRAWS, 1, Volume::Neglected)
        };
        let (z, weights) = match drawn {
            Some(draws) if draws.tail <= TAIL_LIMIT => (draws.z, draws.weights),
            Some(draws) => (draws.z, even),
            None => (latin_hypercube(DRAWS, compiled.ledger.unknowns.len(), 1), even),
        };
        Self { compiled, z, weights }
    }

    /// The ledger, for the numbers of its lots.
    pub fn compiled(&self) -> &Compiled {
        &self.compiled
    }

    /// What follows from each run.
    fn column(&self, mut follows: impl FnMut(&Compiled, &Workspace<f64>) -> f64) -> Vec<f64> {
        let mut room = Workspace::<f64>::new(&self.compiled.ledger);
        let dimension = self.compiled.ledger.unknowns.len();
        if dimension == 0 {
            self.compiled.ledger.run(&[], &mut room);
            return vec![follows(&self.compiled, &room); self.weights.len()];
        }
        let runs = self.z.chunks(dimension).map(|point| {
            self.compiled.ledger.run(point, &mut room);
            follows(&self.compiled, &room)
        });
        runs.collect()
    }

    /// A mass that follows from a run, kg, told in grams.
    pub fn grams(&self, mut follows: impl FnMut(&Compiled, &Workspace<f64>) -> f64, basis: &str) -> Interval {
        let grams = self.column(|compiled, room| 1e3 * follows(compiled, room));
        interval(&grams, &self.weights, "g", Some(basis))
    }

    /// What a reading would show, g, the scatter of its balance included.
    pub fn figure(&self, place: ReadingPlace) -> Option<Interval> {
        let (_, weighing) = self.compiled.planned.iter().find(|(known, _)| *known == place)?;
        let balance = self.compiled.balances.get(weighing.balance)?;
        let shown = |compiled: &Compiled, room: &Workspace<f64>| weighing.expected(&compiled.ledger, balance, room);
        Some(scattered(self.grams(shown, "as displayed"), 1e3 * balance.deviation()))
    }
}

/// An interval with an independent scatter on top.
fn scattered(told: Interval, deviation: f64) -> Interval {
    let wider = |half: f64, of: f64| (half / of).hypot(deviation) * of;
    let quarter = 0.6745;
    Interval {
        standard_uncertainty: told.standard_uncertainty.hypot(deviation),
        low: told.median - wider(told.median - told.low, NINETY),
        high: told.median + wider(told.high - told.median, NINETY),
        lower_quartile: told.median - wider(told.median - told.lower_quartile, quarter),
        upper_quartile: told.median + wider(told.upper_quartile - told.median, quarter),
        ..told
    }
}

/// How many standard deviations a figure lies off an interval's middle, by the width of the side it is on; negative
/// below.
pub(super) fn off(told: &Interval, figure: f64) -> f64 {
    let side = if figure < told.median { told.median - told.low } else { told.high - told.median };
    (figure - told.median) * NINETY / side.max(f64::MIN_POSITIVE)
}

/// The preparation as it stood before a reading: that one and all behind it in the file are still to be made. What the
/// reading itself weighs out is only aimed at.
pub(super) fn before(preparation: &Preparation, place: ReadingPlace) -> Preparation {
    let mut known = preparation.clone();
    for (i, step) in known.steps.iter_mut().enumerate().skip(place.step) {
        if i > place.step {
            step.determinations.iter_mut().for_each(|made| made.found = None);
        }
        for (j, reading) in step.readings.iter_mut().enumerate() {
            let later = i > place.step || j > place.reading;
            if later || j == place.reading {
                (reading.weigh, reading.series) = (None, None);
            }
            if later {
                reading.corrects = None;
            }
        }
    }
    aimed(known, place)
}

/// The preparation without one reading, all others as they are.
pub(super) fn without(preparation: &Preparation, place: ReadingPlace) -> Preparation {
    let mut known = preparation.clone();
    if let Some(reading) = known.steps.get_mut(place.step).and_then(|s| s.readings.get_mut(place.reading)) {
        (reading.weigh, reading.series) = (None, None);
    }
    aimed(known, place)
}

/// Widens the plan of the charge or portion that a reading weighs out.
fn aimed(mut known: Preparation, place: ReadingPlace) -> Preparation {
    let wide = |mass: Knowledge| {
        let value = mass.central();
        Knowledge::Normal { value, standard_uncertainty: AIM * value }
    };
    let Some(reading) = known.steps.get(place.step).and_then(|s| s.readings.get(place.reading)).cloned() else {
        return known;
    };
    if let (Some(charge), Some(step)) = (&reading.charge, known.steps.get_mut(place.step)) {
        for take in step.take.iter_mut().filter(|take| take.source.value == charge.value) {
            if let TakeAmount::Mass(mass) = take.amount.value {
                take.amount.value = TakeAmount::Mass(wide(mass));
            }
        }
    }
    if let Some(of) = &reading.of {
        for give in known.steps.iter_mut().flat_map(|s| &mut s.gives).filter(|give| give.lot.value == of.value) {
            if let Part::Mass(mass) = give.part.value {
                give.part.value = Part::Mass(wide(mass));
            }
        }
    }
    known
}
