//! Which gases leave a step, and how much of each at most?
//!
//! Those of the listed reactions; those of pairs that nobody listed, limited by the scarcer side; those of heating: carbon
//! monoxide of oxalates, charcoal and organic matter, oxides of sulfur and nitrogen, ammonia, hydrogen chloride. Largest
//! amounts throughout; what dissolves or burns on the way is not taken off.
//!
//! Source: stoichiometry; temperatures from which salts fall apart are common practice, rounded down.

use super::contents::{Bench, Present, TRACE};
use crate::action::{Atmosphere, Heat};
use crate::model::Step;
use chem::Formula;
use chem::hazard::bounds::atoms;
use chem::hazard::{Class, LimitKind, Pair, limits};
use engine::hazard::{ATMOSPHERE, gas_volume, parts_per_million};

/// A gas that leaves.
#[derive(Clone, Debug)]
pub(super) struct Gas {
    /// Formula.
    pub formula: Formula,
    /// Largest amount, mol.
    pub amount: f64,
    /// Where from, a clause.
    pub from: String,
}

/// Share of a limit from which a gas is worth a caution.
const SHARE: f64 = 0.1;

/// Names of gases.
const NAMES: [(&str, &str); 16] = [
    ("Cl2", "chlorine"),
    ("CO", "carbon monoxide"),
    ("CO2", "carbon dioxide"),
    ("H2", "hydrogen"),
    ("H2S", "hydrogen sulfide"),
    ("SO2", "sulfur dioxide"),
    ("SO3", "sulfur trioxide"),
    ("NO2", "nitrogen dioxide"),
    ("NO", "nitrogen monoxide"),
    ("NH3", "ammonia"),
    ("HCl", "hydrogen chloride"),
    ("HF", "hydrogen fluoride"),
    ("HCN", "hydrogen cyanide"),
    ("O2", "oxygen"),
    ("PH3", "phosphine"),
    ("SiF4", "silicon tetrafluoride"),
];

impl Gas {
    /// Its name, or its formula.
    pub(super) fn name(&self) -> String {
        let known = NAMES.iter().find(|(text, _)| *text == self.formula.text());
        known.map_or_else(|| self.formula.to_string(), |(_, name)| (*name).to_owned())
    }

    pub(super) fn is(&self, text: &str) -> bool {
        self.formula.text() == text
    }

    /// Volume at 25 °C and 1 atm, L.
    pub(super) fn litres(&self) -> f64 {
        1e3 * gas_volume(self.amount, 298.15, ATMOSPHERE)
    }

    /// Concentration in a room of so many m³, ppm.
    pub(super) fn in_room(&self, room: f64) -> f64 {
        parts_per_million(self.litres() * 1e-3, room)
    }

    /// The lowest limit of the air at work, ppm, with its words.
    pub(super) fn limit(&self) -> Option<(f64, &'static str)> {
        limits(&self.formula)
            .into_iter()
            .filter(|limit| limit.unit == "ppm" && limit.kind != LimitKind::Danger)
            .min_by(|a, b| a.value.total_cmp(&b.value))
            .map(|limit| (limit.value, limit.kind.words()))
    }

    /// What is immediately dangerous, ppm.
    pub(super) fn danger(&self) -> Option<f64> {
        let list = limits(&self.formula);
        list.into_iter().find(|limit| limit.kind == LimitKind::Danger).map(|limit| limit.value)
    }

    /// Whether it is worth a caution.
    pub(super) fn matters(&self, room: f64) -> bool {
        match self.formula.text() {
            "H2O" | "N2" => false,
            "H2" => self.litres() >= 0.2,
            "CO2" => self.litres() >= 2.0,
            "O2" => self.litres() >= 0.5,
            "HF" | "HCN" => self.amount > TRACE,
            _ => self.limit().is_none_or(|(limit, _)| self.in_room(room) >= SHARE * limit) && self.litres() >= 0.002,
        }
    }
}

fn gas(text: &str, amount: f64, from: &str) -> Option<Gas> {
    let formula = Formula::parse(text).ok()?;
    (amount > TRACE).then(|| Gas { formula, amount, from: from.to_owned() })
}

