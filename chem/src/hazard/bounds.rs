//! What does the program not help to make?
//!
//! Two readings of one question: what a formula is by its composition (azides, fulminates, nitro compounds by their oxygen
//! balance, ammine perchlorates, radioactive elements …), and what the table lists by formula or name. A formula is read
//! with its hydrate water left out and its atoms in any order. `Always` is refused wherever it is named; `Made` as target,
//! intermediate, collected lot or product, while the same substance bought, or there in a trace, is a matter of cautions.
//! Organic matter outside the ligands of [`groups`](super::groups()) is outside what this program knows, which is no
//! judgement of it.
//!
//! Source: `data/refused.tsv` (recalled); oxygen balance as in textbooks of explosives safety.

use std::sync::LazyLock;

use super::groups::{Groups, groups};
use crate::formula::{Formula, to_f64};
use crate::table;

/// The embedded table.
pub const TABLE: &str = include_str!("../../../data/refused.tsv");

/// Oxygen balance, percent, from which organic nitrogen–oxygen compounds count as energetic.
const ENERGETIC_BALANCE: f64 = -100.0;

/// How far a bound reaches.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Reach {
    /// As target, intermediate, collected lot or product.
    Made,
    /// Wherever it is named.
    Always,
}

/// Why something is out of bounds.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Group {
    /// Explodes, or is made to.
    Explosive,
    /// Fireworks and incendiaries.
    Pyrotechnic,
    /// Made to poison, or a gas that kills in small amounts.
    ToxicAgent,
    /// Controlled drugs and their precursors.
    ControlledDrug,
    /// Radioactive.
    Radioactive,
    /// For swallowing.
    Swallowing,
    /// Chlorates.
    Chlorate,
    /// Perchlorates and perchloric acid.
    Perchlorate,
    /// Ammonium nitrate.
    AmmoniumNitrate,
    /// Azides of light metals.
    Azide,
    /// Simple cyanides.
    Cyanide,
    /// Hydrogen fluoride.
    HydrogenFluoride,
    /// Phosphorus.
    Phosphorus,
    /// Phosphides.
    Phosphide,
    /// Phosphine.
    Phosphine,
    /// Chlorine.
    Chlorine,
    /// Hydrogen peroxide.
    ConcentratedPeroxide,
    /// Nitric acid.
    NitricAcid,
    /// Hydrazine.
    Hydrazine,
    /// Alkali metals, beryllium, osmium, thallium, organic mercury.
    SpecialMetal,
    /// Organic matter that the program does not know.
    UnknownOrganic,
}

impl Group {
    const WORDS: [(Group, &'static str); 21] = [
        (Group::Explosive, "explosive"),
        (Group::Pyrotechnic, "pyrotechnic"),
        (Group::ToxicAgent, "toxic agent"),
        (Group::ControlledDrug, "controlled drug"),
        (Group::Radioactive, "radioactive"),
        (Group::Swallowing, "for swallowing"),
        (Group::Chlorate, "chlorate"),
        (Group::Perchlorate, "perchlorate"),
        (Group::AmmoniumNitrate, "ammonium nitrate"),
        (Group::Azide, "azide"),
        (Group::Cyanide, "cyanide"),
        (Group::HydrogenFluoride, "hydrogen fluoride"),
        (Group::Phosphorus, "phosphorus"),
        (Group::Phosphide, "phosphide"),
        (Group::Phosphine, "phosphine"),
        (Group::Chlorine, "chlorine"),
        (Group::ConcentratedPeroxide, "concentrated peroxide"),
        (Group::NitricAcid, "nitric acid"),
        (Group::Hydrazine, "hydrazine"),
        (Group::SpecialMetal, "special metal"),
        (Group::UnknownOrganic, "unknown organic"),
    ];

    /// The word of the table.
    pub fn word(self) -> &'static str {
        Self::WORDS.iter().find(|(group, _)| *group == self).map_or("", |(_, word)| word)
    }

    fn from_word(word: &str) -> Option<Group> {
        Self::WORDS.iter().find(|(_, known)| *known == word).map(|(group, _)| *group)
    }
}

/// Something out of bounds.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub struct Bound {
    /// How far.
    pub reach: Reach,
    /// Why.
    pub group: Group,
}

const fn always(group: Group) -> Option<Bound> {
    Some(Bound { group, reach: Reach::Always })
}

const fn made(group: Group) -> Option<Bound> {
    Some(Bound { group, reach: Reach::Made })
}

struct Row {
    formulas: Vec<Formula>,
    /// Names as the table has them, and in plain words.
    names: Vec<(&'static str, String)>,
    bound: Bound,
}

static ROWS: LazyLock<Vec<Row>> = LazyLock::new(|| {
    let read = |row: &table::Row<'static>| {
        let reach = if row.cell("reach") == "always" { Reach::Always } else { Reach::Made };
        Some(Row {
            formulas: row.cell("formulas").split('|').filter_map(|text| Formula::parse(text).ok()).collect(),
            names: row.cell("names").split('|').filter(|n| !n.is_empty()).map(|n| (n, plain(n))).collect(),
            bound: Bound { group: Group::from_word(row.cell("group"))?, reach },
        })
    };
    table::rows(TABLE).iter().filter_map(read).collect()
});

