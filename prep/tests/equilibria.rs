//! Equilibria and heated lots as questions in text.
//!
//! Source: beside each check.

use prep::ask::{EquilibriumOptions, IgniteOptions, equilibrium, ignite};
use prep::outcome::{EquilibriumAnswer, Finding, IgniteAnswer};

fn state(lots: &[&str], options: &EquilibriumOptions<'_>) -> EquilibriumAnswer {
    let lots: Vec<String> = lots.iter().map(|text| (*text).to_owned()).collect();
    equilibrium(&lots, options).expect("an answer")
}

fn refused(lots: &[&str], options: &EquilibriumOptions<'_>) -> Vec<Finding> {
    let lots: Vec<String> = lots.iter().map(|text| (*text).to_owned()).collect();
    equilibrium(&lots, options).expect_err("no answer")
}

fn heated(lot: &str, surroundings: &str, at: Option<&str>) -> IgniteAnswer {
    ignite(&[lot.to_owned()], &IgniteOptions { surroundings: Some(surroundings), at, ..IgniteOptions::default() })
        .expect("an answer")
}

fn amount(answer: &EquilibriumAnswer, species: &str) -> f64 {
    answer.species.iter().filter(|s| s.species == species).map(|s| s.amount).sum()
}

#[test]
#[ignore]
fn show() {
    for (lot, s) in [("CaC2O4·H2O(s) 1 mol", "air"), ("CuSO4·5H2O(s)", "air"), ("FeC2O4·2H2O(s)","own gas"), ("MnCO3(s)", "air"), ("Fe2O3(s)", "hydrogen"),("ZnO(s)", "carbon"),("Cu2CO3(OH)2(s)", "air"),("MgSO4·7H2O(s)","air")] {
        let now = std::time::Instant::now();
        let a = heated(lot, s, Some("600 °C"));
        println!("== {lot} {s} {:?}", now.elapsed());
        for x in &a.stages { println!("  {:.1}-{:.1} {:?} {:?} {:?}", x.from, x.to, x.phases, x.mass, x.gases); }
        for x in &a.chain { println!("  {} | {:.2} loss {:.2} | own {} | sur {}", x.equation, x.mass, x.loss, x.own_gas, x.surroundings); }
        println!("  levels {:?}\n  may_hold {:?}\n {:?}", a.levels, a.may_hold, a.findings.iter().map(|f| &f.message).collect::<Vec<_>>());
    }
}
