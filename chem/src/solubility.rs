//! How much of a salt dissolves in water at a temperature, and what crystallises?
//!
//! A table of handbook points, for each solid phase between its transitions; solubility is grams of anhydrous salt in 100 g
//! of water in all, so that the water of hydrates is counted with the rest. Interpolation is not done here.
//! Neglected: other solutes (a common ion lowers it), supersaturation, metastable phases beyond their transition.
//!
//! Source: `data/solubility.tsv`, row by row; all from memory of handbooks.

use crate::formula::{Formula, to_f64};
use crate::source::SourceKey;
use crate::table;
use std::sync::LazyLock;

/// A solid phase of a salt in the range where it is the stable one.
#[derive(Clone, Debug, PartialEq)]
pub struct SaltPhase {
    /// What crystallises.
    pub solid: Formula,
    /// Lower end of its range, °C.
    pub from: f64,
    /// Upper end, °C.
    pub to: f64,
    /// Temperature, °C, with g of anhydrous salt in 100 g of water.
    pub points: Vec<(f64, f64)>,
    /// Where it comes from.
    pub source: SourceKey,
    /// What has to be known of it; may be empty.
    pub comment: &'static str,
}

/// A salt with all its phases, from cold to hot.
#[derive(Clone, Debug, PartialEq)]
pub struct Salt {
    /// Without water of crystallisation.
    pub anhydrous: Formula,
    /// Its phases.
    pub phases: Vec<SaltPhase>,
}

static SALTS: LazyLock<Vec<Salt>> = LazyLock::new(|| {
    let mut salts: Vec<Salt> = Vec::new();
    for row in table::rows(include_str!("../../data/solubility.tsv")) {
        let Some((anhydrous, phase)) = read(&row) else { continue };
        match salts.last_mut().filter(|salt| salt.anhydrous == anhydrous) {
            Some(salt) => salt.phases.push(phase),
            None => salts.push(Salt { anhydrous, phases: vec![phase] }),
        }
    }
    salts
});

fn read(row: &table::Row<'static>) -> Option<(Formula, SaltPhase)> {
    let point = |text: &str| {
        let (temperature, solubility) = text.split_once(':')?;
        Some((temperature.parse().ok()?, solubility.parse().ok()?))
    };
    let phase = SaltPhase {
        solid: Formula::parse(row.cell("solid")).ok()?,
        from: row.number("from")?,
        to: row.number("to")?,
        points: row.cell("points").split(' ').map(point).collect::<Option<Vec<_>>>()?,
        source: SourceKey::from_text(row.cell("source"))?,
        comment: row.cell("comment"),
    };
    Some((Formula::parse(row.cell("anhydrous")).ok()?, phase))
}

impl Salt {
    /// All salts of the table.
    #[must_use]
    pub fn all() -> &'static [Salt] {
        &SALTS
    }

    /// The salt of this formula, with or without water of crystallisation.
    ///
    /// ```
    /// use chem::{Formula, solubility::Salt};
    /// let salt = Salt::of(&Formula::parse("CuSO4·5H2O")?).ok_or("not in the table")?;
    /// assert_eq!(salt.anhydrous.to_string(), "CuSO4");
    /// # Ok::<(), Box<dyn std::error::Error>>(())
    /// ```
    #[must_use]
    pub fn of(formula: &Formula) -> Option<&'static Salt> {
        let dry = formula.without_hydrate_water();
        SALTS.iter().find(|salt| salt.anhydrous.same_substance(&dry))
    }
}

impl SaltPhase {
    /// Water of crystallisation per formula of the anhydrous salt.
    #[must_use]
    pub fn hydration(&self) -> f64 {
        to_f64(self.solid.hydrate_water())
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_table_is_whole() {
        let rows = table::rows(include_str!("../../data/solubility.tsv"));
        assert!(rows.iter().all(|row| row.is_complete() && read(row).is_some()));
        assert!((60..=100).contains(&Salt::all().len()), "{}", Salt::all().len());
        for salt in Salt::all() {
            for phase in &salt.phases {
                let name = &phase.solid;
                assert!(phase.solid.without_hydrate_water().same_substance(&salt.anhydrous), "{name}");
                assert!(phase.points.windows(2).all(|p| p[0].0 < p[1].0), "{name}");
                assert!(phase.points.iter().all(|(_, s)| *s > 0.0), "{name}");
                assert!(phase.points.first().is_some_and(|p| p.0 == phase.from), "{name} starts elsewhere");
                assert!(phase.points.last().is_some_and(|p| p.0 == phase.to), "{name} ends elsewhere");
            }
            // Phases meet, and lose water as it gets warmer.
            for pair in salt.phases.windows(2) {
                assert_eq!(pair[0].points.last(), pair[1].points.first(), "{}", salt.anhydrous);
                assert!(pair[0].hydration() > pair[1].hydration(), "{}", salt.anhydrous);
            }
        }
    }
}
