//! `wash`: what do washings leave, and which plan reaches a goal?

use super::figure::Drawn;
use super::wrong;
use crate::output::{self, Exit, Failure};
use prep::ask::WashOptions;

/// The options of the command.
#[derive(Debug, clap::Args)]
pub struct Options {
    /// Liquor that the cake holds
    #[arg(long, value_name = "VOLUME")]
    held: Option<String>,
    /// Mass of the wet cake, with --dry instead of --held
    #[arg(long, value_name = "MASS", requires = "dry")]
    wet: Option<String>,
    /// Mass of the dry cake
    #[arg(long, value_name = "MASS", requires = "wet")]
    dry: Option<String>,
    /// Density of the liquor; 1 g/mL if not given
    #[arg(long, value_name = "DENSITY")]
    density: Option<String>,
    /// What the liquor holds of what is to be washed out, for instance "55.7 g/L"
    #[arg(long, value_name = "STRENGTH")]
    liquor: Option<String>,
    /// Its name
    #[arg(long, value_name = "SUBSTANCE")]
    of: Option<String>,
    /// Washes, for instance "4 x 100 mL"
    #[arg(long, value_name = "N x VOLUME")]
    washes: Option<String>,
    /// Mass of the dry product
    #[arg(long, value_name = "MASS")]
    product: Option<String>,
    /// Solubility of the product in the wash liquor, for instance "6.7 mg/L"
    #[arg(long, value_name = "SOLUBILITY")]
    solubility: Option<String>,
    /// Efficiency of mixing, 0 to 1; 1 if not given, 0.5 to 0.9 in a filter
    #[arg(long, value_name = "SHARE")]
    efficiency: Option<String>,
    /// What may be left: a share of the product, or a mass
    #[arg(long, value_name = "AMOUNT")]
    target: Option<String>,
    /// Reading of a wash, such as its conductivity less that of the water; once for each, with --washes for the volume
    #[arg(long = "reading", value_name = "NUMBER")]
    readings: Vec<String>,
    #[command(flatten)]
    drawn: Drawn,
}

/// Prints what the washings leave.
pub fn run(options: &Options, json: bool) -> Result<Exit, Failure> {
    let readings: Vec<&str> = options.readings.iter().map(String::as_str).collect();
    let asked = WashOptions {
        held: options.held.as_deref(),
        wet: options.wet.as_deref(),
        dry: options.dry.as_deref(),
        density: options.density.as_deref(),
        liquor: options.liquor.as_deref(),
        of: options.of.as_deref(),
        washes: options.washes.as_deref(),
        product: options.product.as_deref(),
        solubility: options.solubility.as_deref(),
        efficiency: options.efficiency.as_deref(),
        target: options.target.as_deref(),
        readings: &readings,
    };
    let answer = match prep::ask::wash(&asked) {
        Ok(answer) => answer,
        Err(findings) => return wrong(&findings, &[], "wash", json),
    };
    if let Some(exit) = options.drawn.write(|| report::figure::wash_figures(&answer), json)? {
        return Ok(exit);
    }
    if json {
        output::print_json(&report::json::wash(&answer))?;
    } else {
        output::print(&report::text::render(&report::document::wash_document(&answer), output::page()))?;
    }
    Ok(Exit::Done)
}
