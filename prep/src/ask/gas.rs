//! How much gas comes off, how fast, what does it come to in the room, and is the air out of the tube?
//!
//! Gases are ideal and mixed evenly. The room keeps all that comes into it unless air changes are given: close to the source
//! it is worse. What dissolves or reacts on the way is not taken off. A closed vessel is reckoned as the reason never to close
//! it, and never compared with what a vessel stands. Forward only.
//!
//! Source: `engine::gas`, `engine::hazard`; limits of [`chem::hazard::limits`].

use super::heat::{charge, hazards, taken};
use super::reading::{Quantities, remark, unplaced};
use crate::outcome::{Finding, GasAnswer, GasShare, Severity, SweepAnswer};
use chem::hazard::{LimitKind, limits};
use chem::{Dimension, Phase, Species};
use engine::gas::{CARBON_DIOXIDE_IN_WATER, closed_pressure, left_after, volumes_swept};
use engine::hazard::{ATMOSPHERE, airing_time, gas_volume, parts_per_million, thinning_air};

/// Room that is assumed where none is stated, m³: a small one.
const SMALL_ROOM: f64 = 10.0;
/// Temperature of a room, K, and zero of the Celsius scale.
const ROOM: f64 = 298.15;
const ZERO: f64 = 273.15;
/// Oxygen of air, and what is aimed at where no goal is stated, volume fractions.
const AIR: f64 = 0.2095;
const CLEAN: f64 = 0.001;
/// Volumes of inert gas before a tube is heated, at the least (common practice).
const LEAST_SWEEP: f64 = 5.0;

/// What is asked of a gas.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub struct GasOptions<'a> {
    /// Reagents taken, `10 g CaCO3`; without an equation the gas itself.
    pub take: &'a [&'a str],
    /// Temperature of the gas; 25 °C if not given.
    pub at: Option<&'a str>,
    /// Time over which it comes.
    pub over: Option<&'a str>,
    /// Room, a volume; 10 m³ if not given.
    pub room: Option<&'a str>,
    /// Air changes of the room in an hour.
    pub air_changes: Option<&'a str>,
    /// Free space of a vessel that somebody might close.
    pub free: Option<&'a str>,
    /// Liquid in that vessel.
    pub liquid: Option<&'a str>,
    /// Volume of a tube that is swept with inert gas.
    pub tube: Option<&'a str>,
    /// Flow of that gas.
    pub flow: Option<&'a str>,
    /// How long it was swept.
    pub swept: Option<&'a str>,
    /// Oxygen that may be left; 0.1 % if not given.
    pub oxygen: Option<&'a str>,
}

