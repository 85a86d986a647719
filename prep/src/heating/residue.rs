//! What may a residue hold at a temperature?
//!
//! The stable phases, and what may not be through yet: the first solid of each chain whose own gas does not reach 1 atm a
//! hundred kelvins below, with what it becomes where that may go. A solid that is never stable and only persists (oxalates) is
//! taken to be through above 525 °C.
//!
//! Source: common practice of ignition; 475 to 525 °C is the usual range for oxalates to carbonates (from memory).

use super::{From, Point, Step};
use chem::Species;

/// By how much a temperature must be passed before a loss is taken to be through, K.
const MARGIN: f64 = 100.0;
/// Above this what only persists is through, K.
const PERSISTS: f64 = 798.15;

/// Stable phases, then what may be left, at a temperature in K.
pub(crate) fn may_hold(point: &Point, species: &[Species], chains: &[Vec<Step>], kelvin: f64) -> Vec<Species> {
    let mut list: Vec<Species> = point.phases.iter().map(|(place, _)| species[*place].clone()).collect();
    for steps in chains {
        let left = |step: &&Step| match step.own_gas {
            From::Above(t) => t > kelvin - MARGIN,
            From::Always | From::Unknown => kelvin < PERSISTS,
            From::Never => true,
        };
        let Some(step) = steps.iter().find(left) else { continue };
        let goes = [Some(step.own_gas), step.surroundings].into_iter().flatten().any(|from| match from {
            From::Above(t) => t <= kelvin,
            From::Always | From::Unknown => true,
            From::Never => false,
        });
        let met = [Some(&step.from), goes.then_some(&step.to)];
        for solid in met.into_iter().flatten() {
            if !list.contains(solid) {
                list.push(solid.clone());
            }
        }
    }
    list
}