/// What a formula is out of bounds for, by the table and by composition. `None`: no rule speaks against it.
///
/// ```
/// use chem::{Formula, hazard::{Group, Reach, bound}};
/// let of = |text: &str| Formula::parse(text).ok().and_then(|formula| bound(&formula));
/// assert_eq!(of("CuSO4·5H2O"), None);
/// assert_eq!(of("H4N2O3").map(|b| (b.group, b.reach)), Some((Group::AmmoniumNitrate, Reach::Made)));
/// ```
pub fn bound(formula: &Formula) -> Option<Bound> {
    let dry = formula.without_hydrate_water();
    let same = |other: &Formula| is_multiple(other, &dry) && formula.charge() == 0;
    let listed = ROWS.iter().find(|row| row.formulas.iter().any(same)).map(|row| row.bound);
    listed.or_else(|| by_composition(&dry))
}

/// Whether two formulas have the same elements in the same proportion.
fn is_multiple(one: &Formula, other: &Formula) -> bool {
    let (a, b) = (one.composition(), other.composition());
    let mut ratios = a.iter().map(|(element, n)| b.get(element).map(|m| to_f64(*m) / to_f64(*n)));
    let Some(Some(first)) = ratios.next() else { return false };
    a.len() == b.len() && ratios.all(|ratio| ratio.is_some_and(|ratio| (ratio / first - 1.0).abs() < 1e-9))
}

/// What a text names that is out of bounds: whole words, in any case, hyphens or not. Names of [`Group::Swallowing`] are
/// purposes; they count where `purpose` is asked for.
pub fn named(text: &str, purpose: bool) -> Option<(Bound, &'static str)> {
    let words = plain(text);
    let holds = |(name, plain): &&(&'static str, String)| {
        // Short names are abbreviations: they count in capitals only, as words of their own.
        let short = name.len() <= 5 && name.chars().all(|c| c.is_ascii_uppercase());
        if short {
            text.split(|c: char| !c.is_ascii_alphanumeric()).any(|word| word == *name)
        } else {
            words.contains(plain)
        }
    };
    ROWS.iter()
        .filter(|row| purpose == (row.bound.group == Group::Swallowing))
        .find_map(|row| row.names.iter().find(holds).map(|(name, _)| (row.bound, *name)))
}

/// The formula of what goes by exactly this name in the tables of statements and of bounds; `None` where several do.
pub fn formula_named(text: &str) -> Option<&'static Formula> {
    let wanted = plain(text);
    let stated = super::all().iter().filter(|row| plain(row.name) == wanted).map(|row| &row.formula);
    let bounded = ROWS.iter().filter(|row| row.names.iter().any(|(_, name)| *name == wanted));
    let mut found = stated.chain(bounded.filter_map(|row| match row.formulas.as_slice() {
        [only] => Some(only),
        // The names stand in the order of the formulas where there are as many.
        several if several.len() == row.names.len() => {
            several.iter().zip(&row.names).find(|(_, (_, name))| *name == wanted).map(|(formula, _)| formula)
        }
        several => several.first(),
    }));
    let first = found.next()?;
    found.all(|other| other.composition() == first.composition()).then_some(first)
}

/// Lower-case words between single spaces, with a space at both ends; brackets and hyphens are spaces.
fn plain(text: &str) -> String {
    let lower = text.to_lowercase().replace("sulph", "sulf");
    let words: Vec<&str> = lower.split(|c: char| !c.is_alphanumeric()).filter(|word| !word.is_empty()).collect();
    format!(" {} ", words.join(" "))
}

fn by_composition(dry: &Formula) -> Option<Bound> {
    let found = groups(dry);
    radioactive(dry)
        .or_else(|| energetic(dry, &found))
        .or_else(|| poisons(&found))
        .or_else(|| conditional(dry, &found))
        .or_else(|| organic(dry, &found))
}

/// Elements without stable isotopes, bismuth apart; and named radioisotopes are left to the words of a label.
fn radioactive(dry: &Formula) -> Option<Bound> {
    let unstable = |number: u8| matches!(number, 43 | 61 | 84..);
    dry.elements().any(|(element, _)| unstable(element.atomic_number())).then_some(())?;
    always(Group::Radioactive)
}

