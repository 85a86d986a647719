//! When is the middle of a heated bed done?
//!
//! The reaction is the first loss of the solid's chain whose gas reaches 1 atm below the furnace's temperature and that takes up
//! heat; it goes at that temperature as fast as heat comes, or by constants that are given. Heat and heat capacities are those of
//! the tables. Density, conductivity and surface are taken as stated or as usual for packed powders; conductivity is the
//! uncertain one, so that every time is told for a least, a usual and a greatest value.
//!
//! Source: [`engine::furnace`]; conductivities of packed oxide and carbonate powders in gas at 300 to 1000 °C, 0.1 to 0.4
//! W/(m K), bulk densities about 0.4 of the solid's: common practice, from memory.

use super::equilibrium::lot;
use super::pointed;
use super::reading::{Quantities, remark, unplaced};
use crate::equilibria::{is_of, molar_mass};
use crate::heating::{From, Oven, Step, Surroundings, chain, equation};
use crate::outcome::{Finding, FurnaceAnswer, FurnaceMoment, Severity};
use crate::thermochemistry::{Form, forms};
use chem::{Dimension, Phase, Quantity, Species, Value};
use engine::furnace::{Bed, Furnace, Law, Moment, Shape, follow};
use engine::thermochemistry::form::stable;

/// K at 0 °C.
const ZERO: f64 = 273.15;
/// Room, K.
const ROOM: f64 = 298.15;
/// Conductivities of a packed powder, W/(m·K).
const POWDER: [f64; 3] = [0.1, 0.2, 0.4];
/// Bulk density, kg/m³, where it is not stated.
const BULK: f64 = 1000.0;
/// Transfer by gas, W/(m²·K), and emissivity of a surface in a muffle.
const SURFACE: (f64, f64) = (10.0, 0.8);
/// Unreacted fraction of the middle at which it is done.
const DONE: f64 = 0.01;
/// Longest time looked at, s.
const LONGEST: f64 = 7.0 * 86_400.0;
/// Cells of the bed.
const CELLS: usize = 60;
/// Laws of the rate.
const LAWS: [&str; 5] = ["first order", "contracting area", "contracting volume", "nucleation", "diffusion"];
/// Steps of a run aimed at, and told moments.
const STEPS: f64 = 3000.0;
const TOLD: usize = 40;

/// A bed in words.
#[derive(Clone, Copy, Debug, Default)]
pub struct FurnaceOptions<'a> {
    /// Temperature of the furnace.
    pub at: Option<&'a str>,
    /// Depth of a layer heated from above only, or with `both` its half.
    pub depth: Option<&'a str>,
    /// Whether the layer is heated from both sides.
    pub both: bool,
    /// Diameter of a cylinder heated from around, instead of a depth.
    pub diameter: Option<&'a str>,
    /// Time asked about.
    pub time: Option<&'a str>,
    /// Bulk density.
    pub density: Option<&'a str>,
    /// Conductivity of the bed, W/(m K): `0.2`.
    pub conductivity: Option<&'a str>,
    /// Frequency factor, `1e8` in 1/s, with `energy`.
    pub frequency: Option<&'a str>,
    /// Activation energy.
    pub energy: Option<&'a str>,
    /// `first order`, `contracting area`, `contracting volume`, `nucleation` or `diffusion`.
    pub law: Option<&'a str>,
    /// In what.
    pub surroundings: Option<&'a str>,
}

