//! Where is every gram, draw by draw?
//!
//! A cloud of draws is run through its ledger; masses of lots, elements, species, streams and step yields are
//! collected in columns and told as intervals. Clouds of several alternatives share their columns: the books
//! are averaged over what the readings cannot decide.

use super::compile::{Compiled, LotKind};
use super::table::SpeciesTable;
use super::{interval, resolve};
use crate::model::Preparation;
use crate::outcome::{ElementContent, Figure, Interval, LotAccount, StepYield, Stream, TestTold};
use chem::quantity::Status;
use chem::{Element, Formula, Phase};
use engine::account::determination::Determination;
use engine::ledger::{Contents, FOREIGN_KINDS, Lot, Workspace};
use rayon::prelude::*;
use std::ops::Range;

/// Names of the streams, in the order of the contract.
pub(crate) const STREAMS: [&str; 6] = ["product", "liquor", "residue", "tests", "vented", "lost"];

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

/// What each lot is for.
#[derive(Clone, Debug)]
pub(crate) struct Roles {
    /// The lot that is the product.
    pub product: Option<Lot>,
    /// Stream of each lot at the end of the run, if it is in one.
    stream: Vec<Option<usize>>,
    /// Lots that hold what was drawn from the surroundings.
    drawn: Vec<bool>,
    /// Whether a lot lies on the way to the product.
    on_path: Vec<bool>,
    /// Step that takes each lot.
    taken_by: Vec<Option<usize>>,
}

impl Roles {
    /// Roles of the lots.
    pub fn of(compiled: &Compiled, preparation: &Preparation, table: &SpeciesTable) -> Self {
        let lots = &compiled.lots;
        let by_name = |name: &str| lots.iter().position(|l| l.named && l.name == name);
        let mut taken_by = vec![None; lots.len()];
        for (i, step) in preparation.steps.iter().enumerate() {
            for take in &step.take {
                if let Some(lot) = by_name(&take.source.value) {
                    taken_by[lot] = Some(i);
                }
            }
        }
        let is_test = |lot: usize| preparation.steps.get(lots[lot].step).is_some_and(|s| s.test);
        let product = product(compiled, preparation, table, &taken_by);
        let mut on_path = vec![false; lots.len()];
        let mut open: Vec<usize> = product.into_iter().collect();
        while let Some(lot) = open.pop() {
            if std::mem::replace(&mut on_path[lot], true) {
                continue;
            }
            if let Some(step) = preparation.steps.get(lots[lot].step) {
                open.extend(step.take.iter().filter_map(|t| by_name(&t.source.value)));
            }
        }
        let stream = (0..lots.len())
            .map(|l| match lots[l].kind {
                LotKind::Lost => Some(5),
                LotKind::Vent => Some(4),
                LotKind::Drawn => None,
                _ if taken_by[l].is_some() => None,
                _ if Some(l) == product => Some(0),
                _ if is_test(l) => Some(3),
                LotKind::Liquor => Some(1),
                LotKind::Solid => Some(2),
            })
            .collect();
        let drawn = lots.iter().map(|record| record.kind == LotKind::Drawn).collect();
        Self { product, stream, drawn, on_path, taken_by }
    }

    /// Step that takes a lot.
    pub fn taken_by(&self, lot: Lot) -> Option<usize> {
        self.taken_by.get(lot).copied().flatten()
    }

    /// Whether a lot lies on the way to the product.
    pub fn is_on_path(&self, lot: Lot) -> bool {
        self.on_path.get(lot).copied().unwrap_or(false)
    }

    /// Totals of a quantity by stream, and what was charged of it, from what each lot holds of it now.
    pub fn totals(&self, now: impl Fn(Lot) -> f64) -> ([f64; STREAMS.len()], f64) {
        let mut totals = [0.0; STREAMS.len()];
        let mut drawn = 0.0;
        for (lot, stream) in self.stream.iter().enumerate() {
            match stream {
                Some(stream) => totals[*stream] += now(lot),
                None if self.drawn[lot] => drawn += now(lot),
                None => {}
            }
        }
        (totals, totals.iter().sum::<f64>() - drawn)
    }
}

