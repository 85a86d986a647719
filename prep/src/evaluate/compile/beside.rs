//! Which foreign solids fall out beside the written one, and how do they enter the ledger?
//!
//! What [`crate::aqueous::step`] is sure to see beside a written solid is made of what the bath still holds dissolved once
//! the written reactions have run: a salt with the cation, a partner with the anion or the base, and what is left of both,
//! balanced exactly; so the solid takes its elements out of the liquor and can never take more than there is. The one
//! unknown is the share of the reagent that limits it: the mean from the constants, the spread from constants, activity
//! model, age of the solid and what is open in the bath. Not booked: what the step writes as a product or the file lists as
//! a trace, solids of the written one's own metal (what form it has is a question of `may_hold`), and less than a thousandth
//! of the written solid. What the file states under `beside` takes the place of all this. Neglected: a solid that needs more
//! than one salt of the cation takes the richest (errs to too little of it); carbon dioxide set free leaves the bath; on
//! ignition a foreign solid loses its water, a hydroxide becomes the oxide, and else it stays as it is, unless `may_hold`
//! says what it becomes.

use super::chemistry::{LEAST_SPREAD, WIDE};
use super::{Builder, NoteRecord, Step, WetRecord};
use crate::action::Atmosphere;
use crate::aqueous::step::{Alone, Sensitivity, alike};
use crate::losses;
use crate::model::Knowledge;
use chem::aqueous::{Dissolved, Model, dissolve};
use chem::formula::to_f64;
use chem::reaction::{Equation, Reaction};
use chem::{Formula, Phase, Species};
use engine::ledger::{Lot, Operation, Prior, SpeciesIndex, Surroundings, Value};

/// Mass of a foreign solid, relative to the written ones, from which it is booked.
const MATTERS: f64 = 1e-3;
/// Most foreign solids of one step; the others are told.
const MOST: usize = 2;
/// Part of the wanted amount that a way has to reach for no other to be looked for.
const ENOUGH: f64 = 0.999;

/// Where a foreign solid in the books comes from.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) enum Source {
    /// From the tables of solutions.
    Derived,
    /// Stated in the file.
    Stated,
    /// Stated in the file, and nothing in the bath makes it.
    Nowhere,
}

/// A foreign solid of a step as it stands in the books.
#[derive(Clone, Debug)]
pub(crate) struct BesideRecord {
    pub solid: Formula,
    pub source: Source,
    /// Amount expected with its standard uncertainty, mol; none where the file states a share.
    pub amount: Option<(f64, f64)>,
    /// What the spread is made of; none where the file states a share.
    pub open: Option<Open>,
    /// Equation by which it is made.
    pub equation: String,
    /// The solid in the ledger; none where nothing makes it.
    pub species: Option<SpeciesIndex>,
}

/// What is open of a foreign solid in the books.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Open {
    /// Its place among what falls out beside.
    pub place: usize,
    /// What the tables say of it.
    pub alone: Alone,
    /// Standard uncertainty of the logarithm by the amounts in the bath.
    pub amounts: f64,
}

/// How a solid is made of what is dissolved.
struct Way {
    reaction: Reaction,
    /// The reagent that limits it.
    limiting: Formula,
    /// Most of the solid that can be made, mol.
    most: f64,
}

/// A dissolved substance with its ions.
struct Salt {
    index: SpeciesIndex,
    species: Species,
    amount: f64,
    parts: Dissolved,
}

impl Salt {
    fn ions(&self, sign: i32) -> Vec<&'static str> {
        ions(&self.parts, sign)
    }
}

fn charge(name: &str) -> i32 {
    Formula::parse(name).map_or(0, |formula| formula.charge())
}

/// Ions of one sign; a part without charge counts with the anions.
fn ions(parts: &Dissolved, sign: i32) -> Vec<&'static str> {
    let fits = |name: &&str| if sign > 0 { charge(name) > 0 } else { charge(name) <= 0 };
    parts.masters.iter().map(|(name, _)| *name).filter(fits).collect()
}

