//! May this be prepared at all, and what could hurt somebody on the way?
//!
//! The screen stands where a preparation is read, so that every command passes it. What is out of bounds is refused there,
//! before any quantity is told (`refuse`); the rest gets cautions with numbers, hold points and the hazard statements of
//! what is charged ([`screen()`]). Amounts are upper bounds (`contents`), gases spread evenly in the stated room. A caution
//! can be accepted in the file with a reason and then stays as a note; a refusal cannot. Absence of a caution does not show
//! that a mixture is safe.
//!
//! Source: the tables of [`chem::hazard`]; formulas of [`engine::hazard`].

mod cautions;
mod contents;
mod energy;
mod forming;
mod gases;
mod jars;
mod mixture;
mod noted;
mod powders;
mod question;
mod reduction;
mod refuse;
mod told;
mod words;

pub(crate) use mixture::{Classed, Ingredient, class};
pub(crate) use told::capital;

pub use mixture::of_supply as hazards_of_supply;
pub use question::hazards_of;
pub(crate) use question::{
    amounts, given, labelled, meetings, named_in, products, refused_by_name, substances, together,
};
pub use refuse::OUT_OF_BOUNDS;

use crate::evaluate::{self, AccountSettings, Fits};
use crate::model::{Accept, Preparation, Step};
use crate::outcome::{
    Accepted, Account, Finding, HoldPoint, Plan, Screening, Severity, StepScreening, SubstanceHazard,
};
use crate::syntax::{Findings, Places, suggest};
use contents::{Bench, follow};
use energy::Energy;
use told::{Told, hold};

/// Codes of cautions that a file may accept.
pub const CAUTIONS: [&str; 16] = [
    "toxic-gas",
    "flammable-gas",
    "gas-released",
    "heat-released",
    "incompatible",
    "incompatible-waste",
    "incompatible-shelf",
    "fine-metal",
    "toxic-dust",
    "hot-into-water",
    "large-scale",
    "metal-reduction",
    "fed-tube",
    "bounded-reagent",
    "reagent-note",
    "ware-note",
];

/// Refuses what is out of bounds, and judges what the file accepts.
pub(crate) fn door(preparation: &Preparation, findings: &Findings) {
    refuse::refuse(preparation, &follow(preparation), findings);
    for accept in &preparation.accepted {
        accepts(preparation, accept, findings);
    }
    for jar in &preparation.waste {
        let lots: Vec<&str> =
            preparation.steps.iter().flat_map(|s| s.gives.iter().map(|g| g.lot.value.as_str())).collect();
        for taken in jar.takes.iter().filter(|t| !lots.contains(&t.value.as_str())) {
            let message = format!("the waste jar `{}` takes `{}`, which is no lot", jar.name.value, taken.value);
            findings.error("unknown-lot", &taken.span, message, suggest(&taken.value, &lots));
        }
    }
}

fn accepts(preparation: &Preparation, accept: &Accept, findings: &Findings) {
    let code = accept.finding.value.trim();
    if code == OUT_OF_BOUNDS || code == "weighing-list-withheld" {
        let message = format!("`accept` names `{code}`, which no reason lifts");
        findings.error("not-acceptable", &accept.finding.span, message, "remove it");
    } else if !CAUTIONS.contains(&code) {
        let message = format!("`accept` names `{code}`, which is no caution");
        findings.error("unknown-word", &accept.finding.span, message, suggest(code, &CAUTIONS));
    }
    if let Some(step) = &accept.step
        && !preparation.steps.iter().any(|s| s.name.value == step.value)
    {
        let names: Vec<&str> = preparation.steps.iter().map(|s| s.name.value.as_str()).collect();
        let message = format!("`accept` is about the step `{}`, which does not exist", step.value);
        findings.error("unknown-step", &step.span, message, suggest(&step.value, &names));
    }
}

