//! What the bench would calculate: yields as quoted, losses on heating, the richest the label allows.
//!
//! No prior but the label: the mass of a lot taken for a formula; the residue of a portion taken for pure
//! oxide. Kept beside the account so that a reader sees which assumption makes which figure.

use super::compile::Compiled;
use super::table::{SpeciesTable, exchanged};
use crate::model::{Knowledge, Part, Preparation, Reading, Step, TakeAmount};
use crate::outcome::{Figure, LossLevel, QuotedYield};
use chem::formula::to_f64;
use chem::quantity::Status;
use chem::reaction::conversion;
use chem::{Element, Formula, Phase, Species, SpeciesPattern};
use engine::account::gravimetric::{self, PortionWeighings};

/// A portion that was weighed, heated and weighed again in one vessel.
pub(crate) struct PortionTest<'a> {
    /// Lot that the portion was taken from.
    pub bulk: &'a str,
    /// Step that heated it.
    pub step: &'a Step,
    /// The three weighings.
    pub weighings: PortionWeighings,
    /// Readings they are: empty, with the portion, with the residue.
    pub readings: [String; 3],
}

impl PortionTest<'_> {
    /// Why its figures cannot be true by themselves, if they cannot.
    pub fn doubt(&self) -> Option<String> {
        let [empty, with_portion, with_residue] = &self.readings;
        let w = &self.weighings;
        let below = |figure: gravimetric::Figure| figure.value <= w.empty.value;
        if below(w.with_portion) {
            Some(format!("`{with_portion}` is no more than the empty vessel, `{empty}`"))
        } else if below(w.with_residue) {
            Some(format!("`{with_residue}` is no more than the empty vessel, `{empty}`"))
        } else {
            None
        }
    }
}

/// Net mass of a lot as it was weighed, and the reading it stands on.
pub(crate) fn net_mass<'a>(preparation: &'a Preparation, lot: &str) -> Option<(gravimetric::Figure, &'a Reading)> {
    let (_, reading) =
        standing(preparation).find(|(_, r)| r.weigh.is_some() && r.of.as_ref().is_some_and(|of| of.value == lot))?;
    let figure = figure_of(preparation, reading)?;
    let Some(vessel) = &reading.vessel else { return Some((figure, reading)) };
    let empty = empty_readings(preparation, &vessel.value).last().and_then(|r| figure_of(preparation, r))?;
    let standard_uncertainty = figure.standard_uncertainty.hypot(empty.standard_uncertainty);
    Some((gravimetric::Figure { value: figure.value - empty.value, standard_uncertainty }, reading))
}

/// Readings that stand: not corrected by a later one.
pub(crate) fn standing(preparation: &Preparation) -> impl Iterator<Item = (&Step, &Reading)> {
    let corrected: Vec<&str> = preparation
        .steps
        .iter()
        .flat_map(|s| s.readings.iter().filter_map(|r| r.corrects.as_ref().map(|c| c.value.as_str())))
        .collect();
    preparation
        .steps
        .iter()
        .flat_map(|s| s.readings.iter().map(move |r| (s, r)))
        .filter(move |(_, r)| !corrected.contains(&r.id.value.as_str()))
}

/// The mass of an empty vessel, kg: as it was read, unless that reading is left out; else its tare from earlier.
pub(crate) fn empty_figure(preparation: &Preparation, vessel: &str, left_out: Option<&str>) -> Option<f64> {
    empty_reading(preparation, vessel, left_out)
        .and_then(|r| r.weigh.as_ref().map(|w| w.value))
        .or_else(|| tare(preparation, vessel).map(Knowledge::central))
}

/// The first standing reading of an empty vessel, unless it is left out.
pub(crate) fn empty_reading<'a>(
    preparation: &'a Preparation,
    vessel: &'a str,
    left_out: Option<&str>,
) -> Option<&'a Reading> {
    empty_readings(preparation, vessel).find(|r| Some(r.id.value.as_str()) != left_out)
}

/// What is known of the mass of an empty vessel from earlier, kg.
pub(crate) fn tare(preparation: &Preparation, vessel: &str) -> Option<Knowledge> {
    let vessel = preparation.vessels.iter().find(|v| v.name.value == vessel)?;
    vessel.tare.as_ref().map(|tare| tare.value)
}

