//! Are the tests of portions about lots that are there, and is what they count in the books?

use super::Checker;
use crate::model::Step;
use crate::syntax::suggest;

impl<'a> Checker<'a> {
    pub(super) fn determinations(&self, i: usize, step: &'a Step) {
        for determination in &step.determinations {
            let id = &determination.id.value;
            let what = format!("test `{id}`");
            self.lot_at_hand(i, step, (&what, "is about"), &determination.of.value, &determination.of.span);
            let counts = determination.test.name == "titre";
            if counts && determination.counted_as.is_none() && self.preparation.account_for.is_empty() {
                let message = format!("{what} is a titre, and nothing says of which element");
                self.error(
                    "missing-field",
                    &determination.id.span,
                    message,
                    "add `as = \"Cu\"`, or `account_for` at the top",
                );
            }
            let Some(corrects) = &determination.corrects else { continue };
            let all = || self.preparation.steps.iter().flat_map(|s| &s.determinations);
            let before: Vec<&str> = all().map(|d| d.id.value.as_str()).take_while(|other| other != id).collect();
            if !before.contains(&corrects.value.as_str()) {
                let message = format!("{what} corrects `{}`, which is no earlier test", corrects.value);
                self.error("unknown-reading", &corrects.span, message, suggest(&corrects.value, &before));
            }
            if determination.reason.is_none() {
                let message = format!("{what} corrects `{}` and gives no reason", corrects.value);
                self.error(
                    "missing-field",
                    &determination.id.span,
                    message,
                    "add `reason = \"…\"`: why the first was wrong",
                );
            }
        }
    }
}
