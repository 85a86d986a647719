//! Which species and solids may stand in water, with which constants?
//!
//! Two sets of constants, each with the activity model it was made for: `association` (ion pairs and complexes, Davies and
//! extended Debye–Hückel) and `pitzer` (few complexes, interaction parameters). They are never mixed. Every species is
//! written in *masters*, one for each element and oxidation state, with hydrogen ion and water; redox couples are held
//! apart, because at the bench they are, unless a question asks for balance. Neglected: mixed complexes that no table lists,
//! polynuclear ones beyond those listed; so strong complexing may hold more metal in solution than is said.
//!
//! Source: `data/aqueous_species.tsv`, `data/aqueous_solids.tsv`, `data/pitzer.tsv` (notice in `data/NOTICE-aqueous.txt`),
//! and the same with `_added`, keyed by hand; row by row.

mod dissolve;
mod redox;

pub use dissolve::{DissolveError, Dissolved, dissolve, dissolve_beside};
pub use redox::{RedoxKind, RedoxRow, master_gibbs, other_states, redox};

use crate::formula::{Formula, to_f64};
use crate::source::SourceKey;
use crate::table::{self, Row};
use std::collections::BTreeMap;
use std::sync::LazyLock;

/// A set of constants with its activity model.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Model {
    /// Ion pairs and complexes, with an equation for activities that knows charges only.
    Association,
    /// Interaction parameters of the ions.
    Pitzer,
}

impl Model {
    /// The word in the tables.
    #[must_use]
    pub const fn word(self) -> &'static str {
        match self {
            Self::Association => "association",
            Self::Pitzer => "pitzer",
        }
    }

    fn from_word(word: &str) -> Option<Self> {
        [Self::Association, Self::Pitzer].into_iter().find(|model| model.word() == word)
    }
}

/// How a solid comes about.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Form {
    /// Falls out within hours.
    Fresh,
    /// What that turns into.
    Aged,
    /// Does not form at the bench in weeks.
    Slow,
    /// A salt, which crystallises.
    Salt,
}

impl Form {
    /// The word in the tables.
    #[must_use]
    pub const fn word(self) -> &'static str {
        match self {
            Self::Fresh => "fresh",
            Self::Aged => "aged",
            Self::Slow => "slow",
            Self::Salt => "salt",
        }
    }

    fn from_word(word: &str) -> Option<Self> {
        [Self::Fresh, Self::Aged, Self::Slow, Self::Salt].into_iter().find(|form| form.word() == word)
    }
}

/// A constant of formation or dissolution.
#[derive(Clone, Debug, PartialEq)]
pub struct Constant {
    /// Decadic logarithm at 25 °C and zero ionic strength.
    pub log_k: f64,
    /// Enthalpy of the reaction, J/mol, where it is known.
    pub enthalpy: Option<f64>,
    /// Coefficients of log K = A1 + A2 T + A3/T + A4 lg T + A5/T² + A6 T².
    pub analytic: Option<[f64; 6]>,
    /// The same constant in other tables.
    pub others: Vec<(SourceKey, f64)>,
    /// Where it comes from.
    pub source: SourceKey,
}

/// Standard uncertainty of a logarithm that only one table has; between compilations they scatter by about as much
/// (common practice).
const ALONE: f64 = 0.1;
/// Least standard uncertainty of a logarithm.
const LEAST: f64 = 0.03;

impl Constant {
    /// Standard uncertainty of log K: half of what the tables are apart, 0.1 where one table stands alone.
    #[must_use]
    pub fn standard_uncertainty(&self) -> f64 {
        let apart = self.others.iter().map(|(_, other)| (other - self.log_k).abs()).fold(0.0, f64::max);
        match (self.others.is_empty(), self.log_k == 0.0 && self.enthalpy.is_none() && self.analytic.is_none()) {
            (true, true) => 0.0,
            (true, false) => ALONE,
            _ => (apart / 2.0).max(LEAST),
        }
    }
}

/// Signed sum of masters and water.
pub type Terms = Vec<(&'static str, f64)>;

/// A dissolved species.
#[derive(Clone, Debug, PartialEq)]
pub struct DissolvedSpecies {
    /// Set it belongs to.
    pub model: Model,
    /// Name as in the table, `CuSO4`, `Cu(NH3)4^2+`.
    pub name: &'static str,
    /// What it is made of.
    pub formula: Formula,
    /// What it forms from; itself for a master.
    pub terms: Terms,
    /// Constant of that formation.
    pub constant: Constant,
    /// Ion-size parameter, m, and the term linear in the ionic strength, kg/mol; `None` for Davies' equation.
    pub size: Option<(f64, f64)>,
}

impl DissolvedSpecies {
    /// Whether it is a master.
    #[must_use]
    pub fn is_master(&self) -> bool {
        matches!(self.terms[..], [(name, coefficient)] if name == self.name && coefficient == 1.0)
    }
}

/// A solid, or a gas over the solution.
#[derive(Clone, Debug, PartialEq)]
pub struct Precipitate {
    /// Set it belongs to.
    pub model: Model,
    /// Formula as in the table.
    pub name: &'static str,
    /// Name of the form, `malachite`, `amorphous`; may be empty.
    pub label: &'static str,
    /// How it comes about; `None` for a gas.
    pub form: Option<Form>,
    /// What it is made of.
    pub formula: Formula,
    /// What it dissolves to.
    pub terms: Terms,
    /// Constant of that dissolution.
    pub constant: Constant,
}

/// An interaction parameter of Pitzer's equations.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Interaction {
    /// `beta0`, `beta1`, `beta2`, `c_phi`, `theta`, `psi`, `lambda`, `zeta`.
    pub kind: &'static str,
    /// Two or three species; the third may be empty.
    pub species: [&'static str; 3],
    /// Value at 25 °C and its five temperature coefficients.
    pub coefficients: [f64; 6],
    /// Where it comes from.
    pub source: SourceKey,
}

/// A table that could not be read tells its line.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Slip {
    /// Name of the table.
    pub table: &'static str,
    /// Line, counted from 1.
    pub line: usize,
}

