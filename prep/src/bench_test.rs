//! Which tests can a bench without instruments make of a weighed solid, and what does each measure?
//!
//! The table `data/tests.tsv` names them; here stands what each would read off a pure species, from its formula alone:
//! water and gas lost on the way to the end form, soluble salt, content of an element, acid taken up, carbon dioxide,
//! density, yes or no. A reading of a mixture is the quotient of two sums over its species ([`Measure`]), so one rule
//! serves the evidence of the account, the predictions for a cause, and the choice of the next test.
//!
//! Neglected: what a test leaves undone (scatter stands for it), hydrate water on drying (the temperature is to be one at
//! which hydrates hold), products that dissolve, oxalate and organic matter in acid.
//! Source: common practice; proportions follow from the formulas.

use chem::formula::to_f64;
use chem::reaction::conversion;
use chem::table::{Row, rows};
use chem::{Element, Formula, Phase, Species};
use std::sync::LazyLock;

const TESTS: &str = include_str!("../../data/tests.tsv");
const DENSITIES: &str = include_str!("../../data/densities.tsv");

/// Molar volume of an ideal gas at 25 °C and 1 atm, m³/mol (R of CODATA 2018).
const MOLAR_VOLUME: f64 = 8.314_462_618 * 298.15 / 101_325.0;

/// A test of the table.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct BenchTest {
    /// Name, as the file writes it.
    pub name: &'static str,
    /// What it measures, in words.
    pub what: &'static str,
    /// Tests of one axis measure the same thing.
    pub axis: &'static str,
    /// Unit of its figure.
    pub unit: &'static str,
    /// Factor from SI to that unit.
    pub per_si: f64,
    /// Standard uncertainty that does not grow with the figure, in the unit.
    pub absolute: f64,
    /// Standard uncertainty relative to the figure.
    pub relative: f64,
    /// Usual portion, kg: least and most.
    pub sample: (f64, f64),
    /// Usual time, s.
    pub time: f64,
    /// Whether the portion is used up.
    pub destroys: bool,
    /// Whether the scatter of the balance comes on top.
    pub weighs: bool,
    /// For a yes or no: where it is noticed half the time, in the unit.
    pub noticed: Option<f64>,
    /// What goes wrong.
    pub traps: &'static str,
    /// Source key.
    pub source: &'static str,
}

static ALL: LazyLock<Vec<BenchTest>> = LazyLock::new(|| rows(TESTS).iter().filter_map(test).collect());

fn test(row: &Row<'static>) -> Option<BenchTest> {
    let unit = match row.cell("unit") {
        "%" => ("%", 100.0),
        "mmol/g" => ("mmol/g", 1.0),
        // m³/kg is 1000 mL/g.
        "mL/g" => ("mL/g", 1e3),
        "g/cm3" => ("g/cm3", 1e-3),
        _ => return None,
    };
    Some(BenchTest {
        name: row.cell("test"),
        what: row.cell("what"),
        axis: row.cell("axis"),
        unit: unit.0,
        per_si: unit.1,
        absolute: row.number("u_absolute")?,
        relative: row.number("u_relative")?,
        sample: (row.number("sample_low_g")? * 1e-3, row.number("sample_high_g")? * 1e-3),
        time: row.number("hours")? * 3600.0,
        destroys: row.cell("destroys") == "yes",
        weighs: row.cell("balance") == "yes",
        noticed: row.number("noticed_at"),
        traps: row.cell("traps"),
        source: row.cell("source"),
    })
}

impl BenchTest {
    /// All tests, in the order of the table.
    #[must_use]
    pub fn all() -> &'static [BenchTest] {
        &ALL
    }

    /// The test of this name.
    #[must_use]
    pub fn named(name: &str) -> Option<&'static BenchTest> {
        let name = name.trim();
        ALL.iter().find(|test| test.name == name)
    }

    /// Standard uncertainty of a figure (in the unit), without the balance.
    #[must_use]
    pub fn uncertainty(&self, figure: f64) -> f64 {
        self.absolute.hypot(self.relative * figure)
    }
}

/// What a test is read against.
#[derive(Clone, Debug)]
pub struct Measure<'a> {
    /// The test.
    pub test: &'a BenchTest,
    /// Element that a titre counts.
    pub element: Option<Element>,
    /// Formula in which a titre is stated, in place of the element.
    pub stated_as: Option<Formula>,
    /// Form in which the element ends on ignition.
    pub end: Option<Species>,
    /// Gases that heat drives off or takes up.
    pub exchanged: Vec<Species>,
}

/// What one mole of a species adds to the two sums of a reading.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct Share {
    /// To what is counted: kg, mol or m³.
    pub counted: f64,
    /// To what it is counted on: kg or m³.
    pub per: f64,
}

