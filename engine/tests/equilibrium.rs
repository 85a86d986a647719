//! Equilibria against published figures, and the laws that every equilibrium obeys.
//!
//! Source: beside each check. Where a published figure was read from another table of Gibbs energies the tolerance is the
//! spread of the tables, said there.

#![allow(clippy::unwrap_used)]

mod records;

use engine::equilibrium::{Equilibrium, Hold, Phase, Problem, Solver, Status};
use records::Record;
use std::sync::LazyLock;

static ALL: LazyLock<Vec<Record>> = LazyLock::new(records::all);
const ATMOSPHERE: f64 = 101_325.0;
const ROOM: f64 = 298.15;

/// Elements of lots, each once.
fn elements<'a>(lots: &[(&str, f64)]) -> Vec<&'a str> {
    let mut list: Vec<&'a str> = Vec::new();
    for (name, _) in lots {
        for element in record(name).atoms.keys() {
            if !list.contains(&element.as_str()) {
                list.push(element.as_str());
            }
        }
    }
    list
}

fn record(name: &str) -> &'static Record {
    ALL.iter().find(|r| r.name == name).unwrap_or_else(|| panic!("{name} is in the table"))
}

/// Enthalpy of lots at a temperature, J.
fn enthalpy(lots: &[(&str, f64)], temperature: f64) -> f64 {
    lots.iter().map(|(name, amount)| amount * record(name).fit.enthalpy(temperature)).sum()
}

fn solve(lots: &[(&str, f64)], hold: Hold) -> (Vec<Record>, Equilibrium) {
    let elements = elements(lots);
    let (chosen, system) = records::system(&ALL, &elements);
    let amounts = records::amounts(&ALL, &elements, lots);
    let answer = Solver::new(system).solve(&Problem { elements: &amounts, hold });
    assert_eq!(answer.status, Status::Solved, "{lots:?} {hold:?} {:?}", answer.residuals);
    assert!(answer.residuals.elements < 1e-10);
    (chosen, answer)
}

fn amount(state: &(Vec<Record>, Equilibrium), name: &str) -> f64 {
    let place = state.0.iter().position(|r| r.name == name).unwrap_or_else(|| panic!("{name} takes part"));
    state.1.amounts[place]
}

fn fraction(state: &(Vec<Record>, Equilibrium), name: &str) -> f64 {
    amount(state, name) / state.1.gas
}

/// Temperature at which a solid is half decomposed in the gas it gives off at 1 atm.
fn decomposition(lots: &[(&str, f64)], heat: f64) -> f64 {
    let (_, answer) = solve(lots, Hold::EnthalpyPressure(enthalpy(lots, ROOM) + heat, ATMOSPHERE));
    assert!(answer.plateau, "temperature stands still while it decomposes");
    answer.temperature
}

#[test]
fn carbonates_and_hydroxides_decompose_where_an_independent_minimiser_says() {
    // Check values made by an independent minimiser from the same coefficients, printed to 1 K: half a unit, and the spread of
    // the sources beside it (calcite 1156-1172 K: Smyth and Adams 1923; Hill and Winter 1956).
    for (solid, expected, heat) in [
        ("CaCO3(s)", 1160.0, 200e3),
        ("Ca(OH)2(s)", 791.0, 110e3),
        ("MgCO3(s)", 578.0, 80e3),
        ("Mg(OH)2(s)", 537.0, 70e3),
    ] {
        let found = decomposition(&[(solid, 1.0)], heat);
        assert!((found - expected).abs() < 0.5, "{solid} {found}");
    }
}

#[test]
fn iron_oxide_and_aluminium_reach_the_temperature_of_an_independent_minimiser() {
    // Safety information. Same coefficients, independent minimiser: 3135.3 K and 1.10 mmol of gas per gram. Published: 3135 K
    // and 1.4 mmol/g (S. H. Fischer, M. C. Grubelich, Sandia report SAND98-1176C, 1998, other enthalpies of the melts).
    let lots = [("Fe2O3(s)", 1.0), ("Al(s)", 2.0)];
    let state = solve(&lots, Hold::EnthalpyPressure(enthalpy(&lots, ROOM), ATMOSPHERE));
    let mass: f64 = lots.iter().map(|(name, amount)| amount * record(name).molar_mass).sum();
    assert!((state.1.temperature - 3135.3).abs() < 0.05 + 1.0, "{}", state.1.temperature);
    assert!((state.1.gas / mass - 1.10).abs() < 0.01 + 0.02, "{}", state.1.gas / mass);
}

