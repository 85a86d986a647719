//! How much strong base brings a weak acid of one proton to a pH?
//!
//! Charge balance of a dilute solution, with the base's ion M⁺:
//!
//! ```text
//! [M⁺] + [H⁺] = [A⁻] + [OH⁻]
//! [A⁻] = c · r / (1 + r),  r = [A⁻]/[HA]
//! ```
//! With activities, pH is −log₁₀ a for the proton; its concentration is a/γ, that of hydroxide K_w/(a γ), and r is
//! Kₐ/(a γ). The ionic strength follows from the answer, by repetition from the ideal one (each round shrinks the error
//! some tenfold; twenty reach rounding). Neglected: that γ of the uncharged acid is not quite 1, and amounts per litre
//! taken as per kilogram: both below a percent where Davies' equation holds.
//!
//! Source: charge balance; Henderson (1908) and Hasselbalch (1917) in the ideal case.

use super::activity::{DAVIES_LIMIT, davies};

/// −log₁₀ of the ion product of water at 25 °C. Source: CRC Handbook of Chemistry and Physics, from memory.
pub const PK_WATER: f64 = 13.995;
/// Rounds of the ionic strength.
const ROUNDS: usize = 20;

/// How active ions are taken to be.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Activities {
    /// As their concentrations.
    Ideal,
    /// By Davies' equation.
    Davies,
}

/// A base dose.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Dose {
    /// Strong base per volume, mol/L; negative where strong acid is needed instead.
    pub base: f64,
    /// Ionic strength reached, mol/L.
    pub ionic_strength: f64,
    /// Whether the activity model holds there.
    pub within_limit: bool,
}

/// Strong base that brings a weak acid to a pH.
///
/// | argument | symbol | unit  | range |
/// |----------|--------|-------|-------|
/// | `acid`   | c      | mol/L | ≥ 0, acid and its ion together |
/// | `pka`    | pKₐ    | 1     | thermodynamic, at zero ionic strength |
/// | `ph`     |        | 1     | 0 to 14 |
///
/// ```
/// use engine::aqueous::buffer::{Activities, base_to_ph};
/// // Acetate, 0.1 mol/L in all, to pH 5.00.
/// let ideal = base_to_ph(0.1, 4.756, 5.0, Activities::Ideal);
/// assert!((ideal.base - 0.0637).abs() < 2e-4);
/// ```
#[must_use]
pub fn base_to_ph(acid: f64, pka: f64, ph: f64, activities: Activities) -> Dose {
    let (active, ka, kw) = (10f64.powf(-ph), 10f64.powf(-pka), 10f64.powf(-PK_WATER));
    let (mut base, mut strength) = (0.0, 0.0);
    for _ in 0..ROUNDS {
        let gamma = match activities {
            Activities::Ideal => 1.0,
            Activities::Davies => davies(1, strength),
        };
        let proton = active / gamma;
        let ratio = ka / (active * gamma);
        let anion = acid * ratio / (1.0 + ratio);
        base = anion + kw / (active * gamma) - proton;
        strength = 0.5 * (base.abs() + proton + anion + kw / (active * gamma));
    }
    Dose { base, ionic_strength: strength, within_limit: activities == Activities::Ideal || strength <= DAVIES_LIMIT }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Acetate buffer of pH 5.00, 0.1000 mol/L in all, pKa 4.756 (CRC Handbook, 25 °C, from memory): 0.0637 mol sodium
    /// hydroxide in a litre with ideal activities (Henderson–Hasselbalch); 0.0686 mol with Davies activities, within 0.0008
    /// for the choice of the model.
    #[test]
    fn an_acetate_buffer() {
        let ideal = base_to_ph(0.1, 4.756, 5.0, Activities::Ideal);
        assert!((ideal.base - 0.063_688).abs() < 2e-4, "{ideal:?}");
        // The acid itself, glacial of 17.4 mol/L: 5.747 mL for a litre.
        let glacial =
            crate::solution::Solution { mass_fraction: 1.0, density: 17.4e3 * 60.052e-3, molar_mass: 60.052e-3 };
        assert!(glacial.volume_for(100.0, 1e-3).is_some_and(|volume| (volume * 1e6 - 5.747).abs() < 0.02));
        let davies = base_to_ph(0.1, 4.756, 5.0, Activities::Davies);
        assert!((davies.base - 0.068_576).abs() < 8e-4 && davies.within_limit, "{davies:?}");
        // Half neutralised, pH is pKa less what the activity of one ion makes of it: 0.5 · 0.1 mol/L, γ = 0.82.
        let half = base_to_ph(0.1, 4.756, 4.756 + 0.82f64.log10(), Activities::Davies);
        assert!((half.base - 0.05).abs() < 2e-4, "{half:?}");
    }

    /// Water alone: neutral where proton and hydroxide are alike, acid needed below.
    #[test]
    fn water_without_an_acid() {
        let neutral = base_to_ph(0.0, 4.756, PK_WATER / 2.0, Activities::Ideal);
        assert!(neutral.base.abs() < 1e-12);
        assert!(base_to_ph(0.0, 4.756, 3.0, Activities::Ideal).base < -9e-4);
        assert!((base_to_ph(0.0, 4.756, 12.0, Activities::Ideal).base - 0.0101).abs() < 2e-4);
    }
}
