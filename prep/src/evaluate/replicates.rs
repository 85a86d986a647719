//! Several runs of one preparation: do they agree, and what do they give together?
//!
//! Each run is accounted for twice, as it is and with what all runs have in common held fast: supplies of the same name,
//! label and content are one bottle, balances of the same name and figures one balance. The difference of the two
//! variances is the uncertainty that the runs share; it neither sets runs apart nor averages out ([`engine::account::pool`]).
//! Neglected: that the unknown mix of hydrates in a shared bottle is shared too; runs then look a little less alike than
//! they are.

use super::account::{AccountSettings, account, live_account};
use super::findings::finding;
use crate::model::{Instrument, Knowledge, Preparation, Supply};
use crate::outcome::{Account, Figure, Finding, Interval, Pooling, Replicates, Severity};
use chem::quantity::Status;
use engine::account::pool::pool;

/// Relative uncertainty below which a yield is taken as known: rounding.
const CERTAIN: f64 = 1e-9;
/// Probability below which differences are called too large for agreement.
const DISAGREE: f64 = 0.05;

/// Compares and pools runs, each with the name of its file; `settings` of the sampler, or the live view without.
///
/// # Errors
/// Findings that say which run cannot be compared, and why.
pub fn replicates(
    runs: &[(String, Preparation)],
    settings: Option<&AccountSettings>,
    progress: &mut dyn FnMut(f64),
) -> Result<Replicates, Vec<Finding>> {
    let element = comparable(runs)?;
    let (bottles, balances) = shared(runs);
    let mut told = |preparation: &Preparation, done: f64, part: f64| match settings {
        Some(settings) => account(preparation, settings, &mut |p| progress(done + part * p)),
        None => live_account(preparation),
    };
    let part = 0.5 / runs.len() as f64;
    let mut accounts = Vec::new();
    for (i, (_, preparation)) in runs.iter().enumerate() {
        let done = 2.0 * i as f64 * part;
        let whole = told(preparation, done, part);
        let own = told(&held_fast(preparation, &bottles, &balances), done + part, part);
        accounts.push((whole, own));
    }
    let yields = |account: &Account| account.yields.clone();
    let mut findings = apart(runs);
    for ((file, _), (whole, _)) in runs.iter().zip(&accounts) {
        let grave = whole.findings.iter().filter(|f| f.severity == Severity::Warning).count();
        if grave > 0 {
            let message = format!("the account of `{file}` has warnings ({grave})");
            let hint = "see `tarebook account` of that file before trusting the comparison";
            findings.push(finding("run-with-warnings", Severity::Note, None, message, hint));
        }
    }
    let overall = |account: &Account| yields(account).map(|y| y.overall);
    let mut quantities: Vec<Pooling> = pooled("feed to product", &accounts, &overall).into_iter().collect();
    for step in yields(&accounts[0].0).map_or_else(Vec::new, |y| y.steps) {
        let of_step =
            |account: &Account| yields(account)?.steps.into_iter().find(|s| s.name == step.name).map(|s| s.interval);
        quantities.extend(pooled(&format!("step {}", step.name), &accounts, &of_step));
    }
    let shared = bottles.iter().map(|s| s.name.value.clone()).chain(balances.iter().map(|b| b.name.value.clone()));
    Ok(Replicates {
        element,
        runs: runs.iter().map(|(file, p)| (file.clone(), p.title.clone())).collect(),
        quantities,
        shared: shared.collect(),
        findings,
    })
}

/// The element that all runs account for; an error where there is none.
fn comparable(runs: &[(String, Preparation)]) -> Result<String, Vec<Finding>> {
    let refuse =
        |message: String, hint: &str| Err(vec![finding("no-replicates", Severity::Error, None, message, hint)]);
    let [(_, first), rest @ ..] = runs else {
        return refuse("there is no run to compare".to_owned(), "name two or more preparation files");
    };
    if rest.is_empty() {
        return refuse("one run has nothing to be compared with".to_owned(), "name two or more preparation files");
    }
    let Some(element) = first.account_for.first() else {
        let message = format!("`{}` accounts for no element", runs[0].0);
        return refuse(message, "add `account_for = \"Cu\"` to it");
    };
    for (file, run) in rest {
        if run.account_for.first() != Some(element) {
            let message = format!("`{file}` does not account for {} as `{}` does", element.name(), runs[0].0);
            return refuse(message, "runs of one preparation account for one element, named first");
        }
    }
    Ok(element.symbol().to_owned())
}

