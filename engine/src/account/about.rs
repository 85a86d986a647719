//! A posterior seen from its best fit.
//!
//! Readings are far sharper than priors, so a posterior is a thin, bent sheet. Coordinates v in which it is nearly a unit
//! normal distribution: a straight step z₀ = ẑ + L⁻ᵀ v from the best fit, where L Lᵀ is the curvature there with readings
//! taken for some times as scattered as they are; then bent, until the expected figures follow their linear course:
//!
//! ```text
//! z = z₀ + Aᵀ w      w + ŷ(z) − ŷ(ẑ) − A (z₀ − ẑ) = 0
//! ```
//! with figures ŷ and their slopes A at the best fit in units of their scatter. This is where the sum of squares of the way
//! and of what is left of the stray would be least if slopes stayed as they are: sharp readings follow, others hardly pull.
//! Every point z has one v, w = −(1 + A Aᵀ)⁻¹ (ŷ(z) − ŷ(ẑ) − A (z − ẑ)), so nothing is out of reach.
//!
//! What a unit normal distribution of v does not account for is the likelihood of v: log p(y|z) − ½z² + ½v² − log det L,
//! so that a sampler, or weights, from the unit normal distribution start near the posterior. From the prior a sampler has to
//! climb as far as readings are sharper than priors, and loses its way in a hundred coordinates.
//!
//! The volume that bending gains or loses, det(1 + A Aᵀ) / det(1 + A(z) Aᵀ), is left out of that likelihood, as it takes
//! a differentiated run; [`About::turned`] gives it, and draws are weighted by it in the end.
//!
//! Numerics: w by Broyden's method from (1 + A Aᵀ)⁻¹, its steps kept in place of a matrix, to a fiftieth of a standard
//! deviation; a v for which it is not found in [`MOST_BENDS`] runs has no likelihood.
//!
//! Neglected: other modes, and a second z for the same v. Where a fit has [rivals](super::fit::Fit::rivals), the prior is
//! the place to start from.
//!
//! Source: maps that make a target nearly normal: Meng and Schilling, J. Comput. Graph. Stat. 11 (2002) 552 (warps);
//! Broyden, Math. Comput. 19 (1965) 577; Kelley, Iterative Methods for Linear and Nonlinear Equations, SIAM 1995, 7.3.

use super::fit::Fit;
use super::sampler::Draws;
use super::{Evidence, Posterior, SlopeRoom};
use crate::ledger::Workspace;
use faer::linalg::solvers::{Llt, Solve};
use faer::{Mat, MatRef};
use rayon::prelude::*;

/// Most runs that bending takes.
pub const MOST_BENDS: usize = 12;
/// Standard deviations within which figures follow their course.
const FOLLOWED: f64 = 0.02;

/// A posterior in coordinates about a best fit.
#[derive(Clone, Debug)]
pub struct About<'a> {
    evidence: &'a Evidence<'a>,
    fit: &'a Fit,
    /// L⁻ᵀ, row by row from the diagonal.
    spread: Vec<f64>,
    /// Natural logarithm of det L.
    log_root: f64,
    /// A, one row for each reading.
    slopes: Vec<f64>,
    /// Scatter of each reading.
    scatter: Vec<f64>,
    /// (1 + A Aᵀ)⁻¹, row by row.
    back: Vec<f64>,
    /// Natural logarithm of det(1 + A Aᵀ).
    log_straight: f64,
    /// L⁻¹.
    inverse: Mat<f64>,
}

/// Room for one evaluation.
#[derive(Debug)]
pub struct Room {
    run: Workspace<f64>,
    z: Vec<f64>,
    /// Where the expected figures ought to be, in units of their scatter.
    aim: Vec<f64>,
    w: Vec<f64>,
    /// What is left of the equation for w.
    left: Vec<f64>,
    /// Steps of w, one after another, and the squares of their lengths.
    steps: Vec<f64>,
    squares: Vec<f64>,
}

