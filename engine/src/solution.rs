//! How strong is a solution, counted in other ways, and what makes it of something stronger?
//!
//! Mass fraction w, amount concentration c, mass concentration γ and molality b of one solute, with the density ρ where
//! a volume comes in. Definitions only, so exact; the density is that of the solution at hand and at its temperature.
//! Volumes are never added: masses are, and a mixture's volume needs its own density. Taking volumes as additive errs
//! upward for sulfuric acid and water, by some 5 % of the whole.
//!
//! Source: definitions of the IUPAC Green Book (3rd edition, 2007), section 2.10.

/// A solution of one solute.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Solution {
    /// Mass fraction of the solute, 0 to 1.
    pub mass_fraction: f64,
    /// Density, kg/m³.
    pub density: f64,
    /// Molar mass of the solute, kg/mol.
    pub molar_mass: f64,
}

impl Solution {
    /// Amount concentration, c, in mol/m³.
    ///
    /// ```text
    /// c = w · ρ / M
    /// ```
    ///
    /// ```
    /// use engine::solution::Solution;
    /// // 37 % hydrochloric acid, 1.184 g/mL: 12.0 mol/L.
    /// let acid = Solution { mass_fraction: 0.37, density: 1184.0, molar_mass: 36.458e-3 };
    /// assert!((acid.concentration() - 12_016.0).abs() < 1.0);
    /// ```
    #[must_use]
    pub fn concentration(&self) -> f64 {
        self.mass_fraction * self.density / self.molar_mass
    }

    /// Mass concentration, γ = w · ρ, in kg/m³.
    #[must_use]
    pub fn mass_concentration(&self) -> f64 {
        self.mass_fraction * self.density
    }

    /// Molality, b = w / (M · (1 − w)), in mol per kg of solvent; infinite for w = 1.
    #[must_use]
    pub fn molality(&self) -> f64 {
        self.mass_fraction / (self.molar_mass * (1.0 - self.mass_fraction))
    }

    /// Volume of this solution, m³, that holds the solute of `volume` of a solution of `concentration` (mol/m³); `None`
    /// where this one is the weaker.
    ///
    /// ```text
    /// V = c' · V' / c
    /// ```
    #[must_use]
    pub fn volume_for(&self, concentration: f64, volume: f64) -> Option<f64> {
        let own = self.concentration();
        (own >= concentration && own > 0.0).then(|| concentration * volume / own)
    }

    /// Volume of a mass, m³.
    #[must_use]
    pub fn volume(&self, mass: f64) -> f64 {
        mass / self.density
    }
}

/// Mass fraction of a solution of known amount concentration, w = c · M / ρ.
///
/// | argument        | symbol | unit   | range |
/// |-----------------|--------|--------|-------|
/// | `concentration` | c      | mol/m³ | ≥ 0   |
/// | `molar_mass`    | M      | kg/mol | > 0   |
/// | `density`       | ρ      | kg/m³  | > 0   |
#[must_use]
pub fn from_concentration(concentration: f64, molar_mass: f64, density: f64) -> f64 {
    concentration * molar_mass / density
}

/// Mass fraction of a solution of known mass concentration, w = γ / ρ; 10 % w/v is γ = 100 kg/m³.
#[must_use]
pub fn from_mass_concentration(mass_concentration: f64, density: f64) -> f64 {
    mass_concentration / density
}

/// Mass fraction of a solution of known molality, w = b · M / (1 + b · M).
///
/// | argument     | symbol | unit   | range |
/// |--------------|--------|--------|-------|
/// | `molality`   | b      | mol/kg | ≥ 0   |
/// | `molar_mass` | M      | kg/mol | > 0   |
#[must_use]
pub fn from_molality(molality: f64, molar_mass: f64) -> f64 {
    let ratio = molality * molar_mass;
    ratio / (1.0 + ratio)
}

/// Relative change of the mass fraction for a relative change of the molality, 1 / (1 + b · M).
#[must_use]
pub fn molality_sensitivity(molality: f64, molar_mass: f64) -> f64 {
    1.0 / (1.0 + molality * molar_mass)
}

/// Masses of a stronger and a weaker solution (or solvent) that together make `mass` of a wanted mass fraction.
///
/// ```text
/// m₁ = m · (w − w₂) / (w₁ − w₂),  m₂ = m − m₁
/// ```
/// `None` unless the wanted fraction lies between the two.
///
/// ```
/// // 1000 g of 30 % sulfuric acid from 98 % acid and water.
/// let parts = engine::solution::mixture(1.0, 0.30, 0.98, 0.0);
/// assert!(parts.is_some_and(|(acid, water)| (acid - 0.306).abs() < 2e-4 && (acid + water - 1.0).abs() < 1e-12));
/// ```
#[must_use]
pub fn mixture(mass: f64, wanted: f64, stronger: f64, weaker: f64) -> Option<(f64, f64)> {
    if !(weaker..=stronger).contains(&wanted) || stronger <= weaker {
        return None;
    }
    let first = mass * (wanted - weaker) / (stronger - weaker);
    Some((first, mass - first))
}

/// What the volumes of the parts exceed that of the mixture by, m³; negative where it expands.
///
/// | argument  | unit  | meaning |
/// |-----------|-------|---------|
/// | `parts`   | kg, kg/m³ | mass and density of each part |
/// | `density` | kg/m³ | of the mixture |
#[must_use]
pub fn contraction(parts: &[(f64, f64)], density: f64) -> f64 {
    let apart: f64 = parts.iter().map(|(mass, own)| mass / own).sum();
    let together: f64 = parts.iter().map(|(mass, _)| mass).sum::<f64>() / density;
    apart - together
}
