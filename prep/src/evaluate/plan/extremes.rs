//! What in the plan cannot be meant, though every number of it could be?
//!
//! A portion that takes all there is, a filter that lets nothing through, a target that no supply can become: each follows
//! from the forecast, not from a single field.

use super::super::compile::Compiled;
use super::super::findings::finding;
use crate::model::{Part, Preparation};
use crate::outcome::{Finding, Severity};
use chem::Element;

/// Share of what a step gives that counts as nothing: fines that pass a filter.
const NOTHING: f64 = 1e-4;
/// Elements that air and water bring.
const EVERYWHERE: [&str; 4] = ["H", "O", "C", "N"];

/// Findings from the forecast masses of all lots, one column of draws for each.
pub(super) fn extremes(preparation: &Preparation, everything: &Compiled, masses: &[Vec<f64>]) -> Vec<Finding> {
    let mut list = Vec::new();
    let most = |lot: &str| {
        let column = everything.lot(lot).and_then(|lot| masses.get(lot));
        column.map_or(0.0, |column| column.iter().copied().fold(0.0, f64::max))
    };
    for step in &preparation.steps {
        let given: f64 = step.gives.iter().map(|give| most(&give.lot.value)).sum();
        for give in step.gives.iter().filter(|give| given > 0.0 && most(&give.lot.value) < NOTHING * given) {
            let (name, lot) = (&step.name.value, &give.lot.value);
            match give.part.value {
                Part::Rest => {
                    let message = format!("step `{name}` leaves nothing for `{lot}`: the portion is all there is");
                    let hint = "take a smaller portion, or leave the rest out of `gives`";
                    list.push(finding("portion-too-large", Severity::Warning, Some(&give.part.span), message, hint));
                }
                Part::Solution => {
                    let message = format!("nothing runs into `{lot}` in step `{name}`: all liquor is held back");
                    let hint = "check `held_liquor`: it is the mass of liquor in the wet cake and on the filter";
                    list.push(finding("no-liquor", Severity::Warning, Some(&give.part.span), message, hint));
                }
                Part::All | Part::Solids | Part::Mass(_) => {}
            }
        }
    }
    list.extend(target(preparation));
    list
}

/// A target with an element that nothing brings.
fn target(preparation: &Preparation) -> Option<Finding> {
    let target = preparation.target.as_ref()?;
    let brought = |element: Element| {
        EVERYWHERE.contains(&element.symbol())
            || preparation.supplies.iter().any(|supply| {
                supply.holds.is_empty()
                    || supply.holds.iter().any(|held| *held.value.formula.count(element).numer() != 0)
            })
    };
    let missing: Vec<&str> =
        target.substance.formula.elements().map(|(e, _)| e).filter(|e| !brought(*e)).map(Element::name).collect();
    if missing.is_empty() {
        return None;
    }
    let message = format!("the target {} needs {}, and no supply holds it", target.substance, missing.join(" and "));
    let hint = "check the formula of the target, or add the supply that brings it";
    Some(finding("target-not-supplied", Severity::Warning, Some(&target.span), message, hint))
}
