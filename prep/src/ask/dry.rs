//! Is it dry? A series of weighings as text.
//!
//! Each weighing is a mass, with the time since the start before it where intervals are unequal: `"48.62 g"`,
//! `"1.5 h 46.10 g"`. The scatter of a weighing is a unit of the finest digit unless stated (common practice: a balance
//! repeats to about its last digit). The tolerance is 0.05 % unless stated: half a milligram in a gram (common practice of
//! pharmacopoeias, from memory).

use super::pointed;
use crate::outcome::{DryAnswer, Finding, Interval, Severity};
use chem::{Dimension, Formula, Quantity, Species, Value as Number};
use engine::account::summary::{LEVEL, Spread};
use engine::dry::{FEWEST, Outlook, Weighed};

/// Tolerance if none is stated.
pub(crate) const TOLERANCE: f64 = 5e-4;
/// Standard uncertainties within which a final mass fits a hydrate.
const FITS: f64 = 3.0;
/// Most weighings of one series; each is judged by all before it.
pub(crate) const MOST_WEIGHINGS: usize = 200;
/// Most hydrates listed.
const MOST_LEVELS: usize = 24;

/// What else may be stated of a series.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub struct DryOptions<'a> {
    /// Standard deviation of one weighing.
    pub deviation: Option<&'a str>,
    /// What may be left to lose: a fraction of the final mass, or a mass.
    pub tolerance: Option<&'a str>,
    /// What the first weighing was.
    pub of: Option<&'a str>,
}

/// Is it dry, and where is it heading?
///
/// # Errors
/// Findings that point at what cannot be read.
///
/// ```
/// let series = ["48.62 g", "46.10 g", "45.02 g", "44.55 g", "44.35 g"];
/// let answer = prep::ask::dry(&series, &Default::default()).map_err(|f| format!("{f:?}"))?;
/// assert_eq!(answer.verdict, "not yet");
/// assert!(answer.final_mass.is_some_and(|m| (m.mean - 44.20).abs() < 0.02));
/// # Ok::<(), String>(())
/// ```
pub fn dry(weighings: &[&str], options: &DryOptions<'_>) -> Result<DryAnswer, Vec<Finding>> {
    let mut errors = Vec::new();
    if weighings.len() > MOST_WEIGHINGS {
        let message = format!("{} weighings are given; at most {MOST_WEIGHINGS} are read", weighings.len());
        let hint = "give the last ones: where it is heading does not hang on the first";
        return Err(vec![pointed("too-many-weighings", "", 0, 0, message, hint)]);
    }
    let mut series: Vec<Weighed> = Vec::new();
    // The finest figure shows what the balance does; zeros at the end are often not written.
    let mut digit = f64::INFINITY;
    for (i, text) in weighings.iter().enumerate() {
        match weighing(text, i) {
            Ok((weighed, place)) => {
                digit = digit.min(place);
                series.push(weighed);
            }
            // One line of the question for each weighing.
            Err(error) => errors.push(on_line(*error, weighings, i)),
        }
    }
    let deviation = stated(options.deviation, Dimension::MASS, "the scatter of a weighing", &mut errors);
    let tolerance = options.tolerance.map(|text| tolerance(text, &series)).transpose();
    let of = options.of.map(substance).transpose();
    let (tolerance, of) = match (tolerance, of) {
        (Ok(tolerance), Ok(of)) => (tolerance.unwrap_or(TOLERANCE), of),
        (tolerance, of) => {
            errors.extend(tolerance.err().map(|e| *e));
            errors.extend(of.err().map(|e| *e));
            return Err(errors);
        }
    };
    for (i, pair) in series.windows(2).enumerate() {
        if pair[1].time <= pair[0].time {
            let message =
                format!("the weighing at {:.2} h comes after one at {:.2} h", hours(pair[1].time), hours(pair[0].time));
            let hint = "give the weighings in the order of their times, or none of them a time";
            let text = weighings.get(i + 1).copied().unwrap_or("");
            errors.push(on_line(pointed("times-out-of-order", text, 0, text.len(), message, hint), weighings, i + 1));
        }
    }
    if !errors.is_empty() {
        return Err(errors);
    }
    let deviation = deviation.or(Some(digit).filter(|d| d.is_finite())).unwrap_or(0.0);
    if deviation.is_nan() || deviation <= 0.0 {
        let text = options.deviation.unwrap_or("");
        let message = "the scatter of a weighing is zero".to_owned();
        return Err(vec![pointed(
            "out-of-range",
            text,
            0,
            text.len(),
            message,
            "a balance repeats to about its last digit",
        )]);
    }
    Ok(told(&series, deviation, tolerance, |end| of.as_ref().map_or_else(Vec::new, |of| levels(of, &series, end))))
}

