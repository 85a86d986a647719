//! The plan: what to expect at every weighing, before anything is weighed.
//!
//! The ledger is run on its priors, every composition that `may_hold` allows counting alike. Readings get the
//! scatter of their balance on top. The feed for a wanted product is found by scaling all charges together:
//! fractions scale, films do not.

use super::alternatives::{combinations, everything};
use super::books::Roles;
use super::compile::{Compiled, LotKind, Variation, compile};
use super::direct::standing;
use super::findings::{assumptions, finding};
use super::interval;
use super::table::SpeciesTable;
use crate::model::{Action, Preparation, Step};
use crate::outcome::{Expectation, Feed, Finding, Interval, Limiting, Plan, PlannedStep, Severity, Water, WeighOut};
use chem::{Formula, Phase, Species};
use engine::account::hypercube::latin_hypercube;
use engine::account::reading::Weighing;
use engine::ledger::{SpeciesIndex, Value, Workspace};

/// Draws from the prior, over all compositions together.
const DRAWS: usize = 4000;
/// Chance for which the feed is computed.
const CHANCE: f64 = 0.9;

/// Plans a preparation.
#[must_use]
pub fn plan(preparation: &Preparation) -> Plan {
    let mut table = SpeciesTable::default();
    let everything = everything(preparation, &mut table, Variation::PLAIN);
    let (alternatives, _) = combinations(&everything, preparation);
    let models: Vec<Compiled> = alternatives
        .iter()
        .map(|(a, _)| compile(preparation, &mut table, Variation { alternative: Some(a), ..Variation::PLAIN }))
        .collect();
    let forecast = Forecast::run(preparation, &table, &models, &everything);
    let mut findings = reagent_findings(preparation, &table, &everything);
    findings.extend(assumptions(preparation, &everything).into_iter().filter(|f| f.code != "charge-not-recorded"));
    Plan {
        title: preparation.title.clone(),
        limiting: forecast.limiting(),
        water: forecast.water(),
        feed: feed(preparation, &table, &models, &everything),
        frozen: None,
        steps: preparation.steps.iter().enumerate().map(|(i, step)| forecast.step(i, step)).collect(),
        weigh_out: forecast.weigh_out(),
        findings,
    }
}

/// Columns of prior draws.
struct Forecast<'a> {
    preparation: &'a Preparation,
    table: &'a SpeciesTable,
    everything: &'a Compiled,
    weights: Vec<f64>,
    /// One column for each planned reading: displayed figure, and mass without the vessel, kg.
    figures: Vec<(Vec<f64>, Vec<f64>)>,
    /// One column for each lot: mass, kg.
    masses: Vec<Vec<f64>>,
    /// Gases vented in each step, kg: (step, species) columns.
    gases: Vec<(usize, SpeciesIndex, Vec<f64>)>,
    /// For each noted reaction: which species limited, and what each would have allowed.
    limits: Vec<Vec<(usize, [f64; 4])>>,
    /// For each charge: mass, kg.
    charged: Vec<Vec<f64>>,
    /// Water charged, and water brought by hydrates, kg.
    water: (Vec<f64>, Vec<f64>),
}

impl<'a> Forecast<'a> {
    fn run(
        preparation: &'a Preparation,
        table: &'a SpeciesTable,
        models: &[Compiled],
        everything: &'a Compiled,
    ) -> Self {
        let mut forecast = Self {
            preparation,
            table,
            everything,
            weights: Vec::new(),
            figures: vec![(Vec::new(), Vec::new()); everything.planned.len()],
            masses: vec![Vec::new(); everything.lots.len()],
            gases: vented_species(everything, table).into_iter().map(|(i, s)| (i, s, Vec::new())).collect(),
            limits: vec![Vec::new(); everything.notes.len()],
            charged: vec![Vec::new(); everything.charges.len()],
            water: (Vec::new(), Vec::new()),
        };
        let each = (DRAWS / models.len().max(1)).max(100);
        for (k, model) in models.iter().enumerate() {
            forecast.add(model, each, k as u64 + 1);
        }
        #[allow(clippy::cast_precision_loss)]
        let weight = 1.0 / forecast.weights.len().max(1) as f64;
        forecast.weights.fill(weight);
        forecast
    }

