//! Single questions: one function each, text in, outcome out.

pub(crate) mod crystallise;
pub(crate) mod dry;
mod equilibrium;
mod furnace;
mod gas;
mod heat;
mod ignite;
mod reaction_heat;
mod reaction_lines;
mod reaction_options;
mod reading;
mod solution;
mod substance;
mod titrate;
mod wash;

pub use crystallise::{CrystalliseOptions, crystallise};
pub use dry::{DryOptions, dry};
pub use equilibrium::{EquilibriumOptions, equilibrium};
pub use furnace::{FurnaceOptions, furnace};
pub use gas::{GasOptions, gas};
pub use heat::{HeatOptions, heat};
pub use ignite::{IgniteOptions, ignite};
pub use reaction_options::ReactionOptions;
pub use solution::{SolutionOptions, solution};
pub use substance::substance;
pub use titrate::{Titration, titrate};
pub use wash::{WashOptions, wash};

use crate::outcome::{
    ClosureAnswer, Figure, Finding, FormulaAnswer, FreedomAnswer, LabelAnswer, LabelContent, LabelExplanation,
    OxidationAnswer, ReactionAnswer, Severity,
};
use chem::formula::to_f64 as ratio;
use chem::quantity::Status;
use chem::reaction::{Balance, Equation};
use chem::{Formula, FormulaError, Species};

/// What is this formula made of?
///
/// A phase may follow, `CuSO4·5H2O(s)`; it changes nothing in the answer.
///
/// # Errors
/// Findings that point at what cannot be read (line 1 is the text itself).
///
/// ```
/// let answer = prep::ask::formula("CuSO4·5H2O").map_err(|f| format!("{f:?}"))?;
/// assert!((answer.molar_mass.value - 249.677).abs() < 1e-3);
/// # Ok::<(), String>(())
/// ```
pub fn formula(text: &str) -> Result<FormulaAnswer, Vec<Finding>> {
    let point =
        |error: FormulaError| vec![pointed("bad-formula", text, error.offset, error.length, error.to_string(), "")];
    let species = Species::parse(text).map_err(point)?;
    crate::screen::substances(std::slice::from_ref(&species), text)?;
    let formula = species.formula;
    let molar_mass = formula_figure(&formula).map_err(point)?;
    let (oxidation_states, no_oxidation_states) = match formula.oxidation_states() {
        Ok(states) => (states.iter().map(oxidation).collect(), None),
        Err(refusal) => (Vec::new(), Some(refusal.to_string())),
    };
    let whole = molar_mass.value;
    let water = ratio(formula.hydrate_water());
    let water_mass = Formula::water().molar_mass().map_err(point)?.value;
    Ok(FormulaAnswer {
        formula: formula.to_string(),
        molar_mass,
        charge: formula.charge(),
        elements: formula
            .elements()
            .map(|(element, count)| (element.symbol().to_owned(), count, formula.mass_fraction(element)))
            .collect(),
        water_fraction: (water > 0.0).then(|| water * water_mass * units(&formula) / whole),
        oxidation_states,
        no_oxidation_states,
    })
}

/// The molar mass with its sources.
fn formula_figure(formula: &Formula) -> Result<Figure, FormulaError> {
    let mass = formula.molar_mass()?;
    let sources: Vec<String> = formula
        .elements()
        .filter_map(|(element, _)| element.atomic_weight())
        .map(|weight| weight.source.citation().to_owned())
        .fold(Vec::new(), |mut list, source| {
            if !list.contains(&source) {
                list.push(source);
            }
            list
        });
    Ok(Figure {
        value: mass.value,
        standard_uncertainty: Some(mass.standard_uncertainty),
        unit: "g/mol",
        basis: None,
        status: Status::Literature,
        sources,
    })
}

fn oxidation(state: &chem::OxidationState) -> OxidationAnswer {
    OxidationAnswer {
        element: state.element.symbol().to_owned(),
        count: ratio(state.count),
        state: ratio(state.state),
        text: state.to_string(),
        is_mean: state.is_mean,
        split: state.split().map(|(lower, upper, share)| (lower, upper, ratio(share))),
        rule: state.rule.to_string(),
    }
}

/// How often the unit that carries the hydrate water stands in the formula, by mass balance.
fn units(formula: &Formula) -> f64 {
    let water = ratio(formula.hydrate_water());
    let dry = formula.without_hydrate_water();
    let (Ok(whole), Ok(dry), Ok(one)) = (formula.molar_mass(), dry.molar_mass(), Formula::water().molar_mass()) else {
        return 1.0;
    };
    (whole.value - dry.value) / (water * one.value)
}

