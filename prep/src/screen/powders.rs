//! Which powders of a step catch fire in air, explode as dust, or poison when they are breathed in?
//!
//! Metals that come fine out of a reduction; dust of active metals; dust of compounds of manganese, nickel, cobalt, lead,
//! cadmium, mercury, arsenic and chromium(VI). How fine a powder is is not known: it is taken for the worst.
//!
//! Source: common practice; limits of [`chem::hazard::limits()`].

use super::cautions::Teller;
use super::contents::{Bench, Present, key};
use super::told::{caution, figure, statements_of};
use crate::action::{Atmosphere, Heat};
use crate::model::{Action, Step};
use chem::hazard::Class;

/// Temperature below which a reduced metal stays fine, K.
const FINE: f64 = 1000.0;
/// Metals whose dust poisons.
const POISONOUS: [&str; 9] = ["Mn", "Ni", "Co", "Pb", "Cd", "Hg", "As", "Tl", "Cr"];
/// Mass below which dust is not told, kg.
const LITTLE_DUST: f64 = 1e-3;

impl Teller<'_> {
    /// Metals that come fine out of a reduction, and dust.
    pub(super) fn metals(&mut self, i: usize, step: &Step, bench: &Bench) {
        let oxalate = bench.before.real().any(|p| p.groups.has("oxalate"));
        let reduced = step.atmosphere != Atmosphere::Air || oxalate;
        let metal = bench.after.real().find(|p| {
            p.groups.element.is_some_and(|m| p.groups.metal(m))
                && !bench.before.contents.contains_key(&key(&p.species.formula))
        });
        if let Some(metal) = metal
            && step.action.value.manner().heat == Heat::Fire
            && reduced
            && bench.temperature < FINE
        {
            let what = format!(
                "step `{}` gives up to {} g of finely divided `{}`: pyrophoric, it glows or burns when it meets air.",
                step.name.value,
                figure(metal.high * metal.molar_mass * 1e3),
                metal.species
            );
            let mut text = caution("fine-metal", "Danger", what);
            text.statements = "H250 catches fire spontaneously if exposed to air.".to_owned();
            text.first_sign = "A glow that runs through the powder when it is poured.".to_owned();
            text.go_on = "Open it when it is at room temperature under cover or inert gas.".to_owned();
            text.control = "Cool fully under cover; let air in slowly; metal tray, no paper near it.".to_owned();
            text.emergency = "Cover with dry sand; no water, no carbon dioxide extinguisher.".to_owned();
            text.waste = "What is left: cold, in a metal tin of its own, never in a bin with paper.".to_owned();
            self.tell(i, text, 1);
        }
        let dusty = matches!(step.action.value, Action::Grind | Action::Sieve);
        let powder = bench.before.real().find(|p| p.is(Class::ActiveMetal) && p.high * p.molar_mass > 1e-3);
        if let Some(powder) = powder.filter(|_| dusty) {
            let what =
                format!("step `{}` raises dust of `{}`, which explodes in air.", step.name.value, powder.species);
            let mut text = caution("fine-metal", "Danger", what);
            text.statements = statements_of([&powder.species.formula], |code| code.starts_with("H2"));
            text.first_sign = "A haze in the air, a film on everything around.".to_owned();
            text.waste = "Sweepings: dry, in a metal tin of their own, never with oxides or water.".to_owned();
            text.control =
                "No grinding, no sieving near flame or spark; wet it with what it does not react with.".to_owned();
            text.emergency = "Dry sand; no water, no carbon dioxide extinguisher.".to_owned();
            self.tell(i, text, 1);
        }
        if dusty {
            self.dust(i, step, bench);
        }
    }

    /// Dust that poisons, where something dry is ground or sieved.
    fn dust(&mut self, i: usize, step: &Step, bench: &Bench) {
        let metal = |own: &Present| POISONOUS.into_iter().find(|symbol| own.groups.metal(symbol));
        let poisons = |own: &&Present| {
            let chromium = own.groups.metal("Cr") && !own.is(Class::Chromate);
            metal(own).is_some() && !chromium && own.high * own.molar_mass > LITTLE_DUST
        };
        if bench.wet {
            return;
        }
        let Some((own, symbol)) = bench.before.real().find(poisons).and_then(|own| Some((own, metal(own)?))) else {
            return;
        };
        let limit = chem::Formula::parse(symbol).ok().and_then(|element| {
            let limits = chem::hazard::limits(&element);
            let found = limits.into_iter().find(|limit| limit.unit == "mg/m3")?;
            Some(format!("; the limit for {symbol} is {} mg in a m³ of air ({})", found.value, found.kind.words()))
        });
        let what = format!(
            "step `{}` raises dust of up to {} g of `{}`, which poisons when it is breathed in{}.",
            step.name.value,
            figure(own.high * own.molar_mass * 1e3),
            own.species,
            limit.unwrap_or_default()
        );
        let mut text = caution("toxic-dust", "Warning", what);
        text.statements = statements_of([&own.species.formula], |code| code.starts_with("H3"));
        text.first_sign = "None that can be relied on; dust to be seen is far too much.".to_owned();
        text.control =
            "Damp or in a closed bag, or in a hood; a fitted particle mask (P3, N100); wipe up wet, never sweep."
                .to_owned();
        text.waste = "Wipes and dust: a closed jar of their own.".to_owned();
        self.tell(i, text, 1);
    }
}
