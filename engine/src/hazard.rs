//! How much does a hazard come to: gas in a room, energy in a mix, toxicity of a mixture?
//!
//! Pure functions on numbers; which substances are meant is for others to say. Gases are ideal and mixed evenly into a room
//! that nobody airs: close to the source it is worse, with a window open better. Additivity of the Globally Harmonized
//! System takes mixtures as sums of their ingredients. An oxygen balance says what a composition could release, not whether
//! it will; heat, gas and flame temperature go in where they are known, and where they are not, composition is judged on
//! the safe side.
//!
//! Source: UN GHS Rev. 9, chapters 3.1 to 3.3 and 4.1; ideal gas; textbooks of explosives safety (from memory).

/// Molar gas constant, J/(mol K) (CODATA 2018, exact).
pub const GAS_CONSTANT: f64 = 8.314_462_618_153_24;
/// Pressure of one atmosphere, Pa.
pub const ATMOSPHERE: f64 = 101_325.0;

/// Volume of an ideal gas, V, in m³.
///
/// ```text
/// V = n · R · T / p
/// ```
/// | argument      | symbol | unit | range |
/// |---------------|--------|------|-------|
/// | `amount`      | n      | mol  | ≥ 0   |
/// | `temperature` | T      | K    | > 0   |
/// | `pressure`    | p      | Pa   | > 0   |
///
/// # Source
/// Ideal gas.
///
/// ```
/// // 10.0 g calcium carbonate and acid: 0.09991 mol carbon dioxide, 2.444 L at 25 °C and 1 atm.
/// let volume = engine::hazard::gas_volume(10.0 / 100.086, 298.15, engine::hazard::ATMOSPHERE);
/// assert!((volume - 2.4444e-3).abs() < 1e-6);
/// ```
#[must_use]
pub fn gas_volume(amount: f64, temperature: f64, pressure: f64) -> f64 {
    amount * GAS_CONSTANT * temperature / pressure
}

/// Concentration of a gas spread evenly in a room, in ppm by volume.
///
/// | argument | unit | range |
/// |----------|------|-------|
/// | `gas`    | m³   | ≥ 0   |
/// | `room`   | m³   | > 0   |
///
/// ```
/// // 1.67 L carbon monoxide in 25 m³.
/// assert!((engine::hazard::parts_per_million(1.67e-3, 25.0) - 67.0).abs() < 0.5);
/// ```
#[must_use]
pub fn parts_per_million(gas: f64, room: f64) -> f64 {
    1e6 * gas / room
}

/// Air that thins a gas to a limit, in m³.
///
/// | argument | unit | range |
/// |----------|------|-------|
/// | `gas`    | m³   | ≥ 0   |
/// | `limit`  | ppm  | > 0   |
#[must_use]
pub fn thinning_air(gas: f64, limit: f64) -> f64 {
    gas / (limit * 1e-6)
}

/// Time in which airing brings a concentration to a limit, in s; 0 where it is below.
///
/// ```text
/// t = ln(c / limit) / n
/// ```
/// | argument        | symbol | unit | range |
/// |-----------------|--------|------|-------|
/// | `concentration` | c      | any  | > 0   |
/// | `limit`         |        | same | > 0   |
/// | `air_changes`   | n      | 1/s  | > 0   |
///
/// # Source
/// A room mixed evenly, dc/dt = −n c.
#[must_use]
pub fn airing_time(concentration: f64, limit: f64, air_changes: f64) -> f64 {
    (concentration / limit).ln().max(0.0) / air_changes
}

/// Lower flammable limit of hydrogen in air, volume fraction; textbook value.
pub const HYDROGEN_LIMIT: f64 = 0.04;

/// Volume of mixture in which a gas is just at its lower flammable limit, and the volume to plan for (a quarter of
/// the limit), in m³.
///
/// ```
/// // 0.10 mol zinc in acid: 2.45 L hydrogen, 61 L at the limit, 245 L to plan for.
/// let (at, plan) = engine::hazard::flammable_air(2.45e-3, engine::hazard::HYDROGEN_LIMIT);
/// assert!((at - 0.061).abs() < 0.001 && (plan - 0.245).abs() < 0.001);
/// ```
#[must_use]
pub fn flammable_air(gas: f64, limit: f64) -> (f64, f64) {
    (gas / limit, 4.0 * gas / limit)
}

