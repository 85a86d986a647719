//! Do oxidation states follow where rules decide them, and are they refused where no formula tells?
//!
//! Rules and examples: Karen, McArdle, Takats, Pure Appl. Chem. 86 (2014) 1017; textbook values (Greenwood & Earnshaw,
//! Chemistry of the Elements, 2nd edition; from memory).
#![allow(clippy::unwrap_used, missing_docs)]

use chem::{Element, Formula, OxidationRefusal, OxidationRule, OxidationState};
use num_rational::Ratio;

fn states(text: &str) -> Vec<OxidationState> {
    let formula = Formula::parse(text).unwrap_or_else(|error| panic!("{text}: {error}"));
    formula.oxidation_states().unwrap_or_else(|error| panic!("{text}: {error}"))
}

#[track_caller]
fn gives(text: &str, expected: &str) {
    let found: Vec<String> = states(text).iter().map(ToString::to_string).collect();
    assert_eq!(found.join(", "), expected, "{text}");
}

#[track_caller]
fn refuses(text: &str, reason: &str) {
    let refusal = Formula::parse(text).unwrap().oxidation_states().expect_err(text);
    assert!(refusal.to_string().contains(reason), "{text}: {refusal}");
}

#[test]
fn salts_and_oxides() {
    gives("CuSO4·5H2O", "Cu +2, S +6, O −2, H +1");
    gives("KMnO4", "K +1, Mn +7, O −2");
    gives("MnO4^2-", "Mn +6, O −2");
    gives("K2Cr2O7", "K +1, Cr +6, O −2");
    gives("Cu2CO3(OH)2", "Cu +2, O −2, H +1, C +4");
    gives("FeC2O4·2H2O", "Fe +2, C +3, O −2, H +1");
    gives("K4[Fe(CN)6]·3H2O", "K +1, Fe +2, C +2, N −3, H +1, O −2");
    gives("[Co(NH3)6]Cl3", "Co +3, Cl −1, N −3, H +1");
    gives("VO^2+", "V +4, O −2");
    gives("LiFePO4", "Li +1, Fe +2, P +5, O −2");
    gives("Cu(MnO4)2", "Cu +2, Mn +7, O −2");
    gives("(NH4)2Fe(SO4)2·6H2O", "Fe +2, N −3, H +1, S +6, O −2");
    gives("K[99Tc]O4", "K +1, Tc +7, O −2");
}

#[test]
fn one_element_in_two_states() {
    gives("NH4NO3", "N −3, H +1, N +5, O −2");
    gives("K2S2O8", "K +1, S +6, O −2, O −1");
    gives("Na2CO3·1.5H2O2", "Na +1, C +4, O −2, H +1, O −1");
}

#[test]
fn oxygen_in_other_states() {
    gives("H2O2", "H +1, O −1");
    gives("BaO2·8H2O", "Ba +2, O −1, H +1, O −2");
    gives("KO2", "K +1, O −1/2 (mean)");
    gives("KO3", "K +1, O −1/3 (mean)");
    gives("OF2", "O +2, F −1");
    gives("O2", "O 0");
    assert_eq!(states("H2O2")[1].rule, OxidationRule::Peroxide);
    assert_eq!(states("KO2")[1].rule, OxidationRule::Superoxide);
}

#[test]
fn hydrogen_halogens_and_chalcogens() {
    gives("NaH", "Na +1, H −1");
    gives("LiAlH4", "Li +1, Al +3, H −1");
    gives("NaBH4", "Na +1, B +3, H −1");
    gives("NaBH3CN", "Na +1, B +3, H −1, C +2, N −3");
    gives("NaHCO3", "Na +1, H +1, C +4, O −2");
    gives("NaOCl", "Na +1, O −2, Cl +1");
    gives("BiOCl", "Bi +3, O −2, Cl −1");
    gives("Cu2(OH)3Cl", "Cu +2, O −2, H +1, Cl −1");
    gives("ClO2", "Cl +4, O −2");
    gives("KICl4", "K +1, I +3, Cl −1");
    gives("As2S3", "As +3, S −2");
    gives("SO3", "S +6, O −2");
    gives("Na2SO3", "Na +1, S +4, O −2");
}

/// Wüstite of NIST-JANAF (Chase 1998): with all oxygen −2 the mean is 2/0.947 = 2.1119, and 11.19 % of the iron is Fe(III).
#[test]
fn means_are_said_to_be_means() {
    gives("Fe3O4", "Fe +8/3 (mean), O −2");
    let iron = states("Fe3O4").remove(0);
    assert_eq!(iron.split(), Some((2, 3, Ratio::new(2, 3))));
    let iron = states("Fe0.947O").remove(0);
    assert!(iron.is_mean);
    let decimal = |number: Ratio<i64>| *number.numer() as f64 / *number.denom() as f64;
    assert!((decimal(iron.state) - 2.111_932_418).abs() < 1e-9);
    let (low, high, share) = iron.split().unwrap();
    assert_eq!((low, high), (2, 3));
    assert!((decimal(share) - 0.111_932_418_2).abs() < 1e-9);
    gives("Na2S4O6", "Na +1, S +5/2 (mean), O −2");
    gives("Na2S2O3·5H2O", "Na +1, S +2 (mean), O −2, H +1");
    gives("Sb2O4", "Sb +4 (mean), O −2");
    gives("NaN3", "Na +1, N −1/3 (mean)");
    gives("I3^-", "I −1/3 (mean)");
    gives("Hg2^2+", "Hg +1");
    gives("C6H12O6", "C 0 (mean), H +1, O −2");
    gives("YBa2Cu3O7", "Y +3, Ba +2, Cu +7/3 (mean), O −2");
}

#[test]
fn what_a_formula_does_not_tell_is_refused() {
    refuses("CuFeS2", "more than one combination of states of Cu and Fe adds up");
    refuses("FeS2", "Fe would be left with +4");
    refuses("CrO5", "Cr would be left with +10");
    refuses("AgO", "the usual states add up to −1, the charge is 0");
    refuses("PH3", "two conventions differ");
    refuses("NCl3", "two conventions differ");
    refuses("CHI3", "two conventions differ");
    refuses("CuZn", "an alloy");
    refuses("K2[Fe(CN)5(NO)]", "nitrosyl");
    refuses("OgF2", "no usual states of Og");
    refuses("[Cr(N2H4CO)6]4[Cr(CN)6]3", "more than one combination");
    assert_eq!(Formula::electron().oxidation_states(), Err(OxidationRefusal::Electron));
}

#[test]
fn rules_are_named() {
    let rules: Vec<OxidationRule> = states("CaSO4").into_iter().map(|state| state.rule).collect();
    use OxidationRule::{AlkalineEarth, Ion};
    assert_eq!(rules, [AlkalineEarth, Ion("sulfate"), Ion("sulfate")]);
    assert_eq!(rules[1].to_string(), "the atoms of sulfate");
    let counts = states("3CdSO4·8H2O");
    let oxygen: Ratio<i64> = counts.iter().filter(|s| s.element == Element::OXYGEN).map(|s| s.count).sum();
    assert_eq!(oxygen, 20.into());
}
