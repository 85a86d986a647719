//! May a single question be answered, and what are the hazards of one substance?
//!
//! What is refused wherever it is named is refused here too, by formula, in any spelling, and by name. Products of a
//! reaction are refused like those of a preparation; chlorine, phosphorus and phosphine, which stand in textbook equations
//! as by-products, are balanced and cautioned. What is merely bought is answered.
//!
//! Source: [`chem::hazard::bounds`].

use super::refuse::OUT_OF_BOUNDS;
use super::words::{help, refusal};
use crate::outcome::{Finding, Severity, SubstanceHazard};
use chem::Species;
use chem::hazard::{Bound, Class, Group, Pair, Place, Reach, When, bound, classes, named, pairs, statements};

/// Share of what was brought from which something is made and no trace.
const NO_TRACE: f64 = 0.01;
/// Mass fraction at which acids of a solution are taken, below what is concentrated.
const DILUTE: f64 = 0.1;

fn finding(severity: Severity, code: &'static str, message: String, hint: &str, text: &str) -> Finding {
    let mut finding = Finding {
        code,
        severity,
        message,
        line: 0,
        column: 0,
        span: Some(0..text.len().max(1)),
        hints: vec![hint.to_owned()],
        causes: Vec::new(),
    };
    crate::syntax::Places::new(text).place(&mut finding);
    finding
}

fn refused(what: &str, found: Bound, text: &str) -> Finding {
    let mut told = finding(Severity::Error, OUT_OF_BOUNDS, refusal(what, found), help(found.group), text);
    if let Ok(species) = Species::parse(text) {
        told.hints.extend(hazards_of(&species).map(|h| hazard_line(&h)));
    }
    told
}

/// A formula with its name, where it is listed.
pub(super) fn called(species: &Species) -> String {
    match statements(&species.formula) {
        Some(known) => format!("`{species}` ({})", known.name),
        None => format!("`{species}`"),
    }
}

/// One line with signal word and statements.
fn hazard_line(hazards: &SubstanceHazard) -> String {
    let codes: Vec<String> =
        hazards.statements.iter().map(|(code, phrase)| format!("{code} {}", phrase.to_lowercase())).collect();
    format!("its hazards: {} {}", hazards.signal.unwrap_or("no signal word,"), codes.join("; "))
}

/// What a question names by words that is refused wherever it is named.
pub(crate) fn named_in(text: &str) -> Option<Finding> {
    let (found, name) = named(text, false).filter(|(found, _)| found.reach == Reach::Always)?;
    Some(refused(&format!("`{name}`"), found, text))
}

/// The refusal of what a field of a file names by words; what is bought or there already may go by such a name.
pub(crate) fn refused_by_name(text: &str, field: &str) -> Option<(String, &'static str)> {
    let (found, name) = named(text, false)?;
    let there = ["holds", "took_up", "trace"].contains(&field);
    (found.reach == Reach::Always || !there).then(|| (refusal(&format!("`{name}`"), found), help(found.group)))
}

/// Refuses what an equilibrium gives, where nobody brought it, in more than a trace: phosphorus, phosphides, phosphine and
/// cyanides out of what is harmless by itself.
pub(crate) fn given<'a>(
    brought: &[(Species, f64)],
    given: impl Iterator<Item = (&'a Species, f64)>,
    text: &str,
) -> Result<(), Vec<Finding>> {
    let most: f64 = brought.iter().map(|(_, amount)| amount).sum();
    let bounds = given.filter(|(_, amount)| *amount > NO_TRACE * most).filter_map(|(species, _)| {
        let found = bound(&species.formula)?;
        let group = matches!(found.group, Group::Phosphorus | Group::Phosphide | Group::Phosphine | Group::Cyanide);
        let was_there = brought.iter().any(|(own, _)| bound(&own.formula).is_some_and(|b| b.group == found.group));
        (group && !was_there).then(|| refused(&format!("{}, given off or left,", called(species)), found, text))
    });
    match bounds.take(1).next() {
        Some(refusal) => Err(vec![refusal]),
        None => Ok(()),
    }
}

