//! Is what is out of bounds refused by name, by formula, in other spellings, and by whatever question is asked?
//!
//! Each refusal is one code; the program ends with 3 for it. What is merely bought stays answered, with its hazards.

use prep::ask::{
    CrystalliseOptions, DryOptions, EquilibriumOptions, GasOptions, HeatOptions, IgniteOptions, crystallise, dry,
    equilibrium, gas, heat, ignite,
};
use prep::outcome::Finding;

fn refused(findings: &[Finding]) -> bool {
    findings.iter().any(|f| f.code == prep::screen::OUT_OF_BOUNDS)
}

#[track_caller]
fn must_refuse<T: std::fmt::Debug>(answer: Result<T, Vec<Finding>>, what: &str) {
    match answer {
        Ok(answer) => panic!("{what} was answered: {answer:?}"),
        Err(findings) => assert!(refused(&findings), "{what}: {findings:?}"),
    }
}

/// Crystals, dried solids and targets are things made: their names are refused like their formulas.
#[test]
fn names_of_what_is_not_made_are_refused_where_it_is_made() {
    for name in ["potassium chlorate", "NaClO3", "ammonium nitrate", "N2H4O3", "Ammonium  Nitrate", "sodium azide"] {
        let asked =
            CrystalliseOptions { substance: name, from: "60 °C", to: "10 °C", ..CrystalliseOptions::default() };
        must_refuse(crystallise(&asked), name);
        let asked = DryOptions { of: Some(name), ..DryOptions::default() };
        must_refuse(dry(&["10 g", "9 g", "8.9 g"], &asked), name);
        let file = format!(
            "title = \"A salt\"\ntarget = {{ substance = \"{name}\" }}\n[[supply]]\nname = \"salt\"\nholds = \"NaCl(s)\"\n[[step]]\nname = \"s\"\naction = \"transfer\"\ntake = {{ salt = \"1 g\" }}\ngives = {{ lot = \"all\" }}\n"
        );
        assert!(refused(&prep::read(file.as_bytes()).findings), "{name} as a target");
    }
    // What is only bought is answered with its hazards, by its name too.
    let known = prep::ask::substance("potassium chlorate").expect("answered");
    assert!(known.hazards.is_some_and(|hazards| hazards.statements.iter().any(|(code, _)| *code == "H271")));
    assert!(prep::ask::substance("hydrogen fluoride").is_ok_and(|known| known.hazards.is_some()));
}

/// Phosphorus out of phosphate and charcoal, cyanide out of soda, charcoal and nitrogen (textbooks of industrial chemistry):
/// no name of either is in the question.
#[test]
fn what_an_equilibrium_makes_is_refused() {
    let lots = |texts: &[&str]| texts.iter().map(|t| (*t).to_owned()).collect::<Vec<_>>();
    let hot = EquilibriumOptions { at: Some("1400 °C"), ..EquilibriumOptions::default() };
    must_refuse(equilibrium(&lots(&["Ca3(PO4)2(s) 1 mol", "C(s) 8 mol", "SiO2(s) 3 mol"]), &hot), "phosphorus");
    let shut = IgniteOptions { surroundings: Some("own gas"), ..IgniteOptions::default() };
    must_refuse(ignite(&lots(&["Ca3(PO4)2(s) 31 g", "C(s) 10 g"]), &shut), "phosphorus");
    // Bone ash alone, and iron oxide with charcoal, stay as they are.
    assert!(equilibrium(&lots(&["Ca3(PO4)2(s) 1 mol"]), &hot).is_ok());
    assert!(equilibrium(&lots(&["Fe2O3(s) 1 mol", "C(s) 3 mol"]), &hot).is_ok());
    let file = |more: &str| {
        format!(
            "title = \"Bone ash\"\n[[supply]]\nname = \"bone ash\"\nholds = \"Ca3(PO4)2(s)\"\n[[supply]]\nname = \"charcoal\"\nholds = \"C(s)\"\n[[step]]\nname = \"heat\"\naction = \"ignite\"\ntemperature = \"1300 °C\"\ntake = {{ \"bone ash\" = \"10 g\"{more} }}\ngives = {{ lot = \"all\" }}\n"
        )
    };
    assert!(refused(&prep::read(file(", charcoal = \"4 g\"").as_bytes()).findings));
    assert!(!refused(&prep::read(file("").as_bytes()).findings));
}