    fn add(&mut self, model: &Compiled, count: usize, seed: u64) {
        let ledger = &model.ledger;
        let dimension = ledger.unknowns.len();
        // Further coordinates carry the scatter of the readings.
        let width = dimension + model.planned.len();
        let points = latin_hypercube(count, width, seed);
        let mut room = Workspace::<f64>::new(ledger);
        for point in points.chunks(width.max(1)) {
            let (z, scatter) = point.split_at(dimension);
            ledger.run(z, &mut room);
            self.weights.push(1.0);
            for ((column, (_, weighing)), z) in self.figures.iter_mut().zip(&model.planned).zip(scatter) {
                let balance = &model.balances[weighing.balance];
                let figure = weighing.expected(ledger, balance, &room) + z * balance.deviation();
                let net = Weighing { vessel: None, ..weighing.clone() }.expected(ledger, balance, &room)
                    + z * balance.deviation();
                column.0.push(figure);
                column.1.push(net);
            }
            for (lot, column) in self.masses.iter_mut().enumerate() {
                column.push(ledger.mass(room.given(lot)));
            }
            for (step, species, column) in &mut self.gases {
                let vent = model.lots.iter().position(|l| l.kind == LotKind::Vent && l.step == *step);
                column.push(vent.map_or(0.0, |v| room.now(v)[*species] * ledger.molar_mass[*species]));
            }
            for (note, column) in self.limits.iter_mut().enumerate() {
                column.push((room.limiting[note], room.allowed[note]));
            }
            self.add_charges(model, &room);
        }
    }

    fn add_charges(&mut self, model: &Compiled, room: &Workspace<f64>) {
        let (mut plain, mut bound) = (0.0, 0.0);
        for (charge, column) in model.charges.iter().zip(&mut self.charged) {
            let mass = resolve(charge.mass, room);
            #[allow(clippy::cast_precision_loss)]
            let total = mass * charge.times as f64;
            column.push(total);
            let supply = &model.ledger.supplies[charge.supply];
            let mut left = resolve(supply.assay, room);
            for (species, stick) in &supply.parts {
                let part = left * resolve(*stick, room);
                left -= part;
                let kind = self.table.species(*species);
                if kind.formula.same_substance(&Formula::water()) {
                    plain += total * part;
                } else {
                    bound += total * part * hydrate_water_fraction(kind);
                }
            }
        }
        self.water.0.push(plain);
        self.water.1.push(bound);
    }

    fn grams(&self, values: &[f64], basis: Option<&str>) -> Interval {
        let grams: Vec<f64> = values.iter().map(|v| v * 1e3).collect();
        interval(&grams, &self.weights, "g", basis)
    }

    fn limiting(&self) -> Vec<Limiting> {
        let mut list = Vec::new();
        for (note, record) in self.everything.notes.iter().enumerate() {
            let mut own: Vec<Limiting> = record
                .consumed
                .iter()
                .enumerate()
                .take(4)
                .filter(|(_, species)| !self.table.species(**species).formula.same_substance(&Formula::water()))
                .map(|(k, species)| {
                    let hits = self.limits[note].iter().filter(|(limit, _)| *limit == k).count();
                    let reach: Vec<f64> = self.limits[note]
                        .iter()
                        .map(|(_, allowed)| 100.0 * allowed[k] / others(allowed, k, record.consumed.len()))
                        .collect();
                    #[allow(clippy::cast_precision_loss)]
                    let probability = hits as f64 / self.weights.len().max(1) as f64;
                    Limiting {
                        step: self.preparation.steps[record.step].name.value.clone(),
                        reaction: record.text.clone(),
                        reagent: self.table.species(*species).to_string(),
                        probability,
                        reach: interval(&reach, &self.weights, "%", Some("of what the other reagents need")),
                    }
                })
                .collect();
            own.sort_by(|a, b| b.probability.total_cmp(&a.probability));
            list.extend(own);
        }
        list
    }

    fn water(&self) -> Water {
        let total: Vec<f64> = self.water.0.iter().zip(&self.water.1).map(|(a, b)| a + b).collect();
        Water {
            charged: self.grams(&self.water.0, Some("charged as water")),
            from_hydrates: self.grams(&self.water.1, Some("brought by hydrates")),
            total: self.grams(&total, Some("all water charged")),
        }
    }

    fn weigh_out(&self) -> Vec<WeighOut> {
        self.everything
            .charges
            .iter()
            .zip(&self.charged)
            .map(|(charge, column)| {
                let supply = self.everything.supplies[charge.supply].and_then(|i| self.preparation.supplies.get(i));
                WeighOut {
                    supply: charge.name.clone(),
                    label: supply.map_or_else(String::new, |s| s.label.clone()),
                    step: self.preparation.steps[charge.step].name.value.clone(),
                    amount: self.grams(column, Some("as sold")),
                }
            })
            .collect()
    }