/// Refuses substances that are refused wherever they are named; `text` is the question.
pub(crate) fn substances(species: &[Species], text: &str) -> Result<(), Vec<Finding>> {
    if let Some(refusal) = named_in(text) {
        return Err(vec![refusal]);
    }
    let found = species.iter().filter_map(|s| Some((s, bound(&s.formula)?)));
    let list: Vec<Finding> = found
        .filter(|(_, found)| found.reach == Reach::Always)
        .map(|(species, found)| refused(&called(species), found, text))
        .collect();
    if list.is_empty() { Ok(()) } else { Err(list) }
}

/// Refuses what may not be brought together and heated: the question as a preparation of one step passes the same door. Amounts
/// in mol.
pub(crate) fn together(lots: &[(Species, f64)], text: &str) -> Result<(), Vec<Finding>> {
    let mut file = String::from("title = \"Heated together\"\n");
    let mut takes = Vec::new();
    // Gases are the fuel of flames whose temperatures are published; what of them is refused was refused by name.
    let condensed = || lots.iter().filter(|(species, _)| species.phase != Some(chem::Phase::Gas));
    if condensed().next().is_none() {
        return Ok(());
    }
    for (place, (species, amount)) in condensed().enumerate() {
        let phase = species.phase.unwrap_or(chem::Phase::Solid);
        let whole = Species::new(species.formula.clone(), Some(phase));
        let grams = amount * species.formula.molar_mass().map_or(1.0, |mass| mass.value);
        file += &format!("[[supply]]\nname = \"lot {place}\"\nholds = \"{whole}\"\nassay = \"99 .. 100 %\"\n");
        takes.push(format!("\"lot {place}\" = \"{:.9} g\"", grams.clamp(1e-6, 1e9)));
    }
    file += &format!(
        "[[step]]\nname = \"of the question\"\naction = \"ignite\"\ntake = {{ {} }}\ngives = {{ residue = \"all\" }}\n",
        takes.join(", ")
    );
    let prussiate = |(species, _): &&(Species, f64)| {
        classes(&species.formula, species.phase, 1.0).contains(&Class::Hexacyanoferrate)
    };
    if let Some((species, _)) = condensed().find(prussiate) {
        let found = Bound { group: Group::Cyanide, reach: Reach::Made };
        return Err(vec![refused(&format!("{}, heated,", called(species)), found, text)]);
    }
    let refusals: Vec<Finding> = crate::read(file.as_bytes())
        .findings
        .into_iter()
        .filter(|found| found.code == OUT_OF_BOUNDS)
        .map(|found| {
            let hint = found.hints.first().cloned().unwrap_or_default();
            finding(Severity::Error, OUT_OF_BOUNDS, found.message, &hint, text)
        })
        .collect();
    if refusals.is_empty() { Ok(()) } else { Err(refusals) }
}

/// Judges the sides of a reaction: refusals as the error, cautions otherwise. `hot` is asked of what is heated together.
pub(crate) fn products(
    left: &[Species],
    right: &[Species],
    hot: bool,
    text: &str,
) -> Result<Vec<Finding>, Vec<Finding>> {
    let all: Vec<Species> = left.iter().chain(right).cloned().collect();
    substances(&all, text)?;
    let (mut refusals, mut cautions) = (Vec::new(), Vec::new());
    for species in right {
        let Some(found) = bound(&species.formula) else { continue };
        match found.group {
            Group::NitricAcid if driven_off(left, species) => {
                refusals.push(refused(&format!("{}, driven off its salt,", called(species)), found, text));
            }
            Group::NitricAcid | Group::ConcentratedPeroxide | Group::UnknownOrganic => {}
            _ if species.formula.charge() != 0 => cautions.push(on_paper(species, found, text)),
            Group::Chlorine | Group::Phosphorus | Group::Phosphine | Group::SpecialMetal => {
                cautions.push(on_paper(species, found, text));
            }
            _ => refusals.push(refused(&format!("{} as a product", called(species)), found, text)),
        }
    }
    if let Some(pair) = burning(left) {
        cautions.push(finding(
            Severity::Caution,
            "metal-reduction",
            format!("`{}` with `{}` dry burns by itself once started, white-hot, and cannot be put out", pair.0, pair.1),
            "dry by constant mass, grams, distance, nothing closed, no water, outdoors behind a shield; never ground together; let it burn out on dry sand; local law first",
            text,
        ));
    }
    if let Some((one, other)) = oxidiser_and_fuel(left) {
        cautions.push(finding(
            Severity::Caution,
            "incompatible",
            format!("`{one}` with `{other}`, dry, burns or explodes: no preparation with it is taken"),
            "the equation is balanced as a warning; amounts and heat are refused",
            text,
        ));
    }
    cautions.extend(meetings(left, hot, text));
    if refusals.is_empty() { Ok(cautions) } else { Err(refusals) }
}

