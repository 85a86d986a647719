//! Do the numbers of the cautions agree with what was calculated by hand, and can a caution be accepted but no refusal?

use prep::outcome::{Finding, Plan, Severity};

fn reading(text: &str) -> prep::Reading {
    prep::read(text.as_bytes())
}

fn planned(text: &str) -> Plan {
    let read = reading(text);
    prep::plan(&read.preparation.unwrap_or_else(|| panic!("{:#?}", read.findings)))
}

fn found<'a>(findings: &'a [Finding], code: &str) -> &'a Finding {
    findings.iter().find(|f| f.code == code).unwrap_or_else(|| panic!("no {code}: {findings:#?}"))
}

const OXALATE: &str = r#"
title = "Oxalate"
room = "25 m3"
[[supply]]
name = "calcium oxalate"
holds = "CaC2O4·H2O(s)"
[[step]]
name = "weigh in"
action = "transfer"
take = { "calcium oxalate" = "10.000 g" }
gives = { white = "all" }
[[step]]
name = "calcine"
action = "ignite"
temperature = "500 °C"
atmosphere = "own gas"
take = { white = "all" }
may_hold = "CaCO3(s)"
gives = { chalk = "all" }
"#;

/// 10 g CaC2O4·H2O: 0.0684 mol, 1.67 L carbon monoxide, 67 ppm in 25 m³ (calculated), above 35 ppm (NIOSH, shift).
#[test]
fn carbon_monoxide_of_an_oxalate() {
    let plan = planned(OXALATE);
    let told = found(&plan.findings, "toxic-gas");
    assert!(told.message.contains("1.7 L carbon monoxide") && told.message.contains("67 ppm in this room"), "{told:?}");
    assert!(told.message.contains("above") && told.severity == Severity::Caution && told.line == 13, "{told:?}");
    let step = &plan.screening.steps[1];
    assert!(plan.steps[1].cautions[0].starts_with("Danger: step `calcine` releases up to 1.7 L"));
    assert!(!step.holds.is_empty() && plan.screening.room_stated);
    assert!(plan.screening.steps[0].substances[0].statements.iter().any(|(code, _)| *code == "H302"));
    found(&plan.findings, "reagent-note");
    assert!(plan.findings.iter().all(|f| f.code != "room-not-stated"));
    // Without a stated room a small one is taken, and it is asked for.
    let plan = planned(&OXALATE.replace("room = \"25 m3\"\n", ""));
    found(&plan.findings, "room-not-stated");
    assert!(found(&plan.findings, "toxic-gas").message.contains("170 ppm"));
}

/// Sulfuric acid drives nitric acid off a nitrate when it is boiled down, whether or not the vapour is collected; diluted
/// and not boiled down, they stand together (any textbook of inorganic chemistry).
#[test]
fn nitric_acid_is_not_driven_off_its_salt() {
    let text = r#"
title = "Saltpetre and vitriol, invented"
account_for = "K"
[[supply]]
name = "nitre"
holds = "KNO3(s)"
assay = "98 .. 100 %"
[[supply]]
name = "oil of vitriol"
holds = "H2SO4(l)"
assay = "96 %"
[[step]]
name = "mix"
action = "dissolve"
take = { nitre = "20 g", "oil of vitriol" = "40 g" }
gives = { mix = "all" }
[[step]]
name = "boil down"
action = "evaporate"
removes = "5 g"
take = { mix = "all" }
gives = { residue = "all" }
"#;
    let refused = |text: &str| prep::read(text.as_bytes()).findings.iter().any(|f| f.code == "out-of-bounds");
    assert!(refused(text));
    assert!(!refused(text.split("[[step]]\nname = \"boil down\"").next().unwrap_or_default()));
}

/// An acid sets hydrogen sulfide free from a sulfide: a question that only balances says so too; an acid and a base are left
/// in peace (common practice).
#[test]
fn a_reaction_tells_what_does_not_belong_together() {
    let told = |text: &str| prep::ask::reaction(text).expect("balanced").findings;
    let found = found(&told("Na2S + HCl -> NaCl + H2S"), "incompatible").clone();
    assert!(found.message.contains("hydrogen sulfide") && found.severity == Severity::Caution, "{found:?}");
    assert!(told("NaOH + HCl -> NaCl + H2O").iter().all(|f| f.code != "incompatible"));
}

