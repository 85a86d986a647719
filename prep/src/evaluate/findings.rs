//! What in the numbers needs a word?

use super::alternatives::Candidates;
use super::causes::{Surplus, told_apart};
use super::compile::{Compiled, ReadingPlace};
use super::direct::{self, LabelFeed};
use super::explain::{Explained, explain};
use super::fits::Fits;
use super::table::SpeciesTable;
use crate::action::Heat;
use crate::model::{Knowledge, Preparation, Reading, Span, Take, TakeAmount};
use crate::outcome::{Finding, Severity};
use chem::{Element, Species};
use engine::ledger::{Ledger, Value};
use rayon::prelude::*;

/// Deviation of a charge from its plan that is worth a word.
const OFF_PLAN: f64 = 0.05;

/// A finding that points at a place in the file; line and column are set by the caller who has the text.
pub(crate) fn finding(
    code: &'static str,
    severity: Severity,
    span: Option<&Span>,
    message: String,
    hint: &str,
) -> Finding {
    Finding {
        code,
        severity,
        message,
        line: 0,
        column: 0,
        span: span.cloned(),
        hints: if hint.is_empty() { Vec::new() } else { vec![hint.to_owned()] },
        causes: Vec::new(),
    }
}

/// Masses that are not what the supplies make: impossible above the richest plausible reading of the supplies, above the
/// label, or far from what label and usual losses let expect; with what may have made them.
pub(super) fn unexpected_masses(
    preparation: &Preparation,
    table: &SpeciesTable,
    compiled: &Compiled,
    feed: &LabelFeed,
    element: Element,
    how: (&Fits, bool),
) -> (Vec<Finding>, Vec<Explained>) {
    let claimed = claimed_masses(preparation, table, compiled, feed, element);
    let explained_each: Vec<Option<Explained>> = claimed
        .par_iter()
        .map(|(lot, surplus)| Some(surplus).filter(|surplus| surplus.speaks()).and_then(|s| explain(s, lot, how)))
        .collect();
    let (mut list, mut explained) = (Vec::new(), Vec::new());
    for ((lot, surplus), told) in claimed.iter().zip(explained_each) {
        let span = direct::standing(preparation)
            .find(|(_, r)| r.of.as_ref().is_some_and(|of| of.value == *lot) && r.vessel.is_none())
            .and_then(|(_, r)| r.weigh.as_ref().map(|w| w.span.clone()));
        let suspicious = told.as_ref().is_some_and(Explained::is_suspicious);
        if surplus.is_impossible() {
            list.push(impossible_finding(lot, surplus, span.as_ref(), told.as_ref()));
        } else if surplus.is_beyond_label() {
            let mut finding = possible_finding(lot, surplus, span.as_ref());
            finding.causes.extend(told.iter().filter(|_| suspicious).flat_map(|told| told.causes(surplus)));
            list.push(finding);
        } else if let Some(told) = told.as_ref().filter(|_| suspicious) {
            list.push(unexpected_finding(told, surplus, span.as_ref()));
        }
        explained.extend(told.filter(|_| surplus.is_impossible() || suspicious));
    }
    (list, explained)
}

/// Weighed lots with each form that they were taken for.
fn claimed_masses<'a>(
    preparation: &'a Preparation,
    table: &'a SpeciesTable,
    compiled: &'a Compiled,
    feed: &'a LabelFeed,
    element: Element,
) -> Vec<(&'a str, Surplus<'a>)> {
    let mut list = Vec::new();
    for (number, step) in preparation.steps.iter().enumerate() {
        let Some(lot) = step.gives.first().map(|g| g.lot.value.as_str()) else { continue };
        let Some((bulk, _)) = direct::weighed_bulk(preparation, lot) else { continue };
        let is_target = preparation.steps.last().is_some_and(|last| last.name.value == step.name.value);
        let target = preparation.target.iter().filter(|_| is_target).map(|t| &t.substance);
        let mut seen: Vec<&Species> = Vec::new();
        for claim in step.quote_as.iter().map(|q| &q.value).chain(target) {
            if claim.formula.mass_fraction(element) <= 0.0 || feed.most <= 0.0 || seen.contains(&claim) {
                continue;
            }
            seen.push(claim);
            let (mass, uncertainty) = (bulk.value, bulk.standard_uncertainty);
            let surplus =
                Surplus { preparation, table, compiled, step: number, claim, element, mass, uncertainty, feed };
            list.push((lot, surplus));
        }
    }
    list
}

