//! Which of the amounts on a label is the whole, which are parts, and what follows?
//!
//! The whole is the amount of a substance, or the product itself where only percentages are printed. Parts are
//! elements, ions and oxides. A label that names an element and a form (`zinc 23 mg, as gluconate`) gives no ratio; it
//! is read as printed, and the reading it is often given by mistake stands beside it.

use super::composition::{self, Of};
use super::explain::{self, Part, Whole};
use super::finding::{FindingKind, LabelFinding};
use super::printed::{Amount, Kind, Limit, Per};
use super::statement::{Claim, Statements};
use super::subject::{Form, Named, Subject};
use super::{Bounds, ClaimBasis, ElementContent, Explanation, LabelReading};
use crate::element::Element;
use crate::formula::Formula;
use crate::substance::Substance;

/// Grams of a form per litre in one percent by volume.
const PERCENT_BY_VOLUME: f64 = 10.0;

/// The claims of a label by their part in it.
struct Sorted {
    whole: Option<(Amount, Option<Named>)>,
    parts: Vec<(Of, Amount)>,
    /// Size of the pack, litres.
    pack: Option<f64>,
}

pub(super) fn interpret(text: &str, statements: Statements) -> LabelReading {
    let mut reading = LabelReading { text: text.to_owned(), ..LabelReading::default() };
    let sorted = sort(&statements);
    reading.findings.extend(statements.findings.iter().cloned());
    reading.contents = contents(&sorted.parts);
    notes(&statements, &sorted, &mut reading);
    let product = statements.bare.first();
    let percentages = sorted.parts.iter().all(|(_, amount)| amount.unit.per == Per::Gram);
    match &sorted.whole {
        Some((amount, named)) if !sorted.parts.is_empty() => {
            let named = named.as_ref().or(product).or(statements.forms.first());
            ratio(amount, named, &sorted, &statements, &mut reading);
        }
        Some((amount, Some(named))) => of_salt(amount, named, &mut reading),
        _ if !statements.forms.is_empty() && !sorted.parts.is_empty() => {
            of_element(&sorted.parts, &statements.forms, &mut reading);
        }
        _ if !sorted.parts.is_empty() && percentages => of_product(product, &sorted, &statements, &mut reading),
        _ if !sorted.parts.is_empty() => of_element(&sorted.parts, &statements.bare, &mut reading),
        _ => names_only(&statements, &mut reading),
    }
    reading
}

/// Sorts the claims; a label in moles with a mass beside it has the mass as its whole.
fn sort(statements: &Statements) -> Sorted {
    let mut sorted = Sorted { whole: None, parts: Vec::new(), pack: None };
    let mut nameless: Vec<Amount> = Vec::new();
    let substances = statements.claims.iter().filter(|claim| is_substance(claim)).count() + statements.bare.len();
    for claim in &statements.claims {
        let amount = claim.amount.clone();
        match &claim.subject {
            _ if amount.value <= 0.0 => {}
            _ if amount.unit.kind == Kind::Volume => {
                if amount.unit.per == Per::Item {
                    sorted.pack = Some(amount.base().1);
                }
            }
            Some(Subject::Element(element)) => sorted.parts.push((Of::Element(*element), amount)),
            Some(Subject::Substance(named)) => sort_substance(named, amount, substances, &mut sorted),
            None if amount.unit.kind == Kind::Mass => nameless.push(amount),
            None => sorted.parts.push((Of::Ion, amount)),
        }
    }
    sort_nameless(nameless, &mut sorted);
    sorted
}

fn is_substance(claim: &Claim) -> bool {
    matches!(claim.subject, Some(Subject::Substance(_)))
}

