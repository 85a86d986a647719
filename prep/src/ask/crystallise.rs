//! What crystallises from this solution? A crystallisation as text.
//!
//! Solubilities of the handbook table are taken as good to 3 % (standard uncertainty, common practice: handbooks differ by
//! so much), independently at both temperatures.
//!
//! Source: `data/solubility.tsv`; `engine::crystallise`.

use super::reading::{Quantities, normal, remark, unplaced};
use crate::outcome::{CropAnswer, CrystalliseAnswer, Finding, ImpurityAnswer, Severity};
use chem::solubility::Salt;
use chem::{Dimension, Formula, Species};
use engine::crystallise::{Crop, Curve, Liquor, Phase, WATER, carried};

/// Relative standard uncertainty of a solubility from a handbook.
pub(crate) const HANDBOOK: f64 = 0.03;
/// Water that a question without an amount is about, kg.
const USUAL_WATER: f64 = 0.1;
const ZERO: f64 = 273.15;

/// A crystallisation in words.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub struct CrystalliseOptions<'a> {
    /// The salt, with or without its water.
    pub substance: &'a str,
    /// Temperature at which it is dissolved.
    pub from: &'a str,
    /// Temperature it is cooled to.
    pub to: &'a str,
    /// Mass of the salt as named; saturated at `from` if not given.
    pub salt: Option<&'a str>,
    /// Water it is dissolved in, beside that of its crystals; 100 g if not given.
    pub water: Option<&'a str>,
    /// Water boiled off before cooling, a mass or a share.
    pub evaporate: Option<&'a str>,
    /// Share of the liquor's water that is boiled off for a second crop.
    pub second: Option<&'a str>,
    /// Liquor that clings to the crystals, a share of their mass.
    pub held: Option<&'a str>,
    /// Something else in the solution that stays dissolved: `NaCl 5 g`.
    pub impurity: Option<&'a str>,
}

/// What crystallises?
///
/// # Errors
/// Findings that point at what cannot be read or is not in the table.
///
/// ```
/// use prep::ask::{CrystalliseOptions, crystallise};
/// let asked = CrystalliseOptions { substance: "CuSO4·5H2O", from: "80 °C", to: "20 °C", ..Default::default() };
/// let answer = crystallise(&asked).map_err(|f| format!("{f:?}"))?;
/// assert!((answer.first.crystals.mean - 60.8).abs() < 0.1 && (answer.naive - 34.3).abs() < 0.1);
/// # Ok::<(), String>(())
/// ```
pub fn crystallise(options: &CrystalliseOptions<'_>) -> Result<CrystalliseAnswer, Vec<Finding>> {
    answer(options).map_err(|findings| findings.into_iter().map(unplaced).collect())
}

