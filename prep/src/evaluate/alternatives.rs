//! Which compositions explain the readings?
//!
//! Every step with `may_hold` offers the subsets of its patterns that give each convertible solid somewhere
//! to go; a hydrate family may stand at its lowest hydration or be free. Before any reading they are alike probable, large
//! and small: a mixture that the readings cannot see is as possible as the pure substance, and an interval that
//! forgets it is too narrow (`benches/CALIBRATION.md` shows it). Each is fitted; what its evidence makes
//! improbable beyond a few in ten thousand is dropped, the rest is averaged.
//!
//! Naming is another matter. A composition fits if its best fit strains readings and priors by less than 2 in χ²
//! more than everything `may_hold` allows together. The smallest that fit are what the solid is said to be consistent
//! with; what contains one of them is told as a larger mixture. Smallest fits that differ by less than 2 in χ² are one
//! group. A strain of more than 9 (three standard uncertainties) is called excluded, between the two doubtful.
//!
//! Beside them stands "something else": it leaves the composition open and predicts each reading that
//! depends on it uniformly over its feasible range. It keeps a prior probability of 5 %.
//!
//! Neglected: the evidence that decides what is dropped is Laplace's, off by one or two nats where an extent lies at its
//! bound; the limit leaves room for that. Source of averaging: Hoeting et al., Stat. Sci. 14 (1999) 382.

use super::compile::{Alternative, Compiled, Composition, StepOptions, Variation, compile};
use super::fits::{Fits, carried_over};
use super::table::SpeciesTable;
use crate::model::{Preparation, Spanned};
use chem::SpeciesPattern;
use engine::account::fit::{Count, Fit, FitSettings, fit, fit_near};
use rayon::prelude::*;

/// Excess of χ² from which a composition is excluded.
pub(crate) const EXCLUDED: f64 = 9.0;
/// Difference of χ² within which readings cannot tell compositions apart.
const INDISTINGUISHABLE: f64 = 2.0;
/// Most combinations that are fitted.
const MOST_CANDIDATES: usize = 256;
/// Most compositions of one step.
const MOST_OF_A_STEP: usize = 512;
/// Hydrate families of one step that may be free together.
const MOST_FREE_FAMILIES: usize = 4;
/// Most compositions that are averaged; those of most evidence.
const MOST_AVERAGED: usize = 24;
/// Natural logarithm of the factor by which the evidence of a composition may lie below the best and still be averaged.
const WORTH_AVERAGING: f64 = 8.0;
/// Excess of χ² from which no evidence is worked out: a hundred million million to one.
const HOPELESS: f64 = 64.0;
/// Where the search for the least strain stops: compositions are told apart by differences of 2.
const STRAIN_FALL: f64 = 1e-3;
/// Share of the evidence that may be cut off without a word.
const SILENT_SHARE: f64 = 0.01;
/// Prior probability of "something else".
pub(crate) const SOMETHING_ELSE: f64 = 0.05;

/// A composition with its best fit.
pub(crate) struct Candidate {
    /// The composition.
    pub alternative: Alternative,
    /// Its ledger.
    pub compiled: Compiled,
    /// Strain of the best fit.
    pub strain: Fit,
    /// The fit of readings and priors together.
    pub best: Fit,
    /// Natural logarithm of the evidence by Laplace's method.
    pub log_evidence: f64,
    /// Whether it fits.
    pub fits: bool,
    /// Whether it contains another that fits.
    pub larger: bool,
    /// Whether it is averaged.
    pub averaged: bool,
    /// Group among the smallest that fit.
    pub group: Option<usize>,
}

/// All candidates looked at.
pub(crate) struct Candidates {
    /// Candidates, averaged ones first, by rising χ².
    pub list: Vec<Candidate>,
    /// Number of compositions that were alike probable before any reading.
    pub alike: usize,
    /// The ledger that allows everything.
    pub everything: Compiled,
    /// Its strain.
    pub least: f64,
    /// Whether combinations were left out.
    pub cut_short: bool,
}

