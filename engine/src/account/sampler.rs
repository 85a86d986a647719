//! Which values of the unknowns are plausible, and how well does the whole model predict the readings?
//!
//! Sequential Monte Carlo from the prior to the posterior. The likelihood enters with a power t that rises
//! from 0 to 1, each step chosen so that half the effective sample size is left; then particles are resampled
//! (systematic) and moved. A move proposes, in coordinates whitened by the particles' covariance, either an
//! autoregressive step that keeps the particles' own normal distribution (near-independent where the target
//! is nearly normal) or a random walk (safe where it is not: the kink at a limiting reagent, a bound, two
//! modes). Evidence is the product of the mean incremental weights.
//!
//! A covariance of few particles in many coordinates is no covariance: where the curvature of the likelihood is known, it is
//! held to what that foresees.
//!
//! Every particle draws from a generator seeded by (seed, stage, particle): the result does not depend on
//! the number of cores.
//!
//! Neglected: modes that no particle of the prior comes near are not found; their weight under the prior is
//! then below about 1/particles.
//!
//! Source: Del Moral, Doucet, Jasra, J. R. Stat. Soc. B 68 (2006) 411; Neal, Stat. Comput. 11 (2001) 125.

use super::Posterior;
use super::importance::normalise;
use faer::Mat;
use faer::linalg::solvers::{Llt, Solve};
use rand::{RngExt, SeedableRng};
use rand_distr::{Distribution, StandardNormal};
use rand_xoshiro::Xoshiro256PlusPlus;
use rayon::prelude::*;

/// Particles for each coordinate that a foreseen covariance counts for.
const FORESEEN_WORTH: f64 = 10.0;

/// Settings of the sampler.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct SamplerSettings {
    /// Number of particles.
    pub particles: usize,
    /// Moves after each tempering step.
    pub moves: usize,
    /// Rounds of moves after the last one, each with the covariance of the particles as they then stand: what
    /// resampling narrowed has to spread again.
    pub last_rounds: usize,
    /// No further round of these once each particle has been moved so often, on average, to the last power.
    pub renewals: f64,
    /// Fraction of the effective sample size that each step leaves.
    pub survival: f64,
    /// Most tempering steps; beyond it the result is marked unfinished.
    pub stages: usize,
    /// Seed.
    pub seed: u64,
}

impl Default for SamplerSettings {
    fn default() -> Self {
        Self {
            particles: 2000,
            moves: 12,
            last_rounds: 5,
            renewals: f64::INFINITY,
            survival: 0.5,
            stages: 200,
            seed: 20_260_503,
        }
    }
}

/// Draws from a posterior, all of one weight.
#[derive(Clone, Debug)]
pub struct Draws {
    /// Number of coordinates.
    pub dimension: usize,
    /// Coordinates, one draw after another.
    pub z: Vec<f64>,
    /// Natural logarithm of the evidence.
    pub log_evidence: f64,
    /// Tempering steps taken.
    pub stages: usize,
    /// Fraction of moves accepted in the last stage.
    pub acceptance: f64,
    /// Forward runs made.
    pub runs: usize,
    /// Whether t reached 1.
    pub finished: bool,
}

#[derive(Clone)]
struct Particle {
    z: Vec<f64>,
    whitened: Vec<f64>,
    log_likelihood: f64,
    accepted: usize,
}

/// Draws from the posterior. `progress` is told the power t after each step.
pub fn sample<P: Posterior>(posterior: &P, settings: &SamplerSettings, mut progress: impl FnMut(f64)) -> Draws {
    let dimension = posterior.dimension();
    let mut particles = start(posterior, settings, dimension);
    let (mut power, mut log_evidence, mut stages) = (0.0, 0.0, 0);
    let mut runs = settings.particles;
    let curvature = posterior.curvature();
    let mut bold = 0.8f64;
    let (mut acceptance, mut renewed) = (1.0, 0.0);
    while power < 1.0 && stages < settings.stages {
        stages += 1;
        let next = next_power(&particles, power, settings.survival);
        let log_weights: Vec<f64> = particles.iter().map(|p| (next - power) * p.log_likelihood).collect();
        let (weights, log_sum) = normalise(&log_weights);
        if !log_sum.is_finite() {
            break;
        }
        let count = particles.len() as f64;
        log_evidence += log_sum - count.ln();
        let Some(cloud) = Cloud::of(&particles, &weights, dimension, foreseen(curvature.as_ref(), next).as_ref())
        else {
            break;
        };
        particles = resample(&particles, &weights, settings.seed, stages);
        power = next;
        let stage = Stage { power, moves: settings.moves, key: Key { seed: settings.seed, stage: stages } };
        acceptance = stage.shift(posterior, &mut particles, &cloud, bold);
        renewed = acceptance * settings.moves as f64;
        bold = bolder(bold, acceptance);
        runs += settings.moves * particles.len();
        progress(power);
    }
    let even = vec![1.0 / particles.len().max(1) as f64; particles.len()];
    for round in 0..settings.last_rounds {
        if renewed >= settings.renewals {
            break;
        }
        let Some(cloud) = Cloud::of(&particles, &even, dimension, foreseen(curvature.as_ref(), power).as_ref()) else {
            break;
        };
        let key = Key { seed: settings.seed, stage: stages + 1 + round };
        acceptance = Stage { power, moves: settings.moves, key }.shift(posterior, &mut particles, &cloud, bold);
        renewed += acceptance * settings.moves as f64;
        bold = bolder(bold, acceptance);
        runs += settings.moves * particles.len();
    }
    Draws {
        dimension,
        z: particles.into_iter().flat_map(|p| p.z).collect(),
        // An unfinished sum is no evidence.
        log_evidence: if power >= 1.0 { log_evidence } else { f64::NEG_INFINITY },
        stages,
        acceptance,
        runs,
        finished: power >= 1.0,
    }
}

