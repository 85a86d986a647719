//! Does the file hang together? What only the whole of it can tell.
//!
//! Names that are used and not defined, lots used twice or before they exist, readings of nothing, phases
//! that the ledger needs. Every finding names the field and what would be right.

mod determinations;
mod resources;
mod suppositions;

use crate::action::Parting;
use crate::losses;
use crate::model::{Action, Part, Preparation, Span, Step, TakeAmount, WATER};
use crate::outcome::Severity;
use crate::syntax::{Findings, nearest, suggest};
use chem::{Phase, Species};
use std::collections::HashMap;

/// Checks the whole preparation.
pub(crate) fn check(preparation: &Preparation, findings: &Findings) {
    Checker { preparation, findings, given: HashMap::new(), emptied: HashMap::new() }.run();
}

struct Checker<'a> {
    preparation: &'a Preparation,
    findings: &'a Findings,
    /// Lot → step that gives it.
    given: HashMap<&'a str, usize>,
    /// Lot → step that took all of it.
    emptied: HashMap<&'a str, usize>,
}

impl<'a> Checker<'a> {
    fn run(&mut self) {
        self.unique_names();
        self.elements();
        self.substances();
        self.currencies();
        for (i, step) in self.preparation.steps.iter().enumerate() {
            self.takes(i, step);
            self.gives(i, step);
            if step.understood {
                self.chemistry(step);
                self.manner(step);
            }
            self.vessel(step.vessel.as_ref(), &format!("step `{}`", step.name.value));
            self.readings(i, step);
            self.determinations(i, step);
        }
        self.corrections();
        self.suppositions();
        if let Some(claim) = &self.preparation.claim
            && let Err(message) = crate::evaluate::check_claim(self.preparation, &claim.value)
        {
            let hint = "write parts between commas: `24.4 g CuO`, `yield 97 %`, `98 % pure`, a substance; a lot stands before a colon";
            self.error("claim-not-understood", &claim.span, format!("`claim` is not understood: {message}"), hint);
        }
    }

    /// Supplies and target are substances that the books can keep.
    fn substances(&self) {
        for supply in &self.preparation.supplies {
            for species in &supply.holds {
                self.kept(&species.value, &species.span, &format!("`holds` of supply `{}`", supply.name.value));
            }
        }
        if let Some(target) = &self.preparation.target {
            self.kept(&target.substance, &target.span, "the target");
        }
    }

    fn unique_names(&self) {
        let p = self.preparation;
        let lists = [
            ("supplies", p.supplies.iter().map(|s| &s.name).collect::<Vec<_>>()),
            ("instruments", p.instruments.iter().map(|s| &s.name).chain(p.ware.iter().map(|s| &s.name)).collect()),
            ("vessels", p.vessels.iter().map(|s| &s.name).collect()),
            ("steps", p.steps.iter().map(|s| &s.name).collect()),
            ("readings", p.steps.iter().flat_map(|s| s.readings.iter().map(|r| &r.id)).collect()),
            ("tests", p.steps.iter().flat_map(|s| s.determinations.iter().map(|d| &d.id)).collect()),
        ];
        for (kinds, names) in lists {
            let mut seen: HashMap<&str, ()> = HashMap::new();
            for name in names {
                if seen.insert(&name.value, ()).is_some() {
                    let message = format!("two {kinds} are called `{}`", name.value);
                    self.findings.error("name-used-twice", &name.span, message, "give each a name of its own");
                }
            }
        }
    }

    fn elements(&self) {
        let p = self.preparation;
        if p.account_for.is_empty() {
            let message = "the preparation has no `account_for`: there will be no streams and no yield";
            let hint = "add the element that matters at the top, for instance `account_for = \"Cu\"`";
            self.findings.push("nothing-accounted", Severity::Note, &(0..1), message, hint);
        }
        if p.supplies.iter().any(|s| s.holds.is_empty()) {
            return;
        }
        for element in &p.account_for {
            let held = |species: &Species| *species.formula.count(*element).numer() != 0;
            if !p.supplies.iter().any(|s| s.holds.iter().any(|h| held(&h.value))) {
                let message = format!("`account_for` names {}, but no supply holds it", element.symbol());
                let span = p.supplies.first().map_or(0..1, |s| s.name.span.clone());
                self.findings.error("element-not-supplied", &span, message, "check the formulas under `holds`");
            }
        }
    }

