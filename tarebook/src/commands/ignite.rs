//! `ignite "…" --in air`: what does a solid become when it is heated?

use super::figure::Drawn;
use super::wrong;
use crate::output::{self, Exit, Failure};
use prep::ask::IgniteOptions;

/// What the command line says.
#[derive(Debug, clap::Args)]
pub struct Options {
    /// The solid, or what the lot holds: "CaC2O4·H2O(s) 10 g"; a mole where no amount stands
    #[arg(required = true, value_name = "SUBSTANCE AMOUNT")]
    lots: Vec<String>,
    /// In what: air, own gas, carbon dioxide, nitrogen, argon, hydrogen, carbon monoxide, carbon
    #[arg(long = "in", value_name = "SURROUNDINGS")]
    surroundings: Option<String>,
    /// Temperature at which the residue is asked about
    #[arg(long, value_name = "TEMPERATURE")]
    at: Option<String>,
    /// Lowest temperature; 25 °C if not given
    #[arg(long, value_name = "TEMPERATURE")]
    from: Option<String>,
    /// Highest temperature; 1400 °C if not given
    #[arg(long, value_name = "TEMPERATURE")]
    to: Option<String>,
    /// What was left at that temperature, a mass or a share: "6.85 g", "68.5 ± 0.1 %"
    #[arg(long, value_name = "AMOUNT", requires = "at")]
    found: Option<String>,
    #[command(flatten)]
    drawn: Drawn,
}

/// Prints what is stable where, the steps of loss, and the levels of mass.
pub fn run(options: &Options, json: bool) -> Result<Exit, Failure> {
    let asked = IgniteOptions {
        surroundings: options.surroundings.as_deref(),
        from: options.from.as_deref(),
        to: options.to.as_deref(),
        at: options.at.as_deref(),
        found: options.found.as_deref(),
    };
    let answer = match prep::ask::ignite(&options.lots, &asked) {
        Ok(answer) => answer,
        Err(findings) => return wrong(&findings, &[], "ignite", json),
    };
    if let Some(exit) = options.drawn.write(|| report::figure::ignite_figures(&answer), json)? {
        return Ok(exit);
    }
    if json {
        output::print_json(&report::json::ignite(&answer))?;
    } else {
        output::print(&report::text::render(&report::document::ignite_document(&answer), output::page()))?;
    }
    Ok(Exit::Done)
}
