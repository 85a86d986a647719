//! An invented preparation with hand-made figures, for tests of the printed forms. None of it is a computed result.

use chem::quantity::Status;
use prep::outcome::{
    Account, AccountCost, Budget, BudgetShare, Cause, Change, ChangedLot, ChangedQuote, Claim, ClaimPart,
    ClosureAnswer, Cost, DryAnswer, ElementContent, Expectation, Feed, FellOut, Figure, FilledVessel, Finding,
    FormulaAnswer, FreedomAnswer, Hypothesis, Interval, Limiting, LossLevel, LostCost, LotAccount, Method, Next,
    OxidationAnswer, Plan, PlannedStep, Pooling, Possibility, Predicted, QuotedYield, ReactionAnswer, Replicates,
    Severity, StepYield, StockLine, Stream, SupplyCost, Supposition, TestOutlook, TestTold, TimedStep, Timeline,
    Timing, Verdict, Water, WeighOut, WeighedSeries, Yields,
};

pub fn interval(mean: f64, uncertainty: f64, unit: &'static str) -> Interval {
    Interval {
        median: mean,
        mean,
        standard_uncertainty: uncertainty,
        low: mean - 1.645 * uncertainty,
        high: mean + 1.645 * uncertainty,
        level: 0.9,
        lower_quartile: mean - 0.674 * uncertainty,
        upper_quartile: mean + 0.674 * uncertainty,
        unit,
        basis: None,
    }
}

pub fn figure(value: f64, uncertainty: f64, unit: &'static str) -> Figure {
    Figure {
        value,
        standard_uncertainty: Some(uncertainty),
        unit,
        basis: Some("element Cu".to_owned()),
        status: Status::Derived,
        sources: vec!["file".to_owned()],
    }
}

pub fn finding() -> Finding {
    Finding {
        code: "over-theory",
        severity: Severity::Warning,
        message: "The residue weighs 1.28 g more than the label allows.".to_owned(),
        line: 43,
        column: 7,
        span: Some(900..907),
        hints: vec!["Weigh it again.".to_owned()],
        causes: vec![Cause {
            cause: "soluble salt left by the wash".to_owned(),
            needs: Some(interval(1.28, 0.05, "g")),
            probability: Some(0.6),
            predicts: vec![("loss_on_heating", figure(0.0, 0.1, "%")), ("loss_on_leaching", figure(6.11, 0.1, "%"))],
        }],
    }
}

pub fn oxidation(element: &str, state: f64) -> OxidationAnswer {
    OxidationAnswer {
        element: element.to_owned(),
        count: 1.0,
        state,
        text: format!("{element} {state:+}"),
        is_mean: false,
        split: None,
        rule: "the states add up to the charge".to_owned(),
    }
}

/// A reaction with everything a page may show: nobody would get all of it at once.
pub fn open_reaction() -> ReactionAnswer {
    let extreme = vec![("A".to_owned(), -1.0), ("B".to_owned(), 2.0)];
    ReactionAnswer {
        equation: "A -> B + C".to_owned(),
        solutions: 2,
        coefficients: None,
        basis_reactions: vec![extreme.clone()],
        closures: vec![ClosureAnswer {
            left: vec!["O2".to_owned()],
            right: vec!["H2O".to_owned(), "CO2".to_owned()],
            equation: "A + O2 -> B + C + H2O + CO2".to_owned(),
        }],
        freedom: Some(FreedomAnswer {
            extreme_reactions: vec![extreme],
            extreme_equations: vec!["A -> 2 B".to_owned()],
            deciding: vec!["B".to_owned(), "C".to_owned()],
            would_decide: "the ratio of B to C, measured, would decide".to_owned(),
        }),
        heat: None,
        lines: None,
        findings: Vec::new(),
    }
}

/// A formula with a mean oxidation state.
pub fn oxide() -> FormulaAnswer {
    let mut iron = oxidation("Fe", 2.5);
    (iron.is_mean, iron.split) = (true, Some((2, 3, 0.5)));
    FormulaAnswer {
        formula: "Fe4O5".to_owned(),
        molar_mass: figure(303.375, 0.005, "g/mol"),
        charge: 0,
        elements: vec![("Fe".to_owned(), 4.0, 0.7363), ("O".to_owned(), 5.0, 0.2637)],
        water_fraction: None,
        oxidation_states: vec![iron, oxidation("O", -2.0)],
        no_oxidation_states: None,
    }
}

