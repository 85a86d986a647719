//! Which substance in which phase, and which family of hydrates?
//!
//! A species is a formula with a phase: `CuSO4·5H2O(s)`. A family stands for all hydrates of one solid with n between
//! two bounds, whole or not: `Cu2CO3(OH)2·nH2O(s), n = 0 .. 1`. Polymorphs of one formula are not told apart.

use std::fmt;
use std::str::FromStr;

use crate::formula::{Formula, FormulaError, FormulaErrorKind};

/// Phase of a species.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Phase {
    /// Solid, `(s)`.
    Solid,
    /// Liquid, `(l)`.
    Liquid,
    /// Gas, `(g)`.
    Gas,
    /// Dissolved in water, `(aq)`.
    Aqueous,
}

impl Phase {
    /// All phases.
    pub const ALL: [Phase; 4] = [Phase::Solid, Phase::Liquid, Phase::Gas, Phase::Aqueous];

    /// The letters between the brackets.
    pub const fn symbol(self) -> &'static str {
        match self {
            Phase::Solid => "s",
            Phase::Liquid => "l",
            Phase::Gas => "g",
            Phase::Aqueous => "aq",
        }
    }

    /// The phase with these letters.
    pub fn from_symbol(symbol: &str) -> Option<Phase> {
        Phase::ALL.into_iter().find(|phase| phase.symbol() == symbol)
    }

    /// The phase as a word.
    pub const fn name(self) -> &'static str {
        match self {
            Phase::Solid => "solid",
            Phase::Liquid => "liquid",
            Phase::Gas => "gas",
            Phase::Aqueous => "aqueous",
        }
    }
}

impl fmt::Display for Phase {
    fn fmt(&self, formatter: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(formatter, "({})", self.symbol())
    }
}

/// A formula with its phase, if one is given; ordered by formula text, then phase.
///
/// ```
/// use chem::{Phase, Species};
/// let bluestone = Species::parse("CuSO4.5H2O (s)")?;
/// assert_eq!(bluestone.phase, Some(Phase::Solid));
/// assert_eq!(bluestone.to_string(), "CuSO4·5H2O(s)");
/// # Ok::<(), chem::FormulaError>(())
/// ```
#[derive(Clone, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct Species {
    /// What it is made of.
    pub formula: Formula,
    /// In which phase.
    pub phase: Option<Phase>,
}

impl Species {
    /// A species from its parts.
    pub fn new(formula: Formula, phase: Option<Phase>) -> Species {
        Species { formula, phase }
    }

    /// Reads a formula and the phase behind it, `(s)`, `(l)`, `(g)` or `(aq)`.
    ///
    /// # Errors
    /// [`FormulaError`]: the formula's own, or `UnknownPhase` for other letters in the last bracket.
    pub fn parse(text: &str) -> Result<Species, FormulaError> {
        let trimmed = text.trim_end();
        if let Some((formula, inner)) = trimmed.rsplit_once('(')
            && Phase::from_symbol(inner.trim()).is_some()
        {
            let length = trimmed.len() - formula.len();
            return Err(FormulaError::new(formula.len(), length, FormulaErrorKind::Unclosed('(')));
        }
        let Some((formula, inner)) = last_bracket(trimmed) else {
            return Ok(Species { formula: Formula::parse(text)?, phase: None });
        };
        match Phase::from_symbol(inner.trim()) {
            Some(phase) => Ok(Species { formula: Formula::parse(formula)?, phase: Some(phase) }),
            None => {
                let kind = FormulaErrorKind::UnknownPhase(inner.trim().to_owned());
                Err(FormulaError::new(formula.len(), trimmed.len() - formula.len(), kind))
            }
        }
    }

    /// The text for people: `CuSO₄·5H₂O(s)`.
    pub fn unicode(&self) -> String {
        let phase = self.phase.map(|phase| phase.to_string()).unwrap_or_default();
        format!("{}{phase}", self.formula.unicode())
    }

    /// The text for a page: `CuSO<sub>4</sub>(aq)`.
    pub fn html(&self) -> String {
        let phase = self.phase.map(|phase| phase.to_string()).unwrap_or_default();
        format!("{}{phase}", self.formula.html())
    }

    /// The text for TeX in mathematics: `\mathrm{CuSO_4}\mathrm{(aq)}`.
    pub fn tex(&self) -> String {
        let phase = self.phase.map(|phase| format!(r"\mathrm{{{phase}}}")).unwrap_or_default();
        format!("{}{phase}", self.formula.tex())
    }
}

/// What stands before and within a last bracket that holds a few lower-case letters only.
fn last_bracket(text: &str) -> Option<(&str, &str)> {
    let (formula, inner) = text.strip_suffix(')')?.rsplit_once('(')?;
    let letters = inner.trim();
    let is_phase =
        !letters.is_empty() && letters.len() <= 10 && letters.chars().all(|letter| letter.is_ascii_lowercase());
    is_phase.then_some((formula, inner))
}

impl FromStr for Species {
    type Err = FormulaError;
    fn from_str(text: &str) -> Result<Species, FormulaError> {
        Species::parse(text)
    }
}

impl fmt::Display for Species {
    fn fmt(&self, formatter: &mut fmt::Formatter<'_>) -> fmt::Result {
        let phase = self.phase.map(|phase| phase.to_string()).unwrap_or_default();
        formatter.pad(&format!("{}{phase}", self.formula))
    }
}

