//! Vessels that exist, and prices in one currency.

use super::Checker;
use crate::model::Spanned;
use crate::syntax::suggest;

impl Checker<'_> {
    /// A vessel that something is made in has to be listed.
    pub(super) fn vessel(&self, vessel: Option<&Spanned<String>>, what: &str) {
        let Some(vessel) = vessel else { return };
        let names: Vec<&str> = self.preparation.vessels.iter().map(|v| v.name.value.as_str()).collect();
        if names.contains(&vessel.value.as_str()) {
            return;
        }
        let hint = if names.is_empty() {
            format!("add `[[vessel]]` with `name = \"{}\"`", vessel.value)
        } else {
            suggest(&vessel.value, &names)
        };
        let message = format!("{what} is made in `{}`, which is no vessel", vessel.value);
        self.error("unknown-vessel", &vessel.span, message, hint);
    }

    /// Nothing here converts money.
    pub(super) fn currencies(&self) {
        let mut prices = self.preparation.supplies.iter().filter_map(|s| s.price.as_ref());
        let Some(first) = prices.next() else { return };
        for other in prices.filter(|price| price.currency != first.currency) {
            let message =
                format!("prices in {} and in {}: nothing here converts them", first.currency.code, other.currency.code);
            let hint = "state all prices of a file in one currency, at the rate that was paid";
            self.error("several-currencies", &other.text.span, message, hint);
        }
    }
}
