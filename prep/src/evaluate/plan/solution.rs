//! How is it told what the tables of solutions expect of a step?
//!
//! Means with standard uncertainties: constants, activity model and what is open in the amounts, in quadrature.

use super::super::compile::{BesideRecord, Compiled, CropRecord, Open, Source, WetRecord};
use crate::aqueous::step::{Beside, Causes, Dosed, Expected, Sensitivity, alike, form_of};
use crate::model::Preparation;
use crate::outcome::{
    Booking, ExpectedCrop, Figure, ForeignSolid, MadeOf, StaysDissolved, StepDose, StepSolution, Unbooked,
};
use chem::aqueous::Model;
use chem::quantity::Status;
use chem::{Element, Formula, SpeciesPattern};

/// A tenth more, as a logarithm.
const TENTH: f64 = 0.095_310_179_804_324_9;
/// Change of pH for a tenth more that is worth a word.
const MOVES_PH: f64 = 0.02;
/// Change of a share for a tenth more that is worth a word, as a logarithm.
const MOVES_SHARE: f64 = 0.05;
/// Change of a mass for a tenth more that is worth a word, as a part of it.
const MOVES_AMOUNT: f64 = 0.01;
/// Causes beside the tables, in words.
const AMOUNTS: &str = "amounts";
const METER: &str = "pH meter";
const AGE: &str = "age of the solid";