impl<'a> About<'a> {
    /// The posterior about this fit of it, with readings `looser` times as scattered in the curvature; `None` where the
    /// curvature is not positive.
    #[must_use]
    pub fn new(evidence: &'a Evidence<'a>, fit: &'a Fit, looser: f64) -> Option<Self> {
        let (d, m) = (evidence.dimension(), fit.expected.len());
        let loose = Mat::from_fn(d, d, |i, j| {
            let prior = f64::from(u8::from(i == j));
            prior + (fit.normal[(i, j)] - prior) / (looser * looser)
        });
        let factor = Llt::new(loose.as_ref(), faer::Side::Lower).ok()?;
        let lower = factor.L();
        let log_root = (0..d).map(|i| lower[(i, i)].ln()).sum();
        let mut inverse = Mat::<f64>::identity(d, d);
        faer::linalg::triangular_solve::solve_lower_triangular_in_place(lower, inverse.as_mut(), faer::Par::Seq);
        let spread = (0..d).flat_map(|i| (i..d).map(move |j| (j, i))).map(|at| inverse[at]).collect();
        let rows = fit.slopes.chunks_exact(d.max(1)).enumerate();
        let slopes: Vec<f64> = rows.flat_map(|(r, row)| row.iter().map(move |a| a / evidence.figure(r).1)).collect();
        let both = with_one(
            MatRef::from_row_major_slice(&slopes, m, d) * MatRef::from_row_major_slice(&slopes, m, d).transpose(),
        );
        let factor = Llt::new(both.as_ref(), faer::Side::Lower).ok()?;
        let log_straight = 2.0 * (0..m).map(|r| factor.L()[(r, r)].ln()).sum::<f64>();
        let back = factor.solve(Mat::<f64>::identity(m, m));
        let back = (0..m).flat_map(|i| (0..m).map(move |j| (i, j))).map(|at| back[at]).collect();
        let scatter = (0..m).map(|r| evidence.figure(r).1).collect();
        Some(Self { evidence, fit, spread, log_root, slopes, scatter, back, log_straight, inverse })
    }

    /// Takes the straight step of `v` in `room.z`, and notes where the expected figures ought to be.
    fn step(&self, v: &[f64], room: &mut Room) {
        let d = v.len();
        let mut rest = self.spread.as_slice();
        for (i, slot) in room.z.iter_mut().enumerate() {
            let (row, later) = rest.split_at(d - i);
            *slot = dot(row, &v[i..]);
            rest = later;
        }
        for (r, (aim, row)) in room.aim.iter_mut().zip(self.slopes.chunks_exact(d.max(1))).enumerate() {
            *aim = self.fit.expected[r] / self.scatter[r] + dot(row, &room.z);
        }
        room.z.iter_mut().zip(&self.fit.z).for_each(|(slot, centre)| *slot += centre);
    }

    /// z of v, in `room.z`, with the run there in `room.run`; whether it was found.
    fn place(&self, v: &[f64], room: &mut Room) -> bool {
        let m = room.aim.len();
        self.step(v, room);
        room.w.fill(0.0);
        for count in 0..MOST_BENDS {
            self.evidence.run(&room.z, &mut room.run);
            let mut most = 0.0f64;
            for r in 0..m {
                room.left[r] = room.w[r] + self.evidence.expected(r, &room.run) / self.scatter[r] - room.aim[r];
                most = most.max(room.left[r].abs());
            }
            if most < FOLLOWED {
                return true;
            }
            if !most.is_finite() {
                return false;
            }
            room.bend(&self.back, count);
            let step = &room.steps[count * m..][..m];
            room.w.iter_mut().zip(step).for_each(|(w, step)| *w += step);
            add_rows(&mut room.z, &self.slopes, step);
        }
        false
    }

    /// Natural logarithm of the factor by which bending changes the volume at the v that was looked at last; −∞ beyond a
    /// fold.
    pub(super) fn volume(&self, room: &Room, slopes: &mut VolumeRoom) -> f64 {
        let m = room.aim.len();
        self.evidence.slopes_along(&room.z, &self.slopes, &mut slopes.run, &mut slopes.along);
        let along = |r: usize, k: usize| slopes.along[r * m + k] / self.scatter[r] + f64::from(u8::from(r == k));
        let whole = Mat::from_fn(m, m, along);
        // Rows are scaled to one: the determinant itself may be too large for a double.
        let norms: Vec<f64> = (0..m).map(|r| whole.row(r).norm_l2()).collect();
        let scaled = Mat::from_fn(m, m, |i, j| whole[(i, j)] / norms[i]);
        let log = scaled.determinant().ln() + norms.iter().map(|norm| norm.ln()).sum::<f64>();
        // A determinant of the other sign lies beyond a fold, and has no logarithm.
        if log.is_nan() { f64::NEG_INFINITY } else { self.log_straight - log }
    }

    /// Turns draws of v into draws of z, and gives the natural logarithms of their volumes.
    #[must_use]
    pub fn turned(&self, draws: &mut Draws) -> Vec<f64> {
        let d = draws.dimension.max(1);
        let room = || (self.room(), self.volume_room());
        let turn = |(room, slopes): &mut (Room, VolumeRoom), v: &mut [f64]| {
            let found = self.place(v, room);
            v.copy_from_slice(&room.z);
            if found { self.volume(room, slopes) } else { f64::NEG_INFINITY }
        };
        draws.z.par_chunks_exact_mut(d).map_init(room, turn).collect()
    }

