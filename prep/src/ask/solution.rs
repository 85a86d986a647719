//! What is in this solution, and what does it take to change it? Substances and amounts as text.
//!
//! Amounts are per kilogram of water (`0.4 mol/kg`), of the whole (`0.1 mol`, `25 g`) or per litre (`0.5 mol/L`, taken as
//! per litre of water, which errs by some percent in strong solutions and is said so). Which set of constants is used, and
//! how far it holds, is part of the answer. Uncertainty: every constant that matters is moved by its own standard
//! uncertainty, the activity model by what it is known to be off; a pH meter by 0.05 unless stated.
//!
//! Source: `chem::aqueous`, `engine::aqueous`.

mod coupled;
mod dosing;
mod falling;
mod potential;
mod recorded;
mod strength;
mod told;
mod words;

use crate::aqueous::{Allowed, Chosen, Held, Recipe, Refusal, choose};
use crate::outcome::{Finding, SolutionAnswer};
use chem::{Element, Formula, Species};
use engine::aqueous::dose::{DoseError, Reagent, to_ph};
use engine::aqueous::speciate::{Report, Status};
use words::{Amount, Reader, Sold};

/// Standard uncertainty of a pH reading where none is stated (common practice).
const PH_METER: f64 = 0.05;
/// Largest amount of a reagent, mol per kg of water.
const MOST_REAGENT: f64 = 30.0;

/// A solution in words.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct SolutionOptions<'a> {
    /// What is in it: `CuSO4 0.4 mol/kg`.
    pub substances: &'a [&'a str],
    /// Temperature; 25 °C if not given.
    pub at: Option<&'a str>,
    /// Water, a mass or a volume; 1 kg if not given.
    pub water: Option<&'a str>,
    /// pH it is known to have.
    pub ph: Option<&'a str>,
    /// Ion whose amount follows from that pH.
    pub balance: Option<&'a str>,
    /// Acid or base to be added, with its strength if it is a solution.
    pub add: Option<&'a str>,
    /// pH it is to be brought to.
    pub to_ph: Option<&'a str>,
    /// Gases held over it, `CO2 0.0004 bar`.
    pub gases: &'a [&'a str],
    /// `allow` (default), `aged` or `none`.
    pub solids: Option<&'a str>,
    /// Standard uncertainty of a pH reading.
    pub ph_uncertainty: Option<&'a str>,
    /// Whether to look where each metal falls out.
    pub windows: bool,
    /// Precipitant whose best excess is wanted.
    pub excess: Option<&'a str>,
    /// What it is to take out.
    pub excess_of: Option<&'a str>,
    /// Points of a recorded curve: amount of the reagent and pH, between semicolons or line breaks.
    pub recorded: Option<&'a str>,
    /// Acid whose amount the curve is to show.
    pub free: Option<&'a str>,
    /// Volume and strength that is to be made of it by dilution: `1 L 0.5 mol/L`.
    pub dilute: Option<&'a str>,
    /// Elements whose forms over pH and potential are wanted: `Fe` or `Fe, Cu`.
    pub redox: Option<&'a str>,
    /// Their oxidation states: `held` apart (default), or `equilibrated` at the potential, else with one another.
    pub couples: Option<&'a str>,
    /// Potential that was measured, against the standard hydrogen electrode.
    pub potential: Option<&'a str>,
    /// Leave uncertainties out.
    pub quick: bool,
}

