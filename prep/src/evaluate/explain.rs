//! How probable is each cause of a mass that is not what the supplies make, and what does each predict?
//!
//! Let E be the element that reached the lot, known from everything but the lot's own readings (draws of the account
//! without them), m the mass found and w the content of the form that it is taken for. Plain, the lot would weigh E/w;
//! the excess e = m − E/w is made by one cause, or by two with shares t and 1 − t of it. A cause turns its part of the
//! excess into matter (water; another form of the element; a salt; more element from a supply; element lost), with an
//! exponential prior on the amount needed, its mean a share of the mass that results (`data/causes.tsv`), so that
//!
//! ```text
//! P(m | cause) = mean over E of  p(x/m) · |d(x/m)/dm|,      P(m | pair) = mean over E and t of  p_a p_b · |∂(x_a/m, x_b/m)/∂(m, t)|
//! ```
//! Tests and portions of the lot multiply in with their likelihood, so a reading that is entered moves the weights.
//! Beside the causes stand: none of them (m within the scatter of E and of the balance), a slip anywhere in the
//! capacity, something else. Compositions of the draws that survive are handed on: what the next test would read.
//!
//! Neglected: three causes at once; the correlation of E with the share that a cause takes.
//! Source: Bayes; the priors are estimated and say so.

mod mishaps;

pub use mishaps::{Mishap, mishaps};

use super::causes::{Makes, Surplus};
use super::direct;
use super::fits::Fits;
use crate::bench_test::{Measure, Share};
use crate::model::Preparation;
use crate::outcome::{Cause, Interval};
use chem::table::rows;
use chem::{Formula, Phase, Species};
use engine::account::Evidence;
use engine::account::determination::{Determination, Outcome};
use engine::account::hypercube::latin_hypercube;
use engine::account::importance::{Volume, draw};
use engine::account::reading::SLIP;
use engine::account::summary::LEVEL;
use engine::ledger::{Workspace, normal_cdf, normal_density};
use std::sync::LazyLock;

const CAUSES: &str = include_str!("../../../data/causes.tsv");
/// Draws of the element that reached the lot.
const DRAWS: usize = 256;
/// And while a text is being typed.
const DRAWS_AT_ONCE: usize = 48;
/// Shares at which two causes are tried together.
const SHARES: usize = 10;
/// Each of so many draws is used where two causes are tried together.
const EACH_PAIRED: usize = 4;
/// Prior probability that something unusual happened, one or two causes; estimated.
const CAUSED: f64 = 0.2;
/// Most pairs of causes that a finding names.
const MOST_PAIRS_TOLD: usize = 3;
/// Probability from which a way is named.
const WORTH_NAMING: f64 = 0.01;
/// Tail probability below which a mass calls for an explanation though it is not impossible.
const SUSPICIOUS: f64 = 0.01;

struct Weight {
    kind: &'static str,
    weight: f64,
    usual: f64,
}

static WEIGHTS: LazyLock<Vec<Weight>> = LazyLock::new(|| {
    let known = |row: &chem::table::Row<'static>| {
        Some(Weight { kind: row.cell("cause"), weight: row.number("weight")?, usual: row.number("usual_share")? })
    };
    rows(CAUSES).iter().filter_map(known).collect()
});

fn weight(kind: &str) -> (f64, f64) {
    WEIGHTS.iter().find(|w| w.kind == kind).map_or((0.0, 0.0), |w| (w.weight, w.usual))
}

/// What a lot holds: number of the species in [`Explained::species`], kg.
pub(super) type Composition = Vec<(usize, f64)>;

/// One way in which the mass may have come about.
#[derive(Clone, Debug)]
pub(super) struct Explanation {
    /// Which of the causes of the surplus: none for "nothing unusual", a slip, something else.
    pub causes: Vec<usize>,
    /// In words.
    pub text: String,
    /// Posterior probability.
    pub probability: f64,
    /// Compositions that it leaves, with weights that add up to one; none where it says nothing of the composition.
    pub compositions: Vec<(Composition, f64)>,
    /// Amount of each of its causes that is needed, g: least, mean, most of the draws.
    pub needs: Vec<[f64; 3]>,
}

