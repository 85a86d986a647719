//! To which classes of the list of incompatible pairs does a substance belong?
//!
//! By its [`groups`](super::groups()), its phase and, for acids, its strength. A class says what a substance can do to
//! another, not that it will. Complexes are read as the sum of their parts.
//!
//! Source: textbook chemistry, written as rules.

use std::collections::{BTreeSet, HashMap};
use std::sync::{LazyLock, PoisonError, RwLock};

use super::groups::{Groups, groups};
use crate::formula::Formula;
use crate::species::Phase;

macro_rules! classes {
    ($($name:ident $word:literal),* $(,)?) => {
        /// A class of the list of incompatible pairs; its word says what it is.
        #[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
        #[allow(missing_docs, reason = "each is its word")]
        pub enum Class { $($name),* }

        impl Class {
            /// All classes with their words.
            pub const ALL: &'static [(Class, &'static str)] = &[$((Class::$name, $word)),*];
        }
    };
}

classes! {
    Acid "acid", StrongAcid "strong acid", ConcentratedSulfuricAcid "concentrated sulfuric acid",
    HydrochloricAcid "hydrochloric acid", NitricAcid "nitric acid", AceticAcid "acetic acid", Alkali "alkali",
    Lime "lime", Carbonate "carbonate", Hypochlorite "hypochlorite", Isocyanurate "isocyanurate", Ammonia "ammonia",
    Ammonium "ammonium", Amine "amine", AmmoniumNitrate "ammonium nitrate", ChlorineFormer "chlorine former",
    Chlorine "chlorine", Bromine "bromine", Iodine "iodine", Peroxide "peroxide", Permanganate "permanganate", Chromate "chromate",
    Chlorate "chlorate", Persulfate "persulfate", Nitrate "nitrate", Nitrite "nitrite", Carbon "carbon",
    Sulfur "sulfur", Sugar "sugar", Polyol "polyol", Solvent "solvent", ChlorinatedSolvent "chlorinated solvent",
    Organic "organic", Oxalate "oxalate", Formate "formate", Metal "metal", ActiveMetal "active metal",
    AmphotericMetal "amphoteric metal", AlkaliMetal "alkali metal", MetalPowder "metal powder",
    HeavyMetalSalt "heavy metal salt", OxideOxidiser "oxide oxidiser", Sulfide "sulfide", Sulfite "sulfite",
    Thiosulfate "thiosulfate", Dithionite "dithionite", Cyanide "cyanide", Hexacyanoferrate "hexacyanoferrate",
    Thiocyanate "thiocyanate", Fluoride "fluoride", Chloride "chloride", Bromide "bromide", Iodide "iodide",
    Azide "azide", Acetylene "acetylene", Carbide "carbide", Phosphide "phosphide",
    PhosphorusPentoxide "phosphorus pentoxide", Silver "silver", SilverNitrate "silver nitrate", Mercury "mercury",
    Copper "copper", Lead "lead", Water "water", SilverMetal "silver metal", CarbonDioxide "carbon dioxide",
    HydrofluoricAcid "hydrofluoric acid", Glass "glass", Fulminate "fulminate", Thallium "thallium",
    Fluorspar "fluorspar",
}

impl Class {
    /// The word of the table.
    pub fn word(self) -> &'static str {
        Self::ALL.iter().find(|(class, _)| *class == self).map_or("", |(_, word)| word)
    }

    /// The class of this word.
    pub fn from_word(word: &str) -> Option<Class> {
        Self::ALL.iter().find(|(_, known)| *known == word).map(|(class, _)| *class)
    }
}

/// Mass fraction from which sulfuric acid splits oxalates and chars sugar; common practice.
const CONCENTRATED: f64 = 0.7;

/// Metals that nitric acid dissolves and dilute acids do not.
const NOBLE: [&str; 7] = ["Cu", "Ag", "Hg", "Au", "Pt", "Pd", "Bi"];
const ALKALI_METALS: [&str; 5] = ["Li", "Na", "K", "Rb", "Cs"];
/// Metals whose salts and oxides break down hydrogen peroxide.
const CATALYSTS: [&str; 7] = ["Cu", "Fe", "Cr", "Mn", "Co", "Ag", "V"];
/// Metals whose oxides a stronger metal reduces.
const REDUCIBLE: [&str; 16] =
    ["Fe", "Cu", "Mn", "Cr", "Ni", "Co", "Pb", "Sn", "Bi", "W", "Mo", "V", "Ag", "Zn", "Ti", "Hg"];