    fn takes(&mut self, i: usize, step: &'a Step) {
        for take in &step.take {
            let name = take.source.value.as_str();
            if self.given.contains_key(name) {
                self.take_of_lot(i, step, name, &take.source.span, &take.amount.value);
            } else if self.preparation.supply(name).is_some() || name == WATER {
                if take.amount.value == TakeAmount::All {
                    let message = format!("step `{}` takes all of the supply `{name}`", step.name.value);
                    self.error("supply-without-mass", &take.amount.span, message, "give the mass that is weighed out");
                }
            } else {
                self.unknown_source(i, step, name, &take.source.span);
            }
        }
    }

    fn take_of_lot(&mut self, i: usize, step: &Step, name: &'a str, span: &Span, amount: &TakeAmount) {
        if let Some(before) = self.emptied.get(name) {
            let other = &self.preparation.steps[*before].name.value;
            let message = format!(
                "step `{}` takes the lot `{name}`, but step `{other}` has already taken all of it",
                step.name.value
            );
            self.error("lot-used-twice", span, message, "divide the lot first, or take what the later step gives");
        } else if matches!(amount, TakeAmount::Mass(_)) {
            let message = format!("step `{}` takes part of the lot `{name}`", step.name.value);
            self.error(
                "part-of-lot",
                span,
                message,
                "take `\"all\"` in a step with `action = \"divide\"` that gives the parts",
            );
        } else {
            self.emptied.insert(name, i);
        }
    }

    fn unknown_source(&self, i: usize, step: &Step, name: &str, span: &Span) {
        let p = self.preparation;
        let later = p.steps.iter().enumerate().find(|(_, s)| s.gives.iter().any(|g| g.lot.value == name));
        if let Some((j, giver)) = later {
            let message = if i == j {
                format!("step `{}` takes the lot `{name}` that it gives itself", step.name.value)
            } else {
                format!(
                    "step `{}` takes the lot `{name}`, which only the later step `{}` gives: the steps run in a ring or out of order",
                    step.name.value, giver.name.value
                )
            };
            self.error(
                "steps-in-a-ring",
                span,
                message,
                "put the steps in the order in which they are done; give a returned lot a new name",
            );
            return;
        }
        let mut names: Vec<&str> = p.supplies.iter().map(|s| s.name.value.as_str()).collect();
        names.extend(p.steps.iter().take(i).flat_map(|s| s.gives.iter().map(|g| g.lot.value.as_str())));
        names.push(WATER);
        let hint = match nearest(name, names.iter().copied()) {
            Some(near) => format!("did you mean `{near}`?"),
            None => "name a `[[supply]]` or a lot that an earlier step gives".to_owned(),
        };
        self.error(
            "unknown-source",
            span,
            format!("step `{}` takes `{name}`, which is no supply and no lot", step.name.value),
            hint,
        );
    }

    fn gives(&mut self, i: usize, step: &'a Step) {
        let action = step.action.value;
        let parting = action.manner().parting;
        let rests = step.gives.iter().filter(|g| g.part.value == Part::Rest).count();
        for give in &step.gives {
            let name = give.lot.value.as_str();
            if let Some(before) = self.given.insert(name, i) {
                let message = format!(
                    "the lot `{name}` is given twice, by `{}` and by `{}`",
                    self.preparation.steps[before].name.value, step.name.value
                );
                self.error("lot-given-twice", &give.lot.span, message, "give each lot a name of its own");
            }
            if self.preparation.supply(name).is_some() || name == WATER {
                self.error(
                    "name-used-twice",
                    &give.lot.span,
                    format!("`{name}` is a supply and a lot"),
                    "rename one of them",
                );
            }
            let fits = match give.part.value {
                _ if !step.understood => true,
                Part::All => step.gives.len() == 1 && parting == Parting::Whole,
                Part::Solids | Part::Solution => {
                    let same = step.gives.iter().filter(|g| g.part.value == give.part.value).count();
                    parting == Parting::SolidsAndSolution && same == 1
                }
                Part::Rest | Part::Mass(_) => parting == Parting::Portions && rests == 1,
            };
            if !fits {
                let hint = match parting {
                    Parting::SolidsAndSolution => "this action gives `\"solids\"` and `\"solution\"`",
                    Parting::Portions => "this action gives portions by mass, and one lot that is `\"rest\"`",
                    Parting::Whole => "this action gives one lot, `\"all\"`",
                };
                let message = format!(
                    "step `{}` ({}) cannot give `{name}` = `\"{}\"`",
                    step.name.value,
                    action.word(),
                    give.text
                );
                self.error("wrong-part", &give.part.span, message, hint);
            }
        }
    }