/// The lot that is explained, and how.
#[derive(Clone, Debug)]
pub(super) struct Explained {
    /// Name of the lot.
    pub lot: String,
    /// The form it was taken for.
    pub claim: Species,
    /// The species that compositions speak of, the claimed form first, and whether hot water takes them out.
    pub species: Vec<(Species, bool)>,
    /// Its mass, kg.
    pub mass: f64,
    /// Mass that label and usual losses let expect, 9 times in 10, kg.
    pub expected: (f64, f64),
    /// Probability of a mass at least as far off if nothing unusual happened.
    pub tail: f64,
    /// The ways, most probable first.
    pub ways: Vec<Explanation>,
}

/// A reading of the lot that was taken, beside its mass.
struct Taken {
    /// What each species adds; none where the test says nothing of it.
    shares: Vec<Option<Share>>,
    outcome: Outcome,
}

/// Explains a mass of which `surplus` says what it was taken for.
pub(super) fn explain(surplus: &Surplus<'_>, lot: &str, (fits, at_once): (&Fits, bool)) -> Option<Explained> {
    let draws = if at_once { DRAWS_AT_ONCE } else { DRAWS };
    let arrived = arrived(surplus, lot, fits, draws)?;
    explain_with(surplus, lot, &arrived, |species| taken(surplus.preparation, lot, species))
}

/// Explains a mass by what is known to have reached the lot and by tests of it.
fn explain_with(
    surplus: &Surplus<'_>,
    lot: &str,
    arrived: &Arrived,
    taken: impl Fn(&[(Species, bool)]) -> Vec<Taken>,
) -> Option<Explained> {
    let Arrived { element: arrived, weights: drawn, bound, capacity } = arrived;
    let content = surplus.claim.formula.mass_fraction(surplus.element);
    // The balance scatters the mass about what is there: put on each draw, evenly through its distribution.
    let scatter = latin_hypercube(arrived.len(), 1, 11);
    let excesses: Vec<(f64, f64)> =
        arrived.iter().zip(&scatter).map(|(e, z)| (*e, surplus.mass + surplus.uncertainty * z - e / content)).collect();
    let above: f64 = excesses.iter().zip(drawn).filter(|((_, e), _)| *e > 0.0).map(|(_, w)| w).sum();
    let plain: Vec<f64> = arrived.iter().map(|e| e / content).collect();
    let expected = engine::account::summary::spread(&plain, drawn);
    let makes = surplus.makes();
    let (species, numbers) = species_of(surplus, &makes);
    let problem = Problem {
        surplus,
        content,
        taken: taken(&species),
        numbers: &numbers,
        excesses: &excesses,
        drawn,
        makes: &makes,
        powers: makes.iter().map(|makes| Power::of(makes, surplus, content)).collect(),
    };
    let mut ways = problem.singles();
    ways.extend(problem.pairs());
    ways.push(problem.nothing(arrived));
    let anywhere = |text: &str, evidence: f64| Way {
        causes: Vec::new(),
        text: text.to_owned(),
        evidence,
        compositions: Vec::new(),
        needs: Vec::new(),
    };
    let other = problem.undescribed();
    ways.push(anywhere("a slip of the pen, or a tare forgotten", SLIP / capacity.max(surplus.mass) * other));
    ways.push(anywhere("something else", weight("other").0 * other / bound.max(surplus.mass)));
    let whole: f64 = ways.iter().map(|way| way.evidence).sum();
    if !(whole > 0.0 && whole.is_finite()) {
        return None;
    }
    let mut ways: Vec<Explanation> = ways
        .into_iter()
        .map(|way| Explanation {
            causes: way.causes,
            text: way.text,
            probability: way.evidence / whole,
            compositions: way.compositions,
            needs: way.needs,
        })
        .collect();
    ways.sort_by(|a, b| b.probability.total_cmp(&a.probability));
    Some(Explained {
        lot: lot.to_owned(),
        claim: surplus.claim.clone(),
        species,
        mass: surplus.mass,
        expected: (expected.low, expected.high),
        tail: above.min(1.0 - above),
        ways,
    })
}

