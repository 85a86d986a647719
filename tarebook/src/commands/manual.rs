//! `manual --to DIR`: the pages and files that a system, a shell or an editor takes from the program.
//!
//! `man/` holds one page for the program and one for each command, `completions/` a file for each shell,
//! `preparation.schema.json` the schema of the file. All are made from the command line and the field lists
//! themselves, and are written anew each time.

use super::Arguments;
use crate::frozen;
use crate::output::{self, Exit, Failure};
use clap::{CommandFactory, ValueEnum};
use clap_complete::Shell;
use serde_json::json;
use std::path::Path;

/// Writes pages, completions and schema.
pub fn run(to: &Path, json: bool) -> Result<Exit, Failure> {
    let mut written = pages();
    written.extend(completions());
    written.push(("preparation.schema.json".to_owned(), output::json_text(&report::schema::preparation())));
    for folder in ["man", "completions"] {
        let folder = to.join(folder);
        std::fs::create_dir_all(&folder).map_err(Failure::writing(&folder))?;
    }
    for (name, text) in &written {
        let path = to.join(name);
        frozen::write_over(&path, text).map_err(Failure::writing(&path))?;
    }
    if json {
        let names: Vec<&String> = written.iter().map(|(name, _)| name).collect();
        output::print_json(&json!({ "folder": to.display().to_string(), "files": names }))?;
    } else {
        let files = written.len();
        output::print(&format!("{files} files written to {}: man/, completions/, the schema.\n", to.display()))?;
    }
    Ok(Exit::Done)
}

/// The manual page of the program, and one of each command.
fn pages() -> Vec<(String, String)> {
    let mut program = Arguments::command().disable_help_subcommand(true);
    // Gives each command its full name.
    program.build();
    let commands = program.get_subcommands().cloned().collect::<Vec<_>>();
    std::iter::once(program)
        .chain(commands)
        .map(|command| {
            let title = command.get_display_name().unwrap_or(command.get_name()).to_owned();
            let mut bytes = Vec::new();
            // Writing to memory does not fail.
            let _ = clap_mangen::Man::new(command).title(title.clone()).render(&mut bytes);
            (format!("man/{title}.1"), String::from_utf8_lossy(&bytes).into_owned())
        })
        .collect()
}

/// The completions of each shell, under the name that it looks for.
fn completions() -> Vec<(String, String)> {
    let program = Arguments::command().get_name().to_owned();
    let shells = Shell::value_variants().iter().map(|shell| {
        let mut bytes = Vec::new();
        clap_complete::generate(*shell, &mut Arguments::command(), &program, &mut bytes);
        let name = clap_complete::Generator::file_name(shell, &program);
        (format!("completions/{name}"), String::from_utf8_lossy(&bytes).into_owned())
    });
    shells.collect()
}
