//! Supplies: what a kilogram of each holds, as far as the label says.

use super::Builder;
use crate::evaluate::origin::Brought;
use crate::model::{ForeignKind, Supply, WATER};
use chem::Phase;
use engine::ledger::{
    Analysed, FOREIGN_KINDS, INSOLUBLE_COMBUSTIBLE, INSOLUBLE_PERMANENT, Prior, SOLUBLE_COMBUSTIBLE, SOLUBLE_PERMANENT,
    SpeciesIndex, Value,
};

impl Builder<'_> {
    pub(super) fn supplies(&mut self) {
        for (i, supply) in self.preparation.supplies.iter().enumerate() {
            self.about = format!("content of {}", supply.name.value);
            self.supply(supply);
            self.supplies.push(Some(i));
        }
        if self.preparation.supply(WATER).is_none() {
            let water = self.table.water(Phase::Liquid);
            let zero = Value::Constant(0.0);
            self.ledger.supplies.push(engine::ledger::Supply {
                assay: Value::Constant(1.0),
                parts: vec![(water, Value::Constant(1.0))],
                rest: [zero; FOREIGN_KINDS],
                analysed: None,
            });
            self.supplies.push(None);
        }
    }

    /// A lot of another preparation: its species, and the path along which its composition lies.
    fn brought(&mut self, brought: &Brought) -> engine::ledger::Supply {
        let mut numbers: Vec<SpeciesIndex> = Vec::new();
        // A host stands before or after the water bound to it: hosts first.
        for (species, host) in &brought.contents {
            numbers.push(if host.is_none() { self.table.intern(species) } else { SpeciesIndex::MAX });
        }
        for (k, (_, host)) in brought.contents.iter().enumerate() {
            if let Some(host) = host.and_then(|h| numbers.get(h).copied()) {
                numbers[k] = self.table.bound_water(host);
            }
        }
        let along = self.prior(Prior::Uniform { low: 0.0, high: 1.0 });
        engine::ledger::Supply {
            assay: Value::Constant(1.0),
            parts: numbers.into_iter().map(|number| (number, Value::Constant(1.0))).collect(),
            rest: [Value::Constant(0.0); FOREIGN_KINDS],
            analysed: Some(Analysed { stations: brought.stations.clone(), along }),
        }
    }

    fn supply(&mut self, supply: &Supply) {
        if let Some(brought) = &supply.brought {
            let supply = self.brought(brought);
            self.ledger.supplies.push(supply);
            return;
        }
        let assay = self.fraction(supply.assay);
        let count = supply.holds.len();
        let mut parts = Vec::new();
        for (species, fraction) in &supply.took_up {
            let fraction = self.fraction(*fraction);
            parts.push((self.table.intern(&species.value), fraction));
        }
        for (i, species) in supply.holds.iter().enumerate() {
            let stick = if i + 1 < count { self.share(count, i) } else { Value::Constant(1.0) };
            parts.push((self.table.intern(&species.value), stick));
        }
        if supply.solution
            && let Some((solute, _)) = parts.first().copied()
        {
            let water = self.table.water(Phase::Liquid);
            self.ledger.supplies.push(engine::ledger::Supply {
                assay: Value::Constant(1.0),
                parts: vec![(solute, assay), (water, Value::Constant(1.0))],
                rest: [Value::Constant(0.0); FOREIGN_KINDS],
                analysed: None,
            });
            return;
        }
        let pure = assay == Value::Constant(1.0);
        let mut rest = [Value::Constant(1.0); FOREIGN_KINDS];
        if let Some(kind) = supply.rest {
            let chosen = row_of(kind);
            for (kind, stick) in rest.iter_mut().enumerate() {
                *stick = Value::Constant(if kind == chosen { 1.0 } else { 0.0 });
            }
        } else if !pure {
            for (kind, stick) in rest.iter_mut().enumerate().take(FOREIGN_KINDS - 1) {
                *stick = self.share(FOREIGN_KINDS, kind);
            }
        }
        self.ledger.supplies.push(engine::ledger::Supply { assay, parts, rest, analysed: None });
    }
}

/// Place of a kind of foreign matter in a lot's row.
pub(super) fn row_of(kind: ForeignKind) -> usize {
    match kind {
        ForeignKind::SolublePermanent => SOLUBLE_PERMANENT,
        ForeignKind::SolubleCombustible => SOLUBLE_COMBUSTIBLE,
        ForeignKind::InsolublePermanent => INSOLUBLE_PERMANENT,
        ForeignKind::InsolubleCombustible => INSOLUBLE_COMBUSTIBLE,
    }
}
