//! What would an honest run of this preparation have shown?
//!
//! One draw from the prior: a composition among all that `may_hold` allows, a value for every unknown, and
//! the figures the balances would display, rounded to their step. The truth is returned beside them, so that
//! accounts can be checked against it.

use super::alternatives::{combinations, everything};
use super::compile::{Variation, compile};
use super::roles::Roles;
use super::table::SpeciesTable;
use crate::model::{Found, Preparation, Spanned};
use engine::account::hypercube::latin_hypercube;
use engine::ledger::{Contents, Workspace};

/// The truth behind a simulated run.
#[derive(Clone, Debug, PartialEq)]
pub struct Truth {
    /// Number of the composition that was drawn.
    pub composition: usize,
    /// Mass of each named lot, g.
    pub masses: Vec<(String, f64)>,
    /// Mass of the first element in each named lot, g.
    pub element: Vec<(String, f64)>,
    /// Yield of the first element from feed to product, %.
    pub overall: f64,
}

/// Simulates one run: the preparation with its figures replaced, and the truth.
///
/// `losses` multiplies how far the unknowns lie from their medians (1 for an honest draw); it makes runs that
/// the priors do not expect.
#[must_use]
pub fn simulate(preparation: &Preparation, seed: u64, losses: f64) -> Option<(Preparation, Truth)> {
    let element = preparation.account_for.first().copied()?;
    let mut table = SpeciesTable::default();
    let plain = everything(preparation, &mut table, Variation::FORECAST);
    let (alternatives, _) = combinations(&plain, preparation);
    let composition = usize::try_from(seed % alternatives.len().max(1) as u64).ok()?;
    let (alternative, _) = alternatives.get(composition)?;
    let model = compile(preparation, &mut table, Variation { alternative: Some(alternative), ..Variation::FORECAST });
    let dimension = model.ledger.unknowns.len();
    // One point of a hypercube of one stratum is a plain draw.
    let scattered = model.planned.len() + model.planned_tests.len();
    let mut z = latin_hypercube(1, dimension + scattered, seed.wrapping_mul(0x9E37_79B9_7F4A_7C15) ^ 0x5EED);
    let scatter = z.split_off(dimension);
    z.iter_mut().for_each(|z| *z *= losses);
    let mut room = Workspace::<f64>::new(&model.ledger);
    model.ledger.run(&z, &mut room);
    let mut simulated = preparation.clone();
    for ((place, weighing), z) in model.planned.iter().zip(&scatter) {
        let balance = &model.balances[weighing.balance];
        let figure = weighing.expected(&model.ledger, balance, &room) + z * balance.before_rounding();
        let shown = (figure / balance.resolution).round() * balance.resolution;
        let reading = &mut simulated.steps[place.step].readings[place.reading];
        if let Some(weigh) = &mut reading.weigh {
            weigh.value = shown;
            reading.series = None;
        }
    }
    for (((step, number), test), z) in model.planned_tests.iter().zip(scatter.iter().skip(model.planned.len())) {
        let made = &mut simulated.steps[*step].determinations[*number];
        if let Some(Spanned { value: Found::Figure { value, standard_uncertainty }, .. }) = &mut made.found {
            let truth = test.quotient(room.given(test.lot));
            let usual = made.test.uncertainty(truth * made.test.per_si) / made.test.per_si;
            *value = truth + z * standard_uncertainty.unwrap_or(usual);
        }
    }
    let counts = table.counts(element);
    let atomic_mass = element.atomic_weight()?.value;
    let grams = |contents: Contents<'_, f64>| {
        contents.amounts.iter().zip(&counts).map(|(n, c)| n * c).sum::<f64>() * atomic_mass
    };
    let named = || model.lots.iter().enumerate().filter(|(_, record)| record.named);
    let product = Roles::of(&plain, preparation, &table).product?;
    let drawn: f64 = model.ledger.drawn.iter().map(|lot| grams(room.now(*lot))).sum();
    let charged =
        (0..model.lots.len()).filter(|l| !model.ledger.drawn.contains(l)).map(|l| grams(room.now(l))).sum::<f64>()
            - drawn;
    let truth = Truth {
        composition,
        masses: named().map(|(l, r)| (r.name.clone(), model.ledger.mass(room.given(l)) * 1e3)).collect(),
        element: named().map(|(l, r)| (r.name.clone(), grams(room.given(l)))).collect(),
        overall: 100.0 * grams(room.given(product)) / charged,
    };
    Some((simulated, truth))
}