/// A thin or scratched flask implodes under suction; common practice. By gravity nothing is drawn.
#[test]
fn suction_wants_a_thick_flask() {
    let example = include_str!("../../examples/bluestone.toml");
    let told = planned(example);
    assert!(found(&told.findings, "ware-note").message.contains("step `filter`"), "{:?}", told.findings);
    let quiet = planned(&example.replace("\"suction\"", "\"gravity\""));
    assert!(quiet.findings.iter().all(|f| f.code != "ware-note"));
}

/// Zinc powder gives hydrogen with hot water, little with cold (Prudent Practices, partial list of incompatible chemicals).
#[test]
fn zinc_powder_in_hot_water_gives_hydrogen() {
    let hot = r#"
title = "Warm zinc, invented"
account_for = "Zn"
room = "25 m3"
[[supply]]
name = "zinc dust"
holds = "Zn(s)"
assay = "95 .. 98 %"
[[supply]]
name = "water"
holds = "H2O(l)"
assay = "100 %"
[[step]]
name = "stir warm"
action = "leach"
temperature = "90 °C"
take = { "zinc dust" = "20 g", water = "100 g" }
gives = { slurry = "all" }
"#;
    assert!(found(&planned(hot).findings, "flammable-gas").message.contains("hydrogen"));
    let cold = planned(&hot.replace("temperature = \"90 °C\"\n", ""));
    assert!(cold.findings.iter().all(|f| f.code != "flammable-gas"), "{:?}", cold.findings);
}

/// 6.54 g zinc: 0.100 mol, 2.45 L hydrogen; 61 L of air at the limit of 4 %, 245 L to plan for (calculated).
#[test]
fn hydrogen_of_leftover_zinc() {
    let plan = planned(
        r#"
        title = "Zinc"
        [[supply]]
        name = "zinc"
        holds = "Zn(s)"
        [[supply]]
        name = "acid"
        holds = "H2SO4(aq)"
        strength = "20 %"
        [[step]]
        name = "dissolve"
        action = "dissolve"
        take = { zinc = "6.538 g", acid = "200.0 g" }
        gives = { liquor = "all" }
        "#,
    );
    let told = found(&plan.findings, "flammable-gas");
    for figure in ["2.4 L hydrogen", "61 L of air", "plan for 240 L"] {
        assert!(told.message.contains(figure), "{figure}: {}", told.message);
    }
}

/// A caution that is accepted with a reason stays as a note; without a reason, or for a refusal, the file is wrong.
#[test]
fn cautions_are_accepted_with_a_reason() {
    let accept = |code: &str, more: &str| {
        OXALATE.replace("[[supply]]", &format!("accept = [{{ finding = \"{code}\"{more} }}]\n[[supply]]"))
    };
    let plan = planned(&accept("toxic-gas", ", step = \"calcine\", reason = \"outdoors, alarm worn\""));
    let told = found(&plan.findings, "toxic-gas");
    assert_eq!(told.severity, Severity::Note);
    assert!(told.message.ends_with("Accepted: outdoors, alarm worn"), "{}", told.message);
    assert!(plan.steps[1].cautions.is_empty() && plan.screening.accepted.len() == 1);
    let slips = |text: &str| reading(text).findings.into_iter().filter(|f| f.severity == Severity::Error);
    let codes = |text: &str| slips(text).map(|f| f.code).collect::<Vec<_>>();
    assert_eq!(codes(&accept("toxic-gas", "")), ["missing-field"]);
    assert_eq!(codes(&accept("toxic-gas", ", reason = \" \"")), ["empty-text"]);
    assert_eq!(codes(&accept("out-of-bounds", ", reason = \"I know\"")), ["not-acceptable"]);
    assert_eq!(codes(&accept("no-such", ", reason = \"I know\"")), ["unknown-word"]);
    assert_eq!(codes(&accept("toxic-gas", ", step = \"x\", reason = \"I know\"")), ["unknown-step"]);
    let refused =
        accept("toxic-gas", ", reason = \"I know\"").replace("title = \"Oxalate\"", "title = \"Flash powder\"");
    assert_eq!(codes(&refused), ["out-of-bounds"]);
}

