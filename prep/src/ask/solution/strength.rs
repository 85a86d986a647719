//! How strong is a solution, counted in every way, and how is a weaker one made of it?
//!
//! For one substance whose densities are tabled, at 20 °C. The heat of dilution is at most that of the pure substance in
//! much water; a solution gives less. The rise of temperature takes the heat capacity of water for the whole mass (errs to a
//! rise that is some tenths too small in strong solutions, and too large by what is lost). Volumes are never added.
//!
//! Source: `engine::solution`, `chem::SolutionDensity`, `chem::hazard::mixing_heat`.

use super::Asked;
use crate::outcome::{SolutionDilution, SolutionStrength};
use chem::SolutionDensity;
use chem::hazard::mixing_heat;
use engine::solution::Solution;

/// Heat capacity of water, J/(kg·K).
const CAPACITY: f64 = 4184.0;

/// The strength of the solution; `None` unless one substance of tabled density is in it, within the table.
pub(super) fn strength(asked: &Asked) -> Option<SolutionStrength> {
    let [(formula, amount)] = &asked.recipe.substances[..] else { return None };
    let table = SolutionDensity::of(formula)?;
    let solute = formula.without_hydrate_water();
    let molar_mass = solute.molar_mass().ok()?.value * 1e-3;
    let mass = amount * molar_mass;
    let hydrate = chem::formula::to_f64(formula.hydrate_water()) * engine::crystallise::WATER * amount;
    let mass_fraction = mass / (mass + asked.recipe.water + hydrate);
    let of = |mass_fraction: f64| Some(Solution { mass_fraction, density: table.at(mass_fraction)?, molar_mass });
    let own = of(mass_fraction)?;
    let dilution = asked.dilute.and_then(|(litres, molarity)| {
        let wanted = of(table.fraction(1e3 * molarity * molar_mass)?)?;
        let volume = own.volume_for(1e3 * molarity, 1e-3 * litres)?;
        let (take, whole) = (volume * own.density, 1e-3 * litres * wanted.density);
        let heat = mixing_heat(&solute).map(|heat| heat * litres * molarity);
        Some(SolutionDilution {
            volume: litres,
            molarity,
            take: (1e6 * volume, 1e3 * take),
            water: 1e3 * (whole - take),
            heat: heat.map(|heat| 1e-3 * heat),
            rise: heat.map(|heat| heat / (whole * CAPACITY)),
        })
    });
    Some(SolutionStrength {
        solute: solute.to_string(),
        mass_percent: 100.0 * mass_fraction,
        density: 1e-3 * own.density,
        per_volume: 0.1 * own.mass_concentration(),
        molarity: 1e-3 * own.concentration(),
        molality: own.molality(),
        dilution,
    })
}
