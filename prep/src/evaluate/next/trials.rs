//! Tests against possibilities: what each would tell, what it takes, and whether any is worth making.

use super::{APART, BY_BALANCE, CERTAIN, COUNTS, Field, LARGEST_PART, LISTED, LotField, MOST_TOLD, WORTH};
use crate::bench_test::BenchTest;
use crate::evaluate::compile::measure;
use crate::evaluate::placed;
use crate::model::Preparation;
use crate::outcome::{Figure, Next, Possibility, Predicted, TestOutlook};
use chem::quantity::Status;
use engine::account::information::{Answer, Reads};

/// A test with what it would read.
struct Trial<'a> {
    test: &'static BenchTest,
    lot: &'a LotField,
    reads: Reads,
    /// kg.
    portion: f64,
    bits: f64,
    about: f64,
    settles: f64,
}

pub(super) fn told(preparation: &Preparation, empty: Next, field: &Field) -> Next {
    let count = field.possibilities.len();
    let truth: Vec<usize> = field.truths.iter().map(|t| usize::from(*t)).collect();
    let mut trials: Vec<Trial<'_>> = Vec::new();
    for lot in &field.lots {
        for test in BenchTest::all() {
            let Some(reads) = lot.readings(&measure(preparation, test, None)) else { continue };
            let portion = portion(preparation, test, lot, &reads, &field.weights);
            let reads = reads_of(test, reads, portion.1);
            let claim = reads.outlook(&field.weights, &truth, 2, CERTAIN);
            let about = reads.outlook(&field.weights, &field.of, count, CERTAIN).bits;
            trials.push(Trial {
                test,
                lot,
                reads,
                portion: portion.0,
                bits: claim.bits,
                about,
                settles: claim.settles,
            });
        }
    }
    trials.retain(|t| t.bits > LISTED || t.about > LISTED);
    // On the claim to a thousandth of a bit unless that is settled, then on what is so, then by time.
    let held: f64 = field.weights.iter().zip(&field.truths).filter(|(_, t)| **t).map(|(w, _)| w).sum();
    let open = held > 1.0 - CERTAIN && held < CERTAIN;
    let rank = |t: &Trial<'_>| (if open { (t.bits * 1e3).round() } else { 0.0 }, (t.about * 1e2).round(), -t.test.time);
    trials.sort_by(|a, b| rank(b).partial_cmp(&rank(a)).unwrap_or(std::cmp::Ordering::Equal));
    // One test of one lot: where it tells most.
    let mut seen: Vec<&str> = Vec::new();
    trials.retain(|trial| {
        let new = !seen.contains(&trial.test.name);
        seen.push(trial.test.name);
        new
    });
    let probability: f64 = field.weights.iter().zip(&field.truths).filter(|(_, t)| **t).map(|(w, _)| w).sum();
    let possibilities = possibilities(field);
    let degenerate = degenerate(field, &possibilities, &trials);
    let (stop, advice) = advice(&empty.claim, &possibilities, &trials);
    let first = trials.first().map(|t| t.reads.clone());
    let tests = trials
        .iter()
        .enumerate()
        .map(|(i, trial)| {
            let added = match (&first, i) {
                (Some(first), 1..) => trial.reads.added_to(first, &field.weights, &field.of, count),
                _ => trial.about,
            };
            outlook(trial, added, field, &possibilities)
        })
        .collect();
    let told = possibilities.into_iter().map(|(_, p)| p).collect();
    Next {
        probability,
        possibilities: told,
        tests,
        degenerate,
        stop,
        advice,
        findings: placed(preparation, Vec::new()),
        ..empty
    }
}

/// Possibilities with their numbers in the field, the likeliest first.
fn possibilities(field: &Field) -> Vec<(usize, Possibility)> {
    let mut list: Vec<(usize, Possibility)> = field
        .possibilities
        .iter()
        .enumerate()
        .map(|(k, text)| {
            let draws = || (0..field.of.len()).filter(|i| field.of[*i] == k);
            let probability: f64 = draws().map(|i| field.weights[i]).sum();
            let holds: f64 = draws().filter(|i| field.truths[*i]).map(|i| field.weights[i]).sum();
            let claim_holds = if probability > 0.0 { holds / probability } else { 0.0 };
            (k, Possibility { text: text.clone(), probability, claim_holds })
        })
        .filter(|(_, p)| p.probability > 1e-3)
        .collect();
    list.sort_by(|a, b| b.1.probability.total_cmp(&a.1.probability));
    list
}

/// Mean and standard deviation of what a possibility predicts, scatter of the test included; SI.
fn predicted(trial: &Trial<'_>, field: &Field, possibility: usize) -> (f64, f64) {
    let draws: Vec<usize> =
        (0..field.of.len()).filter(|i| field.of[*i] == possibility && field.weights[*i] > 0.0).collect();
    let whole: f64 = draws.iter().map(|i| field.weights[*i]).sum();
    let value = |i: usize| match trial.reads.answer {
        Answer::Figure => trial.reads.values[i],
        Answer::Seen { .. } => trial.reads.likelihood(i, 1.0),
    };
    let scatter = |i: usize| if trial.reads.answer == Answer::Figure { trial.reads.deviations[i] } else { 0.0 };
    let mean = draws.iter().map(|i| field.weights[*i] * value(*i)).sum::<f64>() / whole;
    let variance =
        draws.iter().map(|i| field.weights[*i] * ((value(*i) - mean).powi(2) + scatter(*i).powi(2))).sum::<f64>();
    (mean, (variance / whole).sqrt())
}

