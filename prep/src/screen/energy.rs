//! What is known of the energy of reactions and mixes, for the screen?
//!
//! Heat of a listed reaction, and heat, flame temperature and gas of a dry mix, from the tables of heat. The gas is that of
//! equilibrium without loss of heat, and an upper bound: it is a small difference of large heats, so a share of the release
//! is added to what is to be carried off. Where
//! nothing is known the screen judges composition on the safe side and says so.
//!
//! Source: [`crate::thermochemistry`], [`crate::equilibria`].

use crate::equilibria::{Choice, Pool};
use crate::thermochemistry::release;
use chem::{Phase, Reaction, Species};
use engine::equilibrium::{Hold, Status};

/// Share of the release by which the heats of hot melts are open: 4 % between old and new tables of molten alumina.
const OPEN: f64 = 0.05;
/// 1 atm, Pa.
const ATMOSPHERE: f64 = 101_325.0;

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
    /// What the tables of heat say.
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
        Some(burnt) => {
            let gas = gas((oxide, *oxide_amount), (metal, *metal_amount), burnt.heat).map(|amount| amount / whole);
            MixEnergy { heat: Some(burnt.heat / whole), gas, flame: burnt.flame }
        }
        None => MixEnergy::default(),
    }
}

/// Most gas at equilibrium of a mix that keeps its heat, mol; `None` where it cannot be computed.
fn gas(oxide: (&Species, f64), metal: (&Species, f64), heat: f64) -> Option<f64> {
    let solid = |species: &Species| Species::new(species.formula.clone(), Some(Phase::Solid));
    let lots = [(solid(oxide.0), oxide.1), (solid(metal.0), metal.1)];
    let mut pool = Pool::over(lots.iter().map(|(species, _)| species), &Choice::default())?;
    let before: Option<f64> = lots.iter().map(|(species, amount)| pool.enthalpy(species, *amount, ROOM)).sum();
    let amounts = pool.amounts(&lots);
    let state = pool.solve(&amounts, Hold::EnthalpyPressure(before? + OPEN * heat, ATMOSPHERE));
    matches!(state.status, Status::Solved | Status::Almost).then_some(state.gas)
}

/// Room temperature, K.
const ROOM: f64 = 298.15;

/// The bounds of a metal reduction against published figures.
#[cfg(test)]
mod tests {
    use super::*;
    use chem::Formula;

    /// S. Fischer, M. Grubelich, SAND98-1176C (1998), table 1: 1.4 mmol gas for each gram of the iron mix, 5.4 of the copper
    /// mix (quoted in RSC Advances 9 (2019) 1831, table 3), none of the chromium mix (from memory). The bound lies above the
    /// first two and keeps the order. Safety information of classical reductions.
    #[test]
    fn gas_of_a_mix_is_bounded_from_above() {
        for (oxide, metal, published, within) in
            [(("Fe2O3", 1.0), 2.0, 1.4, 0.6), (("CuO", 3.0), 2.0, 5.4, 0.8), (("Cr2O3", 1.0), 2.0, 0.0, 0.1)]
        {
            let species = |text: &str| Species::new(Formula::parse(text).expect("formula"), Some(Phase::Solid));
            let found = mix(&[(&species(oxide.0), oxide.1), (&species("Al"), metal)]);
            let gas = found.gas.expect("computed");
            assert!((published..=published + within).contains(&gas), "{}: {gas} mol/kg", oxide.0);
        }
    }
}
