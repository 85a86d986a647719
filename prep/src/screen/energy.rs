//! What is known of the energy of reactions and mixes, for the screen?
//!
//! Heat of a listed reaction, and heat, gas and flame temperature of a dry mix, come in from outside. Where nothing is known
//! the screen judges composition on the safe side and says so.

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
    /// Nothing is known.
    pub(crate) const UNKNOWN: Energy<'static> =
        Energy { heat: &|_| None, mix: &|_| MixEnergy { heat: None, gas: None, flame: None } };
}
