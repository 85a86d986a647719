//! How strong is a solution, counted in every way, and how is a weaker one made of it?
//!
//! For one substance whose densities are tabled, at 20 °C. The heat of dilution is the difference of two heats of solution where
//! those are tabled for both strengths; elsewhere at most that of the pure substance in much water, since a solution gives less.
//! The rise of temperature takes the heat capacity of the water in it and a quarter of that for the solute, as `heat` does, and
//! nothing lost to the vessel: within 10 % for lye and sulfuric acid of up to 30 %; hydrochloric acid holds less and warms by
//! a fifth more. Volumes are never added.
//!
//! Source: `engine::solution`, `chem::SolutionDensity`, `chem::SolutionHeat`, `chem::hazard::mixing_heat`.

use super::Asked;
use crate::aqueous::Recipe;
use crate::ask::reading::remark;
use crate::outcome::{Finding, Severity, SolutionDilution, SolutionStrength};
use chem::hazard::mixing_heat;
use chem::{Formula, SolutionDensity, SolutionHeat};
use engine::solution::Solution;

/// Heat capacities of water and of what is dissolved in it (common practice), J/(kg·K).
const WATER: f64 = 4184.0;
const DISSOLVED: f64 = 1000.0;
/// Molality above which a solution without an answer is too strong for the activity models, mol/kg.
pub(super) const TOO_STRONG: f64 = 6.0;

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
        let exact = heat_between(&solute, [own.mass_fraction, wanted.mass_fraction], molar_mass);
        let heat = exact.or_else(|| mixing_heat(&solute)).map(|heat| heat * litres * molarity);
        let capacity = WATER + wanted.mass_fraction * (DISSOLVED - WATER);
        Some(SolutionDilution {
            volume: litres,
            molarity,
            take: (1e6 * volume, 1e3 * take),
            water: 1e3 * (whole - take),
            heat: heat.map(|heat| 1e-3 * heat),
            rise: heat.map(|heat| heat / (whole * capacity)),
            at_most: exact.is_none(),
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

/// What a dilution makes, as a recipe; `None` where none was asked for.
pub(super) fn diluted(strength: &SolutionStrength) -> Option<Recipe> {
    let dilution = strength.dilution.as_ref()?;
    let solute = Formula::parse(&strength.solute).ok()?;
    let water = dilution.take.1 * (1.0 - 0.01 * strength.mass_percent) + dilution.water;
    let substances = vec![(solute, dilution.volume * dilution.molarity)];
    Some(Recipe { substances, reagents: Vec::new(), water: 1e-3 * water, coupled: None })
}

/// That a solution is beyond every activity model, with what can be said of it.
pub(super) fn too_strong(strength: &SolutionStrength) -> Finding {
    let message = format!(
        "{} of {:.1} % w/w, {:.2} mol/L and {:.1} mol/kg of water at {:.3} g/mL, is too strong for its species to be \
         reckoned{}",
        strength.solute,
        strength.mass_percent,
        strength.molarity,
        strength.molality,
        strength.density,
        if strength.dilution.is_some() { "; pH and species are those of the diluted solution" } else { "" },
    );
    let hint = "give the strength it is to be diluted to, `--dilute \"1 L 1 mol/L\"`";
    match &strength.dilution {
        Some(_) => remark("too-strong", Severity::Note, message, ""),
        None => remark("too-strong", Severity::Error, message, hint),
    }
}

/// Heat given off from one mass fraction to another, J/mol; `None` where either is beyond the table.
fn heat_between(solute: &Formula, fractions: [f64; 2], molar_mass: f64) -> Option<f64> {
    let table = SolutionHeat::of(solute)?;
    let [from, to] = fractions.map(|w| table.at((1.0 - w) / w * molar_mass / engine::crystallise::WATER));
    Some(to? - from?)
}
