//! Which hazard statements does a mixture carry?
//!
//! A solution, tablets with their filler, a liquor with all its solutes, a waste jar. The list's own limits where it sets
//! them (acids, alkalis, peroxide, bleach), otherwise additivity: acute toxicity by the converted point estimates of the
//! categories, skin and eyes by the sums of corrosive parts, water life by summation with a multiplying factor of 1. What is
//! not acutely toxic is ignored and named; what is in no table is told as a share of unknown toxicity. Physical hazards of a
//! dry substance are left out in water and kept in a dry mixture. Of an unknown mix the worst is told: sums of shares are
//! greatest where one of them makes up all.
//!
//! Source: UN GHS Rev. 9, 3.1.3.6.2.2 and 4.1.3.6.1, tables 3.1.2, 3.2.3, 3.3.3, 3.4.5, 3.5.1, 3.6.1, 3.7.1, 3.8.2, 3.9.3,
//! 4.1.3 and 4.1.4 (from memory).

use super::question::hazards_of;
use super::told::figure;
use crate::model::Supply;
use crate::outcome::SubstanceHazard;
use chem::hazard::{Hazards, Signal, Statement, pictograms, statement_of, statements};
use chem::{Formula, Phase, Species};
use engine::hazard::{
    Corrosion, ORAL, Toxicity, UNKNOWN_TOLD, VAPOUR, acute_category, mixture_acute_aquatic, mixture_aquatic,
    mixture_corrosion, mixture_toxicity,
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

/// An ingredient of a mixture.
#[derive(Clone, Debug)]
pub(crate) struct Ingredient {
    /// What it is called.
    pub name: String,
    /// Share of the mass, percent.
    pub percent: f64,
    /// What is known of it.
    pub known: Known,
}

/// What is known of the hazards of an ingredient.
#[derive(Clone, Copy, Debug)]
pub(crate) enum Known {
    /// The list has it.
    Listed(&'static Hazards),
    /// It is water.
    Water,
    /// No table here has it.
    Nothing,
}

impl Ingredient {
    /// A substance with its share.
    pub(crate) fn of(formula: &Formula, percent: f64) -> Self {
        let known = if formula.same_substance(&Formula::water()) {
            Known::Water
        } else {
            statements(formula).map_or(Known::Nothing, Known::Listed)
        };
        let name = if matches!(known, Known::Water) { "water".to_owned() } else { formula.to_string() };
        Self { name, percent, known }
    }

    fn water(percent: f64) -> Self {
        Self { name: "water".to_owned(), percent, known: Known::Water }
    }

    /// What a label does not tell.
    fn rest(percent: f64) -> Self {
        Self { name: "the rest".to_owned(), percent, known: Known::Nothing }
    }

    fn listed(&self) -> Option<&'static Hazards> {
        match self.known {
            Known::Listed(hazards) => Some(hazards),
            _ => None,
        }
    }

    fn has(&self, code: &str) -> bool {
        self.listed().is_some_and(|known| known.statements.iter().any(|s| s.code == code))
    }

    fn own_limit(&self, code: &str) -> Option<f64> {
        self.listed()?.limits.iter().find(|(statement, _)| statement.code == code).map(|(_, percent)| *percent)
    }

    /// Point estimate by the statements of a way of exposure.
    fn toxicity(&self, names: &[&str; 4], estimates: &[f64; 4]) -> Toxicity {
        match self.known {
            Known::Nothing => Toxicity::Unknown,
            // The statement of the categories 1 and 2 is one; 2 is the milder, and commoner.
            _ => match (1..4).find(|i| names.get(*i).is_some_and(|code| self.has(code))) {
                Some(place) => Toxicity::Estimate(estimates[place]),
                None => Toxicity::None,
            },
        }
    }

    fn corrosion(&self) -> Vec<Corrosion> {
        const CODES: [&str; 4] = ["H314", "H315", "H318", "H319"];
        if CODES.iter().any(|code| self.own_limit(code).is_some()) {
            return vec![Corrosion::Own(CODES.map(|code| self.own_limit(code).unwrap_or(f64::INFINITY)))];
        }
        let kinds = [Corrosion::Skin1, Corrosion::Skin2, Corrosion::Eye1, Corrosion::Eye2];
        CODES.iter().zip(kinds).filter(|(code, _)| self.has(code)).map(|(_, kind)| kind).collect()
    }
}

/// A mixture that is classed.
#[derive(Clone, Debug, Default)]
pub(crate) struct Classed {
    /// Its statements.
    pub statements: Vec<Statement>,
    /// What is ignored, what is not known: sentences.
    pub remarks: Vec<String>,
}

/// Classes a mixture; `wet` is one in water.
pub(crate) fn class(ingredients: &[Ingredient], wet: bool) -> Classed {
    let mut codes: Vec<&'static str> = Vec::new();
    let mut ignored: Option<Vec<usize>> = None;
    for (names, estimates, bounds) in &ACUTE {
        let list: Vec<(f64, Toxicity)> =
            ingredients.iter().map(|own| (own.percent, own.toxicity(names, estimates))).collect();
        let mix = mixture_toxicity(&list);
        let category = mix.estimate.and_then(|estimate| acute_category(estimate, bounds));
        codes.extend(category.and_then(|c| names.get(c - 1)));
        // Ignored is what counts for nothing by any way.
        ignored = Some(match ignored {
            None => mix.ignored,
            Some(known) => known.into_iter().filter(|place| mix.ignored.contains(place)).collect(),
        });
    }
    codes.extend(skin_and_eyes(ingredients));
    for own in ingredients {
        let from = FROM_PERCENT
            .iter()
            .filter(|(code, from)| own.has(code) && own.own_limit(code).is_none() && own.percent >= *from);
        codes.extend(from.map(|(code, _)| *code));
        let known = own.listed().map_or(&[][..], |known| known.limits.as_slice());
        let rest = known.iter().filter(|(s, from)| own.percent >= *from && !is_of_skin(s.code));
        codes.extend(rest.map(|(s, _)| s.code));
        let physical = own.listed().map_or(&[][..], |known| known.statements.as_slice());
        let dry = |s: &&Statement| !wet && s.code.starts_with("H2") && own.own_limit(s.code).is_none();
        codes.extend(physical.iter().filter(dry).map(|s| s.code));
    }
    codes.extend(water_life(ingredients));
    Classed { statements: in_order(codes), remarks: remarks(ingredients, &ignored.unwrap_or_default()) }
}

/// Each statement once, in the order of the codes.
fn in_order(mut codes: Vec<&'static str>) -> Vec<Statement> {
    codes.sort_unstable();
    codes.dedup();
    let held = codes.clone();
    // The graver statement speaks for the milder ones.
    let graver: [(&str, &[&str]); 9] = [
        ("H301", &["H300"]),
        ("H302", &["H300", "H301"]),
        ("H312", &["H310", "H311"]),
        ("H315", &["H314"]),
        ("H318", &["H314"]),
        ("H319", &["H314", "H318"]),
        ("H332", &["H330", "H331"]),
        ("H411", &["H410"]),
        ("H412", &["H410", "H411"]),
    ];
    let spoken_for = |code: &str| {
        let rule = graver.iter().find(|(milder, _)| *milder == code);
        rule.is_some_and(|(_, graver)| graver.iter().any(|other| held.contains(other)))
    };
    codes.into_iter().filter(|code| !spoken_for(code)).filter_map(statement_of).collect()
}

fn is_of_skin(code: &str) -> bool {
    ["H314", "H315", "H318", "H319"].contains(&code)
}

/// Skin and eyes: the list's own limits, or additivity.
fn skin_and_eyes(ingredients: &[Ingredient]) -> Vec<&'static str> {
    let parts: Vec<(f64, Corrosion)> =
        ingredients.iter().flat_map(|own| own.corrosion().into_iter().map(|kind| (own.percent, kind))).collect();
    let mix = mixture_corrosion(&parts, 0.0);
    let skin = match mix.skin {
        Some(1) => Some("H314"),
        Some(_) => Some("H315"),
        None => None,
    };
    let eye = match mix.eye {
        Some(1) => Some("H318"),
        Some(_) => Some("H319"),
        None => None,
    };
    skin.into_iter().chain(eye).collect()
}

