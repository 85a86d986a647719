//! Which values of the unknowns fit best, and how sharply?
//!
//! Damped Gauss–Newton (Levenberg–Marquardt) on
//!
//! ```text
//! Q(z) = Σ ((yᵢ − ŷᵢ(z)) / σᵢ)² + Σ pⱼ zⱼ²
//! ```
//! with the unit-normal prior as regularisation, so the normal matrix is never singular. pⱼ is 1, or nearly 0 for
//! flat unknowns when only strain is to be counted. Damping is added to the whole diagonal alike: the coordinates are of
//! one scale; how far it is let down follows from how well a step was foreseen. Coordinates have bounds and a longest step.
//! Start: coordinates that are known, or the prior median, and up to three points at which another reagent would limit.
//! Stop: an undamped step that lets Q fall by less than 1e-5 of itself, or promises still less, or a step below 1e-9.
//! Where slopes are known from a fit before ([`fit_again`]), steps by these come first: a slope costs a hundred plain runs.
//! [`Status::Almost`]: the steps or the damping ran out first, or several steps together gained next to nothing;
//! [`Status::Failed`]: Q is not finite.
//!
//! Source: Levenberg (1944), Marquardt (1963); damping raised ever faster after Nielsen, IMM-REP-1999-05 (1999, from memory);
//! Laplace's approximation of an integral about its mode.

use super::about::with_one;
use super::{Evidence, Posterior, SlopeRoom};
use crate::least_squares::damped_step;
use crate::ledger::Workspace;
use faer::linalg::solvers::{Llt, Solve};
use faer::{Mat, MatRef};

/// Coordinates are held within this: beyond, a probability of 3e-7 is as good as a bound, and flat images have no
/// slope left to come back by.
const FARTHEST: f64 = 5.0;
/// Values of a flat unknown at which another limiting reagent is looked for.
const KINK_STARTS: [f64; 4] = [-3.0, -1.6, 1.6, 3.0];
/// Most steps over which Q must fall by more than as many small falls.
const MOST_PATIENCE: usize = 8;
/// Factor by which damping is raised where a step does not help; doubled each time in a row, because the sharpest readings
/// make curvatures of 1e8.
const RAISE: f64 = 2.0;
/// Smallest factor by which it is let down.
const LET_DOWN: f64 = 0.1;
/// Damping at which a descent gives up.
const MOST_DAMPING: f64 = 1e16;
/// Farthest that a coordinate goes in one step: the images bend on that scale. Times that a step is solved for again.
const LONGEST: f64 = 2.0;
const ROUNDS: usize = 8;
/// Excess of Q within which another minimum counts: its weight is then more than about one in ten thousand.
const RIVAL: f64 = 18.0;
/// Square of the distance, in standard deviations, from which a minimum is another one.
const APART: f64 = 25.0;
/// A step that promises less than this part of a small fall is not taken.
const PROMISE: f64 = 0.1;
/// Most steps by slopes that were worked out elsewhere.
const MOST_LED: usize = 12;
/// Most further descents.
const MOST_KINKS: usize = 3;

/// How a solver ended.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Status {
    /// All stopping rules met.
    Solved,
    /// The last steps no longer helped, but the rules are not met.
    Almost,
    /// No usable point was found.
    Failed,
}

/// What a fit counts.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Count {
    /// The posterior density in unit-normal coordinates.
    Posterior,
    /// The strain of readings and of unknowns that prefer a value; flat unknowns are free.
    Strain,
}

/// Settings of the fit.
#[derive(Clone, Copy, Debug)]
pub struct FitSettings {
    /// Most steps.
    pub steps: usize,
    /// Stop when Q falls by less than this fraction.
    pub fall: f64,
    /// Weight of flat unknowns when strain is counted.
    pub slack: f64,
    /// Steps, up to eight, over which Q must fall by more than as many small falls.
    pub patience: usize,
}

impl Default for FitSettings {
    fn default() -> Self {
        Self { steps: 60, fall: 1e-5, slack: 1e-4, patience: MOST_PATIENCE }
    }
}

/// A best fit.
#[derive(Clone, Debug)]
pub struct Fit {
    /// Coordinates.
    pub z: Vec<f64>,
    /// Q at the best fit, without the slack terms.
    pub chi_squared: f64,
    /// Normalised residuals (y − ŷ)/σ.
    pub residuals: Vec<f64>,
    /// Expected figures at the best fit.
    pub expected: Vec<f64>,
    /// Their derivatives by each coordinate, row by row.
    pub slopes: Vec<f64>,
    /// Half the second derivative of Q.
    pub normal: Mat<f64>,
    /// How it ended.
    pub status: Status,
    /// Whether another descent ended elsewhere and hardly worse: a second mode.
    pub rivals: bool,
}

