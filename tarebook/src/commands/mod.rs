//! Which commands are there, and what do they share?
//!
//! Exit codes: 0 done (chemical findings included), 1 the input is wrong, 2 the program failed or was misused, 3 refused as
//! out of bounds. With `--json` a failure prints `{"findings": [...]}` on standard output too.

mod account;
mod check;
mod crystallise;
mod demo;
mod dry;
mod equilibrium;
mod export;
mod fields;
mod figure;
mod formula;
mod furnace;
mod gas;
mod heat;
mod history;
mod ignite;
mod label;
mod manual;
mod new;
mod next;
mod plan;
mod printed;
mod reaction;
mod replicates;
mod reported;
mod serve;
mod sheet;
mod solution;
mod substance;
mod titrate;
mod wash;

pub(crate) use demo::EXAMPLES;

use crate::output::{self, Exit, Failure};
use crate::{frozen, render};
use clap::{CommandFactory, Parser, Subcommand};
use prep::Preparation;
use prep::outcome::{Finding, Severity};
use std::ffi::OsString;
use std::path::{Path, PathBuf};

/// Keeps the books of a chemical preparation: plans it, and says afterwards what was made, how much, how pure, and
/// where the rest went.
#[derive(Debug, Parser)]
#[command(name = "tarebook", version, max_term_width = 100)]
struct Arguments {
    /// Print JSON on standard output
    #[arg(long, global = true)]
    json: bool,
    #[command(subcommand)]
    command: Option<Command>,
}

#[derive(Debug, Subcommand)]
enum Command {
    /// Show the main job on the shipped examples, written into a fresh folder
    Demo {
        /// Folder to write into; a fresh `tarebook-demo` here if not given
        #[arg(long, value_name = "DIR")]
        to: Option<PathBuf>,
        /// Stop after writing
        #[arg(long)]
        no_serve: bool,
    },
    /// Begin a preparation file, from options or by question and answer
    New(new::Options),
    /// List every finding of a preparation file
    Check {
        /// Preparation file
        file: PathBuf,
        /// Write the file in its tidy layout, keeping every remark; a file with errors is left as it is
        #[arg(long)]
        tidy: bool,
        /// Also go along the history of the folder, where it was served as a notebook
        #[arg(long)]
        history: bool,
    },
    /// What to weigh out, what limits, and what every reading should show
    Plan {
        /// Preparation file
        file: PathBuf,
        /// Keep the plan beside the file, never to be overwritten
        #[arg(long)]
        freeze: bool,
    },
    /// What every lot holds, the yields, and where the rest went
    Account {
        /// Preparation file
        file: PathBuf,
        /// Print the quick approximation at once instead of sampling
        #[arg(long)]
        live: bool,
        /// What you would say of the product, held against the evidence: "24.4 g CuO, 97 %"
        #[arg(long, value_name = "CLAIM")]
        claim: Option<String>,
        /// Draw a figure into a file: where every gram is, or what --show names
        #[arg(long, value_name = "OUT.svg")]
        figure: Option<PathBuf>,
        /// Which figure: flow, yields, losses, budget, drying
        #[arg(long, value_name = "WHICH", requires = "figure")]
        show: Option<String>,
    },
    /// Which test next: what each would tell of a claim and of what may be so
    Next {
        /// Preparation file
        file: PathBuf,
        /// The claim at stake; that of the file, or that the product is the target, if not given
        #[arg(long, value_name = "CLAIM")]
        claim: Option<String>,
    },
    /// The bench sheet of one run, to print and fill in by hand
    Sheet(sheet::Options),
    /// The report: what was made, how it is known, where the rest went; as PDF or HTML
    Report(reported::Options),
    /// What other programs read: JSON, tables, figures, or an archive with hashes and provenance
    Export(export::Options),
    /// Whether runs of one preparation agree, and what they give together
    Replicates {
        /// Preparation files, two or more
        #[arg(required = true, value_name = "FILE")]
        files: Vec<PathBuf>,
        /// Use the quick approximation instead of sampling
        #[arg(long)]
        live: bool,
    },
    /// What your own closed preparations lose, beside the defaults
    History {
        /// Preparation files, or folders of them
        #[arg(required = true, value_name = "DIR-OR-FILE")]
        places: Vec<PathBuf>,
    },
    /// Whether a solid is dry, where its mass is heading, and how long it takes
    Dry {
        /// Weighings in order: "48.62 g", or "1.5 h 46.10 g" with the time since the start
        #[arg(required = true, value_name = "WEIGHING")]
        weighings: Vec<String>,
        /// Scatter of one weighing (standard deviation); a unit of the finest digit if not given
        #[arg(long, value_name = "MASS")]
        scatter: Option<String>,
        /// What may be left to lose, a fraction of the final mass or a mass; 0.05 % if not given
        #[arg(long, value_name = "SHARE")]
        tolerance: Option<String>,
        /// What the first weighing was, to compare the final mass with its hydrates
        #[arg(long, value_name = "FORMULA")]
        of: Option<String>,
        /// Draw the drying curve into a file
        #[arg(long, value_name = "OUT.svg")]
        figure: Option<PathBuf>,
    },
    /// How strong a titrant is, or what a sample holds, from its titres
    Titrate(titrate::Options),
    /// What is dissolved as what, what falls out, and the dose that brings it to a pH
    Solution(solution::Options),
    /// What crystallises on cooling, and where salt and water go
    Crystallise(crystallise::Options),
    /// What washings leave, and which plan reaches a goal
    Wash(wash::Options),
    /// All fields of a preparation file, with an example of each; with --json its JSON Schema, for editors
    Fields,
    /// Molar mass and composition of a formula
    Formula {
        /// Formula, for instance CuSO4·5H2O (the dot may be typed . or *)
        formula: String,
    },
    /// What a label means: which salt, hydrate or reckoning explains its figures
    Label {
        /// Label, for instance "zinc sulfate 220 mg = zinc 50 mg"
        label: String,
    },
    /// Coefficients of a reaction, its heat, entropy and equilibrium constant
    Reaction(reaction::Options),
    /// Open the notebook of a folder in the browser
    Serve(serve::Options),
    /// What is there when nothing more can happen: at a temperature, without exchange of heat, or closed in
    Equilibrium(equilibrium::Options),
    /// What a solid becomes when it is heated, and the levels of mass on the way
    Ignite(ignite::Options),
    /// When the middle of a heated bed is done
    Furnace(furnace::Options),
    /// How hot it gets with given amounts, what boils off, and how fast it may be added
    Heat(heat::Options),
    /// How much gas comes off, what it is in the room, and whether the air is out of a tube
    Gas(gas::Options),
    /// All that is known of a substance: values with their sources, forms, hazards
    Substance {
        /// Formula, such as "CaCO3(s)", or a name
        substance: String,
    },
    /// Write the manual pages, the completions of the shells and the schema of the file into a folder
    Manual {
        /// Folder to write into
        #[arg(long, value_name = "DIR")]
        to: PathBuf,
    },
}