impl Explained {
    /// Whether the mass calls for an explanation.
    pub fn is_suspicious(&self) -> bool {
        self.tail < SUSPICIOUS
    }

    /// Probability of a single cause, by its number.
    pub fn probability_of(&self, number: usize) -> f64 {
        self.ways.iter().filter(|way| way.causes == [number]).map(|way| way.probability).sum()
    }

    /// The pairs of causes worth naming, as intervals of both.
    pub fn pairs(&self, makes: &[Makes]) -> Vec<Cause> {
        let two = self.ways.iter().filter(|way| way.causes.len() == 2 && way.probability > WORTH_NAMING);
        two.take(MOST_PAIRS_TOLD).map(|way| told(way, makes)).collect()
    }

    /// The ways worth naming as causes of a finding.
    pub fn causes(&self, surplus: &Surplus<'_>) -> Vec<Cause> {
        let makes = surplus.makes();
        self.ways.iter().filter(|way| way.probability > WORTH_NAMING).map(|way| told(way, &makes)).collect()
    }
}

/// A way as a cause of a finding: of a pair, how much of each in its words.
fn told(way: &Explanation, makes: &[Makes]) -> Cause {
    let needs = |[low, mean, high]: [f64; 3]| Interval {
        median: mean,
        mean,
        standard_uncertainty: (high - low) / 3.29,
        low,
        high,
        level: LEVEL,
        lower_quartile: low + 0.25 * (high - low),
        upper_quartile: low + 0.75 * (high - low),
        unit: "g",
        basis: None,
    };
    let cause = match (way.causes.as_slice(), way.needs.as_slice()) {
        ([a, b], [x, y]) => format!(
            "{} ({:.2} to {:.2} g) together with {} ({:.2} to {:.2} g)",
            makes[*a].words(),
            x[0],
            x[2],
            makes[*b].words(),
            y[0],
            y[2]
        ),
        _ => way.text.clone(),
    };
    let single = way.needs.first().filter(|_| way.causes.len() == 1).copied();
    Cause { cause, needs: single.map(needs), probability: Some(way.probability), predicts: Vec::new() }
}

/// A way before its evidence is compared.
struct Way {
    causes: Vec<usize>,
    text: String,
    evidence: f64,
    compositions: Vec<(Composition, f64)>,
    needs: Vec<[f64; 3]>,
}

struct Problem<'a> {
    surplus: &'a Surplus<'a>,
    content: f64,
    taken: Vec<Taken>,
    /// Number of the species that each cause brings.
    numbers: &'a [Option<usize>],
    /// Element that arrived and excess over what it makes, kg.
    excesses: &'a [(f64, f64)],
    drawn: &'a [f64],
    makes: &'a [Makes],
    /// What each of them can do.
    powers: Vec<Power>,
}

/// How a cause changes a mass.
#[derive(Clone, Copy)]
struct Power {
    /// Mass gained for each kg of it.
    gain: f64,
    /// Its usual amount, kg.
    usual: f64,
    /// Most of it that there can be, kg.
    most: f64,
    /// Logarithm of the width of the excess that it usually makes.
    log_scale: f64,
}

impl Power {
    fn of(makes: &Makes, surplus: &Surplus<'_>, content: f64) -> Self {
        let gain = match makes {
            Makes::Form(form, _) => 1.0 - form.formula.mass_fraction(surplus.element) / content,
            Makes::Poorer | Makes::Lost => -1.0,
            Makes::Water | Makes::Salt(_) | Makes::Richer(_) => 1.0,
        };
        let usual = (weight(makes.kind()).1 * surplus.mass).max(1e-12);
        // A form takes the place of the claimed one: no more of it than there is element for.
        let most = if matches!(makes, Makes::Form(..)) { surplus.mass } else { f64::INFINITY };
        Self { gain, usual, most, log_scale: usual.ln() + gain.abs().ln() }
    }
}

