//! `reaction "…"`: what are its coefficients, what heat does it release, and which way can it run?

use super::figure::Drawn;
use super::{any_error, wrong};
use crate::output::{self, Exit, Failure};
use prep::ask::ReactionOptions;

/// The options of the command.
#[derive(Debug, clap::Args)]
pub struct Options {
    /// Reaction, for instance "Fe2O3(s) + Al(s) -> Fe(s) + Al2O3(s)"
    reaction: String,
    /// Temperature; 25 °C if not given
    #[arg(long, value_name = "TEMPERATURE")]
    at: Option<String>,
    /// Pressure of a gas, for instance "CO2 0.0004 bar"; 1 bar if not given. May be repeated
    #[arg(long = "gas", value_name = "GAS PRESSURE")]
    gases: Vec<String>,
    /// Crystal form of a species, for instance "SiO2(s) = β-cristobalite"; the stable one if not given. May be repeated
    #[arg(long = "form", value_name = "SPECIES = FORM")]
    forms: Vec<String>,
    /// Lowest temperature of a table of values
    #[arg(long, value_name = "TEMPERATURE", requires = "to")]
    from: Option<String>,
    /// Highest temperature of a table of values
    #[arg(long, value_name = "TEMPERATURE", requires = "from")]
    to: Option<String>,
    /// Reaction whose Gibbs energy is held against it, for each mole of the gas both share. May be repeated
    #[arg(long, value_name = "REACTION")]
    beside: Vec<String>,
    /// Hold it against the usual metals with their oxides, carbon and hydrogen
    #[arg(long)]
    pairs: bool,
    #[command(flatten)]
    drawn: Drawn,
}

/// Prints the balanced reaction with its heat, or why there is none.
pub fn run(options: &Options, json: bool) -> Result<Exit, Failure> {
    let asked = ReactionOptions {
        at: options.at.as_deref(),
        gases: &options.gases,
        forms: &options.forms,
        from: options.from.as_deref(),
        to: options.to.as_deref(),
        beside: &options.beside,
        pairs: options.pairs,
    };
    let answer = match prep::ask::reaction_with(&options.reaction, &asked) {
        Ok(answer) => answer,
        Err(findings) => return wrong(&findings, options.reaction.as_bytes(), "reaction", json),
    };
    if let Some(exit) = options.drawn.write(|| report::figure::reaction_figures(&answer), json)? {
        return Ok(exit);
    }
    if json {
        output::print_json(&report::json::reaction(&answer))?;
    } else {
        output::print(&report::text::render(&report::document::reaction_document(&answer), output::page()))?;
    }
    Ok(if any_error(&answer.findings) { Exit::InputWrong } else { Exit::Done })
}