fn sort_substance(named: &Named, amount: Amount, substances: usize, sorted: &mut Sorted) {
    let Some(first) = named.forms.first() else { return };
    let only_reckoned = first.row.is_some_and(Substance::is_reckoning_only);
    let by_formula = named.as_formula && (amount.unit.per == Per::Gram || substances > 1);
    if let Some(element) = composition::reckoned_element(&first.formula).filter(|_| only_reckoned || by_formula) {
        sorted.parts.push((Of::Reckoned(first.formula.clone(), element), amount));
        return;
    }
    match &sorted.whole {
        None => sorted.whole = Some((amount, Some(named.clone()))),
        // `ferrous sulfate 200 mg = anhydrous 170 mg`: one salt reckoned as another.
        Some((_, Some(whole))) => {
            let element = whole.forms.first().and_then(|form| composition::principal(&form.formula));
            if let Some(element) = element.filter(|element| first.formula.composition().contains_key(element)) {
                sorted.parts.push((Of::Reckoned(first.formula.clone(), element), amount));
            }
        }
        Some((_, None)) => {}
    }
}

/// Amounts that say no name: a whole beside its part, or the larger and the smaller.
fn sort_nameless(mut nameless: Vec<Amount>, sorted: &mut Sorted) {
    nameless.sort_by(|one, other| other.base().1.total_cmp(&one.base().1));
    let mut nameless = nameless.into_iter();
    let counted_whole = sorted.whole.as_ref().is_some_and(|(amount, _)| amount.unit.kind != Kind::Mass);
    if counted_whole && let Some(mass) = nameless.next() {
        if let Some((counted, named)) = sorted.whole.take() {
            sorted.parts.push((Of::Ion, counted));
            sorted.whole = Some((mass, named));
        }
    } else if sorted.whole.is_none()
        && let Some(largest) = nameless.next()
    {
        sorted.whole = Some((largest, None));
    }
    sorted.parts.extend(nameless.map(|amount| (Of::Unsaid, amount)));
}

/// What the figures state of elements, directly or by an oxide.
fn contents(parts: &[(Of, Amount)]) -> Vec<ElementContent> {
    let stated = parts.iter().filter(|(_, amount)| amount.unit.kind == Kind::Mass);
    stated
        .filter_map(|(of, amount)| match of {
            Of::Element(element) => {
                Some(ElementContent { element: *element, basis: ClaimBasis::AsElement, amount: Bounds::of(amount) })
            }
            Of::Reckoned(formula, element) => Some(ElementContent {
                element: *element,
                basis: ClaimBasis::AsOxide,
                amount: Bounds::of(amount).scaled(composition::mass_fraction(formula, *element)?),
            }),
            Of::Ion | Of::Unsaid => None,
        })
        .collect()
}

/// Findings that hold whatever the reading.
fn notes(statements: &Statements, sorted: &Sorted, reading: &mut LabelReading) {
    for (of, amount) in &sorted.parts {
        if let Of::Reckoned(oxide, element) = of
            && let Some(factor) = composition::mass_fraction(oxide, *element)
        {
            let kind = FindingKind::ReckonedAsOxide { oxide: oxide.clone(), element: *element, factor };
            reading.findings.push(LabelFinding { offset: amount.offset, length: amount.length, kind });
        }
    }
    let percent_sum: f64 =
        reading.contents.iter().filter(|content| content.amount.unit == "%").map(|c| c.amount.low).sum();
    if percent_sum > 100.0 {
        push(reading, FindingKind::MoreThanWhole);
    }
    for claim in statements.claims.iter().filter(|claim| claim.amount.limit != Limit::None) {
        let (offset, length) = (claim.amount.offset, claim.amount.length);
        reading.findings.push(LabelFinding { offset, length, kind: FindingKind::OnlyALimit });
    }
    if statements.liquid {
        for claim in statements.claims.iter().filter(|claim| claim.amount.unit.bare_percent) {
            let (offset, length) = (claim.amount.offset, claim.amount.length);
            reading.findings.push(LabelFinding { offset, length, kind: FindingKind::PercentBasisNotSaid });
        }
    }
}

fn push(reading: &mut LabelReading, kind: FindingKind) {
    let finding = LabelFinding { offset: 0, length: 0, kind };
    if !reading.findings.contains(&finding) {
        reading.findings.push(finding);
    }
}