impl Measure<'_> {
    /// What a mole of a species adds; `None` where the test says nothing of it (a density that no table has).
    /// `soluble`: whether the lot came from a liquor that holds it.
    #[must_use]
    pub fn of(&self, species: &Species, soluble: bool) -> Option<Share> {
        let formula = &species.formula;
        let mass = formula.molar_mass().ok()?.value * 1e-3;
        let counted = match self.test.name {
            "loss on drying" => {
                let loose = is_water(species) && species.phase != Some(Phase::Solid);
                if loose { mass } else { 0.0 }
            }
            "loss on ignition" | "strong ignition" => self.lost(species, mass),
            "leach" | "rinse conductivity" => {
                let water = is_water(species);
                if soluble && !water { mass } else { 0.0 }
            }
            "titre" => self.content(formula),
            "acid titre" => acid_taken(formula)?,
            "gas with acid" => (carbonate(formula) + hydrogen(formula)) * MOLAR_VOLUME,
            "density" => return density(formula).map(|density| Share { counted: mass, per: mass / density }),
            "fizz" => carbonate(formula) * 0.044_009,
            "magnet" => magnetic(formula) * mass,
            _ => return None,
        };
        Some(Share { counted, per: mass })
    }

    /// What a kilogram of foreign matter adds, soluble or not, combustible or not.
    #[must_use]
    pub fn of_foreign(&self, soluble: bool, combustible: bool) -> Share {
        let shows = match self.test.name {
            "loss on ignition" | "strong ignition" => combustible,
            "leach" | "rinse conductivity" => soluble,
            _ => false,
        };
        Share {
            counted: if shows { 1.0 } else { 0.0 },
            per: if self.test.name == "density" { 1.0 / 2000.0 } else { 1.0 },
        }
    }

    /// Mass that a mole loses on its way to the end form, kg.
    fn lost(&self, species: &Species, mass: f64) -> f64 {
        if is_water(species) || burns_away(&species.formula) {
            return mass;
        }
        let Some(end) = self.end.as_ref().filter(|end| !end.formula.same_substance(&species.formula)) else {
            return 0.0;
        };
        let mut gases = self.exchanged.clone();
        if self.test.name == "strong ignition"
            && let Ok(formula) = Formula::parse("SO3")
        {
            gases.push(Species::new(formula, Some(Phase::Gas)));
        }
        let solid = Species::new(species.formula.clone(), Some(Phase::Solid));
        let Some(terms) = conversion(&solid, end, &gases) else { return 0.0 };
        let gives = terms.iter().find(|(s, _)| s == end).map_or(0.0, |(_, n)| to_f64(*n));
        mass - gives * end.formula.molar_mass().map_or(0.0, |m| m.value * 1e-3)
    }

    fn content(&self, formula: &Formula) -> f64 {
        let Some(element) = self.element else { return 0.0 };
        let count = to_f64(formula.count(element));
        match &self.stated_as {
            Some(stated) => {
                let held = to_f64(stated.count(element));
                if held > 0.0 { count / held * stated.molar_mass().map_or(0.0, |m| m.value * 1e-3) } else { 0.0 }
            }
            None => count * element.atomic_weight().map_or(0.0, |w| w.value * 1e-3),
        }
    }
}

fn count(formula: &Formula, symbol: &str) -> f64 {
    Element::from_symbol(symbol).map_or(0.0, |element| to_f64(formula.count(element)))
}

fn is_water(species: &Species) -> bool {
    species.formula.same_substance(&Formula::water())
}

/// Whether nothing of it stays on ignition: no element but those of gases.
pub(crate) fn burns_away(formula: &Formula) -> bool {
    const VOLATILE: [&str; 8] = ["H", "C", "N", "O", "F", "Cl", "Br", "I"];
    formula.elements().all(|(element, _)| VOLATILE.contains(&element.symbol()))
}

/// Moles of carbon dioxide that dilute acid frees from a mole: all carbon where it is carbonate, with three oxygen atoms.
pub(crate) fn carbonate(formula: &Formula) -> f64 {
    let carbon = count(formula, "C");
    if carbon > 0.0 && count(formula, "O") >= 3.0 * carbon { carbon } else { 0.0 }
}

/// Moles of hydrogen that dilute acid frees from a mole of a metal that it dissolves.
fn hydrogen(formula: &Formula) -> f64 {
    let mut elements = formula.elements();
    match (elements.next(), elements.next()) {
        (Some((element, count)), None) => match element.symbol() {
            "Mg" | "Ca" | "Zn" | "Fe" | "Mn" => count,
            "Al" => 1.5 * count,
            _ => 0.0,
        },
        _ => 0.0,
    }
}