/// A tare as a figure of a weighing.
fn tare_figure(preparation: &Preparation, vessel: &str) -> Option<gravimetric::Figure> {
    let (value, standard_uncertainty) = match tare(preparation, vessel)? {
        Knowledge::Normal { value, standard_uncertainty } => (value, standard_uncertainty),
        Knowledge::Between { low, high } => (0.5 * (low + high), (high - low) / 12f64.sqrt()),
        other => (other.central(), 0.0),
    };
    Some(gravimetric::Figure { value, standard_uncertainty })
}

/// Readings of an empty vessel that stand, in file order.
fn empty_readings<'a>(preparation: &'a Preparation, vessel: &'a str) -> impl Iterator<Item = &'a Reading> {
    standing(preparation).map(|(_, r)| r).filter(move |r| {
        r.of.is_none()
            && r.charge.is_none()
            && r.weigh.is_some()
            && r.vessel.as_ref().is_some_and(|v| v.value == vessel)
    })
}

/// A reading with the repeatability of its balance.
pub(crate) fn figure_of(preparation: &Preparation, reading: &Reading) -> Option<gravimetric::Figure> {
    let balance = preparation.instruments.iter().find(|x| x.name.value == reading.with.value)?;
    Some(gravimetric::Figure { value: reading.weigh.as_ref()?.value, standard_uncertainty: balance.repeatability })
}

/// The mass at which a lot was weighed without a vessel, and the slope of its balance.
pub(crate) fn weighed_bulk(preparation: &Preparation, lot: &str) -> Option<(gravimetric::Figure, f64)> {
    let (_, reading) = standing(preparation)
        .find(|(_, r)| r.vessel.is_none() && r.weigh.is_some() && r.of.as_ref().is_some_and(|of| of.value == lot))?;
    let balance = preparation.instruments.iter().find(|x| x.name.value == reading.with.value)?;
    Some((figure_of(preparation, reading)?, balance.slope))
}

/// The portion tests of a preparation.
pub(crate) fn portion_tests(preparation: &Preparation) -> Vec<PortionTest<'_>> {
    let mut tests = Vec::new();
    for step in preparation.steps.iter().filter(|s| s.action.value.heats() && s.take.len() == 1) {
        let portion = step.take[0].source.value.as_str();
        let Some(divide) = preparation.steps.iter().find(|s| s.gives.iter().any(|g| g.lot.value == portion)) else {
            continue;
        };
        // Only what was taken as a portion by mass says something of a bulk.
        let is_portion = divide.gives.iter().any(|g| g.lot.value == portion && matches!(g.part.value, Part::Mass(_)));
        let (Some(bulk), Some(residue), true) = (divide.take.first(), step.gives.first(), is_portion) else { continue };
        let in_vessel = |lot: &str| {
            standing(preparation)
                .map(|(_, r)| r)
                .find(|r| r.of.as_ref().is_some_and(|of| of.value == lot) && r.vessel.is_some() && r.weigh.is_some())
        };
        let (Some(before), Some(after)) = (in_vessel(portion), in_vessel(&residue.lot.value)) else { continue };
        if before.vessel.as_ref().map(|v| &v.value) != after.vessel.as_ref().map(|v| &v.value) {
            continue;
        }
        // The last time it was weighed empty before the portion came in.
        let vessel = before.vessel.as_ref().map_or("", |v| v.value.as_str());
        let place = |id: &str| standing(preparation).position(|(_, r)| r.id.value == id);
        let empty = empty_readings(preparation, vessel)
            .filter(|r| place(&r.id.value) < place(&before.id.value))
            .last()
            .or_else(|| empty_readings(preparation, vessel).next());
        let empty_id = empty.map_or_else(String::new, |r| r.id.value.clone());
        let figures = (
            empty.map_or_else(|| tare_figure(preparation, vessel), |r| figure_of(preparation, r)),
            figure_of(preparation, before),
            figure_of(preparation, after),
        );
        if let (Some(empty), Some(with_portion), Some(with_residue)) = figures {
            let weighings = PortionWeighings { empty, with_portion, with_residue };
            let readings = [empty_id.as_str(), &before.id.value, &after.id.value].map(str::to_owned);
            tests.push(PortionTest { bulk: &bulk.source.value, step, weighings, readings });
        }
    }
    tests
}

/// The solid that a residue is taken for: the first pattern that holds the element.
fn residue_species(step: &Step, element: Element) -> Option<&Species> {
    step.may_hold
        .iter()
        .map(|p| p.value.species())
        .find(|s| s.phase == Some(Phase::Solid) && *s.formula.count(element).numer() != 0)
}