/// Nitric acid leaves a nitrate in the heat of strong sulfuric acid (textbook); dissolved nitric acid is a reagent.
#[test]
fn nitric_acid_is_refused_where_it_is_driven_off() {
    let still = "KNO3(s) + H2SO4(l) -> KHSO4(s) + HNO3(g)";
    must_refuse(prep::ask::reaction(still), "nitric acid");
    must_refuse(heat(still, &HeatOptions { take: &["10 g KNO3"], ..HeatOptions::default() }), "its heat");
    must_refuse(gas(Some(still), &GasOptions { take: &["10 g KNO3"], ..GasOptions::default() }), "its gas");
    assert!(prep::ask::reaction("CuO(s) + 2 HNO3(aq) -> Cu(NO3)2(aq) + H2O(l)").is_ok());
}

/// What does not belong together is told by each question that names two things.
#[test]
fn questions_tell_what_does_not_belong_together() {
    let told = |findings: &[Finding], word: &str| {
        assert!(findings.iter().any(|f| f.code == "incompatible" && f.message.contains(word)), "{word}: {findings:?}");
    };
    let sulfide = "Na2S(aq) + 2 HCl(aq) -> 2 NaCl(aq) + H2S(g)";
    let asked = HeatOptions { take: &["5 g Na2S"], into: Some("100 g"), ..HeatOptions::default() };
    told(&heat(sulfide, &asked).expect("a heat").findings, "hydrogen sulfide");
    let asked = GasOptions { take: &["5 g Na2S"], ..GasOptions::default() };
    told(&gas(Some(sulfide), &asked).expect("a gas").findings, "hydrogen sulfide");
    told(&prep::ask::reaction(sulfide).expect("balanced").findings, "hydrogen sulfide");
    let asked = GasOptions { take: &["1 g NH3(g)", "1 g I2(g)"], ..GasOptions::default() };
    told(&gas(None, &asked).expect("gases").findings, "nitrogen triiodide");
    let copper = "3 Cu(s) + 2 KNO3(aq) + 4 H2SO4(aq) -> 3 CuSO4(aq) + K2SO4(aq) + 2 NO(g) + 4 H2O(l)";
    told(&prep::ask::reaction(copper).expect("balanced").findings, "nitrogen oxides");
    let asked = CrystalliseOptions {
        substance: "NH4Cl",
        from: "60 °C",
        to: "20 °C",
        impurity: Some("NaClO 5 g"),
        ..CrystalliseOptions::default()
    };
    told(&crystallise(&asked).expect("crystals").findings, "chloramines");
    let asked = CrystalliseOptions { impurity: Some("Pb(N3)2 5 g"), ..asked };
    must_refuse(crystallise(&asked), "lead azide as an impurity");
    let hot = EquilibriumOptions { at: Some("600 °C"), ..EquilibriumOptions::default() };
    let lots = ["Mg(s) 1 mol".to_owned(), "CO2(g) 2 mol".to_owned()];
    told(&equilibrium(&lots, &hot).expect("solved").findings, "carbon dioxide");
    let shut = IgniteOptions { surroundings: Some("carbon dioxide"), ..IgniteOptions::default() };
    told(&ignite(&["Mg(s) 1 mol".to_owned()], &shut).expect("a path").findings, "carbon dioxide");
    // Potassium nitrate in dilute acid, sodium and potassium salts side by side: nothing.
    let quiet = prep::ask::reaction("KNO3(aq) + HCl(aq) -> KCl(aq) + HNO3(aq)").expect("balanced").findings;
    assert!(quiet.iter().all(|f| f.code != "incompatible"), "{quiet:?}");
}

