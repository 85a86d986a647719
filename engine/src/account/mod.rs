//! What do the readings say about the unknowns?
//!
//! The posterior over the unit-normal coordinates of a [`Ledger`] given weighings and tests of portions. Three instruments on the
//! same model: [`fit`] finds the best fit and its curvature (the live view, corrected by [`importance`]),
//! [`sampler`] draws from the posterior and measures the evidence (the printed account), and [`linear`] is
//! the closed form for models that are linear and Gaussian. [`gravimetric`] is the bench calculation from
//! difference weighings alone, kept beside the account for comparison.

pub mod about;
pub mod budget;
pub mod determination;
pub mod fit;
pub mod gravimetric;
pub mod hypercube;
pub mod importance;
pub mod information;
pub mod learn;
pub mod linear;
pub mod path;
pub mod pool;
pub mod reading;
pub mod sampler;
pub mod summary;

use crate::ledger::{Ledger, Workspace};
use crate::scalar::{Dual, Scalar};
use determination::Determination;
use faer::Mat;
use reading::{Balance, Weighing};

/// A posterior over coordinates whose prior is the unit normal.
pub trait Posterior: Sync {
    /// Room for one evaluation.
    type Room: Send;
    /// Number of coordinates.
    fn dimension(&self) -> usize;
    /// Room for evaluations.
    fn room(&self) -> Self::Room;
    /// Natural logarithm of the likelihood at `z`.
    fn log_likelihood(&self, z: &[f64], room: &mut Self::Room) -> f64;
    /// Curvature of the negative logarithm of the likelihood about the origin, where it is known.
    fn curvature(&self) -> Option<Mat<f64>> {
        None
    }
}

/// A ledger with the readings that were taken: weighings first, then determinations, numbered through.
#[derive(Clone, Copy, Debug)]
pub struct Evidence<'a> {
    /// The forward model.
    pub ledger: &'a Ledger,
    /// Balances.
    pub balances: &'a [Balance],
    /// Weighings.
    pub weighings: &'a [Weighing],
    /// Tests of portions.
    pub determinations: &'a [Determination],
    /// Number of operations after which every lot that a reading is about is finished.
    needed: usize,
}

impl<'a> Evidence<'a> {
    /// The evidence of `weighings` made with `balances` for `ledger`.
    #[must_use]
    pub fn new(ledger: &'a Ledger, balances: &'a [Balance], weighings: &'a [Weighing]) -> Self {
        let finished = |w: &Weighing| w.lot.and_then(|lot| ledger.finished.get(lot)).copied();
        let needed = weighings.iter().filter_map(finished).max().unwrap_or(0);
        Self { ledger, balances, weighings, determinations: &[], needed }
    }

    /// The same with tests of portions.
    #[must_use]
    pub fn and(mut self, determinations: &'a [Determination]) -> Self {
        let finished = determinations.iter().filter_map(|d| self.ledger.finished.get(d.lot)).copied();
        self.needed = finished.max().unwrap_or(0).max(self.needed);
        self.determinations = determinations;
        self
    }

    /// Number of readings.
    #[must_use]
    pub fn count(&self) -> usize {
        self.weighings.len() + self.determinations.len()
    }

    /// The figure of a reading and its standard deviation.
    #[must_use]
    pub fn figure(&self, reading: usize) -> (f64, f64) {
        match self.weighings.get(reading) {
            Some(w) => (w.display, self.balances.get(w.balance).map_or(f64::NAN, Balance::deviation)),
            None => self.determination(reading).map_or((f64::NAN, f64::NAN), Determination::figure),
        }
    }

    fn determination(&self, reading: usize) -> Option<&'a Determination> {
        self.determinations.get(reading.checked_sub(self.weighings.len())?)
    }

    /// What a reading would show without scatter and rounding, after a run.
    #[must_use]
    pub fn expected<S: Scalar>(&self, reading: usize, room: &Workspace<S>) -> S {
        let nothing = S::constant(f64::NAN);
        match self.weighings.get(reading) {
            Some(w) => self.balances.get(w.balance).map_or(nothing, |balance| w.expected(self.ledger, balance, room)),
            None => self.determination(reading).map_or(nothing, |d| d.expected(room)),
        }
    }

    /// Runs the ledger as far as the readings need.
    fn run<S: Scalar>(&self, z: &[S], room: &mut Workspace<S>) {
        self.ledger.run_part(z, room, self.needed);
    }
}

