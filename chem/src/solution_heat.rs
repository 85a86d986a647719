//! How much heat does a substance give off when it goes into so much water?
//!
//! Integral heats of solution at 25 °C. Between the points of the table heat is taken as a straight line in the mole fraction of
//! water, which errs by some 2 kJ/mol in the strongest acids and by tenths elsewhere; outside of the table nothing is said.
//! Neglected: temperature (some 0.1 kJ/mol for a degree in much water).
//!
//! Source: `data/solution_heats.tsv`, row by row.

use crate::formula::Formula;
use crate::source::SourceKey;
use crate::table::{self, Row};
use std::sync::LazyLock;

/// The embedded table.
const TABLE: &str = include_str!("../../data/solution_heats.tsv");

/// A substance with the heat it gives off in more and more water.
#[derive(Clone, Debug, PartialEq)]
pub struct SolutionHeat {
    /// The substance.
    pub solute: Formula,
    /// mol of water for each mol (rising) with heat given off, J/mol.
    pub points: Vec<(f64, f64)>,
    /// Source.
    pub source: SourceKey,
}

static ROWS: LazyLock<Vec<SolutionHeat>> = LazyLock::new(|| table::rows(TABLE).iter().filter_map(read).collect());

fn read(row: &Row<'static>) -> Option<SolutionHeat> {
    let point = |text: &str| {
        let (water, heat) = text.split_once(':')?;
        Some((water.parse::<f64>().ok()?, heat.parse::<f64>().ok()? * 1e3))
    };
    Some(SolutionHeat {
        solute: Formula::parse(row.cell("solute")).ok()?,
        points: row.cell("points").split(' ').map(point).collect::<Option<Vec<_>>>()?,
        source: SourceKey::from_text(row.cell("source"))?,
    })
}

impl SolutionHeat {
    /// All substances.
    #[must_use]
    pub fn all() -> &'static [SolutionHeat] {
        &ROWS
    }

    /// The substance of this formula.
    #[must_use]
    pub fn of(formula: &Formula) -> Option<&'static SolutionHeat> {
        ROWS.iter().find(|row| row.solute.same_substance(formula))
    }

    /// Heat given off on going into so many mol of water for each mol, J/mol; `None` beyond the table.
    ///
    /// ```
    /// use chem::{Formula, SolutionHeat};
    /// let acid = SolutionHeat::of(&Formula::parse("H2SO4")?).ok_or("not in the table")?;
    /// // From 50 to 1000 mol of water: the heat of dilution.
    /// let dilution = acid.at(1000.0).ok_or("beyond")? - acid.at(50.0).ok_or("beyond")?;
    /// assert!((dilution - 5230.0).abs() < 1.0);
    /// # Ok::<(), Box<dyn std::error::Error>>(())
    /// ```
    #[must_use]
    pub fn at(&self, water: f64) -> Option<f64> {
        let pair = self.points.windows(2).find(|pair| (pair[0].0..=pair[1].0).contains(&water))?;
        let fraction = |water: f64| water / (1.0 + water);
        let (low, high) = (fraction(pair[0].0), fraction(pair[1].0));
        let share = (fraction(water) - low) / (high - low);
        Some(pair[0].1 + share * (pair[1].1 - pair[0].1))
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn heat(formula: &str, water: f64) -> f64 {
        let row = SolutionHeat::of(&Formula::parse(formula).expect("a formula")).expect("in the table");
        row.at(water).expect("within") * 1e-3
    }

    #[test]
    fn the_table_is_whole() {
        let rows = table::rows(TABLE);
        assert!(rows.iter().all(|row| row.is_complete() && read(row).is_some()));
        for row in SolutionHeat::all() {
            assert!(row.points.windows(2).all(|p| p[0].0 < p[1].0), "{}", row.solute);
        }
        let beyond = SolutionHeat::of(&Formula::parse("NaOH").expect("a formula")).expect("in the table");
        assert!(beyond.at(2.0).is_none() && beyond.at(1e6).is_none() && beyond.at(f64::NAN).is_none());
    }

    /// Sulfuric acid in 1, 5, 10 and 100 mol of water: R. M. Felder, R. W. Rousseau, table B.11 (from memory): 28.07, 58.03,
    /// 67.03 and 73.97 kJ/mol. J. Thomsen's formula of the 1880s, 17860 r/(r + 1.7983) cal/mol (Perry's Handbook, from memory), gives
    /// 26.70, 54.96 and 63.34 and lies 5 % below, which is told here so that nobody mends the one by the other.
    #[test]
    fn sulfuric_acid_by_two_sources() {
        for (water, tabled, thomsen, tolerance) in [
            (1.0, 28.07, Some(26.704_156_09), 0.05),
            (5.0, 58.03, Some(54.959_504_58), 0.05),
            (10.0, 67.03, Some(63.336_446_78), 0.05),
            (100.0, 73.97, None, 0.1),
        ] {
            let found = heat("H2SO4", water);
            assert!((found - tabled).abs() <= tolerance, "{water} {found}");
            let Some(thomsen) = thomsen else { continue };
            let formula = 17_860.0 * water / (water + 1.7983) * 4.184e-3;
            assert!((formula - thomsen).abs() < 0.05, "{water} {formula}");
            assert!((0.04..0.07).contains(&(found / formula - 1.0)), "{water} {found} {formula}");
        }
    }

    /// Heats of formation in so much water against those of the pure substances: NBS tables, 1982 (from memory); sulfuric acid
    /// −813.989, −841.79, −880.53 and −887.64 kJ/mol, hydrogen chloride −92.307 and −161.318. The older heats are up to 0.6
    /// kJ/mol larger.
    #[test]
    fn newer_heats_are_close() {
        for (solute, water, pure, dissolved) in [
            ("H2SO4", 1.0, -813.989, -841.79),
            ("H2SO4", 10.0, -813.989, -880.53),
            ("H2SO4", 100.0, -813.989, -887.64),
            ("HCl", 10.0, -92.307, -161.318),
        ] {
            let newer: f64 = pure - dissolved;
            let found = heat(solute, water);
            assert!((0.0..0.6).contains(&(found - newer)), "{solute} {water} {found} {newer}");
        }
    }
}