/// A finding about one weighing, placed in the weighings written one below the other.
fn on_line(finding: Finding, weighings: &[&str], index: usize) -> Finding {
    let before: usize = weighings[..index].iter().map(|text| text.len() + 1).sum();
    let span = finding.span.as_ref().map(|span| span.start + before..span.end + before);
    Finding { line: index + 1, span, ..finding }
}

fn hours(seconds: f64) -> f64 {
    seconds / 3600.0
}

/// A weighing with the place of its last digit, kg. Without a time, weighings are an hour apart.
fn weighing(text: &str, index: usize) -> Result<(Weighed, f64), Box<Finding>> {
    let refuse = |message: String| {
        Box::new(pointed(
            "bad-weighing",
            text,
            0,
            text.len(),
            message,
            "write `48.62 g`, or `1.5 h 46.10 g` with the time since the start",
        ))
    };
    let splits = text.char_indices().filter(|(_, c)| c.is_whitespace()).map(|(i, _)| i);
    let mut timed = splits.filter_map(|i| {
        let (time, mass) = text.split_at(i);
        let time = Quantity::parse_as(time.trim().trim_end_matches([':', ',']), Dimension::TIME).ok()?;
        Some((time, Quantity::parse_as(mass, Dimension::MASS).ok()?))
    });
    let (time, mass) = match timed.next_back() {
        Some((time, mass)) => (Some(time), mass),
        None => match Quantity::parse_as(text, Dimension::MASS) {
            Ok(mass) => (None, mass),
            Err(error) => return Err(refuse(format!("`{text}`: {error}"))),
        },
    };
    let time = match time.map(|t| t.si()) {
        None => 3600.0 * index as f64,
        Some(Number::Point { value, .. }) if value >= 0.0 => value,
        Some(_) => return Err(refuse(format!("`{text}`: the time is no single one"))),
    };
    match mass.si() {
        Number::Point { value, .. } if value > 0.0 => Ok((Weighed { time, mass: value }, mass.si_last_place())),
        _ => Err(refuse(format!("`{text}`: a weighing is one mass above zero"))),
    }
}

fn stated(text: Option<&str>, dimension: Dimension, what: &str, errors: &mut Vec<Finding>) -> Option<f64> {
    let text = text?;
    match Quantity::parse_as(text, dimension).map(|q| q.si()) {
        Ok(Number::Point { value, .. }) if value > 0.0 => Some(value),
        Ok(_) => {
            errors.push(pointed(
                "bad-quantity",
                text,
                0,
                text.len(),
                format!("{what} is `{text}`"),
                "give one value above zero",
            ));
            None
        }
        Err(error) => {
            let message = format!("{what}: {error}");
            errors.push(pointed("bad-quantity", text, error.offset, error.length, message, ""));
            None
        }
    }
}

