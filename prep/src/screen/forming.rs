//! What out of bounds forms where harmless things are brought together, although no line of the file names it?
//!
//! Primary explosives out of salts of silver, mercury and copper; nitro compounds and nitrates; organic peroxides; hydrides of
//! arsenic and its like out of a metal and an acid; hydrazine out of bleach and urea; an alkali metal out of its hydroxide.
//! What is there as a trace beside others does not count, but for silver and mercury.
//!
//! Source: textbook chemistry, written as rules.

use super::contents::{Bench, Present};
use super::refuse::is_no_trace;
use crate::action::Heat;
use crate::model::{Action, Step};
use chem::hazard::bounds::atoms;
use chem::hazard::{Class, Group};

/// Amount of arsenic and its like from which a hydride is no trace, mol.
const LITTLE: f64 = 1e-4;

/// What is in a step.
struct There<'a> {
    step: &'a Step,
    bench: &'a Bench,
}

impl There<'_> {
    fn main(&self) -> impl Iterator<Item = &Present> {
        self.bench.before.real().filter(|p| is_no_trace(p, &self.bench.before))
    }

    fn is(&self, class: Class) -> bool {
        self.main().any(|p| p.is(class))
    }

    fn any(&self, class: Class) -> bool {
        self.bench.before.real().any(|p| p.is(class))
    }

    fn has(&self, group: &str) -> bool {
        self.main().any(|p| p.groups.has(group))
    }

    fn formula(&self, texts: &[&str]) -> bool {
        self.main().any(|p| texts.contains(&p.species.formula.text()))
    }

    /// Salts of one of the metals, in any amount.
    fn salt_of(&self, metals: &[&str]) -> bool {
        let salt = |p: &Present| p.groups.element.is_none() && metals.iter().any(|metal| p.groups.metal(metal));
        self.bench.before.real().any(salt)
    }

    fn metal(&self, metals: &[&str]) -> bool {
        self.main().any(|p| p.groups.element.is_some_and(|element| metals.contains(&element)))
    }

    /// Whether something is parted or heated.
    fn parted(&self) -> bool {
        self.step.action.value.parts_liquor() || self.dried()
    }

    fn dried(&self) -> bool {
        self.step.action.value.manner().heat != Heat::None || self.step.action.value.heats()
    }

    fn boiled_down(&self) -> bool {
        matches!(self.step.action.value, Action::Evaporate | Action::Crystallise) || self.dried()
    }
}

/// What forms, with its group.
pub(super) fn forms(step: &Step, bench: &Bench) -> Vec<(&'static str, Group)> {
    let there = There { step, bench };
    let explosive = explosives(&there).into_iter().map(|(what, holds)| (what, Group::Explosive, holds));
    let other = others(&there);
    explosive.chain(other).filter(|(_, _, holds)| *holds).map(|(what, group, _)| (what, group)).collect()
}

fn explosives(there: &There<'_>) -> Vec<(&'static str, bool)> {
    let heavy = there.salt_of(&["Ag", "Pb", "Hg", "Cu", "Cd", "Tl"]);
    let organic = there.is(Class::Polyol) || there.is(Class::Sugar) || there.is(Class::Solvent);
    let noble = there.bench.before.real().any(|p| p.groups.metal("Hg") || p.groups.metal("Ag"));
    let acetylene = there.is(Class::Acetylene) || there.is(Class::Carbide);
    let ammine = there.is(Class::Ammonia) && there.salt_of(&["Cu", "Ni", "Co", "Zn", "Cd", "Ag"]);
    let silver_oxide =
        there.bench.before.real().any(|p| p.groups.metal("Ag") && p.groups.has("oxide") && !p.groups.organic);
    vec![
        ("azide and a heavy metal salt", there.is(Class::Azide) && heavy),
        ("fulminate or cyanate and a heavy metal salt", there.is(Class::Fulminate) && heavy),
        (
            "nitric acid and alcohol with mercury or silver",
            there.is(Class::NitricAcid) && there.is(Class::Solvent) && noble,
        ),
        ("acetylene with salts of silver, copper or mercury", acetylene && there.salt_of(&["Ag", "Cu", "Hg"])),
        ("peroxide and acetone", there.is(Class::Peroxide) && there.formula(&["C3H6O", "CH3COCH3", "(CH3)2CO"])),
        ("nitric acid and glycerol or glycol", there.is(Class::NitricAcid) && there.is(Class::Polyol)),
        ("nitration", there.is(Class::NitricAcid) && there.is(Class::ConcentratedSulfuricAcid) && organic),
        ("urea and nitric acid", there.is(Class::NitricAcid) && there.has("urea")),
        ("iodine and ammonia, separated", there.is(Class::Iodine) && there.is(Class::Ammonia) && there.parted()),
        ("silver and ammonia, dried", there.any(Class::Silver) && there.is(Class::Ammonia) && there.boiled_down()),
        ("silver oxide and ammonia, separated", silver_oxide && there.is(Class::Ammonia) && there.parted()),
        (
            "a metal, ammonia and chlorate or perchlorate, separated",
            ammine && there.is(Class::Chlorate) && there.parted(),
        ),
        (
            "chlorate or perchlorate with organic matter, dry",
            !there.bench.wet && there.is(Class::Chlorate) && there.is(Class::Organic),
        ),
        (
            "silver or mercury with oxalate, dried",
            there.is(Class::Oxalate) && there.salt_of(&["Ag", "Hg"]) && there.step.action.value.heats(),
        ),
    ]
}