/// A reading that the account takes for a slip, where its mass has been explained already: told with the causes.
pub(super) fn one_voice(slips: &mut [Finding], unexpected: &[Finding]) {
    for finding in slips.iter_mut().filter(|f| f.code == "slip-suspected") {
        if unexpected.iter().any(|told| told.span == finding.span && !told.causes.is_empty()) {
            finding.severity = Severity::Note;
            finding.hints = vec![
                "as the file lists the lot, nothing but a slip makes this mass; if one of the causes named for it is at work, list that under `may_hold`"
                    .to_owned(),
            ];
        }
    }
}

/// A mass that label and usual losses do not let expect, though it is possible.
fn unexpected_finding(told: &Explained, surplus: &Surplus<'_>, span: Option<&Span>) -> Finding {
    let (low, high) = told.expected;
    let (code, word) = if told.mass > high { ("mass-above-expected", "more") } else { ("mass-below-expected", "less") };
    let message = format!(
        "`{}` weighs {:.2} g, {word} than the {:.2} to {:.2} g of {} that label and usual losses let expect",
        told.lot,
        told.mass * 1e3,
        low * 1e3,
        high * 1e3,
        told.claim,
    );
    let hint = "compare the causes: each says what it predicts for a test; `next` says which test parts them";
    let mut finding = finding(code, Severity::Note, span, message, hint);
    finding.causes = told.causes(surplus);
    finding
}

fn impossible_finding(lot: &str, surplus: &Surplus<'_>, span: Option<&Span>, explained: Option<&Explained>) -> Finding {
    let (claim, feed, mass) = (surplus.claim, surplus.feed, surplus.mass);
    let content = claim.formula.mass_fraction(surplus.element);
    let (most, mean) = (feed.most / content, feed.mean / content);
    let about = if most - mean > 5e-6 {
        format!(", about {:.2} g if the supplies hold their mean", (mass - mean) * 1e3)
    } else {
        String::new()
    };
    let message = format!(
        "impossible as {claim}: `{lot}` weighs {:.2} g ({:.1} %), but at most {:.2} g can come from {}; at least {:.2} g is foreign{about}",
        mass * 1e3,
        100.0 * mass / most,
        most * 1e3,
        feed.richest(surplus.element),
        (mass - most) * 1e3,
    );
    let hint = "water, carbonate or hydroxide left, salt from the liquor, or a slip: name them under `may_hold`, or test a portion";
    let mut finding = finding("impossible-mass", Severity::Warning, span, message, hint);
    let makes = surplus.makes();
    finding.causes = surplus
        .causes()
        .into_iter()
        .map(|(mut cause, made)| {
            let number = made.and_then(|made| makes.iter().position(|known| *known == made));
            cause.probability = number.zip(explained).map(|(number, told)| told.probability_of(number));
            cause
        })
        .collect();
    finding.causes.extend(explained.into_iter().flat_map(|told| told.pairs(&makes)));
    finding.hints.extend(told_apart(&finding.causes));
    finding
}

