//! Titrations against published examples and equivalents, and slips in them.

use prep::ask::{Titration, titrate};
use prep::outcome::TitrateAnswer;

fn read(asked: Titration<'_>) -> TitrateAnswer {
    titrate(&asked).unwrap_or_else(|findings| panic!("{findings:?}"))
}

fn close(found: f64, expected: f64, tolerance: f64) {
    assert!((found - expected).abs() <= tolerance, "found {found}, expected {expected} ± {tolerance}");
}

/// Equivalents of usual titrants (IUPAC atomic weights): 25.00 mL of 0.1000 mol/L thiosulfate are 158.9 mg of copper; 18.40 mL
/// of 0.0500 mol/L EDTA are 60.1 mg of zinc; 25.00 mL of 0.0200 mol/L permanganate are 110.0 mg of oxalate (5 to 2).
#[test]
fn usual_equivalents() {
    for (titre, titrant, of, ratio, milligrams, digits) in [
        ("25.00 mL", "0.1000 mol/L", "Cu", "1:1", 158.9, 0.1),
        ("18.40 mL", "0.0500 mol/L", "Zn", "1:1", 60.1, 0.1),
        ("25.00 mL", "0.0200 mol/L", "C2O4^2-", "5:2", 110.0, 0.1),
    ] {
        let answer = read(Titration {
            titres: &[titre],
            titrant: Some(titrant),
            of: Some(of),
            ratio: Some(ratio),
            ..Titration::default()
        });
        let (_, mass) = answer.mass.expect("told");
        close(mass.value, milligrams, digits);
        assert!(mass.standard_uncertainty.is_some_and(|u| u / mass.value < 0.004));
    }
}

/// Sodium hydroxide by potassium hydrogen phthalate: 0.10214 mol/L, and the titre weighs most. Source: EURACHEM/CITAC CG 4,
/// example A2 (0.3888 g of purity 1.0000 ± 0.0005 rectangular, 18.64 mL; u of the volume 0.013 mL).
#[test]
fn a_titrant_is_standardised() {
    let answer = read(Titration {
        titres: &["18.64 mL"],
        standard: Some("KHC8H4O4"),
        weighed: Some("0.3888 ± 0.00013 g"),
        purity: Some("99.95 .. 100.05 %"),
        burette: Some("50 mL B"),
        ..Titration::default()
    });
    close(answer.strength.value, 0.102_14, 1e-5);
    assert!(answer.amount.is_none() && answer.mass.is_none() && answer.fraction.is_none());
    assert_eq!(answer.shares[0].0, "titre");
    close(answer.shares.iter().map(|(_, share)| share).sum(), 1.0, 1e-9);
    // A rectangle of ± 0.10 mL is 0.058 mL, 0.31 % of the titre; with 0.1 % of the end point 0.33 %.
    close(answer.strength.standard_uncertainty.unwrap_or(0.0) / answer.strength.value, 0.0033, 2e-4);
}

/// Zinc in an oxide by hand: 0.2000 g dissolved to 250.0 mL, 25.00 mL of it take 4.90 mL of 0.0500 mol/L EDTA, blank 0.02 mL:
/// 4.88 · 0.05 · 10 · 65.38 = 159.5 mg, 79.8 %.
#[test]
fn an_aliquot_and_a_blank() {
    let answer = read(Titration {
        titres: &["4.89 mL", "4.91 mL", "4.90 mL"],
        blank: Some("0.02 mL"),
        titrant: Some("0.0500 ± 0.0001 mol/L"),
        weighed: Some("0.2000 g"),
        of: Some("Zn"),
        aliquot: Some("25.00 mL of 250.0 mL"),
        burette: Some("25 mL A"),
        ..Titration::default()
    });
    close(answer.mass.expect("told").1.value, 159.5, 0.1);
    close(answer.fraction.expect("told").value, 79.76, 0.05);
    close(answer.scatter.expect("three"), 0.01, 1e-6);
    // Four fifths of 25 mL instead of 4.88 mL.
    close(answer.weigh_next.expect("told"), 0.2 * 20.0 / 4.88, 1e-3);
    assert!(answer.findings.is_empty(), "{:?}", answer.findings);
}

#[test]
fn what_looks_wrong_is_said() {
    let codes = |asked: Titration<'_>| read(asked).findings.iter().map(|f| f.code).collect::<Vec<_>>();
    let plain = Titration { titrant: Some("0.1000 mol/L"), of: Some("Cu"), ..Titration::default() };
    assert_eq!(codes(Titration { titres: &["20.00 mL", "20.40 mL"], ..plain }), ["titres-scatter"]);
    assert_eq!(
        codes(Titration { titres: &["20.00 mL"], weighed: Some("0.1000 g"), ..plain }),
        ["more-than-the-sample"]
    );
    assert_eq!(codes(Titration { titres: &["52.00 mL"], burette: Some("50 mL"), ..plain }), ["burette-emptied"]);
}

#[test]
fn slips_are_named() {
    let codes = |asked: Titration<'_>| {
        titrate(&asked).expect_err("a slip").iter().map(|f| (f.code, f.message.clone())).collect::<Vec<_>>()
    };
    let good = Titration { titres: &["20.00 mL"], titrant: Some("0.1000 mol/L"), ..Titration::default() };
    for (asked, code, words) in [
        (Titration { titres: &["20.00 g"], ..good }, "bad-quantity", "the titre"),
        (Titration { titres: &[], ..good }, "missing-field", "no titre"),
        (Titration { titrant: None, ..good }, "missing-field", "neither the strength"),
        (Titration { titrant: None, standard: Some("KHC8H4O4"), ..good }, "missing-field", "mass of the standard"),
        (Titration { standard: Some("KHC8H4O4"), weighed: Some("1 g"), ..good }, "content-stated-twice", "standard"),
        (Titration { ratio: Some("5 to 2"), ..good }, "bad-quantity", "ratio"),
        (Titration { aliquot: Some("250 mL of 25 mL"), ..good }, "out-of-range", "no part"),
        (Titration { aliquot: Some("25 mL"), ..good }, "bad-quantity", "aliquot"),
        (Titration { burette: Some("33 mL"), ..good }, "unknown-word", "no burette"),
        (Titration { of: Some("Xx"), ..good }, "bad-formula", ""),
        (Titration { blank: Some("30 mL"), ..good }, "out-of-range", "nothing"),
        (Titration { titrant: Some("-1 mol/L"), ..good }, "bad-quantity", "the titrant"),
    ] {
        let found = codes(asked);
        assert!(found.iter().any(|(c, m)| *c == code && m.contains(words)), "{code} {words}: {found:?}");
    }
}
