//! `completions`: what a shell needs to complete our commands.

use super::arguments::Arguments;
use super::failure::{Failure, Outcome};
use clap::{Args, CommandFactory};
use clap_complete::Shell;
use std::io::Write;

/// Which shell.
#[derive(Debug, Args)]
pub struct CompletionsArgs {
    /// The shell
    pub shell: Shell,
}

/// Prints the completions.
pub(super) fn run(args: &CompletionsArgs, out: &mut dyn Write) -> Result<Outcome, Failure> {
    // Gathered first: the generator panics when a writer fails.
    let mut script = Vec::new();
    clap_complete::generate(
        args.shell,
        &mut Arguments::command(),
        "allroads",
        &mut script,
    );
    out.write_all(&script)?;
    Ok(Outcome::Done)
}