#[test]
fn flames_have_their_published_temperatures() {
    // S. R. Turns, An Introduction to Combustion, table B.1, and equilibrium figures (from memory): 2226, 2380, 2383, 2267,
    // 3077 K; tolerances as stated with the case.
    for (fuel, carbon, oxygen, nitrogen, expected, tolerance) in [
        ("CH4(g)", 1.0, 2.0, 3.76, 2224.6, 6.0),
        ("H2(g)", 1.0, 0.5, 3.76, 2379.9, 6.0),
        ("CO(g)", 1.0, 0.5, 3.76, 2383.3, 6.0),
        ("C3H8(g)", 1.0, 5.0, 3.76, 2265.7, 6.0),
        ("H2(g)", 1.0, 0.5, 0.0, 3076.9, 10.0),
    ] {
        let mut lots = vec![(fuel, carbon), ("O2(g)", oxygen)];
        if nitrogen > 0.0 {
            lots.push(("N2(g)", nitrogen * oxygen));
        }
        let state = solve(&lots, Hold::EnthalpyPressure(enthalpy(&lots, ROOM), ATMOSPHERE));
        assert!((state.1.temperature - expected).abs() < tolerance, "{fuel} {}", state.1.temperature);
        if fuel == "CH4(g)" {
            // The case used 39.35 kJ/mol for OH at 25 °C; the records have 37.28 (B. Ruscic and others, J. Phys. Chem. A 106
            // (2002) 2727, from memory). Its share is brought to the enthalpy used here; its effect on the others is below 1 %.
            let hydroxyl = 0.0028627 * ((39_350.0 - record("OH(g)").fit.enthalpy(ROOM)) / (8.3145 * 2224.6)).exp();
            for (gas, share) in [
                ("CO2(g)", 0.0854015),
                ("CO(g)", 0.0089535),
                ("H2O(g)", 0.1834928),
                ("H2(g)", 0.0035916),
                ("O2(g)", 0.0046055),
                ("NO(g)", 0.0018810),
                ("OH(g)", hydroxyl),
            ] {
                let found = fraction(&state, gas);
                assert!((found / share - 1.0).abs() < 0.04, "{gas} {found}");
            }
        }
    }
}

#[test]
fn carbon_dioxide_over_graphite_gives_the_published_shares_of_monoxide() {
    // JANAF 4th ed. (from memory) and polynomials of McBride; tolerance as stated with the case.
    for (celsius, expected) in
        [(500.0, 0.0617), (600.0, 0.2550), (700.0, 0.6158), (800.0, 0.8878), (900.0, 0.9733), (1000.0, 0.9928)]
    {
        let lots = [("C(s,graphite)", 2.0), ("CO2(g)", 1.0)];
        let state = solve(&lots, Hold::TemperaturePressure(celsius + 273.15, ATMOSPHERE));
        let found = fraction(&state, "CO(g)");
        assert!((found - expected).abs() < 0.012, "{celsius} {found}");
    }
}

#[test]
fn calcite_has_its_published_pressure_in_a_closed_vessel() {
    // Two published curves, J. Smyth, L. H. Adams 1923 with the older polynomials (the case's own figures; 12 % is 1 kJ/mol
    // at 1000 K, the tolerance stated there), and transpiration, J. Chem. Eng. Data 55 (2010) 3779: log10(p/Pa) = 12.91 − 9074/T.
    // They lie 20 % apart at 600 °C; the figures here must lie between them within that tolerance.
    for (celsius, bar) in [(600.0, 0.0027389), (700.0, 0.0311498), (800.0, 0.2212861), (900.0, 1.1061772)] {
        let kelvin = celsius + 273.15;
        let state = solve(&[("CaCO3(s)", 1.0)], Hold::TemperatureVolume(kelvin, 1e-4));
        assert!(amount(&state, "CaCO3(s)") > 0.5, "both solids are there");
        let transpired = 10f64.powf(12.91 - 9074.0 / kelvin) * 1e-5;
        let found = state.1.pressure * 1e-5;
        let (low, high) = (f64::min(bar, transpired), f64::max(bar, transpired));
        assert!(found > 0.88 * low && found < 1.12 * high, "{celsius} {found} {bar} {transpired}");
    }
}