/// Gases of the listed reactions.
pub(super) fn listed(bench: &Bench) -> Vec<Gas> {
    let mut list: Vec<Gas> = Vec::new();
    for (species, amount) in &bench.gases {
        match list.iter_mut().find(|g| g.formula.same_substance(&species.formula)) {
            Some(own) => own.amount += amount,
            None => list.push(Gas {
                formula: species.formula.clone(),
                amount: *amount,
                from: "by the listed reactions".to_owned(),
            }),
        }
    }
    list
}

/// Acid that a substance can give, mol of hydrogen ions for a mole of it.
pub(super) fn acid_equivalents(own: &Present) -> f64 {
    let found = &own.groups;
    let of_ligand = [("citrate", 3.0), ("tartrate", 2.0), ("oxalate", 2.0), ("phthalate", 2.0), ("malate", 2.0)];
    if !own.is(Class::Acid) {
        return 0.0;
    }
    if found.ligand() {
        return of_ligand.iter().find(|(name, _)| found.has(name)).map_or(1.0, |(_, n)| *n);
    }
    if found.has("sulfamate") { 1.0 } else { atoms(&own.species.formula.without_hydrate_water(), "H").max(1.0) }
}

/// Base that a substance can give, mol of hydroxide for a mole of it.
pub(super) fn base_equivalents(own: &Present) -> f64 {
    if !own.is(Class::Alkali) {
        return 0.0;
    }
    let formula = &own.species.formula;
    if own.groups.has("hydroxide") {
        atoms(&formula.without_hydrate_water(), "H").max(1.0)
    } else {
        2.0 * atoms(formula, "O")
    }
}

/// Gas that a pair gives at most, mol; `None` where the pair gives none.
pub(super) fn of_pair(pair: &Pair, one: &Present, other: &Present) -> Option<Gas> {
    let formula = pair.gas.clone()?;
    let text = formula.text().to_owned();
    let left = one.high * yields(pair.one, one, &text);
    let right = other.high * allows(pair.other, other, &text);
    Some(Gas { formula, amount: left.min(right), from: format!("from `{}` and `{}`", one.species, other.species) })
}

/// Gas from a mole of the first substance of a pair, as far as it goes.
fn yields(class: Class, own: &Present, gas: &str) -> f64 {
    let of = |symbol: &str| atoms(&own.species.formula, symbol);
    match class {
        Class::Hypochlorite | Class::Isocyanurate => of("Cl").max(1.0),
        Class::ChlorineFormer if own.is(Class::Permanganate) => 2.5,
        Class::ChlorineFormer if own.is(Class::Chromate) => 1.5 * of("Cr"),
        Class::ChlorineFormer if own.is(Class::Chlorate) => 3.0,
        Class::NitricAcid if gas == "NO2" => 0.5,
        Class::Metal | Class::ActiveMetal | Class::AmphotericMetal => valence(own) / 2.0,
        Class::Fluoride | Class::Fluorspar => of("F"),
        Class::Phosphide => of("P"),
        Class::Chloride => of("Cl"),
        Class::Cyanide | Class::Hexacyanoferrate => of("C"),
        Class::Sulfide | Class::Sulfite => of("S"),
        Class::Ammonium => of("N"),
        Class::Nitrite | Class::Nitrate => of("N"),
        Class::Peroxide if gas == "O2" => 0.5,
        Class::Oxalate => 0.5 * of("C"),
        // Four of hydrogen fluoride make one of silicon tetrafluoride.
        Class::HydrofluoricAcid => 0.25,
        _ => 1.0,
    }
}

/// Gas that a mole of the second substance of a pair allows.
fn allows(class: Class, own: &Present, gas: &str) -> f64 {
    match class {
        Class::Acid | Class::StrongAcid | Class::HydrochloricAcid | Class::ConcentratedSulfuricAcid => {
            let per_gas = match gas {
                "Cl2" | "H2" | "H2S" | "SO2" => 2.0,
                // Concentrated acid is a medium here, not what is used up.
                "CO" => 0.01,
                _ => 1.0,
            };
            acid_equivalents(own) / per_gas
        }
        Class::Alkali if gas == "H2" => 1.5 * base_equivalents(own),
        Class::Alkali => base_equivalents(own),
        // Catalysts are not used up.
        Class::MetalPowder if gas == "O2" => f64::INFINITY,
        Class::HeavyMetalSalt => f64::INFINITY,
        Class::Metal | Class::MetalPowder => valence(own),
        _ => 4.0,
    }
}