/// In what the runs are not runs of one preparation.
fn apart(runs: &[(String, Preparation)]) -> Vec<Finding> {
    let (first_file, first) = &runs[0];
    let actions = |p: &Preparation| p.steps.iter().map(|s| s.action.value).collect::<Vec<_>>();
    let mut list = Vec::new();
    for (file, run) in &runs[1..] {
        let target = |p: &Preparation| p.target.as_ref().map(|t| t.substance.to_string());
        let mut differs = Vec::new();
        if target(first) != target(run) {
            differs.push("the target");
        }
        if actions(first) != actions(run) {
            differs.push("the steps");
        }
        if !differs.is_empty() {
            let message = format!("`{file}` differs from `{first_file}` in {}", differs.join(" and in "));
            let hint = "yields are compared all the same; a difference may come from the procedure";
            list.push(finding("runs-apart", Severity::Note, None, message, hint));
        }
    }
    list
}

/// Supplies and balances that all runs have alike.
fn shared(runs: &[(String, Preparation)]) -> (Vec<Supply>, Vec<Instrument>) {
    let (_, first) = &runs[0];
    let formulas = |s: &Supply| s.holds.iter().map(|h| h.value.to_string()).collect::<Vec<_>>();
    let bottle = |a: &Supply, b: &Supply| {
        (&a.name.value, &a.label, a.assay, formulas(a)) == (&b.name.value, &b.label, b.assay, formulas(b))
    };
    let balance = |a: &Instrument, b: &Instrument| {
        let figures = |i: &Instrument| (i.resolution, i.repeatability, i.slope, i.curvature, i.capacity);
        a.name.value == b.name.value && figures(a) == figures(b)
    };
    let everywhere = |has: &dyn Fn(&Preparation) -> bool| runs[1..].iter().all(|(_, run)| has(run));
    let bottles =
        first.supplies.iter().filter(|s| everywhere(&|run| run.supplies.iter().any(|other| bottle(s, other))));
    let balances =
        first.instruments.iter().filter(|i| everywhere(&|run| run.instruments.iter().any(|other| balance(i, other))));
    let uncertain = |s: &&Supply| !matches!(s.assay, Knowledge::Exact(_));
    (bottles.filter(uncertain).cloned().collect(), balances.cloned().collect())
}

/// A run in which what all share is known exactly.
fn held_fast(preparation: &Preparation, bottles: &[Supply], balances: &[Instrument]) -> Preparation {
    let mut held = preparation.clone();
    for supply in held.supplies.iter_mut().filter(|s| bottles.iter().any(|b| b.name.value == s.name.value)) {
        supply.assay = Knowledge::Exact(supply.assay.central());
    }
    for balance in held.instruments.iter_mut().filter(|i| balances.iter().any(|b| b.name.value == i.name.value)) {
        (balance.slope, balance.curvature) = (0.0, 0.0);
    }
    held
}

/// One quantity over all runs; nothing where a run does not have it or knows it exactly.
fn pooled(
    name: &str,
    accounts: &[(Account, Account)],
    quantity: &dyn Fn(&Account) -> Option<Interval>,
) -> Option<Pooling> {
    let pairs: Vec<(Interval, Interval)> =
        accounts.iter().map(|(whole, own)| Some((quantity(whole)?, quantity(own)?))).collect::<Option<_>>()?;
    // Where nothing can be lost there is nothing to compare.
    if pairs.iter().all(|(whole, _)| whole.standard_uncertainty < CERTAIN * whole.mean.abs()) {
        return None;
    }
    let own: Vec<f64> = pairs.iter().map(|(w, o)| o.standard_uncertainty.min(w.standard_uncertainty)).collect();
    let common = |(w, u): (&(Interval, Interval), &f64)| (w.0.standard_uncertainty.powi(2) - u * u).max(0.0);
    let shared = (pairs.iter().zip(&own).map(common).sum::<f64>() / pairs.len() as f64).sqrt();
    let values: Vec<f64> = pairs.iter().map(|(whole, _)| whole.mean).collect();
    let pooled = pool(&values, &own, shared)?;
    let figure = |standard_uncertainty: f64| Figure {
        value: pooled.mean,
        standard_uncertainty: Some(standard_uncertainty),
        unit: "%",
        basis: pairs[0].0.basis.clone(),
        status: Status::Derived,
        sources: Vec::new(),
    };
    let typical = own.iter().map(|u| u * u).sum::<f64>() / own.len() as f64;
    Some(Pooling {
        name: name.to_owned(),
        mean: figure(pooled.standard_uncertainty),
        between_runs: pooled.between_runs,
        shared,
        chi_squared: pooled.chi_squared,
        probability: pooled.probability,
        agree: pooled.probability >= DISAGREE,
        next_run: figure((pooled.standard_uncertainty.powi(2) + pooled.between_runs.powi(2) + typical).sqrt()),
        runs: pairs.into_iter().map(|(whole, _)| whole).collect(),
    })
}
