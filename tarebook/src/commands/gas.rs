//! `gas "…"`: how much comes off, what is it in the room, and is the air out of the tube?

use super::wrong;
use crate::output::{self, Exit, Failure};
use prep::ask::GasOptions;

/// The options of the command.
#[derive(Debug, clap::Args)]
pub struct Options {
    /// Reaction, for instance "CaCO3(s) + 2 HCl(aq) -> CaCl2(aq) + CO2(g) + H2O(l)"; without it --take names the gas
    reaction: Option<String>,
    /// What is taken, for instance "10 g CaCO3"
    #[arg(long = "take", value_name = "AMOUNT SPECIES")]
    take: Vec<String>,
    /// Temperature of the gas; 25 °C if not given
    #[arg(long, value_name = "TEMPERATURE")]
    at: Option<String>,
    /// Time over which it comes
    #[arg(long, value_name = "TIME")]
    over: Option<String>,
    /// Room; 10 m3 if not given
    #[arg(long, value_name = "VOLUME")]
    room: Option<String>,
    /// Air changes of the room in an hour: how long to air it
    #[arg(long, value_name = "NUMBER")]
    air_changes: Option<String>,
    /// Free space of a vessel that somebody might close
    #[arg(long, value_name = "VOLUME")]
    free: Option<String>,
    /// Liquid in that vessel
    #[arg(long, value_name = "VOLUME", requires = "free")]
    liquid: Option<String>,
    /// Volume of a tube swept with inert gas
    #[arg(long, value_name = "VOLUME")]
    tube: Option<String>,
    /// Flow of that gas, for instance "0.2 L/min"
    #[arg(long, value_name = "FLOW", requires = "tube")]
    flow: Option<String>,
    /// How long it was swept
    #[arg(long, value_name = "TIME", requires = "flow")]
    swept: Option<String>,
    /// Oxygen that may be left; 0.1 % if not given
    #[arg(long, value_name = "SHARE", requires = "tube")]
    oxygen: Option<String>,
}

/// Prints the gas.
pub fn run(options: &Options, json: bool) -> Result<Exit, Failure> {
    let take: Vec<&str> = options.take.iter().map(String::as_str).collect();
    let asked = GasOptions {
        take: &take,
        at: options.at.as_deref(),
        over: options.over.as_deref(),
        room: options.room.as_deref(),
        air_changes: options.air_changes.as_deref(),
        free: options.free.as_deref(),
        liquid: options.liquid.as_deref(),
        tube: options.tube.as_deref(),
        flow: options.flow.as_deref(),
        swept: options.swept.as_deref(),
        oxygen: options.oxygen.as_deref(),
    };
    let answer = match prep::ask::gas(options.reaction.as_deref(), &asked) {
        Ok(answer) => answer,
        Err(findings) => {
            let text = options.reaction.as_deref().unwrap_or_default();
            return wrong(&findings, text.as_bytes(), "gas", json);
        }
    };
    if json {
        output::print_json(&report::json::gas(&answer))?;
    } else {
        output::print(&report::text::render(&report::document::gas_question_document(&answer), output::page()))?;
    }
    Ok(Exit::Done)
}