/// A yield above 100 % of the label that the scatter of such goods explains.
fn possible_finding(lot: &str, surplus: &Surplus<'_>, span: Option<&Span>) -> Finding {
    let (claim, feed, mass) = (surplus.claim, surplus.feed, surplus.mass);
    let content = claim.formula.mass_fraction(surplus.element);
    let scatter: Vec<String> = feed
        .parts
        .iter()
        .filter_map(|part| match part.of_label? {
            Knowledge::Between { low, high } => Some(format!(
                "such goods hold {:.1} to {:.1} % of what the label of {} says",
                100.0 * low,
                100.0 * high,
                part.supply
            )),
            _ => None,
        })
        .collect();
    let scatter = if scatter.is_empty() { String::new() } else { format!("; {}", scatter.join(", ")) };
    let message = format!(
        "not impossible as {claim}: `{lot}` weighs {:.2} g, {:.1} % of the {:.2} g that the label makes, but {:.2} to {:.2} g can come from {}{scatter}",
        mass * 1e3,
        100.0 * mass * content / feed.stated,
        feed.stated / content * 1e3,
        feed.least / content * 1e3,
        feed.most / content * 1e3,
        feed.richest(surplus.element),
    );
    let hint = "quote the yield with the spread of the label, or assay the supply";
    finding("yield-above-label", Severity::Note, span, message, hint)
}

/// Residues that may be one oxide or another: the content of the element hangs on which it is.
pub(crate) fn open_oxides(preparation: &Preparation, element: Element) -> Vec<Finding> {
    let is_oxide = |species: &Species| {
        let others = species.formula.elements().any(|(other, _)| other != element && other.symbol() != "O");
        !others && species.formula.mass_fraction(element) > 0.0
    };
    let mut list = Vec::new();
    for step in preparation.steps.iter().filter(|s| s.action.value.manner().heat == Heat::Fire) {
        let oxides: Vec<&Species> = step.may_hold.iter().map(|p| p.value.species()).filter(|s| is_oxide(s)).collect();
        let Some((lot, bulk)) = step
            .gives
            .first()
            .map(|g| g.lot.value.as_str())
            .and_then(|lot| direct::weighed_bulk(preparation, lot).map(|(bulk, _)| (lot, bulk)))
        else {
            continue;
        };
        if oxides.len() < 2 {
            continue;
        }
        let symbol = element.symbol();
        let told = |s: &&Species| {
            format!("{:.2} g {symbol} if it is {s}", bulk.value * s.formula.mass_fraction(element) * 1e3)
        };
        let contents: Vec<String> = oxides.iter().map(told).collect();
        let (fact, hint) = match (&step.temperature, &step.atmosphere_text) {
            (Some(temperature), Some(atmosphere)) => match crate::heating::stands(step, &oxides) {
                Some(found) => (
                    format!("at equilibrium {found} stands at {temperature} in {atmosphere}"),
                    "heat to constant mass there, then list only that one; what is not through yet weighs otherwise",
                ),
                None => (
                    format!("which of them stands at {temperature} in {atmosphere} is not worked out here"),
                    "look up where one gives way to the other, then list only that one; or ignite above it and weigh again",
                ),
            },
            (Some(_), None) => (
                "the missing fact is what it was heated in".to_owned(),
                "add `atmosphere = \"air\"` or what it was: which oxide stands depends on it",
            ),
            (None, _) => (
                "the missing fact is the temperature of the furnace".to_owned(),
                "add `temperature = \"…\"`: which oxide stands depends on it; then list only that one",
            ),
        };
        let message = format!("`{lot}` weighs {:.2} g: {}; {fact}", bulk.value * 1e3, contents.join(", "));
        list.push(finding("oxide-open", Severity::Note, Some(&step.name.span), message, hint));
    }
    list
}