impl Problem<'_> {
    fn mass(&self) -> f64 {
        self.surplus.mass
    }

    /// Amount of a cause, by its number, that makes an excess, and the logarithm of the density of that excess; `None` if
    /// it cannot.
    fn needed(&self, cause: usize, excess: f64) -> Option<(f64, f64)> {
        let Power { gain, usual, most, log_scale } = *self.powers.get(cause)?;
        let amount = excess / gain;
        (gain != 0.0 && amount >= 0.0 && amount <= most).then(|| (amount, -amount / usual - log_scale))
    }

    /// How much closer together amounts lie for a mass than for an excess, as what is usual grows with the mass:
    /// d(x/m)/dm = (m − e)/m · dx/de / m.
    fn stretch(&self, excess: f64) -> f64 {
        (1.0 - excess / self.mass()).max(0.0)
    }

    /// What the lot holds when causes make these amounts.
    fn composition(&self, parts: &[(usize, f64)]) -> Option<Composition> {
        let brought = parts.iter().filter_map(|(cause, amount)| Some((self.numbers.get(*cause).copied()??, *amount)));
        let mut list: Composition = brought.collect();
        let claimed = self.mass() - list.iter().map(|(_, amount)| amount).sum::<f64>();
        list.push((0, claimed));
        (claimed >= 0.0).then_some(list)
    }

    /// Likelihood of the tests of the lot for a composition.
    fn likelihood(&self, composition: &Composition) -> f64 {
        self.taken.iter().map(|taken| taken.log_likelihood(composition)).sum::<f64>().exp()
    }

    /// Likelihood of the tests where the composition is not known.
    fn undescribed(&self) -> f64 {
        self.taken.iter().map(Taken::anywhere).product()
    }

    fn singles(&self) -> Vec<Way> {
        let mut list = Vec::new();
        let mut kinds: Vec<&str> = self.makes.iter().map(Makes::kind).collect();
        kinds.sort_unstable();
        kinds.dedup();
        let whole: f64 = kinds.iter().map(|kind| weight(kind).0).sum();
        for (k, makes) in self.makes.iter().enumerate() {
            let like = self.makes.iter().filter(|other| other.kind() == makes.kind()).count().max(1);
            let share = CAUSED * weight(makes.kind()).0 / like as f64 / whole;
            let mut gathered = Gathered::new(1);
            for ((_, excess), drawn) in self.excesses.iter().zip(self.drawn) {
                let Some((amount, log_density)) = self.needed(k, *excess) else { continue };
                let Some(composition) = self.composition(&[(k, amount)]) else { continue };
                let evidence = drawn * log_density.exp() * self.stretch(*excess) * self.likelihood(&composition);
                gathered.add(evidence, &[amount], composition);
            }
            list.push(gathered.way(vec![k], makes.words(), share));
        }
        list
    }

    /// Causes two by two, one of each kind, each pair of kinds by the product of their weights and over all their forms.
    fn pairs(&self) -> Vec<Way> {
        let mut kinds: Vec<&str> = self.makes.iter().filter(|m| m.changes_the_lot()).map(Makes::kind).collect();
        kinds.sort_unstable();
        kinds.dedup();
        let two: Vec<(&str, &str)> =
            kinds.iter().enumerate().flat_map(|(i, a)| kinds[i + 1..].iter().map(move |b| (*a, *b))).collect();
        let product = |(a, b): &(&str, &str)| weight(a).0 * weight(b).0;
        let whole: f64 = two.iter().map(product).sum();
        two.iter()
            .filter_map(|pair| self.pair(pair.0, pair.1, CAUSED * weight("pair").0 * product(pair) / whole))
            .collect()
    }

    /// Two kinds of causes over all their forms, told by the two forms that suit best.
    fn pair(&self, first: &str, second: &str, share: f64) -> Option<Way> {
        let of =
            |kind: &'_ str| -> Vec<usize> { (0..self.makes.len()).filter(|k| self.makes[*k].kind() == kind).collect() };
        let (first, second) = (of(first), of(second));
        let both = first.iter().flat_map(|a| second.iter().map(move |b| (*a, *b)));
        let mut gathered: Vec<((usize, usize), Gathered)> =
            both.map(|(a, b)| ((a, b), self.two(a, b))).filter(|(_, g)| g.evidence > 0.0).collect();
        gathered.sort_by(|a, b| b.1.evidence.total_cmp(&a.1.evidence));
        let whole: f64 = gathered.iter().map(|(_, g)| g.evidence).sum();
        let mut list = gathered.into_iter();
        let ((a, b), best) = list.next()?;
        let own = best.evidence / whole;
        let text = format!("{} together with {}", self.makes[a].words(), self.makes[b].words());
        let mut way = best.way(vec![a, b], text, share / (first.len() * second.len()) as f64 / own);
        way.compositions.iter_mut().for_each(|(_, weight)| *weight *= own);
        let others = list.flat_map(|(_, g)| g.compositions).map(|(composition, weight)| (composition, weight / whole));
        way.compositions.extend(others);
        Some(way)
    }

    /// Two causes at the shares of the excess that each may take.
    fn two(&self, a: usize, b: usize) -> Gathered {
        let mut gathered = Gathered::new(2);
        let drawn: f64 = self.drawn.iter().step_by(EACH_PAIRED).sum();
        for ((_, excess), weight) in self.excesses.iter().zip(self.drawn).step_by(EACH_PAIRED) {
            for step in 0..SHARES {
                let t = (step as f64 + 0.5) / SHARES as f64;
                let (Some((x, p)), Some((y, q))) = (self.needed(a, t * excess), self.needed(b, (1.0 - t) * excess))
                else {
                    continue;
                };
                let Some(composition) = self.composition(&[(a, x), (b, y)]) else { continue };
                let density = (p + q).exp() * excess.abs() * self.stretch(*excess);
                let evidence = weight / drawn / SHARES as f64 * density * self.likelihood(&composition);
                gathered.add(evidence, &[x, y], composition);
            }
        }
        gathered
    }

    /// Nothing unusual: the mass lies where the element that arrived puts it.
    fn nothing(&self, arrived: &[f64]) -> Way {
        let plain = vec![(0, self.mass())];
        // The draws of the element stand for a smooth distribution: each is as wide as its neighbours are apart.
        let masses: Vec<f64> = arrived.iter().map(|e| e / self.content).collect();
        let width = (width(&masses, self.drawn)).hypot(self.surplus.uncertainty).max(1e-12);
        let density: f64 =
            masses.iter().zip(self.drawn).map(|(m, w)| w * normal_density((self.mass() - m) / width) / width).sum();
        let likelihood = self.likelihood(&plain);
        Way {
            causes: Vec::new(),
            text: "nothing unusual: within the scatter of labels and losses".to_owned(),
            evidence: (1.0 - CAUSED - weight("other").0 - SLIP) * density * likelihood,
            compositions: vec![(plain, 1.0)],
            needs: Vec::new(),
        }
    }
}

