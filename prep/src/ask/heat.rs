//! How hot does it get with these amounts, how much boils off, and how fast may it be added?
//!
//! Heat of reaction at 25 °C as `reaction` has it, times the extent that the scarcest of the reagents taken allows. In liquid
//! it warms the batch to its boiling point and then boils liquid off; dry it heats the products, which melt and boil. Heat of
//! vessel and surroundings is left out: figures are too high rather than too low. Forward only: what is not taken is not
//! reckoned back.
//!
//! Source: `engine::heat`, and the tables of [`crate::thermochemistry`].

use super::reading::{Quantities, remark, unplaced};
use super::{ReactionOptions, reaction_with};
use crate::outcome::{
    AdditionAnswer, AdiabaticAnswer, BatchAnswer, Figure, Finding, HeatAnswer, ReactionAnswer, Severity,
    SubstanceHazard, Taken,
};
use crate::thermochemistry::{Form, release};
use chem::{Dimension, Phase, Species};
use engine::heat::{Batch, addition, cooled_rate};

/// Heat capacities where none are stated, J/(kg·K): of water, and of what is added (a salt or oxide; common practice).
const WATER: f64 = 4184.0;
const ADDED: f64 = 1000.0;
/// Heat of evaporation of water, J/kg (steam tables, from memory).
const EVAPORATION: f64 = 2.257e6;
/// Zero of the Celsius scale, and room temperature, K.
const ZERO: f64 = 273.15;
const ROOM: f64 = 298.15;
/// Rise that is worth a caution, K.
const WARM: f64 = 20.0;
/// Form shares below this are not told.
const NOTHING: f64 = 1e-6;

/// What is asked of a heat.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub struct HeatOptions<'a> {
    /// Reagents taken, `28 g CaO`, the one that is added first.
    pub take: &'a [&'a str],
    /// Liquid it goes into, a mass.
    pub into: Option<&'a str>,
    /// Heat capacity of the liquid; that of water if not given.
    pub capacity: Option<&'a str>,
    /// Temperature of the liquid; 25 °C if not given.
    pub from: Option<&'a str>,
    /// Boiling point of the liquid; 100 °C if not given.
    pub boils: Option<&'a str>,
    /// Cooling, a power.
    pub cooling: Option<&'a str>,
}

/// Reagents and equation, read.
pub(super) struct Charge {
    pub(super) answer: ReactionAnswer,
    pub(super) taken: Vec<Taken>,
    pub(super) terms: Vec<(Species, f64)>,
    pub(super) amounts: Vec<(Species, f64)>,
    pub(super) extent: f64,
    pub(super) limiting: String,
}

/// `28 g CaO` as a species of the list and an amount in mol.
pub(super) fn taken(reader: &mut Quantities, text: &str) -> Option<(Species, f64)> {
    let hint = "write an amount and a species, such as `28 g CaO`";
    let Some((quantity, species)) = text.trim().rsplit_once(char::is_whitespace) else {
        reader.slip("bad-quantity", text, format!("`{text}` is no amount of something"), hint);
        return None;
    };
    let species = match Species::parse(species) {
        Ok(species) => species,
        Err(error) => {
            reader.slip("bad-formula", text, format!("`{species}`: {error}"), hint);
            return None;
        }
    };
    let in_moles = chem::Quantity::parse_as(quantity, Dimension::AMOUNT).is_ok();
    let dimension = if in_moles { Dimension::AMOUNT } else { Dimension::MASS };
    let value = reader.one(&format!("the amount of {species}"), quantity, dimension, false)?;
    let molar = species.formula.molar_mass().ok()?.value * 1e-3;
    Some((species, if in_moles { value } else { value / molar }))
}