/// A residue heavier than its portion where nothing listed gains mass.
pub(crate) fn heavier_residues(preparation: &Preparation, table: &SpeciesTable, compiled: &Compiled) -> Vec<Finding> {
    let mut list = Vec::new();
    let mut below: Vec<&str> = Vec::new();
    for step in preparation.steps.iter().filter(|s| s.action.value.heats() && s.take.len() == 1) {
        let (Some(take), Some(give)) = (step.take.first(), step.gives.first()) else { continue };
        let nets = [&take.source.value, &give.lot.value].map(|lot| direct::net_mass(preparation, lot));
        for (net, reading) in nets.iter().flatten().filter(|(net, _)| net.value <= 0.0) {
            if below.contains(&reading.id.value.as_str()) {
                continue;
            }
            below.push(&reading.id.value);
            let message = format!(
                "reading `{}` leaves {:.3} g for what was weighed: no more than its empty vessel",
                reading.id.value,
                net.value * 1e3
            );
            let hint = "check the empty vessel and this figure for a slip, and which vessel it was";
            list.push(finding("mass-below-nothing", Severity::Warning, Some(&reading.id.span), message, hint));
        }
        let [Some((before, _)), Some((after, reading))] = nets else { continue };
        let gain = after.value - before.value;
        let u = after.standard_uncertainty.hypot(before.standard_uncertainty);
        if before.value > 0.0 && gain > 2.0 * u && !direct::may_gain(table, compiled, step) {
            let message = format!(
                "the residue of `{}` is {:.3} g heavier than what was heated, and nothing under `may_hold` gains mass",
                step.name.value,
                gain * 1e3
            );
            let hint = "check the figures for a slip; if it took up oxygen or carbon dioxide, list what it became";
            list.push(finding("residue-heavier", Severity::Warning, Some(&reading.id.span), message, hint));
        }
    }
    list
}

/// Corrections: what was written first, what stands now, and why.
pub(crate) fn corrected(preparation: &Preparation) -> Vec<Finding> {
    let readings = || preparation.steps.iter().flat_map(|s| &s.readings);
    let told = |reading: &crate::model::Reading| {
        let corrects = reading.corrects.as_ref()?;
        let first = readings().find(|r| r.id.value == corrects.value)?;
        let message = format!(
            "reading `{}` ({}) is corrected by `{}` ({}): {}",
            first.id.value,
            first.text,
            reading.id.value,
            reading.text,
            reading.reason.as_deref().unwrap_or("no reason given")
        );
        let hint = "the first figure stays in the record; the later one counts";
        Some(finding("reading-corrected", Severity::Note, Some(&reading.id.span), message, hint))
    };
    readings().filter_map(told).collect()
}

/// Charges that were recorded far from the plan.
pub(crate) fn off_plan(preparation: &Preparation) -> Vec<Finding> {
    let mut list = Vec::new();
    for (step, reading) in direct::standing(preparation) {
        let (Some(charge), Some(weigh), None) = (&reading.charge, &reading.weigh, &reading.vessel) else { continue };
        let Some(take) = step.take.iter().find(|t| t.source.value == charge.value) else { continue };
        let TakeAmount::Mass(planned) = take.amount.value else { continue };
        let off = weigh.value / planned.central() - 1.0;
        if off.abs() > OFF_PLAN {
            let message = format!(
                "the charge of {} was {}, {:+.0} % off the planned {}: the account goes by the reading",
                charge.value,
                reading.text,
                off * 100.0,
                take.text
            );
            let hint = "look at the next step's reagents, or correct the reading if it is a slip";
            list.push(finding("charge-off-plan", Severity::Note, Some(&weigh.span), message, hint));
        }
    }
    list
}

/// Reactions that cannot run because their step does not hold a reagent.
pub(crate) fn absent_reagents(preparation: &Preparation, table: &SpeciesTable, compiled: &Compiled) -> Vec<Finding> {
    let told = |(step, span, species): &(usize, Span, engine::ledger::SpeciesIndex)| {
        let missing = table.species(*species);
        let formula = missing.formula.without_hydrate_water();
        let alike = compiled.lots.iter().filter(|l| l.step == *step).flat_map(|l| &l.contents).find_map(|s| {
            let held = table.species(*s);
            (*s != *species && held.formula.without_hydrate_water().same_substance(&formula)).then(|| held.to_string())
        });
        let message = format!(
            "the reaction of step `{}` does not run: nothing in the step holds {missing}",
            preparation.steps[*step].name.value
        );
        let hint = match alike {
            Some(held) => format!("the step holds {held}: write it so, with its phase"),
            None => "check formula and phase; a salt charged to a wet step is there as (aq)".to_owned(),
        };
        finding("reagent-absent", Severity::Warning, Some(span), message, &hint)
    };
    compiled.absent.iter().map(told).collect()
}

