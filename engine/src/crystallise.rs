//! How much crystallises, and where does the water go?
//!
//! Salt A and water W, both without regard to hydration, are parted at a temperature where the liquor holds s kg of
//! anhydrous salt per kg of water and the crystals h moles of water per mole:
//!
//! ```text
//! A − c M = s · (W − c h M_w)   →   c = (A − s W) / (M − s h M_w)
//! ```
//! c in moles. Crystals take water out of the liquor, so more falls out than the difference of solubilities says. Between
//! the points of a table the logarithm of solubility follows a monotone cubic, one for each solid phase; a transition is a
//! kink and stays one. Neglected: supersaturation (less falls out, or later), other solutes, water lost as vapour unless
//! stated, crystals of a phase that should have turned into another.
//!
//! Source: mass balance; interpolation by F. N. Fritsch, R. E. Carlson, SIAM J. Numer. Anal. 17 (1980) 238.

/// Molar mass of water, kg/mol.
pub const WATER: f64 = 18.015e-3;

/// One solid phase: where it is stable and what dissolves of it.
#[derive(Clone, Debug, PartialEq)]
pub struct Phase {
    /// Water of crystallisation, mol/mol.
    pub hydration: f64,
    /// Temperature (K, rising) with kg of anhydrous salt per kg of water.
    pub points: Vec<(f64, f64)>,
}

/// A salt by the solubility of its phases, from cold to hot.
#[derive(Clone, Debug, PartialEq)]
pub struct Curve {
    /// Molar mass of the anhydrous salt, kg/mol.
    pub molar_mass: f64,
    /// Phases that meet at their transitions.
    pub phases: Vec<Phase>,
}

/// What the curve says at a temperature.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Saturation {
    /// kg of anhydrous salt per kg of water.
    pub solubility: f64,
    /// Number of the stable phase.
    pub phase: usize,
    /// Its water of crystallisation, mol/mol.
    pub hydration: f64,
}

/// A liquor: salt and water, kg.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Liquor {
    /// Anhydrous salt.
    pub salt: f64,
    /// Water, that of any hydrate included.
    pub water: f64,
}

/// What has come out.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Crop {
    /// Crystals with their water, kg.
    pub crystals: f64,
    /// Anhydrous salt in them, kg.
    pub salt: f64,
    /// Water in them, kg.
    pub water: f64,
    /// Number of the phase that crystallises.
    pub phase: usize,
    /// What is left.
    pub liquor: Liquor,
    /// Whether everything turned solid: the crystals would take all of the water.
    pub set_solid: bool,
}

impl Curve {
    /// Solubility at a temperature in K; `None` outside of the table.
    #[must_use]
    pub fn at(&self, temperature: f64) -> Option<Saturation> {
        let inside = |phase: &Phase| {
            let (first, last) = (phase.points.first()?, phase.points.last()?);
            (first.0 <= temperature + 1e-9 && temperature <= last.0 + 1e-9).then_some(())
        };
        // At a transition the phase of the colder side, which is the one that cooling gives.
        let (number, phase) = self.phases.iter().enumerate().find(|(_, phase)| inside(phase).is_some())?;
        Some(Saturation {
            solubility: interpolate(&phase.points, temperature)?,
            phase: number,
            hydration: phase.hydration,
        })
    }

    /// Parts a liquor at a temperature in K; nothing comes out of an unsaturated one. `None` outside of the table.
    ///
    /// ```
    /// use engine::crystallise::{Curve, Liquor, Phase};
    /// // Copper sulfate: 55 g to 100 g of water, cooled to where 20.7 g stay: 60.8 g of pentahydrate, not 34.3 g.
    /// let points = vec![(293.15, 0.207), (353.15, 0.55)];
    /// let salt = Curve { molar_mass: 159.602e-3, phases: vec![Phase { hydration: 5.0, points }] };
    /// let crop = salt.crop(Liquor { salt: 0.055, water: 0.100 }, 293.15).ok_or("outside")?;
    /// assert!((crop.crystals - 60.8e-3).abs() < 0.1e-3);
    /// # Ok::<(), &str>(())
    /// ```
    #[must_use]
    pub fn crop(&self, liquor: Liquor, temperature: f64) -> Option<Crop> {
        let Saturation { solubility, phase, hydration } = self.at(temperature)?;
        let surplus = liquor.salt - solubility * liquor.water;
        let per_mole = self.molar_mass - solubility * hydration * WATER;
        let most = if hydration > 0.0 { liquor.water / (hydration * WATER) } else { f64::INFINITY };
        let wanted = if surplus <= 0.0 { 0.0 } else { surplus / per_mole };
        let set_solid = surplus > 0.0 && (per_mole <= 0.0 || wanted >= most);
        let moles = if set_solid { most.min(liquor.salt / self.molar_mass) } else { wanted };
        let (salt, water) = (moles * self.molar_mass, moles * hydration * WATER);
        Some(Crop {
            crystals: salt + water,
            salt,
            water,
            phase,
            liquor: Liquor { salt: (liquor.salt - salt).max(0.0), water: (liquor.water - water).max(0.0) },
            set_solid,
        })
    }

