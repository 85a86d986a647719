//! How does a preparation take what equilibrium says of a heated lot?
//!
//! `may_hold = "equilibrium"` on a step that dries or ignites stands for the solids that [`super::may_hold`] names at the
//! temperature and in the atmosphere of the step, as far as the lot's solids can become them with the gases of that
//! atmosphere. They are told in a note, so that they can be read, and copied instead. Solids below a twentieth of the lot are
//! left out: they would be residues of the liquor, which have their own rule.
//!
//! Source: [`super`].

use super::{Oven, Surroundings, chain, may_hold};
use crate::model::{Preparation, Span, Spanned, Step};
use crate::outcome::Severity;
use crate::syntax::Findings;
use chem::{Dimension, Quantity, Species, SpeciesPattern, conversion};

/// The word of the file.
pub(crate) const WORD: &str = "equilibrium";

/// Lists what the steps that ask for it may hold.
pub(crate) fn fill(preparation: &mut Preparation, findings: &Findings) {
    for place in 0..preparation.steps.len() {
        let Some(span) = preparation.steps[place].by_equilibrium.clone() else { continue };
        let lot = crate::screen::solids_before(preparation, place);
        match found(&preparation.steps[place], &lot) {
            Ok((list, place_words)) => {
                let quoted: Vec<String> = list.iter().map(|species| format!("\"{species}\"")).collect();
                let message = format!(
                    "`may_hold` of step `{}`, by equilibrium {place_words}: {}",
                    preparation.steps[place].name.value,
                    quoted.join(", ")
                );
                let hint = "equilibrium says what may be there, not what time allows; strike out what a test excludes by listing the rest yourself";
                findings.push("may-hold-found", Severity::Note, &span, message, hint);
                let step = &mut preparation.steps[place];
                step.may_hold.extend(list.into_iter().filter_map(|species| pattern(&species, &span)));
            }
            Err((message, hint)) => {
                let message = format!("`may_hold` of step `{}`: {message}", preparation.steps[place].name.value);
                findings.error("no-equilibrium", &span, message, hint);
            }
        }
    }
}

fn pattern(species: &Species, span: &Span) -> Option<Spanned<SpeciesPattern>> {
    Some(Spanned { value: SpeciesPattern::parse(&species.to_string()).ok()?, span: span.clone() })
}

/// Temperature of a step, K.
pub(crate) fn kelvin(step: &Step) -> Option<f64> {
    let text = step.temperature.as_deref()?;
    Quantity::parse_as(text, Dimension::TEMPERATURE).ok().map(|quantity| quantity.si().central())
}

type Found = Result<(Vec<Species>, String), (String, &'static str)>;

fn found(step: &Step, lot: &[(Species, f64)]) -> Found {
    let Some(kelvin) = kelvin(step) else {
        return Err(("its temperature is not stated".to_owned(), "add `temperature = \"600 °C\"`"));
    };
    let Some(word) = step.atmosphere_text.as_deref() else {
        return Err(("what it is heated in is not stated".to_owned(), "add `atmosphere = \"air\"`"));
    };
    let surroundings = Surroundings::from_word(word).unwrap_or(Surroundings::Air);
    let nothing = || ("nothing is known of what the lot becomes".to_owned(), "list the solids yourself");
    if lot.is_empty() {
        return Err(("no solid comes into the step".to_owned(), "list the solids yourself"));
    }
    let mut oven = Oven::new(lot, surroundings).ok_or_else(nothing)?;
    let point = oven.at(kelvin);
    if !point.solved {
        return Err(nothing());
    }
    let chains: Vec<_> = lot.iter().map(|(solid, _)| chain(solid, &oven.pool, surroundings)).collect();
    let exchange: Vec<Species> =
        step.atmosphere.gases().iter().filter_map(|gas| Species::parse(&format!("{gas}(g)")).ok()).collect();
    let reachable = |to: &Species| lot.iter().any(|(from, _)| from == to || conversion(from, to, &exchange).is_some());
    let list: Vec<Species> = may_hold(&point, &oven.species, &chains, kelvin).into_iter().filter(reachable).collect();
    if list.is_empty() {
        return Err(nothing());
    }
    Ok((list, format!("at {} in {word}", step.temperature.as_deref().unwrap_or(""))))
}

/// Which of several solids stands at the temperature and in the atmosphere of a step; `None` where that is not known.
pub(crate) fn stands(step: &Step, solids: &[&Species]) -> Option<Species> {
    let surroundings = Surroundings::from_word(step.atmosphere_text.as_deref()?)?;
    let mut oven = Oven::new(&[((*solids.first()?).clone(), 1.0)], surroundings)?;
    let point = oven.at(kelvin(step)?);
    let [(only, _)] = point.phases[..] else { return None };
    let found = oven.species.get(only).filter(|_| point.solved)?;
    solids.iter().find(|solid| **solid == found).map(|solid| (*solid).clone())
}
