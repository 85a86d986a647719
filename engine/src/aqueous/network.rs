//! Which species can form from which masters, and with what constants at this temperature?
//!
//! A network is the chemistry of one kind of solution, checked once at the door: masters first (the hydrogen ion is number
//! 0), then every other dissolved species as a signed sum of masters and water, then solids and gases by what they dissolve
//! to. Constants are those of the temperature. Oxidation states are held apart unless
//! [`super::couples`] lets them follow from one another.
//!
//! Source: mass action (C. M. Guldberg, P. Waage, 1864).

use super::couples::Couples;
use super::pitzer::{Pair, Pitzer};

/// Number of the hydrogen ion among the masters.
pub const HYDROGEN: usize = 0;

/// A dissolved species.
#[derive(Clone, Debug, PartialEq)]
pub struct Dissolved {
    /// Charge number.
    pub charge: i32,
    /// Ion-size parameter, m, and term linear in the ionic strength, kg/mol; `None` for Davies' equation.
    pub size: Option<(f64, f64)>,
    /// Masters it forms from, each with its coefficient.
    pub parts: Vec<(usize, f64)>,
    /// Water it forms from; negative where forming it sets water free.
    pub water: f64,
    /// Decadic logarithm of the constant of that formation.
    pub log_k: f64,
}

/// A solid or a gas.
#[derive(Clone, Debug, PartialEq)]
pub struct Phase {
    /// Masters it dissolves to.
    pub parts: Vec<(usize, f64)>,
    /// Water it sets free when it dissolves.
    pub water: f64,
    /// Decadic logarithm of the constant of that dissolution; for a gas with its pressure counted in.
    pub log_k: f64,
}

/// How activities are reckoned.
#[derive(Clone, Debug, PartialEq)]
pub enum Activity {
    /// As molalities.
    Ideal,
    /// By charge and ionic strength: Davies, extended Debye–Hückel.
    Charge,
    /// Pitzer's equations.
    Pitzer(Pitzer),
}

/// Why a network cannot be.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum NetworkError {
    /// There is no hydrogen ion.
    Empty,
    /// The species of this number is no master although it stands among them, or names a master that does not exist.
    Species(usize),
    /// The phase of this number names a master that does not exist, or none.
    Phase(usize),
    /// Charge of the species of this number is not that of its parts.
    Charge(usize),
    /// Pitzer's charges are not those of the species.
    Interactions,
    /// Temperature outside 273 to 373 K.
    Temperature,
}

impl std::fmt::Display for NetworkError {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        match self {
            Self::Empty => f.write_str("no hydrogen ion among the masters"),
            Self::Species(number) => write!(f, "species {number} does not fit the masters"),
            Self::Phase(number) => write!(f, "phase {number} does not fit the masters"),
            Self::Charge(number) => write!(f, "species {number} has not the charge of its parts"),
            Self::Interactions => f.write_str("interactions of other species"),
            Self::Temperature => f.write_str("the temperature is not between 0 and 100 °C"),
        }
    }
}

impl std::error::Error for NetworkError {}

/// The chemistry of one kind of solution.
#[derive(Clone, Debug, PartialEq)]
pub struct Network {
    pub(super) masters: usize,
    pub(super) species: Vec<Dissolved>,
    pub(super) solids: Vec<Phase>,
    pub(super) gases: Vec<Phase>,
    pub(super) activity: Activity,
    pub(super) temperature: f64,
    pub(super) couples: Option<Couples>,
}

impl Network {
    /// A network at a temperature in K.
    ///
    /// The first `masters` species are the masters in order; `solids` may form, `gases` are held at their pressure.
    ///
    /// # Errors
    /// [`NetworkError`] where parts do not fit together.
    pub fn new(
        masters: usize,
        species: Vec<Dissolved>,
        solids: Vec<Phase>,
        gases: Vec<Phase>,
        activity: Activity,
        temperature: f64,
    ) -> Result<Self, NetworkError> {
        if masters == 0 || species.len() < masters || species[HYDROGEN].charge != 1 {
            return Err(NetworkError::Empty);
        }
        if !(273.0..=374.0).contains(&temperature) {
            return Err(NetworkError::Temperature);
        }
        for (number, one) in species.iter().enumerate() {
            let master = one.parts.len() == 1 && one.parts[0] == (number, 1.0) && one.water == 0.0;
            if one.parts.iter().any(|(m, _)| *m >= masters) || (number < masters) != master || !one.log_k.is_finite() {
                return Err(NetworkError::Species(number));
            }
            let charge: f64 = one.parts.iter().map(|(m, c)| c * f64::from(species[*m].charge)).sum();
            if (charge - f64::from(one.charge)).abs() > 1e-9 {
                return Err(NetworkError::Charge(number));
            }
        }
        for (number, phase) in solids.iter().chain(&gases).enumerate() {
            let none = phase.parts.iter().all(|(_, c)| *c == 0.0);
            if none || phase.parts.iter().any(|(m, _)| *m >= masters) || !phase.log_k.is_finite() {
                return Err(NetworkError::Phase(number));
            }
        }
        if let Activity::Pitzer(pitzer) = &activity
            && !pitzer.charges.iter().copied().eq(species.iter().map(|s| s.charge))
        {
            return Err(NetworkError::Interactions);
        }
        Ok(Self { masters, species, solids, gases, activity, temperature, couples: None })
    }

    /// How many masters there are.
    #[must_use]
    pub fn masters(&self) -> usize {
        self.masters
    }

    /// Dissolved species, masters first.
    #[must_use]
    pub fn species(&self) -> &[Dissolved] {
        &self.species
    }

    /// Solids that may form.
    #[must_use]
    pub fn solids(&self) -> &[Phase] {
        &self.solids
    }

    /// Moves a constant of a dissolved species, in decades: for sensitivities.
    pub fn shift_species(&mut self, number: usize, decades: f64) {
        if let Some(one) = self.species.get_mut(number).filter(|_| number >= self.masters) {
            one.log_k += decades;
        }
    }

    /// Gives two ions an interaction β⁽⁰⁾ on top of what they have, kg/mol; nothing happens without Pitzer's equations.
    pub fn shift_interaction(&mut self, cation: usize, anion: usize, beta0: f64) {
        if let Activity::Pitzer(pitzer) = &mut self.activity {
            pitzer.pairs.push(Pair { cation, anion, beta0, ..Pair::default() });
        }
    }

    /// Moves the constant of a solid, in decades.
    pub fn shift_solid(&mut self, number: usize, decades: f64) {
        if let Some(one) = self.solids.get_mut(number) {
            one.log_k += decades;
        }
    }
}