/// The salt of two ions; none where they make none.
fn salt(cation: &str, anion: &str) -> Option<Formula> {
    let (plus, minus) = (charge(cation), -charge(anion));
    if plus <= 0 || minus <= 0 {
        return None;
    }
    let shared = (1..=plus.min(minus)).rev().find(|n| plus % n == 0 && minus % n == 0).unwrap_or(1);
    let part = |name: &str, count: i32| {
        let bare = name.split('^').next().unwrap_or(name);
        if count == 1 { bare.to_owned() } else { format!("({bare}){count}") }
    };
    Formula::parse(&format!("{}{}", part(cation, minus / shared), part(anion, plus / shared))).ok()
}

/// The prior of a share with its standard uncertainty.
fn prior_of_share(share: f64, deviation: f64) -> Prior {
    let left = (1.0 - share).max(1.0 / (losses::CONVERSION_SHAPE + 1.0));
    if deviation >= WIDE * left {
        if share > 0.5 {
            Prior::Beta { alpha: 1.0 / left - 1.0, beta: 1.0 }
        } else {
            Prior::Uniform { low: 0.0, high: 2.0 * share }
        }
    } else if deviation >= WIDE * share {
        Prior::Uniform { low: 0.0, high: 2.0 * share }
    } else {
        Prior::TruncatedNormal { mean: share, deviation, low: 0.0, high: 1.0 }
    }
}

impl<'a> Builder<'a> {
    /// Lets foreign solids fall out in the lot of a step, as stated or as expected.
    pub(super) fn falls_out_beside(&mut self, i: usize, step: &'a Step, lot: Lot) {
        let Some(wet) = self.wet.iter().rposition(|record| record.step == i && record.bath.is_some()) else { return };
        let record = self.wet[wet].clone();
        let mut booked = Vec::new();
        let salts = self.salts(&record);
        for (solid, share) in &step.beside {
            let way = self.way(lot, &salts, &solid.value, f64::INFINITY);
            let source = if way.is_some() { Source::Stated } else { Source::Nowhere };
            let solid = solid.value.formula.clone();
            let equation = way.as_ref().map_or_else(String::new, |way| way.reaction.text.clone());
            let species = way.as_ref().map(|_| self.table.formula(&solid, Phase::Solid));
            booked.push(BesideRecord { solid, source, amount: None, open: None, equation, species });
            if let Some(way) = way.filter(|_| *share != Knowledge::Exact(0.0)) {
                let share = self.fraction(*share);
                self.make_beside(i, lot, &way.reaction, share);
            }
        }
        for (place, solid, alone) in self.foreign(step, &record) {
            let Some(way) = self.way(lot, &salts, &solid, alone.amount) else { continue };
            let expected = record.answer.as_ref().ok();
            // The ledger itself follows the reagent that limits.
            let follows = |s: &Sensitivity| {
                let own = if alike(&s.substance, &way.limiting) { 1.0 } else { 0.0 };
                s.beside.get(place).map_or(0.0, |moved| moved - own)
            };
            let amounts = expected.map_or(0.0, |expected| record.spread_of_amounts(expected, follows));
            let spread = alone.causes.total().hypot(alone.age).hypot(amounts).clamp(LEAST_SPREAD, 1.0);
            let amount = alone.amount.min(way.most);
            let share = self.prior(prior_of_share(amount / way.most, spread * amount / way.most));
            self.make_beside(i, lot, &way.reaction, share);
            let (solid, equation) = (solid.formula, way.reaction.text);
            let (amount, open) = (Some((amount, spread * amount)), Some(Open { place, alone, amounts }));
            let species = Some(self.table.formula(&solid, Phase::Solid));
            booked.push(BesideRecord { solid, source: Source::Derived, amount, open, equation, species });
        }
        self.wet[wet].booked = booked;
    }

