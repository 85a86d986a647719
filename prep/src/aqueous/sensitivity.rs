//! How far may a figure of a solution be off?
//!
//! Each constant that takes part is moved by its standard uncertainty, the figure is computed anew, and the changes are added
//! in quadrature. The activity model is moved too: the charge model by holding its coefficients above 0.3 instead of 1
//! mol/kg, Pitzer's equations by giving 0.3 kg/mol to pairs of ions that have no parameter (what sulfates and hydrogen
//! sulfates of two-valued metals usually have). Neglected: that constants of one table err together.
//!
//! Source: JCGM 100:2008 (GUM), 5.1, by finite differences.

use super::{Chosen, lacking};
use chem::aqueous::Model;
use engine::aqueous::speciate::Solver;

/// Ionic strength above which the charge model is held for comparison, mol/kg.
const HELD: f64 = 0.3;
/// Interaction given to a pair without a parameter, kg/mol.
const UNKNOWN_PAIR: f64 = 0.3;
/// Molality of a species below which its constant cannot matter, mol/kg.
const TRACE: f64 = 1e-9;

/// Standard uncertainty of a figure by its causes.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub(crate) struct Causes {
    /// Constants of the tables.
    pub(crate) constants: f64,
    /// The activity model.
    pub(crate) model: f64,
}

impl Causes {
    /// Where nothing can be said: as open as the logarithm of a figure may be.
    pub(crate) const OPEN: Self = Self { constants: 1.0, model: 0.0 };

    pub(crate) fn total(self) -> f64 {
        self.constants.hypot(self.model)
    }
}

/// Moves what may be moved and looks at the figure; the solver of `chosen` must hold the solution in question.
pub(crate) fn causes(chosen: &Chosen, figure: &mut dyn FnMut(&mut Solver) -> Option<f64>) -> Option<Causes> {
    let mut one = |solver: &mut Solver| figure(solver).map(|value| vec![value]);
    causes_of_all(chosen, &mut one)?.first().copied()
}

/// The same for several figures that are made together; as many come each time.
pub(crate) fn causes_of_all(
    chosen: &Chosen,
    figures: &mut dyn FnMut(&mut Solver) -> Option<Vec<f64>>,
) -> Option<Vec<Causes>> {
    let mut solver = chosen.solver.clone();
    let values = figures(&mut solver)?;
    let mut found = vec![Causes::default(); values.len()];
    let mut constant = |moved: &mut Solver| {
        let others = figures(moved).unwrap_or_default();
        for ((causes, value), other) in found.iter_mut().zip(&values).zip(&others) {
            causes.constants = causes.constants.hypot(other - value);
        }
    };
    let first = chosen.chemistry.network.masters();
    for (number, species) in chosen.chemistry.species.iter().enumerate().skip(first) {
        let uncertainty = species.constant.standard_uncertainty();
        if uncertainty == 0.0 || chosen.solver.molalities()[number] < TRACE {
            continue;
        }
        let mut moved = chosen.solver.clone();
        moved.network_mut().shift_species(number, uncertainty);
        constant(&mut moved);
    }
    for (number, solid) in chosen.chemistry.solids.iter().enumerate() {
        if chosen.solver.solid(number) <= 0.0 {
            continue;
        }
        let mut moved = chosen.solver.clone();
        moved.network_mut().shift_solid(number, solid.constant.standard_uncertainty());
        constant(&mut moved);
    }
    let mut other = chosen.solver.clone();
    match chosen.chemistry.model {
        Model::Association => other.hold_activities_above(HELD),
        Model::Pitzer => {
            let place = |name: &str| chosen.chemistry.species.iter().position(|s| s.name == name);
            for (cation, anion, _) in lacking(chosen) {
                if let (Some(cation), Some(anion)) = (place(cation), place(anion)) {
                    other.network_mut().shift_interaction(cation, anion, UNKNOWN_PAIR);
                }
            }
        }
    }
    let moved = figures(&mut other).unwrap_or_default();
    for ((causes, value), other) in found.iter_mut().zip(&values).zip(&moved) {
        causes.model = (other - value).abs();
    }
    Some(found)
}
