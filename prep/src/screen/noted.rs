//! What is said of a source, a reagent or a ware, whatever the amounts?
//!
//! Spent cells, oxalates, glass under suction, an oven, hydrofluoric acid; each with the first step that uses it, so that it
//! stands on the bench sheet and at the bench. And supplies that the program would not make. The first are notes, no
//! cautions: nothing is wrong with the step. A word on suction is said once, of the first step that draws.
//!
//! Source: common practice.

use super::contents::Flow;
use super::told::{BY_THE_STEP, NOTED, Told, caution, statements_of};
use super::words;
use crate::action::Heat;
use crate::model::{Preparation, Step, Supply};
use crate::outcome::CautionText;
use chem::hazard::{Class, classes, groups};

/// What such a word rests on.
const BASIS: &str = "Basis: common practice, whatever the amount.";

/// Supplies that the program would not make.
pub(super) fn bounded_reagents(preparation: &Preparation) -> Vec<Told> {
    let mut list = Vec::new();
    for supply in &preparation.supplies {
        for held in &supply.holds {
            let Some(found) = chem::hazard::bound(&held.value.formula) else { continue };
            let mild = matches!(
                found.group,
                chem::hazard::Group::NitricAcid
                    | chem::hazard::Group::ConcentratedPeroxide
                    | chem::hazard::Group::UnknownOrganic
            );
            if mild {
                continue;
            }
            let what = format!(
                "the supply `{}` holds `{}`: as a bought reagent it may be used; {}.",
                supply.name.value,
                held.value,
                words::reason(found.group)
            );
            let mut text = caution("bounded-reagent", "Danger", what);
            text.statements = statements_of([&held.value.formula], |_| true);
            text.control = "Only what the step needs, away from what burns and from acids.".to_owned();
            text.waste = words::help(found.group).to_owned();
            list.push(Told { text, span: held.span.clone(), step: None, rank: 1 });
        }
    }
    list
}

/// What is said of sources, reagents and wares.
pub(super) fn noted(preparation: &Preparation, flow: &Flow) -> Vec<Told> {
    let mut list = Vec::new();
    for supply in &preparation.supplies {
        let texts = [oxalate(supply), spent_cell(supply), fluoride(supply)];
        list.extend(texts.into_iter().flatten().map(|text| Told {
            text,
            span: supply.name.span.clone(),
            step: first_use(preparation, supply),
            rank: NOTED,
        }));
    }
    let by_suction = |s: &Step| s.by.as_ref().is_some_and(|by| by.value == "suction");
    let dries = |s: &Step| s.action.value.manner().heat == Heat::Dry;
    let first = |holds: &dyn Fn(&Step) -> bool| preparation.steps.iter().enumerate().find(|(_, step)| holds(step));
    let told = |i: usize, step: &Step, text: CautionText, rank: u8| Told {
        text,
        span: step.name.span.clone(),
        step: Some(i),
        rank,
    };
    list.extend(first(&by_suction).map(|(i, step)| told(i, step, suction(step), NOTED)));
    list.extend(first(&dries).map(|(i, step)| told(i, step, oven(step), BY_THE_STEP)));
    list.extend(made_oxalate(preparation, flow));
    list
}

/// The first step that takes a supply.
fn first_use(preparation: &Preparation, supply: &Supply) -> Option<usize> {
    preparation.steps.iter().position(|step| step.take.iter().any(|take| take.source.value == supply.name.value))
}

fn note(code: &'static str, what: String) -> CautionText {
    let mut text = caution(code, "Warning", what);
    text.basis = BASIS.to_owned();
    text
}

fn oxalate_text(what: String) -> CautionText {
    let mut text = note("reagent-note", what);
    text.first_sign = "Swallowed or breathed as dust it burns mouth and throat; the kidneys fail later.".to_owned();
    text.control = "No dust, no food near it, hands washed after it.".to_owned();
    text.emergency = "Swallowed: call a poison centre at once.".to_owned();
    text.waste = "Liquors with oxalate: lime throws it out as calcium oxalate.".to_owned();
    text
}

