//! What do these titres say? A titration as text.
//!
//! Either the titrant is standardised against a weighed standard, or a sample is determined with a titrant of known
//! strength. The scatter of one reading is half a unit of the finest digit (rectangular), at least; the burette's own error
//! is taken from `data/ware.tsv` as rectangular, by its volume and class B unless stated.
//!
//! Source: EURACHEM/CITAC Guide CG 4; largest permitted errors row by row in `data/ware.tsv`.

use super::pointed;
use crate::outcome::{Figure as Told, Finding, Severity, TitrateAnswer};
use crate::ware;
use chem::quantity::Status;
use chem::{Dimension, Element, Formula, Quantity, Species, Value as Number};
use engine::account::gravimetric::Figure;
use engine::titration::{Factor, Product, product, titre};

/// Relative standard uncertainty of an end point seen by eye; common practice.
const END_POINT: f64 = 0.001;
/// Share of a burette that a good titre uses; common practice.
const GOOD_TITRE: f64 = 0.8;

/// A titration in words.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub struct Titration<'a> {
    /// Titres: volumes of titrant.
    pub titres: &'a [&'a str],
    /// Volume of a blank.
    pub blank: Option<&'a str>,
    /// Strength of the titrant, where it is known.
    pub titrant: Option<&'a str>,
    /// Standard that the titrant is standardised with.
    pub standard: Option<&'a str>,
    /// Mass of standard or of sample.
    pub weighed: Option<&'a str>,
    /// Purity of the standard.
    pub purity: Option<&'a str>,
    /// What is determined: an element or a formula.
    pub of: Option<&'a str>,
    /// Moles of what was weighed or is determined, to moles of titrant: `5:2`.
    pub ratio: Option<&'a str>,
    /// Part of the dissolved sample that was titrated: `25.00 mL of 250.0 mL`.
    pub aliquot: Option<&'a str>,
    /// Burette: `50 mL`, `25 mL A`.
    pub burette: Option<&'a str>,
}

/// What do these titres say?
///
/// # Errors
/// Findings that say what is missing or cannot be read.
///
/// ```
/// use prep::ask::{Titration, titrate};
/// // 25.00 mL of 0.1000 mol/L thiosulfate are 158.9 mg of copper.
/// let answer = titrate(&Titration {
///     titres: &["25.00 mL"],
///     titrant: Some("0.1000 mol/L"),
///     of: Some("Cu"),
///     ..Titration::default()
/// }).map_err(|f| format!("{f:?}"))?;
/// assert!(answer.mass.is_some_and(|(_, mass)| (mass.value - 158.9).abs() < 0.1));
/// # Ok::<(), String>(())
/// ```
pub fn titrate(asked: &Titration<'_>) -> Result<TitrateAnswer, Vec<Finding>> {
    let mut reader = Reader::default();
    let volumes: Vec<Quantity> =
        asked.titres.iter().filter_map(|text| reader.quantity("the titre", text, Dimension::VOLUME)).collect();
    let blank = asked.blank.and_then(|text| reader.figure("the blank", text, Dimension::VOLUME));
    let strength = asked.titrant.and_then(|text| reader.figure("the titrant", text, Dimension::CONCENTRATION));
    let weighed = asked.weighed.and_then(|text| reader.figure("what was weighed", text, Dimension::MASS));
    let purity = asked.purity.and_then(|text| reader.figure("the purity", text, Dimension::DIMENSIONLESS));
    let ratio = asked.ratio.map_or(Some(1.0), |text| reader.ratio(text));
    let dilution = asked.aliquot.map_or(Some(exact(1.0)), |text| reader.aliquot(text));
    let burette = asked.burette.map_or(Some(None), |text| reader.burette(text).map(Some));
    let standard = asked.standard.and_then(|text| reader.substance(text));
    let of = asked.of.and_then(|text| reader.substance(text));
    if asked.titres.is_empty() {
        reader.slip(
            "missing-field",
            "",
            "no titre is given".to_owned(),
            "give one volume for each titration, `18.40 mL`",
        );
    }
    match (asked.titrant, asked.standard) {
        (None, None) => reader.slip(
            "missing-field",
            "",
            "neither the strength of the titrant nor a standard is given".to_owned(),
            "give the strength, `0.1000 ± 0.0002 mol/L`, or the standard with its mass",
        ),
        (Some(text), Some(_)) => reader.slip(
            "content-stated-twice",
            text,
            "the strength of the titrant is given, and a standard to find it".to_owned(),
            "give one of them",
        ),
        (None, Some(text)) if asked.weighed.is_none() => reader.slip(
            "missing-field",
            text,
            "the mass of the standard is not given".to_owned(),
            "give what was weighed, `0.3888 g`",
        ),
        _ => {}
    }
    let (Some(ratio), Some(dilution), Some(burette)) = (ratio, dilution, burette) else { return Err(reader.errors) };
    if !reader.errors.is_empty() {
        return Err(reader.errors);
    }
    let place = volumes.iter().map(Quantity::si_last_place).fold(f64::INFINITY, f64::min);
    let reading = place / 12f64.sqrt();
    let ware = burette.map_or(0.0, |(_, tolerance)| ware::standard_uncertainty(tolerance));
    let figures: Vec<f64> = volumes.iter().filter_map(point).collect();
    let Some(titre) = titre(&figures, reading, ware, blank.unwrap_or(exact(0.0))).filter(|t| t.net.value > 0.0) else {
        reader.slip("out-of-range", "", "the titre less the blank is nothing".to_owned(), "check the blank");
        return Err(reader.errors);
    };
    let parts = Parts { titre: titre.net, ratio, dilution, weighed, purity };
    let (strength, result) = match (&standard, strength) {
        (Some(standard), _) => {
            let made = parts.strength(standard);
            (made.as_ref().map(|p| p.figure), made)
        }
        (None, strength) => (strength, strength.and_then(|c| parts.amount(c))),
    };
    let (Some(strength), Some(result)) = (strength, result) else {
        reader.slip(
            "out-of-range",
            "",
            "a figure of the titration is zero".to_owned(),
            "check the masses and the strength",
        );
        return Err(reader.errors);
    };
    Ok(told(asked, &titre, strength, &result, &parts, of.as_ref().filter(|_| standard.is_none()), burette))
}

