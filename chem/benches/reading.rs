//! How long do formulas, equations and quantities take?
#![allow(clippy::unwrap_used)]

use chem::{Balance, Equation, Formula, Quantity};
use divan::black_box;

/// The longest balanced equation of the worked examples.
const HEXACYANOFERRATE: &str = "K4[Fe(CN)6] + KMnO4 + H2SO4 -> KHSO4 + Fe2(SO4)3 + MnSO4 + HNO3 + CO2 + H2O";

/// The largest coefficients in print, 1399 among them; balanced in under a millisecond.
const UREA_COMPLEX: &str = "[Cr(N2H4CO)6]4[Cr(CN)6]3 + KMnO4 + H2SO4 -> K2Cr2O7 + MnSO4 + CO2 + KNO3 + K2SO4 + H2O";

fn main() {
    divan::main();
}

#[divan::bench(args = ["CuSO4·5H2O", "K4[Fe(CN)6]·3H2O", "[Co(NH3)6]2(SO4)3·5H2O", "Fe0.947O"])]
fn formula(text: &str) -> Formula {
    Formula::parse(black_box(text)).unwrap()
}

#[divan::bench(args = ["CuSO4·5H2O"])]
fn molar_mass(bencher: divan::Bencher, text: &str) {
    let formula = Formula::parse(text).unwrap();
    bencher.bench_local(|| black_box(&formula).molar_mass());
}

#[divan::bench(args = [HEXACYANOFERRATE])]
fn equation(text: &str) -> Equation {
    Equation::parse(black_box(text)).unwrap()
}

#[divan::bench(args = [HEXACYANOFERRATE, UREA_COMPLEX])]
fn balanced(bencher: divan::Bencher, text: &str) {
    let equation = Equation::parse(text).unwrap();
    assert!(matches!(equation.balance(), Balance::One(_)));
    bencher.bench_local(|| black_box(&equation).balance());
}

#[divan::bench(args = ["126 g", "63 ± 10 g", ">= 98 %", "0 ± 0.02 %", "100 mL"])]
fn quantity(text: &str) -> Quantity {
    Quantity::parse(black_box(text)).unwrap()
}
