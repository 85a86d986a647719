//! How much feed gives the wanted product with a wanted chance?
//!
//! All charges are scaled together until the quantile of the product reaches the target: fractions scale, films do
//! not. Every draw of the prior is scaled alike, so the quantile moves smoothly.

use super::super::compile::Compiled;
use super::super::interval;
use super::super::roles::Roles;
use super::super::table::SpeciesTable;
use super::resolve;
use crate::model::Preparation;
use crate::outcome::Feed;
use engine::account::hypercube::latin_hypercube;
use engine::ledger::{Value, Workspace};
use rayon::prelude::*;

/// Chance for which the feed is computed.
const CHANCE: f64 = 0.9;

/// Feed for the target: the factor on all charges that reaches it with the wanted chance.
pub(super) fn feed(
    preparation: &Preparation,
    table: &SpeciesTable,
    models: &[Compiled],
    everything: &Compiled,
) -> Option<Feed> {
    let target = preparation.target.as_ref()?;
    let wanted = target.amount?;
    let element = preparation.account_for.first().copied()?;
    let counts = table.counts(element);
    let product = Roles::of(everything, preparation, table).product?;
    let product_index = (0..table.len()).find(|s| *table.species(*s) == target.substance)?;
    let (position, charge) = everything
        .charges
        .iter()
        .enumerate()
        .find(|(_, c)| everything.ledger.supplies[c.supply].parts.iter().any(|(s, _)| counts[*s] > 0.0))?;
    let each = (1000 / models.len().max(1)).max(50);
    // The same draws at every scale.
    let draws = models.par_iter().enumerate();
    let draws = draws.map(|(k, model)| latin_hypercube(each, model.ledger.unknowns.len(), k as u64 + 1));
    let draws: Vec<Vec<f64>> = draws.collect();
    let yields = |scale: f64| -> Vec<(f64, f64)> {
        let mut list = Vec::new();
        for (model, points) in models.iter().zip(&draws) {
            let dimension = model.ledger.unknowns.len();
            let mut room = Workspace::<f64>::new(&model.ledger);
            room.scale = scale;
            for z in points.chunks(dimension.max(1)) {
                model.ledger.run(z, &mut room);
                let made = room.given(product).amounts[product_index] * model.ledger.molar_mass[product_index];
                list.push((made, resolve(model.charges[position].mass, &room) * scale));
            }
        }
        list
    };
    let quantile = |scale: f64, p: f64| {
        let mut made: Vec<f64> = yields(scale).iter().map(|(m, _)| *m).collect();
        made.sort_by(f64::total_cmp);
        let index = (p * made.len() as f64) as usize;
        made.get(index).copied().unwrap_or(0.0)
    };
    let scale_for = |p: f64| {
        // The product rises almost in proportion to the scale: a few secant steps are enough.
        let mut scale = 1.0;
        for _ in 0..8 {
            let made = quantile(scale, p);
            if made <= 0.0 {
                return None;
            }
            let next = scale * wanted / made;
            let done = (next / scale - 1.0).abs() < 1e-5;
            scale = next;
            if done {
                break;
            }
        }
        Some(scale)
    };
    let (even, likely) = (scale_for(0.5)?, scale_for(1.0 - CHANCE)?);
    let needs: Vec<f64> =
        yields(even).iter().filter(|(made, _)| *made > 0.0).map(|(made, fed)| fed * wanted / made * 1e3).collect();
    let weights = vec![1.0 / needs.len().max(1) as f64; needs.len()];
    let mass = resolve_planned(charge.mass, everything);
    Some(Feed {
        target: format!("{} g {}", number(wanted * 1e3), target.substance),
        supply: charge.name.clone(),
        amount: interval(&needs, &weights, "g", Some("as sold")),
        chance: CHANCE,
        for_chance: mass * likely * 1e3,
    })
}

/// A number without trailing zeros.
fn number(value: f64) -> String {
    format!("{:.6}", value).trim_end_matches('0').trim_end_matches('.').to_owned()
}

/// Planned value of a charge: at the median of its prior.
fn resolve_planned(value: Value, compiled: &Compiled) -> f64 {
    match value {
        Value::Constant(x) => x,
        Value::Unknown(i) => compiled.ledger.unknowns.get(i).map_or(f64::NAN, |u| u.image(0.0)),
    }
}
