//! What do these washings leave, and which plan reaches a goal? Washings as text.
//!
//! Held liquor is stated, or follows from the cake weighed wet and dry, or from readings that fall with the washes. Stated,
//! it is taken as good to a tenth (common practice), weighed to a twentieth.
//!
//! Source: `engine::wash`.

use super::reading::{Quantities, normal, remark, unplaced};
use crate::outcome::{Finding, Severity, WashAnswer, WashPlan};
use chem::Dimension;
use engine::wash::{Plan, best, held_by_readings, held_by_weight, left_by, left_by_one, lost, plans};

/// Relative standard uncertainty of a stated volume of held liquor.
const STATED: f64 = 0.1;
/// The least where it follows from readings, however well they lie on a line (a conductivity meter is good to about as much,
/// common practice).
const READ: f64 = 0.01;
/// The same of a weighed one: the density of the liquor, a few drops.
const WEIGHED: f64 = 0.05;
/// Density of a liquor that is not stated, kg/m³.
const USUAL_DENSITY: f64 = 1.0e3;
/// Most washes of a plan.
const MOST_WASHES: u32 = 10;
/// m³ in a mL, kg in a mg.
const MILLI: f64 = 1e-6;

/// Washings in words.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub struct WashOptions<'a> {
    /// Liquor that the cake holds, a volume.
    pub held: Option<&'a str>,
    /// Mass of the cake wet and dry, instead.
    pub wet: Option<&'a str>,
    /// Mass of the cake dry.
    pub dry: Option<&'a str>,
    /// Density of the liquor.
    pub density: Option<&'a str>,
    /// What the liquor holds of what is to be washed out, mass per volume.
    pub liquor: Option<&'a str>,
    /// Its name.
    pub of: Option<&'a str>,
    /// Washes, `4 x 100 mL`.
    pub washes: Option<&'a str>,
    /// Mass of the dry product.
    pub product: Option<&'a str>,
    /// Solubility of the product in the wash liquor, mass per volume.
    pub solubility: Option<&'a str>,
    /// Efficiency of mixing; 1 if not given.
    pub efficiency: Option<&'a str>,
    /// What may be left: a share of the product, or a mass.
    pub target: Option<&'a str>,
    /// Readings of successive washes, less that of the water, in any unit.
    pub readings: &'a [&'a str],
}

/// What do these washings leave?
///
/// # Errors
/// Findings that point at what is missing or cannot be read.
///
/// ```
/// use prep::ask::{WashOptions, wash};
/// let asked = WashOptions { held: Some("60 mL"), liquor: Some("55.7 g/L"), washes: Some("4 x 100 mL"), ..Default::default() };
/// let answer = wash(&asked).map_err(|f| format!("{f:?}"))?;
/// let left = answer.washes.last().and_then(|w| w.1).ok_or("no washes")?;
/// assert!((left - 66.0).abs() < 0.5);
/// # Ok::<(), String>(())
/// ```
pub fn wash(options: &WashOptions<'_>) -> Result<WashAnswer, Vec<Finding>> {
    answer(options).map_err(|findings| findings.into_iter().map(unplaced).collect())
}

