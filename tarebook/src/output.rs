//! How does the program speak, and how does it end?
//!
//! Standard output carries the answer, standard error what went wrong on the way. A reader that closes the pipe
//! (`| head`) ends the program quietly. Colour and weight are dropped where the terminal cannot show them.

use prep::outcome::{Finding, Severity};
use report::text::Page;
use serde_json::Value;
use std::io::{self, IsTerminal, Write};
use std::path::{Path, PathBuf};
use std::process::ExitCode;

/// How the program ends.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Exit {
    /// Done; chemical findings included.
    Done,
    /// The input is wrong.
    InputWrong,
    /// The program failed or was misused.
    Failed,
    /// Out of bounds: refused.
    Refused,
}

impl From<Exit> for ExitCode {
    fn from(exit: Exit) -> Self {
        match exit {
            Exit::Done => Self::SUCCESS,
            Exit::InputWrong => Self::from(1),
            Exit::Failed => Self::from(2),
            Exit::Refused => Self::from(3),
        }
    }
}

/// Why a command could not do its work.
#[derive(Debug)]
pub enum Failure {
    /// The answer could not be printed.
    Output(io::Error),
    /// A file or folder could not be written.
    Write {
        /// Which one.
        path: PathBuf,
        /// Why.
        error: io::Error,
    },
    /// The typesetter gave no paper.
    NotSet(paper::NotSet),
}

impl Failure {
    /// For `map_err`: the failure to write `path`.
    pub fn writing(path: &Path) -> impl Fn(io::Error) -> Self + '_ {
        move |error| Self::Write { path: path.to_owned(), error }
    }

    /// For `map_err`: the paper that could not be set.
    pub fn setting(error: paper::NotSet) -> Self {
        Self::NotSet(error)
    }

    /// Whether the reader of the output simply went away.
    pub fn is_closed_pipe(&self) -> bool {
        matches!(self, Self::Output(error) if error.kind() == io::ErrorKind::BrokenPipe)
    }

    /// The failure as a finding.
    pub fn finding(&self) -> Finding {
        match self {
            Self::Output(error) => finding("output-failed", format!("The answer could not be printed: {error}."), &[]),
            Self::Write { path, error } => finding(
                "write-failed",
                format!("{} could not be written: {error}.", path.display()),
                &["Choose a folder in which you may write, with space left."],
            ),
            Self::NotSet(error) => finding(
                "paper-not-set",
                format!("{error}."),
                &["Write it as HTML instead, with --html, and tell which file it was."],
            ),
        }
    }
}

/// A finding of the program itself, about no line of a file.
pub fn finding(code: &'static str, message: String, hints: &[&str]) -> Finding {
    Finding {
        code,
        severity: Severity::Error,
        message,
        line: 0,
        column: 0,
        span: None,
        hints: hints.iter().map(|hint| (*hint).to_owned()).collect(),
        causes: Vec::new(),
    }
}

/// Prints text on standard output.
pub fn print(text: &str) -> Result<(), Failure> {
    let mut stream = anstream::stdout().lock();
    stream.write_all(text.as_bytes()).and_then(|()| stream.flush()).map_err(Failure::Output)
}

/// Prints JSON on standard output.
pub fn print_json(value: &Value) -> Result<(), Failure> {
    print(&json_text(value))
}

/// JSON as the program writes it: indented, with a line feed at the end.
pub fn json_text(value: &Value) -> String {
    format!("{value:#}\n")
}

/// Tells the user something on standard error. If nobody can hear it, there is nobody left to tell.
pub fn tell(text: &str) {
    let mut stream = anstream::stderr().lock();
    let _ = stream.write_all(text.as_bytes()).and_then(|()| stream.flush());
}

/// The page for standard output: as wide as the terminal, with weight if it is one.
pub fn page() -> Page {
    if !io::stdout().is_terminal() {
        return Page::plain(100);
    }
    let width = terminal_size::terminal_size().map_or(100, |(width, _)| usize::from(width.0));
    Page::plain(width).with_weight()
}
