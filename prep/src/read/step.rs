//! One `[[step]]` of the file.

use super::amount::{Of, amount, charged_mass};
use super::series::{Weighed, weighed};
use super::{Measures, fraction, knowledge, mass, or_none, shares, tables, time};
use crate::action::{Atmosphere, MANNERS};
use crate::model::{
    Action, ForeignKind, Give, Knowledge, Loss, Part, Reading, Span, Spanned, Step, Take, TakeAmount, Trace,
    VolumeRead, Wash,
};
use crate::syntax::{Fields, inside, suggest};
use chem::reaction::{Equation, Reaction};
use chem::{Dimension, Species, SpeciesPattern, Value as Number};
use toml_edit::TableLike;

pub(super) fn step(fields: &Fields<'_>, measures: &Measures) -> Option<Step> {
    let name = fields.needed_text("name", "\"filter\"");
    let action = action(fields);
    let test = purpose(fields);
    let take = needed_pairs(fields, "take", "{ bluestone = \"50.0 g\", water = \"200 g\" }")
        .into_iter()
        .filter_map(|(source, text)| take(fields, source, &text, measures))
        .collect();
    let reactions = fields.texts("reaction").iter().filter_map(|text| reaction(fields, text)).collect();
    if action.as_ref().is_some_and(|a| a.value.manner().needs_reaction) && fields.item("reaction").is_none() {
        fields.missing("reaction", "[\"…(aq) + …(aq) -> …(s)\"]");
    }
    let conversion = fraction(fields, "conversion");
    let beside = shares(fields, "beside");
    let gives = needed_pairs(fields, "gives", "{ liquor = \"all\" }")
        .into_iter()
        .filter_map(|(lot, text)| give(fields, lot, &text))
        .collect();
    let held_liquor = or_none(fields, "held_liquor", mass);
    let passes = or_none(fields, "passes", fraction);
    let wash = fields.text("wash").and_then(|text| wash(fields, &text));
    let loss = Loss { film: or_none(fields, "film", mass), fraction: or_none(fields, "loss", fraction) };
    let pick_up = pick_up(fields);
    let vessel = fields.text("in");
    let time = time::time(fields);
    let temperature = fields.quantity("temperature", Dimension::TEMPERATURE).map(|q| q.value.text);
    let (may_hold, by_equilibrium) = patterns(fields);
    let quote_as = species_list(fields, "quote_as");
    let trace = traces(fields);
    let by = fields.text("by");
    let atmosphere_text = fields.text("atmosphere");
    let atmosphere = atmosphere_text.as_ref().and_then(|text| atmosphere(fields, text)).unwrap_or_default();
    let crystals = species_list(fields, "crystals");
    let ph = ph(fields);
    let removes = fields.text("removes").and_then(|text| charged_mass(fields, "removes", &text));
    let cautions = fields.texts("caution").into_iter().map(|t| t.value).collect();
    let note = fields.text("note").map(|t| t.value);
    let readings: Vec<_> = tables(fields, "reading").map(|t| reading(&t)).collect();
    let determinations: Vec<_> = tables(fields, "test").map(|t| super::determination::determination(&t)).collect();
    fields.finish();
    Some(Step {
        name: name?,
        understood: action.is_some(),
        action: action.unwrap_or(Spanned { value: Action::Combine, span: fields.span.clone() }),
        test,
        take,
        reactions,
        conversion,
        beside,
        gives,
        held_liquor,
        passes,
        wash,
        by,
        loss,
        pick_up,
        vessel,
        time,
        temperature,
        atmosphere,
        atmosphere_text: atmosphere_text.map(|t| t.value),
        crystals,
        ph,
        removes,
        may_hold,
        by_equilibrium,
        quote_as,
        trace,
        cautions,
        note,
        readings: readings.into_iter().flatten().collect(),
        determinations: determinations.into_iter().flatten().collect(),
        span: fields.span.clone(),
    })
}

/// Pairs of a table that has to be there; one that is there and misread has its finding already.
fn needed_pairs(fields: &Fields<'_>, key: &'static str, example: &str) -> Vec<(Spanned<String>, Spanned<String>)> {
    if fields.item(key).is_none_or(|item| item.as_table_like().is_some_and(TableLike::is_empty)) {
        fields.missing(key, example);
        return Vec::new();
    }
    fields.pairs(key)
}

fn action(fields: &Fields<'_>) -> Option<Spanned<Action>> {
    let text = fields.needed_text("action", "\"dissolve\"")?;
    match Action::from_word(&text.value) {
        Some(value) => Some(Spanned { value, span: text.span }),
        None => {
            let words: Vec<&str> = MANNERS.iter().map(|manner| manner.word).collect();
            let message = format!("`action` of {}: `{}` is no action", fields.what(), text.value);
            fields.findings().error("unknown-action", &text.span, message, suggest(&text.value, &words));
            None
        }
    }
}

