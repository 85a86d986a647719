//! Which readings and assumptions make the uncertainty of a result, and which would halve it?
//!
//! For each composition that fits, the engine's budget of first order about its best fit; gradients by central
//! differences of the forward run. Sources of one name (the two unknowns of a balance, all shares of a composition) are
//! added. Over compositions the variance is that within them, weighted, and that between them, which is a source of its
//! own: "which composition holds". Known perfectly means ten thousand times better.
//!
//! Neglected: what is beyond first order; the sampled uncertainty beside it tells how much that is.
//! Source: law of total variance; GUM (JCGM 100:2008) for the shares.

use super::compile::Compiled;
use super::direct;
use super::roles::Roles;
use super::table::SpeciesTable;
use crate::model::Preparation;
use crate::outcome::{Budget, BudgetShare};
use chem::Element;
use engine::account::budget::{Source, budget, variance_with};
use engine::account::fit::Fit;
use engine::ledger::{Contents, Lot, Workspace};
use rayon::prelude::*;
use std::collections::HashMap;

/// Step of the differences, in prior standard deviations.
const STEP: f64 = 1e-3;
/// What perfect knowledge is taken as.
const PERFECT: f64 = 1e4;
/// Shares below this are told together.
const LEAST_SHARE: f64 = 0.005;
/// Most sources that are asked whether they would halve it.
const MOST_NEEDED: usize = 4;
/// Name of the source that is the choice among compositions.
const BETWEEN: &str = "which composition holds";

/// A composition that fits, with its weight.
pub(super) struct Part<'a> {
    pub compiled: &'a Compiled,
    pub fit: Fit,
    pub weight: f64,
}

/// What a result is.
enum Asked {
    /// Mass of the element in a lot when it was given, g.
    Content(Lot),
    /// Yield from feed to product, %.
    Yield,
}

struct Question {
    asked: Asked,
    of: String,
    what: String,
    unit: &'static str,
}

/// Budgets of the product's content, of the yield, and of the content of lots of which a portion was tested.
pub(super) fn budgets(
    preparation: &Preparation,
    table: &SpeciesTable,
    everything: &Compiled,
    parts: &[Part<'_>],
) -> Vec<Budget> {
    let (Some(element), Some(first)) = (preparation.account_for.first().copied(), parts.first()) else {
        return Vec::new();
    };
    if first.compiled.evidence().count() == 0 {
        return Vec::new();
    }
    let roles = Roles::of(everything, preparation, table);
    let symbol = element.symbol();
    let mut questions = Vec::new();
    let mut lots: Vec<Lot> = roles.product.into_iter().collect();
    if !lots.is_empty() {
        questions.push(Question {
            asked: Asked::Yield,
            of: "yield".to_owned(),
            what: "yield, feed to product".to_owned(),
            unit: "%",
        });
    }
    let tested = direct::portion_tests(preparation).into_iter().filter_map(|test| first.compiled.lot(test.bulk));
    lots.extend(tested.chain(first.compiled.determinations.iter().map(|d| d.lot)));
    for (i, lot) in lots.iter().enumerate().filter(|(i, lot)| !lots[..*i].contains(lot)) {
        let name = &first.compiled.lots[*lot].name;
        let question = Question {
            asked: Asked::Content(*lot),
            of: format!("{name}: {symbol}"),
            what: format!("{symbol} in {name}"),
            unit: "g",
        };
        questions.insert(i.min(questions.len()), question);
    }
    let model = Model { preparation, table, roles: &roles, element };
    questions.par_iter().filter_map(|question| model.told(question, parts)).collect()
}

struct Model<'a> {
    preparation: &'a Preparation,
    table: &'a SpeciesTable,
    roles: &'a Roles,
    element: Element,
}

/// Groups of sources by name, in order of appearance.
type Groups = Vec<(String, Vec<Source>)>;

