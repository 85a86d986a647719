//! Do oxidation states follow from a potential, or from one another, as the books have it?

use prep::ask::{SolutionOptions, solution};
use prep::outcome::{SolutionAnswer, SolutionCouples};

fn asked<'a>(of: &'a str, substances: &'a [&'a str], potential: Option<&'a str>) -> SolutionOptions<'a> {
    let couples = Some("equilibrated");
    SolutionOptions { substances, redox: Some(of), couples, potential, quick: true, ..SolutionOptions::default() }
}

fn ask(options: &SolutionOptions<'_>) -> SolutionAnswer {
    solution(options).unwrap_or_else(|findings| panic!("{findings:?}"))
}

fn couples(answer: &SolutionAnswer) -> &SolutionCouples {
    answer.couples.as_ref().expect("states in balance")
}

fn share(answer: &SolutionAnswer, state: &str) -> f64 {
    let found = couples(answer).states.iter().find(|s| s.state == state);
    found.unwrap_or_else(|| panic!("{state}: {:?}", answer.couples)).share
}

/// log₁₀ of the activity of a species.
fn activity(answer: &SolutionAnswer, name: &str) -> f64 {
    let found = answer.species.iter().find(|s| s.species == name).unwrap_or_else(|| panic!("{name}"));
    (found.molality * found.activity_coefficient).log10()
}

/// Every named element is there as it was put in, and charges add up: both to a part in 10¹⁰.
fn balances(answer: &SolutionAnswer, element: &str, total: f64) {
    let held: f64 = couples(answer).states.iter().filter(|s| s.element == element).map(|s| s.amount).sum();
    assert!((held / total - 1.0).abs() < 1e-10, "{element} {held} {total}");
    assert!(answer.residual < 1e-10 && answer.charge.abs() < 1e-10, "{} {}", answer.residual, answer.charge);
    assert_eq!(answer.status, "solved");
}

/// E° of Fe³⁺/Fe²⁺ 0.771 V (Electrochemical Series, CRC Handbook of Chemistry and Physics, from memory): there both ions are
/// equally active, within the 3 mV by which compilations differ (0.051 in the logarithm); 59.16 mV more is one decade more.
#[test]
fn iron_is_half_and_half_at_its_standard_potential() {
    let nitrate = ["Fe(NO3)3 1e-8 mol/kg", "HNO3 0.01 mol/kg"];
    let ratio = |volts: &str| {
        let answer = ask(&asked("Fe", &nitrate, Some(volts)));
        balances(&answer, "Fe", 1e-8);
        activity(&answer, "Fe^3+") - activity(&answer, "Fe^2+")
    };
    let at = ratio("0.771 V");
    assert!(at.abs() < 0.051, "{at}");
    let decade = ratio("0.83016 V") - at;
    assert!((decade - 1.0).abs() < 1e-4, "{decade}");
    // It makes no difference in which state the iron came, once charges are those of the same acid.
    let other = ask(&asked("Fe", &["Fe(NO3)2 1e-8 mol/kg", "HNO3 0.01 mol/kg"], Some("0.771 V")));
    assert!((activity(&other, "Fe^3+") - activity(&other, "Fe^2+") - at).abs() < 1e-8);
}

/// 2 Cu⁺ = Cu²⁺ + Cu with E° 0.521 and 0.153 V: log K 6.22 (Electrochemical Series, CRC Handbook of Chemistry and Physics, from
/// memory), within the 10 mV of 0.153 V. At a stated potential copper(II) lies over the metal as Nernst's equation has it.
#[test]
fn copper_i_falls_apart_in_water() {
    let answer = ask(&asked("Cu", &["CuNO3 0.001 mol/kg", "HNO3 0.1 mol/kg"], None));
    balances(&answer, "Cu", 0.001);
    let constant = activity(&answer, "Cu^2+") - 2.0 * activity(&answer, "Cu^+");
    assert!((constant - 6.22).abs() < 0.2, "{constant}");
    // Half becomes metal, but for the copper(I) that is left.
    let left = share(&answer, "Cu^+");
    assert!((share(&answer, "Cu(s)") - 0.5 * (1.0 - left)).abs() < 1e-9 && left < 0.05, "{:?}", answer.couples);
    assert!((share(&answer, "Cu^2+") - share(&answer, "Cu(s)")).abs() < 1e-9);
    assert!(!couples(&answer).stated);
    let held = ask(&asked("Cu", &["Cu(NO3)2 0.01 mol/kg", "HNO3 0.1 mol/kg"], Some("0.2 V")));
    balances(&held, "Cu", 0.01);
    assert!((activity(&held, "Cu^2+") - 2.0 * (0.2 - 0.3419) / 0.059_16).abs() < 0.1, "{:?}", held.species);
    assert!(share(&held, "Cu(s)") > 0.9);
}

