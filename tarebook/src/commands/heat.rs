//! `heat "…"`: how hot does it get with these amounts, and how fast may it be added?

use super::wrong;
use crate::output::{self, Exit, Failure};
use prep::ask::HeatOptions;

/// The options of the command.
#[derive(Debug, clap::Args)]
pub struct Options {
    /// Reaction, for instance "CaO(s) + H2O(l) -> Ca(OH)2(s)"
    reaction: String,
    /// What is taken, for instance "28 g CaO", the one that is added first; what is not named is there in plenty
    #[arg(long = "take", value_name = "AMOUNT SPECIES", required = true)]
    take: Vec<String>,
    /// Mass of the liquid it goes into; without it, how hot the dry products get
    #[arg(long, value_name = "MASS")]
    into: Option<String>,
    /// Heat capacity of the liquid; that of water if not given
    #[arg(long, value_name = "CAPACITY", requires = "into")]
    capacity: Option<String>,
    /// Temperature of the liquid; 25 °C if not given
    #[arg(long, value_name = "TEMPERATURE", requires = "into")]
    from: Option<String>,
    /// Boiling point of the liquid; 100 °C if not given
    #[arg(long, value_name = "TEMPERATURE", requires = "into")]
    boils: Option<String>,
    /// Cooling, for instance "100 W": how fast may it be added
    #[arg(long, value_name = "POWER", requires = "into")]
    cooling: Option<String>,
}

/// Prints the heat.
pub fn run(options: &Options, json: bool) -> Result<Exit, Failure> {
    let take: Vec<&str> = options.take.iter().map(String::as_str).collect();
    let asked = HeatOptions {
        take: &take,
        into: options.into.as_deref(),
        capacity: options.capacity.as_deref(),
        from: options.from.as_deref(),
        boils: options.boils.as_deref(),
        cooling: options.cooling.as_deref(),
    };
    let answer = match prep::ask::heat(&options.reaction, &asked) {
        Ok(answer) => answer,
        Err(findings) => return wrong(&findings, options.reaction.as_bytes(), "heat", json),
    };
    if json {
        output::print_json(&report::json::heat(&answer))?;
    } else {
        output::print(&report::text::render(&report::document::heat_question_document(&answer), output::page()))?;
    }
    Ok(Exit::Done)
}