impl Model<'_> {
    /// The value of a result after a run.
    fn value(&self, asked: &Asked, counts: &[f64], room: &Workspace<f64>) -> f64 {
        let content =
            |contents: Contents<'_, f64>| contents.amounts.iter().zip(counts).map(|(n, c)| n * c).sum::<f64>();
        match asked {
            Asked::Content(lot) => {
                content(room.given(*lot)) * self.element.atomic_weight().map_or(f64::NAN, |w| w.value)
            }
            Asked::Yield => {
                let (totals, charged) = self.roles.totals(|lot| content(room.now(lot)));
                if charged > 0.0 { 100.0 * totals[0] / charged } else { 0.0 }
            }
        }
    }

    fn gradient(&self, asked: &Asked, part: &Part<'_>, counts: &[f64]) -> (f64, Vec<f64>) {
        let ledger = &part.compiled.ledger;
        let mut room = Workspace::new(ledger);
        let mut z = part.fit.z.clone();
        let mut at = |z: &[f64]| {
            ledger.run(z, &mut room);
            self.value(asked, counts, &room)
        };
        let value = at(&z);
        let gradient = (0..z.len())
            .map(|i| {
                let centre = z[i];
                let [up, down] = [STEP, -STEP].map(|step| {
                    z[i] = centre + step;
                    at(&z)
                });
                z[i] = centre;
                (up - down) / (2.0 * STEP)
            })
            .collect();
        (value, gradient)
    }

    /// Sources of a composition by name.
    fn groups(&self, compiled: &Compiled) -> Groups {
        let unknowns = compiled.origins.iter().enumerate().map(|(i, name)| (name.clone(), Source::Unknown(i)));
        let weighings = compiled.places.iter().enumerate().map(|(r, place)| {
            let reading = &self.preparation.steps[place.step].readings[place.reading];
            (format!("reading {} ({})", reading.id.value, reading.with.value), Source::Reading(r))
        });
        let tests = compiled.determined.iter().enumerate().map(|(r, (step, number))| {
            let made = &self.preparation.steps[*step].determinations[*number];
            let name = format!("test {} ({})", made.id.value, made.test.name);
            (name, Source::Reading(compiled.places.len() + r))
        });
        let mut groups: Groups = Vec::new();
        for (name, source) in unknowns.chain(weighings).chain(tests) {
            match groups.iter_mut().find(|(known, _)| *known == name) {
                Some((_, sources)) => sources.push(source),
                None => groups.push((name, vec![source])),
            }
        }
        groups
    }

    fn told(&self, question: &Question, parts: &[Part<'_>]) -> Option<Budget> {
        let counts = self.table.counts(self.element);
        let whole: f64 = parts.iter().map(|p| p.weight).sum();
        let works: Vec<Work<'_>> = parts
            .iter()
            .filter_map(|part| {
                let (value, gradient) = self.gradient(&question.asked, part, &counts);
                let found = budget(&part.compiled.evidence(), &part.fit, &gradient)?;
                let groups = self.groups(part.compiled);
                Some(Work {
                    part,
                    value,
                    gradient,
                    weight: part.weight / whole,
                    variance: found.variance,
                    shares: found.shares,
                    groups,
                })
            })
            .collect();
        let mean: f64 = works.iter().map(|w| w.weight * w.value).sum();
        let between: f64 = works.iter().map(|w| w.weight * (w.value - mean).powi(2)).sum();
        let within: f64 = works.iter().map(|w| w.weight * w.variance).sum();
        let variance = within + between;
        if !(variance > 0.0 && variance.is_finite()) {
            return None;
        }
        let mut shares: HashMap<&str, f64> = HashMap::new();
        for work in &works {
            for (name, sources) in &work.groups {
                let own = work.shares.iter().filter(|(source, _)| sources.contains(source)).map(|(_, share)| share);
                *shares.entry(name).or_default() += work.weight * work.variance * own.sum::<f64>() / variance;
            }
        }
        let mut list: Vec<(&str, f64)> = shares.into_iter().chain([(BETWEEN, between / variance)]).collect();
        list.sort_by(|a, b| b.1.total_cmp(&a.1).then(a.0.cmp(b.0)));
        let with = |names: &[&str], factor: f64| {
            let rest = if names.contains(&BETWEEN) { between / (factor * factor) } else { between };
            (rest + works.iter().map(|w| w.weight * w.variance_with(names, factor)).sum::<f64>()).max(0.0).sqrt()
        };
        let told: Vec<BudgetShare> = list
            .iter()
            .filter(|(_, share)| *share >= LEAST_SHARE)
            .map(|(name, share)| BudgetShare {
                source: (*name).to_owned(),
                share: *share,
                if_twice_as_good: with(&[*name], 2.0),
            })
            .collect();
        let rest = 1.0 - told.iter().map(|s| s.share).sum::<f64>();
        let mut shares = told;
        if rest > 1e-9 {
            let source = "all others together".to_owned();
            shares.push(BudgetShare { source, share: rest, if_twice_as_good: (variance * (1.0 - 0.75 * rest)).sqrt() });
        }
        Some(Budget {
            of: question.of.clone(),
            what: question.what.clone(),
            value: mean,
            standard_uncertainty: variance.sqrt(),
            unit: question.unit,
            shares,
            halved_by: halved_by(&list, variance.sqrt(), with),
        })
    }
}

/// The fewest of the largest sources that halve the uncertainty if they were known perfectly.
fn halved_by(list: &[(&str, f64)], now: f64, with: impl Fn(&[&str], f64) -> f64) -> Vec<String> {
    let names: Vec<&str> = list.iter().map(|(name, _)| *name).collect();
    let enough = |names: &[&str]| with(names, PERFECT) <= 0.5 * now;
    let single = names.iter().take(MOST_NEEDED).find(|name| enough(&[**name]));
    if let Some(name) = single {
        return vec![(*name).to_owned()];
    }
    let needed = (2..=MOST_NEEDED.min(names.len())).find(|count| enough(&names[..*count]));
    needed.map_or_else(Vec::new, |count| names[..count].iter().map(|name| (*name).to_owned()).collect())
}

/// A composition with what its budget needs.
struct Work<'a> {
    part: &'a Part<'a>,
    value: f64,
    gradient: Vec<f64>,
    weight: f64,
    variance: f64,
    shares: Vec<(Source, f64)>,
    groups: Groups,
}

impl Work<'_> {
    /// Variance within this composition if the named sources were known `factor` times better.
    fn variance_with(&self, names: &[&str], factor: f64) -> f64 {
        let named = self.groups.iter().filter(|(name, _)| names.contains(&name.as_str()));
        let sources: Vec<Source> = named.flat_map(|(_, sources)| sources.iter().copied()).collect();
        if sources.is_empty() {
            return self.variance;
        }
        variance_with(&self.part.compiled.evidence(), &self.part.fit, &self.gradient, &sources, factor)
            .unwrap_or(self.variance)
    }
}
