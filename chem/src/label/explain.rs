//! Which forms explain the ratio of two printed amounts?
//!
//! Each candidate predicts the ratio of part to whole from its formula. It is plausible where the prediction lies in
//! the interval that the printed digits allow, or, on a medicinal article, where the pharmacopoeia's assay limits
//! reach into it. Atomic weights are taken as exact: their uncertainty is far below any printed digit.

use num_rational::Ratio;

use super::composition::{self, Of};
use super::printed::{Amount, Kind, Per};
use super::subject::{Form, Named};
use super::{Bounds, ClaimBasis, Explanation};
use crate::element::Element;
use crate::formula::Formula;
use crate::substance::{self, Substance, Use};

/// Most molecules of water of a hydrate that is tried.
const MOST_WATER: i64 = 12;
/// How many forms the label does not name are listed: of those that fit, and of the nearest that do not.
const OTHERS_FITTING: usize = 12;
const OTHERS_NEAREST: usize = 5;

/// The whole: grams, moles or moles of charge of the salt, or one gram of product.
#[derive(Clone, Debug)]
pub(super) struct Whole {
    pub kind: Kind,
    /// Lower bound, value and upper bound in base units.
    pub base: (f64, f64, f64),
    /// To what it is related.
    pub per: Per,
    /// As printed; `None` for the product itself.
    pub printed: Option<Amount>,
}

/// A part of the whole, related in the same way.
#[derive(Clone, Debug)]
pub(super) struct Part {
    pub of: Of,
    pub base: (f64, f64, f64),
    pub printed: Amount,
    /// Set where the label reckons in another way than the part says.
    pub misreading_factor: Option<f64>,
}

/// A form that may explain the label.
#[derive(Clone, Debug)]
struct Candidate {
    form: Form,
    named: bool,
}

/// All explanations of parts of a whole, the best first.
pub(super) fn explain(whole: &Whole, named: Option<&Named>, parts: &[Part], assay_counts: bool) -> Vec<Explanation> {
    let needed: Vec<Element> = parts.iter().filter_map(|part| composition::needed(&part.of)).collect();
    let mut ordered: Vec<((u8, u8, f64), Explanation)> = candidates(named, &needed)
        .iter()
        .filter_map(|candidate| explanation(candidate, whole, parts, assay_counts))
        .map(|explanation| (order(&explanation), explanation))
        .collect();
    ordered.sort_by(|(one, _), (other, _)| (one.0, one.1).cmp(&(other.0, other.1)).then(one.2.total_cmp(&other.2)));
    let mut found: Vec<Explanation> = ordered.into_iter().map(|(_, explanation)| explanation).collect();
    let (mut fitting, mut near) = (0, 0);
    found.retain(|explanation| {
        let (count, most) =
            if explanation.plausible { (&mut fitting, OTHERS_FITTING) } else { (&mut near, OTHERS_NEAREST) };
        *count += usize::from(!explanation.named);
        explanation.named || *count <= most
    });
    found
}

/// Best first: named and listed, named, close to the assay limits, others that fit; of a product first what can hold
/// as much as printed, then what shops sell; then by deviation.
fn order(explanation: &Explanation) -> (u8, u8, f64) {
    let rank = match (explanation.plausible, explanation.named) {
        (true, true) if explanation.listed => 0,
        (true, true) => 1,
        (false, true) if explanation.within_assay_limits == Some(true) => 2,
        (true, false) => 3,
        (false, true) => 4,
        (false, false) => 5,
    };
    let of_product = explanation.basis != ClaimBasis::AsSalt;
    let holds_too_little = explanation.implied_purity_percent.is_some_and(|purity| purity > 100.0);
    let unsold = !explanation.named && unsold(explanation);
    let place = if of_product { 2 * u8::from(holds_too_little) + u8::from(unsold) } else { 0 };
    (rank, place, explanation.explains_within_percent.unwrap_or(0.0))
}

/// Whether the table knows a form from laboratories only, or, where a label reckons as fertilisers do, not from them.
fn unsold(explanation: &Explanation) -> bool {
    let row = Substance::all().iter().find(|row| row.formula == explanation.substance);
    row.is_none_or(|row| match explanation.basis {
        ClaimBasis::AsOxide => !row.uses.contains(&Use::Fertiliser),
        ClaimBasis::AsSalt | ClaimBasis::AsElement => row.uses == [Use::Laboratory],
    })
}

