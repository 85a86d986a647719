//! How is a solved solution told?

use super::{Asked, PH_METER};
use crate::aqueous::sensitivity::causes;
use crate::aqueous::{Allowed, Chosen, lacking, plain, sources};
use crate::ask::reading::remark;
use crate::outcome::{
    Figure, Severity, SolutionAnswer, SolutionGas, SolutionModel, SolutionResidue, SolutionSolid, SolutionSpecies,
};
use chem::aqueous::{Model, Precipitate};
use chem::quantity::Status as Known;
use engine::aqueous::activity::DAVIES_LIMIT;
use engine::aqueous::dose::dissolved;
use engine::aqueous::speciate::{Report, Status};

/// Ionic strength up to which Pitzer's parameters hold, mol/kg.
const PITZER_LIMIT: f64 = 6.0;
/// Supersaturation worth a word where no solid was allowed, log₁₀.
const SUPERSATURATED: f64 = 0.05;

pub(super) fn answer(
    chosen: &Chosen,
    asked: &Asked,
    report: Report,
    balance: Option<(String, f64)>,
    quick: bool,
) -> SolutionAnswer {
    let substances = asked.recipe.substances.iter().map(|(formula, amount)| (formula.to_string(), *amount)).collect();
    let model = model(chosen);
    let uncertainty = match (asked.ph, quick) {
        (Some(_), _) => Some(asked.meter),
        (None, true) => None,
        (None, false) => {
            let mixture = &chosen.mixture;
            let mut ph = |solver: &mut engine::aqueous::speciate::Solver| {
                let report = solver.solve(&mixture.totals, mixture.water, true);
                matches!(report.status, Status::Solved | Status::Almost).then(|| solver.ph())
            };
            causes(chosen, &mut ph).map(crate::aqueous::sensitivity::Causes::total)
        }
    };
    let status = if asked.ph.is_some() {
        Known::Measured
    } else if model.within {
        Known::Derived
    } else {
        Known::Estimated
    };
    let mut answer = SolutionAnswer {
        substances,
        temperature: asked.temperature - 273.15,
        water: 0.0,
        ph: Figure {
            value: chosen.solver.ph(),
            standard_uncertainty: uncertainty,
            unit: "1",
            basis: Some("activity of the hydrogen ion".to_owned()),
            status,
            sources: sources(chosen),
        },
        ionic_strength: 0.0,
        water_activity: 0.0,
        model,
        status: word(report.status),
        residual: report.residual,
        charge: report.charge,
        species: Vec::new(),
        solids: Vec::new(),
        gases: Vec::new(),
        residues: Vec::new(),
        balance,
        dose: None,
        windows: Vec::new(),
        excess: None,
        strength: None,
        recorded: None,
        potential: Vec::new(),
        couples: None,
        sources: sources(chosen),
        findings: Vec::new(),
    };
    contents(&mut answer, chosen, asked);
    answer
}

/// The state after a dose; pH is the wanted one.
pub(super) fn reached(answer: &mut SolutionAnswer, chosen: &Chosen, asked: &Asked) {
    answer.ph.value = chosen.solver.ph();
    answer.ph.standard_uncertainty = Some(asked.meter);
    answer.ph.status = Known::Assumed;
    answer.model = model(chosen);
    contents(answer, chosen, asked);
}

fn contents(answer: &mut SolutionAnswer, chosen: &Chosen, asked: &Asked) {
    let solver = &chosen.solver;
    answer.water = solver.water();
    answer.ionic_strength = solver.ionic_strength();
    answer.water_activity = solver.water_activity();
    let list = chosen.chemistry.species.iter().zip(solver.molalities()).zip(solver.ln_gamma());
    answer.species = list
        .map(|((species, molality), ln_gamma)| SolutionSpecies {
            species: plain(species.name),
            molality: *molality,
            activity_coefficient: ln_gamma.exp(),
        })
        .collect();
    answer.species.sort_by(|a, b| b.molality.total_cmp(&a.molality));
    answer.solids = solids(chosen);
    answer.gases = asked
        .held
        .iter()
        .enumerate()
        .map(|(number, gas)| SolutionGas {
            gas: gas.name.to_owned(),
            pressure: gas.pressure / 1e5,
            taken_up: solver.taken_up(number),
        })
        .collect();
    answer.residues = (1..chosen.chemistry.network.masters())
        .map(|number| {
            let master = chosen.chemistry.species[number];
            let amount = dissolved(solver, number);
            let molar = master.formula.molar_mass().map_or(f64::NAN, |m| m.value);
            SolutionResidue {
                master: chosen.chemistry.called(master.name),
                total: chosen.mixture.totals[number],
                dissolved: amount,
                mass_per_water: 1e3 * amount * molar / solver.water(),
            }
        })
        .collect();
}