impl Posterior for Evidence<'_> {
    type Room = Workspace<f64>;

    fn dimension(&self) -> usize {
        self.ledger.unknowns.len()
    }

    fn room(&self) -> Workspace<f64> {
        Workspace::new(self.ledger)
    }

    fn log_likelihood(&self, z: &[f64], room: &mut Workspace<f64>) -> f64 {
        self.run(z, room);
        self.log_likelihood_of_run(room)
    }
}

impl Evidence<'_> {
    /// Natural logarithm of the likelihood of a run already made.
    #[must_use]
    pub fn log_likelihood_of_run(&self, room: &Workspace<f64>) -> f64 {
        let mut sum = 0.0;
        for weighing in self.weighings {
            if let Some(balance) = self.balances.get(weighing.balance) {
                let expected = weighing.expected(self.ledger, balance, room);
                sum += balance.log_likelihood(weighing.display, expected);
            }
        }
        for determination in self.determinations {
            sum += determination.log_likelihood(determination.expected(room));
        }
        if sum.is_nan() { f64::NEG_INFINITY } else { sum }
    }

    /// Expected figures at `z` and their derivatives by each coordinate, row by row.
    ///
    /// `CHUNK` derivatives are carried through one run, which begins where the first of their coordinates bears on anything:
    /// up to there a run without derivatives goes ahead.
    pub fn expected_with_slopes(&self, z: &[f64], room: &mut SlopeRoom, expected: &mut [f64], slopes: &mut [f64]) {
        let dimension = z.len();
        self.ledger.start(z, &mut room.plain);
        room.z.iter_mut().zip(z).for_each(|(slot, value)| *slot = Dual::constant(*value));
        let mut done = 0;
        for &(start, first) in &room.chunks {
            let first = first.min(self.needed);
            self.ledger.go_on(done..first, &mut room.plain);
            done = first;
            let width = CHUNK.min(dimension.saturating_sub(start));
            for (direction, slot) in room.z[start..start + width].iter_mut().enumerate() {
                *slot = Dual::variable(slot.value, direction);
            }
            self.ledger.start_from(&room.z, &room.plain, &mut room.run);
            self.ledger.go_on(first..self.needed, &mut room.run);
            for r in 0..self.count() {
                let figure = self.expected(r, &room.run);
                expected[r] = figure.value;
                slopes[r * dimension + start..r * dimension + start + width].copy_from_slice(&figure.gradient[..width]);
            }
            room.z[start..start + width].iter_mut().for_each(|slot| *slot = Dual::constant(slot.value));
        }
    }
}

impl Evidence<'_> {
    /// Derivatives of the expected figures at `z` along directions in the space of coordinates: one row for each reading.
    /// `directions` stand one after another.
    pub fn slopes_along(&self, z: &[f64], directions: &[f64], room: &mut SlopeRoom, slopes: &mut [f64]) {
        let dimension = z.len().max(1);
        let count = directions.len() / dimension;
        for (start, some) in directions.chunks(CHUNK * dimension).enumerate() {
            room.z.iter_mut().zip(z).for_each(|(slot, value)| *slot = Dual::constant(*value));
            for (number, direction) in some.chunks_exact(dimension).enumerate() {
                room.z.iter_mut().zip(direction).for_each(|(slot, part)| slot.gradient[number] = *part);
            }
            self.run(&room.z, &mut room.run);
            let (first, width) = (start * CHUNK, some.len() / dimension);
            for r in 0..self.count() {
                let figure = self.expected(r, &room.run);
                slopes[r * count + first..][..width].copy_from_slice(&figure.gradient[..width]);
            }
        }
    }
}

/// Directions carried through one differentiated run.
pub const CHUNK: usize = 24;

/// Room for differentiated runs.
#[derive(Clone, Debug)]
pub struct SlopeRoom {
    z: Vec<Dual<CHUNK>>,
    run: Workspace<Dual<CHUNK>>,
    plain: Workspace<f64>,
    /// First coordinate of each chunk and the first operation that one of its coordinates bears on, in the order of these.
    chunks: Vec<(usize, usize)>,
}

impl SlopeRoom {
    /// Room for this ledger.
    #[must_use]
    pub fn new(ledger: &Ledger) -> Self {
        let first = ledger.first_uses();
        let of = |(number, uses): (usize, &[usize])| (number * CHUNK, uses.iter().copied().min().unwrap_or(0));
        let mut chunks: Vec<(usize, usize)> = first.chunks(CHUNK).enumerate().map(of).collect();
        if chunks.is_empty() {
            chunks.push((0, 0));
        }
        chunks.sort_unstable_by_key(|(_, first)| *first);
        Self {
            z: vec![Dual::constant(0.0); first.len()],
            run: Workspace::new(ledger),
            plain: Workspace::new(ledger),
            chunks,
        }
    }
}
