//! How is a reaction to be looked at: at which temperature, under which gases, in which forms?
//!
//! Reads the options of the question; what cannot be read is a finding that points at it.
//!
//! Source: none, text only.

use chem::quantity::Value as Number;
use chem::{Dimension, Phase, Quantity, Species};
use engine::thermochemistry::standard::STANDARD_TEMPERATURE;

use super::pointed;
use super::reaction_heat::TEMPERATURES;
use crate::outcome::Finding;
use crate::thermochemistry::{Form, forms};

/// How a reaction is to be looked at.
#[derive(Clone, Copy, Debug, Default)]
pub struct ReactionOptions<'a> {
    /// Temperature, such as `25 °C`, which is taken where none is given.
    pub at: Option<&'a str>,
    /// Pressures of gases, such as `CO2 0.0004 bar`; 1 bar where none is given.
    pub gases: &'a [String],
    /// Forms, such as `SiO2(s) = β-cristobalite`; the stable one where none is named.
    pub forms: &'a [String],
    /// Lowest temperature of a table.
    pub from: Option<&'a str>,
    /// Highest temperature of a table.
    pub to: Option<&'a str>,
    /// Reactions whose Gibbs energies are held against it.
    pub beside: &'a [String],
    /// Whether the usual metals with their oxides, carbon and hydrogen stand beside it.
    pub pairs: bool,
}

/// The options read.
pub(super) struct Wishes {
    pub(super) temperature: f64,
    pub(super) pressures: Vec<(Species, f64)>,
    pub(super) forms: Vec<(Species, String)>,
    pub(super) table: Option<(f64, f64)>,
}

impl Wishes {
    /// Reads the options.
    pub(super) fn read(options: &ReactionOptions<'_>) -> Result<Wishes, Vec<Finding>> {
        let mut errors = Vec::new();
        let mut kelvin =
            |text: Option<&str>| text.and_then(|text| temperature(text).map_err(|error| errors.push(*error)).ok());
        let (at, from, to) = (kelvin(options.at), kelvin(options.from), kelvin(options.to));
        let pressures = options.gases.iter().map(|text| pressure(text));
        let pressures: Vec<_> = pressures.filter_map(|read| read.map_err(|error| errors.push(*error)).ok()).collect();
        let forms = options.forms.iter().map(|text| named_form(text));
        let forms: Vec<_> = forms.filter_map(|read| read.map_err(|error| errors.push(*error)).ok()).collect();
        let table = match (from, to) {
            (Some(from), Some(to)) if from < to => Some((from, to)),
            (None, None) => None,
            _ => {
                if errors.is_empty() {
                    let text = options.from.or(options.to).unwrap_or("");
                    let message = "a table needs two temperatures, the lower first".to_owned();
                    errors.push(pointed("out-of-range", text, 0, text.len(), message, "give --from and --to"));
                }
                None
            }
        };
        if errors.is_empty() {
            Ok(Wishes { temperature: at.unwrap_or(STANDARD_TEMPERATURE), pressures, forms, table })
        } else {
            Err(errors)
        }
    }

    /// ln(p/1 bar) of a gas.
    pub(super) fn log_pressure(&self, species: &Species) -> f64 {
        let given = self.pressures.iter().find(|(gas, _)| gas.formula.same_substance(&species.formula));
        if species.phase == Some(Phase::Gas) { given.map_or(0.0, |(_, bar)| bar.ln()) } else { 0.0 }
    }
}

/// A temperature, K.
fn temperature(text: &str) -> Result<f64, Box<Finding>> {
    let told =
        |code, offset, length, message: String, hint| Box::new(pointed(code, text, offset, length, message, hint));
    let read = Quantity::parse_as(text, Dimension::TEMPERATURE)
        .map_err(|error| told("bad-quantity", error.offset, error.length, format!("the temperature: {error}"), ""))?;
    let (low, high) = TEMPERATURES;
    match read.si() {
        Number::Point { value, .. } if (low..=high).contains(&value) => Ok(value),
        _ => {
            let message = format!("the temperature is `{text}`");
            Err(told("out-of-range", 0, text.len(), message, "give one temperature from 50 K to 6000 K"))
        }
    }
}

/// `CO2 0.0004 bar`.
fn pressure(text: &str) -> Result<(Species, f64), Box<Finding>> {
    let told = |code, offset, length, message: String| {
        Box::new(pointed(code, text, offset, length, message, "write a gas and its pressure, such as `CO2 0.0004 bar`"))
    };
    let (gas, rest) = text.trim().split_once(char::is_whitespace).unwrap_or((text, ""));
    let species =
        Species::parse(gas).map_err(|error| told("bad-formula", error.offset, error.length, error.to_string()))?;
    match Quantity::parse_as(rest.trim(), Dimension::PRESSURE).map(|quantity| quantity.si()) {
        Ok(Number::Point { value, .. }) if value > 0.0 => Ok((species, value / 1e5)),
        _ => Err(told("bad-quantity", 0, text.len(), format!("`{text}` gives no pressure above zero"))),
    }
}

/// `SiO2(s) = β-cristobalite`.
fn named_form(text: &str) -> Result<(Species, String), Box<Finding>> {
    let hint = "write a species and its form, such as `SiO2(s) = β-cristobalite`";
    let told = |code, offset, length, message: String| Box::new(pointed(code, text, offset, length, message, hint));
    let Some((species, word)) = text.split_once('=') else {
        return Err(told("bad-formula", 0, text.len(), format!("`{text}` names no form")));
    };
    let read = Species::parse(species.trim()).map_err(|e| told("bad-formula", e.offset, e.length, e.to_string()))?;
    let known = forms(&read.formula, read.phase);
    if known.iter().any(|form| form.is_named(word)) {
        return Ok((read, word.trim().to_owned()));
    }
    let names: Vec<String> = known.iter().map(Form::label).collect();
    let message = match names.as_slice() {
        [] => format!("no form of {read} is known"),
        _ => format!("{read} is known as {}, not as “{}”", names.join(" and as "), word.trim()),
    };
    Err(told("unknown-form", 0, text.len(), message))
}
