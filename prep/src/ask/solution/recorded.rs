//! What does a recorded titration curve show: how much free acid, and does the computed curve go through the points?
//!
//! Points are pairs of an amount of the reagent (g pure, or mL or g as sold) and the pH read. The unknown is the amount of
//! one acid beyond what was named: what is missing for the curve to fit.
//!
//! Source: `engine::aqueous::recorded`.

use super::dosing::reagent;
use super::words::{Reader, Sold};
use super::{Asked, MOST_REAGENT};
use crate::aqueous::Chosen;
use crate::ask::reading::normal;
use crate::outcome::{Finding, RecordedCurve};
use chem::aqueous::{Model, dissolve};
use chem::{Dimension, Formula, Quantity};
use engine::aqueous::dose::curve;
use engine::aqueous::recorded::{Meter, Recorded, infer};
use engine::aqueous::speciate::Status;

/// Scatter of pH from reading to reading, as a share of the meter's uncertainty (estimated).
const SCATTER: f64 = 0.4;
/// Relative standard uncertainty of an amount read off a burette, beside its last digit (estimated).
const BURETTE: f64 = 0.002;

/// Points of the computed curve.
const CURVE: usize = 80;

/// A point as it was written.
#[derive(Clone, Debug, PartialEq)]
pub(super) struct Point {
    amount: f64,
    last_place: f64,
    dimension: Dimension,
    ph: f64,
}

/// Reads `0 mL 1.05; 5 mL 1.12`, one point between semicolons or line breaks; a comma may stand before the pH.
pub(super) fn points(reader: &mut Reader, text: &str) -> Vec<Point> {
    let mut list = Vec::new();
    let lines = text.split([';', '\n']).map(str::trim).filter(|line| !line.is_empty() && !line.starts_with('#'));
    for line in lines {
        let parts = line.rsplit_once([',', '\t', ' ']);
        let read = parts.and_then(|(amount, ph)| {
            let quantity = Quantity::parse(amount.trim().trim_end_matches(',')).ok()?;
            let dimension = quantity.dimension();
            let ph = ph.trim().parse::<f64>().ok().filter(|ph| (-2.0..=16.0).contains(ph))?;
            let amount = quantity.si().central();
            let known = dimension == Dimension::VOLUME || dimension == Dimension::MASS;
            (known && amount >= 0.0).then(|| Point { amount, last_place: quantity.si_last_place(), dimension, ph })
        });
        match read {
            Some(point) => list.push(point),
            None => {
                let hint = "write amount and pH, `12.5 mL 3.41`, one point in each line or between semicolons";
                reader.slip("bad-quantity", line, format!("`{line}` is no point of a curve"), hint);
            }
        }
    }
    if list.len() < 3 && reader.errors.is_empty() {
        let message = format!("{} points do not make a curve", list.len());
        reader.slip("missing-field", text, message, "give three or more");
    }
    list
}

/// The acid that is looked for: as named, else that of the strongest anion there.
pub(super) fn acid(asked: &[(Formula, f64)]) -> Option<Formula> {
    let gives = |formula: &Formula| dissolve(formula, Model::Association).is_ok_and(|parts| parts.hydrogen > 0.0);
    if let Some((formula, _)) = asked.iter().find(|(formula, _)| gives(formula)) {
        return Some(formula.without_hydrate_water());
    }
    let anions = [("SO4^2-", "H2SO4"), ("Cl^-", "HCl"), ("NO3^-", "HNO3")];
    let holds = |ion: &str| {
        let of = |formula: &Formula| dissolve(formula, Model::Association).ok();
        asked.iter().filter_map(|(formula, _)| of(formula)).any(|d| d.masters.iter().any(|(name, _)| *name == ion))
    };
    anions.iter().find(|(ion, _)| holds(ion)).and_then(|(_, acid)| Formula::parse(acid).ok())
}

