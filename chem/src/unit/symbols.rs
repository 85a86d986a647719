//! Which symbols are known, and which one was meant by a word that is none?
//!
//! Factors: SI Brochure, 9th edition (2019); psi, mmHg, Torr and the thermochemical calorie: NIST SP 811 (2008).

use super::{Dimension, Unit};
use crate::quantity::QuantityErrorKind as Kind;

#[derive(Clone, Copy)]
pub(super) struct Symbol {
    pub text: &'static str,
    pub dimension: Dimension,
    pub factor: f64,
    pub offset: f64,
}

impl Symbol {
    pub fn unit(self) -> Unit {
        Unit { text: self.text.to_owned(), dimension: self.dimension, factor: self.factor, offset: self.offset }
    }
}

const fn symbol(text: &'static str, dimension: Dimension, factor: f64) -> Symbol {
    Symbol { text, dimension, factor, offset: 0.0 }
}

/// Kelvin per degree Fahrenheit.
const FAHRENHEIT: f64 = 5.0 / 9.0;

const SYMBOLS: &[Symbol] = &[
    symbol("g", Dimension::MASS, 1e-3),
    symbol("mg", Dimension::MASS, 1e-6),
    symbol("kg", Dimension::MASS, 1.0),
    symbol("µg", Dimension::MASS, 1e-9),
    symbol("ug", Dimension::MASS, 1e-9),
    symbol("ng", Dimension::MASS, 1e-12),
    symbol("t", Dimension::MASS, 1e3),
    symbol("L", Dimension::VOLUME, 1e-3),
    symbol("mL", Dimension::VOLUME, 1e-6),
    symbol("µL", Dimension::VOLUME, 1e-9),
    symbol("uL", Dimension::VOLUME, 1e-9),
    symbol("dL", Dimension::VOLUME, 1e-4),
    symbol("cL", Dimension::VOLUME, 1e-5),
    symbol("l", Dimension::VOLUME, 1e-3),
    symbol("ml", Dimension::VOLUME, 1e-6),
    symbol("µl", Dimension::VOLUME, 1e-9),
    symbol("ul", Dimension::VOLUME, 1e-9),
    symbol("dl", Dimension::VOLUME, 1e-4),
    symbol("cl", Dimension::VOLUME, 1e-5),
    symbol("m", Dimension::LENGTH, 1.0),
    symbol("km", Dimension::LENGTH, 1e3),
    symbol("dm", Dimension::LENGTH, 0.1),
    symbol("cm", Dimension::LENGTH, 1e-2),
    symbol("mm", Dimension::LENGTH, 1e-3),
    symbol("µm", Dimension::LENGTH, 1e-6),
    symbol("um", Dimension::LENGTH, 1e-6),
    symbol("nm", Dimension::LENGTH, 1e-9),
    symbol("mol", Dimension::AMOUNT, 1.0),
    symbol("mmol", Dimension::AMOUNT, 1e-3),
    symbol("µmol", Dimension::AMOUNT, 1e-6),
    symbol("umol", Dimension::AMOUNT, 1e-6),
    symbol("nmol", Dimension::AMOUNT, 1e-9),
    symbol("kmol", Dimension::AMOUNT, 1e3),
    symbol("M", Dimension::CONCENTRATION, 1e3),
    symbol("mM", Dimension::CONCENTRATION, 1.0),
    symbol("µM", Dimension::CONCENTRATION, 1e-3),
    symbol("uM", Dimension::CONCENTRATION, 1e-3),
    // Hardness of water: 10 mg CaO, 10 mg CaCO3, one grain of CaCO3 per imperial gallon (14.254 mg), in a litre.
    symbol("°dH", Dimension::CONCENTRATION, 10.0 / 56.077),
    symbol("°fH", Dimension::CONCENTRATION, 10.0 / 100.086),
    symbol("°e", Dimension::CONCENTRATION, 14.254 / 100.086),
    symbol("K", Dimension::TEMPERATURE, 1.0),
    Symbol { text: "°C", dimension: Dimension::TEMPERATURE, factor: 1.0, offset: 273.15 },
    Symbol { text: "degC", dimension: Dimension::TEMPERATURE, factor: 1.0, offset: 273.15 },
    Symbol { text: "℃", dimension: Dimension::TEMPERATURE, factor: 1.0, offset: 273.15 },
    Symbol { text: "°F", dimension: Dimension::TEMPERATURE, factor: FAHRENHEIT, offset: 459.67 * FAHRENHEIT },
    Symbol { text: "degF", dimension: Dimension::TEMPERATURE, factor: FAHRENHEIT, offset: 459.67 * FAHRENHEIT },
    symbol("s", Dimension::TIME, 1.0),
    symbol("ms", Dimension::TIME, 1e-3),
    symbol("min", Dimension::TIME, 60.0),
    symbol("h", Dimension::TIME, 3600.0),
    symbol("d", Dimension::TIME, 86_400.0),
    symbol("%", Dimension::DIMENSIONLESS, 1e-2),
    symbol("‰", Dimension::DIMENSIONLESS, 1e-3),
    symbol("ppm", Dimension::DIMENSIONLESS, 1e-6),
    symbol("ppb", Dimension::DIMENSIONLESS, 1e-9),
    symbol("Pa", Dimension::PRESSURE, 1.0),
    symbol("hPa", Dimension::PRESSURE, 1e2),
    symbol("kPa", Dimension::PRESSURE, 1e3),
    symbol("MPa", Dimension::PRESSURE, 1e6),
    symbol("bar", Dimension::PRESSURE, 1e5),
    symbol("mbar", Dimension::PRESSURE, 1e2),
    symbol("atm", Dimension::PRESSURE, 101_325.0),
    symbol("Torr", Dimension::PRESSURE, 101_325.0 / 760.0),
    symbol("torr", Dimension::PRESSURE, 101_325.0 / 760.0),
    symbol("mmHg", Dimension::PRESSURE, 133.322_4),
    symbol("psi", Dimension::PRESSURE, 6_894.757),
    symbol("J", Dimension::ENERGY, 1.0),
    symbol("mJ", Dimension::ENERGY, 1e-3),
    symbol("kJ", Dimension::ENERGY, 1e3),
    symbol("MJ", Dimension::ENERGY, 1e6),
    symbol("cal", Dimension::ENERGY, 4.184),
    symbol("kcal", Dimension::ENERGY, 4_184.0),
    symbol("Wh", Dimension::ENERGY, 3_600.0),
    symbol("kWh", Dimension::ENERGY, 3.6e6),
    symbol("W", Dimension::POWER, 1.0),
    symbol("mW", Dimension::POWER, 1e-3),
    symbol("kW", Dimension::POWER, 1e3),
    symbol("V", Dimension::VOLTAGE, 1.0),
    symbol("mV", Dimension::VOLTAGE, 1e-3),
    symbol("A", Dimension::CURRENT, 1.0),
    symbol("mA", Dimension::CURRENT, 1e-3),
    symbol("Ah", Dimension::ELECTRIC_CHARGE, 3_600.0),
    symbol("EUR", Dimension::currency(0), 1.0),
    symbol("€", Dimension::currency(0), 1.0),
    symbol("USD", Dimension::currency(1), 1.0),
    symbol("$", Dimension::currency(1), 1.0),
    symbol("GBP", Dimension::currency(2), 1.0),
    symbol("£", Dimension::currency(2), 1.0),
];

