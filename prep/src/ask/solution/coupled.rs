//! Do the oxidation states of an element follow from one another, and how much of it is in each?
//!
//! Held apart unless the question says `equilibrated`: then at the potential that it states, else at the one at which electrons
//! balance. Equilibrium is not speed: sulfate, nitrate, ammonium and many metals take days or never get there.
//!
//! Source: `engine::aqueous::couples`, `crate::aqueous::coupled`.

use super::potential::VOLTS;
use super::words::Reader;
use super::{Asked, SolutionOptions};
use crate::aqueous::Chosen;
use crate::aqueous::coupled::{Coupled, written};
use crate::aqueous::plain;
use crate::aqueous::sensitivity::causes;
use crate::ask::pointed;
use crate::ask::reading::remark;
use crate::outcome::{Finding, Severity, SolutionAnswer, SolutionCouples, SolutionState};
use chem::aqueous::master_gibbs;
use chem::formula::to_f64;
use chem::{Element, Formula};
use engine::aqueous::potential::{volts_per_decade, water_lines};
use engine::aqueous::speciate::{Solver, Status};

/// Share of what is dissolved that both sides of a couple must hold to set a potential.
const SETS: f64 = 1e-9;

/// Standard uncertainty of standard potentials, V: printed compilations differ by as much.
const ENERGIES: f64 = 0.005;
/// How far beyond the range of water nothing is said yet, V.
const AT_EDGE: f64 = 0.005;

const STATED: &str = "Oxidation states follow from the stated potential by the standard potentials of 25 °C. What brings or takes the electrons is reckoned as hydrogen or oxygen would be, leaving nothing but water and hydrogen ion. Equilibrium, not speed; water itself is taken to stay whole.";
const FOUND: &str = "Oxidation states are in balance with one another at the potential at which no electron is left over, by the standard potentials of 25 °C. Equilibrium, not speed; water and air take no part.";

/// The elements whose states are to follow.
pub(super) fn read(
    reader: &mut Reader,
    options: &SolutionOptions<'_>,
    (elements, volts): (&[Element], Option<f64>),
) -> Option<Coupled> {
    let text = options.couples?;
    match text.trim() {
        "held" => return None,
        "equilibrated" => {}
        _ => {
            let hint = "one of held, equilibrated";
            reader.slip("unknown-word", text, format!("couples are `{text}`"), hint);
            return None;
        }
    }
    if elements.is_empty() {
        let hint = "name the elements, `Fe` or `Fe, Cu`";
        reader.slip("missing-field", text, "no element is named whose states are to follow".to_owned(), hint);
        return None;
    }
    if let Some(value) = volts.filter(|value| !(VOLTS.0..=VOLTS.1).contains(value)) {
        let hint = format!("give one from {} to {} V, or hold the couples", VOLTS.0, VOLTS.1);
        let text = options.potential.unwrap_or("");
        reader.slip("out-of-range", text, format!("the potential is {value} V, where no water stays whole"), &hint);
        return None;
    }
    Some(Coupled { elements: elements.to_vec(), volts })
}

/// Whether each element has states that can follow, and no reagent moves electrons with its amount.
pub(super) fn checked(chosen: &Chosen, asked: &Asked, options: &SolutionOptions<'_>) -> Result<(), Vec<Finding>> {
    let Some(coupled) = &asked.recipe.coupled else { return Ok(()) };
    let states = &chosen.chemistry.states;
    let without = |element: &&Element| !states.iter().any(|state| state.element == **element);
    if let Some(element) = coupled.elements.iter().find(without) {
        let text = options.redox.unwrap_or("");
        let symbol = element.symbol();
        let message = format!("{symbol} is not dissolved here, or the tables know one oxidation state of it");
        let hint = "name an element of the solution that has several";
        return Err(vec![pointed("no-solution", text, 0, text.len(), message, hint)]);
    }
    let moves = |formula: &&Formula| {
        let parts = coupled.dissolve(formula, chosen.chemistry.model);
        parts.is_ok_and(|parts| written(&parts.masters, states, false).electrons != 0.0)
    };
    let named = asked.add.iter().map(|(formula, _)| formula);
    let named = named.chain(asked.recorded.iter().map(|(acid, _)| acid));
    let mut named = named.chain(asked.excess.iter().map(|(formula, _)| formula));
    let Some(reagent) = named.find(moves).filter(|_| coupled.volts.is_none()) else { return Ok(()) };
    let text = options.add.or(options.excess).unwrap_or("");
    let message = format!("{reagent} brings another oxidation state: the potential would move with its amount");
    let hint = "state the potential, or name it with its amount among the substances";
    Err(vec![pointed("no-solution", text, 0, text.len(), message, hint)])
}

