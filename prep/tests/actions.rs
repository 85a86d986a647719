//! Each action against a figure that does not come from the program.

use prep::outcome::{Interval, Plan};

fn planned(text: &str) -> Plan {
    let reading = prep::read(text.as_bytes());
    let preparation = reading.preparation.unwrap_or_else(|| panic!("{:#?}", reading.findings));
    prep::plan(&preparation)
}

fn given(plan: &Plan, lot: &str) -> Interval {
    let found = plan.steps.iter().flat_map(|s| &s.gives).find(|(name, _)| name == lot);
    found.map(|(_, mass)| mass.clone()).unwrap_or_else(|| panic!("no lot {lot}"))
}

fn vented(plan: &Plan, step: &str, gas: &str) -> f64 {
    let step = plan.steps.iter().find(|s| s.name == step).expect("step");
    step.vents.iter().find(|(name, _)| name == gas).map_or(0.0, |(_, mass)| mass.median)
}

fn close(found: f64, expected: f64, tolerance: f64) {
    assert!((found - expected).abs() <= tolerance, "found {found}, expected {expected} ± {tolerance}");
}

/// 55 g CuSO4 in 100 g water at 80 °C, 20.7 g in 100 g at 20 °C (solubilities from memory): 60.8 g of pentahydrate
/// separate, because the crystals take water along; 94.2 g of liquor stay. 60.8 g hold 70.7 % of the copper sulfate.
#[test]
fn crystals_take_their_water_from_the_solvent() {
    let plan = planned(
        r#"
        title = "Crystals"
        account_for = "Cu"
        [[supply]]
        name = "copper sulfate"
        holds = "CuSO4(s)"
        [[step]]
        name = "dissolve"
        action = "dissolve"
        take = { "copper sulfate" = "55.000 g", water = "100.000 g" }
        loss = "none"
        gives = { hot = "all" }
        [[step]]
        name = "cool"
        action = "crystallise"
        take = { hot = "all" }
        crystals = "CuSO4·5H2O(s)"
        conversion = "70.67 %"
        loss = "none"
        gives = { magma = "all" }
        [[step]]
        name = "drain"
        action = "filter"
        take = { magma = "all" }
        held_liquor = "none"
        passes = "none"
        loss = "none"
        pick_up = { combustible = "<= 0.001 mg" }
        gives = { crystals = "solids", liquor = "solution" }
        "#,
    );
    close(given(&plan, "crystals").median, 60.8, 0.05);
    close(given(&plan, "liquor").median, 94.2, 0.05);
}

/// 10 g of calcium oxalate monohydrate without air give 0.068 mol carbon monoxide (1.92 g) and 68.5 % carbonate;
/// in air carbon dioxide leaves instead; at the end 38.4 % calcium oxide (calculated from the formulas).
#[test]
fn oxalate_with_and_without_air() {
    let heated = |atmosphere: &str, solid: &str| {
        planned(&format!(
            r#"
            title = "Oxalate"
            account_for = "Ca"
            [[supply]]
            name = "calcium oxalate"
            holds = "CaC2O4·H2O(s)"
            [[step]]
            name = "weigh in"
            action = "transfer"
            take = {{ "calcium oxalate" = "10.000 g" }}
            loss = "none"
            gives = {{ oxalate = "all" }}
            [[step]]
            name = "dry"
            action = "dry"
            take = {{ oxalate = "all" }}
            may_hold = "CaC2O4(s)"
            loss = "none"
            gives = {{ anhydrous = "all" }}
            [[step]]
            name = "heat"
            action = "ignite"
            take = {{ anhydrous = "all" }}
            atmosphere = "{atmosphere}"
            may_hold = "{solid}"
            loss = "none"
            gives = {{ residue = "all" }}
            "#
        ))
    };
    let closed = heated("own gas", "CaCO3(s)");
    close(given(&closed, "anhydrous").median, 8.767, 0.002);
    close(given(&closed, "residue").median, 6.850, 0.002);
    close(vented(&closed, "heat", "CO(g)"), 1.917, 0.002);
    let open = heated("air", "CaCO3(s)");
    close(vented(&open, "heat", "CO(g)"), 0.0, 1e-9);
    close(vented(&open, "heat", "CO2(g)"), 3.012, 0.003);
    close(given(&heated("air", "CaO(s)"), "residue").median, 3.838, 0.002);
}

/// Oxide of copper under hydrogen: 79.545 g give 63.546 g metal and 18.015 g water (atomic weights).
#[test]
fn hydrogen_takes_the_oxygen() {
    let plan = planned(
        r#"
        title = "Copper"
        account_for = "Cu"
        [[supply]]
        name = "copper oxide"
        holds = "CuO(s)"
        [[step]]
        name = "weigh in"
        action = "transfer"
        take = { "copper oxide" = "7.9545 g" }
        loss = "none"
        gives = { oxide = "all" }
        [[step]]
        name = "reduce"
        action = "ignite"
        take = { oxide = "all" }
        atmosphere = "hydrogen"
        may_hold = "Cu(s)"
        loss = "none"
        gives = { metal = "all" }
        "#,
    );
    close(given(&plan, "metal").median, 6.3546, 1e-3);
    close(vented(&plan, "reduce", "H2O(g)"), 1.8015, 1e-3);
}

/// A leach leaves 0.5 to 5 % of the soluble part (common practice), a decantation lets 0.1 to 0.5 % of the solids run
/// off each time; evaporation takes the stated water; a quenched solid stays a solid.
#[test]
fn manners_of_the_others() {
    let plan = planned(
        r#"
        title = "Leach"
        account_for = "Zn"
        [[supply]]
        name = "zinc salt"
        holds = "ZnSO4·7H2O(s)"
        [[step]]
        name = "leach"
        action = "leach"
        take = { "zinc salt" = "100.00 g", water = "200.0 g" }
        gives = { mud = "all" }
        [[step]]
        name = "decant"
        action = "decant"
        take = { mud = "all" }
        wash = "2 x 50 mL"
        gives = { dregs = "solids", liquor = "solution" }
        [[step]]
        name = "evaporate"
        action = "evaporate"
        take = { liquor = "all" }
        removes = "150 mL"
        loss = "none"
        gives = { strong = "all" }
        "#,
    );
    close(vented(&plan, "evaporate", "H2O(g)"), 150.0 * 0.9982, 0.1);
    close(given(&plan, "liquor").median - given(&plan, "strong").median, 150.0 * 0.9982, 2.0);
    let dregs = given(&plan, "dregs");
    // 0.5 g to 5 g of salt, and two to ten times as much liquor.
    assert!(dregs.low > 1.0 && dregs.high < 60.0, "{dregs:?}");
}