/// A salt with parts of it: the ratio speaks.
fn ratio(amount: &Amount, named: Option<&Named>, sorted: &Sorted, statements: &Statements, reading: &mut LabelReading) {
    let mut whole =
        Whole { kind: amount.unit.kind, base: amount.base(), per: amount.unit.per, printed: Some(amount.clone()) };
    let by_volume = sorted.pack.is_some() || sorted.parts.iter().any(|(_, part)| part.unit.per == Per::Litre);
    if amount.unit.bare_percent && by_volume {
        whole.base = scaled((amount.low, amount.value, amount.high), PERCENT_BY_VOLUME);
        whole.per = Per::Litre;
        push(reading, FindingKind::TakenAsWeightPerVolume);
    }
    let mut parts = Vec::new();
    let mut by_product = Vec::new();
    for (of, printed) in &sorted.parts {
        let of = said_by_name(of, named, printed.unit.kind);
        let part = |base| Part { of: of.clone(), base, printed: printed.clone(), misreading_factor: None };
        match (whole.per, printed.unit.per, sorted.pack) {
            (whole_per, per, _) if whole_per == per => parts.push(part(printed.base())),
            (Per::Litre, Per::Item, Some(pack)) => parts.push(part(scaled(printed.base(), 1.0 / pack))),
            (Per::Item, Per::Litre, Some(pack)) => parts.push(part(scaled(printed.base(), pack))),
            (_, Per::Gram, _) => by_product.push(part(printed.base())),
            _ => push(reading, FindingKind::NotComparable),
        }
    }
    // Percentages beside an amount of the salt are of the salt.
    if parts.is_empty() && !by_product.is_empty() {
        parts = by_product;
        whole = Whole { kind: Kind::Mass, base: (1.0, 1.0, 1.0), per: Per::Gram, printed: None };
    }
    if parts.is_empty() {
        if let Some(named) = named {
            of_salt(amount, named, reading);
        }
        return;
    }
    let comparable = |part: &Part| part.printed.unit.kind == Kind::Mass && whole.kind == Kind::Mass;
    if parts.iter().any(|part| comparable(part) && matches!(part.of, Of::Element(_)) && part.base.0 > whole.base.2) {
        push(reading, FindingKind::MoreThanWhole);
    }
    if named.is_none() {
        push(reading, FindingKind::NoSubstance);
    }
    reading.readings = explain::explain(&whole, named, &parts, statements.pharmacopoeial);
    judge(named, reading);
}

/// An ion or a part without a name is that of the named salt.
fn said_by_name(of: &Of, named: Option<&Named>, kind: Kind) -> Of {
    let salt = named.and_then(|named| named.forms.first()).map(|form| &form.formula);
    let element = match of {
        Of::Ion if kind == Kind::Equivalents => salt.and_then(composition::ion),
        Of::Ion | Of::Unsaid => salt.and_then(composition::principal),
        Of::Element(_) | Of::Reckoned(..) => None,
    };
    element.map_or_else(|| of.clone(), Of::Element)
}

fn scaled((low, value, high): (f64, f64, f64), factor: f64) -> (f64, f64, f64) {
    (low * factor, value * factor, high * factor)
}

/// Percentages of the product itself.
fn of_product(product: Option<&Named>, sorted: &Sorted, statements: &Statements, reading: &mut LabelReading) {
    let whole = Whole { kind: Kind::Mass, base: (1.0, 1.0, 1.0), per: Per::Gram, printed: None };
    let parts: Vec<Part> = sorted
        .parts
        .iter()
        .map(|(of, amount)| Part {
            of: of.clone(),
            base: amount.base(),
            printed: amount.clone(),
            misreading_factor: None,
        })
        .collect();
    reading.readings = explain::explain(&whole, product, &parts, statements.pharmacopoeial);
    judge(product, reading);
    let turned: Vec<Part> = parts.iter().filter_map(turned).collect();
    if !turned.is_empty() && turned.len() == parts.len() {
        let mut others = explain::explain(&whole, product, &turned, false);
        others.retain(|other| other.plausible);
        // What fits on the other basis comes behind what fits as printed.
        let place = reading.readings.iter().position(|reading| !reading.plausible).unwrap_or(reading.readings.len());
        reading.readings.splice(place..place, others);
    }
    reading.readings.extend(parts.iter().filter_map(taken_as_element));
}

