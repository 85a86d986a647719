//! The account: what each lot really holds, given what was weighed.
//!
//! First it is asked whether a reading slipped: the ledger that allows everything is fitted to all readings, and
//! to all but each one. Cases of more than 1 % are carried on; mostly that is the case without a slip. In each,
//! the compositions are averaged by their evidence. The printed account samples each of them; the live
//! view weights draws about the best fit and says "refining" where the weights do not hold (tail shape k̂
//! above 0.7). Two slips at once are not looked for: their prior probability is one in a million.

use super::alternatives::{Candidate, Candidates, SOMETHING_ELSE, candidates, everything, guide};
use super::books::{Books, Cloud};
use super::budget::{self, Part};
use super::claim;
use super::compile::{Alternative, Compiled, ReadingPlace, Variation, compile};
use super::cost::{Product, account_cost};
use super::direct::{label_feed, levels, quoted};
use super::drawn::{Drawn, Instrument, LIVE_DRAWS, TYPING_DRAWS};
use super::explain::Explained;
use super::fits::Fits;
use super::hypotheses::{hypotheses, order_holds, something_else};
use super::next::next_after;
use super::spent::Spent;
use super::stock::stock;
use super::table::SpeciesTable;
use super::timeline::timing;
use super::{changes, entry, fell_out, findings, placed, plan, series, vessels};
use crate::losses;
use crate::model::{Preparation, Supposition};
use crate::outcome::{
    Account, AccountCost, Budget, Claim, FellOut, Finding, Hypothesis, LossLevel, LotAccount, Method, StepYield,
    StockLine, TestTold, Yields,
};
use engine::account::Evidence;
use engine::account::fit::{Count, FitSettings, fit};
use engine::account::hypercube::latin_hypercube;
use engine::account::importance::TAIL_LIMIT;
use engine::account::reading::Balance;
use engine::account::sampler::SamplerSettings;

/// Settings of an account.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct AccountSettings {
    /// Particles for each composition; by default 2000.
    pub particles: Option<usize>,
    /// Leave out the variants of the file.
    pub without_suppositions: bool,
    /// Seed of the sampler; by default a fixed one.
    pub seed: Option<u64>,
    /// A claim to be held against the evidence, in place of that of the file.
    pub claim: Option<String>,
    /// Leave out of the live view what can be told afterwards: where its uncertainty comes from.
    pub at_once: bool,
}

/// Weight from which a composition decides whether the live view is good enough.
const MATTERS: f64 = 0.05;
/// Probability above which a case is carried on.
const WORTH_CARRYING: f64 = 0.01;

/// The live view: at once, approximate, and honest about it; without the variants of the file.
#[must_use]
pub fn live_account(preparation: &Preparation) -> Account {
    live_account_with(preparation, &AccountSettings::default())
}

/// The live view with a claim to be held against it.
#[must_use]
pub fn live_account_with(preparation: &Preparation, settings: &AccountSettings) -> Account {
    live_account_after(preparation, settings, &Fits::default())
}

/// The live view, with the fits of the text before as places to start from. What was found goes into `fits`, to be
/// [passed on](Fits::passed_on).
#[must_use]
pub fn live_account_after(preparation: &Preparation, settings: &AccountSettings, fits: &Fits) -> Account {
    let settings = AccountSettings { without_suppositions: true, ..settings.clone() };
    let instrument = if settings.at_once { Instrument::AtOnce(TYPING_DRAWS) } else { Instrument::Live };
    assemble(preparation, (instrument, fits), &settings, &mut |_| {})
}

/// The printed account. `progress` is told the finished fraction from 0 to 1.
pub fn account(preparation: &Preparation, settings: &AccountSettings, progress: &mut dyn FnMut(f64)) -> Account {
    let mut sampler = SamplerSettings::default();
    sampler.particles = settings.particles.unwrap_or(sampler.particles).max(16);
    sampler.seed = settings.seed.unwrap_or(sampler.seed);
    let fits = Fits::default();
    let mut told = assemble(preparation, (Instrument::Sampler(sampler), &fits), settings, progress);
    told.next = Some(next_after(preparation, settings.claim.as_deref(), &fits));
    told
}