/// Oxygen balance of a composition, in percent of its mass.
///
/// ```text
/// Ω = 1600 · (O − 2 C − H/2 − M) / Mr
/// ```
/// `burning` is the oxygen, in atoms, that burning needs: 2 for each carbon, ½ for each hydrogen, and that of the metals.
///
/// | argument     | unit  | range |
/// |--------------|-------|-------|
/// | `oxygen`     | atoms | ≥ 0   |
/// | `burning`    | atoms | ≥ 0   |
/// | `molar_mass` | g/mol | > 0   |
///
/// # Source
/// Definition in textbooks of explosives safety; 1600 is 100 times the mass of oxygen.
///
/// ```
/// // Ammonium nitrate, N2H4O3: +20 % (textbook).
/// assert!((engine::hazard::oxygen_balance(3.0, 2.0, 80.043) - 20.0).abs() < 0.1);
/// ```
#[must_use]
pub fn oxygen_balance(oxygen: f64, burning: f64, molar_mass: f64) -> f64 {
    1600.0 * (oxygen - burning) / molar_mass
}

/// What is known of a mix of oxidiser and fuel.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct Mix {
    /// Oxygen that the oxidisers can give, mol.
    pub oxygen: f64,
    /// Oxygen that the fuels can take, mol.
    pub fuel: f64,
    /// Mass of both, kg.
    pub mass: f64,
    /// Heat released, J/kg, if known.
    pub heat: Option<f64>,
    /// Gas at the flame temperature, mol/kg, an upper bound, if known.
    pub gas: Option<f64>,
    /// Flame temperature without losses, K, if known.
    pub flame: Option<f64>,
}

/// Heat from which a mix keeps itself burning violently, J/kg; 500 J/g of decomposition is the usual screening line
/// (UN Manual of Tests and Criteria, screening for energetic substances; from memory).
const ENERGETIC_HEAT: f64 = 500e3;
/// Flame temperature below which such a mix does not keep burning, K; common practice, 1800 K for self-propagating burning.
const SELF_BURNING: f64 = 1800.0;
/// Share of oxygen or fuel below which a mix does not burn by itself; on the safe side.
const LEAST_SHARE: f64 = 0.05;

/// Whether a mix of oxidiser and fuel is energetic: by heat and flame temperature where they are known, by composition
/// where they are not.
#[must_use]
pub fn is_energetic(mix: &Mix) -> bool {
    if mix.oxygen <= 0.0 || mix.fuel <= 0.0 {
        return false;
    }
    let ratio = mix.oxygen.min(mix.fuel) / mix.oxygen.max(mix.fuel);
    match (mix.heat, mix.flame) {
        (Some(heat), Some(flame)) => heat >= ENERGETIC_HEAT && flame >= SELF_BURNING,
        (Some(heat), None) => heat >= ENERGETIC_HEAT,
        (None, Some(flame)) => flame >= SELF_BURNING,
        (None, None) => ratio >= LEAST_SHARE,
    }
}

/// What a weighing list for an oxide and a reducing metal needs to be known.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct MetalReduction {
    /// Whether the metal made is the declared, weighed and accounted target.
    pub is_target: bool,
    /// Whether the oxidant is a simple oxide.
    pub simple_oxide: bool,
    /// Upper bound of the gas at equilibrium, mol/kg, if computed.
    pub gas: Option<f64>,
    /// Total release, J, if computed.
    pub release: Option<f64>,
}

/// Most gas at equilibrium for a weighing list, mol/kg (2 mmol per gram).
pub const MOST_GAS: f64 = 2.0;
/// Most release for a weighing list, J.
pub const MOST_RELEASE: f64 = 150e3;

/// Why there is no weighing list; nothing where all conditions hold.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Withheld {
    /// The metal is not the declared, weighed and accounted target.
    NotTheTarget,
    /// The oxidant is more than a simple oxide.
    NotASimpleOxide,
    /// The gas at equilibrium is not computed.
    GasUnknown,
    /// It exceeds the bound.
    TooMuchGas,
    /// The release is not computed.
    ReleaseUnknown,
    /// It exceeds the bound.
    TooMuchRelease,
}

/// The conditions for a weighing list that do not hold.
#[must_use]
pub fn withheld(case: &MetalReduction) -> Vec<Withheld> {
    let gas = match case.gas {
        None => Some(Withheld::GasUnknown),
        Some(gas) if gas.is_nan() || gas > MOST_GAS => Some(Withheld::TooMuchGas),
        Some(_) => None,
    };
    let release = match case.release {
        None => Some(Withheld::ReleaseUnknown),
        Some(release) if release.is_nan() || release > MOST_RELEASE => Some(Withheld::TooMuchRelease),
        Some(_) => None,
    };
    let list = [
        (!case.is_target).then_some(Withheld::NotTheTarget),
        (!case.simple_oxide).then_some(Withheld::NotASimpleOxide),
        gas,
        release,
    ];
    list.into_iter().flatten().collect()
}

