//! Which hazard statements does a solution carry?
//!
//! The list's own limits where it sets them (acids, alkalis, peroxide, bleach), otherwise additivity: acute toxicity by the
//! converted point estimates of the categories, skin and eyes by the sums of corrosive parts, water life by summation with a
//! multiplying factor of 1. Physical hazards of the dry substance are left out in water. Other contents are not known.
//!
//! Source: UN GHS Rev. 9, tables 3.1.2, 3.2.3, 3.3.3, 3.4.5, 3.5.1, 3.6.1, 3.7.1, 3.8.2, 3.9.3 and 4.1.4 (from memory).

use super::contents::Present;
use crate::outcome::SubstanceHazard;
use chem::hazard::{Hazards, Signal, Statement, statement_of, statements};
use engine::hazard::{
    Corrosion, ORAL, Toxicity, VAPOUR, acute_category, mixture_aquatic, mixture_corrosion, mixture_toxicity,
};

/// Mass fraction from which something is told as such.
const AS_SUCH: f64 = 0.9;
/// Bounds of the categories 1 to 4 of acute toxicity by the skin, mg/kg.
const DERMAL: [f64; 4] = [50.0, 200.0, 1000.0, 2000.0];
/// Statements of the categories 1 to 4, with the point estimate of each, by way of exposure.
const ACUTE: [([&str; 4], [f64; 4], [f64; 4]); 3] = [
    (["H300", "H300", "H301", "H302"], [0.5, 5.0, 100.0, 500.0], ORAL),
    (["H310", "H310", "H311", "H312"], [5.0, 50.0, 300.0, 1100.0], DERMAL),
    (["H330", "H330", "H331", "H332"], [0.05, 0.5, 3.0, 11.0], VAPOUR),
];
/// Statements that hold from a percentage on.
const FROM_PERCENT: [(&str, f64); 17] = [
    ("H290", 1.0),
    ("H317", 1.0),
    ("H334", 1.0),
    ("H335", 20.0),
    ("H336", 20.0),
    ("H340", 0.1),
    ("H341", 1.0),
    ("H350", 0.1),
    ("H351", 1.0),
    ("H360", 0.3),
    ("H361", 3.0),
    ("H362", 0.3),
    ("H370", 10.0),
    ("H371", 10.0),
    ("H372", 10.0),
    ("H373", 10.0),
    ("H413", 25.0),
];

/// The hazards of what is charged, as a solution where it is one.
pub(super) fn of_solution(charged: &Present, told: SubstanceHazard) -> SubstanceHazard {
    let dissolved = charged.species.phase == Some(chem::Phase::Aqueous);
    let Some(known) = statements(&charged.species.formula).filter(|_| dissolved && charged.strength < AS_SUCH) else {
        return told;
    };
    let percent = 100.0 * charged.strength;
    let list = in_water(known, percent);
    let signal = list.iter().filter_map(|s| s.signal).max().map(Signal::word);
    let mut pictograms: Vec<&str> = list.iter().map(|s| s.pictogram).filter(|p| !p.is_empty()).collect();
    pictograms.sort_unstable();
    pictograms.dedup();
    SubstanceHazard {
        substance: format!("{} {} %", told.substance, super::told::figure(percent)),
        signal,
        statements: list.iter().map(|s| (s.code, s.phrase)).collect(),
        pictograms,
        comment: "reckoned for a solution in water by the rules for mixtures",
        ..told
    }
}

/// The statements of a solution of so many percent.
pub(crate) fn in_water(known: &Hazards, percent: f64) -> Vec<Statement> {
    let mut codes: Vec<&'static str> = Vec::new();
    let has = |code: &str| known.statements.iter().any(|s| s.code == code);
    for (names, estimates, bounds) in &ACUTE {
        // The statement of the categories 1 and 2 is one; 2 is the milder, and commoner.
        let place = (1..4).find(|i| names.get(*i).is_some_and(|code| has(code)));
        let estimate = place.and_then(|i| estimates.get(i)).copied();
        let mix = mixture_toxicity(&[(percent, estimate.map_or(Toxicity::None, Toxicity::Estimate))]);
        let category = mix.estimate.and_then(|estimate| acute_category(estimate, bounds));
        codes.extend(category.and_then(|c| names.get(c - 1)));
    }
    codes.extend(skin_and_eyes(known, percent));
    codes.extend(
        FROM_PERCENT
            .iter()
            .filter(|(code, from)| {
                let set = known.limits.iter().any(|(s, _)| s.code == *code);
                has(code) && !set && percent >= *from
            })
            .map(|(code, _)| *code),
    );
    let rest = known.limits.iter().filter(|(s, from)| percent >= *from && !is_of_skin(s.code));
    codes.extend(rest.map(|(s, _)| s.code));
    codes.extend(water_life(known, percent));
    codes.sort_unstable();
    codes.dedup();
    codes.into_iter().filter_map(statement_of).collect()
}