/// What one run over the compositions gives.
struct Variant {
    lots: Vec<LotAccount>,
    yields: Option<(crate::outcome::Interval, Vec<StepYield>)>,
    streams: Vec<crate::outcome::Stream>,
    feed: Vec<(String, crate::outcome::Interval)>,
    hypotheses: Vec<Hypothesis>,
    findings: Vec<Finding>,
    /// Masses that are not what the supplies make, explained; of the file as written.
    unexpected: (Vec<Finding>, Vec<Explained>),
    method: Method,
    cost: Option<AccountCost>,
    stock: Vec<StockLine>,
    budgets: Vec<Budget>,
    tests: Vec<TestTold>,
    foreign: Vec<FellOut>,
    claim: Option<Claim>,
    levels: Vec<LossLevel>,
    everything: Compiled,
    /// Compositions that fit.
    alternatives: Vec<Alternative>,
}

fn assemble(
    preparation: &Preparation,
    instrument: (Instrument, &Fits),
    settings: &AccountSettings,
    progress: &mut dyn FnMut(f64),
) -> Account {
    let suppositions: &[Supposition] = if settings.without_suppositions { &[] } else { &preparation.suppositions };
    let claim = settings.claim.as_deref().or(preparation.claim.as_ref().map(|c| c.value.as_str()));
    let parts = (1 + suppositions.len()) as f64;
    let mut table = SpeciesTable::default();
    let mut main = variant(preparation, &mut table, (None, None, claim), instrument, &mut |p| progress(p / parts));
    let mut variants = Vec::new();
    for (i, supposition) in suppositions.iter().enumerate() {
        let mut table = SpeciesTable::default();
        let done = (i + 1) as f64;
        let variant = variant(
            preparation,
            &mut table,
            (Some(supposition), Some(&main.alternatives), None),
            instrument,
            &mut |p| progress((done + p) / parts),
        );
        variants.push(crate::outcome::Supposition {
            text: supposition.name.value.clone(),
            lots: variant.lots,
            steps: variant.yields.map_or_else(Vec::new, |(_, steps)| steps),
            hypotheses: variant.hypotheses,
        });
    }
    let mut list = findings::assumptions(preparation, &main.everything);
    list.extend(findings::off_plan(preparation));
    list.extend(findings::corrected(preparation));
    list.extend(vessels::changed(preparation));
    let series = series::series(preparation);
    list.extend(series::findings(preparation, &series));
    let (timing, times) = timing(preparation);
    list.extend(times);
    list.extend(plan::not_made(preparation, &main.everything));
    list.extend(findings::absent_reagents(preparation, &table, &main.everything));
    let element = preparation.account_for.first().copied();
    let yields = element.zip(main.yields).map(|(element, (overall, steps))| {
        let feed = label_feed(preparation, &main.everything, element);
        let (unexpected, explained) = std::mem::take(&mut main.unexpected);
        if !explained.is_empty() {
            findings::one_voice(&mut main.findings, &unexpected);
        }
        list.extend(unexpected);
        Yields { element: element.symbol().to_owned(), quoted: quoted(preparation, &feed, element), overall, steps }
    });
    list.extend(element.into_iter().flat_map(|e| findings::open_oxides(preparation, e)));
    list.extend(findings::heavier_residues(preparation, &table, &main.everything));
    list.extend(main.findings);
    Account {
        title: preparation.title.clone(),
        elements: preparation.account_for.iter().map(|e| e.symbol().to_owned()).collect(),
        lots: main.lots,
        streams: main.streams,
        feed: main.feed,
        yields,
        hypotheses: main.hypotheses,
        levels: main.levels,
        suppositions: variants,
        cost: main.cost,
        stock: main.stock,
        timing,
        budgets: main.budgets,
        tests: main.tests,
        foreign: main.foreign,
        claim: main.claim,
        next: None,
        series,
        changes: changes::changes(preparation),
        findings: placed(preparation, list),
        method: main.method,
    }
}

/// One case: nothing went wrong, a certain reading slipped, or far more was lost than usual.
pub(super) struct Case {
    pub slipped: Option<ReadingPlace>,
    /// Whether far more was lost than usual.
    pub lost: bool,
    /// Logarithm of its evidence by Laplace, slip prior included.
    pub log_evidence: f64,
    probability: f64,
    /// What the slip itself adds to the logarithm of an evidence.
    log_slip: f64,
}

/// A case with its fitted compositions.
pub(super) struct Worked {
    pub case: Case,
    pub candidates: Candidates,
    pub drawn: Vec<Drawn>,
    /// Logarithms of evidence times prior: fitting compositions in order, then "something else".
    pub logs: Vec<f64>,
}

