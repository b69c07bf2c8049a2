//! `shows`: what happened on stage.

mod add;
mod list;
mod performed;
mod remove;

pub(super) use performed::keep_told;

use super::failure::{Failure, Outcome};
use super::machine::Machine;
use clap::{Args, Subcommand};
use std::io::Write;

/// What to do with the shows.
#[derive(Debug, Args)]
pub struct ShowsArgs {
    /// What to do; without it, the shows are listed
    #[command(subcommand)]
    pub command: Option<ShowsCommand>,
}

/// What to do with the shows.
#[derive(Debug, Subcommand)]
pub enum ShowsCommand {
    /// Write down a show: by what is given, or in a terminal question by question
    Add(add::AddArgs),
    /// List the shows, the latest last
    List(list::ListArgs),
    /// Take a show out again
    Remove(remove::RemoveArgs),
}

/// Does it.
pub(super) fn run(
    args: &ShowsArgs,
    machine: &Machine,
    out: &mut dyn Write,
) -> Result<Outcome, Failure> {
    match &args.command {
        None => list::run(&list::ListArgs { json: false }, machine, out),
        Some(ShowsCommand::Add(args)) => add::run(args, machine, out),
        Some(ShowsCommand::List(args)) => list::run(args, machine, out),
        Some(ShowsCommand::Remove(args)) => remove::run(args, machine, out),
    }
}
