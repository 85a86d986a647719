//! `furnace "CaCO3(s)" --at … --depth …`: when is the middle of a heated bed done?

use super::figure::Drawn;
use super::wrong;
use crate::output::{self, Exit, Failure};
use prep::ask::FurnaceOptions;

/// What the command line says.
#[derive(Debug, clap::Args)]
pub struct Options {
    /// The solid
    #[arg(value_name = "SUBSTANCE")]
    solid: String,
    /// Temperature of the furnace
    #[arg(long, value_name = "TEMPERATURE")]
    at: Option<String>,
    /// Depth of a layer heated from above
    #[arg(long, value_name = "LENGTH")]
    depth: Option<String>,
    /// The layer is heated from both sides
    #[arg(long, requires = "depth")]
    both: bool,
    /// Width of a crucible heated from around, instead of a depth
    #[arg(long, value_name = "LENGTH")]
    diameter: Option<String>,
    /// Time asked about
    #[arg(long, value_name = "TIME")]
    time: Option<String>,
    /// Bulk density; 1 g/mL if not given
    #[arg(long, value_name = "DENSITY")]
    density: Option<String>,
    /// Conductivity of the bed in W/(m K); 0.1 to 0.4 if not given
    #[arg(long, value_name = "NUMBER")]
    conductivity: Option<String>,
    /// Frequency factor in 1/s, with --energy; as fast as heat arrives if not given
    #[arg(long, value_name = "NUMBER", requires = "energy")]
    frequency: Option<String>,
    /// Activation energy, for instance "180 kJ/mol"
    #[arg(long, value_name = "ENERGY", requires = "frequency")]
    energy: Option<String>,
    /// Law of the rate: "first order", "contracting area", "contracting volume", "nucleation", "diffusion"
    #[arg(long, value_name = "LAW")]
    law: Option<String>,
    /// In what it is heated; its own gas if not given
    #[arg(long = "in", value_name = "SURROUNDINGS")]
    surroundings: Option<String>,
    #[command(flatten)]
    drawn: Drawn,
}

/// Prints when the middle is done.
pub fn run(options: &Options, json: bool) -> Result<Exit, Failure> {
    let asked = FurnaceOptions {
        at: options.at.as_deref(),
        depth: options.depth.as_deref(),
        both: options.both,
        diameter: options.diameter.as_deref(),
        time: options.time.as_deref(),
        density: options.density.as_deref(),
        conductivity: options.conductivity.as_deref(),
        frequency: options.frequency.as_deref(),
        energy: options.energy.as_deref(),
        law: options.law.as_deref(),
        surroundings: options.surroundings.as_deref(),
    };
    let answer = match prep::ask::furnace(&options.solid, &asked) {
        Ok(answer) => answer,
        Err(findings) => return wrong(&findings, &[], "furnace", json),
    };
    if let Some(exit) = options.drawn.write(|| report::figure::furnace_figures(&answer), json)? {
        return Ok(exit);
    }
    if json {
        output::print_json(&report::json::furnace(&answer))?;
    } else {
        output::print(&report::text::render(&report::document::furnace_document(&answer), output::page()))?;
    }
    Ok(Exit::Done)
}