    /// Phases and charges that the ledger needs.
    fn chemistry(&self, step: &Step) {
        let name = &step.name.value;
        for reaction in &step.reactions {
            for species in &reaction.value.species {
                self.kept(species, &reaction.span, &format!("the reaction of step `{name}`"));
            }
        }
        for pattern in &step.may_hold {
            self.kept(pattern.value.species(), &pattern.span, &format!("`may_hold` of step `{name}`"));
        }
        for trace in &step.trace {
            self.kept(&trace.species.value, &trace.species.span, &format!("`trace` of step `{name}`"));
        }
        let bounds: f64 = step.trace.iter().map(|t| t.bound).sum();
        if bounds >= 1.0 {
            let message = format!("`trace` of step `{name}`: the bounds add up to {:.0} %", bounds * 100.0);
            let hint = "traces are small beside what `may_hold` lists; together they stay below 100 %";
            self.error("out-of-range", &step.trace[0].species.span, message, hint);
        }
        if !step.may_hold.is_empty() && !step.action.value.heats() {
            let message = format!(
                "`may_hold` of step `{name}`: a {} step does not change what a lot holds",
                step.action.value.word()
            );
            self.error("may-hold-here", &step.may_hold[0].span, message, "state it on the step that dries or ignites");
        }
        self.beside(step);
        if !step.trace.is_empty() && !step.action.value.heats() {
            let message = format!("`trace` of step `{name}`: a {} step takes no trace", step.action.value.word());
            self.error(
                "trace-here",
                &step.trace[0].species.span,
                message,
                "state it on the step that dries or ignites",
            );
        }
    }

    /// What falls out beside is a solid, and falls out where a reaction does.
    fn beside(&self, step: &Step) {
        let name = &step.name.value;
        for (solid, _) in &step.beside {
            self.kept(&solid.value, &solid.span, &format!("`beside` of step `{name}`"));
            let why = if !step.action.value.is_wet() || step.reactions.is_empty() {
                "no `reaction` runs there in water".to_owned()
            } else if solid.value.phase.is_some_and(|phase| phase != Phase::Solid) {
                format!("{} is no solid", solid.value)
            } else {
                continue;
            };
            let hint = "state it on the step that precipitates, as `beside = { \"CaSO4·2H2O(s)\" = \"0 %\" }`";
            self.error("beside-here", &solid.span, format!("`beside` of step `{name}`: {why}"), hint);
        }
    }

    /// A species that the books can keep: with its phase, and neutral.
    fn kept(&self, species: &Species, span: &Span, place: &str) {
        if species.formula.charge() != 0 {
            let hint = "write whole salts: the books keep neutral substances, `CuSO4(aq)`";
            self.error("ion-in-ledger", span, format!("`{species}` in {place} is an ion"), hint);
        }
        if species.phase.is_none() {
            let water = species.formula.text() == "H2O";
            let example = if water { Phase::Liquid } else { Phase::Solid };
            let message = format!("`{species}` in {place} has no phase");
            self.error(
                "missing-phase",
                span,
                message,
                format!("write (s), (l), (g) or (aq), for instance `{species}({})`", example.symbol()),
            );
        }
    }