/// What lots of other preparations bring along.
fn brought_lots(preparation: &Preparation) -> Vec<Finding> {
    let told = |supply: &crate::model::Supply| {
        let (origin, brought) = (supply.origin.as_ref()?, supply.brought.as_ref()?);
        let element = preparation.account_for.first()?;
        let [mean, u, _] = brought.fraction(*element);
        let message = format!(
            "`{}` is lot `{}` of `{}`: {:.2} ± {:.2} % {} by the account there, {:.1} g",
            supply.name.value,
            origin.lot.value,
            origin.file.value,
            100.0 * mean,
            100.0 * u,
            element.symbol(),
            1e3 * brought.mass.0,
        );
        let hint = "what is uncertain there is uncertain here; a test of the lot in that file sharpens both";
        Some(finding("lot-brought", Severity::Note, Some(&supply.name.span), message, hint))
    };
    preparation.supplies.iter().filter_map(told).collect()
}

/// What hard water brings along.
fn hard_water(preparation: &Preparation, everything: &Compiled) -> Vec<Finding> {
    let mut list = Vec::new();
    for (i, supply) in preparation.supplies.iter().enumerate().filter(|(_, s)| s.hard) {
        let charges = everything.charges.iter().filter(|charge| everything.supplies[charge.supply] == Some(i));
        let whole: f64 = charges.map(|c| c.times as f64 * median(&everything.ledger, c.mass)).sum();
        let grams = 1e3 * whole * supply.assay.central();
        if grams == 0.0 {
            continue;
        }
        let name = &supply.name.value;
        let message = format!("{:.0} g of `{name}` bring {grams:.2} g of hardness, counted as CaCO3(aq)", 1e3 * whole);
        let hint = "a reaction that takes CaCO3(aq) removes it; else it dries with the liquor that a solid holds";
        list.push(finding("hard-water", Severity::Note, Some(&supply.name.span), message, hint));
    }
    list
}

/// Median of a value of the ledger.
fn median(ledger: &Ledger, value: Value) -> f64 {
    match value {
        Value::Constant(x) => x,
        Value::Unknown(i) => ledger.unknowns.get(i).map_or(0.0, |unknown| unknown.image(0.0)),
    }
}

/// What the file left open, and what was assumed for it.
pub(crate) fn assumptions(preparation: &Preparation, everything: &Compiled) -> Vec<Finding> {
    let mut list = Vec::new();
    for supply in preparation.supplies.iter().filter(|s| !s.assay_stated) {
        let name = &supply.name.value;
        let pure = supply.holds.iter().any(|h| h.value.formula.same_substance(&chem::Formula::water()));
        if !pure {
            let message = format!("`{name}` has no `assay`: it is taken as pure");
            list.push(finding(
                "assay-assumed",
                Severity::Note,
                Some(&supply.name.span),
                message,
                "state what the label says, for instance `assay = \">= 98 %\"`",
            ));
        }
    }
    list.extend(hard_water(preparation, everything));
    list.extend(brought_lots(preparation));
    let unrecorded: Vec<&Take> = preparation
        .steps
        .iter()
        .flat_map(|step| {
            step.take.iter().filter(|take| {
                matches!(take.amount.value, TakeAmount::Mass(_))
                    && !step.readings.iter().any(|r| {
                        (r.weigh.is_some() || r.volume.is_some())
                            && r.charge.as_ref().is_some_and(|c| c.value == take.source.value)
                    })
            })
        })
        .collect();
    if !unrecorded.is_empty() && !everything.weighings.is_empty() {
        let mut names: Vec<&str> = Vec::new();
        for name in unrecorded.iter().map(|take| take.source.value.as_str()) {
            if !names.contains(&name) {
                names.push(name);
            }
        }
        let message = format!("no reading records the charge of {}: the planned masses are taken", names.join(", "));
        list.push(finding(
            "charge-not-recorded",
            Severity::Note,
            unrecorded.first().map(|take| &take.amount.span),
            message,
            "add a reading with `charge = \"…\"` in the step that takes it",
        ));
    }
    for (i, options) in everything.options.iter().enumerate() {
        for k in &options.unreachable {
            let pattern = &preparation.steps[i].may_hold[*k];
            let message = format!(
                "`may_hold` of step `{}`: nothing in its lot can become {}",
                preparation.steps[i].name.value, pattern.value
            );
            let hint = "it is left out; check the formula, or the reaction that should make its elements";
            list.push(finding("not-reachable", Severity::Warning, Some(&pattern.span), message, hint));
        }
    }
    list
}