    fn step(&self, i: usize, step: &Step) -> PlannedStep {
        let lots = (0..self.everything.lots.len())
            .filter(|l| self.everything.lots[*l].step == i && self.everything.lots[*l].named)
            .map(|l| (self.everything.lots[l].name.clone(), self.grams(&self.masses[l], Some("as it stands"))))
            .collect();
        let vents = self
            .gases
            .iter()
            .filter(|(own, _, _)| *own == i)
            .map(|(_, s, column)| (self.table.species(*s).to_string(), self.grams(column, Some("leaves"))))
            .filter(|(_, mass)| mass.high > 1e-3)
            .collect();
        PlannedStep {
            name: step.name.value.clone(),
            action: step.action.value.word().to_owned(),
            instruction: instruction(step),
            cautions: step.cautions.clone(),
            expects: self.expectations(i),
            gives: lots,
            vents,
        }
    }

    fn expectations(&self, i: usize) -> Vec<Expectation> {
        self.everything
            .planned
            .iter()
            .zip(&self.figures)
            .filter(|((place, _), _)| place.step == i)
            .map(|((place, weighing), (figures, net))| {
                let reading = &self.preparation.steps[i].readings[place.reading];
                let vessel = reading.vessel.as_ref().map(|v| v.value.as_str());
                let known = vessel.is_none_or(|name| {
                    self.preparation.vessels.iter().any(|v| v.name.value == name && v.mass.is_some())
                });
                let interval = if known {
                    Some(self.grams(figures, Some("as displayed")))
                } else if weighing.lot.is_some() || weighing.charge.is_some() {
                    Some(self.grams(net, Some(&format!("above the empty {}", vessel.unwrap_or_default()))))
                } else {
                    None
                };
                let what = match (&reading.of, &reading.charge, vessel) {
                    (Some(of), _, Some(vessel)) => format!("{} in {vessel}", of.value),
                    (Some(of), _, None) => of.value.clone(),
                    (None, Some(charge), _) => format!("charge of {}", charge.value),
                    (None, None, vessel) => format!("empty {}", vessel.unwrap_or_default()),
                };
                let tare = if known { Some(0.0) } else { self.empty_figure(vessel) };
                let holds_something = weighing.lot.is_some() || weighing.charge.is_some();
                let tare = if holds_something { tare } else { Some(0.0) };
                let found = reading.weigh.as_ref().zip(tare).map(|(w, tare)| (w.value - tare) * 1e3);
                let displayed = reading.weigh.as_ref().map(|_| reading.text.clone());
                Expectation { reading: reading.id.value.clone(), what, interval, found, displayed }
            })
            .collect()
    }

    /// The figure at which an empty vessel was read, kg.
    fn empty_figure(&self, vessel: Option<&str>) -> Option<f64> {
        standing(self.preparation)
            .map(|(_, r)| r)
            .find(|r| r.of.is_none() && r.charge.is_none() && r.vessel.as_ref().map(|v| v.value.as_str()) == vessel)
            .and_then(|r| r.weigh.as_ref().map(|w| w.value))
    }
}

fn resolve(value: Value, room: &Workspace<f64>) -> f64 {
    match value {
        Value::Constant(x) => x,
        Value::Unknown(i) => room.unknowns().get(i).copied().unwrap_or(f64::NAN),
    }
}

/// What the scarcest of the other reagents (water aside) would allow.
fn others(allowed: &[f64; 4], k: usize, count: usize) -> f64 {
    allowed.iter().take(count).enumerate().filter(|(j, _)| *j != k).map(|(_, a)| *a).fold(f64::INFINITY, f64::min)
}

fn hydrate_water_fraction(species: &Species) -> f64 {
    let dry = species.formula.without_hydrate_water();
    match (dry.molar_mass(), species.formula.molar_mass()) {
        (Ok(dry), Ok(whole)) => 1.0 - dry.value / whole.value,
        _ => 0.0,
    }
}

fn vented_species(compiled: &Compiled, table: &SpeciesTable) -> Vec<(usize, SpeciesIndex)> {
    let mut list = Vec::new();
    for record in compiled.lots.iter().filter(|l| l.kind == LotKind::Vent) {
        for s in 0..table.len() {
            if table.species(s).phase == Some(Phase::Gas) {
                list.push((record.step, s));
            }
        }
    }
    list
}