/// Runs the program on its arguments, the name of the program first.
pub fn run(arguments: Vec<OsString>) -> Exit {
    let json = arguments.iter().any(|argument| argument == "--json");
    let parsed = match Arguments::try_parse_from(arguments) {
        Ok(parsed) => parsed,
        Err(error) => return misuse(&error, json),
    };
    let Some(command) = parsed.command else {
        return settle(
            output::print(&Arguments::command().render_help().ansi().to_string()).map(|()| Exit::Done),
            json,
        );
    };
    let result = match command {
        Command::Demo { to, no_serve } => demo::run(to.as_deref(), no_serve, parsed.json),
        Command::New(options) => new::run(&options, parsed.json),
        Command::Check { file, tidy, history } => check::run(&file, tidy, history, parsed.json),
        Command::Plan { file, freeze } => plan::run(&file, freeze, parsed.json),
        Command::Account { file, live, claim, figure, show } => {
            account::run(&file, live, claim, figure.as_deref().map(|to| (to, show.as_deref())), parsed.json)
        }
        Command::Next { file, claim } => next::run(&file, claim.as_deref(), parsed.json),
        Command::Sheet(options) => sheet::run(&options, parsed.json),
        Command::Report(options) => reported::run(&options, parsed.json),
        Command::Export(options) => export::run(&options, parsed.json),
        Command::Replicates { files, live } => replicates::run(&files, live, parsed.json),
        Command::History { places } => history::run(&places, parsed.json),
        Command::Dry { weighings, scatter, tolerance, of, figure } => {
            let options = prep::ask::DryOptions {
                deviation: scatter.as_deref(),
                tolerance: tolerance.as_deref(),
                of: of.as_deref(),
            };
            dry::run(&weighings, &options, figure.as_deref(), parsed.json)
        }
        Command::Titrate(options) => titrate::run(&options, parsed.json),
        Command::Solution(options) => solution::run(&options, parsed.json),
        Command::Crystallise(options) => crystallise::run(&options, parsed.json),
        Command::Wash(options) => wash::run(&options, parsed.json),
        Command::Fields => fields::run(parsed.json),
        Command::Formula { formula } => formula::run(&formula, parsed.json),
        Command::Label { label } => label::run(&label, parsed.json),
        Command::Reaction(options) => reaction::run(&options, parsed.json),
        Command::Serve(options) => serve::run(&options, parsed.json),
        Command::Equilibrium(options) => equilibrium::run(&options, parsed.json),
        Command::Ignite(options) => ignite::run(&options, parsed.json),
        Command::Furnace(options) => furnace::run(&options, parsed.json),
        Command::Heat(options) => heat::run(&options, parsed.json),
        Command::Gas(options) => gas::run(&options, parsed.json),
        Command::Substance { substance } => substance::run(&substance, parsed.json),
        Command::Manual { to } => manual::run(&to, parsed.json),
    };
    settle(result, parsed.json)
}

