//! Do the figures of answers say what the answers say, at both widths, with no word on another one?

#[allow(dead_code, reason = "other tests use the rest")]
mod drawn;

use drawn::{check, drawings, words};
use prep::ask::{
    CrystalliseOptions, EquilibriumOptions, FurnaceOptions, IgniteOptions, ReactionOptions, SolutionOptions,
    WashOptions, crystallise, equilibrium, furnace, ignite, reaction_with, solution, wash,
};
use prep::outcome::{
    CrystalliseAnswer, EquilibriumAnswer, FurnaceAnswer, IgniteAnswer, ReactionAnswer, SolutionAnswer, WashAnswer,
};
use report::document::Cell;
use report::figure::{
    Figure, Named, crystallise_figures, equilibrium_figures, furnace_figures, ignite_figures, reaction_figures,
    solution_figures, wash_figures,
};
use report::number;

fn owned(list: &[&str]) -> Vec<String> {
    list.iter().map(|text| (*text).to_owned()).collect()
}

fn zinc(pairs: bool, beside: &[&str]) -> ReactionAnswer {
    let beside = owned(beside);
    let options = ReactionOptions { pairs, beside: &beside, ..ReactionOptions::default() };
    reaction_with("2 Zn + O2 -> 2 ZnO", &options).expect("an answer")
}

fn limestone() -> ReactionAnswer {
    reaction_with("CaCO3(s) -> CaO(s) + CO2(g)", &ReactionOptions::default()).expect("an answer")
}

fn oxalate() -> IgniteAnswer {
    let options = IgniteOptions {
        surroundings: Some("own gas"),
        at: Some("700 °C"),
        found: Some("68.4 ± 0.3 %"),
        ..IgniteOptions::default()
    };
    ignite(&owned(&["CaC2O4·H2O(s) 10 g"]), &options).expect("an answer")
}

fn sweep() -> EquilibriumAnswer {
    let options = EquilibriumOptions { sweep: Some("25 .. 1300 °C"), ..EquilibriumOptions::default() };
    equilibrium(&owned(&["ZnO(s) 81.4 g", "C(s) 24 g"]), &options).expect("an answer")
}

fn bed() -> FurnaceAnswer {
    let options =
        FurnaceOptions {
            at: Some("1000 °C"), depth: Some("20 mm"), time: Some("20 min"), ..FurnaceOptions::default()
        };
    furnace("CaCO3(s)", &options).expect("an answer")
}

/// Invented readings: copper sulfate with free acid, soda lye run in.
fn dosed() -> SolutionAnswer {
    let options = SolutionOptions {
        substances: &["CuSO4 0.1 mol/kg", "H2SO4 0.01 mol/kg"],
        add: Some("NaOH 0.5 mol/L"),
        to_ph: Some("4.0"),
        recorded: Some("0 mL 2.29; 10 mL 2.42; 20 mL 2.63; 30 mL 2.94; 36 mL 3.30; 41 mL 4.61"),
        ..SolutionOptions::default()
    };
    solution(&options).expect("an answer")
}

fn metals() -> SolutionAnswer {
    let options = SolutionOptions {
        substances: &["FeCl3 0.01 mol/kg", "CuCl2 0.01 mol/kg", "ZnCl2 0.01 mol/kg", "MgCl2 0.01 mol/kg"],
        windows: true,
        ..SolutionOptions::default()
    };
    solution(&options).expect("an answer")
}

fn zinc_oxalate() -> SolutionAnswer {
    let options = SolutionOptions {
        substances: &["ZnSO4 0.01 mol/kg"],
        excess: Some("Na2C2O4"),
        excess_of: Some("Zn"),
        ..SolutionOptions::default()
    };
    solution(&options).expect("an answer")
}

fn diagrams(of: &str, substances: &[&str], potential: Option<&str>) -> SolutionAnswer {
    let options = SolutionOptions { substances, redox: Some(of), potential, quick: true, ..SolutionOptions::default() };
    solution(&options).expect("an answer")
}