#[test]
fn every_mixture_of_carbon_hydrogen_and_oxygen_at_923_k_is_solved() {
    // All mixtures of whole hundredths, with graphite, at 923 K and 1 atm: a sweep on which published solvers are reported to
    // fail here and there. The 4950 with hydrogen and oxygen present are among them.
    let elements = ["C", "H", "O"];
    let (_, system) = records::system(&ALL, &elements);
    let mut solver = Solver::new(system);
    let mut solved = 0;
    for carbon in 0..=100 {
        for hydrogen in 0..=100 - carbon {
            let amounts = [f64::from(carbon), f64::from(hydrogen), f64::from(100 - carbon - hydrogen)];
            let hold = Hold::TemperaturePressure(923.0, ATMOSPHERE);
            let answer = solver.solve(&Problem { elements: &amounts, hold });
            assert_eq!(answer.status, Status::Solved, "{amounts:?} {:?}", answer.residuals);
            assert!(answer.residuals.elements < 1e-10 && answer.residuals.stability < 1e-8);
            solved += 1;
        }
    }
    assert_eq!(solved, 5151);
}

#[test]
fn two_forms_share_the_heat_on_a_plateau() {
    // The point of melting or boiling is that of the records: iron 1809 K, copper 1358 K, alumina 2327 K, water 373.1 K at 1 atm
    // by IAPWS (the fits for liquid and vapour of water come from different tables and meet 0.4 K higher).
    for (solid, liquid, expected, low) in [
        ("Fe(s,δ)", "Fe(l)", 1809.0, 1800.0),
        ("Cu(s)", "Cu(l)", 1358.0, 1350.0),
        ("Al2O3(s,α)", "Al2O3(l)", 2327.0, 2320.0),
        ("H2O(l)", "H2O(g)", 373.15, 370.0),
    ] {
        for share in [0.01, 0.5, 0.99] {
            let (below, above) = (record(solid).fit.enthalpy(expected), record(liquid).fit.enthalpy(expected));
            let state = solve(&[(solid, 1.0)], Hold::EnthalpyPressure(below + share * (above - below), ATMOSPHERE));
            assert!(state.1.plateau, "{solid} {share} {}", state.1.temperature);
            assert!(
                (state.1.temperature - expected).abs() < 0.5 && state.1.temperature > low,
                "{}",
                state.1.temperature
            );
            assert!((amount(&state, liquid) - share).abs() < 0.01, "{solid} {share} {}", amount(&state, liquid));
        }
    }
}

#[test]
fn metal_and_oxide_mixtures_reach_the_boiling_point_of_the_metal() {
    // Safety information: Fischer and Grubelich 1998 (from memory; the tolerances are those stated with the case).
    for (oxide, count, aluminium, expected, tolerance) in [
        ("Fe3O4(s,magnetite)", 3.0, 8.0, 3135.0, 20.0),
        ("CuO(s)", 3.0, 2.0, 2844.0, 25.0),
        ("Cu2O(s)", 3.0, 2.0, 2844.0, 25.0),
    ] {
        let name = ALL.iter().find(|r| r.name == oxide || r.name == oxide.replace(",magnetite", "")).unwrap();
        let lots = [(name.name.as_str(), count), ("Al(s)", aluminium)];
        let state = solve(&lots, Hold::EnthalpyPressure(enthalpy(&lots, ROOM), ATMOSPHERE));
        assert!((state.1.temperature - expected).abs() < tolerance, "{oxide} {}", state.1.temperature);
    }
}

#[test]
fn traces_keep_their_figures() {
    // Water vapour dissociates by ln K of its own record, however little that is.
    for temperature in [1000.0, 600.0, 400.0] {
        let state = solve(&[("H2O(g)", 1.0)], Hold::TemperaturePressure(temperature, 1e4));
        let gibbs = |name: &str| record(name).fit.gibbs_over_rt(temperature);
        let constant = (gibbs("H2O(g)") - gibbs("H2(g)") - 0.5 * gibbs("O2(g)")).exp();
        let found = fraction(&state, "H2(g)") * (0.1 * fraction(&state, "O2(g)")).sqrt() / fraction(&state, "H2O(g)");
        assert!((found / constant - 1.0).abs() < 1e-9, "{found} {constant}");
    }
    // What is no water balances in itself: as much hydrogen as twice the oxygen, 1e-15 of the whole.
    let cold = solve(&[("H2O(g)", 1.0)], Hold::TemperaturePressure(400.0, 1e4));
    let (mut sum, mut size) = (0.0, 0.0);
    for (r, n) in cold.0.iter().zip(&cold.1.amounts) {
        let count = |element: &str| r.atoms.get(element).copied().unwrap_or(0.0);
        let excess = (count("H") - 2.0 * count("O")) * n;
        sum += excess;
        size += excess.abs();
    }
    assert!(size < 1e-15 && sum.abs() < 1e-9 * size, "{sum} {size}");
}

