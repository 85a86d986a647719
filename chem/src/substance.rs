//! Which substance does a name on a shelf stand for?
//!
//! A table of what shops, pharmacies, fertiliser dealers and laboratories sell, each row one formula with the water it
//! is sold with. A name is found whatever its case, hyphens, British or American spelling and plural; ferrous and
//! iron(II) are one word, and a name without water finds every hydrate. A name may stand for several substances:
//! all of them are returned. Trade goods are never as pure as the formula, and mixtures are not listed. That a
//! substance is listed says nothing about any use of it, least of all about swallowing it.
//!
//! Source: row by row; names and formulae are mostly keyed from memory, as the rows say.

use std::collections::BTreeMap;
use std::sync::LazyLock;

use num_rational::Ratio;
use num_traits::Zero;

use crate::formula::{Formula, to_f64};
use crate::source::SourceKey;
use crate::table::{self, Row};

/// The embedded table of substances.
pub const TABLE: &str = include_str!("../../data/substances.tsv");

/// Longest name that is looked up, in bytes.
const LONGEST_NAME: usize = 200;

static SUBSTANCES: LazyLock<Vec<Substance>> =
    LazyLock::new(|| table::rows(TABLE).iter().filter_map(Substance::from_row).collect());
static INDEX: LazyLock<Index> = LazyLock::new(Index::build);

/// Where a substance is met.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Use {
    /// On a shop's shelf.
    Retail,
    /// As an article of a pharmacopoeia.
    Pharmacopoeia,
    /// In fertilisers and garden goods.
    Fertiliser,
    /// In food supplements.
    Supplement,
    /// As a laboratory reagent.
    Laboratory,
    /// As a formula that labels reckon in, such as P2O5.
    Reckoning,
}

impl Use {
    /// All uses.
    pub const ALL: [Use; 6] =
        [Use::Retail, Use::Pharmacopoeia, Use::Fertiliser, Use::Supplement, Use::Laboratory, Use::Reckoning];

    /// The word of the table.
    pub const fn word(self) -> &'static str {
        match self {
            Use::Retail => "retail",
            Use::Pharmacopoeia => "pharmacopoeia",
            Use::Fertiliser => "fertiliser",
            Use::Supplement => "supplement",
            Use::Laboratory => "laboratory",
            Use::Reckoning => "reckoning",
        }
    }

    fn from_word(word: &str) -> Option<Use> {
        Use::ALL.into_iter().find(|known| known.word() == word)
    }
}

/// Limits a pharmacopoeia sets for an article, in mass percent.
#[derive(Clone, Debug, PartialEq)]
pub struct AssayLimits {
    /// The formula the content is reckoned as.
    pub reckoned_as: Formula,
    /// Lower limit, mass percent.
    pub low: f64,
    /// Upper limit, mass percent.
    pub high: f64,
}

/// One row: a formula and what it is called.
#[derive(Clone, Debug, PartialEq)]
pub struct Substance {
    /// The formula with the water it is sold with.
    pub formula: Formula,
    /// Systematic name.
    pub name: &'static str,
    /// Other names.
    pub synonyms: Vec<&'static str>,
    /// Those of the synonyms that stand for other substances too, on purpose.
    pub ambiguous: Vec<&'static str>,
    /// Where it is met.
    pub uses: Vec<Use>,
    /// Registry number of the Chemical Abstracts Service, where sure.
    pub cas: Option<&'static str>,
    /// Assay limits of the pharmacopoeial article.
    pub assay: Option<AssayLimits>,
    /// Where the row comes from; several keys are kept in the table, this is the first.
    pub source: SourceKey,
    /// Remark of the row.
    pub comment: &'static str,
}

impl Substance {
    fn from_row(row: &Row<'static>) -> Option<Substance> {
        let listed = |column: &str| row.cell(column).split('|').map(str::trim).filter(|word| !word.is_empty());
        let limits = row.number("assay_low").zip(row.number("assay_high"));
        let assay = limits.and_then(|(low, high)| {
            Some(AssayLimits { reckoned_as: Formula::parse(row.cell("assay_as")).ok()?, low, high })
        });
        Some(Substance {
            formula: Formula::parse(row.cell("formula")).ok()?,
            name: row.cell("name"),
            synonyms: listed("synonyms").map(|name| name.trim_start_matches('?')).collect(),
            ambiguous: listed("synonyms").filter_map(|name| name.strip_prefix('?')).collect(),
            uses: listed("uses").filter_map(Use::from_word).collect(),
            cas: Some(row.cell("cas")).filter(|cas| !cas.is_empty()),
            assay,
            source: SourceKey::from_text(row.cell("source").split(';').next().unwrap_or("").trim())?,
            comment: row.cell("comment"),
        })
    }

