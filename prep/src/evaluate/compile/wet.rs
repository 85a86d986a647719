//! Wet steps: dissolving, reacting, filtering and washing.

use super::{Builder, ChargeRecord, NoteRecord};
use crate::losses::{self, Usual};
use crate::model::{Action, Knowledge, Spanned, Step, WATER};
use chem::formula::to_f64;
use chem::reaction::Reaction;
use chem::{Phase, Species};
use engine::ledger::{Lot, Operation, Prior, SpeciesIndex, State, Value};

impl<'a> Builder<'a> {
    /// A charged solid dissolves unless a reaction names it as a solid.
    pub(super) fn dissolve(&mut self, step: &Step, lot: Lot, solid: SpeciesIndex) {
        let species = self.table.species(solid).clone();
        let named = step.reactions.iter().any(|r| r.value.species.contains(&species));
        if named || species.phase != Some(Phase::Solid) {
            return;
        }
        if self.table.host(solid).is_some() {
            let water = self.table.water(Phase::Liquid);
            self.transform(lot, solid, vec![(water, 1.0)], Value::Constant(1.0));
            return;
        }
        let water_count = to_f64(species.formula.hydrate_water());
        let dissolved = self.table.formula(&species.formula.without_hydrate_water(), Phase::Aqueous);
        let mut into = vec![(dissolved, 1.0)];
        if water_count > 0.0 {
            into.push((self.table.water(Phase::Liquid), water_count));
        }
        let share = self.extracted;
        self.transform(lot, solid, into, share);
    }

    /// All that a lot holds dissolves.
    pub(super) fn dissolve_lot(&mut self, step: &Step, lot: Lot) {
        for species in self.lots[lot].contents.clone() {
            self.dissolve(step, lot, species);
        }
    }

    /// Crystals separate: the dissolved salt takes its hydrate water from the solvent.
    pub(super) fn crystallise(&mut self, i: usize, lot: Lot, crystals: &Species, stated: Option<Knowledge>) {
        let water_count = to_f64(crystals.formula.hydrate_water());
        let dissolved = self.table.formula(&crystals.formula.without_hydrate_water(), Phase::Aqueous);
        let solid = self.table.formula(&crystals.formula, Phase::Solid);
        let mut consumed = vec![(dissolved, 1.0)];
        if water_count > 0.0 {
            consumed.push((self.table.water(Phase::Liquid), water_count));
        }
        let (low, high) = losses::FIRST_CROP;
        let conversion = match stated {
            Some(stated) => self.fraction(stated),
            None => match self.crop(i, lot, crystals) {
                Some(conversion) => conversion,
                None => self.fraction(Knowledge::Between { low, high }),
            },
        };
        self.lots[lot].contents.insert(solid);
        let consumed_species = consumed.iter().map(|(s, _)| *s).collect();
        self.notes.push(NoteRecord { step: i, text: None, consumed: consumed_species });
        let note = self.notes.len() - 1;
        let produced = Box::new([(solid, 1.0)]);
        self.push(Operation::React { lot, consumed: consumed.into(), produced, conversion, note });
    }

    /// Part of the water is driven off.
    pub(super) fn boil(&mut self, lot: Lot, vent: Lot, removes: Knowledge) {
        let (liquid, gas) = (self.table.water(Phase::Liquid), self.table.water(Phase::Gas));
        let mass = self.value(removes);
        self.lots[vent].contents.insert(gas);
        self.push(Operation::Boil { lot, liquid, gas, mass, vent });
    }

    pub(super) fn transform(&mut self, lot: Lot, from: SpeciesIndex, into: Vec<(SpeciesIndex, f64)>, share: Value) {
        if share == Value::Constant(1.0) {
            self.lots[lot].contents.remove(&from);
        }
        self.lots[lot].contents.extend(into.iter().map(|(s, _)| *s));
        self.push(Operation::Transform { lot, from, into: into.into(), share });
    }