/// A shelf of formulas with their strength, and steps of action, takes and more lines.
fn file(shelf: &[(&str, &str)], steps: &[(&str, &str, &str)]) -> String {
    let mut text = "title = \"A way round\"\n".to_owned();
    for (place, (formula, strength)) in shelf.iter().enumerate() {
        let key = if formula.ends_with("(aq)") { "strength" } else { "assay" };
        let name = ["a", "b", "c", "d"][place];
        text += &format!("[[supply]]\nname = \"{name}\"\nholds = \"{formula}\"\n{key} = \"{strength}\"\n");
    }
    for (place, (action, takes, more)) in steps.iter().enumerate() {
        let gives = if *action == "filter" { "cake = \"solids\", liquor = \"solution\"" } else { "lot = \"all\"" };
        let gives = gives.replace("lot", &format!("lot{place}"));
        text += &format!(
            "[[step]]\nname = \"s{place}\"\naction = \"{action}\"\n{more}\ntake = {{ {takes} }}\ngives = {{ {gives} }}\n"
        );
    }
    text
}

const PURE: &str = "99 .. 100 %";

/// Ways round the bounds with harmless-looking files: what forms is named by nobody.
#[test]
fn ways_round_are_refused() {
    type Way<'a> = (&'a [(&'a str, &'a str)], &'a [(&'a str, &'a str, &'a str)], &'a str);
    let ways: &[Way<'_>] = &[
        (
            &[("NH4NO3(s)", "70 %")],
            &[("dissolve", "a=\"50 g\", water=\"50 g\"", ""), ("filter", "lot0=\"all\"", "")],
            "ammonium nitrate",
        ),
        (
            &[("NaClO(aq)", "12 %"), ("KCl(s)", PURE)],
            &[("dissolve", "a=\"500 g\"", "temperature=\"95 °C\""), ("dissolve", "lot0=\"all\", b=\"20 g\"", "")],
            "chlorate",
        ),
        (
            &[("KNO3(s)", PURE), ("NaHSO4(s)", PURE)],
            &[("combine", "a=\"20 g\", b=\"24 g\"", ""), ("ignite", "lot0=\"all\"", "temperature=\"250 °C\"")],
            "nitric acid",
        ),
        (
            &[("KNO3(s)", PURE), ("H2SO4(aq)", "30 %")],
            &[("dissolve", "a=\"20 g\", b=\"70 g\"", ""), ("evaporate", "lot0=\"all\"", "removes=\"40 g\"")],
            "nitric acid",
        ),
        (
            &[("H2O2(aq)", "12 %")],
            &[
                ("transfer", "a=\"100 g\"", ""),
                ("crystallise", "lot0=\"all\"", "crystals=\"H2O(s)\"\nconversion=\"50 %\""),
            ],
            "peroxide",
        ),
        (
            &[("K4Fe(CN)6·3H2O(s)", PURE), ("K2CO3(s)", PURE)],
            &[("grind", "a=\"10 g\", b=\"4 g\"", ""), ("ignite", "lot0=\"all\"", "temperature=\"700 °C\"")],
            "cyanide",
        ),
        (
            &[("AgNO3(s)", PURE), ("CaC2(s)", PURE)],
            &[("dissolve", "a=\"10 g\", b=\"4 g\", water=\"100 g\"", "")],
            "explosive",
        ),
        (
            &[("AgNO3(s)", PURE), ("C2H6O(l)", PURE), ("HNO3(aq)", "65 %")],
            &[("dissolve", "a=\"1 g\", b=\"20 g\", c=\"20 g\"", "")],
            "explosive",
        ),
        (
            &[("CuSO4·5H2O(s)", PURE), ("NH3(aq)", "25 %"), ("NaClO4(s)", PURE)],
            &[("dissolve", "a=\"5 g\", b=\"50 g\", c=\"5 g\"", ""), ("filter", "lot0=\"all\"", "")],
            "explosive",
        ),
        (
            &[("Ag2O(s)", PURE), ("NH3(aq)", "25 %")],
            &[("dissolve", "a=\"5 g\", b=\"50 g\"", ""), ("filter", "lot0=\"all\"", "")],
            "explosive",
        ),
        (
            &[("As2O3(s)", PURE), ("Zn(s)", PURE), ("HCl(aq)", "20 %")],
            &[("dissolve", "a=\"1 g\", b=\"5 g\", c=\"40 g\"", "")],
            "toxic",
        ),
        (&[("FeSe(s)", PURE), ("HCl(aq)", "20 %")], &[("dissolve", "a=\"2 g\", b=\"40 g\"", "")], "toxic"),
        (
            &[("CO(NH2)2(s)", PURE), ("NaClO(aq)", "12 %"), ("NaOH(s)", PURE)],
            &[("dissolve", "a=\"5 g\", b=\"50 g\", c=\"10 g\"", "")],
            "hydrazine",
        ),
        (&[("NaOH(s)", PURE), ("Mg(s)", PURE)], &[("combine", "a=\"10 g\", b=\"6 g\"", "")], "alkali metals"),
        (
            &[("P(s)", "30 %")],
            &[("leach", "a=\"50 g\", water=\"100 g\"", ""), ("filter", "lot0=\"all\"", "")],
            "phosphorus",
        ),
        (
            &[("NaClO3(s)", PURE), ("KCl(s)", PURE)],
            &[("dissolve", "a=\"20 g\", b=\"12 g\", water=\"50 g\"", ""), ("filter", "lot0=\"all\"", "")],
            "chlorate",
        ),
        (&[("KClO3(s)", PURE), ("H3C6H5O7(s)", PURE)], &[("combine", "a=\"9 g\", b=\"6 g\"", "")], "explosive"),
        (&[("Mg(s)", PURE), ("C2F4(s)", PURE)], &[("combine", "a=\"5 g\", b=\"9 g\"", "")], "pyrotechnic"),
        (
            &[("NaCl(s)", PURE)],
            &[("transfer", "a=\"5 g\"", ""), ("dry", "lot0=\"all\"", "trace={\"KClO3(s)\" = \"<= 50 %\"}")],
            "chlorate",
        ),
        (&[("ZnO(s)", PURE)], &[("transfer", "a=\"5 g\"", "note=\"then into a firework\"")], "pyrotechnic"),
        (
            &[("KClO3(s)", "45 %")],
            &[("dissolve", "a=\"50 g\", water=\"99 g\"", "temperature=\"90 °C\""), ("filter", "lot0=\"all\"", "")],
            "chlorate",
        ),
    ];
    for (shelf, steps, word) in ways {
        let text = file(shelf, steps);
        let findings = prep::read(text.as_bytes()).findings;
        let told = |f: &&Finding| f.code == prep::screen::OUT_OF_BOUNDS && f.message.to_lowercase().contains(word);
        assert!(findings.iter().any(|f| told(&f)), "{word}: {findings:#?}\n{text}");
    }
}