/// Compositions one step may have, with the number of free unknowns of each, in rising order of it; and whether there
/// are more than [`MOST_OF_A_STEP`].
pub(crate) fn of_step(
    compiled: &Compiled,
    preparation: &Preparation,
    step: usize,
) -> (Vec<(Composition, usize)>, bool) {
    let Some(options) = compiled.options.get(step) else { return (Vec::new(), false) };
    let patterns = &preparation.steps[step].may_hold;
    if patterns.is_empty() {
        return (Vec::new(), false);
    }
    let mut forced: Vec<usize> = options.reach.iter().filter(|r| r.len() == 1).map(|r| r[0]).collect();
    forced.dedup();
    let mut open: Vec<usize> = options.reach.iter().flatten().copied().filter(|k| !forced.contains(k)).collect();
    open.sort_unstable();
    open.dedup();
    let mut list = Vec::new();
    let mut cut = false;
    // Smaller subsets first, so that what is cut is what has the most freedom.
    for size in 0..=open.len() {
        cut |= !subsets(&open, size, &mut |chosen| {
            let mut carriers = forced.clone();
            carriers.extend_from_slice(chosen);
            carriers.sort_unstable();
            if options.reach.iter().all(|reach| reach.iter().any(|k| carriers.contains(k))) {
                add_manners(options, patterns, &carriers, &mut list);
            }
            list.len() < MOST_OF_A_STEP
        });
        if cut {
            break;
        }
    }
    list.sort_by_key(|(_, free)| *free);
    (list, cut)
}

/// Shows every subset of `size` members to `visit`, as long as it wants more; whether it saw them all.
fn subsets(members: &[usize], size: usize, visit: &mut dyn FnMut(&[usize]) -> bool) -> bool {
    fn go(rest: &[usize], size: usize, chosen: &mut Vec<usize>, visit: &mut dyn FnMut(&[usize]) -> bool) -> bool {
        if size == 0 {
            return visit(chosen);
        }
        for (i, member) in rest.iter().enumerate() {
            if rest.len() - i < size {
                break;
            }
            chosen.push(*member);
            let more = go(&rest[i + 1..], size - 1, chosen, visit);
            chosen.pop();
            if !more {
                return false;
            }
        }
        true
    }
    go(members, size, &mut Vec::new(), visit)
}

/// Adds the compositions of a set of carriers: each hydrate family at its lowest hydration or free, moist or not.
fn add_manners(
    options: &StepOptions,
    patterns: &[Spanned<SpeciesPattern>],
    carriers: &[usize],
    list: &mut Vec<(Composition, usize)>,
) {
    let present = |reach: &Vec<usize>| reach.iter().filter(|k| carriers.contains(k)).count();
    let shares: usize = options.reach.iter().map(|reach| present(reach).saturating_sub(1)).sum();
    let families: Vec<usize> =
        carriers.iter().copied().filter(|k| matches!(patterns[*k].value, SpeciesPattern::Family { .. })).collect();
    for free in 0..1usize << families.len().min(MOST_FREE_FAMILIES) {
        for moist in 0..=usize::from(options.moisture.is_some()) {
            let is_free = |k: usize| families.iter().position(|f| *f == k).is_some_and(|i| free >> i & 1 == 1);
            let mut chosen: Vec<(usize, bool)> = carriers.iter().map(|k| (*k, is_free(*k))).collect();
            if moist == 1
                && let Some(k) = options.moisture
            {
                chosen.push((k, true));
            }
            let free_count = usize::try_from(free.count_ones()).unwrap_or(0);
            list.push((Composition { patterns: chosen }, shares + free_count + moist));
        }
    }
}

/// All combinations over the steps with their number of free unknowns, in rising order of it; and whether some were
/// left out.
pub(crate) fn combinations(compiled: &Compiled, preparation: &Preparation) -> (Vec<(Alternative, usize)>, bool) {
    // Numbers of compositions, one for each step, until the end: clones of whole lists would cost most of the time.
    let mut list: Vec<(Vec<usize>, usize)> = vec![(Vec::new(), 0)];
    let mut cut = false;
    let own: Vec<Vec<(Composition, usize)>> = (0..preparation.steps.len())
        .map(|step| {
            let (own, more) = of_step(compiled, preparation, step);
            cut |= more;
            own
        })
        .collect();
    for own in own.iter().filter(|own| !own.is_empty()) {
        let mut order: Vec<(usize, usize, usize)> = Vec::new();
        for (i, (_, count)) in list.iter().enumerate() {
            order.extend(own.iter().enumerate().map(|(j, (_, free))| (count + free, i, j)));
        }
        order.sort_unstable();
        cut |= order.len() > MOST_CANDIDATES;
        list = order
            .into_iter()
            .take(MOST_CANDIDATES)
            .map(|(count, i, j)| (list[i].0.iter().copied().chain([j]).collect(), count))
            .collect();
    }
    let told = list.into_iter().map(|(numbers, count)| {
        let mut numbers = numbers.into_iter();
        let pick = |own: &Vec<(Composition, usize)>| {
            own.first()
                .and_then(|_| numbers.next())
                .and_then(|j| own.get(j))
                .map(|(composition, _)| composition.clone())
        };
        (own.iter().map(pick).collect(), count)
    });
    (told.collect(), cut)
}

