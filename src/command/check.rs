//! `check`: reads routines, walks random roads of them, and says what is wrong.

use super::failure::{Failure, Outcome};
use super::pages::counted;
use super::source::{Source, shown};
use crate::roads::{broken_claims, choice_label, sample};
use crate::routine::Routine;
use clap::Args;
use std::collections::BTreeSet;
use std::io::{self, Write};

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

/// Walks roads; each thing wrong is told once, with the first road that shows it.
fn walked(out: &mut dyn Write, source: &Source, routine: &Routine) -> Result<Outcome, Failure> {
    let mut told = BTreeSet::new();
    for seed in 0..ROADS {
        let road = match sample(routine, seed) {
            Ok(road) => road,
            Err(fault) => {
                if told.insert(fault.to_string()) {
                    say(
                        out,
                        &format!(
                            "{}: a road cannot be walked (seed {seed}): {fault}",
                            source.origin
                        ),
                    )?;
                }
                continue;
            }
        };
        for (n, step) in road.walked.iter().enumerate() {
            for claim in broken_claims(routine, step)? {
                let id = routine.stop(step.stop).map_or("", |stop| &stop.id.0);
                if !told.insert(format!("{id}\n{}", claim.words)) {
                    continue;
                }
                let choices: Vec<String> = road.walked[..=n]
                    .iter()
                    .filter_map(|w| choice_label(routine, w))
                    .collect();
                say(
                    out,
                    &format!(
                        "{}:{}: after the step {id} this claim is not true (seed {seed}, {}): {}",
                        source.origin,
                        claim.line,
                        choices.join(" "),
                        claim.words
                    ),
                )?;
            }
        }
    }
    if told.is_empty() {
        say(
            out,
            &format!(
                "{}: no fault; {}, every claim true on {ROADS} random roads.",
                source.origin,
                counted(routine.stops.len(), "step")
            ),
        )?;
        return Ok(Outcome::Done);
    }
    Ok(Outcome::Found)
}

/// One line for each finding, as editors read them.
fn say(out: &mut dyn Write, line: &str) -> io::Result<()> {
    writeln!(out, "{}", shown(line))
}