/// G/RT of amounts, at pressure.
fn gibbs(chosen: &[Record], amounts: &[f64], temperature: f64, pressure: f64) -> f64 {
    let gas: f64 = chosen.iter().zip(amounts).filter(|(r, _)| r.phase == Phase::Gas).map(|(_, n)| n).sum();
    chosen
        .iter()
        .zip(amounts)
        .filter(|(_, n)| **n > 0.0)
        .map(|(r, n)| {
            let mixing = if r.phase == Phase::Gas { (n / gas * pressure / 1e5).ln() } else { 0.0 };
            n * (r.fit.gibbs_over_rt(temperature) + mixing)
        })
        .sum()
}

#[test]
fn the_minimum_is_a_minimum() {
    // Any other amounts of the same elements have more Gibbs energy: reactions among four candidates at a time, forth and back.
    let lots = [("CaCO3(s)", 1.0), ("C(s,graphite)", 0.7), ("H2O(g)", 0.4)];
    for temperature in [700.0, 1000.0, 1400.0] {
        let (chosen, answer) = solve(&lots, Hold::TemperaturePressure(temperature, ATMOSPHERE));
        let least = gibbs(&chosen, &answer.amounts, temperature, ATMOSPHERE);
        let reactions: [&[(&str, f64)]; 6] = [
            &[("CaCO3(s)", -1.0), ("CaO(s)", 1.0), ("CO2(g)", 1.0)],
            &[("C(s,graphite)", -1.0), ("CO2(g)", -1.0), ("CO(g)", 2.0)],
            &[("H2O(g)", -1.0), ("CO(g)", -1.0), ("CO2(g)", 1.0), ("H2(g)", 1.0)],
            &[("CO(g)", -1.0), ("H2(g)", -3.0), ("CH4(g)", 1.0), ("H2O(g)", 1.0)],
            &[("CaO(s)", -1.0), ("H2O(g)", -1.0), ("Ca(OH)2(s)", 1.0)],
            &[("CaCO3(s)", -1.0), ("C(s,graphite)", -1.0), ("CaO(s)", 1.0), ("CO(g)", 2.0)],
        ];
        let mut judged = 0;
        for reaction in reactions {
            for extent in [1e-3, -1e-3, 0.05, -0.05] {
                let mut amounts = answer.amounts.clone();
                for (name, coefficient) in reaction {
                    let place = chosen.iter().position(|r| r.name == *name).unwrap();
                    amounts[place] += coefficient * extent;
                }
                if amounts.iter().all(|n| *n >= 0.0) {
                    judged += 1;
                    let other = gibbs(&chosen, &amounts, temperature, ATMOSPHERE);
                    assert!(other > least, "{temperature} {reaction:?} {extent}: {other} {least}");
                }
            }
        }
        assert!(judged >= 6, "{judged}");
    }
}

#[test]
fn ten_times_the_matter_is_ten_times_the_answer() {
    for factor in [1e-9, 10.0, 1e6] {
        for temperature in [600.0, 1200.0, 2500.0] {
            let one = [("Fe2O3(s)", 1.0), ("C(s,graphite)", 2.0), ("N2(g)", 1.0)];
            let many = one.map(|(name, n)| (name, n * factor));
            let (_, a) = solve(&one, Hold::TemperaturePressure(temperature, 1e5));
            let (_, b) = solve(&many, Hold::TemperaturePressure(temperature, 1e5));
            for (x, y) in a.amounts.iter().zip(&b.amounts) {
                assert!((x * factor - y).abs() <= 1e-9 * factor * x.max(1e-12), "{x} {y}");
            }
        }
    }
}