fn answer(options: &CrystalliseOptions<'_>) -> Result<CrystalliseAnswer, Vec<Finding>> {
    let mut reader = Quantities::default();
    let substance = reader.substance(options.substance);
    let from = reader.temperature("the temperature at the start", options.from);
    let to = reader.temperature("the temperature at the end", options.to);
    let water = options.water.map_or(Some(USUAL_WATER), |text| mass_or_volume(&mut reader, text));
    let stated = options.salt.and_then(|text| reader.one("the salt", text, Dimension::MASS, false));
    let second = options.second.and_then(|text| reader.share("the share boiled off", text));
    let held = options.held.and_then(|text| reader.share("the held liquor", text));
    let impurity = options.impurity.and_then(|text| impurity(&mut reader, text));
    if let Some(formula) = &substance {
        // Crystals are something made: refused before anything is looked up.
        let solid = Species::new(formula.clone(), Some(chem::Phase::Solid));
        crate::screen::products(&[], &[solid], false, options.substance)?;
    }
    let met = together(substance.as_ref(), options)?;
    let salt = substance.as_ref().and_then(|formula| listed(&mut reader, options.substance, formula));
    let (Some(substance), Some(from), Some(to), Some(water), Some(salt)) = (substance, from, to, water, salt) else {
        return Err(reader.errors);
    };
    let Some(curve) = curve(salt) else {
        reader.slip("no-atomic-weight", options.substance, "an element has no atomic weight".to_owned(), "");
        return Err(reader.errors);
    };
    let mut limits = |text: &str, at: f64| {
        let found = curve.at(at);
        if found.is_none() {
            let ends = (salt.phases.first().map_or(0.0, |p| p.from), salt.phases.last().map_or(0.0, |p| p.to));
            let hint = format!("the table reaches from {} to {} °C", ends.0, ends.1);
            let message = format!("the solubility of {} is not known at `{text}`", salt.anhydrous);
            reader.slip("out-of-range", text, message, &hint);
        }
        found
    };
    let (hot, cold) = (limits(options.from, from), limits(options.to, to));
    let (Some(hot), Some(cold)) = (hot, cold) else { return Err(reader.errors) };
    let start = match stated {
        Some(mass) => dissolved(&substance, &curve, mass, water),
        None => Liquor { salt: hot.solubility * water, water },
    };
    let gone = options.evaporate.map_or(Some(0.0), |text| evaporated(&mut reader, text, start.water));
    let Some(gone) = gone.filter(|_| reader.errors.is_empty()) else { return Err(reader.errors) };
    let cooled = Liquor { water: start.water - gone, ..start };
    let Some(crop) = curve.crop(cooled, to) else { return Err(reader.errors) };
    let saturated = stated.is_none();
    let first = told(salt, &curve, cooled, &crop, to, saturated);
    let second = second.and_then(|share| {
        let less = Liquor { water: crop.liquor.water * (1.0 - share), ..crop.liquor };
        Some(told(salt, &curve, less, &curve.crop(less, to)?, to, false))
    });
    let mut answer = CrystalliseAnswer {
        salt: salt.anhydrous.to_string(),
        from: from - ZERO,
        to: to - ZERO,
        solubilities: (100.0 * hot.solubility, 100.0 * cold.solubility),
        start_salt: 1e3 * start.salt,
        start_water: 1e3 * start.water,
        evaporated: 1e3 * gone,
        naive: 1e3 * (cooled.salt - cold.solubility * cooled.water).max(0.0),
        first,
        second,
        until_crystals: 1e3 * (start.water - start.salt / hot.solubility),
        least_water: 1e3 * start.salt / hot.solubility,
        phases: phases(salt, from.min(to) - ZERO, from.max(to) - ZERO),
        curve: salt.phases.iter().map(|phase| (phase.solid.to_string(), phase.points.clone())).collect(),
        curve_uncertainty: HANDBOOK,
        path: way(&curve, (start, cooled), &crop, (from, to)),
        impurity: impurity.map(|(name, mass)| carried_over(&name, mass, &crop, held.unwrap_or(0.0))),
        sources: vec![salt.phases[crop.phase].source.citation().to_owned()],
        findings: Vec::new(),
    };
    answer.findings = findings(&answer, salt, &crop, (from, to));
    answer.findings.extend(met);
    Ok(answer)
}

/// What of salt and impurity does not belong together, and what is refused wherever it is named.
fn together(salt: Option<&Formula>, options: &CrystalliseOptions<'_>) -> Result<Vec<Finding>, Vec<Finding>> {
    let Some(text) = options.impurity else { return Ok(Vec::new()) };
    let name = text.split_whitespace().next().unwrap_or("");
    let dissolved = |formula: Formula| Species::new(formula, Some(chem::Phase::Aqueous));
    let mut met: Vec<Species> = Species::parse(name).map(|species| dissolved(species.formula)).into_iter().collect();
    crate::screen::substances(&met, text)?;
    met.extend(salt.cloned().map(dissolved));
    Ok(crate::screen::meetings(&met, false, text))
}