/// As a fraction of the last weighing.
fn tolerance(text: &str, series: &[Weighed]) -> Result<f64, Box<Finding>> {
    let mut errors = Vec::new();
    let dimension = Quantity::parse(text).map(|q| q.dimension()).unwrap_or(Dimension::DIMENSIONLESS);
    let last = series.last().map_or(1.0, |w| w.mass);
    let value = if dimension == Dimension::MASS {
        stated(Some(text), Dimension::MASS, "the tolerance", &mut errors).map(|mass| mass / last)
    } else {
        stated(Some(text), Dimension::DIMENSIONLESS, "the tolerance", &mut errors)
    };
    match (value, errors.pop()) {
        (Some(value), _) if value < 1.0 => Ok(value),
        (_, Some(error)) => Err(Box::new(error)),
        _ => Err(Box::new(pointed(
            "out-of-range",
            text,
            0,
            text.len(),
            format!("the tolerance is `{text}`"),
            "write `0.05 %` or `2 mg`",
        ))),
    }
}

fn substance(text: &str) -> Result<Formula, Box<Finding>> {
    let parsed = match chem::hazard::formula_named(text) {
        Some(formula) => Ok(Species::new(formula.clone(), None)),
        None => Species::parse(text),
    };
    let species = parsed.map_err(|e| pointed("bad-formula", text, e.offset, e.length, e.to_string(), ""))?;
    // What is dried is something collected.
    if let Err(refusals) = crate::screen::products(&[], std::slice::from_ref(&species), false, text)
        && let Some(refusal) = refusals.into_iter().next()
    {
        return Err(Box::new(refusal));
    }
    match species.formula.molar_mass() {
        Ok(_) => Ok(species.formula),
        Err(e) => Err(Box::new(pointed("no-atomic-weight", text, e.offset, e.length, e.to_string(), ""))),
    }
}

fn interval(spread: &Spread, factor: f64, unit: &'static str) -> Interval {
    Interval {
        median: factor * spread.median,
        mean: factor * spread.mean,
        standard_uncertainty: factor * spread.standard_uncertainty,
        low: factor * spread.low,
        high: factor * spread.high,
        level: LEVEL,
        lower_quartile: factor * spread.lower_quartile,
        upper_quartile: factor * spread.upper_quartile,
        unit,
        basis: None,
    }
}

/// A level: name of a hydrate, its mass (g), standard uncertainties from the final mass to it.
pub(crate) type Level = (String, f64, Option<f64>);

/// What a series says. `levels` is told the final mass, g, and gives the masses to compare it with.
pub(crate) fn told(
    series: &[Weighed],
    deviation: f64,
    tolerance: f64,
    levels: impl FnOnce(Option<&Interval>) -> Vec<Level>,
) -> DryAnswer {
    let drying = engine::dry::dry(series, deviation, tolerance);
    let outlook = drying.outlook.as_ref();
    let grams = |spread: Option<&Spread>| spread.map(|s| interval(s, 1e3, "g"));
    let last = series.len().saturating_sub(1);
    let rose = drying.surprises.last().is_some_and(|s| s.index == last && s.deviations > 0.0);
    let verdict = match outlook {
        _ if rose => "out of line",
        _ if drying.done => "done",
        Some(_) => "not yet",
        None => "too few",
    };
    let final_mass = grams(outlook.map(|o| &o.final_mass));
    let levels = levels(final_mass.as_ref());
    let mut answer = DryAnswer {
        weighings: series.iter().map(|w| (hours(w.time), 1e3 * w.mass)).collect(),
        deviation: 1e3 * deviation,
        tolerance,
        verdict,
        remaining: grams(outlook.map(|o| &o.remaining)),
        next: grams(outlook.map(|o| &o.next)),
        intervals: outlook.map(|o| interval(&o.intervals, 1.0, "1")),
        within: outlook.map(|o| o.within),
        out_of_line: drying.surprises.iter().map(|s| (s.index, 1e3 * s.expected, s.deviations)).collect(),
        levels,
        final_mass,
        findings: Vec::new(),
    };
    answer.findings = findings(&answer, series, outlook);
    answer
}