#[test]
fn the_four_pairs_of_conditions_agree() {
    // What is found at temperature and pressure is found again from its volume, its enthalpy or its internal energy.
    let lots = [("CaCO3(s)", 1.0), ("N2(g)", 0.5), ("C(s,graphite)", 0.3)];
    for temperature in [800.0, 1100.0, 1500.0] {
        let (_, first) = solve(&lots, Hold::TemperaturePressure(temperature, 2e5));
        let (_, by_heat) = solve(&lots, Hold::EnthalpyPressure(first.energy, 2e5));
        let (_, by_volume) = solve(&lots, Hold::TemperatureVolume(temperature, first.volume));
        let (_, by_energy) = solve(&lots, Hold::EnergyVolume(by_volume.energy, first.volume));
        for other in [&by_heat, &by_volume, &by_energy] {
            assert!((other.temperature - temperature).abs() < 1e-5, "{}", other.temperature);
            assert!((other.pressure / 2e5 - 1.0).abs() < 1e-7);
            for (x, y) in first.amounts.iter().zip(&other.amounts) {
                assert!((x - y).abs() < 1e-6 * x.max(1e-9), "{x} {y}");
            }
        }
    }
}

#[test]
fn a_sweep_gives_what_single_questions_give() {
    let lots = [("FeSO4(s)", 1.0), ("O2(g)", 0.5), ("N2(g)", 2.0)];
    let elements = elements(&lots);
    let (_, system) = records::system(&ALL, &elements);
    let amounts = records::amounts(&ALL, &elements, &lots);
    let mut sweep = Solver::new(system.clone());
    for step in 0..120 {
        let hold = Hold::TemperaturePressure(300.0 + 11.0 * f64::from(step), ATMOSPHERE);
        let problem = Problem { elements: &amounts, hold };
        let followed = sweep.follow(&problem);
        let alone = Solver::new(system.clone()).solve(&problem);
        assert_eq!((followed.status, alone.status), (Status::Solved, Status::Solved), "{hold:?}");
        for (x, y) in followed.amounts.iter().zip(&alone.amounts) {
            assert!((x - y).abs() < 1e-9 * x.max(1e-6), "{hold:?} {x} {y}");
        }
    }
}

#[test]
fn questions_without_an_answer_get_none() {
    let (_, system) = records::system(&ALL, &["Ca", "C", "O"]);
    let mut solver = Solver::new(system);
    let mut ask = |elements: &[f64], hold: Hold| solver.solve(&Problem { elements, hold }).status;
    let hold = Hold::TemperaturePressure(1000.0, 1e5);
    assert_eq!(ask(&[1.0, 1.0], hold), Status::BadQuestion);
    assert_eq!(ask(&[0.0, 0.0, 0.0], hold), Status::BadQuestion);
    assert_eq!(ask(&[1.0, f64::NAN, 1.0], hold), Status::BadQuestion);
    assert_eq!(ask(&[1.0, -1.0, 1.0], hold), Status::BadQuestion);
    assert_eq!(ask(&[1.0, 1.0, 1.0], Hold::TemperaturePressure(1000.0, 0.0)), Status::BadQuestion);
    assert_eq!(ask(&[1.0, 1.0, 3.0], Hold::EnthalpyPressure(1e9, 1e5)), Status::OutOfRange);
    // Only calcite and lime: no oxygen can leave.
    let (chosen, _) = records::system(&ALL, &["Ca", "C", "O"]);
    let few: Vec<Record> = chosen.into_iter().filter(|r| ["CaCO3(s)", "CaO(s)"].contains(&r.name.as_str())).collect();
    let (_, system) = records::system(&few, &["Ca", "C", "O"]);
    let answer = Solver::new(system).solve(&Problem { elements: &[1.0, 2.0, 3.0], hold });
    assert_eq!(answer.status, Status::Unreachable);
}

#[test]
fn a_short_list_of_candidates_is_enough() {
    // Three candidates over three elements conserve two things.
    let few: Vec<Record> =
        ALL.iter().filter(|r| ["CaCO3(s)", "CaO(s)", "CO2(g)"].contains(&r.name.as_str())).cloned().collect();
    let (chosen, system) = records::system(&few, &["Ca", "C", "O"]);
    for (temperature, solid) in [(1100.0, "CaCO3(s)"), (1200.0, "CaO(s)")] {
        let hold = Hold::TemperaturePressure(temperature, ATMOSPHERE);
        let answer = Solver::new(system.clone()).solve(&Problem { elements: &[1.0, 1.0, 3.0], hold });
        assert_eq!(answer.status, Status::Solved);
        let place = chosen.iter().position(|r| r.name == solid).unwrap();
        assert!((answer.amounts[place] - 1.0).abs() < 1e-12);
    }
}