    fn manner(&self, step: &Step) {
        if let Some(by) = &step.by {
            let ways = losses::ways(step.action.value);
            if !ways.contains(&by.value.trim()) {
                let message = format!(
                    "`by` of step `{}`: `{}` is no way to {}",
                    step.name.value,
                    by.value,
                    step.action.value.word()
                );
                let hint = if ways.is_empty() { "leave it out".to_owned() } else { suggest(&by.value, &ways) };
                self.error("unknown-word", &by.span, message, hint);
            }
        }
        let filter = step.action.value.parts_liquor();
        if !filter && let Some(wash) = &step.wash {
            self.error(
                "wash-here",
                &wash.span,
                format!("step `{}` parts no liquor: it washes nothing", step.name.value),
                "wash in the step that filters or decants",
            );
        }
        let crystallises = step.action.value == Action::Crystallise;
        if crystallises == step.crystals.is_empty() {
            let message = if crystallises {
                format!("step `{}` does not say which `crystals` separate", step.name.value)
            } else {
                format!("step `{}` is no crystallisation: it has no `crystals`", step.name.value)
            };
            self.error(
                "crystals-here",
                &step.name.span,
                message,
                "write `action = \"crystallise\"` with `crystals = \"CuSO4·5H2O(s)\"`",
            );
        }
        let evaporates = step.action.value == Action::Evaporate;
        if evaporates != step.removes.is_some() {
            let message = if evaporates {
                format!("step `{}` does not say how much water it `removes`", step.name.value)
            } else {
                format!("step `{}` does not evaporate: it has no `removes`", step.name.value)
            };
            self.error(
                "removes-here",
                &step.name.span,
                message,
                "write `action = \"evaporate\"` with `removes = \"300 g\"` of water",
            );
        }
        if !filter && (step.held_liquor.is_some() || step.passes.is_some()) {
            let message = format!("step `{}` parts no liquor: it has no `held_liquor` or `passes`", step.name.value);
            self.error("wash-here", &step.name.span, message, "state it in the step that filters or decants");
        }
    }

    fn readings(&self, i: usize, step: &'a Step) {
        let p = self.preparation;
        for reading in &step.readings {
            let id = &reading.id.value;
            let balances: Vec<&str> = p.instruments.iter().map(|x| x.name.value.as_str()).collect();
            // A volume is read off ware, a mass off a balance; what is not read yet may be either.
            let is_ware = (reading.weigh.is_none() || reading.volume.is_some())
                && p.ware.iter().any(|x| x.name.value == reading.with.value);
            match p.instruments.iter().find(|x| x.name.value == reading.with.value && reading.volume.is_none()) {
                None if is_ware => {}
                None => self.error(
                    "unknown-instrument",
                    &reading.with.span,
                    format!(
                        "reading `{id}` is made with `{}`, which is no {}",
                        reading.with.value,
                        if reading.volume.is_some() { "volumetric ware" } else { "instrument" }
                    ),
                    if reading.volume.is_some() {
                        "add an `[[instrument]]` with `kind = \"burette\"`, `capacity` and `class`".to_owned()
                    } else if balances.is_empty() {
                        "add an `[[instrument]]` with `kind = \"balance\"`".to_owned()
                    } else {
                        suggest(&reading.with.value, &balances)
                    },
                ),
                Some(balance) => {
                    if let Some(weigh) = &reading.weigh
                        && weigh.value > balance.capacity * 1.001
                    {
                        let message = format!(
                            "reading `{id}` shows {}, but `{}` carries at most {} g",
                            reading.text,
                            reading.with.value,
                            balance.capacity * 1e3
                        );
                        self.findings.push(
                            "over-capacity",
                            Severity::Warning,
                            &weigh.span,
                            message,
                            "check the figure, or state the `capacity` of the balance",
                        );
                    }
                }
            }
            if let Some(lot) = &reading.of {
                self.reading_of(i, step, id, &lot.value, &lot.span);
            }
            if let Some(charge) = &reading.charge
                && !step
                    .take
                    .iter()
                    .any(|t| t.source.value == charge.value && matches!(t.amount.value, TakeAmount::Mass(_)))
            {
                let names: Vec<&str> = step.take.iter().map(|t| t.source.value.as_str()).collect();
                self.error(
                    "unknown-charge",
                    &charge.span,
                    format!("reading `{id}`: step `{}` does not take `{}`", step.name.value, charge.value),
                    suggest(&charge.value, &names),
                );
            }
            self.vessel(reading.vessel.as_ref(), &format!("reading `{id}`"));
            if reading.of.is_none() && reading.vessel.is_none() && reading.charge.is_none() {
                self.error(
                    "reading-of-nothing",
                    &reading.id.span,
                    format!("reading `{id}` weighs nothing"),
                    "add `of = \"lot\"`, `charge = \"supply\"` or `in = \"vessel\"`",
                );
            }
        }
    }