/// Words for a unit whose symbol is wanted.
const SYNONYMS: &[(&str, &str)] = &[
    ("gram", "g"),
    ("grams", "g"),
    ("gramme", "g"),
    ("gr", "g"),
    ("gm", "g"),
    ("gms", "g"),
    ("mgs", "mg"),
    ("kgs", "kg"),
    ("kilo", "kg"),
    ("kilos", "kg"),
    ("milligram", "mg"),
    ("milligrams", "mg"),
    ("kilogram", "kg"),
    ("kilograms", "kg"),
    ("mcg", "µg"),
    ("tonne", "t"),
    ("tonnes", "t"),
    ("liter", "L"),
    ("litre", "L"),
    ("liters", "L"),
    ("litres", "L"),
    ("milliliter", "mL"),
    ("millilitre", "mL"),
    ("milliliters", "mL"),
    ("millilitres", "mL"),
    ("mls", "mL"),
    ("cc", "mL"),
    ("ccm", "mL"),
    ("mole", "mol"),
    ("moles", "mol"),
    ("mols", "mol"),
    ("c", "°C"),
    ("celsius", "°C"),
    ("deg", "°C"),
    ("degrees", "°C"),
    ("°", "°C"),
    ("f", "°F"),
    ("kelvin", "K"),
    ("°k", "K"),
    ("sec", "s"),
    ("secs", "s"),
    ("second", "s"),
    ("seconds", "s"),
    ("mins", "min"),
    ("minute", "min"),
    ("minutes", "min"),
    ("hr", "h"),
    ("hrs", "h"),
    ("hour", "h"),
    ("hours", "h"),
    ("day", "d"),
    ("days", "d"),
    ("percent", "%"),
    ("pct", "%"),
    ("wt%", "%"),
    ("w%", "%"),
    ("joule", "J"),
    ("joules", "J"),
    ("volt", "V"),
    ("volts", "V"),
    ("euro", "EUR"),
    ("euros", "EUR"),
    ("dollar", "USD"),
    ("dollars", "USD"),
    ("molar", "M"),
    ("oz", "g"),
    ("lb", "g"),
    ("lbs", "g"),
    ("ounce", "g"),
    ("ounces", "g"),
    ("pound", "g"),
];