/// Reducing metals.
const REDUCING: [&str; 6] = ["Al", "Mg", "Ca", "Zn", "Ti", "Zr"];

/// The classes of a substance in a phase; `strength` is its mass fraction in what is sold, 1 for a solid.
///
/// ```
/// use chem::{Formula, Phase, hazard::{Class, classes}};
/// let bleach = classes(&Formula::parse("NaClO")?, Some(Phase::Aqueous), 0.05);
/// assert!(bleach.contains(&Class::Hypochlorite));
/// # Ok::<(), chem::FormulaError>(())
/// ```
pub fn classes(formula: &Formula, phase: Option<Phase>, strength: f64) -> BTreeSet<Class> {
    classes_by(&groups(formula), formula, phase, strength)
}

/// The [`classes`] of a substance whose groups are known.
pub fn classes_by(found: &Groups, formula: &Formula, phase: Option<Phase>, strength: f64) -> BTreeSet<Class> {
    let mut set = BTreeSet::new();
    let dry = formula.without_hydrate_water();
    if formula.same_substance(&Formula::water()) {
        set.insert(Class::Water);
        return set;
    }
    acids(found, &dry, strength, phase, &mut set);
    bases(found, &dry, &mut set);
    oxidisers(found, formula, &mut set);
    fuels(found, &dry, &mut set);
    metals(found, &mut set);
    salts(found, &dry, phase, &mut set);
    set
}

/// Pool chlorine of the slow kind; its ring is no cyanide.
pub(super) fn is_isocyanurate(dry: &Formula) -> bool {
    ["C3Cl3N3O3", "C3HCl2N3O3", "NaC3Cl2N3O3", "KC3Cl2N3O3"].iter().any(|text| is(dry, text))
}

/// Formulas of the rules, each parsed once.
static KNOWN: LazyLock<RwLock<HashMap<&'static str, Formula>>> = LazyLock::new(RwLock::default);

/// Whether a formula has the atoms of one that a rule names.
fn is(dry: &Formula, text: &'static str) -> bool {
    let same = |other: &Formula| other.composition() == dry.composition();
    if let Some(known) = KNOWN.read().unwrap_or_else(PoisonError::into_inner).get(text) {
        return same(known);
    }
    let Ok(parsed) = Formula::parse(text) else { return false };
    let found = same(&parsed);
    KNOWN.write().unwrap_or_else(PoisonError::into_inner).insert(text, parsed);
    found
}

fn acids(found: &Groups, dry: &Formula, strength: f64, phase: Option<Phase>, set: &mut BTreeSet<Class>) {
    let weak = found.has_any(&["borate", "silicate", "orthosilicate", "stearate", "hydroxide"]);
    let free = found.metals.is_empty() && !found.has_any(&["ammonium", "ammonia"]);
    let sour = found.has("hydrogen") && free && found.understood && !weak && !found.has("carbonate");
    // Acid salts that sour a solution like an acid.
    let acid_salt = found.has("hydrogen") && found.has("sulfate") && !found.ligand();
    let mineral = found.has_any(&["chloride", "bromide", "iodide", "sulfate", "nitrate", "perchlorate"]);
    let gas = found.has_any(&["sulfide", "cyanide", "azide"]);
    if (sour && !gas) || acid_salt {
        set.insert(Class::Acid);
    }
    if ((sour && mineral) || acid_salt) && !gas {
        set.insert(Class::StrongAcid);
    }
    if is(dry, "HCl") {
        set.insert(Class::HydrochloricAcid);
    }
    if is(dry, "HNO3") {
        set.insert(Class::NitricAcid);
    }
    if is(dry, "CH3COOH") {
        set.insert(Class::AceticAcid);
    }
    if is(dry, "HF") {
        set.insert(Class::HydrofluoricAcid);
    }
    if is(dry, "H2SO4") && (strength >= CONCENTRATED && phase != Some(Phase::Aqueous) || strength >= 0.9) {
        set.insert(Class::ConcentratedSulfuricAcid);
    }
}

fn bases(found: &Groups, dry: &Formula, set: &mut BTreeSet<Class>) {
    let strong = ALKALI_METALS.iter().chain(&["Ca", "Sr", "Ba"]).any(|metal| found.metal(metal));
    let alone = found.metals.len() == 1;
    if strong && alone && (found.has("hydroxide") || found.has("oxide")) && !found.has_any(&["carbonate", "phosphate"])
    {
        set.insert(Class::Alkali);
    }
    if is(dry, "CaO") || is(dry, "BaO") {
        set.insert(Class::Lime);
    }
    if found.has("carbonate") {
        set.insert(Class::Carbonate);
    }
    if found.has("ammonia") {
        set.insert(Class::Ammonia);
    }
    if found.has("ammonium") {
        set.insert(Class::Ammonium);
    }
    if found.has_any(&["urea", "sulfamate", "glycinate"]) {
        set.insert(Class::Amine);
    }
}