/// The solids of the lot that a step takes, at their most, mol; what is below a twentieth of their mass is left out.
pub(crate) fn solids_before(preparation: &Preparation, step: usize) -> Vec<(chem::Species, f64)> {
    let flow = follow(preparation);
    let Some(bench) = flow.benches.get(step) else { return Vec::new() };
    let mass = |own: &contents::Present| own.high * own.molar_mass;
    let solids: Vec<&contents::Present> =
        bench.before.contents.values().filter(|own| contents::is_solid(own)).collect();
    let whole: f64 = solids.iter().map(|own| mass(own)).sum();
    solids.into_iter().filter(|own| mass(own) > 0.05 * whole).map(|own| (own.species.clone(), own.high)).collect()
}

/// Plans a preparation, with its cautions.
#[must_use]
pub fn plan(preparation: &Preparation) -> Plan {
    let mut plan = evaluate::plan(preparation);
    let (screening, findings) = screen(preparation);
    for (step, screened) in plan.steps.iter_mut().zip(&screening.steps) {
        step.cautions.extend(screened.cautions.iter().map(crate::outcome::CautionText::paragraph));
    }
    if !screening.withheld.is_empty() {
        plan.weigh_out.clear();
        (plan.feed, plan.cost) = (None, None);
        for step in plan.steps.iter_mut().filter(|s| !s.instruction.is_empty()) {
            step.instruction = "The weighing list is withheld; see the findings.".to_owned();
        }
    }
    if findings.iter().any(|found| found.code == "metal-reduction") {
        // No working back from a wanted amount to such a mix.
        plan.feed = None;
    }
    plan.findings.extend(findings);
    plan.screening = screening;
    plan
}

/// The printed account, with the cautions of shelf and jars. `progress` is told the finished fraction from 0 to 1.
pub fn account(preparation: &Preparation, settings: &AccountSettings, progress: &mut dyn FnMut(f64)) -> Account {
    cautioned(preparation, || evaluate::account(preparation, settings, progress))
}

/// The live view of the account, with the cautions of shelf and jars.
#[must_use]
pub fn live_account(preparation: &Preparation) -> Account {
    cautioned(preparation, || evaluate::live_account(preparation))
}

/// The live view after that of a text before, with the cautions of shelf and jars; see [`Fits`].
#[must_use]
pub fn live_account_after(preparation: &Preparation, settings: &AccountSettings, fits: &Fits) -> Account {
    cautioned(preparation, || evaluate::live_account_after(preparation, settings, fits))
}

/// The live view with a claim to be held against it, with the cautions of shelf and jars.
#[must_use]
pub fn live_account_with(preparation: &Preparation, settings: &AccountSettings) -> Account {
    cautioned(preparation, || evaluate::live_account_with(preparation, settings))
}

fn cautioned(preparation: &Preparation, account: impl FnOnce() -> Account) -> Account {
    // The steps are done; what stands on the shelf and in the jars still stands there.
    let here = ["incompatible-shelf", "incompatible-waste", "bounded-reagent"];
    let mut standing = Vec::new();
    let mut account = rayon::in_place_scope(|scope| {
        scope.spawn(|_| standing.extend(screen(preparation).1.into_iter().filter(|f| here.contains(&f.code))));
        account()
    });
    account.findings.extend(standing);
    account
}

/// Screens a preparation: what is said of its steps, and the findings.
#[must_use]
pub fn screen(preparation: &Preparation) -> (Screening, Vec<Finding>) {
    screen_with(preparation, Energy::TABLES)
}

