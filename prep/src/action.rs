//! What can be done in a step, and what does it mean for the books?
//!
//! Every action is a default over five primitives (mix, react, separate, lose, pick up). Its manner says which of
//! them it uses: whether it is done in a liquid and what dissolves there, how its result is parted, whether it heats.
//! Losses and what is picked up stand in `data/losses.tsv`.
//!
//! Source of the words: common practice of the preparative bench.

/// What is done in a step.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub enum Action {
    /// Dissolve in a solvent.
    Dissolve,
    /// Dissolve a product of an earlier step again.
    Redissolve,
    /// Extract the soluble part of a product; some of it stays behind undissolved.
    Leach,
    /// Let a reaction make a solid.
    Precipitate,
    /// Bring to a pH by a named reagent.
    AdjustPh,
    /// Throw a metal out of solution by another.
    Cement,
    /// Let crystals separate.
    Crystallise,
    /// Drive off part of the water.
    Evaporate,
    /// Bring a hot solid into water.
    Quench,
    /// Part solids from liquor on a filter.
    Filter,
    /// Part solids from liquor by pouring off.
    Decant,
    /// Drive off water from a solid.
    Dry,
    /// Heat in an open dish until it changes, stirring.
    Roast,
    /// Heat in a crucible until it changes.
    Ignite,
    /// Take a portion.
    Divide,
    /// Part by grain size: portions by mass.
    Sieve,
    /// Put together.
    Combine,
    /// Make finer.
    Grind,
    /// Bring into another vessel.
    Transfer,
    /// Keep for later.
    Store,
}

/// What dissolves in a wet step.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Dissolves {
    /// Nothing: solids stay solids.
    Nothing,
    /// The solids of supplies charged in this step.
    Charges,
    /// Those, and the solids of the lots it takes.
    Everything,
}

/// How the result of a step is parted.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Parting {
    /// One lot, all of it.
    Whole,
    /// Solids and solution.
    SolidsAndSolution,
    /// Portions by mass, and the rest.
    Portions,
}

/// Whether a step heats its lot dry.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Heat {
    /// It does not.
    None,
    /// Water goes.
    Dry,
    /// Water goes and what burns, burns.
    Fire,
}

/// What an action means.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Manner {
    /// The action.
    pub action: Action,
    /// Its word in the file.
    pub word: &'static str,
    /// How a sheet says it.
    pub imperative: &'static str,
    /// Whether gases leave a liquid here, and what dissolves.
    pub wet: Option<Dissolves>,
    /// How the result is parted.
    pub parting: Parting,
    /// Whether it heats.
    pub heat: Heat,
    /// Whether a reaction must be listed.
    pub needs_reaction: bool,
}

const fn manner(
    action: Action,
    word: &'static str,
    imperative: &'static str,
    wet: Option<Dissolves>,
    parting: Parting,
    heat: Heat,
) -> Manner {
    let needs_reaction = matches!(action, Action::Precipitate | Action::Cement);
    Manner { action, word, imperative, wet, parting, heat, needs_reaction }
}

/// The manners of all actions.
pub const MANNERS: [Manner; 20] = {
    use Dissolves::{Charges, Everything, Nothing};
    use Parting::{Portions, SolidsAndSolution, Whole};
    [
        manner(Action::Dissolve, "dissolve", "Dissolve", Some(Everything), Whole, Heat::None),
        manner(Action::Redissolve, "redissolve", "Dissolve again", Some(Everything), Whole, Heat::None),
        manner(Action::Leach, "leach", "Leach", Some(Everything), Whole, Heat::None),
        manner(Action::Precipitate, "precipitate", "Precipitate: bring together", Some(Charges), Whole, Heat::None),
        manner(Action::AdjustPh, "adjust pH", "Adjust the pH: bring together", Some(Charges), Whole, Heat::None),
        manner(Action::Cement, "cement", "Cement: bring together", Some(Charges), Whole, Heat::None),
        manner(Action::Crystallise, "crystallise", "Let crystallise", Some(Charges), Whole, Heat::None),
        manner(Action::Evaporate, "evaporate", "Evaporate", Some(Charges), Whole, Heat::None),
        manner(Action::Quench, "quench", "Quench", Some(Nothing), Whole, Heat::None),
        manner(Action::Filter, "filter", "Filter", None, SolidsAndSolution, Heat::None),
        manner(Action::Decant, "decant", "Decant", None, SolidsAndSolution, Heat::None),
        manner(Action::Dry, "dry", "Dry", None, Whole, Heat::Dry),
        manner(Action::Roast, "roast", "Roast", None, Whole, Heat::Fire),
        manner(Action::Ignite, "ignite", "Ignite", None, Whole, Heat::Fire),
        manner(Action::Divide, "divide", "Divide", None, Portions, Heat::None),
        manner(Action::Sieve, "sieve", "Sieve", None, Portions, Heat::None),
        manner(Action::Combine, "combine", "Combine", None, Whole, Heat::None),
        manner(Action::Grind, "grind", "Grind", None, Whole, Heat::None),
        manner(Action::Transfer, "transfer", "Transfer", None, Whole, Heat::None),
        manner(Action::Store, "store", "Store", None, Whole, Heat::None),
    ]
};