/// Refusals say the reason and the help that is left, and nothing is computed.
#[test]
fn a_refusal_says_why_and_what_is_left() {
    let read = reading(&OXALATE.replace("room =", "target = { substance = \"KClO3(s)\" }\nroom ="));
    assert!(read.preparation.is_none());
    let told = found(&read.findings, "out-of-bounds");
    assert!(told.message.contains("potassium chlorate") && told.message.contains("explosive"), "{}", told.message);
    assert!(told.hints[0].contains("hazardous waste service") && told.line == 3, "{told:?}");
    let told = prep::ask::formula("NaN3·H2O").err();
    assert!(told.is_none(), "a bought reagent has a molar mass: {told:?}");
    let told = prep::ask::formula("HCN").err().unwrap_or_default();
    assert!(found(&told, "out-of-bounds").hints.iter().any(|h| h.contains("H330")), "its hazards are there: {told:?}");
}

/// The codes that the cautions of ordinary steps carry; what is told in each is in the scenarios.
#[test]
fn each_kind_of_caution_has_its_code() {
    for (supplies, step, codes) in [
        (&["foil: Al(s)"][..], "grind: foil 5 g", &["fine-metal"][..]),
        (&["nickel: NiCO3(s)"], "grind: nickel 20 g", &["toxic-dust"]),
        (&["soda: NaHCO3(s)", "acid: HCl(aq)"], "dissolve: soda 200 g, acid 300 g", &["gas-released", "large-scale"]),
        (&["lye: NaOH(s)"], "dissolve: lye 50 g, water 100 g", &["heat-released"]),
        (&["chlorate: KClO3(s)"], "transfer: chlorate 5 g", &["bounded-reagent"]),
        (&["bleach: NaClO(aq)", "acid: HCl(aq)"], "transfer: acid 5 g", &["incompatible-shelf"]),
        (
            &["rouge: Fe2O3(s)", "foil: Al(s)"],
            "combine: rouge 5 g, foil 2 g",
            &["metal-reduction", "weighing-list-withheld"],
        ),
        (&["iodine: I2(s)", "ammonia: NH3(aq)"], "dissolve: iodine 1 g, ammonia 9 g", &["incompatible"]),
    ] {
        let plan = planned(&small(supplies, step));
        codes.iter().for_each(|code| drop(found(&plan.findings, code).clone()));
    }
    let jar = small(&["acid: HCl(aq)"], "transfer: acid 5 g")
        + "[[waste]]\nname = \"jar\"\nholds = \"NaClO(aq)\"\ntakes = \"lot\"\n";
    found(&planned(&jar).findings, "incompatible-waste");
    let lost = jar.replace("takes = \"lot\"", "takes = \"lots\"");
    found(&reading(&lost).findings, "unknown-lot");
    let hot = small(&["chalk: CaCO3(s)"], "ignite: chalk 5 g")
        + "[[step]]\nname = \"q\"\naction = \"quench\"\ntake = { lot = \"all\", water = \"50 g\" }\ngives = { end = \"all\" }\n";
    found(&planned(&hot).findings, "hot-into-water");
    let tube = small(&["oxide: CuO(s)"], "ignite: oxide 5 g")
        .replace("take =", "atmosphere = \"hydrogen\"\nmay_hold = \"Cu(s)\"\ntake =");
    found(&planned(&tube).findings, "fed-tube");
    let answer = prep::ask::reaction("MnO2 + 4 HCl -> MnCl2 + Cl2 + 2 H2O").expect("balanced");
    found(&answer.findings, "bounded-product");
}

