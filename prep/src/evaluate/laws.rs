//! Do the books balance, whatever the preparation?
//!
//! Random preparations ([`recipes`]) are written as files: charges far from and near the equivalent, mixes of hydrates,
//! labels, washes, tests of portions, traces and suppositions. Each is read and compiled, and its ledger is run at random
//! unknowns. After every operation every element and the mass must balance to rounding, the content of the charges being
//! reckoned here anew from the supplies, and nothing may be less than nothing. The same run with derivatives has the
//! same values, and its derivatives are those of differences.

pub(crate) mod recipes;

use super::alternatives::{combinations, everything};
use super::compile::{Compiled, Variation, compile};
use super::table::SpeciesTable;
use crate::model::Preparation;
use chem::Element;
use engine::account::reading::Weighing;
use engine::account::{Evidence, SlopeRoom};
use engine::ledger::{Contents, FOREIGN_KINDS, Ledger, Lot, Operation, SpeciesIndex, Value, Workspace};
use engine::scalar::{Dual, Scalar};
use proptest::collection::vec;
use proptest::prelude::*;
use proptest::sample::select;
use proptest::strategy::ValueTree;
use proptest::test_runner::TestRunner;
use recipes::preparations;
use std::collections::BTreeSet;
use std::fmt::Write as _;

/// Rounding of a sum of some tens of terms of one size.
const ROUNDING: f64 = 1e-12;

/// A preparation with one of the ledgers that it may stand for.
fn compiled(text: &str, which: usize) -> Result<(Preparation, SpeciesTable, Compiled), TestCaseError> {
    let reading = crate::read(text.as_bytes());
    let Some(preparation) = reading.preparation else {
        return Err(TestCaseError::fail(format!("{:?}\n{text}", reading.findings)));
    };
    let mut table = SpeciesTable::default();
    let plain = everything(&preparation, &mut table, Variation::PLAIN);
    let (alternatives, _) = combinations(&plain, &preparation);
    let supposition = preparation.suppositions.first();
    let variations: Vec<Variation<'_>> = [Variation::PLAIN, Variation::FORECAST]
        .into_iter()
        .chain([Variation { supposition, ..Variation::PLAIN }])
        .chain([0.5, 2.0].map(|width| Variation { width, ..Variation::PLAIN }))
        .chain(alternatives.iter().map(|(a, _)| Variation { alternative: Some(a), ..Variation::PLAIN }))
        .collect();
    let model = compile(&preparation, &mut table, variations[which % variations.len()]);
    Ok((preparation, table, model))
}

/// Coordinates for a ledger; random ones are used again where there are more unknowns.
fn coordinates(pool: &[f64], dimension: usize) -> Vec<f64> {
    pool.iter().copied().cycle().take(dimension).collect()
}

/// Figures of one row for each element, then its mass.
struct Balances {
    counts: Vec<Vec<f64>>,
    molar_mass: Vec<f64>,
}

impl Balances {
    fn new(table: &SpeciesTable, ledger: &Ledger) -> Self {
        let used = |element: &Element| table.counts(*element).iter().any(|n| *n > 0.0);
        let counts = Element::all().filter(used).map(|element| table.counts(element)).collect();
        Self { counts, molar_mass: ledger.molar_mass.clone() }
    }

    fn of(&self, contents: Contents<'_, f64>) -> Vec<f64> {
        let sum = |weights: &[f64]| contents.amounts.iter().zip(weights).map(|(n, w)| n * w).sum::<f64>();
        let foreign: f64 = contents.foreign.iter().sum();
        self.counts.iter().map(|c| sum(c)).chain([sum(&self.molar_mass) + foreign]).collect()
    }

    /// Sum over all lots, what was drawn counted negative, and the size of the terms.
    fn total(&self, ledger: &Ledger, room: &Workspace<f64>) -> (Vec<f64>, Vec<f64>) {
        let mut total = vec![0.0; self.counts.len() + 1];
        let mut size = total.clone();
        for lot in 0..ledger.lots {
            let sign = if ledger.drawn.contains(&lot) { -1.0 } else { 1.0 };
            for ((total, size), figure) in total.iter_mut().zip(&mut size).zip(self.of(room.now(lot))) {
                *total += sign * figure;
                *size += figure.abs();
            }
        }
        (total, size)
    }
}

fn value(value: Value, room: &Workspace<f64>) -> f64 {
    match value {
        Value::Constant(x) => x,
        Value::Unknown(i) => room.unknowns()[i],
    }
}