impl Action {
    /// The action of this word.
    #[must_use]
    pub fn from_word(word: &str) -> Option<Self> {
        MANNERS.iter().find(|manner| manner.word.eq_ignore_ascii_case(word.trim())).map(|manner| manner.action)
    }

    /// What it means.
    #[must_use]
    pub fn manner(self) -> &'static Manner {
        // The table has every action; a test holds it to that.
        MANNERS.iter().find(|manner| manner.action == self).unwrap_or(&MANNERS[0])
    }

    /// The word used in the file.
    #[must_use]
    pub fn word(self) -> &'static str {
        self.manner().word
    }

    /// Whether the step is done in a liquid, so that gases leave it.
    #[must_use]
    pub fn is_wet(self) -> bool {
        self.manner().wet.is_some()
    }

    /// Whether the step heats its lot dry.
    #[must_use]
    pub fn heats(self) -> bool {
        self.manner().heat != Heat::None
    }

    /// Whether the step parts solids from liquor.
    #[must_use]
    pub fn parts_liquor(self) -> bool {
        self.manner().parting == Parting::SolidsAndSolution
    }
}

/// What a lot is heated in.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Hash)]
pub enum Atmosphere {
    /// Air: oxygen at will.
    #[default]
    Air,
    /// Its own gas, nitrogen or argon: no oxygen from outside, carbon monoxide may leave.
    Inert,
    /// Carbon dioxide: like the former, but for metals that burn in it.
    CarbonDioxide,
    /// Hydrogen.
    Hydrogen,
    /// Carbon monoxide.
    CarbonMonoxide,
}

impl Atmosphere {
    /// The words of the file.
    pub const WORDS: [(&'static str, Self); 7] = [
        ("air", Self::Air),
        ("own gas", Self::Inert),
        ("carbon dioxide", Self::CarbonDioxide),
        ("nitrogen", Self::Inert),
        ("argon", Self::Inert),
        ("hydrogen", Self::Hydrogen),
        ("carbon monoxide", Self::CarbonMonoxide),
    ];

    /// The atmosphere of this word.
    #[must_use]
    pub fn from_word(word: &str) -> Option<Self> {
        Self::WORDS.iter().find(|(known, _)| known.eq_ignore_ascii_case(word.trim())).map(|(_, a)| *a)
    }

    /// Gases that a heated solid may give off or take up, as formulas. Each set balances in one way only.
    #[must_use]
    pub fn gases(self) -> [&'static str; 3] {
        match self {
            Self::Air => ["H2O", "CO2", "O2"],
            Self::Inert | Self::CarbonDioxide => ["H2O", "CO2", "CO"],
            Self::Hydrogen => ["H2O", "CO2", "H2"],
            Self::CarbonMonoxide => ["H2O", "CO2", "CO"],
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_action_has_one_manner() {
        for manner in &MANNERS {
            assert_eq!(MANNERS.iter().filter(|m| m.action == manner.action).count(), 1, "{}", manner.word);
            assert_eq!(Action::from_word(manner.word), Some(manner.action));
            assert_eq!(manner.action.manner().word, manner.word);
        }
        assert_eq!(Action::Store.manner().action, Action::Store);
    }
}