    /// All substances, in the order of the table.
    pub fn all() -> &'static [Substance] {
        &SUBSTANCES
    }

    /// The substances a name, a formula or a CAS number stands for, the closest first.
    ///
    /// Exact names come before names that match but for the water. A name that says its water finds that hydrate
    /// only. Nothing found is an empty list.
    ///
    /// ```
    /// use chem::substance::Substance;
    /// let formulas = |name: &str| -> Vec<String> {
    ///     Substance::find(name).iter().map(|substance| substance.formula.to_string()).collect()
    /// };
    /// assert_eq!(formulas("Epsom-Salts"), ["MgSO4·7H2O"]);
    /// assert_eq!(formulas("zinc sulphate heptahydrate"), ["ZnSO4·7H2O"]);
    /// assert_eq!(formulas("washing soda").len(), 2);
    /// assert_eq!(formulas("zinc sulfate").len(), 4);
    /// ```
    pub fn find(name_or_formula: &str) -> Vec<&'static Substance> {
        let text = name_or_formula.trim();
        if text.is_empty() || text.len() > LONGEST_NAME {
            return Vec::new();
        }
        let mut found: Vec<usize> = INDEX.named(&Name::read(text));
        if found.is_empty() {
            found = by_formula(text);
        }
        found.extend(SUBSTANCES.iter().position(|substance| substance.cas == Some(text)));
        found.iter().filter_map(|index| SUBSTANCES.get(*index)).collect()
    }

    /// Whether labels only reckon in this formula and nobody sells it.
    pub fn is_reckoning_only(&self) -> bool {
        self.uses == [Use::Reckoning]
    }

    /// Whether the goods of this name are a solution in water, so that a percentage on them is a strength.
    pub fn sold_in_water(&self) -> bool {
        self.comment.starts_with("sold in water")
    }

    /// Name and synonyms.
    pub fn names(&self) -> impl Iterator<Item = &'static str> {
        std::iter::once(self.name).chain(self.synonyms.iter().copied())
    }
}

/// Rows of the same formula, those of the same spelling first.
fn by_formula(text: &str) -> Vec<usize> {
    let Ok(formula) = Formula::parse(text) else { return Vec::new() };
    let rows = || SUBSTANCES.iter().enumerate();
    let same = rows().filter(|(_, row)| row.formula == formula);
    let alike = rows().filter(|(_, row)| {
        row.formula != formula
            && row.formula.composition() == formula.composition()
            && row.formula.hydrate_water().is_zero() == formula.hydrate_water().is_zero()
    });
    same.chain(alike).map(|(index, _)| index).collect()
}

/// What a name says about water of crystallisation.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
enum Water {
    Unsaid,
    Dried,
    /// Twice the number of molecules; zero for anhydrous.
    Halves(u8),
}

/// A name taken apart: what is left without case, spelling and water.
#[derive(Clone, Debug, PartialEq, Eq, PartialOrd, Ord)]
struct Name {
    /// Words run together, oxidation numbers in brackets.
    stem: String,
    water: Water,
}

/// Hydrate words and twice the number of molecules.
const HYDRATES: [(&str, u8); 20] = [
    ("anhydrous", 0),
    ("hemihydrate", 1),
    ("monohydrate", 2),
    ("sesquihydrate", 3),
    ("dihydrate", 4),
    ("hemipentahydrate", 5),
    ("trihydrate", 6),
    ("tetrahydrate", 8),
    ("pentahydrate", 10),
    ("hexahydrate", 12),
    ("heptahydrate", 14),
    ("octahydrate", 16),
    ("nonahydrate", 18),
    ("decahydrate", 20),
    ("undecahydrate", 22),
    ("dodecahydrate", 24),
    ("tetradecahydrate", 28),
    ("hexadecahydrate", 32),
    ("octadecahydrate", 36),
    ("anhydric", 0),
];

/// The hydrate word for so many molecules of water, such as `heptahydrate` for 7.
pub(crate) fn hydrate_word(water: Ratio<i64>) -> Option<&'static str> {
    let halves = to_f64(water) * 2.0;
    HYDRATES.iter().find(|(_, count)| (halves - f64::from(*count)).abs() < 1e-9).map(|(word, _)| *word)
}

/// Older words for a metal in one oxidation state.
const METALS: [(&str, &str, &str); 13] = [
    ("ferrous", "iron", "(ii)"),
    ("ferric", "iron", "(iii)"),
    ("cuprous", "copper", "(i)"),
    ("cupric", "copper", "(ii)"),
    ("stannous", "tin", "(ii)"),
    ("stannic", "tin", "(iv)"),
    ("manganous", "manganese", "(ii)"),
    ("cobaltous", "cobalt", "(ii)"),
    ("nickelous", "nickel", "(ii)"),
    ("chromic", "chromium", "(iii)"),
    ("chromous", "chromium", "(ii)"),
    ("plumbous", "lead", "(ii)"),
    ("argentic", "silver", "(i)"),
];

/// Spellings and older words with one meaning.
const SPELLINGS: [(&str, &str); 9] = [
    ("aluminum", "aluminium"),
    ("cesium", "caesium"),
    ("bicarbonate", "hydrogencarbonate"),
    ("bisulfate", "hydrogensulfate"),
    ("bisulfite", "hydrogensulfite"),
    ("bitartrate", "hydrogentartrate"),
    ("orthophosphate", "phosphate"),
    ("baryte", "barytes"),
    ("metabisulfite", "disulfite"),
];

