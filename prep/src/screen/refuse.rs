//! What in a preparation is out of bounds?
//!
//! Asked before any quantity is told: of the target, the supplies, every listed reaction and product, every composition that
//! a lot may have, and of what comes together and is collected although no line names it: ammonium and nitrate in one liquor
//! that is evaporated, oxidiser and fuel in one dry mix, an acid made stronger. Traces and what is bought are cautioned.
//!
//! Source: [`chem::hazard::bounds`]; the energy of mixes by [`engine::hazard::is_energetic`], by composition where heat and
//! gas are not known.

use super::contents::{Bench, Flow, Lot, Present, TRACE};
use super::forming;
use super::question::called;
use super::words::{help, refusal};
use crate::action::Heat;
use crate::model::{Action, Preparation, Span, Step};
use crate::syntax::Findings;
use chem::Species;
use chem::hazard::{Bound, Class, Group, Reach, bound, named};
use engine::hazard::{Mix, is_energetic};

/// Code of every refusal.
pub const OUT_OF_BOUNDS: &str = "out-of-bounds";
/// Chlorine of a listed reaction above which it is no trace, mol.
pub(super) const MOST_CHLORINE: f64 = 0.01;
/// Mass fraction from which what is called a trace is a content.
const MOST_TRACE: f64 = 0.1;
/// Molar mass of nitric acid, kg/mol, and the share of the solutes from which it is told of.
const NITRIC_ACID: f64 = 0.063_01;
const DRIVEN_OFF: f64 = 0.15;
/// Mass fraction below which something is sold in something else.
const NEARLY_PURE: f64 = 0.95;
/// Temperature from which bleach turns into chlorate within hours, K (common practice).
const BLEACH: f64 = 333.0;
/// Temperature from which charcoal sets phosphorus free from phosphates, K (textbooks, rounded down).
const PHOSPHORUS: f64 = 1200.0;
/// Amount below which a dissolved salt is a trace beside others, mol.
const LITTLE: f64 = 1e-3;
/// Share of the solutes by mass from which an acid is what a liquor is evaporated for.
const MAIN_SOLUTE: f64 = 0.5;

/// Refuses what is out of bounds.
pub(super) fn refuse(preparation: &Preparation, flow: &Flow, findings: &Findings) {
    let door = Door { preparation, findings };
    door.words();
    door.target();
    door.supplies();
    for (step, bench) in preparation.steps.iter().zip(&flow.benches) {
        door.reactions(step, bench);
        door.products(step);
        door.collected(step, bench);
        door.mix(step, bench);
        door.acid(step, bench);
        door.forming(step, bench);
    }
}

struct Door<'a> {
    preparation: &'a Preparation,
    findings: &'a Findings,
}

