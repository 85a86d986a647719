//! Is a figure that was just written down what was to be expected, and if not, which slip would have made it?
//!
//! A reading is predicted from the plan and the readings that stand before it in the file ([`super::predict`]): inside the
//! middle 99 % it passes; outside it is asked about; beyond six standard deviations, below the empty vessel or above the
//! capacity of the balance it cannot be. For a figure outside, [`slips`] names what would have made it of an expected one.
//! What is weighed out to a plan is expected within 10 % of it (standard deviation), because people weigh out what
//! they weigh out. Nothing is corrected.
//!
//! Over a whole file readings are looked at in this way only where they strain the account together: where they
//! agree, each was expected. Where one reading is probably the slip by all the others, only that is told.
//!
//! Neglected: that the figures before it may be the slip; the finding names those that would explain it as well.

mod slips;

use super::account::live_account;
use super::compile::ReadingPlace;
use super::direct::{empty_figure, standing};
use super::findings::{finding, slip};
use super::predict::{Prediction, before, off, without};
use super::table::SpeciesTable;
use crate::model::{Preparation, Reading};
use crate::outcome::{Entry, Finding, Interval, Severity, Slip, Standing};
use slips::{Tare, slips};

/// Standard deviations within which a figure passes: 99 %.
const INSIDE: f64 = 2.576;
/// Standard deviations beyond which a figure cannot be.
const STOP: f64 = 6.0;
/// Probability above which one reading is told to be the slip.
const PROBABLY: f64 = 0.5;

/// What is expected of a reading, how its figure stands to that, and which slip would explain it. `None` if there is no
/// reading of this identifier.
///
/// ```
/// # let text = "title = \"A\"\naccount_for = \"Zn\"\n[[supply]]\nname = \"oxide\"\nlabel = \"zinc oxide\"\nholds = \"ZnO(s)\"\nassay = \"100 %\"\n[[instrument]]\nname = \"b\"\nkind = \"balance\"\nresolution = \"0.01 g\"\n[[step]]\nname = \"heat\"\naction = \"ignite\"\ntake = { oxide = \"10.00 g\" }\nloss = \"none\"\ngives = { dry = \"all\" }\n[[step.reading]]\nid = \"r1\"\nweigh = \"10.02 g\"\ncharge = \"oxide\"\nwith = \"b\"\n[[step.reading]]\nid = \"r2\"\nweigh = \"1.002 g\"\nof = \"dry\"\nwith = \"b\"\n";
/// let preparation = prep::read(text.as_bytes()).preparation.ok_or("a good file")?;
/// let entry = prep::entry(&preparation, "r2").ok_or("a reading")?;
/// assert_eq!(entry.verdict, prep::outcome::Standing::Stop);
/// assert_eq!((entry.slips[0].slip.as_str(), entry.slips[0].figure.as_str()), ("decimal point moved", "10.02 g"));
/// # Ok::<(), &str>(())
/// ```
#[must_use]
pub fn entry(preparation: &Preparation, reading: &str) -> Option<Entry> {
    let place = places(preparation).into_iter().find(|place| at(preparation, *place).id.value == reading)?;
    Some(judged(preparation, place, &before(preparation, place)))
}

/// Readings that are probably a slip, or far off what was expected of them, by the live account.
#[must_use]
pub fn readings_in_question(preparation: &Preparation) -> Vec<Finding> {
    let told = live_account(preparation).findings;
    told.into_iter().filter(|f| matches!(f.code, "slip-suspected" | "reading-off-prediction")).collect()
}

fn at(preparation: &Preparation, place: ReadingPlace) -> &Reading {
    &preparation.steps[place.step].readings[place.reading]
}

/// All readings in file order.
fn places(preparation: &Preparation) -> Vec<ReadingPlace> {
    let steps = preparation.steps.iter().enumerate();
    steps.flat_map(|(step, s)| (0..s.readings.len()).map(move |reading| ReadingPlace { step, reading })).collect()
}

/// A reading judged by what is known without it.
fn judged(preparation: &Preparation, place: ReadingPlace, known: &Preparation) -> Entry {
    let reading = at(preparation, place);
    let found = reading.weigh.as_ref().map(|w| 1e3 * w.value);
    let expected = expected(known, place);
    let off = expected.as_ref().zip(found).map(|(expected, found)| off(expected, found));
    let verdict = match (found, off) {
        (None, _) => Standing::ToBeRead,
        (Some(found), _) if cannot_be(known, reading, found) => Standing::Stop,
        (_, None) => Standing::NothingToGoBy,
        (_, Some(off)) if off.abs() <= INSIDE => Standing::Inside,
        (_, Some(off)) if off.abs() <= STOP => Standing::Ask,
        _ => Standing::Stop,
    };
    let slips = match (&expected, found, verdict) {
        (Some(expected), Some(found), Standing::Ask | Standing::Stop) => {
            let on = reading.vessel.as_ref().map(|v| v.value.as_str());
            slips(&reading.text, found, expected, on, &tares(known))
        }
        _ => Vec::new(),
    };
    let displayed = found.map(|_| reading.text.clone());
    Entry { reading: reading.id.value.clone(), expected, found, displayed, off, verdict, slips }
}

