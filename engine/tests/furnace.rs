//! Beds that are heated, against closed solutions and the laws of solid-state kinetics.
//!
//! Source: beside each check; tolerances of published cases are those stated with them.

#![allow(clippy::unwrap_used)]

use engine::furnace::{Bed, Furnace, Heating, Law, Shape, follow};
use statrs::function::erf::erf;

const NEVER: Law = Law::AtTemperature(1e6);

/// A bed without reaction: conductivity and diffusivity.
fn inert(shape: Shape, depth: f64, conductivity: f64, diffusivity: f64, start: f64) -> Bed {
    let capacity = 1000.0;
    Bed {
        shape,
        depth,
        conductivity,
        density: conductivity / (diffusivity * capacity),
        heat_capacity: [capacity; 2],
        heat: 0.0,
        law: NEVER,
        start,
    }
}

fn bath(temperature: f64, transfer: f64) -> Furnace {
    Furnace { temperature, transfer, emissivity: 0.0 }
}

#[test]
fn middles_of_plate_cylinder_and_sphere_follow_the_series() {
    // H. S. Carslaw, J. C. Jaeger, Conduction of Heat in Solids, 1959: full series; tolerance 0.0005.
    for (shape, biot, half, whole) in [
        (Shape::Slab, 0.1, 0.967980746, 0.9223885716),
        (Shape::Slab, 1.0, 0.7725263834, 0.5338594014),
        (Shape::Slab, 10.0, 0.4546405556, 0.1638176417),
        (Shape::Cylinder, 0.1, 0.9293402896, 0.8429895947),
        (Shape::Cylinder, 1.0, 0.5485862039, 0.2493797135),
        (Shape::Cylinder, 10.0, 0.1458000594, 0.01356040618),
        (Shape::Sphere, 0.1, 0.8889859889, 0.7674314047),
        (Shape::Sphere, 1.0, 0.3707774298, 0.1079770444),
        (Shape::Sphere, 10.0, 0.03447828779, 0.0006175679729),
    ] {
        let bed = inert(shape, 1.0, 1.0, 1.0, 300.0);
        let mut heating = Heating::new(bed, bath(400.0, biot), 80).unwrap();
        for (steps, expected) in [(2000, half), (2000, whole)] {
            for _ in 0..steps {
                assert!(heating.step(0.5 / 2000.0));
            }
            let found = (400.0 - heating.middle()) / 100.0;
            assert!((found - expected).abs() < 0.0005, "{shape:?} {biot} {found} {expected}");
        }
    }
}

/// First eigenvalue and coefficient of the series, from how the middle of a bed of unit depth and diffusivity cools when only
/// the first term is left: θ = C₁ exp(−λ₁² Fo). Two grids are carried to endless cells and steps (first order in the
/// steps, which shrink with the square of the cells).
fn first_term(shape: Shape, biot: f64) -> (f64, f64) {
    let on = |cells: usize, step: f64| {
        let mut heating = Heating::new(inert(shape, 1.0, 1.0, 1.0, 300.0), bath(400.0, biot), cells).unwrap();
        let mut theta = |until: f64| {
            while heating.time < until - 0.5 * step {
                assert!(heating.step(step));
            }
            (400.0 - heating.middle()) / 100.0
        };
        let (early, late) = (theta(0.8), theta(1.2));
        let square = (early / late).ln() / 0.4;
        (square.sqrt(), late * (1.2 * square).exp())
    };
    let (coarse, fine) = (on(40, 4e-4), on(80, 1e-4));
    let endless = |coarse: f64, fine: f64| fine + (fine - coarse) / 3.0;
    (endless(coarse.0, fine.0), endless(coarse.1, fine.1))
}

