//! What heat, entropy and equilibrium constant a reaction has.

use super::Figure;

/// A reaction at one temperature, for one mole of it as balanced.
#[derive(Clone, Debug, PartialEq)]
pub struct ReactionHeat {
    /// Temperature, K.
    pub temperature: Figure,
    /// Enthalpy of reaction, kJ/mol.
    pub enthalpy: Option<Figure>,
    /// Entropy of reaction, J/(mol·K).
    pub entropy: Option<Figure>,
    /// Gibbs energy of reaction at 1 bar, kJ/mol.
    pub gibbs_energy: Option<Figure>,
    /// Heat capacity of reaction, J/(mol·K).
    pub heat_capacity: Option<Figure>,
    /// Decadic logarithm of the equilibrium constant, gases in bar.
    pub log10_k: Option<Figure>,
    /// Heat released for each gram of reactants, kJ/g.
    pub heat_per_gram: Option<Figure>,
    /// Gas formed at the temperature and 101.325 kPa, L/mol.
    pub gas_volume: Option<Figure>,
    /// Gibbs energy at the gas pressures given, kJ/mol; `None` where none is given.
    pub gibbs_energy_at_pressures: Option<Figure>,
    /// Pressures given: species and bar.
    pub pressures: Vec<(String, f64)>,
    /// Temperatures at which the Gibbs energy at those pressures (else 1 bar) is zero.
    pub balances: Vec<BalanceTemperature>,
    /// What the values of the species are and where they come from.
    pub species: Vec<SpeciesHeat>,
    /// Values at a series of temperatures, where asked for.
    pub table: Vec<TemperatureRow>,
}

/// A temperature at which a reaction is in balance.
#[derive(Clone, Debug, PartialEq)]
pub struct BalanceTemperature {
    /// The temperature, K.
    pub temperature: Figure,
    /// Above it the reaction runs as written.
    pub runs_above: bool,
    /// Where it would lie with another table's enthalpy: the table with its figure, and K.
    pub with_other_tables: Vec<(String, f64)>,
}

/// One species of a reaction, in the form it takes.
#[derive(Clone, Debug, PartialEq)]
pub struct SpeciesHeat {
    /// As written in the equation.
    pub species: String,
    /// Coefficient, negative for what is used up.
    pub coefficient: f64,
    /// The form whose values are used.
    pub form: String,
    /// Enthalpy at the temperature against the elements at 298.15 K, kJ/mol.
    pub enthalpy: Option<Figure>,
    /// Entropy at the temperature, J/(mol·K).
    pub entropy: Option<Figure>,
    /// Temperatures the values are meant for, K.
    pub range: (f64, f64),
    /// Whether the values are carried beyond that range.
    pub extended: bool,
    /// What was estimated, in words.
    pub estimated: Vec<String>,
    /// What other tables say, in words.
    pub conflicts: Vec<String>,
}

/// One line of a table over temperature.
#[derive(Clone, Debug, PartialEq)]
pub struct TemperatureRow {
    /// Temperature, K.
    pub temperature: f64,
    /// Enthalpy, kJ/mol.
    pub enthalpy: Figure,
    /// Entropy, J/(mol·K).
    pub entropy: Option<Figure>,
    /// Gibbs energy at 1 bar, kJ/mol.
    pub gibbs_energy: Option<Figure>,
    /// log₁₀ K.
    pub log10_k: Option<Figure>,
    /// Forms that differ from those of the line before.
    pub changes: Vec<String>,
}

/// Gibbs energies of reactions over temperature, to be held against each other.
#[derive(Clone, Debug, PartialEq)]
pub struct GibbsLines {
    /// The gas that all share, of which each line counts one mole; `None` where a line is for the reaction as balanced.
    pub per: Option<String>,
    /// One for each reaction, the one that was asked first.
    pub lines: Vec<GibbsLine>,
    /// Where two lines cross, from cold to hot.
    pub crossings: Vec<GibbsCrossing>,
}

/// One reaction over temperature.
#[derive(Clone, Debug, PartialEq)]
pub struct GibbsLine {
    /// What turns into what, without the shared gas.
    pub label: String,
    /// The balanced equation.
    pub equation: String,
    /// Its points from cold to hot: K, kJ, standard uncertainty in kJ.
    pub points: Vec<(f64, f64, f64)>,
    /// Where a species takes another form: K, the form taken.
    pub changes: Vec<(f64, String)>,
}

/// Where two lines cross: beyond it the other one lies lower.
#[derive(Clone, Debug, PartialEq)]
pub struct GibbsCrossing {
    /// K
    pub kelvin: f64,
    /// Standard uncertainty, K.
    pub standard_uncertainty: f64,
    /// kJ
    pub value: f64,
    /// Number of the line that is lower on the cold side.
    pub cold: usize,
    /// Number of the line that is lower on the hot side.
    pub hot: usize,
}
