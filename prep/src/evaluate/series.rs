//! Is a lot that was weighed again and again dry, and what may it be?
//!
//! The machinery of single questions ([`crate::ask::dry`]) on the figures of a reading, without the vessel where its mass
//! is known, with the repeatability of the balance. The final mass is compared with what the lot would weigh as each solid
//! it may hold, hydrate by hydrate: the element that the plan and the readings before this one let expect in the lot, over
//! its share in that solid. The account itself goes by the last figure.
//!
//! Neglected: that the vessel dries too, and that the lot may hold salt beside those solids: it makes the levels low.

use super::compile::ReadingPlace;
use super::direct::{empty_figure, standing};
use super::findings::finding;
use super::predict::{Prediction, before};
use super::table::SpeciesTable;
use crate::ask::dry::{Level, TOLERANCE, told};
use crate::model::{Preparation, Reading, Series, Step};
use crate::outcome::{Finding, Interval, Severity, WeighedSeries};
use chem::{Element, Phase, Species, SpeciesPattern};
use engine::account::gravimetric::Figure;
use engine::dry::Weighed;

/// Most levels of one lot.
const MOST_LEVELS: usize = 24;

/// All series of weighings that stand.
pub(super) fn series(preparation: &Preparation) -> Vec<WeighedSeries> {
    standing(preparation).filter_map(|(step, reading)| judged(preparation, step, reading)).collect()
}

fn judged(preparation: &Preparation, step: &Step, reading: &Reading) -> Option<WeighedSeries> {
    let series = reading.series.as_ref()?;
    let balance = preparation.instruments.iter().find(|x| x.name.value == reading.with.value)?;
    let loaded = reading.of.is_some() || reading.charge.is_some();
    let vessel = reading.vessel.as_ref().filter(|_| loaded);
    let empty = vessel.and_then(|v| empty_figure(preparation, &v.value, None));
    let basis = match (vessel, empty) {
        (None, _) => "as displayed",
        (Some(_), Some(_)) => "without the vessel",
        (Some(_), None) => "with the vessel",
    };
    let weighings = weighings(series, empty.unwrap_or(0.0))?;
    let tolerance = series.constant_within.unwrap_or(TOLERANCE);
    let deviation = balance.repeatability.max(balance.resolution / 12f64.sqrt());
    let answer = told(&weighings, deviation, tolerance, |end| {
        // A final mass with its vessel compares with no solid.
        let end = end.filter(|_| vessel.is_none() || empty.is_some());
        end.map_or_else(Vec::new, |end| levels(preparation, step, reading, end))
    });
    Some(WeighedSeries {
        reading: reading.id.value.clone(),
        step: step.name.value.clone(),
        lot: reading.of.as_ref().map(|of| of.value.clone()),
        basis,
        answer,
    })
}

/// The weighings without their vessel, kg; none where one of them leaves nothing.
fn weighings(series: &Series, empty: f64) -> Option<Vec<Weighed>> {
    let net = series
        .figures
        .iter()
        .zip(&series.times)
        .map(|(figure, time)| Weighed { time: *time, mass: figure.value - empty });
    let net: Vec<Weighed> = net.collect();
    net.iter().all(|w| w.mass > 0.0).then_some(net)
}

/// What the lot would weigh as each solid it may hold, beside the final mass.
fn levels(preparation: &Preparation, step: &Step, reading: &Reading, end: &Interval) -> Vec<Level> {
    let (Some(element), Some(lot)) = (preparation.account_for.first().copied(), &reading.of) else { return Vec::new() };
    let giver = preparation.steps.iter().find(|s| s.gives.iter().any(|g| g.lot.value == lot.value)).unwrap_or(step);
    let solids: Vec<Species> = giver.may_hold.iter().flat_map(|p| hydrates(&p.value)).collect();
    let share = |solid: &Species| solid.formula.mass_fraction(element);
    let solids: Vec<&Species> = solids.iter().filter(|s| share(s) > 0.0).take(MOST_LEVELS).collect();
    if solids.is_empty() {
        return Vec::new();
    }
    let Some(held) = element_in(preparation, reading, &lot.value, element) else { return Vec::new() };
    let level = |solid: &&Species| {
        let (mass, u) = (held.value / share(solid), held.standard_uncertainty / share(solid));
        let off = (end.mean - mass) / end.standard_uncertainty.hypot(u).max(f64::MIN_POSITIVE);
        (solid.formula.to_string(), mass, Some(off))
    };
    solids.iter().map(level).collect()
}