/// Evidence and compositions of one way, draw by draw.
struct Gathered {
    evidence: f64,
    compositions: Vec<(Composition, f64)>,
    amounts: Vec<Vec<(f64, f64)>>,
}

impl Gathered {
    fn new(causes: usize) -> Self {
        Self { evidence: 0.0, compositions: Vec::new(), amounts: vec![Vec::new(); causes] }
    }

    fn add(&mut self, evidence: f64, amounts: &[f64], composition: Composition) {
        if !(evidence > 0.0 && evidence.is_finite()) {
            return;
        }
        self.evidence += evidence;
        self.compositions.push((composition, evidence));
        for (list, amount) in self.amounts.iter_mut().zip(amounts) {
            list.push((*amount, evidence));
        }
    }

    fn way(mut self, causes: Vec<usize>, text: String, share: f64) -> Way {
        self.compositions.iter_mut().for_each(|(_, w)| *w /= self.evidence);
        let needs = self
            .amounts
            .iter()
            .map(|list| {
                let (values, weights): (Vec<f64>, Vec<f64>) = list.iter().map(|(x, w)| (*x, w / self.evidence)).unzip();
                let told = engine::account::summary::spread(&values, &weights);
                [told.low * 1e3, told.mean * 1e3, told.high * 1e3]
            })
            .collect();
        Way { causes, text, evidence: share * self.evidence, compositions: self.compositions, needs }
    }
}

