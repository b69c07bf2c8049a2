//! `shows remove`.

use crate::command::coaching;
use crate::command::failure::{Failure, Outcome};
use crate::command::machine::Machine;
use crate::command::source::shown;
use clap::Args;
use std::io::Write;

/// Which one.
#[derive(Debug, Args)]
pub struct RemoveArgs {
    /// The name in brackets behind it in the list, or its beginning
    pub id: String,
}

/// Takes it out.
pub(super) fn run(
    args: &RemoveArgs,
    machine: &Machine,
    out: &mut dyn Write,
) -> Result<Outcome, Failure> {
    let mut logbook = machine.logbook()?;
    let all = logbook.shows()?;
    let named: Vec<_> = all
        .iter()
        .filter(|one| !args.id.is_empty() && one.id.starts_with(&args.id))
        .collect();
    let one = match named.as_slice() {
        [one] => one,
        [] => {
            return Err(Failure::Wrong(format!(
                "no show is called {}\n  `allroads shows list` has their names.",
                shown(&args.id)
            )));
        }
        several => {
            return Err(Failure::Wrong(format!(
                "{} shows begin with {}\n  Write more of the name.",
                several.len(),
                shown(&args.id)
            )));
        }
    };
    logbook.remove_show(&one.id)?;
    for performed in &one.show.performed {
        coaching::after_session(&mut logbook, &performed.routine)?;
    }
    writeln!(out, "The show of {} is taken out.", one.show.date)?;
    Ok(Outcome::Done)
}