/// The lot that is the product: left at the end, not a test. Of several, one that may hold the target in its phase; then
/// what the last step gives; then solids before liquors; then the main lot of its step before portions.
fn product(
    compiled: &Compiled,
    preparation: &Preparation,
    table: &SpeciesTable,
    taken_by: &[Option<usize>],
) -> Option<Lot> {
    let lots = &compiled.lots;
    let target = preparation.target.as_ref().map(|t| &t.substance);
    // Fines that pass a filter make no product of a liquor.
    let solid = target.is_some_and(|species| species.phase == Some(Phase::Solid));
    let holds_target = |lot: Lot| {
        (!solid || lots[lot].kind == LotKind::Solid)
            && lots[lot].contents.iter().any(|s| Some(table.species(*s)) == target)
    };
    let is_test = |lot: Lot| preparation.steps.get(lots[lot].step).is_some_and(|s| s.test);
    let left = |lot: &Lot| {
        let record = &lots[*lot];
        let matter = matches!(record.kind, LotKind::Solid | LotKind::Liquor);
        matter && record.named && taken_by[*lot].is_none() && !is_test(*lot)
    };
    (0..lots.len()).filter(left).max_by_key(|lot| {
        let record = &lots[*lot];
        (holds_target(*lot), record.step, record.kind == LotKind::Solid, std::cmp::Reverse(*lot))
    })
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
    atomic_masses: Vec<f64>,
    pub(super) reported: Vec<Lot>,
    /// Weight of each draw.
    pub weights: Vec<f64>,
    /// Draws of each cloud.
    clouds: Vec<Range<usize>>,
    pub(super) rows: Vec<Vec<f64>>,
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
        let mut books = Self {
            preparation,
            table,
            compiled,
            roles: Roles::of(compiled, preparation, table),
            counts: elements.iter().map(|e| table.counts(*e)).collect(),
            atomic_masses: elements.iter().map(|e| e.atomic_weight().map_or(f64::NAN, |w| w.value)).collect(),
            rows: vec![Vec::new(); reported.len()],
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
        let columns = [
            (&mut self.rows, other.rows),
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
            for (column, lot) in self.rows.iter_mut().zip(&self.reported) {
                column.extend(room.given(*lot).all());
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
                contents.amounts.iter().zip(&self.counts[e]).map(|(n, c)| n * c).sum::<f64>()
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
    pub fn draws_of(&self, name: &str) -> Option<(&[f64], usize, Vec<usize>)> {
        let column = self.reported.iter().position(|lot| self.compiled.lots[*lot].name == name)?;
        let clouds =
            self.clouds.iter().enumerate().flat_map(|(i, cloud)| std::iter::repeat_n(i, cloud.len())).collect();
        Some((self.rows.get(column)?, self.width(), clouds))
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

    pub(super) fn width(&self) -> usize {
        self.table.len() + FOREIGN_KINDS
    }

    fn lot(&self, column: usize, lot: Lot) -> LotAccount {
        let record = &self.compiled.lots[lot];
        let (width, species) = (self.width(), self.table.len());
        let rows: Vec<&[f64]> = self.rows[column].chunks(width).collect();
        let molar: Vec<f64> = (0..species).map(|s| self.table.molar_mass(s) * 1e3).collect();
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
                let amounts = column_of(&|row| row.iter().zip(&self.counts[e]).map(|(n, c)| n * c).sum());
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
        for s in 0..species {
            if self.table.host(s).is_some() || rows.iter().all(|r| r.get(s).is_none_or(|n| *n < 1e-12)) {
                continue;
            }
            let bound =
                (0..species).find(|b| self.table.host(*b) == Some(s)).filter(|b| rows.iter().any(|r| r[*b] > 0.0));
            let masses = column_of(&|row| row[s] * molar[s] + bound.map_or(0.0, |b| row[b] * molar[b]));
            let mut name = self.table.species(s).to_string();
            if let Some(b) = bound {
                name = self.family_name(s).unwrap_or(name);
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
        let values: Vec<f64> = self.rows[column].chunks(self.width()).map(read).collect();
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
        let species = self.table.len();
        let grams = |row: &[f64]| {
            let amounts = (0..species).map(|s| row[s] * self.table.molar_mass(s)).sum::<f64>();
            1e3 * (amounts + row.iter().skip(species).sum::<f64>())
        };
        let masses = self.rows[column].chunks(self.width()).map(grams).collect();
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
        let width = self.width();
        let rows = || draws.clone().map(|i| (&self.rows[column][i * width..(i + 1) * width], self.weights[i]));
        let whole: f64 = draws.clone().map(|i| self.weights[i]).sum();
        let average = |f: &dyn Fn(&[f64]) -> f64| rows().map(|(row, weight)| f(row) * weight).sum::<f64>() / whole;
        let molar: Vec<f64> = (0..self.table.len()).map(|s| self.table.molar_mass(s)).collect();
        let mass = average(&|row| row.iter().zip(&molar).map(|(n, m)| n * m).sum());
        for s in (0..self.table.len()).filter(|s| self.table.host(*s).is_none()) {
            let share = average(&|row| row[s] * molar[s]) / mass;
            if share > 0.0 {
                told.fractions.push((self.table.species(s).to_string(), 100.0 * share));
            }
            if let Some(b) = (0..self.table.len()).find(|b| self.table.host(*b) == Some(s)) {
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