impl Fit {
    /// Laplace's approximation of the natural logarithm of the evidence, from a fit of the posterior.
    ///
    /// The likelihood is that of the displayed figures at the best fit.
    #[must_use]
    pub fn log_evidence(&self, evidence: &Evidence<'_>) -> f64 {
        let Ok(factor) = Llt::new(self.normal.as_ref(), faer::Side::Lower) else { return f64::NEG_INFINITY };
        let lower = factor.L();
        let log_root: f64 = (0..self.z.len()).map(|i| lower[(i, i)].ln()).sum();
        let mut room = evidence.room();
        let prior: f64 = self.z.iter().map(|z| z * z).sum();
        evidence.log_likelihood(&self.z, &mut room) - 0.5 * prior - log_root
    }
}

/// Finds the best fit.
#[must_use]
pub fn fit(evidence: &Evidence<'_>, count: Count, settings: &FitSettings) -> Fit {
    let mut fitter = Fitter::new(evidence, count, settings);
    let median = fitter.descend(vec![0.0; evidence.dimension()]);
    let others = fitter.beyond_kinks(&median.z);
    fitter.best(median, others)
}

/// Finds the best fit where coordinates near it are known: descends from there.
#[must_use]
pub fn fit_near(evidence: &Evidence<'_>, count: Count, settings: &FitSettings, known: &[f64]) -> Fit {
    let mut fitter = Fitter::new(evidence, count, settings);
    let near = fitter.descend(known.to_vec());
    let others = fitter.beyond_kinks(&near.z);
    fitter.best(near, others)
}

/// The best fit near coordinates at which it was found before: descends from there and looks nowhere else.
#[must_use]
pub fn fit_from(evidence: &Evidence<'_>, count: Count, settings: &FitSettings, known: &[f64]) -> Fit {
    let mut fitter = Fitter::new(evidence, count, settings);
    let near = fitter.descend(known.to_vec());
    fitter.best(near, Vec::new())
}

/// The same where also the slopes are known that expected figures had there: while they lead downhill they serve, and are
/// worked out anew only where they have led.
#[must_use]
pub fn fit_again(
    evidence: &Evidence<'_>,
    count: Count,
    settings: &FitSettings,
    (known, slopes): (&[f64], &[f64]),
) -> Fit {
    let mut fitter = Fitter::new(evidence, count, settings);
    let there = fitter.led_by(slopes, known);
    let near = fitter.descend(there);
    fitter.best(near, Vec::new())
}

struct Fitter<'a> {
    evidence: &'a Evidence<'a>,
    count: Count,
    settings: &'a FitSettings,
    weight: Vec<f64>,
    room: SlopeRoom,
    plain: Workspace<f64>,
    expected: Vec<f64>,
    slopes: Vec<f64>,
    /// Slopes in units of the scatter of each reading.
    scaled: Vec<f64>,
    /// Where residuals were linearised last; nowhere yet if empty.
    linearised: Vec<f64>,
}

impl<'a> Fitter<'a> {
    fn new(evidence: &'a Evidence<'a>, count: Count, settings: &'a FitSettings) -> Self {
        let (d, m) = (evidence.dimension(), evidence.count());
        let weight = evidence
            .ledger
            .unknowns
            .iter()
            .map(|u| if count == Count::Strain && u.is_free() { settings.slack } else { 1.0 })
            .collect();
        Self {
            evidence,
            count,
            settings,
            weight,
            room: SlopeRoom::new(evidence.ledger),
            plain: Workspace::new(evidence.ledger),
            expected: vec![0.0; m],
            slopes: vec![0.0; m * d],
            scaled: vec![0.0; m * d],
            linearised: Vec::with_capacity(d),
        }
    }

    /// Q at `z`.
    fn objective(&mut self, z: &[f64]) -> f64 {
        let prior: f64 = z.iter().zip(&self.weight).map(|(z, p)| p * z * z).sum();
        self.evidence.run(z, &mut self.plain);
        let misfit: f64 = (0..self.evidence.count())
            .map(|r| {
                let (figure, sigma) = self.evidence.figure(r);
                ((figure - self.evidence.expected(r, &self.plain)) / sigma).powi(2)
            })
            .sum();
        let q = prior + misfit;
        if q.is_nan() { f64::INFINITY } else { q }
    }