/// Electrons that a metal gives an acid.
fn valence(own: &Present) -> f64 {
    match own.groups.element {
        Some("Al" | "Cr" | "Ga" | "La" | "Ce" | "Bi") => 3.0,
        Some("Li" | "Na" | "K" | "Ag") => 1.0,
        _ => 2.0,
    }
}

/// Carbon dioxide of carbonates and acids that no reaction lists.
pub(super) fn foam(bench: &Bench) -> Option<Gas> {
    let carbonate: f64 =
        bench.before.real().filter(|p| p.is(Class::Carbonate)).map(|p| p.high * atoms(&p.species.formula, "C")).sum();
    let acid: f64 = bench.before.real().map(|p| p.high * acid_equivalents(p)).sum();
    gas("CO2", carbonate.min(acid), "from carbonate and acid")
}

/// Chlorine of a chloride, a strong acid and what oxidises it, where no hydrochloric acid was charged that tells of it already.
pub(super) fn of_chloride(bench: &Bench) -> Option<Gas> {
    let sum = |of: &dyn Fn(&Present) -> f64| -> f64 { bench.before.real().map(|p| p.high * of(p)).sum() };
    let oxidiser = sum(&|p| if p.is(Class::ChlorineFormer) { yields(Class::ChlorineFormer, p, "Cl2") } else { 0.0 });
    let acid = sum(&|p| if p.is(Class::StrongAcid) { acid_equivalents(p) } else { 0.0 });
    let hydrochloric = sum(&|p| if p.is(Class::HydrochloricAcid) { 1.0 } else { 0.0 });
    let chloride = sum(&|p| if p.is(Class::Chloride) { atoms(&p.species.formula, "Cl") } else { 0.0 }) + hydrochloric;
    let amount = oxidiser.min(chloride / 2.0).min(acid / 2.0);
    if amount <= hydrochloric / 2.0 {
        return None;
    }
    gas("Cl2", amount, "from chloride, acid and what oxidises them")
}

/// Nitrogen oxides of a nitrate, an acid and a metal. Dilute acid leaves a nitrate as it is; only what reduces it as well
/// makes nitrous gas, so that it takes three.
///
/// ```text
/// 3 M + 8 H+ + 2 NO3- -> 3 M2+ + 2 NO + 4 H2O
/// ```
///
/// # Source
/// Test for nitrate with acid and copper turnings (Vogel, Qualitative Inorganic Analysis, from memory).
pub(super) fn nitrous(contents: &[&Present]) -> Option<Gas> {
    let sum = |of: &dyn Fn(&Present) -> f64| -> f64 { contents.iter().map(|p| p.high * of(p)).sum() };
    let nitrate = sum(&|p| if p.is(Class::Nitrate) { atoms(&p.species.formula, "N") } else { 0.0 });
    let acid = sum(&|p| if p.is(Class::StrongAcid) && !p.is(Class::NitricAcid) { acid_equivalents(p) } else { 0.0 });
    let metal = sum(&|p| if p.is(Class::MetalPowder) { valence(p) } else { 0.0 });
    gas("NO2", nitrate.min(acid / 4.0).min(metal / 3.0), "from nitrate, acid and metal, as nitrogen monoxide at first")
}

