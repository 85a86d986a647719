//! What is each lot of a run for?
//!
//! One is the product; the others end in a stream or lie on the way to another lot. It is read from the names: which step
//! takes what, and what the target is.

use super::compile::{Compiled, LotKind};
use super::table::SpeciesTable;
use crate::model::Preparation;
use chem::Phase;
use engine::ledger::Lot;

/// Names of the streams, in the order of the contract.
pub(crate) const STREAMS: [&str; 6] = ["product", "liquor", "residue", "tests", "vented", "lost"];

/// What each lot is for.
#[derive(Clone, Debug)]
pub(crate) struct Roles {
    /// The lot that is the product.
    pub product: Option<Lot>,
    /// Stream of each lot at the end of the run, if it is in one.
    pub(super) stream: Vec<Option<usize>>,
    /// Lots that hold what was drawn from the surroundings.
    drawn: Vec<bool>,
    /// Whether a lot lies on the way to the product.
    pub(super) on_path: Vec<bool>,
    /// Step that takes each lot.
    pub(super) taken_by: Vec<Option<usize>>,
}

impl Roles {
    /// Roles of the lots.
    pub fn of(compiled: &Compiled, preparation: &Preparation, table: &SpeciesTable) -> Self {
        let lots = &compiled.lots;
        let by_name = |name: &str| lots.iter().position(|l| l.named && l.name == name);
        let mut taken_by = vec![None; lots.len()];
        for (i, step) in preparation.steps.iter().enumerate() {
            for take in &step.take {
                if let Some(lot) = by_name(&take.source.value) {
                    taken_by[lot] = Some(i);
                }
            }
        }
        let is_test = |lot: usize| preparation.steps.get(lots[lot].step).is_some_and(|s| s.test);
        let product = product(compiled, preparation, table, &taken_by);
        let mut on_path = vec![false; lots.len()];
        let mut open: Vec<usize> = product.into_iter().collect();
        while let Some(lot) = open.pop() {
            if std::mem::replace(&mut on_path[lot], true) {
                continue;
            }
            if let Some(step) = preparation.steps.get(lots[lot].step) {
                open.extend(step.take.iter().filter_map(|t| by_name(&t.source.value)));
            }
        }
        let stream = (0..lots.len())
            .map(|l| match lots[l].kind {
                LotKind::Lost => Some(5),
                LotKind::Vent => Some(4),
                LotKind::Drawn => None,
                _ if taken_by[l].is_some() => None,
                _ if Some(l) == product => Some(0),
                _ if is_test(l) => Some(3),
                LotKind::Liquor => Some(1),
                LotKind::Solid => Some(2),
            })
            .collect();
        let drawn = lots.iter().map(|record| record.kind == LotKind::Drawn).collect();
        Self { product, stream, drawn, on_path, taken_by }
    }

    /// Step that takes a lot.
    pub fn taken_by(&self, lot: Lot) -> Option<usize> {
        self.taken_by.get(lot).copied().flatten()
    }

    /// Whether a lot lies on the way to the product.
    pub fn is_on_path(&self, lot: Lot) -> bool {
        self.on_path.get(lot).copied().unwrap_or(false)
    }

    /// Totals of a quantity by stream, and what was charged of it, from what each lot holds of it now.
    pub fn totals(&self, now: impl Fn(Lot) -> f64) -> ([f64; STREAMS.len()], f64) {
        let mut totals = [0.0; STREAMS.len()];
        let mut drawn = 0.0;
        for (lot, stream) in self.stream.iter().enumerate() {
            match stream {
                Some(stream) => totals[*stream] += now(lot),
                None if self.drawn[lot] => drawn += now(lot),
                None => {}
            }
        }
        (totals, totals.iter().sum::<f64>() - drawn)
    }
}

/// The lot that is the product: left at the end, not a test. Of several, one that may hold the target in its phase; then
/// what the last step gives; then solids before liquors; then the main lot of its step before portions.
fn product(
    compiled: &Compiled,
    preparation: &Preparation,
    table: &SpeciesTable,
    taken_by: &[Option<usize>],
) -> Option<Lot> {
    let lots = &compiled.lots;
    let target = preparation.target.as_ref().map(|t| &t.substance);
    // Fines that pass a filter make no product of a liquor.
    let solid = target.is_some_and(|species| species.phase == Some(Phase::Solid));
    let holds_target = |lot: Lot| {
        (!solid || lots[lot].kind == LotKind::Solid)
            && lots[lot].contents.iter().any(|s| Some(table.species(*s)) == target)
    };
    let is_test = |lot: Lot| preparation.steps.get(lots[lot].step).is_some_and(|s| s.test);
    let left = |lot: &Lot| {
        let record = &lots[*lot];
        let matter = matches!(record.kind, LotKind::Solid | LotKind::Liquor);
        matter && record.named && taken_by[*lot].is_none() && !is_test(*lot)
    };
    (0..lots.len()).filter(left).max_by_key(|lot| {
        let record = &lots[*lot];
        (holds_target(*lot), record.step, record.kind == LotKind::Solid, std::cmp::Reverse(*lot))
    })
}
