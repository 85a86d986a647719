//! Are the probabilities of causes as often right as they say?
//!
//! A mishap is made up: the element that reaches the lot is one of the draws that [`explain`] works with, what went wrong
//! (nothing, one cause, two, a slip, something else) is drawn by its prior weight, its amount from its exponential, and
//! the balance scatters. The mass that this makes is explained as if nothing were known, and the probabilities of all
//! ways are returned beside the one that was true. The amount that is usual is a share of the mass that results, so
//! the mass is solved for: m = plain/(1 − Σ gain · share · u) with u exponential of mean one.
//!
//! Neglected: tests of the lot, which are left out; causes that work against each other, which are neither tried nor made up.
//!
//! Source: the same priors as the explanation; DeGroot, Fienberg, The Statistician 32 (1983) 12 (reliability).

use super::super::alternatives::everything;
use super::super::causes::{Makes, Surplus};
use super::super::compile::Variation;
use super::super::direct;
use super::super::fits::Fits;
use super::super::table::SpeciesTable;
use super::{Arrived, CAUSED, DRAWS, Explanation, arrived, explain_with, weight};
use crate::model::Preparation;
use engine::account::hypercube::latin_hypercube;
use engine::account::reading::SLIP;
use engine::ledger::normal_cdf;
use std::ops::Range;

/// Tries to make up a mishap that can be: a form cannot weigh more than its lot.
const TRIES: u64 = 1000;
/// Random numbers that one mishap can need.
const THROWS: usize = 12;

/// A mishap that was made up, and what was said of it.
#[derive(Clone, Debug, PartialEq)]
pub struct Mishap {
    /// Mass of the lot, g.
    pub mass: f64,
    /// Whether the mass would be called suspicious.
    pub suspicious: bool,
    /// Each way that was weighed: its words, its probability, and whether it was the true one.
    pub ways: Vec<(String, f64, bool)>,
}

/// What went wrong.
enum Truth {
    Nothing,
    Causes(Vec<usize>),
    Slip,
    Other,
}

/// Makes up a mishap for each seed, to the last lot of which the file says what it was taken for; none where there is
/// no such lot.
#[must_use]
pub fn mishaps(preparation: &Preparation, seeds: Range<u64>) -> Vec<Mishap> {
    made_up(preparation, seeds).unwrap_or_default()
}

fn made_up(preparation: &Preparation, seeds: Range<u64>) -> Option<Vec<Mishap>> {
    let element = preparation.account_for.first().copied()?;
    let mut table = SpeciesTable::default();
    let compiled = everything(preparation, &mut table, Variation::PLAIN);
    let feed = direct::label_feed(preparation, &compiled, element);
    let (step, lot, claim) = preparation.steps.iter().enumerate().rev().find_map(|(number, step)| {
        let lot = step.gives.first()?.lot.value.as_str();
        Some((number, lot, &step.quote_as.first()?.value))
    })?;
    let (bulk, _) = direct::weighed_bulk(preparation, lot)?;
    let surplus = |mass: f64| Surplus {
        preparation,
        table: &table,
        compiled: &compiled,
        step,
        claim,
        element,
        mass,
        uncertainty: bulk.standard_uncertainty,
        feed: &feed,
    };
    let plain = surplus(bulk.value);
    let makes = plain.makes();
    let arrived = arrived(&plain, lot, &Fits::default(), DRAWS)?;
    let maker = Maker { makes: &makes, surplus: &plain, arrived: &arrived };
    let one = |seed: u64| {
        let (truth, mass) = (0..TRIES).find_map(|k| maker.mishap(&mut Dice::new(seed * TRIES + k)))?;
        let explained = explain_with(&surplus(mass), lot, &arrived, |_| Vec::new())?;
        let ways = explained.ways.iter().map(|way| (way.text.clone(), way.probability, is(&truth, way, &makes)));
        Some(Mishap { mass: mass * 1e3, suspicious: explained.is_suspicious(), ways: ways.collect() })
    };
    Some(seeds.filter_map(one).collect())
}

/// Whether a way is the true one; a pair by its kinds.
fn is(truth: &Truth, way: &Explanation, makes: &[Makes]) -> bool {
    let begins = |words: &str| way.causes.is_empty() && way.text.starts_with(words);
    match truth {
        Truth::Nothing => begins("nothing"),
        Truth::Slip => begins("a slip"),
        Truth::Other => begins("something"),
        Truth::Causes(causes) if causes.len() < 2 => way.causes == *causes,
        Truth::Causes(causes) => {
            let kinds = |list: &[usize]| {
                let mut kinds: Vec<&str> = list.iter().map(|k| makes[*k].kind()).collect();
                kinds.sort_unstable();
                kinds
            };
            kinds(&way.causes) == kinds(causes)
        }
    }
}

struct Maker<'a> {
    makes: &'a [Makes],
    surplus: &'a Surplus<'a>,
    arrived: &'a Arrived,
}