/// The question in numbers.
struct Asked {
    recipe: Recipe,
    per_litre: bool,
    temperature: f64,
    ph: Option<f64>,
    balance: Option<&'static str>,
    add: Option<(Formula, Sold)>,
    to_ph: Option<f64>,
    held: Vec<Held>,
    allowed: Allowed,
    meter: f64,
    excess: Option<(Formula, &'static str)>,
    recorded: Option<(Formula, Vec<recorded::Point>)>,
    redox: Vec<Element>,
    volts: Option<f64>,
    dilute: Option<(f64, f64)>,
}

/// What is in this solution?
///
/// # Errors
/// Findings that point at what cannot be read, is not in the tables or cannot be reached.
///
/// ```
/// use prep::ask::{SolutionOptions, solution};
/// let asked = SolutionOptions { substances: &["CH3COOH 0.1 mol/kg"], ..SolutionOptions::default() };
/// let answer = solution(&asked).map_err(|f| format!("{f:?}"))?;
/// assert!((answer.ph.value - 2.88).abs() < 0.02);
/// # Ok::<(), String>(())
/// ```
pub fn solution(options: &SolutionOptions<'_>) -> Result<SolutionAnswer, Vec<Finding>> {
    // Findings name the text they are about; there is no line to point at.
    answer(options).map_err(|findings| findings.into_iter().map(super::reading::unplaced).collect())
}

fn answer(options: &SolutionOptions<'_>) -> Result<SolutionAnswer, Vec<Finding>> {
    let mut asked = read(options)?;
    let strength = strength::strength(&asked);
    let (mut solved, mut too_strong) = (solved(&asked, options), None);
    if let (Err(_), Some(strength)) = (&solved, strength.as_ref().filter(|s| s.molality > strength::TOO_STRONG)) {
        // As sold it is too strong for any activity model; what is made of it may not be.
        too_strong = Some(strength::too_strong(strength));
        if let Some(weaker) = strength::diluted(strength) {
            asked.recipe = Recipe { reagents: asked.recipe.reagents, coupled: asked.recipe.coupled, ..weaker };
            solved = self::solved(&asked, options);
        }
    }
    let (mut chosen, report) =
        solved.map_err(|findings| too_strong.clone().map_or(findings, |finding| vec![finding]))?;
    let balance = match asked.ph {
        Some(ph) => Some(balanced(&mut chosen, &asked, ph, options)?),
        None => None,
    };
    let (mut report, mut curve) = (report, None);
    if let Some((acid, points)) = &asked.recorded {
        curve = Some(recorded::recorded(&mut chosen, &asked, acid, points)?);
        report = chosen.solver.solve(&chosen.mixture.totals.clone(), chosen.mixture.water, false);
    }
    let mut answer = told::answer(&chosen, &asked, report, balance, options.quick);
    let met: Vec<Species> = (asked.recipe.substances.iter().map(|(formula, _)| formula))
        .chain(asked.add.iter().map(|(formula, _)| formula))
        .map(|formula| Species::new(formula.clone(), Some(chem::Phase::Aqueous)))
        .collect();
    answer.findings.extend(crate::screen::meetings(&met, false, &options.substances.join(", ")));
    answer.findings.extend(too_strong);
    answer.recorded = curve;
    answer.strength = strength;
    if let Some(text) = options.dilute
        && answer.strength.as_ref().is_none_or(|strength| strength.dilution.is_none())
    {
        let message = "that cannot be made by dilution of this solution".to_owned();
        let hint = "name one substance of tabled density, stronger than what is wanted: `HCl 37 %`";
        return Err(vec![super::pointed("no-solution", text, 0, text.len(), message, hint)]);
    }
    if let (Some((formula, sold)), Some(target)) = (&asked.add, asked.to_ph) {
        answer.dose = Some(
            dosing::dose(&mut chosen, &asked, (formula, *sold), target, options.quick)
                .map_err(|error| vec![words::no_dose(&error, formula, target, options.to_ph.unwrap_or(""))])?,
        );
        told::reached(&mut answer, &chosen, &asked);
    }
    answer.couples = coupled::told(&chosen, &asked, options.quick || answer.dose.is_some());
    answer.findings.extend(coupled::beyond_water(&answer, asked.temperature));
    for element in &asked.redox {
        let volts = answer.couples.as_ref().map(|couples| couples.potential).or(asked.volts);
        let found = potential::diagram(&chosen, &asked, *element, volts);
        answer.potential.push(found.ok_or_else(|| vec![no_diagram(*element, options)])?);
    }
    if options.windows {
        answer.windows = falling::windows(&asked);
    }
    if let Some((formula, of)) = &asked.excess {
        answer.excess = falling::excess(&asked, formula, of);
        if answer.excess.is_none() {
            let text = options.excess.unwrap_or("");
            let message = format!("no amount of {formula} takes out {}", crate::aqueous::plain(of));
            let hint = "check that both are there and that the tables have a solid of them";
            return Err(vec![super::pointed("no-solution", text, 0, text.len(), message, hint)]);
        }
    }
    told::remarks(&mut answer, &asked);
    Ok(answer)
}

fn no_diagram(element: Element, options: &SolutionOptions<'_>) -> Finding {
    let text = options.redox.unwrap_or("");
    let symbol = element.symbol();
    let message = format!("no diagram of {symbol}: it is not dissolved here, or no potentials of it are known");
    super::pointed("no-solution", text, 0, text.len(), message, "name an element of the solution")
}

/// The solution as its recipe has it, before anything is balanced or added.
fn solved(asked: &Asked, options: &SolutionOptions<'_>) -> Result<(Chosen, Report), Vec<Finding>> {
    let mut chosen = choose(&asked.recipe, asked.allowed, &asked.held, asked.temperature)
        .map_err(|refusal| refused(&refusal, options, asked))?;
    coupled::checked(&chosen, asked, options)?;
    let report = chosen.solver.solve(&chosen.mixture.totals.clone(), chosen.mixture.water, false);
    match report.status {
        Status::Solved | Status::Almost if coupled::has_a_potential(&chosen, options) => Ok((chosen, report)),
        Status::Solved | Status::Almost => Err(vec![words::unsolved(Status::NoPotential)]),
        other => Err(vec![words::unsolved(other)]),
    }
}

fn read(options: &SolutionOptions<'_>) -> Result<Asked, Vec<Finding>> {
    let mut reader = Reader::default();
    let water = reader.water(options.water);
    let temperature = reader.temperature(options.at);
    let mut substances = Vec::new();
    let mut per_litre = false;
    for text in options.substances {
        let Some((formula, mut amount)) = reader.substance(text) else { continue };
        // One solute of tabled density: a litre holds as much water as it does.
        if options.substances.len() == 1 {
            amount = amount.by_density(&formula);
        }
        per_litre |= matches!(amount, Amount::PerLitre(_));
        // Hydrate water is part of the water that a molality counts on.
        let formula = if matches!(amount, Amount::Moles(_)) { formula } else { formula.without_hydrate_water() };
        substances.push((formula, amount.moles(water)));
    }
    if options.substances.is_empty() {
        let hint = "name what is dissolved, `CuSO4 0.4 mol/kg`";
        reader.slip("missing-field", "", "nothing is dissolved".to_owned(), hint);
    }
    let ph = options.ph.and_then(|text| reader.ph(text));
    let to_ph = options.to_ph.and_then(|text| reader.ph(text));
    let add = options.add.and_then(|text| reader.reagent(text));
    if to_ph.is_some() && options.add.is_none() {
        let hint = "name the acid or base, `NaOH` or `HCl 37 %`";
        reader.slip("missing-field", options.to_ph.unwrap_or(""), "nothing is added to reach that pH".to_owned(), hint);
    }
    if to_ph.is_none() && options.add.is_some() && options.recorded.is_none() {
        let hint = "give the pH it is to reach; an amount that is simply added belongs with the substances";
        reader.slip("missing-field", options.add.unwrap_or(""), "no pH is given to add it for".to_owned(), hint);
    }
    let meter = options.ph_uncertainty.map_or(Some(PH_METER), |text| reader.number("the uncertainty of pH", text));
    let held: Vec<Held> = options.gases.iter().filter_map(|text| reader.gas(text)).collect();
    let allowed = reader.allowed(options.solids);
    let balance = options.balance.and_then(|text| reader.ion(text));
    let excess = options.excess.and_then(|text| reader.excess(text, options.excess_of));
    let recorded = recorded_curve(&mut reader, options, &substances);
    let dilute = options.dilute.and_then(|text| reader.volume_and_strength(text));
    let redox = options.redox.map_or(Vec::new(), |text| reader.elements(text));
    let volts = options.potential.and_then(|text| reader.volts(text));
    let coupled = coupled::read(&mut reader, options, (&redox, volts));
    let mut reagents: Vec<Formula> = add.iter().map(|(formula, _)| formula.clone()).collect();
    if let (Some(_), Some(ion)) = (ph, balance) {
        reagents.extend(Formula::parse(ion));
    } else if ph.is_some() {
        reagents.extend(["Na^+", "Cl^-"].iter().filter_map(|ion| Formula::parse(ion).ok()));
    }
    reagents.extend(recorded.iter().map(|(free, _)| free.clone()));
    if !reader.errors.is_empty() {
        return Err(reader.errors);
    }
    let named = substances.iter().map(|(formula, _)| formula).chain(&reagents);
    let named: Vec<Species> = named.map(|formula| Species::new(formula.clone(), None)).collect();
    crate::screen::substances(&named, &options.substances.join(", "))?;
    Ok(Asked {
        recipe: Recipe { substances, reagents, water, coupled },
        per_litre,
        temperature,
        ph,
        balance,
        add,
        to_ph,
        held,
        allowed,
        meter: meter.unwrap_or(PH_METER),
        excess,
        recorded,
        redox,
        volts,
        dilute,
    })
}

/// The points of a recorded curve with the acid that it is to show.
fn recorded_curve(
    reader: &mut Reader,
    options: &SolutionOptions<'_>,
    substances: &[(Formula, f64)],
) -> Option<(Formula, Vec<recorded::Point>)> {
    let text = options.recorded?;
    let points = recorded::points(reader, text);
    if options.add.is_none() {
        let hint = "name it with its strength, `NaOH 0.1 mol/L`";
        reader.slip("missing-field", text, "no reagent is named for the curve".to_owned(), hint);
    }
    let free = match options.free {
        Some(text) => reader.reagent(text).map(|(formula, _)| formula)?,
        None => recorded::acid(substances).or_else(|| Formula::parse("HCl").ok())?,
    };
    Some((free, points))
}

fn refused(refusal: &Refusal, options: &SolutionOptions<'_>, asked: &Asked) -> Vec<Finding> {
    match refusal {
        Refusal::Substance(index, why) => {
            let count = asked.recipe.substances.len();
            let text = options.substances.get(*index).copied().or(options.add).unwrap_or("");
            let formula = match index.checked_sub(count) {
                None => asked.recipe.substances[*index].0.to_string(),
                Some(reagent) => asked.recipe.reagents.get(reagent).map_or(String::new(), ToString::to_string),
            };
            let hint = "elements are taken with their usual charge in water; a metal or an unlisted ligand does not dissolve here; \
                        permanganate, iodate and cobalt(III) do with couples equilibrated";
            vec![super::pointed("not-in-tables", text, 0, text.len(), format!("{formula}: {why}"), hint)]
        }
        Refusal::Network(why) => vec![super::pointed("no-solution", "", 0, 0, why.clone(), "check the temperature")],
    }
}

/// The reagent that an ion is in the balance of charges: with hydroxide or hydrogen ion.
fn counter(chosen: &Chosen, ion: &str) -> Option<Reagent> {
    let number = chosen.chemistry.master(ion)?;
    let charge = f64::from(chosen.chemistry.species[number].formula.charge());
    Some(Reagent { parts: vec![(number, 1.0), (0, -charge)], water: charge.max(0.0) })
}

/// Brings the mixture to the pH it is known to have; the ion and how much of it.
fn balanced(
    chosen: &mut Chosen,
    asked: &Asked,
    ph: f64,
    options: &SolutionOptions<'_>,
) -> Result<(String, f64), Vec<Finding>> {
    let natural = chosen.solver.ph();
    let usual = if ph > natural { "Na^+" } else { "Cl^-" };
    let ion = asked.balance.unwrap_or(usual);
    let text = options.ph.unwrap_or("");
    let Some(reagent) = counter(chosen, ion) else {
        let message = format!("{ion} is not among the dissolved species");
        return Err(vec![super::pointed("not-in-tables", text, 0, text.len(), message, "balance with Na, K or Cl")]);
    };
    let number = reagent.parts[0].0;
    let least = -chosen.mixture.totals[number];
    let most = MOST_REAGENT * asked.recipe.water.max(1e-9);
    match to_ph(&mut chosen.solver, &chosen.mixture, &reagent, ph, (least, most)) {
        Ok(dose) => {
            for (part, coefficient) in &reagent.parts {
                chosen.mixture.totals[*part] += coefficient * dose.amount;
            }
            chosen.mixture.totals[number] = chosen.mixture.totals[number].max(0.0);
            chosen.mixture.water += reagent.water * dose.amount;
            Ok((crate::aqueous::plain(ion), dose.amount))
        }
        Err(error) => {
            let (natural, hint) = match error {
                DoseError::OtherWay(natural) | DoseError::NotReached(natural) => (
                    natural,
                    "balance with an anion where the pH is to be lower, with a cation where it is to be higher",
                ),
                DoseError::Unsolved(status) => return Err(vec![words::unsolved(status)]),
            };
            let message =
                format!("pH {ph} is not reached with {}: it would be {natural:.2}", crate::aqueous::plain(ion));
            Err(vec![super::pointed("no-solution", text, 0, text.len(), message, hint)])
        }
    }
}