/// Pairs and mixes of the list of incompatible substances, each with the word that says why.
#[test]
fn pairs_of_the_list_are_flagged_for_their_reason() {
    for (supplies, step, word) in [
        (&["remover: NH4HF2(s)", "acid: HCl(aq)"][..], "dissolve: remover 5 g, acid 50 g", "hydrogen fluoride"),
        (
            &["black: MnO2(s)", "salmiac: NH4Cl(s)", "acid: H2SO4(aq)"],
            "leach: black 20 g, salmiac 10 g, acid 100 g",
            "chlorine",
        ),
        (&["black: MnO2(s)", "peroxide: H2O2(aq)"], "leach: black 20 g, peroxide 100 g", "oxygen"),
        (&["copper: Cu(s)", "peroxide: H2O2(aq)"], "leach: copper 20 g, peroxide 100 g", "oxygen"),
        (&["chromate: K2Cr2O7(s)", "peroxide: H2O2(aq)"], "dissolve: chromate 5 g, peroxide 100 g", "oxygen"),
        (&["ammonia: NH3(aq)", "bromine: Br2(l)"], "dissolve: ammonia 50 g, bromine 1 g", "explosion"),
        (&["foil: Al(s)", "bromine: Br2(l)"], "combine: foil 5 g, bromine 1 g", "fire"),
        (
            &["tablets: NaC3Cl2N3O3·2H2O(s)", "bleach: NaClO(aq)"],
            "dissolve: tablets 5 g, bleach 50 g",
            "nitrogen trichloride",
        ),
        (
            &["azide: NaN3(s)", "permanganate: KMnO4(s)"],
            "dissolve: azide 1 g, permanganate 1 g, water 50 g",
            "explosion",
        ),
        (&["nickel: NiCO3(s)"], "grind: nickel 20 g", "breathed in"),
        (&["black: MnO2(s)"], "grind: black 20 g", "breathed in"),
    ] {
        let plan = planned(&small(supplies, step));
        let cautions = || plan.findings.iter().filter(|f| f.severity == prep::outcome::Severity::Caution);
        assert!(cautions().any(|f| f.message.contains(word)), "{step}: {:#?}", plan.findings);
        assert!(!cautions().any(|f| f.message.contains("cyan")), "{step}: {:#?}", plan.findings);
    }
    let harmless = planned(&small(&["black: CuO(s)"], "grind: black 20 g"));
    assert!(harmless.findings.iter().all(|f| f.severity != prep::outcome::Severity::Caution));
}

/// What is out of bounds is refused by its name where a formula is asked for, and where the substance is a side matter.
#[test]
fn names_are_refused_in_questions() {
    use prep::ask::{IgniteOptions, WashOptions, ignite, wash};
    let refused = |findings: &[Finding]| findings.iter().any(|f| f.code == prep::screen::OUT_OF_BOUNDS);
    for name in ["lead azide", "Lead-Azide", "TNT", "phosgene", "sarin", "gunpowder"] {
        assert!(refused(&prep::ask::formula(name).expect_err(name)), "{name}");
        assert!(refused(&prep::ask::substance(name).expect_err(name)), "{name}");
        assert!(refused(&prep::ask::label(name).findings), "{name}");
        assert!(refused(&ignite(&[format!("{name} 1 g")], &IgniteOptions::default()).expect_err(name)), "{name}");
        let washed =
            WashOptions { of: Some(name), held: Some("60 mL"), washes: Some("4 x 100 mL"), ..WashOptions::default() };
        assert!(refused(&wash(&washed).expect_err(name)), "{name}");
    }
    assert!(refused(&prep::ask::label("HCN").findings));
    let washed =
        WashOptions { of: Some("chloride"), held: Some("60 mL"), washes: Some("4 x 100 mL"), ..WashOptions::default() };
    assert!(wash(&washed).is_ok());
    assert!(!refused(&prep::ask::formula("copper sulfate").expect_err("no formula")));
    let prussiate = ["K4Fe(CN)6·3H2O(s) 10 g".to_owned()];
    assert!(refused(
        &ignite(&prussiate, &IgniteOptions { surroundings: Some("own gas"), ..IgniteOptions::default() })
            .expect_err("cyanide")
    ));
    let powder = prep::ask::reaction("2 KNO3(s) + 3 C(s) + S(s) -> K2S(s) + N2(g) + 3 CO2(g)").expect("balanced");
    found(&powder.findings, "incompatible");
}

