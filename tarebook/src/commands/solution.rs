//! `solution SUBSTANCE…`: what is in this solution, and what does it take to change it?

use super::figure::Drawn;
use super::wrong;
use crate::output::{self, Exit, Failure};
use prep::ask::SolutionOptions;

/// The options of the command.
#[derive(Debug, clap::Args)]
pub struct Options {
    /// What is dissolved, with its amount: "CuSO4 0.4 mol/kg", "CuSO4·5H2O 25 g"
    #[arg(required = true, value_name = "SUBSTANCE")]
    substances: Vec<String>,
    /// Temperature, 0 to 100 °C; 25 °C if not given
    #[arg(long, value_name = "TEMPERATURE")]
    at: Option<String>,
    /// Water it is dissolved in, a mass or a volume; 1 kg if not given
    #[arg(long, value_name = "AMOUNT")]
    water: Option<String>,
    /// pH that the solution is known to have
    #[arg(long, value_name = "PH", allow_hyphen_values = true)]
    ph: Option<String>,
    /// Ion whose amount follows from that pH, for instance Na or Cl
    #[arg(long, value_name = "ION", requires = "ph")]
    balance: Option<String>,
    /// Acid or base that is added to reach a pH, with its strength if it is a solution: "NaOH", "HCl 37 %"
    #[arg(long, value_name = "REAGENT")]
    add: Option<String>,
    /// pH that is to be reached
    #[arg(long, value_name = "PH", allow_hyphen_values = true)]
    to_ph: Option<String>,
    /// Gas held over the solution, for instance "CO2 0.0004 bar"
    #[arg(long = "with-gas", value_name = "GAS")]
    gases: Vec<String>,
    /// Which solids may form: allow (salts and what falls out within hours), aged, none
    #[arg(long, value_name = "WHICH")]
    solids: Option<String>,
    /// Standard uncertainty of a pH reading; 0.05 if not given
    #[arg(long, value_name = "PH")]
    ph_uncertainty: Option<String>,
    /// Recorded titration curve: a file, or "0 mL 1.05; 5 mL 1.12; …"; shows the free acid
    #[arg(long, value_name = "POINTS", requires = "add")]
    recorded: Option<String>,
    /// Acid whose amount the recorded curve is to show; that of the anion if not given
    #[arg(long, value_name = "ACID", requires = "recorded")]
    free: Option<String>,
    /// Volume and strength to be made of it by dilution: "1 L 0.5 mol/L"
    #[arg(long, value_name = "AMOUNT")]
    dilute: Option<String>,
    /// Elements whose forms over pH and potential are wanted: "Fe", "Fe, Cu"
    #[arg(long, value_name = "ELEMENTS")]
    redox: Option<String>,
    /// Their oxidation states: held apart, or equilibrated at the potential given, else with one another
    #[arg(long, value_name = "HOW", requires = "redox")]
    couples: Option<String>,
    /// Potential against the standard hydrogen electrode
    #[arg(long, value_name = "POTENTIAL", requires = "redox", allow_hyphen_values = true)]
    potential: Option<String>,
    /// Show where each metal falls out while a base is added
    #[arg(long)]
    windows: bool,
    /// Precipitant whose best excess is wanted, for instance Na2C2O4
    #[arg(long, value_name = "FORMULA", requires = "excess_of")]
    excess: Option<String>,
    /// Ion that it is to take out
    #[arg(long, value_name = "ION", requires = "excess")]
    excess_of: Option<String>,
    #[command(flatten)]
    drawn: Drawn,
}

/// Prints what is in the solution.
pub fn run(options: &Options, json: bool) -> Result<Exit, Failure> {
    let substances: Vec<&str> = options.substances.iter().map(String::as_str).collect();
    let gases: Vec<&str> = options.gases.iter().map(String::as_str).collect();
    // A name of a file, else the points themselves.
    let recorded = options.recorded.as_ref().map(|text| std::fs::read_to_string(text).unwrap_or_else(|_| text.clone()));
    let asked = SolutionOptions {
        substances: &substances,
        at: options.at.as_deref(),
        water: options.water.as_deref(),
        ph: options.ph.as_deref(),
        balance: options.balance.as_deref(),
        add: options.add.as_deref(),
        to_ph: options.to_ph.as_deref(),
        gases: &gases,
        solids: options.solids.as_deref(),
        ph_uncertainty: options.ph_uncertainty.as_deref(),
        windows: options.windows,
        excess: options.excess.as_deref(),
        excess_of: options.excess_of.as_deref(),
        recorded: recorded.as_deref(),
        free: options.free.as_deref(),
        dilute: options.dilute.as_deref(),
        redox: options.redox.as_deref(),
        couples: options.couples.as_deref(),
        potential: options.potential.as_deref(),
        quick: false,
    };
    let answer = match prep::ask::solution(&asked) {
        Ok(answer) => answer,
        Err(findings) => return wrong(&findings, &[], "solution", json),
    };
    if let Some(exit) = options.drawn.write(|| report::figure::solution_figures(&answer), json)? {
        return Ok(exit);
    }
    if json {
        output::print_json(&report::json::solution(&answer))?;
    } else {
        output::print(&report::text::render(&report::document::solution_document(&answer), output::page()))?;
    }
    Ok(Exit::Done)
}
