//! `log add`: a practice away from the screen.

use crate::command::failure::{Failure, Outcome};
use crate::command::machine::Machine;
use crate::command::rehearse::no_step;
use crate::command::source::Source;
use crate::logbook::Practice;
use chrono::{DateTime, FixedOffset};
use clap::Args;
use std::io::Write;

/// What was practised.
#[derive(Debug, Args)]
pub struct AddArgs {
    /// The routine: a name, or a path
    pub routine: String,
    /// In your own words: "ran it twice by hand"
    #[arg(
        long,
        value_name = "WORDS",
        default_value = "",
        hide_default_value = true
    )]
    pub note: String,
    /// A step that went wrong, by its id; may be given several times
    #[arg(long, value_name = "STEP")]
    pub stumbled: Vec<String>,
    /// When, if not now: 2031-05-01T19:30:00+02:00
    #[arg(long, value_name = "TIME", value_parser = DateTime::parse_from_rfc3339)]
    pub at: Option<DateTime<FixedOffset>>,
}

/// Adds it.
pub(super) fn run(
    args: &AddArgs,
    machine: &Machine,
    out: &mut dyn Write,
) -> Result<Outcome, Failure> {
    let source = Source::find(&args.routine)?;
    // A step that the routine lacks would never be practised.
    if !args.stumbled.is_empty() {
        let routine = source.load(0)?;
        if let Some(step) = args
            .stumbled
            .iter()
            .find(|s| routine.find_step(s).is_none())
        {
            return Err(no_step(&routine.stops, step));
        }
    }
    machine.logbook()?.add_practice(&Practice {
        routine: source.name.clone(),
        note: args.note.clone(),
        stumbled: args.stumbled.clone(),
        at: args.at.unwrap_or_else(|| machine.now()),
    })?;
    write!(out, "Kept: {} practised away from the screen", source.name)?;
    if !args.stumbled.is_empty() {
        write!(out, ", stumbled at {}", args.stumbled.join(", "))?;
    }
    writeln!(out, ".")?;
    Ok(Outcome::Done)
}