#[test]
fn the_first_term_is_the_one_that_is_printed() {
    // Incropera, DeWitt, Fundamentals of Heat and Mass Transfer, table 5.1, and Cengel, Heat Transfer, table 4-2 (from memory), at
    // Bi = 1, to 0.0001; and the sphere of Cengel's example 4-3, Bi = 1200 · 0.025 / 0.627 = 47.85, to 0.0005.
    for (shape, biot, eigenvalue, coefficient, tolerance) in [
        (Shape::Slab, 1.0, 0.8603, 1.1191, 1e-4),
        (Shape::Cylinder, 1.0, 1.2558, 1.2071, 1e-4),
        (Shape::Sphere, 1.0, std::f64::consts::FRAC_PI_2, 1.2732, 1e-4),
        (Shape::Sphere, 1200.0 * 0.025 / 0.627, 3.076_025_521, 1.995_881_564, 5e-4),
    ] {
        let (found, factor) = first_term(shape, biot);
        assert!((found - eigenvalue).abs() < tolerance, "{shape:?} {biot} {found} {eigenvalue}");
        assert!((factor - coefficient).abs() < tolerance, "{shape:?} {biot} {factor} {coefficient}");
    }
}

#[test]
fn a_small_junction_follows_as_one_lump() {
    // Y. A. Cengel, Heat Transfer, example 4-1 (read from a public solution): a thermocouple's junction of 1 mm, Bi (by volume over
    // area) 0.001, exponent 0.463 1/s, 99 % of a step after 9.94 s, printed 10 s.
    let (radius, conductivity, density, capacity, transfer) = (0.5e-3, 35.0, 8500.0, 320.0, 210.0);
    let bed = Bed { density, heat_capacity: [capacity; 2], ..inert(Shape::Sphere, radius, conductivity, 1.0, 300.0) };
    let mut heating = Heating::new(bed, bath(400.0, transfer), 20).unwrap();
    let step = 1e-3;
    let mut at = |share: f64| {
        let mut before = heating.middle();
        while heating.middle() < 300.0 + 100.0 * share {
            before = heating.middle();
            assert!(heating.step(step));
        }
        let over = (heating.middle() - 300.0 - 100.0 * share) / (heating.middle() - before);
        heating.time - step * over
    };
    let (half, all) = (at(0.5), at(0.99));
    assert!((all - 9.941_319_767).abs() < 0.02, "{all}");
    let exponent = 50f64.ln() / (all - half);
    assert!((exponent - 0.463_235_294_1).abs() < 5e-4, "{exponent}");
}

#[test]
fn a_sphere_in_boiling_water_takes_its_published_time() {
    // Y. A. Cengel, Heat Transfer, example 4-3 and problem 4-37 (from memory); the values are one-term solutions.
    for (diameter, conductivity, diffusivity, start, water, transfer, expected, tolerance) in [
        (0.05, 0.627, 0.151e-6, 5.0, 95.0, 1200.0, 862.65, 5.0),
        (0.055, 0.6, 0.14e-6, 8.0, 97.0, 1400.0, 1064.47, 6.0),
    ] {
        let bed = inert(Shape::Sphere, 0.5 * diameter, conductivity, diffusivity, start + 273.15);
        let mut heating = Heating::new(bed, bath(water + 273.15, transfer), 100).unwrap();
        while heating.middle() < 70.0 + 273.15 {
            heating.step(0.5);
        }
        assert!((heating.time - expected).abs() < tolerance, "{}", heating.time);
    }
}

#[test]
fn frost_reaches_as_deep_as_the_semi_infinite_solid_says() {
    // Y. A. Cengel, Heat Transfer, minimum burial depth of water pipes (from memory: 0.80 m by the error function, 0.77 m where
    // it was read from a chart): 0.801 m ± 0.003 m. Four metres are as good as endless for 90 days.
    let bed = inert(Shape::Slab, 4.0, 1.0, 0.15e-6, 288.15);
    let mut heating = Heating::new(bed, bath(263.15, 1e9), 400).unwrap();
    for _ in 0..2000 {
        heating.step(90.0 * 86_400.0 / 2000.0);
    }
    let place = heating.temperature.iter().rposition(|t| *t >= 273.15).unwrap();
    let (warm, cold) = (heating.temperature[place], heating.temperature[place + 1]);
    let depth = 4.0 - 0.01 * (place as f64 + 0.5 + (warm - 273.15) / (warm - cold));
    assert!((depth - 0.801).abs() < 0.003, "{depth}");
}