pub fn series() -> WeighedSeries {
    WeighedSeries {
        reading: "r4".to_owned(),
        step: "dry".to_owned(),
        lot: Some("precipitate".to_owned()),
        basis: "as displayed",
        answer: DryAnswer {
            weighings: vec![(0.0, 45.1), (1.0, 44.3), (2.0, 44.0)],
            deviation: 0.015,
            tolerance: 5e-4,
            verdict: "not yet",
            final_mass: Some(interval(43.8, 0.05, "g")),
            remaining: Some(interval(0.2, 0.05, "g")),
            next: Some(interval(43.9, 0.03, "g")),
            intervals: Some(interval(2.4, 0.4, "1")),
            within: Some(0.01),
            out_of_line: Vec::new(),
            levels: vec![("Cu2CO3(OH)2".to_owned(), 43.1, Some(1.2))],
            findings: Vec::new(),
        },
    }
}

pub fn change() -> Change {
    Change {
        reading: "r8".to_owned(),
        corrects: "r7".to_owned(),
        from: "26.252 g".to_owned(),
        to: "26.522 g".to_owned(),
        reason: Some("digits swapped".to_owned()),
        at: Some("2026-05-02T16:45:00".to_owned()),
        lots: vec![ChangedLot {
            lot: "precipitate".to_owned(),
            element: "Cu".to_owned(),
            before: interval(23.1, 0.9, "g"),
            after: interval(24.4, 0.05, "g"),
        }],
        overall: Some((interval(91.0, 3.0, "%"), interval(95.5, 0.6, "%"))),
        quoted: vec![ChangedQuote {
            lot: "precipitate".to_owned(),
            as_formula: "CuO(s)".to_owned(),
            method: "ignition of a portion, residue taken for pure".to_owned(),
            before: None,
            after: Some(figure(96.9, 0.6, "%")),
        }],
    }
}

fn named(pairs: &[(&str, f64, f64)], unit: &'static str) -> Vec<(String, Interval)> {
    pairs.iter().map(|(name, mean, u)| ((*name).to_owned(), interval(*mean, *u, unit))).collect()
}

fn lot(mass: f64, copper: f64, uncertainty: f64) -> LotAccount {
    LotAccount {
        id: "precipitate".to_owned(),
        name: "precipitate".to_owned(),
        step: "dry".to_owned(),
        mass: interval(mass, 0.02, "g"),
        elements: vec![ElementContent {
            element: "Cu".to_owned(),
            amount: interval(copper / 63.546, uncertainty / 63.546, "mol"),
            mass: interval(copper, uncertainty, "g"),
        }],
        species: named(&[("Cu2CO3(OH)2·nH2O(s)", 39.4, 1.5), ("H2O(l)", 0.7, 0.4)], "g"),
        foreign: interval(0.05, 0.02, "g"),
        hydration: named(&[("Cu2CO3(OH)2·nH2O(s)", 0.41, 0.02)], ""),
        weighed: Some(figure(mass, 0.02, "g")),
    }
}

fn hypothesis(id: &str, text: &str, probability: f64, chi_squared: f64) -> Hypothesis {
    let fits = chi_squared < 10.0;
    Hypothesis {
        id: id.to_owned(),
        text: text.to_owned(),
        probability,
        decided: !fits,
        fits,
        larger: false,
        chi_squared,
        group: fits.then_some(0),
        log_evidence: Some(-12.0 - chi_squared / 2.0),
    }
}

fn step(name: &str, own: f64, cumulative: f64) -> StepYield {
    StepYield { name: name.to_owned(), interval: interval(own, 0.4, "%"), cumulative: interval(cumulative, 0.6, "%") }
}

fn quoted(formula: &str, method: &str, mass: f64, percent: f64) -> QuotedYield {
    QuotedYield {
        doubt: None,
        readings: Vec::new(),
        lot: "precipitate".to_owned(),
        as_formula: formula.to_owned(),
        method: method.to_owned(),
        element_mass: figure(mass, 0.045, "g"),
        percent: figure(percent, 0.57, "%"),
    }
}

fn cost() -> Cost {
    Cost {
        currency: "EUR",
        decimals: 2,
        supplies: vec![SupplyCost {
            supply: "bluestone".to_owned(),
            charged: interval(100.0, 0.03, "g"),
            pack: "1 kg".to_owned(),
            price: "7.90 EUR".to_owned(),
            cost: interval(0.79, 0.0002, "EUR"),
        }],
        total: interval(0.79, 0.0002, "EUR"),
        unpriced: vec!["soda".to_owned(), "water".to_owned()],
        free_water: false,
    }
}

