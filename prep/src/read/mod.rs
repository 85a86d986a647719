//! From the text of a file to a preparation and all its findings.
//!
//! The order is: bytes that are no text, TOML syntax, tables and fields ([`fields`](self)), steps
//! ([`step`]), then [`crate::check`] for what only the whole file can tell.

mod amount;
mod determination;
mod label;
mod learn;
mod origin;
mod price;
mod safety;
mod series;
mod step;
mod supply;
mod time;
mod ware;

use crate::check;
use crate::losses;
use crate::model::{
    AuthorWords, ForeignKind, Instrument, Knowledge, Measure, Preparation, Span, Spanned, Step, Supposition, Target,
    Vessel, Ware,
};
use crate::outcome::{Finding, Severity};
use crate::syntax::{Fields, Findings, inside, suggest};
use crate::world::{Nowhere, World};
use chem::{Dimension, Element, Species, Value as Number};
use std::collections::HashMap;
use toml_edit::{Document, Item, Table, TableLike};

/// Largest file that is read, bytes.
pub const LARGEST_FILE: usize = 4_000_000;

/// How each supply may be measured.
type Measures = HashMap<String, Measure>;

/// What reading a file gave.
#[derive(Clone, Debug)]
pub struct Reading {
    /// The preparation, unless a finding is an error.
    pub preparation: Option<Preparation>,
    /// All findings, in file order.
    pub findings: Vec<Finding>,
}

/// Reads a preparation file. Never fails: what is wrong comes back as findings.
#[must_use]
pub fn read(bytes: &[u8]) -> Reading {
    read_beside(bytes, &Nowhere)
}

/// Reads a preparation file that may take lots of other files.
#[must_use]
pub fn read_beside(bytes: &[u8], world: &dyn World) -> Reading {
    read_at(bytes, world, &[])
}

/// Reads a file that the files named `within` take lots from.
fn read_at(bytes: &[u8], world: &dyn World, within: &[&str]) -> Reading {
    let findings = Findings::default();
    let text = match decode(bytes, &findings) {
        Some(text) => text,
        None => return Reading { preparation: None, findings: findings.finish("") },
    };
    let preparation = match Document::parse(text) {
        Ok(document) => Some(preparation(document.as_table(), text, &findings, (world, within))),
        Err(error) => {
            let span = error.span().unwrap_or(0..text.len().min(1));
            let message = format!("the file is not valid TOML here: {}", error.message().trim());
            let hint = "text goes in \"quotes\"; a list is [a, b]; a table begins with [name] or [[name]]; other slips are looked for once this is mended";
            findings.error("toml-syntax", &span, message, hint);
            None
        }
    };
    let findings = findings.finish(text);
    let broken = findings.iter().any(|f| f.severity == Severity::Error);
    Reading { preparation: preparation.filter(|_| !broken), findings }
}

/// The bytes as text, if they can be a preparation file at all.
fn decode<'a>(bytes: &'a [u8], findings: &Findings) -> Option<&'a str> {
    let refuse = |code, message: String, hint: &str| {
        findings.error(code, &(0..0), message, hint);
        None
    };
    if bytes.len() > LARGEST_FILE {
        // Rounded up, so that the size told is never one that would be taken.
        let [size, most] = [bytes.len(), LARGEST_FILE].map(|bytes| bytes.div_ceil(100_000));
        let message = format!(
            "the file has {}.{} MB; a preparation file has at most {}.{} MB",
            size / 10,
            size % 10,
            most / 10,
            most % 10
        );
        return refuse("file-too-large", message, "give the TOML file of one preparation");
    }
    let text = match std::str::from_utf8(bytes) {
        Ok(text) => text,
        Err(error) => {
            let line = bytes.iter().take(error.valid_up_to()).filter(|b| **b == b'\n').count() + 1;
            let message = format!("the file is not UTF-8 text (line {line}, byte {})", error.valid_up_to() + 1);
            return refuse("not-text", message, "save it as UTF-8 text, or give the TOML file of a preparation");
        }
    };
    if text.contains('\0') {
        return refuse(
            "not-text",
            "the file holds zero bytes: it is no text".into(),
            "give the TOML file of a preparation",
        );
    }
    if text.trim_start_matches('\u{feff}').trim().is_empty() {
        let hint = "begin with `title = \"…\"`, a `[[supply]]` and a `[[step]]`";
        return refuse("empty-file", "the file is empty".into(), hint);
    }
    Some(text)
}