/// Whether nitric acid leaves a nitrate as a gas or as the strong liquid.
fn driven_off(left: &[Species], product: &Species) -> bool {
    let nitrate = |s: &Species| classes(&s.formula, s.phase, 1.0).contains(&Class::Nitrate);
    matches!(product.phase, Some(chem::Phase::Gas | chem::Phase::Liquid)) && left.iter().any(nitrate)
}

/// Judges a question that goes on to amounts: beside [`products`], what is bounded is refused on both sides, and a dry mix
/// of a strong oxidiser with what burns.
pub(crate) fn amounts(left: &[Species], right: &[Species], text: &str) -> Result<(), Vec<Finding>> {
    let mut refusals: Vec<Finding> = Vec::new();
    for species in left.iter().chain(right).filter(|species| species.formula.charge() == 0) {
        let Some(found) = bound(&species.formula) else { continue };
        match found.group {
            Group::NitricAcid | Group::ConcentratedPeroxide | Group::UnknownOrganic => {}
            _ => refusals.push(refused(&format!("{}, with amounts,", called(species)), found, text)),
        }
    }
    if let Some((one, other)) = oxidiser_and_fuel(left) {
        let found = Bound { group: Group::Explosive, reach: Reach::Made };
        refusals.push(refused(&format!("`{one}` with `{other}`, dry,"), found, text));
    }
    if refusals.is_empty() { Ok(()) } else { Err(refusals) }
}

/// A strong oxidiser and what burns, both on one side without water.
fn oxidiser_and_fuel(left: &[Species]) -> Option<(Species, Species)> {
    use chem::Phase;
    const OXIDISERS: [Class; 6] = [
        Class::Chlorate,
        Class::Permanganate,
        Class::Persulfate,
        Class::Nitrate,
        Class::AmmoniumNitrate,
        Class::Peroxide,
    ];
    const FUELS: [Class; 7] = [
        Class::Carbon,
        Class::Sulfur,
        Class::Sugar,
        Class::ActiveMetal,
        Class::MetalPowder,
        Class::Solvent,
        Class::Polyol,
    ];
    let wet = |s: &Species| s.phase == Some(Phase::Aqueous) || s.formula.same_substance(&chem::Formula::water());
    if left.iter().any(wet) {
        return None;
    }
    let of = |list: &[Class]| {
        let has = |s: &&Species| list.iter().any(|class| classes(&s.formula, s.phase, 1.0).contains(class));
        left.iter().filter(|s| s.phase != Some(Phase::Gas)).find(has).cloned()
    };
    of(&OXIDISERS).zip(of(&FUELS)).filter(|(one, other)| one != other)
}

/// A product that is balanced and not made.
fn on_paper(species: &Species, found: Bound, text: &str) -> Finding {
    let message = format!(
        "{} on the right is out of bounds as something to make: the equation is balanced, no preparation with it is taken",
        called(species)
    );
    finding(Severity::Caution, "bounded-product", message, help(found.group), text)
}

/// What burns with a reducing metal on one side.
fn burning(left: &[Species]) -> Option<(Species, Species)> {
    use chem::Phase;
    let dry = |s: &&Species| !matches!(s.phase, Some(Phase::Aqueous | Phase::Gas));
    if left.iter().any(|s| s.phase == Some(Phase::Aqueous) || s.formula.same_substance(&chem::Formula::water())) {
        return None;
    }
    let metal = left.iter().filter(dry).find(|s| chem::hazard::class::is_reducing_metal(&s.formula))?;
    let symbol = metal.formula.elements().next()?.0.symbol();
    let oxide = left.iter().filter(dry).find(|s| chem::hazard::class::burns_with(&s.formula, symbol))?;
    Some((oxide.clone(), metal.clone()))
}