/// The expected figure, g; none where the vessel on the pan was never weighed.
fn expected(known: &Preparation, place: ReadingPlace) -> Option<Interval> {
    if let Some(vessel) = &at(known, place).vessel {
        let seen = |r: &Reading| r.weigh.is_some() && r.vessel.as_ref().is_some_and(|v| v.value == vessel.value);
        if !standing(known).any(|(_, r)| seen(r)) && empty_figure(known, &vessel.value, None).is_none() {
            return None;
        }
    }
    let told = Prediction::new(known, &mut SpeciesTable::default()).figure(place)?;
    [told.median, told.low, told.high].iter().all(|x| x.is_finite()).then_some(told)
}

/// Vessels whose mass is known.
fn tares(known: &Preparation) -> Vec<Tare<'_>> {
    let tare = |name| Some(Tare { name, grams: 1e3 * empty_figure(known, name, None)? });
    known.vessels.iter().filter_map(|v| tare(v.name.value.as_str())).collect()
}

/// Whether a figure is impossible by itself, g: not above the empty vessel, or above what the balance carries.
fn cannot_be(known: &Preparation, reading: &Reading, found: f64) -> bool {
    let loaded = reading.of.is_some() || reading.charge.is_some();
    let empty = reading.vessel.as_ref().filter(|_| loaded).and_then(|v| empty_figure(known, &v.value, None));
    let balance = known.instruments.iter().find(|x| x.name.value == reading.with.value);
    empty.is_some_and(|empty| found <= 1e3 * empty)
        || balance.is_some_and(|balance| found > 1e3 * balance.capacity * 1.001)
}

/// A case of the account: the reading that slipped in it, if any, and its probability.
pub(super) type Suspect = (Option<ReadingPlace>, f64);

/// What is to be said of single readings. `suspects` are the cases of the account, the heaviest first; `strained` is
/// whether nothing listed explains the readings even in the heaviest of them.
pub(super) fn told(preparation: &Preparation, suspects: &[Suspect], strained: bool) -> Vec<Finding> {
    match suspects.first() {
        Some((Some(place), probability)) if *probability > PROBABLY && !strained => {
            let entry = judged(preparation, *place, &without(preparation, *place));
            let mut finding = slip(preparation, *place, *probability);
            finding.hints.extend(named(&entry.slips));
            vec![finding]
        }
        // Where no single slip explains the readings, none would explain another.
        _ if strained => in_sequence(preparation, &[]),
        _ if suspects.iter().any(|(slipped, _)| slipped.is_some()) => in_sequence(preparation, suspects),
        _ => Vec::new(),
    }
}

/// Readings off what those before them let expect; one that is off lets nothing be expected of later ones.
fn in_sequence(preparation: &Preparation, suspects: &[Suspect]) -> Vec<Finding> {
    let corrected: Vec<&str> = standing(preparation).map(|(_, r)| r.id.value.as_str()).collect();
    let mut known = preparation.clone();
    let mut list = Vec::new();
    for place in places(preparation) {
        let reading = at(preparation, place);
        if reading.weigh.is_none() || !corrected.contains(&reading.id.value.as_str()) {
            continue;
        }
        let entry = judged(preparation, place, &before(&known, place));
        if matches!(entry.verdict, Standing::Ask | Standing::Stop) {
            list.extend(off_prediction(preparation, reading, &entry, suspects));
            known = without(&known, place);
        }
    }
    list
}

fn off_prediction(
    preparation: &Preparation,
    reading: &Reading,
    entry: &Entry,
    suspects: &[Suspect],
) -> Option<Finding> {
    let (expected, off) = (entry.expected.as_ref()?, entry.off?);
    let message = format!(
        "reading `{}` ({}) lies {:.0} standard deviations {} the {:.3} to {:.3} g that the plan and the readings before it let expect",
        entry.reading,
        reading.text,
        off.abs(),
        if off < 0.0 { "below" } else { "above" },
        expected.low,
        expected.high,
    );
    let hint =
        "compare with the display or a photograph; correct a slip by a new reading with `corrects`, `reason` and `at`";
    let span = reading.weigh.as_ref().map(|w| &w.span);
    let mut told = finding("reading-off-prediction", Severity::Warning, span, message, hint);
    told.hints.extend(named(&entry.slips));
    let others: Vec<String> = suspects
        .iter()
        .filter_map(|(slipped, _)| Some(at(preparation, (*slipped)?).id.value.as_str()))
        .filter(|id| *id != entry.reading)
        .map(|id| format!("`{id}`"))
        .collect();
    if !others.is_empty() {
        told.hints.push(format!("a slip in {} would explain it as well", others.join(" or ")));
    }
    Some(told)
}

/// The slips in words.
fn named(slips: &[Slip]) -> Option<String> {
    let words: Vec<String> = slips.iter().map(|s| format!("{} ({})", s.figure, s.slip)).collect();
    (!words.is_empty()).then(|| format!("it would be expected as {}", words.join(", ")))
}