fn preparation(root: &Table, text: &str, findings: &Findings, (world, within): (&dyn World, &[&str])) -> Preparation {
    let fields = Fields::new(root, 0..text.len().min(1), "the preparation", findings);
    let title = fields.needed_text("title", "\"Copper from garden bluestone\"").map_or_else(String::new, |t| t.value);
    let target = target(&fields);
    let claim = fields.text("claim");
    let account_for = elements(&fields);
    let closed = fields.text("closed").map(|closed| closed.value);
    let told = |key| fields.text(key).map(|told| told.value);
    let words = AuthorWords {
        author: told("author"),
        run: told("run"),
        purpose: told("purpose"),
        afterwards: told("afterwards"),
    };
    let histories = fields.texts("learn_from");
    // Only the file at hand learns: a ring of histories would never end.
    let own_losses = if within.is_empty() { learn::own_losses(&histories, world, findings) } else { Vec::new() };
    let (mut instruments, mut ware) = (Vec::new(), Vec::new());
    for tool in tables(&fields, "instrument").filter_map(|t| tool(&t)) {
        match tool {
            Tool::Balance(balance) => instruments.push(balance),
            Tool::Ware(piece) => ware.push(piece),
        }
    }
    let mut supplies = tables(&fields, "supply").map(|t| supply::supply(&t)).collect::<Vec<_>>();
    supplies.iter_mut().flatten().for_each(|supply| origin::fetch(supply, world, within, findings));
    let vessels = tables(&fields, "vessel").map(|t| vessel(&t)).collect::<Vec<_>>();
    let measures: Measures = supplies.iter().flatten().map(|s| (s.name.value.clone(), s.measure)).collect();
    let room = safety::room(&fields);
    let waste = tables(&fields, "waste").map(|t| safety::waste(&t)).collect::<Vec<_>>();
    let accepted = tables(&fields, "accept").map(|t| safety::accept(&t)).collect::<Vec<_>>();
    let mut steps: Vec<Step> = tables(&fields, "step").filter_map(|t| step::step(&t, &measures)).collect();
    ware::weigh_volumes(&mut steps, &ware, &measures, findings);
    let suppositions = tables(&fields, "suppose").map(|t| supposition(&t)).collect::<Vec<_>>();
    if steps.is_empty() && root.get("step").is_none() {
        let hint = "add a `[[step]]` with `name`, `action`, `take` and `gives`";
        findings.error("missing-field", &fields.span, "the preparation has no `step`", hint);
    }
    fields.finish();
    let mut preparation = Preparation {
        title,
        target,
        claim,
        account_for,
        supplies: supplies.into_iter().flatten().collect(),
        instruments,
        ware,
        vessels: vessels.into_iter().flatten().collect(),
        steps,
        suppositions: suppositions.into_iter().flatten().collect(),
        room,
        waste: waste.into_iter().flatten().collect(),
        accepted: accepted.into_iter().flatten().collect(),
        closed,
        words,
        own_losses,
        planned: crate::freeze::planned_fields(root),
        foreseen: crate::freeze::foreseen(root),
        text: text.to_owned(),
    };
    crate::heating::fill(&mut preparation, findings);
    check::check(&preparation, findings);
    crate::screen::door(&preparation, findings);
    preparation
}