#[test]
fn a_front_moves_as_neumann_says() {
    // One-phase problem of Stefan and Neumann (Carslaw, Jaeger, chapter XI): s = 2 λ √(κ t), λ exp(λ²) erf λ = Ste/√π.
    for stefan in [0.1, 0.5, 1.0, 2.0] {
        let equation = |l: f64| l * (l * l).exp() * erf(l) - stefan / std::f64::consts::PI.sqrt();
        let (mut low, mut high) = (1e-6, 3.0);
        for _ in 0..80 {
            let middle = 0.5 * (low + high);
            if equation(middle) < 0.0 { low = middle } else { high = middle }
        }
        let bed = Bed {
            heat: 1000.0 * 100.0 / stefan,
            law: Law::AtTemperature(400.0),
            ..inert(Shape::Slab, 1.0, 1.0, 1.0, 400.0)
        };
        let mut heating = Heating::new(bed, bath(500.0, 1e9), 100).unwrap();
        let end = (0.5 / (2.0 * low)).powi(2);
        for _ in 0..2000 {
            assert!(heating.step(end / 2000.0), "{stefan} {}", heating.time);
        }
        let front = 1.0 - heating.unreacted();
        assert!((front - 0.5).abs() < 0.005, "{stefan} {front}");
        assert!(heating.fraction.iter().all(|a| (0.0..=1.0).contains(a)));
    }
}

/// Calcite as a powder: kg of bed, J/(kg·K), J/kg.
fn lime(depth: f64, law: Law) -> Bed {
    Bed {
        shape: Shape::Slab,
        depth,
        density: 1000.0,
        conductivity: 0.25,
        heat_capacity: [1200.0, 560.0],
        heat: 1.65e6,
        law,
        start: 298.15,
    }
}

#[test]
fn finer_cells_and_steps_say_the_same() {
    let furnace = Furnace { temperature: 1273.15, transfer: 10.0, emissivity: 0.8 };
    for law in [
        Law::AtTemperature(1160.0),
        Law::FirstOrder(1e7, 190e3),
        Law::Contracting(1e7, 190e3, 3.0),
        Law::Nucleation(1e7, 190e3, 2.0),
        Law::Diffusion(1e6, 190e3),
    ] {
        let time = |cells: usize, step: f64| {
            follow(lime(0.02, law), furnace, (step, 1e6), 0.01, cells).unwrap().last().unwrap().time
        };
        let (coarse, fine) = (time(40, 10.0), time(80, 5.0));
        assert!((coarse / fine - 1.0).abs() < 0.02, "{law:?} {coarse} {fine}");
    }
}

#[test]
fn heat_that_goes_in_is_heat_that_is_there() {
    // Energy: what the cells hold and what the reaction took equals what came through the surface.
    let furnace = bath(1300.0, 1e9);
    let bed = lime(0.01, Law::AtTemperature(1160.0));
    let bed = Bed { heat_capacity: [1000.0; 2], ..bed };
    let mut heating = Heating::new(bed, furnace, 40).unwrap();
    let inner = bed.conductivity / (0.5 * bed.depth / 40.0);
    let conductance = inner * 1e9 / (inner + 1e9);
    let mut came = 0.0;
    for _ in 0..2000 {
        assert!(heating.step(2.0));
        came += 2.0 * conductance * (1300.0 - heating.temperature.last().unwrap());
    }
    let cell = bed.depth / 40.0 * bed.density;
    let there: f64 = heating
        .temperature
        .iter()
        .zip(&heating.fraction)
        .map(|(t, a)| cell * (1000.0 * (t - bed.start) + bed.heat * a))
        .sum();
    assert!((there / came - 1.0).abs() < 1e-6, "{there} {came}");
}

#[test]
fn half_the_depth_is_done_in_a_quarter_of_the_time() {
    // Where a front is fed by conduction alone, time goes with the square of the depth.
    let furnace = bath(1300.0, 1e9);
    let time = |depth: f64| {
        let moments = follow(lime(depth, Law::AtTemperature(1160.0)), furnace, (depth * depth * 5e3, 1e6), 0.01, 60);
        moments.unwrap().last().unwrap().time
    };
    let ratio = time(0.02) / time(0.01);
    assert!((ratio - 4.0).abs() < 0.05, "{ratio}");
}

