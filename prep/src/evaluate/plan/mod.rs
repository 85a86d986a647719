//! The plan: what to expect at every weighing, before anything is weighed.
//!
//! The ledger is run on its priors, every composition that `may_hold` allows counting alike. Readings get the
//! scatter of their balance on top. The feed for a wanted product is found by scaling all charges together:
//! fractions scale, films do not.

mod again;
mod beside;
mod brought;
mod extremes;
mod feed;
mod load;
mod reagents;
mod solution;
mod volume;
mod waste;

pub use again::plan_again;
pub(super) use beside::not_made;
use brought::Brought;
use feed::feed;
use reagents::reagent_findings;
use volume::{Gas, Vessels};

use super::alternatives::{combinations, compile_each, everything};
use super::compile::{Compiled, LotKind, Variation};
use super::cost::cost;
use super::direct::tare;
use super::findings::{absent_reagents, assumptions};
use super::spent::Spent;
use super::stock::stock;
use super::table::SpeciesTable;
use super::timeline::timeline;
use super::{interval, placed, resolve, series};
use crate::model::{Preparation, Step};
use crate::outcome::{Expectation, Finding, Interval, Limiting, Plan, PlannedStep, Water, WeighOut};
use chem::Phase;
use engine::account::hypercube::latin_hypercube;
use engine::account::reading::Weighing;
use engine::ledger::{SpeciesIndex, Workspace};
use rayon::prelude::*;

/// Draws from the prior, over all compositions together.
const DRAWS: usize = 4000;
/// Draws that one core makes at a time.
const AT_A_TIME: usize = 500;

/// Plans a preparation.
#[must_use]
pub fn plan(preparation: &Preparation) -> Plan {
    let mut table = SpeciesTable::default();
    let everything = everything(preparation, &mut table, Variation::FORECAST);
    let (alternatives, _) = combinations(&everything, preparation);
    let models = compile_each(preparation, &mut table, Variation::FORECAST, &alternatives);
    // What to feed is asked of draws of its own.
    let ((forecast, told), feed) = rayon::join(
        || {
            let forecast = Forecast::run(preparation, &table, &models, &everything);
            let told = forecast.steps();
            (forecast, told)
        },
        || feed(preparation, &table, &models, &everything),
    );
    let mut findings = reagent_findings(preparation, &table, &everything);
    findings.extend(absent_reagents(preparation, &table, &everything));
    findings.extend(assumptions(preparation, &everything).into_iter().filter(|f| f.code != "charge-not-recorded"));
    findings.extend(extremes::extremes(preparation, &everything, &forecast.masses));
    findings.extend(not_made(preparation, &everything));
    findings.extend(beside::expected(preparation, &everything));
    let spent = Spent::new(preparation, &everything, &forecast.charged, &forecast.weights, false);
    let (stock, short) = stock(&spent);
    findings.extend(short);
    let filled = preparation.steps.iter().zip(&told);
    findings.extend(filled.filter_map(|(step, told)| volume::warning(step, told.vessel.as_ref()?)));
    findings.extend(forecast.loads());
    findings.extend(series::findings(preparation, &series::series(preparation)));
    Plan {
        title: preparation.title.clone(),
        limiting: forecast.limiting(),
        water: forecast.water(),
        feed,
        frozen: None,
        steps: told,
        weigh_out: forecast.weigh_out(),
        cost: cost(&spent),
        stock,
        timeline: timeline(preparation),
        screening: crate::outcome::Screening::default(),
        waste: waste::waste(preparation, &table, &everything),
        findings: placed(preparation, findings),
    }
}