/// What a charge brings, by the meaning of a supply: each part is cut off from what is left.
fn charge(ledger: &Ledger, supply: usize, mass: f64, room: &Workspace<f64>) -> (Vec<f64>, [f64; FOREIGN_KINDS]) {
    let supply = &ledger.supplies[supply];
    let (mut amounts, mut foreign) = (vec![0.0; ledger.molar_mass.len()], [0.0; FOREIGN_KINDS]);
    let assay = value(supply.assay, room);
    let mut left = mass * assay;
    for (part, stick) in &supply.parts {
        amounts[*part] += left * value(*stick, room) / ledger.molar_mass[*part];
        left *= 1.0 - value(*stick, room);
    }
    let mut left = mass * (1.0 - assay);
    for (kind, stick) in supply.rest.iter().enumerate() {
        foreign[kind] += left * value(*stick, room);
        left *= 1.0 - value(*stick, room);
    }
    (amounts, foreign)
}

/// Runs a ledger and checks the books after every operation.
fn keeps_books(table: &SpeciesTable, ledger: &Ledger, z: &[f64]) -> Result<(), TestCaseError> {
    let balances = Balances::new(table, ledger);
    let holdable = ledger.holdable();
    let mut room = Workspace::<f64>::new(ledger);
    let mut expected = vec![0.0; balances.counts.len() + 1];
    let mut charged_mass = 0.0;
    let mut problem = None;
    ledger.run_observed(z, &mut room, |i, room| {
        if let Operation::Charge { supply, mass, .. } = &ledger.operations[i] {
            let mass = value(*mass, room);
            charged_mass += mass;
            let (amounts, foreign) = charge(ledger, *supply, mass, room);
            let brought = balances.of(Contents { amounts: &amounts, foreign: &foreign });
            expected.iter_mut().zip(brought).for_each(|(sum, part)| *sum += part);
        }
        let (total, size) = balances.total(ledger, room);
        for (k, ((total, size), expected)) in total.iter().zip(&size).zip(&expected).enumerate() {
            let off = (total - expected).abs();
            if off.is_nan() || off > ROUNDING * (size + expected.abs()) {
                problem.get_or_insert(format!("balance {k} is off by {:e} of {size}", total - expected));
            }
        }
        let least = (0..ledger.lots).flat_map(|lot| room.now(lot).all()).copied().fold(0.0, f64::min);
        if least < 0.0 {
            problem.get_or_insert(format!("an amount of {least:e}"));
        }
        let strange = |(lot, held): (Lot, &Vec<SpeciesIndex>)| {
            let amounts = room.given(lot).amounts.iter().enumerate();
            amounts.filter(|(species, _)| held.binary_search(species).is_err()).any(|(_, amount)| *amount != 0.0)
        };
        if holdable.iter().enumerate().any(strange) {
            problem.get_or_insert("a species where none was expected".to_owned());
        }
        if let Some(problem) = &mut problem
            && !problem.contains(" after ")
        {
            let _ = write!(problem, " after {:?}", ledger.operations[i]);
        }
    });
    prop_assert!(problem.is_none(), "{problem:?}");
    // A supply has parts for all of its mass.
    let mass = expected.last().copied().unwrap_or_default();
    prop_assert!((mass - charged_mass).abs() <= ROUNDING * charged_mass, "{mass} of {charged_mass} kg charged");
    Ok(())
}