fn oxidisers(found: &Groups, formula: &Formula, set: &mut BTreeSet<Class>) {
    let text = formula.text();
    let state_of = |symbol: &str| {
        let states = formula.oxidation_states().ok()?;
        let state = states.iter().find(|state| state.element.symbol() == symbol)?;
        Some(crate::formula::to_f64(state.state))
    };
    let at_least = |symbol: &str, least: f64| found.metal(symbol) && state_of(symbol).is_some_and(|s| s >= least);
    let rules: [(Class, bool); 9] = [
        (Class::Hypochlorite, found.has_any(&["hypochlorite", "chlorite"])),
        (Class::Chlorate, found.has_any(&["chlorate", "perchlorate", "bromate"])),
        (Class::Peroxide, found.has("peroxide") || text.contains("H2O2")),
        (Class::Persulfate, found.has("persulfate")),
        (
            Class::Nitrate,
            found.has("nitrate") && !found.metals.is_empty() || found.has("ammonium") && found.has("nitrate"),
        ),
        (Class::Nitrite, found.has("nitrite") && !found.organic),
        (Class::Permanganate, at_least("Mn", 6.0)),
        (Class::Chromate, at_least("Cr", 5.5)),
        (Class::AmmoniumNitrate, found.has("ammonium") && found.has("nitrate")),
    ];
    set.extend(rules.into_iter().filter(|(_, holds)| *holds).map(|(class, _)| class));
    let dioxide = at_least("Mn", 3.5) || at_least("Pb", 2.5);
    if dioxide || [Class::Permanganate, Class::Chromate, Class::Chlorate].iter().any(|c| set.contains(c)) {
        set.insert(Class::ChlorineFormer);
    }
    match found.element {
        Some("Cl") => drop(set.insert(Class::Chlorine)),
        Some("Br") => drop(set.insert(Class::Bromine)),
        Some("I") => drop(set.insert(Class::Iodine)),
        _ => {}
    }
    let plain = found.understood && found.has("oxide") && !found.organic;
    if plain && found.metals.len() == 1 && REDUCIBLE.iter().any(|metal| found.metal(metal)) {
        set.insert(Class::OxideOxidiser);
    }
    if is_isocyanurate(&formula.without_hydrate_water()) {
        set.insert(Class::Isocyanurate);
    }
    if is(formula, "CO2") {
        set.insert(Class::CarbonDioxide);
    }
}