/// Pairs of possibilities worth naming that no test tells apart.
fn degenerate(field: &Field, possibilities: &[(usize, Possibility)], trials: &[Trial<'_>]) -> Vec<(String, String)> {
    let named: Vec<&(usize, Possibility)> =
        possibilities.iter().filter(|(k, p)| p.probability > COUNTS && !field.mixed[*k]).take(MOST_TOLD).collect();
    let mut list = Vec::new();
    for (i, (a, first)) in named.iter().enumerate() {
        for (b, second) in &named[i + 1..] {
            let apart = trials.iter().any(|trial| {
                let ((x, u), (y, v)) = (predicted(trial, field, *a), predicted(trial, field, *b));
                match trial.reads.answer {
                    Answer::Figure => (x - y).abs() > APART * u.hypot(v),
                    Answer::Seen { .. } => (x - y).abs() > CERTAIN - 0.5,
                }
            });
            if !apart {
                list.push((first.text.clone(), second.text.clone()));
            }
        }
    }
    list
}

fn advice(claim: &str, possibilities: &[(usize, Possibility)], trials: &[Trial<'_>]) -> (bool, String) {
    let heavy = || possibilities.iter().map(|(_, p)| p).filter(|p| p.probability > COUNTS);
    if heavy().all(|p| p.claim_holds >= CERTAIN) {
        return (true, format!("no further test would change the claim: “{claim}” holds whatever of this is so"));
    }
    if heavy().all(|p| p.claim_holds <= 1.0 - CERTAIN) {
        return (true, format!("no further test would change the claim: “{claim}” fails whatever of this is so"));
    }
    match trials.first() {
        Some(best) if best.bits > WORTH => {
            let of = format!("{} of {}", best.test.name, best.lot.name);
            (false, format!("{of} tells most of the claim"))
        }
        Some(_) => {
            (true, "no test of the table would tell anything of the claim; they part only what may be so".to_owned())
        }
        None => (true, "no test of the table would tell anything here".to_owned()),
    }
}

/// Portion (kg) for a test, and what the balance adds to its figure there: relative where it measures a content.
fn portion(
    preparation: &Preparation,
    test: &BenchTest,
    lot: &LotField,
    reads: &[f64],
    weights: &[f64],
) -> (f64, Box<dyn Fn(f64) -> f64>) {
    let (least, most) = test.sample;
    let finest = preparation.instruments.iter().map(|x| x.repeatability).fold(f64::INFINITY, f64::min);
    if !test.weighs || !finest.is_finite() {
        return (least.min(LARGEST_PART * lot.mass).max(least.min(lot.mass)), Box::new(|_| 0.0));
    }
    let share = test.unit == "%" && test.name != "titre";
    let wanted = 2f64.sqrt() * finest / if share { BY_BALANCE.0 } else { BY_BALANCE.1 };
    // Where there is little, a tenth of it at least.
    let largest = (LARGEST_PART * lot.mass).max(least.min(lot.mass));
    let portion = if share { wanted.max(least) } else { wanted.clamp(least, most.max(10.0 * most)) }.min(largest);
    let scatter = 2f64.sqrt() * finest / portion.max(1e-9);
    let mean: f64 = reads.iter().zip(weights).map(|(x, w)| x.abs() * w).sum();
    let relative = move |x: f64| scatter * x.abs().max(0.1 * mean);
    if share { (portion, Box::new(move |_| scatter)) } else { (portion, Box::new(relative)) }
}

fn reads_of(test: &BenchTest, values: Vec<f64>, by_balance: Box<dyn Fn(f64) -> f64>) -> Reads {
    let deviations = values
        .iter()
        .map(|x| (test.uncertainty(x * test.per_si) / test.per_si).hypot(by_balance(*x)).max(1e-9))
        .collect();
    let answer = match test.noticed {
        Some(noticed) => {
            Answer::Seen { threshold: noticed / test.per_si, blur: (test.absolute / test.per_si).max(1e-9) }
        }
        None => Answer::Figure,
    };
    Reads { values, deviations, answer }
}

fn outlook(trial: &Trial<'_>, added: f64, field: &Field, possibilities: &[(usize, Possibility)]) -> TestOutlook {
    let figure = |value: f64, u: Option<f64>, unit: &'static str, basis: Option<&str>| Figure {
        value,
        standard_uncertainty: u,
        unit,
        basis: basis.map(str::to_owned),
        status: Status::Derived,
        sources: vec![trial.test.source.to_owned()],
    };
    let predictions = possibilities
        .iter()
        .enumerate()
        .take(MOST_TOLD)
        .map(|(place, (number, _))| {
            let (mean, deviation) = predicted(trial, field, *number);
            let reading = match trial.reads.answer {
                Answer::Figure => {
                    let factor = trial.test.per_si;
                    figure(mean * factor, Some(deviation * factor), trial.test.unit, Some("portion as it stands"))
                }
                Answer::Seen { .. } => figure(100.0 * mean, None, "%", Some("chance of a yes")),
            };
            Predicted { possibility: place, reading }
        })
        .collect();
    TestOutlook {
        test: trial.test.name.to_owned(),
        lot: trial.lot.name.clone(),
        information_bits: trial.bits.min(1.0),
        hypothesis_bits: trial.about,
        added_bits: added,
        settles: trial.settles,
        sample: figure(trial.portion * 1e3, None, "g", Some("portion")),
        time: figure(trial.test.time / 3600.0, None, "h", None),
        destroys: trial.test.destroys,
        predictions,
        traps: trial.test.traps.to_owned(),
    }
}
