//! What does the account make of the foreign solids that its books hold?
//!
//! What fell out is what the lots of the step hold of the solid when it is finished, less what its charges brought along of
//! it, draw by draw. Beside it stands what the tables of solutions expect. The readings tell of it where the draws of the
//! account are narrower than those of the prior; else the figure is the expected one, and the note says so. Neglected: a
//! solid that a filter step dissolves again in the step it fell out in (errs to too little).

use super::books::Cloud;
use super::compile::{BesideRecord, Compiled};
use super::findings::finding;
use super::interval;
use crate::model::{Preparation, Step};
use crate::outcome::{FellOut, Figure, Finding, Interval, Severity};
use chem::quantity::Status;
use engine::account::hypercube::latin_hypercube;
use engine::ledger::{Lot, SpeciesIndex, Workspace};

/// Draws of the prior.
const DRAWS: usize = 400;
/// Part of the prior's uncertainty below which the readings tell.
const TELLS: f64 = 0.8;

/// A foreign solid with the lots that it fell out into, and those that brought some of it along.
struct Place<'a> {
    step: &'a Step,
    record: &'a BesideRecord,
    species: SpeciesIndex,
    /// g/mol.
    molar: f64,
    into: Vec<Lot>,
    brought: Vec<Lot>,
    expected: Option<Figure>,
}

impl Place<'_> {
    /// Mass in one draw, g.
    fn grams(&self, room: &Workspace<f64>) -> f64 {
        let held = |lots: &[Lot]| lots.iter().filter_map(|lot| room.given(*lot).amounts.get(self.species)).sum::<f64>();
        ((held(&self.into) - held(&self.brought)) * self.molar).max(0.0)
    }

    /// The same over clouds of draws.
    fn over(&self, clouds: &[Cloud<'_>]) -> Interval {
        let (mut grams, mut weights) = (Vec::new(), Vec::new());
        for cloud in clouds {
            let ledger = &cloud.compiled.ledger;
            let dimension = ledger.unknowns.len();
            let mut room = Workspace::<f64>::new(ledger);
            for (i, weight) in cloud.weights.iter().enumerate() {
                ledger.run(cloud.z.get(i * dimension..(i + 1) * dimension).unwrap_or(&[]), &mut room);
                grams.push(self.grams(&room));
                weights.push(*weight);
            }
        }
        interval(&grams, &weights, "g", Some("fell out"))
    }
}

/// Foreign solids of a ledger, in the order of the steps.
fn places<'a>(preparation: &'a Preparation, compiled: &'a Compiled) -> Vec<Place<'a>> {
    let mut list = Vec::new();
    for wet in &compiled.wet {
        let Some(step) = preparation.steps.get(wet.step) else { continue };
        for record in &wet.booked {
            let Some(species) = record.species else { continue };
            let molar = record.solid.molar_mass().map_or(f64::NAN, |molar| molar.value);
            let answer = wet.answer.as_ref();
            let expected = record.amount.map(|(amount, spread)| Figure {
                value: amount * molar,
                standard_uncertainty: Some(spread * molar),
                unit: "g",
                basis: Some("falls out".to_owned()),
                status: if answer.is_ok_and(|a| a.within) { Status::Derived } else { Status::Estimated },
                sources: answer.map_or_else(|_| Vec::new(), |a| a.sources.clone()),
            });
            list.push(Place {
                step,
                record,
                species,
                molar,
                into: (0..compiled.lots.len()).filter(|lot| compiled.lots[*lot].step == wet.step).collect(),
                brought: step.take.iter().filter_map(|take| compiled.lot(&take.source.value)).collect(),
                expected,
            });
        }
    }
    list
}

/// What the account has of each, and a note on those that the tables of solutions put into the books.
pub(super) fn told(
    preparation: &Preparation,
    compiled: &Compiled,
    clouds: &[Cloud<'_>],
) -> (Vec<FellOut>, Vec<Finding>) {
    let places = places(preparation, compiled);
    if places.is_empty() {
        return (Vec::new(), Vec::new());
    }
    let z = latin_hypercube(DRAWS, compiled.ledger.unknowns.len(), 3);
    let before = [Cloud { compiled, z, weights: vec![1.0 / DRAWS as f64; DRAWS] }];
    let (mut list, mut findings) = (Vec::new(), Vec::new());
    for place in &places {
        let (known, found) = (place.over(&before), place.over(clouds));
        let told = found.standard_uncertainty < TELLS * known.standard_uncertainty;
        findings.extend(place.expected.as_ref().map(|expected| note(place, expected, &found, told)));
        list.push(FellOut {
            step: place.step.name.value.clone(),
            solid: place.record.solid.to_string(),
            expected: place.expected.clone(),
            found,
            told,
            equation: place.record.equation.clone(),
        });
    }
    (list, findings)
}

fn note(place: &Place<'_>, expected: &Figure, found: &Interval, told: bool) -> Finding {
    let (name, solid) = (&place.step.name.value, &place.record.solid);
    let spread = 100.0 * expected.standard_uncertainty.unwrap_or(0.0) / expected.value;
    let from = format!(
        "the tables of solutions expect {} g, uncertain by {spread:.0} % ({})",
        significant(expected.value, 2),
        if expected.status == Status::Derived { "derived" } else { "estimated, beyond the activity model" },
    );
    let grams = format!("{} to {} g", significant(found.low, 3), significant(found.high, 3));
    let message = if told {
        format!(
            "the books hold {grams} of {solid} that fell out beside in step `{name}`, as the readings have it; {from}"
        )
    } else {
        format!(
            "the books hold {grams} of {solid} that fell out beside in step `{name}`; {from}, and the readings say no more \
             of it"
        )
    };
    let hint = format!(
        "`beside = {{ \"{solid}(s)\" = \"0 %\" }}` leaves it out, another share sets it; a test of a portion for what it \
         brings tells how much there is"
    );
    finding("fell-out-beside", Severity::Note, Some(&place.step.name.span), message, &hint)
}

/// So many significant digits.
pub(in crate::evaluate) fn significant(value: f64, digits: i32) -> String {
    if value <= 0.0 || !value.is_finite() {
        return "0".to_owned();
    }
    #[expect(clippy::cast_possible_truncation, clippy::cast_sign_loss, reason = "a handful of decimals")]
    let decimals = (f64::from(digits - 1) - value.log10().floor()).clamp(0.0, 9.0) as usize;
    format!("{value:.decimals$}")
}