fn exact(value: f64) -> Figure {
    Figure { value, standard_uncertainty: 0.0 }
}

fn point(quantity: &Quantity) -> Option<f64> {
    match quantity.si() {
        Number::Point { value, .. } => Some(value),
        _ => None,
    }
}

struct Parts {
    titre: Figure,
    ratio: f64,
    dilution: Figure,
    weighed: Option<Figure>,
    purity: Option<Figure>,
}

impl Parts {
    fn end_point() -> Factor {
        Factor { name: "end point", figure: Figure { value: 1.0, standard_uncertainty: END_POINT }, power: 1 }
    }

    /// c = m P / (M ν V), mol/m³; ν is what was weighed to titrant.
    fn strength(&self, standard: &Formula) -> Option<Product> {
        let molar = standard.molar_mass().ok()?;
        let molar_mass = Figure { value: molar.value * 1e-3, standard_uncertainty: molar.standard_uncertainty * 1e-3 };
        product(&[
            Factor { name: "mass weighed", figure: self.weighed?, power: 1 },
            Factor { name: "purity", figure: self.purity.unwrap_or(exact(1.0)), power: 1 },
            Factor { name: "molar mass", figure: molar_mass, power: -1 },
            Factor { name: "ratio", figure: exact(self.ratio), power: -1 },
            Factor { name: "aliquot", figure: self.dilution, power: -1 },
            Factor { name: "titre", figure: self.titre, power: -1 },
            Self::end_point(),
        ])
    }

    /// n = c V ν d, mol.
    fn amount(&self, strength: Figure) -> Option<Product> {
        product(&[
            Factor { name: "strength of the titrant", figure: strength, power: 1 },
            Factor { name: "titre", figure: self.titre, power: 1 },
            Factor { name: "ratio", figure: exact(self.ratio), power: 1 },
            Factor { name: "aliquot", figure: self.dilution, power: 1 },
            Self::end_point(),
        ])
    }
}

fn figure(figure: Figure, factor: f64, unit: &'static str, basis: Option<String>) -> Told {
    Told {
        value: factor * figure.value,
        standard_uncertainty: Some(factor * figure.standard_uncertainty),
        unit,
        basis,
        status: Status::Derived,
        sources: vec!["readings".to_owned()],
    }
}