/// That water would not stay whole at the potential.
pub(super) fn beyond_water(answer: &SolutionAnswer, temperature: f64) -> Option<Finding> {
    let volts = answer.couples.as_ref()?.potential;
    let (low, high) = water_lines(answer.ph.value, master_gibbs("H2O")?, temperature);
    let (gas, edge) = if volts > high + AT_EDGE {
        ("oxygen", high)
    } else if volts < low - AT_EDGE {
        ("hydrogen", low)
    } else {
        return None;
    };
    let message = format!(
        "at {volts:.2} V and pH {:.2} water itself gives {gas}: its range ends at {edge:.2} V",
        answer.ph.value
    );
    let hint = "slow as it may be, such a potential does not last in water";
    Some(remark("beyond-model", Severity::Warning, message, hint))
}

/// Whether a potential is stated, or so much is in each of two states that they hold one.
pub(super) fn has_a_potential(chosen: &Chosen, options: &SolutionOptions<'_>) -> bool {
    moved(chosen, options).is_none_or(|(moved, dissolved)| moved > SETS * dissolved)
}

/// What is in states that do not lead, and the whole, mol; nothing where a potential is stated.
fn moved(chosen: &Chosen, options: &SolutionOptions<'_>) -> Option<(f64, f64)> {
    if options.potential.is_some() || chosen.chemistry.states.is_empty() {
        return None;
    }
    let amounts = amounts(chosen);
    let whole = amounts.iter().map(|(_, amount)| amount).sum();
    let leads = |name: &str| chosen.chemistry.states.iter().any(|state| state.lead == name);
    Some((amounts.iter().filter(|(key, _)| key.solid || !leads(key.name)).map(|(_, amount)| amount).sum(), whole))
}

/// A state by its name in the tables.
#[derive(Clone, Copy, PartialEq)]
struct Key {
    element: Element,
    name: &'static str,
    solid: bool,
}

/// What each state holds of its element, mol.
fn amounts(chosen: &Chosen) -> Vec<(Key, f64)> {
    let chemistry = &chosen.chemistry;
    let mut list: Vec<(Key, f64)> = Vec::new();
    let mut add = |terms: &chem::aqueous::Terms, is_solid: bool, amount: f64| {
        for (name, coefficient) in terms {
            let state = chemistry.states.iter().find(|s| s.name == *name && s.solid == is_solid);
            let lead = || chemistry.states.iter().find(|s| s.lead == *name);
            let Some((element, lead)) = state.or_else(lead).map(|s| (s.element, s.lead)) else { continue };
            let each = written(&vec![(*name, *coefficient)], &chemistry.states, is_solid);
            let count: f64 = each.terms.iter().filter(|(n, _)| *n == lead).map(|(_, c)| c).sum();
            let atoms = chemistry.place(lead).map_or(1.0, |n| to_f64(chemistry.species[n].formula.count(element)));
            let key = Key { element, name, solid: state.is_some_and(|s| s.solid) };
            match list.iter_mut().find(|(known, _)| *known == key) {
                Some((_, sum)) => *sum += count * atoms * amount,
                None => list.push((key, count * atoms * amount)),
            }
        }
    };
    for (species, molality) in chemistry.species.iter().zip(chosen.solver.molalities()) {
        add(&species.terms, false, molality * chosen.solver.water());
    }
    for (number, solid) in chemistry.solids.iter().enumerate() {
        let itself = matches!(solid.terms[..], [(name, 1.0)] if name == solid.name);
        add(&solid.terms, itself, chosen.solver.solid(number));
    }
    list
}

/// Standard uncertainty of a potential that was found, V.
fn spread(chosen: &Chosen, per_decade: f64) -> Option<f64> {
    let mixture = &chosen.mixture;
    let mut found = |solver: &mut Solver| {
        let report = solver.solve(&mixture.totals, mixture.water, true);
        matches!(report.status, Status::Solved | Status::Almost).then(|| solver.pe()).flatten()
    };
    causes(chosen, &mut found).map(|causes| (causes.total() * per_decade).hypot(ENERGIES))
}

/// The potential and the share of each state; `sure` to leave uncertainty out.
pub(super) fn told(chosen: &Chosen, asked: &Asked, sure: bool) -> Option<SolutionCouples> {
    let coupled = asked.recipe.coupled.as_ref()?;
    let per_decade = volts_per_decade(asked.temperature);
    let potential = chosen.solver.pe()? * per_decade;
    let amounts = amounts(chosen);
    let mut states = Vec::new();
    for element in &coupled.elements {
        let own = || amounts.iter().filter(|(key, _)| key.element == *element);
        let whole: f64 = own().map(|(_, amount)| amount).sum();
        let mut list: Vec<SolutionState> = own()
            .map(|(key, amount)| SolutionState {
                element: element.symbol().to_owned(),
                state: if key.solid { format!("{}(s)", plain(key.name)) } else { plain(key.name) },
                share: amount / whole.max(f64::MIN_POSITIVE),
                amount: *amount,
            })
            .collect();
        list.sort_by(|a, b| b.share.total_cmp(&a.share));
        states.extend(list);
    }
    let stated = coupled.volts.is_some();
    let standard_uncertainty = (!stated && !sure).then(|| spread(chosen, per_decade)).flatten();
    Some(SolutionCouples {
        potential,
        standard_uncertainty,
        stated,
        states,
        model: if stated { STATED } else { FOUND },
    })
}