/// A bolder step where most are accepted, a more timid one where few are.
fn bolder(bold: f64, acceptance: f64) -> f64 {
    if acceptance > 0.5 {
        (bold * 1.25).min(1.0)
    } else if acceptance < 0.3 {
        bold * 0.7
    } else {
        bold
    }
}

/// What is common to the moves of one stage.
#[derive(Clone, Copy)]
struct Stage {
    power: f64,
    moves: usize,
    key: Key,
}

impl Stage {
    /// Moves all particles; returns the fraction accepted.
    fn shift<P: Posterior>(self, posterior: &P, particles: &mut [Particle], cloud: &Cloud, bold: f64) -> f64 {
        let dimension = cloud.dimension;
        let shift = Shift { cloud, power: self.power, bold, moves: self.moves, key: self.key };
        particles.par_iter_mut().enumerate().for_each_init(
            || (posterior.room(), vec![0.0; dimension], vec![0.0; dimension]),
            |(room, v, z), (index, particle)| shift.apply(posterior, particle, index, room, v, z),
        );
        let accepted: usize = particles.iter().map(|p| p.accepted).sum();
        accepted as f64 / (self.moves.max(1) * particles.len().max(1)) as f64
    }
}

#[derive(Clone, Copy)]
struct Key {
    seed: u64,
    stage: usize,
}

impl Key {
    fn generator(self, index: usize) -> Xoshiro256PlusPlus {
        let mixed = self
            .seed
            .wrapping_add((self.stage as u64).wrapping_mul(0xA24B_AED4_963E_E407))
            .wrapping_add((index as u64 + 1).wrapping_mul(0xD1B5_4A32_D192_ED03));
        Xoshiro256PlusPlus::seed_from_u64(mixed)
    }
}

fn start<P: Posterior>(posterior: &P, settings: &SamplerSettings, dimension: usize) -> Vec<Particle> {
    let key = Key { seed: settings.seed, stage: 0 };
    (0..settings.particles)
        .into_par_iter()
        .map_init(
            || posterior.room(),
            |room, index| {
                let mut random = key.generator(index);
                let z: Vec<f64> = (0..dimension).map(|_| StandardNormal.sample(&mut random)).collect();
                let log_likelihood = posterior.log_likelihood(&z, room);
                Particle { z, whitened: vec![0.0; dimension], log_likelihood, accepted: 0 }
            },
        )
        .collect()
}

/// The largest power that leaves the wanted effective sample size, by bisection.
fn next_power(particles: &[Particle], power: f64, survival: f64) -> f64 {
    let effective = |next: f64| {
        let log_weights: Vec<f64> = particles.iter().map(|p| (next - power) * p.log_likelihood).collect();
        let (weights, _) = normalise(&log_weights);
        let square: f64 = weights.iter().map(|w| w * w).sum();
        if square > 0.0 { 1.0 / square } else { 0.0 }
    };
    let wanted = survival * particles.len() as f64;
    if effective(1.0) >= wanted {
        return 1.0;
    }
    let (mut low, mut high) = (power, 1.0);
    // Relative to the width of the step: early steps are tiny.
    for _ in 0..60 {
        let middle = if low > power { 0.5 * (low + high) } else { power + (high - power) * 0.25 };
        if effective(middle) >= wanted {
            low = middle
        } else {
            high = middle
        }
        if high - low < 1e-4 * (high - power) {
            break;
        }
    }
    if low > power { low } else { high }
}

fn resample(particles: &[Particle], weights: &[f64], seed: u64, stage: usize) -> Vec<Particle> {
    let n = particles.len();
    let mut random = Key { seed, stage }.generator(usize::MAX - 1);
    let step = 1.0 / n as f64;
    let mut position: f64 = random.random::<f64>() * step;
    let (mut index, mut reached) = (0, weights.first().copied().unwrap_or(0.0));
    let mut chosen = Vec::with_capacity(n);
    for _ in 0..n {
        while reached < position && index + 1 < n {
            index += 1;
            reached += weights[index];
        }
        chosen.push(particles[index].clone());
        position += step;
    }
    chosen
}