fn diagram(of: &str, substance: &str) -> SolutionAnswer {
    diagrams(of, &[substance], None)
}

fn iron_and_copper() -> SolutionAnswer {
    let substances = ["FeSO4 0.01 mol/kg", "CuSO4 0.02 mol/kg", "H2SO4 0.05 mol/kg"];
    diagrams("Fe, Cu", &substances, Some("0.5 V"))
}

fn bluestone() -> CrystalliseAnswer {
    let options = CrystalliseOptions {
        substance: "CuSO4·5H2O",
        from: "80 °C",
        to: "20 °C",
        evaporate: Some("10 %"),
        ..Default::default()
    };
    crystallise(&options).expect("an answer")
}

fn cake() -> WashAnswer {
    let options = WashOptions {
        held: Some("60 mL"),
        liquor: Some("55.7 g/L"),
        of: Some("Na2SO4"),
        washes: Some("4 x 100 mL"),
        product: Some("43.9 g"),
        target: Some("0.1 %"),
        ..WashOptions::default()
    };
    wash(&options).expect("an answer")
}

fn all() -> Vec<(String, Figure)> {
    let mut list: Named = Vec::new();
    let mut add =
        |of: &str, named: Named| list.extend(named.into_iter().map(|(name, figure)| (format!("{of}, {name}"), figure)));
    add("zinc with all pairs", reaction_figures(&zinc(true, &[])));
    add("zinc with carbon", reaction_figures(&zinc(false, &["2 C + O2 -> 2 CO", "C + O2 -> CO2"])));
    add("limestone", reaction_figures(&limestone()));
    add("oxalate", ignite_figures(&oxalate()));
    add("sweep", equilibrium_figures(&sweep()));
    add("bed", furnace_figures(&bed()));
    add("dose", solution_figures(&dosed()));
    add("metals", solution_figures(&metals()));
    add("zinc oxalate", solution_figures(&zinc_oxalate()));
    for (of, substance) in [("Fe", "FeSO4 1e-6 mol/kg"), ("Cu", "CuSO4 0.1 mol/kg"), ("Zn", "ZnCl2 0.01 mol/kg")] {
        add(of, solution_figures(&diagram(of, substance)));
    }
    add("iron and copper", solution_figures(&iron_and_copper()));
    let two = diagrams("Mn, Zn", &["MnSO4 0.01 mol/kg", "ZnSO4 0.02 mol/kg"], None);
    add("manganese and zinc", solution_figures(&two));
    add("bluestone", crystallise_figures(&bluestone()));
    add("cake", wash_figures(&cake()));
    list
}

/// With `KEEP_FIGURES=folder` they are also written there, to be looked at.
#[test]
fn every_figure_is_well_formed_and_no_word_stands_on_another() {
    let figures = all();
    assert_eq!(figures.len(), 18, "{:?}", figures.iter().map(|(name, _)| name).collect::<Vec<_>>());
    if let Some(folder) = std::env::var_os("KEEP_FIGURES") {
        for (at, (name, figure)) in figures.iter().enumerate() {
            let file = std::path::Path::new(&folder).join(format!("{at:02}-{}", name.replace([' ', ','], "_")));
            std::fs::write(file.with_extension("svg"), figure.svg()).expect("written");
            std::fs::write(file.with_extension("html"), figure.html().into_string()).expect("written");
        }
    }
    for (name, figure) in figures {
        check(&name, &figure);
    }
}

fn text(cell: &Cell) -> &str {
    match cell {
        Cell::Text(text) => text,
        _ => "",
    }
}

/// Rows of a figure's numbers whose first cell is this.
fn rows<'a>(figure: &'a Figure, first: &str) -> Vec<Vec<&'a str>> {
    let rows = figure.table.rows.iter().map(|row| row.iter().map(text).collect::<Vec<_>>());
    rows.filter(|row| row[0] == first).collect()
}