    /// Half the second derivative of Q as Gauss and Newton have it, P + AᵀA, and the residuals, at `z`.
    fn normal(&mut self, z: &[f64]) -> (Mat<f64>, Vec<f64>) {
        let d = z.len();
        if self.linearised != z {
            let _ = self.linearise(z);
        }
        let slopes = MatRef::from_row_major_slice(&self.scaled, self.expected.len(), d);
        let mut matrix = slopes.transpose() * slopes;
        for (i, p) in self.weight.iter().enumerate() {
            matrix[(i, i)] += *p;
        }
        let residual = |(r, expected): (usize, &f64)| {
            let (figure, sigma) = self.evidence.figure(r);
            (figure - expected) / sigma
        };
        (matrix, self.expected.iter().enumerate().map(residual).collect())
    }

    /// The best of a descent and of others from these starts.
    fn best(mut self, mut best: Descent, starts: Vec<Vec<f64>>) -> Fit {
        let mut others = Vec::new();
        for start in starts {
            let mut other = self.descend(start);
            if other.q < best.q {
                std::mem::swap(&mut other, &mut best);
            }
            others.push(other);
        }
        let status = if best.q.is_finite() { best.status } else { Status::Failed };
        let (normal, residuals) = self.normal(&best.z);
        let rivals =
            others.iter().filter(|other| other.q < best.q + RIVAL).any(|other| apart(&other.z, &best.z, &normal));
        let strain: f64 = residuals.iter().map(|r| r * r).sum::<f64>()
            + best
                .z
                .iter()
                .zip(&self.evidence.ledger.unknowns)
                .filter(|(_, u)| self.count == Count::Posterior || !u.is_free())
                .map(|(z, _)| z * z)
                .sum::<f64>();
        Fit {
            z: best.z,
            chi_squared: strain,
            residuals,
            expected: self.expected,
            slopes: self.slopes,
            normal,
            status,
            rivals,
        }
    }

    /// For each other set of limiting reagents that one flat unknown leads to: the best point found there. At such a
    /// kink the slopes of one side say nothing of the other.
    fn beyond_kinks(&mut self, z: &[f64]) -> Vec<Vec<f64>> {
        self.objective(z);
        let here = self.plain.limiting.clone();
        let mut found: Vec<(Vec<usize>, f64, Vec<f64>)> = Vec::new();
        let flat: Vec<usize> = (0..z.len()).filter(|i| self.evidence.ledger.unknowns[*i].is_flat()).collect();
        for (i, value) in flat.iter().flat_map(|i| KINK_STARTS.map(|value| (*i, value))) {
            let mut point = z.to_vec();
            point[i] = value;
            let q = self.objective(&point);
            if self.plain.limiting == here {
                continue;
            }
            let known = found.iter_mut().find(|(limiting, _, _)| *limiting == self.plain.limiting);
            match known {
                Some(known) if q < known.1 => (known.1, known.2) = (q, point),
                Some(_) => {}
                None => found.push((self.plain.limiting.clone(), q, point)),
            }
        }
        found.sort_by(|a, b| a.1.total_cmp(&b.1));
        found.into_iter().take(MOST_KINKS).map(|(_, _, point)| point).collect()
    }

    /// Where slopes lead that were worked out elsewhere: steps as long as each lets Q fall. Slopes of another number of
    /// figures or coordinates lead nowhere.
    fn led_by(&mut self, slopes: &[f64], from: &[f64]) -> Vec<f64> {
        let mut z = from.to_vec();
        if slopes.len() != self.scaled.len() || z.len() != self.weight.len() {
            return z;
        }
        self.scale(Some(slopes));
        // What stands at a bound stays there; flat unknowns go no farther than others.
        let free = |(z, p): (&f64, &f64)| if z.abs() < FARTHEST { 1.0 / p.max(1.0) } else { 0.0 };
        let inverse: Vec<f64> = z.iter().zip(&self.weight).map(free).collect();
        let (d, m) = (z.len(), self.expected.len());
        let scaled = Mat::from_fn(d, m, |i, r| self.scaled[r * d + i] * inverse[i]);
        let small = with_one(MatRef::from_row_major_slice(&self.scaled, m, d) * &scaled);
        let Ok(factor) = Llt::new(small.as_ref(), faer::Side::Lower) else { return z };
        let mut q = self.objective(&z);
        for _ in 0..MOST_LED {
            for (r, expected) in self.expected.iter_mut().enumerate() {
                *expected = self.evidence.expected(r, &self.plain);
            }
            let mut wanted = self.pull(&z);
            let right = scaled.transpose() * MatRef::from_column_major_slice(&wanted, d, 1);
            let weights = factor.solve(right);
            for (row, weight) in self.scaled.chunks_exact(d.max(1)).zip(weights.col(0).iter()) {
                wanted.iter_mut().zip(row).for_each(|(g, a)| *g -= a * weight);
            }
            let gone = z.iter().zip(&wanted).zip(&inverse).map(|((z, g), v)| (z - v * g).clamp(-FARTHEST, FARTHEST));
            let trial: Vec<f64> = gone.collect();
            let tried = self.objective(&trial);
            let fall = q - tried;
            if fall.is_nan() || fall <= 0.0 {
                break;
            }
            (z, q) = (trial, tried);
            if fall <= PROMISE * self.settings.fall * (1.0 + q.min(10.0)) {
                break;
            }
        }
        z
    }

