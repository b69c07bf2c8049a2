//! `rescue`: what to do when a spectator does something that the routine did not offer, step by step and stray by stray.
//!
//! Exit codes: 0 everything was decided; 3 a budget ran out, somebody stopped it, or something could not be decided. What was worked out
//! whole is kept in the logbook, where there is one, by the routine's content, so that it is there at once the next time.

mod json;
mod kept;
pub(super) mod slips;
mod text;

use super::failure::{Failure, Outcome};
use super::lasting::budget::{Amount, Budget, amount};
use super::lasting::numbers::seconds;
use super::lasting::{Cut, Done, once, road};
use super::machine::Machine;
use super::source::Source;
use crate::paper::Astray;
use crate::proof::Limits;
use crate::rescue::{Ground, Row, Verdict, Wanted, rows};
use crate::routine::Routine;
use clap::Args;
use serde::{Deserialize, Serialize};
use std::io::Write;
use std::sync::atomic::{AtomicU64, Ordering};
use std::time::Duration;

/// For which routine.
#[derive(Debug, Args)]
pub struct RescueArgs {
    /// The routine: a name, or a path
    pub routine: String,
    /// Only this step, by its id; may be given several times
    #[arg(long, value_name = "STEP")]
    pub step: Vec<String>,
    /// Tell what is harmless too, one by one
    #[arg(long)]
    pub all: bool,
    /// Which part is looked at where there is too much to look at all of it
    #[arg(long, value_name = "N", default_value_t = 0)]
    pub seed: u64,
    /// Which draw of the set-up
    #[arg(long, value_name = "N", default_value_t = 0)]
    pub setup: u64,
    /// What a slip of your own does instead: harmless, to be mended, or fatal
    #[arg(long, conflicts_with_all = ["all", "seed"])]
    pub slips: bool,
    /// Print JSON: one object a line for each stray, or kind of slip, at each step
    #[arg(long)]
    pub json: bool,
    /// How far to go: a time, memory (60s,2GiB)
    #[arg(long, value_name = "TIME,MEMORY", value_delimiter = ',', value_parser = amount)]
    pub budget: Vec<Amount>,
}

/// One row, told and as JSON.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
struct Told {
    /// The step's id.
    step: String,
    /// The stray, as files name it.
    stray: String,
    /// What happens, and whether the step lists it.
    happens: String,
    often: bool,
    /// What to do about it; empty where it is harmless whatever happens.
    lines: Vec<String>,
    /// The same in few words.
    brief: String,
    /// Whether it could be decided.
    decided: bool,
    json: String,
}

/// Works it out, or recalls it.
pub(super) fn run(
    args: &RescueArgs,
    machine: &Machine,
    out: &mut dyn Write,
) -> Result<Outcome, Failure> {
    let routine = Source::find(&args.routine)?.load(args.setup)?;
    for step in &args.step {
        if routine.find_step(step).is_none() {
            return Err(super::find::unknown(
                "step",
                step,
                &routine
                    .stops
                    .iter()
                    .map(|stop| &*stop.id.0)
                    .collect::<Vec<_>>(),
            ));
        }
    }
    if args.slips {
        return own_slips(args, &routine, machine, out);
    }
    let (told, cut) = table(&routine, args.seed, Budget::of(&args.budget), machine)?;
    let whole = cut.is_none();
    let wanted = |told: &&Told| args.step.is_empty() || args.step.contains(&told.step);
    let shown: Vec<&Told> = told.iter().filter(wanted).collect();
    if args.json {
        for one in &shown {
            writeln!(out, "{}", one.json)?;
        }
    } else {
        text::tell(out, &routine, &shown, args.all, cut)?;
    }
    let decided = whole && shown.iter().all(|one| one.decided);
    Ok(if decided {
        Outcome::Done
    } else {
        Outcome::Unfinished
    })
}

/// The whole table: the one that was kept, or worked out now, and kept where it is whole.
fn table(
    routine: &Routine,
    seed: u64,
    budget: Budget,
    machine: &Machine,
) -> Result<(Vec<Told>, Option<Cut>), Failure> {
    let key = format!("{} {seed}", kept::key("rescue", routine));
    let mut logbook = kept::logbook(machine);
    let known = logbook
        .as_ref()
        .and_then(|logbook| kept::recall(logbook, &key));
    if let Some(told) = known {
        return Ok((told, None));
    }
    let (told, cut) = work_out(routine, seed, budget, machine)?;
    if let (Some(logbook), None) = (&mut logbook, cut) {
        kept::keep(logbook, &key, &told);
    }
    Ok((told, cut))
}