/// Compares the slopes of all readings, as if they were made, with differences of their figures.
fn slopes_agree(model: &Compiled, z: &[f64]) -> Result<(), TestCaseError> {
    let ledger = &model.ledger;
    let weighings: Vec<Weighing> = model.planned.iter().map(|(_, weighing)| weighing.clone()).collect();
    let evidence = Evidence::new(ledger, &model.balances, &weighings);
    let (rows, dimension) = (weighings.len(), z.len());
    let (mut expected, mut slopes) = (vec![0.0; rows], vec![0.0; rows * dimension]);
    evidence.expected_with_slopes(z, &mut SlopeRoom::new(ledger), &mut expected, &mut slopes);
    let mut room = Workspace::<f64>::new(ledger);
    let mut figures = |z: &[f64]| -> Vec<f64> {
        ledger.run(z, &mut room);
        (0..rows).map(|r| evidence.expected(r, &room)).collect()
    };
    let here = figures(z);
    // A cake is what little is left of a batch: its figure is good to the rounding of the heaviest one.
    let heaviest = here.iter().copied().fold(0.0, f64::max);
    let step = 1e-5;
    let mut moved = z.to_vec();
    for i in 0..dimension {
        moved[i] = z[i] + step;
        let above = figures(&moved);
        moved[i] = z[i] - step;
        let below = figures(&moved);
        moved[i] = z[i];
        for r in 0..rows {
            prop_assert!((expected[r] - here[r]).abs() <= 1e-14 * heaviest, "{} and {}", expected[r], here[r]);
            let slope = slopes[r * dimension + i];
            // At the kink of a limiting reagent one of the sides is meant.
            let (up, down) = ((above[r] - here[r]) / step, (here[r] - below[r]) / step);
            let tolerance = 1e-6 * slope.abs() + 2e-9 * heaviest + (up - down).abs();
            let off = [0.5 * (up + down), up, down].iter().map(|d| (d - slope).abs()).fold(f64::INFINITY, f64::min);
            prop_assert!(off <= tolerance, "reading {r} by unknown {i}: {slope}, by differences {up} and {down}");
        }
    }
    Ok(())
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 250, failure_persistence: None, ..ProptestConfig::default() })]

    #[test]
    fn every_element_balances(text in preparations(), which in any::<usize>(), pool in vec(-4.0..4.0f64, 53)) {
        let (_, table, model) = compiled(&text, which)?;
        keeps_books(&table, &model.ledger, &coordinates(&pool, model.ledger.unknowns.len()))?;
    }

    /// Far out in the tails of the priors: everything lost, nothing charged.
    #[test]
    fn every_element_balances_in_the_tails(text in preparations(), which in any::<usize>(), pool in vec(select(vec![-9.0, -7.5, 0.0, 7.5, 9.0, 40.0]), 53)) {
        let (_, table, model) = compiled(&text, which)?;
        keeps_books(&table, &model.ledger, &coordinates(&pool, model.ledger.unknowns.len()))?;
    }

    #[test]
    fn derivatives_are_carried_beside_the_same_values(text in preparations(), which in any::<usize>(), pool in vec(-4.0..4.0f64, 53)) {
        let (_, _, model) = compiled(&text, which)?;
        let ledger = &model.ledger;
        let z = coordinates(&pool, ledger.unknowns.len());
        let mut plain = Workspace::<f64>::new(ledger);
        ledger.run(&z, &mut plain);
        let dual: Vec<Dual<2>> = z.iter().enumerate().map(|(i, x)| Dual::variable(*x, i)).collect();
        let mut carried = Workspace::<Dual<2>>::new(ledger);
        ledger.run(&dual, &mut carried);
        for lot in 0..ledger.lots {
            let (now, given) = (plain.now(lot).all().zip(carried.now(lot).all()), plain.given(lot).all().zip(carried.given(lot).all()));
            for (a, b) in now.chain(given) {
                prop_assert!((a - b.value()).abs() <= 1e-15 * a.abs(), "{a} and {}", b.value());
            }
        }
        prop_assert_eq!(plain.limiting, carried.limiting);
    }

    #[test]
    fn slopes_of_readings_are_those_of_differences(text in preparations(), which in any::<usize>(), pool in vec(-3.0..3.0f64, 53)) {
        let (_, _, model) = compiled(&text, which)?;
        slopes_agree(&model, &coordinates(&pool, model.ledger.unknowns.len()))?;
    }
}

/// Random preparations reach every operation, so that the laws above speak of all of them.
#[test]
fn every_operation_is_reached() {
    let mut runner = TestRunner::deterministic();
    let mut reached = BTreeSet::new();
    for _ in 0..300 {
        let text = preparations().new_tree(&mut runner).expect("a preparation").current();
        let (_, _, model) = compiled(&text, 0).expect("it compiles");
        reached.extend(model.ledger.operations.iter().map(kind));
    }
    let all = [
        "Boil",
        "Burn",
        "Charge",
        "Convert",
        "Evaporate",
        "Hydrate",
        "Lose",
        "Moisten",
        "Move",
        "Occlude",
        "PickUp",
        "Portion",
        "React",
        "Separate",
        "Solidify",
        "Transform",
        "Vent",
    ];
    assert_eq!(reached.into_iter().collect::<Vec<_>>(), all);
}

/// Name of an operation, the first word of its debug text.
fn kind(operation: &Operation) -> String {
    format!("{operation:?}").split([' ', '{']).next().unwrap_or_default().to_owned()
}

/// A conversion that gives a millionth too much is found out.
#[test]
fn an_unbalanced_operation_is_found() {
    let text = include_str!("../../../examples/bluestone.toml");
    let (_, table, model) = compiled(text, 0).expect("a good file");
    let z = vec![0.3; model.ledger.unknowns.len()];
    assert!(keeps_books(&table, &model.ledger, &z).is_ok());
    let mut found = 0;
    for i in 0..model.ledger.operations.len() {
        let mut broken = model.ledger.clone();
        let factor = 1.0 + 1e-6;
        match &mut broken.operations[i] {
            Operation::Convert { gives, .. } => *gives *= factor,
            Operation::Transform { into, .. } => into[0].1 *= factor,
            Operation::React { produced, .. } => produced[0].1 *= factor,
            _ => continue,
        }
        assert!(keeps_books(&table, &broken, &z).is_err(), "{:?}", broken.operations[i]);
        found += 1;
    }
    assert!(found > 5, "{found}");
}