/// Whether `small` is contained in `large`.
fn contains(large: &Alternative, small: &Alternative) -> bool {
    large.iter().zip(small).all(|(large, small)| match (large, small) {
        (Some(large), Some(small)) => {
            small.patterns.iter().all(|(k, free)| large.patterns.iter().any(|(l, open)| l == k && (*open || !free)))
        }
        _ => true,
    })
}

/// The fit of readings and priors together, from the prior median or from coordinates near it; and from there the
/// strain: without the priors as a guide the valleys of many readings are too narrow to be found.
fn fits_of(compiled: &Compiled, known: Option<&[f64]>) -> (Fit, Fit) {
    let evidence = compiled.evidence();
    let settings = FitSettings::default();
    let best = match known {
        Some(known) => fit_near(&evidence, Count::Posterior, &settings, known),
        None => fit(&evidence, Count::Posterior, &settings),
    };
    let settings = FitSettings { fall: STRAIN_FALL, ..settings };
    let strain = fit_near(&evidence, Count::Strain, &settings, &best.z);
    (best, strain)
}

/// The fit of everything together, posterior and strain.
pub(crate) fn guide(compiled: &Compiled, variation: Variation<'_>, fits: &Fits) -> (Fit, Fit) {
    again(compiled, &name_of(variation, None), fits, f64::INFINITY).unwrap_or_else(|| {
        let (best, strain) = fits_of(compiled, None);
        noted(compiled, &name_of(variation, None), fits, (best, strain))
    })
}

/// The fits from where they ended before, if they still hold. What was out of the question beside this least strain is
/// looked at where it was, and sought only if that has changed.
fn again(compiled: &Compiled, name: &str, fits: &Fits, least: f64) -> Option<(Fit, Fit)> {
    let (best, now) = fits.known(name)?;
    let (strain, _) = fits.known(&strained(name))?;
    let evidence = compiled.evidence();
    let looked =
        || Some((best.look(compiled, &evidence, Count::Posterior)?, strain.look(compiled, &evidence, Count::Strain)?));
    if now {
        return looked();
    }
    if strain.exceeds(least + HOPELESS + EXCLUDED) {
        let (there, strained_there) = looked()?;
        if best.like(&there) && strain.like(&strained_there) {
            fits.keep(name, best);
            fits.keep(&strained(name), strain);
            return Some((there, strained_there));
        }
    }
    let settings = FitSettings::default();
    let found = best.fit(compiled, &evidence, Count::Posterior, &settings)?;
    let settings = FitSettings { fall: STRAIN_FALL, ..settings };
    let found_strain = strain.fit(compiled, &evidence, Count::Strain, &settings)?;
    let holds = best.still(&found) && strain.still(&found_strain);
    holds.then(|| noted(compiled, name, fits, (found, found_strain)))
}

fn noted(compiled: &Compiled, name: &str, fits: &Fits, (best, strain): (Fit, Fit)) -> (Fit, Fit) {
    fits.note(name, compiled, &best);
    fits.note(&strained(name), compiled, &strain);
    (best, strain)
}

fn strained(name: &str) -> String {
    format!("{name}, strain")
}

/// What is fitted, in a word by which it is found again.
pub(crate) fn name_of(variation: Variation<'_>, alternative: Option<&Alternative>) -> String {
    let supposed = variation.supposition.map(|s| s.name.value.as_str());
    let Variation { without, unusual_losses, width, .. } = variation;
    format!("{without:?} {unusual_losses} {width} {supposed:?} {alternative:?}")
}

