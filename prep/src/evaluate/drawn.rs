//! How are draws of a composition made?
//!
//! The live view weights draws about the best fit; while a text is being typed there are fewer, and the volume that bending
//! gains or loses is left out. The sampler moves particles to the posterior, from near the best fit or, where that is not
//! the only one, from the prior.
//!
//! A composition of little evidence gets fewer draws: the error of the whole, Σ share² variance / draws, is then at most that
//! of one composition with all of them. Neglected: that shares are Laplace's, off by a factor of some; what is thought small
//! and is not has the larger error of its fewer draws.

use super::alternatives::Candidate;
use engine::account::about::About;
use engine::account::fit::Fit;
use engine::account::importance::{Volume, draw};
use engine::account::sampler::{SamplerSettings, sample};
use rayon::prelude::*;

/// Draws about the best fit, for each composition of the live view.
pub(super) const LIVE_DRAWS: usize = 200;
/// And while a text is being typed, and where tests are ranked; and fewest of these.
pub(super) const TYPING_DRAWS: usize = 64;
pub(super) const RANKING_DRAWS: usize = 100;
const FEWEST_DRAWS: usize = 24;
/// Share of the evidence from which a composition gets all draws; less is hardly seen in the whole.
const ALL_DRAWS: f64 = 0.5;
/// Smallest part of the particles that a composition of little evidence gets.
const LEAST_PART: f64 = 0.125;
/// Factor on the scatter of readings in the distribution that the sampler starts from.
const LOOSER: f64 = 1.0;
/// Moves of a stage where the sampler starts near the best fit: most are accepted, and each renews a particle. After the
/// last stage they go on until particles have been renewed so often on average.
const MOVES: usize = 3;
const RENEWALS: f64 = 3.0;
/// Fewest particles for each unknown where it starts from the prior.
const FEWEST_PARTICLES: usize = 10;
/// Fewest particles of all.
const FEWEST_OF_ALL: usize = 16;

/// How draws are made.
#[derive(Clone, Copy)]
pub(super) enum Instrument {
    Live,
    /// The live view of so many draws, without its budgets and the volumes of its draws.
    AtOnce(usize),
    Sampler(SamplerSettings),
}

/// Draws of one composition.
pub(super) struct Drawn {
    /// The best fit the draws were made about, if they were.
    pub fit: Option<Fit>,
    pub z: Vec<f64>,
    pub weights: Vec<f64>,
    pub log_evidence: f64,
    pub tail: Option<f64>,
    pub runs: usize,
    pub finished: bool,
}

impl Instrument {
    /// Draws of each composition, of which each has a share of the evidence.
    pub fn draw(self, averaged: &[&Candidate], shares: &[f64], progress: &mut dyn FnMut(f64)) -> Vec<Drawn> {
        let all = averaged.len().max(1) as f64;
        match self {
            Self::Live => averaged.par_iter().map(|c| live_draws(c, LIVE_DRAWS, Volume::Counted)).collect(),
            Self::AtOnce(draws) => averaged
                .par_iter()
                .zip(shares)
                .map(|(c, share)| live_draws(c, part_of(draws, *share).max(FEWEST_DRAWS), Volume::Neglected))
                .collect(),
            // The sampler spreads its particles over the cores itself.
            Self::Sampler(settings) => averaged
                .iter()
                .zip(shares)
                .enumerate()
                .map(|(i, (candidate, share))| {
                    let done = i as f64;
                    let particles = part_of(settings.particles, *share).max(FEWEST_OF_ALL);
                    let settings = SamplerSettings { particles, ..settings };
                    sampled_draws(candidate, &settings, &mut |p| progress((done + p) / all))
                })
                .collect(),
        }
    }
}

/// Draws of a composition with a share of the evidence.
fn part_of(count: usize, share: f64) -> usize {
    (count as f64 * (share / ALL_DRAWS).clamp(LEAST_PART, 1.0)).round() as usize
}

/// Draws of the sampler. It starts near the best fit, or from the prior where that is not the only one.
fn sampled_draws(candidate: &Candidate, settings: &SamplerSettings, progress: &mut dyn FnMut(f64)) -> Drawn {
    let evidence = candidate.compiled.evidence();
    let single = !candidate.best.rivals && !candidate.best.z.is_empty();
    let about = if single { About::new(&evidence, &candidate.best, LOOSER) } else { None };
    // The power of the likelihood rises over some eight decades from the prior, and over two from near the best fit.
    let told = |power: f64, decades: f64| (1.0 + power.max(1e-8).log10() / decades).clamp(0.0, 1.0);
    let (draws, volumes) = match &about {
        Some(about) => {
            let settings = SamplerSettings { moves: MOVES, renewals: RENEWALS, ..*settings };
            let mut draws = sample(about, &settings, |power| progress(told(power, 2.0)));
            let volumes = about.turned(&mut draws);
            (draws, volumes)
        }
        None => {
            let fewest = FEWEST_PARTICLES * evidence.ledger.unknowns.len();
            let settings = SamplerSettings { particles: settings.particles.max(fewest), ..*settings };
            let draws = sample(&evidence, &settings, |power| progress(told(power, 8.0)));
            let count = draws.z.len().checked_div(draws.dimension).unwrap_or(1);
            (draws, vec![0.0; count])
        }
    };
    let volume = volumes.iter().map(|v| v.exp()).sum::<f64>().max(f64::MIN_POSITIVE);
    Drawn {
        fit: None,
        weights: volumes.iter().map(|v| v.exp() / volume).collect(),
        z: draws.z,
        log_evidence: draws.log_evidence + (volume / volumes.len().max(1) as f64).ln(),
        tail: None,
        runs: draws.runs,
        finished: draws.finished,
    }
}

/// Weighted draws about the best fit; none, with an endless tail, where it has no curvature.
fn live_draws(candidate: &Candidate, count: usize, volume: Volume) -> Drawn {
    let evidence = candidate.compiled.evidence();
    match draw(&evidence, &candidate.best, count, 1, volume) {
        Some(draws) => Drawn {
            fit: Some(candidate.best.clone()),
            z: draws.z,
            weights: draws.weights,
            log_evidence: draws.log_evidence,
            tail: Some(draws.tail),
            runs: count,
            finished: true,
        },
        None => Drawn {
            fit: None,
            z: Vec::new(),
            weights: Vec::new(),
            log_evidence: f64::NEG_INFINITY,
            tail: Some(f64::INFINITY),
            runs: 0,
            finished: false,
        },
    }
}