/// Covariance where the likelihood enters with a power, as far as its curvature about the origin tells.
fn foreseen(curvature: Option<&Mat<f64>>, power: f64) -> Option<Mat<f64>> {
    let curvature = curvature?;
    let d = curvature.nrows();
    let precision = Mat::from_fn(d, d, |i, j| power * curvature[(i, j)] + f64::from(u8::from(i == j)));
    Some(Llt::new(precision.as_ref(), faer::Side::Lower).ok()?.solve(Mat::<f64>::identity(d, d)))
}

/// Mean and Cholesky factor of the particles' covariance.
struct Cloud {
    mean: Vec<f64>,
    lower: Vec<f64>,
    dimension: usize,
}

impl Cloud {
    fn of(particles: &[Particle], weights: &[f64], d: usize, guess: Option<&Mat<f64>>) -> Option<Self> {
        let mut mean = vec![0.0; d];
        for (p, w) in particles.iter().zip(weights) {
            for (m, z) in mean.iter_mut().zip(&p.z) {
                *m += w * z;
            }
        }
        let mut covariance = Mat::<f64>::zeros(d, d);
        for (p, w) in particles.iter().zip(weights).filter(|(_, w)| **w > 0.0) {
            for i in 0..d {
                let a = w * (p.z[i] - mean[i]);
                for j in 0..=i {
                    covariance[(i, j)] += a * (p.z[j] - mean[j]);
                }
            }
        }
        for i in 0..d {
            // A little wider than the cloud, so that its edge can be reached.
            covariance[(i, i)] = covariance[(i, i)] * 1.05 + 1e-12;
        }
        if let Some(guess) = guess {
            let worth = FORESEEN_WORTH * d as f64;
            let part = worth / (particles.len() as f64 + worth);
            covariance = &covariance * faer::Scale(1.0 - part) + guess * faer::Scale(part);
        }
        let factor = Llt::new(covariance.as_ref(), faer::Side::Lower).ok()?;
        let l = factor.L();
        let mut lower = vec![0.0; d * d];
        for i in 0..d {
            for j in 0..=i {
                lower[i * d + j] = l[(i, j)];
            }
        }
        Some(Self { mean, lower, dimension: d })
    }

    /// z = mean + L v
    fn colour(&self, v: &[f64], z: &mut [f64]) {
        let d = self.dimension;
        for (i, (slot, mean)) in z.iter_mut().zip(&self.mean).enumerate() {
            let row = &self.lower[i * d..i * d + i + 1];
            *slot = mean + row.iter().zip(v).map(|(l, v)| l * v).sum::<f64>();
        }
    }

    /// v = L⁻¹ (z − mean)
    fn whiten(&self, z: &[f64], v: &mut [f64]) {
        let d = self.dimension;
        for i in 0..d {
            let row = &self.lower[i * d..i * d + i];
            let known: f64 = row.iter().zip(v.iter()).map(|(l, v)| l * v).sum();
            v[i] = (z[i] - self.mean[i] - known) / self.lower[i * d + i];
        }
    }
}

/// The moves of one stage.
struct Shift<'a> {
    cloud: &'a Cloud,
    power: f64,
    bold: f64,
    moves: usize,
    key: Key,
}

impl Shift<'_> {
    fn apply<P: Posterior>(
        &self,
        posterior: &P,
        particle: &mut Particle,
        index: usize,
        room: &mut P::Room,
        v: &mut [f64],
        z: &mut [f64],
    ) {
        let mut random = self.key.generator(index);
        self.cloud.whiten(&particle.z, &mut particle.whitened);
        particle.accepted = 0;
        let walk = 2.38 / (self.cloud.dimension.max(1) as f64).sqrt();
        for _ in 0..self.moves {
            let autoregressive = random.random::<f64>() < 0.75;
            let (keep, noise) = if autoregressive {
                ((1.0 - self.bold * self.bold).max(0.0).sqrt(), self.bold)
            } else {
                // Step lengths over two decades suit the bulk and the corners.
                (1.0, walk * 10f64.powf(-1.5 * random.random::<f64>()))
            };
            for (new, old) in v.iter_mut().zip(&particle.whitened) {
                let normal: f64 = StandardNormal.sample(&mut random);
                *new = keep * old + noise * normal;
            }
            self.cloud.colour(v, z);
            let proposed = posterior.log_likelihood(z, room);
            let mut log_ratio =
                self.power * (proposed - particle.log_likelihood) + 0.5 * (square(&particle.z) - square(z));
            if autoregressive {
                log_ratio += 0.5 * (square(v) - square(&particle.whitened));
            }
            if proposed > f64::NEG_INFINITY && random.random::<f64>().ln() < log_ratio {
                particle.z.copy_from_slice(z);
                particle.whitened.copy_from_slice(v);
                particle.log_likelihood = proposed;
                particle.accepted += 1;
            }
        }
    }
}

fn square(x: &[f64]) -> f64 {
    x.iter().map(|x| x * x).sum()
}
