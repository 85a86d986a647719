//! How is a caution put together?
//!
//! In the order in which it is read: signal and what happens with the number, the first sign, the condition to go on, the
//! control, what to wear, what to do if it happens, the waste.

use super::gases::Gas;
use crate::model::Span;
use crate::outcome::{CautionText, Finding, HoldPoint, Severity};

/// A caution before it is placed.
#[derive(Clone, Debug)]
pub(super) struct Told {
    /// What is said.
    pub text: CautionText,
    /// Where it points.
    pub span: Span,
    /// Number of the step; none for a shelf or a jar.
    pub step: Option<usize>,
    /// Grave first: 0 kills, 1 burns, 2 hurts.
    pub rank: u8,
}

impl Told {
    pub(super) fn finding(&self) -> Finding {
        let hints = [&self.text.control, &self.text.go_on];
        Finding {
            code: self.text.code,
            severity: Severity::Caution,
            message: self.text.what.trim_end_matches('.').to_owned(),
            line: 0,
            column: 0,
            span: Some(self.span.clone()),
            hints: hints.into_iter().filter(|t| !t.is_empty()).map(|t| t.trim_end_matches('.').to_owned()).collect(),
            causes: Vec::new(),
        }
    }
}

/// A hold point.
pub(super) fn hold(condition: &str, proof: &str, otherwise: &str) -> HoldPoint {
    HoldPoint { condition: condition.to_owned(), proof: proof.to_owned(), otherwise: otherwise.to_owned() }
}

const GOGGLES: &str = "Goggles, nitrile gloves, apron.";
const RINSE: &str = "On skin or eyes: rinse for 15 min, then call a poison centre.";

/// An empty caution with the usual things to wear.
pub(super) fn caution(code: &'static str, signal: &'static str, what: String) -> CautionText {
    CautionText {
        code,
        signal,
        what,
        first_sign: String::new(),
        go_on: String::new(),
        control: String::new(),
        wear: GOGGLES.to_owned(),
        emergency: RINSE.to_owned(),
        waste: String::new(),
    }
}

/// A figure for a sentence: two significant digits.
pub(super) fn figure(value: f64) -> String {
    if !value.is_finite() || value <= 0.0 {
        return "0".to_owned();
    }
    #[expect(clippy::cast_possible_truncation, reason = "a power of ten of a finite double is far inside i32")]
    let place = 1 - value.log10().floor() as i32;
    let scale = 10f64.powi(place);
    let rounded = (value * scale).round() / scale;
    format!("{rounded:.*}", usize::try_from(place.max(0)).unwrap_or(0))
}

/// What a gas comes to: "releases up to 1.7 L carbon monoxide (…); 67 ppm in this room, above …".
pub(super) fn gas_sentence(step: &str, gas: &Gas, room: f64, stated: bool) -> String {
    let whose = if stated { "in this room" } else { "in a small room of 10 m³" };
    let ppm = gas.in_room(room);
    let air = match (gas.limit(), gas.danger()) {
        (_, Some(danger)) if ppm >= danger => {
            format!("{} ppm {whose}, beyond what is immediately dangerous ({danger} ppm)", figure(ppm))
        }
        (Some((limit, words)), _) => {
            let side = if ppm > limit { "above" } else { "below" };
            format!("{} ppm {whose}, {side} {words} ({limit} ppm)", figure(ppm))
        }
        (None, _) => format!("{} ppm {whose}", figure(ppm)),
    };
    format!("step `{step}` releases up to {} L {} ({}); {air}.", figure(gas.litres()), gas.name(), gas.from)
}

/// What is to be said of a gas.
pub(super) fn gas_caution(step: &str, gas: &Gas, room: f64, stated: bool) -> (CautionText, u8) {
    let sentence = gas_sentence(step, gas, room, stated);
    let (code, signal, rank) = match gas.formula.text() {
        "H2" => ("flammable-gas", "Danger", 1),
        "CO2" | "O2" => ("gas-released", "Warning", 2),
        _ => ("toxic-gas", "Danger", 0),
    };
    let mut text = caution(code, signal, sentence);
    let (sign, control, emergency) = match gas.formula.text() {
        "H2" => {
            let litres = gas.litres();
            let (at, plan) = engine::hazard::flammable_air(litres, engine::hazard::HYDROGEN_LIMIT);
            text.what = format!(
                "step `{step}` releases up to {} L hydrogen ({}); {} L of air with it is at the flammable limit (4 %), plan for {} L.",
                figure(litres),
                gas.from,
                figure(at),
                figure(plan)
            );
            (
                "It fizzes; acid mist pricks in the nose. An impure metal gives poisonous arsine and phosphine with it.",
                "Outdoors or in a hood, open vessel, no flame, no spark, no lid; portions.",
                "If it burns: cover the vessel, step back. Never water on burning metal: dry sand.",
            )
        }
        "CO2" => (
            "It foams up to five times its volume, at times after a delay.",
            "An open vessel of three times the volume or more, slow addition with stirring, window open; never stoppered.",
            "Headache or short breath: out into fresh air.",
        ),
        "O2" => (
            "Bubbles, then heat, then it boils over.",
            "Dilute, cool, add slowly, vessel open; never stoppered, nothing that burns near it.",
            "If it gets hot: cool from outside, step back.",
        ),
        "CO" => (
            "Carbon monoxide has no smell; headache and dizziness are the first signs.",
            "Outdoors, with a carbon monoxide alarm where you stand; sweep before any flame.",
            "Out at once, call for help; do not go back in.",
        ),
        "NO2" | "NO" => (
            "Brown gas; whoever breathed it feels well for hours before the lungs fill.",
            "Outdoors or in a hood only; stop if brown gas shows indoors.",
            "Breathed in: to a doctor at once, also without complaints.",
        ),
        "Cl2" => (
            "A smell of swimming bath, a cough, green-yellow air.",
            "Do not do it: take another leach or another order of steps. If it forms: open air, no more acid.",
            "Out at once, upwind; call for help.",
        ),
        "H2S" => (
            "A smell of rotten eggs that goes away although the gas stays: it numbs the nose.",
            "Avoid the acid; a trap of alkali takes up what forms; outdoors or in a hood.",
            "Out at once, call for help; do not go back in.",
        ),
        "HF" | "HCN" => (
            "No sure first sign.",
            "Do not bring these together: do not go on with this step.",
            "Out at once, call for help and name the gas.",
        ),
        _ => (
            "A sharp smell, a cough, tears.",
            "Outdoors or in a hood, slow addition; a trap of water or alkali where it can be led off.",
            "Out into fresh air; call a poison centre if a cough stays.",
        ),
    };
    text.first_sign = sign.to_owned();
    text.control = control.to_owned();
    text.emergency = emergency.to_owned();
    let heated = gas.from.contains("in the heat") || gas.from.contains("burning");
    let go_on = if heated { "no smoke, flame or smell leaves it" } else { "it has stopped fizzing and nothing smells" };
    // What is not to be done has no condition to go on.
    if !["Cl2", "HF", "HCN"].contains(&gas.formula.text()) {
        text.go_on = format!("Go on when {go_on}.");
    }
    (text, rank)
}
