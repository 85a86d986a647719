//! What joins the oxidation states of an element in water?
//!
//! Gibbs energies of formation at 25 °C of the masters of the association set, and of species and solids that no table of
//! constants has because they are another oxidation state. With the constants of the set every species and solid then has
//! its Gibbs energy. Neglected: other temperatures.
//!
//! Source: `data/redox.tsv`, row by row.

use super::{Constant, DissolvedSpecies, Form, Model, Precipitate};
use crate::formula::Formula;
use crate::source::SourceKey;
use crate::table::{self, Row};
use std::sync::LazyLock;

/// What a row is.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum RedoxKind {
    /// The solvent.
    Water,
    /// A master of the association set.
    Master,
    /// A dissolved species of another oxidation state.
    Species,
    /// A solid of another oxidation state.
    Solid,
}

/// One row.
#[derive(Clone, Debug, PartialEq)]
pub struct RedoxRow {
    /// Name as in the tables.
    pub name: &'static str,
    /// Its formula.
    pub formula: Formula,
    /// What it is.
    pub kind: RedoxKind,
    /// Gibbs energy of formation, J/mol.
    pub gibbs: f64,
    /// Where it comes from.
    pub sources: Vec<SourceKey>,
}

static ROWS: LazyLock<Vec<RedoxRow>> =
    LazyLock::new(|| table::rows(include_str!("../../../data/redox.tsv")).iter().filter_map(read).collect());

fn read(row: &Row<'static>) -> Option<RedoxRow> {
    Some(RedoxRow {
        name: row.cell("formula"),
        formula: Formula::parse(row.cell("formula")).ok()?,
        kind: match row.cell("kind") {
            "water" => RedoxKind::Water,
            "master" => RedoxKind::Master,
            "species" => RedoxKind::Species,
            "solid" => RedoxKind::Solid,
            _ => return None,
        },
        gibbs: row.number("gibbs")? * 1e3,
        sources: row.cell("source").split(';').filter_map(|key| SourceKey::from_text(key.trim())).collect(),
    })
}

/// All rows.
///
/// ```
/// use chem::aqueous::{RedoxKind, redox};
/// let copper = redox().iter().find(|row| row.name == "Cu^2+").map(|row| row.gibbs.round());
/// assert_eq!(copper, Some(65_490.0));
/// ```
#[must_use]
pub fn redox() -> &'static [RedoxRow] {
    &ROWS
}

/// States that the tables of constants do not have, as species and solids of the association set; each is its own part.
#[must_use]
pub fn other_states() -> &'static (Vec<DissolvedSpecies>, Vec<Precipitate>) {
    &OTHERS
}

static OTHERS: LazyLock<(Vec<DissolvedSpecies>, Vec<Precipitate>)> = LazyLock::new(|| {
    let constant = |row: &RedoxRow| {
        let source = *row.sources.first()?;
        Some(Constant { log_k: 0.0, enthalpy: None, analytic: None, others: Vec::new(), source })
    };
    let dissolved = |row: &RedoxRow| {
        let (formula, terms) = (row.formula.clone(), vec![(row.name, 1.0)]);
        let constant = constant(row)?;
        Some(DissolvedSpecies { model: Model::Association, name: row.name, formula, terms, constant, size: None })
    };
    let solid = |row: &RedoxRow| {
        let (formula, terms) = (row.formula.clone(), vec![(row.name, 1.0)]);
        let (constant, form) = (constant(row)?, Some(Form::Fresh));
        Some(Precipitate { model: Model::Association, name: row.name, label: "", form, formula, terms, constant })
    };
    let of = |kind: RedoxKind| redox().iter().filter(move |row| row.kind == kind);
    (of(RedoxKind::Species).filter_map(dissolved).collect(), of(RedoxKind::Solid).filter_map(solid).collect())
});

/// Gibbs energy of formation of a master or of water, J/mol.
#[must_use]
pub fn master_gibbs(name: &str) -> Option<f64> {
    let kind = |row: &&RedoxRow| matches!(row.kind, RedoxKind::Master | RedoxKind::Water);
    redox().iter().filter(kind).find(|row| row.name == name).map(|row| row.gibbs)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::aqueous::species;

    #[test]
    fn the_table_is_whole() {
        let rows = table::rows(include_str!("../../../data/redox.tsv"));
        assert!(rows.iter().all(|row| read(row).is_some_and(|row| !row.sources.is_empty())));
        for row in redox().iter().filter(|row| row.kind == RedoxKind::Master) {
            assert!(species(Model::Association).any(|s| s.is_master() && s.name == row.name), "{}", row.name);
        }
    }

    /// Standard potentials in V against print (Electrochemical Series, CRC Handbook of Chemistry and Physics, from memory):
    /// reduced form, oxidised form, electrons, hydrogen ions, water, printed, tolerance. Iron and nickel differ between
    /// compilations by 0.02 V; all others agree to 0.006 V.
    #[test]
    fn standard_potentials_are_those_of_print() {
        let of = |name: &str| {
            let found = redox().iter().find(|row| row.name == name).map(|row| row.gibbs);
            found.unwrap_or_else(|| panic!("{name}"))
        };
        type Couple = (&'static str, f64, &'static str, f64, f64, f64, f64, f64);
        let couples: [Couple; 16] = [
            ("Zn", 1.0, "Zn^2+", 2.0, 0.0, 0.0, -0.7618, 0.003),
            ("Fe", 1.0, "Fe^2+", 2.0, 0.0, 0.0, -0.447, 0.025),
            ("Fe^2+", 1.0, "Fe^3+", 1.0, 0.0, 0.0, 0.771, 0.003),
            ("Cu", 1.0, "Cu^2+", 2.0, 0.0, 0.0, 0.3419, 0.003),
            ("Cu^+", 1.0, "Cu^2+", 1.0, 0.0, 0.0, 0.153, 0.01),
            ("Cu", 1.0, "Cu^+", 1.0, 0.0, 0.0, 0.521, 0.004),
            ("Ag", 1.0, "Ag^+", 1.0, 0.0, 0.0, 0.7996, 0.002),
            ("Pb", 1.0, "Pb^2+", 2.0, 0.0, 0.0, -0.1262, 0.002),
            ("Ni", 1.0, "Ni^2+", 2.0, 0.0, 0.0, -0.257, 0.025),
            ("Co", 1.0, "Co^2+", 2.0, 0.0, 0.0, -0.28, 0.005),
            ("Mn", 1.0, "Mn^2+", 2.0, 0.0, 0.0, -1.185, 0.005),
            ("Mn^2+", 1.0, "MnO4^-", 5.0, 8.0, 4.0, 1.507, 0.006),
            ("Mn^2+", 1.0, "MnO2", 2.0, 4.0, 2.0, 1.224, 0.006),
            ("Pb^2+", 1.0, "PbO2", 2.0, 4.0, 2.0, 1.455, 0.006),
            ("Mg", 1.0, "Mg^2+", 2.0, 0.0, 0.0, -2.372, 0.02),
            ("Al", 1.0, "Al^3+", 3.0, 0.0, 0.0, -1.662, 0.02),
        ];
        for (reduced, count, oxidised, electrons, hydrogen, water, printed, tolerance) in couples {
            let change = count * of(reduced) + water * of("H2O") - of(oxidised) - hydrogen * of("H^+");
            let found = -change / (electrons * 96_485.332_12);
            assert!((found - printed).abs() <= tolerance, "{oxidised}/{reduced}: {found:.4}, printed {printed}");
        }
    }
}