fn stock() -> Vec<StockLine> {
    vec![StockLine {
        supply: "bluestone".to_owned(),
        stated: "350 ± 5 g".to_owned(),
        before: interval(350.0, 5.0, "g"),
        used: interval(100.0, 0.03, "g"),
        remains: interval(250.0, 5.0, "g"),
        runs_out: 0.0,
    }]
}

fn timeline() -> Timeline {
    Timeline {
        steps: vec![
            TimedStep {
                step: "filter".to_owned(),
                start: interval(0.0, 0.0, "min"),
                end: interval(40.0, 0.0, "min"),
                hands: interval(20.0, 0.0, "min"),
                hands_until: interval(20.0, 0.0, "min"),
                after: Vec::new(),
            },
            TimedStep {
                step: "dry".to_owned(),
                start: interval(40.0, 0.0, "min"),
                end: interval(760.0, 20.0, "min"),
                hands: interval(0.0, 0.0, "min"),
                hands_until: interval(40.0, 0.0, "min"),
                after: vec!["filter".to_owned()],
            },
        ],
        elapsed: interval(760.0, 20.0, "min"),
        hands: interval(20.0, 0.0, "min"),
        untimed: vec!["divide".to_owned()],
    }
}

pub fn account() -> Account {
    let hypotheses = vec![
        hypothesis("a1", "precipitate: Cu2CO3(OH)2·nH2O(s)", 0.47, 0.8),
        hypothesis("a2", "precipitate: Cu2CO3(OH)2(s) with H2O(l)", 0.44, 1.0),
        hypothesis("a3", "precipitate: Cu2CO3(OH)2(s)", 0.0, 349.0),
    ];
    Account {
        title: "Invented copper".to_owned(),
        elements: vec!["Cu".to_owned()],
        lots: vec![lot(43.90, 24.4118, 0.0449)],
        streams: [
            ("product", 23.302),
            ("liquor", 0.442),
            ("residue", 0.123),
            ("tests", 1.112),
            ("vented", 0.0),
            ("lost", 0.172),
        ]
        .into_iter()
        .map(|(name, mass)| Stream {
            name,
            elements: named(&[("Cu", mass, mass / 100.0)], "g"),
            lots: if name == "product" { vec!["bulk".to_owned()] } else { Vec::new() },
        })
        .collect(),
        feed: named(&[("Cu", 25.151, 0.107)], "g"),
        yields: Some(Yields {
            element: "Cu".to_owned(),
            quoted: vec![
                quoted("CuCO3(s)", "mass taken for the formula", 22.58, 89.6),
                quoted("Cu2CO3(OH)2(s)", "mass taken for the formula", 25.24, 100.1),
                quoted("CuO(s)", "ignition of a portion", 24.4118, 96.87),
            ],
            overall: interval(92.6, 0.6, "%"),
            steps: vec![step("precipitate", 98.0, 98.0), step("dry", 98.9, 96.9)],
        }),
        hypotheses: hypotheses.clone(),
        levels: vec![LossLevel {
            readings: Vec::new(),
            lot: "precipitate".to_owned(),
            residue: "CuO(s)".to_owned(),
            observed: figure(30.40, 0.13, "%"),
            levels: vec![("Cu2CO3(OH)2(s)".to_owned(), 28.05, 18.7), ("Cu3(CO3)2(OH)2(s)".to_owned(), 30.76, -2.8)],
        }],
        suppositions: vec![Supposition {
            text: "Na2SO4 up to 0.5 %".to_owned(),
            lots: vec![lot(43.90, 24.33, 0.066)],
            steps: vec![step("dry", 98.6, 96.6)],
            hypotheses,
        }],
        cost: Some(AccountCost {
            charges: cost(),
            product: Some("copper oxide".to_owned()),
            per_gram: Some(interval(0.0492, 0.0003, "EUR")),
            lost: Some(LostCost {
                element: "Cu".to_owned(),
                supplies: vec!["bluestone".to_owned()],
                unpriced: Vec::new(),
                charged: interval(0.79, 0.0, "EUR"),
                not_in_product: interval(0.058, 0.005, "EUR"),
                streams: vec![
                    ("product", interval(0.732, 0.005, "EUR")),
                    ("liquor", interval(0.014, 0.004, "EUR")),
                    ("tests", interval(0.035, 0.001, "EUR")),
                ],
            }),
        }),
        stock: stock(),
        series: vec![series()],
        changes: vec![change()],
        timing: vec![Timing {
            from: "dry".to_owned(),
            to: "ignite".to_owned(),
            found: 320.0,
            planned: interval(245.0, 9.0, "min"),
        }],
        budgets: vec![budget()],
        tests: vec![TestTold {
            id: "t1".to_owned(),
            test: "titre".to_owned(),
            lot: "precipitate".to_owned(),
            found: "55.6 ± 0.3 %".to_owned(),
            account: Some(interval(55.58, 0.1, "%")),
        }],
        foreign: vec![FellOut {
            step: "precipitate".to_owned(),
            solid: "CaSO4·2H2O".to_owned(),
            expected: Some(figure(14.6, 5.1, "g")),
            found: interval(10.31, 0.08, "g"),
            told: true,
            equation: "CaSO4(aq) + 2 H2O(l) -> CaSO4·2H2O(s)".to_owned(),
        }],
        claim: Some(claim()),
        next: Some(next()),
        findings: vec![finding()],
        method: Method { kind: "sampled", runs: 65_000, tail: Some(0.31) },
    }
}