/// Balances the equation, and runs it as far as what was taken allows.
pub(super) fn charge(reaction: &str, take: &[&str]) -> Result<Charge, Vec<Finding>> {
    let answer = reaction_with(reaction, &ReactionOptions::default())?;
    let Some(coefficients) = answer.coefficients.clone() else { return Err(answer.findings) };
    let terms: Vec<(Species, f64)> =
        coefficients.iter().filter_map(|(name, n)| Some((Species::parse(name).ok()?, *n))).collect();
    let side = |sign: f64| terms.iter().filter(|(_, n)| n * sign > 0.0).map(|(s, _)| s.clone()).collect::<Vec<_>>();
    crate::screen::amounts(&side(-1.0), &side(1.0), reaction)?;
    let mut reader = Quantities::default();
    let mut amounts: Vec<(Species, f64)> = Vec::new();
    for text in take {
        let Some((species, amount)) = taken(&mut reader, text) else { continue };
        let known = |(own, n): &&(Species, f64)| *n < 0.0 && own.formula.same_substance(&species.formula);
        match terms.iter().find(known) {
            Some((own, _)) => amounts.push((own.clone(), amount)),
            None => {
                let names: Vec<String> = side(-1.0).iter().map(ToString::to_string).collect();
                let hint = format!("name one of {}", names.join(", "));
                reader.slip("unknown-species", text, format!("{species} is not used up in it"), &hint);
            }
        }
    }
    if take.is_empty() {
        let hint = "give what is taken, `--take \"28 g CaO\"`; what is not named is taken to be there in plenty";
        reader.slip("missing-field", "", "no reagent is taken".to_owned(), hint);
    }
    if !reader.errors.is_empty() {
        return Err(reader.errors.into_iter().map(unplaced).collect());
    }
    let coefficient = |species: &Species| terms.iter().find(|(own, _)| own == species).map_or(1.0, |(_, n)| -n);
    let reach = amounts.iter().map(|(species, amount)| (amount / coefficient(species), species.to_string()));
    let (extent, limiting) = reach.min_by(|(a, _), (b, _)| a.total_cmp(b)).unwrap_or((0.0, String::new()));
    let told = |(species, amount): &(Species, f64)| Taken {
        species: species.to_string(),
        amount: *amount,
        mass: amount * species.formula.molar_mass().map_or(f64::NAN, |molar| molar.value),
    };
    let taken = amounts.iter().map(told).collect();
    Ok(Charge { answer, taken, terms, amounts, extent, limiting })
}

/// How hot does it get with these amounts?
///
/// # Errors
/// Findings that point at what is missing or cannot be read, and refusals.
///
/// ```
/// use prep::ask::{HeatOptions, heat};
/// let asked = HeatOptions { take: &["28 g CaO(s)"], into: Some("300 g"), ..Default::default() };
/// let answer = heat("CaO(s) + H2O(l) -> Ca(OH)2(s)", &asked).map_err(|f| format!("{f:?}"))?;
/// let rise = answer.batch.ok_or("no batch")?.rise;
/// assert!((rise - 25.0).abs() < 1.0);
/// # Ok::<(), String>(())
/// ```
pub fn heat(reaction: &str, options: &HeatOptions<'_>) -> Result<HeatAnswer, Vec<Finding>> {
    let charge = charge(reaction, options.take)?;
    let known = charge.answer.heat.as_ref();
    let Some(enthalpy) = known.and_then(|heat| heat.enthalpy.clone()) else {
        return Err(charge.answer.findings);
    };
    let heat = Figure {
        value: -enthalpy.value * charge.extent,
        standard_uncertainty: enthalpy.standard_uncertainty.map(|u| u * charge.extent),
        unit: "kJ",
        ..enthalpy
    };
    let mut reader = Quantities::default();
    let batch = options.into.and_then(|into| batch(&mut reader, into, options, &charge, heat.value * 1e3));
    let cooling = options.cooling.and_then(|text| reader.one("the cooling", text, Dimension::POWER, false));
    if !reader.errors.is_empty() {
        return Err(reader.errors.into_iter().map(unplaced).collect());
    }
    let adiabatic = if options.into.is_none() { dry(&charge) } else { None };
    let mut findings = charge.answer.findings.clone();
    findings.extend(batch.as_ref().and_then(warning));
    let added = charge.taken.first().filter(|taken| taken.mass.is_finite());
    let addition = cooling.zip(added).filter(|_| batch.is_some()).and_then(|(cooling, taken)| {
        let rate = cooled_rate(cooling, heat.value * 1e3 / taken.mass)?;
        let (rate, minutes) = (rate * 60.0, taken.mass / rate / 60.0);
        Some(AdditionAnswer { species: taken.species.clone(), cooling, rate, minutes })
    });
    Ok(HeatAnswer {
        equation: charge.answer.equation.clone(),
        hazards: hazards(charge.terms.iter().map(|(species, _)| species)),
        heat_per_gram: known.and_then(|heat| heat.heat_per_gram.clone()),
        taken: charge.taken,
        limiting: charge.limiting,
        extent: charge.extent,
        heat,
        batch,
        addition,
        adiabatic,
        findings,
    })
}

