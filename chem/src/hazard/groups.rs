//! Of which ions, ligands and molecules is a formula built?
//!
//! The metals are set aside; the rest of the atoms is parted into known groups, the likeliest first: few kinds of groups,
//! and no bare nitrogen, carbon or phosphorus where a whole group does. Water of crystallisation is left out. Judged by
//! composition, so that the order in which a formula is written does not matter and isomers are not told apart: a cyanate
//! and a fulminate look alike, and so do a citrate and what else adds up to one.
//!
//! Source: textbook chemistry, written as rules.

use std::collections::{BTreeMap, BTreeSet};
use std::sync::LazyLock;

use num_traits::Zero;

use super::units::{LIGANDS, METAL_CHARGES, UNITS, Unit};
use crate::element::Element;
use crate::formula::{Formula, to_f64};

/// Elements that are no metals.
const NONMETALS: [&str; 23] = [
    "H", "He", "B", "C", "N", "O", "F", "Ne", "Si", "P", "S", "Cl", "Ar", "As", "Se", "Br", "Kr", "Te", "I", "Xe",
    "At", "Rn", "Ge",
];
/// Most atoms of one kind in a formula that are parted.
const MOST_ATOMS: i64 = 400;
/// Costs of groups up to which is looked, one after the other.
const MOST_COSTS: [u32; 5] = [3, 5, 7, 9, 20];
/// Most kinds of groups in a formula that is understood.
const MOST_KINDS: usize = 5;
/// Most steps of the search; bench formulas need some hundreds.
const MOST_STEPS: usize = 4000;
/// Cost of charges that no metal of the formula balances.
const UNBALANCED: u32 = 4;
/// Charges of solid solutions are fractions.
const ROUNDING: f64 = 1.0 - 1e-6;
/// Cost of a group that says the formula is not understood.
const NOT_UNDERSTOOD: u32 = 5;

/// The parts of a formula.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Groups {
    /// Metals, by symbol.
    pub metals: Vec<&'static str>,
    /// Names of the groups.
    names: BTreeSet<&'static str>,
    /// The one element, where there is one only.
    pub element: Option<&'static str>,
    /// Whether carbon and hydrogen stand in it.
    pub organic: bool,
    /// Whether all its atoms found a likely group.
    pub understood: bool,
}

impl Groups {
    /// Whether a group of this name is there.
    pub fn has(&self, name: &str) -> bool {
        self.names.contains(name)
    }

    /// Whether one of these groups is there.
    pub fn has_any(&self, names: &[&str]) -> bool {
        names.iter().any(|name| self.has(name))
    }

    /// Whether a metal of this symbol is there.
    pub fn metal(&self, symbol: &str) -> bool {
        self.metals.contains(&symbol)
    }

    /// Whether carbon and hydrogen stand in it apart: carbonates and cyanides with ammonium, hydroxide or ammonia.
    fn is_mineral(&self) -> bool {
        let carbonic = self.names.iter().all(|name| ["carbonate", "hydrogen"].contains(name));
        let salt = !self.metals.is_empty() || self.has("ammonium");
        self.understood && !self.ligand() && !self.has("urea") && (salt || carbonic)
    }

    /// Whether it is a ligand of the list, as its acid or as a plain salt: nothing but ligand, metals, ammonium, water
    /// of a base, and the ions of mineral acids that do not burn.
    pub fn plain_ligand(&self) -> bool {
        const OTHERS: [&str; 17] = [
            "hydrogen",
            "ammonium",
            "ammonia",
            "hydroxide",
            "oxide",
            "chloride",
            "bromide",
            "iodide",
            "fluoride",
            "sulfate",
            "carbonate",
            "phosphate",
            "diphosphate",
            "borate",
            "silicate",
            "nitrate",
            "sulfide",
        ];
        let salt = !self.metals.is_empty() || self.has("ammonium");
        let ligands = self.names.iter().filter(|name| LIGANDS.contains(name)).count();
        let plain = |name: &str| LIGANDS.contains(&name) || name == "hydrogen" || salt && OTHERS.contains(&name);
        self.understood && (ligands == 1 || salt && ligands > 1) && self.names.iter().all(|name| plain(name))
    }