fn budget() -> Budget {
    let share =
        |source: &str, share: f64, then: f64| BudgetShare { source: source.to_owned(), share, if_twice_as_good: then };
    Budget {
        of: "bulk: Cu".to_owned(),
        what: "Cu in bulk".to_owned(),
        value: 23.302,
        standard_uncertainty: 0.12,
        unit: "g",
        shares: vec![share("loss in ignite", 0.8, 0.076), share("reading r7 (milligram balance)", 0.2, 0.11)],
        halved_by: vec!["loss in ignite".to_owned()],
    }
}

pub fn claim() -> Claim {
    Claim {
        text: "24.4 g Cu".to_owned(),
        lot: "precipitate".to_owned(),
        verdict: Verdict::TooStrong,
        probability: 0.6,
        parts: vec![ClaimPart {
            text: "24.4 g Cu".to_owned(),
            verdict: Verdict::TooStrong,
            probability: 0.6,
            found: Some(interval(24.4118, 0.0449, "g")),
            because: Some("the account leaves it open".to_owned()),
        }],
    }
}

pub fn next() -> Next {
    let possibility = |text: &str, probability: f64, claim_holds: f64| Possibility {
        text: text.to_owned(),
        probability,
        claim_holds,
    };
    let predicted = |possibility: usize, value: f64| Predicted { possibility, reading: figure(value, 0.3, "%") };
    Next {
        title: "Invented copper".to_owned(),
        claim: "at least 98 % pure CuO".to_owned(),
        stated: false,
        lot: "bulk".to_owned(),
        probability: 0.7,
        possibilities: vec![possibility("clean", 0.6, 1.0), possibility("salt left in it", 0.4, 0.25)],
        tests: vec![TestOutlook {
            test: "leach".to_owned(),
            lot: "bulk".to_owned(),
            information_bits: 0.5,
            hypothesis_bits: 0.6,
            added_bits: 0.6,
            settles: 0.45,
            sample: figure(2.8, 0.0, "g"),
            time: figure(2.0, 0.0, "h"),
            destroys: false,
            predictions: vec![predicted(0, 0.1), predicted(1, 2.1)],
            traps: "what is occluded stays".to_owned(),
        }],
        degenerate: vec![("clean".to_owned(), "dusty".to_owned())],
        stop: false,
        advice: "leach of bulk tells most of the claim".to_owned(),
        findings: Vec::new(),
    }
}

pub fn plan() -> Plan {
    let expects = vec![
        Expectation {
            reading: "r4".to_owned(),
            what: "precipitate".to_owned(),
            interval: Some(interval(44.3, 1.3, "g")),
            found: Some(43.90),
            displayed: Some("43.90 g".to_owned()),
        },
        Expectation {
            reading: "r5".to_owned(),
            what: "crucible 3".to_owned(),
            interval: None,
            found: None,
            displayed: None,
        },
    ];
    Plan {
        title: "Invented copper".to_owned(),
        limiting: vec![Limiting {
            step: "precipitate".to_owned(),
            reaction: "A + B -> C".to_owned(),
            reagent: "CuSO4(aq)".to_owned(),
            probability: 0.998,
            reach: interval(64.0, 9.0, "%"),
        }],
        water: Water {
            charged: interval(900.0, 0.0, "g"),
            from_hydrates: interval(88.0, 14.0, "g"),
            total: interval(988.0, 14.0, "g"),
        },
        feed: Some(Feed {
            target: "25 g CuO(s)".to_owned(),
            supply: "bluestone".to_owned(),
            amount: interval(81.5, 1.2, "g"),
            chance: 0.9,
            for_chance: 83.1,
        }),
        frozen: Some("0123456789abcdef".to_owned()),
        steps: vec![PlannedStep {
            name: "dry".to_owned(),
            action: "dry".to_owned(),
            instruction: "Dry the cake at 105 °C.".to_owned(),
            cautions: vec!["Hot dish.".to_owned()],
            expects,
            gives: named(&[("precipitate", 44.3, 1.3)], "g"),
            vents: named(&[("H2O(g)", 60.0, 6.0)], "g"),
            vessel: Some(FilledVessel {
                vessel: "dish".to_owned(),
                volume: interval(130.0, 12.0, "mL"),
                capacity: Some(200.0),
                situation: "room to stir",
                fraction: 0.9,
                source: "estimated",
            }),
            solution: None,
        }],
        weigh_out: vec![WeighOut {
            supply: "bluestone".to_owned(),
            label: "copper sulfate pentahydrate, 98 % min".to_owned(),
            step: "dissolve".to_owned(),
            amount: interval(100.0, 0.0, "g"),
            brings: vec![("CuSO4·5H2O".to_owned(), interval(0.397, 0.002, "mol"))],
            elements: vec![("Cu".to_owned(), interval(25.2, 0.14, "g"))],
        }],
        cost: Some(cost()),
        stock: stock(),
        timeline: Some(timeline()),
        screening: screening(),
        waste: Vec::new(),
        findings: Vec::new(),
    }
}