/// The named forms, all hydrates of them, and the rows of the table that hold all elements in question.
fn candidates(named: Option<&Named>, needed: &[Element]) -> Vec<Candidate> {
    let mut candidates: Vec<Candidate> = Vec::new();
    let forms = named.map_or(&[][..], |named| &named.forms);
    for form in forms {
        push(&mut candidates, form.clone(), true);
    }
    for form in forms.iter().filter(|form| takes_up_water(&form.formula)) {
        for water in 0..=MOST_WATER {
            let formula = form.formula.with_hydrate_water(Ratio::from_integer(water));
            let row = Substance::all().iter().find(|row| row.formula.composition() == formula.composition());
            // CaO·H2O is written Ca(OH)2: another substance than the one named.
            if row.is_none_or(|row| row.formula.hydrate_water() == formula.hydrate_water()) {
                let formula = row.map_or(formula, |row| row.formula.clone());
                push(&mut candidates, Form { formula, row }, true);
            }
        }
    }
    for row in Substance::all().iter().filter(|row| !row.is_reckoning_only()) {
        if needed.iter().all(|element| row.formula.composition().contains_key(element)) {
            push(&mut candidates, Form { formula: row.formula.clone(), row: Some(row) }, false);
        }
    }
    candidates
}

/// Whether hydrates are tried: not of elements and oxides.
fn takes_up_water(formula: &Formula) -> bool {
    let elements = formula.composition().len();
    elements > 2 || (elements == 2 && !formula.composition().contains_key(&Element::OXYGEN))
}

fn push(candidates: &mut Vec<Candidate>, form: Form, named: bool) {
    let composition = form.formula.composition();
    if !candidates.iter().any(|known| known.form.formula.composition() == composition) {
        candidates.push(Candidate { form, named });
    }
}

/// Prediction of one part by one form.
struct Prediction {
    ratio: f64,
    element: Element,
    deviation_percent: f64,
    fits: bool,
}

fn predict(formula: &Formula, whole: &Whole, part: &Part) -> Option<Prediction> {
    let (amount, element) = composition::part_of(formula, &part.of, part.printed.unit.kind)?;
    let ratio = amount / composition::per_unit(formula, whole.kind)?;
    let labelled = part.base.1 / whole.base.1;
    let deviation_percent = (ratio / labelled - 1.0) * 100.0;
    let fits = labelled_range(whole, part).is_some_and(|(low, high)| low <= ratio && ratio <= high);
    deviation_percent.is_finite().then_some(Prediction { ratio, element, deviation_percent, fits })
}

/// What the printed digits allow for part over whole.
fn labelled_range(whole: &Whole, part: &Part) -> Option<(f64, f64)> {
    let low = if whole.base.2.is_finite() { part.base.0 / whole.base.2 } else { 0.0 };
    let high = if whole.base.0 > 0.0 { part.base.2 / whole.base.0 } else { f64::INFINITY };
    // One part in 10⁹ keeps a bound that is hit exactly inside.
    (low.is_finite() && !high.is_nan()).then_some((low * (1.0 - 1e-9), high * (1.0 + 1e-9)))
}

fn explanation(candidate: &Candidate, whole: &Whole, parts: &[Part], assay_counts: bool) -> Option<Explanation> {
    let formula = &candidate.form.formula;
    let predictions: Vec<(&Part, Prediction)> =
        parts.iter().map(|part| Some((part, predict(formula, whole, part)?))).collect::<Option<_>>()?;
    let (part, first) = predictions.first()?;
    let worst = predictions
        .iter()
        .map(|(_, prediction)| prediction.deviation_percent)
        .fold(0.0, |worst: f64, deviation| if deviation.abs() > worst.abs() { deviation } else { worst });
    let within_assay_limits = assay_reaches(candidate, whole, part, first.element);
    let plausible = predictions.iter().all(|(_, prediction)| prediction.fits)
        || (assay_counts && candidate.named && within_assay_limits == Some(true));
    let fraction = composition::mass_fraction(formula, first.element);
    let basis = match (&part.of, &whole.printed) {
        (Of::Reckoned(..), _) => ClaimBasis::AsOxide,
        (_, Some(_)) => ClaimBasis::AsSalt,
        (_, None) => ClaimBasis::AsElement,
    };
    Some(Explanation {
        substance: formula.clone(),
        names: names(&candidate.form),
        basis,
        element: Some(first.element),
        listed: candidate.form.row.is_some(),
        named: candidate.named,
        predicted_ratio: Some(first.ratio),
        predicted: Some(predicted_amount(whole, part, first.ratio)),
        deviation_percent: Some(worst),
        explains_within_percent: Some(worst.abs()),
        plausible,
        within_assay_limits,
        implied_purity_percent: Some(smallest_purity(&predictions)),
        substance_amount: salt_mass(whole, formula),
        element_amount: fraction.map(|fraction| match salt_mass(whole, formula) {
            Some(bounds) => bounds.scaled(fraction),
            None => Bounds::exactly(fraction * 100.0, "%"),
        }),
        amount_of_substance: whole.printed.as_ref().and_then(|_| {
            let counted = composition::per_unit(formula, whole.kind)?;
            Some(moles(whole.base, whole.per, counted))
        }),
        misreading_factor: part.misreading_factor,
    })
}