fn answer(options: &WashOptions<'_>) -> Result<WashAnswer, Vec<Finding>> {
    if let Some(text) = options.of {
        let named: Vec<chem::Species> = chem::Species::parse(text).into_iter().collect();
        crate::screen::substances(&named, text)?;
    }
    let mut reader = Quantities::default();
    let washes = options.washes.and_then(|text| portions(&mut reader, text));
    let held = held(&mut reader, options, washes);
    let per_volume = |reader: &mut Quantities, what: &str, text: Option<&str>| {
        text.and_then(|text| reader.one(what, text, Dimension::DENSITY, true))
    };
    let liquor = per_volume(&mut reader, "the liquor", options.liquor);
    let solubility = per_volume(&mut reader, "the solubility", options.solubility);
    let product = options.product.and_then(|text| reader.one("the product", text, Dimension::MASS, false));
    let efficiency = options.efficiency.map_or(Some(1.0), |text| reader.share("the efficiency", text));
    let before = liquor.zip(held).map(|(c, (held, ..))| c * held);
    let target = options.target.and_then(|text| target(&mut reader, text, before, product));
    if washes.is_none() && options.target.is_none() && options.readings.is_empty() && reader.errors.is_empty() {
        let hint = "give the washes, `--washes \"4 x 100 mL\"`, or what may be left, `--target \"0.1 %\"`";
        reader.slip("missing-field", "", "neither washes nor a target is given".to_owned(), hint);
    }
    let (Some((volume, deviation, held_from)), Some(efficiency)) = (held, efficiency) else {
        return Err(reader.errors);
    };
    if efficiency <= 0.0 {
        let text = options.efficiency.unwrap_or("");
        reader.slip("out-of-range", text, "the efficiency is zero".to_owned(), "usual are 0.5 to 1");
    }
    if !reader.errors.is_empty() {
        return Err(reader.errors);
    }
    let left = |share: f64| {
        let mass = before.map(|m| share * m);
        (share, mass.map(|m| m / MILLI), mass.zip(product).map(|(m, p)| 100.0 * m / p))
    };
    let (count, each) = washes.unwrap_or((0, 0.0));
    let interval = normal(volume / MILLI, deviation / MILLI, "mL");
    let bound = |n: u32, held: f64| left_by(n, each, held * MILLI, efficiency);
    let bounds = (1..=count).map(|n| (bound(n, interval.low), bound(n, interval.high))).collect();
    let list = (1..=count).map(|n| left(left_by(n, each, volume, efficiency))).collect();
    let in_one = (count > 1).then(|| left_by_one(f64::from(count) * each, volume, efficiency));
    let found = target.map_or_else(Vec::new, |share| {
        plans(share, volume, efficiency, solubility.unwrap_or(0.0), volume, MOST_WASHES)
    });
    let plan = |plan: &Plan| WashPlan {
        count: plan.count,
        volume: plan.volume / MILLI,
        total: f64::from(plan.count) * plan.volume / MILLI,
        lost: solubility.map(|_| plan.lost / MILLI),
    };
    let mut answer = WashAnswer {
        of: options.of.unwrap_or("what is dissolved").to_owned(),
        held: interval,
        held_from,
        before: before.map(|m| m / MILLI),
        efficiency,
        volume: washes.map(|(_, each)| each / MILLI),
        washes: list,
        bounds,
        in_one: in_one.map(|share| (share, before.map(|m| share * m / MILLI))),
        lost: solubility.filter(|_| count > 0).map(|s| lost(count, each, s, 1.0) / MILLI),
        target,
        plans: found.iter().map(plan).collect(),
        best: best(&found).as_ref().map(plan),
        findings: Vec::new(),
    };
    answer.findings = findings(&answer, product);
    Ok(answer)
}

/// `4 x 100 mL`: how many, m³ each.
fn portions(reader: &mut Quantities, text: &str) -> Option<(u32, f64)> {
    let parts = text.split_once(['x', '×', '*']);
    let count = parts.and_then(|(count, _)| count.trim().parse::<u32>().ok()).filter(|n| (1..=100).contains(n));
    let (Some(count), Some((_, volume))) = (count, parts) else {
        reader.slip(
            "bad-quantity",
            text,
            format!("the washes are `{text}`"),
            "write `4 x 100 mL`, at most 100 of them",
        );
        return None;
    };
    Some((count, reader.one("the wash", volume.trim(), Dimension::VOLUME, false)?))
}