/// Help and version are answers; anything else clap has to say is misuse.
fn misuse(error: &clap::Error, json: bool) -> Exit {
    if !error.use_stderr() {
        return settle(output::print(&error.render().ansi().to_string()).map(|()| Exit::Done), json);
    }
    output::tell(&error.render().ansi().to_string());
    if json {
        let finding =
            output::finding("misuse", error.render().to_string().trim().to_owned(), &["See tarebook --help."]);
        // The exit code already tells of a failure; a closed pipe adds nothing.
        let _ = output::print_json(&report::json::check(&[finding]));
    }
    Exit::Failed
}

/// Turns the result of a command into an exit, telling of a failure.
fn settle(result: Result<Exit, Failure>, json: bool) -> Exit {
    match result {
        Ok(exit) => exit,
        Err(failure) if failure.is_closed_pipe() => Exit::Done,
        Err(failure) => {
            let finding = failure.finding();
            output::tell(&format!("error[{}]: {}\n", finding.code, finding.message));
            if json {
                let _ = output::print_json(&report::json::check(&[finding]));
            }
            Exit::Failed
        }
    }
}

/// The folder of a preparation file, where the files lie that it takes lots from.
pub(crate) struct Folder(PathBuf);

impl Folder {
    pub(crate) fn of(file: &Path) -> Self {
        Self(file.parent().unwrap_or(Path::new("")).to_owned())
    }
}

impl prep::World for Folder {
    fn open(&self, file: &str) -> Result<(Vec<u8>, Box<dyn prep::World>), String> {
        let path = self.0.join(file);
        let bytes = std::fs::read(&path).map_err(|error| format!("it cannot be read ({error})"))?;
        Ok((bytes, Box::new(Self::of(&path))))
    }

    fn list(&self, folder: &str) -> Result<Vec<String>, String> {
        let entries = std::fs::read_dir(self.0.join(folder)).map_err(|error| format!("it cannot be read ({error})"))?;
        let mut names: Vec<String> = entries
            .flatten()
            .map(|entry| Path::new(folder).join(entry.file_name()))
            .filter(|path| path.extension().is_some_and(|ending| ending == "toml"))
            .map(|path| path.to_string_lossy().into_owned())
            .collect();
        names.sort();
        Ok(names)
    }
}

/// A preparation file that could be read.
struct Opened {
    bytes: Vec<u8>,
    preparation: Preparation,
    findings: Vec<Finding>,
    frozen: Option<String>,
}

/// Opens and reads a preparation file, and compares it with its frozen plan.
///
/// `Err` holds the findings of an input that cannot be used, already told.
fn open(file: &Path, json: bool) -> Result<Result<Opened, Exit>, Failure> {
    let bytes = match std::fs::read(file) {
        Ok(bytes) => bytes,
        Err(error) => {
            let findings = [unreadable(file, &error)];
            return wrong(&findings, &[], &file.display().to_string(), json).map(Err);
        }
    };
    let reading = prep::read_beside(&bytes, &Folder::of(file));
    let Some(preparation) = reading.preparation else {
        return wrong(&reading.findings, &bytes, &file.display().to_string(), json).map(Err);
    };
    let (frozen, changes) = frozen::compare(file, &preparation);
    let findings = merged([reading.findings, changes]);
    Ok(Ok(Opened { bytes, preparation, findings, frozen }))
}

fn unreadable(file: &Path, error: &std::io::Error) -> Finding {
    output::finding(
        "unreadable-file",
        format!("{} cannot be read: {error}.", file.display()),
        &["Check the name, and that it is a file you may read."],
    )
}

/// Tells the findings of an input that is wrong, and with which exit.
fn wrong(findings: &[Finding], source: &[u8], name: &str, json: bool) -> Result<Exit, Failure> {
    output::tell(&render::findings(findings, source, name));
    if json {
        output::print_json(&report::json::check(findings))?;
    }
    Ok(if any_refusal(findings) { Exit::Refused } else { Exit::InputWrong })
}

/// Findings of several phases together, each once.
pub(crate) fn merged<const N: usize>(lists: [Vec<Finding>; N]) -> Vec<Finding> {
    let mut all: Vec<Finding> = Vec::new();
    for finding in lists.into_iter().flatten() {
        let known = |other: &Finding| {
            (other.code, other.line, other.column, &other.message)
                == (finding.code, finding.line, finding.column, &finding.message)
        };
        if !all.iter().any(known) {
            all.push(finding);
        }
    }
    all
}

/// Whether any finding refuses what is out of bounds.
fn any_refusal(findings: &[Finding]) -> bool {
    findings.iter().any(|finding| finding.code == prep::screen::OUT_OF_BOUNDS)
}

/// Whether any finding makes the input unusable.
fn any_error(findings: &[Finding]) -> bool {
    findings.iter().any(|finding| finding.severity == Severity::Error)
}