/// Compiles everything that `may_hold` allows at once. Twice: the first run meets all species, the second gives
/// every lot a row for each of them.
pub(crate) fn everything(preparation: &Preparation, table: &mut SpeciesTable, variation: Variation<'_>) -> Compiled {
    let _ = compile(preparation, table, variation);
    compile(preparation, table, variation)
}

/// Fits the compositions of a preparation; `variation` without an alternative, with everything compiled. With `only`, these compositions and
/// no others: a supposition changes one thing and leaves the compositions of the account as they are.
pub(crate) fn candidates(
    preparation: &Preparation,
    table: &mut SpeciesTable,
    variation: Variation<'_>,
    (everything, only): (Compiled, Option<&[Alternative]>),
    fits: &Fits,
) -> Candidates {
    let (guide, strain) = guide(&everything, variation, fits);
    let least = strain.chi_squared;
    let fitted = |alternative: Alternative, compiled: Compiled| {
        let name = name_of(variation, Some(&alternative));
        let found = again(&compiled, &name, fits, least)
            .unwrap_or_else(|| noted(&compiled, &name, fits, fits_near(&compiled, least, (&guide, &everything))));
        candidate(alternative, compiled, least, found)
    };
    let (alternatives, cut_short) = match only {
        Some(only) => (only.iter().map(|a| (a.clone(), 0)).collect(), false),
        None => combinations(&everything, preparation),
    };
    let alike = alternatives.len().max(1);
    let compiled = compile_each(preparation, table, variation, &alternatives);
    let mut list: Vec<Candidate> = alternatives
        .into_par_iter()
        .zip(compiled)
        .map(|((alternative, _), compiled)| fitted(alternative, compiled))
        .collect();
    if !list.iter().any(|c| c.fits) {
        // The combinations that were looked at do not fit: everything together speaks as well.
        let compiled = compile(preparation, table, variation);
        list.push(fitted(vec![None; preparation.steps.len()], compiled));
    }
    let lost = choose(&mut list, only.is_some());
    list.sort_by(|a, b| b.averaged.cmp(&a.averaged).then(a.strain.chi_squared.total_cmp(&b.strain.chi_squared)));
    mark_larger(&mut list);
    group(&mut list);
    Candidates { list, everything, least, alike, cut_short: cut_short || lost > SILENT_SHARE }
}

/// Compiles compositions side by side, as a rule: by now all species have been met, and tables of their own agree. Where
/// one brings up a species that everything together does not, one after the other.
pub(crate) fn compile_each(
    preparation: &Preparation,
    table: &mut SpeciesTable,
    variation: Variation<'_>,
    alternatives: &[(Alternative, usize)],
) -> Vec<Compiled> {
    let compiled = |table: &mut SpeciesTable, alternative: &Alternative| {
        compile(preparation, table, Variation { alternative: Some(alternative), ..variation })
    };
    let met = table.len();
    let side_by_side = |table: &mut SpeciesTable, (alternative, _): &(Alternative, usize)| {
        let compiled = compiled(table, alternative);
        (table.len() == met).then_some(compiled)
    };
    let all: Option<Vec<Compiled>> = alternatives.par_iter().map_init(|| table.clone(), side_by_side).collect();
    all.unwrap_or_else(|| alternatives.iter().map(|(alternative, _)| compiled(table, alternative)).collect())
}

/// The fits of a composition, sought near the fit of everything together, and from the median where that is not good.
fn fits_near(compiled: &Compiled, least: f64, guide: (&Fit, &Compiled)) -> (Fit, Fit) {
    let start = carried_over(&guide.0.z, &guide.1.origins, compiled);
    let (best, strain) = fits_of(compiled, Some(&start));
    if strain.chi_squared - least <= EXCLUDED {
        return (best, strain);
    }
    let (own, own_strain) = fits_of(compiled, None);
    if own_strain.chi_squared < strain.chi_squared { (own, own_strain) } else { (best, strain) }
}

/// A composition with its fits.
fn candidate(alternative: Alternative, compiled: Compiled, least: f64, (best, strain): (Fit, Fit)) -> Candidate {
    let excess = strain.chi_squared - least;
    let log_evidence = if excess < HOPELESS { best.log_evidence(&compiled.evidence()) } else { f64::NEG_INFINITY };
    let fits = excess <= INDISTINGUISHABLE;
    Candidate { alternative, compiled, strain, best, log_evidence, fits, larger: false, averaged: false, group: None }
}