    fn reading_of(&self, i: usize, step: &Step, id: &str, lot: &str, span: &Span) {
        self.lot_at_hand(i, step, (&format!("reading `{id}`"), "weighs"), lot, span);
    }

    fn lot_at_hand(&self, i: usize, step: &Step, (what, does): (&str, &str), lot: &str, span: &Span) {
        match self.given.get(lot) {
            Some(_) => {
                if let Some(before) = self.emptied.get(lot).filter(|before| **before < i) {
                    let message = format!(
                        "{what} in step `{}` {does} the lot `{lot}`, which step `{}` had already taken",
                        step.name.value, self.preparation.steps[*before].name.value
                    );
                    self.error("lot-gone", span, message, "put it into the step that gives the lot");
                }
            }
            None => {
                let names: Vec<&str> = self.given.keys().copied().collect();
                let hint = match nearest(lot, names.iter().copied()) {
                    Some(near) => format!("did you mean `{near}`?"),
                    None => "name a lot that this step or an earlier one gives".to_owned(),
                };
                self.error(
                    "unknown-lot",
                    span,
                    format!("{what} {does} the lot `{lot}`, which does not exist here"),
                    hint,
                );
            }
        }
    }

    fn corrections(&self) {
        let readings: Vec<_> = self.preparation.steps.iter().flat_map(|s| &s.readings).collect();
        for reading in &readings {
            let Some(corrects) = &reading.corrects else { continue };
            let id = &reading.id.value;
            let known: Vec<&str> = readings.iter().map(|r| r.id.value.as_str()).filter(|r| r != id).collect();
            if self.corrects_itself(id) {
                let message =
                    format!("reading `{id}` corrects itself by way of `{}`: none of them would stand", corrects.value);
                let hint = "the first figure corrects none; each later one corrects the one before it";
                self.error("corrections-in-a-ring", &corrects.span, message, hint);
            } else if let Some(other) = readings
                .iter()
                .take_while(|r| r.id != reading.id)
                .find(|r| r.corrects.as_ref().is_some_and(|c| c.value == corrects.value))
            {
                let message = format!(
                    "reading `{id}` corrects `{}`, which `{}` already corrects: both would count",
                    corrects.value, other.id.value
                );
                let hint = format!("correct the correction: `corrects = \"{}\"`", other.id.value);
                self.error("corrected-twice", &corrects.span, message, hint);
            } else if !known.contains(&corrects.value.as_str()) {
                let message = format!("reading `{id}` corrects `{}`, which does not exist", corrects.value);
                self.error("unknown-reading", &corrects.span, message, suggest(&corrects.value, &known));
            }
            if reading.reason.as_deref().is_none_or(|r| r.trim().is_empty()) || reading.at.is_none() {
                let message = format!("reading `{id}` corrects `{}` without saying why and when", corrects.value);
                self.error(
                    "correction-without-reason",
                    &reading.id.span,
                    message,
                    "add `reason = \"…\"` and `at = 2026-05-02T16:40:00`",
                );
            }
        }
    }

    /// Whether following the corrections from a reading leads back to it.
    fn corrects_itself(&self, id: &str) -> bool {
        let readings: Vec<_> = self.preparation.steps.iter().flat_map(|s| &s.readings).collect();
        let next = |id: &str| readings.iter().find(|r| r.id.value == id).and_then(|r| r.corrects.as_ref());
        let mut at = next(id);
        for _ in 0..readings.len() {
            match at {
                Some(corrects) if corrects.value == id => return true,
                Some(corrects) => at = next(&corrects.value),
                None => return false,
            }
        }
        false
    }

    fn error(&self, code: &'static str, span: &Span, message: impl Into<String>, hint: impl Into<String>) {
        self.findings.error(code, span, message, hint);
    }
}
