//! What is usual where the file says nothing: losses by action, balances by class, priors of fractions.
//!
//! Tables in `data/`, each row with its source. The ranges of fractions are 5 % and 95 % points of a distribution
//! that reaches down to nothing; films and what is picked up are exponential. Work without loss is unusual, not impossible:
//! no composition is called excluded because a usual loss did not happen.

use crate::model::{Action, ForeignKind, Knowledge};
use std::sync::LazyLock;

const LOSSES: &str = include_str!("../../data/losses.tsv");
const BALANCES: &str = include_str!("../../data/balances.tsv");

/// Largest mass fraction of loose water considered in a lot that may hold `H2O(l)`; estimated.
pub const MOST_MOISTURE: f64 = 0.10;
/// Shape of the prior of a conversion: Beta(200, 1), median 99.7 %; estimated.
pub const CONVERSION_SHAPE: f64 = 200.0;
/// Shape of the prior of the fraction of solids that passes a filter: Beta(1, 400), median 0.17 %; estimated.
pub const PASSES_SHAPE: f64 = 400.0;
/// Fraction of the soluble part that a leach extracts; common practice (0.5 to 5 % stays behind).
pub const EXTRACTED: (f64, f64) = (0.95, 0.995);
/// Fraction of the solids that runs off at each decantation, 5 % to 95 %; common practice.
pub const DECANTED_FINES: (f64, f64) = (0.001, 0.005);
/// Liquor left over settled solids for each kg of them, 5 % to 95 %; estimated (gelatinous solids settle worse: state
/// `held_liquor`).
pub const HELD_BY_SEDIMENT: (f64, f64) = (2.0, 10.0);
/// Fraction of a dissolved salt that separates as crystals in one crop; common practice (20 to 60 % stays in the liquor).
pub const FIRST_CROP: (f64, f64) = (0.4, 0.8);
/// Largest share of a cake that one wash is taken to dissolve; estimated.
pub const MOST_WASHED: f64 = 0.5;
/// Liquor that a wet paper and funnel hold, kg, 5 % to 95 %; estimated.
pub const HELD_BY_PAPER: (f64, f64) = (0.002, 0.010);
/// Liquor held by a drained cake for each kg of dry solids, 5 % to 95 %; estimated (a gelatinous precipitate
/// holds more: state `held_liquor`).
pub const HELD_BY_SOLIDS: (f64, f64) = (0.5, 3.0);
/// Width of the prior of an unweighed vessel's mass, relative to the first figure it shows; estimated.
pub const VESSEL_WIDTH: f64 = 0.05;
/// How closely a portion of a stated mass is taken, relative; estimated.
pub const PORTION_AIM: f64 = 0.02;
/// How much more than usual may be lost where something went wrong; estimated.
pub const UNUSUAL: f64 = 20.0;
/// Prior probability that far more was lost than usual somewhere; estimated.
pub const UNUSUAL_LOSS: f64 = 0.05;
/// Width of the prior of a portion or charge about the figure that records it, relative; wide enough to say nothing.
pub const RECORDED_WIDTH: f64 = 0.1;

/// What is lost or held back where the file says nothing.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum Usual {
    /// Film that stays in the old vessel, kg.
    Film,
    /// Share that is lost.
    Fraction,
    /// Share of the solids that passes a filter or runs off.
    Passes,
    /// Liquor that paper and funnel hold, kg.
    HeldByPaper,
    /// Liquor held by each kg of solids.
    HeldBySolids,
}

impl Usual {
    /// In words.
    #[must_use]
    pub fn words(self) -> &'static str {
        match self {
            Self::Film => "film left behind",
            Self::Fraction => "share lost",
            Self::Passes => "share of the solids that passes",
            Self::HeldByPaper => "liquor held by the paper",
            Self::HeldBySolids => "liquor held per gram of solids",
        }
    }

    /// Unit for people, with the factor from SI.
    #[must_use]
    pub fn unit(self) -> (&'static str, f64) {
        match self {
            Self::Film | Self::HeldByPaper => ("g", 1e3),
            Self::Fraction | Self::Passes => ("%", 1e2),
            Self::HeldBySolids => ("g/g", 1.0),
        }
    }
}

/// What earlier preparations of the user say of a usual loss.
#[derive(Clone, Debug, PartialEq)]
pub struct OwnLoss {
    /// Action.
    pub action: Action,
    /// How it is done.
    pub by: Option<String>,
    /// What is lost.
    pub what: Usual,
    /// The default: 5 % and 95 % point.
    pub default: (f64, f64),
    /// Learned: 5 % and 95 % point.
    pub learned: (f64, f64),
    /// Median of the default and as learned.
    pub medians: (f64, f64),
    /// Times that the action was done.
    pub runs: usize,
    /// Of these, those whose readings say something of it.
    pub telling: usize,
}

impl OwnLoss {
    /// As a prior.
    #[must_use]
    pub fn knowledge(&self) -> Knowledge {
        let (low, high) = self.learned;
        let high = high.max(1e-12);
        Knowledge::Usually { low: low.clamp(1e-6 * high, 0.99 * high), high }
    }
}

/// Usual losses of an action.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct UsualLoss {
    /// Film, kg.
    pub film: Knowledge,
    /// Fraction.
    pub fraction: Knowledge,
    /// Foreign matter that usually comes in: kind and mean mass, kg.
    pub pick_up: Option<(ForeignKind, f64)>,
    /// Source key.
    pub source: &'static str,
}

