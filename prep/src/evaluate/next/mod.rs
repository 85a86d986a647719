//! Which test next, and is it worth making?
//!
//! What may be so is a set of possibilities with draws: where a mass is unexpected, the ways that explain it
//! ([`super::explain`]); else the compositions of the account and the suppositions of the file (each as likely beforehand
//! as all others of them together, and all as the account itself). Every test of the table is read off every draw; the
//! scatter of its figure is that of the table with that of the user's finest balance on the portion. The engine then says
//! how much the figure would tell of the claim and of the possibilities, and what it would add to the best test.
//!
//! The portion is such that the balance adds no more than a tenth of a percent (of a share) or two in a thousand (of a
//! content), within the table's usual portion upwards and a fifth of the lot.
//!
//! No further test is advised where every possibility of more than 5 % gives the claim the same answer, or where no test
//! of the table tells more than a hundredth of a bit about it.
//!
//! Neglected: cost in money; that a test may fail; something else, which predicts nothing.
//! Source: expected information (Lindley 1956); sizes of portions by propagation (GUM).

mod trials;

use super::account::{clouds, worked};
use super::alternatives::words;
use super::books::Books;
use super::claim::{self, Look, Parsed, element_mass};
use super::compile::{Compiled, LotKind, Variation, sums};
use super::drawn::{Instrument, RANKING_DRAWS};
use super::explain::{self, Explained};
use super::fits::Fits;
use super::roles::Roles;
use super::table::SpeciesTable;
use super::{direct, findings};
use crate::bench_test::Measure;
use crate::model::{Preparation, Supposition};
use crate::outcome::Next;
use engine::ledger::FOREIGN_KINDS;

/// Probability from which a possibility counts for the wording of a claim.
const COUNTS: f64 = 0.05;
/// Certainty that settles a claim.
const CERTAIN: f64 = 0.95;
/// Information on the claim below which a test is not worth making, bits.
const WORTH: f64 = 0.01;
/// Information below which a test is not listed, bits.
const LISTED: f64 = 1e-3;
/// What the balance may add to a share, and to a content relative to it.
const BY_BALANCE: (f64, f64) = (0.001, 0.002);
/// Largest part of a lot that a test may take.
const LARGEST_PART: f64 = 0.2;
/// Distance at which predictions are told apart, in standard deviations of both.
const APART: f64 = 2.0;
/// Most draws of one way that explains a mass.
const MOST_DRAWS: usize = 48;
/// Most possibilities that are told one by one.
const MOST_TOLD: usize = 8;

/// Draws of what may be so.
struct Field {
    possibilities: Vec<String>,
    /// Possibilities that are two causes at once: they shade into single ones.
    mixed: Vec<bool>,
    /// Possibility of each draw.
    of: Vec<usize>,
    weights: Vec<f64>,
    truths: Vec<bool>,
    lots: Vec<LotField>,
}

/// A lot that could be tested.
struct LotField {
    name: String,
    /// Its mass, kg.
    mass: f64,
    contents: Contents,
}

/// How the draws of a lot are read.
enum Contents {
    /// Rows of the books: amounts, then foreign matter.
    Rows { rows: Vec<f64>, width: usize, compiled: Box<Compiled>, table: SpeciesTable },
    /// Compositions of the ways that explain a mass.
    Mixtures { explained: Explained, picks: Vec<(usize, usize)> },
}

impl LotField {
    /// What a test would read off each draw, SI.
    fn readings(&self, measure: &Measure<'_>) -> Option<Vec<f64>> {
        match &self.contents {
            Contents::Rows { rows, width, compiled, table } => {
                let lot = compiled.lot(&self.name)?;
                let (counted, per) = sums(measure, table, &compiled.lots[lot].contents)?;
                let sum = |row: &[f64], weights: &[f64]| {
                    let (amounts, foreign) = row.split_at(row.len() - FOREIGN_KINDS);
                    let (of_foreign, of_species) = weights.split_at(FOREIGN_KINDS);
                    let pairs = foreign.iter().zip(of_foreign).chain(amounts.iter().zip(of_species));
                    pairs.map(|(n, w)| n * w).sum::<f64>()
                };
                let read = |row: &[f64]| {
                    let whole = sum(row, &per);
                    if whole > 0.0 { sum(row, &counted) / whole } else { 0.0 }
                };
                Some(rows.chunks(*width).map(read).collect())
            }
            Contents::Mixtures { explained, picks } => {
                let shares = explain::shares(measure, &explained.species);
                picks
                    .iter()
                    .map(|(way, draw)| explain::reading(&shares, &explained.ways[*way].compositions[*draw].0))
                    .collect()
            }
        }
    }
}

