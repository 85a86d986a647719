//! Labels of solutions and tablets against figures that do not come from the program.

use prep::outcome::{Account, Plan, Severity};

fn read(text: &str) -> prep::Preparation {
    let reading = prep::read(text.as_bytes());
    reading.preparation.unwrap_or_else(|| panic!("{:#?}", reading.findings))
}

fn close(found: f64, expected: f64, tolerance: f64) {
    assert!((found - expected).abs() <= tolerance, "found {found}, expected {expected} ± {tolerance}");
}

fn charged(plan: &Plan, supply: &str) -> f64 {
    plan.weigh_out.iter().find(|w| w.supply == supply).map(|w| w.amount.mean).expect("charged")
}

/// Lozenges with 23 mg zinc each, as gluconate, label spread −1.9 to +8.1 % (measured contents of supplements,
/// national study of adult multivitamins): 200 of them hold 4.60 g zinc by the label, 4.51 to 4.97 g by the spread,
/// and 6.10 g of zinc oxide (the label's own maximum is 5.73 g) is not impossible: at most 6.19 g.
fn lozenges(oxide: &str, content: &str) -> Account {
    prep::live_account(&read(&format!(
        r#"
        title = "Zinc from lozenges"
        account_for = "Zn"
        [[supply]]
        name = "lozenges"
        label = "zinc 23 mg (as gluconate)"
        holds = "C12H22O14Zn(s)"
        unit_mass = "1.250 ± 0.005 g"
        content = "{content}"
        content_of = "Zn"
        [[supply]]
        name = "soda"
        holds = "Na2CO3(s)"
        assay = "100 %"
        [[instrument]]
        name = "pocket balance"
        kind = "balance"
        resolution = "0.01 g"
        [[step]]
        name = "precipitate"
        action = "precipitate"
        take = {{ lozenges = "200 units", soda = "12.0 g", water = "800 mL" }}
        reaction = "C12H22O14Zn(aq) + Na2CO3(aq) -> ZnCO3(s) + 2 C6H11NaO7(aq)"
        gives = {{ slurry = "all" }}
        [[step]]
        name = "filter"
        action = "filter"
        take = {{ slurry = "all" }}
        wash = "5 x 200 mL"
        gives = {{ cake = "solids", liquor = "solution" }}
        [[step]]
        name = "ignite"
        action = "ignite"
        take = {{ cake = "all" }}
        may_hold = "ZnO(s)"
        quote_as = "ZnO(s)"
        gives = {{ oxide = "all" }}
          [[step.reading]]
          id = "r1"
          weigh = "{oxide}"
          of = "oxide"
          with = "pocket balance"
        "#
    )))
}

#[test]
fn the_label_spread_makes_some_yields_over_100_percent_ordinary() {
    let account = lozenges("6.10 g", "22.56 .. 24.86 mg");
    assert!(account.findings.iter().all(|f| f.code != "impossible-mass"), "{:#?}", account.findings);
    let quoted = &account.yields.expect("yields").quoted[0];
    close(quoted.element_mass.value, 6.10 * 65.38 / 81.379, 0.005);
    let impossible = lozenges("6.25 g", "22.56 .. 24.86 mg");
    let found = impossible.findings.iter().find(|f| f.code == "impossible-mass").expect("impossible");
    assert!(found.message.contains("at most 6.19 g"), "{}", found.message);
}

/// The same 6.10 g against a content known to ± 0.1 mg is impossible: at least 0.3 g is foreign.
#[test]
fn a_closer_assay_makes_it_impossible() {
    let account = lozenges("6.10 g", "23.0 ± 0.1 mg");
    let found = account.findings.iter().find(|f| f.code == "impossible-mass").expect("impossible");
    assert_eq!(found.severity, Severity::Warning);
    assert!(found.causes[0].needs.as_ref().is_some_and(|n| n.low > 0.25 && n.low < 0.4), "{found:?}");
}

