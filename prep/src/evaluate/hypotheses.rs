//! Alternatives to each other: how they are told, and how far their order hangs on what was taken for granted.
//!
//! "Something else" leaves the composition open and predicts each reading that hangs on it uniformly over what is
//! feasible. The leading composition is fitted again with composition priors half and twice as wide: where the order
//! changes, nothing is decided.

use super::account::Worked;
use super::alternatives::{Candidate, Candidates, EXCLUDED, SOMETHING_ELSE, name_of, of_step, words};
use super::books::Books;
use super::compile::{Compiled, Variation, compile};
use super::fits::{Fits, carried_over};
use super::table::SpeciesTable;
use crate::model::Preparation;
use crate::outcome::Hypothesis;
use engine::account::Evidence;
use engine::account::determination::{Determination, Outcome};
use engine::account::fit::{Count, FitSettings, fit_near};
use engine::account::reading::Weighing;
use engine::ledger::FOREIGN_KINDS;
use rayon::prelude::*;

/// Natural logarithm of a factor of evidence that priors half or twice as wide do not make up.
const WITHOUT_HOPE: f64 = 5.0;

/// Evidence of "something else": readings that hang on a composition are uniform over what is feasible, the
/// others keep their evidence.
pub(super) fn something_else(
    preparation: &Preparation,
    everything: &Compiled,
    (variation, fits): (Variation<'_>, &Fits),
) -> f64 {
    let first_open = preparation.steps.iter().position(|s| !s.may_hold.is_empty()).unwrap_or(usize::MAX);
    let open = |weighing: &Weighing| {
        weighing.lot.is_some_and(|lot| {
            let record = &everything.lots[lot];
            record.step >= first_open
                && !preparation.steps[record.step]
                    .gives
                    .iter()
                    .any(|g| g.lot.value == record.name && matches!(g.part.value, crate::model::Part::Mass(_)))
        })
    };
    let (loose, firm): (Vec<&Weighing>, Vec<&Weighing>) = everything.weighings.iter().partition(|w| open(w));
    let uniform: f64 = loose
        .iter()
        .map(|w| {
            let range = w.lot.map_or(f64::NAN, |lot| everything.lots[lot].bound);
            let resolution = everything.balances[w.balance].resolution;
            (resolution / range.max(resolution)).ln()
        })
        .sum();
    let about_open = |d: &Determination| everything.lots.get(d.lot).is_some_and(|record| record.step >= first_open);
    let (loose_tests, firm_tests): (Vec<Determination>, Vec<Determination>) =
        everything.determinations.iter().cloned().partition(about_open);
    let uniform = uniform + loose_tests.iter().map(|d| anywhere(d, everything)).sum::<f64>();
    let firm: Vec<Weighing> = firm.into_iter().cloned().collect();
    let evidence = Evidence::new(&everything.ledger, &everything.balances, &firm).and(&firm_tests);
    let name = format!("{}, something else", name_of(variation, None));
    let best = fits.posterior(&name, everything, &evidence);
    uniform + best.log_evidence(&evidence)
}

/// Logarithm of the probability of what a test found if anything feasible is alike: between the pure species of its lot.
fn anywhere(determination: &Determination, everything: &Compiled) -> f64 {
    if matches!(determination.outcome, Outcome::Seen { .. }) {
        return 0.5f64.ln();
    }
    let pure = everything.lots.get(determination.lot).map_or(Vec::new(), |record| {
        let of =
            |s: &usize| Some(determination.counted.get(FOREIGN_KINDS + s)? / determination.per.get(FOREIGN_KINDS + s)?);
        record.contents.iter().filter_map(of).collect()
    });
    let (low, high) = pure.iter().fold((0f64, 0f64), |(low, high), x| (low.min(*x), high.max(*x)));
    let (_, deviation) = determination.figure();
    (deviation / (high - low).max(deviation)).ln()
}

/// Whether the leading composition stays the same with composition priors half and twice as wide.
pub(super) fn order_holds(
    preparation: &Preparation,
    table: &mut SpeciesTable,
    variation: Variation<'_>,
    candidates: &Candidates,
) -> bool {
    let top = candidates.list.iter().map(|c| c.log_evidence).fold(f64::NEG_INFINITY, f64::max);
    let rivals: Vec<&Candidate> =
        candidates.list.iter().filter(|c| c.averaged && c.log_evidence > top - WITHOUT_HOPE).collect();
    let leader = |evidences: &[f64]| evidences.iter().enumerate().max_by(|a, b| a.1.total_cmp(b.1)).map(|(i, _)| i);
    let usual = leader(&rivals.iter().map(|c| c.log_evidence).collect::<Vec<_>>());
    rivals.len() < 2
        || [0.5, 2.0].into_iter().all(|width| {
            let mut compiled = |c: &Candidate| {
                compile(preparation, table, Variation { alternative: Some(&c.alternative), width, ..variation })
            };
            let compiled: Vec<Compiled> = rivals.iter().map(|c| compiled(c)).collect();
            let evidences = rivals.par_iter().zip(&compiled).map(|(rival, compiled)| {
                let start = carried_over(&rival.best.z, &rival.compiled.origins, compiled);
                let evidence = compiled.evidence();
                fit_near(&evidence, Count::Posterior, &FitSettings::default(), &start).log_evidence(&evidence)
            });
            leader(&evidences.collect::<Vec<_>>()) == usual
        })
}

/// What a fitting composition holds on average, in words; only for lots that had a choice.
fn detail(preparation: &Preparation, books: &Books<'_>, candidates: &Candidates, index: usize, cloud: usize) -> String {
    let mut parts = Vec::new();
    for (i, composition) in candidates.list[index].alternative.iter().enumerate() {
        let (Some(composition), Some(step)) = (composition, preparation.steps.get(i)) else { continue };
        let Some(lot) = step.gives.first().map(|g| g.lot.value.as_str()) else { continue };
        if of_step(&candidates.everything, preparation, i).0.len() < 2 {
            continue;
        }
        let told = books.mean_composition(lot, cloud);
        parts.extend(told.hydration.iter().map(|(n, u)| format!("n = {n:.2} ± {u:.2}")));
        if composition.patterns.len() > 1 {
            let listed = |name: &str| step.may_hold.iter().any(|p| p.value.species().to_string() == name);
            parts.extend(
                told.fractions
                    .iter()
                    .filter(|(name, _)| listed(name))
                    .map(|(name, share)| format!("{share:.1} % {name}")),
            );
        }
    }
    if parts.is_empty() { String::new() } else { format!(" ({})", parts.join(", ")) }
}

/// Whether the evidence settles a composition: the only smallest one that fits and all but certain, or excluded.
fn is_decided(candidates: &Candidates, candidate: &Candidate, probability: f64, order_holds: bool) -> bool {
    if !candidate.fits {
        return candidate.strain.chi_squared > candidates.least + EXCLUDED;
    }
    let alike =
        |c: &Candidate| c.group.is_some() && c.group == candidate.group && c.alternative != candidate.alternative;
    !candidates.list.iter().any(alike) && order_holds && probability > 1.0 - SOMETHING_ELSE
}

/// The compositions of the most probable case, "something else", and the slips.
pub(super) fn hypotheses(
    preparation: &Preparation,
    books: &Books<'_>,
    worked: &[Worked],
    weights: &[f64],
    order_holds: bool,
) -> Vec<Hypothesis> {
    let main = &worked[0];
    let candidates = &main.candidates;
    let mut list: Vec<Hypothesis> = candidates
        .list
        .iter()
        .enumerate()
        .map(|(i, candidate)| {
            let probability = if candidate.averaged { weights.get(i).copied().unwrap_or(0.0) } else { 0.0 };
            let decided = is_decided(candidates, candidate, probability, order_holds);
            let detail = if candidate.averaged { detail(preparation, books, candidates, i, i) } else { String::new() };
            Hypothesis {
                id: format!("h{}", i + 1),
                text: format!("{}{detail}", words(preparation, &candidates.everything, &candidate.alternative)),
                probability,
                decided,
                fits: candidate.fits,
                chi_squared: candidate.strain.chi_squared,
                larger: candidate.fits && candidate.larger,
                group: candidate.group,
                log_evidence: main.drawn.get(i).map(|d| d.log_evidence),
            }
        })
        .collect();
    list.push(Hypothesis {
        id: "other".to_owned(),
        text: "something else".to_owned(),
        probability: weights.get(main.drawn.len()).copied().unwrap_or(0.0),
        decided: false,
        fits: true,
        larger: false,
        chi_squared: 0.0,
        group: None,
        log_evidence: None,
    });
    let mut start = 0;
    for w in worked {
        let end = start + w.logs.len();
        let probability: f64 = weights.get(start..end).map_or(0.0, |w| w.iter().sum());
        start = end;
        if w.case.lost {
            list.push(Hypothesis {
                id: "losses".to_owned(),
                text: "far more was lost than usual".to_owned(),
                probability,
                decided: probability > 1.0 - SOMETHING_ELSE,
                fits: true,
                larger: false,
                chi_squared: w.candidates.least,
                group: None,
                log_evidence: Some(w.case.log_evidence),
            });
        }
        let Some(place) = w.case.slipped else { continue };
        let reading = &preparation.steps[place.step].readings[place.reading];
        list.push(Hypothesis {
            id: format!("slip-{}", reading.id.value),
            text: format!("reading {} ({}) is a slip", reading.id.value, reading.text),
            probability,
            decided: probability > 1.0 - SOMETHING_ELSE,
            fits: true,
            larger: false,
            chi_squared: w.candidates.least,
            group: None,
            log_evidence: Some(w.case.log_evidence),
        });
    }
    list
}