fn water_life(ingredients: &[Ingredient]) -> Vec<&'static str> {
    let acute: Vec<(f64, f64)> =
        ingredients.iter().filter(|own| own.has("H400")).map(|own| (own.percent, 1.0)).collect();
    let categories = |own: &Ingredient| ["H410", "H411", "H412"].iter().position(|code| own.has(code));
    let chronic: Vec<(f64, u8, f64)> = ingredients
        .iter()
        .filter_map(|own| Some((own.percent, u8::try_from(categories(own)? + 1).ok()?, 1.0)))
        .collect();
    let long = match mixture_aquatic(&chronic) {
        Some(1) => Some("H410"),
        Some(2) => Some("H411"),
        Some(3) => Some("H412"),
        _ => None,
    };
    // On a label H410 speaks for H400.
    let short = mixture_acute_aquatic(&acute) && long != Some("H410");
    long.into_iter().chain(short.then_some("H400")).collect()
}

/// What is ignored, and what is not known.
fn remarks(ingredients: &[Ingredient], ignored: &[usize]) -> Vec<String> {
    let mut list = Vec::new();
    let unknown: f64 =
        ingredients.iter().filter(|own| matches!(own.known, Known::Nothing)).map(|own| own.percent).sum();
    if unknown >= UNKNOWN_TOLD {
        let percent = figure(unknown.min(100.0));
        list.push(format!("{percent} % of the mixture consists of ingredient(s) of unknown acute toxicity"));
        list.push(format!("it contains {percent} % of ingredient(s) of unknown hazard to water life"));
    }
    let names: Vec<&str> =
        ignored.iter().filter_map(|place| ingredients.get(*place)).map(|own| own.name.as_str()).collect();
    if !names.is_empty() {
        list.push(format!("ignored for acute toxicity, as not acutely toxic: {}", names.join(", ")));
    }
    list
}