impl UsualLoss {
    /// The same where something went wrong: up to [`UNUSUAL`] times as much.
    #[must_use]
    pub fn unusual(self) -> Self {
        let more = |known: Knowledge| match known {
            Knowledge::Usually { low, high } => Knowledge::Usually { low, high: (high * UNUSUAL).min(0.5).max(high) },
            Knowledge::About(mean) => Knowledge::About(mean * UNUSUAL),
            other => other,
        };
        Self { film: more(self.film), fraction: more(self.fraction), ..self }
    }
}

struct LossRow {
    action: &'static str,
    by: &'static str,
    loss: UsualLoss,
}

/// A fraction by its range.
fn fraction(low: f64, high: f64) -> Knowledge {
    if high > 0.0 { Knowledge::Usually { low, high } } else { Knowledge::Exact(0.0) }
}

/// A film, kg: exponential with the upper end as its 95 % point, so that none is possible too.
fn film(high: f64) -> Knowledge {
    if high > 0.0 { Knowledge::About(high * 1e-3 / 20f64.ln()) } else { Knowledge::Exact(0.0) }
}

/// Rows of a table without its head, cut at tabs.
fn rows(table: &'static str) -> impl Iterator<Item = Vec<&'static str>> {
    table.lines().skip(1).filter(|line| !line.trim().is_empty()).map(|line| line.split('\t').collect())
}

static LOSS_ROWS: LazyLock<Vec<LossRow>> = LazyLock::new(|| {
    rows(LOSSES)
        .filter_map(|cells| {
            let number = |i: usize| cells.get(i).and_then(|c| c.parse::<f64>().ok());
            let loss = UsualLoss {
                film: film(number(3)?),
                fraction: fraction(number(4)?, number(5)?),
                pick_up: cells.get(6).and_then(|word| ForeignKind::from_word(word)).zip(number(7).map(|g| g * 1e-3)),
                source: cells.get(8)?,
            };
            Some(LossRow { action: cells.first()?, by: cells.get(1)?, loss })
        })
        .collect()
});

/// Ways in which an action may be done, where the usual loss depends on it; the first is the default.
#[must_use]
pub fn ways(action: Action) -> Vec<&'static str> {
    LOSS_ROWS.iter().filter(|row| row.action == action.word() && !row.by.is_empty()).map(|row| row.by).collect()
}

/// The way in which an action is done: as said, else the default of the table.
#[must_use]
pub fn way(action: Action, by: Option<&str>) -> Option<&str> {
    by.map(str::trim).or_else(|| ways(action).first().copied())
}

/// The usual loss of an action.
#[must_use]
pub fn usual(action: Action, by: Option<&str>) -> UsualLoss {
    let mut fitting = LOSS_ROWS.iter().filter(|row| row.action == action.word());
    let first = fitting.next();
    let named = by.and_then(|by| LOSS_ROWS.iter().find(|row| row.action == action.word() && row.by == by));
    named.or(first).map_or(
        UsualLoss { film: Knowledge::Exact(0.0), fraction: Knowledge::Exact(0.0), pick_up: None, source: "estimated" },
        |row| row.loss,
    )
}

/// A class of balances, masses in kg.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct BalanceClass {
    /// Step of the display.
    pub resolution: f64,
    /// Standard deviation of displayed figures.
    pub repeatability: f64,
    /// Standard uncertainty of the slope, relative.
    pub slope: f64,
    /// Standard uncertainty of the curvature at half load.
    pub curvature: f64,
    /// Largest load.
    pub capacity: f64,
    /// Source key.
    pub source: &'static str,
}

static CLASSES: LazyLock<Vec<BalanceClass>> = LazyLock::new(|| {
    rows(BALANCES)
        .filter_map(|cells| {
            let number = |i: usize| cells.get(i).and_then(|c| c.parse::<f64>().ok());
            Some(BalanceClass {
                resolution: number(0)? * 1e-3,
                repeatability: number(1)? * 1e-3,
                slope: number(2)?,
                curvature: number(3)? * 1e-3,
                capacity: number(4)? * 1e-3,
                source: cells.get(5)?,
            })
        })
        .collect()
});

/// The class whose display step is nearest, with its repeatability scaled to the step at hand.
#[must_use]
pub fn balance_class(resolution: f64) -> BalanceClass {
    let distance = |class: &BalanceClass| (class.resolution / resolution).ln().abs();
    let nearest = CLASSES.iter().min_by(|a, b| distance(a).total_cmp(&distance(b))).copied();
    let class = nearest.unwrap_or(BalanceClass {
        resolution,
        repeatability: 2.0 * resolution,
        slope: 5e-4,
        curvature: resolution,
        capacity: 2e4 * resolution,
        source: "estimated",
    });
    let factor = (resolution / class.resolution).max(1.0);
    BalanceClass { resolution, repeatability: class.repeatability * factor, ..class }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_row_is_read() {
        assert_eq!(LOSS_ROWS.len(), rows(LOSSES).count());
        assert_eq!(CLASSES.len(), rows(BALANCES).count());
        for row in LOSS_ROWS.iter() {
            assert!(Action::from_word(row.action).is_some(), "{}", row.action);
            assert!(chem::SourceKey::from_text(row.loss.source).is_some(), "{}", row.loss.source);
        }
    }

    #[test]
    fn suction_loses_more_than_gravity() {
        assert_eq!(ways(Action::Filter), ["gravity", "suction"]);
        let central = |by| usual(Action::Filter, Some(by)).fraction.central();
        assert!(central("suction") > central("gravity"));
    }

    #[test]
    fn classes_follow_the_display() {
        assert!((balance_class(1e-5).repeatability - 1.5e-5).abs() < 1e-12);
        assert!((balance_class(2e-5).repeatability - 3e-5).abs() < 1e-12);
    }
}