    fn descend(&mut self, mut z: Vec<f64>) -> Descent {
        let mut q = self.objective(&z);
        let mut pull = self.linearise(&z);
        let mut damping = 0.0f64;
        let mut raise = RAISE;
        let mut status = Status::Almost;
        let mut trial = z.clone();
        let mut earlier = [f64::INFINITY; MOST_PATIENCE];
        let patience = self.settings.patience.clamp(1, MOST_PATIENCE);
        for count in 0..self.settings.steps {
            // Along a kink a descent zigzags and gains ever less.
            let before = std::mem::replace(&mut earlier[count % patience], q);
            let small = self.settings.fall * (1.0 + q.min(10.0));
            if before - q <= small * patience as f64 {
                break;
            }
            let Some(step) = self.step_within(&z, &pull, damping) else {
                damping = (damping * 10.0).max(1e-3);
                continue;
            };
            let promised = self.foreseen(&pull, &step);
            if self.count == Count::Posterior && damping <= 1.0 && (0.0..small * PROMISE).contains(&promised) {
                status = Status::Solved;
                break;
            }
            for (t, (z, s)) in trial.iter_mut().zip(z.iter().zip(&step)) {
                *t = (z - s).clamp(-FARTHEST, FARTHEST);
            }
            let tried = self.objective(&trial);
            let longest = step.iter().fold(0.0f64, |a, s| a.max(s.abs()));
            if tried <= q {
                let fall = q - tried;
                let ratio = fall / promised.max(f64::MIN_POSITIVE);
                q = tried;
                z.copy_from_slice(&trial);
                pull = self.linearise(&z);
                // A damped step falls little because it is short, not because the bottom is near.
                if (damping == 0.0 && fall <= small) || longest < 1e-9 {
                    status = Status::Solved;
                    break;
                }
                // The better a step was foreseen, the farther the damping is let down.
                let factor = (1.0 - (2.0 * ratio - 1.0).powi(3)).clamp(LET_DOWN, 2.0);
                damping = if damping < 1e-2 { 0.0 } else { damping * factor };
                raise = RAISE;
            } else {
                if longest < 1e-9 {
                    status = Status::Solved;
                    break;
                }
                damping = (damping * raise).max(0.05);
                raise *= 2.0;
                if damping > MOST_DAMPING {
                    break;
                }
            }
        }
        Descent { z, q, status }
    }

    /// Residuals and their slopes A at `z`, in units of the scatter; gives half the gradient of Q, P z − Aᵀ r.
    fn linearise(&mut self, z: &[f64]) -> Vec<f64> {
        self.evidence.expected_with_slopes(z, &mut self.room, &mut self.expected, &mut self.slopes);
        self.linearised.clear();
        self.linearised.extend_from_slice(z);
        self.scale(None);
        self.pull(z)
    }

    /// Half the gradient of Q at `z`, with the figures expected there, by the slopes at hand.
    fn pull(&self, z: &[f64]) -> Vec<f64> {
        let mut pull: Vec<f64> = z.iter().zip(&self.weight).map(|(z, p)| p * z).collect();
        for (r, (row, expected)) in self.scaled.chunks_exact(z.len().max(1)).zip(&self.expected).enumerate() {
            let (figure, sigma) = self.evidence.figure(r);
            let residual = (figure - expected) / sigma;
            pull.iter_mut().zip(row).for_each(|(pull, slope)| *pull -= slope * residual);
        }
        pull
    }

