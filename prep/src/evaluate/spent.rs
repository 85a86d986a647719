//! How much of each supply is used, draw by draw?
//!
//! A charge that was weighed counts as weighed; another counts as it was stated: tablets as tablets, a volume as a
//! volume. Where a pack or a stock is stated in another way than the charge, the supply's density or mass of a unit
//! converts. Their own uncertainty is in the mass of the charge already and is not counted twice.

use super::compile::Compiled;
use super::direct::standing;
use crate::model::{By, Preparation, Span, Step, Supply, WATER, WATER_DENSITY};

/// One charge.
pub(crate) struct Charge<'a> {
    /// Number of the supply in the file; none for water that is not listed.
    pub supply: Option<usize>,
    /// Where it is stated.
    pub span: &'a Span,
    /// Step.
    pub step: &'a Step,
    /// Mass in each draw, kg.
    pub masses: &'a [f64],
    /// How it was stated and the figure, where that counts.
    stated: Option<(By, f64)>,
}

/// All charges of a preparation with their draws.
pub(crate) struct Spent<'a> {
    pub preparation: &'a Preparation,
    pub weights: &'a [f64],
    pub charges: Vec<Charge<'a>>,
    /// Whether what was weighed counts.
    pub weighed: bool,
}

impl<'a> Spent<'a> {
    /// From the columns of a compiled preparation's charges; `weighed`: whether readings count.
    pub fn new(
        preparation: &'a Preparation,
        compiled: &Compiled,
        columns: &'a [Vec<f64>],
        weights: &'a [f64],
        weighed: bool,
    ) -> Self {
        let charges = compiled.charges.iter().zip(columns).map(|(record, masses)| {
            let step = &preparation.steps[record.step];
            let take = step.take.iter().find(|t| t.source.value == record.name).filter(|_| !record.wash);
            let read = weighed
                && standing(preparation).any(|(s, r)| {
                    std::ptr::eq(s, step)
                        && r.weigh.is_some()
                        && r.charge.as_ref().is_some_and(|c| c.value == record.name)
                });
            let wash = step.wash.as_ref().map(|wash| &wash.span).filter(|_| record.wash);
            Charge {
                supply: compiled.supplies.get(record.supply).copied().flatten(),
                span: wash.or(take.map(|t| &t.amount.span)).unwrap_or(&step.name.span),
                step,
                masses,
                stated: take
                    .and_then(|t| t.stated.as_ref())
                    .filter(|_| !read)
                    .map(|amount| (amount.by, amount.figure.central())),
            }
        });
        Self { preparation, weights, charges: charges.collect(), weighed }
    }

    /// A charge in each draw, in the unit of `by`.
    pub fn counted(&self, charge: &Charge<'_>, supply: &Supply, by: By) -> Vec<f64> {
        match charge.stated {
            Some((stated, figure)) if stated == by && by != By::Mass => vec![figure; charge.masses.len()],
            _ => {
                let unit = unit_mass(supply, by);
                charge.masses.iter().map(|mass| mass / unit).collect()
            }
        }
    }

    /// Use of a supply over all charges in each draw, in the unit of `by`.
    pub fn used(&self, supply: usize, by: By) -> Vec<f64> {
        let mut sum = vec![0.0; self.weights.len()];
        for charge in self.charges.iter().filter(|charge| charge.supply == Some(supply)) {
            let column = self.counted(charge, &self.preparation.supplies[supply], by);
            sum.iter_mut().zip(column).for_each(|(total, one)| *total += one);
        }
        sum
    }

    /// Whether a supply is charged at all.
    pub fn is_used(&self, supply: usize) -> bool {
        self.charges.iter().any(|charge| charge.supply == Some(supply))
    }
}

/// Mass of one unit of an amount, kg: of a kg, of a m³, of a tablet.
fn unit_mass(supply: &Supply, by: By) -> f64 {
    let known = match by {
        By::Mass => return 1.0,
        By::Volume if supply.name.value == WATER => return WATER_DENSITY,
        By::Volume => supply.measure.density,
        By::Count => supply.measure.unit,
    };
    // A supply without density or unit cannot be stated this way: reading refuses it.
    known.map_or(f64::NAN, crate::model::Knowledge::central)
}