/// Chooses what is averaged, all of them if `all`; returns the share of the evidence that is left out.
fn choose(list: &mut [Candidate], all: bool) -> f64 {
    let top = list.iter().map(|c| c.log_evidence).fold(f64::NEG_INFINITY, f64::max);
    if !top.is_finite() {
        // Nothing has evidence: what fits is shown, or all that there is.
        let any = list.iter().any(|c| c.fits);
        list.iter_mut().for_each(|c| c.averaged = all || c.fits || !any);
        return 0.0;
    }
    let mut order: Vec<usize> = (0..list.len()).collect();
    order.sort_by(|a, b| list[*b].log_evidence.total_cmp(&list[*a].log_evidence));
    let mut left_out = 0.0;
    let mut whole = 0.0;
    for (rank, i) in order.into_iter().enumerate() {
        let candidate = &mut list[i];
        let share = (candidate.log_evidence - top).exp();
        candidate.averaged = all || (rank < MOST_AVERAGED && candidate.log_evidence >= top - WORTH_AVERAGING);
        whole += share;
        left_out += if candidate.averaged { 0.0 } else { share };
    }
    left_out / whole
}

/// Marks what contains another that fits.
fn mark_larger(list: &mut [Candidate]) {
    let larger: Vec<bool> = list
        .iter()
        .enumerate()
        .map(|(i, large)| {
            list.iter().enumerate().any(|(j, small)| {
                i != j
                    && small.fits
                    && contains(&large.alternative, &small.alternative)
                    && !contains(&small.alternative, &large.alternative)
            })
        })
        .collect();
    for (candidate, larger) in list.iter_mut().zip(larger) {
        candidate.larger = larger;
    }
}

/// Numbers the groups of the smallest that fit: each group spans less than 2 in χ² from its best.
fn group(list: &mut [Candidate]) {
    let mut smallest: Vec<&mut Candidate> = list.iter_mut().filter(|c| c.fits && !c.larger).collect();
    smallest.sort_by(|a, b| a.strain.chi_squared.total_cmp(&b.strain.chi_squared));
    let (mut number, mut best) = (0, f64::NEG_INFINITY);
    for candidate in smallest {
        if candidate.strain.chi_squared - best >= INDISTINGUISHABLE {
            number += usize::from(best.is_finite());
            best = candidate.strain.chi_squared;
        }
        candidate.group = Some(number);
    }
}

/// The composition in words: only steps that had a choice.
pub(crate) fn words(preparation: &Preparation, everything: &Compiled, alternative: &Alternative) -> String {
    let mut parts = Vec::new();
    for (i, composition) in alternative.iter().enumerate() {
        let (Some(composition), Some(step)) = (composition, preparation.steps.get(i)) else { continue };
        if of_step(everything, preparation, i).0.len() < 2 {
            continue;
        }
        let solids: Vec<String> = composition
            .patterns
            .iter()
            .filter_map(|(k, free)| step.may_hold.get(*k).map(|p| pattern_words(&p.value, *free)))
            .collect();
        let lot = step.gives.first().map_or(step.name.value.as_str(), |g| g.lot.value.as_str());
        parts.push(format!("{lot}: {}", solids.join(" with ")));
    }
    if alternative.iter().all(Option::is_none) && preparation.steps.iter().any(|s| !s.may_hold.is_empty()) {
        return "everything listed, together".to_owned();
    }
    if parts.is_empty() { "as listed in the file".to_owned() } else { parts.join("; ") }
}

/// A pattern in words.
pub(crate) fn pattern_words(pattern: &SpeciesPattern, free: bool) -> String {
    match pattern {
        SpeciesPattern::One(species) => species.to_string(),
        SpeciesPattern::Family { text, .. } if free => text.split(',').next().unwrap_or(text).to_owned(),
        SpeciesPattern::Family { anhydrous, low, .. } if *low == 0.0 => anhydrous.to_string(),
        SpeciesPattern::Family { anhydrous, low, .. } => format!("{anhydrous} with {low} H2O"),
    }
}
