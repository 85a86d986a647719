//! What is known of the energy of reactions and mixes, for the screen?
//!
//! Heat of a listed reaction, and heat and flame temperature of a dry mix, from the tables of heat. Where nothing is known
//! the screen judges composition on the safe side and says so.
//!
//! Source: [`crate::thermochemistry`].

use crate::thermochemistry::release;
use chem::{Reaction, Species};

/// What a mix of solids comes to when it burns.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub(crate) struct MixEnergy {
    /// Heat released, J/kg.
    pub heat: Option<f64>,
    /// Upper bound of the gas at equilibrium, mol/kg.
    pub gas: Option<f64>,
    /// Flame temperature without losses, K.
    pub flame: Option<f64>,
}

/// What a mix comes to; amounts in mol.
pub(crate) type OfMix = dyn Fn(&[(&Species, f64)]) -> MixEnergy;

/// Where energies come from.
#[derive(Clone, Copy)]
pub(crate) struct Energy<'a> {
    /// Heat released by a reaction as written, J for a mole of it at 25 °C.
    pub heat: &'a dyn Fn(&Reaction) -> Option<f64>,
    /// What a mix comes to; amounts in mol.
    pub mix: &'a OfMix,
}

impl Energy<'_> {
    /// What the tables of heat say. The gas of a mix at equilibrium is not among it and stays open.
    pub(crate) const TABLES: Energy<'static> = Energy { heat: &release::of_reaction, mix: &mix };
}

/// Heat and flame temperature of an oxide with a metal, the oxide first.
fn mix(parts: &[(&Species, f64)]) -> MixEnergy {
    let [(oxide, oxide_amount), (metal, metal_amount)] = parts else { return MixEnergy::default() };
    let mass = |(species, amount): &(&Species, f64)| {
        species.formula.molar_mass().map_or(f64::NAN, |molar| molar.value * 1e-3 * amount)
    };
    let whole: f64 = parts.iter().map(mass).sum();
    let burnt = release::of_mix((&oxide.formula, *oxide_amount), (&metal.formula, *metal_amount));
    match burnt.filter(|_| whole > 0.0) {
        Some(burnt) => MixEnergy { heat: Some(burnt.heat / whole), gas: None, flame: burnt.flame },
        None => MixEnergy::default(),
    }
}