impl Door<'_> {
    fn refuse(&self, what: &str, found: Bound, span: &Span) {
        self.findings.error(OUT_OF_BOUNDS, span, refusal(what, found), help(found.group));
    }

    /// Titles and names of steps that say what it is for.
    fn words(&self) {
        let title = &self.preparation.title;
        let place = self.preparation.text.find(title.as_str()).map_or(0..1, |at| at..at + title.len().max(1));
        for purpose in [false, true] {
            if let Some((found, name)) = named(title, purpose)
                && (found.reach == Reach::Always || !self.names_supply(name))
            {
                self.refuse(&format!("`{name}` in the title"), found, &place);
            }
        }
        // What it is for is a use as much as a title; what becomes of it stands in the notes of steps.
        let purpose = self.preparation.words.purpose.iter().map(|text| (text, true));
        let notes = self.preparation.steps.iter().filter_map(|step| step.note.as_ref()).map(|text| (text, false));
        for (text, use_too) in purpose.chain(notes) {
            let place = self.preparation.text.find(text.as_str()).map_or(0..1, |at| at..at + text.len().max(1));
            for asked in [false, true].into_iter().filter(|asked| use_too || !asked) {
                if let Some((found, name)) = named(text, asked).filter(|(found, _)| found.reach == Reach::Always) {
                    self.refuse(&format!("`{name}` in what is written of it"), found, &place);
                }
            }
        }
        for step in &self.preparation.steps {
            let lots = step.gives.iter().map(|give| &give.lot);
            for told in std::iter::once(&step.name).chain(lots) {
                if let Some((found, name)) = named(&told.value, false)
                    && (found.reach == Reach::Always || (told.span != step.name.span && !self.names_supply(name)))
                {
                    self.refuse(&format!("`{name}` in step `{}`", step.name.value), found, &told.span);
                }
            }
        }
    }

    /// What forms by being brought together, named or not.
    fn forming(&self, step: &Step, bench: &Bench) {
        for (what, group) in forming::forms(step, bench) {
            let what = format!("{what} in step `{}`", step.name.value);
            self.refuse(&what, Bound { group, reach: Reach::Made }, &step.name.span);
        }
    }

    /// Whether a supply goes by the name: then the title speaks of what it starts from.
    fn names_supply(&self, name: &str) -> bool {
        let told = |text: &str| text.to_lowercase().contains(name);
        self.preparation.supplies.iter().any(|s| told(&s.name.value) || told(&s.label))
    }

    fn target(&self) {
        if let Some(target) = &self.preparation.target
            && let Some(found) = bound(&target.substance.formula)
        {
            self.refuse(&format!("{} as the target", called(&target.substance)), found, &target.span);
        }
    }

    fn supplies(&self) {
        for supply in &self.preparation.supplies {
            let name = &supply.name;
            let taken = self.preparation.steps.iter().any(|s| s.take.iter().any(|t| t.source.value == name.value));
            for species in &supply.holds {
                let Some(found) = bound(&species.value.formula) else { continue };
                let unknown = taken && found.group == Group::UnknownOrganic;
                if found.reach == Reach::Always || unknown {
                    self.refuse(
                        &format!("{} as the supply `{}`", called(&species.value), name.value),
                        found,
                        &species.span,
                    );
                }
            }
            for text in [&name.value, &supply.label] {
                if let Some((found, known)) = named(text, false)
                    && found.reach == Reach::Always
                {
                    self.refuse(&format!("`{known}`, the supply `{}`,", name.value), found, &name.span);
                    break;
                }
            }
        }
        for jar in &self.preparation.waste {
            let found = jar.holds.iter().filter_map(|s| Some((s, bound(&s.value.formula)?)));
            for (species, found) in found.filter(|(_, found)| found.group == Group::Explosive) {
                self.refuse(
                    &format!("`{}` in the waste jar `{}`", species.value, jar.name.value),
                    found,
                    &species.span,
                );
            }
        }
    }

    /// Listed reactions: what is always refused on both sides, the rest as products.
    fn reactions(&self, step: &Step, bench: &Bench) {
        for (reaction, extent) in step.reactions.iter().zip(&bench.extents) {
            for (i, species) in reaction.value.species.iter().enumerate() {
                let Some(found) = bound(&species.formula) else { continue };
                let made = reaction.value.coefficient_f64(i) > 0.0;
                let amount = reaction.value.coefficient_f64(i) * extent;
                let refused = match (found.reach, found.group) {
                    (Reach::Always, _) => true,
                    (Reach::Made, Group::UnknownOrganic) => true,
                    // By-products of ordinary steps, diluted as they are.
                    (Reach::Made, Group::NitricAcid | Group::ConcentratedPeroxide) => false,
                    (Reach::Made, Group::Chlorine) => made && amount > MOST_CHLORINE,
                    (Reach::Made, _) => made,
                };
                if refused {
                    let side = if made { "made" } else { "used" };
                    let what = format!("{}, {side} in step `{}`,", called(species), step.name.value);
                    self.refuse(&what, found, &reaction.span);
                }
            }
        }
    }

    /// What a lot is said to hold, or to be quoted as.
    fn products(&self, step: &Step) {
        let name = &step.name.value;
        let held = step.may_hold.iter().map(|p| (p.value.species(), &p.span));
        let crystals = step.crystals.iter().map(|c| (&c.value, &c.span));
        let quoted = step.quote_as.iter().map(|q| (&q.value, &q.span));
        let beside = step.beside.iter().map(|(solid, _)| (&solid.value, &solid.span));
        for (species, span) in held.chain(crystals).chain(quoted).chain(beside) {
            if let Some(found) = bound(&species.formula)
                && !self.is_bought(species)
            {
                self.refuse(&format!("{}, collected in step `{name}`,", called(species)), found, span);
            }
        }
        let traces = step.trace.iter().filter_map(|t| Some((t, bound(&t.species.value.formula)?)));
        for (trace, found) in traces.filter(|(t, found)| found.reach == Reach::Always || t.bound > MOST_TRACE) {
            self.refuse(&format!("`{}` in step `{name}`", trace.species.value), found, &trace.species.span);
        }
    }

    /// Organic matter that is bought and only dried or filtered is told of where it is bought.
    fn is_bought(&self, species: &Species) -> bool {
        let supplies = self.preparation.supplies.iter().flat_map(|s| &s.holds);
        bound(&species.formula).is_some_and(|b| b.group == Group::UnknownOrganic)
            && supplies.into_iter().any(|h| h.value.formula.same_substance(&species.formula))
    }

    /// What is separated although it is not named: by evaporation, crystallisation, drying or fire.
    fn collected(&self, step: &Step, bench: &Bench) {
        let manner = step.action.value.manner();
        if step.action.value.parts_liquor() {
            self.extracted(step, bench);
        }
        let separates =
            matches!(step.action.value, Action::Evaporate | Action::Crystallise) || manner.heat != Heat::None;
        if bench.before.real().any(|p| p.is(Class::Hypochlorite) && is_no_trace(p, &bench.before))
            && (separates || bench.temperature > BLEACH)
        {
            let what = format!("hypochlorite boiled down, heated or dried in step `{}`", step.name.value);
            self.refuse(&what, Bound { group: Group::Chlorate, reach: Reach::Made }, &step.name.span);
        }
        if !separates {
            return;
        }
        let named_here = |p: &&Present| p.high > LITTLE && p.species.phase != Some(chem::Phase::Gas);
        for own in bench.before.real().filter(named_here) {
            let Some(found) = own.bound else { continue };
            let separated = matches!(
                found.group,
                Group::AmmoniumNitrate | Group::Chlorate | Group::Perchlorate | Group::Cyanide | Group::Azide
            );
            if separated && is_no_trace(own, &bench.before) {
                let what = format!("{}, separated in step `{}`,", called(&own.species), step.name.value);
                self.refuse(&what, found, &step.name.span);
            }
        }
        let basic = |p: &Present| p.is(Class::Ammonium) || p.is(Class::Ammonia);
        let ammonium = || bench.before.real().filter(|p| p.high > LITTLE && basic(p));
        let nitrate = || bench.before.real().filter(|p| p.high > LITTLE && p.groups.has("nitrate"));
        let both = |p: &Present| basic(p) && p.groups.has("nitrate");
        let apart = ammonium().any(|p| !both(p)) && nitrate().any(|p| !both(p));
        let main = |p: &Present| is_no_trace(p, &bench.before);
        if apart && ammonium().any(main) && nitrate().any(main) {
            let what = format!("ammonium and nitrate together in step `{}`", step.name.value);
            self.refuse(&what, Bound { group: Group::AmmoniumNitrate, reach: Reach::Made }, &step.name.span);
        }
        let phosphate = bench.before.real().any(|p| p.groups.has("phosphate") && is_no_trace(p, &bench.before));
        let takes_oxygen =
            |p: &Present| (p.is(Class::Carbon) || p.is(Class::ActiveMetal)) && is_no_trace(p, &bench.before);
        let white_hot = step.temperature.is_none() || bench.temperature > PHOSPHORUS;
        if phosphate && bench.before.real().any(takes_oxygen) && manner.heat == Heat::Fire && white_hot {
            let what = format!("phosphorus, set free from phosphate in step `{}`,", step.name.value);
            self.refuse(&what, Bound { group: Group::Phosphorus, reach: Reach::Made }, &step.name.span);
        }
        // Alkali holds the cyanide back in air too; iron blue burns to oxide there.
        let inert = step.atmosphere != crate::action::Atmosphere::Air;
        let alkaline = |p: &Present| ["Na", "K", "Ca"].iter().any(|metal| p.groups.metal(metal));
        let prussiate =
            |p: &Present| p.is(Class::Hexacyanoferrate) && is_no_trace(p, &bench.before) && (inert || alkaline(p));
        if bench.before.real().any(prussiate) && bench.temperature > 573.15 {
            let what = format!("ferrocyanide, heated in step `{}`,", step.name.value);
            self.refuse(&what, Bound { group: Group::Cyanide, reach: Reach::Made }, &step.name.span);
        }
    }

    /// What is bounded and comes out of what it is sold in: fertiliser, match heads and strikers.
    fn extracted(&self, step: &Step, bench: &Bench) {
        let sold_in = |p: &&Present| p.strength < NEARLY_PURE && is_no_trace(p, &bench.before);
        for own in bench.before.real().filter(sold_in) {
            let Some(found) = own.bound else { continue };
            let separated = matches!(
                found.group,
                Group::AmmoniumNitrate
                    | Group::Chlorate
                    | Group::Perchlorate
                    | Group::Cyanide
                    | Group::Azide
                    | Group::Phosphorus
            );
            if separated {
                let what = format!(
                    "{}, separated from what it is sold in, in step `{}`,",
                    called(&own.species),
                    step.name.value
                );
                self.refuse(&what, found, &step.name.span);
            }
        }
    }

    /// Oxidiser and fuel that meet dry, or are dried together.
    fn mix(&self, step: &Step, bench: &Bench) {
        let dry = !bench.wet && step.action.value.manner().parting != crate::action::Parting::SolidsAndSolution
            || matches!(step.action.value, Action::Evaporate | Action::Crystallise);
        if !dry || !mixes(bench) {
            return;
        }
        let oxidisers = || bench.before.real().filter(|p| strong_oxidiser(p) && is_no_trace(p, &bench.before));
        let fuels = || bench.before.real().filter(|p| fuel(p) && is_no_trace(p, &bench.before));
        let mut mix = Mix { mass: bench.before.mass(), ..Mix::default() };
        for own in oxidisers() {
            mix.oxygen += own.high * oxygen_given(own);
        }
        for own in fuels() {
            mix.fuel += own.high * oxygen_taken(own);
        }
        if let (Some(one), Some(other)) = (oxidisers().next(), fuels().next())
            && is_energetic(&mix)
        {
            let what = format!("`{}` with `{}`, dry in step `{}`,", one.species, other.species, step.name.value);
            self.refuse(&what, Bound { group: Group::Explosive, reach: Reach::Made }, &step.name.span);
        }
    }

    /// Nitric acid, perchloric acid and peroxide made stronger by evaporation, or driven off their salts.
    fn acid(&self, step: &Step, bench: &Bench) {
        let frozen =
            step.crystals.iter().any(|crystals| crystals.value.formula.same_substance(&chem::Formula::water()));
        let heats = step.action.value.manner().heat != Heat::None;
        let boils = step.action.value == Action::Evaporate;
        if !(boils || heats || frozen) {
            return;
        }
        let mass = |p: &Present| p.high * p.molar_mass;
        let solutes: f64 = bench.before.real().filter(|p| !p.is_water()).map(mass).sum();
        for own in bench.before.real() {
            let Some(found) = own.bound else { continue };
            let acid = matches!(found.group, Group::NitricAcid | Group::Perchlorate | Group::ConcentratedPeroxide);
            if acid && mass(own) > MAIN_SOLUTE * solutes {
                let what = format!("{}, made stronger in step `{}`,", called(&own.species), step.name.value);
                self.refuse(&what, found, &step.name.span);
            }
        }
        // Sulfuric acid and its acid salts drive nitric acid off nitrates.
        let sum = |of: &dyn Fn(&Present) -> f64| -> f64 { bench.before.real().map(|p| p.high * of(p)).sum() };
        let nitrate =
            sum(&|p| if p.is(Class::Nitrate) { chem::hazard::bounds::atoms(&p.species.formula, "N") } else { 0.0 });
        let sulfuric = |p: &Present| p.is(Class::StrongAcid) && p.groups.has("sulfate");
        let acid = sum(&|p| if sulfuric(p) { super::gases::acid_equivalents(p) } else { 0.0 });
        if !frozen && nitrate.min(acid) * NITRIC_ACID > DRIVEN_OFF * solutes {
            let what = format!("nitric acid, driven off nitrate by sulfuric acid in step `{}`,", step.name.value);
            self.refuse(&what, Bound { group: Group::NitricAcid, reach: Reach::Made }, &step.name.span);
        }
    }
}

