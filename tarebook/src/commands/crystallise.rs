//! `crystallise SUBSTANCE`: what crystallises on cooling, and where the water goes?

use super::figure::Drawn;
use super::wrong;
use crate::output::{self, Exit, Failure};
use prep::ask::CrystalliseOptions;

/// The options of the command.
#[derive(Debug, clap::Args)]
pub struct Options {
    /// Salt, with or without its water of crystallisation
    substance: String,
    /// Temperature at which it is dissolved
    #[arg(long, value_name = "TEMPERATURE")]
    from: String,
    /// Temperature it is cooled to
    #[arg(long, value_name = "TEMPERATURE")]
    to: String,
    /// Mass of the salt as named; as much as dissolves if not given
    #[arg(long, value_name = "MASS")]
    salt: Option<String>,
    /// Water it is dissolved in, beside that of its crystals; 100 g if not given
    #[arg(long, value_name = "AMOUNT")]
    water: Option<String>,
    /// Water boiled off before cooling, a mass or a share
    #[arg(long, value_name = "AMOUNT")]
    evaporate: Option<String>,
    /// Share of the liquor's water that is boiled off for a second crop
    #[arg(long, value_name = "SHARE")]
    second: Option<String>,
    /// Liquor that clings to the crystals, a share of their mass
    #[arg(long, value_name = "SHARE")]
    held: Option<String>,
    /// Something else in the solution that stays dissolved, for instance "NaCl 5 g"
    #[arg(long, value_name = "SUBSTANCE")]
    impurity: Option<String>,
    #[command(flatten)]
    drawn: Drawn,
}

/// Prints the balance.
pub fn run(options: &Options, json: bool) -> Result<Exit, Failure> {
    let asked = CrystalliseOptions {
        substance: &options.substance,
        from: &options.from,
        to: &options.to,
        salt: options.salt.as_deref(),
        water: options.water.as_deref(),
        evaporate: options.evaporate.as_deref(),
        second: options.second.as_deref(),
        held: options.held.as_deref(),
        impurity: options.impurity.as_deref(),
    };
    let answer = match prep::ask::crystallise(&asked) {
        Ok(answer) => answer,
        Err(findings) => return wrong(&findings, &[], "crystallise", json),
    };
    if let Some(exit) = options.drawn.write(|| report::figure::crystallise_figures(&answer), json)? {
        return Ok(exit);
    }
    if json {
        output::print_json(&report::json::crystallise(&answer))?;
    } else {
        output::print(&report::text::render(&report::document::crystallise_document(&answer), output::page()))?;
    }
    Ok(Exit::Done)
}