/// The tables of an array of tables, each ready to be read.
fn tables<'a>(fields: &Fields<'a>, key: &'static str) -> impl Iterator<Item = Fields<'a>> {
    let mut list: Vec<(&'a dyn TableLike, Span)> = Vec::new();
    if let Some(item) = fields.item(key) {
        let span = fields.span_of(item);
        match item {
            Item::ArrayOfTables(array) => {
                for table in array {
                    list.push((table, table.span().unwrap_or_else(|| span.clone())));
                }
            }
            Item::Value(toml_edit::Value::Array(array)) if array.iter().all(toml_edit::Value::is_inline_table) => {
                for value in array {
                    if let Some(table) = value.as_inline_table() {
                        list.push((table, value.span().unwrap_or_else(|| span.clone())));
                    }
                }
            }
            _ => {
                let hint = format!("write `[[{key}]]` with double brackets, once for each");
                fields.findings().error("wrong-kind", &span, format!("`{key}` has to be a list of tables"), hint);
            }
        }
    }
    let findings = fields.findings();
    let outer = fields.what().to_owned();
    list.into_iter().enumerate().map(move |(i, (table, span))| {
        let name = table.get("name").or_else(|| table.get("id")).and_then(Item::as_str);
        let what = match name {
            Some(name) => format!("{key} `{name}`"),
            None if outer == "the preparation" => format!("{key} {}", i + 1),
            None => format!("{key} {} of {outer}", i + 1),
        };
        Fields::new(table, span, what, findings)
    })
}

fn target(fields: &Fields<'_>) -> Option<Target> {
    let item = fields.item("target")?;
    let span = fields.span_of(item);
    let Some(table) = item.as_table_like() else {
        fields.wrong_kind("target", &span, item.as_value(), "a table `{ substance = \"CuO(s)\", amount = \"25 g\" }`");
        return None;
    };
    let inner = Fields::new(table, span.clone(), "the target", fields.findings());
    let substance = inner.needed_text("substance", "\"CuO(s)\"").and_then(|t| species(&inner, "substance", &t));
    let amount = mass(&inner, "amount");
    if let Some(amount) = amount
        && amount.central() <= 0.0
    {
        fields.findings().error(
            "out-of-range",
            &span,
            "`amount` of the target is zero",
            "leave it out, or give a mass",
        );
    }
    inner.finish();
    Some(Target { substance: substance?, amount: amount.map(Knowledge::central), span })
}

fn elements(fields: &Fields<'_>) -> Vec<Element> {
    let mut list = Vec::new();
    for text in fields.texts("account_for") {
        match Element::from_symbol(text.value.trim()) {
            Some(element) => list.push(element),
            None => {
                let message = format!("`account_for`: `{}` is no element symbol", text.value);
                let symbols: Vec<&str> = Element::all().map(Element::symbol).collect();
                let hint = crate::syntax::nearest(text.value.trim(), symbols.iter().copied()).map_or_else(
                    || "for instance `account_for = \"Cu\"`".to_owned(),
                    |s| format!("did you mean `{s}`?"),
                );
                fields.findings().error("unknown-element", &text.span, message, hint);
            }
        }
    }
    list
}

/// Parses a species of a field.
fn species(fields: &Fields<'_>, key: &str, text: &Spanned<String>) -> Option<Species> {
    match Species::parse(&text.value) {
        Ok(species) => {
            if let Err(error) = species.formula.molar_mass() {
                fields.findings().error(
                    "no-atomic-weight",
                    &text.span,
                    format!("`{key}` of {}: {error}", fields.what()),
                    "",
                );
                return None;
            }
            Some(species)
        }
        Err(error) => {
            if let Some((message, hint)) = crate::screen::refused_by_name(&text.value, key) {
                fields.findings().error(crate::screen::OUT_OF_BOUNDS, &text.span, message, hint);
                return None;
            }
            let span = inside(&text.span, error.offset, error.length);
            fields.findings().error("bad-formula", &span, format!("`{key}` of {}: {error}", fields.what()), "");
            None
        }
    }
}

/// A mass that is positive or zero.
fn mass(fields: &Fields<'_>, key: &'static str) -> Option<Knowledge> {
    let quantity = fields.quantity(key, Dimension::MASS)?;
    knowledge(fields, key, &quantity.value, &quantity.span, f64::INFINITY)
}

/// Largest value in SI units that is taken for meant: a million tonnes.
const LARGEST_VALUE: f64 = 1e9;
/// Least mass that a balance tells apart, kg: a nanogram.
const LEAST_OF_A_BALANCE: f64 = 1e-12;
/// What to do about a value beyond all that.
const BEYOND: &str = "check the exponent and the unit";

/// Whether a bound or an uncertainty is beyond what can be meant; sums of it would leave the numbers.
fn is_beyond_a_bench(quantity: &chem::Quantity) -> bool {
    let si = quantity.si();
    let figures = [si.lower_bound(), si.upper_bound(), si.standard_uncertainty()];
    figures.into_iter().flatten().any(|figure| figure.abs() > LARGEST_VALUE)
}

/// What a quantity says, in SI units; refuses negative values and values above `most`.
fn knowledge(fields: &Fields<'_>, key: &str, quantity: &chem::Quantity, span: &Span, most: f64) -> Option<Knowledge> {
    let refuse = |why: &str, hint: String| {
        let message = format!("`{key}` of {} is `{}`: {why}", fields.what(), quantity.text);
        fields.findings().error("out-of-range", span, message, hint);
        None
    };
    if quantity.is_negative() {
        return refuse("a negative value has no meaning here", "check the sign".to_owned());
    }
    if is_beyond_a_bench(quantity) {
        return refuse("no bench holds that", BEYOND.to_owned());
    }
    let (low, high) = match quantity.si() {
        Number::Point { value, standard_uncertainty } => {
            if value > most * (1.0 + 1e-12) {
                return refuse("more than 100 %", "a fraction lies between 0 and 100 %".to_owned());
            }
            return Some(match standard_uncertainty {
                Some(u) if u > 0.0 => Knowledge::Normal { value, standard_uncertainty: u },
                _ => Knowledge::Exact(value),
            });
        }
        Number::Range { low, high } => (low, high),
        Number::AtLeast(low) if most.is_finite() => (low, most),
        Number::AtLeast(_) => return refuse("a lower bound alone says too little", "give a range `a .. b`".to_owned()),
        Number::AtMost(high) => (0.0, high),
    };
    if high > most * (1.0 + 1e-12) || low > most {
        return refuse("more than 100 %", "a fraction lies between 0 and 100 %".to_owned());
    }
    Some(if high > low { Knowledge::Between { low, high } } else { Knowledge::Exact(low) })
}

/// A fraction from 0 to 1.
fn fraction(fields: &Fields<'_>, key: &'static str) -> Option<Knowledge> {
    let quantity = fields.quantity(key, Dimension::DIMENSIONLESS)?;
    knowledge(fields, key, &quantity.value, &quantity.span, 1.0)
}

/// Species with their fraction.
fn shares(fields: &Fields<'_>, key: &'static str) -> Vec<(Spanned<Species>, Knowledge)> {
    let mut list = Vec::new();
    for (name, text) in fields.pairs(key) {
        let Some(value) = species(fields, key, &name) else { continue };
        let Some(quantity) = fields.parse_quantity(key, &text, Dimension::DIMENSIONLESS) else { continue };
        let Some(known) = knowledge(fields, key, &quantity, &text.span, 1.0) else { continue };
        list.push((Spanned { value, span: name.span }, known));
    }
    list
}

/// A value that may also be "none".
fn or_none(
    fields: &Fields<'_>,
    key: &'static str,
    parse: impl Fn(&Fields<'_>, &'static str) -> Option<Knowledge>,
) -> Option<Knowledge> {
    let none = fields.item(key).and_then(Item::as_str).is_some_and(|t| t.trim() == "none");
    if none { Some(Knowledge::Exact(0.0)) } else { parse(fields, key) }
}

fn foreign_kind(fields: &Fields<'_>, text: &Spanned<String>) -> Option<ForeignKind> {
    let found = ForeignKind::from_word(&text.value);
    if found.is_none() {
        let words = ForeignKind::ALL.map(|(_, word)| word);
        let message = format!("{}: `{}` is no kind of foreign matter", fields.what(), text.value);
        fields.findings().error("unknown-word", &text.span, message, suggest(&text.value, &words));
    }
    found
}

/// A balance, or volumetric ware.
enum Tool {
    Balance(Instrument),
    Ware(Ware),
}

fn tool(fields: &Fields<'_>) -> Option<Tool> {
    let name = fields.needed_text("name", "\"pocket balance\"");
    match fields.needed_text("kind", "\"balance\"") {
        Some(kind) if kind.value.trim() != "balance" => ware::ware(fields, name, &kind).map(Tool::Ware),
        _ => instrument(fields, name).map(Tool::Balance),
    }
}

fn instrument(fields: &Fields<'_>, name: Option<Spanned<String>>) -> Option<Instrument> {
    if let Some(class) = fields.text("class").filter(|_| fields.item("kind").is_some()) {
        let message = format!("{} has no `class`: only volumetric ware has", fields.what());
        fields.findings().error("unknown-key", &class.span, message, "leave it out");
    }
    if fields.item("resolution").is_none() {
        fields.missing("resolution", "\"0.01 g\"");
    }
    let resolution = positive(fields, "resolution");
    let class = resolution.map(losses::balance_class);
    let stated = |key: &'static str| fields.item(key).is_some();
    let mut sources = Vec::new();
    let mut default = |key: &'static str, value: Option<f64>, given: Option<f64>| {
        if !stated(key)
            && let Some(class) = class
        {
            sources.push(class.source);
        }
        given.or(value)
    };
    let repeatability = default("repeatability", class.map(|c| c.repeatability), positive(fields, "repeatability"));
    let capacity = default("capacity", class.map(|c| c.capacity), positive(fields, "capacity"));
    let curvature =
        default("curvature", class.map(|c| c.curvature), or_none(fields, "curvature", mass).map(Knowledge::central));
    let slope = default("slope", class.map(|c| c.slope), slope(fields));
    fields.finish();
    sources.dedup();
    Some(Instrument {
        name: name?,
        // What could not be read is reported; the balance is known all the same.
        resolution: resolution.unwrap_or(f64::NAN),
        repeatability: repeatability.unwrap_or(f64::NAN),
        slope: slope.unwrap_or(f64::NAN),
        curvature: curvature.unwrap_or(f64::NAN),
        capacity: capacity.unwrap_or(f64::NAN),
        sources,
    })
}

