//! Where is every gram, draw by draw?
//!
//! A cloud of draws is run through its ledger; masses of lots, elements, species, streams and step yields are
//! collected in columns and told as intervals. Clouds of several alternatives share their columns: the books
//! are averaged over what the readings cannot decide.

use super::compile::{Compiled, LotKind};
use super::held::Held;
use super::roles::{Roles, STREAMS};
use super::table::SpeciesTable;
use super::{interval, resolve};
use crate::model::Preparation;
use crate::outcome::{ElementContent, Figure, Interval, LotAccount, StepYield, Stream, TestTold};
use chem::quantity::Status;
use chem::{Element, Formula};
use engine::account::determination::Determination;
use engine::ledger::{Contents, FOREIGN_KINDS, Lot, SpeciesIndex, Workspace};
use rayon::prelude::*;
use std::ops::Range;

/// Draws that one core sums at a time.
const AT_A_TIME: usize = 64;

/// Draws of one model with weights.
pub(crate) struct Cloud<'a> {
    /// The model.
    pub compiled: &'a Compiled,
    /// Coordinates, one draw after another.
    pub z: Vec<f64>,
    /// Weights; over all clouds of one account they add up to one.
    pub weights: Vec<f64>,
}

/// Columns of figures, one value per draw.
#[derive(Clone)]
pub(crate) struct Books<'a> {
    preparation: &'a Preparation,
    pub(super) table: &'a SpeciesTable,
    pub(super) compiled: &'a Compiled,
    pub(super) roles: Roles,
    pub(super) elements: Vec<Element>,
    pub(super) counts: Vec<Vec<f64>>,
    /// For each element, the species that hold it, with their atoms.
    holders: Vec<Vec<(SpeciesIndex, f64)>>,
    atomic_masses: Vec<f64>,
    pub(super) reported: Vec<Lot>,
    /// Weight of each draw.
    pub weights: Vec<f64>,
    /// Draws of each cloud.
    clouds: Vec<Range<usize>>,
    pub(super) held: Vec<Held>,
    pub(super) streams: Vec<Vec<f64>>,
    /// Element charged, mol, per draw; one column for each element.
    pub(super) feed: Vec<Vec<f64>>,
    /// For each charge: mass, kg.
    pub spent: Vec<Vec<f64>>,
    step_in: Vec<Vec<f64>>,
    step_out: Vec<Vec<f64>>,
    on_the_way: Vec<Vec<f64>>,
    charged: Vec<Vec<f64>>,
}

