//! What does it cost, each gram of it, and what went elsewhere?
//!
//! Cost is what is charged, at the price of the pack it comes from: a broken pack costs its share. Supplies without a
//! price are named, and the sum is then "at least"; water that is not listed is free. Cost of what is not in the
//! product: the cost of the supplies that bring the element, times the share of the charged element that is not in the
//! product. Reagents that bring none of the element are spent whatever becomes of it and are no part of that figure;
//! where several supplies bring the element at different prices, each stream takes of all alike.
//!
//! Neglected: fuel, filters, work, what a remnant of a pack is worth. All of these make it dearer.

use super::interval;
use super::spent::Spent;
use crate::model::Supply;
use crate::outcome::{AccountCost, Cost, Interval, LostCost, SupplyCost};
use chem::Element;

/// What the account knows of the product and of the element.
pub(crate) struct Product<'a> {
    /// Name of the product, and its mass in each draw, g.
    pub product: Option<(String, Vec<f64>)>,
    /// Element that carries the yields.
    pub element: Option<Element>,
    /// Share of the charged element in each stream, product first, in each draw.
    pub shares: Vec<(&'static str, Vec<f64>)>,
    pub spent: &'a Spent<'a>,
}

/// Cost of the charges; none where nothing has a price.
pub(crate) fn cost(spent: &Spent<'_>) -> Option<Cost> {
    let priced = priced(spent, |_| true);
    let of = spent.preparation.supplies.iter().find_map(|s| s.price.as_ref())?.currency;
    let currency = of.code;
    let basis = if spent.weighed { "charged" } else { "as planned" };
    let supplies = priced
        .iter()
        .filter_map(|(i, column)| {
            let supply = &spent.preparation.supplies[*i];
            let price = supply.price.as_ref()?;
            let charged: Vec<f64> = spent.used(*i, crate::model::By::Mass).iter().map(|kg| kg * 1e3).collect();
            Some(SupplyCost {
                supply: supply.name.value.clone(),
                charged: interval(&charged, spent.weights, "g", Some("as sold")),
                pack: price.pack.text.clone(),
                price: price.text.value.trim().to_owned(),
                cost: interval(column, spent.weights, currency, Some(basis)),
            })
        })
        .collect();
    let total = sum(spent, &priced);
    Some(Cost {
        currency,
        decimals: of.decimals,
        supplies,
        total: interval(&total, spent.weights, currency, Some(basis)),
        unpriced: unpriced(spent, |_| true),
        free_water: spent.charges.iter().any(|charge| charge.supply.is_none()),
    })
}

/// Cost of the preparation, of a gram of its product, and of what went elsewhere.
pub(crate) fn account_cost(of: &Product<'_>) -> Option<AccountCost> {
    let spent = of.spent;
    let charges = cost(spent)?;
    let currency = charges.currency;
    let total = sum(spent, &priced(spent, |_| true));
    let weighable = of.product.as_ref().filter(|(_, masses)| masses.iter().all(|mass| *mass > 1e-6));
    let per_gram = weighable.map(|(name, masses)| {
        let column: Vec<f64> = total.iter().zip(masses).map(|(cost, mass)| cost / mass).collect();
        interval(&column, spent.weights, currency, Some(&format!("per gram of {name}, as it stands")))
    });
    let lost = of.element.filter(|_| !of.shares.is_empty()).and_then(|element| lost(of, element, currency));
    Some(AccountCost { charges, product: of.product.as_ref().map(|(name, _)| name.clone()), per_gram, lost })
}

fn lost(of: &Product<'_>, element: Element, currency: &'static str) -> Option<LostCost> {
    let spent = of.spent;
    let brings = |supply: &Supply| supply.holds.iter().any(|h| *h.value.formula.count(element).numer() != 0);
    let priced = priced(spent, brings);
    if priced.is_empty() {
        return None;
    }
    let charged = sum(spent, &priced);
    let basis = format!("element {}", element.symbol());
    let told = |column: &[f64]| -> Interval { interval(column, spent.weights, currency, Some(&basis)) };
    let part = |shares: &[f64]| charged.iter().zip(shares).map(|(c, s)| c * s).collect::<Vec<f64>>();
    let streams: Vec<(&'static str, Vec<f64>)> = of.shares.iter().map(|(name, shares)| (*name, part(shares))).collect();
    let mut elsewhere = vec![0.0; charged.len()];
    for (_, column) in streams.iter().skip(1) {
        elsewhere.iter_mut().zip(column).for_each(|(total, one)| *total += one);
    }
    Some(LostCost {
        element: element.symbol().to_owned(),
        supplies: priced.iter().map(|(i, _)| spent.preparation.supplies[*i].name.value.clone()).collect(),
        unpriced: unpriced(spent, brings),
        charged: told(&charged),
        not_in_product: told(&elsewhere),
        streams: streams.iter().map(|(name, column)| (*name, told(column))).collect(),
    })
}

/// Supplies with a price that are charged, and what the charges cost in each draw.
fn priced(spent: &Spent<'_>, which: impl Fn(&Supply) -> bool) -> Vec<(usize, Vec<f64>)> {
    let supplies = spent.preparation.supplies.iter().enumerate();
    supplies
        .filter(|(i, supply)| which(supply) && spent.is_used(*i))
        .filter_map(|(i, supply)| {
            let price = supply.price.as_ref()?;
            let each = price.amount / price.pack.figure.central();
            Some((i, spent.used(i, price.pack.by).iter().map(|amount| amount * each).collect()))
        })
        .collect()
}

fn unpriced(spent: &Spent<'_>, which: impl Fn(&Supply) -> bool) -> Vec<String> {
    let supplies = spent.preparation.supplies.iter().enumerate();
    supplies
        .filter(|(i, supply)| which(supply) && supply.price.is_none() && spent.is_used(*i))
        .map(|(_, supply)| supply.name.value.clone())
        .collect()
}

fn sum(spent: &Spent<'_>, priced: &[(usize, Vec<f64>)]) -> Vec<f64> {
    let mut total = vec![0.0; spent.weights.len()];
    for (_, column) in priced {
        total.iter_mut().zip(column).for_each(|(total, one)| *total += one);
    }
    total
}
