//! An oxide with a metal powder: when is there a weighing list?
//!
//! Stoichiometry and the account of a finished run are always given. The weighing list only where the metal is the declared,
//! weighed and accounted target, the oxidant a simple oxide, the gas at equilibrium at most 2 mmol per gram and the release at
//! most 150 kJ. What is not computed counts as not holding.
//!
//! Source: the program's own bounds; [`engine::hazard::withheld`].

use super::contents::{Bench, Present, key};
use super::energy::Energy;
use super::told::{caution, figure, hold, statements_of};
use crate::model::{Preparation, Step};
use crate::outcome::{CautionText, HoldPoint};
use chem::hazard::Class;
use chem::hazard::class::burns_with;
use engine::hazard::{MetalReduction, Withheld, withheld};
use std::collections::BTreeSet;

/// A burning mix of oxide and metal.
pub(super) struct Reduction {
    pub caution: CautionText,
    pub holds: Vec<HoldPoint>,
    /// Why there is no weighing list.
    pub reasons: Vec<&'static str>,
}

fn reducing(own: &Present) -> bool {
    is_half_metal(own)
        || own.is(Class::MetalPowder)
            && own.groups.element.is_some_and(|m| !["Cu", "Ag", "Hg", "Au", "Pt", "Pd"].contains(&m))
}

/// Silicon and boron reduce like metals, and are in none of the bounds.
fn is_half_metal(own: &Present) -> bool {
    own.groups.element.is_some_and(|symbol| ["Si", "B"].contains(&symbol))
}

/// The mix of a step, if it is one.
pub(super) fn reduction(
    preparation: &Preparation,
    step: &Step,
    bench: &Bench,
    energy: Energy<'_>,
) -> Option<Reduction> {
    if bench.wet {
        return None;
    }
    let metals: Vec<&Present> = bench.before.real().filter(|p| reducing(p)).collect();
    let burns = |metal: &Present, p: &Present| {
        !p.dissolved && metal.groups.element.is_some_and(|symbol| burns_with(&p.species.formula, symbol))
    };
    let of = |metal: &&Present| bench.before.real().filter(|p| burns(metal, p)).collect::<Vec<_>>();
    let (metal, oxides) = metals.iter().map(|metal| (*metal, of(metal))).find(|(_, oxides)| !oxides.is_empty())?;
    let oxide = *oxides.first()?;
    // What else is in the mix is in no figure.
    let least = 0.01 * bench.before.mass();
    let alone = !is_half_metal(metal) && bench.before.real().filter(|p| p.high * p.molar_mass > least).count() <= 2;
    let mass = (metal.high * metal.molar_mass) + oxide.high * oxide.molar_mass;
    let known = (energy.mix)(&[(&oxide.species, oxide.high), (&metal.species, metal.high)]);
    let release = known.heat.map(|heat| heat * mass);
    let case = MetalReduction {
        is_target: is_target(preparation, step, oxide),
        simple_oxide: oxides.len() == 1 && oxide.is(Class::OxideOxidiser),
        gas: known.gas.filter(|_| alone),
        release: release.filter(|_| alone),
    };
    let reasons = withheld(&case).into_iter().map(words).collect();
    let heat = match known.heat {
        Some(heat) => format!("{} kJ per gram, {} kJ in all", figure(heat / 1e6), figure(heat * mass / 1e3)),
        None => "its heat is not computed here".to_owned(),
    };
    let flame = known.flame.map_or(String::new(), |t| format!(", up to {t:.0} K"));
    let what = format!(
        "step `{}` has `{}` with `{}` dry, {} g together: once started the mix burns by itself, white-hot, and cannot be put out; {heat}{flame}.",
        step.name.value,
        oxide.species,
        metal.species,
        figure(mass * 1e3)
    );
    let mut text = caution("metal-reduction", "Danger", what);
    text.statements = statements_of([&metal.species.formula], |code| code.starts_with("H2"));
    text.first_sign = "Sparks; damp in the mix throws it out with an explosion.".to_owned();
    text.go_on = "Only where both powders are dry, proven by constant mass.".to_owned();
    text.control =
        "Outdoors behind a shield, or in a hood at gram scale and cleared of what burns; distance, nothing closed around it; never ground together; local law first."
            .to_owned();
    text.wear = "Face shield, dark glasses, leather gloves, cotton clothes.".to_owned();
    text.emergency = "No water, no carbon dioxide: let it burn out on dry sand.".to_owned();
    text.waste = "A mix that did not burn: dry, in grams, to the hazardous waste service. Slag: when it is cold, to the metal waste.".to_owned();
    text.basis =
        "Basis: heats at 25 °C of the amounts above at their most; equilibrium without loss of heat.".to_owned();
    let holds = vec![hold(
        "both powders are dry",
        "two weighings after drying that agree within the balance",
        "dry on; a damp mix is not used",
    )];
    Some(Reduction { caution: text, holds, reasons })
}

/// Whether the metal of the oxide is the declared, weighed and accounted target.
fn is_target(preparation: &Preparation, step: &Step, oxide: &Present) -> bool {
    let Some(target) = &preparation.target else { return false };
    let made = target.substance.formula.elements().map(|(e, _)| e).collect::<Vec<_>>();
    let [metal] = made.as_slice() else { return false };
    let accounted = preparation.account_for.contains(metal) && oxide.groups.metal(metal.symbol());
    accounted && is_weighed(preparation, step) && key(&target.substance.formula) != key(&oxide.species.formula)
}

/// Whether something that comes out of a step, there or further on, is weighed.
fn is_weighed(preparation: &Preparation, step: &Step) -> bool {
    let mut lots: BTreeSet<&str> = BTreeSet::new();
    let after = preparation.steps.iter().skip_while(|s| s.name.value != step.name.value);
    for (place, own) in after.enumerate() {
        if place == 0 || own.take.iter().any(|take| lots.contains(take.source.value.as_str())) {
            lots.extend(own.gives.iter().map(|give| give.lot.value.as_str()));
            let mut weighed = own.readings.iter().filter_map(|reading| reading.of.as_ref());
            if weighed.any(|of| lots.contains(of.value.as_str())) {
                return true;
            }
        }
    }
    false
}

fn words(reason: Withheld) -> &'static str {
    match reason {
        Withheld::NotTheTarget => "the metal of the oxide is not the declared, weighed and accounted target",
        Withheld::NotASimpleOxide => "the oxidant is more than a simple oxide",
        Withheld::GasUnknown => "the gas at equilibrium is not computed",
        Withheld::TooMuchGas => "the gas at equilibrium may exceed 2 mmol per gram",
        Withheld::ReleaseUnknown => "the total release is not computed",
        Withheld::TooMuchRelease => "the total release exceeds 150 kJ",
    }
}
