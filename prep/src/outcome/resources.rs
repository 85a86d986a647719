//! Money, stock, time and vessels, as printed.
//!
//! Money has the code of its currency for a unit; times are minutes from the start; stock has the unit in which it was
//! stated: g, mL or units.

use super::Interval;

/// What one supply costs in this preparation.
#[derive(Clone, Debug, PartialEq)]
pub struct SupplyCost {
    /// Supply.
    pub supply: String,
    /// What is charged of it in all, g.
    pub charged: Interval,
    /// What is bought, as written.
    pub pack: String,
    /// Its price, as written.
    pub price: String,
    /// Cost of what is charged.
    pub cost: Interval,
}

/// What the charges cost.
#[derive(Clone, Debug, PartialEq)]
pub struct Cost {
    /// Currency of the file.
    pub currency: &'static str,
    /// Decimals of its smaller unit.
    pub decimals: u8,
    /// Supplies with a price.
    pub supplies: Vec<SupplyCost>,
    /// All of them together; at least this much where some have no price.
    pub total: Interval,
    /// Supplies that are charged and have no price.
    pub unpriced: Vec<String>,
    /// Whether water is charged that is not listed: it counts as free.
    pub free_water: bool,
}

/// Money in the part of the element that is not in the product.
#[derive(Clone, Debug, PartialEq)]
pub struct LostCost {
    /// Element that carries the share.
    pub element: String,
    /// Supplies that bring it and have a price.
    pub supplies: Vec<String>,
    /// Supplies that bring it and have none.
    pub unpriced: Vec<String>,
    /// Cost of what was charged of those with a price.
    pub charged: Interval,
    /// Its share outside the product.
    pub not_in_product: Interval,
    /// The same by stream.
    pub streams: Vec<(&'static str, Interval)>,
}

/// What the preparation cost, and what for.
#[derive(Clone, Debug, PartialEq)]
pub struct AccountCost {
    /// What was charged.
    pub charges: Cost,
    /// Lot that is the product.
    pub product: Option<String>,
    /// Cost for each gram of it.
    pub per_gram: Option<Interval>,
    /// What went elsewhere with the element.
    pub lost: Option<LostCost>,
}

/// What is left of a supply.
#[derive(Clone, Debug, PartialEq)]
pub struct StockLine {
    /// Supply.
    pub supply: String,
    /// What was there before, as written.
    pub stated: String,
    /// The same.
    pub before: Interval,
    /// What all steps use.
    pub used: Interval,
    /// What remains, nothing at the least.
    pub remains: Interval,
    /// Probability that it runs out.
    pub runs_out: f64,
}

/// When a step can be done.
#[derive(Clone, Debug, PartialEq)]
pub struct TimedStep {
    /// Name.
    pub step: String,
    /// Earliest start, min from the beginning.
    pub start: Interval,
    /// End, min from the beginning.
    pub end: Interval,
    /// Time with hands on it from its start, min.
    pub hands: Interval,
    /// When hands are free again, min from the beginning.
    pub hands_until: Interval,
    /// Steps that it waits for.
    pub after: Vec<String>,
}

/// The run of a preparation in time, for one pair of hands.
#[derive(Clone, Debug, PartialEq)]
pub struct Timeline {
    /// Steps with a duration, in the order of the file.
    pub steps: Vec<TimedStep>,
    /// From beginning to end, min.
    pub elapsed: Interval,
    /// Time with hands on, min.
    pub hands: Interval,
    /// Steps without a duration, counted as nothing.
    pub untimed: Vec<String>,
}

/// Time between the last readings of two steps.
#[derive(Clone, Debug, PartialEq)]
pub struct Timing {
    /// Earlier step.
    pub from: String,
    /// Later step.
    pub to: String,
    /// Time that went by, min.
    pub found: f64,
    /// Time between their ends by the plan, min.
    pub planned: Interval,
}

/// What is in the vessel of a step when all that it takes is together.
#[derive(Clone, Debug, PartialEq)]
pub struct FilledVessel {
    /// Vessel.
    pub vessel: String,
    /// Volume of its contents, mL.
    pub volume: Interval,
    /// Capacity, mL, if stated.
    pub capacity: Option<f64>,
    /// What limits the filling, in words.
    pub situation: &'static str,
    /// Fraction of the capacity that may be filled then.
    pub fraction: f64,
    /// Source of that rule.
    pub source: &'static str,
}
