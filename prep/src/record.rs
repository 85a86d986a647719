//! What did the author write down? The file told again as plain values, for pages and tables.
//!
//! Figures stay as written. The uncertainty of a weighing is that of its balance alone: repeatability (rounding is part
//! of it) and slope; it neglects the zero shared within one taring, which the account takes up.

use crate::losses;
use crate::model::{Determination, Instrument, Preparation, Reading, Step};
use crate::outcome::{RecordedBalance, RecordedReading, RecordedStep, RecordedSupply, RecordedWare, RunRecord};

const GRAMS: f64 = 1e3;
const MILLILITRES: f64 = 1e6;
/// Fields of a supply that say what it holds.
const CONTENT: [&str; 9] =
    ["assay", "content", "content_of", "of_label", "unit_mass", "density", "rest", "took_up", "concentration"];

/// The record of a preparation.
#[must_use]
pub fn record(preparation: &Preparation) -> RunRecord {
    let readings: Vec<RecordedReading> = preparation
        .steps
        .iter()
        .flat_map(|step| {
            let weighings = step.readings.iter().map(|reading| weighing(preparation, step, reading));
            weighings.chain(step.determinations.iter().map(|found| test(step, found))).collect::<Vec<_>>()
        })
        .collect();
    RunRecord {
        title: preparation.title.clone(),
        target: preparation.target.as_ref().map(|target| target.substance.to_string()),
        target_mass: preparation.target.as_ref().and_then(|target| target.amount).map(|mass| mass * GRAMS),
        claim: preparation.claim.as_ref().map(|claim| claim.value.clone()),
        elements: preparation.account_for.iter().map(ToString::to_string).collect(),
        supplies: supplies(preparation),
        balances: preparation.instruments.iter().map(balance).collect(),
        ware: preparation
            .ware
            .iter()
            .map(|ware| RecordedWare {
                name: ware.name.value.clone(),
                kind: ware.kind.clone(),
                capacity: ware.capacity * MILLILITRES,
                error: ware.error * MILLILITRES,
                source: ware.source,
            })
            .collect(),
        vessels: preparation
            .vessels
            .iter()
            .map(|vessel| (vessel.name.value.clone(), vessel.tare.as_ref().map(|tare| tare.value.central() * GRAMS)))
            .collect(),
        steps: preparation.steps.iter().map(step).collect(),
        readings: with_corrections(readings),
        waste: preparation
            .waste
            .iter()
            .map(|jar| (jar.name.value.clone(), jar.takes.iter().map(|lot| lot.value.clone()).collect()))
            .collect(),
        closed: preparation.closed.clone(),
        author: preparation.words.author.clone(),
        run: preparation.words.run.clone(),
        purpose: preparation.words.purpose.clone(),
        afterwards: preparation.words.afterwards.clone(),
        plan_hash: crate::freeze::planned_hash(preparation),
        text_hash: blake3::hash(preparation.text.as_bytes()).to_hex().to_string(),
        sources: sources(preparation),
    }
}

fn supplies(preparation: &Preparation) -> Vec<RecordedSupply> {
    let stated = |name: &str, field: &str| {
        let path = format!("supply[{name}].{field}");
        let value = preparation.planned.iter().find(|(known, _)| *known == path);
        value.map(|(_, value)| (field.replace('_', " "), value.clone()))
    };
    preparation
        .supplies
        .iter()
        .map(|supply| {
            let name = &supply.name.value;
            let charges = preparation.steps.iter().flat_map(|step| {
                let taken = step.take.iter().filter(|take| take.source.value == *name);
                taken.map(|take| (step.name.value.clone(), take.text.clone()))
            });
            RecordedSupply {
                name: name.clone(),
                label: supply.label.clone(),
                holds: supply.holds.iter().map(|species| species.value.to_string()).collect(),
                stated: CONTENT.iter().filter_map(|field| stated(name, field)).collect(),
                origin: supply.origin.as_ref().map(|origin| (origin.file.value.clone(), origin.lot.value.clone())),
                charges: charges.collect(),
            }
        })
        .collect()
}

fn balance(instrument: &Instrument) -> RecordedBalance {
    RecordedBalance {
        name: instrument.name.value.clone(),
        resolution: instrument.resolution * GRAMS,
        repeatability: instrument.repeatability * GRAMS,
        slope: instrument.slope,
        capacity: instrument.capacity * GRAMS,
        sources: instrument.sources.clone(),
    }
}