fn mass_or_volume(reader: &mut Quantities, text: &str) -> Option<f64> {
    const WATER_DENSITY: f64 = 997.0;
    match chem::Quantity::parse(text).map(|quantity| quantity.dimension()) {
        Ok(Dimension::VOLUME) => Some(WATER_DENSITY * reader.one("the water", text, Dimension::VOLUME, true)?),
        _ => reader.one("the water", text, Dimension::MASS, true),
    }
}

fn evaporated(reader: &mut Quantities, text: &str, water: f64) -> Option<f64> {
    let mass = match chem::Quantity::parse(text).map(|quantity| quantity.dimension()) {
        Ok(Dimension::DIMENSIONLESS) => reader.share("the water boiled off", text)? * water,
        _ => reader.one("the water boiled off", text, Dimension::MASS, true)?,
    };
    if mass < water {
        return Some(mass);
    }
    reader.slip("out-of-range", text, "more water is boiled off than there is".to_owned(), "boil off less");
    None
}

fn impurity(reader: &mut Quantities, text: &str) -> Option<(String, f64)> {
    let Some((name, mass)) = text.trim().split_once(char::is_whitespace) else {
        reader.slip("bad-quantity", text, format!("the impurity is `{text}`"), "write `NaCl 5 g`");
        return None;
    };
    Some((name.to_owned(), reader.one("the impurity", mass.trim(), Dimension::MASS, true)?))
}

fn listed(reader: &mut Quantities, text: &str, formula: &Formula) -> Option<&'static Salt> {
    let found = Salt::of(formula);
    if found.is_none() {
        let message = format!("the table has no solubility of {formula}");
        reader.slip("not-in-tables", text, message, "look up its solubility; the balance is that of this page");
    }
    found
}

/// The salt in the numbers of the engine.
pub(crate) fn curve(salt: &Salt) -> Option<Curve> {
    let phases = salt.phases.iter().map(|phase| Phase {
        hydration: phase.hydration(),
        points: phase.points.iter().map(|(celsius, grams)| (celsius + ZERO, grams / 100.0)).collect(),
    });
    Some(Curve { molar_mass: 1e-3 * salt.anhydrous.molar_mass().ok()?.value, phases: phases.collect() })
}

/// What a mass of the substance as named makes with added water.
fn dissolved(substance: &Formula, curve: &Curve, mass: f64, water: f64) -> Liquor {
    let hydrate = chem::formula::to_f64(substance.hydrate_water()) * WATER;
    let salt = mass * curve.molar_mass / (curve.molar_mass + hydrate);
    Liquor { salt, water: water + mass - salt }
}

fn told(salt: &Salt, curve: &Curve, before: Liquor, crop: &Crop, to: f64, saturated: bool) -> CropAnswer {
    // Both solubilities move the mass; numerically, by moving one at a time.
    let crystals = |at_start: f64, at_end: f64| {
        let phases = curve.phases.iter().map(|phase| Phase {
            points: phase.points.iter().map(|(t, s)| (*t, s * at_end)).collect(),
            ..phase.clone()
        });
        let moved = Curve { phases: phases.collect(), ..curve.clone() };
        moved.crop(Liquor { salt: before.salt * at_start, ..before }, to).map_or(crop.crystals, |c| c.crystals)
    };
    let end = crystals(1.0, 1.0 + HANDBOOK) - crop.crystals;
    let start = if saturated { crystals(1.0 + HANDBOOK, 1.0) - crop.crystals } else { 0.0 };
    CropAnswer {
        solid: salt.phases[crop.phase].solid.to_string(),
        crystals: normal(1e3 * crop.crystals, 1e3 * start.hypot(end), "g"),
        salt: 1e3 * crop.salt,
        water: 1e3 * crop.water,
        liquor_salt: 1e3 * crop.liquor.salt,
        liquor_water: 1e3 * crop.liquor.water,
        yield_percent: if before.salt > 0.0 { 100.0 * crop.salt / before.salt } else { 0.0 },
        concentration_factor: if crop.liquor.water > 0.0 { before.water / crop.liquor.water } else { f64::INFINITY },
        set_solid: crop.set_solid,
    }
}

