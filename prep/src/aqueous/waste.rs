//! What takes the metals out of a waste solution, with how much heat and gas, and what stays in it?
//!
//! The solution is brought to each of some pH values with sodium hydroxide, or sulfuric acid where it is more alkaline, and
//! the one is taken at which the worst metal is least, measured by its limit or else by 1 mg/L. Gas: at most all that an acid
//! can drive out, beyond what water holds under one atmosphere; the dose is told with the carbon dioxide still in it, and with
//! all of it gone. Heat: at most that of neutralising strong acid with strong base. Without heavy metals above their limits it
//! is neutralised only. Neglected: time, complexes that the tables do not have, adsorption on the sludge (which
//! takes out more).
//!
//! Source: `engine::aqueous`; heat of neutralisation −55.8 kJ/mol (CRC Handbook, from memory).

use super::step::Bath;
use super::{Allowed, Chosen, Recipe, choose, plain};
use chem::Formula;
use chem::aqueous::{Model, dissolve};
use engine::aqueous::dose::{Reagent, dissolved, to_ph};
use engine::aqueous::network::HYDROGEN;
use engine::aqueous::speciate::Status;
use std::collections::HashMap;
use std::sync::{Arc, LazyLock, Mutex};

/// pH values tried where there are heavy metals.
const TRIED: [f64; 8] = [7.0, 8.0, 8.5, 9.0, 9.5, 10.0, 10.5, 11.0];
/// pH outside of which a solution without heavy metals, or with none above its limit, is neutralised, and to what.
const NEUTRAL: (f64, f64, f64) = (6.0, 9.0, 7.5);
/// Ions that a sewer does not mind as metals.
const LIGHT: [&str; 8] = ["Na^+", "K^+", "Li^+", "NH4^+", "Mg^2+", "Ca^2+", "Sr^2+", "H^+"];
/// Heat of neutralisation, J/mol.
const NEUTRALISATION: f64 = 55.8e3;
/// Carbon dioxide that water holds under one atmosphere at 25 °C, mol/kg (Henry's constant of the tables, 10^−1.47).
const SATURATED: f64 = 0.034;
/// Litres of gas for a mole at 20 °C and 1 bar.
const MOLAR_VOLUME: f64 = 24.4;
/// A better pH must leave less than this share of what the next lower one leaves.
const BETTER: f64 = 0.8;

/// A waste solution before and after.
#[derive(Clone, Debug, PartialEq)]
pub(crate) struct Treated {
    pub(crate) ph: f64,
    /// Whether the activity model holds.
    pub(crate) within: bool,
    /// Each ion without its charge, mg per litre of water.
    pub(crate) contents: Vec<(String, f64)>,
    pub(crate) treatment: Option<Treatment>,
}

/// What takes it out.
#[derive(Clone, Debug, PartialEq)]
pub(crate) struct Treatment {
    pub(crate) reagent: Formula,
    /// mol.
    pub(crate) amount: f64,
    /// More of it, mol, once all carbon dioxide has left.
    pub(crate) more: f64,
    pub(crate) to_ph: f64,
    /// Solids, mol.
    pub(crate) solids: Vec<(Formula, f64)>,
    /// Carbon dioxide, L.
    pub(crate) gas: f64,
    /// Heat at most, J.
    pub(crate) heat: f64,
    /// Each heavy metal, mg/L.
    pub(crate) left: Vec<(String, f64)>,
}

type Answer = Result<Arc<Treated>, String>;
static ANSWERS: LazyLock<Mutex<HashMap<String, Answer>>> = LazyLock::new(Mutex::default);

/// What to do with a solution; limits in mg/L by ion without charge.
pub(crate) fn treat(bath: &Bath, limits: &[(String, f64)]) -> Answer {
    let bath = bath.rounded();
    let key = format!("{bath:?} {limits:?}");
    if let Some(known) = ANSWERS.lock().ok().and_then(|kept| kept.get(&key).cloned()) {
        return known;
    }
    let found = solve(&bath, limits).map(Arc::new);
    if let Ok(mut kept) = ANSWERS.lock() {
        if kept.len() > 256 {
            kept.clear();
        }
        kept.insert(key, found.clone());
    }
    found
}

fn good(status: Status) -> bool {
    matches!(status, Status::Solved | Status::Almost)
}