fn told(
    asked: &Titration<'_>,
    titre: &engine::titration::Titre,
    strength: Figure,
    result: &Product,
    parts: &Parts,
    of: Option<&Formula>,
    burette: Option<(f64, f64)>,
) -> TitrateAnswer {
    let determined = asked.standard.is_none();
    let mut last = result.clone();
    let mass = of.and_then(|formula| {
        let molar = formula.molar_mass().ok()?;
        let molar_mass = Figure { value: molar.value * 1e-3, standard_uncertainty: molar.standard_uncertainty * 1e-3 };
        let made = product(&[
            Factor { name: "", figure: result.figure, power: 1 },
            Factor { name: "", figure: molar_mass, power: 1 },
        ])?;
        Some((formula.to_string(), made.figure))
    });
    let fraction = mass.as_ref().zip(parts.weighed).and_then(|((_, mass), sample)| {
        let made = product(&[
            Factor { name: "determination", figure: *mass, power: 1 },
            Factor { name: "mass weighed", figure: sample, power: -1 },
        ])?;
        let of_determination = made.shares.first().map_or(1.0, |(_, share)| *share);
        last.shares.iter_mut().for_each(|(_, share)| *share *= of_determination);
        last.shares.extend(made.shares.get(1).copied());
        Some(made.figure)
    });
    let mut shares: Vec<(String, f64)> =
        last.shares.iter().filter(|(_, s)| *s > 0.0).map(|(name, s)| ((*name).to_owned(), *s)).collect();
    shares.sort_by(|a, b| b.1.total_cmp(&a.1));
    let good = burette.map_or(20e-6, |(volume, _)| GOOD_TITRE * volume);
    let mut findings = Vec::new();
    let mut note = |code, severity, message: String, hint: &str| {
        findings.push(Finding { severity, line: 0, column: 0, span: None, ..pointed(code, "", 0, 0, message, hint) });
    };
    if titre.wide {
        let message =
            format!("the titres scatter by {:.3} mL, more than their readings do", titre.scatter.unwrap_or(0.0) * 1e6);
        note(
            "titres-scatter",
            Severity::Warning,
            message,
            "look for an overrun end point, an air bubble or unmixed samples; titrate again",
        );
    }
    if fraction.as_ref().is_some_and(|f| f.value - 2.0 * f.standard_uncertainty > 1.0) {
        note(
            "more-than-the-sample",
            Severity::Warning,
            "more was found than was weighed in".to_owned(),
            "check the ratio, the aliquot and the strength of the titrant",
        );
    }
    if burette.is_some_and(|(volume, _)| parts.titre.value > volume) {
        note(
            "burette-emptied",
            Severity::Note,
            "the titre is more than the burette holds".to_owned(),
            "a second filling doubles the error of the burette: weigh less in",
        );
    }
    TitrateAnswer {
        titre: figure(parts.titre, 1e6, "mL", None),
        scatter: titre.scatter.map(|s| s * 1e6),
        strength: figure(strength, 1e-3, "mol/L", None),
        amount: determined.then(|| figure(result.figure, 1e3, "mmol", None)),
        mass: mass.map(|(name, mass)| {
            let basis = Some(name.clone());
            (name, figure(mass, 1e6, "mg", basis))
        }),
        fraction: fraction.map(|f| figure(f, 100.0, "%", Some("mass of the sample as weighed".to_owned()))),
        shares,
        weigh_next: parts.weighed.map(|m| 1e3 * m.value * good / parts.titre.value),
        findings,
    }
}

/// Reads the parts and gathers what is wrong with them.
#[derive(Default)]
struct Reader {
    errors: Vec<Finding>,
}

impl Reader {
    fn slip(&mut self, code: &'static str, text: &str, message: String, hint: &str) {
        self.errors.push(pointed(code, text, 0, text.len(), message, hint));
    }

    fn parse(&mut self, what: &str, text: &str, dimension: Dimension) -> Option<Quantity> {
        Quantity::parse_as(text, dimension)
            .map_err(|e| {
                self.errors.push(pointed("bad-quantity", text, e.offset, e.length, format!("{what}: {e}"), ""));
            })
            .ok()
    }

    fn quantity(&mut self, what: &str, text: &str, dimension: Dimension) -> Option<Quantity> {
        let quantity = self.parse(what, text, dimension)?;
        if point(&quantity).is_some_and(|v| v >= 0.0) {
            return Some(quantity);
        }
        self.slip("bad-quantity", text, format!("{what} is `{text}`"), "give one value, not below zero");
        None
    }