fn fraction(species: &Species, element: Element) -> f64 {
    species.formula.mass_fraction(element)
}

/// Element charged by the label alone, kg: mean, standard uncertainty, and the most that is possible.
pub(crate) struct LabelFeed {
    pub mean: f64,
    pub standard_uncertainty: f64,
    pub most: f64,
    /// The least that is possible.
    pub least: f64,
    /// What the labels state, where goods are known to scatter about it.
    pub stated: f64,
    /// What each charge brings.
    pub parts: Vec<FeedPart>,
}

impl LabelFeed {
    /// The richest reading of the supplies that bring the element, in words.
    pub fn richest(&self, element: Element) -> String {
        let words = |part: &FeedPart| match part.unit {
            Some(unit) => {
                let each = part.best * unit * part.richest_content * 1e6;
                format!("{} with up to {each:.1} mg {} each", part.supply, element.symbol())
            }
            None => format!("{} as {:.0} % {}", part.supply, part.best * 100.0, part.richest),
        };
        self.parts.iter().map(words).collect::<Vec<_>>().join(", ")
    }
}

/// What one charge brings of an element by its label, at the richest reading.
pub(crate) struct FeedPart {
    /// Supply.
    pub supply: String,
    /// The richest substance it may hold.
    pub richest: Species,
    /// Mass fraction of the element in that substance.
    pub richest_content: f64,
    /// Largest mass fraction of that substance in the supply.
    pub best: f64,
    /// Mass of one unit, kg, where the supply is counted.
    pub unit: Option<f64>,
    /// Element it brings at most, kg.
    pub most: f64,
    /// What is found in such goods as a share of the label, if the file says.
    pub of_label: Option<Knowledge>,
}

/// What the labels say was charged of an element. An unknown mix is taken with equal shares (flat Dirichlet).
pub(crate) fn label_feed(preparation: &Preparation, compiled: &Compiled, element: Element) -> LabelFeed {
    let (mut mean, mut variance, mut most, mut least, mut stated) = (0.0, 0.0, 0.0, 0.0, 0.0);
    let mut parts = Vec::new();
    for charge in &compiled.charges {
        let Some(supply) = compiled.supplies[charge.supply].and_then(|i| preparation.supplies.get(i)) else { continue };
        let contents: Vec<f64> = supply.holds.iter().map(|s| fraction(&s.value, element)).collect();
        let richest =
            supply.holds.iter().max_by(|a, b| fraction(&a.value, element).total_cmp(&fraction(&b.value, element)));
        let Some(richest) = richest.map(|s| &s.value).filter(|s| fraction(s, element) > 0.0) else { continue };
        let richest_content = fraction(richest, element);
        let poorest_content = contents.iter().copied().fold(richest_content, f64::min);
        let count = contents.len() as f64;
        let middle = contents.iter().sum::<f64>() / count;
        let spread = (contents.iter().map(|c| (c - middle).powi(2)).sum::<f64>() / (count * (count + 1.0))).sqrt();
        let (assay, u_assay, worst, best) = moments(supply.assay);
        let kept: f64 = supply.took_up.iter().map(|(_, fraction)| 1.0 - fraction.central()).product();
        let uptake = supply.took_up.iter().map(|(_, fraction)| moments(*fraction).1.powi(2)).sum::<f64>().sqrt();
        let (assay, u_assay) = (assay * kept, (u_assay * kept).hypot(assay * uptake));
        let kept_at_least: f64 = supply.took_up.iter().map(|(_, fraction)| 1.0 - fraction.bounds().1).product();
        let worst = worst * kept_at_least;
        // A lot of another preparation brings its content and not a mix.
        let (middle, spread, richest_content, poorest_content) = match &supply.brought {
            Some(brought) => {
                let [mean, u, high] = brought.fraction(element);
                (mean, u, high, (mean - 2.0 * u).max(0.0))
            }
            None => (middle, spread, richest_content, poorest_content),
        };
        let step = &preparation.steps[charge.step];
        let taken = step.take.iter().find(|t| t.source.value == charge.name).map(|t| t.amount.value);
        let (mass, u_mass) = match taken {
            Some(TakeAmount::Mass(Knowledge::Normal { value, standard_uncertainty })) => (value, standard_uncertainty),
            Some(TakeAmount::Mass(other)) => (other.central(), 0.0),
            _ => continue,
        };
        // A recorded charge replaces the planned one.
        let mass = recorded_charge(preparation, step, &charge.name).unwrap_or(mass);
        mean += mass * assay * middle;
        variance +=
            (mass * u_assay * middle).powi(2) + (mass * assay * spread).powi(2) + (u_mass * assay * middle).powi(2);
        most += mass * best * richest_content;
        least += mass * worst * poorest_content;
        stated += mass * assay * middle / supply.of_label.map_or(1.0, Knowledge::central);
        parts.push(FeedPart {
            supply: charge.name.clone(),
            richest: richest.clone(),
            richest_content,
            best,
            // A content by the unit is what the label counts; a mass fraction needs no unit.
            unit: supply.measure.unit.filter(|_| supply.by_unit).map(Knowledge::central),
            most: mass * best * richest_content,
            of_label: supply.of_label,
        });
    }
    LabelFeed { mean, standard_uncertainty: variance.sqrt(), most, least, stated, parts }
}