/// The figure of an element taken as that of the oxide labels reckon it in.
fn turned(part: &Part) -> Option<Part> {
    let Of::Element(element) = &part.of else { return None };
    let oxide = composition::reckoning_of(*element)?;
    let factor = composition::mass_fraction(&oxide, *element)?;
    Some(Part { of: Of::Reckoned(oxide, *element), misreading_factor: Some(factor), ..part.clone() })
}

/// The figure of an oxide taken for the element, as a reading of its own.
fn taken_as_element(part: &Part) -> Option<Explanation> {
    let Of::Reckoned(oxide, element) = &part.of else { return None };
    let fraction = composition::mass_fraction(oxide, *element)?;
    let amount = Bounds::of(&part.printed);
    let mut explanation = plain(&form_of(oxide), ClaimBasis::AsElement, Some(*element));
    explanation.substance_amount = Some(amount.scaled(1.0 / fraction));
    explanation.element_amount = Some(amount);
    explanation.plausible = false;
    explanation.misreading_factor = Some(fraction);
    Some(explanation)
}

fn form_of(formula: &Formula) -> Form {
    let row = Substance::all().iter().find(|row| row.formula == *formula);
    Form { formula: formula.clone(), row }
}

/// A reading without a ratio.
fn plain(form: &Form, basis: ClaimBasis, element: Option<Element>) -> Explanation {
    Explanation {
        substance: form.formula.clone(),
        names: explain::names(form),
        basis,
        element,
        listed: form.row.is_some(),
        named: true,
        predicted_ratio: None,
        predicted: None,
        deviation_percent: None,
        explains_within_percent: None,
        plausible: true,
        within_assay_limits: None,
        implied_purity_percent: None,
        substance_amount: None,
        amount_of_substance: None,
        element_amount: None,
        misreading_factor: None,
    }
}

/// Only an amount of a salt: its forms, each with the element in it.
fn of_salt(amount: &Amount, named: &Named, reading: &mut LabelReading) {
    for form in &named.forms {
        let element = composition::principal(&form.formula);
        let mut explanation = plain(form, ClaimBasis::AsSalt, element);
        explanation.substance_amount = explain::as_mass(amount, &form.formula);
        explanation.amount_of_substance = composition::per_unit(&form.formula, amount.unit.kind)
            .map(|counted| explain::moles(amount.base(), amount.unit.per, counted));
        let fraction = element.and_then(|element| composition::mass_fraction(&form.formula, element));
        explanation.element_amount =
            explanation.substance_amount.as_ref().zip(fraction).map(|(mass, fraction)| mass.scaled(fraction));
        reading.readings.push(explanation);
    }
    several(named, reading);
}

/// An element with the form it is in: as printed, and mistaken for the salt.
fn of_element(parts: &[(Of, Amount)], forms: &[Named], reading: &mut LabelReading) {
    let mut mistaken = Vec::new();
    for (of, amount) in parts {
        let Some(element) = composition::needed(of) else { continue };
        let inside = |form: &&Form| form.formula.composition().contains_key(&element);
        let bringing: Vec<&Form> = forms.iter().flat_map(|named| named.forms.iter().filter(inside)).collect();
        if bringing.is_empty() {
            push(reading, FindingKind::FormNotSaid { element });
            let alone = Formula::parse(element.symbol()).ok().map(|formula| Form { formula, row: None });
            reading.readings.extend(alone.and_then(|form| as_printed(&form, of, amount)));
        }
        for form in &bringing {
            reading.readings.extend(as_printed(form, of, amount));
            mistaken.extend(as_salt(form, element, amount));
        }
        if let Some((form, fraction)) = bringing
            .first()
            .and_then(|form| Some((form, composition::mass_fraction(&form.formula, element)?)))
            .filter(|_| matches!(of, Of::Element(_)) && amount.unit.kind == Kind::Mass)
        {
            let kind = FindingKind::ElementNotSalt { element, salt: form.formula.clone(), factor: 1.0 / fraction };
            reading.findings.push(LabelFinding { offset: amount.offset, length: amount.length, kind });
        }
    }
    reading.readings.extend(mistaken);
    if reading.readings.is_empty() {
        push(reading, FindingKind::NoSubstance);
    }
    for named in forms {
        several(named, reading);
    }
}