fn only(named: Named) -> Figure {
    let [(_, figure)] = <[(String, Figure); 1]>::try_from(named).expect("one figure");
    figure
}

#[test]
fn lines_tell_the_crossings_of_the_answer() {
    let answer = zinc(false, &["2 C + O2 -> 2 CO"]);
    let lines = answer.lines.as_ref().expect("lines");
    let figure = only(reaction_figures(&answer));
    let [crossing] = &lines.crossings[..] else { panic!("one crossing: {:?}", lines.crossings) };
    let row = &rows(&figure, "C → CO under Zn → ZnO above")[0];
    assert_eq!(row[1], number::with_uncertainty(crossing.kelvin - 273.15, Some(crossing.standard_uncertainty)));
    let drawn = format!("{}\u{a0}°C", number::fixed(crossing.kelvin - 273.15, 0));
    for svg in drawings(&figure) {
        assert!(words(&svg).iter().any(|(word, _)| *word == drawn), "{drawn} stands on the drawing");
    }
}

#[test]
fn levels_and_findings_are_those_of_the_answer() {
    let answer = oxalate();
    let figures = ignite_figures(&answer);
    let (_, levels) = &figures[1];
    for step in &answer.chain {
        let row = &rows(levels, &step.to)[0];
        assert_eq!(row[1], number::fixed(step.mass, 2));
    }
    let (found, u) = answer.found.expect("what was found");
    assert!((found - 68.4).abs() < 1e-9 && u.is_some_and(|u| (u - 0.3).abs() < 1e-9));
    assert_eq!(rows(levels, "found")[0][1], number::with_uncertainty(found, u));
    // The way step by step does not end at the step that has no temperature of its own gas.
    let drawing = levels.svg();
    for words in [
        "CaC2O4(s) -> CaCO3(s) + CO(g): own gas at 1 atm: any temperature",
        "CaO(s) + CO2(g): own gas at 1 atm above 88",
    ] {
        assert!(
            drawing.contains(&words.replace("->", "-&gt;")) || drawing.contains(words),
            "{words} is drawn: {drawing}"
        );
    }
}

#[test]
fn the_middle_of_a_bed_is_told_moment_by_moment() {
    let answer = bed();
    let figure = only(furnace_figures(&answer));
    let last = &figure.table.rows[figure.table.rows.len() - 1];
    assert!(
        answer
            .moments
            .iter()
            .any(|m| number::fixed(m.minutes, 1) == text(&last[0]) && number::fixed(m.middle, 0) == text(&last[1]))
    );
    // What conducts worse takes longer: the bounds lie on either side.
    let at_half = |list: &[prep::outcome::FurnaceMoment]| list.iter().find(|m| m.left < 50.0).map(|m| m.minutes);
    let [slow, fast] = &answer.bounds;
    assert!(at_half(slow) > at_half(&answer.moments) && at_half(fast) < at_half(&answer.moments));
}

#[test]
fn a_titration_tells_dose_and_readings() {
    let answer = dosed();
    let dose = answer.dose.as_ref().expect("a dose");
    assert_eq!(dose.curve.len(), dose.curve_uncertainty.len());
    assert!(dose.curve_uncertainty.iter().all(|u| u.is_finite() && *u >= 0.0));
    let figure = only(solution_figures(&answer));
    let wanted = figure.table.rows.iter().find(|row| text(&row[2]) == "wanted").expect("the dose");
    assert_eq!((text(&wanted[0]), text(&wanted[1])), (number::mean_bare(&dose.mass).as_str(), "4.00"));
    let read: Vec<&str> =
        figure.table.rows.iter().filter(|row| text(&row[2]) == "read").map(|row| text(&row[1])).collect();
    assert_eq!(read, ["2.29", "2.42", "2.63", "2.94", "3.30", "4.61"]);
}