/// How much gas comes off, and what does it come to?
///
/// # Errors
/// Findings that point at what is missing or cannot be read, and refusals.
///
/// ```
/// use prep::ask::{GasOptions, gas};
/// let asked = GasOptions { take: &["10.0 g CaCO3"], room: Some("30 m3"), ..Default::default() };
/// let answer = gas(Some("CaCO3(s) + 2 HCl(aq) -> CaCl2(aq) + CO2(g) + H2O(l)"), &asked).map_err(|f| format!("{f:?}"))?;
/// assert!((answer.litres - 2.444).abs() < 0.01);
/// # Ok::<(), String>(())
/// ```
pub fn gas(reaction: Option<&str>, options: &GasOptions<'_>) -> Result<GasAnswer, Vec<Finding>> {
    let mut findings = Vec::new();
    let (equation, limiting, list, amounts, hazards) = match reaction {
        Some(reaction) => {
            let charge = charge(reaction, options.take)?;
            findings.extend(charge.answer.findings.iter().filter(|f| f.severity == Severity::Caution).cloned());
            let formed = charge.terms.iter().filter(|(s, n)| *n > 0.0 && s.phase == Some(Phase::Gas));
            let amounts: Vec<(Species, f64)> = formed.map(|(s, n)| (s.clone(), n * charge.extent)).collect();
            let hazards = hazards(charge.terms.iter().map(|(species, _)| species));
            (Some(charge.answer.equation), Some(charge.limiting), charge.taken, amounts, hazards)
        }
        None => {
            let amounts = named(options.take)?;
            let both: Vec<Species> = amounts.iter().map(|(species, _)| species.clone()).collect();
            findings.extend(crate::screen::meetings(&both, false, &options.take.join(", ")));
            let hazards = hazards(amounts.iter().map(|(species, _)| species));
            (None, None, Vec::new(), amounts, hazards)
        }
    };
    let mut reader = Quantities::default();
    let setting = setting(&mut reader, options);
    let sweep = options.tube.and_then(|tube| sweep(&mut reader, tube, options));
    let (Some(setting), true) = (setting, reader.errors.is_empty()) else {
        return Err(reader.errors.into_iter().map(unplaced).collect());
    };
    if amounts.is_empty() && sweep.is_none() {
        let hint = "write gases as such, `CO2(g)`, or ask for a tube, `--tube \"0.3 L\"`";
        return Err(vec![remark("missing-field", Severity::Error, "no gas comes off".to_owned(), hint)]);
    }
    let gases: Vec<GasShare> = amounts.iter().map(|(species, amount)| share(species, *amount, &setting)).collect();
    findings.extend(gases.iter().filter_map(|gas| above(gas, &setting)));
    let closed = setting.free.and_then(|free| closed(&amounts, free, &setting));
    if let Some((_, bar)) = closed {
        let message = format!("closed, it would come to {bar:.2} bar above the air: never close it");
        let hint = "an open vessel of three times the volume or more; foam comes up to five times the liquid";
        findings.push(remark("closed-vessel", Severity::Caution, message, hint));
    }
    findings.extend(sweep.as_ref().and_then(unswept));
    let litres: f64 = gases.iter().map(|gas| gas.litres).sum();
    Ok(GasAnswer {
        equation,
        taken: list,
        limiting,
        temperature: setting.temperature - ZERO,
        litres,
        rate: setting.seconds.map(|seconds| litres / (seconds / 60.0)),
        gases,
        room: setting.room,
        room_stated: options.room.is_some(),
        air_changes: setting.air_changes.map(|n| n * 3600.0),
        closed,
        sweep,
        hazards,
        findings,
    })
}

/// Gases that are named themselves.
fn named(take: &[&str]) -> Result<Vec<(Species, f64)>, Vec<Finding>> {
    let mut reader = Quantities::default();
    let found: Vec<(Species, f64)> = take.iter().filter_map(|text| taken(&mut reader, text)).collect();
    if !reader.errors.is_empty() {
        return Err(reader.errors.into_iter().map(unplaced).collect());
    }
    let species: Vec<Species> = found.iter().map(|(species, _)| species.clone()).collect();
    crate::screen::amounts(&[], &species, &take.join(", "))?;
    Ok(found)
}

/// Where the gas goes.
struct Setting {
    temperature: f64,
    room: f64,
    seconds: Option<f64>,
    air_changes: Option<f64>,
    free: Option<f64>,
    liquid: f64,
}

fn setting(reader: &mut Quantities, options: &GasOptions<'_>) -> Option<Setting> {
    let volume = |reader: &mut Quantities, what: &str, text: Option<&str>| {
        text.and_then(|text| reader.one(what, text, Dimension::VOLUME, false))
    };
    let temperature = options.at.map_or(Some(ROOM), |text| reader.temperature("the temperature", text));
    let room = options.room.map_or(Some(SMALL_ROOM), |text| volume(reader, "the room", Some(text)));
    let seconds = options.over.and_then(|text| reader.one("the time", text, Dimension::TIME, false));
    let changes =
        options.air_changes.and_then(|text| reader.one("the air changes", text, Dimension::DIMENSIONLESS, false));
    let free = volume(reader, "the free space", options.free);
    let liquid = volume(reader, "the liquid", options.liquid).unwrap_or(0.0);
    Some(Setting {
        temperature: temperature?,
        room: room?,
        seconds,
        air_changes: changes.map(|n| n / 3600.0),
        free,
        liquid,
    })
}