    /// Foreign solids of a bath that matter and that the file is silent on, the heaviest first.
    fn foreign(&self, step: &Step, record: &WetRecord) -> Vec<(usize, Species, Alone)> {
        let (Ok(expected), Some(bath)) = (&record.answer, &record.bath) else { return Vec::new() };
        let molar = |formula: &Formula| formula.molar_mass().map_or(0.0, |molar| molar.value);
        let is_written = |formula: &Formula| bath.written.iter().any(|own| alike(own, formula));
        let solids = bath.substances.iter().filter(|(formula, _, solid)| *solid && is_written(formula));
        let written: f64 = solids.map(|(formula, amount, _)| amount * molar(formula)).sum();
        let dry = |formula: &Formula| formula.without_hydrate_water();
        let named = |formula: &Formula| {
            let products = step.reactions.iter().flat_map(|reaction| &reaction.value.species);
            let stated = step.beside.iter().map(|(solid, _)| &solid.value);
            let traces = self.preparation.steps.iter().flat_map(|step| &step.trace).map(|trace| &trace.species.value);
            let solid = products.filter(|species| species.phase == Some(Phase::Solid));
            let mut solids = solid.chain(stated).chain(traces);
            solids.any(|species| alike(&dry(&species.formula), &dry(formula)))
        };
        let found = expected.beside.iter().enumerate().filter_map(|(number, one)| {
            let alone = one.alone?;
            let matters = alone.amount * molar(&one.solid) >= MATTERS * written;
            (matters && !named(&one.solid))
                .then(|| (number, Species::new(one.solid.clone(), Some(Phase::Solid)), alone))
        });
        let mut list: Vec<_> = found.collect();
        list.sort_by(|a, b| (b.2.amount * molar(&b.1.formula)).total_cmp(&(a.2.amount * molar(&a.1.formula))));
        list.truncate(MOST);
        list
    }

    fn make_beside(&mut self, i: usize, lot: Lot, reaction: &Reaction, conversion: Value) {
        let [consumed, produced] = self.sides(reaction);
        for (species, _) in &produced {
            if self.table.species(*species).phase == Some(Phase::Solid) {
                self.fallen.push(self.table.species(*species).formula.clone());
                self.foreign.push(*species);
            }
        }
        self.lots[lot].contents.extend(produced.iter().map(|(species, _)| *species));
        self.notes.push(NoteRecord { step: i, text: None, consumed: consumed.iter().map(|(s, _)| *s).collect() });
        let note = self.notes.len() - 1;
        self.push(Operation::React { lot, consumed: consumed.into(), produced: produced.into(), conversion, note });
    }

    /// What the bath holds dissolved, with its ions.
    fn salts(&self, record: &WetRecord) -> Vec<Salt> {
        let of = |(index, amount): &(SpeciesIndex, f64)| {
            let species = self.table.species(*index).clone();
            let parts = dissolve(&species.formula, Model::Association).ok()?;
            Some(Salt { index: *index, species, amount: *amount, parts })
        };
        record.dissolved.iter().filter_map(of).collect()
    }

    /// How a solid can be made of these salts: the first way that makes enough of it, else the one that makes the most.
    fn way(&mut self, lot: Lot, salts: &[Salt], solid: &Species, wanted: f64) -> Option<Way> {
        let parts = dissolve(&solid.formula, Model::Association).ok()?;
        let (cations, anions) = (ions(&parts, 1), ions(&parts, -1));
        let mut best: Option<Way> = None;
        for source in salts.iter().filter(|salt| cations.iter().all(|ion| salt.ions(1).contains(ion))) {
            let brings = |salt: &Salt| anions.iter().all(|ion| salt.ions(-1).contains(ion));
            let mut partners: Vec<Option<&Salt>> =
                salts.iter().filter(|salt| salt.index != source.index && brings(salt)).map(Some).collect();
            if anions.is_empty() {
                // A hydroxide takes a base, the strongest first; without one it leaves an acid.
                partners.sort_by(|a, b| {
                    let hydrogen = |salt: &Option<&Salt>| salt.map_or(0.0, |salt| salt.parts.hydrogen);
                    hydrogen(a).total_cmp(&hydrogen(b))
                });
                partners.push(None);
            } else if brings(source) {
                partners.insert(0, None);
            }
            for partner in partners {
                let Some(way) = self.balanced(lot, solid, source, partner) else { continue };
                if way.most >= ENOUGH * wanted {
                    return Some(way);
                }
                if best.as_ref().is_none_or(|best| way.most > best.most) {
                    best = Some(way);
                }
            }
        }
        best
    }

