//! How the figures are made: the formulas that the trails lead to, each with its letter and its sources.

use super::Written;
use crate::document::references::References;
use crate::document::{Block, Line, target, words};

/// Sources of atomic weights.
const WEIGHTS: [&str; 2] = ["ciaaw-2021", "ciaaw-2024"];

/// A formula of the section.
struct Formula<'a> {
    id: &'static str,
    letter: &'static str,
    text: String,
    sources: &'a [&'a str],
    /// What follows the sources.
    more: &'static str,
}

/// The section with all formulas.
pub(super) fn formulas(written: &Written<'_>, references: &mut References) -> Vec<Block> {
    let element = written.account.elements.first().map_or("E", String::as_str);
    let usual: Vec<&str> = written.record.sources.iter().copied().filter(|key| !key.starts_with("ciaaw")).collect();
    let limits = limits(written);
    let list = of_contents(element, &usual).into_iter().chain(of_plan_and_tests()).chain(of_safety(&limits));
    let mut blocks = vec![Block::Heading("How the figures are made".to_owned())];
    blocks.extend(list.map(|formula| {
        let mut line: Line =
            vec![target(format!("formula-{}", formula.id), format!("{}  ", formula.letter)), words(formula.text)];
        line.extend(references.cite_all(formula.sources.iter().copied()));
        line.push(words(format!(".{}", formula.more)));
        Block::Line(line)
    }));
    blocks
}

/// Formulas of contents and yields.
fn of_contents<'a>(element: &str, usual: &'a [&'a str]) -> [Formula<'a>; 5] {
    [
        Formula {
            id: "content-by-ignition",
            letter: "A",
            text: format!("Content by ignition of a portion: m({element}) = m(residue) × w({element} in the residue's formula) × m(lot) / m(portion); masses by difference of readings in one vessel. Mass fractions w from standard atomic weights"),
            sources: &WEIGHTS,
            more: " Holds if the residue is that formula and the portion is like the lot.",
        },
        Formula {
            id: "quoted",
            letter: "B",
            text: format!("Quoted content: m({element}) = m(lot) × w({element} in the formula). Holds only if the lot is that formula, which the mass alone does not show"),
            sources: &WEIGHTS,
            more: "",
        },
        Formula {
            id: "yield",
            letter: "C",
            text: format!("Yield on the element: 100 % × m({element} in the lot) / m({element} charged by the label), the uncertainty of the label included"),
            sources: &[],
            more: "",
        },
        Formula {
            id: "account",
            letter: "D",
            text: "Accounted: the distribution of every lot under the model of the plan, conditioned on all readings together; matter moves only through balanced operations. Usual losses".to_owned(),
            sources: usual,
            more: "",
        },
        Formula {
            id: "loss",
            letter: "E",
            text: "Loss on heating: 100 % × (m(portion) − m(residue)) / m(portion); calculated: 100 % × (1 − M(residue) / M(solid)) for the same count of the element".to_owned(),
            sources: &[],
            more: "",
        },
    ]
}

/// Formulas of charges, of the plan, of uncertainty and of tests.
fn of_plan_and_tests() -> [Formula<'static>; 5] {
    [
        Formula {
            id: "charged",
            letter: "F",
            text: "Amount charged: n = m(charge) × w(substance in the supply) / M(substance), by the label or what else is known of the supply beforehand; strength: n over the mass of what is weighed into the step, solute and water together. Molar masses M from standard atomic weights".to_owned(),
            sources: &WEIGHTS,
            more: "",
        },
        Formula {
            id: "expected",
            letter: "G",
            text: "Expected: the same model run on what is known before any reading, labels, usual losses and balances; the range holds 9 times in 10".to_owned(),
            sources: &[],
            more: "",
        },
        Formula {
            id: "budget",
            letter: "H",
            text: "Budget: shares of u² = Σ c² u²(x) over all unknowns x of the account, c the change of the figure with x, to first order about the best fits; the choice among compositions is a source of its own".to_owned(),
            sources: &[],
            more: "",
        },
        Formula {
            id: "series",
            letter: "I",
            text: "Final mass of a series: m(t) = m(end) + (m(start) − m(end)) × exp(−k t), both masses by least squares, k summed over by its likelihood".to_owned(),
            sources: &[],
            more: "",
        },
        Formula {
            id: "information",
            letter: "J",
            text: "Information of a test: the mean number of bits by which its result would narrow what the account leaves open".to_owned(),
            sources: &[],
            more: "",
        },
    ]
}

/// Formulas of hazards and of vessels.
fn of_safety<'a>(limits: &'a [&'static str]) -> [Formula<'a>; 2] {
    [
        Formula {
            id: "hazard",
            letter: "K",
            text: "Hazards: gas by the listed reactions and by what is charged, at most, as an ideal gas at 25 °C and 1 atm, V = n R T/p; in air V(gas)/V(closed room); heat ξ |ΔrH| over what it warms, at most; foam and pressure from the same gas. Limits of the air at work".to_owned(),
            sources: limits,
            more: "",
        },
        Formula {
            id: "filled",
            letter: "L",
            text: "Contents of a vessel: V = Σ m/ρ of what is put in, before anything reacts; a density that is not stated lies in the range of its kind of matter".to_owned(),
            sources: &["estimated", "from-memory"],
            more: "",
        },
    ]
}

/// Sources of the limits of the air that the cautions speak of.
fn limits(written: &Written<'_>) -> Vec<&'static str> {
    let cautions = || written.plan.steps.iter().flat_map(|step| &step.cautions);
    let named = chem::hazard::exposure::all().iter().filter(|limit| cautions().any(|text| text.contains(limit.name)));
    let mut keys: Vec<&'static str> = named.flat_map(|limit| &limit.sources).map(|source| source.as_str()).collect();
    keys.sort_unstable();
    keys.dedup();
    keys
}
