//! How dense is a solution of this strength?
//!
//! One solute in water at 20 °C; between the points of the table density is taken as a straight line in the mass fraction,
//! which errs by at most 0.003 where points are ten percent apart. Outside of the table nothing is said. Neglected:
//! temperature (some 0.0003 to 0.0008 for a degree).
//!
//! Source: `data/solution_densities.tsv`, row by row.

use crate::formula::Formula;
use crate::source::SourceKey;
use crate::table::{self, Row};
use std::sync::LazyLock;

/// Density of water at 20 °C, kg/m³ (CIPM formula, Tanaka et al., Metrologia 38 (2001) 301).
const WATER: f64 = 998.2;

/// A solute with densities of its solutions.
#[derive(Clone, Debug, PartialEq)]
pub struct SolutionDensity {
    /// Solute without hydrate water.
    pub solute: Formula,
    /// Mass fraction (rising) with density, kg/m³; water first.
    pub points: Vec<(f64, f64)>,
    /// Source.
    pub source: SourceKey,
}

static ROWS: LazyLock<Vec<SolutionDensity>> =
    LazyLock::new(|| table::rows(include_str!("../../data/solution_densities.tsv")).iter().filter_map(read).collect());

fn read(row: &Row<'static>) -> Option<SolutionDensity> {
    let point = |text: &str| {
        let (percent, density) = text.split_once(':')?;
        Some((percent.parse::<f64>().ok()? / 100.0, density.parse::<f64>().ok()? * 1e3))
    };
    let mut points = vec![(0.0, WATER)];
    points.extend(row.cell("points").split(' ').map(point).collect::<Option<Vec<_>>>()?);
    Some(SolutionDensity {
        solute: Formula::parse(row.cell("solute")).ok()?,
        points,
        source: SourceKey::from_text(row.cell("source"))?,
    })
}

impl SolutionDensity {
    /// All solutes.
    #[must_use]
    pub fn all() -> &'static [SolutionDensity] {
        &ROWS
    }

    /// The solute of this formula, with or without hydrate water.
    #[must_use]
    pub fn of(formula: &Formula) -> Option<&'static SolutionDensity> {
        let dry = formula.without_hydrate_water();
        ROWS.iter().find(|row| row.solute.same_substance(&dry))
    }

    /// Density at a mass fraction, kg/m³; `None` beyond the table.
    ///
    /// ```
    /// use chem::{Formula, SolutionDensity};
    /// let acid = SolutionDensity::of(&Formula::parse("HCl")?).ok_or("not in the table")?;
    /// assert!(acid.at(0.37).is_some_and(|density| (density - 1184.0).abs() < 1.0));
    /// # Ok::<(), Box<dyn std::error::Error>>(())
    /// ```
    #[must_use]
    pub fn at(&self, mass_fraction: f64) -> Option<f64> {
        let pair = self.points.windows(2).find(|pair| (pair[0].0..=pair[1].0).contains(&mass_fraction))?;
        let share = (mass_fraction - pair[0].0) / (pair[1].0 - pair[0].0);
        Some(pair[0].1 + share * (pair[1].1 - pair[0].1))
    }

    /// Mass fraction of a solution that holds so much solute in a volume, kg/m³; `None` beyond the table.
    #[must_use]
    pub fn fraction(&self, mass_concentration: f64) -> Option<f64> {
        let (mut low, mut high) = (0.0, self.points.last()?.0);
        let held = |fraction: f64| Some(fraction * self.at(fraction)?);
        if mass_concentration < 0.0 || held(high)? < mass_concentration {
            return None;
        }
        for _ in 0..60 {
            let middle = 0.5 * (low + high);
            if held(middle)? < mass_concentration { low = middle } else { high = middle }
        }
        Some(0.5 * (low + high))
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_table_is_whole() {
        let rows = table::rows(include_str!("../../data/solution_densities.tsv"));
        assert!(rows.iter().all(|row| row.is_complete() && read(row).is_some()));
        for row in SolutionDensity::all() {
            assert!(row.points.windows(2).all(|p| p[0].0 < p[1].0), "{}", row.solute);
            assert!(row.points.iter().all(|(_, d)| (890.0..1900.0).contains(d)), "{}", row.solute);
        }
    }

    /// As sold: hydrochloric acid 37 % 12.0 mol/L, sulfuric acid 96 % 18.0, sodium hydroxide 50 % 19.1, ammonia 28 % 14.8,
    /// glacial acetic acid 17.4 (labels of suppliers, common practice; to the digits printed, 0.1 to 0.2).
    #[test]
    fn what_is_sold_has_the_molarity_on_its_label() {
        for (formula, percent, molar_mass, printed, within) in [
            ("HCl", 37.0, 36.46, 12.0, 0.1),
            ("H2SO4", 96.0, 98.08, 18.0, 0.1),
            ("NaOH", 50.0, 40.0, 19.1, 0.1),
            ("NH3", 28.0, 17.03, 14.8, 0.1),
            ("CH3COOH", 99.7, 60.05, 17.4, 0.1),
        ] {
            let row = SolutionDensity::of(&Formula::parse(formula).expect("a formula")).expect("in the table");
            let molarity = percent / 100.0 * row.at(percent / 100.0).expect("within") / molar_mass;
            assert!((molarity - printed).abs() <= within, "{formula}: {molarity}");
            let back = row.fraction(molarity * molar_mass).expect("within");
            assert!((back - percent / 100.0).abs() < 1e-3, "{formula} {back}");
        }
    }
}