/// The species that compositions speak of, the claimed form first, and which of them each cause brings.
fn species_of(surplus: &Surplus<'_>, makes: &[Makes]) -> (Vec<(Species, bool)>, Vec<Option<usize>>) {
    let mut species = vec![(surplus.claim.clone(), surplus.dissolves(surplus.claim))];
    let numbers = makes
        .iter()
        .map(|makes| {
            let (brought, dissolves) = match makes {
                Makes::Water => (Species::new(Formula::water(), Some(Phase::Liquid)), false),
                Makes::Form(form, _) => (form.clone(), surplus.dissolves(form)),
                Makes::Salt(salt) => (salt.clone(), true),
                Makes::Richer(_) | Makes::Poorer | Makes::Lost => return None,
            };
            species.push((brought, dissolves));
            Some(species.len() - 1)
        })
        .collect();
    (species, numbers)
}

impl Taken {
    fn log_likelihood(&self, composition: &Composition) -> f64 {
        let Some(x) = reading(&self.shares, composition) else { return 0.0 };
        match self.outcome {
            Outcome::Figure { value, deviation } => -0.5 * ((value - x) / deviation).powi(2),
            Outcome::Seen { yes, threshold, blur } => {
                let sign = if yes { 1.0 } else { -1.0 };
                normal_cdf(sign * (x - threshold) / blur).max(1e-300).ln()
            }
        }
    }

    /// Likelihood if the composition says nothing: a figure anywhere in a tenth of its range, in the same units.
    fn anywhere(&self) -> f64 {
        match self.outcome {
            Outcome::Figure { value, deviation } => (deviation * 2.5 / value.abs().max(0.1)).min(1.0),
            Outcome::Seen { .. } => 0.5,
        }
    }
}

/// What a test would read of a composition, SI; `None` where it says nothing of one of its species.
pub(super) fn reading(shares: &[Option<Share>], composition: &Composition) -> Option<f64> {
    let (mut counted, mut per) = (0.0, 0.0);
    for (species, mass) in composition {
        let share = shares.get(*species).copied()??;
        counted += mass * share.counted;
        per += mass * share.per;
    }
    (per > 0.0).then(|| counted / per)
}

/// What a kilogram of each species adds to the two sums of a test.
pub(super) fn shares(measure: &Measure<'_>, species: &[(Species, bool)]) -> Vec<Option<Share>> {
    let each = species.iter().map(|(species, dissolves)| {
        let molar = species.formula.molar_mass().ok()?.value * 1e-3;
        let share = measure.of(species, *dissolves)?;
        Some(Share { counted: share.counted / molar, per: share.per / molar })
    });
    each.collect()
}

