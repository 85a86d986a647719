//! `reaction "…" [--at …]`: what are its coefficients, its heat, and which way does it run?

use super::{any_error, wrong};
use crate::output::{self, Exit, Failure};
use clap::Args;
use prep::ask::ReactionOptions;

/// What the command line says.
#[derive(Debug, Args)]
pub struct Options {
    /// Reaction, for instance "Fe2O3(s) + Al(s) -> Fe(s) + Al2O3(s)"
    reaction: String,
    /// Temperature; 25 °C if not given
    #[arg(long, value_name = "TEMPERATURE")]
    at: Option<String>,
    /// Pressure of a gas, for instance "CO2 0.0004 bar"; 1 bar if not given
    #[arg(long = "gas", value_name = "PRESSURE")]
    gases: Vec<String>,
    /// Form of a species, for instance "SiO2(s) = cristobalite"; the stable one if not given
    #[arg(long = "form", value_name = "FORM")]
    forms: Vec<String>,
    /// Lowest temperature of a table
    #[arg(long, value_name = "TEMPERATURE", requires = "to")]
    from: Option<String>,
    /// Highest temperature of a table
    #[arg(long, value_name = "TEMPERATURE", requires = "from")]
    to: Option<String>,
}

/// Prints the balanced reaction with its heat, or why there is none.
pub fn run(options: &Options, json: bool) -> Result<Exit, Failure> {
    let looked_at = ReactionOptions {
        at: options.at.as_deref(),
        gases: &options.gases,
        forms: &options.forms,
        from: options.from.as_deref(),
        to: options.to.as_deref(),
    };
    let answer = match prep::ask::reaction_with(&options.reaction, &looked_at) {
        Ok(answer) => answer,
        Err(findings) => return wrong(&findings, options.reaction.as_bytes(), "reaction", json),
    };
    if json {
        output::print_json(&report::json::reaction(&answer))?;
    } else {
        output::print(&report::text::render(&report::document::reaction_document(&answer), output::page()))?;
    }
    Ok(if any_error(&answer.findings) { Exit::InputWrong } else { Exit::Done })
}