impl<'a> Books<'a> {
    /// Sums the books over clouds of draws. `compiled` is the ledger that allows everything: its lots, charges and roles are
    /// told, for one composition alone may lack the target.
    pub fn sum(
        preparation: &'a Preparation,
        table: &'a SpeciesTable,
        clouds: &[Cloud<'a>],
        compiled: &'a Compiled,
    ) -> Self {
        let elements = preparation.account_for.clone();
        let reported: Vec<Lot> = (0..compiled.lots.len())
            .filter(|l| matches!(compiled.lots[*l].kind, LotKind::Solid | LotKind::Liquor))
            .collect();
        let steps = preparation.steps.len();
        let counts: Vec<Vec<f64>> = elements.iter().map(|e| table.counts(*e)).collect();
        let holding = |counts: &Vec<f64>| counts.iter().copied().enumerate().filter(|(_, n)| *n != 0.0).collect();
        let mut books = Self {
            preparation,
            table,
            compiled,
            roles: Roles::of(compiled, preparation, table),
            holders: counts.iter().map(holding).collect(),
            counts,
            atomic_masses: elements.iter().map(|e| e.atomic_weight().map_or(f64::NAN, |w| w.value)).collect(),
            held: Held::empty(clouds, &reported),
            streams: vec![Vec::new(); STREAMS.len() * elements.len()],
            feed: vec![Vec::new(); elements.len()],
            spent: vec![Vec::new(); compiled.charges.len()],
            step_in: vec![Vec::new(); steps],
            step_out: vec![Vec::new(); steps],
            on_the_way: vec![Vec::new(); steps],
            charged: vec![Vec::new(); steps],
            elements,
            reported,
            weights: Vec::new(),
            clouds: Vec::new(),
        };
        let part = |cloud: &Cloud<'a>, start: usize| start..cloud.weights.len().min(start + AT_A_TIME);
        let parts: Vec<(&Cloud<'a>, Range<usize>)> = clouds
            .iter()
            .flat_map(|cloud| (0..cloud.weights.len()).step_by(AT_A_TIME).map(move |start| (cloud, part(cloud, start))))
            .collect();
        let summed = parts.into_par_iter().map(|(cloud, draws)| {
            let mut own = books.clone();
            own.add(cloud, draws);
            own
        });
        for part in summed.collect::<Vec<_>>() {
            books.append(part);
        }
        for cloud in clouds {
            let start = books.clouds.last().map_or(0, |last| last.end);
            books.clouds.push(start..start + cloud.weights.len());
        }
        books
    }

    /// Takes over the columns of further draws.
    fn append(&mut self, other: Self) {
        self.weights.extend(other.weights);
        self.held.iter_mut().zip(other.held).for_each(|(own, further)| own.append(further));
        let columns = [
            (&mut self.streams, other.streams),
            (&mut self.feed, other.feed),
            (&mut self.spent, other.spent),
            (&mut self.step_in, other.step_in),
            (&mut self.step_out, other.step_out),
            (&mut self.on_the_way, other.on_the_way),
            (&mut self.charged, other.charged),
        ];
        for (own, further) in columns {
            own.iter_mut().zip(further).for_each(|(own, further)| own.extend(further));
        }
    }

    fn add(&mut self, cloud: &Cloud<'_>, draws: Range<usize>) {
        let ledger = &cloud.compiled.ledger;
        let dimension = ledger.unknowns.len();
        let mut room = Workspace::<f64>::new(ledger);
        for (i, weight) in cloud.weights.iter().enumerate().take(draws.end).skip(draws.start) {
            let z = cloud.z.get(i * dimension..(i + 1) * dimension).unwrap_or(&[]);
            ledger.run(z, &mut room);
            self.weights.push(*weight);
            for (held, lot) in self.held.iter_mut().zip(&self.reported) {
                held.add(room.given(*lot));
            }
            for (column, charge) in self.spent.iter_mut().zip(&cloud.compiled.charges) {
                column.push(resolve(charge.mass, &room) * charge.times as f64);
            }
            self.add_elements(&room);
        }
    }

    fn add_elements(&mut self, room: &Workspace<f64>) {
        for e in 0..self.elements.len() {
            let content = |contents: Contents<'_, f64>| {
                let held = |(species, count): &(SpeciesIndex, f64)| Some(contents.amounts.get(*species)? * count);
                self.holders[e].iter().filter_map(held).sum::<f64>()
            };
            let now: Vec<f64> = (0..self.compiled.lots.len()).map(|lot| content(room.now(lot))).collect();
            let (totals, charged) = self.roles.totals(|lot| now[lot]);
            if e == 0 {
                let given: Vec<f64> = (0..self.compiled.lots.len()).map(|lot| content(room.given(lot))).collect();
                self.add_steps(&now, &given);
            }
            for (stream, total) in totals.iter().enumerate() {
                self.streams[e * STREAMS.len() + stream].push(*total);
            }
            self.feed[e].push(charged);
        }
    }

    /// Element in and out of each step, on the way to the product; contents of lots at the end and when given.
    fn add_steps(&mut self, now: &[f64], given: &[f64]) {
        for i in 0..self.step_in.len() {
            let (mut whole, mut main, mut way, mut side) = (0.0, 0.0, 0.0, 0.0);
            for (lot, record) in self.compiled.lots.iter().enumerate().filter(|(_, record)| record.step <= i) {
                let own = record.step == i;
                match record.kind {
                    LotKind::Solid | LotKind::Liquor => {
                        let (here, path) = (given[lot], self.roles.on_path[lot]);
                        whole += if own { here } else { 0.0 };
                        main += if own && path { here } else { 0.0 };
                        match (self.roles.taken_by[lot].is_some_and(|t| t <= i), path) {
                            (true, _) => {}
                            (false, true) => way += here,
                            (false, false) => side += here,
                        }
                    }
                    LotKind::Lost | LotKind::Vent => {
                        whole += if own { now[lot] } else { 0.0 };
                        side += now[lot];
                    }
                    LotKind::Drawn => {}
                }
            }
            self.step_in[i].push(whole);
            self.step_out[i].push(main);
            self.on_the_way[i].push(way);
            self.charged[i].push(way + side);
        }
    }

    /// The rows of a named lot, one for each draw, their width, and the cloud of each.
    pub fn draws_of(&self, name: &str) -> Option<(Vec<f64>, usize, Vec<usize>)> {
        let column = self.reported.iter().position(|lot| self.compiled.lots[*lot].name == name)?;
        let clouds =
            self.clouds.iter().enumerate().flat_map(|(i, cloud)| std::iter::repeat_n(i, cloud.len())).collect();
        Some((self.held.get(column)?.widened(self.table.len()), self.width(), clouds))
    }

    fn told(&self, values: &[f64], unit: &'static str, basis: Option<&str>) -> Interval {
        interval(values, &self.weights, unit, basis)
    }

    /// The lots in the order of the procedure.
    pub fn lots(&self) -> Vec<LotAccount> {
        self.reported
            .par_iter()
            .enumerate()
            .filter(|(_, lot)| self.compiled.lots[**lot].named)
            .map(|(column, lot)| self.lot(column, *lot))
            .collect()
    }

    fn width(&self) -> usize {
        self.table.len() + FOREIGN_KINDS
    }

    fn lot(&self, column: usize, lot: Lot) -> LotAccount {
        let record = &self.compiled.lots[lot];
        let held = &self.held[column];
        let rows: Vec<&[f64]> = held.rows().collect();
        let species = held.species.len();
        let molar = held.at_places(|s| self.table.molar_mass(s) * 1e3);
        let grams = |row: &[f64]| {
            row.iter().zip(&molar).map(|(n, m)| n * m).sum::<f64>() + row.iter().skip(species).sum::<f64>() * 1e3
        };
        let column_of = |f: &dyn Fn(&[f64]) -> f64| rows.iter().map(|r| f(r)).collect::<Vec<f64>>();
        let basis = "as it stands";
        let elements = self
            .elements
            .iter()
            .enumerate()
            .map(|(e, element)| {
                let counts = held.at_places(|s| self.counts[e][s]);
                let amounts = column_of(&|row| row.iter().zip(&counts).map(|(n, c)| n * c).sum());
                let masses: Vec<f64> = amounts.iter().map(|n| n * self.atomic_masses[e]).collect();
                let basis = format!("element {}", element.symbol());
                ElementContent {
                    element: element.symbol().to_owned(),
                    amount: self.told(&amounts, "mol", Some(&basis)),
                    mass: self.told(&masses, "g", Some(&basis)),
                }
            })
            .collect();
        let (mut kinds, mut hydration) = (Vec::new(), Vec::new());
        for (s, own) in held.species.iter().enumerate() {
            if self.table.host(*own).is_some() || rows.iter().all(|r| r.get(s).is_none_or(|n| *n < 1e-12)) {
                continue;
            }
            let bound = self.bound_to(*own).and_then(|b| held.place(b)).filter(|b| rows.iter().any(|r| r[*b] > 0.0));
            let masses = column_of(&|row| row[s] * molar[s] + bound.map_or(0.0, |b| row[b] * molar[b]));
            let mut name = self.table.species(*own).to_string();
            if let Some(b) = bound {
                name = self.family_name(*own).unwrap_or(name);
                let ratio = column_of(&|row| if row[s] > 0.0 { row[b] / row[s] } else { 0.0 });
                hydration.push((name.clone(), self.told(&ratio, "1", Some("mol H2O per mol"))));
            }
            kinds.push((name, self.told(&masses, "g", Some(basis))));
        }
        let foreign = column_of(&|row| row.iter().skip(species).sum::<f64>() * 1e3);
        LotAccount {
            id: record.name.clone(),
            name: record.name.clone(),
            step: self.preparation.steps.get(record.step).map_or_else(String::new, |s| s.name.value.clone()),
            mass: self.told(&column_of(&grams), "g", Some(basis)),
            elements,
            species: kinds,
            foreign: self.told(&foreign, "g", Some(basis)),
            hydration,
            weighed: self.weighed(&record.name),
        }
    }

    /// The water that is bound to a host.
    fn bound_to(&self, host: SpeciesIndex) -> Option<SpeciesIndex> {
        (0..self.table.len()).find(|b| self.table.host(*b) == Some(host))
    }

    /// The pattern X·nH2O of a host.
    fn family_name(&self, host: usize) -> Option<String> {
        let species = self.table.species(host);
        self.preparation.steps.iter().flat_map(|s| &s.may_hold).find_map(|p| match &p.value {
            chem::SpeciesPattern::Family { anhydrous, text, .. } if anhydrous == species => {
                text.split(',').next().map(str::to_owned)
            }
            _ => None,
        })
    }

    /// The figure at which a lot itself was weighed, without a vessel.
    fn weighed(&self, lot: &str) -> Option<Figure> {
        let place = self.compiled.places.iter().find(|p| {
            let reading = &self.preparation.steps[p.step].readings[p.reading];
            reading.of.as_ref().is_some_and(|of| of.value == lot) && reading.vessel.is_none()
        })?;
        let reading = &self.preparation.steps[place.step].readings[place.reading];
        let instrument = self.preparation.instruments.iter().find(|x| x.name.value == reading.with.value)?;
        Some(Figure {
            value: reading.weigh.as_ref()?.value * 1e3,
            standard_uncertainty: Some(instrument.repeatability * 1e3),
            unit: "g",
            basis: Some("as weighed".to_owned()),
            status: Status::Measured,
            sources: vec![reading.id.value.clone()],
        })
    }

    /// The six streams.
    pub fn streams(&self) -> Vec<Stream> {
        STREAMS
            .iter()
            .enumerate()
            .map(|(s, name)| Stream {
                name,
                elements: self
                    .elements
                    .iter()
                    .enumerate()
                    .map(|(e, element)| {
                        let masses: Vec<f64> =
                            self.streams[e * STREAMS.len() + s].iter().map(|n| n * self.atomic_masses[e]).collect();
                        let basis = format!("element {}", element.symbol());
                        (element.symbol().to_owned(), self.told(&masses, "g", Some(&basis)))
                    })
                    .collect(),
                lots: (0..self.compiled.lots.len())
                    .filter(|l| self.roles.stream[*l] == Some(s))
                    .filter(|l| matches!(self.compiled.lots[*l].kind, LotKind::Solid | LotKind::Liquor))
                    .map(|l| self.compiled.lots[l].name.clone())
                    .collect(),
            })
            .collect()
    }

    /// Element charged, g.
    pub fn feed(&self) -> Vec<(String, Interval)> {
        self.elements
            .iter()
            .enumerate()
            .map(|(e, element)| {
                let masses: Vec<f64> = self.feed[e].iter().map(|n| n * self.atomic_masses[e]).collect();
                (element.symbol().to_owned(), self.told(&masses, "g", Some(&format!("element {}", element.symbol()))))
            })
            .collect()
    }

    /// Yields of the steps on the way to the product, and overall, %; of the first element.
    pub fn yields(&self) -> Option<(Interval, Vec<StepYield>)> {
        let element = self.elements.first()?;
        let basis = format!("element {}", element.symbol());
        let percent = |part: &[f64], whole: &[f64]| {
            let ratios: Vec<f64> =
                part.iter().zip(whole).map(|(p, w)| if *w > 0.0 { 100.0 * p / w } else { 0.0 }).collect();
            self.told(&ratios, "%", Some(&basis))
        };
        let steps = (0..self.step_in.len())
            .filter(|i| {
                (0..self.compiled.lots.len()).any(|l| self.compiled.lots[l].step == *i && self.roles.on_path[l])
            })
            .map(|i| StepYield {
                name: self.preparation.steps[i].name.value.clone(),
                interval: percent(&self.step_out[i], &self.step_in[i]),
                cumulative: percent(&self.on_the_way[i], &self.charged[i]),
            })
            .collect();
        let product = self.streams.first()?;
        Some((percent(product, &self.feed[0]), steps))
    }

    /// Mass of the first element charged, kg, on average.
    pub fn feed_mass(&self) -> Option<f64> {
        let mean: f64 = self.feed.first()?.iter().zip(&self.weights).map(|(n, w)| n * w).sum();
        Some(mean * self.atomic_masses.first()? * 1e-3)
    }

    /// What a test would read of its lot, over the draws.
    pub fn quotients(&self, test: &Determination, factor: f64, unit: &'static str) -> Option<Interval> {
        let column = self.reported.iter().position(|lot| *lot == test.lot)?;
        let species = self.table.len();
        let read = |row: &[f64]| {
            let (amounts, foreign) = row.split_at(species);
            factor * test.quotient(Contents { amounts, foreign })
        };
        let values: Vec<f64> = self.held[column].widened(species).chunks(self.width()).map(read).collect();
        Some(self.told(&values, unit, Some("portion as it stands")))
    }

    /// What each test found beside what the account expects of it.
    pub fn tests(&self) -> Vec<TestTold> {
        let told = |((step, number), determination): (&(usize, usize), &Determination)| {
            let made = &self.preparation.steps[*step].determinations[*number];
            let expected = || self.quotients(determination, made.test.per_si, made.test.unit);
            TestTold {
                id: made.id.value.clone(),
                test: made.test.name.to_owned(),
                lot: made.of.value.clone(),
                found: made.text.clone(),
                account: if made.test.noticed.is_none() { expected() } else { None },
            }
        };
        self.compiled.determined.iter().zip(&self.compiled.determinations).map(told).collect()
    }

    /// Whether a lot may hold a substance, as far as the file allows.
    pub fn may_hold(&self, name: &str, formula: &Formula) -> bool {
        let held = |s: &usize| self.table.species(*s).formula.same_substance(formula);
        self.compiled.lot(name).is_some_and(|lot| self.compiled.lots[lot].contents.iter().any(held))
    }

    /// Name of the product and its mass in each draw, g.
    pub fn product(&self) -> Option<(String, Vec<f64>)> {
        let lot = self.roles.product?;
        let column = self.reported.iter().position(|reported| *reported == lot)?;
        let held = &self.held[column];
        let molar = held.at_places(|s| self.table.molar_mass(s));
        let grams = |row: &[f64]| {
            let amounts = row.iter().zip(&molar).map(|(n, m)| n * m).sum::<f64>();
            1e3 * (amounts + row.iter().skip(molar.len()).sum::<f64>())
        };
        let masses = held.rows().map(grams).collect();
        Some((self.compiled.lots[lot].name.clone(), masses))
    }

    /// Share of the first element charged that is in each stream, in each draw.
    pub fn shares(&self) -> Vec<(&'static str, Vec<f64>)> {
        let Some(feed) = self.feed.first() else { return Vec::new() };
        let share = |part: &f64, whole: &f64| if *whole > 0.0 { part / whole } else { 0.0 };
        let columns = STREAMS.iter().zip(&self.streams);
        columns.map(|(name, column)| (*name, column.iter().zip(feed).map(|(p, w)| share(p, w)).collect())).collect()
    }

    /// What a lot holds on average over the draws of one cloud: mass fractions (%) by species, and mean and
    /// deviation of the hydration of each family.
    pub fn mean_composition(&self, name: &str, cloud: usize) -> Composition {
        let mut told = Composition::default();
        let found = self.reported.iter().position(|lot| self.compiled.lots[*lot].name == name);
        let (Some(column), Some(draws)) = (found, self.clouds.get(cloud)) else { return told };
        let held = &self.held[column];
        let rows = || held.of(draws).zip(&self.weights[draws.clone()]);
        let whole: f64 = draws.clone().map(|i| self.weights[i]).sum();
        let average = |f: &dyn Fn(&[f64]) -> f64| rows().map(|(row, weight)| f(row) * weight).sum::<f64>() / whole;
        let molar = held.at_places(|s| self.table.molar_mass(s));
        let mass = average(&|row| row.iter().zip(&molar).map(|(n, m)| n * m).sum());
        for (s, own) in held.species.iter().enumerate().filter(|(_, own)| self.table.host(**own).is_none()) {
            let share = average(&|row| row[s] * molar[s]) / mass;
            if share > 0.0 {
                told.fractions.push((self.table.species(*own).to_string(), 100.0 * share));
            }
            if let Some(b) = self.bound_to(*own).and_then(|b| held.place(b)) {
                let ratio = |row: &[f64]| if row[s] > 0.0 { row[b] / row[s] } else { 0.0 };
                let mean = average(&ratio);
                let deviation = average(&|row| (ratio(row) - mean).powi(2)).sqrt();
                if mean > 0.0 {
                    told.hydration.push((mean, deviation));
                }
            }
        }
        told
    }
}

/// What a lot holds on average.
#[derive(Clone, Debug, Default)]
pub(crate) struct Composition {
    /// Mass fractions, %, by species.
    pub fractions: Vec<(String, f64)>,
    /// Mean and deviation of n of each family.
    pub hydration: Vec<(f64, f64)>,
}