/// A name without its charge.
fn bare(name: &str) -> String {
    plain(name.split('^').next().unwrap_or(name))
}

fn heavy(name: &str) -> bool {
    name.contains('^') && name.ends_with('+') && !LIGHT.contains(&name)
}

/// mg of each ion in a litre of water, of those wanted.
fn contents(chosen: &Chosen, wanted: impl Fn(&str) -> bool) -> Vec<(String, f64)> {
    let mut list: Vec<(String, f64)> = Vec::new();
    for number in 1..chosen.chemistry.network.masters() {
        let master = chosen.chemistry.species[number];
        if !wanted(master.name) || chosen.mixture.totals[number] <= 0.0 {
            continue;
        }
        let molar = master.formula.molar_mass().map_or(f64::NAN, |m| m.value);
        let amount = 0.997 * 1e3 * dissolved(&chosen.solver, number) * molar / chosen.solver.water();
        match list.iter_mut().find(|(name, _)| *name == bare(master.name)) {
            Some((_, sum)) => *sum += amount,
            None => list.push((bare(master.name), amount)),
        }
    }
    list.sort_by(|a, b| b.1.total_cmp(&a.1));
    list
}

fn solve(bath: &Bath, limits: &[(String, f64)]) -> Result<Treated, String> {
    let mut substances = Vec::new();
    for (formula, amount, solid) in &bath.substances {
        match dissolve(formula, Model::Association) {
            Ok(_) => substances.push((formula.clone(), *amount)),
            Err(_) if *solid => {}
            Err(why) => return Err(format!("{formula}: {why}")),
        }
    }
    let reagents: Vec<Formula> = ["NaOH", "H2SO4"].iter().filter_map(|text| Formula::parse(text).ok()).collect();
    let recipe = Recipe { substances, reagents: reagents.clone(), water: bath.water, coupled: None };
    let mut chosen =
        choose(&recipe, Allowed::Fresh, &[], bath.temperature).map_err(|refusal| format!("{refusal:?}"))?;
    // The association set has the hydroxides.
    if let Ok(association) = recipe.with(Model::Association, Allowed::Fresh, &[], bath.temperature)
        && association.chemistry.species.iter().any(|s| s.is_master() && heavy(s.name))
    {
        chosen = association;
    }
    let report = chosen.solver.solve(&chosen.mixture.totals.clone(), chosen.mixture.water, false);
    if !good(report.status) {
        return Err("its solution could not be solved".to_owned());
    }
    let ph = chosen.solver.ph();
    let within = chosen.solver.ionic_strength() <= engine::aqueous::activity::DAVIES_LIMIT
        || chosen.chemistry.model == Model::Pitzer;
    let before = contents(&chosen, |_| true);
    let metals = contents(&chosen, heavy);
    let limit = |name: &str| limits.iter().find(|(own, _)| own == name).map_or(1.0, |(_, limit)| *limit);
    let worst = |left: &[(String, f64)]| left.iter().map(|(name, x)| x / limit(name)).fold(0.0, f64::max);
    let treatment = if worst(&metals) > 1.0 {
        let mut best: Option<(f64, Treatment)> = None;
        for to in TRIED {
            let Some(treated) = bring(&mut chosen, &reagents, ph, to) else { continue };
            let score = worst(&treated.left);
            if best.as_ref().is_none_or(|(least, _)| score < BETTER * least && *least > 1.0) {
                best = Some((score, treated));
            }
        }
        best.map(|(_, treated)| treated)
    } else {
        let (low, high, to) = NEUTRAL;
        (!(low..=high).contains(&ph)).then(|| bring(&mut chosen, &reagents, ph, to)).flatten()
    };
    Ok(Treated { ph, within, contents: before, treatment })
}