/// What of a question does not belong together: always; when hot, where it is heated; when dry, where each phase is written
/// and none is a solution. What is written as a liquid is taken at its strongest.
pub(crate) fn meetings(brought: &[Species], hot: bool, text: &str) -> Vec<Finding> {
    use chem::Phase;
    let strength = |s: &Species| if s.phase == Some(Phase::Liquid) { 1.0 } else { DILUTE };
    let listed: Vec<_> = brought.iter().map(|s| (s, classes(&s.formula, s.phase, strength(s)))).collect();
    let wet = |s: &Species| s.phase == Some(Phase::Aqueous) || s.formula.same_substance(&chem::Formula::water());
    let dry = brought.iter().all(|s| s.phase.is_some() && !wet(s));
    let strong = |s: &Species| matches!(s.phase, Some(Phase::Liquid | Phase::Solid));
    let holds = |pair: &Pair, one: &Species, other: &Species| match pair.when {
        When::Always | When::Damp => true,
        When::Hot => hot,
        // A metal with an oxide is told as such.
        When::Dry => dry && pair.other != Class::OxideOxidiser,
        When::Solid => one.phase == Some(Phase::Solid),
        When::Concentrated => strong(one) && strong(other),
    };
    let mut list: Vec<Finding> = Vec::new();
    let mut tell = |message: String| {
        let hint = "`gas` tells litres and room for a reaction; `plan` screens a whole preparation";
        let told = finding(Severity::Caution, "incompatible", message, hint, text);
        if !list.iter().any(|known| known.message == told.message) {
            list.push(told);
        }
    };
    for pair in pairs().iter().filter(|pair| pair.matters(Place::Step)) {
        for (one, _) in listed.iter().filter(|(_, own)| own.contains(&pair.one)) {
            for (other, _) in listed.iter().filter(|(s, own)| own.contains(&pair.other) && s != one) {
                if holds(pair, one, other) {
                    tell(format!("`{one}` meets `{other}`: {} ({})", pair.reason, pair.danger));
                }
            }
        }
    }
    let of = |class: Class| listed.iter().find(|(_, own)| own.contains(&class)).map(|(species, _)| *species);
    if let (Some(nitrate), Some(acid), Some(metal)) =
        (of(Class::Nitrate), of(Class::StrongAcid), of(Class::MetalPowder))
    {
        tell(format!(
            "`{nitrate}` meets `{acid}` and `{metal}`: nitrate, acid and metal give nitrogen oxides, whose harm to the lungs shows hours later (toxic gas)"
        ));
    }
    list
}

/// What the text of a label names that is out of bounds: by name, or by a formula that stands in it.
pub(crate) fn labelled(text: &str) -> Option<Finding> {
    if let Some((found, name)) = named(text, false) {
        return Some(match found.reach {
            Reach::Always => refused(&format!("`{name}`"), found, text),
            Reach::Made => bought(name, found, text),
        });
    }
    let words = text.split(|c: char| c.is_whitespace() || ",;:=".contains(c)).filter(|w| w.len() > 2);
    for word in words {
        let Ok(species) = Species::parse(word) else { continue };
        let alone = word == text.trim() || word.chars().any(|c| c.is_ascii_digit());
        let two = species.formula.composition().len() > 1 && alone;
        match bound(&species.formula).filter(|_| two) {
            Some(found) if found.reach == Reach::Always => return Some(refused(&format!("`{species}`"), found, text)),
            Some(found) if found.group != Group::UnknownOrganic => return Some(bought(word, found, text)),
            _ => {}
        }
    }
    None
}

fn bought(name: &str, found: Bound, text: &str) -> Finding {
    let message = format!("`{name}` may be used as it is bought; as something made or collected it is out of bounds");
    finding(Severity::Caution, "bounded-reagent", message, help(found.group), text)
}

/// The hazard statements of a substance; nothing where none are listed.
#[must_use]
pub fn hazards_of(species: &Species) -> Option<SubstanceHazard> {
    let found = statements(&species.formula)?;
    Some(SubstanceHazard {
        substance: species.to_string(),
        name: found.name.to_owned(),
        signal: found.signal().map(chem::hazard::Signal::word),
        statements: found.statements.iter().map(|s| (s.code, s.phrase)).collect(),
        pictograms: found.pictograms(),
        comment: found.comment,
        remarks: Vec::new(),
        sources: found.sources.iter().map(|s| s.citation()).collect(),
    })
}
