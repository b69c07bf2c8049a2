//! `prove`: all roads of one routine or several.
//!
//! Exit codes, the worst of all routines: 2 a file is wrong; 1 a claim can fail; 3 a budget ran out; 0 all are
//! sure-fire. What is certainly wrong outranks what is not known.

mod json;
mod running;
mod text;

#[cfg(test)]
mod tests;

use super::failure::{Failure, Outcome};
use super::lasting::Cut;
use super::lasting::budget::{Amount, Budget, amount};
use super::machine::Machine;
use super::source::Source;
use super::verdicts;
use crate::logbook::FILE_NAME;
use crate::proof::{Ends, Proof, Verdict, Ways};
use crate::routine::Routine;
use crate::screen::{News, Proven};
use clap::Args;
use std::io::{self, Write};

/// Which routines, and how far to go.
#[derive(Debug, Args)]
pub struct ProveArgs {
    /// Routines: names, or paths
    #[arg(required = true, value_name = "ROUTINE")]
    pub routines: Vec<String>,
    /// Print JSON: one object a line for each routine
    #[arg(long)]
    pub json: bool,
    /// How far to go: a time for each routine, memory for all together (60s,2GiB)
    #[arg(long, value_name = "TIME,MEMORY", value_delimiter = ',', value_parser = amount)]
    pub budget: Vec<Amount>,
    /// Count the different tables that the roads end with, however long it takes
    #[arg(long)]
    pub ends: bool,
    /// Which draw of the set-up
    #[arg(long, value_name = "N", default_value_t = 0)]
    pub setup: u64,
    /// Walk so many random roads where exact odds are out of reach
    #[arg(long, value_name = "ROADS", default_value_t = Ways::default().sample)]
    pub sample: u64,
    /// Work out no odds
    #[arg(long)]
    pub no_odds: bool,
    /// Go round loops until nothing new comes, instead of reasoning about any one round
    #[arg(long)]
    pub no_induction: bool,
    /// Tell all tables apart, card by card: the slow way, to check the fast one
    #[arg(long)]
    pub no_merging: bool,
}

impl ProveArgs {
    fn ways(&self) -> Ways {
        Ways {
            merge: !self.no_merging,
            induction: !self.no_induction,
            odds: !self.no_odds,
            ends: if self.ends {
                Ends::Always
            } else {
                Ends::WhereCheap
            },
            sample: self.sample,
        }
    }
}

/// A routine to be proved.
struct Wanted {
    source: Source,
    routine: Routine,
}

/// A routine proved, refuted, or neither.
struct Proved<'a> {
    /// The routine's name on the command line.
    origin: &'a str,
    routine: &'a Routine,
    proof: Proof,
    seconds: f64,
    /// What ended it early.
    cut: Option<Cut>,
    budget: Budget,
}

/// Proves them all, in the order given.
pub(super) fn run(
    args: &ProveArgs,
    machine: &Machine,
    out: &mut dyn Write,
) -> Result<Outcome, Failure> {
    let budget = Budget::of(&args.budget);
    let mut wanted = Vec::new();
    let mut wrong = Vec::new();
    for named in &args.routines {
        match Source::find(named).and_then(|source| {
            let routine = source.load(args.setup)?;
            Ok(Wanted { source, routine })
        }) {
            Ok(one) => wanted.push(one),
            // The others are still proved.
            Err(
                failure @ (Failure::Routine(_) | Failure::Wrong(_) | Failure::Unreadable { .. }),
            ) => {
                wrong.push(failure.to_string());
            }
            Err(other) => return Err(other),
        }
    }
    let mut worst = Outcome::Done;
    let mut first = true;
    let mut news = Vec::new();
    running::all(&wanted, args.ways(), budget, machine.theme(), |proved| {
        worst = worse(worst, of(proved.proof.verdict));
        news.push(News {
            content_hash: proved.routine.content_hash.clone(),
            setup: proved.routine.setup,
            proven: proved.proof.verdict.into(),
        });
        if args.json {
            serde_json::to_writer(&mut *out, &json::ProofJson::of(proved))
                .map_err(io::Error::from)?;
            writeln!(out)?;
        } else {
            if !std::mem::take(&mut first) {
                writeln!(out)?;
            }
            text::tell(out, proved)?;
        }
        out.flush()?;
        Ok(())
    })?;
    remember(machine, &news);
    if wrong.is_empty() {
        Ok(worst)
    } else {
        Err(Failure::Wrong(wrong.join("\n\n")))
    }
}

/// What was settled is known in the foyer too, where there is a logbook. The verdict does not hang on it, so nothing is said
/// when it cannot be kept.
fn remember(machine: &Machine, news: &[News]) {
    let there = machine
        .data_folder()
        .is_ok_and(|folder| folder.join(FILE_NAME).is_file());
    let settled = |one: &&News| one.proven != Proven::NotProved;
    if there
        && news.iter().any(|one| settled(&one))
        && let Ok(mut logbook) = machine.logbook()
    {
        for one in news.iter().filter(settled) {
            drop(verdicts::keep(&mut logbook, one, 0));
        }
    }
}

fn of(verdict: Verdict) -> Outcome {
    match verdict {
        Verdict::SureFire => Outcome::Done,
        Verdict::Refuted => Outcome::Found,
        Verdict::Unfinished => Outcome::Unfinished,
    }
}

/// The worse of two ends: what fails outranks what is not known.
fn worse(one: Outcome, other: Outcome) -> Outcome {
    let rank = |outcome: Outcome| match outcome {
        Outcome::Done => 0,
        Outcome::Unfinished => 1,
        Outcome::Found => 2,
        Outcome::Stopped(_) => 3,
    };
    if rank(other) > rank(one) { other } else { one }
}
