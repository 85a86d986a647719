//! Where does an unknown first bear on anything?
//!
//! A differentiated run in the direction of an unknown is a plain one until the first operation that works with it. The
//! question is answered from the operations alone: an unknown of a supply bears on what is charged from it.

use super::{Ledger, Operation, Value};

impl Ledger {
    /// For each unknown the number of the first operation that it bears on; the number of operations where it bears on none.
    pub(crate) fn first_uses(&self) -> Vec<usize> {
        let mut first = vec![self.operations.len(); self.unknowns.len()];
        let mut note = |value: Value, at: usize| {
            if let Value::Unknown(i) = value
                && let Some(slot) = first.get_mut(i)
            {
                *slot = at.min(*slot);
            }
        };
        for (at, operation) in self.operations.iter().enumerate() {
            operation.values().into_iter().for_each(|value| note(value, at));
            if let Operation::Charge { supply, .. } = operation {
                let supply = &self.supplies[*supply];
                let sticks = supply.parts.iter().map(|(_, stick)| *stick).chain(supply.rest).chain([supply.assay]);
                sticks.chain(supply.analysed.iter().map(|a| a.along)).for_each(|value| note(value, at));
            }
        }
        first
    }
}

impl Operation {
    /// The numbers of the model that it works with, filled up with zeros; the composition of a charged supply is not among
    /// them.
    fn values(&self) -> [Value; 3] {
        let nothing = Value::Constant(0.0);
        match self {
            Self::Separate { passes, held, held_per_solid, .. } => [*passes, *held, *held_per_solid],
            Self::Lose { film, fraction, .. } => [*film, *fraction, nothing],
            Self::Charge { mass: value, .. }
            | Self::Portion { mass: value, .. }
            | Self::Transform { share: value, .. }
            | Self::React { conversion: value, .. }
            | Self::Boil { mass: value, .. }
            | Self::Convert { share: value, .. }
            | Self::Hydrate { water: value, .. }
            | Self::Moisten { fraction: value, .. }
            | Self::Occlude { fraction: value, .. }
            | Self::PickUp { mass: value, .. } => [*value, nothing, nothing],
            Self::Move { .. }
            | Self::Vent { .. }
            | Self::Evaporate { .. }
            | Self::Solidify { .. }
            | Self::Burn { .. } => [nothing; 3],
        }
    }
}