#[test]
fn windows_and_courses_agree() {
    let answer = metals();
    let figures = solution_figures(&answer);
    for window in &answer.windows {
        let row = &rows(&figures[0].1, &window.master)[0];
        assert!(row[1].starts_with(&number::fixed(window.start.expect("a start").0, 1)), "{row:?}");
        // Before the first solid all is dissolved.
        for course in &window.courses {
            let (start, _) = window.start.expect("a start");
            let most = course.iter().map(|point| point.1).fold(0.0, f64::max);
            assert!(
                course.iter().filter(|point| point.0 < start - 0.3).all(|point| (point.1 / most - 1.0).abs() < 1e-6)
            );
        }
    }
}

#[test]
fn the_lowest_point_of_an_excess_is_its_best() {
    let answer = zinc_oxalate();
    let excess = answer.excess.as_ref().expect("an excess");
    assert!(excess.course.iter().all(|(_, left)| *left >= excess.left * (1.0 - 1e-6)));
    let figure = only(solution_figures(&answer));
    assert!(figure.description.contains(&number::significant(excess.left, 2)), "{}", figure.description);
}

/// Every corner of a field lies where its pH and potential say: the whole window is the whole ground.
#[test]
fn fields_fill_the_ground() {
    let answer = diagram("Cu", "CuSO4 0.1 mol/kg");
    let figure = only(solution_figures(&answer));
    let diagram = answer.potential.first().expect("a diagram");
    for field in &diagram.fields {
        let row = &rows(&figure, &field.form)[0];
        assert!(!row[1].is_empty());
    }
    let named: Vec<String> = words(&drawings(&figure)[0]).into_iter().map(|(word, _)| word).collect();
    for form in ["Cu(s)", "Cu<tspan class=\"high\">2+</tspan>"] {
        assert!(named.iter().any(|word| word == form), "{form} in {named:?}");
    }
}

/// One map for each element, in the order asked for: each has its axes, its name, its own fields and the solution itself, and
/// the one below begins where the one above has ended.
#[test]
fn each_element_has_its_map() {
    let figure = only(solution_figures(&iron_and_copper()));
    assert!(figure.title.starts_with("Fe and Cu"), "{}", figure.title);
    for drawing in drawings(&figure) {
        let all = words(&drawing);
        let heights = |of: &str| all.iter().filter(|(word, _)| word == of).map(|(_, at)| at.top).collect::<Vec<f64>>();
        let [iron, copper] = [heights("Fe"), heights("Cu")].map(|found| found[0]);
        for of in ["pH", "potential, V", "this solution"] {
            let found = heights(of);
            assert_eq!(found.len(), 2, "{of}");
            assert!(found[0] < copper && found[1] > iron, "{of} {found:?}");
        }
        let (metal, other) = (heights("Fe(s)"), heights("Cu(s)"));
        assert!(iron < metal[0] && metal[0] < copper && copper < other[0], "{metal:?} {other:?}");
    }
    let elements = |form: &str| rows(&figure, form).iter().map(|row| row[3].to_owned()).collect::<Vec<_>>();
    assert_eq!((elements("Fe(s)"), elements("Cu(s)")), (vec!["Fe".to_owned()], vec!["Cu".to_owned()]));
}

#[test]
fn the_liquor_ends_on_the_solubility() {
    let answer = bluestone();
    let (celsius, grams) = answer.path[answer.path.len() - 1];
    assert!((celsius - 20.0).abs() < 1e-9 && (grams - answer.solubilities.1).abs() < 1e-6 * grams);
    let figure = only(crystallise_figures(&answer));
    assert_eq!(rows(&figure, "the liquor, end")[0][2], number::significant(grams, 3));
}

#[test]
fn each_wash_is_told() {
    let answer = cake();
    let figure = only(wash_figures(&answer));
    let before = answer.before.expect("what there is");
    for (at, (share, ..)) in answer.washes.iter().enumerate() {
        let row = &rows(&figure, &(at + 1).to_string())[0];
        assert_eq!(row[1], number::significant(share * before, 3));
        let (low, high) = answer.bounds[at];
        assert!(low < *share && *share < high);
    }
}