fn atmosphere(fields: &Fields<'_>, text: &Spanned<String>) -> Option<Atmosphere> {
    let found = Atmosphere::from_word(&text.value);
    if found.is_none() {
        let words = Atmosphere::WORDS.map(|(word, _)| word);
        let message = format!("`atmosphere` of {}: `{}` is not known", fields.what(), text.value);
        fields.findings().error("unknown-word", &text.span, message, suggest(&text.value, &words));
    }
    found
}

fn species_list(fields: &Fields<'_>, key: &'static str) -> Vec<Spanned<Species>> {
    fields
        .texts(key)
        .iter()
        .filter_map(|t| super::species(fields, key, t).map(|value| Spanned { value, span: t.span.clone() }))
        .collect()
}

/// The pH a step is to bring about, as it would be read.
fn ph(fields: &Fields<'_>) -> Option<Spanned<f64>> {
    let quantity = fields.quantity("ph", Dimension::DIMENSIONLESS)?;
    match quantity.value.si() {
        Number::Point { value, .. } if (-1.0..=15.0).contains(&value) => {
            Some(Spanned { value, span: quantity.span.clone() })
        }
        _ => {
            let message = format!("`ph` of {} is `{}`", fields.what(), quantity.value.text);
            fields.findings().error("out-of-range", &quantity.span, message, "write one number from -1 to 15");
            None
        }
    }
}

fn purpose(fields: &Fields<'_>) -> bool {
    match fields.text("purpose") {
        Some(text) if text.value.trim() == "test" => true,
        Some(text) => {
            let message = format!("`purpose` of {}: `{}` is unknown", fields.what(), text.value);
            fields.findings().error("unknown-word", &text.span, message, "leave it out, or write `purpose = \"test\"`");
            false
        }
        None => false,
    }
}

fn take(fields: &Fields<'_>, source: Spanned<String>, text: &Spanned<String>, measures: &Measures) -> Option<Take> {
    let all = text.value.trim() == "all";
    let measure = measures.get(&source.value).copied().unwrap_or_default();
    let of = Of::charge(&source.value, measure);
    let stated = if all { None } else { amount(fields, &source.value, text, of) };
    let amount = if all {
        TakeAmount::All
    } else {
        TakeAmount::Mass(stated.as_ref().map_or(Knowledge::Exact(0.0), |stated| stated.mass))
    };
    let amount = Spanned { value: amount, span: text.span.clone() };
    Some(Take { source, amount, stated, text: text.value.clone() })
}

fn give(fields: &Fields<'_>, lot: Spanned<String>, text: &Spanned<String>) -> Option<Give> {
    let part = match text.value.trim() {
        "all" => Part::All,
        "solids" => Part::Solids,
        "solution" => Part::Solution,
        "rest" => Part::Rest,
        // A slip in the mass is reported once; the lot is known all the same.
        _ => Part::Mass(charged_mass(fields, &lot.value, text).unwrap_or(Knowledge::Exact(0.0))),
    };
    let part = Spanned { value: part, span: text.span.clone() };
    Some(Give { lot, part, text: text.value.clone() })
}

fn wash(fields: &Fields<'_>, text: &Spanned<String>) -> Option<Wash> {
    let split = text.value.split_once(['x', '×']);
    let parsed = split.and_then(|(times, rest)| Some((times.trim().parse::<usize>().ok()?, rest)));
    let Some((times, rest)) = parsed.filter(|(times, _)| (1..=50).contains(times)) else {
        let message = format!("`wash` of {}: `{}` is not understood", fields.what(), text.value);
        fields.findings().error("bad-quantity", &text.span, message, "write `4 x 100 g`: 1 to 50 portions of one size");
        return None;
    };
    let offset = text.value.len() - rest.len();
    let inner = Spanned { value: rest.to_owned(), span: inside(&text.span, offset, rest.len()) };
    let mass = charged_mass(fields, "wash", &inner)?;
    Some(Wash { times, mass, text: text.value.clone(), span: text.span.clone() })
}

fn reaction(fields: &Fields<'_>, text: &Spanned<String>) -> Option<Spanned<Reaction>> {
    let equation = match Equation::parse(&text.value) {
        Ok(equation) => equation,
        Err(error) => {
            let span = inside(&text.span, error.offset, error.length);
            fields.findings().error("bad-equation", &span, format!("`reaction` of {}: {error}", fields.what()), "");
            return None;
        }
    };
    match Reaction::new(&equation) {
        Ok(value) => Some(Spanned { value, span: text.span.clone() }),
        Err(error) => {
            let message = format!("`reaction` of {}: {error}", fields.what());
            fields.findings().error(
                "unbalanced",
                &text.span,
                message,
                "correct the coefficients, or leave all of them out: they are then filled in",
            );
            None
        }
    }
}