/// Masses of all hydrates with less water, if the first weighing was this one.
fn levels(of: &Formula, series: &[Weighed], end: Option<&Interval>) -> Vec<Level> {
    let mass = |formula: &Formula| formula.molar_mass().map(|m| m.value).unwrap_or(f64::NAN);
    let (whole, dry, water) = (mass(of), mass(&of.without_hydrate_water()), mass(&Formula::water()));
    let Some(first) = series.first() else { return Vec::new() };
    let most = ((whole - dry) / water).ceil() as usize;
    (0..most.min(MOST_LEVELS))
        .rev()
        .map(|n| {
            let level = 1e3 * first.mass * (dry + n as f64 * water) / whole;
            let name = match n {
                0 => of.without_hydrate_water().to_string(),
                1 => format!("{}·H2O", of.without_hydrate_water()),
                n => format!("{}·{n}H2O", of.without_hydrate_water()),
            };
            let off = end.map(|end| (end.mean - level) / end.standard_uncertainty.max(f64::MIN_POSITIVE));
            (name, level, off)
        })
        .collect()
}

fn findings(answer: &DryAnswer, series: &[Weighed], outlook: Option<&Outlook>) -> Vec<Finding> {
    let note = |code, severity, message: String, hint: &str| Finding {
        severity,
        line: 0,
        column: 0,
        span: None,
        ..pointed(code, "", 0, 0, message, hint)
    };
    let mut list = Vec::new();
    for (index, expected, deviations) in &answer.out_of_line {
        let found = answer.weighings.get(*index).map_or(0.0, |(_, mass)| *mass);
        let message = format!(
            "weighing {}: {found:.3} g where {expected:.3} g was expected, {:.0} standard deviations {}",
            index + 1,
            deviations.abs(),
            if *deviations > 0.0 { "above" } else { "below" }
        );
        let hint = if *deviations > 0.0 {
            "taken up water or carbon dioxide, weighed before it was dry, or a slip of the pen: weigh again"
        } else {
            "a further step has begun (a hydrate, a carbonate), or something was spilt: the series counts anew from here"
        };
        list.push(note("weighing-out-of-line", Severity::Warning, message, hint));
    }
    if answer.verdict == "too few" {
        let message = format!("fewer than {FEWEST} weighings in line: where it is heading cannot be told");
        list.push(note(
            "too-few-weighings",
            Severity::Note,
            message,
            "heat for another interval and weigh again, cold",
        ));
    }
    let last = series.last().map_or(0.0, |w| 1e3 * w.mass);
    if answer.deviation > answer.tolerance * last {
        let message = format!(
            "one weighing scatters by {:.4} g, and {:.4} g is what may be left: equal weighings do not show that it is dry",
            answer.deviation,
            answer.tolerance * last
        );
        list.push(note("balance-too-coarse", Severity::Warning, message, "take a finer balance, or a wider tolerance"));
    }
    if let Some(outlook) = outlook.filter(|o| !o.one_curve) {
        let message = format!(
            "the weighings do not follow one curve (χ² {:.0} over {} weighings): it is not called done",
            outlook.chi_squared,
            series.len() - outlook.start
        );
        let hint =
            "thick layers dry more slowly at the end, so more may be left than is said here; crush, spread, go on";
        list.push(note("not-one-curve", Severity::Warning, message, hint));
    }
    let near = |off: &Option<f64>| off.is_some_and(|o| o.abs() < FITS);
    let dry = answer.levels.iter().any(|(name, _, off)| !name.contains('·') && near(off));
    let bound = answer.levels.iter().filter(|(name, _, off)| !dry && name.contains('·') && near(off));
    for (name, level, _) in bound {
        let message = format!("the final mass is consistent with {name} ({level:.3} g), which is not the dry salt");
        list.push(note(
            "plateau-at-hydrate",
            Severity::Warning,
            message,
            "a higher temperature may drive off the rest; look up at which",
        ));
    }
    list
}
