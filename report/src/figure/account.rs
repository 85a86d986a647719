//! Which figures has an account?
//!
//! Each with its name, by which an address or a command asks for it: `flow-Cu`, `yields`, `losses-1`,
//! `holding-1` (lots that were weighed, and the last), `budget-1`, `drying-1`. What the account does not hold has no figure. Nothing is computed here.

use super::{Figure, budget_figure, drying_figure, flow_figure, holding_figure, levels_figure, yields_figure};
use prep::outcome::Account;

/// Most budgets that are drawn.
const BUDGETS: usize = 2;

/// The figures of an account, the flow first, each with its name.
#[must_use]
pub fn account_figures(account: &Account) -> Vec<(String, Figure)> {
    let named = |kind: &str, at: usize| format!("{kind}-{}", at + 1);
    let flows =
        account.elements.iter().filter_map(|e| flow_figure(account, e).map(|figure| (format!("flow-{e}"), figure)));
    let mut all: Vec<(String, Figure)> = flows.collect();
    all.extend(yields_figure(account).map(|figure| ("yields".to_owned(), figure)));
    all.extend(account.levels.iter().enumerate().map(|(at, loss)| (named("losses", at), levels_figure(loss))));
    let last = account.lots.len().saturating_sub(1);
    let lots = account.lots.iter().enumerate().filter(|(at, lot)| *at == last || lot.weighed.is_some());
    let held = lots.filter_map(|(_, lot)| holding_figure(lot)).enumerate();
    all.extend(held.map(|(at, figure)| (named("holding", at), figure)));
    let budgets = account.budgets.iter().take(BUDGETS).enumerate();
    all.extend(budgets.map(|(at, budget)| (named("budget", at), budget_figure(budget))));
    let series = account.series.iter().enumerate();
    all.extend(series.filter_map(|(at, s)| drying_figure(&s.answer).map(|figure| (named("drying", at), figure))));
    all
}