/// Strong solutions by their labels: 36 % hydrochloric acid of 1.18 g/mL is 11.6 mol/L (36.46 g/mol); 100 mL weigh
/// 118 g and hold 42.5 g. The other ways of saying it agree.
#[test]
fn strengths_agree() {
    let plan = |strength: &str| {
        prep::plan(&read(&format!(
            r#"
            title = "Acid"
            account_for = "Cl"
            [[supply]]
            name = "acid"
            holds = "HCl(aq)"
            strength = "{strength}"
            density = "1.18 g/mL"
            [[supply]]
            name = "lime"
            holds = "CaCO3(s)"
            assay = "100 %"
            [[step]]
            name = "neutralise"
            action = "adjust pH"
            take = {{ acid = "100.0 mL", lime = "80.0 g", water = "200 mL" }}
            reaction = "CaCO3(s) + 2 HCl(aq) -> CaCl2(aq) + H2O(l) + CO2(g)"
            gives = {{ liquor = "all" }}
            "#
        )))
    };
    for strength in ["36.0 % w/w", "42.5 % w/v", "425 g/L", "11.65 mol/L", "15.43 mol/kg"] {
        let plan = plan(strength);
        close(charged(&plan, "acid"), 118.0, 0.05);
        let gas = plan.steps[0].vents.iter().find(|(name, _)| name == "CO2(g)").expect("gas");
        close(gas.1.median, 42.48 / 36.46 / 2.0 * 44.009, 0.35);
    }
}

/// What a label leaves out is asked for.
#[test]
fn missing_measures_are_named() {
    let codes = |supply: &str, take: &str| {
        let text = format!(
            "title = \"x\"\n[[supply]]\nname = \"a\"\nholds = \"HCl(aq)\"\n{supply}\n[[step]]\nname = \"s\"\naction = \"dissolve\"\ntake = {{ a = \"{take}\" }}\ngives = {{ b = \"all\" }}\n"
        );
        let findings = prep::read(text.as_bytes()).findings;
        let errors = findings.iter().filter(|f| f.severity == Severity::Error);
        errors.map(|f| (f.code, f.line)).collect::<Vec<_>>()
    };
    assert_eq!(codes("strength = \"2.0 mol/L\"", "10 g"), [("bad-strength", 5)]);
    assert_eq!(
        codes("strength = \"2.0 mol/L\"\ndensity = \"1 kg\"", "10 g"),
        [("bad-strength", 5), ("wrong-dimension", 6)]
    );
    assert_eq!(codes("assay = \"30 %\"", "20 units"), [("no-unit-mass", 9)]);
    assert_eq!(codes("content = \"23 mg\"", "20 g"), [("bad-content", 5)]);
    assert_eq!(codes("assay = \"30 %\"\nstrength = \"30 %\"", "20 g"), [("content-stated-twice", 2)]);
}

/// A file whose supplies are known by their labels alone, and one that spells out what they mean.
#[test]
fn a_label_says_as_much_as_the_fields() {
    let plan = |supplies: &str| {
        prep::plan(&read(&format!(
            r#"
            title = "Malachite"
            account_for = "Cu"
            {supplies}
            [[step]]
            name = "precipitate"
            action = "precipitate"
            take = {{ bluestone = "25.00 g", soda = "30.0 g", water = "200 g" }}
            reaction = "2 CuSO4(aq) + 2 Na2CO3(aq) + H2O(l) -> Cu2CO3(OH)2(s) + 2 Na2SO4(aq) + CO2(g)"
            gives = {{ slurry = "all" }}
            "#
        )))
    };
    let by_label = plan(
        "[[supply]]\nname = \"bluestone\"\nlabel = \"copper sulfate pentahydrate, 98 % min\"\n\
         [[supply]]\nname = \"soda\"\nlabel = \"washing soda crystals\"\n",
    );
    let by_fields = plan(
        "[[supply]]\nname = \"bluestone\"\nholds = \"CuSO4·5H2O(s)\"\nassay = \">= 98 %\"\n\
         [[supply]]\nname = \"soda\"\nholds = [\"Na2CO3·H2O(s)\", \"Na2CO3·10H2O(s)\"]\n",
    );
    let gas = |plan: &Plan| plan.steps[0].vents.iter().find(|(name, _)| name == "CO2(g)").map(|(_, g)| g.clone());
    assert!(gas(&by_label).is_some());
    assert_eq!(gas(&by_label), gas(&by_fields));
}

