//! Are suppositions about steps and traces that can be?

use super::Checker;
use crate::syntax::suggest;

impl Checker<'_> {
    pub(super) fn suppositions(&self) {
        let steps = &self.preparation.steps;
        for supposition in &self.preparation.suppositions {
            let (name, span) = (&supposition.step.value, &supposition.step.span);
            let place = format!("`suppose` `{}`", supposition.name.value);
            match steps.iter().find(|s| s.name.value == *name) {
                None => {
                    let names: Vec<&str> = steps.iter().map(|s| s.name.value.as_str()).collect();
                    let message = format!("{place} is about the step `{name}`, which does not exist");
                    self.error("unknown-step", span, message, suggest(name, &names));
                }
                Some(step) if step.understood && !step.action.value.heats() => {
                    let message = format!("{place}: step `{name}` ({}) takes no trace", step.action.value.word());
                    self.error("trace-here", span, message, "suppose it of the step that dries or ignites");
                }
                Some(_) => {}
            }
            let bounds: f64 = supposition.trace.iter().map(|t| t.bound).sum();
            if let Some(first) = supposition.trace.first()
                && bounds >= 1.0
            {
                let message = format!("{place}: the bounds of its traces add up to {:.0} %", bounds * 100.0);
                self.error("out-of-range", &first.species.span, message, "together they stay below 100 %");
            }
            for trace in &supposition.trace {
                self.kept(&trace.species.value, &trace.species.span, &place);
            }
        }
    }
}