/// A shelf and one step.
fn small(supplies: &[&str], step: &str) -> String {
    let mut text = "title = \"Small\"\n".to_owned();
    for supply in supplies {
        let (name, formula) = supply.split_once(": ").expect("name: formula");
        text += &format!("[[supply]]\nname = \"{name}\"\nholds = \"{formula}\"\n");
        if formula.ends_with("(aq)") {
            text += "strength = \"20 %\"\n";
        }
    }
    let (action, takes) = step.split_once(": ").expect("action: takes");
    let takes: Vec<String> = takes
        .split(", ")
        .map(|take| take.split_once(' ').map_or_else(String::new, |(name, mass)| format!("{name} = \"{mass}\"")))
        .collect();
    text + &format!(
        "[[step]]\nname = \"s\"\naction = \"{action}\"\ntake = {{ {} }}\ngives = {{ lot = \"all\" }}\n",
        takes.join(", ")
    )
}

/// Dissolving and crystallising are questions too: what is out of bounds is refused there before anything is computed.
#[test]
fn solutions_and_crystals_pass_the_door() {
    use prep::ask::{CrystalliseOptions, SolutionOptions, crystallise, solution};
    let salt =
        CrystalliseOptions { substance: "NH4NO3", from: "80 °C", to: "20 °C", ..CrystalliseOptions::default() };
    let refused = crystallise(&salt).expect_err("ammonium nitrate is not separated");
    assert_eq!(refused[0].code, prep::screen::OUT_OF_BOUNDS);
    assert!(crystallise(&CrystalliseOptions { substance: "CuSO4·5H2O", ..salt }).is_ok());
    // An azide is no mixture of ammonia and nitrate: nothing is computed of it.
    let amounts = ["NaN3 0.1 mol/kg"];
    assert!(solution(&SolutionOptions { substances: &amounts, ..SolutionOptions::default() }).is_err());
    let amounts = ["Na2S 0.1 mol/kg", "HCl 1 mol/kg"];
    let sour = solution(&SolutionOptions { substances: &amounts, ..SolutionOptions::default() }).expect("solved");
    assert!(found(&sour.findings, "incompatible").message.contains("hydrogen sulfide"));
    let amounts = ["Pb(N3)2 0.1 mol/kg"];
    assert!(solution(&SolutionOptions { substances: &amounts, ..SolutionOptions::default() }).is_err());
}

/// Words on sources, reagents and wares stand with the step that uses them, so that bench and sheet show them; they are
/// notes, and neither the gravest nor a reason to stop (common practice).
#[test]
fn words_on_sources_stand_with_their_step() {
    let with_label = |supplies: &[&str], step: &str, label: &str| {
        small(supplies, step).replacen("holds =", &format!("label = \"{label}\"\nholds ="), 1)
    };
    let cells = with_label(
        &["black: MnO2(s)", "acid: H2C2O4·2H2O(s)"],
        "leach: black 5 g, acid 9 g, water 90 g",
        "spent zinc–carbon cells",
    );
    let plan = planned(&cells);
    for word in ["never lithium", "harms the kidneys"] {
        assert!(plan.steps[0].cautions.iter().any(|text| text.contains(word)), "{word}: {:?}", plan.steps[0].cautions);
        assert!(plan.findings.iter().any(|f| f.code == "reagent-note" && f.message.contains(word)), "{word}");
        assert!(!plan.screening.gravest.iter().any(|text| text.contains(word)), "{word}");
    }
    let dried = planned(&small(&["chalk: CaCO3(s)"], "dry: chalk 5 g"));
    assert!(dried.steps[0].cautions.iter().any(|text| text.contains("never cooks food again")));
    assert!(dried.findings.iter().all(|f| !f.message.contains("cooks")));
    let made = small(&["muriate: CaCl2(s)", "salt: K2C2O4(s)"], "dissolve: muriate 2 g, water 90 g");
    assert!(planned(&made).steps[0].cautions.is_empty(), "an oxalate that stands on the shelf only");
}