/// The mass at which a charge was recorded, kg, without the vessel it was weighed in.
fn recorded_charge(preparation: &Preparation, step: &Step, name: &str) -> Option<f64> {
    let (_, reading) = standing(preparation).find(|(s, r)| {
        s.name.value == step.name.value && r.weigh.is_some() && r.charge.as_ref().is_some_and(|c| c.value == name)
    })?;
    let tare = match &reading.vessel {
        Some(vessel) => empty_figure(preparation, &vessel.value, None)?,
        None => 0.0,
    };
    Some(reading.weigh.as_ref()?.value - tare)
}

/// Mean, standard deviation, lower and upper end of what is known of a fraction.
fn moments(knowledge: Knowledge) -> (f64, f64, f64, f64) {
    match knowledge {
        Knowledge::Exact(value) => (value, 0.0, value, value),
        Knowledge::About(mean) => (mean, mean, 0.0, 1.0),
        Knowledge::Normal { value, standard_uncertainty } => {
            let reach = 2.0 * standard_uncertainty;
            (value, standard_uncertainty, (value - reach).max(0.0), (value + reach).min(1.0))
        }
        Knowledge::Between { low, high } => (0.5 * (low + high), (high - low) / 12f64.sqrt(), low, high),
        Knowledge::Usually { low, high } => ((low * high).sqrt(), 0.25 * (high - low), low, high.min(1.0)),
    }
}

/// Yields as people would quote them.
pub(crate) fn quoted(preparation: &Preparation, feed: &LabelFeed, element: Element) -> Vec<QuotedYield> {
    let mut list = Vec::new();
    for step in &preparation.steps {
        let Some(lot) = step.gives.first().map(|g| g.lot.value.as_str()) else { continue };
        let Some((bulk, slope)) = weighed_bulk(preparation, lot) else { continue };
        for formula in &step.quote_as {
            let content = fraction(&formula.value, element);
            let exact = gravimetric::Figure { value: 1.0, standard_uncertainty: 0.0 };
            let mass = gravimetric::element_in_bulk(bulk, slope, exact, content);
            list.push(quote(
                lot,
                formula.value.to_string(),
                "mass taken for the formula",
                mass,
                feed,
                element,
                Status::Assumed,
            ));
        }
    }
    for test in portion_tests(preparation) {
        let (Some((bulk, slope)), Some(residue), Some(r)) = (
            weighed_bulk(preparation, test.bulk),
            residue_species(test.step, element),
            test.weighings.residue_fraction(),
        ) else {
            continue;
        };
        let mass = gravimetric::element_in_bulk(bulk, slope, r, fraction(residue, element));
        let method = "ignition of a portion, residue taken for pure";
        let mut told = quote(test.bulk, residue.to_string(), method, mass, feed, element, Status::Derived);
        told.doubt = test.doubt().or_else(|| {
            let most = feed.most + 2.0 * mass.standard_uncertainty;
            (mass.value > most).then(|| format!("at most {:.2} g {} were charged", feed.most * 1e3, element.symbol()))
        });
        told.readings = test.readings.to_vec();
        list.push(told);
    }
    list
}