/// What a lot may hold: one species, or any hydrate of one.
#[derive(Clone, Debug, PartialEq)]
pub enum SpeciesPattern {
    /// One species.
    One(Species),
    /// All hydrates X·nH2O with low ≤ n ≤ high.
    Family {
        /// X, with the phase of the family.
        anhydrous: Species,
        /// Least water per formula unit, ≥ 0.
        low: f64,
        /// Most water per formula unit.
        high: f64,
        /// The text in one spelling.
        text: String,
    },
}

impl SpeciesPattern {
    /// Reads a species, or a family as in `CuSO4·nH2O(s), n = 0 .. 5`.
    ///
    /// # Errors
    /// [`FormulaError`] with the place in `text`.
    ///
    /// ```
    /// use chem::SpeciesPattern;
    /// let family = SpeciesPattern::parse("Cu2CO3(OH)2*nH2O(s), n = 0..1")?;
    /// assert_eq!(family.to_string(), "Cu2CO3(OH)2·nH2O(s), n = 0 .. 1");
    /// # Ok::<(), chem::FormulaError>(())
    /// ```
    pub fn parse(text: &str) -> Result<SpeciesPattern, FormulaError> {
        let (written, range) = match text.split_once(',') {
            Some((written, range)) => (written, Some(range)),
            None => (text, None),
        };
        let water = unknown_water(written);
        match (water, range) {
            (None, None) => Species::parse(text).map(SpeciesPattern::One),
            (Some((at, length)), Some(range)) => {
                let anhydrous = family_species(written, at, length)?;
                let (low, high) =
                    family_range(range).map_err(|kind| FormulaError::new(written.len() + 1, range.len(), kind))?;
                let text = family_text(&anhydrous, low, high);
                Ok(SpeciesPattern::Family { anhydrous, low, high, text })
            }
            (Some((at, length)), None) => Err(FormulaError::new(at, length, FormulaErrorKind::FamilyWithoutRange)),
            (None, Some(range)) => {
                Err(FormulaError::new(written.len(), range.len() + 1, FormulaErrorKind::FamilyWithoutRange))
            }
        }
    }

    /// The species itself, or the anhydrous species of the family.
    pub fn species(&self) -> &Species {
        match self {
            SpeciesPattern::One(species) => species,
            SpeciesPattern::Family { anhydrous, .. } => anhydrous,
        }
    }
}

/// Place and length of `nH2O`; the n of a symbol such as Mn does not count.
fn unknown_water(written: &str) -> Option<(usize, usize)> {
    let found = ["nH2O", "n H2O", "nH₂O", "n H₂O"].iter().find_map(|water| Some((written.rfind(water)?, water.len())));
    found.filter(|(at, _)| !written.get(..*at).is_some_and(|before| before.ends_with(|c: char| c.is_ascii_uppercase())))
}

/// The species before `·nH2O`, with the phase behind it.
fn family_species(written: &str, at: usize, length: usize) -> Result<Species, FormulaError> {
    let before = written.get(..at).unwrap_or("").trim_end();
    let after = written.get(at + length..).unwrap_or("");
    let Some(formula) = before.strip_suffix(['·', '•', '*', '⋅', '∙', '.']) else {
        return Err(FormulaError::new(at, length, FormulaErrorKind::NothingBeforeDot));
    };
    // Reading formula and phase as one text keeps every offset before the dot true.
    let species = Species::parse(&format!("{formula}{after}"));
    species.map_err(|error| {
        if error.offset < formula.len() { error } else { FormulaError::new(at + length, after.len(), error.kind) }
    })
}

/// Bounds of `n = low .. high`.
fn family_range(text: &str) -> Result<(f64, f64), FormulaErrorKind> {
    let unread = || FormulaErrorKind::FamilyRange(text.trim().chars().take(40).collect());
    let bounds =
        text.trim().strip_prefix('n').and_then(|rest| rest.trim_start().strip_prefix('=')).ok_or_else(unread)?;
    let (low, high) =
        ["..", "…", "–", " to "].iter().find_map(|separator| bounds.split_once(separator)).ok_or_else(unread)?;
    let number = |text: &str| {
        let plain = text.trim();
        let digits = plain.len() <= 12
            && plain.chars().all(|letter| letter.is_ascii_digit() || matches!(letter, '.' | ',' | '-'));
        plain.replace(',', ".").parse::<f64>().ok().filter(|_| digits).ok_or_else(unread)
    };
    let (low, high) = (number(low)?, number(high)?);
    if low < 0.0 || low >= high { Err(FormulaErrorKind::FamilyOrder { low, high }) } else { Ok((low, high)) }
}

fn family_text(anhydrous: &Species, low: f64, high: f64) -> String {
    let phase = anhydrous.phase.map(|phase| phase.to_string()).unwrap_or_default();
    format!("{}·nH2O{phase}, n = {low} .. {high}", anhydrous.formula)
}

impl FromStr for SpeciesPattern {
    type Err = FormulaError;
    fn from_str(text: &str) -> Result<SpeciesPattern, FormulaError> {
        SpeciesPattern::parse(text)
    }
}

impl fmt::Display for SpeciesPattern {
    fn fmt(&self, formatter: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            SpeciesPattern::One(species) => species.fmt(formatter),
            SpeciesPattern::Family { text, .. } => formatter.pad(text),
        }
    }
}
