//! What do the user's own closed preparations say of the usual losses?
//!
//! Each closed preparation is accounted for with the defaults, by the live account. A usual loss is an unknown whose default
//! is the unit normal in its own coordinate; its draws give a mean and a standard deviation there, and
//! [`engine::account::learn`] gathers those of all runs of one action into a range for the next: the default where nothing was
//! said, the user's own habit where much was. Ranges are 5 % to 95 %.
//!
//! Steps with a range of their own in the file say nothing and are not counted. Neglected: that the losses of one
//! preparation are known together rather than singly (what one step did not lose, the next did: such runs say little
//! each, and less than they could together), and what differs between materials.
//!
//! Source: see [`engine::account::learn`].

use super::account::{clouds, worked};
use super::compile::Variation;
use super::drawn::Instrument;
use super::fits::Fits;
use super::table::SpeciesTable;
use crate::losses::{OwnLoss, Usual, way};
use crate::model::{Action, Preparation};
use engine::account::learn::{Belief, next_run};
use engine::ledger::Unknown;
use std::collections::BTreeMap;

/// Standard normal quantile of 95 %.
const Z95: f64 = 1.644_853_626_951_472_7;
/// The default in its own coordinate.
const DEFAULT: Belief = Belief { mean: 0.0, deviation: 1.0 };

/// One kind of loss: action, way, what.
type Kind = (&'static str, Option<String>, Usual);

/// What was seen of one kind of loss.
struct Seen {
    action: Action,
    /// Its default.
    default: Unknown,
    posteriors: Vec<Belief>,
}

/// Losses as learned from closed preparations, in the order of actions; others are left out.
#[must_use]
pub fn learn(preparations: &[Preparation]) -> Vec<OwnLoss> {
    let mut seen: BTreeMap<Kind, Seen> = BTreeMap::new();
    for preparation in preparations.iter().filter(|p| p.closed.is_some()) {
        look(preparation, &mut seen);
    }
    seen.into_iter().map(|((_, by, what), seen)| own_loss(by, what, &seen)).collect()
}

/// Adds what one preparation says of each of its usual losses.
fn look(preparation: &Preparation, seen: &mut BTreeMap<Kind, Seen>) {
    // By the defaults, whatever it learned itself: else a habit would count again and again.
    let preparation = &Preparation { own_losses: Vec::new(), ..preparation.clone() };
    let mut table = SpeciesTable::default();
    let (_, worked, _) =
        worked(preparation, &mut table, Variation::PLAIN, None, (Instrument::Live, &Fits::default()), &mut |_| {});
    let clouds = clouds(&worked);
    let Some(first) = clouds.first() else { return };
    for (place, (step, what, _)) in first.compiled.usual.iter().enumerate() {
        let (mut sum, mut square) = (0.0, 0.0);
        let mut default = None;
        for cloud in &clouds {
            // All compositions compile the same steps in the same order.
            let Some((_, _, unknown)) = cloud.compiled.usual.get(place) else { continue };
            let dimension = cloud.compiled.ledger.unknowns.len();
            default = default.or_else(|| cloud.compiled.ledger.unknowns.get(*unknown).cloned());
            for (point, weight) in cloud.z.chunks(dimension.max(1)).zip(&cloud.weights) {
                let z = point.get(*unknown).copied().unwrap_or(0.0);
                sum += weight * z;
                square += weight * z * z;
            }
        }
        let Some(default) = default else { continue };
        let step = &preparation.steps[*step];
        let by = way(step.action.value, step.by.as_ref().map(|by| by.value.as_str())).map(str::to_owned);
        let posterior = Belief { mean: sum, deviation: (square - sum * sum).max(0.0).sqrt() };
        let action = step.action.value;
        seen.entry((action.word(), by, *what))
            .or_insert_with(|| Seen { action, default, posteriors: Vec::new() })
            .posteriors
            .push(posterior);
    }
}

fn own_loss(by: Option<String>, what: Usual, seen: &Seen) -> OwnLoss {
    let learned = next_run(&seen.posteriors, DEFAULT);
    let image = |z: f64| seen.default.image(z.clamp(-5.0, 5.0));
    OwnLoss {
        action: seen.action,
        by,
        what,
        default: (image(-Z95), image(Z95)),
        learned: (image(learned.low), image(learned.high)),
        medians: (image(0.0), image(learned.next.mean)),
        runs: seen.posteriors.len(),
        telling: learned.telling,
    }
}