/// Gases of dry heating.
pub(super) fn heated(step: &Step, bench: &Bench) -> Vec<Gas> {
    if step.action.value.manner().heat == Heat::None {
        return Vec::new();
    }
    let kelvin = bench.temperature;
    let lost = |symbol: &str| {
        let before: f64 = bench.before.real().map(|p| p.high * atoms(&p.species.formula, symbol)).sum();
        let held = step.may_hold.iter().any(|p| atoms(&p.value.species().formula, symbol) > 0.0);
        let stays = step.may_hold.is_empty();
        (before, held, stays)
    };
    let sum = |of: &dyn Fn(&Present) -> f64| -> f64 { bench.before.real().map(|p| p.high * of(p)).sum() };
    let mut list = Vec::new();
    if kelvin >= 473.15 {
        list.extend(carbon_monoxide(step, bench));
        let ammonium = sum(&|p| if p.is(Class::Ammonium) { atoms(&p.species.formula, "N") } else { 0.0 });
        list.extend(gas("NH3", ammonium, "from ammonium salts in the heat"));
        let nitrate = sum(&|p| {
            if p.groups.has("nitrate") && (kelvin >= 773.15 || !is_alkali(p)) {
                atoms(&p.species.formula, "N")
            } else {
                0.0
            }
        });
        list.extend(gas("NO2", nitrate, "from nitrate in the heat; it harms the lungs hours later"));
        let sour = ["Mg", "Al", "Fe", "Zn", "Cu", "Cr"];
        let chloride = sum(&|p| {
            let wet = p.groups.has("chloride") && sour.iter().any(|m| p.groups.metal(m)) && p.groups.element.is_none();
            if wet { atoms(&p.species.formula, "Cl") } else { 0.0 }
        });
        list.extend(gas("HCl", chloride, "from chloride and its water in the heat"));
    }
    let (sulfur, held, stays) = lost("S");
    let decays = sum(&|p| if p.groups.has("sulfate") && !is_alkali(p) && !is_earth(p) { 1.0 } else { 0.0 }) > TRACE;
    let leaves = !held && !stays || kelvin >= 973.15 && decays;
    if kelvin >= 753.15 && leaves && decays {
        list.extend(gas("SO2", sulfur, "and sulfur trioxide, from sulfate in the heat"));
    }
    let elemental =
        sum(&|p| if p.is(Class::Sulfur) || p.is(Class::Sulfide) { atoms(&p.species.formula, "S") } else { 0.0 });
    if kelvin >= 473.15 && step.atmosphere == Atmosphere::Air {
        list.extend(gas("SO2", elemental, "from burning sulfur or sulfide"));
    }
    list
}

fn is_alkali(own: &Present) -> bool {
    ["Li", "Na", "K", "Rb", "Cs"].iter().any(|metal| own.groups.metal(metal)) && own.groups.metals.len() == 1
}

fn is_earth(own: &Present) -> bool {
    ["Ca", "Sr", "Ba", "Mg", "Pb"].iter().any(|metal| own.groups.metal(metal)) && own.groups.metals.len() == 1
}

/// Carbon monoxide of oxalates, of charcoal with an oxide, and of organic matter without air.
fn carbon_monoxide(step: &Step, bench: &Bench) -> Option<Gas> {
    let sum = |of: &dyn Fn(&Present) -> f64| -> f64 { bench.before.real().map(|p| p.high * of(p)).sum() };
    let carbon = |p: &Present| atoms(&p.species.formula, "C");
    let oxalate = sum(&|p| if p.groups.has("oxalate") { 0.5 * carbon(p) } else { 0.0 });
    let charcoal = sum(&|p| if p.is(Class::Carbon) { carbon(p) } else { 0.0 });
    let oxide = sum(&|p| if p.is(Class::OxideOxidiser) { atoms(&p.species.formula, "O") } else { 0.0 });
    let air = step.atmosphere == Atmosphere::Air;
    let organic = sum(&|p| if p.groups.organic && !p.groups.has("oxalate") { carbon(p) } else { 0.0 });
    // In air most of it burns; a quarter is on the safe side.
    let smoke = if air { 0.25 * organic } else { 0.5 * organic };
    let of_charcoal = if air { charcoal } else { charcoal.min(oxide) };
    let from = if oxalate > TRACE {
        "from oxalate in the heat"
    } else if of_charcoal > TRACE {
        "from charcoal in the heat"
    } else {
        "from organic matter in the heat, with smoke"
    };
    gas("CO", oxalate + of_charcoal + smoke, from)
}