/// What are the coefficients of this reaction?
///
/// # Errors
/// Findings that point at what cannot be read. An equation that does not balance is an answer, not an error.
///
/// ```
/// let answer = prep::ask::reaction("FeS2 + O2 -> Fe2O3 + SO2").map_err(|f| format!("{f:?}"))?;
/// assert_eq!(answer.equation, "4 FeS2 + 11 O2 -> 2 Fe2O3 + 8 SO2");
/// # Ok::<(), String>(())
/// ```
pub fn reaction(text: &str) -> Result<ReactionAnswer, Vec<Finding>> {
    reaction_with(text, &ReactionOptions::default())
}

/// What are the coefficients of this reaction, what heat does it release and which way does it run?
///
/// # Errors
/// Findings that point at what cannot be read in the equation or in an option.
///
/// ```
/// use prep::ask::{ReactionOptions, reaction_with};
/// let options = ReactionOptions { at: Some("900 °C"), ..ReactionOptions::default() };
/// let answer = reaction_with("CaCO3(s) -> CaO(s) + CO2(g)", &options).map_err(|f| format!("{f:?}"))?;
/// let heat = answer.heat.ok_or("no heat")?;
/// assert!(heat.gibbs_energy.is_some_and(|gibbs| gibbs.value < 0.0));
/// assert!((heat.balances[0].temperature.value - 1160.0).abs() < 2.0);
/// # Ok::<(), String>(())
/// ```
pub fn reaction_with(text: &str, options: &ReactionOptions<'_>) -> Result<ReactionAnswer, Vec<Finding>> {
    let wishes = reaction_options::Wishes::read(options)?;
    let equation = Equation::parse(text)
        .map_err(|error| vec![pointed("bad-equation", text, error.offset, error.length, error.to_string(), "")])?;
    let side = |terms: &[chem::Term]| terms.iter().map(|term| term.species.clone()).collect::<Vec<_>>();
    let cautions = crate::screen::products(&side(&equation.left), &side(&equation.right), false, text)?;
    let balance = equation.balance();
    let named = |coefficients: &[i64]| {
        equation.named(coefficients).map(|list| list.into_iter().map(|(s, c)| (s, ratio(c))).collect::<Vec<_>>())
    };
    let whole = |message: String, hint: &str| pointed("unbalanced", text, 0, text.len(), message, hint);
    let mut findings = Vec::new();
    let mut answer = ReactionAnswer {
        equation: equation.to_string(),
        solutions: balance.solutions(),
        coefficients: None,
        basis_reactions: Vec::new(),
        closures: Vec::new(),
        freedom: None,
        heat: None,
        lines: None,
        findings: Vec::new(),
    };
    match &balance {
        Balance::One(coefficients) => {
            answer.coefficients = named(coefficients);
            if equation.coefficients_written() && chem::reaction::Reaction::new(&equation).is_err() {
                findings.push(whole(
                    "the coefficients as written do not balance; those below do".to_owned(),
                    "check which was meant; in a preparation the written ones are refused",
                ));
            }
            if let Some(balanced) = equation.with_coefficients(coefficients) {
                answer.equation = balanced.to_string();
            }
        }
        Balance::WrongSide { coefficients, .. } => {
            answer.coefficients = named(coefficients);
            if let Some(balanced) = equation.with_coefficients(coefficients) {
                answer.equation = balanced.to_string();
            }
            findings.push(whole(
                format!("it balances only as {}: a species stands on the wrong side or takes no part", answer.equation),
                "move or remove that species",
            ));
        }
        Balance::Several { basis } => {
            answer.basis_reactions = basis.iter().filter_map(|b| named(b)).collect();
            answer.freedom = equation.freedom().map(|freedom| freedom_answer(&equation, &freedom));
            let decides = answer.freedom.as_ref().map(|f| f.would_decide.clone()).unwrap_or_default();
            findings.push(whole(
                format!("{} independent reactions fit these species; none is picked", balance.solutions()),
                &format!("split the equation; {decides}"),
            ));
        }
        Balance::None { unclosed } => {
            let names: Vec<String> = unclosed.iter().map(ToString::to_string).collect();
            answer.closures = equation.closures().iter().map(closure_answer).collect();
            let hint = match answer.closures.first() {
                Some(first) => format!("a species is missing; it would balance as {}", first.equation),
                None => "a species is missing, or stands on the wrong side".to_owned(),
            };
            findings.push(whole(format!("no coefficients balance it: {} cannot close", names.join(", ")), &hint));
        }
        Balance::OutOfRange => {
            findings.push(whole(
                "the coefficients exceed 64-bit integers".to_owned(),
                "check the formulas for a slip in a count",
            ));
        }
    }
    findings.extend(cautions);
    if let Balance::One(coefficients) = &balance {
        answer.heat = Some(reaction_heat::heat(&equation, coefficients, &wishes, &mut findings));
        answer.lines = reaction_lines::lines((&equation, coefficients), options, &wishes)?;
    }
    answer.findings = findings;
    Ok(answer)
}

