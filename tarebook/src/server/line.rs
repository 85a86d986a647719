//! What does the list, or the shelf, show of a preparation?
//!
//! Everything that is shown without its books: title, target, state, yields, findings, the last entry, the supplies. It is
//! plain text and numbers, so that the index of the notebook can keep it until the file changes.

use super::books::{Books, Stand};
use prep::model::{Preparation, Supply};
use prep::outcome::{Finding, Interval, Severity};
use report::number;
use serde::{Deserialize, Serialize};

/// One line of the list.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct Line {
    /// Title.
    pub title: String,
    /// What is wanted.
    pub target: String,
    /// How far it is.
    pub state: Stand,
    /// Accounted yield, %.
    pub overall: Option<Told>,
    /// Quoted yields, %.
    pub quoted: Vec<f64>,
    /// Findings that are open.
    pub open: usize,
    /// The gravest of them.
    pub gravest: Option<String>,
    /// Last entry.
    pub last: Option<String>,
    /// How the accounted yield moved with the last change.
    pub moved: Option<String>,
    /// What stands on the shelf for it.
    pub bottles: Vec<Bottle>,
}

/// A percentage with its interval.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct Told {
    median: f64,
    mean: f64,
    standard_uncertainty: f64,
    low: f64,
    high: f64,
    level: f64,
    lower_quartile: f64,
    upper_quartile: f64,
}

impl Told {
    fn of(told: &Interval) -> Option<Self> {
        let &Interval { median, mean, standard_uncertainty, low, high, level, lower_quartile, upper_quartile, .. } =
            told;
        let all = [median, mean, standard_uncertainty, low, high, level, lower_quartile, upper_quartile];
        let own = Self { median, mean, standard_uncertainty, low, high, level, lower_quartile, upper_quartile };
        // What is not finite cannot be written down, and says nothing.
        all.iter().all(|value| value.is_finite()).then_some(own)
    }

    /// As an interval.
    pub fn interval(&self) -> Interval {
        let &Self { median, mean, standard_uncertainty, low, high, level, lower_quartile, upper_quartile } = self;
        let (unit, basis) = ("%", None);
        Interval { median, mean, standard_uncertainty, low, high, level, lower_quartile, upper_quartile, unit, basis }
    }
}

/// A supply of a preparation.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct Bottle {
    /// What the steps call it.
    pub name: String,
    /// Its label.
    pub label: String,
    /// What it may hold.
    pub holds: String,
    /// What is left of it.
    pub left: Option<String>,
    /// When it was opened.
    pub opened: Option<String>,
    /// Hazard statements of what it may hold.
    pub hazards: Vec<String>,
}

impl Line {
    /// The line of these books.
    pub fn of(books: &Books) -> Self {
        let preparation = books.preparation.as_ref();
        let target = preparation.and_then(|p| p.target.as_ref()).map_or_else(String::new, |target| {
            let amount = target.amount.map(|kg| number::unit(&number::plain(kg * 1e3), "g") + " ");
            format!("{}{}", amount.unwrap_or_default(), target.substance)
        });
        let yields = books.account.as_ref().and_then(|account| account.yields.as_ref());
        let open: Vec<&Finding> =
            books.findings.iter().filter(|f| matches!(f.severity, Severity::Error | Severity::Warning)).collect();
        // What is out of bounds is told before what is merely missing.
        let refused = open.iter().copied().find(|finding| finding.code == prep::screen::OUT_OF_BOUNDS);
        let quoted = yields.map(|y| y.quoted.iter().map(|q| q.percent.value).filter(|v| v.is_finite()).collect());
        let stock = books.account.as_ref().map(|a| &a.stock).or(books.plan.as_ref().map(|p| &p.stock));
        let left = |name: &str| {
            let line = stock.and_then(|lines| lines.iter().find(|line| line.supply == name));
            line.map(|line| number::mean(&line.remains))
        };
        let bottles = preparation.map(|p| bottles(p, left));
        Self {
            title: books.title(),
            target,
            state: books.state(),
            overall: yields.and_then(|yields| Told::of(&yields.overall)),
            quoted: quoted.unwrap_or_default(),
            open: open.len(),
            gravest: refused.or(open.first().copied()).map(|finding| finding.message.clone()),
            last: preparation.and_then(last_entry),
            moved: None,
            bottles: bottles.unwrap_or_default(),
        }
    }

    /// What changed, where the accounted yield moved by a tenth of its uncertainty or more, or that by a quarter.
    pub fn moved_from(&self, before: &Self) -> Option<String> {
        let (a, b) = (before.overall.as_ref()?, self.overall.as_ref()?);
        let (less, more) =
            (a.standard_uncertainty.min(b.standard_uncertainty), a.standard_uncertainty.max(b.standard_uncertainty));
        let seen = (a.mean - b.mean).abs() > 0.1 * less || more > 1.25 * less;
        let told = |told: &Told| number::percent_bare(&told.interval());
        seen.then(|| format!("What was changed last moved the accounted yield from {} to {}\u{a0}%.", told(a), told(b)))
    }
}

/// When something was read last.
pub fn last_entry(preparation: &Preparation) -> Option<String> {
    preparation.steps.iter().flat_map(|s| &s.readings).filter_map(|r| r.at.clone()).max()
}

/// The bottles of a preparation, with what is left in each.
pub fn bottles(preparation: &Preparation, left: impl Fn(&str) -> Option<String>) -> Vec<Bottle> {
    let supplies = preparation.supplies.iter().filter(|s| s.name.value != prep::model::WATER);
    let one = |supply: &Supply| Bottle {
        name: supply.name.value.clone(),
        label: supply.label.clone(),
        holds: holds(supply),
        left: left(&supply.name.value),
        opened: supply.opened.clone(),
        hazards: hazards(supply),
    };
    supplies.map(one).collect()
}

fn holds(supply: &Supply) -> String {
    let names: Vec<String> = supply.holds.iter().map(|species| species.value.to_string()).collect();
    let (low, high) = supply.assay.bounds();
    let range = if supply.assay_stated {
        format!(", {}\u{a0}%", number::ends(100.0 * low, (100.0 * high).min(100.0)))
    } else {
        String::new()
    };
    format!("{}{range}", names.join(" or "))
}

/// Signal word, statements, pictograms and what a mixture leaves open, as a label has them.
fn hazards(supply: &Supply) -> Vec<String> {
    let mut told: Vec<String> = Vec::new();
    let mut tell = |line: String| {
        if !told.contains(&line) {
            told.push(line);
        }
    };
    for hazard in prep::screen::hazards_of_supply(supply) {
        hazard.signal.into_iter().for_each(|word| tell(word.to_owned()));
        hazard.statements.iter().for_each(|(code, phrase)| tell(format!("{code} {phrase}")));
        if !hazard.pictograms.is_empty() {
            tell(format!("Pictograms: {}", hazard.signs().join(", ")));
        }
        hazard.remarks.into_iter().for_each(&mut tell);
    }
    told
}