fn variant(
    preparation: &Preparation,
    table: &mut SpeciesTable,
    (supposition, only, claim): (Option<&Supposition>, Option<&[Alternative]>, Option<&str>),
    (instrument, fits): (Instrument, &Fits),
    progress: &mut dyn FnMut(f64),
) -> Variant {
    let variation = Variation { supposition, ..Variation::PLAIN };
    let plain = everything(preparation, table, variation);
    let element = preparation.account_for.first().filter(|_| supposition.is_none());
    let asked = element.map(|element| (*element, label_feed(preparation, &plain, *element), table.clone()));
    let mut unexpected = Default::default();
    // Masses are explained beside the rest: each has work for one core at times.
    let (worked, weights) = rayon::in_place_scope(|scope| {
        if let Some((element, feed, table)) = &asked {
            let (plain, slot) = (&plain, &mut unexpected);
            let how = (fits, matches!(instrument, Instrument::AtOnce(_)));
            scope.spawn(move |_| *slot = findings::unexpected_masses(preparation, table, plain, feed, *element, how));
        }
        worked_out(preparation, table, variation, (&plain, only), (instrument, fits), progress)
    });
    let told = tell(preparation, table, (variation, claim), instrument, plain, &worked, &weights);
    Variant { unexpected, ..told }
}

impl Worked {
    /// Compositions that were drawn from, in the order of the draws.
    pub fn averaged(&self) -> impl Iterator<Item = &Candidate> {
        self.candidates.list.iter().filter(|c| c.averaged)
    }

    /// Worst tail shape of the weights of its draws; 0 where they have none.
    pub fn tail(&self) -> f64 {
        self.drawn.iter().filter_map(|d| d.tail).fold(0.0, f64::max)
    }
}

/// The ledger that allows everything, the cases worked out with the heaviest first, and the weights of all their parts.
pub(super) fn worked(
    preparation: &Preparation,
    table: &mut SpeciesTable,
    variation: Variation<'_>,
    only: Option<&[Alternative]>,
    (instrument, fits): (Instrument, &Fits),
    progress: &mut dyn FnMut(f64),
) -> (Compiled, Vec<Worked>, Vec<f64>) {
    let plain = everything(preparation, table, variation);
    let (worked, weights) = worked_out(preparation, table, variation, (&plain, only), (instrument, fits), progress);
    (plain, worked, weights)
}

fn worked_out(
    preparation: &Preparation,
    table: &mut SpeciesTable,
    variation: Variation<'_>,
    (plain, only): (&Compiled, Option<&[Alternative]>),
    (instrument, fits): (Instrument, &Fits),
    progress: &mut dyn FnMut(f64),
) -> (Vec<Worked>, Vec<f64>) {
    let cases = cases(preparation, table, variation, plain, fits);
    let count = cases.len().max(1) as f64;
    let mut worked = Vec::new();
    for (i, case) in cases.into_iter().enumerate() {
        let done = i as f64;
        let variation = Variation { without: case.slipped, unusual_losses: case.lost, ..variation };
        let how = (instrument, fits);
        let ordinary = case.slipped.is_none() && !case.lost;
        let all = if ordinary { plain.clone() } else { compile(preparation, table, variation) };
        let of = (all, only);
        worked.push(work(preparation, table, variation, of, how, case, &mut |p| progress((done + p) / count)));
    }
    let weights = heaviest_first(&mut worked);
    (worked, weights)
}

/// Sorts the cases by their weight in the end, the heaviest first, and returns the weights of all their parts.
fn heaviest_first(worked: &mut [Worked]) -> Vec<f64> {
    let weights = |worked: &[Worked]| normalised(worked.iter().flat_map(|w| w.logs.iter().copied()).collect());
    let rough = weights(worked);
    let mut start = 0;
    for w in worked.iter_mut() {
        let end = start + w.logs.len();
        w.case.probability = rough.get(start..end).map_or(0.0, |part| part.iter().sum());
        start = end;
    }
    worked.sort_by(|a, b| b.case.probability.total_cmp(&a.case.probability));
    weights(worked)
}