/// Ordinary work beside each of them is no matter of a refusal.
#[test]
fn neighbours_of_the_bounds_are_not_refused() {
    type Way<'a> = (&'a [(&'a str, &'a str)], &'a [(&'a str, &'a str, &'a str)]);
    let ways: &[Way<'_>] = &[
        (&[("NH4NO3(s)", "70 %")], &[("dissolve", "a=\"5 g\", water=\"50 g\"", "")]),
        (&[("NaClO(aq)", "5 %"), ("KCl(s)", PURE)], &[("dissolve", "a=\"50 g\", b=\"5 g\"", "")]),
        (
            &[("Cu(NO3)2·3H2O(s)", PURE), ("H2SO4(aq)", "10 %")],
            &[
                ("dissolve", "a=\"50 g\", b=\"2 g\", water=\"50 g\"", ""),
                ("evaporate", "lot0=\"all\"", "removes=\"30 g\""),
            ],
        ),
        (
            &[("Fe4(Fe(CN)6)3(s)", PURE)],
            &[
                ("transfer", "a=\"5 g\"", ""),
                ("roast", "lot0=\"all\"", "temperature=\"600 °C\"\nmay_hold=\"Fe2O3(s)\""),
            ],
        ),
        (&[("As2O3(s)", PURE), ("HCl(aq)", "20 %")], &[("dissolve", "a=\"1 g\", b=\"40 g\"", "")]),
        (&[("NaOH(s)", PURE), ("Al(s)", PURE)], &[("dissolve", "a=\"5 g\", b=\"2 g\", water=\"100 g\"", "")]),
        (
            &[("AgCl(s)", PURE), ("NH3(aq)", "25 %")],
            &[("dissolve", "a=\"2 g\", b=\"50 g\"", ""), ("filter", "lot0=\"all\"", "")],
        ),
        (&[("CO(NH2)2(s)", PURE), ("NaClO(aq)", "5 %")], &[("dissolve", "a=\"5 g\", b=\"50 g\"", "")]),
        (&[("H2O2(aq)", "12 %"), ("NaCl(s)", PURE)], &[("dissolve", "a=\"10 g\", b=\"5 g\", water=\"90 g\"", "")]),
        (&[("CaC2(s)", PURE)], &[("dissolve", "a=\"1 g\", water=\"100 g\"", "")]),
    ];
    for (shelf, steps) in ways {
        let text = file(shelf, steps);
        let read = prep::read(text.as_bytes());
        assert!(read.preparation.is_some(), "{:#?}\n{text}", read.findings);
    }
}

