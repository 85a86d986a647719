//! How is a caution put together?
//!
//! In the order in which it is read: signal and what happens with the number, the hazard statements of what does the harm,
//! the first sign, the condition to go on, the control, what to wear, what to do if it happens, the waste, the basis.
//!
//! Source: statements of [`chem::hazard::statements`]; advice is common practice.

use super::gases::Gas;
use crate::model::Span;
use crate::outcome::{CautionText, Finding, HoldPoint, Severity};
use chem::Formula;
use chem::hazard::statements;

/// A caution before it is placed.
#[derive(Clone, Debug)]
pub(super) struct Told {
    /// What is said.
    pub text: CautionText,
    /// Where it points.
    pub span: Span,
    /// Number of the step; none for a shelf or a jar.
    pub step: Option<usize>,
    /// Grave first: 0 kills, 1 burns, 2 hurts; [`NOTED`] is said of a source, a reagent or a ware.
    pub rank: u8,
}

/// Rank of what is said of a source, a reagent or a ware, whatever the amounts.
pub(super) const NOTED: u8 = 3;
/// Rank of what stands with its step only and is no finding: so many steps have it that as a finding nobody would read it.
pub(super) const BY_THE_STEP: u8 = 4;

impl Told {
    pub(super) fn finding(&self) -> Finding {
        let hints = [&self.text.control, &self.text.go_on];
        Finding {
            code: self.text.code,
            severity: if self.rank >= NOTED { Severity::Note } else { Severity::Caution },
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
        statements: String::new(),
        first_sign: String::new(),
        go_on: String::new(),
        control: String::new(),
        wear: GOGGLES.to_owned(),
        emergency: RINSE.to_owned(),
        waste: String::new(),
        basis: AMOUNTS.to_owned(),
    }
}

/// What most cautions rest on.
const AMOUNTS: &str = "Basis: the amounts above at their most; other contents of the product are not known.";

/// A sentence with a capital letter.
pub(crate) fn capital(text: &str) -> String {
    let mut letters = text.chars();
    let first = letters.next().map(|c| c.to_uppercase().to_string()).unwrap_or_default();
    format!("{first}{}", letters.as_str())
}

/// Most statements in a caution.
const MOST_STATEMENTS: usize = 4;

/// The hazard statements of what does the harm as a sentence, those that kill or burn first; `of` says which codes matter.
pub(super) fn statements_of<'a>(formulas: impl IntoIterator<Item = &'a Formula>, of: impl Fn(&str) -> bool) -> String {
    let mut list: Vec<chem::hazard::Statement> = Vec::new();
    for known in formulas.into_iter().filter_map(statements) {
        for statement in known.statements.iter().filter(|s| of(s.code)) {
            if !list.iter().any(|other| other.code == statement.code) {
                list.push(*statement);
            }
        }
    }
    list.sort_by_key(|statement| (std::cmp::Reverse(statement.signal), statement.code));
    let parts: Vec<String> =
        list.iter().take(MOST_STATEMENTS).map(|s| format!("{} {}", s.code, lower(s.phrase))).collect();
    if parts.is_empty() { String::new() } else { format!("{}.", parts.join("; ")) }
}

fn lower(phrase: &str) -> String {
    let mut letters = phrase.chars();
    let first = letters.next().map(|c| c.to_lowercase().to_string()).unwrap_or_default();
    format!("{first}{}", letters.as_str())
}

/// Where what a gas leaves behind goes.
fn waste_of(gas: &str, heated: bool) -> &'static str {
    match gas {
        "H2" => {
            "Metal that is left: rinse, keep it wet and open until it has stopped fizzing, then to the metal waste."
        }
        "CO2" => "The liquor goes into a jar only when it has stopped fizzing; the lid stays loose for a day.",
        "O2" => "What is left of the peroxide: let it fall apart in an open vessel before it goes into a jar.",
        "Cl2" => {
            "What formed it: an open vessel outdoors, made alkaline with soda, then to the hazardous waste service."
        }
        "H2S" | "SO2" if !heated => {
            "A trap of alkali takes up the gas; its liquor is waste of its own and meets no acid again."
        }
        "NH3" if !heated => "Traps of water or dilute acid take up the gas; that liquor meets no bleach and no silver.",
        "HF" | "SiF4" => "Slurry of lime binds fluoride; the solid goes to the hazardous waste service, in plastic.",
        "HCN" => "Keep it alkaline, closed and labelled; to the hazardous waste service.",
        "NO2" | "NO" if !heated => {
            "The acid liquor stays open outdoors until nothing brown leaves it; then a jar without metal or organic matter."
        }
        _ if heated => {
            "The residue cools in the open; weigh and label it; what a filter or trap held is waste of its own."
        }
        _ => "A jar of its own for the liquor, labelled, closed when nothing leaves it any more.",
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

/// What the figures of a gas rest on.
const GAS_BASIS: &str = "Basis: stoichiometry of the amounts above at their most, ideal gas at 25 °C; other contents of the product are not known.";

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

/// First sign, control and emergency of a gas.
fn words_of(formula: &str) -> (&'static str, &'static str, &'static str) {
    match formula {
        "H2" => (
            "It fizzes; acid mist pricks in the nose. An impure metal gives poisonous arsine and phosphine with it.",
            "Outdoors or in a hood, open vessel, no flame, no spark, no lid; portions.",
            "If it burns: cover the vessel, step back. Never water on burning metal: dry sand.",
        ),
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
        "SiF4" => (
            "White fumes; the glass turns dull.",
            "Vessels and tools of polyethylene only; outdoors or in a hood.",
            "Out into fresh air; on skin: rinse at once and call a poison centre.",
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
    }
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
    text.statements = statements_of([&gas.formula], |_| true);
    text.basis = GAS_BASIS.to_owned();
    if gas.is("H2") {
        let litres = gas.litres();
        let (at, plan) = engine::hazard::flammable_air(litres, engine::hazard::HYDROGEN_LIMIT);
        text.what = format!(
            "step `{step}` releases up to {} L hydrogen ({}); {} L of air with it is at the flammable limit (4 %), plan for {} L.",
            figure(litres),
            gas.from,
            figure(at),
            figure(plan)
        );
    }
    let (sign, control, emergency) = words_of(gas.formula.text());
    text.first_sign = sign.to_owned();
    text.control = control.to_owned();
    text.emergency = emergency.to_owned();
    let heated = gas.from.contains("in the heat") || gas.from.contains("burning");
    let go_on = if heated { "no smoke, flame or smell leaves it" } else { "it has stopped fizzing and nothing smells" };
    text.waste = waste_of(gas.formula.text(), heated).to_owned();
    // What is not to be done has no condition to go on.
    if !["Cl2", "HF", "HCN"].contains(&gas.formula.text()) {
        text.go_on = format!("Go on when {go_on}.");
    }
    (text, rank)
}