#[test]
fn laws_of_solid_state_kinetics_have_their_published_ratios() {
    // t(0.9)/t(0.5) at constant temperature: F1 3.322, R2 2.335, R3 2.598, A2 1.823, D3 6.748 in tables of reduced time (J. H. Sharp,
    // G. W. Brindley, B. N. N. Achar, J. Am. Ceram. Soc. 49 (1966) 379, from memory); the closed forms to 0.001.
    for (law, expected) in [
        (Law::FirstOrder(1.0, 0.0), std::f64::consts::LOG2_10),
        (Law::Contracting(1.0, 0.0, 2.0), 2.334545),
        (Law::Contracting(1.0, 0.0, 3.0), 2.597394),
        (Law::Nucleation(1.0, 0.0, 2.0), 1.822_616),
        (Law::Diffusion(1.0, 0.0), 6.746_458),
    ] {
        let time = |fraction: f64| {
            let (mut low, mut high) = (0.0, 10.0);
            for _ in 0..100 {
                let middle = 0.5 * (low + high);
                if law.after(0.0, middle) < fraction { low = middle } else { high = middle }
            }
            low
        };
        assert!((time(0.9) / time(0.5) - expected).abs() < 1e-3, "{law:?}");
    }
}

#[test]
fn a_thin_bed_heated_evenly_has_kissingers_peak() {
    // H. E. Kissinger, Anal. Chem. 29 (1957) 1702: β E/(R Tp²) = A exp(−E/RTp); E = 150 kJ/mol, A = 1e12 1/s; 547.893, 558.980 and
    // 570.510 K at 5, 10 and 20 K/min, ± 0.05 K. The rate of the law itself, integrated.
    let law = Law::FirstOrder(1e12, 150e3);
    let mut peaks = Vec::new();
    for (per_minute, expected) in [(5.0, 547.8930), (10.0, 558.9797), (20.0, 570.5104)] {
        let (step, rate) = (0.02, per_minute / 60.0);
        let (mut fraction, mut kelvin, mut best) = (0.0, 450.0, (0.0, 0.0));
        while kelvin < 640.0 {
            let next = law.after(fraction, law.constant(kelvin + 0.5 * rate * step).unwrap() * step);
            if next - fraction > best.0 {
                best = (next - fraction, kelvin + 0.5 * rate * step);
            }
            (fraction, kelvin) = (next, kelvin + rate * step);
        }
        assert!((best.1 - expected).abs() < 0.05, "{per_minute} {}", best.1);
        peaks.push((1.0 / best.1, (per_minute / (best.1 * best.1)).ln()));
    }
    // Energy from the slope of ln(β/Tp²) over 1/Tp, as Kissinger reads it: 150 kJ/mol. A peak is found to half a step, 0.01 K of a
    // span of 22.6 K, worth 0.07 kJ/mol.
    let mean = |of: fn(&(f64, f64)) -> f64| peaks.iter().map(of).sum::<f64>() / 3.0;
    let (x, y) = (mean(|p| p.0), mean(|p| p.1));
    let slope = peaks.iter().map(|p| (p.0 - x) * (p.1 - y)).sum::<f64>()
        / peaks.iter().map(|p| (p.0 - x) * (p.0 - x)).sum::<f64>();
    assert!((-slope * 8.314_462_618e-3 - 150.0).abs() < 0.05, "{}", -slope * 8.314_462_618e-3);
}

#[test]
fn what_is_no_bed_is_refused() {
    let bed = lime(0.01, NEVER);
    let furnace = bath(1000.0, 10.0);
    assert!(Heating::new(Bed { depth: 0.0, ..bed }, furnace, 10).is_err());
    assert!(Heating::new(Bed { conductivity: f64::NAN, ..bed }, furnace, 10).is_err());
    assert!(Heating::new(bed, furnace, 0).is_err());
    assert!(follow(bed, furnace, (0.0, 10.0), 0.01, 10).is_err());
}