/// Which reading slipped, if any: cases of more than 1 %, most probable first.
fn cases(
    preparation: &Preparation,
    table: &mut SpeciesTable,
    variation: Variation<'_>,
    plain: &Compiled,
    fits: &Fits,
) -> Vec<Case> {
    let mut cases = Vec::new();
    let mut add = |table: &mut SpeciesTable, slipped: Option<ReadingPlace>, lost: bool, log_slip: f64| {
        let variation = Variation { without: slipped, unusual_losses: lost, ..variation };
        let unusual = lost || slipped.is_some();
        let own = unusual.then(|| compile(preparation, table, variation));
        let compiled = own.as_ref().unwrap_or(plain);
        let evidence = evidence_of(compiled);
        let best = match unusual {
            true => fit(&evidence, Count::Posterior, &FitSettings::default()),
            false => guide(compiled, variation, fits).0,
        };
        let log_evidence = best.log_evidence(&evidence) + log_slip;
        cases.push(Case { slipped, lost, log_evidence, probability: 0.0, log_slip });
        best.chi_squared
    };
    let strain = add(table, None, false, 0.0);
    let ordinary = 9.0 + 2.0 * evidence_of(plain).count() as f64;
    if strain > ordinary {
        for (place, weighing) in plain.places.iter().zip(&plain.weighings) {
            let log_slip = plain.balances.get(weighing.balance).map_or(f64::NEG_INFINITY, Balance::log_slip);
            add(table, Some(*place), false, log_slip);
        }
        add(table, None, true, losses::UNUSUAL_LOSS.ln());
    }
    let probabilities = normalised(cases.iter().map(|c| c.log_evidence).collect());
    for (case, probability) in cases.iter_mut().zip(probabilities) {
        case.probability = probability;
    }
    cases.retain(|c| c.probability > WORTH_CARRYING);
    cases.sort_by(|a, b| b.probability.total_cmp(&a.probability));
    cases
}

fn work(
    preparation: &Preparation,
    table: &mut SpeciesTable,
    variation: Variation<'_>,
    of: (Compiled, Option<&[Alternative]>),
    (instrument, fits): (Instrument, &Fits),
    case: Case,
    progress: &mut dyn FnMut(f64),
) -> Worked {
    let candidates = candidates(preparation, table, variation, of, fits);
    let averaged: Vec<&Candidate> = candidates.list.iter().filter(|c| c.averaged).collect();
    let shares = normalised(averaged.iter().map(|c| c.log_evidence).collect());
    let drawn = instrument.draw(&averaged, &shares, progress);
    let prior = ((1.0 - SOMETHING_ELSE) / candidates.alike as f64).ln() + case.log_slip;
    let mut logs: Vec<f64> = drawn.iter().map(|d| d.log_evidence + prior).collect();
    logs.push(
        something_else(preparation, &candidates.everything, (variation, fits)) + SOMETHING_ELSE.ln() + case.log_slip,
    );
    Worked { case, candidates, drawn, logs }
}

/// The draws of all compositions, weighted among themselves: "something else" draws nothing, and where it is the
/// better by far the compositions are still compared. Where no composition could be drawn from, the prior is told.
pub(super) fn clouds(worked: &[Worked]) -> Vec<Cloud<'_>> {
    let among = normalised(worked.iter().flat_map(|w| w.logs.iter().take(w.drawn.len()).copied()).collect());
    let drawn = worked.iter().flat_map(|w| w.candidates.list.iter().zip(&w.drawn));
    let mut clouds: Vec<Cloud<'_>> = drawn
        .zip(among)
        .map(|((candidate, drawn), weight)| Cloud {
            compiled: &candidate.compiled,
            z: drawn.z.clone(),
            weights: drawn.weights.iter().map(|d| d * weight).collect(),
        })
        .collect();
    let kept: f64 = clouds.iter().flat_map(|c| &c.weights).sum();
    if kept > 0.0 {
        clouds.iter_mut().flat_map(|c| &mut c.weights).for_each(|weight| *weight /= kept);
        return clouds;
    }
    let compiled = &worked[0].candidates.everything;
    let z = latin_hypercube(LIVE_DRAWS, compiled.ledger.unknowns.len(), 1);
    vec![Cloud { compiled, z, weights: vec![1.0 / LIVE_DRAWS as f64; LIVE_DRAWS] }]
}