/// Columns of prior draws.
#[derive(Clone)]
struct Forecast<'a> {
    preparation: &'a Preparation,
    table: &'a SpeciesTable,
    everything: &'a Compiled,
    weights: Vec<f64>,
    /// One column for each planned test: what it would read, SI.
    tests: Vec<Vec<f64>>,
    /// One column for each planned reading: displayed figure, and mass without the vessel, kg.
    figures: Vec<(Vec<f64>, Vec<f64>)>,
    /// One column for each lot: mass, kg.
    masses: Vec<Vec<f64>>,
    /// Gases vented in each step, kg: (step, species) columns.
    gases: Vec<(usize, SpeciesIndex, Vec<f64>)>,
    /// For each noted reaction: which species limited, and what each would have allowed.
    limits: Vec<Vec<(usize, Vec<f64>)>>,
    /// For each charge: mass, kg.
    charged: Vec<Vec<f64>>,
    /// For each charge: what it brings.
    brought: Vec<Brought>,
    /// Contents of the vessels that steps name.
    vessels: Vessels<'a>,
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
        let empty = Self {
            preparation,
            table,
            everything,
            weights: Vec::new(),
            tests: vec![Vec::new(); everything.planned_tests.len()],
            figures: vec![(Vec::new(), Vec::new()); everything.planned.len()],
            masses: vec![Vec::new(); everything.lots.len()],
            gases: vented_species(everything, table).into_iter().map(|(i, s)| (i, s, Vec::new())).collect(),
            limits: vec![Vec::new(); everything.notes.len()],
            charged: vec![Vec::new(); everything.charges.len()],
            brought: everything.charges.iter().map(|c| Brought::new(preparation, table, everything, c)).collect(),
            vessels: Vessels::new(preparation),
            water: (Vec::new(), Vec::new()),
        };
        let each = (DRAWS / models.len().max(1)).max(100);
        // Further coordinates carry the scatter of the readings.
        let width = |model: &Compiled| model.ledger.unknowns.len() + model.planned.len();
        let parts = models.par_iter().enumerate().map(|(k, model)| {
            let points = latin_hypercube(each, width(model), k as u64 + 1);
            let parts = points.par_chunks(AT_A_TIME * width(model).max(1)).map(|points| {
                let mut part = empty.clone();
                part.add(model, points);
                part
            });
            parts.collect::<Vec<_>>()
        });
        let parts: Vec<Self> = parts.collect::<Vec<_>>().into_iter().flatten().collect();
        let mut forecast = empty.clone();
        forecast.append(parts);
        let weight = 1.0 / forecast.weights.len().max(1) as f64;
        forecast.weights.fill(weight);
        forecast
    }

    fn add(&mut self, model: &Compiled, points: &[f64]) {
        let ledger = &model.ledger;
        let dimension = ledger.unknowns.len();
        let width = dimension + model.planned.len();
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
            for (column, (_, test)) in self.tests.iter_mut().zip(&model.planned_tests) {
                column.push(test.quotient(room.given(test.lot)));
            }
            for (lot, column) in self.masses.iter_mut().enumerate() {
                column.push(ledger.mass(room.given(lot)));
            }
            for (step, species, column) in &mut self.gases {
                let vent = model.lots.iter().position(|l| l.kind == LotKind::Vent && l.step == *step);
                column.push(vent.map_or(0.0, |v| room.now(v).amounts[*species] * ledger.molar_mass[*species]));
            }
            for (note, column) in self.limits.iter_mut().enumerate() {
                column.push((room.limiting[note], room.allowed[note].clone()));
            }
            self.vessels.add(model, self.table, &room);
            self.add_charges(model, &room);
        }
    }

    /// Adds the draws of others of the same preparation.
    fn append(&mut self, others: Vec<Self>) {
        let more: usize = others.iter().map(|other| other.weights.len()).sum();
        for column in self.columns() {
            column.reserve_exact(more);
        }
        for mut other in others {
            self.columns().zip(other.columns()).for_each(|(column, more)| column.append(more));
            self.limits.iter_mut().zip(&mut other.limits).for_each(|(column, more)| column.append(more));
            self.vessels.append(other.vessels);
        }
    }

    /// All columns of plain numbers.
    fn columns(&mut self) -> impl Iterator<Item = &mut Vec<f64>> {
        let figures = self.figures.iter_mut().flat_map(|(displayed, net)| [displayed, net]);
        let own = self.tests.iter_mut().chain(&mut self.masses).chain(&mut self.charged).chain(figures);
        let gases = self.gases.iter_mut().map(|(.., column)| column);
        let brought = self.brought.iter_mut().flat_map(Brought::columns);
        own.chain(gases).chain(brought).chain([&mut self.weights, &mut self.water.0, &mut self.water.1])
    }

    fn add_charges(&mut self, model: &Compiled, room: &Workspace<f64>) {
        let (mut plain, mut bound) = (0.0, 0.0);
        for ((charge, column), brought) in model.charges.iter().zip(&mut self.charged).zip(&mut self.brought) {
            let mass = resolve(charge.mass, room);
            let total = mass * charge.times as f64;
            column.push(total);
            brought.add(total, room.supplied(charge.supply));
            let supply = &model.ledger.supplies[charge.supply];
            let mut left = resolve(supply.assay, room);
            for (species, stick) in &supply.parts {
                let part = left * resolve(*stick, room);
                left -= part;
                if self.table.is_water(*species) {
                    plain += total * part;
                } else {
                    bound += total * part * self.table.water_fraction(*species);
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
            let Some(text) = &record.text else { continue };
            let mut own: Vec<Limiting> = record
                .consumed
                .iter()
                .enumerate()
                .filter(|(_, species)| !self.table.is_water(**species))
                .map(|(k, species)| {
                    let hits = self.limits[note].iter().filter(|(limit, _)| *limit == k).count();
                    let reach: Vec<f64> =
                        self.limits[note].iter().map(|(_, allowed)| 100.0 * allowed[k] / others(allowed, k)).collect();
                    let probability = hits as f64 / self.weights.len().max(1) as f64;
                    Limiting {
                        step: self.preparation.steps[record.step].name.value.clone(),
                        reaction: text.clone(),
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
            .zip(self.charged.iter().zip(&self.brought))
            .map(|(charge, (column, brought))| {
                let supply = self.everything.supplies[charge.supply].and_then(|i| self.preparation.supplies.get(i));
                WeighOut {
                    supply: charge.name.clone(),
                    label: supply.map_or_else(String::new, |s| s.label.clone()),
                    step: self.preparation.steps[charge.step].name.value.clone(),
                    amount: self.grams(column, Some("as sold")),
                    brings: brought.substances(&self.weights),
                    elements: brought.elements(&self.weights),
                }
            })
            .collect()
    }

    fn steps(&self) -> Vec<PlannedStep> {
        self.preparation.steps.par_iter().enumerate().map(|(i, step)| self.step(i, step)).collect()
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
            expects: self.expectations(i).into_iter().chain(self.expected_tests(i)).collect(),
            gives: lots,
            vents,
            solution: solution::told(i, self.preparation, self.everything),
            vessel: self.vessels.told(i, self.everything, self.table, self.gas(i), &self.weights),
        }
    }

    /// Gases that leave a step, on average.
    fn gas(&self, i: usize) -> Gas {
        let mut gas = Gas::default();
        for (_, species, column) in self.gases.iter().filter(|(step, _, _)| *step == i) {
            let mean = column.iter().sum::<f64>() / column.len().max(1) as f64;
            *(if self.table.is_water(*species) { &mut gas.steam } else { &mut gas.other }) += mean;
        }
        gas
    }

    /// Readings that their balance will not carry.
    fn loads(&self) -> Vec<Finding> {
        let planned = self.everything.planned.iter().zip(&self.figures);
        planned
            .filter_map(|((place, _), (figures, _))| {
                load::overload(self.preparation, *place, &self.grams(figures, None))
            })
            .collect()
    }

    /// What the tests of a step are expected to find; a yes or no has no interval.
    fn expected_tests(&self, i: usize) -> Vec<Expectation> {
        let own = self.everything.planned_tests.iter().zip(&self.tests).filter(|(((step, _), _), _)| *step == i);
        own.map(|(((_, number), _), column)| {
            let made = &self.preparation.steps[i].determinations[*number];
            let figures = made.test.noticed.is_none();
            let told: Vec<f64> = column.iter().map(|x| x * made.test.per_si).collect();
            let basis = Some("portion as it stands");
            again::test_told(made, figures.then(|| interval(&told, &self.weights, made.test.unit, basis)))
        })
        .collect()
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
                let known = vessel.is_none_or(|name| tare(self.preparation, name).is_some());
                let interval = if known {
                    Some(self.grams(figures, Some("as displayed")))
                } else if weighing.lot.is_some() || weighing.charge.is_some() {
                    Some(self.grams(net, Some(&format!("above the empty {}", vessel.unwrap_or_default()))))
                } else {
                    None
                };
                again::told(self.preparation, reading, interval)
            })
            .collect()
    }
}

/// What the scarcest of the other reagents (water aside) would allow.
fn others(allowed: &[f64], k: usize) -> f64 {
    allowed.iter().enumerate().filter(|(j, _)| *j != k).map(|(_, a)| *a).fold(f64::INFINITY, f64::min)
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
    let verb = step.action.value.manner().imperative;
    let mut text = format!("{verb} {}", takes.join(", "));
    if let Some(wash) = &step.wash {
        text.push_str(&format!("; wash {}", wash.text));
    }
    if let Some(temperature) = &step.temperature {
        text.push_str(&format!(" at {temperature}"));
    }
    if let Some(atmosphere) = &step.atmosphere_text {
        text.push_str(&format!(" in {atmosphere}"));
    }
    text.push('.');
    if let Some(time) = &step.time {
        text.push_str(&format!(" Takes {}.", time.text));
    }
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