/// Brings the solution to a pH with base or acid.
fn bring(chosen: &mut Chosen, reagents: &[Formula], from: f64, to: f64) -> Option<Treatment> {
    let formula = reagents.get(usize::from(to < from))?;
    let parts = dissolve(formula, chosen.chemistry.model).ok()?;
    let mut list = vec![(HYDROGEN, parts.hydrogen)];
    for (name, count) in &parts.masters {
        list.push((chosen.chemistry.master(name)?, *count));
    }
    let reagent = Reagent { parts: list, water: parts.water };
    let most = 30.0 * chosen.mixture.water * engine::aqueous::water::MOLAR_MASS;
    let mixture = chosen.mixture.clone();
    let dose = to_ph(&mut chosen.solver, &mixture, &reagent, to, (0.0, most)).ok()?;
    let solver = &chosen.solver;
    let dioxide = chosen.chemistry.species.iter().zip(solver.molalities());
    let dioxide: f64 = dioxide.filter(|(s, _)| matches!(s.name, "CO2" | "H2CO3")).map(|(_, m)| *m).sum();
    let carbonate = chosen.chemistry.master("CO3^2-").map_or(0.0, |number| dissolved(solver, number));
    let acid = parts.hydrogen > 0.0;
    let (water, driven) = (solver.water(), if acid { carbonate } else { 0.0 });
    let more = if acid { (carbonate - dioxide * water).max(0.0) / parts.hydrogen } else { 0.0 };
    let there = chosen.chemistry.solids.iter().enumerate().map(|(n, row)| (row.formula.clone(), solver.solid(n)));
    Some(Treatment {
        reagent: formula.clone(),
        amount: dose.amount,
        more,
        to_ph: to,
        solids: there.filter(|(_, amount)| *amount > 1e-9).collect(),
        gas: (driven - SATURATED * water).max(0.0) * MOLAR_VOLUME,
        heat: (dose.amount + more) * parts.hydrogen.abs() * NEUTRALISATION,
        left: contents(chosen, heavy),
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    fn treated(list: &[(&str, f64)], water: f64, limits: &[(String, f64)]) -> Arc<Treated> {
        let formula = |text: &str| Formula::parse(text).expect("a formula");
        let substances = list.iter().map(|(f, n)| (formula(f), *n, false)).collect();
        let bath = Bath { substances, written: Vec::new(), water, temperature: 298.15, dose: None };
        treat(&bath, limits).expect("in the tables")
    }

    /// 1.8 L with 0.42 g of copper: 233 mg/L; at pH 9 to 10 it is out, below 1.5 mg/L (a town's published limit).
    #[test]
    fn a_copper_liquor() {
        let found = treated(&[("CuSO4", 0.42 / 63.546)], 1.8 * 0.997, &[("Cu".to_owned(), 1.5)]);
        let copper = found.contents.iter().find(|(name, _)| name == "Cu").expect("copper");
        assert!((copper.1 - 233.0).abs() < 2.0, "{copper:?}");
        let treatment = found.treatment.as_ref().expect("a treatment");
        assert!(treatment.left.iter().all(|(_, left)| *left < 1.5), "{treatment:?}");
        // Two hydroxides for each copper ion, a little less where a basic sulfate falls out.
        let ratio = treatment.amount / (0.42 / 63.546);
        assert!((1.4..2.1).contains(&ratio), "{ratio}");
        assert!(treatment.heat < 1e3 && treatment.gas == 0.0);
    }

    /// Soda that is neutralised gives off most of its carbon dioxide.
    #[test]
    fn a_soda_liquor_fizzes() {
        let found = treated(&[("Na2CO3", 0.5)], 1.0, &[]);
        assert!(found.ph > 11.0);
        let treatment = found.treatment.as_ref().expect("a treatment");
        assert_eq!(treatment.reagent.to_string(), "H2SO4");
        // At most all of it leaves but what water holds: 0.466 mol, 11.4 L; that takes an acid for each carbonate.
        assert!((treatment.gas - 11.4).abs() < 0.1, "{treatment:?}");
        assert!((treatment.amount + treatment.more - 0.5).abs() < 0.005 && treatment.amount < 0.35, "{treatment:?}");
        // A trace of copper below its limit is no reason to leave a lye as it is.
        let lye = treated(&[("NaOH", 0.1), ("CuSO4", 1e-7)], 1.0, &[("Cu".to_owned(), 1.5)]);
        let lye = lye.treatment.as_ref().expect("neutralised");
        assert!((lye.amount - 0.05).abs() < 0.001 && lye.to_ph == 7.5 && lye.gas == 0.0, "{lye:?}");
        let neutral = treated(&[("NaCl", 0.5)], 1.0, &[]);
        assert!(neutral.treatment.is_none(), "{neutral:?}");
    }
}