/// Moles of acid that a mole takes up with sulfate, nitrate and chloride left as they are: every oxygen atom beyond
/// those of the acid anions takes two, every hydrogen atom of it one less. `None` where that rule does not hold.
fn acid_taken(formula: &Formula) -> Option<f64> {
    const PLAIN: [&str; 17] =
        ["H", "C", "O", "S", "Cl", "Br", "Li", "Na", "K", "Mg", "Ca", "Sr", "Ba", "Zn", "Cu", "Ni", "Co"];
    let plain = |symbol: &str| PLAIN.contains(&symbol);
    if !formula.elements().all(|(element, _)| plain(element.symbol())) || count(formula, "O") == 0.0 {
        return if formula.elements().all(|(e, _)| ["Na", "K", "Ca", "Mg", "Zn", "Cl", "Br"].contains(&e.symbol()))
            && formula.elements().count() == 2
        {
            Some(0.0)
        } else {
            None
        };
    }
    let oxygen = count(formula, "O") - 2.0 * count(formula, "C") - 4.0 * count(formula, "S");
    let halogen = count(formula, "Cl") + count(formula, "Br");
    // A chloride that stands with oxygen would be an oxyacid: no plain salt.
    (oxygen >= 0.0 && halogen <= 2.0).then_some(2.0 * oxygen - count(formula, "H"))
}

/// 1 for what a magnet lifts.
fn magnetic(formula: &Formula) -> f64 {
    let lifted = ["Fe", "Co", "Ni", "Fe3O4"].iter().filter_map(|text| Formula::parse(text).ok());
    if lifted.into_iter().any(|known| known.same_substance(formula)) { 1.0 } else { 0.0 }
}

static DENSITY_ROWS: LazyLock<Vec<(Formula, f64)>> = LazyLock::new(|| {
    let known =
        |row: &Row<'_>| Some((Formula::parse(row.cell("formula")).ok()?, row.number("density_g_per_cm3")? * 1e3));
    rows(DENSITIES).iter().filter_map(known).collect()
});

/// Density of a pure substance, kg/m³, if the table has it.
pub(crate) fn density(formula: &Formula) -> Option<f64> {
    DENSITY_ROWS.iter().find(|(known, _)| known.same_substance(formula)).map(|(_, density)| *density)
}

#[cfg(test)]
mod tests {
    use super::*;

    fn measure<'a>(test: &str, end: &str) -> Measure<'a> {
        let gas = |text: &str| Species::parse(&format!("{text}(g)")).expect("a gas");
        Measure {
            test: BenchTest::named(test).expect("a test"),
            element: Element::from_symbol("Cu"),
            stated_as: None,
            end: Species::parse(end).ok(),
            exchanged: ["H2O", "CO2", "O2"].map(gas).to_vec(),
        }
    }

    fn percent(test: &str, species: &str, end: &str) -> f64 {
        let species = Species::parse(species).expect("a species");
        let share = measure(test, end).of(&species, false).expect("it says something");
        100.0 * share.counted / share.per
    }

    #[test]
    fn every_row_is_read() {
        assert_eq!(BenchTest::all().len(), rows(TESTS).len());
        assert_eq!(DENSITY_ROWS.len(), rows(DENSITIES).len());
    }

    /// Losses to the oxide that a handbook gives (gravimetric factors; from memory): zinc carbonate hydroxide 25.88 %,
    /// magnesium hydroxide 30.89 %, malachite 28.05 %; sulfate stays until it is heated strongly.
    #[test]
    fn losses_on_ignition() {
        for (species, end, loss) in [
            ("Zn5(CO3)2(OH)6(s)", "ZnO(s)", 25.88),
            ("Mg(OH)2(s)", "MgO(s)", 30.89),
            ("Cu2CO3(OH)2(s)", "CuO(s)", 28.05),
            ("CuSO4(s)", "CuO(s)", 0.0),
            ("Na2SO4(s)", "CuO(s)", 0.0),
            ("H2O(l)", "CuO(s)", 100.0),
        ] {
            let found = percent("loss on ignition", species, end);
            assert!((found - loss).abs() < 0.01, "{species}: {found}");
        }
        let strong = percent("strong ignition", "CuSO4(s)", "CuO(s)");
        assert!((strong - 50.16).abs() < 0.01, "SO3 leaves copper sulfate: {strong}");
    }

    /// 1.00 g of malachite frees 111 mL of carbon dioxide at 25 °C (common worked figure); 2 mol acid for each mol of
    /// magnesium oxide, 4 for malachite, 6 for brochantite, none for sodium sulfate.
    #[test]
    fn acid() {
        let malachite = Species::parse("Cu2CO3(OH)2(s)").expect("a species");
        let share = measure("gas with acid", "CuO(s)").of(&malachite, false).expect("gas");
        assert!((share.counted / share.per * 1e3 - 110.6).abs() < 0.2);
        for (text, moles) in
            [("MgO", 2.0), ("Cu2CO3(OH)2", 4.0), ("Cu4SO4(OH)6", 6.0), ("Na2SO4", 0.0), ("NaHCO3", 1.0), ("NaCl", 0.0)]
        {
            assert_eq!(acid_taken(&Formula::parse(text).expect("a formula")), Some(moles), "{text}");
        }
    }
}