/// Medicines and food are no preparations; an antacid or a supplement as a source is.
#[test]
fn purposes_of_swallowing_are_refused_in_a_title() {
    let titled = |title: &str| {
        let text = file(&[("ZnO(s)", PURE)], &[("transfer", "a=\"1 g\"", "")]).replace("A way round", title);
        refused(&prep::read(text.as_bytes()).findings)
    };
    for title in ["Zinc medicine for my dog", "Iron tablets to take daily", "Magnesium for internal use"] {
        assert!(titled(title), "{title}");
    }
    for title in ["Zinc from cold medicine", "Calcium from antacid tablets", "Iron from a supplement"] {
        assert!(!titled(title), "{title}");
    }
}

/// Hydrogen cyanide, hydrogen fluoride and phosphine by a pair that nobody listed: the caution with its litres, and no list.
#[test]
fn deadly_gases_withhold_the_weighing_list() {
    for (shelf, gas) in [
        (&[("K4Fe(CN)6·3H2O(s)", PURE), ("H2SO4(aq)", "40 %")][..], "hydrogen cyanide"),
        (&[("CaF2(s)", PURE), ("H2SO4(l)", "96 %")], "hydrogen fluoride"),
        (&[("AlP(s)", PURE), ("HCl(aq)", "20 %")], "phosphine"),
    ] {
        let text = file(shelf, &[("dissolve", "a=\"10 g\", b=\"40 g\"", "temperature=\"90 °C\"")]);
        let read = prep::read(text.as_bytes());
        let plan = prep::plan(&read.preparation.unwrap_or_else(|| panic!("{:#?}", read.findings)));
        let told = plan.findings.iter().any(|f| f.code == "toxic-gas" && f.message.contains(gas));
        assert!(told && plan.weigh_out.is_empty(), "{gas}: {:#?}", plan.findings);
        assert!(plan.screening.withheld.iter().any(|why| why.contains(gas)), "{:?}", plan.screening.withheld);
    }
}