/// A positive mass.
fn positive(fields: &Fields<'_>, key: &'static str) -> Option<f64> {
    fields.item(key)?;
    let quantity = fields.quantity(key, Dimension::MASS)?;
    let value = knowledge(fields, key, &quantity.value, &quantity.span, f64::INFINITY)?.central();
    if value < LEAST_OF_A_BALANCE {
        let message = format!("`{key}` of {} is `{}`: no balance shows that", fields.what(), quantity.value.text);
        fields.findings().error("out-of-range", &quantity.span, message, "give the value of the balance's data sheet");
        return None;
    }
    Some(value)
}

/// Standard uncertainty of a slope written as "0 ± 0.02 %".
fn slope(fields: &Fields<'_>) -> Option<f64> {
    fields.item("slope")?;
    let quantity = fields.quantity("slope", Dimension::DIMENSIONLESS)?;
    match quantity.value.si() {
        Number::Point { value, standard_uncertainty } if value.abs() < 1e-12 => {
            Some(standard_uncertainty.unwrap_or(0.0))
        }
        _ => {
            let message = format!("`slope` of {} is `{}`", fields.what(), quantity.value.text);
            let hint = "correct readings by a known slope; give what remains unknown as `0 ± 0.02 %`";
            fields.findings().error("out-of-range", &quantity.span, message, hint);
            None
        }
    }
}