/// An invented screen: one caution, one hold point, one substance.
fn screening() -> prep::outcome::Screening {
    use prep::outcome::{Accepted, CautionText, HoldPoint, Screening, StepScreening, SubstanceHazard};
    let text = CautionText {
        code: "toxic-gas",
        signal: "Danger",
        what: "step `dry` releases up to 1.7 L invented gas; 67 ppm in this room.".to_owned(),
        statements: "H331 toxic if inhaled.".to_owned(),
        first_sign: "It smells.".to_owned(),
        go_on: "Go on when it has stopped.".to_owned(),
        control: "Outdoors.".to_owned(),
        wear: "Goggles.".to_owned(),
        emergency: "Out.".to_owned(),
        waste: "A jar of its own.".to_owned(),
        basis: "Basis: the amounts above.".to_owned(),
    };
    Screening {
        room: 25.0,
        room_stated: true,
        gravest: vec![format!("{}: {}", text.signal, text.what)],
        withheld: Vec::new(),
        accepted: vec![Accepted {
            finding: "gas-released".to_owned(),
            step: Some("dry".to_owned()),
            reason: "done outdoors".to_owned(),
        }],
        steps: vec![StepScreening {
            step: "dry".to_owned(),
            cautions: vec![text],
            holds: vec![HoldPoint {
                condition: "dry".to_owned(),
                proof: "constant mass".to_owned(),
                otherwise: "dry on".to_owned(),
            }],
            substances: vec![SubstanceHazard {
                substance: "CuSO4·5H2O(s)".to_owned(),
                name: "copper(II) sulfate pentahydrate".to_owned(),
                signal: Some("Danger"),
                statements: vec![("H302", "Harmful if swallowed"), ("H318", "Causes serious eye damage")],
                pictograms: vec!["GHS05", "GHS07"],
                comment: "",
                remarks: Vec::new(),
                sources: vec!["invented"],
            }],
        }],
    }
}

/// Two invented runs that differ, in the filter step.
pub fn replicates() -> Replicates {
    let pooling = |name: &str, runs: [Interval; 2], chi_squared: f64, probability: f64, between_runs: f64| Pooling {
        name: name.to_owned(),
        runs: runs.to_vec(),
        mean: figure(95.42, 0.64, "%"),
        between_runs,
        shared: 0.52,
        chi_squared,
        probability,
        agree: probability > 0.05,
        next_run: figure(95.42, 1.1, "%"),
    };
    let percent = |mean, uncertainty| interval(mean, uncertainty, "%");
    Replicates {
        element: "Cu".to_owned(),
        runs: vec![
            ("may.toml".to_owned(), "Copper from garden bluestone".to_owned()),
            ("june.toml".to_owned(), "Copper from garden bluestone".to_owned()),
        ],
        quantities: vec![
            pooling("feed to product", [percent(96.2, 0.6), percent(94.7, 0.6)], 5.1, 0.024, 0.9),
            pooling("step filter", [percent(97.8, 0.5), percent(96.2, 0.5)], 6.0, 0.014, 1.0),
            pooling("step dry", [percent(99.6, 0.1), percent(99.7, 0.1)], 0.5, 0.48, 0.0),
        ],
        shared: vec!["bluestone".to_owned(), "pocket balance".to_owned()],
        findings: Vec::new(),
    }
}
