//! `titrate VOLUME…`: how strong is this titrant, or what is in this sample?

use super::wrong;
use crate::output::{self, Exit, Failure};
use prep::ask::Titration;

/// The options of the command.
#[derive(Debug, clap::Args)]
pub struct Options {
    /// Titres: volumes of titrant, one for each titration
    #[arg(required = true, value_name = "VOLUME")]
    titres: Vec<String>,
    /// Strength of the titrant, for instance "0.1000 ± 0.0002 mol/L"
    #[arg(long, value_name = "STRENGTH")]
    titrant: Option<String>,
    /// Standard that the titrant is standardised with, a formula
    #[arg(long, value_name = "FORMULA")]
    standard: Option<String>,
    /// Mass of standard or of sample
    #[arg(long, value_name = "MASS")]
    weighed: Option<String>,
    /// Purity of the standard, for instance "99.9 .. 100 %"
    #[arg(long, value_name = "SHARE")]
    purity: Option<String>,
    /// What is determined: an element or a formula
    #[arg(long, value_name = "SUBSTANCE")]
    of: Option<String>,
    /// Moles of what is titrated to moles of titrant, for instance 5:2
    #[arg(long, value_name = "N:M")]
    ratio: Option<String>,
    /// Part of the dissolved sample that was titrated, for instance "25.00 mL of 250.0 mL"
    #[arg(long, value_name = "PART")]
    aliquot: Option<String>,
    /// Volume of a blank
    #[arg(long, value_name = "VOLUME")]
    blank: Option<String>,
    /// Burette, for instance "50 mL" or "25 mL A"
    #[arg(long, value_name = "WARE")]
    burette: Option<String>,
}

/// Prints what the titres say.
pub fn run(options: &Options, json: bool) -> Result<Exit, Failure> {
    let titres: Vec<&str> = options.titres.iter().map(String::as_str).collect();
    let asked = Titration {
        titres: &titres,
        blank: options.blank.as_deref(),
        titrant: options.titrant.as_deref(),
        standard: options.standard.as_deref(),
        weighed: options.weighed.as_deref(),
        purity: options.purity.as_deref(),
        of: options.of.as_deref(),
        ratio: options.ratio.as_deref(),
        aliquot: options.aliquot.as_deref(),
        burette: options.burette.as_deref(),
    };
    let answer = match prep::ask::titrate(&asked) {
        Ok(answer) => answer,
        Err(findings) => return wrong(&findings, &[], "titrate", json),
    };
    if json {
        output::print_json(&report::json::titrate(&answer))?;
    } else {
        output::print(&report::text::render(&report::document::titrate_document(&answer), output::page()))?;
    }
    Ok(Exit::Done)
}