/// Purity at which no part holds more than printed, mass percent.
fn smallest_purity(predictions: &[(&Part, Prediction)]) -> f64 {
    let purities = predictions.iter().map(|(_, prediction)| 100.0 / (1.0 + prediction.deviation_percent / 100.0));
    purities.fold(f64::INFINITY, f64::min)
}

/// Amount of substance in mmol, of which `counted` base units make one mole.
pub(super) fn moles((low, value, high): (f64, f64, f64), per: Per, counted: f64) -> Bounds {
    let (scale, unit) = match per {
        Per::Item => (1e3, "mmol"),
        Per::Litre => (1.0, "mmol/mL"),
        Per::Gram => (1e3, "mmol/g"),
    };
    let of = |amount: f64| amount * scale / counted;
    Bounds {
        low: of(low),
        value: of(value),
        high: Some(of(high)).filter(|high| high.is_finite()),
        unit: unit.to_owned(),
    }
}

/// The whole as grams of the form, in a unit like the printed one.
fn salt_mass(whole: &Whole, formula: &Formula) -> Option<Bounds> {
    whole.printed.as_ref().and_then(|printed| as_mass(printed, formula))
}

/// An amount of a form in moles or moles of charge as its mass; masses stay what they are.
pub(super) fn as_mass(printed: &Amount, formula: &Formula) -> Option<Bounds> {
    let bounds = Bounds::of(printed);
    if printed.unit.kind == Kind::Mass {
        return Some(bounds);
    }
    let mass = composition::per_unit(formula, Kind::Mass)? / composition::per_unit(formula, printed.unit.kind)?;
    let replacements = [("mEq", "mg"), ("meq", "mg"), ("MEQ", "mg"), ("mval", "mg"), ("Eq", "g"), ("mol", "g")];
    let unit = replacements.iter().fold(bounds.unit.clone(), |unit, (from, to)| unit.replace(from, to));
    Some(Bounds { unit, ..bounds.scaled(mass) })
}

/// What the part would be if the whole were this form, in the part's printed unit.
fn predicted_amount(whole: &Whole, part: &Part, ratio: f64) -> Bounds {
    // The part's base amounts may have been related to another measure than its printed unit.
    let per_printed = part.printed.value / part.base.1;
    let scaled = |base: f64| base * ratio * per_printed;
    let high = scaled(whole.base.2);
    Bounds {
        low: scaled(whole.base.0),
        value: scaled(whole.base.1),
        high: Some(high).filter(|high| high.is_finite()),
        unit: part.printed.unit.text.clone(),
    }
}

/// Whether the assay limits of the article reach into what the label allows; `None` without limits.
fn assay_reaches(candidate: &Candidate, whole: &Whole, part: &Part, element: Element) -> Option<bool> {
    let limits = candidate.form.row?.assay.as_ref()?;
    if whole.kind != Kind::Mass {
        return None;
    }
    let (amount, _) =
        composition::part_of(&limits.reckoned_as, &counted_by(&part.of, element), part.printed.unit.kind)?;
    let ratio = amount / composition::per_unit(&limits.reckoned_as, Kind::Mass)?;
    let (low, high) = labelled_range(whole, part)?;
    Some(ratio * limits.low / 100.0 <= high && ratio * limits.high / 100.0 >= low)
}

fn counted_by(of: &Of, element: Element) -> Of {
    match of {
        Of::Ion | Of::Unsaid => Of::Element(element),
        other => other.clone(),
    }
}

/// Name and synonyms of a row, or a name made from the row without water.
pub(super) fn names(form: &Form) -> Vec<String> {
    if let Some(row) = form.row {
        return row.names().map(str::to_owned).collect();
    }
    let anhydrous = form.formula.without_hydrate_water();
    let same_salt = |row: &&Substance| row.formula.without_hydrate_water().composition() == anhydrous.composition();
    let relative = Substance::all().iter().find(same_salt);
    let Some((row, word)) = relative.zip(substance::hydrate_word(form.formula.hydrate_water())) else {
        return Vec::new();
    };
    let own = substance::hydrate_word(row.formula.hydrate_water()).unwrap_or("");
    let stem = row.name.trim_end_matches(own).trim_end_matches([',', ' ']);
    vec![if word == "anhydrous" { format!("{stem}, {word}") } else { format!("{stem} {word}") }]
}