/// Books and hypotheses over all cases.
fn tell(
    preparation: &Preparation,
    table: &mut SpeciesTable,
    (variation, claim): (Variation<'_>, Option<&str>),
    instrument: Instrument,
    plain: Compiled,
    worked: &[Worked],
    weights: &[f64],
) -> Variant {
    let clouds = clouds(worked);
    let main = &worked[0];
    let order_holds = match instrument {
        Instrument::Live | Instrument::AtOnce(_) => false,
        Instrument::Sampler(_) => {
            let variation = Variation { without: main.case.slipped, unusual_losses: main.case.lost, ..variation };
            order_holds(preparation, table, variation, &main.candidates)
        }
    };
    let books = Books::sum(preparation, table, &clouds, &plain);
    let mut found = findings::fit_findings(preparation, &main.candidates);
    let (foreign, beside) = fell_out::told(preparation, &plain, &clouds);
    if variation.supposition.is_none() {
        found.extend(beside);
        let suspects: Vec<_> = worked.iter().map(|w| (w.case.slipped, w.case.probability)).collect();
        let strained = found.iter().any(|f| f.code == "nothing-fits");
        found.extend(entry::told(preparation, &suspects, strained));
    }
    let spent = Spent::new(preparation, &plain, &books.spent, &books.weights, true);
    let (stock, short) = stock(&spent);
    found.extend(short);
    let element = preparation.account_for.first().copied();
    let levels = element.map_or_else(Vec::new, |e| levels(preparation, e));
    let claim = claim.and_then(|text| claim::judged(&claim::parse(preparation, text).ok()?, &books, &levels));
    let cost = account_cost(&Product { product: books.product(), element, shares: books.shares(), spent: &spent });
    let drawn: Vec<&Drawn> = worked.iter().flat_map(|w| &w.drawn).collect();
    let tail = worst_tail(worked, weights);
    let kind = match instrument {
        Instrument::Sampler(_) if !drawn.is_empty() && drawn.iter().all(|d| d.finished) => "sampled",
        Instrument::Live | Instrument::AtOnce(_) if tail.is_none_or(|t| t <= TAIL_LIMIT) => "live view",
        _ => "refining",
    };
    Variant {
        lots: books.lots(),
        yields: books.yields(),
        streams: books.streams(),
        feed: books.feed(),
        hypotheses: hypotheses(preparation, &books, worked, weights, order_holds),
        findings: found,
        unexpected: Default::default(),
        cost,
        stock,
        method: Method { kind, runs: drawn.iter().map(|d| d.runs).sum(), tail },
        budgets: match instrument {
            Instrument::AtOnce(_) => Vec::new(),
            Instrument::Live | Instrument::Sampler(_) => budgets(preparation, table, main, weights),
        },
        tests: books.tests(),
        foreign,
        claim,
        levels,
        everything: plain,
        alternatives: main.averaged().map(|c| c.alternative.clone()).collect(),
    }
}

/// Worst tail shape of the draws of all compositions on which something hangs; `None` where nothing was drawn so.
fn worst_tail(worked: &[Worked], weights: &[f64]) -> Option<f64> {
    let mut parts = weights.iter();
    let mut tails = Vec::new();
    for w in worked {
        tails.extend(w.drawn.iter().zip(parts.by_ref().take(w.logs.len()).collect::<Vec<_>>()));
    }
    tails.into_iter().filter(|(_, weight)| **weight > MATTERS).filter_map(|(d, _)| d.tail).reduce(f64::max)
}

fn evidence_of(compiled: &Compiled) -> Evidence<'_> {
    compiled.evidence()
}

/// Where the uncertainty of the results comes from, over the compositions of the most probable case.
fn budgets(preparation: &Preparation, table: &SpeciesTable, main: &Worked, weights: &[f64]) -> Vec<Budget> {
    let averaged = main.averaged().zip(&main.drawn).zip(weights);
    let parts: Vec<Part<'_>> = averaged
        .map(|((candidate, drawn), weight)| {
            let fit = drawn.fit.clone().unwrap_or_else(|| candidate.best.clone());
            Part { compiled: &candidate.compiled, fit, weight: *weight }
        })
        .collect();
    budget::budgets(preparation, table, &main.candidates.everything, &parts)
}

/// Weights that add up to one from their logarithms; even where nothing is left to compare.
fn normalised(mut logs: Vec<f64>) -> Vec<f64> {
    logs.iter_mut().filter(|l| l.is_nan()).for_each(|l| *l = f64::NEG_INFINITY);
    let top = logs.iter().copied().fold(f64::NEG_INFINITY, f64::max);
    let even = 1.0 / logs.len().max(1) as f64;
    if !top.is_finite() {
        return vec![even; logs.len()];
    }
    let raw: Vec<f64> = logs.iter().map(|l| (l - top).exp()).collect();
    let sum: f64 = raw.iter().sum();
    raw.iter().map(|w| w / sum).collect()
}