/// Tests of a lot that were made, portions that were heated among them.
fn taken(preparation: &Preparation, lot: &str, species: &[(Species, bool)]) -> Vec<Taken> {
    let mut list = Vec::new();
    let corrected: Vec<&str> = preparation
        .steps
        .iter()
        .flat_map(|s| &s.determinations)
        .filter_map(|d| Some(d.corrects.as_ref()?.value.as_str()))
        .collect();
    for made in preparation.steps.iter().flat_map(|s| &s.determinations) {
        let stands = made.of.value == lot && !corrected.contains(&made.id.value.as_str());
        if let Some(found) = made.found.as_ref().filter(|_| stands) {
            let measure = super::compile::measure(preparation, made.test, made.counted_as.clone());
            list.push(Taken {
                shares: shares(&measure, species),
                outcome: super::compile::outcome(made.test, found.value),
            });
        }
    }
    let tests =
        direct::portion_tests(preparation).into_iter().filter(|test| test.bulk == lot && test.doubt().is_none());
    for test in tests {
        let Some(residue) = test.weighings.residue_fraction() else { continue };
        let hot = test.step.action.value.manner().heat == crate::action::Heat::Fire;
        let name = if hot { "loss on ignition" } else { "loss on drying" };
        let Some(known) = crate::bench_test::BenchTest::named(name) else { continue };
        let measure = super::compile::measure(preparation, known, None);
        let deviation = residue.standard_uncertainty.max(1e-9);
        list.push(Taken {
            shares: shares(&measure, species),
            outcome: Outcome::Figure { value: 1.0 - residue.value, deviation },
        });
    }
    list
}

/// What reached a lot of the element, kg, as far as everything but its own readings says.
struct Arrived {
    element: Vec<f64>,
    weights: Vec<f64>,
    /// The most that the lot could weigh without its water, kg.
    bound: f64,
    /// Largest load of the balances, kg.
    capacity: f64,
}

impl Arrived {
    /// How wide each draw of the element stands for, kg.
    fn width(&self) -> f64 {
        width(&self.element, &self.weights)
    }
}

/// How wide each of a number of draws stands for where they are taken for a smooth distribution.
///
/// Source: Scott, Multivariate Density Estimation, Wiley 1992, 6.2: σ n^(−1/5), but for a factor of 1.06.
fn width(values: &[f64], weights: &[f64]) -> f64 {
    let mean: f64 = values.iter().zip(weights).map(|(x, w)| x * w).sum();
    let variance: f64 = values.iter().zip(weights).map(|(x, w)| w * (x - mean).powi(2)).sum();
    variance.sqrt() * (values.len() as f64).powf(-0.2)
}

fn arrived(surplus: &Surplus<'_>, name: &str, fits: &Fits, count: usize) -> Option<Arrived> {
    let Surplus { preparation, element, mass, compiled, table, .. } = *surplus;
    let lot = compiled.lot(name)?;
    let step = compiled.lots[lot].step;
    let earlier = |about: Option<usize>| about.is_none_or(|lot| compiled.lots[lot].step < step);
    let weighings: Vec<_> = compiled
        .weighings
        .iter()
        .zip(&compiled.places)
        .filter(|(w, place)| earlier(w.lot) && (w.lot.is_some() || place.step <= step))
        .map(|(w, _)| w.clone())
        .collect();
    let determinations: Vec<Determination> =
        compiled.determinations.iter().filter(|d| earlier(Some(d.lot))).cloned().collect();
    let evidence = Evidence::new(&compiled.ledger, &compiled.balances, &weighings).and(&determinations);
    let dimension = compiled.ledger.unknowns.len();
    let (z, weights) = if evidence.count() == 0 {
        (latin_hypercube(count, dimension, 5), vec![1.0 / count as f64; count])
    } else {
        let best = fits.posterior(&format!("what reached {name}"), compiled, &evidence);
        let draws = draw(&evidence, &best, count, 5, Volume::Neglected)?;
        (draws.z, draws.weights)
    };
    let counts = table.counts(element);
    let atomic = element.atomic_weight()?.value * 1e-3;
    let mut room = Workspace::new(&compiled.ledger);
    let element = (0..count)
        .map(|i| {
            compiled.ledger.run(z.get(i * dimension..(i + 1) * dimension).unwrap_or(&[]), &mut room);
            let amounts = room.given(lot).amounts;
            atomic * amounts.iter().zip(&counts).map(|(n, c)| n * c).sum::<f64>()
        })
        .collect();
    let capacity = preparation.instruments.iter().map(|x| x.capacity).fold(mass, f64::max);
    Some(Arrived { element, weights, bound: compiled.lots[lot].bound.max(mass), capacity })
}