    /// A value; a range is a rectangle, a figure without uncertainty good to half its last digit.
    fn figure(&mut self, what: &str, text: &str, dimension: Dimension) -> Option<Figure> {
        let quantity = self.parse(what, text, dimension)?;
        let rectangle = |low: f64, high: f64| Figure {
            value: 0.5 * (low + high),
            standard_uncertainty: (high - low) / 12f64.sqrt(),
        };
        let found = match quantity.si() {
            Number::Point { value, standard_uncertainty } if value >= 0.0 => Figure {
                value,
                standard_uncertainty: standard_uncertainty.unwrap_or_else(|| quantity.si_last_place() / 12f64.sqrt()),
            },
            Number::Range { low, high } if low >= 0.0 => rectangle(low, high),
            Number::AtLeast(low) if dimension == Dimension::DIMENSIONLESS && low <= 1.0 => rectangle(low, 1.0),
            _ => {
                self.slip(
                    "bad-quantity",
                    text,
                    format!("{what} is `{text}`"),
                    "give a value or a range, not below zero",
                );
                return None;
            }
        };
        Some(found)
    }

    fn ratio(&mut self, text: &str) -> Option<f64> {
        let parts: Vec<f64> = text.split(':').filter_map(|part| part.trim().parse().ok()).collect();
        match parts.as_slice() {
            [a, b] if *a > 0.0 && *b > 0.0 && a.is_finite() && b.is_finite() => Some(a / b),
            _ => {
                self.slip(
                    "bad-quantity",
                    text,
                    format!("the ratio is `{text}`"),
                    "write moles of what is titrated to moles of titrant, `5:2`",
                );
                None
            }
        }
    }

    fn aliquot(&mut self, text: &str) -> Option<Figure> {
        let Some((part, whole)) = text.split_once(" of ") else {
            self.slip("bad-quantity", text, format!("the aliquot is `{text}`"), "write `25.00 mL of 250.0 mL`");
            return None;
        };
        let part = self.figure("the aliquot", part, Dimension::VOLUME)?;
        let whole = self.figure("the whole of the aliquot", whole, Dimension::VOLUME)?;
        if part.value <= 0.0 || part.value > whole.value {
            self.slip(
                "out-of-range",
                text,
                format!("the aliquot `{text}` is no part of its whole"),
                "write the smaller volume first",
            );
            return None;
        }
        let made =
            product(&[Factor { name: "", figure: whole, power: 1 }, Factor { name: "", figure: part, power: -1 }])?;
        Some(made.figure)
    }

    /// Volume and largest permitted error of a burette, m³.
    fn burette(&mut self, text: &str) -> Option<(f64, f64)> {
        let (volume, class) = match text.trim().rsplit_once(' ') {
            Some((volume, class @ ("A" | "B"))) => (volume, class),
            _ => (text.trim(), "B"),
        };
        let wanted = self.quantity("the burette", volume, Dimension::VOLUME).as_ref().and_then(point)?;
        let sizes = match ware::permitted_error("burette", class, wanted) {
            Ok((error, _)) => return Some((wanted, error)),
            Err(sizes) => sizes,
        };
        let known: Vec<String> = sizes.iter().map(|size| format!("{size} mL")).collect();
        let hint = format!("burettes in the table: {}; class A or B", known.join(", "));
        self.slip("unknown-word", text, format!("no burette of `{text}` is in the table"), &hint);
        None
    }

    /// An element as one mole of its atoms, or a formula.
    fn substance(&mut self, text: &str) -> Option<Formula> {
        if let Err(refusals) = Species::parse(text).map_or(Ok(()), |s| crate::screen::substances(&[s], text)) {
            self.errors.extend(refusals);
            return None;
        }
        let spelled = Element::from_symbol(text.trim()).map_or(text.trim(), |element| element.symbol());
        match Species::parse(spelled).map(|s| s.formula).and_then(|f| f.molar_mass().map(|_| f)) {
            Ok(formula) => Some(formula),
            Err(error) => {
                self.errors.push(pointed("bad-formula", text, error.offset, error.length, error.to_string(), ""));
                None
            }
        }
    }
}