    /// The equation that makes a solid of a source of its cation and a partner.
    fn balanced(&self, lot: Lot, solid: &Species, source: &Salt, partner: Option<&Salt>) -> Option<Way> {
        let left: Vec<String> = [Some(source), partner].into_iter().flatten().map(|s| s.species.to_string()).collect();
        let plus = partner.map_or_else(Vec::new, |partner| partner.ions(1));
        let plus = if plus.is_empty() { vec!["H^+"] } else { plus };
        let pairs = plus.iter().flat_map(|plus| source.ions(-1).into_iter().filter_map(move |minus| salt(plus, minus)));
        let salts: Vec<Option<String>> =
            pairs.map(|formula| Some(self.as_dissolved(lot, formula).to_string())).chain([None]).collect();
        for rest in &salts {
            for gas in [None, Some("CO2(g)")] {
                for water in [[None, None], [Some("H2O(l)"), None], [None, Some("H2O(l)")]] {
                    let reagents = left.iter().map(String::as_str).chain(water[0]);
                    let solid = solid.to_string();
                    let products = [Some(solid.as_str()), rest.as_deref(), water[1], gas].into_iter().flatten();
                    let join = |list: Vec<&str>| list.join(" + ");
                    let text = format!("{} -> {}", join(reagents.collect()), join(products.collect()));
                    let reaction = Equation::parse(&text).ok().and_then(|equation| Reaction::new(&equation).ok());
                    if let Some(reaction) = reaction {
                        return Way::of(reaction, solid.as_str(), &[Some(source), partner]);
                    }
                }
            }
        }
        None
    }

    /// A dissolved salt as the lot spells it.
    fn as_dissolved(&self, lot: Lot, formula: Formula) -> Species {
        let fits = |species: &Species| species.phase == Some(Phase::Aqueous) && alike(&species.formula, &formula);
        let known =
            self.lots[lot].contents.iter().map(|index| self.table.species(*index)).find(|species| fits(species));
        known.cloned().unwrap_or_else(|| Species::new(formula, Some(Phase::Aqueous)))
    }

    /// Foreign hydrates lose their water on ignition, and hydroxides become oxides, where `may_hold` says nothing of them.
    pub(super) fn ignite_foreign(&mut self, lot: Lot, surroundings: Surroundings, atmosphere: Atmosphere) {
        for index in self.foreign.clone() {
            let formula = self.table.species(index).formula.clone();
            let residue = residue(&formula);
            if self.lots[lot].contents.contains(&index) && residue != formula {
                let into = self.table.formula(&residue, Phase::Solid);
                self.convert(lot, index, into, Value::Constant(1.0), surroundings, atmosphere);
                self.lots[lot].contents.remove(&index);
                self.lots[lot].contents.insert(into);
            }
        }
    }
}

/// What a foreign solid leaves on ignition, as far as water goes.
fn residue(solid: &Formula) -> Formula {
    let dry = solid.without_hydrate_water();
    let oxide = || {
        let parts = dissolve(&dry, Model::Association).ok()?;
        let [(cation, _)] = parts.masters[..] else { return None };
        salt(cation, "O^2-")
    };
    oxide().unwrap_or(dry)
}

impl Way {
    fn of(reaction: Reaction, solid: &str, salts: &[Option<&Salt>]) -> Option<Self> {
        let count = |species: &Species| to_f64(reaction.coefficient_of(species));
        let made = reaction.species.iter().find(|species| species.to_string() == solid).map(count)?;
        let consumed = salts.iter().flatten().filter(|salt| count(&salt.species) < 0.0);
        let limits = consumed.map(|salt| (salt.amount / -count(&salt.species) * made, salt.species.formula.clone()));
        let (most, limiting) = limits.min_by(|a, b| a.0.total_cmp(&b.0))?;
        (most > 0.0 && made > 0.0).then_some(Self { limiting, most, reaction })
    }
}