fn others(there: &There<'_>) -> Vec<(&'static str, Group, bool)> {
    let hydride_formers = ["As", "Sb", "Se"];
    let amount: f64 = there
        .bench
        .before
        .real()
        .map(|p| p.high * hydride_formers.iter().map(|symbol| atoms(&p.species.formula, symbol)).sum::<f64>())
        .sum();
    // Zinc, magnesium, aluminium and iron reduce in acid; aluminium in alkali too.
    let reduces = there.is(Class::Metal) && there.any(Class::Acid) || there.metal(&["Al"]) && there.any(Class::Alkali);
    let without_oxygen = |p: &Present| {
        let formula = &p.species.formula;
        let former = hydride_formers.iter().any(|symbol| atoms(formula, symbol) > 0.0);
        former && atoms(formula, "O") == 0.0 && !p.groups.metals.is_empty() && p.groups.element.is_none()
    };
    let arsenide = there.main().any(without_oxygen) && there.any(Class::Acid);
    let alkali = |p: &Present| {
        let metal = ["Li", "Na", "K", "Rb", "Cs"].iter().any(|metal| p.groups.metal(metal));
        metal && p.groups.metals.len() == 1 && p.groups.has_any(&["hydroxide", "oxide", "carbonate"]) && !p.dissolved
    };
    let dry_alkali = !there.bench.wet && there.main().any(alkali) && there.metal(&["Mg", "Ca", "Al", "Zr", "Ti"]);
    let halogenated = |p: &Present| {
        let of = |symbol: &str| atoms(&p.species.formula, symbol) > 0.0;
        of("C") && (of("F") || of("Cl"))
    };
    let chlorate = |p: &Present| p.is(Class::Chlorate) && ["Na", "Ca", "Mg"].iter().any(|metal| p.groups.metal(metal));
    let exchanged = |p: &Present| {
        let heavier = p.groups.metal("K") || p.groups.metal("Ba") || p.groups.has("ammonium");
        heavier && !p.is(Class::Chlorate)
    };
    vec![
        (
            "a metal powder with halogenated organic matter, dry,",
            Group::Pyrotechnic,
            !there.bench.wet && there.is(Class::ActiveMetal) && there.main().any(halogenated),
        ),
        (
            "chlorate or perchlorate, exchanged and separated,",
            Group::Chlorate,
            there.main().any(chlorate) && there.main().any(exchanged) && there.parted(),
        ),
        (
            "hydrides of arsenic, antimony or selenium, by metal and acid,",
            Group::ToxicAgent,
            amount > LITTLE && (reduces || arsenide),
        ),
        (
            "hydrazine, out of hypochlorite, urea and alkali,",
            Group::Hydrazine,
            there.is(Class::Hypochlorite) && there.has("urea") && there.is(Class::Alkali),
        ),
        ("an alkali metal, out of its hydroxide or carbonate,", Group::SpecialMetal, dry_alkali),
    ]
}