/// The hazards of a supply as it is charged: of each substance as such where it is nearly pure, of the mixture otherwise.
pub fn of_supply(supply: &Supply) -> Vec<SubstanceHazard> {
    let brought = supply.brought.iter().flat_map(|b| b.species().cloned()).collect::<Vec<_>>();
    let kinds: Vec<&Species> = supply.holds.iter().map(|held| &held.value).chain(&brought).collect();
    let kinds: Vec<&Species> =
        kinds.into_iter().filter(|kind| !kind.formula.same_substance(&Formula::water())).collect();
    let share = supply.assay.bounds().1.min(1.0);
    let wet = supply.solution || kinds.iter().any(|kind| kind.phase == Some(Phase::Aqueous));
    if share >= AS_SUCH || supply.hard {
        return kinds.into_iter().map(|kind| hazards_of(kind).unwrap_or_else(|| unlisted(kind))).collect();
    }
    let percent = 100.0 * share;
    let mut codes: Vec<&'static str> = Vec::new();
    let mut remarks: Vec<String> = Vec::new();
    for kind in &kinds {
        let left = if wet { Ingredient::water(100.0 - percent) } else { Ingredient::rest(100.0 - percent) };
        let classed = class(&[Ingredient::of(&kind.formula, percent), left], wet);
        codes.extend(classed.statements.iter().map(|s| s.code));
        for remark in classed.remarks {
            if !remarks.contains(&remark) {
                remarks.push(remark);
            }
        }
    }
    if kinds.is_empty() {
        return Vec::new();
    }
    let names: Vec<String> = kinds.iter().map(ToString::to_string).collect();
    let listed = || kinds.iter().filter_map(|kind| statements(&kind.formula));
    let mut sources: Vec<&'static str> =
        listed().flat_map(|known| known.sources.iter().map(|s| s.citation())).collect();
    sources.dedup();
    let statements = in_order(codes);
    vec![SubstanceHazard {
        substance: format!("{} {} %", names.join(" or "), figure(percent)),
        name: listed().map(|known| known.name).collect::<Vec<_>>().join(" or "),
        signal: statements.iter().filter_map(|s| s.signal).max().map(Signal::word),
        pictograms: pictograms(&statements),
        statements: statements.iter().map(|s| (s.code, s.phrase)).collect(),
        comment: match (wet, kinds.len() > 1) {
            (true, false) => "reckoned for a solution in water by the rules for mixtures",
            (true, true) => "reckoned for a solution in water by the rules for mixtures, the worst of them",
            (false, _) => "reckoned by the rules for mixtures; what the rest is, the label does not tell",
        },
        remarks,
        sources,
    }]
}