fn oxalate(supply: &Supply) -> Option<CautionText> {
    let held = supply.holds.iter().find(|h| groups(&h.value.formula).has("oxalate"))?;
    let what = format!("`{}` is an oxalate or oxalic acid: poisonous, it harms the kidneys.", supply.name.value);
    let mut text = oxalate_text(what);
    text.statements = statements_of([&held.value.formula], |code| code.starts_with("H3"));
    Some(text)
}

/// An oxalate that a step makes out of something else.
fn made_oxalate(preparation: &Preparation, flow: &Flow) -> Option<Told> {
    let bought = |s: &Supply| s.holds.iter().any(|h| groups(&h.value.formula).has("oxalate"));
    if preparation.supplies.iter().any(bought) {
        return None;
    }
    let made =
        |i: &usize| flow.benches.get(*i).is_some_and(|bench| bench.after.real().any(|p| p.groups.has("oxalate")));
    let step = (0..preparation.steps.len()).find(made)?;
    let name = &preparation.steps.get(step)?.name;
    let text = oxalate_text(format!("step `{}` makes an oxalate: poisonous, it harms the kidneys.", name.value));
    Some(Told { text, span: name.span.clone(), step: Some(step), rank: NOTED })
}

fn spent_cell(supply: &Supply) -> Option<CautionText> {
    let words = format!("{} {}", supply.name.value, supply.label).to_lowercase().replace(['-', '–'], " ");
    let known = ["battery", "batteries", "dry cell", "spent cell", "alkaline cell", "zinc carbon"];
    known.iter().any(|word| words.contains(word)).then_some(())?;
    let mut text = note(
        "reagent-note",
        format!(
            "`{}`: open zinc–carbon or alkaline cells only, never lithium; old cells may hold mercury, alkaline paste burns skin.",
            supply.name.value
        ),
    );
    text.first_sign = "A lithium cell that is cut hisses, smokes and burns.".to_owned();
    text.control = "Read the type on the jacket before the saw; over a tray, wet, outdoors.".to_owned();
    text.emergency = "It smokes: step back, outdoors, dry sand. Paste on skin: rinse for 15 min.".to_owned();
    text.waste = "Cans, seals and paste that are left go to the collection of batteries.".to_owned();
    Some(text)
}

fn fluoride(supply: &Supply) -> Option<CautionText> {
    let held = supply
        .holds
        .iter()
        .find(|h| classes(&h.value.formula, h.value.phase, 1.0).contains(&Class::HydrofluoricAcid))?;
    let what = format!(
        "`{}` holds hydrofluoric acid: it eats glass, heats up with ammonia, and burns through the skin without pain at first.",
        supply.name.value
    );
    let mut text = note("reagent-note", what);
    text.signal = "Danger";
    text.statements = statements_of([&held.value.formula], |_| true);
    text.control = "Polyethylene only, never glass; calcium gluconate gel at hand.".to_owned();
    text.emergency = "On skin: rinse, calcium gluconate gel, to a hospital at once, also without pain.".to_owned();
    text.waste = "Unmixed to the hazardous waste service, in plastic.".to_owned();
    Some(text)
}

fn suction(step: &Step) -> CautionText {
    let what = format!(
        "step `{}` draws by suction: a thick-walled flask without scratch or star, else it implodes.",
        step.name.value
    );
    let mut text = note("ware-note", what);
    text.first_sign = "A star or a scratch in the glass; a flat-bottomed thin flask.".to_owned();
    text.control = "Look the flask over before the pump runs; tape or a net around it.".to_owned();
    text.emergency = "Splinters: do not rub; rinse the eyes, to a doctor.".to_owned();
    text.waste = "Glass with a star: the bin for broken glass, before it is used again.".to_owned();
    text
}

fn oven(step: &Step) -> CautionText {
    let what = format!("step `{}` dries in an oven: one that is used here never cooks food again.", step.name.value);
    let mut text = note("ware-note", what);
    text.control = "An oven, dishes and spoons of the bench, marked as such, out of the kitchen.".to_owned();
    text.wear = String::new();
    text.emergency = String::new();
    text
}
