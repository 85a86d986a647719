//! Of which ions does a dissolved salt consist?
//!
//! A dissolved salt or strong acid without a row of its own is reckoned as one cation and one anion of the table, in
//! the numbers that make its formula. That neglects the heat of dilution and the pairing of ions: right at infinite
//! dilution, wrong by some kJ/mol in strong solutions.
//!
//! Source: definition of the standard state of an electrolyte, IUPAC Green Book (3rd edition, 2007), section 2.11.1.

use chem::formula::to_f64;
use chem::thermo::StandardValue;
use chem::{Formula, Phase, Species};

/// Most ions of one kind in a formula unit.
const MOST: i64 = 4;

/// The ions of a neutral formula with their numbers; `None` where the table has no such pair.
pub(crate) fn ions_of(formula: &Formula) -> Option<Vec<(i64, Species)>> {
    if formula.charge() != 0 {
        return None;
    }
    let dry = formula.without_hydrate_water();
    let dissolved: Vec<&Species> = StandardValue::all()
        .iter()
        .map(|row| &row.species)
        .filter(|species| species.phase == Some(Phase::Aqueous) && species.formula.charge() != 0)
        .collect();
    let with_sign = |positive: bool| dissolved.iter().filter(move |s| (s.formula.charge() > 0) == positive);
    for cation in with_sign(true) {
        for anion in with_sign(false) {
            for n in 1..=MOST {
                let positive = n * i64::from(cation.formula.charge());
                let negative = -i64::from(anion.formula.charge());
                if positive % negative == 0 && makes_up(&dry, &cation.formula, n, &anion.formula, positive / negative) {
                    let m = positive / negative;
                    return Some(vec![(n, (*cation).clone()), (m, (*anion).clone())]);
                }
            }
        }
    }
    None
}

/// Whether so many of two ions have the atoms of a formula.
fn makes_up(whole: &Formula, cation: &Formula, n: i64, anion: &Formula, m: i64) -> bool {
    let total = |element| to_f64(cation.count(element)) * n as f64 + to_f64(anion.count(element)) * m as f64;
    whole.composition().iter().all(|(element, count)| (total(*element) - to_f64(*count)).abs() < 1e-9)
        && cation.composition().keys().chain(anion.composition().keys()).all(|e| whole.composition().contains_key(e))
}