/// What is known of the toxicity of an ingredient.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Toxicity {
    /// Acute toxicity estimate, in mg/kg or mg/L.
    Estimate(f64),
    /// Not acutely toxic: it counts for nothing.
    None,
    /// Not known.
    Unknown,
}

/// Acute toxicity estimate of a mixture.
#[derive(Clone, Debug, PartialEq)]
pub struct MixtureToxicity {
    /// Estimate in the unit of the ingredients; `None` where no ingredient is toxic.
    pub estimate: Option<f64>,
    /// Share of ingredients of unknown toxicity, percent.
    pub unknown: f64,
    /// Places of the ingredients that are left out because they are not acutely toxic.
    pub ignored: Vec<usize>,
}

/// Share of ingredients of unknown toxicity from which a label says so, percent (UN GHS Rev. 9, 3.1.3.6.2.2).
pub const UNKNOWN_TOLD: f64 = 1.0;

/// Acute toxicity of a mixture by additivity.
///
/// ```text
/// (100 − Σ C_unknown) / ATEmix = Σ C_i / ATE_i
/// ```
/// The share of unknown ingredients counts only where it is above 10 %. Concentrations in percent. What is not acutely
/// toxic is ignored: water, sugar, and what showed no signs at the limit dose.
///
/// # Source
/// UN GHS Rev. 9, 3.1.3.3, 3.1.3.6.1 and 3.1.3.6.2.3.
#[must_use]
pub fn mixture_toxicity(ingredients: &[(f64, Toxicity)]) -> MixtureToxicity {
    let unknown: f64 = ingredients.iter().filter(|(_, t)| *t == Toxicity::Unknown).map(|(c, _)| c).sum();
    let sum: f64 = ingredients
        .iter()
        .map(|(concentration, toxicity)| match toxicity {
            Toxicity::Estimate(estimate) if *estimate > 0.0 => concentration / estimate,
            _ => 0.0,
        })
        .sum();
    let whole = if unknown > 10.0 { 100.0 - unknown } else { 100.0 };
    let nothing = |(place, (_, toxicity)): (usize, &(f64, Toxicity))| (*toxicity == Toxicity::None).then_some(place);
    let ignored = ingredients.iter().enumerate().filter_map(nothing).collect();
    MixtureToxicity { estimate: (sum > 0.0).then(|| whole / sum), unknown, ignored }
}

/// Bounds of the categories 1 to 4 of acute toxicity by mouth, mg/kg (GHS table 3.1.1; category 5 is left out, as the
/// European Union does).
pub const ORAL: [f64; 4] = [5.0, 50.0, 300.0, 2000.0];
/// Bounds of the categories 1 to 4 of vapours breathed in for 4 h, mg/L.
pub const VAPOUR: [f64; 4] = [0.5, 2.0, 10.0, 20.0];

/// Category of an estimate, 1 to 4; `None`: not classified.
#[must_use]
pub fn acute_category(estimate: f64, bounds: &[f64; 4]) -> Option<usize> {
    bounds.iter().position(|bound| estimate <= *bound).map(|place| place + 1)
}

/// What an ingredient does to skin and eyes.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Corrosion {
    /// Skin category 1 (H314).
    Skin1,
    /// Skin category 2 (H315).
    Skin2,
    /// Eye category 1 (H318).
    Eye1,
    /// Eye category 2 (H319).
    Eye2,
    /// The list sets percentages of its own for skin 1, skin 2, eyes 1 and eyes 2; infinite: never.
    Own([f64; 4]),
}

impl Corrosion {
    /// Percentages from which the ingredient alone makes skin 1, skin 2, eyes 1 and eyes 2.
    fn limits(self) -> [f64; 4] {
        const NEVER: f64 = f64::INFINITY;
        match self {
            Self::Skin1 => [5.0, 1.0, 3.0, 1.0],
            Self::Skin2 => [NEVER, 10.0, NEVER, NEVER],
            Self::Eye1 => [NEVER, NEVER, 3.0, 1.0],
            Self::Eye2 => [NEVER, NEVER, NEVER, 10.0],
            Self::Own(limits) => limits,
        }
    }
}