/// What to do, in a sentence.
fn instruction(step: &Step) -> String {
    let takes: Vec<String> = step
        .take
        .iter()
        .map(|t| {
            if t.text == "all" {
                format!("all of {}", t.source.value)
            } else {
                format!("{} {}", t.text, t.source.value)
            }
        })
        .collect();
    let verb = match step.action.value {
        Action::Dissolve => "Dissolve",
        Action::Precipitate => "Precipitate: bring together",
        Action::Filter => "Filter",
        Action::Dry => "Dry",
        Action::Divide => "Divide",
        Action::Ignite => "Ignite",
        Action::Combine => "Combine",
    };
    let mut text = format!("{verb} {}", takes.join(", "));
    if let Some(wash) = &step.wash {
        text.push_str(&format!("; wash {}", wash.text));
    }
    if let Some(temperature) = &step.temperature {
        text.push_str(&format!(" at {temperature}"));
    }
    if let Some(atmosphere) = &step.atmosphere {
        text.push_str(&format!(" in {atmosphere}"));
    }
    text.push('.');
    let gives: Vec<String> = step
        .gives
        .iter()
        .map(|g| if g.text == "all" { g.lot.value.clone() } else { format!("{} ({})", g.lot.value, g.text) })
        .collect();
    if !gives.is_empty() {
        text.push_str(&format!(" Gives {}.", gives.join(", ")));
    }
    if let Some(note) = &step.note {
        text.push_str(&format!(" {note}"));
    }
    text
}

/// Reagents that may fall short of the element accounted for, with the pure forms of the supply as limits.
fn reagent_findings(preparation: &Preparation, table: &SpeciesTable, everything: &Compiled) -> Vec<Finding> {
    let Some(element) = preparation.account_for.first().copied() else { return Vec::new() };
    let mut list = Vec::new();
    for (note, record) in everything.notes.iter().enumerate() {
        let holds = |s: &SpeciesIndex| *table.species(*s).formula.count(element).numer() != 0;
        let Some(main) = record.consumed.iter().position(holds) else { continue };
        for (k, species) in record.consumed.iter().enumerate().take(4) {
            let kind = table.species(*species);
            if k == main || kind.formula.same_substance(&Formula::water()) {
                continue;
            }
            let reaches = reach_of_pure_forms(preparation, table, everything, note, record.step, k, main);
            let least = reaches.iter().map(|(_, r)| *r).fold(f64::INFINITY, f64::min);
            if least >= 99.0 || reaches.is_empty() {
                continue;
            }
            let step = &preparation.steps[record.step];
            let forms: Vec<String> =
                reaches.iter().map(|(form, reach)| format!("{reach:.0} % if it is {form}")).collect();
            let message = format!(
                "{kind} limits in step `{}`: it reaches for only part of the {}: {}",
                step.name.value,
                element.symbol(),
                forms.join(", ")
            );
            let source = step.take.iter().find(|t| supplies_species(preparation, &t.source.value, kind));
            let span = source.map_or(&step.name.span, |t| &t.amount.span);
            let hint =
                "reckon the charge from the form that is in the bag; a hydrate weighs more than the anhydrous salt";
            list.push(finding("reagent-limits", Severity::Warning, Some(span), message, hint));
        }
    }
    list
}

/// Whether a supply brings a dissolved species.
fn supplies_species(preparation: &Preparation, supply: &str, species: &Species) -> bool {
    preparation.supply(supply).is_some_and(|i| {
        preparation.supplies[i]
            .holds
            .iter()
            .any(|h| h.value.formula.without_hydrate_water().same_substance(&species.formula.without_hydrate_water()))
    })
}