/// Screens a preparation with what is known of energies.
fn screen_with(preparation: &Preparation, energy: Energy<'_>) -> (Screening, Vec<Finding>) {
    let flow = follow(preparation);
    let mut teller = cautions::Teller::new(preparation, energy);
    teller.run(&flow);
    let (chlorine, deadly) = (teller.chlorine, std::mem::take(&mut teller.deadly));
    let mut list = teller.list;
    let mut screening = Screening {
        room: preparation.room.unwrap_or(cautions::SMALL_ROOM),
        room_stated: preparation.room.is_some(),
        ..Screening::default()
    };
    if chlorine > refuse::MOST_CHLORINE {
        screening.withheld.push(format!(
            "up to {} mol of chlorine could form; take another leach (sulfuric acid with a reductant such as citric acid, or a leach without chloride)",
            told::figure(chlorine)
        ));
    }
    let told = deadly.iter().filter(|(_, amount)| *amount > refuse::MOST_CHLORINE);
    screening.withheld.extend(told.map(|(name, amount)| {
        format!("up to {} mol of {name} could form; leave the acid or the water away", told::figure(*amount))
    }));
    let mut reductions = Vec::new();
    for (i, (step, bench)) in preparation.steps.iter().zip(&flow.benches).enumerate() {
        if let Some(found) = reduction::reduction(preparation, step, bench, energy) {
            let reasons = found.reasons.iter().map(|r| format!("step `{}`: {r}", step.name.value));
            screening.withheld.extend(reasons);
            list.push(Told { text: found.caution, span: step.name.span.clone(), step: Some(i), rank: 0 });
            reductions.push((i, found.holds));
        }
    }
    list.extend(noted::bounded_reagents(preparation));
    list.extend(noted::noted(preparation, &flow));
    let (kept, accepted): (Vec<Told>, Vec<Told>) =
        list.into_iter().partition(|told| acceptance(preparation, told).is_none());
    let mut findings: Vec<Finding> =
        kept.iter().filter(|told| told.rank < told::BY_THE_STEP).map(Told::finding).collect();
    findings.extend(accepted.iter().filter_map(|told| as_note(preparation, told)));
    findings.extend(notes(preparation, &screening, &kept));
    screening.accepted = preparation.accepted.iter().map(kept_acceptance).collect();
    screening.gravest = gravest(&kept);
    screening.steps = preparation
        .steps
        .iter()
        .zip(&flow.benches)
        .enumerate()
        .map(|(i, (step, bench))| {
            let mut screened = step_screening(preparation, i, (step, bench), &kept);
            screened.holds.extend(reductions.iter().filter(|(own, _)| *own == i).flat_map(|(_, h)| h.clone()));
            screened
        })
        .collect();
    let places = Places::new(&preparation.text);
    findings.iter_mut().for_each(|finding| places.place(finding));
    (screening, findings)
}

/// What accepts a caution.
fn acceptance<'a>(preparation: &'a Preparation, told: &Told) -> Option<&'a Accept> {
    let step = told.step.and_then(|i| preparation.steps.get(i));
    preparation.accepted.iter().find(|accept| {
        let here = accept.step.as_ref().is_none_or(|s| step.is_some_and(|own| own.name.value == s.value));
        here && accept.finding.value.trim() == told.text.code
    })
}

fn as_note(preparation: &Preparation, told: &Told) -> Option<Finding> {
    let accept = acceptance(preparation, told)?;
    let finding = told.finding();
    let message = format!("{} Accepted: {}", sentence(&finding.message), accept.reason.trim());
    Some(Finding { severity: Severity::Note, message, hints: Vec::new(), ..finding })
}

fn sentence(text: &str) -> String {
    format!("{}.", text.trim_end_matches('.'))
}

fn kept_acceptance(accept: &Accept) -> Accepted {
    Accepted {
        finding: accept.finding.value.clone(),
        step: accept.step.as_ref().map(|s| s.value.clone()),
        reason: accept.reason.clone(),
    }
}

/// The three gravest cautions.
fn gravest(kept: &[Told]) -> Vec<String> {
    let mut ranked: Vec<&Told> = kept.iter().filter(|told| told.rank < told::NOTED).collect();
    ranked.sort_by_key(|told| told.rank);
    ranked.into_iter().take(3).map(|told| format!("{}: {}", told.text.signal, told.text.what)).collect()
}