fn is_of_skin(code: &str) -> bool {
    ["H314", "H315", "H318", "H319"].contains(&code)
}

/// Skin and eyes: the list's own limits, or additivity.
fn skin_and_eyes(known: &Hazards, percent: f64) -> Vec<&'static str> {
    if known.limits.iter().any(|(s, _)| is_of_skin(s.code)) {
        let held: Vec<&str> = known
            .limits
            .iter()
            .filter(|(s, from)| is_of_skin(s.code) && percent >= *from)
            .map(|(s, _)| s.code)
            .collect();
        // The graver statement speaks for the milder ones.
        let graver = |code: &str| match code {
            "H315" | "H318" => held.contains(&"H314"),
            "H319" => held.contains(&"H314") || held.contains(&"H318"),
            _ => false,
        };
        return held.iter().copied().filter(|code| !graver(code)).collect();
    }
    let kinds =
        [("H314", Corrosion::Skin1), ("H315", Corrosion::Skin2), ("H318", Corrosion::Eye1), ("H319", Corrosion::Eye2)];
    let of = |code: &str| known.statements.iter().any(|s| s.code == code);
    let parts: Vec<(f64, Corrosion)> =
        kinds.iter().filter(|(code, _)| of(code)).map(|(_, kind)| (percent, *kind)).collect();
    let mix = mixture_corrosion(&parts, 0.0);
    let skin = match mix.skin {
        Some(1) => Some("H314"),
        Some(_) => Some("H315"),
        None => None,
    };
    let eye = match mix.eye {
        Some(1) if mix.skin != Some(1) => Some("H318"),
        Some(2) => Some("H319"),
        _ => None,
    };
    skin.into_iter().chain(eye).collect()
}

fn water_life(known: &Hazards, percent: f64) -> Option<&'static str> {
    let category = ["H410", "H411", "H412"].iter().position(|code| known.statements.iter().any(|s| s.code == *code))?;
    let category = u8::try_from(category + 1).ok()?;
    match mixture_aquatic(&[(percent, category, 1.0)]) {
        Some(1) => Some("H410"),
        Some(2) => Some("H411"),
        Some(3) => Some("H412"),
        _ => None,
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use chem::Formula;

    fn codes(formula: &str, percent: f64) -> Vec<&'static str> {
        let known = statements(&Formula::parse(formula).expect("a formula")).expect("listed");
        in_water(known, percent).iter().map(|s| s.code).collect()
    }

    /// Labels of what is sold (Annex VI of the regulation on classification; from memory).
    #[test]
    fn solutions_carry_the_statements_of_their_strength() {
        assert_eq!(codes("CH3COOH", 5.0), Vec::<&str>::new());
        assert_eq!(codes("CH3COOH", 15.0), ["H315", "H319"]);
        assert_eq!(codes("CH3COOH", 60.0), ["H314"]);
        assert_eq!(codes("HCl", 15.0), ["H290", "H315", "H319", "H335"]);
        assert_eq!(codes("HCl", 33.0), ["H290", "H314", "H335"]);
        assert_eq!(codes("NaOH", 4.0), ["H290", "H314"]);
        assert_eq!(codes("H2O2", 3.0), Vec::<&str>::new());
        assert_eq!(codes("H2O2", 12.0), ["H318"]);
        assert_eq!(codes("H2SO4", 30.0), ["H290", "H314"]);
        // 10 % copper sulfate: 500 mg/kg over a tenth is above 2000; eyes from 3 %; water life 100 ≥ 25.
        assert_eq!(codes("CuSO4", 10.0), ["H318", "H411"]);
        assert_eq!(codes("CuSO4", 30.0), ["H302", "H318", "H410"]);
        assert_eq!(codes("CuSO4", 0.1), Vec::<&str>::new());
    }
}