    /// Water to be boiled off until the first crystals show at a temperature, kg; below zero where it must be added.
    #[must_use]
    pub fn evaporation_to_saturation(&self, liquor: Liquor, temperature: f64) -> Option<f64> {
        Some(liquor.water - liquor.salt / self.at(temperature)?.solubility)
    }

    /// Water to be added to crystals of a hydration so that all just dissolves at a temperature, kg; zero where their own
    /// water is enough.
    #[must_use]
    pub fn least_solvent(&self, crystals: f64, hydration: f64, temperature: f64) -> Option<f64> {
        let share = self.molar_mass / (self.molar_mass + hydration * WATER);
        let salt = crystals * share;
        Some((salt / self.at(temperature)?.solubility - (crystals - salt)).max(0.0))
    }

    /// Crystals of a hydration that dissolve in water added to them at a temperature, kg; `None` outside of the table, or
    /// where they dissolve in their own water without end.
    #[must_use]
    pub fn dissolving(&self, added: f64, hydration: f64, temperature: f64) -> Option<f64> {
        let s = self.at(temperature)?.solubility;
        let per_mole = self.molar_mass - s * hydration * WATER;
        (per_mole > 0.0).then(|| s * added / per_mole * (self.molar_mass + hydration * WATER))
    }

    /// Water that went as vapour while a liquor gave so many kg of crystals and is saturated at a temperature, kg.
    #[must_use]
    pub fn evaporated(&self, liquor: Liquor, crystals: f64, temperature: f64) -> Option<f64> {
        let Saturation { solubility, hydration, .. } = self.at(temperature)?;
        let share = self.molar_mass / (self.molar_mass + hydration * WATER);
        let (salt, water) = (crystals * share, crystals * (1.0 - share));
        Some(liquor.water - water - (liquor.salt - salt) / solubility)
    }
}

/// What liquor that clings to crystals carries of something that stays dissolved, kg.
///
/// ```text
/// m = m₀ · held / liquor
/// ```
/// | argument   | unit | meaning |
/// |------------|------|---------|
/// | `impurity` | kg   | dissolved in the liquor |
/// | `liquor`   | kg   | mass of the liquor, with what is dissolved in it |
/// | `held`     | kg   | of it that clings |
#[must_use]
pub fn carried(impurity: f64, liquor: f64, held: f64) -> f64 {
    if liquor > 0.0 { impurity * (held / liquor).clamp(0.0, 1.0) } else { impurity }
}

/// Monotone cubic through the logarithms of the points.
fn interpolate(points: &[(f64, f64)], at: f64) -> Option<f64> {
    let last = points.len().checked_sub(1)?;
    if last == 0 {
        return Some(points[0].1);
    }
    let below = points.iter().take(last).rposition(|(t, _)| *t <= at).unwrap_or(0);
    let log = |n: usize| points[n].1.ln();
    let width = |n: usize| points[n + 1].0 - points[n].0;
    let rise = |n: usize| (log(n + 1) - log(n)) / width(n);
    let slope = |n: usize| {
        let (left, right) = match (n.checked_sub(1), n < last) {
            (Some(left), true) => (rise(left), rise(n)),
            (Some(left), false) => return rise(left),
            (None, _) => return rise(0),
        };
        if left * right <= 0.0 {
            return 0.0;
        }
        let (a, b) = (2.0 * width(n) + width(n - 1), width(n) + 2.0 * width(n - 1));
        (a + b) / (a / left + b / right)
    };
    let h = width(below);
    let u = ((at - points[below].0) / h).clamp(0.0, 1.0);
    let (m0, m1) = (h * slope(below), h * slope(below + 1));
    let (u2, u3) = (u * u, u * u * u);
    let value = (2.0 * u3 - 3.0 * u2 + 1.0) * log(below)
        + (u3 - 2.0 * u2 + u) * m0
        + (3.0 * u2 - 2.0 * u3) * log(below + 1)
        + (u3 - u2) * m1;
    Some(value.exp())
}