/// What a mixture does to skin and eyes.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub struct MixtureCorrosion {
    /// Skin category.
    pub skin: Option<u8>,
    /// Eye category.
    pub eye: Option<u8>,
}

/// Skin and eye categories of a mixture by additivity: a category holds where the percentages, each over its limit, come to
/// 1 or more. `extreme` where an ingredient is an acid of pH ≤ 2 or a base of pH ≥ 11.5, which counts from 1 %.
///
/// # Source
/// UN GHS Rev. 9, tables 3.2.3, 3.2.4, 3.3.3 and 3.3.4; limits of the list itself enter in place of those of the tables, as
/// in Annex VI of Regulation (EC) No 1272/2008, article 10.
#[must_use]
pub fn mixture_corrosion(ingredients: &[(f64, Corrosion)], extreme: f64) -> MixtureCorrosion {
    // Five times 0.2 is to be 1.
    const WHOLE: f64 = 1.0 - 1e-9;
    let mut sums = [0.0; 4];
    for (percent, kind) in ingredients {
        for (sum, limit) in sums.iter_mut().zip(kind.limits()) {
            *sum += percent / limit;
        }
    }
    let [skin1, skin2, eye1, eye2] = sums.map(|sum| sum >= WHOLE);
    let grave = extreme >= 1.0;
    let category = |first: bool, second: bool| match (first, second) {
        (true, _) => Some(1),
        (false, true) => Some(2),
        _ => None,
    };
    MixtureCorrosion { skin: category(skin1 || grave, skin2), eye: category(eye1 || grave, eye2) }
}

/// Short-term danger of a mixture to water life; ingredients of category 1 as (percent, multiplying factor).
///
/// # Source
/// UN GHS Rev. 9, table 4.1.3 (summation).
#[must_use]
pub fn mixture_acute_aquatic(ingredients: &[(f64, f64)]) -> bool {
    ingredients.iter().map(|(percent, m)| percent * m).sum::<f64>() >= 25.0
}

/// Long-term danger of a mixture to water life, category 1 to 3; ingredients as (percent, category, multiplying factor).
///
/// # Source
/// UN GHS Rev. 9, table 4.1.4 (summation).
#[must_use]
pub fn mixture_aquatic(ingredients: &[(f64, u8, f64)]) -> Option<u8> {
    let sum = |category: u8, factor: bool| -> f64 {
        ingredients
            .iter()
            .filter(|(_, own, _)| *own == category)
            .map(|(percent, _, m)| if factor { percent * m } else { *percent })
            .sum()
    };
    let (one, two, three) = (sum(1, true), sum(2, false), sum(3, false));
    if one >= 25.0 {
        Some(1)
    } else if 10.0 * one + two >= 25.0 {
        Some(2)
    } else if 100.0 * one + 10.0 * two + three >= 25.0 {
        Some(3)
    } else {
        None
    }
}

/// Temperature rise of a batch that keeps its heat, in K; `None` where there is nothing to warm.
///
/// ```text
/// ΔT = q / (m · cp)
/// ```
/// | argument        | symbol | unit     | range |
/// |-----------------|--------|----------|-------|
/// | `heat`          | q      | J        | any   |
/// | `mass`          | m      | kg       | > 0   |
/// | `heat_capacity` | cp     | J/(kg K) | > 0   |
///
/// # Source
/// First law at constant pressure.
#[must_use]
pub fn temperature_rise(heat: f64, mass: f64, heat_capacity: f64) -> Option<f64> {
    (mass > 0.0 && heat_capacity > 0.0).then(|| heat / (mass * heat_capacity))
}

/// Steam that a hot solid makes of water, in kg: its heat above 100 °C over the heat of evaporation, at most all water.
///
/// | argument        | unit     | range |
/// |-----------------|----------|-------|
/// | `mass`          | kg       | ≥ 0   |
/// | `heat_capacity` | J/(kg K) | > 0   |
/// | `temperature`   | K        | > 0   |
///
/// # Source
/// First law; heat of evaporation of water at 100 °C, 2257 kJ/kg (steam tables, from memory). Water that warms up first is
/// left out, which errs on the safe side.
#[must_use]
pub fn steam(mass: f64, heat_capacity: f64, temperature: f64) -> f64 {
    const EVAPORATION: f64 = 2.257e6;
    (mass * heat_capacity * (temperature - 373.15)).max(0.0) / EVAPORATION
}
