//! Supplies: what a kilogram of each holds, as far as the label says.

use super::Builder;
use crate::model::{ForeignKind, Supply, WATER};
use chem::Phase;
use engine::ledger::{
    FOREIGN_KINDS, INSOLUBLE_COMBUSTIBLE, INSOLUBLE_PERMANENT, SOLUBLE_COMBUSTIBLE, SOLUBLE_PERMANENT, Value,
};

impl Builder<'_> {
    pub(super) fn supplies(&mut self) {
        for (i, supply) in self.preparation.supplies.iter().enumerate() {
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
            });
            self.supplies.push(None);
        }
    }

    fn supply(&mut self, supply: &Supply) {
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
        self.ledger.supplies.push(engine::ledger::Supply { assay, parts, rest });
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