fn fuels(found: &Groups, dry: &Formula, set: &mut BTreeSet<Class>) {
    match found.element {
        Some("C") => drop(set.insert(Class::Carbon)),
        Some("S") => drop(set.insert(Class::Sulfur)),
        _ => {}
    }
    let any = |list: &[&'static str]| list.iter().any(|text| is(dry, text));
    if any(&["C12H22O11", "C6H12O6", "C6H14O6", "C6H10O5"]) {
        set.insert(Class::Sugar);
    }
    if any(&["C3H8O3", "C2H6O2", "C3H8O2"]) {
        set.insert(Class::Polyol);
    }
    if any(&["CH4O", "C2H6O", "C3H8O", "C3H6O", "C4H10O", "C4H8O2", "C6H14", "C7H16", "C7H8"]) {
        set.insert(Class::Solvent);
    }
    if any(&["CH2Cl2", "CHCl3", "CCl4", "C2HCl3", "C2Cl4"]) {
        set.insert(Class::ChlorinatedSolvent);
    }
    if any(&["C2H2"]) {
        set.insert(Class::Acetylene);
    }
    if found.organic || found.has("oxalate") {
        set.insert(Class::Organic);
    }
    if found.has("oxalate") {
        set.insert(Class::Oxalate);
    }
    if found.has("formate") {
        set.insert(Class::Formate);
    }
}

fn metals(found: &Groups, set: &mut BTreeSet<Class>) {
    let Some(symbol) = found.element.filter(|symbol| found.metal(symbol)) else { return };
    if ALKALI_METALS.contains(&symbol) {
        set.insert(Class::AlkaliMetal);
        return;
    }
    set.insert(Class::MetalPowder);
    // The others dissolve in nitric acid; a dilute acid leaves them.
    if !NOBLE.contains(&symbol) {
        set.insert(Class::Metal);
    }
    if symbol == "Ag" {
        set.insert(Class::SilverMetal);
    }
    if ["Al", "Zn", "Sn", "Pb"].contains(&symbol) {
        set.insert(Class::AmphotericMetal);
    }
    if ["Mg", "Al", "Zn", "Ca"].contains(&symbol) {
        set.insert(Class::ActiveMetal);
    }
}

fn salts(found: &Groups, dry: &Formula, phase: Option<Phase>, set: &mut BTreeSet<Class>) {
    let iron_cyanide = found.has("cyanide") && ["Fe", "Co"].iter().any(|metal| found.metal(metal));
    let salt = found.element.is_none() && !found.metals.is_empty();
    let catalyst = salt && CATALYSTS.iter().any(|metal| found.metal(metal)) && !set.contains(&Class::Permanganate);
    let rules: [(Class, bool); 23] = [
        (Class::HeavyMetalSalt, catalyst && !iron_cyanide),
        (Class::Sulfide, found.has("sulfide") && !found.organic),
        (Class::Sulfite, found.has_any(&["sulfite", "disulfite"]) && (salt || found.has("ammonium"))),
        (Class::Thiosulfate, found.has("thiosulfate")),
        (Class::Dithionite, found.has("dithionite")),
        (Class::Cyanide, found.has("cyanide") && !iron_cyanide && !is_isocyanurate(dry)),
        (Class::Hexacyanoferrate, iron_cyanide),
        (Class::Thiocyanate, found.has("thiocyanate")),
        (Class::Fluoride, found.has("fluoride") && (salt || found.has("ammonium")) && !is(dry, "CaF2")),
        (Class::Chloride, found.has("chloride") && (salt || found.has("ammonium"))),
        (Class::Bromide, found.has("bromide") && salt),
        (Class::Iodide, found.has("iodide") && salt),
        (Class::Azide, found.has("azide")),
        (Class::Carbide, is(dry, "CaC2") || is(dry, "Al4C3")),
        (Class::Phosphide, found.has("phosphide") && salt),
        (Class::PhosphorusPentoxide, is(dry, "P2O5") || is(dry, "P4O10")),
        (Class::Mercury, found.metal("Hg")),
        (
            Class::Silver,
            found.metal("Ag") && salt && (phase != Some(Phase::Solid) || found.has_any(&["nitrate", "oxide"])),
        ),
        (Class::SilverNitrate, found.metal("Ag") && found.has("nitrate")),
        (Class::Fulminate, found.has("cyanate") && !found.organic),
        (Class::Fluorspar, is(dry, "CaF2")),
        (Class::Thallium, found.metal("Tl") && salt),
        (Class::Glass, is(dry, "SiO2") || found.has_any(&["silicate", "orthosilicate"]) && salt),
    ];
    set.extend(rules.into_iter().filter(|(_, holds)| *holds).map(|(class, _)| class));
    if found.metal("Cu") {
        set.insert(Class::Copper);
    }
    if found.metal("Pb") && salt {
        set.insert(Class::Lead);
    }
}

/// Whether a dry oxidant burns with the powder of a metal once it is started: oxides of the heavier metals, mixed ones too;
/// with the strongest reducers also silica, boron oxide, sulfates and carbonates.
pub fn burns_with(oxidant: &Formula, metal: &str) -> bool {
    let found = groups(oxidant);
    let strongest = ["Mg", "Al", "Ca", "Ti", "Zr"].contains(&metal);
    if found.organic || found.element.is_some() {
        return false;
    }
    let only_oxygen = !found.metals.is_empty()
        && oxidant.elements().all(|(e, _)| e.symbol() == "O" || found.metals.iter().any(|m| *m == e.symbol()));
    let reducible = REDUCIBLE.iter().any(|own| found.metal(own) && *own != metal);
    let stubborn = is(oxidant, "SiO2")
        || is(oxidant, "B2O3")
        || !found.metals.is_empty() && found.has_any(&["sulfate", "carbonate"]) && !found.has("hydrogen");
    only_oxygen && reducible || strongest && stubborn
}

/// Whether a species is the reducing metal of a burning mix.
pub fn is_reducing_metal(formula: &Formula) -> bool {
    groups(formula).element.is_some_and(|symbol| REDUCING.contains(&symbol))
}