/// How far a reagent reaches if its supply were all one of the forms it may hold, %, at the median of the rest.
fn reach_of_pure_forms(
    preparation: &Preparation,
    table: &SpeciesTable,
    everything: &Compiled,
    note: usize,
    step: usize,
    reagent: usize,
    main: usize,
) -> Vec<(String, f64)> {
    let kind = table.species(everything.notes[note].consumed[reagent]);
    let supply = preparation.steps[step]
        .take
        .iter()
        .map(|t| t.source.value.as_str())
        .find(|name| supplies_species(preparation, name, kind))
        .and_then(|name| preparation.supply(name));
    let run = |ledger: &engine::ledger::Ledger| {
        let mut room = Workspace::<f64>::new(ledger);
        ledger.run(&vec![0.0; ledger.unknowns.len()], &mut room);
        100.0 * room.allowed[note][reagent] / room.allowed[note][main]
    };
    let Some(supply) = supply else { return vec![("as charged".to_owned(), run(&everything.ledger))] };
    (0..everything.ledger.supplies[supply].parts.len())
        .map(|form| {
            let mut ledger = everything.ledger.clone();
            for (i, (_, stick)) in ledger.supplies[supply].parts.iter_mut().enumerate() {
                *stick = Value::Constant(if i == form { 1.0 } else { 0.0 });
            }
            let species = everything.ledger.supplies[supply].parts[form].0;
            (table.species(species).to_string(), run(&ledger))
        })
        .collect()
}

/// Feed for the target: the factor on all charges that reaches it with the wanted chance.
fn feed(preparation: &Preparation, table: &SpeciesTable, models: &[Compiled], everything: &Compiled) -> Option<Feed> {
    let target = preparation.target.as_ref()?;
    let wanted = target.amount?;
    let element = preparation.account_for.first().copied()?;
    let counts = table.counts(element);
    let product = Roles::of(everything, preparation).product?;
    let product_index = (0..table.len()).find(|s| *table.species(*s) == target.substance)?;
    let (position, charge) = everything
        .charges
        .iter()
        .enumerate()
        .find(|(_, c)| everything.ledger.supplies[c.supply].parts.iter().any(|(s, _)| counts[*s] > 0.0))?;
    let yields = |scale: f64| -> Vec<(f64, f64)> {
        let each = (1000 / models.len().max(1)).max(50);
        let mut list = Vec::new();
        for (k, model) in models.iter().enumerate() {
            let dimension = model.ledger.unknowns.len();
            let points = latin_hypercube(each, dimension, k as u64 + 1);
            let mut room = Workspace::<f64>::new(&model.ledger);
            room.scale = scale;
            for z in points.chunks(dimension.max(1)) {
                model.ledger.run(z, &mut room);
                let made = room.given(product)[product_index] * model.ledger.molar_mass[product_index];
                list.push((made, resolve(model.charges[position].mass, &room) * scale));
            }
        }
        list
    };
    let quantile = |scale: f64, p: f64| {
        let mut made: Vec<f64> = yields(scale).iter().map(|(m, _)| *m).collect();
        made.sort_by(f64::total_cmp);
        #[allow(clippy::cast_precision_loss, clippy::cast_possible_truncation, clippy::cast_sign_loss)]
        let index = (p * made.len() as f64) as usize;
        made.get(index).copied().unwrap_or(0.0)
    };
    let scale_for = |p: f64| {
        // The product rises almost in proportion to the scale: a few secant steps are enough.
        let mut scale = 1.0;
        for _ in 0..8 {
            let made = quantile(scale, p);
            if made <= 0.0 {
                return None;
            }
            let next = scale * wanted / made;
            let done = (next / scale - 1.0).abs() < 1e-5;
            scale = next;
            if done {
                break;
            }
        }
        Some(scale)
    };
    let (even, likely) = (scale_for(0.5)?, scale_for(1.0 - CHANCE)?);
    let needs: Vec<f64> =
        yields(even).iter().filter(|(made, _)| *made > 0.0).map(|(made, fed)| fed * wanted / made * 1e3).collect();
    #[allow(clippy::cast_precision_loss)]
    let weights = vec![1.0 / needs.len().max(1) as f64; needs.len()];
    let mass = resolve_planned(charge.mass, everything);
    Some(Feed {
        target: format!("{} g {}", number(wanted * 1e3), target.substance),
        supply: charge.name.clone(),
        amount: interval(&needs, &weights, "g", Some("as sold")),
        chance: CHANCE,
        for_chance: mass * likely * 1e3,
    })
}

/// A number without trailing zeros.
fn number(value: f64) -> String {
    format!("{:.6}", value).trim_end_matches('0').trim_end_matches('.').to_owned()
}

/// Planned value of a charge: at the median of its prior.
fn resolve_planned(value: Value, compiled: &Compiled) -> f64 {
    match value {
        Value::Constant(x) => x,
        Value::Unknown(i) => compiled.ledger.unknowns.get(i).map_or(f64::NAN, |u| u.image(0.0)),
    }
}