fn quote(
    lot: &str,
    formula: String,
    method: &str,
    mass: gravimetric::Figure,
    feed: &LabelFeed,
    element: Element,
    status: Status,
) -> QuotedYield {
    let whole = gravimetric::Figure { value: feed.stated, standard_uncertainty: feed.standard_uncertainty };
    let share = gravimetric::quotient(mass, whole);
    let basis = Some(format!("element {}", element.symbol()));
    QuotedYield {
        lot: lot.to_owned(),
        as_formula: formula,
        method: method.to_owned(),
        element_mass: Figure {
            value: mass.value * 1e3,
            standard_uncertainty: Some(mass.standard_uncertainty * 1e3),
            unit: "g",
            basis: basis.clone(),
            status,
            sources: vec!["readings".to_owned()],
        },
        percent: Figure {
            value: share.value * 100.0,
            standard_uncertainty: Some(share.standard_uncertainty * 100.0),
            unit: "%",
            basis,
            status,
            sources: vec!["readings".to_owned(), "label".to_owned()],
        },
        doubt: None,
        readings: Vec::new(),
    }
}

/// Losses on heating beside those of pure substances.
pub(crate) fn levels(preparation: &Preparation, element: Element) -> Vec<LossLevel> {
    let mut list = Vec::new();
    for test in portion_tests(preparation).into_iter().filter(|test| test.doubt().is_none()) {
        let (Some(residue), Some(r)) = (residue_species(test.step, element), test.weighings.residue_fraction()) else {
            continue;
        };
        let exchange = exchanged(test.step.atmosphere);
        let giver = preparation.steps.iter().find(|s| s.gives.iter().any(|g| g.lot.value == test.bulk));
        let mut levels = Vec::new();
        for pattern in giver.map_or(&[][..], |s| &s.may_hold) {
            for (name, formula) in members(&pattern.value) {
                let Some(loss) = loss_to(&formula, residue, &exchange) else { continue };
                let distance = (loss - (1.0 - r.value)).abs() / r.standard_uncertainty;
                levels.push((name, loss * 100.0, distance));
            }
        }
        list.push(LossLevel {
            lot: test.bulk.to_owned(),
            residue: residue.to_string(),
            observed: Figure {
                value: (1.0 - r.value) * 100.0,
                standard_uncertainty: Some(r.standard_uncertainty * 100.0),
                unit: "%",
                basis: Some("mass of the portion as weighed".to_owned()),
                status: Status::Measured,
                sources: vec!["readings".to_owned()],
            },
            levels,
            readings: test.readings.to_vec(),
        });
    }
    list
}

/// Pure members of a pattern: the species, or a family at its ends and its middle.
pub(crate) fn members(pattern: &SpeciesPattern) -> Vec<(String, Species)> {
    match pattern {
        SpeciesPattern::One(species) => vec![(species.to_string(), species.clone())],
        SpeciesPattern::Family { anhydrous, low, high, .. } => [*low, 0.5 * (low + high), *high]
            .into_iter()
            .filter_map(|n| {
                let formula = if n == 0.0 {
                    anhydrous.formula.clone()
                } else {
                    Formula::parse(&format!("({})2·{}H2O", anhydrous.formula.text(), 2.0 * n)).ok()?
                };
                let name = if n == 0.0 {
                    anhydrous.to_string()
                } else {
                    format!("{anhydrous} with {} H2O", (n * 1e4).round() / 1e4)
                };
                Some((name, Species::new(formula, anhydrous.phase)))
            })
            .collect(),
    }
}

/// Loss when a pure substance becomes the residue.
fn loss_to(from: &Species, residue: &Species, exchange: &[Species]) -> Option<f64> {
    let terms = conversion(from, residue, exchange)?;
    let (_, gives) = terms.iter().find(|(s, _)| s == residue)?;
    let mass = |s: &Species| s.formula.molar_mass().ok().map(|m| m.value);
    Some(1.0 - to_f64(*gives) * mass(residue)? / mass(from)?)
}

/// Whether any listed conversion of a heated step gains mass.
pub(crate) fn may_gain(table: &SpeciesTable, compiled: &Compiled, step: &Step) -> bool {
    let exchange = exchanged(step.atmosphere);
    let sources = step
        .take
        .iter()
        .filter_map(|t| compiled.lot(&t.source.value))
        .flat_map(|l| compiled.lots[l].contents.iter().map(|s| table.species(*s).clone()))
        .collect::<Vec<_>>();
    step.may_hold
        .iter()
        .any(|p| sources.iter().any(|s| loss_to(s, p.value.species(), &exchange).is_some_and(|loss| loss < 0.0)))
}