const ROMAN: [&str; 7] = ["i", "ii", "iii", "iv", "v", "vi", "vii"];
const PREFIXES: [&str; 12] =
    ["mono", "di", "tri", "tetra", "penta", "hexa", "hepta", "octa", "nona", "deca", "hemi", "sesqui"];

impl Name {
    fn read(text: &str) -> Name {
        let lower = text.to_lowercase().replace(['\'', '’', '`'], "").replace("sulph", "sulf");
        let spaced = lower.replace('(', " (").replace(')', ") ");
        let mut stem = String::new();
        let mut water = Water::Unsaid;
        let mut prefix = String::new();
        for token in spaced.split(|letter: char| letter.is_whitespace() || "-–,/·*;:".contains(letter)) {
            let bare = token.trim_matches(['(', ')', '.', '"', '“', '”']);
            if bare.is_empty() {
                continue;
            }
            if PREFIXES.contains(&bare) {
                prefix.push_str(bare);
                continue;
            }
            let word = singular(&format!("{}{bare}", std::mem::take(&mut prefix)));
            match water_word(&word) {
                Some(said) => water = said,
                None => push_word(&mut stem, &word),
            }
        }
        stem.push_str(&prefix);
        Name { stem, water }
    }

    /// The stem without oxidation numbers.
    fn plain(&self) -> String {
        ROMAN.iter().rev().fold(self.stem.clone(), |stem, roman| stem.replace(&format!("({roman})"), ""))
    }
}

fn water_word(word: &str) -> Option<Water> {
    match word {
        "dried" | "exsiccated" => Some(Water::Dried),
        "hydrate" | "hydrated" => Some(Water::Unsaid),
        _ if word.ends_with("h2o") => {
            let count: u8 =
                word.strip_suffix("h2o").and_then(|count| count.parse().ok()).filter(|count| *count <= 100)?;
            Some(Water::Halves(2 * count))
        }
        _ => HYDRATES.iter().find(|(known, _)| *known == word).map(|(_, halves)| Water::Halves(*halves)),
    }
}

/// Whether a word of a name says how much water there is, such as `anhydrous` or `dried`.
pub(crate) fn says_water(word: &str) -> bool {
    let plain = word.trim_matches(|letter: char| !letter.is_alphanumeric()).to_lowercase();
    water_word(&plain).is_some()
}

fn push_word(stem: &mut String, word: &str) {
    if let Some((_, metal, state)) = METALS.iter().find(|(old, _, _)| *old == word) {
        stem.push_str(metal);
        stem.push_str(state);
    } else if ROMAN.contains(&word) {
        stem.push_str(&format!("({word})"));
    } else {
        stem.push_str(SPELLINGS.iter().find(|(from, _)| *from == word).map_or(word, |(_, to)| to));
    }
}

/// The word without the s of a plural.
fn singular(word: &str) -> String {
    let keeps = word.len() <= 3 || ["ss", "us", "is"].iter().any(|ending| word.ends_with(ending));
    if keeps { word.to_owned() } else { word.strip_suffix('s').unwrap_or(word).to_owned() }
}

/// Rows by the names they go by.
struct Index {
    stems: BTreeMap<String, Vec<(usize, Water)>>,
    plain: BTreeMap<String, Vec<(usize, Water)>>,
}

impl Index {
    fn build() -> Index {
        let mut index = Index { stems: BTreeMap::new(), plain: BTreeMap::new() };
        for (row, substance) in SUBSTANCES.iter().enumerate() {
            for name in substance.names().map(Name::read) {
                index.plain.entry(name.plain()).or_default().push((row, name.water));
                index.stems.entry(name.stem).or_default().push((row, name.water));
            }
        }
        index
    }

    /// Rows for a name: those that say just this, then those that differ in water or oxidation number left unsaid.
    fn named(&self, name: &Name) -> Vec<usize> {
        let of = |map: &BTreeMap<String, Vec<(usize, Water)>>, key: &str| map.get(key).cloned().unwrap_or_default();
        let stems = of(&self.stems, &name.stem);
        // A name that says its oxidation number is not loosened.
        let plain = if name.plain() == name.stem { of(&self.plain, &name.stem) } else { Vec::new() };
        let mut found: Vec<usize> = Vec::new();
        let exact = stems.iter().filter(|(_, water)| *water == name.water);
        let loose = stems.iter().chain(&plain).filter(|(row, water)| fits(*row, *water, name.water));
        for (row, _) in exact.chain(loose) {
            if !found.contains(row) {
                found.push(*row);
            }
        }
        found
    }
}

/// Whether a row, under a name with `own` water, answers to a name that asks for `asked`.
fn fits(row: usize, own: Water, asked: Water) -> bool {
    match asked {
        Water::Unsaid => true,
        Water::Dried => own == Water::Dried,
        Water::Halves(halves) => {
            own != Water::Dried
                && SUBSTANCES.get(row).is_some_and(|substance| {
                    (to_f64(substance.formula.hydrate_water()) * 2.0 - f64::from(halves)).abs() < 1e-9
                })
        }
    }
}
