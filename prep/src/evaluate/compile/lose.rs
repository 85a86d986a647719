//! What a step loses and picks up: as stated, as learned from earlier runs, or as is usual.

use super::{Builder, supplies};
use crate::losses::{self, Usual};
use crate::model::{ForeignKind, Knowledge, Step};
use engine::ledger::{Lot, Operation, Value};

impl Builder<'_> {
    pub(super) fn lose(&mut self, step: &Step, lot: Lot, lost: Lot) {
        let mut usual = losses::usual(step.action.value, step.by.as_ref().map(|by| by.value.trim()));
        if self.variation.unusual_losses {
            usual = usual.unusual();
        }
        let none = step.loss.fraction == Some(Knowledge::Exact(0.0));
        let fraction = step.loss.fraction.unwrap_or(usual.fraction);
        let film = step.loss.film.unwrap_or(if none { Knowledge::Exact(0.0) } else { usual.film });
        let (usual_film, usual_fraction) = (step.loss.film.is_none() && !none, step.loss.fraction.is_none());
        let film = self.strained(usual_film, |b| match usual_film {
            true => b.usual(step, Usual::Film, |b| b.value(film)),
            false => b.value(film),
        });
        let fraction = self.strained(usual_fraction, |b| match usual_fraction {
            true => b.usual(step, Usual::Fraction, |b| b.fraction(fraction)),
            false => b.fraction(fraction),
        });
        let zero = Value::Constant(0.0);
        if film != zero || fraction != zero {
            self.push(Operation::Lose { lot, lost, film, fraction });
            self.pour(lot, lost, |_| true, false);
        }
    }

    /// What the file says comes in, or what usually does.
    pub(super) fn pick_up(&mut self, step: &Step, lot: Lot) {
        let usual = losses::usual(step.action.value, step.by.as_ref().map(|by| by.value.trim())).pick_up;
        let usual: Vec<(ForeignKind, Knowledge)> =
            usual.into_iter().map(|(kind, mean)| (kind, Knowledge::About(mean))).collect();
        let stated = if step.pick_up.is_empty() { &usual } else { &step.pick_up };
        for (kind, known) in stated {
            let mass = self.value(*known);
            let drawn = self.drawn;
            self.push(Operation::PickUp { lot, kind: supplies::row_of(*kind), mass, drawn });
        }
    }
}
