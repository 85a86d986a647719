//! What in each step, jar and shelf could hurt somebody, and how much of it is there?
//!
//! Gases with litres and concentration in the room, pairs that do not belong together, heat, fine metals, hot solids into
//! water, scale. A pair is told once, where it first meets. What comes to too little to matter is not told: a caution that
//! always stands is not read.
//!
//! Source: [`chem::hazard::pairs()`], [`super::gases`]; thresholds are common practice.

use super::contents::{Bench, Flow, Present, ROOM, TRACE, key};
use super::energy::Energy;
use super::gases;
use super::told::{Told, capital, caution, figure, gas_caution, statements_of};
use crate::action::{Atmosphere, Heat};
use crate::model::{Action, Preparation, Step};
use crate::outcome::CautionText;
use chem::hazard::{Class, Pair, Place, When, mixing_heat, pairs};
use std::collections::BTreeSet;

/// Room that is assumed where none is stated, m³: a small one.
pub(super) const SMALL_ROOM: f64 = 10.0;
/// Rise of temperature that is worth a caution, K.
const WARM: f64 = 20.0;
/// Heat capacity of a batch in water, J/(kg K): that of strong solutions.
const HEAT_CAPACITY: f64 = 3600.0;
/// Heat of a strong acid and a strong base, J/mol.
const NEUTRALISATION: f64 = 57e3;
/// Where a batch in water boils, K, and what boiling off takes, J/kg (steam tables, from memory).
const BOILING: f64 = 373.15;
const EVAPORATION: f64 = 2.257e6;
/// Mass from which heat and gas are another matter, kg (Prudent Practices in the Laboratory, 6.C.7).
const LARGE: f64 = 0.1;
/// Free space for the pressure of a closed vessel, m³, and the pressure that is worth a word, Pa.
const LITRE: f64 = 1e-3;
const WORTH_A_WORD: f64 = 2e4;
/// Room that foam wants and how far it can come up, as multiples of the liquid; less than a spoonful is not told, L (common
/// practice).
const ROOM_FOR_FOAM: f64 = 3.0;
const MOST_FOAM: f64 = 5.0;
const SPOONFUL: f64 = 0.02;
/// Water in which a solid that heats itself when damp dissolves at once, as a multiple of its mass (common practice).
const ENOUGH_WATER: f64 = 10.0;
/// Heat capacity of a glowing oxide, J/(kg K).
const OXIDE_HEAT_CAPACITY: f64 = 900.0;

/// Everything that is told.
pub(super) struct Teller<'a> {
    pub preparation: &'a Preparation,
    pub energy: Energy<'a>,
    pub list: Vec<Told>,
    /// Chlorine of pairs that nobody listed, mol.
    pub chlorine: f64,
    /// Gases that kill in small amounts, of pairs that nobody listed, each with its amount, mol.
    pub deadly: Vec<(String, f64)>,
    met: BTreeSet<(&'static str, String, String, String)>,
}

impl<'a> Teller<'a> {
    pub(super) fn new(preparation: &'a Preparation, energy: Energy<'a>) -> Self {
        Self { preparation, energy, list: Vec::new(), chlorine: 0.0, deadly: Vec::new(), met: BTreeSet::new() }
    }

    pub(super) fn room(&self) -> f64 {
        self.preparation.room.unwrap_or(SMALL_ROOM)
    }

    /// Tells all cautions.
    pub(super) fn run(&mut self, flow: &Flow) {
        for (i, (step, bench)) in self.preparation.steps.iter().zip(&flow.benches).enumerate() {
            let from = self.list.len();
            self.gases(i, step, bench);
            self.pairs(i, step, bench);
            self.heat(i, step, bench);
            self.metals(i, step, bench);
            self.quench(i, step, bench);
            self.scale(i, step, bench, from);
        }
        self.waste(flow);
        self.shelf();
    }

    pub(super) fn tell(&mut self, step: usize, text: CautionText, rank: u8) {
        let span = self.preparation.steps.get(step).map_or(0..1, |s| s.name.span.clone());
        self.list.push(Told { text, span, step: Some(step), rank });
    }