/// What does this label mean?
///
/// A label that cannot be read is an answer with findings, not an error.
///
/// ```
/// let answer = prep::ask::label("zinc sulfate 220 mg = zinc 50 mg");
/// assert_eq!(answer.readings[0].substance, "ZnSO4·7H2O");
/// assert!(answer.readings[0].plausible);
/// ```
#[must_use]
pub fn label(text: &str) -> LabelAnswer {
    let screened = crate::screen::labelled(text);
    if let Some(refusal) = screened.as_ref().filter(|f| f.severity == Severity::Error) {
        return LabelAnswer {
            text: text.to_owned(),
            readings: Vec::new(),
            contents: Vec::new(),
            findings: vec![refusal.clone()],
        };
    }
    let reading = chem::label::read(text);
    let told = |e: &chem::label::Explanation| LabelExplanation {
        substance: e.substance.to_string(),
        names: e.names.clone(),
        basis: e.basis.words(),
        explains_within_percent: e.explains_within_percent,
        plausible: e.plausible,
        implied_purity_percent: e.implied_purity_percent,
        misreading_factor: e.misreading_factor,
        refuted_by: e.refuted_by(),
    };
    LabelAnswer {
        readings: reading.readings.iter().map(told).collect(),
        contents: reading
            .contents
            .iter()
            .map(|c| LabelContent {
                element: c.element.symbol().to_owned(),
                basis: c.basis.words(),
                low: c.amount.low,
                value: c.amount.value,
                high: c.amount.high,
                unit: c.amount.unit.clone(),
            })
            .collect(),
        findings: reading
            .findings
            .iter()
            .map(|f| {
                let length = if f.length == 0 { text.len() } else { f.length };
                pointed("label", text, f.offset, length, f.kind.to_string(), "")
            })
            .chain(screened)
            .collect(),
        text: reading.text,
    }
}

fn closure_answer(closure: &chem::Closure) -> ClosureAnswer {
    let names = |species: &[Species]| species.iter().map(Species::to_string).collect();
    ClosureAnswer { left: names(&closure.left), right: names(&closure.right), equation: closure.balanced.to_string() }
}

fn freedom_answer(equation: &Equation, freedom: &chem::Freedom) -> FreedomAnswer {
    let named = |numbers: &Vec<i64>| {
        let terms = equation.named(numbers)?;
        Some(terms.into_iter().filter(|(_, n)| ratio(*n) != 0.0).map(|(s, n)| (s, ratio(n))).collect())
    };
    let place = |at: &usize| equation.terms().nth(*at).map(|term| term.species.to_string());
    FreedomAnswer {
        extreme_reactions: freedom.extremes.iter().filter_map(named).collect(),
        extreme_equations: freedom
            .extremes
            .iter()
            .filter_map(|numbers| equation.with_coefficients(numbers))
            .map(|balanced| balanced.to_string())
            .collect(),
        deciding: freedom.deciding.iter().filter_map(place).collect(),
        would_decide: freedom.to_string(),
    }
}

fn pointed(code: &'static str, text: &str, offset: usize, length: usize, message: String, hint: &str) -> Finding {
    // What is named by words where a formula is asked for is refused like its formula.
    if let Some(refusal) = crate::screen::named_in(text).filter(|_| code.starts_with("bad-")) {
        return refusal;
    }
    let severity = match code {
        "unbalanced" => Severity::Warning,
        "label" => Severity::Note,
        _ => Severity::Error,
    };
    let start = offset.min(text.len());
    let (message, hint) = crate::syntax::remedy_apart(code, message, hint.to_owned());
    let mut finding = Finding {
        code,
        severity,
        message,
        line: 0,
        column: 0,
        span: Some(start..(start + length.max(1)).min(text.len().max(start))),
        hints: if hint.is_empty() { Vec::new() } else { vec![hint] },
        causes: Vec::new(),
    };
    crate::syntax::Places::new(text).place(&mut finding);
    finding
}