/// The label counts zinc, whatever the hydrate: 100 lozenges of 23 mg hold 2.30 g of zinc (± 0.5 mg each by the rounding),
/// which is 2.863 g of zinc oxide at most 2.925 g (81.379 g/mol, 65.38 g/mol; IUPAC 2021).
#[test]
fn an_element_on_the_label_keeps_its_figure() {
    let reading = prep::read(
        r#"
        title = "Zinc"
        account_for = "Zn"
        [[supply]]
        name = "lozenges"
        label = "zinc 23 mg (as gluconate)"
        unit_mass = "1.2500 ± 0.0001 g"
        [[instrument]]
        name = "pocket balance"
        kind = "balance"
        resolution = "0.01 g"
        [[step]]
        name = "ash"
        action = "ignite"
        take = { lozenges = "100 units" }
        may_hold = "ZnO(s)"
        quote_as = "ZnO(s)"
        gives = { ash = "all" }
          [[step.reading]]
          id = "r1"
          weigh = "3.00 g"
          of = "ash"
          with = "pocket balance"
        "#
        .as_bytes(),
    );
    let note = reading.findings.iter().find(|f| f.code == "taken-from-label").expect("said");
    assert!(note.message.contains("Zn(C6H11O7)2(s), 12.5 to 13.1 %"), "{}", note.message);
    let account = prep::live_account(&reading.preparation.expect("reads"));
    let found = account.findings.iter().find(|f| f.code == "impossible-mass").expect("impossible");
    assert!(found.message.contains("at most 2.92 g") || found.message.contains("at most 2.93 g"), "{}", found.message);
}

/// One German degree of hardness is 10 mg CaO in a litre (DIN 38409-6, from memory): 16 degrees in 2.00 kg of water are
/// 16 · 10 mg · 100.086/56.077 · 2.0036 L = 0.572 g of calcium carbonate.
#[test]
fn hard_water_dries_to_its_hardness() {
    let plan = |hardness: &str| {
        prep::plan(&read(&format!(
            r#"
            title = "Kettle"
            account_for = "Ca"
            [[supply]]
            name = "tap water"
            label = "tap water"
            hardness = "{hardness}"
            [[step]]
            name = "dry up"
            action = "dry"
            take = {{ "tap water" = "2000 ± 1 g" }}
            loss = "none"
            gives = {{ scale = "all" }}
            "#
        )))
    };
    for hardness in ["16.00 °dH", "2.853 mmol/L", "285.6 mg/L", "28.56 °fH", "20.03 °e"] {
        let plan = plan(hardness);
        close(plan.steps[0].gives[0].1.median, 0.572, 0.001);
        assert!(plan.findings.iter().any(|f| f.code == "hard-water" && f.message.contains("0.57 g")));
        assert!(plan.findings.iter().all(|f| f.severity == Severity::Note), "{:?}", plan.findings);
    }
}

/// Caustic soda that drew water and carbonate: heated dry, 10.00 g keep between 9.2 and 10.0 g, 9.6 g in the middle.
#[test]
fn what_a_reagent_took_up_is_there() {
    let plan = prep::plan(&read(
        r#"
        title = "Old caustic"
        account_for = "Na"
        [[supply]]
        name = "caustic"
        label = "sodium hydroxide"
        holds = "NaOH(s)"
        assay = "100 %"
        took_up = { "H2O(l)" = "<= 8 %", "Na2CO3(s)" = "<= 3 %" }
        [[step]]
        name = "dry"
        action = "dry"
        take = { caustic = "10.000 ± 0.001 g" }
        loss = "none"
        gives = { dry = "all" }
        "#,
    ));
    let dry = &plan.steps[0].gives[0].1;
    close(dry.median, 9.6, 0.01);
    close(dry.low, 9.24, 0.02);
    close(dry.high, 9.96, 0.02);
}
