//! What did each correction change?
//!
//! The live account is made twice: with the figure that was corrected, and with the correction, all other corrections of
//! the file standing and later corrections of the same reading left out. Told are the element in the product and in the lot
//! that the reading is about, the overall yield, and the yields as quoted that changed.
//!
//! Neglected: the difference between the live view and the sampled account, which is alike on both sides.

use super::account::live_account;
use crate::model::{Preparation, Reading};
use crate::outcome::{Account, Change, ChangedLot, ChangedQuote, Figure, QuotedYield};
use rayon::prelude::*;
use std::collections::BTreeMap;

/// The changes that the corrections of a file made, in file order.
pub(super) fn changes(preparation: &Preparation) -> Vec<Change> {
    let readings: Vec<&Reading> = preparation.steps.iter().flat_map(|s| &s.readings).collect();
    let read = |id: &str| readings.iter().copied().find(|r| r.id.value == id && r.weigh.is_some());
    let corrections: Vec<(&Reading, &Reading)> =
        readings.iter().filter_map(|to| Some((read(&to.corrects.as_ref()?.value)?, read(&to.id.value)?))).collect();
    if corrections.is_empty() {
        return Vec::new();
    }
    // Where no other correction lies between, the account after one is the account before the next.
    let mut states: BTreeMap<Vec<&str>, Option<Account>> = BTreeMap::new();
    for (from, to) in &corrections {
        states.insert(standing_with(&readings, &from.id.value), None);
        states.insert(standing_with(&readings, &to.id.value), None);
    }
    states.par_iter_mut().for_each(|(standing, account)| *account = Some(live_account(&only(preparation, standing))));
    let account = |id: &str| states.get(&standing_with(&readings, id)).and_then(Option::as_ref);
    corrections
        .iter()
        .filter_map(|(from, to)| Some(change(from, to, account(&from.id.value)?, account(&to.id.value)?)))
        .collect()
}

/// Identifiers of the readings that stand if this one does: those that it corrects and that correct it do not.
fn standing_with<'a>(readings: &[&'a Reading], id: &str) -> Vec<&'a str> {
    let corrected_by = |id: &str| readings.iter().find(|r| r.corrects.as_ref().is_some_and(|c| c.value == id));
    // The end of each chain of corrections; a chain is no longer than the list.
    let last_of = |first: &'a Reading| {
        let mut last = first;
        for _ in 0..readings.len() {
            match corrected_by(&last.id.value) {
                Some(next) if last.id.value != id => last = next,
                _ => break,
            }
        }
        last.id.value.as_str()
    };
    readings.iter().copied().filter(|r| r.corrects.is_none()).map(last_of).collect()
}

/// The preparation with these readings and no other, none of them a correction.
fn only(preparation: &Preparation, standing: &[&str]) -> Preparation {
    let mut known = preparation.clone();
    for step in &mut known.steps {
        step.readings.retain(|r| standing.contains(&r.id.value.as_str()));
        step.readings.iter_mut().for_each(|r| r.corrects = None);
    }
    known
}

fn change(from: &Reading, to: &Reading, before: &Account, after: &Account) -> Change {
    let about = to.of.as_ref().map(|of| of.value.as_str());
    let product = after.streams.iter().filter(|s| s.name == "product").flat_map(|s| s.lots.iter().map(String::as_str));
    let mut names: Vec<&str> = product.collect();
    names.extend(about.filter(|lot| !names.contains(lot)));
    let overall = |account: &Account| account.yields.as_ref().map(|y| y.overall.clone());
    Change {
        reading: to.id.value.clone(),
        corrects: from.id.value.clone(),
        from: from.text.clone(),
        to: to.text.clone(),
        reason: to.reason.clone(),
        at: to.at.clone(),
        lots: names.iter().flat_map(|lot| changed_lot(lot, before, after)).collect(),
        overall: overall(before).zip(overall(after)),
        quoted: changed_quotes(before, after),
    }
}

fn changed_lot(lot: &str, before: &Account, after: &Account) -> Vec<ChangedLot> {
    let held = |account: &Account, element: &str| {
        let lot = account.lots.iter().find(|l| l.id == lot)?;
        lot.elements.iter().find(|e| e.element == element).map(|e| e.mass.clone())
    };
    let told = after.elements.iter().filter_map(|element| {
        let (before, after) = (held(before, element)?, held(after, element)?);
        Some(ChangedLot { lot: lot.to_owned(), element: element.clone(), before, after })
    });
    told.collect()
}

/// Yields as quoted that are not the same on both sides.
fn changed_quotes(before: &Account, after: &Account) -> Vec<ChangedQuote> {
    let quotes = |account: &Account| account.yields.as_ref().map_or_else(Vec::new, |y| y.quoted.clone());
    let (before, after) = (quotes(before), quotes(after));
    let same =
        |a: &QuotedYield, b: &QuotedYield| (&a.lot, &a.as_formula, &a.method) == (&b.lot, &b.as_formula, &b.method);
    let percent = |list: &[QuotedYield], of: &QuotedYield| -> Option<Figure> {
        list.iter().find(|q| same(q, of)).map(|q| q.percent.clone())
    };
    let gone = before.iter().filter(|b| !after.iter().any(|a| same(a, b)));
    after
        .iter()
        .chain(gone)
        .map(|q| ChangedQuote {
            lot: q.lot.clone(),
            as_formula: q.as_formula.clone(),
            method: q.method.clone(),
            before: percent(&before, q),
            after: percent(&after, q),
        })
        .filter(|q| q.before.as_ref().map(|f| f.value) != q.after.as_ref().map(|f| f.value))
        .collect()
}