fn vessel(fields: &Fields<'_>) -> Option<Vessel> {
    let name = fields.needed_text("name", "\"crucible 3\"");
    // `mass` is the same thing; both at once would be two truths.
    let (tare, mass) = (empty_mass(fields, "tare"), empty_mass(fields, "mass"));
    if let (Some(_), Some(mass)) = (&tare, &mass) {
        let message = format!("{} states its mass twice, as `tare` and as `mass`", fields.what());
        fields.findings().error("tare-stated-twice", &mass.span, message, "keep `tare`, the mass of the empty vessel");
    }
    let capacity = capacity(fields);
    fields.finish();
    Some(Vessel { name: name?, tare: tare.or(mass), capacity })
}

/// The mass of an empty vessel; a figure without uncertainty is good to half its last digit.
fn empty_mass(fields: &Fields<'_>, key: &'static str) -> Option<Spanned<Knowledge>> {
    let quantity = fields.quantity(key, Dimension::MASS)?;
    let known = knowledge(fields, key, &quantity.value, &quantity.span, f64::INFINITY)?;
    Some(Spanned { value: amount::rounded(&quantity.value, known), span: quantity.span })
}

/// A volume that is not nothing, m³.
fn capacity(fields: &Fields<'_>) -> Option<f64> {
    let quantity = fields.quantity("capacity", Dimension::VOLUME)?;
    let known = knowledge(fields, "capacity", &quantity.value, &quantity.span, f64::INFINITY)?.central();
    if known <= 0.0 {
        let message = format!("`capacity` of {} is `{}`", fields.what(), quantity.value.text);
        let hint = "give what it holds up to the brim or its highest mark, `600 mL`";
        fields.findings().error("out-of-range", &quantity.span, message, hint);
        return None;
    }
    Some(known)
}

fn supposition(fields: &Fields<'_>) -> Option<Supposition> {
    let name = fields.needed_text("name", "\"up to 2 % sodium sulfate occluded\"");
    let step = fields.needed_text("step", "\"dry\"");
    let trace = step::traces(fields);
    fields.finish();
    Some(Supposition { name: name?, step: step?, trace })
}