/// mol of the reagent in an amount as written.
fn moles(point: f64, dimension: Dimension, sold: Sold, molar: f64) -> Option<f64> {
    match (sold, dimension) {
        (Sold::Pure, Dimension::MASS) => Some(1e3 * point / molar),
        (Sold::Fraction(w), Dimension::MASS) => Some(1e3 * point * w / molar),
        // m³ to L.
        (Sold::Concentration(c), Dimension::VOLUME) => Some(1e3 * point * c),
        _ => None,
    }
}

/// Infers the free acid and lays the points on the computed curve; the mixture then holds that acid.
pub(super) fn recorded(
    chosen: &mut Chosen,
    asked: &Asked,
    acid: &Formula,
    points: &[Point],
) -> Result<RecordedCurve, Vec<Finding>> {
    let fail =
        |message: &str, hint: &str| Err(vec![crate::ask::pointed("no-solution", "", 0, 0, message.to_owned(), hint)]);
    let Some((formula, sold)) = &asked.add else { return fail("no reagent is named", "name it with --add") };
    let (Some(titrant), Some(unknown)) = (reagent(chosen, formula, *sold), reagent(chosen, acid, Sold::Pure)) else {
        return fail("reagent or acid is not in the tables", "take one of the common acids and bases");
    };
    let (Ok(molar), Ok(acid_molar)) = (formula.molar_mass(), acid.molar_mass()) else {
        return fail("no molar mass", "check the formula");
    };
    let mut list = Vec::new();
    for point in points {
        let of = |amount: f64| moles(amount, point.dimension, *sold, molar.value);
        let (Some(amount), Some(digit)) = (of(point.amount), of(point.last_place)) else {
            return fail(
                "amounts and strength of the reagent do not go together",
                "a strength in mol/L goes with volumes, a mass fraction or a pure substance with masses",
            );
        };
        let uncertainty = (BURETTE * amount).hypot(digit / 12f64.sqrt());
        list.push(Recorded { amount, uncertainty, ph: point.ph });
    }
    list.sort_by(|a, b| a.amount.total_cmp(&b.amount));
    let most = list.last().map_or(0.0, |point| point.amount).max(1e-6 * asked.recipe.water);
    if most > MOST_REAGENT * asked.recipe.water {
        return fail("more reagent than the solution can take", "check amounts and water");
    }
    let meter = Meter { offset: asked.meter, scatter: (SCATTER * asked.meter).max(1e-3) };
    let found = infer(&mut chosen.solver, &chosen.mixture, &unknown, &titrant, &list, meter, most);
    let Some(found) = found else {
        return fail("no amount of acid makes a curve like this", "check the reagent, and whether all else is named");
    };
    for (master, count) in &unknown.parts {
        chosen.mixture.totals[*master] = (chosen.mixture.totals[*master] + count * found.amount).max(if *master == 0 {
            f64::NEG_INFINITY
        } else {
            0.0
        });
    }
    chosen.mixture.water += unknown.water * found.amount;
    let named = asked.recipe.substances.iter().filter(|(f, _)| f.same_substance(acid)).map(|(_, n)| *n).sum::<f64>();
    let amounts: Vec<f64> = (0..=CURVE).map(|n| most * n as f64 / CURVE as f64).collect();
    let mut drawn = Vec::with_capacity(amounts.len());
    curve(&mut chosen.solver, &chosen.mixture, &titrant, &amounts, &mut drawn);
    let (whole, spread) = (named + found.amount, found.standard_uncertainty);
    let told = list
        .iter()
        .zip(&found.computed)
        .map(|(point, computed)| (point.amount * molar.value, point.ph, computed + found.offset));
    Ok(RecordedCurve {
        acid: acid.to_string(),
        amount: whole,
        standard_uncertainty: spread,
        mass: normal(whole * acid_molar.value, spread * acid_molar.value, "g"),
        per_water: whole / asked.recipe.water,
        offset: found.offset,
        strain: found.strain,
        reagent: formula.to_string(),
        points: told.collect(),
        curve: drawn
            .iter()
            .filter(|point| matches!(point.status, Status::Solved | Status::Almost))
            .map(|point| (point.amount * molar.value, point.ph + found.offset))
            .collect(),
    })
}