    /// Takes the slopes, or others, in units of the scatter of each reading.
    fn scale(&mut self, others: Option<&[f64]>) {
        let d = self.weight.len().max(1);
        let slopes = others.unwrap_or(&self.slopes);
        for (r, (scaled, slopes)) in self.scaled.chunks_exact_mut(d).zip(slopes.chunks_exact(d)).enumerate() {
            let (_, sigma) = self.evidence.figure(r);
            scaled.iter_mut().zip(slopes).for_each(|(scaled, slope)| *scaled = slope / sigma);
        }
    }

    /// A s for the coordinates that `of` names.
    fn along(&self, step: &[f64], of: impl Fn(usize) -> bool) -> Vec<f64> {
        let sum = |row: &[f64]| row.iter().zip(step).enumerate().filter(|(i, _)| of(*i)).map(|(_, (a, s))| a * s).sum();
        self.scaled.chunks_exact(step.len().max(1)).map(sum).collect()
    }

    /// Fall of Q that the linear residuals promise when a step is taken off.
    fn foreseen(&self, pull: &[f64], step: &[f64]) -> f64 {
        let changed: f64 = self.along(step, |_| true).iter().map(|x| x * x).sum();
        let own: f64 = step.iter().zip(pull).zip(&self.weight).map(|((s, g), p)| s * (2.0 * g - p * s)).sum();
        own - changed
    }

    /// A damped step that keeps every coordinate within its bounds and moves none by more than [`LONGEST`]: what would go
    /// farther is set to go just so far, and the others are solved for again as they are best with that. Clipped without
    /// solving again, the others would go as if it had gone along, and descents end on the walls.
    ///
    /// As a rule there are fewer readings than unknowns, so (D + AᵀA) s = g is solved by way of I + A D⁻¹ Aᵀ.
    fn step_within(&self, z: &[f64], pull: &[f64], damping: f64) -> Option<Vec<f64>> {
        let (d, m) = (z.len(), self.expected.len());
        let mut step = vec![0.0; d];
        let mut fixed = vec![false; d];
        let mut inverse: Vec<f64> = self.weight.iter().map(|p| 1.0 / (p + damping)).collect();
        for _ in 0..ROUNDS {
            // What is fixed moves the residuals by this.
            let moved = self.along(&step, |i| fixed[i]);
            let row = |r: usize| &self.scaled[r * d..(r + 1) * d];
            let mut wanted = pull.to_vec();
            for (r, moved) in moved.iter().enumerate().filter(|(_, moved)| **moved != 0.0) {
                wanted.iter_mut().zip(row(r)).for_each(|(g, a)| *g -= a * moved);
            }
            let slopes = MatRef::from_row_major_slice(&self.scaled, m, d);
            let scaled = Mat::from_fn(d, m, |i, r| self.scaled[r * d + i] * inverse[i]);
            let small = with_one(slopes * &scaled);
            let right = scaled.transpose() * MatRef::from_column_major_slice(&wanted, d, 1);
            let weights = damped_step(&small, &right, |_| 0.0)?;
            for (r, weight) in weights.iter().enumerate() {
                wanted.iter_mut().zip(row(r)).for_each(|(g, a)| *g -= a * weight);
            }
            let mut more = false;
            for i in 0..d {
                if fixed[i] {
                    continue;
                }
                let free = inverse[i] * wanted[i];
                step[i] = free.clamp((z[i] - FARTHEST).max(-LONGEST), (z[i] + FARTHEST).min(LONGEST));
                if step[i] != free {
                    (fixed[i], more) = (true, true);
                }
            }
            if !more {
                break;
            }
            for (v, _) in inverse.iter_mut().zip(&fixed).filter(|(_, fixed)| **fixed) {
                *v = 0.0;
            }
        }
        step.iter().all(|s| s.is_finite()).then_some(step)
    }
}

/// Where a descent ended.
struct Descent {
    z: Vec<f64>,
    q: f64,
    status: Status,
}

/// Whether `there` is another minimum than `here`, where this is the curvature.
fn apart(there: &[f64], here: &[f64], normal: &Mat<f64>) -> bool {
    let step: Vec<f64> = there.iter().zip(here).map(|(a, b)| a - b).collect();
    let mut square = 0.0;
    for (i, a) in step.iter().enumerate() {
        square += a * step.iter().enumerate().map(|(j, b)| normal[(i, j)] * b).sum::<f64>();
    }
    square > APART
}