/// The liquor on its way: as dissolved, boiled down, cooled to where crystals show, then along the solubility.
fn way(curve: &Curve, (start, cooled): (Liquor, Liquor), crop: &Crop, (from, to): (f64, f64)) -> Vec<(f64, f64)> {
    const STEPS: usize = 60;
    let strength = |liquor: Liquor| 100.0 * liquor.salt / liquor.water;
    let mut list = vec![(from - ZERO, strength(start)), (from - ZERO, strength(cooled))];
    let grid = (0..=STEPS).map(|n| from + (to - from) * n as f64 / STEPS as f64);
    for kelvin in grid {
        let held = curve.crop(cooled, kelvin).map_or_else(|| strength(cooled), |crop| strength(crop.liquor));
        if held.is_finite() {
            list.push((kelvin - ZERO, held));
        }
    }
    list.push((to - ZERO, strength(crop.liquor)));
    list.retain(|(_, strength)| strength.is_finite());
    list.dedup();
    list
}

fn phases(salt: &Salt, low: f64, high: f64) -> Vec<(String, f64, f64)> {
    let inside = salt.phases.iter().filter(|phase| phase.from < high && phase.to > low);
    inside.map(|phase| (phase.solid.to_string(), phase.from, phase.to)).collect()
}

fn carried_over(name: &str, mass: f64, crop: &Crop, held: f64) -> ImpurityAnswer {
    let liquor = crop.liquor.salt + crop.liquor.water + mass;
    let clings = held * crop.crystals;
    let inside = carried(mass, liquor, clings);
    let salt = crop.crystals + carried(crop.liquor.salt, liquor, clings);
    ImpurityAnswer {
        substance: name.to_owned(),
        total: 1e3 * mass,
        in_crystals: 1e3 * inside,
        purity_percent: if salt > 0.0 { 100.0 * salt / (salt + inside) } else { 0.0 },
    }
}

fn findings(answer: &CrystalliseAnswer, salt: &Salt, crop: &Crop, (from, to): (f64, f64)) -> Vec<Finding> {
    let mut list = Vec::new();
    if answer.until_crystals < -1e-6 {
        let message = format!(
            "{:.1} g of water are not enough at {:.0} °C: {:.1} g are needed to dissolve all of it",
            answer.start_water, answer.from, answer.least_water
        );
        let hint = "what does not dissolve is counted with the crystals; add water, or filter it off first";
        list.push(remark("not-all-dissolves", Severity::Warning, message, hint));
    }
    if crop.set_solid {
        let message = "the crystals would take all of the water: everything sets to a solid".to_owned();
        list.push(remark("sets-solid", Severity::Warning, message, "add water, or stop at a higher temperature"));
    } else if crop.crystals <= 0.0 {
        let message = format!("nothing crystallises: the liquor is not saturated at {:.0} °C", answer.to);
        list.push(remark("unsaturated", Severity::Note, message, "boil off water, or cool further"));
    }
    if to > from {
        let message = "the end is warmer than the start".to_owned();
        list.push(remark("warmer", Severity::Note, message, "salts that dissolve less in hot water fall out so"));
    }
    if let [_, .., _] = answer.phases[..] {
        let steps: Vec<String> =
            answer.phases.windows(2).map(|p| format!("{} below {} °C, {} above", p[0].0, p[0].2, p[1].0)).collect();
        let message = format!("the solid changes on the way: {}", steps.join("; "));
        list.push(remark(
            "transition",
            Severity::Note,
            message,
            "crystals of the wrong phase turn slowly: seed with the right one",
        ));
    }
    for phase in salt.phases.iter().filter(|phase| !phase.comment.is_empty()) {
        if answer.phases.iter().any(|(name, ..)| *name == phase.solid.to_string()) {
            list.push(remark("salt-note", Severity::Note, format!("{}: {}", phase.solid, phase.comment), ""));
        }
    }
    list
}
