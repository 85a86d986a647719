//! The program: what the user typed in, what the books say out.
//!
//! Thin on purpose. It opens files, calls one function of `prep` for each command, hands the outcome to `report` and
//! prints. Nothing is computed here, and nothing is printed anywhere else.

mod commands;
mod frozen;
mod notebook;
mod output;
mod render;
mod server;

use std::process::ExitCode;

fn main() -> ExitCode {
    commands::run(std::env::args_os().collect()).into()
}