/// The bed read.
struct Asked {
    solid: Species,
    furnace: f64,
    shape: Shape,
    depth: f64,
    bed: String,
    time: Option<f64>,
    density: f64,
    conductivity: [f64; 3],
    kinetics: Option<(f64, f64, &'static str)>,
    surroundings: Surroundings,
    assumed: Vec<String>,
}

/// When is the middle of a heated bed done?
///
/// # Errors
/// Findings that point at what is missing or cannot be read, and refusals.
///
/// ```
/// use prep::ask::{FurnaceOptions, furnace};
/// let options = FurnaceOptions { at: Some("1000 °C"), depth: Some("20 mm"), ..FurnaceOptions::default() };
/// let answer = furnace("CaCO3(s)", &options).map_err(|f| format!("{f:?}"))?;
/// assert!(answer.done[1] > answer.half_depth[1]);
/// # Ok::<(), String>(())
/// ```
pub fn furnace(solid: &str, options: &FurnaceOptions<'_>) -> Result<FurnaceAnswer, Vec<Finding>> {
    answer(solid, options).map_err(|list| list.into_iter().map(unplaced).collect())
}

fn answer(text: &str, options: &FurnaceOptions<'_>) -> Result<FurnaceAnswer, Vec<Finding>> {
    let named: Vec<Species> = Species::parse(text).into_iter().collect();
    crate::screen::substances(&named, text)?;
    let asked = read(text, options)?;
    let mut findings = crate::screen::products(std::slice::from_ref(&asked.solid), &[], true, text)?;
    crate::screen::together(&[(asked.solid.clone(), 1.0)], text)?;
    let slip = |message: String, hint: &str| vec![pointed("no-loss", text, 0, text.len(), message, hint)];
    let oven = Oven::new(&[(asked.solid.clone(), 1.0)], asked.surroundings)
        .ok_or_else(|| slip(format!("nothing is known of {text}"), "check the formula"))?;
    let steps = chain(&asked.solid, &oven.pool, asked.surroundings);
    let step = chosen(&steps, asked.furnace).ok_or_else(|| {
        let told: Vec<String> = steps.iter().map(|s| format!("{} -> {}", s.from, s.to)).collect();
        let message = format!("{} loses nothing below {:.0} °C whose heat is known", asked.solid, asked.furnace - ZERO);
        slip(message, &format!("a hotter furnace, or `ignite` for what it may become; its losses: {}", told.join(", ")))
    })?;
    let front = match step.own_gas {
        From::Above(kelvin) => kelvin,
        _ => ROOM,
    };
    let (heat, capacities) = heats(step, front, asked.furnace)
        .ok_or_else(|| slip(format!("the heat of {} is not known", equation(step)), "no table here has its values"))?;
    if steps.iter().take_while(|s| !std::ptr::eq(*s, step)).count() > 0 {
        let message = format!("the losses before {} are taken to be through", equation(step));
        findings.push(remark("earlier-losses", Severity::Note, message, "ask for the hydrate to time its drying"));
    }
    let law = match asked.kinetics {
        None => Law::AtTemperature(front),
        Some((a, e, "first order")) => Law::FirstOrder(a, e),
        Some((a, e, "contracting area")) => Law::Contracting(a, e, 2.0),
        Some((a, e, "nucleation")) => Law::Nucleation(a, e, 2.0),
        Some((a, e, "diffusion")) => Law::Diffusion(a, e),
        Some((a, e, _)) => Law::Contracting(a, e, 3.0),
    };
    let bed = |conductivity: f64, depth: f64| Bed {
        shape: asked.shape,
        depth,
        density: asked.density,
        conductivity,
        heat_capacity: capacities,
        heat,
        law,
        start: ROOM,
    };
    let runs = asked.conductivity.map(|k| run(bed(k, asked.depth), asked.furnace));
    let halves = asked.conductivity.map(|k| done(&run(bed(k, 0.5 * asked.depth), asked.furnace)));
    Ok(FurnaceAnswer {
        solid: step.from.to_string(),
        equation: equation(step),
        furnace: asked.furnace - ZERO,
        bed: asked.bed,
        depth: asked.depth * 1e3,
        law: asked.kinetics.map_or_else(
            || format!("as fast as heat arrives, at {:.0} °C in its own gas at 1 atm", front - ZERO),
            |(a, e, law)| format!("{law}, {a:.3e} 1/s and {:.1} kJ/mol as given", e * 1e-3),
        ),
        heat: heat * 1e-6,
        front: asked.kinetics.is_none().then_some(front - ZERO),
        done: [0, 1, 2].map(|i| done(&runs[i])),
        half_depth: halves,
        conductivity: asked.conductivity,
        asked: asked.time.and_then(|time| at(&runs[1], time)),
        moments: told(&runs[1]),
        bounds: [told(&runs[0]), told(&runs[2])],
        assumed: asked.assumed,
        findings,
    })
}

fn read(text: &str, options: &FurnaceOptions<'_>) -> Result<Asked, Vec<Finding>> {
    let mut reader = Quantities::default();
    let mut assumed = Vec::new();
    let solid = lot(&mut reader, text).into_iter().next().map(|(species, _)| species);
    let needed = |reader: &mut Quantities, what: &str, hint: &str| {
        reader.slip("missing-field", "", format!("{what} is not given"), hint);
    };
    let furnace = match options.at {
        Some(at) => reader.temperature("the temperature", at),
        None => {
            needed(&mut reader, "the temperature of the furnace", "give `--at \"900 °C\"`");
            None
        }
    };
    let length = |reader: &mut Quantities, what: &str, text: &str| reader.one(what, text, Dimension::LENGTH, false);
    let size = match (options.depth, options.diameter) {
        (Some(depth), None) => length(&mut reader, "the depth", depth).map(|depth| {
            let half = if options.both { 0.5 * depth } else { depth };
            let sides = if options.both { "both sides" } else { "one side" };
            (Shape::Slab, half, format!("a layer {:.1} mm deep, heated from {sides}", depth * 1e3))
        }),
        (None, Some(diameter)) => length(&mut reader, "the diameter", diameter)
            .map(|d| (Shape::Cylinder, 0.5 * d, format!("a crucible {:.1} mm wide, heated from around", d * 1e3))),
        _ => {
            needed(&mut reader, "one of depth and diameter", "give `--depth \"20 mm\"`, or `--diameter \"30 mm\"`");
            None
        }
    };
    let time = options.time.and_then(|time| reader.one("the time", time, Dimension::TIME, false));
    let density = match options.density {
        Some(density) => reader.one("the density", density, Dimension::DENSITY, false),
        None => {
            assumed.push("bulk density 1 g/mL (a loose powder; weigh a measured volume)".to_owned());
            Some(BULK)
        }
    };
    let conductivity = conductivity(&mut reader, options.conductivity, &mut assumed);
    assumed.push("surface in a muffle: 10 W/(m2 K) by gas, emissivity 0.8".to_owned());
    let kinetics = kinetics(&mut reader, options);
    let surroundings = Surroundings::from_word(options.surroundings.unwrap_or("own gas"));
    if surroundings.is_none() {
        let words: Vec<&str> = Surroundings::WORDS.iter().map(|(word, _)| *word).collect();
        let word = options.surroundings.unwrap_or("");
        reader.slip(
            "unknown-word",
            word,
            format!("`{word}` is not known here"),
            &format!("one of {}", words.join(", ")),
        );
    }
    match (solid, furnace, size, density, conductivity, surroundings) {
        (
            Some(solid),
            Some(furnace),
            Some((shape, depth, bed)),
            Some(density),
            Some(conductivity),
            Some(surroundings),
        ) if reader.errors.is_empty() => Ok(Asked {
            solid,
            furnace,
            shape,
            depth,
            bed,
            time,
            density,
            conductivity,
            kinetics,
            surroundings,
            assumed,
        }),
        _ => Err(reader.errors),
    }
}

/// Least, middle and most conductivity of the bed.
fn conductivity(reader: &mut Quantities, given: Option<&str>, assumed: &mut Vec<String>) -> Option<[f64; 3]> {
    if let Some(text) = given {
        return reader.one("the conductivity, in W/(m K),", text, Dimension::DIMENSIONLESS, false).map(|k| [k; 3]);
    }
    assumed.push("conductivity 0.2 W/(m K), from 0.1 to 0.4 (packed powders)".to_owned());
    Some(POWDER)
}

/// Constants that are given: both or none.
fn kinetics(reader: &mut Quantities, options: &FurnaceOptions<'_>) -> Option<(f64, f64, &'static str)> {
    let word = options.law.unwrap_or("first order");
    let law = LAWS.into_iter().find(|known| *known == word.trim());
    let (frequency, energy) = match (options.frequency, options.energy) {
        (None, None) => return None,
        (Some(frequency), Some(energy)) => (frequency, energy),
        _ => {
            reader.slip(
                "missing-field",
                "",
                "frequency factor and activation energy belong together".to_owned(),
                "give both",
            );
            return None;
        }
    };
    if law.is_none() {
        let hint = format!("one of {}", LAWS.map(|law| format!("`{law}`")).join(", "));
        reader.slip("unknown-word", word, format!("the law `{word}` is not known"), &hint);
    }
    let a = frequency.trim().trim_end_matches("1/s").trim().parse::<f64>().ok().filter(|a| *a > 0.0 && a.is_finite());
    if a.is_none() {
        reader.slip(
            "bad-quantity",
            frequency,
            format!("the frequency factor is `{frequency}`"),
            "a number in 1/s, `1e8`",
        );
    }
    let e = match Quantity::parse_as(energy, Dimension::MOLAR_ENERGY).map(|q| q.si()) {
        Ok(Value::Point { value, .. }) if value > 0.0 => Some(value),
        _ => {
            reader.slip("bad-quantity", energy, format!("the activation energy is `{energy}`"), "give `180 kJ/mol`");
            None
        }
    };
    Some((a?, e?, law?))
}

/// The last loss that may go in the furnace, so that the bed is followed to its end; of several that of the greatest heat.
fn chosen(steps: &[Step], furnace: f64) -> Option<&Step> {
    let goes = |step: &&Step| matches!(step.own_gas, From::Above(kelvin) if kelvin < furnace);
    let warm = |step: &Step| heats(step, 1000.0f64.min(furnace), furnace).map_or(0.0, |(heat, _)| heat);
    steps.iter().filter(goes).filter(|s| warm(s) > 0.0).max_by(|a, b| warm(a).total_cmp(&warm(b)))
}

fn form_of<'a>(list: &'a [Form], species: &Species, kelvin: f64) -> Option<&'a Form> {
    let own: Vec<&Form> = list.iter().filter(|form| is_of(form, species) && !form.only_if_named).collect();
    let place = stable(own.iter().map(|form| &form.fit), kelvin)
        .or_else(|| engine::thermochemistry::form::nearest(own.iter().map(|form| &form.fit), kelvin))?;
    own.get(place).copied()
}