fn share(species: &Species, amount: f64, setting: &Setting) -> GasShare {
    let in_room = gas_volume(amount, ROOM, ATMOSPHERE);
    let ppm = parts_per_million(in_room, setting.room);
    let grams = amount * species.formula.molar_mass().map_or(f64::NAN, |molar| molar.value);
    let mut known: Vec<(f64, &'static str)> = limits(&species.formula)
        .into_iter()
        .filter(|limit| limit.unit == "ppm")
        .map(|limit| (limit.value, limit.kind.words()))
        .collect();
    known.sort_by(|(a, _), (b, _)| a.total_cmp(b));
    let lowest = known.first().map(|(limit, _)| *limit);
    GasShare {
        formula: species.formula.to_string(),
        amount,
        litres: 1e3 * gas_volume(amount, setting.temperature, ATMOSPHERE),
        ppm,
        mass_concentration: 1e3 * grams / setting.room,
        thinning_air: lowest.map(|limit| thinning_air(in_room, limit)),
        airing: lowest.zip(setting.air_changes).map(|(limit, changes)| airing_time(ppm, limit, changes) / 60.0),
        limits: known,
    }
}

/// A caution where a gas is above its lowest limit, or can burn.
fn above(gas: &GasShare, setting: &Setting) -> Option<Finding> {
    if gas.formula == "H2" {
        let (at, plan) = engine::hazard::flammable_air(gas.amount * 24.465, engine::hazard::HYDROGEN_LIMIT);
        let message =
            format!("hydrogen: {at:.0} L of air with it is at the flammable limit (4 %), plan for {plan:.0} L");
        return Some(remark("flammable-gas", Severity::Caution, message, "no flame, no spark; outdoors or in a hood"));
    }
    let (limit, words) = gas.limits.first()?;
    let danger = LimitKind::Danger.words();
    let grave = gas.limits.iter().find(|(value, words)| *words == danger && gas.ppm >= *value);
    let (limit, words) = grave.unwrap_or(&(*limit, *words)).to_owned();
    (gas.ppm > limit).then(|| {
        let message =
            format!("{}: {:.0} ppm in {} m³, above {words} ({limit} ppm)", gas.formula, gas.ppm, setting.room);
        remark("toxic-gas", Severity::Caution, message, "outdoors or in a hood, slowly; a trap where it can be led off")
    })
}

/// Free space in mL and rise of pressure in bar; carbon dioxide dissolves in the liquid.
fn closed(amounts: &[(Species, f64)], free: f64, setting: &Setting) -> Option<(f64, f64)> {
    let rise = |(species, amount): &(Species, f64)| {
        let dissolves = if species.formula.text() == "CO2" { CARBON_DIOXIDE_IN_WATER } else { 0.0 };
        closed_pressure(*amount, setting.temperature, free, setting.liquid, dissolves)
    };
    let total: Option<f64> = amounts.iter().map(rise).sum();
    total.filter(|_| !amounts.is_empty()).map(|pascal| (free * 1e6, pascal / 1e5))
}

fn sweep(reader: &mut Quantities, tube: &str, options: &GasOptions<'_>) -> Option<SweepAnswer> {
    let volume = reader.one("the tube", tube, Dimension::VOLUME, false)?;
    let flow = options.flow.and_then(|text| reader.one("the flow", text, Dimension::VOLUME_FLOW, false));
    let time = options.swept.and_then(|text| reader.one("the time swept", text, Dimension::TIME, true));
    let target = options.oxygen.map_or(Some(CLEAN), |text| reader.share("the oxygen", text))?;
    let Some(needed) = volumes_swept(AIR, target, 0.0) else {
        reader.slip(
            "out-of-range",
            options.oxygen.unwrap_or(""),
            "no sweep takes all oxygen".to_owned(),
            "give what may be left, such as 0.1 %",
        );
        return None;
    };
    let needed = needed.max(LEAST_SWEEP);
    let swept = flow.zip(time).map(|(flow, time)| flow * time / volume);
    Some(SweepAnswer {
        volume: volume * 1e3,
        swept,
        oxygen_left: swept.map(|volumes| 100.0 * left_after(AIR, 0.0, volumes)),
        needed,
        target: 100.0 * target,
        minutes: flow.map(|flow| needed * volume / flow / 60.0),
    })
}

/// A caution where the air is not out.
fn unswept(sweep: &SweepAnswer) -> Option<Finding> {
    let swept = sweep.swept.filter(|swept| *swept < sweep.needed)?;
    let message = format!(
        "the air is not out: {swept:.1} volumes leave {:.2} % oxygen, {:.1} volumes are needed",
        sweep.oxygen_left.unwrap_or(f64::NAN),
        sweep.needed
    );
    Some(remark("air-left", Severity::Caution, message, "no heat and no hydrogen before the sweep is done"))
}