    /// Whether it carries a ligand of the list: acetate, oxalate, citrate and so on.
    pub fn ligand(&self) -> bool {
        self.has_any(&LIGANDS)
    }
}

/// The groups of a formula.
///
/// ```
/// use chem::{Formula, hazard};
/// let of = |text: &str| Formula::parse(text).map(|formula| hazard::groups(&formula));
/// assert!(of("(NH4)2Fe(SO4)2·6H2O")?.has("ammonium"));
/// assert!(of("Ca(ClO)2")?.has("hypochlorite") && !of("CaCl2")?.has("hypochlorite"));
/// assert!(of("KCH3COO")?.ligand());
/// # Ok::<(), chem::FormulaError>(())
/// ```
pub fn groups(formula: &Formula) -> Groups {
    let bare = formula.without_hydrate_water();
    let mut found = Groups { understood: true, ..Groups::default() };
    let mut rest: BTreeMap<&'static str, i64> = BTreeMap::new();
    if formula.same_substance(&Formula::water()) || formula.is_electron() {
        return found;
    }
    let elements: Vec<(Element, f64)> = bare.elements().collect();
    if let [(only, _)] = elements.as_slice() {
        found.element = Some(only.symbol());
    }
    for (element, _) in &elements {
        let symbol = element.symbol();
        if NONMETALS.contains(&symbol) {
            let count = to_f64(bare.count(*element));
            rest.insert(symbol, whole(count));
        } else {
            found.metals.push(symbol);
        }
    }
    if is_peroxide(formula, &rest, &found.metals) {
        found.names.insert("peroxide");
        return found;
    }
    if found.element.is_none() {
        let room = charge_room(&bare);
        part(&rest, room, &mut found);
    }
    found.organic = rest.contains_key("C") && rest.contains_key("H") && !found.is_mineral();
    found
}

/// Least and most charge of all the groups together, so that the metals can balance it.
fn charge_room(bare: &Formula) -> (f64, f64) {
    let own = f64::from(bare.charge());
    bare.elements().filter(|(element, _)| !NONMETALS.contains(&element.symbol())).fold(
        (own, own),
        |(low, high), metal| {
            let known = METAL_CHARGES.iter().find(|(symbol, _, _)| *symbol == metal.0.symbol());
            let (least, most) = known.map_or((1, 8), |(_, least, most)| (*least, *most));
            (low - most as f64 * metal.1, high - least as f64 * metal.1)
        },
    )
}

/// The nearest whole number of atoms; counts of solid solutions are rounded up.
fn whole(count: f64) -> i64 {
    #[expect(clippy::cast_possible_truncation, reason = "bounded before the cast")]
    let rounded = count.clamp(0.0, 1e6).ceil() as i64;
    rounded
}

/// Peroxides, by a water peroxide in the text or by more oxygen than a metal of the first two groups binds.
fn is_peroxide(formula: &Formula, rest: &BTreeMap<&'static str, i64>, metals: &[&'static str]) -> bool {
    let of = |symbol: &str| rest.get(symbol).copied().unwrap_or(0);
    if formula.text().contains("H2O2") {
        return true;
    }
    let bare = metals.is_empty() && rest.len() == 2 && of("H") == 2 && of("O") == 2;
    let alkali = ["Li", "Na", "K", "Rb", "Cs"];
    let earth = ["Mg", "Ca", "Sr", "Ba", "Zn", "Cd"];
    let [metal] = metals else { return bare };
    let atoms = formula.elements().find(|(element, _)| element.symbol() == *metal).map_or(0, |(_, count)| whole(count));
    let only_oxygen = rest.len() == 1 && of("O") > 0;
    let surplus = (alkali.contains(metal) && 2 * of("O") > atoms) || (earth.contains(metal) && of("O") > atoms);
    bare || (only_oxygen && surplus)
}

/// Parts the atoms into groups at the least cost.
fn part(rest: &BTreeMap<&'static str, i64>, room: (f64, f64), found: &mut Groups) {
    if rest.values().any(|count| *count > MOST_ATOMS) {
        found.understood = false;
        return;
    }
    // Few kinds of groups first: what a short search finds, a long one need not look for.
    let mut best = None;
    for most in MOST_COSTS {
        let mut search = Search { best, steps: 0, most, room };
        search.run(rest, &mut Vec::new(), 0, 0);
        best = search.best;
        if best.as_ref().is_some_and(|way| way.cost <= most) {
            break;
        }
    }
    match best {
        Some(way) => {
            found.understood &= way.balanced && way.chosen.len() <= MOST_KINDS;
            for index in way.chosen {
                if let Some(unit) = UNITS.get(index) {
                    found.understood &= unit.cost < NOT_UNDERSTOOD;
                    found.names.insert(unit.name);
                }
            }
        }
        None => found.understood = rest.is_empty(),
    }
}

