//! How is it told what the tables of solutions expect of a step?
//!
//! Means with standard uncertainties: constants, activity model and what is open in the amounts, in quadrature.

use super::super::compile::{BesideRecord, Compiled, CropRecord, Source, WetRecord};
use crate::aqueous::step::{Expected, Sensitivity, alike};
use crate::outcome::{ExpectedCrop, Figure, ForeignSolid, StaysDissolved, StepDose, StepSolution};
use chem::Formula;
use chem::aqueous::Model;
use chem::quantity::Status;

/// A tenth more, as a logarithm.
const TENTH: f64 = 0.095_310_179_804_324_9;
/// Change of pH for a tenth more that is worth a word.
const MOVES_PH: f64 = 0.02;
/// Change of a share for a tenth more that is worth a word, as a logarithm.
const MOVES_SHARE: f64 = 0.05;

/// What is expected of a step; none where it is not wet or nothing can be said.
pub(super) fn told(step: usize, compiled: &Compiled) -> Option<StepSolution> {
    let records: Vec<&WetRecord> = compiled.wet.iter().filter(|record| record.step == step).collect();
    let bath = records.iter().find(|record| record.bath.is_some());
    let mut told = match bath {
        Some(record) => of_bath(record),
        None if records.is_empty() => return None,
        None => nothing(25.0),
    };
    for record in records {
        told.washed.extend(record.washed.iter().map(|(solid, share, spread)| {
            (solid.to_string(), figure(100.0 * share, 100.0 * share * spread, "%", "of the solid, at most", true))
        }));
        told.crops.extend(record.crops.iter().map(crop));
    }
    Some(told)
}

fn nothing(temperature: f64) -> StepSolution {
    StepSolution {
        temperature,
        ph: None,
        ph_follows: Vec::new(),
        dose: None,
        model: "",
        within: true,
        stays: Vec::new(),
        left: Vec::new(),
        beside: Vec::new(),
        foreign: Vec::new(),
        washed: Vec::new(),
        crops: Vec::new(),
        unknown: Vec::new(),
        sources: Vec::new(),
    }
}

fn figure(value: f64, uncertainty: f64, unit: &'static str, basis: &str, within: bool) -> Figure {
    Figure {
        value,
        standard_uncertainty: Some(uncertainty),
        unit,
        basis: Some(basis.to_owned()),
        status: if within { Status::Derived } else { Status::Estimated },
        sources: Vec::new(),
    }
}

fn of_bath(record: &WetRecord) -> StepSolution {
    let temperature = record.bath.as_ref().map_or(25.0, |bath| bath.temperature - 273.15);
    let expected = match &record.answer {
        Ok(expected) => expected,
        Err(why) => return StepSolution { unknown: vec![why.clone()], ..nothing(temperature) },
    };
    let (ph, spread) = expected.ph;
    let open = record.spread_of_amounts(expected, |s| s.ph);
    let moved = |s: &Sensitivity| (s.substance.to_string(), s.ph * TENTH);
    let is_booked = |solid: &Formula| record.booked.iter().any(|one| alike(&one.solid, solid));
    let beside = expected.beside.iter().filter(|one| !is_booked(&one.solid));
    let unknown = expected.unknown.iter().map(ToString::to_string).chain(expected.left_out.iter().cloned());
    StepSolution {
        ph: Some(figure(ph, spread.hypot(open), "1", "activity of the hydrogen ion", expected.within)),
        ph_follows: expected.sensitivities.iter().map(moved).filter(|(_, change)| change.abs() > MOVES_PH).collect(),
        dose: dose(record, expected),
        model: match expected.model {
            Model::Association => "ion pairs and complexes with Davies' equation",
            Model::Pitzer => "Pitzer's equations",
        },
        within: expected.within,
        stays: expected.stays.iter().enumerate().map(|(n, _)| stays(record, expected, n)).collect(),
        left: expected.left.iter().map(|(ion, _, milligrams)| (ion.clone(), *milligrams)).collect(),
        beside: beside.map(|one| (one.solid.to_string(), one.amount * molar(&one.solid))).collect(),
        foreign: record
            .booked
            .iter()
            .filter(|one| one.source != Source::Nowhere)
            .map(|one| foreign(one, expected.within))
            .collect(),
        unknown: unknown.collect(),
        sources: expected.sources.clone(),
        ..nothing(temperature)
    }
}

/// g/mol.
fn molar(formula: &Formula) -> f64 {
    formula.molar_mass().map_or(f64::NAN, |molar| molar.value)
}

fn dose(record: &WetRecord, expected: &Expected) -> Option<StepDose> {
    let bath = record.bath.as_ref()?;
    let ((reagent, to_ph), (more, spread)) = (bath.dose.as_ref()?, expected.dose?);
    let there = bath.substances.iter().filter(|(formula, _, _)| alike(formula, reagent));
    let planned: f64 = there.map(|(_, amount, _)| amount).sum();
    let molar = molar(reagent);
    let needed = ((planned + more) * molar).max(0.0);
    Some(StepDose {
        reagent: reagent.to_string(),
        to_ph: *to_ph,
        planned: planned * molar,
        needed: figure(
            needed,
            spread.hypot(record.spread_of_amounts(expected, |s| s.dose)) * molar,
            "g",
            "pure substance",
            expected.within,
        ),
    })
}

fn stays(record: &WetRecord, expected: &Expected, number: usize) -> StaysDissolved {
    let solid = &expected.stays[number].solid;
    let (share, spread) = record.stays(solid).unwrap_or((f64::NAN, f64::NAN));
    let per = |s: &Sensitivity| s.shares.get(number).map_or(0.0, |share| share * TENTH);
    let follows = expected.sensitivities.iter().map(|s| (s.substance.to_string(), per(s)));
    StaysDissolved {
        solid: solid.to_string(),
        share: figure(100.0 * share, 100.0 * share * spread, "%", "of what would fall out", expected.within),
        taken: record.believed(share),
        follows: follows.filter(|(_, l)| l.abs() > MOVES_SHARE).map(|(name, l)| (name, l.exp())).collect(),
    }
}

fn foreign(one: &BesideRecord, within: bool) -> ForeignSolid {
    let molar = molar(&one.solid);
    ForeignSolid {
        solid: one.solid.to_string(),
        amount: one.amount.map(|(amount, spread)| figure(amount * molar, spread * molar, "g", "falls out", within)),
        equation: one.equation.clone(),
    }
}

fn crop(record: &CropRecord) -> ExpectedCrop {
    let percent = |(share, spread): (f64, f64)| figure(100.0 * share, 100.0 * spread, "%", "of the salt", true);
    ExpectedCrop {
        crystals: record.crystals.to_string(),
        at: record.at - 273.15,
        share: record.share.map(percent),
        per_degree: 100.0 * record.per_kelvin,
        takes: 1e3 * record.takes,
        too_much_water: 1e3 * record.too_much_water,
    }
}