/// E° of I₂(s)/I⁻ 0.5355 V and of I₃⁻/I⁻ 0.536 V (Electrochemical Series, CRC Handbook of Chemistry and Physics, from memory).
#[test]
fn iodide_turns_to_iodine() {
    let put = ["KI 0.01 mol/kg", "HNO3 0.01 mol/kg"];
    let answer = ask(&asked("I", &put, Some("0.55 V")));
    balances(&answer, "I", 0.01);
    let (three, one) = (activity(&answer, "I3^-"), activity(&answer, "I^-"));
    assert!((three - 3.0 * one - 2.0 * (0.55 - 0.536) / 0.059_16).abs() < 0.1, "{three} {one}");
    assert!(share(&ask(&asked("I", &put, Some("0.4 V"))), "I^-") > 0.999);
    // Iodine itself has fallen out: by Nernst's equation it leaves 2.4e-4 of iodide and 2.3e-4 of triiodide, and 1.33e-3 mol/L of
    // itself dissolved (solubility, CRC Handbook, from memory): 0.0064 of 0.01 mol is solid.
    let strong = ask(&asked("I", &put, Some("0.75 V")));
    balances(&strong, "I", 0.01);
    let left = activity(&strong, "I^-");
    assert!((left + (0.75 - 0.5355) / 0.059_16).abs() < 0.05, "{left}");
    assert!((share(&strong, "I2(s)") - 0.64).abs() < 0.02, "{:?}", strong.couples);
}

/// Both states given: the potential is the one that Nernst's equation has for what is dissolved, and each state keeps its share.
#[test]
fn electrons_balance_where_both_states_are_given() {
    let answer = ask(&asked("Fe", &["FeCl2 0.005 mol/kg", "FeCl3 0.005 mol/kg", "HCl 0.1 mol/kg"], None));
    balances(&answer, "Fe", 0.01);
    assert!((share(&answer, "Fe^3+") - 0.5).abs() < 1e-9, "{:?}", answer.couples);
    let volts = 0.771 + 0.059_16 * (activity(&answer, "Fe^3+") - activity(&answer, "Fe^2+"));
    assert!((couples(&answer).potential - volts).abs() < 0.003, "{} {volts}", couples(&answer).potential);
    // Iron(III) takes an electron from iodide and gives it iodine.
    let both = ask(&asked("Fe, I", &["Fe(NO3)3 0.001 mol/kg", "KI 0.1 mol/kg", "HNO3 0.1 mol/kg"], None));
    balances(&both, "Fe", 0.001);
    balances(&both, "I", 0.1);
    assert!(share(&both, "Fe^2+") > 0.95, "{:?}", both.couples);
}

/// pe + pH as a potential at pH 0, V.
fn at_ph_0(answer: &SolutionAnswer) -> f64 {
    couples(answer).potential + 0.059_16 * answer.ph.value
}

/// Two solids hold the potential: copper beside its oxide, with -0.360 V for Cu2O + H2O + 2 e = 2 Cu + 2 OH- (Electrochemical
/// Series, CRC Handbook, from memory; at pH 0 with Kw 0.828 V more) within 10 mV, and magnetite beside iron, -0.085 V at pH 0 (M.
/// Pourbaix, Atlas d'équilibres électrochimiques, from memory) within 5 mV: in the end iron(II) hydroxide turns into these. What
/// is in each solid follows from electrons alone.
#[test]
fn two_solids_hold_the_potential() {
    for (copper, iron, base) in [("0.01", "0.015", "0.06"), ("0.1", "0.15", "0.6")] {
        let put = [("Cu(NO3)2", copper), ("FeSO4", iron), ("NaOH", base)].map(|(of, n)| format!("{of} {n} mol/kg"));
        let put: Vec<&str> = put.iter().map(String::as_str).collect();
        let answer = ask(&SolutionOptions { solids: Some("aged"), ..asked("Cu, Fe", &put, None) });
        let (total, other) = (copper.parse().expect("a number"), iron.parse().expect("a number"));
        balances(&answer, "Cu", total);
        balances(&answer, "Fe", other);
        assert!((at_ph_0(&answer) - 0.468).abs() < 0.01, "{}", at_ph_0(&answer));
        assert!((share(&answer, "Cu(s)") - 0.5).abs() < 1e-4, "{:?}", answer.couples);
        assert!((share(&answer, "Cu^+") - 0.5).abs() < 1e-4, "{:?}", answer.couples);
    }
    for (each, base) in [("0.01", "0.06"), ("0.01", "0.1"), ("0.3", "1.7")] {
        let put = [("FeCl2", each), ("FeCl3", each), ("NaOH", base)].map(|(of, n)| format!("{of} {n} mol/kg"));
        let put: Vec<&str> = put.iter().map(String::as_str).collect();
        let answer = ask(&asked("Fe", &put, None));
        balances(&answer, "Fe", 2.0 * each.parse::<f64>().expect("a number"));
        assert!((at_ph_0(&answer) + 0.085).abs() < 0.005, "{}", at_ph_0(&answer));
        // Counted from iron(II): two of three in magnetite gave one electron up, those in the metal took two.
        let electrons =
            share(&answer, "Fe3O4(s)") * 2.0 / 3.0 + share(&answer, "Fe^3+") - 2.0 * share(&answer, "Fe(s)");
        assert!((electrons - 0.5).abs() < 1e-10, "{electrons}");
    }
}