fn energetic(dry: &Formula, found: &Groups) -> Option<Bound> {
    let heavy = ["Ag", "Hg", "Pb", "Cu", "Au", "Tl", "Cd", "Ni", "Co"].iter().any(|metal| found.metal(metal));
    let oxidising = found.has_any(&["nitrate", "nitrite", "chlorate", "perchlorate", "chlorite", "bromate", "azide"]);
    let ammine =
        found.understood && found.has("ammonia") && !found.metals.is_empty() && oxidising && !found.has("nitrite");
    let fulminate = found.has("cyanate") && heavy;
    // The ion by itself stands in equations on paper.
    let bare = found.metals.is_empty() && dry.charge() == 0;
    let azide = found.has("azide") && (heavy || bare || found.metal("Ba"));
    let acetylide = found.has("carbide") && !found.organic && ["Ag", "Cu", "Hg", "Au"].iter().any(|m| found.metal(m));
    let nitride = found.has("nitride") && ["Ag", "Hg", "Au", "Cu", "Tl"].iter().any(|metal| found.metal(metal));
    let halide = found.has_any(&["nitride", "ammonia"])
        && found.metals.is_empty()
        && found.has_any(&["chloride", "bromide", "iodide"])
        && !found.has("hydrogen");
    let ammonium = found.has("ammonium") && found.has_any(&["nitrite", "chlorate", "chlorite", "bromate", "azide"]);
    let permanganate = found.has("ammonium") && (found.metal("Mn") && found.has("oxide"));
    let silver_oxalate = found.has("oxalate") && ["Ag", "Hg"].iter().any(|metal| found.metal(metal));
    if ammine || fulminate || azide || acetylide || nitride || halide || ammonium || permanganate || silver_oxalate {
        return always(Group::Explosive);
    }
    let carbon = dry.elements().any(|(element, _)| element.symbol() == "C");
    (carbon && found.organic && is_nitro(dry, found)).then_some(())?;
    always(Group::Explosive)
}

/// Organic nitrogen with oxygen enough to burn much of itself, and no ligand of the bench that explains it.
fn is_nitro(dry: &Formula, found: &Groups) -> bool {
    let of =
        |symbol: &str| dry.elements().find(|(element, _)| element.symbol() == symbol).map_or(0.0, |(_, count)| count);
    if of("N") < 1.0 || of("O") < 1.0 || found.has("urea") && found.understood && of("N") <= 2.0 {
        return false;
    }
    // A nitrate beside a ligand in one salt burns by itself; that is a caution of the mix.
    if found.plain_ligand() {
        return false;
    }
    let Ok(mass) = dry.molar_mass() else { return false };
    let balance = -1600.0 / mass.value * (2.0 * of("C") + of("H") / 2.0 - of("O"));
    balance >= ENERGETIC_BALANCE && of("O") >= 0.9 * of("N")
}

fn poisons(found: &Groups) -> Option<Bound> {
    if found.organic && ["Hg", "Tl", "Pb"].iter().any(|metal| found.metal(metal)) && !found.understood {
        return always(Group::ToxicAgent);
    }
    None
}

fn conditional(dry: &Formula, found: &Groups) -> Option<Bound> {
    let bare = |symbols: &[&str]| found.element.is_some_and(|symbol| symbols.contains(&symbol));
    let iron_cyanide = ["Fe", "Co"].iter().any(|metal| found.metal(metal));
    if found.has("ammonium") && found.has("nitrate") && found.metals.is_empty() {
        return made(Group::AmmoniumNitrate);
    }
    if found.has("chlorate") {
        return made(Group::Chlorate);
    }
    if found.has("perchlorate") {
        return made(Group::Perchlorate);
    }
    if found.has("azide") {
        return made(Group::Azide);
    }
    if found.has("cyanide") && !iron_cyanide && !found.organic && !super::class::is_isocyanurate(dry) {
        return made(Group::Cyanide);
    }
    if bare(&["P"]) {
        return made(Group::Phosphorus);
    }
    if found.has("phosphide") && !found.metals.is_empty() && !found.organic && !found.has("oxide") {
        return made(Group::Phosphide);
    }
    if bare(&["Li", "Na", "K", "Rb", "Cs"]) {
        return made(Group::SpecialMetal);
    }
    let special = |(element, _): (crate::element::Element, f64)| ["Be", "Os", "Tl"].contains(&element.symbol());
    if dry.elements().any(special) {
        return made(Group::SpecialMetal);
    }
    None
}

/// Organic matter that is no ligand, filler or solvent of the bench.
fn organic(dry: &Formula, found: &Groups) -> Option<Bound> {
    let known = found.plain_ligand() || found.understood && found.has("urea");
    if !found.organic || known || super::statements(dry).is_some() || is_sold(dry) {
        return None;
    }
    made(Group::UnknownOrganic)
}

fn is_sold(dry: &Formula) -> bool {
    crate::substance::Substance::all()
        .iter()
        .any(|row| row.formula.without_hydrate_water().composition() == dry.composition())
}

/// Number of atoms of an element, for readers outside.
pub fn atoms(formula: &Formula, symbol: &str) -> f64 {
    formula.composition().iter().find(|(element, _)| element.symbol() == symbol).map_or(0.0, |(_, n)| to_f64(*n))
}