/// Which test next; about `claim`, else that of the file, else that the product is the target.
#[must_use]
pub fn next(preparation: &Preparation, claim: Option<&str>) -> Next {
    next_after(preparation, claim, &Fits::default())
}

/// Which test next, after an account whose fits are known.
#[must_use]
pub fn next_after(preparation: &Preparation, claim: Option<&str>, fits: &Fits) -> Next {
    let mut table = SpeciesTable::default();
    let (plain, worked, weights) =
        worked(preparation, &mut table, Variation::PLAIN, None, (Instrument::AtOnce(RANKING_DRAWS), fits), &mut |_| {});
    let clouds = clouds(&worked);
    let books = Books::sum(preparation, &table, &clouds, &plain);
    let written = claim.or_else(|| preparation.claim.as_ref().map(|c| c.value.as_str()));
    let parsed = written.and_then(|text| claim::parse(preparation, text).ok());
    let stated = parsed.is_some();
    let mut empty = Next {
        title: preparation.title.clone(),
        claim: String::new(),
        stated,
        lot: String::new(),
        probability: f64::NAN,
        possibilities: Vec::new(),
        tests: Vec::new(),
        degenerate: Vec::new(),
        stop: true,
        advice: "nothing is claimed: add `claim = \"…\"` or a `target`".to_owned(),
        findings: Vec::new(),
    };
    let Some(parsed) = parsed.or_else(|| claim::default_claim(preparation)) else { return empty };
    let Some(lot) = parsed.about(&books) else { return empty };
    (empty.claim, empty.lot) = (parsed.text.clone(), lot.clone());
    let explained = preparation.account_for.first().map_or_else(Vec::new, |element| {
        let feed = direct::label_feed(preparation, &plain, *element);
        findings::unexpected_masses(preparation, &table, &plain, &feed, *element, (fits, false)).1
    });
    let about = explained.into_iter().find(|explained| explained.lot == lot);
    let field = match about {
        Some(explained) => by_explanation(preparation, &parsed, explained, &books),
        None => {
            let texts = worked
                .iter()
                .flat_map(|w| {
                    w.averaged().map(|candidate| words(preparation, &w.candidates.everything, &candidate.alternative))
                })
                .collect();
            let log = log_sum(worked.iter().flat_map(|w| w.logs.iter().copied()));
            by_compositions(preparation, &parsed, &lot, &books, texts, (&plain, &table), log)
        }
    };
    drop(weights);
    let Some(field) = field else { return empty };
    trials::told(preparation, empty, &field)
}