/// A dose in a solution of a stated potential is the amount that gives the wanted pH when it is named from the start.
#[test]
fn a_dose_is_what_it_would_be_from_the_start() {
    let put = ["FeSO4 0.01 mol/kg", "H2SO4 0.01 mol/kg"];
    let dosed = SolutionOptions { add: Some("NaOH"), to_ph: Some("3.5"), ..asked("Fe", &put, Some("0.6 V")) };
    let answer = ask(&dosed);
    let amount = format!("NaOH {} mol/kg", answer.dose.as_ref().expect("a dose").mass.mean / 39.997);
    let named = ask(&asked("Fe", &[put[0], put[1], &amount], Some("0.6 V")));
    assert!((named.ph.value - 3.5).abs() < 1e-3, "{}", named.ph.value);
    assert!((share(&named, "Fe^3+") - share(&answer, "Fe^3+")).abs() < 1e-3);
    // Precipitates of it are told of the element, whatever state it is in.
    let windows = ask(&SolutionOptions { windows: true, ..asked("Fe", &put, Some("0.9 V")) }).windows;
    let iron = windows.iter().find(|window| window.master == "Fe").expect("iron falls out");
    assert!(iron.start.is_some_and(|(low, _)| low < 3.5), "{iron:?}");
}

/// Potentials stay those of 25 °C when it is warm: at that of Fe3+/Fe2+ both are alike there too, one decade apart 66.1 mV on.
#[test]
fn warm_solutions_have_the_same_standard_potentials() {
    let ratio = |volts: &str| {
        let asked = asked("Fe", &["Fe(NO3)3 1e-8 mol/kg", "HNO3 0.01 mol/kg"], Some(volts));
        let answer = ask(&SolutionOptions { at: Some("60 °C"), ..asked });
        activity(&answer, "Fe^3+") - activity(&answer, "Fe^2+")
    };
    assert!(ratio("0.771 V").abs() < 0.051, "{}", ratio("0.771 V"));
    assert!((ratio("0.8371 V") - ratio("0.771 V") - 1.0).abs() < 1e-3);
}

/// Gas over the solution is in balance with the state that it belongs to: log K of H2S = H+ + HS- is -8.0 for the gas (from -7.0
/// for the dissolved one and 0.1 mol/L at 1 bar, common handbook values from memory).
#[test]
fn a_gas_follows_its_state() {
    let gases = ["H2S 0.1 bar"];
    let put = ["Na2SO4 0.01 mol/kg", "NaOH 0.02 mol/kg"];
    let answer = ask(&SolutionOptions { gases: &gases, ..asked("S", &put, Some("-0.3 V")) });
    let constant = activity(&answer, "HS^-") - answer.ph.value + 1.0;
    assert!((constant + 8.0).abs() < 0.1, "{constant}");
    assert!(answer.residual < 1e-10, "{}", answer.residual);
}

/// Held apart is what a question without a word on couples gets, bit for bit; a stated potential moves nothing then.
#[test]
fn held_states_do_not_move() {
    let substances = ["FeCl2 0.005 mol/kg", "FeCl3 0.005 mol/kg", "HCl 0.1 mol/kg"];
    let plain = ask(&SolutionOptions { substances: &substances, quick: true, ..SolutionOptions::default() });
    let held = ask(&SolutionOptions { couples: Some("held"), ..asked("Fe", &substances, Some("0.4 V")) });
    assert_eq!((plain.species, plain.solids, plain.ph), (held.species, held.solids, held.ph));
    assert!(held.couples.is_none());
}