/// Whether a step brings two or more substances together, or dries what was.
fn mixes(bench: &Bench) -> bool {
    bench.before.real().filter(|p| !p.is_water()).count() > 1
}

/// More than five parts in a hundred of the solids by mass.
pub(super) fn is_no_trace(own: &Present, lot: &Lot) -> bool {
    let solutes: f64 = lot.real().filter(|p| !p.is_water()).map(|p| p.high * p.molar_mass).sum();
    own.high > TRACE && own.high * own.molar_mass > 0.05 * solutes
}

fn strong_oxidiser(own: &Present) -> bool {
    let salts = [Class::Chlorate, Class::Permanganate, Class::Persulfate, Class::Nitrate, Class::AmmoniumNitrate];
    salts.iter().any(|class| own.is(*class)) || own.is(Class::Peroxide) && !own.dissolved
}

fn fuel(own: &Present) -> bool {
    let burns = [Class::Carbon, Class::Sulfur, Class::Sugar, Class::ActiveMetal, Class::Solvent, Class::Polyol];
    let metal = own.is(Class::MetalPowder) && own.groups.element.is_some_and(|m| ["Fe", "Ti", "Zr", "Mn"].contains(&m));
    burns.iter().any(|class| own.is(*class)) || metal || own.groups.element == Some("P")
}

/// Oxygen that an oxidiser can give, atoms of a formula unit.
fn oxygen_given(own: &Present) -> f64 {
    0.8 * chem::hazard::bounds::atoms(&own.species.formula, "O")
}

/// Oxygen that a fuel can take, atoms of a formula unit.
fn oxygen_taken(own: &Present) -> f64 {
    let of = |symbol: &str| chem::hazard::bounds::atoms(&own.species.formula, symbol);
    let metal = own.groups.element.filter(|m| own.groups.metal(m)).map_or(0.0, |m| 1.5 * of(m));
    2.0 * of("C") + 0.5 * of("H") + 2.0 * of("S") + 2.5 * of("P") + metal - of("O")
}