/// Whether anything listed explains the readings.
pub(crate) fn fit_findings(preparation: &Preparation, candidates: &Candidates) -> Vec<Finding> {
    let mut list = Vec::new();
    if candidates.cut_short {
        let message =
            "more combinations of `may_hold` than are tried: only those with the fewest free unknowns were".to_owned();
        list.push(finding(
            "combinations-cut",
            Severity::Note,
            preparation.steps.iter().rev().find_map(|s| s.may_hold.first()).map(|pattern| &pattern.span),
            message,
            "shorten `may_hold` to what is plausible",
        ));
    }
    let readings = candidates.everything.evidence().count() as f64;
    let limit = readings + 3.0 * (2.0 * readings.max(1.0)).sqrt() + 9.0;
    if candidates.least > limit {
        let worst = worst_reading(preparation, candidates);
        let told = worst.map_or_else(String::new, |(reading, residual)| {
            let (id, text) = (&reading.id.value, &reading.text);
            format!("; most at `{id}` ({text}), {:.0} standard deviations off", residual.abs())
        });
        let message = format!(
            "nothing listed explains the readings: the best fit strains them by χ² = {:.0} for {} readings{told}",
            candidates.least, readings
        );
        let span = worst.and_then(|(reading, _)| reading.weigh.as_ref()).map(|w| &w.span);
        let hint = "look for a slip in that reading, or list under `may_hold` what else the lot may be";
        list.push(finding("nothing-fits", Severity::Warning, span, message, hint));
    }
    list
}

/// The reading that the best fit strains most, with its residual in standard deviations.
fn worst_reading<'a>(preparation: &'a Preparation, candidates: &Candidates) -> Option<(&'a Reading, f64)> {
    let best = candidates.list.first()?;
    let (index, residual) = best.strain.residuals.iter().enumerate().max_by(|a, b| a.1.abs().total_cmp(&b.1.abs()))?;
    let place = best.compiled.places.get(index)?;
    Some((&preparation.steps[place.step].readings[place.reading], *residual))
}

/// A reading that is more probably a slip than not.
pub(crate) fn slip(preparation: &Preparation, place: ReadingPlace, probability: f64) -> Finding {
    let reading = &preparation.steps[place.step].readings[place.reading];
    let chance = if probability > 0.99 { "> 99".to_owned() } else { format!("{:.0}", probability * 100.0) };
    let message = format!(
        "reading `{}` ({}) is probably a slip ({chance} %): the account does not rest on it; quoted yields and losses do",
        reading.id.value, reading.text
    );
    let hint =
        "compare with the display or a photograph; correct it by a new reading with `corrects`, `reason` and `at`";
    finding("slip-suspected", Severity::Warning, reading.weigh.as_ref().map(|w| &w.span), message, hint)
}