/// Element and charge balances close over the whole window of potential and acid.
#[test]
fn balances_close_at_any_potential() {
    let sets: [(&str, &str, f64); 6] = [
        ("Fe", "FeSO4 0.01 mol/kg", 0.01),
        ("Cu", "CuSO4 0.01 mol/kg", 0.01),
        ("Mn", "MnSO4 0.01 mol/kg", 0.01),
        ("I", "KI 0.01 mol/kg", 0.01),
        ("Pb", "Pb(NO3)2 0.001 mol/kg", 0.001),
        ("Co", "Co(NO3)2 0.01 mol/kg", 0.01),
    ];
    for (element, substance, total) in sets {
        for step in -4..=7 {
            let volts = format!("{} V", 0.2 * f64::from(step));
            for acid in ["HNO3 0.1 mol/kg", "NaOH 0.05 mol/kg", "NaNO3 0.1 mol/kg"] {
                let substances = [substance, acid];
                let answer = ask(&asked(element, &substances, Some(&volts)));
                balances(&answer, element, total);
                assert!((couples(&answer).potential - 0.2 * f64::from(step)).abs() < 1e-9, "{substances:?} {volts}");
            }
        }
    }
}

/// The same where nothing is stated and several elements share their electrons, from acid to alkaline and to strong solutions.
#[test]
fn balances_close_where_electrons_do() {
    type Amounts<'a> = &'a [(&'a str, f64)];
    let sets: [(&str, Amounts<'_>, Amounts<'_>); 6] = [
        ("Fe, Cu", &[("FeSO4", 1.0), ("Cu(NO3)2", 0.7)], &[("Fe", 1.0), ("Cu", 0.7)]),
        ("Fe, I", &[("FeCl3", 1.0), ("KI", 1.5)], &[("Fe", 1.0), ("I", 1.5)]),
        ("Mn, N", &[("MnCl2", 1.0), ("NaNO3", 0.15)], &[("Mn", 1.0), ("N", 0.15)]),
        ("Ag, Fe", &[("AgNO3", 1.0), ("FeSO4", 0.6)], &[("Ag", 1.0), ("Fe", 0.6)]),
        ("Fe, S", &[("FeCl3", 1.0), ("Na2SO3", 0.3)], &[("Fe", 1.0), ("S", 0.3)]),
        ("Cu, S", &[("CuSO4", 1.0), ("Na2SO3", 0.4)], &[("Cu", 1.0), ("S", 1.4)]),
    ];
    let mut solved = 0;
    for (of, put, totals) in sets {
        for strength in [1e-4, 0.01, 0.2] {
            for (beside, times) in [("HNO3", 3.0), ("NaNO3", 0.5), ("NaOH", 1.0), ("NaOH", 5.0)] {
                let beside = if of.contains('N') { beside.replace("NO3", "Cl") } else { beside.into() };
                let put = put.iter().map(|(name, n)| (*name, *n)).chain([(beside.as_str(), times)]);
                let put: Vec<String> = put.map(|(name, n)| format!("{name} {} mol/kg", n * strength)).collect();
                let put: Vec<&str> = put.iter().map(String::as_str).collect();
                match solution(&asked(of, &put, None)) {
                    Ok(answer) => {
                        solved += 1;
                        totals.iter().for_each(|(element, total)| balances(&answer, element, total * strength));
                    }
                    // Where next to nothing reacts there is no potential.
                    Err(findings) => assert!(findings[0].message.contains("sets a potential"), "{put:?} {findings:?}"),
                }
            }
        }
    }
    assert!(solved > 60, "{solved} of 72");
}

#[test]
fn what_cannot_follow_is_said() {
    let code = |options: &SolutionOptions<'_>| solution(options).expect_err("no answer")[0].code;
    assert_eq!(code(&asked("Na", &["NaCl 0.1 mol/kg"], Some("0.1 V"))), "no-solution");
    assert_eq!(code(&asked("Fe", &["NaCl 0.1 mol/kg"], Some("0.1 V"))), "no-solution");
    for (of, put) in [("Zn", "ZnSO4 0.01 mol/kg"), ("Cu", "CuSO4 0.01 mol/kg"), ("N", "NaNO3 0.01 mol/kg")] {
        let told = solution(&asked(of, &[put], None)).expect_err("no answer");
        assert!(told[0].code == "no-solution" && told[0].message.contains("sets a potential"), "{told:?}");
    }
    let odd = SolutionOptions { couples: Some("sometimes"), ..asked("Fe", &["FeCl2 0.1 mol/kg"], None) };
    assert_eq!(code(&odd), "unknown-word");
    assert_eq!(code(&SolutionOptions { redox: None, ..asked("", &["FeCl2 0.1 mol/kg"], None) }), "missing-field");
    assert_eq!(code(&asked("Fe, Xx", &["FeCl2 0.1 mol/kg"], Some("0.1 V"))), "unknown-word");
    assert_eq!(code(&asked("Fe, O", &["FeSO4 0.1 mol/kg"], Some("0.1 V"))), "unknown-word");
    assert_eq!(code(&asked("Fe", &["FeSO4 0.1 mol/kg"], Some("3 V"))), "out-of-range");
    // Iron(III) added to a solution whose potential follows from its iron.
    let both = ["FeCl2 0.01 mol/kg", "FeCl3 0.01 mol/kg"];
    let moved = SolutionOptions { add: Some("FeCl3"), to_ph: Some("1.5"), ..asked("Fe", &both, None) };
    let told = solution(&moved).expect_err("no answer");
    assert!(told[0].code == "no-solution" && told[0].message.contains("FeCl3"), "{told:?}");
    // Beyond the range of water there is an answer, and a word on it.
    let beyond = |volts| ask(&asked("Fe", &both, Some(volts))).findings.iter().any(|f| f.code == "beyond-model");
    assert!(beyond("1.6 V") && beyond("-0.8 V") && !beyond("0.5 V"));
}

/// Several elements in one question: one diagram each, that of one being the diagram it has when it is asked for alone.
#[test]
fn several_elements_have_a_diagram_each() {
    let substances = ["FeSO4 0.01 mol/kg", "CuSO4 0.02 mol/kg", "H2SO4 0.05 mol/kg"];
    let of = |redox| {
        let options =
            SolutionOptions { substances: &substances, redox: Some(redox), quick: true, ..SolutionOptions::default() };
        ask(&SolutionOptions { potential: Some("0.5 V"), ..options }).potential
    };
    let both = of("Fe, Cu");
    assert_eq!(both.iter().map(|d| d.element.as_str()).collect::<Vec<_>>(), ["Fe", "Cu"]);
    assert_eq!(both[..1], of("Fe")[..]);
    assert_eq!(both[1..], of("Cu")[..]);
    assert!(both.iter().all(|d| d.potential == Some(0.5) && d.form.is_some()));
    assert_eq!((both[0].hydrogen, both[0].ph), (both[1].hydrogen, both[1].ph));
    assert!(both[0].beside.iter().any(|(ion, _)| ion == "Cu^2+"), "{:?}", both[0].beside);
}

/// Permanganometry and iodometry (common practice): MnO4⁻ takes five electrons, so 0.01 mol of it makes iron(III) of 0.05 of
/// 0.1 mol iron(II); IO3⁻ + 5 I⁻ + 6 H⁺ gives three molecules of iodine.
#[test]
fn permanganate_and_iodate_take_their_electrons() {
    let iron = ["FeSO4 0.1 mol/kg", "KMnO4 0.01 mol/kg", "H2SO4 0.5 mol/kg"];
    let answer = ask(&asked("Fe, Mn", &iron, None));
    balances(&answer, "Fe", 0.1);
    balances(&answer, "Mn", 0.01);
    assert!((share(&answer, "Fe^3+") - 0.5).abs() < 1e-6, "{:?}", answer.couples);
    assert!(share(&answer, "Mn^2+") > 1.0 - 1e-6, "{:?}", answer.couples);
    let iodate = ["KIO3 0.001 mol/kg", "KI 0.1 mol/kg", "HNO3 0.1 mol/kg"];
    let answer = ask(&asked("I", &iodate, None));
    balances(&answer, "I", 0.101);
    let amount = |state: &str| couples(&answer).states.iter().find(|s| s.state == state).map_or(0.0, |s| s.amount);
    let iodine = amount("I2") / 2.0 + amount("I3^-") / 3.0 + amount("I2(s)") / 2.0;
    assert!((iodine - 0.003).abs() < 1e-6, "{iodine} {:?}", answer.couples);
    // Permanganate alone, at a potential that it does not stand: it is manganese(II).
    let held = ask(&asked("Mn", &["KMnO4 0.001 mol/kg", "HNO3 0.1 mol/kg"], Some("0.9 V")));
    balances(&held, "Mn", 0.001);
    assert!(share(&held, "Mn^2+") > 0.999, "{:?}", held.couples);
}