/// Possibilities of an unexpected mass.
fn by_explanation(
    preparation: &Preparation,
    parsed: &Parsed,
    explained: Explained,
    books: &Books<'_>,
) -> Option<Field> {
    let element = *preparation.account_for.first()?;
    let fed: f64 = books.feed_mass()?;
    let mut field = Field {
        possibilities: Vec::new(),
        mixed: Vec::new(),
        of: Vec::new(),
        weights: Vec::new(),
        truths: Vec::new(),
        lots: Vec::new(),
    };
    let mut picks = Vec::new();
    for (w, way) in explained.ways.iter().enumerate().filter(|(_, way)| !way.compositions.is_empty()) {
        for (d, share) in thinned(&way.compositions) {
            let composition = &way.compositions[d].0;
            let mass: f64 = composition.iter().map(|(_, m)| m).sum();
            let substance = |formula: &chem::Formula| {
                let of = |(s, m): &(usize, f64)| explained.species[*s].0.formula.same_substance(formula).then_some(*m);
                composition.iter().filter_map(of).sum::<f64>()
            };
            let held = |element| {
                composition
                    .iter()
                    .map(|(s, m)| element_mass(&explained.species[*s].0.formula, element, *m))
                    .sum::<f64>()
            };
            let look = Look { mass, substance: &substance, element: &held, recovered: held(element) / fed };
            field.truths.push(parsed.holds(&look));
            field.of.push(field.possibilities.len());
            field.weights.push(way.probability * share);
            picks.push((w, d));
        }
        field.possibilities.push(way.text.clone());
        field.mixed.push(way.causes.len() > 1);
    }
    normalise(&mut field.weights);
    let (name, mass) = (explained.lot.clone(), explained.mass);
    field.lots.push(LotField { name, mass, contents: Contents::Mixtures { explained, picks } });
    Some(field)
}

/// A few of many weighted compositions, spread evenly through their weights.
fn thinned(compositions: &[(explain::Composition, f64)]) -> Vec<(usize, f64)> {
    let whole: f64 = compositions.iter().map(|(_, w)| w).sum();
    let each = whole / MOST_DRAWS as f64;
    let mut list: Vec<(usize, f64)> = Vec::new();
    let (mut below, mut next) = (0.0, 0.5 * each);
    for (d, (_, weight)) in compositions.iter().enumerate() {
        below += weight;
        let taken = ((below - next) / each).floor().max(-1.0) + 1.0;
        if taken > 0.0 {
            list.push((d, taken * each));
            next += taken * each;
        }
    }
    list
}

/// Possibilities of an account: its compositions, and the suppositions of the file.
fn by_compositions(
    preparation: &Preparation,
    parsed: &Parsed,
    lot: &str,
    books: &Books<'_>,
    texts: Vec<String>,
    (plain, table): (&Compiled, &SpeciesTable),
    log: f64,
) -> Option<Field> {
    let names = testable(preparation, plain, table, lot);
    let mut field = Field {
        mixed: vec![false; texts.len()],
        possibilities: texts,
        of: Vec::new(),
        weights: Vec::new(),
        truths: Vec::new(),
        lots: Vec::new(),
    };
    let mut parts: Vec<(f64, f64)> = Vec::new();
    let mut counts = Vec::new();
    enter(&mut field, parsed, lot, books, &names, (plain, table), None)?;
    parts.push((log, 0.5));
    counts.push(field.of.len());
    for supposition in &preparation.suppositions {
        let start = field.of.len();
        let log = suppose(preparation, parsed, lot, supposition, &names, &mut field).unwrap_or(f64::NEG_INFINITY);
        parts.push((log, 0.5 / preparation.suppositions.len() as f64));
        counts.push(field.of.len() - start);
    }
    if parts.len() > 1 {
        let top = parts.iter().map(|(log, _)| *log).fold(f64::NEG_INFINITY, f64::max);
        let shares: Vec<f64> = parts.iter().map(|(log, prior)| prior * (log - top).exp()).collect();
        let whole: f64 = shares.iter().sum();
        let mut weights = field.weights.iter_mut();
        for (count, share) in counts.iter().zip(&shares) {
            weights.by_ref().take(*count).for_each(|w| *w *= share / whole);
        }
    }
    normalise(&mut field.weights);
    Some(field)
}

/// Adds the draws of a supposition; the logarithm of its evidence.
fn suppose(
    preparation: &Preparation,
    parsed: &Parsed,
    lot: &str,
    supposition: &Supposition,
    names: &[String],
    field: &mut Field,
) -> Option<f64> {
    let mut table = SpeciesTable::default();
    let variation = Variation { supposition: Some(supposition), ..Variation::PLAIN };
    let (plain, worked, _) = worked(
        preparation,
        &mut table,
        variation,
        None,
        (Instrument::AtOnce(RANKING_DRAWS), &Fits::default()),
        &mut |_| {},
    );
    let clouds = clouds(&worked);
    let books = Books::sum(preparation, &table, &clouds, &plain);
    let number = field.possibilities.len();
    field.possibilities.push(supposition.name.value.clone());
    field.mixed.push(false);
    enter(field, parsed, lot, &books, names, (&plain, &table), Some(number))?;
    Some(log_sum(worked.iter().flat_map(|w| w.logs.iter().copied())))
}