    /// Room for volumes.
    pub(super) fn volume_room(&self) -> VolumeRoom {
        let m = self.evidence.count();
        VolumeRoom { run: SlopeRoom::new(self.evidence.ledger), along: vec![0.0; m * m] }
    }
}

impl Posterior for About<'_> {
    type Room = Room;

    fn dimension(&self) -> usize {
        self.fit.z.len()
    }

    fn room(&self) -> Room {
        let nothing = vec![0.0; self.fit.expected.len()];
        Room {
            run: self.evidence.room(),
            z: vec![0.0; self.fit.z.len()],
            aim: nothing.clone(),
            w: nothing.clone(),
            left: nothing.clone(),
            steps: nothing.repeat(MOST_BENDS),
            squares: vec![0.0; MOST_BENDS],
        }
    }

    fn curvature(&self) -> Option<Mat<f64>> {
        // L⁻¹ N L⁻ᵀ − 1 with the curvature N of the posterior.
        let mut sharper = &self.inverse * &self.fit.normal * self.inverse.transpose();
        for i in 0..sharper.nrows() {
            sharper[(i, i)] -= 1.0;
        }
        Some(sharper)
    }

    fn log_likelihood(&self, v: &[f64], room: &mut Room) -> f64 {
        if !self.place(v, room) {
            return f64::NEG_INFINITY;
        }
        self.evidence.log_likelihood_of_run(&room.run) + 0.5 * (dot(v, v) - dot(&room.z, &room.z)) - self.log_root
    }
}

impl Room {
    /// z of the v that was looked at last.
    pub(super) fn place(&self) -> &[f64] {
        &self.z
    }

    /// The next step of w, as Broyden's method has it, from the inverse slope at the start and the steps so far.
    fn bend(&mut self, back: &[f64], count: usize) {
        let m = self.w.len();
        let (before, rest) = self.steps.split_at_mut(count * m);
        let step = &mut rest[..m];
        for (slot, row) in step.iter_mut().zip(back.chunks_exact(m.max(1))) {
            *slot = -dot(row, &self.left);
        }
        let mut steps = before.chunks_exact(m.max(1)).zip(&self.squares).peekable();
        while let Some((last, square)) = steps.next() {
            let along = dot(last, step) / square;
            match steps.peek() {
                Some((next, _)) => step.iter_mut().zip(*next).for_each(|(slot, next)| *slot += along * next),
                None => step.iter_mut().for_each(|slot| *slot /= 1.0 - along),
            }
        }
        self.squares[count] = dot(step, step);
    }
}

/// Room for slopes of the figures along those at the best fit, A(z) Aᵀ.
pub(super) struct VolumeRoom {
    run: SlopeRoom,
    along: Vec<f64>,
}

/// A square matrix and one.
pub(super) fn with_one(mut square: Mat<f64>) -> Mat<f64> {
    for r in 0..square.nrows() {
        square[(r, r)] += 1.0;
    }
    square
}

/// Adds rows, each times its factor; four at a time, so that sums are fetched and put back once for four.
fn add_rows(sums: &mut [f64], rows: &[f64], factors: &[f64]) {
    let d = sums.len().max(1);
    let (mut rows, mut factors) = (rows.chunks_exact(4 * d), factors.chunks_exact(4));
    for (four, factors) in rows.by_ref().zip(factors.by_ref()) {
        let (a, rest) = four.split_at(d);
        let (b, rest) = rest.split_at(d);
        let (c, e) = rest.split_at(d);
        for ((((sum, a), b), c), e) in sums.iter_mut().zip(a).zip(b).zip(c).zip(e) {
            *sum += (factors[0] * a + factors[1] * b) + (factors[2] * c + factors[3] * e);
        }
    }
    for (row, factor) in rows.remainder().chunks_exact(d).zip(factors.remainder()) {
        sums.iter_mut().zip(row).for_each(|(sum, a)| *sum += factor * a);
    }
}

/// Product of rows, in four sums at a time so that they go side by side.
fn dot(a: &[f64], b: &[f64]) -> f64 {
    let (left, right) = (a.chunks_exact(4), b.chunks_exact(4));
    let rest: f64 = left.remainder().iter().zip(right.remainder()).map(|(a, b)| a * b).sum();
    let mut sums = [0.0f64; 4];
    for (a, b) in left.zip(right) {
        for (sum, (a, b)) in sums.iter_mut().zip(a.iter().zip(b)) {
            *sum += a * b;
        }
    }
    sums.iter().sum::<f64>() + rest
}