/// Heat for a kilogram of the solid at a temperature, J/kg, and its heat capacities before and after, J/(kg K): the means
/// from room temperature to the front, and from the front to the furnace, of a kilogram of what was charged.
fn heats(step: &Step, front: f64, furnace: f64) -> Option<(f64, [f64; 2])> {
    let mass = molar_mass(&step.from.formula);
    let (mut heat, mut after) = (0.0, 0.0);
    let mut before = 0.0;
    for (species, n) in &step.terms {
        let list = forms(&species.formula, species.phase);
        let form = form_of(&list, species, front)?;
        heat += n * form.fit.enthalpy(front);
        if *species == step.from {
            let middle = 0.5 * (ROOM + front);
            before = form_of(&list, species, middle)?.fit.heat_capacity(middle);
        } else if species.phase != Some(Phase::Gas) {
            let middle = 0.5 * (front + furnace);
            after += n * form_of(&list, species, middle)?.fit.heat_capacity(middle);
        }
    }
    let all = (heat / mass, [before / mass, after / mass]);
    (all.0 > 0.0 && all.1.iter().all(|c| *c > 0.0)).then_some(all)
}

/// A run to the end of the middle, in steps that suit its length.
fn run(bed: Bed, kelvin: f64) -> Vec<Moment> {
    let furnace = Furnace { temperature: kelvin, transfer: SURFACE.0, emissivity: SURFACE.1 };
    // A first, coarse run tells how long it takes.
    let guess = bed.density * bed.depth * bed.depth / bed.conductivity
        * (bed.heat / (kelvin - ROOM).max(50.0) + bed.heat_capacity[0]);
    let coarse = follow(bed, furnace, (guess / 100.0, LONGEST), DONE, CELLS / 3).unwrap_or_default();
    let length = coarse.last().map_or(guess, |moment| moment.time);
    follow(bed, furnace, (length / STEPS, 1.5 * length), DONE, CELLS).unwrap_or_default()
}

/// When the middle is done, min.
fn done(run: &[Moment]) -> Option<f64> {
    run.last().filter(|moment| moment.middle_left < DONE && moment.time < LONGEST).map(|moment| moment.time / 60.0)
}

fn moment(m: &Moment) -> FurnaceMoment {
    FurnaceMoment {
        minutes: m.time / 60.0,
        middle: m.middle - ZERO,
        middle_left: 100.0 * m.middle_left,
        left: 100.0 * m.left,
    }
}

/// The moment at or right before a time; the end where it is later.
fn at(run: &[Moment], time: f64) -> Option<FurnaceMoment> {
    let found = run.iter().rev().find(|m| m.time <= time)?;
    Some(FurnaceMoment { minutes: time / 60.0, ..moment(found) })
}

fn told(run: &[Moment]) -> Vec<FurnaceMoment> {
    let stride = (run.len() / TOLD).max(1);
    let mut list: Vec<FurnaceMoment> = run.iter().step_by(stride).map(moment).collect();
    if let Some(last) = run.last().map(moment).filter(|last| list.last() != Some(last)) {
        list.push(last);
    }
    list
}