/// Foreign matter by kind; a plain mass is the mean of an exponential.
fn pick_up(fields: &Fields<'_>) -> Vec<(ForeignKind, Knowledge)> {
    let mut list = Vec::new();
    for (kind, text) in fields.pairs("pick_up") {
        let Some(kind) = super::foreign_kind(fields, &kind) else { continue };
        let Some(quantity) = fields.parse_quantity("pick_up", &text, Dimension::MASS) else { continue };
        match knowledge(fields, "pick_up", &quantity, &text.span, f64::INFINITY) {
            Some(Knowledge::Exact(mean)) if mean > 0.0 => list.push((kind, Knowledge::About(mean))),
            Some(known) => list.push((kind, known)),
            None => {}
        }
    }
    list
}

/// What a lot may hold, and where equilibrium is to say so.
fn patterns(fields: &Fields<'_>) -> (Vec<Spanned<SpeciesPattern>>, Option<Span>) {
    let (mut list, mut by_equilibrium) = (Vec::new(), None);
    for text in fields.texts("may_hold") {
        if text.value.trim().eq_ignore_ascii_case(crate::heating::WORD) {
            by_equilibrium = Some(text.span);
            continue;
        }
        match SpeciesPattern::parse(&text.value) {
            Ok(value) => match value.species().formula.molar_mass() {
                Ok(_) => list.push(Spanned { value, span: text.span }),
                Err(error) => {
                    fields.findings().error("no-atomic-weight", &text.span, format!("`may_hold`: {error}"), "");
                }
            },
            Err(error) => {
                if let Some((message, hint)) = crate::screen::refused_by_name(&text.value, "may_hold") {
                    fields.findings().error(crate::screen::OUT_OF_BOUNDS, &text.span, message, hint);
                    continue;
                }
                let span = inside(&text.span, error.offset, error.length);
                fields.findings().error("bad-formula", &span, format!("`may_hold` of {}: {error}", fields.what()), "");
            }
        }
    }
    (list, by_equilibrium)
}

pub(super) fn traces(fields: &Fields<'_>) -> Vec<Trace> {
    let mut list = Vec::new();
    for (key, text) in fields.pairs("trace") {
        // A key carries no quotes of its own where it is bare; point at the whole key.
        let Some(species) = super::species(fields, "trace", &key) else { continue };
        let Some(quantity) = fields.parse_quantity("trace", &text, Dimension::DIMENSIONLESS) else { continue };
        match quantity.si() {
            Number::AtMost(bound) if bound > 0.0 && bound < 1.0 => {
                list.push(Trace { species: Spanned { value: species, span: key.span }, bound });
            }
            _ => {
                let message = format!("`trace` of {}: `{}` is no upper bound below 100 %", fields.what(), text.value);
                fields.findings().error("out-of-range", &text.span, message, "write `\"<= 2 %\"`");
            }
        }
    }
    list
}

fn reading(fields: &Fields<'_>) -> Option<Reading> {
    let id = fields.needed_text("id", "\"r1\"");
    let volume = volume(fields);
    let Weighed { figure, text, series } = weighed(fields);
    let (of, charge, vessel) = (fields.text("of"), fields.text("charge"), fields.text("in"));
    let with = fields.needed_text("with", "\"pocket balance\"");
    let at = fields.text("at").map(|t| t.value);
    let zeroed = fields.text("zeroed").map(|t| t.value);
    let corrects = fields.text("corrects");
    let reason = fields.text("reason").map(|t| t.value);
    let note = fields.text("note").map(|t| t.value);
    fields.finish();
    Some(Reading {
        id: id?,
        weigh: figure,
        volume,
        text,
        series,
        of,
        charge,
        vessel,
        with: with?,
        at,
        zeroed,
        corrects,
        reason,
        note,
    })
}

/// A volume as read; its uncertainty comes from the ware and from its last digit.
fn volume(fields: &Fields<'_>) -> Option<VolumeRead> {
    let quantity = fields.quantity("volume", Dimension::VOLUME)?;
    match quantity.value.si() {
        Number::Point { value, standard_uncertainty: None } if value > 0.0 => Some(VolumeRead {
            figure: value,
            rounding: quantity.value.si_last_place() / 12f64.sqrt(),
            mass: None,
            text: quantity.value.text,
            span: quantity.span,
        }),
        _ => {
            let message = format!("`volume` of {} is `{}`", fields.what(), quantity.value.text);
            let hint = "write the figure as read, above zero; its uncertainty comes from the ware";
            fields.findings().error("out-of-range", &quantity.span, message, hint);
            None
        }
    }
}