/// Words that measure nothing.
const NO_MEASURES: &[&str] = &[
    "drop",
    "drops",
    "spoon",
    "spoons",
    "spoonful",
    "spoonfuls",
    "teaspoon",
    "teaspoons",
    "tsp",
    "tablespoon",
    "tablespoons",
    "tbsp",
    "cup",
    "cups",
    "pinch",
    "pinches",
    "spatula",
    "spatulas",
    "scoop",
    "scoops",
    "handful",
    "knob",
    "dash",
    "splash",
];

/// Words for equivalents.
const EQUIVALENTS: &[&str] = &["eq", "meq", "equiv", "val", "mval"];

/// The unit with this symbol.
pub(super) fn known_symbol(text: &str) -> Option<Symbol> {
    // The Greek mu and the masculine ordinal sign look like micro and degree.
    let plain = text.replace('μ', "µ").replace('º', "°").replace("° ", "°");
    SYMBOLS.iter().copied().find(|symbol| symbol.text == plain)
}

/// The error for a word that is no unit.
pub(super) fn unknown(word: &str) -> Kind {
    let lower = word.to_lowercase();
    if NO_MEASURES.contains(&lower.as_str()) {
        return Kind::NoMeasure(word.to_owned());
    }
    if EQUIVALENTS.contains(&lower.as_str()) {
        return Kind::Equivalents(word.to_owned());
    }
    let synonym = SYNONYMS.iter().find(|(text, _)| *text == lower).map(|(_, symbol)| *symbol);
    let suggestion = synonym.or_else(|| nearest_symbol(word)).map(str::to_owned);
    Kind::UnknownUnit { unit: word.to_owned(), suggestion }
}

/// The symbol that differs least, by at most one letter or by case alone.
fn nearest_symbol(word: &str) -> Option<&'static str> {
    let lower = word.to_lowercase();
    let same_but_case = SYMBOLS.iter().find(|symbol| symbol.text.to_lowercase() == lower);
    let near = || SYMBOLS.iter().find(|symbol| symbol.text.chars().count() > 1 && differs_by_one(symbol.text, word));
    same_but_case.or_else(near).map(|symbol| symbol.text)
}

/// Whether one insertion, deletion, replacement or swap of neighbours turns one word into the other.
fn differs_by_one(left: &str, right: &str) -> bool {
    let (left, right): (Vec<char>, Vec<char>) = (left.chars().collect(), right.chars().collect());
    let prefix = left.iter().zip(&right).take_while(|(a, b)| a == b).count();
    let (left, right) = (left.get(prefix..).unwrap_or(&[]), right.get(prefix..).unwrap_or(&[]));
    let suffix = left.iter().rev().zip(right.iter().rev()).take_while(|(a, b)| a == b).count();
    let middle_left = left.get(..left.len() - suffix).unwrap_or(&[]);
    let middle_right = right.get(..right.len() - suffix).unwrap_or(&[]);
    match (middle_left, middle_right) {
        ([a, b], [c, d]) => a == d && b == c,
        (a, b) => a.len().max(b.len()) <= 1,
    }
}