/// The figure as the element's, or as its oxide's.
fn as_printed(form: &Form, of: &Of, amount: &Amount) -> Option<Explanation> {
    let (counted, element) = composition::part_of(&form.formula, of, amount.unit.kind)?;
    let salt_per_part = composition::per_unit(&form.formula, Kind::Mass)? / counted;
    let fraction = composition::mass_fraction(&form.formula, element)?;
    let basis = if matches!(of, Of::Reckoned(..)) { ClaimBasis::AsOxide } else { ClaimBasis::AsElement };
    let unit = explain::as_mass(amount, &form.formula)?.unit;
    let mass = Bounds { unit, ..Bounds::of(amount).scaled(salt_per_part) };
    let mut explanation = plain(form, basis, Some(element));
    explanation.element_amount = Some(mass.scaled(fraction));
    explanation.substance_amount = Some(mass);
    explanation.amount_of_substance = Some(explain::moles(amount.base(), amount.unit.per, counted));
    Some(explanation)
}

/// The figure mistaken for the salt's.
fn as_salt(form: &Form, element: Element, amount: &Amount) -> Option<Explanation> {
    let fraction = composition::mass_fraction(&form.formula, element).filter(|_| amount.unit.kind == Kind::Mass)?;
    let mut explanation = plain(form, ClaimBasis::AsSalt, Some(element));
    let mass = Bounds::of(amount);
    explanation.element_amount = Some(mass.scaled(fraction));
    explanation.substance_amount = Some(mass);
    explanation.plausible = false;
    explanation.misreading_factor = Some(1.0 / fraction);
    Some(explanation)
}

/// Names without amounts.
fn names_only(statements: &Statements, reading: &mut LabelReading) {
    for named in statements.bare.iter().chain(&statements.forms) {
        for form in &named.forms {
            let element = composition::principal(&form.formula);
            let mut explanation = plain(form, ClaimBasis::AsSalt, element);
            let fraction = element.and_then(|element| composition::mass_fraction(&form.formula, element));
            explanation.element_amount = fraction.map(|fraction| Bounds::exactly(fraction * 100.0, "%"));
            reading.readings.push(explanation);
        }
        several(named, reading);
    }
    if statements.claims.is_empty() {
        push(reading, FindingKind::NoAmount);
    }
    if reading.readings.is_empty() {
        push(reading, FindingKind::NoSubstance);
    }
}

fn several(named: &Named, reading: &mut LabelReading) {
    if named.forms.len() > 1 {
        let forms = named.forms.iter().map(|form| form.formula.clone()).collect();
        push(reading, FindingKind::SeveralForms { name: named.text.clone(), forms });
    }
}

/// What the comparison says about the label as a whole.
fn judge(named: Option<&Named>, reading: &mut LabelReading) {
    let fitting: Vec<&Explanation> = reading.readings.iter().filter(|reading| reading.plausible).collect();
    let kind = match (fitting.first(), named.map(|named| named.forms.as_slice())) {
        (None, _) => {
            // Readings come best first; with a salt printed, the smallest deviation counts whatever its sign.
            let near = |one: &&Explanation, other: &&Explanation| {
                let deviation = |reading: &Explanation| reading.explains_within_percent.unwrap_or(f64::INFINITY);
                deviation(one).total_cmp(&deviation(other))
            };
            let of_salt = reading.readings.iter().filter(|near| near.basis == ClaimBasis::AsSalt).min_by(near);
            let nearest = of_salt.or(reading.readings.first());
            let nearest = nearest.and_then(|near| Some((near.substance.clone(), near.implied_purity_percent?)));
            Some(FindingKind::NothingFits { nearest })
        }
        (Some(best), Some([only])) if !fitting.iter().any(|fit| fit.substance == only.formula) => {
            Some(FindingKind::NamedFormDoesNotFit { named: only.formula.clone(), fits: best.substance.clone() })
        }
        _ if fitting.len() > 1 => Some(FindingKind::SeveralFit { count: fitting.len() }),
        _ => None,
    };
    if let Some(kind) = kind {
        push(reading, kind);
    }
}