/// So long a cue sheet waits for what to do when it goes wrong.
const SHEET_WAITS: Duration = Duration::from_secs(20);

/// What a cue sheet says of strays, and whether all of them were decided.
pub(super) fn for_a_sheet(
    routine: &Routine,
    machine: &Machine,
) -> Result<(Vec<Astray>, bool), Failure> {
    let budget = Budget::of(&[Amount::Time(SHEET_WAITS)]);
    let (told, _) = table(routine, 0, budget, machine)?;
    let all = told.iter().all(|one| one.decided);
    let astray = told
        .into_iter()
        .filter(|one| one.decided)
        .filter_map(|one| {
            Some(Astray {
                stop: routine.find_step(&one.step)?,
                stray: routine.find_stray(&one.stray)?,
                happens: one.happens,
                safe: one.lines.is_empty(),
                brief: one.brief,
            })
        })
        .collect();
    Ok((astray, all))
}

fn own_slips(
    args: &RescueArgs,
    routine: &Routine,
    machine: &Machine,
    out: &mut dyn Write,
) -> Result<Outcome, Failure> {
    let mut logbook = kept::logbook(machine);
    let known = logbook
        .as_ref()
        .and_then(|logbook| slips::recall(logbook, routine));
    let (told, cut) = match known {
        Some(told) => (told, None),
        None => {
            let budget = Budget::of(&args.budget);
            let line = |passed: Duration| seconds(passed.as_secs_f64());
            let Done { got, cut, .. } = once(budget, machine.theme(), line, |stop| {
                let limits = Limits {
                    bytes: usize::try_from(budget.bytes).unwrap_or(usize::MAX),
                    stop,
                    progress: &|_| (),
                };
                slips::work_out(routine, &limits)
            })?;
            let told = got?;
            if let (Some(logbook), None) = (&mut logbook, cut) {
                slips::keep(logbook, routine, &told);
            }
            (told, cut)
        }
    };
    let wanted = |told: &&slips::Told| told.is_at(&args.step);
    let shown: Vec<&slips::Told> = told.iter().filter(wanted).collect();
    let decided = slips::print(out, routine, &shown, args.json)?;
    if let Some(cut) = cut
        && !args.json
    {
        text::cut_short(out, cut)?;
    }
    Ok(if decided && cut.is_none() {
        Outcome::Done
    } else {
        Outcome::Unfinished
    })
}

fn work_out(
    routine: &Routine,
    seed: u64,
    budget: Budget,
    machine: &Machine,
) -> Result<(Vec<Told>, Option<Cut>), Failure> {
    let ground = Ground::new(routine);
    let looked_at = AtomicU64::new(0);
    let of = ground.cases().len();
    let line = |passed: Duration| {
        let done = looked_at.load(Ordering::Relaxed);
        let part = f64::from(u32::try_from(done).unwrap_or(u32::MAX))
            / f64::from(u32::try_from(of.max(1)).unwrap_or(u32::MAX));
        format!(
            "{} {done} of {of} strays, {}",
            road(part),
            seconds(passed.as_secs_f64())
        )
    };
    let wanted = Wanted {
        seed,
        ..Wanted::default()
    };
    let Done { got, cut, .. } = once(budget, machine.theme(), line, |stop| {
        let limits = Limits {
            bytes: usize::try_from(budget.bytes).unwrap_or(usize::MAX),
            stop,
            progress: &|done| {
                looked_at.fetch_max(done, Ordering::Relaxed);
            },
        };
        rows(&ground, wanted, &limits)
    })?;
    let told: Result<Vec<Told>, Failure> =
        got.iter().map(|row| told(&ground, routine, row)).collect();
    let told = told?;
    // All may have been done just in time.
    let cut = cut.filter(|_| told.iter().any(|one| !one.decided));
    Ok((told, cut))
}

fn told(ground: &Ground, routine: &Routine, row: &Row) -> Result<Told, Failure> {
    let case = &ground.cases()[row.case];
    let json = serde_json::to_string(&json::RowJson::of(ground, routine, row))
        .map_err(|cause| Failure::Machine(format!("the JSON could not be written ({cause})")))?;
    Ok(Told {
        step: routine
            .stop(case.stop)
            .map_or_else(String::new, |stop| stop.id.0.to_string()),
        stray: routine.stray_id(case.stray).to_owned(),
        happens: ground.told(case),
        often: case.often,
        lines: text::lines(ground, routine, row),
        brief: text::brief(routine, row),
        decided: row
            .parts
            .iter()
            .all(|part| part.verdict != Verdict::Undecided),
        json,
    })
}