    pub(super) fn react(&mut self, i: usize, lot: Lot, reaction: &Spanned<Reaction>, stated: Option<Knowledge>) {
        let [consumed, produced] = self.sides(&reaction.value);
        let conversion = match stated {
            Some(knowledge) => self.fraction(knowledge),
            None => match self.dissolved_loss(i, &produced) {
                Some(conversion) => conversion,
                None => self.prior(Prior::Beta { alpha: losses::CONVERSION_SHAPE, beta: 1.0 }),
            },
        };
        for (species, _) in &consumed {
            if !self.lots[lot].contents.contains(species) {
                self.absent.push((i, reaction.span.clone(), *species));
            }
        }
        self.lots[lot].contents.extend(produced.iter().map(|(s, _)| *s));
        self.notes.push(NoteRecord {
            step: i,
            text: Some(reaction.value.text.clone()),
            consumed: consumed.iter().map(|(s, _)| *s).collect(),
        });
        let note = self.notes.len() - 1;
        self.push(Operation::React { lot, consumed: consumed.into(), produced: produced.into(), conversion, note });
    }

    /// Moves the possible contents of one state from a lot to another.
    pub(super) fn pour(&mut self, from: Lot, into: Lot, which: impl Fn(State) -> bool, all: bool) {
        let moved: Vec<SpeciesIndex> =
            self.lots[from].contents.iter().copied().filter(|s| which(self.table.state(*s))).collect();
        self.lots[into].contents.extend(moved.iter().copied());
        if all {
            for species in moved {
                self.lots[from].contents.remove(&species);
            }
        }
    }

    pub(super) fn filter(&mut self, i: usize, step: &'a Step, cake: Lot, liquor: Lot) {
        let passes = match step.passes {
            Some(knowledge) => self.fraction(knowledge),
            None if step.action.value == Action::Decant => {
                let (low, high) = losses::DECANTED_FINES;
                self.usual(step, Usual::Passes, |b| b.value(Knowledge::Usually { low, high }))
            }
            None => {
                self.usual(step, Usual::Passes, |b| b.prior(Prior::Beta { alpha: 1.0, beta: losses::PASSES_SHAPE }))
            }
        };
        let (held, held_per_solid) = match step.held_liquor {
            Some(knowledge) => (self.value(knowledge), Value::Constant(0.0)),
            None if step.action.value == Action::Decant => {
                let (low, high) = losses::HELD_BY_SEDIMENT;
                let held = self.usual(step, Usual::HeldBySolids, |b| b.value(Knowledge::Usually { low, high }));
                (Value::Constant(0.0), held)
            }
            None => {
                let (low, high) = losses::HELD_BY_PAPER;
                let paper = self.usual(step, Usual::HeldByPaper, |b| b.value(Knowledge::Usually { low, high }));
                let (low, high) = losses::HELD_BY_SOLIDS;
                (paper, self.usual(step, Usual::HeldBySolids, |b| b.value(Knowledge::Usually { low, high })))
            }
        };
        self.pour(cake, liquor, |_| true, false);
        self.push(Operation::Separate { cake, liquor, passes, held, held_per_solid });
        self.lots[liquor].bound = self.lots[cake].bound;
        if let Some(wash) = &step.wash {
            let mass = self.value(wash.mass);
            let supply = self.supply_index(WATER);
            let dissolves = self.washed(i, step, cake, wash.mass.central());
            for n in 0..wash.times {
                if n == 0 {
                    let name = WATER.to_owned();
                    let record = ChargeRecord { step: i, supply, name, mass, times: wash.times, wash: true };
                    self.charge(step, record, wash.mass.central(), cake);
                } else {
                    self.push(Operation::Charge { supply, mass, into: cake });
                }
                for (solid, share) in &dissolves {
                    self.take_up(cake, *solid, *share);
                }
                // A cake has closed the filter; settled solids lose fines at every decantation.
                let passes = if step.action.value == Action::Decant { passes } else { Value::Constant(0.0) };
                self.push(Operation::Separate { cake, liquor, passes, held, held_per_solid });
            }
            self.pour(cake, liquor, |state| state != State::Solid, false);
        }
    }
}