    fn gases(&mut self, i: usize, step: &Step, bench: &Bench) {
        let (room, stated) = (self.room(), self.preparation.room.is_some());
        let listed = gases::listed(bench);
        let mut all = listed.clone();
        all.extend(gases::heated(step, bench).into_iter().filter(|g| !listed.iter().any(|l| l.is(g.formula.text()))));
        if bench.wet && !listed.iter().any(|g| g.is("CO2")) {
            all.extend(gases::foam(bench));
        }
        let pouring = matches!(step.action.value, Action::Filter | Action::Decant | Action::Divide);
        let chlorine = gases::of_chloride(bench).filter(|gas| {
            !pouring && gas.matters(room) && !listed.iter().any(|l| l.is("Cl2")) && gas.amount > self.chlorine
        });
        if let Some(gas) = chlorine {
            self.chlorine = gas.amount;
            all.push(gas);
        }
        let own = |text: &str| listed.iter().any(|l| l.is(text));
        let brought: Vec<&Present> = bench.before.real().collect();
        all.extend(gases::nitrous(&brought).filter(|_| bench.wet && !pouring && !own("NO2") && !own("NO")));
        for gas in all.iter().filter(|gas| gas.matters(room)) {
            let (mut text, rank) = gas_caution(&step.name.value, gas, room, stated);
            text.control.push_str(&rate_and_pressure(gas, step, bench));
            if bench.wet && (gas.is("CO2") || gas.is("O2")) {
                text.control.push_str(&self.foam(step, bench));
            }
            self.tell(i, text, rank);
        }
        if step.atmosphere == Atmosphere::Hydrogen || step.atmosphere == Atmosphere::CarbonMonoxide {
            self.tell(i, fed_tube(&step.name.value, step.atmosphere), 1);
        }
    }

    /// How far the foam may come up, and whether the vessel of the step is large enough for it.
    fn foam(&self, step: &Step, bench: &Bench) -> String {
        let litres = bench.before.water();
        let name = step.vessel.as_ref().map(|v| v.value.as_str());
        let vessel = self.preparation.vessels.iter().find(|v| Some(v.name.value.as_str()) == name);
        let holds = vessel.and_then(|v| Some((v.name.value.as_str(), v.capacity? / LITRE)));
        let (wanted, most) = (ROOM_FOR_FOAM * litres, MOST_FOAM * litres);
        if most < SPOONFUL {
            return String::new();
        }
        let mut words = format!(
            " The liquid, about {} L, can come up to {} L of foam; the vessel should hold {} L or more",
            figure(litres),
            figure(most),
            figure(wanted)
        );
        match holds {
            Some((name, holds)) if holds < wanted => {
                words.push_str(&format!(": `{name}` holds {} L only; take a larger one, or portions.", figure(holds)))
            }
            _ => words.push('.'),
        }
        words
    }

    fn pairs(&mut self, i: usize, step: &Step, bench: &Bench) {
        let (room, stated) = (self.room(), self.preparation.room.is_some());
        let listed = gases::listed(bench);
        let contents: Vec<&Present> = bench.present.real().collect();
        let name = &step.name.value;
        // An oxide with a metal powder has rules of its own.
        for pair in pairs().iter().filter(|pair| pair.matters(Place::Step) && pair.other != Class::OxideOxidiser) {
            for (one, other) in meeting(&contents, pair) {
                if !applies(pair, one, other, bench, step) || !self.first_time(pair, one, other) {
                    continue;
                }
                let gas = gases::of_pair(pair, one, other);
                let told = gas.as_ref().filter(|g| !listed.iter().any(|l| l.is(g.formula.text())));
                match (&gas, told) {
                    (Some(_), Some(gas)) if gas.matters(room) => {
                        if gas.is("Cl2") {
                            self.chlorine = self.chlorine.max(gas.amount);
                        }
                        if ["HCN", "HF", "PH3"].contains(&gas.formula.text()) {
                            self.deadly.push((gas.name(), gas.amount));
                        }
                        let (mut text, rank) = gas_caution(name, gas, room, stated);
                        text.control.push_str(&rate_and_pressure(gas, step, bench));
                        if !gas.is("H2") {
                            text.what = format!("{} {}.", text.what, capital(pair.reason));
                        }
                        self.tell(i, text, rank);
                    }
                    (Some(_), _) => {}
                    (None, _) => self.tell(i, pair_caution(&format!("step `{name}`"), pair, one, other), rank(pair)),
                }
            }
        }
    }