fn step(step: &Step) -> RecordedStep {
    RecordedStep {
        name: step.name.value.clone(),
        action: step.action.value.word().to_owned(),
        test: step.test,
        equations: step.reactions.iter().map(|reaction| reaction.value.to_string()).collect(),
        temperature: step.temperature.clone(),
        duration: step.time.as_ref().map(|time| time.text.clone()),
        vessel: step.vessel.as_ref().map(|vessel| vessel.value.clone()),
        may_hold: step.may_hold.iter().map(|pattern| pattern.value.to_string()).collect(),
        note: step.note.clone(),
        gives: step.gives.iter().map(|give| give.lot.value.clone()).collect(),
        takes: step.take.iter().map(|take| (take.source.value.clone(), take.text.clone())).collect(),
        wash: step.wash.as_ref().map(|wash| wash.text.clone()),
        atmosphere: step.atmosphere_text.clone(),
        by: step.by.as_ref().map(|by| by.value.clone()),
    }
}

fn weighing(preparation: &Preparation, step: &Step, reading: &Reading) -> RecordedReading {
    let name = |place: &Option<crate::model::Spanned<String>>| place.as_ref().map(|place| place.value.clone());
    let what = match (&reading.of, &reading.charge, &reading.vessel) {
        (Some(lot), ..) => lot.value.clone(),
        (None, Some(supply), _) => format!("charge of {}", supply.value),
        (None, None, Some(vessel)) => format!("{}, empty", vessel.value),
        (None, None, None) => "what is on the pan".to_owned(),
    };
    let series = reading.series.as_ref().map_or_else(Vec::new, |series| {
        series.texts.iter().cloned().zip(series.times.iter().map(|seconds| seconds / 3600.0)).collect()
    });
    let read = reading.weigh.is_some() || reading.volume.is_some();
    let balance = preparation.instruments.iter().find(|known| known.name.value == reading.with.value);
    let uncertainty = reading
        .weigh
        .as_ref()
        .and_then(|weigh| balance.map(|known| known.repeatability.hypot(known.slope * weigh.value) * GRAMS));
    RecordedReading {
        id: reading.id.value.clone(),
        step: step.name.value.clone(),
        what,
        vessel: name(&reading.vessel),
        figure: read
            .then(|| reading.volume.as_ref().map_or_else(|| reading.text.clone(), |volume| volume.text.clone())),
        uncertainty,
        series,
        with: reading.with.value.clone(),
        at: reading.at.clone(),
        corrects: name(&reading.corrects),
        corrected_by: None,
        reason: reading.reason.clone(),
        test: false,
    }
}

fn test(step: &Step, found: &Determination) -> RecordedReading {
    RecordedReading {
        id: found.id.value.clone(),
        step: step.name.value.clone(),
        what: found.of.value.clone(),
        vessel: None,
        figure: found.found.is_some().then(|| found.text.clone()),
        uncertainty: None,
        series: Vec::new(),
        with: found.test.name.to_owned(),
        at: found.at.clone(),
        corrects: found.corrects.as_ref().map(|corrects| corrects.value.clone()),
        corrected_by: None,
        reason: found.reason.clone(),
        test: true,
    }
}

fn with_corrections(mut readings: Vec<RecordedReading>) -> Vec<RecordedReading> {
    let pairs: Vec<(String, String)> =
        readings.iter().filter_map(|reading| Some((reading.corrects.clone()?, reading.id.clone()))).collect();
    for (first, second) in pairs {
        if let Some(reading) = readings.iter_mut().find(|reading| reading.id == first) {
            reading.corrected_by = Some(second);
        }
    }
    readings
}

/// Keys of what the account of any preparation rests on: atomic weights, usual losses, balances, ware, tests.
fn sources(preparation: &Preparation) -> Vec<&'static str> {
    let mut keys = vec!["ciaaw-2021", "ciaaw-2024"];
    let losses = preparation.steps.iter().filter(|step| step.loss.film.is_none() || step.loss.fraction.is_none());
    keys.extend(
        losses.map(|step| losses::usual(step.action.value, step.by.as_ref().map(|by| by.value.as_str())).source),
    );
    keys.extend(preparation.instruments.iter().flat_map(|known| known.sources.iter().copied()));
    keys.extend(preparation.ware.iter().map(|ware| ware.source));
    keys.extend(preparation.steps.iter().flat_map(|step| &step.determinations).map(|found| found.test.source));
    let mut seen = Vec::new();
    keys.retain(|key| {
        let first = !seen.contains(key);
        seen.push(key);
        first
    });
    keys
}