struct Tables {
    species: Vec<DissolvedSpecies>,
    solids: Vec<Precipitate>,
    interactions: Vec<Interaction>,
    slips: Vec<Slip>,
}

static TABLES: LazyLock<Tables> = LazyLock::new(Tables::read);

impl Tables {
    fn read() -> Self {
        let mut tables = Self { species: Vec::new(), solids: Vec::new(), interactions: Vec::new(), slips: Vec::new() };
        let species = [
            ("aqueous_species.tsv", include_str!("../../../data/aqueous_species.tsv")),
            ("aqueous_species_added.tsv", include_str!("../../../data/aqueous_species_added.tsv")),
        ];
        for (table, text) in species {
            tables.fill(table, text, |tables, row| dissolved(row).map(|one| tables.species.push(one)));
        }
        let solids = [
            ("aqueous_solids.tsv", include_str!("../../../data/aqueous_solids.tsv")),
            ("aqueous_solids_added.tsv", include_str!("../../../data/aqueous_solids_added.tsv")),
        ];
        for (table, text) in solids {
            tables.fill(table, text, |tables, row| precipitate(row).map(|one| tables.solids.push(one)));
        }
        let interactions = [
            ("pitzer.tsv", include_str!("../../../data/pitzer.tsv")),
            ("pitzer_added.tsv", include_str!("../../../data/pitzer_added.tsv")),
        ];
        for (table, text) in interactions {
            tables.fill(table, text, |tables, row| interaction(row).map(|one| tables.interactions.push(one)));
        }
        tables
    }

    fn fill(
        &mut self,
        table: &'static str,
        text: &'static str,
        mut take: impl FnMut(&mut Self, &Row<'static>) -> Option<()>,
    ) {
        for row in table::rows(text) {
            if take(self, &row).is_none() {
                self.slips.push(Slip { table, line: row.line });
            }
        }
    }
}

/// All dissolved species of a set, masters first in each table.
pub fn species(model: Model) -> impl Iterator<Item = &'static DissolvedSpecies> {
    TABLES.species.iter().filter(move |species| species.model == model)
}

/// All solids of a set.
pub fn solids(model: Model) -> impl Iterator<Item = &'static Precipitate> {
    TABLES.solids.iter().filter(move |solid| solid.model == model && solid.form.is_some())
}

/// The gases of a set, with the constant of their dissolution for a pressure in atmospheres.
pub fn gases(model: Model) -> impl Iterator<Item = &'static Precipitate> {
    TABLES.solids.iter().filter(move |solid| solid.model == model && solid.form.is_none())
}

/// All interaction parameters.
#[must_use]
pub fn interactions() -> &'static [Interaction] {
    &TABLES.interactions
}

/// Rows that could not be read; none, as a test holds.
#[must_use]
pub fn slips() -> &'static [Slip] {
    &TABLES.slips
}

fn constant(row: &Row<'static>) -> Option<Constant> {
    let optional = |column: &str| match row.cell(column) {
        "" => Some(None),
        _ => row.number(column).map(Some),
    };
    let analytic = match row.cell("analytic") {
        "" => None,
        text => {
            let mut coefficients = [0.0; 6];
            let words: Vec<&str> = text.split(' ').collect();
            for (place, word) in coefficients.iter_mut().zip(&words) {
                *place = word.parse().ok()?;
            }
            (words.len() <= 6).then_some(coefficients)
        }
    };
    let others = row.cell("others").split(';').map(str::trim).filter(|text| !text.is_empty());
    let others = others
        .map(|text| {
            let (key, value) = text.split_once(' ')?;
            Some((SourceKey::from_text(key)?, value.parse().ok()?))
        })
        .collect::<Option<Vec<_>>>()?;
    Some(Constant {
        log_k: row.number("log_k")?,
        enthalpy: optional("enthalpy")?.map(|kilojoule| 1e3 * kilojoule),
        analytic,
        others,
        source: SourceKey::from_text(row.cell("source"))?,
    })
}

