//! `check`: reads routines, walks random roads of them, and says what is wrong.

use super::failure::{Failure, Outcome};
use super::pages::counted;
use super::source::{Source, shown};
use super::walk::quoted;
use crate::roads::{Finding, Wrong, survey};
use crate::routine::{Routine, Trouble};
use clap::Args;
use std::io::Write;

/// How many random roads are walked.
const ROADS: u64 = 200;

/// Which routines.
#[derive(Debug, Args)]
pub struct CheckArgs {
    /// Routines: names, or paths
    #[arg(required = true, value_name = "ROUTINE")]
    pub routines: Vec<String>,
}

/// Checks them all, and fails with the worst that was found.
pub(super) fn run(args: &CheckArgs, out: &mut dyn Write) -> Result<Outcome, Failure> {
    let mut outcome = Outcome::Done;
    let mut wrong = Vec::new();
    for named in &args.routines {
        match Source::find(named).and_then(|source| {
            let routine = source.load(0)?;
            walked(out, &source, &routine)
        }) {
            Ok(Outcome::Done) => {}
            Ok(found) => outcome = found,
            // The others are still looked at.
            Err(
                failure @ (Failure::Routine(_) | Failure::Wrong(_) | Failure::Unreadable { .. }),
            ) => {
                wrong.push(failure.to_string());
            }
            Err(other) => return Err(other),
        }
    }
    if wrong.is_empty() {
        Ok(outcome)
    } else {
        Err(Failure::Wrong(wrong.join("\n\n")))
    }
}

/// Walks roads; each thing wrong is told once, at its place in the file, with the first road that shows it.
fn walked(out: &mut dyn Write, source: &Source, routine: &Routine) -> Result<Outcome, Failure> {
    let found = survey(routine, ROADS);
    for finding in &found {
        write!(out, "{}", trouble(source, routine, finding))?;
    }
    if !found.is_empty() {
        return Ok(Outcome::Found);
    }
    writeln!(
        out,
        "{}",
        shown(&format!(
            "{}: no fault; {}, every claim true on {ROADS} random roads.",
            source.origin,
            counted(routine.stops.len(), "step")
        ))
    )?;
    Ok(Outcome::Done)
}

/// What goes wrong on a road, as a trouble of the file.
fn trouble(source: &Source, routine: &Routine, finding: &Finding) -> Trouble {
    let stop = routine.stop(finding.stop);
    let id = stop.map_or("", |stop| &stop.id.0);
    let (line, message) = match &finding.wrong {
        Wrong::Stuck(fault) => (
            stop.map_or(1, |stop| stop.line),
            format!(
                "the step {id} cannot be done on every road: {}",
                fault.told(routine)
            ),
        ),
        Wrong::Broken { claim, line } => (
            *line,
            format!("after the step {id} this claim is not true: {claim}"),
        ),
    };
    let choices: Vec<String> = finding
        .choices
        .iter()
        .map(|choice| format!(" --choose {}", quoted(choice)))
        .collect();
    let road = format!(
        "to walk it: allroads walk {} --seed {}{}",
        quoted(&source.origin),
        finding.seed,
        choices.concat()
    );
    Trouble::on_line(&source.origin, &source.text, line, message).with_help(road)
}
