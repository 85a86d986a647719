//! `--figure OUT.svg`: the figure of an outcome as a file of its own.
//!
//! The same drawing as on the page and on paper, with its colours, light and dark. What a figure shows is chosen by
//! `--show`; the first one otherwise. A file that is there is written anew.

use super::wrong;
use crate::frozen;
use crate::output::{self, Exit, Failure, finding};
use report::figure::{Figure, Named};
use std::path::{Path, PathBuf};

/// Which options make a figure.
const WITHOUT: &str = "A figure belongs to what was asked for: a dose, windows, an excess, a diagram, washes, a sweep.";

/// The options of a command that draws.
#[derive(Debug, clap::Args)]
pub struct Drawn {
    /// Draw a figure into a file
    #[arg(long, value_name = "OUT.svg")]
    figure: Option<PathBuf>,
    /// Which figure, where there are several
    #[arg(long, value_name = "WHICH", requires = "figure")]
    show: Option<String>,
}

impl Drawn {
    /// Writes the figure that was asked for; an exit if there is none of that name.
    pub fn write(&self, figures: impl FnOnce() -> Named, json: bool) -> Result<Option<Exit>, Failure> {
        match &self.figure {
            Some(to) => write(to, self.show.as_deref(), &figures(), json),
            None => Ok(None),
        }
    }
}

/// Writes one of these figures; an exit if there is none of that name.
pub fn write(
    to: &Path,
    shown: Option<&str>,
    figures: &[(String, Figure)],
    json: bool,
) -> Result<Option<Exit>, Failure> {
    let wanted = |name: &str| shown.is_none_or(|shown| name == shown || name.split('-').next() == Some(shown));
    let Some((_, figure)) = figures.iter().find(|(name, _)| wanted(name)) else {
        let names: Vec<&str> = figures.iter().map(|(name, _)| name.as_str()).collect();
        let told = if names.is_empty() { "no figure".to_owned() } else { format!("only {}", names.join(", ")) };
        let message = format!("There is {told} to be drawn here.");
        let hint = if names.is_empty() { WITHOUT } else { "Choose one of them with --show." };
        return wrong(&[finding("no-figure", message, &[hint])], &[], "--figure", json).map(Some);
    };
    frozen::write_over(to, &figure.svg()).map_err(Failure::writing(to))?;
    output::tell(&format!("Drawn: {}\n", to.display()));
    Ok(None)
}