/// The hazards of all that takes part, where statements are listed.
pub(super) fn hazards<'a>(species: impl Iterator<Item = &'a Species>) -> Vec<SubstanceHazard> {
    species.filter_map(crate::screen::hazards_of).filter(|hazard| !hazard.statements.is_empty()).collect()
}

fn batch(
    reader: &mut Quantities,
    into: &str,
    options: &HeatOptions<'_>,
    charge: &Charge,
    heat: f64,
) -> Option<BatchAnswer> {
    let mass = reader.one("the liquid", into, Dimension::MASS, false)?;
    let capacity = match options.capacity {
        Some(text) => reader.one("the heat capacity", text, Dimension::SPECIFIC_HEAT_CAPACITY, false)?,
        None => WATER,
    };
    let from = options.from.map_or(Some(ROOM), |text| reader.temperature("the temperature", text))?;
    let boils = options.boils.map_or(Some(ZERO + 100.0), |text| reader.temperature("the boiling point", text))?;
    let liquid = Batch {
        mass,
        heat_capacity: capacity,
        temperature: from,
        boiling_point: boils,
        solvent: mass,
        evaporation: EVAPORATION,
    };
    let added: f64 = charge.taken.iter().map(|taken| taken.mass * 1e-3).sum();
    let warmed = addition(&liquid, heat, added, ADDED, from)?;
    Some(BatchAnswer {
        mass: mass * 1e3,
        heat_capacity: capacity * 1e-3,
        from: from - ZERO,
        rise: warmed.rise,
        reached: warmed.temperature - ZERO,
        boiling_point: boils - ZERO,
        boiled_off: warmed.boiled_off * 1e3,
        left: warmed.left * 1e-3,
    })
}

fn warning(batch: &BatchAnswer) -> Option<Finding> {
    if batch.rise < WARM {
        return None;
    }
    let boils = if batch.boiled_off > 0.0 {
        format!("; it boils, spatters, and {:.0} g boil off", batch.boiled_off)
    } else {
        String::new()
    };
    let message = format!("all at once it warms by {:.0} K{boils}", batch.rise);
    let hint = "the reagent into the liquid and never the other way, in small portions with stirring, ice beside it; go on below 40 °C";
    Some(remark("heat-released", Severity::Caution, message, hint))
}

/// The products without anything to cool them; only where nothing is dissolved and heat is released.
fn dry(charge: &Charge) -> Option<AdiabaticAnswer> {
    if charge.terms.iter().any(|(species, _)| species.phase == Some(Phase::Aqueous)) {
        return None;
    }
    let mut before = 0.0;
    let mut present: Vec<(Species, f64)> = Vec::new();
    for (species, coefficient) in &charge.terms {
        let used = -coefficient * charge.extent;
        if *coefficient > 0.0 {
            present.push((species.clone(), -used));
        } else {
            let amount = charge.amounts.iter().find(|(own, _)| own == species).map_or(used, |(_, amount)| *amount);
            before += amount * release::enthalpy(species)?;
            present.push((species.clone(), (amount - used).max(0.0)));
        }
    }
    present.retain(|(_, amount)| *amount > NOTHING * charge.extent);
    let mass: f64 = present
        .iter()
        .map(|(species, amount)| amount * species.formula.molar_mass().map_or(f64::NAN, |molar| molar.value))
        .sum();
    let known: Vec<(f64, Vec<Form>)> =
        present.iter().map(|(species, amount)| (*amount, release::hot_forms(&species.formula))).collect();
    let found = release::adiabatic_of(&known, before).filter(|found| found.temperature > ROOM)?;
    let mut products = Vec::new();
    let mut gas = 0.0;
    for ((amount, forms), shares) in known.iter().zip(&found.shares) {
        for (place, share) in shares.iter().filter(|(_, share)| *share > NOTHING) {
            let form = forms.get(*place)?;
            products.push((form.label(), *share, amount * share));
            gas += if form.species.phase == Some(Phase::Gas) { amount * share } else { 0.0 };
        }
    }
    let temperature = found.temperature - ZERO;
    Some(AdiabaticAnswer { temperature, held: found.held, products, gas_per_gram: 1e3 * gas / mass })
}
