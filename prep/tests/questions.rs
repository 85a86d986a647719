//! Single questions: what an equation leaves open, what closes it, oxidation states. Published cases, by their source.

/// I. B. Risteski uses this impossible equation (from memory); with water it balances 2, 10 -> 1, 10, 1, 4.
#[test]
fn an_impossible_equation_names_what_is_missing() {
    let answer = prep::ask::reaction("FeS2 + HNO3 -> Fe2(SO4)3 + NO + H2SO4").expect("an equation");
    assert_eq!((answer.solutions, &answer.coefficients), (0, &None));
    let first = &answer.closures[0];
    assert_eq!((first.left.len(), first.right.as_slice()), (0, &["H2O".to_owned()][..]));
    assert_eq!(first.equation, "2 FeS2 + 10 HNO3 -> Fe2(SO4)3 + 10 NO + H2SO4 + 4 H2O");
    assert!(answer.findings[0].hints[0].contains("4 H2O"), "{:?}", answer.findings);
    assert!(answer.freedom.is_none());
    // No simple species brings sulfur or chlorine.
    let answer = prep::ask::reaction("CuSO4 + Na2CO3 -> CuCO3 + NaCl").expect("an equation");
    assert!(answer.closures.is_empty() && answer.findings[0].message.contains("S, Cl cannot close"));
}

/// D. Kolb, J. Chem. Educ. 56 (1979) 181, discusses this equation (from memory): two independent reactions, the extremes
/// without ClO2 and without Cl2.
#[test]
fn two_reactions_in_one_are_parted() {
    let answer = prep::ask::reaction("KClO3 + HCl -> KCl + ClO2 + Cl2 + H2O").expect("an equation");
    assert_eq!((answer.solutions, answer.basis_reactions.len()), (2, 2));
    let freedom = answer.freedom.expect("room");
    assert_eq!(
        freedom.extreme_equations,
        ["5 KClO3 + 6 HCl -> 5 KCl + 6 ClO2 + 3 H2O", "KClO3 + 6 HCl -> KCl + 3 Cl2 + 3 H2O"]
    );
    assert!(freedom.extreme_reactions.iter().all(|r| r.len() == 5 && r.iter().all(|(_, n)| n.fract() == 0.0)));
    assert_eq!(freedom.deciding, ["ClO2", "Cl2"]);
    assert_eq!(freedom.would_decide, "the ratio of ClO2 to Cl2, measured, would decide");
}

/// R. Stout, J. Chem. Educ. 72 (1995) 1125: 1399 H2SO4 (coefficients from memory, proved by counting in `chem`).
#[test]
fn the_largest_coefficients_in_print() {
    let text = "[Cr(N2H4CO)6]4[Cr(CN)6]3 + KMnO4 + H2SO4 -> K2Cr2O7 + MnSO4 + CO2 + KNO3 + K2SO4 + H2O";
    let answer = prep::ask::reaction(text).expect("an equation");
    let coefficients = answer.coefficients.expect("one solution");
    let of = |name: &str| coefficients.iter().find(|(s, _)| s == name).map(|(_, n)| *n);
    assert_eq!((of("H2SO4"), of("H2O"), of("KMnO4")), (Some(-1399.0), Some(1879.0), Some(-1176.0)));
    assert!(
        answer.closures.is_empty()
            && answer.freedom.is_none()
            && answer.findings.iter().all(|f| f.severity == prep::outcome::Severity::Note || f.code == "incompatible")
    );
}

/// Wüstite of NIST-JANAF (Chase 1998): mean 2.1119, 11.19 % of the iron is Fe(III) if all oxygen is −2.
#[test]
fn oxidation_states_where_they_follow() {
    let answer = prep::ask::formula("Fe0.947O").expect("a formula");
    let iron = answer.oxidation_states.iter().find(|s| s.element == "Fe").expect("iron");
    assert!(iron.is_mean && (iron.state - 2.111_932).abs() < 1e-6);
    let (lower, upper, share) = iron.split.expect("between two");
    assert!((lower, upper) == (2, 3) && (share - 0.111_932).abs() < 1e-6);
    let answer = prep::ask::formula("KMnO4").expect("a formula");
    let states: Vec<(&str, f64)> = answer.oxidation_states.iter().map(|s| (s.element.as_str(), s.state)).collect();
    assert!([("K", 1.0), ("Mn", 7.0), ("O", -2.0)].iter().all(|s| states.contains(s)), "{states:?}");
    // Chalcopyrite: copper and iron share what is left, and the formula does not say how.
    let answer = prep::ask::formula("CuFeS2").expect("a formula");
    assert!(
        answer.oxidation_states.is_empty() && answer.no_oxidation_states.is_some_and(|why| why.contains("Cu and Fe"))
    );
}