/// Reads `Cu^2+ + 2 NH4^+ - 2 H^+`.
fn terms(text: &'static str) -> Option<Terms> {
    let mut terms = Terms::new();
    let (mut sign, mut coefficient) = (1.0, 1.0);
    for word in text.split(' ') {
        match word {
            "+" => sign = 1.0,
            "-" => sign = -1.0,
            _ => match word.parse::<f64>() {
                Ok(number) => coefficient = number,
                Err(_) => {
                    terms.push((word, sign * coefficient));
                    coefficient = 1.0;
                }
            },
        }
    }
    (!terms.is_empty()).then_some(terms)
}

fn dissolved(row: &Row<'static>) -> Option<DissolvedSpecies> {
    let name = row.cell("species");
    let size = match (row.number("size"), row.number("slope")) {
        (Some(angstrom), slope) => Some((1e-10 * angstrom, slope.unwrap_or(0.0))),
        _ => None,
    };
    let species = DissolvedSpecies {
        model: Model::from_word(row.cell("model"))?,
        name,
        formula: Formula::parse(name).ok()?,
        terms: terms(row.cell("formation"))?,
        constant: constant(row)?,
        size,
    };
    balances(&species.formula, &species.terms).then_some(species)
}

fn precipitate(row: &Row<'static>) -> Option<Precipitate> {
    let name = row.cell("solid");
    let form = match row.cell("form") {
        "gas" => None,
        word => Some(Form::from_word(word)?),
    };
    let solid = Precipitate {
        model: Model::from_word(row.cell("model"))?,
        name,
        label: row.cell("name"),
        form,
        formula: Formula::parse(name).ok()?,
        terms: terms(row.cell("dissolution"))?,
        constant: constant(row)?,
    };
    balances(&solid.formula, &solid.terms).then_some(solid)
}

fn interaction(row: &Row<'static>) -> Option<Interaction> {
    let mut coefficients = [0.0; 6];
    for (place, column) in coefficients.iter_mut().zip(["value", "b", "c", "d", "e", "f"]) {
        *place = row.number(column)?;
    }
    Some(Interaction {
        kind: row.cell("parameter"),
        species: [row.cell("first"), row.cell("second"), row.cell("third")],
        coefficients,
        source: SourceKey::from_text(row.cell("source"))?,
    })
}

/// Whether a formula holds the elements and the charge of its terms.
fn balances(formula: &Formula, terms: &Terms) -> bool {
    let mut left: BTreeMap<_, f64> = formula.elements().collect();
    let mut charge = f64::from(formula.charge());
    for (name, coefficient) in terms {
        let Ok(part) = Formula::parse(name) else { return false };
        charge -= coefficient * f64::from(part.charge());
        for (element, count) in part.composition() {
            *left.entry(*element).or_insert(0.0) -= coefficient * to_f64(*count);
        }
    }
    charge.abs() < 1e-9 && left.values().all(|count| count.abs() < 1e-9)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_row_is_read_and_balances() {
        assert_eq!(slips(), []);
        assert!(species(Model::Association).count() > 400 && solids(Model::Association).count() > 100);
        assert!(species(Model::Pitzer).count() > 25 && interactions().len() > 200);
    }

    /// Each part of a species is a master of the same set; names are told once.
    #[test]
    fn species_are_written_in_masters() {
        for model in [Model::Association, Model::Pitzer] {
            let masters: Vec<_> = species(model).filter(|s| s.is_master()).map(|s| s.name).collect();
            let known = |name: &str| name == "H2O" || masters.contains(&name);
            assert!(species(model).all(|s| s.terms.iter().all(|(name, _)| known(name))));
            assert!(solids(model).chain(gases(model)).all(|s| s.terms.iter().all(|(name, _)| known(name))));
            let mut names: Vec<_> = species(model).map(|s| s.name).collect();
            names.sort_unstable();
            let count = names.len();
            names.dedup();
            assert_eq!(names.len(), count);
        }
        let known: Vec<_> = species(Model::Pitzer).map(|s| s.name).collect();
        for parameter in interactions() {
            assert!(parameter.species.iter().all(|name| name.is_empty() || known.contains(name)), "{parameter:?}");
        }
    }

    /// Constants as printed: hydrogen sulfate 1.99 and ammonia 9.24 (NIST critically selected constants, from memory),
    /// gypsum 4.58 (Harvie and Weare 1980).
    #[test]
    fn some_constants_are_those_of_the_books() {
        let of = |model, name| species(model).find(|s| s.name == name).map(|s| s.constant.log_k);
        assert_eq!(of(Model::Association, "HSO4^-"), Some(1.99));
        assert!(of(Model::Association, "NH3").is_some_and(|k| (k + 9.24).abs() < 0.02));
        let gypsum = solids(Model::Pitzer).find(|s| s.label == "gypsum").map(|s| s.constant.log_k);
        assert_eq!(gypsum, Some(-4.58));
        let two = solids(Model::Association).filter(|s| s.name == "Al(OH)3").map(|s| s.form).collect::<Vec<_>>();
        assert_eq!(two, [Some(Form::Fresh), Some(Form::Aged)]);
    }
}