/// A substance that the list does not have.
fn unlisted(kind: &Species) -> SubstanceHazard {
    SubstanceHazard {
        substance: kind.to_string(),
        name: String::new(),
        signal: None,
        statements: Vec::new(),
        pictograms: Vec::new(),
        comment: "not in the list",
        remarks: vec!["its hazards are not listed here, which does not show that it has none".to_owned()],
        sources: Vec::new(),
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use chem::Formula;

    fn mixed(parts: &[(&str, f64)]) -> Classed {
        let of =
            |(formula, percent): &(&str, f64)| Ingredient::of(&Formula::parse(formula).expect("a formula"), *percent);
        let mut list: Vec<Ingredient> = parts.iter().map(of).collect();
        let left = 100.0 - parts.iter().map(|(_, percent)| percent).sum::<f64>();
        list.push(Ingredient::water(left));
        class(&list, true)
    }

    fn codes(formula: &str, percent: f64) -> Vec<&'static str> {
        mixed(&[(formula, percent)]).statements.iter().map(|s| s.code).collect()
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

    /// UN GHS Rev. 9, 3.1.3.6 and 4.1.3.5.5: solutes of one liquor count together, each by its own estimate.
    #[test]
    fn solutes_of_a_liquor_count_together() {
        let of = |parts: &[(&str, f64)]| mixed(parts).statements.iter().map(|s| s.code).collect::<Vec<_>>();
        // By hand: 1.5 % and 1.5 % of what damages eyes make 3 %; each alone irritates only.
        assert_eq!(codes("CuSO4", 1.5), ["H319", "H412"]);
        assert_eq!(of(&[("CuSO4", 1.5), ("ZnSO4", 1.5)]), ["H318", "H411"]);
        // 15 % sodium hydroxide beside 10 % sodium chloride: lye alone.
        assert_eq!(of(&[("NaOH", 15.0), ("NaCl", 10.0)]), ["H290", "H314"]);
        // 1 % lye (limit 2 %) and 1 % sodium metasilicate (limit 5 %): 0.5 + 0.2 is below 1.
        assert_eq!(of(&[("NaOH", 1.0), ("Na2SiO3", 1.0)]), ["H290", "H315", "H319"]);
        // 30 % sodium sulfide is toxic to water life although no long-term statement holds.
        assert!(of(&[("Na2S", 30.0)]).contains(&"H400"));
    }

    /// UN GHS Rev. 9, 3.1.3.6.2.2: what is ignored and the share that is not known, in the words of the text.
    #[test]
    fn ignored_and_unknown_ingredients_are_told() {
        let told = mixed(&[("CuSO4", 30.0), ("NaCl", 20.0), ("Y2(SO4)3", 11.0)]);
        assert!(
            told.remarks[0].starts_with("11 % of the mixture consists of ingredient(s) of unknown acute toxicity"),
            "{:?}",
            told.remarks
        );
        assert!(told.remarks[2].ends_with("NaCl, water"), "{:?}", told.remarks);
        // (100 − 11) / (30 / 500) = 1483 mg/kg: category 4.
        assert!(told.statements.iter().any(|s| s.code == "H302"));
        // Below 1 % nothing is said.
        assert!(!mixed(&[("Y2(SO4)3", 0.9)]).remarks.iter().any(|remark| remark.contains("unknown")));
    }
}
