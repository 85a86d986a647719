//! Where did the fits end that were made before?
//!
//! A text changes by a figure at a time, and best fits move little: a fit that starts where that of the text before ended
//! is found in a few steps, led by the slopes it had there where the unknowns are still the same. What was known is
//! carried over by the origins of the unknowns, so that a line more or less does no harm. A fit that is more strained than
//! before is sought anew by whoever asks ([`Known::still`]): a correction may open a way that was closed.
//!
//! Within one account it serves too: the fit of everything together is wanted by several.

use super::compile::Compiled;
use engine::account::Evidence;
use engine::account::fit::{Count, Fit, FitSettings, fit, fit_again, fit_from};
use std::collections::{HashMap, VecDeque};
use std::sync::{Arc, Mutex, MutexGuard, PoisonError};

/// Rise of strain from which a fit is sought anew.
const CHANGED: f64 = 2.0;
/// Fraction by which a strain may rise and still be the same.
const SAME: f64 = 0.1;
/// Steps after which a fit that began where one ended gives up for want of gain.
const PATIENCE: usize = 3;
/// Of so many unknowns at most one may be new.
const MOST_NEW: usize = 10;

/// Fits of an account, by what was fitted: those of the text before, and those made now.
#[derive(Debug, Default)]
pub struct Fits {
    before: HashMap<String, Arc<Known>>,
    now: Mutex<HashMap<String, Arc<Known>>>,
}

/// Where a fit ended.
#[derive(Debug)]
pub(crate) struct Known {
    /// Origins of the unknowns.
    origins: Vec<String>,
    z: Vec<f64>,
    /// Slopes that the expected figures had there.
    slopes: Vec<f64>,
    strain: f64,
}

impl Fits {
    /// What is known of a fit, made now or before; with whether it was made now.
    pub(crate) fn known(&self, of: &str) -> Option<(Arc<Known>, bool)> {
        let now = self.now().get(of).cloned();
        now.map(|known| (known, true)).or_else(|| self.before.get(of).cloned().map(|known| (known, false)))
    }

    /// The best fit of evidence about a ledger, from where it ended before if that still holds.
    pub(crate) fn posterior(&self, of: &str, compiled: &Compiled, evidence: &Evidence<'_>) -> Fit {
        let settings = FitSettings::default();
        let from = |(known, _): (Arc<Known>, bool)| {
            let found = known.fit(compiled, evidence, Count::Posterior, &settings)?;
            known.still(&found).then_some(found)
        };
        let best = self.known(of).and_then(from).unwrap_or_else(|| fit(evidence, Count::Posterior, &settings));
        self.note(of, compiled, &best);
        best
    }

    /// Notes where a fit ended.
    pub(crate) fn note(&self, of: &str, compiled: &Compiled, fit: &Fit) {
        let (origins, z, slopes) = (compiled.origins.clone(), fit.z.clone(), fit.slopes.clone());
        self.keep(of, Known { origins, z, slopes, strain: fit.chi_squared }.into());
    }

    /// Keeps what was known of a fit.
    pub(crate) fn keep(&self, of: &str, known: Arc<Known>) {
        self.now().insert(of.to_owned(), known);
    }

    /// The fits made now, or those before where none was made, to start from at the next text.
    #[must_use]
    pub fn passed_on(&self) -> Self {
        let now = self.now();
        let before = if now.is_empty() { self.before.clone() } else { now.clone() };
        Self { before, now: Mutex::default() }
    }

    fn now(&self) -> MutexGuard<'_, HashMap<String, Arc<Known>>> {
        self.now.lock().unwrap_or_else(PoisonError::into_inner)
    }
}

impl Known {
    /// Coordinates for a ledger of the same preparation; none where too much of it is new.
    fn start(&self, compiled: &Compiled) -> Option<Vec<f64>> {
        let new = compiled.origins.iter().filter(|origin| !self.origins.contains(origin)).count();
        (MOST_NEW * new <= compiled.origins.len()).then(|| carried_over(&self.z, &self.origins, compiled))
    }

    /// The fit from here: soon given up where it is about as strained as before, else sought with patience.
    pub(crate) fn fit(
        &self,
        compiled: &Compiled,
        evidence: &Evidence<'_>,
        count: Count,
        settings: &FitSettings,
    ) -> Option<Fit> {
        let soon = FitSettings { patience: PATIENCE, ..*settings };
        let found = if self.origins == compiled.origins {
            fit_again(evidence, count, &soon, (&self.z, &self.slopes))
        } else {
            fit_from(evidence, count, &soon, &self.start(compiled)?)
        };
        Some(if self.like(&found) { found } else { fit_from(evidence, count, settings, &found.z) })
    }

    /// What it is like here, without a step.
    pub(crate) fn look(&self, compiled: &Compiled, evidence: &Evidence<'_>, count: Count) -> Option<Fit> {
        let settings = FitSettings { steps: 0, ..FitSettings::default() };
        Some(fit_from(evidence, count, &settings, &self.start(compiled)?))
    }

    /// Whether the strain was more than this.
    pub(crate) fn exceeds(&self, strain: f64) -> bool {
        self.strain > strain
    }

    /// Whether a fit is about as strained as before.
    pub(crate) fn like(&self, fit: &Fit) -> bool {
        (fit.chi_squared - self.strain).abs() < CHANGED
    }

    /// Whether a fit that was started here is hardly more strained than before.
    pub(crate) fn still(&self, fit: &Fit) -> bool {
        fit.chi_squared < self.strain + CHANGED + SAME * self.strain
    }
}

/// Coordinates carried over to a ledger of the same preparation: unknowns of one origin in their order, those that are
/// new at their median.
pub(crate) fn carried_over(z: &[f64], origins: &[String], to: &Compiled) -> Vec<f64> {
    let mut known: HashMap<&str, VecDeque<f64>> = HashMap::new();
    for (origin, z) in origins.iter().zip(z) {
        known.entry(origin).or_default().push_back(*z);
    }
    to.origins
        .iter()
        .map(|origin| known.get_mut(origin.as_str()).and_then(VecDeque::pop_front).unwrap_or(0.0))
        .collect()
}