/// A caution has all its parts in order: the number, the statement, the sign, the condition, the control, what to wear, what
/// to do, the waste, the basis.
#[test]
fn a_caution_has_all_its_parts() {
    for text in [
        OXALATE.to_owned(),
        small(&["lye: NaOH(s)"], "dissolve: lye 50 g, water 100 g"),
        small(&["soda: NaHCO3(s)", "acid: HCl(aq)"], "dissolve: soda 200 g, acid 300 g"),
        small(&["bleach: NaClO(aq)", "ammonia: NH3(aq)"], "dissolve: bleach 50 g, ammonia 5 g"),
        small(&["foil: Al(s)"], "grind: foil 5 g"),
        small(&["nickel: NiCO3(s)"], "grind: nickel 20 g"),
        small(&["rouge: Fe2O3(s)", "foil: Al(s)"], "combine: rouge 5 g, foil 2 g"),
    ] {
        let plan = planned(&text);
        let cautions: Vec<_> = plan.screening.steps.iter().flat_map(|step| &step.cautions).collect();
        assert!(!cautions.is_empty(), "{text}");
        for caution in cautions {
            for (part, what) in [
                (&caution.what, "what"),
                (&caution.control, "control"),
                (&caution.emergency, "emergency"),
                (&caution.waste, "waste"),
                (&caution.basis, "basis"),
            ] {
                assert!(!part.is_empty(), "{what} of {caution:?}");
            }
            let told = caution.paragraph();
            let places: Vec<usize> =
                [&caution.what, &caution.statements, &caution.control, &caution.waste, &caution.basis]
                    .into_iter()
                    .filter(|part| !part.is_empty())
                    .filter_map(|part| told.find(part.as_str()))
                    .collect();
            assert!(places.is_sorted(), "{told}");
        }
    }
    let plan = planned(OXALATE);
    let gas = plan.screening.steps[1].cautions.iter().find(|c| c.code == "toxic-gas").expect("a gas");
    assert!(gas.statements.contains("H331 toxic if inhaled"), "{gas:?}");
}

/// A supply that is a mixture carries the statements of the mixture, with what is ignored and what is not known (UN GHS Rev.
/// 9, 3.1.3.6.2.2); a jar of several solutes is classed as one.
#[test]
fn supplies_and_jars_are_classed_as_mixtures() {
    let tablets =
        small(&["tablets: CuSO4·5H2O(s)"], "transfer: tablets 5 g").replace("holds =", "assay = \"60 %\"\nholds =");
    let plan = planned(&tablets);
    let told = &plan.screening.steps[0].substances[0];
    assert!(told.remarks[0].starts_with("40 % of the mixture consists of ingredient(s) of unknown acute toxicity"));
    assert!(told.statements.iter().any(|(code, _)| *code == "H410") && told.substance.ends_with("60 %"), "{told:?}");
    let strong = planned(&small(&["lye: NaOH(aq)"], "transfer: lye 5 g"));
    let told = &strong.screening.steps[0].substances[0];
    assert!(told.remarks == ["ignored for acute toxicity, as not acutely toxic: NaOH, water"], "{told:?}");
    let jar = small(&["blue: CuSO4·5H2O(s)", "white: ZnSO4·7H2O(s)"], "dissolve: blue 5 g, white 5 g, water 200 g")
        + "[[waste]]\nname = \"jar\"\ntakes = \"lot\"\n";
    let plan = planned(&jar);
    // 1.5 % and 1.3 % of anhydrous salts: each alone irritates eyes, and together too; water life by 10 × 2.9 ≥ 25.
    let label = &plan.waste[0].label;
    assert!(label.contains("H319") && label.contains("H411") && label.contains("gnored for acute toxicity"), "{label}");
    let alone = small(&["blue: CuSO4·5H2O(s)"], "dissolve: blue 5 g, water 200 g")
        + "[[waste]]\nname = \"jar\"\ntakes = \"lot\"\n";
    let label = &planned(&alone).waste[0].label;
    assert!(label.contains("H412") && !label.contains("H411"), "{label}");
}