/// Order in which elements are parted: what has few groups first.
const ORDER: [&str; 13] = ["B", "Si", "As", "Se", "I", "Br", "F", "P", "S", "Cl", "C", "N", "O"];

/// One way to part the atoms.
struct Way {
    cost: u32,
    balanced: bool,
    chosen: Vec<usize>,
}

/// Groups by their number of atoms: a whole ligand is tried before its parts.
static LARGEST_FIRST: LazyLock<Vec<usize>> = LazyLock::new(|| {
    let atoms = |index: &usize| UNITS.get(*index).map_or(0, |unit| unit.atoms.iter().map(|(_, n)| n).sum::<i64>());
    let mut order: Vec<usize> = (0..UNITS.len()).collect();
    order.sort_by_key(|index| std::cmp::Reverse(atoms(index)));
    order
});

/// The cheapest way found so far.
struct Search {
    best: Option<Way>,
    steps: usize,
    /// Largest cost of groups that is looked at.
    most: u32,
    /// Least and most charge of all groups.
    room: (f64, f64),
}

impl Search {
    /// A search for few kinds may take longer: it is the one that explains a formula.
    fn most_steps(&self) -> usize {
        if self.most <= 5 { 5 * MOST_STEPS } else { MOST_STEPS }
    }

    fn run(&mut self, rest: &BTreeMap<&'static str, i64>, chosen: &mut Vec<usize>, cost: u32, charge: i64) {
        self.steps += 1;
        if self.steps > self.most_steps() || self.best.as_ref().is_some_and(|way| cost >= way.cost) {
            return;
        }
        let first = ORDER.iter().find(|symbol| rest.contains_key(*symbol)).copied();
        let Some(symbol) = first.or_else(|| rest.keys().next().copied()) else {
            let (low, high) = self.room;
            let fits = (low - ROUNDING..=high + ROUNDING).contains(&(charge as f64));
            let cost = if fits { cost } else { cost + UNBALANCED };
            if self.best.as_ref().is_none_or(|way| cost < way.cost) {
                self.best = Some(Way { cost, balanced: fits, chosen: chosen.clone() });
            }
            return;
        };
        for index in LARGEST_FIRST.iter().copied() {
            let Some(unit) = UNITS.get(index).filter(|unit| holds(unit, symbol)) else { continue };
            if chosen.contains(&index)
                || self.best.as_ref().is_some_and(|way| cost + unit.cost >= way.cost)
                || cost + unit.cost > self.most
            {
                continue;
            }
            // As many as fit, then fewer: most formulas need all of them.
            let most = fits(unit, rest);
            // Where no other group can follow, this one has to take all.
            let least = if cost + unit.cost + 1 > self.most { most } else { 1 };
            for count in (least.max(1)..=most).rev() {
                chosen.push(index);
                self.run(&taken(unit, rest, count), chosen, cost + unit.cost, charge + count * unit.charge);
                chosen.pop();
            }
        }
    }
}

fn holds(unit: &Unit, symbol: &str) -> bool {
    unit.atoms.iter().any(|(own, _)| *own == symbol)
}

/// How often a group fits into the atoms.
fn fits(unit: &Unit, rest: &BTreeMap<&'static str, i64>) -> i64 {
    unit.atoms.iter().map(|(symbol, count)| rest.get(symbol).copied().unwrap_or(0) / count).min().unwrap_or(0)
}

fn taken(unit: &Unit, rest: &BTreeMap<&'static str, i64>, times: i64) -> BTreeMap<&'static str, i64> {
    let mut less = rest.clone();
    for (symbol, count) in unit.atoms {
        if let Some(left) = less.get_mut(symbol) {
            *left -= times * count;
        }
    }
    less.retain(|_, count| !count.is_zero());
    less
}
