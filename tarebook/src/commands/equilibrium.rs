//! `equilibrium "…" --at …`: what is there when nothing more can happen?

use super::figure::Drawn;
use super::wrong;
use crate::output::{self, Exit, Failure};
use prep::ask::EquilibriumOptions;

/// What the command line says.
#[derive(Debug, clap::Args)]
pub struct Options {
    /// What is brought together: "CaCO3(s) 1 mol" "air 2 L"; a mole where no amount stands
    #[arg(required = true, value_name = "SUBSTANCE AMOUNT")]
    lots: Vec<String>,
    /// Temperature
    #[arg(long, value_name = "TEMPERATURE")]
    at: Option<String>,
    /// Pressure; 1 atm if neither it nor --volume is given
    #[arg(long, value_name = "PRESSURE")]
    pressure: Option<String>,
    /// Closed gas space, instead of a pressure
    #[arg(long, value_name = "VOLUME")]
    volume: Option<String>,
    /// No exchange of heat, instead of a temperature
    #[arg(long)]
    adiabatic: bool,
    /// Temperature before; 25 °C if not given
    #[arg(long, value_name = "TEMPERATURE")]
    from: Option<String>,
    /// Only these take part; all of the elements if not given
    #[arg(long, value_name = "SPECIES")]
    only: Vec<String>,
    /// These take no part, for instance what is too slow to form
    #[arg(long, value_name = "SPECIES")]
    without: Vec<String>,
    /// Temperatures from cold to hot, "25 .. 1400 °C", for the figure
    #[arg(long, value_name = "LOW .. HIGH")]
    sweep: Option<String>,
    #[command(flatten)]
    drawn: Drawn,
}

/// Prints the state.
pub fn run(options: &Options, json: bool) -> Result<Exit, Failure> {
    let asked = EquilibriumOptions {
        at: options.at.as_deref(),
        pressure: options.pressure.as_deref(),
        volume: options.volume.as_deref(),
        adiabatic: options.adiabatic,
        sweep: options.sweep.as_deref(),
        from: options.from.as_deref(),
        only: &options.only,
        without: &options.without,
    };
    let answer = match prep::ask::equilibrium(&options.lots, &asked) {
        Ok(answer) => answer,
        Err(findings) => return wrong(&findings, &[], "equilibrium", json),
    };
    if let Some(exit) = options.drawn.write(|| report::figure::equilibrium_figures(&answer), json)? {
        return Ok(exit);
    }
    if json {
        output::print_json(&report::json::equilibrium(&answer))?;
    } else {
        output::print(&report::text::render(&report::document::equilibrium_document(&answer), output::page()))?;
    }
    Ok(Exit::Done)
}
