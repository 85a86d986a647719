//! `new [FILE]`: the file of a new preparation.
//!
//! What is known comes from options, or from questions on standard error that are answered on standard input: on a
//! terminal where no option is given, or wherever `--ask` is. Each answer is tried at once by the readers of the file
//! and asked for again if it is wrong. A file that exists is never overwritten, and what is written has no errors.

use super::wrong;
use crate::frozen;
use crate::output::{self, Exit, Failure, finding};
use clap::Args;
use prep::outcome::Finding;
use prep::skeleton::{Draft, DraftSupply, RESOLUTION, SUPPLY_FORM, TITLE};
use serde_json::json;
use std::io::{self, BufRead, ErrorKind, IsTerminal};
use std::path::{Path, PathBuf};

/// What is known of the new preparation.
#[derive(Debug, Args)]
pub struct Options {
    /// File to write; never an existing one
    #[arg(default_value = "preparation.toml")]
    file: PathBuf,
    /// Title
    #[arg(long)]
    title: Option<String>,
    /// What is to be made, with its phase, for instance "CuO(s)"
    #[arg(long, value_name = "FORMULA")]
    target: Option<String>,
    /// How much of it, for instance "25 g"
    #[arg(long, value_name = "MASS", requires = "target")]
    amount: Option<String>,
    /// Element to account for; that of the target if not given
    #[arg(long, value_name = "SYMBOL")]
    element: Option<String>,
    /// What is on the shelf, for instance "bluestone, CuSO4·5H2O(s), >= 98 %"; may be given several times
    #[arg(long, value_name = SUPPLY_FORM)]
    supply: Vec<String>,
    /// Step of the balance's display, for instance "0.01 g"
    #[arg(long, value_name = "MASS")]
    balance: Option<String>,
    /// Ask for what is not given, also where standard input is no terminal
    #[arg(long)]
    ask: bool,
}

impl Options {
    fn is_empty(&self) -> bool {
        let texts = [&self.title, &self.target, &self.amount, &self.element, &self.balance];
        texts.iter().all(|text| text.is_none()) && self.supply.is_empty()
    }
}

/// Writes the file.
pub fn run(options: &Options, json: bool) -> Result<Exit, Failure> {
    let file = options.file.as_path();
    let refuse = |findings: &[Finding], source: &str| wrong(findings, source.as_bytes(), "new", json);
    // Before anything is asked; writing makes sure once more.
    if file.exists() {
        return refuse(&[in_use(file)], "");
    }
    let mut draft = match draft(options) {
        Ok(draft) => draft,
        Err(text) => {
            let form = format!("Write {SUPPLY_FORM}, for instance \"bluestone, CuSO4·5H2O(s), >= 98 %\".");
            return refuse(&[finding("bad-supply", format!("`{text}` is not understood."), &[&form])], "");
        }
    };
    let faults = draft.faults();
    if !faults.is_empty() {
        return refuse(&of_options(faults), "");
    }
    if options.ask || (options.is_empty() && io::stdin().is_terminal()) {
        let mut questions = Questions { lines: io::stdin().lock().lines() };
        if questions.ask(&mut draft).is_none() {
            let hints = ["Nothing was written. Answer each question; an empty line takes what stands in brackets."];
            return refuse(
                &[finding("answers-ended", "The answers ended before the questions.".to_owned(), &hints)],
                "",
            );
        }
    }
    match frozen::write_new(file, &draft.text()) {
        Ok(()) => {}
        Err(error) if error.kind() == ErrorKind::AlreadyExists => return refuse(&[in_use(file)], ""),
        Err(error) => return Err(Failure::Write { path: file.to_owned(), error }),
    }
    if json {
        output::print_json(&json!({ "file": file.display().to_string(), "findings": [] }))?;
    } else {
        let name = file.display();
        output::print(&format!("{name} written. Put in your own steps and figures, then: tarebook check {name}\n"))?;
    }
    Ok(Exit::Done)
}

fn in_use(file: &Path) -> Finding {
    finding("file-in-use", format!("{} exists; it was kept.", file.display()), &["Choose another name."])
}

/// Findings about what was given as options: they are about no line of a file.
fn of_options(findings: Vec<Finding>) -> Vec<Finding> {
    findings.into_iter().map(|finding| Finding { line: 0, column: 0, span: None, ..finding }).collect()
}