/// What is expected of a step; none where it is not wet or nothing can be said.
pub(super) fn told(step: usize, preparation: &Preparation, compiled: &Compiled) -> Option<StepSolution> {
    let records: Vec<&WetRecord> = compiled.wet.iter().filter(|record| record.step == step).collect();
    let bath = records.iter().find(|record| record.bath.is_some());
    let mut told = match bath {
        Some(record) => of_bath(record, preparation),
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
        ph_causes: Vec::new(),
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

fn of_bath(record: &WetRecord, preparation: &Preparation) -> StepSolution {
    let temperature = record.bath.as_ref().map_or(25.0, |bath| bath.temperature - 273.15);
    let expected = match &record.answer {
        Ok(expected) => expected,
        Err(why) => return StepSolution { unknown: vec![why.clone()], ..nothing(temperature) },
    };
    let (ph, causes) = expected.ph;
    let open = record.spread_of_amounts(expected, |s| s.ph);
    let moved = |s: &Sensitivity| (s.substance.to_string(), s.ph * TENTH);
    let is_booked = |solid: &Formula| record.booked.iter().any(|one| alike(&one.solid, solid));
    let beside = expected.beside.iter().filter(|one| !is_booked(&one.solid));
    let unknown = expected.unknown.iter().map(ToString::to_string).chain(expected.left_out.iter().cloned());
    StepSolution {
        ph: Some(figure(ph, causes.total().hypot(open), "1", "activity of the hydrogen ion", expected.within)),
        ph_follows: expected.sensitivities.iter().map(moved).filter(|(_, change)| change.abs() > MOVES_PH).collect(),
        ph_causes: made_of(causes, &[(AMOUNTS, open)], 1.0),
        dose: dose(record, expected),
        model: match expected.model {
            Model::Association => "ion pairs and complexes with Davies' equation",
            Model::Pitzer => "Pitzer's equations",
        },
        within: expected.within,
        stays: expected.stays.iter().enumerate().map(|(n, _)| stays(record, expected, n)).collect(),
        left: expected.left.iter().map(|(ion, _, milligrams)| (ion.clone(), *milligrams)).collect(),
        beside: beside.map(|one| unbooked(one, record, preparation)).collect(),
        foreign: record
            .booked
            .iter()
            .filter(|one| one.source != Source::Nowhere)
            .map(|one| foreign(one, expected))
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
    let ((reagent, to_ph), Dosed { more, causes, meter }) = (bath.dose.as_ref()?, expected.dose?);
    let there = bath.substances.iter().filter(|(formula, _, _)| alike(formula, reagent));
    let planned: f64 = there.map(|(_, amount, _)| amount).sum();
    let molar = molar(reagent);
    let needed = ((planned + more) * molar).max(0.0);
    let open = record.spread_of_amounts(expected, |s| s.dose);
    let moved = |s: &Sensitivity| (s.substance.to_string(), s.dose_for_a_tenth() * molar);
    Some(StepDose {
        reagent: reagent.to_string(),
        to_ph: *to_ph,
        planned: planned * molar,
        needed: figure(needed, causes.total().hypot(meter).hypot(open) * molar, "g", "pure substance", expected.within),
        follows: worth_a_word(expected.sensitivities.iter().map(moved), needed),
        causes: made_of(causes, &[(METER, meter), (AMOUNTS, open)], molar),
    })
}

fn stays(record: &WetRecord, expected: &Expected, number: usize) -> StaysDissolved {
    let solid = &expected.stays[number].solid;
    let (share, spread) = record.stays(solid).unwrap_or((f64::NAN, f64::NAN));
    let open = record.spread_of_amounts(expected, |s| s.shares.get(number).copied().unwrap_or(0.0));
    let per = |s: &Sensitivity| s.shares.get(number).map_or(0.0, |share| share * TENTH);
    let follows = expected.sensitivities.iter().map(|s| (s.substance.to_string(), per(s)));
    StaysDissolved {
        solid: solid.to_string(),
        share: figure(100.0 * share, 100.0 * share * spread, "%", "of what would fall out", expected.within),
        taken: record.believed(share),
        follows: follows.filter(|(_, l)| l.abs() > MOVES_SHARE).map(|(name, l)| (name, l.exp())).collect(),
        causes: made_of(expected.stays[number].causes, &[(AMOUNTS, open)], 100.0 * share),
    }
}

fn unbooked(one: &Beside, record: &WetRecord, preparation: &Preparation) -> Unbooked {
    let written = record.bath.as_ref().map_or(&[][..], |bath| &bath.written);
    let form = form_of(&one.solid, written);
    let dry = one.solid.without_hydrate_water();
    let names = |pattern: &SpeciesPattern| match pattern {
        SpeciesPattern::One(species) => alike(&species.formula.without_hydrate_water(), &dry),
        SpeciesPattern::Family { anhydrous, .. } => alike(&anhydrous.formula, &dry),
    };
    let dried = preparation.steps.iter().skip(record.step).find(|step| !step.may_hold.is_empty());
    // Water and carbon dioxide come and go on drying; another anion does not.
    let elements = |formula: &Formula| formula.composition().keys().copied().collect::<Vec<_>>();
    let exchanged = |element: &Element| ["H", "C", "O"].contains(&element.symbol());
    let comes_on_drying = form.is_some_and(|form| {
        let own = elements(form);
        elements(&one.solid).iter().all(|element| exchanged(element) || own.contains(element))
    });
    let by = match dried {
        Some(step) if step.may_hold.iter().any(|pattern| names(&pattern.value)) => Booking::Named,
        _ if comes_on_drying => Booking::MayHold,
        _ => Booking::Beside,
    };
    Unbooked {
        solid: one.solid.to_string(),
        grams: one.amount * molar(&one.solid),
        form_of: form.map(ToString::to_string),
        by,
    }
}

fn foreign(one: &BesideRecord, expected: &Expected) -> ForeignSolid {
    let molar = molar(&one.solid);
    let grams = one.amount.map(|(amount, spread)| (amount * molar, spread * molar));
    let whole = grams.map_or(0.0, |(grams, _)| grams);
    let per = |s: &Sensitivity, place: usize| s.beside.get(place).map_or(0.0, |l| whole * (l * TENTH).exp_m1());
    let follows = one.open.map_or_else(Vec::new, |open| {
        let moved = expected.sensitivities.iter().map(|s| (s.substance.to_string(), per(s, open.place)));
        worth_a_word(moved, whole)
    });
    let causes = one.open.map_or_else(Vec::new, |Open { alone, amounts, .. }| {
        made_of(alone.causes, &[(AGE, alone.age), (AMOUNTS, amounts)], whole)
    });
    ForeignSolid {
        solid: one.solid.to_string(),
        amount: grams.map(|(grams, spread)| figure(grams, spread, "g", "falls out", expected.within)),
        follows,
        causes,
        equation: one.equation.clone(),
    }
}

/// What matters beside the figure itself.
fn worth_a_word(moved: impl Iterator<Item = (String, f64)>, whole: f64) -> Vec<(String, f64)> {
    moved.filter(|(_, change)| change.abs() > MOVES_AMOUNT * whole).collect()
}

/// The parts of an uncertainty with their words, the largest first.
fn made_of(tables: Causes, further: &[(&'static str, f64)], unit: f64) -> MadeOf {
    let own = [("constants", tables.constants), ("activity model", tables.model)];
    let parts = own.iter().chain(further).map(|(word, part)| (*word, part * unit));
    let mut parts: MadeOf = parts.filter(|(_, part)| *part > 0.0).collect();
    parts.sort_by(|a, b| b.1.total_cmp(&a.1));
    parts
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
