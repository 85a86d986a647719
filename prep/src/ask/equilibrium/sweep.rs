//! What is there over a range of temperatures at one pressure?
//!
//! Even steps from cold to hot, each solved from the one before it; where the set of solids and liquids changes between two
//! steps the change is followed, so that a phase ends where it ends and not half a step later. States that cannot be solved
//! are left out. Gases below a thousandth of the mass are not told.
//!
//! Source: [`engine::equilibrium`].

use crate::ask::reading::Quantities;
use crate::equilibria::{LIMITS, Pool, molar_mass};
use crate::outcome::EquilibriumPoint;
use chem::{Dimension, Phase, Quantity, Value};
use engine::equilibrium::{Equilibrium, Hold, Status};

/// Steps of a sweep.
const STEPS: usize = 120;
/// To how many K a change of phases is followed.
const SHARP: f64 = 0.5;
/// Share of all mass below which a gas, and a phase, is not told.
const TOLD: (f64, f64) = (1e-3, 1e-6);

/// `25 .. 1400 °C`, in K.
pub(super) fn ends(reader: &mut Quantities, text: &str) -> Option<(f64, f64)> {
    let read = Quantity::parse_as(text, Dimension::TEMPERATURE).map(|quantity| quantity.si());
    match read {
        Ok(Value::Range { low, high }) if low < high && (LIMITS.0..LIMITS.1).contains(&low) && high <= LIMITS.1 => {
            Some((low, high))
        }
        _ => {
            let hint = "write two temperatures, the lower first, `25 .. 1400 °C`";
            reader.slip("bad-quantity", text, format!("the sweep is `{text}`"), hint);
            None
        }
    }
}

fn at(pool: &mut Pool, amounts: &[f64], (kelvin, pressure): (f64, f64)) -> Option<EquilibriumPoint> {
    let mut state = Equilibrium::default();
    pool.follow(amounts, Hold::TemperaturePressure(kelvin, pressure), false, &mut state);
    if !matches!(state.status, Status::Solved | Status::Almost) {
        return None;
    }
    let (mut condensed, mut gases) = (Vec::<(String, f64)>::new(), Vec::<(String, f64)>::new());
    for (form, amount) in pool.forms.iter().zip(&state.amounts) {
        let grams = 1e3 * amount * molar_mass(&form.species.formula);
        let list = if form.species.phase == Some(Phase::Gas) { &mut gases } else { &mut condensed };
        let name = form.species.to_string();
        // Crystal forms of one solid are one phase of the figure.
        match list.iter_mut().find(|(known, _)| *known == name) {
            Some((_, sum)) => *sum += grams,
            None => list.push((name, grams)),
        }
    }
    let all: f64 = condensed.iter().chain(&gases).map(|(_, grams)| grams).sum();
    condensed.retain(|(_, grams)| *grams > TOLD.1 * all);
    gases.retain(|(_, grams)| *grams > TOLD.0 * all);
    Some(EquilibriumPoint { kelvin, condensed, gases })
}

fn alike(one: &EquilibriumPoint, other: &EquilibriumPoint) -> bool {
    let names = |point: &EquilibriumPoint| point.condensed.iter().map(|(name, _)| name.clone()).collect::<Vec<_>>();
    names(one) == names(other)
}

/// States from cold to hot.
pub(super) fn sweep(pool: &mut Pool, amounts: &[f64], pressure: f64, (low, high): (f64, f64)) -> Vec<EquilibriumPoint> {
    let mut points: Vec<EquilibriumPoint> = Vec::new();
    for step in 0..=STEPS {
        let kelvin = low + (high - low) * step as f64 / STEPS as f64;
        let Some(next) = at(pool, amounts, (kelvin, pressure)) else { continue };
        if let Some(last) = points.last().filter(|last| !alike(last, &next)).cloned() {
            let (mut below, mut above) = (last.clone(), next.clone());
            while above.kelvin - below.kelvin > SHARP {
                let middle = 0.5 * (below.kelvin + above.kelvin);
                let Some(found) = at(pool, amounts, (middle, pressure)) else { break };
                if alike(&found, &last) { below = found } else { above = found }
            }
            points.extend([below, above]);
        }
        points.push(next);
    }
    points
}