/// The draft of the options, or the supply that is not understood.
fn draft(options: &Options) -> Result<Draft, &str> {
    let supplies = options.supply.iter().map(|text| DraftSupply::parse(text).ok_or(text.as_str()));
    let supplies = supplies.collect::<Result<_, _>>()?;
    Ok(Draft {
        title: options.title.clone(),
        target: options.target.clone(),
        amount: options.amount.clone(),
        element: options.element.clone(),
        supplies,
        balance: options.balance.clone(),
    })
}

/// Questions to the user; `None` where the answers end too soon.
struct Questions<R> {
    lines: R,
}

impl<R: Iterator<Item = io::Result<String>>> Questions<R> {
    /// Asks for what the draft lacks.
    fn ask(&mut self, draft: &mut Draft) -> Option<()> {
        output::tell("An empty line takes what stands in brackets.\n");
        if draft.title.is_none() {
            self.answer(draft, "What is the preparation called?", TITLE, |draft, text| draft.title = Some(text))?;
        }
        if draft.supplies.is_empty() {
            while self.supply(draft)? {}
        }
        if draft.target.is_none() {
            let question = "What is to be made? Formula with phase, like CuO(s)";
            self.answer(draft, question, "", |draft, text| draft.target = some(text))?;
        }
        if draft.target.is_some() && draft.amount.is_none() {
            self.answer(draft, "How much of it?", "", |draft, text| draft.amount = some(text))?;
        }
        if draft.element.is_none() {
            let guess = draft.element().unwrap_or_default();
            let question = "Which element is to be accounted for?";
            self.answer(draft, question, &guess, |draft, text| draft.element = some(text))?;
        }
        if draft.balance.is_none() {
            let question = "What is the last place of the balance's display worth?";
            self.answer(draft, question, RESOLUTION, |draft, text| draft.balance = Some(text))?;
        }
        Some(())
    }

    /// Asks for one supply; whether there was one.
    fn supply(&mut self, draft: &mut Draft) -> Option<bool> {
        let question = match draft.supplies.len() {
            0 => "What is on the shelf? A name, like bluestone",
            _ => "What else? A name",
        };
        let name = self.line(question, if draft.supplies.is_empty() { "" } else { "nothing" })?;
        if name.is_empty() {
            return Some(false);
        }
        let label = some(self.line("What does its label say?", "")?);
        let meant = label.as_deref().and_then(meaning).unwrap_or_default();
        let place = draft.supplies.len();
        let supply = DraftSupply { name, label, ..DraftSupply::default() };
        let question = "What does it hold? Formula with phase; if it may be several, with `or` between them";
        self.answer(draft, question, &meant, |draft, text| {
            let holds = text.split(" or ").map(|formula| formula.trim().to_owned()).collect();
            draft.supplies.truncate(place);
            draft.supplies.push(DraftSupply { holds, ..supply.clone() });
        })?;
        let question = "Which share of it is that? Like >= 98 %, or 36 % w/w for a solution";
        self.answer(draft, question, "", |draft, text| {
            if let Some(supply) = draft.supplies.get_mut(place) {
                supply.content = some(text);
            }
        })?;
        Some(true)
    }

    /// Asks until the answer makes no error.
    fn answer(
        &mut self,
        draft: &mut Draft,
        question: &str,
        usual: &str,
        put: impl Fn(&mut Draft, String),
    ) -> Option<()> {
        loop {
            let line = self.line(question, usual)?;
            let mut tried = draft.clone();
            put(&mut tried, if line.is_empty() { usual.to_owned() } else { line });
            let faults = tried.faults();
            if faults.is_empty() {
                *draft = tried;
                return Some(());
            }
            for fault in faults {
                let hints: String = fault.hints.iter().map(|hint| format!("; {hint}")).collect();
                output::tell(&format!("  {}{hints}\n", fault.message));
            }
        }
    }

    /// One line, without the spaces around it.
    fn line(&mut self, question: &str, usual: &str) -> Option<String> {
        let usual = if usual.is_empty() { String::new() } else { format!(" [{usual}]") };
        output::tell(&format!("{question}{usual}: "));
        self.lines.next()?.ok().map(|line| line.trim().to_owned())
    }
}

fn some(text: String) -> Option<String> {
    Some(text).filter(|text| !text.is_empty())
}

/// What a label means, where its figures allow one reading only: a solid.
fn meaning(label: &str) -> Option<String> {
    let answer = prep::ask::label(label);
    let mut plausible: Vec<&str> =
        answer.readings.iter().filter(|reading| reading.plausible).map(|reading| reading.substance.as_str()).collect();
    plausible.dedup();
    match plausible.as_slice() {
        [one] => Some(format!("{one}(s)")),
        _ => None,
    }
}
