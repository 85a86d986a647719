//! When is there a weighing list for an oxide with the powder of a metal, and when is there none?
//!
//! Exactly where the metal is the declared, weighed and accounted target, the oxidant a simple oxide alone, the gas at most
//! 2 mmol for each gram and the release at most 150 kJ. The caution, the heat and the account are there in any case. Bounds
//! are the program's own; heats and gas are published (S. Fischer, M. Grubelich, SAND98-1176C, 1998, table 1): safety
//! information of classical reductions.

use prep::outcome::{Finding, Plan};

/// A reduction: supplies with their grams, target, element accounted for, whether it is weighed.
struct Case<'a> {
    parts: &'a [(&'a str, f64)],
    target: Option<&'a str>,
    element: &'a str,
    weighed: bool,
}

const IRON: Case<'_> =
    Case { parts: &[("Fe2O3(s)", 16.0), ("Al(s)", 5.4)], target: Some("Fe(s)"), element: "Fe", weighed: true };

fn text(case: &Case<'_>) -> String {
    let mut text = format!("title = \"A reduction\"\naccount_for = \"{}\"\n", case.element);
    if let Some(target) = case.target {
        text += &format!("target = {{ substance = \"{target}\", amount = \"8 g\" }}\n");
    }
    text += "[[instrument]]\nname = \"balance\"\nkind = \"balance\"\nresolution = \"0.01 g\"\n";
    let mut takes = Vec::new();
    for (place, (formula, grams)) in case.parts.iter().enumerate() {
        text += &format!("[[supply]]\nname = \"part {place}\"\nholds = \"{formula}\"\nassay = \"99 .. 100 %\"\n");
        takes.push(format!("\"part {place}\" = \"{grams} g\""));
    }
    text += &format!(
        "[[step]]\nname = \"burn\"\naction = \"ignite\"\ntake = {{ {} }}\ngives = {{ regulus = \"all\" }}\n",
        takes.join(", ")
    );
    if case.weighed {
        text += "[[step.reading]]\nid = \"r1\"\nof = \"regulus\"\nwith = \"balance\"\n";
    }
    text
}

fn plan(case: &Case<'_>) -> Plan {
    let text = text(case);
    let read = prep::read(text.as_bytes());
    prep::plan(&read.preparation.unwrap_or_else(|| panic!("{:#?}\n{text}", read.findings)))
}

fn found<'a>(plan: &'a Plan, code: &str) -> Option<&'a Finding> {
    plan.findings.iter().find(|finding| finding.code == code)
}

#[test]
fn the_list_is_there_where_all_conditions_hold() {
    let chromium =
        Case { parts: &[("Cr2O3(s)", 15.2), ("Al(s)", 5.4)], target: Some("Cr(s)"), element: "Cr", weighed: true };
    for case in [IRON, chromium] {
        let plan = plan(&case);
        assert!(!plan.weigh_out.is_empty() && plan.screening.withheld.is_empty(), "{:?}", plan.screening.withheld);
        // The caution with heat, grams and hold point stands all the same, and nothing is reckoned back from the target.
        let told = &found(&plan, "metal-reduction").expect("a caution").message;
        assert!(told.contains("kJ per gram") && told.contains("white-hot"), "{told}");
        assert!(plan.screening.steps[0].holds.iter().any(|hold| hold.condition.contains("dry")));
        assert!(plan.feed.is_none());
    }
}

#[test]
fn there_is_none_where_one_condition_fails() {
    let copper =
        Case { parts: &[("CuO(s)", 23.9), ("Al(s)", 5.4)], target: Some("Cu(s)"), element: "Cu", weighed: true };
    let manganese =
        Case { parts: &[("MnO2(s)", 8.7), ("Al(s)", 3.6)], target: Some("Mn(s)"), element: "Mn", weighed: true };
    for (case, reason) in [
        // 3.98 kJ/g: 150 kJ are 37.7 g.
        (Case { parts: &[("Fe2O3(s)", 32.0), ("Al(s)", 10.8)], ..IRON }, "150 kJ"),
        (copper, "2 mmol"),
        (manganese, "2 mmol"),
        (Case { target: None, ..IRON }, "accounted target"),
        (Case { target: Some("Al2O3(s)"), ..IRON }, "accounted target"),
        (Case { element: "Al", ..IRON }, "accounted target"),
        (Case { weighed: false, ..IRON }, "accounted target"),
        // Two oxides, a mixed oxide, something beside the two.
        (Case { parts: &[("Fe2O3(s)", 14.0), ("CuO(s)", 3.0), ("Al(s)", 5.4)], ..IRON }, "simple oxide"),
        (Case { parts: &[("ZnFe2O4(s)", 16.0), ("Al(s)", 5.4)], ..IRON }, "simple oxide"),
        (Case { parts: &[("Fe2O3(s)", 16.0), ("Al(s)", 5.4), ("CaF2(s)", 2.0)], ..IRON }, "not computed"),
        // Silicon burns with an oxide too, and is in none of the bounds.
        (
            Case { parts: &[("PbO(s)", 10.0), ("Si(s)", 1.0)], target: Some("Pb(s)"), element: "Pb", ..IRON },
            "not computed",
        ),
        // Oxidants that are more than an oxide, and sand.
        (
            Case { parts: &[("CaSO4(s)", 10.0), ("Al(s)", 5.4)], target: Some("Ca(s)"), element: "Ca", ..IRON },
            "simple oxide",
        ),
        (
            Case { parts: &[("CaCO3(s)", 10.0), ("Mg(s)", 5.4)], target: Some("Ca(s)"), element: "Ca", ..IRON },
            "simple oxide",
        ),
        (
            Case { parts: &[("SiO2(s)", 10.0), ("Mg(s)", 5.4)], target: Some("Si(s)"), element: "Si", ..IRON },
            "simple oxide",
        ),
        (
            Case { parts: &[("K2Cr2O7(s)", 10.0), ("Al(s)", 3.0)], target: Some("Cr(s)"), element: "Cr", ..IRON },
            "simple oxide",
        ),
    ] {
        let plan = plan(&case);
        let withheld = plan.screening.withheld.join("; ");
        assert!(withheld.contains(reason) && plan.weigh_out.is_empty(), "{:?}: {withheld}", case.parts);
        assert!(found(&plan, "metal-reduction").is_some() && found(&plan, "weighing-list-withheld").is_some());
        assert!(plan.feed.is_none() && plan.cost.is_none());
    }
}

/// What is no burning mix: a metal with its own oxide, a metal with an oxide it cannot reduce, cementation in water.
#[test]
fn ordinary_work_is_no_reduction() {
    for (parts, element) in [
        (&[("Fe2O3(s)", 16.0), ("Fe(s)", 5.4)][..], "Fe"),
        (&[("CaO(s)", 16.0), ("Al(s)", 5.4)], "Al"),
        (&[("CaSO4(s)", 16.0), ("Fe(s)", 5.4)], "Fe"),
        (&[("SiO2(s)", 16.0), ("Zn(s)", 5.4)], "Zn"),
    ] {
        let plan = plan(&Case { parts, element, target: None, ..IRON });
        assert!(found(&plan, "metal-reduction").is_none() && !plan.weigh_out.is_empty(), "{parts:?}");
    }
}