    /// Whether two substances meet for the first time for a danger; several lines of the list can say the same of them.
    fn first_time(&mut self, pair: &Pair, one: &Present, other: &Present) -> bool {
        let (a, b) = (key(&one.species.formula), key(&other.species.formula));
        let gas = pair.gas.as_ref().map_or(String::new(), |gas| gas.text().to_owned());
        self.met.insert((pair.danger, gas, a.clone().min(b.clone()), a.max(b)))
    }

    fn heat(&mut self, i: usize, step: &Step, bench: &Bench) {
        if !bench.wet {
            return;
        }
        let sum = |of: &dyn Fn(&Present) -> f64| -> f64 { bench.before.real().map(|p| p.high * of(p)).sum() };
        let water = bench.before.water() > 0.0;
        let listed: Vec<(&chem::Reaction, f64)> = step
            .reactions
            .iter()
            .zip(&bench.extents)
            .filter_map(|(reaction, extent)| Some((&reaction.value, (self.energy.heat)(&reaction.value)? * extent)))
            .collect();
        // What reacts as a solid or a liquid brings the heat of meeting water along.
        let reacts = |p: &Present| listed.iter().any(|(reaction, _)| uses_undissolved(reaction, p));
        let mixing = sum(&|p| {
            let dry = p.charged && (p.species.phase != Some(chem::Phase::Aqueous)) && water && !reacts(p);
            if dry { mixing_heat(&p.species.formula).unwrap_or(0.0) } else { 0.0 }
        });
        let (acid, base) = (sum(&gases::acid_equivalents), sum(&gases::base_equivalents));
        let neutral = acid.min(base) * NEUTRALISATION;
        // What is listed counts for what is estimated, where it is known.
        let heat = mixing + listed.iter().map(|(_, heat)| heat).sum::<f64>().max(neutral);
        let Some(what) = heat_sentence(&step.name.value, heat, bench) else { return };
        let boils = what.contains("it boils");
        let mut text = caution("heat-released", if boils { "Danger" } else { "Warning" }, what);
        text.first_sign = "The vessel gets hot to the hand; steam; a hiss where it runs in.".to_owned();
        text.go_on = "Add the next portion when the batch is below 40 °C.".to_owned();
        text.control =
            "Acid or solid into the water and never the other way; small portions with stirring, ice beside it."
                .to_owned();
        let corrosive = |code: &str| ["H290", "H314", "H315", "H318", "H319"].contains(&code);
        let charged = bench.before.real().filter(|p| p.charged && !p.is_water());
        text.statements = statements_of(charged.map(|p| &p.species.formula), corrosive);
        text.emergency = "If it boils: no more reagent, ice around it, step back. On skin or eyes: rinse for 15 min, then call a poison centre.".to_owned();
        text.waste = "Into a jar only when it is cold and brought to pH 6 to 9.".to_owned();
        text.basis =
            "Basis: heats at 25 °C of the amounts above at their most, none of it lost to vessel or room.".to_owned();
        self.tell(i, text, 2);
    }

    fn quench(&mut self, i: usize, step: &Step, bench: &Bench) {
        let Some(hot) = bench.came_hot.filter(|_| step.action.value == Action::Quench) else { return };
        let solids = bench.before.mass() - bench.before.water();
        let steam = engine::hazard::steam(solids, OXIDE_HEAT_CAPACITY, hot) * 1e3;
        let what = format!(
            "step `{}` brings up to {} g of solids at {:.0} °C into water: up to {} g of steam at once, with spatter.",
            step.name.value,
            figure(solids * 1e3),
            hot - 273.15,
            figure(steam)
        );
        let mut text = caution("hot-into-water", "Danger", what);
        text.first_sign = "A crack or a hiss; then it throws out.".to_owned();
        text.go_on = "Better: let it cool to the hand, then wet it.".to_owned();
        text.control =
            "If it must be: small portions with long tongs into much water, face shield, nobody near.".to_owned();
        text.emergency = "On skin: cold water for 15 min, then a doctor.".to_owned();
        text.waste = "Liquor and solids together into the jar of the step, when they are cold.".to_owned();
        text.basis = "Basis: heat of the solids above 100 °C, 0.9 kJ/(kg K).".to_owned();
        self.tell(i, text, 1);
    }