/// What is worth knowing beside the cautions.
fn notes(preparation: &Preparation, screening: &Screening, kept: &[Told]) -> Vec<Finding> {
    let note = |code, severity, message: String, hint: &str| Finding {
        code,
        severity,
        message,
        line: 0,
        column: 0,
        span: None,
        hints: if hint.is_empty() { Vec::new() } else { vec![hint.to_owned()] },
        causes: Vec::new(),
    };
    let mut list = Vec::new();
    if !screening.withheld.is_empty() {
        let message = format!("the weighing list is withheld: {}", screening.withheld.join("; "));
        let hint = "stoichiometry and the account of a finished run are there all the same";
        list.push(note("weighing-list-withheld", Severity::Caution, message, hint));
    }
    let gas = kept.iter().any(|told| ["toxic-gas", "gas-released"].contains(&told.text.code));
    if gas && preparation.room.is_none() {
        let message =
            format!("the room is not stated: gases are reckoned in a closed room of {} m³", cautions::SMALL_ROOM);
        list.push(note("room-not-stated", Severity::Note, message, "state it at the top, `room = \"30 m3\"`"));
    }
    list
}

fn step_screening(preparation: &Preparation, i: usize, (step, bench): (&Step, &Bench), kept: &[Told]) -> StepScreening {
    let own: Vec<&Told> = kept.iter().filter(|told| told.step == Some(i)).collect();
    let taken = step.take.iter().filter_map(|take| preparation.supply(take.source.value.as_str()));
    let substances: Vec<SubstanceHazard> =
        taken.filter_map(|at| preparation.supplies.get(at)).flat_map(mixture::of_supply).collect();
    StepScreening {
        step: step.name.value.clone(),
        cautions: own.iter().map(|told| told.text.clone()).collect(),
        holds: holds(step, bench, &own),
        substances,
    }
}

/// Where to stop in a step.
fn holds(step: &Step, bench: &Bench, own: &[&Told]) -> Vec<HoldPoint> {
    let has = |code: &str| own.iter().any(|told| told.text.code == code);
    let mut list = Vec::new();
    let gas = has("toxic-gas") || has("flammable-gas") || has("gas-released");
    if gas && step.action.value.heats() {
        list.push(hold(
            "no smoke, flame or smell leaves it, before it is brought indoors",
            "look; an alarm for carbon monoxide stays silent",
            "leave it outdoors and away from it",
        ));
    } else if gas {
        list.push(hold(
            "the gas has stopped, before the next portion and before a lid",
            "no bubbles for a minute after stirring",
            "wait; do not warm it to hurry",
        ));
    }
    if has("heat-released") {
        list.push(hold(
            "the batch is below 40 °C, before the next portion",
            "thermometer in the batch",
            "cool from outside and wait",
        ));
    }
    if has("fine-metal") {
        list.push(hold(
            "it is at room temperature, still under cover",
            "the closed vessel is cold to the hand",
            "leave it closed",
        ));
    }
    if bench.came_hot.is_some() && bench.wet {
        list.push(hold("the solid is cold", "cold to the hand", "wait before water goes on it"));
    }
    let wet_cake = bench.before.water() > 1e-4 && step.action.value.manner().heat == crate::action::Heat::Fire;
    if wet_cake {
        list.push(hold(
            "the lot is dry, before the fire",
            "constant mass at 110 °C",
            "dry on: damp solids pop and throw out of a hot crucible",
        ));
    }
    list
}

/// What is printed on every page: the basis, what a list can say, when to stop, and what comes first.
pub const STANDING: [&str; 6] = [
    "Computed for the amounts given; other amounts heat, foam and vent differently.",
    "What else the retail product contains is not known: the label speaks for its main content only.",
    "Hazards are screened by a list; absence from this list does not show that a mixture is safe.",
    "Stop if it smells, foams, heats or colours otherwise than foreseen: no more reagent, step back, out into fresh air, then think.",
    "Not covered: fire, zoning and tenancy rules; licences for explosives precursors and poisons; hazardous waste, sewer and transport rules; workplace law. Medicine, pharmacy, pest control and water treatment are for licensed practice.",
    "The supplier's safety data sheet, local codes and licensed practice come first. A competent person decides on respirators, pressure and ventilation. Emergency and poison centre: ____________",
];