/// The element that is to be expected in a lot before a reading of it, g.
fn element_in(preparation: &Preparation, reading: &Reading, lot: &str, element: Element) -> Option<Figure> {
    let place = preparation.steps.iter().enumerate().find_map(|(step, s)| {
        let reading = s.readings.iter().position(|r| r.id == reading.id)?;
        Some(ReadingPlace { step, reading })
    })?;
    let mut table = SpeciesTable::default();
    let prediction = Prediction::new(&before(preparation, place), &mut table);
    let lot = prediction.compiled().lot(lot)?;
    let (counts, atom) = (table.counts(element), element.atomic_weight()?.value);
    let told = prediction.grams(
        |_, room| {
            let amounts = room.given(lot).amounts;
            // Moles times g/mol are grams; a prediction is told masses in kg.
            1e-3 * atom * amounts.iter().zip(&counts).map(|(n, c)| n * c).sum::<f64>()
        },
        "element",
    );
    (told.mean > 0.0).then_some(Figure { value: told.mean, standard_uncertainty: told.standard_uncertainty })
}

/// A solid, or the hydrates of a family with whole numbers of water.
fn hydrates(pattern: &SpeciesPattern) -> Vec<Species> {
    match pattern {
        SpeciesPattern::One(species) if species.phase == Some(Phase::Solid) => vec![species.clone()],
        SpeciesPattern::One(_) => Vec::new(),
        SpeciesPattern::Family { anhydrous, low, high, .. } => {
            let (first, last) = (low.ceil().max(0.0), high.floor().min(MOST_LEVELS as f64));
            let count = (last - first + 1.0).max(0.0) as usize;
            let whole = (0..count).map(|i| first + i as f64);
            whole.filter_map(|n| hydrate(anhydrous, n)).collect()
        }
    }
}

fn hydrate(anhydrous: &Species, water: f64) -> Option<Species> {
    if water == 0.0 {
        return Some(anhydrous.clone());
    }
    let count = if water == 1.0 { String::new() } else { water.to_string() };
    let formula = chem::Formula::parse(&format!("{}·{count}H2O", anhydrous.formula.text())).ok()?;
    Some(Species::new(formula, anhydrous.phase))
}

/// What the series say, at their lines.
pub(super) fn findings(preparation: &Preparation, list: &[WeighedSeries]) -> Vec<Finding> {
    let mut found = Vec::new();
    for told in list {
        let reading = standing(preparation).map(|(_, r)| r).find(|r| r.id.value == told.reading);
        let Some(series) = reading.and_then(|r| r.series.as_ref()) else { continue };
        found.extend(not_constant(series, told));
        for finding in &told.answer.findings {
            // Each is about one weighing, or about the last.
            let message = format!("reading `{}`: {}", told.reading, finding.message);
            found.push(Finding { message, span: series.figures.last().map(|f| f.span.clone()), ..finding.clone() });
        }
        let out =
            found.iter_mut().rev().filter(|f| f.code == "weighing-out-of-line").take(told.answer.out_of_line.len());
        for (finding, (index, ..)) in out.zip(told.answer.out_of_line.iter().rev()) {
            finding.span = series.figures.get(*index).map(|f| f.span.clone());
        }
    }
    found
}

/// A mass that has not come to rest yet.
fn not_constant(series: &Series, told: &WeighedSeries) -> Option<Finding> {
    let answer = &told.answer;
    let (remaining, end, intervals) =
        (answer.remaining.as_ref()?, answer.final_mass.as_ref()?, answer.intervals.as_ref()?);
    if answer.verdict != "not yet" {
        return None;
    }
    let message = format!(
        "reading `{}` is not constant yet: about {:.3} g ({:.2} %) still to go, to {:.3} ± {:.3} g; {:.1} to {:.1} further intervals to within {} %",
        told.reading,
        remaining.mean,
        100.0 * remaining.mean / end.mean,
        end.mean,
        end.standard_uncertainty,
        intervals.low,
        intervals.high,
        1e-9 * (1e11 * answer.tolerance).round(),
    );
    let hint = "go on and add the next figure to the list; the account takes the last one as the mass of the lot";
    let span = series.figures.last().map(|f| f.span.clone());
    Some(finding("not-constant", Severity::Note, span.as_ref(), message, hint))
}
