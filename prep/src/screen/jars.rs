//! What must not meet in a waste jar, or stand side by side on the shelf?
//!
//! Everything that a jar holds or takes, a mole of each where no amount is known; everything that supplies may hold. Pairs
//! that one lot brings along were told where they met.
//!
//! Source: [`chem::hazard::pairs()`].

use super::cautions::{Teller, meeting, pair_caution, rank};
use super::contents::{Flow, Lot, Present, ROOM, key};
use super::gases;
use super::told::{Told, caution, statements_of};
use crate::outcome::CautionText;
use chem::hazard::{Class, Pair, Place, When, pairs};

impl Teller<'_> {
    /// What meets in the waste jars.
    pub(super) fn waste(&mut self, flow: &Flow) {
        for jar in &self.preparation.waste {
            let mut lot = Lot { temperature: ROOM, ..Lot::default() };
            for held in &jar.holds {
                lot.hold(&held.value);
            }
            for name in &jar.takes {
                if let Some(own) = flow.lots.get(&name.value) {
                    lot.take(own);
                }
            }
            // What one lot brings together was told where it met.
            let lots: Vec<&Lot> = jar.takes.iter().filter_map(|name| flow.lots.get(&name.value)).collect();
            let held = |p: &Present| jar.holds.iter().any(|h| key(&h.value.formula) == key(&p.species.formula));
            let together = |one: &Present, other: &Present| {
                let (a, b) = (key(&one.species.formula), key(&other.species.formula));
                let has = |lot: &&&Lot| lot.contents.contains_key(&a) && lot.contents.contains_key(&b);
                !held(one) && !held(other) && lots.iter().any(|lot| has(&lot))
            };
            let contents: Vec<&Present> = lot.real().collect();
            let place = format!("the waste jar `{}`", jar.name.value);
            let hits: Vec<(CautionText, u8)> = pairs()
                .iter()
                .filter(|pair| pair.matters(Place::Waste))
                .flat_map(|pair| meeting(&contents, pair).into_iter().map(move |(one, other)| (pair, one, other)))
                .filter(|(pair, one, other)| in_a_jar(pair, one, other) && !together(one, other))
                .map(|(pair, one, other)| (pair_caution(&place, pair, one, other), rank(pair)))
                .collect();
            let foams =
                contents.iter().find(|p| p.is(Class::Carbonate)).zip(contents.iter().find(|p| p.is(Class::Acid)));
            for (mut text, rank) in hits {
                text.code = "incompatible-waste";
                text.waste = "What is in the jar already stays alone: start another.".to_owned();
                text.control = "A jar of its own for each; label with contents and date.".to_owned();
                self.list.push(Told { text, span: jar.name.span.clone(), step: None, rank });
            }
            if let Some(gas) = gases::nitrous(&contents) {
                let what = format!("{place}: nitrate, acid and metal give nitrogen oxides ({}).", gas.name());
                let mut text = caution("incompatible-waste", "Danger", what);
                text.statements = statements_of([&gas.formula], |_| true);
                text.control = "Metal apart from acid liquors with nitrate.".to_owned();
                text.waste = "A jar of its own for each.".to_owned();
                self.list.push(Told { text, span: jar.name.span.clone(), step: None, rank: 0 });
            }
            if let Some((one, other)) = foams {
                let what = format!(
                    "{place}: `{}` and `{}` give carbon dioxide; a closed jar bursts.",
                    one.species, other.species
                );
                let mut text = caution("incompatible-waste", "Warning", what);
                text.control = "Let it fizz out in an open vessel before it goes into the jar.".to_owned();
                text.waste = "The lid stays loose for a day.".to_owned();
                self.list.push(Told { text, span: jar.name.span.clone(), step: None, rank: 2 });
            }
        }
    }

    /// What stands side by side.
    pub(super) fn shelf(&mut self) {
        let mut lot = Lot { temperature: ROOM, ..Lot::default() };
        for supply in &self.preparation.supplies {
            for held in &supply.holds {
                lot.shelve(&held.value, supply.assay.bounds().1.min(1.0));
            }
        }
        let contents: Vec<&Present> = lot.real().collect();
        for pair in pairs().iter().filter(|pair| pair.matters(Place::Shelf)) {
            for (one, other) in meeting(&contents, pair) {
                let mut text = pair_caution("the shelf", pair, one, other);
                text.code = "incompatible-shelf";
                text.what = format!(
                    "on the shelf: keep `{}` and `{}` apart: {} ({}).",
                    one.species, other.species, pair.reason, pair.danger
                );
                text.waste = "Their remains go into different jars.".to_owned();
                text.control =
                    "Different shelves, different trays, so that a leak of one does not reach the other.".to_owned();
                let of = |own: &Present| {
                    let wanted = key(&own.species.formula);
                    let holds = |s: &&crate::model::Supply| s.holds.iter().any(|h| key(&h.value.formula) == wanted);
                    self.preparation.supplies.iter().find(holds).map(|s| s.name.span.clone())
                };
                let span = of(one).unwrap_or(0..1);
                self.list.push(Told { text, span, step: None, rank: rank(pair).max(1) });
            }
        }
    }
}

fn in_a_jar(pair: &Pair, one: &Present, other: &Present) -> bool {
    match pair.when {
        When::Always => true,
        When::Dry | When::Hot => false,
        When::Damp => true,
        When::Solid => one.species.phase == Some(chem::Phase::Solid),
        When::Concentrated => one.strength.min(other.strength) > 0.6,
    }
}