    fn scale(&mut self, i: usize, step: &Step, bench: &Bench, from: usize) {
        let solids = bench.before.charged;
        let grave = self.list.get(from..).is_some_and(|own| own.iter().any(|t| t.text.code != "incompatible"));
        if solids <= LARGE || !grave {
            return;
        }
        let what = format!(
            "step `{}` works {} g at once: above 100 g, heat and gas leave more slowly than they form, and a mistake is of another size.",
            step.name.value,
            figure(solids * 1e3)
        );
        let mut text = caution("large-scale", "Warning", what);
        text.control =
            "Divide it into portions below 100 g, or do it small first and go up by two or three.".to_owned();
        text.go_on = "Go up only when the smaller run kept to its predicted heat and gas.".to_owned();
        text.waste = "A jar that holds the whole batch stands ready before the first portion.".to_owned();
        text.basis = "Basis: Prudent Practices in the Laboratory, 6.C.7.".to_owned();
        self.tell(i, text, 2);
    }
}

/// How fast a gas comes where the step says how long it takes, and why nothing wet that gives gas is ever closed.
fn rate_and_pressure(gas: &gases::Gas, step: &Step, bench: &Bench) -> String {
    let mut words = String::new();
    let minutes = step.time.as_ref().map(|time| time.duration.bounds().0 / 60.0).filter(|minutes| *minutes > 0.0);
    if let Some(minutes) = minutes {
        let rate = gas.litres() / minutes;
        words.push_str(&format!(" Evenly over {} min it is {} L/min.", figure(minutes), figure(rate)));
    }
    // Energetic mixes are refused before this; a fire is open anyway.
    let shut = engine::gas::closed_pressure(gas.amount, ROOM, LITRE, 0.0, 0.0).filter(|_| bench.wet);
    if let Some(pascal) = shut.filter(|pascal| *pascal >= WORTH_A_WORD) {
        words.push_str(&format!(
            " Closed, with a litre of free space, it would come to {} bar: never close it.",
            figure(pascal / 1e5)
        ));
    }
    words
}

/// Whether a reaction uses a substance as a solid or a liquid.
fn uses_undissolved(reaction: &chem::Reaction, own: &Present) -> bool {
    let wanted = key(&own.species.formula);
    reaction.species.iter().enumerate().any(|(i, species)| {
        reaction.coefficient_f64(i) < 0.0
            && matches!(species.phase, Some(chem::Phase::Solid | chem::Phase::Liquid))
            && key(&species.formula) == wanted
    })
}

/// What the heat of a step in liquid comes to; nothing where it is not worth a caution.
fn heat_sentence(step: &str, heat: f64, bench: &Bench) -> Option<String> {
    let batch = engine::heat::Batch {
        mass: bench.mass,
        heat_capacity: HEAT_CAPACITY,
        temperature: bench.temperature,
        boiling_point: BOILING,
        solvent: bench.before.water(),
        evaporation: EVAPORATION,
    };
    let warmed = engine::heat::addition(&batch, heat, 0.0, 0.0, bench.temperature)?;
    if warmed.rise < WARM {
        return None;
    }
    let grams = bench.before.charged * 1e3;
    let each =
        if grams > 0.0 { format!(" ({} kJ for each gram charged)", figure(heat / 1e3 / grams)) } else { String::new() };
    let boils = match warmed.boiled_off * 1e3 {
        steam if steam > 0.0 => format!(": it boils and spatters, and up to {} g of water boils off", figure(steam)),
        _ => String::new(),
    };
    Some(format!(
        "step `{step}` releases up to {} kJ of heat{each}, enough to warm the batch by {} K if all came at once{boils}.",
        figure(heat / 1e3),
        figure(warmed.rise.min(2000.0))
    ))
}