/// Enters the draws of books: as one possibility, or each cloud as one of its own.
fn enter(
    field: &mut Field,
    parsed: &Parsed,
    lot: &str,
    books: &Books<'_>,
    names: &[String],
    (plain, table): (&Compiled, &SpeciesTable),
    one: Option<usize>,
) -> Option<()> {
    let truths = claim::truths(parsed, books, lot)?;
    let (_, _, of) = books.draws_of(lot)?;
    let last = field.possibilities.len().saturating_sub(1);
    field.of.extend(of.iter().map(|cloud| one.unwrap_or((*cloud).min(last))));
    field.weights.extend(&books.weights);
    field.truths.extend(truths);
    for name in names {
        let (rows, width, _) = books.draws_of(name)?;
        let whole: f64 = books.looks(name)?.iter(|look| look.mass).iter().zip(&books.weights).map(|(m, w)| m * w).sum();
        match field.lots.iter_mut().find(|lot| lot.name == *name) {
            // Rows of a supposition may be wider: its table knows the trace.
            Some(LotField { contents: Contents::Rows { rows: known, width: own, compiled, table: wider }, .. }) => {
                let (narrow, wide) = (*own, width);
                if wide > narrow {
                    *known = known.chunks(narrow).flat_map(|row| widened(row, wide)).collect();
                    (*own, **compiled, *wider) = (wide, plain.clone(), table.clone());
                }
                let target = *own;
                known.extend(rows.chunks(width).flat_map(|row| widened(row, target)));
            }
            _ => {
                let contents = Contents::Rows { rows, width, compiled: Box::new(plain.clone()), table: table.clone() };
                field.lots.push(LotField { name: name.clone(), mass: whole, contents });
            }
        }
    }
    Some(())
}

/// A row with room for more species: amounts, then foreign matter.
fn widened(row: &[f64], width: usize) -> Vec<f64> {
    let (amounts, foreign) = row.split_at(row.len().saturating_sub(FOREIGN_KINDS));
    let blank = std::iter::repeat_n(0.0, width.saturating_sub(row.len()));
    amounts.iter().copied().chain(blank).chain(foreign.iter().copied()).collect()
}

/// Lots on the way to the claimed one that are in hand: solids that no step with a reading has taken; and that lot itself.
fn testable(preparation: &Preparation, compiled: &Compiled, table: &SpeciesTable, lot: &str) -> Vec<String> {
    let done = preparation.steps.iter().rposition(|step| {
        step.readings.iter().any(|r| r.weigh.is_some()) || step.determinations.iter().any(|d| d.found.is_some())
    });
    let roles = Roles::of(compiled, preparation, table);
    let mut names: Vec<String> = Vec::new();
    for (number, record) in compiled.lots.iter().enumerate().filter(|(_, r)| r.named && r.kind == LotKind::Solid) {
        let made = done.is_some_and(|done| record.step <= done);
        let kept = roles.taken_by(number).is_none_or(|by| done.is_none_or(|done| by > done));
        if record.name == lot || made && kept && roles.is_on_path(number) {
            names.push(record.name.clone());
        }
    }
    names
}

fn log_sum(logs: impl Iterator<Item = f64>) -> f64 {
    let logs: Vec<f64> = logs.filter(|l| !l.is_nan()).collect();
    let top = logs.iter().copied().fold(f64::NEG_INFINITY, f64::max);
    top + logs.iter().map(|l| (l - top).exp()).sum::<f64>().ln()
}

fn normalise(weights: &mut [f64]) {
    let whole: f64 = weights.iter().sum();
    weights.iter_mut().for_each(|w| *w /= whole);
}