impl Maker<'_> {
    /// One mishap and the mass it makes, kg; none where the amounts do not go together.
    fn mishap(&self, dice: &mut Dice) -> Option<(Truth, f64)> {
        let content = self.surplus.claim.formula.mass_fraction(self.surplus.element);
        let (element, drawn) = (&self.arrived.element, &self.arrived.weights);
        let plain = (element.get(by_weight(drawn, dice))? + self.arrived.width() * dice.normal()) / content;
        let noise = dice.normal() * self.surplus.uncertainty;
        let truth = self.truth(dice)?;
        let mass = match &truth {
            Truth::Nothing => plain + noise,
            Truth::Slip => self.arrived.capacity * dice.even(),
            Truth::Other => self.arrived.bound * dice.even(),
            Truth::Causes(causes) => self.with(causes, plain, dice)? + noise,
        };
        (mass > 0.0).then_some((truth, mass))
    }

    /// The mass with these causes at work.
    fn with(&self, causes: &[usize], plain: f64, dice: &mut Dice) -> Option<f64> {
        let parts: Vec<(usize, f64, f64)> =
            causes.iter().map(|k| (*k, self.gain(*k), dice.exponential() * weight(self.makes[*k].kind()).1)).collect();
        let rest = 1.0 - parts.iter().map(|(_, gain, share)| gain * share).sum::<f64>();
        let beside: f64 =
            parts.iter().filter(|(k, ..)| self.makes[*k].changes_the_lot()).map(|(_, _, share)| share).sum();
        let against = parts.iter().any(|a| parts.iter().any(|b| a.1 * b.1 < 0.0));
        (rest > 0.0 && beside <= 1.0 && !against).then_some(plain / rest)
    }

    fn gain(&self, k: usize) -> f64 {
        let content = |form: &chem::Species| form.formula.mass_fraction(self.surplus.element);
        match &self.makes[k] {
            Makes::Form(form, _) => 1.0 - content(form) / content(self.surplus.claim),
            Makes::Poorer | Makes::Lost => -1.0,
            Makes::Water | Makes::Salt(_) | Makes::Richer(_) => 1.0,
        }
    }

    /// What goes wrong, by the weights of the explanation.
    fn truth(&self, dice: &mut Dice) -> Option<Truth> {
        let other = weight("other").0;
        let whole = [1.0 - CAUSED - other - SLIP, CAUSED, CAUSED * weight("pair").0, SLIP, other];
        Some(match by_weight(&whole, dice) {
            0 => Truth::Nothing,
            1 => Truth::Causes(vec![self.cause(dice)?]),
            2 => self.two(dice)?,
            3 => Truth::Slip,
            _ => Truth::Other,
        })
    }

    /// Weight of a cause: that of its kind, shared by its forms.
    fn weight(&self, k: usize) -> f64 {
        let kind = self.makes[k].kind();
        weight(kind).0 / self.makes.iter().filter(|m| m.kind() == kind).count().max(1) as f64
    }

    fn cause(&self, dice: &mut Dice) -> Option<usize> {
        let weights: Vec<f64> = (0..self.makes.len()).map(|k| self.weight(k)).collect();
        (weights.iter().sum::<f64>() > 0.0).then(|| by_weight(&weights, dice))
    }

    /// Two causes of different kinds, by the product of their weights.
    fn two(&self, dice: &mut Dice) -> Option<Truth> {
        let able = |k: &usize| self.makes[*k].changes_the_lot();
        let each = || (0..self.makes.len()).filter(able);
        let pairs: Vec<(usize, usize)> = each()
            .flat_map(|a| each().map(move |b| (a, b)))
            .filter(|(a, b)| self.makes[*a].kind() < self.makes[*b].kind())
            .collect();
        let weights: Vec<f64> = pairs.iter().map(|(a, b)| self.weight(*a) * self.weight(*b)).collect();
        let (a, b) = *pairs.get(by_weight(&weights, dice))?;
        Some(Truth::Causes(vec![a, b]))
    }
}

/// A number drawn by weight.
fn by_weight(weights: &[f64], dice: &mut Dice) -> usize {
    let mut left = dice.even() * weights.iter().sum::<f64>();
    for (i, weight) in weights.iter().enumerate() {
        left -= weight;
        if left < 0.0 {
            return i;
        }
    }
    weights.len().saturating_sub(1)
}

/// Independent random numbers of a seed: one point of a hypercube of one stratum is a plain draw.
struct Dice {
    z: Vec<f64>,
    thrown: usize,
}

impl Dice {
    fn new(seed: u64) -> Self {
        Self { z: latin_hypercube(1, THROWS, seed.wrapping_mul(0x9E37_79B9_7F4A_7C15) ^ 0xCA5E), thrown: 0 }
    }

    fn normal(&mut self) -> f64 {
        self.thrown += 1;
        self.z.get(self.thrown - 1).copied().unwrap_or(0.0)
    }

    fn even(&mut self) -> f64 {
        normal_cdf(self.normal())
    }

    fn exponential(&mut self) -> f64 {
        -(1.0 - self.even()).max(1e-300).ln()
    }
}