/// Pairs of different substances of the two classes.
pub(super) fn meeting<'b>(contents: &[&'b Present], pair: &Pair) -> Vec<(&'b Present, &'b Present)> {
    let mut met = Vec::new();
    for one in contents.iter().filter(|p| p.is(pair.one)) {
        for other in contents.iter().filter(|p| p.is(pair.other)) {
            if !std::ptr::eq(*one, *other) {
                met.push((*one, *other));
            }
        }
    }
    met
}

/// Whether a pair matters as things stand in a step.
fn applies(pair: &Pair, one: &Present, other: &Present, bench: &Bench, step: &Step) -> bool {
    let hot = bench.temperature > 333.0 || step.action.value.manner().heat != Heat::None;
    // Fire and explosion of what is there in traces only are no matter of a caution.
    if pair.gas.is_none() && one.high.min(other.high) < 10.0 * TRACE {
        return false;
    }
    let pouring = matches!(step.action.value, Action::Filter | Action::Decant | Action::Divide);
    match pair.when {
        When::Always => !pouring || pair.danger == "explosion",
        When::Dry => !bench.wet && !pouring,
        When::Hot => hot,
        When::Solid => one.species.phase == Some(chem::Phase::Solid) && !one.dissolved,
        When::Damp => bench.before.water() < ENOUGH_WATER * one.high * one.molar_mass && one.charged,
        When::Concentrated => one.strength.min(other.strength) > 0.6,
    }
}

/// How grave a pair is.
pub(super) fn rank(pair: &Pair) -> u8 {
    match pair.danger {
        "toxic gas" | "explosion" => 0,
        "fire" | "hydrogen" => 1,
        _ => 2,
    }
}

pub(super) fn pair_caution(place: &str, pair: &Pair, one: &Present, other: &Present) -> CautionText {
    let what = format!("{place}: `{}` meets `{}`: {} ({}).", one.species, other.species, pair.reason, pair.danger);
    let signal = if rank(pair) < 2 { "Danger" } else { "Warning" };
    let mut text = caution("incompatible", signal, what);
    text.statements = statements_of([&one.species.formula, &other.species.formula], |_| true);
    text.waste = "What is left of each: a jar of its own, labelled, never one for both.".to_owned();
    text.basis = "Basis: published lists of what does not belong together; no amount is too small for it.".to_owned();
    text.control = match pair.danger {
        "explosion" | "fire" => "Do not bring them together: take another reagent or another order of steps.",
        "toxic gas" => "Keep them apart; if they must meet, outdoors or in a hood, dilute and slowly.",
        _ => "Dilute, cold, slowly, in an open vessel.",
    }
    .to_owned();
    text.emergency = match pair.danger {
        "explosion" | "fire" => "Step back behind cover; call the fire brigade.",
        "toxic gas" => "Out into fresh air; call for help.",
        _ => "Step back; let it come to rest.",
    }
    .to_owned();
    text
}

fn fed_tube(step: &str, atmosphere: Atmosphere) -> CautionText {
    let gas = if atmosphere == Atmosphere::Hydrogen { "hydrogen" } else { "carbon monoxide" };
    let what = format!("step `{step}` feeds a hot tube with {gas}: with air in it, the tube explodes.");
    let mut text = caution("fed-tube", "Danger", what);
    text.statements = chem::Formula::parse(if atmosphere == Atmosphere::Hydrogen { "H2" } else { "CO" })
        .map_or_else(|_| String::new(), |gas| statements_of([&gas], |_| true));
    text.first_sign = "A pop at the outlet.".to_owned();
    text.emergency = "Shut the gas at the bottle, step back, do not open the tube.".to_owned();
    text.waste = "None of the gas; the boat stays under inert gas until it is cold.".to_owned();
    text.basis = "Basis: common practice; ask `gas` for the volumes that sweep the tube.".to_owned();
    text.go_on = "Heat only after a purge with five volumes of inert gas or more and a leak check.".to_owned();
    text.control = if atmosphere == Atmosphere::Hydrogen {
        "Inert purge before and after; cool under inert gas; outlet burnt off outdoors."
    } else {
        "No piped carbon monoxide outside a laboratory with alarms: take hydrogen, or charcoal outdoors."
    }
    .to_owned();
    text
}
