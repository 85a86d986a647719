//! How the figures are made: the formulas that the trails lead to, each with its letter and its sources.

use super::Written;
use crate::document::references::References;
use crate::document::{Block, Line, target, words};

/// Sources of atomic weights.
const WEIGHTS: [&str; 2] = ["ciaaw-2021", "ciaaw-2024"];

/// The section with all formulas.
pub(super) fn formulas(written: &Written<'_>, references: &mut References) -> Vec<Block> {
    let element = written.account.elements.first().map_or("E", String::as_str);
    let usual: Vec<&str> = written.record.sources.iter().copied().filter(|key| !key.starts_with("ciaaw")).collect();
    let list: [(&str, &str, String, &[&str], &str); 10] = [
        (
            "content-by-ignition",
            "A",
            format!("Content by ignition of a portion: m({element}) = m(residue) × w({element} in the residue's formula) × m(lot) / m(portion); masses by difference of readings in one vessel. Mass fractions w from standard atomic weights"),
            &WEIGHTS,
            " Holds if the residue is that formula and the portion is like the lot.",
        ),
        (
            "quoted",
            "B",
            format!("Quoted content: m({element}) = m(lot) × w({element} in the formula). Holds only if the lot is that formula, which the mass alone does not show"),
            &WEIGHTS,
            "",
        ),
        (
            "yield",
            "C",
            format!("Yield on the element: 100 % × m({element} in the lot) / m({element} charged by the label), the uncertainty of the label included"),
            &[],
            "",
        ),
        (
            "account",
            "D",
            "Accounted: the distribution of every lot under the model of the plan, conditioned on all readings together; matter moves only through balanced operations. Usual losses".to_owned(),
            &usual,
            "",
        ),
        (
            "loss",
            "E",
            "Loss on heating: 100 % × (m(portion) − m(residue)) / m(portion); calculated: 100 % × (1 − M(residue) / M(solid)) for the same count of the element".to_owned(),
            &[],
            "",
        ),
        (
            "charged",
            "F",
            "Amount charged: n = m(charge) × w(substance in the supply) / M(substance), by the label or what else is known of the supply beforehand. Molar masses M from standard atomic weights".to_owned(),
            &WEIGHTS,
            "",
        ),
        (
            "expected",
            "G",
            "Expected: the same model run on what is known before any reading, labels, usual losses and balances; the range holds 9 times in 10".to_owned(),
            &[],
            "",
        ),
        (
            "budget",
            "H",
            "Budget: shares of u² = Σ c² u²(x) over all unknowns x of the account, c the change of the figure with x, to first order about the best fits; the choice among compositions is a source of its own".to_owned(),
            &[],
            "",
        ),
        (
            "series",
            "I",
            "Final mass of a series: m(t) = m(end) + (m(start) − m(end)) × exp(−k t), both masses by least squares, k summed over by its likelihood".to_owned(),
            &[],
            "",
        ),
        (
            "information",
            "J",
            "Information of a test: the mean number of bits by which its result would narrow what the account leaves open".to_owned(),
            &[],
            "",
        ),
    ];
    let mut blocks = vec![Block::Heading("How the figures are made".to_owned())];
    blocks.extend(list.into_iter().map(|(id, letter, text, sources, more)| {
        let mut line: Line = vec![target(format!("formula-{id}"), format!("{letter}  ")), words(text)];
        line.extend(references.cite_all(sources.iter().copied()));
        line.push(words(format!(".{more}")));
        Block::Line(line)
    }));
    blocks
}