fn solids(chosen: &Chosen) -> Vec<SolutionSolid> {
    let solver = &chosen.solver;
    let told = |solid: &Precipitate, allowed: bool, index: f64, amount: f64| SolutionSolid {
        solid: solid.formula.to_string(),
        name: solid.label,
        form: solid.form.map_or("gas", chem::aqueous::Form::word),
        allowed,
        saturation_index: index,
        amount,
        mass: amount * solid.formula.molar_mass().map_or(f64::NAN, |m| m.value),
    };
    let may = chosen.chemistry.solids.iter().enumerate();
    let mut list: Vec<SolutionSolid> =
        may.map(|(n, solid)| told(solid, true, solver.saturation_index(n), solver.solid(n))).collect();
    for solid in &chosen.chemistry.watched {
        let product: f64 = solid.terms.iter().map(|(name, c)| c * log_activity(chosen, name)).sum();
        list.push(told(solid, false, product - chosen.chemistry.constant(solid), 0.0));
    }
    list.sort_by(|a, b| {
        let there = |s: &SolutionSolid| s.amount > 0.0;
        there(b).cmp(&there(a)).then(b.saturation_index.total_cmp(&a.saturation_index))
    });
    list
}

/// log₁₀ of the activity of a master or of water.
fn log_activity(chosen: &Chosen, name: &str) -> f64 {
    match chosen.chemistry.place(name) {
        Some(number) => {
            let ln_gamma = chosen.solver.ln_gamma()[number];
            chosen.solver.molalities()[number].max(f64::MIN_POSITIVE).log10() + ln_gamma / std::f64::consts::LN_10
        }
        None => chosen.solver.water_activity().log10(),
    }
}

fn model(chosen: &Chosen) -> SolutionModel {
    let lacking: Vec<_> = lacking(chosen).into_iter().map(|(a, b, m)| (plain(a), plain(b), m)).collect();
    let (model, name, limit) = match chosen.chemistry.model {
        Model::Association => ("association", "ion pairs and complexes with Davies' equation", DAVIES_LIMIT),
        Model::Pitzer => ("pitzer", "Pitzer's equations", PITZER_LIMIT),
    };
    SolutionModel {
        model,
        name,
        limit,
        within: chosen.solver.ionic_strength() <= limit && lacking.is_empty(),
        why_not: chosen.why_not.clone(),
        lacking,
    }
}

fn word(status: Status) -> &'static str {
    match status {
        Status::Solved => "solved",
        Status::Almost => "almost",
        Status::NotConverged => "not converged",
        Status::SolidsUnsettled => "solids unsettled",
        Status::Unbounded => "unbounded",
        Status::NoWater => "no water",
        Status::BadTotals => "bad totals",
        Status::NoPotential => "no potential",
    }
}

/// What has to be said beside the figures.
pub(super) fn remarks(answer: &mut SolutionAnswer, asked: &Asked) {
    let mut list = Vec::new();
    if asked.per_litre {
        let message =
            "amounts per litre are taken as per 0.997 kg of water: strong solutions hold less water in a litre";
        list.push(remark("per-litre", Severity::Note, message.to_owned(), "give mol/kg of water where it matters"));
    }
    let charge = asked.recipe.charge();
    if charge.abs() > 1e-9 * asked.recipe.substances.iter().map(|(_, amount)| *amount).sum::<f64>() {
        let (amount, ion) = (charge.abs(), if charge > 0.0 { "hydroxide" } else { "hydrogen ion" });
        let message = format!("the ions named carry a net charge; {amount:.3e} mol of {ion} was taken to make it up");
        list.push(remark(
            "charge-made-up",
            Severity::Note,
            message,
            "name the other ion, or give the pH and --balance",
        ));
    }
    if !answer.model.within && answer.ionic_strength > answer.model.limit {
        let message = format!(
            "ionic strength {:.2} mol/kg is above {} mol/kg, where {} are to be used: figures are estimates",
            answer.ionic_strength, answer.model.limit, answer.model.name
        );
        let hint = answer
            .model
            .why_not
            .as_ref()
            .map_or(String::new(), |why| format!("Pitzer's equations were not taken: {why}"));
        list.push(remark("beyond-model", Severity::Warning, message, &hint));
    }
    if let Some((a, b, _)) = answer.model.lacking.first() {
        let message = format!("no interaction of {a} with {b} is known: figures are estimates");
        list.push(remark("beyond-model", Severity::Warning, message, ""));
    }
    let over =
        answer.solids.iter().find(|s| s.amount == 0.0 && s.form != "slow" && s.saturation_index > SUPERSATURATED);
    if let Some(solid) = over {
        let reason =
            if asked.allowed == Allowed::None { "no solid was allowed" } else { "its form takes longer than hours" };
        let named = if solid.name.is_empty() { String::new() } else { format!(" ({})", solid.name) };
        let message =
            format!("supersaturated with {}{named} by {:.1} decades: {reason}", solid.solid, solid.saturation_index);
        list.push(remark(
            "supersaturated",
            Severity::Note,
            message,
            "it may fall out later, or on a scratch or a seed",
        ));
    }
    if let Some(dose) = &answer.dose
        && (dose.to_ph - dose.from_ph).abs() < PH_METER
    {
        let message = "the wanted pH is that of the solution within a reading".to_owned();
        list.push(remark("nothing-to-do", Severity::Note, message, ""));
    }
    if asked.ph.is_some()
        && asked.balance.is_none()
        && let Some((ion, _)) = &answer.balance
    {
        let message = format!("{ion} was taken as the ion that makes up the charge at the given pH");
        list.push(remark("balance-assumed", Severity::Note, message, "name another one with --balance"));
    }
    answer.findings.extend(list);
}