/// Held liquor with its standard uncertainty, m³, and how it is known.
fn held(
    reader: &mut Quantities,
    options: &WashOptions<'_>,
    washes: Option<(u32, f64)>,
) -> Option<(f64, f64, &'static str)> {
    if let Some(text) = options.held {
        let volume = reader.one("the held liquor", text, Dimension::VOLUME, false)?;
        return Some((volume, STATED * volume, "stated"));
    }
    if let (Some(wet), Some(dry)) = (options.wet, options.dry) {
        let density =
            options.density.map_or(Some(USUAL_DENSITY), |t| reader.one("the density", t, Dimension::DENSITY, false));
        let (heavy, light) = (
            reader.one("the wet cake", wet, Dimension::MASS, false),
            reader.one("the dry cake", dry, Dimension::MASS, false),
        );
        let volume = held_by_weight(heavy?, light?, density?);
        if volume > 0.0 {
            return Some((volume, WEIGHED * volume, "weighed"));
        }
        reader.slip("out-of-range", wet, "the wet cake is not heavier than the dry one".to_owned(), "check the masses");
        return None;
    }
    if let (false, Some((_, each))) = (options.readings.is_empty(), washes) {
        let number =
            |text: &&str| text.split_whitespace().next().and_then(|word| word.replace(',', ".").parse::<f64>().ok());
        let readings: Vec<f64> = options.readings.iter().filter_map(number).collect();
        if let Some((volume, deviation)) =
            held_by_readings(&readings, each).filter(|_| readings.len() == options.readings.len())
        {
            let deviation = if deviation.is_finite() { deviation.max(READ * volume) } else { STATED * volume };
            return Some((volume, deviation, "readings"));
        }
        let hint = "give two or more readings of washes of one volume, each less than the one before";
        reader.slip("bad-quantity", options.readings[0], "the readings do not fall".to_owned(), hint);
        return None;
    }
    let hint = "give `--held \"60 mL\"`, or the cake `--wet` and `--dry`, or readings with the washes";
    reader.slip("missing-field", "", "how much liquor the cake holds is not given".to_owned(), hint);
    None
}

/// What may be left, as a share of what the held liquor carries.
fn target(reader: &mut Quantities, text: &str, before: Option<f64>, product: Option<f64>) -> Option<f64> {
    let share = match chem::Quantity::parse(text).map(|quantity| quantity.dimension()) {
        Ok(Dimension::DIMENSIONLESS) => {
            let share = reader.share("the target", text)?;
            let (Some(product), Some(before)) = (product, before) else {
                let hint = "give `--product` and `--liquor`, so that the share of the product is a mass";
                reader.slip("missing-field", text, "a share of what?".to_owned(), hint);
                return None;
            };
            share * product / before
        }
        _ => {
            let mass = reader.one("the target", text, Dimension::MASS, false)?;
            let Some(before) = before else {
                let hint = "give `--liquor`, so that it is known what there is to begin with";
                reader.slip("missing-field", text, "what the liquor holds is not given".to_owned(), hint);
                return None;
            };
            mass / before
        }
    };
    if share > 0.0 {
        return Some(share.min(1.0));
    }
    reader.slip(
        "out-of-range",
        text,
        "nothing at all may be left".to_owned(),
        "no washing leaves nothing: give a small mass",
    );
    None
}

fn findings(answer: &WashAnswer, product: Option<f64>) -> Vec<Finding> {
    let mut list = Vec::new();
    if let Some((volume, held)) = answer.volume.map(|volume| (volume, answer.held.mean))
        && volume < held
    {
        let message = format!("a wash of {volume:.0} mL is less than the {held:.0} mL that the cake holds");
        list.push(remark(
            "wash-too-small",
            Severity::Note,
            message,
            "it may not reach all of the cake; stir it up with the wash",
        ));
    }
    if let (Some(lost), Some(product)) = (answer.lost, product)
        && lost * MILLI > 0.01 * product
    {
        let message = format!("the washes take {:.1} % of the product along", 100.0 * lost * MILLI / product);
        list.push(remark(
            "product-washed-out",
            Severity::Warning,
            message,
            "wash cold, with less, or with a solution of a common ion",
        ));
    }
    if answer.target == Some(1.0) {
        let message = "the held liquor carries no more than may be left".to_owned();
        list.push(remark("nothing-to-do", Severity::Note, message, ""));
    }
    let message = "what is shut up in crystals or adsorbed does not follow this law".to_owned();
    list.push(remark("occluded", Severity::Note, message, "a test of the last wash says more than the count"));
    list
}
